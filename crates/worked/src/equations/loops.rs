//! Loop equations: loop currents as unknowns.

use malachite::Rational;
use malachite::base::num::arithmetic::traits::Abs;
use ohmline_circuit::{Circuit, Unit};

use super::branch::{branches, settle_drives, values_of};
use super::rings::independent_loops;
use super::{Worked, direction, system_lines};
use crate::line::{Equation, Figure, Line, Statement, list};
use crate::linear;
use crate::model::{StageRing, Step};
use crate::net::{Behavior, Net};

/// Loop equations. `None` where the system has no single solution.
pub(crate) fn by_loops(circuit: &Circuit, net: &Net) -> Option<Worked> {
    let all = branches(circuit, net);
    let rings = independent_loops(&all);
    let fixed: Vec<Option<Rational>> = rings.iter().map(|ring| all[ring[0].0].drive.clone()).collect();
    let open: Vec<usize> = (0..rings.len()).filter(|&ring| fixed[ring].is_none()).collect();
    let name = |ring: usize| format!("i{}", ring + 1);
    let symbols: Vec<String> = open.iter().map(|&ring| name(ring)).collect();
    let mut steps = Vec::new();
    let mut equations = Vec::new();
    let mut first = Step { heading: "Loops and unknowns".to_owned(), ..Step::default() };
    let mut stage = net.stage(&[]);
    first.lines.push(Statement::say(
        "Each loop has a current of its own; what two loops share carries the sum of both, with their signs.",
    ));
    for (index, ring) in rings.iter().enumerate() {
        let way: Vec<String> = ring
            .iter()
            .flat_map(|(branch, against)| {
                let own = &all[*branch];
                let mut names: Vec<String> =
                    own.parts.iter().map(|(part, _)| net.parts[*part].name.to_string()).collect();
                if *against {
                    names.reverse();
                }
                names
            })
            .collect();
        stage
            .rings
            .push(StageRing { name: name(index).into(), parts: way.iter().map(|part| part.as_str().into()).collect() });
        let start =
            ring.first().map_or(0, |(branch, against)| if *against { all[*branch].to } else { all[*branch].from });
        first.lines.push(match &fixed[index] {
            None => Statement::say(format!(
                "{} runs from {} through {} and back.",
                name(index),
                net.label(start),
                list(&way)
            )),
            Some(drive) => Statement::Say(Line::of(
                &format!(
                    "{} = #, fixed by the current source, runs from {} through {} and back.",
                    name(index),
                    net.label(start),
                    list(&way)
                ),
                [Figure::ampere(drive).given()],
            )),
        });
    }
    first.stage = Some(stage);
    steps.push(first);
    let passes = |ring: usize, branch: usize| -> i32 {
        rings[ring].iter().filter(|(of, _)| *of == branch).map(|(_, against)| if *against { -1 } else { 1 }).sum()
    };
    let mut rows = Vec::new();
    for &ring in &open {
        let mut coefficients = vec![Rational::from(0); open.len()];
        let mut right = Rational::from(0);
        let mut emfs = String::new();
        let mut emf_template = String::new();
        let mut figures = Vec::new();
        let mut shared: Vec<(usize, i32, Vec<String>)> = Vec::new();
        for (branch, against) in &rings[ring] {
            let own = &all[*branch];
            right += if *against { own.emf.clone() } else { -own.emf.clone() };
            for (of_part, term) in own.emf_terms(circuit, net).into_iter().enumerate() {
                // A drop along the branch is taken away from the rises.
                let rise = term.0 != *against;
                let head = match (emfs.is_empty(), rise) {
                    (true, true) => "",
                    (true, false) => "-",
                    (false, true) => " + ",
                    (false, false) => " - ",
                };
                emfs = format!("{emfs}{head}{}", term.1);
                emf_template = format!("{emf_template}{head}#");
                let value = own.parts.iter().filter_map(|(part, _)| match &net.parts[*part].behavior {
                    Behavior::Emf { emf, .. } => Some((emf.clone(), net.parts[*part].given)),
                    _ => None,
                });
                if let Some((value, given)) = value.clone().nth(of_part) {
                    figures.push(Figure::volt(&value).given_if(given));
                }
            }
            for (other, fixed) in fixed.iter().enumerate() {
                let sign = passes(other, *branch) * if *against { -1 } else { 1 };
                if sign == 0 || own.ohms == 0 {
                    continue;
                }
                let part = &own.ohms * Rational::from(sign);
                match open.iter().position(|&of| of == other) {
                    Some(at) => coefficients[at] += part,
                    None => right -= part * fixed.clone().unwrap_or_default(),
                }
                let ohms = own.ohms_symbol(circuit, net).trim_matches(['(', ')'].as_ref()).to_owned();
                let ohms = if own.parts.len() == 1 { own.ohms_symbol(circuit, net) } else { ohms };
                match shared.iter_mut().find(|(of, with, _)| *of == other && *with == sign) {
                    Some((.., list)) => list.push(ohms),
                    None => shared.push((other, sign, vec![ohms])),
                }
            }
        }
        shared.sort_by_key(|(other, ..)| (*other != ring, *other));
        let mut formula = String::new();
        for (other, sign, symbols) in &shared {
            let head = match (formula.is_empty(), *sign > 0) {
                (true, true) => "",
                (true, false) => "-",
                (false, true) => " + ",
                (false, false) => " - ",
            };
            let inner = symbols.join(" + ");
            let inner = if inner.contains(" + ") { format!("({inner})") } else { inner };
            formula = format!("{formula}{head}{inner} × {}", name(*other));
        }
        let symbolic = Equation::new(formula);
        let symbolic =
            if emfs.is_empty() { symbolic.gives(Figure::volt(&Rational::from(0))) } else { symbolic.is(emfs) };
        equations.push(symbolic.clone());
        let (numeric, numbers) = system_lines(&symbols, &[(coefficients.clone(), right.clone())], Unit::Volt, "ohm");
        equations.extend(numbers);
        let about = rings[ring]
            .iter()
            .flat_map(|(branch, _)| all[*branch].parts.iter().map(|(part, _)| net.parts[*part].name.clone()))
            .collect();
        let mut lines = vec![Statement::say("Round the loop, resistance times current adds up to the emfs:")];
        lines.push(Statement::Equation(symbolic));
        lines.extend(numeric);
        steps.push(Step { heading: format!("Loop rule for {}", name(ring)), lines, about, ..Step::default() });
        rows.push((coefficients, right));
    }
    let solved = if open.is_empty() {
        Vec::new()
    } else {
        linear::solve(
            rows.iter().map(|(coefficients, _)| coefficients.clone()).collect(),
            rows.iter().map(|(_, right)| right.clone()).collect(),
        )?
    };
    let mut currents: Vec<Rational> = fixed.iter().map(|drive| drive.clone().unwrap_or_default()).collect();
    let mut lines = Vec::new();
    if open.len() > 1 {
        lines.push(Statement::say(format!("The {} equations together have one solution:", open.len())));
    }
    for (&ring, value) in open.iter().zip(&solved) {
        currents[ring] = value.clone();
        lines.push(Statement::Equation(Equation::new(name(ring)).gives(Figure::ampere(value))));
    }
    steps.push(Step { heading: "The loop currents".to_owned(), lines, ..Step::default() });
    let mut lines = vec![Statement::say(
        "A current counts in the direction in which its element is written, for sources out of +.",
    )];
    let mut through = Vec::new();
    for (index, branch) in all.iter().enumerate() {
        let mut formula = String::new();
        let mut template = String::new();
        let mut figures = Vec::new();
        let mut sum = Rational::from(0);
        for (ring, current) in currents.iter().enumerate() {
            let sign = passes(ring, index);
            if sign == 0 {
                continue;
            }
            let signed = current * Rational::from(sign);
            let head = |text: &String, minus: bool| match (text.is_empty(), minus) {
                (true, false) => "",
                (true, true) => "-",
                (false, false) => " + ",
                (false, true) => " - ",
            };
            formula = format!("{formula}{}{}", head(&formula, sign < 0), name(ring));
            template = format!("{template}{}#", head(&template, signed < 0));
            figures.push(Figure::ampere(&signed.clone().abs()));
            sum += signed;
        }
        let mut equation = Equation::new(format!("I({})", net.parts[branch.lead].name)).is(formula);
        if figures.len() > 1 {
            equation = equation.put(&template, figures);
        }
        lines.push(Statement::Equation(equation.gives(Figure::ampere(&sum))));
        lines.extend(direction(net, branch, &sum));
        through.push(sum);
    }
    steps.push(Step { heading: "The currents".to_owned(), lines, ..Step::default() });
    let mut values = values_of(net, &all, &through);
    settle_drives(net, &mut values);
    Some(Worked { steps, equations, values })
}
