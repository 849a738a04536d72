//! Finished objects as the bytes of a file: object streams and a cross-reference stream
//! (ISO 32000-1, 7.5).
//!
//! A tagged page is several hundred small objects. The library's own writer copies each of them and
//! serialises it three times, which took longer than all the rest of the page; this one goes over
//! them once.

use super::content::{push_reference, push_whole};
use super::skeleton::{LEVEL, Written, deflated};
use lopdf::{Dictionary, Document, Object, StringFormat, dictionary};
use std::io::Write;

/// Objects in one object stream: a reader unpacks a whole stream to reach one of them.
const OBJECTS_IN_STREAM: usize = 1000;

/// Where an object is found.
#[derive(Clone, Copy)]
enum Place {
    Free,
    At(usize),
    Within { container: usize, index: usize },
}

/// An object of an object stream.
#[derive(Clone, Copy)]
enum Packed<'a> {
    Object(&'a Object),
    Written(&'a [u8]),
}

/// The bytes of the file, of objects of the library and those that are bytes already.
pub(super) fn bytes(document: &Document, written: &Written) -> Vec<u8> {
    let mut file = Vec::with_capacity(96 * 1024);
    file.extend_from_slice(b"%PDF-1.7\n%\xe2\xe3\xcf\xd3\n");
    let mut places = vec![Place::Free; document.max_id as usize + 1];
    let mut packed = Vec::new();
    for (&(number, _), object) in &document.objects {
        match object {
            Object::Stream(stream) => {
                places[number as usize] = Place::At(file.len());
                write_stream(&mut file, number as usize, &stream.dict, &stream.content);
            }
            other => packed.push((number as usize, Packed::Object(other))),
        }
    }
    let written = written
        .objects()
        .map(|(number, bytes)| (number as usize, Packed::Written(bytes)));
    packed.extend(written);
    packed.sort_by_key(|&(number, _)| number);
    for group in packed.chunks(OBJECTS_IN_STREAM) {
        let container = places.len();
        for (index, &(number, _)) in group.iter().enumerate() {
            places[number] = Place::Within { container, index };
        }
        places.push(Place::At(file.len()));
        let (first, content) = object_stream(group);
        let head = dictionary! {
            "Type" => "ObjStm",
            "N" => group.len() as i64,
            "First" => first as i64,
            "Filter" => "FlateDecode",
        };
        write_stream(&mut file, container, &head, &deflated(&content, LEVEL));
    }
    let start = file.len();
    let number = places.len();
    places.push(Place::At(start));
    let mut trailer = dictionary! {
        "Type" => "XRef",
        "Size" => places.len() as i64,
        "W" => vec![1.into(), 4.into(), 2.into()],
        "Filter" => "FlateDecode",
    };
    for key in [b"Root".as_slice(), b"Info", b"ID"] {
        if let Ok(entry) = document.trailer.get(key) {
            trailer.set(key, entry.clone());
        }
    }
    write_stream(
        &mut file,
        number,
        &trailer,
        &deflated(&cross_references(&places), LEVEL),
    );
    writeln!(file, "startxref\n{start}\n%%EOF").expect("writing to memory");
    file
}

/// Numbers and offsets, then the objects; and where these begin.
fn object_stream(group: &[(usize, Packed<'_>)]) -> (usize, Vec<u8>) {
    // Room for both, since the objects go behind their numbers.
    let mut content = Vec::with_capacity(group.len() * 80);
    let mut objects = Vec::with_capacity(group.len() * 64);
    for (number, object) in group {
        push_whole(&mut content, *number as u64);
        content.push(b' ');
        push_whole(&mut content, objects.len() as u64);
        content.push(b' ');
        match object {
            Packed::Object(object) => write_object(&mut objects, object),
            Packed::Written(bytes) => objects.extend_from_slice(bytes),
        }
        objects.push(b'\n');
    }
    let first = content.len();
    content.append(&mut objects);
    (first, content)
}

/// One entry of seven bytes for each object number; the free ones form a chain that starts at 0.
fn cross_references(places: &[Place]) -> Vec<u8> {
    let mut entries = Vec::with_capacity(places.len() * 7);
    let mut free = places
        .iter()
        .enumerate()
        .skip(1)
        .filter(|(_, place)| matches!(place, Place::Free));
    for place in places {
        let (kind, second, third) = match *place {
            Place::Free => (0, free.next().map_or(0, |(number, _)| number), 65535),
            Place::At(offset) => (1, offset, 0),
            Place::Within { container, index } => (2, container, index),
        };
        entries.push(kind);
        entries.extend((second as u32).to_be_bytes());
        entries.extend((third as u16).to_be_bytes());
    }
    entries
}

fn write_stream(file: &mut Vec<u8>, number: usize, dictionary: &Dictionary, content: &[u8]) {
    let mut dictionary = dictionary.clone();
    dictionary.set("Length", content.len() as i64);
    writeln!(file, "{number} 0 obj").expect("writing to memory");
    write_dictionary(file, &dictionary);
    file.extend_from_slice(b"\nstream\n");
    file.extend_from_slice(content);
    file.extend_from_slice(b"\nendstream\nendobj\n");
}

pub(super) fn write_object(file: &mut Vec<u8>, object: &Object) {
    match object {
        Object::Null => file.extend_from_slice(b"null"),
        Object::Boolean(value) => write!(file, "{value}").expect("writing to memory"),
        Object::Integer(value) => {
            if *value < 0 {
                file.push(b'-');
            }
            push_whole(file, value.unsigned_abs());
        }
        Object::Real(value) => write!(file, "{value}").expect("writing to memory"),
        Object::Reference((number, generation)) => {
            push_reference(file, (*number, *generation));
        }
        Object::Name(name) => write_name(file, name),
        Object::String(text, format) => write_string(file, text, *format),
        Object::Array(entries) => {
            file.push(b'[');
            for (index, entry) in entries.iter().enumerate() {
                if index > 0 {
                    file.push(b' ');
                }
                write_object(file, entry);
            }
            file.push(b']');
        }
        Object::Dictionary(dictionary) => write_dictionary(file, dictionary),
        // A stream is an object of its own and is referred to.
        Object::Stream(_) => file.extend_from_slice(b"null"),
    }
}

fn write_dictionary(file: &mut Vec<u8>, dictionary: &Dictionary) {
    file.extend_from_slice(b"<<");
    for (key, value) in dictionary {
        write_name(file, key);
        file.push(b' ');
        write_object(file, value);
    }
    file.extend_from_slice(b">>");
}

fn write_name(file: &mut Vec<u8>, name: &[u8]) {
    file.push(b'/');
    for &byte in name {
        if byte.is_ascii_graphic() && !b"()<>[]{}/%#".contains(&byte) {
            file.push(byte);
        } else {
            write!(file, "#{byte:02X}").expect("writing to memory");
        }
    }
}

fn write_string(file: &mut Vec<u8>, text: &[u8], format: StringFormat) {
    if format == StringFormat::Hexadecimal {
        file.push(b'<');
        const DIGITS: &[u8; 16] = b"0123456789ABCDEF";
        file.reserve(2 * text.len() + 1);
        for byte in text {
            let digits = [byte >> 4, byte & 15].map(|digit| DIGITS[usize::from(digit)]);
            file.extend_from_slice(&digits);
        }
        file.push(b'>');
        return;
    }
    file.push(b'(');
    for &byte in text {
        match byte {
            b'(' | b')' | b'\\' => file.extend([b'\\', byte]),
            // A bare line end inside a string would be read as a line feed.
            b'\r' => file.extend_from_slice(b"\\r"),
            _ => file.push(byte),
        }
    }
    file.push(b')');
}
