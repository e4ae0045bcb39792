//! Text to tokens, lossless: every byte of the text belongs to exactly one token.
