//! Standard output and standard error: whether they take color, and what happens when nobody reads them any more.

use std::io::{self, IsTerminal, Write};

use ohmline_report::{Paint, Tone};

/// The two streams of the command.
#[derive(Clone, Copy, Debug)]
pub struct Terminal {
    /// Emphasis on standard output.
    pub out: Paint,
    /// Emphasis on standard error.
    pub err: Paint,
}

/// Standard output has no reader any more.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Gone;

impl Terminal {
    /// Looks at the streams and the environment: color on a terminal, unless `NO_COLOR` is set and not empty (no-color.org) or
    /// the terminal says that it knows none.
    pub fn new() -> Self {
        let refused = std::env::var_os("NO_COLOR").is_some_and(|value| !value.is_empty())
            || std::env::var_os("TERM").is_some_and(|value| value == "dumb");
        Self {
            out: Paint { on: !refused && io::stdout().is_terminal() },
            err: Paint { on: !refused && io::stderr().is_terminal() },
        }
    }

    /// Columns of the terminal, if the environment tells: shells set `COLUMNS` (POSIX.1-2017, 8.3), and people may.
    pub fn columns(self) -> Option<usize> {
        let columns = std::env::var("COLUMNS").ok()?.parse().ok()?;
        (40..=1000).contains(&columns).then_some(columns)
    }

    /// Writes results.
    pub fn write(self, bytes: &[u8]) -> Result<(), Gone> {
        let mut out = io::stdout().lock();
        match out.write_all(bytes).and_then(|()| out.flush()) {
            Ok(()) => Ok(()),
            Err(error) => {
                if error.kind() != io::ErrorKind::BrokenPipe {
                    self.complain(&format!("cannot write the result: {error}"));
                }
                Err(Gone)
            }
        }
    }

    /// Says something about the call or a file of it, on standard error.
    pub fn complain(self, message: &str) {
        self.say(&format!("{} {message}\n", self.err.tone(Tone::Bad, "ohmline:")));
    }

    /// Writes to standard error. That nobody reads it is no reason to stop.
    pub fn say(self, text: &str) {
        let mut err = io::stderr().lock();
        let _ = err.write_all(text.as_bytes()).and_then(|()| err.flush());
    }
}
