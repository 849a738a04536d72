//! Units as sites write them, and how a number in one is a number in another.

use std::cmp::Ordering;

use super::number::{DecimalMark, number};

/// What a number in one unit is multiplied with to be in another.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Factor {
    /// A power of ten: the decimal mark moves, no digit changes.
    TenTo(i32),
    /// Any other factor.
    Times(f64),
}

/// A way from a unit that people use to the unit of a column.
#[derive(Debug, PartialEq)]
pub(super) struct Conversion {
    /// The unit written.
    pub from: &'static str,
    /// The column's unit, as the dictionary writes it.
    pub to: &'static str,
    /// The factor.
    pub factor: Factor,
    /// Only for columns whose name holds one of these; for every column of the unit where empty.
    only: &'static [&'static str],
    /// Whether values in `from` are found in a column meant for `to` by slip; the others are for the site file.
    slip: bool,
}

const fn ten(from: &'static str, to: &'static str, power: i32) -> Conversion {
    Conversion {
        from,
        to,
        factor: Factor::TenTo(power),
        only: &[],
        slip: true,
    }
}

const fn times(
    from: &'static str,
    to: &'static str,
    factor: f64,
    only: &'static [&'static str],
) -> Conversion {
    Conversion {
        from,
        to,
        factor: Factor::Times(factor),
        only,
        slip: true,
    }
}

/// Every conversion. Factors that are no power of ten: inch and pound are exact (international yard and pound
/// agreement, 1959); creatinine 88.4 is that of columns and results (CLINICAL.md A); haemoglobin 16 114 g/mol of the
/// monomer (ICSH convention, from memory); 1 mmHg = 133.322 Pa (NIST SP 811, B.8); French gauge is a third of a millimetre.
pub(super) static CONVERSIONS: &[Conversion] = &[
    ten("cm2", "mm2", 2),
    ten("mm2", "cm2", -2),
    ten("cm", "mm", 1),
    Conversion {
        slip: false,
        ..ten("m", "mm", 3)
    },
    times("Fr", "mm", 1.0 / 3.0, &["sheath", "lumen"]),
    ten("m", "cm", 2),
    ten("mm", "cm", -1),
    times("in", "cm", 2.54, &["height"]),
    times("lb", "kg", 0.453_592_37, &[]),
    ten("g", "kg", -3),
    times("mg/dL", "umol/L", 88.4, &["creatinine"]),
    ten("mmol/L", "umol/L", 3),
    ten("g/L", "g/dL", -1),
    times("mmol/L", "g/dL", 1.6114, &["haemoglobin"]),
    ten("cm/s", "m/s", -2),
    times("kPa", "mmHg", 1000.0 / 133.322, &[]),
    ten("fraction", "%", 2),
    ten("s", "ms", 3),
    ten("ms", "s", -3),
    ten("mL/min", "L/min", -3),
    ten("L", "mL", 3),
    times("s", "min", 1.0 / 60.0, &[]),
    ten("cGy.cm2", "Gy.cm2", -2),
    ten("mGy.cm2", "Gy.cm2", -3),
    Conversion {
        slip: false,
        ..ten("uGy.m2", "Gy.cm2", -2)
    },
];

impl Conversion {
    /// Whether this is a way to the unit of that column.
    fn leads_to(&self, column: &str, unit: &str) -> bool {
        let to_unit = unit == self.to || unit.split(" or ").any(|unit| unit == self.to);
        to_unit && (self.only.is_empty() || self.only.iter().any(|part| column.contains(part)))
    }

    /// The number written here in `from`, in `to`; the digits themselves where only the mark moves.
    pub fn read(&self, text: &str, mark: DecimalMark) -> Option<f64> {
        match self.factor {
            Factor::TenTo(power) => number(text, mark, power),
            Factor::Times(factor) => number(text, mark, 0)
                .map(|value| value * factor)
                .filter(|value| value.is_finite()),
        }
    }
}

/// Every conversion to the unit of this column.
pub(super) fn conversions_to(
    column: &str,
    unit: &str,
) -> impl Iterator<Item = &'static Conversion> {
    CONVERSIONS
        .iter()
        .filter(move |conversion| conversion.leads_to(column, unit))
}

/// Every conversion to the unit of this column that is worth a thought when a value is out of its limits.
pub(super) fn slips_to(column: &str, unit: &str) -> impl Iterator<Item = &'static Conversion> {
    conversions_to(column, unit).filter(|conversion| conversion.slip)
}

/// Whether two units are the same one as people write them: `cm²` is cm2, `µmol/l` is umol/L.
pub(super) fn same_unit(one: &str, other: &str) -> bool {
    plain_unit(one).eq_ignore_ascii_case(&plain_unit(other))
}

fn plain_unit(unit: &str) -> String {
    unit.trim()
        .chars()
        .filter(|character| !character.is_whitespace() && *character != '^')
        .map(|character| match character {
            '²' => '2',
            '³' => '3',
            'µ' | 'μ' => 'u',
            '·' | '*' | '×' | '⋅' => '.',
            other => other,
        })
        .collect()
}

/// How a value lies to a limit: within a relative 1e-9 it is equal to it.
pub(super) fn compare(value: f64, limit: f64) -> Ordering {
    if (value - limit).abs() <= 1e-9 * limit.abs() {
        Ordering::Equal
    } else {
        value.partial_cmp(&limit).unwrap_or(Ordering::Equal)
    }
}

/// A number for a message: at most four digits that mean something, no zeros behind them.
pub(super) fn for_message(value: f64) -> String {
    let size = value.abs();
    let decimals = match size {
        _ if size >= 1000.0 || size == 0.0 => 0,
        _ if size >= 100.0 => 1,
        _ if size >= 10.0 => 2,
        _ => 3,
    };
    let text = format!("{value:.decimals$}");
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::dictionary::COLUMNS;

    fn convert(column: &str, from: &str, text: &str) -> f64 {
        let unit = &COLUMNS.iter().find(|c| c.name == column).unwrap().unit;
        conversions_to(column, unit)
            .find(|conversion| same_unit(conversion.from, from))
            .unwrap()
            .read(text, DecimalMark::Point)
            .unwrap()
    }

    #[test]
    fn powers_of_ten_move_the_mark_only() {
        // 4.35 * 100 is 434.99999999999994 in binary arithmetic; the number that "435" is must come out.
        assert_eq!(convert("annulus_area_mm2", "cm²", "4.35"), 435.0);
        assert_eq!(convert("annulus_area_mm2", "cm2", "4.85"), 485.0);
        assert_eq!(convert("baseline_ava_cm2", "mm2", "70"), 0.7);
        assert_eq!(convert("baseline_lvef_pct", "fraction", "0.57"), 57.0);
    }

    #[test]
    fn other_factors() {
        // 72 inches are 182.88 cm, 150 lb are 68.0388555 kg: exact by definition.
        assert!((convert("height_cm", "in", "72") - 182.88).abs() < 1e-9);
        assert!((convert("weight_kg", "lb", "150") - 68.038_855_5).abs() < 1e-9);
        // 120 mmHg are 15.9987 kPa (NIST SP 811, B.8).
        assert!((convert("baseline_sbp_mmhg", "kPa", "15.9987") - 120.0).abs() < 1e-3);
        // 1 mg/dL of creatinine is 88.4 umol/L, and no other substance has that factor.
        assert_eq!(convert("creatinine_umol_l", "mg/dL", "1"), 88.4);
        // An 18 French sheath is 6 mm.
        assert_eq!(convert("sheath_outer_mm", "Fr", "18"), 6.0);
    }

    #[test]
    fn units_as_people_write_them() {
        assert!(same_unit("µmol/l", "umol/L"));
        assert!(same_unit("Gy·cm²", "Gy.cm2"));
        assert!(!same_unit("mm", "mm2"));
    }

    #[test]
    fn every_conversion_leads_to_a_column() {
        for conversion in CONVERSIONS {
            assert!(
                COLUMNS
                    .iter()
                    .any(|column| conversion.leads_to(&column.name, &column.unit)),
                "{conversion:?}"
            );
        }
    }

    #[test]
    fn numbers_in_messages() {
        for (value, text) in [
            (172.0, "172"),
            (97.24, "97.24"),
            (0.85, "0.85"),
            (0.0, "0"),
            (-3.0, "-3"),
            (1100.0, "1100"),
        ] {
            assert_eq!(for_message(value), text);
        }
    }
}
