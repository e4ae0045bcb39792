//! Semantic tokens: what each word is, whole, in part, and as the difference from what was sent last.

use std::collections::HashMap;
use std::sync::{Mutex, PoisonError};

use ohmline_assist::tokens::{Colored, Sort, colored};
use ohmline_syntax::Span;
use tower_lsp::lsp_types::{
    SemanticToken, SemanticTokenModifier, SemanticTokenType, SemanticTokens, SemanticTokensDelta, SemanticTokensEdit,
    SemanticTokensFullDeltaResult, SemanticTokensFullOptions, SemanticTokensLegend, SemanticTokensOptions, Url,
    WorkDoneProgressOptions,
};

use crate::documents::Snapshot;
use crate::editor::Editor;
use crate::proto::Places;
use crate::written::Write;

/// The types, in the order of their numbers; standard ones of the protocol throughout (`label` since 3.18).
const TYPES: &[(Sort, SemanticTokenType)] = &[
    (Sort::Comment, SemanticTokenType::COMMENT),
    (Sort::Keyword, SemanticTokenType::KEYWORD),
    (Sort::Kind, SemanticTokenType::TYPE),
    (Sort::Part, SemanticTokenType::CLASS),
    (Sort::Element, SemanticTokenType::VARIABLE),
    (Sort::Junction, SemanticTokenType::new("label")),
    (Sort::Port, SemanticTokenType::INTERFACE),
    (Sort::Parameter, SemanticTokenType::PARAMETER),
    (Sort::Value, SemanticTokenType::MACRO),
    (Sort::Field, SemanticTokenType::PROPERTY),
    (Sort::Quantity, SemanticTokenType::FUNCTION),
    (Sort::State, SemanticTokenType::ENUM_MEMBER),
    (Sort::Number, SemanticTokenType::NUMBER),
    (Sort::Text, SemanticTokenType::STRING),
    (Sort::Sign, SemanticTokenType::OPERATOR),
    (Sort::Rule, SemanticTokenType::DECORATOR),
];

const DECLARES: u32 = 1;
const DOCUMENTS: u32 = 2;

/// What the editor is told about them.
pub fn options() -> SemanticTokensOptions {
    SemanticTokensOptions {
        work_done_progress_options: WorkDoneProgressOptions::default(),
        legend: SemanticTokensLegend {
            token_types: TYPES.iter().map(|(_, name)| name.clone()).collect(),
            token_modifiers: vec![SemanticTokenModifier::DECLARATION, SemanticTokenModifier::DOCUMENTATION],
        },
        range: Some(true),
        full: Some(SemanticTokensFullOptions::Delta { delta: Some(true) }),
    }
}

/// The tokens of a stretch of the document, or of all of it.
pub fn tokens(snapshot: &Snapshot, editor: Editor, range: Option<Span>) -> Vec<SemanticToken> {
    let range = range.unwrap_or(Span::new(0, u32::MAX));
    let mut out = Vec::new();
    let (mut line, mut column) = (0, 0);
    for circuit in snapshot.circuits() {
        let places = Places::new(circuit, editor);
        for Colored { span, sort, declares, documents } in colored(&circuit.analysis, circuit.names(), range) {
            let at = places.range(span);
            let number = TYPES.iter().position(|(own, _)| *own == sort).unwrap_or_default();
            let same = at.start.line == line;
            out.push(SemanticToken {
                delta_line: at.start.line - line,
                delta_start: if same { at.start.character - column } else { at.start.character },
                length: at.end.character.saturating_sub(at.start.character),
                token_type: number as u32,
                token_modifiers_bitset: u32::from(declares) * DECLARES + u32::from(documents) * DOCUMENTS,
            });
            (line, column) = (at.start.line, at.start.character);
        }
    }
    out
}

/// What was sent last of each document, so that only a difference need be sent.
#[derive(Default)]
pub struct Sent(Mutex<(u64, HashMap<Url, (String, Vec<SemanticToken>)>)>);

impl Sent {
    fn keep(&self, uri: &Url, tokens: &[SemanticToken]) -> String {
        let mut sent = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        sent.0 += 1;
        let id = sent.0.to_string();
        sent.1.insert(uri.clone(), (id.clone(), tokens.to_vec()));
        id
    }

    /// Forgets a document.
    pub fn forget(&self, uri: &Url) {
        self.0.lock().unwrap_or_else(PoisonError::into_inner).1.remove(uri);
    }

    /// All tokens, under a number of their own.
    pub fn full(&self, uri: &Url, data: Vec<SemanticToken>) -> SemanticTokens {
        SemanticTokens { result_id: Some(self.keep(uri, &data)), data }
    }

    /// How the tokens differ from those sent under a number; all of them when that is not known any more.
    pub fn delta(&self, uri: &Url, from: &str, data: Vec<SemanticToken>) -> SemanticTokensFullDeltaResult {
        let old = {
            let sent = self.0.lock().unwrap_or_else(PoisonError::into_inner);
            sent.1.get(uri).filter(|(id, _)| id == from).map(|(_, old)| old.clone())
        };
        let Some(old) = old else { return SemanticTokensFullDeltaResult::Tokens(self.full(uri, data)) };
        let edits = difference(&old, &data).into_iter().collect();
        SemanticTokensFullDeltaResult::TokensDelta(SemanticTokensDelta {
            result_id: Some(self.keep(uri, &data)),
            edits,
        })
    }
}

impl Write for SemanticTokens {
    fn write(&self, out: &mut Vec<u8>) {
        out.reserve(11 * self.data.len());
        out.push(b'{');
        if let Some(id) = &self.result_id {
            // The number is ours: digits alone.
            out.extend_from_slice(format!("\"resultId\":\"{id}\",").as_bytes());
        }
        out.extend_from_slice(b"\"data\":[");
        for (at, token) in self.data.iter().enumerate() {
            let SemanticToken { delta_line, delta_start, length, token_type, token_modifiers_bitset } = *token;
            for (number, own) in
                [delta_line, delta_start, length, token_type, token_modifiers_bitset].iter().enumerate()
            {
                if at + number > 0 {
                    out.push(b',');
                }
                digits(*own, out);
            }
        }
        out.extend_from_slice(b"]}");
    }
}

/// Writes a number; nearly all are small.
fn digits(number: u32, out: &mut Vec<u8>) {
    if number >= 10 {
        digits(number / 10, out);
    }
    out.push(b'0' + (number % 10) as u8);
}

/// The one stretch in which two lists differ. Each token is five numbers.
fn difference(old: &[SemanticToken], new: &[SemanticToken]) -> Option<SemanticTokensEdit> {
    let start = old.iter().zip(new).take_while(|(a, b)| a == b).count();
    let (old_rest, new_rest) = (&old[start..], &new[start..]);
    let end = old_rest.iter().rev().zip(new_rest.iter().rev()).take_while(|(a, b)| a == b).count();
    let removed = old_rest.len() - end;
    let added = &new_rest[..new_rest.len() - end];
    (removed > 0 || !added.is_empty()).then(|| SemanticTokensEdit {
        start: 5 * start as u32,
        delete_count: 5 * removed as u32,
        data: (!added.is_empty()).then(|| added.to_vec()),
    })
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn token(number: u32) -> SemanticToken {
        SemanticToken { delta_line: 0, delta_start: number, length: 1, token_type: 0, token_modifiers_bitset: 0 }
    }

    proptest! {
        #[test]
        fn tokens_write_themselves_as_others_would(
            numbers in prop::collection::vec(prop::array::uniform5(prop_oneof![0u32..200, any::<u32>()]), 0..6), id in prop::option::of(0u64..999),
        ) {
            let token = |[delta_line, delta_start, length, token_type, token_modifiers_bitset]: [u32; 5]| {
                SemanticToken { delta_line, delta_start, length, token_type, token_modifiers_bitset }
            };
            let data = numbers.into_iter().map(token).collect();
            let tokens = SemanticTokens { result_id: id.map(|id| id.to_string()), data };
            let mut out = Vec::new();
            tokens.write(&mut out);
            prop_assert_eq!(out, serde_json::to_vec(&tokens).unwrap());
        }

        #[test]
        fn a_difference_leads_from_the_old_to_the_new(
            old in prop::collection::vec(0u32..3, 0..12), new in prop::collection::vec(0u32..3, 0..12),
        ) {
            let old: Vec<_> = old.into_iter().map(token).collect();
            let new: Vec<_> = new.into_iter().map(token).collect();
            let mut made = old.clone();
            if let Some(edit) = difference(&old, &new) {
                let start = edit.start as usize / 5;
                made.splice(start..start + edit.delete_count as usize / 5, edit.data.unwrap_or_default());
            }
            prop_assert_eq!(made, new);
        }
    }
}
