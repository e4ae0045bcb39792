//! What the capacitors hold: combined, charged by the voltage of the rest, and worked back.

use malachite::Rational;
use malachite::base::num::arithmetic::traits::Abs;
use ohmline_circuit::{BranchId, Circuit, Law, StateId, Unit};
use ohmline_solve::{Number, StateAnswers};

use crate::line::{Equation, Figure, Line, Statement, list};
use crate::model::{Chapter, Step, Topic};
use crate::net::{Behavior, Net, Part, Placed, Shape as NameShape};
use crate::prepare::{Fate, Prepared, branch_name};
use crate::tree::{Shape, Tree};

/// The chapter about charges; `None` where no capacitor stands in the circuit.
pub(crate) fn charges(
    circuit: &Circuit,
    state: StateId,
    answers: &StateAnswers,
    prepared: &Prepared,
) -> Option<Chapter> {
    // Capacitors as parts whose "resistance" is 1/C: elastances add in series, capacitances side by side.
    let mut net = Net { points: prepared.net.points.clone(), ..Net::default() };
    let mut plain = true;
    for (index, branch) in circuit.branches.iter().enumerate() {
        let id = BranchId(index as u32);
        let Law::Capacitor { capacitance, initial } = circuit.law(state, id) else { continue };
        let (from, to) = (prepared.point[branch.from.index()], prepared.point[branch.to.index()]);
        if capacitance <= 0 || from == to {
            continue;
        }
        plain &= initial.is_none_or(|volts| volts == 0);
        let name = branch_name(circuit, id);
        net.placed.push(Placed { part: net.parts.len(), from, to });
        net.parts.push(Part {
            ends: (name.clone(), name.clone()),
            name,
            bare: true,
            element: Some(branch.element),
            behavior: Behavior::Resistance(Rational::from(1) / capacitance),
            given: true,
            span: (index as u32, index as u32),
            shape: NameShape::Single,
        });
    }
    if net.placed.is_empty() {
        return None;
    }
    // Points that something else conducts to.
    let mut fixed: Vec<usize> = Vec::new();
    for (index, branch) in circuit.branches.iter().enumerate() {
        if matches!(prepared.fates[index], Fate::Part(_) | Fate::Wire | Fate::Dead | Fate::Shorted)
            && circuit.element(branch.element).is_placed()
        {
            fixed.extend([prepared.point[branch.from.index()], prepared.point[branch.to.index()]]);
        }
    }
    // Without initial charges, a case that cuts capacitors off keeps what they held: then only the values are listed.
    plain &= state == StateId::DRAWN;
    let tree = Tree::grow(&net, &fixed);
    let reduced = plain && tree.edges.iter().all(|edge| fixed.contains(&edge.from) && fixed.contains(&edge.to));
    let mut steps = Vec::new();
    let names = Names { net: &net, tree: &tree };
    if reduced {
        for edge in &tree.edges {
            if matches!(tree.nodes[edge.node].shape, Shape::Leaf(_)) {
                continue;
            }
            names.combine(edge.node, &mut steps);
            let node = &tree.nodes[edge.node];
            let volts = potential(answers, &net, node.from)? - potential(answers, &net, node.to)?;
            let first = steps.len();
            let volts = volts.abs();
            names.work_back(edge.node, &volts, &mut steps);
            let ends = format!("{} and {}", net.label(node.from), net.label(node.to));
            if let Some(step) = steps.get_mut(first) {
                let say = format!("Nothing flows into them any more; the rest of the circuit keeps # between {ends}.");
                step.lines.insert(0, Statement::Say(Line::of(&say, [Figure::volt(&volts)])));
            }
        }
    }
    let mut lines = Vec::new();
    for placed in &net.placed {
        let part = &net.parts[placed.part];
        let answer = part.element.and_then(|id| answers.elements[id.index()].as_ref())?;
        let known = |value: &Option<ohmline_solve::Value>| match value.as_ref().and_then(ohmline_solve::Value::known) {
            Some(Number::Exact(value)) => Some((**value).clone()),
            _ => None,
        };
        let (Some(volts), Some(charge), Some(energy)) =
            (known(&answer.voltage), known(&answer.charge), known(&answer.energy))
        else {
            continue;
        };
        let farads = Figure::new(&names.farads(&Rational::from(1), part), Unit::Farad).given();
        let name = &part.name;
        lines.push(Statement::Equation(
            Equation::new(format!("Q({name})"))
                .is(format!("{name} × V({name})"))
                .put("# × #", [farads, Figure::volt(&volts)])
                .gives(Figure::new(&charge, Unit::Coulomb)),
        ));
        lines.push(Statement::Equation(
            Equation::new(format!("W({name})"))
                .is(format!("Q({name}) × V({name}) / 2"))
                .put("# × # / 2", [Figure::new(&charge, Unit::Coulomb), Figure::volt(&volts)])
                .gives(Figure::new(&energy, Unit::Joule)),
        ));
    }
    if !lines.is_empty() {
        let mut heading = "Charge and energy of each".to_owned();
        if !reduced && net.placed.len() > 1 {
            heading.push_str(", with the voltages that the balance of charge leaves");
        }
        steps.push(Step { heading, lines, ..Step::default() });
    }
    Some(Chapter { topic: Topic::Charges, title: "The capacitors".to_owned(), steps })
}

fn potential(answers: &StateAnswers, net: &Net, point: usize) -> Option<Rational> {
    let node = net.points[point].nodes.first()?;
    match answers.potentials.get(node.index())?.known()? {
        Number::Exact(value) => Some((**value).clone()),
        Number::Float(_) => None,
    }
}

struct Names<'a> {
    net: &'a Net,
    tree: &'a Tree,
}

impl Names<'_> {
    fn farads(&self, one: &Rational, part: &Part) -> Rational {
        part.resistance().map_or_else(|| one.clone(), |elastance| one / elastance)
    }

    fn name(&self, node: usize) -> String {
        match &self.tree.nodes[node].shape {
            Shape::Leaf(placed) => self.net.name(*placed).to_owned(),
            Shape::Series(children) => children.iter().map(|&child| self.name(child)).collect::<Vec<_>>().join("+"),
            Shape::Parallel(children) => children
                .iter()
                .map(|&child| {
                    let series = matches!(self.tree.nodes[child].shape, Shape::Series(_));
                    if series { format!("({})", self.name(child)) } else { self.name(child) }
                })
                .collect::<Vec<_>>()
                .join("||"),
        }
    }

    /// The capacitance of a node as a symbol and as a figure.
    fn symbol(&self, node: usize) -> String {
        match &self.tree.nodes[node].shape {
            Shape::Leaf(placed) => self.net.name(*placed).to_owned(),
            _ => format!("C({})", self.name(node)),
        }
    }

    fn figure(&self, node: usize) -> Figure {
        let farads = Rational::from(1) / &self.tree.nodes[node].resistance;
        let given = matches!(self.tree.nodes[node].shape, Shape::Leaf(_));
        Figure::new(&farads, Unit::Farad).given_if(given)
    }

    fn combine(&self, node: usize, steps: &mut Vec<Step>) {
        let children = self.tree.children(node);
        for &child in children {
            if !matches!(self.tree.nodes[child].shape, Shape::Leaf(_)) {
                self.combine(child, steps);
            }
        }
        let names: Vec<String> = children.iter().map(|&child| self.name(child)).collect();
        let symbols: Vec<String> = children.iter().map(|&child| self.symbol(child)).collect();
        let figures: Vec<Figure> = children.iter().map(|&child| self.figure(child)).collect();
        let count = children.len();
        let equation = Equation::new(self.symbol(node));
        let series = matches!(self.tree.nodes[node].shape, Shape::Series(_));
        let (heading, why, equation) = if !series {
            (
                format!("{} are in parallel", list(&names)),
                "Side by side they have one voltage, so their charges, and their capacitances, add.",
                equation.is(symbols.join(" + ")).put(&vec!["#"; count].join(" + "), figures),
            )
        } else if count == 2 {
            let (a, b) = (&symbols[0], &symbols[1]);
            let both = [figures[0].clone(), figures[1].clone(), figures[0].clone(), figures[1].clone()];
            (
                format!("{} are in series", list(&names)),
                "What leaves one plate arrives on the next, so they hold one charge, and their voltages add.",
                equation.is(format!("{a} × {b} / ({a} + {b})")).put("# × # / (# + #)", both),
            )
        } else {
            let over: Vec<String> = symbols.iter().map(|symbol| format!("1/{symbol}")).collect();
            (
                format!("{} are in series", list(&names)),
                "What leaves one plate arrives on the next, so they hold one charge, and their voltages add.",
                equation
                    .is(format!("1 / ({})", over.join(" + ")))
                    .put(&format!("1 / ({})", vec!["1/(#)"; count].join(" + ")), figures),
            )
        };
        steps.push(Step {
            heading,
            lines: vec![Statement::say(why), Statement::Equation(equation.gives(self.figure(node)))],
            about: names.into_iter().map(Into::into).collect(),
            ..Step::default()
        });
    }

    fn work_back(&self, node: usize, volts: &Rational, steps: &mut Vec<Step>) {
        let children = self.tree.children(node).to_vec();
        if children.is_empty() {
            return;
        }
        let name = self.name(node);
        let whole = self.figure(node);
        let charge = &whole.value * volts;
        let coulombs = |value: &Rational| Figure::new(value, Unit::Coulomb);
        let names: Vec<String> = children.iter().map(|&child| self.name(child)).collect();
        let series = matches!(self.tree.nodes[node].shape, Shape::Series(_));
        let mut lines = Vec::new();
        let mut inner = Vec::new();
        if series {
            lines.push(Statement::Equation(
                Equation::new(format!("Q({name})"))
                    .is(format!("{} × V({name})", self.symbol(node)))
                    .put("# × #", [whole, Figure::volt(volts)])
                    .gives(coulombs(&charge)),
            ));
            for &child in &children {
                let own = self.figure(child);
                let across = &charge / &own.value;
                let of = self.name(child);
                lines.push(Statement::Equation(
                    Equation::new(format!("V({of})"))
                        .is(format!("Q({name}) / {}", self.symbol(child)))
                        .put("# / #", [coulombs(&charge), own])
                        .gives(Figure::volt(&across)),
                ));
                inner.push(across);
            }
        } else {
            let mut sides: Vec<String> = names.iter().map(|of| format!("V({of})")).collect();
            sides.push(format!("V({name})"));
            let first = sides.remove(0);
            let mut equation = Equation::new(first);
            for side in sides {
                equation = equation.is(side);
            }
            lines.push(Statement::Equation(equation.gives(Figure::volt(volts))));
            inner = vec![volts.clone(); children.len()];
        }
        steps.push(Step {
            heading: format!("{} have the same {}", list(&names), if series { "charge" } else { "voltage" }),
            lines,
            about: names.into_iter().map(Into::into).collect(),
            ..Step::default()
        });
        for (child, volts) in children.into_iter().zip(inner) {
            self.work_back(child, &volts, steps);
        }
    }
}
