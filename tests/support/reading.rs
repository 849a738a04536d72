//! A small reader of PDF text, written from ISO 32000-1 (9.4, 9.10.3) and not from the writer.

use lopdf::content::Content;
use lopdf::{Dictionary, Document, Object, ObjectId};
use std::collections::BTreeMap;

/// One text as shown: its characters, their width in thousandths of an em after kerning, and the
/// number of the piece of content it belongs to.
#[derive(Debug, Clone, PartialEq)]
pub struct Shown {
    pub text: String,
    pub width_milli: f64,
    pub piece: Option<i64>,
    /// Where it starts, in points from the lower left corner.
    pub start_pt: (f64, f64),
    /// Whether it runs upward.
    pub upward: bool,
}

/// What a font says about its codes.
struct Font {
    characters: BTreeMap<u16, String>,
    widths: BTreeMap<u16, f64>,
}

/// The texts of a page in the order of its operators.
pub fn texts(document: &Document, page: ObjectId) -> Vec<Shown> {
    let fonts: BTreeMap<Vec<u8>, Font> = document
        .get_page_fonts(page)
        .expect("fonts")
        .into_iter()
        .map(|(name, font)| (name, read_font(document, font)))
        .collect();
    let content = Content::decode(&document.get_page_content(page)).expect("operators");
    let (mut texts, mut font, mut pieces) = (Vec::new(), None, Vec::new());
    let (mut start_pt, mut upward) = ((0.0, 0.0), false);
    for operation in content.operations {
        match operation.operator.as_str() {
            "Td" | "Tm" => {
                let values: Vec<f64> = operation
                    .operands
                    .iter()
                    .map(|value| f64::from(value.as_float().expect("a number")))
                    .collect();
                start_pt = (values[values.len() - 2], values[values.len() - 1]);
                upward = values[..values.len() - 2] == [0.0, 1.0, -1.0, 0.0];
            }
            "Tf" => font = fonts.get(operation.operands[0].as_name().expect("a font name")),
            "BMC" => pieces.push(None),
            "BDC" => {
                let properties = operation.operands[1].as_dict().expect("properties");
                pieces.push(properties.get(b"MCID").and_then(Object::as_i64).ok());
            }
            "EMC" => {
                pieces.pop().expect("a piece to end");
            }
            "TJ" => {
                let array = operation.operands[0].as_array().expect("an array");
                let (text, width_milli) = font.expect("a font is set").read(array);
                texts.push(Shown {
                    text,
                    width_milli,
                    piece: pieces.last().copied().flatten(),
                    start_pt,
                    upward,
                });
            }
            "Tj" | "'" | "\"" => panic!("a text operator that is not ours"),
            _ => {}
        }
    }
    assert!(pieces.is_empty(), "a piece is not ended");
    texts
}

impl Font {
    fn read(&self, array: &[Object]) -> (String, f64) {
        let (mut text, mut width) = (String::new(), 0.0);
        for entry in array {
            match entry {
                Object::String(codes, _) => {
                    for code in codes.chunks(2) {
                        let code = u16::from_be_bytes([code[0], code[1]]);
                        assert_ne!(code, 0, "the glyph for what is missing");
                        text.push_str(&self.characters[&code]);
                        width += self.widths[&code];
                    }
                }
                number => width -= f64::from(number.as_float().expect("an adjustment")),
            }
        }
        (text, width)
    }
}

fn read_font(document: &Document, font: &Dictionary) -> Font {
    let map = document.get_dictionary_in(font, b"ToUnicode");
    let map = String::from_utf8(map).expect("a character map");
    let mut characters = BTreeMap::new();
    for block in map.split("beginbfchar").skip(1) {
        let entries = block.split("endbfchar").next().expect("an end");
        for line in entries.lines().filter(|line| line.contains('<')) {
            let codes: Vec<&str> = line
                .split(['<', '>'])
                .filter(|part| !part.trim().is_empty())
                .collect();
            let units: Vec<u16> = codes[1]
                .as_bytes()
                .chunks(4)
                .map(|digits| {
                    u16::from_str_radix(std::str::from_utf8(digits).unwrap(), 16).unwrap()
                })
                .collect();
            let code = u16::from_str_radix(codes[0], 16).unwrap();
            characters.insert(code, String::from_utf16(&units).unwrap());
        }
    }
    let descendant = font
        .get(b"DescendantFonts")
        .and_then(Object::as_array)
        .expect("a descendant")[0]
        .as_reference()
        .and_then(|id| document.get_dictionary(id))
        .expect("a font");
    let array = descendant
        .get(b"W")
        .and_then(Object::as_array)
        .expect("widths");
    assert_eq!(array.len(), 2, "one run of widths");
    let first = array[0].as_i64().expect("a code") as u16;
    let widths = array[1]
        .as_array()
        .expect("widths")
        .iter()
        .map(|width| f64::from(width.as_float().unwrap()));
    Font {
        characters,
        widths: (first..).zip(widths).collect(),
    }
}

/// Reading a stream that a dictionary refers to.
trait Streams {
    fn get_dictionary_in(&self, dictionary: &Dictionary, key: &[u8]) -> Vec<u8>;
}

impl Streams for Document {
    fn get_dictionary_in(&self, dictionary: &Dictionary, key: &[u8]) -> Vec<u8> {
        let id = dictionary
            .get(key)
            .and_then(Object::as_reference)
            .expect("a reference");
        let stream = self
            .get_object(id)
            .and_then(Object::as_stream)
            .expect("a stream");
        stream.decompressed_content().expect("content")
    }
}
