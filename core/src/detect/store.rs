//! How much the load stores: charge in, voltage up, so that nothing is put in that cannot be taken
//! out again.
//!
//! The first estimate is taken while the voltage is low (from a fiftieth to a tenth of the set):
//! there a leaky load takes little of the current, so `dQ/dV` exceeds the capacitance by at most
//! about a tenth. `Q/V` at full voltage would not do: a leaky load passes any charge. At the end of
//! the ramp, with the leak known from the current then, `C = (Q - G * integral of V) / V`; and once
//! more with the first reading, because a large store still charges when the ramp ends.

use crate::profile::{Profile, stored};
use crate::unit::{Capacitance, Charge, Current, Voltage};
use crate::wide::scaled;

/// Integrals of one drive, in pC, mV ms and mV.
#[derive(Clone, Copy, Debug, Default)]
pub struct StoreMeter {
    charge: i64,
    volt_time: i64,
    low: Option<(i64, Voltage)>,
    early: Option<Capacitance>,
    too_much: bool,
    late: Option<Capacitance>,
    /// Charge and voltage at the end of the ramp.
    top: (i64, Voltage),
    refined: bool,
    before: Voltage,
    rise: Voltage,
    millis: u16,
}

impl StoreMeter {
    /// Nothing put in yet.
    pub const EMPTY: Self = Self {
        charge: 0,
        volt_time: 0,
        low: None,
        early: None,
        too_much: false,
        late: None,
        top: (0, Voltage::ZERO),
        refined: false,
        before: Voltage::ZERO,
        rise: Voltage::MAX,
        millis: 0,
    };

    /// Takes one block of 1 ms of a drive that climbs from `v_start` to `set`, in which `i` flowed
    /// at `v`.
    pub fn step(
        &mut self,
        (v, i): (Voltage, Current),
        set: Voltage,
        v_start: Voltage,
        profile: &Profile,
    ) {
        self.hold(i);
        self.volt_time = self.volt_time.saturating_add(i64::from(v.as_millivolts()));
        self.watch_rise(v);
        let risen = v.saturating_sub(v_start);
        let span = set.saturating_sub(v_start);
        match self.low {
            None if !risen.is_below(span.div(50).greatest(FLOOR)) => {
                self.low = Some((self.charge, v));
            }
            Some((charge, low))
                if self.early.is_none() && !risen.is_below(span.div(10).greatest(SPAN)) =>
            {
                self.early = capacitance(
                    self.charge.saturating_sub(charge),
                    i64::from(v.saturating_sub(low).as_millivolts()),
                );
                self.too_much = self.early.is_some_and(|c| is_too_much(c, set, profile));
            }
            _ => {}
        }
    }

    /// Goes on counting what goes in, once at voltage: absorption takes and gives back charge too.
    pub fn hold(&mut self, i: Current) {
        // pA for 1 ms is 1e-3 pC.
        self.charge = self.charge.saturating_add(i.as_picoamps() / 1_000);
    }

    /// The ramp is over at `v`, where `i` flows.
    pub fn plateau(&mut self, v: Voltage, i: Current) {
        self.top = (self.charge, v);
        self.refined = false;
        self.leak_off((v, i));
    }

    /// Refines the estimate, once: `i` flows at `v` and nothing charges any more.
    pub fn settle(&mut self, v: Voltage, i: Current) {
        if !self.refined && self.late.is_some() {
            self.leak_off((v, i));
            self.refined = self.late.is_some();
        }
    }

    fn leak_off(&mut self, (v, i): (Voltage, Current)) {
        let mv = i64::from(v.as_millivolts());
        // The time at this voltage that would leak as much, in 1/64 ms; pA ms = 1e-3 pC.
        let time = scaled(self.volt_time, 64, mv).unwrap_or(0);
        let leaked = scaled(i.as_picoamps(), time, 64_000).unwrap_or(0);
        let (charge, top) = self.top;
        self.late =
            capacitance(charge.saturating_sub(leaked).max(0), i64::from(top.as_millivolts()));
    }

    /// What went in so far, downstream of the output capacitor.
    #[must_use]
    pub const fn charge(&self) -> Charge {
        Charge::from_picocoulombs(self.charge)
    }

    /// The best estimate so far, if there is one.
    #[must_use]
    pub const fn capacitance(&self) -> Option<Capacitance> {
        match self.late {
            Some(c) => Some(c),
            None => self.early,
        }
    }

    /// Whether that estimate knows the leak from a reading.
    #[must_use]
    pub const fn is_refined(&self) -> bool {
        self.refined
    }

    /// Whether more is being stored than the profile allows, a tenth of doubt included.
    #[must_use]
    pub const fn is_too_much(&self) -> bool {
        self.too_much
    }

    /// Whether the voltage has stopped climbing: less than 1 %, or than what noise makes, in the last
    /// 100 ms.
    #[must_use]
    pub const fn is_flat(&self, v: Voltage) -> bool {
        self.rise.is_below(v.abs().div(100).greatest(STILL))
    }

    fn watch_rise(&mut self, v: Voltage) {
        self.millis = self.millis.wrapping_add(1);
        if self.millis >= 100 {
            self.rise = v.saturating_sub(self.before);
            self.before = v;
            self.millis = 0;
        }
    }
}

/// Whether a store is more than the profile allows at `set`, even if it is a tenth less.
fn is_too_much(c: Capacitance, set: Voltage, profile: &Profile) -> bool {
    let sure = c.div(11).saturating_mul(10);
    profile.c_max.is_below(sure) || profile.e_max < stored(sure, set)
}

/// Below this a block mean is mostly noise (0.75 V rms, ten samples).
const FLOOR: Voltage = Voltage::from_volts(2);
/// Two block means differ by a quarter of this, rms; the largest store allowed climbs 36 V.
const STILL: Voltage = Voltage::from_millivolts(1_500);
/// The least span over which a slope is taken.
const SPAN: Voltage = Voltage::from_volts(8);

/// `Q / V` of pC and mV.
fn capacitance(picocoulombs: i64, millivolts: i64) -> Option<Capacitance> {
    if millivolts <= 0 {
        return None;
    }
    let pf = scaled(picocoulombs, 1_000, millivolts)?;
    Some(Capacitance::from_picofarads(u32::try_from(pf.max(0)).unwrap_or(u32::MAX)))
}
