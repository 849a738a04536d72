//! What yields first when space is short: the order is data, and the page tries one step after the other.
//!
//! The last four steps are the project's own: without them a page whose cells are nearly all blank, or nearly all at
//! fault, would be withheld.

/// One thing that a page can do without.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Yield {
    /// Hashes of the input files.
    Hashes,
    /// Impedance, energy loss, ventricular mass, damage stage.
    FineStenosis,
    /// Contrast, dose, catheter.
    ContrastAndCatheter,
    /// Scores other than the one used.
    OtherScores,
    /// Echoes between the reference and the latest, in the table.
    VisitsBetween,
    /// Long findings become short.
    LongFindings,
    /// The drawing to scale.
    Drawing,
    /// Catalogue families other than the implanted one.
    OtherFamilies,
    /// The reason past two lines.
    LongReason,
    /// Rows of the evidence in which nothing is recorded: their names in one row (project).
    EmptyRows,
    /// Names of missing cells: fewer, on one line a source (project).
    NamesOfGaps,
    /// Air: lower charts, one line for what may take two (project).
    Air,
    /// Failing or missing parts after the first of an endpoint: counted (project).
    FurtherParts,
}

/// The order in which they go.
pub(super) const LADDER: [Yield; 13] = [
    Yield::Hashes,
    Yield::FineStenosis,
    Yield::ContrastAndCatheter,
    Yield::OtherScores,
    Yield::VisitsBetween,
    Yield::LongFindings,
    Yield::Drawing,
    Yield::OtherFamilies,
    Yield::LongReason,
    Yield::EmptyRows,
    Yield::NamesOfGaps,
    Yield::Air,
    Yield::FurtherParts,
];

/// What a page has room for.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Detail {
    pub no_hashes: bool,
    pub no_fine_stenosis: bool,
    pub no_contrast_and_catheter: bool,
    pub no_other_scores: bool,
    pub no_visits_between: bool,
    pub short_findings: bool,
    pub no_drawing: bool,
    pub no_other_families: bool,
    pub short_reason: bool,
    pub no_empty_rows: bool,
    pub few_gap_names: bool,
    pub tight: bool,
    pub few_parts: bool,
    /// A medication list that does not fit is counted, never shortened.
    pub medication_counted: bool,
}

impl Detail {
    /// The page after the first `steps` of the ladder.
    pub fn after(steps: usize) -> Self {
        let mut detail = Self::default();
        for step in &LADDER[..steps.min(LADDER.len())] {
            match step {
                Yield::Hashes => detail.no_hashes = true,
                Yield::FineStenosis => detail.no_fine_stenosis = true,
                Yield::ContrastAndCatheter => detail.no_contrast_and_catheter = true,
                Yield::OtherScores => detail.no_other_scores = true,
                Yield::VisitsBetween => detail.no_visits_between = true,
                Yield::LongFindings => detail.short_findings = true,
                Yield::Drawing => detail.no_drawing = true,
                Yield::OtherFamilies => detail.no_other_families = true,
                Yield::LongReason => detail.short_reason = true,
                Yield::EmptyRows => detail.no_empty_rows = true,
                Yield::NamesOfGaps => detail.few_gap_names = true,
                Yield::Air => detail.tight = true,
                Yield::FurtherParts => detail.few_parts = true,
            }
        }
        detail
    }
}
