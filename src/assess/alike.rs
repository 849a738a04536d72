//! Rows that look as if pasted: cases alike in many numbers, found without holding every case against every other.
//!
//! Two cases with six numbers alike share two of them in one of five groups of columns, so only cases that share a
//! pair within a group are compared. The pairs are found by counting, so that all of it takes no longer than putting
//! the numbers of each column in order. Where very many cases share a pair of common numbers they are told apart by a
//! third that they share, and so on.

use std::collections::HashMap;

use super::across::NOTHING;

/// Numbers alike from which two cases look like a row pasted twice (project's own rule).
const ALIKE: usize = 6;
/// With this many groups of columns, six numbers alike put two into one group.
const GROUPS: usize = 5;
/// So many cases are held against each other one by one.
const FEW: usize = 48;
/// The rank of a number that is not there, or that no other case has.
const ALONE: u32 = 0;

/// For each case that is alike another, that other: the first of those with which it shares the first such pair.
pub(super) fn alike_pairs(cases: &[&[u64]]) -> Vec<(usize, usize)> {
    let columns = cases.first().map_or(0, |numbers| numbers.len());
    let ranks = Ranks::of(cases, columns);
    let mut partner: Vec<Option<u32>> = vec![None; cases.len()];
    let (mut order, mut starts) = (Vec::new(), Vec::new());
    for group in 0..GROUPS {
        let columns: Vec<usize> = (group..columns).step_by(GROUPS).collect();
        for (at, &first) in columns.iter().enumerate() {
            for &second in &columns[at + 1..] {
                ranks.in_order(first, second, &mut order, &mut starts);
                for run in ranks.runs(&order, first, second) {
                    ranks.find_partners(run, &[first, second], &mut partner);
                }
            }
        }
    }
    partner
        .into_iter()
        .enumerate()
        .filter_map(|(case, other)| Some((case, other? as usize)))
        .collect()
}

/// The numbers of all cases, each as its place among the numbers that several cases have in its column.
struct Ranks {
    columns: usize,
    /// Case by case, for holding two cases against each other.
    rows: Vec<u32>,
    /// Column by column, for going through all cases: a column stays at hand where the rows of all cases do not.
    by_column: Vec<Vec<u32>>,
    /// Column by column, the cases whose number another case has too, by rank and then by position.
    shared: Vec<Vec<u32>>,
    /// The columns, those with the fewest different numbers first.
    commonest: Vec<usize>,
}

impl Ranks {
    fn of(cases: &[&[u64]], columns: usize) -> Self {
        let mut rows = vec![ALONE; cases.len() * columns];
        let mut by_column = Vec::with_capacity(columns);
        let mut shared = Vec::with_capacity(columns);
        let mut different = Vec::with_capacity(columns);
        for column in 0..columns {
            let (ranks, greatest) = ranked(cases.iter().map(|numbers| numbers[column]));
            for (row, &rank) in rows.chunks_exact_mut(columns).zip(&ranks) {
                row[column] = rank;
            }
            different.push((greatest, column));
            shared.push(by_rank(&ranks, greatest));
            by_column.push(ranks);
        }
        different.sort_unstable();
        Self {
            columns,
            rows,
            by_column,
            shared,
            commonest: different.into_iter().map(|(_, column)| column).collect(),
        }
    }

    fn row(&self, case: u32) -> &[u32] {
        let start = case as usize * self.columns;
        &self.rows[start..start + self.columns]
    }

    fn rank(&self, case: u32, column: usize) -> u32 {
        self.by_column[column][case as usize]
    }

    fn alike(&self, one: u32, other: u32) -> bool {
        let same = self.row(one).iter().zip(self.row(other));
        // In the width of the ranks, so that several are compared at a time.
        let count: u32 = same
            .map(|(a, b)| u32::from(a == b) & u32::from(*a != ALONE))
            .sum();
        count as usize >= ALIKE
    }

    /// The cases with a shared number in both columns, in the order of the first, then the second, then of the cases:
    /// those in order of the second are dealt out by the first.
    fn in_order(&self, first: usize, second: usize, order: &mut Vec<u32>, starts: &mut Vec<u32>) {
        let of_second = || {
            self.shared[second]
                .iter()
                .map(|&case| (case, self.rank(case, first) as usize))
                .filter(|&(_, rank)| rank != ALONE as usize)
        };
        starts.clear();
        for (_, rank) in of_second() {
            if starts.len() <= rank + 1 {
                starts.resize(rank + 2, 0);
            }
            starts[rank + 1] += 1;
        }
        let mut sum = 0;
        for start in starts.iter_mut() {
            sum += *start;
            *start = sum;
        }
        order.clear();
        order.resize(sum as usize, 0);
        for (case, rank) in of_second() {
            order[starts[rank] as usize] = case;
            starts[rank] += 1;
        }
    }

    /// Cases that stand side by side and have the same number in both columns.
    fn runs<'o>(
        &self,
        order: &'o [u32],
        first: usize,
        second: usize,
    ) -> impl Iterator<Item = &'o [u32]> {
        let number = move |case: u32| (self.rank(case, first), self.rank(case, second));
        order
            .chunk_by(move |&a, &b| number(a) == number(b))
            .filter(|run| run.len() > 1)
    }

    /// Gives each case of a run (in order) that has no partner yet the first of the run that is alike.
    fn find_partners(&self, run: &[u32], sharing: &[usize], partner: &mut [Option<u32>]) {
        let others = &run[..run.len().min(FEW)];
        let mut open = Vec::new();
        for &case in run {
            if partner[case as usize].is_some() {
                continue;
            }
            let first = others
                .iter()
                .find(|&&other| other != case && self.alike(case, other));
            match first {
                Some(&other) => partner[case as usize] = Some(other),
                None if run.len() > FEW => open.push((case, None)),
                None => {}
            }
        }
        if !open.is_empty() {
            self.search(run, sharing, &mut open);
            for (case, other) in open {
                partner[case as usize] = other;
            }
        }
    }

    /// Looks for the first that is alike in a run of many, all of which share the numbers of `sharing`. Two that are
    /// alike share more columns; all of those but one may be left out of the search. A few are held against each of the
    /// run, which is less work than to tell the run apart.
    fn search(&self, run: &[u32], sharing: &[usize], open: &mut [(u32, Option<u32>)]) {
        if run.len() <= FEW || open.len() <= FEW || sharing.len() >= ALIKE {
            for (case, best) in open
                .iter_mut()
                .filter(|(case, _)| run.binary_search(case).is_ok())
            {
                let first = run
                    .iter()
                    .find(|&&other| other != *case && self.alike(*case, other));
                *best = first.copied().into_iter().chain(*best).min();
            }
            return;
        }
        let further = self
            .commonest
            .iter()
            .filter(|column| !sharing.contains(column));
        for &column in further.skip(ALIKE - sharing.len() - 1) {
            let mut by_number: Vec<(u32, u32)> = run
                .iter()
                .map(|&case| (self.rank(case, column), case))
                .filter(|&(rank, _)| rank != ALONE)
                .collect();
            by_number.sort_unstable();
            for same in by_number
                .chunk_by(|a, b| a.0 == b.0)
                .filter(|same| same.len() > 1)
            {
                let same: Vec<u32> = same.iter().map(|&(_, case)| case).collect();
                let mut open_here: Vec<(u32, Option<u32>)> = open
                    .iter()
                    .copied()
                    .filter(|(case, _)| same.binary_search(case).is_ok())
                    .collect();
                if open_here.is_empty() {
                    continue;
                }
                self.search(&same, &[sharing, &[column]].concat(), &mut open_here);
                for (case, other) in open_here {
                    let at = open.binary_search_by_key(&case, |entry| entry.0);
                    if let Ok(at) = at {
                        open[at].1 = other;
                    }
                }
            }
        }
    }
}

/// The rank of each number among those that stand more than once, the least first, and the greatest rank. Numbers
/// repeat, so that the different ones are put in order and not all.
fn ranked(numbers: impl Iterator<Item = u64> + Clone) -> (Vec<u32>, u32) {
    let mut counts: HashMap<u64, u32> = HashMap::new();
    for number in numbers.clone().filter(|&number| number != NOTHING) {
        *counts.entry(number).or_default() += 1;
    }
    let mut shared: Vec<u64> = counts
        .iter()
        .filter_map(|(&number, &count)| (count > 1).then_some(number))
        .collect();
    shared.sort_unstable();
    counts.clear();
    counts.extend(shared.into_iter().zip(ALONE + 1..));
    let greatest = counts.len();
    let ranks = numbers
        .map(|number| counts.get(&number).copied().unwrap_or(ALONE))
        .collect();
    (ranks, u32::try_from(greatest).unwrap_or(u32::MAX))
}

/// The cases with a rank, by rank and then by position.
fn by_rank(ranks: &[u32], greatest: u32) -> Vec<u32> {
    let mut starts = vec![0_u32; greatest as usize + 1];
    for &rank in ranks.iter().filter(|&&rank| rank != ALONE) {
        starts[rank as usize] += 1;
    }
    let mut sum = 0;
    for start in &mut starts {
        sum += std::mem::replace(start, sum);
    }
    let mut cases = vec![0; sum as usize];
    for (case, &rank) in (0..).zip(ranks).filter(|&(_, &rank)| rank != ALONE) {
        let next = &mut starts[rank as usize];
        cases[*next as usize] = case;
        *next += 1;
    }
    cases
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    /// Every case against every other.
    fn plainly(cases: &[Vec<u64>]) -> Vec<Vec<usize>> {
        let alike = |a: &[u64], b: &[u64]| {
            a.iter()
                .zip(b)
                .filter(|(a, b)| a == b && **a != NOTHING)
                .count()
                >= 6
        };
        (0..cases.len())
            .map(|case| {
                (0..cases.len())
                    .filter(|&other| other != case && alike(&cases[case], &cases[other]))
                    .collect()
            })
            .collect()
    }

    fn agrees(cases: &[Vec<u64>]) {
        let rows: Vec<&[u64]> = cases.iter().map(Vec::as_slice).collect();
        let found: std::collections::HashMap<usize, usize> =
            alike_pairs(&rows).into_iter().collect();
        for (case, alike) in plainly(cases).iter().enumerate() {
            match found.get(&case) {
                Some(other) => assert!(alike.contains(other), "{case} and {other}"),
                None => assert!(alike.is_empty(), "{case} and {alike:?}"),
            }
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(64))]

        /// Few different numbers, so that runs are long; one in ten is not there.
        #[test]
        fn prop_the_same_cases_are_found_as_by_holding_each_against_each(
            cases in prop::collection::vec(prop::collection::vec((0_u64..40, 0_u8..10), 23), 2..400),
            widths in prop::collection::vec(1_u64..41, 23),
        ) {
            let cases: Vec<Vec<u64>> = cases
                .into_iter()
                .map(|row| row.into_iter().zip(&widths).map(|((number, blank), width)| if blank == 0 { NOTHING } else { number % width }).collect())
                .collect();
            agrees(&cases);
        }
    }

    /// Five numbers that all cases share are not six: long runs, and nobody is alike but the two pasted.
    #[test]
    fn common_numbers_do_not_hide_a_pasted_row() {
        let mut cases: Vec<Vec<u64>> = (0..600_u64)
            .map(|case| {
                (0..25)
                    .map(|column| if column < 5 { 7 } else { case * 100 + column })
                    .collect()
            })
            .collect();
        agrees(&cases);
        cases[555][20] = cases[3][20];
        agrees(&cases);
        let rows: Vec<&[u64]> = cases.iter().map(Vec::as_slice).collect();
        assert_eq!(alike_pairs(&rows), [(3, 555), (555, 3)]);
    }

    /// Five numbers that all cases share, two of them in one group: all stand in one long run, and nearly all are alike
    /// the first. The two that are alike only each other stand late in it.
    #[test]
    fn the_last_two_of_a_long_run_find_each_other() {
        let (one, other) = (150, 170);
        let cases: Vec<Vec<u64>> = (0..200_u64)
            .map(|case| {
                let mut numbers: Vec<u64> = (0..25).map(|column| case * 100 + column).collect();
                for column in [0, 1, 2, 3, 5] {
                    numbers[column] = 7;
                }
                match case {
                    150 | 170 => numbers[4] = 77,
                    _ => numbers[6] = 9,
                }
                numbers
            })
            .collect();
        agrees(&cases);
        let rows: Vec<&[u64]> = cases.iter().map(Vec::as_slice).collect();
        let found = alike_pairs(&rows);
        assert!(found.contains(&(one, other)) && found.contains(&(other, one)));
    }
}
