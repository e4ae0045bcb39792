//! Emphasis on a terminal: escape sequences of ECMA-48 (SGR), or nothing at all.

/// How a stretch of text is meant.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Tone {
    /// As it is.
    Plain,
    /// A heading.
    Strong,
    /// Something holds.
    Good,
    /// Something is wrong.
    Bad,
    /// Something to think about.
    Doubt,
    /// A remark.
    Note,
    /// Beside the point.
    Faint,
}

/// Whether escape sequences are written. Nothing is ever said by color alone.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub struct Paint {
    /// Whether to write them.
    pub on: bool,
}

impl Paint {
    /// The text, painted if wished.
    pub fn tone(self, tone: Tone, text: &str) -> String {
        let code = match tone {
            _ if !self.on => return text.to_owned(),
            Tone::Plain => return text.to_owned(),
            Tone::Strong => "1",
            Tone::Good => "32",
            Tone::Bad => "1;31",
            Tone::Doubt => "33",
            Tone::Note => "36",
            Tone::Faint => "2",
        };
        format!("\x1b[{code}m{text}\x1b[0m")
    }
}
