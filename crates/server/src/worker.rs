//! The threads that analyse and publish.
//!
//! More than one, so that a large document does not keep the others waiting; what is sent goes out in order all the same, see
//! [`Core::publish`].

use std::collections::HashMap;
use std::panic::AssertUnwindSafe;
use std::path::Path;
use std::sync::atomic::Ordering;
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

use ohmline_analysis::markdown::{Around, blocks};
use ohmline_analysis::{Analysis, analyze_unless, load};
use ohmline_settings::{File, is_settings};
use ohmline_syntax::{Span, Tree};
use tokio::runtime::Handle;
use tower_lsp::Client;
use tower_lsp::lsp_types::{Diagnostic, LogMessageParams, MessageType, PublishDiagnosticsParams, Url};

use crate::documents::{Core, Job, Outcome, Request, Snapshot, fault};
use crate::editor::Editor;
use crate::overlay::{DiskTrees, Overlay};
use crate::progress;
use crate::settings::files::SettingsFiles;
use crate::transport::{Out, panic_text};

/// Room for deeply nested expressions.
pub const STACK: usize = 64 << 20;

/// Threads that analyse: one for a slow document, one for all others; see [`Core::next_job`].
const THREADS: usize = 2;

/// Starts the threads. They end when the core is stopped.
///
/// Diagnostics go out by `out` directly, not by way of `client`: so they cannot be overtaken by answers that are made later.
pub fn start(core: Arc<Core>, out: Out, client: Client, runtime: Handle) {
    for number in 1..=THREADS {
        let (core, out, client, runtime) = (core.clone(), out.clone(), client.clone(), runtime.clone());
        let name = format!("analysis {number}");
        let work = move || work(&core, &out, &client, &runtime);
        if let Err(error) = std::thread::Builder::new().name(name).stack_size(STACK).spawn(work) {
            eprintln!("ohmline: cannot start an analysis thread: {error}");
        }
    }
}

fn work(core: &Core, out: &Out, client: &Client, runtime: &Handle) {
    loop {
        match core.next_job() {
            Job::Stop => return,
            Job::Tell => core.tell(|uri, diagnostics| publish(out, uri, diagnostics, None)),
            Job::Analyze(request) => {
                let shown = request.editor.progress.then(|| {
                    let title = format!("Solving {}", name(&request));
                    progress::begin(client, runtime, request.stamp, title)
                });
                let outcome = run(&request, &core.disk, &core.settings_files, out);
                drop(shown);
                let newest = outcome.snapshot.clone();
                core.publish(&request, &outcome.diagnostics, |found| {
                    publish(out, request.uri.clone(), found, Some(request.version));
                });
                let old = core.finish(&request, outcome);
                if newest.is_some() || !request.stop.load(Ordering::Relaxed) {
                    core.pages.publish(&request.uri, newest.as_ref());
                }
                // The next change is not to wait until a large analysis is taken down.
                let stop = request.stop.clone();
                runtime.spawn_blocking(move || {
                    // Most of what is asked next goes by the names.
                    for circuit in newest.iter().flat_map(|newest| newest.circuits()) {
                        if !stop.load(Ordering::Relaxed) {
                            circuit.names();
                        }
                    }
                    drop((old, newest));
                });
                if request.by_another {
                    let (client, editor) = (client.clone(), request.editor);
                    runtime.spawn(async move { refresh(&client, editor).await });
                }
            }
        }
    }
}

/// Lets the editor ask again for what depends on another file. What it answers is of no interest.
async fn refresh(client: &Client, editor: Editor) {
    if editor.refresh_hints {
        let _ = client.inlay_hint_refresh().await;
    }
    if editor.refresh_lenses {
        let _ = client.code_lens_refresh().await;
    }
    if editor.refresh_colors {
        let _ = client.semantic_tokens_refresh().await;
    }
    if editor.pull {
        let _ = client.workspace_diagnostic_refresh().await;
    }
}

fn publish(out: &Out, uri: Url, diagnostics: Vec<Diagnostic>, version: Option<i32>) {
    out.notify("textDocument/publishDiagnostics", PublishDiagnosticsParams { uri, diagnostics, version });
}

/// Analyzes a document. A panic on the way is a fault of this program: it is said so in place of diagnostics.
fn run(request: &Request, disk: &Mutex<DiskTrees>, settings: &SettingsFiles, out: &Out) -> Outcome {
    let begun = Instant::now();
    let found = std::panic::catch_unwind(AssertUnwindSafe(|| try_run(request, disk, settings)));
    let mut outcome = found.unwrap_or_else(|panic| {
        let what = panic_text(panic.as_ref());
        let message = format!("analyzing version {} of {} failed: {what}", request.version, request.uri);
        out.notify("window/logMessage", LogMessageParams { typ: MessageType::ERROR, message });
        let fault = fault(
            "Ohmline could not analyze this text, and the fault is not yours\n\
             Change the line you edited last, and please report the text that led here",
        );
        Outcome {
            snapshot: None,
            tree: None,
            diagnostics: vec![fault],
            depends: None,
            settings: None,
            took: begun.elapsed(),
        }
    });
    outcome.took = begun.elapsed();
    outcome
}

/// What people call a document.
fn name(request: &Request) -> String {
    match request.path.as_ref().and_then(|path| path.file_name()) {
        Some(name) => name.to_string_lossy().into_owned(),
        None => request.uri.to_string(),
    }
}

fn try_run(request: &Request, disk: &Mutex<DiskTrees>, settings: &SettingsFiles) -> Outcome {
    let files = request.open.iter().map(|(path, (_, _, file))| (path.clone(), file.clone())).collect();
    let overlay = Overlay::new(files, disk, settings);
    let open: HashMap<_, _> =
        request.open.iter().map(|(path, (uri, version, _))| (path.clone(), (uri.clone(), *version))).collect();
    let settings = overlay.settings(request.path.as_deref(), &request.choice);
    let snapshot = |analysis: Analysis, blocks: Blocks, around: Option<(Around, Arc<str>)>| {
        Arc::new(Snapshot {
            uri: request.uri.clone(),
            version: Some(request.version),
            analysis: Arc::new(analysis),
            blocks,
            around,
            open: open.clone(),
            names: Default::default(),
            settings: settings.clone(),
            tried: Default::default(),
        })
    };
    let (found, tree) = if is_settings(Path::new(request.uri.path())) {
        let file = File::new(&name(request), request.path.as_deref(), &request.text);
        (Some(snapshot(file.analysis, Some(Vec::new()), None)), None)
    } else if request.markdown {
        (markdown(request, &overlay, &snapshot), None)
    } else {
        let tree = Arc::new(match &request.tree {
            Some(tree) => ohmline_syntax::reparse(tree, &request.text),
            None => ohmline_syntax::parse(&request.text),
        });
        let found = circuit(request, &overlay, tree.clone()).map(|analysis| snapshot(analysis, None, None));
        (found, Some(tree))
    };
    let depends = Some(overlay.asked());
    // A file of settings shows what is wrong in it by itself.
    let of_settings = overlay.settings_file().filter(|_| !is_settings(Path::new(request.uri.path())));
    let diagnostics = found.as_ref().map_or_else(Vec::new, |found| found.diagnostics(request.editor));
    // Overtaken, when nothing is found: nobody waits for more than the tree.
    Outcome { snapshot: found, tree, diagnostics, depends, settings: of_settings, took: Duration::ZERO }
}

/// The analysis of one text of a document; `None` when it was overtaken.
fn circuit(request: &Request, overlay: &Overlay<'_>, tree: Arc<Tree>) -> Option<Analysis> {
    let sources = load(&name(request), request.path.as_deref(), tree, overlay);
    let stop = || request.stop.load(Ordering::Relaxed);
    let settings = overlay.settings(request.path.as_deref(), &request.choice);
    let mut analysis = analyze_unless(sources, &settings, &stop)?;
    let odd = ohmline_files::reports(&analysis.sources, |at, path| if at == 0 { None } else { overlay.oddity(path?) });
    analysis.diagnostics.splice(0..0, settings.findings.apply(odd));
    Some(analysis)
}

/// The circuits of a Markdown document, each with the lines between its fences.
type Blocks = Option<Vec<(Span, Arc<Snapshot>)>>;

/// The circuits of a Markdown document; the document itself says nothing.
fn markdown(
    request: &Request,
    overlay: &Overlay<'_>,
    snapshot: &dyn Fn(Analysis, Blocks, Option<(Around, Arc<str>)>) -> Arc<Snapshot>,
) -> Option<Arc<Snapshot>> {
    let text: Arc<str> = request.text.as_str().into();
    let mut found = Vec::new();
    for block in blocks(&text) {
        let tree = Arc::new(ohmline_syntax::parse(&block.text));
        let mut analysis = circuit(request, overlay, tree)?;
        block.around.place_fixes(&text, &mut analysis.diagnostics);
        found.push((block.span, snapshot(analysis, None, Some((block.around, text.clone())))));
    }
    let nothing = Tree { text, stmts: Vec::new(), blocks: Vec::new(), block_problems: Vec::new() };
    let mut bare = circuit(request, overlay, Arc::new(nothing))?;
    // What there is to say is said of the circuits in it.
    bare.diagnostics.clear();
    Some(snapshot(bare, Some(found), None))
}
