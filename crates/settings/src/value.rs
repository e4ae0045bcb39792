//! A value as it was written, whatever the format: TOML in a file, JSON from an editor.

use ohmline_syntax::Span;

/// A value at its place.
#[derive(Clone, PartialEq, Debug)]
pub struct Value {
    /// Where it stands; empty where there is no text.
    pub at: Span,
    /// What it is.
    pub kind: Kind,
}

/// What a value is.
#[derive(Clone, PartialEq, Debug)]
pub enum Kind {
    /// Text between quotes.
    Text(String),
    /// A number, whole or not.
    Number(f64),
    /// True or false.
    Truth(bool),
    /// A date or a time.
    Date,
    /// Nothing, where a format has a word for that.
    Nothing,
    /// Several values.
    List(Vec<Value>),
    /// Keys with their values, in text order.
    Table(Vec<Entry>),
}

/// A key with its value.
#[derive(Clone, PartialEq, Debug)]
pub struct Entry {
    /// The key.
    pub key: String,
    /// Where the key stands.
    pub at: Span,
    /// Its value.
    pub value: Value,
}

impl Kind {
    /// What it is, in words: `a list`.
    pub fn describe(&self) -> &'static str {
        match self {
            Kind::Text(_) => "text",
            Kind::Number(_) => "a number",
            Kind::Truth(_) => "true or false",
            Kind::Date => "a date",
            Kind::Nothing => "nothing",
            Kind::List(_) => "a list",
            Kind::Table(_) => "a table",
        }
    }
}
