//! Slips for the next echo, four to a page: what it is held against, and boxes with the columns to type them under.

use super::leaves::Leaves;
use super::rows::word;
use super::words;
use crate::draw::{Align, Face, Fonts, Item, Role, Tag};
use crate::page::grid::GUTTER_MM;
use crate::page::layout::{Pen, Place, Rect};
use crate::page::number::{date, date_range, digits};
use crate::page::table::{Column, Table, Width};
use crate::page::text::{Block, Laid, Paragraph, Rich, draw_lines};
use crate::page::theme::{self, TypeSize};
use crate::page::words::DOUBT;
use crate::record::{Attendance, Choice, FollowUpStatus, Grade};
use crate::worklist::{EchoOn, Entry, Slip, Threshold, Worklist, visit_name};

/// Space between the frame of a slip and its words (mm).
const PADDING_MM: f64 = 2.0;
/// Width of a box to write in (mm).
const BOX_WIDTH_MM: f64 = 18.0;
/// Most lines of a label.
const NAME_LINES: usize = 3;
/// Side of a box to tick (mm).
const TICK_MM: f64 = 2.4;

/// Numbers and the date to write, in the order of the follow-up file.
const WRITTEN: [(&str, &str); 10] = [
    ("visit_date", "Date, year-month-day"),
    ("vmax_m_s", "Peak velocity, m/s"),
    ("mean_gradient_mmhg", "Mean gradient, mmHg"),
    ("av_vti_cm", "Valve VTI, cm"),
    ("lvot_diameter_mm", "Outflow diameter, mm"),
    ("lvot_vti_cm", "Outflow VTI, cm"),
    ("lvef_pct", "LVEF, %"),
    ("rvsp_mmhg", "RVSP, mmHg"),
    ("kccq", "KCCQ, points"),
    ("nyha_class", "NYHA class, I to IV"),
];

/// What is asked since the last visit, yes or no.
const ASKED: [&str; 6] = [
    "new_or_worse_symptoms",
    "stroke",
    "hospitalised_for_valve_or_procedure",
    "valve_reintervention",
    "endocarditis",
    "leaflet_thrombosis",
];

/// Whether a line of the worklist has a slip: not where follow-up is recorded as declined, or no valve was implanted.
pub fn has_slip(entry: &Entry) -> bool {
    entry.standing != Some(FollowUpStatus::Declined) && !entry.no_valve
}

/// Writes the slips.
pub fn write(leaves: &mut Leaves<'_>, worklist: &Worklist) {
    leaves.part("Slips for the next echo", "Visit slips", "S");
    let page = leaves.body();
    let width = (page.width_mm - GUTTER_MM) / 2.0;
    let height = (page.height_mm - GUTTER_MM) / 2.0;
    let slips = worklist.entries.iter().filter(|entry| has_slip(entry));
    for (position, entry) in slips.enumerate() {
        if position > 0 && position % 4 == 0 {
            leaves.turn();
        }
        let (column, row) = ((position % 2) as f64, ((position / 2) % 2) as f64);
        let frame = Rect {
            x_mm: page.x_mm + column * (width + GUTTER_MM),
            y_mm: page.y_mm + row * (height + GUTTER_MM),
            width_mm: width,
            height_mm: height,
        };
        draw(leaves.pen(), entry, frame);
    }
}

fn draw(pen: &mut Pen<'_>, entry: &Entry, frame: Rect) {
    pen.items.push(Item::Rect {
        x_mm: frame.x_mm,
        y_mm: frame.y_mm,
        width_mm: frame.width_mm,
        height_mm: frame.height_mm,
        fill: None,
        stroke: Some(theme::WRITING_LINE),
    });
    let width_mm = frame.width_mm - 2.0 * PADDING_MM;
    let height_mm = frame.height_mm - 2.0 * PADDING_MM;
    let mut at = Place {
        x_mm: frame.x_mm + PADDING_MM,
        y_mm: frame.y_mm + PADDING_MM,
        width_mm,
    };
    // Boxes come closer, and notes get smaller, before a question goes from its row into a sentence; none is left out.
    let height = |blocks: &Blocks<'_>| -> f64 {
        let each = blocks.iter();
        each.map(|(gap, block)| gap + block.height_mm(pen.fonts, width_mm))
            .sum()
    };
    let blocks = [&ROOMY, &CLOSE, &CLOSER, &CLOSEST]
        .map(|spacing| blocks(entry, spacing))
        .into_iter()
        .reduce(|chosen: Blocks<'_>, next| {
            if height(&chosen) <= height_mm {
                chosen
            } else {
                next
            }
        })
        .unwrap_or_default();
    for (gap_mm, block) in blocks {
        at.y_mm += gap_mm;
        at.y_mm += block.draw(pen, at);
    }
}

/// How close the rows of a slip stand (mm).
struct Spacing {
    /// A row of boxes to write in.
    field_mm: f64,
    /// Such a box.
    box_mm: f64,
    /// A row of words to tick.
    ticked_mm: f64,
    /// A row of yes and no.
    asked_mm: f64,
    /// Whether notes are small.
    small: bool,
    /// Whether the questions are a sentence.
    in_words: bool,
}

/// Where nothing is short of space.
const ROOMY: Spacing = Spacing {
    field_mm: 6.8,
    box_mm: 5.6,
    ticked_mm: 5.8,
    asked_mm: 3.6,
    small: false,
    in_words: false,
};

/// As close as captions of two lines let it be.
const CLOSE: Spacing = Spacing {
    field_mm: 5.8,
    box_mm: 4.9,
    ticked_mm: 5.5,
    asked_mm: 3.0,
    small: false,
    in_words: false,
};

/// The same with small notes.
const CLOSER: Spacing = Spacing {
    small: true,
    ..CLOSE
};

/// The same with the questions in a sentence.
const CLOSEST: Spacing = Spacing {
    in_words: true,
    ..CLOSER
};

/// Parts from the top, each with the space above it (mm).
type Blocks<'a> = Vec<(f64, Box<dyn Block + 'a>)>;

/// The parts of a slip.
fn blocks<'a>(entry: &'a Entry, spacing: &'static Spacing) -> Blocks<'a> {
    let mut blocks: Blocks<'a> = vec![
        (0.0, Box::new(Name(entry))),
        (0.0, Box::new(Paragraph::body(who(entry)).at_most(2))),
        (1.2, Box::new(held_against(entry))),
    ];
    for text in notes(&entry.slip) {
        blocks.push(if spacing.small {
            (0.2, Box::new(Paragraph::small(text)))
        } else {
            (0.6, Box::new(Paragraph::body(text)))
        });
    }
    let title = format!(
        "To type into the follow-up file, a row with case_id {}:",
        entry.case_id
    );
    blocks.push((0.6, Box::new(Paragraph::body(outflow(&entry.slip)))));
    blocks.push((1.6, Box::new(Paragraph::body(Rich::bold(title)))));
    blocks.push((0.8, Box::new(Fields { spacing })));
    if spacing.in_words {
        let text = Rich::bold("Since the last visit, yes or no: ").and(ASKED.join(", "));
        blocks.push((0.2, Box::new(Paragraph::small(text))));
    }
    blocks
}

/// The label: as large as names are where it fits on one line, smaller and whole where not.
struct Name<'a>(&'a Entry);

impl Name<'_> {
    fn text(&self) -> Rich {
        Rich::bold(self.0.label.as_deref().unwrap_or("label not recorded"))
    }

    fn size(&self, fonts: &Fonts, width_mm: f64) -> TypeSize {
        if self.text().width_mm(fonts, theme::TITLE) <= width_mm {
            theme::TITLE
        } else {
            theme::BODY
        }
    }
}

impl Block for Name<'_> {
    fn laid<'b>(&'b self, fonts: &Fonts, width_mm: f64) -> Laid<'b> {
        let size = self.size(fonts, width_mm);
        let lines = self.text().lines(fonts, size, width_mm, NAME_LINES);
        let height_mm = (lines.len().max(1) as f64 * size.pitch_mm).max(theme::TITLE.pitch_mm);
        Laid::new(height_mm, move |pen, at| {
            pen.tagged(Tag::new(Role::H2), |pen| {
                draw_lines(pen, lines, at, size, theme::INK);
            });
        })
    }

    fn texts(&self, see: &mut dyn FnMut(&str)) {
        see(&self.text().plain());
    }
}

fn who(entry: &Entry) -> Rich {
    let birth = entry.birth_date.map_or_else(
        || "birth date not recorded".to_owned(),
        |birth| format!("born {}", date(birth)),
    );
    let visit = &entry.visit;
    Rich::from(format!(
        "{birth} · case {} · procedure {}",
        entry.case_id,
        date(entry.procedure_date)
    ))
    .and(format!(
        " · {} due {}, window {}",
        visit_name(visit, entry.procedure_date),
        date(visit.due),
        date_range(visit.opens, visit.closes)
    ))
}

/// The reference echo, and from which numbers on it would be deterioration.
fn held_against(entry: &Entry) -> Table {
    let slip = &entry.slip;
    let columns = vec![
        Column::left(Width::Share(1.0)),
        Column::right(Width::Natural),
        Column::right(Width::Natural),
        Column::right(Width::Natural),
        Column::right(Width::Natural),
    ];
    let header = ["", "mean, mmHg", "EOA, cm²", "DVI", "transvalvular"].map(Rich::from);
    let mut rows: Vec<Vec<Rich>> = Vec::new();
    if let Some(reference) = &slip.reference {
        rows.push(echo("Reference", reference));
    }
    if let Some(discharge) = &slip.discharge {
        rows.push(echo("Before discharge", discharge));
    }
    if rows.is_empty() {
        rows.push(
            ["No echo of the prosthesis", "–", "–", "–", "–"]
                .map(Rich::from)
                .to_vec(),
        );
    }
    for threshold in slip.thresholds.iter().flatten() {
        rows.push(stage(threshold, doubt(slip.reference.as_ref())));
    }
    Table::body(columns, Some(header.to_vec()), rows)
}

fn echo(name: &str, echo: &EchoOn) -> Vec<Rich> {
    let day = echo
        .date
        .map_or_else(|| "day not recorded".to_owned(), date);
    let doubt = doubt(Some(echo));
    let number = |value: Option<f64>, most: usize| {
        Rich::from(value.map_or_else(
            || "–".to_owned(),
            |value| format!("{}{doubt}", words::measured(value, most, "")),
        ))
    };
    vec![
        Rich::bold(format!("{name} {day}")),
        number(echo.mean_gradient_mmhg, 1),
        number(echo.eoa_cm2, 2),
        number(echo.dvi, 2),
        echo.transvalvular_grade.map_or("–", Choice::word).into(),
    ]
}

/// The mark of numbers from an echo that a check puts in doubt.
fn doubt(echo: Option<&EchoOn>) -> &'static str {
    if echo.is_some_and(|echo| echo.in_doubt) {
        DOUBT
    } else {
        ""
    }
}

/// A stage in numbers of this patient. Numbers are rounded to the side on which the rule still holds.
fn stage(threshold: &Threshold, doubt: &str) -> Vec<Rich> {
    let at_least = |value: f64| format!("≥ {}{doubt}", up(value, 1));
    let at_most = |value: f64| format!("≤ {}{doubt}", down(value, 2));
    let or_dash = |text: Option<String>| Rich::bold(text.unwrap_or_else(|| "–".to_owned()));
    vec![
        Rich::bold(format!("Stage {} from", threshold.stage)),
        or_dash(threshold.mean_gradient_mmhg.map(at_least)),
        or_dash(threshold.eoa_cm2.map(at_most)),
        or_dash(threshold.dvi.map(at_most)),
        or_dash(
            match (threshold.regurgitation, threshold.regurgitation_reachable) {
                (Some(Grade::Severe), _) => Some(Grade::Severe.word().to_owned()),
                (Some(grade), _) => Some(format!("{} or worse", grade.word())),
                (None, Some(false)) => Some("not by a step more".to_owned()),
                (None, _) => None,
            },
        ),
    ]
}

/// The least number of so many digits that is not below the value.
fn up(value: f64, most: usize) -> String {
    let scale = 10f64.powi(i32::try_from(most).unwrap_or(0));
    trimmed(
        (value * scale - 1e-9 * value.abs() * scale).ceil() / scale,
        most,
    )
}

/// The greatest number of so many digits that is not above the value.
fn down(value: f64, most: usize) -> String {
    let scale = 10f64.powi(i32::try_from(most).unwrap_or(0));
    digits(
        (value * scale + 1e-9 * value.abs() * scale).floor() / scale,
        most,
    )
}

fn trimmed(value: f64, most: usize) -> String {
    let written = digits(value, most);
    match written.strip_suffix(".0") {
        Some(whole) => whole.to_owned(),
        None => written,
    }
}

fn notes(slip: &Slip) -> Vec<Rich> {
    let mut notes: Vec<Rich> = Vec::new();
    if slip.thresholds.is_some() {
        notes.push(
            "A stage: the mean gradient as given and, with it, EOA or DVI down to the number; or transvalvular \
             regurgitation as given, alone (VARC-3)."
                .into(),
        );
    } else if let (Some(from), Some(until)) = (slip.reference_from, slip.reference_until) {
        notes.push(Rich::bold("No reference echo yet").and(format!(
            ": one with a mean gradient from {} can become it.",
            date_range(from, until)
        )));
    } else {
        notes.push(
            Rich::bold("No reference echo")
                .and(" between day 23 and day 105: deterioration cannot be told."),
        );
    }
    if slip
        .reference
        .iter()
        .chain(&slip.discharge)
        .any(|echo| echo.in_doubt)
    {
        notes.push(Rich::bold("† In doubt: ").and(
            "a check across the cells of this echo fails; every number from it is as doubtful.",
        ));
    }
    if let Some(day) = slip.reintervention {
        notes.push(
            Rich::bold(format!(
                "Reintervention recorded at the visit of {}",
                date(day)
            ))
            .and(": from then on deterioration is not judged against this reference."),
        );
    }
    notes
}

fn outflow(slip: &Slip) -> Rich {
    let name = Rich::from("Outflow diameter used last: ");
    match slip.outflow_diameter {
        Some((diameter, day)) => name
            .and_bold(words::measured(diameter, 1, "mm"))
            .and(match day {
                Some(day) => format!(", {}", date(day)),
                None => ", day not recorded".to_owned(),
            }),
        None => name.and("not recorded"),
    }
}

/// Where the words to tick start, from the left edge (mm).
const TICKS_FROM_MM: f64 = 21.0;
/// Where yes and no start (mm).
const ASKED_FROM_MM: f64 = 48.0;

/// Boxes to fill.
struct Fields {
    /// How close they stand.
    spacing: &'static Spacing,
}

/// Rows of words to tick.
fn ticked() -> [(&'static str, &'static str, Vec<&'static str>); 3] {
    let grades: Vec<&str> = Grade::ALL.iter().map(|grade| grade.word()).collect();
    let seen = Attendance::ALL
        .iter()
        .map(|attendance| attendance.word())
        .collect();
    [
        ("attendance", "Seen", seen),
        ("paravalvular_grade", "Paravalvular", grades.clone()),
        ("transvalvular_grade", "Transvalvular", grades),
    ]
}

impl Block for Fields {
    fn laid<'b>(&'b self, _: &Fonts, _: f64) -> Laid<'b> {
        let Spacing {
            field_mm,
            ticked_mm,
            asked_mm,
            in_words,
            ..
        } = self.spacing;
        let asked = if *in_words { 0 } else { ASKED.len() + 1 };
        let height_mm = WRITTEN.len().div_ceil(2) as f64 * field_mm
            + ticked().len() as f64 * ticked_mm
            + asked as f64 * asked_mm;
        Laid::new(height_mm, |pen, at| self.draw_fields(pen, at))
    }

    fn texts(&self, see: &mut dyn FnMut(&str)) {
        for (column, caption) in WRITTEN {
            see(caption);
            see(column);
        }
    }
}

impl Fields {
    fn draw_fields(&self, pen: &mut Pen<'_>, at: Place) {
        let spacing = self.spacing;
        let half = (at.width_mm - GUTTER_MM) / 2.0;
        for (position, (column, caption)) in WRITTEN.iter().enumerate() {
            let place = Place {
                x_mm: at.x_mm + (position % 2) as f64 * (half + GUTTER_MM),
                y_mm: at.y_mm + (position / 2) as f64 * spacing.field_mm,
                width_mm: half,
            };
            captioned(pen, place, caption, column);
            pen.items.push(Item::Rect {
                x_mm: place.x_mm + half - BOX_WIDTH_MM,
                y_mm: place.y_mm,
                width_mm: BOX_WIDTH_MM,
                height_mm: spacing.box_mm,
                fill: None,
                stroke: Some(theme::WRITING_LINE),
            });
        }
        let below = at.y_mm + WRITTEN.len().div_ceil(2) as f64 * spacing.field_mm;
        for (row, (column, caption, choices)) in ticked().into_iter().enumerate() {
            let place = Place {
                y_mm: below + row as f64 * spacing.ticked_mm,
                ..at
            };
            captioned(pen, place, caption, column);
            tick_row(pen, place, TICKS_FROM_MM, &choices);
        }
        if spacing.in_words {
            return;
        }
        let mut y_mm = below + ticked().len() as f64 * spacing.ticked_mm;
        let baseline = |y_mm: f64| y_mm + theme::SMALL.rise_mm;
        let title = Rich::bold("Since the last visit");
        word(
            pen,
            &title,
            at.x_mm,
            baseline(y_mm),
            Align::Left,
            theme::SMALL,
        );
        for column in ASKED {
            y_mm += spacing.asked_mm;
            let text = Rich::from(column);
            word(
                pen,
                &text,
                at.x_mm,
                baseline(y_mm),
                Align::Left,
                theme::SMALL,
            );
            tick_row(pen, Place { y_mm, ..at }, ASKED_FROM_MM, &["yes", "no"]);
        }
    }
}

/// What to measure, and under it the column to type it under.
fn captioned(pen: &mut Pen<'_>, at: Place, caption: &str, column: &str) {
    let baseline = at.y_mm + theme::SMALL.rise_mm;
    for (position, text) in [Rich::bold(caption), Rich::from(column)].iter().enumerate() {
        let y = baseline + position as f64 * theme::SMALL.pitch_mm;
        word(pen, text, at.x_mm, y, Align::Left, theme::SMALL);
    }
}

fn tick_row(pen: &mut Pen<'_>, at: Place, from_mm: f64, choices: &[&str]) {
    let width = |word: &&str| {
        pen.fonts
            .width_mm(word, Face::Regular, theme::SMALL.size_pt)
            + TICK_MM
            + 0.8
    };
    let words: f64 = choices.iter().map(width).sum();
    let gaps = choices.len().saturating_sub(1).max(1) as f64;
    let space = ((at.width_mm - from_mm - words) / gaps).min(4.0);
    let mut x_mm = at.x_mm + from_mm;
    for choice in choices {
        pen.items.push(Item::Rect {
            x_mm,
            y_mm: at.y_mm + 0.2,
            width_mm: TICK_MM,
            height_mm: TICK_MM,
            fill: None,
            stroke: Some(theme::WRITING_LINE),
        });
        let text = Rich::from(*choice);
        let baseline = at.y_mm + theme::SMALL.rise_mm;
        word(
            pen,
            &text,
            x_mm + TICK_MM + 0.8,
            baseline,
            Align::Left,
            theme::SMALL,
        );
        x_mm += TICK_MM
            + 0.8
            + pen
                .fonts
                .width_mm(choice, Face::Regular, theme::SMALL.size_pt)
            + space;
    }
}
