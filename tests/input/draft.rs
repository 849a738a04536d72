//! The draft of a site file: what it places, what it leaves open, and that the reader takes it as it is printed.
//!
//! The headers of the tables below are common abbreviations and clinical words in four languages, from memory; no source.

use std::collections::BTreeMap;

use proptest::prelude::*;
use valvefolio::input::Source;
use valvefolio::input::draft::{Draft, PROPOSAL, draft};
use valvefolio::input::site::Site;

fn drafted(table: &'static str, text: impl Into<Vec<u8>>) -> Draft {
    let source = Source::new("export.csv", text);
    draft(&[(table, &source)], None).expect("a table")
}

fn of_cases(text: &str) -> Draft {
    drafted("cases", text)
}

/// Reads the draft as it is printed.
fn site(draft: &Draft) -> Site {
    Site::read(&Source::new("draft.toml", draft.text.clone()))
        .unwrap_or_else(|error| panic!("{error}\n{}", draft.text))
}

/// What the draft places, by header.
fn placed(draft: &Draft) -> BTreeMap<String, &'static str> {
    let rules = site(draft).dialect.headers;
    rules
        .into_iter()
        .map(|rule| (rule.header, rule.column))
        .collect()
}

/// The lines that hold this text.
fn lines_with<'d>(draft: &'d Draft, text: &str) -> Vec<&'d str> {
    draft
        .text
        .lines()
        .filter(|line| line.contains(text))
        .collect()
}

/// A table of these headers, each with its cells below it.
fn table(columns: &[(&str, &[&str])]) -> String {
    let rows = columns.first().map_or(0, |(_, cells)| cells.len());
    let line = |cells: Vec<&str>| cells.join(";") + "\n";
    let mut text = line(columns.iter().map(|(header, _)| *header).collect());
    for row in 0..rows {
        text += &line(columns.iter().map(|(_, cells)| cells[row]).collect());
    }
    text
}

#[test]
fn common_headers_are_placed_and_none_elsewhere() {
    let sets: [&[(&str, &str, &str)]; 3] = [
        &[
            ("Case no.", "case_id", "A1"),
            ("MRN", "patient_key", "77"),
            ("DOB", "birth_date", "1941-03-02"),
            ("Gender", "sex", "female"),
            ("Ht (cm)", "height_cm", "172"),
            ("Weight kg", "weight_kg", "71"),
            ("TAVI date", "procedure_date", "2031-04-03"),
            ("NYHA class", "nyha_class", "III"),
            ("Peak velocity baseline (m/s)", "baseline_vmax_m_s", "4.4"),
            ("Pre MPG (mmHg)", "baseline_mean_gradient_mmhg", "46"),
            ("AVA pre (cm2)", "baseline_ava_cm2", "0.8"),
            ("EF pre %", "baseline_lvef_pct", "55"),
            ("Annular perimeter mm", "annulus_perimeter_mm", "77"),
            ("Ann area [mm2]", "annulus_area_mm2", "462"),
            ("LCA height (mm)", "left_coronary_height_mm", "13"),
            ("STJ (mm)", "sinotubular_junction_mm", "28"),
            ("Contrast volume (mL)", "contrast_ml", "90"),
            ("PPM new 30 d", "new_pacemaker_30d", "no"),
            ("MPG discharge (mmHg)", "post_mean_gradient_mmhg", "9"),
        ],
        &[
            ("Numéro de cas", "case_id", "A1"),
            ("Date de naissance", "birth_date", "1941-03-02"),
            ("Sexe", "sex", "femme"),
            ("Taille (cm)", "height_cm", "172"),
            ("Poids (kg)", "weight_kg", "71"),
            ("AVC antécédents", "prior_stroke", "non"),
            ("Créatinine (µmol/l)", "creatinine_umol_l", "97"),
            ("FEVG avant (%)", "baseline_lvef_pct", "55"),
            (
                "Gradient moyen avant (mmHg)",
                "baseline_mean_gradient_mmhg",
                "46",
            ),
            ("Surface de l'anneau (mm²)", "annulus_area_mm2", "462"),
            ("Périmètre de l'anneau (mm)", "annulus_perimeter_mm", "77"),
        ],
        &[
            ("Número de caso", "case_id", "A1"),
            ("Fecha de nacimiento", "birth_date", "1941-03-02"),
            ("Sexo", "sex", "mujer"),
            ("Talla (cm)", "height_cm", "172"),
            ("Peso (kg)", "weight_kg", "71"),
            ("FEVI basal (%)", "baseline_lvef_pct", "55"),
            (
                "Gradiente medio basal (mmHg)",
                "baseline_mean_gradient_mmhg",
                "46",
            ),
            ("Área del anillo (mm²)", "annulus_area_mm2", "462"),
            ("Diálisis", "dialysis", "no"),
        ],
    ];
    for set in sets {
        let columns: Vec<(&str, Vec<&str>)> = set
            .iter()
            .map(|(header, _, cell)| (*header, vec![*cell; 6]))
            .collect();
        let columns: Vec<(&str, &[&str])> =
            columns.iter().map(|(h, c)| (*h, c.as_slice())).collect();
        let draft = of_cases(&table(&columns));
        // The reader knows a name of the dictionary in any spelling; the draft has nothing to add.
        let own = ["NYHA class", "Weight kg"];
        let expected: BTreeMap<String, &str> = set
            .iter()
            .filter(|(header, ..)| !own.contains(header))
            .map(|(header, column, _)| ((*header).to_owned(), *column))
            .collect();
        assert_eq!(placed(&draft), expected, "{}", draft.text);
    }
}

#[test]
fn a_header_of_two_columns_is_a_proposal_that_names_both() {
    let draft = of_cases("Case no.;Mean gradient (mmHg)\nA1;46\n");
    assert!(
        !placed(&draft).contains_key("Mean gradient (mmHg)"),
        "{}",
        draft.text
    );
    let line = lines_with(&draft, "Mean gradient")[0];
    assert!(line.starts_with(PROPOSAL), "{line}");
    assert!(
        line.contains("baseline_mean_gradient_mmhg") && line.contains("post_mean_gradient_mmhg"),
        "{line}"
    );
}

#[test]
fn a_word_more_that_is_not_known_makes_a_proposal() {
    let draft = of_cases("Case no.;Annulus area diastole (mm2)\nA1;462\n");
    let line = lines_with(&draft, "diastole")[0];
    assert!(
        line.starts_with(PROPOSAL) && line.contains("not known: diastole"),
        "{line}"
    );
}

#[test]
fn what_cannot_be_placed_is_listed() {
    let draft = of_cases("Case no.;Colour of the ward\nA1;green\n");
    assert_eq!(draft.unplaced, 1);
    assert!(lines_with(&draft, "Colour of the ward")[0].starts_with("# "));
    assert!(
        draft
            .text
            .contains("No header was found for procedure_date")
    );
}

/// 0.9 to 1.3 can be creatinine in mg/dL alone (80 to 115 umol/L), by the usual limits of the dictionary.
#[test]
fn a_unit_is_set_by_values_only_where_they_can_be_no_other_and_is_said() {
    let cells = ["0.9", "1.0", "1.1", "1.2", "1.3"];
    let draft = of_cases(&table(&[("Case no.", &["A1"; 5]), ("Creatinine", &cells)]));
    let line = lines_with(&draft, "\"Creatinine\"")[0];
    assert!(
        line.contains("unit = \"mg/dL\"") && line.contains("# likely: no unit in the header"),
        "{line}"
    );
    // Four values are too few.
    let draft = of_cases(&table(&[
        ("Case no.", &["A1"; 4]),
        ("Creatinine", &cells[..4]),
    ]));
    assert!(lines_with(&draft, "\"Creatinine\"")[0].starts_with(PROPOSAL));
    // Two units in one column, as after a change of laboratory.
    let mixed = ["0.9", "1.0", "1.1", "97", "101", "88"];
    let draft = of_cases(&table(&[("Case no.", &["A1"; 6]), ("Creatinine", &mixed)]));
    let line = lines_with(&draft, "\"Creatinine\"")[0];
    assert!(!line.contains("unit ="), "{line}");
    assert!(line.contains("3 of 6 values are usual in umol/L"), "{line}");
}

#[test]
fn a_unit_of_the_header_that_the_values_deny_is_a_proposal() {
    let cells = ["88", "92", "101", "97", "110"];
    let draft = of_cases(&table(&[
        ("Case no.", &["A1"; 5]),
        ("Creatinine (mg/dL)", &cells),
    ]));
    let line = lines_with(&draft, "\"Creatinine")[0];
    assert!(
        line.starts_with(PROPOSAL) && line.contains("hardly a value is usual in mg/dL"),
        "{line}"
    );
}

#[test]
fn a_unit_of_another_kind_is_no_unit_of_the_column() {
    let draft = of_cases("Case no.;Annulus area (mmHg)\nA1;46\n");
    assert!(!placed(&draft).contains_key("Annulus area (mmHg)"));
}

fn dates(cells: &[&str]) -> (Option<String>, Draft) {
    let ids = vec!["A1"; cells.len()];
    let draft = of_cases(&table(&[("Case no.", &ids), ("Procedure date", cells)]));
    let format = site(&draft).dialect.date_format;
    (format.map(|format| format.pattern().to_owned()), draft)
}

#[test]
fn dates_are_set_only_where_they_can_be_read_in_one_way() {
    assert_eq!(
        dates(&["03.04.2031", "25.04.2031"]).0.as_deref(),
        Some("DD.MM.YYYY")
    );
    assert_eq!(
        dates(&["04/25/2031", "04/03/2031"]).0.as_deref(),
        Some("MM/DD/YYYY")
    );
    assert_eq!(
        dates(&["3.4.2031", "25.4.2031"]).0.as_deref(),
        Some("D.M.YYYY")
    );
    assert_eq!(dates(&["20310403"]).0.as_deref(), Some("YYYYMMDD"));
    let (none, draft) = dates(&["03.04.2031", "05.06.2031"]);
    assert_eq!(none, None);
    assert!(draft.text.contains("ambiguous"), "{}", draft.text);
    assert_eq!(lines_with(&draft, "#? date_format").len(), 2);
    let (none, draft) = dates(&["25.04.2031", "04/25/2031"]);
    assert_eq!(none, None);
    assert!(
        draft.text.contains("not all written in one way"),
        "{}",
        draft.text
    );
    let (none, draft) = dates(&["25.04.31"]);
    assert_eq!(none, None);
    assert!(draft.text.contains("year of two digits"), "{}", draft.text);
    assert_eq!(dates(&["2031-04-03"]).0, None);
}

#[test]
fn the_decimal_mark_is_set_where_all_numbers_show_one() {
    use valvefolio::input::DecimalMark;
    let mark = |cells: &[&str]| {
        let ids = vec!["A1"; cells.len()];
        let text = table(&[("Case no.", &ids), ("Haemoglobin (g/dL)", cells)]);
        site(&of_cases(&text)).dialect.decimal_mark
    };
    assert_eq!(mark(&["12,5", "11,9"]), Some(DecimalMark::Comma));
    assert_eq!(mark(&["12.5", "11.9"]), Some(DecimalMark::Point));
    assert_eq!(mark(&["12.5", "11,9"]), None);
    assert_eq!(mark(&["12", "11"]), None);
}

#[test]
fn words_of_cells_go_where_they_mean_one_thing() {
    let text = table(&[
        ("Fallnummer", &["A1", "A2", "A3", "A4"]),
        ("Schlaganfall anamnestisch", &["ja", "nein", "ja", "k. A."]),
        (
            "Vaskuläre Komplikation",
            &["nein", "gering", "nein", "nein"],
        ),
        (
            "Mitralinsuffizienz prä",
            &["leicht", "2+", "Spur", "leicht"],
        ),
        ("Todesursache", &["unbekannt", "kardiovaskulär", "", ""]),
    ]);
    let draft = of_cases(&text);
    let dialect = site(&draft).dialect;
    let everywhere: BTreeMap<&str, &str> = dialect
        .words
        .iter()
        .map(|word| (&*word.written, &*word.means))
        .collect();
    assert_eq!(everywhere.get("ja"), Some(&"yes"));
    // "nein" is a no here and a none there.
    assert_eq!(everywhere.get("nein"), None);
    assert!(
        draft
            .text
            .contains("\"Vaskuläre Komplikation\".words.\"nein\" = \"none\"")
    );
    assert!(
        draft
            .text
            .contains("\"Schlaganfall anamnestisch\".words.\"nein\" = \"no\"")
    );
    assert_eq!(dialect.blank_words, ["k. A."]);
    assert_eq!(everywhere.get("unbekannt"), Some(&"unknown"));
    let plus = lines_with(&draft, "\"2+\"");
    assert_eq!(plus.len(), 1);
    assert!(
        plus[0].starts_with(PROPOSAL) && plus[0].contains("more than one way"),
        "{}",
        plus[0]
    );
}

#[test]
fn codes_and_crosses_are_not_taken_for_yes_and_no() {
    let text = table(&[
        ("Case no.", &["A1", "A2", "A3"]),
        ("Dialysis", &["1", "2", "2"]),
        ("Tamponade", &["x", "", ""]),
        ("Sex", &["1", "2", "1"]),
    ]);
    let draft = of_cases(&text);
    let rules = placed(&draft);
    assert!(
        !rules.contains_key("Dialysis") && !rules.contains_key("Sex"),
        "{}",
        draft.text
    );
    assert!(lines_with(&draft, "\"Dialysis\"")[0].contains("code book"));
    assert!(lines_with(&draft, "\"Tamponade\".words")[0].starts_with(PROPOSAL));
}

#[test]
fn a_name_of_the_dictionary_needs_no_line_unless_its_cells_deny_it() {
    let text = "case_id;procedure_date;sex\nA1;2031-04-03;male\n";
    let draft = of_cases(text);
    assert!(site(&draft).dialect.headers.is_empty());
    assert!(
        draft
            .text
            .contains("3 of the headers are names of columns already")
    );
    let cells = ["0.9", "1.0", "1.1", "1.2", "1.3"];
    let draft = of_cases(&table(&[
        ("case_id", &["A1"; 5]),
        ("creatinine_umol_l", &cells),
    ]));
    let line = lines_with(&draft, "\"creatinine_umol_l\"")[0];
    assert!(
        line.starts_with(PROPOSAL) && line.contains("can only be mg/dL"),
        "{line}"
    );
}

#[test]
fn the_encoding_is_proposed_with_a_header_to_look_at() {
    let text = "Fallnummer;Größe (cm)\r\nA1;172\r\n";
    let (bytes, ..) = encoding_rs::WINDOWS_1252.encode(text);
    let draft = drafted("cases", bytes.into_owned());
    assert_eq!(site(&draft).encoding, Some(encoding_rs::WINDOWS_1252));
    assert!(lines_with(&draft, "encoding =")[0].contains("likely"));
    assert_eq!(placed(&draft)["Größe (cm)"], "height_cm");
    assert_eq!(
        site(&drafted("cases", text)).encoding,
        None,
        "UTF-8 needs none"
    );
}

#[test]
fn what_is_about_a_person_is_not_repeated() {
    let text = table(&[
        ("Case no.", &["A1", "A2"]),
        ("Patient label", &["Label-of-one", "Label-of-two"]),
        ("DOB", &["1941-03-02", "1939-12-24"]),
        ("Notes", &["free words", "more words"]),
    ]);
    let text = of_cases(&text).text;
    for cell in ["Label-of-one", "1941", "1939", "free words"] {
        assert!(!text.contains(cell), "{cell} in\n{text}");
    }
}

/// Headers and cells of every kind, wild ones among them.
fn any_table() -> impl Strategy<Value = Vec<Vec<String>>> {
    let cell = prop_oneof![
        Just(String::new()),
        prop::sample::select(
            &[
                "ja",
                "nein",
                "1+",
                "2",
                "x",
                "k. A.",
                "schwer",
                "4,85",
                "485",
                "03.04.2031",
                "unbekannt",
                "m",
                "III",
                "\"",
                "a\\b",
                "#?"
            ][..]
        )
        .prop_map(str::to_owned),
        "\\PC{0,6}",
    ];
    let header = prop_oneof![
        prop::sample::select(
            &[
                "Fallnummer",
                "Annulus area",
                "Creatinine",
                "Dialysis",
                "Sex",
                "Vmax",
                "Mean gradient pre",
                "MI",
                "sex",
                "case_id",
                "Blutung",
                "Todesursache",
                "Größe (m)"
            ][..]
        )
        .prop_map(str::to_owned),
        "[\\PC\n\t\"\\\\]{0,12}",
    ];
    (1..7_usize).prop_flat_map(move |width| {
        let head = prop::collection::vec(header.clone(), width);
        let rows = prop::collection::vec(prop::collection::vec(cell.clone(), width), 0..8);
        (head, rows).prop_map(|(head, rows)| std::iter::once(head).chain(rows).collect())
    })
}

proptest! {
    /// Whatever the export: the reader takes the draft as it is printed, and each unit set is said.
    #[test]
    fn prop_the_draft_is_a_site_file(table in any_table()) {
        let mut writer = csv::WriterBuilder::new().delimiter(b';').from_writer(Vec::new());
        for row in &table { writer.write_record(row).unwrap(); }
        let source = Source::new("export.csv", writer.into_inner().unwrap());
        for table in ["cases", "followups", "devices"] {
            let Ok(draft) = draft(&[(table, &source)], None) else { continue };
            site(&draft);
            for line in draft.text.lines().filter(|line| line.contains(", unit = \"") && !line.starts_with('#')) {
                prop_assert!(line.contains("stands in the header") || line.contains("can only be"), "{}", line);
            }
            for &line in &draft.proposals {
                prop_assert!(draft.text.lines().nth(line - 1).unwrap().starts_with(PROPOSAL));
            }
        }
    }
}

/// Two systems: cases with a decimal comma, days first, in Windows-1252; visits with a point, months first, in UTF-8.
fn of_two_systems() -> (Draft, [Source; 2]) {
    let cases = table(&[
        ("Case no.", &["A1", "A2"]),
        ("Procedure date", &["03.04.2031", "25.04.2031"]),
        ("Weight (kg) für", &["70,5", "80,5"]),
    ]);
    let cases = encoding_rs::WINDOWS_1252.encode(&cases).0.into_owned();
    let visits =
        "Case no.,Visit date,LVEF (%),Note\nA1,05/25/2031,55.5,für\nA2,05/06/2031,60.5,x\n";
    let sources = [
        Source::new("cases.csv", cases),
        Source::new("visits.csv", visits),
    ];
    let draft = draft(&[("cases", &sources[0]), ("followups", &sources[1])], None).expect("tables");
    (draft, sources)
}

#[test]
fn tables_of_two_systems_are_each_read_as_it_is_written() {
    let (draft, [cases, visits]) = of_two_systems();
    let site = site(&draft);
    assert!(site.dialect.date_format.is_none(), "{}", draft.text);
    let inputs = valvefolio::input::read(&[cases], Some(&visits), None, &site.read_options(None))
        .expect("tables");
    let day = |text: &str| text.parse::<jiff::civil::Date>().expect("a day");
    let records = inputs.records();
    let case = &records[0];
    assert_eq!(case.procedure_date, day("2031-04-03"), "{}", draft.text);
    // 25 May in the one, and 6 May in the other: month first in this table alone.
    assert_eq!(case.visits[0].date, day("2031-05-25"), "{}", draft.text);
    assert_eq!(records[1].visits[0].date, day("2031-05-06"));
    assert_eq!(case.visits[0].cells.lvef_pct, Some(55.5));
    let read: Vec<(&str, &str)> = inputs
        .files
        .iter()
        .map(|file| (file.encoding, file.decimal_mark.word()))
        .collect();
    assert_eq!(read[0], ("windows-1252", "comma"), "{}", draft.text);
    assert_eq!(read[1], ("UTF-8", "point"), "{}", draft.text);
}

#[test]
fn what_no_export_can_say_stands_as_remarks_that_can_be_used() {
    let draft = of_cases(&table(&[("Case no.", &["A1"]), ("Weight (kg)", &["70"])]));
    let at = draft.text.find("# [centre]").expect("the centre");
    let (before, remarks) = draft.text.split_at(at);
    assert!(before.contains("What no export can say"));
    assert!(site(&draft).centre.name.is_none(), "nothing is made up");
    // The remarks without their marks are a site file that changes nothing but the names that are filled in.
    let used: String = remarks
        .lines()
        .map(|line| line.strip_prefix("# ").unwrap_or(line).to_owned() + "\n")
        .collect();
    let used = used.replacen("name = \"\"", "name = \"Ours\"", 1);
    let read = Site::read(&Source::new("used.toml", used.clone()))
        .unwrap_or_else(|error| panic!("{error}\n{used}"));
    assert_eq!(read.centre.name.as_deref(), Some("Ours"));
    assert_eq!(read.settings, valvefolio::settings::Settings::default());
    for key in [
        "first",
        "annual",
        "lost_after_days",
        "paper",
        "bsa",
        "contact",
    ] {
        assert!(remarks.contains(&format!("# {key} = ")), "{key}");
    }
}
