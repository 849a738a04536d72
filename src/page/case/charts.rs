//! Blocks 3 and 4: the gradient chart and the sizing ruler, from the case.

use super::ladder::Detail;
use super::limits;
use super::sizes::{self, diameter_words, digits_as_written, end_as_diameter_mm};
use super::view::{View, cell};
use crate::assess::{ProsthesisEcho, STAGE_2, bicuspid, sealed_balloon_mm, supraannular_mm};
use crate::figure::gradient::{GradientChart, Reading};
use crate::figure::ruler::{Evidence, Mark, Ruler, Shape, ShapeLine, SizeRange};
use crate::page::number::{date, digits, recorded, with_unit};
use crate::page::words::{NOT_RECORDED, Words};
use crate::record::{Mechanism, Seal};

/// From here the gradient part of stage 2 is met in this patient (mmHg).
fn threshold_mmhg(view: &View<'_>) -> Option<f64> {
    let reference = view.assessment.course.reference?;
    let mean = view.known.visits[reference].cells.mean_gradient_mmhg?;
    Some((mean + STAGE_2.rise_mmhg).max(STAGE_2.mean_mmhg))
}

/// The chart of mean gradients.
pub(super) fn gradient(view: &View<'_>) -> GradientChart {
    let known = view.known;
    let mut after: Vec<Reading> = Vec::new();
    if let Some(mean) = view.cells.post_mean_gradient_mmhg {
        // An echo before discharge without a date stands on the day of discharge, else on day 0.
        let on = view
            .cells
            .post_echo_date
            .or(view.cells.discharge_date)
            .unwrap_or(known.procedure_date);
        after.push(reading(known.day_of(on), mean));
    }
    after.extend(
        known
            .visits
            .iter()
            .filter_map(|visit| Some(reading(visit.day, visit.cells.mean_gradient_mmhg?))),
    );
    after.sort_by_key(|reading| reading.day);
    let reintervention = known
        .visits
        .iter()
        .find(|visit| visit.cells.valve_reintervention == Some(true));
    GradientChart {
        before: view
            .cells
            .baseline_mean_gradient_mmhg
            .map(|mean| (mean, cell(Some(mean), 1, limits::BASELINE_MEAN))),
        after,
        threshold_mmhg: threshold_mmhg(view),
        reintervention_day: reintervention.map(|visit| {
            visit
                .cells
                .reintervention_date
                .map_or(visit.day, |on| known.day_of(on))
        }),
    }
}

fn reading(day: i64, mmhg: f64) -> Reading {
    Reading {
        day,
        mmhg,
        label: cell(Some(mmhg), 1, limits::AFTER_MEAN),
    }
}

/// The chart in words and numbers.
pub(super) fn gradient_alt(view: &View<'_>, chart: &GradientChart) -> String {
    let before = chart
        .before
        .as_ref()
        .map_or(NOT_RECORDED.to_owned(), |(_, label)| {
            format!("{label} mmHg")
        });
    let after = if chart.after.is_empty() {
        NOT_RECORDED.to_owned()
    } else {
        let readings: Vec<String> = chart
            .after
            .iter()
            .map(|reading| format!("{} on day {}", reading.label, reading.day))
            .collect();
        format!("{} mmHg", readings.join(", "))
    };
    let threshold = match chart.threshold_mmhg {
        Some(from) => format!(
            " The gradient part of stage 2 deterioration begins at {} mmHg in this patient.",
            recorded(from, 1, &[])
        ),
        None => " There is no reference echo, so no threshold of deterioration.".to_owned(),
    };
    let reintervention = view
        .known
        .visits
        .iter()
        .find(|visit| visit.cells.valve_reintervention == Some(true))
        .map_or(String::new(), |visit| {
            format!(" Valve reintervention reported on {}.", date(visit.date))
        });
    format!(
        "Mean gradient before: {before}. After: {after}. A dashed line marks 20 mmHg.{threshold}{reintervention}"
    )
}

/// What stands below the chart.
pub(super) fn gradient_caption(view: &View<'_>, chart: &GradientChart) -> String {
    let reference = view
        .assessment
        .course
        .reference
        .map(|position| &view.known.visits[position]);
    match (chart.threshold_mmhg, reference) {
        (Some(from), Some(visit)) => {
            let echo = ProsthesisEcho::of_visit(&visit.cells);
            format!(
                "Grey from {}: reference {} ({}, day {}) + 10, at least 20: one part of the stage 2 rule, to which a fall of area or DVI belongs. Dashed: mean 20.",
                with_unit(&recorded(from, 1, &[]), "mmHg"),
                cell(echo.mean_gradient_mmhg, 1, limits::AFTER_MEAN),
                date(visit.date),
                visit.day
            )
        }
        _ => "No reference echo (day 23 to 105), so no threshold of this patient's own. Dashed: mean 20.".to_owned(),
    }
}

/// The ruler of every line of evidence.
pub(super) fn ruler(view: &View<'_>, detail: &Detail) -> Ruler {
    let family = sizes::family_rows(view);
    let mut ranges: Vec<SizeRange> = family
        .iter()
        .filter_map(|device| {
            let (from, to) = device.range()?;
            Some(SizeRange {
                label: digits_as_written(device.labelled_size_mm),
                from_mm: end_as_diameter_mm(device.sized_by, from),
                to_mm: end_as_diameter_mm(device.sized_by, to),
                implanted: view
                    .device
                    .is_some_and(|implanted| implanted.device_id == device.device_id),
            })
        })
        .collect();
    ranges.sort_by(|a, b| a.from_mm.total_cmp(&b.from_mm));
    let by = family.first().map_or("", |device| match device.sized_by {
        crate::record::SizedBy::Area => "labelled ranges, by area",
        crate::record::SizedBy::Perimeter => "labelled ranges, by perimeter",
    });
    Ruler {
        family: if ranges.is_empty() {
            "labelled ranges: none known".to_owned()
        } else {
            by.to_owned()
        },
        ranges,
        rows: rows(view),
        shapes: if detail.no_drawing {
            Vec::new()
        } else {
            shapes(view)
        },
    }
}

fn evidence(label: impl Into<String>, value: Option<f64>, mark: fn(f64) -> Mark) -> Evidence {
    match value {
        Some(mm) => Evidence {
            label: label.into(),
            value: diameter_words(mm),
            mark: mark(mm),
        },
        None => absent(label, NOT_RECORDED),
    }
}

fn absent(label: impl Into<String>, why: &str) -> Evidence {
    Evidence {
        label: label.into(),
        value: why.to_owned(),
        mark: Mark::Absent,
    }
}

fn rows(view: &View<'_>) -> Vec<Evidence> {
    let cells = view.cells;
    let sizing = &view.assessment.results.sizing;
    let doubt = |result| view.doubt(result);
    let mut rows = vec![
        evidence(
            format!("annulus by area (c){}", doubt("annulus_area_diameter_mm")),
            sizing.annulus_area_diameter_mm,
            Mark::Measured,
        ),
        evidence(
            format!("by perimeter (c){}", doubt("annulus_perimeter_diameter_mm")),
            sizing.annulus_perimeter_diameter_mm,
            Mark::Measured,
        ),
    ];
    if bicuspid(cells) || cells.valve_morphology.is_none() {
        rows.push(evidence(
            "supra-annular",
            supraannular_mm(cells),
            Mark::Above,
        ));
    }
    rows.push(match (cells.leaking_balloon_mm, cells.predilatation) {
        (None, Some(false)) => absent("balloon that leaked", "none used"),
        (leaked, _) => Evidence {
            value: leaked.map_or(NOT_RECORDED.to_owned(), |mm| {
                format!("more than {}", recorded(mm, 1, &[]))
            }),
            ..evidence("balloon leaked", leaked, Mark::MoreThan)
        },
    });
    rows.push(
        match (
            sealed_balloon_mm(cells),
            cells.predilatation_seal,
            cells.predilatation,
        ) {
            (Some(mm), _, _) => Evidence {
                value: format!("at most {}", recorded(mm, 1, &[])),
                ..evidence("balloon sealed", Some(mm), Mark::AtMost)
            },
            (None, Some(seal @ (Seal::Partial | Seal::None)), _) => absent("balloon", seal.words()),
            (None, _, Some(false)) => absent("balloon that sealed", "none used"),
            (None, _, _) => absent("balloon that sealed", NOT_RECORDED),
        },
    );
    let device = view.device.map(|device| device.labelled_size_mm);
    rows.push(match (device, cells.device_id.is_some()) {
        (None, true) => absent("device at label", "no row for it"),
        (device, _) => Evidence {
            value: device.map_or(NOT_RECORDED.to_owned(), digits_as_written),
            ..evidence("device at label", device, Mark::Device)
        },
    });
    if view
        .device
        .is_none_or(|device| device.mechanism == Mechanism::BalloonExpandable)
    {
        rows.push(evidence(
            "filled, estimate (c)",
            sizing.filled_diameter_estimate_mm,
            Mark::Estimate,
        ));
    }
    rows.push(Evidence {
        value: cells
            .frame_measured_mm
            .map_or(NOT_RECORDED.to_owned(), |mm| recorded(mm, 1, &[])),
        ..evidence("frame, measured", cells.frame_measured_mm, Mark::Frame)
    });
    rows
}

/// At most three shapes: annulus, frame (else device), balloon that sealed (else supra-annular, else the one that leaked).
fn shapes(view: &View<'_>) -> Vec<Shape> {
    let cells = view.cells;
    let sizing = &view.assessment.results.sizing;
    let circle = |label: &str, mm: f64, line| Shape {
        label: format!("{label} {}", digits(mm, 1)),
        width_mm: mm,
        height_mm: mm,
        line,
    };
    let annulus = match (cells.annulus_min_mm, cells.annulus_max_mm) {
        (Some(min), Some(max)) => Some(Shape {
            label: "annulus, CT".to_owned(),
            width_mm: max,
            height_mm: min,
            line: ShapeLine::Thin,
        }),
        _ => sizing
            .annulus_area_diameter_mm
            .map(|mm| circle("annulus", mm, ShapeLine::Thin)),
    };
    let frame = cells
        .frame_measured_mm
        .map(|mm| circle("frame", mm, ShapeLine::Thick))
        .or_else(|| {
            view.device
                .map(|device| circle("device", device.labelled_size_mm, ShapeLine::Thick))
        });
    let balloon = sealed_balloon_mm(cells)
        .map(|mm| circle("balloon", mm, ShapeLine::Dashed))
        .or_else(|| supraannular_mm(cells).map(|mm| circle("supra-ann.", mm, ShapeLine::Dashed)));
    [annulus, frame, balloon].into_iter().flatten().collect()
}

/// The ruler in words and numbers.
pub(super) fn ruler_alt(ruler: &Ruler) -> String {
    let ranges: Vec<String> = ruler
        .ranges
        .iter()
        .map(|range| {
            format!(
                "{} from {} to {} mm{}",
                range.label,
                digits(range.from_mm, 1),
                digits(range.to_mm, 1),
                if range.implanted { " (implanted)" } else { "" }
            )
        })
        .collect();
    let rows: Vec<String> = ruler
        .rows
        .iter()
        .map(|row| format!("{}: {}", row.label, row.value))
        .collect();
    let ranges = if ranges.is_empty() {
        "none known".to_owned()
    } else {
        ranges.join(", ")
    };
    format!(
        "Labelled ranges as diameters: {ranges}. Lines of evidence in mm: {}.",
        rows.join("; ")
    )
}

/// What stands below the ruler.
pub(super) fn ruler_caption(view: &View<'_>) -> String {
    format!(
        "{} Labelled ranges are for the annulus; the other lines are additional.",
        sizes::oversizing(view)
    )
}
