//! The circuit solver against a general-purpose circuit simulator, on netlists of our own.
//!
//! Each case is written twice, by hand: as parts of ours and as a netlist for `ngspice`, which
//! integrates it with a small step and tight tolerances. The waveforms are compared at every step
//! of ours; the worst difference is printed as a fraction of the full scale of the waveform.

mod case;
mod drives;
mod other;
mod parts;
mod rectifiers;

use core::error::Error;

type Outcome = Result<(), Box<dyn Error>>;
