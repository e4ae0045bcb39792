//! Reduction: one replacement a step, deepest group first, equal groups at once; and the loop that is left.

use malachite::Rational;
use malachite::base::num::arithmetic::traits::Abs;
use ohmline_circuit::Circuit;
use rustc_hash::{FxHashMap, FxHashSet};
use smol_str::SmolStr;

use crate::line::{Equation, Figure, Line, Statement, list};
use crate::model::{Replacement, Rule, Stage, Step};
use crate::net::{Behavior, Net, Part, Placed, Shape as NameShape};
use crate::symmetry::Symmetry;
use crate::tree::{Shape, Tree};

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

    /// Sources that meet where nothing else is joined.
    fn merge_adjacent_sources(&mut self) {
        loop {
            let found = self.net.live_points().into_iter().find_map(|point| match self.net.at(point)[..] {
                [one, other] if one.far(point) != other.far(point) => {
                    let emf = |placed: Placed| matches!(self.part(placed.part).behavior, Behavior::Emf { .. });
                    (emf(one) && emf(other)).then_some((point, one, other))
                }
                _ => None,
            });
            let Some((point, one, other)) = found else { return };
            // The whole line of sources.
            let mut line = vec![one, other];
            let grow = |line: &[Placed], mut at: usize, net: &Net| {
                let mut more = Vec::new();
                loop {
                    let here = net.at(at);
                    let known = |placed: &Placed| line.contains(placed) || more.contains(placed);
                    let [a, b] = here[..] else { return more };
                    let next = if known(&a) { b } else { a };
                    if known(&next) || !matches!(net.parts[next.part].behavior, Behavior::Emf { .. }) {
                        return more;
                    }
                    more.push(next);
                    at = next.far(at);
                }
            };
            let before = grow(&line, one.far(point), &self.net);
            let after = grow(&line, other.far(point), &self.net);
            line = before.into_iter().rev().chain(line).chain(after).collect();
            if line.len() == self.net.placed.len() {
                // Sources alone in a ring: the loop step takes them.
                return;
            }
            let from = if line[1].touches(line[0].to) { line[0].from } else { line[0].to };
            self.source_line(&line, from, "they meet and nothing else is joined between them");
        }
    }

    /// Replaces sources in one line, which begins at `from`, by one.
    fn source_line(&mut self, line: &[Placed], from: usize, evidence: &str) -> Placed {
        let mut at = from;
        let mut emf = Rational::from(0);
        let mut internal = Rational::from(0);
        let mut members = Vec::new();
        for placed in line {
            let against = placed.from != at;
            if let Behavior::Emf { emf: own, internal: r } = &self.part(placed.part).behavior {
                if against {
                    emf -= own
                } else {
                    emf += own
                }
                internal += r;
            }
            members.push((placed.part, against));
            at = placed.far(at);
        }
        let (mut from, mut to) = (from, at);
        if emf < 0 {
            emf = -emf;
            std::mem::swap(&mut from, &mut to);
            members.iter_mut().for_each(|member| member.1 = !member.1);
        }
        let mut ordered = members.clone();
        ordered.sort_by_key(|(part, against)| (*against, self.part(*part).span));
        let mut name = String::new();
        for (part, against) in &ordered {
            let sign = if *against { "-" } else { "+" };
            if !name.is_empty() || *against {
                name.push_str(sign);
            }
            name.push_str(self.name(*part));
        }
        let span = (
            ordered.iter().map(|(part, _)| self.part(*part).span.0).min().unwrap_or(0),
            ordered.iter().map(|(part, _)| self.part(*part).span.1).max().unwrap_or(0),
        );
        let gone: Vec<usize> = line.iter().map(|placed| placed.part).collect();
        if name.chars().count() > LONGEST_NAME {
            let (first, last) = self.ends(&gone);
            name = format!("{first}…{last}");
        }
        while self.names.contains(name.as_str()) {
            name.push('′');
        }
        let parts: Vec<Part> = ordered.iter().map(|(part, _)| self.part(*part).clone()).collect();
        let names: Vec<SmolStr> = parts.iter().map(|part| part.name.clone()).collect();
        let opposed = ordered.iter().any(|(_, against)| *against) && ordered.iter().any(|(_, against)| !*against);
        let how = if opposed { "oppose each other" } else { "aid each other" };
        let mut lines = vec![Statement::say(format!(
            "{}. {}",
            capital(evidence),
            if opposed {
                "Emfs that point the same way add, those that point the other way are taken away."
            } else {
                "They all point the same way, so their emfs add."
            }
        ))];
        let mut formula = String::new();
        let mut numbers = String::new();
        let mut figures = Vec::new();
        for (part, (_, against)) in parts.iter().zip(&ordered) {
            if let Behavior::Emf { emf, .. } = &part.behavior {
                let sign = match (*against, formula.is_empty()) {
                    (false, true) => "",
                    (true, true) => "-",
                    (false, false) => " + ",
                    (true, false) => " - ",
                };
                formula = format!("{formula}{sign}{}", emf_symbol(self.circuit, part));
                numbers = format!("{numbers}{sign}#");
                figures.push(Figure::volt(emf).given_if(part.given));
            }
        }
        lines.push(Statement::Equation(
            Equation::new(format!("emf({name})")).is(formula).put(&numbers, figures).gives(Figure::volt(&emf)),
        ));
        let real: Vec<&Part> = parts
            .iter()
            .filter(|part| matches!(&part.behavior, Behavior::Emf { internal, .. } if *internal != 0))
            .collect();
        if real.len() > 1 {
            lines.push(Statement::say("Their internal resistances lie in the same line and add, too."));
        }
        if !real.is_empty() {
            let symbols: Vec<String> = real.iter().map(|part| internal_symbol(self.circuit, part)).collect();
            let marks = vec!["#"; real.len()].join(" + ");
            let equation = Equation::new(format!("({name}).internal")).is(symbols.join(" + "));
            let equation =
                if real.len() > 1 { equation.put(&marks, real.iter().map(|part| part.ohms())) } else { equation };
            lines.push(Statement::Equation(equation.gives(Figure::ohm(&internal))));
        }
        let value = Figure::volt(&emf);
        let behavior = Behavior::Emf { emf, internal };
        let part = self.add_part(name.into(), NameShape::Sum, false, behavior, span, &gone);
        let placed = Placed { part, from, to };
        self.before.push(self.net.stage(&[]));
        self.replace(&gone, placed);
        self.records.push(Record::Sources { rule: Rule::SeriesSources, members, result: part });
        let replaced = Replacement {
            rule: Rule::SeriesSources,
            replaces: names.clone(),
            by: self.name(part).clone(),
            value: Some(value),
            evidence: evidence.to_owned(),
        };
        self.steps.push(Step {
            heading: format!("{} {how}", shorten(&names)),
            lines,
            about: names.clone(),
            replaced: vec![replaced],
            stage: Some(self.net.stage(&[(part, names)])),
        });
        placed
    }

    /// Equal cells, each with internal resistance, side by side the same way round.
    fn merge_equal_cells(&mut self) {
        loop {
            let sources = self.net.sources();
            let same = |one: &Placed, other: &Placed| {
                one.from == other.from
                    && one.to == other.to
                    && matches!(&self.part(one.part).behavior, Behavior::Emf { internal, .. } if *internal != 0)
                    && self.part(one.part).behavior == self.part(other.part).behavior
            };
            let group = sources
                .iter()
                .map(|one| sources.iter().copied().filter(|other| same(one, other)).collect::<Vec<_>>())
                .find(|group| group.len() > 1 && group.len() < self.net.placed.len());
            let Some(group) = group else { return };
            let first = self.part(group[0].part).clone();
            let Behavior::Emf { emf, internal } = first.behavior.clone() else { return };
            let count = group.len();
            let each = &internal / Rational::from(count);
            let names: Vec<SmolStr> = group.iter().map(|placed| self.name(placed.part).clone()).collect();
            let parts: Vec<usize> = group.iter().map(|placed| placed.part).collect();
            let span = (first.span.0, self.part(parts[count - 1]).span.1);
            let (name, _) = self.compose(&parts, Rule::Parallel);
            let evidence = format!(
                "they are equal, and all + ends are joined at {}, all - ends at {}",
                self.net.label(group[0].from),
                self.net.label(group[0].to)
            );
            let lines = vec![
                Statement::say(format!("{}.", capital(&evidence))),
                Statement::Say(Line::of(
                    "They share the current evenly, so together they act as one cell of the same emf, #, with the \
                     internal resistances in parallel.",
                    [Figure::volt(&emf).given_if(first.given)],
                )),
                Statement::Equation(
                    Equation::new(format!("({name}).internal"))
                        .is(format!("{} / {count}", internal_symbol(self.circuit, &first)))
                        .put(&format!("# / {count}"), [first.ohms()])
                        .gives(Figure::ohm(&each)),
                ),
            ];
            let behavior = Behavior::Emf { emf: emf.clone(), internal: each };
            let part = self.add_part(name, NameShape::Beside, false, behavior, span, &parts);
            let placed = Placed { part, ..group[0] };
            self.before.push(self.net.stage(&[]));
            self.replace(&parts, placed);
            let members = parts.iter().map(|&part| (part, false)).collect();
            self.records.push(Record::Sources { rule: Rule::EqualCells, members, result: part });
            let replaced = Replacement {
                rule: Rule::EqualCells,
                replaces: names.clone(),
                by: self.name(part).clone(),
                value: Some(Figure::volt(&emf)),
                evidence,
            };
            self.steps.push(Step {
                heading: format!("{} act as one cell", shorten(&names)),
                lines,
                about: names.clone(),
                replaced: vec![replaced],
                stage: Some(self.net.stage(&[(part, names)])),
            });
        }
    }

    /// Makes the ring that is left a loop of one resistance and one source (a current source may stand beside it).
    pub fn close_ring(&mut self) {
        let Some(first) = self.net.sources().first().copied() else { return };
        // Round the ring, out of the first source's +.
        let mut ring = Vec::new();
        let mut at = first.from;
        let mut left: Vec<Placed> = self.net.placed.iter().copied().filter(|placed| *placed != first).collect();
        while let Some(next) = left.iter().position(|placed| placed.touches(at)) {
            let placed = left.remove(next);
            ring.push((placed, placed.from != at));
            at = placed.far(at);
        }
        let resistances: Vec<(usize, bool)> = ring
            .iter()
            .filter(|(placed, _)| !self.part(placed.part).is_source())
            .map(|(placed, against)| (placed.part, *against))
            .collect();
        let emfs: Vec<Placed> = std::iter::once(first)
            .chain(ring.iter().map(|(placed, _)| *placed))
            .filter(|placed| matches!(self.part(placed.part).behavior, Behavior::Emf { .. }))
            .collect();
        let sources: Vec<String> = self.net.sources().iter().map(|source| self.net.name(*source).to_owned()).collect();
        if resistances.len() > 1 {
            let evidence = format!("one loop leads through them and {}, without a branch", list(&sources));
            let span = (
                resistances.iter().map(|(part, _)| self.part(*part).span.0).min().unwrap_or(0),
                resistances.iter().map(|(part, _)| self.part(*part).span.1).max().unwrap_or(0),
            );
            let (from, to) = (
                first.from,
                ring.iter()
                    .find(|(placed, _)| placed.part == resistances[0].0)
                    .map_or(first.to, |(placed, against)| if *against { placed.from } else { placed.to }),
            );
            let placed = self.merge(Rule::Series, &resistances, from, to, span);
            let mut step = Step::default();
            self.describe(&mut step, Rule::Series, &resistances, placed.part, evidence, true);
            // Close the ring again: the resistance, then the other sources in their order.
            let others: Vec<(Placed, bool)> =
                ring.iter().copied().filter(|(placed, _)| self.part(placed.part).is_source()).collect();
            self.lay_ring(first, placed.part, &others);
            let names = step.about.clone();
            step.stage = Some(self.net.stage(&[(placed.part, names)]));
            self.steps.push(step);
        }
        if emfs.len() > 1 {
            let resistance = self.net.resistances().first().copied();
            let drive = self
                .net
                .sources()
                .into_iter()
                .find(|placed| matches!(self.part(placed.part).behavior, Behavior::Drive(_)));
            // In a ring the order does not matter: think all sources moved together, in the order of the way round.
            let mut direction: Vec<(usize, bool)> = Vec::new();
            let mut at = first.to;
            let mut left: Vec<Placed> = self.net.placed.clone();
            while let Some(next) = left.iter().position(|placed| placed.touches(at)) {
                let placed = left.remove(next);
                direction.push((placed.part, placed.from != at));
                at = placed.far(at);
                if left.is_empty() {
                    break;
                }
            }
            let emf_order: Vec<(usize, bool)> = direction
                .iter()
                .copied()
                .filter(|(part, _)| matches!(self.part(*part).behavior, Behavior::Emf { .. }))
                .collect();
            let points: Vec<usize> = (0..=emf_order.len()).map(|_| self.new_point()).collect();
            let line: Vec<Placed> = emf_order
                .iter()
                .enumerate()
                .map(|(index, (part, against))| {
                    let (a, b) = (points[index], points[index + 1]);
                    if *against {
                        Placed { part: *part, from: b, to: a }
                    } else {
                        Placed { part: *part, from: a, to: b }
                    }
                })
                .collect();
            let (begin, end) = (points[0], points[emf_order.len()]);
            self.net.points[begin].label = self.net.points[first.from].label.clone();
            self.net.points[end].label = self.net.points[first.to].label.clone();
            self.net.points[begin].named = true;
            self.net.points[end].named = true;
            self.net.points[begin].nodes = self.net.points[first.from].nodes.clone();
            self.net.points[end].nodes = self.net.points[first.to].nodes.clone();
            self.net.placed = line.clone();
            // The rest closes the ring from the end of the line back to its beginning, in the same sense.
            let rest: Vec<(usize, bool)> = direction
                .iter()
                .copied()
                .filter(|(part, _)| {
                    resistance.is_some_and(|placed| placed.part == *part)
                        || drive.is_some_and(|placed| placed.part == *part)
                })
                .collect();
            let mut at = end;
            for (index, (part, against)) in rest.iter().enumerate() {
                let next = if index + 1 == rest.len() { begin } else { self.new_point() };
                let placed = if *against {
                    Placed { part: *part, from: next, to: at }
                } else {
                    Placed { part: *part, from: at, to: next }
                };
                self.net.placed.push(placed);
                at = next;
            }
            self.source_line(&line, begin, "one current passes them all, so they act together as one source");
        }
    }

    fn new_point(&mut self) -> usize {
        self.net.points.push(crate::net::Point { label: "the loop".into(), ..Default::default() });
        self.degrees.push(2);
        self.net.points.len() - 1
    }

    /// Lays a ring: the first source, a resistance from its +, the other sources.
    fn lay_ring(&mut self, first: Placed, resistance: usize, others: &[(Placed, bool)]) {
        let mut at = first.from;
        let mut placed = vec![first];
        let count = others.len();
        let mut next = if count == 0 { first.to } else { self.new_point() };
        placed.push(Placed { part: resistance, from: at, to: next });
        at = next;
        for (index, (other, against)) in others.iter().enumerate() {
            next = if index + 1 == count { first.to } else { self.new_point() };
            placed.push(if *against {
                Placed { part: other.part, from: next, to: at }
            } else {
                Placed { part: other.part, from: at, to: next }
            });
            at = next;
        }
        self.net.placed = placed;
    }

    /// Solves the loop that is left; the currents of what stands in it. `None` where only a resistance was asked for.
    pub fn solve_loop(&mut self) -> (Step, Option<Values>, Vec<Equation>) {
        let resistance = self.net.resistances().first().copied();
        let emf = self
            .net
            .sources()
            .into_iter()
            .find(|placed| matches!(self.part(placed.part).behavior, Behavior::Emf { .. }));
        let drive =
            self.net.sources().into_iter().find(|placed| matches!(self.part(placed.part).behavior, Behavior::Drive(_)));
        let mut step = Step::default();
        let mut values = Values::default();
        let mut equations = Vec::new();
        let zero = Rational::from(0);
        let ohms =
            resistance.map_or(zero.clone(), |placed| self.part(placed.part).resistance().cloned().unwrap_or_default());
        step.about = self.net.placed.iter().map(|placed| self.name(placed.part).clone()).collect();
        let Some(source) = drive.or(emf) else {
            // Only terminals: the resistance between them is the answer.
            if let Some(placed) = resistance {
                let part = self.part(placed.part);
                let ends = self.net.sources().first().copied().unwrap_or(placed);
                step.heading = "One resistance is left".to_owned();
                step.lines.push(Statement::Say(Line::of(
                    &format!(
                        "The resistance between {} and {} is #.",
                        self.net.label(ends.from),
                        self.net.label(ends.to)
                    ),
                    [part.ohms()],
                )));
            }
            return (step, None, equations);
        };
        let part = self.part(source.part).clone();
        let name = part.name.clone();
        let others: Vec<String> = self
            .net
            .placed
            .iter()
            .filter(|placed| placed.part != source.part)
            .map(|placed| self.name(placed.part).to_string())
            .collect();
        step.heading = if others.is_empty() {
            format!("One loop is left: {name} alone, joined end to end")
        } else {
            format!("One loop is left: {name} and {}", list(&others))
        };
        let begin = self.net.label(source.from).to_owned();
        // Current out of + of the source.
        let current;
        match &part.behavior {
            Behavior::Drive(amperes) => {
                current = amperes.clone();
                step.lines.push(Statement::say(format!(
                    "The current source fixes the current; it leaves {name} at {} and comes back at {}.",
                    if *amperes < 0 { "-" } else { "+" },
                    if *amperes < 0 { "+" } else { "-" }
                )));
                let equation = Equation::new(format!("I({name})"))
                    .is(format!("drive({name})"))
                    .gives(Figure::ampere(amperes).given_if(part.given));
                equations.push(equation.clone());
                step.lines.push(Statement::Equation(equation));
                let mut across = zero.clone();
                let mut terms = Vec::new();
                let mut figures = Vec::new();
                if let Some(placed) = resistance {
                    let own = self.part(placed.part).clone();
                    let along = placed.from == source.from
                        || emf.is_some_and(|emf| placed.from != emf.to && placed.from != source.to);
                    let signed = if along { current.clone() } else { -current.clone() };
                    let volts = &ohms * &current;
                    step.lines.push(Statement::Equation(
                        Equation::new(format!("V({})", own.name))
                            .is(format!("{} × I({name})", own.factor()))
                            .put("# × #", [own.ohms(), Figure::ampere(&current)])
                            .gives(Figure::volt(&volts)),
                    ));
                    terms.push(format!("V({})", own.name));
                    figures.push(Figure::volt(&volts));
                    across += &volts;
                    values.insert(placed.part, (signed.clone(), &ohms * &signed));
                }
                if let Some(placed) = emf {
                    let own = self.part(placed.part).clone();
                    if let Behavior::Emf { emf: volts, internal } = &own.behavior {
                        // The current of the source enters the emf at whichever end comes first.
                        let enters_plus = self.walk_enters_plus(source, placed);
                        let inside = if enters_plus { current.clone() } else { -current.clone() };
                        let terminal = volts + internal * &inside;
                        let sign = if enters_plus { "+" } else { "-" };
                        if *internal != 0 {
                            step.lines.push(Statement::say(if enters_plus {
                                format!("The current enters {} at +: it is charged, and its terminal voltage lies above its emf.", own.name)
                            } else {
                                format!("The current leaves {} at +, so its terminal voltage lies below its emf.", own.name)
                            }));
                        }
                        let mut equation = Equation::new(format!("V({})", own.name));
                        if *internal == 0 {
                            equation = equation.is(emf_symbol(self.circuit, &own));
                        } else {
                            equation = equation
                                .is(format!(
                                    "{} {sign} {} × I({name})",
                                    emf_symbol(self.circuit, &own),
                                    internal_symbol(self.circuit, &own)
                                ))
                                .put(
                                    &format!("# {sign} # × #"),
                                    [Figure::volt(volts).given_if(own.given), own.ohms(), Figure::ampere(&current)],
                                );
                        }
                        step.lines.push(Statement::Equation(equation.gives(Figure::volt(&terminal))));
                        let term = format!("V({})", own.name);
                        if enters_plus {
                            terms.push(term);
                            across += &terminal;
                        } else {
                            terms.push(format!("-{term}"));
                            across -= &terminal;
                        }
                        figures.push(Figure::volt(&terminal));
                        values.insert(placed.part, (inside, terminal));
                    }
                }
                if !terms.is_empty() {
                    let formula = terms.join(" + ").replace("+ -", "- ");
                    let marks =
                        terms.iter().map(|term| if term.starts_with('-') { "-#" } else { "#" }).collect::<Vec<_>>();
                    let mut equation = Equation::new(format!("V({name})")).is(formula);
                    if terms.len() > 1 {
                        equation = equation.put(&marks.join(" + ").replace("+ -", "- "), figures);
                    }
                    step.lines.push(Statement::Equation(equation.gives(Figure::volt(&across))));
                }
                values.insert(source.part, (-current, across));
            }
            Behavior::Emf { emf: volts, internal } => {
                let whole = &ohms + internal;
                current = if whole == 0 { zero.clone() } else { volts / &whole };
                let mut symbols = Vec::new();
                let mut figures = vec![Figure::volt(volts).given_if(part.given)];
                if let Some(placed) = resistance {
                    let own = self.part(placed.part);
                    symbols.push(own.summand());
                    figures.push(own.ohms());
                }
                if *internal != 0 {
                    symbols.push(internal_symbol(self.circuit, &part));
                    figures.push(part.ohms());
                    if resistance.is_some() {
                        step.lines
                            .push(Statement::say(format!("The internal resistance of {name} lies in the loop, too.")));
                    }
                }
                let (formula, marks) = match symbols.len() {
                    1 => {
                        let one = resistance.map_or_else(
                            || internal_symbol(self.circuit, &part),
                            |placed| self.part(placed.part).factor(),
                        );
                        (one, "# / #".to_owned())
                    }
                    _ => (format!("({})", symbols.join(" + ")), "# / (# + #)".to_owned()),
                };
                let equation = Equation::new(format!("I({name})"))
                    .is(format!("{} / {formula}", emf_symbol(self.circuit, &part)))
                    .put(&marks, figures)
                    .gives(Figure::ampere(&current));
                equations.push(equation.clone());
                step.lines.push(Statement::Equation(equation));
                step.lines.push(Statement::say(if current == 0 {
                    "No current flows in the loop.".to_owned()
                } else if part.shape == NameShape::Single && part.element.is_some() {
                    format!(
                        "The current leaves {name} at {}, passes {}, and comes back at {}.",
                        if current < 0 { "-" } else { "+" },
                        if others.is_empty() { "the wire".to_owned() } else { list(&others) },
                        if current < 0 { "+" } else { "-" }
                    )
                } else if self.net.points[source.from].named {
                    format!("The sources together drive it out at {begin}.")
                } else {
                    "The sources together drive it in the sense of the stronger.".to_owned()
                }));
                let terminal = volts - internal * &current;
                let mut equation = Equation::new(format!("V({name})"));
                if *internal == 0 {
                    equation = equation.is(emf_symbol(self.circuit, &part));
                } else {
                    equation = equation
                        .is(format!(
                            "{} - {} × I({name})",
                            emf_symbol(self.circuit, &part),
                            internal_symbol(self.circuit, &part)
                        ))
                        .put(
                            "# - # × #",
                            [Figure::volt(volts).given_if(part.given), part.ohms(), Figure::ampere(&current)],
                        );
                }
                if *internal != 0 || resistance.is_some() {
                    let given = *internal == 0 && part.given;
                    if let Some(placed) = resistance {
                        let other = self.name(placed.part);
                        step.lines.push(Statement::say(format!(
                            "The terminals of {name} are the ends of {other}, so both have the same voltage:"
                        )));
                        equation.sides.insert(0, Line::text(format!("V({other})")));
                    }
                    step.lines.push(Statement::Equation(equation.gives(Figure::volt(&terminal).given_if(given))));
                }
                if let Some(placed) = resistance {
                    let signed = if placed.from == source.from { current.clone() } else { -current.clone() };
                    values.insert(placed.part, (signed.clone(), &ohms * &signed));
                }
                values.insert(source.part, (-current, terminal));
            }
            Behavior::Resistance(_) | Behavior::Terminals => {}
        }
        step.stage = Some(with_currents(self.net.stage(&[]), &self.net, &values));
        (step, Some(values), equations)
    }

    /// Whether the current out of `source` reaches `emf` at its +.
    fn walk_enters_plus(&self, source: Placed, emf: Placed) -> bool {
        let mut at = source.from;
        let mut left: Vec<Placed> = self.net.placed.iter().copied().filter(|placed| *placed != source).collect();
        while let Some(next) = left.iter().position(|placed| placed.touches(at)) {
            let placed = left.remove(next);
            if placed == emf {
                return placed.from == at;
            }
            at = placed.far(at);
        }
        true
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

/// A list of names, cut where it is long.
pub(crate) fn shorten(names: &[SmolStr]) -> String {
    if names.len() <= 2 * TERMS {
        return list(names);
    }
    format!("{}, {}, ... and {} ({} in all)", names[0], names[1], names[names.len() - 1], names.len())
}

/// The sentence with a capital first letter; a name at its beginning keeps its form.
pub(crate) fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// `emf(B1)`, `drop(D1)`
pub(crate) fn emf_symbol(circuit: &Circuit, part: &Part) -> String {
    match part.element {
        Some(id) if circuit.element(id).kind == ohmline_circuit::Kind::Diode => format!("drop({})", part.name),
        _ => format!("emf({})", part.name),
    }
}

/// `B1.internal`, `R(D1)`
pub(crate) fn internal_symbol(circuit: &Circuit, part: &Part) -> String {
    match part.element {
        Some(id) if circuit.element(id).kind == ohmline_circuit::Kind::Diode => format!("R({})", part.name),
        Some(_) => format!("{}.internal", part.name),
        None => format!("({}).internal", part.name),
    }
}

/// Symbols joined by a sign, the middle of a long row left out.
pub(crate) fn row<T: AsRef<str>>(symbols: &[T], sign: &str) -> String {
    if symbols.len() <= TERMS {
        return symbols.iter().map(AsRef::as_ref).collect::<Vec<_>>().join(sign);
    }
    let last = symbols[symbols.len() - 1].as_ref();
    format!("{}{sign}{}{sign}...{sign}{last}", symbols[0].as_ref(), symbols[1].as_ref())
}

/// Figures for the marks that [`row`] leaves.
pub(crate) fn row_figures(figures: Vec<Figure>) -> Vec<Figure> {
    if figures.len() <= TERMS {
        return figures;
    }
    let last = figures.len() - 1;
    vec![figures[0].clone(), figures[1].clone(), figures[last].clone()]
}

/// The equation of a series or parallel replacement.
fn combine(rule: Rule, parts: &[&Part], result: &Part) -> Equation {
    let figures: Vec<Figure> = parts.iter().map(|part| part.ohms()).collect();
    let equal = figures.iter().all(|figure| figure.value == figures[0].value);
    let count = parts.len();
    let equation = Equation::new(result.symbol());
    let equation = if rule == Rule::Series {
        let symbols: Vec<String> = parts.iter().map(|part| part.summand()).collect();
        let equation = equation.is(row(&symbols, " + "));
        if equal && count > 2 {
            equation.put(&format!("{count} × #"), [figures[0].clone()])
        } else {
            equation.put(&row(&vec!["#"; count], " + "), row_figures(figures))
        }
    } else if equal {
        equation.is(format!("{} / {count}", parts[0].factor())).put(&format!("# / {count}"), [figures[0].clone()])
    } else if let [one, other] = parts {
        let (a, b) = (one.factor(), other.factor());
        let both = [figures[0].clone(), figures[1].clone(), figures[0].clone(), figures[1].clone()];
        equation.is(format!("{a} × {b} / ({a} + {b})")).put("# × # / (# + #)", both)
    } else {
        let symbols: Vec<String> = parts.iter().map(|part| format!("1/{}", part.factor())).collect();
        let marks = vec!["1/(#)"; count];
        equation
            .is(format!("1 / ({})", row(&symbols, " + ")))
            .put(&format!("1 / ({})", row(&marks, " + ")), row_figures(figures))
    };
    equation.gives(result.ohms())
}

/// A bound on the result that a glance confirms.
fn bound(rule: Rule, parts: &[&Part]) -> Line {
    let figures: Vec<Figure> = parts.iter().map(|part| part.ohms()).collect();
    let largest = figures.iter().max_by(|a, b| a.value.cmp(&b.value)).cloned();
    let smallest = figures.iter().min_by(|a, b| a.value.cmp(&b.value)).cloned();
    let equal = largest == smallest;
    match (rule, smallest, largest) {
        (Rule::Series, _, Some(largest)) if !equal => {
            Line::of("As it must be, that is more than the largest of them, #.", [largest])
        }
        (Rule::Series, ..) => Line::text("As it must be, that is more than each of them."),
        (_, Some(smallest), _) if !equal => {
            let count = parts.len();
            let least = Figure::ohm(&(&smallest.value / Rational::from(count)));
            Line::of(
                &format!(
                    "As it must be, that is less than the smallest of them, #, and not less than # / {count} = #."
                ),
                [smallest.clone(), smallest, least],
            )
        }
        _ => Line::text("As it must be, that is less than each of them."),
    }
}

/// The stage with the currents that are known.
pub(crate) fn with_currents(mut stage: Stage, net: &Net, values: &Values) -> Stage {
    for part in &mut stage.parts {
        let index = net.parts.iter().position(|own| own.name == part.name);
        part.current = index.and_then(|index| values.get(&index)).map(|(current, _)| current.clone());
    }
    stage
}

/// The values of parts that stand, from the replaced back to the drawn; with the steps of the way back.
pub(crate) fn unwind(
    reduction: &Reduction<'_>,
    values: &mut Values,
    hows: &mut FxHashMap<usize, String>,
) -> (Vec<Step>, Vec<crate::model::Back>) {
    let net = &reduction.net;
    let circuit = reduction.circuit;
    let mut steps = Vec::new();
    let mut back = Vec::new();
    for (record, before) in reduction.records.iter().zip(&reduction.before).rev() {
        let mut step = Step::default();
        match record {
            Record::Group { rule, members, result } => {
                let (current, voltage) = values.get(result).cloned().unwrap_or_default();
                let whole = net.parts[*result].name.clone();
                let names: Vec<SmolStr> = members.iter().map(|(part, _)| net.parts[*part].name.clone()).collect();
                let series = *rule == Rule::Series;
                let because = if series {
                    format!("series: same current as {whole}")
                } else {
                    format!("parallel: same voltage as {whole}")
                };
                step.heading =
                    format!("{} have the same {}", shorten(&names), if series { "current" } else { "voltage" });
                step.lines.push(Statement::say(if series {
                    format!("They are in series: each carries the current of {whole}.")
                } else {
                    format!("They are in parallel: each has the voltage of {whole}.")
                }));
                let mut shown = Vec::new();
                let handed = if series { current.clone().abs() } else { voltage.clone().abs() };
                let letter = if series { "I" } else { "V" };
                let mut equation =
                    Equation { sides: names.iter().map(|name| Line::text(format!("{letter}({name})"))).collect() };
                if equation.sides.len() > TERMS {
                    equation.sides = vec![
                        equation.sides[0].clone(),
                        equation.sides[1].clone(),
                        Line::text("..."),
                        equation.sides[names.len() - 1].clone(),
                    ];
                }
                equation = equation.is(format!("{letter}({whole})"));
                equation = equation.gives(if series { Figure::ampere(&handed) } else { Figure::volt(&handed) });
                step.lines.push(Statement::Equation(equation));
                for (part, against) in members {
                    let own = &net.parts[*part];
                    let ohms = own.resistance().cloned().unwrap_or_default();
                    let turn = |value: Rational| if *against { -value } else { value };
                    let (i, v) = if series {
                        let i = turn(current.clone());
                        (i.clone(), &i * &ohms)
                    } else {
                        let v = turn(voltage.clone());
                        (&v / &ohms, v)
                    };
                    let name = &own.name;
                    // Equal ones in one line.
                    let equal: Vec<SmolStr> = members
                        .iter()
                        .map(|(other, _)| &net.parts[*other])
                        .filter(|other| other.ohms() == own.ohms())
                        .map(|other| other.name.clone())
                        .collect();
                    let chained = |letter: &str| {
                        let names: Vec<String> = equal.iter().map(|name| format!("{letter}({name})")).collect();
                        Equation::new(row(&names, " = "))
                    };
                    let equation = if series {
                        chained("V")
                            .is(format!("{} × I({name})", own.factor()))
                            .put("# × #", [own.ohms(), Figure::ampere(&handed)])
                            .gives(Figure::volt(&v.clone().abs()))
                    } else {
                        chained("I")
                            .is(format!("V({name}) / {}", own.factor()))
                            .put("# / #", [Figure::volt(&handed), own.ohms()])
                            .gives(Figure::ampere(&i.clone().abs()))
                    };
                    shown.push(if series { Figure::volt(&v.clone().abs()) } else { Figure::ampere(&i.clone().abs()) });
                    if equal.first() == Some(name) {
                        step.lines.push(Statement::Equation(equation));
                    }
                    back.push(crate::model::Back {
                        name: name.clone(),
                        current: i.clone().abs(),
                        voltage: v.clone().abs(),
                        because: because.clone(),
                    });
                    values.insert(*part, (i, v));
                    hows.insert(*part, because.clone());
                }
                let sum =
                    if series { Figure::volt(&voltage.clone().abs()) } else { Figure::ampere(&current.clone().abs()) };
                let letter = if series { "V" } else { "I" };
                let marks = row(&vec!["#"; shown.len()], " + ");
                let mut check = Equation { sides: vec![Line::of(&marks, row_figures(shown))] };
                check = check.gives(sum).is(format!("{letter}({whole})"));
                step.lines.push(Statement::say("Together:"));
                step.lines.push(Statement::Equation(check));
                step.about = names;
            }
            Record::Sources { rule, members, result } => {
                let (current, _) = values.get(result).cloned().unwrap_or_default();
                let whole = net.parts[*result].name.clone();
                let count = Rational::from(members.len());
                let names: Vec<SmolStr> = members.iter().map(|(part, _)| net.parts[*part].name.clone()).collect();
                let series = *rule == Rule::SeriesSources;
                step.heading = if series {
                    format!("{} have the same current", shorten(&names))
                } else {
                    format!("{} share the current evenly", shorten(&names))
                };
                let because = if series {
                    format!("series: same current as {whole}")
                } else {
                    format!("equal cells: each has 1/{} of the current", members.len())
                };
                let size = if series { current.clone().abs() } else { (&current / &count).abs() };
                if !series {
                    step.lines.push(Statement::Equation(
                        Equation::new(format!("I({})", names[0]))
                            .is(format!("I({whole}) / {}", members.len()))
                            .put(&format!("# / {}", members.len()), [Figure::ampere(&current.clone().abs())])
                            .gives(Figure::ampere(&size)),
                    ));
                }
                for (part, against) in members {
                    let own = &net.parts[*part];
                    let mut i = if *against { -current.clone() } else { current.clone() };
                    if !series {
                        i /= &count;
                    }
                    let v = terminal_voltage(own, &i);
                    step.lines.extend(terminal_lines(circuit, own, &i, &v));
                    back.push(crate::model::Back {
                        name: own.name.clone(),
                        current: i.clone().abs(),
                        voltage: v.clone(),
                        because: because.clone(),
                    });
                    values.insert(*part, (i, v));
                    hows.insert(*part, because.clone());
                }
                step.about = names;
            }
            Record::Idle { part } => {
                let own = &net.parts[*part];
                values.insert(*part, (Rational::from(0), Rational::from(0)));
                hows.insert(*part, "its ends are at one potential".to_owned());
                step.heading = format!("{} carries nothing", own.name);
                step.lines.push(Statement::say(format!(
                    "Both ends of {} are at one potential, so it has neither voltage nor current.",
                    own.name
                )));
                step.about = vec![own.name.clone()];
                back.push(crate::model::Back {
                    name: own.name.clone(),
                    current: Rational::from(0),
                    voltage: Rational::from(0),
                    because: "balanced: no voltage".to_owned(),
                });
            }
            Record::Star { sides, arms } => {
                // Voltage from each corner to the center.
                let to_center: Vec<Rational> =
                    arms.iter().map(|arm| values.get(arm).map(|(_, v)| v.clone()).unwrap_or_default()).collect();
                let names: Vec<SmolStr> = sides.iter().map(|(part, ..)| net.parts[*part].name.clone()).collect();
                step.heading = format!("Back to the triangle of {}", list(&names));
                step.lines.push(Statement::say(
                    "The voltages between the corners are the same in the star and in the triangle.",
                ));
                for (part, a, b) in sides {
                    let own = &net.parts[*part];
                    let v = &to_center[*a] - &to_center[*b];
                    let i = &v / own.resistance().cloned().unwrap_or_else(|| Rational::from(1));
                    let size = v.clone().abs();
                    // From the corner of higher potential to the other.
                    let (high, low) = if v < 0 { (*b, *a) } else { (*a, *b) };
                    let (first, second) = (&to_center[high], -to_center[low].clone());
                    let sign = |value: &Rational| if *value < 0 { "-" } else { "+" };
                    let (one, other) = (&net.parts[arms[high]].name, &net.parts[arms[low]].name);
                    let lead = if *first < 0 { "-" } else { "" };
                    step.lines.push(Statement::Equation(
                        Equation::new(format!("V({})", own.name))
                            .is(format!("{lead}V({one}) {} V({other})", sign(&second)))
                            .put(
                                &format!("{lead}# {} #", sign(&second)),
                                [Figure::volt(&first.clone().abs()), Figure::volt(&second.clone().abs())],
                            )
                            .gives(Figure::volt(&size)),
                    ));
                    step.lines.push(Statement::Equation(
                        Equation::new(format!("I({})", own.name))
                            .is(format!("V({}) / {}", own.name, own.factor()))
                            .put("# / #", [Figure::volt(&size), own.ohms()])
                            .gives(Figure::ampere(&i.clone().abs())),
                    ));
                    let corner = |arm: usize| {
                        net.parts[arms[arm]].name.trim_start_matches("Y(").trim_end_matches([')', '′']).to_owned()
                    };
                    if v != 0 {
                        step.lines.push(Statement::say(format!("It flows from {} to {}.", corner(high), corner(low))));
                    }
                    back.push(crate::model::Back {
                        name: own.name.clone(),
                        current: i.clone().abs(),
                        voltage: size,
                        because: "triangle: voltage between its corners".to_owned(),
                    });
                    hows.insert(*part, "voltage between the corners of the triangle".to_owned());
                    values.insert(*part, (i, v));
                }
                step.about = names;
            }
        }
        let mut stage = with_currents(before.clone(), net, values);
        stage.parts.iter_mut().for_each(|part| part.new = step.about.contains(&part.name));
        step.stage = Some(stage);
        steps.push(step);
    }
    (steps, back)
}

/// Voltage of an emf with this current from + to - inside it.
pub(crate) fn terminal_voltage(part: &Part, inside: &Rational) -> Rational {
    match &part.behavior {
        Behavior::Emf { emf, internal } => emf + internal * inside,
        _ => Rational::from(0),
    }
}

/// The terminal voltage of a source, in words and numbers.
pub(crate) fn terminal_lines(circuit: &Circuit, part: &Part, inside: &Rational, voltage: &Rational) -> Vec<Statement> {
    let Behavior::Emf { emf, internal } = &part.behavior else { return Vec::new() };
    let name = &part.name;
    let mut lines = Vec::new();
    let battery = part.element.is_none_or(|id| circuit.element(id).kind.is_source());
    if battery && *inside > 0 {
        lines.push(Statement::say(format!("The current enters {name} at +: {name} is being charged.")));
    }
    let equation = Equation::new(format!("V({name})"));
    lines.push(Statement::Equation(if *internal == 0 {
        equation.is(emf_symbol(circuit, part)).gives(Figure::volt(emf).given_if(part.given))
    } else {
        let sign = if *inside > 0 { "+" } else { "-" };
        equation
            .is(format!("{} {sign} {} × I({name})", emf_symbol(circuit, part), internal_symbol(circuit, part)))
            .put(
                &format!("# {sign} # × #"),
                [Figure::volt(emf).given_if(part.given), part.ohms(), Figure::ampere(&inside.clone().abs())],
            )
            .gives(Figure::volt(voltage))
    }));
    lines
}

impl Reduction<'_> {
    /// Why nothing is in series or in parallel any more, and which part is in the way.
    pub fn why_stuck(&self) -> Step {
        let sources = self.net.sources();
        let mut step = Step { heading: "Series and parallel end here".to_owned(), ..Step::default() };
        let resistances = self.net.resistances();
        if sources.len() > 1 {
            let names: Vec<&str> = sources.iter().map(|source| self.net.name(*source)).collect();
            step.lines.push(Statement::say(format!(
                "{} hold voltages or currents of their own in different branches, so the rest is not one resistance at one source.",
                list(&names)
            )));
        }
        if sources.len() == 1 || resistances.len() > 4 {
            step.lines.push(Statement::say(
                "Every pair of resistances that is left shares at most one point, and a third wire is joined at that point.",
            ));
        }
        if let [source] = sources[..]
            && let Some(blocking) = self.blocking(source)
        {
            step.lines.push(Statement::say(format!(
                "{} is in the way: it ties {} to {}.",
                self.net.name(blocking),
                self.net.label(blocking.from),
                self.net.label(blocking.to)
            )));
            step.about.push(self.name(blocking.part).clone());
        }
        step.stage = Some(self.net.stage(&[]));
        step
    }

    /// A part without which the rest would reduce; one away from the source, if there is one.
    pub fn blocking(&self, source: Placed) -> Option<Placed> {
        let terminals = [source.from, source.to];
        let candidates: Vec<Placed> = self
            .net
            .resistances()
            .into_iter()
            .filter(|&candidate| {
                let mut net = self.net.clone();
                net.placed.retain(|placed| *placed != candidate);
                Tree::grow(&net, &terminals).edges.len() == 1
            })
            .collect();
        let touches = |placed: &Placed| terminals.iter().filter(|&&point| placed.touches(point)).count();
        candidates.into_iter().min_by_key(|placed| (touches(placed), self.part(placed.part).span))
    }

    /// Leaves out a part whose ends are at one potential because of a ratio.
    pub fn leave_out_balanced(&mut self) -> bool {
        let [source] = self.net.sources()[..] else { return false };
        for bridge in self.net.resistances() {
            let (p, q) = (bridge.from, bridge.to);
            if [p, q].iter().any(|&point| source.touches(point) || self.net.degree(point) != 3) {
                continue;
            }
            let sides = |point: usize| -> Vec<Placed> {
                self.net.at(point).into_iter().filter(|placed| *placed != bridge).collect()
            };
            let (at_p, at_q) = (sides(p), sides(q));
            for (a, b) in [(0, 1), (1, 0)] {
                let (pa, pb, qa, qb) = (at_p[0], at_p[1], at_q[a], at_q[b]);
                if pa.far(p) != qa.far(q) || pb.far(p) != qb.far(q) || pa.far(p) == pb.far(p) {
                    continue;
                }
                let ohm = |placed: Placed| self.part(placed.part).resistance().cloned().unwrap_or_default();
                if ohm(pa) * ohm(qb) != ohm(pb) * ohm(qa) {
                    continue;
                }
                let part = |placed: Placed| self.part(placed.part).clone();
                let (pa, pb, qa, qb) = (part(pa), part(pb), part(qa), part(qb));
                let name = self.name(bridge.part).clone();
                let (at_p, at_q) = (self.net.label(p).to_owned(), self.net.label(q).to_owned());
                let ratio = pa.ohms().value / pb.ohms().value;
                let ratio = Figure::new(&ratio, ohmline_circuit::Unit::One);
                let evidence = format!(
                    "{} is to {} as {} is to {}, so {at_p} and {at_q} are at one potential",
                    pa.name, pb.name, qa.name, qb.name
                );
                let lines = vec![
                    Statement::say(format!(
                        "Think {name} taken out. Then {} and {} are in series between the same two points as {} and {}, \
                         and each pair divides the same voltage in the ratio of its resistances:",
                        pa.name, pb.name, qa.name, qb.name
                    )),
                    Statement::Equation(
                        Equation::new(format!("{} / {}", pa.factor(), pb.factor()))
                            .put("# / #", [pa.ohms(), pb.ohms()])
                            .gives(ratio.clone()),
                    ),
                    Statement::Equation(
                        Equation::new(format!("{} / {}", qa.factor(), qb.factor()))
                            .put("# / #", [qa.ohms(), qb.ohms()])
                            .gives(ratio),
                    ),
                    Statement::say(format!(
                        "The ratios are equal, so {at_p} and {at_q} are at one potential. Put back between them, {name} \
                         has no voltage and carries nothing: it changes nothing and is left out."
                    )),
                ];
                self.before.push(self.net.stage(&[]));
                self.net.placed.retain(|placed| *placed != bridge);
                for point in [p, q] {
                    self.degrees[point] = self.degrees[point].max(3);
                }
                self.records.push(Record::Idle { part: bridge.part });
                let replaced = Replacement {
                    rule: Rule::Balanced,
                    replaces: vec![name.clone()],
                    by: SmolStr::default(),
                    value: None,
                    evidence,
                };
                self.steps.push(Step {
                    heading: format!("The bridge is balanced: {name} carries nothing"),
                    lines,
                    about: vec![name],
                    replaced: vec![replaced],
                    stage: Some(self.net.stage(&[])),
                });
                return true;
            }
        }
        false
    }

    /// Joins points that a symmetry of the network exchanges, while it keeps the ends of the source.
    pub fn join_equal_points(&mut self) -> bool {
        let [source] = self.net.sources()[..] else { return false };
        let live = self.net.live_points();
        let resistances = self.net.resistances();
        let edges: Vec<(usize, usize, Rational)> = resistances
            .iter()
            .map(|placed| (placed.from, placed.to, self.part(placed.part).resistance().cloned().unwrap_or_default()))
            .collect();
        let symmetry = Symmetry::new(&live, &edges);
        let mut class: Vec<usize> = (0..self.net.points.len()).collect();
        for (index, &p) in live.iter().enumerate() {
            for &q in &live[index + 1..] {
                if class[p] == class[q] || source.touches(p) || source.touches(q) {
                    continue;
                }
                if symmetry.exists(&[(source.from, source.from), (source.to, source.to), (p, q)]) {
                    let (keep, gone) = (class[p].min(class[q]), class[p].max(class[q]));
                    class.iter_mut().filter(|of| **of == gone).for_each(|of| *of = keep);
                }
            }
        }
        let groups: Vec<Vec<usize>> = live
            .iter()
            .filter(|&&point| class[point] == point)
            .map(|&point| live.iter().copied().filter(|&other| class[other] == point).collect::<Vec<_>>())
            .filter(|group| group.len() > 1)
            .collect();
        if groups.is_empty() {
            return false;
        }
        let mut lines = vec![Statement::say(format!(
            "The network looks the same from {} and {} when these points change places:",
            self.net.label(source.from),
            self.net.label(source.to)
        ))];
        let mut evidence = Vec::new();
        for group in &groups {
            let labels: Vec<&str> = group.iter().map(|&point| self.net.label(point)).collect();
            lines.push(Statement::say(format!("{}.", capital(&list(&labels)))));
            evidence.push(list(&labels));
        }
        lines.push(Statement::say(
            "So the points of each of these groups are at one potential. No current would flow in a wire between them: joining them \
             changes nothing.",
        ));
        let mut gone = Vec::new();
        for placed in resistances {
            if class[placed.from] == class[placed.to] {
                gone.push(self.name(placed.part).clone());
                self.before.push(self.net.stage(&[]));
                self.records.push(Record::Idle { part: placed.part });
                self.net.placed.retain(|other| *other != placed);
            }
        }
        if !gone.is_empty() {
            lines.push(Statement::say(format!(
                "{} then {} both ends at one point and {} nothing.",
                shorten(&gone),
                if gone.len() == 1 { "has" } else { "have" },
                if gone.len() == 1 { "carries" } else { "carry" }
            )));
        }
        for placed in &mut self.net.placed {
            placed.from = class[placed.from];
            placed.to = class[placed.to];
        }
        for group in &groups {
            let degree = group.iter().map(|&point| self.degrees[point]).sum();
            self.degrees[group[0]] = degree;
            let nodes: Vec<_> = group.iter().flat_map(|&point| self.net.points[point].nodes.clone()).collect();
            self.net.points[group[0]].nodes = nodes;
        }
        let replaced = Replacement {
            rule: Rule::EqualPotential,
            replaces: gone.clone(),
            by: SmolStr::default(),
            value: None,
            evidence: format!("by symmetry one potential each: {}", evidence.join("; ")),
        };
        self.steps.push(Step {
            heading: "Points of equal potential are joined".to_owned(),
            lines,
            about: gone,
            replaced: vec![replaced],
            stage: Some(self.net.stage(&[])),
        });
        true
    }

    /// Replaces a triangle by a star, if the rest then reduces.
    pub fn star(&mut self) -> bool {
        let [source] = self.net.sources()[..] else { return false };
        let resistances = self.net.resistances();
        let mut best: Option<(usize, [Placed; 3], [usize; 3])> = None;
        for (i, one) in resistances.iter().enumerate() {
            for (j, two) in resistances.iter().enumerate().skip(i + 1) {
                for three in resistances.iter().skip(j + 1) {
                    let mut corners = vec![one.from, one.to, two.from, two.to, three.from, three.to];
                    corners.sort_unstable();
                    corners.dedup();
                    let [a, b, c] = corners[..] else { continue };
                    let side = |x: usize, y: usize| {
                        [*one, *two, *three].into_iter().find(|placed| placed.touches(x) && placed.touches(y))
                    };
                    let (Some(ab), Some(bc), Some(ca)) = (side(a, b), side(b, c), side(c, a)) else { continue };
                    let mut trial = self.net.clone();
                    trial.placed.retain(|placed| ![ab, bc, ca].contains(placed));
                    let center = trial.points.len();
                    trial.points.push(crate::net::Point::default());
                    for corner in [a, b, c] {
                        trial.placed.push(Placed { part: ab.part, from: corner, to: center });
                    }
                    if Tree::grow(&trial, &[source.from, source.to]).edges.len() != 1 {
                        continue;
                    }
                    // A triangle at the source's + is the one people take.
                    let rank = if corners.contains(&source.from) {
                        0
                    } else if corners.contains(&source.to) {
                        1
                    } else {
                        2
                    };
                    if best.as_ref().is_none_or(|(known, ..)| rank < *known) {
                        best = Some((rank, [ab, bc, ca], [a, b, c]));
                    }
                }
            }
        }
        let Some((_, [ab, bc, ca], corners)) = best else { return false };
        let ohms = [ab, bc, ca].map(|placed| self.part(placed.part).resistance().cloned().unwrap_or_default());
        let sum = &ohms[0] + &ohms[1] + &ohms[2];
        let center = self.new_point();
        self.net.points[center].label = "@Y".to_owned();
        self.net.points[center].named = true;
        let sides = [ab, bc, ca];
        let symbols: Vec<String> = sides.iter().map(|placed| self.part(placed.part).factor()).collect();
        let figures: Vec<Figure> = sides.iter().map(|placed| self.part(placed.part).ohms()).collect();
        let names: Vec<SmolStr> = sides.iter().map(|placed| self.name(placed.part).clone()).collect();
        let labels: Vec<String> = corners.iter().map(|&corner| self.net.label(corner).to_owned()).collect();
        let evidence = format!("they form a triangle with the corners {}", list(&labels));
        let mut step = Step {
            heading: format!("The triangle of {} is replaced by a star", list(&names)),
            lines: vec![
                Statement::say(format!("{}.", capital(&evidence))),
                Statement::say(
                    "Each arm of the star that acts the same is the product of the two sides at its corner, divided by the sum of all three.",
                ),
            ],
            about: names.clone(),
            ..Step::default()
        };
        let mut arms = [0; 3];
        let mut new = Vec::new();
        // The sides at corner a are ab and ca; at b: ab and bc; at c: bc and ca.
        for (index, (x, y)) in [(0, 2), (0, 1), (1, 2)].into_iter().enumerate() {
            let value = &ohms[x] * &ohms[y] / &sum;
            let mut name = format!("Y({})", labels[index].replace(' ', "_"));
            while self.names.contains(name.as_str()) {
                name.push('′');
            }
            let span = self.part(sides[x].part).span;
            let part = self.add_part(
                name.clone().into(),
                NameShape::Single,
                true,
                Behavior::Resistance(value.clone()),
                span,
                &[],
            );
            step.lines.push(Statement::Equation(
                Equation::new(name)
                    .is(format!("{} × {} / ({})", symbols[x], symbols[y], symbols.join(" + ")))
                    .put(
                        "# × # / (# + # + #)",
                        [
                            figures[x].clone(),
                            figures[y].clone(),
                            figures[0].clone(),
                            figures[1].clone(),
                            figures[2].clone(),
                        ],
                    )
                    .gives(Figure::ohm(&value)),
            ));
            step.replaced.push(Replacement {
                rule: Rule::StarDelta,
                replaces: names.clone(),
                by: self.name(part).clone(),
                value: Some(Figure::ohm(&value)),
                evidence: evidence.clone(),
            });
            arms[index] = part;
            new.push((part, names.clone()));
        }
        self.before.push(self.net.stage(&[]));
        self.net.placed.retain(|placed| !sides.contains(placed));
        for (arm, corner) in arms.iter().zip(corners) {
            self.net.placed.push(Placed { part: *arm, from: corner, to: center });
        }
        let corner_of = |point: usize| corners.iter().position(|&corner| corner == point).unwrap_or(0);
        let sides = sides.map(|placed| (placed.part, corner_of(placed.from), corner_of(placed.to)));
        self.records.push(Record::Star { sides, arms });
        step.stage = Some(self.net.stage(&new));
        self.steps.push(step);
        true
    }
}
