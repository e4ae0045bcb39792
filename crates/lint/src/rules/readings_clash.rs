//! readings-clash: readings at a junction do not add up.

use ohmline_circuit::{ElementId, NodeId, Quantity, Reading, StateId, Unit, Within};
use ohmline_solve::Number;
use ohmline_syntax::{Diagnostic, Severity};
use rustc_hash::FxHashMap;

use crate::facts::Facts;
use crate::registry::{Group, Meta, Rule};
use crate::{places, wording};

/// See the module.
pub struct ReadingsClash;

static META: Meta = Meta {
    name: "readings-clash",
    severity: Severity::Warning,
    group: Group::ClaimsAndAnswers,
    summary: "readings at a junction do not add up",
    why: "What flows into a junction flows out of it, whatever the parts are. Readings that break this, by more than they \
          are uncertain, have a slip in them: a meter on another range, two rows that have changed places, a contact that \
          has come loose between readings.",
    bad: "battery  B1 = 6 V\n\
          resistor R1 = 12 ohm\n\
          resistor R2 = 24 ohm\nresistor R3 = ? ohm\n\
          B1+ -- R1 -- @fork -- R2 -- B1-\n\
          @fork -- R3 -- B1-\n\
          measured current through R1 = 250 mA within 2%\n\
          measured current through R2 = 125 mA within 2%\n\
          measured current through R3 = 141 mA within 2%\n",
    good: "battery  B1 = 6 V\n\
          resistor R1 = 12 ohm\n\
          resistor R2 = 24 ohm\nresistor R3 = ? ohm\n\
          B1+ -- R1 -- @fork -- R2 -- B1-\n\
          @fork -- R3 -- B1-\n\
          measured current through R1 = 250 mA within 2%\n\
          measured current through R2 = 125 mA within 2%\n\
          measured current through R3 = 125 mA within 2%\n",
    ignore_when: "the readings are kept as they were taken, and the difference is the lesson",
    fix: "None: take the readings again.",
};

impl Rule for ReadingsClash {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        let mut read: FxHashMap<(StateId, ElementId), &Reading> = FxHashMap::default();
        for (reading, verdict) in facts.circuit.measured.iter().zip(&facts.answers.measured) {
            // A reading that is off by itself is reported as that.
            if verdict.agrees == Some(false) {
                continue;
            }
            if let (Quantity::CurrentThrough(id), None) = (&reading.ask.quantity, &reading.ask.after) {
                read.insert((reading.ask.state, *id), reading);
            }
        }
        if read.len() < 2 || !facts.is_sound() || facts.is_large() {
            return;
        }
        let mut states: Vec<StateId> = read.keys().map(|(state, _)| *state).collect();
        states.sort_unstable();
        states.dedup();
        for state in states {
            // The same readings meet at both ends of a group.
            let mut said: Vec<Vec<ElementId>> = Vec::new();
            for node in facts.circuit.node_ids().filter(|node| facts.circuit.ends(*node).len() > 2) {
                found.extend(at(facts, &read, state, node, &mut said));
            }
        }
    }
}

/// The current that leaves a junction by one of its ends, as read, and how uncertain that is; follows the line to the meter.
fn leaving<'r>(
    facts: &Facts<'_>,
    read: &FxHashMap<(StateId, ElementId), &'r Reading>,
    state: StateId,
    mut end: ohmline_circuit::End,
) -> Option<(f64, &'r Reading)> {
    let circuit = facts.circuit;
    for _ in 0..circuit.elements.len() {
        let element = circuit.element(end.element);
        let [a, b] = element.terminals[..] else { return None };
        if let Some(reading) = read.get(&(state, end.element)) {
            let value = Number::exact(reading.stated.value.clone()).to_f64();
            return Some((if (end.terminal == 0) != element.kind.is_source() { value } else { -value }, *reading));
        }
        let far = if end.terminal == 0 { b } else { a };
        end = match *circuit.ends(far) {
            [one, two] if one.element == end.element && two.element != end.element => two,
            [one, two] if two.element == end.element && one.element != end.element => one,
            _ => return None,
        };
    }
    None
}

fn width(reading: &Reading) -> f64 {
    let number = |value: &ohmline_circuit::Rational| Number::exact(value.clone()).to_f64().abs();
    match (&reading.within, &reading.stated.last_digit) {
        (Some(Within::Relative(share)), _) => number(share) * number(&reading.stated.value),
        (Some(Within::Absolute(width)), _) => number(width),
        (None, Some(last)) => number(last) / 2.0,
        (None, None) => 0.0,
    }
}

fn at(
    facts: &Facts<'_>,
    read: &FxHashMap<(StateId, ElementId), &Reading>,
    state: StateId,
    node: NodeId,
    said_of: &mut Vec<Vec<ElementId>>,
) -> Option<Diagnostic> {
    let ends: Option<Vec<_>> = facts.circuit.ends(node).iter().map(|end| leaving(facts, read, state, *end)).collect();
    let ends = ends?;
    let (sum, slack) =
        ends.iter().fold((0.0, 0.0), |(sum, slack), (value, reading)| (sum + value, slack + width(reading)));
    let largest = ends.iter().map(|(value, _)| value.abs()).fold(0.0, f64::max);
    if f64::abs(sum) <= slack + largest * 1e-9 {
        return None;
    }
    let mut elements: Vec<ElementId> =
        ends.iter().filter_map(|(_, reading)| crate::facts::asked_element(&reading.ask.quantity)).collect();
    elements.sort_unstable();
    if said_of.contains(&elements) {
        return None;
    }
    said_of.push(elements);
    let into: f64 = ends.iter().map(|(value, _)| -value).filter(|value| *value > 0.0).sum();
    let out: f64 = ends.iter().map(|(value, _)| *value).filter(|value| *value > 0.0).sum();
    let point = wording::node(facts.circuit, node);
    let (into, out) = (wording::float(into, Unit::Ampere), wording::float(out, Unit::Ampere));
    let message = format!("The readings at {point} do not add up: {into} in, {out} out");
    let mut said = Diagnostic::new(META.name, META.severity, places::of_node(facts, node), message)
        .note(format!("All uncertainties together are {}", wording::float(slack, Unit::Ampere)))
        .ask(format!("What flows into {point}, and what flows out of it?"))
        .help("Take the readings again, one after the other, with nothing changed in between");
    for (_, reading) in &ends {
        said = said.label(reading.stated.at, "read");
    }
    said.cases = facts.circuit.states[state.index()].name.iter().map(ToString::to_string).collect();
    Some(said)
}

#[cfg(test)]
mod tests {
    use expect_test::expect;

    use crate::fixture::example_says;

    #[test]
    fn the_example() {
        example_says(
            &super::ReadingsClash,
            expect![[r#"
                warning readings-clash: The readings at @fork do not add up: 250 mA in, 266 mA out
                  at 5:14 `@fork`
                  ask: What flows into @fork, and what flows out of it?
                  -- 7:31 `250 mA` read
                  -- 8:31 `125 mA` read
                  -- 9:31 `141 mA` read
                  note: All uncertainties together are 10.3 mA
                  help: Take the readings again, one after the other, with nothing changed in between
            "#]],
        );
    }
}
