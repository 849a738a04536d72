//! Outcomes: kidney injury, the VARC-3 composites with their parts, death and contact.

use super::bands::{above, all_of, at_least, at_most, below};
use super::known::{Known, Visit};
use super::result::{AkiStage, Endpoint, NewPacemaker, results};
use crate::date::days_between;
use crate::record::{
    BleedingType, CaseCells, CaseRecord, CellNotes, Extent, RowPlace, Stroke, VisitCells,
};

results! {
    /// Endpoints and stays.
    Outcomes {
        /// Acute kidney injury (VARC-3).
        aki_stage: AkiStage,
        /// Technical success on leaving the room (VARC-3).
        technical_success: Endpoint,
        /// Device success at 30 days (VARC-3).
        device_success: Endpoint,
        /// Early safety at 30 days (VARC-3).
        early_safety: Endpoint,
        /// Clinical efficacy at one year (VARC-3).
        clinical_efficacy_1y: Endpoint,
        /// Died on day 0 to 30.
        death_30d: Endpoint,
        /// New pacemaker to 30 days.
        new_pacemaker: NewPacemaker,
        /// Discharge minus admission (days).
        length_of_stay_days: Option<i64>,
        /// To death, else to the latest known contact (days).
        days_to_last_contact: Option<i64>,
    }
}

/// One part of a composite endpoint: `Some(true)` where it is known to hold.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Part {
    /// Stable name, for data.
    pub name: &'static str,
    /// Whether the part holds; `None` where it is unknown.
    pub holds: Option<bool>,
}

/// The parts of every composite, as each was judged.
#[derive(Clone, Debug, PartialEq)]
pub struct Composites {
    /// Parts of technical success.
    pub technical_success: Vec<Part>,
    /// Parts of device success.
    pub device_success: Vec<Part>,
    /// Parts of early safety.
    pub early_safety: Vec<Part>,
    /// Parts of clinical efficacy at one year.
    pub clinical_efficacy_1y: Vec<Part>,
}

fn judged(parts: &[Part]) -> Option<bool> {
    all_of(parts.iter().map(|part| part.holds))
}

fn not(value: Option<bool>) -> Option<bool> {
    value.map(|value| !value)
}

/// Whether a stage 3 rule is met: more than threefold, or 353.6 µmol/L (4.0 mg/dL) and more with a rise of 44 or more.
fn aki_stage_3(baseline: Option<f64>, peak: Option<f64>) -> Option<bool> {
    let (baseline, peak) = (baseline?, peak?);
    Some(above(peak / baseline, 3.0) || (at_least(peak, 353.6) && at_least(peak - baseline, 44.0)))
}

/// Acute kidney injury (VARC-3): ratio within 7 days, or rise within 48 hours (µmol/L).
pub fn aki_stage(cells: &CaseCells) -> AkiStage {
    if cells.dialysis == Some(true) {
        return AkiStage::NotApplicable;
    }
    if cells.new_dialysis == Some(true) {
        return AkiStage::Stage4;
    }
    let (Some(_), Some(_), Some(baseline), Some(peak)) = (
        cells.dialysis,
        cells.new_dialysis,
        cells.creatinine_umol_l,
        cells.creatinine_peak_umol_l,
    ) else {
        return AkiStage::NotAssessable;
    };
    let ratio = peak / baseline;
    let at_48_hours = cells.creatinine_48h_umol_l;
    if aki_stage_3(Some(baseline), Some(peak)) == Some(true) {
        AkiStage::Stage3
    } else if above(ratio, 2.0) {
        AkiStage::Stage2
    } else if at_least(ratio, 1.5)
        || at_48_hours.is_some_and(|value| at_least(value - baseline, 26.4))
    {
        AkiStage::Stage1
    } else if at_48_hours.is_some() || below(peak - baseline, 26.4) {
        AkiStage::None
    } else {
        AkiStage::NotAssessable
    }
}

/// "No kidney injury of stage 3 or 4", which can hold though the stage itself cannot be told.
fn no_severe_kidney_injury(cells: &CaseCells) -> Option<bool> {
    let stage_3 = aki_stage_3(cells.creatinine_umol_l, cells.creatinine_peak_umol_l);
    if cells.dialysis == Some(true) {
        Some(true)
    } else if cells.new_dialysis == Some(true) || stage_3 == Some(true) {
        Some(false)
    } else if cells.dialysis == Some(false)
        && cells.new_dialysis == Some(false)
        && stage_3 == Some(false)
    {
        Some(true)
    } else {
        None
    }
}

/// Whether the patient died on day 0 to `last_day`; no only with a later death or where known alive to that day.
pub fn died_by(known: &Known, last_day: i64) -> Option<bool> {
    match known.death_day() {
        Some(day) if (0..=last_day).contains(&day) => Some(true),
        Some(day) if day > last_day => Some(false),
        _ if known.alive_to_day() >= last_day => Some(false),
        _ => None,
    }
}

/// New pacemaker to 30 days; a patient with one before is outside the question.
pub fn new_pacemaker(cells: &CaseCells) -> NewPacemaker {
    match (cells.prior_pacemaker, cells.new_pacemaker_30d) {
        (Some(true), _) => NewPacemaker::NotApplicable,
        (None, _) | (_, None) => NewPacemaker::NotAssessable,
        (Some(false), Some(true)) => NewPacemaker::Yes,
        (Some(false), Some(false)) => NewPacemaker::No,
    }
}

/// Which event of a visit an efficacy part asks for: whether it happened, and its own date.
type Event = fn(&VisitCells) -> (Option<bool>, Option<jiff::civil::Date>);

/// Whether an event happened to day 365, from the visits that ask for it "since the last visit".
fn no_event_to_one_year(known: &Known, event: Event) -> Option<bool> {
    let mut unclear = false;
    let mut preceding_day = 0;
    for visit in &known.visits {
        let (happened, on) = event(&visit.cells);
        if happened == Some(true) {
            let day = on.map_or(visit.day, |date| known.day_of(date));
            if day <= 365 {
                return Some(false);
            }
            // Without its own date, the event lies anywhere between the two visits.
            unclear |= on.is_none() && preceding_day <= 365;
        }
        preceding_day = visit.day;
    }
    if unclear {
        return None;
    }
    let covering = known.visits.iter().position(|visit| visit.day >= 305)?;
    known.visits[..=covering]
        .iter()
        .all(|visit| event(&visit.cells).0.is_some())
        .then_some(true)
}

/// The visit that gives the quality of life at one year: of day 305 to 425 with a KCCQ, nearest day 365.
pub fn one_year_kccq_visit(known: &Known) -> Option<&Visit> {
    known
        .visits
        .iter()
        .filter(|visit| (305..=425).contains(&visit.day) && visit.cells.kccq.is_some())
        .min_by_key(|visit| ((visit.day - 365).abs(), visit.day))
}

impl Composites {
    /// Every composite's parts.
    ///
    /// `intended_performance` and `moderate_regurgitation` are those of the performance echo.
    pub fn of(
        known: &Known,
        intended_performance: Option<bool>,
        moderate_regurgitation: Option<bool>,
    ) -> Self {
        let cells = &known.cells;
        let part = |name, holds| Part { name, holds };
        let alive_30d = not(died_by(known, 30));
        let technical_success = vec![
            part("no_procedural_death", not(cells.procedural_death)),
            part(
                "access_delivery_retrieval",
                cells.access_delivery_retrieval_ok,
            ),
            part("position", cells.position_ok),
            part("single_valve", not(cells.second_valve)),
            part("no_conversion_to_surgery", not(cells.conversion_to_surgery)),
            part(
                "no_device_intervention_in_room",
                not(cells.device_intervention_in_room),
            ),
            part(
                "no_complication_intervention_in_room",
                not(cells.complication_intervention_in_room),
            ),
        ];
        let device_success = vec![
            part("technical_success", judged(&technical_success)),
            part("alive_30d", alive_30d),
            part(
                "no_device_intervention_to_30_days",
                not(cells.device_intervention_to_30_days),
            ),
            part(
                "no_complication_intervention_to_30_days",
                not(cells.complication_intervention_to_30_days),
            ),
            part("intended_performance", intended_performance),
        ];
        let no_stroke = cells
            .stroke_30d
            .map(|stroke| matches!(stroke, Stroke::None | Stroke::Tia));
        let early_safety = vec![
            part("alive_30d", alive_30d),
            part("no_stroke", no_stroke),
            part(
                "no_bleeding_type_2_to_4",
                cells
                    .bleeding_type
                    .map(|bleeding| bleeding <= BleedingType::Type1),
            ),
            part(
                "no_major_vascular_complication",
                cells
                    .vascular_complication
                    .map(|extent| extent != Extent::Major),
            ),
            part(
                "no_major_structural_complication",
                cells
                    .structural_complication
                    .map(|extent| extent != Extent::Major),
            ),
            part(
                "no_kidney_injury_stage_3_or_4",
                no_severe_kidney_injury(cells),
            ),
            part("no_moderate_regurgitation", not(moderate_regurgitation)),
            part(
                "no_new_pacemaker",
                match new_pacemaker(cells) {
                    NewPacemaker::No | NewPacemaker::NotApplicable => Some(true),
                    NewPacemaker::Yes => Some(false),
                    NewPacemaker::NotAssessable => None,
                },
            ),
            part(
                "no_device_intervention_in_room",
                not(cells.device_intervention_in_room),
            ),
            part(
                "no_device_intervention_to_30_days",
                not(cells.device_intervention_to_30_days),
            ),
        ];
        let kccq = one_year_kccq_visit(known).and_then(|visit| visit.cells.kccq);
        let clinical_efficacy_1y = vec![
            part("alive_365d", not(died_by(known, 365))),
            part("no_stroke_30d", no_stroke),
            part(
                "no_stroke_365d",
                no_event_to_one_year(known, |visit| (visit.stroke, visit.stroke_date)),
            ),
            part(
                "no_hospitalisation_365d",
                no_event_to_one_year(known, |visit| {
                    (
                        visit.hospitalised_for_valve_or_procedure,
                        visit.hospitalisation_date,
                    )
                }),
            ),
            part("kccq_45_or_more", kccq.map(|score| at_least(score, 45.0))),
            part(
                "kccq_not_10_worse",
                kccq.zip(cells.kccq_baseline)
                    .map(|(score, baseline)| at_most(baseline - score, 10.0)),
            ),
        ];
        Self {
            technical_success,
            device_success,
            early_safety,
            clinical_efficacy_1y,
        }
    }
}

/// Every composite with the names of its parts, in their order.
pub fn composites() -> Vec<(&'static str, Vec<&'static str>)> {
    let names = |parts: &[Part]| parts.iter().map(|part| part.name).collect();
    let day = jiff::civil::Date::constant(2000, 1, 1);
    // A case of which nothing is known: its composites have all their parts.
    let blank = CaseRecord {
        case_id: "".into(),
        procedure_date: day,
        cells: CaseCells::default().into(),
        notes: CellNotes::default(),
        place: RowPlace {
            file: "".into(),
            line: 0,
        },
        visits: Vec::new(),
    };
    let Some(known) = Known::on(&blank, day) else {
        return Vec::new();
    };
    let parts = Composites::of(&known, None, None);
    vec![
        ("technical_success", names(&parts.technical_success)),
        ("device_success", names(&parts.device_success)),
        ("early_safety", names(&parts.early_safety)),
        ("clinical_efficacy_1y", names(&parts.clinical_efficacy_1y)),
    ]
}

impl Outcomes {
    /// Every endpoint.
    pub fn of(known: &Known, composites: &Composites) -> Self {
        let cells = &known.cells;
        Self {
            aki_stage: aki_stage(cells),
            technical_success: judged(&composites.technical_success).into(),
            device_success: judged(&composites.device_success).into(),
            early_safety: judged(&composites.early_safety).into(),
            clinical_efficacy_1y: judged(&composites.clinical_efficacy_1y).into(),
            death_30d: died_by(known, 30).into(),
            new_pacemaker: new_pacemaker(cells),
            length_of_stay_days: cells
                .admission_date
                .zip(cells.discharge_date)
                .map(|(admission, discharge)| days_between(admission, discharge)),
            days_to_last_contact: Some(known.death_day().unwrap_or_else(|| known.alive_to_day())),
        }
    }
}
