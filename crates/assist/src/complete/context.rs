//! Which place of which statement the cursor is in, and what fits there.

use ohmline_syntax::lexer::{Token, TokenKind};
use ohmline_syntax::words::{KINDS, QUANTITIES, options_of};

use super::{ItemKind, Line};
use crate::occurrences::{Scope, SymbolKind};

/// Adds what fits.
pub(super) fn fill(line: &mut Line<'_>) {
    if line.typed().starts_with('"') {
        return quoted(line);
    }
    if line.typed().starts_with('@') {
        return line.junctions();
    }
    // `P1.` or `West.D`: what is behind the dot.
    if line.before.last().is_some_and(|last| last.kind == TokenKind::Dot && last.joined) {
        return behind_dot(line);
    }
    let Some(first) = line.before.first().copied() else {
        line.statements();
        line.elements(true);
        return line.junctions();
    };
    let word = line.text_of(&first);
    let has = |kind: TokenKind| line.before.iter().any(|token| token.kind == kind);
    match first.kind {
        TokenKind::Let => value_side(line, ""),
        TokenKind::Find => question(line, false),
        TokenKind::Given | TokenKind::Measured => question(line, true),
        TokenKind::Claim => claim(line),
        TokenKind::Case => case(line),
        TokenKind::Reference => {
            line.junctions();
            line.terminals();
        }
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
    match last_kind(line) {
        Some(TokenKind::Equals) => return value_side(line, &kind),
        Some(TokenKind::Comma)
            if equals.is_some()
                || KINDS.contains(&kind.as_str()) && !takes_names(line)
                || line.part_named(&kind).is_some() =>
        {
            return line.options(&kind);
        }
        _ => {}
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
            line.values(unit);
        }
        (Some(_), _) => {
            value_side(line, &kind);
        }
        (None, _) if line.before.len() == 1 => line.next_name(&kind),
        _ => {}
    }
}

/// Whether the comma that was typed last may be followed by a further name: `lamp L1, `.
fn takes_names(line: &Line<'_>) -> bool {
    !line.before.iter().any(|token| token.kind == TokenKind::Equals)
        && !matches!(line.before.first().map(|first| line.text_of(first)), Some("ammeter" | "voltmeter"))
}

/// Behind an `=`.
fn value_side(line: &mut Line<'_>, kind: &str) {
    if !line.before.iter().any(|token| token.kind == TokenKind::Equals) {
        return;
    }
    match kind {
        "switch" => return line.states(&["open", "closed"]),
        "changeover" => return line.states(&["a", "b"]),
        _ => {}
    }
    line.values(super::values::unit_of(kind));
    if last_kind(line) != Some(TokenKind::Number) && !line.typed().starts_with(|c: char| c.is_ascii_digit()) {
        line.lets();
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
    if last_kind(line).is_some_and(goes_on) {
        line.elements(true);
        line.junctions();
        line.copies();
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
    match last_kind(line) {
        Some(TokenKind::Colon | TokenKind::Comma) => {
            line.elements(false);
            line.lets();
        }
        Some(TokenKind::Equals) => {
            let target = line.before.iter().rev().nth(1).copied();
            let kind = target.and_then(|token| line.kind_of(line.text_of(&token)));
            match kind.as_deref() {
                Some("switch") => line.states(&["open", "closed", "shorted"]),
                Some("changeover") => line.states(&["a", "b"]),
                kind => {
                    line.states(&["open", "shorted"]);
                    line.values(super::values::unit_of(kind.unwrap_or("")));
                    line.lets();
                }
            }
        }
        Some(TokenKind::Number) => line.values(""),
        _ => {}
    }
}

/// The words behind `find`, `given` and `measured`.
fn question(line: &mut Line<'_>, has_value: bool) {
    if line.before.len() == 1 {
        return line.quantities();
    }
    if line.before.iter().any(|token| token.kind == TokenKind::Equals) {
        return behind_value(line);
    }
    if last_kind(line) == Some(TokenKind::In) {
        return line.cases(false);
    }
    if !quantity(line) {
        line.after_quantity(has_value);
    }
}

fn claim(line: &mut Line<'_>) {
    if line.before.len() == 1 {
        line.quantities();
        line.elements(false);
        return;
    }
    if line.before.iter().any(|token| token.kind == TokenKind::Equals) {
        return behind_value(line);
    }
    if QUANTITIES.contains(&line.text_of(&line.before[1].clone())) {
        if !quantity(line) {
            line.after_quantity(true);
        }
        return;
    }
    // `claim R1, R2 in series`
    match last_kind(line) {
        Some(TokenKind::Comma | TokenKind::Open) => line.elements(false),
        Some(TokenKind::In) => {
            let relation = line.before.iter().any(|token| matches!(line.text_of(token), "series" | "parallel"));
            if relation { line.cases(false) } else { line.plain(&["series", "parallel"]) }
        }
        Some(kind) if kind.is_word() || kind == TokenKind::Close => line.plain(&["in"]),
        _ => {}
    }
}

fn behind_value(line: &mut Line<'_>) {
    match last_kind(line) {
        Some(TokenKind::In) => line.cases(false),
        Some(TokenKind::Equals) => {
            line.values(super::values::unit_of_quantity(line.before.get(1).map_or("", |token| line.text_of(token))));
            line.lets();
        }
        Some(TokenKind::Number) => {
            line.values(super::values::unit_of_quantity(line.before.get(1).map_or("", |token| line.text_of(token))));
            line.plain_after(12, &["within", "in"]);
        }
        Some(kind) if kind.is_word() || matches!(kind, TokenKind::Percent | TokenKind::Close) => {
            line.plain_after(12, &["within", "in"])
        }
        _ => {}
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
        ["current", "through"] | ["voltage", "across"] | ["power" | "value", "of"] => line.elements(false),
        ["charge", "of"] => line.elements_of(&["capacitor", "electrolytic"]),
        ["energy", "of"] => line.elements_of(&["capacitor", "electrolytic", "inductor"]),
        ["current", "into"] => line.terminals(),
        ["voltage", "from"] | ["potential", "at"] | ["resistance" | "capacitance", "between"] => {
            line.junctions();
            line.terminals();
        }
        ["voltage", "from", .., "to"] | ["resistance" | "capacitance", "between", .., "and"] => {
            line.junctions();
            line.terminals();
        }
        ["voltage", "from", rest @ ..] if !rest.contains(&"to") => line.plain(&["to"]),
        ["resistance" | "capacitance", "between", rest @ ..] if !rest.contains(&"and") => line.plain(&["and"]),
        _ if lists => line.elements(false),
        _ => return false,
    }
    true
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
    match line.index.symbol(symbol).kind {
        SymbolKind::Instance => {
            let names: Vec<(String, SymbolKind)> = line
                .index
                .symbols
                .iter()
                .filter(|own| own.scope == scope && !own.name.contains("{}"))
                .map(|own| (own.name.to_string(), own.kind))
                .collect();
            for (name, kind) in names {
                let kind = match kind {
                    SymbolKind::Element | SymbolKind::Instance => ItemKind::Element,
                    SymbolKind::Port => ItemKind::Terminal,
                    SymbolKind::Parameter => ItemKind::Option,
                    _ => continue,
                };
                let item = line.item(&name, kind, 10);
                line.add(item);
            }
        }
        SymbolKind::Element => {
            let in_case = line.before.first().is_some_and(|first| first.kind == TokenKind::Case);
            let kind = line.kind_of(&chain.join(".")).unwrap_or_default();
            let terminals: &[&str] = match kind.as_str() {
                "potentiometer" => &["a", "b", "wiper"],
                "changeover" => &["common", "a", "b"],
                _ => &[],
            };
            if !in_case {
                for terminal in terminals {
                    let mut item = line.item(terminal, ItemKind::Terminal, 10);
                    item.detail = format!("terminal of {}", chain.join("."));
                    line.add(item);
                }
            } else {
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
