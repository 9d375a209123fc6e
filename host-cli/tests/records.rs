//! `ohmwarden records`: everything whole comes out, damage is told by its place, exit codes say it.

mod program;

use program::{Answer, Desk, LIVE};

fn told(name: &str, file: &str, args: &[&str]) -> Answer {
    let desk = Desk::new(name);
    let path = format!("{}/../fixtures/records/{file}", env!("CARGO_MANIFEST_DIR"));
    desk.run(&[&["records", &path], args].concat())
}

#[test]
fn a_clean_image_comes_out_whole() {
    let answer = told("records_clean", "image.bin", &["--format", "json"]);
    assert_eq!((answer.code, answer.err.as_str()), (0, ""));
    let json = answer.json();
    let records = json["records"].as_array().unwrap();
    assert_eq!(records.len(), 9);
    assert_eq!(json["damaged"].as_array().unwrap().len(), 0);
    let first = &records[0];
    assert_eq!(first["day"], "2026-03-14");
    assert_eq!((&first["function"], &first["set"]), (&"insulation".into(), &500.0.into()));
    assert_eq!((&first["reading"]["bound"], &first["verdict"]), (&"above".into(), &"pass".into()));
    assert_eq!((&first["limit_id"], &first["source_id"]), (&3.into(), &1.into()));
    assert_eq!(records[2]["flags"], serde_json::json!(["path_unproved"]));
    assert_eq!(
        (&records[2]["verdict"], &records[2]["why"]),
        (&"undecided".into(), &"flagged".into())
    );
    assert_eq!(
        (&records[3]["null_ohms"], &records[3]["null_age_days"]),
        (&0.153.into(), &12.into())
    );
    assert_eq!(records[5]["rule"], "simple");
    assert_eq!(records[6]["verdict"], "none");
    assert_eq!(records[7]["points"].as_array().unwrap().len(), 13);
    assert_eq!(records[7]["profile"], "low voltage");
    assert_eq!(records[8]["temperature_celsius"], 30.0);
    assert_eq!((&json["kept"]["serial"], &json["kept"]["unfinished"]), (&1.into(), &false.into()));
    assert_eq!(json["others"].as_array().unwrap().len(), 2, "a daily check, constants");
}

#[test]
fn a_damaged_page_loses_its_damaged_records_alone() {
    let answer = told("records_page", "image_damaged.bin", &["--format", "json"]);
    assert_eq!(answer.code, 1);
    let json = answer.json();
    let serials: Vec<_> =
        json["records"].as_array().unwrap().iter().map(|one| one["serial"].as_u64()).collect();
    assert_eq!(serials, [0, 1, 2, 3, 6, 7, 8].map(Some));
    let damaged = json["damaged"].as_array().unwrap();
    // The second page begins at 1024: a word, three times a header of 8 and a record of 256.
    assert_eq!((&damaged[0]["offset"], &damaged[0]["length"]), (&1_300.into(), &256.into()));
    assert_eq!(damaged[1]["offset"], 1_556);
}

#[test]
fn a_stream_with_noise_gives_its_whole_frames() {
    let answer = told("records_stream", "stream_with_noise.bin", &["--format", "csv"]);
    assert_eq!(answer.code, 1);
    let rows: Vec<&str> = answer.out.lines().collect();
    assert_eq!(rows.len(), 1 + 7);
    let columns = |row: &str| row.split(',').count();
    assert!(rows.iter().all(|row| columns(row) == columns(rows[0])), "{}", answer.out);
    assert!(answer.err.contains("damaged at byte 290, 257 bytes"), "{}", answer.err);
    assert_eq!(answer.err.lines().count(), 4, "{}", answer.err);
}

#[test]
fn a_person_is_told_what_is_damaged_and_warned() {
    let answer = told("records_human", "image_damaged.bin", &[]);
    assert_eq!(answer.code, 1);
    for part in ["7 records", "insulation", "damaged at byte 1300, 256 bytes", "prove dead"] {
        assert!(answer.out.contains(part), "{part}: {}", answer.out);
    }
}

#[test]
fn what_holds_no_block_is_bad_input() {
    let desk = Desk::new("records_bad");
    desk.put("rubbish.bin", [0x55; 300]).put("empty.bin", []).put("text.csv", "a,b\n1,2\n");
    for args in [
        &["records", "rubbish.bin"][..],
        &["records", "rubbish.bin", "--as", "stream"],
        &["records", "empty.bin"],
        &["records", "text.csv"],
        &["records", "nowhere.bin"],
        &["records", "rubbish.bin", "--as", "imag"],
        &["records"],
    ] {
        let answer = desk.run(args);
        assert_eq!((answer.code, answer.out.as_str()), (2, ""), "{args:?}: {answer:?}");
        assert!(!answer.err.contains("panicked"), "{args:?}: {answer:?}");
    }
    let answer = desk.run(&["records", "rubbish.bin"]);
    for part in ["rubbish.bin: ", "300 bytes without one whole block", "--as image"] {
        assert!(answer.err.contains(part), "{part}: {}", answer.err);
    }
    let image = format!("{}/../fixtures/records/image.bin", env!("CARGO_MANIFEST_DIR"));
    let answer = desk.run(&["records", &image, "--as", "stream"]);
    assert_eq!(answer.code, 2, "{answer:?}");
}

#[test]
fn a_blank_flash_is_whole_and_empty() {
    let desk = Desk::new("records_blank");
    desk.put("blank.bin", [0xFF; 4_096]);
    let answer = desk.run(&["records", "blank.bin"]);
    assert_eq!(answer.code, 0, "{answer:?}");
    assert!(answer.out.contains("0 records"), "{answer:?}");
}

fn scenario(name: &str) -> String {
    format!("{}/../fixtures/scenarios/{name}.toml", env!("CARGO_MANIFEST_DIR"))
}

/// A run writes the flash of its board, and this reads it.
#[test]
fn the_flash_of_a_run_is_read_as_any_other() {
    let desk = Desk::new("records_of_a_run");
    let run = desk.run(&["run", &scenario("full-store"), "--out", "out", "--every", "1000"]);
    assert_eq!(run.code, 0, "{run:?}");
    for part in ["kept as record 0", "full: this reading is not", "kept as record 9"] {
        assert!(run.out.contains(part), "{part}: {}", run.out);
    }
    let answer = desk.run(&["records", "out/full-store.flash.bin", "--format", "json"]);
    assert_eq!((answer.code, answer.err.as_str()), (0, ""));
    let json = answer.json();
    let records = json["records"].as_array().unwrap();
    let serials: Vec<_> = records.iter().map(|one| one["serial"].as_u64()).collect();
    assert_eq!(serials, [3, 4, 5, 6, 7, 8, 9].map(Some));
    assert!(records.iter().all(|one| one["verdict"] == "pass" && one["day"] == "2026-01-01"));
    let others = json["others"].as_array().unwrap();
    assert_eq!((others.len(), &others[0]["kind"]), (1, &"calibration".into()));
}

/// What was torn is told as damage, and everything whole comes out all the same.
#[test]
fn a_write_that_was_cut_short_shows_as_damage_beside_whole_records() {
    let desk = Desk::new("records_cut");
    let file = scenario("power-cut-in-a-write");
    let args = ["run", &file, "--case", "50", "--out", "out", "--every", "1000", "--quiet"];
    let run = desk.run(&args);
    assert_eq!(run.code, 0, "{run:?}");
    let answer = desk.run(&["records", "out/power-cut-in-a-write.flash.bin", "--format", "json"]);
    assert_eq!(answer.code, 1, "{answer:?}");
    let json = answer.json();
    let records = json["records"].as_array().unwrap();
    let serials: Vec<_> = records.iter().map(|one| one["serial"].as_u64()).collect();
    assert_eq!(serials, [0, 1, 2].map(Some));
    assert_eq!(json["damaged"].as_array().unwrap().len(), 1);
}

#[test]
fn a_run_without_a_store_writes_no_flash() {
    let desk = Desk::new("records_none");
    desk.put("live.toml", LIVE);
    assert_eq!(desk.run(&["run", "live.toml", "--out", "out"]).code, 0);
    assert!(desk.path("out/live/trace.csv").exists() && !desk.path("out/live.flash.bin").exists());
}
