//! Pages that follow one another: head, blocks that break onto the next page where they do not fit, foot.

use super::CohortContext;
use crate::draw::{Align, Face, Fonts, Item, Role, Sheet, Tag, TextStyle};
use crate::figure::FigureError;
use crate::figure::recorder::Area;
use crate::page::grid::{GUTTER_MM, Grid};
use crate::page::layout::{Pen, Place, Rect};
use crate::page::table::Table;
use crate::page::text::{Block, Heading, Laid, Paragraph, Rich, draw_lines};
use crate::page::theme;

/// What every page says of its standing.
const CAUTION: &str = "Made from the data given, for review by the treating team; not a recommendation of a device, \
    size or treatment; check against the source studies, the device's instructions for use, local protocol and \
    applicable guidelines.";

/// What must fit under a heading (mm).
const FOLLOWING_MM: f64 = 18.0;

/// Height of the foot (mm).
const FOOT_MM: f64 = 9.0;

/// What draws a chart into its place.
pub type Draw<'a> = Box<dyn Fn(&Fonts, Area) -> Result<Vec<Item>, FigureError> + 'a>;

/// A chart with its words for those who cannot see it.
pub struct Chart<'a> {
    /// What it shows, in words.
    pub alt: String,
    /// Draws it.
    pub draw: Draw<'a>,
}

/// Lays blocks out on pages.
pub struct Writer<'a> {
    fonts: &'a Fonts,
    context: &'a CohortContext,
    /// What every page says of its coverage, under its title.
    coverage: String,
    /// What every page adds to the caution.
    standing: String,
    sheets: Vec<Sheet>,
    pen: Pen<'a>,
    y_mm: f64,
    title: String,
    part: usize,
}

impl<'a> Writer<'a> {
    /// A writer that has no page yet.
    pub fn new(
        fonts: &'a Fonts,
        context: &'a CohortContext,
        coverage: String,
        standing: String,
    ) -> Self {
        Self {
            fonts,
            context,
            coverage,
            standing,
            sheets: Vec::new(),
            pen: Pen::new(fonts),
            y_mm: 0.0,
            title: String::new(),
            part: 0,
        }
    }

    fn inside(&self) -> Rect {
        Grid::of(self.context.paper).inside()
    }

    fn bottom_mm(&self) -> f64 {
        self.inside().bottom_mm() - FOOT_MM
    }

    /// What is left of the page (mm).
    pub fn left_mm(&self) -> f64 {
        self.bottom_mm() - self.y_mm
    }

    /// Width of the text (mm).
    pub fn width_mm(&self) -> f64 {
        self.inside().width_mm
    }

    /// Starts a page with this title; it gets a bookmark.
    pub fn section(&mut self, title: impl Into<String>) {
        self.close_page();
        self.title = title.into();
        self.part = 0;
        self.open_page();
    }

    fn open_page(&mut self) {
        let inside = self.inside();
        let title = if self.part == 0 {
            self.title.clone()
        } else {
            format!("{}, continued", self.title)
        };
        self.part += 1;
        let mut sheet = Sheet::new(self.context.paper);
        // A page that goes on stands below the first of its section.
        sheet = sheet.with_bookmark(title.clone(), u8::from(self.part > 1));
        self.sheets.push(sheet);
        self.pen = Pen::new(self.fonts);
        let at = Place {
            x_mm: inside.x_mm,
            y_mm: inside.y_mm,
            width_mm: inside.width_mm,
        };
        let centre = self.fonts.clean(&self.context.centre).into_owned();
        let centre_mm = self
            .fonts
            .width_mm(&centre, Face::Regular, theme::BODY.size_pt);
        let head = Rich::bold(title).lines(
            self.fonts,
            theme::TITLE,
            inside.width_mm - centre_mm.min(90.0) - 6.0,
            1,
        );
        self.pen.tagged(Tag::new(Role::H1), |pen| {
            draw_lines(pen, head, at, theme::TITLE, theme::INK);
        });
        let style = TextStyle {
            face: Face::Regular,
            size_pt: theme::BODY.size_pt,
            colour: theme::INK,
        };
        let centre = self
            .fonts
            .fit(&centre, Face::Regular, theme::BODY.size_pt, 90.0)
            .into_owned();
        self.pen.tagged(Tag::new(Role::P), |pen| {
            let item = pen.fonts.place(
                centre,
                inside.right_mm(),
                inside.y_mm + theme::TITLE.rise_mm,
                Align::Right,
                style,
            );
            pen.items.push(item);
        });
        self.y_mm = inside.y_mm + theme::TITLE.pitch_mm + 0.6;
        let coverage = Paragraph::body(self.coverage.clone());
        self.draw(&coverage);
        self.y_mm += 1.6;
    }

    fn close_page(&mut self) {
        if self.sheets.is_empty() {
            return;
        }
        let inside = self.inside();
        let foot = Paragraph::small(format!("{CAUTION} {}", self.standing));
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
        foot.draw(&mut self.pen, place);
        if let Some(sheet) = self.sheets.last_mut() {
            sheet.items = std::mem::take(&mut self.pen.items);
        }
    }

    fn draw(&mut self, block: &dyn Block) {
        self.draw_laid(block.laid(self.fonts, self.width_mm()));
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

    /// Whether the page has room for this block below the last one.
    pub fn has_room(&self, gap_mm: f64, block: &dyn Block) -> bool {
        gap_mm + block.laid(self.fonts, self.width_mm()).height_mm <= self.left_mm()
    }

    /// Goes on to the next page where less than this is left.
    pub fn need(&mut self, height_mm: f64) {
        if self.left_mm() < height_mm {
            self.close_page();
            self.open_page();
        }
    }

    /// A block below the last one, whole.
    pub fn block(&mut self, gap_mm: f64, block: &dyn Block) {
        let laid = block.laid(self.fonts, self.width_mm());
        let height = laid.height_mm;
        if self.left_mm() < height + gap_mm {
            self.need(height);
        } else {
            self.y_mm += gap_mm;
        }
        self.draw_laid(laid);
    }

    /// A heading of the second level, never alone at the foot of a page.
    pub fn heading(&mut self, gap_mm: f64, text: impl Into<String>) {
        self.need(FOLLOWING_MM + gap_mm);
        self.block(gap_mm, &Heading::second(text));
    }

    /// Blocks side by side in equal columns.
    pub fn side_by_side(&mut self, gap_mm: f64, blocks: &[&dyn Block]) {
        let grid = Grid::of(self.context.paper);
        let width = grid.column(0, blocks.len()).1;
        let blocks: Vec<Laid<'_>> = blocks
            .iter()
            .map(|block| block.laid(self.fonts, width))
            .collect();
        let height = blocks
            .iter()
            .map(|block| block.height_mm)
            .fold(0.0, f64::max);
        if self.left_mm() < height + gap_mm {
            self.need(height);
        } else {
            self.y_mm += gap_mm;
        }
        for (position, block) in blocks.into_iter().enumerate() {
            let place = Place {
                x_mm: self.inside().x_mm + position as f64 * (width + GUTTER_MM),
                y_mm: self.y_mm,
                width_mm: width,
            };
            block.draw(&mut self.pen, place);
        }
        self.y_mm += height;
    }

    /// A table that goes on over the page, its head repeated.
    pub fn table(&mut self, gap_mm: f64, table: &Table) {
        self.y_mm += gap_mm;
        let mut rest = table.clone();
        while !rest.rows.is_empty() {
            let fits = self.rows_that_fit(&rest);
            if fits == 0 {
                let whole_page = self.part > 0 && self.left_mm() > 0.8 * self.inside().height_mm;
                if whole_page {
                    // A row higher than a page does not occur; drawing it is better than losing it.
                    self.draw(&rest);
                    return;
                }
                self.close_page();
                self.open_page();
                continue;
            }
            let later = rest.rows.split_off(fits);
            self.draw(&rest);
            rest.rows = later;
            if !rest.rows.is_empty() {
                self.close_page();
                self.open_page();
            }
        }
    }

    fn rows_that_fit(&self, table: &Table) -> usize {
        let height = |rows: usize| {
            let mut part = table.clone();
            part.rows.truncate(rows);
            part.height_mm(self.fonts, self.width_mm())
        };
        let (mut fits, mut too_many) = (0, table.rows.len().min(200) + 1);
        while too_many - fits > 1 {
            let middle = fits.midpoint(too_many);
            if height(middle) <= self.left_mm() {
                fits = middle;
            } else {
                too_many = middle;
            }
        }
        fits
    }

    /// A chart of this height over the whole width, with its words for those who cannot see it. Where it cannot be
    /// drawn, the page says why in its place.
    pub fn figure(
        &mut self,
        gap_mm: f64,
        height_mm: f64,
        alt: impl Into<String>,
        draw: impl FnOnce(&Fonts, Area) -> Result<Vec<Item>, FigureError>,
    ) {
        if self.left_mm() < height_mm + gap_mm {
            self.need(height_mm);
        } else {
            self.y_mm += gap_mm;
        }
        let inside = self.inside();
        let area = Area {
            x_mm: inside.x_mm,
            y_mm: self.y_mm,
            width_mm: inside.width_mm,
            height_mm,
        };
        match draw(self.fonts, area) {
            Ok(items) => {
                self.pen.items.push(Item::Open(Tag::figure(alt)));
                self.pen.items.extend(items);
                self.pen.items.push(Item::Close);
                self.y_mm += height_mm;
            }
            Err(fault) => self.draw(&Paragraph::body(format!("Chart not drawn: {fault}."))),
        }
    }

    /// Charts of this height side by side in equal columns.
    pub fn figures(&mut self, gap_mm: f64, height_mm: f64, charts: &[Chart<'_>]) {
        if self.left_mm() < height_mm + gap_mm {
            self.need(height_mm);
        } else {
            self.y_mm += gap_mm;
        }
        let grid = Grid::of(self.context.paper);
        for (position, chart) in charts.iter().enumerate() {
            let (x_mm, width_mm) = grid.column(position, charts.len());
            let area = Area {
                x_mm,
                y_mm: self.y_mm,
                width_mm,
                height_mm,
            };
            match (chart.draw)(self.fonts, area) {
                Ok(items) => {
                    self.pen
                        .items
                        .push(Item::Open(Tag::figure(chart.alt.clone())));
                    self.pen.items.extend(items);
                    self.pen.items.push(Item::Close);
                }
                Err(fault) => {
                    let place = Place {
                        x_mm,
                        y_mm: self.y_mm,
                        width_mm,
                    };
                    Paragraph::body(format!("Chart not drawn: {fault}."))
                        .draw(&mut self.pen, place);
                }
            }
        }
        self.y_mm += height_mm;
    }

    /// The pages, numbered.
    pub fn finish(mut self) -> Vec<Sheet> {
        self.close_page();
        let inside = self.inside();
        let total = self.sheets.len();
        for (position, sheet) in self.sheets.iter_mut().enumerate() {
            let style = TextStyle {
                face: Face::Regular,
                size_pt: theme::SMALL.size_pt,
                colour: theme::INK,
            };
            let item = self.fonts.place(
                format!("{} of {total}", position + 1),
                inside.right_mm(),
                inside.bottom_mm() - FOOT_MM + 2.4 + theme::SMALL.rise_mm,
                Align::Right,
                style,
            );
            sheet.tagged(Tag::new(Role::Artifact), |items| items.push(item));
        }
        self.sheets
    }
}
