//! The PDF files: what a reader finds in them. `tests/tools/check_pdf.py` runs the readers and
//! validators of others over files of the program.

#[path = "support/reading.rs"]
mod reading;
#[path = "support/sample.rs"]
mod sample;

use jiff::civil::date;
use lopdf::{Dictionary, Object, ObjectId};
use proptest::prelude::*;
use std::sync::LazyLock;
use valvefolio::draw::{
    Align, Colour, Document, Face, Fonts, Item, Paper, Role, Sheet, Stroke, Tag, TextStyle, tagged,
};
use valvefolio::output::pdf::{Ahead, Binder, Leaf, PdfError, to_pdf};

static FONTS: LazyLock<Fonts> = LazyLock::new(Fonts::load);
const STYLE: TextStyle = TextStyle {
    face: Face::Regular,
    size_pt: 8.0,
    colour: Colour::BLACK,
};

fn sample_file(attached: bool) -> lopdf::Document {
    read(&sample::document(&FONTS, "PATIENT LABEL Ζωή", attached))
}

fn read(document: &Document) -> lopdf::Document {
    lopdf::Document::load_mem(&to_pdf(document, &FONTS).expect("a file")).expect("a readable file")
}

/// A document of one sheet with these items.
fn one_sheet(items: Vec<Item>) -> Document {
    let sheet = Sheet {
        items,
        ..Sheet::new(Paper::A4)
    };
    Document {
        title: "Test".to_owned(),
        subject: String::new(),
        language: "en-GB".to_owned(),
        date: date(2026, 1, 31),
        sheets: vec![sheet],
        attachment: None,
    }
}

fn paragraph(text: &str, face: Face) -> Vec<Item> {
    let mut items = Vec::new();
    tagged(&mut items, Tag::new(Role::P), |items| {
        items.push(FONTS.place(text, 20.0, 20.0, Align::Left, TextStyle { face, ..STYLE }));
    });
    items
}

fn dictionary<'a>(file: &'a lopdf::Document, object: &'a Object) -> &'a Dictionary {
    match object {
        Object::Reference(id) => file.get_dictionary(*id).expect("a dictionary"),
        other => other.as_dict().expect("a dictionary"),
    }
}

fn entry<'a>(file: &'a lopdf::Document, outer: &'a Dictionary, key: &str) -> &'a Dictionary {
    dictionary(
        file,
        outer
            .get(key.as_bytes())
            .unwrap_or_else(|_| panic!("{key}")),
    )
}

/// Plain or UTF-16 text of a text string.
fn text_of(object: &Object) -> String {
    let bytes = object.as_str().expect("a string");
    match bytes.strip_prefix(&[0xfe, 0xff]) {
        Some(units) => {
            let units: Vec<u16> = units
                .chunks(2)
                .map(|pair| u16::from_be_bytes([pair[0], pair[1]]))
                .collect();
            String::from_utf16(&units).expect("UTF-16")
        }
        None => String::from_utf8(bytes.to_vec()).expect("ASCII"),
    }
}

/// Every structure element below the root, with the type of its parent.
fn elements(file: &lopdf::Document) -> Vec<(ObjectId, String, String)> {
    let root = entry(file, file.catalog().unwrap(), "StructTreeRoot");
    let mut found = Vec::new();
    let mut open = vec![(
        root.get(b"K").unwrap().as_reference().unwrap(),
        "root".to_owned(),
    )];
    while let Some((id, parent)) = open.pop() {
        let element = file.get_dictionary(id).unwrap();
        let kind =
            String::from_utf8(element.get(b"S").unwrap().as_name().unwrap().to_vec()).unwrap();
        let kids = match element.get(b"K") {
            Ok(Object::Array(kids)) => kids.clone(),
            Ok(kid) => vec![kid.clone()],
            Err(_) => vec![],
        };
        open.extend(
            kids.iter()
                .rev()
                .filter_map(|kid| Some((kid.as_reference().ok()?, kind.clone()))),
        );
        found.push((id, kind, parent));
    }
    found
}

#[test]
fn the_text_can_be_read_back_with_its_place_and_width() {
    let document = sample::document(&FONTS, "PATIENT LABEL Ζωή", true);
    let file = read(&document);
    let pages: Vec<ObjectId> = file.page_iter().collect();
    assert_eq!(pages.len(), document.sheets.len());
    for (page, sheet) in pages.into_iter().zip(&document.sheets) {
        let drawn: Vec<(&str, Face, (f64, f64), bool)> = sheet
            .items
            .iter()
            .filter_map(|item| match item {
                Item::Text {
                    text,
                    face,
                    x_mm,
                    baseline_mm,
                    rotated,
                    ..
                } => {
                    let up_mm = sheet.paper.height_mm() - baseline_mm;
                    Some((
                        text.as_str(),
                        *face,
                        (x_mm / 25.4 * 72.0, up_mm / 25.4 * 72.0),
                        *rotated,
                    ))
                }
                _ => None,
            })
            .collect();
        let shown = reading::texts(&file, page);
        assert_eq!(shown.len(), drawn.len());
        for (shown, (text, face, start_pt, upward)) in shown.iter().zip(drawn) {
            let off = (shown.start_pt.0 - start_pt.0)
                .abs()
                .max((shown.start_pt.1 - start_pt.1).abs());
            assert!(
                off < 0.0051 && shown.upward == upward,
                "{shown:?} {start_pt:?}"
            );
            // A text that another of its element follows ends in a space.
            let ended = shown.text.strip_suffix(' ').unwrap_or(&shown.text);
            assert!(shown.text == text || ended == text, "{shown:?} {text}");
            let space = f64::from(FONTS.width_milli(" ", face));
            let width = shown.width_milli - if shown.text == text { 0.0 } else { space };
            assert_eq!(width, f64::from(FONTS.width_milli(text, face)), "{text}");
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]
    #[test]
    fn prop_any_clean_text_comes_back(text in "\\PC{1,40}", bold in any::<bool>()) {
        let text = FONTS.clean(&text).into_owned();
        prop_assume!(!text.is_empty());
        let file = read(&one_sheet(paragraph(&text, Face::ALL[usize::from(bold)])));
        let shown = reading::texts(&file, file.page_iter().next().unwrap());
        // A no-break space has the glyph of the space and is read as one.
        prop_assert_eq!(&shown[0].text, &text.replace('\u{a0}', " "));
        prop_assert_eq!(shown[0].piece, Some(0));
    }
}

#[test]
fn the_same_document_gives_the_same_bytes_on_any_thread() {
    let documents: Vec<Document> = (0..24)
        .map(|number| {
            sample::document(
                &FONTS,
                ["PATIENT", "Ζωή", "Щукина", "Nguyễn"][number % 4],
                number % 2 == 0,
            )
        })
        .collect();
    let alone: Vec<Vec<u8>> = documents
        .iter()
        .map(|document| to_pdf(document, &FONTS).unwrap())
        .collect();
    let fresh = &Fonts::load();
    let together: Vec<Vec<u8>> = std::thread::scope(|scope| {
        let threads: Vec<_> = documents
            .iter()
            .map(|document| scope.spawn(move || to_pdf(document, fresh).unwrap()))
            .collect();
        threads
            .into_iter()
            .map(|thread| thread.join().unwrap())
            .collect()
    });
    assert!(alone == together);
    let identifier = |bytes: &[u8]| {
        let file = lopdf::Document::load_mem(bytes).unwrap();
        file.trailer.get(b"ID").unwrap().as_array().unwrap()[0]
            .as_str()
            .unwrap()
            .to_vec()
    };
    assert_ne!(identifier(&alone[0]), identifier(&alone[1]));
    assert_eq!(identifier(&alone[0]), identifier(&alone[4]));
}

#[test]
fn the_catalogue_says_what_the_file_is() {
    let file = sample_file(true);
    assert_eq!(file.version, "1.7");
    let catalogue = file.catalog().unwrap();
    assert_eq!(catalogue.get(b"Lang").unwrap().as_str().unwrap(), b"en-GB");
    assert!(
        entry(&file, catalogue, "MarkInfo")
            .get(b"Marked")
            .unwrap()
            .as_bool()
            .unwrap()
    );
    let preferences = entry(&file, catalogue, "ViewerPreferences");
    assert!(
        preferences
            .get(b"DisplayDocTitle")
            .unwrap()
            .as_bool()
            .unwrap()
    );
    let info = entry(&file, &file.trailer, "Info");
    assert_eq!(
        text_of(info.get(b"Title").unwrap()),
        "Case 2026-0117, PATIENT LABEL Ζωή <made up> & checked"
    );
    assert_eq!(
        info.get(b"CreationDate").unwrap().as_str().unwrap(),
        b"D:20280420000000Z"
    );
    assert_eq!(
        info.get(b"ModDate").unwrap().as_str().unwrap(),
        b"D:20280420000000Z"
    );
    let intents = catalogue.get(b"OutputIntents").unwrap().as_array().unwrap();
    assert_eq!(
        dictionary(&file, &intents[0])
            .get(b"S")
            .unwrap()
            .as_name()
            .unwrap(),
        b"GTS_PDFA1"
    );
}

#[test]
fn the_metadata_is_escaped_and_names_the_level() {
    for (attached, part) in [(false, 2), (true, 3)] {
        let file = sample_file(attached);
        let id = file
            .catalog()
            .unwrap()
            .get(b"Metadata")
            .unwrap()
            .as_reference()
            .unwrap();
        let stream = file.get_object(id).unwrap().as_stream().unwrap();
        // Readers that know no PDF find the packet only where it is not compressed.
        assert!(stream.dict.get(b"Filter").is_err());
        let packet = std::str::from_utf8(&stream.content).unwrap();
        assert!(packet.contains(&format!("<pdfaid:part>{part}</pdfaid:part>")));
        assert!(packet.contains("PATIENT LABEL Ζωή &lt;made up&gt; &amp; checked</rdf:li>"));
        assert!(packet.contains("<xmp:CreateDate>2028-04-20T00:00:00Z</xmp:CreateDate>"));
    }
}

#[test]
fn every_piece_of_content_leads_to_its_element_and_back() {
    let file = sample_file(true);
    let root = entry(&file, file.catalog().unwrap(), "StructTreeRoot");
    let numbers = entry(&file, root, "ParentTree")
        .get(b"Nums")
        .unwrap()
        .as_array()
        .unwrap();
    for (index, page) in file.page_iter().enumerate() {
        let key = file
            .get_dictionary(page)
            .unwrap()
            .get(b"StructParents")
            .unwrap()
            .as_i64()
            .unwrap();
        assert_eq!(
            (key, numbers[2 * index].as_i64().unwrap()),
            (index as i64, index as i64)
        );
        let owners = file
            .get_object(numbers[2 * index + 1].as_reference().unwrap())
            .unwrap()
            .as_array()
            .unwrap();
        let pieces: Vec<i64> = reading::texts(&file, page)
            .iter()
            .filter_map(|shown| shown.piece)
            .collect();
        assert!(!pieces.is_empty() && pieces.iter().all(|&piece| (piece as usize) < owners.len()));
        for (piece, owner) in owners.iter().enumerate() {
            let element = dictionary(&file, owner);
            assert_eq!(element.get(b"Pg").unwrap().as_reference().unwrap(), page);
            let mine = match element.get(b"K").unwrap() {
                Object::Array(kids) => kids.contains(&Object::Integer(piece as i64)),
                kid => *kid == Object::Integer(piece as i64),
            };
            assert!(mine, "piece {piece} of page {index}");
        }
    }
}

#[test]
fn the_tree_names_tables_lists_figures_and_their_parts() {
    let file = sample_file(false);
    let elements = elements(&file);
    let count = |kind: &str, parent: &str| {
        elements
            .iter()
            .filter(|element| element.1 == kind && element.2 == parent)
            .count()
    };
    // The sample's first page: a heading, eight list items, two charts, three tables of 16 rows and 3 columns.
    assert_eq!((count("Document", "root"), count("H1", "Document")), (1, 1));
    assert_eq!(
        (
            count("L", "Document"),
            count("LI", "L"),
            count("LBody", "LI")
        ),
        (1, 8, 8)
    );
    assert_eq!((count("Table", "Document"), count("TR", "Table")), (3, 48));
    assert_eq!(
        (count("TH", "TR"), count("TD", "TR")),
        (3 * (3 + 15), 3 * 15 * 2)
    );
    assert_eq!(count("Figure", "Document"), 3);
    let mut scopes = [0, 0];
    for (id, kind, _) in &elements {
        let element = file.get_dictionary(*id).unwrap();
        match kind.as_str() {
            "Figure" => assert!(!text_of(element.get(b"Alt").unwrap()).is_empty()),
            "TH" => match entry(&file, element, "A")
                .get(b"Scope")
                .unwrap()
                .as_name()
                .unwrap()
            {
                b"Column" => scopes[0] += 1,
                b"Row" => scopes[1] += 1,
                other => panic!("{other:?}"),
            },
            _ => {}
        }
    }
    assert_eq!(scopes, [9, 45]);
    let read_as = elements
        .iter()
        .filter_map(|(id, ..)| file.get_dictionary(*id).unwrap().get(b"ActualText").ok());
    assert_eq!(
        read_as.map(text_of).collect::<Vec<_>>(),
        vec!["not recorded"; 45]
    );
}

#[test]
fn what_stands_in_no_element_is_an_artifact() {
    let file = sample_file(false);
    let shown = reading::texts(&file, file.page_iter().next().unwrap());
    let outside: Vec<&str> = shown
        .iter()
        .filter(|shown| shown.piece.is_none())
        .map(|shown| shown.text.as_str())
        .collect();
    assert_eq!(outside, ["Page 1"]);
}

#[test]
fn bookmarks_nest_and_pages_have_labels() {
    let file = sample_file(false);
    let outline = entry(&file, file.catalog().unwrap(), "Outlines");
    let pages: Vec<ObjectId> = file.page_iter().collect();
    let describe = |entry: &Dictionary| {
        let target = entry.get(b"Dest").unwrap().as_array().unwrap()[0]
            .as_reference()
            .unwrap();
        let page = pages.iter().position(|page| *page == target).unwrap();
        (text_of(entry.get(b"Title").unwrap()), page)
    };
    let patient = entry(&file, outline, "First");
    let glossary = entry(&file, patient, "Next");
    assert_eq!(describe(patient), ("PATIENT LABEL Ζωή".to_owned(), 0));
    assert_eq!(describe(glossary), ("Glossary".to_owned(), 1));
    assert!(glossary.get(b"Next").is_err() && glossary.get(b"First").is_err());
    let case_page = entry(&file, patient, "First");
    let signs = entry(&file, case_page, "Next");
    assert_eq!(describe(case_page), ("Case page".to_owned(), 0));
    assert_eq!(describe(signs), ("Signs & letters".to_owned(), 1));
    let labels = entry(&file, file.catalog().unwrap(), "PageLabels")
        .get(b"Nums")
        .unwrap()
        .as_array()
        .unwrap();
    assert_eq!(
        text_of(dictionary(&file, &labels[3]).get(b"P").unwrap()),
        "A-1"
    );
}

#[test]
fn the_attachment_is_whole_and_declared_as_data() {
    let file = sample_file(true);
    let associated = file
        .catalog()
        .unwrap()
        .get(b"AF")
        .unwrap()
        .as_array()
        .unwrap();
    let specification = dictionary(&file, &associated[0]);
    assert_eq!(
        specification
            .get(b"AFRelationship")
            .unwrap()
            .as_name()
            .unwrap(),
        b"Data"
    );
    assert_eq!(text_of(specification.get(b"UF").unwrap()), "results.json");
    let id = entry(&file, specification, "EF")
        .get(b"F")
        .unwrap()
        .as_reference()
        .unwrap();
    let stream = file.get_object(id).unwrap().as_stream().unwrap();
    assert_eq!(
        stream.dict.get(b"Subtype").unwrap().as_name().unwrap(),
        b"application/json"
    );
    assert_eq!(
        stream.decompressed_content().unwrap(),
        br#"{"case_id":"2026-0117","annulus_area_mm2":560}"#
    );
}

#[test]
fn only_the_glyphs_that_are_needed_are_embedded() {
    let names = |text: &str| {
        let file = read(&one_sheet(paragraph(text, Face::Regular)));
        let fonts = file
            .get_page_fonts(file.page_iter().next().unwrap())
            .unwrap();
        let names: Vec<String> = fonts
            .values()
            .map(|font| {
                String::from_utf8(font.get(b"BaseFont").unwrap().as_name().unwrap().to_vec())
                    .unwrap()
            })
            .collect();
        names
    };
    assert_eq!(names("20 mmHg ≥ 5 cm²"), ["CORERG+SourceSans3-Regular"]);
    assert_eq!(names("Ελένη Zoë"), ["WIDERG+SourceSans3-Regular"]);
    assert_eq!(names("Nguyễn"), ["OWNSRG+SourceSans3-Regular"]);
}

/// Against the writing of the same documents in the other order: the common practice that one input gives one file, no
/// source.
#[test]
fn what_other_documents_needed_does_not_show() {
    // Each with a letter that no common set has, in both faces, and more of them than sets are kept.
    let documents: Vec<Document> = "ạảấầẩẫậắằẳẵ"
        .chars()
        .map(|letter| {
            let mut items = paragraph(&format!("rare {letter}"), Face::Regular);
            items.extend(paragraph(&format!("rare {letter}"), Face::Semibold));
            one_sheet(items)
        })
        .collect();
    let write = |document: &Document| to_pdf(document, &FONTS).unwrap();
    let forward: Vec<Vec<u8>> = documents.iter().map(write).collect();
    let mut backward: Vec<Vec<u8>> = documents.iter().rev().map(write).collect();
    backward.reverse();
    assert!(forward == backward);
    assert_ne!(forward[0], forward[1]);
}

#[test]
fn a_packet_of_many_pages_stays_readable() {
    let mut document = one_sheet(paragraph("page", Face::Semibold));
    document.sheets = vec![document.sheets[0].clone(); 700];
    let file = read(&document);
    let pages: Vec<ObjectId> = file.page_iter().collect();
    assert_eq!(pages.len(), 700);
    assert_eq!(reading::texts(&file, pages[699])[0].text, "page");
    assert_eq!(elements(&file).len(), 701);
}

/// The document of these sheets, written in the order of `turns` and read in their own; every second is written ahead.
fn bound(sheets: &[Sheet], turns: &[usize]) -> Result<lopdf::Document, PdfError> {
    let mut binder = Binder::begin(Vec::new(), &FONTS);
    let mut leaves: Vec<(usize, Leaf)> = Vec::new();
    for &place in turns {
        let sheet = &sheets[place];
        let leaf = if place % 2 == 0 {
            binder.add(sheet)
        } else {
            let stand_in = Sheet {
                items: Vec::new(),
                ..sheet.clone()
            };
            binder.add_ahead(&stand_in, Ahead::of(sheet, &FONTS)?)
        };
        leaves.push((place, leaf?));
    }
    leaves.sort_by_key(|(place, _)| *place);
    let leaves: Vec<Leaf> = leaves.into_iter().map(|(_, leaf)| leaf).collect();
    let about = Document {
        sheets: Vec::new(),
        ..one_sheet(Vec::new())
    };
    let bytes = binder.finish(&about, &leaves)?;
    Ok(lopdf::Document::load_mem(&bytes).expect("a readable file"))
}

/// Sheets with common letters, letters of the wide set and some of neither set, whose numbers are settled while the
/// document grows. Expected is what was drawn; it is read by a library of others.
#[test]
fn sheets_bound_in_any_order_are_read_in_theirs() {
    let words = ["plain", "Zoë Ωmega", "Hà Nội, Zoë", "Nguyễn", "Ψ, Hà Nội"];
    let faces = [0, 1, 0, 0, 1].map(|face| Face::ALL[face]);
    let sheets: Vec<Sheet> = words
        .iter()
        .zip(faces)
        .enumerate()
        .map(|(place, (text, face))| {
            let sheet = one_sheet(paragraph(text, face)).sheets.remove(0);
            let sheet = sheet.with_label(format!("{place} · {text}"));
            sheet.with_bookmark(*text, u8::from(place > 0))
        })
        .collect();
    for turns in [[0, 1, 2, 3, 4], [4, 2, 0, 3, 1], [3, 4, 1, 2, 0]] {
        let file = bound(&sheets, &turns).expect("a file");
        let catalogue = file.catalog().unwrap();
        let labels = entry(&file, catalogue, "PageLabels").get(b"Nums").unwrap();
        let labels = labels.as_array().unwrap();
        let first = entry(&file, entry(&file, catalogue, "Outlines"), "First");
        let mut bookmark = first;
        let pages: Vec<ObjectId> = file.page_iter().collect();
        assert_eq!(pages.len(), words.len());
        for (place, (&page, text)) in pages.iter().zip(words).enumerate() {
            let shown = reading::texts(&file, page);
            assert_eq!((shown.len(), &*shown[0].text), (1, text), "{turns:?}");
            let width = f64::from(FONTS.width_milli(text, faces[place]));
            assert_eq!(shown[0].width_milli, width, "{text}");
            assert_eq!(labels[2 * place].as_i64().unwrap(), place as i64);
            let label = dictionary(&file, &labels[2 * place + 1]);
            assert_eq!(
                text_of(label.get(b"P").unwrap()),
                format!("{place} · {text}")
            );
            if place > 0 {
                let next = if place == 1 { "First" } else { "Next" };
                bookmark = entry(&file, bookmark, next);
            }
            assert_eq!(text_of(bookmark.get(b"Title").unwrap()), text);
            let target = bookmark.get(b"Dest").unwrap().as_array().unwrap();
            assert_eq!(target[0].as_reference().unwrap(), page);
        }
        let found = elements(&file);
        let kinds: Vec<&str> = found.iter().map(|(_, kind, _)| &**kind).collect();
        let each = ["Part", "P"];
        assert_eq!(kinds[0], "Document");
        assert_eq!(kinds[1..], each.repeat(words.len()));
        let root = entry(&file, catalogue, "StructTreeRoot");
        let numbers = entry(&file, root, "ParentTree").get(b"Nums").unwrap();
        let numbers = numbers.as_array().unwrap();
        let keys: Vec<i64> = numbers.iter().filter_map(|key| key.as_i64().ok()).collect();
        assert!(keys.is_sorted() && keys.len() == pages.len());
        for (place, &page) in pages.iter().enumerate() {
            let key = file.get_dictionary(page).unwrap().get(b"StructParents");
            let key = key.unwrap();
            let at = numbers.iter().position(|number| number == key);
            let owners = file.get_object(numbers[at.unwrap() + 1].as_reference().unwrap());
            let owner = &owners.unwrap().as_array().unwrap()[0];
            // Document, then a part and a paragraph for each.
            assert_eq!(owner.as_reference().unwrap(), found[2 * place + 2].0);
            let element = dictionary(&file, owner);
            assert_eq!(element.get(b"Pg").unwrap().as_reference().unwrap(), page);
        }
    }
}

#[test]
fn a_packet_of_many_pages_bound_one_by_one_stays_readable() {
    let sheet = one_sheet(paragraph("page", Face::Semibold))
        .sheets
        .remove(0);
    let turns: Vec<usize> = (0..700).rev().collect();
    let file = bound(&vec![sheet; 700], &turns).expect("a file");
    let pages: Vec<ObjectId> = file.page_iter().collect();
    assert_eq!(pages.len(), 700);
    assert_eq!(reading::texts(&file, pages[699])[0].text, "page");
    assert_eq!(elements(&file).len(), 1 + 2 * 700);
}

#[test]
fn what_cannot_be_bound_is_an_error_that_names_it() {
    let wrong = paragraph("name 日", Face::Regular);
    let plain = || paragraph("plain", Face::Regular);
    let sheets = [plain(), plain(), wrong].map(|items| one_sheet(items).sheets.remove(0));
    assert_eq!(
        bound(&sheets, &[0, 1, 2]).err(),
        Some(PdfError::NoGlyph {
            sheet: 3,
            character: '日',
            text: "name 日".to_owned()
        })
    );
    assert_eq!(bound(&sheets, &[]).err(), Some(PdfError::NoSheets));
}

#[test]
fn paper_sizes_are_those_of_the_standards() {
    // ISO 216: 210 × 297 mm; US Letter: 8.5 × 11 in. A point is 1/72 in.
    let file = sample_file(false);
    let boxes: Vec<Vec<f32>> = file
        .page_iter()
        .map(|page| {
            let sides = file
                .get_dictionary(page)
                .unwrap()
                .get(b"MediaBox")
                .unwrap()
                .as_array()
                .unwrap();
            sides.iter().map(|side| side.as_float().unwrap()).collect()
        })
        .collect();
    assert_eq!(
        boxes,
        [[0.0, 0.0, 595.276, 841.89], [0.0, 0.0, 612.0, 792.0]]
    );
}

#[test]
fn a_missing_glyph_is_an_error_that_names_it() {
    for character in ['日', '\u{301}', '\u{200b}', '\n'] {
        let text = format!("name {character}");
        let wrong = to_pdf(&one_sheet(paragraph(&text, Face::Regular)), &FONTS);
        assert_eq!(
            wrong,
            Err(PdfError::NoGlyph {
                sheet: 1,
                character,
                text
            })
        );
    }
}

#[test]
fn faulty_pages_are_refused() {
    let text = || FONTS.place("text", 20.0, 20.0, Align::Left, STYLE);
    let ink = Stroke::solid(0.5, Colour::BLACK);
    let open = |role| Item::Open(Tag::new(role));
    let refused = |items: Vec<Item>| to_pdf(&one_sheet(items), &FONTS).expect_err("a fault");

    assert!(matches!(
        refused(vec![text()]),
        PdfError::Untagged { sheet: 1, .. }
    ));
    assert!(matches!(
        refused(vec![open(Role::Table), text(), Item::Close]),
        PdfError::Untagged { .. }
    ));
    let faults = [
        (vec![open(Role::P)], "not closed"),
        (vec![Item::Close], "not opened"),
        (
            vec![open(Role::Row), Item::Close],
            "TR cannot stand in Document",
        ),
        (
            vec![open(Role::P), open(Role::H2), Item::Close, Item::Close],
            "H2 cannot stand in P",
        ),
        (vec![Item::Unclip], "not begun"),
        (
            vec![Item::Clip {
                x_mm: 0.0,
                y_mm: 0.0,
                width_mm: 1.0,
                height_mm: 1.0,
            }],
            "not ended",
        ),
        (vec![open(Role::Figure), Item::Close], "no description"),
    ];
    for (items, words) in faults {
        match refused(items) {
            PdfError::Structure { sheet: 1, fault } => assert!(fault.contains(words), "{fault}"),
            other => panic!("{other}"),
        }
    }
    assert_eq!(
        refused(vec![Item::line((f64::NAN, 0.0), (1.0, 1.0), ink)]),
        PdfError::NotFinite { sheet: 1 }
    );

    let empty = Document {
        sheets: vec![],
        ..one_sheet(vec![])
    };
    assert_eq!(to_pdf(&empty, &FONTS), Err(PdfError::NoSheets));
    let untitled = Document {
        title: " ".to_owned(),
        ..one_sheet(vec![])
    };
    assert_eq!(to_pdf(&untitled, &FONTS), Err(PdfError::NoTitle));
}
