//! Small circuits for the tests of this folder, written as elements between named nodes.

use malachite::Rational;
use ohmline_syntax::FileSpan;

use super::Topology;
use crate::model::*;

/// A circuit under construction.
#[derive(Default)]
pub(super) struct Net {
    pub(super) circuit: Circuit,
}

impl Net {
    /// An empty circuit with the state as drawn.
    pub(super) fn new() -> Self {
        let mut net = Self::default();
        net.circuit.states.push(state(None));
        net
    }

    /// Lines of the form `NAME KIND VALUE NODE NODE [NODE]`, parted by `;`. Values: ohms, volts or a word; `-` for none.
    pub(super) fn of(text: &str) -> Self {
        let mut net = Self::new();
        for line in text.split([';', '\n']).map(str::trim).filter(|line| !line.is_empty()) {
            let words: Vec<&str> = line.split_whitespace().collect();
            let [name, kind, value, nodes @ ..] = &words[..] else { panic!("too short: {line}") };
            let number = || Rational::from(value.parse::<i64>().expect("a whole number"));
            let maybe = || (*value != "-").then(|| Amount::Known(number()));
            let params = match *kind {
                "battery" => {
                    Params::Battery { emf: Amount::Known(number()), internal: None, capacity: None, limit: None }
                }
                "drive" => Params::CurrentSource { drive: Amount::Known(number()), limit: None },
                "resistor" => {
                    Params::Resistor { resistance: maybe().unwrap_or(Amount::Asked), tolerance: None, rating: None }
                }
                "switch" => Params::Switch { closed: Some(*value == "closed") },
                "changeover" => Params::Changeover { throw: Some(if *value == "a" { Throw::A } else { Throw::B }) },
                "pot" => Params::Potentiometer {
                    resistance: Amount::Known(Rational::from(100)),
                    at: Amount::Known(number() / Rational::from(100)),
                    rating: None,
                },
                "ammeter" => Params::Ammeter { resistance: maybe(), range: None },
                "voltmeter" => Params::Voltmeter { resistance: maybe(), range: None },
                "capacitor" => {
                    Params::Capacitor { capacitance: maybe().unwrap_or(Amount::Asked), initial: None, rating: None }
                }
                "diode" => Params::Diode { drop: Amount::Known(number()), resistance: None, limit: None },
                other => panic!("unknown kind {other}"),
            };
            let kind = match *kind {
                "battery" => Kind::Battery,
                "drive" => Kind::CurrentSource,
                "resistor" => Kind::Resistor,
                "switch" => Kind::Switch,
                "changeover" => Kind::Changeover,
                "pot" => Kind::Potentiometer,
                "ammeter" => Kind::Ammeter,
                "voltmeter" => Kind::Voltmeter,
                "capacitor" => Kind::Capacitor,
                _ => Kind::Diode,
            };
            net.add(name, kind, params, nodes);
        }
        net.finish()
    }

    pub(super) fn add(&mut self, name: &str, kind: Kind, params: Params, nodes: &[&str]) {
        let terminals: smallvec::SmallVec<[NodeId; 2]> = nodes.iter().map(|node| self.node(node)).collect();
        assert!(terminals.len() == kind.terminals().len(), "{name}: terminals");
        let element = ElementId(self.circuit.elements.len() as u32);
        let first = self.circuit.branches.len() as u32;
        let pairs: &[(usize, usize)] = match kind {
            Kind::Changeover => &[(0, 1), (0, 2)],
            Kind::Potentiometer => &[(0, 2), (2, 1)],
            _ => &[(0, 1)],
        };
        for &(from, to) in pairs {
            self.circuit.branches.push(Branch { element, from: terminals[from], to: terminals[to] });
        }
        self.circuit.element_names.insert(name.into(), element);
        self.circuit.elements.push(Element {
            name: name.into(),
            kind,
            params,
            declared: FileSpan::default(),
            value_at: FileSpan::default(),
            uses: Default::default(),
            terminals,
            branches: first..self.circuit.branches.len() as u32,
            copied: false,
        });
    }

    /// The node of this name, made when it is new.
    pub(super) fn node(&mut self, name: &str) -> NodeId {
        if let Some(&node) = self.circuit.junction_names.get(name) {
            return node;
        }
        let node = NodeId(self.circuit.nodes.len() as u32);
        self.circuit.nodes.push(Node {
            names: [name.into()].into_iter().collect(),
            label: format!("@{name}").into(),
            first_use: FileSpan::default(),
        });
        self.circuit.junction_names.insert(name.into(), node);
        node
    }

    /// Fills in what touches each node.
    pub(super) fn finish(mut self) -> Self {
        let circuit = &mut self.circuit;
        let mut at: Vec<Vec<End>> = vec![Vec::new(); circuit.nodes.len()];
        for (number, element) in circuit.elements.iter().enumerate() {
            for (terminal, node) in element.terminals.iter().enumerate() {
                at[node.index()].push(End { element: ElementId(number as u32), terminal: terminal as u8 });
            }
        }
        circuit.end_offsets = vec![0];
        circuit.ends.clear();
        for ends in at {
            circuit.ends.extend(ends);
            circuit.end_offsets.push(circuit.ends.len() as u32);
        }
        self
    }

    /// A case in which these elements have these faults.
    pub(super) fn case(mut self, name: &str, faults: &[(&str, Fault)]) -> Self {
        let mut state = state(Some(name));
        state.faults = faults.iter().map(|(name, fault)| (self.element(name), *fault)).collect();
        self.circuit.states.push(state);
        self
    }

    /// Asks for the resistance between two nodes.
    pub(super) fn asks(mut self, from: &str, to: &str) -> Self {
        let quantity = Quantity::ResistanceBetween(self.node(from), self.node(to));
        self.circuit.finds.push(Ask {
            quantity,
            text: String::new(),
            at: FileSpan::default(),
            stmt: FileSpan::default(),
            state: StateId::DRAWN,
            after: None,
        });
        self
    }

    pub(super) fn element(&self, name: &str) -> ElementId {
        self.circuit.element_names[name]
    }

    pub(super) fn elements(&self, names: &str) -> Vec<ElementId> {
        names.split_whitespace().map(|name| self.element(name)).collect()
    }

    pub(super) fn at(&self, name: &str) -> NodeId {
        self.circuit.junction_names[name]
    }

    pub(super) fn names(&self, elements: &[ElementId]) -> String {
        elements.iter().map(|&element| self.circuit.element(element).name.as_str()).collect::<Vec<_>>().join(" ")
    }

    pub(super) fn topology(&self) -> Topology {
        Topology::new(&self.circuit, StateId::DRAWN)
    }

    pub(super) fn series(&self, name: &str) -> String {
        self.names(&self.topology().series_with(&self.circuit, self.element(name)))
    }

    pub(super) fn reduced(&self, name: &str) -> String {
        self.names(&self.topology().series_reduced_with(&self.circuit, self.element(name)))
    }

    pub(super) fn steady(&self, name: &str) -> String {
        self.names(&self.topology().steady_series_with(&self.circuit, self.element(name)))
    }

    pub(super) fn parallel(&self, name: &str) -> String {
        self.names(&self.topology().parallel_with(&self.circuit, self.element(name)))
    }

    pub(super) fn role(&self, name: &str) -> super::Role {
        self.topology().role[self.circuit.element(self.element(name)).branches.start as usize]
    }
}

fn state(name: Option<&str>) -> State {
    State { name: name.map(Into::into), at: None, overrides: Default::default(), faults: Default::default() }
}

/// 21 V, R1, then R2 beside R3.
pub(super) const KESTREL: &str = "B1 battery 21 a 0; R1 resistor 68 a b; R2 resistor 120 b 0; R3 resistor 180 b 0";
/// 24 V; Ra beside (Rb then Rc beside Rd).
pub(super) const TEAL: &str =
    "B1 battery 24 t 0; Ra resistor 80 t 0; Rb resistor 20 t m; Rc resistor 50 m 0; Rd resistor 75 m 0";
/// A bridge that does not reduce.
pub(super) const SISKIN: &str = "B1 battery 12 t 0; R1 resistor 8 t p; R2 resistor 30 t q; R3 resistor 20 p 0;
    R4 resistor 20 q 0; R5 resistor 20 p q";
