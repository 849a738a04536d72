// Named one by one: the backend's traits and plotters' own have methods of the same names.
use super::{Area, drawing_error, on_white, record};
use crate::draw::{Colour, Dash, Face, Fonts, Item, Tag};
use plotters::prelude::*;
use plotters_backend::BackendColor;

const AREA: Area = Area {
    x_mm: 20.0,
    y_mm: 30.0,
    width_mm: 91.0,
    height_mm: 50.0,
};

fn chart(fonts: &Fonts) -> Vec<Item> {
    record(fonts, AREA, |root, control| {
        let mut chart = ChartBuilder::on(root)
            .margin(20)
            .x_label_area_size(160)
            .y_label_area_size(220)
            .caption(
                "After (Δ ≥ 20)",
                ("sans", 70)
                    .into_font()
                    .style(plotters::style::FontStyle::Bold),
            )
            .build_cartesian_2d(0.0..13.0, 0.0..60.0)
            .map_err(drawing_error)?;
        chart
            .configure_mesh()
            .disable_mesh()
            .set_all_tick_mark_size(30)
            .label_style(("sans", 65))
            .x_desc("months")
            .y_desc("mean gradient, mmHg")
            .y_label_formatter(&|value| format!("{value:.0}"))
            .draw()
            .map_err(drawing_error)?;
        let line = [(0.0, 10.0), (6.5, 30.0), (13.0, 60.0)];
        control
            .dashed(
                Dash {
                    on_pt: 2.0,
                    off_pt: 1.0,
                },
                || chart.draw_series(LineSeries::new(line, BLACK.stroke_width(5))),
            )
            .map_err(drawing_error)?;
        chart
            .draw_series(
                line.iter()
                    .map(|&point| Circle::new(point, 12, BLACK.mix(0.5).filled())),
            )
            .map_err(drawing_error)?;
        Ok(())
    })
    .unwrap()
}

#[test]
fn lines_stay_lines_with_a_native_dash() {
    let items = chart(&Fonts::load());
    let dashed: Vec<_> = items
        .iter()
        .filter_map(|item| match item {
            Item::Polyline { points, stroke } if stroke.dash.is_some() => {
                Some((points.len(), stroke.width_pt))
            }
            _ => None,
        })
        .collect();
    assert_eq!(dashed, [(3, 0.5)]);
}

#[test]
fn texts_stay_texts_and_axis_titles_run_up() {
    let items = chart(&Fonts::load());
    let texts: Vec<_> = items
        .iter()
        .filter_map(|item| match item {
            Item::Text {
                text,
                rotated,
                face,
                size_pt,
                ..
            } => Some((text.as_str(), *rotated, *face, *size_pt)),
            _ => None,
        })
        .collect();
    assert!(
        texts.contains(&("After (Δ ≥ 20)", false, Face::Semibold, 7.0)),
        "{texts:?}"
    );
    assert!(
        texts.contains(&("mean gradient, mmHg", true, Face::Regular, 6.5)),
        "{texts:?}"
    );
    assert!(texts.iter().any(|text| text.0 == "60"));
}

#[test]
fn a_chart_stays_in_its_area() {
    let fonts = Fonts::load();
    for item in chart(&fonts) {
        let corners = match &item {
            Item::Polyline { points, .. } | Item::Polygon { points, .. } => points.clone(),
            Item::Ellipse { centre, .. } => vec![*centre],
            Item::Rect {
                x_mm,
                y_mm,
                width_mm,
                height_mm,
                ..
            } => {
                vec![(*x_mm, *y_mm), (x_mm + width_mm, y_mm + height_mm)]
            }
            Item::Text {
                x_mm,
                baseline_mm,
                text,
                face,
                size_pt,
                rotated,
                ..
            } => {
                let length = fonts.width_mm(text, *face, *size_pt);
                let end = if *rotated {
                    (*x_mm, baseline_mm - length)
                } else {
                    (x_mm + length, *baseline_mm)
                };
                vec![(*x_mm, *baseline_mm), end]
            }
            _ => vec![],
        };
        for (x, y) in corners {
            assert!(
                (20.0..=111.0).contains(&x) && (30.0..=80.0).contains(&y),
                "{item:?}"
            );
        }
    }
}

#[test]
fn transparency_is_mixed_with_white() {
    let half = on_white(BackendColor {
        alpha: 0.5,
        rgb: (0, 0, 255),
    });
    assert_eq!(half, Colour::rgb(128, 128, 255));
}

#[test]
fn items_of_the_page_keep_their_place_among_the_drawn() {
    let fonts = Fonts::load();
    let items = record(&fonts, AREA, |root, control| {
        root.draw(&PathElement::new([(0, 0), (10, 10)], BLACK))
            .map_err(drawing_error)?;
        control.push(Item::Open(Tag::figure("inside")));
        root.draw(&PathElement::new([(0, 0), (10, 10)], BLACK))
            .map_err(drawing_error)
    })
    .unwrap();
    assert!(matches!(
        items[..],
        [Item::Polyline { .. }, Item::Open(_), Item::Polyline { .. }]
    ));
}
