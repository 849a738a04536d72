//! Stenosis, flow, ventricle and risk before the procedure.

use super::super::ladder::Detail;
use super::super::limits;
use super::super::view::{View, both, cell, computed, measured};
use super::{Row, row};
use crate::assess::{StenosisClass, damage_criteria, pulmonary_term_assumed};
use crate::page::number::with_unit;
use crate::page::words::{self, DASH, Words};
use crate::record::Choice;

pub(super) fn rows(view: &View<'_>, detail: &Detail) -> Vec<Row> {
    let cells = view.cells;
    let before = &view.assessment.results.before;
    let mean = cell(cells.baseline_mean_gradient_mmhg, 1, limits::BASELINE_MEAN);
    let peak = computed(before.baseline_peak_gradient_mmhg, 0, &[]);
    let gradient_doubt = view.cell_doubt(&["baseline_mean_gradient_mmhg", "baseline_vmax_m_s"]);
    let area = computed(before.baseline_ava_computed_cm2, 2, limits::AREA);
    let reported = cell(cells.baseline_ava_cm2, 2, limits::AREA);
    let indexed = with(computed(before.baseline_avai_cm2_m2, 2, &[]), "cm2/m2");
    let velocities = cells.baseline_lvot_vti_cm.is_none() || cells.baseline_av_vti_cm.is_none();
    let dvi = computed(before.baseline_dvi, 2, &[]);
    let dvi = if velocities && before.baseline_dvi.is_some() {
        format!("{dvi} by velocity")
    } else {
        dvi
    };
    let volume = with(computed(before.baseline_stroke_volume_ml, 0, &[]), "mL");
    let index = with(computed(before.baseline_svi_ml_m2, 0, limits::SVI), "mL/m2");
    let mut rows = vec![
        row(
            "Mean · peak (c) gradient",
            format!("{}{gradient_doubt}", both(&mean, " · ", &peak, "mmHg")),
        ),
        row(
            "Peak velocity",
            format!(
                "{}{gradient_doubt}",
                measured(cells.baseline_vmax_m_s, 2, "m/s", limits::BASELINE_VMAX)
            ),
        ),
        row(
            "Valve area (c) | reported",
            format!(
                "{}{}",
                both(&area, " | ", &reported, "cm2"),
                view.doubt("baseline_ava_computed_cm2")
            ),
        ),
        row(
            "Indexed area · DVI (c)",
            format!(
                "{indexed} · {dvi}{}",
                view.doubt_any(&["baseline_avai_cm2_m2", "baseline_dvi"])
            ),
        ),
        row(
            "Stroke volume · index (c)",
            format!(
                "{volume} · {index}{}",
                view.doubt_any(&["baseline_stroke_volume_ml", "baseline_svi_ml_m2"])
            ),
        ),
        row(
            "Stenosis (c)",
            format!(
                "{}{}",
                before.stenosis_class.words(),
                view.doubt("stenosis_class")
            ),
        ),
    ];
    if let Some(because) = because(view) {
        rows.push(row("\u{a0}\u{a0}because", because));
    }
    rows.extend([
        row("LVEF · RV systolic", lvef_and_pressure(view)),
        row("Leak AV · MV · TV", leaks(view)),
        row("CT calcium score", calcium(view)),
    ]);
    if !detail.no_fine_stenosis {
        rows.push(row("LV mass index · wall (c)", ventricle(view)));
        rows.push(row(
            "Cardiac damage (c)",
            format!("{}{}", damage(view), view.doubt("cardiac_damage_stage")),
        ));
        let zva = with(
            computed(before.baseline_zva_mmhg_ml_m2, 1, &[]),
            "mmHg/(mL/m2)",
        );
        let loss = with(
            computed(before.baseline_energy_loss_index_cm2_m2, 2, &[]),
            "cm2/m2",
        );
        rows.push(row(
            "Zva · energy loss index (c)",
            format!(
                "{zva} · {loss}{}",
                view.doubt_any(&[
                    "baseline_zva_mmhg_ml_m2",
                    "baseline_energy_loss_index_cm2_m2"
                ])
            ),
        ));
    }
    let score = computed(before.euroscore2_pct, 1, &[]);
    let score_reported = cell(cells.euroscore2_reported_pct, 2, &[]);
    let assumed = if before.euroscore2_pct.is_some()
        && pulmonary_term_assumed(cells, before.baseline_rvsp_used_mmhg)
    {
        ", lung pressure assumed normal"
    } else {
        ""
    };
    rows.push(row(
        "EuroSCORE II (c) | reported",
        format!(
            "{}{}{assumed}",
            both(&score, " | ", &score_reported, "%"),
            view.doubt("euroscore2_pct")
        ),
    ));
    let frailty = cells
        .clinical_frailty_scale
        .map_or(DASH.to_owned(), |scale| format!("{scale} of 9"));
    let urgency = cells.urgency.map_or(DASH.to_owned(), words::plain);
    if detail.no_other_scores {
        rows.push(row("Frailty · urgency", format!("{frailty} · {urgency}")));
    } else {
        rows.push(row(
            "STS · frailty · urgency",
            format!(
                "{} · {frailty} · {urgency}",
                measured(cells.sts_prom_pct, 2, "%", &[])
            ),
        ));
    }
    rows.push(row("Body surface · BMI (c)", body(view)));
    rows
}

fn with(number: String, unit: &str) -> String {
    if number == DASH {
        number
    } else {
        with_unit(&number, unit)
    }
}

fn body(view: &View<'_>) -> String {
    let before = &view.assessment.results.before;
    format!(
        "{} · {}",
        with(computed(before.bsa_m2, 2, &[]), "m2"),
        with(computed(before.bmi_kg_m2, 1, limits::BMI), "kg/m2")
    )
}

/// Which rule decides the class, with the numbers that meet it.
fn because(view: &View<'_>) -> Option<String> {
    let cells = view.cells;
    let before = &view.assessment.results.before;
    let svi = || with(computed(before.baseline_svi_ml_m2, 0, limits::SVI), "mL/m2");
    Some(match before.stenosis_class {
        StenosisClass::HighGradient => {
            let mut rules = Vec::new();
            if cells
                .baseline_mean_gradient_mmhg
                .is_some_and(|mean| crate::assess::bands::at_least(mean, 40.0))
            {
                rules.push("mean ≥ 40 mmHg");
            }
            if cells
                .baseline_vmax_m_s
                .is_some_and(|jet| crate::assess::bands::at_least(jet, 4.0))
            {
                rules.push("Vmax ≥ 4 m/s");
            }
            rules.join(", ")
        }
        StenosisClass::ClassicalLowFlowLowGradient => {
            format!("index {} ≤ 35, LVEF < 50\u{a0}%", svi())
        }
        StenosisClass::ParadoxicalLowFlowLowGradient => {
            format!("index {} ≤ 35, LVEF ≥ 50\u{a0}%", svi())
        }
        StenosisClass::NormalFlowLowGradient => format!("index {} > 35", svi()),
        StenosisClass::NotSevere => "area > 1.0\u{a0}cm²".to_owned(),
        StenosisClass::NotApplicable | StenosisClass::NotAssessable => return None,
    })
}

fn lvef_and_pressure(view: &View<'_>) -> String {
    let cells = view.cells;
    let used = view.assessment.results.before.baseline_rvsp_used_mmhg;
    let pressure = match (cells.baseline_rvsp_mmhg, used) {
        (Some(reported), _) => measured(Some(reported), 0, "mmHg", limits::RVSP),
        (None, Some(used)) => format!(
            "{} (c)",
            with(computed(Some(used), 0, limits::RVSP), "mmHg")
        ),
        (None, None) => DASH.to_owned(),
    };
    format!(
        "{} · {pressure}",
        measured(cells.baseline_lvef_pct, 0, "%", limits::LVEF)
    )
}

fn leaks(view: &View<'_>) -> String {
    let cells = view.cells;
    [
        cells.baseline_ar_grade,
        cells.baseline_mr_grade,
        cells.baseline_tr_grade,
    ]
    .map(|grade| grade.map_or(DASH, Choice::word))
    .join(" · ")
}

fn calcium(view: &View<'_>) -> String {
    use crate::assess::CalciumLikelihood;
    let score = measured(view.cells.calcium_score_au, 0, "AU", limits::CALCIUM);
    match view.assessment.results.before.calcium_likelihood {
        CalciumLikelihood::NotAssessable if view.cells.calcium_score_au.is_none() => score,
        CalciumLikelihood::NotAssessable => format!("{score}, sex not recorded"),
        likelihood => format!(
            "{score}, {} (c){}",
            likelihood.words(),
            view.doubt("calcium_likelihood")
        ),
    }
}

/// The stage with the criteria that make it.
fn damage(view: &View<'_>) -> String {
    let before = &view.assessment.results.before;
    let criteria = damage_criteria(
        view.known,
        before.baseline_rvsp_used_mmhg,
        before.lv_mass_index_g_m2,
    );
    let present = || criteria.iter().filter(|one| one.present == Some(true));
    let stage = before.cardiac_damage_stage.words();
    let Some(highest) = present().map(|one| one.stage).max() else {
        return stage.to_owned();
    };
    let because: Vec<&str> = present()
        .filter(|one| one.stage == highest)
        .map(|one| one.words)
        .collect();
    let stage = stage.split(',').next().unwrap_or(stage);
    format!("{stage}: {}", because.join(", "))
}

fn ventricle(view: &View<'_>) -> String {
    use crate::assess::LvGeometry;
    let before = &view.assessment.results.before;
    let mass = with(
        computed(before.lv_mass_index_g_m2, 0, limits::LV_MASS),
        "g/m2",
    );
    let wall = computed(before.relative_wall_thickness, 2, limits::WALL);
    let geometry = match before.lv_geometry {
        LvGeometry::NotAssessable => String::new(),
        geometry => format!(", {}", geometry.words()),
    };
    format!(
        "{mass} · {wall}{geometry}{}",
        view.doubt_any(&["lv_mass_index_g_m2", "lv_geometry"])
    )
}
