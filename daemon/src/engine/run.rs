//! The engine's loop, and what it does with what the cables send.

use super::state::Engine;
use super::waiting_mark::LOOK_AGAIN;
use crate::cable::{CableEvent, CableEventKind};
use crate::store::{ReadingRow, StoreError};
use metrology::Length;
use protocol::api::{CableState, Live, LiveReading};
use std::sync::Arc;
use std::time::Duration;
use tokio::sync::watch;
use tokio::time::Instant;

/// How long the tasks of cables have to release their ports.
const CABLES_STOP: Duration = Duration::from_secs(2);

impl Engine {
    /// Handles messages in the order of their arrival until `stop` becomes true. Then it stops the cables, takes their last
    /// readings, and closes the store.
    ///
    /// # Errors
    /// The store could not be closed.
    pub async fn run(mut self, mut stop: watch::Receiver<bool>) -> Result<(), StoreError> {
        loop {
            let mut was_shown = false;
            let look = self.looks.next(self.goes_on(), Instant::now());
            let idle = self.writes.is_idle();
            // A change goes before a group of readings, and is committed together with it.
            let group = self
                .writes
                .due()
                .filter(|_| idle && self.changes.is_empty());
            tokio::select! {
                Some(event) = self.cable_events.recv() => {
                    self.on_cable(event);
                    was_shown = self.feed.has_listeners() && self.cable_events.is_empty();
                }
                written = self.writes.written(), if !idle => {
                    let outcome = self.writes.finish(written);
                    self.on_stored(outcome);
                }
                Some(change) = self.changes.recv(), if idle => self.on_change(change),
                Some(query) = self.queries.recv() => self.on_query(query),
                Some(event) = self.pedal.events.recv() => self.on_pedal(event),
                () = tokio::time::sleep_until(group.unwrap_or_else(Instant::now)), if group.is_some() => {
                    self.writes.send_group(None);
                }
                () = tokio::time::sleep(LOOK_AGAIN), if self.waiting.is_some() => {}
                () = self.nudge.notified() => self.looks.tell(Instant::now()),
                () = tokio::time::sleep_until(look.unwrap_or_else(Instant::now)), if look.is_some() => self.look(),
                _ = stop.wait_for(|stop| *stop) => break,
            }
            if was_shown {
                // The live views get it before the store's thread is woken.
                tokio::task::yield_now().await;
            }
            self.mark_presses();
            self.retry_waiting_mark();
            self.work_off_pedal_presses();
        }
        self.close().await
    }

    /// Whether a cable may send, somebody looks on, or something has to be shown or taken away soon. Else nothing wakes the engine.
    fn goes_on(&self) -> bool {
        self.config_file.is_none()
            || self.feed.has_listeners()
            || self.unshown
            || self.notice.is_some()
            || self
                .roster
                .served
                .iter()
                .any(|served| served.state != CableState::Gone)
    }

    async fn close(mut self) -> Result<(), StoreError> {
        self.drop_waiting("the daemon was stopped");
        let mut tasks = self.roster.stop();
        tasks.extend(self.pedal.stop());
        let stopped = async {
            for task in tasks {
                // A task that has panicked has released its port as well.
                let _ = task.await;
            }
        };
        tokio::pin!(stopped);
        let deadline = tokio::time::sleep(CABLES_STOP);
        tokio::pin!(deadline);
        // The engine takes their last readings meanwhile: a task that waits for room in the channel would not stop otherwise.
        loop {
            tokio::select! {
                () = &mut stopped => break,
                () = &mut deadline => {
                    tracing::warn!("a cable did not stop in time");
                    break;
                }
                Some(event) = self.cable_events.recv() => self.on_cable(event),
            }
        }
        while let Ok(event) = self.cable_events.try_recv() {
            self.on_cable(event);
        }
        // Clients that still wait get their answer, and a press that has arrived becomes a mark.
        loop {
            self.mark_presses();
            if self.writes.is_idle() {
                break;
            }
            let written = self.writes.written().await;
            let outcome = self.writes.finish(written);
            self.on_stored(outcome);
        }
        self.leave_double_press("the daemon was stopped");
        let now = self.timeline.now(&*self.clock);
        self.writes.close(now.t).await
    }

    pub(super) fn on_cable(&mut self, event: CableEvent) {
        // A task that was replaced may still send an event.
        let Some(index) = self.roster.index_of_task(event.cable) else {
            return;
        };
        match event.kind {
            CableEventKind::Reading {
                value,
                resolution,
                steady_ns,
                unit,
            } => {
                if self.roster.served[index].fitted.other().is_some() {
                    return;
                }
                self.on_unit(index, unit, steady_ns);
                self.on_reading(index, value, resolution, steady_ns);
            }
            CableEventKind::State { state, detail } => self.on_state(index, state, detail),
            CableEventKind::Instrument { known_as } => self.on_instrument(index, known_as),
            CableEventKind::Skipped { total, last } => {
                self.roster.served[index].skipped(total, last);
                // Garbage may arrive as fast as the line allows; showing it once a second is enough.
                self.unshown = true;
            }
        }
    }

    /// Sends a reading to the clients first, and to the store after that.
    fn on_reading(&mut self, index: usize, value: Length, resolution: Length, steady_ns: i64) {
        self.notice_sleep();
        let t = self.timeline.at(steady_ns).max(self.not_before);
        let served = &mut self.roster.served[index];
        let reading = served.take(t, value, resolution);
        let name = Arc::clone(&served.name);
        let presses = served.presses();
        if !presses {
            served.fitted.reads(&reading);
        }
        if served.woke() {
            self.show();
        }
        self.record(&name, &reading);
        if self.feed.has_listeners() {
            let rule = match &self.session {
                Some(session) => &session.setup.settle,
                None => &self.config.settle,
            };
            let settled = presses || self.roster.served[index].settled(t, rule);
            self.feed.send(&Live::Reading(LiveReading {
                cable: name.to_string(),
                seq: reading.seq,
                t,
                value,
                resolution,
                settled,
                so_far: self
                    .session
                    .as_ref()
                    .and_then(|session| session.step.as_ref()?.recording.as_ref())
                    .and_then(|recording| recording.with_reading(&name)),
            }));
        }
        let Some((session, step)) = self
            .session
            .as_ref()
            .and_then(|s| Some((s, s.step.as_ref()?)))
        else {
            return;
        };
        if step.plan.takes(&name, &session.setup) {
            self.room.reading();
            self.writes.reading(ReadingRow {
                step: step.id,
                cable: Arc::clone(&name),
                reading,
            });
        }
        let is_mark = presses && !step.plan.records() && self.indicator_name() == Some(&*name);
        // A contact print is judged by eye, so a press is no mark there and raises no question about a second press.
        let no_print =
            (is_mark && step.plan.kind().by_eye()).then(|| step.plan.work.place_wanted().message);
        self.forget_given_up();
        match no_print {
            Some(words) => self.notify(&words),
            None if is_mark => self.on_press(name, reading),
            None => {}
        }
    }
}
