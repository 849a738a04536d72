//! What the cases of a period add up to.
//!
//! [`Cohort::of`] is pure: assessed cases and the options go in, every number of the summary comes out. It reads what
//! was known on the as-of date and not the records, so that these need not be held beside it.
//! Cases are put in the order of their procedure dates first, so that the order of the files changes nothing.

mod audit_case;
mod completeness;
mod derivable;
mod deterioration_of;
mod earlier;
mod experience;
mod follow_up_review;
mod functional;
mod group;
mod haemodynamics;
mod headline;
mod mask;
mod measures;
mod open_cells;
mod operators;
mod options;
mod over_time;
mod period;
mod proportion;
mod pull;
mod quantity;
mod quarters;
mod series;
mod sizing_review;
pub mod statistics;
mod survival_of;
mod table;
mod treated;

use jiff::civil::Date;

use crate::assess::Assessment;
use crate::input::Withheld;
use crate::record::{Catalogue, Text};

use earlier::earlier_cases;

pub use audit_case::AuditCase;
pub use completeness::{Completeness, Filled, MissingColumn, SettlingCell, Source};
pub use derivable::{Comparison, Recorded};
pub use earlier::{EarlierFile, Taken};
pub use experience::{
    BLOCK, Block, COURSE_FROM_CASES, Course, CourseCase, CourseDeath, Experience, LONG_BLOCK,
    LONG_COURSE, MOST_OF_COURSE, PROCESS,
};
pub use follow_up_review::{FollowUpReview, VisitCount, Waiting};
pub use functional::NyhaChange;
pub use group::{Dimension, Grouping, NOT_RECORDED};
pub use haemodynamics::{GradeCounts, GradientPair, Haemodynamics};
pub use headline::{Compared, OUTCOMES, open_width, title};
pub use mask::OLDEST_AGE;
pub use measures::{MeasureRow, Selection};
pub use operators::{COMPARED, GroupReview, GroupsReview};
pub use options::{CohortOptions, RiskModel};
pub use over_time::{
    Deaths, Limits, MOST_CASES, MOST_CASES_3Y, NotShown, OverTime, RiskPoint, ThreeYears,
};
pub use period::{Period, PeriodName, previous};
pub use proportion::{Counts, Verdict};
pub use pull::PullCase;
pub use quarters::{
    BASELINE_FROM_CASES, FOLLOWED, GAPS_LISTED, Gaps, MOST_QUARTERS, Quarter, Quarters,
    RATE_FROM_CASES,
};
pub use series::{SERIES_COLUMNS, SeriesPoint};
pub use sizing_review::{
    CameOf, DIFFER_FROM_MM, Followed, PlanningRisk, SizingPoint, SizingReview,
};
pub use table::COLUMNS;
pub use treated::{Treated, TreatedCategory, TreatedChoice, TreatedQuantity};

/// Everything the cohort summary says.
#[derive(Clone, Debug, PartialEq)]
pub struct Cohort {
    /// The options it was made with.
    pub options: CohortOptions,
    /// The spans of procedure dates: the period, the rolling 12 months, since the start.
    pub periods: [Period; 3],
    /// Cases of each span.
    pub n: [usize; 3],
    /// Cases read, whatever their procedure date, the withheld ones not among them.
    pub read: usize,
    /// The latest date of any case up to the end of the period.
    pub data_to: Option<Date>,
    /// Sites with their cases in the period; `not recorded` last.
    pub sites: Vec<(String, usize)>,
    /// Every row of cohort.csv.
    pub rows: Vec<MeasureRow>,
    /// Withheld cases, in their order.
    pub withheld: Vec<Withheld>,
    /// Outcomes of the period beside the span before it.
    pub compared: Vec<Compared>,
    /// The span before it.
    pub previous: Option<(Date, Date)>,
    /// What was taken from the earlier period's own file, where one was given.
    pub earlier: Option<Taken>,
    /// Deaths of period cases that are not yet 30 days old.
    pub pending_deaths: Vec<Text>,
    /// Cases of the period that have died on a day that is not recorded, so that it is not known whether to day 30.
    pub undated_deaths: usize,
    /// Observed and expected deaths of each span.
    pub deaths: [Deaths; 3],
    /// Deaths case by case over the rolling 12 months.
    pub over_time: OverTime,
    /// Expected minus observed deaths over three years.
    pub three_years: ThreeYears,
    /// Gradients and regurgitation of the period.
    pub haemodynamics: Haemodynamics,
    /// NYHA class of the period before and after.
    pub nyha: NyhaChange,
    /// Who was treated in the period, beside the span before it or else all cases since the start.
    pub treated: Treated,
    /// Calendar quarters since the start.
    pub quarters: Quarters,
    /// Sizing since the start.
    pub sizing: SizingReview,
    /// Operators of the rolling 12 months.
    pub operators: GroupsReview,
    /// Sites of the rolling 12 months.
    pub site_groups: GroupsReview,
    /// Access routes of the rolling 12 months.
    pub routes: GroupsReview,
    /// Operators case by case since the start.
    pub experience: Experience,
    /// Access routes beside the usual one case by case since the start.
    pub route_experience: Experience,
    /// Follow-up since the start.
    pub follow_up: FollowUpReview,
    /// Completeness of the period.
    pub completeness: Completeness,
    /// What was recorded in the period beside what can be derived.
    pub comparisons: Vec<Comparison>,
    /// Cases to pull, gravest first.
    pub pull: Vec<PullCase>,
}

impl Cohort {
    /// The summary of these cases.
    pub fn of(
        cases: &[&Assessment],
        catalogue: &Catalogue,
        options: &CohortOptions,
        withheld: &[Withheld],
    ) -> Self {
        Self::beside(cases, catalogue, options, withheld, None)
    }

    /// The summary of these cases beside an earlier period that has a file of its own. Its cases enter the comparison and
    /// nothing else.
    pub fn beside(
        cases: &[&Assessment],
        catalogue: &Catalogue,
        options: &CohortOptions,
        withheld: &[Withheld],
        earlier: Option<&EarlierFile<'_>>,
    ) -> Self {
        let mut cases: Vec<AuditCase<'_>> = cases
            .iter()
            .map(|assessment| AuditCase::new(assessment, catalogue))
            .collect();
        cases.sort_by(|a, b| {
            (a.procedure_date(), a.case_id()).cmp(&(b.procedure_date(), b.case_id()))
        });
        let periods = Period::all(options);
        let groupings: Vec<Grouping> = Dimension::ALL
            .into_iter()
            .map(|dimension| Grouping::of(dimension, &cases, options))
            .collect();
        let of_dimension = |dimension| {
            groupings
                .iter()
                .find(|grouping| grouping.dimension == dimension)
                .expect("every dimension is grouped")
        };
        let selections = measures::selections(&cases, &groupings, &periods);
        let rows = measures::rows(&cases, &selections, options);
        let inside = |holds: &dyn Fn(Date) -> bool| -> Vec<usize> {
            (0..cases.len())
                .filter(|&case| holds(cases[case].procedure_date()))
                .collect()
        };
        let of_period = periods.map(|period| inside(&|date| period.holds(date)));
        let period_cases: Vec<&AuditCase<'_>> =
            of_period[0].iter().map(|&case| &cases[case]).collect();
        let other_file = earlier.map(|file| earlier_cases(file, &periods[0], &period_cases));
        let (earlier, taken) = match &other_file {
            Some((earlier, taken)) => (Some(earlier), Some(*taken)),
            None => (None, None),
        };
        let previous = match taken {
            Some(taken) => taken.span,
            None => previous(options),
        };
        let (beside, before): (&[AuditCase<'_>], Vec<usize>) = match (earlier, previous) {
            (Some(earlier), _) => (earlier, (0..earlier.len()).collect()),
            (None, Some((from, to))) => (&cases, inside(&|date| (from..=to).contains(&date))),
            (None, None) => (&cases, Vec::new()),
        };
        let beside_period: Vec<&AuditCase<'_>> = if previous.is_some() || taken.is_some() {
            before.iter().map(|&case| &beside[case]).collect()
        } else {
            of_period[2].iter().map(|&case| &cases[case]).collect()
        };
        let routes = Grouping::of(Dimension::AccessRoute, &cases, options);
        let operators = of_dimension(Dimension::Operator);
        let groups_review = |grouping: &Grouping| {
            GroupsReview::of(
                &cases,
                grouping,
                &of_period[1],
                &of_period[0],
                options.risk_model,
            )
        };
        let mut withheld = withheld.to_vec();
        withheld.sort_by(|a, b| a.place.cmp(&b.place));
        let mut cohort = Self {
            options: options.clone(),
            read: cases.len(),
            n: [0, 1, 2].map(|span| of_period[span].len()),
            data_to: of_period[2]
                .iter()
                .map(|&case| cases[case].assessment.known.data_to())
                .max(),
            sites: sites(of_dimension(Dimension::Site), &of_period[0]),
            rows,
            withheld,
            compared: headline::compared((&cases, &of_period[0]), (beside, &before)),
            previous,
            earlier: taken,
            undated_deaths: of_period[0]
                .iter()
                .map(|&case| &cases[case])
                .filter(|case| case.mature(30) && case.assessment.known.signs_of_death)
                .filter(|case| case.died_30d().is_none())
                .count(),
            pending_deaths: of_period[0]
                .iter()
                .map(|&case| &cases[case])
                .filter(|case| !case.mature(30) && case.assessment.known.signs_of_death)
                .map(|case| case.case_id().clone())
                .collect(),
            deaths: periods.map(|period| Deaths::of(&cases, period, options.risk_model)),
            over_time: OverTime::of(&cases, periods[1], options.risk_model),
            three_years: ThreeYears::of(
                &cases,
                options.to.unwrap_or(options.as_of),
                options.risk_model,
            ),
            haemodynamics: Haemodynamics::of(&cases, &of_period[0]),
            nyha: NyhaChange::of(&cases, &of_period[0]),
            treated: Treated::of(&period_cases, &beside_period),
            quarters: Quarters::of(&cases, &of_period[2], options.counted_to()),
            sizing: SizingReview::of(&cases, &of_period[2], catalogue),
            operators: groups_review(operators),
            site_groups: groups_review(of_dimension(Dimension::Site)),
            routes: groups_review(&routes),
            experience: Experience::of_operators(
                &cases,
                operators,
                &of_period[2],
                options.risk_model,
            ),
            route_experience: Experience::of_routes(
                &cases,
                &routes,
                &of_period[2],
                options.risk_model,
            ),
            follow_up: FollowUpReview::of(&cases, &of_period[2], &options.schedule),
            completeness: Completeness::of(&cases, &of_period[0]),
            comparisons: derivable::comparisons(&cases, &of_period[0]),
            pull: pull::cases_to_pull(
                &cases,
                |case| operators.names[operators.of_case[case]].clone(),
                &periods[0],
                options,
            ),
            periods,
        };
        if options.deidentify {
            mask::deidentify(&mut cohort);
        }
        cohort
    }

    /// The row of a measure.
    pub fn row(&self, measure: &str, group: &str, period: PeriodName) -> Option<&MeasureRow> {
        self.rows
            .iter()
            .find(|row| row.measure == measure && row.group == group && row.period == period.word())
    }

    /// The row of a measure for all cases of the period.
    pub fn of_period(&self, measure: &str) -> Option<&MeasureRow> {
        self.row(measure, "all", PeriodName::Period)
    }

    /// cohort.csv as bytes.
    pub fn csv_bytes(&self) -> Vec<u8> {
        table::csv_bytes(&self.rows)
    }

    /// The points behind the charts.
    pub fn series(&self) -> Vec<SeriesPoint> {
        series::points(self).collect()
    }

    /// cohort-series.csv as bytes.
    pub fn series_csv_bytes(&self) -> Vec<u8> {
        series::csv_bytes(series::points(self))
    }

    /// Whether a count is one that this summary masks.
    pub fn masks(&self, count: usize) -> bool {
        self.options.deidentify && (1..self.options.masking_threshold).contains(&count)
    }
}

fn sites(grouping: &Grouping, selection: &[usize]) -> Vec<(String, usize)> {
    let mut counts = vec![0; grouping.names.len()];
    for &case in selection {
        counts[grouping.of_case[case]] += 1;
    }
    grouping.names.iter().cloned().zip(counts).collect()
}
