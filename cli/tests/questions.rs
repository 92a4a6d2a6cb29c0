//! What `session open` asks in a terminal, on a pty as a user has it.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

mod home;

use home::Home;
use rustix::event::{PollFd, PollFlags, Timespec, poll};
use rustix::pty::{OpenptFlags, grantpt, openpt, ptsname, unlockpt};
use rustix::termios::{Winsize, tcsetwinsize};
use std::fs::{File, OpenOptions};
use std::io::{Read, Write};
use std::process::{Child, ExitStatus, Stdio};
use std::sync::Arc;
use std::sync::mpsc::{Receiver, channel};
use std::time::{Duration, Instant};

/// Longer than anything here takes on a busy machine.
const DEADLINE: Duration = Duration::from_secs(60);

/// How soon a closed end is let go.
const LOOK: Timespec = Timespec {
    tv_sec: 0,
    tv_nsec: 50_000_000,
};

const ENTER: &str = "\r";
const ESC: &str = "\x1b";
const DOWN: &str = "\x1b[B";

/// A verb on a pty.
struct Terminal {
    child: Child,
    master: Arc<File>,
    _slave: File,
    output: Receiver<Vec<u8>>,
    said: Vec<u8>,
    /// So much of its text was looked at.
    seen: usize,
}

/// What was written, without the orders to the terminal.
fn plain(bytes: &[u8]) -> String {
    let text = String::from_utf8_lossy(bytes);
    let mut plain = String::new();
    let mut rest = text.chars().peekable();
    while let Some(c) = rest.next() {
        if c != '\x1b' {
            plain.push(c);
        } else if rest.next_if_eq(&'[').is_some() {
            rest.by_ref().find(char::is_ascii_alphabetic);
        }
    }
    plain
}

impl Terminal {
    fn start(home: &Home, args: &[&str]) -> Self {
        let master =
            openpt(OpenptFlags::RDWR | OpenptFlags::NOCTTY | OpenptFlags::CLOEXEC).unwrap();
        grantpt(&master).unwrap();
        unlockpt(&master).unwrap();
        let name = ptsname(&master, Vec::new()).unwrap().into_string().unwrap();
        let slave = OpenOptions::new()
            .read(true)
            .write(true)
            .open(name)
            .unwrap();
        let size = Winsize {
            ws_row: 40,
            ws_col: 160,
            ws_xpixel: 0,
            ws_ypixel: 0,
        };
        tcsetwinsize(&slave, size).unwrap();
        let end = || Stdio::from(slave.try_clone().unwrap());
        let child = home
            .command(args)
            .env("TERM", "xterm")
            .env("LANG", "C.UTF-8")
            .stdin(end())
            .stdout(end())
            .stderr(end())
            .spawn()
            .unwrap();
        let master = Arc::new(File::from(master));
        let reader = Arc::downgrade(&master);
        let (sender, output) = channel();
        std::thread::spawn(move || {
            let mut chunk = [0; 4096];
            while let Some(master) = reader.upgrade() {
                let mut here = [PollFd::new(&*master, PollFlags::IN)];
                if poll(&mut here, Some(&LOOK)).unwrap() == 0 {
                    continue;
                }
                match (&*master).read(&mut chunk) {
                    Ok(n @ 1..) if sender.send(chunk[..n].to_vec()).is_ok() => {}
                    _ => return,
                }
            }
        });
        Self {
            child,
            master,
            _slave: slave,
            output,
            said: Vec::new(),
            seen: 0,
        }
    }

    /// Waits until it has written this after what was looked at before.
    fn says(&mut self, text: &str) {
        let until = Instant::now() + DEADLINE;
        loop {
            let said = plain(&self.said);
            let rest = said.get(self.seen..).unwrap_or_default();
            if let Some(at) = rest.find(text) {
                self.seen += at + text.len();
                return;
            }
            let left = until.saturating_duration_since(Instant::now());
            let Ok(chunk) = self.output.recv_timeout(left) else {
                panic!("`{text}` is not in {said}");
            };
            self.said.extend(chunk);
        }
    }

    fn types(&self, keys: &str) {
        (&*self.master).write_all(keys.as_bytes()).unwrap();
    }

    /// Answers a question.
    fn answers(&mut self, question: &str, keys: &str) {
        self.says(question);
        self.types(keys);
    }

    fn ends(mut self) -> (ExitStatus, String) {
        let status = self.child.wait().unwrap();
        while let Ok(chunk) = self.output.recv_timeout(Duration::from_millis(200)) {
            self.said.extend(chunk);
        }
        (status, plain(&self.said))
    }
}

impl Drop for Terminal {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

const BENCH: &str = "[fixture.plate]\nspan = \"80\"\nbig_end = \"A\"\nindicator_side = \"wheel\"\n";

#[test]
fn a_terminal_is_asked_for_what_is_missing_and_gets_the_whole_command() {
    let home = Home::new();
    home.configure(BENCH);
    let mut terminal = Terminal::start(&home, &["session", "open", "spindle 7"]);
    terminal.answers("Taper:", "1:12\r");
    terminal.answers("Length of the taper:", "30\r");
    terminal.answers("Tolerance:", "5arcsc\r");
    terminal.says("error: --tolerance: ");
    terminal.answers("Tolerance:", "5arcsec\r");
    terminal.answers("Fixture:", "plate\r");
    terminal.answers("Sine bar:", "100\r");
    terminal.answers("Kit of gauge blocks:", ENTER);
    // Span and sides are the fixture's, and there is no cable.
    terminal.answers("Indicator's resolution:", "0.001\r");
    terminal.says("session 1: spindle 7");
    let (status, said) = terminal.ends();
    assert!(status.success(), "{said}");
    assert!(
        said.contains("this set-up can prove its tolerance"),
        "{said}"
    );
    let command = "conewright session open 'spindle 7' --taper 1:12 --length 30 --tolerance 5arcsec --bar 100 \
                   --kit metric-88 --fixture plate --resolution 0.001 --no-questions";
    assert!(said.contains(command), "{said}");
    let (shown, _) = home.json(&["session", "show"]);
    home.done(&["session", "close"]);
    // The command that was printed opens the same.
    let words = command.replace("conewright session open 'spindle 7' ", "");
    let words: Vec<&str> = words.split(' ').collect();
    let (again, code) = home.json(&[&["session", "open", "spindle 8"], &words[..]].concat());
    assert_eq!(code, 0, "{again}");
    assert_eq!(again["setup"], shown["setup"]);
}

#[test]
fn enter_leaves_out_or_takes_the_first_and_arrows_choose() {
    let home = Home::new();
    let given = [
        "session",
        "open",
        "edge",
        "--span",
        "80",
        "--tolerance",
        "1um/60mm",
    ];
    let mut terminal = Terminal::start(&home, &given);
    terminal.answers("Taper:", ENTER);
    terminal.answers("Length of the taper:", ENTER);
    terminal.answers("Fixture:", ENTER);
    terminal.answers("Sine bar:", ENTER);
    terminal.says("Station nearer the big end:");
    terminal.types(DOWN);
    terminal.types(ENTER);
    terminal.answers("Side that the indicator touches:", ENTER);
    terminal.answers("Indicator's resolution:", ENTER);
    terminal.says("session 1: edge");
    let (status, said) = terminal.ends();
    assert!(status.success(), "{said}");
    let command = "open edge --tolerance 1um/60mm --span 80 --big-end B --indicator-side wheel --no-questions";
    assert!(said.contains(command), "{said}");
}

#[test]
fn esc_leaves_without_opening_anything() {
    let home = Home::new();
    let mut terminal = Terminal::start(&home, &["session", "open", "spindle 7"]);
    terminal.answers("Taper:", "1:12\r");
    terminal.answers("Length of the taper:", ESC);
    terminal.says("no session was opened");
    let (status, said) = terminal.ends();
    assert_eq!(status.code(), Some(1), "{said}");
    assert!(!home.data().exists(), "no daemon was started");
}

/// A set-up that is whole, `--json` and `--no-questions` ask nothing in a terminal either.
#[test]
fn nothing_is_asked_where_an_answer_could_not_be_meant() {
    let home = Home::new();
    for (part, further) in [
        ("first", &["--no-questions"][..]),
        ("second", &["--json"]),
        ("third", &["--like", "first"]),
    ] {
        let given = [&["session", "open", part, "--taper", "1:12"], further].concat();
        let mut terminal = Terminal::start(&home, &given);
        terminal.says(part);
        let (status, said) = terminal.ends();
        assert!(status.success() && !said.contains("Length of"), "{said}");
        home.done(&["session", "close"]);
    }
}
