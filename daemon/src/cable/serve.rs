//! One opened port, from its opening to its hang-up.
//!
//! A read of no bytes is the hang-up, never "nothing yet": an unplugged port is readable for ever, and a loop that
//! takes it for silence spins. Silence has timers: one reports to the sniffer that a frame's edge is known, one makes
//! the last value old.

use super::as_configured::AsConfigured;
use super::event::CableEventKind;
use super::event_reporter::{EventReporter, NoListener};
use super::port::Opened;
use super::timers::{Timers, at, seconds};
use crate::clock::Clock;
use config::model::{Cable, Cadence};
use metrology::{Length, Unit};
use protocol::api::CableState;
use protocol::frame::{Decoded, Frame, Sniffer};
use protocol::marks::{Marks, Piece};
use std::io::ErrorKind;
use std::sync::Arc;
use std::time::Duration;
use tokio::io::{AsyncRead, AsyncReadExt, AsyncWrite, AsyncWriteExt};
use tokio::time::{Instant, timeout};

/// Skipped bytes are reported at most this often; garbage comes in thousands.
const SKIPPED_EVERY: Duration = Duration::from_millis(250);
/// So many requests without an answer make a polled cable stale.
const MISSES: u32 = 3;

/// Why a port is no longer served.
#[derive(Debug)]
pub(super) enum End {
    /// The device left, in words.
    HangUp(String),
    /// Nobody receives the events.
    NoListener,
}

impl From<NoListener> for End {
    fn from(NoListener: NoListener) -> Self {
        Self::NoListener
    }
}

/// What outlives one opening: the sniffer's counts, and what the configuration says.
pub(super) struct PortServer {
    sniffer: Sniffer,
    as_configured: AsConfigured,
    pause: Duration,
    /// Where the port marks damaged characters.
    marks: Option<Marks>,
    reported_skipped: u64,
    cadence: Cadence,
    request: Vec<u8>,
    frame_name: String,
    settings: String,
    clock: Arc<dyn Clock>,
}

/// A value and where it came from in time.
type Value = (Length, Length, Option<Unit>);

impl PortServer {
    pub fn new(cable: &Cable, frame: Frame, clock: Arc<dyn Clock>) -> Self {
        // A frame that has a request of its own needs none in the configuration.
        let request = match &cable.cadence {
            Cadence::Polled { request, .. } if !request.is_empty() => request.clone(),
            _ => frame.request().unwrap_or_default(),
        };
        Self {
            pause: Duration::from_secs_f64(frame.pause_s(cable.settings.baud)),
            sniffer: Sniffer::new(frame, cable.unit),
            as_configured: AsConfigured::of(cable),
            marks: None,
            reported_skipped: 0,
            cadence: cable.cadence.clone(),
            request,
            frame_name: cable.frame.clone(),
            settings: cable.settings.to_string(),
            clock,
        }
    }

    /// Reads the port until it hangs up. The port is dropped, and so closed, before this returns.
    pub async fn serve<P>(&mut self, opened: Opened<P>, reporter: &mut EventReporter) -> End
    where
        P: AsyncRead + AsyncWrite + Unpin,
    {
        // Half a frame from before the last hang-up is no part of what comes now.
        self.sniffer.reset();
        let Opened {
            mut port,
            path,
            notes,
            instrument: _,
            marked,
        } = opened;
        self.marks = marked.then(Marks::default);
        let notes = (!notes.is_empty()).then(|| notes.join("; "));
        let end = self.listen(&mut port, notes.as_deref(), reporter).await;
        drop(port);
        self.sniffer.reset();
        if let End::HangUp(why) = end {
            if let Err(no_listener) = self.report_skipped(reporter).await {
                return no_listener.into();
            }
            return End::HangUp(format!(
                "{} left ({why}): put the cable back; waiting for it",
                path.display()
            ));
        }
        end
    }

    async fn listen<P>(
        &mut self,
        port: &mut P,
        notes: Option<&str>,
        reporter: &mut EventReporter,
    ) -> End
    where
        P: AsyncRead + AsyncWrite + Unpin,
    {
        let opened = Instant::now();
        let mut timers = Timers::new(&self.cadence, opened, self.pause);
        timers.skipped_at_reading = self.sniffer.skipped_bytes();
        let mut buffer = [0; 4096];
        let mut values: Vec<Value> = Vec::new();
        loop {
            let reported = tokio::select! {
                biased;
                // What there is to read is read before any timer says that there was nothing.
                read = port.read(&mut buffer) => match read {
                    Ok(0) => return End::HangUp("hang-up".to_owned()),
                    Ok(n) => {
                        let steady_ns = self.clock.steady_ns();
                        self.take(&buffer[..n], &mut values);
                        timers.heard(self.pause, self.sniffer.is_between_frames());
                        self.report(&mut values, steady_ns, notes, &mut timers, reporter).await
                    }
                    Err(error) if error.kind() == ErrorKind::Interrupted => Ok(()),
                    Err(error) => return End::HangUp(error.to_string()),
                },
                () = at(timers.pause) => {
                    let steady_ns = self.clock.steady_ns();
                    timers.pause = None;
                    self.take_pause(&mut values);
                    // The line is known to be idle: from here on every frame that comes is whole.
                    timers.announce = timers.announce.map(|_| Instant::now());
                    self.report(&mut values, steady_ns, notes, &mut timers, reporter).await
                }
                // After the pause: what is asked for before the line was idle may be taken for the tail of something.
                () = at(timers.request) => self.ask(port, &mut timers).await,
                () = at(timers.announce) => {
                    timers.announce = None;
                    reporter.state(CableState::Quiet, notes).await
                }
                () = at(timers.answer) => {
                    self.missed(&mut timers, reporter).await
                }
                () = at(timers.old) => self.grew_old(&mut timers, notes, reporter).await,
                () = at(timers.skipped) => self.skipped_due(&mut timers, reporter).await,
            };
            match reported {
                Ok(()) => {}
                Err(no_listener) => return no_listener.into(),
            }
        }
    }

    fn take(&mut self, bytes: &[u8], values: &mut Vec<Value>) {
        let as_configured = self.as_configured;
        let mut found = |decoded: Decoded| {
            values.extend(
                as_configured
                    .apply(&decoded)
                    .map(|(v, r)| (v, r, decoded.unit)),
            );
        };
        let sniffer = &mut self.sniffer;
        match &mut self.marks {
            Some(marks) => marks.take(bytes, &mut |piece| match piece {
                Piece::Bytes(bytes) => sniffer.push(bytes, &mut found),
                Piece::Damaged => sniffer.damaged(&mut found),
            }),
            None => sniffer.push(bytes, &mut found),
        }
    }

    fn take_pause(&mut self, values: &mut Vec<Value>) {
        let as_configured = self.as_configured;
        self.sniffer.pause(&mut |decoded| {
            values.extend(
                as_configured
                    .apply(&decoded)
                    .map(|(v, r)| (v, r, decoded.unit)),
            );
        });
    }

    /// Reports the readings of one read. They share its time, and keep their order.
    async fn report(
        &mut self,
        values: &mut Vec<Value>,
        steady_ns: i64,
        notes: Option<&str>,
        timers: &mut Timers,
        reporter: &mut EventReporter,
    ) -> Result<(), NoListener> {
        if !values.is_empty() {
            timers.reading(&self.cadence);
            timers.skipped_at_reading = self.sniffer.skipped_bytes();
            // Most readings come while the cable is live, and its state needs no comparing then.
            if !reporter.is(CableState::Live) {
                reporter.state(CableState::Live, notes).await?;
            }
        }
        for (value, resolution, unit) in values.drain(..) {
            let kind = CableEventKind::Reading {
                value,
                resolution,
                steady_ns,
                unit,
            };
            reporter.send(kind).await?;
        }
        if self.sniffer.skipped_bytes() > self.reported_skipped && timers.skipped.is_none() {
            timers.skipped = Some(timers.skipped_next);
        }
        // A flood keeps the port readable, and with it the runtime's budget used up whenever a timer could have its turn.
        if timers.skipped.is_some_and(|due| due <= Instant::now()) {
            self.skipped_due(timers, reporter).await?;
        }
        if timers.old.is_some_and(|due| due <= Instant::now()) {
            self.grew_old(timers, notes, reporter).await?;
        }
        if timers.answer.is_some_and(|due| due <= Instant::now()) {
            self.missed(timers, reporter).await?;
        }
        Ok(())
    }

    async fn skipped_due(
        &mut self,
        timers: &mut Timers,
        reporter: &EventReporter,
    ) -> Result<(), NoListener> {
        timers.skipped = None;
        timers.skipped_next = Instant::now() + SKIPPED_EVERY;
        self.report_skipped(reporter).await
    }

    async fn report_skipped(&mut self, reporter: &EventReporter) -> Result<(), NoListener> {
        let total = self.sniffer.skipped_bytes();
        if total == self.reported_skipped {
            return Ok(());
        }
        self.reported_skipped = total;
        let last = self.sniffer.last_skipped();
        reporter.send(CableEventKind::Skipped { total, last }).await
    }

    /// The last value has outlived its time.
    async fn grew_old(
        &mut self,
        timers: &mut Timers,
        notes: Option<&str>,
        reporter: &mut EventReporter,
    ) -> Result<(), NoListener> {
        timers.old = None;
        match self.cadence {
            Cadence::Press => reporter.state(CableState::Quiet, notes).await,
            Cadence::Streams { stale_after_s } => {
                let words = self.why_nothing(&format!("no reading for {stale_after_s} s"), timers);
                self.report_skipped(reporter).await?;
                reporter.state(CableState::Stale, Some(&words)).await
            }
            // A polled cable grows old by its misses.
            Cadence::Polled { .. } => Ok(()),
        }
    }

    fn why_nothing(&self, what: &str, timers: &Timers) -> String {
        let noise = self.sniffer.skipped_bytes() > timers.skipped_at_reading
            || self.sniffer.waiting_bytes() > 0;
        if noise {
            format!(
                "{what}, though bytes come: are {} and the frame `{}` what the instrument sends? Last: {}",
                self.settings,
                self.frame_name,
                self.sniffer.last_skipped()
            )
        } else {
            format!("{what}: is the instrument on, and does it send by itself?")
        }
    }

    /// Sends a request.
    async fn ask<P: AsyncWrite + Unpin>(
        &mut self,
        port: &mut P,
        timers: &mut Timers,
    ) -> Result<(), NoListener> {
        let Cadence::Polled {
            interval_s,
            timeout_s,
            ..
        } = self.cadence
        else {
            timers.request = None;
            return Ok(());
        };
        let now = Instant::now();
        let patience = seconds(timeout_s);
        timers.request = None;
        timers.next_request = now + seconds(interval_s);
        timers.answer = Some(now + patience);
        // A write that fails is a port that leaves: the read that follows says so. One that does not end in time is
        // a miss.
        let _ = timeout(patience, port.write_all(&self.request)).await;
        Ok(())
    }

    /// An answer did not come.
    async fn missed(
        &mut self,
        timers: &mut Timers,
        reporter: &mut EventReporter,
    ) -> Result<(), NoListener> {
        timers.answer = None;
        let mut next = timers.next_request;
        if self.sniffer.waiting_bytes() > 0 {
            // Half an answer must not be glued to the next one, nor its late other half be taken for one.
            self.sniffer.reset();
            let idle = Instant::now() + self.pause;
            timers.pause = Some(idle);
            next = next.max(idle);
        }
        timers.request = Some(next);
        timers.misses = timers.misses.saturating_add(1);
        if timers.misses < MISSES {
            return Ok(());
        }
        let words = if self.sniffer.skipped_bytes() > timers.skipped_at_reading {
            self.why_nothing(&format!("{MISSES} requests without a good answer"), timers)
        } else {
            format!(
                "{MISSES} requests without an answer: is the instrument on, and is `request` what it understands?"
            )
        };
        self.report_skipped(reporter).await?;
        if reporter.is(CableState::Stale) {
            return Ok(());
        }
        reporter.state(CableState::Stale, Some(&words)).await
    }
}
