//! Blocks of words: headings, paragraphs, lists, and stacks of blocks.

use std::borrow::Cow;

use super::layout::{Pen, Place};
use super::theme::{self, TypeSize};
use crate::draw::{Align, Colour, Face, Fonts, Item, Role, Tag, TextStyle};

/// A part of a page that knows its height before it is drawn.
pub trait Block {
    /// Height at this width, in millimetres.
    fn height_mm(&self, fonts: &Fonts, width_mm: f64) -> f64;
    /// Draws it, tagged, in exactly that height.
    fn draw(&self, pen: &mut Pen<'_>, at: Place);
    /// Hands over every text of it, in reading order.
    fn texts(&self, see: &mut dyn FnMut(&str));
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
        let pieces = words(&cleaned);
        let mut lines: Vec<RichLine> = Vec::new();
        let mut line = RichLine::default();
        let mut measure = Measure::new(fonts, size);
        for word in pieces.chunk_by(|_, next| !next.begins_word) {
            let mut longer = measure.clone();
            longer.space();
            for piece in word {
                longer.append(piece.face, piece.text);
            }
            if longer.width_mm() <= width_mm {
                measure = longer;
                line.append_word(word);
                continue;
            }
            if !line.0.is_empty() {
                lines.push(std::mem::take(&mut line));
            }
            line = break_word(word, fonts, size, width_mm, &mut lines);
            measure = Measure::of(&line, fonts, size);
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

/// Words, each in as many faces as it has; what is not separated by a space stays together.
fn words<'a>(cleaned: &'a [(Face, Cow<'_, str>)]) -> Vec<Piece<'a>> {
    let mut pieces = Vec::new();
    let mut open = false;
    for (face, text) in cleaned {
        for (position, text) in text.split(' ').enumerate() {
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

/// Width of a line while words are put behind it: each text is measured once, not again with each word after it.
#[derive(Clone)]
struct Measure<'a> {
    fonts: &'a Fonts,
    size: TypeSize,
    /// Width of the runs before the last.
    before_mm: f64,
    /// The last run: face, width and last character.
    last: Option<(Face, i32, Option<char>)>,
}

impl<'a> Measure<'a> {
    fn new(fonts: &'a Fonts, size: TypeSize) -> Self {
        Self {
            fonts,
            size,
            before_mm: 0.0,
            last: None,
        }
    }

    fn of(line: &RichLine, fonts: &'a Fonts, size: TypeSize) -> Self {
        let mut measure = Self::new(fonts, size);
        for (face, text) in &line.0 {
            measure.append(*face, text);
        }
        measure
    }

    fn width_mm(&self) -> f64 {
        self.last.map_or(0.0, |(_, milli, _)| {
            self.before_mm + Fonts::milli_mm(milli, self.size.size_pt)
        })
    }

    /// A space before the next word, in the face of the one before; none at the start of a line.
    fn space(&mut self) {
        if let Some((face, ..)) = self.last {
            self.append(face, " ");
        }
    }

    /// As [`RichLine::append`].
    fn append(&mut self, face: Face, text: &str) {
        let end = text.chars().next_back();
        self.last = Some(match self.last {
            Some((last, milli, left)) if last == face => (
                face,
                milli + self.fonts.width_after_milli(left, text, face),
                end.or(left),
            ),
            other => {
                if other.is_some() {
                    self.before_mm = self.width_mm();
                }
                (face, self.fonts.width_milli(text, face), end)
            }
        });
    }
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

/// One line in as many faces as it has.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct RichLine(pub Vec<(Face, String)>);

impl RichLine {
    fn append(&mut self, face: Face, text: &str) {
        match self.0.last_mut() {
            Some((last, run)) if *last == face => run.push_str(text),
            _ => self.0.push((face, text.to_owned())),
        }
    }

    fn append_word(&mut self, word: &[Piece<'_>]) {
        if let Some((_, run)) = self.0.last_mut() {
            run.push(' ');
        }
        for piece in word {
            self.append(piece.face, piece.text);
        }
    }

    /// Width, of words that have been cleaned.
    pub fn width_mm(&self, fonts: &Fonts, size: TypeSize) -> f64 {
        self.0
            .iter()
            .map(|(face, text)| fonts.width_mm(text, *face, size.size_pt))
            .sum()
    }

    /// Makes room for a visible mark that something was left out.
    fn shorten(&mut self, fonts: &Fonts, size: TypeSize, width_mm: f64) {
        let Some((face, run)) = self.0.pop() else {
            return;
        };
        let before = self.width_mm(fonts, size);
        let more = format!("{run} …");
        let fitted = fonts.fit(&more, face, size.size_pt, width_mm - before);
        self.0.push((face, fitted.into_owned()));
    }

    /// Draws the line; it is tagged by the caller.
    pub fn draw(
        &self,
        pen: &mut Pen<'_>,
        x_mm: f64,
        baseline_mm: f64,
        align: Align,
        size: TypeSize,
        colour: Colour,
    ) {
        let width = self.width_mm(pen.fonts, size);
        let mut x_mm = match align {
            Align::Left => x_mm,
            Align::Centre => x_mm - width / 2.0,
            Align::Right => x_mm - width,
        };
        for (face, text) in &self.0 {
            let style = TextStyle {
                face: *face,
                size_pt: size.size_pt,
                colour,
            };
            let item = pen
                .fonts
                .place(text.as_str(), x_mm, baseline_mm, Align::Left, style);
            pen.items.push(item);
            x_mm += pen.fonts.width_mm(text, *face, size.size_pt);
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
    line.append_word(word);
    if line.width_mm(fonts, size) <= width_mm {
        return line;
    }
    let whole = std::mem::take(&mut line);
    let mut measure = Measure::new(fonts, size);
    for (face, text) in &whole.0 {
        for character in text.chars() {
            let mut letter = [0; 4];
            let letter: &str = character.encode_utf8(&mut letter);
            let mut longer = measure.clone();
            longer.append(*face, letter);
            if longer.width_mm() > width_mm && !line.0.is_empty() {
                lines.push(std::mem::take(&mut line));
                measure = Measure::new(fonts, size);
                measure.append(*face, letter);
            } else {
                measure = longer;
            }
            line.append(*face, letter);
        }
    }
    line
}

/// Draws lines under each other from `at`, left-aligned.
pub fn draw_lines(
    pen: &mut Pen<'_>,
    lines: &[RichLine],
    at: Place,
    size: TypeSize,
    colour: Colour,
) {
    for (position, line) in lines.iter().enumerate() {
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
    fn height_mm(&self, fonts: &Fonts, width_mm: f64) -> f64 {
        let lines = self
            .text
            .lines(fonts, theme::BODY, width_mm, usize::MAX)
            .len();
        theme::RULE_GAP_MM + lines as f64 * theme::BODY.pitch_mm + theme::HEADING_GAP_MM
    }

    fn draw(&self, pen: &mut Pen<'_>, at: Place) {
        pen.items.push(Item::line(
            (at.x_mm, at.y_mm),
            (at.x_mm + at.width_mm, at.y_mm),
            theme::RULE,
        ));
        let lines = self
            .text
            .lines(pen.fonts, theme::BODY, at.width_mm, usize::MAX);
        let below = Place {
            y_mm: at.y_mm + theme::RULE_GAP_MM,
            ..at
        };
        pen.tagged(Tag::new(self.role), |pen| {
            draw_lines(pen, &lines, below, theme::BODY, theme::INK);
        });
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
    fn height_mm(&self, fonts: &Fonts, width_mm: f64) -> f64 {
        let lines = self.text.lines(fonts, self.size, width_mm, self.most_lines);
        lines.len() as f64 * self.size.pitch_mm
    }

    fn draw(&self, pen: &mut Pen<'_>, at: Place) {
        let lines = self
            .text
            .lines(pen.fonts, self.size, at.width_mm, self.most_lines);
        if !lines.is_empty() {
            pen.tagged(Tag::new(Role::P), |pen| {
                draw_lines(pen, &lines, at, self.size, self.colour);
            });
        }
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

    fn lines(&self, fonts: &Fonts, text: &Rich, width_mm: f64) -> Vec<RichLine> {
        text.lines(fonts, self.size, width_mm - self.mark_mm, self.most_lines)
    }
}

impl Block for Items {
    fn height_mm(&self, fonts: &Fonts, width_mm: f64) -> f64 {
        let lines = |(_, text): &(String, Rich)| self.lines(fonts, text, width_mm).len().max(1);
        self.items.iter().map(lines).sum::<usize>() as f64 * self.size.pitch_mm
    }

    fn draw(&self, pen: &mut Pen<'_>, at: Place) {
        if self.items.is_empty() {
            return;
        }
        let size = self.size;
        pen.tagged(Tag::new(Role::List), |pen| {
            let mut y_mm = at.y_mm;
            for (mark, text) in &self.items {
                let lines = self.lines(pen.fonts, text, at.width_mm);
                pen.tagged(Tag::new(Role::ListItem), |pen| {
                    let mark = RichLine(vec![(Face::Semibold, mark.clone())]);
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
                    draw_lines(pen, &lines, beside, size, theme::INK);
                });
                y_mm += lines.len().max(1) as f64 * size.pitch_mm;
            }
        });
    }

    fn texts(&self, see: &mut dyn FnMut(&str)) {
        for (_, text) in &self.items {
            see(&text.plain());
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
    fn height_mm(&self, fonts: &Fonts, width_mm: f64) -> f64 {
        self.blocks
            .iter()
            .map(|(gap, block)| gap + block.height_mm(fonts, width_mm))
            .sum()
    }

    fn draw(&self, pen: &mut Pen<'_>, at: Place) {
        let mut y_mm = at.y_mm;
        for (gap, block) in &self.blocks {
            y_mm += gap;
            block.draw(pen, Place { y_mm, ..at });
            y_mm += block.height_mm(pen.fonts, at.width_mm);
        }
    }

    fn texts(&self, see: &mut dyn FnMut(&str)) {
        for (_, block) in &self.blocks {
            block.texts(see);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn faces_that_touch_stay_one_word() {
        let fonts = Fonts::load();
        let text = Rich::bold("Leak").and(": mild");
        let lines = text.lines(&fonts, theme::BODY, 100.0, 9);
        assert_eq!(lines.len(), 1);
        assert_eq!(
            lines[0].0,
            vec![
                (Face::Semibold, "Leak".into()),
                (Face::Regular, ": mild".into())
            ]
        );
    }

    #[test]
    fn what_is_left_out_is_marked() {
        let fonts = Fonts::load();
        let text = Rich::from("one two three four five six seven eight nine ten");
        let lines = text.lines(&fonts, theme::BODY, 15.0, 2);
        assert_eq!(lines.len(), 2);
        assert!(lines[1].0[0].1.ends_with('…'), "{lines:?}");
    }

    proptest! {
        #[test]
        fn prop_no_line_is_wider_than_its_place(text in "[a-zA-Zα-ω0-9 .,]{0,200}", width in 8.0..120.0f64, most in 1usize..5) {
            let fonts = Fonts::load();
            for line in Rich::from(text).lines(&fonts, theme::BODY, width, most) {
                prop_assert!(line.width_mm(&fonts, theme::BODY) <= width + 1e-9);
            }
        }

        #[test]
        fn prop_wrapping_loses_no_word(text in "[a-z]{1,8}( [a-z]{1,8}){0,30}", width in 20.0..90.0f64) {
            let fonts = Fonts::load();
            let lines = Rich::from(text.as_str()).lines(&fonts, theme::BODY, width, usize::MAX);
            let joined: Vec<String> = lines.iter().map(|line| Rich(line.0.clone()).plain()).collect();
            prop_assert_eq!(joined.join(" "), text);
        }
    }
}
