//! The choices a cell can hold, in the order of the dictionary.

/// Declares an enum whose variants are the dictionary's words for a column.
macro_rules! choices {
    ($($(#[$doc:meta])* $name:ident { $($variant:ident = $word:literal),+ $(,)? })+) => {$(
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum $name { $(#[doc = concat!("`", $word, "`")] $variant),+ }

        impl $crate::record::Choice for $name {
            const ALL: &'static [Self] = &[$(Self::$variant),+];
            fn word(self) -> &'static str {
                match self { $(Self::$variant => $word),+ }
            }
            fn position(self) -> usize {
                self as usize
            }
        }
    )+};
}

pub(crate) use choices;

choices! {
    /// Sex, as the published thresholds that depend on it use it.
    Sex { Female = "female", Male = "male" }

    /// Why the valve was implanted.
    Indication { AorticStenosis = "aortic_stenosis", AorticRegurgitation = "aortic_regurgitation", Mixed = "mixed", FailedBioprosthesis = "failed_bioprosthesis" }

    /// NYHA functional class.
    Nyha { I = "I", II = "II", III = "III", IV = "IV" }

    /// Rhythm on an ECG.
    Rhythm { Sinus = "sinus", AtrialFibrillation = "atrial_fibrillation", Paced = "paced", Other = "other" }

    /// Urgency of the procedure, in the terms of EuroSCORE II.
    Urgency { Elective = "elective", Urgent = "urgent", Emergency = "emergency", Salvage = "salvage" }

    /// Grade of a regurgitation.
    Grade { None = "none", Trace = "trace", Mild = "mild", Moderate = "moderate", Severe = "severe" }

    /// What the valve was implanted into (Sievers types of a bicuspid valve).
    Morphology { Tricuspid = "tricuspid", BicuspidType0 = "bicuspid_type_0", BicuspidType1 = "bicuspid_type_1", BicuspidType2 = "bicuspid_type_2", BicuspidUndetermined = "bicuspid_undetermined", SurgicalBioprosthesis = "surgical_bioprosthesis" }

    /// Amount of calcium.
    Calcification { None = "none", Mild = "mild", Moderate = "moderate", Heavy = "heavy" }

    /// Access route.
    AccessRoute { Transfemoral = "transfemoral", Transsubclavian = "transsubclavian", Transcarotid = "transcarotid", Transcaval = "transcaval", Transapical = "transapical", DirectAortic = "direct_aortic" }

    /// What root contrast injection showed during the balloon inflation.
    Seal { Complete = "complete", Partial = "partial", None = "none" }

    /// Anaesthesia.
    Anaesthesia { Local = "local", ConsciousSedation = "conscious_sedation", General = "general" }

    /// Cerebral embolic protection.
    CerebralProtection { Used = "used", NotUsed = "not_used", NotFeasible = "not_feasible" }

    /// How the main access was closed.
    AccessClosure { ClosureDevice = "closure_device", Surgical = "surgical", Manual = "manual" }

    /// Extent of a complication, VARC-3.
    Extent { None = "none", Minor = "minor", Major = "major" }

    /// Bleeding, VARC-3.
    BleedingType { None = "none", Type1 = "type_1", Type2 = "type_2", Type3 = "type_3", Type4 = "type_4" }

    /// Stroke or transient ischaemic attack.
    Stroke { None = "none", Tia = "tia", Ischaemic = "ischaemic", Haemorrhagic = "haemorrhagic", Unspecified = "unspecified" }

    /// Antithrombotic treatment.
    Antithrombotic { None = "none", SingleAntiplatelet = "single_antiplatelet", DualAntiplatelet = "dual_antiplatelet", Anticoagulant = "anticoagulant", AnticoagulantPlusAntiplatelet = "anticoagulant_plus_antiplatelet" }

    /// What follows after the antithrombotic plan ends.
    AntithromboticThen { None = "none", SingleAntiplatelet = "single_antiplatelet", DualAntiplatelet = "dual_antiplatelet", Anticoagulant = "anticoagulant", AnticoagulantPlusAntiplatelet = "anticoagulant_plus_antiplatelet", Review = "review" }

    /// How the stay ended.
    DischargeStatus { Alive = "alive", DiedInHospital = "died_in_hospital" }

    /// Ambulatory rhythm monitor after discharge.
    RhythmMonitor { None = "none", Ordered = "ordered", NoBlock = "no_block", BlockFound = "block_found" }

    /// Where the patient was discharged to.
    DischargeDestination { Home = "home", Rehabilitation = "rehabilitation", OtherHospital = "other_hospital", CareHome = "care_home" }

    /// Standing of the follow-up.
    FollowUpStatus { Active = "active", Elsewhere = "elsewhere", Declined = "declined", Unreachable = "unreachable" }

    /// Cause of death, VARC-3.
    DeathCause { Cardiovascular = "cardiovascular", NonCardiovascular = "non_cardiovascular", Unknown = "unknown" }

    /// How the patient was seen.
    Attendance { Attended = "attended", Telephone = "telephone", RecordReview = "record_review", DidNotAttend = "did_not_attend" }

    /// Kind of visit, as noted.
    VisitKind { Day30 = "30_day", Month6 = "6_month", Annual = "annual", Unscheduled = "unscheduled" }

    /// Cause of valve dysfunction, VARC-3.
    DeteriorationCause { Structural = "structural", NonStructural = "non_structural", Thrombosis = "thrombosis", Endocarditis = "endocarditis" }

    /// How the valve expands.
    Mechanism { BalloonExpandable = "balloon_expandable", SelfExpanding = "self_expanding", MechanicallyExpandable = "mechanically_expandable" }

    /// Which annulus measurement a size range is given for.
    SizedBy { Area = "area", Perimeter = "perimeter" }

}
