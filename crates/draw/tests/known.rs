//! Small known circuits, measured.

use ohmline_draw::{Layout, Options, Part, Picture, Style, Symbol, measure, svg};

/// A picture of so many points.
pub fn picture(nodes: usize, parts: Vec<Part>) -> Picture {
    let node = |index: usize| ohmline_draw::Node { key: format!("n{index}"), ..Default::default() };
    Picture { nodes: (0..nodes).map(node).collect(), parts, ..Picture::default() }
}

#[test]
fn one_lamp_in_a_loop() {
    let picture = picture(2, vec![Part::new("B1", Symbol::Battery, &[0, 1]), Part::new("L1", Symbol::Lamp, &[0, 1])]);
    let layout = Layout::new(&picture, &Options::default());
    let measures = measure(&picture, &layout);
    assert!(measures.overlaps.is_empty(), "{:?}", measures.overlaps);
    assert!(measures.faithful);
    let text = svg(&picture, &layout, &Style::default());
    assert!(text.contains("data-element=\"B1\"") && text.contains("data-label=\"L1\""), "{text}");
}
