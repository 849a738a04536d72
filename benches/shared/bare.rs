//! The floor: the operations of a page through a bare writer of PDF. No tags, no archive metadata, no outline.
//!
//! The faces are cut to the characters of all pages and compressed once, as a careful user of the writer would.

use std::collections::BTreeSet;
use std::io::Write as _;

use pdf_writer::types::{CidFontType, FontFlags, SystemInfo, UnicodeCmap};
use pdf_writer::{Content, Filter, Finish, Name, Pdf, Rect, Ref, Str};
use valvefolio::draw::{Colour, Document, Face, Fonts, Item, PT_PER_MM, Point, Sheet, Stroke};

const NAMES: [Name; 2] = [Name(b"R"), Name(b"S")];
const IDENTITY: SystemInfo = SystemInfo {
    registry: Str(b"Adobe"),
    ordering: Str(b"Identity"),
    supplement: 0,
};
/// Compression of the content, the same as ours.
const LEVEL: u32 = 2;
/// Control points of a quarter circle, as a part of the radius.
pub const QUARTER: f64 = 0.552_284_75;

/// Both faces, cut to what the pages use.
pub struct BareFonts {
    faces: [Subset; 2],
}

struct Subset {
    /// Glyph number by code point.
    glyphs: Vec<u16>,
    widths: Vec<f32>,
    program: Vec<u8>,
    length: i32,
    to_unicode: Vec<u8>,
}

impl BareFonts {
    /// The characters of these documents.
    pub fn of(documents: &[Document], fonts: &Fonts) -> BareFonts {
        let texts = documents
            .iter()
            .flat_map(|document| &document.sheets)
            .flat_map(|sheet| &sheet.items)
            .filter_map(|item| match item {
                Item::Text { text, .. } => Some(text),
                _ => None,
            });
        let characters: BTreeSet<char> = texts.flat_map(|text| text.chars()).collect();
        BareFonts {
            faces: Face::ALL.map(|face| Subset::of(&characters, face, fonts)),
        }
    }
}

impl Subset {
    fn of(characters: &BTreeSet<char>, face: Face, fonts: &Fonts) -> Subset {
        let mut remapper = subsetter::GlyphRemapper::new();
        let mut glyphs = vec![0; 0x2800];
        let mut widths = vec![0.0];
        let mut map = UnicodeCmap::new(Name(b"Custom"), IDENTITY);
        for &character in characters {
            let Some((id, width)) = fonts.glyph(character, face) else {
                continue;
            };
            let place = remapper.remap(id);
            glyphs[character as usize] = place;
            if usize::from(place) == widths.len() {
                widths.push(f32::from(width));
                map.pair(place, character);
            }
        }
        let program = subsetter::subset(fonts.data(face), 0, &remapper).expect("the face is sound");
        Subset {
            glyphs,
            widths,
            length: program.len() as i32,
            program: deflated(&program, 9),
            to_unicode: deflated(map.finish().as_slice(), 9),
        }
    }

    fn add_to(&self, pdf: &mut Pdf, face: Face, first: i32) {
        let [font, cid, descriptor, program, map] = [0, 1, 2, 3, 4].map(|n| Ref::new(first + n));
        let name = Name([&b"AAAAAA+Face-Regular"[..], b"AAAAAA+Face-Semibold"][face.index()]);
        pdf.type0_font(font)
            .base_font(name)
            .encoding_predefined(Name(b"Identity-H"))
            .descendant_font(cid)
            .to_unicode(map);
        let mut descendant = pdf.cid_font(cid);
        descendant
            .subtype(CidFontType::Type2)
            .base_font(name)
            .system_info(IDENTITY)
            .font_descriptor(descriptor)
            .default_width(0.0)
            .cid_to_gid_map_predefined(Name(b"Identity"));
        descendant
            .widths()
            .consecutive(0, self.widths.iter().copied());
        descendant.finish();
        pdf.font_descriptor(descriptor)
            .name(name)
            .flags(FontFlags::SYMBOLIC)
            .bbox(Rect::new(-434.0, -440.0, 2159.0, 1053.0))
            .italic_angle(0.0)
            .ascent(1024.0)
            .descent(-400.0)
            .cap_height(660.0)
            .stem_v(84.0)
            .font_file2(program);
        pdf.stream(program, &self.program)
            .filter(Filter::FlateDecode)
            .pair(Name(b"Length1"), self.length);
        pdf.stream(map, &self.to_unicode)
            .filter(Filter::FlateDecode);
    }
}

/// The bytes of a document of one sheet.
pub fn page(document: &Document, fonts: &Fonts, bare: &BareFonts) -> Vec<u8> {
    let sheet = &document.sheets[0];
    let mut pdf = Pdf::new();
    let [catalogue, tree, page, content, info] = [1, 2, 3, 4, 5].map(Ref::new);
    pdf.catalog(catalogue).pages(tree);
    pdf.pages(tree).kids([page]).count(1);
    let mut dictionary = pdf.page(page);
    let (width, height) = (sheet.paper.width_mm(), sheet.paper.height_mm());
    dictionary
        .media_box(Rect::new(
            0.0,
            0.0,
            (width * PT_PER_MM) as f32,
            (height * PT_PER_MM) as f32,
        ))
        .parent(tree)
        .contents(content);
    let mut resources = dictionary.resources();
    let mut dictionary_of_fonts = resources.fonts();
    for face in Face::ALL {
        dictionary_of_fonts.pair(NAMES[face.index()], Ref::new(10 + 5 * face.index() as i32));
    }
    dictionary_of_fonts.finish();
    resources.finish();
    dictionary.finish();
    for face in Face::ALL {
        bare.faces[face.index()].add_to(&mut pdf, face, 10 + 5 * face.index() as i32);
    }
    pdf.stream(content, &deflated(&operators(sheet, fonts, bare), LEVEL))
        .filter(Filter::FlateDecode);
    pdf.document_info(info)
        .title(pdf_writer::TextStr(&document.title));
    pdf.finish()
}

#[derive(Clone, Copy, Default)]
struct State {
    font: Option<(Face, f32)>,
    fill: Option<Colour>,
    line: Option<Colour>,
    width: Option<f32>,
    dash: Option<(f32, f32)>,
}

struct Writer<'a> {
    content: Content,
    height_mm: f64,
    state: State,
    outer: Vec<State>,
    fonts: &'a Fonts,
    bare: &'a BareFonts,
}

fn operators(sheet: &Sheet, fonts: &Fonts, bare: &BareFonts) -> Vec<u8> {
    let mut writer = Writer {
        content: Content::with_capacity(64 * 1024),
        height_mm: sheet.paper.height_mm(),
        state: State::default(),
        outer: Vec::new(),
        fonts,
        bare,
    };
    for item in &sheet.items {
        writer.item(item);
    }
    writer.content.finish().into_vec()
}

/// A hundredth of a point, as our own writer rounds.
pub fn rounded(pt: f64) -> f32 {
    ((pt * 100.0).round() / 100.0) as f32
}

impl Writer<'_> {
    fn at(&self, (x_mm, y_mm): Point) -> (f32, f32) {
        (
            rounded(x_mm * PT_PER_MM),
            rounded((self.height_mm - y_mm) * PT_PER_MM),
        )
    }

    fn item(&mut self, item: &Item) {
        match item {
            Item::Open(_) | Item::Close => {}
            Item::Text {
                x_mm,
                baseline_mm,
                size_pt,
                face,
                colour,
                text,
                rotated,
            } => {
                self.fill(*colour);
                let size = rounded(*size_pt);
                let (x, y) = self.at((*x_mm, *baseline_mm));
                self.content.begin_text();
                if self.state.font != Some((*face, size)) {
                    self.state.font = Some((*face, size));
                    self.content.set_font(NAMES[face.index()], size);
                }
                if *rotated {
                    self.content.set_text_matrix([0.0, 1.0, -1.0, 0.0, x, y]);
                } else {
                    self.content.next_line(x, y);
                }
                self.show(text, *face);
                self.content.end_text();
            }
            Item::Polyline { points, stroke } => {
                self.stroke(stroke);
                self.path(points);
                self.content.stroke();
            }
            Item::Polygon {
                points,
                fill,
                stroke,
            } => {
                self.paint(*fill, *stroke);
                self.path(points);
                self.content.close_path();
                self.end(*fill, *stroke);
            }
            Item::Rect {
                x_mm,
                y_mm,
                width_mm,
                height_mm,
                fill,
                stroke,
            } => {
                self.paint(*fill, *stroke);
                self.rectangle(*x_mm, *y_mm, *width_mm, *height_mm);
                self.end(*fill, *stroke);
            }
            Item::Ellipse {
                centre,
                radius_x_mm,
                radius_y_mm,
                fill,
                stroke,
            } => {
                self.paint(*fill, *stroke);
                let corners = ellipse(*centre, *radius_x_mm, *radius_y_mm).map(|p| self.at(p));
                self.content.move_to(corners[0].0, corners[0].1);
                for curve in corners[1..].chunks(3) {
                    let [(x1, y1), (x2, y2), (x3, y3)] = [curve[0], curve[1], curve[2]];
                    self.content.cubic_to(x1, y1, x2, y2, x3, y3);
                }
                self.content.close_path();
                self.end(*fill, *stroke);
            }
            Item::Clip {
                x_mm,
                y_mm,
                width_mm,
                height_mm,
            } => {
                self.outer.push(self.state);
                self.content.save_state();
                self.rectangle(*x_mm, *y_mm, *width_mm, *height_mm);
                self.content.clip_nonzero().end_path();
            }
            Item::Unclip => {
                self.state = self.outer.pop().unwrap_or_default();
                self.content.restore_state();
            }
        }
    }

    fn show(&mut self, text: &str, face: Face) {
        let subset = &self.bare.faces[face.index()];
        let mut shown = self.content.show_positioned();
        let mut items = shown.items();
        let mut run = Vec::with_capacity(text.len() * 2);
        let mut left = None;
        for character in text.chars() {
            let kern = left.map_or(0, |left| self.fonts.kern_milli(left, character, face));
            if kern != 0 {
                items.show(Str(&run));
                items.adjust(-kern as f32);
                run.clear();
            }
            run.extend(subset.glyphs[character as usize].to_be_bytes());
            left = Some(character);
        }
        items.show(Str(&run));
    }

    fn path(&mut self, points: &[Point]) {
        for (index, &point) in points.iter().enumerate() {
            let (x, y) = self.at(point);
            if index == 0 {
                self.content.move_to(x, y);
            } else {
                self.content.line_to(x, y);
            }
        }
    }

    fn rectangle(&mut self, x_mm: f64, y_mm: f64, width_mm: f64, height_mm: f64) {
        let (x, y) = self.at((x_mm, y_mm + height_mm));
        self.content.rect(
            x,
            y,
            rounded(width_mm * PT_PER_MM),
            rounded(height_mm * PT_PER_MM),
        );
    }

    fn end(&mut self, fill: Option<Colour>, stroke: Option<Stroke>) {
        match (fill, stroke) {
            (Some(_), Some(_)) => self.content.fill_nonzero_and_stroke(),
            (Some(_), None) => self.content.fill_nonzero(),
            (None, Some(_)) => self.content.stroke(),
            (None, None) => self.content.end_path(),
        };
    }

    fn paint(&mut self, fill: Option<Colour>, stroke: Option<Stroke>) {
        if let Some(colour) = fill {
            self.fill(colour);
        }
        if let Some(stroke) = stroke {
            self.stroke(&stroke);
        }
    }

    fn fill(&mut self, colour: Colour) {
        if self.state.fill != Some(colour) {
            self.state.fill = Some(colour);
            match parts(colour) {
                [r, g, b] if r == g && g == b => self.content.set_fill_gray(r),
                [r, g, b] => self.content.set_fill_rgb(r, g, b),
            };
        }
    }

    fn stroke(&mut self, stroke: &Stroke) {
        if self.state.line != Some(stroke.colour) {
            self.state.line = Some(stroke.colour);
            match parts(stroke.colour) {
                [r, g, b] if r == g && g == b => self.content.set_stroke_gray(r),
                [r, g, b] => self.content.set_stroke_rgb(r, g, b),
            };
        }
        let width = rounded(stroke.width_pt);
        if self.state.width != Some(width) {
            self.state.width = Some(width);
            self.content.set_line_width(width);
        }
        let dash = stroke
            .dash
            .map(|dash| (rounded(dash.on_pt), rounded(dash.off_pt)));
        if self.state.dash != dash {
            self.state.dash = dash;
            match dash {
                Some((on, off)) => self.content.set_dash_pattern([on, off], 0.0),
                None => self.content.set_dash_pattern([], 0.0),
            };
        }
    }
}

/// Start and control points of the four quarters of an ellipse.
pub fn ellipse((x, y): Point, radius_x: f64, radius_y: f64) -> [Point; 13] {
    let (near_x, near_y) = (radius_x * QUARTER, radius_y * QUARTER);
    [
        (x + radius_x, y),
        (x + radius_x, y + near_y),
        (x + near_x, y + radius_y),
        (x, y + radius_y),
        (x - near_x, y + radius_y),
        (x - radius_x, y + near_y),
        (x - radius_x, y),
        (x - radius_x, y - near_y),
        (x - near_x, y - radius_y),
        (x, y - radius_y),
        (x + near_x, y - radius_y),
        (x + radius_x, y - near_y),
        (x + radius_x, y),
    ]
}

fn parts(colour: Colour) -> [f32; 3] {
    [colour.red, colour.green, colour.blue]
        .map(|level| (f32::from(level) / 255.0 * 1000.0).round() / 1000.0)
}

fn deflated(bytes: &[u8], level: u32) -> Vec<u8> {
    let mut encoder = flate2::write::ZlibEncoder::new(
        Vec::with_capacity(bytes.len() / 2 + 64),
        flate2::Compression::new(level),
    );
    encoder.write_all(bytes).expect("writing to memory");
    encoder.finish().expect("writing to memory")
}
