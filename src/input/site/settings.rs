//! How each table of the site file is read.

use super::fault::Faults;
use super::keys::Keys;
use crate::input::hidden::first_hidden;
use crate::settings::{Attention, Centre, Schedule, UsualErrors};

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

impl Schedule {
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
            set(
                &mut plan.first_visit_day,
                "day",
                (1, 180),
                &mut first,
                faults,
            );
            set(
                &mut plan.first_visit_opens,
                "from",
                (1, 180),
                &mut first,
                faults,
            );
            set(
                &mut plan.first_visit_closes,
                "to",
                (1, 364),
                &mut first,
                faults,
            );
            first.finish(faults);
        }
        if let Some(mut annual) = keys.table("annual", faults) {
            set(
                &mut plan.anniversary_opens_before,
                "days_before",
                (0, 182),
                &mut annual,
                faults,
            );
            set(
                &mut plan.anniversary_closes_after,
                "days_after",
                (0, 182),
                &mut annual,
                faults,
            );
            annual.finish(faults);
        }
        let Self {
            first_visit_day: first_day,
            first_visit_opens: first_from,
            first_visit_closes: first_to,
            anniversary_opens_before: annual_days_before,
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
            plan.lost_after = days.value;
        }
        keys.finish(faults);
        plan
    }
}

impl UsualErrors {
    /// Reads its table.
    pub(super) fn of(mut keys: Keys<'_>, faults: &mut Faults<'_>) -> Self {
        let usual = Self::default();
        let mut number = |key, high, usual| keys.number(key, (0.0, high), faults).unwrap_or(usual);
        let errors = Self {
            outflow_diameter_mm: number("lvot_diameter_mm", 5.0, usual.outflow_diameter_mm),
            peak_velocity_pct: number("vmax_pct", 30.0, usual.peak_velocity_pct),
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
