//! Values as plain text, as data files hold them. Hundreds are written for every case, so none asks for memory of its own.

use jiff::civil::Date;

use super::Shown;

impl Shown<'_> {
    /// Writes the value behind the text as data files hold it.
    pub fn push_plain(self, text: &mut String) {
        match self {
            Self::Number(number) => push_number(number, text),
            Self::Integer(number) => push_whole(number, text),
            Self::YesNo(yes) => text.push_str(if yes { "yes" } else { "no" }),
            Self::Date(date) => push_date(date, text),
            Self::Word(word) => text.push_str(word),
            Self::Text(written) => text.push_str(written),
        }
    }
}

/// Writes the fewest digits that read back as the same number: a whole one without decimals, none with an exponent.
pub fn push_number(number: f64, text: &mut String) {
    if let Some(thousandths) = thousandths(number) {
        push_thousandths(thousandths, text);
        return;
    }
    let mut digits = zmij::Buffer::new();
    let digits = digits.format(number);
    if digits.contains(['e', 'E']) {
        text.push_str(&number.to_string());
    } else {
        text.push_str(digits.strip_suffix(".0").unwrap_or(digits));
    }
}

/// The thousandfold of a number of at most three decimals, as nearly all that are measured; 0 with a minus is none.
///
/// Two decimals of at most 15 digits never are the same number (IEEE 754 binary64), so those digits are the fewest too.
///
/// Told without a division, of which there would be one for every number of every case: `t / 1000` rounds to the number
/// `m · 2^e` where it is off by less than half of `2^e`, which is where `t · 2^-e` and `1000 m` differ by less than 500.
/// Both are whole and below 2^63, and both divide by 8, so that the difference never is 500.
pub(super) fn thousandths(number: f64) -> Option<i64> {
    /// Of the bits of a number, those behind its exponent.
    const BEHIND_EXPONENT: u64 = (1 << 52) - 1;
    /// A number to which another is added stands as a whole number behind the exponent, rounded.
    const ROUNDING: f64 = (1_u64 << 52) as f64;
    let size = number.abs();
    // No thousandfold is smaller, but for 0, and none larger has 15 digits at most.
    if !(1.0 / 1024.0..1e12).contains(&size) {
        return (number.to_bits() == 0).then_some(0);
    }
    let thousandths = (size * 1000.0 + ROUNDING).to_bits() & BEHIND_EXPONENT;
    let bits = size.to_bits();
    let mantissa = bits & BEHIND_EXPONENT | (1 << 52);
    let places = 1023 + 52 - (bits >> 52);
    let off = (thousandths << places).abs_diff(mantissa * 1000);
    let thousandths = thousandths.cast_signed();
    (off < 500).then_some(if number < 0.0 {
        -thousandths
    } else {
        thousandths
    })
}

/// The number of which this is the thousandfold, below 2^52.
#[expect(clippy::cast_precision_loss, reason = "below 2^52")]
pub(super) fn from_thousandths(thousandths: i64) -> f64 {
    thousandths as f64 / 1000.0
}

fn push_thousandths(thousandths: i64, text: &mut String) {
    if thousandths < 0 {
        text.push('-');
    }
    let thousandths = thousandths.unsigned_abs();
    push_small(thousandths / 1000, text);
    let decimals = thousandths % 1000;
    if decimals == 0 {
        return;
    }
    text.push('.');
    text.push(digit(decimals / 100));
    if !decimals.is_multiple_of(100) {
        text.push(digit(decimals / 10));
    }
    if !decimals.is_multiple_of(10) {
        text.push(digit(decimals));
    }
}

/// Writes a whole number that has hardly ever more than three digits.
pub fn push_small(number: u64, text: &mut String) {
    if number >= 1000 {
        push_whole(number, text);
        return;
    }
    if number >= 100 {
        text.push(digit(number / 100));
    }
    if number >= 10 {
        text.push(digit(number / 10));
    }
    text.push(digit(number));
}

/// Writes a whole number.
pub fn push_whole(number: impl itoa::Integer, text: &mut String) {
    text.push_str(itoa::Buffer::new().format(number));
}

/// Writes a date as ISO 8601 does: 2026-03-01.
pub fn push_date(date: Date, text: &mut String) {
    let Ok(year) = u16::try_from(date.year()) else {
        text.push_str(&date.to_string());
        return;
    };
    let [year, month, day] = [
        year,
        date.month().unsigned_abs().into(),
        date.day().unsigned_abs().into(),
    ]
    .map(u64::from);
    for place in [1000, 100, 10, 1] {
        text.push(digit(year / place));
    }
    for part in [month, day] {
        text.push('-');
        text.push(digit(part / 10));
        text.push(digit(part));
    }
}

/// The last digit of a number.
#[inline(always)]
fn digit(number: u64) -> char {
    char::from(b'0' + (number % 10) as u8)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn plain(value: Shown<'_>) -> String {
        let mut text = "x".to_owned();
        value.push_plain(&mut text);
        text[1..].to_owned()
    }

    /// As the standard library writes them: the shortest digits that read back, never an exponent.
    #[test]
    fn numbers_great_and_small_are_written_without_exponent() {
        for number in [
            0.0,
            -0.0,
            1.0,
            -1.5,
            0.1 + 0.2,
            1e15,
            1e16,
            1e21,
            1.5e300,
            1e-5,
            1e-7,
            f64::MIN_POSITIVE,
            f64::MAX,
            f64::NAN,
            f64::INFINITY,
        ] {
            assert_eq!(plain(Shown::Number(number)), number.to_string());
        }
    }

    /// The thousandfold, by the division that it stands for.
    fn divided(number: f64) -> Option<i64> {
        let rounded = (number * 1000.0).round() as i64;
        let is_one = from_thousandths(rounded).to_bits() == number.to_bits();
        (is_one && number.abs() < 1e12).then_some(rounded)
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(20_000))]

        /// At every size, and for the neighbours of each, which are none.
        #[test]
        fn prop_thousandths_are_those_of_the_division(
            number in any::<f64>(),
            digits in 0_i64..1_000_000_000_000_000,
            size in 0_u32..16,
        ) {
            let decimal = (digits / 10_i64.pow(size.min(15))) as f64 / 1000.0;
            for number in [number, decimal, decimal.next_up(), decimal.next_down(), decimal / 3.0, decimal + 1e-4] {
                for number in [number, -number] {
                    prop_assert_eq!(thousandths(number), divided(number), "{:?}", number);
                }
            }
        }
    }

    proptest! {
        /// As the standard library writes them.
        #[test]
        fn prop_written_as_others_write(
            number in any::<f64>(),
            thousandths in -10_000_000_i64..10_000_000,
            whole in any::<i64>(),
            year in -9999_i16..=9999,
            month in 1_i8..=12,
            day in 1_i8..=28,
        ) {
            let decimal = thousandths as f64 / 1000.0;
            for number in [number, decimal, decimal / 7.0, decimal / 10.0, decimal * 1e9] {
                let (ours, theirs) = (plain(Shown::Number(number)), number.to_string());
                // Of two last digits that are equally near each writer takes its own: as few, and both read back.
                let as_few = ours.len() == theirs.len();
                let read_back = ours.parse::<f64>().map(f64::to_bits) == Ok(number.to_bits());
                prop_assert!(ours == theirs || as_few && read_back, "{} {}", ours, theirs);
            }
            prop_assert_eq!(plain(Shown::Integer(whole)), whole.to_string());
            let small = thousandths.unsigned_abs() % 2000;
            let mut text = String::new();
            push_small(small, &mut text);
            prop_assert_eq!(text, small.to_string());
            let date = jiff::civil::date(year, month, day);
            prop_assert_eq!(plain(Shown::Date(date)), date.to_string());
        }
    }
}
