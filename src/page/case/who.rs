//! Block 1: who this is, what stands here, and the box that says what the page is.

use super::ladder::Detail;
use super::state::{self, Kind, State};
use super::view::View;
use crate::draw::{Align, Fonts, Item, Role, Tag};
use crate::page::layout::Place;
use crate::page::number::{date, recorded, with_unit};
use crate::page::text::{Block, Laid, Paragraph, Rich, RichLine, draw_lines};
use crate::page::theme::{self, TypeSize};
use crate::page::words::{self, NOT_RECORDED, Words};
use crate::record::{Morphology, Rhythm};

/// Width of the state box (mm).
const BOX_MM: f64 = 52.0;
/// Height of the state in its box (mm).
const BOX_HEAD_MM: f64 = 6.2;
/// Least height of the head (mm).
const LEAST_MM: f64 = 15.0;
/// A label longer than this many lines of clinical type cannot be shown whole.
const MOST_LABEL_LINES: usize = 5;

/// The head of the page.
pub(super) struct Who {
    label: Rich,
    /// Birth and procedure; the centre.
    lines: [Paragraph; 2],
    stands: Paragraph,
}

/// The two identifiers in one line, for the head and beside the signature.
pub(super) fn identifiers(view: &View<'_>) -> (String, String) {
    let label = match view.cells.patient_label.as_deref() {
        Some(label) => label.to_owned(),
        None => format!("No label recorded, case {}", view.record.case_id),
    };
    let born = view
        .cells
        .birth_date
        .map_or("birth date not recorded".to_owned(), |born| {
            format!("born {}", date(born))
        });
    (label, born)
}

impl Who {
    pub fn new(view: &View<'_>, detail: &Detail) -> Self {
        let (label, born) = identifiers(view);
        let before = &view.assessment.results.before;
        let age = before
            .age_years
            .map_or("age not recorded".to_owned(), |age| {
                format!("{age} y at the procedure")
            });
        let sex = view
            .cells
            .sex
            .map_or("sex not recorded".to_owned(), words::plain);
        let first = Rich::bold(born).and(format!(
            " · {age} · {sex} · procedure {} · case {}",
            date(view.known.procedure_date),
            view.record.case_id
        ));
        let centre_lines = if detail.tight { 1 } else { 2 };
        Self {
            label: Rich::bold(label),
            lines: [
                Paragraph::body(first),
                Paragraph::body(centre(view)).at_most(centre_lines),
            ],
            stands: Paragraph::body(stands_here(view)),
        }
    }

    /// Size and lines of the label: as large as it fits on one line, else smaller and whole.
    fn label_lines(&self, fonts: &Fonts, width_mm: f64) -> (TypeSize, Vec<RichLine>) {
        let large = self.label.lines(fonts, theme::TITLE, width_mm, usize::MAX);
        if large.len() <= 1 {
            return (theme::TITLE, large);
        }
        (
            theme::BODY,
            self.label.lines(fonts, theme::BODY, width_mm, usize::MAX),
        )
    }

    /// Whether the label can be shown whole.
    pub fn label_fits(&self, fonts: &Fonts, width_mm: f64) -> bool {
        self.label_lines(fonts, width_mm - BOX_MM - 4.0).1.len() <= MOST_LABEL_LINES
    }

    pub fn laid<'b>(&'b self, fonts: &Fonts, width_mm: f64, badge: &'b Badge) -> Laid<'b> {
        let text_mm = width_mm - BOX_MM - 4.0;
        let (size, label) = self.label_lines(fonts, text_mm);
        let stands = (!self.stands.text.is_blank()).then_some(&self.stands);
        let paragraphs: Vec<Laid<'b>> = self
            .lines
            .iter()
            .chain(stands)
            .map(|paragraph| paragraph.laid(fonts, text_mm))
            .collect();
        let badge = badge.laid(fonts);
        let lines: f64 = paragraphs.iter().map(|paragraph| paragraph.height_mm).sum();
        let height_mm = (label.len() as f64 * size.pitch_mm + 0.6 + lines)
            .max(LEAST_MM)
            .max(badge.height_mm);
        Laid::new(height_mm, move |pen, at| {
            let text = Place {
                width_mm: text_mm,
                ..at
            };
            let mut y_mm = at.y_mm + label.len() as f64 * size.pitch_mm + 0.6;
            pen.tagged(Tag::new(Role::H1), |pen| {
                draw_lines(pen, label, text, size, theme::INK)
            });
            for paragraph in paragraphs {
                y_mm += paragraph.draw(pen, Place { y_mm, ..text });
            }
            pen.fills("who", text, height_mm);
            let right = Place {
                x_mm: at.x_mm + at.width_mm - BOX_MM,
                width_mm: BOX_MM,
                ..at
            };
            badge.draw(pen, right);
        })
    }

    pub fn texts(&self, see: &mut dyn FnMut(&str)) {
        see(&self.label.plain());
        for paragraph in self.lines.iter().chain([&self.stands]) {
            paragraph.texts(see);
        }
    }
}

fn centre(view: &View<'_>) -> String {
    let lines: Vec<&str> = view
        .context
        .centre_lines
        .iter()
        .map(String::as_str)
        .filter(|line| !line.trim().is_empty())
        .collect();
    let site = view.cells.site.as_deref();
    let centre = match (lines.is_empty(), site) {
        (true, Some(site)) => format!("Centre: {site}"),
        (true, None) => format!("Centre: {NOT_RECORDED}"),
        (false, Some(site)) => format!("{} · {site}", lines.join(" · ")),
        (false, None) => lines.join(" · "),
    };
    let operator = view
        .cells
        .operator
        .as_deref()
        .map_or(String::new(), |operator| format!(" · operator {operator}"));
    let body = match (view.cells.height_cm, view.cells.weight_kg) {
        (Some(height), Some(weight)) => format!(
            " · {}, {}",
            with_unit(&recorded(height, 1, &[]), "cm"),
            with_unit(&recorded(weight, 1, &[]), "kg")
        ),
        _ => String::new(),
    };
    format!("{centre}{operator}{body}")
}

/// Facts that change how everything below is read.
fn stands_here(view: &View<'_>) -> Rich {
    let cells = view.cells;
    let mut facts: Vec<String> = Vec::new();
    match view.known.death_date {
        Some(on) => facts.push(format!("died {} (day {})", date(on), view.known.day_of(on))),
        None if view.dead() => facts.push("a death is recorded, its date is not".to_owned()),
        None => {}
    }
    if let Some(morphology) = cells
        .valve_morphology
        .filter(|morphology| *morphology != Morphology::Tricuspid)
    {
        facts.push(morphology.words().to_owned());
    }
    for (cell, words) in [
        (cells.no_valve_implanted, "no valve implanted"),
        (cells.second_valve, "second valve"),
        (cells.conversion_to_surgery, "converted to surgery"),
        (cells.prior_pacemaker, "pacemaker before"),
        (
            cells
                .new_pacemaker_30d
                .filter(|_| cells.prior_pacemaker != Some(true)),
            "new pacemaker",
        ),
        (cells.dialysis, "on dialysis before"),
        (
            cells.active_endocarditis,
            "active endocarditis at the procedure",
        ),
    ] {
        if cell == Some(true) {
            facts.push(words.to_owned());
        }
    }
    if [cells.rhythm, cells.discharge_rhythm].contains(&Some(Rhythm::AtrialFibrillation)) {
        facts.push("atrial fibrillation".to_owned());
    } else if crate::assess::atrial_fibrillation(view.known) == Some(true) {
        facts.push("history of atrial fibrillation".to_owned());
    }
    if let Some(visit) = view
        .known
        .visits
        .iter()
        .find(|visit| visit.cells.valve_reintervention == Some(true))
    {
        facts.push(format!(
            "valve reintervention {}",
            date(visit.cells.reintervention_date.unwrap_or(visit.date))
        ));
    }
    if facts.is_empty() {
        return Rich::default();
    }
    Rich::bold(facts.join(" · "))
}

/// What the box at the right says.
pub(super) struct Badge {
    pub state: State,
    pub kind: Kind,
    pub check_code: String,
    pub signed: String,
    pub data_to: String,
    /// The day that the page speaks for.
    pub as_of: String,
    /// Nobody was discharged.
    pub died_in_the_room: bool,
}

impl Badge {
    pub fn new(view: &View<'_>, kind: Kind, state: State, check_code: String) -> Self {
        Self {
            state,
            kind,
            check_code,
            signed: signed_words(view, state),
            data_to: date(state::data_to(view)),
            as_of: date(view.known.as_of),
            died_in_the_room: view.cells.procedural_death == Some(true),
        }
    }

    /// Lines under the state: signature, kind and dates, check code.
    fn lines(&self, fonts: &Fonts) -> Vec<RichLine> {
        let page = match self.kind {
            // Not "after a death of": the day is that of the page.
            Kind::Discharge if self.died_in_the_room => {
                format!("page of {}, after a death in the room", self.as_of)
            }
            Kind::Discharge => format!("discharge page of {}", self.as_of),
            Kind::FollowUp => format!("follow-up page of {}", self.as_of),
        };
        let inner = BOX_MM - 3.0;
        let mut lines = Rich::from(self.signed.as_str()).lines(fonts, theme::SMALL, inner, 2);
        for text in [
            Rich::from(page),
            Rich::from(format!("data to {} · check code ", self.data_to))
                .and_bold(self.check_code.as_str()),
        ] {
            lines.extend(text.lines(fonts, theme::SMALL, inner, 1));
        }
        lines
    }

    fn laid(&self, fonts: &Fonts) -> Laid<'_> {
        let lines = self.lines(fonts);
        let height_mm = BOX_HEAD_MM + lines.len() as f64 * theme::SMALL.pitch_mm + 1.0;
        Laid::new(height_mm, move |pen, at| {
            let Place { x_mm, y_mm, .. } = at;
            pen.items.push(Item::Rect {
                x_mm,
                y_mm,
                width_mm: BOX_MM,
                height_mm,
                fill: None,
                stroke: Some(theme::FRAME),
            });
            let state = Place {
                width_mm: BOX_MM,
                ..at
            };
            pen.fills("state", state, height_mm);
            let middle = x_mm + BOX_MM / 2.0;
            let title = Rich::bold(self.state.title()).lines(pen.fonts, theme::TITLE, BOX_MM, 1);
            pen.tagged(Tag::new(Role::P), |pen| {
                for line in title {
                    let size = theme::TITLE;
                    line.draw(pen, middle, y_mm + 4.9, Align::Centre, size, theme::INK);
                }
            });
            pen.tagged(Tag::new(Role::P), |pen| {
                for (position, line) in lines.into_iter().enumerate() {
                    let size = theme::SMALL;
                    let baseline =
                        y_mm + BOX_HEAD_MM + position as f64 * size.pitch_mm + size.rise_mm;
                    line.draw(pen, middle, baseline, Align::Centre, size, theme::INK);
                }
            });
        })
    }
}

/// By whom and when, as the source table says.
pub(super) fn signed_words(view: &View<'_>, state: State) -> String {
    let cells = view.cells;
    let Some(by) = view.record.cells.signed_by.as_deref() else {
        return "not signed".to_owned();
    };
    let on = cells
        .signed_on
        .map_or(" (date not recorded)".to_owned(), |on| {
            format!(" on {}", date(on))
        });
    match state {
        State::Draft => "not signed".to_owned(),
        State::RecordedAsSigned | State::Signed => {
            format!("{} by {by}, in the source table", on.trim_start())
        }
        State::ChangedSince => format!("earlier page signed{on} by {by}"),
    }
}
