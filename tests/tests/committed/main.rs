//! Goal: what becomes of a committed reading is told whole: corrected, placed, kept as a record.
//!
//! Method: circuits whose resistance, capacitance and loop are known to the netlist are measured by
//! core through the simulated front end, with surroundings that core is told. Factors and lengths
//! are the published ones that `tests/tests/published` names.

mod corrected;
mod placed;
mod recorded;

use ohmwarden_core::correct::{Bring, Rule, Surroundings, Warmth};
use ohmwarden_core::record::Record;
use ohmwarden_core::unit::Temperature;
use ohmwarden_core::view::View;
use ohmwarden_sim::scenario::Scenario;
use ohmwarden_sim::world::{Observer, Snapshot, World};

/// Runs to the end; gives the last view and the record under this number.
fn end(scenario: &Scenario, serial: u32) -> (View, Option<Record>) {
    let mut world = World::new(scenario, &()).expect("a circuit that can be solved");
    let mut view = View::BLANK;
    while world.seconds() < scenario.seconds {
        world.step(&mut Look(&mut view)).expect("an operating point");
    }
    let record = world.instrument().record(serial);
    (view, record.map(|record| record.expect("a record can hold it")))
}

/// Keeps the last view.
struct Look<'a>(&'a mut View);

impl Observer for Look<'_> {
    fn sample(&mut self, now: &Snapshot) {
        *self.0 = now.view.unwrap_or(View::BLANK);
    }
}

/// A temperature that is known, and a rule that brings readings to 20 C.
fn around(celsius: Option<i32>, rule: Rule) -> Surroundings {
    let temperature = celsius.map(Temperature::from_celsius);
    let warmth = Warmth { temperature, doubt: Temperature::from_celsius(1), ..Warmth::default() };
    let to = Temperature::from_celsius(20);
    Surroundings { warmth, bring: Some(Bring { rule, to }), pair: None }
}
