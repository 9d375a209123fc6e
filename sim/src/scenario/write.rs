//! Writes a scenario as a text that reads back to the same value.

use alloc::format;
use alloc::string::String;
use alloc::vec::Vec;
use core::fmt::Write;

use super::event::{Action, Event, Function, Lead};
use super::fault::{FaultCall, Param};
use super::key::number_text;
use super::sweep::Values;
use super::{Bound, NamedPart, Scenario, Start, Storm, Sweep};
use crate::expect::{Expect, Expression, Rule, Span, Stays};

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
    let mut keys = alloc::vec![match limit.bound {
        Bound::AtLeast(ohms) => format!("at_least_ohms = {}", number_text(ohms)),
        Bound::AtMost(ohms) => format!("at_most_ohms = {}", number_text(ohms)),
    }];
    let percent = limit.uncertainty_percent;
    keys.extend(percent.map(|p| format!("uncertainty_percent = {}", number_text(p))));
    keys.extend(limit.uncertainty_ohms.map(|o| format!("uncertainty_ohms = {}", number_text(o))));
    keys.push(format!("guarded = {}", limit.guarded));
    writeln!(out, "limit = {{ {} }}", keys.join(", "))
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
    Ok(())
}

fn function_keys(function: Function) -> Vec<String> {
    let mut keys = alloc::vec![format!("function = \"{}\"", function.word())];
    match function {
        Function::Insulation { volts, timed } => {
            keys.push(format!("volts = {}", number_text(volts)));
            keys.push(format!("timed = \"{}\"", timed.word()));
        }
        Function::Continuity { amps } => keys.push(format!("amps = {}", number_text(amps))),
        Function::Off | Function::Resistance | Function::Volts => {}
    }
    keys
}

fn write_part(out: &mut String, part: &NamedPart) -> Done {
    writeln!(out, "\n[part.{}.{}]", part.name, part.part.kind())?;
    for (key, value) in part.part.texts() {
        writeln!(out, "{key} = {value}")?;
    }
    let [first, second] = &part.across;
    writeln!(out, "across = [{}, {}]", quoted(first), quoted(second))
}

fn write_event(out: &mut String, event: &Event) -> Done {
    writeln!(out, "\n[[at]]\ns = {}", number_text(event.s))?;
    if let Some(label) = &event.label {
        writeln!(out, "label = {}", quoted(label))?;
    }
    writeln!(out, "{}", action_text(&event.action))
}

fn action_text(action: &Action) -> String {
    match action {
        Action::BatteryVolts(volts) => format!("battery_volts = {}", number_text(*volts)),
        Action::Charge { part, volts } => {
            format!("charge = {{ part = {}, volts = {} }}", quoted(part), number_text(*volts))
        }
        Action::Clear(name) => format!("clear = {}", quoted(name)),
        Action::Close(name) => format!("close = {}", quoted(name)),
        Action::Fault(call) => format!("fault = {}", fault_text(call)),
        Action::Lead(lead) => format!("lead = {{ {} }}", lead_text(*lead)),
        Action::Open(name) => format!("open = {}", quoted(name)),
        Action::Press(button) => format!("press = \"{}\"", button.word()),
        Action::Release(button) => format!("release = \"{}\"", button.word()),
        Action::Reset => "reset = true".into(),
        Action::Select(function) => {
            format!("select = {{ {} }}", function_keys(*function).join(", "))
        }
        Action::Set { part, values } => {
            let values: Vec<String> = values
                .iter()
                .map(|(key, value)| format!("{key} = {}", number_text(*value)))
                .collect();
            format!("set = {{ part = {}, {} }}", quoted(part), values.join(", "))
        }
        Action::Tap(button) => format!("tap = \"{}\"", button.word()),
    }
}

fn fault_text(call: &FaultCall) -> String {
    let params: Vec<String> = call
        .params
        .iter()
        .map(|(key, value)| match value {
            Param::Number(number) => format!("{key} = {}", number_text(*number)),
            Param::Flag(flag) => format!("{key} = {flag}"),
            Param::Word(word) => format!("{key} = {}", quoted(word)),
        })
        .collect();
    format!("{{ {} = {{ {} }} }}", call.spec.name, params.join(", "))
}

fn lead_text(lead: Lead) -> String {
    match lead {
        Lead::Open(side) => format!("open = \"{}\"", side.word()),
        Lead::Join(side) => format!("join = \"{}\"", side.word()),
        Lead::Ohms(ohms) => format!("ohms = {}", number_text(ohms)),
        Lead::Short(short) => format!("short = {short}"),
        Lead::Swap(swap) => format!("swap = {swap}"),
    }
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

fn write_expect(out: &mut String, expect: &Expect) -> Done {
    writeln!(out, "\n[[expect]]")?;
    if !expect.note.is_empty() {
        writeln!(out, "note = {}", quoted(&expect.note))?;
    }
    let that = |that: &Expression| format!("that = {}", quoted(that.text()));
    match &expect.rule {
        Rule::Always(that, span) => {
            writeln!(out, "always = {}", quoted(that.text()))?;
            write_span(out, span)
        }
        Rule::Never(that, span) => {
            writeln!(out, "never = {}", quoted(that.text()))?;
            write_span(out, span)
        }
        Rule::At { s, after, that: what } => {
            let mut keys = alloc::vec![format!("s = {}", number_text(*s)), that(what)];
            keys.extend(after.as_ref().map(|label| format!("after = {}", quoted(label))));
            writeln!(out, "at = {{ {} }}", keys.join(", "))
        }
        Rule::Eventually { s, that: what, stays } => {
            let mut keys = alloc::vec![format!("s = {}", number_text(*s)), that(what)];
            keys.extend(stays_keys(stays));
            writeln!(out, "eventually = {{ {} }}", keys.join(", "))
        }
        Rule::Within { after, s, that: what, stays } => {
            let mut keys = alloc::vec![format!("after = {}", quoted(after))];
            keys.extend([format!("s = {}", number_text(*s)), that(what)]);
            keys.extend(stays_keys(stays));
            writeln!(out, "within = {{ {} }}", keys.join(", "))
        }
        Rule::Until { hold, until } => {
            let (hold, until) = (quoted(hold.text()), quoted(until.text()));
            writeln!(out, "until = {{ hold = {hold}, until = {until} }}")
        }
    }
}

fn write_span(out: &mut String, span: &Span) -> Done {
    for (key, label) in [("after", &span.after), ("before", &span.before)] {
        if let Some(label) = label {
            writeln!(out, "{key} = {}", quoted(label))?;
        }
    }
    Ok(())
}

fn stays_keys(stays: &Stays) -> Vec<String> {
    match stays {
        Stays::No => Vec::new(),
        Stays::ToEnd => alloc::vec!["stays = true".into()],
        Stays::UntilLabel(label) => {
            alloc::vec!["stays = true".into(), format!("until = {}", quoted(label))]
        }
    }
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
