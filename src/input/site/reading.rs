//! The parts of the site file that say how the centre's own files are written.

use encoding_rs::Encoding;
use toml::Spanned;
use toml::de::DeValue;

use super::fault::Faults;
use super::keys::{At, Keys, meant, text};
use crate::input::blank::is_blank_word;
use crate::input::cells::yes_no;
use crate::input::date::DateFormat;
use crate::input::dialect::{Dialect, HeaderRule, OfTable, Word};
use crate::input::loose::same_word;
use crate::input::number::DecimalMark;
use crate::input::spec::{Kind, Spec, specs};
use crate::input::units::{conversions_to, same_unit};

/// `[reading]`: date format, decimal mark, words for a blank cell, and below it what is other in one table. The encoding
/// is returned.
pub(super) fn reading(
    mut keys: Keys<'_>,
    dialect: &mut Dialect,
    faults: &mut Faults<'_>,
) -> Option<&'static Encoding> {
    let whole = writing("cases", &mut keys, faults);
    dialect.date_format = whole.date_format;
    dialect.decimal_mark = whole.decimal_mark;
    for file in ["cases", "followups", "devices"] {
        if let Some(mut own) = keys.table(file, faults) {
            dialect.of_table.push(writing(file, &mut own, faults));
            own.finish(faults);
        }
    }
    for word in keys.texts("blank_words", faults) {
        if yes_no(&word.value).is_some() {
            faults.add(
                word.span,
                format!(
                    "{:?} means yes or no and cannot stand for a blank cell",
                    word.value
                ),
            );
        } else {
            dialect.blank_words.push(word.value);
        }
    }
    keys.finish(faults);
    whole.encoding
}

/// Date format, decimal mark and encoding, of all files or of one table's.
fn writing(file: &'static str, keys: &mut Keys<'_>, faults: &mut Faults<'_>) -> OfTable {
    let mut date_format = None;
    if let Some(pattern) = keys.text("date_format", faults) {
        match DateFormat::new(&pattern.value) {
            Ok(format) => date_format = Some(format),
            Err(wanted) => faults.add(
                pattern.span,
                format!("date_format must be such as DD.MM.YYYY: {wanted}"),
            ),
        }
    }
    let marks = [
        (",", DecimalMark::Comma),
        (".", DecimalMark::Point),
        ("comma", DecimalMark::Comma),
        ("point", DecimalMark::Point),
    ];
    OfTable {
        file,
        date_format,
        decimal_mark: keys.one_of("decimal_mark", &marks, faults),
        encoding: encoding(keys, faults),
    }
}

fn encoding(keys: &mut Keys<'_>, faults: &mut Faults<'_>) -> Option<&'static Encoding> {
    let name = keys.text("encoding", faults)?;
    let found = Encoding::for_label(name.value.trim().as_bytes());
    if found.is_none() {
        let common = [
            "utf-8",
            "windows-1250",
            "windows-1251",
            "windows-1252",
            "iso-8859-2",
            "iso-8859-15",
            "macintosh",
            "utf-16le",
            "shift_jis",
            "gb18030",
        ];
        faults.add(
            name.span,
            format!(
                "unknown encoding {:?}{}",
                name.value,
                meant(&name.value, common)
            ),
        );
    }
    found
}

/// `[words]`: words of the centre for words of the dictionary, in every column that has the latter.
pub(super) fn words(keys: Keys<'_>, dialect: &mut Dialect, faults: &mut Faults<'_>) {
    for (written, value) in keys.all() {
        let Some(means) = text(value) else {
            faults.add(
                value.span(),
                "a word of the dictionary, between quotation marks",
            );
            continue;
        };
        if yes_no(&written.value).is_some() || is_blank_word(written.value.trim(), &[]) {
            let message = format!(
                "{:?} already has a meaning everywhere; give it another for one column, under its header",
                written.value
            );
            faults.add(written.span, message);
            continue;
        }
        let everywhere = || {
            ["cases", "followups", "devices"]
                .into_iter()
                .flat_map(|file| &specs(file).list)
        };
        let known = yes_no(&means.value).is_some()
            || everywhere().any(|spec| spec.words.iter().any(|word| same_word(word, &means.value)));
        if known {
            add_word(&mut dialect.words, written, means.value, faults);
        } else {
            let all = everywhere()
                .flat_map(|spec| spec.words.iter().copied())
                .chain(["yes", "no"]);
            faults.add(
                means.span,
                format!(
                    "no column has the word {:?}{}",
                    means.value,
                    meant(&means.value, all)
                ),
            );
        }
    }
}

fn add_word(words: &mut Vec<Word>, written: At<String>, means: String, faults: &mut Faults<'_>) {
    if words
        .iter()
        .any(|word| same_word(&word.written, &written.value))
    {
        faults.add(
            written.span,
            format!(
                "{:?} stands here twice (letter case, spaces and hyphens do not matter)",
                written.value
            ),
        );
    } else {
        words.push(Word {
            written: written.value,
            means,
        });
    }
}

/// `[headers.cases]`, `[headers.followups]`, `[headers.devices]`.
pub(super) fn headers(mut keys: Keys<'_>, dialect: &mut Dialect, faults: &mut Faults<'_>) {
    for file in ["cases", "followups", "devices"] {
        let Some(of_file) = keys.table(file, faults) else {
            continue;
        };
        for (header, value) in of_file.all() {
            if let Some(rule) = rule(file, &header, value, faults) {
                let twice = dialect
                    .headers
                    .iter()
                    .any(|known| known.file == file && same_word(&known.header, &rule.header));
                if twice {
                    faults.add(header.span, format!("the header {:?} stands here twice (letter case, spaces and hyphens do not matter)", rule.header));
                } else {
                    dialect.headers.push(rule);
                }
            }
        }
    }
    keys.finish(faults);
}

/// `"Header" = "column"` or `"Header" = { column = "…", unit = "…", words = { … } }`.
fn rule(
    file: &'static str,
    header: &At<String>,
    value: &Spanned<DeValue<'_>>,
    faults: &mut Faults<'_>,
) -> Option<HeaderRule> {
    if header.value.trim().is_empty() {
        faults.add(header.span.clone(), "a header cannot be blank");
        return None;
    }
    let plain = |spec: &Spec| HeaderRule {
        file,
        header: header.value.trim().to_owned(),
        column: spec_name(spec),
        conversion: None,
        words: Vec::new(),
    };
    if let Some(name) = text(value) {
        return column(file, &name, faults).map(plain);
    }
    let Some(table) = value.get_ref().as_table() else {
        faults.add(
            value.span(),
            "the name of a column, or { column = \"…\", unit = \"…\", words = { … } }",
        );
        return None;
    };
    let mut keys = Keys::new(table, &header.value);
    let name = keys.text("column", faults);
    if name.is_none() {
        faults.add(
            header.span.clone(),
            format!("{:?} names no column", header.value),
        );
    }
    let spec = name.and_then(|name| column(file, &name, faults));
    let unit = keys.text("unit", faults);
    let own_words = keys.table("words", faults);
    keys.finish(faults);
    let spec = spec?;
    let mut rule = plain(spec);
    if let Some(unit) = unit {
        convert(&mut rule, spec, &unit, faults);
    }
    if let Some(own_words) = own_words {
        for (written, value) in own_words.all() {
            word_of_column(&mut rule, spec, written, value, faults);
        }
    }
    Some(rule)
}

fn spec_name(spec: &Spec) -> &'static str {
    spec.column.name.as_str()
}

fn column(file: &str, name: &At<String>, faults: &mut Faults<'_>) -> Option<&'static Spec> {
    let specs = specs(file);
    let found = specs
        .list
        .iter()
        .find(|spec| spec.column.name == name.value);
    if found.is_none() {
        let message = format!(
            "the {file} file has no column {:?}{}",
            name.value,
            meant(&name.value, specs.names())
        );
        faults.add(name.span.clone(), message);
    }
    found
}

fn convert(rule: &mut HeaderRule, spec: &Spec, unit: &At<String>, faults: &mut Faults<'_>) {
    let column = spec.column;
    if !matches!(spec.kind, Kind::Number | Kind::Integer) {
        faults.add(
            unit.span.clone(),
            format!("{} is no number and has no unit", column.name),
        );
    } else if !same_unit(&unit.value, &column.unit) {
        let found = conversions_to(&column.name, &column.unit)
            .find(|conversion| same_unit(conversion.from, &unit.value));
        if found.is_none() {
            let known: Vec<&str> = std::iter::once(column.unit.as_str())
                .filter(|unit| !unit.is_empty())
                .chain(conversions_to(&column.name, &column.unit).map(|conversion| conversion.from))
                .collect();
            let list = if known.is_empty() {
                "it has none".to_owned()
            } else {
                format!("known are {}", known.join(", "))
            };
            let message = format!(
                "unknown unit {:?} for {}: {list}{}",
                unit.value,
                column.name,
                meant(&unit.value, known.iter().copied())
            );
            faults.add(unit.span.clone(), message);
        }
        rule.conversion = found;
    }
}

fn word_of_column(
    rule: &mut HeaderRule,
    spec: &Spec,
    written: At<String>,
    value: &Spanned<DeValue<'_>>,
    faults: &mut Faults<'_>,
) {
    let Some(means) = text(value) else {
        faults.add(
            value.span(),
            "a word of the column, between quotation marks; \"\" for a blank cell",
        );
        return;
    };
    let known = means.value.is_empty()
        || match spec.kind {
            Kind::YesNo => yes_no(&means.value).is_some(),
            Kind::Choice => spec.words.iter().any(|word| same_word(word, &means.value)),
            _ => {
                faults.add(
                    written.span,
                    format!(
                        "{} has no words: it is no choice and no yes or no",
                        spec.column.name
                    ),
                );
                return;
            }
        };
    if known {
        add_word(&mut rule.words, written, means.value, faults);
        return;
    }
    let words = if spec.kind == Kind::YesNo {
        vec!["yes", "no"]
    } else {
        spec.words.clone()
    };
    let message = format!(
        "{} has no word {:?}{}; it has {}",
        spec.column.name,
        means.value,
        meant(&means.value, words.iter().copied()),
        words.join(", ")
    );
    faults.add(means.span, message);
}
