//! From one case record to everything the program says of it.
//!
//! [`assess`] is pure: the record, the catalogue, the settings and the as-of date go in, an [`Assessment`] comes out.
//! Results are computed in groups ([`Before`], [`Sizing`], [`After`], [`Outcomes`], [`Durability`], [`FollowUp`]);
//! [`definitions`] says of each what it reads, which is where traces, gaps and doubts come from.

mod across;
mod after;
mod alike;
mod asked;
pub mod bands;
mod before;
mod checks;
pub mod definitions;
mod doubts;
mod durability;
mod echo;
mod flags;
mod follow_up;
mod fragile;
mod known;
mod outcomes;
mod result;
mod risk;
mod sizing;

use crate::record::{CaseRecord, Catalogue, CellNotes, Shown, Text};
use crate::settings::{Attention, Settings};

pub use across::{AcrossCases, Likeness, across_cases};
pub use after::{
    After, PERFORMANCE_CLOSES, PERFORMANCE_OPENS, Performance, intended_performance_parts,
    mismatch, reference_visit,
};
pub use before::{
    Before, CREATININE_UMOL_L_PER_MG_DL, DamageCriterion, Stenosis, atrial_fibrillation,
    damage_criteria, obese,
};
pub use checks::FailedCheck;
pub use doubts::{discharge_column, lacking};
pub use durability::{
    Course, Criteria, CriterionState, Durability, LaterVisit, STAGE_2, STAGE_3, StageRule,
};
pub use echo::{ProsthesisEcho, continuity_area_cm2, stroke_volume_ml};
pub use flags::{Flag, latest, latest_antithrombotic, visit_event};
pub use follow_up::{FollowUp, Scheduled, done, scheduled, target};
pub use fragile::Fragile;
pub use known::{Known, LeftOut, Visit};
pub use outcomes::{Composites, Outcomes, Part, composites, one_year_kccq_visit};
pub use result::*;
pub use risk::pulmonary_term_assumed;
pub use sizing::{
    Sizing, bicuspid, circle_area_mm2, fill_change_ml, implanted, sealed_balloon_mm,
    supraannular_mm,
};

/// Every group of results.
#[derive(Clone, Debug, PartialEq)]
pub struct Assessed {
    /// Before the procedure.
    pub before: Before,
    /// Sizing.
    pub sizing: Sizing,
    /// After the procedure.
    pub after: After,
    /// Outcomes.
    pub outcomes: Outcomes,
    /// Durability.
    pub durability: Durability,
    /// What is due.
    pub follow_up: FollowUp,
}

/// What the results rest on, beside the cells.
pub struct Facts<'a> {
    /// The record as read.
    pub record: &'a CaseRecord,
    /// The devices file.
    pub catalogue: &'a Catalogue,
    /// The case as known on the as-of date.
    pub known: &'a Known,
    /// The echo that judges the prosthesis.
    pub performance: &'a Performance,
    /// Reference echo and later visits.
    pub course: &'a Course,
    /// Whether total regurgitation after the procedure is moderate or more.
    pub moderate_regurgitation: Option<bool>,
    /// Checks across cells that failed.
    pub failed_checks: &'a [FailedCheck],
    /// Where flags are raised that no endpoint's definition fixes.
    pub attention: &'a Attention,
}

impl Facts<'_> {
    /// Whether the reader noted something of a cell of the case or of a counted visit; an echo that is absent on the
    /// as-of date raises nothing.
    fn noted(&self, columns: impl Fn(&CellNotes) -> &Vec<&'static str>) -> bool {
        let echo_absent = self.known.after_as_of.contains(&"post_echo_date");
        columns(&self.record.notes)
            .iter()
            .any(|column| !(echo_absent && column.starts_with("post_")))
            || self
                .known
                .visits
                .iter()
                .any(|visit| !columns(&self.record.visits[visit.row].notes).is_empty())
    }
}

/// Everything the program says of one case.
#[derive(Clone, Debug, PartialEq)]
pub struct Assessment {
    /// Unique key of the procedure.
    pub case_id: Text,
    /// The case as known on the as-of date.
    pub known: Known,
    /// Every group of results.
    pub results: Assessed,
    /// The echo that judges the prosthesis.
    pub performance: Performance,
    /// Reference echo and later visits.
    pub course: Course,
    /// Whether total regurgitation after the procedure is moderate or more.
    pub moderate_regurgitation: Option<bool>,
    /// The parts of the composite endpoints.
    pub composites: Composites,
    /// Checks across cells that failed.
    pub failed_checks: Vec<FailedCheck>,
    /// What the other cases say of this one.
    pub across: AcrossCases,
    /// Flags raised, in their order.
    pub flags: Vec<Flag>,
    /// Classes that a usual measurement error would change.
    pub fragile: Vec<Fragile>,
    /// Results with an input that a failed check put in doubt.
    pub in_doubt: Vec<&'static str>,
    /// Columns of the cases file whose blank or rejected cell kept a value from being computed.
    pub missing: Vec<&'static str>,
}

/// Everything the program says of one case, from what was known of it ([`Known::on`]) and what the others say.
pub fn assess(
    record: &CaseRecord,
    known: Known,
    catalogue: &Catalogue,
    settings: &Settings,
    across: AcrossCases,
) -> Assessment {
    let performance = Performance::of(&known);
    let discharge = ProsthesisEcho::before_discharge(&known.cells);
    let moderate_regurgitation = after::moderate_regurgitation(&performance, &discharge);
    let course = Course::of(&known);
    let before = Before::of(&known, settings);
    let after = After::of(
        &known,
        catalogue,
        &before,
        &performance,
        moderate_regurgitation,
    );
    let intended = match after.intended_performance {
        Endpoint::Yes => Some(true),
        Endpoint::No => Some(false),
        Endpoint::NotAssessable => None,
    };
    let composites = Composites::of(&known, intended, moderate_regurgitation);
    let results = Assessed {
        sizing: Sizing::of(&known.cells, catalogue),
        outcomes: Outcomes::of(&known, &composites),
        durability: Durability::of(&known, &course),
        follow_up: FollowUp::of(&known, &settings.schedule),
        before,
        after,
    };
    let failed_checks = checks::failed_checks(record, &known);
    let facts = Facts {
        record,
        catalogue,
        known: &known,
        performance: &performance,
        course: &course,
        moderate_regurgitation,
        failed_checks: &failed_checks,
        attention: &settings.attention,
    };
    let flags = flags::flags(&facts, &results, &across);
    let fragile = fragile::fragile(&facts, &results, &settings.usual_errors);
    let in_doubt = doubts::in_doubt(&facts);
    let missing = doubts::missing(&facts, &results);
    Assessment {
        case_id: record.case_id.clone(),
        results,
        performance,
        course,
        moderate_regurgitation,
        composites,
        flags,
        fragile,
        in_doubt,
        missing,
        failed_checks,
        known,
        across,
    }
}

impl Assessed {
    /// Shows every result of every group with its name, in the order of results.csv; `None` where it is unknown.
    pub fn each<'a>(&'a self, mut see: impl FnMut(&'static str, Option<Shown<'a>>)) {
        self.before.each(&mut see);
        self.sizing.each(&mut see);
        self.after.each(&mut see);
        self.outcomes.each(&mut see);
        self.durability.each(&mut see);
        self.follow_up.each(&mut see);
    }

    /// Every result of every group, in the order of results.csv.
    pub fn all(&self) -> Vec<Option<Shown<'_>>> {
        let mut all = Vec::with_capacity(definitions::DEFINITIONS.len());
        self.each(|_, value| all.push(value));
        all
    }
}

impl Assessment {
    /// The result of this name (any column of results.csv but the lists at its end).
    pub fn value(&self, name: &str) -> Option<Shown<'_>> {
        let mut found = None;
        self.results.each(|column, value| {
            if column == name {
                found = value;
            }
        });
        found
    }

    /// Whether a flag is raised.
    pub fn has(&self, flag: Flag) -> bool {
        self.flags.contains(&flag)
    }
}
