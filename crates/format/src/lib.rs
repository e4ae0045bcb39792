//! A text of the notation, spelled and aligned in one way.
