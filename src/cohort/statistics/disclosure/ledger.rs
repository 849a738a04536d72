//! Counts as payments between accounts that balance, to find out which hidden ones can be solved.
//!
//! Every row and every column of a table is an account; a cell is paid from its row into its
//! column, a total back. A hidden count can have another value exactly when some payment can be
//! sent round a circle of hidden counts through it without any of them leaving its range. The
//! values at the ends of such ranges are whole numbers, so the answer is exact, not a bound.

use super::Released;

/// What a count is, in the order in which they are hidden to protect others.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Kind {
    Cell,
    Margin,
    Grand,
}

/// A count paid from one account into another.
pub(super) struct Entry {
    from: usize,
    into: usize,
    count: usize,
    kind: Kind,
    hidden: Option<Hidden>,
}

/// The range a reader can infer from the mark of a hidden count.
#[derive(Clone, Copy)]
struct Hidden {
    least: usize,
    most: usize,
    mark: Released,
}

impl Entry {
    pub(super) fn new(from: usize, into: usize, count: usize, kind: Kind) -> Self {
        Self {
            from,
            into,
            count,
            kind,
            hidden: None,
        }
    }

    fn touches(&self, account: usize) -> bool {
        self.from == account || self.into == account
    }
}

pub(super) struct Ledger {
    accounts: usize,
    threshold: usize,
    entries: Vec<Entry>,
}

impl Ledger {
    pub(super) fn new(accounts: usize, threshold: usize) -> Self {
        Self {
            accounts,
            threshold,
            entries: Vec::new(),
        }
    }

    /// Adds a count and returns its index.
    pub(super) fn add(&mut self, entry: Entry) -> usize {
        self.entries.push(entry);
        self.entries.len() - 1
    }

    /// Hides a count of 1 to threshold − 1 and says so.
    pub(super) fn hide_small(&mut self, index: usize) {
        self.entries[index].hidden = Some(Hidden {
            least: 1,
            most: self.threshold - 1,
            mark: Released::Below(self.threshold),
        });
    }

    /// Hides a count, which may be 0, of a group whose total is small.
    pub(super) fn hide_in_small_group(&mut self, index: usize) {
        self.entries[index].hidden = Some(Hidden {
            least: 0,
            most: self.threshold - 1,
            mark: Released::Suppressed,
        });
    }

    /// Hides every count and lets nothing be inferred.
    pub(super) fn hide_everything(&mut self) {
        for entry in &mut self.entries {
            entry.hidden = Some(Hidden {
                least: 0,
                most: usize::MAX,
                mark: Released::Suppressed,
            });
        }
    }

    /// Hides further counts until no hidden one can be solved.
    pub(super) fn protect(&mut self) {
        while let Some(solved) = (0..self.entries.len()).find(|&index| self.is_solved(index)) {
            match self.next_to_hide(solved) {
                Some(index) => {
                    self.entries[index].hidden = Some(Hidden {
                        least: self.threshold,
                        most: usize::MAX,
                        mark: Released::Suppressed,
                    });
                }
                None => self.hide_everything(),
            }
        }
    }

    /// A count as it may be shown.
    pub(super) fn released(&self, index: usize) -> Released {
        let entry = &self.entries[index];
        entry
            .hidden
            .map_or(Released::Count(entry.count), |hidden| hidden.mark)
    }

    /// The smallest shown count other than 0 in the lines where the solved one stands alone (in
    /// both its lines when it stands alone in neither), else anywhere; cells before totals.
    fn next_to_hide(&self, solved: usize) -> Option<usize> {
        let entry = &self.entries[solved];
        let lines = [entry.from, entry.into];
        let alone = |account: &usize| {
            let hidden = |e: &&Entry| e.hidden.is_some() && e.touches(*account);
            self.entries.iter().filter(hidden).count() == 1
        };
        let lonely: Vec<usize> = lines.iter().copied().filter(|a| alone(a)).collect();
        self.smallest_shown(|e| lonely.iter().any(|&a| e.touches(a)))
            .or_else(|| self.smallest_shown(|e| lines.iter().any(|&a| e.touches(a))))
            .or_else(|| self.smallest_shown(|_| true))
    }

    fn smallest_shown(&self, within: impl Fn(&Entry) -> bool) -> Option<usize> {
        (0..self.entries.len())
            .filter(|&i| {
                let entry = &self.entries[i];
                entry.hidden.is_none() && entry.count > 0 && within(entry)
            })
            .min_by_key(|&i| (self.entries[i].kind, self.entries[i].count))
    }

    /// Whether a count is hidden and yet can have one value only.
    fn is_solved(&self, index: usize) -> bool {
        let entry = &self.entries[index];
        let Some(hidden) = entry.hidden else {
            return false;
        };
        let could_be_more =
            entry.count < hidden.most && self.can_pay(entry.into, entry.from, index);
        let could_be_less =
            entry.count > hidden.least && self.can_pay(entry.from, entry.into, index);
        !(could_be_more || could_be_less)
    }

    /// Whether one more unit can reach `to` from `from` through hidden counts other than `except`:
    /// along a count that may grow, or against one that may shrink.
    fn can_pay(&self, from: usize, to: usize, except: usize) -> bool {
        let mut reached = vec![false; self.accounts];
        let mut waiting = vec![from];
        reached[from] = true;
        while let Some(account) = waiting.pop() {
            if account == to {
                return true;
            }
            for (index, entry) in self.entries.iter().enumerate() {
                let Some(hidden) = entry.hidden else { continue };
                if index == except {
                    continue;
                }
                let next = if entry.from == account && entry.count < hidden.most {
                    entry.into
                } else if entry.into == account && entry.count > hidden.least {
                    entry.from
                } else {
                    continue;
                };
                if !reached[next] {
                    reached[next] = true;
                    waiting.push(next);
                }
            }
        }
        false
    }
}
