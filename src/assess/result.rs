//! The macro that turns a list of results into a plain struct, and the choices results can take.

use std::sync::Arc;

use crate::record::{Field, Shown, choices};

/// A type that a result can have.
pub trait ResultValue {
    /// The value for a reader; `None` where it is unknown.
    fn shown(&self) -> Option<Shown<'_>>;
}

impl<T: Field> ResultValue for Option<T> {
    fn shown(&self) -> Option<Shown<'_>> {
        self.as_ref().map(Field::shown)
    }
}

/// Devices of the catalogue whose labelled range holds a measure.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SizeSet {
    /// Positions in the catalogue, in its order.
    pub rows: Vec<usize>,
    /// The ids separated by `;`, or `none`.
    pub text: Arc<str>,
}

impl ResultValue for Option<SizeSet> {
    fn shown(&self) -> Option<Shown<'_>> {
        self.as_ref().map(|set| Shown::Text(&set.text))
    }
}

/// Declares a group of results that are computed together.
macro_rules! results {
    ($(#[$doc:meta])* $name:ident {
        $($(#[$meaning:meta])* $field:ident: $ty:ty,)+
    }) => {
        $(#[$doc])*
        #[derive(Clone, Debug, PartialEq)]
        pub struct $name { $($(#[$meaning])* pub $field: $ty,)+ }

        impl $name {
            /// Shows every result of the group with its name, in the order of results.csv; `None` where it is unknown.
            pub fn each<'a>(
                &'a self,
                see: &mut impl FnMut(&'static str, Option<$crate::record::Shown<'a>>),
            ) {
                $(see(stringify!($field), $crate::assess::result::ResultValue::shown(&self.$field));)+
            }
        }
    };
}
pub(crate) use results;

/// As the `choices!` of the records, for words that results take: always known, `not_assessable` being one of them.
macro_rules! result_choices {
    ($($(#[$doc:meta])* $name:ident { $($variant:ident = $word:literal),+ $(,)? })+) => {
        choices! { $($(#[$doc])* $name { $($variant = $word),+ })+ }
        $(impl ResultValue for $name {
            fn shown(&self) -> Option<Shown<'_>> {
                Some(Shown::Word(crate::record::Choice::word(*self)))
            }
        })+
    };
}

result_choices! {
    /// Severity and flow pattern of the stenosis (ESC/EACTS 2021).
    StenosisClass {
        HighGradient = "high_gradient",
        ClassicalLowFlowLowGradient = "classical_low_flow_low_gradient",
        ParadoxicalLowFlowLowGradient = "paradoxical_low_flow_low_gradient",
        NormalFlowLowGradient = "normal_flow_low_gradient",
        NotSevere = "not_severe",
        NotApplicable = "not_applicable",
        NotAssessable = "not_assessable",
    }
    /// Left ventricular geometry (Lang 2015).
    LvGeometry {
        Normal = "normal",
        ConcentricRemodelling = "concentric_remodelling",
        EccentricHypertrophy = "eccentric_hypertrophy",
        ConcentricHypertrophy = "concentric_hypertrophy",
        NotAssessable = "not_assessable",
    }
    /// Likelihood of severe stenosis by the CT calcium score (ESC/EACTS 2017, 2021).
    CalciumLikelihood {
        VeryLikely = "very_likely",
        Likely = "likely",
        Intermediate = "intermediate",
        Unlikely = "unlikely",
        NotApplicable = "not_applicable",
        NotAssessable = "not_assessable",
    }
    /// Stage of extravalvular cardiac damage (Genereux 2017).
    CardiacDamageStage {
        Stage0 = "0",
        Stage1 = "1",
        Stage2 = "2",
        Stage3 = "3",
        Stage4 = "4",
        AtLeast0 = "at_least_0",
        AtLeast1 = "at_least_1",
        AtLeast2 = "at_least_2",
        AtLeast3 = "at_least_3",
        NotAssessable = "not_assessable",
    }
    /// Where the annulus lies in the labelled range of the implanted device.
    RangePosition {
        Below = "below",
        Within = "within",
        Above = "above",
        NotAssessable = "not_assessable",
    }
    /// Whether the lines of sizing evidence hold the implanted device.
    SizingAgreement {
        Agree = "agree",
        Disagree = "disagree",
        OneLine = "one_line",
        NotAssessable = "not_assessable",
    }
    /// The echo that judges the prosthesis.
    PerformanceEcho {
        Day30 = "30_day",
        Discharge = "discharge",
        None = "none",
    }
    /// An endpoint that is met, not met, or cannot be told.
    Endpoint {
        Yes = "yes",
        No = "no",
        NotAssessable = "not_assessable",
    }
    /// A new pacemaker; not applicable with one before the procedure.
    NewPacemaker {
        Yes = "yes",
        No = "no",
        NotApplicable = "not_applicable",
        NotAssessable = "not_assessable",
    }
    /// Prosthesis-patient mismatch (VARC-3).
    Mismatch {
        None = "none",
        Moderate = "moderate",
        Severe = "severe",
        NotAssessable = "not_assessable",
    }
    /// Acute kidney injury (VARC-3).
    AkiStage {
        None = "none",
        Stage1 = "stage_1",
        Stage2 = "stage_2",
        Stage3 = "stage_3",
        Stage4 = "stage_4",
        NotApplicable = "not_applicable",
        NotAssessable = "not_assessable",
    }
    /// Haemodynamic valve deterioration (VARC-3).
    DeteriorationStage {
        None = "none",
        Stage2 = "stage_2",
        Stage3 = "stage_3",
        NotAssessable = "not_assessable",
    }
    /// Bioprosthetic valve failure (VARC-3).
    ValveFailure {
        None = "none",
        Stage1 = "stage_1",
        Stage2 = "stage_2",
        Stage3 = "stage_3",
        NotAssessable = "not_assessable",
    }
    /// The visit aimed at.
    NextVisit {
        Day30 = "30_day",
        Annual = "annual",
        None = "none",
    }
    /// Where the follow-up stands.
    FollowUpState {
        NotYetDue = "not_yet_due",
        Due = "due",
        Overdue = "overdue",
        Lost = "lost",
        Deceased = "deceased",
    }
}

impl From<Option<bool>> for Endpoint {
    fn from(known: Option<bool>) -> Self {
        match known {
            Some(true) => Self::Yes,
            Some(false) => Self::No,
            None => Self::NotAssessable,
        }
    }
}
