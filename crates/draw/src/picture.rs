//! What is drawn: nodes, parts, and the words beside them.

/// The contact that a changeover stands on.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Throw {
    /// common joined to `a`
    A,
    /// common joined to `b`
    B,
}

/// The symbol of a part.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[allow(missing_docs)]
pub enum Symbol {
    Battery,
    VoltageSource,
    CurrentSource,
    Resistor,
    /// A resistor that stands for several others.
    Equivalent,
    Lamp,
    Switch {
        closed: bool,
    },
    Changeover {
        throw: Throw,
    },
    Potentiometer,
    Fuse,
    Ammeter,
    Voltmeter,
    Capacitor,
    Electrolytic,
    Inductor,
    Diode,
}

impl Symbol {
    /// Number of its terminals. Polar kinds: plus (anode), minus. Changeover: common, a, b. Potentiometer: a, b, wiper.
    pub const fn terminals(self) -> usize {
        match self {
            Symbol::Changeover { .. } | Symbol::Potentiometer => 3,
            _ => 2,
        }
    }

    /// Whether its terminals are plus and minus.
    pub const fn is_polar(self) -> bool {
        matches!(
            self,
            Symbol::Battery
                | Symbol::VoltageSource
                | Symbol::CurrentSource
                | Symbol::Ammeter
                | Symbol::Voltmeter
                | Symbol::Electrolytic
                | Symbol::Diode
        )
    }

    /// Whether it is a battery or a source.
    pub const fn is_source(self) -> bool {
        matches!(self, Symbol::Battery | Symbol::VoltageSource | Symbol::CurrentSource)
    }

    /// What it is called in a description.
    pub const fn word(self) -> &'static str {
        match self {
            Symbol::Battery => "battery",
            Symbol::VoltageSource => "voltage source",
            Symbol::CurrentSource => "current source",
            Symbol::Resistor => "resistor",
            Symbol::Equivalent => "equivalent resistor",
            Symbol::Lamp => "lamp",
            Symbol::Switch { closed: true } => "closed switch",
            Symbol::Switch { closed: false } => "open switch",
            Symbol::Changeover { throw: Throw::A } => "changeover on a",
            Symbol::Changeover { throw: Throw::B } => "changeover on b",
            Symbol::Potentiometer => "potentiometer",
            Symbol::Fuse => "fuse",
            Symbol::Ammeter => "ammeter",
            Symbol::Voltmeter => "voltmeter",
            Symbol::Capacitor => "capacitor",
            Symbol::Electrolytic => "electrolytic capacitor",
            Symbol::Inductor => "inductor",
            Symbol::Diode => "diode",
        }
    }
}

/// How a part stands out. Every mark differs in line and shape, so that it is seen without color.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
pub enum Mark {
    /// As everything else.
    #[default]
    None,
    /// The result of this step: a solid frame and bold lines.
    New,
    /// About to be replaced: a dashed frame.
    Group,
    /// Of no interest in this step: thin, pale lines.
    Dim,
}

/// A current arrow on the wire beside a part.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Arrow {
    /// Whether it points from the first terminal, through the part, to the second.
    pub forward: bool,
    /// What is written at it: `I1`, `300 mA`.
    pub text: String,
}

/// A point of the circuit.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Node {
    /// The same in all redraws of one circuit, unique in a picture.
    pub key: String,
    /// Junction names, without `@`.
    pub names: Vec<String>,
    /// What is written at it; usually its name.
    pub label: Option<String>,
    /// Its potential, written under the label.
    pub potential: Option<String>,
    /// Whether it is the 0 V point: marked with the reference sign.
    pub reference: bool,
    /// What people call it in a sentence: `@fork`, `the point between R1 and R2`.
    pub words: String,
}

/// An element, or what stands for several.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Part {
    /// The same in all redraws of one circuit, unique in a picture; the drawing marks the symbol with it (`data-element`).
    pub key: String,
    /// Its symbol.
    pub symbol: Symbol,
    /// Indices in [`Picture::nodes`], in the order of [`Symbol::terminals`].
    pub terminals: Vec<usize>,
    /// Its name, written beside it.
    pub name: String,
    /// Its value, written under the name.
    pub value: Option<String>,
    /// Solved values, a line each.
    pub solved: Vec<String>,
    /// A current arrow beside it; two-terminal parts only.
    pub arrow: Option<Arrow>,
    /// How it stands out.
    pub mark: Mark,
    /// Keys of the parts of the previous picture that it stands for.
    pub replaces: Vec<String>,
}

impl Part {
    /// A part without values and marks, whose key is its name.
    pub fn new(name: &str, symbol: Symbol, terminals: &[usize]) -> Self {
        Self {
            key: name.to_owned(),
            symbol,
            terminals: terminals.to_vec(),
            name: name.to_owned(),
            value: None,
            solved: Vec::new(),
            arrow: None,
            mark: Mark::None,
            replaces: Vec::new(),
        }
    }
}

/// A loop with its number, drawn as an arrow inside it.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Loop {
    /// Keys of the parts round it, in order; the arrow runs clockwise or not as this order does in the drawing.
    pub parts: Vec<String>,
    /// What is written in it: `m1`.
    pub text: String,
}

/// A circuit as it is to be drawn. Parts in text order: it decides about the order of parallel branches.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Picture {
    /// Its title.
    pub title: String,
    /// Its nodes.
    pub nodes: Vec<Node>,
    /// Its parts.
    pub parts: Vec<Part>,
    /// The part that stands at the left; without one the first battery or source, else the first part of each piece.
    pub source: Option<usize>,
    /// Loops with numbers.
    pub loops: Vec<Loop>,
}

impl Picture {
    /// Whether every part has as many terminals as its symbol, and each names a node. Only such pictures can be drawn.
    pub fn is_sound(&self) -> bool {
        self.parts.iter().all(|part| {
            part.terminals.len() == part.symbol.terminals()
                && part.terminals.iter().all(|node| *node < self.nodes.len())
        })
    }

    /// Number of part ends at each node.
    pub fn ends(&self) -> Vec<usize> {
        let mut ends = vec![0; self.nodes.len()];
        for part in &self.parts {
            for node in &part.terminals {
                ends[*node] += 1;
            }
        }
        ends
    }
}
