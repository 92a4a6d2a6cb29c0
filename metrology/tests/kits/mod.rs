//! Kits built from the groups in which sets are listed, for tests and benchmarks.

use conewright_metrology::Length;
use conewright_metrology::blocks::{Block, Grade, Kit};
use conewright_metrology::random::Random;

/// First, last and step of a group, in tenths of a micrometre.
type Group = [i64; 3];

/// The 112-piece metric set as textbook exercises and technical literature list it.
const METRIC_112: [Group; 5] = [
    [10_005, 10_005, 5],
    [10_010, 10_090, 10],
    [10_100, 14_900, 100],
    [5_000, 245_000, 5_000],
    [250_000, 1_000_000, 250_000],
];

/// The 112-piece metric set of grade 1, without a calibration.
pub fn metric_112() -> Kit {
    let nominal = METRIC_112.iter().flat_map(|[first, last, step]| {
        (0..=(last - first) / step).map(move |i| Length::from_pm((first + i * step) * 100_000))
    });
    kit(nominal.map(|nominal| (nominal, None)))
}

/// A kit of grade 1 from nominal lengths and deviations.
pub fn kit(blocks: impl IntoIterator<Item = (Length, Option<Length>)>) -> Kit {
    Kit {
        name: "test".into(),
        blocks: blocks
            .into_iter()
            .map(|(nominal, deviation)| Block {
                nominal,
                deviation,
                u: None,
            })
            .collect(),
        grade: Some(Grade::One),
        source: "a test".into(),
    }
}

/// Gives every block a deviation of up to ±0.2 µm in odd multiples of `odd_pm`, the same each time.
pub fn calibrated(mut kit: Kit, odd_pm: i64) -> Kit {
    let mut random = Random::new(1);
    for block in &mut kit.blocks {
        let steps = 200_000 / odd_pm;
        let odd = random.below(2 * steps as usize) as i64 - steps;
        block.deviation = Some(Length::from_pm((odd | 1) * odd_pm));
    }
    kit
}
