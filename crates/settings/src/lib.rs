//! What a project can choose, in its `ohmline.toml` or in its editor.
