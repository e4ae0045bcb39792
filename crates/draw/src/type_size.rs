//! How wide a text is when set in the embedded font.

use crate::widths::{REGULAR, SEMIBOLD};

/// A face of the embedded font.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Face {
    /// Values and remarks.
    Regular,
    /// Names.
    SemiBold,
}

/// Width of a character in thousandths of the type size; for one that the font lacks, that of a wide one.
pub fn advance(face: Face, character: char) -> u16 {
    let table = match face {
        Face::Regular => REGULAR,
        Face::SemiBold => SEMIBOLD,
    };
    let code = character as u32;
    let run = table.partition_point(|run| run.0 <= code);
    run.checked_sub(1)
        .and_then(|at| table[at].1.get((code - table[at].0) as usize))
        .copied()
        .unwrap_or(if code >= 0x1100 { 1000 } else { 700 })
}

/// Width of a text at a type size, rounded up.
pub fn width(face: Face, size: i32, text: &str) -> i32 {
    let sum: i64 = text.chars().map(|character| i64::from(advance(face, character))).sum();
    i32::try_from((sum * i64::from(size) + 999) / 1000).unwrap_or(i32::MAX / 4).min(1 << 20)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sums_advances() {
        let one = width(Face::Regular, 1000, "R");
        assert_eq!(width(Face::Regular, 1000, "RR"), 2 * one);
        assert!(width(Face::SemiBold, 1000, "R") > one, "a bolder face is wider");
        assert_eq!(width(Face::Regular, 14, ""), 0);
    }

    #[test]
    fn an_unknown_character_is_wide() {
        assert_eq!(advance(Face::Regular, '漢'), 1000);
    }
}
