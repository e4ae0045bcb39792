//! Which place of which statement the cursor is in, and what fits there.

use ohmline_circuit::{Element, Kind};
use ohmline_syntax::lexer::{Token, TokenKind};
use ohmline_syntax::words::{KINDS, QUANTITIES, options_of};

use super::wiring::has_two_terminals;
use super::{ItemKind, Line};
use crate::occurrences::{Scope, SymbolKind};

/// Adds what fits.
pub(super) fn fill(line: &mut Line<'_>) {
    if line.typed().starts_with('"') {
        return quoted(line);
    }
    // `P1.` or `West.D`: what is behind the dot.
    if line.before.last().is_some_and(|last| last.kind == TokenKind::Dot && last.joined) {
        return behind_dot(line);
    }
    let Some(first) = line.before.first().copied() else {
        if !line.typed().starts_with('@') && line.field_behind().is_none() && !line.sign_behind() {
            line.statements();
        }
        return meeting(line);
    };
    let word = line.text_of(&first);
    let has = |kind: TokenKind| line.before.iter().any(|token| token.kind == kind);
    match first.kind {
        TokenKind::Let => value_side(line, ""),
        TokenKind::Find => question(line, Ask::Find),
        TokenKind::Given => question(line, Ask::Given),
        TokenKind::Measured => question(line, Ask::Measured),
        TokenKind::Claim => claim(line),
        TokenKind::Case => case(line),
        TokenKind::Reference if line.before.len() == 1 => points(line),
        TokenKind::Repeat => repeat(line),
        TokenKind::Part | TokenKind::Include | TokenKind::Circuit | TokenKind::End => {}
        _ if has(TokenKind::Wire) || has(TokenKind::Bar) => path(line),
        _ if KINDS.contains(&word) || line.part_named(word).is_some() => declaration(line, word),
        _ if first.kind.is_name() || matches!(first.kind, TokenKind::Junction | TokenKind::Plus | TokenKind::Minus) => {
            path(line)
        }
        _ => {}
    }
}

/// What may stand behind the quantity of a statement.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Ask {
    Find,
    Given,
    Measured,
    Claim,
}

/// Whatever a path can meet.
fn meeting(line: &mut Line<'_>) {
    if !line.typed().starts_with('@') {
        line.wiring();
    }
    if line.field_behind().is_none() && !line.sign_behind() {
        line.junctions();
    }
}

/// Junctions and terminals that a statement can name.
fn points(line: &mut Line<'_>) {
    if line.field_behind().is_none() && !line.sign_behind() {
        line.junctions();
    }
    if !line.typed().starts_with('@') {
        line.terminals();
        if line.field_behind().is_none() && !line.sign_behind() {
            line.ports();
        }
    }
}

fn last_kind(line: &Line<'_>) -> Option<TokenKind> {
    line.before.last().map(|token| token.kind)
}

fn quoted(line: &mut Line<'_>) {
    match line.before.first().map(|first| first.kind) {
        Some(TokenKind::Include) => line.include_files(),
        Some(TokenKind::Circuit | TokenKind::Case) | None => {}
        Some(_) => line.cases(true),
    }
}

fn declaration(line: &mut Line<'_>, kind: &str) {
    let kind = kind.to_owned();
    let after = |wanted: TokenKind| line.before.iter().rposition(|token| token.kind == wanted);
    let (equals, comma) = (after(TokenKind::Equals), after(TokenKind::Comma));
    if last_kind(line) == Some(TokenKind::Comma)
        && (equals.is_some()
            || KINDS.contains(&kind.as_str()) && !takes_names(line)
            || line.part_named(&kind).is_some())
    {
        return line.options(&kind);
    }
    match (equals, comma) {
        // Behind the name of an option: its value.
        (_, Some(at))
            if equals.is_none_or(|equals| equals < at)
                && line.before.len() > at + 1
                && (equals.is_some() || line.is_option(&kind, at + 1)) =>
        {
            let option = line.text_of(&line.before[at + 1].clone()).to_owned();
            let unit = options_of(&kind).iter().find(|own| own.name == option).map_or("", |own| own.unit);
            let unit = if kind == "source" { limit_of_source(line) } else { unit };
            value(line, unit, at + 2);
        }
        (Some(_), _) => value_side(line, &kind),
        (None, _) if line.before.len() == 1 => line.next_name(&kind),
        _ => {}
    }
}

/// A source in volts is limited in amperes, and the other way round.
fn limit_of_source(line: &Line<'_>) -> &'static str {
    let comma = line.before.iter().position(|token| token.kind == TokenKind::Comma).unwrap_or(line.before.len());
    match line.before[..comma].last().map(|last| line.text_of(last)) {
        Some(text) if text.ends_with('V') => "A",
        Some(text) if text.ends_with('A') => "V",
        _ => "V|A",
    }
}

/// Whether the comma that was typed last may be followed by a further name: `lamp L1, `.
fn takes_names(line: &Line<'_>) -> bool {
    !line.before.iter().any(|token| token.kind == TokenKind::Equals)
        && !matches!(line.before.first().map(|first| line.text_of(first)), Some("ammeter" | "voltmeter"))
}

/// Behind an `=`.
fn value_side(line: &mut Line<'_>, kind: &str) {
    let Some(equals) = line.before.iter().rposition(|token| token.kind == TokenKind::Equals) else { return };
    let begins = equals + 1 == line.before.len();
    match kind {
        "switch" if begins => return line.states(&["open", "closed"]),
        "changeover" if begins => return line.states(&["a", "b"]),
        "switch" | "changeover" => return,
        _ => {}
    }
    let words: Vec<&str> = line.before[equals + 1..].iter().map(|token| line.text_of(token)).collect();
    let behind_at = words.contains(&"at");
    match (kind, behind_at) {
        ("lamp", true) => return value(line, "V", equals + 1),
        ("potentiometer", true) => return value(line, "%", equals + 1),
        _ => {}
    }
    value(line, super::values::unit_of(kind), equals + 1);
    let goes_on = match (kind, words.last()) {
        ("lamp", Some(last)) => last.ends_with('W'),
        ("potentiometer", Some(last)) => last.ends_with("ohm"),
        _ => false,
    };
    if goes_on && !line.behind().trim_start().starts_with("at ") {
        line.plain(&["at"]);
    }
}

/// A value that begins at this token: units, numbers, and names of values where one fits.
fn value(line: &mut Line<'_>, unit: &str, from: usize) {
    let scales = |token: &Token| matches!(token.kind, TokenKind::Star | TokenKind::Slash | TokenKind::Open);
    let reckons = |token: &Token| scales(token) || matches!(token.kind, TokenKind::Plus | TokenKind::Minus);
    // What is multiplied with something can have any unit.
    let alone = !line.before[from.min(line.before.len())..].iter().any(scales)
        && !line.behind().trim_start().starts_with(['*', '/']);
    line.values(if alone { unit } else { "" });
    if line.typed().starts_with(|c: char| c.is_ascii_digit()) {
        return;
    }
    match line.before.last() {
        Some(_) if line.before.len() == from => line.lets_of(if alone { unit } else { "" }),
        Some(last) if line.text_of(last) == "at" => line.lets_of(unit),
        Some(last) if reckons(last) => line.lets_of(if alone { unit } else { "" }),
        _ => {}
    }
}

fn path(line: &mut Line<'_>) {
    let goes_on = |kind| {
        matches!(
            kind,
            TokenKind::Wire
                | TokenKind::WireRun
                | TokenKind::Open
                | TokenKind::Bar
                | TokenKind::Plus
                | TokenKind::Minus
        )
    };
    // A sign that touches the name before it, or stands apart, begins nothing.
    let signed = line.before.last().is_some_and(|last| matches!(last.kind, TokenKind::Plus | TokenKind::Minus));
    if signed && line.before.last().is_none_or(|last| last.end() != line.word.start || last.joined) {
        return;
    }
    if last_kind(line).is_some_and(goes_on) {
        if signed { line.wiring() } else { meeting(line) }
    }
}

fn repeat(line: &mut Line<'_>) {
    let words: Vec<&str> = line.before.iter().map(|token| line.text_of(token)).collect();
    match words.len() {
        2 => line.plain(&["from"]),
        4 => line.plain(&["to"]),
        _ => {}
    }
}

fn case(line: &mut Line<'_>) {
    let target = |line: &Line<'_>, equals: usize| {
        let first =
            line.before[..equals].iter().rposition(|token| matches!(token.kind, TokenKind::Comma | TokenKind::Colon));
        line.before[first.map_or(0, |at| at + 1)..equals].iter().map(|token| line.text_of(token)).collect::<String>()
    };
    if matches!(last_kind(line), Some(TokenKind::Colon | TokenKind::Comma)) {
        let sets = |token: usize| target(line, token);
        let equals = line.before.iter().enumerate().filter(|(_, token)| token.kind == TokenKind::Equals);
        let mut set: Vec<String> = equals.map(|(at, _)| sets(at)).collect();
        // What the rest of the line sets stands there already.
        let rest = line.behind().split(',').skip(1).filter_map(|own| own.split_once('='));
        set.extend(rest.map(|(name, _)| name.trim().to_owned()));
        line.elements(|own| !set.iter().any(|name| own.name == *name));
        if line.field_behind().is_none() {
            line.lets();
            line.items.retain(|item| item.kind != ItemKind::Value || !set.contains(&item.label));
        }
        return;
    }
    let Some(equals) = line.before.iter().rposition(|token| token.kind == TokenKind::Equals) else { return };
    let name = target(line, equals);
    let begins = equals + 1 == line.before.len() && !line.typed().starts_with(|c: char| c.is_ascii_digit());
    match (line.kind_of(&name).as_deref(), name.rsplit_once('.')) {
        (Some("switch"), _) if begins => line.states(&["open", "closed", "shorted"]),
        (Some("changeover"), _) if begins => line.states(&["a", "b"]),
        (Some("switch" | "changeover"), _) => {}
        (Some(kind), _) => {
            if begins && kind != "potentiometer" {
                line.states(&["open", "shorted"]);
            }
            value_side(line, kind);
        }
        (None, Some((_, "at"))) => value(line, "%", equals + 1),
        (None, Some((element, option))) => {
            let kind = line.kind_of(element).unwrap_or_default();
            let unit = options_of(&kind).iter().find(|own| own.name == option).map_or("", |own| own.unit);
            let unit = if kind == "source" { "V|A" } else { unit };
            value(line, unit, equals + 1);
        }
        (None, None) => {
            let unit = line.unit_of_let(&name).unwrap_or("");
            value(line, unit, equals + 1);
        }
    }
}

/// The words behind `find`, `given` and `measured`.
fn question(line: &mut Line<'_>, ask: Ask) {
    if line.before.len() == 1 {
        return line.quantities();
    }
    if line.before.iter().any(|token| token.kind == TokenKind::Equals) {
        return behind_value(line, ask);
    }
    if last_kind(line) == Some(TokenKind::In) {
        return line.cases(false);
    }
    if !line.before.iter().any(|token| token.kind == TokenKind::Text) && !quantity(line) {
        line.after_quantity(ask != Ask::Find);
    }
}

fn claim(line: &mut Line<'_>) {
    if line.before.len() == 1 {
        line.quantities();
        line.elements(Element::is_placed);
        return;
    }
    if line.before.iter().any(|token| token.kind == TokenKind::Equals) {
        return behind_value(line, Ask::Claim);
    }
    if QUANTITIES.contains(&line.text_of(&line.before[1].clone())) {
        if !quantity(line) {
            line.after_quantity(true);
        }
        return;
    }
    // `claim R1, R2 in series`
    let words: Vec<&str> = line.before.iter().map(|token| line.text_of(token)).collect();
    let relation = words.iter().any(|word| matches!(*word, "series" | "parallel"));
    let named: Vec<String> = members(&line.before[1..], line.text);
    match last_kind(line) {
        Some(TokenKind::Comma | TokenKind::Open) => {
            let behind = ohmline_syntax::lexer::tokens(line.behind());
            let mut named = named;
            named.extend(members(&behind[usize::from(line.field_behind().is_some())..], line.behind()));
            line.elements(|own| own.is_placed() && !named.iter().any(|name| own.name == *name));
        }
        Some(TokenKind::In) if relation => line.cases(false),
        Some(TokenKind::In) => line.plain(&["series", "parallel"]),
        Some(kind) if relation && kind.is_word() && line.has_cases() => line.plain(&["in"]),
        Some(_) if relation => {}
        Some(kind) if named.len() > 1 && !line.in_group() && (kind.is_word() || kind == TokenKind::Close) => {
            line.plain(&["in"]);
        }
        _ => {}
    }
}

/// The elements that a list of members names, up to its `in`.
pub(super) fn members(list: &[Token], text: &str) -> Vec<String> {
    let end = list.iter().position(|token| token.kind == TokenKind::In).unwrap_or(list.len());
    let names = list[..end]
        .split(|token| matches!(token.kind, TokenKind::Comma | TokenKind::Open | TokenKind::Close | TokenKind::Blank));
    names
        .map(|name| name.iter().map(|token| token.text(text)).collect::<String>())
        .filter(|name| !name.is_empty())
        .collect()
}

fn behind_value(line: &mut Line<'_>, ask: Ask) {
    let equals = line.before.iter().rposition(|token| token.kind == TokenKind::Equals).unwrap_or(0);
    let within = line.before.iter().rposition(|token| token.text(line.text) == "within");
    let asked = line.before.get(1).map_or("", |token| line.text_of(token)).to_owned();
    let unit = match asked.as_str() {
        "value" => line
            .kind_of(line.before.get(3).map_or("", |token| line.text_of(token)))
            .map_or("", |kind| super::values::unit_of(&kind)),
        asked => super::values::unit_of_quantity(asked),
    };
    let typed_number = line.typed().starts_with(|c: char| c.is_ascii_digit());
    match last_kind(line) {
        Some(TokenKind::In) => line.cases(false),
        Some(TokenKind::Text) => {}
        Some(last) => {
            if within.is_some() && !matches!(last, TokenKind::Equals) {
                line.values(&format!("{unit}%"));
            } else {
                value(line, unit, equals + 1);
            }
            let whole = last.is_word() && within != Some(line.before.len() - 1)
                || matches!(last, TokenKind::Percent | TokenKind::Close);
            if whole && !typed_number {
                if within.is_none() && ask != Ask::Given {
                    line.plain_after(12, &["within"]);
                }
                if line.has_cases() {
                    line.plain_after(13, &["in"]);
                }
            }
        }
        None => {}
    }
}

/// Inside of a quantity; whether anything of it is still to come.
fn quantity(line: &mut Line<'_>) -> bool {
    let words: Vec<Token> = line.before[1..].to_vec();
    let texts: Vec<&str> = words.iter().map(|token| token.text(line.text)).collect();
    let last = words.last().map(|token| token.kind);
    let lists = last == Some(TokenKind::Comma);
    match texts.as_slice() {
        ["current"] => line.plain(&["through", "into"]),
        ["voltage"] => line.plain(&["across", "from"]),
        ["potential"] => line.plain(&["at"]),
        ["resistance"] => line.plain(&["between", "seen by"]),
        ["resistance", "seen"] => line.plain(&["by"]),
        ["capacitance"] => line.plain(&["between"]),
        ["power" | "charge" | "energy" | "value"] => line.plain(&["of"]),
        ["resistance", "seen", "by"] => line.sources(),
        [_, "through" | "across" | "of"] => asked_elements(line, &texts),
        ["current", "into"] => line.terminals(),
        ["voltage", "from"] | ["potential", "at"] | ["resistance" | "capacitance", "between"] => points(line),
        ["voltage", "from", .., "to"] | ["resistance" | "capacitance", "between", .., "and"] => points(line),
        ["voltage", "from", rest @ ..] if !rest.contains(&"to") => line.plain(&["to"]),
        ["resistance" | "capacitance", "between", rest @ ..] if !rest.contains(&"and") => line.plain(&["and"]),
        [_, "through" | "across" | "of", ..] if lists && line.before[0].kind == TokenKind::Find => {
            asked_elements(line, &texts);
        }
        _ => return lists,
    }
    true
}

/// The elements that have the quantity, but for those that the list has already.
fn asked_elements(line: &mut Line<'_>, texts: &[&str]) {
    let named = members(&line.before[3..], line.text);
    let has: fn(&Element) -> bool = match texts[..2] {
        ["current", "through"] => |own| has_two_terminals(own.kind) || own.kind == Kind::Changeover,
        ["voltage", "across"] => |own| has_two_terminals(own.kind),
        ["charge", _] => |own| matches!(own.kind.word(), "capacitor" | "electrolytic"),
        ["energy", _] => |own| matches!(own.kind.word(), "capacitor" | "electrolytic" | "inductor"),
        _ => |_| true,
    };
    line.elements(|own| has(own) && own.is_placed() && !named.iter().any(|name| own.name == *name));
}

/// What a name with dots stands for at a place.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Standing {
    /// An end of a path.
    Path,
    /// A point that a statement names.
    Point,
    /// An element that a statement names.
    Element,
    /// Something that a case sets.
    Setting,
    /// A value in an expression, or nothing.
    Other,
}

fn standing(line: &Line<'_>) -> Standing {
    let Some(first) = line.before.first() else { return Standing::Other };
    let has = |kind: TokenKind| line.before.iter().any(|token| token.kind == kind);
    let words: Vec<&str> = line.before.iter().skip(1).take(2).map(|token| line.text_of(token)).collect();
    match first.kind {
        _ if has(TokenKind::Equals) && first.kind != TokenKind::Case => Standing::Other,
        TokenKind::Find | TokenKind::Given | TokenKind::Measured | TokenKind::Claim => match words.as_slice() {
            [_, "into" | "from" | "at" | "between"] => Standing::Point,
            _ => Standing::Element,
        },
        TokenKind::Reference => Standing::Point,
        TokenKind::Case => {
            let equals = line.before.iter().rposition(|token| token.kind == TokenKind::Equals);
            let comma = line.before.iter().rposition(|token| matches!(token.kind, TokenKind::Comma | TokenKind::Colon));
            if equals > comma { Standing::Other } else { Standing::Setting }
        }
        TokenKind::Let | TokenKind::Repeat | TokenKind::Part => Standing::Other,
        _ if KINDS.contains(&line.text_of(first)) => Standing::Other,
        _ => Standing::Path,
    }
}

fn behind_dot(line: &mut Line<'_>) {
    // The chain of names before the dot.
    let mut chain: Vec<String> = Vec::new();
    let mut at = line.before.len() - 1;
    loop {
        let Some(name) = at.checked_sub(1).map(|index| line.before[index]) else { return };
        if !name.kind.is_word() {
            return;
        }
        chain.push(line.text_of(&name).to_owned());
        match at.checked_sub(2).map(|index| line.before[index]) {
            Some(dot) if dot.kind == TokenKind::Dot && name.joined => at -= 2,
            _ => break,
        }
    }
    chain.reverse();
    let mut scope: Scope = line.scope;
    let mut symbol = None;
    for name in &chain {
        let Some(found) = line.index.named(scope, name) else { return };
        symbol = Some(found);
        if let Some(inside) = line.index.scope_inside(found) {
            scope = inside;
        }
    }
    let Some(symbol) = symbol else { return };
    let stands = standing(line);
    match line.index.symbol(symbol).kind {
        SymbolKind::Instance => {
            let names: Vec<(u32, String, SymbolKind)> = line
                .index
                .symbols
                .iter()
                .zip(0..)
                .filter(|(own, _)| own.scope == scope && !own.name.contains("{}"))
                .map(|(own, number)| (number, own.name.to_string(), own.kind))
                .collect();
            let prefix = chain.join(".");
            let field = line.field_behind();
            for (number, name, kind) in names {
                // `Pier.Sea<|>.D`: what has something of that name.
                if let Some(field) = field {
                    let inside = line.index.scope_inside(number);
                    if inside.is_some_and(|inside| line.index.named(inside, field).is_some()) {
                        let item = line.item(&name, ItemKind::Element, 10);
                        line.add(item);
                    }
                    continue;
                }
                let own_kind = line.kind_of(&format!("{prefix}.{name}"));
                let polar = matches!(
                    own_kind.as_deref(),
                    Some("battery" | "source" | "ammeter" | "voltmeter" | "electrolytic" | "diode")
                );
                let kind = match (kind, stands) {
                    (SymbolKind::Instance, Standing::Element | Standing::Setting | Standing::Point) => {
                        // It leads further in.
                        ItemKind::Element
                    }
                    (SymbolKind::Element, Standing::Element) => {
                        let full = format!("{prefix}.{name}");
                        let rest = ohmline_syntax::lexer::tokens(line.behind());
                        if !line.has_asked_quantity(&full) || members(&rest, line.behind()).contains(&full) {
                            continue;
                        }
                        ItemKind::Element
                    }
                    (SymbolKind::Element, Standing::Setting) => ItemKind::Element,
                    (SymbolKind::Element, Standing::Point)
                        if polar || !super::wiring::terminals(own_kind.as_deref().unwrap_or("")).is_empty() =>
                    {
                        ItemKind::Element
                    }
                    (SymbolKind::Port, Standing::Point | Standing::Path) => ItemKind::Terminal,
                    (SymbolKind::Parameter, Standing::Setting) => ItemKind::Option,
                    _ => continue,
                };
                let item = line.item(&name, kind, 10);
                line.add(item);
            }
        }
        SymbolKind::Element => {
            let kind = line.kind_of(&chain.join(".")).unwrap_or_default();
            let terminals = super::wiring::terminals(&kind);
            if matches!(stands, Standing::Point | Standing::Path) {
                for terminal in terminals {
                    let mut item = line.item(terminal, ItemKind::Terminal, 10);
                    item.detail = format!("terminal of {}", chain.join("."));
                    line.add(item);
                }
            } else if stands == Standing::Setting {
                if kind == "potentiometer" {
                    let mut item = line.item("at", ItemKind::Option, 10);
                    item.detail = "where the wiper stands, in %".to_owned();
                    line.add(item);
                }
                for option in options_of(&kind) {
                    let mut item = line.item(option.name, ItemKind::Option, 11);
                    item.detail = option.unit.to_owned();
                    item.doc = option.help.to_owned();
                    line.add(item);
                }
            }
        }
        _ => {}
    }
}
