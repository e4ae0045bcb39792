//! Trying the fixes of a document when somebody asks for them; what came of it is kept with the state of the document.

use std::collections::HashMap;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use ohmline_analysis::FileSystem;
use ohmline_analysis::trial::{Chosen, Outcome, Taken, Trial, that_fit};
use ohmline_syntax::{Fix, Safety};

use crate::documents::Snapshot;
use crate::worker::STACK;

/// Which fixes of a finding are to be offered, by their numbers; of those findings whose fixes have been tried, by theirs.
#[derive(Default)]
pub struct Tried(Mutex<HashMap<usize, Vec<usize>>>);

impl Tried {
    fn lock(&self) -> MutexGuard<'_, HashMap<usize, Vec<usize>>> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

/// The fixes of some findings that are to be offered, findings and fixes by their numbers.
pub fn offered(snapshot: &Snapshot, wanted: &[usize]) -> Vec<(usize, usize)> {
    let with_fixes = |at: &&usize| !snapshot.analysis.diagnostics[**at].fixes.is_empty();
    let new: Vec<usize> = {
        let tried = snapshot.tried.lock();
        wanted.iter().filter(with_fixes).filter(|at| !tried.contains_key(at)).copied().collect()
    };
    if !new.is_empty() {
        let found = apart(snapshot, |trial| trial.offered(&new)).unwrap_or_default();
        snapshot.tried.lock().extend(new.into_iter().zip(found));
    }
    let tried = snapshot.tried.lock();
    let of = |at: &usize| tried.get(at).into_iter().flatten().map(|number| (*at, *number)).collect::<Vec<_>>();
    wanted.iter().flat_map(of).collect()
}

/// The safe fixes of a circuit that can be made at once, each the likeliest of its finding; of those alone that `fits`.
pub fn at_once<'s>(snapshot: &'s Snapshot, fits: impl Fn(&Fix) -> bool) -> Vec<&'s Fix> {
    let diagnostics = &snapshot.analysis.diagnostics;
    let is_safe =
        |at: &usize| diagnostics[*at].fixes.first().is_some_and(|fix| fix.safety == Safety::Safe && fits(fix));
    let wanted: Vec<usize> = (0..diagnostics.len()).filter(is_safe).collect();
    let likeliest = offered(snapshot, &wanted).into_iter().filter(|(_, number)| *number == 0);
    let mut taken = Taken::default();
    let chosen: Vec<Chosen<'s>> = likeliest
        .map(|(at, _)| (&diagnostics[at], &diagnostics[at].fixes[0]))
        .filter(|(_, fix)| taken.take(&fix.edits))
        .collect();
    let fit = |trial: &Trial<'_>| that_fit(&chosen, &mut |some| trial.outcome(some) != Outcome::Fails);
    apart(snapshot, fit).unwrap_or_default().into_iter().map(|(_, fix)| fix).collect()
}

/// Does something on a thread with room for deeply nested expressions; `None` should it panic.
fn apart<T: Send>(snapshot: &Snapshot, work: impl FnOnce(&Trial<'_>) -> T + Send) -> Option<T> {
    let trial = || {
        let around = snapshot.around.as_ref().map(|(around, document)| (around, &**document));
        work(&Trial::new(&snapshot.analysis, &snapshot.settings, &Disk).within(around))
    };
    std::thread::scope(|scope| {
        let thread = std::thread::Builder::new().name("trial".to_owned()).stack_size(STACK);
        thread.spawn_scoped(scope, trial).ok()?.join().ok()
    })
}

/// Files that no open document includes.
struct Disk;

impl FileSystem for Disk {
    fn read(&self, path: &Path) -> Result<Arc<str>, String> {
        ohmline_files::read(path).map(|found| found.text)
    }

    fn exists(&self, path: &Path) -> bool {
        path.exists()
    }

    fn real_path(&self, path: &Path) -> PathBuf {
        ohmline_files::real_path(path)
    }
}
