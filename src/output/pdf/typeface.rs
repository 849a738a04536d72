//! The faces as they are embedded: a subset of glyphs, their widths and their characters.
//!
//! A glyph's number in the file is the place of its character in a fixed list, so the sets below
//! are cut out and compressed once for all documents and threads. A document with a character in
//! neither set gets a set of its own; the latest of these are kept. Each set begins with all of the next smaller one, so that a
//! number is the same in all that have it.

use super::PdfError;
use super::content::push_reference;
use super::objects::Objects;
use super::skeleton::deflated;
use crate::draw::{Face, Fonts, Item};
use lopdf::{Object, dictionary};
use std::collections::{BTreeSet, VecDeque};
use std::fmt::Write;
use std::sync::{Arc, Mutex, OnceLock, PoisonError};

/// Signs beyond ASCII on most pages.
const SIGNS: &str = "\u{a0}·–—−±×²³°‘’“”…‹›§½¼¾†‡•→←↑↓↔≥≤≈≠₂⁻¹√∞✓′ΔμΣσ%";

/// Blocks of letters in the wide set: Latin-1, Latin Extended-A, Greek, Cyrillic.
const LETTERS: [(u32, u32); 4] = [(0xa1, 0xff), (0x100, 0x17f), (0x370, 0x3ff), (0x400, 0x45f)];

/// The resource names of the faces, in the order of [`Face::index`].
pub(super) const RESOURCE_NAMES: [&str; 2] = ["SRCREG", "SRCBLD"];

/// Sets of documents' own that are kept, about 80 kB each.
const MOST_OWN: usize = 8;

/// A set with characters beyond the wide one, in ascending order.
struct Own {
    face: Face,
    beyond_wide: Vec<char>,
    embedded: Arc<Embedded>,
}

/// The latest of them, the last first: a rare sign or letter comes again from page to page, and cutting out a set and
/// compressing it takes longer than three pages.
static OWN: Mutex<VecDeque<Own>> = Mutex::new(VecDeque::new());

static CORE: [OnceLock<Arc<Embedded>>; 2] = [const { OnceLock::new() }; 2];
static WIDE: [OnceLock<Arc<Embedded>>; 2] = [const { OnceLock::new() }; 2];

/// The faces one document embeds; one that it does not use is left out.
pub(super) struct Faces([Option<Arc<Embedded>>; 2]);

/// A face as embedded.
struct Embedded {
    base_name: String,
    /// Glyph number in the file by code point; 0 where there is none.
    glyphs: Vec<u16>,
    /// What is the same in every file of the font dictionary with the widths.
    descendant: Vec<u8>,
    file: Vec<u8>,
    file_length: i64,
    to_unicode: Vec<u8>,
    metrics: [i64; 7],
}

/// The characters that texts need.
#[derive(Default)]
pub(super) struct Needs {
    /// Whether a face is used at all.
    used: [bool; 2],
    /// Those that are not in the smallest set.
    beyond_core: [BTreeSet<char>; 2],
}

impl Needs {
    /// What the texts among these items need.
    pub(super) fn of(items: &[Item], fonts: &Fonts) -> Result<Needs, PdfError> {
        let core = [core(fonts, Face::Regular)?, core(fonts, Face::Semibold)?];
        let mut needs = Needs::default();
        for item in items {
            let Item::Text { face, text, .. } = item else {
                continue;
            };
            let face = face.index();
            needs.used[face] = true;
            let glyphs = &core[face].glyphs;
            let is_beyond = |&character: &char| {
                glyphs
                    .get(character as usize)
                    .is_none_or(|&glyph| glyph == 0)
            };
            // Seldom so: a look at each character costs less than handing all of them to the set.
            if text.chars().any(|character| is_beyond(&character)) {
                needs.beyond_core[face].extend(text.chars().filter(is_beyond));
            }
        }
        Ok(needs)
    }

    /// Adds what another needs.
    pub(super) fn extend(&mut self, other: &Needs) {
        for face in Face::ALL.map(Face::index) {
            self.used[face] |= other.used[face];
            self.beyond_core[face].extend(&other.beyond_core[face]);
        }
    }

    /// Whether another needs nothing more.
    fn hold(&self, other: &Needs) -> bool {
        Face::ALL.map(Face::index).into_iter().all(|face| {
            self.used[face] >= other.used[face]
                && other.beyond_core[face].is_subset(&self.beyond_core[face])
        })
    }

    /// Whether every character is in a set that is the beginning of all larger ones, so that its number is settled.
    pub(super) fn are_common(&self, fonts: &Fonts) -> Result<bool, PdfError> {
        for face in Face::ALL {
            let beyond = &self.beyond_core[face.index()];
            if !beyond.is_empty() && !in_wide(&*wide(fonts, face)?, fonts, beyond) {
                return Ok(false);
            }
        }
        Ok(true)
    }
}

impl Faces {
    /// The smallest sets that hold these characters.
    pub(super) fn that_hold(needs: &Needs, fonts: &Fonts) -> Result<Faces, PdfError> {
        let choose = |face: Face| -> Result<Option<Arc<Embedded>>, PdfError> {
            let beyond = &needs.beyond_core[face.index()];
            if !needs.used[face.index()] {
                Ok(None)
            } else if beyond.is_empty() {
                core(fonts, face).map(Some)
            } else {
                beyond_core_set(fonts, face, beyond).map(Some)
            }
        };
        Ok(Faces([choose(Face::Regular)?, choose(Face::Semibold)?]))
    }

    /// The number of a character's glyph in the file.
    pub(super) fn glyph(&self, character: char, face: Face) -> Option<u16> {
        self.0[face.index()].as_ref()?.glyph(character)
    }

    /// Writes the faces and fills the pages' font resources.
    pub(super) fn add_to(&self, file: &mut impl Objects) {
        for (embedded, name) in self.0.iter().zip(RESOURCE_NAMES) {
            if let Some(embedded) = embedded {
                let font = embedded.add_to(file);
                file.add_font(name, font);
            }
        }
    }
}

/// The faces of a document that is written sheet by sheet: a rare character gets the next number where it is needed
/// first, and keeps it.
#[derive(Default)]
pub(super) struct Growing {
    needs: Needs,
    /// Characters beyond the wide set, in the order in which they came.
    rare: [Vec<char>; 2],
    /// As settled last; cut anew where characters came since.
    faces: Option<Faces>,
}

impl Growing {
    /// Adds what another sheet needs.
    pub(super) fn extend(&mut self, needs: &Needs, fonts: &Fonts) -> Result<(), PdfError> {
        if self.needs.hold(needs) {
            return Ok(());
        }
        for face in Face::ALL.map(Face::index) {
            let known = &self.needs.beyond_core[face];
            for &character in needs.beyond_core[face].difference(known) {
                if !in_wide(&*wide(fonts, Face::ALL[face])?, fonts, &[character].into()) {
                    self.rare[face].push(character);
                }
            }
        }
        self.needs.extend(needs);
        self.faces = None;
        Ok(())
    }

    /// The smallest sets that hold every character so far.
    pub(super) fn settled(&mut self, fonts: &Fonts) -> Result<&Faces, PdfError> {
        if self.faces.is_none() {
            let mut faces = Faces::that_hold(&self.needs, fonts)?;
            for face in Face::ALL {
                let rare = &self.rare[face.index()];
                if !rare.is_empty() {
                    let own = own_set(fonts, face, rare)?;
                    faces.0[face.index()] = Some(Arc::new(own));
                }
            }
            self.faces = Some(faces);
        }
        Ok(self.faces.as_ref().expect("just settled"))
    }
}

fn core(fonts: &Fonts, face: Face) -> Result<Arc<Embedded>, PdfError> {
    shared(&CORE[face.index()], fonts, face, "CORE", core_characters)
}

fn beyond_core_set(
    fonts: &Fonts,
    face: Face,
    beyond: &BTreeSet<char>,
) -> Result<Arc<Embedded>, PdfError> {
    let wide = wide(fonts, face)?;
    if in_wide(&wide, fonts, beyond) {
        return Ok(wide);
    }
    let beyond_wide: Vec<char> = beyond
        .iter()
        .copied()
        .filter(|&character| wide.glyph(character).is_none())
        .collect();
    if let Some(own) = kept_own(face, &beyond_wide) {
        return Ok(own);
    }
    let embedded = Arc::new(own_set(fonts, face, &beyond_wide)?);
    let mut kept = OWN.lock().unwrap_or_else(PoisonError::into_inner);
    kept.truncate(MOST_OWN - 1);
    kept.push_front(Own {
        face,
        beyond_wide,
        embedded: Arc::clone(&embedded),
    });
    Ok(embedded)
}

/// The set that was made for these characters, if it is still kept. A set follows from its characters alone, so the file
/// is the same whether it was kept or is made again.
fn kept_own(face: Face, beyond_wide: &[char]) -> Option<Arc<Embedded>> {
    let kept = OWN.lock().unwrap_or_else(PoisonError::into_inner);
    kept.iter()
        .find(|own| own.face == face && own.beyond_wide == beyond_wide)
        .map(|own| Arc::clone(&own.embedded))
}

/// A set for one document: these characters behind the wide set.
fn own_set<'c>(
    fonts: &Fonts,
    face: Face,
    beyond: impl IntoIterator<Item = &'c char>,
) -> Result<Embedded, PdfError> {
    let mut characters = wide_characters();
    characters.extend(beyond);
    Embedded::new(fonts, face, "OWNS", &characters)
}

fn wide(fonts: &Fonts, face: Face) -> Result<Arc<Embedded>, PdfError> {
    shared(&WIDE[face.index()], fonts, face, "WIDE", wide_characters)
}

/// Whether the wide set holds all of these that the face draws.
fn in_wide(wide: &Embedded, fonts: &Fonts, beyond: &BTreeSet<char>) -> bool {
    beyond
        .iter()
        .all(|&character| wide.glyph(character).is_some() || !fonts.covers(character))
}

fn shared(
    place: &OnceLock<Arc<Embedded>>,
    fonts: &Fonts,
    face: Face,
    tag: &str,
    characters: fn() -> Vec<char>,
) -> Result<Arc<Embedded>, PdfError> {
    if let Some(embedded) = place.get() {
        return Ok(Arc::clone(embedded));
    }
    let embedded = Arc::new(Embedded::new(fonts, face, tag, &characters())?);
    Ok(Arc::clone(place.get_or_init(|| embedded)))
}

fn core_characters() -> Vec<char> {
    (' '..='~').chain(SIGNS.chars()).collect()
}

fn wide_characters() -> Vec<char> {
    let letters = LETTERS
        .iter()
        .flat_map(|&(first, last)| (first..=last).filter_map(char::from_u32));
    core_characters().into_iter().chain(letters).collect()
}

impl Embedded {
    fn new(
        fonts: &Fonts,
        face: Face,
        tag: &str,
        characters: &[char],
    ) -> Result<Embedded, PdfError> {
        let data = fonts.data(face);
        let mut remapper = subsetter::GlyphRemapper::new();
        let mut glyphs = Vec::new();
        let mut widths = vec![0_u16];
        let mut written = vec![];
        for &character in characters {
            let Some((id, width)) = fonts.glyph(character, face) else {
                continue;
            };
            let place = remapper.remap(id);
            if glyphs.len() <= character as usize {
                glyphs.resize(character as usize + 1, 0);
            }
            glyphs[character as usize] = place;
            if usize::from(place) == widths.len() {
                widths.push(width);
                written.push((place, character));
            }
        }
        let subset = subsetter::subset(data, 0, &remapper)
            .map_err(|fault| PdfError::Library(format!("font subset: {fault:?}")))?;
        let face_letter = ["RG", "SB"][face.index()];
        let family = ["SourceSans3-Regular", "SourceSans3-Semibold"][face.index()];
        let base_name = format!("{tag}{face_letter}+{family}");
        Ok(Embedded {
            glyphs,
            descendant: descendant(&base_name, &widths),
            base_name,
            file_length: subset.len() as i64,
            file: deflated(&subset, 9),
            to_unicode: deflated(to_unicode(&written).as_bytes(), 9),
            metrics: metrics(data)?,
        })
    }

    fn glyph(&self, character: char) -> Option<u16> {
        self.glyphs
            .get(character as usize)
            .copied()
            .filter(|&glyph| glyph != 0)
    }

    fn add_to(&self, file: &mut impl Objects) -> lopdf::ObjectId {
        let name = || Object::Name(self.base_name.clone().into_bytes());
        let program = file.add_deflated(
            dictionary! { "Length1" => self.file_length },
            self.file.clone(),
        );
        let [x_min, y_min, x_max, y_max, ascent, descent, cap_height] =
            self.metrics.map(Object::Integer);
        let descriptor = file.add(dictionary! {
            "Type" => "FontDescriptor",
            "FontName" => name(),
            "Flags" => 4,
            "FontBBox" => vec![x_min, y_min, x_max, y_max],
            "ItalicAngle" => 0,
            "Ascent" => ascent,
            "Descent" => descent,
            "CapHeight" => cap_height,
            "StemV" => if self.base_name.ends_with("Regular") { 84 } else { 130 },
            "FontFile2" => program,
        });
        let descendant = file.reserve();
        file.write(descendant, |bytes| {
            bytes.extend_from_slice(b"<</Type /Font/Subtype /CIDFontType2/FontDescriptor ");
            push_reference(bytes, descriptor);
            bytes.extend_from_slice(&self.descendant);
        });
        let to_unicode = file.add_deflated(lopdf::Dictionary::new(), self.to_unicode.clone());
        file.add(dictionary! {
            "Type" => "Font",
            "Subtype" => "Type0",
            "BaseFont" => name(),
            "Encoding" => "Identity-H",
            "DescendantFonts" => vec![Object::Reference(descendant)],
            "ToUnicode" => to_unicode,
        })
    }
}

/// The font dictionary of a face from behind its descriptor on.
fn descendant(base_name: &str, widths: &[u16]) -> Vec<u8> {
    let widths: Vec<String> = widths.iter().map(u16::to_string).collect();
    format!(
        "/BaseFont /{base_name}\
         /CIDSystemInfo <</Registry (Adobe)/Ordering (Identity)/Supplement 0>>\
         /DW 0/W [0 [{}]]/CIDToGIDMap /Identity>>",
        widths.join(" ")
    )
    .into_bytes()
}

/// Bounding box, ascent, descent and height of capitals, in thousandths of an em.
fn metrics(data: &[u8]) -> Result<[i64; 7], PdfError> {
    let face = ttf_parser::Face::parse(data, 0)
        .map_err(|fault| PdfError::Library(format!("font: {fault}")))?;
    let per_em = i64::from(face.units_per_em());
    let bounds = face.global_bounding_box();
    let cap_height = face.capital_height().unwrap_or(face.ascender());
    let units = [
        bounds.x_min,
        bounds.y_min,
        bounds.x_max,
        bounds.y_max,
        face.ascender(),
        face.descender(),
        cap_height,
    ];
    Ok(units.map(|value| i64::from(value) * 1000 / per_em))
}

/// The character map of a subset, so that its text can be searched and copied.
fn to_unicode(written: &[(u16, char)]) -> String {
    let mut map = String::from(
        "/CIDInit /ProcSet findresource begin\n12 dict begin\nbegincmap\n\
         /CIDSystemInfo << /Registry (Adobe) /Ordering (UCS) /Supplement 0 >> def\n\
         /CMapName /Adobe-Identity-UCS def\n/CMapType 2 def\n\
         1 begincodespacerange\n<0000> <FFFF>\nendcodespacerange\n",
    );
    for block in written.chunks(100) {
        writeln!(map, "{} beginbfchar", block.len()).expect("writing to a string");
        for &(glyph, character) in block {
            let units = character
                .encode_utf16(&mut [0; 2])
                .iter()
                .fold(String::new(), |hex, unit| format!("{hex}{unit:04X}"));
            writeln!(map, "<{glyph:04X}> <{units}>").expect("writing to a string");
        }
        map.push_str("endbfchar\n");
    }
    map.push_str("endcmap\nCMapName currentdict /CMap defineresource pop\nend\nend\n");
    map
}
