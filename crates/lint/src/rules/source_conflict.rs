//! source-conflict: ideal sources that contradict each other.

use ohmline_circuit::{BranchId, ElementId, Kind, Law, NodeId, Rational, StateId, Unit};
use ohmline_solve::{Cause, DiodeState};
use ohmline_syntax::{Diagnostic, Edit, Severity};
use ohmline_syntax::{Fix, Safety};
use rustc_hash::FxHashSet;

use crate::evidence::basis;
use crate::facts::Facts;
use crate::registry::{Group, Meta, Rule};
use crate::rules::shorted_source::helping_sources;
use crate::states::{self, ByState};
use crate::{loose, places, wording};

/// See the module.
pub struct SourceConflict;

static META: Meta = Meta {
    name: "source-conflict",
    severity: Severity::Error,
    group: Group::Sources,
    summary: "ideal sources that contradict each other",
    why: "Two ideal voltages straight across each other would both have to hold, and an ideal current would have to go where there is \
          no way. Real cells settle it with their internal resistance: unequal cells in parallel drive a current round \
          between them even without a load.",
    bad: "source   E1 = 6 V\nsource   E2 = 9 V\nresistor R1 = 12 ohm\n\
          E1+ -- @top -- R1 -- @bottom -- E1-\n@top -- +E2- -- @bottom\n",
    good: "source   E1 = 6 V\nbattery  E2 = 9 V, internal 3 ohm\nresistor R1 = 12 ohm\n\
           E1+ -- @top -- R1 -- @bottom -- E1-\n@top -- +E2- -- @bottom\n",
    ignore_when: "Never: no currents fit",
    fix: "None: only you know which source is meant.",
};

/// What is contradicted.
#[derive(Clone, PartialEq, Eq, Hash)]
enum Conflict {
    Loop(Vec<ElementId>),
    Cut(Vec<ElementId>, NodeId),
}

impl Rule for SourceConflict {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        let mut conflicts: ByState<Conflict, Rational> = ByState::new();
        for answers in facts.solved() {
            for cause in &answers.causes {
                match cause {
                    Cause::VoltageLoop { elements, excess }
                        if helping_sources(facts, answers.state, elements, excess).is_none()
                            && !elements.iter().any(|id| facts.circuit.is_bridged(answers.state, *id)) =>
                    {
                        conflicts.add(Conflict::Loop(elements.clone()), answers.state, excess.clone());
                    }
                    Cause::CurrentCut { sources, at, excess } => {
                        let piece = crate::pieces::of_node(facts, *at);
                        if !piece.is_some_and(|piece| facts.broken().piece(piece)) {
                            conflicts.add(Conflict::Cut(sources.clone(), *at), answers.state, excess.clone());
                        }
                    }
                    _ => {}
                }
            }
        }
        for (conflict, seen) in conflicts.into_found() {
            let (state, excess) = &seen[0];
            let mut said = match &conflict {
                Conflict::Loop(elements) => around(facts, *state, elements, excess),
                Conflict::Cut(sources, at) => across(facts, *state, sources, *at, excess),
            };
            said = said.proof(match &conflict {
                Conflict::Loop(elements) => basis::short(*state, &[], elements),
                Conflict::Cut(sources, at) => basis::island(*state, sources, *at),
            });
            said.cases = states::cases(facts.circuit, seen.iter().map(|(state, _)| *state));
            found.push(said);
        }
    }
}

fn around(facts: &Facts<'_>, state: StateId, elements: &[ElementId], excess: &Rational) -> Diagnostic {
    let circuit = facts.circuit;
    let (mut sources, others): (Vec<ElementId>, Vec<ElementId>) =
        elements.iter().copied().partition(|id| wording::is_emf(circuit, state, *id));
    sources.sort_unstable();
    let over = if *excess < 0 { -excess } else { excess.clone() };
    let over = wording::exact(&over, Unit::Volt);
    let names = wording::elements(circuit, &sources);
    let first = sources.first().or(elements.first());
    let at = first.map(|id| facts.place(*id)).unwrap_or_default();
    let message =
        format!("{names} contradict each other: round their loop {over} is left over, and no resistance takes it up");
    let mut said = Diagnostic::new(META.name, META.severity, at, message);
    said = said.ask(format!("Which voltage can there be between two points that {names} all fix?"));
    said = places::label_each(said, facts, sources.get(1..).unwrap_or_default(), "also fixes this voltage");
    said = places::label_each(said, facts, &others, "joins them without resistance");
    said = said
        .note(format!("The loop: {}", wording::elements(circuit, elements)))
        .help("Give one of them an internal resistance, or put a resistor between them");
    if let [one, two] = sources[..] {
        said.fixes.extend(same_value(facts, one, two));
    }
    said
}

/// Gives the second of two parallel sources the value of the first, when that is the contradiction.
fn same_value(facts: &Facts<'_>, one: ElementId, two: ElementId) -> Option<Fix> {
    let (first, second) = (facts.circuit.element(one), facts.circuit.element(two));
    let same_way = facts.is_one_point(StateId::DRAWN, first.terminals[0], second.terminals[0]);
    let value = facts.slice(first.value_at);
    if !same_way || first.copied || second.copied || value.is_empty() || first.value_at == second.value_at {
        return None;
    }
    Some(Fix {
        title: format!("Give {} the {value} of {}", second.name, first.name),
        safety: Safety::Asks,
        edits: vec![Edit { at: second.value_at, text: value.to_owned() }],
    })
}

fn across(facts: &Facts<'_>, state: StateId, sources: &[ElementId], at: NodeId, excess: &Rational) -> Diagnostic {
    let circuit = facts.circuit;
    let names = wording::elements(circuit, sources);
    let over = if *excess < 0 { -excess } else { excess.clone() };
    let over = wording::exact(&over, Unit::Ampere);
    let message = if let [_] = sources {
        format!("{names} must drive {over}, and there is no closed path for it")
    } else {
        format!(
            "{names} contradict each other: {over} is left over at {}, and there is no way for it to go on",
            wording::node(circuit, at)
        )
    };
    let place = sources.first().map(|id| facts.place(*id)).unwrap_or_default();
    let mut said = Diagnostic::new(META.name, META.severity, place, message)
        .here("an ideal current source")
        .ask(format!("Where does the current that {names} must drive go on?"));
    said = places::label_each(said, facts, sources.get(1..).unwrap_or_default(), "drives current across the same cut");
    let node = places::of_node(facts, at);
    if sources.len() > 1 && node != place {
        said = said.label(node, "the current cannot go on from here");
    }
    // Loose ends on the way, which are silent for the sake of this.
    for node in facts.loose().nodes.iter().take(50) {
        if loose::chain(circuit, *node).is_some_and(|chain| chain.elements.iter().any(|id| sources.contains(id))) {
            said = said.label(places::of_node(facts, *node), "nothing else is joined here");
        }
    }
    for (id, words) in blockers(facts, state, at).into_iter().take(4) {
        said = said.label(facts.place(id), words);
        if facts.circuit.element(id).kind == Kind::Diode {
            said.fixes.extend(places::turn_round(facts, id));
        }
    }
    let waiting = match (sources, facts.topologies.get(state.index())) {
        ([source], Some(topology)) => topology.waits_for(circuit, *source),
        _ => Vec::new(),
    };
    said = places::label_each(said, facts, &waiting, "open");
    for switch in waiting.iter().take(4) {
        let element = circuit.element(*switch);
        if state == StateId::DRAWN && !element.copied && facts.slice(element.value_at) == "open" {
            said = said.fix(format!("Close {}", element.name), Safety::Asks, element.value_at, "closed");
        }
    }
    said.help("Close the path, or put a resistor beside the source")
}

/// What keeps current from leaving the part that a node lies in, other than open switches, and how.
fn blockers(facts: &Facts<'_>, state: StateId, at: NodeId) -> Vec<(ElementId, &'static str)> {
    let circuit = facts.circuit;
    let Some(answers) = facts.answers.states.get(state.index()) else { return Vec::new() };
    let conducts = |id: ElementId| answers.diodes.contains(&(id, DiodeState::Conducting));
    let stops = |branch: BranchId, law: &Law| {
        let id = circuit.branch(branch).element;
        match law {
            Law::Capacitor { .. } => Some("charged, a capacitor carries nothing any more"),
            Law::Diode { .. } if !conducts(id) => Some("blocks: it lets current through the other way only"),
            Law::Open if circuit.element(id).kind == Kind::Voltmeter => Some("an ideal voltmeter carries nothing"),
            Law::Open | Law::Drive(_) => Some(""),
            _ => None,
        }
    };
    let mut inside: FxHashSet<NodeId> = FxHashSet::from_iter([at]);
    let mut queue = vec![at];
    let mut met: Vec<(ElementId, &'static str)> = Vec::new();
    let mut edge: Vec<(ElementId, &'static str, NodeId)> = Vec::new();
    while let Some(node) = queue.pop() {
        for id in circuit.ends(node).iter().flat_map(|end| circuit.branches_of(end.element)) {
            let branch = circuit.branch(id);
            let other = match (branch.from == node, branch.to == node) {
                (true, false) => branch.to,
                (false, true) => branch.from,
                _ => continue,
            };
            match stops(id, &circuit.law(state, id)) {
                Some(words) => edge.push((branch.element, words, other)),
                None if inside.insert(other) => queue.push(other),
                None => {}
            }
        }
    }
    for (id, words, other) in edge {
        if !words.is_empty() && !inside.contains(&other) && met.iter().all(|(known, _)| *known != id) {
            met.push((id, words));
        }
    }
    met.sort_unstable();
    met
}

#[cfg(test)]
mod tests {
    use expect_test::expect;

    use crate::fixture::rule_says;

    #[test]
    fn voltages_that_disagree() {
        rule_says(
            "source-conflict",
            "source E1 = 6 V\n\
             source E2 = 9 V\n\
             resistor R1 = 12 ohm\n\
             E1+ -- @top -- R1 -- @bottom -- E1-\n\
             @top -- +E2- -- @bottom\n",
            expect![[r#"
                error source-conflict: E1 and E2 contradict each other: round their loop 3.00 V is left over, and no resistance takes it up
                  at 4:1 `E1+`
                  ask: Which voltage can there be between two points that E1 and E2 all fix?
                  -- 5:9 `+E2-` also fixes this voltage
                  note: The loop: E2 and E1
                  help: Give one of them an internal resistance, or put a resistor between them
                  fix: Give E2 the 6 V of E1 (2:13 `9 V` -> "6 V")
            "#]],
        );
    }

    #[test]
    fn a_current_with_no_way_on() {
        rule_says(
            "source-conflict",
            "source J1 = 2 A\n\
             resistor R1 = 12 ohm\n\
             switch S1 = open\n\
             J1+ -- S1 -- R1 -- J1-\n",
            expect![[r#"
                error source-conflict: J1 must drive 2.00 A, and there is no closed path for it
                  at 4:1 `J1+` an ideal current source
                  ask: Where does the current that J1 must drive go on?
                  -- 4:8 `S1` open
                  help: Close the path, or put a resistor beside the source
                  fix: Close S1 (3:13 `open` -> "closed")
            "#]],
        );
    }

    #[test]
    fn a_current_that_a_diode_blocks() {
        rule_says(
            "source-conflict",
            "source J1 = 2 A\n\
             diode D1 = 0.7 V\n\
             J1+ -- -D1+ -- J1-\n",
            expect![[r#"
                error source-conflict: J1 must drive 2.00 A, and there is no closed path for it
                  at 3:1 `J1+` an ideal current source
                  ask: Where does the current that J1 must drive go on?
                  -- 3:8 `-D1+` blocks: it lets current through the other way only
                  help: Close the path, or put a resistor beside the source
                  fix: Turn it round: `+D1-` (3:8 `-D1+` -> "+D1-")
            "#]],
        );
    }

    #[test]
    fn a_current_into_a_capacitor() {
        rule_says(
            "source-conflict",
            "source J1 = 2 A\n\
             capacitor C1 = 1 uF\n\
             resistor R1 = 12 ohm\n\
             J1+ -- R1 -- C1 -- J1-\n",
            expect![[r#"
                error source-conflict: J1 must drive 2.00 A, and there is no closed path for it
                  at 4:1 `J1+` an ideal current source
                  ask: Where does the current that J1 must drive go on?
                  -- 4:14 `C1` charged, a capacitor carries nothing any more
                  help: Close the path, or put a resistor beside the source
            "#]],
        );
    }

    #[test]
    fn two_currents_in_one_line() {
        rule_says(
            "source-conflict",
            "source J1 = 2 A\n\
             source J2 = 3 A\n\
             resistor R1 = 12 ohm\n\
             J1+ -- R1 -- -J2+ -- J1-\n",
            expect![[r#"
                error source-conflict: J1 and J2 contradict each other: 1.00 A is left over at J1+, and there is no way for it to go on
                  at 4:1 `J1+` an ideal current source
                  ask: Where does the current that J1 and J2 must drive go on?
                  -- 4:14 `-J2+` drives current across the same cut
                  help: Close the path, or put a resistor beside the source
            "#]],
        );
    }
}
