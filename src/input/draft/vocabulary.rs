//! Headers as notions of the trade: words in four languages, abbreviations, compounds and slips of the keyboard.

use std::collections::{BTreeSet, HashMap};
use std::sync::LazyLock;

use unicode_normalization::UnicodeNormalization as _;

/// What a header says.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct Notions {
    /// The notions its words stand for.
    pub known: BTreeSet<&'static str>,
    /// Words that nothing is known of.
    pub unknown: BTreeSet<String>,
    /// Words taken for another that is one slip away: as written, as taken.
    pub slips: Vec<(String, String)>,
}

/// Every notion by the words that stand for it.
struct Vocabulary {
    phrases: HashMap<Vec<String>, Vec<&'static str>>,
    /// Words in the longest phrase.
    longest: usize,
}

/// Words that tell nothing apart.
const EMPTY_WORDS: &[&str] = &[
    "the", "of", "at", "and", "to", "in", "on", "for", "value", "grade", "class", "type", "typ",
    "klasse", "grad", "der", "die", "das", "des", "und", "im", "bei", "wert", "de", "du", "la",
    "le", "les", "el", "los", "del", "et", "y", "l", "d", "aktuell", "score", "punkte", "points",
];

static VOCABULARY: LazyLock<Vocabulary> = LazyLock::new(|| {
    let mut phrases: HashMap<Vec<String>, Vec<&'static str>> = HashMap::new();
    for (notions, words) in lines(include_str!("words.txt")) {
        let notions: Vec<&'static str> = notions.split('+').collect();
        // A notion is a word for itself, so that the names of columns are read as headers are.
        let own = (notions.len() == 1).then_some(notions[0]);
        for phrase in words.chain(own) {
            let phrase = tokens(phrase);
            if !phrase.is_empty() {
                phrases.entry(phrase).or_insert_with(|| notions.clone());
            }
        }
    }
    let longest = phrases.keys().map(Vec::len).max().unwrap_or(1);
    Vocabulary { phrases, longest }
});

/// The entries of a word list: `name: word, word | word`; lines that begin with # are remarks.
pub(super) fn lines(
    text: &'static str,
) -> impl Iterator<Item = (&'static str, impl Iterator<Item = &'static str>)> {
    text.lines()
        .filter(|line| !line.starts_with('#'))
        .filter_map(|line| line.split_once(':'))
        .map(|(name, words)| {
            let words = words.split([',', '|']).map(str::trim);
            (name.trim(), words.filter(|word| !word.is_empty()))
        })
}

/// Lower case without accents, `ä` as `ae`.
pub(super) fn folded(text: &str) -> String {
    let mut spelt = String::with_capacity(text.len());
    for character in text.nfc().flat_map(char::to_lowercase) {
        match character {
            'ä' => spelt.push_str("ae"),
            'ö' => spelt.push_str("oe"),
            'ü' => spelt.push_str("ue"),
            'ß' => spelt.push_str("ss"),
            'æ' => spelt.push_str("ae"),
            'œ' => spelt.push_str("oe"),
            other => spelt.push(other),
        }
    }
    let marks = |character: &char| ('\u{300}'..='\u{36F}').contains(character);
    spelt
        .nfd()
        .filter(|character| !marks(character))
        .nfc()
        .collect()
}

/// The words of a text: `LVEFPre`, `lvef_pre` and `LVEF prä` are all two.
pub(super) fn tokens(text: &str) -> Vec<String> {
    let characters: Vec<char> = text.chars().collect();
    let mut spaced = String::with_capacity(text.len() + 8);
    for (position, &character) in characters.iter().enumerate() {
        let before = position.checked_sub(1).map(|before| characters[before]);
        let after = characters.get(position + 1);
        let begins = character.is_uppercase()
            && before.is_some_and(|before| {
                before.is_lowercase()
                    || before.is_uppercase()
                        && after.is_some_and(|after| after.is_lowercase())
                        && characters
                            .get(position + 2)
                            .is_some_and(|c| c.is_lowercase())
            });
        if begins {
            spaced.push(' ');
        }
        spaced.push(character);
    }
    folded(&spaced)
        .split(|character: char| !character.is_alphanumeric())
        .filter(|token| !token.is_empty())
        .map(str::to_owned)
        .collect()
}

/// What these words say: the longest phrases first, then parts of compounds, then slips.
pub(super) fn notions(text: &str) -> Notions {
    let vocabulary = &*VOCABULARY;
    // A shout is no compound of capitals: KREATININ.
    let shouted = !text.chars().any(char::is_lowercase);
    let tokens = if shouted {
        tokens(&text.to_lowercase())
    } else {
        tokens(text)
    };
    let mut found = Notions::default();
    let mut at = 0;
    'tokens: while at < tokens.len() {
        let most = vocabulary.longest.min(tokens.len() - at);
        for length in (1..=most).rev() {
            if let Some(notions) = vocabulary.phrases.get(&tokens[at..at + length]) {
                found.known.extend(notions);
                at += length;
                continue 'tokens;
            }
        }
        let token = &tokens[at];
        at += 1;
        if EMPTY_WORDS.contains(&token.as_str()) {
            continue;
        }
        if let Some(notions) = compound(token) {
            found.known.extend(notions);
        } else if let Some((word, notions)) = slip_of(token) {
            found.slips.push((token.clone(), word));
            found.known.extend(notions);
        } else {
            found.unknown.insert(token.clone());
        }
    }
    found
}

/// The notions of a word made of known words (`ringumfang`), joined directly or by s, n, en, es.
fn compound(token: &str) -> Option<Vec<&'static str>> {
    if token.len() < 7 || !token.is_ascii() {
        return None;
    }
    (3..=token.len() - 3).rev().find_map(|length| {
        let (first, rest) = token.split_at(length);
        let first = single(first)?;
        let joints = ["", "s", "n", "en", "es"];
        joints.iter().find_map(|joint| {
            let rest = rest.strip_prefix(joint)?;
            let rest = single(rest).map(<[_]>::to_vec).or_else(|| compound(rest))?;
            Some(first.iter().copied().chain(rest).collect())
        })
    })
}

/// A word of at least three letters that stands for something by itself.
fn single(word: &str) -> Option<&'static [&'static str]> {
    if word.len() < 3 {
        return None;
    }
    let vocabulary: &'static Vocabulary = &VOCABULARY;
    vocabulary
        .phrases
        .get(std::slice::from_ref(&word.to_owned()))
        .map(Vec::as_slice)
}

/// The one word of six letters or more that is a single slip away, where all such words mean the same.
fn slip_of(token: &str) -> Option<(String, Vec<&'static str>)> {
    if token.chars().count() < 6 || token.chars().nth(40).is_some() {
        return None;
    }
    let mut near: Vec<(&String, &Vec<&'static str>)> = VOCABULARY
        .phrases
        .iter()
        .filter_map(|(phrase, notions)| match &phrase[..] {
            [word] if word.len() >= 6 && strsim::osa_distance(word, token) == 1 => {
                Some((word, notions))
            }
            _ => None,
        })
        .collect();
    near.sort();
    let (word, notions) = *near.first()?;
    near.iter()
        .all(|(_, other)| *other == notions)
        .then(|| (word.clone(), notions.clone()))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn known(text: &str) -> Vec<&'static str> {
        let found = notions(text);
        assert!(found.unknown.is_empty(), "{text}: {found:?}");
        found.known.into_iter().collect()
    }

    #[test]
    fn one_notion_in_many_spellings() {
        for text in [
            "Annulus area",
            "annulus_area",
            "Annulusfläche",
            "Fläche Anulus",
            "Ringfläche",
            "ANNULUS AREA",
            "AnnulusArea",
            "surface de l'anneau",
            "Área del anillo",
        ] {
            assert_eq!(known(text), ["annulus", "area"], "{text}");
        }
        for text in [
            "LVEF prä",
            "LVEF_baseline",
            "Ejektionsfraktion vor",
            "FEVG avant",
        ] {
            assert_eq!(known(text), ["before", "lvef"], "{text}");
        }
    }

    #[test]
    fn a_slip_is_told_and_an_unknown_word_stays_one() {
        let found = notions("Kreatinim Aufnahme");
        assert_eq!(
            found.slips,
            [("kreatinim".to_owned(), "kreatinin".to_owned())]
        );
        let found = notions("Lieblingsfarbe");
        assert_eq!(
            found.unknown.into_iter().collect::<Vec<_>>(),
            ["lieblingsfarbe"]
        );
        assert!(found.known.is_empty());
    }

    #[test]
    fn no_word_stands_for_two_things_or_for_nothing() {
        let mut seen: HashMap<Vec<String>, &str> = HashMap::new();
        for (notions, words) in lines(include_str!("words.txt")) {
            for word in words.map(tokens) {
                let other = seen.insert(word.clone(), notions);
                assert!(
                    other.is_none_or(|other| other == notions),
                    "{word:?}: {notions}, {other:?}"
                );
                let empty = matches!(&word[..], [word] if EMPTY_WORDS.contains(&word.as_str()));
                assert!(!empty, "{word:?}");
            }
        }
    }
}
