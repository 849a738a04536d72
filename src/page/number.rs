//! Numbers and dates as a reader sees them.
//!
//! A number printed never contradicts the class printed beside it: where rounding would carry it across a
//! threshold, one digit more is printed, and one more again.

use jiff::civil::Date;

/// Between a number and its unit; lines do not break there.
///
/// The face's own thin space is a tenth of an em, which reads as none; its ordinary space is a fifth, which is what a
/// thin space is elsewhere.
pub const THIN_SPACE: char = '\u{a0}';
/// Most digits after the point that are ever printed.
const MOST_DIGITS: usize = 12;

/// On which side of a threshold a value lies, by the rule that classes follow (1e-9 is on it).
fn side(value: f64, threshold: f64) -> std::cmp::Ordering {
    use crate::assess::bands::{above, below};
    if above(value, threshold) {
        std::cmp::Ordering::Greater
    } else if below(value, threshold) {
        std::cmp::Ordering::Less
    } else {
        std::cmp::Ordering::Equal
    }
}

/// The number with `digits` after the point and a true minus; no unit. Never "−0".
pub fn digits(value: f64, digits: usize) -> String {
    with_true_minus(format!("{value:.digits$}"))
}

fn with_true_minus(written: String) -> String {
    match written.strip_prefix('-') {
        Some(rest) if rest.bytes().all(|byte| matches!(byte, b'0' | b'.')) => rest.to_owned(),
        Some(rest) => format!("−{rest}"),
        None => written,
    }
}

/// As [`digits`], with as many digits more as keep it on its side of every threshold.
pub fn digits_against(value: f64, least: usize, thresholds: &[f64]) -> String {
    for count in least..MOST_DIGITS {
        let written = format!("{value:.count$}");
        let printed: f64 = written.parse().unwrap_or(value);
        if thresholds
            .iter()
            .all(|&threshold| side(printed, threshold) == side(value, threshold))
        {
            return with_true_minus(written);
        }
    }
    digits(value, MOST_DIGITS)
}

/// A number with its unit, a thin space between: `0.62 cm²`, `−3 %`. An empty unit adds nothing.
pub fn shown(value: f64, least: usize, unit: &str) -> String {
    with_unit(&digits(value, least), unit)
}

/// As [`shown`], never on the other side of a threshold than the value.
pub fn shown_against(value: f64, least: usize, unit: &str, thresholds: &[f64]) -> String {
    with_unit(&digits_against(value, least, thresholds), unit)
}

/// A measured number as it was recorded (no rounding), but with at most `most` digits after the point, unless more
/// are needed to keep it on its side of a threshold.
pub fn recorded(value: f64, most: usize, thresholds: &[f64]) -> String {
    let shortest = format!("{value}");
    let after_point = shortest.split_once('.').map_or(0, |(_, rest)| rest.len());
    if after_point <= most && !shortest.contains('e') {
        // Up to fifteen digits only one decimal of a length is read back as the value, so this is the value rounded to
        // that length; a longer one may be another.
        if shortest.len() <= 15 && value.is_finite() {
            with_true_minus(shortest)
        } else {
            digits(value, after_point)
        }
    } else {
        digits_against(value, most, thresholds)
    }
}

/// A change with its sign: `+4`, `−12`, `0`.
pub fn signed(value: f64, least: usize) -> String {
    let written = digits(value, least);
    let zero = written.bytes().all(|byte| matches!(byte, b'0' | b'.'));
    if value > 0.0 && !zero {
        format!("+{written}")
    } else {
        written
    }
}

/// A recorded change with its sign, with at most so many digits after the point: `+0.5`, `−1`, `0`.
pub fn signed_as_recorded(change: f64, most: usize) -> String {
    let written = recorded(change, most, &[]);
    if change > 0.0 {
        format!("+{written}")
    } else {
        written
    }
}

/// A written number with its unit; what is no number (the dash of a blank cell) stays without.
pub fn with_unit(number: &str, unit: &str) -> String {
    if unit.is_empty() || !number.contains(|mark: char| mark.is_ascii_digit()) {
        return number.to_owned();
    }
    format!("{number}{THIN_SPACE}{}", pretty_unit(unit))
}

/// The unit as people write it: `cm²/m²` for `cm2/m2`, `µ` for `u`.
pub fn pretty_unit(unit: &str) -> String {
    // Most units are written as they are.
    if !unit.contains(['2', 'u', '.']) {
        return unit.to_owned();
    }
    unit.replace("cm2", "cm²")
        .replace("mm2", "mm²")
        .replace("m2", "m²")
        .replace("umol", "μmol")
        .replace("Gy.", "Gy·")
}

/// `3 Mar 2026`, its parts held together.
pub fn date(date: Date) -> String {
    format!(
        "{}\u{a0}{}\u{a0}{:04}",
        date.day(),
        month(date),
        date.year()
    )
}

/// `3 Mar`, for a range whose end names the year.
pub fn day_and_month(date: Date) -> String {
    format!("{}\u{a0}{}", date.day(), month(date))
}

/// `5 Apr to 27 May 2026`; both years where they differ.
pub fn date_range(from: Date, to: Date) -> String {
    if from.year() == to.year() {
        format!("{} to {}", day_and_month(from), self::date(to))
    } else {
        format!("{} to {}", self::date(from), self::date(to))
    }
}

fn month(date: Date) -> &'static str {
    const MONTHS: [&str; 12] = [
        "Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec",
    ];
    MONTHS[(date.month() as usize + 11) % 12]
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_number_carries_its_unit_and_a_true_minus() {
        assert_eq!(shown(0.617, 2, "cm2"), "0.62\u{a0}cm²");
        assert_eq!(shown(-3.2, 0, "%"), "−3\u{a0}%");
        assert_eq!(shown(-0.2, 0, "mmHg"), "0\u{a0}mmHg");
        assert_eq!(shown(0.9, 1, ""), "0.9");
        assert_eq!(pretty_unit("cm2/m2"), "cm²/m²");
        assert_eq!(signed(4.0, 0), "+4");
        assert_eq!(signed(0.2, 0), "0");
        assert_eq!(signed(-12.0, 0), "−12");
    }

    #[test]
    fn rounding_does_not_cross_a_threshold() {
        // 39.6 mmHg is below 40 and must not be printed as 40; 39.96 needs two digits.
        assert_eq!(digits_against(39.6, 0, &[40.0]), "39.6");
        assert_eq!(digits_against(39.96, 0, &[40.0]), "39.96");
        assert_eq!(digits_against(40.2, 0, &[40.0]), "40.2");
        assert_eq!(digits_against(40.0, 0, &[40.0]), "40");
        // 0.6500000000001 is on 0.65 by the rule of the classes.
        assert_eq!(digits_against(0.650_000_000_000_1, 2, &[0.65]), "0.65");
    }

    #[test]
    fn a_measurement_is_printed_as_recorded() {
        assert_eq!(recorded(21.9, 2, &[]), "21.9");
        assert_eq!(recorded(77.0, 2, &[]), "77");
        assert_eq!(recorded(-1.5, 1, &[]), "−1.5");
        assert_eq!(recorded(4.633_333_333, 2, &[]), "4.63");
        assert_eq!(recorded(3.999_9, 2, &[4.0]), "3.9999");
    }

    #[test]
    fn dates_are_in_words() {
        let day = jiff::civil::date(2026, 3, 3);
        assert_eq!(date(day), "3\u{a0}Mar\u{a0}2026");
        assert_eq!(
            date_range(day, jiff::civil::date(2026, 5, 27)),
            "3\u{a0}Mar to 27\u{a0}May\u{a0}2026"
        );
    }

    proptest! {
        /// Against the decimal as it was typed.
        #[test]
        fn prop_what_was_typed_is_printed(whole in 0u64..1_000_000_000_000, cents in 0u8..100, minus in any::<bool>()) {
            let size = format!("{whole}.{cents:02}").trim_end_matches('0').trim_end_matches('.').to_owned();
            let sign = |minus_sign| if minus && size != "0" { minus_sign } else { "" };
            let typed: f64 = format!("{}{size}", sign("-")).parse().unwrap();
            prop_assert_eq!(recorded(typed, 2, &[]), format!("{}{size}", sign("−")));
        }

        #[test]
        fn prop_what_is_printed_is_on_the_side_of_the_value(value in 0.0..100.0f64, threshold in 0u32..1000, least in 0usize..3) {
            let threshold = f64::from(threshold) / 10.0;
            let printed: f64 = digits_against(value, least, &[threshold]).parse().unwrap();
            prop_assert_eq!(printed < threshold, crate::assess::bands::below(value, threshold));
            prop_assert_eq!(printed > threshold, crate::assess::bands::above(value, threshold));
        }
    }
}
