//! Cohorts of invented patients, read and assessed as the program does.

use jiff::civil::Date;
use valvefolio::assess::Assessment;
use valvefolio::draw::{Document, Fonts, Paper};
use valvefolio::input::{Inputs, ReadOptions, Source, read};
use valvefolio::page::case::{PageContext, SourceLine, case_page};
use valvefolio::record::CaseRecord;
use valvefolio::run::{DEFINITIONS_VERSION, Work, assess_all};
use valvefolio::settings::Settings as CentreSettings;

use crate::generate::Settings;
use crate::generate::day::Day;
use crate::generate::devices::DEVICES;
use crate::generate::table::{File, header_line};

/// What is generated for every bench: the generator's own defaults.
pub fn settings(cases: u64) -> Settings {
    Settings {
        cases,
        seed: 7,
        holes: 0.08,
        until: Day::of(2026, 9, 30),
    }
}

/// The day a report on the generated files speaks for.
pub fn as_of(settings: &Settings) -> Date {
    let (year, month, day) = settings.data_to().parts();
    Date::new(year as i16, month as i8, day as i8).expect("a day of this century")
}

/// The three files of a cohort, in memory.
pub struct Files {
    /// cases.csv.
    pub cases: String,
    /// followups.csv.
    pub followups: String,
    /// devices.csv.
    pub devices: String,
}

impl Files {
    /// Files of this many cases.
    pub fn of(settings: &Settings) -> Files {
        let mut files = Files {
            cases: header_line(File::Cases),
            followups: header_line(File::Followups),
            devices: header_line(File::Devices),
        };
        for device in DEVICES {
            files.devices += &device.row().line();
        }
        for index in 0..settings.cases {
            let generated = settings.case(index);
            files.cases += &generated.case.line();
            for visit in &generated.visits {
                files.followups += &visit.line();
            }
        }
        files
    }

    /// The files as records.
    pub fn read(&self) -> Inputs {
        read(
            &[Source::new("cases.csv", self.cases.as_bytes())],
            Some(&Source::new("followups.csv", self.followups.as_bytes())),
            Some(&Source::new("devices.csv", self.devices.as_bytes())),
            &ReadOptions::default(),
        )
        .expect("generated files can be read")
    }
}

/// A cohort of this many cases, read and assessed.
pub fn assessed(cases: u64) -> Work {
    let settings = settings(cases);
    assess_all(
        Files::of(&settings).read(),
        CentreSettings::default(),
        as_of(&settings),
    )
}

/// What makes the case pages of a cohort.
pub struct CasePages {
    /// The cohort.
    pub work: Work,
    /// Its cases, assessed.
    pub cases: Vec<(CaseRecord, Assessment)>,
    /// The faces.
    pub fonts: Fonts,
    sources: Vec<SourceLine>,
}

impl CasePages {
    /// Pages of an assessed cohort.
    pub fn of(work: Work) -> CasePages {
        let sources = work.files.iter().map(|file| SourceLine {
            file: file.name.to_string(),
            sha256: Some(file.sha256.clone()),
        });
        CasePages {
            sources: sources.collect(),
            fonts: Fonts::load(),
            cases: work.all_assessed(),
            work,
        }
    }

    /// The display list of a case's page, as `report` makes it; `None` where the page is withheld.
    pub fn document(&self, case: usize) -> Option<Document> {
        let (record, assessment) = &self.cases[case];
        let context = PageContext {
            paper: Paper::A4,
            centre_lines: &[],
            contact_lines: &[],
            program_version: env!("CARGO_PKG_VERSION"),
            definitions_version: DEFINITIONS_VERSION,
            sources: &self.sources,
            settings: &self.work.site.settings,
        };
        let page = case_page(
            record,
            assessment,
            &self.work.catalogue,
            &context,
            &self.fonts,
        );
        let mut document = page.ok()?.document;
        document.title = format!("Case {}", record.case_id);
        Some(document)
    }
}
