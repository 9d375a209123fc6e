//! Insulation resistance from the voltage at the terminals and the current after the dividers.
//!
//! Never from the set point: a series part of 100 kohm would be 20 % of 500 kohm. Windows of 0.1 s
//! serve the range and the disturbance flag, five of them make one reading. Settled means that
//! three readings in a row agree within 2 % and that the charging current is below 2 % of the
//! whole; a slow absorption tail passes that and is told by `rising`.

use super::{Ranger, amps, float_farads, float_ohms, root, volts};
use crate::calibration::Adjusted;
use crate::detect::{Block, Zero};
use crate::judge::{Budget, COVER, Flags, Reading, Unit, Value};
use crate::profile::{Scale, Shunt};
use crate::signal::{Level, SampleRate, Sums};
use crate::unit::{Capacitance, Current, Duration, Voltage};

/// Short windows in one reading.
const PARTS: u8 = 5;
/// A short window.
const PART: Duration = Duration::from_millis(100);
/// Standard uncertainty of what leads leak, as a share: they lie otherwise each time, and damp air
/// changes.
const LEADS_DOUBT: f32 = 0.2;
/// Greatest resistance that is shown as a number.
const GREATEST: f32 = 200.0e9;
/// Alternating voltage in a window above which a reading is disturbed: four times the noise and
/// ripple of the front end.
const DISTURBED: Voltage = Voltage::from_volts(3);
/// Alternating current above which a reading is disturbed although the voltage stands: a regulator
/// holds a pick-up down as long as its own current is the larger one. 330 pF to a 230 V conductor
/// drive 24 uA.
const DISTURBED_CURRENT: Current = Current::from_microamps(5);
/// The same ripple is this part of the least test voltage, and of the current through a leak.
const RIPPLE_SHARE: i64 = 64;
/// What the ripple that the profile allows, 0.5 V rms at 100 Hz, drives through a nanofarad. A source
/// whose ripple is faster must have less of it, or capacitive loads count as disturbed.
const RIPPLE_PER_NANOFARAD: Current = Current::from_nanoamps(350);

/// What stood and flowed before the drive, which is none of the resistance's.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct AtRest {
    /// The proved standing voltage; zero where there is none.
    pub standing: Voltage,
    /// What the shunt shows at no current.
    pub zero: Zero,
    /// What the leads leak by themselves at this test voltage.
    pub leads: Current,
}

/// Measures one drive.
#[derive(Clone, Copy, Debug)]
pub struct Insulation {
    v: Sums,
    i: Sums,
    part_samples: u32,
    parts: u8,
    v_sum: i64,
    i_sum: i64,
    skip: bool,
    ranger: Ranger,
    last: [f32; 2],
    agreed: u8,
    old: f32,
    old_age: u8,
    disturbed: bool,
    was_disturbed: bool,
    v_before: f32,
    reading: Reading,
    v_shown: Voltage,
    i_shown: Current,
    i_true: f32,
}

impl Insulation {
    /// Nothing measured.
    #[must_use]
    pub const fn new(rate: SampleRate) -> Self {
        Self {
            v: Sums::EMPTY,
            i: Sums::EMPTY,
            part_samples: rate.samples_in(PART),
            parts: 0,
            v_sum: 0,
            i_sum: 0,
            skip: true,
            ranger: Ranger::INSULATION,
            last: [0.0; 2],
            agreed: 0,
            old: 0.0,
            old_age: 0,
            disturbed: false,
            was_disturbed: false,
            v_before: 0.0,
            reading: Reading::NONE,
            v_shown: Voltage::ZERO,
            i_shown: Current::ZERO,
            i_true: 0.0,
        }
    }

    /// Forgets everything, for a new drive.
    pub const fn reset(&mut self, rate: SampleRate) {
        *self = Self::new(rate);
    }

    /// Drops the window begun: the source was off, or the range changed.
    pub fn interrupt(&mut self) {
        self.v = Sums::EMPTY;
        self.i = Sums::EMPTY;
        self.parts = 0;
        self.v_sum = 0;
        self.i_sum = 0;
        self.skip = true;
    }

    /// The range to measure in.
    #[must_use]
    pub const fn shunt(&self) -> Shunt {
        self.ranger.shunt()
    }

    /// Keeps the range as it is from now on, unless it clips.
    pub const fn hold_range(&mut self) {
        self.ranger.hold();
    }

    /// The last reading.
    #[must_use]
    pub const fn reading(&self) -> Reading {
        self.reading
    }

    /// The current of the last reading, in amperes; none before one.
    #[must_use]
    pub fn leakage(&self) -> Option<f32> {
        (self.reading.value != Value::None).then_some(self.i_true)
    }

    /// Voltage and current of the last reading; what the leads leak is in it.
    #[must_use]
    pub const fn point(&self) -> (Voltage, Current) {
        (self.v_shown, self.i_shown)
    }

    /// Whether something alternating disturbs now.
    #[must_use]
    pub const fn is_disturbed(&self) -> bool {
        self.disturbed
    }

    /// Takes one block at voltage with the sums of its measuring shunt; answers whether there is a
    /// new reading.
    pub fn step(
        &mut self,
        (block, shunt): (&Block, &Sums),
        set: Voltage,
        rest: &AtRest,
        store: Option<Capacitance>,
        adjusted: &Adjusted<'_>,
    ) -> bool {
        let [v, _] = &block.sums;
        self.v.merge_means(v);
        self.i.merge(shunt);
        if self.v.samples() < self.part_samples {
            return false;
        }
        let v = self.v.level::<Voltage>(&adjusted.front().v);
        let i = self.i.level::<Current>(self.ranger.shunt().calibration());
        self.v = Sums::EMPTY;
        self.i = Sums::EMPTY;
        let swings = DISTURBED < v.ac;
        if core::mem::take(&mut self.skip) {
            self.disturbed |= swings;
            return false;
        }
        self.disturbed = swings || disturbs(&i, store);
        self.was_disturbed |= self.disturbed;
        // Full charging current never meets a change of range: only at voltage.
        let at_voltage = !v.dc.is_below(set.div(100).saturating_mul(95));
        if (at_voltage || i.clipped > 0) && self.ranger.step(&i) {
            self.interrupt();
            return false;
        }
        self.v_sum = self.v_sum.saturating_add(i64::from(v.dc.as_microvolts()));
        self.i_sum = self.i_sum.saturating_add(i.dc.as_picoamps());
        self.parts = self.parts.saturating_add(1);
        if self.parts < PARTS {
            return false;
        }
        let n = i64::from(PARTS);
        let v_mean = i32::try_from(self.v_sum.checked_div(n).unwrap_or(0)).unwrap_or(i32::MAX);
        self.v_shown = Voltage::from_microvolts(v_mean);
        let shown = Current::from_picoamps(self.i_sum.checked_div(n).unwrap_or(0));
        self.i_shown = shown.saturating_sub(rest.zero.offset);
        self.parts = 0;
        self.v_sum = 0;
        self.i_sum = 0;
        // A current without any noise is that of a dead channel, and would read as a splendid pass.
        let clipped = i.clipped > 0 || i.min == i.max;
        self.conclude(set, rest, store, clipped, adjusted);
        self.was_disturbed = false;
        true
    }

    fn conclude(
        &mut self,
        set: Voltage,
        rest: &AtRest,
        store: Option<Capacitance>,
        clipped: bool,
        adjusted: &Adjusted<'_>,
    ) {
        let shunt = self.ranger.shunt();
        let true_volts = |v| adjusted.corrected(Scale::Volts, volts(v));
        let v = true_volts(self.v_shown);
        // The zero that was seen before the drive holds what the constants know of its range.
        let known = rest.zero.range.map_or(0.0, |range| adjusted.zero(Scale::Amps(range)));
        let leads = amps(rest.leads);
        let i = adjusted.corrected(Scale::Amps(shunt), amps(self.i_shown) + known) - leads;
        self.i_true = i;
        // Two points: at rest the line fed our dividers. The answer holds the source in parallel.
        let stands = Voltage::ZERO != rest.standing;
        let v_rest = if stands { true_volts(rest.standing) } else { 0.0 };
        let input = float_ohms(adjusted.front().input);
        let (dv, di) = (v - v_rest, i + v_rest / input);
        let mut budget = Budget::insulation(adjusted, shunt);
        let u_leads = LEADS_DOUBT * leads;
        budget.i.offset = root(&[budget.i.offset, amps(rest.zero.doubt), u_leads]);
        let quotient = resistance(dv, di, &budget);
        let r = quotient.value.amount().unwrap_or(0.0);
        let flags = self
            .progress(r, quotient.value, v, di, store)
            .with_if(Flags::SOURCE_LIMITED, self.v_shown < set.div(100).saturating_mul(95))
            .with_if(Flags::DISTURBED, self.was_disturbed)
            .with_if(Flags::CLIPPED, clipped)
            .with_if(Flags::STANDING, Voltage::ZERO < rest.standing)
            .with(adjusted.flags());
        self.reading = quotient.flagged(flags);
    }

    /// Settled, rising, or neither.
    fn progress(
        &mut self,
        r: f32,
        value: Value,
        v: f32,
        i: f32,
        store: Option<Capacitance>,
    ) -> Flags {
        let [last, _] = self.last;
        let bound = !matches!(value, Value::Number(_));
        let near = bound || libm::fabsf(r - last) < 0.02 * r;
        self.agreed = if near { self.agreed.saturating_add(1) } else { 0 };
        // C dV/dt over the half second between two readings.
        let farads = store.map_or(0.0, float_farads);
        let charging = libm::fabsf(farads * (v - self.v_before) / 0.5);
        let charging = !bound && charging > 0.02 * libm::fabsf(i) && self.v_before > 0.0;
        self.v_before = v;
        self.last = [r, last];
        self.old_age = self.old_age.saturating_add(1);
        if self.old_age >= 20 {
            self.old_age = 0;
            self.old = r;
        }
        let rising = !bound && self.old > 0.0 && r > 1.05 * self.old;
        Flags::NONE
            .with_if(Flags::UNSETTLED, self.agreed < 2 || charging)
            .with_if(Flags::RISING, rising)
    }
}

/// Whether an alternating current flows that neither ripple on the load nor settling explains.
fn disturbs(i: &Level<Current>, store: Option<Capacitance>) -> bool {
    let nanofarads = store.map_or(0, |c| i64::from(c.as_picofarads()) / 1_000);
    let through_store = RIPPLE_PER_NANOFARAD.saturating_mul(nanofarads);
    let through_leak = i.dc.abs().div(RIPPLE_SHARE);
    let ripple = through_store.saturating_add(through_leak);
    // Clipped on both sides the range is too fine to tell how much it is.
    DISTURBED_CURRENT.saturating_add(ripple) < i.ac || (i.clipped > 0 && i.dc.abs() < i.ac)
}

/// `V / I`, or a bound where the current is within its doubt: what the most current that it may be
/// would make.
fn resistance(v: f32, i: f32, budget: &Budget) -> Reading {
    if v <= 0.0 {
        return Reading::NONE;
    }
    let spread = COVER * budget.i.at(i);
    if i <= spread || v > GREATEST * i {
        let most = v / (libm::fmaxf(i, 0.0) + spread);
        let bound = libm::fminf(most, GREATEST);
        let doubt = budget.doubt_of_bound(v) * bound;
        return Reading { value: Value::Above(bound), unit: Unit::Ohm, doubt, ..Reading::NONE };
    }
    let (doubt, skew) = budget.doubt(v, i);
    Reading { value: Value::Number(v / i), unit: Unit::Ohm, doubt, skew, ..Reading::NONE }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::calibration::{Calibration, Constants};
    use crate::date::Date;
    use crate::frame::Sample;
    use crate::profile::{GENERAL, SCALES};

    /// 1 mA and ten codes of zero at 750 V, in the coarsest range, with a calibration that knows those.
    fn read(seen: Zero) -> f32 {
        let coarsest = Scale::Amps(Shunt::Milliamps2);
        let constants = SCALES.map(|scale| {
            let zero = if scale == coarsest { 10.0 } else { 0.0 };
            Constants::new(0.0, zero, 0.001, 0.5).unwrap_or(Constants::NOMINAL)
        });
        let calibration = Calibration::new(constants, Date::FIRST, Date::FIRST);
        let calibration = calibration.unwrap_or(Calibration::DAMAGED);
        let front = &GENERAL.front_end;
        let mut insulation = Insulation::new(SampleRate::DEFAULT);
        let rest = AtRest { zero: seen, ..AtRest::default() };
        for n in 0..1_000_i16 {
            let i = 10_010_i16.wrapping_add(n & 1);
            let samples = [Sample { i, v: 1_000, v2: 1_000, ..Sample::default() }; 10];
            let block = Block::of(&samples, front, insulation.shunt(), i16::MAX, &mut [0; 2]);
            let codes = Sums::of_block(samples.iter().map(|s| s.i));
            let adjusted = calibration.on(Some(Date::FIRST), front);
            insulation.step((&block, &codes), Voltage::from_volts(750), &rest, None, &adjusted);
        }
        assert_eq!(insulation.shunt(), Shunt::Milliamps2);
        insulation.leakage().unwrap_or(0.0)
    }

    #[test]
    fn a_zero_is_taken_off_once_whether_it_is_seen_before_the_drive_or_only_known() {
        let ten_codes = Current::from_microamps(1);
        let seen = |offset| Zero { offset, range: Some(Shunt::Milliamps2), ..Zero::NONE };
        // Half a code of 0.1 uA is the ripple of the codes.
        for zero in [Zero::NONE, seen(ten_codes)] {
            let off = read(zero) - 1.000_05e-3;
            assert!(libm::fabsf(off) < 1.0e-9, "{zero:?}: {off}");
        }
        // What it moved by since the calibration comes off too: five codes more were seen.
        let moved = read(seen(Current::from_nanoamps(1_500))) - 0.999_55e-3;
        assert!(libm::fabsf(moved) < 1.0e-9, "{moved}");
    }
}
