//! The worked solution: chapters of steps, the table, the checks. Every number in it is exact.

use malachite::Rational;
use ohmline_circuit::{ElementId, NodeId, StateId};
use smol_str::SmolStr;

use crate::changes::Changes;
use crate::line::{Equation, Figure, Line, Statement};

/// A way to solve a circuit by hand.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub enum Method {
    /// What a teacher would choose.
    #[default]
    Auto,
    /// Series and parallel replacements.
    Reduction,
    /// Junction equations with potentials as unknowns.
    Nodes,
    /// Loop equations with loop currents as unknowns.
    Loops,
    /// One source at a time.
    Superposition,
    /// A triangle replaced by a star, then series and parallel replacements.
    StarDelta,
}

impl Method {
    /// The method's word, as the command writes it.
    pub const fn word(self) -> &'static str {
        match self {
            Method::Auto => "auto",
            Method::Reduction => "reduction",
            Method::Nodes => "nodes",
            Method::Loops => "loops",
            Method::Superposition => "superposition",
            Method::StarDelta => "star-delta",
        }
    }
}

/// Why no solution can be worked out.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Refusal {
    /// Nothing is placed, or nothing drives a current and no resistance is asked for.
    NothingToDo,
    /// The answers of this state have causes that spoil it; the indices are those of its causes.
    Undetermined(Vec<usize>),
    /// So many parts carry current that no reader would follow the steps.
    TooLarge {
        /// How many.
        parts: usize,
    },
}

/// A rule by which a step replaces parts.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Rule {
    /// Resistances one after the other.
    Series,
    /// Resistances side by side.
    Parallel,
    /// Sources in one line.
    SeriesSources,
    /// Equal cells side by side.
    EqualCells,
    /// A bridge without voltage left out.
    Balanced,
    /// Points of equal potential made one.
    EqualPotential,
    /// A triangle replaced by a star.
    StarDelta,
}

impl Rule {
    /// The rule's word in JSON.
    pub const fn word(self) -> &'static str {
        match self {
            Rule::Series => "series",
            Rule::Parallel => "parallel",
            Rule::SeriesSources => "series-sources",
            Rule::EqualCells => "equal-cells",
            Rule::Balanced => "balanced",
            Rule::EqualPotential => "equal-potential",
            Rule::StarDelta => "star-delta",
        }
    }
}

/// What is replaced by what: one group of a step.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Replacement {
    /// The rule.
    pub rule: Rule,
    /// Names of the parts that go.
    pub replaces: Vec<SmolStr>,
    /// Name of the part that comes; empty where parts are only left out.
    pub by: SmolStr,
    /// Its value.
    pub value: Option<Figure>,
    /// Why the rule applies, without a final period.
    pub evidence: String,
}

/// What a part of a stage is.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum PartKind {
    /// A resistance: an element that acts as one, or an equivalent.
    Resistance,
    /// A battery, a voltage source, a conducting diode; `from` is `+`.
    Emf,
    /// A current source, which drives out of `from`.
    Drive,
    /// The two points between which a resistance is asked for.
    Terminals,
}

/// A part of a stage.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct StagePart {
    /// Its name, the same in every stage.
    pub name: SmolStr,
    /// Whose it is, when it is (a branch of) an element of the drawing.
    pub element: Option<ElementId>,
    /// What it is.
    pub kind: PartKind,
    /// Index of a point of the stage.
    pub from: usize,
    /// Index of a point of the stage.
    pub to: usize,
    /// Resistance, emf or drive.
    pub value: Figure,
    /// Internal resistance of an emf.
    pub internal: Option<Figure>,
    /// Current from `from` to `to`, where it is known at this step.
    pub current: Option<Rational>,
    /// Whether this step brought it.
    pub new: bool,
    /// What this step replaced by it.
    pub replaces: Vec<SmolStr>,
}

/// A point of a stage.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct StagePoint {
    /// The nodes of the drawing that are this one point, the first naming it.
    pub nodes: Vec<NodeId>,
    /// How people call it: `@fork`, `B1+`, `the point between R1 and R2`.
    pub label: String,
    /// Whether the label is a name, not a description.
    pub named: bool,
}

/// A loop with a current of its own.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct StageRing {
    /// What the current is called: `i1`.
    pub name: SmolStr,
    /// Names of the parts round it, in the direction in which its current counts.
    pub parts: Vec<SmolStr>,
}

/// The network at one moment of the solution: what a picture is drawn from.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Stage {
    /// Points; those that nothing touches any more are left out.
    pub points: Vec<StagePoint>,
    /// Parts.
    pub parts: Vec<StagePart>,
    /// Loops with a current of their own, to be drawn as arrows.
    pub rings: Vec<StageRing>,
    /// The network in one line, close to the notation.
    pub structure: String,
}

/// One step.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Step {
    /// What happens, as a headline without a final period.
    pub heading: String,
    /// How.
    pub lines: Vec<Statement>,
    /// Names of the parts it speaks of.
    pub about: Vec<SmolStr>,
    /// What it replaces; several where equal groups are taken at once.
    pub replaced: Vec<Replacement>,
    /// The network after it, where it changed.
    pub stage: Option<Stage>,
}

/// What a chapter is about.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Topic {
    /// What is given and what is taken as ideal.
    Data,
    /// Replacements.
    Reduction,
    /// The loop that is left.
    Loop,
    /// Potentials as unknowns.
    Nodes,
    /// Loop currents as unknowns.
    Loops,
    /// The way back through the replacements.
    Back,
    /// One source alone.
    OneSource,
    /// The contributions of the sources added.
    Sum,
    /// What charges the capacitors hold.
    Charges,
}

/// A chapter.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Chapter {
    /// What it is about.
    pub topic: Topic,
    /// Its title.
    pub title: String,
    /// Its steps.
    pub steps: Vec<Step>,
}

/// A value found on the way back.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Back {
    /// The part.
    pub name: SmolStr,
    /// Current through it.
    pub current: Rational,
    /// Voltage across it.
    pub voltage: Rational,
    /// Which rule handed what down.
    pub because: String,
}

/// A row of the table.
#[derive(Clone, PartialEq, Debug)]
pub struct Row {
    /// The element.
    pub element: ElementId,
    /// Name: of the element, or of one side of it.
    pub name: SmolStr,
    /// Resistance, where it acts as one.
    pub resistance: Option<Figure>,
    /// Current, in the element's positive direction (sources: out of `+`); `None` when undetermined.
    pub current: Option<Rational>,
    /// Voltage, likewise.
    pub voltage: Option<Rational>,
    /// Power taken up; for sources delivered.
    pub power: Option<Rational>,
    /// How it was found.
    pub how: String,
}

/// What a check is about.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum CheckKind {
    /// Currents in and out at a point.
    Junction(String),
    /// Rises and drops round a loop.
    Loop(Vec<SmolStr>),
    /// Power delivered and taken up.
    Power,
    /// A diode stands as it was taken to.
    Diode(SmolStr),
}

/// A check, from unrounded values.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Check {
    /// About what.
    pub kind: CheckKind,
    /// What goes in, rises, is delivered: names and amounts.
    pub left: Vec<(SmolStr, Figure)>,
    /// What goes out, drops, is taken up.
    pub right: Vec<(SmolStr, Figure)>,
    /// Whether both sides are equal (for a diode: whether the sentence is true).
    pub holds: bool,
    /// A sentence, for diodes.
    pub say: Option<Line>,
}

/// A source of the circuit as the solution found it.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Source {
    /// Its name.
    pub name: SmolStr,
    /// Current out of `+`.
    pub current: Rational,
    /// Terminal voltage, `+` above `-`.
    pub voltage: Rational,
}

/// The row of the whole circuit, where one source feeds one resistance.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Whole {
    /// The resistance that the source sees.
    pub resistance: Option<Rational>,
    /// The current of the source.
    pub current: Option<Rational>,
    /// Its terminal voltage.
    pub voltage: Option<Rational>,
    /// The power that all sources deliver.
    pub power: Rational,
}

/// A worked solution.
#[derive(Clone, PartialEq, Debug)]
pub struct Solution {
    /// Of which state.
    pub state: StateId,
    /// The method that was used.
    pub method: Method,
    /// Why another method is used than was asked for, as a sentence.
    pub instead: Option<String>,
    /// Its chapters, data first.
    pub chapters: Vec<Chapter>,
    /// Every equation set up, for programs.
    pub equations: Vec<Equation>,
    /// The sources.
    pub sources: Vec<Source>,
    /// Every value handed down.
    pub back: Vec<Back>,
    /// The table.
    pub rows: Vec<Row>,
    /// Its last row.
    pub whole: Option<Whole>,
    /// The checks.
    pub checks: Vec<Check>,
    /// What the case changes; `None` for the circuit as drawn.
    pub changes: Option<Changes>,
}

impl Solution {
    /// Every replacement, in order.
    pub fn replacements(&self) -> impl Iterator<Item = &Replacement> {
        self.chapters.iter().flat_map(|chapter| &chapter.steps).flat_map(|step| &step.replaced)
    }
}
