use expect_test::{Expect, expect};
use ohmline_syntax::Edit;
use proptest::prelude::*;

use super::*;

/// Everything that is said of a text, one paragraph each.
fn said(text: &str) -> String {
    let read = read(text);
    let mut out = String::new();
    for found in &read.problems {
        let at = found.primary.at.span;
        out += &format!("{} {}: {}\n", found.severity.word(), found.rule, found.message);
        out += &format!("  at {}..{} `{}` {}\n", at.start, at.end, &text[at.range()], found.primary.text);
        found.notes.iter().for_each(|note| out += &format!("  note: {note}\n"));
        found.help.iter().for_each(|help| out += &format!("  help: {help}\n"));
        for fix in &found.fixes {
            out += &format!("  fix: {}\n", applied(text, &fix.edits[0]).trim_end().replace('\n', "\\n"));
        }
    }
    out
}

fn applied(text: &str, edit: &Edit) -> String {
    let mut text = text.to_owned();
    text.replace_range(edit.at.span.range(), &edit.text);
    text
}

fn reports(text: &str, expect: Expect) {
    expect.assert_eq(&said(text));
}

#[test]
fn everything_at_once() {
    let text = "# the harbour\nvoice = \"learner\"\nprofile = [\"no-kirchhoff\", \"quay\"]\ndeny = [\"warnings\", \"style\"]\n\n\
        [levels]\nsplit-series = \"warning\"\nstyle = \"off\"\nunknown-name = \"error\"\n\n\
        [limits]\ntouch-voltage = \"25 V\"\nshort-circuit-current = \"2kA\"\nwarm-share = \"60 %\"\nlamp-over = 1.2\nlongest-path = 20\n\
        shortest-life = \"600 s\"\nenergy-note = \"5e-1 J\"\n\n[profiles.quay]\nname-gap = \"hint\"\n";
    let read = read(text);
    assert_eq!(read.problems.iter().map(|found| found.rule).collect::<Vec<_>>(), ["silent-hazard"]);
    let layer = &read.layer;
    assert_eq!(
        layer.voice.as_ref().map(|voice| (voice.what, &text[voice.at.range()])),
        Some((Voice::Learner, "\"learner\""))
    );
    let profiles = layer.profiles.as_ref().expect("chosen");
    assert_eq!(profiles.iter().map(|own| own.what.as_str()).collect::<Vec<_>>(), ["no-kirchhoff", "quay"]);
    assert_eq!(layer.deny.iter().map(|deny| deny.what.word()).collect::<Vec<_>>(), ["warnings", "style"]);
    let levels: Vec<_> = layer.levels.iter().map(|level| (level.what.0.name(), level.what.1.word())).collect();
    assert_eq!(levels, [("split-series", "warning"), ("style", "off"), ("unknown-name", "error")]);
    let limits: Vec<_> = layer.limits.iter().map(|limit| (limit.what.0.name, limit.what.1)).collect();
    assert_eq!(
        limits,
        [
            ("touch-voltage", 25.0),
            ("short-circuit-current", 2000.0),
            ("warm-share", 0.6),
            ("lamp-over", 1.2),
            ("longest-path", 20.0),
            ("shortest-life", 600.0),
            ("energy-note", 0.5)
        ]
    );
    assert_eq!(layer.own.len(), 1);
}

#[test]
fn dotted_keys_and_inline_tables_say_the_same() {
    let table = read("[levels]\nstyle = \"off\"\n[limits]\nwarm-share = 0.4\n").layer;
    for text in [
        "levels.style = \"off\"\nlimits.warm-share = 0.4\n",
        "levels = { style = \"off\" }\nlimits = { warm-share = 0.4 }\n",
    ] {
        let layer = read(text).layer;
        assert_eq!(layer.levels[0].what, table.levels[0].what);
        assert_eq!(layer.limits[0].what, table.limits[0].what);
    }
    assert_eq!(read(""), Read { layer: Layer::default(), problems: Vec::new() });
    // A byte order mark and ends of lines of other systems.
    let read = read("\u{feff}voice = \"learner\"\r\n[levels]\r\nstyle = \"off\"\r\n");
    assert_eq!((read.problems.len(), read.layer.levels.len()), (0, 1));
}

#[test]
fn names_that_there_are_none_of() {
    reports(
        "voise = \"learner\"\nsplit-series = \"off\"\ntouch-voltage = \"5 V\"\nno-diodes = true\ncolour = 3\n",
        expect![[r#"
            error unknown-setting: There is no setting `voise`
              at 0..5 `voise` did you mean `voice`?
              help: Write `voice`
              fix: voice = "learner"\nsplit-series = "off"\ntouch-voltage = "5 V"\nno-diodes = true\ncolour = 3
            error unknown-setting: There is no setting `split-series`
              at 18..30 `split-series` 
              note: `split-series` is a rule or a group of rules
              help: Write it below a line `[levels]`
            error unknown-setting: There is no setting `touch-voltage`
              at 39..52 `touch-voltage` 
              note: `touch-voltage` is a rule and a limit
              help: Write it below a line `[levels]` or `[limits]`
            error unknown-setting: There is no setting `no-diodes`
              at 61..70 `no-diodes` 
              note: `no-diodes` is a profile
              help: Write `profile = "no-diodes"`
            error unknown-setting: There is no setting `colour`
              at 78..84 `colour` 
              help: The settings are `voice`, `profile`, `deny`, `levels`, `limits` and `profiles`
        "#]],
    );
    reports(
        "[levels]\nsplit-serie = \"off\"\nstile = \"off\"\ntouch-voltag = \"off\"\nwarm-share = \"off\"\nbanana = \"off\"\n",
        expect![[r#"
            error unknown-setting: There is no rule or group `split-serie`
              at 9..20 `split-serie` did you mean `split-series`?
              help: Write `split-series`
              fix: [levels]\nsplit-series = "off"\nstile = "off"\ntouch-voltag = "off"\nwarm-share = "off"\nbanana = "off"
            error unknown-setting: There is no rule or group `stile`
              at 29..34 `stile` did you mean `style`?
              help: Write `style`
              fix: [levels]\nsplit-serie = "off"\nstyle = "off"\ntouch-voltag = "off"\nwarm-share = "off"\nbanana = "off"
            error unknown-setting: There is no rule or group `touch-voltag`
              at 43..55 `touch-voltag` did you mean `touch-voltage`?
              help: Write `touch-voltage`
              fix: [levels]\nsplit-serie = "off"\nstile = "off"\ntouch-voltage = "off"\nwarm-share = "off"\nbanana = "off"
            error unknown-setting: There is no rule or group `warm-share`
              at 64..74 `warm-share` 
              note: `warm-share` is a limit
              help: Write it below a line `[limits]`
            error unknown-setting: There is no rule or group `banana`
              at 83..89 `banana` 
              help: `ohmline explain` lists all rules, by groups
        "#]],
    );
    reports(
        "[limits]\ntouch-voltages = \"5 V\"\nsplit-series = \"off\"\nbanana = 1\n",
        expect![[r#"
        error unknown-setting: There is no limit `touch-voltages`
          at 9..23 `touch-voltages` did you mean `touch-voltage`?
          help: Write `touch-voltage`
          fix: [limits]\ntouch-voltage = "5 V"\nsplit-series = "off"\nbanana = 1
        error unknown-setting: There is no limit `split-series`
          at 32..44 `split-series` 
          note: `split-series` is a rule or a group of rules
          help: Write its level below a line `[levels]`
        error unknown-setting: There is no limit `banana`
          at 53..59 `banana` 
          help: The limits are `touch-voltage`, `extra-low-voltage`, `short-circuit-current`, `energy-note`, `energy-danger`, `circulating-current`, `largest-current`, `warm-share`, `lamp-over`, `lamp-dim`, `sagging-share`, `shortest-life`, `meter-loading`, `small-reading`, `swamped-share`, `longest-path` and `deepest-group`
    "#]],
    );
    reports(
        "profile = [\"no-diode\", \"year-nine\", \"banana\"]\n[profiles.year-9]\n",
        expect![[r#"
            error unknown-setting: There is no profile `no-diode`
              at 11..21 `"no-diode"` did you mean `no-diodes`?
              help: Write `no-diodes`
              fix: profile = ["no-diodes", "year-nine", "banana"]\n[profiles.year-9]
            error unknown-setting: There is no profile `year-nine`
              at 23..34 `"year-nine"` 
              help: Write one of `no-internal-resistance`, `no-meter-resistance`, `no-kirchhoff`, `no-power`, `no-tolerances`, `no-diodes`, `no-capacitors`, `no-inductors`, `no-current-sources` and `no-bench`, or define it in a table `[profiles.NAME]`
            error unknown-setting: There is no profile `banana`
              at 36..44 `"banana"` 
              help: Write one of `no-internal-resistance`, `no-meter-resistance`, `no-kirchhoff`, `no-power`, `no-tolerances`, `no-diodes`, `no-capacitors`, `no-inductors`, `no-current-sources` and `no-bench`, or define it in a table `[profiles.NAME]`
        "#]],
    );
    reports(
        "deny = [\"warning\", \"banana\"]\n",
        expect![[r#"
        error unknown-setting: There is no rule or group `warning`
          at 8..17 `"warning"` did you mean `warnings`?
          help: Write `warnings`
          fix: deny = ["warnings", "banana"]
        error unknown-setting: There is no rule or group `banana`
          at 19..27 `"banana"` 
          help: `ohmline explain` lists all rules, by groups
    "#]],
    );
}

#[test]
fn values_that_cannot_be() {
    reports(
        "voice = \"lerner\"\nprofile = 3\ndeny = [true, \"infos\"]\nlevels = \"off\"\nlimits = []\nprofiles = 1979-05-27\n",
        expect![[r#"
            error wrong-setting: `voice` cannot be `lerner`
              at 8..16 `"lerner"` did you mean `learner`?
              help: It is `author` or `learner`
              help: Write `learner`
              fix: voice = "learner"\nprofile = 3\ndeny = [true, "infos"]\nlevels = "off"\nlimits = []\nprofiles = 1979-05-27
            error wrong-setting: `profile` is a name or a list of names, not a number
              at 27..28 `3` 
              help: Write `profile = ["no-internal-resistance"]`, for example
            error wrong-setting: `deny` lists names, not true or false
              at 37..41 `true` 
              help: Write `deny = ["warnings"]`, for example
            error wrong-setting: `levels` is a table, not text
              at 61..66 `"off"` 
              help: Write a line `[levels]`, and below it `split-series = "off"`, for example
            error wrong-setting: `limits` is a table, not a list
              at 76..78 `[]` 
              help: Write a line `[limits]`, and below it `touch-voltage = "50 V"`, for example
            error wrong-setting: `profiles` is a table, not a date
              at 90..100 `1979-05-27` 
              help: Write a line `[profiles.year-9]`, and below it `split-series = "off"`, for example
        "#]],
    );
    reports(
        "voice = [\"learner\"]\n[levels]\nstyle = \"of\"\nname-gap = false\nunknown-name = \"hint\"\nsplit-series = \"loud\"\n\
         touch-voltage = \"50 V\"\n",
        expect![[r#"
            error wrong-setting: `voice` is `author` or `learner`, not a list
              at 8..19 `["learner"]` 
              help: Write `voice = "author"`, for example
            error wrong-setting: `style` cannot be `of`
              at 37..41 `"of"` did you mean `off`?
              help: It is `off`, `hint`, `info`, `warning` or `error`
              help: Write `off`
              fix: voice = ["learner"]\n[levels]\nstyle = "off"\nname-gap = false\nunknown-name = "hint"\nsplit-series = "loud"\ntouch-voltage = "50 V"
            error wrong-setting: `name-gap` is `off`, `hint`, `info`, `warning` or `error`, not true or false
              at 53..58 `false` 
              help: Write `name-gap = "off"`, for example
            error wrong-setting: `unknown-name` stays an error
              at 74..80 `"hint"` 
              note: What it finds could not be read as a circuit, so every answer may be wrong
              help: Mend what it finds, and take this line out
            error wrong-setting: `split-series` cannot be `loud`
              at 96..102 `"loud"` 
              help: It is `off`, `hint`, `info`, `warning` or `error`
            error wrong-setting: `touch-voltage` cannot be `50 V`
              at 119..125 `"50 V"` 
              note: The limit `touch-voltage` stands below a line `[limits]`
              help: It is `off`, `hint`, `info`, `warning` or `error`
        "#]],
    );
    reports(
        "[limits]\ntouch-voltage = 50\nextra-low-voltage = \"120\"\nenergy-note = \"5 A\"\nwarm-share = \"5 V\"\nlamp-dim = -0.5\n\
         lamp-over = \"-5 %\"\nlongest-path = 2.5\ndeepest-group = \"4\"\nlargest-current = \"5 Kohm\"\nenergy-danger = \"1e999 J\"\n\
         small-reading = inf\nmeter-loading = \"two\"\nsagging-share = nan\ncirculating-current = \"1 kA A\"\nswamped-share = {}\n",
        expect![[r#"
            error wrong-setting: `touch-voltage` is a voltage, and the number has no unit
              at 25..27 `50` 
              help: Write `touch-voltage = "60 V"`, for example, which is usual
            error wrong-setting: `extra-low-voltage` is a voltage, and the number has no unit
              at 48..53 `"120"` 
              help: Write `extra-low-voltage = "120 V"`, for example, which is usual
            error wrong-setting: `energy-note` is an energy; `5 A` is a current
              at 68..73 `"5 A"` 
              help: Write `energy-note = "1 J"`, for example, which is usual
            error wrong-setting: `warm-share` is a share; `5 V` is a voltage
              at 87..92 `"5 V"` 
              help: Write `warm-share = "50 %"`, for example, which is usual
            error wrong-setting: `lamp-dim` cannot be below zero
              at 104..108 `-0.5` 
              help: Write `lamp-dim = "30 %"`, for example, which is usual
            error wrong-setting: `lamp-over` cannot be below zero
              at 121..127 `"-5 %"` 
              help: Write `lamp-over = "110 %"`, for example, which is usual
            error wrong-setting: `longest-path` is a whole number
              at 143..146 `2.5` 
              help: Write `longest-path = 16`, for example, which is usual
            error wrong-setting: `deepest-group` is a whole number, not text
              at 163..166 `"4"` 
              help: Write `deepest-group = 4`, for example, which is usual
            error wrong-setting: `largest-current` is a current, and `5 Kohm` is not read as one: the prefix kilo is a small k: `kohm`
              at 185..193 `"5 Kohm"` 
              help: Write `largest-current = "1 kA"`, for example, which is usual
            error wrong-setting: `energy-danger` is an energy, and `1e999 J` is not read as one: the number is too long or too large
              at 210..219 `"1e999 J"` 
              help: Write `energy-danger = "10 J"`, for example, which is usual
            error wrong-setting: `small-reading` is beyond all numbers
              at 236..239 `inf` 
              help: Write `small-reading = "5 %"`, for example, which is usual
            error wrong-setting: `meter-loading` is a share, and `two` is not read as one: a quantity is a number, a space and a unit
              at 256..261 `"two"` 
              help: Write `meter-loading = "2 %"`, for example, which is usual
            error wrong-setting: `sagging-share` is beyond all numbers
              at 278..281 `nan` 
              help: Write `sagging-share = "75 %"`, for example, which is usual
            error wrong-setting: `circulating-current` is a current, and `1 kA A` is not read as one: a quantity is a number, a space and a unit
              at 304..312 `"1 kA A"` 
              help: Write `circulating-current = "10 A"`, for example, which is usual
            error wrong-setting: `swamped-share` is a share, not a table
              at 329..331 `{}` 
              help: Write `swamped-share = "0.1 %"`, for example, which is usual
        "#]],
    );
    reports(
        "[profiles.no-diodes]\nstyle = \"off\"\n[profiles.\"\"]\n[profiles]\nquay = 3\n",
        expect![[r#"
            error wrong-setting: The profile `no-diodes` comes with Ohmline and cannot be defined anew
              at 10..19 `no-diodes` 
              help: Choose another name; a list of profiles joins several
            error wrong-setting: A profile has no name
              at 45..47 `""` 
              help: Write `[profiles.year-9]`, for example
            error wrong-setting: `profiles.quay` is a table, not a number
              at 67..68 `3` 
              help: Write a line `[profiles.year-9]`, and below it `split-series = "off"`, for example
        "#]],
    );
}

#[test]
fn what_is_no_toml_spoils_its_line_alone() {
    reports(
        "voice = \"learner\ndeny = \"warnings\"\n[levels\nstyle = \"off\"\nname-gap = off\n= 3\nunused-value = \"off\"\n",
        expect![[r#"
            error unreadable-settings: This is no TOML: invalid basic string, expected `"`
              at 15..16 `r` this line is not read
              help: Write `key = "value"`, each on a line of its own; a table begins with a line such as `[levels]`
            error unreadable-settings: This is no TOML: unclosed table, expected `]`
              at 41..42 `s` what stands below it is not read either
              help: The head of a table is a line such as `[levels]`, `[limits]` or `[profiles.year-9]`
        "#]],
    );
    // A table without its head is nobody's, and must not become a part of the one before.
    reports(
        "[levels]\nstyle = \"off\"\n[profiles.quay\nname-gap = \"off\"\n\n[limits]\nwarm-share = 0.4\n",
        expect![[r#"
            error unreadable-settings: This is no TOML: unclosed table, expected `]`
              at 36..37 `y` what stands below it is not read either
              help: The head of a table is a line such as `[levels]`, `[limits]` or `[profiles.year-9]`
        "#]],
    );
    assert_eq!(read("[levels]\nstyle = \"off\"\n[profiles.quay\nname-gap = \"off\"\n").layer.levels.len(), 1);
    reports(
        "voice = \"\"\"learner\ndeny = \"warnings\"\n[levels]\n",
        expect![[r#"
            error unreadable-settings: This is no TOML: invalid multi-line basic string, expected `"`
              at 0..5 `voice` nothing from here on is read
              help: Close what begins here: quotes, or the brackets of a list or a table
        "#]],
    );
    let read = read("voice = \"learner\ndeny = \"warnings\"\n[levels]\nstyle = \"off\"\n");
    assert_eq!(read.layer.voice, None);
    assert_eq!((read.layer.deny.len(), read.layer.levels.len()), (1, 1));
    reports(
        "voice = \"author\"\nvoice = \"learner\"\n",
        expect![[r#"
            error unreadable-settings: This is no TOML: duplicate key
              at 17..22 `voice` this line is not read
              help: Write `key = "value"`, each on a line of its own; a table begins with a line such as `[levels]`
        "#]],
    );
}

#[test]
fn hazards_are_not_silenced_in_silence() {
    reports(
        "[levels]\nstored-energy = \"off\"\nratings-and-safety = \"off\"\ntouch-voltage = \"hint\"\n[limits]\ntouch-voltage = \"200 V\"\n\
         energy-note = \"0.1 J\"\nlongest-path = 99\n[profiles.paper]\nopened-coil = \"off\"\n",
        expect![[r#"
            info silent-hazard: `stored-energy` is off: nobody is told of something that can hurt
              at 9..22 `stored-energy` 
              help: Keep it where something is built: whoever builds it follows local codes and licensed practice, not these settings
            info silent-hazard: `ratings-and-safety` is off: nobody is told of things that can hurt (opened-coil, reversed-electrolytic, short-circuit-current, stored-energy, sudden-charge, touch-voltage)
              at 31..49 `ratings-and-safety` 
              help: Keep it where something is built: whoever builds it follows local codes and licensed practice, not these settings
            info silent-hazard: `touch-voltage` is above the usual 60 V: what can hurt is told later than usual
              at 90..103 `touch-voltage` 
              help: Keep it where something is built: whoever builds it follows local codes and licensed practice, not these settings
            info silent-hazard: `opened-coil` is off: nobody is told of something that can hurt
              at 171..182 `opened-coil` 
              help: Keep it where something is built: whoever builds it follows local codes and licensed practice, not these settings
        "#]],
    );
}

#[test]
fn no_list_is_too_long_or_too_deep() {
    let deep = format!("voice = {}{}\n", "[".repeat(5000), "]".repeat(5000));
    assert!(!read(&deep).problems.is_empty());
    let long = format!("deny = [{}]\n", "\"warnings\", ".repeat(20_000));
    assert_eq!(read(&long).problems, []);
    let key = format!("{} = 1\n", "k".repeat(100_000));
    assert!(read(&key).problems[0].message.len() < 100);
}

#[test]
fn values_without_a_text_are_read_alike() {
    let none = Span::new(0, 0);
    let text = |text: &str| Value { at: none, kind: Kind::Text(text.to_owned()) };
    let entry = |key: &str, value| Entry { key: key.to_owned(), at: none, value };
    let table = |entries| Value { at: none, kind: Kind::Table(entries) };
    let read = read_value(&table(vec![
        entry("voice", text("learner")),
        entry("levels", table(vec![entry("styl", text("off")), entry("style", text("off"))])),
    ]));
    assert_eq!(read.layer.levels.len(), 1);
    assert_eq!(read.problems.len(), 1);
    assert!(read.problems[0].fixes.is_empty() && read.problems[0].help == ["Write `style`"]);
}

/// Pieces of which files of settings are made, and some of which none is.
const PIECES: &[&str] = &[
    "voice",
    "profile",
    "deny",
    "levels",
    "limits",
    "profiles",
    " = ",
    "=",
    "\"learner\"",
    "\"off\"",
    "\"50 V\"",
    "'60 A'",
    "[",
    "]",
    "[[",
    "]]",
    "{",
    "}",
    ",",
    ".",
    "\n",
    "\r\n",
    "\"",
    "'''",
    "\"\"\"",
    "#",
    "\\u00",
    "split-series",
    "style",
    "touch-voltage",
    "1e999",
    "-3",
    "0x7fffffffffffffffffff",
    "nan",
    "inf",
    "true",
    "1979-05-27",
    "Ω",
    "🚢",
    "\u{feff}",
    "\0",
    "-",
    "%",
    " ",
    "year-9",
    "[levels]\n",
    "[limits]\n",
    "[profiles.quay]\n",
];

fn holds(text: &str) -> Result<(), TestCaseError> {
    let read = read(text);
    for found in &read.problems {
        let at = found.primary.at.span;
        prop_assert!(text.get(at.range()).is_some(), "{:?}", found);
        prop_assert!(!found.message.is_empty() && !found.message.contains('\n') && !found.help.is_empty());
        for fix in &found.fixes {
            // What is offered mends what it is offered for.
            let mended = applied(text, &fix.edits[0]);
            let again = super::read(&mended);
            let same = |other: &&Diagnostic| (other.rule, &other.message) == (found.rule, &found.message);
            let count = |found: &[Diagnostic]| found.iter().filter(|other| same(other)).count();
            prop_assert!(count(&again.problems) < count(&read.problems), "{text:?}\n{mended:?}");
        }
    }
    for limit in &read.layer.limits {
        prop_assert!(limit.what.1.is_finite() && limit.what.1 >= 0.0);
    }
    prop_assert_eq!(read, super::read(text));
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2000))]

    #[test]
    fn whatever_the_pieces(pieces in prop::collection::vec(prop::sample::select(PIECES), 0..30)) {
        holds(&pieces.concat())?;
    }

    #[test]
    fn whatever_the_text(text in any::<String>()) {
        holds(&text)?;
    }

    #[test]
    fn a_wrong_line_leaves_the_others(junk in "[a-z=\" .,0-9#-]{0,30}") {
        // Quotes over several lines take in what follows, as they are meant to.
        prop_assume!(!junk.contains("\"\"\""));
        let text = format!("deny = \"warnings\"\n{junk}\nprofile = \"no-power\"\n");
        let layer = read(&text).layer;
        prop_assert!(layer.deny.iter().any(|deny| deny.what == Deny::Warnings), "{text}");
        let kept = layer.profiles.iter().flatten().any(|own| own.what == "no-power");
        prop_assert!(kept || junk.trim_start().starts_with("profile"), "{text}");
    }
}
