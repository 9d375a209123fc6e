//! The four built-in profiles, each checked at compile time.

use super::{FrontEnd, Profile, Quiet, Sets, TestTimes};
use crate::hazard::{DRY_OLDER, Trip, WET as WET_LIMIT};
use crate::unit::{Capacitance, Duration, Energy, Resistance, Voltage};

const fn volts(v: i32) -> Voltage {
    Voltage::from_volts(v)
}

/// General installation: 50 to 1000 V; neither standing voltage nor pick-up is permitted.
///
/// Test voltages 50, 100, 250, 500 and 1000 V (from memory for IEC 61557-2; 250 and 500 V commonly
/// cited from BS EN 61557, secondary). Trips 25 V rms, 35 V peak, 50 V dc stand below the older
/// edition's 30, 42.4 and 60 V by the channel's 3 % + 2 V.
pub const GENERAL: Profile = Profile {
    id: 1,
    name: "general installation",
    trip: Trip { rms: volts(25), peak: volts(35), dc: volts(50) },
    limit: DRY_OLDER,
    // Quiet: well above the noise of a 0.75 V code, well below the trip (own design).
    quiet: Quiet { dc: volts(10), ac: volts(5), excursion: volts(20) },
    // Safe to let go: half the dc trip (own design).
    safe: volts(25),
    sets: Sets::Listed([volts(50), volts(100), volts(250), volts(500), volts(1_000)]),
    standing_max: Voltage::ZERO,
    induced: false,
    // Two cycles of 16 2/3 Hz, six of 50 Hz.
    window: Duration::from_millis(120),
    // 5 uF is 2.5 J at 1 kV: what the discharge resistor takes out in 2 s (own design).
    c_max: Capacitance::from_microfarads(5),
    e_max: Energy::from_millijoules(2_500),
    press_max: Duration::from_secs(180),
    held_max: Duration::from_secs(600),
    times: TestTimes {
        plain: Duration::from_secs(60),
        // The pairs of the trade (60 s over 30 s, 10 min over 1 min; IS 7816:1975 and an army manual
        // name them); a charge of 10 to 30 min and a minute of discharge are common practice.
        absorption: [Duration::from_secs(30), Duration::from_secs(60)],
        polarization: [Duration::from_secs(60), Duration::from_secs(600)],
        step: Duration::from_secs(60),
        charge: Duration::from_secs(1_800),
        reabsorb: Duration::from_secs(60),
    },
    // Two leads of 2 m at 0.75 mm2 with a fuse are below 1 ohm; 10 ohm leaves room for a fused
    // extension reel (own design; common practice has no figure).
    null_max: Resistance::from_ohms(10),
    supply_min_mv: 4_800,
    front_end: FrontEnd::DEFAULT,
};

/// Telephone lines: standing voltage of the exchange feed is permitted if its source is weak.
///
/// 75 V covers a 60 V exchange feed on float with margin (common practice); the ring that comes on
/// top trips the gate. Tested only with the operator's leave.
pub const TELECOM: Profile = Profile {
    id: 2,
    name: "telecom line",
    sets: Sets::Listed([volts(50), volts(100), volts(250), volts(0), volts(0)]),
    standing_max: volts(75),
    induced: true,
    // Twice, so that a standing voltage is seen to stand still for 240 ms.
    window: Duration::from_millis(240),
    ..GENERAL
};

/// Low voltage: any whole volt from 10 to 100 V.
pub const LOW_VOLTAGE: Profile = Profile {
    id: 3,
    name: "low voltage",
    sets: Sets::Any { least: volts(10), greatest: volts(100) },
    ..GENERAL
};

/// Wet location: lower trips, below 16 V rms, 22.6 V peak, 35 V dc.
pub const WET: Profile = Profile {
    id: 4,
    name: "wet location",
    trip: Trip { rms: volts(12), peak: volts(17), dc: volts(30) },
    limit: WET_LIMIT,
    quiet: Quiet { dc: volts(8), ac: volts(4), excursion: volts(12) },
    safe: volts(20),
    ..GENERAL
};

const _: () = {
    assert!(GENERAL.check().is_ok());
    assert!(TELECOM.check().is_ok());
    assert!(LOW_VOLTAGE.check().is_ok());
    assert!(WET.check().is_ok());
};
