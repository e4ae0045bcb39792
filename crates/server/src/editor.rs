//! What the editor can do, as it said at the start.

use ohmline_syntax::Encoding;

/// What the editor can do, as it said.
#[derive(Clone, Copy, Debug)]
pub struct Editor {
    /// What columns count.
    pub encoding: Encoding,
    /// Hover in Markdown.
    pub markdown: bool,
    /// Other places of a diagnostic.
    pub related: bool,
    /// Edits that name the version they are for.
    pub versioned_edits: bool,
    /// Asking for settings.
    pub configuration: bool,
    /// Telling us later that we want to hear of changed settings.
    pub register_configuration: bool,
    /// Telling us later which files to watch.
    pub register_watch: bool,
    /// Asking for inlay hints again.
    pub refresh_hints: bool,
    /// Quick fixes as edits, not as commands.
    pub action_literals: bool,
    /// Completions with places to fill in.
    pub snippets: bool,
}

impl Default for Editor {
    fn default() -> Self {
        Self {
            encoding: Encoding::Utf16,
            markdown: false,
            related: false,
            versioned_edits: false,
            configuration: false,
            register_configuration: false,
            register_watch: false,
            refresh_hints: false,
            action_literals: false,
            snippets: false,
        }
    }
}
