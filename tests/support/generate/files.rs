//! The three files on disk, written row by row.

use std::fs::{self, File as DiskFile};
use std::io::{self, BufWriter, Write};
use std::path::Path;

use super::Settings;
use super::devices::DEVICES;
use super::table::{File, header_line};

/// How much was written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Written {
    /// Cases.
    pub cases: u64,
    /// Visits.
    pub visits: u64,
}

/// Writes cases.csv, followups.csv and devices.csv into a folder, which is made where it is missing.
///
/// # Errors
/// Where the folder or a file cannot be written.
pub fn write(settings: &Settings, folder: &Path) -> io::Result<Written> {
    fs::create_dir_all(folder)?;
    let open = |name: &str| DiskFile::create(folder.join(name)).map(BufWriter::new);
    let mut devices = open("devices.csv")?;
    devices.write_all(header_line(File::Devices).as_bytes())?;
    for device in DEVICES {
        devices.write_all(device.row().line().as_bytes())?;
    }
    devices.flush()?;
    let (mut cases, mut followups) = (open("cases.csv")?, open("followups.csv")?);
    cases.write_all(header_line(File::Cases).as_bytes())?;
    followups.write_all(header_line(File::Followups).as_bytes())?;
    let mut written = Written {
        cases: 0,
        visits: 0,
    };
    for index in 0..settings.cases {
        let generated = settings.case(index);
        cases.write_all(generated.case.line().as_bytes())?;
        for visit in &generated.visits {
            followups.write_all(visit.line().as_bytes())?;
        }
        written.cases += 1;
        written.visits += generated.visits.len() as u64;
    }
    cases.flush()?;
    followups.flush()?;
    Ok(written)
}
