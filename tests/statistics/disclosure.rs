//! Hiding small counts.

use super::reference::{VALUES, count, counts, list};
use proptest::prelude::*;
use std::collections::BTreeSet;
use valvefolio::cohort::statistics::{
    Released, release_proportion, release_row, release_table, summary_released,
};

/// The eight hand-made vectors (`disclosure_vectors`), marks and all.
#[test]
fn hand_made_rows() {
    let vectors = list(&VALUES["disclosure_vectors"]);
    assert_eq!(vectors.len(), 8);
    for vector in vectors {
        let written = |value: &serde_json::Value| match value.as_str() {
            Some(mark) => mark.to_owned(),
            None => count(value).to_string(),
        };
        let row = release_row(&counts(&vector["cells"]), count(&vector["threshold"]));
        let shown: Vec<String> = row.cells.iter().map(ToString::to_string).collect();
        let expected: Vec<String> = list(&vector["expect"]).iter().map(written).collect();
        assert_eq!(shown, expected, "{}", vector["what"]);
        assert_eq!(row.total.to_string(), written(&vector["total_shown"]));
    }
}

/// Worked by hand: where nothing else is left to hide, the total goes.
#[test]
fn the_total_is_the_last_to_be_hidden() {
    let row = release_row(&[4, 0, 4], 5);
    assert_eq!(row.cells[1], Released::Count(0));
    assert_eq!(row.total, Released::Suppressed);
    let row = release_row(&[5, 1], 5);
    assert_eq!(row.cells, [Released::Suppressed, Released::Below(5)]);
    assert_eq!(row.total, Released::Suppressed);
}

/// Worked by hand: 58 of 60 gives away 2; 0 of 60 gives away nothing.
#[test]
fn complements_are_protected() {
    assert!(!release_proportion(58, 60, 5).unwrap().is_complete());
    assert!(release_proportion(60, 60, 5).unwrap().is_complete());
    assert!(release_proportion(20, 60, 5).unwrap().is_complete());
    assert_eq!(release_proportion(61, 60, 5), None);
}

/// The threshold is a setting: 0 and 1 hide nothing, 11 hides 1 to 10, 2 cannot hide a 1.
#[test]
fn the_threshold_is_a_setting() {
    for off in [0, 1] {
        assert!(release_row(&[1, 2, 3], off).is_complete());
        assert!(summary_released(1, off));
    }
    let row = release_row(&[10, 11, 50], 11);
    assert_eq!(row.cells[0], Released::Below(11));
    assert_eq!(row.cells[1], Released::Suppressed);
    assert_eq!(release_row(&[1, 20, 30], 2).cells[0], Released::Below(3));
    assert!(summary_released(5, 5) && !summary_released(4, 5));
}

/// A hidden count that both its row and its column seem to protect, but their sum gives away:
/// rows 1-2 and 3-4 form two blocks joined by one cell.
#[test]
fn a_bridge_between_blocks_is_not_solved() {
    let rows = vec![
        vec![3, 3, 0, 0],
        vec![3, 3, 3, 0],
        vec![0, 20, 3, 3],
        vec![0, 0, 3, 3],
    ];
    let released = release_table(&rows, 5).unwrap();
    assert!(released.rows[1].cells[2].count().is_none());
    let more_hidden = released
        .rows
        .iter()
        .flat_map(|row| &row.cells)
        .any(|cell| *cell == Released::Suppressed)
        || released.rows.iter().any(|row| row.total.count().is_none());
    assert!(
        more_hidden,
        "the nine small cells alone would give the bridge away"
    );
}

/// Rows of different lengths are no table.
#[test]
fn ragged_tables_are_refused() {
    assert_eq!(release_table(&[vec![1, 2], vec![3]], 5), None);
    let empty = release_table(&[], 5).unwrap();
    assert_eq!(empty.total, Released::Count(0));
}

/// The range a reader infers from a mark: `small_group` when a total it belongs to is shown as small.
fn inferred(mark: Released, small_group: bool, threshold: usize, cap: usize) -> (usize, usize) {
    match mark {
        Released::Count(count) => (count, count),
        Released::Below(_) => (1, threshold - 1),
        Released::Suppressed if small_group => (0, threshold - 1),
        Released::Suppressed => (threshold, cap),
    }
}

/// All rows within the ranges of their cells whose sum lies within `sums`.
fn rows_within(ranges: &[(usize, usize)], sums: (usize, usize)) -> Vec<Vec<usize>> {
    let Some((&(low, high), rest)) = ranges.split_first() else {
        return if sums.0 == 0 { vec![vec![]] } else { vec![] };
    };
    let mut rows = Vec::new();
    for first in low..=high.min(sums.1) {
        let left = (sums.0.saturating_sub(first), sums.1 - first);
        for mut row in rows_within(rest, left) {
            row.insert(0, first);
            rows.push(row);
        }
    }
    rows
}

/// The values each cell takes over all tables a reader could believe in, found by trying them all:
/// independent of how the hiding was done. None when even the table's total is hidden.
fn believable(rows: &[Vec<usize>], threshold: usize) -> Option<Vec<BTreeSet<usize>>> {
    let released = release_table(rows, threshold).unwrap();
    let cap = released.total.count()?;
    let below = |mark: Released| matches!(mark, Released::Below(_));
    let candidates: Vec<Vec<Vec<usize>>> = released
        .rows
        .iter()
        .map(|row| {
            let ranges: Vec<(usize, usize)> = row
                .cells
                .iter()
                .zip(&released.column_totals)
                .map(|(&cell, &column)| {
                    let small_group = below(row.total) || below(column);
                    let (low, high) = inferred(cell, small_group, threshold, cap);
                    (low, high.min(inferred(column, false, threshold, cap).1))
                })
                .collect();
            rows_within(&ranges, inferred(row.total, false, threshold, cap))
        })
        .collect();
    let columns: Vec<(usize, usize)> = released
        .column_totals
        .iter()
        .map(|&mark| inferred(mark, false, threshold, cap))
        .collect();
    let mut values = vec![BTreeSet::new(); rows.len() * columns.len()];
    let mut chosen = Vec::new();
    try_rows(&candidates, &columns, cap, &mut chosen, &mut values);
    Some(values)
}

fn try_rows(
    candidates: &[Vec<Vec<usize>>],
    columns: &[(usize, usize)],
    total: usize,
    chosen: &mut Vec<Vec<usize>>,
    values: &mut [BTreeSet<usize>],
) {
    let sums: Vec<usize> = (0..columns.len())
        .map(|j| chosen.iter().map(|row| row[j]).sum())
        .collect();
    if sums
        .iter()
        .zip(columns)
        .any(|(&sum, column)| sum > column.1)
    {
        return;
    }
    if chosen.len() == candidates.len() {
        let fits = sums
            .iter()
            .zip(columns)
            .all(|(&sum, column)| sum >= column.0);
        if fits && sums.iter().sum::<usize>() == total {
            for (seen, &cell) in values.iter_mut().zip(chosen.iter().flatten()) {
                seen.insert(cell);
            }
        }
        return;
    }
    for row in &candidates[chosen.len()] {
        chosen.push(row.clone());
        try_rows(candidates, columns, total, chosen, values);
        chosen.pop();
    }
}

/// A table of the given size with counts up to `most`, and a threshold.
fn table(
    rows: usize,
    columns: usize,
    most: usize,
) -> impl Strategy<Value = (Vec<Vec<usize>>, usize)> {
    let row = proptest::collection::vec(0..=most, columns);
    (proptest::collection::vec(row, rows), 3..=most.clamp(3, 5))
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    /// No hidden count of a small two-way table can be solved, by brute force.
    #[test]
    fn prop_hidden_cells_of_a_table_cannot_be_solved(
        (rows, threshold) in prop_oneof![
            table(2, 2, 9),
            table(2, 3, 6),
            table(3, 2, 6),
            table(3, 3, 3),
        ],
    ) {
        if let Some(values) = believable(&rows, threshold) {
            let released = release_table(&rows, threshold).unwrap();
            let marks = released.rows.iter().flat_map(|row| row.cells.clone());
            for ((mark, values), truth) in marks.zip(values).zip(rows.iter().flatten()) {
                prop_assert!(values.contains(truth), "the truth itself must be believable");
                if mark.count().is_none() {
                    prop_assert!(values.len() > 1, "{rows:?} at {threshold}: {released:?}");
                }
            }
        }
    }

    /// No hidden count of a row can be solved, and what is shown is true.
    #[test]
    fn prop_hidden_cells_of_a_row_cannot_be_solved(
        row in proptest::collection::vec(0_usize..=12, 1..=4),
        threshold in 3_usize..=6,
    ) {
        let released = release_row(&row, threshold);
        for (mark, &truth) in released.cells.iter().zip(&row) {
            match mark {
                Released::Count(count) => {
                    prop_assert_eq!(*count, truth);
                    prop_assert!(truth == 0 || truth >= threshold);
                }
                Released::Below(_) => prop_assert!((1..threshold).contains(&truth)),
                Released::Suppressed => {}
            }
        }
        if let Some(total) = released.total.count() {
            let ranges: Vec<_> = released.cells.iter().map(|&m| inferred(m, false, threshold, total)).collect();
            for (i, mark) in released.cells.iter().enumerate() {
                if mark.count().is_none() {
                    let others_low: usize = ranges.iter().enumerate().filter(|(j, _)| *j != i).map(|(_, r)| r.0).sum();
                    let others_high: usize = ranges.iter().enumerate().filter(|(j, _)| *j != i).map(|(_, r)| r.1).sum();
                    let low = ranges[i].0.max(total.saturating_sub(others_high));
                    let high = ranges[i].1.min(total - others_low);
                    prop_assert!(low < high, "{row:?} at {threshold}");
                }
            }
        }
    }
}
