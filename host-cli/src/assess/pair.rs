//! `--pair` and `--far`: how far away an open or a short is.

use ohmwarden_core::correct::{Located, NoDistance, PAIRS, PairKind, split_by_ratio};
use ohmwarden_core::judge::{Reading, Unit, Value};
use ohmwarden_core::unit::{Length, Resistance};

use super::amount::Amount;
use super::args::Args;
use super::outcome::{Outcome, Request, Unusable, judge};
use crate::nearest::nearest;

/// Gives the distance along a pair of this kind: to an open from a capacitance, to a short from a
/// resistance.
///
/// # Errors
/// An unknown kind, a reading of another quantity, something missing.
pub(super) fn assess<'b>(
    args: &Args,
    word: &str,
    reading: Reading,
) -> Result<Outcome<'b>, Unusable> {
    let kind = find(word)?;
    let kind = PairKind {
        loop_ohms_per_km: args.line.loop_ohms_per_km.unwrap_or(kind.loop_ohms_per_km),
        nanofarads_per_km: args.line.nanofarads_per_km.or(kind.nanofarads_per_km),
        ..kind
    };
    let leads = args.line.leads.map_or(Reading::NONE, plain);
    let located = match reading.unit {
        Unit::Farad => kind.to_open(reading, leads, insulation(args)?),
        Unit::Ohm => kind.to_short(less(reading, leads)?, args.warmth.celsius),
        _ => {
            return Err(Unusable::new("neither a capacitance nor a resistance", "100nF or 336ohm"));
        }
    };
    if located == Err(NoDistance::NoCapacitance) {
        let found = format!("no capacitance of the pair {word}");
        return Err(Unusable::new(found, "--nanofarads-per-km NF"));
    }
    let source = kind.source;
    let said = format!("Pair {word}: {} ({}).", source.cited, source.standing.sentence());
    told(reading, located, vec![said])
}

/// Gives the distance from the near end, by the ratio of what both ends read.
///
/// # Errors
/// Readings of two quantities.
pub(super) fn split<'b>(args: &Args, near: Reading, far: Amount) -> Result<Outcome<'b>, Unusable> {
    let route = Length::from_metres(args.line.metres.unwrap_or(0));
    if far.unit != near.unit {
        return Err(Unusable::new("another quantity at the far end", "the same from both ends"));
    }
    let doubt = args.doubt.and_then(|doubt| doubt.of(far)).unwrap_or(0.0);
    let far = Reading { doubt, ..plain(far) };
    told(near, split_by_ratio(near, far, route), Vec::new())
}

fn find(word: &str) -> Result<PairKind<'static>, Unusable> {
    PAIRS.into_iter().find(|kind| kind.word == word).ok_or_else(|| {
        let words = PAIRS.map(|kind| kind.word);
        let near = nearest(word, words.into_iter());
        let near = near.map_or(String::new(), |near| format!("; did you mean {near}?"));
        Unusable::new(format!("no pair `{word}`"), format!("{}{near}", words.join(", ")))
    })
}

fn told<'b>(
    raw: Reading,
    located: Result<Located, NoDistance>,
    mut notes: Vec<String>,
) -> Result<Outcome<'b>, Unusable> {
    match located {
        Ok(located) => {
            notes.extend(located.warnings.iter().map(|warning| (*warning).to_owned()));
            judge(Request { reading: located.distance, notes, ..Request::default() })
        }
        Err(why) => {
            let outcome = judge(Request { reading: raw, notes, ..Request::default() })?;
            Ok(Outcome { refused: Some(why.to_string()), ..outcome })
        }
    }
}

fn plain(amount: Amount) -> Reading {
    Reading { value: amount.value, unit: amount.unit, ..Reading::NONE }
}

/// The loop without the leads.
fn less(reading: Reading, leads: Reading) -> Result<Reading, Unusable> {
    match (reading.value, leads.value) {
        (_, Value::None) => Ok(reading),
        (Value::Number(all), Value::Number(off)) if leads.unit == Unit::Ohm => {
            Ok(Reading { value: Value::Number(all - off), ..reading })
        }
        _ => Err(Unusable::new("leads that cannot be taken off", "both as numbers of ohm")),
    }
}

fn insulation(args: &Args) -> Result<Option<Resistance>, Unusable> {
    let Some(amount) = args.line.insulation else { return Ok(None) };
    match (amount.unit, amount.value.amount()) {
        (Unit::Ohm, Some(ohms)) if ohms >= 0.0 => {
            Ok(Some(Resistance::from_milliohms((f64::from(ohms) * 1e3) as u64)))
        }
        _ => Err(Unusable::new("an insulation that is no resistance", "as in 5Mohm")),
    }
}
