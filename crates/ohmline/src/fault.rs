//! What the command says when it fails through a fault of its own.

use std::cell::RefCell;
use std::io::Write;
use std::panic::{AssertUnwindSafe, PanicHookInfo, catch_unwind};

thread_local! {
    /// The file being read, for the message.
    static CURRENT: RefCell<Option<String>> = const { RefCell::new(None) };
}

/// Replaces the message of the standard library.
pub fn install() {
    std::panic::set_hook(Box::new(|info: &PanicHookInfo<'_>| {
        let file = CURRENT.with(|current| current.try_borrow().ok().and_then(|name| name.clone()));
        let what = info.payload();
        let what = what
            .downcast_ref::<&str>()
            .copied()
            .or_else(|| what.downcast_ref::<String>().map(String::as_str))
            .unwrap_or("no message");
        let place = info.location().map_or_else(String::new, |at| format!("{}:{}", at.file(), at.line()));
        let text = message(file.as_deref(), what, &place);
        // A closed standard error must not turn one fault into two.
        let _ = std::io::stderr().lock().write_all(text.as_bytes());
    }));
}

fn message(file: Option<&str>, what: &str, place: &str) -> String {
    let at = file.map_or_else(String::new, |file| format!(" at {file}"));
    let send =
        if file.is_some() { "Please send that file, with the lines below," } else { "Please send the lines below" };
    format!(
        "ohmline: something went wrong inside the tool{at}.\n\
         This is a fault of Ohmline, not of your circuit; your file is untouched.\n\
         {send} to its maintainers, so that it can be mended.\n\n  \
         ohmline {}: {what}\n  {place}\n",
        env!("CARGO_PKG_VERSION")
    )
}

/// Does something with a file; a fault of ours meanwhile is reported, and `None` comes back, so that the next file has its turn.
pub fn guard<T>(file: &str, work: impl FnOnce() -> T) -> Option<T> {
    CURRENT.with(|current| *current.borrow_mut() = Some(file.to_owned()));
    // Nothing that `work` could leave half done is used after a fault: its result is dropped with it.
    let result = catch_unwind(AssertUnwindSafe(work)).ok();
    CURRENT.with(|current| *current.borrow_mut() = None);
    result
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn asks_for_the_file_politely() {
        let text = message(Some("pier.ohmline"), "index out of bounds", "crates/x.rs:7");
        assert!(text.starts_with("ohmline: something went wrong inside the tool at pier.ohmline.\n"), "{text}");
        assert!(
            text.contains("Please send that file") && text.contains("index out of bounds\n  crates/x.rs:7\n"),
            "{text}"
        );
        assert!(message(None, "x", "y").contains("Please send the lines below to"));
    }

    #[test]
    fn the_next_file_has_its_turn() {
        let quiet = std::panic::take_hook();
        std::panic::set_hook(Box::new(|_| {}));
        let fell = guard("a.ohmline", || panic!("on purpose"));
        std::panic::set_hook(quiet);
        assert_eq!(fell, None::<()>);
        assert_eq!(guard("b.ohmline", || 7), Some(7));
    }
}
