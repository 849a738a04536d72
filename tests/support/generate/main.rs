//! `cargo run --example generate -- --cases 2000 --seed 7 --out DIR`: input files of any size for benches and trials.

#[path = "mod.rs"]
mod generate;

#[cfg(test)]
mod tests;

use std::path::PathBuf;
use std::process::ExitCode;

use clap::Parser;

use generate::day::Day;
use generate::{Settings, files};

/// Writes cases.csv, followups.csv and devices.csv of invented patients. Same seed, same bytes.
#[derive(Parser)]
struct Options {
    /// How many cases.
    #[arg(long, default_value_t = 2000)]
    cases: u64,
    /// Seed of the random numbers.
    #[arg(long, default_value_t = 7)]
    seed: u64,
    /// Share of the filled cells that are left blank, 0 to 1, roughly.
    #[arg(long, default_value_t = 0.08, value_parser = share)]
    holes: f64,
    /// Last day of the procedures, which spread over the three years before it; the data end 51 days later.
    #[arg(long, default_value = "2026-09-30")]
    until: Day,
    /// Folder to write into.
    #[arg(long)]
    out: PathBuf,
}

/// Reads a share from 0 to 1.
fn share(text: &str) -> Result<f64, String> {
    text.parse()
        .ok()
        .filter(|share| (0.0..=1.0).contains(share))
        .ok_or_else(|| "wanted a share from 0 to 1".to_owned())
}

fn main() -> ExitCode {
    let Options {
        cases,
        seed,
        holes,
        until,
        out,
    } = Options::parse();
    let settings = Settings {
        cases,
        seed,
        holes,
        until,
    };
    match files::write(&settings, &out) {
        Ok(written) => {
            println!(
                "{} cases and {} visits in {}, data to {}",
                written.cases,
                written.visits,
                out.display(),
                settings.data_to()
            );
            ExitCode::SUCCESS
        }
        Err(error) => {
            eprintln!("{}: {error}", out.display());
            ExitCode::FAILURE
        }
    }
}
