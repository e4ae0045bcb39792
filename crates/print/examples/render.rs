//! Renders SVG files as PNG beside them: `cargo run -p ohmline-print --example render -- FILE.svg...`

fn main() -> Result<(), Box<dyn std::error::Error>> {
    for name in std::env::args().skip(1) {
        let svg = std::fs::read_to_string(&name)?;
        std::fs::write(std::path::Path::new(&name).with_extension("png"), ohmline_print::png(&svg, 1.5)?)?;
    }
    Ok(())
}
