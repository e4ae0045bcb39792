//! What is called dead or undriven, against brute force: with random values and voltages it carries nothing, and whatever carries nothing for all of
//! them is called so.

use ohmline_circuit::topology::Role;
use ohmline_circuit::{BranchId, ElementId, StateId};

use crate::Facts;
use crate::fixture::Analyzed;

/// A small generator, the same numbers in every run (a linear congruential one of D. Knuth's MMIX).
struct Random(u64);

impl Random {
    fn below(&mut self, bound: u64) -> u64 {
        self.0 = self.0.wrapping_mul(6364136223846793005).wrapping_add(1442695040888963407);
        (self.0 >> 33) % bound
    }
}

/// A random circuit of two batteries and a few resistors between a few points, its shape from one seed, its values from another.
fn circuit(shape: u64, values: u64) -> (String, usize) {
    let mut shape = Random(shape);
    let mut values = Random(values);
    let points = 3 + shape.below(4);
    let resistors = 3 + shape.below(5);
    let mut text = String::new();
    let mut pair = || {
        let from = shape.below(points);
        (from, (from + 1 + shape.below(points - 1)) % points)
    };
    for name in ["B1", "B2"] {
        let (from, to) = pair();
        let emf = 1 + values.below(997);
        text += &format!(
            "battery {name} = {emf} V, internal {} ohm\n@p{from} -- +{name}- -- @p{to}\n",
            1 + values.below(89)
        );
    }
    for resistor in 0..resistors {
        let (from, to) = pair();
        text += &format!("resistor R{resistor} = {} ohm\n@p{from} -- R{resistor} -- @p{to}\n", 1 + values.below(983));
    }
    (text, 2 + resistors as usize)
}

#[test]
fn what_is_called_idle_carries_nothing_and_nothing_else_does() {
    for shape in 0..150 {
        let (text, elements) = circuit(shape, 1);
        // What carries nothing for five sets of values carries nothing for all: the currents are fractions of polynomials.
        let mut zero = vec![true; elements];
        for values in 1..=5 {
            let (text, _) = circuit(shape, values * 7919);
            let analyzed = Analyzed::new(&text);
            let facts = Facts::new(analyzed.context());
            for (at, zero) in zero.iter_mut().enumerate() {
                *zero &= facts.amperes(StateId::DRAWN, ElementId(at as u32)) == Some(0.0);
            }
        }
        let analyzed = Analyzed::new(&text);
        let facts = Facts::new(analyzed.context());
        for (at, zero) in zero.iter().enumerate() {
            let id = ElementId(at as u32);
            let dead = facts.role(StateId::DRAWN, BranchId(at as u32)) == Some(Role::Dead);
            let idle = dead || facts.undriven().contains(&id);
            assert_eq!(idle, *zero, "{} in\n{text}", facts.name(id));
        }
    }
}
