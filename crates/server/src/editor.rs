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
    /// Asking for code lenses again.
    pub refresh_lenses: bool,
    /// Asking for semantic tokens again.
    pub refresh_colors: bool,
    /// Asking for diagnostics by itself, and again when told to.
    pub pull: bool,
    /// Showing that work is under way.
    pub progress: bool,
    /// Opening an address in a browser.
    pub show_document: bool,
    /// Pieces of a signature by their offsets.
    pub label_offsets: bool,
    /// Quick fixes as edits, not as commands.
    pub action_literals: bool,
    /// Asking for the edits of an action once it is chosen.
    pub resolves_edits: bool,
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
            refresh_lenses: false,
            refresh_colors: false,
            pull: false,
            progress: false,
            show_document: false,
            label_offsets: false,
            action_literals: false,
            resolves_edits: false,
            snippets: false,
        }
    }
}
