//! The other simulator: its input, its run, its table of values.

use core::error::Error;
use core::time::Duration;
use std::path::Path;
use std::process::{Command, Stdio};

use crate::Outcome;
use crate::case::Case;

/// A run of the other simulator takes a second or two.
const LONGEST_SECONDS: u64 = 120;

/// Gives the other simulator's waveforms at the ends of our steps, or nothing without it.
pub(crate) fn other_simulator(case: &Case) -> Result<Option<Vec<Vec<f64>>>, Box<dyn Error>> {
    if Command::new("ngspice").arg("-v").output().is_err() {
        assert!(std::env::var("CI").as_deref() != Ok("true"), "ngspice is missing");
        println!("SKIPPED: needs ngspice");
        return Ok(None);
    }
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR"));
    let (deck, data) =
        (folder.join(format!("{}.cir", case.name)), folder.join(format!("{}.data", case.name)));
    let vectors: Vec<&str> = case.probes.iter().map(|(vector, _)| *vector).collect();
    let stop = case.steps as f64 * case.step_seconds;
    let text = format!(
        "{}\n{}.options {}\n.control\nset wr_singlescale\nset numdgt=15\ntran 1u {} 0 {} uic\nwrdata {} {}\n\
         quit\n.endc\n.end\n",
        case.name,
        case.spice,
        case.options,
        stop + 2e-6,
        case.longest_step,
        data.display(),
        vectors.join(" ")
    );
    std::fs::write(&deck, text)?;
    run_bounded(Command::new("ngspice").arg("-b").arg(&deck))?;
    let table = std::fs::read_to_string(&data)?;
    std::fs::remove_file(&data)?;
    sample(&table, case).map(Some)
}

/// Runs a program quietly, and ends it when it takes too long.
fn run_bounded(command: &mut Command) -> Outcome {
    let mut child = command.stdout(Stdio::null()).stderr(Stdio::null()).spawn()?;
    for _ in 0..LONGEST_SECONDS * 20 {
        if let Some(status) = child.try_wait()? {
            return if status.success() { Ok(()) } else { Err(format!("{status}").into()) };
        }
        std::thread::sleep(Duration::from_millis(50));
    }
    child.kill()?;
    child.wait()?;
    Err(format!("the other simulator took more than {LONGEST_SECONDS} s").into())
}

/// Reads columns of time and values, and interpolates at the ends of our steps.
fn sample(table: &str, case: &Case) -> Result<Vec<Vec<f64>>, Box<dyn Error>> {
    let mut rows: Vec<Vec<f64>> = Vec::new();
    for line in table.lines() {
        rows.push(line.split_whitespace().map(str::parse).collect::<Result<_, _>>()?);
    }
    let mut traces = vec![Vec::new(); case.probes.len()];
    let mut row = 0;
    for step in 1..=case.steps {
        let time = step as f64 * case.step_seconds;
        while rows.get(row + 1).ok_or("the other simulator stopped early")?[0] < time {
            row += 1;
        }
        let (before, after) = (&rows[row], &rows[row + 1]);
        let part = (time - before[0]) / (after[0] - before[0]);
        for (index, trace) in traces.iter_mut().enumerate() {
            trace.push(before[1 + index] + part * (after[1 + index] - before[1 + index]));
        }
    }
    Ok(traces)
}
