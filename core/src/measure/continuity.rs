//! Continuity and resistance: both directions of current, so that an EMF and an offset cancel.
//!
//! One turn of current after the other: `R = (V+ - V-) / (I+ - I-)`. A turn is read once the
//! current has settled (less than 1 % in 50 ms). The current of a winding goes on through the
//! freewheel in the gap between two turns; it could not be reversed within the 10 ms that a gap in a
//! drive may last, so a winding is read in one direction only. Its current must fall meanwhile: what
//! does not is driven from outside.

use super::{Ranger, amps, volts};
use crate::calibration::Adjusted;
use crate::detect::coarse_current;
use crate::frame::Sample;
use crate::gate::Polarity;
use crate::judge::{Budget, CONTACTS, Flags, Reading, Unit, Value};
use crate::profile::{Profile, Scale, Shunt};
use crate::signal::{Mean, SampleRate, Sums};
use crate::unit::{Current, Duration, Resistance, Voltage};

/// What the hardware is to do in this block.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Turn {
    /// Drive in this direction.
    Drive(Polarity),
    /// Source off, relays for this direction.
    Gap(Polarity),
}

/// One window: the settling of the current is judged from one to the next.
const PART: Duration = Duration::from_millis(50);
/// Windows before a turn is given up as unsettled: 2 s.
const PATIENCE: u8 = 40;
/// Readings of a winding between two gaps that look whether its current would die away.
const LOOK_EVERY: u8 = 20;
/// Blocks of the gap between two directions: the relays travel; at most 10 ms.
const GAP: u8 = 8;
/// Blocks before its end at which the source is surely off.
const IN_GAP: u8 = 6;
/// Blocks before its end at which the path is turned round.
const TURN_ROUND: u8 = 4;
/// A winding's current falls by so much, at the least, from the middle of a gap to the turning round:
/// 0.7 V of the freewheel across 7.5 H, the most that lets its current die away in 2 s.
const DECAYS: Current = Current::from_microamps(150);
/// What a store may seem to hold in a gap above what we put in.
const SPARE: Voltage = Voltage::from_millivolts(1_000);
/// Greatest resistance shown as a number by continuity, and by resistance.
const GREATEST: [f32; 2] = [2.0e3, 2.0e6];

/// Measures one press.
#[derive(Clone, Copy, Debug)]
pub struct Continuity {
    low: Sums,
    i: Sums,
    part_samples: u32,
    polarity: Polarity,
    gap: u8,
    parts: u8,
    last_i: f32,
    forward: Option<(f32, f32)>,
    ranger: Ranger,
    skip: bool,
    last: f32,
    equal: u8,
    readings: u16,
    raw: Option<f32>,
    reading: Reading,
    i_shown: f32,
    /// `None` for the resistance function, which promises no current.
    promised: Option<Current>,
    inductive: bool,
    /// The current in the middle of a gap.
    early: Current,
    driven: bool,
    one_way: u8,
    /// A channel clipped or stood still in a turn that the next reading is made of.
    spoiled: bool,
}

impl Continuity {
    /// Nothing measured. `promised` is the current below which a reading is flagged and cannot pass
    /// (200 mA commonly cited from IEC 61557-4; secondary source, not checked against the
    /// standard); `None` for the resistance function, with its finer ranges.
    #[must_use]
    pub const fn new(rate: SampleRate, promised: Option<Current>) -> Self {
        Self {
            low: Sums::EMPTY,
            i: Sums::EMPTY,
            part_samples: rate.samples_in(PART),
            polarity: Polarity::Forward,
            gap: 0,
            parts: 0,
            last_i: 0.0,
            forward: None,
            ranger: if promised.is_none() { Ranger::RESISTANCE } else { Ranger::CONTINUITY },
            skip: true,
            last: -1.0,
            equal: 0,
            readings: 0,
            raw: None,
            reading: Reading::NONE,
            i_shown: 0.0,
            promised,
            inductive: false,
            early: Current::ZERO,
            driven: false,
            one_way: 0,
            spoiled: false,
        }
    }

    /// Whether current was found to go on with the source off that does not die away: not the
    /// current of a winding, but driven from outside.
    #[must_use]
    pub const fn is_driven(&self) -> bool {
        self.driven
    }

    /// The range to measure in.
    #[must_use]
    pub const fn shunt(&self) -> Shunt {
        self.ranger.shunt()
    }

    /// What the hardware is to do.
    #[must_use]
    pub const fn turn(&self) -> Turn {
        if self.gap > 0 { Turn::Gap(self.polarity) } else { Turn::Drive(self.polarity) }
    }

    /// The last reading, lead null taken off.
    #[must_use]
    pub const fn reading(&self) -> Reading {
        self.reading
    }

    /// The current of the last reading, in amperes.
    #[must_use]
    pub const fn current(&self) -> f32 {
        self.i_shown
    }

    /// How many readings were made.
    #[must_use]
    pub const fn readings(&self) -> u16 {
        self.readings
    }

    /// The lead resistance, once three readings in a row were equal to 0.02 ohm.
    #[must_use]
    pub fn settled_null(&self) -> Option<Resistance> {
        if self.equal < 3 || self.reading.flags.any(Flags::SPOILING) {
            return None;
        }
        let milliohms = libm::roundf(self.raw? * 1.0e3);
        if !(0.0..1.0e6).contains(&milliohms) {
            return None;
        }
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "inside the range just checked"
        )]
        let milliohms = milliohms as u64;
        Some(Resistance::from_milliohms(milliohms))
    }

    /// Takes one block; answers whether there is a new reading.
    pub fn step(
        &mut self,
        samples: &[Sample],
        null: Option<Resistance>,
        profile: &Profile,
        adjusted: &Adjusted<'_>,
    ) -> bool {
        if self.gap > 0 {
            self.step_gap(samples, profile);
            return false;
        }
        self.low.merge(&Sums::of_block(samples.iter().map(|s| s.low)));
        self.i.merge(&Sums::of_block(samples.iter().map(|s| s.i)));
        if self.low.samples() < self.part_samples {
            return false;
        }
        let v = self.low.level::<Voltage>(&profile.front_end.low);
        let i = self.i.level::<Current>(self.ranger.shunt().calibration());
        self.clear();
        if core::mem::take(&mut self.skip) {
            self.last_i = amps(i.dc);
            return false;
        }
        if self.ranger.step(&i) {
            self.skip = true;
            self.forward = None;
            self.parts = 0;
            return false;
        }
        self.parts = self.parts.saturating_add(1);
        // A clipped current makes the resistance look small; an open lead clips the voltage alone.
        self.spoiled |= i.clipped > 0 || i.min == i.max || v.clipped == 0 && v.min == v.max;
        let amperes = amps(i.dc);
        let settled =
            libm::fabsf(amperes - self.last_i) <= 0.01 * libm::fabsf(amperes) + self.step_amps();
        self.last_i = amperes;
        if !settled && self.parts < PATIENCE {
            return false;
        }
        let v = adjusted.corrected(Scale::Low, volts(v.dc));
        let i = adjusted.corrected(Scale::Amps(self.ranger.shunt()), amperes);
        self.end_turn((v, i), settled, null, adjusted)
    }

    /// The path is turned round only once its current is gone: a winding's would not be.
    fn step_gap(&mut self, samples: &[Sample], profile: &Profile) {
        self.gap = self.gap.saturating_sub(1);
        let mut now = Mean::EMPTY;
        now.add_block(samples.iter().map(|s| s.i));
        let i = now.value(self.ranger.shunt().calibration()).abs();
        if self.gap == IN_GAP {
            self.early = i;
        }
        if self.gap == TURN_ROUND {
            self.inductive = i >= Current::from_milliamps(1);
            if self.inductive {
                self.forward = None;
            } else {
                self.polarity = self.polarity.other();
            }
        }
        if self.gap == 1 {
            let flows = self.inductive && self.early.saturating_sub(i) < DECAYS;
            // By the gate's channel too: a shunt that shows what is not there is no voltage.
            let coarse = coarse_current(samples, &profile.front_end).abs();
            self.driven |= flows && coarse >= Current::from_milliamps(1);
        }
        if self.gap <= IN_GAP {
            let mut left = Mean::EMPTY;
            left.add_block(samples.iter().map(|s| s.low));
            let left = left.value(&profile.front_end.low).abs();
            // A store keeps what we put in, and no more.
            let ours = profile.front_end.open_volts.saturating_add(SPARE);
            self.driven |= ours.is_below(left);
        }
        self.clear();
    }

    /// One code of the range, the least change of current that means anything.
    fn step_amps(&self) -> f32 {
        amps(Current::from_picoamps(self.ranger.shunt().calibration().gain_q24() >> 24))
    }

    fn clear(&mut self) {
        self.low = Sums::EMPTY;
        self.i = Sums::EMPTY;
    }

    fn end_turn(
        &mut self,
        now: (f32, f32),
        settled: bool,
        null: Option<Resistance>,
        adjusted: &Adjusted<'_>,
    ) -> bool {
        self.parts = 0;
        let unsettled =
            Flags::NONE.with_if(Flags::UNSETTLED, !settled).with_if(Flags::CLIPPED, self.spoiled);
        if self.inductive {
            self.spoiled = false;
            self.conclude([now, (0.0, 0.0)], unsettled.with(Flags::ONE_WAY), null, adjusted);
            self.one_way = self.one_way.saturating_add(1);
            if self.one_way >= LOOK_EVERY {
                self.one_way = 0;
                self.skip = true;
                self.gap = GAP;
            }
            return true;
        }
        self.skip = true;
        self.gap = GAP;
        match self.forward.take() {
            None => {
                self.forward = Some(now);
                false
            }
            Some(forward) => {
                self.spoiled = false;
                self.conclude([forward, now], unsettled, null, adjusted);
                true
            }
        }
    }

    fn conclude(
        &mut self,
        [a, b]: [(f32, f32); 2],
        flags: Flags,
        null: Option<Resistance>,
        adjusted: &Adjusted<'_>,
    ) {
        let flags = flags.with(adjusted.flags());
        let (dv, di) = (a.0 - b.0, a.1 - b.1);
        let one_way = flags.any(Flags::ONE_WAY);
        self.i_shown = if one_way { a.1 } else { di / 2.0 };
        self.readings = self.readings.saturating_add(1);
        let greatest = if self.promised.is_none() { GREATEST[1] } else { GREATEST[0] };
        let shunt = self.ranger.shunt();
        let budget = Budget::continuity(adjusted, shunt, one_way, null.is_some());
        let least_i = 4.0 * self.step_amps();
        if di < least_i {
            self.raw = None;
            self.equal = 0;
            self.reading = Reading {
                value: Value::Above(greatest),
                unit: Unit::Ohm,
                doubt: budget.i.share() * greatest,
                skew: 0.0,
                flags: flags.with_if(Flags::LOW_CURRENT, self.promised.is_some()),
            };
            return;
        }
        let raw = dv / di;
        self.equal =
            if libm::fabsf(raw - self.last) <= 0.02 { self.equal.saturating_add(1) } else { 0 };
        self.last = raw;
        self.raw = Some(raw);
        let lopsided = !one_way && {
            let (ra, rb) = (a.0 / a.1, b.0 / b.1);
            libm::fabsf(ra - rb) > 0.05 * libm::fabsf(raw) + 2.0 * CONTACTS
        };
        let flags = flags.with_if(Flags::ASYMMETRIC, lopsided).with_if(
            Flags::LOW_CURRENT,
            self.promised.is_some_and(|promised| self.i_shown < amps(promised)),
        );
        let (doubt, _) = budget.doubt(dv, di);
        self.reading = nulled((raw, doubt), null, flags, greatest);
    }
}

/// Takes the lead null off.
fn nulled(
    (raw, doubt): (f32, f32),
    null: Option<Resistance>,
    flags: Flags,
    greatest: f32,
) -> Reading {
    #[expect(clippy::cast_precision_loss, reason = "at most 10 ohm in mohm")]
    let leads = null.map_or(0.0, |r| r.as_milliohms() as f32 / 1.0e3);
    let r = raw - leads;
    let larger = r < -2.0 * doubt;
    let at_null = r < 0.0 && !larger;
    let value = if raw > greatest {
        Value::Above(greatest)
    } else if at_null {
        Value::Number(0.0)
    } else {
        Value::Number(r)
    };
    Reading {
        value,
        unit: Unit::Ohm,
        doubt,
        skew: 0.0,
        flags: flags.with_if(Flags::NULL_LARGER, larger).with_if(Flags::AT_NULL, at_null),
    }
}
