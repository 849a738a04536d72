//! The unit of a header: what stands in it, and what its values can only be.

use std::sync::LazyLock;

use super::export::Field;
use crate::dictionary::COLUMNS;
use crate::input::number::{DecimalMark, number};
use crate::input::spec::Spec;
use crate::input::units::{CONVERSIONS, Conversion, conversions_to, same_unit, slips_to};

/// A header without its unit, and the unit as it is written there.
pub(super) struct Split {
    /// What is left of the header.
    pub name: String,
    /// The unit, in the spelling of the dictionary.
    pub unit: Option<&'static str>,
}

/// Units that a header can end with outside brackets; a single letter is none, and `min` is a minimum there.
const BARE: &[(&str, &str)] = &[
    ("mm2", "mm2"),
    ("cm2", "cm2"),
    ("mm²", "mm2"),
    ("cm²", "cm2"),
    ("mm", "mm"),
    ("cm", "cm"),
    ("kg", "kg"),
    ("mmhg", "mmHg"),
    ("kpa", "kPa"),
    ("ml", "mL"),
    ("ms", "ms"),
    ("pct", "%"),
    ("percent", "%"),
    ("%", "%"),
    ("bpm", "1/min"),
    ("umol l", "umol/L"),
    ("mg dl", "mg/dL"),
    ("mmol l", "mmol/L"),
    ("g dl", "g/dL"),
    ("g l", "g/L"),
    ("m s", "m/s"),
    ("cm s", "cm/s"),
    ("l min", "L/min"),
    ("ml m2", "mL/m2"),
    ("gy cm2", "Gy.cm2"),
    ("cgy cm2", "cGy.cm2"),
    ("mgy cm2", "mGy.cm2"),
    ("ugy m2", "uGy.m2"),
    ("deg", "deg"),
    ("years", "years"),
    ("au", "AU"),
    ("jahre", "years"),
    ("yrs", "years"),
];

/// Other spellings of a unit between brackets.
const OTHER_SPELLINGS: &[(&str, &str)] = &[
    ("Jahre", "years"),
    ("ans", "years"),
    ("años", "years"),
    ("yrs", "years"),
    ("Grad", "deg"),
    ("°", "deg"),
    ("degrees", "deg"),
    ("bpm", "1/min"),
    ("/min", "1/min"),
    ("Schläge/min", "1/min"),
    ("Prozent", "%"),
    ("pct", "%"),
    ("Punkte", "points"),
    ("sec", "s"),
    ("sek", "s"),
    ("HU", "AU"),
    ("Anteil", "fraction"),
    ("inch", "in"),
    ("lbs", "lb"),
    ("French", "Fr"),
    ("F", "Fr"),
];

static UNITS: LazyLock<Vec<&'static str>> = LazyLock::new(|| {
    let of_columns = COLUMNS.iter().flat_map(|column| column.unit.split(" or "));
    let mut units: Vec<&'static str> = of_columns
        .chain(CONVERSIONS.iter().map(|conversion| conversion.from))
        .filter(|unit| !unit.is_empty())
        .collect();
    units.sort_unstable();
    units.dedup();
    units
});

fn unit_named(text: &str) -> Option<&'static str> {
    let text = text.trim();
    // Letter case decides between two units only where both are known.
    UNITS
        .iter()
        .find(|unit| **unit == text)
        .or_else(|| UNITS.iter().find(|unit| same_unit(unit, text)))
        .copied()
        .or_else(|| {
            let other = OTHER_SPELLINGS
                .iter()
                .find(|(spelling, _)| spelling.eq_ignore_ascii_case(text));
            other.map(|(_, unit)| *unit)
        })
}

/// Splits the unit off a header: between brackets, behind `in`, or at its end.
pub(super) fn split(header: &str) -> Split {
    for (open, close) in [('(', ')'), ('[', ']'), ('{', '}')] {
        let Some(start) = header.rfind(open) else {
            continue;
        };
        let Some(length) = header[start..].find(close) else {
            continue;
        };
        if let Some(unit) = unit_named(&header[start + 1..start + length]) {
            let name = format!("{} {}", &header[..start], &header[start + length + 1..]);
            return Split {
                name,
                unit: Some(unit),
            };
        }
    }
    if let Some((name, unit)) = header
        .rsplit_once(" in ")
        .or_else(|| header.rsplit_once(", "))
        && let Some(unit) = unit_named(unit)
    {
        return Split {
            name: name.to_owned(),
            unit: Some(unit),
        };
    }
    let spaced: String = header
        .chars()
        .map(|character| {
            if "_/.-".contains(character) {
                ' '
            } else {
                character
            }
        })
        .collect();
    let lower = spaced.to_lowercase();
    let mut bare: Vec<_> = BARE.iter().collect();
    bare.sort_by_key(|(written, _)| std::cmp::Reverse(written.len()));
    for (written, unit) in bare {
        if let Some(rest) = lower.strip_suffix(written)
            && (rest.ends_with(' ') || *written == "%")
            && !rest.trim().is_empty()
            && rest.len() <= header.len()
            && header.is_char_boundary(rest.len())
        {
            return Split {
                name: header[..rest.len()].to_owned(),
                unit: Some(unit),
            };
        }
    }
    Split {
        name: header.to_owned(),
        unit: None,
    }
}

/// What is to be written of a unit.
pub(super) enum Unit {
    /// Nothing: the column has none, or the header names the column's own.
    Own,
    /// Nothing: no unit is in the header, and so many of so many values are usual in the column's own.
    OwnByValues(usize, usize),
    /// This unit is in the header.
    InHeader(&'static Conversion),
    /// No unit is in the header, and all values can be usual in this unit alone: so many.
    ByValues(&'static Conversion, usize),
    /// Nothing can be said: why.
    Open(String),
    /// The header's unit is none of this column.
    Wrong,
}

/// Fewest values that a unit is told by.
const FEWEST: usize = 5;

/// The unit of a number column under this header.
pub(super) fn unit_of(
    unit: Option<&'static str>,
    spec: &Spec,
    field: &Field,
    mark: DecimalMark,
) -> Unit {
    let column = spec.column;
    let own = column.unit.as_str();
    let usual = |conversion: Option<&Conversion>| {
        field.share(|cell| {
            let value =
                conversion.map_or_else(|| number(cell, mark, 0), |way| way.read(cell, mark));
            value.is_some_and(|value| is_usual(spec, value))
        })
    };
    let most = |(yes, all): (usize, usize)| all > 0 && yes * 10 >= all * 9;
    let few = |(yes, all): (usize, usize)| yes * 20 <= all;
    if let Some(unit) = unit {
        let is_own = own.split(" or ").any(|own| same_unit(own, unit));
        let way = conversions_to(&column.name, own).find(|way| same_unit(way.from, unit));
        return match (is_own, way) {
            (true, _) if few(usual(None)) && usual(None).1 >= FEWEST => Unit::Open(format!(
                "the header says {unit}, and hardly a value is usual in {unit}"
            )),
            (true, _) => Unit::Own,
            (false, Some(way)) if few(usual(Some(way))) && usual(None).1 >= FEWEST => Unit::Open(
                format!("the header says {unit}, and hardly a value is usual in {unit}"),
            ),
            (false, Some(way)) => Unit::InHeader(way),
            (false, None) => Unit::Wrong,
        };
    }
    if own.is_empty() || usual(None).1 == 0 {
        return Unit::Own;
    }
    let ways: Vec<&'static Conversion> = slips_to(&column.name, own)
        .filter(|way| most(usual(Some(way))))
        .collect();
    let in_own = usual(None);
    match ways[..] {
        [] if few(in_own) => Unit::Open(format!(
            "no unit in the header, and {} of {} values are usual in {own}",
            in_own.0, in_own.1
        )),
        [] => Unit::OwnByValues(in_own.0, in_own.1),
        [way] if few(in_own) && in_own.1 >= FEWEST => Unit::ByValues(way, in_own.1),
        [..] => {
            let mut names: Vec<&str> = ways.iter().map(|way| way.from).collect();
            if !few(in_own) {
                names.insert(0, own);
            }
            Unit::Open(format!(
                "no unit in the header, and the {} values could be {}",
                in_own.1,
                names.join(" or ")
            ))
        }
    }
}

fn is_usual(spec: &Spec, value: f64) -> bool {
    let column = spec.column;
    let low = column.flag_below.or(column.reject_below);
    let high = column.flag_above.or(column.reject_above);
    low.is_none_or(|low| value >= low) && high.is_none_or(|high| value <= high)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn units_in_headers() {
        for (header, name, unit) in [
            ("Annulusfläche (cm²)", "Annulusfläche", Some("cm2")),
            ("annulus_area_mm2", "annulus_area_", Some("mm2")),
            ("LVEF %", "LVEF", Some("%")),
            ("Kreatinin [µmol/l]", "Kreatinin", Some("umol/L")),
            ("Height in cm", "Height", Some("cm")),
            ("creatinine_umol_l", "creatinine_", Some("umol/L")),
            ("Herzfrequenz (/min)", "Herzfrequenz", Some("1/min")),
            ("Annulus min", "Annulus min", None),
            ("Grad (baseline)", "Grad (baseline)", None),
            ("Rhythmus", "Rhythmus", None),
        ] {
            let split = split(header);
            assert_eq!((split.name.trim(), split.unit), (name, unit), "{header}");
        }
    }
}
