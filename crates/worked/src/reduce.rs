//! Reduction: one replacement a step, deepest group first, equal groups at once; and the loop that is left.

mod back;
mod ring;
mod sources;
mod stuck;
mod wording;

use malachite::Rational;
use ohmline_circuit::Circuit;
use rustc_hash::{FxHashMap, FxHashSet};
use smol_str::SmolStr;

use crate::line::{Equation, Statement, list};
use crate::model::{Replacement, Rule, Stage, Step};
use crate::net::{Behavior, Net, Part, Placed, Shape as NameShape};
use crate::tree::{Shape, Tree};

pub(crate) use back::{terminal_voltage, unwind, with_currents};
use wording::{bound, combine};
pub(crate) use wording::{capital, emf_symbol, internal_symbol, shorten};

/// Current and voltage of a part, both from its `from` to its `to`.
pub(crate) type Values = FxHashMap<usize, (Rational, Rational)>;

/// A replacement, for the way back.
#[derive(Clone, Debug)]
pub(crate) enum Record {
    /// Members in series or in parallel; whether each stands against the result.
    Group { rule: Rule, members: Vec<(usize, bool)>, result: usize },
    /// Sources in one line, or equal cells side by side.
    Sources { rule: Rule, members: Vec<(usize, bool)>, result: usize },
    /// A part without voltage.
    Idle { part: usize },
    /// The sides of a triangle, each with its two corners, and the arms, each from its corner (0, 1, 2) to the center.
    Star { sides: [(usize, usize, usize); 3], arms: [usize; 3] },
}

/// How far a reduction came.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Outcome {
    /// One loop is left.
    Loop,
    /// It is stuck.
    Stuck,
}

/// Longest name of an equivalent that lists all that went into it.
const LONGEST_NAME: usize = 20;
/// Terms of a formula that are written out.
const TERMS: usize = 6;

/// A reduction at work.
pub(crate) struct Reduction<'a> {
    pub circuit: &'a Circuit,
    pub net: Net,
    pub steps: Vec<Step>,
    pub records: Vec<Record>,
    /// The network before each record.
    pub before: Vec<Stage>,
    /// Number of parts at each point at the beginning.
    degrees: Vec<usize>,
    names: FxHashSet<SmolStr>,
}

impl<'a> Reduction<'a> {
    pub fn new(circuit: &'a Circuit, net: Net) -> Self {
        let degrees = (0..net.points.len()).map(|point| net.degree(point)).collect();
        let names = net.parts.iter().map(|part| part.name.clone()).collect();
        Self { circuit, net, steps: Vec::new(), records: Vec::new(), before: Vec::new(), degrees, names }
    }

    fn part(&self, index: usize) -> &Part {
        &self.net.parts[index]
    }

    fn name(&self, index: usize) -> &SmolStr {
        &self.net.parts[index].name
    }

    /// Adds a part; the caller places it.
    pub fn add_part(
        &mut self,
        name: SmolStr,
        shape: NameShape,
        bare: bool,
        behavior: Behavior,
        span: (u32, u32),
        members: &[usize],
    ) -> usize {
        self.names.insert(name.clone());
        let ends = if members.is_empty() { (name.clone(), name.clone()) } else { self.ends(members) };
        self.net.parts.push(Part { name, bare, element: None, behavior, given: false, span, shape, ends });
        self.net.parts.len() - 1
    }

    /// Names of the first and the last part that went into these.
    fn ends(&self, members: &[usize]) -> (SmolStr, SmolStr) {
        let first = members.iter().min_by_key(|&&member| self.part(member).span.0);
        let last = members.iter().max_by_key(|&&member| self.part(member).span.1);
        let name = |member: Option<&usize>, of: fn(&Part) -> &SmolStr| {
            member.map_or_else(SmolStr::default, |&member| of(self.part(member)).clone())
        };
        (name(first, |part| &part.ends.0), name(last, |part| &part.ends.1))
    }

    /// The name of an equivalent: what went into it, or its first and last part where that is long; and its outermost operation.
    fn compose(&self, members: &[usize], rule: Rule) -> (SmolStr, NameShape) {
        let (sign, shape) = if rule == Rule::Series { ("+", NameShape::Sum) } else { ("||", NameShape::Beside) };
        let long = members
            .iter()
            .map(|&member| {
                let part = self.part(member);
                let bracket = shape == NameShape::Beside && part.shape == NameShape::Sum;
                if bracket { format!("({})", part.name) } else { part.name.to_string() }
            })
            .collect::<Vec<_>>()
            .join(sign);
        let (mut name, shape) = if long.chars().count() <= LONGEST_NAME {
            (long, shape)
        } else {
            let (first, last) = self.ends(members);
            (format!("{first}…{last}"), NameShape::Single)
        };
        while self.names.contains(name.as_str()) {
            name.push('′');
        }
        (name.into(), shape)
    }

    /// Takes parts out and puts one in.
    fn replace(&mut self, gone: &[usize], come: Placed) {
        self.net.placed.retain(|placed| !gone.contains(&placed.part));
        self.net.placed.push(come);
    }

    /// Reduces until one loop is left or nothing is in series or in parallel any more.
    pub fn run(&mut self) -> Outcome {
        self.merge_adjacent_sources();
        self.merge_equal_cells();
        let sources = self.net.sources();
        let terminals: Vec<usize> = sources.iter().flat_map(|source| [source.from, source.to]).collect();
        let tree = Tree::grow(&self.net, &terminals);
        let ring = self.is_ring(&tree, &sources);
        self.emit(&tree, ring && sources.len() > 1);
        if ring { Outcome::Loop } else { Outcome::Stuck }
    }

    /// Whether what is left is one loop.
    fn is_ring(&self, tree: &Tree, sources: &[Placed]) -> bool {
        let mut degree: FxHashMap<usize, usize> = FxHashMap::default();
        let ends = tree.edges.iter().map(|edge| (edge.from, edge.to));
        for (from, to) in ends.chain(sources.iter().map(|source| (source.from, source.to))) {
            *degree.entry(from).or_default() += 1;
            *degree.entry(to).or_default() += 1;
        }
        // A block hangs together, so a network in which every point has two ends is one ring.
        degree.values().all(|&degree| degree == 2)
    }

    /// Emits a step for every group of the tree, deepest first.
    fn emit(&mut self, tree: &Tree, keep_lines: bool) {
        let start: Vec<usize> = self.net.sources().first().map(|source| source.from).into_iter().collect();
        let distance = self.net.distances(&start);
        // (depth, node, from, to, parent) of every group.
        let mut groups: Vec<(usize, usize, usize, usize, usize)> = Vec::new();
        for edge in &tree.edges {
            let forward = distance[edge.from] <= distance[edge.to];
            let (from, to) = if forward { (edge.from, edge.to) } else { (edge.to, edge.from) };
            let root_kept = keep_lines && matches!(tree.nodes[edge.node].shape, Shape::Series(_));
            collect(tree, edge.node, from, 0, usize::MAX, root_kept, &mut groups);
            let _ = to;
        }
        let mut part_of: FxHashMap<usize, usize> = FxHashMap::default();
        for (index, node) in tree.nodes.iter().enumerate() {
            if let Shape::Leaf(placed) = node.shape {
                part_of.insert(index, placed.part);
            }
        }
        let mut last_parent = usize::MAX;
        while !groups.is_empty() {
            let deepest = groups.iter().map(|group| group.0).max().unwrap_or(0);
            let best = (0..groups.len())
                .filter(|&at| groups[at].0 == deepest)
                .min_by_key(|&at| (groups[at].1 != last_parent, tree.nodes[groups[at].1].span))
                .unwrap_or(0);
            let first = groups.remove(best);
            let signature = |node: usize| {
                let values: Vec<Rational> =
                    tree.children(node).iter().map(|&child| tree.nodes[child].resistance.clone()).collect();
                (matches!(tree.nodes[node].shape, Shape::Series(_)), values)
            };
            let mut together = vec![first];
            let own = signature(first.1);
            let mut at = 0;
            while at < groups.len() {
                let other = groups[at];
                if other.0 == first.0 && other.4 == first.4 && first.4 != usize::MAX && signature(other.1) == own {
                    together.push(groups.remove(at));
                } else {
                    at += 1;
                }
            }
            together.sort_by_key(|group| tree.nodes[group.1].span);
            last_parent = first.4;
            self.group_step(tree, &together, &mut part_of);
        }
    }

    /// One step: one group, or several equal ones.
    fn group_step(
        &mut self,
        tree: &Tree,
        together: &[(usize, usize, usize, usize, usize)],
        part_of: &mut FxHashMap<usize, usize>,
    ) {
        let mut step = Step::default();
        let mut new = Vec::new();
        for (index, &(_, node, from, to, _)) in together.iter().enumerate() {
            let own = &tree.nodes[node];
            let series = matches!(own.shape, Shape::Series(_));
            let mut children = tree.children(node).to_vec();
            if series && own.from != from {
                children.reverse();
            }
            let mut at = from;
            let mut inner = Vec::new();
            let mut members = Vec::new();
            for &child in &children {
                let part = part_of.get(&child).copied().unwrap_or_default();
                let stands = self.net.placed.iter().find(|placed| placed.part == part).copied();
                members.push((part, stands.is_some_and(|placed| placed.from != at)));
                if series {
                    at = tree.nodes[child].far(at);
                    inner.push(at);
                }
            }
            inner.pop();
            let rule = if series { Rule::Series } else { Rule::Parallel };
            let evidence = if series {
                self.series_evidence(&inner)
            } else {
                let both = if members.len() == 2 { "both" } else { "all" };
                format!("{both} run from {} to {}", self.net.label(from), self.net.label(to))
            };
            let placed = self.merge(rule, &members, from, to, own.span);
            part_of.insert(node, placed.part);
            self.describe(&mut step, rule, &members, placed.part, evidence, index == 0);
            new.push((placed.part, members.iter().map(|(part, _)| self.name(*part).clone()).collect::<Vec<_>>()));
        }
        step.stage = Some(self.net.stage(&new));
        self.steps.push(step);
    }

    /// Replaces members by one resistance.
    fn merge(&mut self, rule: Rule, members: &[(usize, bool)], from: usize, to: usize, span: (u32, u32)) -> Placed {
        let parts: Vec<usize> = members.iter().map(|(part, _)| *part).collect();
        let values = parts.iter().filter_map(|&part| self.part(part).resistance().cloned());
        let resistance = if rule == Rule::Series {
            values.sum::<Rational>()
        } else {
            let conductance: Rational = values.map(|value| Rational::from(1) / value).sum();
            Rational::from(1) / conductance
        };
        let (name, shape) = self.compose(&parts, rule);
        let bare = parts.iter().all(|&part| self.part(part).bare);
        let part = self.add_part(name, shape, bare, Behavior::Resistance(resistance), span, &parts);
        let placed = Placed { part, from, to };
        self.before.push(self.net.stage(&[]));
        self.replace(&parts, placed);
        self.records.push(Record::Group { rule, members: members.to_vec(), result: part });
        placed
    }

    fn series_evidence(&self, inner: &[usize]) -> String {
        let more = if inner.iter().any(|&point| self.degrees.get(point).is_some_and(|&degree| degree > 2)) {
            " any more"
        } else {
            ""
        };
        let labels: Vec<&str> = inner.iter().map(|&point| self.net.label(point)).collect();
        let named = inner.iter().all(|&point| self.net.points[point].named);
        match labels[..] {
            [one] if named => format!("they meet at {one} and nothing else is joined there{more}"),
            [_] => format!("they meet, and nothing else is joined between them{more}"),
            _ if named && labels.len() <= 4 => {
                format!("they follow one another through {}, and nothing else is joined there{more}", list(&labels))
            }
            _ => format!("they follow one another, and nothing else is joined between them{more}"),
        }
    }

    /// The words of a replacement by series or parallel.
    fn describe(
        &self,
        step: &mut Step,
        rule: Rule,
        members: &[(usize, bool)],
        result: usize,
        evidence: String,
        first: bool,
    ) {
        let parts: Vec<&Part> = members.iter().map(|(part, _)| self.part(*part)).collect();
        let names: Vec<SmolStr> = parts.iter().map(|part| part.name.clone()).collect();
        let shown = shorten(&names);
        let word = if rule == Rule::Series { "series" } else { "parallel" };
        let result = self.part(result);
        if first {
            step.heading = format!("{shown} are in {word}");
            let equal = rule == Rule::Parallel && parts.iter().all(|part| part.resistance() == parts[0].resistance());
            let remark = if equal { ", and they are equal" } else { "" };
            step.lines.push(Statement::say(format!("{}{remark}.", capital(&evidence))));
            step.lines.push(Statement::Equation(combine(rule, &parts, result)));
            step.lines.push(Statement::Say(bound(rule, &parts)));
        } else {
            step.lines.push(Statement::say(format!("{shown} are equal to them, and in {word} in the same way:")));
            step.lines.push(Statement::Equation(Equation::new(result.symbol()).gives(result.ohms())));
        }
        step.about.extend(names.iter().cloned());
        step.replaced.push(Replacement {
            rule,
            replaces: names,
            by: result.name.clone(),
            value: Some(result.ohms()),
            evidence,
        });
    }
}

/// Gathers the groups below a node: (depth, node, from, to, parent).
fn collect(
    tree: &Tree,
    node: usize,
    from: usize,
    depth: usize,
    parent: usize,
    skip: bool,
    groups: &mut Vec<(usize, usize, usize, usize, usize)>,
) {
    let own = &tree.nodes[node];
    if matches!(own.shape, Shape::Leaf(_)) {
        return;
    }
    let to = own.far(from);
    if !skip {
        groups.push((depth, node, from, to, parent));
    }
    let series = matches!(own.shape, Shape::Series(_));
    let mut children = tree.children(node).to_vec();
    if series && own.from != from {
        children.reverse();
    }
    let mut at = from;
    for child in children {
        collect(tree, child, at, depth + 1, node, false, groups);
        if series {
            at = tree.nodes[child].far(at);
        }
    }
}
