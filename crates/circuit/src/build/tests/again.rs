//! What was left in the tree from the last time speeds things up and changes nothing.

use std::sync::Arc;

use ohmline_syntax::{LineIndex, Tree, parse, reparse};
use proptest::prelude::*;

use crate::build;
use crate::sources::{Source, Sources};

/// A circuit with everything that has names: elements, junctions, values, parts, copies, repeats, cases.
const START: &str = "\
let supply = 6 V
part lantern(in, out), dropper = 10 ohm
resistor R1 = dropper
lamp L1 = 20 ohm
@in -- R1 -- @mid -- L1 -- @out
end
battery B1 = supply
battery B2 = 3 V, internal 0.5 ohm
resistor R1, R2 = 10 ohm
resistor R3 = 0.5 ohm, rating 1 W
lantern Left, dropper 30 ohm
switch S1 = closed
repeat k from 1 to 3
resistor T{k} = 4 kohm
@mid -- T{k} -- @t{k}
@t{k} -- R3 -- @join
end
B1+ -- R1 -- @mid -- R2 -- @join -- B1-
@mid -- Left -- S1 -- @join
@Left.mid -- R3 -- @t2
-- B2- +B1
@join -- +B2- -- @x
case \"night\": S1 = open
claim current through R1 = 1 A
resistor R1 = 4 V
";

fn dumped(tree: &Tree) -> String {
    let lines = Arc::new(LineIndex::new(&tree.text));
    let source = Source { name: "t".into(), path: None, tree: Arc::new(tree.clone()), lines, includes: Vec::new() };
    build(&Sources { files: vec![source] }).dump()
}

/// An edit of a text of lines.
fn edited(lines: &mut Vec<String>, what: u8, at: usize, other: usize) {
    if lines.is_empty() {
        lines.push("lamp L9 = 5 ohm".to_owned());
        return;
    }
    let (at, other) = (at % lines.len(), other % lines.len());
    match what % 6 {
        0 => {
            lines.remove(at);
        }
        1 => lines.swap(at, other),
        2 => lines.insert(other, lines[at].clone()),
        3 => lines[at].push('x'),
        4 => {
            lines[at].pop();
        }
        _ => lines[at] = lines[at].replace("R1", "R2").replace("@mid", "@join"),
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn an_edited_circuit_is_built_as_one_read_afresh(
        edits in prop::collection::vec((any::<u8>(), any::<usize>(), any::<usize>()), 1..12),
    ) {
        let mut lines: Vec<String> = START.lines().map(str::to_owned).collect();
        let mut tree = parse(START);
        prop_assert_eq!(dumped(&tree), dumped(&parse(START)));
        for (what, at, other) in edits {
            edited(&mut lines, what, at, other);
            let text = lines.join("\n");
            tree = reparse(&tree, &text);
            prop_assert_eq!(dumped(&tree), dumped(&parse(&text)), "{}", text);
        }
    }
}
