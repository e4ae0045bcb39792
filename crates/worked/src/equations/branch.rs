//! Branches: what carries one current from a point where three or more parts meet to the next.

use malachite::Rational;
use ohmline_circuit::Circuit;

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

    pub fn rigid(&self) -> bool {
        self.ohms == 0 && self.drive.is_none()
    }

    /// Resistances as a formula, as a factor or divisor.
    pub fn ohms_symbol(&self, circuit: &Circuit, net: &Net) -> String {
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
    pub fn emf_terms(&self, circuit: &Circuit, net: &Net) -> Vec<(bool, String)> {
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
pub(super) fn branch(circuit: &Circuit, net: &Net, from: usize, to: usize, mut path: Vec<(Placed, bool)>) -> Branch {
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
pub(super) fn values_of(net: &Net, branches: &[Branch], currents: &[Rational]) -> Values {
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
