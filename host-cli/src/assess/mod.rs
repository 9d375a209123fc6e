//! `ohmwarden assess`: holds readings against limits that say where they come from.
//!
//! All judging is done by core: the same flags, bounds and guard band as in the instrument. A
//! reading comes from the command line, from two readings of one drive (`--pi`, `--dar`), or from
//! the rows of a CSV file; limits are those of core and those of a user's TOML file.

mod amount;
mod args;
mod book;
mod cells;
mod conductor;
mod human;
mod json;
mod outcome;
mod own;
mod pair;
mod ratio;
mod sheet;

use std::io::Write;
use std::path::Path;
use std::process::ExitCode;

use ohmwarden_core::correct::Warmth;
use ohmwarden_core::judge::{Flags, Limit, Reading};
use ohmwarden_core::limits::{Rated, RatioKind};

use crate::input::{read_text, tell};
use crate::look::Look;
use crate::nearest::nearest;
use crate::output::Format;
use crate::problem::Problem;
use crate::run::trouble::Trouble;
use amount::Amount;
pub(crate) use args::Args;
use book::Book;
use outcome::{Against, Outcome, Request, Unusable, judge};
use sheet::Defaults;

/// What is answered.
#[derive(Debug, Default)]
struct Answer<'b> {
    /// The outcomes, with the line of the sheet that each stands in.
    outcomes: Vec<(Option<usize>, Outcome<'b>)>,
    troubles: Vec<Trouble>,
}

/// Judges what is asked and writes the answer.
///
/// # Errors
/// Options that do not fit together, an answer that cannot be written. Bad files are no error of
/// this function: they are told beside the results.
pub(crate) fn run(args: &Args, out: &mut dyn Write) -> Result<ExitCode, Problem> {
    let book = match Book::read(args.limits.as_deref()) {
        Ok(book) => book,
        Err(troubles) => return finish(args, &Answer { troubles, ..Answer::default() }, out),
    };
    if args.list {
        match args.format {
            Format::Human => human::list(&book, Look::of_stdout(), out)?,
            Format::Json => json::list(&book, out)?,
        }
        return Ok(ExitCode::SUCCESS);
    }
    let answer = answer(args, &book)?;
    finish(args, &answer, out)
}

fn answer<'b>(args: &Args, book: &'b Book) -> Result<Answer<'b>, Problem> {
    let against = against(args, book)?;
    if let Some(file) = &args.readings {
        return Ok(sheet(args, file, book, against));
    }
    let outcome = one(args, against).map_err(|told| Problem::input(told.found, told.accepted))?;
    Ok(Answer { outcomes: vec![(None, outcome)], troubles: Vec::new() })
}

fn one<'b>(args: &Args, against: Option<Against<'b>>) -> Result<Outcome<'b>, Unusable> {
    let ratios =
        [(RatioKind::Polarization, &args.ratio.pi), (RatioKind::Absorption, &args.ratio.dar)];
    if let Some((kind, halves)) =
        ratios.into_iter().find_map(|(kind, it)| Some((kind, it.as_ref()?)))
    {
        return ratio::assess(args, kind, halves, against);
    }
    let given = args.value.map(|amount| reading(args, amount)).transpose()?;
    if let Some(run) = args.line.conductor {
        return conductor::assess(args, run, given);
    }
    let wanted = "one: assess READING --limit WORD, --readings FILE, --pi R1 R10, --dar R30 R60, \
        --conductor MM2/MM2 --metres M, or --list";
    let given = given.ok_or_else(|| Unusable::new("no reading", wanted))?;
    if let Some(far) = args.line.far {
        return pair::split(args, given, far);
    }
    if let Some(word) = &args.line.pair {
        return pair::assess(args, word, given);
    }
    if against.is_none() && args.warmth.correct.is_none() {
        let accepted = "--limit WORD (assess --list tells them), --at-least or --at-most AMOUNT";
        return Err(Unusable::new("nothing to judge it against", accepted));
    }
    judge(Request { reading: given, against, ..request(args) })
}

/// The bad rows of a sheet, and its good ones judged.
fn sheet<'b>(args: &Args, file: &Path, book: &'b Book, against: Option<Against<'b>>) -> Answer<'b> {
    let text = match read_text(file) {
        Ok(text) => text,
        Err(trouble) => return Answer { troubles: vec![*trouble], ..Answer::default() },
    };
    let reading = Reading { flags: flags(args), ..Reading::NONE };
    let request = Request { reading, against, ..request(args) };
    let sheet = sheet::assess(&text, book, &Defaults { request, doubt: args.doubt });
    let told = |mistake| Trouble::mistake(file, &text, mistake);
    Answer {
        outcomes: sheet.rows.into_iter().map(|(line, it)| (Some(line), it)).collect(),
        troubles: sheet.mistakes.into_iter().map(told).collect(),
    }
}

/// What every reading is asked with.
fn request<'b>(args: &Args) -> Request<'b> {
    let warmth = Warmth {
        temperature: args.warmth.celsius,
        doubt: args.warmth.celsius_doubt.unwrap_or_default(),
        dew_point: args.warmth.dew_celsius,
    };
    Request {
        rule: args.rule,
        volts: args.volts,
        warmth,
        correct: args.warmth.correct.map(|rule| (rule, args.warmth.to_celsius)),
        rated: args.rated.map(Rated::from_volts),
        ..Request::default()
    }
}

/// The reading that an amount of the command line is.
///
/// # Errors
/// A doubt of another unit.
fn reading(args: &Args, amount: Amount) -> Result<Reading, Unusable> {
    let doubt = match args.doubt {
        None => 0.0,
        Some(doubt) => doubt.of(amount).ok_or_else(|| {
            let accepted = format!("a share in %, or {}", amount.unit.symbol());
            Unusable::new("a doubt of another unit than the reading", accepted)
        })?,
    };
    Ok(Reading { value: amount.value, unit: amount.unit, doubt, skew: 0.0, flags: flags(args) })
}

fn flags(args: &Args) -> Flags {
    args.flags.iter().fold(Flags::NONE, |all, flag| all.with(*flag))
}

/// The limit of the command line.
fn against<'b>(args: &Args, book: &'b Book) -> Result<Option<Against<'b>>, Problem> {
    if let Some(word) = &args.limit {
        let found = book.find(word, 0..word.len());
        return found.map(|entry| Some(Against::Entry(entry))).map_err(|mistake| {
            let words = mistake.accepted.iter().map(String::as_str);
            let near = nearest(word, words)
                .map_or(String::new(), |near| format!("; did you mean {near}?"));
            let accepted = format!("one of: {}{near}", mistake.accepted.join(", "));
            Problem::input(format!("no limit `{word}`"), accepted)
        });
    }
    let side = |amount: Amount, limit: fn(f32) -> Limit| match amount.value {
        ohmwarden_core::judge::Value::Number(number) if number > 0.0 => {
            Ok(Some(Against::Number(limit(number), amount.unit)))
        }
        _ => Err(Problem::input("a limit that is no number above zero", "as in 1Mohm")),
    };
    match (args.at_least, args.at_most) {
        (Some(least), _) => side(least, Limit::AtLeast),
        (None, Some(most)) => side(most, Limit::AtMost),
        (None, None) => Ok(None),
    }
}

fn finish(args: &Args, answer: &Answer<'_>, out: &mut dyn Write) -> Result<ExitCode, Problem> {
    match args.format {
        Format::Human => human::write(answer, Look::of_stdout(), out)?,
        Format::Json => json::write(answer, out)?,
    }
    out.flush()?;
    if args.format == Format::Human {
        tell(&answer.troubles);
    }
    let good = answer.outcomes.iter().all(|(_, outcome)| outcome.is_good());
    Ok(ExitCode::from(if !answer.troubles.is_empty() { 2 } else { u8::from(!good) }))
}
