//! Two stacks at once from one kit, no block in both.

use super::choose::{Chosen, choose_from, wear_pairs};
use super::search::NEGLIGIBLE;
use super::{Kit, Stack, StackError, StackRules};
use crate::Length;
use std::cmp::{Ordering, Reverse};
use std::collections::BinaryHeap;

/// What a choice costs, the first place weighing most: stacks not within, their error, blocks, error of the rest.
type Cost = [i64; 4];

fn cost(chosen: &Chosen) -> Cost {
    let error = match chosen.error.abs().pm() {
        ..=NEGLIGIBLE => 0,
        error => error,
    };
    let blocks = chosen.stack.blocks.len() as i64;
    if chosen.stack.within {
        [0, 0, blocks, error]
    } else {
        [1, error, blocks, 0]
    }
}

/// Two stacks, each the best without the blocks that are forbidden to it.
struct Pair {
    cost: Cost,
    /// Of equal costs the one made first is looked at first, which makes the answer the same every time.
    made: usize,
    forbidden: [Vec<usize>; 2],
    chosen: [Chosen; 2],
}

impl PartialEq for Pair {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}
impl Eq for Pair {}
impl PartialOrd for Pair {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}
impl Ord for Pair {
    fn cmp(&self, other: &Self) -> Ordering {
        (self.cost, self.made).cmp(&(other.cost, other.made))
    }
}

/// After this many pairs the search stops and the second stack takes what the first leaves.
const MOST_PAIRS: usize = 500;

/// Chooses two stacks from one kit so that no block is needed twice, as for a bar with a stack at each side or
/// for a pair of limit heights.
///
/// Of all such pairs: as many within as can be; the smallest error of those that are not; the fewest blocks in
/// both together; the smallest sum of absolute errors. Each stack alone is the best choice without the blocks
/// that had to be left to the other. Where both want the same blocks so often that the search grows beyond
/// its limit, the first stack is chosen as if alone and the second from what is left.
///
/// # Errors
/// As [`super::choose`] for either height, or that the kit has not enough blocks for both.
///
/// ```
/// use conewright_metrology::{Length, blocks::{Block, Kit, StackRules, choose_two}};
/// let block = |mm: i64| Block { nominal: Length::from_um(mm * 1000), deviation: None, u: None };
/// let kit = Kit {
///     name: "few".into(),
///     blocks: [1, 2, 3, 4, 5].map(block).to_vec(),
///     grade: None,
///     source: "an example".into(),
/// };
/// let five: Length = "5mm".parse()?;
/// let [one, other] = choose_two(&kit, five, five, &StackRules::default())?;
/// assert_eq!((one.sum, other.sum), (five, five));
/// assert_eq!(one.blocks.len() + other.blocks.len(), 3, "5, and 4 + 1 because there is one 5");
/// let both = choose_two(&kit, "14mm".parse()?, "8mm".parse()?, &StackRules::default());
/// assert!(both.unwrap_err().to_string().contains("not enough blocks"), "14 mm leaves the 1 mm block");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn choose_two(
    kit: &Kit,
    first: Length,
    second: Length,
    rules: &StackRules,
) -> Result<[Stack; 2], StackError> {
    let heights = [first, second];
    let wear = wear_pairs(kit, rules)?;
    // A wear block of one stack is no block of the other.
    let worn = |side: usize| wear[1 - side].iter().filter_map(|(place, _)| *place);
    let best = |side: usize, forbidden: &[usize]| {
        choose_from(kit, heights[side], rules, &wear[side], forbidden)
    };
    let forbidden = [worn(0).collect::<Vec<_>>(), worn(1).collect::<Vec<_>>()];
    let alone = [best(0, &forbidden[0])?, best(1, &forbidden[1])?];
    let mut made = 0;
    let mut open = BinaryHeap::new();
    open.push(Reverse(Pair {
        cost: total(&alone),
        made,
        forbidden: forbidden.clone(),
        chosen: alone.clone(),
    }));
    // Whatever forbids more cannot cost less, so the first pair without a shared block is the best one.
    while let Some(Reverse(pair)) = open.pop() {
        let [a, b] = &pair.chosen;
        let shared: Vec<usize> = (a.used.iter().copied())
            .filter(|place| b.used.contains(place))
            .collect();
        if shared.is_empty() {
            return Ok(pair.chosen.map(|chosen| chosen.stack));
        }
        if made >= MOST_PAIRS {
            break;
        }
        // One of the two must do without a shared block. The block whose loss costs most is settled first,
        // because settling the others leaves the conflict where it was.
        let split = shared
            .iter()
            .map(|block| [0, 1].map(|side| without(&pair, side, *block, best)))
            .max_by_key(|ways| {
                ways.iter()
                    .map(|way| way.as_ref().map_or([i64::MAX; 4], |way| way.cost))
                    .min()
            });
        for mut way in split.into_iter().flatten().flatten() {
            made += 1;
            way.made = made;
            open.push(Reverse(way));
        }
    }
    let [a, _] = alone;
    let mut left = forbidden[1].clone();
    left.extend(&a.used);
    match best(1, &left) {
        Ok(b) => Ok([a.stack, b.stack]),
        Err(StackError::BeyondKit { .. } | StackError::NoBlocks { .. }) => {
            Err(StackError::NotBoth {
                heights,
                kit: kit.name.clone(),
            })
        }
        Err(other) => Err(other),
    }
}

fn total([a, b]: &[Chosen; 2]) -> Cost {
    let (a, b) = (cost(a), cost(b));
    std::array::from_fn(|i| a[i] + b[i])
}

/// The pair in which one side has to do without a block; none when that side then has no stack.
fn without(
    pair: &Pair,
    side: usize,
    block: usize,
    best: impl Fn(usize, &[usize]) -> Result<Chosen, StackError>,
) -> Option<Pair> {
    let mut forbidden = pair.forbidden.clone();
    forbidden[side].push(block);
    let mut chosen = pair.chosen.clone();
    chosen[side] = best(side, &forbidden[side]).ok()?;
    Some(Pair {
        cost: total(&chosen),
        made: 0,
        forbidden,
        chosen,
    })
}
