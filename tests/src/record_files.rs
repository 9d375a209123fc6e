//! The files in `fixtures/records`: what an instrument might have kept, whole and damaged.
//!
//! `cargo run -p ohmwarden-tests --bin record_files` writes them anew.

use ohmwarden_core::block::{Kind, SEAL, seal, wire};
use ohmwarden_core::calibration::daily::{self, Daily, Standard};
use ohmwarden_core::calibration::{Calibration, Constants};
use ohmwarden_core::date::Date;
use ohmwarden_core::frame::{Function, TimedTest};
use ohmwarden_core::judge::{Flags, Limit, Reading, Rule, Unit, Value};
use ohmwarden_core::kept::{Kept, OpenLeads};
use ohmwarden_core::measure::Point;
use ohmwarden_core::profile::{LOW_VOLTAGE, SCALES, Shunt};
use ohmwarden_core::record::{About, Correction, Finding, LeadNull, Origin, Record};
use ohmwarden_core::store::{Places, Store, WhenFull};
use ohmwarden_core::unit::{Capacitance, Current, Resistance, Temperature, Voltage};
use ohmwarden_sim::flash::Nor;

/// Bytes of a page of the images.
pub const PAGE: usize = 1024;

/// The name of each file and what is in it.
///
/// # Panics
/// Where what is written here does not fit a store.
#[must_use]
pub fn all() -> [(&'static str, Vec<u8>); 3] {
    let image = image();
    let mut damaged = image.clone();
    // The second page of the log: a burst in its second record, and the third without its magic. A
    // page begins with a word, an item of it with a header of 8 bytes.
    let first = PAGE + 4 + 8;
    let item = 8 + Record::LENGTH;
    for (n, byte) in damaged[first + item + 60..][..40].iter_mut().enumerate() {
        *byte ^= n as u8 | 1;
    }
    damaged[first + 2 * item..][..3].fill(0x55);
    [("image.bin", image), ("image_damaged.bin", damaged), ("stream_with_noise.bin", stream())]
}

fn image() -> Vec<u8> {
    let page = |n: u32| n * PAGE as u32;
    let places =
        Places { log: page(0)..page(4), kept: page(4)..page(7), calibration: page(7)..page(10) };
    let mut store = Store::open(Nor::<PAGE, 4>::blank(10), places).expect("a store");
    for kept in kept() {
        store.keep(&kept).expect("it is kept");
    }
    store.calibrate(1, &constants().to_bytes()).expect("they are kept");
    for record in records() {
        store.append(&record, WhenFull::Refuse).expect("there is room");
    }
    let mut place = [0; daily::LENGTH + SEAL];
    let check = seal(Kind::DailyCheck, 1, store.next_serial(), &check_box(), &mut place);
    store.append_block(check.expect("it fits"), WhenFull::Refuse).expect("there is room");
    store.into_flash().bytes().to_vec()
}

/// Constants of an instrument that reads a third of a percent high.
fn constants() -> Calibration {
    let each = Constants::new(-0.003, 0.5, 0.0005, 0.1).expect("constants within bounds");
    let [made, due] = [2026, 2027].map(|year| Date::from_ymd(year, 3, 1).expect("a day"));
    Calibration::new([each; SCALES.len()], made, due).expect("constants within bounds")
}

/// The morning's look at a check box.
fn check_box() -> [u8; daily::LENGTH] {
    let standard = |value, doubt, unit| Standard { value, doubt, unit };
    let box_of = [standard(5.0, 0.005, Unit::Ohm), standard(25.0e6, 5.0e4, Unit::Ohm)];
    let mut check = Daily::new(Date::from_ymd(2026, 3, 14), &box_of);
    for (step, reading) in
        [number(5.02, 0.06, Unit::Ohm), number(2.53e7, 3.8e5, Unit::Ohm)].into_iter().enumerate()
    {
        check.take(step, reading).expect("a step of the check");
    }
    check.to_bytes()
}

/// Frames with noise between them, one with a turned bit, one of which bytes were lost.
fn stream() -> Vec<u8> {
    let mut bytes = b"\x91\x02noise before the first frame".to_vec();
    for (n, record) in records().into_iter().enumerate() {
        let mut place = [0; wire::longest(Record::LENGTH)];
        let mut frame = wire::frame(&record.to_bytes(), &mut place).expect("it fits").to_vec();
        match n {
            1 => frame[90] ^= 0x20,
            4 => drop(frame.drain(100..117)),
            _ => {}
        }
        bytes.extend(frame);
    }
    let mut place = [0; wire::longest(Kept::LENGTH)];
    let kept = kept()[1].to_bytes(1);
    bytes.extend(wire::frame(&kept, &mut place).expect("it fits"));
    bytes.extend(b"\x07\x07\x07");
    bytes
}

/// What was kept, and what was kept after it.
fn kept() -> [Kept; 2] {
    let first = Kept { unfinished: true, ..Kept::NOTHING };
    let second = Kept {
        null: Some(Resistance::from_milliohms(153)),
        null_day: Date::from_ymd(2026, 3, 2),
        open_leads: Some(OpenLeads {
            set: Voltage::from_volts(500),
            leakage: Current::from_picoamps(820),
            capacitance: Capacitance::from_picofarads(140),
        }),
        ..Kept::NOTHING
    };
    [first, second]
}

fn number(value: f32, doubt: f32, unit: Unit) -> Reading {
    Reading { value: Value::Number(value), unit, doubt, ..Reading::NONE }
}

/// One record of each kind there is.
fn records() -> Vec<Record> {
    let volts = Voltage::from_volts;
    let day = Date::from_ymd(2026, 3, 14);
    let insulation = About {
        day,
        function: Function::Insulation(volts(500)),
        second: number(2.6e-9, 1.0e-10, Unit::Ampere),
        capacitance: Some(Capacitance::from_nanofarads(33)),
        ..About::NOTHING
    };
    let null = Some(LeadNull { resistance: Resistance::from_milliohms(153), age_days: Some(12) });
    let continuity = About {
        day,
        function: Function::Continuity(Current::from_milliamps(200)),
        null,
        ..About::NOTHING
    };
    let leaking = About { second: number(1.09e-3, 2.0e-5, Unit::Ampere), ..insulation.clone() };
    let megohm = Limit::AtLeast(1.0e6);
    let table = Origin { limit: 3, source: 1 };
    let judged = |reading: Reading, limit, origin| Finding::Judged(reading.judge(limit), origin);
    let over = Reading { value: Value::Above(2.0e11), ..number(0.0, 6.0e9, Unit::Ohm) };
    let ohms = |value| number(value, 0.01, Unit::Ohm);
    let corrected = number(3.1e7, 1.0e6, Unit::Ohm).flagged(Flags::TEMPERATURE);
    let correction = Some(Correction {
        raw: Value::Number(1.55e7),
        temperature: Temperature::from_celsius(30),
        rule: 1,
    });
    let timed = About {
        function: Function::Timed(volts(100), TimedTest::PolarizationIndex),
        profile: LOW_VOLTAGE.id,
        curve: curve(),
        ..insulation.clone()
    };
    let simple = Finding::Judged(ohms(0.98).judge_by(Limit::AtMost(1.0), Rule::Simple), table);
    let parts = [
        (judged(over, megohm, table), insulation.clone()),
        (judged(number(4.7e5, 1.4e4, Unit::Ohm), megohm, table), leaking),
        (judged(over.flagged(Flags::PATH_UNPROVED), megohm, Origin::default()), insulation.clone()),
        (judged(ohms(0.32), Limit::AtMost(1.0), Origin::default()), continuity.clone()),
        (judged(ohms(0.99), Limit::AtMost(1.0), Origin::default()), continuity.clone()),
        (simple, continuity),
        (Finding::Unjudged(number(231.4, 0.9, Unit::Volt)), About { day: None, ..About::NOTHING }),
        (Finding::Unjudged(number(2.6, 0.1, Unit::Ratio)), timed),
        (judged(corrected, megohm, table), About { correction, ..insulation }),
    ];
    let record = |(n, (finding, about))| Record::of(n, finding, about).expect("it can be kept");
    (0..).zip(parts).map(record).collect()
}

fn curve() -> ohmwarden_core::measure::Curve {
    (1..=13_u16)
        .map(|n| Point {
            value: Value::Number(1.0e8 * f32::from(n)),
            v: Voltage::from_millivolts(100_200 + i32::from(n)),
            seconds: 15 * n,
            shunt: Shunt::Microamps2,
        })
        .collect()
}
