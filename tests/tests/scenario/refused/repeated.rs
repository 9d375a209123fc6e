//! What makes many of one: sweeps and storms.

use super::{ACROSS, HEAD, Told, refused};
use crate::read;

#[test]
fn a_sweep_names_one_number_and_goes_somewhere() {
    let one = |line: &str, told: Told| refused(&format!("[sweep]\n{line}\n"), &[told]);
    one("r_ohms = [1, 2]", (5, 1, "r_ohms", "seed", "nothing here has this name"));
    one("seed = 4", (5, 8, "4", "[1, 2]", "a list or a range is needed"));
    one("seed = []", (5, 8, "[]", "[1, 2]", "a sweep needs a value"));
    one("seed = [1.5]", (5, 8, "[1.5]", "whole numbers", "seed is a whole number"));
    one("seed = { from = 0, to = 10, step = -1 }", (5, 36, "-1", "above 0", "no such step leads"));
    one("seed = { from = 0, to = 10, step = 0 }", (5, 36, "0", "above 0", "no such step leads"));
    one("seed = { from = 0, to = 10 }", (5, 1, "", "step = -1e15 to 1e15", "step is missing"));
    one(
        "seed = { from = 0, to = 1000000, step = 1 }",
        (5, 41, "1", "50 to 1000000", "too many values"),
    );
    let parts = format!("[part.r.resistor]\nohms = 1\n{ACROSS}[sweep]\n");
    let out = format!("{parts}r_ohms = [1, 0]\n");
    refused(&out, &[(8, 14, "0", "0.001 to 1e14", "ohms cannot be 0")]);
    let many = format!(
        "{parts}r_ohms = {{ from = 1, to = 200, step = 1 }}\nseed = {{ from = 1, to = 200, step = 1 }}\n"
    );
    refused(&many, &[(7, 2, "sweep", "at most 20000", "40000 cases")]);
    let both = format!(
        "[part.a_b.resistor]\nohms = 1\n{ACROSS}[[at]]\ns = 0.1\nlabel = \"a_b\"\nset = {{ part = \"a_b\", ohms = 2 }}\n[sweep]\na_b_ohms = [1]\n"
    );
    refused(&both, &[(12, 1, "a_b_ohms", "", "more than one thing")]);
}

#[test]
fn a_swept_moment_leaves_every_expectation_inside_the_run() {
    let text = |sweep: &str, rule: &str| {
        format!(
            "[[at]]\ns = 0.1\nlabel = \"a\"\nreset = true\n[[at]]\ns = 0.5\nlabel = \"b\"\nreset = true\n\
             [sweep]\n{sweep}\n[[expect]]\nwithin = {{ after = \"a\", s = 0.3, that = \"gate.open\"{rule} }}\n"
        )
    };
    assert!(read(&format!("{HEAD}{}", text("a_s = [0.1, 0.7]", ""))).is_ok());
    let told = (12, 2, "sweep", "moments that fit", "ends after the run if it begins at 0.8 s");
    refused(&text("a_s = [0.1, 0.8]", ""), &[told]);
    let until = ", stays = true, until = \"b\"";
    let told = (12, 2, "sweep", "moments that fit", "from 0.6 s must stay until 0.5 s");
    refused(&text("a_s = [0.1, 0.6]", until), &[told]);
    let told = (12, 2, "sweep", "moments that fit", "from 0.6 s must stay until 0.55 s");
    refused(&text("a_s = [0.1, 0.6]\nb_s = [0.65, 0.55]", until), &[told]);
    assert!(read(&format!("{HEAD}{}", text("a_s = [0.1, 0.6]\nb_s = [0.65]", until))).is_ok());
}

#[test]
fn a_storm_has_a_rate_a_span_and_something_to_work() {
    let one = |lines: &str, told: &[Told]| refused(&format!("[storm]\n{lines}"), told);
    one("events_per_second = 1e6\n", &[(5, 21, "1e6", "0.01 to 10000", "cannot be 1000000")]);
    one(
        "events_per_second = 10\nfrom_s = 0.5\nto_s = 0.2\nkeys = []\n",
        &[
            (7, 8, "0.2", "0.5 to 1", "to_s cannot be 0.2"),
            (8, 8, "[]", "select", "something to work"),
        ],
    );
    one(
        "events_per_second = 9\nkeys = [\"tset\"]\n",
        &[(6, 9, "tset", "test", "no such word here")],
    );
}
