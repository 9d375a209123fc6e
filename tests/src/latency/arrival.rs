//! What arrives from outside, and one arrival followed until the source is off.

use ohmwarden_core::gate::Cause;
use ohmwarden_core::invariants::Arrival;
use ohmwarden_core::unit::{Frequency, Resistance, Voltage};
use ohmwarden_sim::circuit::{InputId, NetError, Netlist, Part, PartId, Wave};
use ohmwarden_sim::frontend::Bench;

use super::rig::{RATE, Rig};
use super::{Broken, OFF_AMPS};

/// Samples after which a source that is still on counts as never going off: 2 s.
const NEVER: u32 = 20_000;
/// Samples without current after which the source is off: longer than the actuator takes.
const AFTER: u32 = 4;
/// An open switch to the outside source.
const APART_OHMS: f64 = 1.0e12;

/// What arrives.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Comes {
    /// A sine.
    Alternating {
        /// Volts, rms.
        rms: f64,
        /// Frequency.
        hz: f64,
        /// Phase at the moment of arrival.
        phase_deg: f64,
    },
    /// A direct voltage.
    Direct {
        /// Volts, with sign.
        volts: f64,
    },
}

impl Comes {
    /// Whether it is more than a passive circuit may show when it is proved: 25 V.
    #[must_use]
    pub fn is_above_safe(&self) -> bool {
        match *self {
            Self::Alternating { rms, .. } => rms >= 25.0,
            Self::Direct { volts } => volts.abs() >= 25.0,
        }
    }

    /// Says it in the terms of the promise; `own` is where our own drive stood, `low` what it comes
    /// through in a continuity drive.
    #[must_use]
    pub fn arrival(&self, own: f64, low: Option<Resistance>) -> Arrival {
        let volts = |v: f64| Voltage::from_microvolts((v * 1.0e6).round() as i32);
        let still = Arrival {
            rms: Voltage::ZERO,
            hz: Frequency::ZERO,
            dc: Voltage::ZERO,
            own: volts(own),
            low,
        };
        match *self {
            Self::Alternating { rms, hz, .. } => Arrival {
                rms: volts(rms),
                hz: Frequency::from_millihertz((hz * 1.0e3).round() as u32),
                ..still
            },
            Self::Direct { volts: dc } => Arrival { dc: volts(dc), ..still },
        }
    }
}

/// The outside source behind its open switch.
#[derive(Clone, Copy, Debug)]
pub struct Outside {
    switch: PartId,
    source: PartId,
    volts: InputId,
}

impl Outside {
    /// Adds a source of `hz` (`None`: a direct one) through `ohms`, switched off.
    ///
    /// # Errors
    /// As [`Netlist::add`].
    pub fn put(net: &mut Netlist, hz: Option<f64>, ohms: f64) -> Result<Self, NetError> {
        let (pos, neg) = (net.node("lead.pos"), net.node("lead.neg"));
        let live = net.node("live");
        let volts = net.input("outside.volts", 0.0);
        let wave = match hz {
            Some(hertz) => {
                Wave::Sine { volts_rms: 1.0, hertz, phase_deg: 0.0, harmonics: [].into() }
            }
            None => Wave::Input(volts),
        };
        // The switch is a tenth of the resistance, so that the whole is `ohms`.
        let on_ohms = 0.1 * ohms;
        let source = net.add("outside", Part::Source { pos: live, neg, ohms: 0.9 * ohms, wave })?;
        let switch = net.add(
            "outside.switch",
            Part::Switch { a: live, b: pos, on_ohms, off_ohms: APART_OHMS, closed: false },
        )?;
        Ok(Self { switch, source, volts })
    }

    /// Lets `comes` arrive now.
    pub fn arrive(&self, rig: &mut Rig, comes: &Comes) {
        let circuit = rig.bench.circuit_mut();
        match *comes {
            Comes::Alternating { rms, hz, phase_deg } => {
                circuit.set_sine(self.source, rms, hz, phase_deg);
            }
            Comes::Direct { volts } => circuit.set_input(self.volts, volts),
        }
        circuit.set_switch(self.switch, true);
    }
}

/// How one arrival ended.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ended {
    /// Samples from the arrival to the end of the first period with the gate closed and less than
    /// 50 uA out of the source; `None`: not within 2 s.
    pub samples: Option<u32>,
    /// Why the gate closed.
    pub cause: Option<Cause>,
}

impl Ended {
    /// The time in milliseconds; infinite where the source never went off.
    #[must_use]
    pub fn milliseconds(&self) -> f64 {
        self.samples.map_or(f64::INFINITY, |n| f64::from(n) * 1.0e3 / f64::from(RATE))
    }
}

/// Runs until the source is off for good; `before` moves what is outside, before each sample.
///
/// The current may be gone for a moment although the source is on, while what is outside stands
/// above the set point; so the last sample counts at which the gate was open or current flowed.
///
/// # Errors
/// The circuit found no operating point.
pub fn follow(rig: &mut Rig, before: impl FnMut(&mut Bench)) -> Result<Ended, Broken> {
    follow_until(rig, AFTER, before)
}

/// As [`follow`]; the source is off for good after `after` samples without current.
///
/// # Errors
/// The circuit found no operating point.
pub fn follow_until(
    rig: &mut Rig,
    after: u32,
    mut before: impl FnMut(&mut Bench),
) -> Result<Ended, Broken> {
    let mut last_on = 0;
    let mut cause = None;
    for samples in 1..=NEVER {
        before(&mut rig.bench);
        rig.step()?;
        if rig.is_on() || rig.truth().source_amps >= OFF_AMPS {
            last_on = samples;
        } else if samples - last_on > after {
            return Ok(Ended { samples: Some(last_on + 1), cause });
        }
        if cause.is_none() && !rig.is_on() {
            cause = rig.status().closed.map(|closing| closing.cause);
        }
    }
    Ok(Ended { samples: None, cause: None })
}

/// Runs on for `milliseconds` after the source went off and tells whether it stayed off.
///
/// # Errors
/// The circuit found no operating point.
pub fn stays_off(rig: &mut Rig, milliseconds: u32) -> Result<bool, Broken> {
    for _ in 0..milliseconds * RATE / 1_000 {
        rig.step()?;
        if rig.is_on() || rig.truth().source_amps >= OFF_AMPS {
            return Ok(false);
        }
    }
    Ok(true)
}
