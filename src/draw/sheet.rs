//! Sheets of paper and the document they make.

use super::item::{Item, Tag, tagged};
use jiff::civil::Date;

/// A paper size, upright.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum Paper {
    /// 210 × 297 mm.
    #[default]
    A4,
    /// 8.5 × 11 inches.
    Letter,
}

impl Paper {
    /// Width in millimetres.
    pub const fn width_mm(self) -> f64 {
        match self {
            Paper::A4 => 210.0,
            Paper::Letter => 215.9,
        }
    }

    /// Height in millimetres.
    pub const fn height_mm(self) -> f64 {
        match self {
            Paper::A4 => 297.0,
            Paper::Letter => 279.4,
        }
    }
}

/// An entry of the outline that points to the top of its sheet.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Bookmark {
    /// What the reader clicks.
    pub title: String,
    /// Depth: 0 is the outermost; at most one deeper than the entry before it counts.
    pub level: u8,
}

/// One side of paper.
#[derive(Debug, Clone, PartialEq)]
pub struct Sheet {
    /// Its size.
    pub paper: Paper,
    /// Outline entries that lead here, outermost first.
    pub bookmarks: Vec<Bookmark>,
    /// Its page label, where it is not the running number.
    pub label: Option<String>,
    /// What is drawn, in order.
    pub items: Vec<Item>,
}

impl Sheet {
    /// An empty sheet.
    pub const fn new(paper: Paper) -> Sheet {
        Sheet {
            paper,
            bookmarks: Vec::new(),
            label: None,
            items: Vec::new(),
        }
    }

    /// The same sheet with one more outline entry.
    pub fn with_bookmark(mut self, title: impl Into<String>, level: u8) -> Sheet {
        self.bookmarks.push(Bookmark {
            title: title.into(),
            level,
        });
        self
    }

    /// The same sheet with this page label.
    pub fn with_label(mut self, label: impl Into<String>) -> Sheet {
        self.label = Some(label.into());
        self
    }

    /// Appends what `fill` draws, inside `tag`.
    pub fn tagged<T>(&mut self, tag: Tag, fill: impl FnOnce(&mut Vec<Item>) -> T) -> T {
        tagged(&mut self.items, tag, fill)
    }
}

/// A file carried inside the document: the data the pages were drawn from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Attachment {
    /// File name shown to the reader.
    pub name: String,
    /// What it holds, in a few words.
    pub description: String,
    /// Media type, such as `application/json`.
    pub mime: String,
    /// Its contents.
    pub bytes: Vec<u8>,
}

/// Everything a file is written from.
#[derive(Debug, Clone, PartialEq)]
pub struct Document {
    /// Title, shown in the reader's title bar. Not empty.
    pub title: String,
    /// What it is about.
    pub subject: String,
    /// Language tag of the text, such as `en-GB`.
    pub language: String,
    /// The date it is dated: the report date, not the clock.
    pub date: Date,
    /// Its pages, at least one.
    pub sheets: Vec<Sheet>,
    /// The data it was drawn from.
    pub attachment: Option<Attachment>,
}
