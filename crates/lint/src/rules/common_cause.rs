//! common-cause: several claims fail, and one change of a value makes all of them hold.

use ohmline_circuit::{Claim, ElementId, Kind, Quantity};
use ohmline_syntax::tree::{Expr, ExprKind, StmtKind, Value, ValueMain};
use ohmline_syntax::{Diagnostic, Edit, FileId, FileSpan, Fix, Safety, Severity, Span};

use crate::facts::{Facts, asked_element};
use crate::registry::{Group, Meta, Rule};
use crate::{pieces, trial, words};

/// See the module.
pub struct CommonCause;

/// The name of the rule.
pub const NAME: &str = "common-cause";

static META: Meta = Meta {
    name: NAME,
    severity: Severity::Error,
    group: Group::ClaimsAndAnswers,
    summary: "several claims fail, and one other value or one turned battery makes all of them hold",
    why: "When one prefix is wrong or one battery stands the wrong way round, every answer is off, and a page full of errors hides the one place \
          to mend. A change that makes everything hold which was claimed is most likely what was meant; whether the circuit or the claims are \
          wrong, only the author knows.",
    bad: "battery  B1 = 6 V\n\
          resistor R1 = 10 kohm\n\
          lamp     L1 = 20 ohm\n\
          B1+ -- R1 -- L1 -- B1-\n\
          claim current through L1 = 0.20 A\n\
          claim voltage across R1 = 2.0 V\n\
          claim power of L1 = 0.80 W\n",
    good: "battery  B1 = 6 V\n\
           resistor R1 = 10 ohm\n\
           lamp     L1 = 20 ohm\n\
           B1+ -- R1 -- L1 -- B1-\n\
           claim current through L1 = 0.20 A\n\
           claim voltage across R1 = 2.0 V\n\
           claim power of L1 = 0.80 W\n",
    ignore_when: "the circuit is right and the claims are all off in the same way",
    fix: "Makes the one change. The answers then are those that are claimed.",
};

/// Most changes that are tried.
const MOST_TRIALS: usize = 60;

/// The prefixes, each a thousand times the one before.
const PREFIXES: &[&str] = &["p", "n", "u", "m", "", "k", "M", "G"];

/// A change of the text that one slip of the pen undoes.
struct Change {
    /// The piece of the circuit that it changes; `None` for a value that has a name.
    piece: Option<u32>,
    edits: Vec<Edit>,
    /// Goes on after "hold with".
    words: String,
    title: String,
}

impl Rule for CommonCause {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        if !facts.is_sound() || facts.circuit.elements.len() > trial::MOST || facts.circuit.claims.len() < 2 {
            return;
        }
        let before = trial::verdicts(facts);
        let mut groups: Vec<(u32, Vec<usize>)> = Vec::new();
        for index in (0..before.len()).filter(|index| before[*index] == Some(false)) {
            let Some(piece) = piece_of(facts, index) else { continue };
            match groups.iter_mut().find(|group| group.0 == piece) {
                Some(group) => group.1.push(index),
                None => groups.push((piece, vec![index])),
            }
        }
        // A single claim is as likely wrong as the circuit is.
        groups.retain(|group| group.1.len() >= 2);
        if groups.is_empty() {
            return;
        }
        let changes = changes(facts);
        for (piece, failing) in groups {
            let of_piece = |change: &&Change| change.piece.is_none_or(|other| other == piece);
            let mut fits = changes.iter().filter(of_piece).take(MOST_TRIALS).filter(|change| {
                trial::after(facts, &change.edits).is_some_and(|after| {
                    let mended = trial::mended(&before, &after);
                    failing.iter().all(|index| mended.contains(index))
                })
            });
            // Where several changes would do, none of them is likely.
            if let (Some(change), None) = (fits.next(), fits.next()) {
                found.extend(report(facts, change, &failing));
            }
        }
    }
}

/// The piece of the circuit that a claim speaks of.
fn piece_of(facts: &Facts<'_>, index: usize) -> Option<u32> {
    match &facts.circuit.claims[index] {
        Claim::Relation { branches, .. } => pieces::of_element(facts, *branches.first()?.first()?),
        Claim::Value { ask, .. } => match ask.quantity {
            Quantity::PotentialAt(node) | Quantity::VoltageBetween(node, _) | Quantity::ResistanceBetween(node, _) => {
                pieces::of_node(facts, node)
            }
            ref quantity => pieces::of_element(facts, asked_element(quantity)?),
        },
    }
}

fn report(facts: &Facts<'_>, change: &Change, failing: &[usize]) -> Option<Diagnostic> {
    let at = change.edits.first()?.at;
    let count = failing.len();
    let all = if count == 2 { "both hold" } else { "all of them hold" };
    let message = format!("{count} claims fail, and {all} with {}", change.words);
    let mut said = Diagnostic::new(META.name, META.severity, at, message)
        .here(if count == 2 { "one change here makes both hold" } else { "one change here makes them hold" })
        .help("Mend this, or the claims, whichever is wrong");
    for index in failing {
        said = said.label(words::claim(facts, *index).stmt, "fails");
    }
    said.fixes.push(Fix { title: change.title.clone(), safety: Safety::Asks, edits: change.edits.clone() });
    Some(said)
}

/// Every change that is tried: another prefix, a battery turned round, one kind of meter for the other.
fn changes(facts: &Facts<'_>) -> Vec<Change> {
    let Some(main) = facts.sources.files.first() else { return Vec::new() };
    let mut all = Vec::new();
    for stmt in &main.tree.stmts {
        let mut prefixes = |value: &Value, piece: Option<u32>, names: &str| {
            let mut found = Vec::new();
            if let ValueMain::Expr(expr) = &value.main {
                numbers(expr, &mut found);
            }
            for expr in found {
                let number = stmt.span(expr.span);
                let Some(written) = main.tree.text.get(number.range()) else { continue };
                // The unit may stand apart, or touch its number: `10 kohm`, `10kohm`.
                let bare = written.trim_end_matches(char::is_alphabetic);
                let unit = &written[bare.len()..];
                let unit_at = Span::new(number.end - unit.len() as u32, number.end);
                for other in neighbors(unit) {
                    let at = FileSpan::new(FileId::MAIN, unit_at);
                    let now = format!("{} {other}", bare.trim_end());
                    all.push(Change {
                        piece,
                        edits: vec![Edit { at, text: other }],
                        words: format!("`{now}` in place of `{written}` for {names}"),
                        title: format!("Write `{now}`"),
                    });
                }
            }
        };
        match &stmt.node.kind {
            StmtKind::Let { name, value } => prefixes(value, None, &format!("`{}`", name.text)),
            StmtKind::Declare(declare) => {
                let names: Vec<&str> = declare.names.iter().map(|name| name.text.as_str()).collect();
                let piece = names
                    .first()
                    .and_then(|name| facts.circuit.element_names.get(*name))
                    .and_then(|id| pieces::of_element(facts, *id));
                let names = crate::wording::list(&names);
                if let Some(value) = &declare.value {
                    prefixes(value, piece, &names);
                }
                let swapped = match declare.kind.text.as_str() {
                    "ammeter" => "voltmeter",
                    "voltmeter" => "ammeter",
                    _ => continue,
                };
                let at = FileSpan::new(FileId::MAIN, stmt.span(declare.kind.span));
                all.push(Change {
                    piece,
                    edits: vec![Edit { at, text: swapped.to_owned() }],
                    words: format!("a {swapped} in place of the {} {names}", declare.kind.text),
                    title: format!("Declare a {swapped}"),
                });
            }
            _ => {}
        }
    }
    for id in facts.of_kinds(&[Kind::Battery, Kind::VoltageSource]) {
        all.extend(turned(facts, id));
    }
    all
}

/// Every number.
fn numbers<'t>(expr: &'t Expr, found: &mut Vec<&'t Expr>) {
    match &expr.kind {
        ExprKind::Number { .. } => found.push(expr),
        ExprKind::Neg(inner) => numbers(inner, found),
        ExprKind::Binary { left, right, .. } => {
            numbers(left, found);
            numbers(right, found);
        }
        _ => {}
    }
}

/// The same unit a thousand times larger and smaller.
fn neighbors(unit: &str) -> Vec<String> {
    // Greek letter and sign look the same.
    let base =
        ["ohm", "\u{3a9}", "\u{2126}", "V", "A", "S", "F", "H", "W"].into_iter().find(|base| unit.ends_with(base));
    let Some(base) = base else { return Vec::new() };
    let written = match &unit[..unit.len() - base.len()] {
        "\u{b5}" | "\u{3bc}" => "u",
        other => other,
    };
    let Some(at) = PREFIXES.iter().position(|prefix| *prefix == written) else { return Vec::new() };
    let near = [at.checked_sub(1), Some(at + 1)];
    near.into_iter().flatten().filter_map(|at| Some(format!("{}{base}", PREFIXES.get(at)?))).collect()
}

/// A source turned round wherever a path names it.
fn turned(facts: &Facts<'_>, id: ElementId) -> Option<Change> {
    let element = facts.circuit.element(id);
    if element.copied {
        return None;
    }
    let mut edits = Vec::new();
    for used in &element.uses {
        let text = facts.slice(*used);
        let turned: String = text
            .chars()
            .map(|c| match c {
                '+' => '-',
                '-' | '\u{2212}' => '+',
                other => other,
            })
            .collect();
        if turned == text {
            return None;
        }
        edits.push(Edit { at: FileSpan::new(used.file, Span::new(used.span.start, used.span.end)), text: turned });
    }
    let name = facts.name(id);
    let words = format!("{name} turned round");
    (!edits.is_empty()).then(|| Change {
        piece: pieces::of_element(facts, id),
        edits,
        words,
        title: format!("Turn {name} round"),
    })
}

#[cfg(test)]
mod tests {
    use expect_test::expect;

    use super::{CommonCause, Rule};
    use crate::fixture::{example_says, says};

    #[test]
    fn a_prefix() {
        example_says(
            &CommonCause as &dyn Rule,
            expect![[r#"
                error common-cause: 3 claims fail, and all of them hold with `10 ohm` in place of `10 kohm` for R1
                  at 2:18 `kohm` one change here makes them hold
                  -- 5:1 `claim current through L1 = 0.20 A` fails
                  -- 6:1 `claim voltage across R1 = 2.0 V` fails
                  -- 7:1 `claim power of L1 = 0.80 W` fails
                  help: Mend this, or the claims, whichever is wrong
                  fix: Write `10 ohm` (2:18 `kohm` -> "ohm")
            "#]],
        );
    }

    #[test]
    fn a_battery_turned_round() {
        says(
            "battery B1 = 6 V\nlamp L1 = 20 ohm\nB1- -- L1 -- B1+\nclaim current through L1 = 0.30 A\nclaim voltage across L1 = 6.0 V\n",
            expect![[r#"
                error common-cause: 2 claims fail, and both hold with B1 turned round
                  at 3:1 `B1-` one change here makes both hold
                  -- 4:1 `claim current through L1 = 0.30 A` fails
                  -- 5:1 `claim voltage across L1 = 6.0 V` fails
                  help: Mend this, or the claims, whichever is wrong
                  fix: Turn B1 round (3:1 `B1-` -> "B1+"; 3:14 `B1+` -> "B1-")
            "#]],
        );
    }

    #[test]
    fn a_claim_that_is_wrong_for_itself_stays() {
        says(
            "battery B1 = 6 V\nresistor R1 = 10 kohm\nlamp L1 = 20 ohm\nB1+ -- R1 -- L1 -- B1-\n\
             claim current through L1 = 0.20 A\nclaim voltage across R1 = 2.0 V\nclaim power of L1 = 0.70 W\n",
            expect![[r#"
                error false-claim: The current through L1 is 599 µA, not 0.20 A
                  at 5:28 `0.20 A` solved: 599 µA
                  ask: How did you find 0.20 A? Which law, with which numbers?
                  help: Mend the claim, or the values it follows from
                  fix: Claim 599 µA (5:28 `0.20 A` -> "599 µA")
                error false-claim: The voltage across R1 is 5.99 V, not 2.0 V
                  at 6:27 `2.0 V` solved: 5.99 V
                  ask: How did you find 2.0 V? Which law, with which numbers?
                  help: Mend the claim, or the values it follows from
                  fix: Claim 5.99 V (6:27 `2.0 V` -> "5.99 V")
                error false-claim: The power of L1 is 7.17 µW, not 0.70 W
                  at 7:21 `0.70 W` solved: 7.17 µW
                  ask: How did you find 0.70 W? Which law, with which numbers?
                  help: Mend the claim, or the values it follows from
                  fix: Claim 7.17 µW (7:21 `0.70 W` -> "7.17 µW")
            "#]],
        );
    }
}
