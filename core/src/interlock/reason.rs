//! Every reason the interlock can give, as a word and a plain sentence.

/// Why the instrument is where it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[non_exhaustive]
pub enum Reason {
    /// Absorption keeps bringing the voltage back, so the discharge stays on.
    Absorbing,
    /// A key ended the held or timed drive.
    AnyKey,
    /// The test key was already down, so it starts nothing.
    ButtonHeld,
    /// A voltage channel did not answer the proving bias.
    ChannelsUnproved,
    /// The circuit holds a charge.
    Charged,
    /// The voltage broke down under test, again and again.
    Flashover,
    /// The function was changed, which ends a drive.
    FunctionChanged,
    /// Alternating voltage is there through a small capacitance.
    Induced,
    /// Power was lost in a drive; what was measured is discarded.
    Interrupted,
    /// Voltage from outside is on the terminals.
    Live,
    /// Alternating voltage from outside is on the terminals.
    LiveAc,
    /// Direct voltage from outside is on the terminals and does not decay.
    LiveDc,
    /// Direct and alternating voltage from outside are on the terminals.
    LiveMixed,
    /// Pulses of voltage from outside are on the terminals.
    LivePulsed,
    /// The load changed again and again while it was driven.
    LoadChanged,
    /// The supply is too low to drive anything.
    Low,
    /// This function drives nothing.
    NoFunction,
    /// This test voltage is not in this profile.
    NotAllowed,
    /// What was read was not steady, or too much to be that of leads.
    NullRefused,
    /// What the leads show by themselves was learned.
    NullStored,
    /// The contacts of the key, or the selector, contradict each other.
    Panel,
    /// The voltage did not sag while the source was off, so it is not ours alone.
    Peeked,
    /// The channels and the circuit are being proved.
    Proving,
    /// Nothing is driven.
    Ready,
    /// The key was let go.
    Released,
    /// A small voltage is there whose kind is not known.
    Residual,
    /// A weak direct voltage stands on the circuit.
    Standing,
    /// The voltage does not discharge: a source, or a store too large to tell from one.
    StoredOrLive,
    /// The standing voltage is reversed against our own.
    SwapLeads,
    /// The time for one drive is over.
    TimeUp,
    /// The circuit would store more than can be taken out again in time.
    TooCapacitive,
    /// The gate closed by itself: on a sample that our own source and a passive load could not
    /// have made, or because none came in time.
    Tripped,
    /// What the circuit is could not be proved.
    Unproven,
    /// The voltage of a timed test sagged, or did not come up in time.
    VoltageLost,
    /// Something is broken.
    Locked(Lock),
}

/// What is broken. Those of an actuator are remembered across a power cut.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum Lock {
    /// The two voltage channels disagree.
    Channels,
    /// The sampling clock and the independent clock disagree.
    Clock,
    /// A channel repeats the same code: the converter stands still.
    Converter,
    /// The discharge path does not work; the terminals let themselves down slowly.
    Discharge,
    /// The source delivers although it is off.
    DriveStuck,
    /// The source went above what it was asked for.
    OverVoltage,
    /// The proving bias reads wrong on both channels: the reference is off.
    Reference,
    /// The source was told to deliver and does not.
    SourceDead,
    /// The continuity current would not die away.
    StoredInductive,
}

impl Lock {
    /// All of them, in the order of their names.
    pub const ALL: [Self; 9] = [
        Self::Channels,
        Self::Clock,
        Self::Converter,
        Self::Discharge,
        Self::DriveStuck,
        Self::OverVoltage,
        Self::Reference,
        Self::SourceDead,
        Self::StoredInductive,
    ];

    /// Its word, in lower case with underscores.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Channels => "channels",
            Self::Clock => "clock",
            Self::Converter => "converter",
            Self::Discharge => "discharge",
            Self::DriveStuck => "drive_stuck",
            Self::OverVoltage => "over_voltage",
            Self::Reference => "reference",
            Self::SourceDead => "source_dead",
            Self::StoredInductive => "stored_inductive",
        }
    }

    /// A plain sentence.
    #[must_use]
    pub const fn sentence(self) -> &'static str {
        match self {
            Self::Channels => "two channels that measure the same disagree",
            Self::Clock => "the sampling clock and the independent clock disagree",
            Self::Converter => "the codes repeat or do not come: the converter stands still",
            Self::Discharge => {
                "the discharge path does not work; the terminals let themselves down slowly"
            }
            Self::DriveStuck => "the source delivers although it is off",
            Self::OverVoltage => "the source went above what it was asked for",
            Self::Reference => {
                "the proving bias reads wrong on both channels: the reference is off"
            }
            Self::SourceDead => "the source was told to deliver and does not",
            Self::StoredInductive => "the continuity current would not die away",
        }
    }

    /// Whether it is about an actuator, and so outlives a power cut until that actuator passes a test.
    #[must_use]
    pub const fn is_remembered(self) -> bool {
        matches!(self, Self::Discharge | Self::DriveStuck | Self::OverVoltage)
    }
}

impl Reason {
    /// All of them but the locks, in the order of their names.
    pub const ALL: [Self; 34] = [
        Self::Absorbing,
        Self::AnyKey,
        Self::ButtonHeld,
        Self::ChannelsUnproved,
        Self::Charged,
        Self::Flashover,
        Self::FunctionChanged,
        Self::Induced,
        Self::Interrupted,
        Self::Live,
        Self::LiveAc,
        Self::LiveDc,
        Self::LiveMixed,
        Self::LivePulsed,
        Self::LoadChanged,
        Self::Low,
        Self::NoFunction,
        Self::NotAllowed,
        Self::NullRefused,
        Self::NullStored,
        Self::Panel,
        Self::Peeked,
        Self::Proving,
        Self::Ready,
        Self::Released,
        Self::Residual,
        Self::Standing,
        Self::StoredOrLive,
        Self::SwapLeads,
        Self::TimeUp,
        Self::TooCapacitive,
        Self::Tripped,
        Self::Unproven,
        Self::VoltageLost,
    ];

    /// Its word, in lower case with underscores.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Absorbing => "absorbing",
            Self::AnyKey => "any_key",
            Self::ButtonHeld => "button_held",
            Self::ChannelsUnproved => "channels_unproved",
            Self::Charged => "charged",
            Self::Flashover => "flashover",
            Self::FunctionChanged => "function_changed",
            Self::Induced => "induced",
            Self::Interrupted => "interrupted",
            Self::Live => "live",
            Self::LiveAc => "live_ac",
            Self::LiveDc => "live_dc",
            Self::LiveMixed => "live_mixed",
            Self::LivePulsed => "live_pulsed",
            Self::LoadChanged => "load_changed",
            Self::Low => "low",
            Self::NoFunction => "no_function",
            Self::NotAllowed => "not_allowed",
            Self::NullRefused => "null_refused",
            Self::NullStored => "null_stored",
            Self::Panel => "panel",
            Self::Peeked => "peeked",
            Self::Proving => "proving",
            Self::Ready => "ready",
            Self::Released => "released",
            Self::Residual => "residual",
            Self::Standing => "standing",
            Self::StoredOrLive => "stored_or_live",
            Self::SwapLeads => "swap_leads",
            Self::TimeUp => "time_up",
            Self::TooCapacitive => "too_capacitive",
            Self::Tripped => "tripped",
            Self::Unproven => "unproven",
            Self::VoltageLost => "voltage_lost",
            Self::Locked(lock) => lock.word(),
        }
    }

    /// A plain sentence.
    #[must_use]
    pub const fn sentence(self) -> &'static str {
        match self {
            Self::Absorbing => {
                "absorption keeps bringing the voltage back, so the discharge stays on"
            }
            Self::AnyKey => "a key ended the held or timed drive",
            Self::ButtonHeld => "the test key was already down, so it starts nothing",
            Self::ChannelsUnproved => "a voltage channel did not answer the proving bias",
            Self::Charged => "the circuit holds a charge",
            Self::Flashover => "the voltage broke down under test, again and again",
            Self::FunctionChanged => "the function was changed, which ends a drive",
            Self::Induced => "alternating voltage is there through a small capacitance",
            Self::Interrupted => "power was lost in a drive; what was measured is discarded",
            Self::Live => "voltage from outside is on the terminals",
            Self::LiveAc => "alternating voltage from outside is on the terminals",
            Self::LiveDc => "direct voltage from outside is on the terminals and does not decay",
            Self::LiveMixed => "direct and alternating voltage from outside are on the terminals",
            Self::LivePulsed => "pulses of voltage from outside are on the terminals",
            Self::LoadChanged => "the load changed again and again while it was driven",
            Self::Low => "the supply is too low to drive anything",
            Self::NoFunction => "this function drives nothing",
            Self::NotAllowed => "this test voltage is not in this profile",
            Self::NullRefused => "what was read was not steady, or too much to be that of leads",
            Self::NullStored => "what the leads show by themselves was learned",
            Self::Panel => "the contacts of the key, or the selector, contradict each other",
            Self::Peeked => {
                "the voltage did not sag while the source was off, so it is not ours alone"
            }
            Self::Proving => "the channels and the circuit are being proved",
            Self::Ready => "nothing is driven",
            Self::Released => "the key was let go",
            Self::Residual => "a small voltage is there whose kind is not known",
            Self::Standing => "a weak direct voltage stands on the circuit",
            Self::StoredOrLive => {
                "the voltage does not discharge: a source, or a store too large to tell from one"
            }
            Self::SwapLeads => "the standing voltage is reversed against our own",
            Self::TimeUp => "the time for one drive is over",
            Self::TooCapacitive => {
                "the circuit would store more than can be taken out again in time"
            }
            Self::Tripped => {
                "the gate closed by itself: a sample that our own source and a passive load could not have made, or none in time"
            }
            Self::Unproven => "what the circuit is could not be proved",
            Self::VoltageLost => "the voltage of a timed test sagged, or did not come up in time",
            Self::Locked(lock) => lock.sentence(),
        }
    }

    /// What a person may do about it; empty where there is nothing to do.
    #[must_use]
    pub const fn advice(self) -> &'static str {
        match self {
            Self::Absorbing => {
                "Wait. Large cables and machines recharge themselves; earth them as local practice requires."
            }
            Self::AnyKey => "Press again for a new measurement.",
            Self::ButtonHeld => "Let the key go for a moment, then press it.",
            Self::ChannelsUnproved => {
                "Do not rely on any indication. Try the leads on nothing; if it stays, the instrument needs service."
            }
            Self::Charged => "Wait while it is let down; do not touch it.",
            Self::Proving | Self::Ready | Self::Released | Self::TimeUp => "",
            Self::Flashover => {
                "Something flashes over or conducts at this voltage: an arrester, damp, dirt. Choose a lower voltage or find it."
            }
            Self::FunctionChanged => {
                "The old function's voltage stays on view until it is safe. Press again for the new one."
            }
            Self::Induced => {
                "It looks like pick-up from a parallel conductor. An electronic switch that is off looks the same."
            }
            Self::Interrupted => "The terminals are let down first.",
            Self::Live | Self::LiveAc | Self::LiveMixed => {
                "Disconnect. Isolate, lock off and prove dead with a dedicated detector."
            }
            Self::LiveDc => {
                "Disconnect. Look for a battery, a string of solar modules, a second feed."
            }
            Self::LivePulsed => {
                "Disconnect. Electric fences and flashing or chopped loads look quiet between pulses."
            }
            Self::LoadChanged => {
                "Check that the leads sit firmly and that nobody touches the circuit."
            }
            Self::Low => "Change the battery. The voltmeter still works.",
            Self::NoFunction => "Choose a measuring function.",
            Self::NotAllowed => "Choose one that is.",
            Self::NullRefused => {
                "Continuity: hold the leads firmly together. Insulation: test them apart in the air, then press null. The old null stays."
            }
            Self::NullStored => "It holds for these leads alone.",
            Self::Panel => {
                "Let the key go, set the selector; if it stays, the panel needs service."
            }
            Self::Peeked => "Disconnect. A source from outside stands near the test voltage.",
            Self::Residual => "Find out what it is; a drive on it could mislead or harm.",
            Self::Standing => "This profile, or this function, does not permit a drive on it.",
            Self::StoredOrLive => "Treat it as live.",
            Self::SwapLeads => "Swap the leads.",
            Self::TooCapacitive => "It is too large for this instrument at this voltage.",
            Self::Tripped => "The circuit is proved again before anything else.",
            Self::Unproven => "Check the leads; if it stays, do not rely on the reading.",
            Self::VoltageLost => {
                "The circuit takes more current than the source has. Measure it with the key held."
            }
            Self::Locked(_) => {
                "Do not use the instrument. Take the leads off only when the voltage reads safe and stays so; a power cycle runs the self-test again."
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    #[test]
    fn every_reason_has_a_word_of_its_own_and_a_sentence() {
        let words: BTreeSet<_> = Reason::ALL
            .iter()
            .map(|r| r.word())
            .chain(Lock::ALL.iter().map(|l| l.word()))
            .collect();
        assert_eq!(words.len(), Reason::ALL.len() + Lock::ALL.len());
        for word in words {
            assert!(word.chars().all(|c| c.is_ascii_lowercase() || c == '_'), "{word}");
        }
        assert!(Reason::ALL.iter().all(|r| r.sentence().len() > 10));
    }
}
