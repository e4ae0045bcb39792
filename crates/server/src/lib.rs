//! The language server: documents, scheduling, and the shapes of the Language Server Protocol.
//!
//! Purpose: bring the analysis into editors.
//! Boundary: no electricity of its own; tower-lsp and its types stay inside this crate.
//! Invariants: no handler awaits the client; diagnostics are sent for exactly the version they were made from; the
//! server goes on after any input.
//!
//! How it hangs together: [`transport`] reads messages in order and hands each to a handler of [`handlers`]; handlers that
//! change a document do so in [`documents`] before they return; the threads of [`worker`] analyse what changed
//! and publish; handlers that ask something wait for the analysis of the text they were asked about. What is shown is made
//! by [`hover`] and [`hints`], which know nothing of the protocol, and turned into its shapes by [`proto`].

#![deny(clippy::print_stdout)]

mod actions;
mod closed;
mod completion;
mod documents;
mod editor;
mod elsewhere;
mod features;
mod formatting;
mod handlers;
pub mod hints;
pub mod hover;
mod navigation;
mod overlay;
mod positions;
mod progress;
mod proto;
mod settings;
pub mod target;
mod transport;
mod trial;
mod watch;
mod worker;
mod written;

use std::io::BufReader;
use std::sync::Arc;
use std::time::Duration;

use tower_lsp::LspService;

use crate::documents::Core;
use crate::handlers::Backend;

/// Serves one editor on standard input and output until it says goodbye or closes the stream.
///
/// Returns the status the process should end with: 0 when the editor asked for a shutdown first, else 1.
pub fn run() -> i32 {
    let runtime = match tokio::runtime::Builder::new_multi_thread().worker_threads(2).enable_all().build() {
        Ok(runtime) => runtime,
        Err(error) => {
            eprintln!("ohmline: cannot start the language server: {error}");
            return 1;
        }
    };
    let core = Arc::new(Core::default());
    watch::start(core.clone());
    let (out, writer) = transport::writer(std::io::stdout());
    runtime.block_on(async {
        let (shared, direct) = (core.clone(), out.clone());
        let (service, socket) = LspService::new(move |client| {
            worker::start(shared.clone(), direct, client.clone(), tokio::runtime::Handle::current());
            Backend::new(shared, client)
        });
        let frames = transport::reader(BufReader::new(std::io::stdin()));
        transport::serve(service, socket, frames, out).await;
    });
    core.stop();
    // Whatever still runs may hold the standard streams; the editor is gone, so nothing is worth waiting for.
    runtime.shutdown_timeout(Duration::from_millis(50));
    writer.finish(Duration::from_secs(1));
    if core.shutdown_asked() { 0 } else { 1 }
}
