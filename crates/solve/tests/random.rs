//! Random circuits: the two solvers against each other, against Kirchhoff's laws, and against equations set up in
//! another way.

mod kit;

use kit::{Dice, Kit};
use ohmline_circuit::{BranchId, Kind, Law, StateId};
use ohmline_solve::{Cause, DiodeState, Method, Number, StateAnswers, Value};

/// A random circuit of resistors, real and ideal sources, meters and switches; connected, with a few ideal loops.
fn random(seed: u64, diodes: u64, ideal: bool) -> Kit {
    let mut dice = Dice(seed.wrapping_mul(0x9e37_79b9_7f4a_7c15));
    let mut kit = Kit::new();
    let nodes = 3 + dice.below(8);
    let name = |node: u64| format!("n{node}");
    for node in 1..nodes {
        let other = dice.below(node);
        kit.resistor(&format!("T{node}"), &name(node), &name(other), &(1 + dice.below(50)).to_string());
    }
    for nth in 0..2 + dice.below(nodes) {
        let (a, b) = (dice.below(nodes), dice.below(nodes));
        let (a, b) = (name(a), name(b));
        let value = (1 + dice.below(30)).to_string();
        match dice.below(if ideal { 9 } else { 5 }) {
            0 | 1 => kit.battery(&format!("B{nth}"), &a, &b, &value, &format!("{}/3", 1 + dice.below(9))),
            2 | 3 => kit.resistor(&format!("R{nth}"), &a, &b, &value),
            4 => kit.drive(&format!("I{nth}"), &a, &b, &format!("{value}/10")),
            5 => kit.battery(&format!("B{nth}"), &a, &b, &value, ""),
            6 => kit.ammeter(&format!("A{nth}"), &a, &b, ""),
            7 => kit.switch(&format!("S{nth}"), &a, &b, dice.below(2) == 0),
            _ => kit.voltmeter(&format!("V{nth}"), &a, &b, ""),
        };
    }
    for nth in 0..diodes {
        let (a, b) = (dice.below(nodes), dice.below(nodes));
        if a != b {
            let (drop, resistance) = (["7/10", "0", "2"], ["", "1", "1/2"]);
            let (drop, resistance) = (drop[dice.below(3) as usize], resistance[dice.below(3) as usize]);
            kit.diode(&format!("D{nth}"), &name(a), &name(b), drop, resistance);
        }
    }
    kit
}

fn number(value: &Value) -> Option<f64> {
    value.known().map(Number::to_f64)
}

/// Where both solvers have a number, it is the same; and both have one in the same places.
fn same(exact: &StateAnswers, float: &StateAnswers, what: &str) {
    let close = |a: &Value, b: &Value, scale: f64| match (number(a), number(b)) {
        (Some(a), Some(b)) => assert!((a - b).abs() <= 1e-9 * scale.max(a.abs()), "{what}: {a} against {b}"),
        (None, None) => {}
        _ => panic!("{what}: {a:?} against {b:?}"),
    };
    let scale = |values: &mut dyn Iterator<Item = &Value>| values.filter_map(number).map(f64::abs).fold(0.0, f64::max);
    let volts = scale(&mut exact.potentials.iter());
    let amperes = scale(&mut exact.elements.iter().flatten().flat_map(|element| &element.into));
    for (a, b) in exact.potentials.iter().zip(&float.potentials) {
        close(a, b, volts);
    }
    for (a, b) in exact.elements.iter().zip(&float.elements) {
        let (Some(a), Some(b)) = (a, b) else { continue };
        for (a, b) in a.into.iter().zip(&b.into) {
            close(a, b, amperes);
        }
        if let (Some(a), Some(b)) = (&a.voltage, &b.voltage) {
            close(a, b, volts);
        }
        close(&a.power, &b.power, volts * amperes);
    }
}

/// Kirchhoff's laws and the balance of power hold exactly in exact answers, and to rounding in floating ones, contradictions and
/// free shares included (what is determined must fit).
#[test]
fn laws_hold() {
    let mut contradictory = 0;
    for seed in 0..300 {
        let mut kit = random(seed, seed % 4, seed % 3 != 0);
        let exact = kit.solve(Method::Exact).answers;
        let float = kit.solve(Method::Float).answers;
        let (exact, float) = (&exact.states[0], &float.states[0]);
        assert_eq!(exact.residuals, Default::default(), "seed {seed}");
        // A contradiction's loop may carry rounding as large as its voltage.
        let residuals = float.residuals;
        assert!(
            residuals.junction < 1e-9 && residuals.element < 1e-9 && residuals.power < 1e-9,
            "seed {seed}: {residuals:?}"
        );
        let contradicts = exact.causes.iter().any(|cause| {
            matches!(cause, Cause::VoltageLoop { .. } | Cause::CurrentCut { .. } | Cause::NoDiodeState { .. })
        });
        contradictory += usize::from(contradicts);
        same(exact, float, &format!("seed {seed}"));
    }
    assert!((20..200).contains(&contradictory), "the mix is meant to have both: {contradictory}");
}

/// Modified nodal equations (Ho, Ruehli, Brennan 1975) with a row for each ideal voltage, dense, partial pivoting. `None` when
/// singular.
fn modified_nodal(kit: &Kit, conducts: &dyn Fn(u32) -> Option<bool>) -> Option<(Vec<f64>, Vec<f64>)> {
    let circuit = &kit.circuit;
    let nodes = circuit.nodes.len();
    let branches = circuit.branches.len();
    let size = nodes + branches;
    // Unknowns: potentials, then currents of all branches. Rows: junction rule of each node (node 0: its potential is zero),
    // then the law of each branch.
    let mut matrix = vec![vec![0.0f64; size + 1]; size];
    for (index, branch) in circuit.branches.iter().enumerate() {
        let (from, to, column) = (branch.from.index(), branch.to.index(), nodes + index);
        matrix[from][column] += 1.0;
        matrix[to][column] -= 1.0;
        let row = &mut matrix[nodes + index];
        let mut voltage = |rise: f64, resistance: f64| {
            row[from] += 1.0;
            row[to] -= 1.0;
            row[column] = -resistance;
            row[size] = rise;
        };
        let f = |value: &malachite::Rational| Number::exact(value.clone()).to_f64();
        match circuit.law(StateId::DRAWN, BranchId(index as u32)) {
            Law::Short => voltage(0.0, 0.0),
            Law::Resistance(value) => voltage(0.0, f(&value)),
            Law::Emf { emf, internal } => voltage(f(&emf), f(&internal)),
            Law::Diode { drop, resistance } if conducts(index as u32)? => voltage(f(&drop), f(&resistance)),
            Law::Drive(value) => {
                row[column] = 1.0;
                row[size] = -f(&value);
            }
            _ => row[column] = 1.0,
        }
    }
    let first = &mut matrix[0];
    first.iter_mut().for_each(|value| *value = 0.0);
    first[0] = 1.0;
    for pivot in 0..size {
        let best = (pivot..size).max_by(|a, b| matrix[*a][pivot].abs().total_cmp(&matrix[*b][pivot].abs()))?;
        if matrix[best][pivot].abs() < 1e-9 {
            return None;
        }
        matrix.swap(pivot, best);
        let row = matrix[pivot].clone();
        for (other, values) in matrix.iter_mut().enumerate() {
            let factor = values[pivot] / row[pivot];
            if other != pivot && factor != 0.0 {
                values.iter_mut().zip(&row).for_each(|(value, above)| *value -= factor * above);
            }
        }
    }
    let solved: Vec<f64> = (0..size).map(|row| matrix[row][size] / matrix[row][row]).collect();
    Some((solved[..nodes].to_vec(), solved[nodes..].to_vec()))
}

/// Against modified nodal equations wherever they have one solution.
#[test]
fn agrees_with_modified_nodal_equations() {
    let mut compared = 0;
    for seed in 1000..1300 {
        let mut kit = random(seed, 0, true);
        let answers = kit.solve(Method::Exact).answers;
        let state = &answers.states[0];
        let Some((potentials, currents)) = modified_nodal(&kit, &|_| None) else { continue };
        compared += 1;
        let zero = number(&state.potentials[0]).expect("connected");
        for (own, other) in state.potentials.iter().zip(&potentials) {
            let own = number(own).expect("determined") - zero;
            assert!((own - other).abs() < 1e-7 * (1.0 + other.abs()), "seed {seed}: {own} against {other}");
        }
        for (branch, current) in kit.circuit.branches.iter().zip(&currents) {
            let own = state.elements[branch.element.index()].as_ref().map(|element| number(&element.into[0]));
            let own = own.flatten().expect("determined");
            assert!((own - current).abs() < 1e-7 * (1.0 + current.abs()), "seed {seed}: {own} against {current}");
        }
    }
    assert!(compared > 100, "{compared}");
}

/// Diodes against trying every state with modified nodal equations: every state found so that fits has the same
/// currents in the resistors (Minty 1960), and one is found whenever there is one.
#[test]
fn diodes_agree_with_trying_all_states() {
    let (mut compared, mut several) = (0, 0);
    for seed in 2000..2200 {
        let mut kit = random(seed, 1 + seed % 6, false);
        let answers = kit.solve(Method::Exact).answers;
        let state = &answers.states[0];
        let diodes: Vec<u32> = (0..kit.circuit.branches.len() as u32)
            .filter(|index| kit.circuit.element(kit.circuit.branches[*index as usize].element).kind == Kind::Diode)
            .collect();
        let mut fitting = 0;
        for bits in 0u32..1 << diodes.len() {
            let on = |index: u32| diodes.iter().position(|diode| *diode == index).map(|nth| bits >> nth & 1 == 1);
            let Some((potentials, currents)) = modified_nodal(&kit, &on) else { continue };
            let fits = diodes.iter().all(|index| {
                let branch = kit.circuit.branches[*index as usize];
                let Law::Diode { drop, .. } = kit.circuit.law(StateId::DRAWN, BranchId(*index)) else { return false };
                let across = potentials[branch.from.index()] - potentials[branch.to.index()];
                match on(*index) {
                    Some(true) => currents[*index as usize] >= -1e-9,
                    _ => across <= Number::exact(drop).to_f64() + 1e-9,
                }
            });
            if !fits {
                continue;
            }
            fitting += 1;
            compared += 1;
            for (index, branch) in kit.circuit.branches.iter().enumerate() {
                let element = kit.circuit.element(branch.element);
                if element.kind != Kind::Resistor {
                    continue;
                }
                let own = state.elements[branch.element.index()].as_ref().map(|answer| number(&answer.into[0]));
                let own = own.flatten().expect("determined, since some state fits");
                let other = currents[index];
                assert!((own - other).abs() < 1e-7 * (1.0 + other.abs()), "seed {seed}: {own} against {other}");
            }
        }
        if fitting > 0 {
            assert!(state.diodes_unique, "seed {seed}");
            let on = state.diodes.iter().filter(|(_, state)| *state == DiodeState::Conducting).count();
            assert!(on <= diodes.len());
        }
        several += usize::from(fitting > 1);
    }
    assert!(compared > 150, "{compared}");
    assert!(several < compared);
}
