//! The worked values against the solver's, on random circuits and by every method; and counts from mathematics.

use std::collections::BTreeSet;

use malachite::Rational;
use ohmline_circuit::{Circuit, Kind, StateId, Topology, build_text};
use ohmline_solve::{Answers, Number, Value};
use ohmline_worked::{Ends, Method, Rule, Solution, equivalent};
use proptest::prelude::*;

struct Worked {
    text: String,
    circuit: Circuit,
    answers: Answers,
    solution: Solution,
}

fn work(text: &str, method: Method) -> Worked {
    let circuit = build_text(text);
    assert!(circuit.diagnostics.is_empty(), "{text}\n{:?}", circuit.diagnostics);
    let answers = ohmline_solve::solve(&circuit, ohmline_solve::Method::Exact);
    let topology = Topology::new(&circuit, StateId::DRAWN);
    let solution = ohmline_worked::solve(&circuit, StateId::DRAWN, &topology, &answers.states[0], method)
        .unwrap_or_else(|refusal| panic!("{text}\n{refusal:?}"));
    Worked { text: text.to_owned(), circuit, answers, solution }
}

impl Worked {
    /// Every current, voltage and power of the table is the solver's; every check holds.
    fn agrees(&self) {
        let exact = |value: &Value| match value.known() {
            Some(Number::Exact(value)) => (**value).clone(),
            other => panic!("{}\n{other:?}", self.text),
        };
        for row in &self.solution.rows {
            let element = self.circuit.element(row.element);
            let answer = self.answers.states[0].elements[row.element.index()].as_ref().expect("it is placed");
            if element.kind == Kind::Potentiometer {
                continue;
            }
            let wanted = [answer.current.as_ref(), answer.voltage.as_ref(), Some(&answer.power)];
            for (found, wanted) in [&row.current, &row.voltage, &row.power].into_iter().zip(wanted) {
                assert_eq!(
                    found.clone(),
                    wanted.map(exact),
                    "{}\n{} by {:?}",
                    self.text,
                    row.name,
                    self.solution.method
                );
            }
        }
        for check in &self.solution.checks {
            assert!(check.holds, "{}\n{check:?}", self.text);
        }
        for replacement in self.solution.replacements() {
            if let Some(value) = &replacement.value
                && !replacement.by.contains(['…', 'Y', '.'])
                && matches!(replacement.rule, Rule::Series | Rule::Parallel)
            {
                // The name is an expression that can be worked out for itself.
                let found = Names { worked: self, text: &replacement.by, at: 0 }.sum();
                assert_eq!(found, value.value, "{}\n{}", self.text, replacement.by);
            }
        }
    }
}

/// Works out names like `R1+(R2+R3)||R4` from the declared values.
struct Names<'a> {
    worked: &'a Worked,
    text: &'a str,
    at: usize,
}

impl Names<'_> {
    fn eats(&mut self, sign: &str) -> bool {
        let found = self.text[self.at..].starts_with(sign);
        self.at += if found { sign.len() } else { 0 };
        found
    }

    fn sum(&mut self) -> Rational {
        let mut sum = self.beside();
        while self.eats("+") {
            sum += self.beside();
        }
        sum
    }

    fn beside(&mut self) -> Rational {
        let one = Rational::from(1);
        let mut conductance = &one / self.single();
        while self.eats("||") {
            conductance += &one / self.single();
        }
        one / conductance
    }

    fn single(&mut self) -> Rational {
        if self.eats("(") {
            let inner = self.sum();
            assert!(self.eats(")"), "{}", self.text);
            return inner;
        }
        let rest = &self.text[self.at..];
        let end = rest.find(|c: char| !c.is_alphanumeric()).unwrap_or(rest.len());
        let name = &rest[..end];
        self.at += end;
        let row = self.worked.solution.rows.iter().find(|row| row.name == name).unwrap_or_else(|| panic!("{name}"));
        row.resistance.as_ref().unwrap_or_else(|| panic!("{name} has no resistance")).value.clone()
    }
}

/// A random nest of series and parallel, as a path.
#[derive(Clone, Debug)]
enum Nest {
    One(u32),
    Line(Vec<Nest>),
    Beside(Vec<Nest>),
}

fn nest() -> impl Strategy<Value = Nest> {
    (1u32..60).prop_map(Nest::One).prop_recursive(4, 24, 4, |inner| {
        prop_oneof![
            prop::collection::vec(inner.clone(), 2..4).prop_map(Nest::Line),
            prop::collection::vec(inner, 2..4).prop_map(Nest::Beside),
        ]
    })
}

impl Nest {
    fn path(&self, declared: &mut String, count: &mut u32) -> String {
        match self {
            Nest::One(ohms) => {
                *count += 1;
                declared.push_str(&format!("resistor R{count} = {ohms} ohm\n"));
                format!("R{count}")
            }
            Nest::Line(items) => items.iter().map(|item| item.path(declared, count)).collect::<Vec<_>>().join(" -- "),
            Nest::Beside(items) => {
                format!("( {} )", items.iter().map(|item| item.path(declared, count)).collect::<Vec<_>>().join(" | "))
            }
        }
    }
}

fn series_parallel(nest: &Nest, battery: &str) -> String {
    let mut declared = format!("battery B1 = {battery}\n");
    let path = nest.path(&mut declared, &mut 0);
    format!("{declared}B1+ -- {path} -- B1-\n")
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(60))]

    /// Reduction is nodal analysis, exactly.
    #[test]
    fn series_parallel_networks(nest in nest(), real in any::<bool>()) {
        let text = series_parallel(&nest, if real { "12 V, internal 1 ohm" } else { "12 V" });
        let reduced = work(&text, Method::Auto);
        prop_assert_eq!(reduced.solution.method, Method::Reduction);
        reduced.agrees();
        for method in [Method::Nodes, Method::Loops] {
            let worked = work(&text, method);
            prop_assert_eq!(worked.solution.method, method);
            worked.agrees();
        }
    }

    /// Any network of up to six points, with batteries and current sources anywhere, by every method.
    #[test]
    fn any_networks(edges in prop::collection::vec((0u32..6, 0u32..6, 1u32..40), 4..14), sources in prop::collection::vec((0u32..6, 1u32..6, 1u32..20, 0u32..4), 1..4)) {
        let mut text = String::new();
        for (index, (from, to, ohms)) in edges.iter().enumerate() {
            if from != to {
                text.push_str(&format!("resistor R{index} = {ohms} ohm\n@{from} -- R{index} -- @{to}\n"));
            }
        }
        // A ring of resistors, so that everything hangs together and no current source feeds a dead end.
        for k in 0..6 {
            text.push_str(&format!("resistor Q{k} = {} ohm\n@{k} -- Q{k} -- @{}\n", k + 1, (k + 1) % 6));
        }
        for (index, (from, step, volts, internal)) in sources.iter().enumerate() {
            let to = (from + step) % 6;
            if *internal == 0 {
                text.push_str(&format!("source G{index} = {volts} A\n@{from} -- -G{index}+ -- @{to}\n"));
            } else {
                text.push_str(&format!("battery B{index} = {volts} V, internal {internal} ohm\n@{from} -- -B{index}+ -- @{to}\n"));
            }
        }
        for method in [Method::Auto, Method::Nodes, Method::Loops, Method::Superposition, Method::StarDelta] {
            work(&text, method).agrees();
        }
    }

    /// The linear way finds the same resistance.
    #[test]
    fn floating_reduction(nest in nest()) {
        let text = series_parallel(&nest, "12 V");
        let worked = work(&text, Method::Auto);
        let wanted = worked.solution.whole.as_ref().and_then(|whole| whole.resistance.clone()).expect("one battery");
        let battery = worked.circuit.elements.iter().find(|element| element.kind == Kind::Battery).expect("declared");
        let net: Vec<Ends> = worked.circuit.branches.iter().filter(|branch| worked.circuit.element(branch.element).kind == Kind::Resistor).map(|branch| {
            let ohms = match worked.circuit.law(StateId::DRAWN, ohmline_circuit::BranchId(worked.circuit.element(branch.element).branches.start)) {
                ohmline_circuit::Law::Resistance(value) => Number::exact(value).to_f64(),
                other => panic!("{other:?}"),
            };
            Ends { from: branch.from.0, to: branch.to.0, ohms }
        }).collect();
        let found = equivalent(worked.circuit.nodes.len(), &net, battery.terminals[0].0, battery.terminals[1].0).expect("it reduces");
        let wanted = Number::exact(wanted).to_f64();
        prop_assert!((found - wanted).abs() < 1e-9 * wanted, "{found} {wanted}\n{text}");
    }
}

/// Ideal sources, which fix potentials, in circuits small enough to be sure that they do not contradict each other.
#[test]
fn ideal_sources() {
    for text in [
        "battery B1 = 12 V\nbattery B2 = 5 V\nresistor R1 = 3 ohm\nresistor R2 = 4 ohm\nresistor R3 = 6 ohm\n\
         B1+ -- R1 -- @m -- R2 -- B2+\nB1- -- @z\nB2- -- @z\n@m -- R3 -- @z\n",
        // Two ideal voltages that share no point with the reference: one is kept above an unknown.
        "battery B1 = 12 V\nbattery B2 = 5 V\nresistor R1 = 3 ohm\nresistor R2 = 4 ohm\nresistor R3 = 6 ohm\nresistor R4 = 8 ohm\n\
         B1+ -- R1 -- @m -- +B2- -- @n -- R2 -- @z\nB1- -- @z\n@m -- R3 -- @z\n@n -- R4 -- B1+\n",
        "source G1 = 2 A\nbattery B1 = 12 V\nresistor R1 = 3 ohm\nresistor R2 = 4 ohm\n\
         @z -- -G1+ -- @m -- R1 -- @z\n@m -- R2 -- +B1- -- @z\n",
        "battery B1 = 6 V, internal 1 ohm\nbattery B2 = 6 V, internal 1 ohm\nbattery B3 = 6 V, internal 1 ohm\nresistor R1 = 5 ohm\n",
    ] {
        let text = if text.contains("B3") {
            format!("{text}B1+ -- @p\nB2+ -- @p\nB3+ -- @p\nB1- -- @m\nB2- -- @m\nB3- -- @m\n@p -- R1 -- @m\n")
        } else {
            text.to_owned()
        };
        for method in [Method::Auto, Method::Nodes, Method::Loops, Method::Superposition] {
            work(&text, method).agrees();
        }
    }
}

/// Sources in a ring: opposed, aiding, with current sources.
#[test]
fn rings() {
    for text in [
        "battery B1 = 6 V, internal 1 ohm\nbattery B2 = 4.5 V, internal 0.5 ohm\nB1+ -- +B2- -- B1-\n",
        "battery B1 = 6 V\nbattery B2 = 9 V\nresistor R1 = 3 ohm\nresistor R2 = 5 ohm\nB1+ -- R1 -- +B2- -- R2 -- B1-\n",
        "battery B1 = 6 V\nbattery B2 = 9 V\nresistor R1 = 3 ohm\nresistor R2 = 5 ohm\nB1+ -- R1 -- -B2+ -- R2 -- B1-\n",
        "battery B1 = 1.5 V\nbattery B2 = 1.5 V\nbattery B3 = 1.5 V\nresistor R1 = 9 ohm\nB1+ -- -B2+ -- -B3+ -- R1 -- B1-\n",
        "source G1 = 0.5 A\nbattery B1 = 6 V, internal 0.4 ohm\nresistor R1 = 2 ohm\nresistor R2 = 3 ohm\nG1+ -- R1 -- +B1- -- R2 -- G1-\n",
        "battery B1 = 6 V, internal 2 ohm\nB1+ -- B1-\n",
        "battery B1 = 6 V, internal 2 ohm\nbattery B2 = 6 V, internal 2 ohm\nresistor R1 = 2 ohm\nB1+ -- @p\nB2+ -- @p\nB1- -- @m\nB2- -- @m\n@p -- R1 -- R1b -- @m\nresistor R1b = 5 ohm\n",
    ] {
        work(text, Method::Auto).agrees();
    }
}

/// All essentially different ways to put n resistors in series and parallel, as paths.
fn ways(count: usize, known: &[Vec<(bool, String)>]) -> Vec<(bool, String)> {
    if count == 1 {
        return vec![(false, String::new())];
    }
    let mut found = Vec::new();
    for series in [true, false] {
        // Multisets of smaller networks that are not themselves of the same kind.
        let mut stack = vec![(count, count - 1, 0usize, Vec::<String>::new())];
        while let Some((left, largest, from, members)) = stack.pop() {
            if left == 0 {
                if members.len() > 1 {
                    let sign = if series { " -- " } else { " | " };
                    let inner = members.join(sign);
                    found.push((series, if series { inner } else { format!("( {inner} )") }));
                }
                continue;
            }
            for size in (1..=largest.min(left)).rev() {
                let start = if size == largest { from } else { 0 };
                for (index, (kind, path)) in known[size].iter().enumerate().skip(start) {
                    if size > 1 && *kind == series {
                        continue;
                    }
                    let mut next = members.clone();
                    next.push(if size == 1 { "R".to_owned() } else { path.clone() });
                    stack.push((left - size, size, index, next));
                }
            }
        }
    }
    found
}

/// OEIS A000084 counts the networks, A048211 their different resistances.
#[test]
fn counts_of_networks_of_equal_resistors() {
    let mut known: Vec<Vec<(bool, String)>> = vec![Vec::new()];
    for (count, (networks, values)) in
        [(1, 1), (2, 2), (4, 4), (10, 9), (24, 22), (66, 53), (180, 131), (522, 337)].into_iter().enumerate()
    {
        let all = ways(count + 1, &known);
        assert_eq!(all.len(), networks, "networks of {}", count + 1);
        let mut found = BTreeSet::new();
        for (_, path) in &all {
            let path = if count == 0 { "R" } else { path.as_str() };
            let mut text = String::from("battery B1 = 1 V\n");
            let mut written = String::new();
            for (index, piece) in path.split('R').enumerate() {
                if index > 0 {
                    text.push_str(&format!("resistor R{index} = 1 ohm\n"));
                    written.push_str(&format!("R{index}"));
                }
                written.push_str(piece);
            }
            text.push_str(&format!("B1+ -- {written} -- B1-\n"));
            let worked = work(&text, Method::Reduction);
            assert_eq!(worked.solution.method, Method::Reduction);
            let whole = worked.solution.whole.as_ref().and_then(|whole| whole.resistance.clone());
            found.insert(whole.expect("a current flows"));
            // As few steps as there are groups.
            let groups = path.matches('(').count() + series_groups(path);
            assert!(worked.solution.replacements().count() <= groups.max(1), "{path}");
        }
        assert_eq!(found.len(), values, "resistances of {}", count + 1);
        known.push(all);
    }
}

/// Lines with more than one member in a path.
fn series_groups(path: &str) -> usize {
    let mut depth_has = vec![false];
    let mut count = 0;
    for token in path.split(' ') {
        match token {
            "--" => {
                if let Some(last) = depth_has.last_mut()
                    && !*last
                {
                    *last = true;
                    count += 1;
                }
            }
            "(" => depth_has.push(false),
            "|" => {
                if let Some(last) = depth_has.last_mut() {
                    *last = false;
                }
            }
            ")" => {
                depth_has.pop();
            }
            _ => {}
        }
    }
    count
}
