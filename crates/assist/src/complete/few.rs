//! Of very many names those that are meant: no list grows with the size of the circuit.

use super::Line;

/// Most names of one sort that are offered at once.
const MOST: usize = 200;

impl Line<'_> {
    /// What is to be offered: all of it, or where there is very much, of what fits what is typed that which comes first (`false` before
    /// `true`), then what begins with it, then what stands nearest. `of` tells the name, whether it comes later, and how far away it is.
    /// The order stays.
    pub(super) fn few_of<T>(&mut self, all: Vec<T>, of: impl Fn(&T) -> (&str, bool, u32)) -> Vec<T> {
        if all.len() <= MOST {
            return all;
        }
        self.whole = false;
        let typed: Vec<char> = self.typed().trim_start_matches('@').chars().flat_map(char::to_lowercase).collect();
        let mut fitting: Vec<(bool, bool, u32, usize)> = all
            .iter()
            .enumerate()
            .filter_map(|(number, own)| {
                let (name, later, away) = of(own);
                let begins = fits(name, &typed)?;
                Some((later, !begins, away, number))
            })
            .collect();
        if fitting.len() > MOST {
            fitting.select_nth_unstable(MOST);
            fitting.truncate(MOST);
        }
        let mut keep = vec![false; all.len()];
        fitting.iter().for_each(|(.., number)| keep[*number] = true);
        let mut keep = keep.into_iter();
        all.into_iter().filter(|_| keep.next() == Some(true)).collect()
    }

    /// Of these symbols those to be offered.
    pub(super) fn few(&mut self, symbols: Vec<u32>) -> Vec<u32> {
        let at = self.word.start;
        let index = self.index;
        let all: Vec<(&str, u32, u32)> = symbols
            .into_iter()
            .map(|number| {
                let away = index.definition(number).map_or(u32::MAX, |own| own.at.span.start.abs_diff(at));
                (index.symbol(number).name.as_str(), away, number)
            })
            .collect();
        let few = self.few_of(all, |(name, away, _)| (name, false, *away));
        few.into_iter().map(|(.., number)| number).collect()
    }
}

/// Whether a name holds these letters in this order, in whatever case; and whether it begins with them. A hole holds every digit.
fn fits(name: &str, typed: &[char]) -> Option<bool> {
    let (fixed, hole) = name.split_once("{}").map_or((name, false), |(fixed, _)| (fixed, true));
    let (mut found, mut begins) = (0, true);
    for own in fixed.chars().flat_map(char::to_lowercase) {
        if found == typed.len() {
            break;
        }
        if own == typed[found] {
            found += 1;
        } else {
            begins = false;
        }
    }
    (found == typed.len() || hole).then_some(begins)
}

#[cfg(test)]
mod tests {
    use std::fmt::Write as _;

    use super::*;
    use crate::complete::{ItemKind, complete};
    use crate::fixture::marked;
    use crate::occurrences::Index;

    #[test]
    fn letters_in_order_in_any_case() {
        let fits = |name: &str, typed: &str| super::fits(name, &typed.chars().collect::<Vec<_>>());
        assert_eq!(fits("Nebelhorn", "neb"), Some(true));
        assert_eq!(fits("Nebelhorn", "nhn"), Some(false));
        assert_eq!(fits("Nebelhorn", "x"), None);
        assert_eq!(fits("R{}", "r12"), Some(true));
        assert_eq!(fits("L1", ""), Some(true));
    }

    fn names(text: &str) -> (Vec<String>, bool) {
        let (analysis, cursor) = marked(text, &[]);
        let found = complete(&analysis, &Index::new(&analysis.sources), cursor, &[]);
        let names = found.items.iter().filter(|item| matches!(item.kind, ItemKind::Element | ItemKind::Junction));
        (names.map(|item| item.label.clone()).collect(), found.whole)
    }

    #[test]
    fn a_long_list_is_cut_to_what_is_typed_and_near() {
        let mut text = String::from("battery B1 = 9 V\nB1- -- @b0\nB1+ -- @a0\n");
        for n in 1..=900 {
            let _ = writeln!(text, "resistor R{n} = 1 ohm\n@a{} -- R{n} -- @a{n}", n - 1);
        }
        text.push_str("lamp Beacon = 3 ohm\n");
        // Nothing typed: what stands nowhere yet, and what stands near.
        let (all, whole) = names(&format!("{text}@a900 -- <|>\n"));
        assert!(!whole && all.len() <= 2 * MOST + 4, "{}", all.len());
        assert!(
            all.contains(&"Beacon".to_owned()) && all.contains(&"@a899".to_owned()) && !all.contains(&"@a7".to_owned())
        );
        // What is typed is found wherever it stands.
        let (found, whole) = names(&format!("{text}find current through r7<|>\n"));
        assert!(!whole && found.contains(&"R7".to_owned()) && found.contains(&"R799".to_owned()), "{found:?}");
        // What stands in a path cannot stand in a second.
        let (found, _) = names(&format!("{text}@a900 -- r7<|>\n"));
        assert!(!found.contains(&"R7".to_owned()), "{found:?}");
        let (found, whole) = names(&format!("{text}@a900 -- @a77<|>\n"));
        assert!(!whole && found.contains(&"@a77".to_owned()) && !found.contains(&"@a8".to_owned()), "{found:?}");
        // Of few names the editor picks by itself.
        let (found, whole) = names("lamp L1, L2 = 3 ohm\nL1 -- x<|>\n");
        assert!(whole && found.contains(&"L2".to_owned()), "{found:?}");
    }
}
