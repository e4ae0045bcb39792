//! Follows `include` statements and gathers the files.

use std::path::{Component, Path, PathBuf};
use std::sync::Arc;

use ohmline_circuit::sources::IncludeError;
use ohmline_circuit::{FileSystem, Source, Sources};
use ohmline_syntax::tree::StmtKind;
use ohmline_syntax::{FileId, LineIndex, Tree};
use rustc_hash::FxHashMap;

/// The file that marks the root of a workspace.
pub const WORKSPACE_FILE: &str = "ohmline.toml";
/// Most files of one analysis.
const MAX_FILES: usize = 1000;

/// Gathers a file and, transitively, what it includes.
///
/// `name` is what people call it; `path` where it is, if anywhere: includes are relative to it. The path should be absolute, so
/// that the root of the workspace (the folder of the nearest `ohmline.toml` upward, else the file's own folder) can be found above
/// the current folder too. Never fails: an include that brings in nothing says why.
pub fn load(name: &str, path: Option<&Path>, tree: Arc<Tree>, files: &dyn FileSystem) -> Sources {
    let path = path.map(normalize);
    let mut loader = Loader { files, root: None, sources: Sources { files: Vec::new() }, known: FxHashMap::default() };
    if let Some(path) = &path {
        loader.root = Some(workspace_root(path, files));
        loader.known.insert(path.clone(), FileId::MAIN);
    }
    loader.add(name.to_owned(), path, tree);
    loader.follow();
    loader.sources
}

struct Loader<'f> {
    files: &'f dyn FileSystem,
    root: Option<PathBuf>,
    sources: Sources,
    known: FxHashMap<PathBuf, FileId>,
}

/// A file whose includes are being followed.
struct Open {
    file: FileId,
    /// The `include` statements still to be followed, last first: index and path as written.
    rest: Vec<(u32, String)>,
}

impl Loader<'_> {
    fn add(&mut self, name: String, path: Option<PathBuf>, tree: Arc<Tree>) -> FileId {
        let lines = Arc::new(LineIndex::new(&tree.text));
        let id = FileId(self.sources.files.len() as u32);
        self.sources.files.push(Source { name, path, tree, lines, includes: Vec::new() });
        id
    }

    /// The `include` statements of a file, last first.
    fn open(&self, file: FileId) -> Open {
        let stmts = &self.sources.file(file).tree.stmts;
        let includes = stmts.iter().enumerate().rev().filter_map(|(index, stmt)| match &stmt.node.kind {
            StmtKind::Include(text) => Some((index as u32, text.text.to_string())),
            _ => None,
        });
        Open { file, rest: includes.collect() }
    }

    /// Depth first with a stack of its own, so that a chain of any length is safe.
    fn follow(&mut self) {
        let mut stack = vec![self.open(FileId::MAIN)];
        while let Some(open) = stack.last_mut() {
            let file = open.file;
            let Some((stmt, text)) = open.rest.pop() else {
                stack.pop();
                continue;
            };
            let (target, new) = match self.find(file, &text) {
                Ok((id, new)) => match stack.iter().position(|open| open.file == id) {
                    Some(start) => {
                        let around = stack[start..].iter().map(|open| self.sources.file(open.file).name.clone());
                        let back = std::iter::once(self.sources.file(id).name.clone());
                        (Err(IncludeError::Cycle(around.chain(back).collect())), false)
                    }
                    None => (Ok(id), new),
                },
                Err(error) => (Err(error), false),
            };
            if let (Ok(id), true) = (&target, new) {
                stack.push(self.open(*id));
            }
            self.sources.files[file.0 as usize].includes.push((stmt, target));
        }
    }

    /// The file that an include names, and whether it has been read just now.
    fn find(&mut self, from: FileId, text: &str) -> Result<(FileId, bool), IncludeError> {
        let source = self.sources.file(from);
        let (Some(path), Some(root)) = (&source.path, &self.root) else { return Err(IncludeError::NoFolder) };
        let folder = path.parent().unwrap_or(Path::new(""));
        let target = normalize(&folder.join(text));
        let escapes = target.components().any(|part| part == Component::ParentDir);
        if escapes || target.is_absolute() != root.is_absolute() || !target.starts_with(root) {
            return Err(IncludeError::Outside);
        }
        if let Some(id) = self.known.get(&target) {
            return Ok((*id, false));
        }
        if self.sources.files.len() >= MAX_FILES {
            return Err(IncludeError::Unreadable(format!("more than {MAX_FILES} files are included")));
        }
        // A link inside the workspace may lead out of it.
        if !self.files.real_path(&target).starts_with(self.files.real_path(root)) {
            return Err(IncludeError::Outside);
        }
        let tree = self.files.tree(&target).map_err(IncludeError::Unreadable)?;
        let folder = Path::new(&source.name).parent().unwrap_or(Path::new(""));
        let name = normalize(&folder.join(text)).to_string_lossy().into_owned();
        let id = self.add(name, Some(target.clone()), tree);
        self.known.insert(target, id);
        Ok((id, true))
    }
}

/// The folder of the nearest `ohmline.toml` upward from a file, else the file's own folder.
pub fn workspace_root(file: &Path, files: &dyn FileSystem) -> PathBuf {
    let folder = file.parent().unwrap_or(Path::new(""));
    let marked = folder.ancestors().find(|folder| files.exists(&folder.join(WORKSPACE_FILE)));
    marked.unwrap_or(folder).to_path_buf()
}

/// A path without `.` and, as far as it can be told from the path alone, without `..`.
pub fn normalize(path: &Path) -> PathBuf {
    let mut out = PathBuf::new();
    for part in path.components() {
        match part {
            Component::CurDir => {}
            Component::ParentDir => match out.components().next_back() {
                Some(Component::Normal(_)) => {
                    out.pop();
                }
                // Above the root of the file system is the root again.
                Some(Component::RootDir | Component::Prefix(_)) => {}
                _ => out.push(part),
            },
            part => out.push(part),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Files in memory.
    struct Shelf(Vec<(&'static str, String)>);

    impl FileSystem for Shelf {
        fn read(&self, path: &Path) -> Result<Arc<str>, String> {
            let found = self.0.iter().find(|(name, _)| Path::new(name) == path);
            found.map(|(_, text)| text.as_str().into()).ok_or_else(|| "there is no such file".to_owned())
        }

        fn exists(&self, path: &Path) -> bool {
            self.0.iter().any(|(name, _)| Path::new(name) == path)
        }
    }

    fn shelf(files: &[(&'static str, &str)]) -> Shelf {
        Shelf(files.iter().map(|(name, text)| (*name, (*text).to_owned())).collect())
    }

    fn load_from(files: &Shelf, main: &str) -> Sources {
        let text = files.read(Path::new(main)).expect("the main file is on the shelf");
        let name = main.rsplit('/').next().expect("a name");
        load(name, Some(Path::new(main)), Arc::new(ohmline_syntax::parse(&text)), files)
    }

    fn outcomes(sources: &Sources, file: u32) -> Vec<Result<FileId, IncludeError>> {
        sources.file(FileId(file)).includes.iter().map(|(_, target)| target.clone()).collect()
    }

    #[test]
    fn a_file_included_twice_is_one_file() {
        let files = shelf(&[
            ("/harbor/pier.ohmline", "include \"kit/lantern.ohmline\"\ninclude \"kit/bell.ohmline\"\n"),
            ("/harbor/kit/lantern.ohmline", "include \"values.ohmline\"\n"),
            ("/harbor/kit/bell.ohmline", "include \"./values.ohmline\"\n"),
            ("/harbor/kit/values.ohmline", "let supply = 4.5 V\n"),
        ]);
        let sources = load_from(&files, "/harbor/pier.ohmline");
        let names: Vec<_> = sources.files.iter().map(|file| file.name.as_str()).collect();
        assert_eq!(names, ["pier.ohmline", "kit/lantern.ohmline", "kit/values.ohmline", "kit/bell.ohmline"]);
        assert_eq!(outcomes(&sources, 0), [Ok(FileId(1)), Ok(FileId(3))]);
        assert_eq!(outcomes(&sources, 1), [Ok(FileId(2))]);
        assert_eq!(outcomes(&sources, 3), [Ok(FileId(2))]);
    }

    #[test]
    fn a_circle_is_cut_where_it_closes() {
        let files = shelf(&[
            ("/harbor/pier.ohmline", "include \"a.ohmline\"\n"),
            ("/harbor/a.ohmline", "include \"b.ohmline\"\n"),
            ("/harbor/b.ohmline", "include \"a.ohmline\"\ninclude \"b.ohmline\"\n"),
        ]);
        let sources = load_from(&files, "/harbor/pier.ohmline");
        let cycle = |names: &[&str]| Err(IncludeError::Cycle(names.iter().map(|name| (*name).to_owned()).collect()));
        assert_eq!(
            outcomes(&sources, 2),
            [cycle(&["a.ohmline", "b.ohmline", "a.ohmline"]), cycle(&["b.ohmline", "b.ohmline"])]
        );
    }

    #[test]
    fn nothing_outside_of_the_workspace_is_read() {
        let text = "include \"../kit/lantern.ohmline\"\ninclude \"/etc/passwd\"\ninclude \"none.ohmline\"\n";
        let without = shelf(&[("/harbor/pier/lamps.ohmline", text), ("/harbor/kit/lantern.ohmline", "")]);
        let missing = Err(IncludeError::Unreadable("there is no such file".to_owned()));
        let sources = load_from(&without, "/harbor/pier/lamps.ohmline");
        assert_eq!(outcomes(&sources, 0), [Err(IncludeError::Outside), Err(IncludeError::Outside), missing.clone()]);

        let marked = shelf(&[
            ("/harbor/ohmline.toml", ""),
            ("/harbor/pier/lamps.ohmline", text),
            ("/harbor/kit/lantern.ohmline", ""),
        ]);
        let sources = load_from(&marked, "/harbor/pier/lamps.ohmline");
        assert_eq!(outcomes(&sources, 0), [Ok(FileId(1)), Err(IncludeError::Outside), missing]);
        assert_eq!(sources.files[1].name, "../kit/lantern.ohmline");
    }

    /// Files in memory, one folder of which is a link to another.
    struct Linked(Shelf, &'static str, &'static str);

    impl FileSystem for Linked {
        fn read(&self, path: &Path) -> Result<Arc<str>, String> {
            self.0.read(&self.real_path(path))
        }

        fn exists(&self, path: &Path) -> bool {
            self.0.exists(&self.real_path(path))
        }

        fn real_path(&self, path: &Path) -> PathBuf {
            path.strip_prefix(self.1).map_or_else(|_| path.to_path_buf(), |rest| Path::new(self.2).join(rest))
        }
    }

    #[test]
    fn a_link_leads_out_of_the_workspace_as_little_as_dots_do() {
        let text = "include \"kit/lantern.ohmline\"\n";
        let load_linked = |to: &'static str, main: &'static str| {
            let files = shelf(&[
                ("/harbor/pier.ohmline", text),
                ("/harbor/store/lantern.ohmline", ""),
                ("/else/lantern.ohmline", ""),
            ]);
            let tree = Arc::new(ohmline_syntax::parse(text));
            let from = if main.starts_with("/quay") { "/quay" } else { "/harbor/kit" };
            outcomes(&load("pier.ohmline", Some(Path::new(main)), tree, &Linked(files, from, to)), 0)
        };
        assert_eq!(load_linked("/else", "/harbor/pier.ohmline"), [Err(IncludeError::Outside)]);
        assert_eq!(load_linked("/harbor/store", "/harbor/pier.ohmline"), [Ok(FileId(1))]);
        // The workspace itself may lie behind a link.
        let missing = IncludeError::Unreadable("there is no such file".to_owned());
        assert_eq!(load_linked("/harbor", "/quay/pier.ohmline"), [Err(missing)]);
    }

    #[test]
    fn a_text_without_a_folder_includes_nothing() {
        let tree = Arc::new(ohmline_syntax::parse("include \"kit.ohmline\"\n"));
        let sources = load("-", None, tree, &shelf(&[]));
        assert_eq!(outcomes(&sources, 0), [Err(IncludeError::NoFolder)]);
    }

    #[test]
    fn relative_paths_cannot_climb() {
        let files = shelf(&[
            ("pier.ohmline", "include \"../kit.ohmline\"\ninclude \"a/../kit.ohmline\"\n"),
            ("kit.ohmline", ""),
        ]);
        let sources = load_from(&files, "pier.ohmline");
        assert_eq!(outcomes(&sources, 0), [Err(IncludeError::Outside), Ok(FileId(1))]);
    }

    #[test]
    fn a_long_chain_is_no_danger() {
        let names: Vec<&'static str> =
            (0..3000).map(|index| &*Box::leak(format!("/k/f{index}.ohmline").into_boxed_str())).collect();
        let texts = (0..3000).map(|index| format!("include \"f{}.ohmline\"\n", index + 1));
        let files = Shelf(names.into_iter().zip(texts).collect());
        let sources = load_from(&files, "/k/f0.ohmline");
        assert_eq!(sources.files.len(), MAX_FILES);
    }
}
