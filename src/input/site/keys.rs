//! A table of the site file, read key by key. Whatever nobody asked for is a fault, with the key that was meant.

use std::borrow::Cow;
use std::ops::Range;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::fault::Faults;
use crate::input::loose::suggestion;

/// A value and where it stands.
pub(super) struct At<T> {
    /// The value.
    pub value: T,
    /// Its bytes in the file.
    pub span: Range<usize>,
}

/// One key with its value.
struct Entry<'t> {
    key: &'t Spanned<Cow<'t, str>>,
    value: &'t Spanned<DeValue<'t>>,
    used: bool,
}

/// One table of the file.
pub(super) struct Keys<'t> {
    entries: Vec<Entry<'t>>,
    asked: Vec<&'static str>,
    name: String,
}

impl<'t> Keys<'t> {
    /// The keys of a table; `name` is what messages call it.
    pub fn new(table: &'t DeTable<'t>, name: &str) -> Self {
        let mut entries: Vec<_> = table
            .iter()
            .map(|(key, value)| Entry {
                key,
                value,
                used: false,
            })
            .collect();
        entries.sort_by_key(|entry| entry.key.span().start);
        Self {
            entries,
            asked: Vec::new(),
            name: name.to_owned(),
        }
    }

    fn take(&mut self, key: &'static str) -> Option<&'t Spanned<DeValue<'t>>> {
        self.asked.push(key);
        let entry = self
            .entries
            .iter_mut()
            .find(|entry| entry.key.get_ref() == key)?;
        entry.used = true;
        Some(entry.value)
    }

    /// The text under this key.
    pub fn text(&mut self, key: &'static str, faults: &mut Faults<'_>) -> Option<At<String>> {
        let value = self.take(key)?;
        let text = text(value);
        if text.is_none() {
            faults.add(
                value.span(),
                format!("{key} must be text between quotation marks"),
            );
        }
        text
    }

    /// The texts under this key: one, or a list.
    pub fn texts(&mut self, key: &'static str, faults: &mut Faults<'_>) -> Vec<At<String>> {
        let Some(value) = self.take(key) else {
            return Vec::new();
        };
        if let Some(one) = text(value) {
            return vec![one];
        }
        let list = value
            .get_ref()
            .as_array()
            .and_then(|list| list.iter().map(text).collect::<Option<Vec<_>>>());
        list.unwrap_or_else(|| {
            faults.add(
                value.span(),
                format!("{key} must be text, or a list of texts"),
            );
            Vec::new()
        })
    }

    /// The number under this key, between these limits.
    pub fn number(
        &mut self,
        key: &'static str,
        limits: (f64, f64),
        faults: &mut Faults<'_>,
    ) -> Option<f64> {
        let value = self.take(key)?;
        let number = match value.get_ref() {
            DeValue::Float(float) => float.as_str().parse().ok(),
            DeValue::Integer(integer) if integer.radix() == 10 => integer.as_str().parse().ok(),
            _ => None,
        };
        let (low, high) = limits;
        match number {
            Some(number) if (low..=high).contains(&number) => Some(number),
            _ => {
                faults.add(
                    value.span(),
                    format!("{key} must be a number from {low} to {high}"),
                );
                None
            }
        }
    }

    /// The whole number under this key, between these limits.
    pub fn whole(
        &mut self,
        key: &'static str,
        limits: (i64, i64),
        faults: &mut Faults<'_>,
    ) -> Option<At<i64>> {
        let value = self.take(key)?;
        let number = match value.get_ref() {
            DeValue::Integer(integer) => {
                i64::from_str_radix(integer.as_str(), integer.radix()).ok()
            }
            _ => None,
        };
        let (low, high) = limits;
        match number {
            Some(number) if (low..=high).contains(&number) => Some(At {
                value: number,
                span: value.span(),
            }),
            _ => {
                faults.add(
                    value.span(),
                    format!("{key} must be a whole number from {low} to {high}"),
                );
                None
            }
        }
    }

    /// The word under this key, out of a list of words and what each means.
    pub fn one_of<T: Copy>(
        &mut self,
        key: &'static str,
        words: &[(&'static str, T)],
        faults: &mut Faults<'_>,
    ) -> Option<T> {
        let text = self.text(key, faults)?;
        let found = words.iter().find(|(word, _)| *word == text.value);
        if found.is_none() {
            let list: Vec<&str> = words.iter().map(|(word, _)| *word).collect();
            let message = format!(
                "{key} must be one of {}{}",
                list.join(", "),
                meant(&text.value, list.iter().copied())
            );
            faults.add(text.span, message);
        }
        found.map(|(_, value)| *value)
    }

    /// The table under this key.
    pub fn table(&mut self, key: &'static str, faults: &mut Faults<'_>) -> Option<Keys<'t>> {
        let value = self.take(key)?;
        let table = value.get_ref().as_table();
        if table.is_none() {
            faults.add(value.span(), format!("{key} must be a table"));
        }
        table.map(|table| Keys::new(table, key))
    }

    /// Every entry of a table whose keys are the centre's own words.
    pub fn all(mut self) -> Vec<(At<String>, &'t Spanned<DeValue<'t>>)> {
        std::mem::take(&mut self.entries)
            .into_iter()
            .map(|Entry { key, value, .. }| {
                let key = At {
                    value: key.get_ref().clone().into_owned(),
                    span: key.span(),
                };
                (key, value)
            })
            .collect()
    }

    /// Reports every key that nobody asked for.
    pub fn finish(self, faults: &mut Faults<'_>) {
        for entry in self.entries.iter().filter(|entry| !entry.used) {
            let name = entry.key.get_ref();
            let place = if self.name.is_empty() {
                String::new()
            } else {
                format!(" in [{}]", self.name)
            };
            let message = format!(
                "unknown key {name:?}{place}{}",
                meant(name, self.asked.iter().copied())
            );
            faults.add(entry.key.span(), message);
        }
    }
}

/// The text of a value.
pub(super) fn text(value: &Spanned<DeValue<'_>>) -> Option<At<String>> {
    value.get_ref().as_str().map(|text| At {
        value: text.to_owned(),
        span: value.span(),
    })
}

/// ` (this?)` where one of the words was probably meant.
pub(super) fn meant<'w>(text: &str, words: impl IntoIterator<Item = &'w str>) -> String {
    suggestion(text, words).map_or_else(String::new, |word| format!(" ({word}?)"))
}
