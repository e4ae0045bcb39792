//! An editor that does nothing but ask and look at its watch. Bytes are taken off the output by a thread that does no more than that, so
//! that reading JSON here is not counted there.

use std::io::{BufRead, BufReader, Write};
use std::process::{Child, ChildStdin, Command, Stdio};
use std::sync::mpsc::{self, Receiver};
use std::time::{Duration, Instant};

use serde_json::{Value, json};

/// After which nothing is waited for any more.
const LIMIT: Duration = Duration::from_secs(120);

/// A server and what it has said.
pub struct Session {
    child: Child,
    input: ChildStdin,
    inbox: Receiver<(Instant, Vec<u8>)>,
    next: i64,
}

impl Session {
    /// A server that is ready.
    pub fn start() -> Self {
        let mut child = Command::new(env!("CARGO_BIN_EXE_ohmline"))
            .args(["serve", "--stdio"])
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .expect("cargo has built the command before this bench");
        let input = child.stdin.take().expect("piped above");
        let output = child.stdout.take().expect("piped above");
        let (sender, inbox) = mpsc::channel();
        std::thread::spawn(move || {
            let mut output = BufReader::with_capacity(1 << 16, output);
            while let Some(body) = frame(&mut output) {
                if sender.send((Instant::now(), body)).is_err() {
                    return;
                }
            }
        });
        let mut session = Self { child, input, inbox, next: 0 };
        let able = json!({
            "general": { "positionEncodings": ["utf-16"] },
            "workspace": { "workspaceEdit": { "documentChanges": true } },
            "textDocument": {
                "publishDiagnostics": { "relatedInformation": true, "versionSupport": true },
                "hover": { "contentFormat": ["markdown"] },
                "completion": { "completionItem": { "snippetSupport": true } },
                "codeAction": { "codeActionLiteralSupport": { "codeActionKind": { "valueSet": ["quickfix"] } } },
            },
        });
        session.ask("initialize", json!({ "processId": null, "rootUri": null, "capabilities": able }));
        session.send(&json!({ "jsonrpc": "2.0", "method": "initialized", "params": {} }));
        session
    }

    fn send(&mut self, message: &Value) {
        let body = message.to_string();
        let sent = write!(self.input, "Content-Length: {}\r\n\r\n{body}", body.len());
        sent.and_then(|()| self.input.flush()).expect("the server reads");
    }

    /// The next message that fits, and when it had come.
    fn wait(&mut self, fits: impl Fn(&str) -> bool) -> (Instant, Vec<u8>) {
        loop {
            let (at, body) = self.inbox.recv_timeout(LIMIT).expect("the server answers");
            // What it is stands at the beginning or at the end; the rest may be long.
            let edge = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
            let (head, tail) = (&body[..body.len().min(400)], &body[body.len().saturating_sub(400)..]);
            if fits(&format!("{}\n{}", edge(head), edge(tail))) {
                return (at, body);
            }
        }
    }

    fn ask(&mut self, method: &str, params: Value) -> (Duration, Vec<u8>) {
        self.next += 1;
        let id = self.next;
        let message = json!({ "jsonrpc": "2.0", "id": id, "method": method, "params": params });
        let begun = Instant::now();
        self.send(&message);
        let (first, other) = (format!("\"id\":{id},"), format!("\"id\":{id}}}"));
        let is_answer =
            |edges: &str| !edges.contains("\"method\":") && (edges.contains(&first) || edges.contains(&other));
        let (at, body) = self.wait(is_answer);
        let head = String::from_utf8_lossy(&body[..body.len().min(400)]);
        assert!(!head.contains("\"error\":"), "{method}: {head}");
        (at - begun, body)
    }

    /// Asks about a document, and says how long the answer took.
    pub fn request(&mut self, method: &str, params: Value) -> (Duration, Vec<u8>) {
        self.ask(&format!("textDocument/{method}"), params)
    }

    /// Opens a document and waits for its diagnostics.
    pub fn open(&mut self, uri: &str, text: &str) -> (Duration, usize) {
        let document = json!({ "uri": uri, "languageId": "ohmline", "version": 1, "text": text });
        let message =
            json!({ "jsonrpc": "2.0", "method": "textDocument/didOpen", "params": { "textDocument": document } });
        self.told(&message, uri, 1)
    }

    /// Changes a document and waits for its diagnostics.
    pub fn change(&mut self, uri: &str, version: i64, range: Value, text: &str) -> (Duration, usize) {
        let params = json!({ "textDocument": { "uri": uri, "version": version },
            "contentChanges": [{ "range": range, "text": text }] });
        self.told(&json!({ "jsonrpc": "2.0", "method": "textDocument/didChange", "params": params }), uri, version)
    }

    fn told(&mut self, message: &Value, uri: &str, version: i64) -> (Duration, usize) {
        let begun = Instant::now();
        self.send(message);
        let version = format!("\"version\":{version}}}");
        let (at, body) = self.wait(|edges| {
            edges.contains("textDocument/publishDiagnostics")
                && edges.contains(uri)
                && edges.ends_with(&format!("{version}}}"))
        });
        (at - begun, body.len())
    }
}

impl Drop for Session {
    fn drop(&mut self) {
        // A bench that ends leaves nothing running.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// The body of the next message.
fn frame(output: &mut impl BufRead) -> Option<Vec<u8>> {
    let mut length = 0;
    loop {
        let mut line = String::new();
        if output.read_line(&mut line).ok()? == 0 {
            return None;
        }
        match line.trim().strip_prefix("Content-Length: ") {
            Some(value) => length = value.parse().ok()?,
            None if line.trim().is_empty() => break,
            None => {}
        }
    }
    let mut body = vec![0; length];
    output.read_exact(&mut body).ok()?;
    Some(body)
}
