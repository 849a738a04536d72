//! The spans of procedure dates that are summed up.

use jiff::civil::Date;

use super::options::CohortOptions;
use crate::date::{anniversary, plus_days};

/// Which span, as cohort.csv names it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum PeriodName {
    /// The period asked for.
    Period,
    /// The twelve months that end with it.
    Rolling12Months,
    /// Everything up to its end.
    SinceStart,
}

impl PeriodName {
    /// The word of cohort.csv.
    pub fn word(self) -> &'static str {
        match self {
            Self::Period => "period",
            Self::Rolling12Months => "rolling_12_months",
            Self::SinceStart => "since_start",
        }
    }

    /// The words on a page.
    pub fn title(self) -> &'static str {
        match self {
            Self::Period => "period",
            Self::Rolling12Months => "rolling 12 months",
            Self::SinceStart => "since the start",
        }
    }
}

/// A span of procedure dates, both ends inside.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Period {
    /// Which span.
    pub name: PeriodName,
    /// First procedure date; open where `None`.
    pub from: Option<Date>,
    /// Last procedure date; open where `None`.
    pub to: Option<Date>,
}

impl Period {
    /// The three spans of a summary. The twelve months and the start end where the period ends, or on the as-of date.
    pub fn all(options: &CohortOptions) -> [Self; 3] {
        let end = options.to.unwrap_or(options.as_of);
        let year_before = anniversary(end, -1).and_then(|date| plus_days(date, 1));
        [
            Self {
                name: PeriodName::Period,
                from: options.from,
                to: options.to,
            },
            Self {
                name: PeriodName::Rolling12Months,
                from: year_before,
                to: Some(end),
            },
            Self {
                name: PeriodName::SinceStart,
                from: None,
                to: Some(end),
            },
        ]
    }

    /// Whether a procedure of this date belongs to it.
    pub fn holds(&self, date: Date) -> bool {
        self.from.is_none_or(|from| date >= from) && self.to.is_none_or(|to| date <= to)
    }
}

/// The span that the period is compared with: as chosen, else the twelve months before its first day.
pub fn previous(options: &CohortOptions) -> Option<(Date, Date)> {
    options.previous.or_else(|| {
        let from = options.from?;
        Some((anniversary(from, -1)?, plus_days(from, -1)?))
    })
}

/// The three years that end on this day.
pub fn three_years(end: Date) -> (Date, Date) {
    let start = anniversary(end, -3).and_then(|date| plus_days(date, 1));
    (start.unwrap_or(end), end)
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    #[test]
    fn twelve_months_end_with_the_period() {
        let mut options = CohortOptions::new(date(2026, 11, 20));
        options.from = Some(date(2026, 7, 1));
        options.to = Some(date(2026, 9, 30));
        let [period, rolling, start] = Period::all(&options);
        // Calendar: the year that ends on 30 September 2026 began on 1 October 2025.
        assert_eq!(rolling.from, Some(date(2025, 10, 1)));
        assert_eq!(rolling.to, Some(date(2026, 9, 30)));
        assert!(period.holds(date(2026, 7, 1)) && period.holds(date(2026, 9, 30)));
        assert!(!period.holds(date(2026, 6, 30)) && !period.holds(date(2026, 10, 1)));
        assert!(start.holds(date(1990, 1, 1)) && !start.holds(date(2026, 10, 1)));
        assert_eq!(
            previous(&options),
            Some((date(2025, 7, 1), date(2026, 6, 30)))
        );
    }

    #[test]
    fn without_dates_the_period_is_everything() {
        let options = CohortOptions::new(date(2026, 11, 20));
        let [period, rolling, _] = Period::all(&options);
        assert!(period.holds(date(1999, 1, 1)) && period.holds(date(2026, 11, 20)));
        assert_eq!(rolling.from, Some(date(2025, 11, 21)));
        assert_eq!(previous(&options), None);
    }
}
