//! One scenario: a drawing, the story in words, every rule and expectation, the verdict.

use std::io::{self, Write};

use ohmwarden_core::measure::Point;
use ohmwarden_core::view::{View, reading_text};

use super::{made, points, values, verdicts, worst_line};
use crate::caution;
use crate::layout::{quantity, wrapped};
use crate::look::Look;
use crate::run::picture::{Picture, drawing, story};
use crate::run::summary::Summary;

/// What is to be shown.
#[derive(Clone, Copy, Debug)]
pub(crate) struct One<'a> {
    pub(crate) summary: &'a Summary,
    /// The case that was drawn, from 0.
    pub(crate) case: usize,
    pub(crate) picture: &'a Picture,
    /// The points of its last timed test.
    pub(crate) curve: &'a [Point],
    /// Only the verdict.
    pub(crate) quiet: bool,
}

/// Writes the report.
///
/// # Errors
/// What the writer reports.
pub(crate) fn write(one: &One<'_>, look: Look, out: &mut dyn Write) -> io::Result<()> {
    let summary = one.summary;
    if one.quiet {
        return write_verdict(summary, look, out);
    }
    writeln!(out, "{}  ({})", look.head(&summary.name), summary.file.display())?;
    for line in wrapped(&summary.why, look.width) {
        writeln!(out, "{line}")?;
    }
    if summary.cases > 1 {
        let which = format!("case {} of {}, the worst", one.case + 1, summary.cases);
        writeln!(out, "{which}: {}", values(&summary.swept))?;
    } else if !summary.swept.is_empty() {
        writeln!(out, "case {}: {}", one.case + 1, values(&summary.swept))?;
    }
    writeln!(out)?;
    drawing::write(one.picture, look, out)?;
    writeln!(out, "\n{}", look.head("what happened"))?;
    story::write(one.picture, look, out)?;
    if let Some(view) = one.picture.last.view {
        let refused = one.picture.last.store.is_some_and(|store| store.full);
        let kept = if refused { "; not kept: the store is full" } else { "" };
        for line in wrapped(&format!("at the end: {}{kept}", shown(&view)), look.width - 2) {
            writeln!(out, "  {line}")?;
        }
        made::write(&one.picture.last, look, out)?;
    }
    points::write(one.curve, look, out)?;
    writeln!(out)?;
    verdicts::write(summary, look, out)?;
    writeln!(out)?;
    write_verdict(summary, look, out)?;
    writeln!(out, "digest        {:016x}", summary.digest)?;
    writeln!(out)?;
    write_caution(look, out)
}

fn write_verdict(summary: &Summary, look: Look, out: &mut dyn Write) -> io::Result<()> {
    let verdict = match (summary.held(), summary.broke()) {
        (true, _) => look.good("HELD"),
        (false, true) => look.bad("DID NOT HOLD"),
        (false, false) => look.bad("STOPPED"),
    };
    writeln!(out, "{verdict}  {}", summary.name)?;
    writeln!(out, "worst margin  {}", worst_line(summary))?;
    if summary.played < summary.cases {
        writeln!(out, "stopped after {} of {} cases", summary.played, summary.cases)?;
    }
    Ok(())
}

/// Writes the short caution.
pub(super) fn write_caution(look: Look, out: &mut dyn Write) -> io::Result<()> {
    wrapped(caution::SHORT, look.width)
        .iter()
        .try_for_each(|line| writeln!(out, "{}", look.faint(line)))
}

/// What the display shows: state, reason, voltage, readings, verdict, and what it says of the leads.
fn shown(view: &View) -> String {
    let volts = view.volts.map(|volts| f64::from(volts.as_microvolts()) / 1.0e6);
    let volts = volts.map_or_else(|| String::from("-- V"), |volts| quantity(volts, "V"));
    let kind = if view.alternating { " rms" } else { "" };
    let hertz = view.hz.map(|hz| f64::from(hz.as_millihertz()) / 1.0e3);
    let hertz = hertz.map_or(String::new(), |hz| format!(" {}", quantity(hz, "Hz")));
    let mut words = format!(
        "{} ({}), {}{kind}{hertz}; {}",
        view.state.word(),
        view.reason.word(),
        volts,
        view.says(),
    );
    if view.main.value.amount().is_some() {
        words.push_str(&format!("; reading {}", view.main_text().as_str()));
    }
    if view.second.value.amount().is_some() {
        words.push_str(&format!(", {}", reading_text(&view.second).as_str()));
    }
    if view.capacitance.value.amount().is_some() {
        words.push_str(&format!(", {}", reading_text(&view.capacitance).as_str()));
    }
    if let Some(refused) = view.timed.and_then(|timed| timed.refused) {
        words.push_str(&format!("; no answer of the test: {}", refused.says()));
    }
    if let Some(judged) = view.judged {
        let word = ohmwarden_core::judge::Verdict::WORDS.get(judged.verdict().index());
        words.push_str(&format!("; {}", word.copied().unwrap_or_default()));
    }
    words
}
