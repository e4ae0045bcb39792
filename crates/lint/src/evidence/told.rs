//! A proof as lines for people, the same in the terminal, in an editor and on a page.

use ohmline_syntax::{Evidence, EvidenceKind, EvidenceSide};

use crate::wording;

/// A proof in words.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Told {
    /// What it is, without a colon: `a closed path`, `all that joins two sides, in "night"`.
    pub title: String,
    /// One line a step, then one for each side of a cut; none has a final period.
    pub lines: Vec<String>,
    /// What follows from it, without a final period.
    pub conclusion: String,
}

impl Told {
    /// Tells at most so many steps; of longer proofs one more line says how many are left out.
    pub fn new(proof: &Evidence, most: usize) -> Self {
        let what = match proof.kind {
            EvidenceKind::Loop => "a closed path",
            EvidenceKind::Cut => "all that joins two sides",
            EvidenceKind::Points => "the points",
            EvidenceKind::Wires => "the wires",
            EvidenceKind::Lines => "two lines between the same points",
            EvidenceKind::Core => "what series and parallel leave",
            EvidenceKind::Piece if proof.steps.iter().any(|step| step.element.is_none()) => {
                "a part, and where it meets the rest"
            }
            EvidenceKind::Piece => "all that hangs together",
        };
        let title = match &proof.case {
            Some(case) => format!("{what}, in \"{case}\""),
            None => what.to_owned(),
        };
        let mut lines: Vec<String> = proof.steps.iter().take(most).map(|step| step.text.clone()).collect();
        match proof.steps.len().saturating_sub(most) {
            0 => {}
            1 => lines.push("and one more step".to_owned()),
            more => lines.push(format!("and {more} more steps")),
        }
        if let [one, other] = &proof.sides[..] {
            lines.push(format!("On one side {}", side(one)));
            lines.push(format!("On the other side {}", side(other)));
        }
        Self { title, lines, conclusion: proof.conclusion.clone() }
    }
}

/// What lies on a side: its elements, or the points where there are none.
fn side(side: &EvidenceSide) -> String {
    let names: Vec<&str> = side.elements.iter().map(String::as_str).collect();
    let points: Vec<&str> = side.points.iter().map(String::as_str).collect();
    match side.elements.len() + side.more {
        0 if points.len() > 1 => format!("nothing but the points {}", wording::list(&points)),
        0 => format!("nothing but the point {}", wording::list(&points)),
        all if side.more == 0 && all <= 6 => wording::list(&names),
        all => format!("{} and {} more", names[..names.len().min(5)].join(", "), all - names.len().min(5)),
    }
}
