//! Calendar arithmetic: whole days, completed years, anniversaries.

use jiff::civil::Date;

/// Whole days from `from` to `to`; negative where `to` is earlier.
pub fn days_between(from: Date, to: Date) -> i64 {
    i64::from(day_number(to) - day_number(from))
}

/// Days since a fixed day in the proleptic Gregorian calendar (civil-from-days, Fliegel & Van Flandern 1968 form).
fn day_number(date: Date) -> i32 {
    let (year, month, day) = (
        i32::from(date.year()),
        i32::from(date.month()),
        i32::from(date.day()),
    );
    let shifted = (month - 14) / 12;
    (1461 * (year + 4800 + shifted)) / 4 + (367 * (month - 2 - 12 * shifted)) / 12
        - (3 * ((year + 4900 + shifted) / 100)) / 4
        + day
}

/// `date` moved by whole days; `None` outside the calendar (years −9999 to 9999).
pub fn plus_days(date: Date, days: i64) -> Option<Date> {
    date.checked_add(jiff::Span::new().try_days(days).ok()?)
        .ok()
}

/// Completed years from `birth` to `on`; a birthday on 29 February falls on 1 March in years without it.
pub fn completed_years(birth: Date, on: Date) -> i64 {
    let years = i64::from(on.year()) - i64::from(birth.year());
    years - i64::from((on.month(), on.day()) < (birth.month(), birth.day()))
}

/// The `years`-th anniversary; 29 February becomes 1 March in years without it. `None` outside the calendar.
pub fn anniversary(date: Date, years: i64) -> Option<Date> {
    let year = i16::try_from(i64::from(date.year()) + years).ok()?;
    Date::new(year, date.month(), date.day())
        .or_else(|_| Date::new(year, 3, 1))
        .ok()
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    #[test]
    fn days_agree_with_the_calendar_library() {
        for (a, b) in [
            (date(2024, 2, 28), date(2024, 3, 1)),
            (date(1899, 12, 31), date(2100, 3, 1)),
            (date(2026, 1, 1), date(2025, 12, 31)),
        ] {
            let span = a.until(b).expect("both inside the calendar");
            assert_eq!(days_between(a, b), i64::from(span.get_days()));
        }
    }

    #[test]
    fn leap_day_becomes_first_of_march() {
        // Calendar facts: 2023 and 2025 have no 29 February, 2024 and 2028 have one.
        assert_eq!(anniversary(date(2024, 2, 29), 1), Some(date(2025, 3, 1)));
        assert_eq!(anniversary(date(2024, 2, 29), 4), Some(date(2028, 2, 29)));
        assert_eq!(completed_years(date(1940, 2, 29), date(2023, 2, 28)), 82);
        assert_eq!(completed_years(date(1940, 2, 29), date(2023, 3, 1)), 83);
    }
}
