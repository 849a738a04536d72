//! Pages that follow one another: head, blocks that go on to the next page where they do not fit, foot.

use super::PacketContext;
use super::rows::{Record, Rows};
use crate::draw::{Align, Face, Fonts, Item, Role, Sheet, Tag, TextStyle};
use crate::page::grid::Grid;
use crate::page::layout::{Pen, Place, Rect};
use crate::page::text::{Block, Laid, Paragraph, Rich, draw_lines};
use crate::page::theme;

/// What every page says of its standing.
const CAUTION: &str = "Made from the data given, for review by the treating team; it says what is due by the schedule \
    and what is recorded, and recommends nothing: no device, size, treatment or appointment. Check against the source \
    studies, the device's instructions for use, local protocol and applicable guidelines. Names patients: internal.";

/// Height of the foot (mm).
const FOOT_MM: f64 = 9.0;

/// Lays blocks out on pages.
pub struct Leaves<'a> {
    fonts: &'a Fonts,
    context: &'a PacketContext,
    /// The line under the title of every page.
    standing: Rich,
    /// Takes each page once it is whole.
    out: &'a mut dyn FnMut(Sheet),
    /// The page that is being laid out; its items are those of the pen.
    open: Option<Sheet>,
    pen: Pen<'a>,
    y_mm: f64,
    title: String,
    bookmark: String,
    /// Beginning of the page labels of the part.
    label: &'static str,
    /// Pages of the part so far.
    pages: usize,
}

impl<'a> Leaves<'a> {
    /// No page yet; `out` takes each.
    pub fn new(
        fonts: &'a Fonts,
        context: &'a PacketContext,
        standing: Rich,
        out: &'a mut dyn FnMut(Sheet),
    ) -> Self {
        Self {
            fonts,
            context,
            standing,
            out,
            open: None,
            pen: Pen::new(fonts),
            y_mm: 0.0,
            title: String::new(),
            bookmark: String::new(),
            label: "",
            pages: 0,
        }
    }

    fn inside(&self) -> Rect {
        Grid::of(self.context.paper).inside()
    }

    /// The part of a page below its head and above its foot.
    pub fn body(&self) -> Rect {
        let inside = self.inside();
        Rect {
            y_mm: self.y_mm,
            height_mm: self.bottom_mm() - self.y_mm,
            ..inside
        }
    }

    fn bottom_mm(&self) -> f64 {
        self.inside().bottom_mm() - FOOT_MM
    }

    fn left_mm(&self) -> f64 {
        self.bottom_mm() - self.y_mm
    }

    /// Starts a part of the packet: title, bookmark and the letter of its page labels.
    pub fn part(
        &mut self,
        title: impl Into<String>,
        bookmark: impl Into<String>,
        label: &'static str,
    ) {
        self.close_page();
        self.title = title.into();
        self.bookmark = bookmark.into();
        self.label = label;
        self.pages = 0;
        self.open_page();
    }

    /// Goes on to the next page of the part.
    pub fn turn(&mut self) {
        self.close_page();
        self.open_page();
    }

    fn open_page(&mut self) {
        let inside = self.inside();
        self.pages += 1;
        let title = if self.pages == 1 {
            self.title.clone()
        } else {
            format!("{}, continued", self.title)
        };
        let mut sheet =
            Sheet::new(self.context.paper).with_label(format!("{}{}", self.label, self.pages));
        if self.pages == 1 {
            sheet = sheet.with_bookmark(self.bookmark.clone(), 0);
        }
        self.open = Some(sheet);
        self.pen = Pen::new(self.fonts);
        let at = Place {
            x_mm: inside.x_mm,
            y_mm: inside.y_mm,
            width_mm: inside.width_mm,
        };
        let centre = self.fonts.clean(&self.context.centre).into_owned();
        let centre = self
            .fonts
            .fit(&centre, Face::Regular, theme::BODY.size_pt, 80.0)
            .into_owned();
        let centre_mm = self
            .fonts
            .width_mm(&centre, Face::Regular, theme::BODY.size_pt);
        let head = Rich::bold(title).lines(
            self.fonts,
            theme::TITLE,
            inside.width_mm - centre_mm - 6.0,
            1,
        );
        self.pen.tagged(Tag::new(Role::H1), |pen| {
            draw_lines(pen, head, at, theme::TITLE, theme::INK);
        });
        if !centre.is_empty() {
            let style = TextStyle {
                face: Face::Regular,
                size_pt: theme::BODY.size_pt,
                colour: theme::INK,
            };
            let baseline = inside.y_mm + theme::TITLE.rise_mm;
            self.pen.tagged(Tag::new(Role::P), |pen| {
                let item =
                    pen.fonts
                        .place(centre, inside.right_mm(), baseline, Align::Right, style);
                pen.items.push(item);
            });
        }
        self.y_mm = inside.y_mm + theme::TITLE.pitch_mm + 0.6;
        let standing = Paragraph::body(self.standing.clone());
        self.draw(&standing);
        self.y_mm += 2.0;
    }

    fn close_page(&mut self) {
        let Some(mut sheet) = self.open.take() else {
            return;
        };
        let inside = Grid::of(self.context.paper).inside();
        let place = Place {
            x_mm: inside.x_mm,
            y_mm: inside.bottom_mm() - FOOT_MM + 2.4,
            width_mm: inside.width_mm - 16.0,
        };
        self.pen.items.push(Item::line(
            (inside.x_mm, place.y_mm - 0.9),
            (inside.right_mm(), place.y_mm - 0.9),
            theme::RULE,
        ));
        Paragraph::small(CAUTION).draw(&mut self.pen, place);
        let style = TextStyle {
            face: Face::Regular,
            size_pt: theme::SMALL.size_pt,
            colour: theme::INK,
        };
        let number = self.fonts.place(
            format!("{}{}", self.label, self.pages),
            inside.right_mm(),
            place.y_mm + theme::SMALL.rise_mm,
            Align::Right,
            style,
        );
        self.pen
            .tagged(Tag::new(Role::Artifact), |pen| pen.items.push(number));
        sheet.items = std::mem::take(&mut self.pen.items);
        (self.out)(sheet);
    }

    fn draw(&mut self, block: &dyn Block) {
        self.draw_laid(block.laid(self.fonts, self.inside().width_mm));
    }

    fn draw_laid(&mut self, block: Laid<'_>) {
        let inside = self.inside();
        let place = Place {
            x_mm: inside.x_mm,
            y_mm: self.y_mm,
            width_mm: inside.width_mm,
        };
        self.y_mm += block.draw(&mut self.pen, place);
    }

    /// A block below the last one, whole.
    pub fn block(&mut self, gap_mm: f64, block: &dyn Block) {
        let laid = block.laid(self.fonts, self.inside().width_mm);
        self.need(gap_mm + laid.height_mm);
        self.y_mm += gap_mm;
        self.draw_laid(laid);
    }

    /// Goes on to the next page where less than this is left and a fresh page has more.
    pub fn need(&mut self, height_mm: f64) {
        if self.left_mm() < height_mm && self.begun() {
            self.turn();
        }
    }

    /// Whether anything stands below the head of the page.
    fn begun(&self) -> bool {
        self.y_mm > self.inside().y_mm + 0.2 * self.inside().height_mm
    }

    /// Rows that go on over the page between records. `above` is kept with the first record; `again` and the heads
    /// of the columns stand once more on every page that the rows go on to. Without `headed`, rows that do not start
    /// a page have no heads: those of the rows before them still stand above. Records are taken as pages get room for
    /// them.
    pub fn rows(
        &mut self,
        above: &[(f64, &dyn Block)],
        again: Option<&dyn Block>,
        headed: bool,
        rows: &Rows,
        records: impl IntoIterator<Item = Record>,
    ) {
        let width = self.inside().width_mm;
        let above_mm: f64 = above
            .iter()
            .map(|(gap, block)| gap + block.height_mm(self.fonts, width))
            .sum();
        let mut records = records.into_iter();
        let mut part = rows.of(records.next());
        let page = self.pages;
        self.need(above_mm + part.height_mm(self.fonts, width));
        if self.pages > page && !headed {
            self.again(again);
        } else if !headed {
            part = part.without_heads();
        }
        for (gap, block) in above {
            self.y_mm += gap;
            self.draw(*block);
        }
        while !part.records.is_empty() {
            let over = loop {
                let Some(record) = records.next() else {
                    break None;
                };
                part.records.push(record);
                if part.height_mm(self.fonts, width) > self.left_mm() {
                    break part.records.pop();
                }
            };
            self.draw(&part);
            if over.is_some() {
                self.turn();
                self.again(again);
            }
            part = rows.of(over);
        }
    }

    fn again(&mut self, block: Option<&dyn Block>) {
        if let Some(block) = block {
            self.draw(block);
            self.y_mm += 0.4;
        }
    }

    /// Draws freely on the page.
    pub fn pen(&mut self) -> &mut Pen<'a> {
        &mut self.pen
    }

    /// Hands out the last page.
    pub fn finish(mut self) {
        self.close_page();
    }
}
