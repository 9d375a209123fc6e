//! How fast the trip is, and that it leaves passive loads alone, by the loop of front end, gate and
//! core that `trip_tables` prints at length. Builds that are not optimised run a smaller grid.

use ohmwarden_tests::latency::grid::Grid;
use ohmwarden_tests::latency::low::{self, Low};
use ohmwarden_tests::latency::passive::{self, Passive, Unrest};
use ohmwarden_tests::latency::pickup::{self, LIGHT_LOADS, TOLD_LOADS};
use ohmwarden_tests::latency::rig::Load;
use ohmwarden_tests::latency::rows::ROWS;
use ohmwarden_tests::latency::run::{self, Found};
use ohmwarden_tests::latency::{Broken, TELL_MS, print};

/// What a conductor that joins through 10 nF took at the worst, 15.9 ms at 45 Hz, and a little.
const DROPS_MS: f64 = 17.0;

fn grid() -> Grid {
    if cfg!(optimised) { Grid::coarse() } else { Grid::quick() }
}

fn passive_loads() -> Passive {
    if cfg!(optimised) { Passive::coarse() } else { Passive::quick() }
}

fn loads(all: &[Load]) -> &[Load] {
    if cfg!(optimised) { all } else { all.get(..1).unwrap_or(all) }
}

#[test]
fn every_arrival_ends_within_its_promise_and_the_source_stays_off() -> Result<(), Broken> {
    let found = run::run(ROWS, &grid())?;
    assert!(found.iter().all(Found::is_kept), "{}", print::latency(ROWS, &found));
    assert!(found.iter().any(|row| row.followed > 0), "nothing was followed on");
    Ok(())
}

#[test]
fn a_source_that_goes_off_six_milliseconds_late_breaks_the_first_promise() -> Result<(), Broken> {
    let slow = Grid { front_end: |params| params.gate_delay_s = 6.0e-3, ..Grid::quick() };
    let found = run::run(&ROWS[..1], &slow)?;
    assert!(found.iter().all(|row| row.late > 0), "{}", print::latency(ROWS, &found));
    Ok(())
}

#[test]
fn what_arrives_in_a_continuity_drive_ends_it_within_its_promise() -> Result<(), Broken> {
    let quick = Low { ohms: vec![1_000.0], last_ms: 60, ..Low::coarse() };
    let found = low::run(&if cfg!(optimised) { Low::coarse() } else { quick })?;
    assert!(found.iter().all(|one| one.late == 0), "{}", print::low(&found));
    assert!(found.iter().any(|one| one.worst.is_soft()), "nothing soft arrived");
    Ok(())
}

#[test]
fn no_passive_load_trips_the_gate() -> Result<(), Broken> {
    let outcomes = passive::run(&passive_loads())?;
    assert_eq!(passive::trips(&outcomes), 0, "{}", print::passive(&outcomes));
    Ok(())
}

#[test]
fn a_source_that_ripples_by_twenty_volts_trips_the_gate() -> Result<(), Broken> {
    let unrest = Unrest { noise_volts: 0.5, ripple_volts: 20.0, ripple_hertz: 100.0 };
    let outcomes = passive::run(&Passive { unrest: vec![unrest], ..Passive::quick() })?;
    assert!(passive::trips(&outcomes) > 0, "{}", print::passive(&outcomes));
    Ok(())
}

#[test]
fn a_small_pick_up_is_lived_with_and_told() -> Result<(), Broken> {
    let all = pickup::couplings(330.0e-12, loads(&TOLD_LOADS), &[50.0, 60.0]);
    for one in pickup::grow(&all)? {
        assert_eq!(one.tripped, None, "{one:?}");
        assert!(one.flagged_ms.is_some_and(|ms| ms <= TELL_MS), "{one:?}");
    }
    Ok(())
}

#[test]
fn a_strong_pick_up_is_dropped_where_the_load_draws_less_than_it_brings() -> Result<(), Broken> {
    let all = pickup::couplings(10.0e-9, loads(&LIGHT_LOADS), &[45.0, 65.0]);
    for one in pickup::join(&all)? {
        assert!(one.ended.milliseconds() <= DROPS_MS, "{one:?}");
    }
    Ok(())
}
