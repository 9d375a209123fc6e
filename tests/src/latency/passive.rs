//! That the trip leaves plain passive loads alone: a normal ramp and a hold, nothing from outside.

use ohmwarden_core::gate::Cause;
use ohmwarden_core::interlock::{Reason, State};
use rayon::prelude::*;

use super::Broken;
use super::grid::Series;
use super::rig::{Load, PROFILE_NOISE_VOLTS, Rig};

/// How long a load is held after its ramp, milliseconds: long enough for a look with the source off.
const HOLD_MS: u32 = 3_000;
/// No ramp takes longer, milliseconds.
const RAMP_MS: u32 = 5_000;

/// What disturbs the voltage channel without anything being wrong.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Unrest {
    /// White noise of each voltage channel, rms.
    pub noise_volts: f64,
    /// Ripple of the set point, amplitude.
    pub ripple_volts: f64,
    /// Its frequency.
    pub ripple_hertz: f64,
}

impl Unrest {
    /// All of it white noise.
    #[must_use]
    pub const fn noise(noise_volts: f64) -> Self {
        Self { noise_volts, ripple_volts: 0.0, ripple_hertz: 100.0 }
    }

    /// Half the power of the profile's noise as ripple.
    #[must_use]
    pub fn ripple(ripple_hertz: f64) -> Self {
        let half = PROFILE_NOISE_VOLTS * core::f64::consts::FRAC_1_SQRT_2;
        Self { noise_volts: half, ripple_volts: PROFILE_NOISE_VOLTS, ripple_hertz }
    }
}

impl core::fmt::Display for Unrest {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        write!(f, "{:.2} V rms noise", self.noise_volts)?;
        if self.ripple_volts > 0.0 {
            write!(f, " + {} V pk {} Hz", self.ripple_volts, self.ripple_hertz)?;
        }
        Ok(())
    }
}

/// What is run.
#[derive(Clone, Debug)]
pub struct Passive {
    /// Test voltages.
    pub sets: Vec<i32>,
    /// Loads.
    pub loads: Vec<Load>,
    /// Protections.
    pub series: Vec<Series>,
    /// Kinds of unrest.
    pub unrest: Vec<Unrest>,
    /// Seeds.
    pub seeds: u64,
}

impl Passive {
    /// Makes the whole table.
    #[must_use]
    pub fn full() -> Self {
        let farads =
            [0.0, 1.0e-9, 3.3e-9, 10.0e-9, 33.0e-9, 100.0e-9, 330.0e-9, 1.0e-6, 2.0e-6, 5.0e-6];
        let ohms = [
            1.0e2,
            1.0e3,
            5.0e3,
            2.0e4,
            5.0e4,
            1.0e5,
            2.0e5,
            3.0e5,
            5.5e5,
            1.0e6,
            1.0e7,
            1.0e8,
            f64::INFINITY,
        ];
        let with = |f: f64| ohms.iter().map(move |&r| Load { ohms: r, farads: f });
        Self {
            sets: vec![50, 100, 250, 500, 1_000],
            loads: farads.iter().flat_map(|&f| with(f)).collect(),
            series: vec![Series::Behind(1.0e3), Series::Before(100.0e3)],
            unrest: vec![
                Unrest::noise(PROFILE_NOISE_VOLTS),
                Unrest::ripple(100.0),
                Unrest::ripple(1_000.0),
            ],
            seeds: 4,
        }
    }

    /// Makes a table of one seed.
    #[must_use]
    pub fn coarse() -> Self {
        Self { seeds: 1, ..Self::full() }
    }

    /// Makes a table for builds that are not optimised.
    #[must_use]
    pub fn quick() -> Self {
        let loads = [(1.0e5, 1.0e-6), (1.0e6, 100.0e-9), (f64::INFINITY, 0.0)];
        Self {
            sets: vec![50, 1_000],
            loads: loads.iter().map(|&(ohms, farads)| Load { ohms, farads }).collect(),
            unrest: vec![Unrest::ripple(100.0)],
            ..Self::coarse()
        }
    }

    /// Makes the table for what is beyond the profile: nothing is promised there.
    #[must_use]
    pub fn beyond() -> Self {
        let ripple = |ripple_hertz| Unrest { noise_volts: 0.5, ripple_volts: 2.8, ripple_hertz };
        let unrest = vec![Unrest::noise(2.0), ripple(100.0), ripple(1_000.0)];
        Self { unrest, seeds: 1, ..Self::full() }
    }

    /// Makes the table for a protection between the output capacitor and the terminals that the
    /// regulator of this front end cannot be stable with; see the head of [`super`].
    #[must_use]
    pub fn unstable() -> Self {
        let unrest = vec![Unrest::noise(PROFILE_NOISE_VOLTS)];
        Self { series: vec![Series::Behind(100.0e3)], unrest, seeds: 1, ..Self::full() }
    }
}

/// How one run ended.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum End {
    /// It was held to the end.
    Held,
    /// A rule of the trip ended it, so many milliseconds after the source went on.
    Tripped(Cause, u32),
    /// Core ended it.
    Ended(Reason, u32),
    /// The instrument refused to drive it.
    Refused(State),
}

/// One run.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Run {
    /// Test voltage.
    pub set: i32,
    /// Load.
    pub load: Load,
    /// Protection.
    pub series: Series,
    /// Unrest.
    pub unrest: Unrest,
    /// Seed.
    pub seed: u64,
}

/// What became of a run.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Outcome {
    /// The run.
    pub run: Run,
    /// How it ended.
    pub end: End,
    /// Whether its reading was flagged as disturbed at the end.
    pub disturbed: bool,
}

/// Runs the table.
///
/// # Errors
/// The first run that is broken; a refusal to drive is a result.
pub fn run(table: &Passive) -> Result<Vec<Outcome>, Broken> {
    let mut runs = Vec::new();
    for &series in &table.series {
        for &unrest in &table.unrest {
            for &set in &table.sets {
                for &load in &table.loads {
                    runs.extend((1..=table.seeds).map(|seed| Run {
                        set,
                        load,
                        series,
                        unrest,
                        seed,
                    }));
                }
            }
        }
    }
    runs.par_iter().map(Run::outcome).collect()
}

impl Run {
    fn outcome(&self) -> Result<Outcome, Broken> {
        let mut setup = self.series.setup(self.set, self.load);
        setup.seed = self.seed;
        setup.params.noise_volts = self.unrest.noise_volts;
        setup.params.ripple_volts = self.unrest.ripple_volts;
        setup.params.ripple_hertz = self.unrest.ripple_hertz;
        let refused = |state| Outcome { run: *self, end: End::Refused(state), disturbed: false };
        match Rig::start(&setup, |_| Ok(())) {
            Ok(rig) => self.held(rig),
            Err(Broken::NeverDrives(state)) => Ok(refused(state)),
            Err(broken) => Err(broken),
        }
    }

    fn held(&self, mut rig: Rig) -> Result<Outcome, Broken> {
        let mut outcome = Outcome { run: *self, end: End::Held, disturbed: false };
        let mut held = 0;
        for at_ms in 0..RAMP_MS + HOLD_MS {
            rig.run_block()?;
            outcome.disturbed = rig.is_disturbed();
            match rig.state() {
                State::Ramp { .. } => {}
                State::Drive { .. } | State::Peek { .. } => held += 1,
                _ => {
                    outcome.end = ended(&rig, at_ms);
                    return Ok(outcome);
                }
            }
            if held > HOLD_MS {
                return Ok(outcome);
            }
        }
        outcome.end = ended(&rig, RAMP_MS + HOLD_MS);
        Ok(outcome)
    }
}

fn ended(rig: &Rig, at_ms: u32) -> End {
    match rig.status().closed.map(|closing| closing.cause) {
        Some(cause) if cause.is_trip() => End::Tripped(cause, at_ms),
        _ => End::Ended(rig.reason(), at_ms),
    }
}

/// Counts the runs that a rule of the trip ended.
#[must_use]
pub fn trips(outcomes: &[Outcome]) -> usize {
    outcomes.iter().filter(|outcome| matches!(outcome.end, End::Tripped(..))).count()
}
