//! The rules, by name.

macro_rules! rules {
    ($($(#[$doc:meta])* $name:ident, $word:literal, $unit:literal, $sentence:literal;)+) => {
        /// A rule that must hold in every run.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        #[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
        pub enum Rule {
            $($(#[$doc])* #[doc = $sentence] $name,)+
        }

        impl Rule {
            /// All rules, in the order of the variants.
            pub const ALL: &'static [Self] = &[$(Self::$name,)+];

            /// Its name.
            #[must_use]
            pub const fn word(self) -> &'static str {
                match self { $(Self::$name => $word,)+ }
            }

            /// The unit of its margin: `rule` for one that holds or does not.
            #[must_use]
            pub const fn unit(self) -> &'static str {
                match self { $(Self::$name => $unit,)+ }
            }

            /// What it says.
            #[must_use]
            pub const fn sentence(self) -> &'static str {
                match self { $(Self::$name => $sentence,)+ }
            }
        }
    };
}

rules! {
    NoDriveWhenLive, "no_drive_when_live", "ms", "a drive starts only within 20 ms of a proof that permits it";
    DropOnLive, "drop_on_live", "ms", "voltage that arrives in a drive takes the source off within the promise, and it stays off";
    SayLive, "say_live", "ms", "voltage above the trip is shown and heard within 300 ms, and the warning stays 1 s";
    ButtonsCannotOverride, "buttons_cannot_override", "rule", "no key brings the source on while live, unproven or locked";
    ReleaseStops, "release_stops", "ms", "a released key takes the source off within 20 ms, any key where it is held or timed";
    DischargeBeforeRest, "discharge_before_rest", "V", "after a drive, rest only below the safe level";
    RestStaysSafe, "rest_stays_safe", "ms", "a voltage that returns at rest is let down again";
    NeverDischargeTheMains, "never_discharge_the_mains", "J", "the discharge resistor stays within its energy";
    NeverBoth, "never_both", "ms", "source and discharge are never on together, 1 ms apart";
    OutputWithinSet, "output_within_set", "V", "our own current never holds the terminals above 1.25 set + 3 V";
    BoundedStore, "bounded_store", "s", "what was put in is taken out within 10 s";
    BoundedDrive, "bounded_drive", "s", "no drive without an end";
    NoFalseDead, "no_false_dead", "rule", "dead is said only of what is proved dead, and never of what is live";
    FailToOff, "fail_to_off", "rule", "missing samples, a late loop, a lock or a reset leave the source off";
    EpochNeverReused, "epoch_never_reused", "rule", "a permit minted before a closing never opens the gate after it";
    FreshPress, "fresh_press", "ms", "a drive starts only on a key that was up for 100 ms before";
    PassiveBeforeCommit, "passive_before_commit", "rule", "no pass before the discharge behaved as that of a passive circuit, or a proved standing voltage was back";
    HonestReading, "honest_reading", "rule", "a flagged reading is never a pass";
    NullIsSane, "null_is_sane", "ohm", "a lead null is small, settled and learned with nothing live";
    NoHunting, "no_hunting", "changes", "a constant input settles in a bounded number of range changes";
    KeepPower, "keep_power", "ms", "power-off is refused while charged, live or driving";
}

impl Rule {
    /// Its position in [`Rule::ALL`].
    #[must_use]
    pub const fn index(self) -> usize {
        self as usize
    }
}

/// How far a rule was from breaking.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Margin {
    /// The smallest distance seen, in the rule's unit; negative where it broke. `None` where the
    /// rule was never exercised, which is not the same as held.
    pub amount: Option<f32>,
    /// How often it was exercised.
    pub exercised: u32,
    /// When the smallest was seen, in microseconds.
    pub at_us: u64,
}

impl Margin {
    /// Never exercised.
    pub const NOT_REACHED: Self = Self { amount: None, exercised: 0, at_us: 0 };

    /// Whether it held; `None` where it was never exercised.
    #[must_use]
    pub fn held(&self) -> Option<bool> {
        self.amount.map(|amount| amount >= 0.0)
    }

    pub(super) fn note(&mut self, amount: f32, at_us: u64) {
        self.exercised = self.exercised.saturating_add(1);
        // What is not a number has no margin at all.
        let amount = if amount.is_nan() { f32::NEG_INFINITY } else { amount };
        if self.amount.is_none_or(|least| amount < least) {
            self.amount = Some(amount);
            self.at_us = at_us;
        }
    }
}
