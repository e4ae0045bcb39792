//! Drawings on paper and as pixels: SVG to PNG and PDF.
//!
//! Purpose: the same picture everywhere, whatever fonts a machine has.
//! Boundary: knows SVG only; what is drawn is decided elsewhere.
//! Invariants: no file, no system font, no image from outside is ever read; the same SVG gives the same bytes.

use std::sync::{Arc, LazyLock};

use krilla::geom::Size;
use krilla::metadata::Metadata;
use krilla::page::PageSettings;
use krilla_svg::{SurfaceExt, SvgSettings};
use resvg::tiny_skia::{Pixmap, Transform};
use resvg::usvg::{ImageHrefResolver, Options, Tree, fontdb};

/// Inter Regular (a subset), under the SIL Open Font License 1.1; see `fonts/LICENSE.txt`.
pub const REGULAR: &[u8] = include_bytes!("../fonts/Inter-Regular.otf");
/// Inter Semi Bold (a subset), under the same license.
pub const SEMI_BOLD: &[u8] = include_bytes!("../fonts/Inter-SemiBold.otf");

/// Why a drawing cannot be printed.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum PrintError {
    /// The text is not SVG.
    Svg(String),
    /// The picture would be too large: its size in pixels.
    TooLarge(u32, u32),
    /// The file format could not be written.
    Format(String),
}

impl std::fmt::Display for PrintError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            PrintError::Svg(why) => write!(f, "the drawing is not SVG: {why}"),
            PrintError::TooLarge(wide, high) => {
                write!(f, "the picture would have {wide} by {high} pixels, which is too large; take PDF or SVG")
            }
            PrintError::Format(why) => write!(f, "the drawing could not be written: {why}"),
        }
    }
}

impl std::error::Error for PrintError {}

static FONTS: LazyLock<Arc<fontdb::Database>> = LazyLock::new(|| {
    let mut fonts = fontdb::Database::new();
    fonts.load_font_data(REGULAR.to_vec());
    fonts.load_font_data(SEMI_BOLD.to_vec());
    for set in [
        fontdb::Database::set_sans_serif_family,
        fontdb::Database::set_serif_family,
        fontdb::Database::set_monospace_family,
    ] {
        set(&mut fonts, "Inter");
    }
    Arc::new(fonts)
});

fn read(svg: &str) -> Result<Tree, PrintError> {
    let options = Options {
        font_family: "Inter".to_owned(),
        fontdb: FONTS.clone(),
        // Nothing from outside: no file, no address.
        image_href_resolver: ImageHrefResolver {
            resolve_data: Box::new(|_, _, _| None),
            resolve_string: Box::new(|_, _| None),
        },
        ..Options::default()
    };
    Tree::from_str(svg, &options).map_err(|error| PrintError::Svg(error.to_string()))
}

/// Pixels along one side that a picture may have.
const LARGEST: f32 = 32_000.0;
/// Pixels in all that a picture may have.
const MOST: f32 = 200e6;

/// Draws SVG as PNG, `scale` pixels for each of its units.
pub fn png(svg: &str, scale: f32) -> Result<Vec<u8>, PrintError> {
    let tree = read(svg)?;
    let size = tree.size();
    let (wide, high) = ((size.width() * scale).ceil(), (size.height() * scale).ceil());
    let too_large = || PrintError::TooLarge(wide as u32, high as u32);
    if wide > LARGEST || high > LARGEST || wide * high > MOST {
        return Err(too_large());
    }
    let mut pixels = Pixmap::new(wide as u32, high as u32).ok_or_else(too_large)?;
    resvg::render(&tree, Transform::from_scale(scale, scale), &mut pixels.as_mut());
    pixels.encode_png().map_err(|error| PrintError::Format(error.to_string()))
}

/// Sets SVG as a PDF of one page of its size (one unit is one CSS pixel, 1/96 inch), text as text.
pub fn pdf(svg: &str, title: &str) -> Result<Vec<u8>, PrintError> {
    pdf_pages(&[svg], title)
}

/// Sets each SVG as a page of a PDF, as [`pdf()`] does for one.
pub fn pdf_pages<S: AsRef<str>>(pages: &[S], title: &str) -> Result<Vec<u8>, PrintError> {
    let mut document = krilla::Document::new();
    if !title.is_empty() {
        document.set_metadata(Metadata::new().title(title.to_owned()).language("en".to_owned()));
    }
    for svg in pages {
        add_page(&mut document, svg.as_ref())?;
    }
    document.finish().map_err(|error| PrintError::Format(error.to_string()))
}

fn add_page(document: &mut krilla::Document, svg: &str) -> Result<(), PrintError> {
    let tree = read(svg)?;
    // PDF counts in points, 1/72 inch.
    let (wide, high) = (tree.size().width() * 0.75, tree.size().height() * 0.75);
    let settings =
        PageSettings::from_wh(wide, high).ok_or_else(|| PrintError::Format("the drawing has no size".to_owned()))?;
    let size = Size::from_wh(wide, high).ok_or_else(|| PrintError::Format("the drawing has no size".to_owned()))?;
    let mut page = document.start_page_with(settings);
    let mut surface = page.surface();
    surface
        .draw_svg(&tree, size, SvgSettings::default())
        .ok_or_else(|| PrintError::Format("the drawing could not be set".to_owned()))?;
    surface.finish();
    page.finish();
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use ohmline_draw::{Face, Layout, Options as Room, Part, Picture, Style, Symbol, Theme, advance, svg};

    fn drawing(theme: Theme) -> String {
        let picture = Picture {
            title: "One lamp".to_owned(),
            nodes: vec![ohmline_draw::Node::default(); 2],
            parts: vec![Part::new("B1", Symbol::Battery, &[0, 1]), Part::new("L1", Symbol::Lamp, &[0, 1])],
            ..Picture::default()
        };
        svg(&picture, &Layout::new(&picture, &Room::default()), &Style { theme, ..Style::default() })
    }

    #[test]
    fn the_table_of_widths_is_that_of_the_fonts() {
        for (face, data) in [(Face::Regular, REGULAR), (Face::SemiBold, SEMI_BOLD)] {
            let font = ttf_parser::Face::parse(data, 0).unwrap();
            let mut count = 0;
            for code in 0x20..0x2600 {
                let Some(character) = char::from_u32(code) else { continue };
                let Some(glyph) = font.glyph_index(character) else { continue };
                let units = f64::from(font.glyph_hor_advance(glyph).unwrap());
                let width = units * 1000.0 / f64::from(font.units_per_em());
                assert!((width - f64::from(advance(face, character))).abs() <= 0.51, "{face:?} {character:?}: {width}");
                count += 1;
            }
            assert!(count > 500, "only {count} characters");
        }
    }

    #[test]
    fn png_has_the_size_of_the_drawing_and_its_colors() {
        for (theme, corner) in [(Theme::Light, 0xff), (Theme::Dark, 0x14)] {
            let text = drawing(theme);
            let tree = read(&text).unwrap();
            let bytes = png(&text, 2.0).unwrap();
            let pixels = Pixmap::decode_png(&bytes).unwrap();
            assert_eq!(pixels.width(), (tree.size().width() * 2.0) as u32);
            assert_eq!(pixels.pixel(1, 1).unwrap().red(), corner, "{theme:?}");
            let inked = pixels.pixels().iter().filter(|pixel| pixel.red().abs_diff(corner) > 100).count();
            assert!(inked > 500, "{theme:?}: {inked} pixels of ink");
        }
    }

    /// Text is drawn with the embedded faces: without them nothing would be.
    #[test]
    fn text_is_drawn() {
        let text = drawing(Theme::Light);
        let without: String =
            text.split("<text").map(|piece| piece.split_once("</text>").map_or(piece, |p| p.1)).collect();
        assert_ne!(png(&text, 1.0).unwrap(), png(&without, 1.0).unwrap());
    }

    #[test]
    fn pdf_is_a_pdf_with_text() {
        let bytes = pdf(&drawing(Theme::Light), "One lamp").unwrap();
        assert!(bytes.starts_with(b"%PDF-"));
        let text = String::from_utf8_lossy(&bytes);
        assert!(text.contains("Inter"), "the font is embedded under its name");
        assert_eq!(bytes, pdf(&drawing(Theme::Light), "One lamp").unwrap(), "the same bytes each time");
    }

    #[test]
    fn what_is_not_svg_or_too_large_is_refused() {
        assert!(matches!(png("no", 1.0), Err(PrintError::Svg(_))));
        assert!(matches!(png(&drawing(Theme::Light), 1000.0), Err(PrintError::TooLarge(..))));
    }
}
