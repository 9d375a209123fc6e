//! `--conductor`: what a run of copper should read, and a reading held against that.

use core::str::FromStr;

use ohmwarden_core::correct::{Class, Conductor, NoConductor, Section};
use ohmwarden_core::judge::{Limit, Reading, Unit};
use ohmwarden_core::unit::{Length, Temperature};
use ohmwarden_core::view::reading_text;

use super::args::Args;
use super::outcome::{Against, Outcome, Request, Unusable, judge};

const ACCEPTED: &str = "a cross-section of 1, 1.5, 2.5, 4, 6, 10 or 16 (mm2), or a gauge as 14awg; \
    two of them with / between are a run there and back";
/// What nobody measured: 20 C, known to 5 K.
const UNTOLD: (Temperature, Temperature) =
    (Temperature::from_celsius(20), Temperature::from_celsius(5));
/// A reading below this share of what is expected has another way to go.
const TOO_GOOD: f32 = 0.7;

/// A conductor, or one there and another back.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Run {
    there: Wire,
    back: Option<Wire>,
}

#[derive(Clone, Copy, Debug, PartialEq)]
enum Wire {
    Metric(Section),
    Gauge(u8),
}

impl Wire {
    fn conductor(self, class: Class) -> Result<Conductor, NoConductor> {
        match self {
            Self::Metric(section) => Conductor::metric(section, class),
            Self::Gauge(number) => Conductor::gauge(number),
        }
    }

    fn read(text: &str) -> Option<Self> {
        if let Some(number) = text.strip_suffix("awg") {
            return Some(Self::Gauge(number.parse().ok()?));
        }
        let hundredths = text.parse::<f64>().ok()? * 100.0;
        let whole = (hundredths - hundredths.round()).abs() < 1e-6 && hundredths > 0.0;
        let held = whole && hundredths <= f64::from(u32::MAX);
        held.then(|| Self::Metric(Section::from_hundredths_mm2(hundredths.round() as u32)))
    }
}

impl FromStr for Run {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let wire = |text: &str| {
            // Asked for here already, so that an unknown one is told with the option.
            let known = |wire: &Wire| wire.conductor(Class::Two).is_ok();
            Wire::read(text.trim()).filter(known).ok_or_else(|| format!("accepted is {ACCEPTED}"))
        };
        match text.split_once('/') {
            None => Ok(Self { there: wire(text)?, back: None }),
            Some((there, back)) => Ok(Self { there: wire(there)?, back: Some(wire(back)?) }),
        }
    }
}

/// Gives what the run should read; with a reading, whether that is no more than this with twice its
/// doubt. There is no fixed pass value for such a run (common practice: compare with the design).
///
/// # Errors
/// A temperature beyond that of cables, a reading that is no resistance.
pub(super) fn assess<'b>(
    args: &Args,
    run: Run,
    reading: Option<Reading>,
) -> Result<Outcome<'b>, Unusable> {
    let expected = expected(args, run).map_err(|why| {
        Unusable::new(format!("what no conductor is ({why})"), "a temperature that a cable sees")
    })?;
    let metres = args.line.metres.unwrap_or(0);
    let warm = match args.warmth.celsius {
        Some(_) => String::new(),
        None => ", taken to be at 20 C".to_owned(),
    };
    let most = expected.value.amount().unwrap_or(0.0) + 2.0 * expected.doubt;
    let mut notes = vec![format!(
        "{metres} m should read at most about {}{warm} (IEC 60228 and the American gauge, \
         secondary source, no conformity claimed); a limit adds twice the doubt of length and temperature.",
        reading_text(&expected)
    )];
    let Some(reading) = reading else {
        return judge(Request { reading: expected, notes, ..Request::default() });
    };
    let least = TOO_GOOD * expected.value.amount().unwrap_or(0.0);
    if reading.value.amount().is_some_and(|ohms| ohms < least) {
        notes.push(
            "It reads well below that: look for another path beside the conductor, such as \
             metalwork, or a shorter way."
                .to_owned(),
        );
    }
    let against = Some(Against::Number(Limit::AtMost(most), Unit::Ohm));
    judge(Request { reading, against, rule: args.rule, notes, ..Request::default() })
}

fn expected(args: &Args, run: Run) -> Result<Reading, NoConductor> {
    let there = run.there.conductor(args.line.class)?;
    let both = match run.back {
        None => there,
        Some(back) => there.and_back_by(back.conductor(args.line.class)?),
    };
    let doubt = args.warmth.celsius_doubt.unwrap_or(UNTOLD.1);
    let (at, doubt) = args.warmth.celsius.map_or(UNTOLD, |at| (at, doubt));
    both.expected(Length::from_metres(args.line.metres.unwrap_or(0)), at, doubt)
}
