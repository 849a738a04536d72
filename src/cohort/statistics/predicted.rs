//! One case with a predicted risk and a known outcome.

/// A case that enters observed-against-expected statistics.
///
/// Cases without a predicted risk or with an unknown outcome are not made into one; they are
/// listed instead, and never given a mean risk.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Predicted {
    risk: f64,
    died: bool,
}

impl Predicted {
    /// A case with predicted `risk` as a fraction of 1. None when it is not within 0 to 1.
    #[must_use]
    pub fn new(risk: f64, died: bool) -> Option<Self> {
        (0.0..=1.0).contains(&risk).then_some(Self { risk, died })
    }

    /// Predicted risk of death, a fraction of 1.
    #[must_use]
    pub fn risk(&self) -> f64 {
        self.risk
    }

    /// Whether the patient died.
    #[must_use]
    pub fn died(&self) -> bool {
        self.died
    }
}

/// The risks alone, in the order of the cases.
pub(crate) fn risks(cases: &[Predicted]) -> Vec<f64> {
    cases.iter().map(Predicted::risk).collect()
}
