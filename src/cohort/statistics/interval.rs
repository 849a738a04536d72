//! A pair of limits, and the confidence levels the audit uses.

/// Lower and upper limit of an estimate, in the unit of the estimate; `low <= high`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Interval {
    /// Lower limit.
    pub low: f64,
    /// Upper limit.
    pub high: f64,
}

impl Interval {
    /// Whether `value` lies within the limits, the limits included.
    #[must_use]
    pub fn contains(&self, value: f64) -> bool {
        self.low <= value && value <= self.high
    }

    /// Both limits multiplied by a positive `factor`, for instance 100 for percent.
    #[must_use]
    pub fn scaled(&self, factor: f64) -> Self {
        Self {
            low: self.low * factor,
            high: self.high * factor,
        }
    }
}

/// A two-sided confidence level with its standard normal quantile.
///
/// The quantiles are constants, so no inverse of the normal distribution is needed
/// (SciPy 1.17.1, `norm.ppf`).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Confidence {
    /// 95 %: 2.5 % on each side.
    Percent95,
    /// 99 %: 0.5 % on each side.
    Percent99,
    /// 99.8 %: 0.1 % on each side.
    Percent99_8,
}

impl Confidence {
    /// Probability left out on each side.
    #[must_use]
    pub const fn tail(self) -> f64 {
        match self {
            Self::Percent95 => 0.025,
            Self::Percent99 => 0.005,
            Self::Percent99_8 => 0.001,
        }
    }

    /// Standard normal quantile of the upper limit.
    #[must_use]
    pub const fn normal_quantile(self) -> f64 {
        match self {
            Self::Percent95 => 1.959_963_984_540_054,
            Self::Percent99 => 2.575_829_303_548_901,
            Self::Percent99_8 => 3.090_232_306_167_813,
        }
    }
}

/// Standard normal quantile of a two-sided 95 % interval.
pub(crate) const Z95: f64 = Confidence::Percent95.normal_quantile();
