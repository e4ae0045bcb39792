//! One mistake in a sound circuit: every place of a text where such a mistake can be made, with what it changes.

/// A circuit with one mistake.
pub struct Mutant {
    /// What kind of mistake it is.
    pub kind: &'static str,
    /// The text.
    pub text: String,
    /// The elements and junctions that it changes, as they are written.
    pub touched: Vec<String>,
}

fn is_path(line: &str) -> bool {
    line.contains(" -- ") && !line.starts_with('#') && !line.starts_with("claim") && !line.contains('"')
}

/// The text with one line put in place of another.
fn with_line(text: &str, at: usize, new: &str) -> String {
    let lines = text.lines().enumerate().map(|(index, line)| if index == at { new } else { line });
    lines.map(|line| format!("{line}\n")).collect()
}

/// `+B1-` names B1, `@fork` itself, `P1.wiper` P1.
fn named(item: &str) -> Option<String> {
    let word = item.trim_matches(|c| "+-()| ".contains(c));
    let word = if word.starts_with('@') { word } else { word.split('.').next().unwrap_or(word) };
    (!word.is_empty() && !word.contains(' ')).then(|| word.to_owned())
}

/// The names that a kind declares in lines of the text.
fn declared(text: &str, kind: &str) -> Vec<String> {
    let lines = text.lines().filter(|line| line.starts_with(kind));
    let names = lines.flat_map(|line| line[kind.len()..].split('=').next().unwrap_or("").split(','));
    names.filter_map(|name| name.split_whitespace().next()).map(str::to_owned).collect()
}

/// Every mistake of each kind.
pub fn mistakes(text: &str) -> Vec<Mutant> {
    let mut all = Vec::new();
    for (at, line) in text.lines().enumerate() {
        let code = line.split('#').next().unwrap_or("");
        if is_path(line) {
            in_path(text, at, code, &mut all);
        }
        let declares = ["resistor ", "battery ", "lamp "].iter().any(|kind| code.starts_with(kind));
        for (from, to) in [(" ohm", " kohm"), (" kohm", " ohm"), (" V", " mV")] {
            let holds = code.contains(&format!("{from},")) || code.trim_end().ends_with(from);
            if declares && holds {
                let text = with_line(text, at, &code.replacen(from, to, 1));
                all.push(Mutant { kind: "wrong prefix", text, touched: names_of(code) });
            }
        }
        for (from, to) in [("ammeter", "voltmeter"), ("voltmeter", "ammeter")] {
            if code.starts_with(from) && !code.contains("range") {
                let text = with_line(text, at, &code.replacen(from, to, 1));
                all.push(Mutant { kind: "swap a meter", text, touched: names_of(code) });
            }
        }
    }
    for name in declared(text, "battery ") {
        let flipped = flip(text, &name);
        if flipped != text {
            all.push(Mutant { kind: "flip a cell", text: flipped, touched: vec![name] });
        }
    }
    all
}

/// What a line declares.
fn names_of(code: &str) -> Vec<String> {
    let names = code.split_once(' ').map_or("", |(_, rest)| rest);
    names.split('=').next().unwrap_or("").split(',').filter_map(named).collect()
}

fn in_path(text: &str, at: usize, code: &str, all: &mut Vec<Mutant>) {
    for (place, _) in code.match_indices(" -- ") {
        let inside = code[..place].matches('(').count() > code[..place].matches(')').count();
        let (before, behind) = (&code[..place], &code[place + 4..]);
        // Half a path of a single item is a slip of writing, which is another matter.
        if !inside && before.contains(" -- ") && behind.contains(" -- ") {
            let ends = [before.rsplit(" -- ").next(), behind.split(" -- ").next()];
            let touched = ends.into_iter().flatten().flat_map(|end| end.split(['|', '(', ')'])).filter_map(named);
            let touched = touched.collect();
            all.push(Mutant {
                kind: "drop a wire",
                text: with_line(text, at, &format!("{before}\n{behind}")),
                touched,
            });
        }
    }
    for (place, _) in code.match_indices('@') {
        let word = |c: char| !c.is_alphanumeric() && c != '_';
        let end = code[place + 1..].find(word).map_or(code.len(), |end| place + 1 + end);
        let renamed = format!("{}@{}x{}", &code[..place], &code[place + 1..end], &code[end..]);
        let touched = vec![code[place..end].to_owned(), format!("{}x", &code[place..end])];
        all.push(Mutant { kind: "rename a junction", text: with_line(text, at, &renamed), touched });
    }
    for name in declared(text, "resistor ").into_iter().chain(declared(text, "lamp ")) {
        let word = format!(" -- {name} -- ");
        if code.contains(&word) && !code.contains('(') {
            let bridged = code.replacen(&word, &format!(" -- @hop -- {name} -- @skip -- "), 1);
            let text = with_line(text, at, &format!("{bridged}\n@hop -- @skip"));
            all.push(Mutant { kind: "short an element", text, touched: vec![name, "@hop".into(), "@skip".into()] });
        }
    }
}

/// The poles of a battery exchanged wherever a path names them.
fn flip(text: &str, name: &str) -> String {
    let flip = |line: &str| {
        let swapped = line.replace(&format!("{name}+"), "\u{1}").replace(&format!("{name}-"), &format!("{name}+"));
        let swapped = swapped.replace('\u{1}', &format!("{name}-"));
        swapped.replace(&format!("-{name}-"), &format!("+{name}-")).replace(&format!("+{name}+"), &format!("-{name}+"))
    };
    text.lines().map(|line| format!("{}\n", if is_path(line) { flip(line) } else { line.to_owned() })).collect()
}
