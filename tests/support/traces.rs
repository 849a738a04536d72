//! results.json as a reader of it puts a trace together: what the definition says a result reads, found in the case.

#![allow(dead_code, reason = "each test uses the part it needs")]

use serde_json::{Value, json};

/// One input of a result.
pub struct Input<'a> {
    /// Column or result.
    pub name: &'a str,
    /// Its value; null where it is unknown.
    pub value: &'a Value,
    /// Its unit; empty where it has none.
    pub unit: &'a str,
    /// Where it came from, in the words of `explain`.
    pub from: String,
    /// How the list of what is lacking tells of it: by its place among what the result reads, with the visit's behind it.
    pub told_as: Value,
}

fn words(value: &Value) -> Vec<&str> {
    let list = value.as_array().expect("a list");
    list.iter()
        .map(|word| word.as_str().expect("a word"))
        .collect()
}

/// What stands under a name in a row of these columns (`case`, `device`, `visits`, `results`); null where there is no row.
pub fn under<'a>(written: &'a Value, columns: &str, row: &'a Value, name: &str) -> &'a Value {
    let names = words(&written["columns"][columns]);
    let place = names.iter().position(|column| *column == name);
    let place = place.unwrap_or_else(|| panic!("no column {name} of {columns}"));
    assert!(row.is_null() || row.as_array().is_some_and(|row| row.len() == names.len()));
    &row[place]
}

/// The value of a result of a case.
pub fn value<'a>(written: &'a Value, case: &'a Value, result: &str) -> &'a Value {
    under(written, "results", &case["results"], result)
}

/// The inputs of one result of one case, in the order of its definition.
pub fn inputs<'a>(written: &'a Value, case: &'a Value, result: &str) -> Vec<Input<'a>> {
    let definition = &written["definitions"][result];
    let mut inputs = Vec::new();
    let [first_way, second_way] =
        ["reads", "or_reads"].map(|way| definition[way].as_array().expect("a list"));
    for (place, read) in first_way.iter().enumerate() {
        add(written, case, place, &words(read), &mut inputs);
    }
    // What counts where the first way is closed: as far as it is known.
    let first = inputs.len();
    for (place, read) in (first_way.len()..).zip(second_way) {
        add(written, case, place, &words(read), &mut inputs);
    }
    let mut at = 0;
    inputs.retain(|input| {
        at += 1;
        at <= first || !input.value.is_null()
    });
    inputs
}

fn add<'a>(
    written: &'a Value,
    case: &'a Value,
    place: usize,
    read: &[&'a str],
    inputs: &mut Vec<Input<'a>>,
) {
    let (&[name, unit, of], stands_in) = read.split_first_chunk().expect("name, unit, of what");
    let cell = |of: &str, name: &str| under(written, of, &case[of], name);
    let input = |name: &'a str, value: &'a Value, from: &str| Input {
        name,
        value,
        unit,
        from: from.to_owned(),
        told_as: json!(place),
    };
    let visits: Vec<u64> = match of {
        "case" => return inputs.push(input(name, cell("case", name), "cases file")),
        "device" => return inputs.push(input(name, cell("device", name), "devices file")),
        "results" => return inputs.push(input(name, cell("results", name), "computed")),
        "as_of" => return inputs.push(input(name, &written["as_of"], "as-of date")),
        "performance_visit" => match (case["performance_visit"].as_u64(), stands_in) {
            (Some(visit), _) => vec![visit],
            (None, [name]) => return inputs.push(input(name, cell("case", name), "cases file")),
            (None, _) => Vec::new(),
        },
        "reference_visit" => case["reference_visit"].as_u64().into_iter().collect(),
        "later_visits" => {
            let later = case["later_visits"].as_array().expect("a list");
            later.iter().filter_map(Value::as_u64).collect()
        }
        "visits" => (0..case["visits"].as_array().expect("a list").len() as u64).collect(),
        other => panic!("{other}"),
    };
    for visit in visits {
        let row = &case["visits"][visit as usize];
        let of_visit = |name| under(written, "visits", row, name);
        let date = of_visit("visit_date").as_str().expect("a date");
        inputs.push(Input {
            told_as: json!([place, visit]),
            ..input(name, of_visit(name), &format!("visit of {date}"))
        });
    }
}
