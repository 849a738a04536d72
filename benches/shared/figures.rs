//! Figures as a table on the terminal and as CSV.

use std::fmt::Write as _;

use crate::place;
use crate::timing::{Ratio, Timing};

/// The figures of one bench.
pub struct Figures {
    bench: &'static str,
    csv: String,
}

impl Figures {
    /// An empty table.
    pub fn new(bench: &'static str) -> Figures {
        println!("\n== {bench} ==");
        Figures {
            bench,
            csv: "bench,kind,name,value,least,greatest,unit,target,met\n".to_owned(),
        }
    }

    /// A line of words.
    pub fn say(&self, words: &str) {
        println!("{words}");
    }

    /// Time and size of each contender.
    pub fn timings(&mut self, timings: &[Timing]) {
        for timing in timings {
            let name = timing.name;
            let ms = timing.median() * 1e3;
            println!("{name:<58} {ms:>10.3} ms {:>10.0} bytes", timing.bytes);
            self.row("time", name, [ms, ms, ms], "ms", None);
            if timing.bytes > 0.0 {
                self.row("size", name, [timing.bytes; 3], "bytes", None);
            }
        }
    }

    /// A quotient, and the target it is held against where it has one.
    pub fn ratio(&mut self, name: &str, ratio: Ratio, target: Option<Target>) {
        let Ratio {
            median,
            least,
            greatest,
        } = ratio;
        let verdict = target.map_or(String::new(), |target| target.words(median));
        println!("{name:<58} {median:>10.2} ({least:.2} to {greatest:.2}) {verdict}");
        self.row("ratio", name, [median, least, greatest], "", target);
    }

    /// A single figure.
    pub fn figure(&mut self, name: &str, value: f64, unit: &str, target: Option<Target>) {
        let verdict = target.map_or(String::new(), |target| target.words(value));
        println!("{name:<58} {value:>10.2} {unit} {verdict}");
        self.row("figure", name, [value; 3], unit, target);
    }

    fn row(
        &mut self,
        kind: &str,
        name: &str,
        [value, least, greatest]: [f64; 3],
        unit: &str,
        target: Option<Target>,
    ) {
        let (words, met) = target.map_or((String::new(), ""), |target| {
            (
                target.bound(),
                if target.holds(value) { "yes" } else { "no" },
            )
        });
        let bench = self.bench;
        let name = name.replace(',', ";");
        writeln!(
            self.csv,
            "{bench},{kind},{name},{value},{least},{greatest},{unit},{words},{met}"
        )
        .expect("writing to a string");
    }
}

impl Drop for Figures {
    fn drop(&mut self) {
        let folder = place::figures();
        let file = folder.join(format!("{}.csv", self.bench));
        let written =
            std::fs::create_dir_all(&folder).and_then(|()| std::fs::write(&file, &self.csv));
        if let Err(error) = written {
            eprintln!("{}: {error}", file.display());
        }
    }
}

/// What a figure is held against.
#[derive(Clone, Copy, Debug)]
pub enum Target {
    /// This or more.
    AtLeast(f64),
    /// This or less.
    AtMost(f64),
}

impl Target {
    fn holds(self, value: f64) -> bool {
        match self {
            Target::AtLeast(bound) => value >= bound,
            Target::AtMost(bound) => value <= bound,
        }
    }

    fn bound(self) -> String {
        match self {
            Target::AtLeast(bound) => format!("at least {bound}"),
            Target::AtMost(bound) => format!("at most {bound}"),
        }
    }

    fn words(self, value: f64) -> String {
        let verdict = if self.holds(value) { "met" } else { "NOT MET" };
        format!("[{}: {verdict}]", self.bound())
    }
}
