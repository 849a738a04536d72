//! Blocks of words: headings, paragraphs, lists, and stacks of blocks.

use std::borrow::Cow;

use super::layout::{Pen, Place};
use super::theme::{self, TypeSize};
use crate::draw::{Align, Colour, Face, Fonts, Item, Role, Tag, TextStyle};

/// A part of a page that knows its height before it is drawn.
pub trait Block {
    /// Breaks its words into lines of this width (mm): once, for its height and for drawing it.
    fn laid<'b>(&'b self, fonts: &Fonts, width_mm: f64) -> Laid<'b>;
    /// Hands over every text of it, in reading order.
    fn texts(&self, see: &mut dyn FnMut(&str));

    /// Height at this width, in millimetres.
    fn height_mm(&self, fonts: &Fonts, width_mm: f64) -> f64 {
        self.laid(fonts, width_mm).height_mm
    }

    /// Draws it, tagged, in exactly that height, which is returned.
    fn draw(&self, pen: &mut Pen<'_>, at: Place) -> f64 {
        self.laid(pen.fonts, at.width_mm).draw(pen, at)
    }
}

/// Draws what was laid out, once, at a place.
type Draw<'b> = dyn FnOnce(&mut Pen<'_>, Place) + 'b;

/// A block laid out for a width.
pub struct Laid<'b> {
    /// Height (mm).
    pub height_mm: f64,
    draw: Box<Draw<'b>>,
}

impl<'b> Laid<'b> {
    /// Of this height (mm), drawn by `draw` at a place of the width that it was laid out for.
    pub fn new(height_mm: f64, draw: impl FnOnce(&mut Pen<'_>, Place) + 'b) -> Self {
        Self {
            height_mm,
            draw: Box::new(draw),
        }
    }

    /// Draws it; returns its height (mm).
    pub fn draw(self, pen: &mut Pen<'_>, at: Place) -> f64 {
        (self.draw)(pen, at);
        self.height_mm
    }
}

/// Words in two faces.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Rich(pub Vec<(Face, String)>);

impl Rich {
    /// Words that must not be overlooked.
    pub fn bold(text: impl Into<String>) -> Self {
        Self(vec![(Face::Semibold, text.into())])
    }

    /// The same with more words after it.
    #[must_use]
    pub fn and(mut self, text: impl Into<String>) -> Self {
        self.0.push((Face::Regular, text.into()));
        self
    }

    /// The same with more words that must not be overlooked.
    #[must_use]
    pub fn and_bold(mut self, text: impl Into<String>) -> Self {
        self.0.push((Face::Semibold, text.into()));
        self
    }

    /// Whether there is nothing to read.
    pub fn is_blank(&self) -> bool {
        self.0.iter().all(|(_, text)| text.trim().is_empty())
    }

    /// The words without their faces.
    pub fn plain(&self) -> String {
        self.0.iter().map(|(_, text)| text.as_str()).collect()
    }

    /// Width on one line.
    pub fn width_mm(&self, fonts: &Fonts, size: TypeSize) -> f64 {
        self.0
            .iter()
            .map(|(face, text)| fonts.width_mm(&fonts.clean(text), *face, size.size_pt))
            .sum()
    }

    /// The words in lines no wider than `width_mm`, in at most `most` lines; the last ends in `…` where more would
    /// follow. Blank words have no lines.
    pub fn lines(
        &self,
        fonts: &Fonts,
        size: TypeSize,
        width_mm: f64,
        most: usize,
    ) -> Vec<RichLine> {
        let cleaned: Vec<(Face, Cow<'_, str>)> = self
            .0
            .iter()
            .map(|(face, text)| (*face, fonts.clean(text)))
            .collect();
        // Most texts are in one face and on one line, which need not be found word by word.
        if let [(face, text)] = cleaned.as_slice()
            && let Some(line) = RichLine::whole(*face, text, fonts, size, width_mm)
            && most > 0
        {
            return vec![line];
        }
        let pieces = words(&cleaned);
        let mut lines: Vec<RichLine> = Vec::new();
        let mut line = RichLine::default();
        for word in pieces.chunk_by(|_, next| !next.begins_word) {
            let put = |line: &mut RichLine| line.append_word(word, fonts);
            if line.takes(size, width_mm, put) {
                continue;
            }
            if !line.0.is_empty() {
                lines.push(std::mem::take(&mut line));
            }
            if !line.takes(size, width_mm, put) {
                line = break_word(word, fonts, size, width_mm, &mut lines);
            }
        }
        if !line.0.is_empty() {
            lines.push(line);
        }
        if lines.len() > most {
            lines.truncate(most);
            if let Some(last) = lines.last_mut() {
                last.shorten(fonts, size, width_mm);
            }
        }
        lines
    }
}

/// A part of a word in one face.
struct Piece<'a> {
    face: Face,
    text: &'a str,
    /// Whether a space, or nothing, is before it.
    begins_word: bool,
}

/// A text between the spaces at which a line may end: a percent sign stays with its number.
fn parts(text: &str) -> impl Iterator<Item = &str> {
    let mut rest = Some(text);
    std::iter::from_fn(move || {
        let text = rest?;
        let end = text
            .match_indices(' ')
            .map(|(at, _)| at)
            .find(|&at| !text[at + 1..].starts_with('%'));
        let (part, behind) = match end {
            Some(end) => (&text[..end], Some(&text[end + 1..])),
            None => (text, None),
        };
        rest = behind;
        Some(part)
    })
}

/// Words, each in as many faces as it has; what is not separated by a space stays together.
fn words<'a>(cleaned: &'a [(Face, Cow<'_, str>)]) -> Vec<Piece<'a>> {
    let mut pieces = Vec::new();
    let mut open = false;
    for (face, text) in cleaned {
        for (position, text) in parts(text).enumerate() {
            if position > 0 {
                open = false;
            }
            if !text.is_empty() {
                pieces.push(Piece {
                    face: *face,
                    text,
                    begins_word: !open,
                });
                open = true;
            }
        }
    }
    pieces
}

impl From<&str> for Rich {
    fn from(text: &str) -> Self {
        Self(vec![(Face::Regular, text.to_owned())])
    }
}

impl From<String> for Rich {
    fn from(text: String) -> Self {
        Self(vec![(Face::Regular, text)])
    }
}

/// Bytes of most runs: room for the words behind the first.
const USUAL_RUN: usize = 32;

/// Words are seldom narrower than this a letter (thousandths of the type size).
const NARROW_MILLI: i32 = 350;

/// A part of a line in one face, and how wide it is.
#[derive(Clone, Debug, PartialEq)]
struct Run {
    face: Face,
    text: String,
    /// In thousandths of the type size: each text is measured once, when it is put behind the others.
    width_milli: i32,
}

/// One line in as many faces as it has, of words that have been cleaned.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct RichLine(Vec<Run>);

impl RichLine {
    /// A line of one text.
    fn of(face: Face, text: &str, fonts: &Fonts) -> Self {
        let mut line = Self::default();
        line.append(face, text, fonts);
        line
    }

    /// A text with one space between its words that fits on a line; `None` where another has to be put together word by
    /// word. A text that is plainly too long is not measured.
    fn whole(face: Face, text: &str, fonts: &Fonts, size: TypeSize, width_mm: f64) -> Option<Self> {
        let narrow_mm = Fonts::milli_mm(NARROW_MILLI, size.size_pt);
        if text.is_empty() || text.len() as f64 * narrow_mm > width_mm {
            return None;
        }
        let spaced = text.starts_with(' ') || text.ends_with(' ') || text.contains("  ");
        let line = (!spaced).then(|| Self::of(face, text, fonts))?;
        (line.width_mm(size) <= width_mm).then_some(line)
    }

    fn append(&mut self, face: Face, text: &str, fonts: &Fonts) {
        match self.0.last_mut() {
            Some(run) if run.face == face => {
                let last = run.text.chars().next_back();
                run.width_milli += fonts.width_after_milli(last, text, face);
                run.text.push_str(text);
            }
            _ => {
                let mut run = String::with_capacity(text.len().max(USUAL_RUN));
                run.push_str(text);
                self.0.push(Run {
                    face,
                    text: run,
                    width_milli: fonts.width_milli(text, face),
                });
            }
        }
    }

    /// The word after a space in the face of the word before; none at the start of a line.
    fn append_word(&mut self, word: &[Piece<'_>], fonts: &Fonts) {
        if let Some(face) = self.0.last().map(|run| run.face) {
            self.append(face, " ", fonts);
        }
        for piece in word {
            self.append(piece.face, piece.text, fonts);
        }
    }

    /// Puts words at the end where there is room for them; the line stays as it was where there is not.
    fn takes(&mut self, size: TypeSize, width_mm: f64, put: impl FnOnce(&mut Self)) -> bool {
        let runs = self.0.len();
        let last = self.0.last().map(|run| (run.text.len(), run.width_milli));
        put(self);
        let fits = self.width_mm(size) <= width_mm;
        if !fits {
            self.0.truncate(runs);
            if let (Some(run), Some((length, width_milli))) = (self.0.last_mut(), last) {
                run.text.truncate(length);
                run.width_milli = width_milli;
            }
        }
        fits
    }

    /// Width (mm).
    pub fn width_mm(&self, size: TypeSize) -> f64 {
        self.0
            .iter()
            .map(|run| Fonts::milli_mm(run.width_milli, size.size_pt))
            .sum()
    }

    /// Makes room for a visible mark that something was left out.
    fn shorten(&mut self, fonts: &Fonts, size: TypeSize, width_mm: f64) {
        let Some(Run { face, text, .. }) = self.0.pop() else {
            return;
        };
        let before = self.width_mm(size);
        let more = format!("{text} …");
        let fitted = fonts.fit(&more, face, size.size_pt, width_mm - before);
        self.0.push(Run {
            face,
            width_milli: fonts.width_milli(&fitted, face),
            text: fitted.into_owned(),
        });
    }

    /// Draws the line; it is tagged by the caller.
    pub fn draw(
        self,
        pen: &mut Pen<'_>,
        x_mm: f64,
        baseline_mm: f64,
        align: Align,
        size: TypeSize,
        colour: Colour,
    ) {
        let width = self.width_mm(size);
        let mut x_mm = match align {
            Align::Left => x_mm,
            Align::Centre => x_mm - width / 2.0,
            Align::Right => x_mm - width,
        };
        for run in self.0 {
            let style = TextStyle {
                face: run.face,
                size_pt: size.size_pt,
                colour,
            };
            let item = pen
                .fonts
                .place(run.text, x_mm, baseline_mm, Align::Left, style);
            pen.items.push(item);
            x_mm += Fonts::milli_mm(run.width_milli, size.size_pt);
        }
    }
}

/// Breaks a word that is too wide for a line; returns what is left for the next words to follow.
fn break_word(
    word: &[Piece<'_>],
    fonts: &Fonts,
    size: TypeSize,
    width_mm: f64,
    lines: &mut Vec<RichLine>,
) -> RichLine {
    let mut line = RichLine::default();
    for piece in word {
        for (start, character) in piece.text.char_indices() {
            let letter = &piece.text[start..start + character.len_utf8()];
            let put = |line: &mut RichLine| line.append(piece.face, letter, fonts);
            if line.takes(size, width_mm, put) {
                continue;
            }
            if !line.0.is_empty() {
                lines.push(std::mem::take(&mut line));
            }
            // A letter stands on a line of its own where even that is too narrow.
            put(&mut line);
        }
    }
    line
}

/// Draws lines under each other from `at`, left-aligned.
pub fn draw_lines(
    pen: &mut Pen<'_>,
    lines: Vec<RichLine>,
    at: Place,
    size: TypeSize,
    colour: Colour,
) {
    for (position, line) in lines.into_iter().enumerate() {
        let baseline = at.y_mm + position as f64 * size.pitch_mm + size.rise_mm;
        line.draw(pen, at.x_mm, baseline, Align::Left, size, colour);
    }
}

/// The heading of a block, with a rule above it.
#[derive(Clone, Debug, PartialEq)]
pub struct Heading {
    /// Words.
    pub text: Rich,
    /// `H1`, `H2` or `H3`.
    pub role: Role,
}

impl Heading {
    /// A heading of the second level.
    pub fn second(text: impl Into<String>) -> Self {
        Self {
            text: Rich::bold(text),
            role: Role::H2,
        }
    }
}

impl Block for Heading {
    fn laid<'b>(&'b self, fonts: &Fonts, width_mm: f64) -> Laid<'b> {
        let lines = self.text.lines(fonts, theme::BODY, width_mm, usize::MAX);
        let height_mm =
            theme::RULE_GAP_MM + lines.len() as f64 * theme::BODY.pitch_mm + theme::HEADING_GAP_MM;
        Laid::new(height_mm, move |pen, at| {
            pen.items.push(Item::line(
                (at.x_mm, at.y_mm),
                (at.x_mm + at.width_mm, at.y_mm),
                theme::RULE,
            ));
            let below = Place {
                y_mm: at.y_mm + theme::RULE_GAP_MM,
                ..at
            };
            pen.tagged(Tag::new(self.role), |pen| {
                draw_lines(pen, lines, below, theme::BODY, theme::INK);
            });
        })
    }

    fn texts(&self, see: &mut dyn FnMut(&str)) {
        see(&self.text.plain());
    }
}

/// A paragraph.
#[derive(Clone, Debug, PartialEq)]
pub struct Paragraph {
    /// Words.
    pub text: Rich,
    /// Size.
    pub size: TypeSize,
    /// Colour.
    pub colour: Colour,
    /// Most lines; more are marked as left out.
    pub most_lines: usize,
}

impl Paragraph {
    /// A clinical paragraph, whole.
    pub fn body(text: impl Into<Rich>) -> Self {
        Self {
            text: text.into(),
            size: theme::BODY,
            colour: theme::INK,
            most_lines: usize::MAX,
        }
    }

    /// Small print, whole.
    pub fn small(text: impl Into<Rich>) -> Self {
        Self {
            size: theme::SMALL,
            ..Self::body(text)
        }
    }

    /// The same in at most so many lines.
    #[must_use]
    pub fn at_most(mut self, lines: usize) -> Self {
        self.most_lines = lines;
        self
    }
}

impl Block for Paragraph {
    fn laid<'b>(&'b self, fonts: &Fonts, width_mm: f64) -> Laid<'b> {
        let lines = self.text.lines(fonts, self.size, width_mm, self.most_lines);
        let height_mm = lines.len() as f64 * self.size.pitch_mm;
        Laid::new(height_mm, move |pen, at| {
            if !lines.is_empty() {
                pen.tagged(Tag::new(Role::P), |pen| {
                    draw_lines(pen, lines, at, self.size, self.colour);
                });
            }
        })
    }

    fn texts(&self, see: &mut dyn FnMut(&str)) {
        see(&self.text.plain());
    }
}

/// A list, each item with its mark in front.
#[derive(Clone, Debug, PartialEq)]
pub struct Items {
    /// Mark and words of each item.
    pub items: Vec<(String, Rich)>,
    /// Size.
    pub size: TypeSize,
    /// Width of the marks (mm).
    pub mark_mm: f64,
    /// Most lines of an item.
    pub most_lines: usize,
}

impl Items {
    /// A numbered list.
    pub fn numbered(texts: impl IntoIterator<Item = Rich>) -> Self {
        Self {
            items: (1..)
                .zip(texts)
                .map(|(number, text)| (number.to_string(), text))
                .collect(),
            size: theme::BODY,
            mark_mm: 3.4,
            most_lines: usize::MAX,
        }
    }
}

impl Block for Items {
    fn laid<'b>(&'b self, fonts: &Fonts, width_mm: f64) -> Laid<'b> {
        let size = self.size;
        let items: Vec<Vec<RichLine>> = self
            .items
            .iter()
            .map(|(_, text)| text.lines(fonts, size, width_mm - self.mark_mm, self.most_lines))
            .collect();
        let lines: usize = items.iter().map(|lines| lines.len().max(1)).sum();
        Laid::new(lines as f64 * size.pitch_mm, move |pen, at| {
            if !items.is_empty() {
                pen.tagged(Tag::new(Role::List), |pen| self.draw_items(pen, items, at));
            }
        })
    }

    fn texts(&self, see: &mut dyn FnMut(&str)) {
        for (_, text) in &self.items {
            see(&text.plain());
        }
    }
}

impl Items {
    fn draw_items(&self, pen: &mut Pen<'_>, items: Vec<Vec<RichLine>>, at: Place) {
        let size = self.size;
        let mut y_mm = at.y_mm;
        for ((mark, _), lines) in self.items.iter().zip(items) {
            let height_mm = lines.len().max(1) as f64 * size.pitch_mm;
            pen.tagged(Tag::new(Role::ListItem), |pen| {
                let mark = RichLine::of(Face::Semibold, mark, pen.fonts);
                mark.draw(
                    pen,
                    at.x_mm,
                    y_mm + size.rise_mm,
                    Align::Left,
                    size,
                    theme::INK,
                );
                let beside = Place {
                    x_mm: at.x_mm + self.mark_mm,
                    y_mm,
                    ..at
                };
                draw_lines(pen, lines, beside, size, theme::INK);
            });
            y_mm += height_mm;
        }
    }
}

/// Blocks under each other, with the space above each.
#[derive(Default)]
pub struct Stack<'a> {
    /// Space above (mm) and block.
    pub blocks: Vec<(f64, Box<dyn Block + 'a>)>,
}

impl<'a> Stack<'a> {
    /// The same with one more block below.
    #[must_use]
    pub fn with(self, block: impl Block + 'a) -> Self {
        self.with_gap(0.0, block)
    }

    /// The same with one more block below, after a space.
    #[must_use]
    pub fn with_gap(mut self, gap_mm: f64, block: impl Block + 'a) -> Self {
        self.blocks.push((gap_mm, Box::new(block)));
        self
    }
}

impl Block for Stack<'_> {
    fn laid<'b>(&'b self, fonts: &Fonts, width_mm: f64) -> Laid<'b> {
        self.laid_parts(fonts, width_mm).into()
    }

    fn texts(&self, see: &mut dyn FnMut(&str)) {
        for (_, block) in &self.blocks {
            block.texts(see);
        }
    }
}

impl Stack<'_> {
    /// Each of its blocks laid out.
    pub fn laid_parts<'b>(&'b self, fonts: &Fonts, width_mm: f64) -> LaidParts<'b> {
        let blocks = self.blocks.iter();
        LaidParts(
            blocks
                .map(|(gap_mm, block)| (*gap_mm, block.laid(fonts, width_mm)))
                .collect(),
        )
    }
}

/// Blocks under each other, laid out, with the space above each (mm).
pub struct LaidParts<'b>(pub Vec<(f64, Laid<'b>)>);

impl LaidParts<'_> {
    /// Height of all (mm).
    pub fn height_mm(&self) -> f64 {
        self.0
            .iter()
            .map(|(gap, block)| gap + block.height_mm)
            .sum()
    }
}

impl<'b> From<LaidParts<'b>> for Laid<'b> {
    fn from(parts: LaidParts<'b>) -> Self {
        Self::new(parts.height_mm(), move |pen, at| {
            let mut y_mm = at.y_mm;
            for (gap, block) in parts.0 {
                y_mm += gap;
                y_mm += block.draw(pen, Place { y_mm, ..at });
            }
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn faces(line: &RichLine) -> Vec<(Face, String)> {
        let runs = line.0.iter();
        runs.map(|run| (run.face, run.text.clone())).collect()
    }

    #[test]
    fn faces_that_touch_stay_one_word() {
        let fonts = Fonts::load();
        let text = Rich::bold("Leak").and(": mild");
        let lines = text.lines(&fonts, theme::BODY, 100.0, 9);
        assert_eq!(lines.len(), 1);
        assert_eq!(
            faces(&lines[0]),
            vec![
                (Face::Semibold, "Leak".into()),
                (Face::Regular, ": mild".into())
            ]
        );
    }

    #[test]
    fn a_percent_sign_stays_with_its_number() {
        let fonts = Fonts::load();
        for text in [
            Rich::from("rate (95 % 2 to 15)"),
            Rich::from("rate (").and_bold("95").and(" % 2 to 15)"),
        ] {
            for width in 10..40 {
                for line in text.lines(&fonts, theme::BODY, f64::from(width), 9) {
                    let line = Rich(faces(&line)).plain();
                    assert!(
                        !line.starts_with('%') && !line.ends_with("95"),
                        "{width}: {line}"
                    );
                }
            }
        }
    }

    #[test]
    fn what_is_left_out_is_marked() {
        let fonts = Fonts::load();
        let text = Rich::from("one two three four five six seven eight nine ten");
        let lines = text.lines(&fonts, theme::BODY, 15.0, 2);
        assert_eq!(lines.len(), 2);
        assert!(lines[1].0[0].text.ends_with('…'), "{lines:?}");
    }

    proptest! {
        #[test]
        fn prop_no_line_is_wider_than_its_place(text in "[a-zA-Zα-ω0-9 .,]{0,200}", width in 8.0..120.0f64, most in 1usize..5) {
            let fonts = Fonts::load();
            for line in Rich::from(text).lines(&fonts, theme::BODY, width, most) {
                let measured = Rich(faces(&line)).width_mm(&fonts, theme::BODY);
                prop_assert!(measured <= width + 1e-9);
                prop_assert!((measured - line.width_mm(theme::BODY)).abs() < 1e-9);
            }
        }

        #[test]
        fn prop_wrapping_loses_no_word(text in "[a-z]{1,8}( [a-z]{1,8}){0,30}", width in 20.0..90.0f64) {
            let fonts = Fonts::load();
            let lines = Rich::from(text.as_str()).lines(&fonts, theme::BODY, width, usize::MAX);
            let joined: Vec<String> = lines.iter().map(|line| Rich(faces(line)).plain()).collect();
            prop_assert_eq!(joined.join(" "), text);
        }
    }
}
