//! What a hover says, before it is Markdown or plain text.

use std::fmt::Write;

use ohmline_syntax::Span;

/// What is shown for a place.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Hover {
    /// The words it is about.
    pub span: Span,
    /// What is shown, from top to bottom.
    pub parts: Vec<Part>,
}

/// A piece of what is shown.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Part {
    /// A name and what it is.
    Title {
        /// The name.
        name: String,
        /// What it is.
        is: String,
    },
    /// Text of the notation.
    Source(String),
    /// A paragraph.
    Text(String),
    /// Sentences that follow each other, one a line.
    Steps(Vec<String>),
    /// Rows of cells under a head.
    Table {
        /// The heads of the columns.
        head: Vec<String>,
        /// The rows, each as long as the head.
        rows: Vec<Vec<String>>,
        /// How many rows are not shown.
        left_out: usize,
    },
    /// A line between two subjects.
    Rule,
}

impl Hover {
    /// As Markdown. Tables are padded, so that it can also be read as it is.
    pub fn markdown(&self) -> String {
        let mut blocks = Vec::new();
        for part in &self.parts {
            blocks.push(match part {
                Part::Title { name, is } => format!("**{}**: {}", escaped_inline(name), escaped_inline(is)),
                Part::Source(text) => {
                    // A fence longer than any in the text.
                    let fence = "`".repeat(longest_run(text, '`').max(2) + 1);
                    format!("{fence}ohmline\n{text}\n{fence}")
                }
                Part::Text(text) => escaped(text),
                Part::Steps(steps) => {
                    let steps =
                        steps.iter().enumerate().map(|(at, step)| format!("{}. {}", at + 1, escaped_inline(step)));
                    steps.collect::<Vec<_>>().join("\n")
                }
                Part::Table { head, rows, left_out } => {
                    let head: Vec<_> = head.iter().map(|cell| escaped_inline(cell)).collect();
                    let rows: Vec<Vec<_>> =
                        rows.iter().map(|row| row.iter().map(|cell| escaped_inline(cell)).collect()).collect();
                    let widths = widths(&head, &rows);
                    let mut out = String::new();
                    line(&mut out, &head, &widths, "| ", " | ", " |");
                    let dashes: Vec<_> = widths
                        .iter()
                        .enumerate()
                        .map(|(column, width)| {
                            let dashes = "-".repeat((*width).max(3));
                            if column == 0 { dashes } else { format!("{}:", &dashes[1..]) }
                        })
                        .collect();
                    out.push_str("\n| ");
                    out.push_str(&dashes.join(" | "));
                    out.push_str(" |");
                    for row in &rows {
                        out.push('\n');
                        line(&mut out, row, &widths, "| ", " | ", " |");
                    }
                    more(&mut out, *left_out, "\n\n");
                    out
                }
                Part::Rule => "---".to_owned(),
            });
        }
        blocks.join("\n\n")
    }

    /// As plain text.
    pub fn plain(&self) -> String {
        let mut blocks = Vec::new();
        for part in &self.parts {
            blocks.push(match part {
                Part::Title { name, is } => format!("{name}: {is}"),
                Part::Source(text) | Part::Text(text) => text.clone(),
                Part::Steps(steps) => {
                    let steps = steps.iter().enumerate().map(|(at, step)| format!("{}. {step}", at + 1));
                    steps.collect::<Vec<_>>().join("\n")
                }
                Part::Table { head, rows, left_out } => {
                    let widths = widths(head, rows);
                    let mut out = String::new();
                    line(&mut out, head, &widths, "", "  ", "");
                    for row in rows {
                        out.push('\n');
                        line(&mut out, row, &widths, "", "  ", "");
                    }
                    more(&mut out, *left_out, "\n");
                    out
                }
                Part::Rule => String::new(),
            });
        }
        blocks.join("\n")
    }
}

fn more(out: &mut String, left_out: usize, before: &str) {
    if left_out > 0 {
        // Writing to a string cannot fail.
        let _ = write!(out, "{before}and {left_out} more");
    }
}

fn widths(head: &[String], rows: &[Vec<String>]) -> Vec<usize> {
    let width = |cell: &String| cell.chars().count();
    let of = |column: usize| {
        let cells = rows.iter().filter_map(|row| row.get(column)).map(width);
        cells.chain([width(&head[column]), 3]).max().unwrap_or(3)
    };
    (0..head.len()).map(of).collect()
}

/// One row: names to the left, values to the right.
fn line(out: &mut String, cells: &[String], widths: &[usize], start: &str, between: &str, end: &str) {
    out.push_str(start);
    for (column, (cell, width)) in cells.iter().zip(widths).enumerate() {
        if column > 0 {
            out.push_str(between);
        }
        let _ = if column == 0 { write!(out, "{cell:<width$}") } else { write!(out, "{cell:>width$}") };
    }
    out.push_str(end);
    if end.is_empty() {
        out.truncate(out.trim_end().len());
    }
}

/// Paragraphs whose signs are not taken for Markdown (CommonMark 0.31, "Backslash escapes").
fn escaped(text: &str) -> String {
    escaped_after(text, None)
}

/// As [`escaped`], for words in the middle of a line.
fn escaped_inline(text: &str) -> String {
    escaped_after(text, Some(' '))
}

fn escaped_after(text: &str, mut before: Option<char>) -> String {
    let mut out = String::with_capacity(text.len());
    // Words in backquotes stay what they are.
    let quotes = text.matches('`').count().is_multiple_of(2);
    let mut quoted = false;
    let mut rest = text.chars().peekable();
    while let Some(c) = rest.next() {
        if quotes && c == '`' {
            quoted = !quoted;
        } else if !quoted {
            // An underscore between letters emphasizes nothing.
            let inside = c == '_'
                && before.is_some_and(char::is_alphanumeric)
                && rest.peek().is_some_and(|c| c.is_alphanumeric());
            let starts_line = before.is_none_or(|c| c == '\n') && matches!(c, '#' | '+' | '-' | '=');
            let means = matches!(c, '\\' | '`' | '*' | '_' | '[' | ']' | '<' | '>' | '|' | '~' | '&');
            if starts_line || (means && !inside) {
                out.push('\\');
            }
        }
        out.push(c);
        before = Some(c);
    }
    out
}

fn longest_run(text: &str, of: char) -> usize {
    text.split(|c| c != of).map(str::len).max().unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use expect_test::expect;

    use super::*;

    fn sample() -> Hover {
        let cells = |cells: [&str; 3]| cells.map(str::to_owned).to_vec();
        Hover {
            span: Span::new(0, 2),
            parts: vec![
                Part::Title { name: "R_1_".to_owned(), is: "resistor, 9 Ω".to_owned() },
                Part::Source("resistor R_1_ = 9 ohm".to_owned()),
                Part::Table {
                    head: cells(["", "as drawn", "\"night\""]),
                    rows: vec![
                        cells(["current through", "300 mA", "-20 mA"]),
                        cells(["voltage across", "2.70 V", "undetermined"]),
                    ],
                    left_out: 3,
                },
                Part::Rule,
                Part::Text("In series with <B1> | S1.".to_owned()),
            ],
        }
    }

    #[test]
    fn markdown_reads_well_as_it_is() {
        expect![[r#"
            **R_1\_**: resistor, 9 Ω

            ```ohmline
            resistor R_1_ = 9 ohm
            ```

            |                 | as drawn |      "night" |
            | --------------- | -------: | -----------: |
            | current through |   300 mA |       -20 mA |
            | voltage across  |   2.70 V | undetermined |

            and 3 more

            ---

            In series with \<B1\> \| S1."#]]
        .assert_eq(&sample().markdown());
    }

    #[test]
    fn signs_stay_signs() {
        assert_eq!(escaped("- B1- `R_*` a_b _x_"), "\\- B1- `R_*` a_b \\_x\\_");
        assert_eq!(escaped("a ` b"), "a \\` b");
        assert_eq!(escaped_inline("-20 mA"), "-20 mA");
    }

    #[test]
    fn plain_text_lines_up() {
        expect![[r#"
            R_1_: resistor, 9 Ω
            resistor R_1_ = 9 ohm
                             as drawn       "night"
            current through    300 mA        -20 mA
            voltage across     2.70 V  undetermined
            and 3 more

            In series with <B1> | S1."#]]
        .assert_eq(&sample().plain());
    }
}
