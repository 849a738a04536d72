//! The usual Python way: what it is given, and the process that draws it.

use std::io::{BufRead as _, BufReader, Write as _};
use std::path::Path;
use std::process::{Child, ChildStdin, ChildStdout, Command, Stdio};

use serde_json::{Value, json};
use valvefolio::draw::{Colour, Document, Face, Item, PT_PER_MM, Role, Stroke};

use crate::place;
use crate::timing::Turn;

/// A process that draws pages when told to.
pub struct Peer {
    process: Child,
    tell: ChildStdin,
    hear: BufReader<ChildStdout>,
}

impl Peer {
    /// Starts the script on these pages; where that is not possible, why.
    pub fn start(documents: &[Document], folder: &Path) -> Result<Peer, String> {
        let python = place::python();
        let content = folder.join("pages.json");
        let pages: Vec<Value> = documents.iter().map(page).collect();
        std::fs::write(&content, Value::from(pages).to_string())
            .map_err(|error| error.to_string())?;
        let mut process = Command::new(&python)
            .arg(place::repository().join("benches/peer/page.py"))
            .arg(&content)
            .arg(place::repository().join("fonts"))
            .arg(place::figures().join("peer.pdf"))
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .map_err(|error| format!("{}: {error}", python.display()))?;
        let tell = process.stdin.take().ok_or("no way to tell it")?;
        let hear = BufReader::new(process.stdout.take().ok_or("no way to hear it")?);
        let mut peer = Peer {
            process,
            tell,
            hear,
        };
        match peer.line()?.trim() {
            "ready" => Ok(peer),
            other => Err(format!("{} said “{other}”", python.display())),
        }
    }

    /// Draws this many pages; its processor time and the bytes of all pages.
    ///
    /// # Panics
    /// Where the process ends.
    pub fn turn(&mut self, pages: usize) -> Turn {
        writeln!(self.tell, "{pages}").expect("the peer is running");
        let line = self.line().expect("the peer is running");
        let mut words = line.split_whitespace();
        let mut next = || words.next().expect("seconds and bytes");
        Turn {
            seconds: next().parse().expect("seconds"),
            bytes: next().parse().expect("bytes"),
        }
    }

    fn line(&mut self) -> Result<String, String> {
        let mut line = String::new();
        match self.hear.read_line(&mut line) {
            Ok(0) => Err("the Python script ended; see above".to_owned()),
            Ok(_) => Ok(line),
            Err(error) => Err(error.to_string()),
        }
    }
}

impl Drop for Peer {
    fn drop(&mut self) {
        let _ = self.process.kill();
        let _ = self.process.wait();
    }
}

/// A page as numbers and words: points from the bottom left, what lies outside the figures item by item, and the
/// figures with what they show.
fn page(document: &Document) -> Value {
    let sheet = &document.sheets[0];
    let height_mm = sheet.paper.height_mm();
    let mut items = Vec::new();
    let mut figures: Vec<Value> = Vec::new();
    let mut open: Vec<bool> = Vec::new();
    let mut inside: Vec<Value> = Vec::new();
    for item in &sheet.items {
        match item {
            Item::Open(tag) => {
                let figure = tag.role == Role::Figure;
                open.push(figure);
                if figure {
                    figures.push(json!({ "alt": tag.alt }));
                    inside.clear();
                }
            }
            Item::Close => {
                if open.pop() == Some(true)
                    && let Some(figure) = figures.last_mut()
                {
                    figure["items"] = Value::from(std::mem::take(&mut inside));
                }
            }
            other => {
                let written = drawn(other, height_mm);
                if open.contains(&true) {
                    inside.push(written);
                } else {
                    items.push(written);
                }
            }
        }
    }
    json!({
        "title": document.title,
        "width": sheet.paper.width_mm() * PT_PER_MM,
        "height": height_mm * PT_PER_MM,
        "items": items,
        "figures": figures,
    })
}

fn drawn(item: &Item, height_mm: f64) -> Value {
    let pt = |mm: f64| (mm * PT_PER_MM * 100.0).round() / 100.0;
    let up = |mm: f64| pt(height_mm - mm);
    let points = |points: &[(f64, f64)]| {
        points
            .iter()
            .map(|&(x, y)| [pt(x), up(y)])
            .collect::<Vec<_>>()
    };
    let colour = |Colour { red, green, blue }: Colour| {
        [red, green, blue].map(|level| (f64::from(level) / 255.0 * 1000.0).round() / 1000.0)
    };
    let stroke = |stroke: &Stroke| {
        json!([
            stroke.width_pt,
            colour(stroke.colour),
            stroke.dash.map(|dash| [dash.on_pt, dash.off_pt])
        ])
    };
    match item {
        Item::Text {
            x_mm,
            baseline_mm,
            size_pt,
            face,
            colour: ink,
            text,
            rotated,
        } => json!({
            "kind": "text",
            "x": pt(*x_mm),
            "y": up(*baseline_mm),
            "size": size_pt,
            "face": match face { Face::Regular => "regular", Face::Semibold => "semibold" },
            "colour": colour(*ink),
            "text": text,
            "rotated": rotated,
        }),
        Item::Polyline {
            points: line,
            stroke: pen,
        } => json!({
            "kind": "line", "points": points(line), "stroke": stroke(pen),
        }),
        Item::Polygon {
            points: line,
            fill,
            stroke: pen,
        } => json!({
            "kind": "polygon", "points": points(line), "fill": fill.map(colour), "stroke": pen.as_ref().map(stroke),
        }),
        Item::Rect {
            x_mm,
            y_mm,
            width_mm,
            height_mm: tall_mm,
            fill,
            stroke: pen,
        } => json!({
            "kind": "rect", "x": pt(*x_mm), "y": up(y_mm + tall_mm), "width": pt(*width_mm), "height": pt(*tall_mm),
            "fill": fill.map(colour), "stroke": pen.as_ref().map(stroke),
        }),
        Item::Ellipse {
            centre,
            radius_x_mm,
            radius_y_mm,
            fill,
            stroke: pen,
        } => json!({
            "kind": "ellipse", "x": pt(centre.0), "y": up(centre.1), "rx": pt(*radius_x_mm), "ry": pt(*radius_y_mm),
            "fill": fill.map(colour), "stroke": pen.as_ref().map(stroke),
        }),
        Item::Clip {
            x_mm,
            y_mm,
            width_mm,
            height_mm: tall_mm,
        } => json!({
            "kind": "clip", "x": pt(*x_mm), "y": up(y_mm + tall_mm), "width": pt(*width_mm), "height": pt(*tall_mm),
        }),
        Item::Unclip => json!({ "kind": "unclip" }),
        Item::Open(_) | Item::Close => Value::Null,
    }
}
