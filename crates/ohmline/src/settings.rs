//! The settings of a call: the file that counts for each circuit, with what the call says above it.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use ohmline_analysis::load::normalize;
use ohmline_analysis::{Analysis, Settings};
use ohmline_lint::Voice;
use ohmline_settings::{Deny, FILE, File, InForce, Layer, Origin, Stated, candidates, in_force};
use ohmline_syntax::Span;

use crate::Status;
use crate::cli::{SettingsArgs, VoiceArg};
use crate::input;
use crate::solve::reports;
use crate::terminal::Terminal;
use crate::watch::complaint;

/// Where the call stands among the layers: above the file.
const CALL: usize = 1;

/// What holds for a circuit.
pub struct Chosen {
    /// For the analysis.
    pub settings: Settings,
    /// All of it, with where it came from.
    pub force: InForce,
    /// The file that counts, if there is one.
    pub file: Option<Arc<File>>,
}

/// Where files of settings are looked for.
enum Look {
    /// Upward from each circuit.
    Upward,
    /// In this file alone, for all.
    At(Arc<File>),
    /// Nowhere.
    Nowhere,
}

/// Chooses the settings of each file of a call. Each file of settings is read once.
pub struct Chooser {
    call: Layer,
    look: Look,
    /// What is wrong with the call itself.
    trouble: Option<String>,
    known: Mutex<Known>,
}

#[derive(Default)]
struct Known {
    /// What counts in each folder that was asked about.
    folders: BTreeMap<PathBuf, Arc<Chosen>>,
    /// The files that were read.
    files: BTreeMap<PathBuf, Arc<File>>,
    /// Every path where a file was, or could be.
    asked: BTreeSet<PathBuf>,
    /// Files of which the problems have been handed out.
    told: BTreeSet<PathBuf>,
}

pub use ohmline_settings::is_settings;

/// The word of `--deny`.
pub fn deny(word: &str) -> Result<Deny, String> {
    Deny::of_word(word).ok_or_else(|| {
        let near = ohmline_syntax::words::nearest(word, Deny::words());
        let near = near.map(|near| format!("did you mean `{near}`? ")).unwrap_or_default();
        format!("{near}It is `warnings`, `infos`, a rule or a group of rules; `ohmline explain` lists them")
    })
}

impl Chooser {
    /// For these arguments; `deny` as they give it, where they do.
    pub fn new(args: &SettingsArgs, deny: &[Deny]) -> Self {
        let at = Span::new(0, 0);
        let said = |name: &String| Stated { at, what: name.clone() };
        let voice = args.voice.map(|voice| match voice {
            VoiceArg::Author => Voice::Author,
            VoiceArg::Learner => Voice::Learner,
        });
        let call = Layer {
            voice: voice.map(|what| Stated { at, what }),
            profiles: (!args.profile.is_empty()).then(|| args.profile.iter().map(said).collect()),
            deny: deny.iter().map(|what| Stated { at, what: *what }).collect(),
            ..Layer::default()
        };
        let mut known = Known::default();
        let mut trouble = None;
        let look = match &args.settings {
            _ if args.no_settings => Look::Nowhere,
            None => Look::Upward,
            Some(named) => {
                let path = std::path::absolute(named).unwrap_or_else(|_| named.clone());
                known.asked.insert(path.clone());
                match read(&path, &input::name(named)) {
                    Ok(file) => {
                        let file = Arc::new(file);
                        known.files.insert(path, file.clone());
                        Look::At(file)
                    }
                    Err(why) => {
                        trouble = Some(format!("cannot read {}: {why}", input::name(named)));
                        Look::Nowhere
                    }
                }
            }
        };
        Self { call, look, trouble, known: Mutex::new(known) }
    }

    fn known(&self) -> MutexGuard<'_, Known> {
        self.known.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// What holds for a file of the call; for standard input, what holds in the current folder.
    pub fn of(&self, file: &Path) -> Arc<Chosen> {
        let here = || std::env::current_dir().unwrap_or_default();
        if input::is_stdin(file) {
            return self.within(&here());
        }
        // `..` leads out of a folder, so what stands in that folder does not count.
        let path = normalize(&std::path::absolute(file).unwrap_or_else(|_| file.to_path_buf()));
        self.within(path.parent().unwrap_or(&here()))
    }

    /// What holds in a folder.
    pub fn within(&self, folder: &Path) -> Arc<Chosen> {
        let mut known = self.known();
        if let Some(chosen) = known.folders.get(folder) {
            return chosen.clone();
        }
        let file = match &self.look {
            Look::Nowhere => None,
            Look::At(file) => Some(file.clone()),
            Look::Upward => known.nearest(folder),
        };
        let nothing = Layer::default();
        let force = in_force(&[file.as_ref().map_or(&nothing, |file| &file.layer), &self.call]);
        let settings = Settings { findings: force.findings.clone(), ..Settings::default() };
        let chosen = Arc::new(Chosen { settings, force, file });
        known.folders.insert(folder.to_path_buf(), chosen.clone());
        chosen
    }

    /// What is wrong with the settings of a file of the call, unless that was handed out before: an analysis without a circuit.
    pub fn problems(&self, file: &Path) -> Option<Analysis> {
        // A file of settings that is checked itself says so itself.
        if is_settings(file) {
            return None;
        }
        self.problems_of(self.of(file).file.as_deref()?)
    }

    fn problems_of(&self, file: &File) -> Option<Analysis> {
        let path = file.analysis.sources.files.first()?.path.clone()?;
        let new = !file.analysis.diagnostics.is_empty() && self.known().told.insert(path);
        new.then(|| file.analysis.clone())
    }

    /// What is wrong with the call as far as settings go, in words.
    pub fn trouble(&self) -> Option<String> {
        let missing = |chosen: &Arc<Chosen>| {
            let of_call = chosen.force.missing.iter().filter(|(_, origin)| origin.layer == CALL);
            of_call.map(|(name, _)| name.clone()).collect::<Vec<_>>()
        };
        let missing: Option<String> = self.known().folders.values().flat_map(missing).next();
        let missing = missing.map(|name| {
            let shipped = ohmline_settings::profile::PROFILES.iter().map(|own| own.name);
            let known: Vec<String> = shipped.map(|name| format!("`{name}`")).collect();
            format!("there is no profile `{name}`; there are {}, and those that an {FILE} defines", known.join(", "))
        });
        self.trouble.clone().or(missing)
    }

    /// Everything that is wrong with the settings of a call, for standard error, and what that makes of its status.
    pub fn told(&self, terminal: Terminal) -> (String, Status) {
        let (mut said, mut status) = (String::new(), Status::Fine);
        let files: Vec<Arc<File>> = self.known().files.values().cloned().collect();
        for analysis in files.iter().filter_map(|file| self.problems_of(file)) {
            said.push_str(&reports(&analysis, terminal, false));
            if analysis.diagnostics.iter().any(|found| found.severity == ohmline_syntax::Severity::Error) {
                status = Status::Wrong;
            }
        }
        if let Some(trouble) = self.trouble() {
            said.push_str(&complaint(terminal, &trouble));
            status = Status::Unusable;
        }
        (said, status)
    }

    /// Every path where a change would change what holds.
    pub fn read_from(&self) -> Vec<PathBuf> {
        self.known().asked.iter().cloned().collect()
    }
}

impl Known {
    /// The file that counts in a folder.
    fn nearest(&mut self, folder: &Path) -> Option<Arc<File>> {
        for path in candidates(folder) {
            self.asked.insert(path.clone());
            if let Some(file) = self.files.get(&path) {
                return Some(file.clone());
            }
            if path.exists() {
                let name = shown(&path);
                let file = read(&path, &name).unwrap_or_else(|why| File::unreadable(&name, Some(&path), &why));
                let file = Arc::new(file);
                self.files.insert(path, file.clone());
                return Some(file);
            }
        }
        None
    }
}

/// Reads a file of settings.
pub fn read(path: &Path, name: &str) -> Result<File, String> {
    let text = ohmline_files::read(path)?;
    let mut file = File::new(name, Some(path), &text.text);
    let odd = ohmline_files::reports(&file.analysis.sources, |_, _| text.oddity);
    file.analysis.diagnostics.splice(0..0, odd);
    Ok(file)
}

/// What people call a file of settings: as seen from where they stand.
pub fn shown(path: &Path) -> String {
    let here = std::env::current_dir().unwrap_or_default();
    path.strip_prefix(&here).unwrap_or(path).display().to_string()
}

/// Where something came from: the line of the file, or the call.
pub fn place(origin: &Origin, file: Option<&File>) -> String {
    let place = match (origin.layer, file) {
        (CALL, _) | (_, None) => "the call".to_owned(),
        (_, Some(file)) => {
            let name = file.analysis.sources.files.first().map_or("", |source| source.name.as_str());
            format!("{name}:{}", file.line(origin.at))
        }
    };
    match &origin.profile {
        Some(profile) => format!("profile {profile}, {place}"),
        None => place,
    }
}
