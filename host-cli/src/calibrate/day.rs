//! Days on the command line, and the day it is.

use std::time::{SystemTime, UNIX_EPOCH};

use ohmwarden_core::date::Date;

/// Days from 1 January 1970 to 1 January 2000.
const TO_2000: u64 = 10_957;
const SECONDS: u64 = 86_400;

/// Reads a day as ISO 8601 writes it.
pub(super) fn parsed(text: &str) -> Result<Date, String> {
    let mut parts = text.split('-');
    let mut next = |digits: usize| {
        let part = parts.next().filter(|p| p.len() == digits)?;
        part.bytes().all(|b| b.is_ascii_digit()).then(|| part.parse::<u16>().ok())?
    };
    let (year, month, day) = (next(4), next(2), next(2));
    let whole = parts.next().is_none();
    year.zip(month)
        .zip(day)
        .filter(|_| whole)
        .and_then(|((y, m), d)| Date::from_ymd(y, u8::try_from(m).ok()?, u8::try_from(d).ok()?))
        .ok_or_else(|| "a day of the calendar is needed, as 2026-03-31".to_owned())
}

/// The day it is, by the clock of this machine, at Greenwich.
pub(super) fn today() -> Date {
    let seconds = SystemTime::now().duration_since(UNIX_EPOCH).map_or(0, |since| since.as_secs());
    let days = (seconds / SECONDS).saturating_sub(TO_2000);
    Date::from_days(u16::try_from(days).unwrap_or(u16::MAX))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn days_are_read_as_they_are_shown_and_others_are_refused() {
        assert_eq!(parsed("2026-03-31").map(|day| day.to_string()).as_deref(), Ok("2026-03-31"));
        for text in ["2026-02-30", "26-03-31", "2026-3-31", "2026-03-31-1", "", "31.03.2026"] {
            assert!(parsed(text).is_err(), "{text}");
        }
    }

    #[test]
    fn the_clock_of_this_machine_is_past_the_day_this_was_written() {
        assert!(today() > parsed("2025-01-01").expect("a day"));
    }
}
