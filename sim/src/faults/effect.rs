//! What a fault does, as data: the front end applies some of it, the world round core the rest.

use crate::scenario::Side;

/// What a fault does.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Effect {
    /// Something that acts does not do what it is told; for the front end.
    Actuator(Actuator),
    /// The clock that core checks the sampling by is wrong; for the world.
    Clock(Clock),
    /// The leads are not what they seem; for the front end.
    Lead(LeadFault),
    /// Core is not run as often as it should be; for the world.
    Loop(Loop),
    /// What should outlive a reset does not; for the world.
    Memory(Memory),
    /// The panel says what nobody did; for the world.
    Panel(PanelFault),
    /// What is measured is not what is read; for the front end.
    Sensor(Sensor),
    /// The battery; for the front end.
    Supply(SupplyFault),
}

/// A converter channel.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Channel {
    /// First divider.
    V,
    /// Second divider.
    V2,
    /// Ranged current.
    I,
    /// The gate's own current.
    IGate,
    /// Low range of the voltage.
    Low,
}

impl Channel {
    /// All channels, in the order of a sample's fields.
    pub const ALL: [Self; 5] = [Self::V, Self::V2, Self::I, Self::IGate, Self::Low];
    /// Their words in a scenario.
    pub const WORDS: [&'static str; 5] = ["v", "v2", "i", "i_gate", "low"];

    /// Gives its place in [`Channel::ALL`].
    #[must_use]
    pub const fn index(self) -> usize {
        self as usize
    }
}

/// What is measured is not what is read.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Sensor {
    /// The code never changes.
    Stuck {
        /// Which channel.
        channel: Channel,
        /// The code.
        code: i16,
    },
    /// The gain is wrong.
    Gain {
        /// Which channel.
        channel: Channel,
        /// What is read for 1.
        factor: f64,
    },
    /// Both dividers, or the reference behind them, have the same wrong gain.
    Reference {
        /// What every channel reads for 1.
        factor: f64,
    },
    /// Something is added.
    Offset {
        /// Which channel.
        channel: Channel,
        /// In its own unit: volts or amperes.
        amount: f64,
    },
    /// More noise than there should be.
    Noise {
        /// Which channel.
        channel: Channel,
        /// In its own unit, rms: volts or amperes.
        rms: f64,
    },
    /// The upper resistor of a divider is open.
    DividerOpen {
        /// `V` or `V2`.
        channel: Channel,
    },
    /// The multiplexer never leaves the first divider.
    CopiesFirst,
    /// The current shunt stays in one range whatever is asked.
    RangeStuck {
        /// Place of the range among core's, the finest first.
        range: usize,
    },
    /// The anti-alias capacitors are open.
    NoFilter,
    /// The same sample over and over.
    Repeats,
    /// Every so many samples one is lost.
    Drops {
        /// Of how many.
        every: u32,
    },
    /// A burst from outside on the first divider, once.
    Spike {
        /// Height.
        volts: f64,
        /// Samples it lasts.
        samples: u32,
    },
}

/// Something that acts does not do what it is told.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Actuator {
    /// The source delivers whatever the gate says, as long as its supply is up.
    SourceStuckOn {
        /// What it regulates to.
        volts: f64,
    },
    /// The source never delivers.
    SourceDead,
    /// The regulator aims too high or too low.
    SetPoint {
        /// For 1.
        factor: f64,
    },
    /// The set point does not ramp but stands at once.
    NoRamp {
        /// Where it stands.
        volts: f64,
    },
    /// The current limit is wrong.
    Limit {
        /// For 1.
        factor: f64,
    },
    /// The source's voltage ripples.
    Ripple {
        /// Amplitude.
        volts: f64,
        /// Frequency.
        hertz: f64,
    },
    /// The discharge switch never closes.
    DischargeOpen,
    /// The discharge switch never opens.
    DischargeClosed,
    /// The discharge resistor has changed.
    DischargeResistor {
        /// For 1.
        factor: f64,
    },
    /// The output relay is welded.
    RelayWelded,
    /// The relays take their time, or bounce.
    RelayTimes {
        /// Travel.
        travel_s: f64,
        /// Bounce when they close.
        bounce_s: f64,
    },
    /// The supply of the source stays up without its token.
    SupplyStuckOn,
    /// The supply of the source never comes up.
    SupplyDead,
}

/// The leads are not what they seem.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum LeadFault {
    /// A lead is open.
    Open(Side),
    /// The positive lead makes and breaks.
    Intermittent {
        /// How often a second.
        hertz: f64,
    },
    /// Something conducts between the leads.
    Leak {
        /// How well.
        ohms: f64,
    },
    /// The leads touch.
    Short,
    /// The leads are changed over.
    Swapped,
    /// The fuse is blown.
    FuseBlown,
}

/// The battery.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SupplyFault {
    /// It stands at so many millivolts.
    Sags {
        /// Where.
        millivolts: u16,
    },
}

/// The panel says what nobody did.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PanelFault {
    /// The test key is welded down.
    TestWelded,
    /// Both contacts of the test key say the same.
    TestContradicts,
    /// The selector stands between two positions.
    Between,
}

/// Core is not run as often as it should be.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Loop {
    /// The main loop misses so many blocks.
    Stalls {
        /// How many.
        blocks: u32,
    },
    /// The interrupt misses so many samples.
    InterruptStops {
        /// How many.
        samples: u32,
    },
}

/// The clock that core checks the sampling by is wrong.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Clock {
    /// It runs at another rate.
    Rate {
        /// For 1.
        factor: f64,
    },
}

/// What should outlive a reset does not.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Memory {
    /// What was kept is lost.
    Forgets,
}
