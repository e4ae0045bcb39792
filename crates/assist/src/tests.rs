//! The features at a place, with the cursor in the text.

use std::collections::BTreeSet;

use ohmline_syntax::FileId;

use crate::fixture::{analysis, marked};
use crate::highlight::highlight;
use crate::occurrences::{Index, Role, SymbolKind};
use crate::outline::outline;
use crate::rename::{apply, rename};
use crate::stretches::{folds, growing};

const KIT: &str = "\
let flat = 4.5 V
part lantern(in, out), dropper 130 ohm
  resistor R = dropper
  diode D = 1.9 V
  @in -- R -- @mid -- +D- -- @out
end
";

const QUAY: &str = "\
include \"kit.ohmline\"
battery B1 = flat
lantern West
lantern East, dropper 52 ohm
lamp L1, L2 = 10 ohm
B1+ -- ( West | East | L1 -- @fork -- L2 ) -- B1-
@fork -- @gate
find current through West.D, L1
find potential at @West.mid
case \"night\": flat = 3 V, East.R = open
find current through L1 in \"night\"
";

/// The names of a text as `line:column name`, of what stands at the cursor.
fn places(text: &str, others: &[(&str, &str)]) -> Vec<String> {
    let (analysis, cursor) = marked(text, others);
    let index = Index::new(&analysis.sources);
    let Some(own) = index.at(FileId::MAIN, cursor) else { return Vec::new() };
    index
        .of(own.symbol)
        .map(|place| {
            let source = analysis.sources.file(place.at.file);
            let at = source.lines.line_col(&source.tree.text, place.at.span.start, ohmline_syntax::Encoding::Utf8);
            let mark = match place.role {
                Role::Definition => "!",
                Role::Use => "",
                Role::Field => ".",
            };
            let file = if place.at.file == FileId::MAIN { String::new() } else { format!("{} ", source.name) };
            format!("{file}{}:{} {}{mark}", at.line + 1, at.col + 1, source.tree.slice(place.at.span))
        })
        .collect()
}

#[test]
fn names_across_files_and_parts() {
    let kit = [("kit.ohmline", KIT)];
    let at = |piece: &str, marked: &str| places(&QUAY.replacen(piece, marked, 1), &kit);
    assert_eq!(at("B1 = flat", "B1 = fl<|>at"), ["2:14 flat", "10:15 flat", "kit.ohmline 1:5 flat!"]);
    assert_eq!(at("lantern East", "lan<|>tern East"), ["3:1 lantern", "4:1 lantern", "kit.ohmline 2:6 lantern!"]);
    assert_eq!(
        at("East, dropper", "East, drop<|>per"),
        ["4:15 dropper", "kit.ohmline 2:24 dropper!", "kit.ohmline 3:16 dropper"]
    );
    assert_eq!(at("through West.D", "through West.D<|>"), ["8:27 D", "kit.ohmline 4:9 D!", "kit.ohmline 5:24 D"]);
    assert_eq!(at("through West.D", "through W<|>est.D"), ["3:9 West!", "6:10 West", "8:22 West", "9:20 West"]);
    assert_eq!(at("@West.mid", "@West.m<|>id"), ["9:25 mid!", "kit.ohmline 5:16 mid"]);
    assert_eq!(at("@fork -- @gate", "@<|>fork -- @gate"), ["6:31 fork!", "7:2 fork"]);
    assert_eq!(at("in \"night\"", "in \"ni<|>ght\""), ["10:7 night!", "11:29 night"]);
}

#[test]
fn repeats_and_terminals() {
    let text = "potentiometer P1 = 100 ohm at 40%\nrepeat k from 1 to 3\nresistor R{k} = k * 1 ohm\n@n{k} -- R{k} -- @n{k+1}\nend\n\
        @n1 -- P1.wiper\nP1.a -- @n4\nP1.b -- @n1\nfind current through R2\nfind current into P1.wip<|>er\n";
    assert_eq!(
        places(text, &[]),
        ["1:15 P1!", "6:8 P1", "6:11 wiper.", "7:1 P1", "7:4 a.", "8:1 P1", "8:4 b.", "10:19 P1", "10:22 wiper."]
    );
    let text = text.replace("<|>", "");
    assert_eq!(places(&text.replacen("through R2", "through R<|>2", 1), &[]), ["3:10 R{k}!", "4:10 R{k}", "9:22 R2"]);
    assert_eq!(
        places(&text.replacen("@n1 -- P1", "@n<|>1 -- P1", 1), &[]),
        ["4:2 n{k}!", "4:19 n{k+1}", "6:2 n1", "7:10 n4", "8:10 n1"]
    );
    assert_eq!(
        places(&text.replacen("= k *", "= <|>k *", 1), &[]),
        ["2:8 k!", "3:12 k", "3:17 k", "4:4 k", "4:12 k", "4:21 k"]
    );
}

/// Rule of scope: an `include` brings in `let`s and parts, and no cases.
#[test]
fn cases_of_an_included_file_are_its_own() {
    let kit = "lamp L9 = 6 ohm\ncase \"night\": L9 = open\n";
    let text = "include \"kit.ohmline\"\nlamp L1 = 6 ohm\ncase \"ni<|>ght\": L1 = open\n";
    assert_eq!(places(text, &[("kit.ohmline", kit)]), ["3:7 night!"]);
}

fn renamed(text: &str, name: &str) -> Result<(String, String), String> {
    let (analysis, cursor) = marked(text, &[("kit.ohmline", KIT)]);
    let index = Index::new(&analysis.sources);
    let edits = rename(&analysis.sources, &index, FileId::MAIN, cursor, name)?;
    let after = apply(&analysis.sources, &edits);
    let text = |file: usize| after.files.get(file).map_or(String::new(), |source| source.tree.text.to_string());
    Ok((text(0), text(1)))
}

#[test]
fn a_rename_reaches_every_file() {
    let (quay, kit) = renamed(&QUAY.replacen("through West.D", "through West.<|>D", 1), "Amber").expect("it can be");
    assert_eq!(quay, QUAY.replace("West.D", "West.Amber"));
    assert_eq!(kit, KIT.replace("diode D", "diode Amber").replace("+D-", "+Amber-"));
    let (quay, _) = renamed(&QUAY.replacen("@fork", "@fo<|>rk", 1), "@post").expect("it can be");
    assert_eq!(quay, QUAY.replace("@fork", "@post"));
    let (quay, _) = renamed(&QUAY.replacen("case \"night", "case \"<|>night", 1), "dusk \u{1f319}").expect("it can be");
    assert_eq!(quay, QUAY.replace("\"night\"", "\"dusk \u{1f319}\""));
    let text = "repeat k from 1 to 3\nresistor R<|>{k} = 1 ohm\n@a -- R{k} -- @b\nend\nfind current through R2\n";
    let (after, _) = renamed(text, "Bulb{k}_x").expect("it can be");
    assert_eq!(
        after,
        "repeat k from 1 to 3\nresistor Bulb{k}_x = 1 ohm\n@a -- Bulb{k}_x -- @b\nend\nfind current through Bulb2_x\n"
    );
}

#[test]
fn a_rename_that_would_change_the_meaning_is_refused() {
    let why = |marked: &str, name: &str| renamed(marked, name).expect_err("it cannot be");
    let l1 = QUAY.replacen("lamp L1", "lamp L<|>1", 1);
    assert_eq!(why(&l1, "L2"), "`L2` is taken already, in line 5 of pier.ohmline");
    assert_eq!(why(&l1, "lamp"), "`lamp` is a word of the notation; choose another name");
    assert_eq!(why(&l1, "find"), "`find` is a word of the notation; choose another name");
    for name in ["", "1L", "L 1", "L-1", "L.1", "L1 = 5 ohm\nlamp L9", "@x"] {
        assert!(why(&l1, name).contains("is no name"), "{name:?}");
    }
    assert_eq!(why(&l1, "L{k}"), "`L{k}` has a hole in braces, which only a name inside of a repeat can have");
    // A value of the kit of this name would be meant from then on.
    assert!(renamed(&l1, "flat").is_err());
    assert!(why("battery <|>B1 = 6 V\nB1+ -- R1 -- B1-\n", "R1").starts_with("`R1` "));
    assert_eq!(
        why("find current through Ghost<|>\n", "R1"),
        "Nothing declares this name yet, so there is nothing to rename"
    );
    assert_eq!(why("lamp L1 = 6 <|> ohm\n", "R1"), "There is no name here to change");
    let pot = "potentiometer P1 = 1 ohm at 4%\nfind current into P1.wip<|>er\n";
    assert_eq!(why(pot, "slider"), "Terminals and options have names of the notation, which stay as they are");
}

/// Whatever is renamed in whichever sample, the answers are the same.
#[test]
fn after_any_rename_the_answers_are_the_same() {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../../samples");
    let read = |name: &str| std::fs::read_to_string(format!("{folder}/{name}")).expect("a sample");
    let kit = read("kit.ohmline");
    let others = [("kit.ohmline", kit.as_str())];
    let mut count = 0;
    for entry in std::fs::read_dir(folder).expect("samples") {
        let name = entry.expect("readable").file_name().to_string_lossy().into_owned();
        if !name.ends_with(".ohmline") || name == "kit.ohmline" {
            continue;
        }
        let text = read(&name);
        let before = analysis(&text, &others);
        let index = Index::new(&before.sources);
        let answers = |analysis: &ohmline_analysis::Analysis| {
            let states = &analysis.answers.states;
            let values: Vec<String> = states
                .iter()
                .flat_map(|state| {
                    state
                        .elements
                        .iter()
                        .flatten()
                        .map(|own| format!("{:?} {:?} {:?}", own.current, own.voltage, own.power))
                })
                .collect();
            // `name-gap` is about the row of names itself (R1, R3), which a rename is free to break or to mend.
            let rules = analysis.diagnostics.iter().map(|found| found.rule).filter(|rule| *rule != "name-gap");
            (values, rules.collect::<Vec<_>>())
        };
        for symbol in 0..index.symbols.len() as u32 {
            let Some(first) = index.of(symbol).find(|place| place.at.file == FileId::MAIN && place.role != Role::Field)
            else {
                continue;
            };
            if index.symbol(symbol).kind == SymbolKind::Undeclared {
                continue;
            }
            let holes = "{k}".repeat(index.symbol(symbol).name.matches("{}").count());
            let edits = rename(&before.sources, &index, FileId::MAIN, first.at.span.start, &format!("Zz9{holes}"));
            let edits = edits.unwrap_or_else(|why| panic!("{name}: {:?}: {why}", index.symbol(symbol)));
            let after = apply(&before.sources, &edits);
            let after = ohmline_analysis::analyze(after, &ohmline_analysis::Settings::default());
            assert_eq!(answers(&before), answers(&after), "{name}: {:?}", index.symbol(symbol));
            count += 1;
        }
    }
    assert!(count > 100, "only {count}");
}

#[test]
fn a_junction_is_shown_under_all_its_names() {
    let (analysis, cursor) = marked(&QUAY.replacen("@fork -- @gate", "@fork -- @ga<|>te", 1), &[("kit.ohmline", KIT)]);
    let index = Index::new(&analysis.sources);
    let main = &analysis.sources.file(FileId::MAIN).tree;
    let shown: Vec<&str> = highlight(&analysis, &index, cursor).iter().map(|place| main.slice(place.span)).collect();
    assert_eq!(shown, ["fork", "fork", "gate"]);
    let (analysis, cursor) = marked("battery B1 = 6 V\nlamp L1 = 6 ohm\nB1+ -- @ra<|>il\n@rail -- L1 -- B1-\n", &[]);
    let index = Index::new(&analysis.sources);
    let main = &analysis.sources.file(FileId::MAIN).tree;
    let shown: Vec<&str> = highlight(&analysis, &index, cursor).iter().map(|place| main.slice(place.span)).collect();
    assert_eq!(shown, ["B1+", "rail", "rail"]);
}

#[test]
fn the_outline_holds_everything_declared() {
    let tree =
        ohmline_syntax::parse(&format!("circuit \"Quay\"\n{KIT}{}", QUAY.replace("include \"kit.ohmline\"\n", "")));
    let entries = outline(&tree);
    assert_eq!(entries.len(), 1);
    let names: Vec<String> =
        entries[0].children.iter().map(|entry| format!("{} ({})", entry.name, entry.detail)).collect();
    assert_eq!(
        names[..6],
        [
            "flat (4.5 V)",
            "lantern (part (in, out))",
            "B1 (battery flat)",
            "West (copy of lantern)",
            "East (copy of lantern)",
            "L1 (lamp 10 ohm)"
        ]
    );
    let inside: Vec<&str> = entries[0].children[1].children.iter().map(|entry| entry.name.as_str()).collect();
    assert_eq!(inside, ["R", "D"]);
    for entry in &entries[0].children {
        assert!(entry.whole.start <= entry.at.start && entry.at.end <= entry.whole.end, "{entry:?}");
    }
}

#[test]
fn folds_and_growing_selections() {
    let text = format!("# one\n# two\n{KIT}# alone\n");
    let tree = ohmline_syntax::parse(&text);
    let lines = ohmline_syntax::LineIndex::new(&text);
    let found: Vec<(u32, u32, bool)> =
        folds(&tree, &lines).iter().map(|fold| (fold.first, fold.last, fold.comment)).collect();
    assert_eq!(found, [(0, 1, true), (3, 7, false)]);
    let at = text.find("mid").expect("there") as u32;
    let grown: Vec<&str> = growing(&tree, at).iter().map(|span| tree.slice(*span)).collect();
    assert_eq!(grown[0], "@mid");
    assert_eq!(grown[1], "@in -- R -- @mid -- +D- -- @out");
    assert!(grown[2].starts_with("part lantern") && grown[2].ends_with("end"));
    assert_eq!(grown[3], text);
}

/// Every place of every text: nothing panics, and what is found touches the place.
#[test]
fn anywhere_in_any_text() {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../../samples/mistakes");
    for entry in std::fs::read_dir(folder).expect("samples") {
        let text = std::fs::read_to_string(entry.expect("readable").path()).expect("readable");
        for cut in (0..text.len()).step_by(97).filter(|cut| text.is_char_boundary(*cut)) {
            let analysis = analysis(&text[..cut], &[]);
            let index = Index::new(&analysis.sources);
            let tree = &analysis.sources.file(FileId::MAIN).tree;
            let mut seen = BTreeSet::new();
            for own in &index.occurrences {
                assert!(seen.insert((own.at, own.symbol, own.role == Role::Field)), "{own:?} twice");
                assert!(!tree.slice(own.at.span).is_empty() || index.symbol(own.symbol).kind == SymbolKind::Case);
            }
            outline(tree);
            highlight(&analysis, &index, cut as u32 / 2);
            growing(tree, cut as u32 / 2);
        }
    }
}
