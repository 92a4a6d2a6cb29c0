use super::*;

/// A step of this kind with nothing in it yet.
fn stepping(kind: StepKind) -> Watch {
    let mut watch = watching();
    let mut status = watch.known.status.clone().unwrap();
    status.step = Some(StepLabel { kind, number: 2 });
    status.marks.clear();
    watch.on_live(Live::Snapshot(Box::new(status)), 0.0);
    watch
}

fn at(place: &str, value: Option<&str>) -> Request {
    Request::Mark(MarkRequest {
        station: Some(place.to_owned()),
        value: value.map(str::to_owned),
        ..MarkRequest::default()
    })
}

#[test]
fn a_print_is_judged_in_three_numbers() {
    let print = |zones: &str| vec![at(zones, None)];
    for (legend, keys, expected) in [
        ("the key that marks asks for it", " ", vec![]),
        ("three numbers", " 90 40 0\n", print("90 40 0")),
        ("the first digit begins it", "90 40 0\n", print("90 40 0")),
        ("commas between", "90,40,0\n", print("90,40,0")),
        ("strokes between", "90/40/0\n", print("90/40/0")),
        ("decimal commas", "87,5 40 0\n", print("87,5 40 0")),
        ("two numbers are none", "90 40\n", vec![]),
        ("nor is more than all", "90 140 0\n", vec![]),
        ("nor a word", "90 forty 0\n", vec![]),
        (
            "put right, it is one",
            "90 140 0\n\u{8}\u{8}\u{8}\u{8}\u{8}40 0\n",
            print("90 40 0"),
        ),
        ("dropped", "90 40 0\u{1b}", vec![]),
    ] {
        let asked = press(&mut stepping(StepKind::Contact), keys);
        assert_eq!(asked, expected, "{legend}");
    }
    let mut watch = stepping(StepKind::Contact);
    press(&mut watch, "90 140 0\n");
    assert_eq!(watch.message.as_ref().map(|m| m.tone), Some(Tone::Refused));
    assert_eq!(
        watch.mode,
        Mode::Judged("90 140 0".to_owned()),
        "nothing is lost"
    );
}

#[test]
fn a_mark_whose_place_nobody_knows_asks_for_it() {
    let nowhere = || {
        let mut watch = stepping(StepKind::Size);
        let mut status = watch.known.status.clone().unwrap();
        status.next_mark = None;
        watch.on_live(Live::Snapshot(Box::new(status)), 0.0);
        watch
    };
    for (legend, keys, expected) in [
        ("a typed value", "40.02\n", vec![]),
        (
            "then its place",
            "40.02\n24\n",
            vec![at("24", Some("40.02"))],
        ),
        ("a reading, then its place", " 24\n", vec![at("24", None)]),
        ("no place, no mark", "40.02\n\n", vec![]),
        ("dropped", "40.02\n24\u{1b}", vec![]),
        (
            "a slip before the place",
            "40.02\n\n24\n",
            vec![at("24", Some("40.02"))],
        ),
        ("said before", "p24\n40.02\n", vec![at("24", Some("40.02"))]),
    ] {
        assert_eq!(press(&mut nowhere(), keys), expected, "{legend}");
    }
}

#[test]
fn the_menu_opens_at_once_where_nothing_is_lost() {
    let step = |close, kind| vec![Request::NextStep { close, kind }];
    let kinds = ('1'..).zip(StepKind::ALL);
    for (digit, kind) in kinds {
        let keys = format!("s{digit}");
        let asked = press(&mut stepping(StepKind::Sweep), &keys);
        assert_eq!(asked, step(true, kind), "{keys}");
        let mut idle = stepping(StepKind::Sweep);
        let mut status = idle.known.status.clone().unwrap();
        status.step = None;
        idle.on_live(Live::Snapshot(Box::new(status)), 0.0);
        assert_eq!(press(&mut idle, &keys), step(false, kind), "{keys}");
    }
}

#[test]
fn what_is_in_hand_is_not_lost_by_a_slip() {
    type Change = fn(&mut Status);
    let recording: Change = |status| status.recording = true;
    let half_a_round: Change = |status| {
        status.step = Some(StepLabel {
            kind: StepKind::Zero,
            number: 1,
        });
        status.marks = watching().known.status.unwrap().marks;
        status.next_round = Some(2);
    };
    for (legend, change) in [("recording", recording), ("half a round", half_a_round)] {
        let mut watch = stepping(StepKind::Sweep);
        let mut status = watch.known.status.clone().unwrap();
        change(&mut status);
        watch.on_live(Live::Snapshot(Box::new(status)), 0.0);
        assert_eq!(press(&mut watch.clone(), "s3"), vec![], "{legend}");
        assert_eq!(press(&mut watch.clone(), "s3 "), vec![], "{legend}");
        assert_eq!(press(&mut watch, "s3y").len(), 1, "{legend}");
    }
}

#[test]
fn a_place_is_forgotten_with_its_mark_and_with_its_step() {
    let mut watch = stepping(StepKind::Sweep);
    press(&mut watch, "p40\n");
    assert_eq!(watch.place.as_deref(), Some("40"));
    let mut other = watch.clone();
    let mut status = other.known.status.clone().unwrap();
    status.step = Some(StepLabel {
        kind: StepKind::Size,
        number: 3,
    });
    other.on_live(Live::Snapshot(Box::new(status)), 1.0);
    assert_eq!(other.place, None);
    watch.on_answer(Answer::Refused(Refusal::new(Code::NotSettled, "moving")));
    assert_eq!(watch.place.as_deref(), Some("40"), "it is still the place");
    let mut misread = watch.clone();
    misread.on_answer(Answer::Refused(Refusal::new(Code::BadValue, "plane: `s4`")));
    assert_eq!(misread.place, None, "every further mark would be refused");
    watch.on_answer(Answer::Marked(Marked {
        number: 1,
        station: None,
        at: None,
        place: "40".to_owned(),
        round: 1,
        value: None,
        note: None,
    }));
    assert_eq!(watch.place, None);
}

/// A slip in a typed value is put right where it was made.
#[test]
fn a_typed_value_that_is_refused_is_still_there() {
    let mut watch = stepping(StepKind::Zero);
    assert_eq!(press(&mut watch, "0.0125x\n").len(), 1);
    assert_eq!(watch.mode, Mode::Plain);
    let refusal =
        Refusal::new(Code::BadValue, "no length").hint("type it: `conewright mark --value 0.012`");
    watch.on_answer(Answer::Refused(refusal));
    assert_eq!(watch.mode, Mode::Value("0.0125x".to_owned()));
    let hint = watch.message.as_ref().and_then(|m| m.hint.as_deref());
    assert_eq!(hint, Some("type it: `0.012`"));
    let asked = press(&mut watch, "\u{8}\n");
    assert!(
        matches!(&asked[..], [Request::Mark(mark)] if mark.value.as_deref() == Some("0.0125")),
        "{asked:?}"
    );
    // Once it is taken, nothing of it comes back.
    watch.on_answer(Answer::Noted);
    watch.on_answer(Answer::Refused(Refusal::new(Code::NotSettled, "moving")));
    assert_eq!(watch.mode, Mode::Plain);
}

#[test]
fn ground_said_by_mistake_is_taken_back_by_the_same_key() {
    let mut watch = stepping(StepKind::Size);
    assert_eq!(
        press(&mut watch.clone(), "o"),
        [Request::Ground { not: false }]
    );
    let mut status = watch.known.status.clone().unwrap();
    status.ground = true;
    watch.on_live(Live::Snapshot(Box::new(status)), 1.0);
    assert_eq!(press(&mut watch.clone(), "o"), []);
    assert_eq!(press(&mut watch, "oy"), [Request::Ground { not: true }]);
}

#[test]
fn sound_is_off_until_it_is_asked_for() {
    let mut watch = stepping(StepKind::Zero);
    assert!(!watch.sound);
    press(&mut watch, "b");
    assert!(watch.sound);
    watch.sound_failed("no player", "install one");
    assert!(!watch.sound);
    assert_eq!(watch.message.as_ref().map(|m| m.tone), Some(Tone::Refused));
}

/// Without a cable there is no reading to take: the key that marks asks for it, and held down it marks nothing.
#[test]
fn without_a_cable_the_key_that_marks_asks_for_the_value() {
    let typed = || {
        let mut watch = stepping(StepKind::Zero);
        let mut status = watch.known.status.clone().unwrap();
        status.indicator = None;
        watch.on_live(Live::Snapshot(Box::new(status)), 0.0);
        watch
    };
    assert_eq!(press(&mut typed(), " "), []);
    assert_eq!(press(&mut typed(), "\n\n\n"), []);
    let mut watch = typed();
    assert_eq!(press(&mut watch, " 0.012\n"), [mark(Some("0.012"), false)]);
    assert_eq!(press(&mut typed(), " \u{1b}"), []);
    let mut dropped = typed();
    press(&mut dropped, " \u{8}");
    assert_eq!(dropped.mode, Mode::Plain);
}
