//! A list that grows at its end, and whose copies share what they have in common.
//!
//! The items are held in chunks. A copy shares every chunk with its original, and an item added to one of them copies the
//! last chunk only. So the state before a change and the state after it can both be held, however long the list is.

use serde::de::{Deserialize, Deserializer, SeqAccess, Visitor};
use serde::ser::{Serialize, Serializer};
use std::fmt;
use std::iter::FlatMap;
use std::marker::PhantomData;
use std::ops::{Index, IndexMut, Range};
use std::slice;
use std::sync::Arc;

/// The list. `CHUNK` is the number of items in a chunk: at most as many are copied when one is added.
#[derive(Debug, Clone)]
pub struct Log<T, const CHUNK: usize> {
    /// Every chunk but the last is full, and none is empty.
    chunks: Vec<Arc<Vec<T>>>,
}

/// The items of a list, in order.
pub type Iter<'a, T> = FlatMap<
    slice::Iter<'a, Arc<Vec<T>>>,
    slice::Iter<'a, T>,
    fn(&Arc<Vec<T>>) -> slice::Iter<'_, T>,
>;

impl<T, const CHUNK: usize> Log<T, CHUNK> {
    /// An empty list.
    #[must_use]
    pub const fn new() -> Self {
        Self { chunks: Vec::new() }
    }

    /// The number of items.
    #[must_use]
    pub fn len(&self) -> usize {
        match self.chunks.split_last() {
            Some((last, full)) => full.len() * CHUNK + last.len(),
            None => 0,
        }
    }

    /// Whether there is no item.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.chunks.is_empty()
    }

    /// The item at an index.
    #[must_use]
    pub fn get(&self, index: usize) -> Option<&T> {
        self.chunks.get(index / CHUNK)?.get(index % CHUNK)
    }

    /// The first item.
    #[must_use]
    pub fn first(&self) -> Option<&T> {
        self.chunks.first()?.first()
    }

    /// The last item.
    #[must_use]
    pub fn last(&self) -> Option<&T> {
        self.chunks.last()?.last()
    }

    /// All items, in order.
    pub fn iter(&self) -> Iter<'_, T> {
        self.chunks.iter().flat_map(|chunk| chunk.iter())
    }

    /// The items in a range of indices, as far as there are such items.
    pub fn range(&self, range: Range<usize>) -> impl Iterator<Item = &T> + Clone {
        let first = range.start / CHUNK;
        let end = range.end.div_ceil(CHUNK).min(self.chunks.len());
        let chunks = self.chunks.get(first..end).unwrap_or(&[]);
        chunks.iter().enumerate().flat_map(move |(at, chunk)| {
            let start = (first + at) * CHUNK;
            let within = |index: usize| index.saturating_sub(start).min(chunk.len());
            let (from, to) = (within(range.start), within(range.end));
            chunk[from..to.max(from)].iter()
        })
    }

    /// The index of the first item of which `before` is false. All items of which it is true come first.
    pub fn partition_point(&self, mut before: impl FnMut(&T) -> bool) -> usize {
        let chunks = self.chunks.partition_point(|chunk| before(&chunk[0]));
        // The last chunk that begins before the point holds it, or ends at it.
        let Some(at) = chunks.checked_sub(1) else {
            return 0;
        };
        at * CHUNK + self.chunks[at].partition_point(before)
    }
}

impl<T: Clone, const CHUNK: usize> Log<T, CHUNK> {
    /// Adds an item at the end.
    pub fn push(&mut self, item: T) {
        match self.chunks.last_mut() {
            Some(last) if last.len() < CHUNK => Arc::make_mut(last).push(item),
            _ => {
                let mut chunk = Vec::with_capacity(CHUNK);
                chunk.push(item);
                self.chunks.push(Arc::new(chunk));
            }
        }
    }

    /// Keeps the first `len` items; all of them when there are fewer.
    pub fn truncate(&mut self, len: usize) {
        if len >= self.len() {
            return;
        }
        self.chunks.truncate(len.div_ceil(CHUNK));
        if let Some(last) = self
            .chunks
            .last_mut()
            .filter(|_| !len.is_multiple_of(CHUNK))
        {
            Arc::make_mut(last).truncate(len % CHUNK);
        }
    }

    /// The last item, to be changed.
    pub fn last_mut(&mut self) -> Option<&mut T> {
        Arc::make_mut(self.chunks.last_mut()?).last_mut()
    }

    /// All items, to be changed. It copies every chunk that is shared.
    pub fn iter_mut(&mut self) -> impl DoubleEndedIterator<Item = &mut T> {
        self.chunks
            .iter_mut()
            .flat_map(|chunk| Arc::make_mut(chunk).iter_mut())
    }
}

impl<T, const CHUNK: usize> Default for Log<T, CHUNK> {
    fn default() -> Self {
        Self::new()
    }
}

impl<T, const CHUNK: usize> Index<usize> for Log<T, CHUNK> {
    type Output = T;

    fn index(&self, index: usize) -> &T {
        &self.chunks[index / CHUNK][index % CHUNK]
    }
}

impl<T: Clone, const CHUNK: usize> IndexMut<usize> for Log<T, CHUNK> {
    fn index_mut(&mut self, index: usize) -> &mut T {
        &mut Arc::make_mut(&mut self.chunks[index / CHUNK])[index % CHUNK]
    }
}

impl<'a, T, const CHUNK: usize> IntoIterator for &'a Log<T, CHUNK> {
    type Item = &'a T;
    type IntoIter = Iter<'a, T>;

    fn into_iter(self) -> Iter<'a, T> {
        self.iter()
    }
}

impl<T: Clone, const CHUNK: usize> Extend<T> for Log<T, CHUNK> {
    fn extend<I: IntoIterator<Item = T>>(&mut self, items: I) {
        items.into_iter().for_each(|item| self.push(item));
    }
}

impl<T: Clone, const CHUNK: usize> FromIterator<T> for Log<T, CHUNK> {
    fn from_iter<I: IntoIterator<Item = T>>(items: I) -> Self {
        let mut log = Self::new();
        log.extend(items);
        log
    }
}

impl<T: Clone, const CHUNK: usize> From<Vec<T>> for Log<T, CHUNK> {
    fn from(items: Vec<T>) -> Self {
        items.into_iter().collect()
    }
}

impl<T: PartialEq, const CHUNK: usize> PartialEq for Log<T, CHUNK> {
    fn eq(&self, other: &Self) -> bool {
        self.iter().eq(other)
    }
}

impl<T: PartialEq, const CHUNK: usize, const N: usize> PartialEq<[T; N]> for Log<T, CHUNK> {
    fn eq(&self, other: &[T; N]) -> bool {
        self.iter().eq(other)
    }
}

impl<T: Serialize, const CHUNK: usize> Serialize for Log<T, CHUNK> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_seq(self)
    }
}

impl<'de, T: Deserialize<'de> + Clone, const CHUNK: usize> Deserialize<'de> for Log<T, CHUNK> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_seq(Items(PhantomData))
    }
}

/// Reads the items into the list one by one, so that a long list is never held twice.
struct Items<T, const CHUNK: usize>(PhantomData<T>);

impl<'de, T: Deserialize<'de> + Clone, const CHUNK: usize> Visitor<'de> for Items<T, CHUNK> {
    type Value = Log<T, CHUNK>;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a sequence")
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut items: A) -> Result<Self::Value, A::Error> {
        let mut log = Log::new();
        while let Some(item) = items.next_element()? {
            log.push(item);
        }
        Ok(log)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    type Small = Log<usize, 4>;

    #[test]
    fn it_holds_what_a_vector_holds() {
        for len in 0..14 {
            let log: Small = (0..len).collect();
            let all: Vec<usize> = (0..len).collect();
            assert_eq!((log.len(), log.is_empty()), (len, len == 0));
            assert_eq!(log.iter().copied().collect::<Vec<_>>(), all);
            assert!(log.iter().rev().eq(all.iter().rev()));
            assert_eq!((log.first(), log.last()), (all.first(), all.last()));
            assert_eq!(log, Small::from(all.clone()));
            for at in 0..14 {
                assert_eq!(log.get(at), all.get(at));
                assert_eq!(log.partition_point(|n| *n < at), at.min(len), "{at}");
                let mut shorter = log.clone();
                shorter.truncate(at);
                assert!(shorter.iter().eq(&all[..at.min(len)]), "{len} to {at}");
                for to in 0..14 {
                    let range = all.get(at..to.min(len)).unwrap_or(&[]);
                    assert!(log.range(at..to).eq(range), "{at}..{to} of {len}");
                }
            }
        }
    }

    #[test]
    fn a_copy_shares_all_but_the_last_chunk() {
        let before: Small = (0..11).collect();
        let mut after = before.clone();
        after.push(11);
        after.push(12);
        let shared = |a: &Small, b: &Small| {
            let pairs = a.iter().zip(b);
            pairs.filter(|(a, b)| std::ptr::eq(*a, *b)).count()
        };
        assert_eq!(shared(&before, &after), 8);
        assert_eq!((before.len(), after.len()), (11, 13));
        after[1] = 100;
        *after.last_mut().unwrap() = 200;
        assert_eq!((before[1], after[1], after[12]), (1, 100, 200));
        assert_eq!(shared(&before, &after), 4);
    }

    #[test]
    fn it_is_written_as_a_list() {
        let log: Small = (0..6).collect();
        let text = serde_json::to_string(&log).unwrap();
        assert_eq!(text, "[0,1,2,3,4,5]");
        assert_eq!(serde_json::from_str::<Small>(&text).unwrap(), log);
        assert_eq!(log, [0, 1, 2, 3, 4, 5]);
    }
}
