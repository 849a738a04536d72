//! The command line, in the words of the people who use it.

use std::path::PathBuf;

use clap::{Args, Parser, Subcommand, ValueEnum};
use jiff::civil::Date;

/// One page per transcatheter aortic valve case, and the quarter's audit, from one table.
#[derive(Debug, Parser)]
#[command(name = "valvefolio", version, arg_required_else_help = true)]
#[command(after_help = "\
A first run, on the demo of a made-up centre:
  valvefolio report fixtures/quarter/cases.csv --followups fixtures/quarter/followups.csv \\
      --devices fixtures/quarter/devices.csv --as-of 2026-11-20 --out out

A record made afterwards, for review by the treating team: nothing here recommends a device, a size or a treatment.
Exit codes: 0 all written; 1 written, but cases were withheld or a file could not be; 2 nothing written.")]
pub struct Cli {
    /// What to do.
    #[command(subcommand)]
    pub command: Command,
}

/// What to do.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Read the tables and write pages, cohort summary, results and problems
    Report(ReportArgs),
    /// Read the tables, print what is wrong with them, write nothing
    Check(CheckArgs),
    /// Show how each number of one case came about
    Explain(ExplainArgs),
    /// Print the dictionary of input columns, or an empty template
    Columns(ColumnsArgs),
    /// Print a first draft of a site file for exports with headers, units and words of their own
    Site(SiteArgs),
    /// Is the sheet with this check code the current one?
    Current(CurrentArgs),
    /// Are the files those that the last run wrote?
    Verify(VerifyArgs),
}

/// What goes with the table of cases.
#[derive(Clone, Debug, Args)]
pub struct BesideArgs {
    /// Table of follow-up visits: one row a visit
    #[arg(long, value_name = "FILE")]
    pub followups: Option<PathBuf>,
    /// The site's catalogue of devices: one row a size
    #[arg(long, value_name = "FILE")]
    pub devices: Option<PathBuf>,
    /// What the centre sets once: its name, its own headers, units and words, visit windows (TOML)
    #[arg(long, value_name = "FILE.toml")]
    pub site: Option<PathBuf>,
    /// Encoding of the tables where it is not UTF-8, for example windows-1252
    #[arg(long, value_name = "NAME")]
    pub encoding: Option<String>,
    /// Day the report speaks for; later dates are unknown to it [default: today]
    #[arg(long, value_name = "DATE")]
    pub as_of: Option<Date>,
}

/// The tables to read.
#[derive(Debug, Args)]
pub struct InputArgs {
    /// Table(s) of cases: one row a procedure; several files are joined on case_id
    #[arg(required = true, value_name = "CASES.csv")]
    pub cases: Vec<PathBuf>,
    /// What goes with them.
    #[command(flatten)]
    pub beside: BesideArgs,
}

/// Arguments of `report`.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  The quarter's pages and audit, for the day it is signed off:
    valvefolio report cases.csv --followups visits.csv --devices devices.csv --from 2026-07-01 --to 2026-09-30
  Two patients' pages only, beside what is already there:
    valvefolio report cases.csv --devices devices.csv --only 2026-117,2026-118 --make pages
  Monday's packet, with what has changed since last Monday's:
    valvefolio report cases.csv --followups visits.csv --make followup,results --since monday/results.csv --out today
  Numbers only, for another program:
    valvefolio report cases.csv --make results --out numbers")]
pub struct ReportArgs {
    /// The tables to read.
    #[command(flatten)]
    pub inputs: InputArgs,
    /// Folder to write into; made where it is not there
    #[arg(long, value_name = "FOLDER", default_value = "out")]
    pub out: PathBuf,
    /// First procedure date of the cohort's period
    #[arg(long, value_name = "DATE")]
    pub from: Option<Date>,
    /// Last procedure date of the cohort's period
    #[arg(long, value_name = "DATE")]
    pub to: Option<Date>,
    /// Make pages only for these case ids
    #[arg(long, value_name = "ID,…", value_delimiter = ',')]
    pub only: Vec<String>,
    /// What to make [default: all]
    #[arg(long, value_enum, value_name = "WHAT,…", value_delimiter = ',')]
    pub make: Vec<Make>,
    /// Cases that the procedure log of the period says there are, for case ascertainment
    #[arg(long, value_name = "N")]
    pub expected_cases: Option<usize>,
    /// Predicted risk that observed deaths are held against
    #[arg(long, value_enum, value_name = "MODEL", default_value_t = Risk::Euroscore2)]
    pub risk: Risk,
    /// First procedure date of the earlier period to compare with [default: the twelve months before]
    #[arg(long, value_name = "DATE", requires = "compare_to")]
    pub compare_from: Option<Date>,
    /// Last procedure date of the earlier period to compare with
    #[arg(long, value_name = "DATE", requires = "compare_from")]
    pub compare_to: Option<Date>,
    /// An earlier period's own table of cases to compare with; read with the same site file, and nothing else uses it
    #[arg(long, value_name = "CASES.csv", conflicts_with_all = ["compare_from", "compare_to", "deidentify"])]
    pub compare: Option<PathBuf>,
    /// Follow-up visits of that table
    #[arg(long, value_name = "FILE", requires = "compare")]
    pub compare_followups: Option<PathBuf>,
    /// Devices of that table [default: those of --devices]
    #[arg(long, value_name = "FILE", requires = "compare")]
    pub compare_devices: Option<PathBuf>,
    /// Name operators by their code in the cohort summary; letters otherwise
    #[arg(long)]
    pub name_operators: bool,
    /// How far ahead the worklist looks, in days
    #[arg(long, value_name = "28d", default_value = "28d", value_parser = days)]
    pub window: i64,
    /// results.csv of an earlier run: mark on the packet which results have changed since and why, and write changes.csv
    #[arg(long, value_name = "RESULTS.csv", conflicts_with = "deidentify")]
    pub since: Option<PathBuf>,
    /// Write patients' labels into the calendar of visits; without it nothing there names a patient
    #[arg(long)]
    pub labels_in_calendar: bool,
    /// Threads to use [default: one for each core]
    #[arg(long, value_name = "N")]
    pub jobs: Option<usize>,
    /// Attach each case's results and their trace to its page as JSON (PDF/A-3b); never with --deidentify
    #[arg(long, conflicts_with = "deidentify")]
    pub attach: bool,
    /// Paper of every page [default: the site file's, else A4]
    #[arg(long, value_enum)]
    pub paper: Option<PaperArg>,
    /// Write only what names no patient, into a folder of its own: the cohort summary with small counts masked, or with
    /// --make results the single cases under running numbers, days in place of dates, no texts; never both in one folder,
    /// since masked counts could be counted in the cases
    #[arg(long, conflicts_with_all = ["only", "name_operators", "compare_from", "compare_to"])]
    pub deidentify: bool,
    /// Leave it to the system who may read what is written; otherwise only the user who runs the program
    #[arg(long)]
    pub readable_by_others: bool,
    /// When to end with exit code 1
    #[arg(long, value_enum, default_value_t = FailOn::Withheld)]
    pub fail_on: FailOn,
}

/// Arguments of `check`.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  What is wrong with this week's export, a line a finding:
    valvefolio check cases.csv --followups visits.csv --devices devices.csv
  The same with what was found, what was expected and what follows:
    valvefolio check cases.csv --full")]
pub struct CheckArgs {
    /// The tables to read.
    #[command(flatten)]
    pub inputs: InputArgs,
    /// Print every finding in full: where, what was found, what was expected, what follows
    #[arg(long, conflicts_with = "json")]
    pub full: bool,
    /// Print every finding on standard output as JSON, one object a line
    #[arg(long)]
    pub json: bool,
    /// When to end with exit code 1
    #[arg(long, value_enum, default_value_t = FailOn::Withheld)]
    pub fail_on: FailOn,
}

/// Arguments of `explain`.
#[derive(Debug, Args)]
#[command(after_help = "\
Example:
  valvefolio explain cases.csv --devices devices.csv --case 2026-117 baseline_svi_ml_m2 stenosis_class")]
pub struct ExplainArgs {
    /// Table of cases
    #[arg(value_name = "CASES.csv")]
    pub cases: PathBuf,
    /// Results to explain, as results.csv names them [default: all]
    #[arg(value_name = "VALUE")]
    pub values: Vec<String>,
    /// The case
    #[arg(long, value_name = "ID")]
    pub case: String,
    /// What goes with the table of cases.
    #[command(flatten)]
    pub beside: BesideArgs,
}

/// Arguments of `columns`.
#[derive(Debug, Args)]
#[command(after_help = "\
Example, to start a table that a spreadsheet opens:
  valvefolio columns --template > cases.csv
What stands in a table that report writes:
  valvefolio columns --of worklist.csv")]
pub struct ColumnsArgs {
    /// Which table
    #[arg(value_enum, default_value_t = Table::Cases)]
    pub table: Table,
    /// Print an empty table: the header line only
    #[arg(long)]
    pub template: bool,
    /// Only the columns that a first page needs
    #[arg(long)]
    pub core: bool,
    /// Columns of a table that report writes, in place of those it reads; “all” for every one
    #[arg(long, value_name = "FILE", conflicts_with_all = ["table", "template", "core"])]
    pub of: Option<String>,
}

/// Arguments of `site`.
#[derive(Debug, Args)]
#[command(after_help = "\
Example, with an export of a made-up centre:
  valvefolio site --from fixtures/export/faelle.csv > site.toml
The draft says of each line how sure it is and why; lines that begin with #? are proposals for you to decide.
Read every line beside the export before you rely on it, then try it: valvefolio check EXPORT.csv --site site.toml")]
pub struct SiteArgs {
    /// Export to look at
    #[arg(long, value_name = "EXPORT.csv")]
    pub from: PathBuf,
    /// Which table it is
    #[arg(long, value_enum, default_value_t = Table::Cases)]
    pub table: Table,
    /// Export of follow-up visits to look at as well
    #[arg(long, value_name = "FILE")]
    pub followups: Option<PathBuf>,
    /// Export of the catalogue of devices to look at as well
    #[arg(long, value_name = "FILE")]
    pub devices: Option<PathBuf>,
    /// Encoding of the exports where it is not UTF-8 [default: found out]
    #[arg(long, value_name = "NAME")]
    pub encoding: Option<String>,
}

/// Arguments of `current`.
#[derive(Debug, Args)]
#[command(after_help = "\
Example, with the code printed at the head of a sheet:
  valvefolio current 7F3A-92C4 --in out")]
pub struct CurrentArgs {
    /// Check code of the sheet in the hand; letter case and the hyphen do not matter
    pub code: String,
    /// Folder that the report was written to
    #[arg(long = "in", value_name = "FOLDER", default_value = "out")]
    pub folder: PathBuf,
}

/// Arguments of `verify`.
#[derive(Debug, Args)]
#[command(after_help = "\
Example:
  valvefolio verify out")]
pub struct VerifyArgs {
    /// Folder that the report was written to
    #[arg(value_name = "FOLDER", default_value = "out")]
    pub folder: PathBuf,
}

/// A part of the output.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum Make {
    /// One page per case
    Pages,
    /// Cohort summary, as PDF and data
    Cohort,
    /// Follow-up packet: worklist, calendar, pages and slips of patients who are due
    Followup,
    /// Results as CSV and JSON
    Results,
}

/// Paper sizes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum PaperArg {
    /// 210 × 297 mm
    A4,
    /// 8.5 × 11 inches
    Letter,
}

/// A model of predicted risk.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum Risk {
    /// EuroSCORE II: computed, else as recorded
    Euroscore2,
    /// STS predicted risk of mortality, as recorded
    Sts,
}

/// When the exit code says that something was left out.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum FailOn {
    /// A case was withheld
    Withheld,
    /// A case was withheld or a cell was rejected
    Rejected,
    /// Never, as long as the files were written
    Never,
}

/// `28d` or `28` as days.
fn days(text: &str) -> Result<i64, String> {
    text.trim_end_matches('d')
        .parse()
        .ok()
        .filter(|days| (0..=3650).contains(days))
        .ok_or_else(|| "days from 0 to 3650, as 28d".to_owned())
}

/// An input table.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum Table {
    /// One row a procedure
    Cases,
    /// One row a visit
    Followups,
    /// One row a device size
    Devices,
}

impl Table {
    /// The table, as the dictionary names it.
    pub fn name(self) -> &'static str {
        match self {
            Self::Cases => "cases",
            Self::Followups => "followups",
            Self::Devices => "devices",
        }
    }
}
