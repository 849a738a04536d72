//! documents.csv: every PDF that was made, with the check code that tells whether a sheet in the hand is current.

use serde::{Deserialize, Serialize};

/// One PDF.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Document {
    /// Path below the output folder.
    pub file: String,
    /// The case; empty for the cohort summary and the packet.
    pub case_id: String,
    /// `discharge`, `follow-up`, `cohort` or `packet`.
    pub kind: String,
    /// The day the report speaks for.
    pub date: String,
    /// `draft`, `recorded as signed`, `signed` or `changed since signature`.
    pub state: String,
    /// Check code printed on the sheet.
    pub check_code: String,
    /// SHA-256 of the file.
    pub sha256: String,
    /// Check code of the sheet that this one replaces; empty where there is none.
    pub replaces: String,
}

/// The documents of an earlier run; rows that cannot be read are passed over, since the file is only ours.
pub fn parse(text: &str) -> Vec<Document> {
    csv::Reader::from_reader(text.as_bytes())
        .deserialize()
        .filter_map(Result::ok)
        .collect()
}

/// documents.csv.
pub fn render(documents: &[Document]) -> Vec<u8> {
    let mut writer = csv::WriterBuilder::new()
        .has_headers(false)
        .from_writer(Vec::new());
    let header = [
        "file",
        "case_id",
        "kind",
        "date",
        "state",
        "check_code",
        "sha256",
        "replaces",
    ];
    let mut write = || -> Result<(), csv::Error> {
        writer.write_record(header)?;
        documents
            .iter()
            .try_for_each(|document| writer.serialize(document))
    };
    write().expect("writing to memory does not fail");
    writer
        .into_inner()
        .expect("writing to memory does not fail")
}
