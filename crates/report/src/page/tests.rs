use std::path::Path;
use std::sync::Arc;

use expect_test::{Expect, expect};
use ohmline_analysis::{FileSystem, Settings, analyze, load};

use super::*;
use crate::table::width;

/// No files at all.
struct Nothing;

impl FileSystem for Nothing {
    fn read(&self, _: &Path) -> Result<Arc<str>, String> {
        Err("there is no such file".to_owned())
    }

    fn exists(&self, _: &Path) -> bool {
        false
    }
}

fn analysis(text: &str) -> Analysis {
    analyze(load("quay.ohmline", None, Arc::new(ohmline_syntax::parse(text)), &Nothing), &Settings::default())
}

fn check(text: &str, options: &Options, expected: Expect) {
    let page = solve_page(&analysis(text), options);
    assert!(page.lines().all(|line| line.trim_end() == line), "no blanks at the ends of lines");
    expected.assert_eq(&page);
}

/// 10 and 15 ohm side by side are 6 ohm; with 9 ohm before them 15 ohm, which take 0.3 A from 4.5 V.
const PIER: &str = "\
circuit \"Pier lamps\"
battery  B1 = 4.5 V
switch   S1 = closed
resistor R1 = 9 ohm
lamp     L1 = 10 ohm
lamp     L2 = 15 ohm
B1+ -- S1 -- R1 -- @fork -- ( L1 | L2 ) -- @join -- B1-
reference @join
find  current through R1, L1
find  current through L1 in \"one lamp out\"
claim L1, L2 in parallel
claim R1, L1 in series
claim current through L2 = 0.12 A
case \"one lamp out\": L2 = open
case \"night\": S1 = open
";

#[test]
fn a_circuit_with_cases() {
    check(
        PIER,
        &Options::default(),
        expect![[r#"
            Pier lamps  (quay.ohmline)
              1 error reported; what could be solved is shown.

            Asked for
              current through R1   300 mA
              current through L1   180 mA
              current through L1   237 mA   in "one lamp out"

            Every element, as drawn
              name   kind        value   current   voltage     power
              B1     battery     4.5 V    300 mA    4.50 V   1.35  W
              S1     switch     closed    300 mA    0    V   0     W
              R1     resistor    9   Ω    300 mA    2.70 V   0.810 W
              L1     lamp       10   Ω    180 mA    1.80 V   0.324 W
              L2     lamp       15   Ω    120 mA    1.80 V   0.216 W

              junction   potential
              @fork         1.80 V
              @join         0    V

            Claims
              holds   L1, L2 in parallel            L1 and L2 both run between @fork and @join
              fails   R1, L1 in series              R1 and L1 meet at @fork, but L2 joins there too, so the
                                                    current can divide
              holds   current through L2 = 0.12 A   the solution is 0.12 A

            Cases side by side  (* = not as drawn)
              "one lamp out": L2 = open
              "night": S1 = open

              current   as drawn   "one lamp out"   "night"
              B1          300 mA         237 mA *     0 A *
              S1          300 mA         237 mA *     0 A *
              R1          300 mA         237 mA *     0 A *
              L1          180 mA         237 mA *     0 A *
              L2          120 mA           0 A  *     0 A *

              voltage   as drawn   "one lamp out"    "night"
              B1          4.50 V         4.50 V     4.50 V
              S1          0    V         0    V     4.50 V *
              R1          2.70 V         2.13 V *   0    V *
              L1          1.80 V         2.37 V *   0    V *
              L2          1.80 V         2.37 V *   0    V *

              power   as drawn   "one lamp out"   "night"
              B1       1.35  W        1.07  W *     0 W *
              S1       0     W        0     W       0 W
              R1       0.810 W        0.505 W *     0 W *
              L1       0.324 W        0.561 W *     0 W *
              L2       0.216 W        0     W *     0 W *

              potential   as drawn   "one lamp out"   "night"
              @fork         1.80 V         2.37 V *     0 V *
              @join         0    V         0    V       0 V

            In series: one current
              B1, S1, R1
              in "one lamp out":
                B1, S1, R1, L1
              in "night":
                L1, L2

            In parallel: the same two points
              L1, L2 (between @fork and @join)
              in "one lamp out":
                none

            Reference: the point at 0 V
              @join (as declared)

            Check
              Batteries and sources deliver 1.35 W in all; everything else takes up 1.35 W.
              Kirchhoff's laws hold exactly at every junction and round every loop.
        "#]],
    );
}

#[test]
fn one_case_alone() {
    let options = Options { state: Some(StateId(1)), ..Options::default() };
    check(
        PIER,
        &options,
        expect![[r#"
            Pier lamps  (quay.ohmline), case "one lamp out"
              with L2 = open
              1 error reported; what could be solved is shown.

            Asked for
              current through L1   237 mA   in "one lamp out"

            Every element
              name   kind        value   current   voltage     power
              B1     battery     4.5 V    237 mA    4.50 V   1.07  W
              S1     switch     closed    237 mA    0    V   0     W
              R1     resistor    9   Ω    237 mA    2.13 V   0.505 W
              L1     lamp       10   Ω    237 mA    2.37 V   0.561 W
              L2     lamp       15   Ω      0 A     2.37 V   0     W   open in this case

              junction   potential
              @fork         2.37 V
              @join         0    V

            In series: one current
              B1, S1, R1, L1

            In parallel: the same two points
              none

            Reference: the point at 0 V
              @join (as declared)

            Check
              Batteries and sources deliver 1.07 W in all; everything else takes up 1.07 W.
              Kirchhoff's laws hold exactly at every junction and round every loop.
        "#]],
    );
}

#[test]
fn many_cases_are_shown_in_blocks() {
    let mut text = "battery B1 = 6 V\nlamp L1 = 6 ohm\nB1+ -- L1 -- B1-\n".to_owned();
    for volts in 1..=7 {
        text.push_str(&format!("case \"supply of {volts} V\": B1 = {volts} V\n"));
    }
    let options = Options { width: 80, ..Options::default() };
    let page = solve_page(&analysis(&text), &options);
    let from = page.find("  current   as drawn").expect("a block of currents");
    let upto = page.find("  voltage   as drawn").expect("a block of voltages");
    assert!(page[from..upto].lines().all(|line| width(line) <= 80), "{page}");
    expect![[r#"
        Currents
          current   as drawn   "supply of 1 V"   "supply of 2 V"
          B1          1.00 A          167 mA *          333 mA *
          L1          1.00 A          167 mA *          333 mA *

          current   as drawn   "supply of 3 V"   "supply of 4 V"
          B1          1.00 A          500 mA *          667 mA *
          L1          1.00 A          500 mA *          667 mA *

          current   as drawn   "supply of 5 V"   "supply of 6 V"
          B1          1.00 A          833 mA *            1.00 A
          L1          1.00 A          833 mA *            1.00 A

          current   as drawn   "supply of 7 V"
          B1          1.00 A          1.17 A *
          L1          1.00 A          1.17 A *

    "#]]
    .assert_eq(&format!("Currents\n{}", &page[from..upto]));
}

#[test]
fn every_kind() {
    let text = "\
circuit \"Quay, everything at once\"
battery       B1 = 12 V, internal 0.5 ohm
source        G1 = 20 mA
ammeter       A1
voltmeter     V1 = 10 Mohm
lamp          L1 = 5 W at 12 V
fuse          F1 = 2 A
electrolytic  C1 = 4700 uF
inductor      K1 = 12 mH, resistance 1.5 ohm
diode         D1 = 0.7 V
changeover    X1 = a
potentiometer P1 = 1 kohm at 40%
resistor      R1 = (1/3) ohm
resistor      Spare = 4k7
B1+ -- F1 -- +A1- -- @bar -- L1 -- @rail -- B1-
@bar -- X1.common
X1.a -- +D1- -- K1 -- @mid -- P1.a
X1.b -- R1 -- @rail
P1.b -- @rail
P1.wiper -- +C1- -- @rail
@mid -- +V1- -- @rail
@rail -- +G1- -- @mid
measured voltage across L1 = 11.7 V within 2%
";
    check(
        text,
        &Options::default(),
        expect![[r#"
            Quay, everything at once  (quay.ohmline)

            Every element
              name    kind                 value     current      voltage       power
              B1      battery         12      V    440    mA    11.8   V     5.18  W    internal 0.5 Ω
              G1      source          20      mA    20.0  mA   -11.0   V    -0.221 W    takes power up
              A1      ammeter              ideal   440    mA     0     V     0     W
              V1      voltmeter       10      MΩ     1.10 µA    11.0   V    12.2   µW
              L1      lamp            28.8    Ω    409    mA    11.8   V     4.82  W    rated 5 W at 12 V
              F1      fuse             2      A    440    mA     0     V     0     W
              C1      electrolytic     4.7    mF     0    A      6.62  V     0     W    charge 31.1 mC, energy 103 mJ
              K1      inductor        12      mH    31.0  mA    46.6   mV    1.44  mW   resistance 1.5 Ω, energy 5.78 µJ
              D1      diode            0.7    V     31.0  mA     0.700 V    21.7   mW   conducting
              X1      changeover            on a    31.0  mA     0     V     0     W    into common 31.0 mA, into a -31.0 mA, into b 0 A
              P1      potentiometer    1      kΩ                             0.122 W    at 40%, into a 11.0 mA, into b -11.0 mA, into wiper 0 A
              R1      resistor         0.3333 Ω      0    A      0     V     0     W
              Spare   resistor         4.7    kΩ                                        not placed in any path

              junction   potential
              @bar          11.8 V
              @rail          0   V
              @mid          11.0 V

            Measured
              quantity              read   predicted
              voltage across L1   11.7 V      11.8 V   agrees

            In series: one current
              B1, A1, F1
              K1, D1, X1 (common to a)

            In parallel: the same two points
              B1, L1 (between @bar and @rail)
              G1, V1 (between @rail and @mid)
              C1, P1 (wiper to b)

            Reference: the point at 0 V
              @rail (chosen here; `reference POINT` sets another)

            Check
              Batteries and sources deliver 4.96 W in all; everything else takes up 4.96 W.
              Kirchhoff's laws hold exactly at every junction and round every loop.
        "#]],
    );
}

#[test]
fn fractions_and_what_is_undetermined() {
    let text = "\
battery B1 = 6 V
ammeter A1, A2
lamp L1 = 9 ohm
B1+ -- ( +A1- | +A2- ) -- L1 -- B1-
find current through A1
case \"dusk\": L1 = 7 ohm
";
    let options = Options { style: Style::Fraction, ..Options::default() };
    check(
        text,
        &options,
        expect![[r#"
        quay.ohmline

        Asked for
          current through A1   undetermined

        Every element, as drawn
          name   kind      value        current   voltage   power
          B1     battery     6 V          2/3 A       6 V     4 W
          A1     ammeter   ideal   undetermined       0 V     0 W
          A2     ammeter   ideal   undetermined       0 V     0 W
          L1     lamp        9 Ω          2/3 A       6 V     4 W

        Cases side by side  (* = not as drawn)
          "dusk": L1 = 7 ohm

          current       as drawn         "dusk"
          B1               2/3 A        6/7 A *
          A1        undetermined   undetermined
          A2        undetermined   undetermined
          L1               2/3 A        6/7 A *

          voltage   as drawn   "dusk"
          B1             6 V      6 V
          A1             0 V      0 V
          A2             0 V      0 V
          L1             6 V      6 V

          power   as drawn     "dusk"
          B1           4 W   36/7 W *
          A1           0 W      0 W
          A2           0 W      0 W
          L1           4 W   36/7 W *

        In series: one current
          B1, L1

        In parallel: the same two points
          B1, L1
          A1, A2

        Reference: the point at 0 V
          B1- (chosen here; `reference POINT` sets another)

        Undetermined
          current through A1, A2
              since A2 and A1 form a loop without resistance, and nothing says how the current divides among
              them

        Check
          Batteries and sources deliver 4 W in all; everything else takes up 4 W.
          Kirchhoff's laws hold exactly at every junction and round every loop.
    "#]],
    );
}

#[test]
fn an_empty_file() {
    check(
        "",
        &Options::default(),
        expect![[r#"
        quay.ohmline

        There are no elements
          Declare one, such as `lamp L1 = 6 ohm`, and join it in a path, such as `B1+ -- L1 -- B1-`.
    "#]],
    );
}

#[test]
fn wide_claims_and_what_capacitors_hold_fit_the_page() {
    let names: Vec<String> = (1..=12).map(|k| format!("Lamp{k}")).collect();
    let text = format!(
        "battery B1 = 6 V\nlamp {} = 6 ohm\ncapacitor C1 = 100 uF\nB1+ -- {} -- @end -- B1-\nB1+ -- C1 -- @end\n\
         claim {} in series\ncase \"low\": B1 = 3 V\n",
        names.join(", "),
        names.join(" -- "),
        names.join(", ")
    );
    let options = Options { width: 60, ..Options::default() };
    let page = solve_page(&analysis(&text), &options);
    let claims: Vec<&str> =
        page.lines().skip_while(|line| *line != "Claims").take_while(|line| !line.is_empty()).collect();
    assert!(claims.len() > 3 && claims.iter().all(|line| width(line) <= 60), "{}", claims.join("\n"));
    // Q = C U and W = C U^2 / 2: 600 uC and 1.8 mJ at 6 V, 300 uC and 450 uJ at 3 V.
    let row = |from: &str| {
        let block =
            page.lines().skip_while(|line| !line.trim_start().starts_with(from)).find(|line| line.contains("C1"));
        block.unwrap_or_default().split_whitespace().collect::<Vec<_>>().join(" ")
    };
    assert_eq!(row("charge "), "C1 600 µC 300 µC *");
    assert_eq!(row("energy "), "C1 1.80 mJ 450 µJ *");
}

#[test]
fn floating_answers_that_leave_nothing_over_say_so() {
    let text = "battery B1 = 6 V\nlamp L1 = 6 ohm\nB1+ -- L1 -- B1-\n";
    let sources = load("quay.ohmline", None, Arc::new(ohmline_syntax::parse(text)), &Nothing);
    let analysis = analyze(sources, &Settings { method: ohmline_analysis::Method::Float, ..Settings::default() });
    let page = solve_page(&analysis, &Options::default());
    assert!(!page.contains("0e0"), "{page}");
    assert!(page.contains("Kirchhoff's laws hold to"), "{page}");
}
