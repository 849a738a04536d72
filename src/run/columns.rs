//! The dictionary for people who fill a table.

use std::fmt::Write as _;

use super::Outcome;
use crate::cli::ColumnsArgs;
use crate::dictionary::{self, Column};

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
pub fn columns(args: &ColumnsArgs) -> Outcome {
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
    Outcome {
        output,
        ..Outcome::default()
    }
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
