//! Bad input of every kind ends with exit code 2, a place, what was found and what is accepted, and
//! never with a panic.

mod program;

use program::{Answer, Desk, LIVE};

fn told(name: &str, text: &str) -> Answer {
    let desk = Desk::new(name);
    desk.put("a.toml", text);
    let answer = desk.run(&["run", "a.toml"]);
    assert_eq!(answer.code, 2, "{answer:?}");
    assert_eq!(answer.out, "", "nothing was played");
    assert!(!answer.err.contains("panicked"), "{}", answer.err);
    answer
}

fn has(answer: &Answer, parts: &[&str]) {
    for part in parts {
        assert!(answer.err.contains(part), "{part} is not in\n{}", answer.err);
    }
}

#[test]
fn an_unknown_key_is_pointed_at_with_the_nearest_name() {
    let answer = told("unknown_key", &LIVE.replace("volts_rms", "volt_rms"));
    has(&answer, &["a.toml:9:1", "found volt_rms", "did you mean volts_rms?", "accepted: "]);
}

#[test]
fn a_wrong_unit_is_pointed_at_with_those_that_fit() {
    let answer = told("wrong_unit", &LIVE.replace("\"view.live\"", "\"view.volts > 5 ohm\""));
    has(&answer, &["a.toml:14:", "found ohm", "accepted: ", "mV"]);
}

#[test]
fn a_number_that_is_none_or_infinite_is_refused() {
    for (name, number) in [("nan", "nan"), ("inf", "inf"), ("minus_inf", "-inf")] {
        let answer = told(name, &LIVE.replace("230", number));
        has(&answer, &["a.toml:9:13", "finite"]);
    }
}

#[test]
fn an_event_before_zero_is_refused() {
    let event = "[[at]]\ns = -0.1\npress = \"test\"\n";
    let answer = told("before_zero", &format!("{LIVE}\n{event}"));
    has(&answer, &["a.toml:17:5", "-0.1"]);
}

#[test]
fn a_node_that_floats_is_pointed_at() {
    let part = |name: &str, across: &str| {
        format!("[part.{name}.resistor]\nohms = 5\nacross = [{across}]\n")
    };
    let island = part("one", "\"here\", \"there\"") + &part("two", "\"here\", \"there\"");
    let answer = told("island", &format!("{LIVE}\n{island}"));
    has(&answer, &["the circuit cannot be solved", "nothing but leakage holds", "a.toml:18:11"]);
    let dangling = part("one", "\"lead.pos\", \"there\"");
    let answer = told("dangling", &format!("{LIVE}\n{dangling}"));
    has(&answer, &["a.toml:18:", "found there"]);
}

#[test]
fn sources_without_resistance_in_parallel_cannot_be_written() {
    let source = |name: &str| {
        format!("[part.{name}.dc]\nvolts = 10\nohms = 0\nacross = [\"lead.pos\", \"lead.neg\"]\n")
    };
    let answer = told("parallel", &format!("{LIVE}\n{}{}", source("one"), source("two")));
    has(&answer, &["ohms cannot be 0", "a.toml:18:8", "a.toml:22:8"]);
}

#[test]
fn a_part_with_both_ends_on_one_node_is_pointed_at() {
    let part = "[part.r.resistor]\nohms = 5\nacross = [\"lead.pos\", \"lead.pos\"]\n";
    has(&told("both_ends", &format!("{LIVE}\n{part}")), &["a.toml:1", "lead.pos"]);
}

#[test]
fn what_is_no_toml_no_text_or_of_another_version_is_told() {
    has(&told("no_toml", "ohmwarden = = 1\n"), &["a.toml:1:"]);
    has(&told("empty", ""), &["the version of the format is missing", "ohmwarden = 1"]);
    has(&told("version", "ohmwarden = 2\n"), &["this version", "ohmwarden = 1"]);
    let desk = Desk::new("no_text");
    desk.put("a.toml", [0x66, 0xff, 0xfe, 0x00]);
    let answer = desk.run(&["run", "a.toml"]);
    assert_eq!(answer.code, 2);
    has(&answer, &["no text in UTF-8", "byte 1"]);
}

#[test]
fn a_missing_file_and_an_empty_folder_are_told() {
    let desk = Desk::new("missing");
    desk.put("empty/readme.txt", "no scenario");
    let answer = desk.run(&["run", "nowhere.toml", "empty"]);
    assert_eq!(answer.code, 2);
    has(&answer, &["nowhere.toml: cannot be read", "empty: no scenario is in this folder"]);
}

const RECORDED: &str = r#"ohmwarden = 1
why = "A recording on the leads."
seconds = 0.1

[part.supply.recorded]
file = "recordings/supply.csv"
column = "volts"
across = ["lead.pos", "lead.neg"]
"#;

#[test]
fn a_recording_with_a_broken_header_is_pointed_at_in_its_own_text() {
    let desk = Desk::new("broken_recording");
    desk.put("a.toml", RECORDED).put("recordings/supply.csv", "time (parsec),volts\n0,1\n1,2\n");
    let answer = desk.run(&["run", "a.toml"]);
    assert_eq!(answer.code, 2);
    has(&answer, &["supply.csv:1:1", "time (parsec)", "s, ms, us or ns", "wanted by a.toml"]);
}

#[test]
fn a_recording_that_is_not_there_or_has_no_such_column_is_pointed_at_in_the_scenario() {
    let desk = Desk::new("no_recording");
    desk.put("a.toml", RECORDED);
    let answer = desk.run(&["run", "a.toml"]);
    assert_eq!(answer.code, 2);
    has(&answer, &["a.toml:6:1", "supply.csv: cannot be read"]);
    desk.put("recordings/supply.csv", "time (s),amps\n0,1\n0.1,2\n");
    let answer = desk.run(&["run", "a.toml"]);
    assert_eq!(answer.code, 2);
    has(&answer, &["a.toml:6:1", "no channel `volts`", "amps"]);
}

#[test]
fn good_scenarios_among_bad_ones_are_played_and_the_exit_code_is_2() {
    let desk = Desk::new("among");
    desk.put("all/bad.toml", LIVE.replace("hertz", "herz")).put("all/good.toml", LIVE);
    let answer = desk.run(&["run", "all"]);
    assert_eq!(answer.code, 2, "{answer:?}");
    assert!(answer.out.contains("good") && answer.out.contains("1 scenario held"), "{answer:?}");
    has(&answer, &["bad.toml:10:1", "did you mean hertz?"]);
}

#[test]
fn options_that_cannot_be_are_told() {
    let desk = Desk::new("options");
    desk.put("a.toml", LIVE);
    for args in [
        &["run"][..],
        &["run", "a.toml", "--case", "0"],
        &["run", "a.toml", "--case", "2"],
        &["run", "a.toml", "--set", "mains_hertz"],
        &["run", "a.toml", "--set", "mains_hertz=-5"],
        &["run", "a.toml", "--set", "mains_herz=60"],
        &["run", "a.toml", "--set", "mains_hertz=nan"],
        &["run", "a.toml", "--every", "2"],
        &["run", "a.toml", "--jobs", "0"],
        &["run", "a.toml", "--format", "xml"],
        &["run", "a.toml", "--out", "a.toml"],
        &["run", "a.toml", "--no-such-option"],
        &["explain", "live_acc"],
        &["nothing"],
    ] {
        let answer = desk.run(args);
        assert_eq!(answer.code, 2, "{args:?}: {answer:?}");
        assert!(!answer.err.is_empty() && answer.out.is_empty(), "{args:?}: {answer:?}");
        assert!(!answer.err.contains("panicked"), "{args:?}: {answer:?}");
    }
    has(&desk.run(&["run", "a.toml", "--case", "2"]), &["1 to 1"]);
    has(&desk.run(&["run", "a.toml", "--set", "mains_herz=60"]), &["did you mean mains_hertz?"]);
}

#[test]
fn errors_in_json_carry_place_finding_and_what_is_accepted() {
    let desk = Desk::new("errors_json");
    desk.put("bad.toml", LIVE.replace("hertz", "herz")).put("good.toml", LIVE);
    let answer = desk.run(&["run", "--format", "json", "bad.toml", "good.toml", "none.toml"]);
    assert_eq!(answer.code, 2);
    let json = answer.json();
    assert_eq!(json["scenarios"].as_array().unwrap().len(), 1);
    let errors = json["errors"].as_array().unwrap();
    let bad = errors.iter().find(|error| error["file"] == "bad.toml").unwrap();
    assert_eq!((&bad["line"], &bad["column"]), (&10.into(), &1.into()));
    assert_eq!(bad["found"], "herz");
    assert!(bad["accepted"].as_array().unwrap().contains(&"hertz".into()));
    assert!(bad["message"].is_string());
    let none = errors.iter().find(|error| error["file"] == "none.toml").unwrap();
    assert!(none["line"].is_null());
}
