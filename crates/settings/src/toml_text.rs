//! From the text of a TOML file to values at their places, and what is no TOML in it.

use std::ops::Range;

use ohmline_syntax::Span;
use toml::Spanned;
use toml::de::{DeArray, DeTable, DeValue};

use crate::value::{Entry, Kind, Value};

/// What stands in a text that is no TOML.
#[derive(Debug)]
pub struct Unread {
    /// Where.
    pub at: Span,
    /// Why, as the library for TOML says it.
    pub why: String,
    /// What is not read because of it: whole lines.
    pub lines: Span,
    /// How far that goes.
    pub reach: Reach,
}

/// How far what is no TOML reaches.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Reach {
    /// One line.
    Line,
    /// It is the head of a table, so what stands below it belongs to nothing.
    Table,
    /// Something begins there that nothing closes, so it goes on to the end.
    Rest,
}

/// Most places that are told of; beyond, a text is hardly meant to be TOML.
const MOST: usize = 50;

/// Reads as much as can be read: a line that is no TOML is left out, and with the head of a table everything below it.
pub fn parse(text: &str) -> (Value, Vec<Unread>) {
    let mut rest = text.to_owned();
    let mut unread: Vec<Unread> = Vec::new();
    loop {
        let (table, errors) = DeTable::parse_recoverable(&rest);
        let value = Value { at: span(table.span()), kind: Kind::Table(entries(table.get_ref())) };
        let first = errors.iter().min_by_key(|error| error.span().map_or(0, |span| span.start));
        let Some(error) = first else { return (value, unread) };
        let found = locate(text, &rest, error.span().unwrap_or(0..0), error.message(), &value);
        let is_blank = rest[found.lines.range()].trim().is_empty();
        if !is_blank {
            blank(&mut rest, found.lines);
        }
        unread.push(found);
        // Each round blanks something; one that could not would find the same for ever.
        if is_blank || unread.len() >= MOST {
            return (value, unread);
        }
    }
}

/// What is wrong at a place, and what cannot be read because of it.
fn locate(text: &str, rest: &str, at: Range<usize>, why: &str, value: &Value) -> Unread {
    let why = why.to_owned();
    let at = within(at, text);
    let lines = lines_of(text, at.start as usize);
    let ends = rest[at.start as usize..].trim().is_empty() && rest[lines.0.range()].trim().is_empty();
    // At the end of everything, it is about what began further up.
    match last_key(value).filter(|_| ends) {
        Some(key) => {
            let start = line_start(text, key.start as usize);
            Unread { at: key, why, lines: Span::new(start as u32, text.len() as u32), reach: Reach::Rest }
        }
        None => Unread { at, why, lines: lines.0, reach: lines.1 },
    }
}

/// The last key of all.
fn last_key(value: &Value) -> Option<Span> {
    let Kind::Table(entries) = &value.kind else { return None };
    let of = |entry: &Entry| {
        last_key(&entry.value).map_or(entry.at, |inner| if inner.start > entry.at.start { inner } else { entry.at })
    };
    entries.iter().map(of).max_by_key(|at| at.start)
}

/// A stretch that lies in the text and holds at least one character, where its line has one.
fn within(at: Range<usize>, text: &str) -> Span {
    let floor = |mut at: usize| {
        at = at.min(text.len());
        while !text.is_char_boundary(at) {
            at -= 1;
        }
        at
    };
    let is_end = |c: &char| matches!(c, '\n' | '\r');
    let mut start = floor(at.start);
    // At the end of a line or of the text, the last character before it is shown.
    if text[start..].chars().next().is_none_or(|c| is_end(&c)) {
        start -= text[..start].chars().next_back().filter(|c| !is_end(c)).map_or(0, char::len_utf8);
    }
    let one = text[start..].chars().next().filter(|c| !is_end(c)).map_or(0, char::len_utf8);
    Span::new(start as u32, floor(at.end).max(start + one) as u32)
}

/// The line of a place, with its end; of the head of a table, with what stands below it up to the next one.
fn lines_of(text: &str, at: usize) -> (Span, Reach) {
    let start = line_start(text, at);
    let after = |from: usize| text[from..].find('\n').map_or(text.len(), |end| from + end + 1);
    let is_head = |from: usize| text[from..].trim_start_matches([' ', '\t', '\u{feff}']).starts_with('[');
    let mut end = after(start);
    let own = is_head(start);
    while own && end < text.len() && !is_head(end) {
        end = after(end);
    }
    (Span::new(start as u32, end as u32), if own { Reach::Table } else { Reach::Line })
}

fn line_start(text: &str, at: usize) -> usize {
    text[..at].rfind('\n').map_or(0, |end| end + 1)
}

/// Puts as many blanks in the place of lines, with their ends kept.
fn blank(text: &mut String, lines: Span) {
    let blanks: String = text[lines.range()].bytes().map(|byte| if byte == b'\n' { '\n' } else { ' ' }).collect();
    text.replace_range(lines.range(), &blanks);
}

fn span(range: Range<usize>) -> Span {
    // A text is at most a gibibyte long.
    Span::new(range.start as u32, range.end.max(range.start) as u32)
}

fn entries(table: &DeTable<'_>) -> Vec<Entry> {
    let mut entries: Vec<Entry> = table
        .iter()
        .map(|(key, own)| Entry { key: key.get_ref().to_string(), at: span(key.span()), value: value(own) })
        .collect();
    entries.sort_by_key(|entry| entry.at.start);
    entries
}

fn value(own: &Spanned<DeValue<'_>>) -> Value {
    let kind = match own.get_ref() {
        DeValue::String(text) => Kind::Text(text.to_string()),
        DeValue::Integer(number) => {
            let figure =
                i64::from_str_radix(number.as_str(), number.radix()).map_or(f64::INFINITY, |whole| whole as f64);
            Kind::Number(figure)
        }
        DeValue::Float(number) => Kind::Number(number.as_str().parse().unwrap_or(f64::NAN)),
        DeValue::Boolean(truth) => Kind::Truth(*truth),
        DeValue::Datetime(_) => Kind::Date,
        DeValue::Array(list) => Kind::List(values(list)),
        DeValue::Table(table) => Kind::Table(entries(table)),
    };
    Value { at: span(own.span()), kind }
}

fn values(list: &DeArray<'_>) -> Vec<Value> {
    list.iter().map(value).collect()
}
