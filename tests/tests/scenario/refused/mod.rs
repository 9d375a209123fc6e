//! What is refused: where it is shown, what is accepted instead, and in which words.

mod event;
mod expectation;
mod part;
mod repeated;

use ohmwarden_sim::scenario::line_column;

use crate::{read, told};

/// The first three lines of every text that is refused below; its own begin with line 4.
const HEAD: &str = "ohmwarden = 1\nwhy = \"w\"\nseconds = 1\n";

/// One mistake as it must be told: line, column, what is found, one thing that is accepted, and
/// words of the message.
type Told = (u32, u32, &'static str, &'static str, &'static str);

/// Checks that a text is refused with exactly these mistakes.
fn refused(body: &str, expected: &[Told]) {
    let text = format!("{HEAD}{body}");
    let Err(mistakes) = read(&text) else { panic!("accepted:\n{text}") };
    let all = told(&text, &mistakes);
    assert_eq!(mistakes.len(), expected.len(), "{text}\n{all}");
    for (mistake, (line, column, found, accepted, message)) in mistakes.iter().zip(expected) {
        assert_eq!(line_column(&text, mistake.span.start), (*line, *column), "{text}\n{all}");
        assert_eq!(mistake.found, *found, "{text}\n{all}");
        assert!(mistake.message.contains(message), "{text}\n{all}");
        if accepted.is_empty() {
            assert!(mistake.accepted.is_empty(), "{text}\n{all}");
        } else {
            assert!(mistake.accepted.iter().any(|one| one == accepted), "{text}\n{all}");
        }
    }
}

/// A resistor between the leads, with these lines after its header.
fn resistor(lines: &str) -> String {
    format!("[part.r.resistor]\n{lines}")
}

const ACROSS: &str = "across = [\"lead.pos\", \"lead.neg\"]\n";

#[test]
fn the_version_comes_first_and_alone_where_it_is_wrong() {
    let versions = [
        ("why = \"w\"\nnonsense = 3\n", (1, 1), "", "the version of the format is missing"),
        ("ohmwarden = 2\nnonsense = 3\n", (1, 13), "2", "this version of the format is not read"),
        ("ohmwarden = \"1\"\n", (1, 13), "1", "this version of the format is not read"),
    ];
    for (text, place, found, message) in versions {
        let mistakes = read(text).expect_err("a wrong version");
        assert_eq!(mistakes.len(), 1, "{}", told(text, &mistakes));
        assert_eq!(line_column(text, mistakes[0].span.start), place);
        assert_eq!(mistakes[0].found, found);
        assert_eq!(mistakes[0].accepted, ["ohmwarden = 1"]);
        assert!(mistakes[0].message.contains(message));
    }
}

#[test]
fn what_every_scenario_needs_is_missed() {
    let text = "ohmwarden = 1\n";
    let mistakes = read(text).expect_err("no text of a scenario");
    let missing: Vec<&str> = mistakes.iter().map(|mistake| mistake.message.as_str()).collect();
    assert_eq!(missing, ["why is missing", "seconds is missing"]);
}

#[test]
fn a_text_that_is_no_toml_is_refused_where_it_breaks() {
    refused("[part.r\n", &[(4, 8, "", "", "unclosed table")]);
    refused("why = \"again\"\n", &[(4, 1, "why", "a name of its own", "stands here twice")]);
    refused("x = \"open\n", &[(4, 10, "", "", "invalid basic string")]);
}

#[test]
fn the_head_and_the_panel_are_checked() {
    refused(
        "profile = \"generl\"\nseed = -1\nsamples_per_second = 100.5\nsubsteps = 0\n",
        &[
            (4, 11, "generl", "general", "no such word here"),
            (5, 8, "-1", "a whole number from 0 to 18446744073709551615", "seed cannot be this"),
            (6, 22, "100.5", "a whole number from 1000 to 100000", "cannot be this"),
            (7, 12, "0", "a whole number from 1 to 100", "cannot be this"),
        ],
    );
    refused(
        "[start]\nfunction = \"insulation\"\nvolts = 5000\ntest_helt = true\n",
        &[
            (6, 9, "5000", "1 to 1000", "volts cannot be 5000"),
            (7, 1, "test_helt", "test_held", "no such key here"),
        ],
    );
    refused(
        "[start]\nfunction = \"insulation\"\n",
        &[(4, 2, "", "volts = 1 to 1000", "volts is missing")],
    );
    refused("[parts]\n", &[(4, 2, "parts", "part", "no such key here")]);
}

#[test]
fn a_limit_has_one_side() {
    let one = |limit: &str, told: Told| refused(&format!("limit = {limit}\n"), &[told]);
    let both = "{ at_least_ohms = 1, at_most_ohms = 2 }";
    one(both, (4, 1, "", "at_least_ohms = ..", "exactly one side"));
    one("{ }", (4, 1, "", "at_most_ohms = ..", "exactly one side"));
    one("{ atleast_ohms = 4 }", (4, 11, "atleast_ohms", "at_least_ohms", "no such key here"));
    one("{ at_least_ohms = 1, named = \"telephone_ship\" }", (4, 1, "", "named = ..", "or a name"));
    one("{ at_least_ohms = 0 }", (4, 27, "0", "0.001 to 1e14", "at_least_ohms cannot be 0"));
}

#[test]
fn a_named_limit_must_exist_and_have_a_value_here() {
    let named = |word: &str, start: &str| format!("limit = {{ named = \"{word}\" }}\n{start}");
    let one = |word: &'static str, start: &str, accepted, message| {
        refused(&named(word, start), &[(4, 19, word, accepted, message)]);
    };
    one("instalation_500v", "", "installation_500v", "no such word here");
    one("apparatus_600v", "", "celsius = 20 in [start]", "this limit holds at 20 C only");
    let warm = "[start]\ncelsius = 35\n";
    one("apparatus_600v", warm, "correct = \"..\" in [start]", "this limit holds at 20 C only");
    one("wiring_harness", "", "celsius = .. in [start]", "depends on the temperature");
    let hot = "[start]\ncelsius = 40\n";
    one("wiring_harness", hot, "celsius below 37.8 in [start]", "below 100 F");
    let at_40 = "[start]\ncelsius = 40\n";
    let rated = "its value for this winding: at_least_ohms = ..";
    one("winding_before_1970", at_40, rated, "depends on the rated voltage");
    for (word, start) in [
        ("installation_500v", ""),
        ("apparatus_600v", "[start]\ncelsius = 20\n"),
        ("apparatus_600v", "[start]\ncelsius = 35\ncorrect = \"oil\"\n"),
        ("wiring_harness", "[start]\ncelsius = 15\n"),
    ] {
        assert!(read(&format!("{HEAD}{}", named(word, start))).is_ok(), "{word} {start}");
    }
}

#[test]
fn the_surroundings_are_checked() {
    refused(
        "[start]\ncelsius = 300\ncorrect = \"oyl\"\npair = \"0.5 mm\"\n",
        &[
            (5, 11, "300", "-100 to 200", "celsius cannot be 300"),
            (6, 11, "oyl", "oil", "no such word here"),
            (7, 8, "0.5 mm", "0.5mm", "no such word here"),
        ],
    );
    let alone = (5, 1, "reference_celsius", "correct = \"..\"", "belongs to correct");
    refused("[start]\nreference_celsius = 20\n", &[alone]);
}

#[test]
fn a_text_without_end_is_refused_unread() {
    let text = format!("{HEAD}# {}", "x".repeat(1 << 20));
    let mistakes = read(&text).expect_err("too long");
    assert_eq!(mistakes[0].message, "this text is too long");
}
