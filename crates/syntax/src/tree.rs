//! The tree: a flat list of statements, in text order, each with places relative to its own start.
//!
//! Blocks (`part ... end`, `repeat ... end`) are not nodes that hold others: a head and an `end` are statements
//! like all others, and [`Tree::blocks`] says which belong together. So one wrong line can never swallow the rest.

use std::sync::Arc;

use smol_str::SmolStr;

use crate::diagnostic::{Diagnostic, Problem};
use crate::memo::{Hint, Memo};
use crate::span::{FileId, RelSpan, Span};

/// The text of one file, read.
#[derive(Clone, Debug)]
pub struct Tree {
    /// The text itself.
    pub text: Arc<str>,
    /// Every statement, in text order.
    pub stmts: Vec<Stmt>,
    /// The `part` and `repeat` blocks, in order of their heads.
    pub blocks: Vec<Block>,
    /// What is wrong with the blocks, each with the index of the statement where it shows, in order.
    pub block_problems: Vec<(u32, Problem)>,
}

/// A statement at its place.
#[derive(Clone, Debug)]
pub struct Stmt {
    /// Byte offset of its first token.
    pub offset: u32,
    /// What it is; shared with the trees of earlier versions of the text.
    pub node: Arc<StmtNode>,
}

impl Stmt {
    /// Where the whole statement stands: from its first token to the end of its last (comments excluded).
    pub fn range(&self) -> Span {
        Span::new(self.offset, self.offset + self.node.len)
    }

    /// Makes a place inside this statement absolute.
    pub fn span(&self, rel: RelSpan) -> Span {
        rel.at(self.offset)
    }
}

/// What a statement says.
#[derive(Clone, PartialEq, Debug)]
pub struct StmtNode {
    /// Bytes from the first token to the end of the last.
    pub len: u32,
    /// What was read.
    pub kind: StmtKind,
    /// What is wrong with its form; exactly one problem for [`StmtKind::Error`], any number of repaired slips
    /// (a typographic dash, say) otherwise.
    pub problems: Vec<Problem>,
}

/// A block of lines between a head and its `end`.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Block {
    /// Index of the `part` or `repeat` statement; [`StmtKind::Error`] when that line could not be read.
    pub head: u32,
    /// Index of the first statement that is not inside any more: the `end`, or where the block was closed for want of one.
    pub close: u32,
    /// Whether an `end` closes it.
    pub closed: bool,
    /// Index (in `blocks`) of the block around it.
    pub parent: Option<u32>,
}

/// The kinds of statement.
#[derive(Clone, PartialEq, Debug)]
pub enum StmtKind {
    /// `circuit "Pier lamps"`
    Circuit(Text),
    /// `include "kit.ohmline"`
    Include(Text),
    /// `let supply = 4.5 V`
    Let {
        /// The name defined.
        name: Name,
        /// Its value.
        value: Value,
    },
    /// `resistor R1 = 9 ohm, tolerance 5%`
    Declare(Declare),
    /// `B1+ -- R1 -- @fork`
    Path(Segment),
    /// `reference @join`
    Reference(Point),
    /// `find current through R1, R2 in "night"`
    Find {
        /// What is asked.
        quantity: Box<Quantity>,
        /// The case spoken of.
        case: Option<Text>,
    },
    /// `given current through A1 = 20 mA`
    Given {
        /// What is known.
        quantity: Box<Quantity>,
        /// Its value.
        value: Expr,
        /// The case spoken of.
        case: Option<Text>,
    },
    /// `measured voltage across R1 = 2.68 V within 1%`
    Measured {
        /// What was read.
        quantity: Box<Quantity>,
        /// The reading.
        value: Expr,
        /// Its uncertainty.
        within: Option<Expr>,
        /// The case spoken of.
        case: Option<Text>,
    },
    /// `claim current through R1 = 0.3 A`
    ClaimQuantity {
        /// What is claimed to have a value.
        quantity: Box<Quantity>,
        /// The value.
        value: Expr,
        /// How far off it may be.
        within: Option<Expr>,
        /// The case spoken of.
        case: Option<Text>,
    },
    /// `claim (R2, R4), R3 in parallel`
    ClaimRelation {
        /// What is claimed to stand so.
        branches: Vec<Branch>,
        /// How.
        relation: Relation,
        /// The case spoken of.
        case: Option<Text>,
    },
    /// `case "night": S1 = open`
    Case {
        /// Its name.
        name: Text,
        /// What differs from the circuit as drawn.
        assigns: Vec<Assign>,
    },
    /// `part lantern(in, out), dropper 33 ohm`
    Part {
        /// The name of the new kind.
        name: Name,
        /// Its ports, in order.
        ports: Vec<Name>,
        /// Its parameters with their defaults.
        parameters: Vec<OptionItem>,
    },
    /// `repeat k from 1 to 50`
    Repeat {
        /// The counting name.
        variable: Name,
        /// First value.
        from: Expr,
        /// Last value, included.
        to: Expr,
    },
    /// `end`
    End,
    /// A line that could not be read; see [`StmtNode::problems`].
    Error,
}

/// A name as written, in Unicode normal form C. May hold `{k+1}` holes inside a `repeat`.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Name {
    /// The name.
    pub text: SmolStr,
    /// Where.
    pub span: RelSpan,
    /// Where a later stage found it last time.
    pub hint: Hint,
}

/// Quoted text on one line.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Text {
    /// What stands between the quotes.
    pub text: SmolStr,
    /// Where, quotes included.
    pub span: RelSpan,
}

/// `Left.D1`: a name, or a path of names into parts.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Ref {
    /// The names between the dots; at least one.
    pub parts: smallvec::SmallVec<[Name; 1]>,
    /// Where the whole stands.
    pub span: RelSpan,
}

/// `kind NAME, NAME = value, option value, ...`
#[derive(Clone, PartialEq, Debug)]
pub struct Declare {
    /// The kind word: built in, or the name of a part. This crate does not judge it.
    pub kind: Name,
    /// What is declared; at least one.
    pub names: smallvec::SmallVec<[Name; 1]>,
    /// The value behind `=`.
    pub value: Option<Value>,
    /// The options.
    pub options: Vec<OptionItem>,
    /// What a later stage made of it.
    pub memo: Memo,
}

/// `, tolerance 5%`
#[derive(Clone, PartialEq, Debug)]
pub struct OptionItem {
    /// The option's name.
    pub name: Name,
    /// Its value.
    pub value: Value,
}

/// What stands behind `=` or an option name.
#[derive(Clone, PartialEq, Debug)]
pub struct Value {
    /// The value itself.
    pub main: ValueMain,
    /// What follows `at`: `5 W at 12 V`, `1 kohm at 40%`.
    pub at: Option<Expr>,
    /// Where the whole stands.
    pub span: RelSpan,
}

/// The value before an `at`.
#[derive(Clone, PartialEq, Debug)]
pub enum ValueMain {
    /// `?` or `? kohm`
    Unknown {
        /// Where the `?` stands.
        span: RelSpan,
        /// The unit written behind it.
        unit: Option<Name>,
    },
    /// An expression; words such as `open`, `closed` or `a` are plain references here.
    Expr(Expr),
}

/// An expression of numbers, names and `+ - * /`.
#[derive(Clone, PartialEq, Debug)]
pub struct Expr {
    /// What it is.
    pub kind: ExprKind,
    /// Where.
    pub span: RelSpan,
}

/// The forms of expression.
#[derive(Clone, PartialEq, Debug)]
pub enum ExprKind {
    /// `4.7 kohm`, `4k7`, `12`
    Number {
        /// The number token as written, letters that touch it included.
        text: SmolStr,
        /// The word that follows it, taken as its unit.
        unit: Option<Name>,
    },
    /// `supply`, `closed`
    Ref(Ref),
    /// `-x`
    Neg(Box<Expr>),
    /// `x + y`
    Binary {
        /// The operator.
        op: BinaryOp,
        /// What stands before it.
        left: Box<Expr>,
        /// What stands behind it.
        right: Box<Expr>,
    },
    /// `(1/3) ohm`
    Group {
        /// What stands between the brackets.
        inner: Box<Expr>,
        /// The unit behind them.
        unit: Option<Name>,
    },
}

/// `+ - * /`
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum BinaryOp {
    /// `+`
    Add,
    /// `-`
    Sub,
    /// `*`
    Mul,
    /// `/`
    Div,
}

/// Items joined by wires.
#[derive(Clone, PartialEq, Debug)]
pub struct Segment {
    /// The items from left to right; two or more in a path, one or more in a group's alternative.
    pub items: Vec<Item>,
    /// Where the whole stands.
    pub span: RelSpan,
}

/// One item of a path.
#[derive(Clone, PartialEq, Debug)]
pub struct Item {
    /// What it is.
    pub kind: ItemKind,
    /// Where.
    pub span: RelSpan,
}

/// The forms of item.
#[derive(Clone, PartialEq, Debug)]
pub enum ItemKind {
    /// `@fork`; the name is without its `@`, and may be `Left.mid`. Its span has the `@`.
    Junction(Name),
    /// `R1`, `-B1+`, `B1+`, `P1.wiper`: which of these it is depends on the kind and the place.
    Element {
        /// The sign that touches it on the left.
        before: Option<Sign>,
        /// The element or terminal.
        target: Ref,
        /// The sign that touches it on the right.
        after: Option<Sign>,
    },
    /// `( X | Y )`
    Group(Vec<Segment>),
}

/// `+` or `-` as a polarity.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Sign {
    /// `+`
    Plus,
    /// `-`
    Minus,
}

/// A point of the circuit as written in a statement about it.
#[derive(Clone, PartialEq, Debug)]
pub enum Point {
    /// `@fork`
    Junction(Name),
    /// `B1+`, `P1.wiper`
    Terminal {
        /// The element, with the terminal's name where that is a word.
        target: Ref,
        /// The sign that touches it.
        sign: Option<Sign>,
        /// Where the whole stands.
        span: RelSpan,
    },
}

impl Point {
    /// Where it stands.
    pub fn span(&self) -> RelSpan {
        match self {
            Point::Junction(name) => name.span,
            Point::Terminal { span, .. } => *span,
        }
    }
}

/// What is asked, claimed, given or measured.
#[derive(Clone, PartialEq, Debug)]
pub struct Quantity {
    /// Which quantity, of what.
    pub kind: QuantityKind,
    /// `after 2 ms`
    pub after: Option<Expr>,
    /// Where the whole stands.
    pub span: RelSpan,
}

/// The quantities.
#[derive(Clone, PartialEq, Debug)]
pub enum QuantityKind {
    /// `current through R1, R2`
    CurrentThrough(Vec<Ref>),
    /// `current into P1.wiper`
    CurrentInto(Point),
    /// `voltage across R1`
    VoltageAcross(Vec<Ref>),
    /// `voltage from @a to @b`
    VoltageFrom(Point, Point),
    /// `potential at @a`
    PotentialAt(Point),
    /// `resistance between @a and @b`
    ResistanceBetween(Point, Point),
    /// `resistance seen by B1`
    ResistanceSeenBy(Ref),
    /// `capacitance between @a and @b`
    CapacitanceBetween(Point, Point),
    /// `power of R1`
    PowerOf(Vec<Ref>),
    /// `charge of C1`
    ChargeOf(Vec<Ref>),
    /// `energy of C1`
    EnergyOf(Vec<Ref>),
    /// `value of R2`
    ValueOf(Vec<Ref>),
}

/// One member of a `claim ... in series`: an element, or a branch of several in brackets.
#[derive(Clone, PartialEq, Debug)]
pub struct Branch {
    /// Its elements; more than one only in brackets.
    pub elements: Vec<Ref>,
    /// Where.
    pub span: RelSpan,
}

/// How elements are claimed to stand.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Relation {
    /// One current flows through all.
    Series,
    /// All stand between the same two points.
    Parallel,
}

/// `S1 = open` of a case.
#[derive(Clone, PartialEq, Debug)]
pub struct Assign {
    /// `S1`, `B1.internal`, `supply`
    pub target: Ref,
    /// What it becomes.
    pub value: Value,
}

impl Tree {
    /// The statement whose text holds or touches `offset`.
    pub fn stmt_at(&self, offset: u32) -> Option<&Stmt> {
        let after = self.stmts.partition_point(|stmt| stmt.offset <= offset);
        let stmt = &self.stmts[after.checked_sub(1)?];
        stmt.range().touches(offset).then_some(stmt)
    }

    /// The text of a stretch; empty when it is out of bounds or cuts a character.
    pub fn slice(&self, span: Span) -> &str {
        self.text.get(span.range()).unwrap_or("")
    }

    /// All problems of form, each with the statement it belongs to, in text order.
    pub fn problems(&self) -> impl Iterator<Item = (&Stmt, &Problem)> {
        let mut of_blocks = self.block_problems.iter().peekable();
        self.stmts.iter().enumerate().flat_map(move |(index, stmt)| {
            let mut here = Vec::new();
            while let Some((_, problem)) = of_blocks.next_if(|(at, _)| *at as usize <= index) {
                here.push((stmt, problem));
            }
            stmt.node.problems.iter().map(move |problem| (stmt, problem)).chain(here)
        })
    }

    /// All problems of form as diagnostics of the given file.
    pub fn diagnostics(&self, file: FileId) -> Vec<Diagnostic> {
        self.problems().map(|(stmt, problem)| problem.at(file, stmt.offset)).collect()
    }

    /// The lines of `##` right above a statement, joined by newlines, without their marks.
    pub fn doc(&self, stmt: &Stmt) -> Option<String> {
        let mut lines = Vec::new();
        let before = self.text.get(..stmt.offset as usize)?;
        let mut rest = &before[..before.rfind('\n').map_or(0, |at| at + 1)];
        while let Some(body) = rest.strip_suffix('\n') {
            let start = body.rfind('\n').map_or(0, |at| at + 1);
            let Some(doc) = body[start..].trim().strip_prefix("##") else { break };
            lines.push(doc.trim());
            rest = &body[..start];
        }
        lines.reverse();
        (!lines.is_empty()).then(|| lines.join("\n"))
    }
}
