//! The far end of a virtual cable: the instrument, as the thread that serves its pty sees it.

use super::line::{eighth_bit, heard_at};
use super::model::Bench;
use super::plug::Plug;
use super::speech::{Manner, Speech};
use metrology::Length;
use rustix::event::{PollFd, PollFlags, Timespec, poll};
use rustix::fd::OwnedFd;
use std::io;
use std::path::PathBuf;
use std::time::{Duration, Instant};

/// How often the instrument checks whether somebody listens, while nobody does.
const LOOK_AGAIN: Duration = Duration::from_millis(5);
/// Bytes longer than this are no request.
const HEARD_LIMIT: usize = 4096;
/// A replay faster than its listener reads waits this long before it goes on.
const ROOM_AGAIN: Duration = Duration::from_millis(2);

/// The instrument.
#[derive(Debug)]
pub(super) struct FarEnd {
    pub bench: Bench,
    speech: Speech,
    plug: Option<Plug>,
    /// Frames still to be damaged.
    pub garble: u32,
    /// Whether it streams; silence is no hang-up.
    pub silent: bool,
    /// Readings shown and written whole.
    pub sent: u64,
    /// Readings that the port had no room for, or the frame cannot hold.
    pub lost: u64,
    /// Bytes that came from the port's side and have not been understood yet.
    heard: Vec<u8>,
    next: Instant,
    /// When a replay began, and how many of its chunks are done with.
    replay: Option<(Instant, usize)>,
    /// How much of the replay's next chunk is written.
    replayed_of_chunk: usize,
}

impl FarEnd {
    pub fn new(bench: Bench, speech: Speech) -> io::Result<Self> {
        if let Manner::Streams { rate_hz } = speech.manner
            && !(rate_hz > 0.0 && rate_hz <= 10_000.0)
        {
            return Err(io::Error::new(
                io::ErrorKind::InvalidInput,
                format!("a rate of {rate_hz} readings a second: it is above 0 and at most 10 000"),
            ));
        }
        let step = bench.set_up().resolution;
        if speech
            .frame
            .encode(Length::ZERO, step, speech.unit)
            .is_none()
        {
            return Err(io::Error::new(
                io::ErrorKind::InvalidInput,
                format!(
                    "this frame cannot show steps of {step} in {}",
                    speech.unit.sign()
                ),
            ));
        }
        let mut far = Self {
            bench,
            speech,
            plug: None,
            garble: 0,
            silent: false,
            sent: 0,
            lost: 0,
            heard: Vec::new(),
            next: Instant::now(),
            replay: None,
            replayed_of_chunk: 0,
        };
        far.plug_in()?;
        Ok(far)
    }

    /// The name to open: the link where there is one. `None` while unplugged without a link.
    pub fn path(&self) -> Option<PathBuf> {
        let own = || self.plug.as_ref().map(|plug| plug.path.clone());
        self.speech.link.clone().or_else(own)
    }

    /// Opens a new pty, as a plug makes a new device node. Does nothing when plugged.
    pub fn plug_in(&mut self) -> io::Result<()> {
        if self.plug.is_some() {
            return Ok(());
        }
        self.plug = Some(Plug::open(self.speech.link.as_deref())?);
        Ok(())
    }

    /// Closes the master: whoever has the port open sees the hang-up.
    pub fn unplug(&mut self) {
        if self.plug.take().is_some() {
            self.heard.clear();
            self.remove_link();
        }
    }

    pub fn remove_link(&self) {
        if let Some(link) = &self.speech.link {
            // It may be gone already.
            let _ = std::fs::remove_file(link);
        }
    }

    /// The speed that the port's side has set, while it is plugged.
    pub fn speed(&self) -> Option<u32> {
        let plug = self.plug.as_ref()?;
        plug.speed()
    }

    /// The frame of the next reading, not sent; `None` when the frame cannot hold it.
    pub fn next_frame(&mut self) -> Option<Vec<u8>> {
        let dt_s = match self.speech.manner {
            Manner::Streams { rate_hz } => 1.0 / rate_hz,
            _ => 0.0,
        };
        let shown = self.bench.read(dt_s);
        self.frame_of(shown)
    }

    fn frame_of(&self, shown: Length) -> Option<Vec<u8>> {
        let step = self.bench.set_up().resolution;
        self.speech.frame.encode(shown, step, self.speech.unit)
    }

    /// Sends the next reading, damaged when damage is due. Nothing happens, and no reading is used up, while
    /// nobody listens.
    pub fn show(&mut self) {
        if !self.listening() {
            return;
        }
        let Some(mut bytes) = self.next_frame() else {
            self.lost += 1;
            return;
        };
        if self.garble > 0 {
            self.garble -= 1;
            // A middle byte with its high bit set is part of no text, and breaks the check of every other form.
            let middle = bytes.len() / 2;
            if let Some(byte) = bytes.get_mut(middle) {
                *byte ^= 0x80;
            }
        }
        if self.send(&bytes) {
            self.sent += 1;
        } else {
            self.lost += 1;
        }
    }

    /// Sends bytes as they are, at the instrument's speed; false when they did not all go.
    pub fn send(&mut self, bytes: &[u8]) -> bool {
        let speed = self.speed();
        let Some(plug) = &self.plug else {
            return false;
        };
        let heard = match &self.speech.line {
            None => bytes.to_vec(),
            Some(own) => {
                let sent: Vec<u8> = bytes.iter().map(|&byte| eighth_bit(byte, own)).collect();
                match speed {
                    // Speed 0 is a port that nobody has set.
                    Some(other) if own.baud != other && other > 0 => {
                        heard_at(&sent, own.baud, other)
                    }
                    _ => sent,
                }
            }
        };
        // A port whose buffer is full loses what comes, as a real one does.
        matches!(rustix::io::write(&plug.master, &heard), Ok(n) if n == heard.len())
    }

    /// Whether somebody has the port open.
    pub fn listening(&self) -> bool {
        self.plug.as_ref().is_some_and(Plug::is_open_elsewhere)
    }

    /// Waits until a command comes, the port's side writes, or the next reading is due; then does what is due.
    pub fn wait(&mut self, wake: &OwnedFd) {
        let listening = self.listening();
        let now = Instant::now();
        let until = if listening {
            self.due(now).map(|due| due.saturating_duration_since(now))
        } else {
            self.plug.as_ref().map(|_| LOOK_AGAIN)
        };
        let until = until.map(|d| Timespec {
            tv_sec: i64::try_from(d.as_secs()).unwrap_or(i64::MAX),
            tv_nsec: i64::from(d.subsec_nanos()),
        });
        let mut fds = vec![PollFd::new(wake, PollFlags::IN)];
        // A master without a listener reports the hang-up at once and for ever; waiting on it would spin.
        if let Some(plug) = self.plug.as_ref().filter(|_| listening) {
            fds.push(PollFd::new(&plug.master, PollFlags::IN));
        }
        let interrupted = poll(&mut fds, until.as_ref()).is_err();
        let woken = fds[0].revents().contains(PollFlags::IN);
        let spoken_to = fds
            .get(1)
            .is_some_and(|fd| fd.revents().contains(PollFlags::IN));
        drop(fds);
        if interrupted {
            return;
        }
        if woken {
            let mut count = [0; 8];
            let _ = rustix::io::read(wake, &mut count);
        }
        if spoken_to {
            self.hear();
        }
        let now = Instant::now();
        if listening && self.due(now).is_some_and(|due| due <= now) {
            self.do_due(now);
        }
    }

    /// When the instrument speaks next by itself, to somebody who listens.
    fn due(&mut self, now: Instant) -> Option<Instant> {
        match &self.speech.manner {
            Manner::Streams { rate_hz } if !self.silent => {
                // A stream that was held up for a while does not catch up.
                if self.next + Duration::from_secs_f64(1.0 / rate_hz) < now {
                    self.next = now;
                }
                Some(self.next)
            }
            Manner::Replays { chunks } => {
                let (begun, done) = *self.replay.get_or_insert((now, 0));
                let at_ns = u64::try_from(chunks.get(done)?.at_ns).unwrap_or(0);
                Some(begun + Duration::from_nanos(at_ns))
            }
            _ => None,
        }
    }

    fn do_due(&mut self, now: Instant) {
        match &self.speech.manner {
            Manner::Streams { rate_hz } => {
                self.next += Duration::from_secs_f64(1.0 / rate_hz);
                self.show();
            }
            Manner::Replays { chunks } => {
                let (begun, done) = self.replay.unwrap_or((now, 0));
                let left = chunks.get(done).map_or(&[][..], |chunk| {
                    let from = self.replayed_of_chunk.min(chunk.bytes.len());
                    &chunk.bytes[from..]
                });
                let written = match &self.plug {
                    Some(plug) if !left.is_empty() => {
                        rustix::io::write(&plug.master, left).unwrap_or(0)
                    }
                    _ => 0,
                };
                if written < left.len() {
                    // A replay sends every byte: unlike an instrument it waits for room, and all that follows is sent as much
                    // later.
                    self.replayed_of_chunk += written;
                    self.replay = Some((begun + ROOM_AGAIN, done));
                } else {
                    self.replayed_of_chunk = 0;
                    self.replay = Some((begun, done + 1));
                }
            }
            Manner::Polled { .. } | Manner::Press => {}
        }
    }

    /// Starts the replay again.
    pub fn replay_again(&mut self) {
        self.replay = None;
        self.replayed_of_chunk = 0;
    }

    /// Whether the replay has sent everything.
    pub fn replayed(&self) -> bool {
        match (&self.speech.manner, self.replay) {
            (Manner::Replays { chunks }, Some((_, done))) => done >= chunks.len(),
            _ => false,
        }
    }

    fn hear(&mut self) {
        let Some(plug) = &self.plug else {
            return;
        };
        let mut chunk = [0; 512];
        while let Ok(n) = rustix::io::read(&plug.master, &mut chunk) {
            if n == 0 {
                break;
            }
            self.heard.extend_from_slice(&chunk[..n]);
        }
        if let Manner::Polled { request } = &self.speech.manner
            && !request.is_empty()
        {
            let request = request.clone();
            while let Some(at) = self
                .heard
                .windows(request.len())
                .position(|window| window == request)
            {
                self.heard.drain(..at + request.len());
                if !self.silent {
                    self.show();
                }
            }
        }
        let excess = self.heard.len().saturating_sub(HEARD_LIMIT);
        self.heard.drain(..excess);
    }
}
