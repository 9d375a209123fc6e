//! `--pi` and `--dar`: two readings of one drive as a ratio, where they make one.

use ohmwarden_core::judge::Reading;
use ohmwarden_core::limits::{ABSORPTION, Bands, Half, NoRatio, POLARIZATION, RatioKind, ratio};

use super::amount::Amount;
use super::args::Args;
use super::outcome::{Against, Outcome, Request, Unusable, judge};

/// Gives the ratio, judged where there is a limit.
///
/// # Errors
/// What are no two resistances, or a limit of something else.
pub(super) fn assess<'b>(
    args: &Args,
    kind: RatioKind,
    halves: &[Amount],
    against: Option<Against<'b>>,
) -> Result<Outcome<'b>, Unusable> {
    let &[early, late] = halves else {
        return Err(Unusable::new("not two readings", "the earlier and the later one"));
    };
    let volts = |at: usize| args.ratio.at_volts.as_ref().and_then(|both| both.get(at)).copied();
    let half =
        |amount, at| super::reading(args, amount).map(|reading| Half { reading, v: volts(at) });
    let (early, late) = (half(early, 0)?, half(late, 1)?);
    let mut notes = Vec::new();
    match ratio(kind, early, late) {
        Ok(reading) => {
            notes.extend(band(bands(kind), reading));
            let volts = args.volts.or(volts(0));
            judge(Request { reading, against, rule: args.rule, volts, notes, ..Request::default() })
        }
        Err(why @ NoRatio::NoResistance) => {
            Err(Unusable::new(why.to_string(), "two readings as in 200Mohm 500Mohm"))
        }
        Err(why) => {
            let raw = Request { reading: early.reading, notes, ..Request::default() };
            Ok(Outcome { refused: Some(why.to_string()), ..judge(raw)? })
        }
    }
}

const fn bands(kind: RatioKind) -> &'static Bands {
    match kind {
        RatioKind::Absorption => &ABSORPTION,
        RatioKind::Polarization => &POLARIZATION,
    }
}

/// Says what the trade calls a value.
pub(super) fn band(bands: &Bands, reading: Reading) -> Option<String> {
    let word = bands.word(reading.value.amount()?)?;
    let (cited, standing) = (bands.source.cited, bands.source.standing.sentence());
    Some(format!("The trade calls it {word} ({cited}; {standing})."))
}
