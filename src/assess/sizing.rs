//! Sizing: what each line of evidence says, and whether they agree. Nothing here is a recommendation of a size.

use std::f64::consts::PI;

use super::bands::{above, at_least, at_most, below, finite};
use super::result::{RangePosition, SizeSet, SizingAgreement, results};
use crate::record::{AccessRoute, CaseCells, Catalogue, Device, Morphology, Seal, SizedBy};

results! {
    /// Results of the planning CT, the catalogue and the balloons.
    Sizing {
        /// Diameter of the circle of the annulus area (mm).
        annulus_area_diameter_mm: Option<f64>,
        /// Diameter of the circle of the annulus perimeter (mm).
        annulus_perimeter_diameter_mm: Option<f64>,
        /// Mean of the shortest and longest annulus diameter (mm).
        annulus_mean_diameter_mm: Option<f64>,
        /// 1 − shortest / longest; 0 is round.
        annulus_eccentricity_index: Option<f64>,
        /// Outflow tract area over annulus area.
        lvot_annulus_area_ratio: Option<f64>,
        /// Intercommissural distance over the area-derived diameter; bicuspid only.
        icd_annulus_ratio: Option<f64>,
        /// Over-sizing against the annulus area (%).
        area_oversizing_pct: Option<f64>,
        /// Over-sizing against the annulus perimeter (%).
        perimeter_oversizing_pct: Option<f64>,
        /// Over-sizing against the circle of the intercommissural distance (%); bicuspid only.
        supraannular_area_oversizing_pct: Option<f64>,
        /// Over-sizing against the circle of the balloon that sealed (%).
        balloon_area_oversizing_pct: Option<f64>,
        /// Where the annulus lies in the labelled range of the implanted device.
        device_in_range: RangePosition,
        /// Devices whose range holds the annulus.
        annulus_sizes: Option<SizeSet>,
        /// Devices whose range holds the circle of the intercommissural distance.
        supraannular_sizes: Option<SizeSet>,
        /// Devices whose range holds the circle of the balloon that sealed.
        balloon_sizes: Option<SizeSet>,
        /// Whether the lines of evidence hold the implanted device.
        sizing_agreement: SizingAgreement,
        /// Labelled size over the diameter of the pre-dilatation balloon.
        device_balloon_ratio: Option<f64>,
        /// Diameter at the recorded filling, by geometry (mm): an estimate.
        filled_diameter_estimate_mm: Option<f64>,
        /// Sheath outer diameter over the smallest access lumen; transfemoral only.
        sheath_femoral_ratio: Option<f64>,
    }
}

/// Area of the circle of this diameter (mm²).
pub fn circle_area_mm2(diameter_mm: f64) -> f64 {
    PI / 4.0 * diameter_mm * diameter_mm
}

/// Whether the native valve is known to be bicuspid.
pub fn bicuspid(cells: &CaseCells) -> bool {
    matches!(
        cells.valve_morphology,
        Some(
            Morphology::BicuspidType0
                | Morphology::BicuspidType1
                | Morphology::BicuspidType2
                | Morphology::BicuspidUndetermined
        )
    )
}

/// A line of evidence as the two measures that a labelled range may be given for.
#[derive(Clone, Copy, Debug)]
struct Measure {
    area_mm2: Option<f64>,
    perimeter_mm: Option<f64>,
}

impl Measure {
    fn circle(diameter_mm: f64) -> Self {
        Self {
            area_mm2: Some(circle_area_mm2(diameter_mm)),
            perimeter_mm: Some(PI * diameter_mm),
        }
    }

    fn by(self, sized_by: SizedBy) -> Option<f64> {
        match sized_by {
            SizedBy::Area => self.area_mm2,
            SizedBy::Perimeter => self.perimeter_mm,
        }
    }

    /// Position in the device's range, ends inside; `None` without the measure or without both ends.
    fn position_in(self, device: &Device) -> Option<RangePosition> {
        let (min, max) = device.range()?;
        let measure = self.by(device.sized_by)?;
        Some(if below(measure, min) {
            RangePosition::Below
        } else if above(measure, max) {
            RangePosition::Above
        } else {
            RangePosition::Within
        })
    }

    fn sizes(self, catalogue: &Catalogue) -> Option<SizeSet> {
        if catalogue.devices().is_empty() {
            return None;
        }
        let rows: Vec<usize> = (0..catalogue.devices().len())
            .filter(|&row| {
                self.position_in(&catalogue.devices()[row]) == Some(RangePosition::Within)
            })
            .collect();
        let text = if rows.is_empty() {
            "none".into()
        } else {
            let ids: Vec<&str> = rows
                .iter()
                .map(|&row| &*catalogue.devices()[row].device_id)
                .collect();
            ids.join(";").into()
        };
        Some(SizeSet { rows, text })
    }
}

/// The supra-annular distance of a bicuspid valve (mm), where it is a line of evidence.
pub fn supraannular_mm(cells: &CaseCells) -> Option<f64> {
    cells
        .intercommissural_distance_mm
        .filter(|_| bicuspid(cells))
}

/// The balloon that sealed completely (mm), where it is a line of evidence.
pub fn sealed_balloon_mm(cells: &CaseCells) -> Option<f64> {
    cells
        .predilatation_balloon_mm
        .filter(|_| cells.predilatation_seal == Some(Seal::Complete))
}

/// The implanted device, where it is a row of the catalogue.
pub fn implanted<'a>(cells: &CaseCells, catalogue: &'a Catalogue) -> Option<&'a Device> {
    catalogue.get(cells.device_id.as_deref()?)
}

fn oversizing_pct(device: Option<f64>, measure: Option<f64>) -> Option<f64> {
    finite((device? / measure? - 1.0) * 100.0)
}

/// The implanted device and the lines of evidence; apart from the cells, so that a usual error can be tried on one of
/// them.
#[derive(Clone, Copy, Debug)]
pub(super) struct SizingEvidence<'a> {
    pub device: Option<&'a Device>,
    pub annulus_area_mm2: Option<f64>,
    pub annulus_perimeter_mm: Option<f64>,
    pub supraannular_mm: Option<f64>,
    pub sealed_balloon_mm: Option<f64>,
}

impl<'a> SizingEvidence<'a> {
    /// The evidence of a case.
    pub fn of(cells: &CaseCells, catalogue: &'a Catalogue) -> Self {
        Self {
            device: implanted(cells, catalogue),
            annulus_area_mm2: cells.annulus_area_mm2,
            annulus_perimeter_mm: cells.annulus_perimeter_mm,
            supraannular_mm: supraannular_mm(cells),
            sealed_balloon_mm: sealed_balloon_mm(cells),
        }
    }

    fn annulus(&self) -> Option<Measure> {
        let measure = Measure {
            area_mm2: self.annulus_area_mm2,
            perimeter_mm: self.annulus_perimeter_mm,
        };
        (measure.area_mm2.is_some() || measure.perimeter_mm.is_some()).then_some(measure)
    }

    /// Where the annulus lies in the labelled range of the implanted device.
    pub fn device_in_range(&self) -> RangePosition {
        self.device
            .zip(self.annulus())
            .and_then(|(device, annulus)| annulus.position_in(device))
            .unwrap_or(RangePosition::NotAssessable)
    }

    /// Whether every line of evidence holds the implanted device in its labelled range.
    pub fn sizing_agreement(&self) -> SizingAgreement {
        let Some(device) = self.device.filter(|device| device.range().is_some()) else {
            return SizingAgreement::NotAssessable;
        };
        let lines = [
            self.annulus()
                .filter(|annulus| annulus.by(device.sized_by).is_some()),
            self.supraannular_mm.map(Measure::circle),
            self.sealed_balloon_mm.map(Measure::circle),
        ];
        let holding = lines
            .iter()
            .flatten()
            .map(|line| line.position_in(device) == Some(RangePosition::Within));
        match (holding.clone().count(), holding.clone().all(|holds| holds)) {
            (0, _) => SizingAgreement::NotAssessable,
            (1, _) => SizingAgreement::OneLine,
            (_, true) => SizingAgreement::Agree,
            (_, false) => SizingAgreement::Disagree,
        }
    }
}

/// Change of the balloon's fill relative to nominal that the estimate rests on (mL). Blank is not 0.
pub fn fill_change_ml(cells: &CaseCells) -> Option<f64> {
    let (at_deployment, at_postdilatation) = (
        cells.fill_volume_change_ml,
        cells.postdilatation_volume_change_ml,
    );
    let larger = |a: Option<f64>, b: Option<f64>| match (a, b) {
        (Some(a), Some(b)) => Some(a.max(b)),
        (one, other) => one.or(other),
    };
    match cells.postdilatation {
        Some(false) => at_deployment,
        Some(true) => larger(at_deployment, Some(at_postdilatation?)),
        None => larger(at_deployment, at_postdilatation),
    }
}

/// Labelled size · √((nominal fill + change) / nominal fill): a balloon of constant length, unconstrained.
fn filled_diameter_mm(cells: &CaseCells, device: Option<&Device>) -> Option<f64> {
    let device = device?;
    let nominal = device.cells.nominal_fill_ml?;
    finite(device.labelled_size_mm * ((nominal + fill_change_ml(cells)?) / nominal).sqrt())
}

impl Sizing {
    /// Every result of sizing.
    pub fn of(cells: &CaseCells, catalogue: &Catalogue) -> Self {
        let evidence = SizingEvidence::of(cells, catalogue);
        let device = evidence.device;
        let device_area = device.map(Device::nominal_area_mm2);
        let area_diameter = cells
            .annulus_area_mm2
            .and_then(|area| finite(2.0 * (area / PI).sqrt()));
        let supraannular = evidence.supraannular_mm;
        let balloon = evidence.sealed_balloon_mm;
        let ratio = |a: Option<f64>, b: Option<f64>| finite(a? / b?);
        Self {
            annulus_area_diameter_mm: area_diameter,
            annulus_perimeter_diameter_mm: cells
                .annulus_perimeter_mm
                .map(|perimeter| perimeter / PI),
            annulus_mean_diameter_mm: cells
                .annulus_min_mm
                .zip(cells.annulus_max_mm)
                .map(|(min, max)| (min + max) / 2.0),
            annulus_eccentricity_index: ratio(cells.annulus_min_mm, cells.annulus_max_mm)
                .map(|ratio| 1.0 - ratio),
            lvot_annulus_area_ratio: ratio(cells.lvot_area_mm2, cells.annulus_area_mm2),
            icd_annulus_ratio: ratio(supraannular, area_diameter),
            area_oversizing_pct: oversizing_pct(device_area, cells.annulus_area_mm2),
            perimeter_oversizing_pct: oversizing_pct(
                device.map(Device::nominal_perimeter_mm),
                cells.annulus_perimeter_mm,
            ),
            supraannular_area_oversizing_pct: oversizing_pct(
                device_area,
                supraannular.map(circle_area_mm2),
            ),
            balloon_area_oversizing_pct: oversizing_pct(device_area, balloon.map(circle_area_mm2)),
            device_in_range: evidence.device_in_range(),
            annulus_sizes: evidence.annulus().and_then(|line| line.sizes(catalogue)),
            supraannular_sizes: supraannular.and_then(|mm| Measure::circle(mm).sizes(catalogue)),
            balloon_sizes: balloon.and_then(|mm| Measure::circle(mm).sizes(catalogue)),
            sizing_agreement: evidence.sizing_agreement(),
            device_balloon_ratio: ratio(
                device.map(|device| device.labelled_size_mm),
                cells.predilatation_balloon_mm,
            ),
            filled_diameter_estimate_mm: filled_diameter_mm(cells, device),
            sheath_femoral_ratio: ratio(
                device.and_then(|device| device.cells.sheath_outer_mm),
                cells
                    .access_min_lumen_mm
                    .filter(|_| cells.access_route == Some(AccessRoute::Transfemoral)),
            ),
        }
    }
}

/// Whether the computed and the reported area differ by more than a share (%) of the reported.
pub fn areas_differ(computed_cm2: Option<f64>, reported_cm2: Option<f64>, limit_pct: f64) -> bool {
    computed_cm2
        .zip(reported_cm2)
        .is_some_and(|(computed, reported)| {
            above((computed - reported).abs(), limit_pct / 100.0 * reported)
        })
}

/// Whether the annulus area lies outside 0.88 to 1.12 of the ellipse of the two diameters.
pub fn area_off_ellipse(cells: &CaseCells) -> bool {
    match (
        cells.annulus_area_mm2,
        cells.annulus_min_mm,
        cells.annulus_max_mm,
    ) {
        (Some(area), Some(min), Some(max)) => {
            let ellipse = PI / 4.0 * min * max;
            !(at_least(area, 0.88 * ellipse) && at_most(area, 1.12 * ellipse))
        }
        _ => false,
    }
}
