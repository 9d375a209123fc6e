//! The least world that lets a drive run: one passive load, in integers.
//!
//! A resistor and a capacitor across the terminals, a source that follows its set point within its
//! current, a discharge resistor, the proving bias, and one code of noise. It serves where a whole
//! simulator would be too much: to obtain permits in a test, and on a bare processor, where the
//! same file is built into the images. It proves nothing about circuits.

use ohmwarden_core::Commands;
use ohmwarden_core::commands::{Bias, Discharge};
use ohmwarden_core::frame::Sample;
use ohmwarden_core::gate::{GateOut, Polarity};
use ohmwarden_core::profile::Shunt;

/// What the load is, and what stands on it.
#[derive(Clone, Copy, Debug)]
pub struct Stand {
    /// Resistance of the load, in kilohms.
    pub kilohms: i64,
    /// Capacitance of the load with that of the output, in picofarads.
    pub picofarads: i64,
    /// Peak in volts of a 50 Hz triangle from outside that overrules everything; 0 for none.
    pub outside: i64,
    outside_at: i64,
    microvolts: i64,
    noise: u32,
    dither: i64,
}

/// What the hardware was last told, besides the gate.
#[derive(Clone, Copy, Debug)]
pub struct Orders {
    /// The discharge resistor.
    pub discharge: Discharge,
    /// The proving bias.
    pub bias: Bias,
    /// The range of the measuring shunt.
    pub shunt: Shunt,
    /// The direction of the continuity path.
    pub continuity: Option<Polarity>,
}

impl Orders {
    /// Everything off.
    pub const SAFE: Self = Self {
        discharge: Discharge::Open,
        bias: Bias::Off,
        shunt: Shunt::Milliamps2,
        continuity: None,
    };

    /// What these commands tell the hardware.
    #[must_use]
    pub const fn of(commands: &Commands) -> Self {
        Self {
            discharge: commands.discharge(),
            bias: commands.bias(),
            shunt: commands.shunt(),
            continuity: commands.continuity(),
        }
    }
}

/// Microvolts in a code of the voltage channels, and in one of the low range.
const CODE: i64 = 750_000;
const LOW_CODE: i64 = 250;
/// Picoamperes in a code of the gate's current channel.
const GATE_CODE: i64 = 1_000_000;
/// What the source delivers at the most, in picoamperes.
const MOST: i64 = 1_800_000_000;
/// The dividers and the discharge resistor, in kilohms.
const INPUT: i64 = 2_000;
const DISCHARGE: i64 = 100;
/// The proving bias, in microvolts.
const BIAS: i64 = 4_000_000;
/// Short-circuit current of the continuity source in picoamperes, and the loop it meets in milliohms.
const LOOP_CURRENT: i64 = 205_000_000_000;
const LOOP_MILLIOHMS: i64 = 1_000;

impl Stand {
    /// A load with nothing on it.
    #[must_use]
    pub const fn new(kilohms: i64, picofarads: i64) -> Self {
        Self { kilohms, picofarads, outside: 0, outside_at: 0, microvolts: 0, noise: 1, dither: 0 }
    }

    /// Ten thousandths of a second pass as ordered; answers what the converter reads then.
    pub fn sample(&mut self, gate: GateOut, orders: &Orders) -> Sample {
        if self.outside != 0 {
            return self.outside_sample();
        }
        if gate.on
            && let Some(polarity) = orders.continuity
        {
            return self.loop_sample(polarity);
        }
        let picoamps = if gate.on { self.push(gate) } else { self.decay(orders.discharge) };
        let bias = if orders.bias == Bias::On { BIAS } else { 0 };
        let code = orders.shunt.channel().lsb().as_picoamps();
        Sample {
            v: self.voltage_code(self.microvolts + bias),
            v2: self.voltage_code(self.microvolts - bias),
            i: held(over(picoamps, code)),
            i_gate: coarse(picoamps),
            low: held(self.microvolts / LOW_CODE),
        }
    }

    /// Follows the set point as far as the current goes.
    fn push(&mut self, gate: GateOut) -> i64 {
        let wanted = i64::from(gate.set_point.as_microvolts());
        // uV / kohm = 1000 pA; pA for 100 us into a pF is 100 uV.
        let leak = over(self.microvolts * 1_000, self.kilohms);
        let most = over((MOST - leak) * 100, self.picofarads);
        let rise = (wanted - self.microvolts).clamp(0, most.max(0));
        self.microvolts += rise;
        leak + rise * self.picofarads / 100
    }

    /// Lets itself down through whatever is across it.
    fn decay(&mut self, discharge: Discharge) -> i64 {
        // kohm * pF = ns, against 100 us.
        let through = |kilohms: i64| over(self.microvolts * 100_000, kilohms * self.picofarads);
        let resistor = if discharge == Discharge::Closed { through(DISCHARGE) } else { 0 };
        self.microvolts -= through(self.kilohms) + through(INPUT) + resistor;
        0
    }

    fn loop_sample(&mut self, polarity: Polarity) -> Sample {
        let sign = if polarity == Polarity::Forward { 1 } else { -1 };
        self.microvolts = sign * LOOP_CURRENT / 1_000_000 * LOOP_MILLIOHMS / 1_000;
        let code = Shunt::Milliamps250.channel().lsb().as_picoamps();
        Sample {
            v: self.voltage_code(self.microvolts),
            v2: self.voltage_code(self.microvolts),
            i: held(over(sign * LOOP_CURRENT, code)),
            i_gate: coarse(sign * LOOP_CURRENT),
            low: held(self.microvolts / LOW_CODE),
        }
    }

    fn outside_sample(&mut self) -> Sample {
        self.outside_at = (self.outside_at + 1) % 200;
        // From -100 to 100 and back in 200 samples, from zero.
        let place = (self.outside_at + 50) % 200;
        let share = if place < 100 { 2 * place - 100 } else { 300 - 2 * place };
        self.microvolts = self.outside * share * 10_000;
        Sample {
            v: self.voltage_code(self.microvolts),
            v2: self.voltage_code(self.microvolts),
            i: 0,
            i_gate: 0,
            low: held(self.microvolts / LOW_CODE),
        }
    }

    /// A code with one of noise and, so that a mean keeps its fraction, a dither of one code.
    fn voltage_code(&mut self, microvolts: i64) -> i16 {
        self.dither = (self.dither + 309_000) % CODE;
        self.noise = self.noise.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        let noise = i64::from((self.noise >> 24) % 3) - 1;
        held((microvolts + self.dither).div_euclid(CODE) + noise)
    }
}

/// A quotient that is zero where there is none: nothing here may panic on a bare processor.
fn over(a: i64, b: i64) -> i64 {
    a.checked_div(b).unwrap_or(0)
}

/// The code of a current on the gate's channel, which ends at twelve bits.
fn coarse(picoamps: i64) -> i16 {
    held((picoamps / GATE_CODE).clamp(-2_048, 2_047))
}

/// A code within what a converter can give.
fn held(code: i64) -> i16 {
    i16::try_from(code.clamp(i64::from(i16::MIN), i64::from(i16::MAX))).unwrap_or(0)
}
