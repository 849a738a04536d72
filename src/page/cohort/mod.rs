//! The cohort summary: the quarter's audit as pages.
//!
//! Pages follow the order in which an audit looks: was everything counted, who died, is there a drift, what went wrong,
//! and last what to chase. Every page says what it covers and what it is not.

mod completeness;
mod complications;
mod experience;
mod follow_up;
mod haemodynamics;
mod methods;
mod operators;
mod outcome_table;
mod over_time;
mod pull_list;
mod recorded;
mod released;
mod sizing;
mod stand_out;
mod summary;
mod treated;
mod words;
mod writer;

use crate::cohort::Cohort;
use crate::draw::{Document, Fonts, Paper};
use crate::page::number::date;

use writer::Writer;

/// What the pages need beside the numbers.
#[derive(Clone, Debug, PartialEq)]
pub struct CohortContext {
    /// Name of the centre, as its site file says it.
    pub centre: String,
    /// Paper.
    pub paper: Paper,
    /// Version of the program.
    pub program_version: String,
    /// Version of the definitions.
    pub definitions_version: String,
    /// Input files with their SHA-256.
    pub inputs: Vec<(String, String)>,
}

/// The cohort summary as a document.
pub fn cohort_document(cohort: &Cohort, context: &CohortContext, fonts: &Fonts) -> Document {
    let context = &if cohort.options.deidentify {
        CohortContext {
            centre: "De-identified".to_owned(),
            ..context.clone()
        }
    } else {
        context.clone()
    };
    let mut writer = Writer::new(fonts, context, coverage(cohort), standing(cohort));
    summary::write(&mut writer, cohort);
    treated::write(&mut writer, cohort);
    if cohort.options.deidentify {
        haemodynamics::write_released(&mut writer, cohort);
        complications::write(&mut writer, cohort);
        follow_up::write_released(&mut writer, cohort);
        released::write(&mut writer);
    } else {
        over_time::write(&mut writer, cohort);
        haemodynamics::write(&mut writer, cohort);
        sizing::write(&mut writer, cohort);
        complications::write(&mut writer, cohort);
        operators::write(&mut writer, cohort);
        follow_up::write(&mut writer, cohort);
        completeness::write(&mut writer, cohort);
        recorded::write(&mut writer, cohort);
        pull_list::write(&mut writer, cohort);
    }
    methods::write(&mut writer, cohort, context);
    Document {
        title: format!("Cohort summary, {}", period_words(cohort)),
        subject: "Audit of transcatheter aortic valve implantations".to_owned(),
        language: "en-GB".to_owned(),
        date: cohort.options.as_of,
        sheets: writer.finish(),
        attachment: None,
    }
}

fn period_words(cohort: &Cohort) -> String {
    match (cohort.options.from, cohort.options.to) {
        (Some(from), Some(to)) => crate::page::number::date_range(from, to),
        (Some(from), None) => format!("from {}", date(from)),
        (None, Some(to)) => format!("up to {}", date(to)),
        (None, None) => format!("all cases to {}", date(cohort.options.as_of)),
    }
}

/// The line under the title of every page.
fn coverage(cohort: &Cohort) -> String {
    let n = cohort.n[0];
    let mut text = format!("Period {} · ", period_words(cohort));
    text.push_str(&match cohort.options.expected_cases {
        Some(expected) if !cohort.options.deidentify => {
            format!("{n} of {expected} expected cases")
        }
        _ if cohort.options.deidentify => format!("n {}", words::shown(cohort, n)),
        _ => format!("n {n} of {} cases read", cohort.read),
    });
    text.push_str(&format!(" · as of {}", date(cohort.options.as_of)));
    match cohort.data_to {
        Some(data_to) if !cohort.options.deidentify => {
            text.push_str(&format!(" · data to {}", date(data_to)));
        }
        _ => {}
    }
    if n < 100 {
        text.push_str(" · small numbers");
    }
    text
}

/// What every page adds to its caution.
fn standing(cohort: &Cohort) -> String {
    if cohort.options.deidentify {
        format!(
            "De-identified: counts from 1 to {} masked.",
            cohort.options.masking_threshold.saturating_sub(1)
        )
    } else {
        "Internal: contains small numbers and case keys, not for release.".to_owned()
    }
}
