//! The range of each value of a part. They are wide: they keep out what arithmetic cannot carry and
//! what is surely a slip, and leave judgement to the user.

use alloc::string::String;
use alloc::vec::Vec;

use super::error::NetError;
use super::part::{Part, Wave};

const OHMS: (f64, f64) = (1e-6, 1e16);
const FARADS: (f64, f64) = (1e-16, 1e3);
const HENRIES: (f64, f64) = (1e-12, 1e6);
const SIEMENS: (f64, f64) = (1e-12, 1e4);
const HERTZ: (f64, f64) = (1e-6, 1e9);
const EITHER_SIGN: (f64, f64) = (-1e9, 1e9);
const NOT_NEGATIVE: (f64, f64) = (0.0, 1e9);
const POSITIVE: (f64, f64) = (1e-15, 1e9);

impl Part {
    /// Checks every value of the part against its range and against the others.
    pub(super) fn check(&self, name: &str) -> Result<(), NetError> {
        for (key, value, (least, most)) in self.values() {
            if !(value >= least && value <= most) {
                let part = String::from(name);
                return Err(NetError::OutOfRange { part, key, value, least, most });
            }
        }
        let wanted = match *self {
            Self::Switch { on_ohms, off_ohms, .. } | Self::Diode { on_ohms, off_ohms, .. }
                if on_ohms >= off_ohms =>
            {
                "off_ohms must be more than on_ohms"
            }
            Self::Arc { strike_volts, arc_volts, .. } if strike_volts < arc_volts => {
                "strike_volts must be at least arc_volts"
            }
            _ if self.ends().0 == self.ends().1 => {
                return Err(NetError::BothEndsTogether { part: String::from(name) });
            }
            _ => return Ok(()),
        };
        Err(NetError::Contradiction { part: String::from(name), wanted })
    }

    fn values(&self) -> Vec<(&'static str, f64, (f64, f64))> {
        match *self {
            Self::Resistor { ohms, .. } => [("ohms", ohms, OHMS)].into(),
            Self::Capacitor { farads, volts, .. } => {
                [("farads", farads, FARADS), ("volts", volts, EITHER_SIGN)].into()
            }
            Self::Inductor { henries, amps, .. } => {
                [("henries", henries, HENRIES), ("amps", amps, EITHER_SIGN)].into()
            }
            Self::Switch { on_ohms, off_ohms, .. } => {
                [("on_ohms", on_ohms, OHMS), ("off_ohms", off_ohms, OHMS)].into()
            }
            Self::Diode { volts, on_ohms, off_ohms, .. } => [
                ("volts", volts, NOT_NEGATIVE),
                ("on_ohms", on_ohms, OHMS),
                ("off_ohms", off_ohms, OHMS),
            ]
            .into(),
            Self::Clamp { volts, on_ohms, .. } => {
                [("volts", volts, POSITIVE), ("on_ohms", on_ohms, OHMS)].into()
            }
            Self::Arc { strike_volts, arc_volts, on_ohms, hold_amps, .. } => [
                ("strike_volts", strike_volts, POSITIVE),
                ("arc_volts", arc_volts, NOT_NEGATIVE),
                ("on_ohms", on_ohms, OHMS),
                ("hold_amps", hold_amps, NOT_NEGATIVE),
            ]
            .into(),
            Self::CurrentLimit { on_ohms, amps, .. } => {
                [("on_ohms", on_ohms, OHMS), ("amps", amps, POSITIVE)].into()
            }
            Self::Regulator { siemens, limit_per_volt, .. } => {
                [("siemens", siemens, SIEMENS), ("limit_per_volt", limit_per_volt, (-1.0, 1.0))]
                    .into()
            }
            Self::Follower { gain, ohms, .. } => [("gain", gain, EITHER_SIGN), series(ohms)].into(),
            Self::Source { ohms, ref wave, .. } => {
                let mut all = wave.values();
                all.push(series(ohms));
                all
            }
            Self::CurrentSource { ref wave, .. } => wave.values(),
        }
    }
}

impl Wave {
    fn values(&self) -> Vec<(&'static str, f64, (f64, f64))> {
        match self {
            Self::Dc(volts) => [("volts", *volts, EITHER_SIGN)].into(),
            Self::Input(_) => Vec::new(),
            Self::Sine { volts_rms, hertz, phase_deg, harmonics } => {
                let mut all = Vec::from(sine_values(*volts_rms, *hertz, *phase_deg));
                for harmonic in harmonics {
                    all.push(("order", f64::from(harmonic.order), (2.0, 1000.0)));
                    all.push(("fraction", harmonic.fraction, EITHER_SIGN));
                    all.push(("phase_deg", harmonic.phase_deg, EITHER_SIGN));
                }
                all
            }
        }
    }
}

/// Lists the values of a sine with their ranges, for a new part and for a restart alike.
pub(super) const fn sine_values(
    volts_rms: f64,
    hertz: f64,
    phase_deg: f64,
) -> [(&'static str, f64, (f64, f64)); 3] {
    [
        ("volts_rms", volts_rms, NOT_NEGATIVE),
        ("hertz", hertz, HERTZ),
        ("phase_deg", phase_deg, EITHER_SIGN),
    ]
}

/// Zero is an ideal source; anything else must be a usable resistance.
fn series(ohms: f64) -> (&'static str, f64, (f64, f64)) {
    ("ohms", ohms, if ohms == 0.0 { NOT_NEGATIVE } else { OHMS })
}
