//! The picture of a circuit in one of its states.

use std::collections::HashMap;

use ohmline_analysis::Analysis;
use ohmline_circuit::quantity::Style;
use ohmline_circuit::{Circuit, Fault, Kind, NodeId, StateId, Unit};
use ohmline_draw::{Mark, Node, Part, Picture};
use ohmline_report::Shower;

use crate::label;

/// Number of elements up to which a drawing is made; nobody can read a larger one.
pub const LARGEST: usize = 2_000;

/// How much is written beside symbols.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub enum Show {
    /// Names.
    Names,
    /// Names and values.
    #[default]
    Values,
    /// Names, values, currents, voltages and the potentials of named junctions.
    Solved,
}

/// What is drawn, and how numbers are written.
#[derive(Clone, Debug)]
pub struct SketchOptions {
    /// How much is written.
    pub show: Show,
    /// How numbers are written.
    pub style: Style,
    /// Which state.
    pub state: StateId,
}

impl Default for SketchOptions {
    fn default() -> Self {
        Self { show: Show::Values, style: Style::Digits(3), state: StateId::DRAWN }
    }
}

/// A key for every node, the same in every state: what people call it, made unique.
fn node_keys(circuit: &Circuit) -> Vec<String> {
    let mut times: HashMap<&str, usize> = HashMap::new();
    for node in &circuit.nodes {
        *times.entry(node.label.as_str()).or_default() += 1;
    }
    circuit
        .nodes
        .iter()
        .enumerate()
        .map(
            |(index, node)| {
                if times[node.label.as_str()] == 1 {
                    node.label.to_string()
                } else {
                    format!("{} ({index})", node.label)
                }
            },
        )
        .collect()
}

/// The picture of a circuit in a state. Elements that are never placed or not declared are left out.
pub fn picture(analysis: &Analysis, options: &SketchOptions) -> Picture {
    let circuit = &analysis.circuit;
    let state = &circuit.states[options.state.index()];
    let answers = analysis.answers.states.get(options.state.index());
    let shower = answers.map(|answers| Shower::new(options.style, answers));
    let keys = node_keys(circuit);
    let mut picture = Picture { title: circuit.title.clone().unwrap_or_default(), ..Picture::default() };
    if let Some(case) = &state.name {
        picture.title = if picture.title.is_empty() { case.to_string() } else { format!("{}: {case}", picture.title) };
    }
    let mut number: HashMap<NodeId, usize> = HashMap::new();
    for id in circuit.declared_ids() {
        let element = circuit.element(id);
        if !element.is_placed() {
            continue;
        }
        let terminals: Vec<usize> = element
            .terminals
            .iter()
            .map(|node| {
                *number.entry(*node).or_insert_with(|| {
                    picture.nodes.push(self::node(analysis, options, &keys, *node, shower.as_ref()));
                    picture.nodes.len() - 1
                })
            })
            .collect();
        let params = circuit.params(options.state, id);
        let fault = state.faults.get(&id).copied();
        let mut part = Part::new(&element.name, label::symbol(params, element.kind == Kind::Electrolytic), &terminals);
        if fault == Some(Fault::Open) {
            part.mark = Mark::Dim;
        }
        if options.show != Show::Names || fault.is_some() {
            part.value = label::value(params, fault);
        }
        if let (Show::Solved, Some(answers), Some(shower)) = (options.show, answers, &shower)
            && let Some(answer) = &answers.elements[id.index()]
        {
            (part.arrow, part.solved) = label::solved(answer, element.kind.is_source(), shower);
        }
        picture.parts.push(part);
    }
    picture
}

fn node(analysis: &Analysis, options: &SketchOptions, keys: &[String], id: NodeId, shower: Option<&Shower>) -> Node {
    let circuit = &analysis.circuit;
    let of = circuit.node(id);
    let names: Vec<String> = of.names.iter().map(ToString::to_string).collect();
    let label = (!names.is_empty()).then(|| names.join(", "));
    let mut potential = None;
    if let (Show::Solved, Some(shower), false) = (options.show, shower, names.is_empty())
        && let Some(value) = analysis.answers.states[options.state.index()].potentials.get(id.index())
        && value.known().is_some()
    {
        potential = Some(label::typographic(&shower.words(value, Unit::Volt)));
    }
    Node {
        key: keys[id.index()].clone(),
        label,
        potential,
        reference: circuit.references.iter().any(|(node, _)| *node == id),
        words: of.label.to_string(),
        names,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use ohmline_draw::{Arrow, Layout, Options, Symbol, measure};

    struct NoFiles;

    impl ohmline_circuit::FileSystem for NoFiles {
        fn read(&self, _: &std::path::Path) -> Result<std::sync::Arc<str>, String> {
            Err("there are no files here".to_owned())
        }

        fn exists(&self, _: &std::path::Path) -> bool {
            false
        }
    }

    fn sketch(text: &str, show: Show, case: Option<&str>) -> Picture {
        let tree = std::sync::Arc::new(ohmline_syntax::parse(text));
        let sources = ohmline_analysis::load("test.ohmline", None, tree, &NoFiles);
        let analysis = ohmline_analysis::analyze(sources, &ohmline_analysis::Settings::default());
        let state = analysis
            .circuit
            .state_ids()
            .find(|id| analysis.circuit.states[id.index()].name.as_deref() == case)
            .unwrap_or(StateId::DRAWN);
        picture(&analysis, &SketchOptions { show, state, ..SketchOptions::default() })
    }

    const PIER: &str = "battery B1 = 4.5 V\nresistor R1 = 9 ohm\nlamp L1 = 10 ohm\nlamp L2 = 15 ohm\n\
                        B1+ -- R1 -- @fork -- ( L1 | L2 ) -- @join -- B1-\nreference @join\ncase \"out\": L2 = open\n";

    #[test]
    fn currents_flow_out_of_plus_and_voltages_are_written() {
        let picture = sketch(PIER, Show::Solved, None);
        let part = |name: &str| picture.parts.iter().find(|part| part.name == name).unwrap();
        // 4.5 V / (9 + 10 * 15 / 25) ohm; 10 ohm takes 15/25 of it.
        assert_eq!(part("B1").arrow, Some(Arrow { forward: false, text: "300 mA".to_owned() }));
        assert_eq!(part("L1").arrow, Some(Arrow { forward: true, text: "180 mA".to_owned() }));
        assert_eq!(part("L1").solved, ["V = 1.80 V"]);
        let fork = picture.nodes.iter().find(|node| node.names == ["fork"]).unwrap();
        assert_eq!(fork.potential.as_deref(), Some("1.80 V"));
        assert!(picture.nodes.iter().any(|node| node.reference));
        let layout = Layout::new(&picture, &Options::default());
        let measures = measure(&picture, &layout);
        assert!(measures.overlaps.is_empty() && measures.faithful && measures.crossings == 0, "{measures:?}");
    }

    #[test]
    fn a_case_shows_its_own_state() {
        let picture = sketch(PIER, Show::Names, Some("out"));
        assert_eq!(picture.title, "out");
        let lamp = picture.parts.iter().find(|part| part.name == "L2").unwrap();
        assert_eq!((lamp.value.as_deref(), lamp.mark), (Some("open"), Mark::Dim));
        let other = picture.parts.iter().find(|part| part.name == "L1").unwrap();
        assert_eq!((other.value.as_deref(), other.symbol), (None, Symbol::Lamp));
    }

    #[test]
    fn a_current_against_the_path_turns_its_arrow() {
        let picture = sketch("battery B1 = 6 V\nresistor R1 = 2 ohm\nB1- -- R1 -- B1+\n", Show::Solved, None);
        let resistor = picture.parts.iter().find(|part| part.name == "R1").unwrap();
        assert_eq!(resistor.arrow, Some(Arrow { forward: false, text: "3.00 A".to_owned() }));
        assert_eq!(resistor.solved, ["V = 6.00 V"]);
    }
}
