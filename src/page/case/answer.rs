//! Block 2: what was done and what changed; what asks for attention.

use super::findings::Finding;
use super::ladder::Detail;
use super::limits;
use super::view::{View, cell, computed, has_echo};
use crate::assess::{Flag, ProsthesisEcho, Visit, latest};
use crate::page::number::{date, recorded, signed_as_recorded, with_unit};
use crate::page::table::{Column, Table, Width};
use crate::page::text::{Heading, Items, Paragraph, Rich, Stack};
use crate::page::theme;
use crate::page::words::{DASH, NOT_RECORDED, Words};
use crate::record::{Choice, Grade, Nyha};

/// Most findings with a line of their own.
pub(super) const MOST_FINDINGS: usize = 8;
/// What the marks of this page mean, where the first of them stands.
const LEGEND: &str = "(c)\u{a0}computed\u{a0}· (r)\u{a0}reported\u{a0}· —\u{a0}not\u{a0}recorded\u{a0}· †\u{a0}in\u{a0}doubt";
/// Most columns of values.
const MOST_ECHOES: usize = 4;

/// The left half.
pub(super) fn changed(view: &View<'_>, detail: &Detail) -> Stack<'static> {
    let reason = match view.cells.sizing_reason.as_deref() {
        Some(reason) => format!("Reason as written: “{reason}”"),
        None => format!("Reason for the size: {NOT_RECORDED}"),
    };
    let mut stack = Stack::default()
        .with(Heading::second("What was done, what changed"))
        .with(Paragraph::body(decision(view)).at_most(if detail.tight { 2 } else { 4 }))
        .with(Paragraph::body(device_line(view, detail)))
        .with(
            Paragraph::body(reason).at_most(match (detail.tight, detail.short_reason) {
                (true, _) => 1,
                (false, true) => 2,
                (false, false) => usize::MAX,
            }),
        )
        .with_gap(0.8, echo_table(view, detail));
    if let Some(old_valve) = no_echo_since_reintervention(view, detail.tight) {
        stack = stack.with(Paragraph::body(Rich::bold(old_valve)));
    }
    if let Some(since) = since_latest_echo(view) {
        stack = stack.with(Paragraph::small(since));
    }
    stack
}

/// Planned, chosen, by which way.
fn decision(view: &View<'_>) -> Rich {
    let cells = view.cells;
    let named = |id: &str| {
        view.catalogue.get(id).map_or_else(
            || format!("{id} (no row in the devices file)"),
            |device| device.label.to_string(),
        )
    };
    let route = cells
        .access_route
        .map_or("route not recorded", Words::words);
    let (planned, chosen) = (
        cells.planned_device_id.as_deref(),
        cells.device_id.as_deref(),
    );
    let what = match (planned, chosen) {
        _ if cells.no_valve_implanted == Some(true) && chosen.is_none() => match planned {
            Some(planned) => format!("Planned {}, no valve implanted", named(planned)),
            None => "No valve implanted".to_owned(),
        },
        (Some(planned), Some(chosen)) if planned == chosen => {
            format!("Implanted as planned: {}", named(chosen))
        }
        (Some(planned), Some(chosen)) => {
            format!("Planned {}, implanted {}", named(planned), named(chosen))
        }
        (None, Some(chosen)) => format!("Implanted {}; plan {NOT_RECORDED}", named(chosen)),
        (Some(planned), None) => format!(
            "Planned {}, implanted device {NOT_RECORDED}",
            named(planned)
        ),
        (None, None) => format!("Implanted device {NOT_RECORDED}"),
    };
    // Nobody who reads one line only may take a death in the room, or a lost valve, for a plan that went well.
    let first: String = [
        (cells.procedural_death, "Died in the procedure room. "),
        (cells.valve_embolisation, "Valve embolised. "),
        (cells.second_valve, "Second valve. "),
    ]
    .into_iter()
    .filter(|(happened, _)| *happened == Some(true))
    .map(|(_, words)| words)
    .collect();
    Rich::bold(format!("{first}{what}, {route}"))
}

fn device_line(view: &View<'_>, detail: &Detail) -> Rich {
    let cells = view.cells;
    let serial = cells.device_serial.as_deref().unwrap_or(NOT_RECORDED);
    let lot = cells.device_lot.as_deref().unwrap_or(NOT_RECORDED);
    // The serial is never shortened; a lot as long as a sentence is.
    let lot = match lot.char_indices().nth(30) {
        Some((end, _)) if detail.tight => format!("{}…", lot[..end].trim_end()),
        _ => lot.to_owned(),
    };
    let mechanism = view.device.map_or(String::new(), |device| {
        format!(" · {}", device.mechanism.words())
    });
    let fill = cells.fill_volume_change_ml.map_or(String::new(), |change| {
        format!(
            " · fill {}",
            with_unit(&signed_as_recorded(change, 1), "mL")
        )
    });
    Rich::from("Serial ")
        .and_bold(serial)
        .and(format!(" · lot {lot}{mechanism}{fill}"))
}

/// One column of values: its head, and the values from above down.
struct Echo {
    head: String,
    /// Doubt of the gradient and velocity, and of the area.
    doubts: [&'static str; 2],
    values: [String; 7],
}

fn echo_table(view: &View<'_>, detail: &Detail) -> Table {
    let echoes = echoes(view, detail);
    let labels = [
        "Mean gradient, mmHg",
        "Peak velocity, m/s",
        "Valve area (c), cm²",
        "Leak beside the valve",
        "Leak through it",
        "LVEF, %",
        "NYHA · KCCQ, points",
    ];
    let mut header = vec![Rich::from(LEGEND)];
    header.extend(echoes.iter().map(|echo| Rich::bold(echo.head.as_str())));
    let rows = labels
        .iter()
        .enumerate()
        .map(|(row, label)| {
            let mut cells = vec![Rich::from(*label)];
            for echo in &echoes {
                let value = &echo.values[row];
                let doubt = match row {
                    _ if value == DASH => "",
                    0 | 1 => echo.doubts[0],
                    2 => echo.doubts[1],
                    _ => "",
                };
                let text = format!("{value}{doubt}");
                cells.push(if row == 0 {
                    Rich::bold(text)
                } else {
                    Rich::from(text)
                });
            }
            cells
        })
        .collect();
    let width_mm = if echoes.len() < MOST_ECHOES {
        16.0
    } else {
        13.6
    };
    let mut columns = vec![Column::left(Width::Share(1.0))];
    columns.extend(echoes.iter().map(|_| Column::right(Width::Fixed(width_mm))));
    Table::body(columns, Some(header), rows)
}

fn echoes(view: &View<'_>, detail: &Detail) -> Vec<Echo> {
    let mut echoes = vec![before(view), discharge(view)];
    let with_echo: Vec<(usize, &Visit)> = view.echo_visits().collect();
    let reference = view.assessment.course.reference;
    let Some(&(latest, _)) = with_echo.last() else {
        return echoes;
    };
    let mut shown: Vec<usize> = Vec::new();
    shown.extend(reference.filter(|&reference| reference != latest));
    shown.push(latest);
    if !detail.no_visits_between {
        // Echoes between, the latest first, as far as there is room.
        for &(visit, _) in with_echo.iter().rev() {
            if shown.len() + 2 >= MOST_ECHOES {
                break;
            }
            if !shown.contains(&visit) {
                shown.push(visit);
            }
        }
        shown.sort_unstable();
    }
    for visit in shown {
        let name = match visit {
            _ if visit == latest => "latest echo".to_owned(),
            _ if Some(visit) == reference => format!("day {}", view.known.visits[visit].day),
            _ => "between".to_owned(),
        };
        echoes.push(at_visit(view, visit, &name));
    }
    echoes
}

fn head(name: &str, on: Option<jiff::civil::Date>) -> String {
    match on {
        Some(on) => format!("{} {}", name.replace(' ', "\u{a0}"), date(on)),
        None => format!("{} not\u{a0}dated", name.replace(' ', "\u{a0}")),
    }
}

fn symptoms(nyha: Option<Nyha>, kccq: Option<f64>) -> String {
    if nyha.is_none() && kccq.is_none() {
        return DASH.to_owned();
    }
    format!(
        "{} · {}",
        nyha.map_or(DASH, Choice::word),
        cell(kccq, 0, limits::KCCQ)
    )
}

fn grade(grade: Option<Grade>) -> String {
    grade.map_or(DASH, Choice::word).to_owned()
}

fn before(view: &View<'_>) -> Echo {
    let cells = view.cells;
    Echo {
        head: head("before", cells.baseline_echo_date),
        doubts: [
            view.cell_doubt(&["baseline_mean_gradient_mmhg", "baseline_vmax_m_s"]),
            view.doubt("baseline_ava_computed_cm2"),
        ],
        values: [
            cell(cells.baseline_mean_gradient_mmhg, 1, limits::BASELINE_MEAN),
            cell(cells.baseline_vmax_m_s, 2, limits::BASELINE_VMAX),
            match (
                view.assessment.results.before.baseline_ava_computed_cm2,
                cells.baseline_ava_cm2,
            ) {
                (None, Some(reported)) => {
                    format!("(r)\u{a0}{}", recorded(reported, 2, limits::AREA))
                }
                (area, _) => computed(area, 2, limits::AREA),
            },
            // No prosthesis, so nothing beside it.
            String::new(),
            grade(cells.baseline_ar_grade),
            cell(cells.baseline_lvef_pct, 0, limits::LVEF),
            symptoms(cells.nyha_class, cells.kccq_baseline),
        ],
    }
}

fn discharge(view: &View<'_>) -> Echo {
    let cells = view.cells;
    let head = match (cells.procedural_death, cells.post_echo_date) {
        (Some(true), None) => "discharge none,\u{a0}died".to_owned(),
        (_, on) => head("discharge", on),
    };
    Echo {
        head,
        doubts: [
            view.cell_doubt(&["post_mean_gradient_mmhg", "post_vmax_m_s"]),
            view.doubt("post_eoa_cm2"),
        ],
        values: {
            let mut values = after(&ProsthesisEcho::before_discharge(cells), None, None);
            // Symptoms are not asked for at discharge.
            values[6].clear();
            values
        },
    }
}

fn at_visit(view: &View<'_>, position: usize, name: &str) -> Echo {
    let visit = &view.known.visits[position];
    Echo {
        head: head(name, Some(visit.date)),
        doubts: [
            view.visit_doubt(position, &["mean_gradient_mmhg", "vmax_m_s"]),
            view.visit_doubt(position, &["av_vti_cm", "lvot_vti_cm"]),
        ],
        values: after(
            &ProsthesisEcho::of_visit(&visit.cells),
            visit.cells.nyha_class,
            visit.cells.kccq,
        ),
    }
}

fn after(echo: &ProsthesisEcho, nyha: Option<Nyha>, kccq: Option<f64>) -> [String; 7] {
    [
        cell(echo.mean_gradient_mmhg, 1, limits::AFTER_MEAN),
        cell(echo.vmax_m_s, 2, limits::AFTER_VMAX),
        computed(echo.eoa_cm2(), 2, &[]),
        grade(echo.paravalvular_grade),
        grade(echo.transvalvular_grade),
        cell(echo.lvef_pct, 0, limits::LVEF),
        symptoms(nyha, kccq),
    ]
}

/// After a reintervention the latest echo may be of a valve that is no longer the one that works.
pub(super) fn no_echo_since_reintervention(view: &View<'_>, short: bool) -> Option<String> {
    let visits = &view.known.visits;
    let on = visits
        .iter()
        .filter(|visit| visit.cells.valve_reintervention == Some(true))
        .map(|visit| visit.cells.reintervention_date.unwrap_or(visit.date))
        .max()?;
    let latest = view.echo_visits().last().map(|(_, visit)| visit.date);
    latest.is_none_or(|latest| latest < on).then(|| {
        let consequence = match short {
            true => "",
            false => ": what stands here is from before it",
        };
        format!(
            "No echo since the valve reintervention of {}{consequence}.",
            date(on)
        )
    })
}

/// Symptoms more recent than the latest echo, and how many visits had none.
fn since_latest_echo(view: &View<'_>) -> Option<String> {
    let visits = &view.known.visits;
    if visits.is_empty() {
        return None;
    }
    let latest_echo = visits.iter().rposition(has_echo);
    let (visit, _) = latest(view.known, |visit| {
        (visit.cells.nyha_class.is_some() || visit.cells.kccq.is_some()).then_some(())
    })?;
    // The last two visits stand in the sentence above.
    let told = visits[visits.len().saturating_sub(2)].date <= visit.date;
    if told || latest_echo.is_some_and(|position| visits[position].date >= visit.date) {
        return None;
    }
    let how = visit
        .cells
        .attendance
        .map_or(String::new(), |how| format!(", {}", how.words()));
    Some(format!(
        "NYHA · KCCQ latest {}{how}: {}.",
        date(visit.date),
        symptoms(visit.cells.nyha_class, visit.cells.kccq)
    ))
}

/// The right half.
pub(super) fn attention(findings: &[Finding], detail: &Detail) -> Stack<'static> {
    let (shown, further) = findings.split_at(findings.len().min(MOST_FINDINGS));
    let heading = match (findings.len(), further.len()) {
        (0, _) => "For attention".to_owned(),
        (all, 0) => format!("For attention ({all})"),
        (all, more) => format!(
            "For attention ({} of {all}; the other {more} named below)",
            shown.len()
        ),
    };
    let stack = Stack::default().with(Heading::second(heading));
    if findings.is_empty() {
        return stack.with(Paragraph::body(
            "No rule of this page raised anything. Blank cells raise nothing: see what is missing below.",
        ));
    }
    let text = |finding: &Finding| {
        Rich::from(if detail.short_findings {
            finding.short.as_str()
        } else {
            finding.full.as_str()
        })
    };
    let mut list = Items::numbered(shown.iter().map(text));
    list.most_lines = match (detail.tight, detail.short_findings) {
        (true, _) => 1,
        (false, true) => 2,
        (false, false) => 4,
    };
    let stack = stack.with(list);
    if further.is_empty() {
        return stack;
    }
    let names = names_of(further);
    stack.with_gap(
        0.5,
        Paragraph {
            size: theme::SMALL,
            ..Paragraph::body(Rich::bold("Also: ").and(format!("{}.", names.join(" · "))))
        },
    )
}

/// Names of the further findings; contradictions of cells are counted, since one check says as much as another.
fn names_of(further: &[Finding]) -> Vec<String> {
    let (contradictions, others): (Vec<&Finding>, Vec<&Finding>) = further
        .iter()
        .partition(|finding| finding.flag == Some(Flag::Contradiction));
    let mut names: Vec<String> = others.iter().map(|finding| finding.name.clone()).collect();
    match contradictions.as_slice() {
        [] => {}
        [one] => names.push(one.name.clone()),
        more => names.push(format!(
            "{} contradictions, each in problems.csv",
            more.len()
        )),
    }
    names
}
