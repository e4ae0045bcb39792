//! Expressions with units.

use malachite::base::num::logic::traits::SignificantBits;
use ohmline_syntax::tree::{BinaryOp, Expr, ExprKind, Name, Ref, Value, ValueMain};
use ohmline_syntax::{FileSpan, Safety, words};

use super::cells::{Content, Reader};
use super::nearest::nearest;
use super::report::{diagnostic, listed, offer};
use super::resolve::Target;
use super::scope::{ScopeId, Symbol};
use super::{Builder, Site, rules};
use crate::quantity::{Dimension, LiteralError, Measure, UnitError, read_literal, read_unit};

/// Words that are values by themselves.
pub(super) const VALUE_WORDS: &[&str] = &["open", "closed", "shorted", "a", "b"];
/// Most bits of a numerator or denominator in an expression.
const MAX_BITS: u64 = 4096;

impl<'a> Builder<'a> {
    /// What a value without `at` turns out to be.
    pub(super) fn content(&mut self, value: &'a Value, site: Site, reader: Option<Reader>) -> Content {
        if let Some(at) = &value.at {
            let message = "`at` stands only in the value of a lamp or a potentiometer";
            self.report.add(diagnostic(rules::WRONG_VALUE, site.at(at.span), message));
            return Content::Invalid;
        }
        match self.main_content(&value.main, site, reader, None) {
            Content::Word(word) if !VALUE_WORDS.contains(&word.as_str()) => {
                self.report_unknown_word(&value.main, site);
                Content::Invalid
            }
            content => content,
        }
    }

    /// Reports the name that a whole value consists of.
    pub(super) fn report_unknown_word(&mut self, main: &ValueMain, site: Site) {
        if let ValueMain::Expr(Expr { kind: ExprKind::Ref(name), .. }) = main
            && let [only] = name.parts.as_slice()
        {
            self.report_unknown_value(only, site);
        }
    }

    /// What the value before an `at` turns out to be.
    pub(super) fn main_content(
        &mut self,
        main: &'a ValueMain,
        site: Site,
        reader: Option<Reader>,
        expected: Option<Dimension>,
    ) -> Content {
        match main {
            ValueMain::Unknown { .. } => Content::Asked,
            ValueMain::Expr(expr) => match &expr.kind {
                ExprKind::Ref(name) => self.named_content(name, site, reader, true),
                _ => self.eval(expr, site, reader, expected).map_or(Content::Invalid, Content::Measure),
            },
        }
    }

    /// The content of a name in an expression; with `word`, also of a word such as `closed`.
    fn named_content(&mut self, name: &'a Ref, site: Site, reader: Option<Reader>, word: bool) -> Content {
        let [only] = name.parts.as_slice() else {
            return match self.resolve(name, site) {
                Target::Cell(id) => self.read_cell(id, reader),
                Target::Broken => Content::Invalid,
                Target::Unknown { name: unknown, scope } => {
                    self.report_unknown(unknown, scope, site, None);
                    Content::Invalid
                }
                _ => self.not_a_value(name, site),
            };
        };
        if let Some(value) = self.counting(&only.text, site.env) {
            return Content::plain(value);
        }
        let Some(text) = self.fill(only, site) else { return Content::Invalid };
        if word && VALUE_WORDS.contains(&text.as_str()) {
            return Content::Word(text);
        }
        match self.lookup(site.scope, &text) {
            Some(Symbol::Cell(id)) => self.read_cell(id, reader),
            Some(Symbol::Broken) => Content::Invalid,
            Some(_) if self.is_clash(name, site) => Content::Invalid,
            Some(_) => self.not_a_value(name, site),
            // A file that could not be read may define it.
            None if self.is_mentioned(&text) || self.incomplete.contains(&self.scope(site.scope).file) => {
                Content::Invalid
            }
            None if word && !self.looks_like_code(only) => Content::Word(text),
            None => {
                self.report_unknown_value(only, site);
                Content::Invalid
            }
        }
    }

    fn read_cell(&mut self, id: u32, reader: Option<Reader>) -> Content {
        if let Some(reader) = reader
            && self.recording
        {
            self.cells[id as usize].readers.push(reader);
        }
        self.cell(id)
    }

    /// Whether a name reads like a letter code that lacks its zero: `R47`.
    fn looks_like_code(&self, name: &Name) -> bool {
        code_with_zero(&name.text).is_some()
    }

    fn not_a_value(&mut self, name: &Ref, site: Site) -> Content {
        let text = self.written(name, site);
        let found = diagnostic(
            rules::NOT_A_VALUE,
            site.at(name.span),
            format!("`{text}` is an element, so it cannot stand in an expression"),
        )
        .help("Name the value with `let`, and use that name at both places");
        self.report.add(found);
        Content::Invalid
    }

    /// Reports a name that should stand for a value.
    pub(super) fn report_unknown_value(&mut self, name: &Name, site: Site) {
        let at = site.at(name.span);
        let text = name.text.as_str();
        let mut found = diagnostic(rules::UNKNOWN_NAME, at, format!("No value is named `{text}`"));
        if let Some(code) = code_with_zero(text) {
            found = found.help(format!("A letter code begins with a digit: `{code}`")).fix(
                format!("Write `{code}`"),
                Safety::Safe,
                at,
                code,
            );
        } else {
            let file = self.scope(site.scope).file.0;
            let close = if self.scarce(self.names.len()) {
                Vec::new()
            } else {
                let seen = |scope: ScopeId| scope == site.scope || scope.0 == file;
                let values =
                    self.names.iter().filter(|((scope, _), symbol)| seen(*scope) && matches!(symbol, Symbol::Cell(_)));
                nearest(text, values.map(|((_, name), _)| name.as_str()))
            };
            found = if close.is_empty() {
                found.help(format!("Define it: `let {text} = ...`"))
            } else {
                offer(found, at, &close)
            };
        }
        self.report.add(found);
    }

    /// Evaluates an expression. `None`: it could not be, which has been reported.
    pub(super) fn eval(
        &mut self,
        expr: &'a Expr,
        site: Site,
        reader: Option<Reader>,
        expected: Option<Dimension>,
    ) -> Option<Measure> {
        match &expr.kind {
            ExprKind::Number { text, unit } => self.number(expr, text, unit.as_ref(), site, expected),
            ExprKind::Ref(name) => match self.named_content(name, site, reader, false) {
                Content::Measure(measure) => Some(measure),
                Content::Invalid => None,
                Content::Asked => {
                    let text = self.written(name, site);
                    let message = format!("`{text}` is to be found, so nothing can be computed from it");
                    self.report.add(diagnostic(rules::MISPLACED_UNKNOWN, site.at(name.span), message));
                    None
                }
                Content::Word(word) => {
                    let message = format!("`{word}` is a word, not a number");
                    self.report.add(diagnostic(rules::NOT_A_VALUE, site.at(name.span), message));
                    None
                }
            },
            ExprKind::Neg(inner) => {
                let mut measure = self.eval(inner, site, reader, expected)?;
                measure.value = -measure.value;
                Some(measure)
            }
            ExprKind::Group { inner, unit } => {
                let inner_expected = if unit.is_none() { expected } else { None };
                let measure = self.eval(inner, site, reader, inner_expected)?;
                match unit {
                    None => Some(measure),
                    Some(unit) => self.with_unit(measure, unit, expr, site, expected),
                }
            }
            ExprKind::Binary { .. } => {
                // A sum of many terms leans to the left; going down it in a loop keeps the stack flat.
                let mut spine = Vec::new();
                let mut first = expr;
                while let ExprKind::Binary { op, left, right } = &first.kind {
                    spine.push((*op, &**right, first));
                    first = left;
                }
                let mut sum = self.eval(first, site, reader, None);
                for (op, right, whole) in spine.into_iter().rev() {
                    // Both sides are read even if one is wrong, so that every cause is reported.
                    let right_value = self.eval(right, site, reader, None);
                    sum = match (sum, right_value) {
                        (Some(left), Some(right_value)) => self.combine(op, left, right_value, right, whole, site),
                        _ => None,
                    };
                }
                sum
            }
        }
    }

    fn combine(
        &mut self,
        op: BinaryOp,
        left: Measure,
        right: Measure,
        right_expr: &Expr,
        whole: &Expr,
        site: Site,
    ) -> Option<Measure> {
        let dimension = match op {
            BinaryOp::Add | BinaryOp::Sub => (left.dimension == right.dimension).then_some(left.dimension),
            BinaryOp::Mul => left.dimension.times(right.dimension),
            BinaryOp::Div => left.dimension.over(right.dimension),
        };
        let Some(dimension) = dimension else {
            let at = site.at(whole.span);
            self.report.add(match op {
                BinaryOp::Add | BinaryOp::Sub => {
                    let (word, joined) = if op == BinaryOp::Add { ("added to", "+") } else { ("subtracted from", "-") };
                    let message = format!(
                        "{} cannot be {word} {}",
                        capitalized(&right.dimension.describe()),
                        left.dimension.describe()
                    );
                    diagnostic(rules::MIXED_UNITS, at, message)
                        .help(format!("Give both sides of `{joined}` the same kind of unit"))
                }
                _ => out_of_range(at),
            });
            return None;
        };
        if op == BinaryOp::Div && right.value == 0 {
            let at = site.at(right_expr.span);
            self.report.add(diagnostic(rules::DIVISION_BY_ZERO, at, "This divides by zero").here("this is zero"));
            return None;
        }
        let value = match op {
            BinaryOp::Add => left.value + right.value,
            BinaryOp::Sub => left.value - right.value,
            BinaryOp::Mul => left.value * right.value,
            BinaryOp::Div => left.value / right.value,
        };
        let (numerator, denominator) = value.numerator_and_denominator_ref();
        if numerator.significant_bits().max(denominator.significant_bits()) > MAX_BITS {
            self.report.add(out_of_range(site.at(whole.span)));
            return None;
        }
        Some(Measure { value, dimension })
    }

    fn number(
        &mut self,
        expr: &Expr,
        text: &str,
        unit: Option<&Name>,
        site: Site,
        expected: Option<Dimension>,
    ) -> Option<Measure> {
        match read_literal(text, unit.map(|unit| unit.text.as_str()), expected) {
            Ok(literal) => Some(Measure { value: literal.value, dimension: literal.dimension }),
            Err(LiteralError::OutOfRange) => {
                let at = site.at(expr.span);
                let message = "This number is too long, or its exponent is beyond 99";
                self.report.add(diagnostic(rules::OUT_OF_RANGE, at, message));
                None
            }
            Err(LiteralError::Letters(instead)) => {
                let at = site.at(expr.span);
                let mut found = diagnostic(rules::BAD_NUMBER, at, format!("`{text}` is no number"));
                found = match instead {
                    Some(instead) => found.help(format!("Write `{instead}`")).fix(
                        format!("Write `{instead}`"),
                        Safety::Safe,
                        at,
                        instead,
                    ),
                    None => found.help("Letters that touch a number are its unit (`12kohm`) or a letter code (`4k7`)"),
                };
                self.report.add(found);
                None
            }
            Err(LiteralError::Unit(error)) => {
                // A unit that touches its number has no place of its own in the tree: it is the tail of the number.
                let (unit_text, place) = match unit {
                    Some(unit) => (unit.text.as_str(), site.at(unit.span)),
                    None => {
                        let letters = text.trim_start_matches(|c: char| c.is_ascii_digit() || c == '.');
                        let mut place = site.at(expr.span);
                        place.span.start = place.span.end.saturating_sub(letters.len() as u32).max(place.span.start);
                        (letters, place)
                    }
                };
                let touching = unit.is_none();
                self.report_unit(error, unit_text, place, expected, touching);
                None
            }
        }
    }

    fn with_unit(
        &mut self,
        measure: Measure,
        unit: &Name,
        expr: &Expr,
        site: Site,
        expected: Option<Dimension>,
    ) -> Option<Measure> {
        match read_unit(&unit.text) {
            Ok(read) if measure.dimension == Dimension::NONE => {
                Some(Measure { value: measure.value * read.scale(), dimension: read.dimension })
            }
            Ok(_) => {
                let message = format!(
                    "What stands in the brackets is {} already, so `{}` cannot follow",
                    measure.dimension.describe(),
                    unit.text
                );
                let at = site.at(unit.span);
                let gap = FileSpan { span: ohmline_syntax::Span::new(at.span.start, at.span.end), ..at };
                let found = diagnostic(rules::MIXED_UNITS, at, message)
                    .label(site.at(expr.span), "a value with its unit")
                    .fix("Leave the second unit out", Safety::Asks, gap, "");
                self.report.add(found);
                None
            }
            Err(error) => {
                self.report_unit(error, &unit.text, site.at(unit.span), expected, false);
                None
            }
        }
    }

    /// Reports a word that is no unit. `touching`: no blank stands between it and its number.
    pub(super) fn report_unit(
        &mut self,
        error: UnitError,
        word: &str,
        at: FileSpan,
        expected: Option<Dimension>,
        touching: bool,
    ) {
        let space = if touching { " " } else { "" };
        let wanted = expected.and_then(Dimension::unit_word);
        self.report.add(match error {
            UnitError::CapitalKilo(mended) => diagnostic(
                rules::CAPITAL_KILO,
                at,
                format!("`{word}`: kilo is a small `k`"),
            )
            .help(
                "In the SI a capital K is the kelvin; only the letter code of components, as in `4K7`, has a capital K",
            )
            .fix(format!("Write `{mended}`"), Safety::Safe, at, mended),
            UnitError::BarePrefix(prefix) => {
                let found = diagnostic(rules::BARE_PREFIX, at, format!("`{word}` is a prefix without a unit"));
                match wanted {
                    Some(unit) => found.help(format!("Write the unit behind it: `{prefix}{unit}`")).fix(
                        format!("Write `{prefix}{unit}`"),
                        Safety::Safe,
                        at,
                        format!("{space}{prefix}{unit}"),
                    ),
                    None => found.help(format!("Write the unit behind it, as in `{prefix}ohm` or `{prefix}V`")),
                }
            }
            UnitError::Unknown(near) => {
                let found = diagnostic(rules::UNKNOWN_UNIT, at, format!("`{word}` is no unit"));
                match near {
                    Some(near) => found.help(format!("Did you mean `{near}`?")).fix(
                        format!("Write `{near}`"),
                        Safety::Safe,
                        at,
                        format!("{space}{near}"),
                    ),
                    None => {
                        let found = found.help(
                            "Units are ohm, V, A, W, F, H, S, C, J, Ah, Wh, s, Hz and %, with prefixes f p n u m k M G",
                        );
                        match wanted {
                            Some(unit) => found.help(format!("Here `{unit}` is needed, with or without a prefix")),
                            None => found,
                        }
                    }
                }
            }
        });
    }

    /// Reports that a value has the wrong dimension.
    pub(super) fn report_dimension(
        &mut self,
        expr: &Expr,
        got: Dimension,
        expected: Dimension,
        what: &str,
        site: Site,
    ) {
        let at = site.at(expr.span);
        let unit = expected.unit_word().unwrap_or("no unit");
        let literal_unit = match &expr.kind {
            ExprKind::Number { unit, .. } | ExprKind::Group { unit, .. } => unit.as_ref(),
            _ => None,
        };
        let is_literal = matches!(expr.kind, ExprKind::Number { .. });
        if got == Dimension::NONE && expected != Dimension::NONE && literal_unit.is_none() {
            let mut found = diagnostic(rules::MISSING_UNIT, at, format!("{} needs a unit", capitalized(what)))
                .help(format!("Write `{unit}` behind it, with a prefix where it has one"));
            if is_literal {
                let mut end = at;
                end.span.start = end.span.end;
                found = found.fix(format!("Write `{unit}` behind it"), Safety::Asks, end, format!(" {unit}"));
            }
            self.report.add(found);
            return;
        }
        let takes =
            if expected == Dimension::NONE { "a plain number or a percentage".to_owned() } else { expected.describe() };
        let mut found =
            diagnostic(rules::WRONG_UNIT, at, format!("{} is {takes}, not {}", capitalized(what), got.describe()));
        if expected != Dimension::NONE {
            found = found.help(format!("Its unit is `{unit}`"));
        }
        if let Some(written) = literal_unit
            && let Some(unit) = expected.unit_word()
        {
            let place = site.at(written.span);
            found = found.fix(format!("Write `{unit}` instead of `{}`", written.text), Safety::Asks, place, unit);
        }
        self.report.add(found);
    }

    /// A reference as written, counting names filled in.
    pub(super) fn written(&mut self, name: &Ref, site: Site) -> String {
        let mut text = String::new();
        for part in &name.parts {
            if !text.is_empty() {
                text.push('.');
            }
            match self.fill(part, site) {
                Some(filled) => text.push_str(&filled),
                None => text.push_str(&part.text),
            }
        }
        text
    }

    /// Advice on the words that a place takes.
    pub(super) fn report_word(&mut self, at: FileSpan, what: &str, got: &str, allowed: &[&str]) {
        let found =
            diagnostic(rules::WRONG_VALUE, at, format!("{} is {}, not `{got}`", capitalized(what), either(allowed)));
        let close = match words::everyday_state(got) {
            Some(state) if allowed.contains(&state) => vec![state.to_owned()],
            _ => nearest(got, allowed.iter().copied()),
        };
        let found =
            if close.is_empty() { found.help(format!("Write {}", either(allowed))) } else { offer(found, at, &close) };
        self.report.add(found);
    }
}

fn either(words: &[&str]) -> String {
    listed(words.iter().copied()).replace(" and ", " or ")
}

fn out_of_range(at: FileSpan) -> ohmline_syntax::Diagnostic {
    diagnostic(rules::OUT_OF_RANGE, at, "This result is too large or too small to be computed")
}

/// `R47` as `0R47`, if it reads like a letter code.
fn code_with_zero(text: &str) -> Option<String> {
    let digits = text.strip_prefix(['R', 'K', 'k', 'M', 'p', 'n', 'u', 'µ', 'm', 'F'])?;
    (!digits.is_empty() && digits.bytes().all(|byte| byte.is_ascii_digit())).then(|| format!("0{text}"))
}

/// With a capital first letter.
pub(super) fn capitalized(text: &str) -> String {
    let mut chars = text.chars();
    match chars.next() {
        // A name in backticks stays as it is.
        Some(first) => first.to_uppercase().chain(chars).collect(),
        None => String::new(),
    }
}

/// Whether a value names anything.
pub(super) fn names_something(value: &Value) -> bool {
    let named = |expr: &Expr| {
        let mut todo = vec![expr];
        while let Some(expr) = todo.pop() {
            match &expr.kind {
                ExprKind::Number { .. } => {}
                ExprKind::Ref(_) => return true,
                ExprKind::Neg(inner) | ExprKind::Group { inner, .. } => todo.push(inner),
                ExprKind::Binary { left, right, .. } => todo.extend([&**left, &**right]),
            }
        }
        false
    };
    let main = match &value.main {
        ValueMain::Expr(Expr { kind: ExprKind::Number { .. }, .. }) | ValueMain::Unknown { .. } => false,
        ValueMain::Expr(expr) => named(expr),
    };
    main || value.at.as_ref().is_some_and(named)
}
