//! What the pedal's keys do.
//!
//! A press is of the moment when it was read, however long it has to wait for the store. The screens show what it did, and why
//! it did nothing, since nobody waits for an answer.

use super::pedal::WAITING;
use super::request::{Answer, Change};
use super::roster::{is_away, reason_suffix};
use super::state::Engine;
use crate::pedal::PedalEvent;
use config::PedalAction;
use config::keys::name_of;
use protocol::api::{ClampRequest, Code, MarkRequest, Refusal};
use protocol::record::EventKind;
use tokio::sync::oneshot;

/// Presses of one key closer than this are one that was felt twice, or a mistake: the second is asked about.
const DOUBLE_PRESS_NS: i64 = 300_000_000;

impl Engine {
    pub(super) fn on_pedal(&mut self, (number, event): (usize, PedalEvent)) {
        let Some(served) = self.pedal.served.as_mut().filter(|s| s.number == number) else {
            return;
        };
        match event {
            PedalEvent::State { state, detail } => {
                let (was_away, away) = (is_away(served.state), is_away(state));
                tracing::info!(?state, detail, "pedal");
                served.state = state;
                served.detail.clone_from(&detail);
                served.last = None;
                if away && !was_away {
                    let why = reason_suffix(detail);
                    self.note(EventKind::Cable, format!("the pedal left{why}"));
                } else if was_away && !away {
                    self.note(EventKind::Cable, "the pedal is back".to_owned());
                }
                self.show();
            }
            PedalEvent::Pressed { key, steady_ns } => {
                let twice = served
                    .last
                    .replace((key, steady_ns))
                    .is_some_and(|(last, at_ns)| {
                        last == key && steady_ns - at_ns < DOUBLE_PRESS_NS
                    });
                let Some(action) = served.config.action(key) else {
                    let name = name_of(key);
                    self.notify(&format!(
                        "the pedal's key `{name}` has no action: add {name} = \"mark\" to the pedal's `keys` in the configuration"
                    ));
                    return;
                };
                if twice {
                    // The user can simply press again.
                    self.notify(
                        "the pedal was pressed twice within 0.3 s, and the second press was ignored: press again if you meant it",
                    );
                } else if self.pedal.waiting.len() >= WAITING {
                    self.notify("the pedal's press was ignored: the earlier presses still wait for the disk");
                } else {
                    self.pedal.waiting.push_back((action, steady_ns));
                }
            }
        }
    }

    /// Carries out the presses that wait, each after the commit of the one before.
    pub(super) fn work_off_pedal_presses(&mut self) {
        while self.writes.is_idle()
            && let Some((action, steady_ns)) = self.pedal.waiting.pop_front()
        {
            match action {
                PedalAction::Mark => self.mark_by_pedal(false, steady_ns),
                PedalAction::NewRound => self.mark_by_pedal(true, steady_ns),
                PedalAction::Undo if self.waiting.is_some() => self.by_pedal(Change::LeavePress),
                PedalAction::Undo => self.by_pedal(Change::Undo),
                PedalAction::Clamp => {
                    let tight = !self.session.as_ref().is_some_and(|session| session.clamped);
                    self.by_pedal(|answer| Change::Clamp(ClampRequest { tight }, answer));
                }
            }
        }
        self.report_mark_by_pedal();
    }

    fn mark_by_pedal(&mut self, new_round: bool, steady_ns: i64) {
        let request = MarkRequest {
            new_round,
            ..MarkRequest::default()
        };
        let (answer, answered) = oneshot::channel();
        self.pedal.mark = Some(answered);
        self.on_change(Change::Mark(request, steady_ns, answer));
    }

    /// Reports why the mark of a press was rejected, which may be long after the press.
    fn report_mark_by_pedal(&mut self) {
        let Some(answered) = &mut self.pedal.mark else {
            return;
        };
        match answered.try_recv() {
            Err(oneshot::error::TryRecvError::Empty) => return,
            // The user cancelled it, and knows.
            Ok(Err(refusal)) if refusal.code != Code::Cancelled => self.pedal_refused(&refusal),
            _ => {}
        }
        self.pedal.mark = None;
    }

    fn by_pedal<T: Send + 'static>(&mut self, change: impl FnOnce(Answer<T>) -> Change) {
        let (answer, mut answered) = oneshot::channel();
        self.on_change(change(answer));
        // A change is rejected at once, or `on_stored` reports it when the store rejects it.
        if let Ok(Err(refusal)) = answered.try_recv() {
            self.pedal_refused(&refusal);
        }
    }

    fn pedal_refused(&mut self, refusal: &Refusal) {
        let hint = refusal
            .hint
            .as_deref()
            .map_or(String::new(), |hint| format!("; {hint}"));
        self.notify(&format!(
            "the pedal's press was rejected: {}{hint}",
            refusal.message
        ));
    }
}
