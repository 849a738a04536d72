//! Bytes that nobody vouches for, through the same ways into the program as the fuzz targets of `tests/fuzz/`: few
//! trials each time, from the demo's own rows with something spoilt.

#[path = "support/entry.rs"]
mod entry;

use std::sync::LazyLock;

use proptest::prelude::*;

/// The demo's tables as lines: cases, follow-ups, devices.
static DEMO: LazyLock<[Vec<String>; 3]> = LazyLock::new(|| {
    ["cases", "followups", "devices"].map(|name| {
        let path = format!("{}/fixtures/quarter/{name}.csv", env!("CARGO_MANIFEST_DIR"));
        let text = std::fs::read_to_string(path).expect("the demo");
        text.lines().map(str::to_owned).collect()
    })
});

/// The site file that documents every key.
const SITE: &str = include_str!("../fixtures/input/site.toml");

/// Pieces that spoil a table.
const PIECES: &[&[u8]] = &[
    b"\0",
    b"\"",
    b"\n",
    b"\r",
    b",",
    b";",
    b"\t",
    b"\xFF",
    b"\xC3",
    b"=1+1",
    b"-",
    b"1e308",
    b"-1e308",
    b"NaN",
    b"inf",
    b"0",
    b"9999-12-31",
    b"0001-01-01",
    b"\xE2\x80\xAE",
    b"'",
    b"%%%\n",
    b"\xEF\xBB\xBF",
    b"../x",
];

/// One spoilt place: where, what, and whether it is put in or put over.
type Spoil = (prop::sample::Index, &'static [u8], bool);

fn spoils(most: usize) -> impl Strategy<Value = Vec<Spoil>> {
    let piece = prop::sample::select(PIECES);
    prop::collection::vec(
        (any::<prop::sample::Index>(), piece, any::<bool>()),
        0..most,
    )
}

fn spoil(bytes: &mut Vec<u8>, from: usize, spoils: Vec<Spoil>) {
    for (at, piece, over) in spoils {
        if bytes.len() > from {
            let at = from + at.index(bytes.len() - from);
            let end = if over {
                (at + piece.len()).min(bytes.len())
            } else {
                at
            };
            bytes.splice(at..end, piece.iter().copied());
        }
    }
}

/// Three cases of the demo with all visits and devices, for the ways in: the cells of a table spoilt, its header whole.
fn tables() -> impl Strategy<Value = Vec<u8>> {
    (
        prop::sample::subsequence((1..DEMO[0].len()).collect::<Vec<_>>(), 3),
        spoils(40),
        0_u8..4,
        prop::bool::weighted(0.8),
    )
        .prop_map(|(rows, spoils, encoding, plain)| {
            let header = &DEMO[0][0];
            let mut bytes = vec![if plain { 0 } else { encoding }];
            bytes.extend(header.as_bytes());
            let mut from = bytes.len() + 1;
            for row in &rows {
                bytes.push(b'\n');
                bytes.extend(DEMO[0][*row].as_bytes());
            }
            for table in &DEMO[1..] {
                bytes.extend(entry::NEXT_TABLE);
                bytes.extend(table.join("\n").as_bytes());
            }
            // Now and then the header is spoilt too.
            if !plain {
                from = 1;
            }
            spoil(&mut bytes, from, spoils);
            bytes
        })
}

/// What is spoilt below is a table to begin with.
#[test]
fn unspoilt_tables_come_through_with_visits_and_devices() {
    let mut bytes = vec![0];
    bytes.extend(DEMO[0][..4].join("\n").as_bytes());
    for table in &DEMO[1..] {
        bytes.extend(entry::NEXT_TABLE);
        bytes.extend(table.join("\n").as_bytes());
    }
    let work = entry::pipeline(&bytes).expect("tables");
    assert_eq!(work.cases.len(), 3);
    assert!(
        work.all_assessed()
            .iter()
            .all(|(record, _)| !record.visits.is_empty())
    );
    assert!(!work.catalogue.devices().is_empty());
    entry::pages(&bytes);
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, ..ProptestConfig::default() })]

    #[test]
    fn prop_spoilt_tables_lose_no_row_silently(bytes in tables()) {
        entry::reader(&bytes);
    }

    #[test]
    fn prop_any_bytes_are_read_or_refused(bytes in prop::collection::vec(any::<u8>(), 0..2000)) {
        entry::reader(&bytes);
        entry::site(&bytes);
    }

    #[test]
    fn prop_spoilt_tables_give_whole_results(bytes in tables()) {
        entry::pipeline(&bytes);
    }

    #[test]
    fn prop_a_spoilt_site_file_is_read_or_its_faults_are_told(spoils in spoils(12)) {
        let mut bytes = SITE.as_bytes().to_vec();
        spoil(&mut bytes, 0, spoils);
        entry::site(&bytes);
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 12, ..ProptestConfig::default() })]

    #[test]
    fn prop_spoilt_tables_give_one_page_a_case_or_a_name(bytes in tables()) {
        entry::pages(&bytes);
    }
}
