//! Classes and choices in a clinician's words; a page never prints a code.

use crate::assess::{
    AkiStage, CalciumLikelihood, CardiacDamageStage, DeteriorationStage, Endpoint, LvGeometry,
    Mismatch, NewPacemaker, RangePosition, SizingAgreement, StenosisClass, ValveFailure,
};
use crate::record::{
    AccessRoute, Antithrombotic, AntithromboticThen, Attendance, BleedingType, Choice, DeathCause,
    Extent, FollowUpStatus, Mechanism, Morphology, RhythmMonitor, Seal, Stroke,
};

/// What stands where nothing was recorded.
pub const NOT_RECORDED: &str = "not recorded";
/// The same in a narrow cell; the page's key explains it. Longer than a minus, so that `— · 117` is not read as one.
pub const DASH: &str = "—";
/// What stands where a class cannot be told.
pub const CANNOT_BE_TOLD: &str = "cannot be told";
/// Marks what was computed here.
pub const COMPUTED: &str = "(c)";
/// Marks a result with an input that a check put in doubt.
pub const DOUBT: &str = "†";

/// A choice in words.
pub trait Words {
    /// The words.
    fn words(self) -> &'static str;
}

/// The word of a choice as it stands, for choices that are words already.
pub fn plain<T: Choice>(choice: T) -> String {
    choice.word().replace('_', " ")
}

/// `yes`, `no` or `not recorded`.
pub fn yes_no(cell: Option<bool>) -> &'static str {
    match cell {
        Some(true) => "yes",
        Some(false) => "no",
        None => NOT_RECORDED,
    }
}

macro_rules! words {
    ($($ty:ident { $($variant:ident = $words:literal),+ $(,)? })+) => {$(
        impl Words for $ty {
            fn words(self) -> &'static str {
                match self { $(Self::$variant => $words),+ }
            }
        }
    )+};
}

words! {
    StenosisClass {
        HighGradient = "severe, high gradient",
        ClassicalLowFlowLowGradient = "classical low-flow low-gradient",
        ParadoxicalLowFlowLowGradient = "paradoxical low-flow low-gradient",
        NormalFlowLowGradient = "normal-flow low-gradient",
        NotSevere = "not severe",
        NotApplicable = "not applicable: surgical valve",
        NotAssessable = "cannot be told",
    }
    LvGeometry {
        Normal = "normal",
        ConcentricRemodelling = "concentric remodelling",
        EccentricHypertrophy = "eccentric hypertrophy",
        ConcentricHypertrophy = "concentric hypertrophy",
        NotAssessable = "cannot be told",
    }
    CalciumLikelihood {
        VeryLikely = "severe very likely",
        Likely = "severe likely",
        Intermediate = "between the limits",
        Unlikely = "severe unlikely",
        NotApplicable = "not applicable",
        NotAssessable = "cannot be told",
    }
    CardiacDamageStage {
        Stage0 = "stage 0, none",
        Stage1 = "stage 1, left ventricle",
        Stage2 = "stage 2, left atrium or mitral",
        Stage3 = "stage 3, lung or tricuspid",
        Stage4 = "stage 4, right ventricle",
        AtLeast0 = "none known; inputs missing",
        AtLeast1 = "at least stage 1, left ventricle",
        AtLeast2 = "at least stage 2, left atrium",
        AtLeast3 = "at least stage 3, lung",
        NotAssessable = "cannot be told",
    }
    RangePosition {
        Below = "smaller than the labelled range (device large for it)",
        Within = "within the labelled range",
        Above = "larger than the labelled range (device small for it)",
        NotAssessable = "cannot be told",
    }
    SizingAgreement {
        Agree = "all lines hold the implanted size",
        Disagree = "lines differ",
        OneLine = "one line of evidence only",
        NotAssessable = "cannot be told",
    }
    Endpoint {
        Yes = "met",
        No = "not met",
        NotAssessable = "cannot be told",
    }
    NewPacemaker {
        Yes = "yes",
        No = "no",
        NotApplicable = "had one before",
        NotAssessable = "cannot be told",
    }
    Mismatch {
        None = "none",
        Moderate = "moderate",
        Severe = "severe",
        NotAssessable = "cannot be told",
    }
    AkiStage {
        None = "none",
        Stage1 = "stage 1",
        Stage2 = "stage 2",
        Stage3 = "stage 3",
        Stage4 = "stage 4, new dialysis",
        NotApplicable = "not applicable: dialysis before",
        NotAssessable = "cannot be told",
    }
    DeteriorationStage {
        None = "none",
        Stage2 = "stage 2",
        Stage3 = "stage 3",
        NotAssessable = "cannot be told",
    }
    ValveFailure {
        None = "none",
        Stage1 = "stage 1",
        Stage2 = "stage 2, reintervention",
        Stage3 = "stage 3, valve-related death",
        NotAssessable = "cannot be told",
    }
    Morphology {
        Tricuspid = "tricuspid",
        BicuspidType0 = "bicuspid type 0",
        BicuspidType1 = "bicuspid type 1",
        BicuspidType2 = "bicuspid type 2",
        BicuspidUndetermined = "bicuspid, type undetermined",
        SurgicalBioprosthesis = "failed surgical bioprosthesis",
    }
    AccessRoute {
        Transfemoral = "transfemoral",
        Transsubclavian = "transsubclavian",
        Transcarotid = "transcarotid",
        Transcaval = "transcaval",
        Transapical = "transapical",
        DirectAortic = "direct aortic",
    }
    Mechanism {
        BalloonExpandable = "balloon-expandable",
        SelfExpanding = "self-expanding",
        MechanicallyExpandable = "mechanically expandable",
    }
    Seal {
        Complete = "sealed completely",
        Partial = "sealed in part",
        None = "did not seal",
    }
    Extent {
        None = "none",
        Minor = "minor",
        Major = "major",
    }
    BleedingType {
        None = "none",
        Type1 = "type 1",
        Type2 = "type 2",
        Type3 = "type 3",
        Type4 = "type 4",
    }
    Stroke {
        None = "none",
        Tia = "TIA",
        Ischaemic = "ischaemic stroke",
        Haemorrhagic = "haemorrhagic stroke",
        Unspecified = "stroke, kind not specified",
    }
    Antithrombotic {
        None = "none",
        SingleAntiplatelet = "single antiplatelet",
        DualAntiplatelet = "dual antiplatelet",
        Anticoagulant = "anticoagulant",
        AnticoagulantPlusAntiplatelet = "anticoagulant + antiplatelet",
    }
    AntithromboticThen {
        None = "none",
        SingleAntiplatelet = "single antiplatelet",
        DualAntiplatelet = "dual antiplatelet",
        Anticoagulant = "anticoagulant",
        AnticoagulantPlusAntiplatelet = "anticoagulant + antiplatelet",
        Review = "review",
    }
    RhythmMonitor {
        None = "none ordered",
        Ordered = "ordered, result not recorded",
        NoBlock = "done, no block",
        BlockFound = "done, block found",
    }
    FollowUpStatus {
        Active = "in follow-up here",
        Elsewhere = "followed elsewhere",
        Declined = "follow-up declined",
        Unreachable = "unreachable",
    }
    DeathCause {
        Cardiovascular = "cardiovascular",
        NonCardiovascular = "not cardiovascular",
        Unknown = "unknown",
    }
    Attendance {
        Attended = "attended",
        Telephone = "by telephone",
        RecordReview = "from the records",
        DidNotAttend = "did not attend",
    }
}

/// A missing cell as it is asked for: the patient may be known alive to some day, and it is a later one that tells more.
pub fn asked(name: &str) -> String {
    match name {
        "last_contact_date" => "a later sign of life".to_owned(),
        name => column(name),
    }
}

/// A column of the cases or follow-up file as people call it: `outflow VTI before` for `baseline_lvot_vti_cm`.
pub fn column(name: &str) -> String {
    const UNITS: [&str; 21] = [
        "_umol_l", "_g_dl", "_gy_cm2", "_ml_m2", "_l_min", "_m_s", "_mmhg", "_mm2", "_cm2", "_mm",
        "_cm", "_kg", "_ml", "_ms", "_pct", "_bpm", "_deg", "_au", "_years", "_min", "_s",
    ];
    const NAMES: [(&str, &str); 33] = [
        (
            "access_delivery_retrieval_ok",
            "access, delivery and retrieval",
        ),
        ("position_ok", "valve position"),
        ("second_valve", "second valve"),
        ("procedural_death", "death in the room"),
        ("vascular_complication", "vascular complication"),
        ("structural_complication", "structural complication"),
        ("stroke_30d", "stroke to day 30"),
        ("bleeding_type", "bleeding to day 30"),
        ("new_pacemaker_30d", "new pacemaker"),
        (
            "device_intervention_in_room",
            "device intervention in the room",
        ),
        (
            "device_intervention_to_30_days",
            "device intervention to day 30",
        ),
        (
            "complication_intervention_in_room",
            "intervention for a complication in the room",
        ),
        (
            "complication_intervention_to_30_days",
            "intervention for a complication to day 30",
        ),
        ("annulus_min_mm", "shortest annulus diameter"),
        ("annulus_max_mm", "longest annulus diameter"),
        ("prior_pacemaker", "pacemaker before"),
        ("ccs4_angina", "angina at rest"),
        ("insulin_diabetes", "diabetes on insulin"),
        ("rv_dysfunction", "right ventricular dysfunction"),
        ("e_over_e_prime", "E/e′"),
        ("dialysis", "dialysis before"),
        ("nyha_class", "NYHA class"),
        ("kccq_baseline", "KCCQ before"),
        ("fill_volume_change_ml", "balloon fill change"),
        (
            "postdilatation_volume_change_ml",
            "fill change at post-dilatation",
        ),
        ("predilatation_balloon_mm", "pre-dilatation balloon"),
        ("access_min_lumen_mm", "smallest access lumen"),
        ("creatinine_umol_l", "creatinine before"),
        ("haemoglobin_g_dl", "haemoglobin before"),
        ("creatinine_48h_umol_l", "creatinine within 48 h"),
        ("device_id", "implanted device"),
        ("last_contact_date", "last contact"),
        ("valve_morphology", "valve morphology"),
    ];
    const PARTS: [(&str, &str); 15] = [
        ("lvot", "outflow"),
        ("av", "valve"),
        ("vti", "VTI"),
        ("vmax", "peak velocity"),
        ("lvef", "LVEF"),
        ("rvsp", "right ventricular pressure"),
        ("sbp", "systolic pressure"),
        ("dbp", "diastolic pressure"),
        ("lvedd", "LV diameter"),
        ("ava", "valve area"),
        ("tr", "tricuspid jet"),
        ("pr", "PR"),
        ("qrs", "QRS"),
        ("kccq", "KCCQ"),
        ("lvedp", "LV end-diastolic pressure"),
    ];
    if let Some((_, words)) = NAMES.iter().find(|(column, _)| *column == name) {
        return (*words).to_owned();
    }
    let bare = UNITS
        .iter()
        .find_map(|unit| name.strip_suffix(unit))
        .unwrap_or(name);
    let (bare, when) = if let Some(rest) = bare.strip_prefix("baseline_") {
        (rest, " before")
    } else if let Some(rest) = bare.strip_prefix("post_") {
        (rest, " at discharge")
    } else {
        (bare, "")
    };
    let words: Vec<&str> = bare
        .split('_')
        .map(|part| {
            PARTS
                .iter()
                .find(|(short, _)| *short == part)
                .map_or(part, |(_, words)| *words)
        })
        .collect();
    match words.as_slice() {
        ["tricuspid jet", "grade"] => format!("tricuspid regurgitation{when}"),
        ["mr", "grade"] => format!("mitral regurgitation{when}"),
        ["ar", "grade"] => format!("aortic regurgitation{when}"),
        ["tricuspid jet", "peak velocity"] => format!("tricuspid jet{when}"),
        _ => format!("{}{when}", words.join(" ")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_have_names_that_people_use() {
        assert_eq!(column("baseline_lvot_vti_cm"), "outflow VTI before");
        assert_eq!(column("post_vmax_m_s"), "peak velocity at discharge");
        assert_eq!(column("baseline_mr_grade"), "mitral regurgitation before");
        assert_eq!(column("annulus_area_mm2"), "annulus area");
        assert_eq!(column("lvot_diameter_mm"), "outflow diameter");
    }

    #[test]
    fn no_column_name_keeps_its_underscores() {
        for column in crate::dictionary::COLUMNS.iter() {
            assert!(
                !super::column(&column.name).contains('_'),
                "{}",
                column.name
            );
        }
    }
}
