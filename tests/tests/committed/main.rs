//! Goal: what becomes of a committed reading is told whole: corrected, placed, kept as a record.
//!
//! Method: circuits whose resistance, capacitance and loop are known to the netlist are measured by
//! core through the simulated front end, with surroundings that core is told. Factors and lengths
//! are the published ones that `tests/tests/published` names.

mod corrected;
mod placed;
mod recorded;

use ohmwarden_core::correct::{
    Bring, Corrected, Located, NoCorrection, NoDistance, Rule, Surroundings, Warmth,
};
use ohmwarden_core::record::Record;
use ohmwarden_core::unit::Temperature;
use ohmwarden_core::view::View;
use ohmwarden_sim::scenario::Scenario;
use ohmwarden_sim::world::{Observer, Snapshot, World};

/// What is shown at the end of a run.
#[derive(Debug)]
struct Shown {
    view: View,
    corrected: Option<Result<Corrected, NoCorrection>>,
    distance: Option<Result<Located, NoDistance>>,
}

/// Runs to the end; gives what is shown and the record under this number.
fn end(scenario: &Scenario, serial: u32) -> (Shown, Option<Record>) {
    let mut world = World::new(scenario, &()).expect("a circuit that can be solved");
    let mut view = View::BLANK;
    while world.seconds() < scenario.seconds {
        world.step(&mut Look(&mut view)).expect("an operating point");
    }
    let instrument = world.instrument();
    let (corrected, distance) = (instrument.corrected(), instrument.distance());
    let record = instrument.record(serial);
    let record = record.map(|record| record.expect("a record can hold it"));
    (Shown { view, corrected, distance }, record)
}

/// Keeps the last view.
struct Look<'a>(&'a mut View);

impl Observer for Look<'_> {
    fn sample(&mut self, now: &Snapshot) {
        *self.0 = now.view.unwrap_or(View::BLANK);
    }
}

impl core::ops::Deref for Shown {
    type Target = View;
    fn deref(&self) -> &View {
        &self.view
    }
}

/// A temperature that is known, and a rule that brings readings to 20 C.
fn around(celsius: Option<i32>, rule: Rule) -> Surroundings {
    let temperature = celsius.map(Temperature::from_celsius);
    let warmth = Warmth { temperature, doubt: Temperature::from_celsius(1), ..Warmth::default() };
    let to = Temperature::from_celsius(20);
    Surroundings { warmth, bring: Some(Bring { rule, to }), pair: None }
}
