//! shorted-source: zero resistance from the `+` of a battery or voltage source to its `-`.

use ohmline_circuit::{ElementId, Kind, Law, Params, Rational, StateId, Unit};
use ohmline_solve::Cause;
use ohmline_syntax::{Diagnostic, Edit, Fix, Safety, Severity};
use rustc_hash::{FxHashMap, FxHashSet};

use crate::evidence::basis;
use crate::facts::Facts;
use crate::registry::{Group, Meta, Rule};
use crate::states::{self, ByState};
use crate::{places, wording};

/// See the module.
pub struct ShortedSource;

static META: Meta = Meta {
    name: "shorted-source",
    severity: Severity::Error,
    group: Group::Sources,
    summary: "zero resistance from the + of a battery or source to its -",
    why: "A source without internal resistance would have to drive an infinite current; a real one drives whatever its internal \
          resistance lets through, which heats wires and cells, can burn, vent or explode a battery, and blows fuses. Never \
          try it on the bench.",
    bad: "battery  B1 = 4.5 V\nresistor R1 = 9 ohm\nB1+ -- R1 -- B1-\nB1+ -- B1-\n",
    good: "battery  B1 = 4.5 V\nresistor R1 = 9 ohm\nB1+ -- R1 -- B1-\n",
    ignore_when: "The short-circuit current is what is asked, and the source has internal resistance",
    fix: "Takes the wire out or opens the switch. All answers that depend on the source change.",
};

/// How a source is shorted in one state.
struct Short {
    /// The elements that join its terminals.
    way: Vec<ElementId>,
    /// What limits the current: emf and internal resistance; `None` when nothing does.
    limited: Option<(Rational, Rational)>,
    /// Whether the short is a wire that the case itself puts across.
    by_case: bool,
}

impl Rule for ShortedSource {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        for (sources, seen) in shorted(facts).into_found() {
            found.push(report(facts, &sources, &seen));
        }
    }
}

/// Every source (or line of sources that help each other) whose two ends are joined without resistance.
fn shorted(facts: &Facts<'_>) -> ByState<Vec<ElementId>, Short> {
    let circuit = facts.circuit;
    let mut shorted = ByState::new();
    let kinds = [Kind::Battery, Kind::VoltageSource];
    for state in circuit.state_ids() {
        for id in facts.of_kinds(&kinds) {
            let Some((plus, minus)) = facts.two_nodes(id) else { continue };
            if !facts.is_one_point(state, plus, minus) {
                continue;
            }
            let Some(Law::Emf { emf, internal }) = facts.law_of(state, id) else { continue };
            if emf == 0 {
                continue;
            }
            let way =
                facts.only_branch(id).and_then(|branch| facts.topologies[state.index()].shorted_by(circuit, branch));
            let Some(way) = way else { continue };
            let limited = (internal != 0).then_some((emf, internal));
            shorted.add(vec![id], state, Short { way, limited, by_case: false });
        }
    }
    // Several ideal sources that all push the same way round a loop without resistance.
    for answers in facts.solved() {
        for cause in &answers.causes {
            let Cause::VoltageLoop { elements, excess } = cause else { continue };
            let Some(sources) = helping_sources(facts, answers.state, elements, excess) else { continue };
            if sources.len() > 1 {
                let way = elements.iter().copied().filter(|element| !sources.contains(element)).collect();
                shorted.add(sources, answers.state, Short { way, limited: None, by_case: false });
            }
        }
    }
    for state in circuit.state_ids() {
        for sources in rings_of_sources(facts, state) {
            let mut whole = (Rational::from(0), Rational::from(0));
            for id in &sources {
                if let Some(Law::Emf { emf, internal }) = facts.law_of(state, *id) {
                    whole = (whole.0 + emf, whole.1 + internal);
                }
            }
            if whole.0 != 0 && whole.1 != 0 {
                shorted.add(sources, state, Short { way: Vec::new(), limited: Some(whole), by_case: false });
            }
        }
    }
    for state in circuit.state_ids() {
        for id in facts.of_kinds(&kinds).filter(|id| circuit.is_bridged(state, *id)) {
            if let Law::Emf { emf, internal } = circuit.params(state, id).law(false)
                && emf != 0
            {
                let limited = (internal != 0).then_some((emf, internal));
                shorted.add(vec![id], state, Short { way: Vec::new(), limited, by_case: true });
            }
        }
    }
    shorted
}

/// Lines of two or more sources that push the same way, the end of the last joined to the start of the first without
/// resistance: each ring as its sources in text order.
///
/// Only rings from which no further source branches off are found; at others the sources share the current in ways that
/// one number does not tell.
fn rings_of_sources(facts: &Facts<'_>, state: StateId) -> Vec<Vec<ElementId>> {
    let Some(topology) = facts.topologies.get(state.index()) else { return Vec::new() };
    // From the point of its - to the point of its +: pushing the same way round means following these arrows.
    let mut onward: FxHashMap<u32, (ElementId, u32)> = FxHashMap::default();
    let mut crossed: FxHashSet<u32> = FxHashSet::default();
    for id in facts.of_kinds(&[Kind::Battery, Kind::VoltageSource]) {
        let Some((mut plus, mut minus)) = facts.two_nodes(id) else { continue };
        match facts.law_of(state, id) {
            Some(Law::Emf { emf, .. }) if emf > 0 => {}
            Some(Law::Emf { emf, .. }) if emf < 0 => std::mem::swap(&mut plus, &mut minus),
            _ => continue,
        }
        let (from, to) = (topology.point[minus.index()], topology.point[plus.index()]);
        if from != to && onward.insert(from, (id, to)).is_some() {
            crossed.insert(from);
        }
    }
    let mut rings = Vec::new();
    let mut seen: FxHashSet<u32> = FxHashSet::default();
    let mut starts: Vec<u32> = onward.keys().copied().collect();
    starts.sort_unstable();
    for start in starts {
        let (mut at, mut line) = (start, Vec::new());
        while let Some((id, next)) = onward.get(&at).filter(|_| !crossed.contains(&at) && seen.insert(at)) {
            line.push(*id);
            at = *next;
        }
        if at == start && line.len() > 1 {
            line.sort_unstable();
            rings.push(line);
        }
    }
    rings
}

/// The sources of a loop when they all push the same way round, so that it is one shorted battery of several cells.
pub fn helping_sources(
    facts: &Facts<'_>,
    state: StateId,
    elements: &[ElementId],
    excess: &Rational,
) -> Option<Vec<ElementId>> {
    let mut sources = Vec::new();
    let mut whole = Rational::from(0);
    for id in elements {
        if !wording::is_emf(facts.circuit, state, *id) {
            continue;
        }
        if let Some(Law::Emf { emf, .. }) = facts.law_of(state, *id) {
            whole += if emf < 0 { -emf } else { emf };
            sources.push(*id);
        }
    }
    let excess = if *excess < 0 { -excess } else { excess.clone() };
    sources.sort_unstable();
    (whole == excess && !sources.is_empty()).then_some(sources)
}

fn report(facts: &Facts<'_>, sources: &[ElementId], seen: &[(StateId, Short)]) -> Diagnostic {
    let circuit = facts.circuit;
    // An ideal short is worse than a limited one.
    let (state, short) = seen.iter().find(|(_, short)| short.limited.is_none()).unwrap_or(&seen[0]);
    let names = wording::elements(circuit, sources);
    let is = wording::verb(sources.len(), "is", "are");
    // Between the + and the - of one source of a ring the others lie: no source of it is joined to itself.
    let ring = sources.len() > 1;
    let mut wires = places::wires(facts, circuit.element(sources[0]).terminals[0]);
    if ring {
        let nodes = sources.iter().flat_map(|id| circuit.element(*id).terminals.iter().copied());
        wires = nodes.flat_map(|node| places::wires(facts, node)).collect();
        wires.sort_unstable();
        wires.dedup();
    }
    let by = if ring && short.way.is_empty() {
        "in a ring of their own".to_owned()
    } else if short.by_case {
        "by the wire that the case puts across it".to_owned()
    } else if short.way.is_empty() {
        "by a plain wire".to_owned()
    } else {
        let way: Vec<String> = short.way.iter().map(|id| wording::conductor(circuit, *state, *id)).collect();
        let way: Vec<&str> = way.iter().map(String::as_str).collect();
        format!("by {}", wording::list(&way))
    };
    let (severity, message) = match &short.limited {
        None => (Severity::Error, format!("{names} {is} shorted {by}: no finite current fits")),
        Some((emf, internal)) => {
            let current = wording::exact(&(emf / internal), Unit::Ampere);
            (
                Severity::Warning,
                format!("{names} {is} shorted {by}: only the internal resistance limits the current, to {current}"),
            )
        }
    };
    let mut said = Diagnostic::new(META.name, severity, facts.place(sources[0]), message).here(
        if ring && short.limited.is_some() {
            "no resistance but that inside the sources stands in this ring"
        } else if ring {
            "no resistance stands in this ring"
        } else {
            "its + and - are one point"
        },
    );
    said = said
        .ask(format!("Follow the wire from the + of {names}: what does the current meet before it is back at the -?"));
    said = places::label_each(said, facts, &sources[1..], "shorted with it");
    let joins = if ring { "closes the ring without resistance" } else { "joins the two without resistance" };
    said = places::label_each(said, facts, &short.way, joins);
    if let Some((emf, internal)) = &short.limited {
        let heat = wording::exact(&(emf * emf / internal), Unit::Watt);
        let them = wording::verb(sources.len(), "it", "them");
        said = said.note(format!("All of the {heat} turns to heat inside {them}"));
    }
    said.cases = states::cases(circuit, seen.iter().map(|(state, _)| *state));
    said = said.proof(basis::short(*state, sources, &short.way));
    let meters: Vec<&str> =
        short.way.iter().filter(|id| circuit.element(**id).kind == Kind::Ammeter).map(|id| facts.name(*id)).collect();
    said = if !meters.is_empty() && meters.len() == short.way.len() {
        let meters = wording::list(&meters);
        said.help(format!("Put {meters} in line with what it measures, never across it; do not build this on a bench"))
    } else {
        said.help("Put something with resistance between, or take the short out; do not build this on a bench")
    };
    if short.way.is_empty() && !short.by_case {
        for wire in wires.iter().take(4) {
            said = said.label(*wire, if ring { "this wire is part of the ring" } else { "this wire joins the two" });
        }
        if let [wire] = wires[..] {
            said.fixes.extend(places::remove_statement(
                facts,
                wire,
                format!("Take out the wire `{}`", facts.slice(wire)),
            ));
        }
    }
    said.fixes.extend(short.way.iter().find_map(|id| open_switch(facts, *state, *id)));
    // Fuses and meters belong in a line; where a plain wire goes on from them, that is what shorts.
    let meant = |id: &ElementId| matches!(circuit.element(*id).kind, Kind::Fuse | Kind::Ammeter | Kind::Switch);
    if !short.way.is_empty() && short.way.iter().all(meant) {
        let ends = short.way.iter().chain(sources).flat_map(|id| circuit.element(*id).terminals.iter().copied());
        let mut wires: Vec<_> = ends.flat_map(|node| places::wires(facts, node)).collect();
        wires.sort_unstable();
        wires.dedup();
        if let [wire] = wires[..] {
            said = said.label(wire, "this wire goes on without resistance");
            let title = format!("Take out the wire `{}`", facts.slice(wire));
            said.fixes.extend(places::remove_statement(facts, wire, title));
        }
    }
    said
}

/// A fix that opens a switch, when it is the drawing that closes it.
pub fn open_switch(facts: &Facts<'_>, state: StateId, id: ElementId) -> Option<Fix> {
    let element = facts.circuit.element(id);
    let drawn = state == StateId::DRAWN || !facts.circuit.states[state.index()].overrides.contains_key(&id);
    if !drawn || element.copied || !matches!(element.params, Params::Switch { closed: Some(true) }) {
        return None;
    }
    let at = element.value_at;
    (facts.slice(at) == "closed").then(|| Fix {
        title: format!("Open {}", element.name),
        safety: Safety::Asks,
        edits: vec![Edit { at, text: "open".into() }],
    })
}

/// Whether a source of this point is shorted in a state: what is joined to the same point is shorted with it, and silent.
pub fn is_at_shorted_source(facts: &Facts<'_>, state: StateId, id: ElementId) -> bool {
    let Some((node, _)) = facts.two_nodes(id) else { return false };
    facts.of_kinds(&[Kind::Battery, Kind::VoltageSource]).any(|source| {
        facts.two_nodes(source).is_some_and(|(plus, minus)| {
            facts.is_one_point(state, plus, minus)
                && facts.is_one_point(state, plus, node)
                && matches!(facts.law_of(state, source), Some(Law::Emf { emf, .. }) if emf != 0)
        })
    })
}

#[cfg(test)]
mod tests {
    use expect_test::expect;

    use crate::fixture::rule_says;

    #[test]
    fn through_a_switch_in_one_case_and_an_ammeter() {
        rule_says(
            "shorted-source",
            "source E1 = 6 V\n\
             resistor R1 = 12 ohm\n\
             switch S1 = open\n\
             ammeter A1\n\
             E1+ -- R1 -- E1-\n\
             E1+ -- S1 -- +A1- -- E1-\n\
             case \"night\": S1 = closed\n",
            expect![[r#"
                error shorted-source [night]: E1 is shorted by S1 (closed) and A1: no finite current fits
                  at 5:1 `E1+` its + and - are one point
                  ask: Follow the wire from the + of E1: what does the current meet before it is back at the -?
                  -- 6:8 `S1` joins the two without resistance
                  -- 6:14 `+A1-` joins the two without resistance
                  help: Put something with resistance between, or take the short out; do not build this on a bench
            "#]],
        );
    }

    #[test]
    fn through_a_closed_switch_with_a_fix() {
        rule_says(
            "shorted-source",
            "source E1 = 6 V\n\
             resistor R1 = 12 ohm\n\
             switch S1 = closed\n\
             E1+ -- R1 -- E1-\n\
             E1+ -- S1 -- E1-\n",
            expect![[r#"
                error shorted-source: E1 is shorted by S1 (closed): no finite current fits
                  at 4:1 `E1+` its + and - are one point
                  ask: Follow the wire from the + of E1: what does the current meet before it is back at the -?
                  -- 5:8 `S1` joins the two without resistance
                  help: Put something with resistance between, or take the short out; do not build this on a bench
                  fix: Open S1 (3:13 `closed` -> "open")
            "#]],
        );
    }

    #[test]
    fn internal_resistance_limits_the_current() {
        rule_says(
            "shorted-source",
            "battery B1 = 4.5 V, internal 0.6 ohm\n\
             resistor R1 = 9 ohm\n\
             resistor R0 = 0 ohm\n\
             B1+ -- ( R1 | R0 ) -- B1-\n",
            expect![[r#"
                warning shorted-source: B1 is shorted by R0 (0 ohm): only the internal resistance limits the current, to 7.50 A
                  at 4:1 `B1+` its + and - are one point
                  ask: Follow the wire from the + of B1: what does the current meet before it is back at the -?
                  -- 4:15 `R0` joins the two without resistance
                  note: All of the 33.8 W turns to heat inside it
                  help: Put something with resistance between, or take the short out; do not build this on a bench
            "#]],
        );
    }

    #[test]
    fn by_the_wire_of_a_case() {
        rule_says(
            "shorted-source",
            "battery B1 = 6 V, internal 0.1 ohm\n\
             source E1 = 6 V\n\
             lamp L1, L2 = 5 ohm\n\
             B1+ -- L1 -- B1-\n\
             E1+ -- L2 -- E1-\n\
             case \"slip\": B1 = shorted\n\
             case \"worse\": E1 = shorted\n",
            expect![[r#"
                warning shorted-source [slip]: B1 is shorted by the wire that the case puts across it: only the internal resistance limits the current, to 60.0 A
                  at 4:1 `B1+` its + and - are one point
                  ask: Follow the wire from the + of B1: what does the current meet before it is back at the -?
                  note: All of the 360 W turns to heat inside it
                  help: Put something with resistance between, or take the short out; do not build this on a bench
                error shorted-source [worse]: E1 is shorted by the wire that the case puts across it: no finite current fits
                  at 5:1 `E1+` its + and - are one point
                  ask: Follow the wire from the + of E1: what does the current meet before it is back at the -?
                  help: Put something with resistance between, or take the short out; do not build this on a bench
            "#]],
        );
    }

    #[test]
    fn a_long_way_round_is_named_by_its_first_elements() {
        let switches: Vec<String> = (1..=30).map(|k| format!("S{k}")).collect();
        let text = format!(
            "battery B1 = 6 V\nlamp L1 = 12 ohm\nswitch {} = closed\nB1+ -- L1 -- B1-\nB1+ -- {} -- B1-\n",
            switches.join(", "),
            switches.join(" -- ")
        );
        rule_says(
            "shorted-source",
            &text,
            expect![[r#"
                error shorted-source: B1 is shorted by S1 (closed), S2 (closed), S3 (closed), S4 (closed), S5 (closed) and 25 more: no finite current fits
                  at 4:1 `B1+` its + and - are one point
                  ask: Follow the wire from the + of B1: what does the current meet before it is back at the -?
                  -- 5:8 `S1` joins the two without resistance
                  -- 5:14 `S2` joins the two without resistance
                  -- 5:20 `S3` joins the two without resistance
                  -- 5:26 `S4` joins the two without resistance
                  -- 5:32 `S5` joins the two without resistance
                  -- 5:38 `S6` joins the two without resistance
                  -- 5:44 `S7` joins the two without resistance
                  -- 5:50 `S8` joins the two without resistance, and 22 more
                  help: Put something with resistance between, or take the short out; do not build this on a bench
                  fix: Open S1 (3:150 `closed` -> "open")
            "#]],
        );
    }

    #[test]
    fn real_cells_in_line_are_shorted_together() {
        rule_says(
            "shorted-source",
            "battery B1, B2 = 1.5 V, internal 0.5 ohm\n\
             switch S1 = closed\n\
             B1+ -- S1 -- -B2+ -- B1-\n",
            expect![[r#"
                warning shorted-source: B1 and B2 are shorted in a ring of their own: only the internal resistance limits the current, to 3.00 A
                  at 3:1 `B1+` no resistance but that inside the sources stands in this ring
                  ask: Follow the wire from the + of B1 and B2: what does the current meet before it is back at the -?
                  -- 3:14 `-B2+` shorted with it
                  note: All of the 9.00 W turns to heat inside them
                  help: Put something with resistance between, or take the short out; do not build this on a bench
            "#]],
        );
    }

    #[test]
    fn a_wire_in_a_ring_of_cells_does_not_make_their_ends_one_point() {
        rule_says(
            "shorted-source",
            "battery B1, B2 = 6 V\n\
             lamp L1 = 12 ohm\n\
             B1+ -- -B2+\n\
             B2+ -- L1 -- B1-\n\
             B2+ -- B1-\n",
            expect![[r#"
                error shorted-source: B1 and B2 are shorted in a ring of their own: no finite current fits
                  at 3:1 `B1+` no resistance stands in this ring
                  ask: Follow the wire from the + of B1 and B2: what does the current meet before it is back at the -?
                  -- 3:8 `-B2+` shorted with it
                  -- 5:1 `B2+ -- B1-` this wire is part of the ring
                  help: Put something with resistance between, or take the short out; do not build this on a bench
                  fix: Take out the wire `B2+ -- B1-` (5:1 `B2+ -- B1-\n` -> "")
            "#]],
        );
        rule_says(
            "shorted-source",
            "battery B1, B2 = 6 V\n\
             switch S1 = closed\n\
             B1+ -- -B2+ -- S1 -- B1-\n",
            expect![[r#"
                error shorted-source: B1 and B2 are shorted by S1 (closed): no finite current fits
                  at 3:1 `B1+` no resistance stands in this ring
                  ask: Follow the wire from the + of B1 and B2: what does the current meet before it is back at the -?
                  -- 3:8 `-B2+` shorted with it
                  -- 3:16 `S1` closes the ring without resistance
                  help: Put something with resistance between, or take the short out; do not build this on a bench
                  fix: Open S1 (2:13 `closed` -> "open")
            "#]],
        );
    }

    #[test]
    fn cells_side_by_side_are_not() {
        rule_says(
            "shorted-source",
            "battery B1, B2 = 1.5 V, internal 0.5 ohm\n\
             lamp L1 = 6 ohm\n\
             B1+ -- @a -- L1 -- @b -- B1-\n\
             B2+ -- @a\n\
             B2- -- @b\n",
            expect![[r#""#]],
        );
    }

    #[test]
    fn two_cells_in_line_are_shorted_together() {
        rule_says(
            "shorted-source",
            "battery B1, B2 = 1.5 V\n\
             B1+ -- -B2+ -- B1-\n",
            expect![[r#"
                error shorted-source: B1 and B2 are shorted in a ring of their own: no finite current fits
                  at 2:1 `B1+` no resistance stands in this ring
                  ask: Follow the wire from the + of B1 and B2: what does the current meet before it is back at the -?
                  -- 2:8 `-B2+` shorted with it
                  help: Put something with resistance between, or take the short out; do not build this on a bench
            "#]],
        );
    }
}
