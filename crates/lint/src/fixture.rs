//! Text to diagnostics, for tests: the stages in order, as the analysis runs them.

use std::sync::Arc;

use expect_test::Expect;
use ohmline_circuit::topology::RelationVerdict;
use ohmline_circuit::{Circuit, Source, Sources, Topology};
use ohmline_solve::{Answers, Method};
use ohmline_syntax::{Diagnostic, FileSpan, Fix, LineIndex, Severity};

use crate::context::Context;
use crate::registry::Rule;

/// Everything known about a text.
pub struct Analyzed {
    sources: Sources,
    circuit: Circuit,
    topologies: Vec<Topology>,
    answers: Answers,
    relations: Vec<Option<RelationVerdict>>,
}

impl Analyzed {
    /// Runs every stage but the last.
    pub fn new(text: &str) -> Self {
        let tree = Arc::new(ohmline_syntax::parse(text));
        let lines = Arc::new(LineIndex::new(text));
        let main = Source { name: "test.ohmline".into(), path: None, tree, lines, includes: Vec::new() };
        let sources = Sources { files: vec![main] };
        let circuit = ohmline_circuit::build(&sources);
        let topologies: Vec<_> = circuit.state_ids().map(|state| Topology::new(&circuit, state)).collect();
        let answers = ohmline_solve::solve(&circuit, Method::Auto);
        let relations = crate::judge(&circuit, &topologies);
        Self { sources, circuit, topologies, answers, relations }
    }

    /// The view of a rule.
    pub fn context(&self) -> Context<'_> {
        Context {
            sources: &self.sources,
            circuit: &self.circuit,
            topologies: &self.topologies,
            answers: &self.answers,
            relations: &self.relations,
        }
    }
}

/// What is said about a text, what it allows left out.
pub fn check(text: &str) -> Vec<Diagnostic> {
    let found = crate::check(&Analyzed::new(text).context());
    found.into_iter().filter(|said| said.allowed.is_none()).collect()
}

/// The text after a fix.
pub fn apply(text: &str, fix: &Fix) -> String {
    let mut mended = text.to_owned();
    for edit in fix.edits.iter().rev() {
        mended.replace_range(edit.at.span.range(), &edit.text);
    }
    mended
}

/// Compares all that is said about a text, hints of the eye about claims and series left out unless asked for.
pub fn says(text: &str, expected: Expect) {
    let found: Vec<_> = check(text).into_iter().filter(|said| said.severity != Severity::Hint).collect();
    expected.assert_eq(&write(text, &found));
}

/// Compares what one rule says about a text, hints included.
pub fn rule_says(rule: &str, text: &str, expected: Expect) {
    let found: Vec<_> = check(text).into_iter().filter(|said| said.rule == rule).collect();
    expected.assert_eq(&write(text, &found));
}

/// Compares what a rule says about its own failing example.
pub fn example_says(rule: &dyn Rule, expected: Expect) {
    rule_says(rule.meta().name, rule.meta().bad, expected);
}

/// Writes diagnostics for reading.
pub fn write(text: &str, found: &[Diagnostic]) -> String {
    let place = |at: FileSpan| {
        let before = text.get(..at.span.start as usize).unwrap_or("");
        let line = before.matches('\n').count() + 1;
        let column = before.chars().rev().take_while(|c| *c != '\n').count() + 1;
        format!("{line}:{column} `{}`", text.get(at.span.range()).unwrap_or("?").replace('\n', "\\n"))
    };
    let mut out = String::new();
    for said in found {
        let cases = if said.cases.is_empty() { String::new() } else { format!(" [{}]", said.cases.join(", ")) };
        out += &format!("{} {}{cases}: {}\n", said.severity.word(), said.rule, said.message);
        out += &format!("  at {} {}\n", place(said.primary.at), said.primary.text);
        if let Some(question) = &said.question {
            out += &format!("  ask: {question}\n");
        }
        for label in &said.labels {
            out += &format!("  -- {} {}\n", place(label.at), label.text);
        }
        for note in &said.notes {
            out += &format!("  note: {note}\n");
        }
        for help in &said.help {
            out += &format!("  help: {help}\n");
        }
        for fix in &said.fixes {
            let edits: Vec<String> =
                fix.edits.iter().map(|edit| format!("{} -> {:?}", place(edit.at), edit.text)).collect();
            out += &format!("  fix: {} ({})\n", fix.title, edits.join("; "));
        }
    }
    out.lines().map(|line| line.trim_end()).collect::<Vec<_>>().join("\n") + if out.is_empty() { "" } else { "\n" }
}
