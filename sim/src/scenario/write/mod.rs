//! Writes a scenario as a text that reads back to the same value.

use alloc::format;
use alloc::string::String;
use alloc::vec::Vec;
use core::fmt::Write;

use ohmwarden_core::calibration::Standing;
use ohmwarden_core::correct::Surroundings;
use ohmwarden_core::unit::Temperature;

use super::key::number_text;
use super::sweep::Values;
use super::{Bound, NamedPart, Scenario, Start, StoreSpec, Storm, Sweep};

mod event;
mod expect;

use event::{function_keys, write_event};
use expect::write_expect;

/// Writes the canonical text of a scenario. [`parse`](super::parse) gives the same value back, with
/// the faults and signals that it was read with.
#[must_use]
pub fn write(scenario: &Scenario) -> String {
    let mut out = String::new();
    // Writing to a String cannot fail.
    let _ = write_all(&mut out, scenario);
    out
}

type Done = core::fmt::Result;

fn write_all(out: &mut String, scenario: &Scenario) -> Done {
    writeln!(out, "ohmwarden = 1")?;
    writeln!(out, "why = {}", quoted(&scenario.why))?;
    writeln!(out, "seed = {}", scenario.seed)?;
    writeln!(out, "profile = \"{}\"", scenario.profile.word())?;
    writeln!(out, "samples_per_second = {}", scenario.rate)?;
    writeln!(out, "substeps = {}", scenario.substeps)?;
    writeln!(out, "seconds = {}", number_text(scenario.seconds))?;
    write_limit(out, scenario)?;
    write_start(out, &scenario.start)?;
    for part in &scenario.parts {
        write_part(out, part)?;
    }
    for event in &scenario.events {
        write_event(out, event)?;
    }
    if let Some(sweep) = &scenario.sweep {
        write_sweep(out, sweep)?;
    }
    if let Some(storm) = &scenario.storm {
        write_storm(out, storm)?;
    }
    for expect in &scenario.expects {
        write_expect(out, expect)?;
    }
    Ok(())
}

fn write_limit(out: &mut String, scenario: &Scenario) -> Done {
    let Some(limit) = &scenario.limit else { return Ok(()) };
    let [least, most] = limit.of.keys();
    let (key, number) = match limit.bound {
        Bound::AtLeast(number) => (least, number),
        Bound::AtMost(number) => (most, number),
    };
    let guarded = limit.guarded;
    if let Some(entry) = limit.named {
        return writeln!(out, "limit = {{ named = {}, guarded = {guarded} }}", quoted(entry.word));
    }
    writeln!(out, "limit = {{ {key} = {}, guarded = {guarded} }}", number_text(number))
}

fn write_start(out: &mut String, start: &Start) -> Done {
    writeln!(out, "\n[start]")?;
    for key in function_keys(start.function) {
        writeln!(out, "{key}")?;
    }
    for (key, held) in [
        ("test_held", start.test_held),
        ("null_held", start.null_held),
        ("hold_held", start.hold_held),
    ] {
        if held {
            writeln!(out, "{key} = true")?;
        }
    }
    if let Some(volts) = start.battery_volts {
        writeln!(out, "battery_volts = {}", number_text(volts))?;
    }
    if let Some(ohms) = start.lead_ohms {
        writeln!(out, "lead_ohms = {}", number_text(ohms))?;
    }
    if start.calibration != Standing::Valid {
        writeln!(out, "calibration = \"{}\"", start.calibration.word())?;
    }
    if let Some(StoreSpec { pages, overwrite }) = start.store {
        writeln!(out, "store = {{ pages = {pages}, overwrite = {overwrite} }}")?;
    }
    write_surroundings(out, &start.surroundings)
}

fn write_surroundings(out: &mut String, around: &Surroundings) -> Done {
    let celsius = |t: Temperature| number_text(f64::from(t.as_millicelsius()) / 1.0e3);
    if let Some(temperature) = around.warmth.temperature {
        writeln!(out, "celsius = {}", celsius(temperature))?;
    }
    if let Some(bring) = around.bring {
        writeln!(out, "correct = \"{}\"", bring.rule.word())?;
        writeln!(out, "reference_celsius = {}", celsius(bring.to))?;
    }
    if let Some(pair) = around.pair {
        writeln!(out, "pair = {}", quoted(pair.word))?;
    }
    Ok(())
}

fn write_part(out: &mut String, part: &NamedPart) -> Done {
    writeln!(out, "\n[part.{}.{}]", part.name, part.part.kind())?;
    for (key, value) in part.part.texts() {
        writeln!(out, "{key} = {value}")?;
    }
    let [first, second] = &part.across;
    writeln!(out, "across = [{}, {}]", quoted(first), quoted(second))
}

fn write_sweep(out: &mut String, sweep: &Sweep) -> Done {
    writeln!(out, "\n[sweep]")?;
    for swept in &sweep.names {
        match &swept.values {
            Values::List(list) => {
                let list: Vec<String> = list.iter().map(|value| number_text(*value)).collect();
                writeln!(out, "{} = [{}]", swept.name, list.join(", "))?;
            }
            Values::Range { from, to, step } => {
                let (from, to, step) = (number_text(*from), number_text(*to), number_text(*step));
                let name = &swept.name;
                writeln!(out, "{name} = {{ from = {from}, to = {to}, step = {step} }}")?;
            }
        }
    }
    Ok(())
}

fn write_storm(out: &mut String, storm: &Storm) -> Done {
    let keys: Vec<String> = storm.keys.iter().map(|key| quoted(key.word())).collect();
    writeln!(out, "\n[storm]")?;
    writeln!(out, "events_per_second = {}", number_text(storm.events_per_second))?;
    writeln!(out, "from_s = {}", number_text(storm.from_s))?;
    writeln!(out, "to_s = {}", number_text(storm.to_s))?;
    writeln!(out, "keys = [{}]", keys.join(", "))
}

/// Writes a text in quotes, with what must be escaped.
#[must_use]
pub(super) fn quoted(text: &str) -> String {
    let mut out = String::from("\"");
    for letter in text.chars() {
        match letter {
            '"' => out.push_str("\\\""),
            '\\' => out.push_str("\\\\"),
            '\n' => out.push_str("\\n"),
            '\t' => out.push_str("\\t"),
            letter if letter.is_control() => {
                out.push_str(&format!("\\u{:04X}", u32::from(letter)));
            }
            letter => out.push(letter),
        }
    }
    out.push('"');
    out
}
