//! Large answers, written once.
//!
//! tower-lsp makes a tree of values of every answer before that is written: for the symbols or tokens of a large document this costs many
//! times what the writing itself does. Here a handler writes its answer at once and hands it past tower-lsp to the transport, which
//! sends it in place of what the handler returned.

use std::cell::RefCell;

use serde::Serialize;
use tower_lsp::jsonrpc::Id;

tokio::task_local! {
    /// The answer that the handler at work has written.
    static WRITTEN: RefCell<Option<Written>>;
}

/// What stands before the answer in a message.
const HEAD: &[u8] = b"{\"jsonrpc\":\"2.0\",\"result\":";

/// The beginning of a message that answers: all but the number of the request.
#[derive(Debug)]
pub struct Written(Vec<u8>);

impl Written {
    /// The whole message.
    pub fn message(self, id: &Id) -> Option<Vec<u8>> {
        let mut body = self.0;
        body.extend_from_slice(b",\"id\":");
        serde_json::to_writer(&mut body, id).ok()?;
        body.push(b'}');
        Some(body)
    }
}

/// Writes an answer, and gives what the handler is to return in its place. Where nobody takes over what is written, that is the answer itself.
pub fn at_once<T: Serialize + Default>(answer: T) -> T {
    // An answer of ours is plain data; should it not serialize, tower-lsp says so.
    match written(|body| serde_json::to_writer(body, &answer).is_ok()) {
        true => T::default(),
        false => answer,
    }
}

/// As [`at_once`], of an answer that knows how to write itself.
pub fn by_itself<A: Write, T: Default>(answer: A, returned: impl FnOnce(A) -> T) -> T {
    let write = |body: &mut Vec<u8>| {
        answer.write(body);
        true
    };
    match written(write) {
        true => T::default(),
        false => returned(answer),
    }
}

/// What writes itself as JSON, quicker than field by field.
pub trait Write {
    /// Appends itself.
    fn write(&self, out: &mut Vec<u8>);
}

/// Whether an answer was written that will be sent.
fn written(write: impl FnOnce(&mut Vec<u8>) -> bool) -> bool {
    let into = |slot: &RefCell<Option<Written>>| {
        let mut body = HEAD.to_vec();
        let done = write(&mut body);
        if done {
            *slot.borrow_mut() = Some(Written(body));
        }
        done
    };
    WRITTEN.try_with(into).unwrap_or(false)
}

/// Runs a handler. With what it returns comes what it wrote.
pub async fn beside<F: Future>(handler: F) -> (F::Output, Option<Written>) {
    let taking = async {
        let returned = handler.await;
        (returned, WRITTEN.with(RefCell::take))
    };
    WRITTEN.scope(RefCell::new(None), taking).await
}

#[cfg(test)]
mod tests {
    use serde_json::{Value, json};

    use super::*;

    fn run<F: Future>(handler: F) -> (F::Output, Option<Written>) {
        let runtime = tokio::runtime::Builder::new_current_thread().build().unwrap();
        runtime.block_on(beside(handler))
    }

    #[test]
    fn what_is_written_is_the_whole_message() {
        let (returned, written) = run(async { at_once(Some(vec![1, 2])) });
        assert_eq!(returned, None);
        let message = written.unwrap().message(&Id::String("a\"b".to_owned())).unwrap();
        let message: Value = serde_json::from_slice(&message).unwrap();
        assert_eq!(message, json!({ "jsonrpc": "2.0", "result": [1, 2], "id": "a\"b" }));
    }

    #[test]
    fn each_handler_has_its_own() {
        assert!(run(async { Some(3) }).1.is_none());
        // Beside nobody.
        assert_eq!(at_once(Some(4)), Some(4));
    }
}
