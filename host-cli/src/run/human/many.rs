//! Many scenarios: a table, then what all of them together reached.

use std::collections::BTreeSet;
use std::io::{self, Write};
use std::time::Duration;

use ohmwarden_core::detect::Circuit;
use ohmwarden_core::interlock::{Lock, Reason, State};
use ohmwarden_sim::world::Reached;

use super::one::write_caution;
use super::{margin, relative, worst_line};
use crate::layout::{Cell, cut, quantity, table, wrapped};
use crate::look::Look;
use crate::run::summary::Summary;

/// What the columns other than that of the worst take, about.
const OTHER_COLUMNS: usize = 72;
/// The least that is left for the name of the worst.
const WORST_LEAST: usize = 26;

/// What is to be shown.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Many<'a> {
    pub(crate) summaries: &'a [&'a Summary],
    /// Scenarios that were to be played and were not, because a person asked to stop.
    pub(crate) left_out: usize,
    pub(crate) elapsed: Duration,
    /// Only what did not hold.
    pub(crate) quiet: bool,
}

/// Writes the table and what was reached.
///
/// # Errors
/// What the writer reports.
pub(crate) fn write(many: &Many<'_>, look: Look, out: &mut dyn Write) -> io::Result<()> {
    let heads = [
        ("scenario", false),
        ("cases", true),
        ("", false),
        ("worst margin", false),
        ("", true),
        ("", true),
        ("simulated", true),
        ("speed", true),
    ];
    let head = |(text, right): (&str, bool)| {
        let cell = if right { Cell::right(text) } else { Cell::left(text) };
        cell.painted(|text| look.head(text))
    };
    let shown: Vec<&Summary> =
        many.summaries.iter().copied().filter(|summary| !(many.quiet && summary.held())).collect();
    if !shown.is_empty() {
        let mut rows = vec![heads.map(head).to_vec()];
        rows.extend(shown.iter().map(|summary| row(summary, look)));
        table(&rows, "", out)?;
        writeln!(out)?;
    }
    write_failures(&shown, look, out)?;
    if !many.quiet {
        write_reached(many.summaries, look, out)?;
    }
    write_total(many, look, out)?;
    if many.quiet { Ok(()) } else { write_caution(look, out) }
}

fn row(summary: &Summary, look: Look) -> Vec<Cell> {
    let verdict = if summary.held() {
        Cell::left("held").painted(|text| look.good(text))
    } else {
        Cell::left("BROKE").painted(|text| look.bad(text))
    };
    let width = look.width.saturating_sub(OTHER_COLUMNS).max(WORST_LEAST);
    let mut cells = vec![Cell::left(summary.name.clone()), Cell::right(cases(summary)), verdict];
    match summary.worst().filter(|_| summary.defects.is_empty()) {
        Some(entry) => cells.extend([
            Cell::left(cut(summary.name_of(entry), width)),
            Cell::right(margin(entry)),
            Cell::right(relative(entry)),
        ]),
        None => cells.extend([
            Cell::left(cut(&worst_line(summary), width)),
            Cell::left(""),
            Cell::left(""),
        ]),
    }
    cells.push(Cell::right(simulated(summary.simulated)));
    cells.push(Cell::right(speed(summary.simulated, summary.took)));
    cells
}

/// Simulated seconds as they are: minutes of them are no kilo of anything.
fn simulated(seconds: f64) -> String {
    if seconds < 100.0 { format!("{seconds:.1} s") } else { format!("{seconds:.0} s") }
}

fn cases(summary: &Summary) -> String {
    if summary.played == summary.cases {
        summary.cases.to_string()
    } else {
        format!("{} of {}", summary.played, summary.cases)
    }
}

/// Times real time of one thread.
fn speed(simulated: f64, took: Duration) -> String {
    let seconds = took.as_secs_f64();
    if seconds > 0.0 { format!("{:.0}x", simulated / seconds) } else { String::new() }
}

/// Everything that broke or was never reached, each in a line with its case.
fn write_failures(shown: &[&Summary], look: Look, out: &mut dyn Write) -> io::Result<()> {
    let mut some = false;
    for summary in shown.iter().filter(|summary| !summary.held()) {
        some = true;
        writeln!(out, "{} {}", look.bad(&summary.name), summary.file.display())?;
        for (case, defect) in &summary.defects {
            writeln!(out, "  case {}: {}: {}", case + 1, defect.name, defect.words)?;
        }
        for entry in summary.entries.iter().filter(|entry| !entry.is_fine()) {
            let (name, margin) = (summary.name_of(entry), margin(entry));
            let at = entry.at_seconds.map_or(String::new(), |at| format!(" at {at:.4} s"));
            writeln!(out, "  {name}: {margin}{at}, case {}", entry.case + 1)?;
        }
    }
    if some { writeln!(out) } else { Ok(()) }
}

/// Which states, reasons and classes no scenario reached.
fn write_reached(summaries: &[&Summary], look: Look, out: &mut dyn Write) -> io::Result<()> {
    let mut all = Reached::default();
    summaries.iter().for_each(|summary| all.merge(&summary.reached));
    let reasons = Reason::ALL.iter().map(|reason| reason.word());
    let reasons: Vec<&str> = reasons.chain(Lock::ALL.iter().map(|lock| lock.word())).collect();
    for (what, known, reached) in [
        ("states", State::WORDS, &all.states),
        ("reasons", reasons.as_slice(), &all.reasons),
        ("classes", Circuit::WORDS, &all.classes),
    ] {
        let never = never(known, reached);
        let count = known.len() - never.len();
        let text = match never.as_slice() {
            [] => format!("all {} {what} reached", known.len()),
            never => {
                format!("{count} of {} {what} reached; never: {}", known.len(), never.join(", "))
            }
        };
        for (number, line) in wrapped(&text, look.width - 2).iter().enumerate() {
            writeln!(out, "{}{line}", if number == 0 { "" } else { "  " })?;
        }
    }
    writeln!(out)
}

fn never<'a>(known: &[&'a str], reached: &BTreeSet<&'static str>) -> Vec<&'a str> {
    known.iter().filter(|word| !reached.contains(**word)).copied().collect()
}

fn write_total(many: &Many<'_>, look: Look, out: &mut dyn Write) -> io::Result<()> {
    let summaries = many.summaries;
    let held = summaries.iter().filter(|summary| summary.held()).count();
    let cases: usize = summaries.iter().map(|summary| summary.played).sum();
    let simulated: f64 = summaries.iter().map(|summary| summary.simulated).sum();
    let all = if held == summaries.len() {
        look.good(&format!("{held} scenarios held"))
    } else {
        look.bad(&format!("{held} of {} scenarios held", summaries.len()))
    };
    let elapsed = many.elapsed.as_secs_f64();
    let speed = if elapsed > 0.0 { simulated / elapsed } else { 0.0 };
    let plural = if cases == 1 { "case" } else { "cases" };
    writeln!(
        out,
        "{all}: {cases} {plural}, {} simulated in {}, {speed:.0} times real time",
        self::simulated(simulated),
        quantity(elapsed, "s"),
    )?;
    if many.left_out > 0 || summaries.iter().any(|summary| summary.played < summary.cases) {
        writeln!(
            out,
            "{}",
            look.bad(&format!("stopped: {} scenarios were not played", many.left_out))
        )?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use ohmwarden_core::invariants::Rule;

    use super::*;
    use crate::run::score::tests::rule;
    use crate::run::summary::tests::summary;

    const PLAIN: Look = Look { width: 100, colour: false, unicode: false };

    fn written(summaries: &[Summary], quiet: bool) -> String {
        let summaries: &[&Summary] = &summaries.iter().collect::<Vec<_>>();
        let many = Many { summaries, left_out: 0, elapsed: Duration::from_secs(1), quiet };
        let mut out = Vec::new();
        write(&many, PLAIN, &mut out).unwrap();
        String::from_utf8(out).unwrap()
    }

    #[test]
    fn each_scenario_has_its_worst_margin_in_unit_and_percent() {
        let entries = vec![
            rule(Rule::SayLive, Some(true), 0.4, 0),
            rule(Rule::NeverBoth, Some(true), 0.2, 3),
        ];
        let text = written(&[summary("a", entries)], false);
        let line = text.lines().nth(1).unwrap();
        for part in ["a", "held", "never_both", "2.00 ms", "20 %"] {
            assert!(line.contains(part), "{part}: {line}");
        }
        assert!(text.contains("1 scenarios held"), "{text}");
    }

    #[test]
    fn quiet_tells_only_what_did_not_hold() {
        let good = summary("good", vec![rule(Rule::SayLive, Some(true), 0.4, 0)]);
        let bad = summary("bad", vec![rule(Rule::DropOnLive, Some(false), -0.4, 5)]);
        let text = written(&[good, bad], true);
        assert!(!text.contains("good"), "{text}");
        assert!(text.contains("drop_on_live: -4.00 ms at 0.5000 s, case 6"), "{text}");
    }

    #[test]
    fn what_no_scenario_reached_is_listed() {
        let mut one = summary("a", vec![rule(Rule::SayLive, Some(true), 0.4, 0)]);
        one.reached.states.insert("rest");
        let text = written(&[one], false);
        assert!(text.contains("1 of 15 states reached; never: boot, rest_low"), "{text}");
    }
}
