//! What a centre sets, with the defaults of DEFINITIONS.md, and how each table of the site file is read.

use super::fault::Faults;
use super::keys::Keys;
use crate::input::hidden::first_hidden;

/// What pages show of the centre.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Centre {
    /// Its name.
    pub name: Option<String>,
    /// Lines of its address.
    pub address: Vec<String>,
    /// Lines that say whom to call.
    pub contact: Vec<String>,
}

/// Paper size.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Paper {
    /// 210 × 297 mm (ISO 216).
    #[default]
    A4,
    /// 215.9 × 279.4 mm (8.5 × 11 inches).
    Letter,
}

/// Formula of the body surface area.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum BsaFormula {
    /// Du Bois 1916.
    #[default]
    DuBois,
    /// Mosteller 1987.
    Mosteller,
}

/// When visits are due, in days from the procedure (DEFINITIONS.md, Follow-up).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct VisitPlan {
    /// Day on which the first visit is due.
    pub first_day: i64,
    /// First day of its window.
    pub first_from: i64,
    /// Last day of its window.
    pub first_to: i64,
    /// Days before an anniversary on which its window opens.
    pub annual_days_before: i64,
    /// Days after an anniversary on which its window closes.
    pub annual_days_after: i64,
    /// More days than this without a sign of life: lost.
    pub lost_after_days: i64,
}

impl Default for VisitPlan {
    fn default() -> Self {
        Self {
            first_day: 30,
            first_from: 23,
            first_to: 75,
            annual_days_before: 60,
            annual_days_after: 60,
            lost_after_days: 425,
        }
    }
}

/// Usual errors of measurement (DEFINITIONS.md, Fragile classes).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MeasurementErrors {
    /// Outflow tract diameter (mm).
    pub lvot_diameter_mm: f64,
    /// Peak velocity (percent of it).
    pub vmax_pct: f64,
    /// Mean gradient (percent of it).
    pub mean_gradient_pct: f64,
    /// Annulus area (percent of it).
    pub annulus_area_pct: f64,
    /// Annulus perimeter (percent of it).
    pub annulus_perimeter_pct: f64,
}

impl Default for MeasurementErrors {
    fn default() -> Self {
        Self {
            lvot_diameter_mm: 1.0,
            vmax_pct: 3.0,
            mean_gradient_pct: 5.0,
            annulus_area_pct: 3.0,
            annulus_perimeter_pct: 1.5,
        }
    }
}

/// Thresholds of flags that no definition of an endpoint fixes (DEFINITIONS.md, Flags).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Attention {
    /// Area over-sizing (%) from which outflow calcification raises `root_injury_risk`.
    pub root_injury_oversizing_pct: f64,
    /// Left coronary height (mm) below which, with `low_coronary_sinus_mm`, `low_coronary` is raised.
    pub low_coronary_height_mm: f64,
    /// Sinus of Valsalva (mm); see `low_coronary_height_mm`.
    pub low_coronary_sinus_mm: f64,
    /// Sheath to artery ratio from which `tight_access` is raised.
    pub tight_access_ratio: f64,
    /// Ascending aorta (mm) from which `wide_aorta` is raised.
    pub wide_aorta_mm: f64,
    /// Difference of computed and reported area (% of the reported) above which `area_mismatch` is raised.
    pub area_mismatch_pct: f64,
    /// Aortic regurgitation index below which `low_regurgitation_index` is raised.
    pub low_regurgitation_index: f64,
}

impl Default for Attention {
    fn default() -> Self {
        Self {
            root_injury_oversizing_pct: 20.0,
            low_coronary_height_mm: 12.0,
            low_coronary_sinus_mm: 30.0,
            tight_access_ratio: 1.05,
            wide_aorta_mm: 45.0,
            area_mismatch_pct: 15.0,
            low_regurgitation_index: 25.0,
        }
    }
}

/// Masking of small counts with `--deidentify`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Masking {
    /// Counts under this are not written.
    pub counts_below: u32,
}

impl Default for Masking {
    fn default() -> Self {
        Self { counts_below: 5 }
    }
}

/// Most lines of an address or contact, and most characters of a line: what a page has room for.
const LINES: usize = 4;
/// See [`LINES`].
const LINE_CHARACTERS: usize = 70;

impl Centre {
    /// Reads its table.
    pub(super) fn of(mut keys: Keys<'_>, faults: &mut Faults<'_>) -> Self {
        let mut lines = |key: &'static str, most: usize| -> Vec<String> {
            let lines = keys.texts(key, faults);
            if let Some(line) = lines.get(most) {
                faults.add(line.span.clone(), format!("{key}: at most {most} lines"));
            }
            for line in &lines {
                if line.value.chars().count() > LINE_CHARACTERS {
                    faults.add(
                        line.span.clone(),
                        format!("{key}: at most {LINE_CHARACTERS} characters a line"),
                    );
                }
                if line.value.contains(['\n', '\r', '\t']) || first_hidden(&line.value).is_some() {
                    faults.add(
                        line.span.clone(),
                        format!("{key}: one line without hidden characters"),
                    );
                }
            }
            lines
                .into_iter()
                .map(|line| line.value.trim().to_owned())
                .filter(|line| !line.is_empty())
                .collect()
        };
        let centre = Self {
            name: lines("name", 1).into_iter().next(),
            address: lines("address", LINES),
            contact: lines("contact", LINES),
        };
        keys.finish(faults);
        centre
    }
}

impl VisitPlan {
    /// Reads its table.
    pub(super) fn of(mut keys: Keys<'_>, faults: &mut Faults<'_>) -> Self {
        let mut plan = Self::default();
        // The first value that was given, for faults of several values together.
        let mut given = None;
        let mut set =
            |value: &mut i64, key, limits, keys: &mut Keys<'_>, faults: &mut Faults<'_>| {
                if let Some(number) = keys.whole(key, limits, faults) {
                    *value = number.value;
                    given.get_or_insert(number.span);
                }
            };
        if let Some(mut first) = keys.table("first", faults) {
            set(&mut plan.first_day, "day", (1, 180), &mut first, faults);
            set(&mut plan.first_from, "from", (1, 180), &mut first, faults);
            set(&mut plan.first_to, "to", (1, 364), &mut first, faults);
            first.finish(faults);
        }
        if let Some(mut annual) = keys.table("annual", faults) {
            set(
                &mut plan.annual_days_before,
                "days_before",
                (0, 182),
                &mut annual,
                faults,
            );
            set(
                &mut plan.annual_days_after,
                "days_after",
                (0, 182),
                &mut annual,
                faults,
            );
            annual.finish(faults);
        }
        let Self {
            first_day,
            first_from,
            first_to,
            annual_days_before,
            ..
        } = plan;
        if let Some(given) = given {
            if !(first_from <= first_day && first_day <= first_to) {
                faults.add(given, format!("visits: first from, day and to must be in order; they are {first_from}, {first_day}, {first_to}"));
            } else if first_to >= 365 - annual_days_before {
                faults.add(given, "visits: the window of the first anniversary opens before that of the first visit has closed");
            }
        }
        if let Some(days) = keys.whole("lost_after_days", (30, 3650), faults) {
            plan.lost_after_days = days.value;
        }
        keys.finish(faults);
        plan
    }
}

impl MeasurementErrors {
    /// Reads its table.
    pub(super) fn of(mut keys: Keys<'_>, faults: &mut Faults<'_>) -> Self {
        let usual = Self::default();
        let mut number = |key, high, usual| keys.number(key, (0.0, high), faults).unwrap_or(usual);
        let errors = Self {
            lvot_diameter_mm: number("lvot_diameter_mm", 5.0, usual.lvot_diameter_mm),
            vmax_pct: number("vmax_pct", 30.0, usual.vmax_pct),
            mean_gradient_pct: number("mean_gradient_pct", 30.0, usual.mean_gradient_pct),
            annulus_area_pct: number("annulus_area_pct", 30.0, usual.annulus_area_pct),
            annulus_perimeter_pct: number(
                "annulus_perimeter_pct",
                30.0,
                usual.annulus_perimeter_pct,
            ),
        };
        keys.finish(faults);
        errors
    }
}

impl Attention {
    /// Reads its table.
    pub(super) fn of(mut keys: Keys<'_>, faults: &mut Faults<'_>) -> Self {
        let usual = Self::default();
        let mut number = |key, limits, usual| keys.number(key, limits, faults).unwrap_or(usual);
        let attention = Self {
            root_injury_oversizing_pct: number(
                "root_injury_oversizing_pct",
                (0.0, 60.0),
                usual.root_injury_oversizing_pct,
            ),
            low_coronary_height_mm: number(
                "low_coronary_height_mm",
                (5.0, 20.0),
                usual.low_coronary_height_mm,
            ),
            low_coronary_sinus_mm: number(
                "low_coronary_sinus_mm",
                (15.0, 45.0),
                usual.low_coronary_sinus_mm,
            ),
            tight_access_ratio: number("tight_access_ratio", (0.5, 2.0), usual.tight_access_ratio),
            wide_aorta_mm: number("wide_aorta_mm", (30.0, 70.0), usual.wide_aorta_mm),
            area_mismatch_pct: number("area_mismatch_pct", (1.0, 100.0), usual.area_mismatch_pct),
            low_regurgitation_index: number(
                "low_regurgitation_index",
                (0.0, 60.0),
                usual.low_regurgitation_index,
            ),
        };
        keys.finish(faults);
        attention
    }
}
