//! One thing drawn, or one structure mark.

/// A place on the paper: x and y in millimetres from the top-left corner, y downward.
pub type Point = (f64, f64);

/// A face of the page's type family.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Face {
    /// Running text.
    Regular,
    /// Headings and what must not be overlooked.
    Semibold,
}

impl Face {
    /// Both faces, in the order of [`Face::index`].
    pub const ALL: [Face; 2] = [Face::Regular, Face::Semibold];

    /// Position in tables kept per face.
    pub const fn index(self) -> usize {
        match self {
            Face::Regular => 0,
            Face::Semibold => 1,
        }
    }
}

/// An opaque colour in sRGB.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Colour {
    /// Red, 0 to 255.
    pub red: u8,
    /// Green, 0 to 255.
    pub green: u8,
    /// Blue, 0 to 255.
    pub blue: u8,
}

impl Colour {
    /// Ink.
    pub const BLACK: Colour = Colour::grey(0);
    /// Paper.
    pub const WHITE: Colour = Colour::grey(255);

    /// A colour from its three parts.
    pub const fn rgb(red: u8, green: u8, blue: u8) -> Colour {
        Colour { red, green, blue }
    }

    /// A grey, 0 black to 255 white.
    pub const fn grey(level: u8) -> Colour {
        Colour {
            red: level,
            green: level,
            blue: level,
        }
    }
}

/// A dash pattern, in points.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Dash {
    /// Length of a dash.
    pub on_pt: f64,
    /// Length of a gap.
    pub off_pt: f64,
}

/// How a line is drawn. Joins are mitred, ends are butt.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stroke {
    /// Width in points.
    pub width_pt: f64,
    /// Colour of the line.
    pub colour: Colour,
    /// Dash pattern; `None` is a solid line.
    pub dash: Option<Dash>,
}

impl Stroke {
    /// A solid line.
    pub const fn solid(width_pt: f64, colour: Colour) -> Stroke {
        Stroke {
            width_pt,
            colour,
            dash: None,
        }
    }

    /// A dashed line.
    pub const fn dashed(width_pt: f64, colour: Colour, on_pt: f64, off_pt: f64) -> Stroke {
        Stroke {
            width_pt,
            colour,
            dash: Some(Dash { on_pt, off_pt }),
        }
    }
}

/// What a header cell heads.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Scope {
    /// The column below it.
    Column,
    /// The row to its right.
    Row,
    /// Both.
    Both,
}

/// What a tagged part of the page is.
///
/// Text may stand only inside a role that holds text ([`Role::holds_text`]): writing a sheet with
/// text elsewhere is an error, so nothing is left out of the reading order by oversight. Lines and
/// fills outside a [`Role::Figure`] are decoration and are written as artifacts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Role {
    /// A part of a document; groups others.
    Sect,
    /// Heading of the first level, one per page or document.
    H1,
    /// Heading of the second level.
    H2,
    /// Heading of the third level.
    H3,
    /// A paragraph.
    P,
    /// A table; holds rows (and a caption).
    Table,
    /// A table row; holds cells.
    Row,
    /// A header cell.
    HeaderCell {
        /// What it heads.
        scope: Scope,
        /// Columns it covers, 1 for an ordinary cell.
        columns: u16,
    },
    /// A data cell.
    DataCell {
        /// Columns it covers, 1 for an ordinary cell.
        columns: u16,
    },
    /// A list; holds list items.
    List,
    /// A list item.
    ListItem,
    /// A drawing; needs [`Tag::alt`]. Its lines, fills and texts belong to it.
    Figure,
    /// The caption of a figure or table.
    Caption,
    /// Not part of the content: page numbers, rules, repeated headers. Nothing inside is tagged.
    Artifact,
}

impl Role {
    /// Whether text may stand directly inside.
    pub const fn holds_text(self) -> bool {
        !matches!(self, Role::Sect | Role::Table | Role::Row | Role::List)
    }
}

/// A structure mark: the role of what follows up to its [`Item::Close`].
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Tag {
    /// What it is.
    pub role: Role,
    /// What a figure shows, in words, for those who cannot see it.
    pub alt: Option<String>,
    /// The text to read in place of what is drawn, where they differ.
    pub actual_text: Option<String>,
}

impl Tag {
    /// A tag without texts of its own.
    pub const fn new(role: Role) -> Tag {
        Tag {
            role,
            alt: None,
            actual_text: None,
        }
    }

    /// A figure and what it shows in words.
    pub fn figure(alt: impl Into<String>) -> Tag {
        Tag {
            role: Role::Figure,
            alt: Some(alt.into()),
            actual_text: None,
        }
    }

    /// A data cell of one column.
    pub const fn cell() -> Tag {
        Tag::new(Role::DataCell { columns: 1 })
    }

    /// A header cell of one column.
    pub const fn header(scope: Scope) -> Tag {
        Tag::new(Role::HeaderCell { scope, columns: 1 })
    }

    /// The same tag, read as this text.
    pub fn read_as(mut self, text: impl Into<String>) -> Tag {
        self.actual_text = Some(text.into());
        self
    }
}

/// One thing drawn, or one structure mark.
#[derive(Debug, Clone, PartialEq)]
pub enum Item {
    /// One line of text. `x_mm` is its start; with `rotated` it runs upward from there.
    Text {
        /// Start of the text.
        x_mm: f64,
        /// Its baseline (with `rotated`, the y of its start).
        baseline_mm: f64,
        /// Type size in points.
        size_pt: f64,
        /// Face.
        face: Face,
        /// Colour.
        colour: Colour,
        /// The characters; see [`super::Fonts::clean`] for input that came from outside.
        text: String,
        /// Turned a quarter left, reading upward.
        rotated: bool,
    },
    /// An open line through the points.
    Polyline {
        /// At least two points.
        points: Vec<Point>,
        /// How it is drawn.
        stroke: Stroke,
    },
    /// A closed shape.
    Polygon {
        /// At least three points.
        points: Vec<Point>,
        /// Fill, if any.
        fill: Option<Colour>,
        /// Outline, if any.
        stroke: Option<Stroke>,
    },
    /// An upright rectangle.
    Rect {
        /// Left edge.
        x_mm: f64,
        /// Top edge.
        y_mm: f64,
        /// Width.
        width_mm: f64,
        /// Height.
        height_mm: f64,
        /// Fill, if any.
        fill: Option<Colour>,
        /// Outline, if any.
        stroke: Option<Stroke>,
    },
    /// An upright ellipse; a circle when the radii are equal.
    Ellipse {
        /// Centre.
        centre: Point,
        /// Half width.
        radius_x_mm: f64,
        /// Half height.
        radius_y_mm: f64,
        /// Fill, if any.
        fill: Option<Colour>,
        /// Outline, if any.
        stroke: Option<Stroke>,
    },
    /// What follows, up to the matching [`Item::Unclip`], shows only inside this rectangle.
    /// Opens and closes inside one tag.
    Clip {
        /// Left edge.
        x_mm: f64,
        /// Top edge.
        y_mm: f64,
        /// Width.
        width_mm: f64,
        /// Height.
        height_mm: f64,
    },
    /// Ends the innermost [`Item::Clip`].
    Unclip,
    /// Opens a structure element.
    Open(Tag),
    /// Closes the innermost one.
    Close,
}

impl Item {
    /// A straight line.
    pub fn line(from: Point, to: Point, stroke: Stroke) -> Item {
        Item::Polyline {
            points: vec![from, to],
            stroke,
        }
    }

    /// A circle.
    pub fn circle(
        centre: Point,
        radius_mm: f64,
        fill: Option<Colour>,
        stroke: Option<Stroke>,
    ) -> Item {
        Item::Ellipse {
            centre,
            radius_x_mm: radius_mm,
            radius_y_mm: radius_mm,
            fill,
            stroke,
        }
    }

    /// Whether it leaves ink (is neither a structure nor a clip mark).
    pub const fn is_drawn(&self) -> bool {
        !matches!(
            self,
            Item::Open(_) | Item::Close | Item::Clip { .. } | Item::Unclip
        )
    }
}

/// Appends what `fill` draws, inside `tag`.
pub fn tagged<T>(items: &mut Vec<Item>, tag: Tag, fill: impl FnOnce(&mut Vec<Item>) -> T) -> T {
    items.push(Item::Open(tag));
    let result = fill(items);
    items.push(Item::Close);
    result
}
