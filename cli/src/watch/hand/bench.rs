//! The keys of a practice: hands at the virtual bench, and what is of no use there.

use super::Request;
use crate::watch::keys::Action;
use crate::watch::practice::Act;
use crate::watch::state::Watch;

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
            Action::NextStep
            | Action::Ground
            | Action::Instrument
            | Action::Place
            | Action::Value(_) => {
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
    use crate::watch::look::Look;
    use crate::watch::practice::Standing;
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
}
