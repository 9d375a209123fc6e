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

use super::Block;
use super::circuit::{Circuit, Evidence};
use super::live::{alternating_peak, is_live};
use super::pulses::Pulses;
use crate::hazard::STANDING_CURRENT;
use crate::interlock::Lock;
use crate::profile::{FrontEnd, Profile};
use crate::signal::{Level, Sums};
use crate::unit::{Resistance, Voltage};
use crate::wide::scaled;

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

/// Where the sequence stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Phase {
    Idle,
    Relays,
    Open,
    Pulse { on: bool },
    Load,
    Close,
    BiasOn,
    Bias,
    BiasOff,
    Topology,
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
/// Blocks of 1 ms that the bias takes to settle before it is read, and to die away afterwards.
const BIAS_SETTLE: u16 = 5;
/// Blocks over which it is read.
const BIAS_READ: u16 = 15;
/// Blocks of one pulse of the discharge resistor.
const PULSE_ON: u16 = 20;
/// Blocks between two pulses.
const PULSE_OFF: u16 = 40;
/// Blocks under load for an alternating voltage.
const LOAD: u16 = 60;
/// The last of them, over which it is read: two cycles of 50 Hz, after the coupling has settled.
const LOAD_READ: u16 = 40;

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
            Phase::Load => self.left == LOAD_READ,
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
        self.left = match phase {
            Phase::Idle => 0,
            Phase::Relays | Phase::Close => blocks(profile.front_end.relay.as_millis()),
            Phase::Open | Phase::Topology => blocks(profile.window.as_millis()),
            Phase::Pulse { on: true } => PULSE_ON,
            Phase::Pulse { on: false } => PULSE_OFF,
            Phase::Load => LOAD,
            Phase::BiasOn | Phase::BiasOff => BIAS_SETTLE,
            Phase::Bias => BIAS_READ,
        };
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

    fn note(&mut self, level: &Level<Voltage>) {
        self.evidence.dc = level.dc;
        self.evidence.ac = level.ac;
        self.evidence.peak = alternating_peak(level);
    }

    fn leave_open(
        &mut self,
        level: &Level<Voltage>,
        last: Voltage,
        pulsed: bool,
        profile: &Profile,
    ) -> Option<Outcome> {
        self.note(level);
        let quiet = &profile.quiet;
        let moves = !level.ac.is_below(quiet.ac);
        let alternates = moves && self.rise.is_more_than_noise(&profile.front_end);
        // What came or went within the window would seem to collapse under the load.
        let steady = !self.weakest.is_below(level.rms.div(5).saturating_mul(2));
        if alternates && !steady && self.purpose == Purpose::Drive {
            return self.go(Phase::Open, profile);
        }
        if alternates {
            return self.go(Phase::Load, profile);
        }
        if moves && last.abs().is_below(quiet.dc) {
            // A small charge that has just died away on the dividers: nothing is known yet.
            return self.go(Phase::Open, profile);
        }
        if moves || !level.dc.abs().is_below(quiet.dc) {
            self.pulses = Pulses::starting_from(last);
            return self.go(Phase::Pulse { on: true }, profile);
        }
        // Quiet now, but not a moment ago.
        if pulsed {
            return Some(Outcome::Class(Circuit::LivePulsed));
        }
        if !alternating_peak(level).is_below(quiet.excursion) {
            return Some(Outcome::Class(Circuit::Unproven));
        }
        self.settled(Circuit::Dead, profile)
    }

    fn leave_pulse(
        &mut self,
        level: &Level<Voltage>,
        on: bool,
        profile: &Profile,
    ) -> Option<Outcome> {
        if on {
            self.pulses.fell_to(level.dc);
            return self.go(Phase::Pulse { on: false }, profile);
        }
        self.pulses.came_back_to(level.dc);
        if !self.pulses.are_done() {
            return self.go(Phase::Pulse { on: true }, profile);
        }
        self.evidence.loaded = Some(self.pulses.loaded());
        self.evidence.source =
            source_resistance(self.evidence.dc, self.pulses.loaded(), &profile.front_end);
        let class = match self.pulses.class() {
            Circuit::LiveDc if self.may_stand(profile) => Circuit::Standing,
            class => class,
        };
        self.settled(class, profile)
    }

    fn leave_load(&mut self, level: &Level<Voltage>, profile: &Profile) -> Option<Outcome> {
        self.evidence.loaded = Some(level.ac);
        let open = self.evidence.ac;
        // A light load takes pick-up down to nothing much: below 10 V and a quarter of what it was
        // is less than 0.1 mA.
        let collapsed = level.ac < Voltage::from_volts(10) && level.ac < open.div(4);
        let dc = self.evidence.dc.abs();
        let class = match (collapsed, dc < profile.quiet.dc) {
            (true, true) => Circuit::Induced,
            (_, true) if open < profile.trip.rms => Circuit::Unproven,
            (_, true) => Circuit::LiveAc,
            (_, false) => Circuit::LiveMixed,
        };
        self.settled(class, profile)
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

    /// The same look in the drive topology, and the answer to the bias measured against it.
    fn leave_topology(
        &mut self,
        level: &Level<Voltage>,
        pulsed: bool,
        profile: &Profile,
    ) -> Outcome {
        let [a, b] = &self.pair;
        let front = &profile.front_end;
        let [biased, biased2] = self.biased;
        let answers =
            [biased.saturating_sub(a.mean(&front.v)), a_minus_b(b.mean(&front.v2), biased2)];
        let before = self.evidence.dc;
        self.note(level);
        match answer(answers, front.bias) {
            Answer::Right => {}
            Answer::Broken if self.purpose == Purpose::Boot || quiet_enough(self.found) => {
                return Outcome::Broken(Lock::Reference);
            }
            // Beside what alternates, the answer of some milliseconds says nothing of the channels.
            Answer::Broken | Answer::None if !level.ac.is_below(profile.quiet.ac) => {
                return Outcome::Class(Circuit::Unproven);
            }
            Answer::Broken | Answer::None => return Outcome::Channels,
        }
        if self.purpose == Purpose::Boot {
            return Outcome::Class(self.found);
        }
        if pulsed {
            return Outcome::Class(Circuit::LivePulsed);
        }
        Outcome::Class(self.look_again(level, before, profile))
    }

    fn look_again(&self, level: &Level<Voltage>, before: Voltage, profile: &Profile) -> Circuit {
        let quiet = &profile.quiet;
        let peak = alternating_peak(level);
        let moved = level.dc.saturating_sub(before).abs();
        let still = moved < Voltage::from_volts(2) && level.ac < quiet.ac;
        match self.found {
            Circuit::Dead
                if level.dc.abs() < quiet.dc && level.ac < quiet.ac && peak < quiet.excursion =>
            {
                Circuit::Dead
            }
            Circuit::Standing if still => Circuit::Standing,
            // Above 20 V peak in the drive topology the residual rule would trip on it.
            Circuit::Induced if peak < Voltage::from_volts(20) => Circuit::Induced,
            _ if is_live(level, profile) && level.ac < quiet.ac => Circuit::LiveDc,
            _ if is_live(level, profile) => Circuit::LiveAc,
            _ => Circuit::Unproven,
        }
    }

    fn may_stand(&self, profile: &Profile) -> bool {
        let dc = self.evidence.dc.abs();
        let weak = self.evidence.source.is_some_and(|r| {
            // i = v / R + v / R_in, in pA from uV and mohm.
            let through = |ohms: Resistance| {
                let milliohms = i64::try_from(ohms.as_milliohms()).unwrap_or(i64::MAX);
                scaled(i64::from(dc.as_microvolts()), 1_000_000_000, milliohms).unwrap_or(i64::MAX)
            };
            let most = STANDING_CURRENT.as_picoamps();
            through(r).saturating_add(through(profile.front_end.input)) <= most
        });
        weak && !profile.standing_max.is_below(dc) && Voltage::ZERO.is_below(profile.standing_max)
    }
}

/// How far the voltage rose, in magnitude, above the least that it was before in the window: what
/// only a source can do. A charge that decays looks alternating to an RMS, but never rises.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Rise {
    sign: i32,
    least: i32,
    most: i32,
}

impl Rise {
    const NONE: Self = Self { sign: 0, least: i32::MAX, most: 0 };

    /// Takes the extremes of one block; what rises and falls within one is seen across the next.
    fn step(&mut self, (least, greatest): (i16, i16)) {
        if self.sign == 0 {
            self.sign = if least < 0 { -1 } else { 1 };
        }
        let (a, b) = (i32::from(least), i32::from(greatest));
        let (low, high) = if self.sign < 0 { (b.wrapping_neg(), a.wrapping_neg()) } else { (a, b) };
        if self.least != i32::MAX {
            self.most = self.most.max(high.wrapping_sub(self.least));
        }
        self.least = self.least.min(low);
    }

    /// 10 V: the peak to peak of 3.5 V rms, twice that of the front end's own noise.
    fn is_more_than_noise(&self, front: &FrontEnd) -> bool {
        let code = i16::try_from(self.most).unwrap_or(i16::MAX);
        Voltage::from_volts(10) < front.v.to_quantity(code).abs()
    }
}

const fn blocks(millis: u32) -> u16 {
    if millis > u16::MAX as u32 {
        u16::MAX
    } else {
        #[expect(clippy::cast_possible_truncation, reason = "bounded by the line above")]
        let blocks = millis as u16;
        blocks
    }
}

fn a_minus_b(a: Voltage, b: Voltage) -> Voltage {
    a.saturating_sub(b)
}

const fn quiet_enough(class: Circuit) -> bool {
    matches!(class, Circuit::Dead | Circuit::Standing)
}

/// How the channels answered the bias.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Answer {
    Right,
    /// Both answered, both alike wrong: what they have in common is off.
    Broken,
    /// One answered wrongly or not at all.
    None,
}

/// Both channels together within 8 % of the expected shift: right. What the terminals themselves
/// did between the two windows moves one answer up and the other down and falls out of the mean; a
/// dead channel halves it. The bias comes from a reference of its own, so a converter reference
/// that sags shows here although both channels agree.
fn answer(shifts: [Voltage; 2], expected: Voltage) -> Answer {
    let most = expected.div(100).saturating_mul(8);
    let [a, b] = shifts;
    let mean = a.saturating_add(b).div(2);
    let apart = a.saturating_sub(b).abs();
    if mean.saturating_sub(expected).abs() < most && apart < expected {
        Answer::Right
    } else if expected.div(2) < a && expected.div(2) < b && apart < most {
        Answer::Broken
    } else {
        Answer::None
    }
}

/// The resistance of a source that shows `open` on our input and `loaded` under the discharge
/// resistor: `R = R_in d / (loaded R_in / R_d - d)` with `d = open - loaded` (two loads on one linear
/// source, solved for its resistance). `None` where there is no answer: nothing is left.
fn source_resistance(open: Voltage, loaded: Voltage, front: &FrontEnd) -> Option<Resistance> {
    let sag = open.abs().saturating_sub(loaded.abs()).greatest(Voltage::ZERO);
    let (sag, loaded) = (i64::from(sag.as_microvolts()), i64::from(loaded.abs().as_microvolts()));
    let input = i64::try_from(front.input.as_milliohms()).unwrap_or(i64::MAX);
    let load = i64::try_from(front.discharge.as_milliohms()).unwrap_or(i64::MAX);
    let drawn = scaled(loaded, input, load)?;
    let left = drawn.saturating_sub(sag);
    if left <= 0 {
        return Some(front.input);
    }
    let milliohms = scaled(input, sag, left)?;
    Some(Resistance::from_milliohms(u64::try_from(milliohms).unwrap_or(u64::MAX)))
}
