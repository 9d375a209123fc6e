//! How fast the source promises to go off when voltage arrives in a drive.

use crate::unit::{Duration, Frequency, Resistance, Voltage};

/// What arrives on the terminals while the source drives.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
pub struct Arrival {
    /// Alternating part, RMS of the fundamental.
    pub rms: Voltage,
    /// Its frequency.
    pub hz: Frequency,
    /// Direct part.
    pub dc: Voltage,
    /// What our own drive stood at.
    pub own: Voltage,
    /// In a continuity drive: the resistance that it arrives through.
    pub low: Option<Resistance>,
}

/// Whether 0.25 A, more than the drive delivers, would hold down even the crest.
fn is_held_down(arrival: &Arrival, through: Resistance) -> bool {
    let alternating = i64::from(arrival.rms.as_microvolts()).saturating_mul(181) / 128;
    let crest = alternating.saturating_add(i64::from(arrival.dc.as_microvolts()).saturating_abs());
    // mohm * 0.25 A = 250 uV.
    let most = i64::try_from(through.as_milliohms()).unwrap_or(i64::MAX).saturating_mul(250);
    crest <= most
}

/// Until a direct voltage that is held down shows: the turn that runs, with every change of range
/// that it may bring about, and the gap after it.
const TURNED: Duration = Duration::from_millis(400);

/// The time from arrival at the terminals to a source current below 50 uA, at any phase, in ramp
/// and in hold; `None` where nothing is promised.
///
/// Mixed, pulsed and distorted arrivals take the row of the fundamental. Each row is above the
/// worst case that the latency table prints for a source of 10 ohm to 1 kohm and loads of nothing
/// to 1 uF; outside that box nothing is promised. A direct voltage of our own polarity close to our
/// own cannot be seen while driving at all: the look with the source off, or the release, finds it.
///
/// ```
/// use ohmwarden_core::invariants::{promise, Arrival};
/// use ohmwarden_core::unit::{Duration, Frequency, Voltage};
/// let mains = Arrival {
///     rms: Voltage::from_volts(230),
///     hz: Frequency::from_hertz(50),
///     dc: Voltage::ZERO,
///     own: Voltage::from_volts(500),
///     low: None,
/// };
/// assert_eq!(promise(&mains), Some(Duration::from_millis(6)));
/// assert_eq!(promise(&Arrival { rms: Voltage::from_volts(24), ..mains }), None);
/// ```
#[must_use]
pub fn promise(arrival: &Arrival) -> Option<Duration> {
    let row = |table: [u32; 4]| {
        let [at_230, at_100, at_50, at_25] = table;
        let rms = arrival.rms;
        let least = |volts: i32| Voltage::from_volts(volts) <= rms;
        let ms = if least(230) {
            at_230
        } else if least(100) {
            at_100
        } else if least(50) {
            at_50
        } else if least(25) {
            at_25
        } else {
            return None;
        };
        Some(Duration::from_millis(ms))
    };
    let hz = arrival.hz;
    let between =
        |from: u32, to: u32| Frequency::from_hertz(from) <= hz && hz <= Frequency::from_hertz(to);
    let alternating = if between(45, 65) {
        row([6, 8, 10, 18])
    } else if between(15, 45) {
        row([12, 18, 35, 45])
    } else if between(65, 450) {
        row([6, 8, 10, 10])
    } else {
        None
    };
    alternating.or_else(|| direct(arrival)).map(|row| soft(arrival).greatest(row))
}

/// The 5 V of a continuity drive hold down what arrives through some ohms: it shows when it pushes
/// current back, an alternating one half a cycle later and the gap in which the direction turns, a
/// direct one in that gap. Zero where nothing is held down.
fn soft(arrival: &Arrival) -> Duration {
    if !arrival.low.is_some_and(|ohms| is_held_down(arrival, ohms)) {
        return Duration::from_millis(0);
    }
    if arrival.hz == Frequency::ZERO {
        return TURNED;
    }
    let half = 500_000_000_u32.checked_div(arrival.hz.as_millihertz()).unwrap_or(u32::MAX);
    Duration::from_micros(half.saturating_add(12_000))
}

/// Reversed by 25 V and more, or 30 V and more away from our own.
fn direct(arrival: &Arrival) -> Option<Duration> {
    let reversed = arrival.dc <= Voltage::from_volts(-25);
    let apart = Voltage::from_volts(30) <= arrival.dc.saturating_sub(arrival.own).abs();
    let something = Voltage::ZERO < arrival.dc.abs();
    (something && (reversed || apart)).then_some(Duration::from_millis(4))
}
