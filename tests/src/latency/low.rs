//! What arrives in a continuity drive: through some ohms our own 5 V hold it down.
//!
//! A stiff source is told by its voltage within three samples. A soft one shows no voltage while
//! our source can carry what it brings; it is told when it pushes current back, which an alternating
//! one does within half a cycle, and a direct one at once or when our own direction turns.

use ohmwarden_core::frame::Function;
use ohmwarden_core::invariants::promise;
use ohmwarden_core::unit::{Current, Resistance, Voltage};
use rayon::prelude::*;

use super::Broken;
use super::arrival::{Comes, Ended, Outside, follow_until};
use super::rig::{Load, Rig, Setup};

/// The source is off for good when it was off for longer than the gap between two directions.
const AFTER: u32 = 250;
/// Arrivals at every so many milliseconds: an odd part of the turns.
const EVERY_MS: u32 = 7;

/// Which arrivals are followed.
#[derive(Clone, Debug)]
pub struct Low {
    /// Resistances of the outside source.
    pub ohms: Vec<f64>,
    /// Loads: none of them holds down what arrives.
    pub loads: Vec<Load>,
    /// Phases of each sine.
    pub phases: u32,
    /// Arrivals over so many milliseconds from the start of the drive.
    pub last_ms: u32,
}

impl Low {
    /// Makes the whole grid.
    #[must_use]
    pub fn full() -> Self {
        let load = |ohms, farads| Load { ohms, farads };
        Self {
            ohms: vec![0.5, 10.0, 30.0, 100.0, 300.0, 1_000.0],
            loads: vec![
                load(f64::INFINITY, 0.0),
                load(5.0e3, 0.0),
                load(1.0e6, 100.0e-9),
                load(f64::INFINITY, 1.0e-6),
            ],
            phases: 24,
            last_ms: 400,
        }
    }

    /// Makes a grid of some seconds.
    #[must_use]
    pub fn coarse() -> Self {
        Self { ohms: vec![0.5, 30.0, 1_000.0], phases: 8, last_ms: 250, ..Self::full() }
    }
}

/// One arrival.
#[derive(Clone, Copy, Debug)]
pub struct Case {
    /// What was measured.
    pub function: Function,
    /// The load.
    pub load: Load,
    /// Resistance of the outside source.
    pub ohms: f64,
    /// What arrived.
    pub comes: Comes,
    /// Milliseconds after the source went on.
    pub at_ms: u32,
    /// How it ended.
    pub ended: Ended,
    /// What is promised, milliseconds.
    pub promise_ms: f64,
}

impl Case {
    /// Whether our own source, of 0.21 A, can hold down the crest of what arrives.
    #[must_use]
    pub fn is_soft(&self) -> bool {
        let crest = match self.comes {
            Comes::Alternating { rms, .. } => rms * core::f64::consts::SQRT_2,
            Comes::Direct { volts } => volts.abs(),
        };
        crest < 0.21 * self.ohms
    }

    /// Whether the source went off in time.
    #[must_use]
    pub fn is_kept(&self) -> bool {
        self.ended.milliseconds() <= self.promise_ms
    }
}

/// What one kind of arrival came to.
#[derive(Clone, Copy, Debug)]
pub struct Found {
    /// Arrivals followed.
    pub arrivals: u64,
    /// Of these, later than promised.
    pub late: u64,
    /// The one that took the greatest part of its promise.
    pub worst: Case,
}

const ALTERNATING: [(f64, f64); 12] = [
    (25.0, 15.0),
    (25.0, 50.0),
    (50.0, 15.0),
    (50.0, 50.0),
    (100.0, 50.0 / 3.0),
    (100.0, 60.0),
    (230.0, 15.0),
    (230.0, 50.0),
    (400.0, 50.0),
    (25.0, 400.0),
    (115.0, 400.0),
    (690.0, 60.0),
];
const DIRECT: [f64; 10] = [-600.0, -230.0, -110.0, -60.0, -36.0, 36.0, 60.0, 110.0, 230.0, 600.0];

/// Runs the grid and gives one line for each voltage, stiff and soft, in a fixed order.
///
/// # Errors
/// The first run that is broken.
pub fn run(grid: &Low) -> Result<Vec<Found>, Broken> {
    let mut jobs = Vec::new();
    for function in [Function::Continuity(Current::from_milliamps(200)), Function::Resistance] {
        for &ohms in &grid.ohms {
            for hz in ALTERNATING.iter().map(|&(_, hz)| Some(hz)).chain([None]) {
                if !jobs.contains(&(function, ohms, hz)) {
                    jobs.push((function, ohms, hz));
                }
            }
        }
    }
    let cases: Result<Vec<Vec<Case>>, Broken> = jobs
        .par_iter()
        .flat_map_iter(|&job| grid.loads.iter().map(move |&load| (job, load)))
        .map(|((function, ohms, hz), load)| drive(grid, function, load, ohms, hz))
        .collect();
    Ok(worst(cases?.iter().flatten()))
}

fn drive(
    grid: &Low,
    function: Function,
    load: Load,
    ohms: f64,
    hz: Option<f64>,
) -> Result<Vec<Case>, Broken> {
    let setup = Setup { function, ..Setup::new(Voltage::ZERO, load, 1.0e3) };
    let mut outside = None;
    let mut rig = Rig::start(&setup, |net| {
        outside = Some(Outside::put(net, hz, ohms)?);
        Ok(())
    })?;
    let Some(outside) = outside else { return Ok(Vec::new()) };
    let mut cases = Vec::new();
    for at_ms in 0..grid.last_ms {
        // What arrives in a gap meets no source of ours.
        if at_ms % EVERY_MS == 0 && rig.is_on() {
            for comes in sources(grid, hz) {
                let low = Resistance::from_milliohms((ohms * 1.0e3) as u64);
                let arrival = comes.arrival(0.0, Some(low));
                let Some(promised) = promise(&arrival) else { continue };
                let promise_ms = f64::from(promised.as_micros()) / 1.0e3;
                let mut fork = rig.clone();
                outside.arrive(&mut fork, &comes);
                let ended = follow_until(&mut fork, AFTER, |_| {})?;
                rig.bench.circuit_mut().learn_from(fork.bench.circuit());
                cases.push(Case { function, load, ohms, comes, at_ms, ended, promise_ms });
            }
        }
        rig.run_block()?;
    }
    Ok(cases)
}

fn sources(grid: &Low, hz: Option<f64>) -> Vec<Comes> {
    let Some(hz) = hz else {
        return DIRECT.iter().map(|&volts| Comes::Direct { volts }).collect();
    };
    let phase = |n: u32| f64::from(n) * 360.0 / f64::from(grid.phases);
    let of = ALTERNATING.iter().filter(|source| source.1 == hz);
    of.flat_map(|&(rms, hz)| {
        (0..grid.phases).map(move |n| Comes::Alternating { rms, hz, phase_deg: phase(n) })
    })
    .collect()
}

/// The slowest of each voltage, stiff and soft.
fn worst<'a>(cases: impl Iterator<Item = &'a Case>) -> Vec<Found> {
    let mut found: Vec<Found> = Vec::new();
    for case in cases {
        let alike = |comes: &Comes| match (*comes, case.comes) {
            (
                Comes::Alternating { rms: a, hz: f, .. },
                Comes::Alternating { rms: b, hz: g, .. },
            ) => (a, f) == (b, g),
            (Comes::Direct { volts: a }, Comes::Direct { volts: b }) => a == b,
            _ => false,
        };
        let same = |found: &&mut Found| {
            found.worst.is_soft() == case.is_soft() && alike(&found.worst.comes)
        };
        let late = u64::from(!case.is_kept());
        let Some(known) = found.iter_mut().find(same) else {
            found.push(Found { arrivals: 1, late, worst: *case });
            continue;
        };
        known.arrivals += 1;
        known.late += late;
        if known.worst.ended.milliseconds() < case.ended.milliseconds() {
            known.worst = *case;
        }
    }
    found
}
