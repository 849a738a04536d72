//! Rows that look as if pasted: cases alike in many numbers, found without holding every case against every other.
//!
//! Two cases with six numbers alike share two of them in one of five groups of columns, so only cases that share a
//! pair within a group are compared. The pairs are found by counting, so that all of it takes no longer than putting
//! the numbers of each column in order. Where very many cases share a pair of common numbers they are told apart by a
//! third that they share, and so on.

use std::collections::{HashMap, HashSet};
use std::ops::Range;

use foldhash::fast::RandomState;

use super::across::NOTHING;

/// Numbers alike from which two cases look like a row pasted twice (project's own rule).
const ALIKE: usize = 6;
/// With this many groups of columns, six numbers alike put two into one group.
const GROUPS: usize = 5;
/// So many cases are held against each other one by one.
const FEW: usize = 128;
/// The rank of a number that is not there, or that no other case has.
const ALONE: u32 = 0;
/// Numbers of two cases that are held against each other at a time.
const LANES: usize = 16;
/// Cases that show which columns hold few different numbers.
const FIRST_CASES: usize = 4096;

/// For each case that is alike another, that other: the first of those with which it shares the first such pair.
pub(super) fn alike_pairs(cases: &[&[u64]]) -> Vec<(usize, usize)> {
    let mut search = Search {
        table: Table::of(cases),
        partner: vec![None; cases.len()],
        open: (0..).take(cases.len()).collect(),
        dealt: Dealt::default(),
    };
    // The room that one group takes serves the next.
    let mut numbers: Vec<Vec<u64>> = Vec::new();
    let mut columns: Vec<Column> = Vec::new();
    for group in 0..GROUPS {
        let positions: Vec<usize> = (group..search.table.columns).step_by(GROUPS).collect();
        numbers.resize_with(positions.len(), Vec::new);
        columns.resize_with(positions.len(), Column::default);
        transpose(cases, &positions, &mut numbers);
        for (column, numbers) in columns.iter_mut().zip(&numbers) {
            column.rank(numbers);
        }
        for (at, first) in columns.iter().enumerate() {
            for (behind, second) in (at + 1..).zip(&columns[at + 1..]) {
                search.pair([first, second], [positions[at], positions[behind]]);
            }
        }
    }
    let partners = search.partner.into_iter().enumerate();
    partners
        .filter_map(|(case, other)| Some((case, other? as usize)))
        .collect()
}

/// The search for the cases that are alike another.
struct Search<'c> {
    table: Table<'c>,
    /// For each case, the other that was found.
    partner: Vec<Option<u32>>,
    /// The cases without one.
    open: Vec<u32>,
    dealt: Dealt,
}

impl Search<'_> {
    /// Looks among the cases that share the numbers of both columns, which stand at these positions.
    fn pair(&mut self, [first, second]: [&Column; 2], positions: [usize; 2]) {
        // Where few are without a partner, one by one is less work than to go through all.
        let fewest = |case: u32| match first.sharing(case).len() <= second.sharing(case).len() {
            true => (first.sharing(case), second),
            false => (second.sharing(case), first),
        };
        let one_by_one: usize = self.open.iter().map(|&case| fewest(case).0.len()).sum();
        if one_by_one <= self.partner.len() {
            for &case in &self.open {
                let (sharing, other) = fewest(case);
                let both = sharing.iter().copied().filter(|&of| other.share(case, of));
                self.partner[case as usize] = self.table.first_alike(case, both);
            }
        } else {
            self.dealt.deal(first, second);
            self.dealt.each_run(first, |run| {
                self.table.find_partners(run, &positions, &mut self.partner);
            });
        }
        self.open
            .retain(|&case| self.partner[case as usize].is_none());
    }
}

/// The numbers of a column, each as its rank among those that several cases have.
#[derive(Default)]
struct Column {
    /// The rank of each case.
    ranks: Vec<u32>,
    /// The cases whose number another case has too, by rank and then by position.
    shared: Vec<u32>,
    /// Where the cases of a rank begin in `shared`; behind the last rank, where they end.
    starts: Vec<u32>,
}

impl Column {
    /// Puts these numbers in place of those that were ranked before: the rank of each among those that stand more than
    /// once, in the order in which they come.
    fn rank(&mut self, numbers: &[u64]) {
        let mut places: HashMap<u64, u32, RandomState> = HashMap::default();
        // What is not there has a place of its own, which nobody counts.
        let mut counts: Vec<u32> = vec![0];
        self.ranks.clear();
        self.ranks.extend(numbers.iter().map(|&number| {
            if number == NOTHING {
                return 0;
            }
            let place = *places.entry(number).or_insert(counts.len() as u32);
            match counts.get_mut(place as usize) {
                Some(count) => *count += 1,
                None => counts.push(1),
            }
            place
        }));
        // From here on the cases of each rank, one rank behind the other.
        self.starts.clear();
        self.starts.push(0);
        let mut sum = 0;
        let rank_of: Vec<u32> = counts
            .iter()
            .map(|&count| {
                if count < 2 {
                    return ALONE;
                }
                self.starts.push(sum);
                sum += count;
                self.starts.len() as u32 - 1
            })
            .collect();
        for rank in &mut self.ranks {
            *rank = rank_of[*rank as usize];
        }
        let mut next = self.starts.clone();
        self.shared.clear();
        self.shared.resize(sum as usize, 0);
        for (case, &rank) in (0..).zip(&self.ranks).filter(|&(_, &rank)| rank != ALONE) {
            let next = &mut next[rank as usize];
            self.shared[*next as usize] = case;
            *next += 1;
        }
        self.starts.push(sum);
    }

    /// The cases that have the number of this one, itself among them, in their order; none where it is alone.
    fn sharing(&self, case: u32) -> &[u32] {
        match self.ranks[case as usize] {
            ALONE => &[],
            rank => {
                let [start, end] = [0, 1].map(|next| self.starts[rank as usize + next] as usize);
                &self.shared[start..end]
            }
        }
    }

    /// Whether two cases have the same number.
    fn share(&self, one: u32, other: u32) -> bool {
        let rank = self.ranks[one as usize];
        rank != ALONE && rank == self.ranks[other as usize]
    }

    /// Each rank, and where its cases stand in `shared`.
    fn groups(&self) -> impl Iterator<Item = (u32, Range<usize>)> {
        let groups = self
            .starts
            .windows(2)
            .map(|ends| ends[0] as usize..ends[1] as usize);
        (0..).zip(groups).skip(ALONE as usize + 1)
    }
}

/// The cases with a shared number in two columns, dealt out by the first, and of one rank there by the second.
#[derive(Default)]
struct Dealt {
    /// The rank in the second column, and the case: where the cases of a rank begin in the first column, those that are
    /// also in the second.
    cases: Vec<(u32, u32)>,
    /// Where the cases of a rank end.
    ends: Vec<u32>,
    run: Vec<u32>,
}

impl Dealt {
    fn deal(&mut self, first: &Column, second: &Column) {
        self.cases.resize(first.shared.len(), (ALONE, 0));
        self.ends.clone_from(&first.starts);
        for (rank, group) in second.groups() {
            for &case in &second.shared[group] {
                let into = first.ranks[case as usize];
                if into != ALONE {
                    let end = &mut self.ends[into as usize];
                    self.cases[*end as usize] = (rank, case);
                    *end += 1;
                }
            }
        }
    }

    /// Several cases with the same number in both columns, in their order.
    fn each_run(&mut self, first: &Column, mut take: impl FnMut(&[u32])) {
        for (rank, group) in first.groups() {
            let dealt = &self.cases[group.start..self.ends[rank as usize] as usize];
            for same in dealt.chunk_by(|a, b| a.0 == b.0) {
                if same.len() > 1 {
                    self.run.clear();
                    self.run.extend(same.iter().map(|&(_, case)| case));
                    take(&self.run);
                }
            }
        }
    }
}

/// The numbers of all cases.
struct Table<'c> {
    cases: &'c [&'c [u64]],
    columns: usize,
    /// The columns, those with the fewest different numbers first.
    commonest: Vec<usize>,
    /// Case by case, each number as a byte ([`byte_of`]), for holding two cases against each other.
    bytes: Vec<[u8; LANES]>,
}

impl<'c> Table<'c> {
    fn of(cases: &'c [&'c [u64]]) -> Self {
        let columns = cases.first().map_or(0, |numbers| numbers.len());
        let different = |column: usize| {
            let first = cases.iter().take(FIRST_CASES);
            let numbers: HashSet<u64, RandomState> = first.map(|numbers| numbers[column]).collect();
            numbers.len()
        };
        let mut commonest: Vec<usize> = (0..columns).collect();
        commonest.sort_by_cached_key(|&column| different(column));
        let mut bytes = Vec::with_capacity(cases.len() * columns.div_ceil(LANES));
        for case in cases {
            bytes.extend(case.chunks(LANES).map(|block| {
                let mut as_bytes = [0; LANES];
                for (byte, &number) in as_bytes.iter_mut().zip(block) {
                    *byte = byte_of(number);
                }
                as_bytes
            }));
        }
        Self {
            cases,
            columns,
            commonest,
            bytes,
        }
    }

    fn bytes(&self, case: u32) -> &[[u8; LANES]] {
        let blocks = self.columns.div_ceil(LANES);
        let start = case as usize * blocks;
        &self.bytes[start..start + blocks]
    }

    /// Whether two cases are alike. Numbers that are the same are the same as bytes, and few others are.
    fn alike(&self, one: u32, other: u32) -> bool {
        // Lane by lane, so that all of a block are compared at a time.
        let mut same = [0_u8; LANES];
        for (a, b) in self.bytes(one).iter().zip(self.bytes(other)) {
            for lane in 0..LANES {
                same[lane] += u8::from(a[lane] == b[lane]) & u8::from(a[lane] != 0);
            }
        }
        let as_bytes: usize = same.into_iter().map(usize::from).sum();
        as_bytes >= ALIKE && {
            let [one, other] = [one, other].map(|case| self.cases[case as usize]);
            let same = one
                .iter()
                .zip(other)
                .filter(|(a, b)| a == b && **a != NOTHING);
            same.count() >= ALIKE
        }
    }

    /// The first of these cases that is alike another.
    fn first_alike(&self, case: u32, others: impl IntoIterator<Item = u32>) -> Option<u32> {
        let mut others = others.into_iter();
        others.find(|&other| other != case && self.alike(case, other))
    }

    /// Gives each case of a run (in order) that has no partner yet the first of the run that is alike.
    fn find_partners(&self, run: &[u32], sharing: &[usize], partner: &mut [Option<u32>]) {
        let (others, further) = run.split_at(run.len().min(FEW));
        let mut open = Vec::new();
        for &case in run {
            if partner[case as usize].is_none() {
                partner[case as usize] = self.first_alike(case, others.iter().copied());
                if partner[case as usize].is_none() && !further.is_empty() {
                    open.push((case, None));
                }
            }
        }
        if open.len() <= FEW {
            for (case, other) in &mut open {
                *other = self.first_alike(*case, further.iter().copied());
            }
        } else {
            self.search(run, sharing, &mut open);
        }
        for (case, other) in open {
            partner[case as usize] = other;
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
                let first = self.first_alike(*case, run.iter().copied());
                *best = first.into_iter().chain(*best).min();
            }
            return;
        }
        let further = self
            .commonest
            .iter()
            .filter(|column| !sharing.contains(column));
        for &column in further.skip(ALIKE - sharing.len() - 1) {
            let mut by_number: Vec<(u64, u32)> = run
                .iter()
                .map(|&case| (self.cases[case as usize][column], case))
                .filter(|&(number, _)| number != NOTHING)
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

/// The numbers of these columns, column by column, in place of those that stood there.
fn transpose(cases: &[&[u64]], columns: &[usize], numbers: &mut [Vec<u64>]) {
    for numbers in &mut *numbers {
        numbers.clear();
        numbers.reserve(cases.len());
    }
    for case in cases {
        for (numbers, &column) in numbers.iter_mut().zip(columns) {
            numbers.push(case[column]);
        }
    }
}

/// A number as a byte: 0 where it is not there, and only there.
fn byte_of(number: u64) -> u8 {
    if number == NOTHING {
        return 0;
    }
    // Its highest bits after a multiplication rest on all of them (Knuth, The Art of Computer Programming 3, 6.4).
    let [.., highest] = number.wrapping_mul(0x9E37_79B9_7F4A_7C15).to_le_bytes();
    highest.max(1)
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

    /// All cases share two numbers and no two share a third, but as bytes all of them are the same.
    #[test]
    fn numbers_that_are_the_same_as_bytes_only_are_not_alike() {
        let one_byte = (0_u64..).filter(|&number| byte_of(number) == 9);
        let mut cases: Vec<Vec<u64>> = one_byte
            .take(300)
            .map(|number| {
                let of_column = |column| if matches!(column, 0 | 5) { 7 } else { number };
                (0..25).map(of_column).collect()
            })
            .collect();
        agrees(&cases);
        cases[200] = cases[100].clone();
        agrees(&cases);
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
