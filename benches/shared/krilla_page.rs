//! The same operations drawn with krilla, untagged: glyphs already placed, so that it shapes nothing.

use std::sync::Arc;

use krilla::color::{luma, rgb};
use krilla::geom::{Path, PathBuilder, Point as Place, Rect, Transform};
use krilla::page::PageSettings;
use krilla::paint::{Fill, FillRule, Paint, Stroke as Line, StrokeDash};
use krilla::surface::Surface;
use krilla::text::{Font, GlyphId, KrillaGlyph};
use krilla::{Document as File, SerializeSettings};
use valvefolio::draw::{Colour, Document, Face, Fonts, Item, PT_PER_MM, Point, Stroke};

use crate::bare::{ellipse, rounded};

/// Both faces, read once.
pub struct KrillaFonts([Font; 2]);

impl KrillaFonts {
    /// The faces of the program.
    pub fn of(fonts: &Fonts) -> KrillaFonts {
        KrillaFonts(Face::ALL.map(|face| {
            let data = Arc::new(fonts.data(face).to_vec());
            Font::new(data.into(), 0).expect("the face is sound")
        }))
    }
}

/// The bytes of a document of one sheet.
pub fn page(document: &Document, fonts: &Fonts, faces: &KrillaFonts) -> Vec<u8> {
    let sheet = &document.sheets[0];
    let mut file = File::new_with(SerializeSettings {
        enable_tagging: false,
        ..SerializeSettings::default()
    });
    let (width, height) = (sheet.paper.width_mm(), sheet.paper.height_mm());
    let settings = PageSettings::from_wh((width * PT_PER_MM) as f32, (height * PT_PER_MM) as f32)
        .expect("paper has a size");
    let mut page = file.start_page_with(settings);
    let mut surface = page.surface();
    for item in &sheet.items {
        draw(item, &mut surface, fonts, faces);
    }
    surface.finish();
    page.finish();
    file.finish().expect("krilla takes the page")
}

fn draw(item: &Item, surface: &mut Surface<'_>, fonts: &Fonts, faces: &KrillaFonts) {
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
            surface.set_stroke(None);
            surface.set_fill(Some(fill_of(*colour)));
            let glyphs = glyphs(text, *face, fonts);
            let (x, y) = at((*x_mm, *baseline_mm));
            let font = faces.0[face.index()].clone();
            let size = rounded(*size_pt);
            if *rotated {
                surface.push_transform(&Transform::from_row(0.0, -1.0, 1.0, 0.0, x, y));
                surface.draw_glyphs(Place::from_xy(0.0, 0.0), &glyphs, font, text, size, false);
                surface.pop();
            } else {
                surface.draw_glyphs(Place::from_xy(x, y), &glyphs, font, text, size, false);
            }
        }
        Item::Polyline { points, stroke } => {
            paint(surface, path(points, false), None, Some(*stroke))
        }
        Item::Polygon {
            points,
            fill,
            stroke,
        } => paint(surface, path(points, true), *fill, *stroke),
        Item::Rect {
            x_mm,
            y_mm,
            width_mm,
            height_mm,
            fill,
            stroke,
        } => paint(
            surface,
            rectangle(*x_mm, *y_mm, *width_mm, *height_mm),
            *fill,
            *stroke,
        ),
        Item::Ellipse {
            centre,
            radius_x_mm,
            radius_y_mm,
            fill,
            stroke,
        } => {
            let corners = ellipse(*centre, *radius_x_mm, *radius_y_mm).map(at);
            let mut builder = PathBuilder::new();
            builder.move_to(corners[0].0, corners[0].1);
            for curve in corners[1..].chunks(3) {
                let [(x1, y1), (x2, y2), (x3, y3)] = [curve[0], curve[1], curve[2]];
                builder.cubic_to(x1, y1, x2, y2, x3, y3);
            }
            builder.close();
            paint(surface, builder.finish(), *fill, *stroke);
        }
        Item::Clip {
            x_mm,
            y_mm,
            width_mm,
            height_mm,
        } => {
            let shape = rectangle(*x_mm, *y_mm, *width_mm, *height_mm).expect("a clip has a size");
            surface.push_clip_path(&shape, &FillRule::NonZero);
        }
        Item::Unclip => surface.pop(),
    }
}

fn at((x_mm, y_mm): Point) -> (f32, f32) {
    (rounded(x_mm * PT_PER_MM), rounded(y_mm * PT_PER_MM))
}

fn glyphs(text: &str, face: Face, fonts: &Fonts) -> Vec<KrillaGlyph> {
    let mut glyphs: Vec<KrillaGlyph> = Vec::with_capacity(text.len());
    let mut left = None;
    for (start, character) in text.char_indices() {
        let (id, width) = fonts.glyph(character, face).unwrap_or_default();
        let kern = left.map_or(0, |left| fonts.kern_milli(left, character, face));
        if let Some(before) = glyphs.last_mut().filter(|_| kern != 0) {
            before.x_advance += kern as f32 / 1000.0;
        }
        glyphs.push(KrillaGlyph {
            glyph_id: GlyphId::new(u32::from(id)),
            text_range: start..start + character.len_utf8(),
            x_advance: f32::from(width) / 1000.0,
            x_offset: 0.0,
            y_offset: 0.0,
            y_advance: 0.0,
            location: None,
        });
        left = Some(character);
    }
    glyphs
}

fn path(points: &[Point], closed: bool) -> Option<Path> {
    let mut builder = PathBuilder::new();
    for (index, &point) in points.iter().enumerate() {
        let (x, y) = at(point);
        if index == 0 {
            builder.move_to(x, y);
        } else {
            builder.line_to(x, y);
        }
    }
    if closed {
        builder.close();
    }
    builder.finish()
}

fn rectangle(x_mm: f64, y_mm: f64, width_mm: f64, height_mm: f64) -> Option<Path> {
    let (left, top) = at((x_mm, y_mm));
    let (right, bottom) = at((x_mm + width_mm, y_mm + height_mm));
    let mut builder = PathBuilder::new();
    builder.push_rect(Rect::from_ltrb(left, top, right, bottom)?);
    builder.finish()
}

fn paint(
    surface: &mut Surface<'_>,
    path: Option<Path>,
    fill: Option<Colour>,
    stroke: Option<Stroke>,
) {
    let Some(path) = path.filter(|_| fill.is_some() || stroke.is_some()) else {
        return;
    };
    surface.set_fill(fill.map(fill_of));
    surface.set_stroke(stroke.map(|stroke| Line {
        paint: paint_of(stroke.colour),
        width: rounded(stroke.width_pt),
        dash: stroke.dash.map(|dash| StrokeDash {
            array: vec![rounded(dash.on_pt), rounded(dash.off_pt)],
            offset: 0.0,
        }),
        ..Line::default()
    }));
    surface.draw_path(&path);
}

fn fill_of(colour: Colour) -> Fill {
    Fill {
        paint: paint_of(colour),
        ..Fill::default()
    }
}

fn paint_of(colour: Colour) -> Paint {
    let Colour { red, green, blue } = colour;
    if red == green && green == blue {
        luma::Color::new(red).into()
    } else {
        rgb::Color::new(red, green, blue).into()
    }
}
