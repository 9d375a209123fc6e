//! Continuity and resistance: both directions of current, so that an EMF and an offset cancel.
//!
//! One turn of current after the other: `R = (V+ - V-) / (I+ - I-)`. A turn is read once the
//! current has settled (less than 1 % in 50 ms). The current of a winding goes on through the
//! freewheel in the gap between two turns; it could not be reversed within the 10 ms that a gap in a
//! drive may last, so a winding is read in one direction only. The gaps belong to
//! [`Gap`](crate::detect::Gap), which also tells what is driven from outside.

use super::beeper::Beeper;
use super::{Ranger, amps, float_ohms, volts};
use crate::calibration::Adjusted;
use crate::frame::Sample;
use crate::gate::Polarity;
use crate::judge::{Budget, CONTACTS, Flags, Reading, Unit, Value};
use crate::profile::{Profile, Scale, Shunt};
use crate::signal::{SampleRate, Sums};
use crate::unit::{Current, Duration, Resistance, Voltage};

/// What one block of a turn ended.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Ended {
    /// There is a new reading.
    pub reading: bool,
    /// The turn is over, and a gap is due.
    pub turn: bool,
}

/// One window: the settling of the current is judged from one to the next.
const PART: Duration = Duration::from_millis(50);
/// Windows before a turn is given up as unsettled: 2 s.
const PATIENCE: u8 = 40;
/// Readings of a winding between two gaps that look whether its current would die away.
const LOOK_EVERY: u8 = 20;
/// Greatest resistance shown as a number by continuity, and by resistance.
const GREATEST: [f32; 2] = [2.0e3, 2.0e6];

/// Measures one press.
#[derive(Clone, Copy, Debug)]
pub struct Continuity {
    low: Sums,
    i: Sums,
    part_samples: u32,
    polarity: Polarity,
    parts: u8,
    last_i: f32,
    forward: Option<(f32, f32)>,
    ranger: Ranger,
    beeper: Beeper,
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
            parts: 0,
            last_i: 0.0,
            forward: None,
            ranger: if promised.is_none() { Ranger::RESISTANCE } else { Ranger::CONTINUITY },
            beeper: Beeper::NEW,
            skip: true,
            last: -1.0,
            equal: 0,
            readings: 0,
            raw: None,
            reading: Reading::NONE,
            i_shown: 0.0,
            promised,
            inductive: false,
            one_way: 0,
            spoiled: false,
        }
    }

    /// The range to measure in.
    #[must_use]
    pub const fn shunt(&self) -> Shunt {
        self.ranger.shunt()
    }

    /// The direction of this turn, or of the next one.
    #[must_use]
    pub const fn polarity(&self) -> Polarity {
        self.polarity
    }

    /// The last reading, lead null taken off.
    #[must_use]
    pub const fn reading(&self) -> Reading {
        self.reading
    }

    /// Whether the leads are joined, for the beeper.
    #[must_use]
    pub const fn is_joined(&self) -> bool {
        self.beeper.is_joined()
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

    /// Takes one block of a turn; answers what ended with it.
    pub fn step(
        &mut self,
        samples: &[Sample],
        null: Option<Resistance>,
        profile: &Profile,
        adjusted: &Adjusted<'_>,
    ) -> Ended {
        self.low.merge(&Sums::of_block(samples.iter().map(|s| s.low)));
        self.i.merge(&Sums::of_block(samples.iter().map(|s| s.i)));
        if self.low.samples() < self.part_samples {
            return Ended::default();
        }
        let v = self.low.level::<Voltage>(&profile.front_end.low);
        let i = self.i.level::<Current>(self.ranger.shunt().calibration());
        self.low = Sums::EMPTY;
        self.i = Sums::EMPTY;
        let least = self.least_amps();
        self.beeper.step(volts(v.dc), amps(i.dc), least, null.map_or(0.0, float_ohms));
        if core::mem::take(&mut self.skip) {
            self.last_i = amps(i.dc);
            return Ended::default();
        }
        if self.ranger.step(&i) {
            self.skip = true;
            self.forward = None;
            self.parts = 0;
            return Ended::default();
        }
        self.parts = self.parts.saturating_add(1);
        // A clipped current makes the resistance look small; an open lead clips the voltage alone.
        self.spoiled |= i.clipped > 0 || i.min == i.max || v.clipped == 0 && v.min == v.max;
        let amperes = amps(i.dc);
        let settled =
            libm::fabsf(amperes - self.last_i) <= 0.01 * libm::fabsf(amperes) + self.step_amps();
        self.last_i = amperes;
        if !settled && self.parts < PATIENCE {
            return Ended::default();
        }
        let v = adjusted.corrected(Scale::Low, volts(v.dc));
        let i = adjusted.corrected(Scale::Amps(self.ranger.shunt()), amperes);
        self.end_turn((v, i), settled, null, adjusted)
    }

    /// The middle of a gap: the path is turned round only once its current is gone, and a winding's
    /// would not be.
    pub const fn turn_round(&mut self, flows: bool) {
        self.inductive = flows;
        if flows {
            self.forward = None;
        } else {
            self.polarity = self.polarity.other();
        }
    }

    /// What a current must be for a resistance to be made of it.
    fn least_amps(&self) -> f32 {
        4.0 * self.step_amps()
    }

    /// One code of the range, the least change of current that means anything.
    fn step_amps(&self) -> f32 {
        amps(Current::from_picoamps(self.ranger.shunt().calibration().gain_q24() >> 24))
    }

    fn end_turn(
        &mut self,
        now: (f32, f32),
        settled: bool,
        null: Option<Resistance>,
        adjusted: &Adjusted<'_>,
    ) -> Ended {
        self.parts = 0;
        let unsettled =
            Flags::NONE.with_if(Flags::UNSETTLED, !settled).with_if(Flags::CLIPPED, self.spoiled);
        if self.inductive {
            self.spoiled = false;
            self.conclude([now, (0.0, 0.0)], unsettled.with(Flags::ONE_WAY), null, adjusted);
            self.one_way = self.one_way.saturating_add(1);
            let looks = self.one_way >= LOOK_EVERY;
            if looks {
                self.one_way = 0;
                self.skip = true;
            }
            return Ended { reading: true, turn: looks };
        }
        self.skip = true;
        let Some(forward) = self.forward.take() else {
            self.forward = Some(now);
            return Ended { reading: false, turn: true };
        };
        self.spoiled = false;
        self.conclude([forward, now], unsettled, null, adjusted);
        Ended { reading: true, turn: true }
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
        if di < self.least_amps() {
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
    let leads = null.map_or(0.0, float_ohms);
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
