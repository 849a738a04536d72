//! Worked examples: published formulas, coefficients and thresholds, worked by hand (`tests/independent/by_hand.csv`
//! names the source of each), run through the reader and the assessment as a user's file would be.

use std::collections::BTreeMap;

use jiff::civil::{Date, date};
use valvefolio::date::plus_days;
use valvefolio::explain::plain;
use valvefolio::input::{ReadOptions, Source, read};
use valvefolio::record::Choice as _;
use valvefolio::run::assess_all;
use valvefolio::settings::Settings;

#[derive(Debug, serde::Deserialize)]
struct Worked {
    result: String,
    inputs: String,
    expected: String,
    tolerance: Option<f64>,
    source: String,
}

type Row = BTreeMap<String, String>;

fn table(rows: &[Row]) -> Vec<u8> {
    let columns: std::collections::BTreeSet<&String> =
        rows.iter().flat_map(BTreeMap::keys).collect();
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer
        .write_record(columns.iter().map(|column| column.as_str()))
        .expect("in memory");
    for row in rows {
        writer
            .write_record(
                columns
                    .iter()
                    .map(|column| row.get(*column).map_or("", String::as_str)),
            )
            .expect("in memory");
    }
    writer.into_inner().expect("in memory")
}

/// The files that the inputs of one example stand for.
struct Files {
    cases: Vec<u8>,
    followups: Option<Vec<u8>>,
    devices: Option<Vec<u8>>,
    as_of: Date,
}

fn files(inputs: &str) -> Files {
    let mut case = Row::from([
        ("case_id".to_owned(), "H1".to_owned()),
        ("procedure_date".to_owned(), "2024-01-10".to_owned()),
    ]);
    let mut visits: BTreeMap<i64, Row> = BTreeMap::new();
    let mut devices: Vec<(String, Row)> = Vec::new();
    let mut as_of = date(2026, 1, 10);
    for input in inputs.split(';').filter(|input| !input.is_empty()) {
        let (name, value) = input.split_once('=').expect("column=value");
        if name == "as_of" {
            as_of = value.parse().expect("a date");
        } else if let Some(rest) = name.strip_prefix("visit[") {
            let (day, column) = rest.split_once("].").expect("visit[DAY].column");
            let visit = visits.entry(day.parse().expect("a day")).or_default();
            visit.insert(column.to_owned(), value.to_owned());
        } else if let Some((id, column)) = name
            .strip_prefix("device.")
            .map(|column| ("D1", column))
            .or_else(|| name.strip_prefix("device[")?.split_once("]."))
        {
            if !devices.iter().any(|(known, _)| known == id) {
                let row = [
                    ("device_id", id),
                    ("label", "demo"),
                    ("mechanism", "balloon_expandable"),
                    ("labelled_size_mm", "26"),
                    ("sized_by", "area"),
                ];
                let row = row.map(|(column, value)| (column.to_owned(), value.to_owned()));
                devices.push((id.to_owned(), Row::from(row)));
            }
            let (_, row) = devices
                .iter_mut()
                .find(|(known, _)| known == id)
                .expect("just added");
            row.insert(column.to_owned(), value.to_owned());
        } else {
            case.insert(name.to_owned(), value.to_owned());
        }
    }
    if !devices.is_empty() {
        case.entry("device_id".to_owned())
            .or_insert_with(|| "D1".to_owned());
    }
    let procedure: Date = case["procedure_date"].parse().expect("a date");
    let visits: Vec<Row> = visits
        .into_iter()
        .map(|(day, mut visit)| {
            let on = plus_days(procedure, day).expect("inside the calendar");
            visit.insert("case_id".to_owned(), case["case_id"].clone());
            visit.insert("visit_date".to_owned(), on.to_string());
            visit
        })
        .collect();
    let devices: Vec<Row> = devices.into_iter().map(|(_, row)| row).collect();
    Files {
        cases: table(&[case]),
        followups: (!visits.is_empty()).then(|| table(&visits)),
        devices: (!devices.is_empty()).then(|| table(&devices)),
        as_of,
    }
}

fn answer(worked: &Worked) -> String {
    let files = files(&worked.inputs);
    let followups = files
        .followups
        .map(|bytes| Source::new("followups.csv", bytes));
    let devices = files.devices.map(|bytes| Source::new("devices.csv", bytes));
    let inputs = read(
        &[Source::new("cases.csv", files.cases)],
        followups.as_ref(),
        devices.as_ref(),
        &ReadOptions::default(),
    )
    .expect("a readable file");
    let work = assess_all(inputs, Settings::default(), files.as_of);
    let [(_, assessment)] = &work.all_assessed()[..] else {
        return format!("withheld: {:?}", work.withheld);
    };
    match worked.result.split_once(':') {
        Some(("flags", code)) => {
            let raised = assessment.flags.iter().any(|flag| flag.word() == code);
            if raised { "yes" } else { "no" }.to_owned()
        }
        _ if worked.result == "case_id" => assessment.case_id.to_string(),
        _ if worked.result == "fragile" => {
            let mut names: Vec<&str> = assessment
                .fragile
                .iter()
                .map(|fragile| fragile.result)
                .collect();
            names.dedup();
            names.join(";")
        }
        _ => plain(assessment.value(&worked.result)),
    }
}

fn agrees(worked: &Worked, answer: &str) -> bool {
    match (
        worked.tolerance,
        answer.parse::<f64>(),
        worked.expected.parse::<f64>(),
    ) {
        (Some(tolerance), Ok(answer), Ok(expected)) => (answer - expected).abs() <= tolerance,
        _ => answer == worked.expected,
    }
}

fn examples() -> Vec<Worked> {
    csv::Reader::from_path("tests/independent/by_hand.csv")
        .expect("the worked examples")
        .deserialize()
        .collect::<Result<_, _>>()
        .expect("well formed")
}

#[test]
fn every_worked_example_comes_out() {
    let examples = examples();
    assert!(examples.len() > 1000, "the file was cut short");
    let wrong: Vec<String> = examples
        .iter()
        .filter_map(|worked| {
            let answer = answer(worked);
            (!agrees(worked, &answer)).then(|| {
                format!(
                    "{} with {}: expected “{}” ({}), got “{answer}”",
                    worked.result, worked.inputs, worked.expected, worked.source
                )
            })
        })
        .collect();
    assert!(
        wrong.is_empty(),
        "{} of {}:\n{}",
        wrong.len(),
        examples.len(),
        wrong.join("\n")
    );
}

#[test]
fn every_result_of_the_contract_has_a_worked_example() {
    let examples = examples();
    // These three lists are checked in tests/definitions.rs; no other reading of them exists.
    let lists = ["flags", "in_doubt", "missing"];
    for column in valvefolio::dictionary::RESULTS.iter() {
        let name = column.name.as_str();
        let has = examples.iter().any(|worked| worked.result == name);
        assert!(has || lists.contains(&name), "{name} has no outside check");
    }
    for flag in valvefolio::assess::Flag::ALL {
        let name = format!("flags:{}", flag.word());
        assert!(
            examples.iter().any(|worked| worked.result == name),
            "{name} has no outside check"
        );
    }
}
