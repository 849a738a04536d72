//! Six pages of the demo as they were looked at and found right: what is drawn, as text, and how it looks, as a small
//! picture. A change shows in both; `VALVEFOLIO_ACCEPT=1` takes the new ones, after somebody has looked.

use std::fmt::Write as _;
use std::path::Path;
use std::process::Command;

use valvefolio::draw::{Item, Point};
use valvefolio::output::pdf::to_pdf;

use crate::support::{FONTS, demo_page};

/// What each page is there for, and the demo case that shows it.
const PAGES: [(&str, &str); 6] = [
    ("lines_differ", "2026-007"),
    ("leak", "2026-018"),
    ("many_visits", "2023-001"),
    ("death_in_the_room", "2026-020"),
    ("many_holes", "2026-005"),
    ("long_texts", "2026-033"),
];

fn accepts() -> bool {
    std::env::var_os("VALVEFOLIO_ACCEPT").is_some()
}

fn box_of(points: &[Point]) -> String {
    let fold = |of: fn(&Point) -> f64, by: fn(f64, f64) -> f64| {
        points.iter().map(of).reduce(by).unwrap_or(0.0)
    };
    format!(
        "{:.2},{:.2} to {:.2},{:.2}",
        fold(|point| point.0, f64::min),
        fold(|point| point.1, f64::min),
        fold(|point| point.0, f64::max),
        fold(|point| point.1, f64::max)
    )
}

/// The display list, one item a line, places in millimetres.
fn listed(items: &[Item]) -> String {
    let mut text = String::new();
    for item in items {
        let _ = match item {
            Item::Text {
                x_mm,
                baseline_mm,
                size_pt,
                face,
                text: words,
                ..
            } => {
                writeln!(
                    text,
                    "text {x_mm:.2},{baseline_mm:.2} {size_pt} {face:?} {words}"
                )
            }
            Item::Polyline { points, stroke } => {
                writeln!(
                    text,
                    "line {} of {} points, {} pt",
                    box_of(points),
                    points.len(),
                    stroke.width_pt
                )
            }
            Item::Polygon { points, .. } => {
                writeln!(text, "area {} of {} points", box_of(points), points.len())
            }
            Item::Open(tag) => writeln!(
                text,
                "open {:?} {}",
                tag.role,
                tag.alt.as_deref().unwrap_or("")
            ),
            Item::Close => writeln!(text, "close"),
            other => writeln!(
                text,
                "{}",
                format!("{other:?}").split(" {").next().unwrap_or("")
            ),
        };
    }
    text
}

#[test]
fn what_is_drawn_is_what_was_looked_at() {
    let mut changed = Vec::new();
    for (name, case_id) in PAGES {
        let file = format!("tests/golden/{name}.txt");
        let drawn = listed(&demo_page(case_id).document.sheets[0].items);
        if accepts() {
            std::fs::write(&file, &drawn).expect("tests/golden can be written");
            continue;
        }
        let golden =
            std::fs::read_to_string(&file).expect("a golden; VALVEFOLIO_ACCEPT=1 makes it");
        if let Some((line, (was, is))) = golden
            .lines()
            .zip(drawn.lines())
            .enumerate()
            .find(|(_, (was, is))| was != is)
        {
            changed.push(format!("{file}:{}: was “{was}”, is “{is}”", line + 1));
        } else if golden.lines().count() != drawn.lines().count() {
            changed.push(format!("{file}: more or fewer items"));
        }
    }
    assert!(changed.is_empty(), "{}", changed.join("\n"));
}

#[test]
fn pages_look_as_they_were_looked_at() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut arguments = Vec::new();
    for (name, case_id) in PAGES {
        let pdf = folder.path().join(format!("{name}.pdf"));
        let bytes = to_pdf(&demo_page(case_id).document, &FONTS).expect("a PDF");
        std::fs::write(&pdf, bytes).expect("written");
        arguments.push(pdf);
    }
    let mut command = Command::new("python3");
    command
        .arg("tests/tools/compare_pages.py")
        .arg(Path::new("tests/golden"));
    if accepts() {
        command.arg("--accept");
    }
    let output = command.args(&arguments).output().expect(
        "python3 with pillow, and poppler-utils; the README's second command installs them",
    );
    assert!(
        output.status.success(),
        "{}{}",
        String::from_utf8_lossy(&output.stdout),
        String::from_utf8_lossy(&output.stderr)
    );
}
