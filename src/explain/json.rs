//! Results with their traces as JSON.

use serde_json::{Map, Value, json};

use super::{Identity, OLDER, Origin, Teller, Told, Trace, traces};
use crate::assess::Assessment;
use crate::assess::definitions::DEFINITIONS;
use crate::record::{CaseRecord, Catalogue, Choice, Shown};
use crate::sources::source_of;

/// A value as JSON; unknown is null.
pub fn shown_json(value: Option<Shown<'_>>) -> Value {
    match value {
        None => Value::Null,
        Some(Shown::Number(number)) => json!(number),
        Some(Shown::Integer(number)) => json!(number),
        Some(Shown::YesNo(yes)) => json!(yes),
        Some(Shown::Date(date)) => json!(date.to_string()),
        Some(Shown::Word(word)) => json!(word),
        Some(Shown::Text(text)) => json!(text),
    }
}

/// How every result is defined, once for all cases: title, unit, formula and source by name.
pub fn definitions_json() -> Value {
    DEFINITIONS
        .iter()
        .map(|definition| {
            let column = super::result_column(definition.name);
            let source = source_of(&column.source);
            let about = json!({
                "title": definition.title,
                "unit": column.unit,
                "formula": definition.formula,
                "source": source.map(|source| source.citation),
                "source_checked": source.map(|source| source.standing.words()),
            });
            (definition.name.to_owned(), about)
        })
        .collect::<Map<_, _>>()
        .into()
}

/// What may be told of a value, as JSON.
fn told_json(told: Told<'_>) -> Value {
    match told {
        Told::Value(value) => shown_json(Some(value)),
        Told::Days(days) => json!(days),
        Told::Older => json!(OLDER),
        Told::Nothing => Value::Null,
    }
}

/// One value with its inputs, each as name, value, unit and where it came from; and what is missing or in doubt.
fn trace_json(trace: &Trace<'_>, teller: &Teller) -> Value {
    let mut object = Map::new();
    let value = told_json(teller.tell(trace.definition.name, trace.value));
    object.insert("value".into(), value);
    let inputs: Vec<Value> = trace
        .inputs
        .iter()
        .map(|input| {
            let from = match input.origin {
                Origin::Visit(date) => format!("visit of {}", teller.day(date)),
                _ => input.origin.words(),
            };
            json!([
                input.name,
                told_json(teller.tell(input.name, input.value)),
                input.unit,
                from
            ])
        })
        .collect();
    object.insert("inputs".into(), Value::Array(inputs));
    let missing: Vec<&str> = trace.missing().map(|input| input.name).collect();
    if !missing.is_empty() {
        object.insert("missing".into(), json!(missing));
    }
    if trace.in_doubt {
        object.insert("in_doubt".into(), json!(true));
    }
    Value::Object(object)
}

/// Every result of one case with its trace, and the lists that follow from them; a case that stands as a number says
/// nothing of who it is.
pub fn case_json(
    record: &CaseRecord,
    assessment: &Assessment,
    catalogue: &Catalogue,
    identity: Identity,
) -> Value {
    let teller = Teller::new(
        identity,
        record.procedure_date,
        assessment.value("age_years"),
    );
    let results: Map<String, Value> = traces(record, assessment, catalogue)
        .map(|trace| {
            (
                trace.definition.name.to_owned(),
                trace_json(&trace, &teller),
            )
        })
        .collect();
    let fragile: Vec<Value> = assessment
        .fragile
        .iter()
        .map(|fragile| {
            json!({
                "result": fragile.result,
                "input": fragile.input,
                "value": fragile.value,
                "moved_to": fragile.moved_to,
                "from": fragile.from,
                "to": fragile.to,
            })
        })
        .collect();
    let checks: Vec<Value> = assessment
        .failed_checks
        .iter()
        .map(|check| {
            json!({
                "says": check.says,
                "columns": check.columns,
                "visit": check.visit.map(|visit| teller.day(assessment.known.visits[visit].date)),
            })
        })
        .collect();
    let composite = |parts: &[crate::assess::Part]| -> Value {
        parts
            .iter()
            .map(|part| (part.name.to_owned(), json!(part.holds)))
            .collect::<Map<_, _>>()
            .into()
    };
    let (case_id, as_of) = match identity {
        Identity::Named => (
            json!(&*assessment.case_id),
            json!(assessment.known.as_of.to_string()),
        ),
        Identity::Numbered(number) => (json!(number), Value::Null),
    };
    json!({
        "case_id": case_id,
        "as_of": as_of,
        "results": results,
        "parts": {
            "technical_success": composite(&assessment.composites.technical_success),
            "device_success": composite(&assessment.composites.device_success),
            "early_safety": composite(&assessment.composites.early_safety),
            "clinical_efficacy_1y": composite(&assessment.composites.clinical_efficacy_1y),
        },
        "flags": assessment.flags.iter().map(|flag| flag.word()).collect::<Vec<_>>(),
        "fragile": fragile,
        "failed_checks": checks,
        "missing": &assessment.missing,
    })
}
