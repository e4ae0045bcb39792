//! Sources that become one: those in one line, and equal cells side by side.

use malachite::Rational;
use smol_str::SmolStr;

use super::wording::{capital, emf_symbol, internal_symbol, shorten};
use super::{LONGEST_NAME, Record, Reduction};
use crate::line::{Equation, Figure, Line, Statement};
use crate::model::{Replacement, Rule, Step};
use crate::net::{Behavior, Net, Part, Placed, Shape as NameShape};

impl Reduction<'_> {
    /// Sources that meet where nothing else is joined.
    pub(super) fn merge_adjacent_sources(&mut self) {
        loop {
            let found = self.net.live_points().into_iter().find_map(|point| match self.net.at(point)[..] {
                [one, other] if one.far(point) != other.far(point) => {
                    let emf = |placed: Placed| matches!(self.part(placed.part).behavior, Behavior::Emf { .. });
                    (emf(one) && emf(other)).then_some((point, one, other))
                }
                _ => None,
            });
            let Some((point, one, other)) = found else { return };
            // The whole line of sources.
            let mut line = vec![one, other];
            let grow = |line: &[Placed], mut at: usize, net: &Net| {
                let mut more = Vec::new();
                loop {
                    let here = net.at(at);
                    let known = |placed: &Placed| line.contains(placed) || more.contains(placed);
                    let [a, b] = here[..] else { return more };
                    let next = if known(&a) { b } else { a };
                    if known(&next) || !matches!(net.parts[next.part].behavior, Behavior::Emf { .. }) {
                        return more;
                    }
                    more.push(next);
                    at = next.far(at);
                }
            };
            let before = grow(&line, one.far(point), &self.net);
            let after = grow(&line, other.far(point), &self.net);
            line = before.into_iter().rev().chain(line).chain(after).collect();
            if line.len() == self.net.placed.len() {
                // Sources alone in a ring: the loop step takes them.
                return;
            }
            let from = if line[1].touches(line[0].to) { line[0].from } else { line[0].to };
            self.source_line(&line, from, "they meet and nothing else is joined between them");
        }
    }

    /// Replaces sources in one line, which begins at `from`, by one.
    pub(super) fn source_line(&mut self, line: &[Placed], from: usize, evidence: &str) -> Placed {
        let mut at = from;
        let mut emf = Rational::from(0);
        let mut internal = Rational::from(0);
        let mut members = Vec::new();
        for placed in line {
            let against = placed.from != at;
            if let Behavior::Emf { emf: own, internal: r } = &self.part(placed.part).behavior {
                if against {
                    emf -= own
                } else {
                    emf += own
                }
                internal += r;
            }
            members.push((placed.part, against));
            at = placed.far(at);
        }
        let (mut from, mut to) = (from, at);
        if emf < 0 {
            emf = -emf;
            std::mem::swap(&mut from, &mut to);
            members.iter_mut().for_each(|member| member.1 = !member.1);
        }
        let mut ordered = members.clone();
        ordered.sort_by_key(|(part, against)| (*against, self.part(*part).span));
        let mut name = String::new();
        for (part, against) in &ordered {
            let sign = if *against { "-" } else { "+" };
            if !name.is_empty() || *against {
                name.push_str(sign);
            }
            name.push_str(self.name(*part));
        }
        let span = (
            ordered.iter().map(|(part, _)| self.part(*part).span.0).min().unwrap_or(0),
            ordered.iter().map(|(part, _)| self.part(*part).span.1).max().unwrap_or(0),
        );
        let gone: Vec<usize> = line.iter().map(|placed| placed.part).collect();
        if name.chars().count() > LONGEST_NAME {
            let (first, last) = self.ends(&gone);
            name = format!("{first}…{last}");
        }
        while self.names.contains(name.as_str()) {
            name.push('′');
        }
        let parts: Vec<Part> = ordered.iter().map(|(part, _)| self.part(*part).clone()).collect();
        let names: Vec<SmolStr> = parts.iter().map(|part| part.name.clone()).collect();
        let opposed = ordered.iter().any(|(_, against)| *against) && ordered.iter().any(|(_, against)| !*against);
        let how = if opposed { "oppose each other" } else { "aid each other" };
        let mut lines = vec![Statement::say(format!(
            "{}. {}",
            capital(evidence),
            if opposed {
                "Emfs that point the same way add, those that point the other way are taken away."
            } else {
                "They all point the same way, so their emfs add."
            }
        ))];
        let mut formula = String::new();
        let mut numbers = String::new();
        let mut figures = Vec::new();
        for (part, (_, against)) in parts.iter().zip(&ordered) {
            if let Behavior::Emf { emf, .. } = &part.behavior {
                let sign = match (*against, formula.is_empty()) {
                    (false, true) => "",
                    (true, true) => "-",
                    (false, false) => " + ",
                    (true, false) => " - ",
                };
                formula = format!("{formula}{sign}{}", emf_symbol(self.circuit, part));
                numbers = format!("{numbers}{sign}#");
                figures.push(Figure::volt(emf).given_if(part.given));
            }
        }
        lines.push(Statement::Equation(
            Equation::new(format!("emf({name})")).is(formula).put(&numbers, figures).gives(Figure::volt(&emf)),
        ));
        let real: Vec<&Part> = parts
            .iter()
            .filter(|part| matches!(&part.behavior, Behavior::Emf { internal, .. } if *internal != 0))
            .collect();
        if real.len() > 1 {
            lines.push(Statement::say("Their internal resistances lie in the same line and add, too."));
        }
        if !real.is_empty() {
            let symbols: Vec<String> = real.iter().map(|part| internal_symbol(self.circuit, part)).collect();
            let marks = vec!["#"; real.len()].join(" + ");
            let equation = Equation::new(format!("({name}).internal")).is(symbols.join(" + "));
            let equation =
                if real.len() > 1 { equation.put(&marks, real.iter().map(|part| part.ohms())) } else { equation };
            lines.push(Statement::Equation(equation.gives(Figure::ohm(&internal))));
        }
        let value = Figure::volt(&emf);
        let behavior = Behavior::Emf { emf, internal };
        let part = self.add_part(name.into(), NameShape::Sum, false, behavior, span, &gone);
        let placed = Placed { part, from, to };
        self.before.push(self.net.stage(&[]));
        self.replace(&gone, placed);
        self.records.push(Record::Sources { rule: Rule::SeriesSources, members, result: part });
        let replaced = Replacement {
            rule: Rule::SeriesSources,
            replaces: names.clone(),
            by: self.name(part).clone(),
            value: Some(value),
            evidence: evidence.to_owned(),
        };
        self.steps.push(Step {
            heading: format!("{} {how}", shorten(&names)),
            lines,
            about: names.clone(),
            replaced: vec![replaced],
            stage: Some(self.net.stage(&[(part, names)])),
        });
        placed
    }

    /// Equal cells, each with internal resistance, side by side the same way round.
    pub(super) fn merge_equal_cells(&mut self) {
        loop {
            let sources = self.net.sources();
            let same = |one: &Placed, other: &Placed| {
                one.from == other.from
                    && one.to == other.to
                    && matches!(&self.part(one.part).behavior, Behavior::Emf { internal, .. } if *internal != 0)
                    && self.part(one.part).behavior == self.part(other.part).behavior
            };
            let group = sources
                .iter()
                .map(|one| sources.iter().copied().filter(|other| same(one, other)).collect::<Vec<_>>())
                .find(|group| group.len() > 1 && group.len() < self.net.placed.len());
            let Some(group) = group else { return };
            let first = self.part(group[0].part).clone();
            let Behavior::Emf { emf, internal } = first.behavior.clone() else { return };
            let count = group.len();
            let each = &internal / Rational::from(count);
            let names: Vec<SmolStr> = group.iter().map(|placed| self.name(placed.part).clone()).collect();
            let parts: Vec<usize> = group.iter().map(|placed| placed.part).collect();
            let span = (first.span.0, self.part(parts[count - 1]).span.1);
            let (name, _) = self.compose(&parts, Rule::Parallel);
            let evidence = format!(
                "they are equal, and all + ends are joined at {}, all - ends at {}",
                self.net.label(group[0].from),
                self.net.label(group[0].to)
            );
            let lines = vec![
                Statement::say(format!("{}.", capital(&evidence))),
                Statement::Say(Line::of(
                    "They share the current evenly, so together they act as one cell of the same emf, #, with the \
                     internal resistances in parallel.",
                    [Figure::volt(&emf).given_if(first.given)],
                )),
                Statement::Equation(
                    Equation::new(format!("({name}).internal"))
                        .is(format!("{} / {count}", internal_symbol(self.circuit, &first)))
                        .put(&format!("# / {count}"), [first.ohms()])
                        .gives(Figure::ohm(&each)),
                ),
            ];
            let behavior = Behavior::Emf { emf: emf.clone(), internal: each };
            let part = self.add_part(name, NameShape::Beside, false, behavior, span, &parts);
            let placed = Placed { part, ..group[0] };
            self.before.push(self.net.stage(&[]));
            self.replace(&parts, placed);
            let members = parts.iter().map(|&part| (part, false)).collect();
            self.records.push(Record::Sources { rule: Rule::EqualCells, members, result: part });
            let replaced = Replacement {
                rule: Rule::EqualCells,
                replaces: names.clone(),
                by: self.name(part).clone(),
                value: Some(Figure::volt(&emf)),
                evidence,
            };
            self.steps.push(Step {
                heading: format!("{} act as one cell", shorten(&names)),
                lines,
                about: names.clone(),
                replaced: vec![replaced],
                stage: Some(self.net.stage(&[(part, names)])),
            });
        }
    }
}
