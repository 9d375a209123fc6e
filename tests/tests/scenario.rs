//! Scenario files: what is read, what is refused and where, what is written back.

mod small_world;

use ohmwarden_sim::expect::{Rule, Stays};
use ohmwarden_sim::scenario::{
    Action, Function, Mistake, Part, Scenario, Timed, line_column, locate, parse, parse_with, write,
};
use small_world::KNOWN;

fn read(text: &str) -> Result<Scenario, Vec<Mistake>> {
    parse_with(text, &KNOWN)
}

fn good(text: &str) -> Scenario {
    read(text).unwrap_or_else(|mistakes| panic!("{text}\n{}", told(text, &mistakes)))
}

fn told(text: &str, mistakes: &[Mistake]) -> String {
    let line = |mistake: &Mistake| {
        let (line, column) = line_column(text, mistake.span.start);
        format!("{line}:{column}: {mistake}")
    };
    mistakes.iter().map(line).collect::<Vec<_>>().join("\n")
}

const FULL: &str = r#"
ohmwarden = 1
why = "A charged cable is not a live one."
seed = 7
profile = "general"
seconds = 3.0
limit = { at_least_ohms = 1e6, uncertainty_percent = 3 }

[start]
function = "insulation"
volts = 500
test_held = true

[part.cable.capacitor]
farads = 1.0e-6
across = ["lead.pos", "lead.neg"]

[part.mains_switch.switch]
across = ["lead.pos", "street"]

[part.mains.sine]
volts_rms = 230
hertz = 50
harmonics = [{ order = 3, fraction = 0.1 }]
across = ["street", "lead.neg"]

[[at]]
s = 1.203
label = "mains_on"
close = "mains_switch"

[[at]]
s = 2
label = "fault_on"
fault = { gate_shorted = { ohms = 5 } }

[[at]]
s = 2.5
clear = "gate_shorted"

[[at]]
s = 2.5
set = { part = "mains", volts_rms = 100, phase_deg = 90 }

[sweep]
mains_phase_deg = { from = 0, to = 345, step = 15 }
mains_on_s = [1.2, 1.21]

[storm]
events_per_second = 20
from_s = 1

[[expect]]
note = "Off and stays off."
within = { after = "mains_on", s = 0.006, that = "source.off", stays = true, until = "fault_on" }

[[expect]]
never = "gate.open && leads.volts > 50 V"
before = "fault_on"

[[expect]]
eventually = { s = 3.0, that = "reading.value in 24.5 Mohm..25.5 Mohm" }

[[expect]]
at = { s = 0.5, after = "mains_on", that = "state is rest" }

[[expect]]
until = { hold = "gate.open", until = "source.off" }
"#;

#[test]
fn a_full_scenario_is_read_with_its_defaults() {
    let scenario = good(FULL);
    assert_eq!(scenario.seed, 7);
    assert_eq!((scenario.rate, scenario.substeps), (10_000, 1));
    assert_eq!(scenario.start.function, Function::Insulation { volts: 500.0, timed: Timed::No });
    assert!(scenario.start.test_held);
    assert_eq!(scenario.parts.len(), 3);
    assert_eq!(scenario.parts[0].name, "cable");
    assert_eq!(scenario.parts[0].part, Part::Capacitor { farads: 1.0e-6, volts: 0.0 });
    assert_eq!(scenario.labels(), ["mains_on", "fault_on"]);
    assert_eq!(scenario.case_count(), 48);
    let Action::Fault(call) = &scenario.events[1].action else { panic!("a fault") };
    assert_eq!(call.number("ohms"), Some(5.0));
    assert_eq!(call.flag("sticky"), Some(true));
    let Rule::Within { stays, .. } = &scenario.expects[0].rule else { panic!("a window") };
    assert_eq!(*stays, Stays::UntilLabel("fault_on".into()));
}

/// The text in the module's own documentation, so that it cannot rot.
#[test]
fn the_example_in_the_documentation_is_read() {
    let source = include_str!("../../sim/src/scenario/mod.rs");
    let (_, rest) = source.split_once("//! ```toml\n").expect("an example");
    let (example, _) = rest.split_once("//! ```\n").expect("its end");
    let text: String = example
        .lines()
        .map(|line| line.strip_prefix("//!").unwrap_or(line).trim_start().to_string() + "\n")
        .collect();
    let scenario = good(&text);
    assert_eq!(scenario.parts.len(), 3);
    assert_eq!(scenario.case_count(), 48);
}

#[test]
fn a_full_scenario_survives_writing() {
    let scenario = good(FULL);
    let text = write(&scenario);
    assert_eq!(good(&text), scenario);
    assert_eq!(write(&good(&text)), text);
}

#[test]
fn a_part_is_found_again_by_its_path() {
    let span = locate(FULL, &["part", "mains"]).expect("there");
    assert_eq!(&FULL[span.clone()], "mains");
    assert_eq!(line_column(FULL, span.start), (21, 7));
    assert_eq!(locate(FULL, &["part", "nothing"]), None);
}

#[test]
fn without_a_registry_no_fault_and_no_signal_is_known() {
    let mistakes = parse(FULL).expect_err("names are not known");
    assert!(mistakes.iter().any(|mistake| mistake.message == "no such fault"));
    assert!(mistakes.iter().any(|mistake| mistake.message == "no such signal"));
}

// ---- what is refused

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
fn a_part_that_stands_twice_is_told_once() {
    let twice = resistor(&format!("ohms = 5\n{ACROSS}")).repeat(2);
    refused(&twice, &[(7, 9, "resistor", "a name of its own", "stands here twice")]);
    let two_kinds = format!("{}[part.r.diode]\n{ACROSS}", resistor(&format!("ohms = 5\n{ACROSS}")));
    refused(&two_kinds, &[(4, 7, "r", "resistor", "exactly one kind")]);
}

#[test]
fn keys_of_a_part_are_checked_one_by_one() {
    let one = |lines: &str, told: Told| refused(&resistor(lines), &[told]);
    let misspelt = format!("ohm = 5\n{ACROSS}");
    one(&misspelt, (5, 1, "ohm", "ohms", "no such key here"));
    let negative = format!("ohms = -5\n{ACROSS}");
    one(&negative, (5, 8, "-5", "0.001 to 1e14", "ohms cannot be -5"));
    let endless = format!("ohms = inf\n{ACROSS}");
    one(&endless, (5, 8, "inf", "0.001 to 1e14", "must be a finite number"));
    let no_number = format!("ohms = nan\n{ACROSS}");
    one(&no_number, (5, 8, "nan", "0.001 to 1e14", "must be a finite number"));
    let huge = format!("ohms = 1e999\n{ACROSS}");
    one(&huge, (5, 8, "1e999", "0.001 to 1e14", "must be a finite number"));
    let text = format!("ohms = \"5\"\n{ACROSS}");
    one(&text, (5, 8, "5", "0.001 to 1e14", "a number is needed here, not a text"));
    one(ACROSS, (4, 9, "", "ohms = 0.001 to 1e14", "ohms is missing"));
    refused(
        &resistor("ohms = 0\nacross = 3\ncolour = \"red\"\n"),
        &[
            (5, 8, "0", "0.001 to 1e14", "ohms cannot be 0"),
            (6, 10, "3", "[\"NODE\", \"NODE\"]", "a list is needed here, not a number"),
            (7, 1, "colour", "ohms", "no such key here"),
        ],
    );
}

#[test]
fn nodes_are_two_different_and_lead_somewhere() {
    let one = |across: &str, told: Told| {
        refused(&resistor(&format!("ohms = 5\nacross = {across}\n")), &[told]);
    };
    refused(&resistor("ohms = 5\n"), &[(4, 9, "", "across = [\"NODE\", \"NODE\"]", "missing")]);
    let single = "[\"lead.pos\"]";
    one(single, (6, 10, single, "[\"NODE\", \"NODE\"]", "a part is across two nodes"));
    let same = "[\"lead.pos\", \"lead.pos\"]";
    one(same, (6, 10, same, "two different nodes", "both ends are at one node"));
    let unknown = "[\"lead.plus\", \"lead.neg\"]";
    one(unknown, (6, 11, "lead.plus", "lead.pos", "no such node"));
    one("[\"lead.pos\", 3]", (6, 23, "3", "a text in quotes", "a text is needed"));
    let two = "[part.a.resistor]\nohms = 1\nacross = [\"lead.pos\", \"street\"]\n\
               [part.b.resistor]\nohms = 1\nacross = [\"stret\", \"lead.neg\"]\n";
    refused(
        two,
        &[
            (6, 23, "street", "stret", "nothing else joins this node"),
            (9, 11, "stret", "street", "nothing else joins this node"),
        ],
    );
}

#[test]
fn parts_have_a_name_a_kind_and_values_that_fit_together() {
    let one = |body: &str, told: Told| refused(body, &[told]);
    let kind = format!("[part.r.resister]\nohms = 5\n{ACROSS}");
    one(&kind, (4, 9, "resister", "resistor", "no such kind of part"));
    let name = format!("[part.Bad-Name.resistor]\nohms = 5\n{ACROSS}");
    one(
        &name,
        (
            4,
            7,
            "Bad-Name",
            "a letter, then letters, digits and _, at most 48 in all",
            "cannot be a name",
        ),
    );
    let long = format!("[part.{}.resistor]\nohms = 5\n{ACROSS}", "n".repeat(48));
    assert!(read(&format!("{HEAD}{long}")).is_ok());
    let longer = format!("[part.{}.resistor]\nohms = 5\n{ACROSS}", "n".repeat(49));
    assert!(read(&format!("{HEAD}{longer}")).is_err());
    one("part = 5\n", (4, 8, "5", "{ key = value, .. }", "a table is needed here"));
    one("[part]\nr = 5\n", (5, 5, "5", "{ key = value, .. }", "a table is needed here"));
    let pulse = format!("[part.p.pulse]\nvolts = 5\nwidth_s = 2\nperiod_s = 1\n{ACROSS}");
    one(&pulse, (4, 9, "pulse", "width_s below period_s", "longer than its period"));
    let arc = format!("[part.a.arc]\nstrike_volts = 20\narc_volts = 30\n{ACROSS}");
    one(&arc, (4, 9, "arc", "arc_volts below strike_volts", "no higher than it strikes"));
    let switch = format!("[part.s.switch]\non_ohms = 1e5\noff_ohms = 1e4\n{ACROSS}");
    one(&switch, (4, 9, "switch", "on_ohms below off_ohms", "no worse than an open one"));
    let harmonic = format!(
        "[part.m.sine]\nvolts_rms = 1\nhertz = 50\nharmonics = [{{ order = 1, fraction = 3 }}]\n{ACROSS}"
    );
    refused(
        &harmonic,
        &[
            (7, 24, "1", "a whole number from 2 to 100", "order cannot be this"),
            (7, 38, "3", "0 to 2", "fraction cannot be 3"),
        ],
    );
    let recorded = format!("[part.w.recorded]\nfile = \"\"\ncolumn = 2\n{ACROSS}");
    refused(
        &recorded,
        &[
            (5, 8, "", "a text in quotes", "this text is empty"),
            (6, 10, "2", "a text in quotes", "a text is needed here, not a number"),
        ],
    );
}

#[test]
fn an_event_has_a_moment_in_order_and_one_action() {
    let one = |body: &str, told: Told| refused(body, &[told]);
    one("[[at]]\ns = 0.5\n", (4, 1, "", "close", "an event needs an action"));
    one("[[at]]\npress = \"test\"\n", (4, 1, "", "s = 0 to 1", "s is missing"));
    let two = "[[at]]\ns = 0.5\npress = \"test\"\nrelease = \"null\"\n";
    one(two, (7, 1, "release", "another [[at]]", "this is a second"));
    one("[[at]]\ns = 0.5\npres = \"test\"\n", (6, 1, "pres", "press", "no such key here"));
    one("[[at]]\ns = 0.5\npress = \"tset\"\n", (6, 9, "tset", "test", "no such word here"));
    one("[[at]]\ns = 1.5\npress = \"test\"\n", (5, 5, "1.5", "0 to 1", "s cannot be 1.5"));
    one("[[at]]\ns = -1\npress = \"test\"\n", (5, 5, "-1", "0 to 1", "s cannot be -1"));
    let late = "[[at]]\ns = 0.5\npress = \"test\"\n[[at]]\ns = 0.4\nrelease = \"test\"\n";
    one(late, (8, 5, "0.4", "0.5 to 1", "events stand in the order of time"));
    one("[at]\ns = 1\npress = \"test\"\n", (4, 1, "[at]", "[[at]]", "a list is needed here"));
    one("[[at]]\ns = 1\nreset = false\n", (6, 9, "false", "true", "is no event"));
    let label = "[[at]]\ns = 0.1\nlabel = \"a\"\npress = \"test\"\n";
    one(&label.repeat(2), (10, 9, "a", "a label of its own", "another event has this label"));
    one(
        &label.replace("\"a\"", "\"A b\""),
        (
            6,
            9,
            "A b",
            "a letter, then letters, digits and _, at most 48 in all",
            "cannot be a name",
        ),
    );
}

#[test]
fn an_event_refers_to_what_is_there() {
    let parts = format!(
        "[part.a.resistor]\nohms = 1\n{ACROSS}[part.s.switch]\n{ACROSS}[part.c.capacitor]\nfarads = 1e-6\n{ACROSS}"
    );
    let one =
        |action: &str, told: Told| refused(&format!("{parts}[[at]]\ns = 0.1\n{action}\n"), &[told]);
    one("close = \"t\"", (14, 9, "t", "s", "there is no switch of this name"));
    one("open = \"a\"", (14, 8, "a", "s", "a is a resistor, not a switch"));
    one("set = { part = \"b\", ohms = 3 }", (14, 16, "b", "a", "there is no part of this name"));
    one("set = { part = \"a\" }", (14, 1, "", "ohms", "nothing to set on a resistor"));
    one("set = { part = \"a\", ohm = 3 }", (14, 21, "ohm", "ohms", "no such key here"));
    one("set = { part = \"a\", ohms = 0 }", (14, 28, "0", "0.001 to 1e14", "ohms cannot be 0"));
    one("set = { part = \"c\", volts = 5 }", (14, 21, "volts", "farads", "no such key here"));
    one("charge = { part = \"a\", volts = 5 }", (14, 19, "a", "c", "not a capacitor"));
    one("charge = { part = \"c\" }", (14, 1, "", "volts = -20000 to 20000", "volts is missing"));
    one("lead = { open = \"left\" }", (14, 17, "left", "pos", "no such word here"));
    one("lead = { off = true }", (14, 10, "off", "open", "no such key here"));
    one("lead = {}", (14, 8, "{}", "swap", "one thing happens to the leads"));
    one(
        "lead = { swap = true, short = true }",
        (14, 8, "{ swap = true, short = true }", "swap", "one thing happens to the leads"),
    );
    one("battery_volts = 200", (14, 17, "200", "0 to 20", "battery_volts cannot be 200"));
    one("select = { function = \"amps\" }", (14, 23, "amps", "volts", "no such word here"));
    one(
        "select = { function = \"off\", volts = 3 }",
        (14, 30, "volts", "function = \"insulation\"", "volts belongs to insulation"),
    );
}

#[test]
fn a_fault_is_checked_against_the_registry() {
    let one = |action: &str, told: &[Told]| refused(&format!("[[at]]\ns = 0.1\n{action}\n"), told);
    one("fault = { gate_short = {} }", &[(6, 11, "gate_short", "gate_shorted", "no such fault")]);
    one("fault = {}", &[(6, 9, "{}", "gate_shorted", "one fault is needed")]);
    one("clear = \"gate_shorted\"", &[(6, 9, "gate_shorted", "", "no fault of this name begins")]);
    one(
        "fault = { gate_shorted = { ohms = 1e9, stiky = true } }",
        &[
            (6, 35, "1e9", "0.1 to 1000000", "ohms cannot be 1e9"),
            (6, 40, "stiky", "sticky", "no such key here"),
        ],
    );
    one(
        "fault = { channel_stuck = { channel = \"v3\" } }",
        &[
            (6, 11, "", "volts = -1500 to 1500", "volts is missing"),
            (6, 39, "v3", "v1", "no such word here"),
        ],
    );
}

#[test]
fn a_limit_has_one_side() {
    let one = |limit: &str, told: Told| refused(&format!("limit = {limit}\n"), &[told]);
    let both = "{ at_least_ohms = 1, at_most_ohms = 2 }";
    one(both, (4, 1, "", "at_least_ohms = ..", "exactly one side"));
    one("{ }", (4, 1, "", "at_most_ohms = ..", "exactly one side"));
    one("{ atleast_ohms = 4 }", (4, 11, "atleast_ohms", "at_least_ohms", "no such key here"));
    one("{ at_least_ohms = 0 }", (4, 27, "0", "0.001 to 1e14", "at_least_ohms cannot be 0"));
}

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

#[test]
fn a_sweep_names_one_number_and_goes_somewhere() {
    let one = |line: &str, told: Told| refused(&format!("[sweep]\n{line}\n"), &[told]);
    one("r_ohms = [1, 2]", (5, 1, "r_ohms", "seed", "nothing here has this name"));
    one("seed = 4", (5, 8, "4", "[1, 2]", "a list or a range is needed"));
    one("seed = []", (5, 8, "[]", "[1, 2]", "a sweep needs a value"));
    one("seed = [1.5]", (5, 8, "[1.5]", "whole numbers", "a seed is a whole number"));
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
fn a_text_without_end_is_refused_unread() {
    let text = format!("{HEAD}# {}", "x".repeat(1 << 20));
    let mistakes = read(&text).expect_err("too long");
    assert_eq!(mistakes[0].message, "this text is too long");
}
