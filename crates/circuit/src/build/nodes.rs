//! What is joined becomes nodes; elements get their terminals and branches.

use smallvec::SmallVec;
use smol_str::{SmolStr, SmolStrBuilder, format_smolstr};

use super::Builder;
use crate::model::{Branch, ElementId, End, Kind, Node, NodeId};

const NONE: u32 = u32::MAX;

impl<'a> Builder<'a> {
    pub(super) fn build_nodes(&mut self) {
        let (left_out_elements, left_out_scopes) = self.left_out();
        // A placed element has all its terminals in the drawing, those that nothing reaches included.
        for index in 0..self.elements.len() {
            if self.placed[index] == 0 || left_out_elements.get(index) == Some(&true) {
                self.placed[index] = 0;
                continue;
            }
            let first = self.terminals[index];
            for point in first..first + u32::from(self.terminal_counts[index]) {
                if !self.points.touched[point as usize] {
                    let element = &self.elements[index];
                    let at = element.uses.first().copied().unwrap_or(element.declared);
                    self.points.touch(point, at);
                }
            }
        }

        // A set of points is a node if an element or a junction of the drawing is in it.
        let mut live = vec![false; self.points.len()];
        let mut count = 0;
        for index in 0..self.elements.len() {
            if self.placed[index] == 0 {
                continue;
            }
            let first = self.terminals[index];
            let terminals = u32::from(self.terminal_counts[index]);
            count += terminals as usize;
            for point in first..first + terminals {
                let root = self.points.root(point);
                live[root as usize] = true;
            }
        }
        let in_drawing = |scope: u32| left_out_scopes.get(scope as usize) != Some(&true);
        for index in 0..self.points.junctions.len() {
            let junction = &self.points.junctions[index];
            let (point, drawn) = (junction.point, in_drawing(junction.scope.0));
            if drawn {
                let root = self.points.root(point);
                live[root as usize] = true;
            }
        }

        self.node_of = vec![NONE; self.points.len()];
        let log = std::mem::take(&mut self.points.log);
        let mut nodes: Vec<Node> = Vec::with_capacity(count / 2 + 1);
        for (point, at) in &log {
            let root = self.points.root(*point) as usize;
            if live[root] && self.node_of[root] == NONE {
                self.node_of[root] = nodes.len() as u32;
                nodes.push(Node { names: SmallVec::new(), label: SmolStr::default(), first_use: *at });
            }
        }
        let junctions = std::mem::take(&mut self.points.junctions);
        self.circuit.junction_names.reserve(junctions.len());
        for junction in junctions {
            if !in_drawing(junction.scope.0) {
                continue;
            }
            if let Some(node) = self.node_at(junction.point) {
                self.circuit.junction_names.insert(junction.name.clone(), node);
                nodes[node.index()].names.push(junction.name);
            }
        }

        self.place_elements(&nodes, count);
        self.label_nodes(&mut nodes);
        self.circuit.nodes = nodes;
        let doubtful = std::mem::take(&mut self.points.doubtful);
        let mut doubtful: Vec<NodeId> = doubtful.into_iter().filter_map(|point| self.node_at(point)).collect();
        doubtful.sort_unstable();
        doubtful.dedup();
        self.circuit.doubtful_nodes = doubtful;
        self.circuit.undeclared.sort_unstable();
        self.circuit.unoriented.sort_unstable();
        self.circuit.unoriented.dedup();
    }

    /// Which elements and scopes belong to copies of parts that stand in no path.
    fn left_out(&self) -> (Vec<bool>, Vec<bool>) {
        if self.instances.iter().all(|instance| instance.used) {
            return (Vec::new(), Vec::new());
        }
        let mut elements = vec![false; self.elements.len()];
        let mut scopes = vec![false; self.scopes.len()];
        let mut done = 0;
        for instance in self.instances.iter().filter(|instance| !instance.used) {
            // Copies inside of a copy that is left out are covered by it already.
            let start = instance.scopes.start.max(done);
            if start < instance.scopes.end {
                done = instance.scopes.end;
                scopes[start as usize..done as usize].fill(true);
            }
            elements[instance.elements.start as usize..instance.elements.end as usize].fill(true);
        }
        (elements, scopes)
    }

    /// The node of a point, if it is in the drawing.
    pub(super) fn node_at(&mut self, point: u32) -> Option<NodeId> {
        let root = self.points.root(point) as usize;
        self.node_of.get(root).copied().filter(|node| *node != NONE).map(NodeId)
    }

    fn place_elements(&mut self, nodes: &[Node], count: usize) {
        let mut branches = Vec::with_capacity(self.elements.len());
        let mut offsets = vec![0u32; nodes.len() + 1];
        // The node of each terminal, elements in text order: what the sort below reads.
        let mut flat: Vec<(ElementId, u8, NodeId)> = Vec::with_capacity(count);
        self.circuit.element_names.reserve(self.elements.len());
        for index in 0..self.elements.len() {
            let id = ElementId(index as u32);
            let first_branch = branches.len() as u32;
            if self.placed[index] != 0 {
                let first = self.terminals[index];
                let kind = self.elements[index].kind;
                let mut terminals: SmallVec<[NodeId; 2]> = SmallVec::new();
                for terminal in 0..self.terminal_counts[index] {
                    let root = self.points.root(first + u32::from(terminal)) as usize;
                    let node = NodeId(self.node_of[root]);
                    offsets[node.index()] += 1;
                    flat.push((id, terminal, node));
                    terminals.push(node);
                }
                match (kind, terminals.as_slice()) {
                    (Kind::Changeover, [common, a, b]) => {
                        branches.push(Branch { element: id, from: *common, to: *a });
                        branches.push(Branch { element: id, from: *common, to: *b });
                    }
                    (Kind::Potentiometer, [a, b, wiper]) => {
                        branches.push(Branch { element: id, from: *a, to: *wiper });
                        branches.push(Branch { element: id, from: *wiper, to: *b });
                    }
                    (_, [from, to]) => branches.push(Branch { element: id, from: *from, to: *to }),
                    _ => {}
                }
                self.elements[index].terminals = terminals;
            }
            let element = &mut self.elements[index];
            element.branches = first_branch..branches.len() as u32;
            self.circuit.element_names.entry(element.name.clone()).or_insert(id);
        }
        self.circuit.branches = branches;

        // A counting sort of all ends by node, elements in text order.
        let mut next = 0;
        for offset in &mut offsets {
            next += std::mem::replace(offset, next);
        }
        let unset = End { element: ElementId(NONE), terminal: 0 };
        let mut ends = vec![unset; count];
        let mut fill = offsets.clone();
        for (element, terminal, node) in flat {
            let slot = &mut fill[node.index()];
            ends[*slot as usize] = End { element, terminal };
            *slot += 1;
        }
        self.circuit.ends = ends;
        self.circuit.end_offsets = offsets;
    }

    /// Gives every node the name that people know it by.
    fn label_nodes(&mut self, nodes: &mut [Node]) {
        let mut ports: Vec<Option<SmolStr>> = Vec::new();
        if !self.instances.is_empty() {
            ports.resize(nodes.len(), None);
            for index in 0..self.instances.len() {
                let instance = &self.instances[index];
                let (range, part) = (instance.ports.clone(), instance.part as usize);
                for (port, point) in range.enumerate() {
                    if let Some(node) = self.node_at(point) {
                        let instance = &self.instances[index];
                        let slot = &mut ports[node.index()];
                        if slot.is_none() {
                            *slot = Some(format_smolstr!("{}.{}", instance.name, self.parts[part].ports[port].text));
                        }
                    }
                }
            }
        }
        for (index, node) in nodes.iter_mut().enumerate() {
            let range = self.circuit.end_offsets[index] as usize..self.circuit.end_offsets[index + 1] as usize;
            let ends = &self.circuit.ends[range];
            node.label = if let Some(name) = node.names.first() {
                // Written piece by piece: a large circuit has thousands of them, and formatting is slow.
                let mut label = SmolStrBuilder::new();
                label.push('@');
                label.push_str(name);
                label.finish()
            } else {
                self.label(ends, ports.get(index).and_then(Option::as_ref))
            };
        }
    }

    fn label(&self, ends: &[End], port: Option<&SmolStr>) -> SmolStr {
        let element = |end: &End| &self.elements[end.element.index()];
        let terminal = |end: &End| {
            let element = element(end);
            match element.kind.terminals()[end.terminal as usize] {
                "" => None,
                sign @ ("+" | "-") => Some(format_smolstr!("{}{sign}", element.name)),
                word => Some(format_smolstr!("{}.{word}", element.name)),
            }
        };
        let source = ends.iter().find(|end| element(end).kind.is_source()).and_then(terminal);
        if let Some(label) = source.or_else(|| port.cloned()).or_else(|| ends.iter().find_map(terminal)) {
            return label;
        }
        match ends {
            [] => SmolStr::new_static("a wire"),
            [one] => format_smolstr!("end of {}", element(one).name),
            [a, b] => format_smolstr!("between {} and {}", element(a).name, element(b).name),
            [a, b, c] => format_smolstr!("between {}, {} and {}", element(a).name, element(b).name, element(c).name),
            [a, b, ..] => format_smolstr!("between {}, {} and others", element(a).name, element(b).name),
        }
    }
}
