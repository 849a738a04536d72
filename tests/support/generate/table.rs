//! Rows under a header, and their spelling as CSV.

use std::collections::HashMap;
use std::fmt::Display;
use std::sync::OnceLock;

use super::columns;
use super::random::Random;

/// Which of the three files a row belongs to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum File {
    /// The cases.
    Cases,
    /// The visits.
    Followups,
    /// The devices.
    Devices,
}

impl File {
    /// Its columns, in order.
    pub fn header(self) -> &'static [&'static str] {
        match self {
            Self::Cases => columns::CASES,
            Self::Followups => columns::FOLLOWUPS,
            Self::Devices => columns::DEVICES,
        }
    }

    /// Where a column stands.
    ///
    /// # Panics
    /// Where the file has no such column: a slip in the generator.
    fn position(self, column: &str) -> usize {
        static PLACES: OnceLock<[HashMap<&'static str, usize>; 3]> = OnceLock::new();
        let places = PLACES.get_or_init(|| {
            [Self::Cases, Self::Followups, Self::Devices].map(|file| {
                file.header()
                    .iter()
                    .enumerate()
                    .map(|(place, name)| (*name, place))
                    .collect()
            })
        });
        let found = places[self as usize].get(column);
        *found.unwrap_or_else(|| panic!("{self:?} has no column {column}"))
    }
}

/// One row; a cell that was not set is blank.
#[derive(Clone, Debug)]
pub struct Row {
    file: File,
    cells: Vec<String>,
}

impl Row {
    /// A blank row.
    pub fn new(file: File) -> Self {
        Self {
            file,
            cells: vec![String::new(); file.header().len()],
        }
    }

    /// Sets a cell.
    pub fn set(&mut self, column: &str, value: impl Display) {
        self.cells[self.file.position(column)] = value.to_string();
    }

    /// Sets a cell to a number with a fixed count of decimals.
    pub fn number(&mut self, column: &str, value: f64, decimals: usize) {
        self.set(column, format_args!("{value:.decimals$}"));
    }

    /// Sets a cell to yes or no.
    pub fn yes_no(&mut self, column: &str, value: bool) {
        self.set(column, if value { "yes" } else { "no" });
    }

    /// Blanks cells.
    pub fn clear(&mut self, columns: &[&str]) {
        for column in columns {
            self.set(column, "");
        }
    }

    /// What a cell holds; blank is the empty text.
    pub fn get(&self, column: &str) -> &str {
        &self.cells[self.file.position(column)]
    }

    /// A cell as a number.
    pub fn value(&self, column: &str) -> Option<f64> {
        self.get(column).parse().ok()
    }

    /// Blanks cells at random: about `share` of those that are filled and are not needed to read the row at all.
    pub fn punch_holes(&mut self, share: f64, random: &mut Random) {
        for (cell, column) in self.cells.iter_mut().zip(self.file.header()) {
            let weight = hole_weight(column);
            if !cell.is_empty() && random.chance((share * weight).min(0.95)) {
                cell.clear();
            }
        }
    }

    /// The row as one line of CSV, with its line end.
    pub fn line(&self) -> String {
        csv_line(self.cells.iter().map(String::as_str))
    }
}

/// The header as one line of CSV.
pub fn header_line(file: File) -> String {
    csv_line(file.header().iter().copied())
}

/// Joins cells by commas, quoting where the format asks for it (RFC 4180; the line end is LF).
fn csv_line<'a>(cells: impl Iterator<Item = &'a str>) -> String {
    let quoted: Vec<String> = cells
        .map(|cell| {
            if cell.contains([',', '"', '\n', '\r']) {
                format!("\"{}\"", cell.replace('"', "\"\""))
            } else {
                cell.to_owned()
            }
        })
        .collect();
    quoted.join(",") + "\n"
}

/// How often a column is blank in real tables, relative to the others (a guess of this project, no source): what is
/// measured only sometimes is missing more often, what keeps the table together never.
fn hole_weight(column: &str) -> f64 {
    match column {
        "case_id" | "patient_key" | "patient_label" | "birth_date" | "age_years"
        | "procedure_date" | "visit_date" | "death_date" | "procedural_death"
        | "discharge_status" | "attendance" => 0.0,
        "kccq_baseline"
        | "kccq"
        | "clinical_frailty_scale"
        | "calcium_score_au"
        | "e_over_e_prime"
        | "membranous_septum_mm"
        | "frame_measured_mm"
        | "cardiac_output_l_min"
        | "systolic_ejection_period_s"
        | "aortic_sbp_before_mmhg"
        | "lvedp_before_mmhg"
        | "sts_prom_pct"
        | "post_rvsp_mmhg"
        | "rvsp_mmhg"
        | "rhythm_monitor"
        | "lvot_area_mm2"
        | "follow_up_site"
        | "medication" => 2.5,
        _ => 0.75,
    }
}
