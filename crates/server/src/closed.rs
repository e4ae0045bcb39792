//! The circuits of the workspace that nobody has opened: those that include a file speak of its names too.
//!
//! They are looked for in the folders that the editor has open, and in the folder that `ohmline.toml` marks around the file. What is
//! known of each is kept for as long as the file on the disk stays as it was.

use std::collections::{HashMap, HashSet};
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, MutexGuard, OnceLock, PoisonError};
use std::time::SystemTime;

use ohmline_analysis::load::{WORKSPACE_FILE, workspace_root};
use ohmline_analysis::markdown::{Around, Block, blocks, is_markdown};
use ohmline_analysis::{Analysis, FileSystem, Source, Sources, load};
use ohmline_files::{Depth, Listing, real_path};
use ohmline_syntax::tree::StmtKind;
use ohmline_syntax::{FileId, LineIndex, Tree};
use tower_lsp::lsp_types::{SymbolInformation, Url};

use crate::documents::{OpenFiles, Snapshot};
use crate::editor::Editor;
use crate::navigation;
use crate::overlay::{DiskTrees, Overlay};
use crate::settings::files::SettingsFiles;

/// Largest file of the workspace that is looked into without being asked for by name.
const LARGEST: u64 = 16 << 20;
/// Most files that are read whole since they include the one in question.
const MOST_READERS: usize = 1_000;

/// What the editor has open beside documents, and what was found there.
#[derive(Default)]
pub struct Workspace(Mutex<State>);

#[derive(Default)]
struct State {
    folders: Vec<PathBuf>,
    listings: HashMap<(PathBuf, Depth), Arc<Listing>>,
    known: HashMap<PathBuf, Arc<Known>>,
}

/// What is known of a file: when it was written, how long it is, where it really is, and the files that it includes.
struct Known {
    stamp: (SystemTime, u64),
    real: PathBuf,
    includes: Vec<PathBuf>,
    /// What it declares, once somebody has asked.
    declares: OnceLock<Vec<SymbolInformation>>,
}

/// The circuits that include a file and are not open.
#[derive(Default)]
pub struct Readers {
    /// Each with its names, and without answers.
    pub snapshots: Vec<Arc<Snapshot>>,
    /// What could not be looked at, in words.
    pub missed: Vec<String>,
}

impl Workspace {
    fn lock(&self) -> MutexGuard<'_, State> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// The editor opens and closes folders.
    pub fn change_folders(&self, added: impl Iterator<Item = PathBuf>, removed: impl Iterator<Item = PathBuf>) {
        let mut state = self.lock();
        let removed: Vec<_> = removed.collect();
        state.folders.retain(|folder| !removed.contains(folder));
        state.folders.extend(added);
        state.listings.clear();
    }

    /// A file came, changed or went.
    pub fn file_changed(&self, path: &Path) {
        let mut state = self.lock();
        state.listings.clear();
        state.known.remove(path);
    }

    /// The files around one that may include it: an `include` leads to no file outside of the marked folder, or else of the folder, of
    /// the file that it stands in.
    fn around(&self, home: &Path, files: &dyn FileSystem, missed: &mut Vec<String>) -> Vec<PathBuf> {
        let own = workspace_root(home, files);
        let depth = if files.exists(&own.join(WORKSPACE_FILE)) { Depth::Below } else { Depth::Itself };
        let open: Vec<PathBuf> =
            self.lock().folders.iter().filter(|folder| home.starts_with(folder)).cloned().collect();
        let mut roots: Vec<(PathBuf, Depth)> = open.into_iter().map(|folder| (folder, Depth::Below)).collect();
        roots.push((own, depth));
        self.list(&roots, missed)
    }

    /// The files in folders that may hold circuits, each once.
    fn list(&self, roots: &[(PathBuf, Depth)], missed: &mut Vec<String>) -> Vec<PathBuf> {
        let mut found = Vec::new();
        for (number, root) in roots.iter().enumerate() {
            let within = |(other, (folder, depth)): (usize, &(PathBuf, Depth))| {
                *depth == Depth::Below
                    && other != number
                    && root.0.starts_with(folder)
                    && (root.0 != *folder || other < number || root.1 == Depth::Itself)
            };
            if roots.iter().enumerate().any(within) {
                continue;
            }
            let had = self.lock().listings.get(root).cloned().filter(|listing| listing.holds());
            let listing = had.unwrap_or_else(|| {
                let listing = Arc::new(Listing::new(&root.0, root.1));
                self.lock().listings.insert(root.clone(), listing.clone());
                listing
            });
            found.extend(listing.files.iter().cloned());
            missed.extend(listing.missed.iter().cloned());
        }
        found.sort();
        found.dedup();
        found
    }

    /// What the circuits in the folders of the editor declare that are not open.
    pub fn declared(&self, open: &OpenFiles, editor: Editor) -> Vec<SymbolInformation> {
        let roots: Vec<_> = self.lock().folders.iter().map(|folder| (folder.clone(), Depth::Below)).collect();
        let opened: HashSet<PathBuf> = open.keys().map(|path| real_path(path)).collect();
        let mut out = Vec::new();
        for path in self.list(&roots, &mut Vec::new()) {
            let Ok(known) = self.known(&path) else { continue };
            if !opened.contains(&known.real) {
                out.extend_from_slice(known.declares.get_or_init(|| declares(&path, editor)));
            }
        }
        out
    }

    /// What a file on the disk includes.
    fn known(&self, path: &Path) -> Result<Arc<Known>, String> {
        let found = std::fs::metadata(path).map_err(|error| error.to_string())?;
        let stamp = (found.modified().unwrap_or(SystemTime::UNIX_EPOCH), found.len());
        if let Some(known) = self.lock().known.get(path).filter(|known| known.stamp == stamp) {
            return Ok(known.clone());
        }
        if stamp.1 > LARGEST {
            return Err(format!("it is larger than {} MiB", LARGEST >> 20));
        }
        let text = ohmline_files::read(path)?.text;
        let known = Arc::new(Known {
            stamp,
            real: real_path(path),
            includes: includes(path, &text),
            declares: OnceLock::new(),
        });
        self.lock().known.insert(path.to_path_buf(), known.clone());
        Ok(known)
    }

    /// The circuits that include a file, by whatever way, and are not open.
    pub fn readers(&self, home: &Path, open: OpenFiles, disk: &Mutex<DiskTrees>, settings: &SettingsFiles) -> Readers {
        let mut out = Readers::default();
        let addresses: HashMap<_, _> =
            open.iter().map(|(path, (uri, version, _))| (path.clone(), (uri.clone(), *version))).collect();
        let texts = open.into_iter().map(|(path, (.., file))| (path, file)).collect::<HashMap<_, _>>();
        // Who includes whom: the open documents as they are in the editor, all others as they are on the disk.
        let mut includers: HashMap<PathBuf, Vec<usize>> = HashMap::new();
        let mut all: Vec<(PathBuf, Option<PathBuf>)> = Vec::new();
        let mut opened = HashSet::new();
        for (path, file) in &texts {
            let real = real_path(path);
            for target in includes(path, &file.text) {
                includers.entry(target).or_default().push(all.len());
            }
            all.push((real.clone(), None));
            opened.insert(real);
        }
        let overlay = Overlay::new(texts, disk, settings);
        for path in self.around(home, &overlay, &mut out.missed) {
            match self.known(&path) {
                Ok(known) if opened.contains(&known.real) => {}
                Ok(known) => {
                    for target in &known.includes {
                        includers.entry(target.clone()).or_default().push(all.len());
                    }
                    all.push((known.real.clone(), Some(path)));
                }
                Err(why) => out.missed.push(format!("{} ({why})", path.display())),
            }
        }
        let mut waiting = vec![real_path(home)];
        let mut seen: HashSet<usize> = HashSet::new();
        while let Some(target) = waiting.pop() {
            for number in includers.get(&target).into_iter().flatten() {
                if seen.insert(*number) {
                    waiting.push(all[*number].0.clone());
                }
            }
        }
        let mut readers: Vec<&PathBuf> = seen.iter().filter_map(|number| all[*number].1.as_ref()).collect();
        readers.sort();
        if readers.len() > MOST_READERS {
            out.missed.push(format!("all but {MOST_READERS} of the {} files that include it", readers.len()));
            readers.truncate(MOST_READERS);
        }
        for path in readers {
            match read(path, &overlay, &addresses) {
                Ok(snapshots) => {
                    let reaches = |snapshot: &Arc<Snapshot>| {
                        let sources = &snapshot.analysis.sources;
                        sources.files[1..].iter().any(|source| source.path.as_deref() == Some(home))
                    };
                    let (own, others): (Vec<_>, Vec<_>) = snapshots.into_iter().partition(reaches);
                    // Of a Markdown document, other circuits than the one that includes it are of no interest.
                    if own.is_empty() && !others.is_empty() {
                        out.missed.push(format!("{} (it includes the file by another path)", path.display()));
                    }
                    out.snapshots.extend(own);
                }
                Err(why) => out.missed.push(format!("{} ({why})", path.display())),
            }
        }
        out
    }
}

/// The files that a text includes, where they really are.
fn includes(path: &Path, text: &str) -> Vec<PathBuf> {
    // Most files include nothing, and looking for a word is all they cost.
    if !text.contains("include") {
        return Vec::new();
    }
    let folder = path.parent().unwrap_or(Path::new(""));
    let of = |tree: &Tree| -> Vec<PathBuf> {
        let named = tree.stmts.iter().filter_map(|stmt| match &stmt.node.kind {
            StmtKind::Include(text) => Some(real_path(&folder.join(text.text.as_str()))),
            _ => None,
        });
        named.collect()
    };
    if is_markdown(&path.to_string_lossy()) {
        blocks(text).iter().flat_map(|block| of(&ohmline_syntax::parse(&block.text))).collect()
    } else {
        of(&ohmline_syntax::parse(text))
    }
}

/// The circuits of a file on the disk, not solved.
fn read(path: &Path, overlay: &Overlay<'_>, open: &HashMap<PathBuf, (Url, i32)>) -> Result<Vec<Arc<Snapshot>>, String> {
    let uri = Url::from_file_path(path).map_err(|()| "its path has no address".to_owned())?;
    let name = path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
    let snapshot =
        |tree: Arc<Tree>, around| unsolved(&uri, load(&name, Some(path), tree, overlay), around, open.clone());
    if !is_markdown(&name) {
        return Ok(vec![snapshot(overlay.tree(path)?, None)]);
    }
    let text = overlay.read(path)?;
    let circuit =
        |block: Block| snapshot(Arc::new(ohmline_syntax::parse(&block.text)), Some((block.around, text.clone())));
    Ok(blocks(&text).into_iter().map(circuit).collect())
}

/// What a file on the disk declares.
fn declares(path: &Path, editor: Editor) -> Vec<SymbolInformation> {
    let (Ok(found), Ok(uri)) = (ohmline_files::read(path), Url::from_file_path(path)) else { return Vec::new() };
    let of = |text: &str, around| {
        let tree = Arc::new(ohmline_syntax::parse(text));
        let lines = Arc::new(LineIndex::new(text));
        let source = Source { name: String::new(), path: None, tree, lines, includes: Vec::new() };
        navigation::declared(&unsolved(&uri, Sources { files: vec![source] }, around, HashMap::new()), editor)
    };
    if !is_markdown(&path.to_string_lossy()) {
        return of(&found.text, None);
    }
    let all = blocks(&found.text).into_iter();
    all.flat_map(|block| of(&block.text, Some((block.around, found.text.clone())))).collect()
}

/// What is known of a circuit from its texts alone.
fn unsolved(
    uri: &Url,
    sources: Sources,
    around: Option<(Around, Arc<str>)>,
    open: HashMap<PathBuf, (Url, i32)>,
) -> Arc<Snapshot> {
    let analysis = Analysis {
        sources,
        circuit: Arc::default(),
        topologies: Vec::new(),
        answers: Default::default(),
        relations: Vec::new(),
        diagnostics: Vec::new(),
        allowed: Vec::new(),
    };
    Arc::new(Snapshot {
        uri: uri.clone(),
        version: None,
        analysis: Arc::new(analysis),
        blocks: None,
        around,
        open,
        names: Default::default(),
        settings: Default::default(),
        tried: Default::default(),
    })
}

/// Where a name that stands in a circuit is at home, if other files can speak of it: a part and what is in it, a `let`.
pub fn shared_home(snapshot: &Snapshot, offset: u32) -> Option<PathBuf> {
    use ohmline_assist::SymbolKind::{Case, Counter, Part, Undeclared, Value};
    let own = snapshot.names().at(FileId::MAIN, offset)?;
    let symbol = snapshot.names().symbol(own.symbol);
    let shared = match symbol.kind {
        Case | Counter | Undeclared => false,
        Part | Value => true,
        _ => symbol.scope.part.is_some(),
    };
    let home = symbol.scope.file;
    // A circuit in a Markdown document can be included by nobody.
    if !shared || home == FileId::MAIN && snapshot.around.is_some() {
        return None;
    }
    snapshot.analysis.sources.files.get(home.0 as usize)?.path.clone()
}
