//! Tables of text whose numbers stand with their decimal points, and their units, below each other.

use unicode_width::{UnicodeWidthChar, UnicodeWidthStr};

use crate::paint::{Paint, Tone};

/// Columns that a text takes up on a terminal.
pub fn width(text: &str) -> usize {
    text.width()
}

/// The text without anything that could steer a terminal: control characters, and marks that turn the direction of writing.
pub fn clean(text: &str) -> String {
    text.chars()
        .map(|c| match c {
            '\t' | '\n' | '\r' => ' ',
            c if c.is_control() => '\u{fffd}',
            '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}' => '\u{fffd}',
            c => c,
        })
        .collect()
}

/// One cell.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) enum Cell {
    /// Words.
    Text(String),
    /// A number, its unit, and a mark behind it.
    Number { number: String, unit: String, mark: &'static str },
}

impl Cell {
    /// Nothing.
    pub const fn empty() -> Self {
        Cell::Text(String::new())
    }

    /// Words.
    pub fn text(text: impl Into<String>) -> Self {
        Cell::Text(text.into())
    }

    /// What [`ohmline_circuit::quantity::show`] wrote, taken apart at its space.
    pub fn shown(shown: &str) -> Self {
        let (number, unit) = shown.split_once(' ').unwrap_or((shown, ""));
        Cell::Number { number: number.to_owned(), unit: unit.to_owned(), mark: "" }
    }

    /// With a mark behind it.
    pub fn marked(self, mark: &'static str) -> Self {
        match self {
            Cell::Number { number, unit, .. } => Cell::Number { number, unit, mark },
            Cell::Text(text) => Cell::Text(format!("{text}{mark}")),
        }
    }
}

/// Widths of one column.
#[derive(Clone, Copy, Default)]
struct Column {
    numeric: bool,
    whole: usize,
    part: usize,
    unit: usize,
    mark: usize,
    total: usize,
}

impl Column {
    fn numbers(&self) -> usize {
        self.whole + self.part + if self.unit > 0 { 1 + self.unit } else { 0 } + self.mark
    }
}

/// The digits before the decimal point, and the point with what follows.
fn halves(number: &str) -> (&str, &str) {
    number.split_at(number.find('.').unwrap_or(number.len()))
}

/// A table: a heading for each column, then rows.
#[derive(Clone, Debug, Default)]
pub(crate) struct Table {
    headings: Vec<String>,
    rows: Vec<Vec<Cell>>,
}

/// Blanks between columns.
const GAP: usize = 3;

impl Table {
    pub fn new<I: IntoIterator<Item: Into<String>>>(headings: I) -> Self {
        Self { headings: headings.into_iter().map(Into::into).collect(), rows: Vec::new() }
    }

    pub fn row(&mut self, cells: Vec<Cell>) {
        self.rows.push(cells);
    }

    pub fn is_empty(&self) -> bool {
        self.rows.is_empty()
    }

    /// As HTML; each row has its first cell as its heading and as its `data-row`. Texts are escaped by `escape`.
    pub fn html(&self, escape: impl Fn(&str) -> String) -> String {
        let mut out = String::from("<div class=\"wide\"><table>\n<tr>");
        for heading in &self.headings {
            out.push_str(&format!("<th scope=\"col\">{}</th>", escape(heading)));
        }
        out.push_str("</tr>\n");
        for row in &self.rows {
            for (index, cell) in row.iter().enumerate() {
                match (index, cell) {
                    (0, Cell::Text(name)) => {
                        let name = escape(name);
                        out.push_str(&format!("<tr data-row=\"{name}\"><th scope=\"row\">{name}</th>"));
                    }
                    (_, Cell::Text(text)) => out.push_str(&format!("<td>{}</td>", escape(text))),
                    (_, Cell::Number { number, unit, mark }) => {
                        let text = escape(&format!("{number}\u{a0}{unit}{mark}"));
                        out.push_str(&format!("<td class=\"number\">{}</td>", text.trim_end_matches('\u{a0}')));
                    }
                }
            }
            out.push_str("</tr>\n");
        }
        out.push_str("</table></div>\n");
        out
    }

    fn columns(&self) -> Vec<Column> {
        let mut columns = vec![Column::default(); self.headings.len()];
        for row in &self.rows {
            for (column, cell) in columns.iter_mut().zip(row) {
                match cell {
                    Cell::Text(text) => column.total = column.total.max(width(text)),
                    Cell::Number { number, unit, mark } => {
                        let (whole, part) = halves(number);
                        column.numeric = true;
                        column.whole = column.whole.max(width(whole));
                        column.part = column.part.max(width(part));
                        column.unit = column.unit.max(width(unit));
                        column.mark = column.mark.max(width(mark));
                    }
                }
            }
        }
        for (column, heading) in columns.iter_mut().zip(&self.headings) {
            column.total = column.total.max(column.numbers());
            // A column without a single entry takes no room, whatever its heading.
            if column.total > 0 {
                column.total = column.total.max(width(heading));
            }
        }
        columns
    }

    /// Writes the table, each line indented by `indent`. Columns without an entry are left out.
    pub fn write(&self, out: &mut String, indent: usize, paint: Paint) {
        let columns = self.columns();
        if self.headings.iter().any(|heading| !heading.is_empty()) {
            let mut line = String::new();
            let mut gap = indent;
            for (column, heading) in columns.iter().zip(&self.headings).filter(|(column, _)| column.total > 0) {
                let room = column.total - width(heading);
                let (before, after) = if column.numeric { (room, 0) } else { (0, room) };
                blanks(&mut line, gap + before);
                line.push_str(heading);
                gap = GAP + after;
            }
            out.push_str(&paint.tone(Tone::Faint, line.trim_end()));
            out.push('\n');
        }
        for row in &self.rows {
            let mut gap = indent;
            for (column, cell) in columns.iter().zip(row).filter(|(column, _)| column.total > 0) {
                match cell {
                    Cell::Text(text) if text.is_empty() => gap += column.total + GAP,
                    Cell::Text(text) => {
                        let room = column.total - width(text);
                        let (before, after) = if column.numeric { (room, 0) } else { (0, room) };
                        blanks(out, gap + before);
                        out.push_str(text);
                        gap = GAP + after;
                    }
                    Cell::Number { number, unit, mark } => {
                        let (whole, part) = halves(number);
                        blanks(out, gap + column.total - column.numbers() + column.whole - width(whole));
                        out.push_str(number);
                        gap = column.part - width(part);
                        if column.unit > 0 {
                            gap += 1;
                            if !unit.is_empty() {
                                blanks(out, gap);
                                out.push_str(unit);
                                gap = 0;
                            }
                            gap += column.unit - width(unit);
                        }
                        if !mark.is_empty() {
                            blanks(out, gap);
                            out.push_str(mark);
                            gap = 0;
                        }
                        gap += column.mark - width(mark) + GAP;
                    }
                }
            }
            out.push('\n');
        }
    }
}

fn blanks(out: &mut String, count: usize) {
    out.extend(std::iter::repeat_n(' ', count));
}

/// Breaks a text at blanks into lines of at most `room` columns (longer words stay whole).
pub fn wrap(text: &str, room: usize) -> Vec<String> {
    let mut lines = Vec::new();
    let mut line = String::new();
    let mut used = 0;
    for word in text.split(' ').filter(|word| !word.is_empty()) {
        let wide: usize = word.chars().map(|c| c.width().unwrap_or(0)).sum();
        if used > 0 && used + 1 + wide > room {
            lines.push(std::mem::take(&mut line));
            used = 0;
        }
        if used > 0 {
            line.push(' ');
            used += 1;
        }
        line.push_str(word);
        used += wide;
    }
    if !line.is_empty() || lines.is_empty() {
        lines.push(line);
    }
    lines
}

#[cfg(test)]
mod tests {
    use expect_test::expect;

    use super::*;

    #[test]
    fn points_and_units_stand_below_each_other() {
        let mut table = Table::new(["name", "current", "voltage"]);
        table.row(vec![Cell::text("R1"), Cell::shown("300 mA"), Cell::shown("4.50 V")]);
        table.row(vec![Cell::text("灯1"), Cell::shown("-1.35 A").marked(" *"), Cell::text("undetermined")]);
        table.row(vec![Cell::text("ΩK"), Cell::empty(), Cell::shown("12.0 mV")]);
        let mut out = String::new();
        table.write(&mut out, 0, Paint::default());
        let widths: Vec<_> = out.lines().map(width).collect();
        expect![[r#"
              name       current        voltage
              R1     300    mA          4.50 V
              灯1     -1.35 A  *   undetermined
              ΩK                       12.0  mV
        "#]]
        .assert_eq(&out);
        assert!(widths.iter().all(|width| *width <= 45), "{widths:?}");
    }

    #[test]
    fn wrapping_keeps_every_word() {
        let text = "one two  three four";
        assert_eq!(wrap(text, 9), ["one two", "three", "four"]);
        assert_eq!(wrap("", 9), [""]);
        assert_eq!(wrap("unbreakable", 3), ["unbreakable"]);
    }

    #[test]
    fn nothing_steers_the_terminal() {
        assert_eq!(clean("a\x1b[31mb\u{202e}c\td"), "a\u{fffd}[31mb\u{fffd}c d");
    }
}
