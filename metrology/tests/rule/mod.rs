//! What the rule of choice prefers, written down plainly, and kits to try it on.

use crate::kits;
use conewright_metrology::Length;
use conewright_metrology::blocks::{Block, Kit};
use proptest::prelude::*;
use std::cmp::Reverse;

/// What the rule prefers, smaller first: within or not, then blocks and error, or error and blocks, then the
/// largest blocks first by nominal length and deviation.
pub type Preference = (bool, i64, i64, Reverse<Vec<(Length, Length)>>);

pub fn preference(blocks: &[Block], height: Length, within: Length) -> Preference {
    let sum: Length = blocks.iter().map(Block::length).sum();
    let error = (sum - height).abs().pm();
    // A tenth of a nanometre counts as none.
    let error = if error <= 100 { 0 } else { error };
    let mut order: Vec<_> = blocks.iter().map(|b| (b.nominal, b.length())).collect();
    order.sort_by_key(|block| Reverse(*block));
    let count = blocks.len() as i64;
    if error <= within.pm() {
        (false, count, error, Reverse(order))
    } else {
        (true, error, count, Reverse(order))
    }
}

/// Kits of several shapes: on a coarse grid with many equal sums, like a metric set, and on no grid at all; with
/// and without deviations; with blocks that are there twice.
pub fn small_kit(most: usize) -> impl Strategy<Value = Kit> {
    let nominal = prop_oneof![
        (1_i64..12).prop_map(|n| n * 500_000_000),
        (0_i64..50).prop_map(|n| 1_000_000_000 + n * 10_000_000),
        (0_i64..10).prop_map(|n| 1_000_000_000 + n * 1_000_000),
        Just(1_000_500_000),
        (1_i64..8).prop_map(|n| n * 25_400_000),
        1_000_000_i64..9_000_000_000,
    ];
    let deviation = prop_oneof![
        3 => Just(None),
        2 => (-30_i64..30).prop_map(|n| Some(n * 10_000)),
        1 => (-300_000_i64..300_000).prop_map(Some),
    ];
    let block =
        (nominal, deviation).prop_map(|(n, d)| (Length::from_pm(n), d.map(Length::from_pm)));
    prop::collection::vec(block, 1..=most).prop_map(kits::kit)
}

/// Kits in which nearly every choice is a tie: few lengths, each several times, with deviations that cancel.
pub fn kit_of_ties(most: usize) -> impl Strategy<Value = Kit> {
    let block = (1_i64..7, -1_i64..2).prop_map(|(half_mm, tens_nm)| {
        let deviation = (tens_nm != 0).then(|| Length::from_pm(tens_nm * 10_000));
        (Length::from_um(half_mm * 500), deviation)
    });
    prop::collection::vec(block, 1..=most).prop_map(kits::kit)
}
