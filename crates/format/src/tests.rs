use expect_test::{Expect, expect};
use ohmline_syntax::lexer::{TokenKind, tokens};
use proptest::prelude::*;

use super::{Change, apply, changes, changes_in, format, is_formatted};

fn becomes(text: &str, expected: Expect) {
    let new = format(text);
    expected.assert_eq(&new);
    assert_eq!(format(&new), new, "twice is once");
}

#[test]
fn spaces_units_and_wires() {
    becomes(
        "battery B1=12V,internal 0.5Ω\nresistor R1 ,R2= 4.7kΩ , tolerance 5 %\ncapacitor C1 = 10 µF\nB1+--R1--(R2|C1)-- B1-\n\
         case \"night\":R1=3 ohm,R2 = open\nclaim (R1,R2),C1   in parallel\nclaim current through R1=(1/3)A within 2%\n\
         find  current   through R1\n",
        expect![[r#"
            battery   B1     = 12 V, internal 0.5 ohm
            resistor  R1, R2 = 4.7 kohm, tolerance 5%
            capacitor C1     = 10 uF
            B1+ -- R1 -- ( R2 | C1 ) -- B1-
            case "night": R1 = 3 ohm, R2 = open
            claim (R1, R2), C1 in parallel
            claim current through R1 = (1/3) A within 2%
            find current through R1
        "#]],
    );
}

#[test]
fn blocks_comments_and_groups() {
    becomes(
        "# head   \n\n\npart lantern( in,out ),dropper 130ohm\nresistor R=dropper # the dropper\n   ## doc\n      diode D = 1.9V    #  lights\n@in -- R -- +D- -- @out\nend\n\
         repeat k from 1 to 3\nlantern L{k}\n@a -- L{k}--@b\nend\n",
        expect![[r#"
            # head


            part lantern(in, out), dropper 130 ohm
              resistor R = dropper  # the dropper
              ## doc
              diode    D = 1.9 V  #  lights
              @in -- R -- +D- -- @out
            end
            repeat k from 1 to 3
              lantern L{k}
              @a -- L{k} -- @b
            end
        "#]],
    );
}

#[test]
fn what_cannot_be_read_stays() {
    let text = "resistor  R1 ==  3 ohm\nbattery  B1 = \"6   V\n  B1+  ---  R1  ?? \nlamp L1=6ohm\n";
    becomes(
        text,
        expect![[r#"
            resistor  R1 ==  3 ohm
            battery  B1 = "6   V
              B1+  ---  R1  ??
            lamp L1 = 6 ohm
        "#]],
    );
}

#[test]
fn a_statement_on_several_lines_keeps_its_lines() {
    becomes(
        "B1+ -- ( R1 -- @left  -- R2   # one way\n     | R3--@right -- Float )\n --B1-\n\
         resistor R1=9Ω\n  ,tolerance 5 %\n resistor R22 = 12kΩ\n   , tolerance 5%   , rating 1 W\n\
         @a -- R1\n--( L1\n|( L2\n-- L3\n| L4 )\n--L5\n)\n-- @b\n\
         claim R1\n,R22 in series\n\
         repeat k from 1 to 3\n@n{k} -- R{k}\n-- @m\nend\n",
        expect![[r#"
            B1+ -- ( R1 -- @left -- R2  # one way
                   | R3 -- @right -- Float )
                -- B1-
            resistor R1  = 9 ohm
                , tolerance 5%
            resistor R22 = 12 kohm
                , tolerance 5%, rating 1 W
            @a -- R1
                -- ( L1
                   | ( L2
                       -- L3
                     | L4 )
                     -- L5
                   )
                -- @b
            claim R1
                , R22 in series
            repeat k from 1 to 3
              @n{k} -- R{k}
                  -- @m
            end
        "#]],
    );
}

#[test]
fn what_stands_below_each_other() {
    // One long list of names stands by itself; options of the same name share a column, others do not.
    becomes(
        "battery B1 = 9 V, internal 2 ohm\nresistor R1 = 4.7 kohm, tolerance 5%, rating 1 W\n\
         resistor Rload = 12 ohm, tolerance 10%, rating 0.25 W\nlamp L1, L2, L3, L4, L5 = 20 ohm\nammeter A1\n",
        expect![[r#"
            battery  B1    = 9 V, internal 2 ohm
            resistor R1    = 4.7 kohm, tolerance 5%,  rating 1 W
            resistor Rload = 12 ohm,   tolerance 10%, rating 0.25 W
            lamp     L1, L2, L3, L4, L5 = 20 ohm
            ammeter  A1
        "#]],
    );
    // Values, and what is documented; a comment of its own and a blank line begin anew.
    becomes(
        "let flat = 4.5 V\n## Amber.\nlet forward = 1.9 V\nlantern West\nlantern Easter, dropper 52 ohm\npost Pier, dropper 260 ohm\n\
         # Lamps\nlamp L1 = 6 ohm\nlamp L22 = 6 ohm\n\nlamp L333 = 6 ohm\nlamp \u{706f}\u{5854} = 6 ohm\n",
        expect![[r#"
            let flat    = 4.5 V
            ## Amber.
            let forward = 1.9 V
            lantern West
            lantern Easter, dropper 52 ohm
            post    Pier,   dropper 260 ohm
            # Lamps
            lamp L1  = 6 ohm
            lamp L22 = 6 ohm

            lamp L333 = 6 ohm
            lamp 灯塔 = 6 ohm
        "#]],
    );
}

#[test]
fn one_spelling_of_wires_and_signs() {
    becomes(
        "B1+ --- R1 \u{2014} @a \u{2212}\u{2212} \u{2212}B2+ ---- B1\u{2212}\nB1+---R1\nclaim current through R1 = \u{2212}2 A\n",
        expect![[r#"
            B1+ -- R1 -- @a -- -B2+ -- B1-
            B1+---R1
            claim current through R1 = -2 A
        "#]],
    );
}

#[test]
fn comments_behind_lines() {
    becomes(
        "lamp L1 = 6 ohm # one\nlamp L2 = 12 ohm# two\nfind current through L1, L2 in \"every light of the pier out\" # far\n@a -- L1 # four\n",
        expect![[r#"
            lamp L1 = 6 ohm   # one
            lamp L2 = 12 ohm  # two
            find current through L1, L2 in "every light of the pier out"  # far
            @a -- L1          # four
        "#]],
    );
}

#[test]
fn ends_of_lines_and_of_the_text() {
    assert_eq!(format("lamp L1=6ohm\r\n\r\nlamp L2=6ohm"), "lamp L1 = 6 ohm\r\n\r\nlamp L2 = 6 ohm\r\n");
    assert_eq!(format(""), "");
    assert_eq!(format("\n"), "\n");
    assert_eq!(format("end"), "end\n");
}

#[test]
fn signs_keep_what_they_touch() {
    for line in ["let a = supply-3 V\n", "let a = -3 V\n", "let a = 2 * (b + 1) - c\n", "-B1+ -- R1 -- @x\n"] {
        assert_eq!(format(line), line);
    }
}

#[test]
fn a_range_changes_its_own_lines_only() {
    let text = "lamp L1=6ohm\nresistor R1=6ohm\nlamp L2=6ohm\n";
    let own = changes_in(text, 1, 1);
    assert_eq!(apply(text, &own), "lamp L1=6ohm\nresistor R1 = 6 ohm\nlamp L2=6ohm\n");
    // The column is that of the group.
    assert_eq!(apply(text, &changes_in(text, 0, 0)), "lamp     L1 = 6 ohm\nresistor R1=6ohm\nlamp L2=6ohm\n");
}

/// Everything in a text that is no blank, comments apart.
fn marks(text: &str) -> (String, Vec<String>) {
    let (mut code, mut comments) = (String::new(), Vec::new());
    for token in tokens(text) {
        match token.kind {
            TokenKind::Blank | TokenKind::Newline => {}
            TokenKind::Comment | TokenKind::Doc => comments.push(token.text(text).trim_end().to_owned()),
            _ => code.push_str(token.text(text)),
        }
    }
    let code = code.replace(['\u{2126}', '\u{3a9}'], "ohm").replace(['\u{b5}', '\u{3bc}'], "u");
    // Wires of any length are wires; a dash alone is one.
    let mut code = code.replace('\u{2212}', "-").replace('\u{2014}', "--");
    while code.contains("---") {
        code = code.replace("---", "--");
    }
    (code, comments)
}

fn word() -> impl Strategy<Value = String> {
    prop::sample::select(vec![
        "battery",
        "resistor",
        "lamp",
        "R1",
        "B1",
        "B1+",
        "-B1",
        "L{k}",
        "@a",
        "@b",
        "--",
        "---",
        "\u{2014}",
        "\u{2212}",
        "-",
        "+",
        "*",
        "/",
        "=",
        ",",
        ":",
        "|",
        "(",
        ")",
        "?",
        "%",
        "12",
        "4k7",
        "12kohm",
        "3.3",
        "1e3V",
        "ohm",
        "kΩ",
        "Ω",
        "µA",
        "V",
        "W",
        "at",
        "in",
        "series",
        "claim",
        "find",
        "case",
        "part",
        "end",
        "repeat",
        "k",
        "from",
        "1",
        "to",
        "\"night\"",
        "\"",
        "# note",
        "## doc",
        "\n",
        "\n",
        "\n",
        "\r\n",
        "\n--",
        "\n  |",
        "\n,",
        "\n)",
        "L1 -- (",
        "lamp L1 = 6 ohm",
        " ",
        "  ",
        "\t",
        "current",
        "through",
        "let",
        "é",
        "\u{301}",
    ])
    .prop_map(str::to_owned)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, ..ProptestConfig::default() })]

    /// Whatever the text: nothing but blanks and spellings of units changes, and twice is once.
    #[test]
    fn nothing_is_lost(words in prop::collection::vec((word(), prop::bool::ANY), 0..60)) {
        let mut text = String::new();
        for (word, blank) in words {
            text.push_str(&word);
            if blank {
                text.push(' ');
            }
        }
        let new = format(&text);
        prop_assert_eq!(marks(&text), marks(&new));
        prop_assert!(is_formatted(&new), "{:?} becomes {:?}, then {:?}", text, new, format(&new));
        // Edits stay within their lines, and those of a line are the same whether all lines are asked for or only it.
        let all = changes(&text);
        for change in &all {
            prop_assert!(!text[change.span.range()].contains('\n'));
        }
        let lines = text.lines().count() as u32;
        let one_by_one: Vec<Change> = (0..lines).flat_map(|line| changes_in(&text, line, line)).collect();
        prop_assert_eq!(one_by_one, all);
    }
}
