//! A stage of a worked solution as a picture: parts keep their keys from stage to stage, so that a redraw keeps their places.

use ohmline_circuit::{Circuit, Kind, Rational};
use ohmline_draw::{Arrow, Loop, Mark, Node, Part, Picture, Symbol};
use ohmline_worked::{Figure, PartKind, Stage, StagePart};

/// The picture of a stage; `write` gives numbers their form.
pub fn stage_picture(circuit: &Circuit, stage: &Stage, title: &str, write: &dyn Fn(&Figure) -> String) -> Picture {
    let nodes = stage
        .points
        .iter()
        .enumerate()
        .map(|(index, point)| {
            let name = point.label.strip_prefix('@');
            Node {
                // The star's center is no node of the drawing.
                key: point.nodes.first().map_or_else(|| format!("x{index}"), |node| format!("n{}", node.0)),
                names: name.map(str::to_owned).into_iter().collect(),
                label: name.map(str::to_owned),
                words: point.label.clone(),
                ..Node::default()
            }
        })
        .collect();
    let shown: Vec<&StagePart> = stage.parts.iter().filter(|part| part.kind != PartKind::Terminals).collect();
    let parts: Vec<Part> = shown
        .iter()
        .map(|part| {
            let mut value = write(&part.value);
            if let Some(internal) = &part.internal {
                value = format!("{value}, {}", write(internal));
            }
            let zero = Rational::from(0);
            let arrow = part.current.as_ref().filter(|current| **current != zero).map(|current| {
                let forward = *current > zero;
                let size = if forward { current.clone() } else { -current };
                Arrow { forward, text: write(&Figure::ampere(&size)) }
            });
            let mut drawn = Part::new(&part.name, symbol(circuit, part), &[part.from, part.to]);
            drawn.value = Some(value);
            drawn.arrow = arrow;
            drawn.mark = if part.new { Mark::New } else { Mark::None };
            drawn.replaces = part.replaces.iter().map(|name| name.to_string()).collect();
            drawn
        })
        .collect();
    let loops = stage
        .rings
        .iter()
        .map(|ring| Loop {
            parts: ring.parts.iter().map(|part| part.to_string()).collect(),
            text: ring.name.to_string(),
        })
        .collect();
    let source = shown.iter().position(|part| {
        matches!(part.kind, PartKind::Emf | PartKind::Drive)
            && part.element.is_none_or(|id| circuit.element(id).kind.is_source())
    });
    Picture { title: title.to_owned(), nodes, parts, source, loops }
}

/// The symbol of a part: that of its element where it is one.
fn symbol(circuit: &Circuit, part: &StagePart) -> Symbol {
    match (part.kind, part.element.map(|id| circuit.element(id).kind)) {
        (PartKind::Drive, _) => Symbol::CurrentSource,
        (PartKind::Emf, Some(Kind::VoltageSource)) => Symbol::VoltageSource,
        (PartKind::Emf, Some(Kind::Diode)) => Symbol::Diode,
        (PartKind::Emf, _) => Symbol::Battery,
        (_, Some(Kind::Lamp)) => Symbol::Lamp,
        (_, Some(Kind::Ammeter)) => Symbol::Ammeter,
        (_, Some(Kind::Voltmeter)) => Symbol::Voltmeter,
        (_, Some(Kind::Fuse)) => Symbol::Fuse,
        (_, Some(Kind::Inductor)) => Symbol::Inductor,
        // A source that is replaced by its internal resistance is drawn as one.
        (_, Some(_)) => Symbol::Resistor,
        (_, None) => Symbol::Equivalent,
    }
}
