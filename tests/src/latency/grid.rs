//! Which set-ups, moments and phases a table runs through.

use ohmwarden_core::unit::Voltage;
use ohmwarden_sim::frontend::FrontEndParams;

use super::rig::{Load, Setup};

/// How the series protection stands to the output capacitor.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Series {
    /// So many ohms between the output capacitor and the terminals, as the front end is drawn.
    Behind(f64),
    /// So many ohms between the source and the output capacitor, which hangs at the terminals.
    Before(f64),
}

/// What is left at the source where the output capacitor hangs at the terminals.
const STRAY_FARADS: f64 = 10.0e-12;

impl Series {
    /// Makes the set-up of a drive.
    #[must_use]
    pub fn setup(self, set: i32, load: Load) -> Setup {
        let set = Voltage::from_volts(set);
        match self {
            Self::Behind(ohms) => Setup::new(set, load, ohms),
            Self::Before(ohms) => {
                let mut setup = Setup::new(set, load, ohms);
                setup.load.farads += setup.params.output_farads;
                setup.params.output_farads = STRAY_FARADS;
                setup
            }
        }
    }
}

impl core::fmt::Display for Series {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        match self {
            Self::Behind(ohms) => write!(f, "{}k", ohms / 1e3),
            Self::Before(ohms) => write!(f, "{}k+C", ohms / 1e3),
        }
    }
}

/// A grid: every combination is run.
#[derive(Clone, Debug)]
pub struct Grid {
    /// Test voltages.
    pub sets: Vec<i32>,
    /// Loads.
    pub loads: Vec<Load>,
    /// Protections.
    pub series: Vec<Series>,
    /// Resistances of the outside source.
    pub outside_ohms: Vec<f64>,
    /// Phases of each sine.
    pub phases: u32,
    /// Milliseconds between two arrivals in the ramp.
    pub every: u32,
    /// Arrivals in hold, in milliseconds after it began.
    pub hold: Vec<u32>,
    /// Whether sines arrive every other millisecond as well while a ramp stands a little under their
    /// crest, where the trip is slowest.
    pub under_crest: bool,
    /// Changes the electronics of every set-up; for trials.
    pub front_end: fn(&mut FrontEndParams),
}

fn loads(farads: &[f64], ohms: &[f64]) -> Vec<Load> {
    let with = |f: f64| ohms.iter().map(move |&r| Load { ohms: r, farads: f });
    farads.iter().flat_map(|&f| with(f)).collect()
}

impl Grid {
    /// Makes the grid of the go or no-go: every millisecond of the ramp.
    #[must_use]
    pub fn full() -> Self {
        Self {
            sets: vec![50, 100, 250, 500, 1_000],
            loads: loads(&[0.0, 100.0e-9, 1.0e-6], &[5.0e3, 100.0e3, 1.0e6, f64::INFINITY]),
            series: vec![Series::Behind(1.0e3), Series::Behind(100.0e3), Series::Before(100.0e3)],
            outside_ohms: vec![10.0, 1_000.0],
            phases: 48,
            every: 1,
            hold: (0..10).map(|n| 2 * n).chain([100, 103, 107, 300]).collect(),
            under_crest: false,
            front_end: |_| {},
        }
    }

    /// Makes the grid for what lies between: fewer phases and moments, many more voltages.
    #[must_use]
    pub fn between() -> Self {
        Self { phases: 16, every: 3, hold: vec![0, 6, 13, 100], ..Self::full() }
    }

    /// Makes a grid that runs within a minute.
    #[must_use]
    pub fn coarse() -> Self {
        Self { phases: 12, every: 40, hold: vec![0, 100], under_crest: true, ..Self::full() }
    }

    /// Makes a grid for builds that are not optimised: the places where the full one is slowest.
    #[must_use]
    pub fn quick() -> Self {
        Self {
            sets: vec![250, 1_000],
            loads: loads(&[1.0e-6], &[5.0e3, 100.0e3, f64::INFINITY]),
            series: vec![Series::Behind(1.0e3)],
            outside_ohms: vec![1_000.0],
            every: 80,
            hold: vec![0],
            ..Self::coarse()
        }
    }
}
