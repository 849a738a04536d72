//! What asks for attention, as facts with their numbers and dates, gravest first.

use super::view::{View, cell, computed, measured};
use super::{limits, risks, sizes};
use crate::assess::{self, FailedCheck, Flag, latest};
use crate::page::number::{date, recorded, shown_against, with_unit};
use crate::page::words::{self, NOT_RECORDED, Words, column};
use crate::record::{BleedingType, Choice, Extent, Grade, Stroke};

/// One finding: what asks for attention.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Finding {
    /// Group of the order for attention, 1 the gravest.
    pub group: u8,
    /// The flag it stands for; `None` for a fragile class.
    pub flag: Option<Flag>,
    /// Its name, for the small print.
    pub name: String,
    /// The fact with its numbers and dates.
    pub full: String,
    /// The same in fewer words.
    pub short: String,
}

/// Group of each flag in the order for attention, and its name.
pub(super) const fn group_and_name(flag: Flag) -> (u8, &'static str) {
    match flag {
        Flag::IdentityConflict => (1, "identity conflict"),
        Flag::PossiblePastedRow => (1, "possibly a pasted row"),
        Flag::Death => (2, "died"),
        Flag::DeathUndated => (2, "death without a date"),
        Flag::MajorEvent => (2, "major event"),
        Flag::VisitEvent => (3, "event since discharge"),
        Flag::Regurgitation => (4, "leak moderate or more"),
        Flag::LateRegurgitation => (4, "late leak beside the valve"),
        Flag::ResidualGradient => (4, "residual gradient"),
        Flag::LateGradient => (4, "late gradient"),
        Flag::Deterioration => (4, "valve deterioration"),
        Flag::LvefFall => (4, "fall of LVEF"),
        Flag::NewConductionDisorder => (5, "new conduction disorder"),
        Flag::TreatmentReviewPassed => (6, "treatment review passed"),
        Flag::RhythmWithoutAnticoagulant => (6, "atrial fibrillation, no anticoagulant recorded"),
        Flag::IncidentalOpen => (6, "incidental finding open"),
        Flag::SizingDisagreement => (7, "sizing lines differ"),
        Flag::SizeOutOfRange => (7, "outside the labelled range"),
        Flag::NoSizingReason => (7, "no reason for the size"),
        Flag::RootInjuryRisk => (7, "calcium and over-sizing"),
        Flag::LowCoronary => (7, "low coronary"),
        Flag::TightAccess => (7, "tight access"),
        Flag::WideAorta => (7, "wide aorta"),
        Flag::ConductionRisk => (7, "conduction at risk"),
        Flag::KidneyInjury => (8, "kidney injury"),
        Flag::Mismatch => (8, "measured mismatch"),
        Flag::LowRegurgitationIndex => (8, "low regurgitation index"),
        Flag::AreaMismatch => (9, "computed and reported area differ"),
        Flag::DiscordantStenosis => (9, "low-gradient stenosis"),
        Flag::VisitOverdue => (10, "visit overdue"),
        Flag::LostToFollowUp => (10, "lost to follow-up"),
        Flag::NoReferenceEcho => (10, "no reference echo"),
        Flag::RejectedValue => (11, "value not believable"),
        Flag::UnusualValue => (11, "unusual value"),
        Flag::Contradiction => (11, "contradiction"),
    }
}

/// Columns of the numbers in the headline table: a contradiction that touches one is as grave as a wrong identity.
const HEADLINE: [&str; 17] = [
    "baseline_mean_gradient_mmhg",
    "baseline_vmax_m_s",
    "baseline_av_vti_cm",
    "baseline_lvot_vti_cm",
    "post_mean_gradient_mmhg",
    "post_vmax_m_s",
    "post_av_vti_cm",
    "post_lvot_vti_cm",
    "mean_gradient_mmhg",
    "vmax_m_s",
    "av_vti_cm",
    "lvot_vti_cm",
    "baseline_echo_date",
    "post_echo_date",
    "death_date",
    "procedural_death",
    "discharge_status",
];

/// Every finding, gravest first; planning risks whose outcome is recorded stand in the table instead.
pub(super) fn findings(view: &View<'_>) -> Vec<Finding> {
    let mut found: Vec<Finding> = Vec::new();
    for &flag in &view.assessment.flags {
        if flag == Flag::Contradiction {
            contradictions(view, &mut found);
            continue;
        }
        if risks::happened(view, flag).is_some() {
            continue;
        }
        let (group, name) = group_and_name(flag);
        let (full, short) = sentence(view, flag);
        found.push(Finding {
            group,
            flag: Some(flag),
            name: name.to_owned(),
            full,
            short,
        });
    }
    fragile(view, &mut found);
    found.sort_by_key(|finding| (finding.group, finding.flag.map_or(0, within_group)));
    found
}

/// Order within a group, as the order for attention names them.
fn within_group(flag: Flag) -> usize {
    const ORDER: [Flag; 12] = [
        Flag::Death,
        Flag::DeathUndated,
        Flag::MajorEvent,
        Flag::Regurgitation,
        Flag::LateRegurgitation,
        Flag::ResidualGradient,
        Flag::LateGradient,
        Flag::Deterioration,
        Flag::LvefFall,
        Flag::RejectedValue,
        Flag::UnusualValue,
        Flag::Contradiction,
    ];
    ORDER
        .iter()
        .position(|&listed| listed == flag)
        .unwrap_or_else(|| ORDER.len() + Flag::ALL.iter().position(|&all| all == flag).unwrap_or(0))
}

/// Numbers alike another case's that are named; the others are counted.
const MOST_NAMED_ALIKE: usize = 6;

/// Contradictions of the headline that have a line each; the others share one.
const MOST_CONTRADICTIONS: usize = 3;

fn contradictions(view: &View<'_>, found: &mut Vec<Finding>) {
    let mut groups: Vec<Vec<&FailedCheck>> = Vec::new();
    for check in &view.assessment.failed_checks {
        match groups.iter_mut().find(|group| group[0].says == check.says) {
            Some(group) => group.push(check),
            None => groups.push(vec![check]),
        }
    }
    let headline = |group: &Vec<&FailedCheck>| {
        group[0]
            .columns
            .iter()
            .any(|column| HEADLINE.contains(column))
    };
    let (mut gravest, others): (Vec<_>, Vec<_>) = groups.into_iter().partition(headline);
    let rest = gravest.split_off(gravest.len().min(MOST_CONTRADICTIONS));
    found.extend(gravest.iter().map(|group| contradiction(view, 1, group)));
    if let [one] = rest.as_slice() {
        found.push(contradiction(view, 1, one));
    } else if !rest.is_empty() {
        let says: Vec<&str> = rest.iter().map(|group| group[0].says).collect();
        found.push(Finding {
            group: 1,
            flag: Some(Flag::Contradiction),
            name: format!("{} more contradictions", rest.len()),
            full: format!("Nor can: {}.", says.join("; ")),
            short: format!(
                "Cannot all be right: {} more, each in problems.csv.",
                rest.len()
            ),
        });
    }
    found.extend(others.iter().map(|group| contradiction(view, 11, group)));
}

/// One check that failed, once or at several visits.
fn contradiction(view: &View<'_>, group: u8, checks: &[&FailedCheck]) -> Finding {
    let says = checks[0].says;
    let days: Vec<String> = checks
        .iter()
        .filter_map(|check| Some(date(view.known.visits[check.visit?].date)))
        .collect();
    let on = match days.as_slice() {
        [] => String::new(),
        [day] => format!(" of {day}"),
        [first, .., last] => format!(", {} times from {first} to {last}", days.len()),
    };
    let values: Vec<String> = checks[0]
        .columns
        .iter()
        .filter(|column| **column != "procedure_date")
        .map(|column| column_value(view, checks[0].visit, column))
        .collect();
    let values = match checks.len() {
        1 => format!(" ({})", values.join("; ")),
        _ => String::new(),
    };
    Finding {
        group,
        flag: Some(Flag::Contradiction),
        name: format!("contradiction: {says}{on}"),
        full: format!("Cannot all be right: {says}{on}{values}."),
        short: format!("Cannot all be right: {says}{on}."),
    }
}

/// A cell by its column with its value and unit in words.
fn column_value(view: &View<'_>, visit: Option<usize>, name: &str) -> String {
    use crate::record::{Cells, Shown};
    let (value, file) = match visit {
        Some(visit) => (view.known.visits[visit].cells.value(name), "followups"),
        None => (view.cells.value(name), "cases"),
    };
    let unit = crate::dictionary::column(file, name).map_or("", |column| column.unit.as_str());
    let written = match value {
        None => NOT_RECORDED.to_owned(),
        Some(Shown::Number(value)) => with_unit(&recorded(value, 2, &[]), unit),
        Some(Shown::Integer(value)) => value.to_string(),
        Some(Shown::Date(day)) => date(day),
        Some(Shown::YesNo(value)) => words::yes_no(Some(value)).to_owned(),
        Some(Shown::Word(word)) => word.replace('_', " "),
        Some(Shown::Text(text)) => text.to_owned(),
    };
    format!("{} {written}", column(name))
}

fn fragile(view: &View<'_>, found: &mut Vec<Finding>) {
    let mut seen: Vec<&str> = Vec::new();
    for entry in &view.assessment.fragile {
        if seen.contains(&entry.result) {
            continue;
        }
        seen.push(entry.result);
        let name = super::fragile::class_name(entry.result);
        found.push(Finding {
            group: 9,
            flag: None,
            name: format!("{name} close to a limit"),
            full: format!(
                "Close to a limit: {}.",
                super::fragile::sentence(view, entry)
            ),
            short: capitalised(&format!("{name}: a usual measuring error would change it.")),
        });
    }
}

/// The fact in full and in fewer words.
fn sentence(view: &View<'_>, flag: Flag) -> (String, String) {
    let cells = view.cells;
    let results = &view.assessment.results;
    let known = view.known;
    let same = |text: String| (text.clone(), text);
    let echo = &view.assessment.performance.echo;
    let echo_words = performance_words(view);
    match flag {
        Flag::IdentityConflict => identity(view),
        Flag::PossiblePastedRow => {
            let across = &view.assessment.across;
            let other = across.alike.as_deref().unwrap_or("another case");
            let names: Vec<String> = across.alike_in().map(column).collect();
            let alike = format!(
                "A row pasted twice? {} of {} echo and CT numbers are those of case {other}",
                names.len(),
                across.alike_of
            );
            let named = super::missing::some(&names, MOST_NAMED_ALIKE);
            (format!("{alike}: {named}."), format!("{alike}."))
        }
        Flag::Death => death(view),
        Flag::DeathUndated => {
            same("A death is recorded without a date that can be used.".to_owned())
        }
        Flag::MajorEvent => {
            let events = major_events(view);
            (
                format!("Major event to day 30: {}.", events.join("; ")),
                format!(
                    "Major event: {}.",
                    events.first().cloned().unwrap_or_default()
                ),
            )
        }
        Flag::VisitEvent => visit_events(view),
        Flag::Regurgitation => {
            let beside = grade(echo.paravalvular_grade.or(cells.post_paravalvular_grade));
            let through = grade(echo.transvalvular_grade.or(cells.post_transvalvular_grade));
            (
                format!(
                    "Leak moderate or more after the procedure: beside the valve {beside}, through it {through} ({echo_words})."
                ),
                format!("Leak moderate or more: beside {beside}, through {through}."),
            )
        }
        Flag::LateRegurgitation => match latest(known, |visit| visit.cells.paravalvular_grade) {
            Some((visit, now)) => (
                format!(
                    "Leak beside the valve {} on {}; {} at the echo that judges the valve.",
                    now.word(),
                    date(visit.date),
                    grade(echo.paravalvular_grade)
                ),
                format!(
                    "Leak beside the valve {} on {}.",
                    now.word(),
                    date(visit.date)
                ),
            ),
            None => same("Late leak beside the valve.".to_owned()),
        },
        Flag::ResidualGradient => {
            let mean = measured(echo.mean_gradient_mmhg, 1, "mmHg", limits::AFTER_MEAN);
            (
                format!("Residual mean gradient {mean} ({echo_words}): 20 mmHg or more."),
                format!("Residual mean gradient {mean}: 20 mmHg or more."),
            )
        }
        Flag::LateGradient => match latest(known, |visit| visit.cells.mean_gradient_mmhg) {
            Some((visit, now)) => same(format!(
                "Mean gradient {} on {}, and no reference echo to hold it against.",
                measured(Some(now), 1, "mmHg", limits::AFTER_MEAN),
                date(visit.date)
            )),
            None => same("Late gradient of 20 mmHg or more.".to_owned()),
        },
        Flag::Deterioration => deterioration(view),
        Flag::LvefFall => match latest(known, |visit| visit.cells.lvef_pct) {
            Some((visit, now)) => {
                let (earlier, when) = match cells.post_lvef_pct {
                    Some(value) => (Some(value), "before discharge"),
                    None => (cells.baseline_lvef_pct, "before the procedure"),
                };
                same(format!(
                    "LVEF {} on {}, {} {when}.",
                    measured(Some(now), 0, "%", limits::LVEF),
                    date(visit.date),
                    measured(earlier, 0, "%", limits::LVEF)
                ))
            }
            None => same("LVEF has fallen.".to_owned()),
        },
        Flag::NewConductionDisorder => conduction(view),
        Flag::TreatmentReviewPassed => {
            let until = cells.antithrombotic_until.map_or(String::new(), date);
            same(format!(
                "Antithrombotic plan ended or was to be reviewed on {until}; no treatment is recorded since."
            ))
        }
        Flag::RhythmWithoutAnticoagulant => {
            let (treatment, from) = super::plan::latest_treatment(view);
            (
                format!(
                    "Atrial fibrillation is recorded; the latest recorded treatment ({from}) is {treatment}."
                ),
                format!("Atrial fibrillation; latest treatment {treatment}."),
            )
        }
        Flag::IncidentalOpen => {
            let finding = cells.incidental_finding.as_deref().unwrap_or_default();
            let owner = cells
                .incidental_owner
                .as_deref()
                .map_or("no owner recorded".to_owned(), |owner| {
                    format!("owner {owner}")
                });
            (
                format!("Incidental finding, not closed: “{finding}”; {owner}."),
                format!("Incidental finding not closed; {owner}."),
            )
        }
        Flag::SizingDisagreement => sizes::disagreement(view),
        Flag::SizeOutOfRange => sizes::out_of_range(view),
        Flag::NoSizingReason => {
            same("No reason is recorded for the size that was chosen.".to_owned())
        }
        Flag::RootInjuryRisk
        | Flag::LowCoronary
        | Flag::TightAccess
        | Flag::WideAorta
        | Flag::ConductionRisk => same(format!(
            "{}; what happened is {NOT_RECORDED}.",
            risks::facts(view, flag)
        )),
        Flag::KidneyInjury => same(format!(
            "Kidney injury {}: creatinine {} before, {} at its highest.",
            results.outcomes.aki_stage.words(),
            measured(cells.creatinine_umol_l, 0, "umol/L", &[]),
            measured(cells.creatinine_peak_umol_l, 0, "umol/L", &[])
        )),
        Flag::Mismatch => same(format!(
            "Measured mismatch {}: indexed area {} cm²/m² ({echo_words}), BMI {}.",
            results.after.measured_ppm.words(),
            computed(results.after.performance_eoai_cm2_m2, 2, limits::MISMATCH),
            computed(results.before.bmi_kg_m2, 1, limits::BMI)
        )),
        Flag::LowRegurgitationIndex => same(format!(
            "Aortic regurgitation index {} after implantation (below 25 %).",
            with_unit(
                &computed(
                    results.after.aortic_regurgitation_index,
                    0,
                    limits::REGURGITATION_INDEX
                ),
                "%"
            )
        )),
        Flag::AreaMismatch => area_mismatch(view),
        Flag::DiscordantStenosis => (
            format!(
                "Stenosis {}: mean {}, area {}, SVi {}, LVEF {}.",
                results.before.stenosis_class.words(),
                measured(
                    cells.baseline_mean_gradient_mmhg,
                    1,
                    "mmHg",
                    limits::BASELINE_MEAN
                ),
                with_unit(
                    &computed(results.before.baseline_ava_used_cm2, 2, limits::AREA),
                    "cm2"
                ),
                with_unit(
                    &computed(results.before.baseline_svi_ml_m2, 0, limits::SVI),
                    "mL/m2"
                ),
                measured(cells.baseline_lvef_pct, 0, "%", limits::LVEF)
            ),
            format!("Stenosis {}.", results.before.stenosis_class.words()),
        ),
        Flag::VisitOverdue => match super::plan::scheduled_visit(view) {
            Some(visit) => same(format!(
                "{} overdue: was due {}, its window closed on {}.",
                super::plan::visit_name(&visit),
                date(visit.due),
                date(visit.closes)
            )),
            None => same("Visit overdue.".to_owned()),
        },
        Flag::LostToFollowUp => same(format!(
            "Lost to follow-up: last known alive on {}.",
            date(known.alive_to)
        )),
        Flag::NoReferenceEcho => same(format!(
            "No echo with a mean gradient from day {} to {}: deterioration cannot be judged.",
            assess::PERFORMANCE_OPENS,
            assess::PERFORMANCE_CLOSES
        )),
        Flag::RejectedValue => noted(view, "Not believable and not used", |notes| &notes.rejected),
        Flag::UnusualValue => noted(view, "Unusual and kept", |notes| &notes.unusual),
        Flag::Contradiction => same("Cells contradict each other.".to_owned()),
    }
}

fn grade(grade: Option<Grade>) -> &'static str {
    grade.map_or(NOT_RECORDED, Choice::word)
}

/// The echo that judges the prosthesis, in words: `echo of day 35, 3 Mar 2026`.
pub(super) fn performance_words(view: &View<'_>) -> String {
    use crate::assess::PerformanceEcho;
    let on = view
        .performance_date()
        .map_or(String::new(), |day| format!(" of {}", date(day)));
    match view.assessment.performance.which {
        PerformanceEcho::Day30 => {
            let day = view
                .assessment
                .performance
                .visit
                .map_or(String::new(), |visit| {
                    format!(" of day {},", view.known.visits[visit].day)
                });
            format!("echo{day}{}", on.trim_start_matches(" of"))
        }
        PerformanceEcho::Discharge => format!("echo before discharge{on}"),
        PerformanceEcho::None
            if view.cells.post_paravalvular_grade.is_some()
                || view.cells.post_transvalvular_grade.is_some() =>
        {
            format!("echo before discharge{on}")
        }
        PerformanceEcho::None => "no echo".to_owned(),
    }
}

fn identity(view: &View<'_>) -> (String, String) {
    let across = &view.assessment.across;
    let mut facts = Vec::new();
    if let Some(other) = &across.same_serial {
        let serial = view.cells.device_serial.as_deref().unwrap_or_default();
        facts.push(format!(
            "Device serial {serial} is recorded for case {other} too."
        ));
    }
    if let Some(other) = &across.other_birth_date {
        facts.push(format!(
            "Case {other} has the same patient key and another birth date."
        ));
    }
    let short = match (&across.same_serial, &across.other_birth_date) {
        (Some(other), _) => format!("Device serial is that of case {other} too."),
        (None, Some(other)) => format!("Case {other}: same patient, another birth date."),
        (None, None) => "Identity in conflict.".to_owned(),
    };
    (facts.join(" "), short)
}

fn death(view: &View<'_>) -> (String, String) {
    let Some(on) = view.known.death_date else {
        return ("Died.".to_owned(), "Died.".to_owned());
    };
    let place = if view.cells.procedural_death == Some(true) {
        " in the procedure room"
    } else {
        ""
    };
    let cause = view.cells.death_cause.map_or(NOT_RECORDED, Words::words);
    let short = format!(
        "Died{place} on {}, day {}.",
        date(on),
        view.known.day_of(on)
    );
    let full = format!(
        "Died{place} on {}, day {}; cause {cause}; related to the valve: {}.",
        date(on),
        view.known.day_of(on),
        words::yes_no(view.cells.valve_related_death)
    );
    (full, short)
}

/// Every major event to day 30 in words.
pub(super) fn major_events(view: &View<'_>) -> Vec<String> {
    let cells = view.cells;
    let mut events = Vec::new();
    match cells.stroke_30d {
        Some(stroke @ (Stroke::Ischaemic | Stroke::Haemorrhagic | Stroke::Unspecified)) => {
            let disabling = match cells.stroke_disabling {
                Some(true) => ", disabling",
                Some(false) => ", not disabling",
                None => "",
            };
            events.push(format!("{}{disabling}", stroke.words()));
        }
        Some(Stroke::None | Stroke::Tia) | None => {}
    }
    if let Some(bleeding) = cells
        .bleeding_type
        .filter(|bleeding| *bleeding >= BleedingType::Type3)
    {
        events.push(format!("bleeding {}", bleeding.words()));
    }
    if cells.vascular_complication == Some(Extent::Major) {
        events.push("major vascular complication".to_owned());
    }
    if cells.structural_complication == Some(Extent::Major) {
        events.push("major structural complication".to_owned());
    }
    for (cell, words) in [
        (cells.conversion_to_surgery, "conversion to surgery"),
        (cells.valve_embolisation, "valve embolised"),
        (cells.annular_rupture, "annular rupture"),
        (cells.coronary_obstruction, "coronary obstruction"),
        (cells.second_valve, "second valve"),
        (cells.no_valve_implanted, "no valve implanted"),
    ] {
        if cell == Some(true) {
            events.push(words.to_owned());
        }
    }
    events
}

fn visit_events(view: &View<'_>) -> (String, String) {
    let mut events = Vec::new();
    for visit in &view.known.visits {
        let cells = &visit.cells;
        let at_visit = || format!("at the visit of {}", date(visit.date));
        for (cell, on, words) in [
            (cells.stroke, cells.stroke_date, "stroke"),
            (
                cells.hospitalised_for_valve_or_procedure,
                cells.hospitalisation_date,
                "hospitalised for valve or procedure",
            ),
            (
                cells.valve_reintervention,
                cells.reintervention_date,
                "valve reintervention",
            ),
            (cells.endocarditis, None, "endocarditis of the prosthesis"),
            (cells.leaflet_thrombosis, None, "leaflet thrombosis"),
        ] {
            if cell == Some(true) {
                events.push(format!("{words} {}", on.map_or_else(at_visit, date)));
            }
        }
    }
    let latest = events.last().cloned().unwrap_or_default();
    let short = match events.len() {
        0 | 1 => format!("Since discharge: {latest}."),
        count => format!("{count} events since discharge, the latest: {latest}."),
    };
    (format!("Since discharge: {}.", events.join("; ")), short)
}

fn deterioration(view: &View<'_>) -> (String, String) {
    let course = &view.assessment.course;
    let visits = &view.known.visits;
    let stage = view
        .assessment
        .results
        .durability
        .deterioration_stage
        .words();
    let short = format!("Valve deterioration {stage} against the reference echo.");
    let (Some(reference), Some(worst)) = (
        course.reference,
        course
            .later
            .iter()
            .filter(|later| later.stage.is_some())
            .max_by_key(|later| later.stage),
    ) else {
        return (short.clone(), short);
    };
    let (then, now) = (&visits[reference], &visits[worst.visit]);
    let area = |visit: &assess::Visit| assess::ProsthesisEcho::of_visit(&visit.cells).eoa_cm2();
    let index = |visit: &assess::Visit| assess::ProsthesisEcho::of_visit(&visit.cells).dvi();
    let mut parts = vec![format!(
        "mean {} → {}",
        cell(then.cells.mean_gradient_mmhg, 1, limits::AFTER_MEAN),
        measured(now.cells.mean_gradient_mmhg, 1, "mmHg", limits::AFTER_MEAN)
    )];
    if area(then).is_some() || area(now).is_some() {
        parts.push(format!(
            "area {} → {}",
            computed(area(then), 2, &[]),
            with_unit(&computed(area(now), 2, &[]), "cm2")
        ));
    }
    if index(then).is_some() || index(now).is_some() {
        parts.push(format!(
            "DVI {} → {}",
            computed(index(then), 2, &[]),
            computed(index(now), 2, &[])
        ));
    }
    parts.push(format!(
        "leak through {} → {}",
        grade(then.cells.transvalvular_grade),
        grade(now.cells.transvalvular_grade)
    ));
    (
        format!(
            "Valve deterioration {stage}, {} → {}: {}.",
            date(then.date),
            date(now.date),
            parts.join(", ")
        ),
        format!("Valve deterioration {stage} on {}.", date(now.date)),
    )
}

fn conduction(view: &View<'_>) -> (String, String) {
    use crate::assess::NewPacemaker;
    let mut facts = Vec::new();
    if view.assessment.results.outcomes.new_pacemaker == NewPacemaker::Yes {
        facts.push("new pacemaker to day 30".to_owned());
    }
    if view.cells.new_left_bundle_branch_block == Some(true) {
        let qrs = view
            .cells
            .discharge_qrs_duration_ms
            .map_or(String::new(), |qrs| {
                format!(", QRS {}", with_unit(&recorded(qrs, 0, &[]), "ms"))
            });
        let monitor = view.cells.rhythm_monitor.map_or(NOT_RECORDED, Words::words);
        facts.push(format!(
            "new left bundle branch block at discharge{qrs}; monitor {monitor}"
        ));
    }
    let text = capitalised(&format!("{}.", facts.join("; ")));
    let short = capitalised(&format!(
        "{}.",
        facts.first().map_or("new conduction disorder", |fact| fact
            .split([',', ';'])
            .next()
            .unwrap_or(fact))
    ));
    (text, short)
}

fn area_mismatch(view: &View<'_>) -> (String, String) {
    let computed_area = view.assessment.results.before.baseline_ava_computed_cm2;
    let reported = view.cells.baseline_ava_cm2;
    let difference = computed_area
        .zip(reported)
        .map(|(computed, reported)| (computed - reported).abs() / reported * 100.0)
        .map(|pct| {
            format!(
                "{} of the reported apart",
                shown_against(pct, 0, "%", &[15.0])
            )
        });
    let text = format!(
        "Valve area {} computed, {} reported{}.",
        with_unit(&computed(computed_area, 2, limits::AREA), "cm2"),
        measured(reported, 2, "cm2", limits::AREA),
        difference
            .as_ref()
            .map_or(String::new(), |apart| format!(": {apart}"))
    );
    let short = difference.map_or(text.clone(), |apart| {
        format!("Valve area, computed and reported: {apart}.")
    });
    (text, short)
}

/// Cells that the reader noted, by their names and, where kept, their values.
fn noted(
    view: &View<'_>,
    what: &str,
    columns: fn(&crate::record::CellNotes) -> &Vec<&'static str>,
) -> (String, String) {
    let mut cells: Vec<String> = Vec::new();
    for name in columns(&view.record.notes) {
        cells.push(noted_cell(view, None, name));
    }
    for (position, visit) in view.known.visits.iter().enumerate() {
        for name in columns(&view.record.visits[visit.row].notes) {
            cells.push(format!(
                "{} on {}",
                noted_cell(view, Some(position), name),
                date(visit.date)
            ));
        }
    }
    let short = match cells.len() {
        1 => format!("{what}: {}.", cells[0]),
        count => format!("{what}: {count} cells, listed in problems.csv."),
    };
    (format!("{what}: {}.", cells.join("; ")), short)
}

fn noted_cell(view: &View<'_>, visit: Option<usize>, name: &str) -> String {
    let written = column_value(view, visit, name);
    match written.strip_suffix(NOT_RECORDED) {
        Some(bare) => bare.trim_end().to_owned(),
        None => written,
    }
}

/// With a capital in front.
pub(super) fn capitalised(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or(String::new(), |first| {
        first.to_uppercase().chain(letters).collect()
    })
}
