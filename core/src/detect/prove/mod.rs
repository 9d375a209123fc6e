//! The proof, with the source off: which class is the circuit of, and do both channels work?
//!
//! A sequence of windows, each of at least the profile's length, never across a relay change:
//!
//! 1. terminals open (output relay apart), 15 ms after it moved;
//! 2. only where a direct voltage stands: three pulses of the discharge resistor, 20 ms each,
//!    40 ms apart; where an alternating one stands: 60 ms under the resistor. A passive store of
//!    up to 5 uF falls by at least 3.9 % a pulse and stays down; a source comes back;
//! 3. output relay closed; the proving bias moves the two channels apart, the load sees none of it;
//! 4. the same look again in the topology of the drive, which ends at most 20 ms before the drive.
//!
//! Worst case 15 + 120 + 180 + 15 + 25 + 120 ms = 475 ms, twice the windows for a profile that
//! permits standing voltage. A known blind spot: a slow store in front of a weak
//! source passes as charged until its discharge stalls.
//!
//! Here is the order of the windows. What a window says of the circuit stands in `classes`, how the
//! channels answered the bias in `bias`.

use super::Block;
use super::circuit::{Circuit, Evidence};
use crate::interlock::Lock;
use crate::profile::{FrontEnd, Profile};
use crate::signal::{Level, Sums};
use crate::unit::Voltage;

use phase::Phase;
use pulses::Pulses;
use rise::Rise;

mod bias;
mod classes;
mod phase;
mod pulses;
mod rise;

/// What a proof is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum Purpose {
    /// To drive: the whole sequence.
    Drive,
    /// To tell the class of something live: open and loaded only.
    Tell,
    /// The self-test after power-up: open, then the bias.
    Boot,
}

/// What the sequence asks of the hardware now.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Asks {
    /// The output relay closed.
    pub relay: bool,
    /// The discharge resistor across the terminals.
    pub discharge: bool,
    /// The proving bias on.
    pub bias: bool,
}

/// How a sequence ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum Outcome {
    /// The circuit is of this class; the channels were proved unless the purpose was to tell.
    Class(Circuit),
    /// A channel did not answer the bias.
    Channels,
    /// Both channels answered alike wrongly.
    Broken(Lock),
}

/// The sequence. One instance, restarted for each proof.
#[derive(Clone, Copy, Debug)]
pub struct Prover {
    phase: Phase,
    purpose: Purpose,
    left: u16,
    pair: [Sums; 2],
    biased: [Voltage; 2],
    rise: Rise,
    slot: Sums,
    /// The least true RMS, offset included, of a slot of this window.
    weakest: Voltage,
    pulses: Pulses,
    found: Circuit,
    evidence: Evidence,
}

/// Blocks of one slot of a window: the least part over which a supply of 15 Hz has an RMS worth
/// comparing, 0.7 of the whole at the least.
const SLOT: u16 = 20;

impl Prover {
    /// Nothing runs.
    pub const IDLE: Self = Self {
        phase: Phase::Idle,
        purpose: Purpose::Tell,
        left: 0,
        pair: [Sums::EMPTY; 2],
        biased: [Voltage::ZERO; 2],
        rise: Rise::NONE,
        slot: Sums::EMPTY,
        weakest: Voltage::MAX,
        pulses: Pulses::EMPTY,
        found: Circuit::Unproven,
        evidence: Evidence::NONE,
    };

    /// Starts a sequence.
    pub const fn start(&mut self, purpose: Purpose, profile: &Profile) {
        *self = Self::IDLE;
        self.purpose = purpose;
        self.enter(Phase::Relays, profile);
    }

    /// Stops it, with everything released.
    pub const fn stop(&mut self) {
        self.phase = Phase::Idle;
    }

    /// Whether a sequence runs.
    #[must_use]
    pub const fn is_running(&self) -> bool {
        !matches!(self.phase, Phase::Idle)
    }

    /// What it asks of the hardware now.
    #[must_use]
    pub const fn asks(&self) -> Asks {
        Asks {
            relay: matches!(
                self.phase,
                Phase::Close | Phase::BiasOn | Phase::Bias | Phase::BiasOff | Phase::Topology
            ) && matches!(self.purpose, Purpose::Drive),
            discharge: self.asks_discharge(),
            bias: matches!(self.phase, Phase::BiasOn | Phase::Bias),
        }
    }

    /// Whether the proof itself moves the voltage: by the discharge resistor, by joining the output
    /// capacitor, by the bias.
    #[must_use]
    pub const fn disturbs(&self) -> bool {
        matches!(self.phase, Phase::Pulse { .. } | Phase::Load | Phase::Close) || self.is_biased()
    }

    /// Whether it asks for the discharge resistor now.
    pub(crate) const fn asks_discharge(&self) -> bool {
        matches!(self.phase, Phase::Pulse { on: true } | Phase::Load)
    }

    /// Whether the bias moves the channels apart, or may still do.
    #[must_use]
    pub const fn is_biased(&self) -> bool {
        matches!(self.phase, Phase::BiasOn | Phase::Bias | Phase::BiasOff)
    }

    /// Whether the terminals are joined as in a drive, with nothing of the proof's own on them.
    #[must_use]
    pub const fn is_in_topology(&self) -> bool {
        matches!(self.phase, Phase::Topology)
    }

    /// The numbers behind the last class.
    #[must_use]
    pub const fn evidence(&self) -> Evidence {
        self.evidence
    }

    /// Takes one block of 1 ms; answers how the sequence ended, once.
    pub fn step(&mut self, block: &Block, pulsed: bool, profile: &Profile) -> Option<Outcome> {
        if !self.is_running() {
            return None;
        }
        let [a, b] = &mut self.pair;
        let [v, v2] = &block.sums;
        a.merge(v);
        b.merge(v2);
        self.left = self.left.saturating_sub(1);
        if matches!(self.phase, Phase::Open) {
            self.rise.step(v.extremes());
            self.watch_slots(v, profile);
        }
        let starts_reading = match self.phase {
            Phase::Pulse { .. } => self.left == Pulses::READ,
            Phase::Load => self.left == Phase::LOAD_READ,
            _ => false,
        };
        if starts_reading {
            self.pair = [Sums::EMPTY; 2];
        }
        if self.left > 0 {
            return None;
        }
        let level = self.level(&profile.front_end);
        let outcome = self.leave(&level, block.v, pulsed, profile);
        if outcome.is_some() {
            self.phase = Phase::Idle;
        }
        outcome
    }

    fn watch_slots(&mut self, v: &Sums, profile: &Profile) {
        self.slot.merge(v);
        if self.left.is_multiple_of(SLOT) {
            let rms = self.slot.level::<Voltage>(&profile.front_end.v).rms;
            self.weakest = self.weakest.least(rms);
            self.slot = Sums::EMPTY;
        }
    }

    /// The level of the window that ends, by the channel that reads more: the safe one to believe.
    fn level(&self, front: &FrontEnd) -> Level<Voltage> {
        let [a, b] = &self.pair;
        let (first, second) = (a.level(&front.v), b.level(&front.v2));
        if first.rms < second.rms { second } else { first }
    }

    #[inline(never)]
    const fn enter(&mut self, phase: Phase, profile: &Profile) {
        self.phase = phase;
        self.pair = [Sums::EMPTY; 2];
        self.rise = Rise::NONE;
        self.slot = Sums::EMPTY;
        self.weakest = Voltage::MAX;
        self.left = phase.blocks(profile);
    }

    fn leave(
        &mut self,
        level: &Level<Voltage>,
        last: Voltage,
        pulsed: bool,
        profile: &Profile,
    ) -> Option<Outcome> {
        match self.phase {
            Phase::Idle => None,
            Phase::Relays => self.go(Phase::Open, profile),
            Phase::Open => self.leave_open(level, last, pulsed, profile),
            Phase::Pulse { on } => self.leave_pulse(level, on, profile),
            Phase::Load => self.leave_load(level, profile),
            Phase::Close => self.go(Phase::BiasOn, profile),
            Phase::BiasOn => self.go(Phase::Bias, profile),
            Phase::Bias => {
                let [a, b] = &self.pair;
                let front = &profile.front_end;
                self.biased = [a.mean(&front.v), b.mean(&front.v2)];
                self.go(Phase::BiasOff, profile)
            }
            Phase::BiasOff => self.go(Phase::Topology, profile),
            Phase::Topology => Some(self.leave_topology(level, pulsed, profile)),
        }
    }

    fn go(&mut self, phase: Phase, profile: &Profile) -> Option<Outcome> {
        self.enter(phase, profile);
        None
    }

    /// The class with the terminals open is known. Only what the profile may drive goes on to the
    /// drive topology.
    fn settled(&mut self, class: Circuit, profile: &Profile) -> Option<Outcome> {
        self.found = class;
        let goes_on = match self.purpose {
            Purpose::Tell => false,
            Purpose::Boot => true,
            Purpose::Drive => {
                matches!(class, Circuit::Dead | Circuit::Standing)
                    || (matches!(class, Circuit::Induced) && profile.induced)
            }
        };
        if goes_on { self.go(Phase::Close, profile) } else { Some(Outcome::Class(class)) }
    }
}
