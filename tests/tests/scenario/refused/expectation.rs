//! Expectations: the rule, its labels, its window, and the expression inside it.

use super::{Told, refused};
use crate::read;

#[test]
fn an_expectation_is_one_rule_over_labels_inside_the_run() {
    let label = "[[at]]\ns = 0.5\nlabel = \"go\"\nreset = true\n";
    let one = |rule: &str, told: Told| refused(&format!("{label}[[expect]]\n{rule}\n"), &[told]);
    one("note = \"n\"", (8, 1, "", "within", "an expectation needs a rule"));
    one("nevr = \"gate.open\"", (9, 1, "nevr", "never", "no such key here"));
    let two = "never = \"gate.open\"\nalways = \"gate.open\"";
    one(two, (10, 1, "always", "another [[expect]]", "this is a second"));
    one(
        "never = \"gate.open\"\nafter = \"gone\"",
        (10, 9, "gone", "go", "no event has this label"),
    );
    one(
        "within = { after = \"og\", s = 0.1, that = \"gate.open\" }",
        (9, 20, "og", "go", "no event has this label"),
    );
    one(
        "within = { after = \"go\", s = 0.6, that = \"gate.open\" }",
        (9, 30, "0.6", "0 to 0.5", "this ends after the run"),
    );
    one(
        "within = { s = 0.6, that = \"gate.open\" }",
        (9, 1, "", "after = \"LABEL\"", "after is missing"),
    );
    one("eventually = { s = 2, that = \"gate.open\" }", (9, 20, "2", "0 to 1", "s cannot be 2"));
    one("at = { s = 0.2 }", (9, 1, "", "that = \"EXPRESSION\"", "that is missing"));
    one(
        "eventually = { s = 0.5, that = \"gate.open\", until = \"go\" }",
        (9, 45, "until", "stays = true", "until belongs to what stays"),
    );
    one(
        "within = { after = \"go\", s = 0.2, that = \"gate.open\", stays = true, until = \"go\" }",
        (9, 77, "go", "a later label", "no later than the window opens"),
    );
    one(
        "until = { hold = \"gate.open\" }",
        (9, 1, "", "until = \"EXPRESSION\"", "until is missing"),
    );
}

#[test]
fn a_window_may_end_with_the_run_although_sums_round() {
    // 0.1 + 0.2 is a little more than 0.3.
    let text = "ohmwarden = 1\nwhy = \"w\"\nseconds = 0.3\n[[at]]\ns = 0.1\nlabel = \"go\"\nreset = true\n\
                [[expect]]\nwithin = { after = \"go\", s = 0.2, that = \"gate.open\" }\n";
    assert!(read(text).is_ok());
}

#[test]
fn a_mistake_in_an_expression_is_shown_inside_it() {
    let one = |text: &str, told: &[Told]| refused(&format!("[[expect]]\nnever = {text}\n"), told);
    one(
        "\"gate.opn && leads.volts > 50 A\"",
        &[
            (5, 10, "gate.opn", "gate.open", "no such signal"),
            (5, 39, "A", "mV", "this is a current, but the signal is a voltage"),
        ],
    );
    one("\"gate.open &&\"", &[(5, 22, "", "a signal", "cannot go on with the end")]);
    one("\"\"", &[(5, 10, "", "a signal", "cannot go on with the end")]);
    one("\"gate.open = 3\"", &[(5, 20, "=", "==", "cannot go on with =")]);
    one("\"gate.open & source.off\"", &[(5, 20, "&", "&&", "cannot go on with &")]);
    one("\"leads.volts > 50\"", &[(5, 24, "50", "V", "a voltage: it needs a unit")]);
    one("\"leads.volts > 50 W\"", &[(5, 27, "W", "V", "no such unit")]);
    one("\"leads.volts > 1e400 V\"", &[(5, 24, "1e400 V", "", "too large")]);
    one("\"leads.volts > -\"", &[(5, 24, "-", "a number with its unit", "cannot go on with -")]);
    one("\"leads.volts\"", &[(5, 10, "leads.volts", "leads.volts > 1 V", "is a voltage")]);
    one("\"gate.open > 1 V\"", &[(5, 10, "gate.open", "!gate.open", "is a yes or no")]);
    one("\"state is driving\"", &[(5, 19, "driving", "drive", "state is never this word")]);
    one("\"state == drive\"", &[(5, 10, "state", "state is drive", "state is a word")]);
    one("\"leads.volts is drive\"", &[(5, 10, "leads.volts", "leads.volts > 1 V", "is a voltage")]);
    one("\"state is\"", &[(5, 18, "", "a word", "cannot go on with the end")]);
    one("\"(gate.open\"", &[(5, 20, "", ")", "cannot go on with the end")]);
    one("\"gate.open)\"", &[(5, 19, ")", "&&", "cannot go on with )")]);
    one(
        "\"leads.volts in 5 V..2 V\"",
        &[(5, 25, "5 V..2 V", "the lower end first", "ends below its start")],
    );
    one("\"leads.volts in 5 V, 2 V\"", &[(5, 28, ",", "..", "cannot go on with ,")]);
    one("\"gate.open source.off\"", &[(5, 20, "source.off", "&&", "cannot go on with source.off")]);
    let deep = format!("\"{}gate.open{}\"", "(".repeat(30), ")".repeat(30));
    one(&deep, &[(5, 34, "((((((", "fewer brackets", "cannot go on")]);
    one("3", &[(5, 9, "3", "a text in quotes", "a text is needed here")]);
}

#[test]
fn a_place_inside_an_expression_survives_long_quotes_and_gives_way_to_escapes() {
    refused(
        "[[expect]]\nnever = '''\ngate.opn'''\n",
        &[(6, 1, "gate.opn", "gate.open", "no such signal")],
    );
    refused(
        "[[expect]]\nnever = 'gate.opn'\n",
        &[(5, 10, "gate.opn", "gate.open", "no such signal")],
    );
    refused(
        "[[expect]]\nnever = \"gate.\\u006Fpn\"\n",
        &[(5, 9, "gate.opn", "gate.open", "no such signal")],
    );
}
