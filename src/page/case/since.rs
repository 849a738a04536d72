//! What changed since the last visit: the latest echo against the one before it, the latest visit against the one
//! before it. Facts only; every value of the two is named, changed or not, recorded or not.

use super::ladder::Detail;
use super::limits;
use super::view::{AREA_COLUMNS, GRADIENT_COLUMNS, View, computed};
use crate::assess::{ProsthesisEcho, Visit};
use crate::page::number::{date, recorded, with_unit};
use crate::page::text::{Paragraph, Rich};
use crate::page::words::{NOT_RECORDED, Words};
use crate::record::{Attendance, Choice};

/// A value at the two times, as printed; `None` where it is not recorded.
struct Pair {
    what: &'static str,
    unit: &'static str,
    then: Option<String>,
    /// Where the earlier value was found, if not at the earlier time.
    found: Option<&'static str>,
    now: Option<String>,
}

/// The changes since the last visit; none before the first.
pub(super) fn changes(view: &View<'_>, detail: &Detail) -> Option<Paragraph> {
    let changed = last_visit(view, detail.short_findings || detail.tight)?;
    Some(Paragraph::body(changed).at_most(if detail.few_parts { 2 } else { usize::MAX }))
}

/// The changes in one paragraph; none before the first visit. The short form leaves out what did not change.
pub(super) fn last_visit(view: &View<'_>, short: bool) -> Option<Rich> {
    let visits = &view.known.visits;
    visits.last()?;
    let mut said: Vec<String> = Vec::new();
    said.extend(echo(view, short));
    said.push(clinic(view, short));
    Some(Rich::bold("Since the last visit. ").and(said.join(" ")))
}

/// The latest echo against the one before it, or against that before discharge.
fn echo(view: &View<'_>, short: bool) -> Option<String> {
    let visits = &view.known.visits;
    let mut with_echo = view.echo_visits().rev();
    let (latest_at, latest) = with_echo.next()?;
    let earlier = with_echo.next();
    let earlier_at = earlier.map(|(position, _)| position);
    let earlier = earlier.map(|(_, visit)| visit);
    let (then, from) = match earlier {
        Some(visit) => (ProsthesisEcho::of_visit(&visit.cells), Some(visit.date)),
        None => (
            ProsthesisEcho::before_discharge(view.cells),
            view.cells.post_echo_date,
        ),
    };
    let now = ProsthesisEcho::of_visit(&latest.cells);
    let number = |value: Option<f64>, most: usize, limits: &[f64]| {
        value.map(|value| recorded(value, most, limits))
    };
    let area = |echo: &ProsthesisEcho| Some(computed(Some(echo.eoa_cm2()?), 2, &[]));
    let index = |echo: &ProsthesisEcho| Some(computed(Some(echo.dvi()?), 2, limits::DVI));
    let of = |echo: &ProsthesisEcho, at: Option<usize>| {
        let marked = |value: Option<String>, columns| {
            value.map(|value| format!("{value}{}", view.echo_doubt(at, columns)))
        };
        [
            marked(
                number(echo.mean_gradient_mmhg, 1, limits::AFTER_MEAN),
                GRADIENT_COLUMNS,
            ),
            marked(area(echo), AREA_COLUMNS),
            marked(index(echo), AREA_COLUMNS),
            echo.paravalvular_grade.map(|grade| grade.word().to_owned()),
            echo.transvalvular_grade
                .map(|grade| grade.word().to_owned()),
            number(echo.lvef_pct, 0, limits::LVEF),
        ]
    };
    let names = [
        ("mean", "mmHg"),
        ("area (c)", "cm2"),
        ("DVI (c)", ""),
        ("leak beside", ""),
        ("leak through", ""),
        ("LVEF", "%"),
    ];
    let pairs: Vec<Pair> = names
        .into_iter()
        .zip(
            of(&then, earlier_at)
                .into_iter()
                .zip(of(&now, Some(latest_at))),
        )
        .map(|((what, unit), (then, now))| Pair {
            what,
            unit,
            then,
            found: None,
            now,
        })
        .collect();
    let against = match (from, earlier) {
        (Some(from), Some(_)) => date(from),
        (Some(from), None) => format!("discharge ({})", date(from)),
        (None, _) => "discharge".to_owned(),
    };
    let replaced = visits
        .iter()
        .filter(|visit| visit.cells.valve_reintervention == Some(true))
        .map(|visit| visit.cells.reintervention_date.unwrap_or(visit.date))
        .any(|on| on <= latest.date && from.is_none_or(|from| from < on));
    let valve = if replaced {
        ", after a valve reintervention"
    } else {
        ""
    };
    Some(format!(
        "Echo of {} against {against}{valve}: {}.",
        date(latest.date),
        sentence(&pairs, short)
    ))
}

/// The latest visit against the one before it, or against discharge.
fn clinic(view: &View<'_>, short: bool) -> String {
    let Some((latest, earlier)) = view.known.visits.split_last() else {
        return String::new();
    };
    let before = earlier.last();
    let nyha = |visit: &Visit| visit.cells.nyha_class.map(|class| class.word().to_owned());
    let kccq = |visit: &Visit| {
        let score = visit.cells.kccq?;
        Some(recorded(score, 0, limits::KCCQ))
    };
    let treatment = |visit: &Visit| {
        let treatment = visit.cells.antithrombotic?;
        Some(treatment.words().to_owned())
    };
    let planned = || Some(view.cells.antithrombotic_plan?.words().to_owned());
    let mut pairs = Vec::new();
    for (what, of) in [
        ("NYHA", &nyha as &dyn Fn(&Visit) -> Option<String>),
        ("KCCQ", &kccq),
    ] {
        // Symptoms are not asked for at discharge: the first visit stands against those before the procedure.
        let at_start = match what {
            "NYHA" => view.cells.nyha_class.map(|class| class.word().to_owned()),
            _ => view
                .cells
                .kccq_baseline
                .map(|score| recorded(score, 0, limits::KCCQ)),
        };
        let (then, found) = match before {
            Some(visit) => (of(visit), None),
            None => (at_start, Some("before the procedure")),
        };
        pairs.push(Pair {
            what,
            unit: "",
            then,
            found,
            now: of(latest),
        });
    }
    pairs.push(Pair {
        what: "antithrombotic",
        unit: "",
        then: before.map_or_else(planned, treatment),
        found: None,
        now: treatment(latest),
    });
    let how = latest
        .cells
        .attendance
        .filter(|how| *how != Attendance::Attended)
        .map_or(String::new(), |how| format!(", {},", how.words()));
    let against = before.map_or("discharge".to_owned(), |visit| date(visit.date));
    let pacemaker = match latest.cells.new_pacemaker {
        Some(true) => "new pacemaker since".to_owned(),
        Some(false) => "no new pacemaker since".to_owned(),
        None => format!("new pacemaker since: {NOT_RECORDED}"),
    };
    format!(
        "Visit of {}{how} against {against}: {}; {pacemaker}.",
        date(latest.date),
        sentence(&pairs, short)
    )
}

/// Changed values first, then the same, then those not recorded at the later time.
fn sentence(pairs: &[Pair], short: bool) -> String {
    let mut changed = Vec::new();
    let mut same = Vec::new();
    let mut unknown = Vec::new();
    for pair in pairs {
        let with = |value: &str| with_unit(value, pair.unit);
        match (&pair.then, &pair.now) {
            (Some(then), Some(now)) if then == now => {
                let found = pair.found.map_or(String::new(), |at| format!(" as {at}"));
                same.push(format!("{} {}{found}", pair.what, with(now)));
            }
            (Some(then), Some(now)) => {
                let found = pair.found.map_or(String::new(), |at| format!(" {at}"));
                changed.push(format!(
                    "{} {then}{found}\u{a0}→\u{a0}{}",
                    pair.what,
                    with(now)
                ));
            }
            (None, Some(now)) => {
                changed.push(format!("{} {} ({NOT_RECORDED} then)", pair.what, with(now)))
            }
            (_, None) => unknown.push(pair.what),
        }
    }
    let mut parts = Vec::new();
    if changed.is_empty() {
        parts.push("no recorded value changed".to_owned());
    } else {
        parts.push(changed.join(", "));
    }
    if !short && !same.is_empty() {
        parts.push(format!("unchanged: {}", same.join(", ")));
    }
    if !unknown.is_empty() {
        parts.push(format!("{NOT_RECORDED}: {}", unknown.join(", ")));
    }
    parts.join("; ")
}
