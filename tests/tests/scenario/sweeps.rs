//! Sweeps: the full product, each case with its values in place.

use ohmwarden_sim::scenario::{Action, CASES_MAX, Function, Part, Values};

use crate::good;

const SWEPT: &str = r#"
ohmwarden = 1
why = "w"
seconds = 2
[start]
function = "insulation"
volts = 500
[part.mains.sine]
volts_rms = 230
hertz = 50
across = ["lead.pos", "lead.neg"]
[[at]]
s = 0.5
label = "arrive"
set = { part = "mains", volts_rms = 100 }
[[at]]
s = 0.7
label = "broken"
fault = { gate_shorted = {} }
[sweep]
mains_phase_deg = { from = 0, to = 90, step = 30 }
arrive_s = [0.5, 0.9]
arrive_volts_rms = [25, 50]
broken_ohms = [1]
start_volts = [250]
seed = [11]
"#;

#[test]
fn a_sweep_is_the_full_product_and_its_last_name_runs_fastest() {
    let scenario = good(SWEPT);
    assert_eq!(scenario.case_count(), 16);
    let cases: Vec<_> = scenario.cases().collect();
    assert_eq!(cases.len(), 16);
    let names: Vec<&str> = cases[0].0.iter().map(|(name, _)| name.as_str()).collect();
    let expected =
        ["mains_phase_deg", "arrive_s", "arrive_volts_rms", "broken_ohms", "start_volts", "seed"];
    assert_eq!(names, expected);
    let three = |place: usize| cases[place].0.iter().take(3).map(|(_, v)| *v).collect::<Vec<_>>();
    assert_eq!(three(0), [0.0, 0.5, 25.0]);
    assert_eq!(three(1), [0.0, 0.5, 50.0]);
    assert_eq!(three(2), [0.0, 0.9, 25.0]);
    assert_eq!(three(15), [90.0, 0.9, 50.0]);
    assert_eq!(scenario.case(16).0, cases[0].0);
}

#[test]
fn a_case_has_its_values_in_place_and_its_events_in_order() {
    let scenario = good(SWEPT);
    let (_, case) = scenario.case(15);
    assert_eq!(case.sweep, None);
    assert_eq!(case.seed, 11);
    let Part::Sine { phase_deg, volts_rms, .. } = &case.parts[0].part else { panic!("a sine") };
    assert_eq!((*phase_deg, *volts_rms), (90.0, 230.0));
    let Function::Insulation { volts, .. } = case.start.function else { panic!("insulation") };
    assert_eq!(volts, 250.0);
    // The arrival moved behind the fault.
    assert_eq!(case.labels(), ["broken", "arrive"]);
    assert_eq!(case.events[1].s, 0.9);
    let Action::Set { values, .. } = &case.events[1].action else { panic!("a set") };
    assert_eq!(values, &[("volts_rms".to_string(), 50.0)]);
    let Action::Fault(call) = &case.events[0].action else { panic!("a fault") };
    assert_eq!(call.number("ohms"), Some(1.0));
}

#[test]
fn a_scenario_without_a_sweep_is_one_case() {
    let mut scenario = good(SWEPT);
    scenario.sweep = None;
    let cases: Vec<_> = scenario.cases().collect();
    assert_eq!(cases.len(), 1);
    assert_eq!(cases[0], (Vec::new(), scenario));
}

#[test]
fn a_range_ends_on_its_end_and_not_beyond() {
    let values = |from: f64, to: f64, step: f64| {
        let range = Values::Range { from, to, step };
        (0..range.count()).filter_map(|place| range.get(place)).collect::<Vec<f64>>()
    };
    assert_eq!(values(0.0, 345.0, 15.0).len(), 24);
    assert_eq!(values(0.0, 345.0, 15.0).last(), Some(&345.0));
    assert_eq!(values(0.0, 0.3, 0.1).last(), Some(&0.3));
    assert_eq!(values(0.0, 0.35, 0.1).len(), 4);
    assert_eq!(values(3.0, 1.0, -1.0), [3.0, 2.0, 1.0]);
    assert_eq!(values(2.0, 2.0, 1.0), [2.0]);
    assert_eq!(values(0.0, CASES_MAX as f64, 1.0).len(), 0);
}

#[test]
fn labels_come_in_the_order_of_their_moments() {
    let case = good(SWEPT).case(15).1;
    let fired: Vec<(usize, f64)> = case.fired().iter().map(|f| (f.label, f.seconds)).collect();
    assert_eq!(fired, [(0, 0.7), (1, 0.9)]);
    assert_eq!(case.moment_of("arrive"), Some(0.9));
    assert_eq!(case.moment_of("nothing"), None);
}
