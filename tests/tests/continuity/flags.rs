//! What a reading says of itself: an EMF, a junction, too little current, a null of other leads.

use ohmwarden_core::judge::{Flags, Reading, Unit, Value, Verdict};

use crate::{NULLED, PRESS, read, resistor, run, text};

fn ohms(reading: &Reading) -> f64 {
    match reading.value {
        Value::Number(x) => f64::from(x),
        other => panic!("{other:?}"),
    }
}

/// A resistor with a part in series with it.
fn beside(ohms: f64, kind: &str, keys: &str) -> String {
    format!(
        r#"
[part.other.{kind}]
{keys}
across = ["lead.pos", "middle"]
[part.load.resistor]
ohms = {ohms}
across = ["middle", "lead.neg"]
"#
    )
}

#[test]
fn a_thermal_emf_in_the_leads_changes_the_reading_by_less_than_its_doubt() {
    // 20 mV are a hundred times what a copper to steel contact makes over 20 K.
    for load in [0.5, 1.0, 10.0] {
        let (plain, verdict) =
            read(&text(0.1, 5.0, &(beside(load, "dc", "volts = 0\nohms = 0.001") + PRESS)));
        assert_eq!(verdict, Verdict::Pass, "{load} ohm");
        for volts in [0.02, -0.02] {
            let keys = format!("volts = {volts}\nohms = 0.001");
            let (emf, verdict) = read(&text(0.1, 5.0, &(beside(load, "dc", &keys) + PRESS)));
            let moved = ohms(&emf) - ohms(&plain);
            println!("{load} ohm, {volts} V: {:.2} mohm", moved * 1.0e3);
            assert!(moved.abs() < f64::from(plain.doubt), "{load} ohm, {volts} V: {moved} ohm");
            assert_ne!(verdict, Verdict::Fail, "{load} ohm, {volts} V");
        }
    }
}

#[test]
fn a_diode_is_flagged_asymmetric_and_never_passed() {
    let (reading, verdict) = read(&text(0.1, 5.0, &(beside(1.0, "diode", "volts = 0.7") + PRESS)));
    assert!(reading.flags.any(Flags::ASYMMETRIC), "{reading:?}");
    assert!(matches!(verdict, Verdict::Undecided(_)), "{verdict:?}");
    // A diode across 10 ohm: 3.5 ohm one way, 10 ohm the other.
    let across = "[part.d.diode]\nvolts = 0.7\nacross = [\"lead.pos\", \"lead.neg\"]\n";
    let (reading, verdict) = read(&text(0.1, 5.0, &(resistor(10.0) + across + PRESS)));
    assert!(reading.flags.any(Flags::ASYMMETRIC), "{reading:?}");
    assert!(matches!(verdict, Verdict::Undecided(_)), "{verdict:?}");
}

#[test]
fn a_current_below_200_ma_is_flagged_and_never_passed() {
    // 5 V through 1.75 ohm of our own, the sense resistor among it, and 0.1 ohm of leads: 200 mA
    // flow through 23.15 ohm, 150 mA through 31.5 ohm. The limit of 100 ohm is met by far.
    for (load, milliamps, low) in [(1.0, 210.0, false), (22.5, 205.3, false), (31.5, 149.9, true)] {
        let text = text(0.1, 5.0, &(resistor(load) + PRESS));
        let (reading, verdict) = read(&text);
        let flows = shown_amps(&text) * 1.0e3;
        assert!((flows - milliamps).abs() < 0.02 * milliamps, "{load} ohm: {flows} mA");
        assert_eq!(reading.flags.any(Flags::LOW_CURRENT), low, "{load} ohm: {reading:?}");
        assert!((ohms(&reading) - load - 0.1).abs() < 2.0 * f64::from(reading.doubt));
        assert_eq!(verdict == Verdict::Pass, !low, "{load} ohm: {verdict:?}");
    }
}

/// The current beside the reading.
fn shown_amps(text: &str) -> f64 {
    let (_, report) = run(text);
    match report.last.view.expect("the view has been shown").second {
        Reading { value: Value::Number(x), unit: Unit::Ampere, .. } => f64::from(x),
        other => panic!("{other:?}"),
    }
}

#[test]
fn a_null_of_longer_leads_is_called_larger_than_the_reading_and_never_passed() {
    let circuit = resistor(0.05)
        + NULLED
        + r#"
[[at]]
s = 5.0
lead = { ohms = 0.10 }
[[at]]
s = 5.1
open = "clips"
[[at]]
s = 6.0
press = "test"
[[at]]
s = 9.0
release = "test"
"#;
    let (reading, verdict) = read(&text(0.30, 10.0, &circuit));
    assert!(reading.flags.any(Flags::NULL_LARGER), "{reading:?}");
    assert!(ohms(&reading) < -0.1, "{reading:?}");
    assert!(matches!(verdict, Verdict::Undecided(_)), "{verdict:?}");
}
