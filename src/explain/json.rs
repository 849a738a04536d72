//! Results with their traces as JSON.
//!
//! Written straight into a text: a case has several hundred values, and a tree of them costs more than all of its
//! results. Keys stand in the order of the alphabet.

use std::fmt::Write as _;
use std::sync::LazyLock;

use serde_json::{Map, Number, Value, json};

use super::reads::{Traced, result_column};
use super::{Identity, OLDER, Origin, Teller, Told, Trace};
use crate::assess::definitions::DEFINITIONS;
use crate::assess::{Assessment, Part};
use crate::record::{CaseRecord, Catalogue, Choice, Shown};
use crate::sources::source_of;

/// How every result is defined, once for all cases: title, unit, formula and source by name.
pub fn definitions_json() -> Value {
    DEFINITIONS
        .iter()
        .map(|definition| {
            let column = result_column(definition.name);
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

/// Positions of the definitions in the order of their names.
static BY_NAME: LazyLock<Vec<usize>> = LazyLock::new(|| {
    let mut by_name: Vec<usize> = (0..DEFINITIONS.len()).collect();
    by_name.sort_by_key(|&position| DEFINITIONS[position].name);
    by_name
});

/// JSON that is being written.
struct Writer {
    text: String,
}

impl Writer {
    /// A word of this program or its dictionary, which needs no escaping (a test looks at all of them).
    fn word(&mut self, word: &str) {
        self.text.push('"');
        self.text.push_str(word);
        self.text.push('"');
    }

    /// A text that may hold anything.
    fn quoted(&mut self, text: &str) {
        self.text.push_str(&Value::from(text).to_string());
    }

    fn number(&mut self, number: f64) {
        match Number::from_f64(number) {
            Some(number) => {
                let _ = write!(self.text, "{number}");
            }
            None => self.text.push_str("null"),
        }
    }

    fn yes(&mut self, yes: bool) {
        self.text.push_str(if yes { "true" } else { "false" });
    }

    fn shown(&mut self, value: Shown<'_>) {
        match value {
            Shown::Number(number) => self.number(number),
            Shown::Integer(number) => {
                let _ = write!(self.text, "{number}");
            }
            Shown::YesNo(yes) => self.yes(yes),
            Shown::Date(date) => {
                let _ = write!(self.text, "\"{date}\"");
            }
            Shown::Word(word) => self.word(word),
            Shown::Text(text) => self.quoted(text),
        }
    }

    /// What may be told of a value; null where nothing may, or it is unknown.
    fn told(&mut self, told: Told<'_>) {
        match told {
            Told::Value(value) => self.shown(value),
            Told::Days(days) => {
                let _ = write!(self.text, "{days}");
            }
            Told::Older => self.word(OLDER),
            Told::Nothing => self.text.push_str("null"),
        }
    }

    /// What stands between brackets, with commas between.
    fn list<T>(
        &mut self,
        [open, close]: [char; 2],
        entries: impl IntoIterator<Item = T>,
        write: impl Fn(&mut Self, T),
    ) {
        self.text.push(open);
        for (place, entry) in entries.into_iter().enumerate() {
            if place > 0 {
                self.text.push(',');
            }
            write(self, entry);
        }
        self.text.push(close);
    }

    fn words<'w>(&mut self, words: impl IntoIterator<Item = &'w str>) {
        self.list(['[', ']'], words, Self::word);
    }

    /// One value with its inputs, each as name, value, unit and where it came from; and what is missing or in doubt.
    fn trace(&mut self, trace: &Trace<'_>, teller: &Teller) {
        self.text.push('{');
        if trace.in_doubt {
            self.text.push_str("\"in_doubt\":true,");
        }
        self.text.push_str("\"inputs\":");
        self.list(['[', ']'], &trace.inputs, |json, input| {
            json.text.push('[');
            json.word(input.name);
            json.text.push(',');
            json.told(teller.tell(input.name, input.value));
            json.text.push(',');
            json.word(input.unit);
            json.text.push(',');
            match input.origin {
                Origin::Case => json.word("cases file"),
                Origin::Result => json.word("computed"),
                Origin::Visit(date) => {
                    let _ = write!(json.text, "\"visit of {}\"", teller.day(date));
                }
                Origin::Device | Origin::AsOf => json.word(&input.origin.words()),
            }
            json.text.push(']');
        });
        let mut missing = trace.missing().map(|input| input.name).peekable();
        if missing.peek().is_some() {
            self.text.push_str(",\"missing\":");
            self.words(missing);
        }
        self.text.push_str(",\"value\":");
        self.told(teller.tell(trace.definition.name, trace.value));
        self.text.push('}');
    }

    /// The parts of a composite, in the order of their names.
    fn parts(&mut self, parts: &[Part]) {
        let mut parts: Vec<&Part> = parts.iter().collect();
        parts.sort_by_key(|part| part.name);
        self.list(['{', '}'], parts, |json, part| {
            json.word(part.name);
            json.text.push(':');
            match part.holds {
                Some(holds) => json.yes(holds),
                None => json.text.push_str("null"),
            }
        });
    }
}

/// Every result of one case with its trace, and the lists that follow from them; a case that stands as a number says
/// nothing of who it is.
pub fn case_json(
    record: &CaseRecord,
    assessment: &Assessment,
    catalogue: &Catalogue,
    identity: Identity,
) -> String {
    let teller = Teller::new(
        identity,
        record.procedure_date,
        assessment.value("age_years"),
    );
    let traced = Traced::new(record, assessment, catalogue);
    let mut json = Writer {
        // Most cases take about this much.
        text: String::with_capacity(24 * 1024),
    };
    match identity {
        Identity::Named => {
            let as_of = assessment.known.as_of;
            let _ = write!(json.text, "{{\"as_of\":\"{as_of}\",\"case_id\":");
            json.quoted(&assessment.case_id);
        }
        Identity::Numbered(number) => {
            let _ = write!(json.text, "{{\"as_of\":null,\"case_id\":{number}");
        }
    }
    json.text.push_str(",\"failed_checks\":");
    json.list(['[', ']'], &assessment.failed_checks, |json, check| {
        json.text.push_str("{\"columns\":");
        json.words(check.columns.iter().copied());
        json.text.push_str(",\"says\":");
        json.quoted(check.says);
        json.text.push_str(",\"visit\":");
        match check.visit {
            Some(visit) => json.word(&teller.day(assessment.known.visits[visit].date)),
            None => json.text.push_str("null"),
        }
        json.text.push('}');
    });
    json.text.push_str(",\"flags\":");
    json.words(assessment.flags.iter().map(|flag| flag.word()));
    json.text.push_str(",\"fragile\":");
    json.list(['[', ']'], &assessment.fragile, |json, fragile| {
        json.text.push_str("{\"from\":");
        json.word(fragile.from);
        json.text.push_str(",\"input\":");
        json.word(fragile.input);
        json.text.push_str(",\"moved_to\":");
        json.number(fragile.moved_to);
        json.text.push_str(",\"result\":");
        json.word(fragile.result);
        json.text.push_str(",\"to\":");
        json.word(fragile.to);
        json.text.push_str(",\"value\":");
        json.number(fragile.value);
        json.text.push('}');
    });
    json.text.push_str(",\"missing\":");
    json.words(assessment.missing.iter().copied());
    json.text.push_str(",\"parts\":{\"clinical_efficacy_1y\":");
    json.parts(&assessment.composites.clinical_efficacy_1y);
    json.text.push_str(",\"device_success\":");
    json.parts(&assessment.composites.device_success);
    json.text.push_str(",\"early_safety\":");
    json.parts(&assessment.composites.early_safety);
    json.text.push_str(",\"technical_success\":");
    json.parts(&assessment.composites.technical_success);
    json.text.push_str("},\"results\":");
    json.list(['{', '}'], BY_NAME.iter(), |json, &position| {
        let trace = traced.trace(position);
        json.word(trace.definition.name);
        json.text.push(':');
        json.trace(&trace, &teller);
    });
    json.text.push('}');
    json.text
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::dictionary::{COLUMNS, RESULTS};

    #[test]
    fn no_word_of_the_dictionary_needs_escaping() {
        let columns = COLUMNS.iter().flat_map(|column| {
            let names = [column.name.as_str(), column.unit.as_str()];
            names.into_iter().chain(column.words())
        });
        let results = RESULTS.iter().flat_map(|result| {
            let names = [result.name.as_str(), result.unit.as_str()];
            names.into_iter().chain(result.choices.split('|'))
        });
        let names = DEFINITIONS.iter().map(|definition| definition.name);
        let flags = crate::assess::Flag::ALL.iter().map(|flag| flag.word());
        for word in columns.chain(results).chain(names).chain(flags) {
            assert_eq!(Value::from(word).to_string(), format!("\"{word}\""));
        }
    }
}
