//! A unit is a way of writing: the same cohort in other units, with another decimal mark and other dates, has the same results.

#[path = "../support/generate/mod.rs"]
mod generate;

use proptest::prelude::*;
use valvefolio::dictionary;
use valvefolio::explain::Identity;
use valvefolio::input::site::Site;
use valvefolio::input::{Source, read};
use valvefolio::output::results;
use valvefolio::run::assess_all;

use self::generate::Settings;
use self::generate::day::Day;

/// Units of the dictionary, and others in which the same quantity differs by a power of ten alone: a number in the
/// other unit is the number times ten to the power given (SI prefixes, BIPM SI Brochure, table 7; mmol and umol, g and kg
/// likewise; 1 dL is 0.1 L; 1 uGy.m2 is 0.01 Gy.cm2; a fraction is a hundredth of its per cents).
const OTHER_UNITS: &[(&str, &[(&str, i32)])] = &[
    ("mm", &[("cm", -1), ("m", -3)]),
    ("cm", &[("mm", 1), ("m", -2)]),
    ("mm2", &[("cm2", -2)]),
    ("cm2", &[("mm2", 2)]),
    ("kg", &[("g", 3)]),
    ("umol/L", &[("mmol/L", -3)]),
    ("g/dL", &[("g/L", 1)]),
    ("m/s", &[("cm/s", 2)]),
    ("%", &[("fraction", -2)]),
    ("ms", &[("s", -3)]),
    ("s", &[("ms", 3)]),
    ("L/min", &[("mL/min", 3)]),
    ("mL", &[("L", -3)]),
    ("Gy.cm2", &[("cGy.cm2", 2), ("mGy.cm2", 3), ("uGy.m2", 2)]),
];

/// Units whose factor is no power of ten: what the number is divided by. Inch and pound are exact (international yard and
/// pound agreement, 1959); creatinine has 113.12 g/mol, so 88.4 umol/L a mg/dL, the monomer of haemoglobin 16 114 g/mol
/// (both from memory); 1 mmHg is 133.322 Pa (NIST SP 811, B.8); 3 Fr are a millimetre.
const FACTORS: &[(&str, &str, f64)] = &[
    ("height_cm", "in", 2.54),
    ("weight_kg", "lb", 0.453_592_37),
    ("creatinine_umol_l", "mg/dL", 88.4),
    ("creatinine_peak_umol_l", "mg/dL", 88.4),
    ("haemoglobin_g_dl", "mmol/L", 1.6114),
    ("baseline_sbp_mmhg", "kPa", 1000.0 / 133.322),
    ("aortic_sbp_after_mmhg", "kPa", 1000.0 / 133.322),
    ("aortic_dbp_after_mmhg", "kPa", 1000.0 / 133.322),
    ("lvedp_after_mmhg", "kPa", 1000.0 / 133.322),
    ("baseline_mean_gradient_mmhg", "kPa", 1000.0 / 133.322),
    ("access_min_lumen_mm", "Fr", 1.0 / 3.0),
    ("fluoroscopy_min", "s", 1.0 / 60.0),
];

/// The number with its decimal point moved to the right (to the left where negative), as a child would.
fn moved(text: &str, places: i32) -> String {
    let (sign, digits) = text
        .strip_prefix('-')
        .map_or(("", text), |rest| ("-", rest));
    let (whole, decimals) = digits.split_once('.').unwrap_or((digits, ""));
    let steps = places.unsigned_abs() as usize;
    let (whole, decimals) = if places >= 0 {
        let padded = format!("{decimals:0<steps$}");
        let (over, rest) = padded.split_at(steps);
        (format!("{whole}{over}"), rest.to_owned())
    } else {
        let padded = format!("{whole:0>width$}", width = steps + 1);
        let (rest, over) = padded.split_at(padded.len() - steps);
        (rest.to_owned(), format!("{over}{decimals}"))
    };
    if decimals.is_empty() {
        format!("{sign}{whole}")
    } else {
        format!("{sign}{whole}.{decimals}")
    }
}

#[test]
fn a_point_is_moved_as_on_paper() {
    for (text, places, expected) in [
        ("4.85", 2, "485"),
        ("485", -2, "4.85"),
        ("7", -3, "0.007"),
        ("-1.5", -3, "-0.0015"),
        ("12.5", 1, "125"),
        ("3", 2, "300"),
    ] {
        assert_eq!(moved(text, places), expected, "{text}");
    }
}

/// How the second writing differs from the first.
#[derive(Clone, Debug)]
struct Writing {
    /// Chooses a unit column by column.
    units: u64,
    comma: bool,
    dates: Option<&'static str>,
}

/// A file in its second writing, and what the site file must say of its headers.
fn rewritten(table: &str, text: &str, writing: &Writing) -> (String, String) {
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let columns: Vec<_> = reader
        .headers()
        .unwrap()
        .iter()
        .map(|name| dictionary::column(table, name).unwrap())
        .collect();
    let mut site = format!("[headers.{table}]\n");
    let mut powers = Vec::new();
    let mut chooser = writing.units;
    for column in &columns {
        chooser = chooser
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        let others = OTHER_UNITS
            .iter()
            .find(|(unit, _)| *unit == column.unit && column.kind == "number");
        let others = others.map_or(&[][..], |(_, others)| others);
        let choice = usize::try_from(chooser >> 40).unwrap() % (others.len() + 1);
        let chosen = choice.checked_sub(1).map(|at| others[at]);
        let header = format!("Own {}", column.name);
        site += &match chosen {
            Some((unit, _)) => format!(
                "{header:?} = {{ column = {:?}, unit = {unit:?} }}\n",
                column.name
            ),
            None => format!("{header:?} = {:?}\n", column.name),
        };
        powers.push((header, chosen.map_or(0, |(_, power)| power)));
    }
    let mut writer = csv::WriterBuilder::new()
        .delimiter(b';')
        .from_writer(Vec::new());
    writer
        .write_record(powers.iter().map(|(header, _)| header))
        .unwrap();
    for row in reader.records() {
        let row = row.unwrap();
        let cells = row
            .iter()
            .zip(&columns)
            .zip(&powers)
            .map(|((cell, column), (_, power))| match column.kind.as_str() {
                _ if cell.is_empty() => String::new(),
                "number" => {
                    let number = moved(cell, *power);
                    if writing.comma {
                        number.replace('.', ",")
                    } else {
                        number
                    }
                }
                "date" => match (writing.dates, &cell.split('-').collect::<Vec<_>>()[..]) {
                    (Some(format), [year, month, day]) => format
                        .replace("YYYY", year)
                        .replace("MM", month)
                        .replace("DD", day),
                    _ => cell.to_owned(),
                },
                _ => cell.to_owned(),
            });
        writer.write_record(cells).unwrap();
    }
    (
        String::from_utf8(writer.into_inner().unwrap()).unwrap(),
        site,
    )
}

/// results.csv of three files.
fn results_of(files: [&str; 3], site: &str, as_of: jiff::civil::Date) -> String {
    let site =
        Site::read(&Source::new("site.toml", site)).unwrap_or_else(|error| panic!("{error}"));
    let [cases, visits, devices] = files.map(|text| Source::new("file.csv", text));
    let inputs = read(
        &[cases],
        Some(&visits),
        Some(&devices),
        &site.read_options(None),
    )
    .unwrap();
    let work = assess_all(inputs, site.settings, as_of);
    assert!(!work.cases.is_empty());
    work.all_assessed()
        .iter()
        .map(|(record, assessment)| results::row(record, assessment, Identity::Named))
        .collect()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn prop_a_unit_changes_no_result(
        seed in any::<u64>(),
        units in any::<u64>(),
        comma in any::<bool>(),
        dates in prop::sample::select(&[None, Some("DD.MM.YYYY"), Some("MM/DD/YYYY"), Some("YYYYMMDD")][..]),
    ) {
        let settings = Settings { cases: 25, seed, holes: 0.08, until: Day::of(2026, 9, 30) };
        let folder = tempfile::tempdir().unwrap();
        generate::files::write(&settings, folder.path()).unwrap();
        let [cases, visits, devices] = ["cases", "followups", "devices"]
            .map(|name| std::fs::read_to_string(folder.path().join(format!("{name}.csv"))).unwrap());
        let as_of: jiff::civil::Date = settings.data_to().to_string().parse().unwrap();
        let plain = results_of([&cases, &visits, &devices], "", as_of);

        let writing = Writing { units, comma, dates };
        let mut site = String::from("[reading]\n");
        site += if comma { "decimal_mark = \",\"\n" } else { "decimal_mark = \".\"\n" };
        site += &dates.map_or_else(String::new, |format| format!("date_format = {format:?}\n"));
        let mut second = Vec::new();
        for (table, text) in [("cases", &cases), ("followups", &visits), ("devices", &devices)] {
            let (text, headers) = rewritten(table, text, &writing);
            site += &headers;
            second.push(text);
        }
        prop_assert_eq!(site.contains("unit = "), true);
        let other = results_of([&second[0], &second[1], &second[2]], &site, as_of);
        let differing = plain.lines().zip(other.lines()).find(|(one, other)| one != other);
        prop_assert!(differing.is_none(), "{differing:?}");
        prop_assert_eq!(plain.lines().count(), other.lines().count());
    }
}

/// The cases with the columns of [`FACTORS`] in the other unit, as many digits as a number has, and the site file for it.
fn in_other_units(text: &str) -> (String, String) {
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let header = reader.headers().unwrap().clone();
    let mut site = String::from("[headers.cases]\n");
    let mut writer = csv::Writer::from_writer(Vec::new());
    let factor = |name: &str| FACTORS.iter().find(|(column, ..)| *column == name);
    let own = |name: &str| match factor(name) {
        Some(_) => format!("Own {name}"),
        None => name.to_owned(),
    };
    writer.write_record(header.iter().map(own)).unwrap();
    for (column, unit, _) in FACTORS {
        site += &format!("\"Own {column}\" = {{ column = {column:?}, unit = {unit:?} }}\n");
    }
    for row in reader.records() {
        let row = row.unwrap();
        let cells = header.iter().zip(&row).map(|(name, cell)| {
            match factor(name).zip(cell.parse::<f64>().ok()) {
                Some(((_, _, factor), value)) => (value / factor).to_string(),
                None => cell.to_owned(),
            }
        });
        writer.write_record(cells).unwrap();
    }
    let text = String::from_utf8(writer.into_inner().unwrap()).unwrap();
    (text, site)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(12))]

    /// A factor rounds in the last bit, so numbers agree to 1e-12 of their size; every other cell is the same, since a
    /// value within 1e-9 of a threshold is on it.
    #[test]
    fn prop_a_unit_with_a_factor_changes_no_class_and_no_number(seed in any::<u64>()) {
        let settings = Settings { cases: 40, seed, holes: 0.05, until: Day::of(2026, 9, 30) };
        let folder = tempfile::tempdir().unwrap();
        generate::files::write(&settings, folder.path()).unwrap();
        let [cases, visits, devices] = ["cases", "followups", "devices"]
            .map(|name| std::fs::read_to_string(folder.path().join(format!("{name}.csv"))).unwrap());
        let as_of: jiff::civil::Date = settings.data_to().to_string().parse().unwrap();
        let plain = results_of([&cases, &visits, &devices], "", as_of);
        let (cases, site) = in_other_units(&cases);
        let other = results_of([&cases, &visits, &devices], &site, as_of);
        prop_assert_eq!(plain.lines().count(), other.lines().count());
        let mut numbers = 0;
        for (one, other) in plain.lines().zip(other.lines()) {
            prop_assert_eq!(one.split(',').count(), other.split(',').count());
            for (one, other) in one.split(',').zip(other.split(',')) {
                if one == other {
                    continue;
                }
                let (Ok(one), Ok(other)) = (one.parse::<f64>(), other.parse::<f64>()) else {
                    prop_assert!(false, "{one:?} is {other:?} in other units");
                    continue;
                };
                numbers += 1;
                prop_assert!((one - other).abs() <= 1e-12 * one.abs().max(1.0), "{one} and {other}");
            }
        }
        prop_assert!(numbers > 0, "some number is rounded");
    }
}
