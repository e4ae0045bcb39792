//! Junction equations and loop equations: unknowns, one equation for each, the system, its solution, and the currents.

use malachite::base::num::arithmetic::traits::{Abs, Lcm};
use malachite::{Natural, Rational};
use ohmline_circuit::{Circuit, Unit};

use crate::line::{Equation, Figure, Line, Statement, list};
use crate::linear;
use crate::model::{StageRing, Step};
use crate::net::{Behavior, Net, Placed};
use crate::reduce::{Values, emf_symbol, internal_symbol, terminal_voltage};

/// What stands between two points where three or more parts meet: parts that carry one current.
#[derive(Clone, Debug)]
pub(crate) struct Branch {
    pub from: usize,
    pub to: usize,
    /// Parts with whether they stand against the branch.
    pub parts: Vec<(usize, bool)>,
    /// Sum of the emfs: voltage drop from `from` to `to` without current.
    pub emf: Rational,
    pub ohms: Rational,
    /// The current that a source fixes.
    pub drive: Option<Rational>,
    /// The part whose direction is the branch's: it names the current.
    pub lead: usize,
    /// Whether a source stands in it.
    pub driven: bool,
}

impl Branch {
    pub fn name(&self, net: &Net) -> String {
        let names: Vec<&str> = self.parts.iter().map(|(part, _)| net.parts[*part].name.as_str()).collect();
        names.join(" -- ")
    }

    fn rigid(&self) -> bool {
        self.ohms == 0 && self.drive.is_none()
    }

    /// Resistances as a formula, as a factor or divisor.
    fn ohms_symbol(&self, circuit: &Circuit, net: &Net) -> String {
        let symbols: Vec<String> = self
            .parts
            .iter()
            .filter_map(|(part, _)| {
                let part = &net.parts[*part];
                match &part.behavior {
                    Behavior::Resistance(_) => Some(part.summand()),
                    Behavior::Emf { internal, .. } if *internal != 0 => Some(internal_symbol(circuit, part)),
                    _ => None,
                }
            })
            .collect();
        match &symbols[..] {
            [one] => one.clone(),
            _ => format!("({})", symbols.join(" + ")),
        }
    }

    /// Emfs as signed symbols, seen from `from` (a drop counts positive).
    fn emf_terms(&self, circuit: &Circuit, net: &Net) -> Vec<(bool, String)> {
        self.parts
            .iter()
            .filter_map(|(part, against)| {
                let part = &net.parts[*part];
                matches!(part.behavior, Behavior::Emf { .. }).then(|| (*against, emf_symbol(circuit, part)))
            })
            .collect()
    }
}

/// The branches of a network between its forks.
pub(crate) fn branches(circuit: &Circuit, net: &Net) -> Vec<Branch> {
    let live = net.live_points();
    let mut forks: Vec<usize> = live.iter().copied().filter(|&point| net.degree(point) > 2).collect();
    if forks.is_empty() {
        // One ring: cut it at its first source, so that there are two points to speak of.
        match net.sources().first() {
            Some(source) => forks = vec![source.from, source.to],
            None => return Vec::new(),
        }
    }
    let mut used = vec![false; net.placed.len()];
    let mut found = Vec::new();
    for &fork in &forks {
        for index in 0..net.placed.len() {
            if used[index] || !net.placed[index].touches(fork) {
                continue;
            }
            let mut at = fork;
            let mut next = Some(index);
            let mut path: Vec<(Placed, bool)> = Vec::new();
            while let Some(index) = next {
                used[index] = true;
                let placed = net.placed[index];
                path.push((placed, placed.from != at));
                at = placed.far(at);
                next = if forks.contains(&at) {
                    None
                } else {
                    (0..net.placed.len()).find(|&other| !used[other] && net.placed[other].touches(at))
                };
            }
            found.push(branch(circuit, net, fork, at, path));
        }
    }
    found
}

/// A branch, turned so that a source in it drives along it, else its first element stands along it.
fn branch(circuit: &Circuit, net: &Net, from: usize, to: usize, mut path: Vec<(Placed, bool)>) -> Branch {
    let drives = |part: &crate::net::Part| {
        part.is_source() && part.element.is_none_or(|id| circuit.element(id).kind.is_source())
    };
    let source = path.iter().find(|(placed, _)| drives(&net.parts[placed.part])).copied();
    let first = path.iter().min_by_key(|(placed, _)| net.parts[placed.part].span).copied();
    let (lead, turn) = match (source, first) {
        // Out of + means that the source is passed from - to +, against its own order.
        (Some((placed, against)), _) => (placed.part, !against),
        (None, Some((placed, against))) => (placed.part, against),
        (None, None) => (0, false),
    };
    let (mut from, mut to) = (from, to);
    if turn {
        path.reverse();
        path.iter_mut().for_each(|item| item.1 = !item.1);
        std::mem::swap(&mut from, &mut to);
    }
    let mut own = Branch {
        from,
        to,
        parts: path.iter().map(|(placed, against)| (placed.part, *against)).collect(),
        emf: Rational::from(0),
        ohms: Rational::from(0),
        drive: None,
        lead,
        driven: source.is_some(),
    };
    for (part, against) in own.parts.clone() {
        match &net.parts[part].behavior {
            Behavior::Resistance(value) => own.ohms += value,
            Behavior::Emf { emf, internal } => {
                if against {
                    own.emf -= emf
                } else {
                    own.emf += emf
                }
                own.ohms += internal;
            }
            // It drives out of `from`: against the order from `from` to `to` inside.
            Behavior::Drive(value) => own.drive = Some(if against { value.clone() } else { -value.clone() }),
            Behavior::Terminals => own.drive = Some(Rational::from(0)),
        }
    }
    own
}

/// The values of all parts from the currents of their branches.
fn values_of(net: &Net, branches: &[Branch], currents: &[Rational]) -> Values {
    let mut values = Values::default();
    for (branch, current) in branches.iter().zip(currents) {
        for (part, against) in &branch.parts {
            let i = if *against { -current.clone() } else { current.clone() };
            let own = &net.parts[*part];
            let v = match &own.behavior {
                Behavior::Resistance(ohms) => ohms * &i,
                Behavior::Emf { .. } => terminal_voltage(own, &i),
                _ => Rational::from(0),
            };
            values.insert(*part, (i, v));
        }
    }
    values
}

/// How one current source's voltage follows from everything round it: the potentials of its ends.
pub(crate) fn settle_drives(net: &Net, values: &mut Values) {
    // Potentials by walking over everything whose voltage is known.
    let mut height: Vec<Option<Rational>> = vec![None; net.points.len()];
    for start in net.live_points() {
        if height[start].is_some() {
            continue;
        }
        height[start] = Some(Rational::from(0));
        let mut queue = vec![start];
        while let Some(point) = queue.pop() {
            let here = height[point].clone().unwrap_or_default();
            for placed in net.at(point) {
                if matches!(net.parts[placed.part].behavior, Behavior::Drive(_) | Behavior::Terminals) {
                    continue;
                }
                let Some((_, v)) = values.get(&placed.part) else { continue };
                let far = placed.far(point);
                if height[far].is_none() {
                    height[far] = Some(if placed.from == point { &here - v } else { &here + v });
                    queue.push(far);
                }
            }
        }
    }
    for placed in &net.placed {
        if matches!(net.parts[placed.part].behavior, Behavior::Drive(_) | Behavior::Terminals)
            && let (Some(a), Some(b)) = (&height[placed.from], &height[placed.to])
            && let Some(value) = values.get_mut(&placed.part)
        {
            value.1 = a - b;
        }
    }
}

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

/// A loop: branches with whether they are passed against their direction.
type Ring = Vec<(usize, bool)>;

/// Short independent loops; a branch with a current source lies in exactly one of them.
pub(crate) fn independent_loops(branches: &[Branch]) -> Vec<Ring> {
    let mut found: Vec<Ring> = Vec::new();
    let usable: Vec<usize> = (0..branches.len()).filter(|&index| branches[index].drive.is_none()).collect();
    let mut candidates: Vec<Ring> = Vec::new();
    for &index in &usable {
        let branch = &branches[index];
        if branch.from == branch.to {
            candidates.push(vec![(index, false)]);
            continue;
        }
        if let Some(way) = way(branches, &usable, branch.to, branch.from, Some(index)) {
            candidates.push(std::iter::once((index, false)).chain(way).collect());
        }
    }
    // Shortest ways from every point to both ends of every branch (Horton, SIAM Journal on Computing 16, 1987), where that is soon done.
    if usable.len() <= 40 {
        let points: std::collections::BTreeSet<usize> =
            usable.iter().flat_map(|&index| [branches[index].from, branches[index].to]).collect();
        for &point in &points {
            for &index in &usable {
                let branch = &branches[index];
                if branch.from == branch.to {
                    continue;
                }
                let there = way(branches, &usable, point, branch.from, Some(index));
                let back = way(branches, &usable, branch.to, point, Some(index));
                if let (Some(there), Some(back)) = (there, back) {
                    let ring: Ring = there.into_iter().chain([(index, false)]).chain(back).collect();
                    let mut once: Vec<usize> = ring.iter().map(|(index, _)| *index).collect();
                    once.sort_unstable();
                    once.dedup();
                    if once.len() == ring.len() {
                        candidates.push(ring);
                    }
                }
            }
        }
    }
    // Shortest paths alone may miss some; loops of a spanning tree complete them.
    let mut tree: Vec<usize> = Vec::new();
    let mut group: std::collections::BTreeMap<usize, usize> = Default::default();
    for &index in &usable {
        let (a, b) = (branches[index].from, branches[index].to);
        let (a, b) = (*group.entry(a).or_insert(a), *group.entry(b).or_insert(b));
        if a == b {
            if branches[index].from != branches[index].to
                && let Some(way) = way(branches, &tree, branches[index].to, branches[index].from, None)
            {
                candidates.push(std::iter::once((index, false)).chain(way).collect());
            }
        } else {
            group.values_mut().filter(|of| **of == b).for_each(|of| *of = a);
            tree.push(index);
        }
    }
    // Short ones first; of equals those without sources, which people call meshes.
    let driven = |ring: &Ring| ring.iter().filter(|(index, _)| branches[*index].driven).count();
    candidates.sort_by_key(|ring| (ring.len(), driven(ring)));
    let mut basis: Vec<Vec<bool>> = Vec::new();
    for ring in candidates {
        let mut bits = vec![false; branches.len()];
        ring.iter().for_each(|(index, _)| bits[*index] ^= true);
        for known in &basis {
            let lead = known.iter().position(|bit| *bit).unwrap_or(0);
            if bits[lead] {
                bits.iter_mut().zip(known).for_each(|(bit, other)| *bit ^= *other);
            }
        }
        if bits.iter().any(|bit| *bit) {
            basis.push(bits);
            found.push(ring);
        }
    }
    // Loops with a source first, each the way that its source drives; the others so that shared branches are passed in opposite senses.
    found.sort_by_key(|ring| driven(ring) == 0);
    for at in 0..found.len() {
        let source = found[at].iter().find(|(index, _)| branches[*index].driven).copied();
        let turn = match source {
            Some((_, against)) => against,
            None => {
                let shared: i32 = found[..at]
                    .iter()
                    .flatten()
                    .flat_map(|(index, against)| {
                        found[at]
                            .iter()
                            .filter(move |(own, _)| own == index)
                            .map(move |(_, own_against)| if own_against == against { 1 } else { -1 })
                    })
                    .sum();
                shared > 0
            }
        };
        if turn {
            found[at].reverse();
            found[at].iter_mut().for_each(|item| item.1 = !item.1);
        }
        if let Some(first) = found[at].iter().position(|(index, _)| branches[*index].driven) {
            found[at].rotate_left(first);
        }
    }
    for (index, branch) in branches.iter().enumerate() {
        if branch.drive.is_some()
            && let Some(way) = way(branches, &usable, branch.to, branch.from, None)
        {
            found.push(std::iter::once((index, false)).chain(way).collect());
        }
    }
    found
}

/// A shortest way over some branches.
fn way(branches: &[Branch], usable: &[usize], from: usize, to: usize, without: Option<usize>) -> Option<Ring> {
    if from == to {
        return Some(Vec::new());
    }
    let mut by: std::collections::BTreeMap<usize, (usize, bool, usize)> = Default::default();
    let mut queue = vec![from];
    let mut next = 0;
    while next < queue.len() {
        let point = queue[next];
        next += 1;
        for &index in usable {
            if Some(index) == without {
                continue;
            }
            let branch = &branches[index];
            let (far, against) = if branch.from == point {
                (branch.to, false)
            } else if branch.to == point {
                (branch.from, true)
            } else {
                continue;
            };
            if far != from && !by.contains_key(&far) {
                by.insert(far, (index, against, point));
                queue.push(far);
            }
        }
    }
    let mut ring = Vec::new();
    let mut at = to;
    while at != from {
        let (index, against, before) = *by.get(&at)?;
        ring.push((index, against));
        at = before;
    }
    ring.reverse();
    Some(ring)
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
