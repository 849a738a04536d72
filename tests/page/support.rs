//! Records, pages and their words.

use std::path::Path;
use std::sync::LazyLock;

use jiff::civil::{Date, date};
use valvefolio::assess::{Assessment, Known, Likeness, across_cases, assess};
use valvefolio::draw::{Fonts, Item, Paper, Role};
use valvefolio::input::{ReadOptions, Source, read};
use valvefolio::page::case::{CasePage, PageContext, PageFault, case_page};
use valvefolio::record::{CaseCells, CaseRecord, Catalogue, CellNotes, RowPlace};
use valvefolio::settings::Settings;

/// The page's type, loaded once.
pub static FONTS: LazyLock<Fonts> = LazyLock::new(Fonts::load);

/// The day the demo speaks for (fixtures/quarter/README.md).
pub fn as_of() -> Date {
    date(2026, 11, 20)
}

/// The demo quarter: records and devices.
pub struct Quarter {
    /// Every case that was not withheld.
    pub cases: Vec<(CaseRecord, Assessment)>,
    /// The devices file.
    pub catalogue: Catalogue,
}

/// The demo quarter, read and assessed once.
pub static QUARTER: LazyLock<Quarter> = LazyLock::new(|| {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures/quarter");
    let open = |name: &str| Source::open(&folder.join(name)).expect("the fixture is there");
    let inputs = read(
        &[open("cases.csv")],
        Some(&open("followups.csv")),
        Some(&open("devices.csv")),
        &ReadOptions::default(),
    )
    .expect("the fixture can be read");
    let known: Vec<(CaseRecord, Known)> = inputs
        .records()
        .into_iter()
        .filter_map(|record| Known::on(&record, as_of()).map(|known| (record, known)))
        .collect();
    let likenesses: Vec<_> = known
        .iter()
        .map(|(record, known)| Likeness::of(record, known))
        .collect();
    let across = across_cases(&likenesses);
    let cases = known
        .into_iter()
        .zip(across)
        .map(|((record, known), across)| {
            let assessment = assess(
                &record,
                known,
                &inputs.catalogue,
                &Settings::default(),
                across,
            );
            (record, assessment)
        })
        .collect();
    Quarter {
        cases,
        catalogue: inputs.catalogue,
    }
});

/// A case of the demo.
pub fn case(case_id: &str) -> &'static (CaseRecord, Assessment) {
    QUARTER
        .cases
        .iter()
        .find(|(record, _)| &*record.case_id == case_id)
        .expect("the demo has this case")
}

/// A record of these cells and no visits.
pub fn record(cells: CaseCells) -> CaseRecord {
    CaseRecord {
        case_id: cells.case_id.clone().unwrap_or_else(|| "T-1".into()),
        procedure_date: cells.procedure_date.unwrap_or(date(2026, 3, 3)),
        cells: cells.into(),
        notes: CellNotes::default(),
        place: RowPlace {
            file: "folder/cases.csv".into(),
            line: 7,
        },
        visits: Vec::new(),
    }
}

/// The record assessed alone with the demo's devices.
pub fn assessed(record: &CaseRecord, as_of: Date) -> Assessment {
    let known = Known::on(record, as_of).expect("the procedure is not later");
    let across = across_cases(&[Likeness::of(record, &known)]).remove(0);
    assess(
        record,
        known,
        &QUARTER.catalogue,
        &Settings::default(),
        across,
    )
}

/// The page of a record on a paper.
pub fn page_on(
    record: &CaseRecord,
    assessment: &Assessment,
    paper: Paper,
) -> Result<CasePage, PageFault> {
    let settings = Settings::default();
    let context = PageContext {
        paper,
        centre_lines: &[],
        contact_lines: &[],
        program_version: "0.0.0",
        definitions_version: "0",
        sources: &[],
        settings: &settings,
    };
    case_page(record, assessment, &QUARTER.catalogue, &context, &FONTS)
}

/// The page of a demo case.
pub fn demo_page(case_id: &str) -> CasePage {
    let (record, assessment) = case(case_id);
    page_on(record, assessment, Paper::A4).expect("the page fits")
}

/// Every word of the page in reading order, one space between texts, no-break spaces as spaces. The texts of figures
/// are left out.
pub fn words(page: &CasePage) -> String {
    let mut words = String::new();
    let mut inside_figure = 0;
    let mut open: Vec<bool> = Vec::new();
    for item in &page.document.sheets[0].items {
        match item {
            Item::Open(tag) => {
                open.push(tag.role == Role::Figure);
                inside_figure += usize::from(tag.role == Role::Figure);
            }
            Item::Close => inside_figure -= usize::from(open.pop() == Some(true)),
            Item::Text { text, .. } if inside_figure == 0 => {
                words.push_str(text.trim());
                words.push(' ');
            }
            _ => {}
        }
    }
    words.replace('\u{a0}', " ")
}

/// Descriptions of the figures.
pub fn descriptions(page: &CasePage) -> Vec<String> {
    page.document.sheets[0]
        .items
        .iter()
        .filter_map(|item| match item {
            Item::Open(tag) if tag.role == Role::Figure => tag.alt.clone(),
            _ => None,
        })
        .collect()
}
