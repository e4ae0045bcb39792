//! One cause, one message.

use expect_test::expect;

use crate::fixture::says;

#[test]
fn a_floating_element_has_no_open_ends_and_is_no_dead_branch() {
    says("battery B1 = 6 V\nresistor R1, R2 = 12 ohm\nB1+ -- R1 -- B1-\n@far -- R2 -- @away\n", expect![[""]]);
}

#[test]
fn a_line_with_one_loose_end_is_said_once() {
    says(
        "battery B1 = 6 V\nresistor R1, R2, R3 = 12 ohm\nB1+ -- @top -- R1 -- B1-\n@top -- R2 -- R3 -- @away\n",
        expect![[""]],
    );
}

#[test]
fn a_line_with_two_loose_ends_is_said_once() {
    says("battery B1 = 6 V\nresistor R1 = 12 ohm\nB1+ -- R1 -- @far\n", expect![[""]]);
}

#[test]
fn a_shorted_source_silences_its_followers() {
    says(
        "source E1 = 6 V\nresistor R1 = 12 ohm\nE1+ -- R1 -- E1-\nE1+ -- E1-\nfind current through E1, R1\n",
        expect![[""]],
    );
}

#[test]
fn an_unreadable_path_counts_as_connected() {
    says(
        "battery B1 = 6 V\nresistor R1, R2 = 12 ohm\nB1+ -- R1 -- @far\n@far -- R2 -- ( B1-\nfind current through R1\n",
        expect![[""]],
    );
}

#[test]
fn an_unreadable_declaration_counts_as_connected() {
    says(
        "battery B1 = 6 V\nresistr R1 = 12 ohm\nresistor R2 = 3 ohm\nB1+ -- R1 -- R2 -- B1-\nfind current through R2\n",
        expect![[""]],
    );
}

#[test]
fn copies_of_a_part_are_said_once() {
    says(
        "part stub(in, out)\n  resistor Ra, Rb = 10 ohm\n  @in -- Ra -- @out\n  @in -- Rb\nend\n\
         battery B1 = 6 V\nstub X\nstub Y\nB1+ -- X -- Y -- B1-\n",
        expect![[""]],
    );
}

#[test]
fn broken_text_alone_does_not_make_a_circuit_wrong() {
    says("battery B1 = 6 V\nresistor R1 = 12 ohm\nB1+ -- R1 -- B1-\nB1+ --\n", expect![[""]]);
}
