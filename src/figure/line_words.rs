//! Words beside the lines of a panel: each at the height of its line, moved apart where lines are close.

use super::recorder::Control;
use super::theme;
use crate::draw::{Align, Fonts};

/// Puts the words of each line right of the panel. `lines` holds the height of each on the paper (mm) and its words;
/// none leaves the heights from `top_mm` to `bottom_mm`.
pub(super) fn beside(
    mut lines: Vec<(f64, String)>,
    (top_mm, bottom_mm): (f64, f64),
    x_mm: f64,
    fonts: &Fonts,
    control: &Control,
) {
    lines.sort_by(|one, other| one.0.total_cmp(&other.0));
    let apart = theme::line_mm(&theme::AXIS);
    let mut heights: Vec<f64> = lines.iter().map(|(height, _)| *height).collect();
    spread(&mut heights, apart, (top_mm, bottom_mm));
    for ((_, words), height) in lines.iter().zip(heights) {
        let baseline = height + theme::middle_to_baseline_mm(&theme::AXIS);
        control.push(fonts.place(words.as_str(), x_mm, baseline, Align::Left, theme::AXIS));
    }
}

/// Moves heights apart: groups that touch are laid out about their middle, then everything is kept inside.
fn spread(heights: &mut [f64], apart: f64, (top, bottom): (f64, f64)) {
    for _ in 0..heights.len() {
        for position in 1..heights.len() {
            let lacks = apart - (heights[position] - heights[position - 1]);
            if lacks > 0.0 {
                heights[position - 1] -= lacks / 2.0;
                heights[position] += lacks / 2.0;
            }
        }
    }
    let mut least = top;
    for height in heights.iter_mut() {
        *height = height.max(least);
        least = *height + apart;
    }
    let mut most = bottom;
    for height in heights.iter_mut().rev() {
        *height = height.min(most);
        most = *height - apart;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn prop_words_keep_apart_and_inside(heights in prop::collection::vec(0.0..30.0f64, 0..5)) {
            let mut heights = heights;
            heights.sort_by(f64::total_cmp);
            spread(&mut heights, 2.7, (0.0, 30.0));
            for pair in heights.windows(2) {
                prop_assert!(pair[1] - pair[0] >= 2.7 - 1e-9);
            }
            prop_assert!(heights.iter().all(|height| (0.0..=30.0).contains(height)));
        }
    }
}
