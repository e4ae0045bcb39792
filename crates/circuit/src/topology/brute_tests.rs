//! Against the definitions themselves, by brute force, on random small multigraphs.
//!
//! Source of the definitions: graph theory. A bridge is an edge whose removal disconnects its ends; two edges form a cut when neither is
//! a bridge and the removal of both disconnects the ends of each; two edges are parallel when they have the same two ends.

use malachite::Rational;
use proptest::prelude::*;

use super::net::Net;
use super::{NONE, Role, Topology};
use crate::model::{Amount, Kind, Params, StateId};

/// Whether two nodes hang together over the edges that `kept` keeps.
fn joined(ends: &[[u32; 2]], from: u32, to: u32, kept: impl Fn(usize) -> bool) -> bool {
    let mut reached = vec![from];
    let mut head = 0;
    while head < reached.len() {
        let node = reached[head];
        head += 1;
        for (edge, &[a, b]) in ends.iter().enumerate() {
            for (here, there) in [(a, b), (b, a)] {
                if here == node && kept(edge) && !reached.contains(&there) {
                    reached.push(there);
                }
            }
        }
    }
    reached.contains(&to)
}

/// Kinds drawn at random: resistors, closed and open switches.
fn random_net(ends: &[[u32; 2]], kinds: &[u8]) -> Net {
    let mut net = Net::new();
    for (edge, [a, b]) in ends.iter().enumerate() {
        let (kind, params) = match kinds[edge % kinds.len()] {
            0 => (Kind::Switch, Params::Switch { closed: Some(true) }),
            1 => (Kind::Switch, Params::Switch { closed: Some(false) }),
            _ => {
                let resistance = Amount::Known(Rational::from(5));
                (Kind::Resistor, Params::Resistor { resistance, tolerance: None, rating: None })
            }
        };
        net.add(&format!("E{edge}"), kind, params, &[&format!("{a}"), &format!("{b}")]);
    }
    net.finish()
}

fn multigraph() -> impl Strategy<Value = Vec<[u32; 2]>> {
    (2u32..8).prop_flat_map(|nodes| prop::collection::vec([0..nodes, 0..nodes], 1..14))
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn bridges_cuts_and_parallels_follow_their_definitions(ends in multigraph()) {
        let net = random_net(&ends, &[9]);
        let topology = net.topology();
        let is_loop = |e: usize| ends[e][0] == ends[e][1];
        let is_bridge = |e: usize| !joined(&ends, ends[e][0], ends[e][1], |other| other != e);
        for e in 0..ends.len() {
            let role = if is_loop(e) { Role::Shorted } else if is_bridge(e) { Role::Dead } else { Role::Live };
            prop_assert_eq!(topology.role[e], role, "role of edge {}", e);
            for f in 0..e {
                let either = |other: usize| other != e && other != f;
                let cut = !is_loop(e) && !is_loop(f) && !is_bridge(e) && !is_bridge(f)
                    && !joined(&ends, ends[e][0], ends[e][1], either)
                    && !joined(&ends, ends[f][0], ends[f][1], either);
                let one_class = topology.series_reduced[e] != NONE && topology.series_reduced[e] == topology.series_reduced[f];
                prop_assert_eq!(one_class, cut, "cut of edges {} and {}", e, f);
                let same = |[a, b]: [u32; 2]| [a.min(b), a.max(b)];
                let beside = !is_loop(e) && same(ends[e]) == same(ends[f]);
                let one_class = topology.parallel[e] != NONE && topology.parallel[e] == topology.parallel[f];
                prop_assert_eq!(one_class, beside, "edges {} and {} side by side", e, f);
            }
        }
    }

    /// Direct series: meeting at a node that no third live edge touches, and so on along the chain.
    #[test]
    fn direct_series_follows_its_definition(ends in multigraph(), kinds in prop::collection::vec(0u8..5, 14)) {
        let net = random_net(&ends, &kinds);
        let topology = net.topology();
        let is_open = |e: usize| kinds[e % kinds.len()] == 1;
        let is_short = |e: usize| kinds[e % kinds.len()] == 0;
        let shorted = |e: usize| {
            ends[e][0] == ends[e][1]
                || !is_short(e) && joined(&ends, ends[e][0], ends[e][1], is_short)
        };
        let carries = |e: usize| !is_open(e) && !shorted(e);
        let live: Vec<bool> = (0..ends.len())
            .map(|e| carries(e) && joined(&ends, ends[e][0], ends[e][1], |other| other != e && carries(other)))
            .collect();
        // Transitive closure of "these two alone meet at a node".
        let mut class: Vec<usize> = (0..ends.len()).collect();
        for node in 0..8 {
            let there: Vec<usize> = (0..ends.len()).filter(|&e| live[e] && ends[e].contains(&node)).collect();
            if let &[e, f] = &there[..] {
                let (keep, drop) = (class[e], class[f]);
                class.iter_mut().filter(|c| **c == drop).for_each(|c| *c = keep);
            }
        }
        for e in 0..ends.len() {
            for f in 0..e {
                let one_class = topology.series[e] != NONE && topology.series[e] == topology.series[f];
                prop_assert_eq!(one_class, class[e] == class[f], "edges {} and {}", e, f);
                if one_class {
                    prop_assert_eq!(topology.series_reduced[e], topology.series_reduced[f]);
                    prop_assert!(topology.series_reduced[e] != NONE);
                }
            }
        }
        // Every chain hangs together from its beginning to its end.
        for e in (0..ends.len()).filter(|&e| topology.series[e] != NONE) {
            let chain = topology.chain(&net.circuit, topology.series[e]);
            prop_assert_eq!(chain.nodes.len(), chain.elements.len() + 1);
            for (step, element) in chain.elements.iter().enumerate() {
                let place = net.circuit.branches[net.circuit.element(*element).branches.start as usize];
                let (a, b) = (chain.nodes[step], chain.nodes[step + 1]);
                prop_assert!((place.from, place.to) == (a, b) || (place.from, place.to) == (b, a));
            }
        }
    }

    /// Parallel with zero resistances: both asked about stay, every other closed switch is contracted.
    #[test]
    fn contracted_parallels_follow_their_definition(ends in multigraph(), kinds in prop::collection::vec(0u8..4, 14)) {
        let net = random_net(&ends, &kinds);
        let topology = net.topology();
        let is_short = |e: usize| kinds[e % kinds.len()] == 0;
        for e in 0..ends.len() {
            for f in 0..e {
                let one = |a: u32, b: u32| joined(&ends, a, b, |g| g != e && g != f && is_short(g));
                let ([a, b], [c, d]) = (ends[e], ends[f]);
                let beside = !one(a, b) && (one(a, c) && one(b, d) || one(a, d) && one(b, c));
                // Three and more closed switches side by side: each pair of them is shorted by the third, yet all stand between the same two nodes.
                let switches = is_short(e) && is_short(f) && a != b && ([a, b] == [c, d] || [a, b] == [d, c]);
                // A load beside one closed switch is shorted by it: no class.
                let shorted = is_short(e) != is_short(f);
                let one_class = topology.parallel[e] != NONE && topology.parallel[e] == topology.parallel[f];
                prop_assert_eq!(one_class, (beside && !shorted) || switches, "edges {} and {}", e, f);
            }
        }
    }
}

/// A ring of a million resistors: one piece, one chain, one class.
#[test]
fn a_million_elements_do_not_exhaust_the_stack() {
    let count = 1_000_000u32;
    let mut net = Net::new();
    let resistance = Amount::Known(Rational::from(5));
    let resistor = Params::Resistor { resistance, tolerance: None, rating: None };
    for node in 0..count {
        net.circuit.nodes.push(crate::model::Node {
            names: Default::default(),
            label: Default::default(),
            first_use: Default::default(),
        });
        net.circuit.elements.push(crate::model::Element {
            name: Default::default(),
            kind: Kind::Resistor,
            params: resistor.clone(),
            declared: Default::default(),
            value_at: Default::default(),
            uses: Default::default(),
            terminals: Default::default(),
            branches: node..node + 1,
            copied: false,
        });
        net.circuit.branches.push(crate::model::Branch {
            element: crate::model::ElementId(node),
            from: crate::model::NodeId(node),
            to: crate::model::NodeId((node + 1) % count),
        });
    }
    let topology = Topology::new(&net.circuit, StateId::DRAWN);
    assert_eq!(topology.pieces, 1);
    assert!(topology.series.iter().all(|&class| class == 0));
    assert!(topology.series_reduced.iter().all(|&class| class == 0));
}
