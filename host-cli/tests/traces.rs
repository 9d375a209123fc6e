//! Traces: columns of the CSV, a value change dump that another reader understands, result.json.

mod program;

use std::collections::BTreeMap;

use program::{Desk, LIVE};

/// A name, and its values by time in microseconds.
type Waves = BTreeMap<String, Vec<(u64, String)>>;

/// Reads a value change dump as IEEE 1364 describes it, and refuses anything else.
fn read_vcd(text: &str) -> Waves {
    let (head, body) = text.split_once("$enddefinitions $end").expect("the head ends");
    assert!(head.contains("$timescale 1 us $end"), "{head}");
    assert_eq!(head.matches("$scope").count(), head.matches("$upscope").count());
    let mut names = BTreeMap::new();
    for line in head.lines().filter(|line| line.starts_with("$var")) {
        let words: Vec<&str> = line.split(' ').collect();
        let ["$var", kind, bits, id, name, rest @ ..] = words.as_slice() else { panic!("{line}") };
        assert!(matches!((*kind, *bits), ("real", "64") | ("wire", "1" | "6")), "{line}");
        assert_eq!(rest.last(), Some(&"$end"), "{line}");
        let twice = names.insert((*id).to_owned(), ((*name).to_owned(), *kind == "real"));
        assert!(twice.is_none(), "{line}");
    }
    let mut waves = Waves::new();
    let mut now = None;
    for line in body.lines().map(str::trim).filter(|line| !line.is_empty()) {
        if let Some(time) = line.strip_prefix('#') {
            let time: u64 = time.parse().expect("a time is a whole number");
            assert!(now.is_none_or(|before| before < time), "time goes on: {line}");
            now = Some(time);
            continue;
        }
        if matches!(line, "$dumpvars" | "$end") {
            continue;
        }
        let (value, id) = match line.split_once(' ') {
            Some((value, id)) => (value.to_owned(), id.to_owned()),
            None => (line[..1].to_owned(), line[1..].to_owned()),
        };
        let (name, real) = names.get(&id).unwrap_or_else(|| panic!("unknown variable: {line}"));
        let good = match (value.split_at(1), real) {
            (("r", number), true) => number.parse::<f64>().is_ok_and(f64::is_finite),
            (("b", bits), false) => !bits.is_empty() && bits.chars().all(|c| "01x".contains(c)),
            (("0" | "1" | "x", ""), false) => true,
            _ => false,
        };
        assert!(good, "no value of its kind: {line}");
        waves.entry(name.clone()).or_default().push((now.expect("after a time"), value));
    }
    assert_eq!(waves.len(), names.len(), "every variable has a value");
    waves
}

fn traced(name: &str, more: &[&str]) -> Desk {
    let desk = Desk::new(name);
    desk.put("live.toml", LIVE);
    let mut args = vec!["run", "live.toml", "--out", "out"];
    args.extend(more);
    let answer = desk.run(&args);
    assert_eq!(answer.code, 0, "{answer:?}");
    desk
}

#[test]
fn the_csv_has_every_sample_and_units_in_its_head() {
    let desk = traced("csv", &[]);
    let text = desk.read("out/live/trace.csv");
    let rows: Vec<Vec<&str>> = text.lines().map(|line| line.split(',').collect()).collect();
    assert_eq!(rows.len(), 1 + 8_000, "0.8 s at 10 kS/s");
    assert_eq!(rows[0][..3], ["time (s)", "terminals (V)", "source (A)"]);
    assert!(rows.iter().all(|row| row.len() == rows[0].len()));
    let column = |name: &str| rows[0].iter().position(|head| *head == name).unwrap();
    let volts: Vec<f64> = rows[1..].iter().map(|row| row[1].parse().unwrap()).collect();
    // The last whole cycles of 230 V rms into 2 Mohm behind 0.5 ohm.
    let tail = &volts[volts.len() - 2_000..];
    let rms = (tail.iter().map(|v| v * v).sum::<f64>() / tail.len() as f64).sqrt();
    assert!((rms - 230.0).abs() < 0.1, "{rms}");
    assert_eq!(rows.last().unwrap()[column("state")], "inhibited");
    assert_eq!(rows.last().unwrap()[column("view_live")], "1");
    assert_eq!(rows[1][0].parse::<f64>().unwrap(), 0.0001);
}

#[test]
fn a_thinned_trace_has_every_nth_sample() {
    let desk = traced("thin", &["--every", "100"]);
    let text = desk.read("out/live/trace.csv");
    assert_eq!(text.lines().count(), 1 + 80);
    let times: Vec<f64> =
        text.lines().skip(1).map(|line| line.split(',').next().unwrap().parse().unwrap()).collect();
    assert!(times.windows(2).all(|pair| (pair[1] - pair[0] - 0.01).abs() < 1e-9), "{times:?}");
}

#[test]
fn the_value_change_dump_says_the_same_as_the_csv() {
    let desk = traced("vcd", &[]);
    let waves = read_vcd(&desk.read("out/live/trace.vcd"));
    let text = desk.read("out/live/trace.csv");
    let mut rows = text.lines();
    let heads: Vec<&str> = rows.next().unwrap().split(',').collect();
    let column = |name: &str| heads.iter().position(|head| *head == name).unwrap();
    let (volts, live) = (column("terminals (V)"), column("view_live"));
    let at = |name: &str, time: u64| {
        let wave = &waves[name];
        let place = wave.partition_point(|(moment, _)| *moment <= time);
        wave[place - 1].1.clone()
    };
    for row in rows.step_by(97) {
        let fields: Vec<&str> = row.split(',').collect();
        let time = (fields[0].parse::<f64>().unwrap() * 1.0e6).round() as u64;
        let dumped: f64 = at("terminals_V", time)[1..].parse().unwrap();
        let written: f64 = fields[volts].parse().unwrap();
        assert!((dumped - written).abs() <= 1e-6 * written.abs().max(1e-3), "{row}: {dumped}");
        let wire = at("view_live", time);
        assert_eq!(if wire == "x" { "" } else { &wire }, fields[live], "{row}");
    }
    assert!(waves["view_live"].iter().any(|(_, value)| value == "1"));
}

#[test]
fn the_result_is_that_of_the_json_answer() {
    let desk = traced("result", &[]);
    let result: serde_json::Value =
        serde_json::from_str(&desk.read("out/live/result.json")).unwrap();
    let answer = desk.run(&["run", "--format", "json", "live.toml"]).json();
    assert_eq!(result, answer["scenarios"][0]);
}

#[test]
fn our_own_trace_is_a_recording_that_a_scenario_can_play() {
    let desk = traced("replay", &[]);
    let replay = "ohmwarden = 1\nwhy = \"Played again.\"\nseconds = 0.7\n[start]\nfunction = \"volts\"\n\
        [part.again.recorded]\nfile = \"out/live/trace.csv\"\ncolumn = \"terminals\"\n\
        across = [\"lead.pos\", \"lead.neg\"]\n\
        [[expect]]\nat = { s = 0.65, that = \"view.volts in 228 V..232 V && view.live\" }\n";
    desk.put("again.toml", replay);
    let answer = desk.run(&["run", "again.toml"]);
    assert_eq!(answer.code, 0, "{answer:?}");
}
