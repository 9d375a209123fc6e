//! What `run` and `explain` answer: exit codes, the drawing, the table, JSON, digests.

mod program;

use std::io::Read;
use std::process::Stdio;

use program::{Desk, LIVE};

/// The same scenario over three phases, expecting what cannot be.
fn broken_sweep() -> String {
    let sweep = "[sweep]\nmains_phase_deg = [0, 45, 90]\n";
    format!(
        "{}\n{sweep}",
        LIVE.replace("eventually = { s = 0.7, that =", "never =")
            .replace("\"view.live\" }", "\"view.live\"")
    )
}

#[test]
fn a_scenario_that_holds_is_drawn_and_exits_0() {
    let desk = Desk::new("one");
    desk.put("live.toml", LIVE);
    let answer = desk.run(&["run", "live.toml"]);
    assert_eq!(answer.code, 0, "{answer:?}");
    for part in [
        "Mains on the leads is told.",
        "state",
        "terminals",
        "200 V +",
        "source      off throughout",
        "says live",
        "what happened",
        "inhibited  live_ac  alternating voltage from outside",
        "say_live",
        "not reached: ",
        "by 0.7 s: view.live",
        "HELD  live",
        "worst margin",
        "it proves nothing about a real circuit",
    ] {
        assert!(answer.out.contains(part), "{part} is not in\n{}", answer.out);
    }
    assert!(answer.out.is_ascii() && answer.err.is_empty());
    assert!(answer.out.lines().all(|line| line.len() <= 110), "{}", answer.out);
}

#[test]
fn what_does_not_hold_exits_1_and_shows_its_worst_case() {
    let desk = Desk::new("broken");
    desk.put("broken.toml", broken_sweep());
    let answer = desk.run(&["run", "broken.toml"]);
    assert_eq!(answer.code, 1, "{answer:?}");
    for part in ["of 3, the worst: mains_phase_deg = ", "BROKE", "never view.live", "DID NOT HOLD"]
    {
        assert!(answer.out.contains(part), "{part} is not in\n{}", answer.out);
    }
    let quiet = desk.run(&["run", "-q", "broken.toml"]);
    assert_eq!((quiet.code, quiet.out.lines().count()), (1, 2), "{quiet:?}");
}

#[test]
fn a_case_of_a_sweep_can_be_played_alone_and_a_value_put_in() {
    let desk = Desk::new("case");
    desk.put("s.toml", broken_sweep());
    let json = desk.run(&["run", "s.toml", "--format", "json", "--case", "2"]).json();
    let scenario = &json["scenarios"][0];
    assert_eq!((&scenario["cases"], &scenario["worst"]["case"]), (&1.into(), &2.into()));
    assert_eq!(scenario["worst"]["values"]["mains_phase_deg"], 45.0);
    let put =
        desk.run(&["run", "s.toml", "--format", "json", "--set", "mains_phase_deg=45"]).json();
    assert_eq!(put["scenarios"][0]["cases"], 1);
    assert_eq!(put["scenarios"][0]["digest"], scenario["digest"]);
    let off = desk.run(&["run", "s.toml", "--set", "mains_volts_rms=0"]);
    assert_eq!(off.code, 0, "without mains nothing is live: {off:?}");
}

#[test]
fn many_scenarios_are_a_table_with_a_worst_margin_each() {
    let desk = Desk::new("many");
    desk.put("all/live.toml", LIVE).put("all/deep/broken.toml", broken_sweep());
    desk.put("all/notes.txt", "no scenario");
    let answer = desk.run(&["run", "all"]);
    assert_eq!(answer.code, 1, "{answer:?}");
    let line = |name: &str| {
        let found = answer.out.lines().find(|line| line.starts_with(name));
        found.unwrap_or_else(|| panic!("{name} is not in\n{}", answer.out)).to_owned()
    };
    assert!(line("live ").contains("held") && line("live ").contains('%'));
    assert!(line("deep/broken ").contains("BROKE"));
    for part in
        ["states reached; never: ", "reasons reached", "classes reached", "1 of 2 scenarios"]
    {
        assert!(answer.out.contains(part), "{part} is not in\n{}", answer.out);
    }
}

#[test]
fn json_is_one_object_of_the_promised_shape_and_nothing_else() {
    let desk = Desk::new("json");
    desk.put("live.toml", LIVE);
    let answer = desk.run(&["run", "--format", "json", "live.toml"]);
    assert_eq!((answer.code, answer.err.as_str()), (0, ""));
    let json = answer.json();
    assert_eq!(json["errors"], serde_json::json!([]));
    let scenario = &json["scenarios"][0];
    assert_eq!((&scenario["name"], &scenario["file"]), (&"live".into(), &"live.toml".into()));
    assert_eq!(scenario["why"], "Mains on the leads is told.");
    assert_eq!((&scenario["cases"], &scenario["held"]), (&1.into(), &true.into()));
    let digest = scenario["digest"].as_str().unwrap();
    assert!(digest.len() == 16 && digest.chars().all(|c| c.is_ascii_hexdigit()), "{digest}");
    assert!(scenario["worst"]["name"].is_string() && scenario["worst"]["margin"].is_number());
    let rules = scenario["rules"].as_array().unwrap();
    assert_eq!(rules.len(), ohmwarden_core::invariants::Rule::ALL.len());
    for entry in rules.iter().chain(scenario["expectations"].as_array().unwrap()) {
        let reached = entry["held"].is_boolean();
        assert_eq!(reached, entry["margin"].is_number(), "{entry}");
        assert_eq!(reached, entry["at_seconds"].is_number(), "{entry}");
        assert_eq!(reached, entry["exercised"].as_u64().unwrap() > 0, "{entry}");
        assert!(entry["name"].is_string() && entry["unit"].is_string(), "{entry}");
    }
    assert_eq!(scenario["expectations"][0]["name"], "by 0.7 s: view.live");
}

#[test]
fn twice_is_the_same_to_the_byte_on_any_number_of_threads() {
    let desk = Desk::new("twice");
    desk.put("live.toml", LIVE).put("sweep.toml", broken_sweep());
    let json = |jobs: &str| desk.run(&["run", "--format", "json", "--jobs", jobs, "."]).out;
    let first = json("1");
    assert!(first.contains("\"digest\""));
    assert_eq!(first, json("1"));
    assert_eq!(first, json("3"));
    let digests = desk.run(&["run", "--digest", "."]);
    let lines: Vec<Vec<&str>> = digests.out.lines().map(|line| line.split(' ').collect()).collect();
    assert_eq!(lines.len(), 2, "{digests:?}");
    for line in lines {
        assert_eq!(line.len(), 2);
        assert!(first.contains(&format!("\"digest\": \"{}\"", line[1])), "{line:?}");
    }
}

#[test]
fn another_seed_gives_another_digest() {
    let desk = Desk::new("seeds");
    desk.put("a.toml", LIVE).put("b.toml", LIVE.replace("seconds", "seed = 8\nseconds"));
    let digests = desk.run(&["run", "--digest", "a.toml", "b.toml"]);
    let [a, b] = &digests.out.lines().collect::<Vec<_>>()[..] else { panic!("{digests:?}") };
    assert_ne!(a.split(' ').nth(1), b.split(' ').nth(1));
}

#[test]
fn a_reader_that_goes_away_is_no_error() {
    let desk = Desk::new("pipe");
    desk.put("live.toml", LIVE);
    let mut command = desk.command(&["run", "live.toml"]);
    let mut child = command.stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
    drop(child.stdout.take());
    let code = child.wait().unwrap().code();
    let mut err = String::new();
    child.stderr.take().unwrap().read_to_string(&mut err).unwrap();
    assert_eq!((code, err.as_str()), (Some(0), ""));
}

#[test]
fn explain_tells_meaning_advice_origin_and_the_caution() {
    let desk = Desk::new("explain");
    let answer = desk.run(&["explain", "live_dc"]);
    assert_eq!(answer.code, 0);
    for part in ["does not decay", "Look for a battery", "hazard.rs", "Caution:", "lock off"] {
        assert!(answer.out.contains(part), "{part} is not in\n{}", answer.out);
    }
    let list = desk.run(&["explain"]);
    for word in ["live_dc", "drive_stuck", "drop_on_live", "inhibited", "null_larger", "source.off"]
    {
        assert!(list.out.contains(word), "{word}");
    }
    let unknown = desk.run(&["explain", "drop_on_life"]);
    assert_eq!(unknown.code, 2);
    assert!(unknown.err.contains("did you mean drop_on_live?"), "{unknown:?}");
}

#[test]
fn the_caution_stands_at_the_end_of_the_help() {
    let help = Desk::new("help").run(&["--help"]);
    assert_eq!(help.code, 0);
    assert!(help.out.trim_end().ends_with("do not bypass it."), "{}", help.out);
}
