//! Which diodes conduct.
//!
//! Every element here is monotone: its current never falls as its voltage rises. For such networks all solutions agree in
//! every resistance's current (G. J. Minty, Monotone networks, Proc. R. Soc. A 257, 1960): solutions differ at most in
//! what stays undetermined anyway, the share of current within a loop of zero resistance and the potential of a floating
//! part. So one state that is verified is proof that no other one gives other answers, whatever the number of diodes.
//!
//! The state is found in a slightly softened network in double precision, where a conducting diode has a tiny resistance, a
//! blocking one a huge one, and a capacitor acts through one very long implicit time step from its initial charge (so a
//! blocked capacitor keeps its charge, and one behind a diode charges). Its characteristic is strictly increasing, so it has
//! exactly one solution; Newton's method on the piecewise linear law finds it, flipping one diode at a time if it should turn
//! in circles (least-index rule: K. G. Murty, 1974). The state is then verified in the network itself, exactly if numbers are.

use crate::answers::DiodeState;
use crate::net::{Edge, Model, Net, Rank};
use crate::operate::{Operating, Shake, operate};
use crate::scalar::Scalar;

/// Up to this many diodes all states are tried if the search fails.
const TRY_ALL_UP_TO: usize = 12;

/// The operating point of a net with diodes.
pub(crate) struct Settled<F> {
    pub operating: Operating<F>,
    /// The state of each diode branch.
    pub states: Vec<(u32, DiodeState)>,
    /// The diode branches that fit in no state; empty when the state is verified.
    pub misfits: Vec<u32>,
}

/// Finds the state of the diodes and the operating point.
pub(crate) fn settle<F: Scalar>(net: &Net<F>, references: &[u32], shake: Shake) -> Settled<F> {
    let diodes: Vec<u32> = net
        .edges
        .iter()
        .enumerate()
        .filter(|(_, edge)| matches!(edge.model, Model::Diode { .. }))
        .map(|(index, _)| index as u32)
        .collect();
    if diodes.is_empty() {
        let operating = operate(net, references, shake);
        return Settled { operating, states: Vec::new(), misfits: Vec::new() };
    }
    let candidates = Candidates { net, references, diodes: &diodes, shake };
    let mut first = None;
    for softness in [1e-6, 1e-9] {
        let Some(mut states) = candidates.search(softness) else { continue };
        for _ in 0..6 {
            let operating = candidates.operate(&states);
            let misfits = candidates.misfits(&states, &operating);
            if misfits.is_empty() {
                return candidates.settled(states, operating, misfits);
            }
            let flipped = misfits.clone();
            if first.is_none() {
                first = Some((states.clone(), operating, misfits));
            }
            for (state, diode) in states.iter_mut().zip(&diodes) {
                if flipped.binary_search(diode).is_ok() {
                    *state = !*state;
                }
            }
        }
    }
    if diodes.len() <= TRY_ALL_UP_TO {
        let rough = candidates.in_doubles();
        let rough = Candidates { net: &rough, references, diodes: &diodes, shake };
        for bits in 0u32..1 << diodes.len() {
            let states: Vec<bool> = (0..diodes.len()).map(|nth| bits >> nth & 1 == 1).collect();
            if !rough.misfits(&states, &rough.operate(&states)).is_empty() {
                continue;
            }
            let operating = candidates.operate(&states);
            if candidates.misfits(&states, &operating).is_empty() {
                return candidates.settled(states, operating, Vec::new());
            }
        }
    }
    let (states, operating, misfits) = first.unwrap_or_else(|| {
        let states = vec![false; diodes.len()];
        let operating = candidates.operate(&states);
        (states, operating, diodes.clone())
    });
    candidates.settled(states, operating, misfits)
}

struct Candidates<'a, F> {
    net: &'a Net<F>,
    references: &'a [u32],
    diodes: &'a [u32],
    shake: Shake,
}

impl<F: Scalar> Candidates<'_, F> {
    fn settled(&self, states: Vec<bool>, operating: Operating<F>, misfits: Vec<u32>) -> Settled<F> {
        let states = self
            .diodes
            .iter()
            .zip(states)
            .map(|(diode, on)| (*diode, if on { DiodeState::Conducting } else { DiodeState::Blocking }))
            .collect();
        Settled { operating, states, misfits }
    }

    /// The operating point with the diodes in these states.
    fn operate(&self, states: &[bool]) -> Operating<F> {
        let mut net = self.net.clone();
        for (diode, on) in self.diodes.iter().zip(states) {
            let model = &mut net.edges[*diode as usize].model;
            if let Model::Diode { drop, resistance } = model {
                *model = match (on, resistance.is_zero()) {
                    (false, _) => Model::Open,
                    (true, true) => Model::Rigid { emf: drop.clone(), rank: Rank::Diode },
                    (true, false) => Model::Resistive { resistance: resistance.clone(), emf: drop.clone() },
                };
            }
        }
        operate(&net, self.references, self.shake)
    }

    /// The diodes whose state does not fit what flows.
    fn misfits(&self, states: &[bool], operating: &Operating<F>) -> Vec<u32> {
        let mut misfits: Vec<u32> = Vec::new();
        let (mut largest_current, mut largest_voltage) = (0.0f64, 0.0f64);
        if !F::EXACT {
            largest_current = operating.current.iter().map(|value| value.to_f64().abs()).fold(0.0, f64::max);
            largest_voltage = operating.potential.iter().map(|value| value.to_f64().abs()).fold(0.0, f64::max);
        }
        let exceeds = |value: &F, bound: &F, scale: f64| value > bound && value.differs(bound, scale * 100.0);
        // Limits on how far groups float above each other: (above, below, at most).
        let mut limits: Vec<(u32, u32, F)> = Vec::new();
        for (diode, on) in self.diodes.iter().zip(states) {
            let index = *diode as usize;
            let edge = &self.net.edges[index];
            let Model::Diode { drop, .. } = &edge.model else { continue };
            if *on {
                match operating.loop_of[index] {
                    u32::MAX if exceeds(&F::zero(), &operating.current[index], largest_current) => misfits.push(*diode),
                    u32::MAX => {}
                    l if !operating.loops[l as usize].consistent => misfits.push(*diode),
                    // Its share is free, so it can be forward.
                    _ => {}
                }
                continue;
            }
            let (a, b) = (operating.group[edge.from as usize], operating.group[edge.to as usize]);
            let across = operating.potential[edge.from as usize].minus(&operating.potential[edge.to as usize]);
            if a == b {
                if exceeds(&across, drop, largest_voltage) {
                    misfits.push(*diode);
                }
            } else {
                limits.push((a, b, drop.minus(&across)));
            }
        }
        if misfits.is_empty() && !satisfiable(&limits) {
            misfits.extend(self.diodes.iter().zip(states).filter(|(_, on)| !**on).map(|(diode, _)| *diode));
        }
        misfits
    }

    fn in_doubles(&self) -> Net<f64> {
        let edges = self
            .net
            .edges
            .iter()
            .map(|edge| Edge {
                from: edge.from,
                to: edge.to,
                model: match &edge.model {
                    Model::Open => Model::Open,
                    Model::Rigid { emf, rank } => Model::Rigid { emf: emf.to_f64(), rank: *rank },
                    Model::Resistive { resistance, emf } => {
                        Model::Resistive { resistance: resistance.to_f64(), emf: emf.to_f64() }
                    }
                    Model::Drive { current, free } => Model::Drive { current: current.to_f64(), free: *free },
                    Model::Capacitor { capacitance, charge } => {
                        Model::Capacitor { capacitance: capacitance.to_f64(), charge: charge.to_f64() }
                    }
                    Model::Diode { drop, resistance } => {
                        Model::Diode { drop: drop.to_f64(), resistance: resistance.to_f64() }
                    }
                },
            })
            .collect();
        Net { nodes: self.net.nodes, edges }
    }

    /// The states in the softened network.
    fn search(&self, softness: f64) -> Option<Vec<bool>> {
        let mut net = self.in_doubles();
        let (mut least, mut most, mut largest_capacitance) = (f64::INFINITY, 0.0f64, 0.0f64);
        for edge in &net.edges {
            match &edge.model {
                Model::Resistive { resistance, .. } | Model::Diode { resistance, .. } if *resistance > 0.0 => {
                    least = least.min(*resistance);
                    most = most.max(*resistance);
                }
                Model::Capacitor { capacitance, .. } => largest_capacitance = largest_capacitance.max(*capacitance),
                _ => {}
            }
        }
        if most == 0.0 {
            (least, most) = (1.0, 1.0);
        }
        for edge in &mut net.edges {
            if let Model::Capacitor { capacitance, charge } = edge.model {
                edge.model = Model::Resistive {
                    resistance: most / softness * (largest_capacitance / capacitance),
                    emf: charge / capacitance,
                };
            }
        }
        let (on, off) = (least * softness, most / (softness * softness));
        let laws: Vec<(f64, f64)> = self
            .diodes
            .iter()
            .map(|diode| match net.edges[*diode as usize].model {
                Model::Diode { drop, resistance } => (drop, resistance),
                _ => (0.0, 0.0),
            })
            .collect();
        let mut states = vec![true; self.diodes.len()];
        let flips_at_once = 24 + states.len().min(40);
        let flips_alone = if net.edges.len() <= 400 { 2000 } else { 40 };
        for round in 0..flips_at_once + flips_alone {
            for ((diode, (drop, resistance)), conducts) in self.diodes.iter().zip(&laws).zip(&states) {
                let resistance = if *conducts { resistance + on } else { off };
                net.edges[*diode as usize].model = Model::Resistive { resistance, emf: *drop };
            }
            let operating = operate(&net, self.references, self.shake);
            let mut changed = false;
            for (diode, state) in self.diodes.iter().zip(&mut states) {
                let conducts = operating.current[*diode as usize] > 0.0;
                if conducts != *state {
                    *state = conducts;
                    changed = true;
                    if round >= flips_at_once {
                        break;
                    }
                }
            }
            if !changed {
                return Some(states);
            }
        }
        None
    }
}

/// Whether heights exist such that each first group stands above the second by at most the bound: no cycle of negative sum
/// (Bellman 1958).
fn satisfiable<F: Scalar>(limits: &[(u32, u32, F)]) -> bool {
    let mut index = rustc_hash::FxHashMap::default();
    for (a, b, _) in limits {
        for group in [a, b] {
            let next = index.len();
            index.entry(*group).or_insert(next);
        }
    }
    // Beyond this the softened network, where all limits held, is proof enough.
    if index.len() * limits.len() > 4_000_000 {
        return true;
    }
    let mut height = vec![F::zero(); index.len()];
    for _ in 0..=index.len() {
        let mut changed = false;
        for (above, below, bound) in limits {
            let highest = height[index[below]].plus(bound);
            let at = &mut height[index[above]];
            if *at > highest && at.differs(&highest, 1.0) {
                *at = highest;
                changed = true;
            }
        }
        if !changed {
            return true;
        }
    }
    false
}
