//! What a row of results rests on, as hashes of values: whether an input, a catalogue row, a setting or the definitions
//! are other than in an earlier run.

use std::borrow::Cow;
use std::marker::PhantomData;
use std::sync::LazyLock;

use xxhash_rust::xxh3::xxh3_64;

use crate::record::{
    CaseCells, CaseRecord, Catalogue, CellNotes, Cells, ColumnSet, Device, Look, Shown,
};
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

/// Stands before every hash: how it is made. Raised with what a hash is made of, so that none is held against one that was
/// made another way.
pub const HASHES: &str = "3-";
/// Between two values, and between lists of them: control characters that no cell keeps.
const NEXT: u8 = 0x1e;
const LIST: u8 = 0x1f;
/// Between two rows.
const ROW: u8 = b'\n';

impl Basis {
    /// The basis of a run with this catalogue and these settings.
    pub fn new(
        definitions_version: &'static str,
        catalogue: &Catalogue,
        settings: &Settings,
    ) -> Self {
        let mut rows = Vec::new();
        for device in catalogue.devices() {
            put_cells(&device.cells, &ColumnSet::default(), &mut rows);
            rows.push(ROW);
        }
        Self {
            definitions_version,
            catalogue_hash: hash(&rows),
            device_hashes: catalogue.devices().iter().map(device_row_hash).collect(),
            settings_hash: hash(settings_text(settings).as_bytes()),
        }
    }

    /// What the row of a case rests on beside the as-of date, in the order of [`BASIS`](crate::dictionary::BASIS).
    pub fn cells(&self, record: &CaseRecord, catalogue: &Catalogue) -> [Cow<'_, str>; 5] {
        let device_id = record.cells.device_id.as_deref();
        let device = device_id.and_then(|id| catalogue.position(id));
        [
            self.definitions_version.into(),
            input_hash(record).into(),
            device
                .map_or("", |position| &self.device_hashes[position])
                .into(),
            (&self.catalogue_hash).into(),
            (&self.settings_hash).into(),
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

/// The columns of the cases file that are [`NOT_READ`].
static NOT_READ_AT: LazyLock<ColumnSet> = LazyLock::new(|| {
    let positions = NOT_READ.into_iter().map(CaseCells::position);
    positions
        .map(|at| at.expect("a column of the dictionary"))
        .collect()
});

/// Of everything the files hold of a case but [`NOT_READ`], whichever file, line or order of columns it came from. Visits
/// count by date, those of one day in the order of the file, since the second of a day is left out.
pub fn input_hash(record: &CaseRecord) -> String {
    let mut visits: Vec<_> = record.visits.iter().collect();
    visits.sort_by_key(|visit| visit.date);
    // Most cases take less.
    let mut bytes = Vec::with_capacity(4096);
    put_cells(&*record.cells, &NOT_READ_AT, &mut bytes);
    put_notes(&record.notes, &mut bytes);
    for visit in visits {
        bytes.push(ROW);
        put_cells(&*visit.cells, &ColumnSet::default(), &mut bytes);
        put_notes(&visit.notes, &mut bytes);
    }
    hash(&bytes)
}

/// Of one row of the devices file.
pub fn device_row_hash(device: &Device) -> String {
    let mut bytes = Vec::new();
    put_cells(&device.cells, &ColumnSet::default(), &mut bytes);
    hash(&bytes)
}

/// XXH3 of 64 bits (xxHash specification, Y. Collet): made for every case, it tells what changed and guards nothing.
fn hash(bytes: &[u8]) -> String {
    format!("{HASHES}{:016x}", xxh3_64(bytes))
}

/// Every known cell but those left out: the code of its column and the value. A hash is made of every case,
/// so numbers stand as their bits and not as digits, and all but words and texts take the same room.
fn put_cells<C: Cells>(cells: &C, left_out: &ColumnSet, bytes: &mut Vec<u8>) {
    cells.each(&mut Put {
        left_out,
        bytes,
        row: PhantomData::<C>,
    });
}

/// See [`put_cells`].
struct Put<'b, C> {
    left_out: &'b ColumnSet,
    bytes: &'b mut Vec<u8>,
    row: PhantomData<C>,
}

impl<C: Cells> Look for Put<'_, C> {
    // The kind of each column is known where it stands.
    #[inline(always)]
    fn known(&mut self, position: usize, value: Shown<'_>) {
        if self.left_out.contains(position) {
            return;
        }
        let code = u64::from(C::FIELDS[position].code);
        let bits = match value {
            Shown::Number(number) => number.to_bits(),
            Shown::Integer(number) => number.cast_unsigned(),
            Shown::YesNo(yes) => u64::from(yes),
            Shown::Date(date) => {
                let [low, high] = date.year().to_le_bytes();
                let (month, day) = (date.month().cast_unsigned(), date.day().cast_unsigned());
                u64::from_le_bytes([low, high, month, day, 0, 0, 0, 0])
            }
            Shown::Word(text) | Shown::Text(text) => {
                self.bytes.extend_from_slice(&code.to_le_bytes());
                self.bytes.extend_from_slice(text.as_bytes());
                self.bytes.push(NEXT);
                return;
            }
        };
        let cell = u128::from(bits) << 64 | u128::from(code);
        self.bytes.extend_from_slice(&cell.to_le_bytes());
    }

    #[inline(always)]
    fn unknown(&mut self, _: usize) {}
}

/// Rejected and unusual cells: flags and missing columns rest on them. Their order is that of the file's columns, which
/// says nothing.
fn put_notes(notes: &CellNotes, bytes: &mut Vec<u8>) {
    for columns in [&notes.rejected, &notes.unusual] {
        bytes.push(LIST);
        let mut columns = columns.clone();
        columns.sort_unstable();
        for column in columns {
            bytes.extend_from_slice(column.as_bytes());
            bytes.push(NEXT);
        }
    }
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
    let next = char::from(NEXT).to_string();
    words.collect::<Vec<_>>().join(&next)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By xxhash 4.1.0 of PyPI, which wraps the reference library (xxHash 0.8.4).
    #[test]
    fn hashes_are_those_of_the_reference_library() {
        let long: Vec<u8> = (0..2000_u32)
            .map(|at| (at % 251).to_le_bytes()[0])
            .collect();
        for (bytes, digits) in [
            (&b""[..], "2d06800538d394c2"),
            (b"a", "e6c632b61e964e1f"),
            (&long, "8d38fc31dc9d9fab"),
        ] {
            assert_eq!(hash(bytes), format!("3-{digits}"));
        }
    }
}
