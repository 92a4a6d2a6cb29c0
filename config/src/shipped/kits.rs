//! The usual sets of gauge blocks.

use super::rows;
use metrology::Length;
use metrology::blocks::{Block, Kit};
use serde::Deserialize;
use std::sync::OnceLock;

/// Blocks from one length to another by equal steps, as set lists print them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct KitGroup {
    /// The shortest.
    pub first: Length,
    /// The longest.
    pub last: Length,
    /// From one to the next; anything above zero where first and last are the same.
    pub step: Length,
}

/// More blocks than this are no set that anyone owns; it also bounds what a slip of the pen can ask for.
pub const MAX_BLOCKS: usize = 1_000;

impl KitGroup {
    /// The lengths of the group, shortest first.
    ///
    /// # Errors
    /// What is wrong with the three numbers, as a sentence's end: the step does not lead from first to last.
    pub fn lengths(&self) -> Result<Vec<Length>, String> {
        let Self { first, last, step } = *self;
        if first <= Length::ZERO || last < first || step <= Length::ZERO {
            return Err(
                "the lengths are above zero and rise from the first to the last".to_owned(),
            );
        }
        let span = (last - first).pm();
        if span % step.pm() != 0 {
            return Err(format!(
                "steps of {step} do not lead from {first} to {last}"
            ));
        }
        let count = span / step.pm() + 1;
        if count > MAX_BLOCKS as i64 {
            return Err(format!(
                "{count} blocks are more than the {MAX_BLOCKS} of the largest kit allowed"
            ));
        }
        Ok((0..count)
            .map(|i| Length::from_pm(first.pm() + i * step.pm()))
            .collect())
    }
}

#[derive(Deserialize)]
struct Row {
    kit: String,
    first: String,
    last: String,
    step: String,
    source: String,
}

impl Row {
    fn lengths(&self) -> Result<Vec<Length>, String> {
        let read = |text: &str| text.parse::<Length>().map_err(|e| e.to_string());
        KitGroup {
            first: read(&self.first)?,
            last: read(&self.last)?,
            step: read(&self.step)?,
        }
        .lengths()
    }
}

/// The shipped kits, metric first, each from its largest set to its smallest.
#[must_use]
pub fn shipped_kits() -> &'static [Kit] {
    static KITS: OnceLock<Vec<Kit>> = OnceLock::new();
    KITS.get_or_init(|| {
        let mut kits: Vec<Kit> = Vec::new();
        for row in rows::<Row>("kits.csv", include_str!("../../data/kits.csv")) {
            let lengths = row
                .lengths()
                .unwrap_or_else(|e| panic!("the shipped kit {} is broken: {e}", row.kit));
            let blocks = lengths.into_iter().map(|nominal| Block {
                nominal,
                deviation: None,
                u: None,
            });
            match kits.last_mut().filter(|kit| kit.name == row.kit) {
                Some(kit) => kit.blocks.extend(blocks),
                None => kits.push(Kit {
                    name: row.kit,
                    blocks: blocks.collect(),
                    grade: None,
                    source: row.source,
                }),
            }
        }
        kits
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_kit_has_the_number_of_blocks_that_it_is_named_for() {
        for kit in shipped_kits() {
            let number = kit
                .name
                .split('-')
                .nth(1)
                .unwrap()
                .trim_end_matches(['a', 'b']);
            assert_eq!(kit.blocks.len().to_string(), number, "{}", kit.name);
            assert!(!kit.source.is_empty());
        }
        let names: Vec<_> = shipped_kits().iter().map(|k| k.name.as_str()).collect();
        assert_eq!(
            names.join(" "),
            "metric-112 metric-103 metric-88 metric-87 metric-56 metric-47a metric-47b metric-46 \
             metric-45 metric-32 inch-81 inch-36"
        );
    }

    /// The blocks of two published stacks are in the kit that they were published for: NPL, frequently asked
    /// questions on gauge blocks (58.345 mm), and inch lengths are exact.
    #[test]
    fn blocks_of_published_stacks_are_there() {
        let has = |kit: &str, text: &str| {
            let length: Length = text.parse().unwrap();
            let kit = shipped_kits().iter().find(|k| k.name == kit).unwrap();
            kit.blocks.iter().any(|b| b.nominal == length)
        };
        for block in ["1.005", "1.04", "1.30", "5", "50", "1.0005"] {
            assert!(has("metric-112", block), "{block}");
        }
        for block in ["0.1001in", "0.149in", "0.95in", "4in"] {
            assert!(has("inch-81", block), "{block}");
        }
        assert!(!has("metric-87", "100"));
    }

    #[test]
    fn a_group_is_refused_where_its_step_does_not_fit() {
        let group = |first: &str, last: &str, step: &str| {
            KitGroup {
                first: first.parse().unwrap(),
                last: last.parse().unwrap(),
                step: step.parse().unwrap(),
            }
            .lengths()
            .map(|l| l.len())
        };
        assert_eq!(group("1.01", "1.49", "0.01"), Ok(49));
        assert_eq!(group("60", "60", "1"), Ok(1));
        assert_eq!(group("1", "1000", "1"), Ok(1_000));
        assert!(group("1", "1001", "1").is_err(), "one block too many");
        assert!(group("1", "2", "0.3").is_err());
        assert!(group("2", "1", "0.5").is_err());
        assert!(group("1", "2", "0").is_err());
        assert!(group("0", "2", "1").is_err());
    }
}
