//! The page put together: blocks measured, the charts given what is left, and one step after the other of the ladder
//! until everything fits.

use super::findings::{Finding, findings};
use super::foot::{self, Signature, provenance};
use super::ladder::{Detail, LADDER};
use super::view::View;
use super::who::{self, Badge, Who};
use super::{CasePage, PageFault, answer, charts, evidence, judged, plan, since, state};
use crate::draw::{Bookmark, Document, Fonts, Role, Sheet, Tag};
use crate::figure::recorder::Area;
use crate::figure::{gradient, ruler};
use crate::page::grid::Grid;
use crate::page::layout::{Pen, Place, Rect};
use crate::page::table::{Column, Table, Width};
use crate::page::text::{Block, Heading, Paragraph, Rich, Stack};
use crate::page::theme;

/// Space between blocks (mm).
const GAP_MM: f64 = 1.8;
/// Height that the charts have where there is room, and below which they are not made (mm).
const CHART_MM: f64 = 63.0;
const LEAST_CHART_MM: f64 = 44.0;
/// Lines of a medication list that is printed whole.
const MOST_MEDICATION_LINES: usize = 6;
/// Steps of the ladder that are tried before a medication list gives way to its count.
const STEPS_BEFORE_MEDICATION: usize = 5;

/// The contents of a page in so much detail.
struct Contents {
    who: Who,
    changed: Stack<'static>,
    attention: Stack<'static>,
    gradient: (gradient::GradientChart, String, Paragraph),
    ruler: (ruler::Ruler, String, Paragraph),
    evidence: [Stack<'static>; 3],
    verdicts: Stack<'static>,
    limits: Stack<'static>,
    plan: Stack<'static>,
    signature: Signature,
    caution: Paragraph,
}

impl Contents {
    fn new(view: &View<'_>, found: &[Finding], detail: &Detail, fonts: &Fonts) -> Self {
        let chart = charts::gradient(view);
        let chart_alt = charts::gradient_alt(view, &chart);
        let chart_caption = Paragraph::small(charts::gradient_caption(view, &chart, detail));
        let sizes = charts::ruler(view, detail);
        let sizes_alt = charts::ruler_alt(&sizes);
        let sizes_caption = Paragraph::small(charts::ruler_caption(view));
        let (changed, attention) = since::placed(
            view,
            (
                answer::changed(view, detail),
                answer::attention(found, detail),
            ),
            detail,
            fonts,
        );
        Self {
            who: Who::new(view, detail),
            changed,
            attention,
            gradient: (chart, chart_alt, chart_caption),
            ruler: (sizes, sizes_alt, sizes_caption),
            evidence: evidence::tables(view, detail),
            verdicts: judged::verdicts(view, detail),
            limits: judged::limits_and_gaps(view, detail),
            plan: plan_block(view, detail),
            signature: Signature::new(view),
            caution: Paragraph {
                colour: theme::QUIET,
                ..Paragraph::small(foot::CAUTION)
            },
        }
    }

    /// Everything that is signed: the contents without state, signature state, check code and where files lie.
    fn texts(&self) -> Vec<String> {
        let mut texts: Vec<String> = Vec::new();
        let mut see = |text: &str| texts.push(text.to_owned());
        self.who.texts(&mut see);
        self.changed.texts(&mut see);
        self.attention.texts(&mut see);
        see(&self.gradient.1);
        self.gradient.2.texts(&mut see);
        see(&self.ruler.1);
        self.ruler.2.texts(&mut see);
        for table in &self.evidence {
            table.texts(&mut see);
        }
        self.verdicts.texts(&mut see);
        self.limits.texts(&mut see);
        self.plan.texts(&mut see);
        self.signature.texts(&mut see);
        self.caution.texts(&mut see);
        texts
    }
}

fn plan_block(view: &View<'_>, detail: &Detail) -> Stack<'static> {
    let mut stack = Stack::default().with(Heading::second(
        "Plan, as recorded (nothing here is proposed by the program)",
    ));
    for row in plan::rows(view, detail) {
        let value = if row.key == "Medication" && detail.medication_counted {
            plan::medication_counted(view)
        } else {
            row.value
        };
        let columns = vec![
            Column::left(Width::Fixed(25.0)),
            Column::left(Width::Share(1.0)),
        ];
        let mut table = Table::body(columns, None, vec![vec![Rich::bold(row.key), value]]);
        table.most_lines = match (detail.tight, row.most_lines) {
            (true, 2) => 1,
            (true, 3) => 2,
            (_, most) => most,
        };
        stack = stack.with(table);
    }
    stack
}

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
        contents: &Contents,
        print: &[Paragraph; 2],
        grid: Grid,
        badge: &Badge,
        tight: bool,
        fonts: &Fonts,
    ) -> Option<Self> {
        let (gap, least_chart) = if tight {
            (1.1, 36.0)
        } else {
            (GAP_MM, LEAST_CHART_MM)
        };
        let whole = grid.inside().width_mm;
        let (_, half) = grid.column(0, 2);
        let (_, third) = grid.column(0, 3);
        let taller = |blocks: &[&dyn Block], width: f64| {
            blocks
                .iter()
                .map(|block| block.height_mm(fonts, width))
                .fold(0.0, f64::max)
        };
        let chart_heading = Heading::second("x").height_mm(fonts, half);
        let captions =
            taller(&[&contents.gradient.2, &contents.ruler.2], half) + chart_heading + 1.0;
        let tables: Vec<&dyn Block> = contents
            .evidence
            .iter()
            .map(|table| table as &dyn Block)
            .collect();
        let mut heights = Self {
            who: contents.who.height_mm(fonts, whole, badge),
            answer: taller(&[&contents.changed, &contents.attention], half),
            charts: 0.0,
            captions,
            evidence: taller(&tables, third),
            judged: taller(&[&contents.verdicts, &contents.limits], half),
            plan: contents.plan.height_mm(fonts, whole),
            signature: contents.signature.height_mm(fonts, whole),
            print: print
                .iter()
                .map(|paragraph| paragraph.height_mm(fonts, whole))
                .sum(),
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
        let least = (least_chart - captions).max(ruler::least_height_mm(&contents.ruler.0, tight));
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
    let full = Contents::new(view, &found, &Detail::default(), fonts);
    if !full.who.label_fits(fonts, grid.inside().width_mm) {
        return Err(fault("the patient label"));
    }
    let kind = state::kind(view);
    let check_code = state::check_code(&full.texts());
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
    let mut full = Some(full);
    for detail in attempts(medication) {
        let contents = match full.take().filter(|_| detail == Detail::default()) {
            Some(contents) => contents,
            None => Contents::new(view, &found, &detail, fonts),
        };
        let print = [
            contents.caution.clone(),
            provenance(view, &check_code, &detail),
        ];
        if let Some(heights) = Heights::of(&contents, &print, grid, &badge, detail.tight, fonts) {
            let pen = draw(&contents, &print, &heights, grid, &badge, fonts).map_err(|fault| {
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
    print: &[Paragraph; 2],
    heights: &Heights,
    grid: Grid,
    badge: &Badge,
    fonts: &'a Fonts,
) -> Result<Pen<'a>, crate::figure::FigureError> {
    let inside = grid.inside();
    let mut pen = Pen::new(fonts);
    let mut y_mm = inside.y_mm;
    let column = |position: usize, columns: usize, y_mm: f64| {
        let (x_mm, width_mm) = grid.column(position, columns);
        Place {
            x_mm,
            y_mm,
            width_mm,
        }
    };
    contents.who.draw(&mut pen, column(0, 1, y_mm), badge);
    y_mm += heights.who + heights.gap;
    block(
        &mut pen,
        "changed",
        &contents.changed,
        column(0, 2, y_mm),
        heights.answer,
    );
    block(
        &mut pen,
        "attention",
        &contents.attention,
        column(1, 2, y_mm),
        heights.answer,
    );
    y_mm += heights.answer + heights.gap;
    gradient_block(&mut pen, contents, column(0, 2, y_mm), heights)?;
    ruler_block(&mut pen, contents, column(1, 2, y_mm), heights)?;
    y_mm += heights.charts + heights.captions + heights.gap;
    for (position, (table, name)) in contents
        .evidence
        .iter()
        .zip(["before", "ct and procedure", "result"])
        .enumerate()
    {
        block(
            &mut pen,
            name,
            table,
            column(position, 3, y_mm),
            heights.evidence,
        );
    }
    y_mm += heights.evidence + heights.gap;
    block(
        &mut pen,
        "judged",
        &contents.verdicts,
        column(0, 2, y_mm),
        heights.judged,
    );
    block(
        &mut pen,
        "limits and gaps",
        &contents.limits,
        column(1, 2, y_mm),
        heights.judged,
    );
    y_mm += heights.judged + heights.gap;
    block(
        &mut pen,
        "plan",
        &contents.plan,
        column(0, 1, y_mm),
        heights.plan,
    );
    y_mm += heights.plan + heights.gap;
    block(
        &mut pen,
        "signature",
        &contents.signature,
        column(0, 1, y_mm),
        heights.signature,
    );
    y_mm += heights.signature + heights.gap;
    for (paragraph, name) in print.iter().zip(["caution", "provenance"]) {
        let height = paragraph.height_mm(fonts, inside.width_mm);
        block(&mut pen, name, paragraph, column(0, 1, y_mm), height);
        y_mm += height;
    }
    Ok(pen)
}

fn block(pen: &mut Pen<'_>, name: &'static str, block: &dyn Block, at: Place, height_mm: f64) {
    pen.tagged(Tag::new(Role::Sect), |pen| block.draw(pen, at));
    pen.fills(
        name,
        Rect {
            x_mm: at.x_mm,
            y_mm: at.y_mm,
            width_mm: at.width_mm,
            height_mm,
        },
    );
}

/// A heading, a figure and its caption.
fn figure_block(
    pen: &mut Pen<'_>,
    name: &'static str,
    heading: &str,
    (alt, caption): (&str, &Paragraph),
    at: Place,
    heights: &Heights,
    draw: impl FnOnce(Area, &Fonts) -> Result<Vec<crate::draw::Item>, crate::figure::FigureError>,
) -> Result<(), crate::figure::FigureError> {
    let heading = Heading::second(heading);
    let heading_mm = heading.height_mm(pen.fonts, at.width_mm);
    let area = Area {
        x_mm: at.x_mm,
        y_mm: at.y_mm + heading_mm,
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
    pen.fills(
        name,
        Rect {
            x_mm: at.x_mm,
            y_mm: at.y_mm,
            width_mm: at.width_mm,
            height_mm: heights.charts + heights.captions,
        },
    );
    Ok(())
}

fn gradient_block(
    pen: &mut Pen<'_>,
    contents: &Contents,
    at: Place,
    heights: &Heights,
) -> Result<(), crate::figure::FigureError> {
    let (chart, alt, caption) = &contents.gradient;
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
    at: Place,
    heights: &Heights,
) -> Result<(), crate::figure::FigureError> {
    let (sizes, alt, caption) = &contents.ruler;
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
