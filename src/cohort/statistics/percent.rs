//! Percentages made from whole numbers, so that a reader with a calculator gets the same digit.

/// The denominator from which one decimal is shown.
pub const ONE_DECIMAL_FROM: usize = 100;

/// Tenths of a percent of `count` in `of`, rounded half up from the integers.
///
/// None when `of` is 0 or `count` is greater than `of`.
#[must_use]
pub fn percent_tenths(count: usize, of: usize) -> Option<u64> {
    rounded(count, of, 1000)
}

/// The percentage without its sign: whole below [`ONE_DECIMAL_FROM`] cases, one decimal from
/// there on. None when `of` is 0 or `count` is greater than `of`.
///
/// Formatting the quotient would round the binary value half to even (12.25 becomes 12.2), so the
/// digits are made from the integers.
///
/// # Examples
/// ```
/// use valvefolio::cohort::statistics::percent_text;
/// assert_eq!(percent_text(1, 8).as_deref(), Some("13"));
/// assert_eq!(percent_text(49, 400).as_deref(), Some("12.3"));
/// assert_eq!(percent_text(0, 0), None);
/// ```
#[must_use]
pub fn percent_text(count: usize, of: usize) -> Option<String> {
    if of < ONE_DECIMAL_FROM {
        return rounded(count, of, 100).map(|whole| whole.to_string());
    }
    let tenths = percent_tenths(count, of)?;
    Some(format!("{}.{}", tenths / 10, tenths % 10))
}

/// The same where a reader compares it with a limit in whole percent: a percentage below the limit is never rounded up to
/// it, but shown with one decimal and that rounded down.
///
/// # Examples
/// ```
/// use valvefolio::cohort::statistics::percent_text_below;
/// assert_eq!(percent_text_below(56, 59, 95).as_deref(), Some("94.9"));
/// assert_eq!(percent_text_below(57, 60, 95).as_deref(), Some("95"));
/// assert_eq!(percent_text_below(55, 59, 95).as_deref(), Some("93"));
/// ```
#[must_use]
pub fn percent_text_below(count: usize, of: usize, limit_pct: usize) -> Option<String> {
    let text = percent_text(count, of)?;
    let tenths_down = 1000 * count as u128 / of as u128;
    let reaches_it = text.split('.').next()?.parse::<usize>().ok()? >= limit_pct;
    if reaches_it && tenths_down < 10 * limit_pct as u128 {
        return Some(format!("{}.{}", tenths_down / 10, tenths_down % 10));
    }
    Some(text)
}

/// `count / of * scale` to the nearest integer, half up.
fn rounded(count: usize, of: usize, scale: u128) -> Option<u64> {
    if of == 0 || count > of {
        return None;
    }
    let (count, of) = (count as u128, of as u128);
    u64::try_from((2 * scale * count + of) / (2 * of)).ok()
}
