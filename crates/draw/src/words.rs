//! A drawing in words, for readers who cannot see it.

use std::fmt::Write;

use crate::net::{self, Content, Net};
use crate::picture::{Mark, Part, Picture};
use crate::reduce::{Groups, Kind};

/// How much a description says.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
pub enum Manner {
    /// Overview, groups from the source on, point by point.
    #[default]
    Full,
    /// Only which element joins which points: nothing that gives away what is in series or in parallel.
    Neutral,
}

/// Describes a picture. Empty for one that is not sound.
pub fn describe(picture: &Picture, manner: Manner) -> String {
    if !picture.is_sound() {
        return String::new();
    }
    let mut sentences = vec![overview(picture)];
    match manner {
        Manner::Full => {
            for parts in net::pieces(picture) {
                sentences.extend(groups(picture, &parts));
            }
            sentences.extend(picture.parts.iter().filter_map(details));
            sentences.extend(points(picture));
        }
        Manner::Neutral => sentences.extend(ends(picture)),
    }
    sentences.join(" ")
}

/// `a, b and c`
fn list(words: &[String]) -> String {
    match words {
        [] => String::new(),
        [one] => one.clone(),
        [front @ .., last] => format!("{} and {last}", front.join(", ")),
    }
}

fn number(n: usize) -> String {
    const WORDS: [&str; 13] =
        ["no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve"];
    WORDS.get(n).map_or_else(|| n.to_string(), |word| (*word).to_owned())
}

fn overview(picture: &Picture) -> String {
    let mut kinds: Vec<(&str, usize)> = Vec::new();
    for part in &picture.parts {
        let word = part.symbol.word();
        match kinds.iter_mut().find(|kind| kind.0 == word) {
            Some(kind) => kind.1 += 1,
            None => kinds.push((word, 1)),
        }
    }
    let counted: Vec<String> = kinds
        .iter()
        .map(|(word, n)| {
            // `open switch`, `changeover on a`: the noun takes the s.
            let many = match (*n, word.split_once(" on ")) {
                (1, _) => (*word).to_owned(),
                (_, Some((noun, rest))) => format!("{noun}s on {rest}"),
                (_, None) if word.ends_with("switch") => format!("{word}es"),
                (_, None) if word.ends_with("battery") => "batteries".to_owned(),
                (_, None) => format!("{word}s"),
            };
            format!("{} {many}", number(*n))
        })
        .collect();
    if counted.is_empty() { "An empty circuit.".to_owned() } else { format!("A circuit with {}.", list(&counted)) }
}

/// One part with its value and what else is written at it, if anything is.
fn details(part: &Part) -> Option<String> {
    let mut out: Vec<String> = part.value.iter().cloned().collect();
    out.extend(part.solved.iter().cloned());
    out.extend(part.arrow.iter().map(|arrow| format!("current {}", arrow.text)));
    match part.mark {
        Mark::New => out.push("new in this step".to_owned()),
        Mark::Group => out.push("to be replaced in this step".to_owned()),
        Mark::None | Mark::Dim => {}
    }
    (!out.is_empty()).then(|| format!("{}: {}.", part.name, out.join(", ")))
}

/// What the structure of one piece is, from the source on.
fn groups(picture: &Picture, parts: &[usize]) -> Option<String> {
    let two = |part: &usize| picture.parts[*part].terminals.len() == 2;
    let source = picture
        .source
        .filter(|source| parts.contains(source) && two(source))
        .or_else(|| parts.iter().copied().find(|part| picture.parts[*part].symbol.is_source()))?;
    let net = Net::new(picture, parts, Some(source));
    let groups = Groups::new(&net);
    let name = &picture.parts[source].name;
    let (start, end) = match picture.parts[source].symbol.is_polar() {
        true => (format!("From the plus of {name}"), "back to its minus"),
        false => (format!("From one end of {name}"), "back to its other end"),
    };
    match groups.core.as_slice() {
        [one] if groups.all[*one].gap => None,
        [one] => {
            let from = net.edges[0].a;
            Some(format!("{start} through {}, {end}.", way(picture, &net, &groups, *one, from)))
        }
        _ => Some(
            "It does not break down into elements in series and in parallel; how it hangs together is said point by point."
                .to_owned(),
        ),
    }
}

/// A group in words, seen from one of its ends.
fn way(picture: &Picture, net: &Net, groups: &Groups, group: usize, from: usize) -> String {
    let of = &groups.all[group];
    match &of.kind {
        Kind::Leaf(edge) => match net.edges[*edge].content {
            Content::Part(part) => picture.parts[part].name.clone(),
            Content::Lead { part, terminal, .. } => {
                let ends = match picture.parts[part].symbol.terminals() {
                    3 if matches!(picture.parts[part].symbol, crate::picture::Symbol::Potentiometer) => {
                        ["a", "b", "wiper"]
                    }
                    _ => ["common", "a", "b"],
                };
                format!("the terminal {} of {}", ends[terminal.min(2)], picture.parts[part].name)
            }
            Content::Wire(_) => "a wire".to_owned(),
            Content::Gap => "an open place".to_owned(),
        },
        Kind::Series(members) => {
            let mut members = members.clone();
            if of.a != from {
                members.reverse();
            }
            let mut here = from;
            let mut words: Vec<String> = Vec::new();
            for member in members {
                let next = groups.other(member, here);
                words.push(way(picture, net, groups, member, here));
                here = next;
            }
            words.join(", then ")
        }
        Kind::Parallel(members) => {
            let branches: Vec<String> =
                members.iter().map(|member| format!("({})", way(picture, net, groups, *member, from))).collect();
            format!("{} branches side by side: {}", number(branches.len()), list(&branches))
        }
    }
}

/// What is joined at each point.
fn points(picture: &Picture) -> Vec<String> {
    let mut at: Vec<Vec<String>> = vec![Vec::new(); picture.nodes.len()];
    for part in &picture.parts {
        for node in &part.terminals {
            if !at[*node].contains(&part.name) {
                at[*node].push(part.name.clone());
            }
        }
    }
    let ends = picture.ends();
    picture
        .nodes
        .iter()
        .enumerate()
        .filter(|(node, _)| ends[*node] > 0)
        .filter(|(node, of)| ends[*node] != 2 || !of.names.is_empty())
        .map(|(node, of)| {
            let words = if of.words.is_empty() { &of.key } else { &of.words };
            let mut out = if ends[node] == 1 {
                format!("{words} is an open end of {}", at[node][0])
            } else {
                format!("{words} joins {}", list(&at[node]))
            };
            if let Some(potential) = &of.potential {
                let _ = write!(out, ", at {potential}");
            }
            if of.reference {
                out.push_str(", the reference");
            }
            capital(&out) + "."
        })
        .collect()
}

/// Which points each part joins, unnamed ones numbered.
fn ends(picture: &Picture) -> Vec<String> {
    let mut count = 0;
    let names: Vec<String> = picture
        .nodes
        .iter()
        .map(|node| {
            node.names.first().map_or_else(
                || {
                    count += 1;
                    format!("point {count}")
                },
                |name| format!("@{name}"),
            )
        })
        .collect();
    picture
        .parts
        .iter()
        .map(|part| {
            let mut out = format!("{}, {}", part.name, part.symbol.word());
            for word in part.value.iter().chain(&part.solved) {
                let _ = write!(out, ", {word}");
            }
            let at: Vec<&str> = part.terminals.iter().map(|node| names[*node].as_str()).collect();
            match (at.as_slice(), part.symbol.is_polar()) {
                ([a, b], true) => {
                    let _ = write!(out, ", has its plus at {a} and its minus at {b}.");
                }
                ([a, b], false) => {
                    let _ = write!(out, ", runs from {a} to {b}.");
                }
                (many, _) => {
                    let terminals = if part.symbol == crate::picture::Symbol::Potentiometer {
                        ["a", "b", "its wiper"]
                    } else {
                        ["its common contact", "a", "b"]
                    };
                    let pairs: Vec<String> =
                        terminals.iter().zip(many).map(|(terminal, point)| format!("{terminal} at {point}")).collect();
                    let _ = write!(out, ", has {}.", list(&pairs));
                }
            }
            out
        })
        .collect()
}

fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |first| first.to_uppercase().collect::<String>() + chars.as_str())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::picture::{Node, Symbol};

    fn pier() -> Picture {
        let named = |name: &str| Node {
            key: name.to_owned(),
            names: vec![name.to_owned()],
            words: format!("@{name}"),
            ..Node::default()
        };
        Picture {
            nodes: vec![Node { key: "B1+".to_owned(), ..Node::default() }, named("fork"), named("join")],
            parts: vec![
                Part { value: Some("4.5 V".to_owned()), ..Part::new("B1", Symbol::Battery, &[0, 2]) },
                Part::new("R1", Symbol::Resistor, &[0, 1]),
                Part::new("L1", Symbol::Lamp, &[1, 2]),
                Part::new("L2", Symbol::Lamp, &[1, 2]),
            ],
            ..Picture::default()
        }
    }

    #[test]
    fn in_layers() {
        assert_eq!(
            describe(&pier(), Manner::Full),
            "A circuit with one battery, one resistor and two lamps. \
             From the plus of B1 through R1, then two branches side by side: (L1) and (L2), back to its minus. \
             B1: 4.5 V. @fork joins R1, L1 and L2. @join joins B1, L1 and L2."
        );
    }

    #[test]
    fn neutral_words_give_nothing_away() {
        let words = describe(&pier(), Manner::Neutral);
        assert_eq!(
            words,
            "A circuit with one battery, one resistor and two lamps. \
             B1, battery, 4.5 V, has its plus at point 1 and its minus at @join. \
             R1, resistor, runs from point 1 to @fork. L1, lamp, runs from @fork to @join. L2, lamp, runs from @fork to @join."
        );
        for word in ["series", "parallel", "side by side", "branch"] {
            assert!(!words.contains(word));
        }
    }
}
