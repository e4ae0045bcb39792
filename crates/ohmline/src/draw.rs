//! `ohmline draw`

use std::io::IsTerminal;
use std::path::{Path, PathBuf};

use ohmline_analysis::Analysis;
use ohmline_circuit::StateId;
use ohmline_circuit::quantity::Style as Numbers;
use ohmline_draw::{Layout, Manner, Options, Standard, Style, Theme, svg};
use ohmline_report::Tally;
use ohmline_sketch::{LARGEST, Show, SketchOptions, picture};

use crate::Status;
use crate::cli::{DrawArgs, DrawFormat, ShowArg, SymbolsArg, ThemeArg};
use crate::input::{self, Failure};
use crate::settings::Chooser;
use crate::solve::{reports, states};
use crate::terminal::Terminal;
use crate::watch::{Round, complaint};

/// Pixels for one unit of the drawing: sharp on paper and on fine screens.
const SCALE: f32 = 3.0;

/// Runs the command.
pub fn run(args: &DrawArgs) -> Status {
    let terminal = Terminal::new();
    let mut round = Round::default();
    if let Err((status, message)) = draw(args, terminal, &mut round) {
        round.status = round.status.max(status);
        round.out.clear();
        if !message.is_empty() {
            round.said.push_str(&complaint(terminal, &message));
        }
    }
    round.finish(terminal)
}

fn draw(args: &DrawArgs, terminal: Terminal, round: &mut Round) -> Result<(), (Status, String)> {
    let name = input::name(&args.file);
    let unusable = |message: String| (Status::Unusable, message);
    let to_stdout = args.output.as_deref().is_none_or(|output| output == Path::new("-"));
    if to_stdout && args.format() != DrawFormat::Svg && std::io::stdout().is_terminal() {
        let form = if args.format() == DrawFormat::Png { "PNG" } else { "PDF" };
        return Err(unusable(format!(
            "{form} is not for a terminal; name a file with --output, or redirect the output"
        )));
    }
    let settings = Chooser::new(&args.above, &[]);
    let circuits = input::chosen(&args.file, args.circuit, &settings);
    (round.said, round.status) = settings.told(terminal);
    let circuits = circuits.map_err(|failure| match failure {
        Failure::Unreadable(why) => unusable(format!("cannot read {name}: {why}")),
        Failure::Fault => unusable(String::new()),
    })?;
    let states = states(&circuits, args.case.as_deref()).map_err(|message| unusable(format!("{name}: {message}")))?;
    if to_stdout && states.len() > 1 && args.format() != DrawFormat::Pdf {
        let why = input::several(circuits.len());
        return Err(unusable(format!("{name}: {why}, or name a file with --output, which gets a number for each")));
    }
    if circuits.iter().any(|analysis| Tally::of(analysis).is_wrong()) {
        round.status = round.status.max(Status::Wrong);
    }
    let several = circuits.len() > 1;
    let mut drawings = Vec::new();
    for (analysis, state) in states {
        round.said.push_str(&reports(analysis, terminal, false));
        match drawing(args, analysis, state.unwrap_or(StateId::DRAWN)) {
            Ok((text, title)) => {
                let number = circuits.iter().position(|own| std::ptr::eq(own, analysis)).unwrap_or(0) + 1;
                drawings.push((number, text, title));
            }
            Err((status, why)) => {
                let line = if several { format!(", line {}", input::first_line(analysis)) } else { String::new() };
                round.status = round.status.max(status);
                round.said.push_str(&complaint(terminal, &format!("{name}{line}: {why}")));
            }
        }
    }
    let broken = |error: ohmline_print::PrintError| unusable(format!("{name}: {error}"));
    if args.format() == DrawFormat::Pdf && !drawings.is_empty() {
        let pages: Vec<&str> = drawings.iter().map(|(_, text, _)| text.as_str()).collect();
        let title = if pages.len() == 1 { &drawings[0].2 } else { &name };
        let bytes = ohmline_print::pdf_pages(&pages, title).map_err(broken)?;
        return put(args.output.as_deref().filter(|_| !to_stdout), bytes, round).map_err(unusable);
    }
    for (number, text, _) in drawings {
        let bytes = if args.format() == DrawFormat::Svg {
            text.into_bytes()
        } else {
            ohmline_print::png(&text, SCALE).map_err(broken)?
        };
        let output = args.output.as_deref().filter(|_| !to_stdout);
        let own = output.map(|output| if several { numbered(output, number) } else { output.to_owned() });
        put(own.as_deref(), bytes, round).map_err(unusable)?;
    }
    Ok(())
}

/// `pier.svg` of the second circuit is `pier-2.svg`.
fn numbered(output: &Path, number: usize) -> PathBuf {
    let stem = output.file_stem().unwrap_or_default().to_string_lossy();
    let name = match output.extension() {
        Some(ending) => format!("{stem}-{number}.{}", ending.to_string_lossy()),
        None => format!("{stem}-{number}"),
    };
    output.with_file_name(name)
}

/// Writes a drawing to a file, or to standard output.
fn put(output: Option<&Path>, bytes: Vec<u8>, round: &mut Round) -> Result<(), String> {
    match output {
        Some(output) => {
            std::fs::write(output, bytes).map_err(|error| format!("cannot write {}: {error}", output.display()))
        }
        None => {
            round.out = bytes;
            Ok(())
        }
    }
}

/// The drawing of a circuit, and its title.
fn drawing(args: &DrawArgs, analysis: &Analysis, state: StateId) -> Result<(String, String), (Status, String)> {
    let show = match args.show {
        ShowArg::Names => Show::Names,
        ShowArg::Values => Show::Values,
        ShowArg::Solved => Show::Solved,
    };
    let picture = picture(analysis, &SketchOptions { show, style: Numbers::Digits(args.digits), state });
    let count = picture.parts.len();
    if count == 0 {
        return Err((Status::Wrong, "there is nothing to draw, since no element is placed in a path".to_owned()));
    }
    if count > LARGEST {
        return Err((
            Status::Unusable,
            format!("a drawing of {count} elements could not be read; {LARGEST} are the most that are drawn"),
        ));
    }
    let layout = Layout::new(&picture, &Options::default());
    let style = Style {
        standard: match args.symbols {
            SymbolsArg::Iec => Standard::Iec,
            SymbolsArg::Ieee => Standard::Ieee,
        },
        theme: match (args.theme, args.format()) {
            (Some(ThemeArg::Dark), _) => Theme::Dark,
            (Some(ThemeArg::Light), _) => Theme::Light,
            (Some(ThemeArg::Auto) | None, DrawFormat::Svg) => Theme::Auto,
            // Paper is light.
            (Some(ThemeArg::Auto) | None, _) => Theme::Light,
        },
        manner: if args.neutral { Manner::Neutral } else { Manner::Full },
        ..Style::default()
    };
    Ok((svg(&picture, &layout, &style), picture.title.clone()))
}
