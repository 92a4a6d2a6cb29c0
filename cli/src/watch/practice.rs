//! The live view of a practice: further keys are the user's hands at a virtual bench, and a row tells how the bench stands.

use super::hand::Request;
use super::keys::Action;
use super::look::Look;
use super::state::Watch;
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
        "up and down: the same with a firm tap, worth about ten light ones; so do shift and an arrow",
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

impl Watch {
    /// What the hands do; a tap at a tight clamp is not given.
    pub(super) fn on_the_bench(&mut self, act: Act) -> Option<Request> {
        let tight = self.practice.as_ref().is_some_and(|bench| bench.tight);
        if tight && matches!(act, Act::Tap { .. }) {
            self.refuse(
                "the clamp is tight: a tap moves nothing",
                Some("loosen it first: c"),
            );
            return None;
        }
        Some(Request::OnTheBench(act))
    }

    /// Whether a practice has no use for what a key does; it is then said.
    pub(super) fn is_out_of_practice(&mut self, action: Action) -> bool {
        let Some(bench) = &self.practice else {
            return false;
        };
        match action {
            Action::Mark => {
                let status = self.known.status.as_ref();
                let next = status.and_then(|status| status.next_station.clone());
                // At the machine nobody would notice, and the round would be worth nothing.
                let Some(next) = next.filter(|next| *next != bench.at) else {
                    return false;
                };
                let text = format!(
                    "the indicator stands at {}, and the next mark is for {next}",
                    bench.at
                );
                self.refuse(&text, Some("move it with the left and right keys"));
                true
            }
            Action::NextStep | Action::Ground | Action::Place | Action::Value(_) => {
                self.refuse(
                    "a practice is one zero step, read from the bench",
                    Some("all the rest by itself: conewright demo"),
                );
                true
            }
            // Where the indicator stands is known here.
            Action::Go => true,
            _ => false,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::watch::state::Tone;
    use protocol::api::{Live, Status};
    use ratatui::crossterm::event::{KeyCode, KeyEvent, KeyModifiers};

    fn practising(tight: bool) -> Watch {
        let mut watch = Watch::new(Look::of(None, None, None));
        let status = Status {
            next_station: Some("A".to_owned()),
            ..Status::default()
        };
        watch.on_live(Live::Snapshot(Box::new(status)), 0.0);
        watch.practice = Some(Standing {
            at: "B".to_owned(),
            tight,
            ..Standing::default()
        });
        watch
    }

    fn press(watch: &mut Watch, code: KeyCode) -> Option<Request> {
        watch.on_key(KeyEvent::new(code, KeyModifiers::NONE), 10.0)
    }

    #[test]
    fn every_press_taps_and_a_tight_clamp_is_told() {
        let mut watch = practising(false);
        let tap = Some(Request::OnTheBench(Act::Tap {
            toward: true,
            firm: true,
        }));
        assert_eq!(press(&mut watch, KeyCode::PageUp), tap);
        assert_eq!(press(&mut watch, KeyCode::PageUp), tap, "taps follow fast");
        let mut watch = practising(true);
        assert_eq!(press(&mut watch, KeyCode::PageUp), None);
        assert_eq!(watch.message.unwrap().tone, Tone::Refused);
    }

    #[test]
    fn a_mark_elsewhere_and_what_is_no_practice_are_refused() {
        for code in [' ', 's', 'o', 'p', '7'].map(KeyCode::Char) {
            let mut watch = practising(false);
            assert_eq!(press(&mut watch, code), None);
            let said = watch.message.as_ref().map(|message| message.tone);
            assert_eq!(said, Some(Tone::Refused), "{code:?}");
        }
        let mut watch = practising(false);
        watch.practice.as_mut().unwrap().at = "A".to_owned();
        assert!(matches!(
            press(&mut watch, KeyCode::Char(' ')),
            Some(Request::Mark(_))
        ));
    }

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
