//! Slips in paths: wires, signs and groups.

use super::{View, short};
use crate::diagnostic::{Problem, Safety};
use crate::lexer::TokenKind as K;
use crate::parser::grammar::Tokens;
use crate::span::RelSpan;

/// What the grammar calls an item of a path.
pub(in crate::parser) const ITEM: &str = "an element, a junction or `(`";

/// Whether the token at an index touches a name on its left and on its right.
fn touches(view: View<'_>, index: usize) -> (bool, bool) {
    let left = view.joined(index) && view.is_word(index.wrapping_sub(1));
    let right = view.joined(index + 1) && view.is_word(index + 1);
    (left, right)
}

/// Index of a run of dashes that touches a name, so that a polarity may hang on it.
///
/// A single typographic dash that touches something on both sides holds none: it is one stroke between two things.
pub(in crate::parser) fn touching_run(tokens: Tokens<'_>, text: &str) -> Option<usize> {
    let view = View { tokens, text, base: 0 };
    (0..tokens.len()).find(|&index| {
        let (left, right) = touches(view, index);
        let one_dash = view.word(index).chars().count() == 1;
        view.is(index, K::WireRun) && (left || right) && !(one_dash && view.joined(index) && view.joined(index + 1))
    })
}

/// A run of dashes that touches a name: every reading is offered, none is taken.
pub(super) fn ambiguous(view: View<'_>) -> Problem {
    let index = touching_run(view.tokens, view.text).unwrap_or(0);
    let (left, right) = touches(view, index);
    let from = if left { view.first_of_name(index - 1) } else { index };
    let to = if right { view.last_of_item(index + 1) } else { index };
    let written = short(view.words(from, to));
    let mut problem =
        Problem::new("touching-dashes", view.at(index), format!("`{written}` can be read in more than one way"))
            .here("a wire, or a polarity and a wire")
            .help("a wire is exactly `--`; a polarity sign touches its name");
    let place = view.at(index);
    let before = if view.joined(index) { " " } else { "" };
    let behind = if view.joined(index + 1) { " " } else { "" };
    let name_left = view.word(index.wrapping_sub(1));
    let name_right = view.words(index + 1, view.last_of_item(index + 1));
    let mut offer = |reading: String, text: String| {
        let fix = (format!("Write `{}`", reading.trim()), Safety::Asks, vec![(place, text)]);
        problem.fixes.push(fix);
    };
    if left {
        offer(format!("{name_left}- -- {name_right}"), format!("- --{behind}"));
    }
    if right {
        let name_left = if index == 0 { "" } else { name_left };
        offer(format!("{name_left} -- -{name_right}"), format!("{before}-- -"));
    }
    if !(left && right) {
        let name_left = if index == 0 { "" } else { name_left };
        offer(format!("{name_left} -- {name_right}"), format!("{before}--{behind}"));
    }
    problem
}

/// The wires of a path that are longer than two hyphens, or typographic: read as wires, with a remark.
pub(in crate::parser) fn long_wires(tokens: Tokens<'_>, text: &str) -> Vec<Problem> {
    let view = View::new(tokens, text);
    (0..tokens.len())
        .filter(|&index| view.is(index, K::WireRun))
        .map(|index| {
            let message = format!("{} is read as a wire, which is written `--`", view.shown(index));
            Problem::new("long-wire", view.at(index), message).fix(
                "Write `--`",
                Safety::Safe,
                vec![(view.at(index), "--".into())],
            )
        })
        .collect()
}

/// Two items without a wire, the second of which starts at an index.
pub(super) fn missing_wire(view: View<'_>, at: usize) -> Problem {
    let (from, to) = (view.first_of_item(at - 1), view.last_of_item(at));
    let (left, right) = (short(view.words(from, at - 1)), short(view.words(at, to)));
    let message = format!("a wire is missing between `{left}` and `{right}`");
    // Without any wire it may be no path at all, and two plain words may be one name or a remark.
    let plain = |from: usize, to: usize| from == to && view.is_word(from) && !view.likely_name(from);
    let meant = view.holds_wire() && !plain(from, at - 1) && !plain(at, to);
    let problem = Problem::new("missing-wire", view.between(from, to), message);
    if view.words(from, at - 1) == view.words(at, to) {
        return problem.fix(format!("Write `{left}` once"), Safety::Asks, vec![view.repeated(at, to)]);
    }
    problem.fix("Insert `--`", if meant { Safety::Safe } else { Safety::Asks }, vec![(view.gap(at), " -- ".into())])
}

/// `B1+ -- resistor R1 -- B1-`
pub(super) fn misplaced_kind(view: View<'_>, at: usize) -> Problem {
    let kind = view.word(at);
    Problem::new("misplaced-kind", view.at(at), format!("`{kind}` does not belong in a path"))
        .help("declare the element on a line of its own; a path names it only")
        .fix(
            format!("Remove `{kind}`"),
            Safety::Asks,
            vec![(RelSpan::new(view.at(at).start, view.gap(at + 1).end), String::new())],
        )
}

/// Whether an item of a path begins at an index.
fn begins_item(view: View<'_>, index: usize) -> bool {
    view.is_name(index)
        || matches!(view.kind(index), Some(K::Junction | K::Open))
        || view.is_sign(index) && view.joined(index + 1) && view.is_name(index + 1)
}

/// Whether an item of a path ends just before an index.
fn ended_item(view: View<'_>, index: usize) -> bool {
    let Some(last) = index.checked_sub(1) else { return false };
    view.is_word(last)
        || matches!(view.kind(last), Some(K::Junction | K::Close))
        || view.is_sign(last) && view.joined(last) && last > 0 && view.is_word(last - 1)
}

/// A path that cannot be read.
pub(super) fn path(view: View<'_>, at: usize, expects: &dyn Fn(&str) -> bool) -> Option<Problem> {
    if let Some(problem) = super::declarations::missing_kind(view) {
        return Some(problem);
    }
    if view.is(at, K::Kind) && expects(ITEM) && view.is_word(at + 1) {
        return Some(misplaced_kind(view, at));
    }
    if expects(ITEM)
        && let Some(problem) = super::declarations::name_begins(view, at)
    {
        return Some(problem);
    }
    signs(view, at)
        .or_else(|| wires(view, at))
        .or_else(|| groups(view, at))
        .or_else(|| (ended_item(view, at) && begins_item(view, at)).then(|| missing_wire(view, at)))
}

fn signs(view: View<'_>, at: usize) -> Option<Problem> {
    // `+B1` with no sign behind; the grammar fails where the second sign should be.
    if at > 0 && view.is_word(at - 1) && !(view.is_sign(at) && view.joined(at)) {
        let first = view.first_of_name(at - 1);
        let has_before = first > 0 && view.is_sign(first - 1) && view.joined(first);
        let own = has_before && !(view.joined(first - 1) && first >= 2 && view.is_word(first - 2));
        if own {
            let name = view.words(first, at - 1);
            let before = view.word(first - 1);
            let behind = if view.is(first - 1, K::Plus) { "-" } else { "+" };
            if view.is(at, K::Minus) || view.is(at, K::Plus) {
                return Some(loose_sign(view, at, false));
            }
            let message = format!("`{before}{name}` tells where the path enters `{name}`, not where it leaves");
            let mut problem = Problem::new("missing-sign", view.between(first - 1, at - 1), message).fix(
                format!("Write `{before}{name}{behind}`"),
                Safety::Asks,
                vec![(view.behind(at - 1), behind.into())],
            );
            if at >= view.len() || first == 1 {
                problem = problem.help(format!("the terminal alone, at an end of a path, is `{name}{before}`")).fix(
                    format!("Write `{name}{before}`"),
                    Safety::Asks,
                    vec![(view.at(first - 1), String::new()), (view.behind(at - 1), before.into())],
                );
            }
            return Some(problem);
        }
    }
    // `- B1+`: a sign that does not touch the name behind it.
    if at > 0 && view.is_sign(at - 1) && view.is_name(at) && !view.joined(at) && !ended_item(view, at) {
        let starts = at == 1 || view.is_wire(at - 2) || matches!(view.kind(at - 2), Some(K::Open | K::Bar));
        if starts {
            return Some(loose_sign(view, at - 1, true));
        }
    }
    // `R1 - R2`, `R1-R2`, `R1 -R2`.
    if view.is(at, K::Minus) && ended_item(view, at) {
        let touching = view.joined(at + 1);
        if begins_item(view, at + 1) {
            let last = if view.is_name(at + 1) { view.last_of_name(at + 1) } else { at + 1 };
            if touching && view.is_sign(last + 1) && view.joined(last + 1) {
                return Some(missing_wire(view, at));
            }
            return Some(single_hyphen(view, at));
        }
        return Some(loose_sign(view, at, false));
    }
    if view.is(at, K::Plus) && ended_item(view, at) {
        if begins_item(view, at) {
            return Some(missing_wire(view, at));
        }
        return Some(loose_sign(view, at, false));
    }
    if at > 1 && view.is(at - 1, K::Minus) && view.joined(at) && ended_item(view, at) && begins_item(view, at) {
        return Some(single_hyphen(view, at - 1));
    }
    None
}

fn single_hyphen(view: View<'_>, at: usize) -> Problem {
    let place = RelSpan::new(view.gap(at).start, view.gap(at + 1).end);
    Problem::new("single-hyphen", view.at(at), "one hyphen is no wire; a wire is `--`").fix(
        "Write `--`",
        Safety::Asks,
        vec![(place, " -- ".into())],
    )
}

/// A sign with a blank between it and its name.
fn loose_sign(view: View<'_>, at: usize, name_follows: bool) -> Problem {
    let sign = view.word(at);
    let gap = if name_follows { view.gap(at + 1) } else { view.gap(at) };
    let problem = Problem::new("loose-sign", view.at(at), format!("this `{sign}` touches no name"))
        .help("a polarity sign touches the name it belongs to: `B1+`, `-B1+`");
    // A sign that touches what bears none, or one that has its sign already, is not mended by a blank less.
    let signed = at.checked_sub(1).is_some_and(|before| matches!(view.kind(before), Some(K::Plus | K::Minus)));
    if gap.start == gap.end || (signed && !name_follows) {
        return problem;
    }
    problem.fix("Remove the blank", Safety::Asks, vec![(gap, String::new())])
}

/// Where the very next line begins, if a path stands there.
///
/// Looking behind the statement is safe for [`reparse`](crate::reparse): a change of the next statement, or before it,
/// has this one read again.
fn path_below(view: View<'_>) -> Option<u32> {
    let mut line = crate::lexer::Scanner::new(view.text, view.base + view.end())
        .skip_while(|token| matches!(token.kind, K::Blank | K::Comment | K::Doc))
        .skip(1)
        .skip_while(|token| token.kind == K::Blank)
        .take_while(|token| token.kind != K::Newline)
        .take(64);
    let first = line.next()?;
    let begins = first.kind.is_name() || matches!(first.kind, K::Junction | K::Open | K::Plus | K::Minus);
    (begins && line.any(|token| token.kind == K::Wire)).then(|| first.start - view.base)
}

/// What stands last on a line and should begin the next one, on one or more lines of a statement.
pub(super) fn torn(view: View<'_>) -> Problem {
    let hangs = |index: usize| view.kind(index).is_some_and(K::hangs);
    let below = |index: usize| match view.begins_line(index + 1) {
        true => Some(view.at(index + 1).start),
        false if index + 1 == view.len() => path_below(view),
        false => None,
    };
    let goes_on = |index: usize| view.kind(index + 1).is_some_and(K::continues);
    let hanging: Vec<(usize, u32)> = (0..view.len())
        .filter(|&index| hangs(index) && !goes_on(index))
        .filter_map(|index| below(index).map(|next| (index, next)))
        .collect();
    let first = hanging.first().map_or(0, |&(index, _)| index);
    let sign = match view.kind(first) {
        Some(K::WireRun) => "--",
        _ => view.word(first),
    };
    let (rule, message) = match view.kind(first) {
        Some(K::Comma) => ("stray-comma", "a list that goes on below has its comma on the next line".to_owned()),
        Some(K::Bar) => ("empty-alternative", "a group that goes on below has its `|` on the next line".to_owned()),
        Some(K::Open) => ("unclosed-group", "a group begins on the line of its `(`".to_owned()),
        _ => ("loose-end-wire", "a path that goes on below has its wire on the next line".to_owned()),
    };
    let problem = Problem::new(rule, view.at(first), message)
        .help("a line goes on only when the next one begins with `--`, `|`, `,` or `)`");
    let mut edits = Vec::new();
    for &(index, next) in &hanging {
        let gap = RelSpan::new(view.at(index).end, next);
        let stays = view.is(index, K::Open) || view.begins_line(index);
        if stays && view.slice(gap).trim().is_empty() {
            edits.push((gap, " ".into()));
        } else if stays {
            // A remark stands between, which no line can go on behind.
            return problem;
        } else {
            let sign = if view.is(index, K::WireRun) { "--" } else { view.word(index) };
            edits.push((view.gap(index).to(view.at(index)), String::new()));
            edits.push((RelSpan::new(next, next), format!("{sign} ")));
        }
    }
    let title = match view.kind(first) {
        Some(K::Open) => "Join the lines".to_owned(),
        _ if view.begins_line(first) => "Join the lines".to_owned(),
        _ => format!("Move `{sign}` to the next line"),
    };
    let whole = !hanging.is_empty() && hanging.iter().all(|(index, _)| index + 1 < view.len());
    problem.fix(title, if whole { Safety::Safe } else { Safety::Asks }, edits)
}

fn wires(view: View<'_>, at: usize) -> Option<Problem> {
    let last = at.checked_sub(1)?;
    if at >= view.len() {
        if view.is_wire(last) {
            let gap = view.gap(last).to(view.at(last));
            if path_below(view).is_some() {
                return Some(torn(view).fix("Remove the wire", Safety::Asks, vec![(gap, String::new())]));
            }
            return Some(
                Problem::new("loose-end-wire", view.at(last), "the path ends in a wire that leads to nothing")
                    .help("name what it leads to, or begin the next line with `--` to go on there")
                    .fix("Remove the wire", Safety::Asks, vec![(gap, String::new())]),
            );
        }
        let sole = !view.holds_wire();
        return sole.then(|| {
            let item = short(view.words(0, view.len() - 1));
            Problem::new("short-path", view.between(0, view.len() - 1), format!("`{item}` alone is no statement")).help(
                "join it to something: `R1 -- @fork`; or write a kind before it to declare it: `resistor R1 = 9 ohm`",
            )
        });
    }
    (view.is_wire(at) && view.is_wire(last)).then(|| {
        let end = (at..view.len()).take_while(|own| view.is_wire(*own)).last().unwrap_or(at);
        let problem = Problem::new("doubled-wire", view.between(last, at), "nothing stands between these two wires");
        // Between two junctions an element is missing: one wire would join them, which nobody writes with two.
        let is_junction = |own: Option<usize>| own.is_some_and(|own| view.is(own, K::Junction));
        if is_junction(last.checked_sub(1)) && is_junction(Some(end + 1)) {
            return problem.help("write what stands between the two junctions: `@a -- R1 -- @b`");
        }
        problem.fix("Keep one wire", Safety::Asks, vec![(view.gap(at).to(view.at(end)), String::new())])
    })
}

/// `B1+ -- R1 | R2 -- B1-`: alternatives without their brackets.
fn bare_alternatives(view: View<'_>, at: usize) -> Option<Problem> {
    let level = view.tokens[..at.min(view.len())].iter().fold(0, |level, token| match token.kind {
        K::Open => level + 1,
        K::Close => level - 1,
        _ => level,
    });
    if !view.is(at, K::Bar) || level != 0 || !ended_item(view, at) {
        return None;
    }
    let from = view.first_of_item(at - 1);
    let (mut bar, mut end) = (at, at);
    let mut members = vec![view.words(from, at - 1)];
    let mut plain = !view.is(at - 1, K::Close);
    while view.is(bar, K::Bar) {
        let next = if view.is(bar + 1, K::Bar) && view.joined(bar + 1) { bar + 2 } else { bar + 1 };
        plain &= begins_item(view, next) && !view.is(next, K::Open);
        end = view.last_of_item(next).min(view.len() - 1);
        if !plain || end < next {
            break;
        }
        members.push(view.words(next, end));
        bar = end + 1;
    }
    let sign = if view.is(at + 1, K::Bar) && view.joined(at + 1) { "||" } else { "|" };
    let message = format!("alternatives parted by `|` stand in brackets, and this `{sign}` in none");
    let problem = Problem::new("unreadable-statement", view.at(at).to(view.at(at + sign.len() - 1)), message)
        .help("a parallel group is `( R1 | R2 )`; an alternative may be a path: `( R1 -- R2 | R3 )`");
    // A group alone is no path either.
    if !plain || (from == 0 && end + 1 >= view.len()) {
        return Some(problem);
    }
    let group = format!("( {} )", members.join(" | "));
    Some(problem.fix(format!("Write `{}`", short(&group)), Safety::Asks, vec![(view.between(from, end), group)]))
}

/// `( R1 || R2 )`
fn doubled_bar(view: View<'_>, at: usize) -> Option<Problem> {
    let doubled = at > 1 && view.is(at, K::Bar) && view.is(at - 1, K::Bar) && view.joined(at);
    (doubled && ended_item(view, at - 1) && begins_item(view, at + 1)).then(|| {
        Problem::new("empty-alternative", view.between(at - 1, at), "alternatives are parted by one `|`").fix(
            "Write `|`",
            Safety::Safe,
            vec![(view.at(at), String::new())],
        )
    })
}

fn groups(view: View<'_>, at: usize) -> Option<Problem> {
    if let Some(problem) = bare_alternatives(view, at).or_else(|| doubled_bar(view, at)) {
        return Some(problem);
    }
    let last = at.checked_sub(1)?;
    let ends = matches!(view.kind(at), Some(K::Bar | K::Close));
    if (ends || view.is_wire(at)) && matches!(view.kind(last), Some(K::Open | K::Bar)) {
        let message = if ends { "this alternative holds nothing" } else { "this alternative begins with a wire" };
        let place = if ends { view.between(last, at) } else { view.at(at) };
        return Some(Problem::new("empty-alternative", place, message).help(
            "each alternative holds at least one element or junction: `( R1 | R2 )`; a plain wire is `@a -- @b`",
        ));
    }
    if ends && view.is_wire(last) {
        let gap = view.gap(last).to(view.at(last));
        return Some(
            Problem::new("loose-end-wire", view.at(last), "this alternative ends in a wire that leads to nothing").fix(
                "Remove the wire",
                Safety::Asks,
                vec![(gap, String::new())],
            ),
        );
    }
    if view.is(at, K::Close) && ended_item(view, at) {
        let mut level = 0;
        let open = (0..at).rev().find(|&index| {
            match view.kind(index) {
                Some(K::Close) => level += 1,
                Some(K::Open) if level == 0 => return true,
                Some(K::Open) => level -= 1,
                _ => {}
            }
            false
        })?;
        let edits = vec![
            (RelSpan::new(view.at(open).start, view.gap(open + 1).end), String::new()),
            (view.gap(at).to(view.at(at)), String::new()),
        ];
        return Some(
            Problem::new("single-alternative", view.between(open, at), "this group holds a single alternative")
                .help("a parallel group parts two or more with `|`: `( R1 | R2 )`")
                .fix("Remove the brackets", Safety::Safe, edits),
        );
    }
    None
}
