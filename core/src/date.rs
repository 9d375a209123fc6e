//! A calendar day, for due dates and for records: core has no clock, a board tells it the day.

/// A day from 1 January 2000 on, in the Gregorian calendar; ends in the year 2179.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Date {
    days: u16,
}

impl Date {
    /// The first day that can be held.
    pub const FIRST: Self = Self { days: 0 };

    /// From days since 1 January 2000.
    #[must_use]
    pub const fn from_days(days: u16) -> Self {
        Self { days }
    }

    /// Days since 1 January 2000.
    #[must_use]
    pub const fn as_days(self) -> u16 {
        self.days
    }

    /// From year, month and day; `None` where the calendar has no such day or it is out of range.
    ///
    /// ```
    /// use ohmwarden_core::date::Date;
    /// assert_eq!(Date::from_ymd(2000, 3, 1).map(Date::as_days), Some(60));
    /// assert_eq!(Date::from_ymd(2100, 2, 29), None, "2100 is no leap year");
    /// ```
    #[must_use]
    pub fn from_ymd(year: u16, month: u8, day: u8) -> Option<Self> {
        let years = year.checked_sub(2_000)?;
        let length = length_of(year, month)?;
        let day_of_month = day.checked_sub(1).filter(|d| *d < length)?;
        let leaps = leap_days_before(year);
        let before: u32 = (1..month).filter_map(|m| length_of(year, m)).map(u32::from).sum();
        let days = u32::from(years)
            .saturating_mul(365)
            .saturating_add(leaps)
            .saturating_add(before)
            .saturating_add(u32::from(day_of_month));
        u16::try_from(days).ok().map(Self::from_days)
    }

    /// Year, month and day.
    #[must_use]
    pub fn as_ymd(self) -> (u16, u8, u8) {
        let mut left = self.days;
        let mut year: u16 = 2_000;
        loop {
            let length = if is_leap(year) { 366 } else { 365 };
            let Some(rest) = left.checked_sub(length) else { break };
            left = rest;
            year = year.saturating_add(1);
        }
        let mut month: u8 = 1;
        while let Some(length) = length_of(year, month) {
            let Some(rest) = left.checked_sub(u16::from(length)) else { break };
            left = rest;
            month = month.saturating_add(1);
        }
        (year, month, u8::try_from(left.saturating_add(1)).unwrap_or(u8::MAX))
    }

    /// The day so many days later, held at the last that can be held.
    #[must_use]
    pub const fn plus_days(self, days: u16) -> Self {
        Self { days: self.days.saturating_add(days) }
    }
}

impl core::fmt::Display for Date {
    /// As ISO 8601 writes it: year, month, day.
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        let (year, month, day) = self.as_ymd();
        write!(f, "{year:04}-{month:02}-{day:02}")
    }
}

const fn is_leap(year: u16) -> bool {
    year.is_multiple_of(4) && (!year.is_multiple_of(100) || year.is_multiple_of(400))
}

/// Leap days from 2000 up to the beginning of `year`.
fn leap_days_before(year: u16) -> u32 {
    (2_000..year).map(|y| u32::from(is_leap(y))).sum()
}

const fn length_of(year: u16, month: u8) -> Option<u8> {
    Some(match month {
        1 | 3 | 5 | 7 | 8 | 10 | 12 => 31,
        4 | 6 | 9 | 11 => 30,
        2 if is_leap(year) => 29,
        2 => 28,
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::string::ToString as _;

    #[test]
    fn every_day_of_the_range_goes_there_and_back_in_order() {
        let mut before = None;
        for days in 0..=u16::MAX {
            let date = Date::from_days(days);
            let (year, month, day) = date.as_ymd();
            assert_eq!(Date::from_ymd(year, month, day), Some(date));
            assert!(before < Some((year, month, day)));
            before = Some((year, month, day));
        }
    }

    #[test]
    fn known_days_are_where_the_calendar_has_them() {
        // 24 837 days lie between the two firsts of January: 68 years, 17 of them leap years.
        assert_eq!(Date::from_ymd(2_068, 1, 1).map(Date::as_days), Some(68 * 365 + 17));
        assert_eq!(Date::from_days(u16::MAX).to_string(), "2179-06-06");
    }

    #[test]
    fn what_the_calendar_does_not_have_is_refused() {
        for (year, month, day) in [
            (1_999, 12, 31),
            (2_001, 2, 29),
            (2_004, 4, 31),
            (2_004, 0, 1),
            (2_004, 13, 1),
            (2_004, 1, 0),
            (2_179, 6, 7),
        ] {
            assert_eq!(Date::from_ymd(year, month, day), None, "{year}-{month}-{day}");
        }
    }
}
