//! One cause, one message.

use expect_test::expect;

use crate::fixture::says;

#[test]
fn a_floating_element_has_no_open_ends_and_is_no_dead_branch() {
    says(
        "battery B1 = 6 V\nresistor R1, R2 = 12 ohm\nB1+ -- R1 -- B1-\n@far -- R2 -- @away\n",
        expect![[r#"
            warning floating-piece: R2 is joined neither to the rest of the circuit nor to a source
              at 4:9 `R2` no wire leads from here to a source
              ask: By which way does a current come from a source to R2, and by which does it go back?
              help: Join it at two points, so that a current can come in and go out
        "#]],
    );
}

#[test]
fn a_line_with_one_loose_end_is_said_once() {
    says(
        "battery B1 = 6 V\nresistor R1, R2, R3 = 12 ohm\nB1+ -- @top -- R1 -- B1-\n@top -- R2 -- R3 -- @away\n",
        expect![[r#"
            warning open-end: Nothing but the right end of R3 is joined at @away, so no current can pass through R3
              at 4:21 `@away` only this end is joined here
              ask: What else should be joined at @away?
              note: R2 is in line with it and carries no current either
              help: Lead this end on to where it belongs, or take the element out of the drawing
              fix: Join them: add `@away -- B1-` (4:26 `` -> "\n@away -- B1-")
        "#]],
    );
}

#[test]
fn a_line_with_two_loose_ends_is_said_once() {
    says(
        "battery B1 = 6 V\nresistor R1 = 12 ohm\nB1+ -- R1 -- @far\n",
        expect![[r#"
            warning open-end: Nothing but the right end of R1 is joined at @far, so no current can pass through R1
              at 3:14 `@far` only this end is joined here
              ask: What else should be joined at @far?
              -- 3:1 `B1+` this end is loose too
              note: B1 is in line with it and carries no current either
              help: Join the two ends, or lead each on to where it belongs
              fix: Join them: add `@far -- B1-` (3:18 `` -> "\n@far -- B1-")
        "#]],
    );
}

#[test]
fn a_shorted_source_silences_its_followers() {
    says(
        "source E1 = 6 V\nresistor R1 = 12 ohm\nE1+ -- R1 -- E1-\nE1+ -- E1-\nfind current through E1, R1\n",
        expect![[r#"
            error shorted-source: E1 is shorted by a plain wire: no finite current fits
              at 3:1 `E1+` its + and - are one point
              ask: Follow the wire from the + of E1: what does the current meet before it is back at the -?
              -- 4:1 `E1+ -- E1-` this wire joins the two
              help: Put something with resistance between, or take the short out; do not build this on a bench
              fix: Take out the wire `E1+ -- E1-` (4:1 `E1+ -- E1-\n` -> "")
        "#]],
    );
}

#[test]
fn an_unreadable_path_counts_as_connected() {
    says(
        "battery B1 = 6 V\nresistor R1, R2 = 12 ohm\nB1+ -- R1 -- @far\n@far -- R2 -- ( B1-\nfind current through R1\n",
        expect![[r#"
            error unclosed-group: This `(` is never closed
              at 4:15 `(`
              help: A statement goes on only when the very next line begins with `--`, `|`, `,` or `)`
              fix: Write `)` at the end (4:20 `` -> " )")
        "#]],
    );
}

#[test]
fn an_unreadable_declaration_counts_as_connected() {
    says(
        "battery B1 = 6 V\nresistr R1 = 12 ohm\nresistor R2 = 3 ohm\nB1+ -- R1 -- R2 -- B1-\nfind current through R2\n",
        expect![[r#"
            error unknown-kind: `resistr` is neither a kind of element nor a part
              at 2:1 `resistr`
              help: Did you mean `resistor`?
              fix: Write `resistor` (2:1 `resistr` -> "resistor")
        "#]],
    );
}

#[test]
fn copies_of_a_part_are_said_once() {
    says(
        "part stub(in, out)\n  resistor Ra, Rb = 10 ohm\n  @in -- Ra -- @out\n  @in -- Rb\nend\n\
         battery B1 = 6 V\nstub X\nstub Y\nB1+ -- X -- Y -- B1-\n",
        expect![[r#"
            warning open-end: Nothing is joined at the right end of X.Rb, so no current can pass through X.Rb
              at 4:10 `Rb` only this end is joined here
              ask: What else should be joined at the right end of X.Rb?
              note: The same is so in one more copy of this place
              help: Lead this end on to where it belongs, or take the element out of the drawing
        "#]],
    );
}

#[test]
fn broken_text_alone_does_not_make_a_circuit_wrong() {
    says(
        "battery B1 = 6 V\nresistor R1 = 12 ohm\nB1+ -- R1 -- B1-\nB1+ --\n",
        expect![[r#"
            error loose-end-wire: The path ends in a wire that leads to nothing
              at 4:5 `--`
              help: Name what it leads to, or begin the next line with `--` to go on there
              fix: Remove the wire (4:4 ` --` -> "")
        "#]],
    );
}

#[test]
fn an_element_that_stands_twice_does_not_float() {
    says(
        "battery B1 = 6 V\nresistor R1 = 10 ohm\nB1+ -- R1 -- B1-\n@a -- R1 -- @c\n",
        expect![[r#"
        error placed-twice: The path passes through `R1` a second time; an element stands at one place only
          at 4:7 `R1` second time
          -- 3:8 `R1` first time
          help: Declare a second element and name that here, or join the points by a wire
    "#]],
    );
}

#[test]
fn a_path_with_its_wire_on_the_wrong_line_is_said_once() {
    says(
        "battery B1 = 6 V\nresistor R1, R2 = 5 ohm\nB1+ -- R1 --\nR2 -- B1-\n",
        expect![[r#"
        error loose-end-wire: A path that goes on below has its wire on the next line
          at 3:11 `--`
          help: A line goes on only when the next one begins with `--`, `|`, `,` or `)`
          fix: Move `--` to the next line (3:10 ` --` -> ""; 4:1 `` -> "-- ")
          fix: Remove the wire (3:10 ` --` -> "")
    "#]],
    );
}

#[test]
fn a_path_torn_apart_by_a_comment_is_said_once() {
    says(
        "battery B1 = 6 V\nresistor R1, R2 = 5 ohm\nB1+ -- R1\n# here\n-- R2 -- B1-\n",
        expect![[r#"
        error loose-line: This line begins with `--`, but no statement stands right above it
          at 5:1 `--`
          help: It goes on with the line right above; a blank line or one with only a comment ends a statement
    "#]],
    );
}

#[test]
fn a_loose_element_that_stands_twice_has_no_open_end() {
    says(
        "battery B1 = 6 V\nresistor R1 = 6 ohm\nlamp L9 = 5 ohm\nB1+ -- R1 -- @a -- B1-\nL9 -- @a\n@a -- L9\n",
        expect![[r#"
            error placed-twice: The path passes through `L9` a second time; an element stands at one place only
              at 6:7 `L9` second time
              -- 5:1 `L9` first time
              help: Declare a second element and name that here, or join the points by a wire
        "#]],
    );
}

#[test]
fn a_part_that_stands_twice_has_no_open_end() {
    says(
        "part lantern(p, q)\n  resistor R = 5 ohm\n  @p -- R -- @q\nend\nlantern C1\nbattery B1 = 6 V\nB1+ -- C1 -- B1-\nC1 -- @x\n",
        expect![[r#"
            error placed-twice: The path passes through `C1` a second time; a part stands at one place only
              at 8:1 `C1` second time
              -- 7:8 `C1` first time
              help: Declare a second copy of the part and name that here; or lead a path to one of its ports, `C1.p` or `C1.q`
        "#]],
    );
}

#[test]
fn a_wrong_name_in_a_path_is_said_once() {
    says(
        "battery B1 = 6 V\nresistor Rload = 5 ohm\nB1+ -- Rlaod -- B1-\nclaim current through Rload = 1 A\n",
        expect![[r#"
            error unknown-name: `Rlaod` is not declared
              at 3:8 `Rlaod`
              help: Did you mean `Rload`?
              fix: Write `Rload` (3:8 `Rlaod` -> "Rload")
        "#]],
    );
}

#[test]
fn a_repeat_without_copies_has_no_followers() {
    says(
        "battery B1 = 6 V\nresistor R0 = 5 ohm\nB1+ -- R0 -- @n0\nrepeat k from 1 to 10001\n  resistor R{k} = 5 ohm\n  @n{k-1} -- R{k} -- @n{k}\nend\n@n10001 -- B1-\n",
        expect![[r#"
            error too-many-copies: The repeat makes 10001 copies; the most is 10,000
              at 4:15 `1 to 10001`
        "#]],
    );
}

#[test]
fn a_port_joined_to_nothing_has_no_followers() {
    says(
        "battery B1 = 6 V\nresistor R1 = 5 ohm\npart box(a, b)\n  resistor R = 5 ohm\n  @a -- R -- @m\nend\nbox X\nB1+ -- R1 -- X -- B1-\n",
        expect![[r#"
            warning unjoined-port: Port `b` is joined to nothing inside `box`
              at 3:13 `b`
              help: Name it in a path of the part, as in `R1 -- @b`, or take it out
        "#]],
    );
}

#[test]
fn a_value_and_an_element_of_one_name_are_said_once() {
    says(
        "battery B1 = 6 V\nlet R1 = 4 ohm\nresistor R1 = R1\nB1+ -- R1 -- B1-\nfind current through R1\n",
        expect![[r#"
            error duplicate-name: `R1` is declared a second time
              at 3:10 `R1` declared again here
              -- 2:5 `R1` first declared here
              help: Give one of them another name
        "#]],
    );
}

#[test]
fn a_path_from_an_element_to_itself_is_said_once() {
    says(
        "battery B1 = 6 V\nresistor R1 = 6 ohm\nB1 -- R1 -- B1\nfind current through R1\nclaim current through R1 = 1 A\n",
        expect![[r#"
            error missing-polarity: The path begins and ends at `B1`, and does not say at which terminal
              at 3:1 `B1`
              -- 3:13 `B1` it ends here
              help: Write `B1+ -- ... -- B1-`, or the reverse
              fix: Write `B1+ -- ... -- B1-` (3:1 `B1` -> "B1+"; 3:13 `B1` -> "B1-")
              fix: Write `B1- -- ... -- B1+` (3:1 `B1` -> "B1-"; 3:13 `B1` -> "B1+")
        "#]],
    );
}

#[test]
fn a_missing_polarity_is_said_once() {
    says(
        "battery B1 = 6 V\nresistor R1 = 6 ohm\nammeter A1\nB1+ -- R1 -- A1 -- B1-\nfind current through R1\nclaim current through R1 = 1 A\n",
        expect![[r#"
            error missing-polarity: `A1` has polarity, and the path does not say which way it passes the ammeter
              at 4:14 `A1`
              help: Write `+A1-` to enter at `+`, or `-A1+` to enter at `-`
              fix: Write `+A1-`: enter at `+` (4:14 `A1` -> "+A1-")
              fix: Write `-A1+`: enter at `-` (4:14 `A1` -> "-A1+")
        "#]],
    );
}

#[test]
fn a_meter_of_which_nobody_knows_which_way_round_it_stands_leaves_the_rest_solved() {
    says(
        "battery B1 = 6 V\nresistor R1 = 6 ohm\nammeter A1\nB1+ -- R1 -- A1 -- B1-\nclaim current through R1 = 2 A\n",
        expect![[r#"
            error missing-polarity: `A1` has polarity, and the path does not say which way it passes the ammeter
              at 4:14 `A1`
              help: Write `+A1-` to enter at `+`, or `-A1+` to enter at `-`
              fix: Write `+A1-`: enter at `+` (4:14 `A1` -> "+A1-")
              fix: Write `-A1+`: enter at `-` (4:14 `A1` -> "-A1+")
            error false-claim: The current through R1 is 1 A, not 2 A
              at 5:28 `2 A` solved: 1 A
              ask: How did you find 2 A? Which law, with which numbers?
              help: Mend the claim, or the values it follows from
              fix: Claim 1 A (5:28 `2 A` -> "1 A")
        "#]],
    );
}

#[test]
fn the_terminal_that_nothing_is_joined_to_is_offered_first() {
    says(
        "battery B1 = 6 V\nresistor R1 = 6 ohm\nB1+ -- R1 -- B1\n",
        expect![[r#"
        error missing-polarity: `B1` has polarity, and the path does not say which terminal of it is meant
          at 3:14 `B1`
          help: Write `B1-` or `B1+`
          fix: Write `B1-`: join its terminal `-` (3:14 `B1` -> "B1-")
          fix: Write `B1+`: join its terminal `+` (3:14 `B1` -> "B1+")
    "#]],
    );
}

#[test]
fn a_path_that_ends_without_a_polarity_leaves_currents_undetermined() {
    for path in ["B1+ -- R1 -- B1\n", "B1 -- R1 -- B1-\n", "@a -- R1 -- B1\nB1+ -- @a\n"] {
        let text = format!("battery B1 = 6 V\nresistor R1 = 6 ohm\n{path}claim current through R1 = 1 A\n");
        let analyzed = crate::fixture::Analyzed::new(&text);
        let found: Vec<_> = crate::check(&analyzed.context()).into_iter().map(|said| said.rule).collect();
        assert_eq!(found, ["missing-polarity"], "{path}");
    }
}
