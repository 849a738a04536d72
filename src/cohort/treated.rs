//! Who was treated: the patients and procedures of the period beside those of the span before.

use super::audit_case::AuditCase;
use super::options::RiskModel;
use super::statistics::{Summary, summary};
use crate::record::{Cells, Choice, Mechanism, Shown};

/// One continuous measure.
#[derive(Clone, Debug, PartialEq)]
pub struct TreatedQuantity {
    /// Words of the row.
    pub title: &'static str,
    /// Unit.
    pub unit: &'static str,
    /// Digits after the point.
    pub decimals: usize,
    /// In the period.
    pub now: Option<Summary>,
    /// In the span beside it.
    pub beside: Option<Summary>,
}

/// One choice of a categorical measure.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TreatedChoice {
    /// Words of the choice.
    pub word: String,
    /// Cases of the period.
    pub now: usize,
    /// Cases of the span beside it.
    pub beside: usize,
}

/// One categorical measure.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TreatedCategory {
    /// Words of the row.
    pub title: &'static str,
    /// Choices that occur, in the order of the dictionary; of a yes-or-no cell only the yes.
    pub choices: Vec<TreatedChoice>,
    /// Known in the period.
    pub now_known: usize,
    /// Known in the span beside it.
    pub beside_known: usize,
}

/// The table.
#[derive(Clone, Debug, PartialEq)]
pub struct Treated {
    /// Cases of the period.
    pub now_n: usize,
    /// Cases of the span beside it.
    pub beside_n: usize,
    /// Continuous measures.
    pub quantities: Vec<TreatedQuantity>,
    /// Categorical measures.
    pub categories: Vec<TreatedCategory>,
}

type Value = fn(&AuditCase<'_>) -> Option<f64>;

const QUANTITIES: [(&str, &str, usize, Value); 13] = [
    ("Age", "years", 0, |case| {
        case.assessment
            .results
            .before
            .age_years
            .map(|age| age as f64)
    }),
    ("EuroSCORE II", "%", 1, |case| {
        case.risk_pct(RiskModel::EuroScore2)
    }),
    ("STS predicted risk", "%", 1, |case| {
        case.risk_pct(RiskModel::StsProm)
    }),
    ("Clinical Frailty Scale", "", 0, |case| {
        case.cells()
            .clinical_frailty_scale
            .map(|scale| scale as f64)
    }),
    ("KCCQ overall", "points", 0, |case| {
        case.cells().kccq_baseline
    }),
    ("Body mass index", "kg/m2", 1, |case| {
        case.assessment.results.before.bmi_kg_m2
    }),
    ("LVEF", "%", 0, |case| case.cells().baseline_lvef_pct),
    ("Peak velocity", "m/s", 1, |case| {
        case.cells().baseline_vmax_m_s
    }),
    ("Mean gradient", "mmHg", 0, |case| {
        case.cells().baseline_mean_gradient_mmhg
    }),
    ("Valve area used", "cm2", 2, |case| {
        case.assessment.results.before.baseline_ava_used_cm2
    }),
    ("Annulus area", "mm2", 0, |case| {
        case.cells().annulus_area_mm2
    }),
    ("Contrast", "mL", 0, |case| case.cells().contrast_ml),
    ("Length of stay", "days", 0, |case| {
        case.assessment
            .results
            .outcomes
            .length_of_stay_days
            .map(|days| days as f64)
    }),
];

/// Title and column of the cases file.
const CATEGORIES: [(&str, &str); 14] = [
    ("Sex", "sex"),
    ("NYHA class", "nyha_class"),
    ("Indication", "indication"),
    ("Valve morphology", "valve_morphology"),
    ("Urgency", "urgency"),
    ("Access", "access_route"),
    ("Anaesthesia", "anaesthesia"),
    ("Pre-dilatation", "predilatation"),
    ("Post-dilatation", "postdilatation"),
    ("Atrial fibrillation known", "atrial_fibrillation_history"),
    ("Pacemaker before", "prior_pacemaker"),
    ("Right bundle branch block", "right_bundle_branch_block"),
    ("Previous cardiac surgery", "previous_cardiac_surgery"),
    ("Dialysis", "dialysis"),
];

impl Treated {
    /// Cases of the period beside those of another span, which may be of another file.
    pub fn of(now: &[&AuditCase<'_>], beside: &[&AuditCase<'_>]) -> Self {
        let summed = |selection: &[&AuditCase<'_>], value: Value| {
            let values: Vec<f64> = selection.iter().filter_map(|case| value(case)).collect();
            summary(&values)
        };
        let mut categories: Vec<TreatedCategory> = CATEGORIES
            .iter()
            .map(|&(title, column)| category(title, column, now, beside))
            .collect();
        categories.insert(3, mechanisms(now, beside));
        Self {
            now_n: now.len(),
            beside_n: beside.len(),
            quantities: QUANTITIES
                .iter()
                .map(|&(title, unit, decimals, value)| TreatedQuantity {
                    title,
                    unit,
                    decimals,
                    now: summed(now, value),
                    beside: summed(beside, value),
                })
                .collect(),
            categories,
        }
    }
}

fn category(
    title: &'static str,
    column: &str,
    now: &[&AuditCase<'_>],
    beside: &[&AuditCase<'_>],
) -> TreatedCategory {
    let word = |case: &AuditCase<'_>| match case.cells().value(column) {
        Some(Shown::Word(word)) => Some(word),
        Some(Shown::YesNo(yes)) => Some(if yes { "yes" } else { "no" }),
        _ => None,
    };
    let words =
        crate::record::CaseCells::field(column).map_or_else(Vec::new, |field| (field.words)());
    let words = if words.is_empty() { vec!["yes"] } else { words };
    counted(title, &words, now, beside, word)
}

fn mechanisms(now: &[&AuditCase<'_>], beside: &[&AuditCase<'_>]) -> TreatedCategory {
    let words: Vec<&str> = Mechanism::ALL
        .iter()
        .map(|mechanism| mechanism.word())
        .collect();
    counted("Valve implanted", &words, now, beside, |case| {
        case.mechanism.map(Choice::word)
    })
}

fn counted(
    title: &'static str,
    words: &[&'static str],
    now: &[&AuditCase<'_>],
    beside: &[&AuditCase<'_>],
    word_of: impl Fn(&AuditCase<'_>) -> Option<&'static str>,
) -> TreatedCategory {
    let tally = |selection: &[&AuditCase<'_>]| {
        let known: Vec<&str> = selection.iter().filter_map(|case| word_of(case)).collect();
        let of = |word: &str| known.iter().filter(|&&found| found == word).count();
        (
            words.iter().map(|word| of(word)).collect::<Vec<_>>(),
            known.len(),
        )
    };
    let ((now, now_known), (beside, beside_known)) = (tally(now), tally(beside));
    TreatedCategory {
        title,
        choices: words
            .iter()
            .zip(now.into_iter().zip(beside))
            .filter(|(_, (now, beside))| words.len() == 1 || now + beside > 0)
            .map(|(word, (now, beside))| TreatedChoice {
                word: word.replace('_', " "),
                now,
                beside,
            })
            .collect(),
        now_known,
        beside_known,
    }
}
