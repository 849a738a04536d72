//! The site file: what a centre sets once. TOML; every key is optional, and an unknown one is a fault.
//!
//! ```toml
//! [centre]                        # what pages show of the centre
//! name = "…"
//! address = ["…", "…"]            # at most four lines
//! contact = ["…"]                 # whom patients and clinics call; at most four lines
//!
//! [page]
//! paper = "A4"                    # or "Letter"
//!
//! [formulas]
//! bsa = "du_bois"                 # or "mosteller"
//!
//! [reading]                       # how the centre's own exports are written
//! date_format = "DD.MM.YYYY"      # besides YYYY-MM-DD, which is always read
//! decimal_mark = ","
//! encoding = "windows-1252"       # for files without a byte order mark; --encoding goes before it
//! blank_words = ["k. A.", "NULL"]
//!
//! [reading.followups]             # also reading.cases, reading.devices: where a table comes from another system
//! date_format = "MM/DD/YYYY"      # and decimal_mark, encoding; what is not here is as above
//!
//! [headers.cases]                 # also headers.followups, headers.devices
//! "Case no." = "case_id"
//! "Annulus area (cm²)" = { column = "annulus_area_mm2", unit = "cm2" }
//! "Mitral reg." = { column = "baseline_mr_grade", words = { "1+" = "mild", "3+" = "moderate" } }
//!
//! [words]                         # in every column that has the word on the right
//! "j" = "yes"
//!
//! [visits]                        # days from the procedure
//! first = { day = 30, from = 23, to = 75 }
//! annual = { days_before = 60, days_after = 60 }
//! lost_after_days = 425
//!
//! [measurement_errors]            # how far a usual repeat may lie away, for fragile classes
//! lvot_diameter_mm = 1
//! vmax_pct = 3
//! mean_gradient_pct = 5
//! annulus_area_pct = 3
//! annulus_perimeter_pct = 1.5
//!
//! [attention]                     # where a page draws attention
//! root_injury_oversizing_pct = 20
//! low_coronary_height_mm = 12
//! low_coronary_sinus_mm = 30
//! tight_access_ratio = 1.05
//! wide_aorta_mm = 45
//! area_mismatch_pct = 15
//! low_regurgitation_index = 25
//!
//! [cohort]
//! mask_counts_below = 5           # with --deidentify
//! ```

mod fault;
mod keys;
mod reading;
mod settings;

use std::sync::Arc;

use encoding_rs::Encoding;
use toml::de::DeTable;

pub use fault::{SiteError, SiteFault};

use self::fault::Faults;
use self::keys::Keys;
use super::ReadOptions;
use super::dialect::Dialect;
use super::source::Source;
use crate::draw::Paper;
use crate::settings::{Attention, BsaFormula, Centre, Masking, Schedule, Settings, UsualErrors};

/// What a centre sets once. The default is what DEFINITIONS.md says, with no centre named.
#[derive(Clone, Debug, Default)]
pub struct Site {
    /// What pages show of the centre.
    pub centre: Centre,
    /// Paper of every page.
    pub paper: Paper,
    /// What results, visits and flags go by.
    pub settings: Settings,
    /// How the centre's own files are written.
    pub dialect: Dialect,
    /// Encoding of its files without a byte order mark.
    pub encoding: Option<&'static Encoding>,
    /// Masking of small counts.
    pub masking: Masking,
}

impl Site {
    /// Reads a site file.
    ///
    /// # Errors
    /// All faults of the file with line and column: TOML that is none, unknown keys, columns, units and words, values
    /// out of their limits, windows that overlap.
    pub fn read(source: &Source) -> Result<Self, SiteError> {
        let failed = |faults: Vec<SiteFault>| SiteError {
            file: Arc::clone(&source.name),
            faults,
        };
        let bytes = source
            .bytes
            .strip_prefix(b"\xEF\xBB\xBF")
            .unwrap_or(&source.bytes);
        let text = match std::str::from_utf8(bytes) {
            Ok(text) => text,
            Err(error) => {
                let valid = String::from_utf8_lossy(&bytes[..error.valid_up_to()]).into_owned();
                let mut faults = Faults::new(&valid);
                faults.add(
                    valid.len()..valid.len(),
                    "not UTF-8; save the site file as UTF-8",
                );
                return Err(failed(faults.into_sorted()));
            }
        };
        let mut faults = Faults::new(text);
        let (document, errors) = DeTable::parse_recoverable(text);
        if !errors.is_empty() {
            for error in &errors {
                faults.add(
                    error.span().unwrap_or(0..0),
                    error.message().replace('\n', ", "),
                );
            }
            return Err(failed(faults.into_sorted()));
        }
        let site = Self::of(Keys::new(document.get_ref(), ""), &mut faults);
        let faults = faults.into_sorted();
        if faults.is_empty() {
            Ok(site)
        } else {
            Err(failed(faults))
        }
    }

    /// How files are to be read at this centre; an encoding given on the command line goes before the centre's.
    pub fn read_options(&self, encoding: Option<&'static Encoding>) -> ReadOptions {
        let mut dialect = self.dialect.clone();
        if encoding.is_some() {
            let tables = dialect.of_table.iter_mut();
            tables.for_each(|table| table.encoding = None);
        }
        ReadOptions {
            encoding: encoding.or(self.encoding),
            dialect,
        }
    }

    fn of(mut keys: Keys<'_>, faults: &mut Faults<'_>) -> Self {
        let mut site = Self::default();
        if let Some(centre) = keys.table("centre", faults) {
            site.centre = Centre::of(centre, faults);
        }
        if let Some(mut page) = keys.table("page", faults) {
            let papers = [("A4", Paper::A4), ("Letter", Paper::Letter)];
            site.paper = page.one_of("paper", &papers, faults).unwrap_or_default();
            page.finish(faults);
        }
        if let Some(mut formulas) = keys.table("formulas", faults) {
            let known = [
                ("du_bois", BsaFormula::DuBois),
                ("mosteller", BsaFormula::Mosteller),
            ];
            site.settings.bsa_formula = formulas.one_of("bsa", &known, faults).unwrap_or_default();
            formulas.finish(faults);
        }
        if let Some(table) = keys.table("reading", faults) {
            site.encoding = reading::reading(table, &mut site.dialect, faults);
        }
        if let Some(table) = keys.table("headers", faults) {
            reading::headers(table, &mut site.dialect, faults);
        }
        if let Some(table) = keys.table("words", faults) {
            reading::words(table, &mut site.dialect, faults);
        }
        if let Some(table) = keys.table("visits", faults) {
            site.settings.schedule = Schedule::of(table, faults);
        }
        if let Some(table) = keys.table("measurement_errors", faults) {
            site.settings.usual_errors = UsualErrors::of(table, faults);
        }
        if let Some(table) = keys.table("attention", faults) {
            site.settings.attention = Attention::of(table, faults);
        }
        if let Some(mut cohort) = keys.table("cohort", faults) {
            if let Some(count) = cohort.whole("mask_counts_below", (1, 1000), faults) {
                site.masking.counts_below =
                    u32::try_from(count.value).unwrap_or(site.masking.counts_below);
            }
            cohort.finish(faults);
        }
        keys.finish(faults);
        site
    }
}
