//! A virtual cable: an instrument on a pty, served by a thread of its own.

use super::far_end::FarEnd;
use super::model::{Bench, Truth};
use super::speech::Speech;
use protocol::frame::Frame;
use rustix::event::{EventfdFlags, eventfd};
use rustix::fd::OwnedFd;
use std::fmt;
use std::io;
use std::path::PathBuf;
use std::sync::Arc;
use std::sync::mpsc::{Receiver, Sender, TryRecvError, channel};
use std::thread::JoinHandle;

type Command = Box<dyn FnOnce(&mut FarEnd) + Send>;

/// An instrument on a pty that shows the readings of a [`Bench`].
///
/// Dropping it unplugs the cable and ends its thread. It shows nothing while nobody has the port open, so the
/// first reading that a listener gets is the bench's first.
pub struct VirtualCable {
    commands: Sender<Command>,
    wake: Arc<OwnedFd>,
    thread: Option<JoinHandle<()>>,
}

impl fmt::Debug for VirtualCable {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("VirtualCable").finish_non_exhaustive()
    }
}

impl VirtualCable {
    /// An instrument that streams in millimetres, `rate_hz` readings a second (20 is usual).
    ///
    /// # Errors
    /// No pty can be had, or the rate is not above 0 and at most 10 000.
    pub fn start(bench: Bench, frame: Frame, rate_hz: f64) -> io::Result<Self> {
        Self::speaking(bench, Speech::streams(frame, rate_hz))
    }

    /// An instrument that speaks as stated.
    ///
    /// # Errors
    /// No pty or thread can be had, the link cannot be made, or the rate is not above 0 and at most 10 000.
    pub fn speaking(bench: Bench, speech: Speech) -> io::Result<Self> {
        let far = FarEnd::new(bench, speech)?;
        let wake = Arc::new(eventfd(0, EventfdFlags::CLOEXEC | EventfdFlags::NONBLOCK)?);
        let (commands, receiver) = channel();
        let thread = std::thread::Builder::new()
            .name("virtual-cable".to_owned())
            .spawn({
                let wake = Arc::clone(&wake);
                move || serve(far, &receiver, &wake)
            })?;
        Ok(Self {
            commands,
            wake,
            thread: Some(thread),
        })
    }

    /// The name to open, as a real port's; a link stays the same when the cable is pulled and put back.
    ///
    /// # Errors
    /// The cable is unplugged and has no link.
    pub fn path(&self) -> io::Result<PathBuf> {
        self.at_far_end(|far| far.path())?.ok_or_else(|| {
            io::Error::new(
                io::ErrorKind::NotFound,
                "the virtual cable is unplugged and has no name now",
            )
        })
    }

    /// Does something with the bench between two readings: move, tap, follow, clamp, loosen, look at the truth.
    ///
    /// # Errors
    /// The cable's thread has ended.
    pub fn bench<R: Send + 'static>(
        &self,
        act: impl FnOnce(&mut Bench) -> R + Send + 'static,
    ) -> io::Result<R> {
        self.at_far_end(|far| act(&mut far.bench))
    }

    /// What no indicator shows.
    ///
    /// # Errors
    /// The cable's thread has ended.
    pub fn truth(&self) -> io::Result<Truth> {
        self.bench(|bench| bench.truth())
    }

    /// Presses the instrument's key: one reading is sent, whatever its manner.
    ///
    /// # Errors
    /// The cable's thread has ended.
    pub fn press(&self) -> io::Result<()> {
        self.at_far_end(FarEnd::show)
    }

    /// Sends bytes as they are: garbage, half a frame. False when the port did not take them all.
    ///
    /// # Errors
    /// The cable's thread has ended.
    pub fn send(&self, bytes: &[u8]) -> io::Result<bool> {
        let bytes = bytes.to_vec();
        self.at_far_end(move |far| far.send(&bytes))
    }

    /// The frame of the bench's next reading, which is used up but not sent.
    ///
    /// # Errors
    /// The frame cannot hold the reading, or the cable's thread has ended.
    pub fn next_frame(&self) -> io::Result<Vec<u8>> {
        self.at_far_end(FarEnd::next_frame)?
            .ok_or_else(|| io::Error::other("the frame cannot hold the bench's reading"))
    }

    /// Damages a byte in each of the next `frames` frames.
    ///
    /// # Errors
    /// The cable's thread has ended.
    pub fn garble(&self, frames: u32) -> io::Result<()> {
        self.at_far_end(move |far| far.garble = frames)
    }

    /// Stops or resumes streaming and answering, with the cable plugged: an instrument switched off.
    ///
    /// # Errors
    /// The cable's thread has ended.
    pub fn silence(&self, silent: bool) -> io::Result<()> {
        self.at_far_end(move |far| far.silent = silent)
    }

    /// Pulls the cable: the port's side sees a hang-up, and loses what it has not read.
    ///
    /// # Errors
    /// The cable's thread has ended.
    pub fn unplug(&self) -> io::Result<()> {
        self.at_far_end(FarEnd::unplug)
    }

    /// Puts the cable back; without a link it may come back under another name.
    ///
    /// # Errors
    /// No pty can be had, or the cable's thread has ended.
    pub fn plug(&self) -> io::Result<()> {
        self.at_far_end(FarEnd::plug_in)?
    }

    /// The speed that the port's side has set, while the cable is plugged.
    ///
    /// # Errors
    /// The cable's thread has ended.
    pub fn speed(&self) -> io::Result<Option<u32>> {
        self.at_far_end(|far| far.speed())
    }

    /// Whether the replay has sent everything.
    ///
    /// # Errors
    /// The cable's thread has ended.
    pub fn replayed(&self) -> io::Result<bool> {
        self.at_far_end(|far| far.replayed())
    }

    /// Has a replay say everything once more.
    ///
    /// # Errors
    /// The cable's thread has ended.
    pub fn replay_again(&self) -> io::Result<()> {
        self.at_far_end(FarEnd::replay_again)
    }

    /// Readings sent whole, and readings that the port had no room for or the frame cannot hold.
    ///
    /// # Errors
    /// The cable's thread has ended.
    pub fn counts(&self) -> io::Result<(u64, u64)> {
        self.at_far_end(|far| (far.sent, far.lost))
    }

    /// Has the thread do something between two readings, and waits for its answer.
    fn at_far_end<R: Send + 'static>(
        &self,
        act: impl FnOnce(&mut FarEnd) -> R + Send + 'static,
    ) -> io::Result<R> {
        let ended = || io::Error::other("the virtual cable has ended");
        let (answer, answered) = channel();
        let command: Command = Box::new(move |far| {
            // Nobody waits for the answer when the caller's thread is gone.
            let _ = answer.send(act(far));
        });
        self.commands.send(command).map_err(|_| ended())?;
        self.wake();
        answered.recv().map_err(|_| ended())
    }

    fn wake(&self) {
        // The counter can only be full when the thread has not looked for 2^64 wakes.
        let _ = rustix::io::write(&*self.wake, &1_u64.to_ne_bytes());
    }
}

impl Drop for VirtualCable {
    fn drop(&mut self) {
        // The thread ends when the last sender is gone.
        let (nobody, _) = channel();
        self.commands = nobody;
        self.wake();
        if let Some(thread) = self.thread.take() {
            // A panic over there has been printed; it is no reason for one here.
            let _ = thread.join();
        }
    }
}

fn serve(mut far: FarEnd, commands: &Receiver<Command>, wake: &OwnedFd) {
    loop {
        match commands.try_recv() {
            Ok(command) => command(&mut far),
            Err(TryRecvError::Empty) => far.wait(wake),
            Err(TryRecvError::Disconnected) => break,
        }
    }
    far.unplug();
}
