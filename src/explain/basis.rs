//! What a row of results rests on, as hashes of values: whether an input, a catalogue row, a setting or the definitions
//! are other than in an earlier run.

use sha2::{Digest as _, Sha256};

use crate::assess::Assessment;
use crate::record::{CaseRecord, Catalogue, CellNotes, Cells, Device, Shown};
use crate::settings::{BsaFormula, Settings};

/// What all rows of one run rest on.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Basis {
    definitions_version: &'static str,
    catalogue_hash: String,
    /// Of each row of the catalogue, in its order.
    device_hashes: Vec<String>,
    settings_hash: String,
}

/// Hexadecimal digits of a hash that are written: 64 bits.
const DIGITS: usize = 16;
/// Between two values, and between a name and its value: control characters that no cell keeps.
const NEXT: &str = "\u{1e}";
const IS: &str = "\u{1f}";

impl Basis {
    /// The basis of a run with this catalogue and these settings.
    pub fn new(
        definitions_version: &'static str,
        catalogue: &Catalogue,
        settings: &Settings,
    ) -> Self {
        let rows: Vec<String> = catalogue
            .devices()
            .iter()
            .map(|device| cells_text(&device.cells, &[]))
            .collect();
        Self {
            definitions_version,
            catalogue_hash: hash(&rows.join("\n")),
            device_hashes: catalogue.devices().iter().map(device_row_hash).collect(),
            settings_hash: hash(&settings_text(settings)),
        }
    }

    /// What the row of a case rests on, in the order of [`BASIS`](crate::dictionary::BASIS).
    pub fn cells(
        &self,
        record: &CaseRecord,
        assessment: &Assessment,
        catalogue: &Catalogue,
    ) -> [String; 6] {
        let device_id = record.cells.device_id.as_deref();
        let device = device_id.and_then(|id| catalogue.position(id));
        [
            assessment.known.as_of.to_string(),
            self.definitions_version.to_owned(),
            input_hash(record),
            device
                .map(|position| self.device_hashes[position].clone())
                .unwrap_or_default(),
            self.catalogue_hash.clone(),
            self.settings_hash.clone(),
        ]
    }
}

/// Columns of the cases file that no result reads: who, where and by whom, the booking, the signature.
pub const NOT_READ: [&str; 9] = [
    "patient_label",
    "site",
    "operator",
    "signed_by",
    "signed_on",
    "signed_hash",
    "next_booked_date",
    "follow_up_status",
    "follow_up_site",
];

/// Of everything the files hold of a case but [`NOT_READ`], whichever file, line or order of columns it came from. Visits
/// count by date, those of one day in the order of the file, since the second of a day is left out.
pub fn input_hash(record: &CaseRecord) -> String {
    let mut visits: Vec<_> = record.visits.iter().collect();
    visits.sort_by_key(|visit| visit.date);
    let mut text = cells_text(&record.cells, &NOT_READ) + &notes_text(&record.notes);
    for visit in visits {
        text += "\n";
        text += &cells_text(&visit.cells, &[]);
        text += &notes_text(&visit.notes);
    }
    hash(&text)
}

/// Of one row of the devices file.
pub fn device_row_hash(device: &Device) -> String {
    hash(&cells_text(&device.cells, &[]))
}

fn hash(text: &str) -> String {
    let digest = Sha256::digest(text.as_bytes());
    let hex = |half: u8| char::from_digit(u32::from(half), 16).unwrap_or('?');
    let halves = digest.iter().flat_map(|byte| [byte >> 4, byte & 0xf]);
    halves.take(DIGITS).map(hex).collect()
}

fn cells_text<C: Cells>(cells: &C, left_out: &[&str]) -> String {
    // Most rows take less.
    let mut text = String::with_capacity(4096);
    for field in C::FIELDS {
        let Some(value) = (field.get)(cells) else {
            continue;
        };
        if left_out.contains(&field.name) {
            continue;
        }
        text += field.name;
        text += IS;
        match value {
            Shown::YesNo(yes) => text += if yes { "true" } else { "false" },
            value => value.push_plain(&mut text),
        }
        text += NEXT;
    }
    text
}

/// Rejected and unusual cells: flags and missing columns rest on them. Their order is that of the file's columns, which
/// says nothing.
fn notes_text(notes: &CellNotes) -> String {
    let sorted = |columns: &[&'static str]| {
        let mut columns = columns.to_vec();
        columns.sort_unstable();
        columns.join(NEXT)
    };
    format!(
        "{IS}{}{IS}{}",
        sorted(&notes.rejected),
        sorted(&notes.unusual)
    )
}

fn settings_text(settings: &Settings) -> String {
    // Taken apart by name, so that a setting added later cannot be forgotten here.
    let Settings {
        bsa_formula,
        schedule,
        usual_errors,
        attention,
    } = settings;
    let formula = match bsa_formula {
        BsaFormula::DuBois => "du_bois",
        BsaFormula::Mosteller => "mosteller",
    };
    let crate::settings::Schedule {
        first_visit_day,
        first_visit_opens,
        first_visit_closes,
        anniversary_opens_before,
        anniversary_closes_after,
        lost_after,
    } = schedule;
    let crate::settings::UsualErrors {
        outflow_diameter_mm,
        peak_velocity_pct,
        mean_gradient_pct,
        annulus_area_pct,
        annulus_perimeter_pct,
    } = usual_errors;
    let crate::settings::Attention {
        root_injury_oversizing_pct,
        low_coronary_height_mm,
        low_coronary_sinus_mm,
        tight_access_ratio,
        wide_aorta_mm,
        area_mismatch_pct,
        low_regurgitation_index,
    } = attention;
    let days = [
        first_visit_day,
        first_visit_opens,
        first_visit_closes,
        anniversary_opens_before,
        anniversary_closes_after,
        lost_after,
    ];
    let numbers = [
        outflow_diameter_mm,
        peak_velocity_pct,
        mean_gradient_pct,
        annulus_area_pct,
        annulus_perimeter_pct,
        root_injury_oversizing_pct,
        low_coronary_height_mm,
        low_coronary_sinus_mm,
        tight_access_ratio,
        wide_aorta_mm,
        area_mismatch_pct,
        low_regurgitation_index,
    ];
    let words = std::iter::once(formula.to_owned())
        .chain(days.map(ToString::to_string))
        .chain(numbers.map(ToString::to_string));
    words.collect::<Vec<_>>().join(NEXT)
}
