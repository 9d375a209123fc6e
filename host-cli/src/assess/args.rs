//! What the command line of `assess` takes.

use std::path::PathBuf;

use ohmwarden_core::correct::{self, Class};
use ohmwarden_core::judge::{Flags, Rule};
use ohmwarden_core::unit::{Temperature, Voltage};

use super::amount::{self, Amount, Doubt, said};
use super::conductor::Run;
use crate::output::Format;

/// What a sheet of readings looks like.
const SHEET: &str = "Judge the rows of a CSV file, one reading each.\n\nThe first line names the \
    columns, in any order: name, value (needed), doubt, limit, at_least, at_most, volts, celsius, \
    correct, flags (joined by +). An empty field takes what the command line says. Lines that \
    begin with # count for nothing. Fields hold no commas. A row that cannot be used stops no other row";
const CORRECT: &str = "Correct for temperature by this rule: halving, oil, solid, thermoset, \
    rubber_r, thermoplastic_t, rubber_rh, copper or copper_iacs";

/// What a file of limits looks like.
const LIMITS: &str = "A TOML file with limits of your own.\n\nIt begins with `ohmwarden = 1`; each \
    limit is a table [limit.NAME] with id (32768 to 65535), about, at_least or at_most (as in \
    \"2 Mohm\"), source; and, where wanted, volts (the least test voltage), celsius (what readings \
    are corrected to), edition, standing (published, secondary, common_practice, from_memory) and \
    remark";
/// What does not go with a ratio.
const OTHER_WAYS: [&str; 7] = ["value", "readings", "list", "correct", "conductor", "pair", "far"];
/// What a distance, or a design, is not held against.
const JUDGED: [&str; 4] = ["limit", "at_least", "at_most", "correct"];

/// Judge a reading, or a sheet of them, against a limit that says where it comes from.
///
/// Exit code: 0 where everything passed (or nothing was to be judged), 1 where something failed or
/// is undecided, 2 where some input cannot be used.
#[derive(Clone, Debug, clap::Args)]
pub(crate) struct Args {
    /// The reading with its unit: 1.06Mohm, ">999 Mohm", 100nF; a plain number for a ratio.
    #[arg(value_name = "READING")]
    pub(super) value: Option<Amount>,
    /// Judge the rows of a CSV file, one reading each; --help tells its columns.
    #[arg(long, value_name = "FILE", conflicts_with = "value", long_help = SHEET)]
    pub(super) readings: Option<PathBuf>,
    /// List all limits with their sources, and judge nothing.
    #[arg(long, conflicts_with_all = ["value", "readings"])]
    pub(super) list: bool,
    /// A limit by its word.
    #[arg(long, value_name = "WORD", conflicts_with_all = ["at_least", "at_most"])]
    pub(super) limit: Option<String>,
    /// A limit as a number: the reading must be at least this.
    #[arg(long, value_name = "AMOUNT", conflicts_with = "at_most")]
    pub(super) at_least: Option<Amount>,
    /// A limit as a number: the reading must be at most this.
    #[arg(long, value_name = "AMOUNT")]
    pub(super) at_most: Option<Amount>,
    /// A TOML file with limits of your own; --help tells its keys.
    #[arg(long, value_name = "FILE", long_help = LIMITS)]
    pub(super) limits: Option<PathBuf>,
    /// The standard uncertainty (half of an expanded one with k = 2), as 3% or as an amount.
    #[arg(long, value_name = "DOUBT")]
    pub(super) doubt: Option<Doubt>,
    /// guarded: met or missed by 1.64 times the doubt; simple: the number alone decides.
    #[arg(long, value_name = "RULE", value_parser = judging_rule, default_value = "guarded")]
    pub(super) rule: Rule,
    /// What is to be known about the reading, as flags joined by commas.
    #[arg(long, value_delimiter = ',', value_name = "FLAG", value_parser = flag)]
    pub(super) flags: Vec<Flags>,
    /// The test voltage, volts.
    #[arg(long, value_name = "VOLTS", value_parser = volts)]
    pub(super) volts: Option<Voltage>,
    /// The rated voltage of the winding, volts.
    #[arg(long, value_name = "VOLTS")]
    pub(super) rated: Option<u32>,
    #[command(flatten)]
    pub(super) warmth: WarmthArgs,
    #[command(flatten)]
    pub(super) ratio: RatioArgs,
    #[command(flatten)]
    pub(super) line: LineArgs,
    /// How to answer.
    #[arg(long, value_enum, default_value_t = Format::Human)]
    pub(super) format: Format,
}

/// Temperatures.
#[derive(Clone, Debug, clap::Args)]
pub(super) struct WarmthArgs {
    /// The temperature of what was measured, degrees C.
    #[arg(long, value_name = "C", value_parser = celsius, allow_negative_numbers = true)]
    pub(super) celsius: Option<Temperature>,
    /// Its standard uncertainty, K.
    #[arg(long, value_name = "K", value_parser = celsius, default_value = "1")]
    pub(super) celsius_doubt: Option<Temperature>,
    /// The dew point of the air, degrees C.
    #[arg(long, value_name = "C", value_parser = celsius, allow_negative_numbers = true)]
    pub(super) dew_celsius: Option<Temperature>,
    /// Correct by this rule.
    #[arg(long, value_name = "RULE", value_parser = correction, help = CORRECT)]
    pub(super) correct: Option<correct::Rule>,
    /// To this temperature; by default that of the limit, else that of the rule.
    #[arg(long, value_name = "C", value_parser = celsius, allow_negative_numbers = true)]
    #[arg(requires = "correct")]
    pub(super) to_celsius: Option<Temperature>,
}

/// Ratios.
#[derive(Clone, Debug, clap::Args)]
pub(super) struct RatioArgs {
    /// Polarization index from the readings at one and at ten minutes.
    #[arg(long, num_args = 2, value_names = ["R1", "R10"])]
    #[arg(conflicts_with_all = OTHER_WAYS, conflicts_with = "dar")]
    pub(super) pi: Option<Vec<Amount>>,
    /// Absorption ratio from the readings at 30 and at 60 seconds.
    #[arg(long, num_args = 2, value_names = ["R30", "R60"])]
    #[arg(conflicts_with_all = OTHER_WAYS)]
    pub(super) dar: Option<Vec<Amount>>,
    /// The voltages at the two times.
    #[arg(long, num_args = 2, value_names = ["V", "V"], value_parser = volts)]
    pub(super) at_volts: Option<Vec<Voltage>>,
}

/// Conductors and pairs.
#[derive(Clone, Debug, clap::Args)]
pub(super) struct LineArgs {
    /// What a run of copper should read: 2.5/1.5 mm2 there and back, 14awg/14awg, or one way.
    #[arg(long, value_name = "MM2[/MM2]", requires = "metres", conflicts_with_all = JUDGED)]
    #[arg(conflicts_with_all = ["readings", "pair"])]
    pub(super) conductor: Option<Run>,
    /// The class of the conductors, 2 (fixed wiring) or 5 (flexible).
    #[arg(long, value_parser = class, default_value = "2")]
    pub(super) class: Class,
    /// The length of the run, or of the route, metres.
    #[arg(long, value_name = "M", value_parser = clap::value_parser!(u32).range(1..=1_000_000))]
    pub(super) metres: Option<u32>,
    /// The kind of telephone pair: a capacitance gives the distance to an open, a resistance that
    /// to a short.
    #[arg(long, value_name = "KIND", requires = "value", conflicts_with_all = JUDGED)]
    pub(super) pair: Option<String>,
    /// Ohms of loop for each kilometre, over what the kind says.
    #[arg(long, value_name = "OHM", requires = "pair", value_parser = above_zero)]
    pub(super) loop_ohms_per_km: Option<f32>,
    /// Nanofarads for each kilometre, over what the kind says.
    #[arg(long, value_name = "NF", requires = "pair", value_parser = above_zero)]
    pub(super) nanofarads_per_km: Option<f32>,
    /// What the leads read in the air, or joined; taken off.
    #[arg(long, value_name = "AMOUNT", requires = "pair")]
    pub(super) leads: Option<Amount>,
    /// The insulation of the pair.
    #[arg(long, value_name = "AMOUNT", requires = "pair")]
    pub(super) insulation: Option<Amount>,
    /// The same reading from the far end: splits a route of --metres by their ratio.
    #[arg(long, value_name = "AMOUNT", requires_all = ["value", "metres"])]
    #[arg(conflicts_with_all = JUDGED, conflicts_with_all = ["pair", "conductor"])]
    pub(super) far: Option<Amount>,
}

fn judging_rule(text: &str) -> Result<Rule, String> {
    match text {
        "guarded" => Ok(Rule::Guarded),
        "simple" => Ok(Rule::Simple),
        _ => Err("accepted are guarded and simple".to_owned()),
    }
}

fn class(text: &str) -> Result<Class, String> {
    match text {
        "2" => Ok(Class::Two),
        "5" => Ok(Class::Five),
        _ => Err("accepted are 2 and 5".to_owned()),
    }
}

fn flag(text: &str) -> Result<Flags, String> {
    amount::flag(text).map_err(|mistake| said(&mistake))
}

fn volts(text: &str) -> Result<Voltage, String> {
    amount::volts(text).map_err(|mistake| said(&mistake))
}

fn celsius(text: &str) -> Result<Temperature, String> {
    amount::celsius(text).map_err(|mistake| said(&mistake))
}

fn correction(text: &str) -> Result<correct::Rule, String> {
    amount::correction(text).map_err(|mistake| said(&mistake))
}

fn above_zero(text: &str) -> Result<f32, String> {
    let number = text.parse().ok().filter(|number: &f32| *number > 0.0 && number.is_finite());
    number.ok_or_else(|| "a number above zero is needed".to_owned())
}
