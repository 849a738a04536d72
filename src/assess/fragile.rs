//! Classes that one input's usual measurement error would change (project's own rule; errors from the settings).

use super::after::{intended_performance_parts, mismatch};
use super::bands::{all_of, finite};
use super::before::{Stenosis, StenosisInputs};
use super::durability::Course;
use super::result::{DeteriorationStage, Endpoint, Mismatch, StenosisClass};
use super::sizing::SizingEvidence;
use super::{Assessed, Facts};
use crate::record::Choice;
use crate::settings::UsualErrors;

/// One class that one moved input would change.
#[derive(Clone, Debug, PartialEq)]
pub struct Fragile {
    /// Result whose class would change.
    pub result: &'static str,
    /// Column of the input that was moved.
    pub input: &'static str,
    /// The input as it was, in its unit.
    pub value: f64,
    /// The input as moved, in its unit.
    pub moved_to: f64,
    /// The class as it is.
    pub from: &'static str,
    /// The class it would be.
    pub to: &'static str,
}

/// A class that can be told and applies, as a word.
trait Decided: Choice {
    fn decided(self) -> Option<&'static str> {
        Some(self.word()).filter(|word| !matches!(*word, "not_assessable" | "not_applicable"))
    }
}
impl<T: Choice> Decided for T {}

/// Every class that would change, in the order of results.csv.
pub fn fragile(facts: &Facts<'_>, results: &Assessed, errors: &UsualErrors) -> Vec<Fragile> {
    let mut found = Vec::new();
    stenosis(facts, results, errors, &mut found);
    annulus(facts, results, errors, &mut found);
    performance(facts, results, errors, &mut found);
    deterioration(facts, results, errors, &mut found);
    found
}

/// The value moved down and up by a share of itself.
fn by_pct(value: f64, pct: f64) -> [f64; 2] {
    [value * (1.0 - pct / 100.0), value * (1.0 + pct / 100.0)]
}

/// The value moved down and up by an amount.
fn by(value: f64, amount: f64) -> [f64; 2] {
    [value - amount, value + amount]
}

struct Probe {
    result: &'static str,
    input: &'static str,
    from: Option<&'static str>,
    value: Option<f64>,
}

impl Probe {
    /// Tries both moves; a class that cannot be told or does not apply, before or after, is not named.
    fn try_moves(
        &self,
        moves: impl Fn(f64) -> [f64; 2],
        mut class_at: impl FnMut(f64) -> Option<&'static str>,
        found: &mut Vec<Fragile>,
    ) {
        let (Some(from), Some(value)) = (self.from, self.value) else {
            return;
        };
        for moved_to in moves(value) {
            if let Some(to) = class_at(moved_to).filter(|&to| to != from) {
                found.push(Fragile {
                    result: self.result,
                    input: self.input,
                    value,
                    moved_to,
                    from,
                    to,
                });
            }
        }
    }
}

fn stenosis(facts: &Facts<'_>, results: &Assessed, errors: &UsualErrors, found: &mut Vec<Fragile>) {
    let from = StenosisClass::decided(results.before.stenosis_class);
    if from.is_none() {
        return;
    }
    let cells = &facts.known.cells;
    let inputs = StenosisInputs::of(cells, results.before.bsa_m2);
    let class = |moved: StenosisInputs| Stenosis::of(&moved).class.decided();
    let probe = |input, value| Probe {
        result: "stenosis_class",
        input,
        from,
        value,
    };
    probe("baseline_lvot_diameter_mm", cells.baseline_lvot_diameter_mm).try_moves(
        |value| by(value, errors.outflow_diameter_mm),
        |moved| {
            class(StenosisInputs {
                lvot_diameter_mm: Some(moved),
                ..inputs
            })
        },
        found,
    );
    probe("baseline_vmax_m_s", cells.baseline_vmax_m_s).try_moves(
        |value| by_pct(value, errors.peak_velocity_pct),
        |moved| {
            class(StenosisInputs {
                vmax_m_s: Some(moved),
                ..inputs
            })
        },
        found,
    );
    probe(
        "baseline_mean_gradient_mmhg",
        cells.baseline_mean_gradient_mmhg,
    )
    .try_moves(
        |value| by_pct(value, errors.mean_gradient_pct),
        |moved| {
            class(StenosisInputs {
                mean_gradient_mmhg: Some(moved),
                ..inputs
            })
        },
        found,
    );
}

/// A class that can be told, as a word.
type Class = Option<&'static str>;
/// The class that this evidence gives.
type ClassOf = fn(SizingEvidence<'_>) -> Class;

fn annulus(facts: &Facts<'_>, results: &Assessed, errors: &UsualErrors, found: &mut Vec<Fragile>) {
    let cells = &facts.known.cells;
    let evidence = SizingEvidence::of(cells, facts.catalogue);
    let classes: [(&'static str, Class, ClassOf); 2] = [
        (
            "device_in_range",
            results.sizing.device_in_range.decided(),
            |moved| moved.device_in_range().decided(),
        ),
        (
            "sizing_agreement",
            results.sizing.sizing_agreement.decided(),
            |moved| moved.sizing_agreement().decided(),
        ),
    ];
    for (result, from, class) in classes {
        let area = Probe {
            result,
            input: "annulus_area_mm2",
            from,
            value: cells.annulus_area_mm2,
        };
        area.try_moves(
            |value| by_pct(value, errors.annulus_area_pct),
            |moved| {
                class(SizingEvidence {
                    annulus_area_mm2: Some(moved),
                    ..evidence
                })
            },
            found,
        );
        let perimeter = Probe {
            result,
            input: "annulus_perimeter_mm",
            from,
            value: cells.annulus_perimeter_mm,
        };
        perimeter.try_moves(
            |value| by_pct(value, errors.annulus_perimeter_pct),
            |moved| {
                class(SizingEvidence {
                    annulus_perimeter_mm: Some(moved),
                    ..evidence
                })
            },
            found,
        );
    }
}

fn performance(
    facts: &Facts<'_>,
    results: &Assessed,
    errors: &UsualErrors,
    found: &mut Vec<Fragile>,
) {
    let echo = facts.performance.echo;
    let intended = Probe {
        result: "intended_performance",
        input: "mean_gradient_mmhg",
        from: results.after.intended_performance.decided(),
        value: echo.mean_gradient_mmhg,
    };
    intended.try_moves(
        |value| by_pct(value, errors.mean_gradient_pct),
        |moved| {
            let mut echo = echo;
            echo.mean_gradient_mmhg = Some(moved);
            Endpoint::from(all_of(intended_performance_parts(
                &echo,
                facts.moderate_regurgitation,
            )))
            .decided()
        },
        found,
    );
    let measured = Probe {
        result: "measured_ppm",
        input: "lvot_diameter_mm",
        from: results.after.measured_ppm.decided(),
        value: echo.lvot_diameter_mm,
    };
    measured.try_moves(
        |value| by(value, errors.outflow_diameter_mm),
        |moved| {
            let mut echo = echo;
            echo.lvot_diameter_mm = Some(moved);
            let indexed = echo
                .eoa_cm2()
                .zip(results.before.bsa_m2)
                .and_then(|(area, bsa)| finite(area / bsa));
            Mismatch::decided(mismatch(indexed, results.before.bmi_kg_m2))
        },
        found,
    );
}

fn deterioration(
    facts: &Facts<'_>,
    results: &Assessed,
    errors: &UsualErrors,
    found: &mut Vec<Fragile>,
) {
    let Some(latest) = facts.course.later.last() else {
        return;
    };
    let from = results.durability.deterioration_stage.decided();
    if from.is_none() {
        return;
    }
    let mut visits = facts.known.visits.clone();
    let probe = Probe {
        result: "deterioration_stage",
        input: "mean_gradient_mmhg",
        from,
        value: visits[latest.visit].cells.mean_gradient_mmhg,
    };
    probe.try_moves(
        |value| by_pct(value, errors.mean_gradient_pct),
        |moved| {
            visits[latest.visit].cells.mean_gradient_mmhg = Some(moved);
            DeteriorationStage::decided(Course::of_visits(&visits).deterioration_stage())
        },
        found,
    );
}
