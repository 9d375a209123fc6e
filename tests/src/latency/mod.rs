//! How fast the trip really is, and that it leaves passive loads alone.
//!
//! Everything runs through the real gate, the real core and the front end of the simulator: filter,
//! converter with 0.75 V a code, noise of 0.75 V rms, actuator of 0.2 ms, regulator with its
//! current limit. `trip_tables` prints what comes of it; `tests/tests/trip.rs` asserts it.
//!
//! # How the latency table is made
//!
//! For each test voltage, load, protection and outside source a real instrument is started on the
//! load; it proves the circuit, gets its permit and ramps. At each moment the whole of it is forked,
//! the switch to the outside source closes at one phase, and the fork runs until the gate has
//! closed and less than 50 uA leaves the source for good. The time is counted to the end of the
//! first sample period without current, so it is up to 0.1 ms too long, and an arrival between two
//! samples is covered. Where a rule of core's own ended the drive first (what looks like too large
//! a store), the gate is asked again beside a core that notices nothing, and the later time counts.
//! Some forks run on for a second, to see that nothing comes back.
//!
//! # What it confirms of the rough model, and what differs
//!
//! The column `rough` is the worst case of an earlier rough model with 1.5 mA, no resistance between
//! regulator and output capacitor, and no noise but that of the converter. The simulator finds the
//! same worst places, and mostly the same numbers: the drive stands some 20 V (230 V) to 35 V (100 V
//! at 15 Hz) below the crest of what arrives, 1 uF smooths it through 1 kohm, and the voltage passes
//! over its crest and down to 10 V below it before it is seen to fall while the source pushes.
//! - 230 V at 15 Hz is 0.6 ms faster: 1.8 mA instead of 1.5 mA drag the terminals to the crest
//!   sooner. With 1.5 mA it is 10.0 ms here too.
//! - 25 V at 45 Hz on 5 kohm is 0.7 ms faster: 0.75 V rms of noise hold the highest sample up.
//!   With the noise of the converter alone it is 14.1 ms.
//! - 25 V at 15 Hz, on the plateau of 5 kohm, is 2.7 ms faster, with either current and noise. The
//!   rough model counted a source through 100 kohm as well; a regulator of a hundredth of the gain,
//!   which is what 100 kohm outside its loop would be, takes 37.3 ms here (coarse grid), 7.0 ms
//!   for 100 V at 45 Hz, and breaks no promise. Inside the loop 100 kohm do not show.
//! - Direct voltages are 0.2 to 1.2 ms from it either way.
//! - Just above 65 Hz the times are those of 65 Hz, not those of 100 or 400 Hz.
//!
//! With 100 kohm between output capacitor and terminals (`100k`) the regulator of this front end
//! rings on 1 to 33 nF and trips by itself at some 20 V: 1 mS into 5 nF, then 100 kohm into the
//! load, is a loop with next to no damping. Its loads in this table are those on which it is quiet.
//! A board with such a protection must hang the output capacitor at the terminals (`100k+C`): that
//! is stable on every load, and no slower.
//!
//! # What it cannot show
//!
//! A conductor that couples in through 10 nF brings up to 1 mA. While the source pushes more than
//! that, its regulator holds the terminals still, and no rule on the voltage can see anything: on
//! 100 kohm it takes 44 ms or is never dropped. Where the load draws less, it is dropped after half
//! a cycle and 5 ms at most. A pick-up that is lived with is told by its current, for the same
//! reason. The look with the source off that comes every 2 s sees any pick-up bare.

pub mod arrival;
pub mod grid;
pub mod low;
pub mod passive;
pub mod pickup;
pub mod print;
pub mod rig;
pub mod rows;
pub mod run;

use ohmwarden_core::interlock::State;
use ohmwarden_sim::circuit::{Diverged, NetError};

/// A source that delivers less than this is off.
pub const OFF_AMPS: f64 = 50.0e-6;

/// A pick-up must be told within so many milliseconds.
pub const TELL_MS: u32 = 300;

/// Why a table cannot be made; never a result.
#[derive(Clone, Debug, PartialEq)]
pub enum Broken {
    /// The circuit cannot be solved.
    Circuit(NetError),
    /// The circuit found no operating point.
    Diverged(Diverged),
    /// The instrument refused to drive a passive load.
    NeverDrives(State),
    /// A set-up was begun and not finished.
    NothingDone,
}

impl core::fmt::Display for Broken {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        match self {
            Self::Circuit(error) => write!(f, "the circuit cannot be solved: {error}"),
            Self::Diverged(error) => write!(f, "{error}"),
            Self::NothingDone => f.write_str("a set-up was begun and not finished"),
            Self::NeverDrives(state) => write!(f, "no drive on a passive load: {state:?}"),
        }
    }
}

impl core::error::Error for Broken {}

impl From<NetError> for Broken {
    fn from(error: NetError) -> Self {
        Self::Circuit(error)
    }
}

impl From<Diverged> for Broken {
    fn from(error: Diverged) -> Self {
        Self::Diverged(error)
    }
}
