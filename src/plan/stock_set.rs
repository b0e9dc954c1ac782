//! Sets of stocks, by index, of any number.

/// Some of a rig's stocks.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(super) struct StockSet {
    /// Bit by bit; the last word is never 0, so that equal sets are equal words.
    words: Vec<u64>,
}

impl StockSet {
    /// Whether a stock is one of them.
    pub(super) fn has(&self, stock: usize) -> bool {
        self.words.get(stock / 64).is_some_and(|word| word >> (stock % 64) & 1 == 1)
    }

    /// Whether there is none.
    pub(super) fn is_empty(&self) -> bool {
        self.words.is_empty()
    }

    /// How many there are.
    pub(super) fn len(&self) -> usize {
        self.words.iter().map(|word| word.count_ones() as usize).sum()
    }

    /// Puts a stock in.
    pub(super) fn add(&mut self, stock: usize) {
        let word = stock / 64;
        self.words.resize(self.words.len().max(word + 1), 0);
        self.words[word] |= 1 << (stock % 64);
    }

    /// Puts in all of another set.
    pub(super) fn add_all(&mut self, other: &StockSet) {
        self.words.resize(self.words.len().max(other.words.len()), 0);
        self.words.iter_mut().zip(&other.words).for_each(|(word, more)| *word |= more);
    }

    /// Those that another set does not have.
    pub(super) fn without(&self, other: &StockSet) -> StockSet {
        self.iter().filter(|stock| !other.has(*stock)).collect()
    }

    /// Whether all of another set are in this one.
    pub(super) fn covers(&self, other: &StockSet) -> bool {
        other.words.len() <= self.words.len()
            && other.words.iter().zip(&self.words).all(|(theirs, ours)| theirs & !ours == 0)
    }

    /// The stocks, in order.
    pub(super) fn iter(&self) -> impl Iterator<Item = usize> {
        self.words.iter().enumerate().flat_map(|(n, word)| {
            let after = |word: &u64| Some(word & (word - 1)).filter(|left| *left != 0);
            let lowest = std::iter::successors(Some(*word).filter(|word| *word != 0), after);
            lowest.map(move |word| n * 64 + word.trailing_zeros() as usize)
        })
    }
}

impl FromIterator<usize> for StockSet {
    fn from_iter<T: IntoIterator<Item = usize>>(stocks: T) -> StockSet {
        let mut set = StockSet::default();
        stocks.into_iter().for_each(|stock| set.add(stock));
        set
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use std::collections::BTreeSet;

    proptest! {
        /// As the standard library's sets, past one word and two.
        #[test]
        fn sets_are_sets(a in prop::collection::btree_set(0usize..150, 0..12), b in prop::collection::btree_set(0usize..150, 0..12)) {
            let (x, y): (StockSet, StockSet) = (a.iter().copied().collect(), b.iter().copied().collect());
            prop_assert!((0..200).all(|stock| x.has(stock) == a.contains(&stock)));
            prop_assert_eq!(x.iter().collect::<Vec<_>>(), a.iter().copied().collect::<Vec<_>>());
            prop_assert_eq!((x.len(), x.is_empty()), (a.len(), a.is_empty()));
            prop_assert_eq!(x.covers(&y), a.is_superset(&b));
            let less: BTreeSet<usize> = &a - &b;
            prop_assert_eq!(x.without(&y), less.into_iter().collect());
            let mut both = x.clone();
            both.add_all(&y);
            prop_assert!(both.covers(&x) && both.covers(&y));
            prop_assert_eq!(both, (&a | &b).into_iter().collect());
        }
    }
}
