//! A network in one line, close to the notation: `B1+ -- R1 -- ( R2 | R3 ) -- B1-`.

use crate::net::{Behavior, Net, Placed};
use crate::tree::{Shape, Tree};

/// Writes the network as paths between the points where three or more parts meet; groups in brackets.
pub(crate) fn one_line(net: &Net) -> String {
    let sources = net.sources();
    if let [source] = sources[..]
        && source.from != source.to
    {
        let tree = Tree::grow(net, &[source.from, source.to]);
        if let [root] = tree.edges[..] {
            let inner = walk(net, &tree, root.node, source.from);
            let (plus, minus) = ends(net, source);
            return format!("{plus} -- {inner} -- {minus}");
        }
    }
    let mut paths = Vec::new();
    // A source between points that are called after its terminals says nothing more.
    let mut used: Vec<bool> = net
        .placed
        .iter()
        .map(|placed| {
            let name = net.name(*placed);
            let label = |point: usize| net.points[point].label.as_str();
            net.parts[placed.part].behavior == Behavior::Terminals
                || (net.parts[placed.part].is_source()
                    && label(placed.from) == format!("{name}+")
                    && label(placed.to) == format!("{name}-")
                    && net.placed.len() > 1)
        })
        .collect();
    let forks: Vec<usize> = net.live_points().into_iter().filter(|&point| net.degree(point) != 2).collect();
    let starts = forks.iter().copied().chain(net.live_points());
    let fork = |point: usize| net.degree(point) != 2;
    for start in starts {
        while let Some(first) = (0..net.placed.len()).find(|&at| !used[at] && net.placed[at].touches(start)) {
            let mut path = net.label_or_dot(start);
            let (mut at, mut next) = (start, Some(first));
            while let Some(index) = next {
                used[index] = true;
                let placed = net.placed[index];
                path = format!("{path} -- {}", item(net, placed, at));
                at = placed.far(at);
                next = if fork(at) || at == start {
                    None
                } else {
                    (0..net.placed.len()).find(|&other| !used[other] && net.placed[other].touches(at))
                };
            }
            paths.push(format!("{path} -- {}", net.label_or_dot(at)));
        }
    }
    paths.join(",  ")
}

impl Net {
    fn label_or_dot(&self, point: usize) -> String {
        let own = &self.points[point];
        if own.named { own.label.clone() } else { "...".to_owned() }
    }
}

/// The ends of a source, to begin and end a path with.
fn ends(net: &Net, source: Placed) -> (String, String) {
    let part = &net.parts[source.part];
    match part.behavior {
        Behavior::Terminals => (net.label_or_dot(source.from), net.label_or_dot(source.to)),
        _ => {
            let name = if part.shape == crate::net::Shape::Single {
                part.name.to_string()
            } else {
                format!("({})", part.name)
            };
            (format!("{name}+"), format!("{name}-"))
        }
    }
}

/// A part as it is passed from `at`.
fn item(net: &Net, placed: Placed, at: usize) -> String {
    let part = &net.parts[placed.part];
    if !part.is_source() {
        return part.name.to_string();
    }
    let (near, far) = if placed.from == at { ("+", "-") } else { ("-", "+") };
    format!("{near}{}{far}", part.name)
}

fn walk(net: &Net, tree: &Tree, node: usize, from: usize) -> String {
    let own = &tree.nodes[node];
    let forward = own.from == from;
    match &own.shape {
        Shape::Leaf(placed) => net.name(*placed).to_owned(),
        Shape::Series(children) => {
            let mut at = from;
            let mut items = Vec::new();
            let ordered: Vec<usize> = if forward { children.clone() } else { children.iter().rev().copied().collect() };
            for child in ordered {
                items.push(walk(net, tree, child, at));
                at = tree.nodes[child].far(at);
            }
            items.join(" -- ")
        }
        Shape::Parallel(children) => {
            let items: Vec<String> = children.iter().map(|&child| walk(net, tree, child, from)).collect();
            format!("( {} )", items.join(" | "))
        }
    }
}
