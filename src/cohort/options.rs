//! What the person who asks for the summary may choose.

use jiff::civil::Date;

use super::statistics::USUAL_THRESHOLD;
use crate::settings::Schedule;

/// Whose predicted risk of death is held against the deaths observed.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum RiskModel {
    /// EuroSCORE II: computed, else as recorded.
    #[default]
    EuroScore2,
    /// STS predicted risk of mortality, as recorded; it is not computed here.
    StsProm,
}

impl RiskModel {
    /// The name on pages.
    pub fn name(self) -> &'static str {
        match self {
            Self::EuroScore2 => "EuroSCORE II",
            Self::StsProm => "STS predicted risk of mortality",
        }
    }

    /// Where its values come from, for the methods.
    pub fn origin(self) -> &'static str {
        match self {
            Self::EuroScore2 => {
                "EuroSCORE II (Nashef 2012), computed where it can be, else as recorded"
            }
            Self::StsProm => "STS predicted risk of mortality, as recorded",
        }
    }
}

/// Options of a cohort summary.
#[derive(Clone, Debug, PartialEq)]
pub struct CohortOptions {
    /// The day the report speaks for.
    pub as_of: Date,
    /// First procedure date of the period; open where `None`.
    pub from: Option<Date>,
    /// Last procedure date of the period; open where `None`.
    pub to: Option<Date>,
    /// Procedure dates that the period is compared with; `None` is the twelve months before the period.
    pub previous: Option<(Date, Date)>,
    /// Risk held against the deaths.
    pub risk_model: RiskModel,
    /// Cases that the procedure log of the period says there are.
    pub expected_cases: Option<usize>,
    /// Counts from 1 to one less than this are masked where the summary is de-identified.
    pub masking_threshold: usize,
    /// Nothing that names a patient, a site or a small group is written.
    pub deidentify: bool,
    /// Operators by their code in place of a letter.
    pub name_operators: bool,
    /// When visits are due.
    pub schedule: Schedule,
}

impl CohortOptions {
    /// All cases up to `as_of`, with the usual choices.
    pub fn new(as_of: Date) -> Self {
        Self {
            as_of,
            from: None,
            to: None,
            previous: None,
            risk_model: RiskModel::default(),
            expected_cases: None,
            masking_threshold: USUAL_THRESHOLD,
            deidentify: false,
            name_operators: false,
            schedule: Schedule::default(),
        }
    }

    /// The last day whose procedures can be among those since the start: the end of the period, or the day the report
    /// speaks for where that comes first.
    pub fn counted_to(&self) -> Date {
        self.to.map_or(self.as_of, |to| to.min(self.as_of))
    }
}
