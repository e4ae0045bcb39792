//! A circuit as compact text, for tests and for looking at.

use std::fmt::Write as _;

use crate::model::{Amount, Circuit, Claim, Fault, Params, Throw};

impl Circuit {
    /// The circuit as compact text: elements with their nodes and values, states, questions, diagnostics. For tests; no
    /// program should read it.
    pub fn dump(&self) -> String {
        let mut out = String::new();
        // Writing to a string cannot fail.
        let _ = self.write_dump(&mut out);
        out
    }

    fn write_dump(&self, out: &mut String) -> std::fmt::Result {
        if let Some(title) = &self.title {
            writeln!(out, "title {title}")?;
        }
        for (index, node) in self.nodes.iter().enumerate() {
            write!(out, "n{index} {}", node.label)?;
            for name in node.names.iter().skip(1) {
                write!(out, " = @{name}")?;
            }
            writeln!(out)?;
        }
        for id in self.element_ids() {
            let element = self.element(id);
            write!(out, "{} {}", element.name, element.kind.word())?;
            if self.undeclared.contains(&id) {
                write!(out, " (undeclared)")?;
            }
            for node in &element.terminals {
                write!(out, " n{}", node.0)?;
            }
            if !element.is_placed() {
                write!(out, " unplaced")?;
            }
            writeln!(out, ": {}", params(&element.params))?;
        }
        for state in self.states.iter().skip(1) {
            write!(out, "case {}:", state.name.as_deref().unwrap_or(""))?;
            let mut overrides: Vec<_> = state.overrides.iter().collect();
            overrides.sort_by_key(|(id, _)| **id);
            for (id, values) in overrides {
                write!(out, " {} [{}]", self.element(*id).name, params(values))?;
            }
            let mut faults: Vec<_> = state.faults.iter().collect();
            faults.sort_by_key(|(id, _)| **id);
            for (id, fault) in faults {
                let word = if *fault == Fault::Open { "open" } else { "shorted" };
                write!(out, " {} {word}", self.element(*id).name)?;
            }
            writeln!(out)?;
        }
        for (node, _) in &self.references {
            writeln!(out, "reference n{}", node.0)?;
        }
        for ask in &self.finds {
            writeln!(out, "find {} [{:?}] in {}", ask.text, ask.quantity, ask.state.0)?;
        }
        for claim in &self.claims {
            match claim {
                Claim::Value { ask, stated, within } => {
                    write!(
                        out,
                        "claim {} [{:?}] = {} ({} digits)",
                        ask.text, ask.quantity, stated.value, stated.digits
                    )?;
                    if let Some(within) = within {
                        write!(out, " within {within:?}")?;
                    }
                    writeln!(out, " in {}", ask.state.0)?;
                }
                Claim::Relation { text, state, .. } => writeln!(out, "claim {text} in {}", state.0)?,
            }
        }
        for (word, readings) in [("given", &self.givens), ("measured", &self.measured)] {
            for reading in readings {
                writeln!(out, "{word} {} = {} in {}", reading.ask.text, reading.stated.value, reading.ask.state.0)?;
            }
        }
        for found in &self.diagnostics {
            let at = found.primary.at;
            write!(
                out,
                "{} {} {}:{}..{}: {}",
                found.severity.word(),
                found.rule,
                at.file.0,
                at.span.start,
                at.span.end,
                found.message
            )?;
            for help in &found.help {
                write!(out, " | {help}")?;
            }
            for fix in &found.fixes {
                write!(out, " > {}", fix.title)?;
            }
            writeln!(out)?;
        }
        Ok(())
    }
}

fn amount(amount: &Amount) -> String {
    match amount {
        Amount::Known(value) => value.to_string(),
        Amount::Asked => "?".to_owned(),
        Amount::Invalid => "invalid".to_owned(),
    }
}

fn params(params: &Params) -> String {
    let mut parts: Vec<String> = Vec::new();
    match params {
        Params::Battery { emf, internal, capacity, limit } => {
            parts.push(amount(emf));
            parts.extend(internal.as_ref().map(|value| format!("internal {}", amount(value))));
            parts.extend(capacity.as_ref().map(|value| format!("capacity {value}")));
            parts.extend(limit.as_ref().map(|value| format!("limit {value}")));
        }
        Params::VoltageSource { voltage, limit } => {
            parts.push(format!("{} V", amount(voltage)));
            parts.extend(limit.as_ref().map(|value| format!("limit {value}")));
        }
        Params::CurrentSource { drive, limit } => {
            parts.push(format!("{} A", amount(drive)));
            parts.extend(limit.as_ref().map(|value| format!("limit {value}")));
        }
        Params::Resistor { resistance, tolerance, rating } => {
            parts.push(amount(resistance));
            parts.extend(tolerance.as_ref().map(|value| format!("tolerance {value}")));
            parts.extend(rating.as_ref().map(|value| format!("rating {value}")));
        }
        Params::Lamp { resistance, rated } => {
            parts.push(amount(resistance));
            parts.extend(rated.as_deref().map(|(power, voltage)| format!("rated {power} at {voltage}")));
        }
        Params::Switch { closed } => parts.push(
            match closed {
                Some(true) => "closed",
                Some(false) => "open",
                None => "invalid",
            }
            .to_owned(),
        ),
        Params::Changeover { throw } => parts.push(
            match throw {
                Some(Throw::A) => "a",
                Some(Throw::B) => "b",
                None => "invalid",
            }
            .to_owned(),
        ),
        Params::Potentiometer { resistance, at, rating } => {
            parts.push(format!("{} at {}", amount(resistance), amount(at)));
            parts.extend(rating.as_ref().map(|value| format!("rating {value}")));
        }
        Params::Fuse { rating, resistance } => {
            parts.extend(rating.as_ref().map(amount));
            parts.extend(resistance.as_ref().map(|value| format!("resistance {}", amount(value))));
        }
        Params::Ammeter { resistance, range } | Params::Voltmeter { resistance, range } => {
            parts.push(resistance.as_ref().map_or_else(|| "ideal".to_owned(), amount));
            parts.extend(range.as_ref().map(|value| format!("range {value}")));
        }
        Params::Capacitor { capacitance, initial, rating } => {
            parts.push(amount(capacitance));
            parts.extend(initial.as_ref().map(|value| format!("initial {value}")));
            parts.extend(rating.as_ref().map(|value| format!("rating {value}")));
        }
        Params::Inductor { inductance, initial, resistance } => {
            parts.push(amount(inductance));
            parts.extend(initial.as_ref().map(|value| format!("initial {value}")));
            parts.extend(resistance.as_ref().map(|value| format!("resistance {}", amount(value))));
        }
        Params::Diode { drop, resistance, limit } => {
            parts.push(amount(drop));
            parts.extend(resistance.as_ref().map(|value| format!("resistance {}", amount(value))));
            parts.extend(limit.as_ref().map(|value| format!("limit {value}")));
        }
    }
    parts.join(", ")
}
