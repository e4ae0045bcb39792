//! Junction equations: potentials as unknowns.

use malachite::Rational;
use malachite::base::num::arithmetic::traits::Abs;
use ohmline_circuit::{Circuit, Unit};

use super::branch::{branches, settle_drives, values_of};
use super::{Worked, clearing, direction, system_lines};
use crate::line::{Equation, Figure, Line, Statement, list};
use crate::linear;
use crate::model::Step;
use crate::net::{Behavior, Net};

/// Junction equations, the point `zero` at 0 V. `None` where the system has no single solution.
pub(crate) fn by_nodes(circuit: &Circuit, net: &Net, zero: usize) -> Option<Worked> {
    let all = branches(circuit, net);
    let mut points: Vec<usize> = all.iter().flat_map(|branch| [branch.from, branch.to]).collect();
    points.sort_unstable();
    points.dedup();
    let zero = if points.contains(&zero) { zero } else { *points.first()? };
    // Groups of points that ideal sources tie together: leader of each point, and its potential above the leader.
    let mut leader: Vec<usize> = (0..net.points.len()).collect();
    let mut above: Vec<Rational> = vec![Rational::from(0); net.points.len()];
    for branch in all.iter().filter(|branch| branch.rigid()) {
        let (a, b) = (leader[branch.from], leader[branch.to]);
        if a == b {
            continue;
        }
        // The group of the reference keeps its leader.
        let (keep, move_, shift) = if leader[zero] == a {
            (a, b, &above[branch.from] - &branch.emf - &above[branch.to])
        } else {
            (b, a, &above[branch.to] + &branch.emf - &above[branch.from])
        };
        for &point in &points {
            if leader[point] == move_ {
                leader[point] = keep;
                above[point] += &shift;
            }
        }
    }
    let base = above[zero].clone();
    let root = leader[zero];
    for &point in &points {
        if leader[point] == root {
            above[point] -= &base;
        }
    }
    let mut unknown: Vec<usize> = points.iter().map(|&point| leader[point]).filter(|&of| of != root).collect();
    unknown.sort_unstable();
    unknown.dedup();
    let symbol = |point: usize| format!("V({})", net.label(point).trim_start_matches("the point "));
    let symbols: Vec<String> = unknown.iter().map(|&point| symbol(point)).collect();
    let index_of = |point: usize| unknown.iter().position(|&of| of == leader[point]);

    let mut steps = Vec::new();
    let mut equations = Vec::new();
    let mut first = Step { heading: "Reference and unknowns".to_owned(), ..Step::default() };
    first.lines.push(Statement::say(format!("Potentials count from {}, which is at 0 V.", net.label(zero))));
    for &point in &points {
        if leader[point] == root && point != zero {
            first.lines.push(Statement::Say(Line::of(
                &format!("Ideal voltages fix {} at #.", net.label(point)),
                [Figure::volt(&above[point]).given()],
            )));
        } else if leader[point] != point && leader[point] != root {
            first.lines.push(Statement::Say(Line::of(
                &format!("An ideal voltage keeps {} at {} + #.", symbol(point), symbol(leader[point])),
                [Figure::volt(&above[point]).given()],
            )));
        }
    }
    first.lines.push(match symbols.len() {
        0 => Statement::say("So every potential is known, and each branch stands for itself."),
        1 => Statement::say(format!("One potential is unknown: {}.", symbols[0])),
        many => Statement::say(format!("{many} potentials are unknown: {}.", list(&symbols))),
    });
    first.stage = Some(net.stage(&[]));
    steps.push(first);

    // One equation for each unknown: the currents out of its points add up to zero.
    let mut rows: Vec<(Vec<Rational>, Rational)> = Vec::new();
    for &of in &unknown {
        let own: Vec<usize> = points.iter().copied().filter(|&point| leader[point] == of).collect();
        let mut coefficients = vec![Rational::from(0); unknown.len()];
        let mut conductances = Vec::new();
        let mut right = Rational::from(0);
        let mut formula = String::new();
        let mut template = String::new();
        let mut figures = Vec::new();
        let mut symbolic = |text: String, minus: bool| {
            formula = match (formula.is_empty(), minus) {
                (true, false) => text,
                (true, true) => format!("-{text}"),
                (false, false) => format!("{formula} + {text}"),
                (false, true) => format!("{formula} - {text}"),
            };
        };
        for branch in &all {
            let (out, back) = (own.contains(&branch.from), own.contains(&branch.to));
            if out == back {
                continue;
            }
            let (near, far) = if out { (branch.from, branch.to) } else { (branch.to, branch.from) };
            let join = |template: &str, minus: bool| match (template.is_empty(), minus) {
                (true, true) => "-",
                (true, false) => "",
                (false, true) => " - ",
                (false, false) => " + ",
            };
            if let Some(drive) = &branch.drive {
                let leaving = if out { drive.clone() } else { -drive.clone() };
                right -= &leaving;
                let source = branch.parts.iter().find(|(part, _)| net.parts[*part].is_source());
                let name = source.map_or("", |(part, _)| net.parts[*part].name.as_str());
                let written = source.is_some_and(
                    |(part, _)| matches!(&net.parts[*part].behavior, Behavior::Drive(value) if *value == leaving),
                );
                symbolic(format!("drive({name})"), !written);
                template = format!("{template}{}#", join(&template, leaving < 0));
                figures.push(Figure::ampere(&leaving.abs()).given());
                continue;
            }
            // (near - far - emf) / ohms leaves.
            let emf = if out { branch.emf.clone() } else { -branch.emf.clone() };
            let conductance = Rational::from(1) / &branch.ohms;
            let mut inner = symbol(near);
            if far != zero {
                inner = format!("{inner} - {}", symbol(far));
            }
            for (against, term) in branch.emf_terms(circuit, net) {
                let minus = against != out;
                inner = format!("{inner} {} {term}", if minus { "-" } else { "+" });
            }
            let ohms = branch.ohms_symbol(circuit, net);
            let plain = !inner.contains(' ');
            symbolic(if plain { format!("{inner} / {ohms}") } else { format!("({inner}) / {ohms}") }, false);
            // With numbers: unknowns stay, everything else is one voltage.
            let mut constant = &above[near] - &above[far] - &emf;
            let at = index_of(near)?;
            coefficients[at] += &conductance;
            conductances.push(conductance.clone());
            let mut number = symbols[at].clone();
            if let Some(other) = index_of(far) {
                coefficients[other] -= &conductance;
                number = format!("{number} - {}", symbols[other]);
            }
            right -= &constant * &conductance;
            let ohms = Figure::ohm(&branch.ohms).given_if(true);
            let head = join(&template, false);
            if constant == 0 {
                let number = if number.contains(' ') { format!("({number})") } else { number };
                template = format!("{template}{head}{number} / (#)");
                figures.push(ohms);
            } else {
                let sign = if constant < 0 { "-" } else { "+" };
                constant = constant.abs();
                template = format!("{template}{head}({number} {sign} #) / (#)");
                figures.extend([Figure::volt(&constant).given(), ohms]);
            }
        }
        let labels: Vec<&str> = own.iter().map(|&point| net.label(point)).collect();
        let heading = format!("Junction rule at {}", list(&labels));
        let mut lines = vec![Statement::say("The currents that leave add up to zero:".to_owned())];
        let zero_amperes = || Figure::ampere(&Rational::from(0));
        let symbolic = Equation { sides: vec![Line::text(formula)] }.gives(zero_amperes());
        let numeric = Equation { sides: vec![Line::of(&template, figures)] }.gives(zero_amperes());
        lines.push(Statement::Equation(symbolic.clone()));
        lines.push(Statement::Equation(numeric.clone()));
        equations.push(symbolic);
        let about = all
            .iter()
            .filter(|branch| own.contains(&branch.from) != own.contains(&branch.to))
            .flat_map(|branch| branch.parts.iter().map(|(part, _)| net.parts[*part].name.clone()))
            .collect();
        let scale = clearing(&conductances);
        if let Some(scale) = scale {
            coefficients.iter_mut().for_each(|coefficient| *coefficient *= &scale);
            right *= &scale;
            lines.push(if scale == 1 {
                Statement::say("In order:")
            } else {
                Statement::Say(Line::of(
                    "Multiplied by #, which clears the fractions, in order:",
                    [Figure::ohm(&scale).given()],
                ))
            });
        } else {
            let scale = coefficients.iter().map(|value| value.clone().abs()).max().unwrap_or_default();
            coefficients.iter_mut().for_each(|coefficient| *coefficient /= &scale);
            right /= &scale;
            lines.push(Statement::say("In order, divided by its largest coefficient:"));
        }
        let (own_lines, own_equations) =
            system_lines(&symbols, &[(coefficients.clone(), right.clone())], Unit::Volt, "");
        lines.extend(own_lines);
        equations.extend(own_equations);
        rows.push((coefficients, right));
        steps.push(Step { heading, lines, about, ..Step::default() });
    }
    let solved = if unknown.is_empty() {
        Vec::new()
    } else {
        linear::solve(
            rows.iter().map(|(coefficients, _)| coefficients.clone()).collect(),
            rows.iter().map(|(_, right)| right.clone()).collect(),
        )?
    };
    if !unknown.is_empty() {
        let heading = if unknown.len() == 1 { "The potential" } else { "The potentials" };
        let mut lines = Vec::new();
        if unknown.len() > 1 {
            lines.push(Statement::say(format!("The {} equations together have one solution:", unknown.len())));
        }
        for (symbol, value) in symbols.iter().zip(&solved) {
            lines.push(Statement::Equation(Equation::new(symbol.clone()).gives(Figure::volt(value))));
        }
        for &point in &points {
            if leader[point] != point
                && leader[point] != root
                && let Some(at) = index_of(point)
            {
                let value = &solved[at] + &above[point];
                lines.push(Statement::Equation(Equation::new(symbol(point)).gives(Figure::volt(&value))));
            }
        }
        steps.push(Step { heading: heading.to_owned(), lines, ..Step::default() });
    }
    let potential = |point: usize| -> Rational {
        let base = index_of(point).and_then(|at| solved.get(at).cloned()).unwrap_or_default();
        base + &above[point]
    };
    // Currents: by Ohm's law, then by the junction rule where an ideal voltage has no resistance to ask.
    let mut currents: Vec<Option<Rational>> = all
        .iter()
        .map(|branch| match &branch.drive {
            Some(drive) => Some(drive.clone()),
            None if branch.rigid() => None,
            None => Some((potential(branch.from) - potential(branch.to) - &branch.emf) / &branch.ohms),
        })
        .collect();
    let mut lines = Vec::new();
    for (branch, current) in all.iter().zip(&currents) {
        let (Some(current), None) = (current, &branch.drive) else { continue };
        let shown = branch.lead;
        let mut terms = Vec::new();
        let mut template = String::new();
        let mut figures = Vec::new();
        // Along the branch; a source in it points along, so its emf comes first where it drives.
        let emfs = branch.emf_terms(circuit, net);
        let mut push = |minus: bool, term: String, figure: Figure| {
            let head = match (template.is_empty(), minus != (figure.value < 0)) {
                (true, false) => "",
                (true, true) => "-",
                (false, false) => " + ",
                (false, true) => " - ",
            };
            template = format!("{template}{head}#");
            figures.push(Figure { value: figure.value.abs(), ..figure });
            terms.push((minus, term));
        };
        let mut addends = Vec::new();
        for (index, (against, term)) in emfs.iter().enumerate() {
            let value = branch
                .parts
                .iter()
                .filter_map(|(part, _)| match &net.parts[*part].behavior {
                    Behavior::Emf { emf, .. } => Some((emf.clone(), net.parts[*part].given)),
                    _ => None,
                })
                .nth(index)
                .unwrap_or_default();
            addends.push((!*against, term.clone(), Figure::volt(&value.0).given_if(value.1)));
        }
        for (point, minus) in [(branch.from, false), (branch.to, true)] {
            if point != zero {
                let figure = Figure::volt(&potential(point)).given_if(leader[point] == root);
                addends.push((minus, symbol(point), figure));
            }
        }
        // What adds comes before what is taken away.
        addends.sort_by_key(|(minus, ..)| *minus);
        for (minus, term, figure) in addends {
            push(minus, term, figure);
        }
        let mut formula = String::new();
        for (minus, term) in &terms {
            formula = match (formula.is_empty(), *minus) {
                (true, false) => term.clone(),
                (true, true) => format!("-{term}"),
                (false, false) => format!("{formula} + {term}"),
                (false, true) => format!("{formula} - {term}"),
            };
        }
        let several = terms.len() > 1;
        let ohms = branch.ohms_symbol(circuit, net);
        let (formula, template) = if several {
            (format!("({formula}) / {ohms}"), format!("({template}) / #"))
        } else {
            (format!("{formula} / {ohms}"), format!("{template} / #"))
        };
        figures.push(Figure::ohm(&branch.ohms).given());
        lines.push(Statement::Equation(
            Equation::new(format!("I({})", net.parts[shown].name))
                .is(formula)
                .put(&template, figures)
                .gives(Figure::ampere(current)),
        ));
        lines.extend(direction(net, branch, current));
    }
    for (branch, current) in all.iter().zip(&currents) {
        if let (Some(current), Some(_)) = (current, &branch.drive)
            && let Some((part, _)) = branch.parts.iter().find(|(part, _)| net.parts[*part].is_source())
            && branch.parts.len() > 1
        {
            lines.push(Statement::Say(Line::of(
                &format!("{} carry the # of {}.", branch.name(net).replace(" -- ", ", "), net.parts[*part].name),
                [Figure::ampere(&current.clone().abs()).given()],
            )));
        }
    }
    // Peel off: a point at which only one current is missing.
    loop {
        let found = points.iter().find_map(|&point| {
            let at: Vec<usize> =
                (0..all.len()).filter(|&index| all[index].from == point || all[index].to == point).collect();
            let missing: Vec<usize> = at.iter().copied().filter(|&index| currents[index].is_none()).collect();
            if let [one] = missing[..] { Some((point, at, one)) } else { None }
        });
        let Some((point, at, missing)) = found else { break };
        let mut sum = Rational::from(0);
        let mut terms = String::new();
        let mut template = String::new();
        let mut figures = Vec::new();
        for index in at {
            if index == missing {
                continue;
            }
            let (branch, current) = (&all[index], currents[index].clone().unwrap_or_default());
            let leaves = branch.from == point;
            let out = if leaves { current.clone() } else { -current.clone() };
            sum += &out;
            let shown = branch.lead;
            // The missing current comes in at this point.
            let minus = !leaves;
            let head = match (terms.is_empty(), minus) {
                (true, false) => "",
                (true, true) => "-",
                (false, false) => " + ",
                (false, true) => " - ",
            };
            terms = format!("{terms}{head}I({})", net.parts[shown].name);
            let head = match (template.is_empty(), out < 0) {
                (true, false) => "",
                (true, true) => "-",
                (false, false) => " + ",
                (false, true) => " - ",
            };
            template = format!("{template}{head}#");
            figures.push(Figure::ampere(&out.abs()));
        }
        let branch = &all[missing];
        let current = if branch.to == point { sum } else { -sum };
        {
            let part = branch.lead;
            let flip = branch.to != point;
            let mut equation = Equation::new(format!("I({})", net.parts[part].name));
            equation = if flip { equation.is(format!("-({terms})")) } else { equation.is(terms) };
            if figures.len() > 1 {
                let template = if flip { format!("-({template})") } else { template };
                equation = equation.put(&template, figures);
            }
            lines.push(Statement::say(format!("By the junction rule at {}:", net.label(point))));
            lines.push(Statement::Equation(equation.gives(Figure::ampere(&current))));
            lines.extend(direction(net, branch, &current));
        }
        currents[missing] = Some(current);
    }
    steps.push(Step {
        heading: "The currents".to_owned(),
        lines: std::iter::once(Statement::say(
            "A current counts in the direction in which its element is written, for sources out of +.",
        ))
        .chain(lines)
        .collect(),
        ..Step::default()
    });
    let currents: Vec<Rational> = currents.into_iter().map(Option::unwrap_or_default).collect();
    let mut values = values_of(net, &all, &currents);
    settle_drives(net, &mut values);
    Some(Worked { steps, equations, values })
}
