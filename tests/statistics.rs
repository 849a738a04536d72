//! The audit statistics against reference libraries and published tables.
//!
//! Reference values: `tests/reference/` (its README names the libraries and versions). Tolerance
//! 1e-9 against libraries, 5e-5 against tables printed with four decimals; where another is used
//! the reason stands beside it.

#[path = "statistics/cusum.rs"]
mod cusum;
#[path = "statistics/describe.rs"]
mod describe;
#[path = "statistics/disclosure.rs"]
mod disclosure;
#[path = "statistics/expected.rs"]
mod expected;
#[path = "statistics/funnel.rs"]
mod funnel;
#[path = "statistics/incidence.rs"]
mod incidence;
#[path = "statistics/paired.rs"]
mod paired;
#[path = "statistics/properties.rs"]
mod properties;
#[path = "statistics/proportions.rs"]
mod proportions;
#[path = "statistics/reference.rs"]
mod reference;
#[path = "statistics/run_chart.rs"]
mod run_chart;
#[path = "statistics/survival.rs"]
mod survival;
