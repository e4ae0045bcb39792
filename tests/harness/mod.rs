//! Runs the built `ohmline` command as a user would, and reads what it prints.

#![allow(dead_code, reason = "each test program uses a part of this")]

use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

use serde_json::Value;

/// The folder of the project.
pub fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).ancestors().nth(2).expect("the crate lies two folders below the root").into()
}

/// Runs `ohmline` with these arguments, this text on its standard input, at the root of the project.
pub fn ohmline(args: &[&str], input: &str) -> Output {
    let mut child = Command::new(env!("CARGO_BIN_EXE_ohmline"))
        .args(args)
        .current_dir(root())
        .env("NO_COLOR", "1")
        .env_remove("COLUMNS")
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("cargo has built the command before this test");
    let mut stdin = child.stdin.take().expect("standard input is piped");
    let text = input.to_owned();
    let writer = std::thread::spawn(move || {
        // A command that reads no input closes the pipe early.
        let _ = stdin.write_all(text.as_bytes());
    });
    let output = child.wait_with_output().expect("the command was started");
    writer.join().expect("the writer does not panic");
    output
}

/// What `ohmline solve - --format json` says about a text.
pub struct Solved {
    /// The text.
    pub text: String,
    /// The object it printed.
    pub json: Value,
}

impl Solved {
    /// Solves a text.
    pub fn new(text: &str) -> Self {
        let output = ohmline(&["solve", "-", "--format", "json"], text);
        let code = output.status.code();
        assert!(
            matches!(code, Some(0 | 1)),
            "exit status {code:?} for\n{text}\n{}",
            String::from_utf8_lossy(&output.stderr)
        );
        let json = serde_json::from_slice(&output.stdout).unwrap_or_else(|error| {
            panic!("no JSON ({error}) for\n{text}\n{}", String::from_utf8_lossy(&output.stdout))
        });
        Self { text: text.to_owned(), json }
    }

    /// The answers as drawn (`None`) or of a case.
    pub fn case(&self, name: Option<&str>) -> &Value {
        let cases = self.json["cases"].as_array();
        let found = cases.into_iter().flatten().find(|case| case["name"].as_str() == name);
        found.unwrap_or_else(|| self.fail(&format!("there is no case {name:?}")))
    }

    /// A number of an element: `current`, `voltage`, `power`, `emf`, `charge`, `energy`, ...
    pub fn element(&self, name: &str, key: &str) -> f64 {
        self.element_in(None, name, key)
    }

    /// A number of an element in a case.
    pub fn element_in(&self, case: Option<&str>, name: &str, key: &str) -> f64 {
        let value = &self.case(case)["elements"][name][key];
        value.as_f64().unwrap_or_else(|| self.fail(&format!("{key} of {name} in {case:?} is {value}")))
    }

    /// The same number as an exact fraction, where the answer has one.
    pub fn element_exact(&self, name: &str, key: &str) -> Option<&str> {
        self.case(None)["elements"][name]["exact"][key].as_str()
    }

    /// The answer to a `find`, as written.
    pub fn find(&self, quantity: &str) -> f64 {
        self.find_in(quantity, None)
    }

    /// The answer to a `find` that ends in `in "case"`.
    pub fn find_in(&self, quantity: &str, case: Option<&str>) -> f64 {
        let value = &self.answer(quantity, case)["value"];
        value.as_f64().unwrap_or_else(|| self.fail(&format!("{quantity} in {case:?} is {value}")))
    }

    /// The exact answer to a `find`, where there is one.
    pub fn find_exact(&self, quantity: &str) -> Option<&str> {
        self.answer(quantity, None)["exact"].as_str()
    }

    fn answer(&self, quantity: &str, case: Option<&str>) -> &Value {
        let finds = self.json["finds"].as_array();
        let found = finds
            .into_iter()
            .flatten()
            .find(|find| find["quantity"].as_str() == Some(quantity) && find["case"].as_str() == case);
        found.unwrap_or_else(|| self.fail(&format!("no answer to `{quantity}` in {case:?}")))
    }

    /// The messages of this severity.
    pub fn messages(&self, severity: &str) -> Vec<String> {
        let all = self.json["diagnostics"].as_array();
        all.into_iter()
            .flatten()
            .filter(|found| found["severity"] == severity)
            .map(|found| format!("line {}: {}: {}", found["start"]["line"], found["rule"], found["message"]))
            .collect()
    }

    fn fail(&self, what: &str) -> ! {
        panic!(
            "{what}\n{}\nerrors: {:#?}\nundetermined: {}",
            self.text,
            self.messages("error"),
            self.json["undetermined"]
        )
    }
}

/// Whether two numbers agree to within this part of the larger, or (near zero) of `scale`.
pub fn close(a: f64, b: f64, relative: f64, scale: f64) -> bool {
    (a - b).abs() <= relative * a.abs().max(b.abs()).max(scale)
}

/// Every file of the samples folder that is meant to be right, by name.
pub fn samples() -> Vec<PathBuf> {
    let mut files: Vec<PathBuf> = std::fs::read_dir(root().join("samples"))
        .expect("the samples folder is part of the project")
        .filter_map(|entry| entry.ok().map(|entry| entry.path()))
        .filter(|path| path.extension().is_some_and(|ending| ending == "ohmline"))
        .collect();
    files.sort();
    files
}

/// A small generator of the project's own (xorshift64*, S. Vigna, "An experimental exploration of Marsaglia's xorshift
/// generators, scrambled", 2016), so that a seed means the same circuit for ever.
pub struct Random(u64);

impl Random {
    /// Starts from a seed.
    pub fn new(seed: u64) -> Self {
        Self(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1)
    }

    /// The next 64 bits.
    pub fn bits(&mut self) -> u64 {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        self.0.wrapping_mul(0x2545_F491_4F6C_DD1D)
    }

    /// A number from 0 up to but not including `limit`.
    pub fn below(&mut self, limit: usize) -> usize {
        (self.bits() >> 33) as usize % limit.max(1)
    }

    /// One of these.
    pub fn pick<'a, T>(&mut self, of: &'a [T]) -> &'a T {
        &of[self.below(of.len())]
    }
}

/// The files of a folder, for what circuits include.
struct Folder;

impl ohmline_circuit::FileSystem for Folder {
    fn read(&self, path: &Path) -> Result<std::sync::Arc<str>, String> {
        std::fs::read_to_string(path).map(Into::into).map_err(|error| error.to_string())
    }

    fn exists(&self, path: &Path) -> bool {
        path.exists()
    }
}

/// Draws a circuit in every state, with everything that can be written beside it; checks from the geometry that nothing overlaps and
/// that the touching ends are the circuit. Returns the crossings of each drawing.
pub fn drawn(name: &str, path: Option<&Path>, text: &str) -> Vec<usize> {
    use ohmline_draw::{Layout, Options, measure};
    use ohmline_sketch::{Show, SketchOptions, picture};

    let tree = std::sync::Arc::new(ohmline_syntax::parse(text));
    let analysis = ohmline_analysis::analyze(
        ohmline_analysis::load(name, path, tree, &Folder),
        &ohmline_analysis::Settings::default(),
    );
    let placed = analysis.circuit.declared_ids().filter(|id| analysis.circuit.element(*id).is_placed()).count();
    let mut crossings = Vec::new();
    for state in analysis.circuit.state_ids() {
        for show in [Show::Names, Show::Values, Show::Solved] {
            let picture = picture(&analysis, &SketchOptions { show, state, ..SketchOptions::default() });
            let layout = Layout::new(&picture, &Options::default());
            let measures = measure(&picture, &layout);
            assert!(measures.overlaps.is_empty(), "{name}, {state:?}, {show:?}: {:?}", measures.overlaps);
            assert!(measures.faithful, "{name}, {state:?}, {show:?}: other connections than the circuit's");
            assert_eq!(picture.parts.len(), placed, "{name}: every element once");
            crossings.push(measures.crossings);
        }
    }
    crossings
}
