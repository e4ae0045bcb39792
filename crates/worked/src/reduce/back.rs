//! The way back: the values of what was replaced, from those of what replaced it.

use malachite::Rational;
use malachite::base::num::arithmetic::traits::Abs;
use ohmline_circuit::Circuit;
use rustc_hash::FxHashMap;
use smol_str::SmolStr;

use super::wording::{emf_symbol, internal_symbol, row, row_figures, shorten};
use super::{Record, Reduction, TERMS, Values};
use crate::line::{Equation, Figure, Line, Statement, list};
use crate::model::{Rule, Stage, Step};
use crate::net::{Behavior, Net, Part};

/// The stage with the currents that are known.
pub(crate) fn with_currents(mut stage: Stage, net: &Net, values: &Values) -> Stage {
    for part in &mut stage.parts {
        let index = net.parts.iter().position(|own| own.name == part.name);
        part.current = index.and_then(|index| values.get(&index)).map(|(current, _)| current.clone());
    }
    stage
}

/// The values of parts that stand, from the replaced back to the drawn; with the steps of the way back.
pub(crate) fn unwind(
    reduction: &Reduction<'_>,
    values: &mut Values,
    hows: &mut FxHashMap<usize, String>,
) -> (Vec<Step>, Vec<crate::model::Back>) {
    let net = &reduction.net;
    let circuit = reduction.circuit;
    let mut steps = Vec::new();
    let mut back = Vec::new();
    for (record, before) in reduction.records.iter().zip(&reduction.before).rev() {
        let mut step = Step::default();
        match record {
            Record::Group { rule, members, result } => {
                let (current, voltage) = values.get(result).cloned().unwrap_or_default();
                let whole = net.parts[*result].name.clone();
                let names: Vec<SmolStr> = members.iter().map(|(part, _)| net.parts[*part].name.clone()).collect();
                let series = *rule == Rule::Series;
                let because = if series {
                    format!("series: same current as {whole}")
                } else {
                    format!("parallel: same voltage as {whole}")
                };
                step.heading =
                    format!("{} have the same {}", shorten(&names), if series { "current" } else { "voltage" });
                step.lines.push(Statement::say(if series {
                    format!("They are in series: each carries the current of {whole}.")
                } else {
                    format!("They are in parallel: each has the voltage of {whole}.")
                }));
                let mut shown = Vec::new();
                let handed = if series { current.clone().abs() } else { voltage.clone().abs() };
                let letter = if series { "I" } else { "V" };
                let mut equation =
                    Equation { sides: names.iter().map(|name| Line::text(format!("{letter}({name})"))).collect() };
                if equation.sides.len() > TERMS {
                    equation.sides = vec![
                        equation.sides[0].clone(),
                        equation.sides[1].clone(),
                        Line::text("..."),
                        equation.sides[names.len() - 1].clone(),
                    ];
                }
                equation = equation.is(format!("{letter}({whole})"));
                equation = equation.gives(if series { Figure::ampere(&handed) } else { Figure::volt(&handed) });
                step.lines.push(Statement::Equation(equation));
                for (part, against) in members {
                    let own = &net.parts[*part];
                    let ohms = own.resistance().cloned().unwrap_or_default();
                    let turn = |value: Rational| if *against { -value } else { value };
                    let (i, v) = if series {
                        let i = turn(current.clone());
                        (i.clone(), &i * &ohms)
                    } else {
                        let v = turn(voltage.clone());
                        (&v / &ohms, v)
                    };
                    let name = &own.name;
                    // Equal ones in one line.
                    let equal: Vec<SmolStr> = members
                        .iter()
                        .map(|(other, _)| &net.parts[*other])
                        .filter(|other| other.ohms() == own.ohms())
                        .map(|other| other.name.clone())
                        .collect();
                    let chained = |letter: &str| {
                        let names: Vec<String> = equal.iter().map(|name| format!("{letter}({name})")).collect();
                        Equation::new(row(&names, " = "))
                    };
                    let equation = if series {
                        chained("V")
                            .is(format!("{} × I({name})", own.factor()))
                            .put("# × #", [own.ohms(), Figure::ampere(&handed)])
                            .gives(Figure::volt(&v.clone().abs()))
                    } else {
                        chained("I")
                            .is(format!("V({name}) / {}", own.factor()))
                            .put("# / #", [Figure::volt(&handed), own.ohms()])
                            .gives(Figure::ampere(&i.clone().abs()))
                    };
                    shown.push(if series { Figure::volt(&v.clone().abs()) } else { Figure::ampere(&i.clone().abs()) });
                    if equal.first() == Some(name) {
                        step.lines.push(Statement::Equation(equation));
                    }
                    back.push(crate::model::Back {
                        name: name.clone(),
                        current: i.clone().abs(),
                        voltage: v.clone().abs(),
                        because: because.clone(),
                    });
                    values.insert(*part, (i, v));
                    hows.insert(*part, because.clone());
                }
                let sum =
                    if series { Figure::volt(&voltage.clone().abs()) } else { Figure::ampere(&current.clone().abs()) };
                let letter = if series { "V" } else { "I" };
                let marks = row(&vec!["#"; shown.len()], " + ");
                let mut check = Equation { sides: vec![Line::of(&marks, row_figures(shown))] };
                check = check.gives(sum).is(format!("{letter}({whole})"));
                step.lines.push(Statement::say("Together:"));
                step.lines.push(Statement::Equation(check));
                step.about = names;
            }
            Record::Sources { rule, members, result } => {
                let (current, _) = values.get(result).cloned().unwrap_or_default();
                let whole = net.parts[*result].name.clone();
                let count = Rational::from(members.len());
                let names: Vec<SmolStr> = members.iter().map(|(part, _)| net.parts[*part].name.clone()).collect();
                let series = *rule == Rule::SeriesSources;
                step.heading = if series {
                    format!("{} have the same current", shorten(&names))
                } else {
                    format!("{} share the current evenly", shorten(&names))
                };
                let because = if series {
                    format!("series: same current as {whole}")
                } else {
                    format!("equal cells: each has 1/{} of the current", members.len())
                };
                let size = if series { current.clone().abs() } else { (&current / &count).abs() };
                if !series {
                    step.lines.push(Statement::Equation(
                        Equation::new(format!("I({})", names[0]))
                            .is(format!("I({whole}) / {}", members.len()))
                            .put(&format!("# / {}", members.len()), [Figure::ampere(&current.clone().abs())])
                            .gives(Figure::ampere(&size)),
                    ));
                }
                for (part, against) in members {
                    let own = &net.parts[*part];
                    let mut i = if *against { -current.clone() } else { current.clone() };
                    if !series {
                        i /= &count;
                    }
                    let v = terminal_voltage(own, &i);
                    step.lines.extend(terminal_lines(circuit, own, &i, &v));
                    back.push(crate::model::Back {
                        name: own.name.clone(),
                        current: i.clone().abs(),
                        voltage: v.clone(),
                        because: because.clone(),
                    });
                    values.insert(*part, (i, v));
                    hows.insert(*part, because.clone());
                }
                step.about = names;
            }
            Record::Idle { part } => {
                let own = &net.parts[*part];
                values.insert(*part, (Rational::from(0), Rational::from(0)));
                hows.insert(*part, "its ends are at one potential".to_owned());
                step.heading = format!("{} carries nothing", own.name);
                step.lines.push(Statement::say(format!(
                    "Both ends of {} are at one potential, so it has neither voltage nor current.",
                    own.name
                )));
                step.about = vec![own.name.clone()];
                back.push(crate::model::Back {
                    name: own.name.clone(),
                    current: Rational::from(0),
                    voltage: Rational::from(0),
                    because: "balanced: no voltage".to_owned(),
                });
            }
            Record::Star { sides, arms } => {
                // Voltage from each corner to the center.
                let to_center: Vec<Rational> =
                    arms.iter().map(|arm| values.get(arm).map(|(_, v)| v.clone()).unwrap_or_default()).collect();
                let names: Vec<SmolStr> = sides.iter().map(|(part, ..)| net.parts[*part].name.clone()).collect();
                step.heading = format!("Back to the triangle of {}", list(&names));
                step.lines.push(Statement::say(
                    "The voltages between the corners are the same in the star and in the triangle.",
                ));
                for (part, a, b) in sides {
                    let own = &net.parts[*part];
                    let v = &to_center[*a] - &to_center[*b];
                    let i = &v / own.resistance().cloned().unwrap_or_else(|| Rational::from(1));
                    let size = v.clone().abs();
                    // From the corner of higher potential to the other.
                    let (high, low) = if v < 0 { (*b, *a) } else { (*a, *b) };
                    let (first, second) = (&to_center[high], -to_center[low].clone());
                    let sign = |value: &Rational| if *value < 0 { "-" } else { "+" };
                    let (one, other) = (&net.parts[arms[high]].name, &net.parts[arms[low]].name);
                    let lead = if *first < 0 { "-" } else { "" };
                    step.lines.push(Statement::Equation(
                        Equation::new(format!("V({})", own.name))
                            .is(format!("{lead}V({one}) {} V({other})", sign(&second)))
                            .put(
                                &format!("{lead}# {} #", sign(&second)),
                                [Figure::volt(&first.clone().abs()), Figure::volt(&second.clone().abs())],
                            )
                            .gives(Figure::volt(&size)),
                    ));
                    step.lines.push(Statement::Equation(
                        Equation::new(format!("I({})", own.name))
                            .is(format!("V({}) / {}", own.name, own.factor()))
                            .put("# / #", [Figure::volt(&size), own.ohms()])
                            .gives(Figure::ampere(&i.clone().abs())),
                    ));
                    let corner = |arm: usize| {
                        net.parts[arms[arm]].name.trim_start_matches("Y(").trim_end_matches([')', '′']).to_owned()
                    };
                    if v != 0 {
                        step.lines.push(Statement::say(format!("It flows from {} to {}.", corner(high), corner(low))));
                    }
                    back.push(crate::model::Back {
                        name: own.name.clone(),
                        current: i.clone().abs(),
                        voltage: size,
                        because: "triangle: voltage between its corners".to_owned(),
                    });
                    hows.insert(*part, "voltage between the corners of the triangle".to_owned());
                    values.insert(*part, (i, v));
                }
                step.about = names;
            }
        }
        let mut stage = with_currents(before.clone(), net, values);
        stage.parts.iter_mut().for_each(|part| part.new = step.about.contains(&part.name));
        step.stage = Some(stage);
        steps.push(step);
    }
    (steps, back)
}

/// Voltage of an emf with this current from + to - inside it.
pub(crate) fn terminal_voltage(part: &Part, inside: &Rational) -> Rational {
    match &part.behavior {
        Behavior::Emf { emf, internal } => emf + internal * inside,
        _ => Rational::from(0),
    }
}

/// The terminal voltage of a source, in words and numbers.
pub(crate) fn terminal_lines(circuit: &Circuit, part: &Part, inside: &Rational, voltage: &Rational) -> Vec<Statement> {
    let Behavior::Emf { emf, internal } = &part.behavior else { return Vec::new() };
    let name = &part.name;
    let mut lines = Vec::new();
    let battery = part.element.is_none_or(|id| circuit.element(id).kind.is_source());
    if battery && *inside > 0 {
        lines.push(Statement::say(format!("The current enters {name} at +: {name} is being charged.")));
    }
    let equation = Equation::new(format!("V({name})"));
    lines.push(Statement::Equation(if *internal == 0 {
        equation.is(emf_symbol(circuit, part)).gives(Figure::volt(emf).given_if(part.given))
    } else {
        let sign = if *inside > 0 { "+" } else { "-" };
        equation
            .is(format!("{} {sign} {} × I({name})", emf_symbol(circuit, part), internal_symbol(circuit, part)))
            .put(
                &format!("# {sign} # × #"),
                [Figure::volt(emf).given_if(part.given), part.ohms(), Figure::ampere(&inside.clone().abs())],
            )
            .gives(Figure::volt(voltage))
    }));
    lines
}
