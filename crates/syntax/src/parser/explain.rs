//! What is wrong with a statement that cannot be read: one precise message, and a fix where one exists.
//!
//! The checks run from the most certain cause to the least: tokens that no statement holds, brackets that do not
//! pair, the near misses that people really write, and last what the grammar expected at the place where it failed.

mod characters;
mod declarations;
mod deviation;
mod lamps;
mod paths;
mod questions;

use super::grammar::{MAX_OPERATIONS, Missed, THE_END, Tokens, is_declaration};
use crate::diagnostic::{Problem, Safety};
use crate::lexer::TokenKind as K;
use crate::span::RelSpan;
use crate::tree::{Quantity, QuantityKind, Ref, Relation, StmtKind};
use crate::words;

pub(super) use self::paths::{long_wires, touching_run};

/// Which check a statement did not pass.
#[derive(Debug)]
pub(super) enum Failed {
    /// It holds a token that no statement holds.
    BadToken,
    /// Its brackets go too deep.
    TooDeep,
    /// Its expressions are too long.
    TooLong,
    /// It holds a run of dashes that touches a name.
    TouchingRun,
    /// It was torn at the end of a line.
    Torn,
    /// It follows the grammar, but rates a lamp by other than its power at its voltage.
    Rating,
    /// It follows the grammar, but an option of this kind stands where a name should.
    OptionAsName { kind: String, option: RelSpan, name: String },
    /// It follows the grammar, but names several elements where one value is meant.
    Several { verb: &'static str, all: RelSpan, each: Vec<RelSpan> },
    /// It follows the grammar, but gives how far a value may be off as something added to it.
    Deviation { sign: RelSpan },
    /// It follows the grammar, but claims of a single element how it stands.
    Alone { relation: &'static str, at: RelSpan },
    /// It does not follow the grammar.
    Grammar(Option<Missed>),
}

/// What follows the grammar but is surely a slip.
pub(super) fn slip(kind: &StmtKind) -> Option<Failed> {
    if let Some(sign) = deviation::added(kind) {
        return Some(Failed::Deviation { sign });
    }
    match kind {
        StmtKind::Declare(declare) if declare.names.len() > 1 => {
            let options = words::options_of(&declare.kind.text);
            let name = declare.names[1..].iter().find(|name| options.iter().any(|option| name.text == option.name))?;
            Some(Failed::OptionAsName {
                kind: declare.kind.text.to_string(),
                option: name.span,
                name: name.text.to_string(),
            })
        }
        StmtKind::ClaimRelation { branches, relation, .. } => match branches.as_slice() {
            [only] if only.elements.len() == 1 => Some(Failed::Alone {
                relation: if *relation == Relation::Series { "series" } else { "parallel" },
                at: only.span,
            }),
            _ => None,
        },
        StmtKind::Given { quantity, .. } => several("given", quantity),
        StmtKind::Measured { quantity, .. } => several("measured", quantity),
        StmtKind::ClaimQuantity { quantity, .. } => several("claim", quantity),
        _ => None,
    }
}

/// Whether a lamp that can be read is rated in the wrong way.
pub(super) fn is_misrated(kind: &StmtKind, tokens: Tokens<'_>, text: &str) -> bool {
    matches!(kind, StmtKind::Declare(declare) if declare.kind.text == "lamp")
        && lamps::rating(View::new(tokens, text)).is_some()
}

fn several(verb: &'static str, quantity: &Quantity) -> Option<Failed> {
    let refs: &[Ref] = match &quantity.kind {
        QuantityKind::CurrentThrough(refs)
        | QuantityKind::VoltageAcross(refs)
        | QuantityKind::PowerOf(refs)
        | QuantityKind::ChargeOf(refs)
        | QuantityKind::EnergyOf(refs)
        | QuantityKind::ValueOf(refs) => refs,
        _ => return None,
    };
    let [first, .., last] = refs else { return None };
    let each = refs.iter().map(|reference| reference.span).collect();
    Some(Failed::Several { verb, all: first.span.to(last.span), each })
}

/// The tokens of a statement with its text, as the checks look at them. Indices past the end are allowed everywhere.
#[derive(Clone, Copy)]
struct View<'a> {
    tokens: Tokens<'a>,
    text: &'a str,
    base: u32,
}

impl<'a> View<'a> {
    fn new(tokens: Tokens<'a>, text: &'a str) -> Self {
        View { tokens, text, base: tokens.first().map_or(0, |token| token.start) }
    }

    fn len(self) -> usize {
        self.tokens.len()
    }

    fn kind(self, index: usize) -> Option<K> {
        self.tokens.get(index).map(|token| token.kind)
    }

    fn is(self, index: usize, kind: K) -> bool {
        self.kind(index) == Some(kind)
    }

    fn is_word(self, index: usize) -> bool {
        self.kind(index).is_some_and(K::is_word)
    }

    fn is_name(self, index: usize) -> bool {
        self.kind(index).is_some_and(K::is_name)
    }

    fn is_sign(self, index: usize) -> bool {
        matches!(self.kind(index), Some(K::Plus | K::Minus))
    }

    fn is_wire(self, index: usize) -> bool {
        matches!(self.kind(index), Some(K::Wire | K::WireRun))
    }

    /// Whether a token touches the one before it.
    fn joined(self, index: usize) -> bool {
        index > 0 && self.tokens.get(index).is_some_and(|token| token.joined)
    }

    fn holds(self, kind: K) -> bool {
        self.tokens.iter().any(|token| token.kind == kind)
    }

    fn holds_wire(self) -> bool {
        self.holds(K::Wire) || self.holds(K::WireRun)
    }

    /// Whether a token is the first on its line.
    fn begins_line(self, index: usize) -> bool {
        self.slice(self.gap(index)).contains(['\n', '\r'])
    }

    /// The text at a place.
    fn slice(self, at: RelSpan) -> &'a str {
        self.text.get((at.start + self.base) as usize..(at.end + self.base) as usize).unwrap_or("")
    }

    /// The text of a token.
    fn word(self, index: usize) -> &'a str {
        self.tokens.get(index).map_or("", |token| token.text(self.text))
    }

    /// The text from one token to another, both included.
    fn words(self, from: usize, to: usize) -> &'a str {
        self.slice(self.between(from, to))
    }

    /// The place of a token; an empty place behind the last one for an index past the end.
    fn at(self, index: usize) -> RelSpan {
        match self.tokens.get(index) {
            Some(token) => RelSpan::new(token.start - self.base, token.end() - self.base),
            None => RelSpan::new(self.end(), self.end()),
        }
    }

    /// Where the statement ends.
    fn end(self) -> u32 {
        self.tokens.last().map_or(0, |token| token.end() - self.base)
    }

    /// The place from one token to another, both included.
    fn between(self, from: usize, to: usize) -> RelSpan {
        self.at(from).to(self.at(to))
    }

    /// The blanks between a token and the one before it.
    fn gap(self, index: usize) -> RelSpan {
        let end = self.at(index).start;
        RelSpan::new(if index == 0 { end } else { self.at(index - 1).end }, end)
    }

    /// The edit that takes out words, and the blanks before them, since they are there already.
    fn repeated(self, from: usize, to: usize) -> (RelSpan, String) {
        (self.gap(from).to(self.at(to)), String::new())
    }

    /// The empty place before a token.
    fn before(self, index: usize) -> RelSpan {
        RelSpan::new(self.at(index).start, self.at(index).start)
    }

    /// The empty place behind a token.
    fn behind(self, index: usize) -> RelSpan {
        RelSpan::new(self.at(index).end, self.at(index).end)
    }

    /// What stands at a token, as messages show it.
    fn shown(self, index: usize) -> String {
        match self.tokens.get(index) {
            Some(_) => format!("`{}`", short(self.word(index))),
            None => "the end of the line".into(),
        }
    }

    /// Whether a token looks like the name of an element rather than a word of a remark: it holds a digit.
    fn likely_name(self, index: usize) -> bool {
        self.is_name(index) && self.word(index).contains(|c: char| c.is_ascii_digit())
    }

    /// Index of the last token of the dotted name that starts at an index.
    fn last_of_name(self, from: usize) -> usize {
        let mut last = from;
        while self.is(last + 1, K::Dot) && self.is_word(last + 2) {
            last += 2;
        }
        last
    }

    /// Index of the last token of the path item that starts at an index, as far as it goes in one piece.
    fn last_of_item(self, from: usize) -> usize {
        let name = if self.is_sign(from) && self.joined(from + 1) { from + 1 } else { from };
        let last = if self.is_word(name) { self.last_of_name(name) } else { name };
        if self.is_word(last) && self.is_sign(last + 1) && self.joined(last + 1) { last + 1 } else { last }
    }

    /// Index of the first token of the path item that ends at an index, as far as it goes in one piece.
    fn first_of_item(self, to: usize) -> usize {
        let name = if self.is_sign(to) && self.joined(to) && to > 0 { to - 1 } else { to };
        let first = if self.is_word(name) { self.first_of_name(name) } else { name };
        if first > 0 && self.is_word(first) && self.is_sign(first - 1) && self.joined(first) {
            first - 1
        } else {
            first
        }
    }

    /// Index of the first token of the dotted name that ends at an index.
    fn first_of_name(self, to: usize) -> usize {
        let mut first = to;
        while first >= 2 && self.is(first - 1, K::Dot) && self.is_word(first - 2) {
            first -= 2;
        }
        first
    }
}

/// At most some 24 characters of a text.
fn short(text: &str) -> String {
    const MOST: usize = 24;
    if text.chars().count() <= MOST {
        return text.to_owned();
    }
    text.chars().take(MOST).chain("...".chars()).collect()
}

/// The one problem of a statement that was not read.
pub(super) fn explain(failed: Failed, tokens: Tokens<'_>, text: &str) -> Problem {
    let view = View::new(tokens, text);
    if let Some(problem) = characters::slash_comment(view) {
        return problem;
    }
    match failed {
        Failed::BadToken => characters::bad_token(view),
        Failed::TooDeep => Problem::new("deep-nesting", view.between(0, view.len()), "these brackets go too deep")
            .help("name a part of the drawing with junctions, or a part of the value with `let`"),
        Failed::TooLong => {
            let message = format!("these values hold more than {MAX_OPERATIONS} operations");
            Problem::new("long-expression", view.between(0, view.len()), message).help("name parts of them with `let`")
        }
        Failed::TouchingRun => paths::ambiguous(view),
        Failed::Torn => paths::torn(view),
        Failed::Rating => lamps::rating(view).unwrap_or_else(|| fallback(view, &Missed::nowhere())),
        Failed::OptionAsName { kind, option, name } => declarations::option_as_name(view, &kind, option, &name),
        Failed::Several { verb, all, each } => questions::several_elements(view, verb, all, &each),
        Failed::Deviation { sign } => deviation::of_sign(view, sign),
        Failed::Alone { relation, at } => questions::lone_member(relation, at),
        Failed::Grammar(missed) => {
            let missed = missed.unwrap_or_else(Missed::nowhere);
            grammar(view, &missed)
        }
    }
}

fn grammar(view: View<'_>, missed: &Missed) -> Problem {
    let at = missed.at;
    let expects = |label: &str| missed.expected.contains(&label);
    let common = lamps::rating(view)
        .or_else(|| questions::spoken(view))
        .or_else(|| loose_line(view))
        .or_else(|| loose_path(view))
        .or_else(|| characters::decimal_comma(view))
        .or_else(|| characters::missing_zero(view, at))
        .or_else(|| brackets(view))
        .or_else(|| unknown_statement(view))
        .or_else(|| characters::split_number(view, at))
        .or_else(|| declarations::equals_after_option(view, at))
        .or_else(|| stray_comma(view, at))
        .or_else(|| verb_for_equals(view, at, &expects))
        .or_else(|| deviation::slashed(view, at));
    if let Some(problem) = common {
        return problem;
    }
    let first = view.kind(0);
    let special = if is_declaration(view.tokens) {
        declarations::declaration(view, at, &expects)
    } else {
        match first {
            Some(K::Let) => declarations::definition(view, at, &expects),
            Some(K::Circuit | K::Include) => questions::title(view, at),
            Some(K::Reference) if at >= view.len() => Some(
                Problem::new("missing-point", view.at(0), "`reference` names no point")
                    .help("name a junction or a terminal: `reference @join`, `reference B1-`"),
            ),
            Some(K::Find | K::Given | K::Measured | K::Claim) => questions::question(view, at, &expects),
            Some(K::Case) => questions::case(view, at, &expects),
            Some(K::Part) => declarations::part(view, at),
            Some(K::Repeat) => declarations::repeat(view, at, &expects),
            Some(K::Reference | K::End) => None,
            _ => paths::path(view, at, &expects),
        }
    };
    special
        .or_else(|| reserved_name(view, at, &expects))
        .or_else(|| values(view, at, &expects))
        .unwrap_or_else(|| fallback(view, missed))
}

/// Slips that can happen wherever a value stands.
fn values(view: View<'_>, at: usize, expects: &dyn Fn(&str) -> bool) -> Option<Problem> {
    if expects("`=`") {
        if view.is(at, K::Colon) {
            return Some(Problem::new("missing-equals", view.at(at), "a value stands behind `=`, not behind `:`").fix(
                "Write `=`",
                Safety::Safe,
                vec![(view.gap(at).to(view.at(at)), " =".into())],
            ));
        }
        let negative = view.is(at, K::Minus) && (view.is(at + 1, K::Number) || view.is(at + 1, K::Open));
        let begins_value = matches!(view.kind(at), Some(K::Number | K::Question | K::Open)) || negative;
        let states = is_declaration(view.tokens) && declarations::is_state(view, at);
        if begins_value || states || (view.is_word(at) && !expects("`,`")) {
            let problem =
                Problem::new("missing-equals", view.at(at), format!("`=` is missing before {}", view.shown(at)));
            // A word may be anything, and so may a line that begins with no word of the notation.
            let known = view.kind(0).is_some_and(|first| first == K::Kind || first.is_statement());
            let meant = known && (begins_value || states || words::STATES.contains(&view.word(at)));
            let safety = if meant { Safety::Safe } else { Safety::Asks };
            if let Some(state) = words::everyday_state(view.word(at)).filter(|_| states) {
                let edit = (view.gap(at).to(view.at(at)), format!(" = {state}"));
                return Some(problem.fix(format!("Write `= {state}`"), safety, vec![edit]));
            }
            return Some(problem.fix("Insert `=`", safety, vec![(view.gap(at), " = ".into())]));
        }
    }
    let in_path = !is_declaration(view.tokens) && !view.kind(0).is_some_and(K::is_statement);
    if view.is(at, K::Wire) && !in_path {
        return Some(
            Problem::new("wire-in-value", view.at(at), "`--` is a wire, and a value holds none")
                .help("to take away a negative value, keep the two signs apart: `x - -3 V`")
                .fix("Write `- -`", Safety::Asks, vec![(view.at(at), "- -".into())]),
        );
    }
    if let Some(problem) = declarations::misplaced_unit(view, at).filter(|_| !in_path) {
        return Some(problem);
    }
    if !expects("a value") {
        return None;
    }
    if view.is(at, K::WireRun) {
        return Some(
            Problem::new("dash-for-minus", view.at(at), format!("{} is a dash, not a minus sign", view.shown(at))).fix(
                "Write `-`",
                Safety::Safe,
                vec![(view.at(at), "-".into())],
            ),
        );
    }
    let missing = at >= view.len() || matches!(view.kind(at), Some(K::Comma | K::Close | K::Equals | K::Colon));
    (missing && at > 0).then(|| {
        let message = format!("a value is missing behind {}", view.shown(at - 1));
        let place = if at >= view.len() { view.at(at - 1) } else { view.at(at) };
        let declares = is_declaration(view.tokens) && matches!(view.kind(at - 1), Some(K::Equals | K::Comma | K::Name));
        let help = if declares { "write it, or `?` to have it found" } else { "write a number with its unit: `4.5 V`" };
        Problem::new("missing-value", place, message).help(help)
    })
}

/// A line that begins with what goes on a statement.
fn loose_line(view: View<'_>) -> Option<Problem> {
    let starts = matches!(view.kind(0), Some(K::Comma | K::Bar | K::Close | K::Equals)) || view.is_wire(0);
    starts.then(|| {
        let message = format!("this line begins with {}, but no statement stands right above it", view.shown(0));
        Problem::new("loose-line", view.at(0), message)
            .help("it goes on with the line right above; a blank line or one with only a comment ends a statement")
    })
}

/// A value on the line below the name it belongs to: read, with a remark.
pub(super) fn hanging_equals(kind: &StmtKind, tokens: Tokens<'_>, text: &str) -> Option<Problem> {
    if !matches!(kind, StmtKind::Declare(_) | StmtKind::Let { .. }) {
        return None;
    }
    let view = View::new(tokens, text);
    let at = (1..view.len()).find(|&index| view.is(index, K::Equals))?;
    if !view.begins_line(at) {
        return None;
    }
    let problem = Problem::new("loose-line", view.at(at), format!("`=` stands on the line of `{}`", view.word(at - 1)))
        .help("a line goes on only when the next one begins with `--`, `|`, `,` or `)`");
    Some(if view.slice(view.gap(at)).trim().is_empty() {
        problem.fix("Move it up", Safety::Safe, vec![(view.gap(at), " ".into())])
    } else {
        problem
    })
}

/// A path that seems to go on with the line above, which is none.
fn loose_path(view: View<'_>) -> Option<Problem> {
    let no_path = is_declaration(view.tokens) || view.kind(0).is_some_and(K::is_statement);
    let first = (1..view.len()).find(|&index| view.is_wire(index))?;
    (no_path && view.begins_line(first)).then(|| {
        let message =
            format!("this line begins with {} and so continues the line above, which is no path", view.shown(first));
        Problem::new("loose-line", view.at(first), message)
            .help("begin the path with what it starts from, as in `B1+ -- R1`, or move it below the path it belongs to")
    })
}

/// Brackets that do not pair.
fn brackets(view: View<'_>) -> Option<Problem> {
    let mut open = Vec::new();
    for index in 0..view.len() {
        match view.kind(index) {
            Some(K::Open) => open.push(index),
            Some(K::Close) if open.pop().is_none() => {
                return Some(
                    Problem::new("unopened-group", view.at(index), "this `)` closes nothing")
                        .help("write the `(` that it closes, or remove it")
                        .fix("Remove `)`", Safety::Asks, vec![(view.gap(index).to(view.at(index)), String::new())]),
                );
            }
            _ => {}
        }
    }
    let unclosed = open.pop()?;
    let text = if view.holds_wire() { " )" } else { ")" };
    let problem = Problem::new("unclosed-group", view.at(unclosed), "this `(` is never closed")
        .help("a statement goes on only when the very next line begins with `--`, `|`, `,` or `)`");
    // What stands last after some items of the last alternative is where the path goes on to, not a part of the group.
    if let Some(wire) = wire_to_end(view, unclosed) {
        let title = format!("Write `)` before `{}`", short(view.words(wire, view.len().saturating_sub(1))));
        return Some(problem.fix(title, Safety::Asks, vec![(view.behind(wire - 1), text.into())]));
    }
    Some(problem.fix("Write `)` at the end", Safety::Asks, vec![(view.behind(view.len()), text.into())]))
}

/// Index of the wire to the terminal or junction that ends a path whose last alternative, in the group opened at an
/// index, holds more than that.
fn wire_to_end(view: View<'_>, open: usize) -> Option<usize> {
    let last = view.len().checked_sub(1)?;
    let terminal = view.is_sign(last) && view.joined(last) && view.is_name(last - 1);
    if !(terminal || view.is(last, K::Junction)) {
        return None;
    }
    let wire = view.first_of_item(last).checked_sub(1).filter(|&wire| view.is_wire(wire))?;
    let begins = (open..wire).rev().find(|&index| matches!(view.kind(index), Some(K::Open | K::Bar)))?;
    (view.is(begins, K::Bar) && begins + 1 < wire).then_some(wire)
}

/// `claim voltage across R1 is 10 V`: a verb where `=` should be.
fn verb_for_equals(view: View<'_>, at: usize, expects: &dyn Fn(&str) -> bool) -> Option<Problem> {
    let verb = view.word(at);
    let is_verb = matches!(verb, "is" | "are" | "equals" | "equal" | "be");
    if !is_verb || at < 2 || !expects("`=`") || at + 1 >= view.len() {
        return None;
    }
    let last = if view.is(at + 1, K::Equals) { at + 1 } else { at };
    let last = if verb == "is" && view.word(at + 1) == "equal" && view.is(at + 2, K::To) { at + 2 } else { last };
    let number = matches!(view.kind(last + 1), Some(K::Number | K::Question | K::Open | K::Minus));
    let known = view.kind(0).is_some_and(|first| first == K::Kind || first.is_statement());
    let meant = known && (number || words::STATES.contains(&view.word(last + 1)));
    let message = format!("a value is stated with `=`, not with `{}`", short(view.words(at, last)));
    Some(Problem::new("only-equals", view.between(at, last), message).fix(
        "Write `=`",
        if meant { Safety::Safe } else { Safety::Asks },
        vec![(view.between(at, last), "=".into())],
    ))
}

/// A first word close to one that begins a statement.
fn unknown_statement(view: View<'_>) -> Option<Problem> {
    let declares = view.is_name(1) && (view.is(2, K::Equals) || view.is(2, K::Comma) && view.is(4, K::Equals));
    if !view.is(0, K::Name) || view.holds_wire() || declares || view.is(1, K::Equals) {
        return None;
    }
    let word = view.word(0);
    if view.is_name(1) && !words::everyday_kinds(word).is_empty() {
        return None;
    }
    let zero = words::zero_point(word) && view.len() > 1 && view.last_of_item(1) + 1 == view.len();
    let near = if zero { "reference" } else { words::nearest(word, words::STATEMENTS.iter().copied())? };
    // `Left` alone is rather an element than a mistyped `let`.
    let same_word = word.eq_ignore_ascii_case(near);
    if word.starts_with(char::is_uppercase) && !same_word && word.len() < 5 && !zero {
        return None;
    }
    Some(
        Problem::new("unknown-statement", view.at(0), format!("no statement begins with `{word}`"))
            .here(format!("did you mean `{near}`?"))
            .fix(
                format!("Write `{near}`"),
                // Only a capital is too many.
                if same_word { Safety::Safe } else { Safety::Asks },
                vec![(view.at(0), near.into())],
            ),
    )
}

/// A comma that nothing follows.
fn stray_comma(view: View<'_>, at: usize) -> Option<Problem> {
    let last = view.len().checked_sub(1)?;
    (at >= last && view.is(last, K::Comma)).then(|| {
        Problem::new("stray-comma", view.at(last), "nothing follows this comma")
            .help("to go on with the statement, begin the next line with the comma")
            .fix("Remove the comma", Safety::Safe, vec![(view.gap(last).to(view.at(last)), String::new())])
    })
}

/// A word of the notation where a name should be.
fn reserved_name(view: View<'_>, at: usize, expects: &dyn Fn(&str) -> bool) -> Option<Problem> {
    let wanted = expects("a name")
        || expects("an element")
        || expects(paths::ITEM)
        || expects("a junction or a terminal")
        || expects("a kind");
    if !view.kind(at).is_some_and(K::is_reserved) || !wanted {
        return None;
    }
    let word = view.word(at);
    if at == 0
        && view.is_name(1)
        && let Some(equals) = view.tokens.iter().position(|token| token.kind == K::Equals)
    {
        let kinds = match declarations::kinds_of_unit(view, equals) {
            [] => words::everyday_kinds(word),
            kinds => kinds,
        };
        let message = format!("`{word}` is a quantity, not a kind of element");
        let mut problem = Problem::new("unknown-kind", view.at(0), message);
        for kind in kinds {
            problem = problem.fix(format!("Write `{kind}`"), Safety::Asks, vec![(view.at(0), (*kind).into())]);
        }
        return Some(problem);
    }
    let message = format!("`{word}` is a word of the notation and cannot be a name");
    let problem = Problem::new("reserved-name", view.at(at), message).help("choose another name; case counts");
    let names_anew = is_declaration(view.tokens) || view.is(0, K::Part) || view.is(0, K::Repeat);
    Some(if names_anew {
        problem.fix(format!("Write `{word}1`"), Safety::Asks, vec![(view.at(at), format!("{word}1"))])
    } else {
        problem
    })
}

/// What the grammar expected, in words.
fn fallback(view: View<'_>, missed: &Missed) -> Problem {
    let at = missed.at;
    let word = view.word(0);
    let form = words::help(word).and_then(|help| help.lines().next()).map(|form| format!("its form: {form}"));
    let with_form = |problem: Problem| match form {
        Some(form) => problem.help(form),
        None => problem,
    };
    if at > 0 && at < view.len() && missed.expected.contains(&THE_END) {
        let rest = view.between(at, view.len() - 1);
        let message = format!("{} is left over behind the statement", view.shown(at));
        let fix = (RelSpan::new(view.at(at - 1).end, rest.end), String::new());
        return with_form(Problem::new("leftover-text", rest, message)).fix("Remove it", Safety::Asks, vec![fix]);
    }
    let expected: Vec<&str> = missed.expected.iter().copied().filter(|label| *label != THE_END).collect();
    let expected = match expected.as_slice() {
        [] => "nothing".to_owned(),
        [one] => (*one).to_owned(),
        [most @ .., last] => format!("{} or {last}", most.join(", ")),
    };
    let message = if at >= view.len() {
        format!("the statement is not finished: {expected} is missing")
    } else {
        format!("{} cannot stand here; expected {expected}", view.shown(at))
    };
    let place = if at >= view.len() && at > 0 { view.at(at - 1) } else { view.at(at) };
    with_form(Problem::new("unreadable-statement", place, message))
}
