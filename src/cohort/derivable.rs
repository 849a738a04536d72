//! What was recorded beside what other cells of the same case would let one derive. Neither is called right.

use super::audit_case::AuditCase;
use crate::assess::bands::{above, at_least};
use crate::record::{BleedingType, Choice, Extent, Stroke, Text};

/// One finding.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Recorded {
    /// The case.
    pub case_id: Text,
    /// What was recorded.
    pub recorded: String,
    /// What the other cells say.
    pub derivable: String,
}

/// One kind of comparison.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Comparison {
    /// What is compared.
    pub title: &'static str,
    /// Cases where both sides are known.
    pub compared: usize,
    /// Cases where they differ.
    pub differing: Vec<Recorded>,
}

/// `None` where a side is not known, `Some(None)` where both agree, else what was recorded and what is derivable.
type Compared = Option<Option<(String, String)>>;

/// Every comparison, over these cases.
pub fn comparisons(cases: &[AuditCase<'_>], selection: &[usize]) -> Vec<Comparison> {
    let compare = |title, of: &dyn Fn(&AuditCase<'_>) -> Compared| {
        let mut comparison = Comparison {
            title,
            compared: 0,
            differing: Vec::new(),
        };
        for &case in selection {
            let case = &cases[case];
            if let Some(found) = of(case) {
                comparison.compared += 1;
                if let Some((recorded, derivable)) = found {
                    comparison.differing.push(Recorded {
                        case_id: case.case_id().clone(),
                        recorded,
                        derivable,
                    });
                }
            }
        }
        comparison
    };
    vec![
        compare(
            "Bleeding type below what the red-cell units alone mean",
            &by_units,
        ),
        compare(
            "Bleeding type below what the fall of haemoglobin means where the source was overt",
            &by_fall,
        ),
        compare(
            "No structural complication, with tamponade, rupture, dissection or coronary obstruction",
            &structural,
        ),
        compare(
            "Stroke: the 30-day column against visits to day 30",
            &stroke_at_visit,
        ),
        compare(
            "Bleeding: the 30-day column against visits to day 30",
            &bleeding_at_visit,
        ),
        compare(
            "New pacemaker: the 30-day column against visits to day 30",
            &pacemaker_at_visit,
        ),
    ]
}

fn words(bleeding: BleedingType) -> String {
    bleeding.word().replace('_', " ")
}

/// Units of red cells: 1 is type 1, 2 to 4 type 2, 5 and more type 3 (VARC-3).
fn by_units(case: &AuditCase<'_>) -> Compared {
    let cells = case.cells();
    let (recorded, units) = (cells.bleeding_type?, cells.red_cell_units?);
    let least = match units {
        ..=0 => BleedingType::None,
        1 => BleedingType::Type1,
        2..=4 => BleedingType::Type2,
        _ => BleedingType::Type3,
    };
    Some((recorded < least).then(|| {
        (
            words(recorded),
            format!("{units} red-cell units: at least {}", words(least)),
        )
    }))
}

/// Fall of haemoglobin: above 3 g/dL is type 2, 5 and more type 3, of an overt source (VARC-3).
fn by_fall(case: &AuditCase<'_>) -> Compared {
    let cells = case.cells();
    let recorded = cells.bleeding_type?;
    let fall = cells.haemoglobin_g_dl? - cells.haemoglobin_lowest_g_dl?;
    let least = if at_least(fall, 5.0) {
        BleedingType::Type3
    } else if above(fall, 3.0) {
        BleedingType::Type2
    } else {
        BleedingType::None
    };
    Some((recorded < least).then(|| {
        (
            words(recorded),
            format!("fall of {fall:.1} g/dL: {} if overt", words(least)),
        )
    }))
}

fn structural(case: &AuditCase<'_>) -> Compared {
    let cells = case.cells();
    let recorded = cells.structural_complication?;
    let events: Vec<&str> = [
        (cells.tamponade, "tamponade"),
        (cells.annular_rupture, "annular rupture"),
        (cells.aortic_dissection, "aortic dissection"),
        (cells.coronary_obstruction, "coronary obstruction"),
    ]
    .into_iter()
    .filter(|(happened, _)| *happened == Some(true))
    .map(|(_, name)| name)
    .collect();
    Some(
        (recorded == Extent::None && !events.is_empty())
            .then(|| (recorded.word().to_owned(), events.join(", "))),
    )
}

/// Visits whose "since the last visit" lies within the first 30 days.
fn visits_to_day_30<'a>(
    case: &AuditCase<'a>,
) -> impl Iterator<Item = &'a crate::assess::Visit> + use<'a> {
    case.assessment
        .known
        .visits
        .iter()
        .take_while(|visit| visit.day <= 30)
}

fn stroke_at_visit(case: &AuditCase<'_>) -> Compared {
    let recorded = case.cells().stroke_30d?;
    let known = &case.assessment.known;
    let day = known
        .visits
        .iter()
        .filter(|visit| visit.cells.stroke == Some(true))
        .map(|visit| {
            visit
                .cells
                .stroke_date
                .map_or(visit.day, |date| known.day_of(date))
        })
        .find(|&day| day <= 30);
    let none = matches!(recorded, Stroke::None | Stroke::Tia);
    Some(day.filter(|_| none).map(|day| {
        (
            recorded.word().to_owned(),
            format!("stroke to day {day} at a visit"),
        )
    }))
}

fn bleeding_at_visit(case: &AuditCase<'_>) -> Compared {
    let recorded = case.cells().bleeding_type?;
    let worst = visits_to_day_30(case)
        .filter_map(|visit| visit.cells.bleeding_type)
        .max()?;
    Some((worst > recorded).then(|| {
        (
            words(recorded),
            format!("{} at a visit to day 30", words(worst)),
        )
    }))
}

fn pacemaker_at_visit(case: &AuditCase<'_>) -> Compared {
    let recorded = case.cells().new_pacemaker_30d?;
    let at_visit = visits_to_day_30(case)
        .filter_map(|visit| visit.cells.new_pacemaker)
        .reduce(|a, b| a || b)?;
    Some((at_visit && !recorded).then(|| ("no".to_owned(), "yes at a visit to day 30".to_owned())))
}
