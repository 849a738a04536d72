//! The whole program on generated files: pages with one thread and two, results only beside a bare copy of the same CSV,
//! and peak memory.
//!
//! Files are written to memory (`/dev/shm`) where the system has it, or where `VALVEFOLIO_BENCH_FOLDER` says: a disk
//! that is waited for would hide the program. `benches/run` says how to run it.

use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::Instant;

use valvefolio_benches::cohort::{as_of, settings};
use valvefolio_benches::figures::{Figures, Target};
use valvefolio_benches::generate::files;
use valvefolio_benches::timing::{Contender, Timing, Turn, by_turns};
use valvefolio_benches::{place, size};
use wait4::Wait4 as _;

fn main() {
    let mut figures = Figures::new("runs");
    let Some(program) = place::program() else {
        figures.say("not run: the program is not built; cargo build --release --locked");
        return;
    };
    let folder = scratch();
    let bench = Bench {
        program,
        folder: folder.path().to_owned(),
    };
    figures.say(&format!(
        "{}; {} processors; files in {}.",
        bench.program.display(),
        std::thread::available_parallelism().map_or(1, usize::from),
        bench.folder.display()
    ));
    pages(&bench, &mut figures);
    results_only(&bench, &mut figures);
    memory(&bench, &mut figures);
}

/// A folder in memory where there is one.
fn scratch() -> tempfile::TempDir {
    let asked = std::env::var_os("VALVEFOLIO_BENCH_FOLDER").map(PathBuf::from);
    let memory = PathBuf::from("/dev/shm");
    let base = asked
        .or_else(|| memory.is_dir().then_some(memory))
        .unwrap_or_else(std::env::temp_dir);
    tempfile::tempdir_in(base).expect("a folder to work in")
}

struct Bench {
    program: PathBuf,
    folder: PathBuf,
}

/// What a run took.
struct Run {
    wall_seconds: f64,
    processor_seconds: f64,
    peak_bytes: u64,
}

impl Bench {
    /// Input files of this many cases; made once.
    fn input(&self, cases: u64) -> PathBuf {
        let input = self.folder.join(format!("in-{cases}"));
        if !input.is_dir() {
            files::write(&settings(cases), &input).expect("room for the input files");
        }
        input
    }

    /// One `report` into an empty folder, which is removed after it.
    fn report(&self, cases: u64, make: &str, jobs: usize) -> Run {
        let input = self.input(cases);
        let output = self.folder.join("out");
        let _ = std::fs::remove_dir_all(&output);
        let start = Instant::now();
        let mut child = Command::new(&self.program)
            .arg("report")
            .arg(input.join("cases.csv"))
            .arg("--followups")
            .arg(input.join("followups.csv"))
            .arg("--devices")
            .arg(input.join("devices.csv"))
            .args(["--as-of", &as_of(&settings(cases)).to_string()])
            .args(["--jobs", &jobs.to_string(), "--fail-on", "never"])
            .args(
                (make != "everything")
                    .then_some(["--make", make])
                    .into_iter()
                    .flatten(),
            )
            .arg("--out")
            .arg(&output)
            .stderr(Stdio::null())
            .spawn()
            .expect("the program starts");
        let used = child.wait4().expect("the program ends");
        let wall_seconds = start.elapsed().as_secs_f64();
        assert!(
            used.status.success(),
            "{make} of {cases} cases: {}",
            used.status
        );
        let _ = std::fs::remove_dir_all(&output);
        Run {
            wall_seconds,
            processor_seconds: (used.rusage.utime + used.rusage.stime).as_secs_f64(),
            peak_bytes: used.rusage.maxrss,
        }
    }

    fn contender(
        &self,
        name: &'static str,
        cases: u64,
        make: &'static str,
        jobs: usize,
    ) -> Contender<'_> {
        Contender {
            name,
            pieces: cases as usize,
            turn: Box::new(move || {
                let run = self.report(cases, make, jobs);
                let seconds = if jobs > 1 {
                    run.wall_seconds
                } else {
                    run.processor_seconds
                };
                Turn { seconds, bytes: 0 }
            }),
        }
    }
}

/// Everything, and pages alone, of 2,000 cases.
fn pages(bench: &Bench, figures: &mut Figures) {
    let cases = size(2_000, 300);
    let rounds = size(5, 3);
    bench.input(cases);
    figures.say(&format!(
        "\n-- {cases} cases, time a case; {rounds} rounds by turns"
    ));
    let wall = |name, make: &'static str, jobs| Contender {
        name,
        pieces: cases as usize,
        turn: Box::new(move || Turn {
            seconds: bench.report(cases, make, jobs).wall_seconds,
            bytes: 0,
        }),
    };
    let timings = by_turns(
        rounds,
        &mut [
            wall("everything, one thread, wall clock", "everything", 1),
            wall("everything, two threads, wall clock", "everything", 2),
            wall("pages only, one thread, wall clock", "pages", 1),
            wall("pages only, two threads, wall clock", "pages", 2),
            bench.contender(
                "everything, one thread, processor time",
                cases,
                "everything",
                1,
            ),
            bench.contender("pages only, one thread, processor time", cases, "pages", 1),
        ],
    );
    figures.timings(&timings);
    figures.ratio(
        "second core: everything",
        timings[0].over(&timings[1]),
        None,
    );
    figures.ratio(
        "second core: pages",
        timings[2].over(&timings[3]),
        Some(Target::AtLeast(1.8)),
    );
}

/// Results only at three sizes, and the same tables through the csv crate alone.
fn results_only(bench: &Bench, figures: &mut Figures) {
    let sizes: [u64; 3] = size([1_000, 10_000, 100_000], [300, 3_000, 30_000]);
    let rounds = size(3, 2);
    let [small, middle, large] = sizes;
    figures.say(&format!(
        "\n-- results only, one thread, processor time a case; {rounds} rounds by turns"
    ));
    for cases in sizes {
        bench.input(cases);
    }
    let copy = |cases: u64| {
        let (input, output) = (bench.input(cases), bench.folder.join("copy.csv"));
        Contender::here(
            "bare copy by the csv crate, largest",
            cases as usize,
            move || {
                let tables = ["cases.csv", "followups.csv"];
                tables
                    .map(|table| copied(&input.join(table), &output))
                    .iter()
                    .sum()
            },
        )
    };
    let timings = by_turns(
        rounds,
        &mut [
            bench.contender("results only, smallest", small, "results", 1),
            bench.contender("results only, middle", middle, "results", 1),
            bench.contender("results only, largest", large, "results", 1),
            copy(large),
        ],
    );
    figures.timings(&timings);
    figures.say(&format!(
        "   smallest {small}, middle {middle}, largest {large} cases"
    ));
    let ratio = |a: &Timing, b: &Timing| a.over(b);
    figures.ratio(
        "cost per case, largest over smallest",
        ratio(&timings[2], &timings[0]),
        Some(Target::AtMost(1.25)),
    );
    figures.ratio(
        "cost per case, largest over middle",
        ratio(&timings[2], &timings[1]),
        Some(Target::AtMost(1.25)),
    );
    figures.ratio(
        "results only over the bare copy, largest",
        ratio(&timings[2], &timings[3]),
        Some(Target::AtMost(6.0)),
    );
}

/// Reads a table into records and writes them again; the bytes written.
fn copied(from: &Path, to: &Path) -> usize {
    let mut reader = csv::Reader::from_path(from).expect("the table opens");
    let mut writer = csv::Writer::from_path(to).expect("room for a copy");
    writer
        .write_record(reader.headers().expect("a header"))
        .expect("room for a copy");
    let mut record = csv::StringRecord::new();
    while reader.read_record(&mut record).expect("rows of one length") {
        writer.write_record(&record).expect("room for a copy");
    }
    writer.flush().expect("room for a copy");
    std::fs::metadata(to).map_or(0, |file| file.len() as usize)
}

/// Peak memory of the program: with pages, of which each is written as it is made, and of a whole report, whose packet
/// is written sheet by sheet.
fn memory(bench: &Bench, figures: &mut Figures) {
    let sizes: [u64; 3] = size([1_000, 10_000, 100_000], [300, 1_000, 3_000]);
    figures.say("\n-- peak memory, two threads");
    for make in ["pages", "results", "everything"] {
        for cases in sizes {
            let run = bench.report(cases, make, 2);
            let most = match make {
                "pages" => Some(400.0),
                "everything" => Some(1000.0),
                _ => None,
            };
            let target = most.filter(|_| cases == sizes[2]).map(Target::AtMost);
            figures.figure(
                &format!("peak memory, {make}, {cases} cases"),
                run.peak_bytes as f64 / 1e6,
                "MB",
                target,
            );
        }
    }
}
