//! The worked solution as JSON, by the published contract.

use std::io::{self, Write};

use malachite::Rational;
use ohmline_analysis::Analysis;
use ohmline_circuit::quantity::Style;
use ohmline_worked::{CheckKind, Solution};
use serde_json::{Map, Value, json};

use super::figures;
use crate::SCHEMA;
use crate::json::Num;
use crate::solve_json::Circuits;

fn number(value: &Rational) -> Value {
    serde_json::to_value(Num::from(value)).unwrap_or(Value::Null)
}

/// Writes the solution.
pub fn write_solution_json(out: &mut impl Write, analysis: &Analysis, solution: &Solution) -> io::Result<()> {
    serde_json::to_writer_pretty(&mut *out, &object(analysis, solution))?;
    writeln!(out)
}

/// Writes the solutions of the circuits of a Markdown document, each as [`write_solution_json`] would; `null` for one without.
pub fn write_solution_circuits_json(
    out: &mut impl Write,
    file: &str,
    circuits: &[(&Analysis, Option<&Solution>)],
) -> io::Result<()> {
    let of = |(analysis, solution): &(&Analysis, Option<&Solution>)| solution.map(|found| object(analysis, found));
    let circuits: Vec<Option<Value>> = circuits.iter().map(of).collect();
    serde_json::to_writer_pretty(&mut *out, &Circuits { schema: SCHEMA, file, circuits: &circuits })?;
    writeln!(out)
}

fn object(analysis: &Analysis, solution: &Solution) -> Value {
    let steps: Vec<Value> = solution
        .replacements()
        .map(|step| {
            let mut object = Map::new();
            object.insert("rule".into(), json!(step.rule.word()));
            object.insert("replaces".into(), json!(step.replaces.iter().map(|name| name.as_str()).collect::<Vec<_>>()));
            object.insert("by".into(), if step.by.is_empty() { Value::Null } else { json!(step.by.as_str()) });
            if let Some(figure) = &step.value {
                object.insert("value".into(), number(&figure.value));
                object.insert("unit".into(), json!(figure.unit.word()));
                object.insert("exact".into(), json!(figure.value.to_string()));
            }
            object.insert("evidence".into(), json!(step.evidence));
            Value::Object(object)
        })
        .collect();
    let equations: Vec<String> = solution
        .equations
        .iter()
        .map(|equation| {
            let sides: Vec<String> =
                figures::sides(equation, Style::Fraction).into_iter().map(|(_, side)| side).collect();
            sides.join(" = ")
        })
        .collect();
    let sources: Vec<Value> = solution
        .sources
        .iter()
        .map(|source| {
            json!({ "name": source.name.as_str(), "current": number(&source.current), "voltage": number(&source.voltage),
                    "exact": { "current": source.current.to_string(), "voltage": source.voltage.to_string() } })
        })
        .collect();
    let back: Vec<Value> = solution
        .back
        .iter()
        .map(|step| {
            json!({ "name": step.name.as_str(), "current": number(&step.current), "voltage": number(&step.voltage),
                    "exact": { "current": step.current.to_string(), "voltage": step.voltage.to_string() },
                    "because": step.because })
        })
        .collect();
    let checks: Vec<Value> = solution
        .checks
        .iter()
        .map(|check| match &check.kind {
            CheckKind::Junction(at) => {
                json!({ "kind": "junction", "at": at.trim_start_matches('@'), "holds": check.holds })
            }
            CheckKind::Loop(through) => json!({ "kind": "loop",
                "through": through.iter().map(|name| name.as_str()).collect::<Vec<_>>(), "holds": check.holds }),
            CheckKind::Power => json!({ "kind": "power", "holds": check.holds }),
            CheckKind::Diode(name) => json!({ "kind": "diode", "name": name.as_str(), "holds": check.holds }),
        })
        .collect();
    let state = analysis.circuit.states.get(solution.state.index());
    let case = state.and_then(|state| state.name.as_ref()).map(|name| name.as_str());
    json!({ "schema": SCHEMA, "method": solution.method.word(), "case": case, "steps": steps,
                      "equations": equations, "sources": sources, "back": back, "checks": checks })
}
