//! The colour space the pages are meant in: an sRGB profile made here.
//!
//! An ICC version 2.1 display profile (ICC.1:2001-04) with the transfer curve of IEC 61966-2-1 as a
//! table and that standard's primaries, adapted to the profile connection space (D50, Bradford).

use super::objects::Objects;
use super::skeleton::deflated;
use lopdf::{Object, dictionary};
use std::sync::OnceLock;

/// Points of the transfer curve.
const CURVE_POINTS: u32 = 256;
/// The white of the connection space.
const D50: [f64; 3] = [0.9642, 1.0, 0.8249];
/// Red, green and blue of sRGB, adapted to D50 with the Bradford matrix.
const PRIMARIES: [(&[u8; 4], [f64; 3]); 3] = [
    (b"rXYZ", [0.4360, 0.2225, 0.0139]),
    (b"gXYZ", [0.3851, 0.7169, 0.0971]),
    (b"bXYZ", [0.1431, 0.0606, 0.7141]),
];
const NAME: &str = "sRGB IEC61966-2.1";

/// Adds the output intent.
pub(super) fn add_to(file: &mut impl Objects) {
    static PROFILE: OnceLock<Vec<u8>> = OnceLock::new();
    let profile = PROFILE.get_or_init(|| deflated(&profile(), 9)).clone();
    let profile = file.add_deflated(dictionary! { "N" => 3 }, profile);
    let intent = file.add(dictionary! {
        "Type" => "OutputIntent",
        "S" => "GTS_PDFA1",
        "OutputConditionIdentifier" => Object::string_literal(NAME),
        "Info" => Object::string_literal(NAME),
        "DestOutputProfile" => profile,
    });
    file.catalogue()
        .set("OutputIntents", vec![Object::Reference(intent)]);
}

/// The profile's bytes.
fn profile() -> Vec<u8> {
    let mut tags: Vec<(&[u8; 4], Vec<u8>)> = vec![
        (b"desc", description(NAME)),
        (b"cprt", text("No copyright, use freely")),
        (b"wtpt", xyz(D50)),
    ];
    tags.extend(PRIMARIES.map(|(signature, colour)| (signature, xyz(colour))));
    tags.push((b"rTRC", curve()));

    let mut table = Vec::new();
    let mut data = Vec::new();
    let start = 128 + 4 + 12 * (tags.len() + 2);
    for (signature, content) in &tags {
        let entry = [(start + data.len()) as u32, content.len() as u32];
        // All three channels share the curve.
        let channels: &[&[u8; 4]] = if *signature == b"rTRC" {
            &[b"rTRC", b"gTRC", b"bTRC"]
        } else {
            &[signature]
        };
        for channel in channels {
            table.extend_from_slice(*channel);
            table.extend(entry.into_iter().flat_map(u32::to_be_bytes));
        }
        data.extend_from_slice(content);
        data.resize(data.len().next_multiple_of(4), 0);
    }

    let mut profile = header((start + data.len()) as u32);
    profile.extend((tags.len() as u32 + 2).to_be_bytes());
    profile.extend(table);
    profile.extend(data);
    profile
}

fn header(size: u32) -> Vec<u8> {
    let mut header = vec![0; 128];
    header[..4].copy_from_slice(&size.to_be_bytes());
    header[8..12].copy_from_slice(&[2, 0x10, 0, 0]);
    header[12..24].copy_from_slice(b"mntrRGB XYZ ");
    // A fixed date of making, 1 January 2026.
    header[24..36].copy_from_slice(&[0x07, 0xea, 0, 1, 0, 1, 0, 0, 0, 0, 0, 0]);
    header[36..40].copy_from_slice(b"acsp");
    for (place, part) in header[68..80].chunks_mut(4).zip(D50) {
        place.copy_from_slice(&fixed(part));
    }
    header
}

/// A signed number with sixteen binary places.
fn fixed(value: f64) -> [u8; 4] {
    ((value * 65536.0).round() as i32).to_be_bytes()
}

fn xyz(colour: [f64; 3]) -> Vec<u8> {
    let mut tag = b"XYZ \0\0\0\0".to_vec();
    tag.extend(colour.into_iter().flat_map(fixed));
    tag
}

fn text(text: &str) -> Vec<u8> {
    let mut tag = b"text\0\0\0\0".to_vec();
    tag.extend(text.bytes());
    tag.push(0);
    tag
}

fn description(text: &str) -> Vec<u8> {
    let mut tag = b"desc\0\0\0\0".to_vec();
    tag.extend((text.len() as u32 + 1).to_be_bytes());
    tag.extend(text.bytes());
    // The end of the text; no Unicode text; no script code text of at most 67 bytes.
    tag.resize(tag.len() + 1 + 8 + 3 + 67, 0);
    tag
}

fn curve() -> Vec<u8> {
    let mut tag = b"curv\0\0\0\0".to_vec();
    tag.extend(CURVE_POINTS.to_be_bytes());
    for point in 0..CURVE_POINTS {
        let signal = f64::from(point) / f64::from(CURVE_POINTS - 1);
        let linear = if signal <= 0.04045 {
            signal / 12.92
        } else {
            ((signal + 0.055) / 1.055).powf(2.4)
        };
        tag.extend(((linear * 65535.0).round() as u16).to_be_bytes());
    }
    tag
}

#[cfg(test)]
mod tests {
    use super::*;

    type Matrix = [[f64; 3]; 3];

    fn times(matrix: Matrix, vector: [f64; 3]) -> [f64; 3] {
        matrix.map(|row| {
            row.iter()
                .zip(vector)
                .map(|(left, right)| left * right)
                .sum()
        })
    }

    /// Cramer's rule.
    fn solve(columns: Matrix, right: [f64; 3]) -> [f64; 3] {
        let determinant = |[a, b, c]: Matrix| {
            a[0] * (b[1] * c[2] - b[2] * c[1]) - b[0] * (a[1] * c[2] - a[2] * c[1])
                + c[0] * (a[1] * b[2] - a[2] * b[1])
        };
        let whole = determinant(columns);
        std::array::from_fn(|place| {
            let mut replaced = columns;
            replaced[place] = right;
            determinant(replaced) / whole
        })
    }

    /// Chromaticities of IEC 61966-2-1 (red 0.64 0.33, green 0.30 0.60, blue 0.15 0.06, white D65
    /// 0.3127 0.3290); Bradford matrix of Lam 1985, as in ICC.1, annex E.
    #[test]
    fn the_primaries_are_those_of_the_standard_adapted_to_d50() {
        let light = |x: f64, y: f64| [x / y, 1.0, (1.0 - x - y) / y];
        let colours = [light(0.64, 0.33), light(0.30, 0.60), light(0.15, 0.06)];
        let white = light(0.3127, 0.3290);
        let parts = solve(colours, white);
        let bradford = [
            [0.8951, 0.2664, -0.1614],
            [-0.7502, 1.7135, 0.0367],
            [0.0389, -0.0685, 1.0296],
        ];
        let columns: Matrix = std::array::from_fn(|column| bradford.map(|row| row[column]));
        let (from, to) = (times(bradford, white), times(bradford, D50));
        for ((colour, part), (_, ours)) in colours.into_iter().zip(parts).zip(PRIMARIES) {
            let cones = times(bradford, colour.map(|value| value * part));
            let adapted: [f64; 3] = std::array::from_fn(|cone| cones[cone] * to[cone] / from[cone]);
            for (derived, stated) in solve(columns, adapted).into_iter().zip(ours) {
                assert!((derived - stated).abs() < 0.0002, "{derived} {stated}");
            }
        }
    }

    #[test]
    fn the_parts_lie_where_the_table_says() {
        let profile = profile();
        let number =
            |at: usize| u32::from_be_bytes(profile[at..at + 4].try_into().unwrap()) as usize;
        assert_eq!(number(0), profile.len());
        assert_eq!(&profile[36..40], b"acsp");
        assert_eq!(number(128), 9);
        for entry in 0..9 {
            let at = 132 + 12 * entry;
            let (offset, size) = (number(at + 4), number(at + 8));
            assert!(offset % 4 == 0 && offset + size <= profile.len());
            let kind: &[u8] = match &profile[at..at + 4] {
                b"desc" => b"desc",
                b"cprt" => b"text",
                b"rTRC" | b"gTRC" | b"bTRC" => b"curv",
                _ => b"XYZ ",
            };
            assert_eq!(&profile[offset..offset + 4], kind);
        }
    }
}
