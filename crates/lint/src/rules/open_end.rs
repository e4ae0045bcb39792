//! open-end: a junction or a terminal that only one thing touches.

use ohmline_circuit::{ElementId, NodeId, StateId};
use ohmline_syntax::{Diagnostic, Edit, FileSpan, Fix, Safety, Severity};
use rustc_hash::FxHashSet;

use crate::evidence::basis;
use crate::facts::Facts;
use crate::registry::{Group, Meta, Rule};
use crate::rules::dead_throw::stands_on;
use crate::source_across::would_short;
use crate::{loose, pieces, places, wording};

/// See the module.
pub struct OpenEnd;

static META: Meta = Meta {
    name: "open-end",
    severity: Severity::Warning,
    group: Group::Connections,
    summary: "a junction or a terminal with a single connection",
    why: "Current needs a closed path. Where a wire ends in the air nothing flows, and everything in line behind it is dead; on a \
          real bench it is a lead that came out of its clip, and if it carries a voltage, a lead that can touch something.",
    bad: "battery  B1 = 6 V\nresistor R1 = 40 ohm\nresistor R2 = 20 ohm\nB1+ -- R1 -- @qauy\n@quay -- R2 -- B1-\n",
    good: "battery  B1 = 6 V\nresistor R1 = 40 ohm\nresistor R2 = 20 ohm\nB1+ -- R1 -- @quay\n@quay -- R2 -- B1-\n",
    ignore_when: "The end is left open on purpose, such as a spare terminal: name the point in a question, as in `find voltage from @a to @b`",
    fix: "Joins the end to the junction whose name is nearly the same, or leads it on. The element then carries current, so answers change.",
};

/// More pairs of names than this are not compared: the text is being generated or pasted, not mistyped.
const MOST_COMPARED: usize = 200_000;

impl Rule for OpenEnd {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        let loose = &facts.loose().nodes;
        let circuit = facts.circuit;
        let compare = loose.len() * circuit.junction_names.len() <= MOST_COMPARED;
        let all: FxHashSet<NodeId> = loose.iter().copied().collect();
        let mut said: FxHashSet<NodeId> = FxHashSet::default();
        for &node in loose {
            if said.contains(&node) || pieces::of_node(facts, node).is_some_and(|piece| facts.pieces().floats(piece)) {
                continue;
            }
            let Some(chain) = loose::chain(circuit, node) else {
                // A junction without any element: only names joined to each other.
                if circuit.ends(node).is_empty() {
                    found.push(empty_junction(facts, node, compare.then_some(&all)));
                }
                continue;
            };
            // A changeover that is thrown onto this contact is reported as that.
            if let [end] = *circuit.ends(node)
                && circuit.element(end.element).kind == ohmline_circuit::Kind::Changeover
                && stands_on(facts, end.element, end.terminal as usize)
                && end.terminal != 0
            {
                continue;
            }
            // An ideal current source that ends here is a contradiction, which is reported as such.
            if chain.elements.iter().any(|element| facts.cut_off().contains(element)) {
                continue;
            }
            let near = if compare { nearest(facts, node, &all) } else { None };
            let partner = [near.as_ref().map(|near| near.0), Some(chain.last), torn(facts, node, loose)]
                .into_iter()
                .flatten()
                .find(|other| *other != node && all.contains(other) && !said.contains(other));
            said.insert(node);
            said.extend(partner);
            found.push(report(facts, node, &chain, near, partner));
        }
    }
}

/// The other of two loose ends, when just two of a piece have no name and a path that ends at one could go on where a path begins at the other: one
/// that has been torn in two.
fn torn(facts: &Facts<'_>, node: NodeId, loose: &[NodeId]) -> Option<NodeId> {
    let side = |at: NodeId| {
        let [end] = facts.circuit.ends(at)[..] else { return None };
        let spare = facts.circuit.element(end.element).copied || loose::may_stay_open(facts.circuit, end);
        let named = !facts.circuit.node(at).names.is_empty();
        (!spare && !named).then(|| stops(facts, at, places::of_node(facts, at))).flatten()
    };
    let own = side(node)?;
    let piece = pieces::of_node(facts, node);
    let mut others = loose.iter().copied().filter(|other| *other != node && pieces::of_node(facts, *other) == piece);
    let mut others = others.by_ref().filter_map(|other| Some((other, side(other)?)));
    let (other, its) = others.next()?;
    (its != own && others.next().is_none()).then_some(other)
}

/// On which side a path stops at a loose end: `true` where it ends, `false` where it begins.
fn stops(facts: &Facts<'_>, node: NodeId, at: FileSpan) -> Option<bool> {
    let (_, stmt) = places::statement(facts, at)?;
    let [end] = facts.circuit.ends(node)[..] else { return None };
    let right = (end.terminal == 1) != facts.slice(at).starts_with('-');
    let range = stmt.range();
    let here = if right { range.end == at.span.end } else { range.start == at.span.start };
    here.then_some(right)
}

fn report(
    facts: &Facts<'_>,
    node: NodeId,
    chain: &loose::Chain,
    near: Option<(NodeId, String)>,
    partner: Option<NodeId>,
) -> Diagnostic {
    let circuit = facts.circuit;
    let end = circuit.ends(node)[0];
    let first = chain.elements[0];
    let name = circuit.node(node).names.first();
    // What is missing at a port of a copy is missing outside of the part.
    let port = if name.is_none() { places::port(facts, first, end.terminal) } else { None };
    let at = port.as_ref().map_or_else(|| places::of_node(facts, node), |(_, at)| *at);
    let what = match name {
        _ if let Some((port, _)) = &port => format!("Nothing is joined at {port}"),
        Some(name) => format!("Nothing but {} is joined at @{name}", wording::terminal(circuit, first, end.terminal)),
        None => format!("Nothing is joined at {}", wording::terminal(circuit, first, end.terminal)),
    };
    let spare = loose::may_stay_open(circuit, end);
    let back = places::way_back(facts, first).filter(|back| back.loose == node);
    let message = if spare {
        format!("{what}; it may stay unused")
    } else if circuit.element(first).terminals.len() > 2 {
        format!("{what}, so no current can pass there")
    } else {
        format!("{what}, so no current can pass through {}", facts.name(first))
    };
    let severity = if spare { Severity::Info } else { Severity::Warning };
    let mut said = Diagnostic::new(META.name, severity, at, message).here("only this end is joined here").ask(format!(
        "What else should be joined at {}?",
        match (&port, name) {
            (Some((port, _)), _) => port.clone(),
            (None, Some(name)) => format!("@{name}"),
            (None, None) => wording::terminal(circuit, first, end.terminal),
        }
    ));
    said = said.proof(basis::meeting(StateId::DRAWN, node));
    if !spare && chain.elements.len() > 1 {
        let rest = &chain.elements[1..];
        said = said.note(format!(
            "{} {} in line with it and {} no current either",
            wording::elements(circuit, rest),
            wording::verb(rest.len(), "is", "are"),
            wording::verb(rest.len(), "carries", "carry"),
        ));
    }
    if let Some(back) = back {
        return said
            .label(back.last, "the path comes back to where it began")
            .help(format!("Did you mean `{}`?", back.other))
            .fix(format!("Write `{}`", back.other), Safety::Asks, back.last, back.other);
    }
    if let Some(partner) = partner {
        said = said.label(places::of_node(facts, partner), "this end is loose too");
    }
    if let (Some(name), Some((other, near))) = (name, &near) {
        said = said.help(format!("Did you mean `@{near}`? If the two are one point, write one name for both"));
        said.fixes.extend(places::rename_junction(facts, at.file, name, near));
        if Some(*other) == partner {
            said.fixes.extend(places::rename_junction(facts, at.file, near, name));
        }
    } else if let Some(partner) = partner {
        said = said.help("Join the two ends, or lead each on to where it belongs");
        said.fixes.extend(join(facts, node, at, partner));
    } else if !spare {
        said = said.help("Lead this end on to where it belongs, or take the element out of the drawing");
        if let Some(back) = reference(facts, node) {
            said.fixes.extend(join(facts, node, at, back));
        }
    } else if let Some(wiper) = circuit
        .element(first)
        .terminals
        .get(2)
        .filter(|_| circuit.element(first).kind == ohmline_circuit::Kind::Potentiometer)
    {
        said = said.help("A potentiometer used as a variable resistor often has its free end joined to the wiper");
        said.fixes.extend(join(facts, node, at, *wiper));
    }
    said
}

fn empty_junction(facts: &Facts<'_>, node: NodeId, compare: Option<&FxHashSet<NodeId>>) -> Diagnostic {
    let circuit = facts.circuit;
    let at = places::of_node(facts, node);
    let message = format!("No element is joined at {}", wording::node(circuit, node));
    let mut said = Diagnostic::new(META.name, META.severity, at, message)
        .proof(basis::meeting(StateId::DRAWN, node))
        .here("only wires meet here")
        .ask(format!("Which element should be joined at {}?", wording::node(circuit, node)))
        .help("Join an element here, or take this wire out");
    if let (Some(name), Some((_, near))) =
        (circuit.node(node).names.first(), compare.and_then(|loose| nearest(facts, node, loose)))
    {
        said.fixes.extend(places::rename_junction(facts, at.file, name, &near));
    }
    said.fixes.extend(places::remove_statement(facts, at, "Take this wire out"));
    said
}

/// The junction of another node whose name is nearly that of this one, in the same part, and which a source does not keep apart from it.
fn nearest(facts: &Facts<'_>, node: NodeId, loose: &FxHashSet<NodeId>) -> Option<(NodeId, String)> {
    let circuit = facts.circuit;
    let name = circuit.node(node).names.first()?;
    // Of two ends that are both loose even names as short as p0 and q0 are likely to be meant for one.
    let near = |other: &str, at: NodeId| {
        wording::is_near(name, other)
            || (loose.contains(&node) && loose.contains(&at) && differ_in_a_letter(name, other))
    };
    circuit
        .junction_names
        .iter()
        .filter(|(other, at)| **at != node && part_of(other) == part_of(name) && near(other, **at))
        .filter(|(_, at)| !would_short(facts, node, **at))
        // Case first, then the smallest distance, then the alphabet: the table has no order of its own.
        .min_by_key(|(other, _)| {
            (other.to_lowercase() != name.to_lowercase(), strsim::osa_distance(name, other), (*other).clone())
        })
        .map(|(other, at)| (*at, other.to_string()))
}

/// The copy of a part that holds a junction: `Left` of `Left.mid`.
fn part_of(name: &str) -> &str {
    name.rsplit_once('.').map_or("", |(part, _)| part)
}

/// Whether two short names with the same number differ in just one letter before it: `p0` and `q0`.
fn differ_in_a_letter(a: &str, b: &str) -> bool {
    let (number_a, number_b) = (a.trim_start_matches(char::is_alphabetic), b.trim_start_matches(char::is_alphabetic));
    !number_a.is_empty()
        && number_a == number_b
        && a.chars().count() == b.chars().count()
        && strsim::osa_distance(a, b) == 1
}

/// The 0 V point of the piece of a node, when it is another one.
fn reference(facts: &Facts<'_>, node: NodeId) -> Option<NodeId> {
    let piece = pieces::of_node(facts, node)?;
    let state = facts.solved().next()?;
    state
        .references
        .iter()
        .find(|reference| pieces::of_node(facts, reference.node) == Some(piece))
        .map(|reference| reference.node)
        .filter(|at| *at != node)
}

/// A fix that adds a wire from a loose end to another node.
fn join(facts: &Facts<'_>, node: NodeId, at: FileSpan, to: NodeId) -> Option<Fix> {
    // That would be a wire across an element; of one with three terminals, two may well be joined.
    let (here, there) = (facts.circuit.ends(node), facts.circuit.ends(to));
    let has_two = |id: ElementId| facts.circuit.element(id).terminals.len() == 2;
    if here.iter().any(|end| has_two(end.element) && there.iter().any(|other| end.element == other.element)) {
        return None;
    }
    // Without anything between, a source would be shorted.
    if would_short(facts, node, to) {
        return None;
    }
    // Names of the circuit around a part mean nothing inside of it; two ends of one part may be joined at a name of their own.
    let part = places::part_around(facts, at);
    let within = part.is_some() && places::part_around(facts, places::of_node(facts, to)) == part;
    if part.is_some() && !(within && places::writable(facts, node).is_none() && places::writable(facts, to).is_none()) {
        return None;
    }
    let (from_text, to_text) = match (places::writable(facts, node), places::writable(facts, to)) {
        (Some(from), Some(to)) => (from, to),
        // An end without a name: lead the path itself on, when the path stops there.
        (None, Some(to)) => {
            let edit = lead(facts, node, at, &to)?;
            return Some(Fix { title: format!("Lead it on to `{to}`"), safety: Safety::Asks, edits: vec![edit] });
        }
        // Two such ends: a name of their own joins them.
        (None, None) => {
            let taken = |name: &str| facts.circuit.junction_names.contains_key(name);
            let name = (1..).map(|number| format!("joint{number}")).find(|name| !taken(name))?;
            let point = format!("@{name}");
            let other = places::of_node(facts, to);
            let mut edits = vec![lead(facts, node, at, &point)?, lead(facts, to, other, &point)?];
            edits.sort_by_key(|edit| edit.at);
            return Some(Fix { title: format!("Join them at `{point}`"), safety: Safety::Asks, edits });
        }
        _ => return None,
    };
    let line = format!("{from_text} -- {to_text}");
    let edit = places::line_below(facts, at, &line)?;
    Some(Fix { title: format!("Join them: add `{line}`"), safety: Safety::Asks, edits: vec![edit] })
}

/// Most points to which a loose end is led on trial.
const MOST_WAYS: usize = 16;

/// Ways to lead the loose end of a finding on to each named point of its piece.
pub fn ways(facts: &Facts<'_>, said: &Diagnostic) -> Vec<Fix> {
    let circuit = facts.circuit;
    let at = said.primary.at;
    let node = facts.loose().nodes.iter().copied().find(|node| places::of_node(facts, *node) == at);
    let Some(node) = node else { return Vec::new() };
    let piece = pieces::of_node(facts, node);
    let points = circuit.node_ids().filter(|other| *other != node && pieces::of_node(facts, *other) == piece);
    let points = points.filter(|other| places::writable(facts, *other).is_some());
    points.take(MOST_WAYS).filter_map(|other| join(facts, node, at, other)).collect()
}

/// An edit that leads a path on from its loose end, when the path stops there.
fn lead(facts: &Facts<'_>, node: NodeId, at: FileSpan, to: &str) -> Option<Edit> {
    let right = stops(facts, node, at)?;
    let range = places::statement(facts, at)?.1.range();
    let (offset, text) = if right { (range.end, format!(" -- {to}")) } else { (range.start, format!("{to} -- ")) };
    Some(Edit { at: FileSpan::new(at.file, ohmline_syntax::Span::new(offset, offset)), text })
}

#[cfg(test)]
mod tests {
    use expect_test::expect;

    use crate::fixture::rule_says;

    #[test]
    fn two_spellings_of_one_junction_are_one_finding() {
        rule_says(
            "open-end",
            "battery B1 = 6 V\n\
             resistor R1, R2 = 40 ohm\n\
             B1+ -- R1 -- @qauy\n\
             @quay -- R2 -- B1-\n",
            expect![[r#"
                warning open-end: Nothing but the right end of R1 is joined at @qauy, so no current can pass through R1
                  at 3:14 `@qauy` only this end is joined here
                  ask: What else should be joined at @qauy?
                  -- 4:1 `@quay` this end is loose too
                  note: B1 and R2 are in line with it and carry no current either
                  help: Did you mean `@quay`? If the two are one point, write one name for both
                  fix: Write `@quay` (3:14 `@qauy` -> "@quay")
                  fix: Write `@qauy` (4:1 `@quay` -> "@qauy")
            "#]],
        );
    }

    #[test]
    fn names_made_in_a_repeat_are_compared_and_no_source_is_shorted() {
        rule_says(
            "open-end",
            "battery B1 = 24 V\n\
             B1+ -- @p0\n\
             repeat k from 1 to 3\n\
             resistor W{k} = 2 ohm\n\
             lamp L{k} = 100 ohm\n\
             @q{k-1} -- W{k} -- @q{k} -- L{k} -- B1-\n\
             end\n",
            expect![[r#"
                warning open-end: Nothing but B1+ is joined at @p0, so no current can pass through B1
                  at 2:8 `@p0` only this end is joined here
                  ask: What else should be joined at @p0?
                  -- 6:1 `@q{k-1}` this end is loose too
                  help: Did you mean `@q0`? If the two are one point, write one name for both
                  fix: Write `@q0` (2:8 `@p0` -> "@q0")
            "#]],
        );
    }

    #[test]
    fn no_way_is_offered_across_a_source_and_a_switch() {
        let text = "battery B1 = 24 V\n\
             lamp L1 = 100 ohm\n\
             switch S1 = open\n\
             B1+ -- L1 -- B1-\n\
             B1+ -- S1 -- @pier\n";
        rule_says(
            "open-end",
            text,
            expect![[r#"
            warning open-end: Nothing but the right end of S1 is joined at @pier, so no current can pass through S1
              at 5:14 `@pier` only this end is joined here
              ask: What else should be joined at @pier?
              help: Lead this end on to where it belongs, or take the element out of the drawing
        "#]],
        );
    }

    #[test]
    fn inside_a_part_no_name_from_outside_is_offered() {
        rule_says(
            "open-end",
            "part opn(in, out)\n\
             resistor R1, R2 = 10 ohm\n\
             @in -- R1 -- @out\n\
             R2 -- @out\n\
             end\n\
             battery B1 = 6 V\n\
             lamp L1 = 12 ohm\n\
             opn Y\n\
             B1+ -- Y -- L1 -- B1-\n",
            expect![[r#"
                warning open-end: Nothing is joined at the left end of Y.R2, so no current can pass through Y.R2
                  at 4:1 `R2` only this end is joined here
                  ask: What else should be joined at the left end of Y.R2?
                  help: Lead this end on to where it belongs, or take the element out of the drawing
            "#]],
        );
    }

    #[test]
    fn a_path_that_comes_back_to_its_own_terminal_is_one_finding() {
        crate::fixture::says(
            "battery B1 = 6 V\n\
             resistor R1 = 10 ohm\n\
             B1+ -- R1 -- B1+\n",
            expect![[r#"
                warning open-end: Nothing is joined at B1-, so no current can pass through B1
                  at 3:1 `B1+` only this end is joined here
                  ask: What else should be joined at B1-?
                  -- 3:14 `B1+` the path comes back to where it began
                  help: Did you mean `B1-`?
                  fix: Write `B1-` (3:14 `B1+` -> "B1-")
            "#]],
        );
    }

    #[test]
    fn a_plain_end_is_named_by_its_side() {
        rule_says(
            "open-end",
            "battery B1 = 6 V\n\
             resistor R1, R2 = 40 ohm\n\
             B1+ -- @top -- R1 -- B1-\n\
             @top -- R2\n",
            expect![[r#"
                warning open-end: Nothing is joined at the right end of R2, so no current can pass through R2
                  at 4:9 `R2` only this end is joined here
                  ask: What else should be joined at the right end of R2?
                  help: Lead this end on to where it belongs, or take the element out of the drawing
                  fix: Lead it on to `B1-` (4:11 `` -> " -- B1-")
            "#]],
        );
    }

    #[test]
    fn unused_contacts_and_pot_ends_are_information() {
        rule_says(
            "open-end",
            "battery B1 = 6 V\n\
             changeover S1 = a\n\
             potentiometer P1 = 1 kohm at 40%\n\
             B1+ -- S1.common\n\
             S1.a -- P1.a\n\
             P1.wiper -- B1-\n",
            expect![[r#"
                info open-end: Nothing is joined at S1.b; it may stay unused
                  at 4:8 `S1.common` only this end is joined here
                  ask: What else should be joined at S1.b?
                info open-end: Nothing is joined at P1.b; it may stay unused
                  at 5:9 `P1.a` only this end is joined here
                  ask: What else should be joined at P1.b?
                  help: A potentiometer used as a variable resistor often has its free end joined to the wiper
                  fix: Join them: add `P1.b -- B1-` (5:13 `` -> "\nP1.b -- B1-")
            "#]],
        );
    }

    #[test]
    fn points_asked_about_are_open_on_purpose() {
        rule_says(
            "open-end",
            "resistor R1, R2 = 40 ohm\n\
             @a -- R1 -- R2 -- @b\n\
             find resistance between @a and @b\n",
            expect![[""]],
        );
    }

    #[test]
    fn a_junction_of_wires_alone() {
        rule_says(
            "open-end",
            "battery B1 = 6 V\n\
             resistor R1 = 40 ohm\n\
             B1+ -- @x -- R1 -- B1-\n\
             @y -- @z\n",
            expect![[r#"
                warning open-end: No element is joined at @y
                  at 4:1 `@y` only wires meet here
                  ask: Which element should be joined at @y?
                  help: Join an element here, or take this wire out
                  fix: Take this wire out (4:1 `@y -- @z\n` -> "")
            "#]],
        );
    }
}
