//! The page's type: which characters exist, how wide a text is.

use super::PT_PER_MM;
use super::item::{Colour, Face, Item};
use rustybuzz::ttf_parser::Tag;
use rustybuzz::{Feature, ShapePlan, UnicodeBuffer};
use std::sync::OnceLock;
use std::sync::atomic::{AtomicU16, Ordering};

/// Characters are looked up in a table below this code point; nothing above it is written.
const TABLE_END: usize = 0x2800;
/// Kerns are stored with this added, so that 0 means "not asked yet".
const KERN_BIAS: i32 = 0x4000;

/// Which end of a text is fixed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum Align {
    /// It starts at x.
    #[default]
    Left,
    /// Its middle is at x.
    Centre,
    /// It ends at x.
    Right,
}

/// How a text looks.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TextStyle {
    /// Face.
    pub face: Face,
    /// Type size in points.
    pub size_pt: f64,
    /// Colour.
    pub colour: Colour,
}

/// Both faces, loaded once and shared by all threads.
///
/// Widths are those written into the file: whole thousandths of an em, with the kerning of each
/// pair of neighbours. Ligatures are off, so that every character stays searchable.
pub struct Fonts {
    faces: [FaceTable; 2],
    /// By code point: whether the character is written as it came, with nothing to join, replace or leave out.
    as_it_came: Vec<bool>,
}

struct FaceTable {
    data: &'static [u8],
    shaper: rustybuzz::Face<'static>,
    plan: ShapePlan,
    /// Position in `glyphs` of a code point, plus one; 0 where there is none.
    places: Vec<u16>,
    glyphs: Vec<Glyph>,
    /// One row per left neighbour, made when it is first needed.
    kerns: Vec<OnceLock<Box<[AtomicU16]>>>,
}

#[derive(Clone, Copy)]
struct Glyph {
    character: char,
    id: u16,
    advance: u16,
}

static REGULAR: &[u8] = include_bytes!("../../fonts/SourceSans3-Regular.ttf");
static SEMIBOLD: &[u8] = include_bytes!("../../fonts/SourceSans3-Semibold.ttf");

impl Fonts {
    /// Height of capitals and figures, as a part of the type size.
    pub const CAP_HEIGHT_EM: f64 = 0.66;
    /// Height of small letters without ascender, as a part of the type size.
    pub const X_HEIGHT_EM: f64 = 0.486;

    /// Reads the faces compiled into the program.
    ///
    /// # Panics
    /// Never with the faces of this repository; a test loads them.
    pub fn load() -> Fonts {
        let mut fonts = Fonts {
            faces: [FaceTable::new(REGULAR), FaceTable::new(SEMIBOLD)],
            as_it_came: Vec::new(),
        };
        fonts.as_it_came = (0..TABLE_END as u32)
            .map(|code| char::from_u32(code).is_some_and(|c| super::written::stays(c, &fonts)))
            .collect();
        fonts
    }

    /// Whether every character of a text is written as it came.
    pub(super) fn all_as_they_came(&self, text: &str) -> bool {
        text.chars()
            .all(|character| self.as_it_came.get(character as usize) == Some(&true))
    }

    /// Width of a text on one line, in millimetres.
    pub fn width_mm(&self, text: &str, face: Face, size_pt: f64) -> f64 {
        Fonts::milli_mm(self.width_milli(text, face), size_pt)
    }

    /// Thousandths of the type size in millimetres.
    pub fn milli_mm(milli: i32, size_pt: f64) -> f64 {
        f64::from(milli) * size_pt / 1000.0 / PT_PER_MM
    }

    /// Width of a text on one line, in thousandths of the type size. A character that is not
    /// covered counts as one em.
    pub fn width_milli(&self, text: &str, face: Face) -> i32 {
        self.width_after_milli(None, text, face)
    }

    /// How much wider a line becomes when this text is put behind its last character, in thousandths of the type size.
    pub fn width_after_milli(&self, last: Option<char>, text: &str, face: Face) -> i32 {
        let table = &self.faces[face.index()];
        let mut width = 0;
        let mut left = last.and_then(|last| table.place(last));
        for character in text.chars() {
            let right = table.place(character);
            if let (Some(left), Some(right)) = (left, right) {
                width += table.kern(left, right);
            }
            width += right.map_or(1000, |place| i32::from(table.glyphs[place].advance));
            left = right;
        }
        width
    }

    /// Whether both faces draw this character and it stands by itself (is no control, no mark to be
    /// put over another character, nothing invisible).
    pub fn covers(&self, character: char) -> bool {
        self.faces
            .iter()
            .all(|table| table.place(character).is_some())
    }

    /// A text item with its start, middle or end at `x_mm`.
    pub fn place(
        &self,
        text: impl Into<String>,
        x_mm: f64,
        baseline_mm: f64,
        align: Align,
        style: TextStyle,
    ) -> Item {
        let text = text.into();
        let before_mm = self.before_mm(&text, align, style);
        let TextStyle {
            face,
            size_pt,
            colour,
        } = style;
        Item::Text {
            x_mm: x_mm - before_mm,
            baseline_mm,
            size_pt,
            face,
            colour,
            text,
            rotated: false,
        }
    }

    /// A text item that runs upward on the baseline `baseline_x_mm`, with its start, middle or end at
    /// `y_mm`.
    pub fn place_upward(
        &self,
        text: impl Into<String>,
        baseline_x_mm: f64,
        y_mm: f64,
        align: Align,
        style: TextStyle,
    ) -> Item {
        let text = text.into();
        let baseline_mm = y_mm + self.before_mm(&text, align, style);
        let TextStyle {
            face,
            size_pt,
            colour,
        } = style;
        Item::Text {
            x_mm: baseline_x_mm,
            baseline_mm,
            size_pt,
            face,
            colour,
            text,
            rotated: true,
        }
    }

    /// How much of a text stands before its fixed point.
    fn before_mm(&self, text: &str, align: Align, style: TextStyle) -> f64 {
        let part = match align {
            Align::Left => return 0.0,
            Align::Centre => 0.5,
            Align::Right => 1.0,
        };
        part * self.width_mm(text, style.face, style.size_pt)
    }

    /// The font file of a face.
    pub fn data(&self, face: Face) -> &'static [u8] {
        self.faces[face.index()].data
    }

    /// Glyph number and width (thousandths of an em) of a character, or `None` where not covered.
    pub fn glyph(&self, character: char, face: Face) -> Option<(u16, u16)> {
        let table = &self.faces[face.index()];
        table
            .place(character)
            .map(|place| (table.glyphs[place].id, table.glyphs[place].advance))
    }

    /// How much the gap between two neighbours is widened, in thousandths of an em; negative draws
    /// them together.
    pub fn kern_milli(&self, left: char, right: char, face: Face) -> i32 {
        let table = &self.faces[face.index()];
        match (table.place(left), table.place(right)) {
            (Some(left), Some(right)) => table.kern(left, right),
            _ => 0,
        }
    }

    /// The characters of a text, each with [`Fonts::kern_milli`] of the one before it and itself.
    pub fn kerned<'t>(
        &'t self,
        text: &'t str,
        face: Face,
    ) -> impl Iterator<Item = (char, i32)> + 't {
        let table = &self.faces[face.index()];
        let mut left = None;
        text.chars().map(move |character| {
            let right = table.place(character);
            let kern = match (left, right) {
                (Some(left), Some(right)) => table.kern(left, right),
                _ => 0,
            };
            left = right;
            (character, kern)
        })
    }
}

impl FaceTable {
    fn new(data: &'static [u8]) -> FaceTable {
        let shaper =
            rustybuzz::Face::from_slice(data, 0).expect("the font file is part of the program");
        let per_em = u32::try_from(shaper.units_per_em()).unwrap_or(1000).max(1);
        let mut glyphs = Vec::new();
        let mut places = vec![0; TABLE_END];
        for (code, place) in (0u32..).zip(places.iter_mut()) {
            let Some(character) =
                char::from_u32(code).filter(|c| !super::written::stands_not_alone(*c))
            else {
                continue;
            };
            let Some(glyph) = shaper.glyph_index(character).filter(|glyph| glyph.0 != 0) else {
                continue;
            };
            let units = u32::from(shaper.glyph_hor_advance(glyph).unwrap_or(0));
            let advance = (units * 1000 + per_em / 2) / per_em;
            glyphs.push(Glyph {
                character,
                id: glyph.0,
                advance: advance as u16,
            });
            *place = glyphs.len() as u16;
        }
        let kerns = glyphs.iter().map(|_| OnceLock::new()).collect();
        let plan = ShapePlan::new(
            &shaper,
            rustybuzz::Direction::LeftToRight,
            Some(rustybuzz::script::LATIN),
            None,
            // Neither ligatures nor other forms of a letter by neighbour or script: one glyph a character.
            &[b"liga", b"ccmp", b"locl"].map(|name| Feature::new(Tag::from_bytes(name), 0, ..)),
        );
        FaceTable {
            data,
            shaper,
            plan,
            places,
            glyphs,
            kerns,
        }
    }

    #[inline]
    fn place(&self, character: char) -> Option<usize> {
        let place = *self.places.get(character as usize)?;
        usize::from(place).checked_sub(1)
    }

    /// Asked for every character that is measured or written, so what was asked before is answered first.
    #[inline]
    fn kern(&self, left: usize, right: usize) -> i32 {
        let row = self.kerns[left].get();
        match row.map_or(0, |row| row[right].load(Ordering::Relaxed)) {
            0 => self.new_kern(left, right),
            stored => i32::from(stored) - KERN_BIAS,
        }
    }

    #[cold]
    fn new_kern(&self, left: usize, right: usize) -> i32 {
        let row = self.kerns[left]
            .get_or_init(|| self.glyphs.iter().map(|_| AtomicU16::new(0)).collect());
        // Two threads may both find it missing; they then store the same number.
        let kern = self.shaped_kern(self.glyphs[left], self.glyphs[right]);
        row[right].store((kern + KERN_BIAS) as u16, Ordering::Relaxed);
        kern
    }

    /// The face keeps one kerning table for all scripts, so a pair may be shaped as Latin always.
    fn shaped_kern(&self, left: Glyph, right: Glyph) -> i32 {
        let mut buffer = UnicodeBuffer::new();
        buffer.add(left.character, 0);
        buffer.add(right.character, 1);
        buffer.set_direction(rustybuzz::Direction::LeftToRight);
        buffer.set_script(rustybuzz::script::LATIN);
        let shaped = rustybuzz::shape_with_plan(&self.shaper, &self.plan, buffer);
        let ids = shaped.glyph_infos().iter().map(|info| info.glyph_id);
        if !ids.eq([u32::from(left.id), u32::from(right.id)]) {
            return 0;
        }
        let advance: i32 = shaped
            .glyph_positions()
            .iter()
            .map(|position| position.x_advance)
            .sum();
        let per_em = self.shaper.units_per_em().max(1);
        let nominal = i32::from(left.advance) + i32::from(right.advance);
        (advance * 1000 / per_em - nominal).clamp(1 - KERN_BIAS, KERN_BIAS)
    }
}
