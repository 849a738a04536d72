//! Process and deaths case by case, in the order in which an operator, or the centre by a further access route, did them.
//!
//! No curve is fitted and nobody is called proficient at a case: published numbers differ widely, and patients change with
//! experience, so the line by predicted risk stands beside the crude one.

use super::audit_case::AuditCase;
use super::group::{Grouping, NOT_RECORDED};
use super::options::RiskModel;
use super::statistics::{CountDistribution, Interval, Predicted, Summary, summary};

/// A course is shown from this many cases on.
pub const COURSE_FROM_CASES: usize = 10;
/// Cases of one block.
pub const BLOCK: usize = 10;
/// Cases of one block where a course has more than [`LONG_COURSE`] cases.
pub const LONG_BLOCK: usize = 20;
/// From more cases than this on, blocks are long.
pub const LONG_COURSE: usize = 200;
/// Most cases of one course; of more, the latest are shown, and the page says so.
pub const MOST_OF_COURSE: usize = 400;

/// Process measures followed, with their words and units.
pub const PROCESS: [(&str, &str); 2] = [("Fluoroscopy", "min"), ("Contrast", "mL")];

/// One case of a course.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CourseCase {
    /// Its number in the course, from 1.
    pub number: usize,
    /// Values of [`PROCESS`].
    pub process: [Option<f64>; PROCESS.len()],
}

/// A block of consecutive cases.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Block {
    /// Number of its first case.
    pub first: usize,
    /// Number of its last case.
    pub last: usize,
    /// Fewer cases than a block has.
    pub short: bool,
    /// Median and quartiles of each measure of [`PROCESS`].
    pub process: [Option<Summary>; PROCESS.len()],
}

/// Deaths against expectation after one more case with risk and outcome known.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CourseDeath {
    /// Number of the case in the course.
    pub number: usize,
    /// Whether the patient died by day 30.
    pub died: bool,
    /// Observed minus expected deaths so far, every case expected at the pooled rate of all cases since the start.
    pub crude: f64,
    /// Observed minus expected deaths so far, by predicted risk.
    pub adjusted: f64,
    /// Where `adjusted` lies with 95 % probability if every risk is right, at this case by itself.
    pub band_95: Interval,
}

/// The course of one operator or access route.
#[derive(Clone, Debug, PartialEq)]
pub struct Course {
    /// Letter, code or name.
    pub name: String,
    /// Cases of the course.
    pub n: usize,
    /// Cases before the latest [`MOST_OF_COURSE`].
    pub earlier: usize,
    /// The cases shown.
    pub cases: Vec<CourseCase>,
    /// Their blocks.
    pub blocks: Vec<Block>,
    /// Deaths, over the cases shown with risk and outcome known.
    pub deaths: Vec<CourseDeath>,
}

/// The courses of one grouping since the start.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Experience {
    /// Courses with [`COURSE_FROM_CASES`] cases or more, in the order of their names.
    pub courses: Vec<Course>,
    /// Names and cases of those with fewer.
    pub too_few: Vec<(String, usize)>,
}

impl Experience {
    /// Of the operators.
    pub fn of_operators(
        cases: &[AuditCase<'_>],
        grouping: &Grouping,
        selection: &[usize],
        model: RiskModel,
    ) -> Self {
        Self::of(cases, grouping, selection, model, None)
    }

    /// Of the access routes but the most frequent one, which is not new here.
    pub fn of_routes(
        cases: &[AuditCase<'_>],
        grouping: &Grouping,
        selection: &[usize],
        model: RiskModel,
    ) -> Self {
        let counted = |group| {
            selection
                .iter()
                .filter(|&&case| grouping.of_case[case] == group)
                .count()
        };
        let usual = (0..grouping.names.len().saturating_sub(1))
            .rev()
            .max_by_key(|&group| counted(group));
        Self::of(cases, grouping, selection, model, usual)
    }

    fn of(
        cases: &[AuditCase<'_>],
        grouping: &Grouping,
        selection: &[usize],
        model: RiskModel,
        left_out: Option<usize>,
    ) -> Self {
        let rate = pooled_rate(cases, selection, model);
        let mut experience = Self::default();
        for (group, name) in grouping.names.iter().enumerate() {
            let inside: Vec<&AuditCase<'_>> = selection
                .iter()
                .filter(|&&case| grouping.of_case[case] == group)
                .map(|&case| &cases[case])
                .collect();
            if inside.is_empty() || name == NOT_RECORDED || left_out == Some(group) {
                continue;
            }
            if inside.len() < COURSE_FROM_CASES {
                experience.too_few.push((name.clone(), inside.len()));
            } else {
                experience.courses.push(course(name, &inside, model, rate));
            }
        }
        experience
    }
}

/// Rate of death to day 30 of all cases with risk and outcome known, a fraction of 1.
fn pooled_rate(cases: &[AuditCase<'_>], selection: &[usize], model: RiskModel) -> f64 {
    let predicted: Vec<Predicted> = selection
        .iter()
        .filter_map(|&case| cases[case].predicted(model))
        .collect();
    let died = predicted.iter().filter(|case| case.died()).count();
    died as f64 / predicted.len().max(1) as f64
}

fn course(name: &str, inside: &[&AuditCase<'_>], model: RiskModel, rate: f64) -> Course {
    let earlier = inside.len().saturating_sub(MOST_OF_COURSE);
    let shown = || (earlier + 1..).zip(&inside[earlier..]);
    let cases: Vec<CourseCase> = shown()
        .map(|(number, case)| CourseCase {
            number,
            process: [case.cells().fluoroscopy_min, case.cells().contrast_ml],
        })
        .collect();
    let size = if cases.len() > LONG_COURSE {
        LONG_BLOCK
    } else {
        BLOCK
    };
    let blocks = cases
        .chunks(size)
        .map(|block| Block {
            first: block[0].number,
            last: block[block.len() - 1].number,
            short: block.len() < size,
            process: std::array::from_fn(|measure| {
                let known: Vec<f64> = block
                    .iter()
                    .filter_map(|case| case.process[measure])
                    .collect();
                summary(&known)
            }),
        })
        .collect();
    let predicted = shown()
        .filter_map(|(number, case)| Some((number, case.predicted(model)?)))
        .collect::<Vec<_>>();
    Course {
        name: name.to_owned(),
        n: inside.len(),
        earlier,
        cases,
        blocks,
        deaths: deaths(&predicted, rate),
    }
}

/// Observed minus expected deaths case by case, with the exact band: the display of expected minus observed, turned over.
fn deaths(predicted: &[(usize, Predicted)], rate: f64) -> Vec<CourseDeath> {
    let mut distribution = CountDistribution::none_yet();
    let (mut observed, mut expected) = (0.0, 0.0);
    let mut points = Vec::with_capacity(predicted.len());
    for (number, case) in predicted {
        if distribution.add_case(case.risk()).is_none() {
            continue;
        }
        observed += f64::from(u8::from(case.died()));
        expected += case.risk();
        points.push(CourseDeath {
            number: *number,
            died: case.died(),
            crude: observed - rate * (points.len() + 1) as f64,
            adjusted: observed - expected,
            band_95: Interval {
                low: distribution.quantile(0.025) as f64 - expected,
                high: distribution.quantile(0.975) as f64 - expected,
            },
        });
    }
    points
}
