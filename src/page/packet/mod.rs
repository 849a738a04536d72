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
use crate::worklist::{Changes, Entry, Worklist};

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

/// The packet in its parts, so that it need not be held whole: what stands before the pages of cases, these, and what
/// stands behind them.
pub struct Packet<'a> {
    worklist: &'a Worklist,
    context: &'a PacketContext,
    fonts: &'a Fonts,
}

impl<'a> Packet<'a> {
    /// The packet of this list.
    pub fn new(worklist: &'a Worklist, context: &'a PacketContext, fonts: &'a Fonts) -> Self {
        Self {
            worklist,
            context,
            fonts,
        }
    }

    /// What the packet is, without any sheet.
    pub fn about(&self) -> Document {
        Document {
            title: format!("Follow-up packet, {}", date(self.worklist.as_of)),
            subject: "Follow-up visits after transcatheter aortic valve implantation".to_owned(),
            language: "en-GB".to_owned(),
            date: self.worklist.as_of,
            sheets: Vec::new(),
            attachment: None,
        }
    }

    /// The worklist and what changed, sheet by sheet. It names the cases on the list `without_page`.
    pub fn front(&self, without_page: &[&Text], mut out: impl FnMut(Sheet)) {
        let changes = self.context.changes.as_ref();
        self.part(&mut out, |leaves| {
            list::write(leaves, self.worklist, without_page, changes);
        });
        if let Some(changes) = changes {
            self.part(&mut out, |leaves| {
                changed::write(leaves, changes, self.worklist);
            });
        }
    }

    /// The sheets of the page of a case on the list as part of the packet: its bookmark one level down, its label the
    /// case. The `first` case begins their part of the outline.
    pub fn bound_in(&self, entry: &Entry, page: Document, first: bool) -> Vec<Sheet> {
        let case_id = &entry.case_id;
        let mut sheets = page.sheets;
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
            let label = entry.label.as_deref().unwrap_or("label not recorded");
            sheet.bookmarks.push(Bookmark {
                title: format!("{label} · {case_id}"),
                level: 1,
            });
        }
        sheets
    }

    /// Slips and data gaps, sheet by sheet.
    pub fn back(&self, mut out: impl FnMut(Sheet)) {
        if self.worklist.entries.iter().any(slips::has_slip) {
            self.part(&mut out, |leaves| slips::write(leaves, self.worklist));
        }
        self.part(&mut out, |leaves| data_gaps::write(leaves, self.worklist));
    }

    fn part(&self, out: &mut dyn FnMut(Sheet), write: impl FnOnce(&mut Leaves<'_>)) {
        let standing = standing(self.worklist);
        let mut leaves = Leaves::new(self.fonts, self.context, standing, out);
        write(&mut leaves);
        leaves.finish();
    }
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
    let packet = Packet::new(worklist, context, fonts);
    let pages: HashMap<&Text, &Document> = case_pages.iter().map(|(id, page)| (id, page)).collect();
    let (with_page, without_page): (Vec<&Entry>, Vec<&Entry>) = worklist
        .entries
        .iter()
        .partition(|entry| pages.contains_key(&entry.case_id));
    let without_page: Vec<&Text> = without_page.iter().map(|entry| &entry.case_id).collect();
    let mut sheets = Vec::new();
    packet.front(&without_page, |sheet| sheets.push(sheet));
    for (place, entry) in with_page.into_iter().enumerate() {
        let page = pages[&entry.case_id].clone();
        sheets.extend(packet.bound_in(entry, page, place == 0));
    }
    packet.back(|sheet| sheets.push(sheet));
    Document {
        sheets,
        ..packet.about()
    }
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
