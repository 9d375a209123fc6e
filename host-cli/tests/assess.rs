//! What `assess` answers: published examples as published, mistakes with their places, exit codes.

mod program;

use program::{Answer, Desk};

fn assess(name: &str, words: &[&str]) -> Answer {
    let args: Vec<&str> = ["assess"].iter().chain(words).copied().collect();
    let answer = Desk::new(name).run(&args);
    assert!(!answer.err.contains("panicked"), "{}", answer.err);
    answer
}

/// The reading that comes out, in its base unit, with its verdict.
fn number(name: &str, words: &[&str]) -> (f64, String) {
    let words: Vec<&str> = words.iter().chain(&["--format", "json"]).copied().collect();
    let json = assess(name, &words).json();
    let reading = &json["readings"][0];
    let amount = reading["reading"]["amount"].as_f64().unwrap_or_else(|| panic!("{json}"));
    (amount, reading["verdict"].as_str().unwrap_or_default().to_owned())
}

fn has(text: &str, parts: &[&str]) {
    for part in parts {
        assert!(text.contains(part), "{part} is not in\n{text}");
    }
}

/// BS 7671, 643.3.2, as cited in NICEIC Connections, spring 2018, p. 47.
#[test]
fn a_verdict_is_told_with_limit_guard_source_advice_and_caution() {
    let words = ["1.06Mohm", "--limit", "installation_500v", "--doubt", "3%", "--volts", "500"];
    let answer = assess("told", &words);
    assert_eq!((answer.code, answer.err.as_str()), (0, ""), "{answer:?}");
    has(
        &answer.out,
        &[
            "1.06 Mohm  PASS",
            "at least 1 Mohm (installation_500v",
            "52.15 kohm (1.64 times the doubt of 31.80 kohm)",
            "BS 7671, 643.3.2",
            "no conformity claimed",
            "Below 2 Mohm",
            "next ",
            "does not show that a circuit is dead",
        ],
    );
    assert!(answer.out.lines().all(|line| line.len() <= 100), "{}", answer.out);
}

#[test]
fn a_fail_and_an_undecided_reading_exit_1() {
    let at = |value, rule| {
        let words = [value, "--limit", "installation_500v", "--doubt", "3%", "--rule", rule];
        let answer = assess("fail", &words);
        (answer.code, answer.out.lines().next().unwrap_or_default().to_owned())
    };
    assert_eq!(at("0.9Mohm", "guarded"), (1, "0.90 Mohm  FAIL".to_owned()));
    let (code, told) = at("1.02Mohm", "guarded");
    assert_eq!(code, 1);
    has(&told, &["UNDECIDED: the limit lies within the doubt"]);
    assert_eq!(at("1.02Mohm", "simple"), (0, "1.02 Mohm  PASS".to_owned()));
}

#[test]
fn a_reading_that_fails_by_a_hair_does_not_look_like_its_limit() {
    let answer = assess("hair", &["0.99996Mohm", "--at-least", "1Mohm", "--doubt", "10ohm"]);
    has(&answer.out, &["999.96 kohm  FAIL"]);
}

#[test]
fn what_the_trade_calls_a_number_is_said_with_it() {
    has(&assess("band", &["3", "--limit", "dielectric_discharge"]).out, &["calls it questionable"]);
    has(&assess("band", &["--dar", "1Mohm", "1.7Mohm"]).out, &["calls it very good"]);
}

#[test]
fn a_flag_and_a_low_voltage_forbid_a_pass() {
    for more in [["--flags", "path_unproved,standing"], ["--volts", "250"]] {
        let words = [&["5Mohm", "--limit", "installation_500v"][..], &more].concat();
        let answer = assess("flagged", &words);
        assert_eq!(answer.code, 1, "{answer:?}");
        has(&answer.out, &["UNDECIDED: a flag forbids a verdict"]);
    }
}

/// calculator.academy, "Polarization Index calculator"; the bound of 5000 Mohm: IEEE Std 43-2013 as
/// cited in technical articles.
#[test]
fn an_index_comes_out_as_published_and_is_refused_where_it_says_nothing() {
    let (index, verdict) =
        number("pi", &["--pi", "3Mohm", "2.5Mohm", "--limit", "polarization_class_b"]);
    assert!((index - 0.8333).abs() < 1e-4, "{index}");
    assert_eq!(verdict, "fail");
    let answer = assess("pi_high", &["--pi", "6Gohm", "7Gohm"]);
    assert_eq!(answer.code, 1);
    has(&answer.out, &["REFUSED: above 5000 Mohm"]);
    let words = ["--dar", "1Gohm", "2Gohm", "--at-volts", "500", "510"];
    has(&assess("dar", &words).out, &["REFUSED", "more than 1 % apart"]);
    has(&assess("dar_bound", &["--dar", "1Gohm", ">2Gohm"]).out, &["REFUSED", "bound"]);
}

/// IEEE Std 43-2013 as cited in trade texts: 200 Mohm at 20 C. The oil column of ANSI/NETA as
/// cited: 1200 Mohm at 35 C.
#[test]
fn corrections_come_out_as_published() {
    let words = ["200Mohm", "--correct", "halving", "--celsius", "20"];
    let to = |celsius| number("to", &[&words[..], &["--to-celsius", celsius]].concat()).0;
    assert_eq!((to("50"), to("40")), (25.0e6, 50.0e6));
    let (oil, _) = number("oil", &["1200Mohm", "--correct", "oil", "--celsius", "35"]);
    assert!((oil / 3.394e9 - 1.0).abs() < 1e-3, "{oil}");
    let limit = ["--limit", "winding_form_wound", "--doubt", "2%"];
    let told = assess("limit_at", &[&words[..], &limit].concat());
    has(&told.out, &["FAIL", "brought to 40 C", "temperature_corrected"]);
    let warm = ["3Mohm", "--correct", "oil", "--celsius", "80"];
    has(&assess("range", &warm).out, &["REFUSED: this rule is made for 20 C to 75 C"]);
    let dew = [&words[..], &["--dew-celsius", "21"]].concat();
    has(&assess("dew", &dew).out, &["REFUSED: at or below the dew point"]);
}

/// US Army SB 740-91-01, paragraph 4.c, at 92 F; IEEE Std 43-1974 in a public flyer, 4.16 kV.
#[test]
fn limits_that_depend_on_something_come_out_as_published() {
    let words = ["79Mohm", "--limit", "wiring_harness", "--celsius", "33.333", "--volts", "500"];
    has(&assess("harness", &words).out, &["FAIL", "at least 80 Mohm"]);
    let words = ["5.2Mohm", "--limit", "winding_before_1970", "--rated", "4160", "--celsius", "40"];
    has(&assess("winding", &words).out, &["PASS", "at least 5.16 Mohm"]);
}

/// D. Locke, Guide to the Wiring Regulations, 17th ed., table 4.3.
#[test]
fn fifty_metres_of_conductors_come_out_as_published() {
    for (run, published) in [("2.5/1.5", 0.98), ("10/4", 0.32), ("16/6", 0.211)] {
        let (ohms, _) = number("run", &["--conductor", run, "--metres", "50"]);
        assert!((ohms - published).abs() < 0.005, "{run}: {ohms}");
    }
    let at = |ohms| assess("r1r2", &[ohms, "--conductor", "2.5/1.5", "--metres", "50"]);
    assert_eq!((at("0.98ohm").code, at("1.2ohm").code), (0, 1));
    has(&at("0.5ohm").out, &["PASS", "another path"]);
}

/// J. Hearfield, Telephone cable modelling (BT SIN351): 50 nF and 168 ohm for each kilometre.
#[test]
fn distances_come_out_as_published() {
    let (open, _) = number("open", &["100nF", "--pair", "0.5mm"]);
    let (short, _) = number("short", &["336ohm", "--pair", "0.5mm", "--celsius", "20"]);
    assert!((open - 2_000.0).abs() < 0.01 && (short - 2_000.0).abs() < 0.01, "{open} {short}");
    let (split, _) = number("split", &["45nF", "--far", "15nF", "--metres", "1600"]);
    assert!((split - 1_200.0).abs() < 0.01, "{split}");
    let leads = ["--leads", "0.2nF"];
    let (open, _) = number("leads", &[&["100.2nF", "--pair", "0.5mm"][..], &leads].concat());
    assert!((open - 2_000.0).abs() < 0.01, "{open}");
    let own = ["60nF", "--pair", "0.4mm", "--nanofarads-per-km", "60"];
    assert!((number("own_pair", &own).0 - 1_000.0).abs() < 0.01);
    let leaks = assess("leaks", &["100nF", "--pair", "0.5mm", "--insulation", "100kohm"]);
    assert_eq!(leaks.code, 1);
    has(&leaks.out, &["REFUSED: the pair leaks"]);
}

#[test]
fn what_does_not_fit_exits_2_with_what_is_accepted() {
    for (words, parts) in [
        (&["5Mohms", "--limit", "wiring_harness"][..], &["no such unit", "did you mean Mohm?"][..]),
        (&["5Mohm", "--limit", "wiring_harnes"], &["no limit `wiring_harnes`", "wiring_harness?"]),
        (&["5V", "--limit", "installation_500v"], &["a number of V", "a number of ohm"]),
        (&["5Mohm", "--limit", "wiring_harness"], &["no temperature", "--celsius"]),
        (&["5Mohm", "--limit", "winding_before_1970"], &["no rated voltage", "--rated"]),
        (&["5Mohm", "--at-least", "1Mohm", "--correct", "oil"], &["no temperature", "--celsius"]),
        (&["5Gohm", "--limit", "apparatus_600v"], &["not brought to the 20 C", "--correct"]),
        (&["5Mohm", "--at-least", "1Mohm", "--correct", "oill"], &["no such rule", "mean oil?"]),
        (&["5Mohm", "--at-least", "1Mohm", "--doubt", "1V"], &["doubt of another unit", "ohm"]),
        (&["5Mohm", "--at-least", "1Mohm", "--flags", "risin"], &["no such flag", "mean rising?"]),
        (&["5Mohm", "--at-least=-1Mohm"], &["no number above zero"]),
        (&["5Mohm", "--at-least", "1Mohm", "--celsius", "999"], &["--celsius", "-100 to 300"]),
        (&["5Mohm"], &["nothing to judge it against", "--limit"]),
        (&[], &["no reading", "--readings"]),
        (&["--pi", "0ohm", "1ohm"], &["two resistances above zero"]),
        (&["--conductor", "3/1.5", "--metres", "50"], &["1, 1.5, 2.5, 4, 6, 10 or 16"]),
        (&["--conductor", "2.5/1.5"], &["--metres"]),
        (&["--pi", "1ohm", "1ohm", "--correct", "oil"], &["--pi", "cannot be used with"]),
        (&["5V", "--pair", "0.5mm"], &["neither a capacitance nor a resistance"]),
        (&["5nF", "--pair", "0.5m"], &["no pair `0.5m`", "did you mean 0.5mm?"]),
        (&["5nF", "--pair", "0.4mm"], &["no capacitance", "--nanofarads-per-km"]),
    ] {
        let answer = assess("unfit", words);
        assert_eq!((answer.code, answer.out.as_str()), (2, ""), "{words:?}: {answer:?}");
        has(&answer.err, parts);
    }
}

const SHEET: &str = "# the board in the hall
name,value,doubt,limit,volts,flags
lighting,1.5Mohm,3%,,500,
sockets,>999 Mohm,,,500,
bell,12Mohm,,,500,path_unproved+rising
cooker,0.4Mohm,3%,,500,
";

#[test]
fn a_sheet_gives_a_verdict_for_each_row_and_what_they_come_to() {
    let desk = Desk::new("sheet");
    desk.put("a.csv", SHEET);
    let words = ["assess", "--readings", "a.csv", "--limit", "installation_500v", "--doubt", "2%"];
    let answer = desk.run(&words);
    assert_eq!((answer.code, answer.err.as_str()), (1, ""), "{answer:?}");
    for (name, word) in
        [("lighting", "PASS"), ("sockets", "PASS"), ("bell", "UNDECIDED"), ("cooker", "FAIL")]
    {
        let line = answer.out.lines().find(|line| line.starts_with(name));
        assert!(line.is_some_and(|line| line.contains(word)), "{name}\n{}", answer.out);
    }
    has(&answer.out, &["4 rows judged: 2 pass, 1 fail, 1 undecided", "rising, path_unproved"]);
    desk.put("good.csv", SHEET.lines().take(4).collect::<Vec<_>>().join("\n"));
    let good = desk.run(&["assess", "--readings", "good.csv", "--limit", "installation_500v"]);
    assert_eq!(good.code, 0, "{good:?}");
}

#[test]
fn the_sheet_that_is_shown_as_an_example_has_every_outcome() {
    let fixture =
        |name: &str| format!("{}/../fixtures/readings/{name}", env!("CARGO_MANIFEST_DIR"));
    let (sheet, limits) = (fixture("board.csv"), fixture("workshop.toml"));
    let words = ["assess", "--readings", &sheet, "--limits", &limits, "--limit"];
    let words = [&words[..], &["installation_500v", "--doubt", "3%"]].concat();
    let answer = Desk::new("example").run(&words);
    assert_eq!((answer.code, answer.err.as_str()), (1, ""), "{answer:?}");
    has(
        &answer.out,
        &["8 rows judged: 4 pass, 2 fail, 2 undecided", "at least 2 Mohm (bilge_pump)"],
    );
}

#[test]
fn a_note_of_several_rows_is_told_once() {
    let desk = Desk::new("notes");
    desk.put("a.csv", SHEET.replace("12Mohm", "1.9Mohm"));
    let answer = desk.run(&["assess", "--readings", "a.csv", "--limit", "installation_500v"]);
    has(&answer.out, &["lighting, bell, cooker: Below 2 Mohm"]);
}

#[test]
fn bad_rows_are_pointed_at_and_the_good_ones_are_judged() {
    let desk = Desk::new("bad_rows");
    let bad = "garage,1.2 Mohms,,,500,\nloft,1Mohm,,instalation_500v,500,\nyard,1Mohm\n";
    desk.put("a.csv", format!("{SHEET}{bad}"));
    let words = ["assess", "--readings", "a.csv", "--limit", "installation_500v"];
    let answer = desk.run(&words);
    assert_eq!(answer.code, 2, "{answer:?}");
    has(&answer.out, &["4 rows judged", "3 mistakes in rows that cannot be used"]);
    has(
        &answer.err,
        &[
            "a.csv:7:12",
            "did you mean Mohm?",
            "a.csv:8:13",
            "did you mean installation_500v?",
            "a.csv:9:1",
            "2 fields in this row",
        ],
    );
    let json = desk.run(&[&words[..], &["--format", "json"]].concat()).json();
    assert_eq!(json["summary"]["pass"], 2);
    assert_eq!(json["readings"].as_array().map(Vec::len), Some(4));
    assert_eq!((&json["errors"][0]["line"], &json["errors"][0]["column"]), (&7.into(), &12.into()));
    assert_eq!(json["errors"][1]["nearest"], "installation_500v");
}

const OWN: &str = r#"ohmwarden = 1

[limit.bilge_pump]
id = 32768
about = "bilge pump, winding to frame"
at_least = "2 Mohm"
volts = 500
source = "the handbook of the pump, page 12"
edition = "2019"
standing = "published"
"#;

#[test]
fn a_limit_of_the_user_judges_like_any_other_and_is_listed() {
    let desk = Desk::new("own");
    desk.put("own.toml", OWN);
    let words = ["assess", "1.9Mohm", "--limits", "own.toml", "--limit", "bilge_pump"];
    let answer = desk.run(&words);
    assert_eq!(answer.code, 1, "{answer:?}");
    has(&answer.out, &["FAIL", "at least 2 Mohm (bilge_pump", "the handbook of the pump, page 12"]);
    let list = desk.run(&["assess", "--list", "--limits", "own.toml"]);
    assert_eq!(list.code, 0);
    has(&list.out, &["bilge_pump", "installation_500v", "apparatus_2500v", "from memory"]);
    let json = desk.run(&["assess", "--list", "--format", "json"]).json();
    let limits = json["limits"].as_array().map_or(0, Vec::len);
    assert_eq!(limits, ohmwarden_core::limits::all().count());
}

#[test]
fn mistakes_in_the_users_limits_are_pointed_at() {
    for (from, to, parts) in [
        ("volts = 500", "volt = 500", &["own.toml:7:1", "did you mean volts?"][..]),
        ("2 Mohm", "2 Mohms", &["own.toml:6:15", "no such unit", "did you mean Mohm?"]),
        ("2 Mohm", "2 J", &["own.toml:6:13", "no reading is of this unit"]),
        ("source = \"the handbook of the pump, page 12\"\n", "", &["source is missing"]),
        ("\"published\"", "\"publishd\"", &["own.toml:10:12", "did you mean published?"]),
        ("bilge_pump", "installation_500v", &["own.toml:3:8", "a built-in limit has this name"]),
        ("32768", "2", &["own.toml:4:6", "32768 to 65535"]),
        ("at_least", "at_lest", &["own.toml:6:1", "did you mean at_least?"]),
    ] {
        let desk = Desk::new("own_bad");
        desk.put("own.toml", OWN.replacen(from, to, 1));
        let answer = desk.run(&["assess", "5Mohm", "--limits", "own.toml", "--at-least", "1Mohm"]);
        assert_eq!((answer.code, answer.out.as_str()), (2, ""), "{to}: {answer:?}");
        has(&answer.err, parts);
    }
}

#[test]
fn files_that_are_not_there_or_no_text_are_told() {
    let desk = Desk::new("no_file");
    desk.put("bytes.csv", [0xff, 0xfe, 0x00]);
    for words in
        [["--readings", "none.csv"], ["--limits", "none.toml"], ["--readings", "bytes.csv"]]
    {
        let answer = desk.run(&[&["assess", "--at-least", "1ohm"][..], &words].concat());
        assert_eq!(answer.code, 2, "{answer:?}");
        has(&answer.err, &[words[1]]);
    }
}
