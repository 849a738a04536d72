//! The devices file as a catalogue: the site's own rows, in their order.

use std::collections::HashMap;

use foldhash::fast::RandomState;

use super::cell::Text;
use super::choices::{Mechanism, SizedBy};
use super::device_cells::DeviceCells;

/// One size of one valve, every required cell known.
#[derive(Clone, Debug, PartialEq)]
pub struct Device {
    /// Key, as the cases file uses it.
    pub device_id: Text,
    /// What pages show.
    pub label: Text,
    /// How the valve expands.
    pub mechanism: Mechanism,
    /// Size on the label (mm).
    pub labelled_size_mm: f64,
    /// Which annulus measurement the labelled range is given for.
    pub sized_by: SizedBy,
    /// Every cell of the row, the optional ones included.
    pub cells: DeviceCells,
}

impl Device {
    /// The row as a device; `None` where a required cell is unknown.
    pub fn from_cells(cells: DeviceCells) -> Option<Self> {
        Some(Self {
            device_id: cells.device_id.clone()?,
            label: cells.label.clone()?,
            mechanism: cells.mechanism?,
            labelled_size_mm: cells.labelled_size_mm?,
            sized_by: cells.sized_by?,
            cells,
        })
    }

    /// Both ends of the labelled range, in mm² or mm by [`SizedBy`]; `None` where an end is not given.
    pub fn range(&self) -> Option<(f64, f64)> {
        Some((self.cells.range_min?, self.cells.range_max?))
    }

    /// External area at nominal expansion (mm²): the catalogue's, else the circle of the labelled size.
    pub fn nominal_area_mm2(&self) -> f64 {
        self.cells
            .nominal_area_mm2
            .unwrap_or(std::f64::consts::PI / 4.0 * self.labelled_size_mm * self.labelled_size_mm)
    }

    /// External perimeter at nominal expansion (mm): the catalogue's, else the circle of the labelled size.
    pub fn nominal_perimeter_mm(&self) -> f64 {
        self.cells
            .nominal_perimeter_mm
            .unwrap_or(std::f64::consts::PI * self.labelled_size_mm)
    }
}

/// The devices file: rows in their order, found by id.
#[derive(Clone, Debug, Default)]
pub struct Catalogue {
    devices: Vec<Device>,
    by_id: HashMap<Text, usize, RandomState>,
}

impl Catalogue {
    /// A catalogue of these devices; the reader has already left out ids that stand twice.
    pub fn new(devices: Vec<Device>) -> Self {
        let by_id = devices
            .iter()
            .enumerate()
            .map(|(position, device)| (device.device_id.clone(), position))
            .collect();
        Self { devices, by_id }
    }

    /// Every device, in the order of the file.
    pub fn devices(&self) -> &[Device] {
        &self.devices
    }

    /// Where the device of this id stands in [`Catalogue::devices`].
    pub fn position(&self, device_id: &str) -> Option<usize> {
        self.by_id.get(device_id).copied()
    }

    /// The device of this id.
    pub fn get(&self, device_id: &str) -> Option<&Device> {
        self.position(device_id)
            .map(|position| &self.devices[position])
    }
}
