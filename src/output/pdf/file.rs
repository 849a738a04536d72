//! Finished objects as the bytes of a file: object streams and a cross-reference stream
//! (ISO 32000-1, 7.5).
//!
//! A tagged page is several hundred small objects. The library's own writer copies each of them and
//! serialises it three times, which took longer than all the rest of the page; this one goes over
//! them once, and holds none that is finished.

use super::content::{push_reference, push_whole};
use super::skeleton::{LEVEL, Written, deflated};
use crate::output::stream::Sink;
use flate2::Compression;
use flate2::write::ZlibEncoder;
use lopdf::{Dictionary, Document, Object, ObjectId, StringFormat, dictionary};
use std::io::Write;
use std::mem;

/// Objects in one object stream: a reader unpacks a whole stream to reach one of them.
const OBJECTS_IN_STREAM: usize = 1000;

/// Bytes of a cross-reference that is written as a difference: one, five for an offset of any size, two.
const ENTRY: usize = 8;

/// Where an object is found.
#[derive(Clone, Copy)]
enum Place {
    Free,
    At(usize),
    Within { container: u32, index: usize },
}

/// Objects of consecutive numbers, one behind the other in one container; or a single one anywhere. A million objects of
/// a packet are a few thousand runs.
struct Run {
    first: u32,
    count: u32,
    place: Place,
}

impl Run {
    fn end(&self) -> u32 {
        self.first + self.count
    }

    fn place_of(&self, number: u32) -> Place {
        match self.place {
            Place::Within { container, index } => Place::Within {
                container,
                index: index + (number - self.first) as usize,
            },
            single => single,
        }
    }
}

/// How the cross-references are written.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum CrossReferences {
    /// As they are: for files of a few pages.
    Plain,
    /// Each as its difference from the one before, and with room for files of any size: those of objects that follow one
    /// another differ by one, so that seven of them take a byte.
    Differences,
}

/// A file as its objects are finished: streams are written at once, the other objects into object streams. What stays is
/// where each stands.
pub(super) struct Writer<S> {
    sink: S,
    /// Bytes written so far.
    length: usize,
    runs: Vec<Run>,
    /// The first number that no object has.
    free: u32,
    /// The objects of the next object stream: where each begins in `objects`.
    begins: Vec<(u32, usize)>,
    objects: Vec<u8>,
}

impl<S: Sink> Writer<S> {
    /// Begins a file whose objects have numbers below `free`, or reserve one.
    pub(super) fn begin(sink: S, free: u32) -> Self {
        let mut file = Self {
            sink,
            length: 0,
            runs: Vec::new(),
            free,
            begins: Vec::new(),
            objects: Vec::new(),
        };
        file.push(b"%PDF-1.7\n%\xe2\xe3\xcf\xd3\n");
        file
    }

    /// A number for an object.
    pub(super) fn reserve(&mut self) -> ObjectId {
        self.free += 1;
        (self.free - 1, 0)
    }

    /// Numbers of objects that are given away.
    pub(super) fn objects(&self) -> u32 {
        self.free
    }

    /// Writes a stream.
    pub(super) fn stream(&mut self, number: u32, dictionary: &Dictionary, content: &[u8]) {
        self.found(number, Place::At(self.length));
        let mut dictionary = dictionary.clone();
        dictionary.set("Length", content.len() as i64);
        let mut head = Vec::with_capacity(128);
        writeln!(head, "{number} 0 obj").expect("writing to memory");
        write_dictionary(&mut head, &dictionary);
        head.extend_from_slice(b"\nstream\n");
        self.push(&head);
        self.push(content);
        self.push(b"\nendstream\nendobj\n");
    }

    /// Writes any other object as the bytes that `write` appends.
    pub(super) fn object(&mut self, number: u32, write: impl FnOnce(&mut Vec<u8>)) {
        self.begins.push((number, self.objects.len()));
        write(&mut self.objects);
        self.objects.push(b'\n');
        if self.begins.len() == OBJECTS_IN_STREAM {
            self.pack();
        }
    }

    /// Writes the objects that have gathered as an object stream: numbers and offsets, then the objects.
    fn pack(&mut self) {
        if self.begins.is_empty() {
            return;
        }
        let (container, _) = self.reserve();
        let begins = mem::take(&mut self.begins);
        let mut content = Vec::with_capacity(begins.len() * 12 + self.objects.len());
        for (index, &(number, begin)) in begins.iter().enumerate() {
            self.found(number, Place::Within { container, index });
            push_whole(&mut content, u64::from(number));
            content.push(b' ');
            push_whole(&mut content, begin as u64);
            content.push(b' ');
        }
        let head = dictionary! {
            "Type" => "ObjStm",
            "N" => begins.len() as i64,
            "First" => content.len() as i64,
            "Filter" => "FlateDecode",
        };
        content.append(&mut self.objects);
        self.stream(container, &head, &deflated(&content, LEVEL));
    }

    /// Writes what points to the objects, with these entries of the trailer. Returns where the bytes went.
    pub(super) fn finish(mut self, trailer: &Dictionary, references: CrossReferences) -> S {
        self.pack();
        let start = self.length;
        let (number, _) = self.reserve();
        self.found(number, Place::At(start));
        let offset_bytes = match references {
            CrossReferences::Plain => 4,
            CrossReferences::Differences => 5,
        };
        let mut head = dictionary! {
            "Type" => "XRef",
            "Size" => i64::from(self.free),
            "W" => vec![1.into(), offset_bytes.into(), 2.into()],
            "Filter" => "FlateDecode",
        };
        for key in [b"Root".as_slice(), b"Info", b"ID"] {
            if let Ok(entry) = trailer.get(key) {
                head.set(key, entry.clone());
            }
        }
        self.runs.sort_by_key(|run| run.first);
        let content = match references {
            CrossReferences::Plain => {
                let mut entries = Vec::with_capacity(self.free as usize * 7);
                self.cross_references(|kind, second, third| {
                    entries.push(kind);
                    entries.extend((second as u32).to_be_bytes());
                    entries.extend(third.to_be_bytes());
                });
                deflated(&entries, LEVEL)
            }
            CrossReferences::Differences => {
                head.set(
                    "DecodeParms",
                    dictionary! { "Predictor" => 12, "Columns" => ENTRY as i64 },
                );
                self.differences()
            }
        };
        self.stream(number, &head, &content);
        self.push(format!("startxref\n{start}\n%%EOF\n").as_bytes());
        self.sink
    }

    /// The cross-references, compressed as they are made: what is the same as above is zero (ISO 32000-1, 7.4.4.4; PNG
    /// specification, "Up").
    fn differences(&self) -> Vec<u8> {
        let mut encoder = ZlibEncoder::new(Vec::new(), Compression::new(LEVEL));
        let mut above = [0; ENTRY];
        self.cross_references(|kind, second, third| {
            let mut entry = [kind; ENTRY];
            entry[1..6].copy_from_slice(&(second as u64).to_be_bytes()[3..]);
            entry[6..].copy_from_slice(&third.to_be_bytes());
            let mut row = [2; ENTRY + 1];
            for ((byte, now), before) in row[1..].iter_mut().zip(entry).zip(above) {
                *byte = u8::wrapping_sub(now, before);
            }
            encoder.write_all(&row).expect("writing to memory");
            above = entry;
        });
        encoder.finish().expect("writing to memory")
    }

    /// One entry for each object number, of runs in order; the free ones form a chain that starts at 0.
    fn cross_references(&self, mut entry: impl FnMut(u8, usize, u16)) {
        let mut places = Vec::new();
        let mut next = 0;
        for run in &self.runs {
            places.extend((next..run.first).map(|number| (number, number + 1, None)));
            places.push((run.first, run.end(), Some(run)));
            next = run.end();
        }
        places.extend((next..self.free).map(|number| (number, number + 1, None)));
        let mut free = places
            .iter()
            .filter(|(_, _, run)| run.is_none())
            .skip(1)
            .map(|&(number, _, _)| number as usize);
        for &(first, end, run) in &places {
            for number in first..end {
                match run.map_or(Place::Free, |run| run.place_of(number)) {
                    Place::Free => entry(0, free.next().unwrap_or(0), 65535),
                    Place::At(offset) => entry(1, offset, 0),
                    Place::Within { container, index } => {
                        entry(2, container as usize, index as u16);
                    }
                }
            }
        }
    }

    /// Notes where an object stands.
    fn found(&mut self, number: u32, place: Place) {
        if let (Some(last), Place::Within { container, index }) = (self.runs.last_mut(), place)
            && last.end() == number
            && matches!(last.place_of(number), Place::Within { container: of, index: at } if (of, at) == (container, index))
        {
            last.count += 1;
            return;
        }
        self.runs.push(Run {
            first: number,
            count: 1,
            place,
        });
    }

    fn push(&mut self, bytes: &[u8]) {
        self.sink.add(bytes);
        self.length += bytes.len();
    }
}

/// The bytes of the file, of objects of the library and those that are bytes already.
pub(super) fn bytes(document: &Document, written: &Written) -> Vec<u8> {
    let mut file = Writer::begin(Vec::with_capacity(96 * 1024), document.max_id + 1);
    let mut packed: Vec<(u32, Packed<'_>)> = Vec::new();
    for (&(number, _), object) in &document.objects {
        match object {
            Object::Stream(stream) => file.stream(number, &stream.dict, &stream.content),
            other => packed.push((number, Packed::Object(other))),
        }
    }
    let written = written.objects();
    packed.extend(written.map(|(number, bytes)| (number, Packed::Written(bytes))));
    packed.sort_by_key(|&(number, _)| number);
    for (number, object) in packed {
        file.object(number, |bytes| match object {
            Packed::Object(object) => write_object(bytes, object),
            Packed::Written(written) => bytes.extend_from_slice(written),
        });
    }
    file.finish(&document.trailer, CrossReferences::Plain)
}

/// An object of an object stream.
#[derive(Clone, Copy)]
enum Packed<'a> {
    Object(&'a Object),
    Written(&'a [u8]),
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
