//! Traces as files: `trace.csv`, `trace.vcd` and `result.json` in a folder for each scenario, and
//! beside the folder `NAME.flash.bin` where the board has a store.

mod csv;
mod signals;
mod vcd;

use std::fs::{self, File};
use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};

use ohmwarden_core::commands::Event as Change;
use ohmwarden_sim::scenario::Event;
use ohmwarden_sim::world::{Observer, Snapshot};

use super::json;
use super::summary::Summary;
use crate::problem::Problem;
use vcd::Dump;

/// Writes traces while somebody else may look on as well.
#[derive(Debug)]
pub(crate) struct Trace<W: Write> {
    csv: W,
    vcd: W,
    dump: Dump,
    every: u32,
    skipped: u32,
    labels: Vec<String>,
    failed: Option<io::Error>,
}

/// The folder of a scenario's files; a name with folders in it makes folders.
pub(crate) fn folder(root: &Path, name: &str) -> PathBuf {
    let parts = name.split('/').filter(|part| !part.is_empty() && *part != "." && *part != "..");
    parts.fold(root.to_path_buf(), |folder, part| folder.join(part))
}

/// Opens the files of a scenario, its folder included.
///
/// # Errors
/// A folder or a file that cannot be made or written.
pub(crate) fn create(
    folder: &Path,
    title: &str,
    every: u32,
) -> Result<Trace<BufWriter<File>>, Problem> {
    let made = |path: &Path, error: &io::Error| Problem::unwritable(path, error);
    fs::create_dir_all(folder).map_err(|error| made(folder, &error))?;
    let open = |name: &str| {
        let path = folder.join(name);
        File::create(&path).map(BufWriter::new).map_err(|error| made(&path, &error))
    };
    let (csv, vcd) = (open("trace.csv")?, open("trace.vcd")?);
    Trace::new(csv, vcd, title, every).map_err(|error| made(folder, &error))
}

/// Writes what the flash of the board holds beside the folder, for `ohmwarden records`.
///
/// # Errors
/// A file that cannot be written.
pub(crate) fn write_flash(folder: &Path, image: &[u8]) -> Result<(), Problem> {
    let mut name = folder.as_os_str().to_owned();
    name.push(".flash.bin");
    let path = PathBuf::from(name);
    fs::write(&path, image).map_err(|error| Problem::unwritable(&path, &error))
}

/// Writes what the scenario came to beside its traces.
///
/// # Errors
/// A file that cannot be written.
pub(crate) fn write_result(folder: &Path, summary: &Summary) -> Result<(), Problem> {
    let path = folder.join("result.json");
    let written = File::create(&path).and_then(|file| {
        let mut out = BufWriter::new(file);
        json::write_one(summary, &mut out)?;
        out.flush()
    });
    written.map_err(|error| Problem::unwritable(&path, &error))
}

impl<W: Write> Trace<W> {
    fn new(csv: W, vcd: W, title: &str, every: u32) -> io::Result<Self> {
        let (labels, failed) = (Vec::new(), None);
        let mut trace = Self { csv, vcd, dump: Dump::new(), every, skipped: every, labels, failed };
        csv::head(&mut trace.csv)?;
        // A dollar sign would end the comment.
        trace.dump.head(&title.replace('$', " "), &mut trace.vcd)?;
        Ok(trace)
    }

    /// Ends the files.
    ///
    /// # Errors
    /// The first thing that could not be written.
    pub(crate) fn finish(mut self) -> io::Result<()> {
        if let Some(error) = self.failed {
            return Err(error);
        }
        self.csv.flush()?;
        self.vcd.flush()
    }

    fn write(&mut self, now: &Snapshot) -> io::Result<()> {
        let labels = self.labels.join(" ");
        self.labels.clear();
        csv::row(now, &labels, &mut self.csv)?;
        self.dump.sample(now, &mut self.vcd)
    }
}

impl<W: Write> Observer for Trace<W> {
    fn sample(&mut self, now: &Snapshot) {
        self.skipped = self.skipped.saturating_add(1);
        if self.failed.is_some() || self.skipped < self.every {
            return;
        }
        self.skipped = 0;
        self.failed = self.write(now).err();
    }

    fn change(&mut self, _: &Snapshot, _: &Change) {}

    fn event(&mut self, _: f64, event: &Event) {
        self.labels.extend(event.label.clone());
    }
}

#[cfg(test)]
mod tests {
    use ohmwarden_core::interlock::State;
    use ohmwarden_sim::scenario::{Action, Button};

    use super::*;
    use crate::run::picture::tests::snapshot;

    fn traced(every: u32) -> (String, String) {
        let (mut csv, mut vcd) = (Vec::new(), Vec::new());
        let mut trace = Trace::new(&mut csv, &mut vcd, "a $end of it", every).unwrap();
        let label = Some("on".to_owned());
        for n in 0..10 {
            if n == 4 {
                let action = Action::Press(Button::Test);
                trace.event(0.0004, &Event { s: 0.0004, label: label.clone(), action });
            }
            trace.sample(&snapshot(f64::from(n + 1) / 1.0e4, f64::from(n), State::Rest));
        }
        trace.finish().unwrap();
        (String::from_utf8(csv).unwrap(), String::from_utf8(vcd).unwrap())
    }

    #[test]
    fn every_sample_is_a_row_unless_thinned_and_no_label_is_lost() {
        for (every, rows) in [(1, 10), (3, 4), (100, 1)] {
            let (csv, _) = traced(every);
            assert_eq!(csv.lines().count(), rows + 1, "{every}");
        }
        let labelled = |csv: &str| csv.lines().filter(|line| line.ends_with(",on")).count();
        assert_eq!((labelled(&traced(1).0), labelled(&traced(3).0)), (1, 1));
    }

    #[test]
    fn a_title_cannot_end_the_comment_early() {
        let (_, vcd) = traced(1);
        assert!(vcd.contains("$comment a  end of it $end"), "{vcd}");
    }

    #[test]
    fn a_name_never_leads_out_of_the_folder() {
        assert_eq!(folder(Path::new("out"), "../a/./b"), Path::new("out/a/b"));
    }
}
