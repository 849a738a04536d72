//! Where things are on this machine.

use std::path::{Path, PathBuf};

/// The repository.
pub fn repository() -> &'static Path {
    Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/.."))
}

/// The program as `cargo build --release` leaves it, or as `VALVEFOLIO_PROGRAM` names it.
pub fn program() -> Option<PathBuf> {
    std::env::var_os("VALVEFOLIO_PROGRAM")
        .map(PathBuf::from)
        .or_else(|| Some(repository().join("target/release/valvefolio")))
        .filter(|program| program.is_file())
}

/// The Python that draws the peer's page: `VALVEFOLIO_PYTHON`, else the one that `benches/run` sets up.
pub fn python() -> PathBuf {
    std::env::var_os("VALVEFOLIO_PYTHON").map_or_else(
        || repository().join("target/benches/peer/bin/python3"),
        PathBuf::from,
    )
}

/// The folder of the tables of figures.
pub fn figures() -> PathBuf {
    repository().join("target/benches/figures")
}
