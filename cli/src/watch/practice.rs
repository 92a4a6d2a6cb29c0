//! The live view of a practice: further keys are the user's hands at a virtual bench, and a row tells how the bench stands.

use super::look::Look;
use tokio::sync::{mpsc, watch};

/// What a hand does on the bench.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Act {
    /// Taps where the indicator stands.
    Tap {
        /// Whether the reading is to rise.
        toward: bool,
        /// Firm or light.
        firm: bool,
    },
    /// Moves the indicator to the next station, away from A or back toward it.
    Go {
        /// Away from A.
        forth: bool,
    },
    /// Tightens or loosens the clamp.
    Clamp(bool),
}

/// How the bench stands.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Standing {
    /// The station under the indicator.
    pub at: String,
    /// Whether the clamp is tight.
    pub tight: bool,
    /// Light taps so far.
    pub light: u32,
    /// Firm ones.
    pub firm: u32,
}

/// The two ways between the live view and the bench.
#[derive(Debug)]
pub struct Practising {
    /// What the keys do there.
    pub acts: mpsc::UnboundedSender<Act>,
    /// How it stands.
    pub standing: watch::Receiver<Standing>,
}

/// What the further keys do, for the help.
pub const HELP: [(&str, &str); 3] = [
    (
        "arrows",
        "up and down: a light tap where the indicator stands, toward the indicator or away from it",
    ),
    (
        "page",
        "up and down: the same with a firm tap, worth about a dozen light ones; so do shift and an arrow",
    ),
    (
        "arrows",
        "left and right: the indicator goes to the next station, back toward A or away from it",
    ),
];

impl Standing {
    /// The row that tells it.
    pub fn row(&self) -> String {
        let clamp = if self.tight { "TIGHT" } else { "loose" };
        format!(
            "PRACTICE: indicator at {}, clamp {clamp}, {} firm {} light taps",
            self.at, self.firm, self.light
        )
    }
}

/// The keys, the most needed first.
pub const fn keys(look: Look) -> &'static [&'static str] {
    if look.blocks {
        &[
            "←→ move",
            "↑↓ tap",
            "PgUp PgDn firm",
            "space MARK",
            "c clamp",
            "q end",
            "? help",
            "u undo",
            "r new round",
            "n note",
            "b sound",
        ]
    } else {
        &[
            "arrows move, tap",
            "PgUp PgDn firm",
            "space MARK",
            "c clamp",
            "q end",
            "? help",
            "u undo",
            "r new round",
            "n note",
            "b sound",
        ]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_bench_and_the_keys_that_are_needed_stand_on_a_narrow_screen() {
        for blocks in [true, false] {
            let look = Look {
                blocks,
                ..Look::of(None, None, None)
            };
            let mut line = String::new();
            for part in &keys(look)[..if blocks { 6 } else { 5 }] {
                line.push_str(part);
                line.push_str("  ");
            }
            assert!(line.trim_end().chars().count() <= 60, "{line}");
        }
        let standing = Standing {
            at: "B".to_owned(),
            tight: true,
            light: 99,
            firm: 99,
        };
        assert!(standing.row().len() <= 60, "{}", standing.row());
    }
}
