//! Small cohorts whose numbers are worked out by hand from the definitions, in the comments beside them.

use jiff::civil::date;
use valvefolio::cohort::{Cohort, CohortOptions, MeasureRow, PeriodName};
use valvefolio::record::CaseRecord;

use crate::support::{case, cohort, with_visit};

fn row<'a>(cohort: &'a Cohort, measure: &str) -> &'a MeasureRow {
    cohort
        .of_period(measure)
        .unwrap_or_else(|| panic!("no row {measure}"))
}

/// n, numerator, denominator, missing, pending, not_applicable.
fn counts(row: &MeasureRow) -> [usize; 6] {
    [
        row.n.expect("n"),
        row.numerator.expect("numerator"),
        row.denominator.expect("denominator") as usize,
        row.missing.expect("missing"),
        row.pending.expect("pending"),
        row.not_applicable.expect("not_applicable"),
    ]
}

fn close(found: Option<f64>, expected: f64, within: f64) {
    let found = found.expect("a value");
    assert!(
        (found - expected).abs() <= within,
        "{found}, expected {expected}"
    );
}

/// As-of date 1 July 2026; procedures of 1 May are mature (61 days), of 15 June are not (16 days).
fn options() -> CohortOptions {
    CohortOptions::new(date(2026, 7, 1))
}

const MATURE: &str = "2026-05-01";
const YOUNG: &str = "2026-06-15";

#[test]
fn deaths_count_only_mature_cases_and_known_states() {
    let cases = [
        // Day 10: died, yes.
        case("a", MATURE, &[("death_date", "2026-05-11")]),
        // Last contact on day 30 exactly (31 May): no.
        case("b", MATURE, &[("last_contact_date", "2026-05-31")]),
        // Last contact on day 29: cannot be told, missing.
        case("c", MATURE, &[("last_contact_date", "2026-05-30")]),
        // Died on day 31: no.
        case("d", MATURE, &[("death_date", "2026-06-01")]),
        // Sixteen days old, died on day 1: pending all the same.
        case("e", YOUNG, &[("death_date", "2026-06-16")]),
        // Day 30 is the as-of date itself (1 June + 30 days = 1 July): mature, not known alive, missing.
        case("f", "2026-06-01", &[]),
    ];
    let cohort = cohort(&cases, &options());
    let death = row(&cohort, "death_30d");
    // yes 1 of known 3, missing c and f, pending e.
    assert_eq!(counts(death), [6, 1, 3, 2, 1, 0]);
    close(death.estimate, 100.0 / 3.0, 1e-12);
    // Bounds: 1/5 and 3/5.
    close(death.bound_low, 20.0, 1e-12);
    close(death.bound_high, 60.0, 1e-12);
    assert_eq!(cohort.pending_deaths.len(), 1);
}

#[test]
fn wilson_interval_of_one_in_twenty_nine() {
    // Newcombe 1998, Stat Med 17:857-872, table I: 1 of 29, score method 0.0061 to 0.1718.
    let mut cases: Vec<CaseRecord> = (0..28)
        .map(|number| {
            case(
                &format!("c{number}"),
                MATURE,
                &[("last_contact_date", "2026-06-10")],
            )
        })
        .collect();
    cases.push(case("died", MATURE, &[("death_date", "2026-05-02")]));
    let cohort = cohort(&cases, &options());
    let death = row(&cohort, "death_30d");
    close(death.low, 0.61, 0.005);
    close(death.high, 17.18, 0.005);
}

#[test]
fn a_complication_recorded_as_none_needs_the_state_at_day_30() {
    let alive = ("last_contact_date", "2026-06-10");
    let cases = [
        case("a", MATURE, &[("stroke_30d", "ischaemic")]),
        case("b", MATURE, &[("stroke_30d", "none"), alive]),
        case("c", MATURE, &[("stroke_30d", "none")]),
        case("d", MATURE, &[("stroke_30d", "tia"), alive]),
        case("e", MATURE, &[alive]),
        case("f", YOUNG, &[("stroke_30d", "ischaemic")]),
    ];
    let cohort = cohort(&cases, &options());
    // a is yes though nobody knows whether the patient lived; b and d are no; c and e are missing; f is pending.
    assert_eq!(counts(row(&cohort, "stroke_30d")), [6, 1, 3, 2, 1, 0]);
}

#[test]
fn a_pacemaker_before_leaves_every_count() {
    let alive = ("last_contact_date", "2026-06-10");
    let cases = [
        case("a", MATURE, &[("prior_pacemaker", "yes")]),
        case("b", YOUNG, &[("prior_pacemaker", "yes")]),
        case(
            "c",
            MATURE,
            &[("prior_pacemaker", "no"), ("new_pacemaker_30d", "yes")],
        ),
        case(
            "d",
            MATURE,
            &[
                ("prior_pacemaker", "no"),
                ("new_pacemaker_30d", "no"),
                alive,
            ],
        ),
        case(
            "e",
            MATURE,
            &[("prior_pacemaker", "no"), ("new_pacemaker_30d", "no")],
        ),
        case("f", MATURE, &[("new_pacemaker_30d", "no"), alive]),
    ];
    let cohort = cohort(&cases, &options());
    // n = c d e f; yes c, no d; e lacks the state at day 30, f the pacemaker before; a and b not applicable.
    assert_eq!(counts(row(&cohort, "new_pacemaker")), [4, 1, 2, 2, 0, 2]);
}

#[test]
fn a_composite_is_no_by_one_part_and_unknown_by_one_gap() {
    let all_good = [
        ("procedural_death", "no"),
        ("access_delivery_retrieval_ok", "yes"),
        ("position_ok", "yes"),
        ("second_valve", "no"),
        ("conversion_to_surgery", "no"),
        ("device_intervention_in_room", "no"),
        ("complication_intervention_in_room", "no"),
    ];
    let cases = [
        case("a", YOUNG, &all_good),
        // One part blank: unknown.
        case("b", YOUNG, &all_good[..6]),
        // One part failed, all others blank: no.
        case("c", YOUNG, &[("second_valve", "yes")]),
    ];
    let cohort = cohort(&cases, &options());
    // Technical success has no maturity: nothing is pending.
    assert_eq!(
        counts(row(&cohort, "technical_success")),
        [3, 1, 2, 1, 0, 0]
    );
    // The part by itself: holds in a and b, fails in c.
    assert_eq!(
        counts(row(&cohort, "technical_success/single_valve")),
        [3, 2, 3, 0, 0, 0]
    );
    // Blank in b and c.
    assert_eq!(
        counts(row(
            &cohort,
            "technical_success/no_complication_intervention_in_room"
        )),
        [3, 1, 1, 2, 0, 0]
    );
    // Seven parts of technical success, five of device success, ten of early safety, six of clinical efficacy.
    let parts = |composite: &str| {
        cohort
            .rows
            .iter()
            .filter(|row| row.group == "all" && row.period == "period")
            .filter(|row| row.measure.starts_with(&format!("{composite}/")))
            .count()
    };
    assert_eq!(parts("technical_success"), 7);
    assert_eq!(parts("device_success"), 5);
    assert_eq!(parts("early_safety"), 10);
    assert_eq!(parts("clinical_efficacy_1y"), 6);
}

#[test]
fn quartiles_of_twenty_gradients() {
    // R 4.2.2 and NumPy 2.4.6, type 7: 42.75, 48.5, 57.25.
    let gradients = [
        42, 38, 55, 61, 47, 40, 40, 52, 49, 66, 44, 58, 39, 71, 45, 50, 48, 43, 57, 60,
    ];
    let mut cases: Vec<CaseRecord> = gradients
        .iter()
        .enumerate()
        .map(|(number, gradient)| {
            let gradient = gradient.to_string();
            case(
                &format!("c{number}"),
                YOUNG,
                &[("baseline_mean_gradient_mmhg", &gradient)],
            )
        })
        .collect();
    cases.push(case("blank", YOUNG, &[]));
    let cohort = cohort(&cases, &options());
    let row = row(&cohort, "baseline_mean_gradient_mmhg");
    assert_eq!(
        (row.n, row.missing, row.numerator, row.denominator),
        (Some(20), Some(1), None, None)
    );
    close(row.low, 42.75, 1e-12);
    close(row.estimate, 48.5, 1e-12);
    close(row.high, 57.25, 1e-12);
}

#[test]
fn the_change_of_the_gradient_takes_pairs_only() {
    let pair = |id: &str, before: &str, after: &str| {
        case(
            id,
            MATURE,
            &[
                ("baseline_mean_gradient_mmhg", before),
                ("post_mean_gradient_mmhg", after),
            ],
        )
    };
    let cases = [
        pair("a", "50", "10"),
        pair("b", "40", "10"),
        pair("c", "60", "10"),
        case("d", MATURE, &[("post_mean_gradient_mmhg", "8")]),
    ];
    let cohort = cohort(&cases, &options());
    // Changes −40, −30, −50: mean −40, SD 10, t(0.975, 2) = 4.302653 (tables): ± 4.302653 · 10/√3 = 24.8414.
    let change = row(&cohort, "mean_gradient_change");
    assert_eq!((change.n, change.missing), (Some(3), Some(1)));
    close(change.estimate, -40.0, 1e-12);
    close(change.low, -64.8414, 5e-4);
    close(change.high, -15.1586, 5e-4);
    // Walsh averages −50 −45 −40 −40 −35 −30: median −40; below six pairs no 95 % interval exists.
    let typical = row(&cohort, "mean_gradient_change_hodges_lehmann");
    close(typical.estimate, -40.0, 1e-12);
    assert_eq!((typical.low, typical.high), (None, None));
}

/// `n` survivors and one death, each of 10 % recorded risk.
fn with_risk(n: usize) -> Vec<CaseRecord> {
    let mut cases: Vec<CaseRecord> = (0..n - 1)
        .map(|number| {
            case(
                &format!("c{number}"),
                MATURE,
                &[
                    ("euroscore2_reported_pct", "10"),
                    ("last_contact_date", "2026-06-10"),
                ],
            )
        })
        .collect();
    cases.push(case(
        "died",
        MATURE,
        &[
            ("euroscore2_reported_pct", "10"),
            ("death_date", "2026-05-02"),
        ],
    ));
    cases
}

#[test]
fn observed_and_expected_deaths() {
    let mut cases = with_risk(10);
    // No risk; no outcome; not mature: in missing, missing, pending.
    cases.push(case("x", MATURE, &[("last_contact_date", "2026-06-10")]));
    cases.push(case("y", MATURE, &[("euroscore2_reported_pct", "10")]));
    cases.push(case("z", YOUNG, &[("euroscore2_reported_pct", "10")]));
    let cohort = cohort(&cases, &options());
    let ratio = row(&cohort, "deaths_observed_expected");
    assert_eq!(
        (ratio.n, ratio.numerator, ratio.missing, ratio.pending),
        (Some(10), Some(1), Some(2), Some(1))
    );
    // Ten risks of 10 % are exactly one expected death, and one is enough for a ratio.
    close(ratio.denominator, 1.0, 1e-12);
    close(ratio.estimate, 1.0, 1e-9);
    // Exact Poisson limits of 1: 0.0253 to 5.5716 (Garwood 1936; R).
    close(ratio.low, 0.0253, 5e-5);
    close(ratio.high, 5.5716, 5e-5);
}

#[test]
fn below_one_expected_death_there_is_no_ratio() {
    let cohort = cohort(&with_risk(9), &options());
    let ratio = row(&cohort, "deaths_observed_expected");
    assert_eq!((ratio.n, ratio.numerator), (Some(9), Some(1)));
    close(ratio.denominator, 0.9, 1e-12);
    assert_eq!((ratio.estimate, ratio.low, ratio.high), (None, None, None));
}

#[test]
fn survival_runs_from_the_first_procedure_of_the_patient() {
    let key = ("patient_key", "P1");
    let cases = [
        // P1: first on 1 January 2025, second on 1 July 2025; died on 1 July 2026, day 546 from the first.
        case("a", "2025-01-01", &[key]),
        case("b", "2025-07-01", &[key, ("death_date", "2026-07-01")]),
        // Last known alive on day 400.
        case("c", "2025-01-01", &[("last_contact_date", "2026-02-05")]),
        // Died on day 100.
        case("d", "2025-01-01", &[("death_date", "2025-04-11")]),
        // Signs of death without a date: censored where last known alive (day 31), and counted in missing.
        case(
            "e",
            "2025-01-01",
            &[
                ("last_contact_date", "2025-02-01"),
                ("discharge_status", "died_in_hospital"),
            ],
        ),
    ];
    let cohort = cohort(&cases, &options());
    let at_30 = row(&cohort, "survival_30d");
    // Four patients, nobody dead by day 30: 100 %, no limits at 100.
    assert_eq!(
        (at_30.n, at_30.numerator, at_30.missing),
        (Some(4), Some(0), Some(1))
    );
    close(at_30.denominator, 4.0, 0.0);
    close(at_30.estimate, 100.0, 1e-12);
    assert_eq!((at_30.low, at_30.high), (None, None));
    let at_365 = row(&cohort, "survival_365d");
    // e left at day 31, so 3 at risk on day 100: 1 − 1/3. At risk on day 365: P1 and c.
    assert_eq!((at_365.numerator, at_365.missing), (Some(1), Some(1)));
    close(at_365.denominator, 2.0, 0.0);
    close(at_365.estimate, 200.0 / 3.0, 1e-9);
    // Greenwood: 1/(3·2); log-log: z·√(1/6)/|ln(2/3)| = 1.959964·0.408248/0.405465 = 1.973418; exp = 7.195230;
    // (2/3)^7.195230 = 0.054069, (2/3)^(1/7.195230) = 0.945200.
    close(at_365.low, 5.4069, 1e-3);
    close(at_365.high, 94.5200, 1e-3);
    let at_730 = row(&cohort, "survival_730d");
    // Nobody was followed for 730 days: no estimate, both deaths counted.
    assert_eq!((at_730.numerator, at_730.estimate), (Some(2), None));
    close(at_730.denominator, 0.0, 0.0);
}

/// A case with a reference echo on day 30: 10 mmHg, area and index that can fall.
fn with_reference(id: &str, extra: &[(&str, &str)]) -> CaseRecord {
    with_visit(
        case(id, "2024-01-01", extra),
        "2024-01-31",
        &[
            ("mean_gradient_mmhg", "10"),
            ("av_vti_cm", "40"),
            ("lvot_vti_cm", "20"),
            ("transvalvular_grade", "none"),
        ],
    )
}

#[test]
fn deterioration_is_found_at_an_echo_and_death_competes() {
    // DVI 20/40 = 0.50; later 20/70 = 0.286, a fall of 0.21 and of 43 %.
    let worse = [
        ("mean_gradient_mmhg", "24"),
        ("av_vti_cm", "70"),
        ("lvot_vti_cm", "20"),
        ("transvalvular_grade", "none"),
    ];
    let stable = [
        ("mean_gradient_mmhg", "11"),
        ("transvalvular_grade", "none"),
    ];
    let cases = [
        // Stage 2 found on day 200 (rise 14, 24 mmHg, index fall).
        with_visit(with_reference("a", &[]), "2024-07-19", &worse),
        // Stable on day 366; watched until then.
        with_visit(with_reference("b", &[]), "2025-01-01", &stable),
        // Died on day 300, 270 days after the last echo: competes.
        with_reference("c", &[("death_date", "2024-10-27")]),
        // Died on day 500, 470 days after the last echo: does not compete, censored on day 30.
        with_reference("d", &[("death_date", "2025-05-15")]),
        // Reintervention on day 100, before any later echo: censored on day 30.
        with_visit(
            with_visit(
                with_reference("e", &[]),
                "2024-04-10",
                &[("valve_reintervention", "yes")],
            ),
            "2024-07-19",
            &worse,
        ),
        // No reference echo: missing.
        case("f", "2024-01-01", &[]),
    ];
    let cohort = cohort(&cases, &options());
    let at_365 = row(&cohort, "deterioration_365d");
    // At risk on day 200: a, b, c. Incidence 1/3. Then c dies on day 300; on day 365 only b is watched.
    assert_eq!(
        (at_365.n, at_365.numerator, at_365.missing),
        (Some(5), Some(1), Some(1))
    );
    close(at_365.denominator, 1.0, 0.0);
    close(at_365.estimate, 100.0 / 3.0, 1e-9);
    let at_1095 = row(&cohort, "deterioration_1095d");
    assert_eq!((at_1095.numerator, at_1095.estimate), (Some(1), None));
}

#[test]
fn periods_hold_what_their_dates_say() {
    let mut options = CohortOptions::new(date(2026, 7, 1));
    options.from = Some(date(2026, 4, 1));
    options.to = Some(date(2026, 6, 30));
    let cases = [
        case("in", "2026-04-01", &[]),
        case("in2", "2026-06-30", &[]),
        // The twelve months end on 30 June 2026: they begin on 1 July 2025.
        case("rolling", "2025-07-01", &[]),
        case("before", "2025-06-30", &[]),
        case("after", "2026-07-01", &[]),
    ];
    let cohort = cohort(&cases, &options);
    assert_eq!(cohort.n, [2, 3, 4]);
    let n = |period| cohort.row("death_30d", "all", period).and_then(|row| row.n);
    assert_eq!(n(PeriodName::Period), Some(2));
    assert_eq!(n(PeriodName::Rolling12Months), Some(3));
    assert_eq!(n(PeriodName::SinceStart), Some(4));
    // The span before the period: 1 April 2025 to 31 March 2026.
    assert_eq!(cohort.previous, Some((date(2025, 4, 1), date(2026, 3, 31))));
}

#[test]
fn a_death_written_beside_an_earlier_procedure_counts() {
    let mut options = CohortOptions::new(date(2026, 7, 1));
    options.from = Some(date(2026, 1, 1));
    let key = ("patient_key", "P1");
    let cases = [
        // The death, day 50 of the second procedure (1 January + 50 days), stands in the row of the first.
        case("first", "2025-01-01", &[key, ("death_date", "2026-02-20")]),
        case("second", "2026-01-01", &[key]),
    ];
    let cohort = cohort(&cases, &options);
    // From the first procedure of the period; death is that of any case of the key.
    let row = row(&cohort, "survival_365d");
    assert_eq!((row.n, row.numerator), (Some(1), Some(1)));
}
