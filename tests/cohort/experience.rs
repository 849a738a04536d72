//! Cases in their order: courses of operators and routes, three years of deaths, cases between rare events; and NYHA class.

use jiff::civil::{Date, date};
use serde_json::Value;
use valvefolio::cohort::{Cohort, CohortOptions, Gaps, Verdict};
use valvefolio::date::plus_days;
use valvefolio::draw::{Fonts, Paper};
use valvefolio::record::CaseRecord;

use crate::edges::words;
use crate::pages::{document, faults};
use crate::support::{case, cohort, with_visit};

fn written(cohort: &Cohort) -> String {
    let fonts = Fonts::load();
    let document = document(cohort, Paper::A4, &fonts);
    let faults = faults(&document, &fonts);
    assert!(faults.is_empty(), "{faults:#?}");
    words(&document)
}

fn day(number: usize) -> Date {
    plus_days(date(2026, 1, 1), number as i64).expect("a day")
}

/// The synthetic series of 160 cases of `tests/reference/values.json`: R packages vlad 0.2.2 and PoissonBinomial 1.2.5.
fn series() -> (Value, Vec<CaseRecord>) {
    let values: Value =
        serde_json::from_str(include_str!("../reference/values.json")).expect("parses");
    let series = values["ra_series"].clone();
    let list = |name: &str| series[name].as_array().expect("a list").clone();
    let cases = list("p")
        .iter()
        .zip(list("y"))
        .enumerate()
        .map(|(number, (risk, died))| {
            let procedure = day(number);
            let next = plus_days(procedure, 1).expect("a day").to_string();
            let later = plus_days(procedure, 60).expect("a day").to_string();
            let end = if died == 1 {
                ("death_date", next.as_str())
            } else {
                ("last_contact_date", later.as_str())
            };
            let percent = format!("{}", 100.0 * risk.as_f64().expect("a risk"));
            case(
                &format!("c{number:03}"),
                &procedure.to_string(),
                &[
                    end,
                    ("operator", "only"),
                    ("euroscore2_reported_pct", &percent),
                ],
            )
        })
        .collect();
    (series, cases)
}

/// STATS of the series: V after 80 cases .9116, band -3.0884 to 2.9116; after 160 -6.2049, band -5.2049 to 3.7951.
#[test]
fn deaths_of_a_course_and_of_three_years_are_those_of_the_reference() {
    let (_, cases) = series();
    let cohort = cohort(&cases, &CohortOptions::new(date(2026, 12, 31)));
    let course = &cohort.experience.courses[0];
    assert_eq!(
        (course.name.as_str(), course.n, course.deaths.len()),
        ("A", 160, 160)
    );
    let near = |ours: f64, theirs: f64| assert!((ours - theirs).abs() < 5e-5, "{ours} {theirs}");
    for (number, value, low, high) in [
        (80, 0.9116, -3.0884, 2.9116),
        (160, -6.2049, -5.2049, 3.7951),
    ] {
        let point = &course.deaths[number - 1];
        assert_eq!(point.number, number);
        // Turned over: up is more deaths.
        near(point.adjusted, -value);
        near(point.band_95.low, -high);
        near(point.band_95.high, -low);
        let long = &cohort.three_years.vlad[number - 1];
        near(long.value, value);
        near(long.band_95.low, low);
        near(long.band_95.high, high);
    }
    // The crude line ends at 0: the pooled rate is that of these very cases.
    assert!(course.deaths[159].crude.abs() < 1e-9);
    assert!(written(&cohort).contains("The same over three years: 160 of 160 cases"));
}

/// Worked by hand: ten cases of 1 to 10 minutes have the median 5.5 and by type 7 the quartiles 3.25 and 7.75; the last
/// two, 20 and 30 minutes, the median 25 and, below five values, no quartiles.
#[test]
fn blocks_are_ten_cases_in_a_row_and_the_last_short_one_is_marked() {
    let minutes: Vec<f64> = (1..=10).map(f64::from).chain([20.0, 30.0]).collect();
    let mut cases: Vec<CaseRecord> = minutes
        .iter()
        .enumerate()
        .map(|(number, minutes)| {
            let text = minutes.to_string();
            let known = [("operator", "Z"), ("fluoroscopy_min", text.as_str())];
            case(&format!("c{number:02}"), &day(number).to_string(), &known)
        })
        .collect();
    cases.extend((0..9).map(|number| {
        case(
            &format!("d{number}"),
            &day(number).to_string(),
            &[("operator", "Y")],
        )
    }));
    let mut options = CohortOptions::new(date(2026, 12, 31));
    options.name_operators = true;
    let cohort = cohort(&cases, &options);
    assert_eq!(cohort.experience.courses.len(), 1);
    assert_eq!(cohort.experience.too_few, [("Y".to_owned(), 9)]);
    let course = &cohort.experience.courses[0];
    let blocks: Vec<_> = course
        .blocks
        .iter()
        .map(|block| {
            let summary = block.process[0].expect("values");
            let quartiles = summary
                .quartiles
                .map(|quartiles| (quartiles.low, quartiles.high));
            (
                block.first,
                block.last,
                block.short,
                summary.median,
                quartiles,
            )
        })
        .collect();
    assert_eq!(
        blocks,
        [
            (1, 10, false, 5.5, Some((3.25, 7.75))),
            (11, 12, true, 25.0, None)
        ]
    );
    let words = written(&cohort);
    assert!(words.contains("Fewer than 10 cases, nothing is drawn: Y 9."));
    assert!(words.contains("Fluoroscopy, min · n 12"));
}

#[test]
fn a_long_course_has_long_blocks_and_shows_the_latest() {
    let cases: Vec<CaseRecord> = (0..450)
        .map(|number| {
            let known = [("operator", "Z"), ("contrast_ml", "100")];
            case(&format!("c{number:03}"), "2026-03-02", &known)
        })
        .collect();
    let cohort = cohort(&cases, &CohortOptions::new(date(2026, 12, 31)));
    let course = &cohort.experience.courses[0];
    assert_eq!(
        (course.n, course.earlier, course.cases.len()),
        (450, 50, 400)
    );
    let block = &course.blocks[0];
    assert_eq!((block.first, block.last, course.blocks.len()), (51, 70, 20));
    assert!(written(&cohort).contains("450 cases, the latest 400 shown"));
}

#[test]
fn routes_are_compared_and_the_usual_one_has_no_course() {
    let cases: Vec<CaseRecord> = (0..32)
        .map(|number| {
            let route = if number < 20 {
                "transfemoral"
            } else {
                "transcarotid"
            };
            let known = [("access_route", route), ("contrast_ml", "90")];
            case(&format!("c{number:02}"), "2026-03-02", &known)
        })
        .collect();
    let cohort = cohort(&cases, &CohortOptions::new(date(2026, 12, 31)));
    let routes: Vec<_> = cohort
        .routes
        .groups
        .iter()
        .map(|group| (group.name.as_str(), group.n))
        .collect();
    assert_eq!(routes, [("transfemoral", 20), ("transcarotid", 12)]);
    let courses: Vec<_> = cohort
        .route_experience
        .courses
        .iter()
        .map(|course| (course.name.as_str(), course.n))
        .collect();
    assert_eq!(courses, [("transcarotid", 12)]);
    // Held against no limit: patients are not given a route by chance.
    assert!(!cohort.routes.funnel && cohort.routes.flagged().is_empty());
    assert!(written(&cohort).contains("A route is chosen for the patient"));
}

/// Worked by hand: two, then none, then one known case without an event before each event, and three since.
#[test]
fn gaps_count_the_known_cases_between_events() {
    use Verdict::{No, NotApplicable, Unknown, Yes};
    let gaps = Gaps::of([
        No,
        Unknown,
        No,
        Yes,
        Yes,
        NotApplicable,
        No,
        Yes,
        No,
        No,
        Unknown,
        No,
    ]);
    assert_eq!((gaps.before_each, gaps.since_last), (vec![2, 0, 1], 3));
}

#[test]
fn rare_events_are_listed_by_the_cases_between_them() {
    let cases: Vec<CaseRecord> = (0..40)
        .map(|number| {
            let stroke = if number == 20 { "ischaemic" } else { "none" };
            let later = plus_days(day(5 * number), 60).expect("a day").to_string();
            let known = [
                ("stroke_30d", stroke),
                ("last_contact_date", later.as_str()),
            ];
            case(
                &format!("c{number:02}"),
                &day(5 * number).to_string(),
                &known,
            )
        })
        .collect();
    let cohort = cohort(&cases, &CohortOptions::new(date(2026, 12, 31)));
    let words = written(&cohort);
    assert!(words.contains("Cases between rare events, since the start"));
    assert!(words.contains("20; 19 since"), "{words}");
    assert!(words.contains("none yet among 40 known cases"));
    // Exact upper limit of 0 of 40: 8.8 % (1 − .025^(1/40); STATS of small numbers: .0881).
    assert!(
        words.contains("death to day 30 0 of 40, at most 8.8"),
        "{words}"
    );
}

/// Worked by hand, with Newcombe's Wilson limits of 1/29's kind computed from the formula: 2 of 3 are 20.8 to 93.9 %.
#[test]
fn nyha_class_before_and_after() {
    let visited = |id: &str, before: &str, day: &str, after: &str| {
        let known = [("nyha_class", before), ("last_contact_date", "2026-06-20")];
        with_visit(
            case(id, "2026-03-01", &known),
            day,
            &[("nyha_class", after)],
        )
    };
    let mut cases = vec![
        // Day 31 counts, and not the later visit of day 90, though it is in the window too.
        with_visit(
            visited("a", "III", "2026-04-01", "I"),
            "2026-05-30",
            &[("nyha_class", "IV")],
        ),
        visited("b", "III", "2026-04-03", "II"),
        visited("c", "II", "2026-04-05", "III"),
        // Day 22 is before the window: no class after.
        visited("d", "II", "2026-03-23", "I"),
        case(
            "e",
            "2026-03-01",
            &[("nyha_class", "IV"), ("death_date", "2026-03-05")],
        ),
    ];
    cases.push(case("f", "2026-06-01", &[("nyha_class", "II")]));
    let cohort = cohort(&cases, &CohortOptions::new(date(2026, 7, 1)));
    let change = &cohort.nyha;
    let mut pairs = [[0; 4]; 4];
    (pairs[2][0], pairs[2][1], pairs[1][2]) = (1, 1, 1);
    assert_eq!((change.n, change.pairs), (6, pairs));
    assert_eq!(
        (change.improved.yes, change.known(), change.worse),
        (2, 3, 1)
    );
    assert_eq!(
        (change.died_before, change.not_yet_due, change.missing),
        (1, 1, 1)
    );
    let words = written(&cohort);
    assert!(
        words.contains("Better by a class or more: 2 of 3 (67"),
        "{words}"
    );
    assert!(words.contains("95 % 21 to 94. Worse: 1 of 3"), "{words}");
}

#[test]
fn numbers_too_small_for_a_panel_leave_a_sentence_in_its_place() {
    let known = [("operator", "Z"), ("access_route", "transcarotid")];
    let cohort = cohort(
        &[case("a", "2026-05-01", &known)],
        &CohortOptions::new(date(2026, 7, 1)),
    );
    let words = written(&cohort);
    for said in [
        "The same over three years: 0 of 1 cases",
        "No case has both: no table.",
        "Fewer than 10 cases, nothing is drawn: A 1.",
        "A funnel is drawn from five groups on",
    ] {
        assert!(words.contains(said), "{said}");
    }
}
