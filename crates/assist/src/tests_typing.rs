//! Forms, colors and lenses, with the cursor in the text.

use ohmline_syntax::Span;

use crate::fixture::{analysis, marked};
use crate::lenses::lenses;
use crate::occurrences::Index;
use crate::signature::signature;
use crate::tokens::colored;

/// The form at the cursor, with the active piece in angle brackets.
fn form(text: &str) -> String {
    let (analysis, cursor) = marked(text, &[("kit.ohmline", KIT)]);
    let index = Index::new(&analysis.sources);
    let Some(found) = signature(&analysis, &index, cursor) else { return "none".to_owned() };
    let mut form = found.form.clone();
    if let Some(active) = found.active {
        let at = &found.pieces[active].at;
        form.insert(at.end, '>');
        form.insert(at.start, '<');
    }
    form
}

const KIT: &str = "\
## A lamp with its dropper.
part lantern(in, out), dropper 130 ohm, flow 1.9 V
  resistor R = dropper
  diode D = flow
  @in -- R -- +D- -- @out
end
";

#[test]
fn the_form_follows_the_cursor() {
    let battery = |piece: &str| {
        let whole = "battery NAME, ... = EMF V, internal OHMS ohm, capacity CHARGE Ah, limit CURRENT A";
        whole.replacen(piece, &format!("<{piece}>"), 1)
    };
    assert_eq!(form("battery <|>"), battery("NAME, ..."));
    assert_eq!(form("battery B1, <|>"), battery("NAME, ..."));
    assert_eq!(form("battery B1 = <|>"), battery("EMF V"));
    assert_eq!(form("battery B1 = 4.5 V<|>"), battery("EMF V"));
    assert_eq!(form("battery B1 = 4.5 V, <|>"), battery("internal OHMS ohm"));
    assert_eq!(form("battery B1 = 4.5 V, cap<|>"), battery("capacity CHARGE Ah"));
    assert_eq!(form("battery B1 = 4.5 V, internal 1 ohm, <|>"), battery("capacity CHARGE Ah"));
    assert_eq!(form("battery B1 = 4.5 V, limit 2<|>"), battery("limit CURRENT A"));
    assert_eq!(form("battery B1 = 4.5 V\n  , limit 2<|>"), battery("limit CURRENT A"));
    assert_eq!(form("ammeter A1, range <|>"), "ammeter NAME, ... = OHMS ohm, <range CURRENT A>");
    assert_eq!(form("lamp L1 = <|>"), "lamp NAME, ... = <OHMS ohm | POWER W at VOLTAGE V>");
    assert_eq!(form("changeover S1 = <|>\n"), "changeover NAME, ... = <a | b>");
}

#[test]
fn no_form_where_nothing_is_declared() {
    for text in [
        "batt<|>",
        "battery<|>",
        "B1+ -- <|>",
        "# battery B1 = <|>",
        "battery B1 = 4 V # <|>",
        "find current <|>",
        "<|>",
    ] {
        assert_eq!(form(text), "none", "{text}");
    }
}

#[test]
fn the_form_of_a_part() {
    let text = |line: &str| format!("include \"kit.ohmline\"\n{line}");
    assert_eq!(form(&text("lantern <|>")), "lantern <NAME, ...>, dropper 130 ohm, flow 1.9 V");
    assert_eq!(form(&text("lantern West, dropper <|>")), "lantern NAME, ..., <dropper 130 ohm>, flow 1.9 V");
    assert_eq!(form(&text("lantern West, flow 2 V, dr<|>")), "lantern NAME, ..., <dropper 130 ohm>, flow 1.9 V");
    let (analysis, cursor) = marked(&text("lantern <|>"), &[("kit.ohmline", KIT)]);
    let found = signature(&analysis, &Index::new(&analysis.sources), cursor).expect("a form");
    assert_eq!(found.about, "A lamp with its dropper.\n\nPorts: in, out");
}

/// Every colored stretch of a text as `text:Sort`.
fn colors(text: &str) -> Vec<String> {
    let analysis = analysis(text, &[]);
    let index = Index::new(&analysis.sources);
    let found = colored(&analysis, &index, Span::new(0, u32::MAX));
    assert!(found.windows(2).all(|pair| pair[0].span.end <= pair[1].span.start), "in order, none over another");
    found
        .iter()
        .map(|own| format!("{}:{:?}{}", &text[own.span.range()], own.sort, if own.declares { "!" } else { "" }))
        .collect()
}

#[test]
fn rules_that_a_comment_allows_stand_out_from_it() {
    assert_eq!(
        colors(
            "# allow dead-end, split-series in this file: 🌙\nlamp L1 # allow dead-end: allow\n# allow us to say: no\n## allow dead-end: x"
        ),
        [
            "# :Comment",
            "allow:Keyword",
            " :Comment",
            "dead-end:Rule",
            ", :Comment",
            "split-series:Rule",
            " in this file: 🌙:Comment",
            "lamp:Kind",
            "L1:Element!",
            "# :Comment",
            "allow:Keyword",
            " :Comment",
            "dead-end:Rule",
            ": allow:Comment",
            "# allow us to say: no:Comment",
            "## allow dead-end: x:Comment",
        ]
    );
}

#[test]
fn words_by_their_meaning() {
    assert_eq!(
        colors("switch open = closed # 🌙\nB1+ -- open -- @in -- B1-\n"),
        [
            "switch:Kind",
            "open:Element!",
            "=:Sign",
            "closed:State",
            "# 🌙:Comment",
            "B1:Element",
            "+:Sign",
            "--:Sign",
            "open:Element",
            "--:Sign",
            "@in:Junction!",
            "--:Sign",
            "B1:Element",
            "-:Sign",
        ]
    );
    assert_eq!(
        colors("find current through R1 in \"dusk\"\nresistor R1 = 2 * r, rating 1 W\nlet r = 4.5 ohm\n"),
        [
            "find:Keyword",
            "current:Quantity",
            "through:Keyword",
            "R1:Element",
            "in:Keyword",
            "\"dusk\":Text",
            "resistor:Kind",
            "R1:Element!",
            "=:Sign",
            "2:Number",
            "*:Sign",
            "r:Value",
            "rating:Field",
            "1:Number",
            "W:Number",
            "let:Keyword",
            "r:Value!",
            "=:Sign",
            "4.5:Number",
            "ohm:Number",
        ]
    );
}

#[test]
fn parts_ports_and_counters() {
    assert_eq!(
        colors("part p(a, b), r 1 ohm\n  @a -- R{k} -- @mid -- @b\nend\np X\n@X.mid -- @q{k+1}\n")
            .into_iter()
            .filter(|one| !one.ends_with(":Sign"))
            .collect::<Vec<_>>(),
        [
            "part:Keyword",
            "p:Part!",
            "a:Port!",
            "b:Port!",
            "r:Parameter!",
            "1:Number",
            "ohm:Number",
            "@a:Port",
            "R{k}:Element",
            "@mid:Junction!",
            "@b:Port",
            "end:Keyword",
            "p:Part",
            "X:Element!",
            "@X:Element",
            "mid:Junction",
            "@q{k+1}:Junction!",
        ]
    );
}

/// By hand: 9 ohm + (10 ohm beside 15 ohm = 6 ohm) = 15 ohm at 4.5 V: 300 mA, 1.35 W; 15/25 of it through R2.
#[test]
fn lenses_say_what_was_solved() {
    let text = "circuit \"Pier\"\nbattery B1 = 4.5 V\nresistor R1 = 9 ohm\nresistor R2 = 10 ohm\nresistor R3 = 15 ohm\nswitch S1 = closed\n\
        B1+ -- S1 -- R1 -- ( R2 | R3 ) -- B1-\nclaim R2, R3 in parallel\nclaim R1, R2 in series\nfind current through R1, R2, R3\n\
        case \"night\": S1 = open\nfind current through R1 in \"night\"\nfind current through R1, R2, R3, S1\n";
    let found: Vec<String> = lenses(&analysis(text, &[]))
        .into_iter()
        .map(|lens| format!("{:?} {} {}", lens.opens, lens.case.unwrap_or_else(|| "-".to_owned()), lens.title))
        .collect();
    let [first, rest @ ..] = found.as_slice() else { panic!("{found:?}") };
    // The claim that fails is told of once.
    assert_eq!(first, "Solution - B1 300 mA, 1.35 W · 1 claim holds, 1 claim fails");
    assert_eq!(
        rest,
        [
            "Drawing - Drawing",
            "Preview - Preview",
            "Solution - 300 mA, 180 mA, 120 mA",
            "Solution night B1 0 A, 0 W",
            "Solution night 0 A",
            "Solution - 300 mA, 180 mA, 120 mA and 1 more",
        ]
    );
}

#[test]
fn errors_come_first() {
    let found = lenses(&analysis("circuit \"Pier\"\nbattery B1 = 4.5 ohm\nlamp L1 = 9 ohm\nB1+ -- L1 -- B1-\n", &[]));
    assert!(found[0].title.starts_with("1 error · "), "{}", found[0].title);
}

#[test]
fn nothing_fails_on_what_is_half_typed() {
    let text = "part lantern(in, out), dropper 130 ohm\n  resistor R = dropper\n@in -- R -- @é -- @out\nend\nlantern Œ, dropper 5 Ω\n\
        battery B1 = 4.5 V, internal\n, limit 2 A\nrepeat k from 1 to 3\nlamp L{k} = 5 W at 12 V\nend\ncase \"🌙\": L1 = open\n";
    for (at, _) in text.char_indices() {
        let analysis = analysis(&text[..at], &[]);
        let index = Index::new(&analysis.sources);
        for cursor in [at as u32, (at / 2) as u32, u32::MAX] {
            let _ = signature(&analysis, &index, cursor);
        }
        let found = colored(&analysis, &index, Span::new(0, u32::MAX));
        assert!(found.iter().all(|own| !own.span.is_empty() && text.get(own.span.range()).is_some()));
        let _ = lenses(&analysis);
    }
}

/// The part of a text, colored alone, is colored as in the whole.
#[test]
fn a_part_is_colored_like_the_whole() {
    let text = "resistor R1 = 9 Ω\n  , rating 1 W # 🌙\r\n@a -- R1\n  -- @é\nfind power of R1 in \"ü\"\n";
    let analysis = analysis(text, &[]);
    let index = Index::new(&analysis.sources);
    let all = colored(&analysis, &index, Span::new(0, u32::MAX));
    for start in 0..=text.len() as u32 {
        for end in start..=text.len() as u32 {
            let range = Span::new(start, end);
            let part = colored(&analysis, &index, range);
            let of_all: Vec<_> =
                all.iter().filter(|own| own.span.end >= start && own.span.start <= end).copied().collect();
            assert_eq!(part, of_all, "{range:?}");
        }
    }
}
