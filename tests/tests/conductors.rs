//! Continuity through the whole instrument against published conductor resistances.
//!
//! Sources: IEC 60228 (2004), plain copper, classes 1 and 2, ohm per km at 20 C, as reproduced in
//! "Conductor specification according to IEC 60228"; D. Locke, Guide to the Wiring Regulations,
//! 17th ed. (2008), table 4.3, for R1 + R2. Secondary text, not checked against the standard.

use ohmwarden_core::judge::Value;
use ohmwarden_sim::scenario::parse;
use ohmwarden_sim::world::{Nobody, Report, World};

/// Resolution of the display, which every continuity reading may be off by.
const RESOLUTION_OHMS: f64 = 0.01;
/// The converter and the sense path of the default front end: 1 % of the reading.
const SHARE: f64 = 0.01;

/// Nulls the leads on a shorting bar, opens it, and reads what is left.
fn measured(ohms: f64) -> (f64, Report) {
    let text = format!(
        r#"
ohmwarden = 1
why = "A conductor of known length and cross-section."
seconds = 9.5
[start]
function = "continuity"
amps = 0.2
lead_ohms = 0.15
[part.conductor.resistor]
ohms = {ohms}
across = ["lead.pos", "lead.neg"]
[part.bar.switch]
closed = true
on_ohms = 0.001
across = ["lead.pos", "lead.neg"]
[[at]]
s = 0.6
press = "null"
[[at]]
s = 4.0
release = "null"
[[at]]
s = 5.0
open = "bar"
[[at]]
s = 6.0
press = "test"
[[at]]
s = 8.5
release = "test"
"#
    );
    let scenario = parse(&text).expect("the text above is a scenario");
    let world = World::new(&scenario, &()).expect("a resistor can be solved");
    let report = world.run(&mut Nobody).expect("a resistor does not diverge");
    let view = report.last.view.expect("the view has been shown");
    match view.main.value {
        Value::Number(x) => (f64::from(x), report),
        other => panic!("{ohms} ohm read as {other:?}"),
    }
}

fn assert_reads(name: &str, ohms: f64) {
    let (read, report) = measured(ohms);
    let most = RESOLUTION_OHMS + SHARE * ohms;
    assert!((read - ohms).abs() <= most, "{name}: {ohms} ohm read as {read}");
    assert!(report.held(), "{name}: a rule broke");
}

#[test]
fn a_hundred_metres_of_class_2_copper_read_what_the_table_says() {
    // IEC 60228, class 2, ohm per km at 20 C.
    let table = [
        ("1.0 mm2", 18.1),
        ("1.5 mm2", 12.1),
        ("2.5 mm2", 7.41),
        ("4 mm2", 4.61),
        ("6 mm2", 3.08),
        ("10 mm2", 1.83),
        ("16 mm2", 1.15),
    ];
    for (name, ohms_per_km) in table {
        assert_reads(name, ohms_per_km / 10.0);
    }
}

#[test]
fn fifty_metres_of_line_and_protective_conductor_read_r1_plus_r2() {
    // Locke, table 4.3: 50 m of 2.5/1.5, 10/4 and 16/6 mm2.
    for (name, ohms) in [("2.5/1.5", 0.98), ("10/4", 0.32), ("16/6", 0.211)] {
        assert_reads(name, ohms);
    }
}
