//! Circuits put together by hand, for tests.
#![allow(dead_code)]

use malachite::Rational;
use ohmline_circuit::*;
use ohmline_solve::{Answers, Method, Number, Value, solve};
use ohmline_syntax::{FileId, FileSpan, Span};

pub fn q(text: &str) -> Rational {
    text.parse::<Rational>().unwrap_or_else(|_| panic!("{text} is no rational"))
}

pub fn somewhere() -> FileSpan {
    FileSpan { file: FileId(0), span: Span { start: 0, end: 0 } }
}

fn amount(text: &str) -> Amount {
    if text == "?" { Amount::Asked } else { Amount::Known(q(text)) }
}

fn option(text: &str) -> Option<Amount> {
    (!text.is_empty()).then(|| amount(text))
}

#[derive(Default)]
pub struct Kit {
    pub circuit: Circuit,
}

impl Kit {
    pub fn new() -> Self {
        let mut kit = Self::default();
        kit.circuit.states.push(State {
            name: None,
            at: None,
            overrides: Default::default(),
            faults: Default::default(),
        });
        kit
    }

    pub fn node(&mut self, name: &str) -> NodeId {
        if let Some(node) = self.circuit.junction_names.get(name) {
            return *node;
        }
        let id = NodeId(self.circuit.nodes.len() as u32);
        self.circuit.nodes.push(Node {
            names: [name.into()].into_iter().collect(),
            label: name.into(),
            first_use: somewhere(),
        });
        self.circuit.junction_names.insert(name.into(), id);
        id
    }

    pub fn add(&mut self, name: &str, kind: Kind, params: Params, nodes: &[&str]) -> &mut Self {
        let element = ElementId(self.circuit.elements.len() as u32);
        let terminals: Vec<NodeId> = nodes.iter().map(|node| self.node(node)).collect();
        let start = self.circuit.branches.len() as u32;
        let pairs: &[(usize, usize)] = match kind {
            Kind::Changeover => &[(0, 1), (0, 2)],
            Kind::Potentiometer => &[(0, 2), (2, 1)],
            _ => &[(0, 1)],
        };
        for (from, to) in pairs {
            self.circuit.branches.push(Branch { element, from: terminals[*from], to: terminals[*to] });
        }
        let end = self.circuit.branches.len() as u32;
        self.circuit.elements.push(Element {
            name: name.into(),
            kind,
            params,
            declared: somewhere(),
            value_at: somewhere(),
            uses: Default::default(),
            terminals: terminals.into_iter().collect(),
            branches: start..end,
            copied: false,
        });
        self.circuit.element_names.insert(name.into(), element);
        self
    }

    pub fn battery(&mut self, name: &str, plus: &str, minus: &str, emf: &str, internal: &str) -> &mut Self {
        let params = Params::Battery { emf: amount(emf), internal: option(internal), capacity: None, limit: None };
        self.add(name, Kind::Battery, params, &[plus, minus])
    }

    pub fn drive(&mut self, name: &str, plus: &str, minus: &str, drive: &str) -> &mut Self {
        self.add(name, Kind::CurrentSource, Params::CurrentSource { drive: amount(drive), limit: None }, &[plus, minus])
    }

    pub fn resistor(&mut self, name: &str, a: &str, b: &str, resistance: &str) -> &mut Self {
        let params = Params::Resistor { resistance: amount(resistance), tolerance: None, rating: None };
        self.add(name, Kind::Resistor, params, &[a, b])
    }

    pub fn switch(&mut self, name: &str, a: &str, b: &str, closed: bool) -> &mut Self {
        self.add(name, Kind::Switch, Params::Switch { closed: Some(closed) }, &[a, b])
    }

    pub fn ammeter(&mut self, name: &str, a: &str, b: &str, resistance: &str) -> &mut Self {
        self.add(name, Kind::Ammeter, Params::Ammeter { resistance: option(resistance), range: None }, &[a, b])
    }

    pub fn voltmeter(&mut self, name: &str, a: &str, b: &str, resistance: &str) -> &mut Self {
        self.add(name, Kind::Voltmeter, Params::Voltmeter { resistance: option(resistance), range: None }, &[a, b])
    }

    pub fn capacitor(&mut self, name: &str, a: &str, b: &str, capacitance: &str, initial: &str) -> &mut Self {
        let initial = (!initial.is_empty()).then(|| q(initial));
        let params =
            Params::Capacitor { capacitance: amount(capacitance), initial: initial.map(Box::new), rating: None };
        self.add(name, Kind::Capacitor, params, &[a, b])
    }

    pub fn inductor(&mut self, name: &str, a: &str, b: &str, inductance: &str, resistance: &str) -> &mut Self {
        let params = Params::Inductor { inductance: amount(inductance), initial: None, resistance: option(resistance) };
        self.add(name, Kind::Inductor, params, &[a, b])
    }

    pub fn diode(&mut self, name: &str, anode: &str, cathode: &str, drop: &str, resistance: &str) -> &mut Self {
        let params = Params::Diode { drop: amount(drop), resistance: option(resistance), limit: None };
        self.add(name, Kind::Diode, params, &[anode, cathode])
    }

    pub fn pot(&mut self, name: &str, a: &str, b: &str, wiper: &str, resistance: &str, at: &str) -> &mut Self {
        let params = Params::Potentiometer { resistance: amount(resistance), at: amount(at), rating: None };
        self.add(name, Kind::Potentiometer, params, &[a, b, wiper])
    }

    pub fn changeover(&mut self, name: &str, common: &str, a: &str, b: &str, throw: Throw) -> &mut Self {
        self.add(name, Kind::Changeover, Params::Changeover { throw: Some(throw) }, &[common, a, b])
    }

    /// A case in which some elements have other values.
    pub fn case(&mut self, name: &str, changes: &[(&str, Params)], faults: &[(&str, Fault)]) -> StateId {
        let id = StateId(self.circuit.states.len() as u32);
        let of = |name: &str| self.circuit.element_names[name];
        let overrides = changes.iter().map(|(name, params)| (of(name), params.clone())).collect();
        let faults = faults.iter().map(|(name, fault)| (of(name), *fault)).collect();
        self.circuit.states.push(State { name: Some(name.into()), at: None, overrides, faults });
        id
    }

    pub fn ask(&self, quantity: Quantity) -> Ask {
        Ask { quantity, text: String::new(), at: somewhere(), stmt: somewhere(), state: StateId::DRAWN, after: None }
    }

    pub fn find(&mut self, quantity: Quantity) -> usize {
        let ask = self.ask(quantity);
        self.circuit.finds.push(ask);
        self.circuit.finds.len() - 1
    }

    /// Fills in what touches each node.
    pub fn finish(&mut self) {
        let nodes = self.circuit.nodes.len();
        let mut ends = vec![Vec::new(); nodes];
        for (index, element) in self.circuit.elements.iter().enumerate() {
            for (terminal, node) in element.terminals.iter().enumerate() {
                ends[node.index()].push(End { element: ElementId(index as u32), terminal: terminal as u8 });
            }
        }
        self.circuit.end_offsets = vec![0];
        self.circuit.ends.clear();
        for end in ends {
            self.circuit.ends.extend(end);
            self.circuit.end_offsets.push(self.circuit.ends.len() as u32);
        }
    }

    pub fn solve(&mut self, method: Method) -> Solved<'_> {
        self.finish();
        let answers = solve(&self.circuit, method);
        Solved { circuit: &self.circuit, answers, state: StateId::DRAWN }
    }

    pub fn exact(&mut self) -> Solved<'_> {
        self.solve(Method::Exact)
    }
}

pub struct Solved<'a> {
    pub circuit: &'a Circuit,
    pub answers: Answers,
    pub state: StateId,
}

impl Solved<'_> {
    pub fn state(&self) -> &ohmline_solve::StateAnswers {
        self.answers.state(self.state)
    }

    pub fn element(&self, name: &str) -> &ohmline_solve::ElementAnswer {
        self.state().elements[self.circuit.element_names[name].index()].as_ref().expect("placed")
    }

    pub fn current(&self, name: &str) -> &Value {
        self.element(name).current.as_ref().expect("has a current")
    }

    pub fn voltage(&self, name: &str) -> &Value {
        self.element(name).voltage.as_ref().expect("has a voltage")
    }

    pub fn power(&self, name: &str) -> &Value {
        &self.element(name).power
    }

    pub fn potential(&self, node: &str) -> &Value {
        &self.state().potentials[self.circuit.junction_names[node].index()]
    }

    pub fn cause(&self, value: &Value) -> &ohmline_solve::Cause {
        match value {
            Value::Undetermined(cause) => &self.state().causes[cause.0 as usize],
            Value::Known(number) => panic!("known: {number:?}"),
        }
    }
}

#[track_caller]
pub fn is(value: &Value, text: &str) {
    match value {
        Value::Known(Number::Exact(value)) => assert_eq!(**value, q(text), "should be {text}"),
        other => panic!("{other:?} should be {text}"),
    }
}

/// A linear congruential generator (Knuth's MMIX constants): reproducible test circuits.
pub struct Dice(pub u64);

impl Dice {
    pub fn below(&mut self, bound: u64) -> u64 {
        self.0 = self.0.wrapping_mul(6364136223846793005).wrapping_add(1442695040888963407);
        (self.0 >> 33) % bound
    }
}
