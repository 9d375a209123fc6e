//! The tables as text.

use std::fmt::Write;

use super::arrival::Comes;
use super::rig::Load;
use super::rows::Row;
use super::run::{CAUSES, Case, Found};

/// Writes the latency table.
#[must_use]
pub fn latency(rows: &[Row], found: &[Found]) -> String {
    let mut out = String::from(
        "row                        arrivals     worst  promise  rough  late  where\n",
    );
    for (row, found) in rows.iter().zip(found) {
        let Some(worst) = &found.worst else { continue };
        let _ = writeln!(
            out,
            "{:<25} {:>9}  {:>5.1} ms  {:>4} ms  {:>5}  {:>4}  {}",
            row.says,
            found.arrivals,
            worst.ended.milliseconds(),
            worst.promise_ms,
            row.rough_model,
            found.late,
            place(worst),
        );
        if let Some(tight) = found.tightest.filter(|tight| tight.comes != worst.comes) {
            let _ = writeln!(
                out,
                "{:<25} {:>9}  {:>5.1} ms  {:>4} ms  {:>5}  {:>4}  {}",
                "   nearest its promise",
                "",
                tight.ended.milliseconds(),
                tight.promise_ms,
                "",
                "",
                place(&tight),
            );
        }
    }
    out
}

/// Writes which rule ended how many arrivals of each row.
#[must_use]
pub fn causes(rows: &[Row], found: &[Found]) -> String {
    let mut out = format!("{:<25}", "ended by");
    for cause in CAUSES {
        let _ = write!(out, " {:>16}", format!("{cause:?}"));
    }
    let _ = writeln!(out, " {:>9}", "never");
    for (row, found) in rows.iter().zip(found) {
        let _ = write!(out, "{:<25}", row.says);
        for (n, _) in found.causes.iter().zip(CAUSES) {
            let _ = write!(out, " {n:>16}");
        }
        let _ = writeln!(out, " {:>9}", found.causes[CAUSES.len()]);
    }
    out
}

fn place(case: &Case) -> String {
    let comes = match case.comes {
        Comes::Alternating { rms, hz, phase_deg } => {
            format!("{rms} V {hz:.4} Hz {phase_deg:.1} deg")
        }
        Comes::Direct { volts } => format!("{volts:.1} V dc"),
    };
    format!(
        "{comes} through {} ohm at {} ms ({}, {:.1} V), set {} V, {}, series {}, {:?}",
        case.outside_ohms,
        case.at_ms,
        if case.hold { "hold" } else { "ramp" },
        case.volts,
        case.set,
        load(&case.load),
        case.series,
        case.ended.cause,
    )
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
    if load.farads > 0.0 { format!("{ohms} || {:.0} nF", load.farads * 1.0e9) } else { ohms }
}
