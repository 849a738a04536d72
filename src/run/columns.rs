//! The dictionary for people who fill a table.

use std::fmt::Write as _;

use super::{Outcome, RunError};
use crate::cli::ColumnsArgs;
use crate::dictionary::{self, Column, Described};
use crate::output::described::{TABLES, columns_of, measures};

/// The columns that a first page needs: who, the stenosis, the annulus, the device, the result.
pub const CORE: &[&str] = &[
    "case_id",
    "patient_label",
    "birth_date",
    "sex",
    "height_cm",
    "weight_kg",
    "site",
    "procedure_date",
    "discharge_date",
    "nyha_class",
    "baseline_vmax_m_s",
    "baseline_mean_gradient_mmhg",
    "baseline_av_vti_cm",
    "baseline_lvot_diameter_mm",
    "baseline_lvot_vti_cm",
    "baseline_lvef_pct",
    "valve_morphology",
    "annulus_area_mm2",
    "annulus_perimeter_mm",
    "access_route",
    "device_id",
    "device_serial",
    "post_echo_date",
    "post_vmax_m_s",
    "post_mean_gradient_mmhg",
    "post_av_vti_cm",
    "post_lvot_diameter_mm",
    "post_lvot_vti_cm",
    "post_paravalvular_grade",
    "post_transvalvular_grade",
    "antithrombotic_plan",
    "discharge_status",
    "last_contact_date",
];

/// The dictionary, or a template.
///
/// # Errors
/// Where `--of` names no table that a run writes.
pub fn columns(args: &ColumnsArgs) -> Result<Outcome, RunError> {
    if let Some(file) = &args.of {
        return written(file);
    }
    let table = args.table.name();
    let columns: Vec<&Column> = dictionary::columns_of(table)
        .filter(|column| !args.core || table != "cases" || CORE.contains(&column.name.as_str()))
        .collect();
    let output = if args.template {
        let names: Vec<&str> = columns.iter().map(|column| column.name.as_str()).collect();
        names.join(",") + "\n"
    } else {
        dictionary_text(&columns)
    };
    Ok(Outcome {
        output,
        ..Outcome::default()
    })
}

/// The columns of a table that a run writes; `all` for every table.
fn written(file: &str) -> Result<Outcome, RunError> {
    let asked = file.strip_suffix(".csv").unwrap_or(file);
    let tables: Vec<&str> = TABLES
        .into_iter()
        .filter(|table| asked == "all" || table.strip_suffix(".csv") == Some(asked))
        .collect();
    if tables.is_empty() {
        return Err(RunError::Asked(format!(
            "--of: report writes no table {file}; it writes {}",
            TABLES.join(", ")
        )));
    }
    let mut output = String::new();
    for table in &tables {
        if tables.len() > 1 {
            let _ = writeln!(output, "{table}");
        }
        output += &described(&columns_of(table).unwrap_or_default());
        if *table == "cohort.csv" {
            output += "\nMeasures:\n";
            output += &described(&measures().collect::<Vec<_>>());
        }
        if tables.len() > 1 {
            output.push('\n');
        }
    }
    Ok(Outcome {
        output,
        ..Outcome::default()
    })
}

/// A line a column: name, unit, meaning.
fn described(columns: &[Described]) -> String {
    let widest = |of: &dyn Fn(&Described) -> usize| columns.iter().map(of).max().unwrap_or(0);
    let name_width = widest(&|(name, ..)| name.chars().count());
    let unit_width = widest(&|(_, unit, _)| unit.chars().count());
    let mut text = String::new();
    for (name, unit, meaning) in columns {
        let line = format!("{name:<name_width$}  {unit:<unit_width$}  {meaning}");
        text += line.trim_end();
        text.push('\n');
    }
    text
}

fn dictionary_text(columns: &[&Column]) -> String {
    let width = columns
        .iter()
        .map(|column| column.name.len())
        .max()
        .unwrap_or(0);
    let mut text = String::new();
    for column in columns {
        let kind = match column.kind.as_str() {
            "choice" => column.words().collect::<Vec<_>>().join(" | "),
            "yes_no" => "yes | no".to_owned(),
            "date" => "date, YYYY-MM-DD".to_owned(),
            "number" | "integer" => format!("{}{}", column.kind, in_unit(&column.unit)),
            other => other.to_owned(),
        };
        let need = if column.required() { " (required)" } else { "" };
        let _ = writeln!(text, "{:<width$}  {}{need}", column.name, column.meaning);
        let _ = writeln!(text, "{:<width$}    {kind}{}", "", limits(column));
    }
    text
}

fn in_unit(unit: &str) -> String {
    if unit.is_empty() {
        String::new()
    } else {
        format!(" in {unit}")
    }
}

/// What is unusual and what is not believable, in words.
fn limits(column: &Column) -> String {
    let range = |low: Option<f64>, high: Option<f64>| match (low, high) {
        (Some(low), Some(high)) => Some(format!("{low} to {high}")),
        (Some(low), None) => Some(format!("{low} or more")),
        (None, Some(high)) => Some(format!("{high} or less")),
        (None, None) => None,
    };
    let mut text = String::new();
    if let Some(range) = range(column.flag_below, column.flag_above) {
        let _ = write!(text, "; usually {range}");
    }
    if let Some(range) = range(column.reject_below, column.reject_above) {
        let _ = write!(text, "; not used outside {range}");
    }
    text
}
