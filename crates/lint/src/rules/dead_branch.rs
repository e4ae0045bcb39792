//! dead-branch: an element on no closed path, in any state.

use ohmline_circuit::topology::Role;
use ohmline_circuit::{BranchId, ElementId, NodeId, StateId};
use ohmline_syntax::{Diagnostic, Severity};
use rustc_hash::FxHashSet;

use crate::evidence::basis;
use crate::facts::Facts;
use crate::registry::{Group, Meta, Rule};
use crate::{pieces, wording};

/// See the module.
pub struct DeadBranch;

static META: Meta = Meta {
    name: "dead-branch",
    severity: Severity::Warning,
    group: Group::Connections,
    summary: "an element on no closed path, in any state",
    why: "What goes in must come out: an element that is the only way between two parts of a circuit carries nothing, whatever the \
          parts do, since there is no way back. It only ties their potentials together.",
    bad: "battery  B1, B2 = 6 V\nresistor R1, R2 = 12 ohm\nresistor R5 = 4 ohm\n\
          B1+ -- @red -- R1 -- B1-\nB2+ -- @green -- R2 -- B2-\n@red -- R5 -- @green\n",
    good: "battery  B1, B2 = 6 V\nresistor R1, R2 = 12 ohm\nresistor R5 = 4 ohm\n\
           B1+ -- @red -- R1 -- B1-\nB2+ -- @green -- R2 -- B2-\n@red -- R5 -- @green\nB1- -- B2-\n",
    ignore_when: "The single wire ties two potentials together on purpose, such as a common earth line",
    fix: "None: only you know where the way back runs.",
};

impl Rule for DeadBranch {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        let circuit = facts.circuit;
        let Some((dead, bridges)) = find(facts) else { return };
        let tie = |element: &ElementId| circuit.branches_of(*element).all(|branch| bridges.ties(facts, branch));
        let dead: Vec<ElementId> = dead.into_iter().filter(tie).collect();
        for line in lines(facts, &dead) {
            let names = wording::elements(circuit, &line);
            let (only, it) = if line.len() == 1 { ("is the only way", "it") } else { ("are the only way", "them") };
            let message =
                format!("{names} {only} between two parts of the circuit, so no current can pass through {it}");
            let mut said = Diagnostic::new(META.name, META.severity, facts.place(line[0]), message)
                .here("no way back from here")
                .ask(format!("If a current went through {names}, which way would it come back?"))
                .help("Add a second connection between the two parts, so that the current can return");
            for element in line.iter().skip(1).take(4) {
                said = said.label(facts.place(*element), "in the same line");
            }
            found.push(said.proof(basis::bridge(StateId::DRAWN, line[0])));
        }
    }
}

/// The elements that are the only way between two parts of a piece, in every state, in text order.
pub fn dead(facts: &Facts<'_>) -> Vec<ElementId> {
    find(facts).map_or_else(Vec::new, |(dead, _)| dead)
}

fn find(facts: &Facts<'_>) -> Option<(Vec<ElementId>, Bridges)> {
    let circuit = facts.circuit;
    // Few branches are dead; the search below runs only when one is, in every state.
    let candidates: FxHashSet<ElementId> = circuit
        .branches
        .iter()
        .enumerate()
        .filter(|(at, branch)| {
            branch.from != branch.to
                && facts.topologies.first().is_some_and(|topology| topology.role.get(*at) == Some(&Role::Dead))
        })
        .map(|(_, branch)| branch.element)
        .filter(|element| {
            facts
                .topologies
                .iter()
                .enumerate()
                .all(|(state, _)| facts.is_idle(ohmline_circuit::StateId(state as u32), *element))
        })
        .filter(|element| !facts.loose().explains(circuit, *element))
        .filter(|element| {
            pieces::of_element(facts, *element).is_some_and(|piece| {
                !facts.pieces().floats(piece)
                    && !facts.broken().piece(piece)
                    && facts.pieces().get(piece).is_some_and(|piece| piece.driven)
            })
        })
        .collect();
    if candidates.is_empty() {
        return None;
    }
    let bridges = Bridges::find(facts);
    let mut dead: Vec<ElementId> = candidates
        .into_iter()
        .filter(|element| circuit.branches_of(*element).all(|branch| bridges.is[branch.index()]))
        .collect();
    dead.sort_unstable();
    Some((dead, bridges))
}

/// Dead elements that share a node with no third thing stand in one line and are said together.
fn lines(facts: &Facts<'_>, dead: &[ElementId]) -> Vec<Vec<ElementId>> {
    let mut left: FxHashSet<ElementId> = dead.iter().copied().collect();
    let mut lines = Vec::new();
    for first in dead {
        if !left.remove(first) {
            continue;
        }
        let mut line = vec![*first];
        let mut at = 0;
        while at < line.len() {
            for node in &facts.circuit.element(line[at]).terminals {
                let ends = facts.circuit.ends(*node);
                if ends.len() == 2 {
                    line.extend(ends.iter().map(|end| end.element).filter(|element| left.remove(element)));
                }
            }
            at += 1;
        }
        line.sort_unstable();
        lines.push(line);
    }
    lines
}

/// The branches whose loss would part the drawing in two, and what drives the two parts.
struct Bridges {
    /// For each branch: whether it is one.
    is: Vec<bool>,
    /// For each bridge: whether something on a closed path drives the part behind it, and the part before it.
    driven: Vec<[bool; 2]>,
}

impl Bridges {
    /// Whether a bridge ties two parts that live by themselves, or is a source without any way back. One that leads to a part which nothing
    /// drives is told about together with that part.
    fn ties(&self, facts: &Facts<'_>, branch: BranchId) -> bool {
        let [behind, before] = self.driven[branch.index()];
        let source = facts.circuit.element(facts.circuit.branch(branch).element).kind.is_source();
        behind && before || source && !behind && !before
    }

    /// Every gap taken as joined, and all points asked about taken as one outside circuit. Depth first, without recursion.
    fn find(facts: &Facts<'_>) -> Self {
        let circuit = facts.circuit;
        let n_branches = circuit.branches.len();
        let mut edges: Vec<(NodeId, NodeId)> = circuit.branches.iter().map(|branch| (branch.from, branch.to)).collect();
        for pair in circuit.asked_nodes.windows(2) {
            edges.push((pair[0], pair[1]));
            edges.push((pair[0], pair[1]));
        }
        let n_nodes = circuit.nodes.len();
        let mut offsets = vec![0u32; n_nodes + 1];
        for (a, b) in &edges {
            offsets[a.index() + 1] += 1;
            offsets[b.index() + 1] += 1;
        }
        for at in 0..n_nodes {
            offsets[at + 1] += offsets[at];
        }
        let mut fill = offsets.clone();
        let mut around = vec![(0u32, 0u32); edges.len() * 2];
        for (edge, (a, b)) in edges.iter().enumerate() {
            for (from, to) in [(a, b), (b, a)] {
                around[fill[from.index()] as usize] = (edge as u32, to.0);
                fill[from.index()] += 1;
            }
        }
        const UNSEEN: u32 = u32::MAX;
        let mut seen = vec![UNSEEN; n_nodes];
        let mut low = vec![UNSEEN; n_nodes];
        let mut next = offsets.clone();
        let mut bridge = vec![false; n_branches];
        let mut time = 0;
        let mut stack: Vec<(u32, u32)> = Vec::new();
        // Nodes in the order in which they are left, each with the node and the edge by which it was reached.
        let mut left: Vec<(u32, u32, u32)> = Vec::new();
        for root in 0..n_nodes as u32 {
            if seen[root as usize] != UNSEEN {
                continue;
            }
            (seen[root as usize], low[root as usize]) = (time, time);
            time += 1;
            stack.push((root, UNSEEN));
            while let Some(&(node, by)) = stack.last() {
                let at = node as usize;
                if next[at] < offsets[at + 1] {
                    let (edge, to) = around[next[at] as usize];
                    next[at] += 1;
                    if edge == by {
                        continue;
                    }
                    if seen[to as usize] == UNSEEN {
                        (seen[to as usize], low[to as usize]) = (time, time);
                        time += 1;
                        stack.push((to, edge));
                    } else {
                        low[at] = low[at].min(seen[to as usize]);
                    }
                } else {
                    stack.pop();
                    left.push((node, stack.last().map_or(UNSEEN, |(above, _)| *above), by));
                    if let Some(&(above, _)) = stack.last() {
                        low[above as usize] = low[above as usize].min(low[at]);
                        if low[at] > seen[above as usize] && (by as usize) < n_branches {
                            bridge[BranchId(by).index()] = true;
                        }
                    }
                }
            }
        }
        // How many drivers on closed paths stand in the part behind each node, and in its whole piece.
        let mut behind = vec![0u32; n_nodes];
        for (at, branch) in circuit.branches.iter().enumerate() {
            let element = circuit.element(branch.element);
            if !bridge[at] && (element.kind.is_source() || pieces::starts_charged(&element.params)) {
                behind[branch.from.index()] += 1;
            }
        }
        for node in &circuit.asked_nodes {
            behind[node.index()] += 1;
        }
        let mut whole = vec![0u32; n_nodes];
        for &(node, above, _) in &left {
            if above == UNSEEN {
                whole[node as usize] = behind[node as usize];
            } else {
                behind[above as usize] += behind[node as usize];
            }
        }
        let mut driven = vec![[false; 2]; n_branches];
        for &(node, above, by) in left.iter().rev() {
            if above == UNSEEN {
                continue;
            }
            whole[node as usize] = whole[above as usize];
            if (by as usize) < n_branches && bridge[by as usize] {
                let inside = behind[node as usize];
                driven[by as usize] = [inside > 0, whole[node as usize] > inside];
            }
        }
        Self { is: bridge, driven }
    }
}

#[cfg(test)]
mod tests {
    use expect_test::expect;

    use crate::fixture::rule_says;

    #[test]
    fn a_single_tie_between_two_circuits() {
        rule_says(
            "dead-branch",
            "battery B1, B2 = 6 V\n\
             resistor R1, R2, R5, R6 = 12 ohm\n\
             B1+ -- @red -- R1 -- B1-\n\
             B2+ -- @green -- R2 -- B2-\n\
             @red -- R5 -- R6 -- @green\n",
            expect![[r#"
                warning dead-branch: R5 and R6 are the only way between two parts of the circuit, so no current can pass through them
                  at 5:9 `R5` no way back from here
                  ask: If a current went through R5 and R6, which way would it come back?
                  -- 5:15 `R6` in the same line
                  help: Add a second connection between the two parts, so that the current can return
            "#]],
        );
    }
}
