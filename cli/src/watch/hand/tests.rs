mod prompts;

use super::*;
use crate::watch::look::Look;
use crate::watch::state::Steering;
use metrology::Length;
use protocol::api::{
    CableState, CableStatus, Code, DoublePress, Live, MarkLine, SessionLabel, Status, StepLabel,
    WaitingMark,
};
use protocol::evidence::MarkValue;
use ratatui::crossterm::event::{KeyCode, KeyModifiers};

fn watching() -> Watch {
    let value = MarkValue {
        value_mm: 0.0125,
        spread_um: 1.0,
        sd_um: None,
        readings: 9,
        resolution: Length::from_um(1),
    };
    let status = Status {
        session: Some(SessionLabel {
            id: 1,
            name: "seat".to_owned(),
        }),
        step: Some(StepLabel {
            kind: StepKind::Zero,
            number: 1,
        }),
        marks: vec![MarkLine {
            number: 4,
            station: Some("B".to_owned()),
            place: "B".to_owned(),
            at: None,
            round: 2,
            value: Some(value),
        }],
        next_mark: Some("A".to_owned()),
        indicator: Some("bench".to_owned()),
        ..Status::default()
    };
    let mut watch = Watch::new(Look::of(None, None, None));
    watch.on_live(Live::Snapshot(Box::new(status)), 0.0);
    watch
}

/// Presses keys two seconds apart, so that none counts as held; answers each request as done.
fn press(watch: &mut Watch, keys: &str) -> Vec<Request> {
    let mut asked = Vec::new();
    for (i, c) in keys.chars().enumerate() {
        let code = match c {
            '\n' => KeyCode::Enter,
            '\u{1b}' => KeyCode::Esc,
            '\u{8}' => KeyCode::Backspace,
            c => KeyCode::Char(c),
        };
        let key = KeyEvent::new(code, KeyModifiers::NONE);
        if let Some(request) = watch.on_key(key, 2.0 * i as f64) {
            watch.waiting = false;
            asked.push(request);
        }
    }
    asked
}

fn mark(value: Option<&str>, new_round: bool) -> Request {
    Request::Mark(MarkRequest {
        value: value.map(str::to_owned),
        new_round,
        ..MarkRequest::default()
    })
}

#[test]
fn what_keys_ask_for() {
    let step = |kind| Request::NextStep { close: true, kind };
    for (legend, keys, expected) in [
        ("space marks", " ", vec![mark(None, false)]),
        ("so does enter", "\n", vec![mark(None, false)]),
        ("a new round", "r ", vec![mark(None, true)]),
        (
            "a new round thought better of",
            "rr ",
            vec![mark(None, false)],
        ),
        ("undo is not done by one key", "u", vec![]),
        ("nor by the same key again", "uu", vec![]),
        (
            "nor by the key that marks, which does not mark either",
            "u ",
            vec![],
        ),
        ("only by y", "uy", vec![Request::Undo]),
        ("y alone does nothing", "y", vec![]),
        (
            "a typed value",
            "-3.5div\n",
            vec![mark(Some("-3.5div"), false)],
        ),
        ("a typed value dropped", "12\u{1b}", vec![]),
        (
            "a typed value rubbed out, then a mark",
            "1\u{8} ",
            vec![mark(None, false)],
        ),
        (
            "a note holds the letters of keys",
            "nq u\n",
            vec![Request::Note("q u".to_owned())],
        ),
        ("an empty note is none", "n \n", vec![]),
        (
            "the part was ground",
            "o",
            vec![Request::Ground { not: false }],
        ),
        ("the clamp", "c", vec![Request::Clamp(true)]),
        ("the next step offers a menu", "s", vec![]),
        (
            "which any other key leaves, the one that marks too",
            "s ",
            vec![],
        ),
        ("and the same key, once", "ss", vec![]),
        ("a kind asks when marks tell nothing yet", "s3", vec![]),
        ("and the digit again is no yes", "s33", vec![]),
        (
            "and then closes and opens",
            "s3y",
            vec![step(StepKind::Runout)],
        ),
        (
            "a place is kept for one mark",
            "p40mm\n  ",
            vec![
                Request::Mark(MarkRequest {
                    station: Some("40mm".to_owned()),
                    ..MarkRequest::default()
                }),
                Request::Mark(MarkRequest {
                    station: Some("40mm".to_owned()),
                    ..MarkRequest::default()
                }),
            ],
        ),
        (
            "and taken back by an empty one",
            "p40mm\np\n ",
            vec![mark(None, false)],
        ),
        ("help swallows the next key", "?q", vec![]),
        ("leaving closes nothing", "q", vec![Request::Quit]),
    ] {
        assert_eq!(press(&mut watching(), keys), expected, "{legend}");
    }
}

#[test]
fn a_double_press_is_marked_or_left_by_one_key() {
    let asked = || {
        let mut watch = watching();
        let mut status = watch.known.status.clone().unwrap();
        status.double_press = Some(DoublePress {
            cable: "dial".to_owned(),
            presses: 2,
            reading: Length::from_um(12),
            resolution: Length::from_um(1),
        });
        watch.on_live(Live::Snapshot(Box::new(status)), 0.0);
        watch
    };
    assert_eq!(press(&mut asked(), "u"), vec![Request::LeavePress]);
    assert_eq!(press(&mut asked(), " "), vec![mark(None, false)]);
    assert_eq!(
        press(&mut asked(), "y"),
        vec![],
        "this question is no other"
    );
}

/// A view whose own mark waits for rest.
fn waits() -> Watch {
    let mut watch = watching();
    let space = KeyEvent::new(KeyCode::Char(' '), KeyModifiers::NONE);
    assert!(watch.on_key(space, -5.0).is_some());
    let mut status = watch.known.status.clone().unwrap();
    status.waiting = Some(WaitingMark {
        place: None,
        left_s: 5.0,
    });
    watch.on_live(Live::Snapshot(Box::new(status)), -4.9);
    watch
}

#[test]
fn any_other_key_drops_a_mark_that_waits_and_the_same_key_keeps_it() {
    for (legend, keys, expected) in [
        ("space again", "  ", vec![]),
        ("u", "u", vec![Request::LeavePress]),
        ("esc", "\u{1b}", vec![Request::LeavePress]),
        ("the clamp", "c", vec![Request::Clamp(true)]),
        (
            "a typed value",
            "0.0120\n",
            vec![mark(Some("0.0120"), false)],
        ),
        ("esc while typing drops what is typed", "0\u{1b}", vec![]),
        ("leaving", "q", vec![Request::Quit]),
    ] {
        assert_eq!(press(&mut waits(), keys), expected, "{legend}");
    }
}

#[test]
fn a_mark_that_was_dropped_is_no_refusal() {
    let mut watch = waits();
    assert!(!watch.on_answer(Answer::Refused(Refusal::new(Code::Cancelled, "dropped"))));
    assert_eq!(watch.message, None);
    watch.on_answer(Answer::PressLeft);
    let said = watch.message.as_ref().map(|message| message.text.as_str());
    assert_eq!(said, Some("that press is no mark"));
}

#[test]
fn a_held_enter_ends_a_note_and_marks_nothing() {
    let mut watch = watching();
    let key = |code| KeyEvent::new(code, KeyModifiers::NONE);
    watch.on_key(key(KeyCode::Char('n')), 0.0);
    watch.on_key(key(KeyCode::Char('x')), 0.1);
    assert!(watch.on_key(key(KeyCode::Enter), 0.2).is_some());
    watch.waiting = false;
    for i in 0..50 {
        let at_s = 0.7 + 0.03 * f64::from(i);
        assert_eq!(watch.on_key(key(KeyCode::Enter), at_s), None);
    }
}

#[test]
fn one_request_at_a_time_and_none_without_a_connection() {
    let space = KeyEvent::new(KeyCode::Char(' '), KeyModifiers::NONE);
    let mut watch = watching();
    assert!(watch.on_key(space, 0.0).is_some());
    assert_eq!(
        watch.on_key(space, 10.0),
        None,
        "the first is not answered yet"
    );
    watch.on_lost("gone", 11.0);
    assert_eq!(watch.on_key(space, 20.0), None);
    assert_eq!(watch.message.as_ref().map(|m| m.tone), Some(Tone::Refused));
}

#[test]
fn a_refusal_stands_until_the_next_key_and_changes_nothing() {
    let mut watch = watching();
    press(&mut watch, "r");
    assert!(watch.on_answer(Answer::Refused(Refusal::new(Code::NotSettled, "moving"))));
    assert!(watch.new_round, "what was asked for still stands");
    assert_eq!(
        watch.message.as_ref().map(|m| m.text.as_str()),
        Some("moving")
    );
    press(&mut watch, "?");
    assert_eq!(watch.message, None);
}

#[test]
fn where_the_indicator_stands_is_forgotten_with_the_next_mark() {
    let mut watch = watching();
    watch.went_to = Some("A".to_owned());
    assert_eq!(watch.seen(0.0).stands_at(), Some("A"));
    let mut status = watch.known.status.clone().unwrap();
    watch.on_live(Live::Snapshot(Box::new(status.clone())), 1.0);
    assert_eq!(
        watch.seen(0.0).stands_at(),
        Some("A"),
        "a snapshot for another reason"
    );
    status.marks[0].number = 5;
    watch.on_live(Live::Snapshot(Box::new(status)), 2.0);
    assert_eq!(watch.seen(0.0).stands_at(), Some("B"));
}

#[test]
fn where_another_hand_steers_keys_only_look_and_leave() {
    let mut watch = watching();
    watch.steering = Some(Steering::default());
    assert_eq!(press(&mut watch, " ucrsn5\n"), vec![]);
    assert_eq!(press(&mut watch, "q"), vec![Request::Quit]);
}

/// The question names the instrument, and the request the cable that it is on.
#[test]
fn another_instrument_is_accepted_by_name() {
    let mut watch = watching();
    assert_eq!(press(&mut watch, "i"), [], "not by one key");
    let indicators = [Request::Accept(None)];
    assert_eq!(
        press(&mut watch, "y"),
        indicators,
        "where no other is known of"
    );
    let mut status = watch.known.status.clone().unwrap();
    status.cables = vec![CableStatus {
        name: "position".to_owned(),
        state: CableState::Denied,
        detail: None,
        instrument: None,
        other_instrument: Some("0403:6001:OTHER".to_owned()),
        reading: None,
        resolution: None,
        age_s: None,
        readings: 0,
        skipped_bytes: 0,
        last_skipped: None,
    }];
    watch.on_live(Live::Snapshot(Box::new(status)), 0.0);
    press(&mut watch, "i");
    let asked = watch.message.as_ref().unwrap().text.clone();
    assert!(
        asked.contains("position") && asked.contains("0403:6001:OTHER"),
        "{asked}"
    );
    assert_eq!(
        press(&mut watch, "y"),
        [Request::Accept(Some("position".to_owned()))]
    );
    watch.on_answer(Answer::Accepted(Accepted {
        cable: "position".to_owned(),
        instrument: None,
        new_round: true,
    }));
    let told = watch.message.as_ref().unwrap();
    assert!(
        told.text.contains("position") && told.hint.is_some(),
        "{told:?}"
    );
}
