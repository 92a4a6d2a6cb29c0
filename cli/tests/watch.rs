//! The live view on a pty, as a user has it: what it shows, and how the terminal is given back.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

mod home;
mod pty;

use home::Home;
use pty::{DEADLINE, Pty};
use rustix::event::{PollFd, PollFlags, Timespec, poll};
use rustix::process::{Pid, PidfdFlags, Signal, kill_process, pidfd_open};
use rustix::termios::{LocalModes, tcgetattr};
use std::time::{Duration, Instant};

/// The live view on a pty.
struct View {
    pty: Pty,
    /// The modes of the terminal before.
    before: LocalModes,
}

fn screen(bytes: &[u8]) -> String {
    pty::screen(bytes, [24, 80])
}

impl View {
    fn start(home: &Home) -> Self {
        Self::finding(home, "")
    }

    /// With programs in this folder.
    fn finding(home: &Home, path: &str) -> Self {
        let mut command = home.command(&["watch"]);
        let (pty, before) = Pty::start(command.env("PATH", path), [24, 80], |slave| {
            tcgetattr(slave).unwrap().local_modes
        });
        Self { pty, before }
    }

    /// Waits until this holds.
    fn until(&mut self, what: &str, holds: impl Fn(&[u8]) -> bool) {
        self.pty
            .until(what, screen, |said| holds(said).then_some(()));
    }

    /// Waits until the screen shows this text.
    fn shows(&mut self, text: &str) {
        self.until(text, |said| screen(said).contains(text));
    }

    fn press(&mut self, key: u8) {
        self.pty.types(&[key]);
    }

    /// Waits for its end; the terminal must be as it was. Gives whether it ended well.
    fn ended(mut self) -> bool {
        let wrote =
            |text: &'static str| move |said: &[u8]| String::from_utf8_lossy(said).contains(text);
        self.until("way out of the other screen", wrote("\x1b[?1049l"));
        self.until("cursor", wrote("\x1b[?25h"));
        let status = self.pty.child.wait().unwrap();
        let after = tcgetattr(&self.pty.slave).unwrap().local_modes;
        assert_eq!(after, self.before, "the modes of the terminal");
        assert!(self.before.contains(LocalModes::ECHO | LocalModes::ICANON));
        status.success()
    }
}

#[test]
fn leaving_it_leaves_the_daemon_running() {
    let home = Home::new();
    let mut view = View::start(&home);
    view.shows("No session is open");
    view.press(b'q');
    assert!(view.ended());
    home.done(&["status"]);
}

#[test]
fn signals_give_the_terminal_back() {
    let home = Home::new();
    for signal in [Signal::TERM, Signal::HUP, Signal::INT, Signal::QUIT] {
        let mut view = View::start(&home);
        view.shows("No session is open");
        kill_process(Pid::from_child(&view.pty.child), signal).unwrap();
        assert!(!view.ended(), "{signal:?} is no good end");
    }
}

/// A window closed, a connection dropped: no signal need come of it, and both ends of the terminal fail. It must end, not
/// read for ever.
#[test]
fn it_ends_with_its_terminal() {
    let home = Home::new();
    let mut view = View::start(&home);
    view.shows("No session is open");
    let child = Pid::from_child(&view.pty.child);
    let child = pidfd_open(child, PidfdFlags::empty()).unwrap();
    view.pty.close();
    let deadline = Timespec::try_from(DEADLINE).unwrap();
    let mut ended = [PollFd::new(&child, PollFlags::IN)];
    let ended = poll(&mut ended, Some(&deadline)).unwrap();
    assert_eq!(ended, 1, "it goes on without a terminal");
    // A failure that is told, though nobody hears it: a panic would give 101.
    assert_eq!(view.pty.child.wait().unwrap().code(), Some(1));
    home.done(&["status"]);
}

#[test]
fn it_follows_what_other_verbs_do_and_finds_a_daemon_that_was_started_again() {
    let home = Home::new();
    let mut view = View::start(&home);
    view.shows("No session is open");
    home.done(&[
        "session", "open", "spindle", "--taper", "1:12", "--span", "80",
    ]);
    view.shows("No step is open");
    // Its own keys open the step: the menu, and the first of the six.
    view.press(b's');
    view.shows("WHICH STEP?");
    view.press(b'1');
    view.shows("First round");
    home.done(&["daemon", "stop"]);
    view.shows("NO CONNECTION");
    home.done(&["status"]);
    view.until("end of the notice", |said| {
        !screen(said).contains("NO CONNECTION")
    });
    view.shows("First round");
    // A typed value marks the first station.
    for key in *b"0.125\r" {
        view.press(key);
    }
    view.shows("Round under way");
    view.press(b'q');
    assert!(view.ended());
    home.done(&["status"]);
}

#[test]
fn a_double_press_is_asked_about_and_answered_by_a_key() {
    use daemon::bench::{Bench, Manner, SetUp, Speech, VirtualCable};
    let home = Home::new();
    let speech = Speech {
        manner: Manner::Press,
        ..Speech::streams(protocol::frame::Frame::shipped("text").unwrap(), 1.0)
    };
    let dial = VirtualCable::speaking(Bench::new(1, SetUp::default()), speech).unwrap();
    let config = format!(
        "[cable.dial]\nport = \"{}\"\nsettings = \"9600 8N1\"\ncadence = \"press\"\nframe = \"text\"\n",
        dial.path().unwrap().display()
    );
    home.configure(&config);
    home.done(&[
        "session", "open", "spindle", "--taper", "1:12", "--span", "80",
    ]);
    home.done(&["step", "zero"]);
    let marks = |count: usize| {
        let until = Instant::now() + DEADLINE;
        loop {
            let (said, _) = home.json(&["status"]);
            let now = said["marks"].as_array().map_or(0, Vec::len);
            if now == count && said["double_press"].is_null() {
                return;
            }
            assert!(Instant::now() < until, "not {count} marks: {said}");
        }
    };
    let mut view = View::start(&home);
    view.shows("QUIET");
    // Left: the first press alone is a mark.
    assert!(dial.send(b"+0.001 mm\r\n+0.002 mm\r\n").unwrap());
    view.shows("PRESSED TWICE");
    view.shows("space yes, u no");
    view.press(b'u');
    view.until("end of the question", |said| {
        !screen(said).contains("PRESSED TWICE")
    });
    marks(1);
    // Taken: each is one.
    let begun = Instant::now();
    while begun.elapsed() < Duration::from_millis(350) {
        marks(1);
    }
    assert!(dial.send(b"+0.003 mm\r\n+0.004 mm\r\n").unwrap());
    view.shows("PRESSED TWICE");
    view.press(b' ');
    view.until("end of the question", |said| {
        !screen(said).contains("PRESSED TWICE")
    });
    marks(3);
    view.press(b'q');
    assert!(view.ended());
}

/// What the player was given, in samples.
fn heard(file: &std::path::Path) -> Vec<i16> {
    let bytes = std::fs::read(file).unwrap_or_default();
    let samples = bytes.chunks_exact(2);
    samples
        .map(|two| i16::from_le_bytes([two[0], two[1]]))
        .collect()
}

/// The key turns it on; the cable's end is heard; leaving leaves no player behind.
#[test]
fn a_lost_cable_is_heard() {
    use daemon::bench::{Bench, SetUp, VirtualCable};
    use std::os::unix::fs::PermissionsExt;
    let home = Home::new();
    let frame = protocol::frame::Frame::shipped("text").unwrap();
    let cable = VirtualCable::start(Bench::new(7, SetUp::default()), frame, 20.0).unwrap();
    home.configure(&format!(
        "[cable.bench]\nport = {:?}\nsettings = \"9600 8N1\"\ncadence = \"streams\"\nframe = \"text\"\n",
        cable.path().unwrap()
    ));
    home.done(&[
        "session", "open", "spindle", "--taper", "1:12", "--span", "80",
    ]);
    home.done(&["step", "zero"]);
    let folder = home.path().join("players");
    std::fs::create_dir(&folder).unwrap();
    let [player, id, sound] = ["aplay", "id", "sound"].map(|name| folder.join(name));
    let script = format!(
        "#!/bin/sh\necho $$ > {}\nexec /bin/cat > {}\n",
        id.display(),
        sound.display()
    );
    std::fs::write(&player, script).unwrap();
    std::fs::set_permissions(&player, std::fs::Permissions::from_mode(0o755)).unwrap();

    let mut view = View::finding(&home, folder.to_str().unwrap());
    view.shows("LIVE");
    assert!(!id.exists(), "off until it is asked for");
    view.press(b'b');
    view.shows("sound ON, played by `aplay`");
    let wait = |what: &str, holds: &dyn Fn() -> bool| {
        let until = Instant::now() + DEADLINE;
        while !holds() {
            assert!(Instant::now() < until, "no {what}");
            std::thread::yield_now();
        }
    };
    wait("samples", &|| !heard(&sound).is_empty());
    view.shows("LIVE");
    let before = heard(&sound).len();
    cable.unplug().unwrap();
    wait("sound of the lost cable", &|| {
        heard(&sound).iter().any(|s| *s != 0)
    });
    // A figure, no bound: how soon it comes depends on how busy the machine is.
    let first = heard(&sound).iter().position(|s| *s != 0);
    let after_s = first.map(|at| (at as f64 - before as f64) / 22_050.0);
    println!("the lost cable is heard after {after_s:.2?} s");
    view.press(b'q');
    assert!(view.ended());
    let id = std::fs::read_to_string(id).unwrap();
    assert!(!std::path::Path::new("/proc").join(id.trim()).exists());
}

#[test]
fn without_a_player_the_key_says_what_to_install() {
    let home = Home::new();
    let mut view = View::start(&home);
    view.shows("No session is open");
    view.press(b'b');
    view.shows("NOT DONE: no sound");
    view.shows("alsa-utils");
    view.press(b'q');
    assert!(view.ended());
}

#[test]
fn it_is_in_the_language_of_documents() {
    let home = Home::new();
    home.configure("[document]\nlanguage = \"de\"\n");
    let mut view = View::start(&home);
    view.shows("Keine Sitzung ist offen");
    view.shows("Leer MARKE");
    view.press(b'q');
    assert!(view.ended());
}

#[test]
fn without_a_terminal_it_says_what_to_do() {
    let home = Home::new();
    let output = home.run(&["watch"]);
    assert_eq!(output.status.code(), Some(1));
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(said.contains("conewright status"), "{said}");
}
