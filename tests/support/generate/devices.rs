//! The devices of the generated files: invented, in three families, with ranges that follow from round numbers.

use super::table::{File, Row};

/// How a valve expands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Mechanism {
    /// By a balloon; sized by annulus area.
    Balloon,
    /// By itself; sized by annulus perimeter.
    Itself,
    /// By a mechanism; sized by annulus perimeter.
    Mechanical,
}

/// One size of one family.
#[derive(Clone, Copy, Debug)]
pub struct Device {
    /// Key in the files.
    pub id: &'static str,
    /// How it expands, which also says what it is sized by.
    pub mechanism: Mechanism,
    /// Size on the label.
    pub size_mm: f64,
    /// Smallest annulus of the labelled range, mm2 or mm.
    pub range_min: f64,
    /// Largest annulus of the labelled range, mm2 or mm.
    pub range_max: f64,
    /// Balloon fill at nominal size.
    pub fill_ml: Option<f64>,
    /// Mean effective orifice area.
    pub eoa_cm2: f64,
    /// Outer diameter of the sheath.
    pub sheath_mm: f64,
}

/// A row of the table below.
#[rustfmt::skip]
const fn device(id: &'static str, mechanism: Mechanism, size_mm: f64, range: (f64, f64), fill_ml: Option<f64>, eoa_cm2: f64, sheath_mm: f64) -> Device {
    Device { id, mechanism, size_mm, range_min: range.0, range_max: range.1, fill_ml, eoa_cm2, sheath_mm }
}

/// All devices, smallest first in each family; ranges of one family follow each other without a gap.
#[rustfmt::skip]
pub const DEVICES: &[Device] = &[
    device("GEN-BX-20",   Mechanism::Balloon,    20.0, (250.0, 300.0), Some(12.5), 1.18, 6.2),
    device("GEN-BX-21.5", Mechanism::Balloon,    21.5, (300.0, 345.0), Some(14.5), 1.33, 6.2),
    device("GEN-BX-23",   Mechanism::Balloon,    23.0, (345.0, 395.0), Some(16.0), 1.50, 6.4),
    device("GEN-BX-24.5", Mechanism::Balloon,    24.5, (395.0, 445.0), Some(18.5), 1.64, 6.4),
    device("GEN-BX-26",   Mechanism::Balloon,    26.0, (445.0, 505.0), Some(21.5), 1.80, 6.8),
    device("GEN-BX-27.5", Mechanism::Balloon,    27.5, (505.0, 565.0), Some(25.0), 1.96, 6.8),
    device("GEN-BX-29",   Mechanism::Balloon,    29.0, (565.0, 635.0), Some(29.5), 2.12, 7.4),
    device("GEN-SX-23",   Mechanism::Itself,     23.0, (58.0, 64.5),   None,       1.55, 5.9),
    device("GEN-SX-26",   Mechanism::Itself,     26.0, (64.5, 72.5),   None,       1.78, 6.0),
    device("GEN-SX-29",   Mechanism::Itself,     29.0, (72.5, 81.0),   None,       2.02, 6.3),
    device("GEN-SX-32",   Mechanism::Itself,     32.0, (81.0, 89.5),   None,       2.25, 7.0),
    device("GEN-MX-24",   Mechanism::Mechanical, 24.0, (65.0, 73.0),   None,       1.48, 6.7),
    device("GEN-MX-27",   Mechanism::Mechanical, 27.0, (73.0, 81.5),   None,       1.72, 7.1),
];

impl Device {
    /// The annulus measure this device is sized by.
    fn measure(&self, area_mm2: f64, perimeter_mm: f64) -> f64 {
        if self.mechanism == Mechanism::Balloon {
            area_mm2
        } else {
            perimeter_mm
        }
    }

    /// How far the annulus lies outside the range; 0 inside.
    fn distance(&self, area_mm2: f64, perimeter_mm: f64) -> f64 {
        let measure = self.measure(area_mm2, perimeter_mm);
        (self.range_min - measure)
            .max(measure - self.range_max)
            .max(0.0)
    }

    /// Its row in the devices file.
    pub fn row(&self) -> Row {
        let (mechanism, sized_by) = match self.mechanism {
            Mechanism::Balloon => ("balloon_expandable", "area"),
            Mechanism::Itself => ("self_expanding", "perimeter"),
            Mechanism::Mechanical => ("mechanically_expandable", "perimeter"),
        };
        let mut row = Row::new(File::Devices);
        row.set("device_id", self.id);
        row.set(
            "label",
            format_args!("Generated {} mm", &self.id[4..].replace('-', " ")),
        );
        row.set("mechanism", mechanism);
        row.set("labelled_size_mm", self.size_mm);
        row.number(
            "nominal_area_mm2",
            std::f64::consts::FRAC_PI_4 * self.size_mm * self.size_mm,
            0,
        );
        row.number(
            "nominal_perimeter_mm",
            std::f64::consts::PI * self.size_mm,
            1,
        );
        row.set("sized_by", sized_by);
        row.set("range_min", self.range_min);
        row.set("range_max", self.range_max);
        if let Some(fill_ml) = self.fill_ml {
            row.set("nominal_fill_ml", fill_ml);
        }
        row.set("reference_eoa_cm2", self.eoa_cm2);
        row.number("reference_eoa_sd_cm2", self.eoa_cm2 * 0.16, 2);
        row.set("sheath_outer_mm", self.sheath_mm);
        row.set("source", "invented for the generated files, 2026-01-01");
        row
    }
}

/// The device of a family that fits an annulus best.
pub fn fitting(mechanism: Mechanism, area_mm2: f64, perimeter_mm: f64) -> &'static Device {
    let family = DEVICES
        .iter()
        .filter(|device| device.mechanism == mechanism);
    let nearest = |a: &&Device, b: &&Device| {
        a.distance(area_mm2, perimeter_mm)
            .total_cmp(&b.distance(area_mm2, perimeter_mm))
    };
    family.min_by(nearest).expect("every family has devices")
}

/// The neighbouring size of the same family, where there is one.
pub fn neighbour(device: &Device, larger: bool) -> Option<&'static Device> {
    let place = DEVICES.iter().position(|other| other.id == device.id)?;
    let other = DEVICES.get(if larger {
        place + 1
    } else {
        place.checked_sub(1)?
    })?;
    (other.mechanism == device.mechanism).then_some(other)
}
