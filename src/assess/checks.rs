//! Checks across cells: what cannot all be right. They report and raise a flag; they reject nothing.

use std::f64::consts::PI;

use super::bands::{above, at_least, below};
use super::known::Known;
use super::sizing::area_off_ellipse;
use crate::record::{CaseCells, CaseRecord, DischargeStatus, Extent};

/// One check that failed: what cannot be, and the cells that it compares.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FailedCheck {
    /// What the cells say together, in a clinician's words.
    pub says: &'static str,
    /// The columns compared, in the order they are named.
    pub columns: &'static [&'static str],
    /// Position in [`Known::visits`], where the cells are a visit's.
    pub visit: Option<usize>,
}

/// Mean gradient above four times the square of the peak velocity.
fn gradient_above_peak(mean_mmhg: Option<f64>, vmax_m_s: Option<f64>) -> bool {
    mean_mmhg
        .zip(vmax_m_s)
        .is_some_and(|(mean, jet)| above(mean, 4.0 * jet * jet))
}

fn greater(a: Option<f64>, b: Option<f64>) -> bool {
    a.zip(b).is_some_and(|(a, b)| above(a, b))
}

fn pressures_reversed(diastolic: Option<f64>, systolic: Option<f64>) -> bool {
    diastolic
        .zip(systolic)
        .is_some_and(|(low, high)| at_least(low, high))
}

fn perimeter_too_short(cells: &CaseCells) -> bool {
    cells
        .annulus_perimeter_mm
        .zip(cells.annulus_area_mm2)
        .is_some_and(|(perimeter, area)| below(perimeter * perimeter, 0.98 * 4.0 * PI * area))
}

/// Every check that fails for this case, in the order they are documented.
pub fn failed_checks(record: &CaseRecord, known: &Known) -> Vec<FailedCheck> {
    let cells = &known.cells;
    let yes = |cell: Option<bool>| cell == Some(true);
    let before_procedure =
        |date: Option<jiff::civil::Date>| date.is_some_and(|date| date < known.procedure_date);
    let after_procedure =
        |date: Option<jiff::civil::Date>| date.is_some_and(|date| date > known.procedure_date);
    let structural_none = cells.structural_complication == Some(Extent::None);
    let mut failed = Vec::new();
    let mut check = |fails: bool, says: &'static str, columns: &'static [&'static str]| {
        if fails {
            failed.push(FailedCheck {
                says,
                columns,
                visit: None,
            });
        }
    };

    check(
        gradient_above_peak(cells.baseline_mean_gradient_mmhg, cells.baseline_vmax_m_s),
        "mean gradient above the peak gradient, before",
        &["baseline_mean_gradient_mmhg", "baseline_vmax_m_s"],
    );
    check(
        gradient_above_peak(cells.post_mean_gradient_mmhg, cells.post_vmax_m_s),
        "mean gradient above the peak gradient, before discharge",
        &["post_mean_gradient_mmhg", "post_vmax_m_s"],
    );
    check(
        greater(cells.baseline_lvot_vti_cm, cells.baseline_av_vti_cm),
        "aortic velocity-time integral below that of the outflow tract, before",
        &["baseline_av_vti_cm", "baseline_lvot_vti_cm"],
    );
    check(
        greater(cells.post_lvot_vti_cm, cells.post_av_vti_cm),
        "velocity-time integral across the prosthesis below that of the outflow tract, before discharge",
        &["post_av_vti_cm", "post_lvot_vti_cm"],
    );
    check(
        perimeter_too_short(cells),
        "annulus perimeter shorter than the circle of its area",
        &["annulus_perimeter_mm", "annulus_area_mm2"],
    );
    check(
        greater(cells.annulus_min_mm, cells.annulus_max_mm),
        "shortest annulus diameter longer than the longest",
        &["annulus_min_mm", "annulus_max_mm"],
    );
    check(
        area_off_ellipse(cells),
        "annulus area far from the ellipse of its two diameters",
        &["annulus_area_mm2", "annulus_min_mm", "annulus_max_mm"],
    );
    check(
        pressures_reversed(cells.baseline_dbp_mmhg, cells.baseline_sbp_mmhg),
        "diastolic pressure not below systolic, at the echocardiogram",
        &["baseline_dbp_mmhg", "baseline_sbp_mmhg"],
    );
    check(
        pressures_reversed(cells.aortic_dbp_before_mmhg, cells.aortic_sbp_before_mmhg),
        "aortic diastolic pressure not below systolic, before implantation",
        &["aortic_dbp_before_mmhg", "aortic_sbp_before_mmhg"],
    );
    check(
        pressures_reversed(cells.aortic_dbp_after_mmhg, cells.aortic_sbp_after_mmhg),
        "aortic diastolic pressure not below systolic, after implantation",
        &["aortic_dbp_after_mmhg", "aortic_sbp_after_mmhg"],
    );
    check(
        before_procedure(cells.discharge_date),
        "discharge before the procedure",
        &["discharge_date", "procedure_date"],
    );
    check(
        before_procedure(cells.death_date),
        "death before the procedure",
        &["death_date", "procedure_date"],
    );
    check(
        before_procedure(cells.post_echo_date),
        "echocardiogram before discharge dated before the procedure",
        &["post_echo_date", "procedure_date"],
    );
    check(
        after_procedure(cells.ct_date),
        "planning CT after the procedure",
        &["ct_date", "procedure_date"],
    );
    check(
        after_procedure(cells.baseline_echo_date),
        "baseline echocardiogram after the procedure",
        &["baseline_echo_date", "procedure_date"],
    );
    check(
        yes(cells.valve_embolisation) && yes(cells.position_ok),
        "valve embolised and position correct",
        &["valve_embolisation", "position_ok"],
    );
    check(
        yes(cells.no_valve_implanted) && yes(cells.position_ok),
        "no valve implanted and position correct",
        &["no_valve_implanted", "position_ok"],
    );
    check(
        yes(cells.annular_rupture) && structural_none,
        "annular rupture and no structural complication",
        &["annular_rupture", "structural_complication"],
    );
    check(
        yes(cells.tamponade) && structural_none,
        "tamponade and no structural complication",
        &["tamponade", "structural_complication"],
    );
    check(
        yes(cells.aortic_dissection) && structural_none,
        "aortic dissection and no structural complication",
        &["aortic_dissection", "structural_complication"],
    );
    check(
        yes(cells.coronary_obstruction) && structural_none,
        "coronary obstruction and no structural complication",
        &["coronary_obstruction", "structural_complication"],
    );
    check(
        yes(cells.new_pacemaker_30d) && yes(cells.prior_pacemaker),
        "new pacemaker with a pacemaker before",
        &["new_pacemaker_30d", "prior_pacemaker"],
    );
    check(
        yes(cells.conversion_to_surgery)
            && cells.device_intervention_in_room == Some(false)
            && cells.complication_intervention_in_room == Some(false),
        "conversion to surgery and no intervention in the room",
        &[
            "conversion_to_surgery",
            "device_intervention_in_room",
            "complication_intervention_in_room",
        ],
    );
    check(
        yes(cells.procedural_death) && cells.discharge_status == Some(DischargeStatus::Alive),
        "procedural death and discharged alive",
        &["procedural_death", "discharge_status"],
    );
    check(
        yes(cells.procedural_death) && cells.discharge_date.is_some(),
        "procedural death and a discharge date",
        &["procedural_death", "discharge_date"],
    );
    check(
        yes(cells.procedural_death) && after_procedure(cells.death_date),
        "procedural death and a later date of death",
        &["procedural_death", "death_date"],
    );
    check(
        cells.discharge_status == Some(DischargeStatus::DiedInHospital)
            && record.cells.death_date.is_none()
            && !yes(cells.procedural_death),
        "died in hospital without a date of death",
        &["discharge_status", "death_date"],
    );

    for (position, visit) in known.visits.iter().enumerate() {
        let cells = &visit.cells;
        let mut check = |fails: bool, says, columns| {
            if fails {
                failed.push(FailedCheck {
                    says,
                    columns,
                    visit: Some(position),
                });
            }
        };
        check(
            gradient_above_peak(cells.mean_gradient_mmhg, cells.vmax_m_s),
            "mean gradient above the peak gradient, at the visit",
            &["mean_gradient_mmhg", "vmax_m_s"],
        );
        check(
            greater(cells.lvot_vti_cm, cells.av_vti_cm),
            "velocity-time integral across the prosthesis below that of the outflow tract, at the visit",
            &["av_vti_cm", "lvot_vti_cm"],
        );
    }
    failed
}
