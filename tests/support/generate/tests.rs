//! What the other tests rely on when they use generated files.

use std::collections::HashSet;
use std::f64::consts::PI;

use super::generate::day::Day;
use super::generate::devices::{DEVICES, Mechanism};
use super::generate::random::{Random, splitmix64};
use super::generate::table::{File, Row};
use super::generate::{Generated, Settings};

fn settings(cases: u64, seed: u64, holes: f64) -> Settings {
    Settings {
        cases,
        seed,
        holes,
        until: Day::of(2026, 9, 30),
    }
}

fn all(settings: &Settings) -> Vec<Generated> {
    (0..settings.cases)
        .map(|index| settings.case(index))
        .collect()
}

fn lines(settings: &Settings) -> String {
    all(settings)
        .iter()
        .flat_map(|made| {
            std::iter::once(&made.case)
                .chain(&made.visits)
                .map(Row::line)
        })
        .collect()
}

#[test]
fn same_seed_same_bytes_and_another_seed_others() {
    assert_eq!(lines(&settings(60, 7, 0.08)), lines(&settings(60, 7, 0.08)));
    assert_ne!(lines(&settings(60, 7, 0.08)), lines(&settings(60, 8, 0.08)));
}

#[test]
fn splitmix64_gives_its_published_numbers() {
    // The first numbers from state 1234567, as the public reference implementation gives them (from memory).
    let mut state = 1_234_567;
    let first: Vec<u64> = (0..3).map(|_| splitmix64(&mut state)).collect();
    assert_eq!(
        first,
        [
            6_457_827_717_110_365_317,
            3_203_168_211_198_807_973,
            9_817_491_932_198_370_423
        ]
    );
}

#[test]
fn uniform_and_normal_numbers_have_their_mean_and_spread() {
    let mut random = Random::stream(7, 1, 0);
    let mean = (0..20_000).map(|_| random.unit()).sum::<f64>() / 20_000.0;
    // Five standard errors of a uniform mean: 5 / sqrt(12 · 20000).
    assert!((mean - 0.5).abs() < 0.0103, "{mean}");
    let normals: Vec<f64> = (0..20_000).map(|_| random.normal(0.0, 1.0)).collect();
    let variance = normals.iter().map(|x| x * x).sum::<f64>() / 20_000.0;
    // Five standard errors of a normal variance: 5 · sqrt(2 / 20000).
    assert!((variance - 1.0).abs() < 0.05, "{variance}");
}

#[test]
fn days_are_those_of_the_civil_calendar() {
    // ISO 8601 and the Unix epoch: day 0 is 1970-01-01; 2000 is a leap year, 1900 is none.
    assert_eq!(Day(0).to_string(), "1970-01-01");
    assert_eq!(Day::of(2000, 2, 29).plus(1), Day::of(2000, 3, 1));
    assert_eq!(Day::of(1900, 2, 28).plus(1), Day::of(1900, 3, 1));
    // 2 August 2026 is a Sunday.
    assert_eq!(Day::of(2026, 8, 2).working(), Day::of(2026, 8, 3));
    assert!("2026-06-31".parse::<Day>().is_err());
}

#[test]
fn numbers_of_one_heart_fit_each_other() {
    for made in all(&settings(3_000, 11, 0.0)) {
        let row = &made.case;
        let value = |column: &str| row.value(column);
        for (mean, peak) in [
            ("baseline_mean_gradient_mmhg", "baseline_vmax_m_s"),
            ("post_mean_gradient_mmhg", "post_vmax_m_s"),
        ] {
            if let (Some(mean), Some(peak)) = (value(mean), value(peak)) {
                // Bernoulli: a mean is below its peak.
                assert!(
                    mean < 4.0 * peak * peak,
                    "{} {mean} {peak}",
                    row.get("case_id")
                );
            }
        }
        let (area, perimeter) = (
            value("annulus_area_mm2").unwrap(),
            value("annulus_perimeter_mm").unwrap(),
        );
        // Isoperimetric inequality, less the rounding of the two cells.
        assert!(
            perimeter * perimeter > 0.995 * 4.0 * PI * area,
            "{} {area} {perimeter}",
            row.get("case_id")
        );
        assert!(value("annulus_min_mm") <= value("annulus_max_mm"));
        if !row.get("baseline_lvot_diameter_mm").is_empty() {
            let outflow = PI / 4.0 * (value("baseline_lvot_diameter_mm").unwrap() / 10.0).powi(2);
            let area = outflow * value("baseline_lvot_vti_cm").unwrap()
                / value("baseline_av_vti_cm").unwrap();
            let reported = value("baseline_ava_cm2").unwrap();
            assert!(
                (area / reported - 1.0).abs() < 0.35,
                "{} {area} {reported}",
                row.get("case_id")
            );
        }
    }
}

#[test]
fn dates_run_forward_and_stop_at_death() {
    let settings = settings(3_000, 5, 0.0);
    let mut dead = 0;
    for made in all(&settings) {
        let day = |column: &str| made.case.get(column).parse::<Day>().ok();
        let procedure = day("procedure_date").unwrap();
        assert!(procedure <= settings.until);
        for before in [
            "referral_date",
            "heart_team_date",
            "ct_date",
            "baseline_echo_date",
            "admission_date",
        ] {
            assert!(
                day(before).unwrap() <= procedure,
                "{} {before}",
                made.case.get("case_id")
            );
        }
        for after in [
            "discharge_date",
            "post_echo_date",
            "death_date",
            "last_contact_date",
            "signed_on",
        ] {
            assert!(
                day(after).is_none_or(|day| day >= procedure),
                "{} {after}",
                made.case.get("case_id")
            );
        }
        let dates: Vec<Day> = made
            .visits
            .iter()
            .map(|visit| visit.get("visit_date").parse().unwrap())
            .collect();
        assert!(dates.is_sorted_by(|a, b| a < b));
        if let Some(death) = day("death_date") {
            dead += 1;
            assert!(dates.iter().all(|date| *date < death) && death <= settings.data_to());
            assert!(day("last_contact_date").is_none());
        }
    }
    assert!(dead > 100, "{dead}");
}

#[test]
fn every_column_is_filled_somewhere_and_holes_are_about_as_asked() {
    let whole = all(&settings(3_000, 7, 0.0));
    for column in File::Cases.header() {
        assert!(
            whole.iter().any(|made| !made.case.get(column).is_empty()),
            "{column}"
        );
    }
    for column in File::Followups.header() {
        assert!(
            whole
                .iter()
                .flat_map(|made| &made.visits)
                .any(|visit| !visit.get(column).is_empty()),
            "{column}"
        );
    }
    let filled = |made: &[Generated]| -> f64 {
        made.iter()
            .map(|made| {
                File::Cases
                    .header()
                    .iter()
                    .filter(|column| !made.case.get(column).is_empty())
                    .count()
            })
            .sum::<usize>() as f64
    };
    let share = 1.0 - filled(&all(&settings(3_000, 7, 0.08))) / filled(&whole);
    assert!((0.06..0.10).contains(&share), "{share}");
}

#[test]
fn second_procedures_share_patient_and_death() {
    let made = all(&settings(3_000, 7, 0.0));
    let mut seen: HashSet<String> = HashSet::new();
    let mut second = 0;
    for row in made
        .iter()
        .map(|made| &made.case)
        .filter(|row| !row.get("patient_key").is_empty())
    {
        let same = |column: &str| {
            let others = made
                .iter()
                .map(|made| &made.case)
                .filter(|other| other.get("patient_key") == row.get("patient_key"));
            others
                .map(|other| other.get(column).to_owned())
                .filter(|cell| !cell.is_empty())
                .collect::<HashSet<_>>()
                .len()
                <= 1
        };
        assert!(
            same("birth_date") && same("sex") && same("death_date"),
            "{}",
            row.get("case_id")
        );
        second += usize::from(!seen.insert(row.get("patient_key").to_owned()));
    }
    assert!(second > 5, "{second}");
}

#[test]
fn ranges_of_a_family_follow_each_other() {
    for mechanism in [Mechanism::Balloon, Mechanism::Itself, Mechanism::Mechanical] {
        let family: Vec<_> = DEVICES
            .iter()
            .filter(|device| device.mechanism == mechanism)
            .collect();
        assert!(family.windows(2).all(
            |pair| pair[0].range_max == pair[1].range_min && pair[0].size_mm < pair[1].size_mm
        ));
    }
}
