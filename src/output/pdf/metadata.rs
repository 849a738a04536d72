//! Title, dates, language, conformance, and the identifier of the file.

use super::objects::Objects;
use super::skeleton::text_string;
use crate::draw::Document;
use jiff::civil::Date;
use lopdf::{Object, dictionary};
use sha2::{Digest, Sha256};

/// Named as creator and producer.
const PROGRAM: &str = concat!("valvefolio ", env!("CARGO_PKG_VERSION"));

/// Writes the information dictionary, the XMP packet and catalogue entries.
pub(super) fn add_to(file: &mut impl Objects, document: &Document) {
    let date = pdf_date(document.date);
    file.set_info(dictionary! {
        "Title" => text_string(&document.title),
        "Subject" => text_string(&document.subject),
        "Creator" => Object::string_literal(PROGRAM),
        "Producer" => Object::string_literal(PROGRAM),
        "CreationDate" => Object::string_literal(date.as_str()),
        "ModDate" => Object::string_literal(date.as_str()),
    });
    let packet = file.add_stream(
        dictionary! { "Type" => "Metadata", "Subtype" => "XML" },
        xmp(document).into_bytes(),
    );
    let catalogue = file.catalogue();
    catalogue.set("Metadata", packet);
    catalogue.set("Lang", Object::string_literal(document.language.as_str()));
    // Drawings to scale must leave the printer at their size.
    catalogue.set(
        "ViewerPreferences",
        dictionary! { "DisplayDocTitle" => true, "PrintScaling" => "None" },
    );
}

/// What the identifier of a file is made of: its streams, in their order.
#[derive(Default)]
pub(super) struct Fingerprint(Sha256);

impl Fingerprint {
    /// The next stream.
    pub(super) fn add(&mut self, stream: &[u8]) {
        self.0.update(stream.len().to_le_bytes());
        self.0.update(stream);
    }

    /// Both parts of the file identifier.
    pub(super) fn identifier(self) -> Vec<Object> {
        let digest = self.0.finalize();
        let part = Object::String(digest[..16].to_vec(), lopdf::StringFormat::Hexadecimal);
        vec![part.clone(), part]
    }
}

/// Midnight of a date, as PDF writes it.
pub(super) fn pdf_date(date: Date) -> String {
    format!(
        "D:{:04}{:02}{:02}000000Z",
        date.year(),
        date.month(),
        date.day()
    )
}

/// The same statements as the information dictionary, and the conformance level.
fn xmp(document: &Document) -> String {
    let part = if document.attachment.is_some() { 3 } else { 2 };
    let (title, subject) = (escaped(&document.title), escaped(&document.subject));
    let language = escaped(&document.language);
    let date = document.date;
    let date = format!(
        "{:04}-{:02}-{:02}T00:00:00Z",
        date.year(),
        date.month(),
        date.day()
    );
    format!(
        "<?xpacket begin=\"\u{feff}\" id=\"W5M0MpCehiHzreSzNTczkc9d\"?>\n\
         <x:xmpmeta xmlns:x=\"adobe:ns:meta/\">\n\
         <rdf:RDF xmlns:rdf=\"http://www.w3.org/1999/02/22-rdf-syntax-ns#\">\n\
         <rdf:Description rdf:about=\"\" xmlns:dc=\"http://purl.org/dc/elements/1.1/\" \
         xmlns:xmp=\"http://ns.adobe.com/xap/1.0/\" xmlns:pdf=\"http://ns.adobe.com/pdf/1.3/\" \
         xmlns:pdfaid=\"http://www.aiim.org/pdfa/ns/id/\">\n\
         <pdfaid:part>{part}</pdfaid:part>\n<pdfaid:conformance>B</pdfaid:conformance>\n\
         <dc:format>application/pdf</dc:format>\n\
         <dc:title><rdf:Alt><rdf:li xml:lang=\"x-default\">{title}</rdf:li></rdf:Alt></dc:title>\n\
         <dc:description><rdf:Alt><rdf:li xml:lang=\"x-default\">{subject}</rdf:li></rdf:Alt></dc:description>\n\
         <dc:language><rdf:Bag><rdf:li>{language}</rdf:li></rdf:Bag></dc:language>\n\
         <pdf:Producer>{PROGRAM}</pdf:Producer>\n<xmp:CreatorTool>{PROGRAM}</xmp:CreatorTool>\n\
         <xmp:CreateDate>{date}</xmp:CreateDate>\n<xmp:ModifyDate>{date}</xmp:ModifyDate>\n\
         <xmp:MetadataDate>{date}</xmp:MetadataDate>\n\
         </rdf:Description>\n</rdf:RDF>\n</x:xmpmeta>\n<?xpacket end=\"w\"?>"
    )
}

/// Text as it may stand in XML. Characters that XML forbids even when escaped become spaces.
fn escaped(text: &str) -> String {
    let mut written = String::with_capacity(text.len());
    for character in text.chars() {
        match character {
            '&' => written.push_str("&amp;"),
            '<' => written.push_str("&lt;"),
            '>' => written.push_str("&gt;"),
            '"' => written.push_str("&quot;"),
            '\u{0}'..='\u{1f}' | '\u{fffe}' | '\u{ffff}' => written.push(' '),
            other => written.push(other),
        }
    }
    written
}
