//! What `session open` asks in a terminal, on a pty as a user has it.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

mod home;
mod pty;

use home::Home;
use pty::Pty;
use std::process::ExitStatus;

const ENTER: &str = "\r";
const ESC: &str = "\x1b";
const DOWN: &str = "\x1b[B";

/// A verb on a pty.
struct Terminal {
    pty: Pty,
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
        let (pty, ()) = Pty::start(&mut home.command(args), [40, 160], |_| ());
        Self { pty, seen: 0 }
    }

    /// Waits until it has written this after what was looked at before.
    fn says(&mut self, text: &str) {
        let seen = self.seen;
        self.seen = self.pty.until(text, plain, |said| {
            let said = plain(said);
            let at = said.get(seen..)?.find(text)?;
            Some(seen + at + text.len())
        });
    }

    fn types(&self, keys: &str) {
        self.pty.types(keys.as_bytes());
    }

    /// Answers a question.
    fn answers(&mut self, question: &str, keys: &str) {
        self.says(question);
        self.types(keys);
    }

    fn ends(mut self) -> (ExitStatus, String) {
        let status = self.pty.child.wait().unwrap();
        self.pty.take_the_rest();
        (status, plain(&self.pty.said))
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
