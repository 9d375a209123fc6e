//! The rows of the latency table: what arrives, and what an earlier rough model said of it.

/// One row.
#[derive(Clone, Copy, Debug)]
pub struct Row {
    /// What arrives, in words.
    pub says: &'static str,
    /// The worst case of the rough model that the promises were first drawn from, milliseconds.
    pub rough_model: &'static str,
    /// What arrives, in numbers.
    pub sources: Sources,
}

/// The sources of a row.
#[derive(Clone, Copy, Debug)]
pub enum Sources {
    /// Sines: every one of these volts (rms) at every one of these frequencies.
    Alternating {
        /// Volts, rms: the least of the row first.
        rms: &'static [f64],
        /// Frequencies.
        hz: &'static [f64],
    },
    /// Direct voltages.
    Reversed(&'static [f64]),
    /// Direct voltages that differ from our own by so much.
    Apart(&'static [f64]),
}

const MAINS: &[f64] = &[45.0, 50.0, 60.0, 65.0];
const SLOW: &[f64] = &[15.0, 50.0 / 3.0, 20.0, 25.0, 30.0, 44.9];
const FAST: &[f64] = &[65.1, 100.0, 400.0, 450.0];

const fn sines(
    says: &'static str,
    rough_model: &'static str,
    rms: &'static [f64],
    hz: &'static [f64],
) -> Row {
    Row { says, rough_model, sources: Sources::Alternating { rms, hz } }
}

/// The table.
pub const ROWS: &[Row] = &[
    sines(">= 230 V rms, 45..65 Hz", "4.6", &[230.0, 400.0], MAINS),
    sines(">= 100 V rms, 45..65 Hz", "6.1", &[100.0], MAINS),
    sines(">= 50 V rms, 45..65 Hz", "8.4", &[50.0], MAINS),
    sines(">= 25 V rms, 45..65 Hz", "14.3", &[25.0], MAINS),
    sines(">= 230 V rms, 15..45 Hz", "10.1", &[230.0, 400.0], SLOW),
    sines(">= 100 V rms, 15..45 Hz", "15.4", &[100.0], SLOW),
    sines(">= 50 V rms, 15..45 Hz", "28.8", &[50.0], SLOW),
    sines(">= 25 V rms, 15..45 Hz", "36.3", &[25.0], SLOW),
    sines(">= 230 V rms, 65..450 Hz", "2.8", &[230.0, 400.0], FAST),
    sines(">= 100 V rms, 65..450 Hz", "-", &[100.0], FAST),
    sines(">= 50 V rms, 65..450 Hz", "2.5", &[50.0], FAST),
    sines(">= 25 V rms, 65..450 Hz", "7.6", &[25.0], FAST),
    Row {
        says: "DC reversed by >= 25 V",
        rough_model: "2.3",
        sources: Sources::Reversed(&[-25.0, -30.0, -50.0, -110.0, -300.0, -600.0, -1_000.0]),
    },
    Row {
        says: "DC >= 30 V from our own",
        rough_model: "2.3",
        sources: Sources::Apart(&[
            -30.0, -40.0, -60.0, -110.0, -220.0, 30.0, 35.0, 40.0, 50.0, 60.0, 80.0, 110.0, 220.0,
            500.0,
        ]),
    },
];

/// What lies between the least voltages of the rows: crests that meet a test voltage, and more.
pub const BETWEEN: &[Row] = &[
    sines("230..710 V rms, 45..65 Hz", "-", STRONG, MAINS),
    sines("100..229 V rms, 45..65 Hz", "-", MIDDLE, MAINS),
    sines("50..99 V rms, 45..65 Hz", "-", WEAK, MAINS),
    sines("25..49 V rms, 45..65 Hz", "-", FAINT, MAINS),
    sines("230..710 V rms, 15..45 Hz", "-", STRONG, SLOW),
    sines("100..229 V rms, 15..45 Hz", "-", MIDDLE, SLOW),
    sines("50..99 V rms, 15..45 Hz", "-", WEAK, SLOW),
    sines("25..49 V rms, 15..45 Hz", "-", FAINT, SLOW),
    sines("230..710 V rms, 65..450 Hz", "-", STRONG, FAST),
    sines("100..229 V rms, 65..450 Hz", "-", MIDDLE, FAST),
    sines("50..99 V rms, 65..450 Hz", "-", WEAK, FAST),
    sines("25..49 V rms, 65..450 Hz", "-", FAINT, FAST),
];

const STRONG: &[f64] =
    &[245.0, 260.0, 290.0, 325.0, 345.0, 354.0, 368.0, 480.0, 580.0, 680.0, 690.0, 710.0];
const MIDDLE: &[f64] = &[106.0, 115.0, 125.0, 140.0, 155.0, 165.0, 177.0, 186.0, 200.0, 220.0];
const WEAK: &[f64] = &[53.0, 57.0, 61.0, 66.0, 71.0, 76.0, 82.0, 90.0, 99.0];
const FAINT: &[f64] = &[26.5, 28.0, 30.0, 32.5, 35.0, 38.0, 42.0, 49.0];
