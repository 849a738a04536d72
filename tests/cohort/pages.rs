//! The pages of the summary: written without fault, nothing off the paper, nothing over anything else.

use jiff::civil::date;
use valvefolio::cohort::{Cohort, CohortOptions};
use valvefolio::draw::{Document, Fonts, Item, Paper};
use valvefolio::output::pdf::to_pdf;
use valvefolio::page::cohort::{CohortContext, cohort_document};
use valvefolio::page::layout::{Rect, ink, overlapping_texts};

use crate::support::{cohort_with, demo};

pub fn context(paper: Paper) -> CohortContext {
    CohortContext {
        centre: "Demo centre (made up)".to_owned(),
        paper,
        program_version: "0.1.0".to_owned(),
        definitions_version: "1".to_owned(),
        inputs: vec![("cases.csv".to_owned(), "0".repeat(64))],
    }
}

pub fn quarter() -> CohortOptions {
    let mut options = CohortOptions::new(date(2026, 11, 20));
    options.from = Some(date(2026, 7, 1));
    options.to = Some(date(2026, 9, 30));
    options.expected_cases = Some(34);
    options
}

/// Every fault of the pages, in words.
pub fn faults(document: &Document, fonts: &Fonts) -> Vec<String> {
    let mut faults = Vec::new();
    for (number, sheet) in (1..).zip(&document.sheets) {
        let paper = Rect {
            x_mm: 11.0,
            y_mm: 9.0,
            width_mm: sheet.paper.width_mm() - 22.0,
            height_mm: sheet.paper.height_mm() - 18.0,
        };
        for item in &sheet.items {
            if let Some(rect) = ink(item, fonts)
                && !rect.is_inside(&paper)
            {
                faults.push(format!("sheet {number}: off the paper: {item:?}"));
            }
            if let Item::Text { text, .. } = item
                && (text.contains("NaN") || text.contains("inf "))
            {
                faults.push(format!("sheet {number}: no number: {text}"));
            }
        }
        for (one, other) in overlapping_texts(&sheet.items, fonts) {
            faults.push(format!("sheet {number}: “{one}” over “{other}”"));
        }
    }
    faults
}

pub fn document(cohort: &Cohort, paper: Paper, fonts: &Fonts) -> Document {
    cohort_document(cohort, &context(paper), fonts)
}

/// The pages where somebody can look at them.
fn kept(document: &Document, fonts: &Fonts, name: &str) {
    let bytes = to_pdf(document, fonts).expect("a PDF file");
    let folder = std::path::Path::new(env!("CARGO_TARGET_TMPDIR"));
    std::fs::write(folder.join(format!("cohort-{name}.pdf")), bytes).expect("written");
}

#[test]
fn the_demo_fits_either_paper() {
    let fonts = Fonts::load();
    let (records, catalogue) = demo();
    let cohort = cohort_with(&records, &catalogue, &quarter(), &[]);
    for (paper, name) in [(Paper::A4, "a4"), (Paper::Letter, "letter")] {
        let document = document(&cohort, paper, &fonts);
        kept(&document, &fonts, name);
        let faults = faults(&document, &fonts);
        assert!(faults.is_empty(), "{faults:#?}");
    }
}

#[test]
fn the_demo_without_dates_and_released_fits() {
    let fonts = Fonts::load();
    let (records, catalogue) = demo();
    let all = CohortOptions::new(date(2026, 11, 20));
    let mut released = all.clone();
    released.deidentify = true;
    for (options, name) in [(all, "all"), (released, "released")] {
        let cohort = cohort_with(&records, &catalogue, &options, &[]);
        let document = document(&cohort, Paper::A4, &fonts);
        kept(&document, &fonts, name);
        let faults = faults(&document, &fonts);
        assert!(faults.is_empty(), "{faults:#?}");
    }
}
