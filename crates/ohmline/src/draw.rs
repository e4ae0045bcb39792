//! `ohmline draw`

use std::io::IsTerminal;
use std::path::Path;

use ohmline_circuit::StateId;
use ohmline_circuit::quantity::Style as Numbers;
use ohmline_draw::{Layout, Manner, Options, Standard, Style, Theme, svg};
use ohmline_report::Tally;
use ohmline_sketch::{LARGEST, Show, SketchOptions, picture};
use ohmline_syntax::Severity;

use crate::Status;
use crate::cli::{DrawArgs, DrawFormat, ShowArg, SymbolsArg, ThemeArg};
use crate::input::{self, Failure};
use crate::snippet::Snippets;
use crate::solve::find_case;
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
    if to_stdout && args.format != DrawFormat::Svg && std::io::stdout().is_terminal() {
        let form = if args.format == DrawFormat::Png { "PNG" } else { "PDF" };
        return Err(unusable(format!(
            "{form} is not for a terminal; name a file with --output, or redirect the output"
        )));
    }
    let analysis = input::analysis(&args.file).map_err(|failure| match failure {
        Failure::Unreadable(why) => unusable(format!("cannot read {name}: {why}")),
        Failure::Fault => unusable(String::new()),
    })?;
    let state = args.case.as_deref().map(|case| find_case(&analysis, case)).transpose();
    let state = state.map_err(|message| unusable(format!("{name}: {message}")))?.unwrap_or(StateId::DRAWN);
    if Tally::of(&analysis).is_wrong() {
        round.status = Status::Wrong;
    }
    let mut reports = Vec::new();
    let mut snippets = Snippets::new(&analysis.sources, terminal.err);
    for diagnostic in analysis.diagnostics.iter().filter(|found| found.severity <= Severity::Warning) {
        snippets.write(diagnostic, &mut reports);
        reports.push(b'\n');
    }
    round.said.push_str(&String::from_utf8_lossy(&reports));
    let show = match args.show {
        ShowArg::Names => Show::Names,
        ShowArg::Values => Show::Values,
        ShowArg::Solved => Show::Solved,
    };
    let picture = picture(&analysis, &SketchOptions { show, style: Numbers::Digits(args.digits), state });
    let count = picture.parts.len();
    if count == 0 {
        return Err((Status::Wrong, format!("{name}: there is nothing to draw, since no element is placed in a path")));
    }
    if count > LARGEST {
        return Err(unusable(format!(
            "{name}: a drawing of {count} elements could not be read; {LARGEST} are the most that are drawn"
        )));
    }
    let layout = Layout::new(&picture, &Options::default());
    let style = Style {
        standard: match args.symbols {
            SymbolsArg::Iec => Standard::Iec,
            SymbolsArg::Ieee => Standard::Ieee,
        },
        theme: match (args.theme, args.format) {
            (Some(ThemeArg::Dark), _) => Theme::Dark,
            (Some(ThemeArg::Light), _) => Theme::Light,
            (Some(ThemeArg::Auto) | None, DrawFormat::Svg) => Theme::Auto,
            // Paper is light.
            (Some(ThemeArg::Auto) | None, _) => Theme::Light,
        },
        manner: if args.neutral { Manner::Neutral } else { Manner::Full },
        ..Style::default()
    };
    let text = svg(&picture, &layout, &style);
    let printed = match args.format {
        DrawFormat::Svg => Ok(text.into_bytes()),
        DrawFormat::Png => ohmline_print::png(&text, SCALE),
        DrawFormat::Pdf => ohmline_print::pdf(&text, &picture.title),
    };
    let bytes = printed.map_err(|error| unusable(format!("{name}: {error}")))?;
    match args.output.as_deref().filter(|_| !to_stdout) {
        Some(output) => std::fs::write(output, bytes)
            .map_err(|error| unusable(format!("cannot write {}: {error}", output.display())))?,
        None => round.out = bytes,
    }
    Ok(())
}
