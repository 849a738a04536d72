//! documents.csv: every PDF that was made, with the check code that tells whether a sheet in the hand is current.

use serde::{Deserialize, Serialize};

use crate::diagnostic::neutralised;

/// State of a page of an earlier run that a later one was to make again and could not.
pub const NOT_RENEWED: &str = "not renewed";

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
    /// `draft`, `recorded as signed`, `signed`, `changed since signature` or [`NOT_RENEWED`].
    pub state: String,
    /// Check code printed on the sheet.
    pub check_code: String,
    /// SHA-256 of the file.
    pub sha256: String,
    /// Check codes of the sheets that this one replaces, latest first, separated by `;`.
    pub replaces: String,
}

/// The documents of an earlier run; rows that cannot be read are passed over, since the file is only ours.
pub fn parse(text: &str) -> Vec<Document> {
    csv::Reader::from_reader(text.as_bytes())
        .deserialize()
        .filter_map(Result::ok)
        .map(|document: Document| Document {
            // An id holds no apostrophe; the one in front is ours.
            case_id: document.case_id.trim_start_matches('\'').to_owned(),
            ..document
        })
        .collect()
}

/// Whether two check codes are the same; letter case and the hyphen do not matter.
pub fn same_code(one: &str, other: &str) -> bool {
    let bare = |code: &str| code.replace('-', "").to_ascii_uppercase();
    bare(one) == bare(other)
}

/// The check code of a page that says of itself that it is signed. Its subject stands uncompressed in its metadata, so
/// that a file is known to be signed though no list speaks of it.
pub fn signed_code(pdf: &[u8]) -> Option<String> {
    const SAYS: &[u8] = b", signed, check code ";
    const CODE: usize = "2222-2222".len();
    let at = pdf.windows(SAYS.len()).position(|bytes| bytes == SAYS)? + SAYS.len();
    let code = std::str::from_utf8(pdf.get(at..at + CODE)?).ok()?;
    let letter = |byte: u8| byte.is_ascii_uppercase() || byte.is_ascii_digit() || byte == b'-';
    code.bytes().all(letter).then(|| code.to_owned())
}

impl Document {
    /// The same sheet where it was to be made again and was not: it is no longer current.
    pub fn not_renewed(self) -> Self {
        Self {
            state: NOT_RENEWED.to_owned(),
            ..self
        }
    }

    /// The codes a new sheet with this code replaces, when `earlier` stood in its place.
    pub fn replaced_by(earlier: Option<&Self>, code: &str) -> String {
        match earlier {
            None => String::new(),
            Some(earlier) if same_code(&earlier.check_code, code) => earlier.replaces.clone(),
            Some(earlier) if earlier.replaces.is_empty() => earlier.check_code.clone(),
            Some(earlier) => format!("{};{}", earlier.check_code, earlier.replaces),
        }
    }

    /// Whether this sheet replaces one with that code.
    pub fn has_replaced(&self, code: &str) -> bool {
        self.replaces
            .split(';')
            .any(|earlier| same_code(earlier, code))
    }
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
        documents.iter().try_for_each(|document| {
            writer.serialize(Document {
                case_id: neutralised(&document.case_id).into_owned(),
                ..document.clone()
            })
        })
    };
    write().expect("writing to memory does not fail");
    writer
        .into_inner()
        .expect("writing to memory does not fail")
}
