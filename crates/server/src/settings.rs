//! What the user can choose: in the editor, and in the `ohmline.toml` of the circuits.

pub mod choice;
pub mod files;

use serde_json::Value;

/// The settings of the server.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Settings {
    /// `ohmline.hints.enabled`: whether solved values are shown in the text at all.
    pub hints: bool,
    /// `ohmline.hints.paths`: whether they are shown along the paths too.
    pub path_hints: bool,
}

impl Default for Settings {
    fn default() -> Self {
        Self { hints: true, path_hints: false }
    }
}

/// Where settings come from.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum From {
    /// What was sent for us alone: the options of the start, or our section as asked for.
    Ours,
    /// A notice of changed settings, which may speak of those of others.
    Everyone,
}

impl Settings {
    /// Takes over what a message sets and leaves the rest. Editors send the section itself, the section under its name, or
    /// keys with dots; all are read. Returns whether anything in it was ours.
    ///
    /// Keys without our name are read only in `from` that can hold nothing but ours.
    pub fn update(&mut self, value: &Value, from: From) -> bool {
        let mut known = false;
        for (key, field) in [("enabled", &mut self.hints), ("paths", &mut self.path_hints)] {
            if let Some(set) = find(value, key, from) {
                *field = set;
                known = true;
            }
        }
        known
    }
}

fn find(value: &Value, key: &str, from: From) -> Option<bool> {
    let nested = |root: &Value| root.get("hints").and_then(|hints| hints.get(key)).and_then(Value::as_bool);
    let dotted = |root: &Value, prefix: &str| root.get(format!("{prefix}hints.{key}")).and_then(Value::as_bool);
    let section = value.get("ohmline");
    section
        .and_then(nested)
        .or_else(|| section.and_then(|section| dotted(section, "")))
        .or_else(|| dotted(value, "ohmline."))
        .or_else(|| nested(value).filter(|_| from == From::Ours))
        .or_else(|| dotted(value, "").filter(|_| from == From::Ours))
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;

    #[test]
    fn every_shape_that_editors_send() {
        for value in [
            json!({"ohmline": {"hints": {"enabled": false, "paths": true}}}),
            json!({"ohmline": {"hints.enabled": false, "hints.paths": true}}),
            json!({"ohmline.hints.enabled": false, "ohmline.hints.paths": true}),
            json!({"hints": {"enabled": false, "paths": true}}),
            json!({"hints.enabled": false, "hints.paths": true}),
        ] {
            let mut settings = Settings::default();
            assert!(settings.update(&value, From::Ours), "{value}");
            assert_eq!(settings, Settings { hints: false, path_hints: true }, "{value}");
        }
    }

    #[test]
    fn a_notice_to_everyone_is_ours_only_by_name() {
        for value in [json!({"hints": {"enabled": false}}), json!({"hints.enabled": false, "other.hints.paths": true})]
        {
            let mut settings = Settings::default();
            assert!(!settings.update(&value, From::Everyone), "{value}");
            assert_eq!(settings, Settings::default());
        }
        for value in [json!({"ohmline": {"hints": {"enabled": false}}}), json!({"ohmline.hints.enabled": false})] {
            let mut settings = Settings::default();
            assert!(settings.update(&value, From::Everyone), "{value}");
            assert!(!settings.hints);
        }
    }

    #[test]
    fn what_is_not_ours_or_of_a_wrong_type_changes_nothing() {
        for value in [json!(null), json!([]), json!({"ohmline": 3}), json!({"hints": {"enabled": "no"}}), json!("x")] {
            let mut settings = Settings::default();
            assert!(!settings.update(&value, From::Ours), "{value}");
            assert_eq!(settings, Settings::default());
        }
    }

    #[test]
    fn one_setting_leaves_the_other() {
        let mut settings = Settings { hints: false, path_hints: false };
        assert!(settings.update(&json!({"ohmline": {"hints": {"paths": true}}}), From::Everyone));
        assert_eq!(settings, Settings { hints: false, path_hints: true });
    }
}
