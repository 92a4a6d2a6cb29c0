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
        ("three numbers", " 90 40 0\n", print("90,40,0")),
        ("the first digit begins it", "90 40 0\n", print("90,40,0")),
        ("commas between", "90,40,0\n", print("90,40,0")),
        ("strokes between", "90/40/0\n", print("90,40,0")),
        ("decimal commas", "87,5 40 0\n", print("87.5,40,0")),
        ("two numbers are none", "90 40\n", vec![]),
        ("nor is more than all", "90 140 0\n", vec![]),
        ("nor a word", "90 forty 0\n", vec![]),
        (
            "put right, it is one",
            "90 140 0\n\u{8}\u{8}\u{8}\u{8}\u{8}40 0\n",
            print("90,40,0"),
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
        Mode::Print("90 140 0".to_owned()),
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
        place: "40".to_owned(),
        round: 1,
        value: None,
        note: None,
    }));
    assert_eq!(watch.place, None);
}
