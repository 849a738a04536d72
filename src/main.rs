//! The command-line program: parse, run, print, exit.

use std::io::{IsTerminal as _, Write as _};
use std::process::ExitCode;

use clap::Parser as _;
use valvefolio::cli::Cli;
use valvefolio::run;

#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() -> ExitCode {
    say_faults_without_their_data();
    let cli = Cli::parse();
    let today = jiff::ZonedDateTime::now().date();
    let coloured = std::io::stderr().is_terminal();
    match run::run(cli, today) {
        Ok(outcome) => {
            // A reader that closes the pipe early has seen what it wanted.
            let _ = std::io::stdout().write_all(outcome.output.as_bytes());
            let mut errors = std::io::stderr().lock();
            for finding in &outcome.findings {
                let _ = if outcome.in_full {
                    writeln!(errors, "{}\n", finding.full(coloured))
                } else {
                    writeln!(errors, "{}", finding.concise(coloured))
                };
            }
            for message in &outcome.messages {
                let _ = writeln!(errors, "{message}");
            }
            ExitCode::from(outcome.exit_code)
        }
        Err(error) => {
            let _ = writeln!(std::io::stderr(), "valvefolio: {error}");
            ExitCode::from(2)
        }
    }
}

/// A fault of the program is told by its place in the source alone: the message of a panic may quote a cell.
fn say_faults_without_their_data() {
    std::panic::set_hook(Box::new(|fault| {
        let place = fault.location().map(ToString::to_string);
        let _ = writeln!(
            std::io::stderr(),
            "valvefolio: a fault of the program itself at {}; files may be missing",
            place.unwrap_or_default()
        );
    }));
}
