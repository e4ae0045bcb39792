//! Draws 2,000 random circuits and prints what their drawings are worth: `cargo run -p ohmline-draw --example measure [FROM [COUNT]]`

#[path = "../tests/common/mod.rs"]
mod common;

use std::io::Write;
use std::time::Instant;

use common::{Shape, circuit};
use ohmline_draw::{Layout, Options, measure};

fn main() -> std::io::Result<()> {
    let mut numbers = std::env::args().skip(1).filter_map(|word| word.parse::<u64>().ok());
    let (from, count) = (numbers.next().unwrap_or(0), numbers.next().unwrap_or(500));
    let mut out = std::io::stdout().lock();
    for shape in Shape::ALL {
        let (mut bad, mut crossings, mut bends, mut elements, mut most, mut combed) = (0, 0, 0, 0, 0, 0);
        let mut area = 0i64;
        let start = Instant::now();
        for seed in from..from + count {
            let n = 2 + (seed as usize * 7) % 39;
            let picture = circuit(shape, n, seed);
            let layout = Layout::new(&picture, &Options::default());
            let measures = measure(&picture, &layout);
            if !measures.overlaps.is_empty() || !measures.faithful || (shape.is_planar() && measures.crossings > 0) {
                bad += 1;
                writeln!(
                    out,
                    "  {shape:?} {n} seed {seed}: {} crossings, faithful {}, {:?}",
                    measures.crossings,
                    measures.faithful,
                    &measures.overlaps[..measures.overlaps.len().min(3)]
                )?;
            }
            combed += usize::from(layout.combed > 0);
            crossings += measures.crossings;
            most = most.max(measures.crossings);
            bends += measures.bends;
            elements += picture.parts.len();
            area += i64::from(measures.size.0) * i64::from(measures.size.1);
        }
        writeln!(
            out,
            "{shape:?}: {count} circuits, {elements} elements; {bad} faulty; {combed} by the plain fallback; crossings {crossings} (most {most}); \
             bends per element {:.2}; area per element {:.0}; {:.0} ms",
            bends as f64 / elements as f64,
            area as f64 / elements as f64,
            start.elapsed().as_secs_f64() * 1e3
        )?;
    }
    Ok(())
}
