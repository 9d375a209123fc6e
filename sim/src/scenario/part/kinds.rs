//! The table of parts: kind, keys, accepted ranges, defaults.
//!
//! Ranges are wide enough for anything that such an instrument meets and narrow enough to catch a
//! slipped prefix; they are the project's own choice.

use alloc::string::String;
use alloc::vec::Vec;

use super::{Harmonic, Kind};
use crate::scenario::field::Field;
use crate::scenario::key::Key;
use crate::scenario::reader::{Notes, Table};

/// The greatest voltage anywhere in a scenario, volts.
const VOLTS_MAX: f64 = 20_000.0;
/// The resistance of a source where none is given, ohms: a stiff supply behind some wire.
const SOURCE_OHMS: f64 = 0.5;

/// Writes the enum of parts, its table of kinds, and the code that walks both.
macro_rules! parts {
    ($( $(#[$doc:meta])* $variant:ident $word:literal {
        $( $(#[$key_doc:meta])* $field:ident : $type:ty = $key:expr, )*
    } )+) => {
        /// What a part is. All values are in the unit of the key's name.
        #[derive(Clone, Debug, PartialEq)]
        pub enum Part {
            $( $(#[$doc])* $variant { $( $(#[$key_doc])* $field: $type, )* }, )+
        }

        /// All kinds of parts, in the order of this page.
        pub const KINDS: &[Kind] = &[$( Kind { name: $word, keys: &[$( $key, )*] }, )+];

        impl Part {
            /// Names its kind as in the text.
            #[must_use]
            pub const fn kind(&self) -> &'static str {
                match self { $( Self::$variant { .. } => $word, )+ }
            }

            /// Reads the keys of a part of this kind.
            pub(in crate::scenario) fn read(
                kind: &str,
                table: &mut Table<'_, '_>,
                notes: &mut Notes<'_>,
            ) -> Option<Self> {
                match kind {
                    $( $word => {
                        $( let $field = <$type as Field>::read(table, &$key, notes); )*
                        Some(Self::$variant { $( $field: $field?, )* })
                    } )+
                    _ => None,
                }
            }

            /// Gives each key with its value as text.
            pub(in crate::scenario) fn texts(&self) -> Vec<(&'static str, String)> {
                match self {
                    $( Self::$variant { $( $field, )* } => {
                        alloc::vec![$( (stringify!($field), Field::text($field)), )*]
                    } )+
                }
            }

            /// Gives the place of a number by its key.
            pub(in crate::scenario) fn number_mut(&mut self, key: &str) -> Option<&mut f64> {
                match self {
                    $( Self::$variant { $( $field, )* } => {
                        $( if key == stringify!($field) { return Field::number($field); } )*
                        None
                    } )+
                }
            }
        }
    };
}

const OHMS: Key = Key::number("ohms", 1.0e-3, 1.0e14);
const INNER_OHMS: Key = Key::number("ohms", 1.0e-3, 1.0e10).or(SOURCE_OHMS);
const VOLTS: Key = Key::number("volts", -VOLTS_MAX, VOLTS_MAX);
const VOLTS_RMS: Key = Key::number("volts_rms", 0.0, VOLTS_MAX);
const HERTZ: Key = Key::number("hertz", 0.01, 50_000.0);
const PHASE_DEG: Key = Key::number("phase_deg", -360.0, 360.0).or(0.0);
const SECONDS_MAX: f64 = 7_200.0;

parts! {
    /// A resistor.
    Resistor "resistor" {
        /// Resistance.
        ohms: f64 = OHMS.settable(),
    }
    /// A capacitor.
    Capacitor "capacitor" {
        /// Capacitance.
        farads: f64 = Key::number("farads", 1.0e-13, 1.0).settable(),
        /// Voltage at the start, first node against second.
        volts: f64 = VOLTS.or(0.0),
    }
    /// An inductor.
    Inductor "inductor" {
        /// Inductance.
        henries: f64 = Key::number("henries", 1.0e-9, 1.0e4),
        /// Current at the start, from first node to second.
        amps: f64 = Key::number("amps", -1.0e3, 1.0e3).or(0.0),
    }
    /// A sine source with harmonics, positive at the first node.
    Sine "sine" {
        /// Voltage of the fundamental, rms.
        volts_rms: f64 = VOLTS_RMS.settable(),
        /// Frequency.
        hertz: f64 = HERTZ.settable(),
        /// Phase of the fundamental at the start of the run.
        phase_deg: f64 = PHASE_DEG.settable(),
        /// Resistance of the source.
        ohms: f64 = INNER_OHMS,
        /// Harmonics.
        harmonics: Vec<Harmonic> = Key::harmonics("harmonics"),
    }
    /// A direct-voltage source, positive at the first node.
    Dc "dc" {
        /// Voltage.
        volts: f64 = VOLTS.settable(),
        /// Resistance of the source.
        ohms: f64 = INNER_OHMS,
    }
    /// A source of rectangular pulses.
    Pulse "pulse" {
        /// Voltage of a pulse.
        volts: f64 = VOLTS,
        /// Length of a pulse.
        width_s: f64 = Key::number("width_s", 1.0e-6, SECONDS_MAX),
        /// From the start of one pulse to the next.
        period_s: f64 = Key::number("period_s", 2.0e-6, SECONDS_MAX),
        /// The start of the first pulse.
        delay_s: f64 = Key::number("delay_s", 0.0, SECONDS_MAX).or(0.0),
        /// Resistance of the source.
        ohms: f64 = INNER_OHMS,
    }
    /// A source that rises or dies away: `volts` at the start of the run, falling to 1/e in `tau_s`.
    Exponential "exponential" {
        /// Voltage at the start of the run.
        volts: f64 = VOLTS,
        /// Time constant.
        tau_s: f64 = Key::number("tau_s", 1.0e-6, 1.0e6),
        /// Resistance of the source.
        ohms: f64 = INNER_OHMS,
    }
    /// A sine source whose frequency glides from one value to another.
    Glide "glide" {
        /// Voltage, rms.
        volts_rms: f64 = VOLTS_RMS,
        /// Frequency at the start of the run.
        from_hertz: f64 = Key::number("from_hertz", 0.01, 50_000.0),
        /// Frequency at the end of the glide and after it.
        to_hertz: f64 = Key::number("to_hertz", 0.01, 50_000.0),
        /// Length of the glide.
        seconds: f64 = Key::number("seconds", 1.0e-3, SECONDS_MAX),
        /// Resistance of the source.
        ohms: f64 = INNER_OHMS,
    }
    /// A source that plays a recorded waveform.
    Recorded "recorded" {
        /// The recording, relative to the scenario's own folder.
        file: String = Key::text("file"),
        /// Its column or channel by name.
        column: String = Key::text("column"),
        /// Volts for one unit of the recording.
        scale: f64 = Key::number("scale", -1.0e6, 1.0e6).or(1.0),
        /// Whether it starts again at its end.
        repeat: bool = Key::flag("repeat", false),
        /// Resistance of the source.
        ohms: f64 = INNER_OHMS,
    }
    /// A switch, moved by `close` and `open`.
    Switch "switch" {
        /// Its position at the start.
        closed: bool = Key::flag("closed", false),
        /// Resistance while closed.
        on_ohms: f64 = Key::number("on_ohms", 1.0e-3, 1.0e6).or(0.01),
        /// Resistance while open.
        off_ohms: f64 = Key::number("off_ohms", 1.0e3, 1.0e14).or(1.0e12),
    }
    /// A diode, anode at the first node.
    Diode "diode" {
        /// Forward voltage.
        volts: f64 = Key::number("volts", 0.0, 10.0).or(0.7),
    }
    /// A part that conducts above a voltage of either sign, as a varistor does.
    Clamp "clamp" {
        /// Where it begins to conduct.
        volts: f64 = Key::number("volts", 1.0, VOLTS_MAX),
        /// Resistance while it conducts.
        ohms: f64 = Key::number("ohms", 1.0e-3, 1.0e9).or(1.0),
    }
    /// A gap that strikes and then burns at a lower voltage until its current falls.
    Arc "arc" {
        /// Where it strikes.
        strike_volts: f64 = Key::number("strike_volts", 1.0, VOLTS_MAX),
        /// What it burns at.
        arc_volts: f64 = Key::number("arc_volts", 0.0, VOLTS_MAX),
        /// Resistance while it burns.
        ohms: f64 = Key::number("ohms", 1.0e-3, 1.0e6).or(1.0),
        /// Below this current it goes out.
        hold_amps: f64 = Key::number("hold_amps", 1.0e-9, 100.0).or(1.0e-3),
    }
    /// A resistor that passes no more than a current, either way.
    CurrentLimit "current_limit" {
        /// The greatest current.
        amps: f64 = Key::number("amps", 1.0e-9, 1.0e3),
        /// Resistance below it.
        ohms: f64 = Key::number("ohms", 1.0e-3, 1.0e10).or(SOURCE_OHMS),
    }
    /// A live conductor that couples in through a capacitance.
    Pickup "pickup" {
        /// The coupling capacitance.
        farads: f64 = Key::number("farads", 1.0e-13, 1.0e-3),
        /// Voltage on the live conductor, rms.
        volts_rms: f64 = VOLTS_RMS.settable(),
        /// Its frequency.
        hertz: f64 = HERTZ.settable(),
        /// Its phase at the start of the run.
        phase_deg: f64 = PHASE_DEG.settable(),
    }
    /// An insulation: conduction, capacitance and absorption in one.
    Insulation "insulation" {
        /// Resistance after absorption has died away.
        ohms: f64 = OHMS.settable(),
        /// Geometric capacitance.
        farads: f64 = Key::number("farads", 1.0e-13, 1.0),
        /// The part of the charge that comes back after a short discharge.
        absorption: f64 = Key::number("absorption", 0.0, 0.5).or(0.0),
        /// Exponent n of the absorption current, t^-n.
        absorption_n: f64 = Key::number("absorption_n", 0.3, 1.2).or(0.8),
    }
}
