//! A small language client over standard input and output, for whole sessions.
//!
//! It never sleeps: it waits for messages, with a limit after which the session has failed.

#![allow(dead_code, reason = "each test file uses its own part of the client")]

use std::collections::VecDeque;
use std::io::{BufRead, BufReader, Write};
use std::process::{Child, ChildStdin, Command, Stdio};
use std::sync::mpsc::{self, Receiver};
use std::time::{Duration, Instant};

use serde_json::{Value, json};

/// How long anything may take before the test fails. Far above what it takes.
pub const LIMIT: Duration = Duration::from_secs(60);

pub struct Session {
    child: Child,
    stdin: Option<ChildStdin>,
    inbox: Receiver<Value>,
    /// Messages that nobody has asked for yet.
    kept: VecDeque<Value>,
    /// Requests of the server, already answered.
    pub asked: Vec<Value>,
    /// What the client says its settings are.
    pub settings: Value,
    next_id: i64,
    pub capabilities: Value,
}

/// What a client like the large editors says about itself.
pub fn able() -> Value {
    json!({
        "general": { "positionEncodings": ["utf-16"] },
        "workspace": {
            "configuration": true,
            "didChangeConfiguration": { "dynamicRegistration": true },
            "didChangeWatchedFiles": { "dynamicRegistration": true },
            "inlayHint": { "refreshSupport": true },
            "workspaceEdit": { "documentChanges": true },
        },
        "textDocument": {
            "publishDiagnostics": { "relatedInformation": true, "versionSupport": true },
            "hover": { "contentFormat": ["markdown", "plaintext"] },
            "codeAction": { "codeActionLiteralSupport": { "codeActionKind": { "valueSet": ["quickfix"] } } },
            "inlayHint": {},
        },
    })
}

impl Session {
    /// Starts the server and gets it ready.
    pub fn start(client: Value) -> Self {
        let mut session = Self::spawn();
        session.initialize(client, Value::Null);
        session
    }

    /// Starts the server and says nothing.
    pub fn spawn() -> Self {
        let mut child = Command::new(env!("CARGO_BIN_EXE_ohmline"))
            .args(["serve", "--stdio"])
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::inherit())
            .spawn()
            .expect("the binary was built for this test");
        let stdin = child.stdin.take();
        let stdout = child.stdout.take().expect("piped above");
        let (sender, inbox) = mpsc::channel();
        std::thread::spawn(move || {
            let mut stdout = BufReader::new(stdout);
            while let Some(message) = read(&mut stdout) {
                if sender.send(message).is_err() {
                    return;
                }
            }
        });
        let settings = Value::Null;
        Self {
            child,
            stdin,
            inbox,
            kept: VecDeque::new(),
            asked: Vec::new(),
            settings,
            next_id: 0,
            capabilities: Value::Null,
        }
    }

    pub fn initialize(&mut self, client: Value, options: Value) {
        let params = json!({ "processId": null, "rootUri": null, "capabilities": client,
            "initializationOptions": options });
        let answer = self.request("initialize", params).expect("initialize is answered");
        self.capabilities = answer["capabilities"].clone();
        self.notify("initialized", json!({}));
    }

    pub fn raw(&mut self, bytes: &[u8]) {
        let stdin = self.stdin.as_mut().expect("the input is open");
        stdin.write_all(bytes).and_then(|()| stdin.flush()).expect("the server reads");
    }

    pub fn send(&mut self, message: &Value) {
        let body = message.to_string();
        self.raw(format!("Content-Length: {}\r\n\r\n{body}", body.len()).as_bytes());
    }

    pub fn notify(&mut self, method: &str, params: Value) {
        self.send(&json!({ "jsonrpc": "2.0", "method": method, "params": params }));
    }

    /// Sends a request and gives its number.
    pub fn ask(&mut self, method: &str, params: Value) -> i64 {
        self.next_id += 1;
        let id = self.next_id;
        self.send(&json!({ "jsonrpc": "2.0", "id": id, "method": method, "params": params }));
        id
    }

    /// Waits for the answer to a request: its result or its error.
    pub fn answer(&mut self, id: i64) -> Result<Value, Value> {
        let message = self.wait(|message| message["id"] == id && message.get("method").is_none());
        match message.get("error") {
            Some(error) => Err(error.clone()),
            None => Ok(message["result"].clone()),
        }
    }

    pub fn request(&mut self, method: &str, params: Value) -> Result<Value, Value> {
        let id = self.ask(method, params);
        self.answer(id)
    }

    /// Waits for a message that fits, and takes it out of what has arrived.
    pub fn wait(&mut self, fits: impl Fn(&Value) -> bool) -> Value {
        if let Some(at) = self.kept.iter().position(&fits) {
            return self.kept.remove(at).expect("found above");
        }
        let until = Instant::now() + LIMIT;
        loop {
            let left = until.saturating_duration_since(Instant::now());
            let Ok(message) = self.inbox.recv_timeout(left) else {
                panic!("waited in vain; arrived meanwhile: {:#?}", self.kept);
            };
            self.serve(&message);
            if fits(&message) {
                return message;
            }
            self.kept.push_back(message);
        }
    }

    /// Answers what the server asks.
    fn serve(&mut self, message: &Value) {
        if message.get("method").is_some() && message.get("id").is_some() {
            self.asked.push(message.clone());
            let result = match message["method"].as_str() {
                Some("workspace/configuration") => json!([self.settings]),
                _ => Value::Null,
            };
            self.send(&json!({ "jsonrpc": "2.0", "id": message["id"], "result": result }));
        }
    }

    /// Waits until the server has asked this.
    pub fn wait_asked(&mut self, method: &str) {
        self.wait(|message| message["method"] == method && message.get("id").is_some());
    }

    pub fn open(&mut self, uri: &str, version: i64, text: &str) {
        let document = json!({ "uri": uri, "languageId": "ohmline", "version": version, "text": text });
        self.notify("textDocument/didOpen", json!({ "textDocument": document }));
    }

    pub fn close(&mut self, uri: &str) {
        self.notify("textDocument/didClose", json!({ "textDocument": { "uri": uri } }));
    }

    /// One change of a range, or of the whole text.
    pub fn change(&mut self, uri: &str, version: i64, range: Option<[u32; 4]>, text: &str) {
        let change = match range {
            None => json!({ "text": text }),
            Some(range) => json!({ "range": to_range(range), "text": text }),
        };
        self.changes(uri, version, json!([change]));
    }

    pub fn changes(&mut self, uri: &str, version: i64, changes: Value) {
        let params = json!({ "textDocument": { "uri": uri, "version": version }, "contentChanges": changes });
        self.notify("textDocument/didChange", params);
    }

    /// Waits until documents are analysed as they are now.
    pub fn settle(&mut self, uris: &[&str]) {
        for uri in uris {
            let at = json!({ "textDocument": { "uri": uri }, "position": { "line": 0, "character": 0 } });
            self.request("textDocument/hover", at).expect("a settled document answers");
        }
    }

    /// Every list of diagnostics of a document that has arrived, in order. The server has by then answered a request about
    /// its present text, and diagnostics are sent before such answers.
    pub fn published(&mut self, uri: &str) -> Vec<Value> {
        let at = json!({ "textDocument": { "uri": uri }, "position": { "line": 0, "character": 0 } });
        self.request("textDocument/hover", at).expect("a settled document answers");
        let (found, others) = std::mem::take(&mut self.kept).into_iter().partition(|message| {
            message["method"] == "textDocument/publishDiagnostics" && message["params"]["uri"] == uri
        });
        self.kept = others;
        let found: Vec<_> = Vec::from(found);
        found.into_iter().map(|mut message: Value| message["params"].take()).collect()
    }

    /// The diagnostics shown for a document now, given that something was sent since last asked.
    pub fn shown(&mut self, uri: &str) -> Vec<Value> {
        let last = self.published(uri).pop().expect("something was published");
        last["diagnostics"].as_array().expect("a list").clone()
    }

    pub fn hover(&mut self, uri: &str, line: u32, character: u32) -> String {
        let at = json!({ "textDocument": { "uri": uri }, "position": { "line": line, "character": character } });
        let answer = self.request("textDocument/hover", at).expect("hover answers");
        answer["contents"]["value"].as_str().unwrap_or("").to_owned()
    }

    /// Hints of a range as `line:column text`.
    pub fn hints(&mut self, uri: &str, range: [u32; 4]) -> Vec<String> {
        let params = json!({ "textDocument": { "uri": uri }, "range": to_range(range) });
        let answer = self.request("textDocument/inlayHint", params).expect("hints are answered");
        let hints = answer.as_array().expect("a list").iter();
        hints
            .map(|hint| {
                let at = &hint["position"];
                format!("{}:{} {}", at["line"], at["character"], hint["label"].as_str().expect("text"))
            })
            .collect()
    }

    /// Ends the input.
    pub fn end_input(&mut self) {
        self.stdin = None;
    }

    /// Waits for the end of the process and gives its status.
    pub fn status(&mut self) -> i32 {
        let until = Instant::now() + LIMIT;
        // The output ends with the process.
        while let Ok(message) = self.inbox.recv_timeout(until.saturating_duration_since(Instant::now())) {
            self.kept.push_back(message);
        }
        assert!(Instant::now() < until, "the process lives on");
        self.child.wait().expect("it is our child").code().expect("no signal")
    }
}

impl Drop for Session {
    fn drop(&mut self) {
        // A test that failed leaves nothing running.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

pub fn to_range([start_line, start, end_line, end]: [u32; 4]) -> Value {
    json!({ "start": { "line": start_line, "character": start }, "end": { "line": end_line, "character": end } })
}

fn read(input: &mut impl BufRead) -> Option<Value> {
    let mut length = 0;
    loop {
        let mut line = String::new();
        if input.read_line(&mut line).ok()? == 0 {
            return None;
        }
        let line = line.trim();
        if line.is_empty() {
            break;
        }
        if let Some(value) = line.strip_prefix("Content-Length: ") {
            length = value.parse().ok()?;
        }
    }
    let mut body = vec![0; length];
    std::io::Read::read_exact(input, &mut body).ok()?;
    serde_json::from_slice(&body).ok()
}

/// A text with edits made; columns are counted in UTF-16.
pub fn apply(text: &str, edits: &Value) -> String {
    let offset = |line: u64, character: u64| {
        let start: usize = text.split_inclusive('\n').take(line as usize).map(str::len).sum();
        let mut left = character as i64;
        let rest = text[start..].char_indices().find(|(_, c)| {
            let done = left <= 0;
            left -= c.len_utf16() as i64;
            done
        });
        rest.map_or(text.len(), |(at, _)| start + at)
    };
    let mut own: Vec<(usize, usize, String)> = edits
        .as_array()
        .expect("edits")
        .iter()
        .map(|edit| {
            let at = |end: &str| {
                let place = &edit["range"][end];
                offset(place["line"].as_u64().expect("a line"), place["character"].as_u64().expect("a column"))
            };
            (at("start"), at("end"), edit["newText"].as_str().expect("text").to_owned())
        })
        .collect();
    own.sort();
    let mut out = String::new();
    let mut from = 0;
    for (start, end, new) in own {
        assert!(start >= from, "edits overlap");
        out.push_str(&text[from..start]);
        out.push_str(&new);
        from = end;
    }
    out.push_str(&text[from..]);
    out
}

/// A circuit of which every state takes a while, in very many states.
pub fn slow(states: usize) -> String {
    let mut text = "battery B1 = 6 V\nB1+ -- @n1\n@n2001 -- B1-\nrepeat k from 1 to 2000\n\
        resistor R{k} = 1 ohm\n@n{k} -- R{k} -- @n{k+1}\nend\n"
        .to_owned();
    for state in 0..states {
        text.push_str(&format!("case \"{state}\": B1 = {} V\n", state + 1));
    }
    text
}
