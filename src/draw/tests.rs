//! The measure of type, against full shaping by rustybuzz, and what becomes of awkward texts.

use super::*;
use proptest::prelude::*;
use std::sync::LazyLock;

static FONTS: LazyLock<Fonts> = LazyLock::new(Fonts::load);

/// Letters of several scripts, figures, signs and spaces; kerning pairs are frequent among them.
const LETTERS: &str = "[AVTWYLPToaeyvf.,:;1740 \u{a0}(/)‘’“”–−†²ÅéøłžßΑΤΥαλίΔГТУАёщ\\-]{0,40}";

/// The width that rustybuzz gives the whole text, with one glyph for each character as on our pages.
fn shaped_milli(text: &str, face: Face) -> i32 {
    let shaper = rustybuzz::Face::from_slice(FONTS.data(face), 0).unwrap();
    let mut buffer = rustybuzz::UnicodeBuffer::new();
    buffer.push_str(text);
    let off = [b"liga", b"ccmp", b"locl"]
        .map(|name| rustybuzz::Feature::new(rustybuzz::ttf_parser::Tag::from_bytes(name), 0, ..));
    let shaped = rustybuzz::shape(&shaper, &off, buffer);
    shaped
        .glyph_positions()
        .iter()
        .map(|position| position.x_advance)
        .sum::<i32>()
        * 1000
        / shaper.units_per_em()
}

#[test]
fn known_pairs_are_kerned() {
    for (pair, face) in [
        ("AV", Face::Regular),
        ("To", Face::Semibold),
        ("Ty", Face::Regular),
    ] {
        let apart: i32 = pair
            .chars()
            .map(|letter| FONTS.width_milli(&letter.to_string(), face))
            .sum();
        assert!(FONTS.width_milli(pair, face) < apart, "{pair}");
    }
}

#[test]
fn figures_and_the_minus_sign_have_one_width() {
    let widths: Vec<_> = "0123456789−"
        .chars()
        .map(|c| FONTS.glyph(c, Face::Regular).unwrap().1)
        .collect();
    assert!(widths.iter().all(|&width| width == widths[0]), "{widths:?}");
}

#[test]
fn both_faces_cover_what_the_pages_promise() {
    let promised = "·–—−±×²³°…‹›§†‡→↔≥≤≈≠₂⁻√∞✓Δμ ЖщŐğİΆώẤ";
    for character in promised.chars() {
        assert!(FONTS.covers(character), "{character}");
    }
    for character in "日א\u{200b}\u{301}\u{ad}\n\u{202e}µ∆".chars() {
        assert!(!FONTS.covers(character), "U+{:04X}", u32::from(character));
    }
}

#[test]
fn cleaning_gives_one_sign_per_meaning() {
    let cases = [
        ("20 µmol, ∆ 5", "20 μmol, Δ 5"),
        ("Zoe\u{308} A\u{30a}", "Zoë Å"),
        ("a\r\nb\tc\u{85}d\u{2028}e", "a b c d e"),
        ("\u{202e}evil\u{202c}", " evil "),
        (
            "soft\u{ad}hyphen non\u{2011}breaking",
            "softhyphen non-breaking",
        ),
        ("日本 \u{200b}x", "‹U+65E5›‹U+672C› ‹U+200B›x"),
        ("😀", "‹U+1F600›"),
        ("x\u{30c}", "x‹U+030C›"),
        ("ﬁnding ﬂow", "finding flow"),
        ("46\u{a0}mmHg", "46\u{a0}mmHg"),
    ];
    for (given, written) in cases {
        assert_eq!(FONTS.clean(given), written);
    }
}

#[test]
fn what_is_shortened_says_so() {
    let text = "Stands here: bicuspid type 1 and atrial fibrillation";
    let short = FONTS.fit(text, Face::Regular, 7.6, 40.0);
    assert!(
        short.ends_with(" …") && text.starts_with(short.trim_end_matches(" …")),
        "{short}"
    );
    assert_eq!(
        FONTS
            .fit(
                "aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa",
                Face::Regular,
                7.6,
                10.0
            )
            .chars()
            .last(),
        Some('…')
    );
    assert_eq!(FONTS.fit("two words", Face::Regular, 7.6, 0.1), "…");
    let lines = FONTS.wrap_at_most(text, Face::Regular, 7.6, 20.0, 2);
    assert_eq!(lines.len(), 2);
    assert!(lines[1].ends_with('…'), "{lines:?}");
    assert_eq!(
        FONTS.wrap_at_most("short", Face::Regular, 7.6, 20.0, 2),
        ["short"]
    );
    assert!(
        FONTS
            .wrap_at_most(text, Face::Regular, 7.6, 20.0, 0)
            .is_empty()
    );
}

#[test]
fn no_break_spaces_hold_words_together() {
    let lines = FONTS.wrap("gradient 46\u{a0}mmHg", Face::Regular, 7.6, 15.0);
    assert_eq!(lines, ["gradient", "46\u{a0}mmHg"]);
    assert!(FONTS.wrap("  \n ", Face::Regular, 7.6, 15.0).is_empty());
}

#[test]
fn a_text_ends_or_centres_where_it_is_told() {
    let style = TextStyle {
        face: Face::Semibold,
        size_pt: 10.0,
        colour: Colour::BLACK,
    };
    let width = FONTS.width_mm("AVA 17", Face::Semibold, 10.0);
    for (align, start) in [
        (Align::Left, 50.0),
        (Align::Centre, 50.0 - width / 2.0),
        (Align::Right, 50.0 - width),
    ] {
        let Item::Text {
            x_mm,
            baseline_mm,
            rotated,
            ..
        } = FONTS.place("AVA 17", 50.0, 9.0, align, style)
        else {
            unreachable!()
        };
        assert_eq!((x_mm, baseline_mm, rotated), (start, 9.0, false));
    }
    let Item::Text {
        x_mm,
        baseline_mm,
        rotated,
        ..
    } = FONTS.place_upward("AVA 17", 50.0, 9.0, Align::Right, style)
    else {
        unreachable!()
    };
    assert_eq!((x_mm, baseline_mm, rotated), (50.0, 9.0 + width, true));
}

proptest! {
    #[test]
    fn prop_widths_are_those_of_full_shaping(text in LETTERS, bold in any::<bool>()) {
        let face = Face::ALL[usize::from(bold)];
        prop_assert_eq!(FONTS.width_milli(&text, face), shaped_milli(&text, face));
        let written: i32 = FONTS
            .kerned(&text, face)
            .map(|(character, kern)| kern + i32::from(FONTS.glyph(character, face).unwrap().1))
            .sum();
        prop_assert_eq!(written, shaped_milli(&text, face));
    }

    #[test]
    fn prop_widths_of_any_clean_text_are_those_of_full_shaping(text in "\\PC{0,30}") {
        let text = FONTS.clean(&text);
        prop_assert_eq!(FONTS.width_milli(&text, Face::Regular), shaped_milli(&text, Face::Regular));
    }

    #[test]
    fn prop_clean_text_is_covered_and_stays(text in any::<String>()) {
        let written = FONTS.clean(&text).into_owned();
        prop_assert!(written.chars().all(|character| FONTS.covers(character)), "{:?}", written);
        prop_assert_eq!(FONTS.clean(&written), written.as_str());
    }

    #[test]
    fn prop_fit_fits(text in "[a-zA-Z ,]{0,60}", size in 4.0..14.0, max_mm in 6.0..80.0) {
        let short = FONTS.fit(&text, Face::Regular, size, max_mm);
        prop_assert!(FONTS.width_mm(&short, Face::Regular, size) <= max_mm);
        if short != text {
            let kept = short.strip_suffix('…').expect("a visible mark").trim_end();
            prop_assert!(text.starts_with(kept));
            prop_assert!(FONTS.width_mm(&text, Face::Regular, size) > max_mm);
        }
    }

    #[test]
    fn prop_wrap_loses_nothing_and_keeps_the_width(text in "[a-zA-Z ]{0,80}", size in 4.0..14.0, max_mm in 2.0..80.0) {
        let lines = FONTS.wrap(&text, Face::Semibold, size, max_mm);
        let letters = |text: &str| text.split_whitespace().collect::<String>();
        prop_assert_eq!(letters(&lines.concat()), letters(&text));
        for line in &lines {
            prop_assert!(!line.trim().is_empty() && line.trim() == line);
            let fits = FONTS.width_mm(line, Face::Semibold, size) <= max_mm;
            prop_assert!(fits || line.chars().count() == 1, "{}", line);
        }
    }

    #[test]
    fn prop_wrap_breaks_words_only_where_it_must(words in prop::collection::vec("[a-z]{1,9}", 0..12)) {
        // Nine letters of the widest kind fit in 30 mm at 7.6 pt.
        let lines = FONTS.wrap(&words.join(" "), Face::Regular, 7.6, 30.0);
        let kept: Vec<&str> = lines.iter().flat_map(|line| line.split(' ')).collect();
        prop_assert_eq!(kept, words);
    }
}
