//! Findings as JUnit XML, the form in which continuous integration reads test results: a suite for each file, a failure for each error
//! and warning.

use std::fmt::{self, Write as _};
use std::io::{self, Write as _};

use ohmline_syntax::Severity;

use crate::check_lines::check_line;
use crate::check_writer::{CheckWriter, Checked, Unreadable};
use crate::tally::Tally;

/// Writes the result of a check. What is said of the files is kept as text: its head counts all of them.
#[derive(Default)]
pub struct CheckJunit {
    suites: String,
    tests: usize,
    failures: usize,
}

impl CheckWriter for CheckJunit {
    fn begin(&mut self, _: &mut Vec<u8>) {}

    fn add(&mut self, checked: &Checked<'_>, _: &[u8], _: &mut Vec<u8>) {
        // Writing into a string cannot fail.
        let _ = self.suite(checked);
    }

    fn end(&mut self, unreadable: &[Unreadable], _: &Tally, out: &mut Vec<u8>) {
        // Nor into memory.
        let _ = self.whole(unreadable, out);
    }
}

impl CheckJunit {
    fn suite(&mut self, checked: &Checked<'_>) -> fmt::Result {
        let name = checked.analysis.sources.files.first().map_or("", |source| source.name.as_str());
        let failing = || checked.shown.iter().filter(|found| found.severity <= Severity::Warning);
        let (name, count) = (escape(name), failing().count());
        self.failures += count;
        self.tests += count.max(1);
        let out = &mut self.suites;
        writeln!(out, "  <testsuite name=\"{name}\" tests=\"{}\" failures=\"{count}\" errors=\"0\">", count.max(1))?;
        if count == 0 {
            writeln!(out, "    <testcase classname=\"{name}\" name=\"nothing wrong\"/>")?;
        }
        for found in failing() {
            let message = escape(&found.message);
            writeln!(out, "    <testcase classname=\"{name}\" name=\"{}: {message}\">", found.rule)?;
            let mut text = check_line(checked.analysis, found);
            for line in found.notes.iter().chain(&found.help) {
                text.push('\n');
                text.push_str(line);
            }
            let level = found.severity.word();
            writeln!(
                out,
                "      <failure type=\"{level}\" message=\"{message}\">{}</failure>\n    </testcase>",
                escape(&text)
            )?;
        }
        writeln!(out, "  </testsuite>")
    }

    fn whole(&self, unreadable: &[Unreadable], out: &mut Vec<u8>) -> io::Result<()> {
        let (tests, failures, errors) = (self.tests + unreadable.len(), self.failures, unreadable.len());
        writeln!(out, "<?xml version=\"1.0\" encoding=\"UTF-8\"?>")?;
        writeln!(
            out,
            "<testsuites name=\"ohmline check\" tests=\"{tests}\" failures=\"{failures}\" errors=\"{errors}\">"
        )?;
        out.extend_from_slice(self.suites.as_bytes());
        for own in unreadable {
            let (name, why) = (escape(&own.file), escape(&own.why));
            writeln!(out, "  <testsuite name=\"{name}\" tests=\"1\" failures=\"0\" errors=\"1\">")?;
            writeln!(
                out,
                "    <testcase classname=\"{name}\" name=\"cannot be read\"><error message=\"{why}\"/></testcase>"
            )?;
            writeln!(out, "  </testsuite>")?;
        }
        writeln!(out, "</testsuites>")
    }
}

/// Text for XML 1.0: what it reserves is escaped, what it forbids is left out.
fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\n' | '\t' => out.push(c),
            c if c.is_control() || matches!(c, '\u{fffe}' | '\u{ffff}') => {}
            c => out.push(c),
        }
    }
    out
}
