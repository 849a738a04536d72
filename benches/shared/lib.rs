//! What the benches share: invented cohorts, timing by turns, the writers compared with, the tables of figures.

pub mod bare;
pub mod cohort;
pub mod figures;
#[path = "../../tests/support/generate/mod.rs"]
pub mod generate;
pub mod krilla_page;
pub mod peer;
pub mod place;
pub mod timing;

/// Whether the short sizes are asked for (`VALVEFOLIO_BENCH=short`): about a minute in place of about ten.
pub fn short() -> bool {
    std::env::var_os("VALVEFOLIO_BENCH").is_some_and(|size| size == "short")
}

/// The full size, or the short one.
pub fn size<T>(full: T, in_short: T) -> T {
    if short() { in_short } else { full }
}
