//! The tables as text.

use core::fmt::Write;
use std::collections::BTreeMap;

use ohmwarden_core::frame::Function;

use super::arrival::Comes;
use super::low;
use super::passive::{End, Outcome};
use super::pickup::{Grown, Joined, joins_within};
use super::rig::Load;
use super::rows::Row;
use super::run::{CAUSES, Case, Found};

/// Writes the latency table.
#[must_use]
pub fn latency(rows: &[Row], found: &[Found]) -> String {
    let mut out = format!(
        "{:<27}{:>10}{:>9}{:>9}{:>7}{:>6}{:>10}  worst at\n",
        "arrives while driving", "arrivals", "worst", "promise", "rough", "late", "back on"
    );
    for (row, found) in rows.iter().zip(found) {
        let Some(worst) = &found.worst else { continue };
        let back = format!("{}/{}", found.back, found.followed);
        let _ = writeln!(
            out,
            "{:<27}{:>10}{}{:>7}{:>6}{back:>10}  {}",
            row.says,
            found.arrivals,
            times(worst),
            row.rough_model,
            found.late,
            place(worst),
        );
        if let Some(tight) = found.tightest.filter(|tight| tight.promise_ms != worst.promise_ms) {
            let (says, place) = ("  nearest to its promise", place(&tight));
            let _ = writeln!(out, "{says:<37}{}{:>23}  {place}", times(&tight), "");
        }
    }
    out
}

fn times(case: &Case) -> String {
    format!("{:>6.1} ms{:>6} ms", case.ended.milliseconds(), case.promise_ms)
}

/// Writes which rule ended how many arrivals of each row.
#[must_use]
pub fn causes(rows: &[Row], found: &[Found]) -> String {
    let mut out = format!("{:<27}", "ended by");
    for cause in CAUSES {
        let _ = write!(out, "{:>17}", format!("{cause:?}"));
    }
    let _ = writeln!(out, "{:>9}", "never");
    for (row, found) in rows.iter().zip(found) {
        let _ = write!(out, "{:<27}", row.says);
        for n in &found.causes[..CAUSES.len()] {
            let _ = write!(out, "{n:>17}");
        }
        let _ = writeln!(out, "{:>9}", found.causes[CAUSES.len()]);
    }
    out
}

fn place(case: &Case) -> String {
    let comes = match case.comes {
        Comes::Alternating { rms, hz, phase_deg } => {
            format!("{rms} V {hz:.2} Hz at {phase_deg:.0} deg")
        }
        Comes::Direct { volts } => format!("{volts:.1} V dc"),
    };
    let cause = case.ended.cause.map_or_else(|| "nothing".to_owned(), |cause| format!("{cause:?}"));
    format!(
        "{comes} through {} ohm, {} ms ({} at {:.0} V), set {} V, {}, series {}: {cause}",
        case.outside_ohms,
        case.at_ms,
        if case.hold { "hold" } else { "ramp" },
        case.volts,
        case.set,
        load(&case.load),
        case.series,
    )
}

/// Writes the table of what arrives in a continuity drive.
#[must_use]
pub fn low(found: &[low::Found]) -> String {
    let mut out = format!(
        "{:<29}{:>9}{:>11}{:>11}{:>6}  worst at\n",
        "arrives in a continuity drive", "arrivals", "worst", "promise", "late"
    );
    for one in found {
        let case = &one.worst;
        let (comes, phase) = match case.comes {
            Comes::Alternating { rms, hz, phase_deg } => {
                (format!("{rms} V {hz:.1} Hz"), format!(" at {phase_deg:.0} deg"))
            }
            Comes::Direct { volts } => (format!("{volts} V dc"), String::new()),
        };
        let what = format!("{comes}, {}", if case.is_soft() { "soft" } else { "stiff" });
        let name = if case.function == Function::Resistance { "resistance" } else { "continuity" };
        let cause = case.ended.cause.map_or("nothing".to_owned(), |cause| format!("{cause:?}"));
        let _ = writeln!(
            out,
            "{what:<29}{:>9}{:>8.1} ms{:>8.1} ms{:>6}  {name}, through {} ohm, {} ms{phase}, {}: {cause}",
            one.arrivals,
            case.ended.milliseconds(),
            case.promise_ms,
            one.late,
            case.ohms,
            case.at_ms,
            load(&case.load),
        );
    }
    out
}

/// Writes a load.
#[must_use]
pub fn load(load: &Load) -> String {
    let ohms = if load.ohms.is_infinite() {
        "open".to_owned()
    } else if load.ohms >= 1.0e6 {
        format!("{}M", load.ohms / 1.0e6)
    } else {
        format!("{}k", load.ohms / 1.0e3)
    };
    if load.farads > 0.0 { format!("{ohms} || {} nF", load.farads * 1.0e9) } else { ohms }
}

/// Writes the table of passive loads: a line for each protection and unrest, then what did not hold.
#[must_use]
pub fn passive(outcomes: &[Outcome]) -> String {
    let mut lines: BTreeMap<String, Counts> = BTreeMap::new();
    let mut reasons: BTreeMap<String, (usize, String)> = BTreeMap::new();
    for outcome in outcomes {
        let run = &outcome.run;
        let name = format!("series {}, {}", run.series, run.unrest);
        lines.entry(name).or_default().take(outcome);
        let why = match outcome.end {
            End::Held => continue,
            End::Tripped(cause, ms) => (format!("tripped by {cause:?}"), ms),
            End::Ended(reason, ms) => (format!("ended by core, {}", reason.word()), ms),
            End::Refused(state) => (format!("refused in {state:?}"), 0),
        };
        let (load, seed) = (load(&run.load), run.seed);
        let first = format!("{load}, set {} V, seed {seed}, at {} ms", run.set, why.1);
        reasons.entry(why.0).or_insert((0, first)).0 += 1;
    }
    let mut out = format!("{:<49}{:>7}{:>7}", "passive loads", "runs", "held");
    for head in ["bounds", "above", "falls", "residual", "core", "refused", "disturbed"] {
        let _ = write!(out, "{head:>10}");
    }
    out.push('\n');
    for (name, counts) in &lines {
        let _ = writeln!(out, "{name:<49}{counts}");
    }
    for (why, (n, first)) in &reasons {
        let _ = writeln!(out, "  {n} {why}: first {first}");
    }
    out
}

/// How the runs of one line ended.
#[derive(Clone, Copy, Debug, Default)]
struct Counts {
    runs: usize,
    held: usize,
    by: [usize; 6],
    disturbed: usize,
}

impl Counts {
    fn take(&mut self, outcome: &Outcome) {
        self.runs += 1;
        self.disturbed += usize::from(outcome.disturbed);
        let place = match outcome.end {
            End::Held => {
                self.held += 1;
                return;
            }
            // The four rules of the trip come first; any other closing is core's.
            End::Tripped(cause, _) => {
                CAUSES.iter().position(|known| *known == cause).map_or(4, |n| n.min(4))
            }
            End::Ended(..) => 4,
            End::Refused(_) => 5,
        };
        self.by[place] += 1;
    }
}

impl core::fmt::Display for Counts {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        write!(f, "{:>7}{:>7}", self.runs, self.held)?;
        for n in self.by {
            write!(f, "{n:>10}")?;
        }
        write!(f, "{:>10}", self.disturbed)
    }
}

/// Writes what growing pick-ups did.
#[must_use]
pub fn grown(says: &str, all: &[Grown]) -> String {
    let trips = all.iter().filter(|one| one.tripped.is_some()).count();
    let untold = all.iter().filter(|one| one.flagged_ms.is_none()).count();
    let slowest = all.iter().filter_map(|one| one.flagged_ms).max().unwrap_or(0);
    let swing = all.iter().map(|one| one.swing).fold(0.0, f64::max);
    let runs = all.len();
    format!(
        "{says:<49}{runs:>7} runs, {trips} trips, swing {swing:.1} V, told within {slowest} ms, \
         {untold} never told\n"
    )
}

/// Writes how fast joining conductors were dropped: the slowest, and how many took longer than the
/// row of 50 V and than half a cycle and 2 ms.
#[must_use]
pub fn joined(says: &str, all: &[Joined], row_ms: f64) -> String {
    let milliseconds = |one: &&Joined| one.ended.milliseconds();
    let beyond = all.iter().filter(|one| milliseconds(one) > row_ms).count();
    let half = all.iter().filter(|one| milliseconds(one) > joins_within(one.coupling.hz)).count();
    let slowest = all.iter().max_by(|a, b| milliseconds(a).total_cmp(&milliseconds(b)));
    let place = slowest.map_or_else(String::new, |one| {
        let c = &one.coupling;
        format!(
            "{:.1} ms at {} Hz, {:.0} deg, {} ms, set {} V, {}",
            one.ended.milliseconds(),
            c.hz,
            one.phase_deg,
            one.at_ms,
            c.set,
            load(&c.load)
        )
    });
    let runs = all.len();
    format!(
        "{says:<49}{runs:>7} set-ups, {beyond} beyond {row_ms} ms, {half} beyond half a cycle and \
         2 ms, slowest {place}\n"
    )
}
