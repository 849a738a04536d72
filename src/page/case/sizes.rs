//! What each line of sizing evidence says, in words. Nothing here chooses a size.

use super::limits;
use super::view::{View, computed, measured};
use crate::assess::{RangePosition, SizeSet, fill_change_ml, sealed_balloon_mm, supraannular_mm};
use crate::page::number::{digits, recorded, signed_as_recorded, with_unit};
use crate::page::words::Words;
use crate::record::{Catalogue, Device, SizedBy};

/// What two sizes of one valve have in common in their labels: the words without the size.
fn family_name(device: &Device) -> String {
    let size = digits_as_written(device.labelled_size_mm);
    let stem = device.label.replacen(&size, "", 1);
    stem.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// A labelled size as it stands on labels: `26`, `24.5`.
pub(super) fn digits_as_written(size_mm: f64) -> String {
    recorded(size_mm, 1, &[])
}

/// The sizes of one valve, in the order of the catalogue: they expand alike, are sized alike and share their label but for
/// the size.
pub(super) fn family_rows<'a>(device: &Device, catalogue: &'a Catalogue) -> Vec<&'a Device> {
    let name = family_name(device);
    catalogue
        .devices()
        .iter()
        .filter(|row| row.mechanism == device.mechanism && row.sized_by == device.sized_by)
        .filter(|row| family_name(row) == name)
        .collect()
}

/// The sizes of a set: those of the implanted family; the labels of all where no family is known.
pub(super) fn sizes_in_words(view: &View<'_>, set: &SizeSet) -> String {
    let (own, other) = parted(view, set);
    if view.family.is_empty() && !other.is_empty() {
        return labels(&other);
    }
    if own.is_empty() {
        return "none".to_owned();
    }
    let sizes: Vec<String> = own
        .iter()
        .map(|device| digits_as_written(device.labelled_size_mm))
        .collect();
    with_unit(&sizes.join(", "), "mm")
}

/// Devices of other families whose range holds the annulus, by their labels; `None` where there are none.
pub(super) fn other_families(view: &View<'_>) -> Option<String> {
    let set = view.assessment.results.sizing.annulus_sizes.as_ref()?;
    let (_, other) = parted(view, set);
    (!view.family.is_empty() && !other.is_empty()).then(|| labels(&other))
}

/// The devices of a set: those of the family, and the others.
fn parted<'a>(view: &View<'a>, set: &SizeSet) -> (Vec<&'a Device>, Vec<&'a Device>) {
    set.rows
        .iter()
        .map(|&row| &view.catalogue.devices()[row])
        .partition(|device| {
            view.family
                .iter()
                .any(|row| row.device_id == device.device_id)
        })
}

fn labels(devices: &[&Device]) -> String {
    // A size and its unit stay on one line with their label.
    let labels: Vec<String> = devices
        .iter()
        .map(|device| device.label.replace(' ', "\u{a0}"))
        .collect();
    labels.join(", ")
}

/// The lines of evidence that could be made, each with the sizes it holds.
fn lines(view: &View<'_>) -> Vec<(String, String)> {
    let sizing = &view.assessment.results.sizing;
    [
        ("annulus".to_owned(), &sizing.annulus_sizes),
        (
            format!(
                "supra-annular {}",
                measured(supraannular_mm(view.cells), 1, "mm", &[])
            ),
            &sizing.supraannular_sizes,
        ),
        (
            format!(
                "balloon that sealed {}",
                measured(sealed_balloon_mm(view.cells), 1, "mm", &[])
            ),
            &sizing.balloon_sizes,
        ),
    ]
    .into_iter()
    .filter_map(|(name, set)| Some((name, sizes_in_words(view, set.as_ref()?))))
    .collect()
}

/// The one line of evidence that holds any size.
pub(super) fn only_line(view: &View<'_>) -> &'static str {
    let sizing = &view.assessment.results.sizing;
    [
        ("annulus", &sizing.annulus_sizes),
        ("supra-annular", &sizing.supraannular_sizes),
        ("balloon", &sizing.balloon_sizes),
    ]
    .into_iter()
    .find_map(|(name, set)| set.as_ref().map(|_| name))
    .unwrap_or("one line")
}

/// The lines of evidence differ.
pub(super) fn disagreement(view: &View<'_>) -> (String, String) {
    let device = view.device.map_or(String::new(), |device| {
        format!(
            "; implanted {}",
            with_unit(&digits_as_written(device.labelled_size_mm), "mm")
        )
    });
    let says: Vec<String> = lines(view)
        .into_iter()
        .map(|(name, sizes)| format!("{sizes} by {name}"))
        .collect();
    (
        format!("Sizing lines differ: {}{device}.", says.join("; ")),
        format!("Sizing lines differ{device}."),
    )
}

/// The annulus is outside the labelled range of the implanted device.
pub(super) fn out_of_range(view: &View<'_>) -> (String, String) {
    let position = view.assessment.results.sizing.device_in_range;
    let compared = match position {
        RangePosition::Below => "smaller than the labelled range of",
        _ => "larger than the labelled range of",
    };
    let fits = match position {
        RangePosition::Below => "device large for it",
        _ => "device small for it",
    };
    let Some(device) = view.device else {
        return (position.words().to_owned(), position.words().to_owned());
    };
    let (value, unit) = annulus_by(view, device.sized_by);
    let range = device.range().map_or([0.0, 0.0], |(min, max)| [min, max]);
    let written = measured(value, 1, unit, &range);
    let full = format!(
        "Annulus {written} {compared} {} ({} to {}): {fits}.",
        device.label,
        recorded(range[0], 1, &[]),
        with_unit(&recorded(range[1], 1, &[]), unit)
    );
    (
        full,
        format!("Annulus {written} outside the labelled range: {fits}."),
    )
}

/// The annulus by the measure a device is sized by, with its unit.
pub(super) fn annulus_by(view: &View<'_>, sized_by: SizedBy) -> (Option<f64>, &'static str) {
    match sized_by {
        SizedBy::Area => (view.cells.annulus_area_mm2, "mm2"),
        SizedBy::Perimeter => (view.cells.annulus_perimeter_mm, "mm"),
    }
}

/// Over-sizing against every line of evidence, in one sentence.
pub(super) fn oversizing(view: &View<'_>) -> String {
    let sizing = &view.assessment.results.sizing;
    let against = |name: &str, result: &str, value: Option<f64>| {
        let written = computed(Some(value?), 0, limits::OVERSIZING);
        let zero = written.trim_matches(['0', '.']).is_empty();
        let sign = if value? > 0.0 && !zero { "+" } else { "" };
        Some(format!(
            "{name} {sign}{}{}",
            with_unit(&written, "%"),
            view.doubt(result)
        ))
    };
    let areas: Vec<String> = [
        against("annulus", "area_oversizing_pct", sizing.area_oversizing_pct),
        against(
            "supra-annular",
            "supraannular_area_oversizing_pct",
            sizing.supraannular_area_oversizing_pct,
        ),
        against(
            "balloon that sealed",
            "balloon_area_oversizing_pct",
            sizing.balloon_area_oversizing_pct,
        ),
    ]
    .into_iter()
    .flatten()
    .collect();
    let by_area = (!areas.is_empty()).then(|| format!("by area: {}", areas.join(", ")));
    let by_perimeter = against(
        "by perimeter: annulus",
        "perimeter_oversizing_pct",
        sizing.perimeter_oversizing_pct,
    );
    let parts: Vec<String> = by_area.into_iter().chain(by_perimeter).collect();
    match (parts.is_empty(), view.device) {
        (false, Some(device)) => format!(
            "Over-sizing (c) of the nominal {}{}, {}.",
            with_unit(&digits_as_written(device.labelled_size_mm), "mm"),
            not_as_filled(view),
            parts.join("; ")
        ),
        (_, None) if view.cells.device_id.is_some() => {
            "Over-sizing cannot be told: the device has no row in the devices file.".to_owned()
        }
        (_, None) => "Over-sizing cannot be told: no device recorded.".to_owned(),
        (true, Some(_)) => {
            "Over-sizing cannot be told: no measure of the annulus recorded.".to_owned()
        }
    }
}

/// Says where the balloon was not filled as labelled, and by how much where it is known.
fn not_as_filled(view: &View<'_>) -> String {
    let cells = view.cells;
    let at_postdilatation = cells
        .postdilatation_volume_change_ml
        .filter(|_| cells.postdilatation != Some(false));
    let changes = [cells.fill_volume_change_ml, at_postdilatation];
    match fill_change_ml(cells) {
        Some(0.0) => String::new(),
        Some(change) => format!(
            ", not as filled ({})",
            with_unit(&signed_as_recorded(change, 1), "mL")
        ),
        // How much it was in the end is not known, but that it was not nominal once.
        None if changes.into_iter().flatten().any(|change| change != 0.0) => {
            ", not as filled".to_owned()
        }
        None => String::new(),
    }
}

/// Diameter of the circle that a labelled range's end stands for (mm).
pub(super) fn end_as_diameter_mm(sized_by: SizedBy, end: f64) -> f64 {
    match sized_by {
        SizedBy::Area => 2.0 * (end / std::f64::consts::PI).sqrt(),
        SizedBy::Perimeter => end / std::f64::consts::PI,
    }
}

/// A diameter on the ruler, in words.
pub(super) fn diameter_words(value: f64) -> String {
    digits(value, 1)
}
