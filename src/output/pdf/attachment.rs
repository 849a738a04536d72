//! The data a document carries, as an associated file.

use super::metadata::pdf_date;
use super::objects::Objects;
use super::skeleton::{LEVEL, deflated, text_string};
use crate::draw::Attachment;
use jiff::civil::Date;
use lopdf::{Object, dictionary};

/// Embeds the attachment and says that the pages were drawn from it.
pub(super) fn add_to(file: &mut impl Objects, attachment: &Attachment, date: Date) {
    let embedded = file.add_deflated(
        dictionary! {
            "Type" => "EmbeddedFile",
            "Subtype" => Object::Name(attachment.mime.clone().into_bytes()),
            "Params" => dictionary! {
                "Size" => attachment.bytes.len() as i64,
                "ModDate" => Object::string_literal(pdf_date(date)),
            },
        },
        deflated(&attachment.bytes, LEVEL),
    );
    let specification = file.add(dictionary! {
        "Type" => "Filespec",
        "F" => text_string(&attachment.name),
        "UF" => text_string(&attachment.name),
        "Desc" => text_string(&attachment.description),
        "AFRelationship" => "Data",
        "EF" => dictionary! { "F" => embedded, "UF" => embedded },
    });
    let names = vec![
        text_string(&attachment.name),
        Object::Reference(specification),
    ];
    let catalogue = file.catalogue();
    catalogue.set("AF", vec![Object::Reference(specification)]);
    catalogue.set(
        "Names",
        dictionary! { "EmbeddedFiles" => dictionary! { "Names" => names } },
    );
}
