//! Each criterion of valve deterioration at the latest echo, in words with its numbers (VARC-3).

use super::composites::Verdict;
use super::limits;
use super::view::View;
use crate::assess::{Criteria, CriterionState, ProsthesisEcho, STAGE_2, STAGE_3};
use crate::page::number::{date, digits_against, recorded, with_unit};
use crate::record::Choice;

/// One criterion: its state, and what it is in words.
type Criterion = (Option<CriterionState>, String);

/// The line below the verdict on deterioration; none without a reference echo or an echo after it.
pub(super) fn at_latest_echo(view: &View<'_>) -> Option<Verdict> {
    let course = &view.assessment.course;
    let (then, now) = (course.reference?, course.later.last()?.visit);
    let criteria = criteria(view, then, now);
    let groups = [
        (Some(CriterionState::Stage3), "met for stage 3"),
        (Some(CriterionState::Stage2), "met for stage 2"),
        (Some(CriterionState::NotMet), "not met"),
        (None, "cannot be told"),
    ];
    let said: Vec<String> = groups
        .into_iter()
        .filter_map(|(state, words)| {
            let these: Vec<&str> = criteria
                .iter()
                .filter(|(found, _)| *found == state)
                .map(|(_, words)| words.as_str())
                .collect();
            (!these.is_empty()).then(|| format!("{words}: {}", these.join(", ")))
        })
        .collect();
    Some(Verdict {
        what: format!("\u{a0}\u{a0}at {}", date(view.known.visits[now].date)),
        result: "deterioration_stage",
        verdict: String::new(),
        because: said.join("; "),
    })
}

fn criteria(view: &View<'_>, then: usize, now: usize) -> [Criterion; 4] {
    let echo = |visit: usize| ProsthesisEcho::of_visit(&view.known.visits[visit].cells);
    let (reference, latest) = (echo(then), echo(now));
    let states = Criteria::of(&reference, &latest);
    let doubt = |columns: &[&str]| match view.visit_doubt(now, columns) {
        "" => view.visit_doubt(then, columns),
        mark => mark,
    };
    let integrals = doubt(&["av_vti_cm", "lvot_vti_cm"]);
    let gradient = match (reference.mean_gradient_mmhg, latest.mean_gradient_mmhg) {
        (Some(then), Some(now)) => format!(
            "mean {} ({})",
            with_unit(&recorded(now, 1, limits::AFTER_MEAN), "mmHg"),
            rise(now - then)
        ),
        pair => lacking("mean", pair),
    };
    let area = match (reference.eoa_cm2(), latest.eoa_cm2()) {
        (Some(then), Some(now)) => fall(
            ("area", "cm2"),
            (then, now),
            [STAGE_2.eoa_fall_cm2, STAGE_3.eoa_fall_cm2],
            [STAGE_2.eoa_fall_pct, STAGE_3.eoa_fall_pct],
        ),
        pair => lacking("area", pair),
    };
    let index = match (reference.dvi(), latest.dvi()) {
        (Some(then), Some(now)) => fall(
            ("DVI", ""),
            (then, now),
            [STAGE_2.dvi_fall, STAGE_3.dvi_fall],
            [STAGE_2.dvi_fall_pct, STAGE_3.dvi_fall_pct],
        ),
        pair => lacking("DVI", pair),
    };
    let leak = match (reference.transvalvular_grade, latest.transvalvular_grade) {
        (Some(then), Some(now)) if then == now => format!("leak through it {}", now.word()),
        (Some(then), Some(now)) => {
            format!("leak through it {}\u{a0}→\u{a0}{}", then.word(), now.word())
        }
        (None, Some(now)) if states.regurgitation.is_some() => {
            format!("leak through it {}", now.word())
        }
        pair => lacking("leak through it", pair),
    };
    [
        (
            states.gradient,
            format!("{gradient}{}", doubt(&["mean_gradient_mmhg", "vmax_m_s"])),
        ),
        (states.area, format!("{area}{integrals}")),
        (states.index, format!("{index}{integrals}")),
        (states.regurgitation, leak),
    ]
}

/// Which of the two echoes lacks it.
fn lacking<T>(what: &str, pair: (Option<T>, Option<T>)) -> String {
    let at = match pair {
        (None, None) => "either echo",
        (None, Some(_)) => "the reference",
        (Some(_), _) => "this echo",
    };
    format!("{what} (not at {at})")
}

fn with_sign(value: f64, written: String) -> String {
    let zero = written.bytes().all(|byte| matches!(byte, b'0' | b'.'));
    match value > 0.0 && !zero {
        true => format!("+{written}"),
        false => written,
    }
}

/// A rise of the mean gradient, on its side of both thresholds.
fn rise(mmhg: f64) -> String {
    let limits = [STAGE_2.rise_mmhg, STAGE_3.rise_mmhg];
    with_sign(mmhg, recorded(mmhg, 1, &limits))
}

/// A change against the reference, absolute and in percent, each on its side of both thresholds.
fn fall(
    (what, unit): (&str, &str),
    (then, now): (f64, f64),
    by: [f64; 2],
    by_pct: [f64; 2],
) -> String {
    let change = now - then;
    let pct = change / then * 100.0;
    let written = with_sign(change, digits_against(change, 2, &by.map(|fall| -fall)));
    let written_pct = with_sign(pct, digits_against(pct, 0, &by_pct.map(|fall| -fall)));
    format!(
        "{what} {} ({})",
        with_unit(&written, unit),
        with_unit(&written_pct, "%")
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    // Thresholds of VARC-3 (Généreux 2021): fall of area 0.3 cm² or 25 %, of the index 0.1 or 20 %; rise 10 mmHg.
    #[test]
    fn a_change_is_printed_on_its_side_of_the_thresholds() {
        assert_eq!(rise(9.96), "+9.96");
        assert_eq!(rise(13.2 - 3.2), "+10");
        let area = |then, now| fall(("area", "cm2"), (then, now), [0.3, 0.6], [25.0, 50.0]);
        // 0.296 of 1.80 is a fall of 16.4 %: not met, so it must not read 0.30.
        assert_eq!(area(1.80, 1.504), "area −0.296\u{a0}cm² (−16\u{a0}%)");
        // 0.249 of 1.00 is 24.9 %: not met, so it must not read 25 %.
        assert_eq!(area(1.0, 0.751), "area −0.25\u{a0}cm² (−24.9\u{a0}%)");
        assert_eq!(area(1.80, 1.80), "area 0.00\u{a0}cm² (0\u{a0}%)");
        assert_eq!(area(1.80, 1.89), "area +0.09\u{a0}cm² (+5\u{a0}%)");
    }
}
