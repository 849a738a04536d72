//! What a centre may choose: the defaults are the project's own, and no published definition can be changed here.

/// Which formula gives the body surface area.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum BsaFormula {
    /// 0.007184 · kg^0.425 · cm^0.725 (Du Bois 1916).
    #[default]
    DuBois,
    /// √(cm · kg / 3600) (Mosteller 1987).
    Mosteller,
}

/// When visits are due (days; project's own choice, no published source).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Schedule {
    /// First day of the window of the 30-day visit.
    pub day_30_opens: i64,
    /// Last day of the window of the 30-day visit.
    pub day_30_closes: i64,
    /// Days before and after an anniversary of the procedure that still count as its visit.
    pub anniversary_margin: i64,
    /// A patient not known alive within this many days is lost to follow-up.
    pub lost_after: i64,
}

impl Default for Schedule {
    fn default() -> Self {
        Self {
            day_30_opens: 23,
            day_30_closes: 75,
            anniversary_margin: 60,
            lost_after: 425,
        }
    }
}

/// The usual error of each measurement, for naming classes that it would change (project's own choice).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct UsualErrors {
    /// Outflow tract diameter (mm).
    pub outflow_diameter_mm: f64,
    /// Peak velocity (%).
    pub peak_velocity_pct: f64,
    /// Mean gradient (%).
    pub mean_gradient_pct: f64,
    /// Annulus area (%).
    pub annulus_area_pct: f64,
    /// Annulus perimeter (%).
    pub annulus_perimeter_pct: f64,
}

impl Default for UsualErrors {
    fn default() -> Self {
        Self {
            outflow_diameter_mm: 1.0,
            peak_velocity_pct: 3.0,
            mean_gradient_pct: 5.0,
            annulus_area_pct: 3.0,
            annulus_perimeter_pct: 1.5,
        }
    }
}

/// Everything below the edge that a centre may set.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Settings {
    /// Formula of the body surface area.
    pub bsa_formula: BsaFormula,
    /// When visits are due.
    pub schedule: Schedule,
    /// The usual error of each measurement.
    pub usual_errors: UsualErrors,
}
