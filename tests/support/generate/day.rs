//! Days counted from 1970-01-01, and their ISO spelling (the proleptic Gregorian calendar by whole-number arithmetic,
//! after Hinnant 2013, "chrono-compatible low-level date algorithms").

use std::fmt;

/// A civil day.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Day(pub i64);

impl Day {
    /// The day of a year, month and day of the month.
    pub fn of(year: i64, month: i64, day: i64) -> Self {
        let year = if month <= 2 { year - 1 } else { year };
        let era = year.div_euclid(400);
        let year_of_era = year.rem_euclid(400);
        let day_of_year = (153 * ((month + 9) % 12) + 2) / 5 + day - 1;
        let day_of_era = year_of_era * 365 + year_of_era / 4 - year_of_era / 100 + day_of_year;
        Self(era * 146_097 + day_of_era - 719_468)
    }

    /// Year, month and day of the month.
    pub fn parts(self) -> (i64, i64, i64) {
        let days = self.0 + 719_468;
        let era = days.div_euclid(146_097);
        let day_of_era = days.rem_euclid(146_097);
        let year_of_era =
            (day_of_era - day_of_era / 1_460 + day_of_era / 36_524 - day_of_era / 146_096) / 365;
        let day_of_year = day_of_era - (365 * year_of_era + year_of_era / 4 - year_of_era / 100);
        let shifted = (5 * day_of_year + 2) / 153;
        let month = if shifted < 10 {
            shifted + 3
        } else {
            shifted - 9
        };
        let year = year_of_era + era * 400 + i64::from(month <= 2);
        (year, month, day_of_year - (153 * shifted + 2) / 5 + 1)
    }

    /// The day `count` days later.
    pub fn plus(self, count: i64) -> Self {
        Self(self.0 + count)
    }

    /// This day, or the Monday after it where it falls on a weekend: clinics keep working days.
    pub fn working(self) -> Self {
        // 1970-01-01 was a Thursday.
        match (self.0 + 3).rem_euclid(7) {
            5 => self.plus(2),
            6 => self.plus(1),
            _ => self,
        }
    }

    /// Completed years from this day to `later`.
    pub fn years_to(self, later: Self) -> i64 {
        let (from_year, from_month, from_day) = self.parts();
        let (to_year, to_month, to_day) = later.parts();
        to_year - from_year - i64::from((to_month, to_day) < (from_month, from_day))
    }
}

impl fmt::Display for Day {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (year, month, day) = self.parts();
        write!(out, "{year:04}-{month:02}-{day:02}")
    }
}

impl std::str::FromStr for Day {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let wanted = || format!("{text:?} is not a date as 2026-09-30");
        let mut parts = text
            .split('-')
            .map(|part| part.parse::<i64>().map_err(|_| wanted()));
        let mut next = || parts.next().unwrap_or_else(|| Err(wanted()));
        let day = Self::of(next()?, next()?, next()?);
        if day.to_string() == text {
            Ok(day)
        } else {
            Err(wanted())
        }
    }
}
