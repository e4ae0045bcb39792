//! What was asked for, claimed and measured.

use ohmline_circuit::quantity::{Number, Style};
use ohmline_lint::words;

use super::Page;
use crate::amounts::{self, Shower, UNDETERMINED};
use crate::paint::Tone;
use crate::table::{Cell, Table, clean, width, wrap};

impl Page<'_> {
    pub(super) fn finds(&mut self) {
        let mut table = Table::new(["", "", ""]);
        for (ask, answer) in self.circuit.finds.iter().zip(&self.analysis.answers.finds) {
            if !self.wanted(ask.state) {
                continue;
            }
            let value = match &answer.value {
                Ok(number) => match self.answers(ask.state) {
                    Some(answers) => Cell::shown(&Shower::new(self.options.style, answers).number(number, answer.unit)),
                    None => Cell::empty(),
                },
                Err(_) => Cell::text(UNDETERMINED),
            };
            table.row(vec![Cell::text(clean(&amounts::question(ask))), value, Cell::text(self.in_case(ask.state))]);
        }
        if !table.is_empty() {
            self.heading("Asked for");
            self.table(&table);
        }
    }

    pub(super) fn claims(&mut self) {
        let context = self.analysis.context();
        let mut lines = Vec::new();
        for (index, claim) in self.circuit.claims.iter().enumerate() {
            let state = match claim {
                ohmline_circuit::Claim::Value { ask, .. } => ask.state,
                ohmline_circuit::Claim::Relation { state, .. } => *state,
            };
            if self.wanted(state) {
                lines.push((words::claim(&context, index), state));
            }
        }
        if lines.is_empty() {
            return;
        }
        self.heading("Claims");
        let mut rows = Vec::new();
        for (answer, state) in lines {
            let (word, tone) = match answer.holds {
                Some(true) => ("holds", Tone::Good),
                Some(false) => ("fails", Tone::Bad),
                None => (UNDETERMINED, Tone::Doubt),
            };
            let case = self.in_case(state);
            let text = match (answer.text.contains(&case), case.is_empty()) {
                (_, true) | (true, _) => answer.text,
                _ => format!("{} {case}", answer.text),
            };
            let how = match answer.how {
                "reduction" => " (after reduction)",
                "steady-state" => " (in the steady state only)",
                _ => "",
            };
            rows.push((word, tone, clean(&text), clean(&format!("{}{how}", answer.why))));
        }
        // Reasons stand in a column of their own, beside all claims but unusually long ones.
        let words = rows.iter().map(|(word, ..)| width(word)).max().unwrap_or(0);
        let column = rows.iter().map(|(_, _, text, _)| width(text)).filter(|wide| *wide <= 48).max().unwrap_or(0);
        let reasons = 2 + words + 3 + column + 3;
        let indent = 2 + words + 3;
        for (word, tone, text, why) in rows {
            let mut line = format!("  {}", self.options.paint.tone(tone, word));
            line.extend(std::iter::repeat_n(' ', words - width(word) + 3));
            let beside = column.checked_sub(width(&text)).map(|short| short + 3);
            let mut parts = Vec::new();
            match beside {
                Some(blanks) => {
                    line.push_str(&text);
                    line.extend(std::iter::repeat_n(' ', blanks));
                    let room = self.options.width.saturating_sub(reasons).max(30);
                    parts.extend(wrap(&why, room).into_iter().map(|part| (reasons, part)));
                }
                // Its reason stands below, in the column of reasons.
                None => {
                    let room = self.options.width.saturating_sub(indent).max(30);
                    parts.extend(wrap(&text, room).into_iter().map(|part| (indent, part)));
                    let room = self.options.width.saturating_sub(reasons).max(30);
                    parts.extend(wrap(&why, room).into_iter().map(|part| (reasons, part)));
                }
            }
            for (at, (indent, part)) in parts.into_iter().enumerate() {
                if at > 0 {
                    line.push('\n');
                    line.extend(std::iter::repeat_n(' ', indent));
                }
                line.push_str(&part);
            }
            self.out.push_str(line.trim_end());
            self.out.push('\n');
        }
    }

    pub(super) fn measured(&mut self) {
        let mut table = Table::new(["quantity", "read", "predicted", "", ""]);
        for (reading, verdict) in self.circuit.measured.iter().zip(&self.analysis.answers.measured) {
            let state = reading.ask.state;
            let (true, Some(answers)) = (self.wanted(state), self.answers(state)) else { continue };
            let shower = Shower::new(self.options.style, answers);
            let stated = match reading.stated.digits {
                0 => self.options.style,
                digits => Style::Digits(digits),
            };
            let read =
                ohmline_circuit::quantity::show(&Number::exact(reading.stated.value.clone()), verdict.unit, stated);
            table.row(vec![
                Cell::text(clean(&amounts::question(&reading.ask))),
                Cell::shown(&read),
                match &verdict.predicted {
                    Ok(number) => Cell::shown(&shower.number(number, verdict.unit)),
                    Err(_) => Cell::text(UNDETERMINED),
                },
                Cell::text(match verdict.agrees {
                    Some(true) => "agrees",
                    Some(false) => "disagrees",
                    None => "not compared",
                }),
                Cell::text(self.in_case(state)),
            ]);
        }
        if !table.is_empty() {
            self.heading("Measured");
            self.table(&table);
        }
    }
}
