//! Recorded waveforms for a scenario: files beside it, each read once.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::{Mutex, MutexGuard, PoisonError};

use ohmwarden_sim::world::{Recording, Recordings};

use crate::problem::Problem;
use crate::waveform::{self, Hints};

/// What a file gave.
type Read = Result<waveform::Recording, Problem>;

/// The recordings of one scenario; paths in it are relative to its own folder.
#[derive(Debug)]
pub(crate) struct Beside {
    folder: PathBuf,
    state: Mutex<State>,
}

#[derive(Debug, Default)]
struct State {
    read: BTreeMap<String, Read>,
    refused: Option<(String, Problem)>,
}

impl Beside {
    /// Looks for recordings beside this scenario.
    pub(crate) fn new(scenario: &Path) -> Self {
        let folder = scenario.parent().unwrap_or(Path::new("")).to_path_buf();
        Self { folder, state: Mutex::default() }
    }

    /// Tells what was last refused, with its place, and the name that the scenario gave it.
    pub(crate) fn refused(&self) -> Option<(String, Problem)> {
        self.state().refused.clone()
    }

    /// A thread that panicked left nothing half done here.
    fn state(&self) -> MutexGuard<'_, State> {
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl Recordings for Beside {
    fn find(&self, file: &str, column: &str) -> Result<Recording, String> {
        let mut state = self.state();
        let path = self.folder.join(file);
        let read = state
            .read
            .entry(file.to_owned())
            .or_insert_with(|| waveform::read(&path, &Hints::default()));
        let found = match read {
            Ok(recording) => channel(recording, column).map_err(|problem| problem.in_file(&path)),
            Err(problem) => Err(problem.clone()),
        };
        found.map_err(|problem| {
            let words = problem.to_string();
            state.refused = Some((file.to_owned(), problem));
            words
        })
    }
}

fn channel(recording: &waveform::Recording, column: &str) -> Result<Recording, Problem> {
    let all = &recording.channels;
    let named = all.iter().find(|channel| channel.name == column);
    let numbered = || all.get(column.parse::<usize>().ok()?.checked_sub(1)?);
    let Some(channel) = named.or_else(numbered) else {
        let names: Vec<&str> = all.iter().map(|channel| channel.name.as_str()).collect();
        let accepted = format!("1 to {} or one of: {}", all.len(), names.join(", "));
        return Err(Problem::input(format!("no channel `{column}`"), accepted));
    };
    if let Some(at) = channel.samples.iter().position(|sample| !sample.is_finite()) {
        let found = format!("no value of `{}` at sample {at}", channel.name);
        return Err(Problem::input(found, "a channel in which no sample is missing"));
    }
    if !(recording.rate.is_finite() && recording.rate > 0.0) {
        let found = format!("{} samples per second", recording.rate);
        return Err(Problem::input(found, "a rate above 0"));
    }
    Ok(Recording { rate: recording.rate, samples: channel.samples.clone() })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn two_channels() -> waveform::Recording {
        let channel = |name: &str, samples: &[f64]| waveform::ChannelData {
            name: name.to_owned(),
            unit: "V".to_owned(),
            samples: samples.to_vec(),
            clip: None,
            codes: None,
        };
        let channels = vec![channel("u", &[1.0, 2.0]), channel("i", &[3.0, f64::NAN])];
        waveform::Recording { kind: "CSV".to_owned(), rate: 10.0, channels }
    }

    #[test]
    fn a_channel_is_found_by_name_or_number_or_told() {
        let recording = two_channels();
        assert_eq!(channel(&recording, "u").unwrap().samples, [1.0, 2.0]);
        assert_eq!(channel(&recording, "1").unwrap().rate, 10.0);
        let told = channel(&recording, "0").unwrap_err().to_string();
        assert!(told.contains("one of: u, i"), "{told}");
        let told = channel(&recording, "i").unwrap_err().to_string();
        assert!(told.contains("at sample 1"), "{told}");
    }
}
