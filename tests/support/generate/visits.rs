//! The visits after the procedure: who comes, how the valve ages, what happened in between.

use super::day::Day;
use super::discharge::Stay;
use super::prosthesis;
use super::random::Random;
use super::table::{File, Row};

/// How a valve goes on.
struct Course {
    /// Share of the area lost in a year, from the second year on.
    yearly_loss: f64,
    /// A central leak from this day on.
    torn_after: i64,
    /// Leaflet thrombosis at about this day.
    thrombosis_at: i64,
    /// Reintervention once the mean gradient or leak is severe.
    reintervened: bool,
}

/// All visits of one case, in order of date, and the last day the patient was seen.
pub fn visits(case: &mut Row, random: &mut Random, stay: &Stay<'_>) -> Vec<Row> {
    let mut rows = Vec::new();
    if case.get("discharge_status") != "alive" || stay.outcome.no_valve {
        return rows;
    }
    let discharge: Day = case
        .get("discharge_date")
        .parse()
        .expect("a patient who left hospital has a date of it");
    let end = stay
        .death
        .map_or(stay.data_to, |death| stay.procedure.plus(death.day - 1))
        .min(stay.data_to);
    let dropped = if random.chance(0.05) {
        stay.procedure.plus(random.whole(40, 700))
    } else {
        end
    };
    let mut course = Course {
        yearly_loss: if random.chance(0.2) {
            random.between(0.1, 0.5)
        } else {
            random.between(0.0, 0.03)
        },
        torn_after: if random.chance(0.03) {
            random.whole(300, 1_400)
        } else {
            i64::MAX
        },
        thrombosis_at: if random.chance(0.025) {
            random.whole(20, 500)
        } else {
            i64::MIN / 2
        },
        reintervened: false,
    };
    let mut previous = discharge;
    for (kind, day) in planned(random, stay) {
        let date = stay.procedure.plus(day).working();
        if date <= previous || date > end.min(dropped) {
            continue;
        }
        rows.push(visit(random, stay, &mut course, case, kind, previous, date));
        if rows
            .last()
            .is_some_and(|row| row.get("attendance") != "did_not_attend")
        {
            previous = date;
        }
    }
    if stay.death.is_none() && random.chance(0.6) {
        let call = previous.plus(if random.chance(0.5) {
            0
        } else {
            random.whole(1, 200)
        });
        case.set("last_contact_date", call.min(end));
    }
    rows
}

/// Days of the visits a clinic would plan, and some it would not.
fn planned(random: &mut Random, stay: &Stay<'_>) -> Vec<(&'static str, i64)> {
    let mut days = vec![
        (
            "30_day",
            random.normal_within(36.0, 8.0, 22.0, 100.0) as i64,
            0.9,
        ),
        ("6_month", 183 + random.whole(-20, 20), 0.12),
    ];
    let years = (stay.data_to.0 - stay.procedure.0) / 365 + 1;
    days.extend(
        (1..=years).map(|year| ("annual", year * 365 + random.normal(0.0, 20.0) as i64, 0.83)),
    );
    days.extend((1..=years).map(|year| ("unscheduled", year * 365 - random.whole(40, 330), 0.12)));
    days.retain(|(_, _, share)| random.chance(*share));
    days.sort_by_key(|(_, day, _)| *day);
    days.into_iter().map(|(kind, day, _)| (kind, day)).collect()
}

fn visit(
    random: &mut Random,
    stay: &Stay<'_>,
    course: &mut Course,
    case: &Row,
    kind: &'static str,
    previous: Day,
    date: Day,
) -> Row {
    let mut row = Row::new(File::Followups);
    row.set("case_id", case.get("case_id"));
    row.set("visit_date", date);
    row.set("visit", kind);
    let attendance = random.weighted(&[
        ("attended", 0.88),
        ("telephone", 0.06),
        ("record_review", 0.03),
        ("did_not_attend", 0.03),
    ]);
    row.set("attendance", attendance);
    if attendance == "did_not_attend" {
        return row;
    }
    let day = date.0 - stay.procedure.0;
    let gone = (1.0 - course.yearly_loss * (day as f64 / 365.0 - 1.0).max(0.0)).max(0.35);
    let clotted = (day - course.thrombosis_at).abs() < 100;
    let torn = day > course.torn_after;
    let eoa_cm2 = stay.implant.eoa_cm2
        * if course.reintervened {
            1.0
        } else {
            gone * if clotted { 0.68 } else { 1.0 }
        };
    let failing = !course.reintervened && (gone < 0.6 || torn);
    if attendance == "attended" && (kind != "unscheduled" || random.chance(0.6)) {
        let outflow_mm = stay.heart.outflow_mm + random.between(0.2, 0.9);
        let flow_ml = stay.heart.stroke_volume_ml * random.normal_within(1.02, 0.04, 0.9, 1.15);
        let seen_cm2 = eoa_cm2 * random.normal_within(1.0, 0.03, 0.92, 1.08);
        prosthesis::echo(&mut row, random, "", flow_ml, seen_cm2, outflow_mm);
        let leak = if random.chance(0.85) {
            stay.implant.leak
        } else {
            "trace"
        };
        let central = if torn && !course.reintervened {
            random.weighted(&[("moderate", 0.8), ("severe", 0.2)])
        } else {
            random.weighted(&[("none", 0.85), ("trace", 0.14), ("mild", 0.01)])
        };
        let lvef_pct = stay.heart.lvef_pct
            + random.normal(if stay.heart.lvef_pct < 50.0 { 6.0 } else { 0.0 }, 3.0);
        prosthesis::surroundings(
            &mut row,
            random,
            "",
            lvef_pct,
            leak,
            central,
            stay.heart.rvsp_mmhg,
        );
        if failing || clotted {
            let structural = random.weighted(&[("structural", 0.9), ("non_structural", 0.1)]);
            row.set(
                "deterioration_cause",
                if clotted { "thrombosis" } else { structural },
            );
            row.yes_no("irreversible", !clotted && random.chance(0.7));
        }
    }
    let worse = failing && random.chance(0.5);
    row.set(
        "nyha_class",
        if worse {
            "III"
        } else {
            random.weighted(&[("I", 0.45), ("II", 0.45), ("III", 0.09), ("IV", 0.01)])
        },
    );
    let baseline = case.value("kccq_baseline").unwrap_or(50.0);
    row.number(
        "kccq",
        (baseline + if worse { -8.0 } else { 20.0 } + random.normal(0.0, 9.0)).clamp(5.0, 100.0),
        0,
    );
    row.yes_no("new_or_worse_symptoms", worse);
    since(
        &mut row,
        random,
        course,
        failing && day > 400,
        clotted,
        previous,
        date,
    );
    row.set(
        "antithrombotic",
        if clotted {
            "anticoagulant"
        } else {
            settled(case, date)
        },
    );
    if random.chance(0.04) {
        row.set(
            "note",
            "Well, walks daily; blood pressure high at home, treatment changed",
        );
    }
    row
}

/// Events between the last visit and this one, each with its date.
fn since(
    row: &mut Row,
    random: &mut Random,
    course: &mut Course,
    failing: bool,
    clotted: bool,
    previous: Day,
    date: Day,
) {
    let between = |random: &mut Random| {
        previous.plus(
            random
                .whole(1, (date.0 - previous.0).max(1))
                .min(date.0 - previous.0),
        )
    };
    let endocarditis = random.chance(0.008);
    let reintervention = !course.reintervened && random.chance(if failing { 0.3 } else { 0.003 });
    let events = [
        ("stroke", "stroke_date", random.chance(0.012)),
        (
            "hospitalised_for_valve_or_procedure",
            "hospitalisation_date",
            reintervention || endocarditis || random.chance(0.025),
        ),
        (
            "valve_reintervention",
            "reintervention_date",
            reintervention,
        ),
    ];
    for (event, dated, happened) in events {
        row.yes_no(event, happened);
        if happened {
            row.set(dated, between(random));
        }
    }
    course.reintervened |= reintervention;
    let bleeding = [
        ("none", 0.95),
        ("type_1", 0.025),
        ("type_2", 0.018),
        ("type_3", 0.006),
        ("type_4", 0.0002),
    ];
    row.set("bleeding_type", random.weighted(&bleeding));
    row.yes_no("new_pacemaker", random.chance(0.01));
    row.yes_no("endocarditis", endocarditis);
    if endocarditis {
        row.set("deterioration_cause", "endocarditis");
    }
    row.yes_no("leaflet_thrombosis", clotted);
}

/// The treatment that the plan leads to by a date.
fn settled(case: &Row, date: Day) -> &str {
    let passed = case
        .get("antithrombotic_until")
        .parse()
        .is_ok_and(|until: Day| until < date);
    match case.get("antithrombotic_then") {
        "" => case.get("antithrombotic_plan"),
        _ if !passed => case.get("antithrombotic_plan"),
        "review" => "single_antiplatelet",
        then => then,
    }
}
