//! Rewritings of random circuits, in files as people write them: parts, cases, repeats and included kits; comments, tabs, continued lines and
//! the line ends of other systems. What keeps the circuit keeps the current and voltage of every other element in every case; what adds to
//! it does too; and no comment is lost.

use std::collections::{BTreeMap, BTreeSet};

use ohmline_analysis::{Analysis, Settings, analyze};
use ohmline_syntax::lexer::{TokenKind, tokens};
use ohmline_syntax::tree::{Segment, StmtKind};
use ohmline_syntax::{Severity, Span};

use super::{Rewrite, RewriteKind, part_of, rewrites, segments};
use crate::fixture::analysis;
use crate::occurrences::Index;
use crate::rename::apply;

const KIT: &str = "## A lantern with its dropper.\npart lantern(in, out), dropper 130 ohm\n  resistor R = dropper\n  lamp L = 12 ohm\n  \
    @in -- R -- @mid -- L -- @out\nend\n";

/// Numbers that look random and are the same each time.
struct Random(u64);

impl Random {
    fn below(&mut self, most: usize) -> usize {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        ((self.0 >> 33) % most as u64) as usize
    }

    fn pick<'a>(&mut self, of: &[&'a str]) -> &'a str {
        of[self.below(of.len())]
    }
}

/// A circuit while it is written.
struct Writer {
    random: Random,
    declarations: Vec<String>,
    paths: Vec<String>,
    names: Vec<String>,
    junctions: Vec<String>,
}

impl Writer {
    fn number(&self) -> usize {
        self.declarations.len() + 1
    }

    fn value(&mut self) -> String {
        self.random.pick(&["4", "6.1", "8.0", "12", "4.7", "1.5e1", "(2 + 3)"]).to_owned()
    }

    /// Declares an element and gives what stands for it in a path.
    fn element(&mut self) -> String {
        let (number, value) = (self.number(), self.value());
        let comment = self.random.pick(&["", "", "", "  # from the store", "\t# \u{3a9}, \u{1f319}"]);
        let gap = self.random.pick(&[" ", " ", "  ", "\t"]);
        let (name, declared, item) = match self.random.below(12) {
            0 => (format!("L{number}"), format!("lamp{gap}L{number} = {value} ohm"), format!("L{number}")),
            1 => (format!("A{number}"), format!("ammeter{gap}A{number}"), format!("+A{number}-")),
            2 => (format!("S{number}"), format!("switch{gap}S{number} = closed"), format!("S{number}")),
            3 => (format!("H{number}"), format!("lantern{gap}H{number}, dropper {value} ohm"), format!("H{number}")),
            4 => {
                let name = format!("\u{41b}{number}");
                (name.clone(), format!("resistor{gap}{name} = {value} ohm, tolerance 5%"), name)
            }
            _ => (format!("R{number}"), format!("resistor{gap}R{number} = {value} ohm"), format!("R{number}")),
        };
        let doc = self.random.pick(&["", "", "", "", "## As sold.\n"]);
        self.declarations.push(format!("{doc}{declared}{comment}"));
        self.names.push(name);
        item
    }

    /// A stretch of a path, with a resistor in every way through it.
    fn stretch(&mut self, depth: usize) -> String {
        let count = 1 + self.random.below(3);
        let mut items: Vec<String> = Vec::new();
        for at in 0..count {
            match self.random.below(6) {
                0 if depth > 0 => {
                    let inner: Vec<String> =
                        (0..2 + self.random.below(2)).map(|_| self.alternative(depth - 1)).collect();
                    items.push(format!("( {} )", inner.join(" | ")));
                }
                2 if depth > 0 => {
                    let (one, other) = (self.resistor(), self.resistor());
                    items.push(format!("( {one} | {other} )"));
                }
                1 if at > 0 && depth > 1 => items.push(self.between_names()),
                _ => items.push(self.element()),
            }
        }
        let wire = self.random.pick(&[" -- ", " -- ", "  --  ", " --\t"]);
        items.join(wire)
    }

    fn resistor(&mut self) -> String {
        let number = self.number();
        let value = self.random.pick(&["3", "10", "22"]);
        self.declarations.push(format!("resistor K{number} = {value} ohm"));
        format!("K{number}")
    }

    /// A way between two points, with resistance in it.
    fn alternative(&mut self, depth: usize) -> String {
        let first = self.resistor();
        match self.random.below(3) {
            0 => first,
            _ => format!("{first} -- {}", self.stretch(depth)),
        }
    }

    /// A way between two points with names, which a path of its own joins too.
    fn between_names(&mut self) -> String {
        let number = self.junctions.len() + 1;
        let [a, b] = [format!("@j{number}"), format!("@j{}", number + 1)];
        self.junctions.extend([a.clone(), b.clone()]);
        let (one, other) = (self.alternative(1), self.alternative(0));
        self.paths.push(format!("{a} -- {other} -- {b}"));
        format!("{a} -- {one} -- {b}")
    }
}

/// A text with one to three circuits in it.
fn draw(seed: u64) -> String {
    let random = Random(seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) | 1);
    let mut own =
        Writer { random, declarations: Vec::new(), paths: Vec::new(), names: Vec::new(), junctions: Vec::new() };
    own.random.below(7);
    for _ in 0..1 + own.random.below(3) {
        let number = own.number();
        own.declarations
            .push(format!("battery B{number} = {} V, internal 1 ohm", own.random.pick(&["9", "4.5", "12"])));
        let line = own.stretch(2);
        // Some paths go on in the next line.
        let line = match own.random.below(4) {
            0 => line.replacen(" -- ", "\n    -- ", 1),
            _ => line,
        };
        let comment = own.random.pick(&["", "", "  # the quay"]);
        own.paths.push(format!("B{number}+ -- {line} -- B{number}-{comment}"));
    }
    let mut text = String::from("circuit \"Quay\"\ninclude \"kit.ohmline\"\n");
    let mut blocks = [own.declarations.join("\n"), own.paths.join("\n")];
    if own.random.below(3) == 0 {
        blocks.reverse();
    }
    text += &(blocks.join("\n\n") + "\n");
    if own.random.below(3) == 0 {
        text += "repeat k from 1 to 2\n\tresistor Z{k} = 5 ohm\nend\nbattery Zb = 6 V\nZb+ -- Z1 -- Z2 -- Zb-\n";
    }
    let changed: Vec<String> =
        own.names.iter().filter(|name| name.starts_with('R') || name.starts_with('S')).cloned().collect();
    if !changed.is_empty() && own.random.below(2) == 0 {
        let name = &changed[own.random.below(changed.len())];
        let value = if name.starts_with('S') { "open" } else { "7 ohm" };
        text += &format!("case \"night\": {name} = {value}\nfind current through {name} in \"night\"\n");
    }
    if !changed.is_empty() && own.random.below(3) == 0 {
        text += &format!("find voltage across {}  # asked\n", changed[0]);
    }
    match own.random.below(4) {
        0 => text.replace('\n', "\r\n"),
        1 => text.trim_end().to_owned(),
        _ => text,
    }
}

/// Current, voltage and power of every element, for each state.
fn values(found: &Analysis) -> Vec<BTreeMap<String, String>> {
    let of = |state: &ohmline_solve::StateAnswers| {
        let elements = found.circuit.elements.iter().zip(&state.elements);
        let known = elements.filter_map(|(element, answer)| {
            let answer = answer.as_ref()?;
            Some((element.name.to_string(), format!("{:?} {:?} {:?}", answer.current, answer.voltage, answer.power)))
        });
        known.collect()
    };
    found.answers.states.iter().map(of).collect()
}

fn errors(found: &Analysis) -> BTreeSet<(&'static str, &str)> {
    let errors = found.diagnostics.iter().filter(|own| own.severity == Severity::Error);
    errors.map(|own| (own.rule, own.message.as_str())).collect()
}

/// The comments of a text, in any order.
fn comments(text: &str) -> Vec<String> {
    let all = tokens(text).into_iter().filter(|token| matches!(token.kind, TokenKind::Comment));
    let mut all: Vec<String> = all.map(|token| text[token.span().range()].trim_end().to_owned()).collect();
    all.sort();
    all
}

/// Whether a rewriting replaces an element.
fn replaces(own: &Rewrite, name: &str) -> bool {
    own.title.starts_with("Replace") && own.title.split([' ', ',']).any(|word| word == name)
}

/// Carries out a rewriting and looks at what has come of it.
fn check(before: &Analysis, own: &Rewrite, seed: u64) {
    let old = &before.sources.files[0].tree.text;
    let after = analyze(apply(&before.sources, &own.edits), &Settings::default());
    let new = &after.sources.files[0].tree.text;
    let what = || format!("seed {seed}: {}\n{old}\n  becomes\n{new}\n  with {:?}", own.title, errors(&after));
    let changes = own.kind == RewriteKind::Change && !own.title.starts_with("Put");
    let known = errors(before);
    assert!(changes || errors(&after).is_subset(&known), "{}", what());
    assert!(!after.circuit.diagnostics.iter().any(|own| own.severity == Severity::Error), "{}", what());
    let crlf = |text: &str| (text.matches("\r\n").count(), text.matches('\n').count());
    let (lines, all) = crlf(new);
    assert!((lines == 0 || lines == all) && !new.contains("\r\r"), "mixed line ends; {}", what());
    let mut left = comments(new);
    for comment in comments(old) {
        let at = left.iter().position(|other| *other == comment);
        left.remove(at.unwrap_or_else(|| panic!("{comment} is lost; {}", what())));
    }
    if changes {
        return;
    }
    let (old, new) = (values(before), values(&after));
    assert_eq!(old.len(), new.len(), "{}", what());
    for (old, new) in old.iter().zip(&new) {
        for (name, value) in old {
            let moved = || new.get(&format!("G1.{name}"));
            match new.get(name).or_else(moved) {
                Some(now) => assert_eq!(value, now, "{name}; {}", what()),
                None => assert!(replaces(own, name), "{name} is gone; {}", what()),
            }
        }
    }
}

/// The stretches of paths from one item to another.
fn stretches(before: &Analysis) -> Vec<Span> {
    let mut found = Vec::new();
    for stmt in &before.sources.files[0].tree.stmts {
        let StmtKind::Path(path) = &stmt.node.kind else { continue };
        segments(path, &mut |segment: &Segment| {
            for (number, first) in segment.items.iter().enumerate() {
                let ends = segment.items[number..].iter();
                found.extend(ends.map(|last| stmt.span(first.span).to(stmt.span(last.span))));
            }
        });
    }
    found
}

const CIRCUITS: u64 = 48;

/// All that can be rewritten: how the title begins, and what is in it.
const KINDS: &[(&str, &str)] = &[
    ("Replace", "in series"),
    ("Replace", "in parallel"),
    ("Name this point", ""),
    ("Write this group as paths", ""),
    ("Write the paths", "as a group"),
    ("State the current and the voltage", ""),
    ("Put an ammeter in line", ""),
    ("Put a voltmeter across", ""),
    ("Turn", "round"),
    ("Turn the selection into", ""),
    ("Take the preferred value", ""),
];

#[test]
fn everything_else_keeps_its_current_and_voltage() {
    let mut count = BTreeMap::<(&str, &str), usize>::new();
    for seed in 0..CIRCUITS {
        let text = draw(seed);
        let before = analysis(&text, &[("kit.ohmline", KIT)]);
        assert!(errors(&before).is_empty(), "{text}\n{:?}", errors(&before));
        let index = Index::new(&before.sources);
        let mut seen = std::collections::HashSet::new();
        let at_places = (0..=text.len() as u32).flat_map(|at| rewrites(&before, &index, at));
        let of_stretches = stretches(&before).into_iter().filter_map(|span| part_of(&before, &index, span));
        for own in at_places.chain(of_stretches) {
            if seen.insert(format!("{} {:?}", own.title, own.edits)) {
                check(&before, &own, seed);
                let kind =
                    KINDS.iter().find(|(begin, inside)| own.title.starts_with(begin) && own.title.contains(inside));
                *count.entry(*kind.unwrap_or_else(|| panic!("{:?} is not listed", own.title))).or_default() += 1;
            }
        }
    }
    for kind in KINDS {
        assert!(count.get(kind).is_some_and(|count| *count >= 8), "{kind:?}: {count:?}");
    }
}
