//! Runs a grid: one ramp per set-up, forked at every arrival.

use ohmwarden_core::gate::Cause;
use ohmwarden_core::interlock::State;
use ohmwarden_core::invariants::promise;
use rayon::prelude::*;

use super::Broken;
use super::arrival::{Comes, Ended, Outside, follow, stays_off};
use super::grid::{Grid, Series};
use super::rig::{Load, Rig};
use super::rows::{Row, Sources};

/// A load that holds the voltage down is at its plateau so long after the ramp could have ended.
const PLATEAU_MS: u32 = 60;
/// The ramp is cut off here, milliseconds: what charges longer moves slower than any row here.
const LONGEST_RAMP: u32 = 1_400;

/// In one job of so many, arrivals are followed on, to see that the source stays off.
const FOLLOW_JOBS: usize = 19;
/// One arrival of these in so many.
const FOLLOW_EVERY: u64 = 50;
/// For so long, milliseconds: eight proofs could be had in it.
const FOLLOW_MS: u32 = 1_000;

/// A ramp has just begun for so long, milliseconds.
const STARTS_MS: u32 = 8;
/// A ramp climbs if it gained so many volts in a millisecond.
const CLIMBS_VOLTS: f64 = 0.5;
/// The trip is slowest for a sine whose crest is so many volts above our own.
const UNDER_CREST: core::ops::Range<f64> = 10.0..36.0;

/// Where and how an arrival was followed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Case {
    /// Test voltage.
    pub set: i32,
    /// The load.
    pub load: Load,
    /// The protection.
    pub series: Series,
    /// Resistance of the outside source.
    pub outside_ohms: f64,
    /// What arrived.
    pub comes: Comes,
    /// Milliseconds after the source went on.
    pub at_ms: u32,
    /// Whether the drive was in hold.
    pub hold: bool,
    /// Terminal voltage at the arrival.
    pub volts: f64,
    /// How it ended.
    pub ended: Ended,
    /// What is promised, milliseconds.
    pub promise_ms: f64,
}

impl Case {
    /// The time it took, as a part of what is promised.
    #[must_use]
    pub fn part_of_promise(&self) -> f64 {
        self.ended.milliseconds() / self.promise_ms
    }
}

/// What a row came to.
#[derive(Clone, Debug, Default)]
pub struct Found {
    /// Arrivals followed.
    pub arrivals: u64,
    /// Of these, later than promised or never.
    pub late: u64,
    /// Of these, followed for a second more.
    pub followed: u64,
    /// Of the followed, those after which the source delivered again with what arrived still there.
    pub back: u64,
    /// The longest.
    pub worst: Option<Case>,
    /// The one nearest to, or furthest beyond, its promise.
    pub tightest: Option<Case>,
    /// Arrivals ended by each cause, in the order of [`CAUSES`], and by none.
    pub causes: [u64; CAUSES.len() + 1],
}

/// The causes that are counted.
pub const CAUSES: [Cause; 6] = [
    Cause::OutOfBounds,
    Cause::AboveSetPoint,
    Cause::FallsWhilePushed,
    Cause::Residual,
    Cause::Disarmed,
    Cause::LoopLate,
];

impl Found {
    /// Whether every arrival ended as promised and none of those followed came back.
    #[must_use]
    pub const fn is_kept(&self) -> bool {
        self.arrivals > 0 && self.late == 0 && self.back == 0
    }

    fn take(&mut self, case: Case) {
        let more = |best: &Option<Case>, of: fn(&Case) -> f64| {
            best.as_ref().is_none_or(|best| of(best) < of(&case))
        };
        self.arrivals += 1;
        self.late += u64::from(case.part_of_promise() > 1.0);
        let cause = CAUSES.iter().position(|cause| Some(*cause) == case.ended.cause);
        self.causes[cause.unwrap_or(CAUSES.len())] += 1;
        if more(&self.worst, |case| case.ended.milliseconds()) {
            self.worst = Some(case);
        }
        if more(&self.tightest, Case::part_of_promise) {
            self.tightest = Some(case);
        }
    }

    fn merge(&mut self, other: &Self) {
        let keep = |best: &mut Option<Case>, new: &Option<Case>, of: fn(&Case) -> f64| {
            if let Some(new) = new
                && best.as_ref().is_none_or(|best| of(best) < of(new))
            {
                *best = Some(*new);
            }
        };
        self.arrivals += other.arrivals;
        self.late += other.late;
        self.followed += other.followed;
        self.back += other.back;
        for (sum, n) in self.causes.iter_mut().zip(other.causes) {
            *sum += n;
        }
        keep(&mut self.worst, &other.worst, |case| case.ended.milliseconds());
        keep(&mut self.tightest, &other.tightest, Case::part_of_promise);
    }
}

/// One ramp with everything that arrives in it.
#[derive(Clone, Copy, Debug)]
struct Job {
    set: i32,
    load: Load,
    series: Series,
    outside_ohms: f64,
    hz: Option<f64>,
    follows: bool,
}

/// A moment of a drive.
#[derive(Clone, Copy, Debug)]
struct Moment {
    at_ms: u32,
    hold: bool,
    /// Voltage at the terminals.
    own: f64,
    /// Whether everything arrives now, or only what has its crest a little above.
    regular: bool,
}

/// Runs `rows` through `grid`; the answer does not depend on the number of threads.
///
/// # Errors
/// The first run that is broken.
pub fn run(rows: &[Row], grid: &Grid) -> Result<Vec<Found>, Broken> {
    let jobs = jobs(rows, grid);
    let done: Result<Vec<Vec<Found>>, Broken> =
        jobs.par_iter().map(|job| job.run(rows, grid)).collect();
    let mut all = vec![Found::default(); rows.len()];
    for found in done? {
        for (sum, part) in all.iter_mut().zip(&found) {
            sum.merge(part);
        }
    }
    Ok(all)
}

fn jobs(rows: &[Row], grid: &Grid) -> Vec<Job> {
    let mut frequencies: Vec<Option<f64>> = Vec::new();
    for row in rows {
        let of_row: Vec<Option<f64>> = match row.sources {
            Sources::Alternating { hz, .. } => hz.iter().copied().map(Some).collect(),
            Sources::Reversed(_) | Sources::Apart(_) => vec![None],
        };
        for hz in of_row {
            if !frequencies.contains(&hz) {
                frequencies.push(hz);
            }
        }
    }
    let mut jobs = Vec::new();
    for &set in grid.sets.iter().rev() {
        for &load in &grid.loads {
            for &series in &grid.series {
                for &outside_ohms in &grid.outside_ohms {
                    let job = |&hz| Job { set, load, series, outside_ohms, hz, follows: false };
                    jobs.extend(frequencies.iter().map(job));
                }
            }
        }
    }
    for job in jobs.iter_mut().step_by(FOLLOW_JOBS) {
        job.follows = true;
    }
    jobs
}

impl Job {
    fn run(&self, rows: &[Row], grid: &Grid) -> Result<Vec<Found>, Broken> {
        let mut found = vec![Found::default(); rows.len()];
        let mut setup = self.series.setup(self.set, self.load);
        (grid.front_end)(&mut setup.params);
        let mut outside = None;
        let mut rig = Rig::start(&setup, |net| {
            outside = Some(Outside::put(net, self.hz, self.outside_ohms)?);
            Ok(())
        })?;
        let Some(outside) = outside else { return Ok(found) };
        let last_hold = grid.hold.iter().copied().max().unwrap_or(0);
        let (mut hold_ms, mut before) = (0, 0.0);
        for at_ms in 0..LONGEST_RAMP {
            let hold = self.holds(&rig, at_ms);
            let regular = if hold { grid.hold.contains(&hold_ms) } else { at_ms % grid.every == 0 };
            let own = rig.truth().terminal_volts;
            let climbs = at_ms < STARTS_MS || own > before + CLIMBS_VOLTS;
            let climbs = grid.under_crest && at_ms % 2 == 0 && climbs;
            before = own;
            if (regular || climbs) && rig.is_on() {
                let moment = Moment { at_ms, hold, own, regular };
                self.arrivals(&mut rig, &outside, rows, grid, moment, &mut found)?;
            }
            if hold {
                hold_ms += 1;
            }
            if hold_ms > last_hold {
                break;
            }
            rig.run_block()?;
        }
        Ok(found)
    }

    fn holds(&self, rig: &Rig, at_ms: u32) -> bool {
        let ramp_ms = self.set.unsigned_abs() * 8 / 15 + PLATEAU_MS;
        let limited = self.load.ohms < 200.0e3 && at_ms > ramp_ms;
        matches!(rig.state(), State::Drive { .. }) || limited
    }

    fn arrivals(
        &self,
        rig: &mut Rig,
        outside: &Outside,
        rows: &[Row],
        grid: &Grid,
        moment: Moment,
        found: &mut [Found],
    ) -> Result<(), Broken> {
        let Moment { at_ms, hold, own, .. } = moment;
        for (row, found) in rows.iter().zip(found) {
            for comes in self.sources(row, grid, &moment) {
                let Some(promised) = promise(&comes.arrival(own, None)) else { continue };
                let (mut fork, ended) = arrives(rig, outside, &comes)?;
                if self.follows
                    && comes.is_above_safe()
                    && found.arrivals.is_multiple_of(FOLLOW_EVERY)
                {
                    found.followed += 1;
                    found.back += u64::from(!stays_off(&mut fork, FOLLOW_MS)?);
                }
                rig.bench.circuit_mut().learn_from(fork.bench.circuit());
                found.take(Case {
                    set: self.set,
                    load: self.load,
                    series: self.series,
                    outside_ohms: self.outside_ohms,
                    comes,
                    at_ms,
                    hold,
                    volts: own,
                    ended,
                    promise_ms: f64::from(promised.as_micros()) / 1.0e3,
                });
            }
        }
        Ok(())
    }

    /// Everything of a row that can arrive in this job. The phases are shifted from one moment to
    /// the next, so that together they lie much closer than at one moment.
    fn sources(&self, row: &Row, grid: &Grid, moment: &Moment) -> Vec<Comes> {
        let own = moment.own;
        match (row.sources, self.hz) {
            (Sources::Alternating { rms, hz: all }, Some(hz)) if all.contains(&hz) => {
                let phases = |&rms: &f64| moment.phases(grid, rms, hz);
                rms.iter().flat_map(phases).collect()
            }
            (Sources::Reversed(all), None) if moment.regular => {
                all.iter().map(|&volts| Comes::Direct { volts }).collect()
            }
            (Sources::Apart(all), None) if moment.regular => {
                all.iter().map(|apart| Comes::Direct { volts: own + apart }).collect()
            }
            _ => Vec::new(),
        }
    }
}

impl Moment {
    fn phases(&self, grid: &Grid, rms: f64, hz: f64) -> Vec<Comes> {
        let under = rms * core::f64::consts::SQRT_2 - self.own;
        let phases = match (self.regular, UNDER_CREST.contains(&under)) {
            (true, _) => grid.phases,
            (false, true) => 2 * grid.phases,
            (false, false) => 0,
        };
        let shift = (f64::from(self.at_ms) * 0.618_034).fract();
        let phase = |n: u32| (f64::from(n) + shift) * 360.0 / f64::from(phases);
        (0..phases).map(|n| Comes::Alternating { rms, hz, phase_deg: phase(n) }).collect()
    }
}

/// Follows one arrival in a fork. Where core was faster than the gate, by another rule of its own,
/// the gate is asked again with a core that notices nothing, and the later answer counts; the fork
/// that is given back is the real one.
fn arrives(rig: &Rig, outside: &Outside, comes: &Comes) -> Result<(Rig, Ended), Broken> {
    let mut fork = rig.clone();
    outside.arrive(&mut fork, comes);
    let ended = follow(&mut fork, |_| {})?;
    if ended.cause.is_none_or(Cause::is_trip) {
        return Ok((fork, ended));
    }
    let mut alone = rig.clone();
    alone.deafen();
    outside.arrive(&mut alone, comes);
    Ok((fork, follow(&mut alone, |_| {})?))
}
