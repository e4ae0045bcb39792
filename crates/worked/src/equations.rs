//! Junction equations and loop equations: unknowns, one equation for each, the system, its solution, and the currents.

mod branch;
mod loops;
mod nodes;
mod rings;

use malachite::base::num::arithmetic::traits::{Abs, Lcm};
use malachite::{Natural, Rational};
use ohmline_circuit::{Circuit, Unit};

use crate::line::{Equation, Figure, Line, Statement};
use crate::model::Step;
use crate::net::{Behavior, Net};
use crate::reduce::Values;

use branch::Branch;
pub(crate) use branch::{branches, settle_drives};
pub(crate) use loops::by_loops;
pub(crate) use nodes::by_nodes;
pub(crate) use rings::independent_loops;

/// What a method of equations worked out.
pub(crate) struct Worked {
    pub steps: Vec<Step>,
    pub equations: Vec<Equation>,
    pub values: Values,
}

/// A linear form in the unknowns: coefficients, and a constant on the left.
fn system_lines(
    unknowns: &[String],
    rows: &[(Vec<Rational>, Rational)],
    unit: Unit,
    each: &str,
) -> (Vec<Statement>, Vec<Equation>) {
    let mut statements = Vec::new();
    let mut equations = Vec::new();
    for (coefficients, right) in rows {
        let mut template = String::new();
        let mut figures = Vec::new();
        for (coefficient, unknown) in coefficients.iter().zip(unknowns) {
            if *coefficient == 0 {
                continue;
            }
            let sign = match (*coefficient < 0, template.is_empty()) {
                (true, true) => "-",
                (false, true) => "",
                (true, false) => " - ",
                (false, false) => " + ",
            };
            let size = coefficient.clone().abs();
            if size == 1 && unit == Unit::Volt && each.is_empty() {
                template = format!("{template}{sign}{unknown}");
            } else {
                template = format!("{template}{sign}# × {unknown}");
                let unit = if each.is_empty() { Unit::One } else { Unit::Ohm };
                figures.push(Figure::new(&size, unit).given());
            }
        }
        let mut equation = Equation { sides: vec![Line::of(&template, figures)] };
        equation = equation.gives(Figure::new(right, unit).given());
        equations.push(equation.clone());
        statements.push(Statement::Equation(equation));
    }
    (statements, equations)
}

/// A number that turns these into whole numbers without a common factor, if they stay short.
fn clearing(values: &[Rational]) -> Option<Rational> {
    let nonzero: Vec<Rational> = values.iter().filter(|value| **value != 0).map(|value| value.clone().abs()).collect();
    let mut least = Natural::from(1u32);
    for value in &nonzero {
        least = least.lcm(value.denominator_ref());
    }
    let scale = Rational::from(least);
    let mut common = Natural::from(0u32);
    for value in &nonzero {
        let whole = value * &scale;
        common = malachite::base::num::arithmetic::traits::Gcd::gcd(common, whole.numerator_ref());
    }
    if common == 0 {
        return None;
    }
    // A whole number, as it is done on paper, even where a smaller one would do.
    let shared = malachite::base::num::arithmetic::traits::Gcd::gcd(common, scale.numerator_ref());
    let scale = scale / Rational::from(shared);
    nonzero.iter().all(|value| value * &scale < 100_000).then_some(scale)
}

/// What the sign of a branch's current means, where it is not the direction that was assumed.
fn direction(net: &Net, branch: &Branch, current: &Rational) -> Option<Statement> {
    if *current >= 0 {
        return None;
    }
    let lead = &net.parts[branch.lead];
    let source = (matches!(lead.behavior, Behavior::Emf { .. }) && lead.element.is_some()).then_some(lead);
    Some(Statement::say(match source {
        Some(part) => {
            format!("Negative: the current enters {} at +, so {} takes power up.", part.name, part.name)
        }
        None => {
            format!("Negative: it flows the other way, from {} to {}.", net.label(branch.to), net.label(branch.from))
        }
    }))
}

/// How many unknowns each method has: potentials, loop currents.
pub(crate) fn unknowns(circuit: &Circuit, net: &Net) -> (usize, usize) {
    let all = branches(circuit, net);
    let mut points: Vec<usize> = all.iter().flat_map(|branch| [branch.from, branch.to]).collect();
    points.sort_unstable();
    points.dedup();
    let rigid = all.iter().filter(|branch| branch.rigid()).count();
    let nodes = points.len().saturating_sub(1).saturating_sub(rigid);
    let loops = independent_loops(&all).iter().filter(|ring| all[ring[0].0].drive.is_none()).count();
    (nodes, loops)
}
