//! Which words of the cells go where in the site file: for every column, for one, for a blank cell.

use std::collections::{BTreeMap, BTreeSet};

use super::place::{Placed, Places};
use super::print::quoted;
use super::values::{Meaning, is_blank, meaning};
use crate::input::blank::is_blank_word;
use crate::input::cells::yes_no;
use crate::input::loose::loose_form;
use crate::input::spec::Kind;

/// The words of all exports.
pub(super) struct Words {
    /// Words that mean one thing wherever they stand, by their loose form: as written, what they mean, how often.
    everywhere: BTreeMap<String, (String, &'static str, usize)>,
    /// Words that stand for a blank cell, by their loose form.
    blank: BTreeMap<String, String>,
}

/// A line about a word of one column: what there is to say, and the setting with whether it is certain.
pub(super) type WordLine = (String, Option<(bool, String)>);

/// Words with a remark that a draft repeats of one column; more are no choice.
const SHOWN: usize = 12;
/// The longest cell that a draft repeats, in characters.
const LONGEST: usize = 40;

fn has_words(placed: &Placed<'_>) -> bool {
    matches!(placed.spec.kind, Kind::YesNo | Kind::Choice)
}

impl Words {
    /// Looks through the cells of every header that has a column.
    pub fn of(places: &[Places<'_>]) -> Self {
        let placed = || places.iter().flat_map(|places| &places.placed);
        let mut means: BTreeMap<String, BTreeSet<&'static str>> = BTreeMap::new();
        let mut written: BTreeMap<String, (String, usize)> = BTreeMap::new();
        let mut blank = BTreeMap::new();
        for placed in placed() {
            for (cell, count) in &placed.field.cells {
                if has_words(placed)
                    && let Meaning::Word(word) = meaning(placed.spec, cell)
                {
                    means.entry(loose_form(cell)).or_default().insert(word);
                    written
                        .entry(loose_form(cell))
                        .or_insert_with(|| (cell.clone(), 0))
                        .1 += count;
                } else if is_blank(cell)
                    && (!has_words(placed) || meaning(placed.spec, cell) == Meaning::Blank)
                {
                    blank
                        .entry(loose_form(cell))
                        .or_insert_with(|| cell.clone());
                }
            }
        }
        let everywhere = means
            .into_iter()
            .filter_map(|(form, means)| {
                let (cell, count) = written.remove(&form)?;
                let free = yes_no(&cell).is_none()
                    && !is_blank_word(&cell, &[])
                    && !blank.contains_key(&form);
                let mut means = means.into_iter();
                match (means.next(), means.next()) {
                    (Some(word), None) if free => Some((form, (cell, word, count))),
                    _ => None,
                }
            })
            .collect();
        Self { everywhere, blank }
    }

    /// `blank_words`, where there are any.
    pub fn blank_line(&self) -> Option<String> {
        let words: Vec<String> = self
            .blank
            .values()
            .filter(|word| yes_no(word).is_none())
            .map(|word| quoted(word))
            .collect();
        (!words.is_empty()).then(|| {
            format!(
                "blank_words = [{}]  # likely: words for \"not known\"; such cells are left blank",
                words.join(", ")
            )
        })
    }

    /// The lines of `[words]`.
    pub fn everywhere_lines(&self) -> Vec<String> {
        self.everywhere
            .values()
            .map(|(cell, word, count)| {
                format!("{} = \"{word}\"  # sure: in {count} cells", quoted(cell))
            })
            .collect()
    }

    /// The lines about words that one header alone has.
    pub fn lines_of(&self, placed: &Placed<'_>) -> Vec<WordLine> {
        if !has_words(placed) {
            return Vec::new();
        }
        let mut lines = Vec::new();
        let mut unknown = Vec::new();
        for (cell, count) in &placed.field.cells {
            let setting = |word: &str| {
                format!(
                    "{}.words.{} = \"{word}\"",
                    quoted(&placed.field.header),
                    quoted(cell)
                )
            };
            match meaning(placed.spec, cell) {
                Meaning::Word(word) if !self.everywhere.contains_key(&loose_form(cell)) => {
                    lines.push((
                        format!("sure: in {count} cells"),
                        Some((true, setting(word))),
                    ));
                }
                Meaning::Perhaps(word, why) => {
                    let remark = format!("guess, please check: {why}; in {count} cells");
                    lines.push((remark, Some((false, setting(word)))));
                }
                Meaning::Unknown if cell.chars().count() <= LONGEST => unknown.push((cell, count)),
                Meaning::Unknown => {}
                _ => {}
            }
        }
        let more = unknown.len().saturating_sub(SHOWN);
        let list: Vec<&str> = match placed.spec.kind {
            Kind::YesNo => vec!["yes", "no"],
            _ => placed.spec.words.clone(),
        };
        for (cell, count) in unknown.into_iter().take(SHOWN) {
            let remark = format!(
                "{} in {count} cells is not known; it may be {}",
                quoted(cell),
                list.join(", ")
            );
            lines.push((remark, None));
        }
        if more > 0 {
            lines.push((format!("and {more} other words that are not known"), None));
        }
        // One line a loose form: a site file takes each once.
        let mut seen = BTreeSet::new();
        lines.retain(|(_, line)| {
            line.as_ref()
                .is_none_or(|(_, line)| seen.insert(loose_form(line)))
        });
        lines
    }
}
