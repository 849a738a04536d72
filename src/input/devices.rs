//! Rows of the devices file → the catalogue.

use std::collections::HashMap;

use super::spec::specs;
use super::table::Table;
use crate::diagnostic::{Code, Severity};
use crate::record::{Catalogue, Cells, Device, DeviceCells, Text};

/// The catalogue of every row that has its required cells and an id of its own; the others are reported.
pub(super) fn catalogue(table: &mut Table<DeviceCells>) -> Catalogue {
    for message in &table.missing {
        table.findings.row(table.header_line).add(
            Severity::Error,
            Code::MissingColumn,
            "",
            message.as_str(),
        );
    }
    let rows = std::mem::take(&mut table.rows);
    let mut lines: HashMap<Text, Vec<u64>> = HashMap::new();
    for row in &rows {
        lines.entry(row.id.clone()).or_default().push(row.line);
    }
    let required: Vec<usize> = specs("devices")
        .list
        .iter()
        .enumerate()
        .filter(|(_, spec)| spec.column.required())
        .map(|(field, _)| field)
        .collect();
    let mut devices = Vec::new();
    for row in rows {
        let same = &lines[&row.id];
        if same.len() > 1
            && let Some((position, header)) = table.places[0].clone()
        {
            let shown: Vec<String> = same.iter().take(4).map(u64::to_string).collect();
            let more = if same.len() > 4 {
                format!(" and {} more", same.len() - 4)
            } else {
                String::new()
            };
            table.findings.at(row.line, position, &header).add(
                Severity::Error,
                Code::DuplicateId,
                row.id.to_string(),
                format!("an id that stands once; it stands in lines {}{more}: every row of it is left out", shown.join(", ")),
            );
            continue;
        }
        let cells = row.cells.cells();
        let blank: Vec<usize> = required
            .iter()
            .copied()
            .filter(|&field| (DeviceCells::FIELDS[field].get)(&cells).is_none())
            .collect();
        if let Some(device) = Device::from_cells(cells) {
            devices.push(device);
            continue;
        }
        // A column that is nowhere in the header was reported once.
        let present = blank.iter().find_map(|&field| table.places[field].clone());
        if let Some((position, header)) = present {
            let names: Vec<&str> = blank
                .iter()
                .map(|&field| DeviceCells::FIELDS[field].name)
                .collect();
            table.findings.at(row.line, position, &header).add(
                Severity::Error,
                Code::RequiredCell,
                "",
                format!(
                    "{}, which no device can do without: {} is left out",
                    names.join(", "),
                    row.id
                ),
            );
        }
    }
    Catalogue::new(devices)
}
