//! The live page of a circuit, served on loopback.
//!
//! Purpose: show whatever was published last, and tell open pages when there is something newer.
//! Boundary: where texts come from is somebody else's business (the command watches files, the language server has an editor's
//! unsaved text); how the page looks is that of `ohmline-page`.
//! Invariants:
//! - Only loopback is listened on; a request must name it as its `Host`, and may come from no other `Origin`.
//! - Nothing but the page and its news is answered, and only reading is allowed.
//! - Publishing never waits for a reader.

mod guard;
mod nonce;
mod serve;

use std::io;
use std::net::{Ipv4Addr, SocketAddr, TcpListener};
use std::sync::{Arc, Mutex, PoisonError};

use ohmline_analysis::Analysis;
use ohmline_report::SolutionOptions;
use tokio::sync::watch;

/// What a page shows.
#[derive(Clone)]
pub enum Shown {
    /// A circuit.
    Circuit(Arc<Analysis>),
    /// Why there is none: the file is gone, say.
    Trouble(String),
}

/// What is common to the server and its handle.
struct Board {
    /// What was published last, with its number.
    shown: Mutex<(u64, Shown)>,
    /// The number, for those who wait for a newer one.
    news: watch::Sender<u64>,
    /// What the page is called where there is no circuit.
    name: String,
    /// Numbers and method; the state is that of the request, else this one.
    options: SolutionOptions,
    /// The case that is shown where a request names none.
    case: Option<String>,
    address: SocketAddr,
}

impl Board {
    fn last(&self) -> (u64, Shown) {
        self.shown.lock().unwrap_or_else(PoisonError::into_inner).clone()
    }
}

/// How a preview begins.
#[derive(Clone, Debug, Default)]
pub struct Start {
    /// What the page is called while there is no circuit: the name of the file.
    pub name: String,
    /// The port, or 0 for a free one.
    pub port: u16,
    /// The case that is shown first.
    pub case: Option<String>,
    /// Numbers and method.
    pub options: SolutionOptions,
}

/// A preview that is being served. It ends when this is dropped.
pub struct Preview {
    board: Arc<Board>,
    stop: Option<tokio::sync::oneshot::Sender<()>>,
}

impl Preview {
    /// Binds a port of 127.0.0.1 and serves from a thread of its own.
    ///
    /// # Errors
    /// When the port cannot be had, or no thread can be started.
    pub fn start(start: Start, first: Shown) -> io::Result<Self> {
        let listener = TcpListener::bind((Ipv4Addr::LOCALHOST, start.port))?;
        listener.set_nonblocking(true)?;
        let board = Arc::new(Board {
            shown: Mutex::new((1, first)),
            news: watch::Sender::new(1),
            name: start.name,
            options: start.options,
            case: start.case,
            address: listener.local_addr()?,
        });
        let (stop, stopped) = tokio::sync::oneshot::channel();
        let runtime = tokio::runtime::Builder::new_current_thread().enable_io().enable_time().build()?;
        let served = board.clone();
        std::thread::Builder::new()
            .name("preview".to_owned())
            .stack_size(serve::STACK)
            .spawn(move || runtime.block_on(serve::serve(listener, served, stopped)))?;
        Ok(Self { board, stop: Some(stop) })
    }

    /// Where the page is.
    pub fn address(&self) -> String {
        format!("http://{}/", self.board.address)
    }

    /// Shows something else; open pages follow.
    pub fn publish(&self, shown: Shown) {
        let mut last = self.board.shown.lock().unwrap_or_else(PoisonError::into_inner);
        last.0 += 1;
        last.1 = shown;
        self.board.news.send_replace(last.0);
    }
}

impl Drop for Preview {
    fn drop(&mut self) {
        if let Some(stop) = self.stop.take() {
            // A server that has ended already needs no telling.
            let _ = stop.send(());
        }
    }
}
