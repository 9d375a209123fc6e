//! The beeper: when it answers, and that it does not stutter.

use crate::{resistor, run, text};

/// From a touch to the tone: two windows of 50 ms, the gap between two turns, and two blocks.
const ANSWERS: f64 = 0.110;

#[test]
fn it_answers_a_touch_and_its_end_in_time_at_any_moment_of_a_turn() {
    let mut worst = [0.0_f64; 2];
    // Two turns with their gaps last 216 ms.
    for n in 0..40 {
        let touch = 1.5 + f64::from(n) * 0.0056;
        let apart = touch + 0.7;
        let circuit = format!(
            r#"
[part.joint.resistor]
ohms = 0.5
across = ["lead.pos", "far"]
[part.probe.switch]
across = ["far", "lead.neg"]
[[at]]
s = 0.6
press = "test"
[[at]]
s = {touch}
close = "probe"
[[at]]
s = {apart}
open = "probe"
"#
        );
        let (ear, _) = run(&text(0.1, 3.0, &circuit));
        let &[(on, true), (off, false)] = ear.changes.as_slice() else {
            panic!("touched at {touch} s: {:?}", ear.changes);
        };
        worst = [worst[0].max(on - touch), worst[1].max(off - apart)];
    }
    println!("worst: {:.1} ms on, {:.1} ms off", worst[0] * 1.0e3, worst[1] * 1.0e3);
    assert!(worst.iter().all(|s| (0.02..=ANSWERS).contains(s)), "{worst:?} s");
}

#[test]
fn between_its_two_thresholds_it_stays_as_it_was() {
    let set = |s: f64, ohms: f64| {
        format!("[[at]]\ns = {s}\nset = {{ part = \"load\", ohms = {ohms} }}\n")
    };
    // 0.1 ohm of leads that nobody nulled are heard as well.
    let circuit = [
        resistor(2.1),
        "[[at]]\ns = 0.6\npress = \"test\"\n".into(),
        set(2.0, 1.8),
        set(3.0, 2.3),
        set(4.0, 2.5),
        set(5.0, 2.1),
        set(6.0, 1.8),
    ];
    let (ear, _) = run(&text(0.1, 7.0, &circuit.concat()));
    let heard: Vec<(f64, bool)> = ear.changes.iter().map(|(s, on)| (s.floor(), *on)).collect();
    assert_eq!(heard, [(2.0, true), (4.0, false), (6.0, true)], "{:?}", ear.changes);
}
