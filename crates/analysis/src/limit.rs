//! A bound on the work that one source can ask for.

use ohmline_circuit::{Circuit, Claim};
use ohmline_syntax::{Diagnostic, Severity};

/// Most branches times states that are solved: minutes of work, and gigabytes of answers.
pub const MOST: usize = 20_000_000;

/// Leaves out the cases beyond what can be solved, with all that is asked of them, and says so once.
pub fn cut_cases(circuit: &mut Circuit, most: usize) {
    let kept = (most / circuit.branches.len().max(1)).max(1);
    let count = circuit.states.len();
    let Some(first) = circuit.states.get(kept) else { return };
    let (at, name) = (first.at.unwrap_or_default(), first.name.clone().unwrap_or_default());
    let others = match count - kept - 1 {
        0 => "is".to_owned(),
        1 => "and the one after it are".to_owned(),
        more => format!("and the {more} after it are"),
    };
    let message = format!(
        "Case \"{name}\" {others} not solved: {} elements in {count} states are more than this tool solves in one go",
        circuit.elements.len(),
    );
    circuit.states.truncate(kept);
    circuit.finds.retain(|ask| ask.state.index() < kept);
    circuit.givens.retain(|reading| reading.ask.state.index() < kept);
    circuit.measured.retain(|reading| reading.ask.state.index() < kept);
    circuit.claims.retain(|claim| match claim {
        Claim::Value { ask, .. } => ask.state.index() < kept,
        Claim::Relation { state, .. } => state.index() < kept,
    });
    circuit.diagnostics.push(
        Diagnostic::new("too-many-cases", Severity::Error, at, message)
            .note("Questions and claims about these cases are left out too")
            .help("Move some of the cases to a file of their own"),
    );
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use ohmline_circuit::{Source, Sources, build};
    use ohmline_syntax::LineIndex;

    use super::*;

    fn circuit() -> Circuit {
        let text = "battery B1 = 6 V\nresistor R1 = 3 ohm\nB1+ -- R1 -- B1-\nfind current through R1\n\
            case \"a\": B1 = 1 V\ncase \"b\": B1 = 2 V\ncase \"c\": B1 = 3 V\n\
            find current through R1 in \"a\"\nclaim current through R1 = 1 A in \"c\"\nclaim B1, R1 in series in \"b\"\n";
        let main = Source {
            name: "quay.ohmline".into(),
            path: None,
            tree: Arc::new(ohmline_syntax::parse(text)),
            lines: Arc::new(LineIndex::new(text)),
            includes: Vec::new(),
        };
        build(&Sources { files: vec![main] })
    }

    #[test]
    fn what_fits_is_kept_whole() {
        let mut whole = circuit();
        cut_cases(&mut whole, 2 * 4);
        assert_eq!((whole.states.len(), whole.finds.len(), whole.claims.len()), (4, 2, 2));
        assert!(whole.diagnostics.is_empty());
    }

    #[test]
    fn what_does_not_fit_is_left_out_and_said_once() {
        let mut cut = circuit();
        cut_cases(&mut cut, 2 * 2 + 1);
        assert_eq!((cut.states.len(), cut.finds.len(), cut.claims.len()), (2, 2, 0));
        let said: Vec<&str> = cut.diagnostics.iter().map(|said| said.message.as_str()).collect();
        let why = "2 elements in 4 states are more than this tool solves in one go";
        assert_eq!(said, [format!("Case \"b\" and the one after it are not solved: {why}")]);
        // However large it is, the circuit as drawn is solved.
        let mut drawn = circuit();
        cut_cases(&mut drawn, 0);
        assert_eq!((drawn.states.len(), drawn.finds.len()), (1, 1));
    }
}
