//! What a scenario lets happen, in the words of its own text.

use ohmwarden_sim::scenario::{Action, FaultCall, Function, Lead, Param};

use crate::layout::quantity;

/// Says what happens, as short as the text that asked for it.
pub(crate) fn told(action: &Action) -> String {
    match action {
        Action::BatteryVolts(volts) => format!("battery at {}", quantity(*volts, "V")),
        Action::Charge { part, volts } => format!("charge {part} to {}", quantity(*volts, "V")),
        Action::Clear(fault) => format!("fault {fault} ends"),
        Action::Close(switch) => format!("close {switch}"),
        Action::CutPowerInWrite(operations) => {
            format!("the power goes after {operations} operations of the flash")
        }
        Action::Fault(call) => fault(call),
        Action::Lead(lead) => self::lead(lead),
        Action::Open(switch) => format!("open {switch}"),
        Action::Overwrite(true) => "overwriting allowed".to_owned(),
        Action::Overwrite(false) => "overwriting forbidden".to_owned(),
        Action::Press(button) => format!("press {}", button.word()),
        Action::Release(button) => format!("release {}", button.word()),
        Action::Reset => "reset".to_owned(),
        Action::Select(function) => format!("select {}", selected(*function)),
        Action::Set { part, values } => {
            let values: Vec<String> =
                values.iter().map(|(key, value)| format!("{key} = {value}")).collect();
            format!("set {part} {}", values.join(", "))
        }
        Action::Tap(button) => format!("tap {}", button.word()),
    }
}

fn fault(call: &FaultCall) -> String {
    let param = |(name, value): &(&str, Param)| match value {
        Param::Number(number) => format!("{name} = {number}"),
        Param::Flag(flag) => format!("{name} = {flag}"),
        Param::Word(word) => format!("{name} = {word}"),
    };
    let params: Vec<String> = call.params.iter().map(param).collect();
    let gap = if params.is_empty() { "" } else { ": " };
    format!("fault {}{gap}{}", call.spec.name, params.join(", "))
}

fn lead(lead: &Lead) -> String {
    match lead {
        Lead::Open(side) => format!("lead {} off", side.word()),
        Lead::Join(side) => format!("lead {} on", side.word()),
        Lead::Ohms(ohms) => format!("leads of {}", quantity(*ohms, "ohm")),
        Lead::Short(true) => "leads together".to_owned(),
        Lead::Short(false) => "leads apart".to_owned(),
        Lead::Swap(true) => "leads swapped".to_owned(),
        Lead::Swap(false) => "leads back".to_owned(),
    }
}

fn selected(function: Function) -> String {
    match function {
        Function::Insulation { volts, .. } => format!("insulation {}", quantity(volts, "V")),
        Function::Continuity { amps } => format!("continuity {}", quantity(amps, "A")),
        Function::Off | Function::Resistance | Function::Volts => function.word().to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use ohmwarden_sim::scenario::{Button, Side};

    use super::*;

    #[test]
    fn actions_read_as_they_were_asked_for() {
        let insulation = Function::Insulation { volts: 500.0, timed: None };
        for (action, text) in [
            (Action::Press(Button::Test), "press test"),
            (Action::Overwrite(true), "overwriting allowed"),
            (Action::CutPowerInWrite(37.0), "the power goes after 37 operations of the flash"),
            (Action::Select(insulation), "select insulation 500 V"),
            (Action::Lead(Lead::Open(Side::Pos)), "lead pos off"),
            (
                Action::Set { part: "mains".to_owned(), values: vec![("hertz".to_owned(), 60.0)] },
                "set mains hertz = 60",
            ),
            (
                Action::Charge { part: "cable".to_owned(), volts: -1_000.0 },
                "charge cable to -1.00 kV",
            ),
        ] {
            assert_eq!(told(&action), text);
        }
    }
}
