//! From a file to a checked scenario, with everything that is wrong with it.

use core::str::FromStr;
use std::path::PathBuf;
use std::sync::Arc;

use ohmwarden_sim::circuit::NetError;
use ohmwarden_sim::faults;
use ohmwarden_sim::scenario::{Known, Scenario, Sweep, Swept, Values, locate, parse_with, write};
use ohmwarden_sim::world::{SIGNALS, WorldError};

use super::find::Found;
use super::recordings::Beside;
use super::trouble::Trouble;
use crate::input::read_text;

/// What a scenario may name beside its own.
const KNOWN: Known = Known { faults: faults::SPECS, signals: SIGNALS };

/// A scenario that can be played.
#[derive(Debug)]
pub(crate) struct Loaded {
    pub(crate) name: String,
    pub(crate) file: PathBuf,
    pub(crate) text: Arc<str>,
    pub(crate) scenario: Scenario,
    pub(crate) recordings: Beside,
}

/// A value put in from the command line.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Put {
    name: String,
    value: f64,
}

impl FromStr for Put {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let accepted = || "NAME=NUMBER is needed, as in mains_phase_deg=240".to_owned();
        let (name, value) = text.split_once('=').ok_or_else(accepted)?;
        let value = value.trim().parse::<f64>().map_err(|_| accepted())?;
        Ok(Self { name: name.trim().to_owned(), value })
    }
}

/// Reads and checks one file; `puts` replace values in it.
///
/// # Errors
/// Everything that is wrong with it.
pub(crate) fn load(found: &Found, puts: &[Put]) -> Result<Loaded, Vec<Trouble>> {
    let text = read_text(&found.file).map_err(|trouble| vec![*trouble])?;
    let checked = parse_with(&text, &KNOWN).map_err(|mistakes| {
        mistakes.into_iter().map(|it| Trouble::mistake(&found.file, &text, it)).collect::<Vec<_>>()
    })?;
    let scenario = with_values(checked, puts, found)?;
    let recordings = Beside::new(&found.file);
    Ok(Loaded { name: found.name.clone(), file: found.file.clone(), text, scenario, recordings })
}

/// Puts values in as a sweep of one value each, and has the result checked like any other text: so
/// the same names and ranges count as in a file.
fn with_values(
    mut scenario: Scenario,
    puts: &[Put],
    found: &Found,
) -> Result<Scenario, Vec<Trouble>> {
    if puts.is_empty() {
        return Ok(scenario);
    }
    let mut sweep = scenario.sweep.take().unwrap_or(Sweep { names: Vec::new() });
    for put in puts {
        let values = Values::List(vec![put.value]);
        match sweep.names.iter_mut().find(|swept| swept.name == put.name) {
            Some(swept) => swept.values = values,
            None => sweep.names.push(Swept { name: put.name.clone(), values }),
        }
    }
    scenario.sweep = Some(sweep);
    let text: Arc<str> = write(&scenario).into();
    parse_with(&text, &KNOWN).map_err(|mistakes| {
        let told = |mistake| Trouble::mistake(&found.file, &text, mistake).of_command_line("--set");
        mistakes.into_iter().map(told).collect()
    })
}

impl Loaded {
    /// Says where in the text the world found that it cannot be built.
    pub(crate) fn refused(&self, error: &WorldError) -> Trouble {
        match error {
            WorldError::Circuit(error) => {
                let span = self.place_of(error).unwrap_or(0..0);
                let message = format!("the circuit cannot be solved: {error}");
                Trouble::at(&self.file, &self.text, span, message)
            }
            WorldError::Recording(words) => self.refused_recording(words),
        }
    }

    fn refused_recording(&self, words: &str) -> Trouble {
        let Some((file, problem)) = self.recordings.refused() else {
            return Trouble::of_file(&self.file, words, &[]);
        };
        if problem.line().is_some() {
            return Trouble::recording(&problem, &format!("wanted by {}", self.file.display()));
        }
        let span = self.scenario.parts.iter().find_map(|part| {
            let span = locate(&self.text, &["part", &part.name, "recorded", "file"])?;
            let line = self.text.get(span.start..)?.lines().next()?;
            line.contains(file.as_str()).then_some(span.start..span.start + line.len())
        });
        Trouble::at(&self.file, &self.text, span.unwrap_or(0..0), problem.to_string())
    }

    /// The part or the node that a circuit is refused for.
    fn place_of(&self, error: &NetError) -> Option<core::ops::Range<usize>> {
        let part = |name: &str| {
            // What a part is made of inside is named after it, with a point.
            let name = name.split('.').next().unwrap_or(name);
            locate(&self.text, &["part", name])
        };
        let node = |name: &str| {
            let quoted = format!("\"{name}\"");
            self.text.find(&quoted).map(|at| at..at + quoted.len())
        };
        match error {
            NetError::OutOfRange { part: name, .. }
            | NetError::Contradiction { part: name, .. }
            | NetError::NameTaken { part: name }
            | NetError::Foreign { part: name }
            | NetError::BothEndsTogether { part: name }
            | NetError::ParallelSources { part: name }
            | NetError::CapacitorLoop { part: name }
            | NetError::NotAdjustable { part: name } => part(name),
            NetError::FloatingNode { node: name } | NetError::InductorCutSet { node: name } => {
                node(name)
            }
            NetError::Unsolvable { at } => part(at).or_else(|| node(at)),
            _ => None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::Put;

    #[test]
    fn a_value_is_put_in_by_name_and_number() {
        let put: Put = "mains_phase_deg = 240".parse().unwrap();
        assert_eq!(put, Put { name: "mains_phase_deg".to_owned(), value: 240.0 });
        assert!("mains_phase_deg".parse::<Put>().is_err());
        assert!("a=b".parse::<Put>().is_err());
    }
}
