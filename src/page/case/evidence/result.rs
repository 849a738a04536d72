//! The result, complications, blood and the ECG.

use super::super::findings::performance_words;
use super::super::ladder::Detail;
use super::super::view::{View, both, cell, computed, measured};
use super::super::{limits, plan};
use super::{Row, row};
use crate::assess::bands::at_least;
use crate::assess::{self, AkiStage, Endpoint, Mismatch, PerformanceEcho, ProsthesisEcho};
use crate::page::number::{date, digits, with_unit};
use crate::page::words::{self, DASH, NOT_RECORDED, Words};

pub(super) fn rows(view: &View<'_>, detail: &Detail) -> Vec<Row> {
    let cells = view.cells;
    let after = &view.assessment.results.after;
    let outcomes = &view.assessment.results.outcomes;
    let echo = &view.assessment.performance.echo;
    let judged_by = match view.assessment.performance.which {
        PerformanceEcho::None => "no echo with a mean gradient".to_owned(),
        _ => performance_words(view),
    };
    let mut rows = vec![
        row("Judged by", judged_by),
        row(
            "Mean · velocity · DVI (c)",
            format!(
                "{} · {} · {}{}",
                measured(echo.mean_gradient_mmhg, 1, "mmHg", limits::AFTER_MEAN),
                measured(echo.vmax_m_s, 2, "m/s", limits::AFTER_VMAX),
                computed(echo.dvi(), 2, limits::DVI),
                view.doubt_any(&["performance_mean_gradient_mmhg", "performance_dvi"])
            ),
        ),
        row("Intended performance (c)", intended(view)),
        row(
            match (
                view.assessment.performance.which,
                view.assessment.performance.visit,
            ) {
                (PerformanceEcho::Day30, Some(visit)) => {
                    format!("Mismatch, day {} (c)", view.known.visits[visit].day)
                }
                (PerformanceEcho::Discharge, _) => "Mismatch, discharge (c)".to_owned(),
                _ => "Mismatch, measured (c)".to_owned(),
            },
            mismatch(
                after.measured_ppm,
                after.performance_eoai_cm2_m2,
                view.doubt("measured_ppm"),
            ),
        ),
        row(
            "Mismatch, expected (c)",
            mismatch(
                after.predicted_ppm,
                after.predicted_eoai_cm2_m2,
                view.doubt("predicted_ppm"),
            ),
        ),
        row(
            "Stroke or TIA",
            cells.stroke_30d.map_or(NOT_RECORDED, Words::words),
        ),
        row(
            "Bleeding, as recorded",
            match (cells.bleeding_type, cells.red_cell_units) {
                (None, None) => NOT_RECORDED.to_owned(),
                (bleeding, units) => format!(
                    "{} · {}",
                    bleeding.map_or(NOT_RECORDED, Words::words),
                    units.map_or("red cells —".to_owned(), |units| format!(
                        "red cells {units} units"
                    ))
                ),
            },
        ),
        row(
            "Vascular · structural · infarct",
            format!(
                "{} · {} · {}",
                cells.vascular_complication.map_or(DASH, Words::words),
                cells.structural_complication.map_or(DASH, Words::words),
                cells
                    .periprocedural_myocardial_infarction
                    .map_or(DASH, |infarct| words::yes_no(Some(infarct)))
            ),
        ),
        row("In the room", in_the_room(view, detail)),
        row(
            "Hb before → low → disch.",
            three(
                [
                    cells.haemoglobin_g_dl,
                    cells.haemoglobin_lowest_g_dl,
                    cells.haemoglobin_discharge_g_dl,
                ],
                1,
                "g/dL",
            ),
        ),
        row(
            "Creatinine, the same",
            three(
                [
                    cells.creatinine_umol_l,
                    cells.creatinine_peak_umol_l,
                    cells.creatinine_discharge_umol_l,
                ],
                0,
                "umol/L",
            ),
        ),
        row("Kidney injury (c)", kidney(view)),
    ];
    if let Some(later) = later_mismatch(view).filter(|_| !detail.few_parts) {
        // Below the class that counts, which is that of the echo that judges the valve.
        rows.insert(4, later);
    }
    let before = ecg(cells.pr_interval_ms, cells.qrs_duration_ms);
    let after = ecg(
        cells.discharge_pr_interval_ms,
        cells.discharge_qrs_duration_ms,
    );
    if detail.tight {
        rows.push(row("ECG PR · QRS", format!("{before} → {after}")));
    } else {
        rows.push(row("ECG before: PR · QRS", before));
        rows.push(row("ECG discharge: PR · QRS", after));
    }
    rows.push(row("Pacemaker (c) · new LBBB", pacemaker(view)));
    let stay = outcomes.length_of_stay_days.map_or(String::new(), |days| {
        format!(
            " · {}{}",
            with_unit(&digits(days as f64, 0), "d"),
            view.doubt("length_of_stay_days")
        )
    });
    rows.push(row(
        "Discharge · stay (c)",
        format!("{}{stay}", plan::discharge(view)),
    ));
    rows
}

fn intended(view: &View<'_>) -> String {
    let after = &view.assessment.results.after;
    let verdict = match (
        after.intended_performance,
        view.assessment.performance.which,
    ) {
        (Endpoint::NotAssessable, PerformanceEcho::None) => "cannot be told: no echo",
        (verdict, _) => verdict.words(),
    };
    format!("{verdict}{}", view.doubt("intended_performance"))
}

/// A later visit whose indexed area lies in a worse class, as a fact of that visit: the latest such.
fn later_mismatch(view: &View<'_>) -> Option<Row> {
    let grave = |class: Mismatch| match class {
        Mismatch::None => Some(0),
        Mismatch::Moderate => Some(1),
        Mismatch::Severe => Some(2),
        _ => None,
    };
    let before = &view.assessment.results.before;
    let judged = grave(view.assessment.results.after.measured_ppm)?;
    let first = view
        .assessment
        .performance
        .visit
        .map_or(0, |visit| visit + 1);
    let (visit, indexed, class) = view
        .known
        .visits
        .iter()
        .skip(first)
        // From a reintervention on it is another valve.
        .take_while(|visit| visit.cells.valve_reintervention != Some(true))
        .filter_map(|visit| {
            let area = ProsthesisEcho::of_visit(&visit.cells).eoa_cm2()?;
            let indexed = area / before.bsa_m2?;
            let class = assess::mismatch(Some(indexed), before.bmi_kg_m2);
            (grave(class)? > judged).then_some((visit, indexed, class))
        })
        .last()?;
    Some(row(
        format!("\u{a0}\u{a0}at {} (c)", date(visit.date)),
        format!(
            "{}: range of {}",
            with_unit(&computed(Some(indexed), 2, limits::MISMATCH), "cm2/m2"),
            class.words()
        ),
    ))
}

fn mismatch(class: Mismatch, indexed: Option<f64>, doubt: &str) -> String {
    match indexed {
        Some(area) => format!(
            "{} ({}){doubt}",
            class.words(),
            with_unit(&computed(Some(area), 2, limits::MISMATCH), "cm2/m2")
        ),
        None => format!("{}{doubt}", class.words()),
    }
}

fn three(values: [Option<f64>; 3], most: usize, unit: &str) -> String {
    if values.iter().all(Option::is_none) {
        return NOT_RECORDED.to_owned();
    }
    with_unit(
        &values.map(|value| cell(value, most, &[])).join(" → "),
        unit,
    )
}

fn ecg(pr: Option<f64>, qrs: Option<f64>) -> String {
    both(&cell(pr, 0, &[]), " · ", &cell(qrs, 0, &[]), "ms")
}

fn kidney(view: &View<'_>) -> String {
    let cells = view.cells;
    let stage = view.assessment.results.outcomes.aki_stage;
    let graded = matches!(
        stage,
        AkiStage::Stage1 | AkiStage::Stage2 | AkiStage::Stage3
    );
    let ratio = cells
        .creatinine_peak_umol_l
        .zip(cells.creatinine_umol_l)
        .map(|(peak, before)| peak / before)
        .filter(|&ratio| graded && at_least(ratio, 1.5))
        .map_or(String::new(), |ratio| {
            format!(" (× {})", computed(Some(ratio), 1, &[1.5, 2.0, 3.0]))
        });
    let rise = cells
        .creatinine_48h_umol_l
        .zip(cells.creatinine_umol_l)
        .map(|(later, before)| later - before)
        .filter(|_| stage == AkiStage::Stage1 && ratio.is_empty())
        .map_or(String::new(), |rise| {
            format!(" (+{} in 48 h)", computed(Some(rise), 0, &[26.4]))
        });
    format!("{}{ratio}{rise}{}", stage.words(), view.doubt("aki_stage"))
}

fn pacemaker(view: &View<'_>) -> String {
    format!(
        "{}{} · {}",
        view.assessment.results.outcomes.new_pacemaker.words(),
        view.doubt("new_pacemaker"),
        view.cells
            .new_left_bundle_branch_block
            .map_or(DASH, |block| words::yes_no(Some(block)))
    )
}

/// Events in the procedure room: those that happened, or that none did, and how many are not recorded.
fn in_the_room(view: &View<'_>, detail: &Detail) -> String {
    let cells = view.cells;
    let events = [
        (cells.procedural_death, "death"),
        (cells.conversion_to_surgery, "conversion to surgery"),
        (cells.coronary_obstruction, "coronary obstruction"),
        (cells.annular_rupture, "annular rupture"),
        (cells.tamponade, "tamponade"),
        (cells.aortic_dissection, "dissection"),
        (cells.valve_embolisation, "embolisation"),
        (cells.second_valve, "second valve"),
    ];
    let happened: Vec<&str> = events
        .iter()
        .filter(|(cell, _)| *cell == Some(true))
        .map(|(_, words)| *words)
        .collect();
    let unknown: Vec<&str> = events
        .iter()
        .filter(|(cell, _)| cell.is_none())
        .map(|(_, words)| *words)
        .collect();
    let happened = if happened.is_empty() {
        "no event recorded".to_owned()
    } else {
        let most = if detail.tight { 2 } else { usize::MAX };
        let more = happened.len().saturating_sub(most);
        let first = happened[..happened.len().min(most)].join(", ");
        if more > 0 {
            format!("{first} and {more} more")
        } else {
            first
        }
    };
    match unknown.len() {
        0 if happened == "no event recorded" => "no event".to_owned(),
        0 => happened,
        8 => NOT_RECORDED.to_owned(),
        1 if !detail.tight => format!("{happened}; {} not recorded", unknown[0]),
        count => format!("{happened}; {count} of {} not recorded", events.len()),
    }
}
