//! Bytes to messages and back: the only module that knows how tower-lsp is driven.
//!
//! tower-lsp's own loop is not used, since with version 0.20 it does not end at `exit` while the input stays open, ends
//! the session when a handler panics or a message is malformed, lets notifications overtake each other, and can block for
//! good when handlers wait for the editor. Here, instead:
//! - Messages are taken up one after the other; each handler runs up to its first wait before the next message is
//!   looked at, so changes are applied in the order they were sent.
//! - What a handler does after that runs beside the loop, which therefore always goes on reading.
//! - A panic answers its request with an internal error and harms nothing else.
//! - `exit`, or the end of the input, ends the loop.

use std::io::{BufRead, Read, Write};
use std::panic::AssertUnwindSafe;
use std::pin::Pin;
use std::sync::mpsc as sync;
use std::task::{Context, Poll};
use std::time::Duration;

use futures::future::BoxFuture;
use futures::{FutureExt, SinkExt, StreamExt};
use serde::Serialize;
use serde_json::Value;
use tokio::sync::mpsc;
use tokio::task::JoinSet;
use tower_lsp::jsonrpc::{Error, Id, Request, Response};
use tower_lsp::{ClientSocket, ExitedError};
use tower_service::Service;

use crate::written::beside;

/// How many messages may wait between the input and the loop.
const QUEUE: usize = 256;
/// Messages shorter than this are written in one piece.
const ONE_PIECE: usize = 1 << 16;
/// Longest header line that is believed; longer ones are noise.
const HEADER_LIMIT: u64 = 8 * 1024;
/// How long requests under way may still take once the editor has gone.
const GRACE: Duration = Duration::from_secs(1);

/// What stands on the input.
#[derive(Debug, PartialEq, Eq)]
pub enum Incoming {
    /// The body of a message.
    Body(Vec<u8>),
    /// Bytes that belong to no message.
    Noise,
}

/// Reads the input on a thread of its own: a blocked read must not keep the process alive.
pub fn reader(input: impl BufRead + Send + 'static) -> mpsc::Receiver<Incoming> {
    let (sender, receiver) = mpsc::channel(QUEUE);
    std::thread::spawn(move || read_frames(input, |frame| sender.blocking_send(frame).is_ok()));
    receiver
}

/// Splits the input into messages until it ends or `take` wants no more.
fn read_frames(mut input: impl BufRead, mut take: impl FnMut(Incoming) -> bool) {
    let mut line = Vec::new();
    loop {
        // One message: header lines up to an empty one, then the body.
        let mut length = None;
        let mut noise = false;
        loop {
            line.clear();
            match (&mut input).take(HEADER_LIMIT).read_until(b'\n', &mut line) {
                Ok(0) | Err(_) => return,
                Ok(_) => {}
            }
            let text = line.trim_ascii();
            if text.is_empty() {
                if length.is_some() || noise {
                    break;
                }
                continue;
            }
            match header(text) {
                Header::Length { value, clean } => {
                    length = Some(value);
                    noise |= !clean;
                }
                Header::Other => {}
                Header::Noise => noise = true,
            }
        }
        if noise && !take(Incoming::Noise) {
            return;
        }
        let Some(length) = length else { continue };
        let mut body = Vec::new();
        match (&mut input).take(length).read_to_end(&mut body) {
            Ok(read) if read as u64 == length => {}
            _ => return,
        }
        if !take(Incoming::Body(body)) {
            return;
        }
    }
}

enum Header {
    /// `Content-Length`; not `clean` when something stands before it on the line.
    Length {
        value: u64,
        clean: bool,
    },
    Other,
    Noise,
}

fn header(line: &[u8]) -> Header {
    const LENGTH: &[u8] = b"content-length:";
    let at = line.windows(LENGTH.len()).rposition(|window| window.eq_ignore_ascii_case(LENGTH));
    if let Some(at) = at {
        let value = std::str::from_utf8(&line[at + LENGTH.len()..]).ok().and_then(|digits| digits.trim().parse().ok());
        return value.map_or(Header::Noise, |value| Header::Length { value, clean: at == 0 });
    }
    let is_name = |byte: &u8| byte.is_ascii_alphanumeric() || *byte == b'-';
    match line.iter().position(|byte| *byte == b':') {
        Some(colon) if colon > 0 && line[..colon].iter().all(is_name) => Header::Other,
        _ => Header::Noise,
    }
}

/// The way out for whole messages.
#[derive(Clone)]
pub struct Out(sync::Sender<Option<Vec<u8>>>);

impl Out {
    /// Tells the editor something, in order with everything else that is sent.
    pub fn notify(&self, method: &'static str, params: impl Serialize) {
        self.send(&Notification { jsonrpc: "2.0", method, params });
    }

    fn send(&self, message: &impl Serialize) {
        // A message of ours is plain data; should it not serialize, there is nothing to send.
        if let Ok(body) = serde_json::to_vec(message) {
            self.send_body(body);
        }
    }

    fn send_body(&self, body: Vec<u8>) {
        // The writer is gone only when the editor is.
        let _ = self.0.send(Some(body));
    }
}

/// What is told, as it is written.
#[derive(Serialize)]
struct Notification<P> {
    jsonrpc: &'static str,
    method: &'static str,
    params: P,
}

/// The end of the way out.
pub struct Writer {
    way: sync::Sender<Option<Vec<u8>>>,
    finished: sync::Receiver<()>,
}

impl Writer {
    /// Waits until everything that was sent is written, but not for ever: the editor may have stopped reading.
    pub fn finish(self, limit: Duration) {
        // Others may hold the way out for longer, so its end is said. An error means that it has ended already.
        let _ = self.way.send(None);
        let _ = self.finished.recv_timeout(limit);
    }
}

/// Writes on a thread of its own, so that an editor that is slow to read holds up nothing else.
pub fn writer(mut output: impl Write + Send + 'static) -> (Out, Writer) {
    let (sender, receiver) = sync::channel::<Option<Vec<u8>>>();
    let (done, finished) = sync::channel();
    std::thread::spawn(move || {
        // Dropped when the thread ends, however it ends.
        let _done: sync::Sender<()> = done;
        while let Ok(Some(body)) = receiver.recv() {
            let mut frame = format!("Content-Length: {}\r\n\r\n", body.len()).into_bytes();
            // What is short goes out in one piece; what is long is not copied for that.
            let (head, rest) = body.split_at(if body.len() < ONE_PIECE { body.len() } else { 0 });
            frame.extend_from_slice(head);
            if output.write_all(&frame).and_then(|()| output.write_all(rest)).and_then(|()| output.flush()).is_err() {
                return;
            }
        }
    });
    (Out(sender.clone()), Writer { way: sender, finished })
}

/// Feeds a service with the messages of an editor until it says `exit` or its stream ends.
pub async fn serve<S>(mut service: S, socket: ClientSocket, mut frames: mpsc::Receiver<Incoming>, out: Out)
where
    S: Service<
            Request,
            Response = Option<Response>,
            Error = ExitedError,
            Future = BoxFuture<'static, Result<Option<Response>, ExitedError>>,
        >,
{
    let (mut requests, mut answers) = socket.split();
    let to_editor = out.clone();
    let forward = tokio::spawn(async move {
        while let Some(request) = requests.next().await {
            to_editor.send(&request);
        }
    });
    let mut running = JoinSet::new();
    while let Some(frame) = frames.recv().await {
        while running.try_join_next().is_some() {}
        let Incoming::Body(body) = frame else {
            out.send(&Response::from_error(Id::Null, Error::parse_error()));
            continue;
        };
        match read_message(&body) {
            Message::Request(request) if request.method() == "exit" => break,
            Message::Request(request) => {
                if let Some(rest) = begin(&mut service, request, &out) {
                    running.spawn(rest);
                }
            }
            Message::Answer(answer) => {
                // An answer to nothing that was asked is noise; it must not end the session.
                let _ = AssertUnwindSafe(answers.send(answer)).catch_unwind().await;
            }
            Message::Refused(answer) => out.send(&answer),
        }
    }
    drop(frames);
    let _ = tokio::time::timeout(GRACE, async { while running.join_next().await.is_some() {} }).await;
    running.abort_all();
    forward.abort();
}

enum Message {
    Request(Request),
    Answer(Response),
    /// No message; with the answer that says so.
    Refused(Response),
}

/// Reads a body; what is not a message becomes the answer that says so. Bytes that are no UTF-8, which editors send from a
/// file in another encoding, are replaced: a change that is refused would leave the document out of step for good.
#[allow(clippy::result_large_err, reason = "one message at a time, and either way it is sent or handled at once")]
fn read_message(body: &[u8]) -> Message {
    let refused = |id, error| Message::Refused(Response::from_error(id, error));
    let Ok(mut value) = serde_json::from_str::<Value>(&String::from_utf8_lossy(body)) else {
        return refused(Id::Null, Error::parse_error());
    };
    // Many editors write what has no parameters, `shutdown` say, with parameters of null.
    if let Some(object) = value.as_object_mut()
        && object.get("params").is_some_and(Value::is_null)
    {
        object.remove("params");
    }
    // The protocol says `diagnostics` (Language Server Protocol 3.17, ClientCapabilities); lsp-types 0.94 reads another name.
    if value.get("method").is_some_and(|method| method == "initialize")
        && let Some(workspace) = value.pointer_mut("/params/capabilities/workspace").and_then(Value::as_object_mut)
        && let Some(own) = workspace.remove("diagnostics")
    {
        workspace.entry("diagnostic").or_insert(own);
    }
    if value.get("method").is_some() {
        let id = value.get("id").and_then(|id| serde_json::from_value(id.clone()).ok()).unwrap_or_default();
        serde_json::from_value(value).map_or_else(|_| refused(id, Error::invalid_request()), Message::Request)
    } else {
        // Only a request is owed an answer under its own number.
        serde_json::from_value(value).map_or_else(|_| refused(Id::Null, Error::invalid_request()), Message::Answer)
    }
}

/// Runs a handler up to its first wait. Returns what is left to run, if it is not done.
fn begin<S>(service: &mut S, request: Request, out: &Out) -> Option<Pin<Box<dyn Future<Output = ()> + Send>>>
where
    S: Service<
            Request,
            Response = Option<Response>,
            Error = ExitedError,
            Future = BoxFuture<'static, Result<Option<Response>, ExitedError>>,
        >,
{
    let id = request.id().cloned();
    let method = request.method().to_owned();
    let called = std::panic::catch_unwind(AssertUnwindSafe(|| service.call(request)));
    let out = out.clone();
    let handler = async move {
        let outcome = match called {
            Ok(future) => AssertUnwindSafe(beside(future)).catch_unwind().await,
            Err(panic) => Err(panic),
        };
        match outcome {
            Ok((Ok(Some(response)), written)) => {
                match written.filter(|_| response.is_ok()).and_then(|own| own.message(response.id())) {
                    Some(body) => out.send_body(body),
                    None => out.send(&response),
                }
            }
            Ok((Ok(None), _)) => {}
            Ok((Err(ExitedError { .. }), _)) => {
                if let Some(id) = id {
                    out.send(&Response::from_error(id, Error::invalid_request()));
                }
            }
            Err(panic) => {
                eprintln!("ohmline: {method} failed: {}", panic_text(panic.as_ref()));
                if let Some(id) = id {
                    out.send(&Response::from_error(id, Error::internal_error()));
                }
            }
        }
    };
    let mut handler = Box::pin(handler);
    match handler.as_mut().poll(&mut Context::from_waker(futures::task::noop_waker_ref())) {
        Poll::Ready(()) => None,
        Poll::Pending => Some(handler),
    }
}

/// What a panic said.
pub fn panic_text(panic: &(dyn std::any::Any + Send)) -> String {
    match (panic.downcast_ref::<&str>(), panic.downcast_ref::<String>()) {
        (Some(text), _) => (*text).to_owned(),
        (None, Some(text)) => text.clone(),
        (None, None) => "no message".to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use std::io::Cursor;

    use serde_json::json;
    use tower_lsp::jsonrpc::Result as RpcResult;
    use tower_lsp::lsp_types::{
        DidOpenTextDocumentParams, Hover, HoverParams, InitializeParams, InitializeResult, InitializedParams,
    };
    use tower_lsp::{Client, LanguageServer, LspService};

    use super::*;

    fn frames(text: &[u8]) -> Vec<Incoming> {
        let mut found = Vec::new();
        read_frames(Cursor::new(text.to_vec()), |frame| {
            found.push(frame);
            true
        });
        found
    }

    fn body(text: &str) -> Incoming {
        Incoming::Body(text.as_bytes().to_vec())
    }

    // Base protocol of the Language Server Protocol 3.17: header fields end in CRLF, names compare as in HTTP (without case).
    #[test]
    fn headers_in_any_case_and_order() {
        let text = b"content-LENGTH: 2\r\nContent-Type: application/vscode-jsonrpc; charset=utf-8\r\n\r\n{}\
            Content-Type: x\r\nX-Other: y\r\nContent-Length:3\r\n\r\n[1]";
        assert_eq!(frames(text), [body("{}"), body("[1]")]);
    }

    #[test]
    fn noise_is_told_and_skipped() {
        let text = b"hello\r\n\r\nContent-Length: 2\r\n\r\n{}trailing rubbishContent-Length: 2\r\n\r\n[]";
        assert_eq!(frames(text), [Incoming::Noise, body("{}"), Incoming::Noise, body("[]")]);
        assert_eq!(frames(b"Content-Length: many\r\n\r\n"), [Incoming::Noise]);
        assert_eq!(frames(&[0xff; 100_000]), []);
    }

    #[test]
    fn a_body_cut_short_is_no_message() {
        assert_eq!(frames(b"Content-Length: 10\r\n\r\n{}"), []);
    }

    /// A server whose handlers fail in every way a handler can.
    struct Fragile(#[allow(dead_code)] Client);

    #[tower_lsp::async_trait]
    impl LanguageServer for Fragile {
        async fn initialize(&self, _: InitializeParams) -> RpcResult<InitializeResult> {
            Ok(InitializeResult::default())
        }
        async fn initialized(&self, _: InitializedParams) {
            panic!("in a notification");
        }
        async fn did_open(&self, _: DidOpenTextDocumentParams) {
            tokio::task::yield_now().await;
            panic!("in a notification, later");
        }
        async fn hover(&self, params: HoverParams) -> RpcResult<Option<Hover>> {
            if params.text_document_position_params.position.line == 1 {
                tokio::task::yield_now().await;
            }
            panic!("in a request");
        }
        async fn shutdown(&self) -> RpcResult<()> {
            Ok(())
        }
    }

    struct Sink(sync::Sender<u8>);

    impl Write for Sink {
        fn write(&mut self, bytes: &[u8]) -> std::io::Result<usize> {
            bytes.iter().for_each(|byte| self.0.send(*byte).unwrap_or_default());
            Ok(bytes.len())
        }
        fn flush(&mut self) -> std::io::Result<()> {
            Ok(())
        }
    }

    /// Plays a session, and gives back what the server sent.
    fn play(messages: &[Value]) -> Vec<Value> {
        let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().unwrap();
        let (bytes, received) = sync::channel();
        let (out, done) = writer(Sink(bytes));
        runtime.block_on(async {
            let (service, socket) = LspService::new(Fragile);
            let (sender, frames) = mpsc::channel(messages.len());
            for message in messages {
                sender.send(Incoming::Body(serde_json::to_vec(message).unwrap())).await.unwrap();
            }
            // The sender lives on: the input stays open, and only `exit` can end the session.
            tokio::time::timeout(Duration::from_secs(10), serve(service, socket, frames, out)).await.unwrap();
            drop(sender);
        });
        done.finish(Duration::from_secs(10));
        let sent: Vec<u8> = received.try_iter().collect();
        let mut found = Vec::new();
        read_frames(Cursor::new(sent), |frame| {
            let Incoming::Body(body) = frame else { panic!("noise on the output") };
            found.push(serde_json::from_slice(&body).unwrap());
            true
        });
        found
    }

    #[test]
    fn panics_answer_and_the_session_goes_on() {
        let hover = |id: u32, line: u32| {
            json!({"jsonrpc": "2.0", "id": id, "method": "textDocument/hover", "params": {
                "textDocument": {"uri": "file:///a"}, "position": {"line": line, "character": 0}}})
        };
        let sent = play(&[
            json!({"jsonrpc": "2.0", "id": 1, "method": "initialize", "params": {"capabilities": {}}}),
            json!({"jsonrpc": "2.0", "method": "initialized", "params": {}}),
            json!({"jsonrpc": "2.0", "method": "textDocument/didOpen", "params": {"textDocument": {
                "uri": "file:///a", "languageId": "ohmline", "version": 1, "text": ""}}}),
            hover(2, 0),
            hover(3, 1),
            json!({"jsonrpc": "2.0", "id": 99, "result": "an answer to nothing"}),
            json!([1, 2]),
            json!({"jsonrpc": "2.0", "id": 4, "method": 7}),
            json!({"jsonrpc": "2.0", "id": 5, "method": "shutdown"}),
            json!({"jsonrpc": "2.0", "method": "exit"}),
        ]);
        let code = |id: Value| {
            let answer = sent.iter().find(|message| message["id"] == id).expect("answered");
            answer["error"]["code"].as_i64()
        };
        assert_eq!(code(json!(1)), None);
        // JSON-RPC 2.0, section 5.1: internal error, invalid request.
        assert_eq!(code(json!(2)), Some(-32603));
        assert_eq!(code(json!(3)), Some(-32603));
        assert_eq!(code(json!(4)), Some(-32600));
        assert_eq!(code(Value::Null), Some(-32600));
        assert_eq!(code(json!(5)), None);
    }
}
