use super::*;
use crate::judge::Unit;
use crate::profile::{GENERAL, Profile};
use std::vec::Vec;

const SET: Voltage = Voltage::from_volts(500);

/// A run whose voltage stands from the first block on, read every half second up to `seconds`.
fn run(test: TimedTest, times: &TestTimes, seconds: u32, value: impl Fn(u32) -> Value) -> TimedRun {
    let mut run = TimedRun::IDLE;
    run.begin(test);
    for ms in 0..seconds.saturating_mul(1_000) {
        let v = run.set(SET);
        run.step(v, v);
        if ms % 500 == 0 && ms > 0 {
            let reading = Reading { value: value(ms), unit: Unit::Ohm, ..Reading::NONE };
            run.take(&reading, v, Shunt::Microamps2, times);
        }
    }
    run
}

fn moments(run: &TimedRun) -> Vec<u16> {
    run.curve().iter().map(|point| point.seconds).collect()
}

fn constant(_: u32) -> Value {
    Value::Number(1.0e9)
}

#[test]
fn each_test_takes_its_points_and_no_more() {
    let times = &GENERAL.times;
    let first = [15, 30, 45, 60];
    let minutes = [120, 180, 240, 300, 360, 420, 480, 540, 600];
    let ten: Vec<u16> = first.iter().chain(&minutes).copied().collect();
    // The last place is kept for the end of a long charge.
    let charge: Vec<u16> = ten.iter().take(12).copied().chain([1_800]).collect();
    for (test, seconds, expected) in [
        (TimedTest::Plain, 62, first.to_vec()),
        (TimedTest::AbsorptionRatio, 62, first.to_vec()),
        (TimedTest::PolarizationIndex, 602, ten),
        (TimedTest::Discharge, 1_802, charge),
        (TimedTest::Steps, 304, [60, 120, 180, 240, 300].to_vec()),
    ] {
        let run = run(test, times, seconds, constant);
        assert_eq!(moments(&run), expected, "{test:?}");
        assert!(run.is_over(times), "{test:?}");
    }
}

#[test]
fn a_pair_of_the_users_own_has_its_points() {
    let pair = [Duration::from_secs(20), Duration::from_secs(50)];
    let times = TestTimes { absorption: pair, ..GENERAL.times };
    assert!(Profile { times, ..GENERAL }.check().is_ok());
    let run = run(TimedTest::AbsorptionRatio, &times, 52, constant);
    assert_eq!(moments(&run), [15, 20, 30, 45, 50]);
}

#[test]
fn a_point_is_what_stood_between_two_readings() {
    // A resistance that climbs by 1 Mohm a millisecond, told at the end of each half second.
    let climbs = |ms: u32| Value::Number(ms.saturating_sub(HALF_READING_MS) as f32 * 1.0e6);
    let run = run(TimedTest::Plain, &GENERAL.times, 62, climbs);
    for point in run.curve() {
        let exact = f32::from(point.seconds) * 1.0e9;
        let value = point.value.amount().unwrap_or(0.0);
        assert!((value / exact - 1.0).abs() < 1.0e-5, "{point:?}");
    }
}

#[test]
fn steps_rise_by_a_fifth_and_end_at_the_whole() {
    let at = |step| step_voltage(TimedTest::Steps, SET, step).as_volts();
    assert_eq!([0, 1, 2, 3, 4, 5, usize::MAX].map(at), [100, 200, 300, 400, 500, 500, 500]);
    assert_eq!(step_voltage(TimedTest::Plain, SET, 0), SET);
}

#[test]
fn a_run_is_lost_when_its_voltage_sags_or_never_comes() {
    let mut run = TimedRun::IDLE;
    run.begin(TimedTest::Plain);
    let due = 2_000;
    for _ in 0..due {
        run.step(Voltage::from_volts(470), SET);
        assert!(!run.is_lost(due));
    }
    run.step(Voltage::from_volts(470), SET);
    assert!(run.is_lost(due), "470 V are less than 95 % of 500 V");
    run.begin(TimedTest::Plain);
    run.step(SET, SET);
    for _ in 1..LOST_MS {
        run.step(Voltage::from_volts(449), SET);
        assert!(!run.is_lost(due));
    }
    run.step(Voltage::from_volts(451), SET);
    run.step(Voltage::from_volts(449), SET);
    assert!(!run.is_lost(due), "what comes back in time is no sag");
    for _ in 1..LOST_MS {
        run.step(Voltage::from_volts(449), SET);
    }
    assert!(run.is_lost(due));
}

#[test]
fn a_look_is_due_after_the_point_of_each_whole_minute_but_the_last() {
    let times = &GENERAL.times;
    let mut run = TimedRun::IDLE;
    run.begin(TimedTest::PolarizationIndex);
    let mut looks = Vec::new();
    for ms in 0..602_000_u32 {
        run.step(SET, SET);
        if ms % 500 == 0 && ms > 0 {
            let reading = Reading { value: constant(ms), ..Reading::NONE };
            run.take(&reading, SET, Shunt::Microamps2, times);
        }
        if run.looks() {
            looks.extend(run.curve().last().map(|point| point.seconds));
        }
    }
    assert_eq!(looks, [60, 120, 180, 240, 300, 360, 420, 480, 540]);
}

#[test]
fn what_was_read_beside_a_stranger_is_dropped() {
    let mut first = run(TimedTest::PolarizationIndex, &GENERAL.times, 62, constant);
    first.distrust();
    assert_eq!(moments(&first), [0_u16; 0], "nothing vouches for the first minute");
    let mut later = run(TimedTest::PolarizationIndex, &GENERAL.times, 242, constant);
    later.distrust();
    assert_eq!(moments(&later), [15, 30, 45, 60, 120, 180]);
}
