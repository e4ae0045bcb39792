//! Slips within single characters and numbers.

use super::deviation::deviation;
use super::{View, short};
use crate::diagnostic::{Problem, Safety};
use crate::lexer::TokenKind as K;
use crate::span::RelSpan;
use crate::words;

/// `battery B1 = 6 V // the flat one`
pub(super) fn slash_comment(view: View<'_>) -> Option<Problem> {
    let index = (1..view.len())
        .find(|&index| view.is(index, K::Slash) && view.is(index - 1, K::Slash) && view.joined(index))?
        - 1;
    Some(Problem::new("slash-comment", view.between(index, index + 1), "a comment begins with `#`, not with `//`").fix(
        "Write `#`",
        Safety::Safe,
        vec![(view.between(index, index + 1), "#".into())],
    ))
}

/// `^3`, `³`: the exponent, and the index of the last token of it.
fn exponent(view: View<'_>, index: usize, written: &str) -> Option<(i32, usize)> {
    if written == "^" {
        let minus = usize::from(view.is(index + 1, K::Minus) && view.joined(index + 1));
        let number = index + 1 + minus;
        let exponent: i32 = view.word(number).parse().ok().filter(|_| is_plain(view, number))?;
        return Some((if minus == 1 { -exponent } else { exponent }, number));
    }
    let mut digits = String::new();
    for c in written.chars() {
        digits.push(match c {
            '\u{207B}' => '-',
            '\u{B9}' => '1',
            '\u{B2}' => '2',
            '\u{B3}' => '3',
            _ => u32::from(c).checked_sub(0x2070).and_then(|digit| char::from_digit(digit, 10))?,
        });
    }
    let last = index + written.chars().count().saturating_sub(1);
    digits.parse().ok().map(|exponent| (exponent, last))
}

/// `5*10^3 ohm`, `5\u{B7}10\u{B3} ohm`
fn power(view: View<'_>, index: usize, written: &str) -> Option<Problem> {
    let (exponent, last) = exponent(view, index, written)?;
    let base = index.checked_sub(1).filter(|&base| is_plain(view, base))?;
    let problem = |from: usize| {
        let message = format!("`{}` is a power, which the notation does not write so", short(view.words(from, last)));
        Problem::new("no-power", view.between(from, last), message).help("a power of ten belongs to its number: `5e3`")
    };
    if view.word(base) != "10" {
        return Some(problem(base).help("write any other power as a product"));
    }
    let is_times = |at: usize| {
        view.is(at, K::Star) || view.is(at, K::Unknown) && matches!(view.word(at), "\u{D7}" | "\u{B7}" | "\u{22C5}")
    };
    let plain_number =
        |at: usize| view.is(at, K::Number) && view.word(at).bytes().all(|byte| byte.is_ascii_digit() || byte == b'.');
    let (from, mantissa) = match base.checked_sub(2) {
        Some(number) if is_times(base - 1) && plain_number(number) => (number, view.word(number)),
        _ => (base, "1"),
    };
    let written = format!("{mantissa}e{exponent}");
    let mut problem =
        problem(from).fix(format!("Write `{written}`"), Safety::Safe, vec![(view.between(from, last), written)]);
    let prefix = words::PREFIXES.iter().find(|(prefix, power)| *power == exponent && *prefix != "\u{B5}");
    let unit = view.word(last + 1);
    if let Some((prefix, _)) = prefix
        && words::UNITS.contains(&unit)
        && unit != "%"
    {
        let shown = format!("{mantissa} {prefix}{unit}");
        problem = problem.fix(format!("Write `{shown}`"), Safety::Safe, vec![(view.between(from, last + 1), shown)]);
    }
    Some(problem)
}

/// `claim current through R1 < 1 A`
fn comparison(view: View<'_>, index: usize, written: &str) -> Option<Problem> {
    let states = matches!(view.kind(0), Some(K::Claim | K::Given | K::Measured | K::Case));
    if !states || !written.chars().all(|c| "<>\u{2264}\u{2265}\u{2260}\u{2248}\u{2243}!".contains(c)) {
        return None;
    }
    let end = if view.is(index + written.chars().count(), K::Equals) && view.joined(index + written.chars().count()) {
        index + written.chars().count()
    } else {
        index + written.chars().count() - 1
    };
    let shown = view.words(index, end);
    let message = format!("a value is stated with `=`, not with `{shown}`");
    let problem = Problem::new("only-equals", view.between(index, end), message);
    Some(if matches!(view.kind(0), Some(K::Claim | K::Measured)) {
        problem.help("`within` says how far off it may be: `= 1 A within 5%`, `= 1 A within 0.2 A`")
    } else {
        problem
    })
}

/// The first token that no statement can hold.
pub(super) fn bad_token(view: View<'_>) -> Problem {
    let index = view.tokens.iter().position(|token| token.kind.is_bad()).unwrap_or(0);
    // In `5\u{B7}10\u{B3}` the sign of the product is the lesser slip.
    if is_plain(view, index + 1)
        && view.is(index + 2, K::Unknown)
        && let Some(problem) = power(view, index + 2, view.word(index + 2))
    {
        return problem;
    }
    match view.kind(index) {
        Some(K::UnclosedText) => unclosed_text(view, index),
        Some(K::CurlyText) => {
            let inner: String = view.word(index).chars().filter(|c| !"\u{201C}\u{201D}\u{201E}".contains(*c)).collect();
            Problem::new("curly-quotes", view.at(index), "text stands between straight quotes, not typographic ones")
                .fix("Write straight quotes", Safety::Safe, vec![(view.at(index), format!("\"{inner}\""))])
        }
        Some(K::Foreign) => foreign(view, index),
        Some(K::LooseMark) => {
            let problem = Problem::new("nameless-junction", view.at(index), "this `@` has no name touching it")
                .help("a junction is `@` and a name or a number: `@fork`, `@7`");
            if view.is_word(index + 1) || view.is(index + 1, K::Number) {
                let name = view.word(index + 1);
                let gap = view.gap(index + 1);
                problem.fix(format!("Write `@{name}`"), Safety::Safe, vec![(gap, String::new())])
            } else {
                problem
            }
        }
        _ => unknown(view, index),
    }
}

fn unclosed_text(view: View<'_>, index: usize) -> Problem {
    let written = view.word(index);
    // A comment was swallowed, and in a `case` the colon and all behind it.
    let colon = if view.is(0, K::Case) { written.find(':') } else { None };
    let end = colon.or_else(|| written.find(" #")).unwrap_or(written.len());
    let end = written[..end].trim_end().len() as u32;
    let close = view.at(index).start + end;
    Problem::new("unclosed-text", view.at(index), "this `\"` is never closed")
        .help("a text stands between two `\"` on one line")
        .fix("Close the text", Safety::Asks, vec![(RelSpan::new(close, close), "\"".into())])
}

fn foreign(view: View<'_>, index: usize) -> Problem {
    let sign = view.word(index);
    let message = format!("`{sign}` has no meaning here");
    let problem = Problem::new("foreign-sign", view.at(index), message);
    let last = index + 1 == view.len();
    match sign {
        ";" if last => problem.help("a statement ends with its line").fix(
            "Remove `;`",
            Safety::Safe,
            vec![(view.gap(index).to(view.at(index)), String::new())],
        ),
        // A title without its quotes is another matter.
        ";" if view.is(0, K::Circuit) => problem,
        ";" => problem.help("each statement stands on a line of its own").fix(
            "Begin a new line",
            Safety::Asks,
            vec![(RelSpan::new(view.gap(index).start, view.gap(index + 1).end), "\n".into())],
        ),
        "[" if view.holds_wire() && view.is(0, K::Foreign) => {
            let brackets = (0..view.len()).filter(|&at| matches!(view.word(at), "[" | "]"));
            let edits = brackets.map(|at| (view.at(at), String::new())).collect();
            problem.help("an element stands in a path by its name alone").fix(
                "Remove the brackets",
                Safety::Asks,
                edits,
            )
        }
        "[" | "]" => problem.help(
            "options follow a comma, as in `resistor R1 = 9 ohm, tolerance 5%`; alternatives stand in `( R1 | R2 )`",
        ),
        _ if view.joined(index) && view.is_word(index.wrapping_sub(1)) => {
            problem.help("in a name, `{ }` holds a counting name and perhaps a whole number: `R{k}`, `R{k+1}`")
        }
        _ => problem.help("a block goes from its head, `part` or `repeat`, to a line with `end`"),
    }
}

/// Where the arrow that holds a token begins and ends: `->`, `=>`, `-->`, `<-`, `\u{2192}`.
fn arrow(view: View<'_>, index: usize) -> Option<(usize, usize)> {
    let stroke = |at: usize| matches!(view.kind(at), Some(K::Minus | K::Wire | K::WireRun | K::Equals));
    match view.word(index) {
        "\u{2192}" | "\u{2190}" | "\u{21D2}" | "\u{27F6}" => Some((index, index)),
        ">" if index > 0 && stroke(index - 1) && view.joined(index) => Some((index - 1, index)),
        "<" if stroke(index + 1) && view.joined(index + 1) => Some((index, index + 1)),
        _ => None,
    }
}

/// `B1+ -> R1 -> B1-`: every arrow of a path is named and mended at once.
fn arrows(view: View<'_>, index: usize) -> Option<Problem> {
    let first = arrow(view, index)?;
    if view.kind(0).is_some_and(|kind| kind == K::Kind || kind.is_statement()) {
        return None;
    }
    let all: Vec<(usize, usize)> =
        (index..view.len()).filter(|&at| view.is(at, K::Unknown)).filter_map(|at| arrow(view, at)).collect();
    // A stroke that touches a name may be the sign of its terminal.
    let loose = |&(from, to): &(usize, usize)| !view.joined(from) && !view.joined(to + 1);
    let forward = |&(from, to): &(usize, usize)| !matches!(view.word(from), "<" | "\u{2190}") && to > 0;
    let safety = if all.iter().all(loose) && all.iter().all(forward) { Safety::Safe } else { Safety::Asks };
    let blank = |joined: bool| if joined { " " } else { "" };
    let edits = all
        .iter()
        .map(|&(from, to)| {
            (view.between(from, to), format!("{}--{}", blank(view.joined(from)), blank(view.joined(to + 1))))
        })
        .collect();
    let shown = view.words(first.0, first.1);
    Some(
        Problem::new("unknown-character", view.between(first.0, first.1), format!("a wire is `--`, not `{shown}`"))
            .help("which way a current flows is part of the answer; its positive direction is from left to right")
            .fix("Write `--`", safety, edits),
    )
}

fn unknown(view: View<'_>, index: usize) -> Problem {
    if let Some(problem) = arrows(view, index) {
        return problem;
    }
    let mut last = index;
    while view.is(last + 1, K::Unknown) && view.joined(last + 1) {
        last += 1;
    }
    let written = view.words(index, last);
    let at = view.between(index, last);
    let after_name = view.joined(index) && view.is_word(index.wrapping_sub(1));
    let digits: Option<String> = written
        .chars()
        .map(|c| u32::from(c).checked_sub(0x2080).and_then(|digit| char::from_digit(digit, 10)))
        .collect();
    if let (true, Some(digits)) = (after_name, digits) {
        return Problem::new(
            "unknown-character",
            at,
            format!("`{written}` cannot stand in a name; write plain digits"),
        )
        .fix(format!("Write `{digits}`"), Safety::Safe, vec![(at, digits)]);
    }
    if let Some(problem) = power(view, index, written).or_else(|| comparison(view, index, written)) {
        return problem;
    }
    if written == "\u{B1}" && index > 0 {
        return deviation(view, index, index);
    }
    let instead = match written {
        "\u{D7}" | "\u{B7}" | "\u{22C5}" | "\u{2219}" => Some("*"),
        "\u{F7}" | "\u{2215}" | "\u{2044}" => Some("/"),
        "~" => Some("--"),
        "\u{FF1D}" => Some("="),
        "&" if view.is(0, K::Claim) || view.is(0, K::Find) => Some(","),
        _ => None,
    };
    let shown = match written.chars().next() {
        Some(c)
            if written.chars().count() == 1
                && (c.is_control() || c.is_whitespace() || !c.is_alphanumeric() && !c.is_ascii_punctuation()) =>
        {
            format!("`{}` (U+{:04X})", if c.is_control() || c.is_whitespace() { ' ' } else { c }, u32::from(c))
        }
        _ => format!("`{}`", short(written)),
    };
    let problem = Problem::new("unknown-character", at, format!("{shown} has no meaning in the notation"));
    match instead {
        Some(text) => problem.fix(format!("Write `{text}`"), Safety::Asks, vec![(at, text.into())]),
        None if written == "_" => problem.help("a name begins with a letter"),
        None if written == "'" => problem.help("a text stands between two `\"`"),
        None => problem.fix("Remove it", Safety::Asks, vec![(at, String::new())]),
    }
}

fn is_plain(view: View<'_>, index: usize) -> bool {
    view.is(index, K::Number) && view.word(index).bytes().all(|byte| byte.is_ascii_digit())
}

/// `4,5 V`
pub(super) fn decimal_comma(view: View<'_>) -> Option<Problem> {
    let comma = (1..view.len()).find(|&index| {
        view.is(index, K::Comma)
            && view.joined(index)
            && view.joined(index + 1)
            && is_plain(view, index - 1)
            && view.is(index + 1, K::Number)
    })?;
    let at = view.between(comma - 1, comma + 1);
    let (whole, part) = (view.word(comma - 1), view.word(comma + 1));
    let problem = Problem::new("decimal-comma", at, format!("`{whole},{part}` has a decimal comma"))
        .help("the decimal sign is a point")
        .fix(format!("Write `{whole}.{part}`"), Safety::Safe, vec![(view.at(comma), ".".into())]);
    if is_plain(view, comma + 1) && part.len() == 3 && whole != "0" {
        // It may as well have parted thousands, so neither reading is applied unasked.
        let mut problem = problem;
        problem.fixes[0].1 = Safety::Asks;
        return Some(problem.fix(
            format!("Write `{whole}{part}`"),
            Safety::Asks,
            vec![(view.at(comma), String::new())],
        ));
    }
    Some(problem)
}

/// `.5 V`
pub(super) fn missing_zero(view: View<'_>, at: usize) -> Option<Problem> {
    let number = view.is(at, K::Dot) && view.is(at + 1, K::Number) && view.joined(at + 1) && !view.joined(at);
    number.then(|| {
        let message = format!("`.{}` lacks the digit before its point", view.word(at + 1));
        Problem::new("missing-zero", view.between(at, at + 1), message).fix(
            format!("Write `0.{}`", view.word(at + 1)),
            Safety::Safe,
            vec![(view.before(at), "0".into())],
        )
    })
}

/// `1 000 ohm`
pub(super) fn split_number(view: View<'_>, at: usize) -> Option<Problem> {
    let before = at.checked_sub(1)?;
    let digits = view.word(at).bytes().take_while(u8::is_ascii_digit).count();
    (is_plain(view, before) && view.is(at, K::Number) && digits == 3).then(|| {
        let whole = format!("{}{}", view.word(before), view.word(at));
        Problem::new("split-number", view.between(before, at), "the digits of a number stand together").fix(
            format!("Write `{whole}`"),
            Safety::Safe,
            vec![(view.gap(at), String::new())],
        )
    })
}
