//! Bookmarks and page labels.

use super::objects::Objects;
use super::skeleton::text_string;
use crate::draw::{Bookmark, Sheet};
use lopdf::{Object, ObjectId, dictionary};

/// A page with what leads to it.
pub(super) struct Marked<'a> {
    pub page: ObjectId,
    pub bookmarks: &'a [Bookmark],
    pub label: Option<&'a str>,
}

/// The sheets of a document beside its pages.
pub(super) fn marked<'a>(pages: &[ObjectId], sheets: &'a [Sheet]) -> Vec<Marked<'a>> {
    let marked = pages.iter().zip(sheets).map(|(&page, sheet)| Marked {
        page,
        bookmarks: &sheet.bookmarks,
        label: sheet.label.as_deref(),
    });
    marked.collect()
}

/// Writes the page labels, where the sheets have any.
pub(super) fn add_labels(file: &mut impl Objects, sheets: &[Marked<'_>]) {
    if sheets.iter().any(|sheet| sheet.label.is_some()) {
        let mut numbers = Vec::new();
        for (page, label) in labels(sheets) {
            numbers.push(page);
            numbers.push(label);
        }
        file.catalogue()
            .set("PageLabels", dictionary! { "Nums" => numbers });
    }
}

/// Number and label of each page.
pub(super) fn labels(sheets: &[Marked<'_>]) -> impl Iterator<Item = (Object, Object)> {
    sheets.iter().enumerate().map(|(page, sheet)| {
        let label = match sheet.label {
            Some(label) => dictionary! { "P" => text_string(label) },
            None => dictionary! { "S" => "D", "St" => page as i64 + 1 },
        };
        (Object::Integer(page as i64), Object::Dictionary(label))
    })
}

struct Entry<'a> {
    title: &'a str,
    page: ObjectId,
    /// Index of the entry it stands under.
    parent: Option<usize>,
}

/// Writes the outline, where the sheets have bookmarks.
pub(super) fn add_to(file: &mut impl Objects, sheets: &[Marked<'_>]) {
    let entries = entries(sheets);
    if entries.is_empty() {
        return;
    }
    let root = file.reserve();
    let ids: Vec<ObjectId> = entries.iter().map(|_| file.reserve()).collect();
    // Children in order, of each entry and (last) of the outline itself.
    let mut children = vec![Vec::new(); entries.len() + 1];
    for (index, entry) in entries.iter().enumerate() {
        children[entry.parent.unwrap_or(entries.len())].push(index);
    }
    for siblings in &children {
        for (place, &index) in siblings.iter().enumerate() {
            let entry = &entries[index];
            let page = Object::Reference(entry.page);
            let mut dictionary = dictionary! {
                "Title" => text_string(entry.title),
                "Parent" => entry.parent.map_or(root, |parent| ids[parent]),
                "Dest" => vec![page, "XYZ".into(), Object::Null, Object::Null, Object::Null],
            };
            if place > 0 {
                dictionary.set("Prev", ids[siblings[place - 1]]);
            }
            if let Some(&next) = siblings.get(place + 1) {
                dictionary.set("Next", ids[next]);
            }
            if let (Some(&first), Some(&last)) = (children[index].first(), children[index].last()) {
                dictionary.set("First", ids[first]);
                dictionary.set("Last", ids[last]);
                // Negative: the reader shows it closed.
                dictionary.set("Count", -(children[index].len() as i64));
            }
            file.set(ids[index], dictionary);
        }
    }
    let top = &children[entries.len()];
    file.set(
        root,
        dictionary! {
            "Type" => "Outlines",
            "First" => ids[top[0]],
            "Last" => ids[top[top.len() - 1]],
            "Count" => top.len() as i64,
        },
    );
    let catalogue = file.catalogue();
    catalogue.set("Outlines", root);
    if sheets.len() > 1 {
        catalogue.set("PageMode", "UseOutlines");
    }
}

/// The bookmarks of all sheets, each under the nearest earlier one of a lower level.
fn entries<'a>(sheets: &[Marked<'a>]) -> Vec<Entry<'a>> {
    let mut entries: Vec<Entry> = Vec::new();
    let mut open: Vec<(u8, usize)> = Vec::new();
    for sheet in sheets {
        for bookmark in sheet.bookmarks {
            while open
                .last()
                .is_some_and(|&(level, _)| level >= bookmark.level)
            {
                open.pop();
            }
            let parent = open.last().map(|&(_, index)| index);
            open.push((bookmark.level, entries.len()));
            entries.push(Entry {
                title: &bookmark.title,
                page: sheet.page,
                parent,
            });
        }
    }
    entries
}
