//! Slips in statements about the circuit: `find`, `given`, `measured`, `claim`, `case`, titles and includes.

use super::{View, short};
use crate::diagnostic::{Problem, Safety};
use crate::lexer::TokenKind as K;
use crate::span::RelSpan;
use crate::words;

/// `claim current through R1, R2 = 0.3 A`
pub(super) fn several_elements(view: View<'_>, verb: &str, all: RelSpan, each: &[RelSpan]) -> Problem {
    let whole = RelSpan::new(0, view.end());
    let text = |span: RelSpan| {
        view.text.get((view.base + span.start) as usize..(view.base + span.end) as usize).unwrap_or("").to_owned()
    };
    let (head, tail) = (text(RelSpan::new(0, all.start)), text(RelSpan::new(all.end, whole.end)));
    let lines: Vec<String> = each.iter().map(|&element| format!("{head}{}{tail}", text(element))).collect();
    let problem = Problem::new("several-elements", all, format!("a `{verb}` speaks of one element at a time"))
        .help("write a line for each; only `find` takes several");
    if text(whole).contains(['\n', '\r']) {
        return problem;
    }
    problem.fix("Write a line for each", Safety::Safe, vec![(whole, lines.join("\n"))])
}

/// The words before an element that a unit tells: `current through` for `A`.
fn quantity_of_unit(unit: &str) -> Option<&'static str> {
    Some(match unit {
        "V" => "voltage across",
        "A" => "current through",
        "W" => "power of",
        "ohm" | "F" | "H" => "value of",
        "C" => "charge of",
        "J" | "Wh" => "energy of",
        _ => return None,
    })
}

/// `claim R1 = 9 ohm`
fn claim_of_nothing(view: View<'_>) -> Option<Problem> {
    let last = view.last_of_name(1);
    if view.is(0, K::Find) || !view.is_name(1) || !view.is(last + 1, K::Equals) || !view.is(last + 2, K::Number) {
        return None;
    }
    let unit = if view.is_word(last + 3) || view.is(last + 3, K::Percent) { last + 3 } else { last + 2 };
    let name = view.words(1, last);
    let problem =
        Problem::new("unknown-quantity", view.between(1, last), format!("this does not say what of `{name}`"));
    let Some(meant) = quantity_of_unit(super::declarations::base_unit(view, unit)) else {
        return Some(problem.help("name the quantity: `current through R1`, `voltage across R1`"));
    };
    let edit = vec![(view.before(1), format!("{meant} "))];
    Some(problem.fix(format!("Write `{meant} {name}`"), Safety::Asks, edit))
}

/// `claim 0.5 A through R1`
fn value_first(view: View<'_>) -> Option<Problem> {
    if !view.is(1, K::Number) {
        return None;
    }
    let next = if view.is_word(2) && !view.kind(2).is_some_and(|kind| kind.is_after_number()) { 3 } else { 2 };
    let after = |word: K| view.is(next, word).then_some(());
    let quantity = match super::declarations::base_unit(view, next - 1).to_owned().as_str() {
        "A" => after(K::Through).or_else(|| after(K::Into)).map(|()| "current"),
        "V" => after(K::Across).or_else(|| after(K::From)).map(|()| "voltage").or(after(K::At).map(|()| "potential")),
        "W" => after(K::Of).map(|()| "power"),
        _ => None,
    };
    let problem = Problem::new("unknown-quantity", view.between(1, next - 1), "a quantity stands before its value");
    let Some(quantity) = quantity.filter(|_| next + 1 < view.len() && !view.is(0, K::Find)) else {
        return Some(problem.help("as in `claim current through R1 = 0.5 A`"));
    };
    let (value, rest) = (view.words(1, next - 1), view.words(next, view.len() - 1));
    let whole = view.between(1, view.len() - 1);
    let text = format!("{quantity} {rest} = {value}");
    Some(problem.fix(format!("Write `{}`", short(&text)), Safety::Asks, vec![(whole, text)]))
}

/// `find current through R1 at 1 s`
fn at_a_time(view: View<'_>, at: usize) -> Option<Problem> {
    let unit = if view.is_word(at + 2) { at + 2 } else { at + 1 };
    let time = view.is(at, K::At) && view.is(at + 1, K::Number) && super::declarations::base_unit(view, unit) == "s";
    time.then(|| {
        Problem::new("wrong-preposition", view.at(at), "a time since the change stands behind `after`").fix(
            "Write `after`",
            Safety::Safe,
            vec![(view.at(at), "after".into())],
        )
    })
}

/// `what is the current through R1?`
pub(super) fn spoken(view: View<'_>) -> Option<Problem> {
    const ASKING: &[&str] = &[
        "what",
        "how",
        "calculate",
        "determine",
        "compute",
        "work",
        "show",
        "solve",
        "give",
        "ask",
        "which",
        "evaluate",
    ];
    let word = view.word(0);
    let asks = ASKING.contains(&word.to_lowercase().as_str());
    if !asks || !view.is_word(1) || view.holds(K::Equals) || view.holds_wire() {
        return None;
    }
    let problem = Problem::new("unknown-statement", view.at(0), format!("no statement begins with `{word}`"))
        .help("a question begins with `find`: `find current through R1`");
    let quantity = (1..view.len()).find(|&index| view.kind(index).is_some_and(K::is_quantity));
    let last = if view.is(view.len() - 1, K::Question) { view.len() - 2 } else { view.len() - 1 };
    let Some(quantity) = quantity.filter(|&quantity| quantity + 2 <= last && view.is_word(quantity + 1)) else {
        return Some(problem);
    };
    let text = format!("find {}", view.words(quantity, last));
    Some(problem.fix(format!("Write `{}`", short(&text)), Safety::Asks, vec![(view.between(0, view.len() - 1), text)]))
}

/// `find potential at @a, @b`
fn several_points(view: View<'_>) -> Option<Problem> {
    if !view.is(1, K::Potential) || !view.is(2, K::At) {
        return None;
    }
    let mut points = vec![view.between(3, view.last_of_item(3))];
    let mut next = view.last_of_item(3) + 1;
    while matches!(view.kind(next), Some(K::Comma | K::And)) && next + 1 < view.len() {
        points.push(view.between(next + 1, view.last_of_item(next + 1)));
        next = view.last_of_item(next + 1) + 1;
    }
    let (first, last) = (*points.first()?, *points.last()?);
    let whole = RelSpan::new(0, view.end());
    (points.len() > 1).then(|| {
        let problem = Problem::new("several-elements", first.to(last), "a potential is that of one point at a time");
        if view.slice(whole).contains(['\n', '\r']) || view.holds(K::Equals) {
            return problem.help("write a line for each point");
        }
        let head = view.slice(RelSpan::new(0, first.start));
        let tail = view.slice(RelSpan::new(last.end, view.end()));
        let lines: Vec<String> = points.iter().map(|&point| format!("{head}{}{tail}", view.slice(point))).collect();
        problem.fix("Write a line for each", Safety::Safe, vec![(whole, lines.join("\n"))])
    })
}

/// `find voltage across @a, @b`
fn across_points(view: View<'_>) -> Option<Problem> {
    let is_point = |index: usize| view.is(index, K::Junction) || view.is_sign(view.last_of_item(index));
    if !view.is(1, K::Voltage) || !view.is(2, K::Across) || !is_point(3) {
        return None;
    }
    let first = view.last_of_item(3);
    let parted = matches!(view.kind(first + 1), Some(K::Comma | K::And | K::To | K::Minus | K::Wire));
    let second = first + 1 + usize::from(parted);
    let problem = Problem::new(
        "wrong-preposition",
        view.between(2, first),
        "a voltage stands across an element, and from one point to another",
    )
    .help("write `voltage across R1` or `voltage from @a to @b`");
    if !is_point(second) || second >= view.len() {
        let potential = vec![(view.between(1, 2), "potential at".to_owned())];
        return Some(problem.fix("Write `potential at`", Safety::Asks, potential));
    }
    let between = RelSpan::new(view.at(first).end, view.at(second).start);
    Some(problem.fix("Write `from ... to`", Safety::Safe, vec![(view.at(2), "from".into()), (between, " to ".into())]))
}

/// `claim R1 in series`
pub(super) fn lone_member(relation: &str, at: RelSpan) -> Problem {
    let message = format!("`in {relation}` says how elements stand to each other, and this claim names only one");
    Problem::new("lone-member", at, message).help(format!("name at least two: `claim R1, R2 in {relation}`"))
}

/// `claim R1 in series with R2`, `claim R1 parallel to R2`
fn companion(view: View<'_>) -> Option<Problem> {
    if !view.is(0, K::Claim) || view.kind(1).is_some_and(K::is_quantity) {
        return None;
    }
    let word = (2..view.len()).find(|&index| matches!(view.kind(index), Some(K::Series | K::Parallel)))?;
    let with = word + 1;
    if !(matches!(view.word(with), "with" | "to") && view.len() > with + 1) {
        return None;
    }
    let before = if view.is(word - 1, K::In) { word - 1 } else { word };
    let end = (with + 1..view.len()).find(|&index| view.is(index, K::In)).unwrap_or(view.len());
    let names = |from: usize, to: usize| {
        (from..to).all(|index| {
            view.is_name(index) || matches!(view.kind(index), Some(K::Comma | K::Dot | K::And | K::Open | K::Close))
        })
    };
    if before < 2 || end < with + 2 || !names(1, before) || !names(with + 1, end) {
        return None;
    }
    let all = format!("{}, {} in {}", view.words(1, before - 1), view.words(with + 1, end - 1), view.word(word));
    Some(Problem::new("leftover-text", view.between(with, end - 1), "a claim lists all its elements before `in`").fix(
        format!("Write `{}`", short(&all)),
        Safety::Safe,
        vec![(view.between(1, end - 1), all)],
    ))
}

/// `claim R2, R3 not in series`
fn negation(view: View<'_>, at: usize) -> Option<Problem> {
    (view.is(0, K::Claim) && matches!(view.word(at), "not" | "never")).then(|| {
        Problem::new("no-negation", view.at(at), format!("a claim states what holds; it has no `{}`", view.word(at)))
            .help("claim how these elements do stand, or ask with `find` and let the answer show it")
    })
}

/// `claim R1, L1 are in series`
fn verb_before_in(view: View<'_>, at: usize, expects: &dyn Fn(&str) -> bool) -> Option<Problem> {
    let verb = view.word(at);
    let follows = matches!(view.kind(at + 1), Some(K::In | K::Series | K::Parallel));
    if !expects("`in`") || !follows || !matches!(verb, "is" | "are" | "stand" | "stands" | "be" | "connected") {
        return None;
    }
    let (gap, put) = if view.is(at + 1, K::In) {
        (RelSpan::new(view.at(at).start, view.gap(at + 1).end), "")
    } else {
        (view.at(at), "in")
    };
    let message = format!("a claim needs no `{verb}`: its form is `claim R1, R2 in series`");
    let title = if put.is_empty() { format!("Remove `{verb}`") } else { format!("Write `{put}`") };
    Some(Problem::new("leftover-text", view.at(at), message).fix(title, Safety::Safe, vec![(gap, put.into())]))
}

/// `find current through lamp L1`
fn kind_before_name(view: View<'_>, at: usize, expects: &dyn Fn(&str) -> bool) -> Option<Problem> {
    let wanted = expects("an element") || expects("a junction or a terminal") || expects("`(`");
    if !view.is(at, K::Kind) || !view.is_name(at + 1) || !wanted {
        return None;
    }
    let kind = view.word(at);
    // The same slip further on in the list is mended with it.
    let all = (at..view.len()).filter(|&index| view.is(index, K::Kind) && view.is_name(index + 1));
    let edits = all.map(|index| (RelSpan::new(view.at(index).start, view.gap(index + 1).end), String::new())).collect();
    Some(
        Problem::new("misplaced-kind", view.at(at), format!("an element goes by its name alone: leave `{kind}` out"))
            .fix(format!("Write `{}`", short(view.word(at + 1))), Safety::Safe, edits),
    )
}

/// Puts quotes around some tokens.
fn missing_quotes(view: View<'_>, from: usize, to: usize, what: &str) -> Problem {
    let written = view.words(from, to).to_owned();
    Problem::new("missing-quotes", view.between(from, to), format!("{what} stands in quotes")).fix(
        format!("Write `\"{}\"`", short(&written)),
        Safety::Safe,
        vec![(view.between(from, to), format!("\"{written}\""))],
    )
}

/// `circuit Pier lamps`, `include kit.ohmline`
pub(super) fn title(view: View<'_>, at: usize) -> Option<Problem> {
    if at != 1 {
        return None;
    }
    let word = view.word(0);
    let (what, example) = if view.is(0, K::Circuit) {
        ("the title", "circuit \"Pier lamps\"")
    } else {
        ("the file", "include \"kit.ohmline\"")
    };
    if view.len() > 1 {
        return Some(missing_quotes(view, 1, view.len() - 1, what));
    }
    Some(
        Problem::new("missing-name", view.at(0), format!("{what} is missing behind `{word}`"))
            .help(format!("write it in quotes: `{example}`")),
    )
}

/// A `find`, `given`, `measured` or `claim` that cannot be read.
pub(super) fn question(view: View<'_>, at: usize, expects: &dyn Fn(&str) -> bool) -> Option<Problem> {
    misplaced_case(view)
        .or_else(|| claim_of_nothing(view))
        .or_else(|| value_first(view))
        .or_else(|| at_a_time(view, at))
        .or_else(|| companion(view))
        .or_else(|| negation(view, at))
        .or_else(|| verb_before_in(view, at, expects))
        .or_else(|| kind_before_name(view, at, expects))
        .or_else(|| unquoted_case(view, at))
        .or_else(|| unknown_quantity(view, at))
        .or_else(|| several_points(view))
        .or_else(|| across_points(view))
        .or_else(|| preposition(view, at, expects))
        .or_else(|| value_in_find(view, at))
        .or_else(|| missing_in(view, at, expects))
        .or_else(|| super::declarations::misplaced_unit(view, at))
        .or_else(|| super::declarations::missing_comma(view, at, expects))
        .or_else(|| missing_equals(view, at, expects))
        .or_else(|| missing_point(view, at, expects))
}

/// `claim ... in "night" = 4 V`
fn misplaced_case(view: View<'_>) -> Option<Problem> {
    let at = (1..view.len()).find(|&index| view.is(index, K::In) && view.is(index + 1, K::Text))?;
    if at + 2 >= view.len() {
        return None;
    }
    let case = view.words(at, at + 1).to_owned();
    let taken = RelSpan::new(view.gap(at).start, view.at(at + 1).end);
    Some(
        Problem::new(
            "misplaced-case",
            view.between(at, at + 1),
            format!("`{}` stands last in its statement", short(&case)),
        )
        .fix(
            "Move it to the end",
            Safety::Safe,
            vec![(taken, String::new()), (view.behind(view.len()), format!(" {case}"))],
        ),
    )
}

/// `find current through R1 in night`
fn unquoted_case(view: View<'_>, at: usize) -> Option<Problem> {
    let before = at.checked_sub(1)?;
    let unquoted = view.is(before, K::In) && before > 1 && (view.is_word(at) || view.is(at, K::Number));
    if !unquoted {
        return None;
    }
    if view.is(0, K::Claim) && !view.kind(1).is_some_and(K::is_quantity) {
        let said = view.tokens[..before].iter().any(|token| matches!(token.kind, K::Series | K::Parallel));
        if !said {
            let near = words::nearest(view.word(at), ["series", "parallel"])?;
            return Some(
                Problem::new("unreadable-statement", view.at(at), "elements stand `in series` or `in parallel`").fix(
                    format!("Write `{near}`"),
                    Safety::Asks,
                    vec![(view.at(at), near.into())],
                ),
            );
        }
    }
    let mut last = at;
    while view.is_word(last + 1) || view.is(last + 1, K::Number) {
        last += 1;
    }
    Some(missing_quotes(view, at, last, "the name of a case"))
}

/// `find curent through R1`
fn unknown_quantity(view: View<'_>, at: usize) -> Option<Problem> {
    let word = view.word(1);
    let claims = view.is(0, K::Claim);
    let looks_like_one =
        matches!(view.kind(2), Some(K::Through | K::Into | K::Across | K::Between | K::Seen | K::Of | K::From | K::At));
    if !view.is_name(1) || !(at == 1 || claims && looks_like_one) {
        return None;
    }
    if let Some(problem) = needless_adjective(view) {
        return Some(problem);
    }
    let problem = Problem::new("unknown-quantity", view.at(1), format!("`{word}` is no quantity"));
    if let Some(meant) = spoken_quantity(word, view.kind(2)) {
        let edit = vec![(view.at(1), meant.to_owned())];
        return Some(problem.fix(format!("Write `{meant}`"), Safety::Safe, edit));
    }
    Some(match words::nearest(word, words::QUANTITIES.iter().copied()) {
        Some(near) => problem.here(format!("did you mean `{near}`?")).fix(
            format!("Write `{near}`"),
            Safety::Asks,
            vec![(view.at(1), near.into())],
        ),
        None => {
            let known: Vec<String> = words::QUANTITIES.iter().map(|known| format!("`{known}`")).collect();
            problem.help(format!("the quantities are {}", known.join(", ")))
        }
    })
}

/// The quantity that an everyday word or a letter of formulas stands for before a word that goes with it.
fn spoken_quantity(word: &str, next: Option<K>) -> Option<&'static str> {
    let across = matches!(next, Some(K::Across | K::From | K::Between));
    match word {
        "V" | "U" | "pd" | "PD" | "volts" | "tension" if across || next == Some(K::Of) => Some("voltage"),
        "I" | "amps" if matches!(next, Some(K::Through | K::Into | K::Of | K::In)) => Some("current"),
        "emf" | "EMF" if next == Some(K::Of) => Some("value"),
        "R" if matches!(next, Some(K::Between | K::Seen)) => Some("resistance"),
        "R" if next == Some(K::Of) => Some("value"),
        "P" | "watts" if next == Some(K::Of) => Some("power"),
        "Q" if next == Some(K::Of) => Some("charge"),
        _ => None,
    }
}

/// `find total resistance`, `find equivalent resistance between @a and @b`
fn needless_adjective(view: View<'_>) -> Option<Problem> {
    let word = view.word(1);
    let adjective = matches!(word, "total" | "equivalent" | "effective" | "overall" | "whole" | "combined" | "net");
    if !adjective || !view.kind(2).is_some_and(K::is_quantity) {
        return None;
    }
    let name = view.word(2);
    let problem = Problem::new("unknown-quantity", view.at(1), format!("`{name}` takes no `{word}`"));
    if view.len() > 3 {
        let gone = RelSpan::new(view.at(1).start, view.at(2).start);
        return Some(problem.fix(format!("Remove `{word}`"), Safety::Asks, vec![(gone, String::new())]));
    }
    Some(problem.help(match view.kind(2) {
        Some(K::Resistance) => "that of the whole circuit is what the source sees: `resistance seen by B1`".to_owned(),
        Some(K::Current) => "that of the whole circuit is that of the source: `current through B1`".to_owned(),
        Some(K::Power) => "that of the whole circuit is what the source delivers: `power of B1`".to_owned(),
        _ => format!("say of what: {}", forms(view.kind(2).unwrap_or(K::Value)).0),
    }))
}

/// Which words go with a quantity: forms to show, the word before one element, the words around two points.
fn forms(quantity: K) -> (&'static str, Option<&'static str>, Option<(&'static str, &'static str)>) {
    match quantity {
        K::Current => ("`current through R1` or `current into P1.wiper`", Some("through"), None),
        K::Voltage => ("`voltage across R1` or `voltage from @a to @b`", Some("across"), Some(("from", "to"))),
        K::Potential => ("`potential at @a`", Some("at"), None),
        K::Resistance => ("`resistance between @a and @b` or `resistance seen by B1`", None, Some(("between", "and"))),
        K::Capacitance => ("`capacitance between @a and @b`", None, Some(("between", "and"))),
        K::Power => ("`power of R1`", Some("of"), None),
        K::Charge => ("`charge of C1`", Some("of"), None),
        K::Energy => ("`energy of C1`", Some("of"), None),
        _ => ("`value of R1`", Some("of"), None),
    }
}

/// `find current of R1`, `find voltage between @a and @b`
fn preposition(view: View<'_>, at: usize, expects: &dyn Fn(&str) -> bool) -> Option<Problem> {
    let quantity = view.kind(1).filter(|kind| kind.is_quantity())?;
    let name = view.word(1);
    let (forms, single, pair) = forms(quantity);
    // The first point was read and the word between the two is wrong.
    if let Some((_, between)) = pair
        && at > 3
        && expects(&format!("`{between}`"))
    {
        if at >= view.len() {
            let message = format!("the second point of this {name} is missing");
            return Some(Problem::new("missing-point", view.at(at - 1), message).help(format!("write {forms}")));
        }
        let message = format!("`{between}` is missing before the second point");
        let problem = Problem::new("wrong-preposition", view.at(at), message).help(format!("write {forms}"));
        let replaceable = view.is_word(at) || matches!(view.kind(at), Some(K::Comma | K::Minus | K::Wire));
        return Some(if replaceable && at + 1 < view.len() {
            let place = RelSpan::new(view.gap(at).start, view.gap(at + 1).end);
            problem.fix(format!("Write `{between}`"), Safety::Safe, vec![(place, format!(" {between} "))])
        } else {
            problem
        });
    }
    if at != 2 {
        return None;
    }
    if view.is(1, K::Potential)
        && view.word(2) == "difference"
        && let Some(word) = view.kind(3).filter(|word| matches!(word, K::Across | K::Between | K::From))
    {
        let message = "a potential difference is a `voltage`";
        let problem = Problem::new("wrong-preposition", view.between(1, 2), message)
            .help("write `voltage across R1` or `voltage from @a to @b`");
        let joint = (4..view.len()).find(|&index| view.is(index, K::And));
        let edits = match joint {
            _ if word != K::Between => vec![(view.between(1, 2), "voltage".to_owned())],
            Some(and) => vec![(view.between(1, 3), "voltage from".to_owned()), (view.at(and), "to".to_owned())],
            None => return Some(problem),
        };
        return Some(problem.fix("Write `voltage`", Safety::Safe, edits));
    }
    let here = view.at(2.min(view.len() - 1));
    let message = if view.is_word(2) && (view.is_word(3) || view.is(3, K::Junction)) {
        format!("`{}` does not go with `{name}`", view.word(2))
    } else {
        format!("`{name}` is not followed by a word that goes with it")
    };
    let mut problem = Problem::new("wrong-preposition", here, message).help(format!("write {forms}"));
    if at >= view.len() {
        return Some(problem);
    }
    if view.word(2) == name {
        return Some(problem.fix(format!("Write `{name}` once"), Safety::Safe, vec![view.repeated(2, 2)]));
    }
    // A word is replaced; where there is none before the element, one is inserted.
    let replaced = view.is_word(2) && (view.is_name(3) || view.is(3, K::Junction));
    let (place, first) = if replaced { (view.at(2), 3) } else { (view.gap(2), 2) };
    let put = |word: &str| if replaced { word.to_owned() } else { format!(" {word} ") };
    let point_ends = {
        let mut last = if view.is_name(first) { view.last_of_name(first) } else { first };
        if view.is_sign(last + 1) && view.joined(last + 1) {
            last += 1;
        }
        last + 1
    };
    let two_points = matches!(view.kind(point_ends), Some(K::And | K::To));
    let new_name = match (quantity, two_points, view.is(first, K::Junction)) {
        (K::Resistance | K::Capacitance, false, false) if view.is_name(first) => Some("value of"),
        (K::Voltage, false, true) => Some("potential at"),
        _ => None,
    };
    if let Some(instead) = new_name {
        let tail = if replaced { "" } else { " " };
        let place = RelSpan::new(view.at(1).start, place.end);
        let shown = format!("{instead} {}", view.words(first, point_ends - 1));
        problem = problem.fix(format!("Write `{shown}`"), Safety::Asks, vec![(place, format!("{instead}{tail}"))]);
    } else if let (true, Some((one, other))) = (two_points, pair) {
        let edits = vec![(place, put(one)), (view.at(point_ends), other.into())];
        problem = problem.fix(format!("Write `{one} ... {other}`"), Safety::Safe, edits);
    } else if let Some(word) = single {
        // Into a junction flow as many currents as meet there.
        if quantity == K::Current && view.is(first, K::Junction) {
            return Some(problem);
        }
        let word = if quantity == K::Current && point_ends > first + 1 { "into" } else { word };
        // What stands behind the point tells whether it is one.
        let ends = matches!(view.kind(point_ends), None | Some(K::Equals | K::In | K::Within | K::Comma | K::And));
        let safety = if ends { Safety::Safe } else { Safety::Asks };
        problem = problem.fix(format!("Write `{word}`"), safety, vec![(place, put(word))]);
    }
    Some(problem)
}

/// `find current through R1 = 3 A`
fn value_in_find(view: View<'_>, at: usize) -> Option<Problem> {
    (view.is(0, K::Find) && view.is(at, K::Equals)).then(|| {
        Problem::new("value-in-find", view.at(at), "a `find` asks for a value and states none")
            .help("to have a value checked, write `claim` or `measured`")
            .fix("Write `claim`", Safety::Asks, vec![(view.at(0), "claim".into())])
    })
}

/// `claim R1, R2 series`
fn missing_in(view: View<'_>, at: usize, expects: &dyn Fn(&str) -> bool) -> Option<Problem> {
    (matches!(view.kind(at), Some(K::Series | K::Parallel)) && expects("`in`")).then(|| {
        let word = view.word(at);
        Problem::new("missing-word", view.at(at), format!("elements stand `in {word}`")).fix(
            format!("Write `in {word}`"),
            Safety::Safe,
            vec![(view.before(at), "in ".into())],
        )
    })
}

/// A statement about a value that states none.
fn missing_equals(view: View<'_>, at: usize, expects: &dyn Fn(&str) -> bool) -> Option<Problem> {
    if view.is(0, K::Find) {
        return None;
    }
    let verb = view.word(0);
    if view.is(0, K::Claim) && !view.kind(1).is_some_and(K::is_quantity) {
        let ends = at >= view.len() && expects("`in`");
        return ends.then(|| {
            Problem::new(
                "missing-word",
                view.between(0, view.len() - 1),
                "this claim does not say how the elements stand",
            )
            .help("end it with `in series` or `in parallel`")
        });
    }
    (at >= view.len() && expects("`=`")).then(|| {
        let problem =
            Problem::new("missing-value", view.between(0, view.len() - 1), format!("this `{verb}` states no value"))
                .help("write `=` and the value behind it");
        problem.fix("Write `find`", Safety::Asks, vec![(view.at(0), "find".into())])
    })
}

/// A quantity that does not say of what.
fn missing_point(view: View<'_>, at: usize, expects: &dyn Fn(&str) -> bool) -> Option<Problem> {
    let of_what = expects("an element") || expects("a junction or a terminal") || expects("a quantity");
    if at < view.len() || !of_what || at == 0 {
        return None;
    }
    let what = if expects("a quantity") {
        "a quantity is missing".to_owned()
    } else if expects("an element") {
        format!("an element is missing behind `{}`", view.word(at - 1))
    } else {
        format!("a junction or a terminal is missing behind `{}`", view.word(at - 1))
    };
    let help = match view.kind(1) {
        Some(kind) if kind.is_quantity() => format!("write {}", forms(kind).0),
        _ => "write what is meant: `current through R1`, `voltage across R1`".to_owned(),
    };
    Some(Problem::new("missing-point", view.at(at - 1), what).help(help))
}

/// A `case` that cannot be read.
pub(super) fn case(view: View<'_>, at: usize, expects: &dyn Fn(&str) -> bool) -> Option<Problem> {
    if at == 1 && view.len() > 1 && !view.is(1, K::Colon) {
        let end = view.tokens.iter().position(|token| token.kind == K::Colon).unwrap_or(2);
        return Some(missing_quotes(view, 1, end.max(2) - 1, "the name of a case"));
    }
    if at == 1 {
        return Some(
            Problem::new("missing-name", view.at(0), "this `case` has no name")
                .help("write it in quotes: `case \"night\": S1 = open`"),
        );
    }
    if at == 2 {
        let problem = Problem::new("missing-colon", view.at(1), "`:` is missing behind the name of the case")
            .help("its form: case \"night\": S1 = open");
        return Some(match view.kind(2) {
            Some(K::Comma | K::Equals) => {
                problem.fix("Write `:`", Safety::Safe, vec![(view.gap(2).to(view.at(2)), ":".into())])
            }
            Some(_) => problem.fix("Insert `:`", Safety::Safe, vec![(view.behind(1), ":".into())]),
            None => problem,
        });
    }
    if at == 3 && at >= view.len() {
        return Some(
            Problem::new("missing-value", view.at(2), "this `case` changes nothing")
                .help("write what differs: `S1 = open`, `B1.internal = 2 ohm`"),
        );
    }
    if expects("`=`") && at >= view.len() {
        let name = view.words(view.first_of_name(at - 1), at - 1);
        return Some(
            Problem::new(
                "missing-value",
                view.at(at - 1),
                format!("the case does not say what becomes of `{}`", short(name)),
            )
            .help("write `=` and its value: `S1 = open`"),
        );
    }
    if view.is(at, K::And) && expects("`,`") {
        return super::declarations::missing_comma(view, at, expects);
    }
    super::declarations::missing_comma(view, at, expects)
        .filter(|_| view.is(at + 1, K::Equals) || view.is(at + 1, K::Dot))
}
