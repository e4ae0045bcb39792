//! From values to what they say, and what is wrong with them.

use ohmline_circuit::Unit;
use ohmline_circuit::quantity::{Dimension, LiteralError, Number, Style, UnitError, read_literal, show};
use ohmline_lint::limits::{Limit, Limits};
use ohmline_lint::settings::{group_of, is_fixed};
use ohmline_lint::voice::HAZARDS;
use ohmline_lint::{Level, Topic, Voice};
use ohmline_syntax::words::nearest;
use ohmline_syntax::{Diagnostic, FileId, FileSpan, Safety, Severity, Span};

use crate::deny::Deny;
use crate::layer::{Layer, OwnProfile, Stated, Target, TargetLevel};
use crate::profile::{self, PROFILES};
use crate::toml_text::{self, Reach, Unread};
use crate::value::{Entry, Kind, Value};

/// What was read.
#[derive(Clone, PartialEq, Debug)]
pub struct Read {
    /// What is in force by it.
    pub layer: Layer,
    /// What is wrong with it, in text order.
    pub problems: Vec<Diagnostic>,
}

/// The keys of a file.
pub const KEYS: &[&str] = &["voice", "profile", "deny", "levels", "limits", "profiles"];

/// The key of a profile that names what the class has not met.
pub(crate) const NOT_MET: &str = "not-met";

/// Reads the text of an `ohmline.toml`. What is wrong is left out and reported; everything else is read.
///
/// What touches a line that is no TOML is not believed, since it may be half of what was meant.
pub fn read(text: &str) -> Read {
    let (value, unread) = toml_text::parse(text);
    let problems: Vec<Diagnostic> = unread.iter().map(no_toml).collect();
    let is_spoilt = |at: Span| unread.iter().any(|own| own.lines.start < at.end && at.start < own.lines.end);
    let mut reader = Reader { layer: Layer::default(), problems, is_spoilt: &is_spoilt };
    reader.top(&value);
    reader.finish()
}

/// Reads values that come from elsewhere, such as the settings of an editor. Places of problems are those of the values.
pub fn read_value(value: &Value) -> Read {
    let mut reader = Reader { layer: Layer::default(), problems: Vec::new(), is_spoilt: &|_| false };
    reader.top(value);
    reader.finish()
}

fn no_toml(unread: &Unread) -> Diagnostic {
    let place = FileSpan::new(FileId::MAIN, unread.at);
    let found =
        Diagnostic::new("unreadable-settings", Severity::Error, place, format!("This is no TOML: {}", unread.why));
    match unread.reach {
        Reach::Line => found
            .here("this line is not read")
            .help("Write `key = \"value\"`, each on a line of its own; a table begins with a line such as `[levels]`"),
        Reach::Table => found
            .here("what stands below it is not read either")
            .help("The head of a table is a line such as `[levels]`, `[limits]` or `[profiles.year-9]`"),
        Reach::Rest => found
            .here("nothing from here on is read")
            .help("Close what begins here: quotes, or the brackets of a list or a table"),
    }
}

struct Reader<'a> {
    layer: Layer,
    problems: Vec<Diagnostic>,
    is_spoilt: &'a dyn Fn(Span) -> bool,
}

impl Reader<'_> {
    fn finish(mut self) -> Read {
        self.problems.sort_by_key(|found| (found.primary.at.span.start, found.severity));
        Read { layer: self.layer, problems: self.problems }
    }

    fn report(&mut self, rule: &'static str, at: Span, message: String) -> &mut Diagnostic {
        let place = FileSpan::new(FileId::MAIN, at);
        self.problems.push(Diagnostic::new(rule, Severity::Error, place, message));
        let last = self.problems.len() - 1;
        &mut self.problems[last]
    }

    /// A name that there is none of: says so, and offers the nearest that there is.
    fn unknown<'n>(
        &mut self,
        what: &str,
        name: &str,
        at: Span,
        known: impl Iterator<Item = &'n str>,
        written: Written,
    ) {
        let near = nearest(name, known);
        let said = self.report("unknown-setting", at, format!("There is no {what} `{}`", short(name)));
        match near {
            Some(near) => offer(said, near, written),
            None => said.help.push(match what {
                "setting" => format!("The settings are {}", list(KEYS)),
                "limit" => {
                    format!("The limits are {}", list(&Limit::ALL.iter().map(|own| own.name).collect::<Vec<_>>()))
                }
                "profile" => {
                    let names: Vec<&str> = PROFILES.iter().map(|own| own.name).collect();
                    format!("Write one of {}, or define it in a table `[profiles.NAME]`", list(&names))
                }
                "topic" => {
                    let names: Vec<&str> = Topic::ALL.iter().map(|topic| topic.name()).collect();
                    format!("The topics are {}", list(&names))
                }
                _ => "`ohmline explain` lists all rules, by groups".to_owned(),
            }),
        }
    }

    /// A value that cannot be.
    fn wrong(&mut self, at: Span, message: String, help: impl Into<String>) {
        self.report("wrong-setting", at, message).help.push(help.into());
    }

    /// The entries of a table, without those that cannot be believed.
    fn entries<'v>(&mut self, value: &'v Value, name: &str, example: &str) -> Vec<&'v Entry> {
        let Kind::Table(entries) = &value.kind else {
            let found = value.kind.describe();
            self.wrong(value.at, format!("`{name}` is a table, not {found}"), format!("Write {example}"));
            return Vec::new();
        };
        entries.iter().filter(|entry| !(self.is_spoilt)(entry.at)).collect()
    }

    fn top(&mut self, value: &Value) {
        let entries = self.entries(value, "ohmline", "`voice = \"learner\"`, for example");
        // Profiles first, so that their names are known wherever they are chosen.
        for entry in entries.iter().filter(|entry| entry.key == "profiles") {
            self.profiles(&entry.value);
        }
        for entry in entries {
            // A table spans many lines; what is spoilt in it shows further in.
            let is_table = matches!(entry.value.kind, Kind::Table(_));
            if !is_table && (self.is_spoilt)(entry.value.at) {
                continue;
            }
            match entry.key.as_str() {
                "voice" => self.voice(&entry.value),
                "profile" => self.profile(&entry.value),
                "deny" => self.deny(&entry.value),
                "levels" => {
                    let entries = self.entries(
                        &entry.value,
                        "levels",
                        "a line `[levels]`, and below it `split-series = \"off\"`, for example",
                    );
                    let levels = self.levels(&entries);
                    self.layer.levels.extend(levels);
                }
                "limits" => self.limits(&entry.value),
                "profiles" => {}
                _ => self.misplaced(entry),
            }
        }
    }

    /// A key that stands at the top and does not belong there.
    fn misplaced(&mut self, entry: &Entry) {
        let name = entry.key.as_str();
        let belongs = if Target::named(name).is_some() && Limit::named(name).is_some() {
            Some(("is a rule and a limit", "[levels]` or `[limits]"))
        } else if Target::named(name).is_some() {
            Some(("is a rule or a group of rules", "[levels]"))
        } else if Limit::named(name).is_some() {
            Some(("is a limit", "[limits]"))
        } else if profile::profile(name).is_some() {
            Some(("is a profile", "profile = "))
        } else {
            None
        };
        match belongs {
            Some((what, place)) => {
                let said = self.report("unknown-setting", entry.at, format!("There is no setting `{name}`"));
                said.notes.push(format!("`{name}` {what}"));
                said.help.push(match place {
                    "profile = " => format!("Write `profile = \"{name}\"`"),
                    table => format!("Write it below a line `{table}`"),
                });
            }
            None => self.unknown("setting", name, entry.at, KEYS.iter().copied(), Written::Key),
        }
    }

    fn voice(&mut self, value: &Value) {
        let words: Vec<&str> = Voice::ALL.iter().map(|voice| voice.word()).collect();
        let Some(word) = self.word(value, "voice", &words) else { return };
        self.layer.voice = Voice::of_word(word).map(|what| Stated { at: value.at, what });
    }

    /// One of a few words; anything else is reported.
    fn word<'v>(&mut self, value: &'v Value, name: &str, words: &[&str]) -> Option<&'v str> {
        let choice = list_or(words);
        let Kind::Text(word) = &value.kind else {
            let message = format!("`{name}` is {choice}, not {}", value.kind.describe());
            self.wrong(value.at, message, format!("Write `{name} = \"{}\"`, for example", words[0]));
            return None;
        };
        if words.contains(&word.as_str()) {
            return Some(word);
        }
        let near = nearest(word, words.iter().copied());
        let said = self.report("wrong-setting", value.at, format!("`{name}` cannot be `{}`", short(word)));
        said.help.push(format!("It is {choice}"));
        if let Some(near) = near {
            offer(said, near, Written::Text);
        }
        None
    }

    /// One word, or a list of words.
    fn words<'v>(&mut self, value: &'v Value, name: &str, example: &str) -> Option<Vec<(&'v str, Span)>> {
        let wrong = |reader: &mut Self, value: &Value| {
            let message = format!("`{name}` is a name or a list of names, not {}", value.kind.describe());
            reader.wrong(value.at, message, format!("Write `{name} = [\"{example}\"]`, for example"));
        };
        match &value.kind {
            Kind::Text(word) => Some(vec![(word, value.at)]),
            Kind::List(values) => {
                let mut words = Vec::new();
                for own in values.iter().filter(|own| !(self.is_spoilt)(own.at)) {
                    match &own.kind {
                        Kind::Text(word) => words.push((word.as_str(), own.at)),
                        other => {
                            let message = format!("`{name}` lists names, not {}", other.describe());
                            self.wrong(own.at, message, format!("Write `{name} = [\"{example}\"]`, for example"));
                        }
                    }
                }
                Some(words)
            }
            _ => {
                wrong(self, value);
                None
            }
        }
    }

    fn profile(&mut self, value: &Value) {
        let Some(words) = self.words(value, "profile", PROFILES[0].name) else { return };
        let mut chosen = Vec::new();
        for (word, at) in words {
            let known = profile::profile(word).is_some() || self.layer.own.iter().any(|own| own.name == word);
            if known {
                chosen.push(Stated { at, what: word.to_owned() });
            } else {
                let own: Vec<String> = self.layer.own.iter().map(|own| own.name.clone()).collect();
                let names = PROFILES.iter().map(|own| own.name).chain(own.iter().map(String::as_str));
                self.unknown("profile", word, at, names, Written::Text);
            }
        }
        self.layer.profiles = Some(chosen);
    }

    fn deny(&mut self, value: &Value) {
        let Some(words) = self.words(value, "deny", "warnings") else { return };
        for (word, at) in words {
            match Deny::of_word(word) {
                Some(what) => self.layer.deny.push(Stated { at, what }),
                None => self.unknown("rule or group", word, at, Deny::words(), Written::Text),
            }
        }
    }

    fn profiles(&mut self, value: &Value) {
        let example = "a line `[profiles.year-9]`, and below it `split-series = \"off\"`, for example";
        for entry in self.entries(value, "profiles", example) {
            let name = &entry.key;
            let entries = self.entries(&entry.value, &format!("profiles.{}", short(name)), example);
            let (topics, entries): (Vec<&Entry>, Vec<&Entry>) =
                entries.into_iter().partition(|entry| entry.key == NOT_MET);
            let levels = self.levels(&entries);
            let not_met = topics.iter().flat_map(|entry| self.topics(&entry.value)).collect();
            if profile::profile(name).is_some() {
                let message = format!("The profile `{name}` comes with Ohmline and cannot be defined anew");
                self.wrong(entry.at, message, "Choose another name; a list of profiles joins several");
            } else if name.trim().is_empty() {
                self.wrong(entry.at, "A profile has no name".to_owned(), "Write `[profiles.year-9]`, for example");
            } else {
                self.layer.own.push(OwnProfile { name: name.clone(), not_met, levels });
            }
        }
    }

    /// What a class has not met.
    fn topics(&mut self, value: &Value) -> Vec<Topic> {
        if (self.is_spoilt)(value.at) {
            return Vec::new();
        }
        let words = self.words(value, NOT_MET, Topic::ALL[0].name()).unwrap_or_default();
        let mut topics = Vec::new();
        for (word, at) in words {
            match Topic::named(word) {
                Some(topic) => topics.push(topic),
                None => self.unknown("topic", word, at, Topic::ALL.iter().map(|topic| topic.name()), Written::Text),
            }
        }
        topics
    }

    fn levels(&mut self, entries: &[&Entry]) -> Vec<Stated<TargetLevel>> {
        let words: Vec<&str> = Level::ALL.iter().map(|level| level.word()).collect();
        let mut levels = Vec::new();
        for entry in entries {
            let Some(target) = Target::named(&entry.key) else {
                if Limit::named(&entry.key).is_some() {
                    let said =
                        self.report("unknown-setting", entry.at, format!("There is no rule or group `{}`", entry.key));
                    said.notes.push(format!("`{}` is a limit", entry.key));
                    said.help.push("Write it below a line `[limits]`".to_owned());
                } else {
                    self.unknown("rule or group", &entry.key, entry.at, Target::names(), Written::Key);
                }
                continue;
            };
            if (self.is_spoilt)(entry.value.at) {
                continue;
            }
            let Some(level) = self.word(&entry.value, target.name(), &words).and_then(Level::of_word) else {
                // Some limits are called like the rule that looks at them.
                if Limit::named(target.name()).is_some()
                    && let Some(said) = self.problems.last_mut()
                {
                    said.notes.push(format!("The limit `{}` stands below a line `[limits]`", target.name()));
                }
                continue;
            };
            if let Target::Rule(rule) = target
                && is_fixed(rule)
                && level != Level::At(Severity::Error)
            {
                let said = self.report("wrong-setting", entry.value.at, format!("`{rule}` stays an error"));
                said.notes
                    .push("What it finds could not be read as a circuit, so every answer may be wrong".to_owned());
                said.help.push("Mend what it finds, and take this line out".to_owned());
                continue;
            }
            if level == Level::Off {
                self.silenced(target, entry.at);
            }
            levels.push(Stated { at: entry.at, what: (target, level) });
        }
        levels
    }

    /// Says that a level silences hazards, if it does.
    fn silenced(&mut self, target: Target, at: Span) {
        let hazards: Vec<&str> = HAZARDS
            .iter()
            .copied()
            .filter(|rule| match target {
                Target::Rule(own) => own == *rule,
                Target::Group(group) => group_of(rule) == Some(group),
            })
            .collect();
        if hazards.is_empty() {
            return;
        }
        let message = match target {
            Target::Rule(rule) => format!("`{rule}` is off: nobody is told of something that can hurt"),
            Target::Group(group) => {
                format!("`{}` is off: nobody is told of things that can hurt ({})", group.word(), hazards.join(", "))
            }
        };
        self.hazard(at, message);
    }

    fn hazard(&mut self, at: Span, message: String) {
        let said = self.report("silent-hazard", at, message);
        said.severity = Severity::Info;
        said.help.push(
            "Keep it where something is built: whoever builds it follows local codes and licensed practice, not these settings"
                .to_owned(),
        );
    }

    fn limits(&mut self, value: &Value) {
        for entry in
            self.entries(value, "limits", "a line `[limits]`, and below it `touch-voltage = \"50 V\"`, for example")
        {
            let Some(limit) = Limit::named(&entry.key) else {
                if Target::named(&entry.key).is_some() {
                    let said = self.report("unknown-setting", entry.at, format!("There is no limit `{}`", entry.key));
                    said.notes.push(format!("`{}` is a rule or a group of rules", entry.key));
                    said.help.push("Write its level below a line `[levels]`".to_owned());
                } else {
                    self.unknown("limit", &entry.key, entry.at, Limit::ALL.iter().map(|own| own.name), Written::Key);
                }
                continue;
            };
            if (self.is_spoilt)(entry.value.at) {
                continue;
            }
            match figure(limit, &entry.value.kind) {
                Ok(figure) => {
                    if limit.guards && figure > limit.of(&Limits::default()) {
                        let usual = written(limit, &Limits::default());
                        let message = format!(
                            "`{}` is above the usual {usual}: what can hurt is told later than usual",
                            limit.name
                        );
                        self.hazard(entry.at, message);
                    }
                    self.layer.limits.push(Stated { at: entry.value.at, what: (limit, figure) });
                }
                Err(message) => {
                    let usual = written(limit, &Limits::default());
                    let example = if limit.is_count() { usual.clone() } else { format!("\"{usual}\"") };
                    self.wrong(
                        entry.value.at,
                        message,
                        format!("Write `{} = {example}`, for example, which is usual", limit.name),
                    );
                }
            }
        }
    }
}

/// The figure of a limit, in SI base units, or what is wrong with it.
fn figure(limit: &Limit, kind: &Kind) -> Result<f64, String> {
    let name = limit.name;
    let dimension = limit.unit.dimension();
    let kind_of = if limit.is_count() { "a whole number" } else { what(limit) };
    let value = match kind {
        // Nobody means so many times the whole, and everybody knows percent.
        Kind::Number(number) if kind_of == "a share" && number.is_finite() && *number > 2.0 => {
            return Err(format!("`{name}` is a share, and {number} is {} %: `\"{number} %\"`?", number * 100.0));
        }
        Kind::Number(number) if limit.unit == Unit::One => *number,
        Kind::Number(_) => return Err(format!("`{name}` is {kind_of}, and the number has no unit")),
        Kind::Text(text) if !limit.is_count() => {
            let text = text.trim();
            let end = text.find(char::is_whitespace).unwrap_or(text.len());
            let (number, unit) = (&text[..end], text[end..].trim());
            let (number, unit) = match number.strip_suffix('%') {
                Some(bare) if unit.is_empty() => (bare, "%"),
                _ => (number, unit),
            };
            let (sign, number) = match number.strip_prefix(['-', '−']) {
                Some(rest) => (-1.0, rest),
                None => (1.0, number),
            };
            let unit = Some(unit).filter(|unit| !unit.is_empty());
            let read =
                read_literal(number, unit, Some(dimension)).map_err(|error| unreadable(name, text, kind_of, error))?;
            if read.dimension != dimension {
                let found = read.dimension.describe();
                return Err(match read.dimension {
                    Dimension::NONE => format!("`{name}` is {kind_of}, and the number has no unit"),
                    _ => format!("`{name}` is {kind_of}; `{}` is {found}", short(text)),
                });
            }
            sign * Number::exact(read.value).to_f64()
        }
        other => return Err(format!("`{name}` is {kind_of}, not {}", other.describe())),
    };
    if !value.is_finite() {
        return Err(format!("`{name}` is beyond all numbers"));
    }
    if value < 0.0 {
        return Err(format!("`{name}` cannot be below zero"));
    }
    if limit.is_count() && (value.fract() != 0.0 || value > 1e9) {
        return Err(format!("`{name}` is a whole number"));
    }
    Ok(value)
}

/// What a limit is, in words.
pub fn what(limit: &Limit) -> &'static str {
    if limit.is_count() {
        return "a whole number";
    }
    match limit.unit {
        Unit::Volt => "a voltage",
        Unit::Ampere => "a current",
        Unit::Joule => "an energy",
        Unit::Second => "a time",
        _ => "a share",
    }
}

fn unreadable(name: &str, text: &str, kind_of: &str, error: LiteralError) -> String {
    let why = match error {
        LiteralError::Unit(UnitError::Unknown(Some(near))) => format!("there is no such unit; did you mean `{near}`?"),
        LiteralError::Unit(UnitError::CapitalKilo(near)) => format!("the prefix kilo is a small k: `{near}`"),
        LiteralError::Unit(UnitError::BarePrefix(_)) => "a prefix stands there without a unit".to_owned(),
        LiteralError::Letters(Some(instead)) => format!("did you mean `{instead}`?"),
        LiteralError::OutOfRange => "the number is too long or too large".to_owned(),
        LiteralError::Unit(UnitError::Unknown(None)) | LiteralError::Letters(None) => {
            "a quantity is a number, a space and a unit".to_owned()
        }
    };
    format!("`{name}` is {kind_of}, and `{}` is not read as one: {why}", short(text))
}

/// A limit as it is written in a file: `60 V`, `75 %`, `16`.
pub fn written(limit: &Limit, limits: &Limits) -> String {
    let figure = limit.of(limits);
    match limit.unit {
        Unit::One if limit.is_count() => format!("{figure}"),
        Unit::One => format!("{} %", plain(figure * 100.0)),
        Unit::Second => format!("{} s", plain(figure)),
        unit => {
            let text = show(&Number::Float(figure), unit, Style::Digits(6));
            // `60.0000 V` is `60 V`.
            match text.split_once(' ') {
                Some((number, unit)) if number.contains('.') && !number.contains('e') => {
                    format!("{} {unit}", number.trim_end_matches('0').trim_end_matches('.'))
                }
                _ => text,
            }
        }
    }
}

/// A number with at most nine decimals and no idle zeros.
fn plain(number: f64) -> String {
    let text = format!("{number:.9}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// How a name stands in the text.
#[derive(Clone, Copy)]
enum Written {
    Key,
    Text,
}

/// Offers a word in the place of another.
fn offer(said: &mut Diagnostic, word: &str, written: Written) {
    let at = said.primary.at;
    said.primary.text = format!("did you mean `{word}`?");
    let text = match written {
        Written::Key => word.to_owned(),
        Written::Text => format!("\"{word}\""),
    };
    said.help.push(format!("Write `{word}`"));
    // Without a text there is nothing to replace.
    if at.span.start < at.span.end {
        let fix = ohmline_syntax::Fix {
            title: format!("Write `{word}`"),
            safety: Safety::Asks,
            edits: vec![ohmline_syntax::Edit { at, text }],
        };
        said.fixes.push(fix);
    }
}

/// A name of a message: one line, not too long.
fn short(name: &str) -> String {
    const MOST: usize = 40;
    let clean: String = name.chars().take(MOST + 1).map(|c| if c.is_control() { ' ' } else { c }).collect();
    match clean.char_indices().nth(MOST) {
        Some((at, _)) => format!("{}...", &clean[..at]),
        None => clean,
    }
}

fn list(words: &[&str]) -> String {
    join(words, "and")
}

fn list_or(words: &[&str]) -> String {
    join(words, "or")
}

fn join(words: &[&str], last: &str) -> String {
    let quoted: Vec<String> = words.iter().map(|word| format!("`{word}`")).collect();
    match quoted.as_slice() {
        [] => String::new(),
        [one] => one.clone(),
        [first, second] => format!("{first} {last} {second}"),
        [rest @ .., end] => format!("{} {last} {end}", rest.join(", ")),
    }
}

#[cfg(test)]
mod tests;
