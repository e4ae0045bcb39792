//! One state of the circuit: from the operating point to the answers, with the cause of everything undetermined.
//!
//! Whatever is not known gets an assumed value. Each assumption is varied by itself: what changes with it is undetermined
//! because of it, everything else is solved. What stays free by the shape of the circuit alone (the share of current
//! within a loop of zero resistance, the potential of a floating part) is marked directly.

use ohmline_circuit::{BranchId, Circuit, ElementId, Fault, Kind, Law, NodeId, Params, Rational, StateId, Throw};
use rustc_hash::FxHashMap;
use smallvec::{SmallVec, smallvec};

use crate::answers::{Cause, CauseId, DiodeState, ElementAnswer, StateAnswers, Value};
use crate::diodes::{Settled, settle};
use crate::frame::Frame;
use crate::net::{self, Model, Rank};
use crate::operate::{Operating, Sets, Shake, told_apart};
use crate::scalar::Scalar;

const NONE: u32 = u32::MAX;

/// The charge each capacitor branch is left with, where it is determined.
pub(crate) type Charges<F> = Vec<Option<F>>;

/// Something to vary.
enum Vary {
    /// The values of these elements. The cause is the first of them; there are several only when there are very many.
    Elements(Vec<ElementId>),
    Loop(usize),
    Cut(usize),
}

/// A quantity, or the cause why it has no single value.
type Found<F> = Result<F, CauseId>;

/// Solves one state. `before` has the charges that capacitors carry over from the circuit as drawn.
pub(crate) fn solve_state<F: Scalar>(
    circuit: &Circuit,
    state: StateId,
    frame: &Frame,
    before: Option<&Charges<F>>,
) -> (StateAnswers, Charges<F>) {
    let carried = |branch: BranchId| before.and_then(|charges| charges[branch.index()].clone());
    let unknown = net::unknown_elements(circuit, state);
    let drawn = net::build(circuit, state, &|element| u64::from(element.0) * 2, &carried);
    let base = settle(&drawn, &frame.zeros, Shake::Still);
    let mut sheet = Sheet::new(circuit, state, frame, &base, &drawn);
    sheet.mark_shape();

    let mut varied: Vec<Vary> = Vec::new();
    let told_apart = told_apart(circuit.branches.len());
    let group = unknown.len().div_ceil(told_apart).max(1);
    varied.extend(unknown.chunks(group).map(|chunk| Vary::Elements(chunk.to_vec())));
    let contradictions = base.operating.contradictions().count().min(told_apart);
    varied.extend((0..contradictions).map(Vary::Loop));
    varied.extend((0..base.operating.cuts.len().min(told_apart)).map(Vary::Cut));
    for vary in varied {
        let (cause, settled) = match vary {
            Vary::Elements(elements) => {
                let key =
                    |element: ElementId| u64::from(element.0) * 2 + u64::from(elements.binary_search(&element).is_ok());
                let net = net::build(circuit, state, &key, &carried);
                (Cause::UnknownValue { element: elements[0] }, settle(&net, &frame.zeros, Shake::Still))
            }
            Vary::Loop(which) => (sheet.loop_cause(which), settle(&drawn, &frame.zeros, Shake::Loop(which))),
            Vary::Cut(which) => (sheet.cut_cause(which), settle(&drawn, &frame.zeros, Shake::Cut(which))),
        };
        sheet.mark_differences(cause, &settled);
    }
    sheet.mark_misfits();
    sheet.mark_floating();
    sheet.mark_bridged();
    sheet.finish(&carried)
}

/// Answers in the making.
struct Sheet<'a, F> {
    circuit: &'a Circuit,
    state: StateId,
    frame: &'a Frame,
    operating: &'a Operating<F>,
    settled: &'a Settled<F>,
    net: &'a net::Net<F>,
    causes: Vec<Cause>,
    /// The cause why each is undetermined, or `NONE`.
    current: Vec<u32>,
    voltage: Vec<u32>,
    charge: Vec<u32>,
    potential: Vec<u32>,
    /// Diode branches whose state hangs on an assumption.
    unsure: Vec<u32>,
    /// Causes of floating groups.
    floating: FxHashMap<u32, u32>,
}

fn set(mark: &mut u32, cause: u32) {
    if *mark == NONE {
        *mark = cause;
    }
}

impl<'a, F: Scalar> Sheet<'a, F> {
    fn new(
        circuit: &'a Circuit,
        state: StateId,
        frame: &'a Frame,
        settled: &'a Settled<F>,
        net: &'a net::Net<F>,
    ) -> Self {
        let branches = circuit.branches.len();
        Self {
            circuit,
            state,
            frame,
            operating: &settled.operating,
            settled,
            net,
            causes: Vec::new(),
            current: vec![NONE; branches],
            voltage: vec![NONE; branches],
            charge: vec![NONE; branches],
            potential: vec![NONE; circuit.nodes.len()],
            unsure: Vec::new(),
            floating: FxHashMap::default(),
        }
    }

    fn cause(&mut self, cause: Cause) -> u32 {
        // Looking further back would be quadratic where everything contradicts everything.
        let from = self.causes.len().saturating_sub(64);
        match self.causes[from..].iter().position(|known| *known == cause) {
            Some(at) => (from + at) as u32,
            None => {
                self.causes.push(cause);
                self.causes.len() as u32 - 1
            }
        }
    }

    fn element_of(&self, branch: u32) -> ElementId {
        self.circuit.branches[branch as usize].element
    }

    fn elements_of(&self, branches: &[u32]) -> Vec<ElementId> {
        let mut elements: Vec<ElementId> = branches.iter().map(|branch| self.element_of(*branch)).collect();
        elements.dedup();
        if elements.len() > 1 && elements.first() == elements.last() {
            elements.pop();
        }
        elements
    }

    fn loop_cause(&self, which: usize) -> Cause {
        let l = &self.operating.loops[which];
        let elements = self.elements_of(&l.edges);
        if l.consistent {
            return match &self.net.edges[l.closing as usize].model {
                Model::Rigid { rank: Rank::Free, .. } => Cause::UnknownValue { element: self.element_of(l.closing) },
                _ => Cause::ZeroLoop { elements },
            };
        }
        let diodes: Vec<ElementId> =
            elements.iter().copied().filter(|element| self.circuit.element(*element).kind == Kind::Diode).collect();
        if diodes.is_empty() {
            Cause::VoltageLoop { elements, excess: l.excess.rational() }
        } else {
            Cause::NoDiodeState { diodes }
        }
    }

    fn cut_cause(&self, which: usize) -> Cause {
        let cut = &self.operating.cuts[which];
        Cause::CurrentCut { sources: self.elements_of(&cut.edges), at: NodeId(cut.at), excess: cut.excess.rational() }
    }

    /// What the shape of the circuit leaves open.
    fn mark_shape(&mut self) {
        let operating = self.operating;
        let mut of_loop: FxHashMap<u32, u32> = FxHashMap::default();
        for (which, l) in operating.loops.iter().enumerate().filter(|(_, l)| !l.consistent) {
            let cause = self.loop_cause(which);
            let cause = self.cause(cause);
            of_loop.insert(which as u32, cause);
            for edge in &l.edges {
                set(&mut self.current[*edge as usize], cause);
                set(&mut self.voltage[*edge as usize], cause);
            }
        }
        for edge in 0..operating.loop_of.len() {
            let which = operating.loop_of[edge];
            if which == NONE {
                continue;
            }
            let cause = match of_loop.get(&which) {
                Some(cause) => *cause,
                None => {
                    let cause = self.loop_cause(which as usize);
                    let cause = self.cause(cause);
                    of_loop.insert(which, cause);
                    cause
                }
            };
            set(&mut self.current[edge], cause);
        }
        for edge in 0..operating.cut_of.len() {
            let which = operating.cut_of[edge];
            if which != NONE {
                let cause = self.cut_cause(which as usize);
                let cause = self.cause(cause);
                set(&mut self.current[edge], cause);
                set(&mut self.voltage[edge], cause);
            }
        }
        if !operating.cuts.is_empty() {
            self.mark_charging();
        }
    }

    /// Capacitors that current sources would charge for ever, and what only they hold above the rest.
    fn mark_charging(&mut self) {
        let operating = self.operating;
        let mut sides = Sets::new(self.potential.len());
        for (index, edge) in self.net.edges.iter().enumerate() {
            let joins = match &edge.model {
                Model::Rigid { .. } | Model::Resistive { .. } | Model::Diode { .. } => true,
                Model::Drive { .. } => operating.cut_of[index] == NONE,
                Model::Capacitor { .. } | Model::Open => false,
            };
            if joins {
                sides.join(edge.from, edge.to);
            }
        }
        let mut of_group: FxHashMap<u32, u32> = FxHashMap::default();
        for (index, edge) in self.net.edges.iter().enumerate() {
            let which = operating.cut_of[index];
            if which != NONE && operating.group[edge.from as usize] == operating.group[edge.to as usize] {
                let cause = self.cut_cause(which as usize);
                let cause = self.cause(cause);
                of_group.entry(operating.group[edge.from as usize]).or_insert(cause);
            }
        }
        for (index, edge) in self.net.edges.iter().enumerate() {
            let Model::Capacitor { .. } = &edge.model else { continue };
            let Some(&cause) = of_group.get(&operating.group[edge.from as usize]) else { continue };
            if sides.find(edge.from) != sides.find(edge.to) {
                set(&mut self.voltage[index], cause);
                set(&mut self.charge[index], cause);
            }
        }
        for node in 0..self.potential.len() as u32 {
            let zero = self.frame.zero[self.frame.piece[node as usize] as usize];
            let Some(&cause) = of_group.get(&operating.group[node as usize]) else { continue };
            if zero != NONE && sides.find(node) != sides.find(zero) {
                set(&mut self.potential[node as usize], cause);
            }
        }
    }

    /// What differs under another assumption.
    fn mark_differences(&mut self, cause: Cause, other: &Settled<F>) {
        let (mine, theirs) = (self.operating, &other.operating);
        let (mut amperes, mut volts) = (0.0f64, 0.0f64);
        if !F::EXACT {
            amperes = mine.current.iter().map(|value| value.to_f64().abs()).fold(0.0, f64::max);
            volts = mine.potential.iter().map(|value| value.to_f64().abs()).fold(0.0, f64::max);
        }
        let cause = self.cause(cause);
        for branch in 0..self.current.len() {
            if mine.current[branch].differs(&theirs.current[branch], amperes) {
                set(&mut self.current[branch], cause);
            }
            if mine.voltage[branch].differs(&theirs.voltage[branch], volts) {
                set(&mut self.voltage[branch], cause);
            }
            if let (Some(mine), Some(theirs)) = (&mine.charge[branch], &theirs.charge[branch])
                && mine.differs(theirs, mine.to_f64().abs())
            {
                set(&mut self.charge[branch], cause);
            }
        }
        for node in 0..self.potential.len() {
            let zero = self.frame.zero[self.frame.piece[node] as usize];
            if zero == NONE {
                continue;
            }
            let above = |operating: &Operating<F>| operating.potential[node].minus(&operating.potential[zero as usize]);
            let comparable = theirs.group[node] == theirs.group[zero as usize];
            if comparable && above(mine).differs(&above(theirs), volts) {
                set(&mut self.potential[node], cause);
            }
        }
        for ((diode, mine), (_, theirs)) in self.settled.states.iter().zip(&other.states) {
            if mine != theirs {
                self.unsure.push(*diode);
            }
        }
    }

    /// Diodes of which no state fits: nothing in their piece is certain, unless the contradiction is a loop, which has
    /// been varied like any other.
    fn mark_misfits(&mut self) {
        let misfits = &self.settled.misfits;
        if misfits.is_empty() {
            return;
        }
        let operating = self.operating;
        let in_loop = |branch: &u32| {
            let which = operating.loop_of[*branch as usize];
            which != NONE && !operating.loops[which as usize].consistent
        };
        if misfits.iter().all(in_loop) {
            return;
        }
        let diodes = self.elements_of(misfits);
        let mut spoilt = vec![false; self.frame.zero.len()];
        for branch in misfits {
            spoilt[self.frame.piece[self.circuit.branches[*branch as usize].from.index()] as usize] = true;
        }
        let cause = self.cause(Cause::NoDiodeState { diodes });
        for (index, branch) in self.circuit.branches.iter().enumerate() {
            if spoilt[self.frame.piece[branch.from.index()] as usize] {
                set(&mut self.current[index], cause);
                set(&mut self.voltage[index], cause);
                set(&mut self.charge[index], cause);
            }
        }
        for node in 0..self.potential.len() {
            let zero = self.frame.zero[self.frame.piece[node] as usize];
            if spoilt[self.frame.piece[node] as usize] && zero != node as u32 {
                set(&mut self.potential[node], cause);
            }
        }
    }

    /// Potentials above the reference, and voltages, between parts that nothing connects.
    fn mark_floating(&mut self) {
        let group = &self.operating.group;
        let mut first: FxHashMap<u32, u32> = FxHashMap::default();
        for (node, of) in group.iter().enumerate() {
            first.entry(*of).or_insert(node as u32);
        }
        let cause_of = |sheet: &mut Self, of: u32| match sheet.floating.get(&of) {
            Some(cause) => *cause,
            None => {
                sheet.causes.push(Cause::Floating { at: NodeId(first[&of]) });
                let cause = sheet.causes.len() as u32 - 1;
                sheet.floating.insert(of, cause);
                cause
            }
        };
        for node in 0..self.potential.len() {
            let zero = self.frame.zero[self.frame.piece[node] as usize];
            if zero == NONE || group[node] != group[zero as usize] {
                let cause = cause_of(self, group[node]);
                set(&mut self.potential[node], cause);
            }
        }
        for (index, branch) in self.circuit.branches.iter().enumerate() {
            let (a, b) = (group[branch.from.index()], group[branch.to.index()]);
            if a != b {
                let zero = self.frame.zero[self.frame.piece[branch.from.index()] as usize];
                let of = if zero != NONE && group[zero as usize] == a { b } else { a };
                let cause = cause_of(self, of);
                set(&mut self.voltage[index], cause);
            }
        }
    }

    fn current(&self, branch: usize) -> Found<F> {
        match self.current[branch] {
            NONE => Ok(self.operating.current[branch].clone()),
            cause => Err(CauseId(cause)),
        }
    }

    fn voltage(&self, branch: usize) -> Found<F> {
        match self.voltage[branch] {
            NONE => Ok(self.operating.voltage[branch].clone()),
            cause => Err(CauseId(cause)),
        }
    }

    /// Power taken up by a branch.
    fn power(&self, branch: usize, voltage: &Found<F>, current: &Found<F>) -> Found<F> {
        match (&self.net.edges[branch].model, voltage, current) {
            (Model::Resistive { resistance, emf }, Ok(_), Ok(current)) if emf.is_zero() => {
                Ok(F::heat(resistance, current))
            }
            _ => product(voltage, current),
        }
    }

    fn finish(mut self, carried: &dyn Fn(BranchId) -> Option<F>) -> (StateAnswers, Charges<F>) {
        let circuit = self.circuit;
        let mut charges: Charges<F> = vec![None; circuit.branches.len()];
        let mut elements: Vec<Option<ElementAnswer>> = Vec::with_capacity(circuit.elements.len());
        for id in circuit.element_ids() {
            let element = circuit.element(id);
            let branches = element.branches.start as usize..element.branches.end as usize;
            if !element.is_placed() || branches.is_empty() {
                elements.push(None);
                continue;
            }
            let first = branches.start;
            let (current, voltage) = (self.current(first), self.voltage(first));
            let mut power = self.power(first, &voltage, &current);
            let answer = match element.kind {
                Kind::Changeover => {
                    let second = self.current(first + 1);
                    let (into_a, into_b) = (negated(&current), negated(&second));
                    let into: SmallVec<[Value; 2]> =
                        [sum(&current, &second), into_a, into_b].into_iter().map(value).collect();
                    power = sum(&power, &self.power(first + 1, &self.voltage(first + 1), &second));
                    let (current, voltage) = match circuit.params(self.state, id) {
                        Params::Changeover { throw: Some(Throw::B) } => (second, self.voltage(first + 1)),
                        _ => (current, voltage),
                    };
                    ElementAnswer {
                        current: Some(value(current)),
                        voltage: Some(value(voltage)),
                        power: value(power),
                        into,
                        charge: None,
                        energy: None,
                    }
                }
                Kind::Potentiometer => {
                    let second = self.current(first + 1);
                    let wiper = sum(&second, &negated(&current));
                    let into: SmallVec<[Value; 2]> =
                        [current, negated(&second), wiper].into_iter().map(value).collect();
                    power = sum(&power, &self.power(first + 1, &self.voltage(first + 1), &second));
                    ElementAnswer {
                        current: None,
                        voltage: None,
                        power: value(power),
                        into,
                        charge: None,
                        energy: None,
                    }
                }
                kind => {
                    let into = smallvec![value(current.clone()), value(negated(&current))];
                    let (charge, energy) = match kind {
                        Kind::Capacitor | Kind::Electrolytic => {
                            let (charge, energy) = self.stored(id, first, &voltage, carried);
                            charges[first] = charge.as_ref().ok().cloned();
                            (Some(value(charge)), Some(value(energy)))
                        }
                        Kind::Inductor => (None, Some(value(self.magnetic(id, &current)))),
                        _ => (None, None),
                    };
                    let (mut current, power) =
                        if kind.is_source() { (negated(&current), negated(&power)) } else { (current, power) };
                    if circuit.is_bridged(self.state, id) {
                        current = self.at_zero_volts(id, current);
                    }
                    ElementAnswer {
                        current: Some(value(current)),
                        voltage: Some(value(voltage)),
                        power: value(power),
                        into,
                        charge,
                        energy,
                    }
                }
            };
            elements.push(Some(answer));
        }
        let potentials = (0..self.potential.len())
            .map(|node| match self.potential[node] {
                NONE => {
                    // A node without cause has a reference.
                    let zero = self.frame.zero[self.frame.piece[node] as usize] as usize;
                    let zero = &self.operating.potential[zero];
                    let own = &self.operating.potential[node];
                    Value::Known(if zero.is_zero() { own.number() } else { own.minus(zero).number() })
                }
                cause => Value::Undetermined(CauseId(cause)),
            })
            .collect();
        let verified = self.settled.misfits.is_empty();
        self.unsure.sort_unstable();
        let diodes: Vec<(ElementId, DiodeState)> = self
            .settled
            .states
            .iter()
            .filter(|(branch, _)| verified && self.unsure.binary_search(branch).is_err())
            .map(|(branch, state)| (self.element_of(*branch), *state))
            .collect();
        let mut answers = StateAnswers {
            state: self.state,
            exact: F::EXACT,
            references: self.frame.references.clone(),
            potentials,
            elements,
            diodes,
            diodes_unique: verified,
            causes: self.causes,
            residuals: Default::default(),
        };
        drop_unused_causes(&mut answers);
        answers.residuals = crate::residuals::residuals::<F>(circuit, &answers);
        (answers, charges)
    }

    /// The current through an element that a wire bridges, `wire` being what the place carries in all.
    fn at_zero_volts(&self, id: ElementId, wire: Found<F>) -> Found<F> {
        match self.circuit.params(self.state, id).law(false) {
            Law::Emf { emf, internal } if internal > 0 => Ok(F::of(&emf).over(&F::of(&internal))),
            // No finite current fits, which is a contradiction of its own.
            Law::Emf { emf, .. } if emf != 0 => {
                let cause = Cause::VoltageLoop { elements: vec![id], excess: emf };
                let known = self.causes.iter().position(|known| *known == cause);
                known.map_or(wire, |at| Err(CauseId(at as u32)))
            }
            Law::Drive(drive) => Ok(F::of(&drive)),
            Law::Unknown if self.circuit.element(id).kind.is_source() => Err(CauseId(OWN_VALUE)),
            _ => Ok(F::zero()),
        }
    }

    /// Ideal sources that a case puts a wire across contradict it.
    fn mark_bridged(&mut self) {
        let faults = &self.circuit.states[self.state.index()].faults;
        let mut bridged: Vec<(ElementId, Rational)> = Vec::new();
        for id in faults.keys().copied().filter(|id| self.circuit.is_bridged(self.state, *id)) {
            if let Law::Emf { emf, internal } = self.circuit.params(self.state, id).law(false)
                && internal == 0
                && emf != 0
            {
                bridged.push((id, emf));
            }
        }
        bridged.sort_unstable();
        for (id, excess) in bridged {
            self.cause(Cause::VoltageLoop { elements: vec![id], excess });
        }
    }

    /// Charge and energy of a capacitor.
    fn stored(
        &self,
        id: ElementId,
        branch: usize,
        voltage: &Found<F>,
        carried: &dyn Fn(BranchId) -> Option<F>,
    ) -> (Found<F>, Found<F>) {
        let two = F::one().plus(&F::one());
        match &self.operating.charge[branch] {
            Some(charge) => {
                let charge = match self.charge[branch] {
                    NONE => Ok(charge.clone()),
                    cause => Err(CauseId(cause)),
                };
                let energy = product(&charge, voltage).map(|energy| energy.over(&two));
                (charge, energy)
            }
            // Bridged: discharged. Taken out: it keeps its charge.
            None if self.circuit.states[self.state.index()].faults.get(&id) == Some(&Fault::Shorted) => {
                (Ok(F::zero()), Ok(F::zero()))
            }
            None => match self.circuit.params(self.state, id) {
                Params::Capacitor { capacitance, initial, .. } => {
                    let capacitance = capacitance.known().filter(|value| **value > 0).map(F::of);
                    let initial = initial.as_deref().map_or_else(F::zero, F::of);
                    let charge = carried(BranchId(branch as u32))
                        .or_else(|| capacitance.as_ref().map(|capacitance| capacitance.times(&initial)));
                    match (charge, capacitance) {
                        (Some(charge), Some(capacitance)) => {
                            let energy = charge.times(&charge).over(&capacitance).over(&two);
                            (Ok(charge), Ok(energy))
                        }
                        _ => (Ok(F::zero()), Ok(F::zero())),
                    }
                }
                _ => (Ok(F::zero()), Ok(F::zero())),
            },
        }
    }

    /// Energy of an inductor: half of inductance times the square of the current.
    fn magnetic(&self, id: ElementId, current: &Found<F>) -> Found<F> {
        let two = F::one().plus(&F::one());
        let inductance = match self.circuit.params(self.state, id) {
            Params::Inductor { inductance, .. } => inductance.known().map(F::of),
            _ => None,
        };
        match (current, inductance) {
            (Ok(current), Some(inductance)) => Ok(inductance.times(current).times(current).over(&two)),
            (Ok(current), None) if current.is_zero() => Ok(F::zero()),
            // Its cause is noted below, since the inductance matters for nothing else in steady state.
            (Ok(_), None) => Err(CauseId(OWN_VALUE)),
            (Err(cause), _) => Err(*cause),
        }
    }
}

/// Stands for "the value of the element itself" until causes are numbered for good.
const OWN_VALUE: u32 = u32::MAX - 1;

fn value<F: Scalar>(found: Found<F>) -> Value {
    match found {
        Ok(value) => Value::Known(value.number()),
        Err(cause) => Value::Undetermined(cause),
    }
}

fn negated<F: Scalar>(found: &Found<F>) -> Found<F> {
    found.as_ref().map(F::negated).map_err(|cause| *cause)
}

fn sum<F: Scalar>(a: &Found<F>, b: &Found<F>) -> Found<F> {
    match (a, b) {
        (Ok(a), Ok(b)) => Ok(a.plus(b)),
        (Err(cause), _) | (_, Err(cause)) => Err(*cause),
    }
}

/// Zero times anything is zero, even where the other is undetermined: every value it can have is finite.
fn product<F: Scalar>(a: &Found<F>, b: &Found<F>) -> Found<F> {
    match (a, b) {
        (Ok(a), Ok(b)) => Ok(a.times(b)),
        (Ok(known), Err(_)) | (Err(_), Ok(known)) if known.is_zero() => Ok(F::zero()),
        (Err(cause), _) | (_, Err(cause)) => Err(*cause),
    }
}

/// Numbers the causes that something refers to; contradictions stay in any case, since they are worth saying by themselves.
fn drop_unused_causes(answers: &mut StateAnswers) {
    let mut own: Vec<(usize, ElementId)> = Vec::new();
    let mut used: Vec<bool> = answers
        .causes
        .iter()
        .map(|cause| matches!(cause, Cause::VoltageLoop { .. } | Cause::CurrentCut { .. } | Cause::NoDiodeState { .. }))
        .collect();
    let each = |answers: &mut StateAnswers, visit: &mut dyn FnMut(usize, &mut Value)| {
        for (index, element) in answers.elements.iter_mut().enumerate() {
            let Some(element) = element else { continue };
            element
                .current
                .iter_mut()
                .chain(&mut element.voltage)
                .chain(std::iter::once(&mut element.power))
                .chain(&mut element.into)
                .chain(&mut element.charge)
                .chain(&mut element.energy)
                .for_each(|value| visit(index, value));
        }
        for potential in &mut answers.potentials {
            visit(usize::MAX, potential);
        }
    };
    each(answers, &mut |index, value| {
        if let Value::Undetermined(CauseId(cause)) = value {
            match *cause {
                OWN_VALUE => own.push((index, ElementId(index as u32))),
                cause => used[cause as usize] = true,
            }
        }
    });
    if used.iter().all(|used| *used) && own.is_empty() {
        return;
    }
    let mut number = vec![NONE; used.len()];
    let mut kept = Vec::new();
    for (index, cause) in std::mem::take(&mut answers.causes).into_iter().enumerate() {
        if used[index] {
            number[index] = kept.len() as u32;
            kept.push(cause);
        }
    }
    let mut of_element: FxHashMap<usize, u32> = FxHashMap::default();
    for (index, element) in own {
        let cause = Cause::UnknownValue { element };
        let at = kept.iter().position(|known| *known == cause).unwrap_or_else(|| {
            kept.push(cause);
            kept.len() - 1
        });
        of_element.insert(index, at as u32);
    }
    answers.causes = kept;
    each(answers, &mut |index, value| {
        if let Value::Undetermined(CauseId(cause)) = value {
            *cause = if *cause == OWN_VALUE { of_element[&index] } else { number[*cause as usize] };
        }
    });
}
