//! Where series and parallel end: why, and what helps on. Balance, equal potentials, a star.

use malachite::Rational;
use smol_str::SmolStr;

use super::wording::{capital, shorten};
use super::{Record, Reduction};
use crate::line::{Equation, Figure, Statement, list};
use crate::model::{Replacement, Rule, Step};
use crate::net::{Behavior, Placed, Shape as NameShape};
use crate::symmetry::Symmetry;
use crate::tree::Tree;

impl Reduction<'_> {
    /// Why nothing is in series or in parallel any more, and which part is in the way.
    pub fn why_stuck(&self) -> Step {
        let sources = self.net.sources();
        let mut step = Step { heading: "Series and parallel end here".to_owned(), ..Step::default() };
        let resistances = self.net.resistances();
        if sources.len() > 1 {
            let names: Vec<&str> = sources.iter().map(|source| self.net.name(*source)).collect();
            step.lines.push(Statement::say(format!(
                "{} hold voltages or currents of their own in different branches, so the rest is not one resistance at one source.",
                list(&names)
            )));
        }
        if sources.len() == 1 || resistances.len() > 4 {
            step.lines.push(Statement::say(
                "Every pair of resistances that is left shares at most one point, and a third wire is joined at that point.",
            ));
        }
        if let [source] = sources[..]
            && let Some(blocking) = self.blocking(source)
        {
            step.lines.push(Statement::say(format!(
                "{} is in the way: it ties {} to {}.",
                self.net.name(blocking),
                self.net.label(blocking.from),
                self.net.label(blocking.to)
            )));
            step.about.push(self.name(blocking.part).clone());
        }
        step.stage = Some(self.net.stage(&[]));
        step
    }

    /// A part without which the rest would reduce; one away from the source, if there is one.
    pub fn blocking(&self, source: Placed) -> Option<Placed> {
        let terminals = [source.from, source.to];
        let candidates: Vec<Placed> = self
            .net
            .resistances()
            .into_iter()
            .filter(|&candidate| {
                let mut net = self.net.clone();
                net.placed.retain(|placed| *placed != candidate);
                Tree::grow(&net, &terminals).edges.len() == 1
            })
            .collect();
        let touches = |placed: &Placed| terminals.iter().filter(|&&point| placed.touches(point)).count();
        candidates.into_iter().min_by_key(|placed| (touches(placed), self.part(placed.part).span))
    }

    /// Leaves out a part whose ends are at one potential because of a ratio.
    pub fn leave_out_balanced(&mut self) -> bool {
        let [source] = self.net.sources()[..] else { return false };
        for bridge in self.net.resistances() {
            let (p, q) = (bridge.from, bridge.to);
            if [p, q].iter().any(|&point| source.touches(point) || self.net.degree(point) != 3) {
                continue;
            }
            let sides = |point: usize| -> Vec<Placed> {
                self.net.at(point).into_iter().filter(|placed| *placed != bridge).collect()
            };
            let (at_p, at_q) = (sides(p), sides(q));
            for (a, b) in [(0, 1), (1, 0)] {
                let (pa, pb, qa, qb) = (at_p[0], at_p[1], at_q[a], at_q[b]);
                if pa.far(p) != qa.far(q) || pb.far(p) != qb.far(q) || pa.far(p) == pb.far(p) {
                    continue;
                }
                let ohm = |placed: Placed| self.part(placed.part).resistance().cloned().unwrap_or_default();
                if ohm(pa) * ohm(qb) != ohm(pb) * ohm(qa) {
                    continue;
                }
                let part = |placed: Placed| self.part(placed.part).clone();
                let (pa, pb, qa, qb) = (part(pa), part(pb), part(qa), part(qb));
                let name = self.name(bridge.part).clone();
                let (at_p, at_q) = (self.net.label(p).to_owned(), self.net.label(q).to_owned());
                let ratio = pa.ohms().value / pb.ohms().value;
                let ratio = Figure::new(&ratio, ohmline_circuit::Unit::One);
                let evidence = format!(
                    "{} is to {} as {} is to {}, so {at_p} and {at_q} are at one potential",
                    pa.name, pb.name, qa.name, qb.name
                );
                let lines = vec![
                    Statement::say(format!(
                        "Think {name} taken out. Then {} and {} are in series between the same two points as {} and {}, \
                         and each pair divides the same voltage in the ratio of its resistances:",
                        pa.name, pb.name, qa.name, qb.name
                    )),
                    Statement::Equation(
                        Equation::new(format!("{} / {}", pa.factor(), pb.factor()))
                            .put("# / #", [pa.ohms(), pb.ohms()])
                            .gives(ratio.clone()),
                    ),
                    Statement::Equation(
                        Equation::new(format!("{} / {}", qa.factor(), qb.factor()))
                            .put("# / #", [qa.ohms(), qb.ohms()])
                            .gives(ratio),
                    ),
                    Statement::say(format!(
                        "The ratios are equal, so {at_p} and {at_q} are at one potential. Put back between them, {name} \
                         has no voltage and carries nothing: it changes nothing and is left out."
                    )),
                ];
                self.before.push(self.net.stage(&[]));
                self.net.placed.retain(|placed| *placed != bridge);
                for point in [p, q] {
                    self.degrees[point] = self.degrees[point].max(3);
                }
                self.records.push(Record::Idle { part: bridge.part });
                let replaced = Replacement {
                    rule: Rule::Balanced,
                    replaces: vec![name.clone()],
                    by: SmolStr::default(),
                    value: None,
                    evidence,
                };
                self.steps.push(Step {
                    heading: format!("The bridge is balanced: {name} carries nothing"),
                    lines,
                    about: vec![name],
                    replaced: vec![replaced],
                    stage: Some(self.net.stage(&[])),
                });
                return true;
            }
        }
        false
    }

    /// Joins points that a symmetry of the network exchanges, while it keeps the ends of the source.
    pub fn join_equal_points(&mut self) -> bool {
        let [source] = self.net.sources()[..] else { return false };
        let live = self.net.live_points();
        let resistances = self.net.resistances();
        let edges: Vec<(usize, usize, Rational)> = resistances
            .iter()
            .map(|placed| (placed.from, placed.to, self.part(placed.part).resistance().cloned().unwrap_or_default()))
            .collect();
        let symmetry = Symmetry::new(&live, &edges);
        let mut class: Vec<usize> = (0..self.net.points.len()).collect();
        for (index, &p) in live.iter().enumerate() {
            for &q in &live[index + 1..] {
                if class[p] == class[q] || source.touches(p) || source.touches(q) {
                    continue;
                }
                if symmetry.exists(&[(source.from, source.from), (source.to, source.to), (p, q)]) {
                    let (keep, gone) = (class[p].min(class[q]), class[p].max(class[q]));
                    class.iter_mut().filter(|of| **of == gone).for_each(|of| *of = keep);
                }
            }
        }
        let groups: Vec<Vec<usize>> = live
            .iter()
            .filter(|&&point| class[point] == point)
            .map(|&point| live.iter().copied().filter(|&other| class[other] == point).collect::<Vec<_>>())
            .filter(|group| group.len() > 1)
            .collect();
        if groups.is_empty() {
            return false;
        }
        let mut lines = vec![Statement::say(format!(
            "The network looks the same from {} and {} when these points change places:",
            self.net.label(source.from),
            self.net.label(source.to)
        ))];
        let mut evidence = Vec::new();
        for group in &groups {
            let labels: Vec<&str> = group.iter().map(|&point| self.net.label(point)).collect();
            lines.push(Statement::say(format!("{}.", capital(&list(&labels)))));
            evidence.push(list(&labels));
        }
        lines.push(Statement::say(
            "So the points of each of these groups are at one potential. No current would flow in a wire between them: joining them \
             changes nothing.",
        ));
        let mut gone = Vec::new();
        for placed in resistances {
            if class[placed.from] == class[placed.to] {
                gone.push(self.name(placed.part).clone());
                self.before.push(self.net.stage(&[]));
                self.records.push(Record::Idle { part: placed.part });
                self.net.placed.retain(|other| *other != placed);
            }
        }
        if !gone.is_empty() {
            lines.push(Statement::say(format!(
                "{} then {} both ends at one point and {} nothing.",
                shorten(&gone),
                if gone.len() == 1 { "has" } else { "have" },
                if gone.len() == 1 { "carries" } else { "carry" }
            )));
        }
        for placed in &mut self.net.placed {
            placed.from = class[placed.from];
            placed.to = class[placed.to];
        }
        for group in &groups {
            let degree = group.iter().map(|&point| self.degrees[point]).sum();
            self.degrees[group[0]] = degree;
            let nodes: Vec<_> = group.iter().flat_map(|&point| self.net.points[point].nodes.clone()).collect();
            self.net.points[group[0]].nodes = nodes;
        }
        let replaced = Replacement {
            rule: Rule::EqualPotential,
            replaces: gone.clone(),
            by: SmolStr::default(),
            value: None,
            evidence: format!("by symmetry one potential each: {}", evidence.join("; ")),
        };
        self.steps.push(Step {
            heading: "Points of equal potential are joined".to_owned(),
            lines,
            about: gone,
            replaced: vec![replaced],
            stage: Some(self.net.stage(&[])),
        });
        true
    }

    /// Replaces a triangle by a star, if the rest then reduces.
    pub fn star(&mut self) -> bool {
        let [source] = self.net.sources()[..] else { return false };
        let resistances = self.net.resistances();
        let mut best: Option<(usize, [Placed; 3], [usize; 3])> = None;
        for (i, one) in resistances.iter().enumerate() {
            for (j, two) in resistances.iter().enumerate().skip(i + 1) {
                for three in resistances.iter().skip(j + 1) {
                    let mut corners = vec![one.from, one.to, two.from, two.to, three.from, three.to];
                    corners.sort_unstable();
                    corners.dedup();
                    let [a, b, c] = corners[..] else { continue };
                    let side = |x: usize, y: usize| {
                        [*one, *two, *three].into_iter().find(|placed| placed.touches(x) && placed.touches(y))
                    };
                    let (Some(ab), Some(bc), Some(ca)) = (side(a, b), side(b, c), side(c, a)) else { continue };
                    let mut trial = self.net.clone();
                    trial.placed.retain(|placed| ![ab, bc, ca].contains(placed));
                    let center = trial.points.len();
                    trial.points.push(crate::net::Point::default());
                    for corner in [a, b, c] {
                        trial.placed.push(Placed { part: ab.part, from: corner, to: center });
                    }
                    if Tree::grow(&trial, &[source.from, source.to]).edges.len() != 1 {
                        continue;
                    }
                    // A triangle at the source's + is the one people take.
                    let rank = if corners.contains(&source.from) {
                        0
                    } else if corners.contains(&source.to) {
                        1
                    } else {
                        2
                    };
                    if best.as_ref().is_none_or(|(known, ..)| rank < *known) {
                        best = Some((rank, [ab, bc, ca], [a, b, c]));
                    }
                }
            }
        }
        let Some((_, [ab, bc, ca], corners)) = best else { return false };
        let ohms = [ab, bc, ca].map(|placed| self.part(placed.part).resistance().cloned().unwrap_or_default());
        let sum = &ohms[0] + &ohms[1] + &ohms[2];
        let center = self.new_point();
        self.net.points[center].label = "@Y".to_owned();
        self.net.points[center].named = true;
        let sides = [ab, bc, ca];
        let symbols: Vec<String> = sides.iter().map(|placed| self.part(placed.part).factor()).collect();
        let figures: Vec<Figure> = sides.iter().map(|placed| self.part(placed.part).ohms()).collect();
        let names: Vec<SmolStr> = sides.iter().map(|placed| self.name(placed.part).clone()).collect();
        let labels: Vec<String> = corners.iter().map(|&corner| self.net.label(corner).to_owned()).collect();
        let evidence = format!("they form a triangle with the corners {}", list(&labels));
        let mut step = Step {
            heading: format!("The triangle of {} is replaced by a star", list(&names)),
            lines: vec![
                Statement::say(format!("{}.", capital(&evidence))),
                Statement::say(
                    "Each arm of the star that acts the same is the product of the two sides at its corner, divided by the sum of all three.",
                ),
            ],
            about: names.clone(),
            ..Step::default()
        };
        let mut arms = [0; 3];
        let mut new = Vec::new();
        // The sides at corner a are ab and ca; at b: ab and bc; at c: bc and ca.
        for (index, (x, y)) in [(0, 2), (0, 1), (1, 2)].into_iter().enumerate() {
            let value = &ohms[x] * &ohms[y] / &sum;
            let mut name = format!("Y({})", labels[index].replace(' ', "_"));
            while self.names.contains(name.as_str()) {
                name.push('′');
            }
            let span = self.part(sides[x].part).span;
            let part = self.add_part(
                name.clone().into(),
                NameShape::Single,
                true,
                Behavior::Resistance(value.clone()),
                span,
                &[],
            );
            step.lines.push(Statement::Equation(
                Equation::new(name)
                    .is(format!("{} × {} / ({})", symbols[x], symbols[y], symbols.join(" + ")))
                    .put(
                        "# × # / (# + # + #)",
                        [
                            figures[x].clone(),
                            figures[y].clone(),
                            figures[0].clone(),
                            figures[1].clone(),
                            figures[2].clone(),
                        ],
                    )
                    .gives(Figure::ohm(&value)),
            ));
            step.replaced.push(Replacement {
                rule: Rule::StarDelta,
                replaces: names.clone(),
                by: self.name(part).clone(),
                value: Some(Figure::ohm(&value)),
                evidence: evidence.clone(),
            });
            arms[index] = part;
            new.push((part, names.clone()));
        }
        self.before.push(self.net.stage(&[]));
        self.net.placed.retain(|placed| !sides.contains(placed));
        for (arm, corner) in arms.iter().zip(corners) {
            self.net.placed.push(Placed { part: *arm, from: corner, to: center });
        }
        let corner_of = |point: usize| corners.iter().position(|&corner| corner == point).unwrap_or(0);
        let sides = sides.map(|placed| (placed.part, corner_of(placed.from), corner_of(placed.to)));
        self.records.push(Record::Star { sides, arms });
        step.stage = Some(self.net.stage(&new));
        self.steps.push(step);
        true
    }
}
