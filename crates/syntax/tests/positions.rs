//! Positions, in the three encodings of the Language Server Protocol 3.17 ("PositionEncodingKind").

use ohmline_syntax::{Encoding, LineCol, LineIndex};
use proptest::prelude::*;

const ENCODINGS: [Encoding; 3] = [Encoding::Utf8, Encoding::Utf16, Encoding::Utf32];
const TEXT: &str = "R1 = 9 Ω\r\n🚢 quay\u{2028}still line 1\n\r\re\u{301}nd\n\u{FEFF}µ\r";

fn round_trip(text: &str) {
    let index = LineIndex::new(text);
    for offset in (0..=text.len()).filter(|&offset| text.is_char_boundary(offset)) {
        // Between CR and LF there is no position of its own: an editor has its cursor before or behind both.
        if text[..offset].ends_with('\r') && text[offset..].starts_with('\n') {
            continue;
        }
        for encoding in ENCODINGS {
            let at = index.line_col(text, offset as u32, encoding);
            assert_eq!(index.offset(text, at, encoding) as usize, offset, "{text:?} {at:?} {encoding:?}");
        }
    }
}

fn at(line: u32, col: u32) -> LineCol {
    LineCol { line, col }
}

#[test]
fn every_boundary_comes_back() {
    round_trip(TEXT);
    round_trip("");
    round_trip("\n");
    round_trip("a\r\n");
}

#[test]
fn lines_end_with_lf_crlf_and_cr_only() {
    let index = LineIndex::new(TEXT);
    assert_eq!(index.line_count(), 7);
    assert_eq!(index.line_start(1), Some(11));
    assert_eq!(index.line_start(7), None);
    assert_eq!(LineIndex::new("").line_count(), 1);
}

#[test]
fn columns_count_what_the_encoding_counts() {
    let index = LineIndex::new(TEXT);
    let quay = TEXT.find("quay").expect("the text has it") as u32;
    assert_eq!(index.line_col(TEXT, quay, Encoding::Utf8), at(1, 5));
    assert_eq!(index.line_col(TEXT, quay, Encoding::Utf16), at(1, 3));
    assert_eq!(index.line_col(TEXT, quay, Encoding::Utf32), at(1, 2));
}

#[test]
fn positions_clamp() {
    let index = LineIndex::new(TEXT);
    let ship = index.line_start(1).expect("there is a second line");
    for encoding in ENCODINGS {
        assert_eq!(index.offset(TEXT, at(99, 0), encoding) as usize, TEXT.len());
        assert_eq!(index.offset(TEXT, at(u32::MAX, u32::MAX), encoding) as usize, TEXT.len());
        assert_eq!(index.offset(TEXT, at(0, 99), encoding), 9, "before the CR");
        assert_eq!(index.line_col(TEXT, u32::MAX, encoding), at(6, 0));
        assert_eq!(index.line_col(TEXT, 10, encoding), index.line_col(TEXT, 9, encoding), "between CR and LF");
        assert_eq!(index.line_col(TEXT, ship + 2, encoding), at(1, 0), "inside the ship");
    }
    assert_eq!(index.offset(TEXT, at(1, 1), Encoding::Utf16), ship, "between the surrogates of the ship");
    assert_eq!(index.offset(TEXT, at(1, 2), Encoding::Utf8), ship, "inside the ship");
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 128, ..ProptestConfig::default() })]

    #[test]
    fn any_text_round_trips(text in "[a\\r\\n\u{2028}ΩµÅ🚢e\u{301} ]{0,30}") {
        round_trip(&text);
    }

    #[test]
    fn any_position_is_answered(text in "[a\\r\\nΩ🚢]{0,20}", line: u32, col: u32, near in 0u32..8, offset: u32) {
        let index = LineIndex::new(&text);
        for encoding in ENCODINGS {
            for at in [at(line, col), at(near, col), at(near, near), at(line, near)] {
                let offset = index.offset(&text, at, encoding) as usize;
                prop_assert!(text.is_char_boundary(offset));
            }
            index.line_col(&text, offset, encoding);
            index.line_col("another text", offset, encoding);
            index.offset("🚢", at(near, near), encoding);
        }
    }
}
