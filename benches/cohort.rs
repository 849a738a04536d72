//! The statistics of a cohort at 1,000, 10,000 and 100,000 cases: the whole and each step that can be called on its own,
//! in processor time of one thread over n log n.
//!
//! `benches/run` says how to run it.

use std::hint::black_box;

use valvefolio::cohort::statistics::{
    FollowUp, Incidence, Outcome, OutcomeTime, Predicted, Survival, calibration, cusum_path,
    hodges_lehmann, observed_expected, summary, vlad,
};
use valvefolio::cohort::{
    AuditCase, Cohort, CohortOptions, Completeness, Deaths, Dimension, FollowUpReview, Grouping,
    GroupsReview, Haemodynamics, OverTime, Period, Quarters, RiskModel, SizingReview, Treated,
};
use valvefolio_benches::cohort::{assessed, settings};
use valvefolio_benches::figures::{Figures, Target};
use valvefolio_benches::generate::random::Random;
use valvefolio_benches::size;
use valvefolio_benches::timing::processor_seconds;

#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

/// How much faster than n log n a step may grow from the second size to the third before it counts as worse: a table of
/// a hundred thousand cases lies in main memory, one of ten thousand in the cache. A step of n² grows 8 times faster.
const CACHE_ALLOWANCE: f64 = 2.0;

fn main() {
    let sizes: [u64; 3] = size([1_000, 10_000, 100_000], [300, 3_000, 30_000]);
    let mut figures = Figures::new("cohort");
    figures.say("Processor time of one thread over n log2 n, in nanoseconds; last, growth beyond n log n from the second size to the third.");
    let columns = sizes.map(steps);
    for (place, (name, largest)) in columns[2].iter().enumerate() {
        let scaled = [0, 1, 2].map(|size| {
            let n = sizes[size] as f64;
            columns[size][place].1 / (n * n.log2()) * 1e9
        });
        figures.say(&format!(
            "{name:<48} {:>9.2} {:>9.2} {:>9.2}  {:>9.1} ms at {}",
            scaled[0],
            scaled[1],
            scaled[2],
            largest * 1e3,
            sizes[2]
        ));
        figures.figure(
            &format!("  {name}: growth beyond n log n"),
            scaled[2] / scaled[1],
            "",
            Some(Target::AtMost(CACHE_ALLOWANCE)),
        );
    }
}

/// Seconds of each step for this many cases, the best of a few rounds.
fn steps(cases: u64) -> Vec<(&'static str, f64)> {
    let work = assessed(cases);
    let settings = settings(cases);
    let assessments = work.assessments();
    let of_cases: Vec<_> = assessments.iter().collect();
    let options = CohortOptions::new(work.as_of);
    let mut taken = Vec::new();
    let mut time = |name: &'static str, step: &mut dyn FnMut()| {
        let rounds = size(5, 3);
        let best = (0..rounds).map(|_| {
            let start = processor_seconds();
            step();
            processor_seconds() - start
        });
        taken.push((name, best.fold(f64::INFINITY, f64::min)));
    };

    time("whole summary", &mut || {
        black_box(Cohort::of(
            &of_cases,
            &work.catalogue,
            &options,
            &work.withheld,
        ));
    });
    let cohort = Cohort::of(&of_cases, &work.catalogue, &options, &work.withheld);
    time("cohort.csv", &mut || {
        black_box(cohort.csv_bytes());
    });
    time("cohort-series.csv", &mut || {
        black_box(cohort.series_csv_bytes());
    });
    let audit: Vec<AuditCase<'_>> = of_cases
        .iter()
        .map(|assessment| AuditCase::new(assessment, &work.catalogue))
        .collect();
    let all: Vec<usize> = (0..audit.len()).collect();
    let since_start = Period::all(&options)[2];
    let grouping = Grouping::of(Dimension::Operator, &audit, &options);
    time("grouping by operator", &mut || {
        black_box(Grouping::of(Dimension::Operator, &audit, &options));
    });
    time("groups beside each other", &mut || {
        black_box(GroupsReview::of(
            &audit,
            &grouping,
            &all,
            &all,
            RiskModel::EuroScore2,
        ));
    });
    time("deaths, observed and expected", &mut || {
        black_box(Deaths::of(&audit, since_start, RiskModel::EuroScore2));
    });
    time("deaths case by case", &mut || {
        black_box(OverTime::of(&audit, since_start, RiskModel::EuroScore2));
    });
    time("haemodynamics", &mut || {
        black_box(Haemodynamics::of(&audit, &all));
    });
    let everyone: Vec<_> = audit.iter().collect();
    time("who was treated", &mut || {
        black_box(Treated::of(&everyone, &everyone));
    });
    time("quarters", &mut || {
        black_box(Quarters::of(&audit, &all, options.as_of));
    });
    time("sizing", &mut || {
        black_box(SizingReview::of(&audit, &all, &work.catalogue));
    });
    time("follow-up", &mut || {
        black_box(FollowUpReview::of(&audit, &all, &options.schedule));
    });
    time("completeness", &mut || {
        black_box(Completeness::of(&audit, &all));
    });

    // The arithmetic alone, on drawn numbers, each of them for every case.
    let mut random = Random::stream(settings.seed, 99, cases);
    let predicted: Vec<Predicted> = all
        .iter()
        .filter_map(|_| {
            let risk = random.whole(5, 200) as f64 / 1000.0;
            let died = random.chance(risk);
            Predicted::new(risk, died)
        })
        .collect();
    let days: Vec<(u32, i64)> = all
        .iter()
        .map(|_| (random.whole(0, 2000) as u32, random.whole(0, 9)))
        .collect();
    let follow_ups: Vec<FollowUp> = days
        .iter()
        .map(|&(day, end)| FollowUp {
            day,
            event: end == 0,
        })
        .collect();
    let outcomes: Vec<OutcomeTime> = days
        .iter()
        .map(|&(day, end)| OutcomeTime {
            day,
            outcome: match end {
                0 => Outcome::Event,
                1 => Outcome::Competing,
                _ => Outcome::Censored,
            },
        })
        .collect();
    let values: Vec<f64> = all
        .iter()
        .map(|_| random.whole(-600, 200) as f64 / 10.0)
        .collect();
    time("survival curve", &mut || {
        black_box(Survival::new(&follow_ups));
    });
    time("cumulative incidence", &mut || {
        black_box(Incidence::new(&outcomes));
    });
    time("mean, sd and quartiles", &mut || {
        black_box(summary(&values));
    });
    time("Hodges-Lehmann estimate and limits", &mut || {
        black_box(hodges_lehmann(&values));
    });
    time("calibration", &mut || {
        black_box(calibration(&predicted));
    });
    time("observed and expected, exact tails", &mut || {
        black_box(observed_expected(&predicted));
    });
    time("cumulative sums", &mut || {
        black_box(cusum_path(&predicted, 2.0));
    });
    time("observed less expected, with limits", &mut || {
        black_box(vlad(&predicted));
    });
    taken
}
