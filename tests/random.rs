//! Random circuits: two solvers against each other, and the laws of physics against the printed answers.
//!
//! Every circuit is connected and has resistance in every loop of sources, so all answers are determined.

mod harness;

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::path::Path;
use std::sync::Arc;

use harness::{Random, Solved, close};
use ohmline_analysis::{Analysis, FileSystem, Method, Settings, analyze, load};
use ohmline_solve::Value;
use ohmline_syntax::parse;

/// An element with the junctions at its ends; for sources the first is plus.
struct Placed {
    name: String,
    from: usize,
    to: usize,
    source: bool,
    /// The junction at its third terminal: that of a potentiometer's wiper.
    third: Option<usize>,
}

struct Drawn {
    text: String,
    parts: Vec<Placed>,
}

/// Draws a circuit of this many junctions.
fn draw(random: &mut Random, junctions: usize) -> Drawn {
    let mut text = String::new();
    let mut parts: Vec<Placed> = Vec::new();
    let mut diodes = 0;
    let mut add = |random: &mut Random, from: usize, to: usize, may_be_ideal: bool| {
        let number = parts.len() + 1;
        let ohms = [1, 2, 3, 5, 10, 12, 47, 100, 330, 1000, 4700][random.below(11)];
        let volts = [1, 2, 5, 9, 12][random.below(5)] as f64 / if random.below(2) == 0 { 1.0 } else { 10.0 };
        let (name, declaration, item, source) = match random.below(18) {
            0 if may_be_ideal => {
                let name = format!("V{number}");
                (name.clone(), format!("source {name} = {volts} V"), format!("+{name}-"), true)
            }
            1 | 2 => {
                let name = format!("B{number}");
                (name.clone(), format!("battery {name} = {volts} V, internal {ohms} ohm"), format!("+{name}-"), true)
            }
            3 if !may_be_ideal => {
                let name = format!("I{number}");
                (name.clone(), format!("source {name} = {} mA", random.below(500)), format!("+{name}-"), true)
            }
            4 => {
                let name = format!("A{number}");
                (name.clone(), format!("ammeter {name} = {ohms} mohm"), format!("+{name}-"), false)
            }
            5 if !may_be_ideal => {
                let name = format!("V{number}");
                (name.clone(), format!("voltmeter {name}"), format!("+{name}-"), false)
            }
            6 => {
                let name = format!("L{number}");
                (name.clone(), format!("lamp {name} = {} W at {volts} V", 1 + random.below(9)), name, false)
            }
            7 if may_be_ideal => {
                let name = format!("S{number}");
                (name.clone(), format!("switch {name} = closed"), name, false)
            }
            8 if !may_be_ideal => {
                let name = format!("S{number}");
                (name.clone(), format!("switch {name} = open"), name, false)
            }
            9 => {
                let name = format!("F{number}");
                (name.clone(), format!("fuse {name} = 100 A, resistance {ohms} mohm"), name, false)
            }
            10 => {
                let name = format!("X{number}");
                (name.clone(), format!("inductor {name} = {ohms} mH, resistance {ohms} ohm"), name, false)
            }
            // Once charged it carries nothing, so it may only close a loop.
            11 if !may_be_ideal => {
                let name = format!("C{number}");
                (name.clone(), format!("capacitor {name} = {ohms} uF"), name, false)
            }
            // It may block, so it may only close a loop; every two of them make four times as many states.
            12 if !may_be_ideal && diodes < 4 => {
                diodes += 1;
                let name = format!("D{number}");
                (name.clone(), format!("diode {name} = 0.7 V, resistance {ohms} ohm"), format!("+{name}-"), false)
            }
            13 if may_be_ideal => {
                let name = format!("W{number}");
                let throw = if random.below(2) == 0 { "a" } else { "b" };
                let _ = writeln!(text, "changeover {name} = {throw}");
                let _ = writeln!(text, "@j{from} -- {name}.common\n{name}.{throw} -- @j{to}");
                parts.push(Placed { name, from, to, source: false, third: None });
                return;
            }
            14 if !may_be_ideal => {
                let name = format!("P{number}");
                let wiper = random.below(junctions);
                let _ = writeln!(text, "potentiometer {name} = {ohms} ohm at {}%", 1 + random.below(99));
                let _ = writeln!(text, "@j{from} -- {name}.a\n{name}.b -- @j{to}\n{name}.wiper -- @j{wiper}");
                parts.push(Placed { name, from, to, source: false, third: Some(wiper) });
                return;
            }
            _ => {
                let name = format!("R{number}");
                (name.clone(), format!("resistor {name} = {ohms} ohm"), name, false)
            }
        };
        let _ = writeln!(text, "{declaration}\n@j{from} -- {item} -- @j{to}");
        parts.push(Placed { name, from, to, source, third: None });
    };
    // A tree joins all junctions. Its branches close no loop among themselves, so what is ideal may stand here.
    for junction in 1..junctions {
        let other = random.below(junction);
        let (from, to) = if random.below(2) == 0 { (junction, other) } else { (other, junction) };
        add(random, from, to, true);
    }
    // What closes loops has resistance, or carries a fixed current or none.
    for _ in 0..junctions {
        let from = random.below(junctions);
        let to = random.below(junctions);
        if from != to {
            add(random, from, to, false);
        }
    }
    Drawn { text, parts }
}

struct NoFiles;

impl FileSystem for NoFiles {
    fn read(&self, _path: &Path) -> Result<Arc<str>, String> {
        Err("there is no such file".to_owned())
    }

    fn exists(&self, _path: &Path) -> bool {
        false
    }
}

fn solve(text: &str, method: Method) -> Analysis {
    analyze(load("random.ohmline", None, Arc::new(parse(text)), &NoFiles), &Settings { method, ..Settings::default() })
}

fn number(value: &Value) -> Option<f64> {
    value.known().map(|number| number.to_f64())
}

#[test]
fn exact_and_floating_answers_agree() {
    let mut compared = 0;
    for seed in 0..150 {
        let mut random = Random::new(seed);
        let size = 2 + random.below(if seed % 10 == 0 { 40 } else { 12 });
        let drawn = draw(&mut random, size);
        let exact = solve(&drawn.text, Method::Exact);
        let float = solve(&drawn.text, Method::Float);
        let circuit = exact.circuit.clone();
        let (exact, float) = (&exact.answers.states[0], &float.answers.states[0]);
        assert!(exact.exact && !float.exact, "seed {seed}");
        assert_eq!(
            exact.residuals,
            ohmline_solve::Residuals::default(),
            "seed {seed}: exact answers leave nothing over"
        );
        let scale = |pick: &dyn Fn(&ohmline_solve::ElementAnswer) -> Option<f64>| {
            exact.elements.iter().flatten().filter_map(pick).fold(0.0, |most: f64, value| most.max(value.abs()))
        };
        let volts = scale(&|answer| answer.voltage.as_ref().and_then(number));
        let amperes = scale(&|answer| answer.current.as_ref().and_then(number));
        for (index, (a, b)) in exact.elements.iter().zip(&float.elements).enumerate() {
            let (Some(a), Some(b)) = (a, b) else { panic!("seed {seed}: an element is not placed") };
            let all = [(&a.current, &b.current, amperes), (&a.voltage, &b.voltage, volts)];
            for (a, b, scale) in all {
                let (a, b) = (a.as_ref().and_then(number), b.as_ref().and_then(number));
                let (Some(a), Some(b)) = (a, b) else {
                    // Through a potentiometer there is no single current; those into its terminals are compared below.
                    assert!(
                        drawn.parts[index].third.is_some(),
                        "seed {seed}, element {index}: {a:?}, {b:?}\n{}",
                        drawn.text
                    );
                    continue;
                };
                assert!(close(a, b, 1e-9, scale), "seed {seed}, element {index}: {a} and {b}\n{}", drawn.text);
                compared += 1;
            }
            for (x, y) in a.into.iter().zip(&b.into) {
                let (Some(x), Some(y)) = (number(x), number(y)) else { panic!("seed {seed}: no current into {index}") };
                assert!(close(x, y, 1e-9, amperes), "seed {seed}, element {index}: {x} and {y} A enter");
            }
            let (Some(x), Some(y)) = (number(&a.power), number(&b.power)) else { panic!("seed {seed}: no power") };
            assert!(close(x, y, 1e-9, volts * amperes), "seed {seed}, element {index}: {x} W and {y} W");
        }
        for (node, (a, b)) in circuit.nodes.iter().zip(exact.potentials.iter().zip(&float.potentials)) {
            if node.names.is_empty() {
                // The contact of a changeover that nothing touches.
                assert_eq!((number(a), number(b)), (None, None), "seed {seed}: {}", node.label);
                continue;
            }
            let (Some(a), Some(b)) = (number(a), number(b)) else {
                panic!("seed {seed}: no potential\n{}", drawn.text)
            };
            assert!(close(a, b, 1e-9, volts), "seed {seed}: {a} V and {b} V");
        }
    }
    assert!(compared > 3000, "only {compared} answers");
}

/// Kirchhoff's laws (G. Kirchhoff, 1845) and the balance of power, from nothing but the printed numbers and the drawing.
#[test]
fn printed_answers_obey_the_laws() {
    for seed in 1000..1040 {
        let mut random = Random::new(seed);
        let junctions = 2 + random.below(14);
        let drawn = draw(&mut random, junctions);
        let solved = Solved::new(&drawn.text);
        let potentials = &solved.case(None)["junctions"];
        let mut sums: BTreeMap<usize, (f64, f64)> = BTreeMap::new();
        let (mut delivered, mut taken) = (0.0, 0.0);
        for part in &drawn.parts {
            let power = solved.element(&part.name, "power");
            let potential = |junction: usize| -> f64 {
                let value = &potentials[format!("j{junction}")]["potential"];
                value.as_f64().unwrap_or_else(|| panic!("seed {seed}: potential of @j{junction} is {value}"))
            };
            if let Some(third) = part.third {
                let terminals = &solved.case(None)["elements"][&part.name]["terminals"];
                let mut sum = 0.0;
                for (terminal, junction) in [("a", part.from), ("b", part.to), ("wiper", third)] {
                    let current = &terminals[terminal]["current"];
                    let current = current.as_f64().unwrap_or_else(|| panic!("seed {seed}: into {terminal} {current}"));
                    let entry = sums.entry(junction).or_default();
                    entry.0 += current;
                    entry.1 = entry.1.max(current.abs());
                    sum += current * potential(junction);
                }
                assert!(close(power, sum, 1e-9, 1e-12), "seed {seed}: {} takes {power} W, not {sum} W", part.name);
                taken += power;
                continue;
            }
            let current = solved.element(&part.name, "current");
            let voltage = solved.element(&part.name, "voltage");
            // Sources count their current out of plus, loads from the first end to the second.
            let into = if part.source { -current } else { current };
            for (junction, current) in [(part.from, into), (part.to, -into)] {
                let entry = sums.entry(junction).or_default();
                entry.0 += current;
                entry.1 = entry.1.max(current.abs());
            }
            let drop = potential(part.from) - potential(part.to);
            let scale = potential(part.from).abs().max(potential(part.to).abs());
            assert!(close(drop, voltage, 1e-9, scale), "seed {seed}: {} has {voltage} V between {drop} V", part.name);
            assert!(close(power, voltage * current, 1e-9, 1e-12), "seed {seed}: {}", part.name);
            if part.source {
                delivered += power;
            } else {
                taken += power;
            }
        }
        for (junction, (sum, largest)) in sums {
            assert!(sum.abs() <= 1e-9 * largest, "seed {seed}: @j{junction} is left with {sum} A\n{}", drawn.text);
        }
        assert!(close(delivered, taken, 1e-9, 1e-12), "seed {seed}: {delivered} W delivered, {taken} W taken up");
    }
}
