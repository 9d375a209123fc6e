//! 100 kohm to 200 Gohm with up to 5 uF beside it, at every test voltage.

use ohmwarden_core::measure::Ranger;
use ohmwarden_core::unit::Current;
use ohmwarden_sim::scenario::{Action, Button};
use ohmwarden_sim::world::{Nobody, World};
use ohmwarden_tests::scene::{at, insulation, load, scene};

use super::instrument::Draw;
use super::{Case, check, judged};

/// Long enough to charge 5 uF at 1 kV, to find the range, and for three readings that agree.
const SECONDS: f64 = 9.0;
const VOLTS: [f64; 5] = [50.0, 100.0, 250.0, 500.0, 1_000.0];

fn case(number: u64) -> Case {
    let draw = Draw::of(number);
    let ohms = draw.spread("ohms", 1.0e5, 2.0e11);
    let farads =
        if draw.even("store") < 0.3 { 0.0 } else { draw.spread("farads", 1.0e-10, 5.0e-6) };
    let volts = VOLTS[(draw.even("volts") * 5.0) as usize];
    let mut scenario = scene(SECONDS, insulation(volts));
    scenario.seed = number;
    scenario.start.calibration = draw.standing();
    scenario.parts = load(ohms, farads);
    scenario.events.push(at(0.5, Action::Press(Button::Test)));
    let mut world = World::new(&scenario, &()).expect("a resistor and a capacitor can be solved");
    let picoamps = (volts / ohms).min(1.8e-3) * 1.0e12;
    let range = Ranger::INSULATION.settled(Current::from_picoamps(picoamps as i64));
    draw.differ(&mut world, range);
    let report = world.run(&mut Nobody).expect("such a circuit does not diverge");
    let view = report.last.view.expect("the view has been shown");
    judged(view.main, ohms)
}

#[test]
fn insulation_is_within_its_stated_uncertainty_in_95_percent_of_drawn_cases() {
    check("insulation", case);
}
