//! The circuits of `cases.json`, as texts in the notation.

#![allow(dead_code, reason = "each test program uses a part of this")]

use std::fmt::Write as _;

use serde::Deserialize;
use serde_json::{Map, Value};

use crate::harness::root;

#[derive(Deserialize)]
pub struct Case {
    pub id: String,
    pub title: String,
    pub source: String,
    pub analysis: String,
    pub nodes: Vec<String>,
    pub elements: Vec<Part>,
    pub expected: Vec<Row>,
}

#[derive(Clone, Deserialize)]
pub struct Part {
    pub name: String,
    pub kind: String,
    pub from: String,
    pub to: String,
    pub value: Value,
    pub value_fraction: Option<String>,
    pub extras: Map<String, Value>,
}

#[derive(Deserialize)]
pub struct Row {
    pub quantity: String,
    pub of: Value,
    pub value_published: Value,
    pub published_text: Option<String>,
    pub value_exact: Value,
    pub value_fraction: Option<String>,
    pub agrees_to_printed_digits: Option<bool>,
}

impl Row {
    /// The element or the description, as text.
    pub fn of(&self) -> &str {
        self.of.as_str().unwrap_or_default()
    }

    /// Two points.
    pub fn points(&self) -> Option<(&str, &str)> {
        let pair = self.of.as_array()?;
        Some((pair.first()?.as_str()?, pair.get(1)?.as_str()?))
    }
}

pub fn cases() -> Vec<Case> {
    let path = root().join("tests/reference/cases.json");
    let text = std::fs::read_to_string(path).expect("the reference cases are part of the project");
    serde_json::from_str(&text).expect("the reference cases have this shape")
}

pub fn case(id: &str) -> Case {
    cases().into_iter().find(|case| case.id == id).unwrap_or_else(|| panic!("no case {id}"))
}

/// A junction for a node of the data, whose names may hold what ours may not.
pub fn junction(node: &str) -> String {
    format!("@n{}", node.replace(|c: char| !c.is_alphanumeric(), "_"))
}

/// A number of the data in the notation, exact.
pub fn amount(part: &Part, unit: &str) -> String {
    match &part.value_fraction {
        Some(fraction) if fraction.contains('/') => format!("({fraction}) {unit}"),
        Some(whole) => format!("{whole} {unit}"),
        None => format!("{} {unit}", decimal(&part.value)),
    }
}

/// A JSON number without an exponent.
pub fn decimal(value: &Value) -> String {
    match value {
        Value::Number(number) => number.as_f64().map_or_else(|| number.to_string(), |number| number.to_string()),
        Value::String(text) => text.clone(),
        other => panic!("{other} is no number"),
    }
}

impl Case {
    /// The circuit in the notation.
    pub fn text(&self) -> String {
        self.text_of(&|_| true)
    }

    /// The circuit with only the elements for which `keep` holds.
    pub fn text_of(&self, keep: &dyn Fn(&Part) -> bool) -> String {
        let mut text = format!("circuit \"{}\"\n", self.title.replace('"', "'"));
        for part in self.elements.iter().filter(|part| keep(part)) {
            let name = &part.name;
            let (from, to) = (junction(&part.from), junction(&part.to));
            let own = |key: &str| part.extras.get(key).map(decimal);
            let meter = own("r_int").map_or(String::new(), |ohms| format!(" = {ohms} ohm"));
            let (declaration, item) = match part.kind.as_str() {
                "battery" => {
                    let internal = own("r_int").map_or(String::new(), |ohms| format!(", internal {ohms} ohm"));
                    (format!("battery {name} = {}{internal}", amount(part, "V")), format!("+{name}-"))
                }
                "current_source" => (format!("source {name} = {}", amount(part, "A")), format!("-{name}+")),
                "resistor" | "motor" | "heater" => (format!("resistor {name} = {}", amount(part, "ohm")), name.clone()),
                "lamp" => {
                    let value = match (own("rated_W"), own("rated_V")) {
                        (Some(watts), Some(volts)) => format!("{watts} W at {volts} V"),
                        _ => amount(part, "ohm"),
                    };
                    (format!("lamp {name} = {value}"), name.clone())
                }
                "switch" => {
                    let state = part.extras["state"].as_str().expect("every switch of the data has a state");
                    (format!("switch {name} = {state}"), name.clone())
                }
                "fuse" => {
                    let rating = own("rating_A").expect("every fuse of the data has a rating");
                    (format!("fuse {name} = {rating} A"), name.clone())
                }
                "ammeter" => (format!("ammeter {name}{meter}"), format!("+{name}-")),
                "voltmeter" => (format!("voltmeter {name}{meter}"), format!("+{name}-")),
                "galvanometer" => {
                    let range = own("full_scale_A").map_or(String::new(), |amperes| format!(", range {amperes} A"));
                    (format!("ammeter {name} = {}{range}", amount(part, "ohm")), format!("+{name}-"))
                }
                "capacitor" => (format!("capacitor {name} = {}", amount(part, "F")), name.clone()),
                "wire" if self.expected.iter().any(|row| row.of() == *name) => {
                    // Only a meter shows the current in a wire.
                    (format!("ammeter {name}"), format!("+{name}-"))
                }
                "wire" => {
                    let _ = writeln!(text, "{from} -- {to}");
                    continue;
                }
                kind => panic!("the data has a kind that is not written out yet: {kind}"),
            };
            let _ = writeln!(text, "{declaration}\n{from} -- {item} -- {to}");
        }
        text
    }

    pub fn part(&self, name: &str) -> &Part {
        self.elements.iter().find(|part| part.name == name).unwrap_or_else(|| panic!("{}: no element {name}", self.id))
    }

    pub fn sources(&self) -> impl Iterator<Item = &Part> {
        self.elements.iter().filter(|part| matches!(part.kind.as_str(), "battery" | "current_source"))
    }

    /// The source whose terminals are these two nodes, if there is one.
    pub fn source_between(&self, a: &str, b: &str) -> Option<&Part> {
        self.sources().find(|part| (part.from == a && part.to == b) || (part.from == b && part.to == a))
    }
}
