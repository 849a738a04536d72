//! results.csv, results.json and explain tell the same of every case.

use serde_json::Value;

use super::hard::cohort;
use super::support::{csv_rows, report, run};
use super::traces::{inputs, value};

/// The places of a list; none where there is none.
fn places(list: &Value) -> Vec<usize> {
    let list = list.as_array().map_or(&[][..], Vec::as_slice);
    let place = |value: &Value| usize::try_from(value.as_u64()?).ok();
    list.iter()
        .map(|value| place(value).expect("a place"))
        .collect()
}

/// The words of a list; none where there is none.
fn words(list: &Value) -> Vec<&str> {
    let list = list.as_array().map_or(&[][..], Vec::as_slice);
    list.iter()
        .map(|word| word.as_str().expect("a word"))
        .collect()
}

fn lists(case: &Value, name: &str) -> Vec<String> {
    let list = case[name].as_array().expect("a list");
    let word = |value: &Value| value.as_str().expect("a word").to_owned();
    list.iter().map(word).collect()
}

/// The results of a case as they stand in its line, one after the other.
fn written(line: &str) -> Vec<&str> {
    let (_, results) = line.split_once("\"results\":[").expect("the results");
    let (results, _) = results
        .split_once("],\"visits\":")
        .expect("the end of the results");
    let mut quoted = false;
    results
        .split(|character| {
            quoted ^= character == '"';
            character == ',' && !quoted
        })
        .collect()
}

/// At most six significant digits, as `%.6g` of C writes a number that is neither huge nor tiny.
fn six_digits(cell: &str) -> String {
    let Ok(number) = cell.parse::<f64>() else {
        return cell.replace('_', " ");
    };
    if number == 0.0 {
        return "0".to_owned();
    }
    let scientific = format!("{number:.5e}");
    let rounded: f64 = scientific.parse().expect("a number");
    rounded.to_string()
}

/// An input of results.json in the words of `explain`.
fn input_as_explained(name: &str, value: &Value, unit: &str, from: &str) -> String {
    let value = match value {
        Value::Null => "not known".to_owned(),
        Value::Bool(yes) => if *yes { "yes" } else { "no" }.to_owned(),
        Value::Number(number) => six_digits(&number.to_string()),
        // Words are told apart from ids and dates by the dictionary.
        Value::String(text) if is_word(name) => text.replace('_', " "),
        Value::String(text) => text.clone(),
        other => panic!("{other}"),
    };
    let unit = match unit {
        "" => String::new(),
        unit => format!(" {unit}"),
    };
    format!("{name} = {value}{unit} ({from})")
}

/// Whether what stands under this name is a word of a closed list.
fn is_word(name: &str) -> bool {
    use valvefolio::dictionary::{COLUMNS, RESULTS};
    let mut columns = COLUMNS.iter().filter(|column| column.kind == "choice");
    let mut results = RESULTS.iter().filter(|result| !result.choices.is_empty());
    columns.any(|column| column.name == name) || results.any(|result| result.name == name)
}

#[test]
fn csv_json_and_explain_agree_in_every_value() {
    let tables = cohort(60, 3);
    let out = tempfile::tempdir().expect("a folder");
    let arguments = tables.arguments();
    let arguments: Vec<&str> = arguments.iter().map(String::as_str).collect();
    let options = ["--make", "results", "--fail-on", "never"];
    let made = report(&arguments, out.path(), &options);
    assert_eq!(made.code, 0, "{}", made.err);
    let read = |name: &str| std::fs::read(out.path().join(name)).expect("written");
    let rows = csv_rows(&read("results.csv"));
    let text = String::from_utf8(read("results.json")).expect("UTF-8");
    let json: Value = serde_json::from_str(&text).expect("JSON");
    // One case a line, so that a number can be read as it is written.
    let lines: Vec<&str> = text
        .lines()
        .filter(|line| line.starts_with("{\"case\""))
        .collect();
    let cases = json["cases"].as_array().expect("cases");
    let columns = lists(&json["columns"], "results");
    assert_eq!((rows.len(), cases.len(), lines.len()), (60, 60, 60));

    let mut told = 0;
    // A composite is no once a part fails, and yes once none is unknown (VARC-3, Genereux 2021, as the definitions fix it).
    for (row, case) in rows.iter().zip(cases) {
        for (composite, names) in json["columns"]["parts"].as_object().expect("parts") {
            let names = words(names);
            let told = &case["parts"][composite];
            let [fail, unknown] = ["fail", "unknown"].map(|kind| places(&told[kind]));
            assert!(
                fail.iter()
                    .chain(&unknown)
                    .all(|&place| place < names.len())
            );
            let expected = match (fail.is_empty(), unknown.is_empty()) {
                (false, _) => "no",
                (true, false) => "not_assessable",
                (true, true) => "yes",
            };
            assert_eq!(row[composite], expected, "{} {composite}", row["case_id"]);
        }
    }

    for ((row, case), line) in rows.iter().zip(cases).zip(lines) {
        let id = &row["case_id"];
        assert_eq!(&case["case_id"], id);
        let digits = written(line);
        assert_eq!(digits.len(), columns.len());
        for (name, cell) in row {
            let agrees = match name.as_str() {
                "case_id" => true,
                // What a later run tells the cause of a change by stands in results.csv alone.
                "as_of" | "definitions_version" => true,
                hash if hash.ends_with("_hash") => true,
                "flags" | "missing" | "in_doubt" => lists(case, name).join(";") == *cell,
                "fragile" => {
                    let mut list: Vec<&str> = case["fragile"]
                        .as_array()
                        .expect("a list")
                        .iter()
                        .filter_map(|entry| entry["result"].as_str())
                        .collect();
                    list.dedup();
                    list.join(";") == *cell
                }
                _ => match value(&json, case, name) {
                    Value::Null => cell.is_empty(),
                    Value::Number(_) => {
                        told += 1;
                        // The very same number, to the last bit: read as it is written, since the parser rounds.
                        let place = columns.iter().position(|column| column == name);
                        let number = digits[place.expect("a result")].parse().map(f64::to_bits);
                        number.is_ok() && number == cell.parse().map(f64::to_bits)
                    }
                    Value::String(word) => word == cell,
                    other => panic!("{other}"),
                },
            };
            assert!(
                agrees,
                "{id} {name}: csv {cell:?}, json {}",
                value(&json, case, name)
            );
        }
    }
    assert!(told > 1000, "{told} numbers");

    let mut told = 0;
    for (row, case) in rows.iter().zip(cases).step_by(7) {
        let id = row["case_id"].as_str();
        let mut explain = vec!["explain"];
        explain.extend(&arguments);
        explain.extend(["--case", id]);
        let explained = run(explain);
        assert_eq!(explained.code, 0, "{}", explained.err);
        let mut explained_values = 0;
        for block in explained.out.split("\n\n") {
            let mut lines = block.trim().lines();
            let title = lines.next().expect("a title");
            let name = title
                .rsplit_once('(')
                .expect("a name")
                .1
                .trim_end_matches(')');
            let value = lines
                .next()
                .expect("a value")
                .trim()
                .strip_prefix("value")
                .expect("a value");
            let unit = valvefolio::dictionary::RESULTS
                .iter()
                .find(|column| column.name == name)
                .map(|column| column.unit.as_str())
                .expect("a result");
            let value = value
                .trim()
                .strip_suffix(unit)
                .expect("with its unit")
                .trim();
            let expected = match row[name].as_str() {
                "" => "not known".to_owned(),
                cell if name == "next_visit_due" || name.ends_with("_sizes") => cell.to_owned(),
                cell => six_digits(cell),
            };
            assert_eq!(value, expected, "{id} {name}");
            explained_values += 1;
            let explained: Vec<&str> = lines
                .filter_map(|line| line.trim().strip_prefix("input "))
                .map(str::trim)
                .collect();
            let found: Vec<String> = inputs(&json, case, name)
                .iter()
                .map(|input| input_as_explained(input.name, input.value, input.unit, &input.from))
                .collect();
            assert_eq!(explained, found, "{id} {name}");
            told += found.len();
        }
        // Every column but the id, the four lists, and the six that a later run tells the cause of a change by.
        assert_eq!(explained_values, row.len() - 5 - 6);
    }
    assert!(told > 1000, "{told} inputs");
}
