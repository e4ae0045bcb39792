//! Findings as JUnit XML, the form in which continuous integration reads test results: a suite for each file, a failure for each error
//! and warning.

use std::io;

use ohmline_syntax::Severity;

use crate::check_json::{Checked, Unreadable};
use crate::check_lines::check_line;

/// Writes the result of a check of several files.
pub fn write_check_junit(mut out: impl io::Write, files: &[Checked<'_>], unreadable: &[Unreadable]) -> io::Result<()> {
    let failing =
        |checked: &Checked<'_>| checked.shown.iter().filter(|found| found.severity <= Severity::Warning).count();
    let failures: usize = files.iter().map(failing).sum();
    let tests: usize = files.iter().map(|checked| failing(checked).max(1)).sum::<usize>() + unreadable.len();
    writeln!(out, "<?xml version=\"1.0\" encoding=\"UTF-8\"?>")?;
    writeln!(
        out,
        "<testsuites name=\"ohmline check\" tests=\"{tests}\" failures=\"{failures}\" errors=\"{}\">",
        unreadable.len()
    )?;
    for checked in files {
        let name = checked.analysis.sources.files.first().map_or("", |source| source.name.as_str());
        let (name, count) = (escape(name), failing(checked));
        writeln!(out, "  <testsuite name=\"{name}\" tests=\"{}\" failures=\"{count}\" errors=\"0\">", count.max(1))?;
        if count == 0 {
            writeln!(out, "    <testcase classname=\"{name}\" name=\"nothing wrong\"/>")?;
        }
        for found in checked.shown.iter().filter(|found| found.severity <= Severity::Warning) {
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
        writeln!(out, "  </testsuite>")?;
    }
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
