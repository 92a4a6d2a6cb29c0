//! Two stacks at once against every way to share a kit between them.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

use conewright_metrology::Length;
use conewright_metrology::blocks::{Kit, Stack, StackError, StackRules, choose_two};
use proptest::prelude::*;
use rule::{kit_of_ties, preference, small_kit};

#[allow(dead_code)]
mod kits;
#[allow(dead_code)]
mod rule;

fn um(um: i64) -> Length {
    Length::from_um(um)
}

/// The least cost over every way to give each block to one stack, the other, or none.
fn pair_by_looking(kit: &Kit, heights: [Length; 2], within: Length) -> Option<[i64; 4]> {
    let ways = 3_u32.pow(kit.blocks.len() as u32);
    (0..ways)
        .filter_map(|way| {
            let mut stacks = [Vec::new(), Vec::new()];
            let mut rest = way;
            for block in &kit.blocks {
                if rest % 3 > 0 {
                    stacks[(rest % 3 - 1) as usize].push(*block);
                }
                rest /= 3;
            }
            let mut total = [0; 4];
            for (blocks, height) in stacks.iter().zip(heights) {
                if blocks.is_empty() {
                    return None;
                }
                let (not_within, first, second, _) = preference(blocks, height, within);
                let cost = if not_within {
                    [1, first, second, 0]
                } else {
                    [0, 0, first, second]
                };
                for (total, cost) in total.iter_mut().zip(cost) {
                    *total += cost;
                }
            }
            Some(total)
        })
        .min()
}

fn cost_of(stacks: &[Stack; 2]) -> [i64; 4] {
    let mut total = [0; 4];
    for stack in stacks {
        let error = match (stack.sum - stack.height).abs().pm() {
            ..=100 => 0,
            error => error,
        };
        let count = stack.blocks.len() as i64;
        let cost = if stack.within {
            [0, 0, count, error]
        } else {
            [1, error, count, 0]
        };
        for (total, cost) in total.iter_mut().zip(cost) {
            *total += cost;
        }
    }
    total
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn the_pair_is_the_best_of_all_pairs(
        kit in prop_oneof![small_kit(7), kit_of_ties(7)],
        picked in prop::collection::vec(0_u8..3, 7),
        off_pm in prop_oneof![Just(0_i64), -600_000_i64..600_000],
    ) {
        let side = |side: u8| -> Length {
            (kit.blocks.iter().zip(&picked))
                .filter(|(_, given)| **given == side)
                .map(|(block, _)| block.length())
                .sum()
        };
        let heights = [side(1) + Length::from_pm(off_pm), side(2)];
        prop_assume!(heights.iter().all(|height| *height > um(1)));
        let rules = StackRules::default();
        let best = pair_by_looking(&kit, heights, rules.within).unwrap();
        let ours = choose_two(&kit, heights[0], heights[1], &rules).unwrap();
        prop_assert_eq!(cost_of(&ours), best, "{:?}", ours);

        // No block is in both: what both take together is in the kit.
        let mut left: Vec<Length> = kit.blocks.iter().map(|block| block.nominal).collect();
        for taken in ours.iter().flat_map(|stack| &stack.blocks) {
            let place = left.iter().position(|nominal| nominal == taken).unwrap();
            left.swap_remove(place);
        }
    }
}

#[test]
fn two_stacks_share_no_block() {
    let kit = kits::metric_112();
    let height: Length = "58.345mm".parse().unwrap();
    let [a, b] = choose_two(&kit, height, height, &StackRules::default()).unwrap();
    assert_eq!((a.sum, b.sum), (height, height));
    assert!(a.blocks.iter().all(|block| !b.blocks.contains(block)));
    // Alone it takes four blocks. There is one block that ends in 5 µm and one of 50 mm, so that the two stacks
    // together take two more than twice four.
    assert_eq!(a.blocks.len() + b.blocks.len(), 10);

    // Only one block has half a micrometre: two exact stacks cannot both have it.
    let exact = StackRules {
        within: Length::ZERO,
        ..StackRules::default()
    };
    let fine: Length = "20.0015mm".parse().unwrap();
    let [a, b] = choose_two(&kit, fine, fine, &exact).unwrap();
    assert_eq!(
        [a.within, b.within]
            .iter()
            .filter(|within| **within)
            .count(),
        1
    );
    assert_eq!(a.error_um.abs() + b.error_um.abs(), 0.5);

    let few = kits::kit([(um(5_000), None)]);
    let both = choose_two(&few, um(5_000), um(5_000), &StackRules::default());
    assert!(matches!(both, Err(StackError::NotBoth { .. })), "{both:?}");
    let wear = StackRules {
        wear: Some(um(2_000)),
        ..StackRules::default()
    };
    let [a, b] = choose_two(&kit, um(10_000), um(10_000), &wear).unwrap();
    assert_eq!((a.sum, b.sum), (um(10_000), um(10_000)));
}

/// The first stack alone would take the 3 mm block and leave nothing good for the second, which has no other
/// choice within: 3.0007 mm does for 3.0004 mm and not for 9.9997 mm less 7 mm.
#[test]
fn the_first_of_two_stacks_leaves_the_second_what_it_needs() {
    let pm = Length::from_pm;
    let kit = kits::kit(
        [3_000_000_000, 2_000_000_000, 1_000_700_000, 7_000_000_000].map(|n| (pm(n), None)),
    );
    let heights = [pm(3_000_400_000), pm(9_999_700_000)];
    for [first, second] in [heights, [heights[1], heights[0]]] {
        let [a, b] = choose_two(&kit, first, second, &StackRules::default()).unwrap();
        assert!(a.within && b.within, "{a:?} {b:?}");
        assert_eq!(a.blocks.len() + b.blocks.len(), 4);
    }
}
