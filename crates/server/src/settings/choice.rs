//! The settings of findings that an editor holds: the same keys as in an `ohmline.toml`.

use std::sync::Arc;

use ohmline_settings::value::{Entry, Kind, Value as Said};
use ohmline_settings::{KEYS, Layer, read_value};
use ohmline_syntax::Span;
use serde_json::{Map, Value};

use super::From;

/// What the editor says.
#[derive(Clone, Debug, Default)]
pub struct Choice {
    /// The keys as they were sent last.
    sent: Map<String, Value>,
    /// What they say.
    pub layer: Arc<Layer>,
    /// What is wrong with them, in words.
    pub wrong: Vec<String>,
}

impl Choice {
    /// Takes over what a message sets and leaves the rest; `null` and empty text take a key back. Returns whether anything in it was ours,
    /// and whether it is not what was sent before.
    pub fn update(&mut self, value: &Value, from: From) -> (bool, bool) {
        let mut known = false;
        let mut sent = self.sent.clone();
        for key in KEYS {
            let Some(found) = find(value, key, from) else { continue };
            known = true;
            match found {
                Value::Null => drop(sent.remove(*key)),
                Value::String(text) if text.is_empty() => drop(sent.remove(*key)),
                found => drop(sent.insert((*key).to_owned(), found.clone())),
            }
        }
        if sent == self.sent {
            return (known, false);
        }
        let read = read_value(&said(&Value::Object(sent.clone())));
        (self.sent, self.layer) = (sent, Arc::new(read.layer));
        let trouble = read.problems.iter().filter(|found| found.severity == ohmline_syntax::Severity::Error);
        let line = |found: &ohmline_syntax::Diagnostic| {
            let help = found.help.iter().map(|help| format!(". {help}")).collect::<String>();
            format!("Settings of the editor: {}{help}", found.message)
        };
        self.wrong = trouble.map(line).collect();
        (known, true)
    }
}

/// The value of a key, wherever editors put it.
fn find<'v>(value: &'v Value, key: &str, from: From) -> Option<&'v Value> {
    value
        .get("ohmline")
        .and_then(|section| section.get(key))
        .or_else(|| value.get(format!("ohmline.{key}")))
        .or_else(|| value.get(key).filter(|_| from == From::Ours))
}

/// A value of JSON without places.
fn said(value: &Value) -> Said {
    let at = Span::new(0, 0);
    let kind = match value {
        Value::Null => Kind::Nothing,
        Value::Bool(truth) => Kind::Truth(*truth),
        Value::Number(number) => Kind::Number(number.as_f64().unwrap_or(f64::NAN)),
        Value::String(text) => Kind::Text(text.clone()),
        Value::Array(list) => Kind::List(list.iter().map(said).collect()),
        Value::Object(object) => {
            Kind::Table(object.iter().map(|(key, own)| Entry { key: key.clone(), at, value: said(own) }).collect())
        }
    };
    Said { at, kind }
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;

    #[test]
    fn every_shape_that_editors_send() {
        for value in [
            json!({"ohmline": {"voice": "learner", "hints": {"paths": true}, "levels": {"style": "off"}}}),
            json!({"ohmline.voice": "learner", "ohmline.levels": {"style": "off"}}),
            json!({"voice": "learner", "levels": {"style": "off"}}),
        ] {
            let mut choice = Choice::default();
            assert_eq!(choice.update(&value, From::Ours), (true, true), "{value}");
            assert_eq!(choice.layer.voice.as_ref().map(|voice| voice.what.word()), Some("learner"));
            assert_eq!(choice.layer.levels.len(), 1);
            // The same again is no news; a key that is taken back is.
            let before = choice.layer.clone();
            assert_eq!(choice.update(&value, From::Ours), (true, false));
            assert!(Arc::ptr_eq(&before, &choice.layer) && choice.wrong.is_empty());
            choice.update(&json!({"ohmline": {"voice": null}}), From::Everyone);
            assert_eq!((choice.layer.voice.is_none(), choice.layer.levels.len()), (true, 1));
        }
    }

    #[test]
    fn what_is_wrong_is_told_once_and_what_is_of_others_is_left() {
        let mut choice = Choice::default();
        assert_eq!(choice.update(&json!({"voice": "learner"}), From::Everyone), (false, false));
        let wrong = json!({"ohmline": {"levels": {"stile": "off"}, "voice": 3}});
        assert_eq!(choice.update(&wrong, From::Everyone), (true, true));
        let told = &choice.wrong;
        assert!(told.len() == 2 && told.iter().any(|line| line.contains("Write `style`")), "{told:?}");
        assert_eq!(choice.update(&wrong, From::Everyone), (true, false));
        for value in [json!(null), json!([]), json!({"ohmline": 3}), json!("voice")] {
            assert_eq!(choice.update(&value, From::Ours), (false, false));
        }
    }
}
