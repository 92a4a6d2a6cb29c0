//! The exact choice of a stack against looking through every subset, and the refusals.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

use conewright_metrology::Length;
use conewright_metrology::blocks::{
    Block, Grade, Kit, Stack, StackError, StackRules, WRING_U_UM, choose,
};
use proptest::prelude::*;
use rule::{Preference, kit_of_ties, preference, small_kit};
use std::cmp::Reverse;

#[allow(dead_code)]
mod kits;
mod rule;

fn um(um: i64) -> Length {
    Length::from_um(um)
}

fn within(pm: i64) -> StackRules {
    StackRules {
        within: Length::from_pm(pm),
        ..StackRules::default()
    }
}

/// Looks through every subset.
fn by_looking(kit: &Kit, height: Length, rules: &StackRules) -> (Preference, Length) {
    (1_u32..1 << kit.blocks.len())
        .filter(|set| set.count_ones() as usize <= rules.max_blocks)
        .map(|set| {
            let blocks: Vec<Block> = (kit.blocks.iter().enumerate())
                .filter(|(i, _)| set >> i & 1 == 1)
                .map(|(_, block)| *block)
                .collect();
            let sum = blocks.iter().map(Block::length).sum();
            (preference(&blocks, height, rules.within), sum)
        })
        .min()
        .unwrap()
}

fn check_against_looking(kit: &Kit, height: Length, rules: &StackRules) {
    let stack = match choose(kit, height, rules) {
        Ok(stack) => stack,
        Err(StackError::BeyondKit { closest, .. }) => {
            let (_, sum) = by_looking(kit, height, rules);
            assert_eq!(closest, sum, "the closest to {height}");
            assert!(height - closest > rules.within);
            return;
        }
        Err(other) => panic!("{other}"),
    };
    let (best, sum) = by_looking(kit, height, rules);
    let (not_within, _, _, Reverse(order)) = &best;
    let blocks: Vec<Length> = order.iter().map(|(nominal, _)| *nominal).collect();
    assert_eq!(
        stack.blocks, blocks,
        "for {height}: {best:?}, ours {stack:?}"
    );
    assert_eq!(stack.sum, sum, "for {height}");
    assert_eq!(stack.within, !not_within);
    assert_eq!(stack.error_um, (sum - height).um());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(600))]

    #[test]
    fn the_choice_is_the_best_of_all_subsets(
        kit in small_kit(11),
        picked in any::<u32>(),
        off_pm in prop_oneof![Just(0_i64), -600_000_i64..600_000, -900_000_000_i64..900_000_000],
        within_pm in prop_oneof![Just(500_000_i64), Just(0), Just(10_000), 0_i64..60_000_000],
        max_blocks in prop_oneof![3 => Just(usize::MAX), 1 => 1_usize..6],
    ) {
        // A height near a sum of some of the blocks is where choices are close.
        let sum: Length = (kit.blocks.iter().enumerate())
            .filter(|(i, _)| picked >> i & 1 == 1)
            .map(|(_, block)| block.length())
            .sum();
        let height = sum + Length::from_pm(off_pm);
        prop_assume!(height > Length::ZERO);
        check_against_looking(&kit, height, &StackRules { max_blocks, ..within(within_pm) });
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(600))]

    #[test]
    fn of_equal_choices_the_largest_blocks_come_first(
        kit in kit_of_ties(11),
        height_um in 1_i64..12_000,
        on_the_grid in any::<bool>(),
        within_pm in prop_oneof![Just(500_000_i64), Just(0), Just(20_000)],
    ) {
        let height = if on_the_grid { um((height_um / 250 + 1) * 250) } else { um(height_um) };
        check_against_looking(&kit, height, &within(within_pm));
    }
}

/// As much too long as the other is too short: then the longer one comes first, single, in a pair, and in three.
#[test]
fn of_errors_that_differ_in_sign_the_longer_block_comes_first() {
    let off = Length::from_pm(10_000);
    for others in [&[][..], &[um(5_000)][..], &[um(5_000), um(3_000)][..]] {
        let uneven = [(um(1_000), Some(-off)), (um(1_000), Some(off))];
        let kit = kits::kit(others.iter().map(|n| (*n, None)).chain(uneven));
        let height = others.iter().copied().sum::<Length>() + um(1_000);
        let stack = choose(&kit, height, &StackRules::default()).unwrap();
        assert_eq!(stack.sum - height, off, "{others:?}");
    }
}

#[test]
fn every_micrometre_of_the_112_set_is_made_exactly_with_the_fewest_blocks() {
    let kit = kits::metric_112();
    // One more than the largest single block, stepping by a prime so that every last digit occurs.
    for height_um in (2_000..103_000).step_by(997) {
        let stack = choose(&kit, um(height_um), &StackRules::default()).unwrap();
        assert_eq!((stack.sum, stack.within), (um(height_um), true));
        assert!(stack.blocks.len() <= 5, "{stack:?}");
        assert!(stack.blocks.is_sorted_by(|a, b| a >= b));
    }
}

#[test]
fn a_calibrated_kit_is_summed_with_its_deviations() {
    let kit = kits::calibrated(kits::metric_112(), 10_000);
    let height: Length = "58.345mm".parse().unwrap();
    let stack = choose(&kit, height, &StackRules::default()).unwrap();
    let nominal: Length = stack.blocks.iter().copied().sum();
    assert_ne!(
        stack.sum, nominal,
        "odd deviations of four blocks may cancel, these do not"
    );
    assert_eq!(stack.blocks.len(), 4);
    let limits = kits::kit([(um(1_000), Some(Length::from_pm(600_000)))]);
    let one = choose(&limits, um(1_000), &StackRules::default()).unwrap();
    assert!(!one.within, "nominally right and 0.6 µm too long");
}

#[test]
fn the_tolerance_holds_its_limit() {
    let kit = kits::kit([(um(1_000), None), (um(2_000), None)]);
    for (off_pm, is_within) in [
        (500_000, true),
        (500_001, false),
        (-500_000, true),
        (-500_001, false),
    ] {
        let height = um(1_000) + Length::from_pm(off_pm);
        let stack = choose(&kit, height, &StackRules::default()).unwrap();
        assert_eq!(stack.within, is_within, "{off_pm} pm");
        assert_eq!(stack.blocks, [um(1_000)]);
    }
    // An error of a tenth of a nanometre counts as none, one picometre more does not.
    for (off_pm, is_within) in [(100, true), (101, false)] {
        let height = um(1_000) + Length::from_pm(off_pm);
        let stack = choose(&kit, height, &within(0)).unwrap();
        assert_eq!(stack.within, is_within, "{off_pm} pm");
    }
}

#[test]
fn heights_that_cannot_be_made_name_the_closest() {
    let kit = kits::metric_112();
    let sum: Length = kit.blocks.iter().map(|block| block.nominal).sum();
    let refused =
        |height: Length, rules: &StackRules| choose(&kit, height, rules).unwrap_err().to_string();
    let rules = StackRules::default();
    assert_eq!(
        refused(Length::ZERO, &rules),
        "a stack of 0 mm cannot be made: a height is above 0 mm; the lowest is 0.5 mm, 0.5 mm more"
    );
    assert!(refused(um(-1), &rules).contains("-0.001 mm cannot be made"));
    // At the sum and half a micrometre above it there is a stack, one picometre further there is none.
    let limit = sum + rules.within;
    assert_eq!(choose(&kit, limit, &rules).unwrap().blocks.len(), 112);
    let beyond = refused(limit + Length::from_pm(1), &rules);
    assert!(beyond.contains("of 112 blocks"), "{beyond}");
    assert!(beyond.ends_with("0.500001 µm less"), "{beyond}");
    let few = StackRules {
        max_blocks: 2,
        ..rules.clone()
    };
    assert!(refused(um(175_001), &few).contains("of 2 blocks, is 175 mm, 1 µm less"));
    // Below the lowest block there is an answer, and it says that it is far off.
    let low = choose(&kit, um(300), &rules).unwrap();
    assert_eq!((low.sum, low.within), (um(500), false));
}

#[test]
fn rules_that_nothing_satisfies() {
    let kit = kits::metric_112();
    let refused = |rules: StackRules| choose(&kit, um(10_000), &rules).unwrap_err();
    assert!(matches!(refused(within(-1)), StackError::Rule(_)));
    let none = StackRules {
        max_blocks: 0,
        ..StackRules::default()
    };
    assert!(matches!(refused(none), StackError::Rule(_)));
    for (wear_um, max_blocks, allowed) in [
        (2_000, 2, true),
        (2_000, 1, false),
        (0, 9, false),
        (-1, 9, false),
    ] {
        let rules = StackRules {
            wear: Some(um(wear_um)),
            max_blocks,
            ..StackRules::default()
        };
        assert_eq!(
            choose(&kit, um(4_000), &rules).is_ok(),
            allowed,
            "{wear_um} {max_blocks}"
        );
    }
    let unknown = StackRules {
        exclude: vec![um(26_000)],
        ..StackRules::default()
    };
    assert_eq!(
        refused(unknown).to_string(),
        "kit test has no block of 26 mm to leave out; the nearest is 25 mm"
    );
    let empty = kits::kit([]);
    assert!(matches!(
        choose(&empty, um(1), &StackRules::default()),
        Err(StackError::NoBlocks { .. })
    ));
    for deviation in [None, Some(um(-2))] {
        let nominal = if deviation.is_some() {
            um(1)
        } else {
            Length::ZERO
        };
        let bad = kits::kit([(um(5_000), None), (nominal, deviation)]);
        let refused = choose(&bad, um(5_000), &StackRules::default()).unwrap_err();
        assert!(matches!(refused, StackError::BadBlock { .. }), "{refused}");
    }
}

#[test]
fn an_excluded_block_is_not_taken() {
    let kit = kits::metric_112();
    let height: Length = "58.345mm".parse().unwrap();
    let free = choose(&kit, height, &StackRules::default()).unwrap();
    let rules = StackRules {
        exclude: free.blocks.clone(),
        ..StackRules::default()
    };
    let other = choose(&kit, height, &rules).unwrap();
    assert_eq!(other.sum, height);
    assert!(
        other
            .blocks
            .iter()
            .all(|block| !free.blocks.contains(block))
    );
}

#[test]
fn wear_blocks_stand_at_both_ends() {
    let mut kit = kits::metric_112();
    let rules = StackRules {
        wear: Some(um(2_000)),
        ..StackRules::default()
    };
    let ends = |stack: &Stack| {
        stack
            .blocks
            .iter()
            .filter(|block| **block == um(2_000))
            .count()
    };
    // The set has one block of 2 mm, which is no pair: the wear blocks are others.
    let stack = choose(&kit, um(10_500), &rules).unwrap();
    assert_eq!((stack.sum, ends(&stack)), (um(10_500), 2));
    assert_eq!(stack.blocks, [um(6_500), um(2_000), um(2_000)]);
    let with_its_own = choose(&kit, um(6_000), &rules).unwrap();
    assert_eq!(
        ends(&with_its_own),
        3,
        "and the set's own may stand between them"
    );

    // Where the kit lists two, they are the wear blocks, with their calibration.
    for block in &mut kit.blocks {
        if block.nominal == um(2_000) {
            block.deviation = Some(Length::from_pm(-20_000));
        }
    }
    let worn = Block {
        nominal: um(2_000),
        deviation: Some(Length::from_pm(-50_000)),
        u: None,
    };
    kit.blocks.push(worn);
    let stack = choose(&kit, um(4_000), &rules).unwrap();
    assert_eq!(stack.sum, um(4_000) - Length::from_pm(70_000));
    assert!(
        ends(&choose(&kit, um(6_000), &rules).unwrap()) == 2,
        "and are not taken twice"
    );

    let low = choose(&kit, um(3_000), &rules).unwrap_err();
    assert!(matches!(low, StackError::BelowWear { .. }), "{low}");
    // Between the wear blocks alone and the smallest block more, the nearer one is told.
    let alone = choose(&kit, um(4_200), &rules).unwrap();
    assert_eq!((alone.blocks.len(), alone.within), (2, false));
    let one_more = choose(&kit, um(4_300), &rules).unwrap();
    assert_eq!((one_more.blocks.len(), one_more.within), (3, false));
}

#[test]
fn the_uncertainty_is_of_blocks_and_joints() {
    let mut kit = kits::kit([(um(10_000), None), (um(25_000), None), (um(50_000), None)]);
    let stack = choose(&kit, um(85_000), &StackRules::default()).unwrap();
    // t_e of grade 1 by ISO 3650: 0.2, 0.3 and 0.4 µm; two joints.
    let blocks = (0.2_f64.powi(2) + 0.3_f64.powi(2) + 0.4_f64.powi(2)) / 3.0;
    let expected = (blocks + 2.0 * WRING_U_UM * WRING_U_UM).sqrt();
    assert!((stack.u_um.unwrap() - expected).abs() < 1e-12);

    kit.blocks[2].u = Some(Length::from_pm(30_000));
    let calibrated = choose(&kit, um(50_000), &StackRules::default()).unwrap();
    assert!(
        (calibrated.u_um.unwrap() - 0.03).abs() < 1e-12,
        "one block has no joint"
    );

    kit.grade = None;
    assert_eq!(
        choose(&kit, um(35_000), &StackRules::default())
            .unwrap()
            .u_um,
        None
    );
    assert!(
        choose(&kit, um(50_000), &StackRules::default())
            .unwrap()
            .u_um
            .is_some()
    );
    kit.grade = Some(Grade::K);
    let k = choose(&kit, um(10_000), &StackRules::default()).unwrap();
    assert!((k.u_um.unwrap() - 0.2 / 3_f64.sqrt()).abs() < 1e-12);
}
