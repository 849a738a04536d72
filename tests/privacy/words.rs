//! What the input files say that names someone, and every text that a folder of output says.

use std::collections::BTreeSet;
use std::io::{Read as _, Write as _};
use std::path::Path;
use std::process::{Command, Stdio};

use super::support::{csv_rows, files};

/// Columns of the cases and follow-up files whose cells name someone or are free text.
const NAMING: &[&str] = &[
    "case_id",
    "patient_key",
    "patient_label",
    "site",
    "device_serial",
    "device_lot",
    "sizing_reason",
    "medication",
    "incidental_finding",
    "incidental_owner",
    "follow_up_site",
    "discharge_note",
    "signed_by",
    "signed_hash",
    "note",
];

/// Everything in these tables that may not be found in a de-identified folder: what names someone, and every date.
pub fn naming_words(tables: &[&Path]) -> BTreeSet<String> {
    let dictionary = &valvefolio::dictionary::COLUMNS;
    let texts = |name: &str| {
        dictionary.iter().any(|column| {
            column.name == name
                && column.file != "devices"
                && matches!(column.kind.as_str(), "text" | "id")
        })
    };
    let dates = |name: &str| {
        dictionary
            .iter()
            .any(|column| column.name == name && column.kind == "date")
    };
    // Every text of the dictionary is on the list, but device ids and operators, of whom more below.
    for column in dictionary.iter().filter(|column| texts(&column.name)) {
        assert!(
            NAMING.contains(&column.name.as_str())
                || matches!(
                    column.name.as_str(),
                    "device_id" | "planned_device_id" | "operator"
                ),
            "{}",
            column.name
        );
    }
    let mut words = BTreeSet::new();
    for table in tables {
        words.insert(table.display().to_string());
        for row in csv_rows(&std::fs::read(table).expect("a table")) {
            for (name, cell) in row {
                // One letter or two, as the demo's operators have, stand in every text.
                if cell.len() > 2 && (NAMING.contains(&name.as_str()) || dates(&name)) {
                    words.insert(cell);
                }
            }
        }
    }
    words
}

/// A date as pages write it: `3 Mar 2026` for 2026-03-03; `None` for a word that is no date.
pub fn as_on_a_page(word: &str) -> Option<String> {
    const MONTHS: [&str; 12] = [
        "Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec",
    ];
    let [year, month, day] = word.split('-').collect::<Vec<_>>()[..] else {
        return None;
    };
    let month = MONTHS.get(month.parse::<usize>().ok()?.checked_sub(1)?)?;
    let day: u8 = day.parse().ok()?;
    Some(format!("{day} {month} {year}"))
}

/// Every file of a folder as text: its name, its bytes as they are, every compressed stream of a PDF inflated, and the
/// text of its pages as `pdftotext` (poppler) reads it.
pub fn everything_said(folder: &Path) -> Vec<(String, String)> {
    let mut said = Vec::new();
    for (name, bytes) in files(folder) {
        let mut text = name.clone() + "\n" + &String::from_utf8_lossy(&bytes);
        if name.ends_with(".pdf") {
            text += &inflated(&bytes);
            text += &text_of_pages(&bytes);
        }
        said.push((name, text));
    }
    said
}

/// Every stream that inflates (RFC 1950), and every text string of the objects.
pub fn inflated(pdf: &[u8]) -> String {
    let document = lopdf::Document::load_mem(pdf).expect("a PDF");
    let mut text = String::new();
    for object in document.objects.values() {
        if let Ok(stream) = object.as_stream() {
            let mut content = Vec::new();
            let mut inflater = flate2::read::ZlibDecoder::new(&stream.content[..]);
            if inflater.read_to_end(&mut content).is_err() {
                content = stream.content.clone();
            }
            text += &String::from_utf8_lossy(&content);
        }
        strings(object, &mut text);
    }
    text
}

fn strings(object: &lopdf::Object, text: &mut String) {
    match object {
        lopdf::Object::String(..) => {
            if let Ok(string) = lopdf::decode_text_string(object) {
                text.push_str(&string);
                text.push('\n');
            }
        }
        lopdf::Object::Array(array) => array.iter().for_each(|object| strings(object, text)),
        lopdf::Object::Dictionary(dictionary) => {
            dictionary
                .iter()
                .for_each(|(_, object)| strings(object, text));
        }
        lopdf::Object::Stream(stream) => {
            stream
                .dict
                .iter()
                .for_each(|(_, object)| strings(object, text));
        }
        _ => {}
    }
}

/// The text of its pages as `pdftotext` (poppler) reads it.
pub fn text_of_pages(pdf: &[u8]) -> String {
    let mut file = tempfile::NamedTempFile::new().expect("a file");
    file.write_all(pdf).expect("written");
    let output = Command::new("pdftotext")
        .args(["-layout".as_ref(), file.path().as_os_str(), "-".as_ref()])
        .stdin(Stdio::null())
        .output()
        .expect("pdftotext of poppler-utils, which the README names");
    String::from_utf8_lossy(&output.stdout).into_owned()
}
