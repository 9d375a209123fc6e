//! How fast the source promises to go off when voltage arrives in a drive.

use crate::unit::{Duration, Frequency, Voltage};

/// What arrives on the terminals while the source drives.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Arrival {
    /// Alternating part, RMS of the fundamental.
    pub rms: Voltage,
    /// Its frequency.
    pub hz: Frequency,
    /// Direct part.
    pub dc: Voltage,
    /// What our own drive stood at.
    pub own: Voltage,
}

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
    alternating.or_else(|| direct(arrival))
}

/// Reversed by 25 V and more, or 30 V and more away from our own.
fn direct(arrival: &Arrival) -> Option<Duration> {
    let reversed = arrival.dc <= Voltage::from_volts(-25);
    let apart = Voltage::from_volts(30) <= arrival.dc.saturating_sub(arrival.own).abs();
    let something = Voltage::ZERO < arrival.dc.abs();
    (something && (reversed || apart)).then_some(Duration::from_millis(4))
}
