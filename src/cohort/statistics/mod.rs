//! The audit's statistics, each a small pure function checked against reference libraries.
//!
//! Everything here is written by hand: probabilities of counts as tables, exact limits by
//! bisection, sums in a fixed order. The same numbers give the same bytes. A result that does not
//! exist (no cases, too few, nobody at risk) is `None`, never a zero.
//!
//! Rates, risks and survival are fractions of 1 throughout; days are whole days.

mod bisection;
mod calibration;
mod counts;
mod cusum;
mod cusum_limit;
mod cusum_run_length;
mod describe;
mod disclosure;
mod expected;
mod funnel;
mod hodges_lehmann;
mod incidence;
mod interval;
mod paired;
mod percent;
mod predicted;
mod proportion;
mod run_chart;
mod student;
mod survival;
mod vlad;

pub use calibration::{
    Calibration, Coefficient, RISK_LIMITS, SLOPE_FROM_EVENTS, calibration, slope_of_few_events,
};
pub use counts::CountDistribution;
pub use cusum::{ODDS_DOUBLED, cusum_path, cusum_path_restarting, cusum_weight, first_signal};
pub use cusum_limit::{
    ALARM, ALERT, LIMIT_FROM_CASES, LIMIT_FROM_EXPECTED, NoLimit, SignalLimit, least_limit,
    limit_for, signal_limit, signal_probability, signal_probability_by_case,
};
pub use cusum_run_length::average_run_length;
pub use describe::{QUARTILES_FROM, Summary, mean, median, quantile, sd, summary};
pub use disclosure::{
    Released, ReleasedRow, ReleasedTable, USUAL_THRESHOLD, release_proportion, release_row,
    release_table, summary_released,
};
pub use expected::{
    ObservedExpected, RATIO_FROM_EXPECTED, Ratio, observed_expected, poisson_chance_of_as_many,
    poisson_limits, ratio,
};
pub use funnel::{
    CriticalCounts, FUNNEL_FROM_CASES, FUNNEL_FROM_GROUPS, Standing, chance_of_flag,
    critical_counts, critical_counts_at, funnel_applies, funnel_limits, interpolated_count,
    standing,
};
pub use hodges_lehmann::{EXACT_RANKS_UP_TO, HodgesLehmann, RANK_INTERVAL_FROM, hodges_lehmann};
pub use incidence::{Incidence, IncidenceAt, Outcome, OutcomeTime};
pub use interval::{Confidence, Interval};
pub use paired::{MeanChange, mcnemar_exact, mean_change};
pub use percent::{ONE_DECIMAL_FROM, percent_tenths, percent_text, percent_text_below};
pub use predicted::Predicted;
pub use proportion::{
    Difference, clopper_pearson, missing_bounds, newcombe_difference, wilson, wilson_at,
    zero_events_upper,
};
pub use run_chart::{
    QUARTER_TAIL, QuarterLimits, RULES_FROM_POINTS, RunChart, RunRules, baseline_rate,
    quarter_limits, run_chart, run_limits,
};
pub use student::t_upper;
pub use survival::{FollowUp, MedianTime, SHOWN_FROM_AT_RISK, Survival, SurvivalAt, SurvivalStep};
pub use vlad::{VladPoint, vlad};
