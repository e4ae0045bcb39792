//! Slips in declarations, `let`, `part` and `repeat`.

use super::{View, is_declaration, short};
use crate::diagnostic::{Problem, Safety};
use crate::lexer::TokenKind as K;
use crate::span::RelSpan;
use crate::words;

/// `ammeter A1, range = 1 A` and `ammeter A1, range`: both would declare an element named `range`.
pub(super) fn option_as_name(view: View<'_>, kind: &str, option: RelSpan, name: &str) -> Problem {
    let index = view.tokens.iter().position(|token| token.start - view.base == option.start).unwrap_or(0);
    if view.is(index + 1, K::Equals) {
        return without_equals(view, index);
    }
    let unit = words::options_of(kind).iter().find(|option| option.name == name).map_or("", |option| option.unit);
    let example = format!("{name} 1 {unit}");
    Problem::new("missing-value", option, format!("the option `{name}` of `{kind}` has no value"))
        .help(format!("write its value behind it, as in `{}`", example.trim_end()))
}

/// The unit of the value whose last token stands at an index, its prefix left out.
pub(super) fn base_unit(view: View<'_>, last: usize) -> &str {
    let word = view.word(last);
    let unit = word.trim_start_matches(|c: char| c.is_ascii_digit() || c == '.');
    let known = |unit: &str| words::UNITS.contains(&unit);
    let bare = || {
        let prefixes = words::PREFIXES.iter().map(|(prefix, _)| *prefix);
        prefixes.filter_map(|prefix| unit.strip_prefix(prefix)).find(|rest| known(rest))
    };
    let unit = if known(unit) { unit } else { bare().unwrap_or("") };
    if unit == "\u{3A9}" { "ohm" } else { unit }
}

/// `resistor R1 = 9 ohm, 5%`, `battery B1 = 9 V, internal resistance 0.5 ohm`: an option without its name, or with a word more.
fn nameless_option(view: View<'_>, at: usize) -> Option<Problem> {
    let valued = (0..at).any(|index| view.is(index, K::Equals));
    let before = at.checked_sub(1)?;
    if !view.is(0, K::Kind) || !view.is(at, K::Number) || !valued {
        return None;
    }
    let end = (at..view.len()).find(|&index| view.is(index, K::Comma)).unwrap_or(view.len());
    let (value, unit) = (view.between(at, end - 1), base_unit(view, end - 1));
    let options = words::options_of(view.word(0));
    let named = before.checked_sub(1).filter(|&name| options.iter().any(|option| option.name == view.word(name)));
    if let Some(name) = named.filter(|&name| view.is_word(before) && view.is(name.wrapping_sub(1), K::Comma)) {
        let gone = view.gap(before).to(view.at(before));
        let message = format!("the value of the option `{}` stands right behind it", view.word(name));
        return Some(Problem::new("leftover-text", view.at(before), message).fix(
            format!("Remove `{}`", view.word(before)),
            Safety::Safe,
            vec![(gone, String::new())],
        ));
    }
    let fitting: Vec<&str> = options.iter().filter(|own| own.unit == unit).map(|own| own.name).collect();
    if fitting.is_empty() {
        return None;
    }
    let shown = short(view.slice(value));
    // A unit binds to the number just before it.
    let quotient = end == at + 4 && view.is(at + 1, K::Slash) && view.is(at + 2, K::Number);
    let written = if quotient {
        format!("({}) {}", view.words(at, at + 2), view.word(at + 3))
    } else {
        view.slice(value).to_owned()
    };
    let comma = if view.is(before, K::Comma) { " " } else { ", " };
    let mut problem = Problem::new("missing-name", value, format!("`{shown}` does not say what it is"))
        .help(format!("an option has its name before its value: `{} {written}`", fitting[0]));
    for name in &fitting {
        let safety = if fitting.len() == 1 && end == view.len() { Safety::Safe } else { Safety::Asks };
        let edit = (view.gap(at).to(value), format!("{comma}{name} {written}"));
        problem = problem.fix(format!("Write `{name} {written}`"), safety, vec![edit]);
    }
    Some(problem)
}

/// `battery: B1 = 6 V`, `resistor(R1) = 10 ohm`
fn marked_name(view: View<'_>) -> Option<Problem> {
    let kind = view.word(0);
    let place = match (view.kind(1), view.kind(3)) {
        (Some(K::Colon), _) if view.is_name(2) => view.between(1, 2),
        (Some(K::Open), Some(K::Close)) if view.is_name(2) => view.between(1, 3),
        _ => return None,
    };
    let name = view.word(2);
    let message = format!("the name stands right behind the kind: `{kind} {name}`");
    let edit = (view.gap(1).to(place), format!(" {name}"));
    Some(Problem::new("unreadable-statement", place, message).fix(
        format!("Write `{kind} {name}`"),
        Safety::Safe,
        vec![edit],
    ))
}

/// `, tolerance = 5%`
pub(super) fn equals_after_option(view: View<'_>, at: usize) -> Option<Problem> {
    let name = at.checked_sub(1)?;
    let is_option = view.is(at, K::Equals) && view.is_word(name) && name >= 1 && view.is(name - 1, K::Comma);
    let end = (at..view.len()).find(|&index| view.is(index, K::Comma)).unwrap_or(view.len());
    if is_option && view.is(0, K::Kind) && end > at + 1 {
        let options = words::options_of(view.word(0));
        let unit = base_unit(view, end - 1);
        let fitting: Vec<&str> = options.iter().filter(|own| own.unit == unit).map(|own| own.name).collect();
        if let ([option], true) = (fitting.as_slice(), options.iter().all(|own| own.name != view.word(name))) {
            let message = format!("`{}` has no option `{}`", view.word(0), short(view.word(name)));
            let place = RelSpan::new(view.at(name).start, view.gap(at + 1).end);
            return Some(
                Problem::new("equals-after-option", view.between(name, at), message)
                    .help("an option takes its value without `=`")
                    .fix(format!("Write `{option}`"), Safety::Asks, vec![(place, format!("{option} "))]),
            );
        }
    }
    (is_option && (is_declaration(view.tokens) || view.is(0, K::Part))).then(|| without_equals(view, name))
}

fn without_equals(view: View<'_>, name: usize) -> Problem {
    let word = view.word(name);
    let gap = RelSpan::new(view.at(name).end, view.gap(name + 2).end.max(view.at(name + 1).end));
    Problem::new("equals-after-option", view.at(name + 1), format!("the option `{word}` takes its value without `=`"))
        .fix("Remove `=`", Safety::Safe, vec![(gap, " ".into())])
}

/// A declaration that cannot be read.
pub(super) fn declaration(view: View<'_>, at: usize, expects: &dyn Fn(&str) -> bool) -> Option<Problem> {
    let kind = view.word(0);
    let is_kind = view.is(0, K::Kind);
    if view.is(1, K::Kind) && !is_kind {
        let name = view.word(0);
        let swapped = format!("{} {name}", view.word(1));
        return Some(
            Problem::new("swapped-kind", view.between(0, 1), format!("the kind comes first: `{swapped}`")).fix(
                format!("Write `{swapped}`"),
                Safety::Safe,
                vec![(view.between(0, 1), swapped)],
            ),
        );
    }
    let slip = split_name(view, at).or_else(|| nameless_option(view, at)).or_else(|| marked_name(view));
    if slip.is_some() {
        return slip;
    }
    if view.holds_wire() && !view.holds(K::Equals) {
        if !is_kind {
            return Some(super::paths::missing_wire(view, 1));
        }
        return Some(super::paths::misplaced_kind(view, 0));
    }
    if at == 1
        && let Some(problem) = name_begins(view, 1)
    {
        return Some(problem);
    }
    if at == 1 && !view.kind(1).is_some_and(K::is_reserved) {
        let problem = Problem::new("missing-name", view.at(0), format!("this `{kind}` has no name"));
        return Some(match view.kind(1) {
            Some(K::Number) => problem.help("a name begins with a letter"),
            Some(K::Junction) => problem.help("a junction needs no declaration; it is there once a path names it"),
            _ => problem.help(format!("write one behind the kind: `{kind} NAME`")),
        });
    }
    misplaced_unit(view, at).or_else(|| missing_comma(view, at, expects))
}

/// `7R`: digits before letters where a name belongs.
pub(super) fn name_begins(view: View<'_>, at: usize) -> Option<Problem> {
    let word = view.is(at, K::Number).then(|| view.word(at))?;
    let digits = word.bytes().take_while(u8::is_ascii_digit).count();
    let (digits, letters) = word.split_at(digits);
    if letters.is_empty() || !letters.chars().all(char::is_alphabetic) {
        return None;
    }
    let turned = format!("{letters}{digits}");
    Some(
        Problem::new("name-begins", view.at(at), format!("`{word}` begins with a digit; a name begins with a letter"))
            .fix(format!("Write `{turned}`"), Safety::Asks, vec![(view.at(at), turned)]),
    )
}

/// `resistor R 2 = 5 ohm`, `resistor R-6 = 5 ohm`
fn split_name(view: View<'_>, at: usize) -> Option<Problem> {
    // In `resistor R1, R 2 = 5 ohm` the grammar fails behind what it took for an option.
    let option = if view.is(at, K::Equals) { at.checked_sub(3)? } else { at };
    let at = match view.is(option, K::Comma) {
        true => at - 1,
        false if view.is(at, K::Equals) => at - 2,
        false => at,
    };
    let before = at.checked_sub(1)?;
    let equals = (at..view.len()).find(|&index| view.is(index, K::Equals))?;
    let in_names = !view.tokens[..at].iter().any(|token| token.kind == K::Equals);
    if before == 0 || !in_names || !view.is_name(before) {
        return None;
    }
    let hyphen = view.is(at, K::Minus) && view.joined(at) && view.joined(at + 1);
    let tail = if hyphen { at + 1 } else { at };
    let ends = tail + 1 == equals || view.is(tail + 1, K::Comma);
    let number = view.is(tail, K::Number) && view.word(tail).chars().all(char::is_alphanumeric);
    if !ends || !(number || hyphen && view.is_word(tail)) {
        return None;
    }
    let place = view.between(before, tail);
    let (head, rest) = (view.word(before), view.word(tail));
    let sign = if hyphen { "`-`" } else { "blank" };
    let mut problem =
        Problem::new("split-name", place, format!("a name holds no {sign}: `{}`", short(view.words(before, tail))))
            .help("it is a letter, then letters, digits and `_`");
    let (together, joined) = (format!("{head}{rest}"), format!("{head}_{rest}"));
    for name in if hyphen { [joined, together] } else { [together, joined] } {
        problem = problem.fix(format!("Write `{name}`"), Safety::Asks, vec![(place, name)]);
    }
    Some(problem)
}

/// Whether a word is a unit, its prefix included.
fn is_unit(word: &str) -> bool {
    let is_base = |word: &str| words::UNITS.contains(&word) || word == "\u{2126}";
    is_base(word)
        || words::PREFIXES
            .iter()
            .any(|(prefix, _)| word.strip_prefix(prefix).is_some_and(|rest| rest != "%" && is_base(rest)))
}

/// `= five ohm`, `= 5 ohm ohm`
pub(super) fn misplaced_unit(view: View<'_>, at: usize) -> Option<Problem> {
    const NUMBERS: &[&str] =
        &["zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve"];
    let before = at.checked_sub(1)?;
    let (unit, last) = (view.word(at), view.word(before));
    if !(is_unit(unit) && (view.is_word(at) || view.is(at, K::Percent)))
        || !(view.is_word(before) || view.is(before, K::Percent))
    {
        return None;
    }
    if before > 0 && view.is(before - 1, K::Number) && is_unit(last) {
        let gone = view.gap(at).to(view.at(at));
        if last.ends_with(unit) {
            return Some(
                Problem::new("misplaced-unit", view.at(at), format!("the unit `{unit}` is written twice")).fix(
                    "Remove the second",
                    Safety::Safe,
                    vec![(gone, String::new())],
                ),
            );
        }
        let message =
            format!("`{}` has a unit already, and `{unit}` is a second one", short(view.words(before - 1, before)));
        return Some(Problem::new("misplaced-unit", view.at(at), message).fix(
            format!("Remove `{unit}`"),
            Safety::Asks,
            vec![(gone, String::new())],
        ));
    }
    if !view.is_name(before) {
        return None;
    }
    let place = view.between(before, at);
    Some(match NUMBERS.iter().position(|number| last.eq_ignore_ascii_case(number)) {
        Some(number) => Problem::new(
            "misplaced-unit",
            place,
            format!("`{last}` is a word; numbers are written in digits"),
        )
        .fix(format!("Write `{number} {unit}`"), Safety::Safe, vec![(view.at(before), number.to_string())]),
        None => {
            Problem::new("misplaced-unit", place, format!("`{last}` is a name, not a number, so no unit follows it"))
                .help("a name stands for a value with its unit: `let base = 5 ohm`, then `= base`")
                .fix(format!("Remove `{unit}`"), Safety::Asks, vec![(view.gap(at).to(view.at(at)), String::new())])
        }
    })
}

/// A word where a list would go on.
pub(super) fn missing_comma(view: View<'_>, at: usize, expects: &dyn Fn(&str) -> bool) -> Option<Problem> {
    if !expects("`,`") || !view.is_word(at) || at == 0 {
        return None;
    }
    let next = if view.is(at, K::And) { at + 1 } else { at };
    let (gap, place) = (RelSpan::new(view.gap(at).start, view.gap(next).end), view.at(at));
    let problem = Problem::new("missing-comma", place, format!("a comma is missing before {}", view.shown(next)));
    if next == at && view.is_word(at - 1) && view.word(at - 1) == view.word(at) {
        return Some(problem.fix(format!("Write {} once", view.shown(at)), Safety::Asks, vec![view.repeated(at, at)]));
    }
    let write = |problem: Problem, safety| Some(problem.fix("Write a comma", safety, vec![(gap, ", ".into())]));
    if !is_declaration(view.tokens) {
        // What a `case` sets is told by the sign behind it.
        let sets = view.is(0, K::Case) && (view.is(next + 1, K::Equals) || view.is(next + 1, K::Dot));
        if sets || view.likely_name(next) || next > at && view.is_name(next) {
            // `claim through R3` lacks more than a comma.
            let listed = sets || view.likely_name(at - 1) || next > at;
            return write(problem, if listed { Safety::Safe } else { Safety::Asks });
        }
        return view.is(0, K::Case).then_some(problem);
    }
    let is_kind = view.is(0, K::Kind);
    let options = words::options_of(view.word(0));
    if options.iter().any(|option| option.name == view.word(next)) {
        return write(problem, Safety::Safe);
    }
    // Behind the value only options follow.
    if (0..at).any(|own| view.is(own, K::Equals)) {
        if !is_kind {
            return write(problem, Safety::Asks);
        }
        return Some(no_option(view, at));
    }
    if is_state(view, at) {
        return None;
    }
    if !is_kind && prose(view) {
        return Some(
            Problem::new("unknown-statement", view.at(0), format!("no statement begins with `{}`", view.word(0)))
                .help("a remark begins with `#`; a title stands in quotes: `circuit \"Pier lamps\"`")
                .fix("Make it a remark", Safety::Asks, vec![(view.before(0), "# ".into())]),
        );
    }
    // Several names in a row lack a comma each.
    let mut edits = vec![(gap, ", ".into())];
    let mut last = next;
    while view.likely_name(last + 1) {
        last += 1;
        edits.push((view.gap(last), ", ".into()));
    }
    let ends = last + 1 >= view.len() || matches!(view.kind(last + 1), Some(K::Equals | K::Comma));
    let safety = if is_kind && ends && view.likely_name(next) { Safety::Safe } else { Safety::Asks };
    if !ends {
        return Some(problem);
    }
    Some(problem.fix("Write a comma", safety, edits))
}

/// Whether a word is what a switch can stand in, behind the name of one.
pub(super) fn is_state(view: View<'_>, at: usize) -> bool {
    let states = match view.word(0) {
        "switch" => matches!(view.word(at), "open" | "closed") || words::everyday_state(view.word(at)).is_some(),
        "changeover" => matches!(view.word(at), "a" | "b"),
        _ => false,
    };
    states && at + 1 == view.len()
}

/// Whether a statement is nothing but plain words.
fn prose(view: View<'_>) -> bool {
    view.len() > 2 && (0..view.len()).all(|index| view.is_word(index) && !view.likely_name(index))
}

/// `battery B1 = 10 V DC`: a word behind the value that is no option.
fn no_option(view: View<'_>, at: usize) -> Problem {
    let (kind, word) = (view.word(0), view.word(at));
    let options = words::options_of(kind);
    let problem = Problem::new("leftover-text", view.at(at), format!("`{word}` is left over behind the value"));
    if let Some(near) = words::nearest(word, options.iter().map(|option| option.name)) {
        return problem.here(format!("did you mean `{near}`?")).fix(
            format!("Write `, {near}`"),
            Safety::Asks,
            vec![(view.gap(at).to(view.at(at)), format!(", {near}"))],
        );
    }
    let known: Vec<String> = options.iter().map(|option| format!("`{}`", option.name)).collect();
    let problem = match known.as_slice() {
        [] => problem.help(format!("`{kind}` takes no options")),
        known => problem.help(format!("the options of `{kind}` are {}, each behind a comma", known.join(", "))),
    };
    if at + 1 == view.len() {
        let gone = view.gap(at).to(view.at(at));
        return problem.fix(format!("Remove `{word}`"), Safety::Asks, vec![(gone, String::new())]);
    }
    problem
}

/// `let` without a name.
pub(super) fn definition(view: View<'_>, at: usize, _expects: &dyn Fn(&str) -> bool) -> Option<Problem> {
    (at == 1).then(|| {
        Problem::new("missing-name", view.at(0), "this `let` names nothing")
            .help("write the name and its value: `let supply = 4.5 V`")
    })
}

/// The kinds that the unit of a value tells, the likeliest first: it does, never the letter of a name.
pub(super) fn kinds_of_unit(view: View<'_>, equals: usize) -> &'static [&'static str] {
    let number = view.word(equals + 1);
    let unit = number.trim_start_matches(|c: char| c.is_ascii_digit() || c == '.');
    let unit = if unit.is_empty() { view.word(equals + 2) } else { unit };
    match unit.trim_start_matches(['f', 'p', 'n', 'u', '\u{B5}', '\u{3BC}', 'm', 'k', 'M', 'G']) {
        "ohm" | "\u{3A9}" | "\u{2126}" => &["resistor"],
        "V" => &["battery", "source"],
        "A" => &["source"],
        "F" => &["capacitor"],
        "H" => &["inductor"],
        _ => &[],
    }
}

/// `R1 = 9 ohm`
pub(super) fn missing_kind(view: View<'_>) -> Option<Problem> {
    let equals = view.tokens.iter().position(|token| token.kind == K::Equals)?;
    let names = (0..equals).all(|index| if index % 2 == 0 { view.is_name(index) } else { view.is(index, K::Comma) });
    if equals % 2 == 0 || !names {
        return None;
    }
    let name = view.words(0, equals - 1);
    let mut problem = Problem::new(
        "missing-kind",
        view.between(0, equals - 1),
        format!("the declaration of `{name}` lacks its kind"),
    )
    .help("the kind comes first: `resistor R1 = 9 ohm`; `let` names a value");
    // A current may as well be that of a fuse.
    let kind = kinds_of_unit(view, equals).first().copied().filter(|kind| *kind != "source");
    for word in kind.into_iter().chain((equals == 1).then_some("let")) {
        problem =
            problem.fix(format!("Write `{word} {name}`"), Safety::Asks, vec![(view.before(0), format!("{word} "))]);
    }
    Some(problem)
}

/// A `part` head that cannot be read.
pub(super) fn part(view: View<'_>, at: usize) -> Option<Problem> {
    match at {
        1 if !view.kind(1).is_some_and(K::is_reserved) => Some(
            Problem::new("missing-name", view.at(0), "this `part` has no name")
                .help("write its name and its ports: `part lantern(in, out)`"),
        ),
        2 => Some(
            Problem::new("missing-ports", view.at(1), format!("the part `{}` lists no ports", view.word(1)))
                .help("name the points where it is joined to the circuit: `part lantern(in, out)`"),
        ),
        3 if view.is(3, K::Close) => Some(
            Problem::new("missing-ports", view.between(2, 3), format!("the part `{}` lists no ports", view.word(1)))
                .help("name the points where it is joined to the circuit: `part lantern(in, out)`"),
        ),
        _ if view.is(at, K::Junction) => {
            let name = view.word(at).trim_start_matches('@');
            Some(Problem::new("unreadable-statement", view.at(at), "ports are listed without `@`").fix(
                format!("Write `{name}`"),
                Safety::Safe,
                vec![(view.at(at), name.into())],
            ))
        }
        _ => None,
    }
}

/// A `repeat` head that cannot be read.
pub(super) fn repeat(view: View<'_>, at: usize, expects: &dyn Fn(&str) -> bool) -> Option<Problem> {
    if at == 1 && !view.kind(1).is_some_and(K::is_reserved) {
        return Some(
            Problem::new("missing-name", view.at(0), "this `repeat` counts with no name")
                .help("write the name and its first and last number: `repeat k from 1 to 50`"),
        );
    }
    let word = if expects("`from`") {
        "from"
    } else if expects("`to`") {
        "to"
    } else {
        return None;
    };
    let problem =
        Problem::new("missing-word", view.at(at.min(view.len() - 1)), format!("the word `{word}` is missing"))
            .help("its form: repeat k from 1 to 50");
    Some(if view.is(at, K::Number) || view.is(at, K::Open) {
        problem.fix(format!("Insert `{word}`"), Safety::Safe, vec![(view.gap(at), format!(" {word} "))])
    } else if view.is(at, K::Equals) {
        problem.fix(format!("Write `{word}`"), Safety::Safe, vec![(view.at(at), word.into())])
    } else {
        problem
    })
}
