//! `ohmwarden calibrate`: what was put into the points comes out as constants, a block of bytes is
//! read back by core, and whatever is wrong with a table is pointed at.

mod program;

use core::fmt::Write;
use std::fs;

use ohmwarden_core::calibration::daily::{Daily, Verdict};
use ohmwarden_core::calibration::{Calibration, Standing};
use ohmwarden_core::date::Date;
use ohmwarden_core::profile::{FrontEnd, SCALES, Scale};
use program::Desk;

const HEAD: &str = "channel,range,reference,uncertainty,read,repeats,deviation\n";
/// What the scales of these tests are off by: a share, and codes.
const GAIN: f64 = 0.004;
const ZERO: f64 = 0.7;

fn named(scale: Scale) -> String {
    let word = scale.word();
    match word.strip_prefix("current_") {
        Some(range) => format!("current,{range}"),
        None => format!("{word},"),
    }
}

/// Points of a scale at so many parts of its span, `read = reference / (1 + gain) + zero`.
fn points(scale: Scale, parts: &[f64], text: &mut String) {
    let code = f64::from(scale.code(&FrontEnd::DEFAULT));
    let span = f64::from(scale.span(&FrontEnd::DEFAULT));
    for part in parts {
        let reference = part * span;
        let read = reference / (1.0 + GAIN) + ZERO * code;
        let doubt = 0.05 * code + 2.0e-4 * reference.abs();
        writeln!(text, "{},{reference:e},{doubt:e},{read:e},100,{code:e}", named(scale))
            .expect("text");
    }
}

fn bench() -> String {
    let mut text = HEAD.to_owned();
    for scale in SCALES {
        points(scale, &[-0.9, -0.5, 0.0, 0.1, 0.5, 0.9], &mut text);
    }
    text
}

#[test]
fn constants_are_what_the_points_were_made_with_and_core_reads_the_block() {
    let desk = Desk::new("calibrate_block");
    desk.put("points.csv", bench());
    let days = ["--made", "2026-03-31", "--due", "2027-03-31"];
    let mut args = vec!["calibrate", "points.csv", "--out", "block.bin", "--format", "json"];
    args.extend(days);
    let answer = desk.run(&args);
    assert_eq!(answer.code, 0, "{answer:?}");
    let json = answer.json();
    for report in json["scales"].as_array().expect("a list") {
        let off = |key: &str, known: f64| (report[key].as_f64().expect("a number") - known).abs();
        assert!(off("gain", GAIN) < 1.0e-7 && off("zero_codes", ZERO) < 1.0e-4, "{report}");
    }
    let block = fs::read(desk.path("block.bin")).expect("the block was written");
    let calibration = Calibration::from_bytes(&block).expect("core reads it");
    assert_eq!(calibration.due(), Date::from_ymd(2027, 3, 31));
    assert_eq!(calibration.standing(Date::from_ymd(2027, 4, 1)), Standing::Due);
    for scale in SCALES {
        let constants = calibration.constants(scale);
        assert!((f64::from(constants.gain()) - GAIN).abs() < 1.0e-6, "{}", scale.word());
        assert!((f64::from(constants.zero()) - ZERO).abs() < 1.0e-3, "{}", scale.word());
    }
}

#[test]
fn a_scale_beyond_its_specification_exits_with_1_and_writes_no_block() {
    let desk = Desk::new("calibrate_bent");
    // The last point of the second divider is 2 % off the line of the others.
    let bent = bench().replace("voltage_2,,9e2", "voltage_2,,9.18e2");
    assert_ne!(bent, bench());
    desk.put("points.csv", bent);
    let args = ["calibrate", "points.csv", "--out", "block.bin", "--due", "2099-01-01"];
    let answer = desk.run(&args);
    assert_eq!(answer.code, 1, "{answer:?}");
    for part in ["voltage_2 does not meet", "line 13:", "chi-square", "allowed at"] {
        assert!(answer.out.contains(part), "{part} is not in\n{}", answer.out);
    }
    assert!(!desk.path("block.bin").exists());
}

#[test]
fn a_gain_that_the_front_end_cannot_have_is_no_constant() {
    let desk = Desk::new("calibrate_far");
    let mut text = HEAD.to_owned();
    for (reference, read) in [(0.0, 0.0), (500.0, 520.0), (1_000.0, 1_040.0)] {
        writeln!(text, "voltage,,{reference},0.1,{read},100,0.5").expect("text");
    }
    desk.put("points.csv", text);
    let answer = desk.run(&["calibrate", "points.csv"]);
    assert_eq!(answer.code, 1, "{answer:?}");
    assert!(answer.out.contains("the gain is further off"), "{}", answer.out);
}

#[test]
fn points_that_are_not_enough_are_bad_input_with_a_place() {
    let table = |scale, parts: &[f64]| {
        let mut text = HEAD.to_owned();
        points(scale, parts, &mut text);
        text
    };
    let amps = SCALES[8];
    for (name, text, parts) in [
        ("few", table(Scale::Volts, &[0.0, 0.9]), &["2 points of voltage", "three or more"][..]),
        ("same", table(Scale::Volts, &[0.9; 4]), &["all points at one place"]),
        ("high", table(Scale::Volts, &[0.6, 0.8, 0.9]), &["points of voltage from 600 V", "100 V"]),
        ("low", table(Scale::Volts, &[0.0, 0.1, 0.2]), &["to 200 V", "to 500 V or above"]),
        ("one_side", table(amps, &[0.0, 0.5, 0.8]), &["current_250mA on one side of zero"]),
    ] {
        let desk = Desk::new(&format!("calibrate_{name}"));
        desk.put("points.csv", text);
        let answer = desk.run(&["calibrate", "points.csv"]);
        assert_eq!((answer.code, answer.out.as_str()), (2, ""), "{name}: {answer:?}");
        for part in parts.iter().chain(&["points.csv:2:1"]) {
            assert!(answer.err.contains(part), "{name}: {part} is not in\n{}", answer.err);
        }
    }
}

#[test]
fn a_block_needs_every_scale_and_a_due_day_after_the_first() {
    let desk = Desk::new("calibrate_missing");
    let mut text = HEAD.to_owned();
    points(Scale::Volts, &[0.0, 0.5, 0.9], &mut text);
    desk.put("some.csv", text).put("all.csv", bench());
    for (args, part) in [
        (&["some.csv", "--due", "2099-01-01"][..], "no points of voltage_2"),
        (&["all.csv"], "--out without --due"),
        (&["all.csv", "--made", "2026-02-02", "--due", "2026-02-01"], "before the day"),
        (&["all.csv", "--due", "2026-02-30"], "a day of the calendar"),
        (&["none.csv", "--due", "2099-01-01"], "none.csv: cannot be read"),
    ] {
        let all: Vec<&str> =
            ["calibrate", "--out", "block.bin"].iter().chain(args).copied().collect();
        let answer = desk.run(&all);
        assert_eq!(answer.code, 2, "{answer:?}");
        assert!(answer.err.contains(part), "{part} is not in\n{}", answer.err);
        assert!(!desk.path("block.bin").exists());
    }
}

#[test]
fn a_daily_check_is_judged_step_by_step_and_kept() {
    let desk = Desk::new("calibrate_daily");
    let good = "function,volts,reference,uncertainty,reading\n\
                insulation,500,1e6,2e3,1.01e6\ncontinuity,,0.5,0.002,0.52\nvoltage,,250,0.5,251\n";
    desk.put("good.csv", good).put("bad.csv", good.replace("1.01e6", "1.10e6"));
    let run =
        |file, out| desk.run(&["calibrate", "--daily", file, "--made", "2026-05-04", "--out", out]);
    let answer = run("good.csv", "good.bin");
    assert_eq!(answer.code, 0, "{answer:?}");
    assert!(answer.out.contains("the check agrees"), "{}", answer.out);
    let kept = fs::read(desk.path("good.bin")).expect("the check was written");
    let kept = Daily::from_bytes(&kept).expect("core reads it");
    assert_eq!((kept.result(), kept.date()), (Verdict::Agrees, Date::from_ymd(2026, 5, 4)));
    let answer = run("bad.csv", "bad.bin");
    assert_eq!(answer.code, 1, "{answer:?}");
    assert!(answer.out.contains("the check differs"), "{}", answer.out);
    desk.put("word.csv", good.replace("voltage,", "volatge,"));
    let answer = run("word.csv", "word.bin");
    assert_eq!(answer.code, 2);
    assert!(answer.err.contains("word.csv:4:1") && answer.err.contains("did you mean voltage?"));
}

#[test]
fn the_budget_says_which_reading_proves_a_limit() {
    let desk = Desk::new("calibrate_budget");
    let answer = desk.run(&["calibrate", "--budget", "--format", "json"]);
    assert_eq!(answer.code, 0, "{answer:?}");
    let json = answer.json();
    let proof = |function: &str, held: f64, limit: f64| {
        let near = |value: &serde_json::Value, known: f64| {
            value.as_f64().is_some_and(|value| (value / known - 1.0).abs() < 1.0e-6)
        };
        let of = |line: &&serde_json::Value| {
            line["function"] == function
                && near(&line["held"], held)
                && near(&line["limit_ohms"], limit)
        };
        let limits = json["limits"].as_array().expect("a list");
        limits.iter().find(of).expect("this limit")["proved_by_ohms"].as_f64()
    };
    // By hand: root(0.29^2 + 0.866^2 + 0.29^2 + 1.155^2 + 0.11^2 + 0.06^2) = 1.51 % of 1 Mohm at
    // 500 V, and 1.64 of that above the limit.
    let megohm = proof("insulation", 500.0, 1.0e6).expect("can be proved");
    assert!((megohm / 1.0e6 - 1.0251).abs() < 0.0004, "{megohm}");
    // R + 1.64 root((0.99 % R)^2 + 0.0316^2) = 0.5.
    let half = proof("continuity", 0.2, 0.5).expect("can be proved");
    assert!((half - 0.4476).abs() < 0.0004, "{half}");
    let human = desk.run(&["calibrate", "--budget"]);
    assert!(human.out.contains("at least 1.00 Mohm"), "{}", human.out);
    assert_eq!(desk.run(&["calibrate"]).code, 2);
}

#[test]
fn the_files_that_the_readme_names_meet_and_agree() {
    let desk = Desk::new("calibrate_fixtures");
    let fixture = |name| format!("{}/../fixtures/calibration/{name}", env!("CARGO_MANIFEST_DIR"));
    let points = desk.run(&["calibrate", &fixture("bench-points.csv")]);
    assert_eq!(points.code, 0, "{points:?}");
    assert_eq!(points.out.matches("  meets").count(), SCALES.len(), "{points:?}");
    let daily = desk.run(&["calibrate", "--daily", &fixture("check-box.csv")]);
    assert_eq!(daily.code, 0, "{daily:?}");
    assert!(daily.out.contains("the check agrees"), "{daily:?}");
}
