//! The command from file to answer.

use std::fs;
use std::path::PathBuf;

use clap::Parser;

use super::{Args, run};

#[derive(Parser)]
struct Line {
    #[command(flatten)]
    args: Args,
}

/// A file under the build directory, removed at the end of the test.
struct TempFile(PathBuf);

impl TempFile {
    fn new(name: &str, bytes: &[u8]) -> Self {
        let path = std::env::temp_dir().join(format!("ohmwarden-{}-{name}", std::process::id()));
        fs::write(&path, bytes).unwrap();
        Self(path)
    }
}

impl Drop for TempFile {
    fn drop(&mut self) {
        // Nothing depends on whether a file in the temporary directory could be removed.
        drop(fs::remove_file(&self.0));
    }
}

fn answer(file: &TempFile, options: &[&str]) -> Result<String, String> {
    let path = file.0.to_str().unwrap();
    let line = [&["measure", path], options].concat();
    let args = Line::try_parse_from(line).map_err(|error| error.to_string())?.args;
    let mut out = Vec::new();
    run(&args, &mut out).map_err(|problem| problem.to_string())?;
    Ok(String::from_utf8(out).unwrap())
}

fn json(file: &TempFile, options: &[&str]) -> serde_json::Value {
    let text = answer(file, &[options, &["--format", "json"]].concat()).unwrap();
    serde_json::from_str(&text).unwrap()
}

/// Two seconds of 230 V at 50 Hz on 10 V, and of its third harmonic alone.
fn mains(name: &str) -> TempFile {
    let rows = (0..2_000).map(|sample| {
        let angle = core::f64::consts::TAU * 50.0 * f64::from(sample) / 1_000.0;
        let (u, h) = (10.0 + 325.269_119_345_8 * angle.sin(), 5.0 * (3.0 * angle).sin());
        format!("{sample},{u:.9},{h:.9}\n")
    });
    let text = format!("time (ms),U (V),H (V)\n{}", rows.collect::<String>());
    TempFile::new(name, text.as_bytes())
}

#[test]
fn a_csv_of_mains_reads_230_volts_and_50_hertz() {
    let file = mains("a.csv");
    let answer = json(&file, &["--column", "U"]);
    let channel = &answer["files"][0]["channels"][0];
    let reading = &channel["readings"][0];
    let near = |key: &str, value: f64, part: f64| {
        let read = reading[key].as_f64().unwrap();
        assert!((read - value).abs() <= part * value, "{key}: {read} for {value}");
    };
    near("ac", 230.0, 1e-5);
    near("dc", 10.0, 1e-4);
    near("rms", (230.0_f64.powi(2) + 100.0).sqrt(), 1e-5);
    near("frequency_hz", 50.0, 1e-4);
    near("peak", 335.269, 0.002);
    assert_eq!(reading["samples"], 2_000);
    assert_eq!(reading["clipped_samples"], 0);
    assert_eq!(channel["quantisation"]["codes"], "rounded");
    assert_eq!(answer["files"][0]["channels"].as_array().unwrap().len(), 1);
}

#[test]
fn windows_channels_and_the_meter_can_be_chosen() {
    let file = mains("b.csv");
    let answer = json(&file, &["--from", "0", "--from", "1000", "--samples", "20"]);
    let channels = answer["files"][0]["channels"].as_array().unwrap();
    assert_eq!(channels.len(), 4, "two channels, two windows each");
    assert_eq!(channels[1]["readings"][0]["first_sample"], 1_000);
    let by_number = json(&file, &["--column", "2", "--meter"]);
    let channel = &by_number["files"][0]["channels"][0];
    assert_eq!(channel["name"], "H");
    let readings = channel["readings"].as_array().unwrap();
    assert_eq!(readings.len(), 9, "31 cycles each");
    let hertz = readings[8]["frequency_hz"].as_f64().unwrap();
    assert!((hertz - 150.0).abs() < 0.05, "{hertz}");
}

#[test]
fn scale_unit_and_full_scale_are_applied() {
    let file = mains("c.csv");
    let options = ["--column", "U", "--scale", "0.001", "--unit", "kV", "--full-scale", "0.1"];
    let answer = json(&file, &options);
    let channel = &answer["files"][0]["channels"][0];
    assert_eq!(channel["unit"], "kV");
    assert_eq!(channel["readings"][0]["peak"].as_f64().unwrap(), 32_768.0 / 32_767.0 * 0.1);
    assert!(channel["readings"][0]["clipped_samples"].as_u64().unwrap() > 1_000);
}

#[test]
fn the_table_names_its_units_and_its_quantisation() {
    let file = mains("d.csv");
    let text = answer(&file, &["--from", "0", "--samples", "1000"]).unwrap();
    let lines: Vec<&str> = text.lines().collect();
    assert!(lines[0].ends_with("CSV, 1000 samples/s"), "{text}");
    for word in ["channel", "unit", "rms", "dc", "crest", "hz", "clipped", "one code"] {
        assert!(lines[1].contains(word), "{text}");
    }
    assert!(lines[2].starts_with("U        V  ") && lines[2].ends_with("(rounded)"), "{text}");
    assert!(lines[2].contains(" 230.2"), "{text}");
}

#[test]
fn what_is_not_there_is_said_with_what_is() {
    let file = mains("e.csv");
    for (options, problem) in [
        (&["--column", "X"][..], "found no channel `X`; accepted is 1 to 2 or one of: U, H"),
        (&["--column", "0"], "found no channel `0`"),
        (
            &["--from", "2000"],
            "found a window of all samples from sample 2000; accepted is a window within the 2000 samples",
        ),
        (&["--from", "1", "--samples", "2000"], "found a window of 2000 samples from sample 1"),
        (&["--samples", "0"], "0 is not in 1.."),
        (&["--rate", "-5"], "a number above 0"),
        (&["--scale", "0"], "a number other than 0"),
    ] {
        let found = answer(&file, options).unwrap_err();
        assert!(found.contains(problem), "{found}");
    }
    let unknown = TempFile::new("f.xlsx", b"");
    assert!(answer(&unknown, &[]).unwrap_err().contains("accepted is a file that ends in .csv"));
    let gone = TempFile(PathBuf::from("no-such-file.wav"));
    assert!(answer(&gone, &[]).unwrap_err().starts_with("no-such-file.wav: cannot be read"));
}

#[test]
fn a_window_with_a_missing_sample_is_refused_and_one_without_is_not() {
    let head =
        "S,r,1999\n1,1A,0D\n1,U,,,V,1,0,0,-32767,32767,1,1,P\n50\n1\n1000,4\nd,t\nd,t\nASCII\n1\n";
    let text = format!(
        "--- file type: CFG ---\n{head}--- file type: DAT ASCII ---\n1,0,5\n2,1,99999\n3,2,7\n4,3,7\n"
    );
    let file = TempFile::new("g.cff", text.as_bytes());
    let found = answer(&file, &[]).unwrap_err();
    assert!(found.contains("no value of `U` at sample 1"), "{found}");
    assert_eq!(json(&file, &["--from", "2"])["files"][0]["channels"][0]["readings"][0]["dc"], 7.0);
}
