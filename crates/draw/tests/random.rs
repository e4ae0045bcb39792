//! Random circuits, measured from the geometry of their drawings.

mod common;

use common::{Shape, circuit};
use ohmline_draw::{Layout, Options, measure};

/// Seeds of each shape; `examples/measure.rs` goes through many more.
const SEEDS: u64 = 60;

#[test]
fn nothing_overlaps_and_the_drawing_is_the_circuit() {
    for shape in Shape::ALL {
        for seed in 0..SEEDS {
            let n = 2 + (seed as usize * 7) % 39;
            let picture = circuit(shape, n, seed);
            let layout = Layout::new(&picture, &Options::default());
            let measures = measure(&picture, &layout);
            assert!(measures.overlaps.is_empty(), "{shape:?} of {n}, seed {seed}: {:?}", measures.overlaps);
            assert!(measures.faithful, "{shape:?} of {n}, seed {seed}: other connections than the circuit's");
            if shape.is_planar() {
                assert_eq!(measures.crossings, 0, "{shape:?} of {n}, seed {seed} is planar");
            }
        }
    }
}

#[test]
fn the_same_picture_gives_the_same_drawing() {
    let picture = circuit(Shape::Any, 30, 7);
    let draw = || Layout::new(&picture, &Options::default());
    assert_eq!(draw(), draw());
}
