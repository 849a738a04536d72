//! The cells of an export: whether they can be those of a column, and what its words stand for.

use std::collections::HashMap;
use std::sync::LazyLock;

use super::export::Field;
use super::reading::looks_like_a_date;
use super::vocabulary::{lines, tokens};
use crate::input::cells::yes_no;
use crate::input::loose::same_word;
use crate::input::number::{DecimalMark, number};
use crate::input::spec::{Kind, Spec};

/// How the doubt about a header without values begins.
pub(super) const EMPTY: &str = "no values to judge by";

/// The words of each word of the dictionary, as tokens joined by a space.
static WORDS: LazyLock<HashMap<&'static str, Vec<String>>> = LazyLock::new(|| {
    lines(include_str!("values.txt"))
        .map(|(means, words)| (means, words.map(spelt).collect()))
        .collect()
});

fn spelt(text: &str) -> String {
    tokens(&text.to_lowercase()).join(" ")
}

/// What one word of an export stands for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Meaning {
    /// The reader takes it as it is.
    Own,
    /// This word of the dictionary.
    Word(&'static str),
    /// Perhaps this word of the dictionary: why only perhaps.
    Perhaps(&'static str, &'static str),
    /// A way to leave a cell blank.
    Blank,
    /// Nothing known.
    Unknown,
}

/// What this cell of this column stands for.
pub(super) fn meaning(spec: &Spec, cell: &str) -> Meaning {
    let own = match spec.kind {
        Kind::YesNo => yes_no(cell).is_some(),
        Kind::Choice => spec.words.iter().any(|word| same_word(word, cell)),
        _ => true,
    };
    if own {
        return Meaning::Own;
    }
    let text = spelt(cell);
    let among = |means: &str| {
        WORDS
            .get(means)
            .is_some_and(|words| !text.is_empty() && words.contains(&text))
    };
    let words: &[&'static str] = match spec.kind {
        Kind::YesNo => &["yes", "no"],
        _ => &spec.words,
    };
    // A sign is part of a word here: "1+" is no "1".
    let signs = cell.contains(['+', '(', '<', '>', '/']);
    let found: Vec<&'static str> = words.iter().copied().filter(|word| among(word)).collect();
    match found[..] {
        [word] if !signs => return Meaning::Word(word),
        [..] if !signs && among("blank") => return Meaning::Blank,
        _ => {}
    }
    perhaps(spec, cell.trim())
}

/// Spellings that have more than one reading.
fn perhaps(spec: &Spec, cell: &str) -> Meaning {
    let grades = ["none", "trace", "mild", "moderate", "severe"];
    if spec.words == grades {
        let why = "grades in numbers or plus signs are read in more than one way";
        let word = match cell {
            "0" => Some("none"),
            "(+)" | "+/-" => Some("trace"),
            "1+" | "+" | "1" | "I" | "I°" => Some("mild"),
            "2+" | "++" | "2" | "II" | "II°" => Some("moderate"),
            "3+" | "+++" | "3" | "III" | "III°" | "4+" | "++++" | "4" => Some("severe"),
            _ => None,
        };
        return word.map_or(Meaning::Unknown, |word| Meaning::Perhaps(word, why));
    }
    if spec.words.first() == Some(&"I") {
        let classes = ["I", "II", "III", "IV"];
        let digit: Option<usize> = cell.parse().ok();
        let word = digit.and_then(|digit| classes.get(digit.checked_sub(1)?).copied());
        return word.map_or(Meaning::Unknown, |word| {
            Meaning::Perhaps(word, "a class in Arabic numerals")
        });
    }
    let why = "a mark in a form; whether a blank cell is then a no, nobody can tell";
    match (spec.kind, cell) {
        (Kind::YesNo, "x" | "X" | "+" | "✓") => Meaning::Perhaps("yes", why),
        _ => Meaning::Unknown,
    }
}

/// Whether the word is a common way to leave a cell blank, in a column where it cannot be anything else.
pub(super) fn is_blank(cell: &str) -> bool {
    let text = spelt(cell);
    let letters = cell.chars().any(char::is_alphabetic) && !cell.contains(['+', '/', '(']);
    letters && WORDS["blank"].contains(&text)
}

/// What speaks against these cells being of this column: nothing (`Some(None)`), something that a person must look at,
/// or everything (`None`).
#[expect(
    clippy::option_option,
    reason = "three answers that the caller tells apart at once"
)]
pub(super) fn doubt(spec: &Spec, field: &Field, mark: DecimalMark) -> Option<Option<String>> {
    let (said, _) = field.share(|cell| !is_blank(cell));
    if said == 0 {
        return Some(Some(EMPTY.to_owned()));
    }
    let passing =
        |passes: &dyn Fn(&str) -> bool| field.share(|cell| !is_blank(cell) && passes(cell)).0;
    let most = |count: usize| count * 10 >= said * 8;
    match spec.kind {
        Kind::Number | Kind::Integer => {
            let numbers = passing(&|cell| number(cell, mark, 0).is_some());
            let begun = passing(&|cell| {
                cell.starts_with(|first: char| first.is_ascii_digit()) && !looks_like_a_date(cell)
            });
            if most(numbers) {
                Some(None)
            } else if most(begun) {
                Some(Some(
                    "its cells hold more than a number, which the reader does not take".to_owned(),
                ))
            } else {
                None
            }
        }
        Kind::Date => most(passing(&looks_like_a_date)).then_some(None),
        Kind::YesNo => yes_no_doubt(spec, field, said),
        Kind::Choice => {
            let known = passing(&|cell| meaning(spec, cell) != Meaning::Unknown);
            if field.cells.len() > spec.words.len() * 3 + 6 {
                None
            } else if known * 2 >= said {
                Some(None)
            } else {
                Some(Some(format!(
                    "only {known} of {said} cells hold words that are known"
                )))
            }
        }
        Kind::Id | Kind::Text => (passing(&looks_like_a_date) * 2 < said).then_some(None),
    }
}

#[expect(clippy::option_option, reason = "as above")]
fn yes_no_doubt(spec: &Spec, field: &Field, said: usize) -> Option<Option<String>> {
    let cells: Vec<&str> = field
        .cells
        .keys()
        .map(String::as_str)
        .filter(|cell| !is_blank(cell))
        .collect();
    if cells.len() > 8 {
        return None;
    }
    if cells.contains(&"2") {
        return Some(Some(
            "codes 1 and 2: only your code book says which is yes; 1 is read as yes where nothing else is said".to_owned(),
        ));
    }
    let known = field
        .share(|cell| !is_blank(cell) && meaning(spec, cell) != Meaning::Unknown)
        .0;
    if known * 10 >= said * 8 {
        Some(None)
    } else if known * 2 >= said {
        Some(Some(format!(
            "only {known} of {said} cells hold a yes or no that is known"
        )))
    } else {
        None
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::input::spec::specs;

    #[test]
    fn every_word_of_a_cell_is_for_a_word_of_the_dictionary() {
        let known: Vec<&str> = ["cases", "followups", "devices"]
            .into_iter()
            .flat_map(|table| &specs(table).list)
            .flat_map(|spec| spec.words.iter().copied())
            .chain(["yes", "no", "blank"])
            .collect();
        for word in WORDS.keys() {
            assert!(known.contains(word), "{word}");
        }
    }

    #[test]
    fn a_word_of_two_choices_of_one_column_is_taken_for_neither() {
        for spec in ["cases", "followups", "devices"]
            .into_iter()
            .flat_map(|table| &specs(table).list)
        {
            for written in spec
                .words
                .iter()
                .filter_map(|word| WORDS.get(word))
                .flatten()
            {
                let choices = spec.words.iter().filter(|word| {
                    WORDS
                        .get(*word)
                        .is_some_and(|words| words.contains(written))
                });
                let own = spec.words.iter().any(|word| same_word(word, written));
                if choices.count() > 1 && !own {
                    assert!(
                        !matches!(meaning(spec, written), Meaning::Word(_)),
                        "{} {written}",
                        spec.column.name
                    );
                }
            }
        }
    }
}
