//! The seeds of the fuzz targets through the ways in, without a fuzzer: none is refused by mistake, and together they
//! reach pages, visits and devices. `tests/fuzz/seeds/README.md` says how they are made.

#[path = "support/entry.rs"]
mod entry;

use std::path::Path;

/// Name and bytes of every seed of a kind.
fn seeds(kind: &str) -> Vec<(String, Vec<u8>)> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests/fuzz/seeds")
        .join(kind);
    let mut seeds: Vec<(String, Vec<u8>)> = std::fs::read_dir(folder)
        .expect("seeds")
        .map(|entry| {
            let path = entry.expect("an entry").path();
            let name = path.file_name().expect("a name").to_string_lossy();
            (name.into_owned(), std::fs::read(&path).expect("a seed"))
        })
        .collect();
    seeds.sort();
    seeds
}

#[test]
fn every_table_goes_the_whole_way() {
    let (mut cases, mut visits, mut devices) = (0, 0, 0);
    for (name, bytes) in seeds("tables") {
        entry::pages(&bytes);
        let work = entry::pipeline(&bytes);
        if name.starts_with("case-") {
            let work = work.unwrap_or_else(|| panic!("{name} is refused"));
            assert_eq!(work.cases.len(), 1, "{name}");
            assert!(!work.catalogue.devices().is_empty(), "{name}");
        } else if let Some(work) = work {
            cases += work.cases.len();
            visits += work
                .cases
                .iter()
                .map(|case| case.record().visits.len())
                .sum::<usize>();
            devices += work.catalogue.devices().len();
        } else {
            // With its own headers, which only its site file explains.
            assert_eq!(name, "input-site-export");
        }
    }
    assert!(
        cases > 30 && visits > 3 && devices > 3,
        "{cases} {visits} {devices}"
    );
}

#[test]
fn every_site_file_is_read_or_its_faults_are_told() {
    let seeds = seeds("site");
    assert!(seeds.len() > 5);
    for (_, bytes) in seeds {
        entry::site(&bytes);
    }
}

/// They are committed, so they stay small.
#[test]
fn all_seeds_together_are_small() {
    let all = seeds("tables").into_iter().chain(seeds("site"));
    let bytes: usize = all.map(|(_, bytes)| bytes.len()).sum();
    assert!((50_000..300_000).contains(&bytes), "{bytes}");
}
