//! A document with a little of everything: two pages, tables, a list, a chart, an attachment. All of
//! it is invented.

use jiff::civil::date;
use plotters::prelude::*;
use valvefolio::draw::{
    Align, Attachment, Colour, Dash, Document, Face, Fonts, Item, Paper, Role, Scope, Sheet,
    Stroke, Tag, TextStyle, tagged,
};
use valvefolio::figure::FigureError;
use valvefolio::figure::axes::{Axes, span};
use valvefolio::figure::recorder::{Area, drawing_error, record};

const SMALL: TextStyle = TextStyle {
    face: Face::Regular,
    size_pt: 7.6,
    colour: Colour::BLACK,
};
const BOLD: TextStyle = TextStyle {
    face: Face::Semibold,
    size_pt: 7.6,
    colour: Colour::BLACK,
};
const NAME: TextStyle = TextStyle {
    face: Face::Semibold,
    size_pt: 13.0,
    colour: Colour::BLACK,
};
const PITCH_MM: f64 = 3.2;

/// Two pages about a patient with this label.
pub fn document(fonts: &Fonts, label: &str, attached: bool) -> Document {
    let label = fonts.clean(label).into_owned();
    let first = first_page(fonts, &label, Paper::A4)
        .with_bookmark(label.as_str(), 0)
        .with_bookmark("Case page", 1);
    let second = second_page(fonts)
        .with_bookmark("Signs & letters", 1)
        .with_bookmark("Glossary", 0)
        .with_label("A-1");
    let bytes = br#"{"case_id":"2026-0117","annulus_area_mm2":560}"#.to_vec();
    Document {
        title: format!("Case 2026-0117, {label} <made up> & checked"),
        subject: "A made-up case".to_owned(),
        language: "en-GB".to_owned(),
        date: date(2028, 4, 20),
        sheets: vec![first, second],
        attachment: attached.then(|| Attachment {
            name: "results.json".to_owned(),
            description: "What this page was drawn from".to_owned(),
            mime: "application/json".to_owned(),
            bytes,
        }),
    }
}

/// One page as full as a case page: about 300 texts, 45 rows, two charts.
pub fn first_page(fonts: &Fonts, label: &str, paper: Paper) -> Sheet {
    let mut sheet = Sheet::new(paper);
    sheet.tagged(Tag::new(Role::H1), |items| {
        items.push(fonts.place(label, 12.0, 15.0, Align::Left, NAME))
    });
    sheet.tagged(Tag::new(Role::P), |items| {
        let text = "born 03 Mar 1943 (83 y) · female · procedure 12 Mar 2026 · case 2026-0117";
        items.push(fonts.place(text, 12.0, 19.0, Align::Left, SMALL));
    });
    sheet.items.push(Item::line(
        (12.0, 22.0),
        (198.0, 22.0),
        Stroke::solid(0.6, Colour::BLACK),
    ));
    sheet.tagged(Tag::new(Role::List), |items| {
        for line in 0..8 {
            tagged(items, Tag::new(Role::ListItem), |items| {
                let text = format!(
                    "{} Annulus points to 29, sealed balloon to 23: reason recorded.",
                    line + 1
                );
                items.push(fonts.place(
                    text,
                    107.0,
                    26.0 + PITCH_MM * f64::from(line),
                    Align::Left,
                    SMALL,
                ));
            });
        }
    });
    for (place, after) in [(12.0, false), (107.0, true)] {
        let area = Area {
            x_mm: place,
            y_mm: 55.0,
            width_mm: 91.0,
            height_mm: 60.0,
        };
        let items = chart(fonts, area, after).expect("the sample's chart");
        sheet.tagged(
            Tag::figure("Mean gradient in mmHg: 14, 11, 13 and 16 over two years"),
            |figure| {
                figure.extend(items);
            },
        );
    }
    for (place, name) in [
        "Stenosis and flow before",
        "CT, sizing and procedure",
        "Result to day 30",
    ]
    .iter()
    .enumerate()
    {
        table(fonts, &mut sheet, 12.0 + 63.3 * place as f64, 122.0, name);
    }
    sheet.tagged(Tag::new(Role::P), |items| {
        let text = "Made from the data given, to be reviewed by the treating team. A record of what was done, \
                    not for use in choosing a device, a size or a treatment. Check against the source studies, \
                    the device’s instructions for use, local protocol and applicable guidelines.";
        for (line, text) in fonts.wrap(text, Face::Regular, 6.5, 186.0).into_iter().enumerate() {
            let style = TextStyle { size_pt: 6.5, ..SMALL };
            items.push(fonts.place(text, 12.0, 272.0 + 3.0 * line as f64, Align::Left, style));
        }
    });
    sheet.tagged(Tag::new(Role::Artifact), |items| {
        items.push(fonts.place(
            "Page 1",
            198.0,
            paper.height_mm() - 8.0,
            Align::Right,
            SMALL,
        ));
    });
    sheet
}

fn table(fonts: &Fonts, sheet: &mut Sheet, left_mm: f64, top_mm: f64, name: &str) {
    sheet.tagged(Tag::new(Role::H2), |items| {
        items.push(fonts.place(name, left_mm, top_mm, Align::Left, BOLD))
    });
    sheet.tagged(Tag::new(Role::Table), |items| {
        tagged(items, Tag::new(Role::Row), |items| {
            for (head, at, align) in [
                ("quantity", 0.0, Align::Left),
                ("before", 30.0, Align::Right),
                ("after", 59.0, Align::Right),
            ] {
                tagged(items, Tag::header(Scope::Column), |items| {
                    items.push(fonts.place(head, left_mm + at, top_mm + PITCH_MM, align, BOLD));
                });
            }
        });
        for row in 0..15 {
            let y = top_mm + PITCH_MM * f64::from(row + 2);
            items.push(Item::line(
                (left_mm, y + 0.8),
                (left_mm + 59.3, y + 0.8),
                Stroke::solid(0.2, Colour::grey(190)),
            ));
            tagged(items, Tag::new(Role::Row), |items| {
                tagged(items, Tag::header(Scope::Row), |items| {
                    let text = format!("Quantity {row}, cm²/m²");
                    items.push(fonts.place(text, left_mm, y, Align::Left, SMALL));
                });
                tagged(items, Tag::cell(), |items| {
                    let text = format!("{}.{row} ≥ 4.0", row * 7);
                    items.push(fonts.place(text, left_mm + 40.0, y, Align::Right, SMALL));
                });
                tagged(items, Tag::cell().read_as("not recorded"), |items| {
                    items.push(fonts.place("–", left_mm + 59.0, y, Align::Right, SMALL));
                });
            });
        }
    });
}

fn chart(fonts: &Fonts, area: Area, dashed: bool) -> Result<Vec<Item>, FigureError> {
    let measured: Vec<(f64, f64)> = (0..200)
        .map(|day| {
            (
                f64::from(day) / 100.0,
                12.0 + 4.0 * (f64::from(day) / 40.0).sin(),
            )
        })
        .collect();
    let y = span(measured.iter().map(|point| point.1), Some(0.0..30.0))?;
    let axes = Axes {
        x: span(measured.iter().map(|point| point.0), None)?,
        y,
    };
    record(fonts, area, |root, control| {
        let mut chart = ChartBuilder::on(root)
            .margin(40)
            .x_label_area_size(200)
            .y_label_area_size(260)
            .caption(
                "Mean gradient (µ), mmHg",
                ("sans", 76).into_font().style(FontStyle::Bold),
            )
            .build_cartesian_2d(axes.x.clone(), axes.y.clone())
            .map_err(drawing_error)?;
        chart
            .configure_mesh()
            .disable_mesh()
            .set_all_tick_mark_size(30)
            .label_style(("sans", 65))
            .axis_style(BLACK.stroke_width(5))
            .x_desc("years")
            .y_desc("mean gradient")
            .x_label_formatter(&|value| format!("{value:.1}"))
            .y_label_formatter(&|value| format!("{value:.0}"))
            .draw()
            .map_err(drawing_error)?;
        let points = axes.inside(measured.iter().copied())?;
        chart
            .draw_series(AreaSeries::new(
                points.iter().copied(),
                0.0,
                BLACK.mix(0.12),
            ))
            .map_err(drawing_error)?;
        let line = LineSeries::new(points.iter().copied(), BLACK.stroke_width(6));
        if dashed {
            control.dashed(
                Dash {
                    on_pt: 3.0,
                    off_pt: 2.0,
                },
                || chart.draw_series(line).map(|_| ()),
            )
        } else {
            chart.draw_series(line).map(|_| ())
        }
        .map_err(drawing_error)?;
        let visits = axes.inside([(0.01, 14.0), (0.1, 11.0), (1.0, 13.0), (1.9, 16.0)])?;
        chart
            .draw_series(
                visits
                    .iter()
                    .map(|&visit| Circle::new(visit, 20, WHITE.filled())),
            )
            .map_err(drawing_error)?;
        chart
            .draw_series(
                visits
                    .iter()
                    .map(|&visit| Circle::new(visit, 20, BLACK.stroke_width(6))),
            )
            .map_err(drawing_error)?;
        Ok(())
    })
}

/// All scripts and signs that the pages promise to write.
pub const SIGNS: [&str; 6] = [
    "Zoë Ångström-Łukasiewicz, Ελένη Παπαδοπούλου, Ольга Щукина",
    "560 mm² ≥ 430 mm² − 20 → 11 mmHg ↔ μmol/L, H₂O, 10⁻³, √2, ∞",
    "† in doubt, ‡ second note, § 3, · • ± × ° ½ ¼ ≈ ≠ ≤ ↑ ↓ ✓",
    "“quoted” ‘single’ – dash — long … ‹U+65E5› Δ gradient",
    "AVATAR To. Ty Wa P. V, LT 11:17 f(x) [7] fi fl ffi",
    "Nguyễn Văn Đức, Þóra Ĳsselmeer, Ő ű ș ț ğ ı İ",
];

fn second_page(fonts: &Fonts) -> Sheet {
    let mut sheet = Sheet::new(Paper::Letter);
    sheet.tagged(Tag::new(Role::H2), |items| {
        items.push(fonts.place("Signs & letters", 12.0, 20.0, Align::Left, NAME));
    });
    for (line, text) in SIGNS.iter().enumerate() {
        sheet.tagged(Tag::new(Role::P), |items| {
            let style = if line % 2 == 0 { SMALL } else { BOLD };
            items.push(fonts.place(
                fonts.clean(text),
                12.0,
                30.0 + 6.0 * line as f64,
                Align::Left,
                style,
            ));
        });
    }
    sheet.tagged(
        Tag::figure("A ring of 24.1 by 29.6 mm, drawn to scale, with a clipped square"),
        |items| {
            let ink = Stroke::solid(0.8, Colour::rgb(20, 60, 140));
            items.push(Item::Ellipse {
                centre: (50.0, 100.0),
                radius_x_mm: 14.8,
                radius_y_mm: 12.05,
                fill: Some(Colour::grey(235)),
                stroke: Some(ink),
            });
            items.push(Item::circle(
                (50.0, 100.0),
                11.5,
                None,
                Some(Stroke::dashed(0.6, Colour::BLACK, 2.0, 1.5)),
            ));
            items.push(Item::Clip {
                x_mm: 90.0,
                y_mm: 90.0,
                width_mm: 10.0,
                height_mm: 10.0,
            });
            items.push(Item::Polygon {
                points: vec![(85.0, 95.0), (95.0, 85.0), (105.0, 95.0), (95.0, 105.0)],
                fill: Some(Colour::grey(120)),
                stroke: None,
            });
            items.push(Item::Unclip);
            items.push(fonts.place_upward("upward", 86.0, 110.0, Align::Left, SMALL));
            items.push(fonts.place("10 mm", 95.0, 112.0, Align::Centre, SMALL));
            items.push(Item::line(
                (90.0, 108.0),
                (100.0, 108.0),
                Stroke::solid(0.5, Colour::BLACK),
            ));
        },
    );
    sheet
}
