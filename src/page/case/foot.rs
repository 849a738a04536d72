//! Blocks 8: signature and small print.

use super::ladder::Detail;
use super::view::View;
use super::who;
use crate::draw::{Fonts, Item, Role, Tag};
use crate::page::layout::{Pen, Place};
use crate::page::number::date;
use crate::page::text::{Block, Heading, Laid, Paragraph, Rich, draw_lines};
use crate::page::theme;

/// Space above a line to write on (mm).
const WRITING_MM: f64 = 7.4;

/// Every page carries this.
pub(super) const CAUTION: &str = "Made from the data given, for review by the treating team. A record made afterwards, not a recommendation of a \
device, size or treatment. Check against the source studies, the device's instructions for use, local protocol and applicable guidelines. The filled \
diameter is an estimate from geometry. VARC-3 endpoints by the definitions of this program, version below.";

/// The file name without its folders: a page does not tell where a centre keeps its files.
pub(super) fn file_name(path: &str) -> &str {
    path.rsplit(['/', '\\']).next().unwrap_or(path)
}

/// The signature block: what is signed, and lines to write on.
pub(super) struct Signature {
    heading: Heading,
}

impl Signature {
    pub fn new(view: &View<'_>) -> Self {
        let (label, born) = who::identifiers(view);
        let text = Rich::bold("To sign in ink once checked against the sources: ")
            .and_bold(format!("{label} · {born} · case {}", view.record.case_id));
        Self {
            heading: Heading {
                text,
                role: Role::H2,
            },
        }
    }
}

impl Block for Signature {
    fn laid<'b>(&'b self, fonts: &Fonts, width_mm: f64) -> Laid<'b> {
        let heading = self.heading.laid(fonts, width_mm);
        let height_mm = heading.height_mm + WRITING_MM + theme::SMALL.pitch_mm;
        Laid::new(height_mm, move |pen, at| {
            let line_mm = at.y_mm + heading.draw(pen, at) + WRITING_MM - 0.8;
            writing_lines(pen, at, line_mm);
        })
    }

    fn texts(&self, see: &mut dyn FnMut(&str)) {
        see(&self.heading.text.plain());
    }
}

/// The lines to write on, and what each is for.
fn writing_lines(pen: &mut Pen<'_>, at: Place, line_mm: f64) {
    let gap = 6.0;
    let widths = [0.40, 0.38, 0.22].map(|share| (at.width_mm - 2.0 * gap) * share);
    let mut x_mm = at.x_mm;
    for (width, words) in widths
        .into_iter()
        .zip(["name and role", "signature", "date, time"])
    {
        pen.items.push(Item::line(
            (x_mm, line_mm),
            (x_mm + width, line_mm),
            theme::WRITING_LINE,
        ));
        let lines = Rich::from(words).lines(pen.fonts, theme::SMALL, width, 1);
        let below = Place {
            x_mm,
            y_mm: line_mm + 0.6,
            width_mm: width,
        };
        pen.tagged(Tag::new(Role::P), |pen| {
            draw_lines(pen, lines, below, theme::SMALL, theme::INK)
        });
        x_mm += width + gap;
    }
}

/// Where the page came from: not part of what is signed.
pub(super) fn provenance(view: &View<'_>, check_code: &str, detail: &Detail) -> Paragraph {
    let context = view.context;
    let row = &view.record.place;
    let mut parts: Vec<String> = Vec::new();
    if !context
        .sources
        .iter()
        .any(|source| *source.file == *row.file)
    {
        parts.push(format!("{} line {}", file_name(&row.file), row.line));
    }
    for source in context.sources {
        let line = if *source.file == *row.file {
            format!(" line {}", row.line)
        } else {
            String::new()
        };
        let hash = match (&source.sha256, detail.no_hashes) {
            (Some(hash), false) => format!(" sha256 {}", hash.get(..16).unwrap_or(hash)),
            _ => String::new(),
        };
        parts.push(format!("{}{line}{hash}", file_name(&source.file)));
    }
    parts.push(format!("valvefolio {}", context.program_version));
    parts.push(format!("definitions {}", context.definitions_version));
    parts.push(format!("report for {}", date(view.known.as_of)));
    parts.push(format!(
        "this sheet is current while “valvefolio current {check_code}” says so"
    ));
    Paragraph {
        colour: theme::QUIET,
        ..Paragraph::small(format!("{}.", parts.join(" · "))).at_most(if detail.no_hashes {
            3
        } else {
            4
        })
    }
}
