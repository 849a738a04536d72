//! Words compared as people write them: letter case does not matter, spaces and hyphens are underscores.

/// The characters of a word as they are compared.
fn loose(text: &str) -> impl Iterator<Item = char> {
    let mut gap = false;
    text.trim().chars().flat_map(move |character| {
        let separates = character.is_whitespace() || matches!(character, '_' | '-');
        let first = separates && !gap;
        gap = separates;
        let (gap, letters) = if separates {
            (first.then_some('_'), None)
        } else {
            (None, Some(character.to_lowercase()))
        };
        gap.into_iter().chain(letters.into_iter().flatten())
    })
}

/// Whether two words are the same.
pub(super) fn same_word(one: &str, other: &str) -> bool {
    loose(one).eq(loose(other))
}

/// The form in which words are compared.
pub(super) fn loose_form(text: &str) -> String {
    loose(text).collect()
}

/// The one word of these that was probably meant: a slip of the keyboard, or a beginning that only one word has.
pub(super) fn suggestion<'w>(
    text: &str,
    words: impl IntoIterator<Item = &'w str>,
) -> Option<&'w str> {
    let squashed = |text: &str| -> String {
        text.chars()
            .filter(|character| character.is_alphanumeric())
            .flat_map(char::to_lowercase)
            .collect()
    };
    // Longer than any word of the dictionary: not a slip of one.
    if text.chars().nth(60).is_some() {
        return None;
    }
    let text = squashed(text);
    let length = text.chars().count();
    if length == 0 {
        return None;
    }
    let mut nearest: Option<(usize, &str)> = None;
    let mut begins = None;
    let mut several_begin = false;
    for word in words {
        let word_squashed = squashed(word);
        if word_squashed.starts_with(&text) {
            several_begin = begins.replace(word).is_some();
        }
        let word_length = word_squashed.chars().count();
        let allowed = (word_length.max(length) / 4).clamp(1, 4);
        let mut consider = |distance: usize| {
            if distance <= allowed && nearest.is_none_or(|(best, _)| distance < best) {
                nearest = Some((distance, word));
            }
        };
        if word_length >= 3 && word_length.abs_diff(length) <= allowed {
            consider(strsim::osa_distance(&text, &word_squashed));
        }
        // A header without its unit: the slip is looked for in the beginning of the word.
        if length >= 5 && (1..=6).contains(&word_length.saturating_sub(length)) {
            let beginning: String = word_squashed.chars().take(length).collect();
            consider(strsim::osa_distance(&text, &beginning) + 1);
        }
    }
    nearest
        .map(|(_, word)| word)
        .or(if several_begin { None } else { begins })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn case_spaces_and_hyphens_do_not_matter() {
        assert!(same_word("Atrial-Fibrillation", "atrial_fibrillation"));
        assert!(same_word("  died in  hospital ", "died_in_hospital"));
        assert!(!same_word("type1", "type_1"));
        assert_eq!(loose_form("Annulus Area-mm2"), "annulus_area_mm2");
    }

    #[test]
    fn slips_and_beginnings_are_recognised() {
        let grades = ["none", "trace", "mild", "moderate", "severe"];
        assert_eq!(suggestion("moderat", grades), Some("moderate"));
        assert_eq!(suggestion("sever", grades), Some("severe"));
        assert_eq!(suggestion("mdoerate", grades), Some("moderate"));
        assert_eq!(suggestion("m", grades), None);
        assert_eq!(suggestion("f", ["female", "male"]), Some("female"));
        assert_eq!(suggestion("type1", ["none", "type_1"]), Some("type_1"));
        assert_eq!(
            suggestion("heigth", ["weight_kg", "height_cm"]),
            Some("height_cm")
        );
        assert_eq!(suggestion("xyz", grades), None);
        assert_eq!(suggestion(&"a".repeat(1_000_000), grades), None);
    }
}
