//! Two stacks at once from one kit, no block in both.

use super::choose::{Chooser, Chosen, Placed, wear_pairs};
use super::search::NEGLIGIBLE;
use super::{Kit, Stack, StackError, StackRules};
use crate::Length;
use std::cmp::{Ordering, Reverse};
use std::collections::{BinaryHeap, HashMap};
use std::rc::Rc;

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
    /// Places in the kit, in their order.
    forbidden: [Vec<usize>; 2],
    sides: [Rc<Side>; 2],
}

/// One stack of the two.
struct Side {
    cost: Cost,
    chosen: Chosen,
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

/// After this many pairs the search stops and the second stack takes what the first leaves. Of two equal heights, pairs
/// that are others mirrored do not count.
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
    let mut sides = Sides {
        chooser: Chooser::new(kit, rules, &[&wear[0], &wear[1]])?,
        heights,
        mirrored: first == second && wear[0] == wear[1],
        wear: &wear,
        remembered: [HashMap::new(), HashMap::new()],
        found: [Vec::new(), Vec::new()],
    };
    let alone = [sides.best(0, &[])?, sides.best(1, &[])?];
    let mut made = 0;
    let mut open = BinaryHeap::new();
    open.push(Reverse(Pair::new([Vec::new(), Vec::new()], alone.clone())));
    // Whatever forbids more cannot cost less, so the first pair without a shared block is the best one.
    while let Some(Reverse(pair)) = open.pop() {
        let [a, b] = &pair.sides;
        let shared: Vec<usize> = (a.chosen.used.iter().copied())
            .filter(|place| b.chosen.used.contains(place))
            .collect();
        if shared.is_empty() {
            return Ok(pair.sides.map(|side| side.chosen.stack.clone()));
        }
        if made >= MOST_PAIRS {
            break;
        }
        let block = sides.block_to_settle(&pair, &shared);
        // To forbid a block to the one of two equal stacks or to the other is the same, as long as nothing else is
        // forbidden to either.
        let one_will_do = sides.mirrored && pair.forbidden.iter().all(Vec::is_empty);
        for side in 0..if one_will_do { 1 } else { 2 } {
            if let Some(mut way) = sides.without(&pair, side, block) {
                made += 1;
                way.made = made;
                open.push(Reverse(way));
            }
        }
    }
    let [a, _] = alone;
    match sides.chooser.choose(second, &wear[1], &a.chosen.used) {
        Ok(b) => Ok([a.chosen.stack.clone(), b.stack]),
        Err(StackError::BeyondKit { .. } | StackError::NoBlocks { .. }) => {
            Err(StackError::NotBoth {
                heights,
                kit: kit.name.clone(),
            })
        }
        Err(other) => Err(other),
    }
}

impl Pair {
    fn new(forbidden: [Vec<usize>; 2], sides: [Rc<Side>; 2]) -> Self {
        Self {
            cost: total(sides[0].cost, sides[1].cost),
            made: 0,
            forbidden,
            sides,
        }
    }
}

fn total(a: Cost, b: Cost) -> Cost {
    std::array::from_fn(|i| a[i] + b[i])
}

/// Both stacks' choices, each made only once.
struct Sides<'a> {
    chooser: Chooser<'a>,
    heights: [Length; 2],
    wear: &'a [Vec<Placed>; 2],
    /// Whether both sides ask for the very same.
    mirrored: bool,
    /// The best choice without the places that are forbidden, by these; none where there is no choice.
    remembered: [HashMap<Vec<usize>, Option<Rc<Side>>>; 2],
    /// All choices that were made.
    found: [Vec<Rc<Side>>; 2],
}

impl Sides<'_> {
    /// The best stack for a side without the places that are forbidden, which come in order.
    fn best(&mut self, side: usize, forbidden: &[usize]) -> Result<Rc<Side>, StackError> {
        let side = if self.mirrored { 0 } else { side };
        let chosen = (self.chooser).choose(self.heights[side], &self.wear[side], forbidden);
        let best = chosen.map(|chosen| {
            let cost = cost(&chosen);
            Rc::new(Side { cost, chosen })
        });
        let known = best.as_ref().ok().cloned();
        self.found[side].extend(known.clone());
        self.remembered[side].insert(forbidden.to_vec(), known);
        best
    }

    /// The pair in which one side has to do without a block; none when that side then has no stack.
    fn without(&mut self, pair: &Pair, side: usize, block: usize) -> Option<Pair> {
        let mut forbidden = pair.forbidden.clone();
        let own = &mut forbidden[side];
        let at = own.partition_point(|place| *place < block);
        own.insert(at, block);
        let asked = if self.mirrored { 0 } else { side };
        let best = match self.remembered[asked].get(own) {
            Some(known) => known.clone(),
            None => self.best(side, own).ok(),
        }?;
        let mut sides = pair.sides.clone();
        sides[side] = best;
        Some(Pair::new(forbidden, sides))
    }

    /// One of the two must do without a shared block. The block whose loss costs most is settled first, because
    /// settling the others leaves the conflict where it was. Of equal ones it is the last.
    fn block_to_settle(&mut self, pair: &Pair, shared: &[usize]) -> usize {
        let mut dearest: Option<(Cost, usize)> = None;
        for block in shared.iter().rev() {
            let costs_more = |cost: Cost| dearest.is_none_or(|(most, _)| cost > most);
            let most = [0, 1].map(|side| self.at_most(pair, side, *block));
            // What is known need not be searched.
            let mut loss = most[0].min(most[1]);
            if loss > pair.cost && costs_more(loss) {
                loss = [i64::MAX; 4];
                for side in [0, 1] {
                    if costs_more(loss) {
                        let way = self.without(pair, side, *block);
                        loss = loss.min(way.map_or([i64::MAX; 4], |way| way.cost));
                    }
                }
            }
            if costs_more(loss) {
                dearest = Some((loss, *block));
            }
        }
        dearest.map_or(shared[0], |(_, block)| block)
    }

    /// What the pair costs at most when one side has to do without a block: by a stack that was found before and
    /// has none of what is forbidden.
    fn at_most(&self, pair: &Pair, side: usize, block: usize) -> Cost {
        let asked = if self.mirrored { 0 } else { side };
        let forbidden = &pair.forbidden[side];
        (self.found[asked].iter())
            .filter(|found| {
                let mut used = found.chosen.used.iter();
                !used.any(|place| *place == block || forbidden.binary_search(place).is_ok())
            })
            .map(|found| total(found.cost, pair.sides[1 - side].cost))
            .min()
            .unwrap_or([i64::MAX; 4])
    }
}
