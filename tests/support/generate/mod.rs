//! A seeded generator of plausible input files of any size, for benches and property tests.
//!
//! Every case has streams of its own, so that a case is the same whatever was made before it, and a file of any length is
//! written row by row. What is generated is test data: correlated enough to exercise every rule, of no clinical meaning.
//! Include it from a test with `#[path = "support/generate/mod.rs"] mod generate;`.
#![allow(
    dead_code,
    reason = "each test, bench and example uses the part it needs"
)]

pub mod columns;
pub mod day;
pub mod devices;
pub mod discharge;
pub mod fate;
pub mod files;
pub mod heart;
pub mod outcome;
pub mod patient;
pub mod procedure;
pub mod prosthesis;
pub mod random;
pub mod table;
pub mod visits;

use day::Day;
use discharge::Stay;
use fate::Death;
use heart::Heart;
use patient::Patient;
use random::Random;
use table::{File, Row};

/// Days after the last procedure on which the data end.
const FOLLOWED_DAYS: i64 = 51;
/// Days over which the procedures are spread.
const PERIOD_DAYS: i64 = 3 * 365;

/// The streams of one case.
mod purpose {
    pub const PATIENT: u64 = 1;
    pub const FATE: u64 = 2;
    pub const CASE: u64 = 3;
    pub const VISITS: u64 = 4;
    pub const HOLES: u64 = 5;
    pub const REPEAT: u64 = 6;
}

/// What to generate.
#[derive(Clone, Debug)]
pub struct Settings {
    /// How many cases.
    pub cases: u64,
    /// Same seed, same bytes.
    pub seed: u64,
    /// Share of the filled cells that are blanked, 0 to 1, roughly.
    pub holes: f64,
    /// Last day of the procedures.
    pub until: Day,
}

/// One case and its visits.
#[derive(Clone, Debug)]
pub struct Generated {
    /// Row of the cases file.
    pub case: Row,
    /// Rows of the visits file, in order of date.
    pub visits: Vec<Row>,
}

impl Settings {
    /// Last day of the data: the day a report on these files would speak for.
    pub fn data_to(&self) -> Day {
        self.until.plus(FOLLOWED_DAYS)
    }

    fn stream(&self, purpose: u64, index: u64) -> Random {
        Random::stream(self.seed, purpose, index)
    }

    /// Day of the procedure: cases follow each other through three years.
    fn procedure(&self, index: u64) -> Day {
        let from_end = PERIOD_DAYS
            - (index as f64 + 0.5).mul_add(PERIOD_DAYS as f64 / self.cases.max(1) as f64, 0.0)
                as i64;
        let day = self.until.plus(-from_end).working();
        if day > self.until { day.plus(-3) } else { day }
    }

    fn patient(&self, index: u64) -> Patient {
        Patient::draw(
            &mut self.stream(purpose::PATIENT, index),
            self.procedure(index),
        )
    }

    /// The earlier case of the same patient, where this is a second procedure of one who lived to have it.
    fn earlier(&self, index: u64) -> Option<u64> {
        let earlier = index.checked_sub(self.cases / 3 + 1)?;
        let mut random = self.stream(purpose::REPEAT, index);
        // An earlier case that is itself a second one would chain three procedures.
        let single = !self.stream(purpose::REPEAT, earlier).chance(0.012);
        let chosen = random.chance(0.012) && single;
        let alive = self
            .fate(earlier, &self.patient(earlier))
            .is_none_or(|day| day > self.procedure(index).plus(35));
        (chosen && alive).then_some(earlier)
    }

    fn fate(&self, index: u64, patient: &Patient) -> Option<Day> {
        let death = fate::death(&mut self.stream(purpose::FATE, index), patient.risk);
        Some(self.procedure(index).plus(death.day)).filter(|day| *day <= self.data_to())
    }

    /// One case with its visits.
    pub fn case(&self, index: u64) -> Generated {
        let procedure = self.procedure(index);
        let earlier = self.earlier(index);
        let origin = earlier.unwrap_or(index);
        let patient = self.patient(origin);
        let last_day = self.fate(origin, &patient);
        let death = last_day.map(|day| {
            let drawn = fate::death(&mut self.stream(purpose::FATE, origin), patient.risk);
            Death {
                day: day.0 - procedure.0,
                ..drawn
            }
        });

        let mut random = self.stream(purpose::CASE, index);
        let mut row = Row::new(File::Cases);
        row.set("case_id", case_id(index));
        if self.repeats(index) || earlier.is_some() {
            row.set("patient_key", format_args!("K{origin:06}"));
        }
        row.set(
            "patient_label",
            format_args!("Generated patient {origin:06}"),
        );
        let site = random.weighted(&[("North", 0.45), ("South", 0.3), ("West", 0.25)]);
        row.set("site", site);
        row.set("operator", operator(&mut random, site));
        row.set("procedure_date", procedure);
        let referral = procedure.plus(-random.whole(20, 140)).working();
        row.set("referral_date", referral);
        row.set(
            "heart_team_date",
            referral.plus(random.whole(3, 15)).working(),
        );
        patient.fill(&mut row, &mut random, procedure);
        let heart = Heart::draw(&mut row, &mut random, &patient, procedure);
        let implant = procedure::implant(&mut row, &mut random, &patient, &heart);
        let outcome = outcome::draw(&mut row, &mut random, &patient, &implant, death);
        let stay = Stay {
            patient: &patient,
            heart: &heart,
            implant: &implant,
            outcome: &outcome,
            death,
            procedure,
            data_to: self.data_to(),
        };
        stay.fill(&mut row, &mut random);
        if outcome.no_valve {
            row.clear(&[
                "device_id",
                "device_serial",
                "device_lot",
                "frame_measured_mm",
                "implant_depth_mm",
                "fill_volume_change_ml",
            ]);
            row.clear(&[
                "postdilatation",
                "postdilatation_volume_change_ml",
                "invasive_mean_gradient_after_mmhg",
            ]);
        }
        if let (Some(death), Some(day)) = (death, last_day) {
            // A death is sometimes known without its date.
            if death.day < 60 || random.chance(0.98) {
                row.set("death_date", day);
            }
            row.set("death_cause", death.cause);
            row.yes_no("valve_related_death", death.valve_related);
        }
        let mut visits = visits::visits(&mut row, &mut self.stream(purpose::VISITS, index), &stay);
        let mut holes = self.stream(purpose::HOLES, index);
        row.punch_holes(self.holes, &mut holes);
        visits
            .iter_mut()
            .for_each(|visit| visit.punch_holes(self.holes, &mut holes));
        Generated { case: row, visits }
    }

    /// Whether a later case is a second procedure of this one's patient.
    fn repeats(&self, index: u64) -> bool {
        let later = index + self.cases / 3 + 1;
        later < self.cases && self.earlier(later) == Some(index)
    }
}

/// Key of a case.
fn case_id(index: u64) -> String {
    format!("G-{index:06}")
}

/// Operators belong to sites, and some do more than others.
fn operator(random: &mut Random, site: &str) -> &'static str {
    match site {
        "North" => random.weighted(&[("A", 0.5), ("B", 0.35), ("C", 0.15)]),
        "South" => random.weighted(&[("D", 0.6), ("E", 0.4)]),
        _ => random.weighted(&[("F", 0.7), ("C", 0.3)]),
    }
}
