//! Blocks 3 and 4: the gradient chart and the sizing ruler, from the case.

use super::ladder::Detail;
use super::sizes::{self, diameter_words, digits_as_written, end_as_diameter_mm};
use super::view::{AREA_COLUMNS, GRADIENT_COLUMNS, View, cell, computed};
use super::{composites, findings, limits};
use crate::assess::{
    ProsthesisEcho, STAGE_2, STAGE_3, bicuspid, sealed_balloon_mm, supraannular_mm,
};
use crate::figure::area_strip::AreaStrip;
use crate::figure::gradient::{GradientChart, Reading};
use crate::figure::ruler::{Evidence, Mark, Ruler, Shape, ShapeLine, SizeRange};
use crate::page::number::{date, digits, recorded, with_unit};
use crate::page::words::{NOT_RECORDED, Words};
use crate::record::{Mechanism, Seal};

/// The reference echo: its position among the visits, and its measurements.
fn reference(view: &View<'_>) -> Option<(usize, ProsthesisEcho)> {
    let position = view.assessment.course.reference?;
    let echo = ProsthesisEcho::of_visit(&view.known.visits[position].cells);
    Some((position, echo))
}

/// From these the gradient parts of stage 2 and 3 are met in this patient (mmHg).
fn gradient_thresholds(view: &View<'_>) -> Option<[(f64, String); 2]> {
    let (position, echo) = reference(view)?;
    let mean = echo.mean_gradient_mmhg?;
    let doubt = view.echo_doubt(Some(position), GRADIENT_COLUMNS);
    Some([STAGE_2, STAGE_3].map(|rule| {
        let from = rule.gradient_from_mmhg(mean);
        (from, format!("{}{doubt}", recorded(from, 1, &[])))
    }))
}

/// At or below these the area parts of stage 2 and 3 are met in this patient (cm²).
fn area_thresholds(view: &View<'_>) -> Option<[(f64, String); 2]> {
    let (position, echo) = reference(view)?;
    let area = echo.eoa_cm2()?;
    let doubt = view.echo_doubt(Some(position), AREA_COLUMNS);
    Some([STAGE_2, STAGE_3].map(|rule| {
        let from = rule.area_to_cm2(area);
        (from, format!("{}{doubt}", digits(from, 2)))
    }))
}

/// Every echo after the procedure: its day from the procedure, its measurements, and the visit it is of.
fn echoes_after(view: &View<'_>) -> Vec<(i64, ProsthesisEcho, Option<usize>)> {
    let known = view.known;
    // An echo before discharge without a date stands on the day of discharge, else on day 0.
    let on = view
        .cells
        .post_echo_date
        .or(view.cells.discharge_date)
        .unwrap_or(known.procedure_date);
    let discharge = ProsthesisEcho::before_discharge(view.cells);
    let mut echoes = vec![(known.day_of(on), discharge, None)];
    echoes.extend(known.visits.iter().enumerate().map(|(position, visit)| {
        let echo = ProsthesisEcho::of_visit(&visit.cells);
        (visit.day, echo, Some(position))
    }));
    echoes.sort_by_key(|(day, _, _)| *day);
    echoes
}

/// The chart of mean gradients, and of valve areas where visits exist.
pub(super) fn gradient(view: &View<'_>) -> GradientChart {
    let known = view.known;
    let echoes = echoes_after(view);
    let readings = |of: &dyn Fn(&ProsthesisEcho) -> Option<(f64, String)>,
                    columns: [&str; 2]|
     -> Vec<Reading> {
        echoes
            .iter()
            .filter_map(|(day, echo, visit)| {
                let (value, label) = of(echo)?;
                Some(Reading {
                    day: *day,
                    value,
                    label: format!("{label}{}", view.echo_doubt(*visit, columns)),
                })
            })
            .collect()
    };
    let mean = |echo: &ProsthesisEcho| {
        let mean = echo.mean_gradient_mmhg?;
        Some((mean, cell(Some(mean), 1, limits::AFTER_MEAN)))
    };
    let thresholds = area_thresholds(view);
    let sides: Vec<f64> = thresholds.iter().flatten().map(|(area, _)| *area).collect();
    let area = |echo: &ProsthesisEcho| {
        let area = echo.eoa_cm2()?;
        Some((area, computed(Some(area), 2, &sides)))
    };
    let reintervention = known
        .visits
        .iter()
        .find(|visit| visit.cells.valve_reintervention == Some(true));
    GradientChart {
        before: view.cells.baseline_mean_gradient_mmhg.map(|mean| {
            let doubt = view.cell_doubt(&["baseline_mean_gradient_mmhg", "baseline_vmax_m_s"]);
            let label = cell(Some(mean), 1, limits::BASELINE_MEAN);
            (mean, format!("{label}{doubt}"))
        }),
        after: readings(&mean, GRADIENT_COLUMNS),
        thresholds: gradient_thresholds(view),
        reference_day: reference(view).map(|(position, _)| known.visits[position].day),
        area: (!known.visits.is_empty()).then(|| AreaStrip {
            readings: readings(&area, AREA_COLUMNS),
            thresholds: thresholds.clone(),
        }),
        none_after: if view.cells.procedural_death == Some(true) {
            "died in the room: no echo after"
        } else {
            ""
        },
        reintervention_day: reintervention.map(|visit| {
            visit
                .cells
                .reintervention_date
                .map_or(visit.day, |on| known.day_of(on))
        }),
    }
}

fn in_words(readings: &[Reading], unit: &str) -> String {
    if readings.is_empty() {
        return NOT_RECORDED.to_owned();
    }
    let readings: Vec<String> = readings
        .iter()
        .map(|reading| format!("{} on day {}", reading.label, reading.day))
        .collect();
    format!("{} {unit}", readings.join(", "))
}

/// The chart in words and numbers.
pub(super) fn gradient_alt(view: &View<'_>, chart: &GradientChart) -> String {
    let before = chart
        .before
        .as_ref()
        .map_or(NOT_RECORDED.to_owned(), |(_, label)| {
            format!("{label} mmHg")
        });
    let after = in_words(&chart.after, "mmHg");
    let threshold = match &chart.thresholds {
        Some([(_, moderate), (_, severe)]) => format!(
            " The gradient part of stage 2 deterioration begins at {moderate} mmHg in this patient, of stage 3 at {severe} mmHg."
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
    let area = chart.area.as_ref().map_or(String::new(), |strip| {
        let begins = match &strip.thresholds {
            Some([(_, moderate), (_, severe)]) => format!(
                " The area part of stage 2 begins at a fall to {moderate} cm², of stage 3 to {severe} cm²."
            ),
            None => String::new(),
        };
        format!(
            " Valve area after, computed: {}.{begins}",
            in_words(&strip.readings, "cm²")
        )
    });
    format!(
        "Mean gradient before: {before}. After: {after}. A dashed line marks 20 mmHg.{threshold}{area}{reintervention}"
    )
}

/// What stands below the chart.
pub(super) fn gradient_caption(view: &View<'_>, chart: &GradientChart, detail: &Detail) -> String {
    let (Some([(_, moderate), (_, severe)]), Some((position, echo))) =
        (&chart.thresholds, reference(view))
    else {
        return format!(
            "{}, so no threshold of this patient's own. Dashed: mean 20.",
            findings::capitalised(&composites::no_reference(view))
        );
    };
    let visit = &view.known.visits[position];
    if detail.tight {
        return format!(
            "Filled: reference of {}, day {}. Grey, darker for stage 3: one part of the rule of deterioration each. Dashed: mean 20.",
            date(visit.date),
            visit.day
        );
    }
    let mean = format!(
        "mean from {moderate} ({} + 10, at least 20) and {}",
        cell(echo.mean_gradient_mmhg, 1, limits::AFTER_MEAN),
        with_unit(severe, "mmHg"),
    );
    let area = match chart.area.as_ref().map(|strip| &strip.thresholds) {
        Some(Some([(_, moderate), (_, severe)])) => format!(
            ", area to {moderate} ({}{} − 0.3 or 25\u{a0}%) and {}",
            computed(echo.eoa_cm2(), 2, &[]),
            view.echo_doubt(Some(position), AREA_COLUMNS),
            with_unit(severe, "cm2")
        ),
        _ => ", no area at the reference".to_owned(),
    };
    format!(
        "Filled: reference of {}, day {}. Grey, darker for stage 3: one part of the rule each, {mean}{area}; a rise counts with a fall of area or DVI. Dashed: mean 20.",
        date(visit.date),
        visit.day
    )
}

/// The ruler of every line of evidence.
pub(super) fn ruler(view: &View<'_>, detail: &Detail) -> Ruler {
    let family = &view.family;
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
    let implanted = ranges.iter().any(|range| range.implanted);
    Ruler {
        family: match (ranges.is_empty(), implanted) {
            (true, _) => vec!["labelled ranges: none known".to_owned()],
            (false, false) => vec![by.to_owned()],
            (false, true) => vec![by.to_owned(), "black: size implanted".to_owned()],
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
