//! The terminal, taken and given back: on every way out, a panic's and a signal's too.

use super::state::Watch;
use super::view;
use ratatui::Terminal;
use ratatui::backend::CrosstermBackend;
use ratatui::crossterm::cursor::Show;
use ratatui::crossterm::event::{DisableBracketedPaste, EnableBracketedPaste, Event, poll, read};
use ratatui::crossterm::execute;
use ratatui::crossterm::terminal::{
    Clear, ClearType, EnterAlternateScreen, LeaveAlternateScreen, disable_raw_mode, enable_raw_mode,
};
use rustix::event::{PollFd, PollFlags, Timespec};
use rustix::io::Errno;
use rustix::stdio::stdin;
use std::io::{self, Stdout, Write};
use std::mem::ManuallyDrop;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Once};
use std::time::Duration;
use tokio::sync::mpsc;

/// Whether the terminal is ours now. There is one per process, and a panic can come from anywhere in it.
static TAKEN: AtomicBool = AtomicBool::new(false);
static HOOK: Once = Once::new();

/// The terminal while it is ours. Dropping it gives it back.
pub struct Screen {
    /// Never dropped by itself: its own end shows the cursor, which is done here already, and prints when that fails,
    /// which panics where the terminal is gone.
    terminal: ManuallyDrop<Terminal<CrosstermBackend<Stdout>>>,
}

impl Screen {
    /// Takes the terminal.
    ///
    /// # Errors
    /// When it cannot be set as needed; it is then as it was.
    pub fn take() -> io::Result<Self> {
        HOOK.call_once(|| {
            let before = std::panic::take_hook();
            std::panic::set_hook(Box::new(move |panic| {
                // Before the message, or it would go down with the screen it is written on.
                give_back();
                before(panic);
            }));
        });
        TAKEN.store(true, Ordering::SeqCst);
        let taken = enable_raw_mode()
            .and_then(|()| {
                execute!(
                    io::stdout(),
                    EnterAlternateScreen,
                    Clear(ClearType::All),
                    EnableBracketedPaste
                )
            })
            .and_then(|()| Terminal::new(CrosstermBackend::new(io::stdout())));
        match taken {
            Ok(terminal) => Ok(Self {
                terminal: ManuallyDrop::new(terminal),
            }),
            Err(error) => {
                give_back();
                Err(error)
            }
        }
    }

    /// Draws.
    ///
    /// # Errors
    /// When the terminal cannot be written to: mostly because it is gone.
    pub fn draw(&mut self, watch: &Watch, now_s: f64) -> io::Result<()> {
        self.terminal
            .draw(|frame| view::draw(frame, watch, now_s))
            .map(|_| ())
    }

    /// Sounds the bell: something was not done, and the user's eyes are on the dial.
    ///
    /// # Errors
    /// When the terminal cannot be written to.
    pub fn bell(&mut self) -> io::Result<()> {
        let mut out = io::stdout();
        out.write_all(b"\x07").and_then(|()| out.flush())
    }
}

impl Drop for Screen {
    fn drop(&mut self) {
        give_back();
    }
}

/// Gives the terminal back, once. What cannot be written any more is not worth a word: the terminal is gone.
fn give_back() {
    if TAKEN.swap(false, Ordering::SeqCst) {
        let _ = execute!(
            io::stdout(),
            DisableBracketedPaste,
            LeaveAlternateScreen,
            Show
        );
        let _ = disable_raw_mode();
    }
}

/// The keys, read by a thread of its own since reading them blocks. Dropping it ends the thread.
pub struct Keys {
    receiver: mpsc::Receiver<io::Result<Event>>,
    stop: Arc<AtomicBool>,
}

/// How soon the thread sees that it is to end, and a change of the terminal's size.
const LOOK: Timespec = Timespec {
    tv_sec: 0,
    tv_nsec: 100_000_000,
};

/// Waits for a key, no longer than a look.
///
/// # Errors
/// When the terminal is gone. The library's own waiting reads a terminal that has hung up again and again, without an
/// end, so it is asked only for what is there.
fn wait() -> io::Result<()> {
    let stdin = stdin();
    let mut terminal = [PollFd::new(&stdin, PollFlags::IN)];
    match rustix::event::poll(&mut terminal, Some(&LOOK)) {
        Ok(_) | Err(Errno::INTR) => {}
        Err(error) => return Err(error.into()),
    }
    let gone = PollFlags::HUP | PollFlags::ERR | PollFlags::NVAL;
    if terminal[0].revents().intersects(gone) {
        return Err(io::Error::new(
            io::ErrorKind::UnexpectedEof,
            "it is gone; the daemon goes on",
        ));
    }
    Ok(())
}

impl Keys {
    /// Begins to read.
    ///
    /// # Errors
    /// When no thread can be had.
    pub fn read() -> io::Result<Self> {
        let (sender, receiver) = mpsc::channel(64);
        let stop = Arc::new(AtomicBool::new(false));
        let stopped = Arc::clone(&stop);
        std::thread::Builder::new()
            .name("keys".to_owned())
            .spawn(move || {
                while !stopped.load(Ordering::SeqCst) {
                    let event = match wait().and_then(|()| poll(Duration::ZERO)) {
                        Ok(false) => continue,
                        Ok(true) => read(),
                        Err(error) => Err(error),
                    };
                    let over = event.is_err();
                    if sender.blocking_send(event).is_err() || over {
                        return;
                    }
                }
            })?;
        Ok(Self { receiver, stop })
    }

    /// The next event; `None` when there can be none any more.
    pub async fn next(&mut self) -> Option<io::Result<Event>> {
        self.receiver.recv().await
    }
}

impl Drop for Keys {
    fn drop(&mut self) {
        self.stop.store(true, Ordering::SeqCst);
        // A full channel would hold the thread; closed, it lets go. It is not waited for: a terminal that hangs up while
        // the library reads it would hold it for ever.
        self.receiver.close();
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rustix::pty::{OpenptFlags, grantpt, openpt, ptsname, unlockpt};
    use rustix::termios::{LocalModes, tcgetattr};
    use std::fs::{File, OpenOptions};
    use std::io::Read;
    use std::process::Command;

    const CHILD: &str = "CONEWRIGHT_TEST_TAKES_THE_TERMINAL";

    /// Runs in the child process of the test below: takes the terminal and ends without giving it back.
    #[test]
    fn child() {
        if std::env::var_os(CHILD).is_some() {
            let mut screen = Screen::take().unwrap();
            screen
                .draw(
                    &Watch::new(super::super::look::Look::of(None, None, None)),
                    0.0,
                )
                .unwrap();
            panic!("the hull is breached");
        }
    }

    #[test]
    fn a_panic_gives_the_terminal_back_before_its_message() {
        let master =
            openpt(OpenptFlags::RDWR | OpenptFlags::NOCTTY | OpenptFlags::CLOEXEC).unwrap();
        grantpt(&master).unwrap();
        unlockpt(&master).unwrap();
        let name = ptsname(&master, Vec::new()).unwrap().into_string().unwrap();
        let slave = OpenOptions::new()
            .read(true)
            .write(true)
            .open(&name)
            .unwrap();
        let modes = |file: &File| tcgetattr(file).unwrap().local_modes;
        let before = modes(&slave);
        assert!(before.contains(LocalModes::ICANON | LocalModes::ECHO));

        let mut child = Command::new(std::env::current_exe().unwrap())
            .args(["--exact", "watch::terminal::tests::child", "--nocapture"])
            .env(CHILD, "1")
            .stdin(slave.try_clone().unwrap())
            .stdout(slave.try_clone().unwrap())
            .stderr(slave.try_clone().unwrap())
            .spawn()
            .unwrap();
        let reader = std::thread::spawn(move || {
            let mut said = Vec::new();
            // The pty says EIO, not end of file, when its last user is gone.
            let _ = File::from(master).read_to_end(&mut said);
            String::from_utf8_lossy(&said).into_owned()
        });
        assert!(!child.wait().unwrap().success());
        let after = modes(&slave);
        drop(slave);
        let said = reader.join().unwrap();

        assert_eq!(after, before);
        let place = |text: &str| {
            said.find(text)
                .unwrap_or_else(|| panic!("no {text:?} in {said:?}"))
        };
        assert!(place("\x1b[?1049h") < place("\x1b[?1049l"), "{said:?}");
        assert!(
            place("\x1b[?1049l") < place("the hull is breached"),
            "{said:?}"
        );
        assert!(
            place("\x1b[?25h") < place("the hull is breached"),
            "{said:?}"
        );
    }
}
