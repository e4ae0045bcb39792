//! The threads that analyse and publish.
//!
//! More than one, so that a large document does not keep the others waiting; what is sent goes out in order all the same, see
//! [`Core::publish`].

use std::panic::AssertUnwindSafe;
use std::sync::atomic::Ordering;
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

use ohmline_analysis::{Settings, analyze_unless, load};
use tokio::runtime::Handle;
use tower_lsp::Client;
use tower_lsp::lsp_types::{Diagnostic, LogMessageParams, MessageType, PublishDiagnosticsParams, Url};

use crate::documents::{Core, Job, Outcome, Request, Snapshot, fault};
use crate::overlay::{DiskTrees, Overlay};
use crate::proto::Places;
use crate::transport::{Out, panic_text};

/// Room for deeply nested expressions.
const STACK: usize = 64 << 20;

/// Threads that analyse: one for a slow document, one for all others; see [`Core::next_job`].
const THREADS: usize = 2;

/// Starts the threads. They end when the core is stopped.
///
/// Diagnostics go out by `out` directly, not by way of `client`: so they cannot be overtaken by answers that are made later.
pub fn start(core: Arc<Core>, out: Out, client: Client, runtime: Handle) {
    let disk = Arc::new(Mutex::<DiskTrees>::default());
    for number in 1..=THREADS {
        let (core, out, client, runtime, disk) =
            (core.clone(), out.clone(), client.clone(), runtime.clone(), disk.clone());
        let name = format!("analysis {number}");
        let work = move || work(&core, &disk, &out, &client, &runtime);
        if let Err(error) = std::thread::Builder::new().name(name).stack_size(STACK).spawn(work) {
            eprintln!("ohmline: cannot start an analysis thread: {error}");
        }
    }
}

fn work(core: &Core, disk: &Mutex<DiskTrees>, out: &Out, client: &Client, runtime: &Handle) {
    loop {
        match core.next_job() {
            Job::Stop => return,
            Job::Tell => core.tell(|uri, diagnostics| publish(out, uri, diagnostics, None)),
            Job::Analyze(request) => {
                let outcome = run(&request, disk, out);
                core.publish(&request, &outcome.diagnostics, |found| {
                    publish(out, request.uri.clone(), found, Some(request.version));
                });
                let old = core.finish(&request, outcome);
                // The next change is not to wait until a large analysis is taken down.
                runtime.spawn_blocking(move || drop(old));
                if request.by_another && request.editor.refresh_hints {
                    let client = client.clone();
                    // The answer is of no interest, and nothing here may wait for the editor.
                    runtime.spawn(async move { client.inlay_hint_refresh().await });
                }
            }
        }
    }
}

fn publish(out: &Out, uri: Url, diagnostics: Vec<Diagnostic>, version: Option<i32>) {
    out.notify("textDocument/publishDiagnostics", PublishDiagnosticsParams { uri, diagnostics, version });
}

/// Analyzes a document. A panic on the way is a fault of this program: it is said so in place of diagnostics.
fn run(request: &Request, disk: &Mutex<DiskTrees>, out: &Out) -> Outcome {
    let begun = Instant::now();
    let found = std::panic::catch_unwind(AssertUnwindSafe(|| try_run(request, disk)));
    let mut outcome = found.unwrap_or_else(|panic| {
        let what = panic_text(panic.as_ref());
        let message = format!("analyzing version {} of {} failed: {what}", request.version, request.uri);
        out.notify("window/logMessage", LogMessageParams { typ: MessageType::ERROR, message });
        let fault = fault(
            "Ohmline could not analyze this text, and the fault is not yours\n\
             Change the line you edited last, and please report the text that led here",
        );
        Outcome { snapshot: None, tree: None, diagnostics: vec![fault], depends: None, took: begun.elapsed() }
    });
    outcome.took = begun.elapsed();
    outcome
}

fn try_run(request: &Request, disk: &Mutex<DiskTrees>) -> Outcome {
    let tree = Arc::new(match &request.tree {
        Some(tree) => ohmline_syntax::reparse(tree, &request.text),
        None => ohmline_syntax::parse(&request.text),
    });
    let files = request.open.iter().map(|(path, (_, _, file))| (path.clone(), file.clone())).collect();
    let overlay = Overlay::new(files, disk);
    let name = match request.path.as_ref().and_then(|path| path.file_name()) {
        Some(name) => name.to_string_lossy().into_owned(),
        None => request.uri.to_string(),
    };
    let sources = load(&name, request.path.as_deref(), tree.clone(), &overlay);
    let depends = Some(overlay.asked());
    let stop = || request.stop.load(Ordering::Relaxed);
    let Some(mut analysis) = analyze_unless(sources, &Settings::default(), &stop) else {
        // Overtaken: nobody waits for more than the tree.
        return Outcome { snapshot: None, tree: Some(tree), diagnostics: Vec::new(), depends, took: Duration::ZERO };
    };
    let odd = ohmline_files::reports(&analysis.sources, |at, path| if at == 0 { None } else { overlay.oddity(path?) });
    analysis.diagnostics.splice(0..0, odd);
    let open = request.open.iter().map(|(path, (uri, version, _))| (path.clone(), (uri.clone(), *version))).collect();
    let snapshot = Arc::new(Snapshot {
        uri: request.uri.clone(),
        version: request.version,
        analysis,
        open,
        names: Default::default(),
    });
    let places = Places::new(&snapshot, request.editor);
    let diagnostics = snapshot.analysis.diagnostics.iter().map(|found| places.diagnostic(found)).collect();
    Outcome { snapshot: Some(snapshot), tree: Some(tree), diagnostics, depends, took: Duration::ZERO }
}
