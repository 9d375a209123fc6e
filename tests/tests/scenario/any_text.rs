//! Draws a scenario's text, step by step, from numbers that proptest made.

use core::fmt::{Error, Write};

use ohmwarden_core::correct::{PAIRS, Rule};
use ohmwarden_sim::scenario::{Button, KINDS, Key, LimitOf, TIMED_WORDS, Takes};
use ohmwarden_tests::small_world::FAULTS;

/// Draws choices from numbers that proptest made, so that a text can be built step by step.
pub(crate) struct Tape<'a> {
    pub(crate) numbers: &'a [u32],
    pub(crate) next: usize,
}

impl Tape<'_> {
    fn number(&mut self) -> u32 {
        let number = self.numbers[self.next % self.numbers.len()];
        self.next += 1;
        number.wrapping_add(self.next as u32 / 7)
    }

    fn below(&mut self, count: usize) -> usize {
        self.number() as usize % count
    }

    fn one<'v, T>(&mut self, values: &'v [T]) -> &'v T {
        let place = self.below(values.len());
        &values[place]
    }

    fn flag(&mut self) -> bool {
        self.below(2) == 1
    }

    /// A number of a range: an end, a plain one, or any bits in between.
    fn inside(&mut self, least: f64, greatest: f64) -> f64 {
        let part = f64::from(self.number()) / f64::from(u32::MAX);
        let value = match self.below(4) {
            0 => least,
            1 => greatest,
            2 if least > 0.0 => (least.ln() + part * (greatest.ln() - least.ln())).exp(),
            _ => least + part * (greatest - least),
        };
        value.clamp(least, greatest)
    }

    fn text(&mut self) -> String {
        let letters = ['a', ' ', '"', '\\', '\n', '\t', 'µ', '\u{1}', '\'', '#', '\u{7f}', '\r'];
        let count = 1 + self.below(6);
        (0..count).map(|_| *self.one(&letters)).collect()
    }
}

/// Writes a text as a TOML literal by the escapes of TOML, apart from the writer under test.
fn literal(text: &str) -> String {
    let letters: String = text.chars().map(|c| format!("\\U{:08X}", u32::from(c))).collect();
    format!("\"{letters}\"")
}

fn value_text(key: &Key, tape: &mut Tape<'_>) -> String {
    match key.takes {
        Takes::Number { least, greatest, .. } => {
            // Values of one part that must fit together are drawn from ranges that do.
            let (least, greatest) = match key.name {
                "width_s" => (least, 1.0),
                "period_s" => (1.5, greatest),
                "arc_volts" => (least, 0.9),
                "on_ohms" => (least, 999.0),
                _ => (least, greatest),
            };
            format!("{:e}", tape.inside(least, greatest))
        }
        Takes::Flag { .. } => tape.flag().to_string(),
        Takes::Text => literal(&tape.text()),
        Takes::Word { accepted, .. } => literal(tape.one::<&str>(accepted)),
        Takes::Harmonics => {
            let one = |tape: &mut Tape<'_>| {
                let (order, fraction) = (2 + tape.below(99), tape.inside(0.0, 2.0));
                format!("{{ order = {order}, fraction = {fraction:e} }}")
            };
            let list: Vec<String> = (0..tape.below(3)).map(|_| one(tape)).collect();
            format!("[{}]", list.join(", "))
        }
    }
}

/// Writes the keys of a table: those that are needed, and some of the others.
fn keys_text(keys: &[Key], tape: &mut Tape<'_>) -> Vec<String> {
    let mut lines = Vec::new();
    for key in keys {
        let needed = matches!(
            key.takes,
            Takes::Number { default: None, .. } | Takes::Word { default: None, .. } | Takes::Text
        );
        if needed || tape.flag() {
            lines.push(format!("{} = {}", key.name, value_text(key, tape)));
        }
    }
    lines
}

const EXPRESSIONS: [&str; 6] = [
    "gate.open",
    "!source.off && leads.volts > 50 V",
    "reading.value in 24.5..25.5 Mohm || state is rest",
    "source.amps <= 0.05 mA",
    "(reading.gain < 2 %)",
    "view.age == 5 ms",
];

fn function_text(tape: &mut Tape<'_>) -> String {
    match tape.below(5) {
        0 => "function = \"off\"".into(),
        1 => "function = \"volts\"".into(),
        2 => format!("function = \"continuity\", amps = {:e}", tape.inside(0.001, 0.2)),
        3 => "function = \"resistance\"".into(),
        _ => {
            let timed = tape.one(&TIMED_WORDS);
            let volts = tape.inside(1.0, 1000.0);
            format!("function = \"insulation\", volts = {volts:e}, timed = \"{timed}\"")
        }
    }
}

/// What the instrument is told of the surroundings.
fn around_text(tape: &mut Tape<'_>) -> String {
    let mut lines = Vec::new();
    if tape.flag() {
        lines.push(format!("celsius = {:e}", tape.inside(-100.0, 200.0)));
    }
    if tape.flag() {
        lines.push(format!("correct = \"{}\"", tape.one(&Rule::ALL).word()));
        let celsius = if tape.flag() { 20.0 } else { tape.inside(-100.0, 200.0) };
        lines.push(format!("reference_celsius = {celsius:e}"));
    }
    if tape.flag() {
        lines.push(format!("pair = \"{}\"", tape.one(&PAIRS).word));
    }
    lines.join("\n")
}

/// One action on what every text below has: `switch_0`, `store_0`, `source_0`, a store of records.
fn action_text(tape: &mut Tape<'_>, begun: &mut bool) -> String {
    let button = *tape.one(&Button::WORDS);
    let number = tape.inside(0.5, 19.0);
    match tape.below(17) {
        0 => "close = \"switch_0\"".into(),
        1 => "open = \"switch_0\"".into(),
        2 => format!("press = \"{button}\""),
        3 => format!("release = \"{button}\""),
        4 => format!("tap = \"{button}\""),
        5 => format!("select = {{ {} }}", function_text(tape)),
        6 => format!("set = {{ part = \"source_0\", volts = {number:e} }}"),
        7 => format!("charge = {{ part = \"store_0\", volts = -{number:e} }}"),
        8 => "reset = true".into(),
        9 => format!("battery_volts = {number:e}"),
        10 => format!("lead = {{ open = \"{}\" }}", tape.one(&["pos", "neg"])),
        11 => format!("lead = {{ {} = {} }}", tape.one(&["swap", "short"]), tape.flag()),
        12 => format!("lead = {{ ohms = {number:e} }}"),
        13 => format!("cut_power_in_write = {}", tape.below(1_000_001)),
        14 => format!("overwrite = {}", tape.flag()),
        15 if *begun => format!("clear = \"{}\"", FAULTS[0].name),
        _ => {
            *begun = true;
            let params = keys_text(FAULTS[0].params, tape).join(", ");
            format!("fault = {{ {} = {{ {params} }} }}", FAULTS[0].name)
        }
    }
}

fn expect_text(tape: &mut Tape<'_>, labels: usize) -> String {
    let (that, other) = (*tape.one(&EXPRESSIONS), *tape.one(&EXPRESSIONS));
    let label = tape.below(labels);
    let stays = if tape.flag() { ", stays = true" } else { "" };
    // Every label is in the first half of the run.
    let s = tape.inside(0.0, 0.5);
    match tape.below(6) {
        0 => format!("within = {{ after = \"l{label}\", s = {s:e}, that = \"{that}\"{stays} }}"),
        1 => format!("eventually = {{ s = {s:e}, that = \"{that}\"{stays} }}"),
        2 => format!("at = {{ s = {s:e}, after = \"l{label}\", that = \"{that}\" }}"),
        3 => format!("until = {{ hold = \"{that}\", until = \"{other}\" }}"),
        4 => format!("never = \"{that}\"\nafter = \"l{label}\""),
        _ => {
            format!("always = \"{that}\"\nbefore = \"l{label}\"\nnote = {}", literal(&tape.text()))
        }
    }
}

pub(crate) fn any_text(tape: &mut Tape<'_>) -> Result<String, Error> {
    let mut out = String::new();
    writeln!(out, "ohmwarden = 1\nseconds = 1\nwhy = {}", literal(&tape.text()))?;
    writeln!(out, "seed = {}", (u64::from(tape.number()) << 32) | u64::from(tape.number()))?;
    writeln!(out, "samples_per_second = {}", 1_000 + tape.below(99_000))?;
    writeln!(out, "profile = \"{}\"", tape.one(&["general", "telecom", "low_voltage", "wet"]))?;
    let around = around_text(tape);
    if around.contains("reference_celsius = 2e1") && tape.flag() {
        let guarded = tape.flag();
        let word = tape.one(&["apparatus_250v", "apparatus_600v", "installation_500v"]);
        writeln!(out, "limit = {{ named = \"{word}\", guarded = {guarded} }}")?;
    } else if tape.flag() {
        let sides = LimitOf::ALL.map(LimitOf::keys).concat();
        let side = tape.one(&sides);
        let (ohms, guarded) = (tape.inside(1.0e-3, 1.0e14), tape.flag());
        writeln!(out, "limit = {{ {side} = {ohms:e}, guarded = {guarded} }}")?;
    }
    let function = function_text(tape).replace(", ", "\n");
    writeln!(out, "[start]\n{function}\nhold_held = {}\n{around}", tape.flag())?;
    let (pages, overwrite) = (3 + tape.below(62), tape.flag());
    writeln!(out, "store = {{ pages = {pages}, overwrite = {overwrite} }}")?;
    let across = "across = [\"lead.pos\", \"ground\"]";
    writeln!(out, "[part.switch_0.switch]\n{across}\n[part.store_0.capacitor]\nfarads = 1e-9")?;
    writeln!(out, "{across}\n[part.source_0.dc]\nvolts = 9\n{across}")?;
    for place in 0..tape.below(6) {
        let kind = tape.one(KINDS);
        writeln!(out, "[part.p{place}.{}]\n{across}", kind.name)?;
        writeln!(out, "{}", keys_text(kind.keys, tape).join("\n"))?;
    }
    let labels = 1 + tape.below(5);
    let mut begun = false;
    for label in 0..labels {
        let s = label as f64 / 10.0 + tape.inside(0.0, 0.09);
        writeln!(
            out,
            "[[at]]\ns = {s:e}\nlabel = \"l{label}\"\n{}",
            action_text(tape, &mut begun)
        )?;
    }
    if tape.flag() {
        writeln!(out, "[sweep]\nl0_s = [0, {:e}]", tape.inside(0.0, 0.5))?;
        writeln!(out, "source_0_volts = {{ from = -3, to = 7.5, step = 0.7 }}")?;
    }
    if tape.flag() {
        let keys = tape.one(&["\"test\"", "\"null\", \"select\"", "\"hold\""]);
        let rate = tape.inside(0.01, 400.0);
        writeln!(out, "[storm]\nevents_per_second = {rate:e}\nto_s = 0.75\nkeys = [{keys}]")?;
    }
    for _ in 0..tape.below(4) {
        writeln!(out, "[[expect]]\n{}", expect_text(tape, labels))?;
    }
    Ok(out)
}
