//! results.json as a reader of it puts a trace together: what the definition says a result reads, found in the case.

#![allow(dead_code, reason = "each test uses the part it needs")]

use serde_json::Value;

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
    /// How the list of missing inputs names it.
    pub called: String,
}

fn words(value: &Value) -> Vec<&str> {
    let list = value.as_array().expect("a list");
    list.iter()
        .map(|word| word.as_str().expect("a word"))
        .collect()
}

/// The inputs of one result of one case, in the order of its definition.
pub fn inputs<'a>(written: &'a Value, case: &'a Value, result: &str) -> Vec<Input<'a>> {
    let definition = &written["definitions"][result];
    let mut inputs = Vec::new();
    for read in definition["reads"].as_array().expect("a list") {
        add(case, &words(read), &mut inputs);
    }
    // What counts where the first way is closed: as far as it is known.
    let first = inputs.len();
    for read in definition["or_reads"].as_array().expect("a list") {
        add(case, &words(read), &mut inputs);
    }
    let mut at = 0;
    inputs.retain(|input| {
        at += 1;
        at <= first || !input.value.is_null()
    });
    inputs
}

fn add<'a>(case: &'a Value, read: &[&'a str], inputs: &mut Vec<Input<'a>>) {
    let (&[name, unit, of], stands_in) = read.split_first_chunk().expect("name, unit, of what");
    let cells = &case["cells"];
    let input = |name: &'a str, value: &'a Value, from: &str| Input {
        name,
        value,
        unit,
        from: from.to_owned(),
        called: name.to_owned(),
    };
    let visits: Vec<u64> = match of {
        "case" => return inputs.push(input(name, &cells["case"][name], "cases file")),
        "device" => return inputs.push(input(name, &cells["device"][name], "devices file")),
        "results" => return inputs.push(input(name, &case["results"][name]["value"], "computed")),
        "as_of" => return inputs.push(input(name, &case["as_of"], "as-of date")),
        "performance_visit" => match (case["performance_visit"].as_u64(), stands_in) {
            (Some(visit), _) => vec![visit],
            (None, [name]) => return inputs.push(input(name, &cells["case"][*name], "cases file")),
            (None, _) => Vec::new(),
        },
        "reference_visit" => case["reference_visit"].as_u64().into_iter().collect(),
        "later_visits" => {
            let later = case["later_visits"].as_array().expect("a list");
            later.iter().filter_map(Value::as_u64).collect()
        }
        "visits" => (0..cells["visits"].as_array().expect("a list").len() as u64).collect(),
        other => panic!("{other}"),
    };
    for visit in visits {
        let row = &cells["visits"][visit as usize];
        let date = row["visit_date"].as_str().expect("a date");
        inputs.push(Input {
            called: format!("visits[{visit}].{name}"),
            ..input(name, &row[name], &format!("visit of {date}"))
        });
    }
}
