//! Parts: their names, kinds, keys, values and nodes.

use super::{ACROSS, HEAD, Told, refused, resistor};
use crate::read;

#[test]
fn a_part_that_stands_twice_is_told_once() {
    let twice = resistor(&format!("ohms = 5\n{ACROSS}")).repeat(2);
    refused(&twice, &[(7, 9, "resistor", "a name of its own", "stands here twice")]);
    let two_kinds = format!("{}[part.r.diode]\n{ACROSS}", resistor(&format!("ohms = 5\n{ACROSS}")));
    refused(&two_kinds, &[(4, 7, "r", "resistor", "exactly one kind")]);
}

#[test]
fn keys_of_a_part_are_checked_one_by_one() {
    let one = |lines: &str, told: Told| refused(&resistor(lines), &[told]);
    let misspelt = format!("ohm = 5\n{ACROSS}");
    one(&misspelt, (5, 1, "ohm", "ohms", "no such key here"));
    let negative = format!("ohms = -5\n{ACROSS}");
    one(&negative, (5, 8, "-5", "0.001 to 1e14", "ohms cannot be -5"));
    let endless = format!("ohms = inf\n{ACROSS}");
    one(&endless, (5, 8, "inf", "0.001 to 1e14", "must be a finite number"));
    let no_number = format!("ohms = nan\n{ACROSS}");
    one(&no_number, (5, 8, "nan", "0.001 to 1e14", "must be a finite number"));
    let huge = format!("ohms = 1e999\n{ACROSS}");
    one(&huge, (5, 8, "1e999", "0.001 to 1e14", "must be a finite number"));
    let text = format!("ohms = \"5\"\n{ACROSS}");
    one(&text, (5, 8, "5", "0.001 to 1e14", "a number is needed here, not a text"));
    one(ACROSS, (4, 9, "", "ohms = 0.001 to 1e14", "ohms is missing"));
    refused(
        &resistor("ohms = 0\nacross = 3\ncolour = \"red\"\n"),
        &[
            (5, 8, "0", "0.001 to 1e14", "ohms cannot be 0"),
            (6, 10, "3", "[\"NODE\", \"NODE\"]", "a list is needed here, not a number"),
            (7, 1, "colour", "ohms", "no such key here"),
        ],
    );
}

#[test]
fn nodes_are_two_different_and_lead_somewhere() {
    let one = |across: &str, told: Told| {
        refused(&resistor(&format!("ohms = 5\nacross = {across}\n")), &[told]);
    };
    refused(&resistor("ohms = 5\n"), &[(4, 9, "", "across = [\"NODE\", \"NODE\"]", "missing")]);
    let single = "[\"lead.pos\"]";
    one(single, (6, 10, single, "[\"NODE\", \"NODE\"]", "a part is across two nodes"));
    let same = "[\"lead.pos\", \"lead.pos\"]";
    one(same, (6, 10, same, "two different nodes", "both ends are at one node"));
    let unknown = "[\"lead.plus\", \"lead.neg\"]";
    one(unknown, (6, 11, "lead.plus", "lead.pos", "no such node"));
    one("[\"lead.pos\", 3]", (6, 23, "3", "a text in quotes", "a text is needed"));
    let two = "[part.a.resistor]\nohms = 1\nacross = [\"lead.pos\", \"street\"]\n\
               [part.b.resistor]\nohms = 1\nacross = [\"stret\", \"lead.neg\"]\n";
    refused(
        two,
        &[
            (6, 23, "street", "stret", "nothing else joins this node"),
            (9, 11, "stret", "street", "nothing else joins this node"),
        ],
    );
}

#[test]
fn parts_have_a_name_a_kind_and_values_that_fit_together() {
    let one = |body: &str, told: Told| refused(body, &[told]);
    let kind = format!("[part.r.resister]\nohms = 5\n{ACROSS}");
    one(&kind, (4, 9, "resister", "resistor", "no such kind of part"));
    let name = format!("[part.Bad-Name.resistor]\nohms = 5\n{ACROSS}");
    one(
        &name,
        (
            4,
            7,
            "Bad-Name",
            "a letter, then letters, digits and _, at most 48 in all",
            "cannot be a name",
        ),
    );
    let long = format!("[part.{}.resistor]\nohms = 5\n{ACROSS}", "n".repeat(48));
    assert!(read(&format!("{HEAD}{long}")).is_ok());
    let longer = format!("[part.{}.resistor]\nohms = 5\n{ACROSS}", "n".repeat(49));
    assert!(read(&format!("{HEAD}{longer}")).is_err());
    one("part = 5\n", (4, 8, "5", "{ key = value, .. }", "a table is needed here"));
    one("[part]\nr = 5\n", (5, 5, "5", "{ key = value, .. }", "a table is needed here"));
    let pulse = format!("[part.p.pulse]\nvolts = 5\nwidth_s = 2\nperiod_s = 1\n{ACROSS}");
    one(&pulse, (4, 9, "pulse", "width_s below period_s", "longer than its period"));
    let arc = format!("[part.a.arc]\nstrike_volts = 20\narc_volts = 30\n{ACROSS}");
    one(&arc, (4, 9, "arc", "arc_volts below strike_volts", "no higher than it strikes"));
    let switch = format!("[part.s.switch]\non_ohms = 1e5\noff_ohms = 1e4\n{ACROSS}");
    one(&switch, (4, 9, "switch", "on_ohms below off_ohms", "no worse than an open one"));
    let harmonic = format!(
        "[part.m.sine]\nvolts_rms = 1\nhertz = 50\nharmonics = [{{ order = 1, fraction = 3 }}]\n{ACROSS}"
    );
    refused(
        &harmonic,
        &[
            (7, 24, "1", "a whole number from 2 to 100", "order cannot be this"),
            (7, 38, "3", "0 to 2", "fraction cannot be 3"),
        ],
    );
    let recorded = format!("[part.w.recorded]\nfile = \"\"\ncolumn = 2\n{ACROSS}");
    refused(
        &recorded,
        &[
            (5, 8, "", "a text in quotes", "this text is empty"),
            (6, 10, "2", "a text in quotes", "a text is needed here, not a number"),
        ],
    );
}
