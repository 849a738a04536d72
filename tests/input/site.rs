//! The site file: what it sets, what it changes in reading, and that no fault of it passes.

use valvefolio::diagnostic::Code;
use valvefolio::draw::Paper;
use valvefolio::input::site::{Site, SiteError};
use valvefolio::input::{DecimalMark, Inputs, Source, read};
use valvefolio::record::Grade;
use valvefolio::settings::BsaFormula;

use crate::{findings, fixture, places};

fn site(text: &str) -> Result<Site, SiteError> {
    Site::read(&Source::new("site.toml", text))
}

fn example() -> Site {
    Site::read(&Source::new("site.toml", fixture("site.toml"))).expect("a good site file")
}

/// Reads one cases file as this site writes it.
fn read_at(site: &Site, bytes: impl Into<Vec<u8>>) -> Inputs {
    read(
        &[Source::new("export.csv", bytes)],
        None,
        None,
        &site.read_options(None),
    )
    .unwrap()
}

#[test]
fn every_setting_is_read() {
    let site = example();
    assert_eq!(
        site.centre.name.as_deref(),
        Some("Example Valve Centre (made up)")
    );
    assert_eq!(site.centre.address, ["1 Example Street", "Exampletown"]);
    assert_eq!(site.centre.contact, ["Valve clinic, 000 000"]);
    assert_eq!(
        (site.paper, site.settings.bsa_formula),
        (Paper::Letter, BsaFormula::Mosteller)
    );
    assert_eq!(site.encoding, Some(encoding_rs::WINDOWS_1252));
    assert_eq!(site.dialect.decimal_mark, Some(DecimalMark::Comma));
    assert_eq!(
        site.dialect
            .date_format
            .as_ref()
            .map(|format| format.pattern()),
        Some("DD.MM.YYYY")
    );
    let visits = site.settings.schedule;
    assert_eq!(
        (
            visits.first_visit_day,
            visits.first_visit_opens,
            visits.first_visit_closes
        ),
        (42, 28, 90)
    );
    assert_eq!(
        (
            visits.anniversary_opens_before,
            visits.anniversary_closes_after,
            visits.lost_after
        ),
        (45, 90, 500)
    );
    assert_eq!(site.settings.usual_errors.outflow_diameter_mm, 0.5);
    assert_eq!(site.settings.attention.wide_aorta_mm, 50.0);
    assert_eq!(site.masking.counts_below, 10);
}

/// The defaults are those of DEFINITIONS.md: Follow-up, Fragile classes, Flags; PRODUCT.md for paper and masking.
#[test]
fn an_empty_file_is_the_definitions() {
    let site = site("").unwrap();
    assert_eq!(
        (site.paper, site.settings.bsa_formula),
        (Paper::A4, BsaFormula::DuBois)
    );
    let visits = site.settings.schedule;
    assert_eq!(
        (
            visits.first_visit_day,
            visits.first_visit_opens,
            visits.first_visit_closes
        ),
        (30, 23, 75)
    );
    assert_eq!(
        (
            visits.anniversary_opens_before,
            visits.anniversary_closes_after,
            visits.lost_after
        ),
        (60, 60, 425)
    );
    let errors = site.settings.usual_errors;
    assert_eq!(
        [
            errors.outflow_diameter_mm,
            errors.peak_velocity_pct,
            errors.mean_gradient_pct,
            errors.annulus_area_pct,
            errors.annulus_perimeter_pct
        ],
        [1.0, 3.0, 5.0, 3.0, 1.5]
    );
    let attention = site.settings.attention;
    assert_eq!(
        [
            attention.root_injury_oversizing_pct,
            attention.low_coronary_height_mm,
            attention.low_coronary_sinus_mm,
            attention.tight_access_ratio,
            attention.wide_aorta_mm,
            attention.area_mismatch_pct,
            attention.low_regurgitation_index
        ],
        [20.0, 12.0, 30.0, 1.05, 45.0, 15.0, 25.0]
    );
    assert_eq!(site.masking.counts_below, 5);
    assert!(site.dialect.headers.is_empty() && site.dialect.words.is_empty());
}

#[test]
fn an_export_of_the_centre_is_read_as_the_dictionary_wants_it() {
    let inputs = read_at(&example(), fixture("site-export.csv"));
    let [one, two] = &inputs.records()[..] else {
        panic!("{:?}", inputs.diagnostics);
    };
    assert_eq!(one.procedure_date.to_string(), "2031-04-03");
    // The very numbers that "172" and "435" are: 1.72 * 100 and 4.35 * 100 are others in binary arithmetic.
    assert_eq!(
        (one.cells.height_cm, one.cells.annulus_area_mm2),
        (Some(172.0), Some(435.0))
    );
    // 1.1 mg/dL × 88.4 = 97.24 µmol/L.
    assert!((one.cells.creatinine_umol_l.unwrap() - 97.24).abs() < 1e-9);
    assert_eq!(one.cells.baseline_mr_grade, Some(Grade::Moderate));
    assert_eq!(one.cells.baseline_tr_grade, Some(Grade::Severe));
    // Under its header 1 means no; elsewhere it means yes.
    assert_eq!(
        (one.cells.dialysis, one.cells.prior_stroke),
        (Some(false), Some(true))
    );
    // The second row is in other units than the site file says: refused, with what it would be.
    assert_eq!(
        (
            two.cells.height_cm,
            two.cells.annulus_area_mm2,
            two.cells.creatinine_umol_l
        ),
        (None, None, None)
    );
    assert_eq!(
        (
            two.cells.baseline_mr_grade,
            two.cells.dialysis,
            two.cells.prior_stroke
        ),
        (None, Some(true), None)
    );
    assert_eq!(
        places(&inputs),
        [
            (Code::UnitSlip, 3, 3),
            (Code::UnitSlip, 3, 4),
            (Code::UnitSlip, 3, 5),
            (Code::RequiredCell, 4, 2),
            (Code::NotADate, 4, 2),
            (Code::NotAChoice, 4, 6),
            (Code::NotYesNo, 4, 7),
            // "k.A." is not the blank word "k. A." of the site file.
            (Code::NotAChoice, 4, 9)
        ]
    );
    assert!(
        findings(&inputs)[1]
            .expected
            .contains("if written in mm2 it would be 485 mm2"),
        "{}",
        findings(&inputs)[1].expected
    );
    // Said once a converted column.
    let said: Vec<&str> = inputs
        .diagnostics
        .iter()
        .filter(|finding| finding.place.line == 1)
        .map(|finding| finding.expected.as_str())
        .collect();
    assert_eq!(
        said,
        [
            "numbers in m, taken as cm (site file)",
            "numbers in cm2, taken as mm2 (site file)",
            "numbers in mg/dL, taken as umol/L (site file)"
        ]
    );
}

#[test]
fn a_conversion_by_ten_changes_no_number() {
    let site =
        site("[headers.cases]\nA = { column = \"annulus_area_mm2\", unit = \"cm2\" }").unwrap();
    for hundredths in 150..=1100_u32 {
        let text = format!(
            "case_id,procedure_date,A\nA1,2031-04-03,{}.{:02}\n",
            hundredths / 100,
            hundredths % 100
        );
        let inputs = read_at(&site, text);
        assert_eq!(
            inputs.records()[0].cells.annulus_area_mm2,
            Some(f64::from(hundredths))
        );
    }
}

#[test]
fn the_command_line_goes_before_the_site_file() {
    let options = example().read_options(Some(encoding_rs::ISO_8859_2));
    assert_eq!(options.encoding, Some(encoding_rs::ISO_8859_2));
}

#[test]
fn own_headers_of_one_file_stay_with_it() {
    let site = site("[headers.followups]\n\"Größe\" = \"lvef_pct\"\n[headers.cases]\n\"GRÖSSE 1\" = \"height_cm\"\n").unwrap();
    let inputs = read_at(
        &site,
        "case_id,procedure_date,Größe,grösse-1\nA1,2031-04-03,60,172\n",
    );
    assert_eq!(inputs.records()[0].cells.height_cm, Some(172.0));
    assert_eq!(places(&inputs), [(Code::UnknownColumn, 1, 3)]);
}

/// Every fault of a file, as `line:column: message`.
fn faults(text: &str) -> Vec<String> {
    site(text)
        .unwrap_err()
        .faults
        .iter()
        .map(|fault| format!("{}:{}: {}", fault.line, fault.column, fault.message))
        .collect()
}

#[test]
fn every_fault_is_told_with_its_place_and_what_was_meant() {
    let text = "[center]\nname = \"x\"\n[page]\npaper = \"A5\"\nmargin = 3\n[formulas]\nbsa = \"dubois\"\n[headers.cases]\n\
                A = \"anulus_area_mm2\"\nB = { column = \"annulus_area_mm2\", unit = \"acres\" }\nC = { column = \"sex\", unit = \"cm\" }\n\
                D = { column = \"sex\", words = { w = \"femal\" } }\nE = { colum = \"sex\" }\n[words]\nx = \"yess\"\n1 = \"no\"\n";
    assert_eq!(
        faults(text),
        [
            "1:2: unknown key \"center\" (centre?)",
            "4:9: paper must be one of A4, Letter",
            "5:1: unknown key \"margin\" in [page]",
            "7:7: bsa must be one of du_bois, mosteller (du_bois?)",
            "9:5: the cases file has no column \"anulus_area_mm2\" (annulus_area_mm2?)",
            "10:43: unknown unit \"acres\" for annulus_area_mm2: known are mm2, cm2",
            "11:30: sex is no number and has no unit",
            "12:37: sex has no word \"femal\" (female?); it has female, male",
            "13:1: \"E\" names no column",
            "13:7: unknown key \"colum\" in [E] (column?)",
            "15:5: no column has the word \"yess\" (yes?)",
            "16:1: \"1\" already has a meaning everywhere; give it another for one column, under its header",
        ]
    );
}

#[test]
fn values_out_of_their_limits_are_faults() {
    for (text, place, part) in [
        (
            "[visits]\nfirst = { day = 30, from = 40 }",
            "2:17",
            "in order; they are 40, 30, 75",
        ),
        (
            "[visits]\nfirst = { to = 320 }",
            "2:16",
            "before that of the first visit has closed",
        ),
        ("[visits]\nlost_after_days = 1.5", "2:19", "whole number"),
        ("[attention]\nwide_aorta_mm = 4.5", "2:17", "from 30 to 70"),
        ("[attention]\nwide_aorta_mm = nan", "2:17", "from 30 to 70"),
        (
            "[measurement_errors]\nvmax_pct = -1",
            "2:12",
            "from 0 to 30",
        ),
        (
            "[cohort]\nmask_counts_below = \"5\"",
            "2:21",
            "whole number",
        ),
        (
            "[reading]\ndate_format = \"DD.MM.YY\"",
            "2:15",
            "two digits",
        ),
        ("[reading]\ndecimal_mark = \"'\"", "2:16", "must be one of"),
        (
            "[reading]\nencoding = \"windows-1256x\"",
            "2:12",
            "windows-125",
        ),
        (
            "[reading]\nblank_words = [\"no\"]",
            "2:16",
            "means yes or no",
        ),
        (
            "[centre]\naddress = [\"1\", \"2\", \"3\", \"4\", \"5\"]",
            "2:32",
            "at most 4 lines",
        ),
        ("[centre]\nname = \"a\\u202Eb\"", "2:8", "hidden"),
        ("[centre]\nname = 5", "2:8", "text"),
        ("centre = 5", "1:10", "must be a table"),
        ("[headers.cases]\nA = \"sex\"\na = \"site\"", "3:1", "twice"),
        (
            "[headers.cases]\n\"ä\" = { column = \"site\", words = { x = \"y\" } }",
            "2:36",
            "has no words",
        ),
        ("[page\npaper = 1", "1:6", ""),
    ] {
        let faults = faults(text);
        assert!(
            faults[0].starts_with(&format!("{place}: ")) && faults[0].contains(part),
            "{text}: {faults:?}"
        );
    }
    let error = Site::read(&Source::new("s.toml", &b"[page]\n# \xFF\n"[..])).unwrap_err();
    assert_eq!(
        error.to_string(),
        "s.toml:2:3: not UTF-8; save the site file as UTF-8"
    );
}

/// The example in the documentation is a good site file.
#[test]
fn the_documented_example_is_read() {
    let source = include_str!("../../src/input/site/mod.rs");
    let example: String = source
        .lines()
        .skip_while(|line| *line != "//! ```toml")
        .skip(1)
        .take_while(|line| *line != "//! ```")
        .map(|line| format!("{}\n", line.trim_start_matches("//!").trim_start()))
        .collect();
    let site = site(&example).unwrap();
    assert_eq!(site.dialect.headers.len(), 3);
    // Its numbers are the defaults.
    assert_eq!(site.settings.schedule, Site::default().settings.schedule);
    assert_eq!(site.settings.attention, Site::default().settings.attention);
    assert_eq!(
        site.settings.usual_errors,
        Site::default().settings.usual_errors
    );
    assert_eq!(site.masking, Site::default().masking);
}

proptest::proptest! {
    #[test]
    fn prop_any_site_file_is_read_or_refused(text in "[a-z\\[\\]{}=\"#., \n0-9é]{0,80}") {
        if let Err(error) = site(&text) {
            proptest::prop_assert!(!error.faults.is_empty());
        }
    }
}

#[test]
fn one_table_may_be_written_otherwise_than_the_others() {
    let site = site(
        "[reading]\ndate_format = \"DD.MM.YYYY\"\ndecimal_mark = \",\"\nencoding = \"windows-1252\"\n\
         [reading.followups]\ndate_format = \"MM/DD/YYYY\"\ndecimal_mark = \".\"\nencoding = \"utf-8\"\n",
    )
    .expect("a good site file");
    let cases = Source::new("cases.csv", "case_id;procedure_date\nA1;03.04.2031\n");
    let visits = Source::new(
        "visits.csv",
        "case_id,visit_date,lvef_pct,note\nA1,05/06/2031,55.5,für\n",
    );
    let inputs = read(
        std::slice::from_ref(&cases),
        Some(&visits),
        None,
        &site.read_options(None),
    )
    .expect("tables");
    let records = inputs.records();
    let visit = &records[0].visits[0];
    assert_eq!(records[0].procedure_date.to_string(), "2031-04-03");
    assert_eq!(visit.date.to_string(), "2031-05-06", "6 May");
    assert_eq!(visit.cells.lvef_pct, Some(55.5));
    assert_eq!(visit.cells.note.as_deref(), Some("für"));
    // An encoding on the command line goes before that of the table, too.
    let asked = site.read_options(Some(encoding_rs::WINDOWS_1252));
    let inputs = read(&[cases], Some(&visits), None, &asked).expect("tables");
    assert_eq!(
        inputs.records()[0].visits[0].cells.note.as_deref(),
        Some("fÃ¼r")
    );
    let told = faults("[reading.followup]\ndate_format = \"DD.MM.YYYY\"\n");
    assert!(
        told.iter().any(|fault| fault.contains("followups")),
        "{told:?}"
    );
}
