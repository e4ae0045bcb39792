//! Redraws after replacements: what stays keeps its place.

use ohmline_draw::{Layout, Mark, Node, Options, Part, Picture, Symbol, measure};

fn picture(nodes: &[&str], parts: &[(&str, &[usize])]) -> Picture {
    Picture {
        nodes: nodes.iter().map(|key| Node { key: (*key).to_owned(), ..Node::default() }).collect(),
        parts: parts
            .iter()
            .map(|(name, ends)| {
                let symbol = if name.starts_with('B') { Symbol::Battery } else { Symbol::Resistor };
                Part { value: Some("10 Ω".to_owned()), ..Part::new(name, symbol, ends) }
            })
            .collect(),
        ..Picture::default()
    }
}

fn merged(name: &str, ends: &[usize], replaces: &[&str]) -> Part {
    Part {
        value: Some("4 Ω".to_owned()),
        mark: Mark::New,
        replaces: replaces.iter().map(|key| (*key).to_owned()).collect(),
        ..Part::new(name, Symbol::Equivalent, ends)
    }
}

/// Redraws, and checks that the drawing is sound and that everything that was there before stands where it stood.
fn check(picture: &Picture, previous: &Layout) -> Layout {
    let layout = Layout::redraw(picture, previous, &Options::default());
    let measures = measure(picture, &layout);
    assert!(measures.overlaps.is_empty(), "{:?}", measures.overlaps);
    assert!(measures.faithful);
    assert!(layout.inherited, "the layout was made anew");
    for placed in &layout.parts {
        if let Some(before) = previous.parts.iter().find(|before| before.key == placed.key) {
            assert_eq!((placed.at, placed.turn), (before.at, before.turn), "{} has moved", placed.key);
        }
    }
    layout
}

#[test]
fn a_series_parallel_circuit_down_to_one_resistance() {
    // B1 - R1 - ( R2 - R3 | R4 ) - R5
    let nodes = ["plus", "a", "m", "b", "minus"];
    let first = picture(
        &nodes,
        &[("B1", &[0, 4]), ("R1", &[0, 1]), ("R2", &[1, 2]), ("R3", &[2, 3]), ("R4", &[1, 3]), ("R5", &[3, 4])],
    );
    let one = Layout::new(&first, &Options::default());
    let mut second =
        picture(&["plus", "a", "b", "minus"], &[("B1", &[0, 3]), ("R1", &[0, 1]), ("R4", &[1, 2]), ("R5", &[2, 3])]);
    second.parts.push(merged("R2+R3", &[1, 2], &["R2", "R3"]));
    let two = check(&second, &one);
    let place = |layout: &Layout, key: &str| layout.parts.iter().find(|part| part.key == key).map(|part| part.at);
    let (r2, r3) = (place(&one, "R2").unwrap(), place(&one, "R3").unwrap());
    let middle = place(&two, "R2+R3").unwrap();
    assert_eq!((middle.x, middle.y), (r2.x, (r2.y + r3.y) / 2), "in the middle of what it replaces");

    let mut third = picture(&["plus", "a", "b", "minus"], &[("B1", &[0, 3]), ("R1", &[0, 1]), ("R5", &[2, 3])]);
    third.parts.push(merged("(R2+R3)||R4", &[1, 2], &["R2+R3", "R4"]));
    let three = check(&third, &two);

    let mut fourth = picture(&["plus", "minus"], &[("B1", &[0, 1])]);
    fourth.parts.push(merged("Req", &[0, 1], &["R1", "(R2+R3)||R4", "R5"]));
    check(&fourth, &three);
}

#[test]
fn equal_branches_at_once() {
    let parts: Vec<(String, [usize; 2])> = (1..=4).map(|k| (format!("R{k}"), [0, 1])).collect();
    let mut list: Vec<(&str, &[usize])> = vec![("B1", &[0, 1])];
    list.extend(parts.iter().map(|(name, ends)| (name.as_str(), ends.as_slice())));
    let one = Layout::new(&picture(&["plus", "minus"], &list), &Options::default());
    let mut second = picture(&["plus", "minus"], &[("B1", &[0, 1])]);
    second.parts.push(merged("R", &[0, 1], &["R1", "R2", "R3", "R4"]));
    check(&second, &one);
}

#[test]
fn a_dead_branch_goes_and_nothing_moves() {
    let one = Layout::new(
        &picture(&["plus", "a", "minus"], &[("B1", &[0, 2]), ("R1", &[0, 1]), ("R2", &[1, 2]), ("R3", &[1, 2])]),
        &Options::default(),
    );
    let second = picture(&["plus", "a", "minus"], &[("B1", &[0, 2]), ("R1", &[0, 1]), ("R2", &[1, 2])]);
    check(&second, &one);
}

#[test]
fn what_cannot_be_inherited_is_drawn_anew() {
    let one = Layout::new(&picture(&["p", "m"], &[("B1", &[0, 1]), ("R1", &[0, 1])]), &Options::default());
    let other = picture(&["p", "x", "m"], &[("B1", &[0, 2]), ("R7", &[0, 1]), ("R8", &[1, 2])]);
    let layout = Layout::redraw(&other, &one, &Options::default());
    assert!(!layout.inherited);
    assert!(measure(&other, &layout).faithful);
}
