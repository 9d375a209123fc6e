//! The faults that can be injected: a catalogue of small named things with parameters.
//!
//! A scenario names a fault and gives its parameters; [`make`] turns that into an [`Effect`], which
//! is plain data: the front end or the world round core applies it and takes it back. The catalogue
//! says for each what a sound instrument does about it.

use crate::scenario::{FaultCall, FaultSpec};

mod catalogue;
mod effect;

pub use catalogue::{CATALOGUE, Entry};
pub use effect::{
    Actuator, Channel, Clock, Effect, LeadFault, Loop, Memory, PanelFault, Sensor, SupplyFault,
};

/// The specs of all faults, as a scenario's reader wants them.
pub const SPECS: &[FaultSpec] = &{
    let mut specs = [CATALOGUE[0].spec; CATALOGUE.len()];
    let mut n = 0;
    while n < CATALOGUE.len() {
        specs[n] = CATALOGUE[n].spec;
        n += 1;
    }
    specs
};

/// Finds a fault in the catalogue.
#[must_use]
pub fn find(name: &str) -> Option<&'static Entry> {
    CATALOGUE.iter().find(|entry| entry.spec.name == name)
}

/// Makes the effect that a call asks for; `None` for a fault that is not in the catalogue.
#[must_use]
pub fn make(call: &FaultCall) -> Option<Effect> {
    find(call.spec.name).map(|entry| (entry.make)(call))
}

#[cfg(test)]
mod tests {
    extern crate std;

    use super::*;
    use crate::scenario::Param;

    #[test]
    fn every_fault_of_the_catalogue_can_be_made_and_names_are_unique() {
        assert!(CATALOGUE.len() >= 30);
        for (n, spec) in SPECS.iter().enumerate() {
            assert!(make(&FaultCall::plain(spec)).is_some(), "{}", spec.name);
            assert!(SPECS[..n].iter().all(|other| other.name != spec.name), "{}", spec.name);
            assert!(spec.sentence.ends_with('.') && CATALOGUE[n].expected.ends_with('.'));
        }
    }

    #[test]
    fn parameters_reach_the_effect() {
        let spec = &find("sensor_gain").map_or(SPECS[0], |entry| entry.spec);
        let spec: &'static FaultSpec = std::boxed::Box::leak(std::boxed::Box::new(*spec));
        let mut call = FaultCall::plain(spec);
        call.params =
            alloc::vec![("channel", Param::Word("v2".into())), ("factor", Param::Number(0.5))];
        let wanted = Sensor::Gain { channel: Channel::V2, factor: 0.5 };
        assert_eq!(make(&call), Some(Effect::Sensor(wanted)));
    }

    #[test]
    fn every_mechanism_is_in_the_catalogue() {
        let has = |want: fn(&Effect) -> bool| {
            SPECS
                .iter()
                .filter_map(|spec| make(&FaultCall::plain(spec)))
                .any(|effect| want(&effect))
        };
        assert!(has(|e| matches!(e, Effect::Actuator(_))));
        assert!(has(|e| matches!(e, Effect::Clock(_))));
        assert!(has(|e| matches!(e, Effect::Lead(_))));
        assert!(has(|e| matches!(e, Effect::Loop(_))));
        assert!(has(|e| matches!(e, Effect::Memory(_))));
        assert!(has(|e| matches!(e, Effect::Panel(_))));
        assert!(has(|e| matches!(e, Effect::Sensor(_))));
        assert!(has(|e| matches!(e, Effect::Supply(_))));
    }
}
