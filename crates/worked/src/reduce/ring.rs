//! The loop that is left: closed to one source and one resistance, and solved.

use malachite::Rational;

use super::back::with_currents;
use super::wording::{emf_symbol, internal_symbol};
use super::{Reduction, Values};
use crate::line::{Equation, Figure, Line, Statement, list};
use crate::model::{Rule, Step};
use crate::net::{Behavior, Placed, Shape as NameShape};

impl Reduction<'_> {
    /// Makes the ring that is left a loop of one resistance and one source (a current source may stand beside it).
    pub fn close_ring(&mut self) {
        let Some(first) = self.net.sources().first().copied() else { return };
        // Round the ring, out of the first source's +.
        let mut ring = Vec::new();
        let mut at = first.from;
        let mut left: Vec<Placed> = self.net.placed.iter().copied().filter(|placed| *placed != first).collect();
        while let Some(next) = left.iter().position(|placed| placed.touches(at)) {
            let placed = left.remove(next);
            ring.push((placed, placed.from != at));
            at = placed.far(at);
        }
        let resistances: Vec<(usize, bool)> = ring
            .iter()
            .filter(|(placed, _)| !self.part(placed.part).is_source())
            .map(|(placed, against)| (placed.part, *against))
            .collect();
        let emfs: Vec<Placed> = std::iter::once(first)
            .chain(ring.iter().map(|(placed, _)| *placed))
            .filter(|placed| matches!(self.part(placed.part).behavior, Behavior::Emf { .. }))
            .collect();
        let sources: Vec<String> = self.net.sources().iter().map(|source| self.net.name(*source).to_owned()).collect();
        if resistances.len() > 1 {
            let evidence = format!("one loop leads through them and {}, without a branch", list(&sources));
            let span = (
                resistances.iter().map(|(part, _)| self.part(*part).span.0).min().unwrap_or(0),
                resistances.iter().map(|(part, _)| self.part(*part).span.1).max().unwrap_or(0),
            );
            let (from, to) = (
                first.from,
                ring.iter()
                    .find(|(placed, _)| placed.part == resistances[0].0)
                    .map_or(first.to, |(placed, against)| if *against { placed.from } else { placed.to }),
            );
            let placed = self.merge(Rule::Series, &resistances, from, to, span);
            let mut step = Step::default();
            self.describe(&mut step, Rule::Series, &resistances, placed.part, evidence, true);
            // Close the ring again: the resistance, then the other sources in their order.
            let others: Vec<(Placed, bool)> =
                ring.iter().copied().filter(|(placed, _)| self.part(placed.part).is_source()).collect();
            self.lay_ring(first, placed.part, &others);
            let names = step.about.clone();
            step.stage = Some(self.net.stage(&[(placed.part, names)]));
            self.steps.push(step);
        }
        if emfs.len() > 1 {
            let resistance = self.net.resistances().first().copied();
            let drive = self
                .net
                .sources()
                .into_iter()
                .find(|placed| matches!(self.part(placed.part).behavior, Behavior::Drive(_)));
            // In a ring the order does not matter: think all sources moved together, in the order of the way round.
            let mut direction: Vec<(usize, bool)> = Vec::new();
            let mut at = first.to;
            let mut left: Vec<Placed> = self.net.placed.clone();
            while let Some(next) = left.iter().position(|placed| placed.touches(at)) {
                let placed = left.remove(next);
                direction.push((placed.part, placed.from != at));
                at = placed.far(at);
                if left.is_empty() {
                    break;
                }
            }
            let emf_order: Vec<(usize, bool)> = direction
                .iter()
                .copied()
                .filter(|(part, _)| matches!(self.part(*part).behavior, Behavior::Emf { .. }))
                .collect();
            let points: Vec<usize> = (0..=emf_order.len()).map(|_| self.new_point()).collect();
            let line: Vec<Placed> = emf_order
                .iter()
                .enumerate()
                .map(|(index, (part, against))| {
                    let (a, b) = (points[index], points[index + 1]);
                    if *against {
                        Placed { part: *part, from: b, to: a }
                    } else {
                        Placed { part: *part, from: a, to: b }
                    }
                })
                .collect();
            let (begin, end) = (points[0], points[emf_order.len()]);
            self.net.points[begin].label = self.net.points[first.from].label.clone();
            self.net.points[end].label = self.net.points[first.to].label.clone();
            self.net.points[begin].named = true;
            self.net.points[end].named = true;
            self.net.points[begin].nodes = self.net.points[first.from].nodes.clone();
            self.net.points[end].nodes = self.net.points[first.to].nodes.clone();
            self.net.placed = line.clone();
            // The rest closes the ring from the end of the line back to its beginning, in the same sense.
            let rest: Vec<(usize, bool)> = direction
                .iter()
                .copied()
                .filter(|(part, _)| {
                    resistance.is_some_and(|placed| placed.part == *part)
                        || drive.is_some_and(|placed| placed.part == *part)
                })
                .collect();
            let mut at = end;
            for (index, (part, against)) in rest.iter().enumerate() {
                let next = if index + 1 == rest.len() { begin } else { self.new_point() };
                let placed = if *against {
                    Placed { part: *part, from: next, to: at }
                } else {
                    Placed { part: *part, from: at, to: next }
                };
                self.net.placed.push(placed);
                at = next;
            }
            self.source_line(&line, begin, "one current passes them all, so they act together as one source");
        }
    }

    pub(super) fn new_point(&mut self) -> usize {
        self.net.points.push(crate::net::Point { label: "the loop".into(), ..Default::default() });
        self.degrees.push(2);
        self.net.points.len() - 1
    }

    /// Lays a ring: the first source, a resistance from its +, the other sources.
    fn lay_ring(&mut self, first: Placed, resistance: usize, others: &[(Placed, bool)]) {
        let mut at = first.from;
        let mut placed = vec![first];
        let count = others.len();
        let mut next = if count == 0 { first.to } else { self.new_point() };
        placed.push(Placed { part: resistance, from: at, to: next });
        at = next;
        for (index, (other, against)) in others.iter().enumerate() {
            next = if index + 1 == count { first.to } else { self.new_point() };
            placed.push(if *against {
                Placed { part: other.part, from: next, to: at }
            } else {
                Placed { part: other.part, from: at, to: next }
            });
            at = next;
        }
        self.net.placed = placed;
    }

    /// Solves the loop that is left; the currents of what stands in it. `None` where only a resistance was asked for.
    pub fn solve_loop(&mut self) -> (Step, Option<Values>, Vec<Equation>) {
        let resistance = self.net.resistances().first().copied();
        let emf = self
            .net
            .sources()
            .into_iter()
            .find(|placed| matches!(self.part(placed.part).behavior, Behavior::Emf { .. }));
        let drive =
            self.net.sources().into_iter().find(|placed| matches!(self.part(placed.part).behavior, Behavior::Drive(_)));
        let mut step = Step::default();
        let mut values = Values::default();
        let mut equations = Vec::new();
        let zero = Rational::from(0);
        let ohms =
            resistance.map_or(zero.clone(), |placed| self.part(placed.part).resistance().cloned().unwrap_or_default());
        step.about = self.net.placed.iter().map(|placed| self.name(placed.part).clone()).collect();
        let Some(source) = drive.or(emf) else {
            // Only terminals: the resistance between them is the answer.
            if let Some(placed) = resistance {
                let part = self.part(placed.part);
                let ends = self.net.sources().first().copied().unwrap_or(placed);
                step.heading = "One resistance is left".to_owned();
                step.lines.push(Statement::Say(Line::of(
                    &format!(
                        "The resistance between {} and {} is #.",
                        self.net.label(ends.from),
                        self.net.label(ends.to)
                    ),
                    [part.ohms()],
                )));
            }
            return (step, None, equations);
        };
        let part = self.part(source.part).clone();
        let name = part.name.clone();
        let others: Vec<String> = self
            .net
            .placed
            .iter()
            .filter(|placed| placed.part != source.part)
            .map(|placed| self.name(placed.part).to_string())
            .collect();
        step.heading = if others.is_empty() {
            format!("One loop is left: {name} alone, joined end to end")
        } else {
            format!("One loop is left: {name} and {}", list(&others))
        };
        let begin = self.net.label(source.from).to_owned();
        // Current out of + of the source.
        let current;
        match &part.behavior {
            Behavior::Drive(amperes) => {
                current = amperes.clone();
                step.lines.push(Statement::say(format!(
                    "The current source fixes the current; it leaves {name} at {} and comes back at {}.",
                    if *amperes < 0 { "-" } else { "+" },
                    if *amperes < 0 { "+" } else { "-" }
                )));
                let equation = Equation::new(format!("I({name})"))
                    .is(format!("drive({name})"))
                    .gives(Figure::ampere(amperes).given_if(part.given));
                equations.push(equation.clone());
                step.lines.push(Statement::Equation(equation));
                let mut across = zero.clone();
                let mut terms = Vec::new();
                let mut figures = Vec::new();
                if let Some(placed) = resistance {
                    let own = self.part(placed.part).clone();
                    let along = placed.from == source.from
                        || emf.is_some_and(|emf| placed.from != emf.to && placed.from != source.to);
                    let signed = if along { current.clone() } else { -current.clone() };
                    let volts = &ohms * &current;
                    step.lines.push(Statement::Equation(
                        Equation::new(format!("V({})", own.name))
                            .is(format!("{} × I({name})", own.factor()))
                            .put("# × #", [own.ohms(), Figure::ampere(&current)])
                            .gives(Figure::volt(&volts)),
                    ));
                    terms.push(format!("V({})", own.name));
                    figures.push(Figure::volt(&volts));
                    across += &volts;
                    values.insert(placed.part, (signed.clone(), &ohms * &signed));
                }
                if let Some(placed) = emf {
                    let own = self.part(placed.part).clone();
                    if let Behavior::Emf { emf: volts, internal } = &own.behavior {
                        // The current of the source enters the emf at whichever end comes first.
                        let enters_plus = self.walk_enters_plus(source, placed);
                        let inside = if enters_plus { current.clone() } else { -current.clone() };
                        let terminal = volts + internal * &inside;
                        let sign = if enters_plus { "+" } else { "-" };
                        if *internal != 0 {
                            step.lines.push(Statement::say(if enters_plus {
                                format!("The current enters {} at +: it is charged, and its terminal voltage lies above its emf.", own.name)
                            } else {
                                format!("The current leaves {} at +, so its terminal voltage lies below its emf.", own.name)
                            }));
                        }
                        let mut equation = Equation::new(format!("V({})", own.name));
                        if *internal == 0 {
                            equation = equation.is(emf_symbol(self.circuit, &own));
                        } else {
                            equation = equation
                                .is(format!(
                                    "{} {sign} {} × I({name})",
                                    emf_symbol(self.circuit, &own),
                                    internal_symbol(self.circuit, &own)
                                ))
                                .put(
                                    &format!("# {sign} # × #"),
                                    [Figure::volt(volts).given_if(own.given), own.ohms(), Figure::ampere(&current)],
                                );
                        }
                        step.lines.push(Statement::Equation(equation.gives(Figure::volt(&terminal))));
                        let term = format!("V({})", own.name);
                        if enters_plus {
                            terms.push(term);
                            across += &terminal;
                        } else {
                            terms.push(format!("-{term}"));
                            across -= &terminal;
                        }
                        figures.push(Figure::volt(&terminal));
                        values.insert(placed.part, (inside, terminal));
                    }
                }
                if !terms.is_empty() {
                    let formula = terms.join(" + ").replace("+ -", "- ");
                    let marks =
                        terms.iter().map(|term| if term.starts_with('-') { "-#" } else { "#" }).collect::<Vec<_>>();
                    let mut equation = Equation::new(format!("V({name})")).is(formula);
                    if terms.len() > 1 {
                        equation = equation.put(&marks.join(" + ").replace("+ -", "- "), figures);
                    }
                    step.lines.push(Statement::Equation(equation.gives(Figure::volt(&across))));
                }
                values.insert(source.part, (-current, across));
            }
            Behavior::Emf { emf: volts, internal } => {
                let whole = &ohms + internal;
                current = if whole == 0 { zero.clone() } else { volts / &whole };
                let mut symbols = Vec::new();
                let mut figures = vec![Figure::volt(volts).given_if(part.given)];
                if let Some(placed) = resistance {
                    let own = self.part(placed.part);
                    symbols.push(own.summand());
                    figures.push(own.ohms());
                }
                if *internal != 0 {
                    symbols.push(internal_symbol(self.circuit, &part));
                    figures.push(part.ohms());
                    if resistance.is_some() {
                        step.lines
                            .push(Statement::say(format!("The internal resistance of {name} lies in the loop, too.")));
                    }
                }
                let (formula, marks) = match symbols.len() {
                    1 => {
                        let one = resistance.map_or_else(
                            || internal_symbol(self.circuit, &part),
                            |placed| self.part(placed.part).factor(),
                        );
                        (one, "# / #".to_owned())
                    }
                    _ => (format!("({})", symbols.join(" + ")), "# / (# + #)".to_owned()),
                };
                let equation = Equation::new(format!("I({name})"))
                    .is(format!("{} / {formula}", emf_symbol(self.circuit, &part)))
                    .put(&marks, figures)
                    .gives(Figure::ampere(&current));
                equations.push(equation.clone());
                step.lines.push(Statement::Equation(equation));
                step.lines.push(Statement::say(if current == 0 {
                    "No current flows in the loop.".to_owned()
                } else if part.shape == NameShape::Single && part.element.is_some() {
                    format!(
                        "The current leaves {name} at {}, passes {}, and comes back at {}.",
                        if current < 0 { "-" } else { "+" },
                        if others.is_empty() { "the wire".to_owned() } else { list(&others) },
                        if current < 0 { "+" } else { "-" }
                    )
                } else if self.net.points[source.from].named {
                    format!("The sources together drive it out at {begin}.")
                } else {
                    "The sources together drive it in the sense of the stronger.".to_owned()
                }));
                let terminal = volts - internal * &current;
                let mut equation = Equation::new(format!("V({name})"));
                if *internal == 0 {
                    equation = equation.is(emf_symbol(self.circuit, &part));
                } else {
                    equation = equation
                        .is(format!(
                            "{} - {} × I({name})",
                            emf_symbol(self.circuit, &part),
                            internal_symbol(self.circuit, &part)
                        ))
                        .put(
                            "# - # × #",
                            [Figure::volt(volts).given_if(part.given), part.ohms(), Figure::ampere(&current)],
                        );
                }
                if *internal != 0 || resistance.is_some() {
                    let given = *internal == 0 && part.given;
                    if let Some(placed) = resistance {
                        let other = self.name(placed.part);
                        step.lines.push(Statement::say(format!(
                            "The terminals of {name} are the ends of {other}, so both have the same voltage:"
                        )));
                        equation.sides.insert(0, Line::text(format!("V({other})")));
                    }
                    step.lines.push(Statement::Equation(equation.gives(Figure::volt(&terminal).given_if(given))));
                }
                if let Some(placed) = resistance {
                    let signed = if placed.from == source.from { current.clone() } else { -current.clone() };
                    values.insert(placed.part, (signed.clone(), &ohms * &signed));
                }
                values.insert(source.part, (-current, terminal));
            }
            Behavior::Resistance(_) | Behavior::Terminals => {}
        }
        step.stage = Some(with_currents(self.net.stage(&[]), &self.net, &values));
        (step, Some(values), equations)
    }

    /// Whether the current out of `source` reaches `emf` at its +.
    fn walk_enters_plus(&self, source: Placed, emf: Placed) -> bool {
        let mut at = source.from;
        let mut left: Vec<Placed> = self.net.placed.iter().copied().filter(|placed| *placed != source).collect();
        while let Some(next) = left.iter().position(|placed| placed.touches(at)) {
            let placed = left.remove(next);
            if placed == emf {
                return placed.from == at;
            }
            at = placed.far(at);
        }
        true
    }
}
