//! What each result reads, with every name looked up once for all cases: traces are made for every result of every
//! case, and a name is one of hundreds.

use std::marker::PhantomData;
use std::sync::LazyLock;

use jiff::civil::Date;

use super::{Input, Origin, Trace};
use crate::assess::definitions::{DEFINITIONS, Definition, Read};
use crate::assess::{Assessment, discharge_column, implanted, lacking};
use crate::dictionary::{self, ResultColumn};
use crate::record::{
    CaseCells, CaseRecord, Catalogue, Cells, ColumnSet, DeviceCells, FieldOf, Shown, VisitCells,
};

/// A column of a typed row with its unit.
#[derive(Clone, Copy)]
pub(super) struct Column<T: 'static> {
    /// Where it stands in the row.
    position: usize,
    field: &'static FieldOf<T>,
    unit: &'static str,
}

impl<T: Cells> Column<T> {
    fn of(name: &str) -> Self {
        let position =
            T::position(name).expect("tests/definitions.rs holds what is read against the records");
        Self {
            position,
            field: &T::FIELDS[position],
            unit: dictionary::column(T::FILE, name).map_or("", |column| column.unit.as_str()),
        }
    }

    fn value<'a>(&self, cells: &'a T) -> Option<Shown<'a>> {
        (self.field.get)(cells)
    }
}

/// A [`Read`] with its names looked up.
pub(super) enum Found {
    ProcedureDate(Column<CaseCells>),
    Case(Column<CaseCells>),
    Device(Column<DeviceCells>),
    /// The visit's column, and the cell of the case that stands in for it.
    Performance(Column<VisitCells>, Option<Column<CaseCells>>),
    Reference(Column<VisitCells>),
    Later(Column<VisitCells>),
    Visits(Column<VisitCells>),
    /// Position among the results.
    Result(usize, &'static ResultColumn),
    AsOf,
}

impl Found {
    fn of(read: Read) -> Option<Self> {
        Some(match read {
            Read::Case("procedure_date") => Self::ProcedureDate(Column::of("procedure_date")),
            Read::Case(name) => Self::Case(Column::of(name)),
            Read::Device(name) => Self::Device(Column::of(name)),
            Read::Ranges => return None,
            Read::Performance(name) => {
                Self::Performance(Column::of(name), discharge_column(name).map(Column::of))
            }
            Read::Reference(name) => Self::Reference(Column::of(name)),
            Read::Later(name) => Self::Later(Column::of(name)),
            Read::Visits(name) => Self::Visits(Column::of(name)),
            Read::Result(name) => Self::Result(
                DEFINITIONS
                    .iter()
                    .position(|definition| definition.name == name)
                    .expect("tests/definitions.rs holds the results that are read against those there are"),
                result_column(name),
            ),
            Read::AsOf => Self::AsOf,
        })
    }

    /// As results.json says it: name, unit, of what; and the cell of the case that stands in where there is no such
    /// visit.
    pub fn described(&self) -> Vec<&'static str> {
        fn row<T: Cells>(column: &Column<T>, of: &'static str) -> Vec<&'static str> {
            vec![column.field.name, column.unit, of]
        }
        match self {
            Self::ProcedureDate(column) | Self::Case(column) => row(column, "case"),
            Self::Device(column) => row(column, "device"),
            Self::Performance(column, stands_in) => row(column, "performance_visit")
                .into_iter()
                .chain(stands_in.as_ref().map(|column| column.field.name))
                .collect(),
            Self::Reference(column) => row(column, "reference_visit"),
            Self::Later(column) => row(column, "later_visits"),
            Self::Visits(column) => row(column, "visits"),
            Self::Result(position, column) => {
                vec![DEFINITIONS[*position].name, &column.unit, "results"]
            }
            Self::AsOf => vec!["as_of", "", "as_of"],
        }
    }
}

/// What one result reads.
pub(super) struct Reads {
    definition: &'static Definition,
    column: &'static ResultColumn,
    /// The first way.
    pub first: Vec<Found>,
    /// What counts where the first way is closed.
    pub second: Vec<Found>,
}

/// What each result reads, in the order of the definitions.
pub(super) static READS: LazyLock<Vec<Reads>> = LazyLock::new(|| {
    let found = |reads: &[Read]| reads.iter().filter_map(|&read| Found::of(read)).collect();
    DEFINITIONS
        .iter()
        .map(|definition| Reads {
            definition,
            column: result_column(definition.name),
            first: found(definition.reads),
            second: found(definition.or_reads),
        })
        .collect()
});

/// The columns of each kind of row that some result reads.
pub(super) struct ReadColumns {
    /// Of the case.
    pub case: ReadOf<CaseCells>,
    /// Of the implanted device.
    pub device: ReadOf<DeviceCells>,
    /// Of a visit.
    pub visit: ReadOf<VisitCells>,
}

/// The columns of a row that some result reads.
pub(super) struct ReadOf<T> {
    columns: ColumnSet,
    row: PhantomData<fn() -> T>,
}

impl<T: Cells> ReadOf<T> {
    fn none() -> Self {
        Self {
            columns: ColumnSet::default(),
            row: PhantomData,
        }
    }

    fn add(&mut self, column: &Column<T>) {
        self.columns.insert(column.position);
    }

    /// Their names, in the order of the dictionary.
    pub fn names(&self) -> Vec<&'static str> {
        let fields = T::FIELDS.iter().enumerate();
        fields
            .filter(|(position, _)| self.has(*position))
            .map(|(_, field)| field.name)
            .collect()
    }

    /// Whether some result reads the column at this position.
    #[inline(always)]
    pub fn has(&self, position: usize) -> bool {
        self.columns.contains(position)
    }
}

/// See [`ReadColumns`].
pub(super) static READ_COLUMNS: LazyLock<ReadColumns> = LazyLock::new(|| {
    let mut columns = ReadColumns {
        case: ReadOf::none(),
        device: ReadOf::none(),
        visit: ReadOf::none(),
    };
    for read in READS
        .iter()
        .flat_map(|reads| reads.first.iter().chain(&reads.second))
    {
        match read {
            Found::ProcedureDate(column) | Found::Case(column) => columns.case.add(column),
            Found::Device(column) => columns.device.add(column),
            Found::Performance(column, stands_in) => {
                columns.visit.add(column);
                if let Some(column) = stands_in {
                    columns.case.add(column);
                }
            }
            Found::Reference(column) | Found::Later(column) | Found::Visits(column) => {
                columns.visit.add(column);
            }
            Found::Result(..) | Found::AsOf => {}
        }
    }
    columns
});

/// The dictionary's entry of a result.
pub(super) fn result_column(name: &str) -> &'static ResultColumn {
    dictionary::RESULTS
        .iter()
        .find(|column| column.name == name)
        .expect("tests/definitions.rs holds the definitions against the dictionary")
}

/// One case whose results are traced: every result is asked for once, however many rest on it.
pub struct Traced<'a> {
    record: &'a CaseRecord,
    assessment: &'a Assessment,
    device: Option<&'a DeviceCells>,
    /// Every result, in the order of results.csv.
    values: Vec<Option<Shown<'a>>>,
    known: KnownCells,
}

/// Where something is read.
#[derive(Clone, Copy)]
enum At<'f> {
    /// A day that is always known.
    Given(Date),
    /// A cell of the case.
    Case(&'f Column<CaseCells>),
    /// A cell of the implanted device.
    Device(&'f Column<DeviceCells>),
    /// A cell of the visit at this position.
    Visit(usize, &'f Column<VisitCells>),
    /// The result at this position.
    Result(usize),
}

impl At<'_> {
    fn visit(self) -> Option<usize> {
        match self {
            Self::Visit(visit, _) => Some(visit),
            _ => None,
        }
    }
}

/// Which cells of a case are known.
struct KnownCells {
    case: ColumnSet,
    device: ColumnSet,
    visits: Vec<ColumnSet>,
}

impl<'a> Traced<'a> {
    /// Of a case with its assessment.
    pub fn new(
        record: &'a CaseRecord,
        assessment: &'a Assessment,
        catalogue: &'a Catalogue,
    ) -> Self {
        let known = &assessment.known;
        let device = implanted(&known.cells, catalogue).map(|device| &device.cells);
        Self {
            record,
            assessment,
            device,
            values: assessment.results.all(),
            known: KnownCells {
                case: known.cells.known(),
                device: device.map(Cells::known).unwrap_or_default(),
                visits: known
                    .visits
                    .iter()
                    .map(|visit| visit.cells.known())
                    .collect(),
            },
        }
    }

    /// The case.
    pub fn record(&self) -> &'a CaseRecord {
        self.record
    }

    /// What is said of it.
    pub fn assessment(&self) -> &'a Assessment {
        self.assessment
    }

    /// Every result, in the order of results.csv.
    pub fn values(&self) -> &[Option<Shown<'a>>] {
        &self.values
    }

    /// How the result at this position came about.
    pub(super) fn trace(&self, position: usize) -> Trace<'a> {
        let reads = &READS[position];
        let mut inputs: Vec<Input<'a>> = Vec::with_capacity(reads.first.len() + reads.second.len());
        self.inputs(position, |_, read, visit, value| {
            inputs.push(self.input(read, visit, value));
        });
        Trace {
            definition: reads.definition,
            column: reads.column,
            value: self.values[position],
            inputs,
            in_doubt: self.in_doubt(position),
        }
    }

    /// Whether a failed check put it in doubt.
    fn in_doubt(&self, position: usize) -> bool {
        self.assessment
            .in_doubt
            .contains(&DEFINITIONS[position].name)
    }

    /// What the result at this position reads: the place among its reads (the first way, then the second), what is read
    /// there, of which visit, and its value.
    fn inputs(
        &self,
        position: usize,
        mut found: impl FnMut(usize, &'static Found, Option<usize>, Option<Shown<'a>>),
    ) {
        let reads = &READS[position];
        for (place, read) in reads.first.iter().enumerate() {
            self.each_at(read, |at| found(place, read, at.visit(), self.value(at)));
        }
        // The second way counts where the first is closed, or where it settles the value beside it.
        for (place, read) in (reads.first.len()..).zip(&reads.second) {
            self.each_at(read, |at| {
                let value = self.value(at);
                if value.is_some() {
                    found(place, read, at.visit(), value);
                }
            });
        }
    }

    /// What the result at this position lacks, where it is unknown: the places of its inputs that are unknown, with the
    /// visit of those that are a visit's. Nothing is looked at where it is known, as most are. A second way counts only
    /// where it is known, so nothing is lacking there.
    pub(super) fn lacks(&self, position: usize, mut found: impl FnMut(usize, Option<usize>)) {
        if !lacking(self.values[position]) {
            return;
        }
        for (place, read) in READS[position].first.iter().enumerate() {
            self.each_at(read, |at| {
                if self.is_lacking(at) {
                    found(place, at.visit());
                }
            });
        }
    }

    /// The row of the implanted device.
    pub(super) fn device(&self) -> Option<&'a DeviceCells> {
        self.device
    }

    /// Where something is read: in one place, or in one of each visit.
    fn each_at<'f>(&self, read: &'f Found, mut found: impl FnMut(At<'f>)) {
        let assessment = self.assessment;
        match read {
            Found::ProcedureDate(_) => found(At::Given(self.record.procedure_date)),
            Found::AsOf => found(At::Given(assessment.known.as_of)),
            Found::Case(column) => found(At::Case(column)),
            Found::Device(column) => found(At::Device(column)),
            Found::Performance(column, stands_in) => match assessment.performance.visit {
                Some(visit) => found(At::Visit(visit, column)),
                None => {
                    if let Some(column) = stands_in {
                        found(At::Case(column));
                    }
                }
            },
            Found::Reference(column) => {
                if let Some(visit) = assessment.course.reference {
                    found(At::Visit(visit, column));
                }
            }
            Found::Later(column) => {
                for later in &assessment.course.later {
                    found(At::Visit(later.visit, column));
                }
            }
            Found::Visits(column) => {
                for visit in 0..assessment.known.visits.len() {
                    found(At::Visit(visit, column));
                }
            }
            Found::Result(position, _) => found(At::Result(*position)),
        }
    }

    /// What is read there.
    fn value(&self, at: At<'_>) -> Option<Shown<'a>> {
        let known = &self.assessment.known;
        match at {
            At::Given(day) => Some(Shown::Date(day)),
            At::Case(column) => column.value(&known.cells),
            At::Device(column) => self.device.and_then(|device| column.value(device)),
            At::Visit(visit, column) => column.value(&known.visits[visit].cells),
            At::Result(position) => self.values[position],
        }
    }

    /// Whether what is read there is unknown.
    fn is_lacking(&self, at: At<'_>) -> bool {
        let known = &self.known;
        match at {
            At::Given(_) => false,
            At::Case(column) => !known.case.contains(column.position),
            At::Device(column) => !known.device.contains(column.position),
            At::Visit(visit, column) => !known.visits[visit].contains(column.position),
            At::Result(position) => lacking(self.values[position]),
        }
    }

    /// A value that was read, with where it came from.
    fn input(&self, read: &Found, visit: Option<usize>, value: Option<Shown<'a>>) -> Input<'a> {
        fn of<T>(column: &Column<T>, origin: Origin) -> (&'static str, &'static str, Origin) {
            (column.field.name, column.unit, origin)
        }
        let of_visit = visit.map(|position| Origin::Visit {
            position,
            date: self.assessment.known.visits[position].date,
        });
        let (name, unit, origin) = match (read, of_visit) {
            (
                Found::Performance(column, _)
                | Found::Reference(column)
                | Found::Later(column)
                | Found::Visits(column),
                Some(origin),
            ) => of(column, origin),
            (
                Found::Case(column)
                | Found::ProcedureDate(column)
                | Found::Performance(_, Some(column)),
                _,
            ) => of(column, Origin::Case),
            (Found::Device(column), _) => of(column, Origin::Device),
            (Found::Result(position, column), _) => (
                DEFINITIONS[*position].name,
                column.unit.as_str(),
                Origin::Result,
            ),
            (Found::AsOf, _) => ("as_of", "", Origin::AsOf),
            _ => unreachable!("what is read of a visit comes with the visit"),
        };
        Input {
            name,
            origin,
            value,
            unit,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// On both rests what is said of lacking inputs: a known cell is never one that is lacking, and a second way that
    /// counts is known.
    #[test]
    fn only_a_result_is_not_assessable_and_none_is_a_second_way() {
        for column in dictionary::COLUMNS.iter() {
            assert!(column.words().all(|word| !lacking(Some(Shown::Word(word)))));
        }
        let mut second = READS.iter().flat_map(|reads| &reads.second);
        assert!(second.all(|read| !matches!(read, Found::Result(..))));
    }
}
