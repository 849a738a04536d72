//! What the panel of gradients after and the strip of areas below it have in common: bands, axes and the line.

use plotters::prelude::*;

use super::FigureError;
use super::marked::Marked;
use super::recorder::{Recorder, drawing_error};
use super::theme;
use super::time_axis::words_of;

/// A chart of values on the time axis.
pub(super) type Trend<'a, 'f> = ChartContext<'a, Recorder<'f>, Cartesian2d<Marked, Marked>>;

/// The bands of stage 2 and stage 3, each between these two values, the lighter first.
pub(super) fn bands(
    chart: &mut Trend<'_, '_>,
    bands: impl IntoIterator<Item = (f64, f64)>,
) -> Result<(), FigureError> {
    let days = chart.as_coord_spec().get_x_range();
    for ((from, to), grey) in bands.into_iter().zip([theme::BAND, theme::DEEP_BAND]) {
        chart
            .draw_series([Rectangle::new(
                [(days.start, to), (days.end, from)],
                theme::rgb(grey).filled(),
            )])
            .map_err(drawing_error)?;
    }
    Ok(())
}

/// The axes, with so many digits after the point on the left one and the words of the times, where it has them, below;
/// then the values joined, part by part.
pub(super) fn axes_and_line(
    chart: &mut Trend<'_, '_>,
    times: &[(f64, String)],
    digits: usize,
    parts: &[&[(f64, f64)]],
) -> Result<(), FigureError> {
    chart
        .configure_mesh()
        .disable_mesh()
        .set_tick_mark_size(LabelAreaPosition::Left, 25)
        .set_tick_mark_size(LabelAreaPosition::Bottom, 25)
        .x_label_formatter(&|day| words_of(times, *day))
        .y_label_formatter(&|mark| format!("{mark:.digits$}"))
        .label_style(("page", 65))
        .axis_style(BLACK.stroke_width(5))
        .draw()
        .map_err(drawing_error)?;
    for part in parts {
        chart
            .draw_series(LineSeries::new(part.iter().copied(), BLACK.stroke_width(9)))
            .map_err(drawing_error)?;
    }
    Ok(())
}
