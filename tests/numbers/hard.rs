//! Random cases made hard: some with few cells, some with numbers of their neighbours, so that cells contradict.

use std::path::{Path, PathBuf};

use crate::generate::day::Day;
use crate::generate::random::Random;
use crate::generate::{Settings, files};

/// The three tables of a cohort on disk, and the day its data end.
pub struct Tables {
    folder: tempfile::TempDir,
    /// The day a report on them speaks for.
    pub as_of: String,
}

impl Tables {
    pub fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(format!("{name}.csv"))
    }

    /// Arguments of a command that reads them.
    pub fn arguments(&self) -> Vec<String> {
        let path = |name| {
            let path = self.path(name);
            path.to_str().expect("plain path").to_owned()
        };
        vec![
            path("cases"),
            "--followups".to_owned(),
            path("followups"),
            "--devices".to_owned(),
            path("devices"),
            "--as-of".to_owned(),
            self.as_of.clone(),
        ]
    }
}

/// A cohort: of every four cases one has numbers of the next case in place of its own, one has lost half its cells.
pub fn cohort(cases: u64, seed: u64) -> Tables {
    let settings = Settings {
        cases,
        seed,
        holes: 0.06,
        until: Day::of(2026, 9, 30),
    };
    let folder = tempfile::tempdir().expect("a folder");
    files::write(&settings, folder.path()).expect("written");
    let tables = Tables {
        folder,
        as_of: settings.data_to().to_string(),
    };
    let (header, mut rows) = table(&tables.path("cases"));
    let mut random = Random::stream(seed, 9, 0);
    let is_number = |name: &str| {
        valvefolio::dictionary::column("cases", name).is_some_and(|column| column.kind == "number")
    };
    let unspoilt = rows.clone();
    for (position, row) in rows.iter_mut().enumerate() {
        let next = &unspoilt[(position + 1) % unspoilt.len()];
        for (at, name) in header.iter().enumerate() {
            match position % 4 {
                1 if is_number(name) && random.chance(0.2) => row[at] = next[at].clone(),
                3 if random.chance(0.5) && !["case_id", "procedure_date"].contains(&&**name) => {
                    row[at].clear();
                }
                _ => {}
            }
        }
    }
    write_table(&tables.path("cases"), &header, &rows);
    tables
}

/// Header and rows of a table.
pub fn table(path: &Path) -> (Vec<String>, Vec<Vec<String>>) {
    let mut reader = csv::Reader::from_path(path).expect("a table");
    let header = reader.headers().expect("a header").iter();
    let header = header.map(str::to_owned).collect();
    let cells = |row: csv::StringRecord| row.iter().map(str::to_owned).collect();
    (
        header,
        reader
            .records()
            .map(|row| cells(row.expect("a row")))
            .collect(),
    )
}

pub fn write_table(path: &Path, header: &[String], rows: &[Vec<String>]) {
    let mut writer = csv::Writer::from_path(path).expect("created");
    writer.write_record(header).expect("written");
    for row in rows {
        writer.write_record(row).expect("written");
    }
    writer.flush().expect("written");
}
