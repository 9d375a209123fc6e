//! Writes events.

use alloc::format;
use alloc::string::String;
use alloc::vec::Vec;
use core::fmt::Write;

use super::super::event::{Action, Event, Function, Lead, timed_word};
use super::super::fault::{FaultCall, Param};
use super::super::key::number_text;
use super::{Done, quoted};

/// Writes a function as the keys of a table.
pub(super) fn function_keys(function: Function) -> Vec<String> {
    let mut keys = alloc::vec![format!("function = \"{}\"", function.word())];
    match function {
        Function::Insulation { volts, timed } => {
            keys.push(format!("volts = {}", number_text(volts)));
            keys.push(format!("timed = \"{}\"", timed_word(timed)));
        }
        Function::Continuity { amps } => keys.push(format!("amps = {}", number_text(amps))),
        Function::Off | Function::Resistance | Function::Volts => {}
    }
    keys
}

/// Writes one `[[at]]`.
pub(super) fn write_event(out: &mut String, event: &Event) -> Done {
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
        Action::CutPowerInWrite(operations) => {
            format!("cut_power_in_write = {}", number_text(*operations))
        }
        Action::Fault(call) => format!("fault = {}", fault_text(call)),
        Action::Lead(lead) => format!("lead = {{ {} }}", lead_text(*lead)),
        Action::Open(name) => format!("open = {}", quoted(name)),
        Action::Overwrite(allowed) => format!("overwrite = {allowed}"),
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
