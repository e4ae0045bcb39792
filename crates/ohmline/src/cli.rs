//! The command line, and its help.

use std::path::PathBuf;

use clap::{Args, Parser, Subcommand, ValueEnum};

/// Electric circuits as plain text: what is wrong with them, and every current and voltage in them.
#[derive(Parser, Debug)]
#[command(
    name = "ohmline",
    version,
    arg_required_else_help = true,
    subcommand_required = true,
    after_help = "\
Exit status: 0 fine; 1 the circuit has errors or a claim fails; 2 the call or a file is unusable.
Color is used on a terminal only, and never when NO_COLOR is set.

  ohmline check pier.ohmline            what is wrong, and how to mend it
  ohmline solve pier.ohmline            every current, voltage and power
  ohmline solve --help                  more about one command"
)]
pub struct Cli {
    /// What to do.
    #[command(subcommand)]
    pub command: Command,
}

/// The commands.
#[derive(Subcommand, Debug)]
pub enum Command {
    /// Report what is wrong in circuits, with the place, the reason and a way to mend it
    #[command(after_help = "\
Reports go to standard output, each with the lines it speaks of, followed by one line that counts them. \
Hints (such as two elements that stand in line without being in series) are counted; --hints prints them. \
JSON always holds everything, hints too.

Examples:
  ohmline check harbor/*.ohmline        several files; the worst of them decides the exit status
  ohmline check harbor                  every circuit in a folder and the folders in it
  ohmline check notes.md                the circuits in a Markdown document: its fenced blocks marked ohmline
  ohmline check --explain pier.ohmline  what proves each finding: the loop or the cut, step by step
  ohmline check --watch pier.ohmline    again at every change of the file or of what it includes
  cat pier.ohmline | ohmline check -    standard input
  ohmline check --format json pier.ohmline")]
    Check(CheckArgs),
    /// Solve a circuit: a table of every element, and the answer to everything it asks
    #[command(after_help = "\
The page shows what `find` asks for, then every element with its value, current, voltage and power, claims, \
all cases side by side, and who is in series and in parallel with whom. A current counts positive in the direction \
of the path (from + to -), for batteries and sources out of +; their power counts as delivered, that of all others \
as taken up. What has no single value is shown as undetermined, with the reason.

Errors and warnings about the circuit go to standard error; whatever can be solved is solved nevertheless.

Examples:
  ohmline solve pier.ohmline
  ohmline solve pier.ohmline --case night        the state that `case \"night\": ...` describes
  ohmline solve pier.ohmline --fractions         exact: 3/10 A instead of 300 mA
  ohmline solve pier.ohmline --format json       every number unrounded, in SI base units
  ohmline solve notes.md                         every circuit in a Markdown document, one page each")]
    Solve(SolveArgs),
    /// Work a circuit out step by step, as it is done on the board
    #[command(after_help = "\
Every step names its rule and the reason why it applies, puts the numbers in, and gives the result: what is in series or in \
parallel is replaced, deepest group first; the loop that is left is solved; the way back leads to every element; and the sums are \
checked. A circuit that does not reduce says why, and goes on with a star, or with junction or loop equations.

Examples:
  ohmline solution pier.ohmline
  ohmline solution pier.ohmline --case night
  ohmline solution pier.ohmline --method nodes         junction equations, even where it reduces
  ohmline solution pier.ohmline --format html > pier.html
  ohmline solution notes.md --circuit 2                the second circuit of a Markdown document")]
    Solution(SolutionArgs),
    /// Draw a circuit as a schematic
    #[command(after_help = "\
The source stands at the left, plus up; current runs from left to right along the top; branches side by side stand in the order of \
the text. Every drawing carries a description in words for readers who cannot see it. Lines differ in shape, never only in color.

Examples:
  ohmline draw pier.ohmline > pier.svg
  ohmline draw pier.ohmline --output pier.pdf
  ohmline draw pier.ohmline --show solved --case night
  ohmline draw pier.ohmline --show names --neutral      for a test: the words give nothing away
  ohmline draw notes.md --output notes.svg              every circuit of a Markdown document: notes-1.svg, notes-2.svg, ...")]
    Draw(DrawArgs),
    /// Apply the fixes of findings
    #[command(after_help = "\
Safe fixes are those that keep every answer, or write what was clearly meant. They are applied until none is left; whatever would make \
a new error is not taken. A file is replaced at once or not at all.

Examples:
  ohmline fix pier.ohmline
  ohmline fix --diff pier.ohmline         changes nothing; shows what would change
  ohmline fix --all pier.ohmline          takes the likeliest of those that ask, too
  ohmline fix notes.md                    the circuits in a Markdown document; nothing else of it changes")]
    Fix(FixArgs),
    /// Say which settings are in force, and where each comes from
    #[command(after_help = "\
Settings stand in the nearest `ohmline.toml` upward from a circuit. What the call says counts before the file; what nobody says is as \
usual. `ohmline check ohmline.toml` says what is wrong in a file of settings; every other command says so too, on standard error.

Examples:
  ohmline settings                       in this folder
  ohmline settings harbor/pier.ohmline   for this file
  ohmline settings --list                every setting, and what is usual
  ohmline settings --format json pier.ohmline")]
    Settings(InForceArgs),
    /// Say what a rule finds, why it matters, and what to do about it
    #[command(after_help = "\
Examples:
  ohmline explain                      all rules, by what they are about
  ohmline explain split-series
  ohmline explain --show pages --format markdown > rules.md      everything about all of them")]
    Explain(ExplainArgs),
    /// Write circuits in one spelling, with their declarations aligned
    #[command(after_help = "\
Comments, groups of lines and the direction of every path stay; what cannot be read is left as it is. A file is replaced at once or \
not at all. With `-`, standard input is formatted to standard output.

Exit status: 0 all is formatted; 1 with --check, something is not; 2 a file cannot be read or written.

Examples:
  ohmline format pier.ohmline
  ohmline format --check harbor/*.ohmline      changes nothing; says what would change
  ohmline format notes.md                      the circuits in a Markdown document; nothing else of it changes
  cat pier.ohmline | ohmline format -")]
    Format(FormatArgs),
    /// Show a circuit in a browser, following its file as it changes
    #[command(after_help = "\
The page shows the drawing with every current and voltage, what was found, and the worked solution, step by step (arrow keys). It is \
served to this machine only, at the address that is printed, until Ctrl+C. `ohmline solution --format html` writes the same page as \
a file.

Examples:
  ohmline preview pier.ohmline
  ohmline preview pier.ohmline --case night --port 4100")]
    Preview(PreviewArgs),
    /// Serve an editor on standard input and output (Language Server Protocol)
    #[command(after_help = "\
Editors start this by themselves; see the project's page about editors. It ends when the editor does.")]
    Serve(ServeArgs),
}

/// Settings of a call, above those of a file.
#[derive(Args, Clone, Debug, Default)]
pub struct SettingsArgs {
    /// Take the settings of this file, in place of the nearest `ohmline.toml`
    #[arg(long, value_name = "FILE", conflicts_with = "no_settings")]
    pub settings: Option<PathBuf>,
    /// Take the usual settings; look for no `ohmline.toml`
    #[arg(long)]
    pub no_settings: bool,
    /// Whom findings speak to
    #[arg(long, value_enum)]
    pub voice: Option<VoiceArg>,
    /// Levels for a class, by what it has not met yet; can be repeated
    #[arg(long, value_name = "NAME")]
    pub profile: Vec<String>,
}

/// Whom findings speak to.
#[derive(ValueEnum, Clone, Copy, PartialEq, Eq, Debug)]
pub enum VoiceArg {
    /// What is wrong, why, and how to mend it
    Author,
    /// A question that leads to the mistake
    Learner,
}

/// `ohmline settings`
#[derive(Args, Clone, Debug)]
pub struct InForceArgs {
    /// A circuit or a folder; without one, the current folder
    #[arg(value_name = "FILE")]
    pub file: Option<PathBuf>,
    /// List every setting, with what it takes and what is usual
    #[arg(long, conflicts_with = "file")]
    pub list: bool,
    /// How to write it
    #[arg(long, value_enum, default_value_t)]
    pub format: InForceFormat,
    #[command(flatten)]
    #[allow(missing_docs, reason = "a comment here would become the help of the command")]
    pub above: SettingsArgs,
}

/// How settings are written.
#[derive(ValueEnum, Clone, Copy, PartialEq, Eq, Debug, Default)]
pub enum InForceFormat {
    /// For reading here
    #[default]
    Text,
    /// For pages; with --list
    Markdown,
    /// For programs
    Json,
}

/// `ohmline fix`
#[derive(Args, Clone, Debug)]
pub struct FixArgs {
    /// Files to mend
    #[arg(required = true, value_name = "FILE")]
    pub files: Vec<PathBuf>,
    /// Take the likeliest fix of every error and warning, also where it has to be decided
    #[arg(long)]
    pub all: bool,
    /// Change nothing; say what would be mended
    #[arg(long)]
    pub dry_run: bool,
    /// Change nothing; show the lines that would change
    #[arg(long)]
    pub diff: bool,
    #[command(flatten)]
    #[allow(missing_docs, reason = "a comment here would become the help of the command")]
    pub above: SettingsArgs,
}

/// How much `ohmline explain` says of all rules.
#[derive(ValueEnum, Clone, Copy, PartialEq, Eq, Debug, Default)]
pub enum ExplainShow {
    /// Each group with the names in it
    Groups,
    /// Each rule in one line
    #[default]
    Lines,
    /// Each rule with everything that is known about it
    Pages,
}

/// How rules are explained.
#[derive(ValueEnum, Clone, Copy, PartialEq, Eq, Debug, Default)]
pub enum ExplainFormat {
    /// For reading here
    #[default]
    Text,
    /// For pages and notes
    Markdown,
}

/// `ohmline explain`
#[derive(Args, Clone, Debug)]
pub struct ExplainArgs {
    /// Names of rules, as findings show them; without any, all are listed
    #[arg(value_name = "RULE")]
    pub rules: Vec<String>,
    /// How much to say of all rules
    #[arg(long, value_enum, default_value_t, conflicts_with = "rules")]
    pub show: ExplainShow,
    /// How to write it
    #[arg(long, value_enum, default_value_t)]
    pub format: ExplainFormat,
}

/// `ohmline format`
#[derive(Args, Clone, Debug)]
pub struct FormatArgs {
    /// Files to format; `-` is standard input, written to standard output
    #[arg(required = true, value_name = "FILE")]
    pub files: Vec<PathBuf>,
    /// Change nothing; show what would change
    #[arg(long)]
    pub check: bool,
}

/// `ohmline preview`
#[derive(Args, Clone, Debug)]
pub struct PreviewArgs {
    /// The file
    #[arg(value_name = "FILE")]
    pub file: PathBuf,
    /// Begin with this case, in place of the circuit as drawn
    #[arg(long, value_name = "NAME")]
    pub case: Option<String>,
    /// Only this circuit of a Markdown document, from 1
    #[arg(long, value_name = "N")]
    pub circuit: Option<usize>,
    /// The port of 127.0.0.1 to serve on; without it, any free one
    #[arg(long, value_name = "N", default_value_t = 0, hide_default_value = true)]
    pub port: u16,
    /// Significant digits of numbers
    #[arg(long, value_name = "N", default_value_t = 3, value_parser = clap::value_parser!(u32).range(1..=15))]
    pub digits: u32,
    #[command(flatten)]
    #[allow(missing_docs, reason = "a comment here would become the help of the command")]
    pub above: SettingsArgs,
}

/// `ohmline serve`
#[derive(Args, Clone, Debug)]
pub struct ServeArgs {
    /// Talk on standard input and output; it is the only way there is, so this changes nothing
    #[arg(long)]
    pub stdio: bool,
}

/// How results are written.
#[derive(ValueEnum, Clone, Copy, PartialEq, Eq, Debug, Default)]
pub enum Format {
    /// For people
    #[default]
    Text,
    /// For programs
    Json,
}

/// How findings are written.
#[derive(ValueEnum, Clone, Copy, PartialEq, Eq, Debug, Default)]
pub enum CheckFormat {
    /// For people: each finding with the lines it speaks of
    #[default]
    Text,
    /// One line a finding
    Line,
    /// For programs
    Json,
    /// SARIF 2.1.0 (OASIS)
    Sarif,
    /// Notes that code hosts show beside a change
    Annotations,
    /// JUnit XML, as test results
    Junit,
}

/// `ohmline check`
#[derive(Args, Clone, Debug)]
pub struct CheckArgs {
    /// Files to look at, or folders with files in them; `-` is standard input
    #[arg(required = true, value_name = "FILE")]
    pub files: Vec<PathBuf>,
    /// How to write the result
    #[arg(long, value_enum, default_value_t)]
    pub format: CheckFormat,
    /// End with status 1 for these too: `warnings`, `infos`, a rule, a group of rules; can be repeated
    #[arg(long, value_name = "WHAT", value_parser = crate::settings::deny)]
    pub deny: Vec<ohmline_settings::Deny>,
    /// Leave out what this file lists as known from before
    #[arg(long, value_name = "FILE")]
    pub baseline: Option<PathBuf>,
    /// Write what is found now into this file, as known; what it holds of other files that are still there stays
    #[arg(long, value_name = "FILE", conflicts_with = "watch")]
    pub write_baseline: Option<PathBuf>,
    /// Print hints too, not only their number
    #[arg(long)]
    pub hints: bool,
    /// Prove each finding about the circuit's shape after its report: the loop, the cut or the points, step by step
    #[arg(long)]
    pub explain: bool,
    /// Check again whenever a file, or something it includes, changes
    #[arg(long)]
    pub watch: bool,
    #[command(flatten)]
    #[allow(missing_docs, reason = "a comment here would become the help of the command")]
    pub above: SettingsArgs,
}

/// `ohmline solve`
#[derive(Args, Clone, Debug)]
pub struct SolveArgs {
    /// The file; `-` is standard input
    #[arg(value_name = "FILE")]
    pub file: PathBuf,
    /// Only this case, in place of the circuit as drawn
    #[arg(long, value_name = "NAME")]
    pub case: Option<String>,
    /// Only this circuit of a Markdown document, from 1
    #[arg(long, value_name = "N")]
    pub circuit: Option<usize>,
    /// Significant digits of numbers
    #[arg(long, value_name = "N", default_value_t = 3, value_parser = clap::value_parser!(u32).range(1..=15))]
    pub digits: u32,
    /// Exact fractions in base units where the solution is exact
    #[arg(long, conflicts_with = "digits")]
    pub fractions: bool,
    /// How to write the result
    #[arg(long, value_enum, default_value_t)]
    pub format: Format,
    /// Print infos and hints about the circuit too
    #[arg(long)]
    pub hints: bool,
    /// Solve again whenever the file, or something it includes, changes
    #[arg(long)]
    pub watch: bool,
    #[command(flatten)]
    #[allow(missing_docs, reason = "a comment here would become the help of the command")]
    pub above: SettingsArgs,
}

/// Forms of a worked solution.
#[derive(ValueEnum, Clone, Copy, PartialEq, Eq, Debug, Default)]
pub enum SolutionFormat {
    /// For reading here
    #[default]
    Text,
    /// For pages and notes
    Markdown,
    /// One file for a browser or a printer
    Html,
    /// Sheets of A4
    Pdf,
    /// For programs
    Json,
}

/// Ways to solve by hand.
#[derive(ValueEnum, Clone, Copy, PartialEq, Eq, Debug, Default)]
pub enum MethodArg {
    /// What a teacher would choose
    #[default]
    Auto,
    /// Series and parallel
    Reduction,
    /// Junction equations
    Nodes,
    /// Loop equations
    Loops,
    /// One source at a time
    Superposition,
    /// A triangle replaced by a star
    StarDelta,
}

/// `ohmline solution`
#[derive(Args, Clone, Debug)]
pub struct SolutionArgs {
    /// The file; `-` is standard input
    #[arg(value_name = "FILE")]
    pub file: PathBuf,
    /// This case, in place of the circuit as drawn
    #[arg(long, value_name = "NAME")]
    pub case: Option<String>,
    /// Only this circuit of a Markdown document, from 1
    #[arg(long, value_name = "N")]
    pub circuit: Option<usize>,
    /// Significant digits of numbers
    #[arg(long, value_name = "N", default_value_t = 3, value_parser = clap::value_parser!(u32).range(1..=15))]
    pub digits: u32,
    /// Exact fractions in base units
    #[arg(long, conflicts_with = "digits")]
    pub fractions: bool,
    /// How to solve
    #[arg(long, value_enum, default_value_t)]
    pub method: MethodArg,
    /// How to write the result
    #[arg(long, value_enum, default_value_t)]
    pub format: SolutionFormat,
    #[command(flatten)]
    #[allow(missing_docs, reason = "a comment here would become the help of the command")]
    pub above: SettingsArgs,
}

/// Forms of a drawing.
#[derive(ValueEnum, Clone, Copy, PartialEq, Eq, Debug, Default)]
pub enum DrawFormat {
    /// Scalable, for pages and for restyling
    #[default]
    Svg,
    /// Pixels
    Png,
    /// For paper
    Pdf,
}

/// Standards of graphical symbols.
#[derive(ValueEnum, Clone, Copy, PartialEq, Eq, Debug, Default)]
pub enum SymbolsArg {
    /// IEC 60617
    #[default]
    Iec,
    /// IEEE 315
    Ieee,
}

/// What is written beside symbols.
#[derive(ValueEnum, Clone, Copy, PartialEq, Eq, Debug, Default)]
pub enum ShowArg {
    /// Names
    Names,
    /// Names and values
    #[default]
    Values,
    /// Names, values, currents with arrows, voltages, potentials of named junctions
    Solved,
}

/// Light or dark.
#[derive(ValueEnum, Clone, Copy, PartialEq, Eq, Debug)]
pub enum ThemeArg {
    /// As the reader prefers
    Auto,
    /// Dark lines on white
    Light,
    /// Light lines on a dark ground
    Dark,
}

/// `ohmline draw`
#[derive(Args, Clone, Debug)]
pub struct DrawArgs {
    /// The file; `-` is standard input
    #[arg(value_name = "FILE")]
    pub file: PathBuf,
    /// How to write the drawing; without it, as the ending of the file to write says, or as SVG
    #[arg(long, value_enum)]
    pub format: Option<DrawFormat>,
    /// Which symbols to draw
    #[arg(long, value_enum, default_value_t)]
    pub symbols: SymbolsArg,
    /// What to write beside them
    #[arg(long, value_enum, default_value_t)]
    pub show: ShowArg,
    /// This case, in place of the circuit as drawn
    #[arg(long, value_name = "NAME")]
    pub case: Option<String>,
    /// Only this circuit of a Markdown document, from 1
    #[arg(long, value_name = "N")]
    pub circuit: Option<usize>,
    /// Significant digits of solved numbers
    #[arg(long, value_name = "N", default_value_t = 3, value_parser = clap::value_parser!(u32).range(1..=15))]
    pub digits: u32,
    /// Colors; SVG follows the reader, PNG and PDF are light unless told otherwise
    #[arg(long, value_enum)]
    pub theme: Option<ThemeArg>,
    /// Describe it in words that do not give away what is in series or in parallel
    #[arg(long)]
    pub neutral: bool,
    /// Write to this file; without it, or with `-`, to standard output
    #[arg(long, short, value_name = "FILE")]
    pub output: Option<PathBuf>,
    #[command(flatten)]
    #[allow(missing_docs, reason = "a comment here would become the help of the command")]
    pub above: SettingsArgs,
}

impl DrawArgs {
    /// How to write the drawing.
    pub fn format(&self) -> DrawFormat {
        let ending = || DrawFormat::from_str(self.output.as_ref()?.extension()?.to_str()?, true).ok();
        self.format.or_else(ending).unwrap_or_default()
    }
}
