//! Sets of columns of a row: a bit each.

/// Columns of a row, by their position.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct ColumnSet([u64; Self::WORDS]);

impl ColumnSet {
    const WORDS: usize = 4;
    /// A row has no more columns.
    pub const MOST: usize = Self::WORDS * 64;

    /// Puts the column at this position into the set.
    ///
    /// # Panics
    /// Where a row cannot have so many columns.
    #[inline(always)]
    pub fn insert(&mut self, position: usize) {
        self.0[position / 64] |= 1 << (position % 64);
    }

    /// Whether the column at this position is in the set.
    pub fn contains(&self, position: usize) -> bool {
        self.0[position / 64] >> (position % 64) & 1 == 1
    }

    /// Puts the columns of another set into this one.
    pub fn extend(&mut self, other: &Self) {
        for (word, other) in self.0.iter_mut().zip(other.0) {
            *word |= other;
        }
    }

    /// The positions of the columns that are in this set and not in the other, in their order.
    pub fn without(&self, other: &Self) -> impl Iterator<Item = usize> {
        let words: [u64; Self::WORDS] = std::array::from_fn(|at| self.0[at] & !other.0[at]);
        words.into_iter().enumerate().flat_map(|(at, word)| {
            let first = |word: &u64| (*word != 0).then_some(*word);
            std::iter::successors(first(&word), move |word| first(&(word & (word - 1))))
                .map(move |word| at * 64 + word.trailing_zeros() as usize)
        })
    }
}

impl FromIterator<usize> for ColumnSet {
    fn from_iter<I: IntoIterator<Item = usize>>(positions: I) -> Self {
        let mut set = Self::default();
        for position in positions {
            set.insert(position);
        }
        set
    }
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use proptest::prelude::*;

    use super::*;

    proptest! {
        /// As the standard library's sets.
        #[test]
        fn prop_sets_are_sets(
            one in prop::collection::btree_set(0..ColumnSet::MOST, 0..80),
            other in prop::collection::btree_set(0..ColumnSet::MOST, 0..80),
        ) {
            let [first, second] = [&one, &other].map(|set| set.iter().copied().collect::<ColumnSet>());
            prop_assert!((0..ColumnSet::MOST).all(|at| first.contains(at) == one.contains(&at)));
            let left: Vec<usize> = one.difference(&other).copied().collect();
            prop_assert_eq!(first.without(&second).collect::<Vec<_>>(), left);
            let mut both = first;
            both.extend(&second);
            let union: BTreeSet<usize> = one.union(&other).copied().collect();
            prop_assert_eq!(both.without(&ColumnSet::default()).collect::<BTreeSet<_>>(), union);
        }
    }
}
