//! 0 to 100 ohm behind leads of 0 to 2 ohm, nulled before, contacts made anew since.

use ohmwarden_core::profile::Shunt;
use ohmwarden_sim::scenario::{Action, Button, Function, Lead, Part};
use ohmwarden_sim::world::{Nobody, World};
use ohmwarden_tests::scene::{LEADS, at, part, scene, sort};

use super::instrument::Draw;
use super::{Case, check, judged};

/// What the leads and their contacts may have moved by since the null, ohms (common practice: two
/// contacts of 20 to 50 mohm, and copper that warms up).
const MOVED: f64 = 0.05;
/// The shorting bar that the null is taken on.
const BAR_OHMS: f64 = 1.0e-3;

fn case(number: u64) -> Case {
    let draw = Draw::of(number);
    let (leads, even) = (draw.spread("leads", 0.05, 2.0), draw.even("small") < 0.5);
    let ohms =
        if even { 100.0 * draw.even("ohms").max(1.0e-4) } else { draw.spread("ohms", 0.01, 100.0) };
    let moved = (leads + draw.within("moved", MOVED)).max(0.0);
    let bar = Part::Switch { closed: true, on_ohms: BAR_OHMS, off_ohms: 1.0e12 };
    let mut scenario = scene(9.0, Function::Continuity { amps: 0.2 });
    scenario.seed = number;
    scenario.start.lead_ohms = Some(leads);
    scenario.start.calibration = draw.standing();
    scenario.parts = vec![part("load", LEADS, Part::Resistor { ohms }), part("bar", LEADS, bar)];
    scenario.events = vec![
        at(0.6, Action::Press(Button::Null)),
        at(4.0, Action::Release(Button::Null)),
        at(5.0, Action::Open("bar".into())),
        at(5.0, Action::Lead(Lead::Ohms(moved))),
        at(6.0, Action::Press(Button::Test)),
    ];
    sort(&mut scenario);
    let mut world = World::new(&scenario, &()).expect("a resistor can be solved");
    draw.differ(&mut world, Shunt::Milliamps250);
    let report = world.run(&mut Nobody).expect("a resistor does not diverge");
    let view = report.last.view.expect("the view has been shown");
    // An instrument without calibration refuses to learn a null: the leads are in its reading.
    let nulled = report.last.null_ohms.is_some();
    judged(view.main, if nulled { ohms } else { ohms + moved })
}

#[test]
fn continuity_is_within_its_stated_uncertainty_in_95_percent_of_drawn_cases() {
    check("continuity", case);
}
