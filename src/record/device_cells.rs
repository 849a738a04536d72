//! The cells of the devices file.

use super::cell::{Text, cells};
use super::choices::{Mechanism, SizedBy};

cells! {
    /// One row of the devices file: one size of one valve.
    DeviceCells of "devices" {
        /// Key, as used in the cases file.
        device_id: Text,
        /// What pages show.
        label: Text,
        /// How the valve expands.
        mechanism: Mechanism,
        /// Size on the label (mm).
        labelled_size_mm: f64,
        /// External area at nominal expansion; where empty, the circle of the labelled size (mm2).
        nominal_area_mm2: f64,
        /// External perimeter at nominal expansion; where empty, the circle of the labelled size (mm).
        nominal_perimeter_mm: f64,
        /// Which annulus measurement the size range is given for.
        sized_by: SizedBy,
        /// Smallest annulus (area or perimeter, by sized_by) of the labelled range (mm2 or mm).
        range_min: f64,
        /// Largest annulus of the labelled range (mm2 or mm).
        range_max: f64,
        /// Nominal balloon fill volume (balloon-expandable) (mL).
        nominal_fill_ml: f64,
        /// Mean reference effective orifice area of this size from the site's published source (cm2).
        reference_eoa_cm2: f64,
        /// Its standard deviation (cm2).
        reference_eoa_sd_cm2: f64,
        /// Outer diameter of the sheath at its largest (mm).
        sheath_outer_mm: f64,
        /// Where the site took these figures from, with its date.
        source: Text,
    }
}
