//! From statements to a circuit.
//!
//! The order of work, none of which can stop the next:
//! 1. `lets` and `part`s of every file are registered, `include`s bring theirs in ([`imports`]);
//! 2. the statements of the first file are walked once, parts and `repeat`s expanded: elements are declared and given their
//!    values, paths are put aside ([`expand`], [`params`]);
//! 3. paths join terminals and junctions ([`wiring`]);
//! 4. what is joined becomes nodes, elements become branches ([`nodes`]);
//! 5. cases become states ([`cases`]), questions find what they speak of ([`questions`]);
//! 6. parts that nothing uses are read by themselves, for their mistakes ([`trial`]).
//!
//! One cause, one message: a value that could not be read is [`Amount::Invalid`](crate::model::Amount::Invalid), a name whose
//! declaration could not be read is known as [`Symbol::Broken`], and nothing that follows from either is reported again.

mod cases;
mod cells;
mod dump;
mod eval;
mod expand;
mod imports;
mod kinds;
mod nearest;
mod nodes;
mod params;
mod plausible;
mod questions;
mod report;
mod resolve;
mod rules;
mod scope;
mod size;
mod trial;
mod unreadable;
mod wiring;

#[cfg(test)]
mod tests;

pub use kinds::{KindWord, OPTIONS, OptionSpec};
pub use rules::BUILD_RULES;

use std::sync::Arc;

use ohmline_syntax::tree::{Declare, Segment};
use ohmline_syntax::{FileId, FileSpan, LineIndex, RelSpan};
use rustc_hash::{FxHashMap, FxHashSet};
use smol_str::SmolStr;

use crate::model::{Circuit, Element, ElementId, StateId};
use crate::sources::{Source, Sources};

use cells::Cell;
use report::Report;
use scope::{Env, EnvId, Instance, PartDef, Scope, ScopeId, Symbol};
use wiring::Points;

/// How far parts and repeats may be expanded.
#[derive(Clone, Copy, Debug)]
struct Limits {
    /// Most elements of a circuit.
    elements: usize,
    /// Most statements after expansion; more cannot be meant, and would take for ever.
    statements: usize,
}

const LIMITS: Limits = Limits { elements: 1_000_000, statements: 4_000_000 };
/// Most elements in the copies of parts that nothing uses, which are made for their mistakes alone.
const ALONE: usize = 20_000;
/// Most copies of one `repeat`.
const MAX_COPIES: i64 = 10_000;
/// Most names that are compared with unknown ones in one build.
const MAX_COMPARED: usize = 2_000_000;
/// How deep parts and repeats may stand in each other.
const MAX_DEPTH: usize = 64;

/// Builds the circuit of the first file. Never fails: what cannot be understood is in
/// [`Circuit::diagnostics`].
pub fn build(sources: &Sources) -> Circuit {
    build_within(sources, LIMITS)
}

fn build_within(sources: &Sources, limits: Limits) -> Circuit {
    if sources.files.is_empty() {
        return Circuit { end_offsets: vec![0], states: vec![cases::drawn()], ..Circuit::default() };
    }
    let mut builder = Builder::new(sources, limits);
    builder.import();
    builder.expand_main();
    if builder.full {
        // What was read is kept; a part of the drawing would only raise questions that the whole does not.
        builder.paths.clear();
        builder.statements.clear();
    }
    builder.finish_params();
    builder.circuit.values = builder.measures();
    builder.wire_all();
    builder.check_prefixes();
    builder.build_states();
    builder.build_nodes();
    builder.ask();
    let unused = if builder.full { Vec::new() } else { builder.unused_parts() };
    if !unused.is_empty() {
        let mut trial = Builder::new(sources, Limits { elements: limits.elements.min(ALONE), ..limits });
        trial.import();
        trial.try_parts(&unused).into_iter().for_each(|found| builder.report.add(found));
    }
    builder.circuit.elements = builder.elements;
    builder.circuit.diagnostics = builder.report.into_sorted();
    builder.circuit
}

/// Builds the circuit of a single text without includes: the short way for tests and examples.
pub fn build_text(text: &str) -> Circuit {
    build(&single(text))
}

fn single(text: &str) -> Sources {
    let tree = Arc::new(ohmline_syntax::parse(text));
    let lines = Arc::new(LineIndex::new(text));
    Sources { files: vec![Source { name: "text.ohmline".into(), path: None, tree, lines, includes: Vec::new() }] }
}

/// Where a statement stands and what its names mean: file, offset, scope, and the counting names of `repeat`.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
struct Site {
    file: FileId,
    offset: u32,
    scope: ScopeId,
    env: EnvId,
}

impl Site {
    /// Makes a place in the statement absolute.
    fn at(self, rel: RelSpan) -> FileSpan {
        FileSpan::new(self.file, rel.at(self.offset))
    }
}

/// A path, put aside until every element is known.
#[derive(Clone, Copy)]
struct PathJob<'a> {
    segment: &'a Segment,
    site: Site,
    /// Index of its statement in its file.
    stmt: u32,
}

/// How an element was declared; `None` for one that only a path speaks of.
#[derive(Clone, Copy)]
struct Decl<'a> {
    declare: Option<&'a Declare>,
    site: Site,
}

struct Builder<'a> {
    sources: &'a Sources,
    limits: Limits,
    report: Report,
    scopes: Vec<Scope>,
    envs: Vec<Env>,
    names: FxHashMap<(ScopeId, SmolStr), Symbol>,
    parts: Vec<PartDef<'a>>,
    part_names: FxHashMap<(FileId, SmolStr), (Option<u32>, FileSpan)>,
    cells: Vec<Cell<'a>>,
    instances: Vec<Instance>,
    elements: Vec<Element>,
    decls: Vec<Decl<'a>>,
    /// First of the points of each element's terminals.
    terminals: Vec<u32>,
    /// Number of terminals of each element: kept apart, since elements are large and walking them all costs more than the work.
    terminal_counts: Vec<u8>,
    /// Resistors below an ohm, among which a slip of prefix may be.
    small_resistors: Vec<ElementId>,
    /// Whether each element has been passed through (1) or left or arrived at by a terminal (2).
    placed: Vec<u8>,
    /// Elements whose values depend on names, evaluated once everything is declared.
    pending: Vec<ElementId>,
    /// Names of elements that are offered in the place of unknown ones: that they stand in no path has that cause.
    offered: FxHashSet<SmolStr>,
    /// Names that are declared once as a value and once as something else, which has been reported.
    clashes: FxHashSet<(ScopeId, SmolStr)>,
    /// Files that include something which cannot be read: what it would bring in is not missed.
    incomplete: FxHashSet<FileId>,
    /// Parts with a port that nothing inside is joined to, which has been reported.
    unjoined: FxHashSet<u32>,
    /// Statements of the first file whose path goes on in, or goes on, one that could not be read: its left and its right end.
    torn: FxHashMap<u32, (bool, bool)>,
    points: Points,
    junctions: FxHashMap<(ScopeId, SmolStr), u32>,
    /// Junctions of parts that only paths outside have named so far: their index among all.
    outside_junctions: FxHashMap<u32, u32>,
    paths: Vec<PathJob<'a>>,
    /// Statements of the first file that ask, claim or name a state, in text order.
    statements: Vec<u32>,
    /// Names and junctions that statements which could not be read mention.
    mentioned: FxHashSet<SmolStr>,
    mentioned_prefixes: Vec<SmolStr>,
    mentioned_junctions: FxHashSet<SmolStr>,
    mentioned_junction_prefixes: Vec<SmolStr>,
    /// Names whose declaration could not be read, with the kind it began with.
    broken_kinds: FxHashMap<(ScopeId, SmolStr), Option<KindWord>>,
    /// Names compared for suggestions so far.
    compared: usize,
    case_ids: FxHashMap<SmolStr, StateId>,
    /// The node of each point's root, once nodes are built.
    node_of: Vec<u32>,
    /// Whether readings of cells are noted; not while a case is being built.
    recording: bool,
    /// Least numbers of elements in a copy of each part, as far as they were asked for.
    sizes: Vec<Option<u64>>,
    /// The parts that are being expanded, outermost first.
    active: Vec<u32>,
    depth: usize,
    expanded: usize,
    /// Whether parts are read by themselves: what is in them is called what it is called in the part.
    alone: bool,
    /// Set once a limit has been passed and reported: nothing more is expanded.
    full: bool,
    circuit: Circuit,
}

impl<'a> Builder<'a> {
    fn new(sources: &'a Sources, limits: Limits) -> Self {
        let statements: usize = sources.files[0].tree.stmts.len();
        Self {
            sources,
            limits,
            report: Report::default(),
            scopes: (0..sources.files.len() as u32).map(|file| Scope::file(FileId(file))).collect(),
            envs: vec![Env::default()],
            names: FxHashMap::with_capacity_and_hasher(statements, Default::default()),
            parts: Vec::new(),
            part_names: FxHashMap::default(),
            cells: Vec::new(),
            instances: Vec::new(),
            elements: Vec::with_capacity(statements),
            decls: Vec::with_capacity(statements),
            terminals: Vec::with_capacity(statements),
            terminal_counts: Vec::with_capacity(statements),
            small_resistors: Vec::new(),
            placed: Vec::with_capacity(statements),
            pending: Vec::new(),
            offered: FxHashSet::default(),
            clashes: FxHashSet::default(),
            incomplete: FxHashSet::default(),
            unjoined: FxHashSet::default(),
            torn: FxHashMap::default(),
            points: Points::default(),
            junctions: FxHashMap::default(),
            outside_junctions: FxHashMap::default(),
            paths: Vec::new(),
            statements: Vec::new(),
            mentioned: FxHashSet::default(),
            mentioned_prefixes: Vec::new(),
            mentioned_junctions: FxHashSet::default(),
            mentioned_junction_prefixes: Vec::new(),
            broken_kinds: FxHashMap::default(),
            case_ids: FxHashMap::default(),
            node_of: Vec::new(),
            recording: true,
            compared: 0,
            sizes: Vec::new(),
            active: Vec::new(),
            depth: 0,
            expanded: 0,
            alone: false,
            full: false,
            circuit: Circuit::default(),
        }
    }
}
