//! The outside check of each result: an example worked by hand from the source, as the tests run it.

use std::sync::LazyLock;

use serde::Deserialize;

/// One worked example.
#[derive(Debug, Deserialize)]
struct Worked {
    result: String,
    inputs: String,
    expected: String,
    source: String,
}

static WORKED: LazyLock<Vec<Worked>> = LazyLock::new(|| {
    csv::Reader::from_reader(include_str!("../../tests/independent/by_hand.csv").as_bytes())
        .deserialize()
        .collect::<Result<_, _>>()
        .expect("the worked examples are well formed; tests/worked.rs runs all of them")
});

/// The first worked example of a result that has a known answer, in one line.
pub fn outside_check(result: &str) -> Option<String> {
    let worked = WORKED
        .iter()
        .find(|worked| worked.result == result && !worked.expected.is_empty())?;
    Some(format!(
        "with {} it is {} ({})",
        worked.inputs.replace(';', ", "),
        worked.expected,
        worked.source
    ))
}
