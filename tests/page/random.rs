//! Records at random within the limits of the dictionary, so that any combination of cells comes up.

use jiff::civil::{Date, date};
use valvefolio::date::plus_days;
use valvefolio::dictionary::{Column, column};
use valvefolio::record::{
    CaseCells, CaseRecord, CellNotes, Cells, Parsed, RowPlace, VisitCells, VisitRecord,
};

use crate::support::{QUARTER, record};

/// A small generator (xorshift of Marsaglia 2003): the same seed, the same record.
pub struct Dice(u64);

impl Dice {
    pub fn new(seed: u64) -> Self {
        Self(seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) | 1)
    }

    fn roll(&mut self) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0 >> 11
    }

    /// From 0 up to, not with, `end`.
    pub fn below(&mut self, end: u64) -> u64 {
        self.roll() % end.max(1)
    }

    fn part(&mut self) -> f64 {
        self.below(1_000_000) as f64 / 1_000_000.0
    }

    fn chance(&mut self, percent: u64) -> bool {
        self.below(100) < percent
    }
}

/// How a record is made.
#[derive(Clone, Copy, Debug)]
pub struct Made {
    pub seed: u64,
    /// Percent of the cells that are filled.
    pub filled: u64,
    /// Longest text.
    pub text: u64,
    pub visits: u64,
}

pub const PROCEDURE: Date = date(2023, 3, 3);

fn text(dice: &mut Dice, longest: u64) -> String {
    const LETTERS: [char; 24] = [
        'a', 'e', 'i', 'n', 'r', 't', 's', 'W', 'M', 'i', 'l', 'é', 'ö', 'Ω', 'α', 'ς', 'ж', '4',
        '7', ';', ',', '-', ' ', ' ',
    ];
    let length = 1 + dice.below(longest);
    let letters: String = (0..length)
        .map(|_| LETTERS[dice.below(24) as usize])
        .collect();
    if letters.trim().is_empty() {
        "x".to_owned()
    } else {
        letters
    }
}

fn parsed(column: &Column, dice: &mut Dice, made: Made) -> Option<Parsed> {
    let low = column.flag_below.or(column.reject_below).unwrap_or(0.0);
    let high = column
        .flag_above
        .or(column.reject_above)
        .unwrap_or(low + 100.0);
    Some(match column.kind.as_str() {
        "number" => Parsed::Number(((low + dice.part() * (high - low)) * 10.0).round() / 10.0),
        "integer" => Parsed::Integer((low + dice.part() * (high - low)) as i64),
        "yes_no" => Parsed::YesNo(dice.chance(40)),
        "choice" => Parsed::Choice(dice.below(column.words().count() as u64) as usize),
        "date" => Parsed::Date(plus_days(PROCEDURE, dice.below(900) as i64 - 60)?),
        "text" => Parsed::Text(text(dice, made.text).into()),
        _ => return None,
    })
}

fn fill<C: Cells>(cells: &mut C, dice: &mut Dice, made: Made) {
    for field in C::FIELDS {
        let described = column(C::FILE, field.name).expect("every field is in the dictionary");
        if dice.chance(made.filled)
            && let Some(value) = parsed(described, dice, made)
        {
            (field.set)(cells, value);
        }
    }
}

/// A record made of a seed.
pub fn random_record(made: Made) -> CaseRecord {
    let dice = &mut Dice::new(made.seed);
    let mut cells = CaseCells::default();
    fill(&mut cells, dice, made);
    cells.case_id = Some("T-2023.001_x".into());
    cells.procedure_date = Some(PROCEDURE);
    // Mostly devices of the catalogue, so that sizing has something to say.
    for id in [&mut cells.device_id, &mut cells.planned_device_id] {
        if id.is_some() && dice.chance(85) {
            let devices = QUARTER.catalogue.devices();
            *id = Some(
                devices[dice.below(devices.len() as u64) as usize]
                    .device_id
                    .clone(),
            );
        }
    }
    if dice.chance(60) {
        cells.death_date = None;
        cells.procedural_death = cells.procedural_death.map(|_| false);
    }
    let mut record = record(cells);
    for position in 0..made.visits {
        let Some(on) = plus_days(PROCEDURE, 20 + position as i64 * 70 + dice.below(40) as i64)
        else {
            continue;
        };
        let mut cells = VisitCells::default();
        fill(&mut cells, dice, made);
        cells.case_id = Some(record.case_id.clone());
        cells.visit_date = Some(on);
        record.visits.push(VisitRecord {
            date: on,
            cells: cells.into(),
            notes: CellNotes::default(),
            place: RowPlace {
                file: "visits.csv".into(),
                line: position + 2,
            },
        });
    }
    let noted = |dice: &mut Dice| {
        let fields = CaseCells::FIELDS;
        (0..dice.below(6))
            .map(|_| fields[dice.below(fields.len() as u64) as usize].name)
            .collect()
    };
    if dice.chance(30) {
        record.notes.unusual = noted(dice);
        record.notes.rejected = noted(dice);
    }
    record
}
