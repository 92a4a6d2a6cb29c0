//! Keys: which key does what, as a table; and the rule that keeps a held key from doing it twice.

use super::practice::Act;
use protocol::plan::StepKind;
use ratatui::crossterm::event::{KeyCode, KeyEvent, KeyEventKind, KeyModifiers};

/// What the user is in the middle of, as far as keys are concerned.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Setting {
    /// Nothing: one key does one thing.
    Plain,
    /// The same with the keys of a practice.
    Practice,
    /// Typing a value or a note.
    Typing,
    /// Asked to confirm.
    Asked,
    /// Choosing from the menu of steps.
    Menu,
    /// Looking at the help.
    Help,
}

/// What a key means.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Action {
    /// Marks the next station.
    Mark,
    /// Asks whether the last mark is to be taken back.
    Undo,
    /// The clamp was tightened, or loosened.
    Clamp,
    /// The part was ground.
    Ground,
    /// What is plugged in now is the instrument.
    Instrument,
    /// The next mark begins a new round.
    NewRound,
    /// The indicator was moved to the station of the tap.
    Go,
    /// Offers the kinds of the next step.
    NextStep,
    /// Opens a step of this kind.
    Open(StepKind),
    /// Says where the next mark is.
    Place,
    /// Begins a note.
    Note,
    /// Begins a typed value with this character.
    Value(char),
    /// A character of what is being typed.
    Type(char),
    /// Takes the last character back.
    Rub,
    /// What was typed is complete.
    Submit,
    /// Yes.
    Yes,
    /// No, or back.
    No,
    /// Turns the sound on or off.
    Sound,
    /// Shows the help.
    Help,
    /// Goes so many entries on in the help.
    Scroll(isize),
    /// Does something on the bench of a practice.
    Bench(Act),
    /// Leaves; the background process goes on.
    Quit,
}

/// Entries of the help that a page goes on.
const PAGE: isize = 6;

/// The table.
#[must_use]
pub fn action(setting: Setting, key: KeyEvent) -> Option<Action> {
    use KeyCode::{Backspace, Char, Down, Enter, Esc, Left, PageDown, PageUp, Right, Up};
    if key.kind == KeyEventKind::Release {
        return None;
    }
    let control = key.modifiers.contains(KeyModifiers::CONTROL);
    if control && key.code == Char('c') {
        return Some(Action::Quit);
    }
    if control || key.modifiers.contains(KeyModifiers::ALT) {
        return None;
    }
    let firm = key.modifiers.contains(KeyModifiers::SHIFT);
    let tap = |toward, firm| Some(Action::Bench(Act::Tap { toward, firm }));
    match (setting, key.code) {
        (Setting::Practice, Up) => tap(true, firm),
        (Setting::Practice, Down) => tap(false, firm),
        (Setting::Practice, PageUp) => tap(true, true),
        (Setting::Practice, PageDown) => tap(false, true),
        (Setting::Practice, Left) => Some(Action::Bench(Act::Go { forth: false })),
        (Setting::Practice, Right) => Some(Action::Bench(Act::Go { forth: true })),
        (Setting::Practice, _) => action(Setting::Plain, key),
        (Setting::Plain, Char(' ') | Enter) => Some(Action::Mark),
        (Setting::Plain, Char('u')) => Some(Action::Undo),
        (Setting::Plain, Char('c')) => Some(Action::Clamp),
        (Setting::Plain, Char('o')) => Some(Action::Ground),
        (Setting::Plain, Char('i')) => Some(Action::Instrument),
        (Setting::Plain, Char('r')) => Some(Action::NewRound),
        (Setting::Plain, Char('g')) => Some(Action::Go),
        (Setting::Plain, Char('s')) => Some(Action::NextStep),
        (Setting::Plain, Char('p')) => Some(Action::Place),
        (Setting::Plain, Char('n')) => Some(Action::Note),
        (Setting::Plain, Char('b')) => Some(Action::Sound),
        (Setting::Plain, Char('?' | 'h')) => Some(Action::Help),
        (Setting::Plain, Char('q')) => Some(Action::Quit),
        (Setting::Plain, Char(c @ ('0'..='9' | '+' | '-' | '.' | ','))) => Some(Action::Value(c)),
        (Setting::Plain, Esc) => Some(Action::No),
        (Setting::Typing, Enter) => Some(Action::Submit),
        (Setting::Typing, Esc) => Some(Action::No),
        (Setting::Typing, Backspace) => Some(Action::Rub),
        (Setting::Typing, Char(c)) => Some(Action::Type(c)),
        (Setting::Asked, Char('y' | 'Y')) => Some(Action::Yes),
        (Setting::Menu, Char(c)) => Some(kind(c).map_or(Action::No, Action::Open)),
        (Setting::Help, Down) => Some(Action::Scroll(1)),
        (Setting::Help, Up) => Some(Action::Scroll(-1)),
        (Setting::Help, PageDown | Char(' ')) => Some(Action::Scroll(PAGE)),
        (Setting::Help, PageUp) => Some(Action::Scroll(-PAGE)),
        (Setting::Asked | Setting::Menu | Setting::Help, _) => Some(Action::No),
        _ => None,
    }
}

/// The kind of step that a digit of the menu opens, from 1.
fn kind(digit: char) -> Option<StepKind> {
    let place = digit.to_digit(10)?.checked_sub(1)?;
    StepKind::ALL.get(place as usize).copied()
}

/// Events of one key closer than this come from a key that is held down, s.
pub const HELD_S: f64 = 0.3;
/// After a key has done something, the same key does nothing for this long, s: longer than a keyboard waits
/// before it begins to repeat, and shorter than anybody needs from one station to the next.
pub const PAUSE_S: f64 = 1.0;

/// Tells a key that is pressed again from one that is held down.
///
/// Most terminals send a held key as presses like any other. A mark made by a held key would be a mark at the
/// wrong station, so what changes something passes through here.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Held {
    last: Option<(KeyCode, f64)>,
    done: Option<(KeyCode, f64)>,
}

impl Held {
    /// Whether this press counts.
    pub fn admits(&mut self, key: KeyEvent, now_s: f64) -> bool {
        let within = |seen: Option<(KeyCode, f64)>, s: f64| {
            seen.is_some_and(|(code, at)| code == key.code && now_s - at < s)
        };
        let held = key.kind == KeyEventKind::Repeat
            || within(self.last, HELD_S)
            || within(self.done, PAUSE_S);
        self.last = Some((key.code, now_s));
        if !held {
            self.done = self.last;
        }
        !held
    }

    /// Notes a press that counted without being asked about.
    pub fn did(&mut self, key: KeyEvent, now_s: f64) {
        self.last = Some((key.code, now_s));
        self.done = self.last;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn key(code: KeyCode) -> KeyEvent {
        KeyEvent::new(code, KeyModifiers::NONE)
    }

    #[test]
    fn the_table() {
        use Action as A;
        use KeyCode::{Backspace, Char, Down, Enter, Esc, F, Left, PageDown, PageUp, Right, Up};
        use Setting::{Asked, Help, Menu, Plain, Practice, Typing};
        let tap = |toward, firm| Some(A::Bench(Act::Tap { toward, firm }));
        for (setting, code, expected) in [
            (Plain, Char(' '), Some(A::Mark)),
            (Plain, Enter, Some(A::Mark)),
            (Plain, Char('u'), Some(A::Undo)),
            (Plain, Char('c'), Some(A::Clamp)),
            (Plain, Char('o'), Some(A::Ground)),
            (Plain, Char('i'), Some(A::Instrument)),
            (Plain, Char('r'), Some(A::NewRound)),
            (Plain, Char('g'), Some(A::Go)),
            (Plain, Char('s'), Some(A::NextStep)),
            (Plain, Char('n'), Some(A::Note)),
            (Plain, Char('b'), Some(A::Sound)),
            (Plain, Char('-'), Some(A::Value('-'))),
            (Plain, Char('7'), Some(A::Value('7'))),
            (Plain, Char(','), Some(A::Value(','))),
            (Plain, Char('?'), Some(A::Help)),
            (Plain, Char('q'), Some(A::Quit)),
            (Plain, Esc, Some(A::No)),
            (Plain, Char('x'), None),
            (Plain, Char('y'), None),
            (Plain, Up, None),
            (Plain, Backspace, None),
            // While typing, letters are letters.
            (Typing, Char('q'), Some(A::Type('q'))),
            (Typing, Char(' '), Some(A::Type(' '))),
            (Typing, Enter, Some(A::Submit)),
            (Typing, Backspace, Some(A::Rub)),
            (Typing, Esc, Some(A::No)),
            (Typing, F(1), None),
            // Only one key says yes; even the key that marks says no.
            (Asked, Char('y'), Some(A::Yes)),
            (Asked, Char('u'), Some(A::No)),
            (Asked, Char(' '), Some(A::No)),
            (Asked, Enter, Some(A::No)),
            (Plain, Char('p'), Some(A::Place)),
            // The menu has a digit for each kind, in the order of the work; the key that opened it leaves it.
            (Menu, Char('1'), Some(A::Open(StepKind::Zero))),
            (Menu, Char('3'), Some(A::Open(StepKind::Runout))),
            (Menu, Char('6'), Some(A::Open(StepKind::Dial))),
            (Menu, Char('7'), Some(A::No)),
            (Menu, Char('0'), Some(A::No)),
            (Menu, Char('s'), Some(A::No)),
            (Menu, Char(' '), Some(A::No)),
            (Help, Char(' '), Some(A::Scroll(PAGE))),
            (Help, Up, Some(A::Scroll(-1))),
            (Help, Char('q'), Some(A::No)),
            // A practice has hands too, and every other key as always.
            (Practice, Up, tap(true, false)),
            (Practice, Down, tap(false, false)),
            (Practice, PageUp, tap(true, true)),
            (Practice, PageDown, tap(false, true)),
            (Practice, Left, Some(A::Bench(Act::Go { forth: false }))),
            (Practice, Right, Some(A::Bench(Act::Go { forth: true }))),
            (Practice, Char(' '), Some(A::Mark)),
            (Practice, Char('c'), Some(A::Clamp)),
            (Practice, Char('x'), None),
            (Plain, PageUp, None),
            (Plain, Left, None),
        ] {
            assert_eq!(action(setting, key(code)), expected, "{setting:?} {code:?}");
        }
        let control = |c| KeyEvent::new(Char(c), KeyModifiers::CONTROL);
        for setting in [Plain, Practice, Typing, Asked, Menu, Help] {
            assert_eq!(action(setting, control('c')), Some(A::Quit));
        }
        assert_eq!(action(Plain, control('u')), None);
        let shifted = KeyEvent::new(Up, KeyModifiers::SHIFT);
        assert_eq!(action(Practice, shifted), tap(true, true));
        let mut released = key(Char(' '));
        released.kind = KeyEventKind::Release;
        assert_eq!(action(Plain, released), None);
    }

    /// Times of presses of one key, and which count.
    fn check(legend: &str, presses: &[(f64, bool)]) {
        let mut held = Held::default();
        for &(at, counts) in presses {
            let got = held.admits(key(KeyCode::Char(' ')), at);
            assert_eq!(got, counts, "{legend}: at {at} s");
        }
    }

    #[test]
    fn a_held_key_counts_once() {
        // Usual keyboards wait 0.25 s to 0.66 s and then repeat every 0.03 s.
        for delay in [0.25, 0.5, 0.66, 0.99] {
            let mut presses = vec![(0.0, true)];
            presses.extend((0..200).map(|i| (delay + 0.03 * f64::from(i), false)));
            check("held for six seconds", &presses);
        }
    }

    #[test]
    fn a_second_press_counts_when_it_can_be_meant() {
        check(
            "limits",
            &[(0.0, true), (0.999, false), (1.301, true), (2.302, true)],
        );
        check("a double press", &[(0.0, true), (0.1, false), (1.0, true)]);
        check(
            "pressed again after a hold",
            &[(0.0, true), (0.9, false), (1.1, false), (1.41, true)],
        );
    }

    #[test]
    fn a_terminal_that_tells_repeats_is_believed_and_other_keys_are_free() {
        let mut held = Held::default();
        let space = key(KeyCode::Char(' '));
        assert!(held.admits(space, 0.0));
        let repeat = KeyEvent {
            kind: KeyEventKind::Repeat,
            ..space
        };
        assert!(!held.admits(repeat, 5.0));
        assert!(held.admits(key(KeyCode::Char('c')), 5.1));
        held.did(key(KeyCode::Enter), 6.0);
        assert!(!held.admits(key(KeyCode::Enter), 6.9));
    }
}
