//! Results with what they rest on as JSON.
//!
//! What is the same for all cases stands once: the definitions with formula, source and what each result reads, and the
//! names of the columns. A case says the rest, its cells and results as rows under those columns, which visits are
//! meant, and of each result that is not known what it lacks. So every cell stands once in its case, however many results
//! read it, and no name stands in every case.
//!
//! Written straight into a text: a case has several hundred values, and a tree of them costs more than all of its
//! results.

use std::collections::BTreeMap;

use serde_json::{Map, Value, json};

use super::reads::{READ_COLUMNS, READS, ReadOf, Traced, result_column};
use super::{Identity, OLDER, Teller, Told};
use crate::assess::definitions::DEFINITIONS;
use crate::assess::{Part, composites};
use crate::record::{Cells, Choice, Look, Shown, push_date, push_number, push_small, push_whole};
use crate::sources::source_of;

/// How every result is defined, once for all cases: title, unit, formula, source by name, and what it reads.
pub fn definitions_json() -> Value {
    DEFINITIONS
        .iter()
        .zip(READS.iter())
        .map(|(definition, reads)| {
            let column = result_column(definition.name);
            let source = source_of(&column.source);
            let [first, second] = [&reads.first, &reads.second]
                .map(|reads| reads.iter().map(|read| read.described()).collect::<Value>());
            let about = json!({
                "title": definition.title,
                "unit": column.unit,
                "formula": definition.formula,
                "reads": first,
                "or_reads": second,
                "source": source.map(|source| source.citation),
                "source_checked": source.map(|source| source.standing.words()),
            });
            (definition.name.to_owned(), about)
        })
        .collect::<Map<_, _>>()
        .into()
}

/// What stands in each row: names of the cells of a case, of its implanted device and of a visit, and of the results; and
/// the parts of each composite.
pub fn columns_json() -> Value {
    let results = DEFINITIONS.iter().map(|definition| definition.name);
    json!({
        "case": READ_COLUMNS.case.names(),
        "device": READ_COLUMNS.device.names(),
        "parts": composites().into_iter().collect::<BTreeMap<_, _>>(),
        "results": results.collect::<Vec<_>>(),
        "visits": READ_COLUMNS.visit.names(),
    })
}

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
        // Nearly every text is plain, which is told fastest from all of its bytes.
        let plain = text.bytes().fold(true, |plain, byte| {
            plain & (byte >= 0x20) & !matches!(byte, b'"' | b'\\')
        });
        if plain {
            self.word(text);
        } else {
            self.text.push_str(&Value::from(text).to_string());
        }
    }

    /// A number: JSON has none that is not finite.
    fn number(&mut self, number: f64) {
        if number.is_finite() {
            push_number(number, &mut self.text);
        } else {
            self.text.push_str("null");
        }
    }

    fn yes(&mut self, yes: bool) {
        self.text.push_str(if yes { "true" } else { "false" });
    }

    #[inline(always)]
    fn shown(&mut self, value: Shown<'_>) {
        match value {
            Shown::Number(number) => self.number(number),
            Shown::Integer(number) => push_whole(number, &mut self.text),
            Shown::YesNo(yes) => self.yes(yes),
            Shown::Date(date) => {
                self.text.push('"');
                push_date(date, &mut self.text);
                self.text.push('"');
            }
            Shown::Word(word) => self.word(word),
            Shown::Text(text) => self.quoted(text),
        }
    }

    /// A value as far as it may be told, which is nearly always as it is.
    fn value(&mut self, teller: &Teller, name: &str, value: Option<Shown<'_>>) {
        match value {
            None => self.text.push_str("null"),
            Some(value) if teller.tells_all() => self.shown(value),
            value => self.told(teller.tell(name, value)),
        }
    }

    /// What may be told of a value; null where nothing may, or it is unknown.
    fn told(&mut self, told: Told<'_>) {
        match told {
            Told::Value(value) => self.shown(value),
            Told::Days(days) => push_whole(days, &mut self.text),
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

    /// A name with what stands behind it.
    fn key(&mut self, name: &str) {
        self.word(name);
        self.text.push(':');
    }

    /// The cells of a row that results read.
    fn cells<T: Cells>(&mut self, read: &ReadOf<T>, cells: &T, teller: &Teller) {
        self.text.push('[');
        if teller.tells_all() {
            cells.each(&mut AsTheyAre { json: self, read });
        } else {
            cells.each(&mut AsFarAsTold {
                json: self,
                read,
                teller,
            });
        }
        // A comma stands behind every cell.
        if self.text.ends_with(',') {
            self.text.pop();
        }
        self.text.push(']');
    }

    /// What each result lacks that is not known: its place among the results, then the places of what is unknown among
    /// what it reads; of a visit's cell that place and the visit.
    fn lacks(&mut self, traced: &Traced<'_>) {
        self.text.push('[');
        let begun = self.text.len();
        for position in 0..DEFINITIONS.len() {
            let mut first = true;
            traced.lacks(position, |place, visit| {
                if first {
                    self.text
                        .push_str(if self.text.len() == begun { "[" } else { ",[" });
                    push_small(position as u64, &mut self.text);
                    first = false;
                }
                self.text.push(',');
                match visit {
                    // Several visits may lack it.
                    Some(visit) => {
                        self.text.push('[');
                        push_small(place as u64, &mut self.text);
                        self.text.push(',');
                        push_small(visit as u64, &mut self.text);
                        self.text.push(']');
                    }
                    None => push_small(place as u64, &mut self.text),
                }
            });
            if !first {
                self.text.push(']');
            }
        }
        self.text.push(']');
    }

    /// The places of the parts of a composite that fail, and of those that are unknown; the others hold.
    fn parts(&mut self, parts: &[Part]) {
        let of = |holds: Option<bool>| {
            let parts = parts.iter().enumerate();
            let places = parts.filter(move |(_, part)| part.holds == holds);
            places.map(|(place, _)| place)
        };
        let kinds = [("fail", of(Some(false))), ("unknown", of(None))];
        let listed = kinds
            .into_iter()
            .filter(|(_, places)| places.clone().next().is_some());
        self.list(['{', '}'], listed, |json, (kind, places)| {
            json.key(kind);
            json.list(['[', ']'], places, |json, place| {
                push_small(place as u64, &mut json.text)
            });
        });
    }
}

/// Writes the cells that are read of a row as they are, a comma behind each.
struct AsTheyAre<'w, T> {
    json: &'w mut Writer,
    read: &'w ReadOf<T>,
}

impl<T: Cells> Look for AsTheyAre<'_, T> {
    // The kind of each column is known where it stands.
    #[inline(always)]
    fn known(&mut self, position: usize, value: Shown<'_>) {
        if !self.read.has(position) {
            return;
        }
        match value {
            Shown::YesNo(true) => self.json.text.push_str("true,"),
            Shown::YesNo(false) => self.json.text.push_str("false,"),
            value => {
                self.json.shown(value);
                self.json.text.push(',');
            }
        }
    }

    #[inline(always)]
    fn unknown(&mut self, position: usize) {
        if self.read.has(position) {
            self.json.text.push_str("null,");
        }
    }
}

/// The same as far as they may be told.
struct AsFarAsTold<'w, T> {
    json: &'w mut Writer,
    read: &'w ReadOf<T>,
    teller: &'w Teller,
}

impl<T: Cells> AsFarAsTold<'_, T> {
    fn cell(&mut self, position: usize, value: Option<Shown<'_>>) {
        if self.read.has(position) {
            let name = T::FIELDS[position].name;
            self.json.value(self.teller, name, value);
            self.json.text.push(',');
        }
    }
}

impl<T: Cells> Look for AsFarAsTold<'_, T> {
    fn known(&mut self, position: usize, value: Shown<'_>) {
        self.cell(position, Some(value));
    }

    fn unknown(&mut self, position: usize) {
        self.cell(position, None);
    }
}

/// Every result of one case with the cells it rests on, and the lists that follow from them; a case that stands as a
/// number says nothing of who it is. `written` gives the digits of the result at a position that is a number, which the
/// caller has written already.
pub fn case_json<'w>(
    traced: &Traced<'_>,
    identity: Identity,
    written: impl Fn(usize) -> &'w str,
) -> String {
    let (record, assessment) = (traced.record(), traced.assessment());
    let teller = Teller::new(
        identity,
        record.procedure_date,
        assessment.results.before.age_years,
    );
    let known = &assessment.known;
    let mut json = Writer {
        // Most cases take about this much.
        text: String::with_capacity(6 * 1024),
    };
    json.text.push_str("{\"case\":");
    json.cells(&READ_COLUMNS.case, &known.cells, &teller);
    json.text.push_str(",\"case_id\":");
    match identity {
        Identity::Named => json.quoted(&assessment.case_id),
        Identity::Numbered(number) => push_whole(number, &mut json.text),
    }
    json.text.push_str(",\"device\":");
    match traced.device() {
        Some(device) => json.cells(&READ_COLUMNS.device, device, &teller),
        None => json.text.push_str("null"),
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
    json.text.push_str(",\"in_doubt\":");
    json.words(assessment.in_doubt.iter().copied());
    json.text.push_str(",\"lacks\":");
    json.lacks(traced);
    json.text.push_str(",\"later_visits\":");
    json.list(['[', ']'], &assessment.course.later, |json, later| {
        push_small(later.visit as u64, &mut json.text);
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
    json.text.push('}');
    for (name, visit) in [
        (",\"performance_visit\":", assessment.performance.visit),
        (",\"reference_visit\":", assessment.course.reference),
    ] {
        json.text.push_str(name);
        match visit {
            Some(visit) => push_small(visit as u64, &mut json.text),
            None => json.text.push_str("null"),
        }
    }
    json.text.push_str(",\"results\":");
    json.list(
        ['[', ']'],
        DEFINITIONS.iter().zip(traced.values()).enumerate(),
        |json, (position, (definition, &value))| match value {
            Some(Shown::Number(number)) if number.is_finite() && teller.tells_all() => {
                json.text.push_str(written(position));
            }
            value => json.value(&teller, definition.name, value),
        },
    );
    json.text.push_str(",\"visits\":");
    json.list(['[', ']'], &known.visits, |json, visit| {
        json.cells(&READ_COLUMNS.visit, &visit.cells, &teller);
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
