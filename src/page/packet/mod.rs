//! The follow-up packet: worklist, what changed since an earlier run, the pages of its patients, slips for the next echo, data gaps.

mod changed;
mod data_gaps;
mod leaves;
mod list;
mod rows;
mod slips;
mod words;

use std::collections::HashMap;

use crate::draw::{Bookmark, Document, Fonts, Paper, Sheet};
use crate::page::number::date;
use crate::page::text::Rich;
use crate::record::Text;
use crate::worklist::{Changes, Worklist};

use leaves::Leaves;

/// What the pages need beside the worklist.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct PacketContext {
    /// Name of the centre, as its site file says it; may be empty.
    pub centre: String,
    /// Paper.
    pub paper: Paper,
    /// What is other than in an earlier run, where one was named.
    pub changes: Option<Changes>,
}

/// The packet as one document.
///
/// `case_pages` are the pages of cases, in any order; those on the list are bound in, in its order, each once. A case on
/// the list without a page is named on the list.
pub fn packet_document(
    worklist: &Worklist,
    case_pages: &[(Text, Document)],
    context: &PacketContext,
    fonts: &Fonts,
) -> Document {
    let pages: HashMap<&Text, &Document> = case_pages.iter().map(|(id, page)| (id, page)).collect();
    let without_page: Vec<&Text> = worklist
        .entries
        .iter()
        .map(|entry| &entry.case_id)
        .filter(|case_id| !pages.contains_key(case_id))
        .collect();
    let part = |write: &dyn Fn(&mut Leaves<'_>)| {
        let mut leaves = Leaves::new(fonts, context, standing(worklist));
        write(&mut leaves);
        leaves.finish()
    };
    let changes = context.changes.as_ref();
    let mut sheets = part(&|leaves| list::write(leaves, worklist, &without_page, changes));
    if let Some(changes) = changes {
        sheets.extend(part(&|leaves| changed::write(leaves, changes, worklist)));
    }
    let mut first = true;
    for entry in &worklist.entries {
        let case_id = &entry.case_id;
        if let Some(page) = pages.get(case_id) {
            let label = entry.label.as_deref().unwrap_or("label not recorded");
            let title = format!("{label} · {case_id}");
            sheets.extend(bound_in(page, case_id, &title, std::mem::take(&mut first)));
        }
    }
    if worklist.entries.iter().any(slips::has_slip) {
        sheets.extend(part(&|leaves| slips::write(leaves, worklist)));
    }
    sheets.extend(part(&|leaves| data_gaps::write(leaves, worklist)));
    Document {
        title: format!("Follow-up packet, {}", date(worklist.as_of)),
        subject: "Follow-up visits after transcatheter aortic valve implantation".to_owned(),
        language: "en-GB".to_owned(),
        date: worklist.as_of,
        sheets,
        attachment: None,
    }
}

/// The sheets of a case page as part of the packet: its bookmark one level down, its label the case.
fn bound_in(page: &Document, case_id: &Text, title: &str, first: bool) -> Vec<Sheet> {
    let mut sheets = page.sheets.clone();
    for (position, sheet) in sheets.iter_mut().enumerate() {
        sheet.bookmarks.clear();
        sheet.label = Some(if position == 0 {
            case_id.to_string()
        } else {
            format!("{case_id} p{}", position + 1)
        });
    }
    if let Some(sheet) = sheets.first_mut() {
        if first {
            sheet.bookmarks.push(Bookmark {
                title: "Pages of these patients".to_owned(),
                level: 0,
            });
        }
        sheet.bookmarks.push(Bookmark {
            title: title.to_owned(),
            level: 1,
        });
    }
    sheets
}

/// The line under the title of every page.
fn standing(worklist: &Worklist) -> Rich {
    let as_of = Rich::from(format!("As of {}", date(worklist.as_of)));
    let text = match worklist.data_to {
        Some(data_to) => as_of.and(format!(" · data to {}", date(data_to))),
        None => as_of.and(" · no data"),
    };
    match worklist.data_lag() {
        Some(days) => text.and_bold(format!(" · data end {} earlier", words::days(days))),
        None => text,
    }
}
