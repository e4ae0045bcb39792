//! What an editor can do with a circuit at a place in its text: complete, find, rename, rewrite.
