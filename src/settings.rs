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

/// When visits are due, in days from the procedure (project's own choice, no published source).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Schedule {
    /// Day on which the first visit is due.
    pub first_visit_day: i64,
    /// First day of its window.
    pub first_visit_opens: i64,
    /// Last day of its window.
    pub first_visit_closes: i64,
    /// Days before an anniversary of the procedure on which the window of its visit opens.
    pub anniversary_opens_before: i64,
    /// Days after an anniversary on which that window closes.
    pub anniversary_closes_after: i64,
    /// A patient not known alive within this many days is lost to follow-up.
    pub lost_after: i64,
}

impl Default for Schedule {
    fn default() -> Self {
        Self {
            first_visit_day: 30,
            first_visit_opens: 23,
            first_visit_closes: 75,
            anniversary_opens_before: 60,
            anniversary_closes_after: 60,
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

/// Thresholds of flags that no definition of an endpoint fixes ; the defaults are the project's rule.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Attention {
    /// Area over-sizing (%) from which outflow calcification raises `root_injury_risk`.
    pub root_injury_oversizing_pct: f64,
    /// Left coronary height (mm) below which, with `low_coronary_sinus_mm`, `low_coronary` is raised.
    pub low_coronary_height_mm: f64,
    /// Sinus of Valsalva (mm); see `low_coronary_height_mm`.
    pub low_coronary_sinus_mm: f64,
    /// Sheath to artery ratio from which `tight_access` is raised.
    pub tight_access_ratio: f64,
    /// Ascending aorta (mm) from which `wide_aorta` is raised.
    pub wide_aorta_mm: f64,
    /// Difference of computed and reported area (% of the reported) above which `area_mismatch` is raised.
    pub area_mismatch_pct: f64,
    /// Aortic regurgitation index below which `low_regurgitation_index` is raised.
    pub low_regurgitation_index: f64,
}

impl Default for Attention {
    fn default() -> Self {
        Self {
            root_injury_oversizing_pct: 20.0,
            low_coronary_height_mm: 12.0,
            low_coronary_sinus_mm: 30.0,
            tight_access_ratio: 1.05,
            wide_aorta_mm: 45.0,
            area_mismatch_pct: 15.0,
            low_regurgitation_index: 25.0,
        }
    }
}

/// Masking of small counts with `--deidentify`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Masking {
    /// Counts under this are not written.
    pub counts_below: u32,
}

impl Default for Masking {
    fn default() -> Self {
        Self { counts_below: 5 }
    }
}

/// What pages show of the centre.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Centre {
    /// Its name.
    pub name: Option<String>,
    /// Lines of its address.
    pub address: Vec<String>,
    /// Lines that say whom to call.
    pub contact: Vec<String>,
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
    /// Where a flag is raised that no endpoint's definition fixes.
    pub attention: Attention,
}
