//! Help while a file of settings is written: what can stand at a place, and what stands there.

use ohmline_lint::limits::{Limit, Limits};
use ohmline_lint::{Group, Level, Topic, Voice, meta};
use ohmline_syntax::Span;

use crate::deny::Deny;
use crate::keys::{Key, keys, written};
use crate::layer::Target;
use crate::profile::{self, PROFILES};
use crate::read::{NOT_MET, read};

/// Something that can be written.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Offer {
    /// The word, as it is listed.
    pub word: String,
    /// A few words beside it: what is usual.
    pub detail: String,
    /// What it means, as Markdown; may be empty.
    pub about: String,
    /// What it replaces.
    pub at: Span,
    /// What is written.
    pub text: String,
}

/// Where in a file a place is.
struct Place<'t> {
    /// The table, `levels`; empty at the top.
    table: String,
    /// The key of the line, when the place is behind its equals sign.
    key: Option<String>,
    /// The word at the place.
    word: Span,
    /// Whether the word stands between quotes.
    quoted: bool,
    /// What stands before the word on its line, behind the equals sign if there is one.
    before: &'t str,
}

fn is_word(c: char) -> bool {
    c.is_alphanumeric() || matches!(c, '-' | '_' | '.')
}

impl<'t> Place<'t> {
    /// `None` within a comment.
    fn new(text: &'t str, offset: u32) -> Option<Self> {
        let mut offset = (offset as usize).min(text.len());
        while !text.is_char_boundary(offset) {
            offset -= 1;
        }
        let line = text[..offset].rfind('\n').map_or(0, |end| end + 1);
        let (mut quote, mut equals) = (None, None);
        for (at, c) in text[line..offset].char_indices() {
            match (quote, c) {
                (None, '#') => return None,
                (None, '"' | '\'') => quote = Some(c),
                (Some(open), _) if open == c => quote = None,
                (None, '=') if equals.is_none() => equals = Some(line + at),
                _ => {}
            }
        }
        let is_part = |c: char| is_word(c) || quote.is_some() && !matches!(c, '"' | '\'' | '\n' | '\r');
        let start = text[..offset]
            .rfind(|c| !is_part(c))
            .map_or(0, |at| at + text[at..].chars().next().map_or(0, char::len_utf8));
        let end = offset + text[offset..].find(|c| !is_part(c)).unwrap_or(text.len() - offset);
        let head = text[..line].lines().rev().map(str::trim).find(|line| line.starts_with('['));
        let name = head.and_then(|head| head[1..].split(']').next()).unwrap_or("").trim();
        let mut table = name.replace(['"', '\'', ' '], "");
        let mut key = None;
        if let Some(equals) = equals {
            let written = text[line..equals].trim().replace(['"', '\''], "");
            match written.rsplit_once('.') {
                Some((outer, own)) => {
                    table = if table.is_empty() { outer.to_owned() } else { format!("{table}.{outer}") };
                    key = Some(own.to_owned());
                }
                None => key = Some(written),
            }
        }
        let from = equals.map_or(line, |equals| equals + 1).min(start);
        let word = Span::new(start as u32, end as u32);
        Some(Self { table, key, word, quoted: quote.is_some(), before: &text[from..start] })
    }

    /// Whether its table holds levels.
    fn holds_levels(&self) -> bool {
        self.table == "levels" || self.table.starts_with("profiles.")
    }
}

/// Everything that can be written at a place.
pub fn offers(text: &str, offset: u32) -> Vec<Offer> {
    let Some(place) = Place::new(text, offset) else { return Vec::new() };
    match &place.key {
        Some(key) => values(text, &place, key),
        None => names(&place),
    }
}

/// Keys, or the names of tables behind a bracket.
fn names(place: &Place<'_>) -> Vec<Offer> {
    let offer = |word: &str, detail: String, about: String, text: String| Offer {
        word: word.to_owned(),
        detail,
        about,
        at: place.word,
        text,
    };
    let before = place.before.trim();
    if before == "[" {
        let head = |name: &str| offer(name, "a table".to_owned(), String::new(), name.to_owned());
        return ["levels", "limits", "profiles."].map(head).into();
    }
    if !before.is_empty() {
        return Vec::new();
    }
    if place.holds_levels() {
        let topics = (place.table != "levels")
            .then(|| offer(NOT_MET, "what the class has not met".to_owned(), about_not_met(), format!("{NOT_MET} = ")));
        let targets = Target::names().map(|name| offer(name, usual(name), about_target(name), format!("{name} = ")));
        return topics.into_iter().chain(targets).collect();
    }
    match place.table.as_str() {
        "limits" => Limit::ALL
            .iter()
            .map(|limit| offer(limit.name, usual_limit(limit), about_limit(limit), format!("{} = ", limit.name)))
            .collect(),
        "" => {
            let single = keys().into_iter().filter(|key| !key.name.contains('.'));
            let single =
                single.map(|key| offer(&key.name, plain(&key.usual), about_key(&key), format!("{} = ", key.name)));
            let tables = ["[levels]", "[limits]"]
                .map(|head| offer(head, "a table".to_owned(), String::new(), format!("{head}\n")));
            let own = offer("[profiles.NAME]", "a table".to_owned(), String::new(), "[profiles.".to_owned());
            single.chain(tables).chain([own]).collect()
        }
        _ => Vec::new(),
    }
}

/// What a key can have.
fn values(text: &str, place: &Place<'_>, key: &str) -> Vec<Offer> {
    let offer = |word: &str, detail: &str, about: String| Offer {
        word: word.to_owned(),
        detail: detail.to_owned(),
        about,
        at: place.word,
        text: if place.quoted { word.to_owned() } else { format!("\"{word}\"") },
    };
    if place.holds_levels() && key == NOT_MET {
        return Topic::ALL.iter().map(|topic| offer(topic.name(), "", String::new())).collect();
    }
    if place.holds_levels() {
        return Level::ALL.iter().map(|level| offer(level.word(), "", String::new())).collect();
    }
    match (place.table.as_str(), key) {
        ("", "voice") => Voice::ALL.iter().map(|voice| offer(voice.word(), "", String::new())).collect(),
        ("", "profile") => {
            let own = read(text).layer.own;
            let own = own.iter().map(|own| offer(&own.name, "defined here", String::new()));
            own.chain(PROFILES.iter().map(|own| offer(own.name, "", own.summary.to_owned()))).collect()
        }
        ("", "deny") => Deny::words().map(|word| offer(word, &usual(word), about_target(word))).collect(),
        ("limits", name) => Limit::named(name)
            .map(|limit| {
                let usual = written(limit, &Limits::default());
                let quotes = !place.quoted && !limit.is_count();
                let text = if quotes { format!("\"{usual}\"") } else { usual.clone() };
                Offer { text, ..offer(&usual, "usual", about_limit(limit)) }
            })
            .into_iter()
            .collect(),
        _ => Vec::new(),
    }
}

/// What stands at a place, in words, as Markdown.
pub fn about(text: &str, offset: u32) -> Option<(Span, String)> {
    let place = Place::new(text, offset)?;
    let word = text.get(place.word.range())?.trim();
    if word.is_empty() {
        return None;
    }
    let name = word.rsplit('.').next().unwrap_or(word);
    let key = |name: &str| keys().into_iter().find(|key| key.name == name).map(|key| about_key(&key));
    let said = match (place.table.as_str(), &place.key) {
        // A dotted key at the top names its table.
        ("limits", None) => Limit::named(name).map(about_limit),
        ("", None) if word.starts_with("limits.") => Limit::named(name).map(about_limit),
        ("", None) if word.contains('.') => Target::named(name).map(|_| about_target(name)),
        ("", None) => key(name),
        (_, None) if place.holds_levels() && name == NOT_MET => Some(about_not_met()),
        (_, None) if place.holds_levels() => Target::named(name).map(|_| about_target(name)),
        ("", Some(of)) if of == "profile" => {
            profile::profile(word).map(|own| format!("`{}`: {}", own.name, own.summary))
        }
        ("", Some(of)) if of == "deny" => Target::named(word).map(|_| about_target(word)),
        _ => None,
    }?;
    Some((place.word, said))
}

/// What is usual for a rule: `usually warning`.
fn usual(name: &str) -> String {
    match Target::named(name) {
        Some(Target::Rule(rule)) => {
            meta(rule).map_or_else(String::new, |meta| format!("usually {}", meta.severity.word()))
        }
        Some(Target::Group(_)) => "a group".to_owned(),
        None => String::new(),
    }
}

fn about_target(name: &str) -> String {
    match Target::named(name) {
        Some(Target::Rule(rule)) => meta(rule).map_or_else(String::new, |meta| {
            format!("`{rule}` (usually {}): {}.\n\n{}", meta.severity.word(), meta.summary, meta.why)
        }),
        Some(Target::Group(group)) => about_group(group),
        None => String::new(),
    }
}

fn about_group(group: Group) -> String {
    let names =
        ohmline_lint::settings::rule_names().filter(|name| ohmline_lint::settings::group_of(name) == Some(group));
    let names: Vec<String> = names.map(|name| format!("`{name}`")).collect();
    format!("**{}**: {}", group.title(), names.join(", "))
}

fn usual_limit(limit: &Limit) -> String {
    format!("usually {}", written(limit, &Limits::default()))
}

fn about_limit(limit: &Limit) -> String {
    format!("`{}` ({}): {} ({}).", limit.name, usual_limit(limit), limit.summary, limit.source)
}

fn about_not_met() -> String {
    keys().iter().find(|key| key.name.ends_with(NOT_MET)).map_or_else(String::new, about_key)
}

fn about_key(key: &Key) -> String {
    format!("`{}` takes {}; usually {}.\n\n{}", key.name, key.takes, key.usual, key.summary)
}

/// Without the marks of Markdown.
fn plain(text: &str) -> String {
    text.replace('`', "")
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    /// What is offered where `|` stands in a text: the words.
    fn words(marked: &str) -> Vec<String> {
        let at = marked.find('|').expect("a mark");
        offers(&marked.replacen('|', "", 1), at as u32).into_iter().map(|offer| offer.word).collect()
    }

    /// A text with an offer taken where `|` stands.
    fn taken(marked: &str, word: &str) -> String {
        let at = marked.find('|').expect("a mark");
        let mut text = marked.replacen('|', "", 1);
        let all = offers(&text, at as u32);
        let offer =
            all.iter().find(|offer| offer.word == word).unwrap_or_else(|| panic!("{word} is not offered in {marked}"));
        text.replace_range(offer.at.range(), &offer.text);
        text
    }

    #[test]
    fn what_is_offered_is_read() {
        assert_eq!(words("|"), ["voice", "profile", "deny", "[levels]", "[limits]", "[profiles.NAME]"]);
        assert_eq!(taken("voice = |", "learner"), "voice = \"learner\"");
        assert_eq!(taken("voice = \"le|ar\"", "learner"), "voice = \"learner\"");
        assert_eq!(taken("profile = [\"no-power\", \"|\"]", "no-diodes"), "profile = [\"no-power\", \"no-diodes\"]");
        assert_eq!(taken("deny = [|]", "split-series"), "deny = [\"split-series\"]");
        assert_eq!(taken("[levels]\nspl|", "split-series"), "[levels]\nsplit-series = ");
        assert_eq!(taken("[levels]\nsplit-series = \"|\"", "off"), "[levels]\nsplit-series = \"off\"");
        assert_eq!(taken("levels.split-series = |", "off"), "levels.split-series = \"off\"");
        assert_eq!(taken("[limits]\ntouch-voltage = |", "60 V"), "[limits]\ntouch-voltage = \"60 V\"");
        assert_eq!(taken("[limits]\ntouch-voltage = \"6|0 V\"", "60 V"), "[limits]\ntouch-voltage = \"60 V\"");
        assert_eq!(taken("[limits]\nlongest-path = |", "16"), "[limits]\nlongest-path = 16");
        assert_eq!(words("profile = |\n[profiles.quay]\n")[0], "quay");
        assert_eq!(words("[profiles.quay]\nstyle = |").len(), Level::ALL.len());
        assert_eq!(words("[profiles.quay]\n|")[0], "not-met");
        assert_eq!(taken("[profiles.quay]\nnot-met = [|]", "diodes"), "[profiles.quay]\nnot-met = [\"diodes\"]");
        assert_eq!(words("[|"), ["levels", "limits", "profiles."]);
        assert_eq!(words("# voice = |"), Vec::<String>::new());
        assert_eq!(words("[banana]\n|"), Vec::<String>::new());
        for rule in ["[levels]\n|", "deny = |"].map(words) {
            assert!(rule.iter().any(|word| word == "open-end") && rule.iter().any(|word| word == "style"));
        }
    }

    #[test]
    fn every_value_that_is_offered_is_right() {
        let mut starts: Vec<String> = ["voice = |", "profile = |", "deny = |"].map(str::to_owned).into();
        starts.extend(Limit::ALL.iter().map(|limit| format!("limits.{} = |", limit.name)));
        starts.push("levels.name-gap = |".to_owned());
        starts.push("[profiles.quay]\nnot-met = |".to_owned());
        for start in starts {
            let all = words(&start);
            assert!(!all.is_empty(), "{start}");
            for word in all {
                let text = taken(&start, &word);
                assert_eq!(read(&text).problems, [], "{text}");
            }
        }
    }

    #[test]
    fn what_stands_there_is_explained() {
        let said = |marked: &str| {
            let at = marked.find('|').expect("a mark");
            about(&marked.replacen('|', "", 1), at as u32).map(|(_, said)| said)
        };
        assert!(said("vo|ice = 3").is_some_and(|said| said.contains("learners")));
        assert!(said("[levels]\nsplit-|series = \"off\"").is_some_and(|said| said.contains("usually error")));
        assert!(said("levels.sty|le = \"off\"").is_some_and(|said| said.contains("`name-gap`")));
        assert!(said("[limits]\ntouch-voltage| = 3").is_some_and(|said| said.contains("usually 60 V")));
        assert!(said("profile = \"no-kir|chhoff\"").is_some_and(|said| said.contains("series and parallel only")));
        assert_eq!(said("# voice|"), None);
        assert_eq!(said("|\n"), None);
    }

    proptest! {
        #[test]
        fn whatever_the_text(text in "[a-z\\[\\]=\"'#., \n\u{e9}\u{1f6a2}-]{0,60}", at in 0u32..80) {
            for offer in offers(&text, at) {
                prop_assert!(text.get(offer.at.range()).is_some());
            }
            if let Some((at, _)) = about(&text, at) {
                prop_assert!(text.get(at.range()).is_some());
            }
        }
    }
}
