//! Gauge blocks against ISO 3650 and against stacks that were published.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

use conewright_metrology::Length;
use conewright_metrology::blocks::{Grade, StackRules, choose};

#[allow(dead_code)]
mod kits;
#[allow(dead_code)]
mod table;

/// ISO 3650, limit deviations and variations of all grades, at both ends of each length class. Sources are in the
/// rows: grades 0, 1 and 2 from a DIN 861 table stated to correspond, grade K from memory.
#[test]
fn the_limits_of_iso_3650_at_both_ends_of_every_class() {
    let rows = table::rows(include_str!("data/gauge_block_limits_iso3650.csv"));
    assert_eq!(rows.len(), 16);
    for row in rows {
        let end = |column: &str| Length::from_mm(row.number(column).unwrap()).unwrap();
        // The first class begins with its lower end, the others after it.
        let over = end("over_mm");
        let first = if over == Length::from_um(500) {
            over
        } else {
            over + Length::from_pm(1)
        };
        for (grade, name) in [
            (Grade::K, "K"),
            (Grade::Zero, "0"),
            (Grade::One, "1"),
            (Grade::Two, "2"),
        ] {
            for nominal in [first, end("to_mm")] {
                let limits = grade.limits(nominal).unwrap();
                let printed = |what: &str| row.number(&format!("{name}_{what}_um")).unwrap();
                assert_eq!(
                    limits.deviation.um(),
                    printed("te"),
                    "grade {name}, {nominal}"
                );
                assert_eq!(
                    limits.variation.um(),
                    printed("tv"),
                    "grade {name}, {nominal}"
                );
            }
        }
    }
}

/// Stacks from a national laboratory's questions and answers and from a college exercise, chosen there by taking
/// off the last decimal first: ours needs no more blocks and is no further off.
#[test]
fn published_stacks_are_matched_or_beaten() {
    for row in table::rows(include_str!("data/stack_examples.csv")) {
        let kit = kits::metric_112();
        let height: Length = row.text("target").parse().unwrap();
        let published: Vec<Length> = row
            .text("blocks")
            .split(' ')
            .map(|block| block.parse().unwrap())
            .collect();
        let protector: Length = "2.5mm".parse().unwrap();
        let two = published
            .iter()
            .filter(|block| **block == protector)
            .count()
            == 2;
        let rules = StackRules {
            wear: two.then_some(protector),
            ..StackRules::default()
        };
        let stack = choose(&kit, height, &rules).unwrap();

        let off = published.iter().copied().sum::<Length>() - height;
        assert!(stack.blocks.len() <= published.len(), "{stack:?}");
        assert!((stack.sum - height).abs() <= off.abs(), "{stack:?}");
        assert_eq!(stack.blocks.iter().copied().sum::<Length>(), stack.sum);
        assert!(stack.within && stack.u_um.is_some());
    }
}
