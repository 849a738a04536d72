//! A cell's text → a calendar date. Only what can be read in one way is taken.

use jiff::civil::Date;

/// How the dates of a file are written, besides YYYY-MM-DD, which is always read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DateFormat {
    pattern: String,
    parts: Vec<Part>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Part {
    /// Four digits.
    Year,
    /// One or two digits, or exactly two.
    Month {
        two: bool,
    },
    Day {
        two: bool,
    },
    Literal(char),
}

impl DateFormat {
    /// A format such as `DD.MM.YYYY`, `D/M/YYYY` or `YYYYMMDD`.
    ///
    /// # Errors
    /// Says what is wrong: year (four letters), month and day each once, nothing else but `.`, `/`, `-` and space.
    pub fn new(pattern: &str) -> Result<Self, String> {
        let mut parts = Vec::new();
        let mut rest = pattern;
        while let Some(first) = rest.chars().next() {
            let run = rest
                .chars()
                .take_while(|&character| character == first)
                .count();
            let part = match (first, run) {
                ('Y', 4) => Part::Year,
                ('M', 1 | 2) => Part::Month { two: run == 2 },
                ('D', 1 | 2) => Part::Day { two: run == 2 },
                ('Y', _) => return Err(
                    "the year must be written YYYY: a year of two digits can be of two centuries"
                        .to_owned(),
                ),
                ('.' | '/' | '-' | ' ', 1) => Part::Literal(first),
                _ => {
                    return Err(
                        "made of YYYY, MM or M, DD or D and one of . / - or a space between them"
                            .to_owned(),
                    );
                }
            };
            parts.push(part);
            rest = &rest[first.len_utf8() * run..];
        }
        let count = |wanted: fn(&Part) -> bool| parts.iter().filter(|part| wanted(part)).count();
        let once = [
            count(|part| matches!(part, Part::Year)),
            count(|part| matches!(part, Part::Month { .. })),
            count(|part| matches!(part, Part::Day { .. })),
        ] == [1, 1, 1];
        // "D" takes one or two digits and must know where it ends.
        let open = parts.windows(2).any(|pair| {
            matches!(
                pair[0],
                Part::Month { two: false } | Part::Day { two: false }
            ) && !matches!(pair[1], Part::Literal(_))
        });
        if !once || open {
            return Err(
                "year, month and day, each once; a single M or D needs a mark behind it".to_owned(),
            );
        }
        Ok(Self {
            pattern: pattern.to_owned(),
            parts,
        })
    }

    /// The format as it was given.
    pub fn pattern(&self) -> &str {
        &self.pattern
    }

    /// The date written here in this format, where there is such a day.
    pub(super) fn read(&self, text: &str) -> Option<Date> {
        let mut rest = text;
        let (mut year, mut month, mut day) = (0, 0, 0);
        for part in &self.parts {
            match part {
                Part::Literal(character) => rest = rest.strip_prefix(*character)?,
                Part::Year => year = take_digits(&mut rest, 4, 4)?,
                Part::Month { two } => month = take_digits(&mut rest, if *two { 2 } else { 1 }, 2)?,
                Part::Day { two } => day = take_digits(&mut rest, if *two { 2 } else { 1 }, 2)?,
            }
        }
        rest.is_empty().then(|| day_of(year, month, day))?
    }
}

fn take_digits(rest: &mut &str, least: usize, most: usize) -> Option<i16> {
    let digits = rest
        .bytes()
        .take(most)
        .take_while(u8::is_ascii_digit)
        .count();
    if digits < least {
        return None;
    }
    let (taken, left) = rest.split_at(digits);
    *rest = left;
    taken.parse().ok()
}

fn day_of(year: i16, month: i16, day: i16) -> Option<Date> {
    Date::new(year, i8::try_from(month).ok()?, i8::try_from(day).ok()?).ok()
}

/// The date written here: YYYY-MM-DD, or the site's own format; a time of day is taken where it is midnight exactly,
/// as databases write a date.
///
/// # Errors
/// What was expected, in words. It repeats the date only where `reveal` allows it.
pub(super) fn date(text: &str, format: Option<&DateFormat>, reveal: bool) -> Result<Date, String> {
    // Nearly every date; it has no room for a time of day.
    if let Some(date) = iso(text) {
        return Ok(date);
    }
    let (day_text, midnight) = split_time(text);
    let read = |text: &str| iso(text).or_else(|| format.and_then(|format| format.read(text)));
    match (read(day_text), midnight) {
        (Some(date), true) => return Ok(date),
        (Some(date), false) => {
            return Err(format!(
                "a date without time of day{}",
                shown(Some(date), reveal)
            ));
        }
        (None, _) => {}
    }
    let wanted = match format {
        Some(format) => format!("a date written YYYY-MM-DD or {}", format.pattern),
        None => "a date written YYYY-MM-DD".to_owned(),
    };
    Err(format!("{wanted}{}", why_not(day_text, reveal)))
}

fn iso(text: &str) -> Option<Date> {
    let &[y1, y2, y3, y4, b'-', m1, m2, b'-', d1, d2] = text.as_bytes() else {
        return None;
    };
    if ![y1, y2, y3, y4, m1, m2, d1, d2]
        .iter()
        .all(u8::is_ascii_digit)
    {
        return None;
    }
    let two = |tens, ones| i16::from(tens - b'0') * 10 + i16::from(ones - b'0');
    day_of(two(y1, y2) * 100 + two(y3, y4), two(m1, m2), two(d1, d2))
}

/// The part before a time of day, and whether that time is absent or midnight without a zone.
fn split_time(text: &str) -> (&str, bool) {
    let Some((day, time)) = text.split_once(['T', ' ']).filter(|(day, time)| {
        day.len() >= 6
            && time.as_bytes().get(2) == Some(&b':')
            && time.starts_with(|character: char| character.is_ascii_digit())
    }) else {
        return (text, true);
    };
    let midnight = time.len() >= 5 && time.bytes().all(|byte| matches!(byte, b'0' | b':' | b'.'));
    (day, midnight)
}

fn shown(date: Option<Date>, reveal: bool) -> String {
    match date {
        Some(date) if reveal => format!(" ({date})"),
        _ => String::new(),
    }
}

/// Why this is not a date, as a hint for whoever mends the file.
fn why_not(text: &str, reveal: bool) -> String {
    let numbers: Vec<&str> = text.split(['.', '/', '-', ' ']).collect();
    let digits = |text: &str| !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit());
    if let [first, second, third] = numbers[..]
        && numbers.iter().all(|part| digits(part) && part.len() <= 4)
    {
        let value = |part: &str| part.parse::<i16>().unwrap_or(0);
        let (a, b, c) = (value(first), value(second), value(third));
        if first.len() == 4 {
            return match day_of(a, b, c) {
                Some(date) => format!(
                    "; two digits each for month and day{}",
                    shown(Some(date), reveal)
                ),
                None => "; there is no such day".to_owned(),
            };
        }
        if third.len() <= 2 {
            return "; the year in four digits".to_owned();
        }
        return match (day_of(c, b, a), day_of(c, a, b)) {
            (Some(one), Some(other)) if one != other => {
                "; day and month cannot be told apart".to_owned()
            }
            (None, None) => "; there is no such day".to_owned(),
            (one, other) => shown(one.or(other), reveal),
        };
    }
    if digits(text) && text.len() == 8 {
        let at = |from: usize, to: usize| text[from..to].parse().unwrap_or(0);
        return shown(day_of(at(0, 4), at(4, 6), at(6, 8)), reveal);
    }
    let whole = text.split_once(['.', ',']).map_or(text, |(whole, _)| whole);
    if digits(whole) && whole.len() == 5 {
        return format!(
            "; a spreadsheet's day number is no date{}",
            shown(spreadsheet_day(whole), reveal)
        );
    }
    String::new()
}

/// The date of a spreadsheet's day number in the 1900 date system: 1 is 1900-01-01, and 60 is a 29 February 1900 that
/// never was, so from 61 on days count from 1899-12-30 (ECMA-376-1, 18.17.4.1, 1900 date base with its leap-year fault).
fn spreadsheet_day(text: &str) -> Option<Date> {
    let days: i64 = text.parse().ok()?;
    let base = day_of(1899, 12, 30)?;
    (61..=109_574)
        .contains(&days)
        .then(|| base.checked_add(jiff::Span::new().days(days)).ok())?
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn refused(text: &str) -> String {
        date(text, None, true).unwrap_err()
    }

    #[test]
    fn iso_dates_and_midnights() {
        let expected = day_of(2031, 4, 3).unwrap();
        for text in [
            "2031-04-03",
            "2031-04-03T00:00",
            "2031-04-03 00:00:00",
            "2031-04-03 00:00:00.000",
        ] {
            assert_eq!(date(text, None, true), Ok(expected), "{text}");
        }
        assert_eq!(
            date("2032-02-29", None, true),
            Ok(day_of(2032, 2, 29).unwrap())
        );
    }

    #[test]
    fn what_can_be_read_in_two_ways_is_refused() {
        assert!(refused("03/04/2031").ends_with("day and month cannot be told apart"));
        assert!(refused("03.04.2031").contains("cannot be told apart"));
        assert!(refused("25/04/2031").ends_with("(2031-04-25)"));
        assert!(refused("04/25/2031").ends_with("(2031-04-25)"));
        assert!(refused("05.05.2031").ends_with("(2031-05-05)"));
        assert!(refused("31/02/2031").contains("no such day"));
        assert!(refused("2031-02-29").contains("no such day"));
        assert!(refused("2031-4-3").ends_with("(2031-04-03)"));
        assert!(refused("2031/04/03").ends_with("(2031-04-03)"));
        assert!(refused("20310403").ends_with("(2031-04-03)"));
        assert!(refused("03.04.31").contains("four digits"));
        assert!(refused("2031-04-03T10:00").contains("without time of day (2031-04-03)"));
        assert!(refused("2031-04-03T00:00:00Z").contains("without time of day"));
        assert_eq!(refused("soon"), "a date written YYYY-MM-DD");
    }

    /// 45000 is 2023-03-15 and 36526 is 2000-01-01 in the 1900 date system (common spreadsheet reference values).
    #[test]
    fn a_day_number_is_refused_with_its_date() {
        assert!(refused("45000").ends_with("(2023-03-15)"));
        assert!(refused("36526.5").ends_with("(2000-01-01)"));
        assert!(!date("45000", None, false).unwrap_err().contains("2023"));
    }

    #[test]
    fn a_site_format_is_read_beside_iso() {
        let format = DateFormat::new("DD.MM.YYYY").unwrap();
        let expected = day_of(2031, 4, 3).unwrap();
        for text in ["03.04.2031", "2031-04-03", "03.04.2031 00:00"] {
            assert_eq!(date(text, Some(&format), true), Ok(expected), "{text}");
        }
        assert!(date("3.4.2031", Some(&format), true).is_err());
        let short = DateFormat::new("D/M/YYYY").unwrap();
        assert_eq!(date("3/4/2031", Some(&short), true), Ok(expected));
        let compact = DateFormat::new("YYYYMMDD").unwrap();
        assert_eq!(date("20310403", Some(&compact), true), Ok(expected));
        for pattern in [
            "DD.MM.YY",
            "DD.MM",
            "MMM YYYY",
            "DMYYYY",
            "dd.mm.yyyy",
            "",
            "DD.DD.YYYY",
        ] {
            assert!(DateFormat::new(pattern).is_err(), "{pattern}");
        }
    }

    proptest! {
        #[test]
        fn prop_never_panics(text in "\\PC{0,24}") {
            let format = DateFormat::new("D.M.YYYY").unwrap();
            let _ = (date(&text, None, true), date(&text, Some(&format), false));
        }

        #[test]
        fn prop_a_hidden_date_is_not_in_the_message(days in 61_i64..60_000) {
            let secret = spreadsheet_day(&days.to_string()).unwrap();
            for text in [days.to_string(), secret.strftime("%d/%m/%Y").to_string(), secret.strftime("%Y%m%d").to_string()] {
                let message = date(&text, None, false).unwrap_err();
                prop_assert!(!message.chars().any(|character| character.is_ascii_digit()), "{}", message);
            }
        }
    }
}
