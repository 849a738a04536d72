//! The page put together: blocks measured, the charts given what is left, and one step after the other of the ladder
//! until everything fits.

use super::contents::Contents;
use super::findings::findings;
use super::foot::provenance;
use super::ladder::{Detail, LADDER};
use super::laid_out::{Answer, LaidOut};
use super::view::View;
use super::who::{self, Badge};
use super::{CasePage, PageFault, state};
use crate::draw::{Bookmark, Document, Fonts, Role, Sheet, Tag};
use crate::figure::recorder::Area;
use crate::figure::{gradient, ruler};
use crate::page::grid::Grid;
use crate::page::layout::{Pen, Place};
use crate::page::text::{Block, Heading, Laid, Rich};
use crate::page::theme;

/// Space between blocks (mm).
const GAP_MM: f64 = 1.8;
/// Height that the charts have where there is room, and below which they are not made (mm).
const CHART_MM: f64 = 63.0;
const LEAST_CHART_MM: f64 = 44.0;
/// Room for what most pages draw, so that their items are not moved while they grow in number.
const USUAL_ITEMS: usize = 1024;
/// Lines of a medication list that is printed whole.
const MOST_MEDICATION_LINES: usize = 6;
/// Steps of the ladder that are tried before a medication list gives way to its count.
const STEPS_BEFORE_MEDICATION: usize = 5;

/// Heights of the blocks, and what is left for the charts.
struct Heights {
    who: f64,
    answer: f64,
    charts: f64,
    captions: f64,
    evidence: f64,
    judged: f64,
    plan: f64,
    signature: f64,
    print: f64,
    /// Space between blocks.
    gap: f64,
}

impl Heights {
    /// `None` where the blocks leave less than the charts need.
    fn of(
        blocks: &LaidOut<'_>,
        sizes: &ruler::Ruler,
        grid: Grid,
        tight: bool,
        fonts: &Fonts,
    ) -> Option<Self> {
        let (gap, least_chart) = if tight {
            (1.1, 36.0)
        } else {
            (GAP_MM, LEAST_CHART_MM)
        };
        let (_, half) = grid.column(0, 2);
        let tallest = |blocks: &[&Laid<'_>]| {
            blocks
                .iter()
                .map(|block| block.height_mm)
                .fold(0.0, f64::max)
        };
        let chart_heading = Heading::second("x").height_mm(fonts, half);
        let captions = tallest(&blocks.captions.each_ref()) + chart_heading + 1.0;
        let mut heights = Self {
            who: blocks.who.height_mm,
            answer: tallest(&[&blocks.answer.changed, &blocks.answer.attention]),
            charts: 0.0,
            captions,
            evidence: tallest(&blocks.evidence.each_ref()),
            judged: tallest(&[&blocks.verdicts, &blocks.limits]),
            plan: blocks.plan.height_mm,
            signature: blocks.signature.height_mm,
            print: blocks.print.iter().map(|print| print.height_mm).sum(),
            gap,
        };
        let used = heights.who
            + heights.answer
            + heights.captions
            + heights.evidence
            + heights.judged
            + heights.plan
            + heights.signature
            + heights.print;
        let left = grid.inside().height_mm - used - 7.0 * gap;
        let least = (least_chart - captions).max(ruler::least_height_mm(sizes, tight));
        if left < least {
            return None;
        }
        heights.charts = left.min(CHART_MM - captions).max(least);
        // What is still left goes between the blocks, so that the foot stands at the foot.
        heights.gap += (left - heights.charts) / 7.0;
        Some(heights)
    }
}

/// What to try, one after the other, for a medication list of so many lines.
fn attempts(medication_lines: usize) -> Vec<Detail> {
    let counted = (0..=LADDER.len()).map(|steps| Detail {
        medication_counted: true,
        ..Detail::after(steps)
    });
    match medication_lines {
        // Its count would take as much room.
        0 | 1 => (0..=LADDER.len()).map(Detail::after).collect(),
        2..=MOST_MEDICATION_LINES => (0..=STEPS_BEFORE_MEDICATION)
            .map(Detail::after)
            .chain(counted)
            .collect(),
        _ => counted.collect(),
    }
}

/// Makes the page.
pub(super) fn arrange(view: &View<'_>, fonts: &Fonts) -> Result<CasePage, PageFault> {
    let grid = Grid::of(view.context.paper);
    let fault = |what| PageFault::DoesNotFit {
        case_id: view.record.case_id.clone(),
        what,
    };
    let found = findings(view);
    let (_, half_mm) = grid.column(0, 2);
    let full = Contents::new(view, &found, &Detail::default());
    if !full.who.label_fits(fonts, grid.inside().width_mm) {
        return Err(fault("the patient label"));
    }
    let full_answer = Answer::of(&full, half_mm, fonts);
    let kind = state::kind(view);
    let check_code = state::check_code(&full.texts(&full_answer));
    let page_state = state::state(view, kind, &check_code);
    let badge = Badge::new(view, kind, page_state, check_code.clone());
    let medication = view.cells.medication.as_deref().map_or(0, |text| {
        Rich::from(text)
            .lines(
                fonts,
                theme::BODY,
                grid.inside().width_mm - 27.0,
                usize::MAX,
            )
            .len()
    });
    let mut full_answer = Some(full_answer);
    for detail in attempts(medication) {
        let fewer;
        let (contents, answer) = match full_answer.take().filter(|_| detail == Detail::default()) {
            Some(answer) => (&full, answer),
            None => {
                fewer = Contents::new(view, &found, &detail);
                (&fewer, Answer::of(&fewer, half_mm, fonts))
            }
        };
        let provenance = provenance(view, &check_code, &detail);
        let blocks = LaidOut::of(contents, answer, &provenance, &badge, grid, fonts);
        let heights = Heights::of(&blocks, &contents.ruler.0, grid, detail.tight, fonts);
        if let Some(heights) = heights {
            let pen = draw(contents, blocks, &heights, grid, fonts).map_err(|fault| {
                PageFault::Figure {
                    case_id: view.record.case_id.clone(),
                    fault,
                }
            })?;
            return Ok(page(view, pen, kind, page_state, check_code));
        }
    }
    Err(fault("what must stay"))
}

fn page(
    view: &View<'_>,
    pen: Pen<'_>,
    kind: state::Kind,
    page_state: state::State,
    check_code: String,
) -> CasePage {
    let (label, born) = who::identifiers(view);
    let clean = |text: String| pen.fonts.clean(&text).into_owned();
    let title = clean(format!("{label}, {born}, case {}", view.record.case_id));
    let boxes = pen.boxes;
    let sheet = Sheet {
        bookmarks: vec![Bookmark {
            title: title.clone(),
            level: 0,
        }],
        items: pen.items,
        ..Sheet::new(view.context.paper)
    };
    CasePage {
        document: Document {
            title,
            subject: format!(
                "Case page, {}, {}, check code {check_code}",
                kind.word(),
                page_state.word()
            ),
            language: "en-GB".to_owned(),
            date: view.known.as_of,
            sheets: vec![sheet],
            attachment: None,
        },
        kind,
        state: page_state,
        check_code,
        boxes,
    }
}

/// Draws every block where it belongs.
fn draw<'a>(
    contents: &Contents,
    blocks: LaidOut<'_>,
    heights: &Heights,
    grid: Grid,
    fonts: &'a Fonts,
) -> Result<Pen<'a>, crate::figure::FigureError> {
    let inside = grid.inside();
    let mut pen = Pen::new(fonts);
    pen.items.reserve(USUAL_ITEMS);
    let mut y_mm = inside.y_mm;
    blocks.who.draw(&mut pen, place(grid, 0, 1, y_mm));
    y_mm += heights.who + heights.gap;
    let Answer {
        changed, attention, ..
    } = blocks.answer;
    let answer = [("changed", changed), ("attention", attention)];
    row(&mut pen, grid, y_mm, heights.answer, answer);
    y_mm += heights.answer + heights.gap;
    let [gradient_caption, ruler_caption] = blocks.captions;
    let [left, right] = [0, 1].map(|position| place(grid, position, 2, y_mm));
    gradient_block(&mut pen, contents, gradient_caption, left, heights)?;
    ruler_block(&mut pen, contents, ruler_caption, right, heights)?;
    y_mm += heights.charts + heights.captions + heights.gap;
    let [before, ct, result] = blocks.evidence;
    let evidence = [
        ("before", before),
        ("ct and procedure", ct),
        ("result", result),
    ];
    row(&mut pen, grid, y_mm, heights.evidence, evidence);
    y_mm += heights.evidence + heights.gap;
    let judged = [
        ("judged", blocks.verdicts),
        ("limits and gaps", blocks.limits),
    ];
    row(&mut pen, grid, y_mm, heights.judged, judged);
    y_mm += heights.judged + heights.gap;
    let [caution, provenance] = blocks.print;
    for (name, whole, gap_mm) in [
        ("plan", blocks.plan, heights.gap),
        ("signature", blocks.signature, heights.gap),
        ("caution", caution, 0.0),
        ("provenance", provenance, 0.0),
    ] {
        let height_mm = whole.height_mm;
        row(&mut pen, grid, y_mm, height_mm, [(name, whole)]);
        y_mm += height_mm + gap_mm;
    }
    Ok(pen)
}

/// Where a column begins, and how wide it is.
fn place(grid: Grid, position: usize, columns: usize, y_mm: f64) -> Place {
    let (x_mm, width_mm) = grid.column(position, columns);
    Place {
        x_mm,
        y_mm,
        width_mm,
    }
}

/// Blocks side by side, each in a column of its own; all have the height of the tallest.
fn row<const COLUMNS: usize>(
    pen: &mut Pen<'_>,
    grid: Grid,
    y_mm: f64,
    height_mm: f64,
    blocks: [(&'static str, Laid<'_>); COLUMNS],
) {
    for (position, (name, block)) in blocks.into_iter().enumerate() {
        let at = place(grid, position, COLUMNS, y_mm);
        pen.tagged(Tag::new(Role::Sect), |pen| block.draw(pen, at));
        pen.fills(name, at, height_mm);
    }
}

/// A heading, a figure and its caption.
fn figure_block(
    pen: &mut Pen<'_>,
    name: &'static str,
    heading: &str,
    (alt, caption): (&str, Laid<'_>),
    at: Place,
    heights: &Heights,
    draw: impl FnOnce(Area, &Fonts) -> Result<Vec<crate::draw::Item>, crate::figure::FigureError>,
) -> Result<(), crate::figure::FigureError> {
    let heading = Heading::second(heading);
    let heading = heading.laid(pen.fonts, at.width_mm);
    let area = Area {
        x_mm: at.x_mm,
        y_mm: at.y_mm + heading.height_mm,
        width_mm: at.width_mm,
        height_mm: heights.charts,
    };
    let items = draw(area, pen.fonts)?;
    let alt = pen.fonts.clean(alt).into_owned();
    pen.tagged(Tag::new(Role::Sect), |pen| {
        heading.draw(pen, at);
        pen.tagged(Tag::figure(alt), |pen| pen.items.extend(items));
        let below = Place {
            y_mm: area.y_mm + area.height_mm + 1.0,
            ..at
        };
        caption.draw(pen, below);
    });
    pen.fills(name, at, heights.charts + heights.captions);
    Ok(())
}

fn gradient_block(
    pen: &mut Pen<'_>,
    contents: &Contents,
    caption: Laid<'_>,
    at: Place,
    heights: &Heights,
) -> Result<(), crate::figure::FigureError> {
    let (chart, alt, _) = &contents.gradient;
    let heading = "Mean gradient, mmHg (before and after each on its own scale)";
    figure_block(
        pen,
        "gradient",
        heading,
        (alt, caption),
        at,
        heights,
        |area, fonts| gradient::gradient(chart, area, fonts),
    )
}

fn ruler_block(
    pen: &mut Pen<'_>,
    contents: &Contents,
    caption: Laid<'_>,
    at: Place,
    heights: &Heights,
) -> Result<(), crate::figure::FigureError> {
    let (sizes, alt, _) = &contents.ruler;
    let heading = "Sizing on one ruler, diameters in mm";
    figure_block(
        pen,
        "sizing",
        heading,
        (alt, caption),
        at,
        heights,
        |area, fonts| ruler::ruler(sizes, area, fonts),
    )
}
