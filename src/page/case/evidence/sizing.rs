//! CT, what each line of evidence says, planning risk and what happened, procedure.

use super::super::ladder::Detail;
use super::super::view::{View, both, cell, computed, measured};
use super::super::{limits, risks, sizes};
use super::{Row, row};
use crate::assess::{Flag, SizingAgreement, bicuspid};
use crate::page::number::{recorded, signed_as_recorded, with_unit};
use crate::page::text::Rich;
use crate::page::words::{self, DASH, NOT_RECORDED, Words};
use crate::record::SizedBy;

pub(super) fn rows(view: &View<'_>, detail: &Detail) -> Vec<Row> {
    let cells = view.cells;
    let sizing = &view.assessment.results.sizing;
    let area_limits = view
        .device
        .and_then(crate::record::Device::range)
        .map_or([0.0, 0.0], |(min, max)| [min, max]);
    let ct_doubt = view.cell_doubt(&[
        "annulus_area_mm2",
        "annulus_perimeter_mm",
        "annulus_min_mm",
        "annulus_max_mm",
    ]);
    let eccentricity = sizing
        .annulus_eccentricity_index
        .map_or(String::new(), |index| {
            format!(" · {}", computed(Some(index), 2, &[]))
        });
    let mut rows = vec![
        row(
            "Annulus area · perimeter",
            format!(
                "{} · {}{ct_doubt}",
                measured(cells.annulus_area_mm2, 1, "mm2", &area_limits),
                measured(cells.annulus_perimeter_mm, 1, "mm", &area_limits)
            ),
        ),
        row(
            "Short × long · index (c)",
            format!(
                "{}{eccentricity}{ct_doubt}",
                both(
                    &cell(cells.annulus_min_mm, 1, &[]),
                    " × ",
                    &cell(cells.annulus_max_mm, 1, &[]),
                    "mm"
                )
            ),
        ),
        row(
            "Annulus is (c)",
            format!("{}{}", range_words(view), view.doubt("device_in_range")),
        ),
        row(
            "Sizes by annulus (c)",
            set(view, &sizing.annulus_sizes, "annulus_sizes"),
        ),
    ];
    if let Some(others) = sizes::other_families(view).filter(|_| !detail.no_other_families) {
        rows.push(row("\u{a0}\u{a0}others (c)", others));
    }
    if bicuspid(cells) || cells.valve_morphology.is_none() {
        rows.push(row(
            "\u{a0}\u{a0}supra-annular (c)",
            set(view, &sizing.supraannular_sizes, "supraannular_sizes"),
        ));
    }
    rows.push(row(
        "\u{a0}\u{a0}balloon that sealed (c)",
        balloon_set(view),
    ));
    rows.push(row("Lines agree? (c)", agreement(view)));
    rows.extend(anatomy(view));
    rows.push(row("Balloon before · after", dilatation(view)));
    if !detail.no_contrast_and_catheter {
        rows.push(row(
            "Anaesthesia · closure",
            format!(
                "{} · {}",
                cells.anaesthesia.map_or(DASH.to_owned(), words::plain),
                cells.access_closure.map_or(DASH.to_owned(), words::plain)
            ),
        ));
        rows.push(row(
            "Contrast · dose · X-ray",
            format!(
                "{} · {} · {}",
                measured(cells.contrast_ml, 0, "mL", &[]),
                measured(cells.dose_area_product_gy_cm2, 0, "Gy.cm2", &[]),
                measured(cells.fluoroscopy_min, 0, "min", &[])
            ),
        ));
        rows.push(row("Catheter gradient before → after", catheter(view)));
        rows.push(row(
            "Regurgitation index after (c)",
            regurgitation_index(view),
        ));
    }
    rows
}

fn range_words(view: &View<'_>) -> String {
    let position = view.assessment.results.sizing.device_in_range;
    match (position, view.device) {
        (crate::assess::RangePosition::NotAssessable, None) if view.cells.device_id.is_some() => {
            "cannot be told: device without a row".to_owned()
        }
        (crate::assess::RangePosition::NotAssessable, None) => {
            "cannot be told: no device".to_owned()
        }
        (crate::assess::RangePosition::NotAssessable, Some(device)) if device.range().is_none() => {
            "cannot be told: no labelled range".to_owned()
        }
        (crate::assess::RangePosition::NotAssessable, Some(device)) => match device.sized_by {
            SizedBy::Area => "cannot be told: area not recorded".to_owned(),
            SizedBy::Perimeter => "cannot be told: perimeter not recorded".to_owned(),
        },
        (position, _) => position.words().to_owned(),
    }
}

fn set(view: &View<'_>, set: &Option<crate::assess::SizeSet>, result: &str) -> String {
    match set {
        Some(set) => format!("{}{}", sizes::sizes_in_words(view, set), view.doubt(result)),
        None if view.catalogue.devices().is_empty() => "no devices file".to_owned(),
        None => NOT_RECORDED.to_owned(),
    }
}

fn balloon_set(view: &View<'_>) -> String {
    use crate::record::Seal;
    let cells = view.cells;
    match (
        &view.assessment.results.sizing.balloon_sizes,
        cells.predilatation_seal,
        cells.predilatation,
    ) {
        (Some(_), _, _) => set(
            view,
            &view.assessment.results.sizing.balloon_sizes,
            "balloon_sizes",
        ),
        (None, Some(Seal::Partial | Seal::None), _) => "none completely".to_owned(),
        (None, _, Some(false)) => "no pre-dilatation".to_owned(),
        (None, _, _) => NOT_RECORDED.to_owned(),
    }
}

fn agreement(view: &View<'_>) -> Rich {
    let agreement = view.assessment.results.sizing.sizing_agreement;
    let words = match agreement {
        SizingAgreement::OneLine => {
            format!("{} alone, no other gives a size", sizes::only_line(view))
        }
        told => told.words().to_owned(),
    };
    let words = format!("{words}{}", view.doubt("sizing_agreement"));
    if agreement == SizingAgreement::Disagree {
        Rich::bold(words)
    } else {
        Rich::from(words)
    }
}

/// Anatomy; where it raised a planning risk, what happened stands beside it.
fn anatomy(view: &View<'_>) -> Vec<Row> {
    let cells = view.cells;
    let sizing = &view.assessment.results.sizing;
    let sheath = view.device.and_then(|device| device.cells.sheath_outer_mm);
    let ratio = sizing.sheath_femoral_ratio.map_or(String::new(), |ratio| {
        format!(" = {} (c)", computed(Some(ratio), 2, limits::SHEATH))
    });
    let mut rows = Vec::new();
    let mut add = |plain: Row, risk: Flag| {
        rows.push(plain);
        if risks::raised(view).any(|raised| raised == risk) {
            let happened =
                risks::happened(view, risk).unwrap_or_else(|| format!("outcome {NOT_RECORDED}"));
            rows.push((
                Rich::default().and_bold("\u{a0}\u{a0}risk, what happened"),
                Rich::bold(format!("{}: {happened}", risks::of_what(risk))),
            ));
        }
    };
    add(
        row(
            "Calcium outflow · leaflets",
            format!(
                "{} · {}",
                cells
                    .lvot_calcification
                    .map_or(DASH.to_owned(), words::plain),
                cells
                    .leaflet_calcification
                    .map_or(DASH.to_owned(), words::plain)
            ),
        ),
        Flag::RootInjuryRisk,
    );
    add(
        row(
            "Coronaries left · right",
            both(
                &cell(cells.left_coronary_height_mm, 1, limits::CORONARY),
                " · ",
                &cell(cells.right_coronary_height_mm, 1, &[]),
                "mm",
            ),
        ),
        Flag::LowCoronary,
    );
    add(
        row(
            "Sinus · junction · ascending",
            format!(
                "{} · {} · {}",
                cell(cells.sinus_of_valsalva_mm, 1, limits::SINUS),
                cell(cells.sinotubular_junction_mm, 1, &[]),
                measured(cells.ascending_aorta_mm, 1, "mm", limits::AORTA)
            ),
        ),
        Flag::WideAorta,
    );
    add(
        row(
            "Sheath / lumen",
            format!(
                "{}{ratio}",
                both(
                    &cell(sheath, 1, &[]),
                    " / ",
                    &cell(cells.access_min_lumen_mm, 1, &[]),
                    "mm"
                )
            ),
        ),
        Flag::TightAccess,
    );
    add(
        row(
            "Depth · membranous septum",
            both(
                &cell(cells.implant_depth_mm, 1, &[]),
                " · ",
                &cell(cells.membranous_septum_mm, 1, &[]),
                "mm",
            ),
        ),
        Flag::ConductionRisk,
    );
    rows
}

fn dilatation(view: &View<'_>) -> String {
    let cells = view.cells;
    let before = match (cells.predilatation, cells.predilatation_balloon_mm) {
        (_, Some(balloon)) => with_unit(&recorded(balloon, 1, &[]), "mm"),
        (Some(false), None) => "none".to_owned(),
        (Some(true), None) => "done, size —".to_owned(),
        (None, None) => DASH.to_owned(),
    };
    let after = match (cells.postdilatation, cells.postdilatation_volume_change_ml) {
        (Some(false), _) => "none".to_owned(),
        (_, Some(change)) => with_unit(&signed_as_recorded(change, 1), "mL"),
        (Some(true), None) => "done".to_owned(),
        (None, None) => DASH.to_owned(),
    };
    format!("{before} · {after}")
}

fn catheter(view: &View<'_>) -> String {
    let cells = view.cells;
    both(
        &cell(cells.invasive_mean_gradient_before_mmhg, 0, &[]),
        " → ",
        &cell(cells.invasive_mean_gradient_after_mmhg, 0, &[]),
        "mmHg",
    )
}

fn regurgitation_index(view: &View<'_>) -> String {
    let after = &view.assessment.results.after;
    let Some(index) = after.aortic_regurgitation_index else {
        return DASH.to_owned();
    };
    let ratio = after
        .aortic_regurgitation_index_ratio
        .map_or(String::new(), |ratio| {
            format!(", {} of before", computed(Some(ratio), 2, &[]))
        });
    format!(
        "{}{ratio}{}",
        with_unit(&computed(Some(index), 0, limits::REGURGITATION_INDEX), "%"),
        view.doubt_any(&[
            "aortic_regurgitation_index",
            "aortic_regurgitation_index_ratio"
        ])
    )
}
