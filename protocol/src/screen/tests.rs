//! A status goes in, the description comes out: one of each kind as JSON, and what must hold of single parts.

mod before;
mod heard;
mod kinds;
mod plots;

use super::*;
use crate::api::{CableState, CableStatus, MarkLine, SessionLabel, SoFar, StepLabel, WaitingMark};
use crate::evidence::{MarkValue, Place};
use crate::step::{ContactPlan, DialPlan, RunoutPlan, SizePlan, SweepPlan, ZeroPlan};
use crate::style::{Decimal, Language, Style};
use kinds::{Opened, kinds, zeroed};
use metrology::setup::{Fixture, Setup, Station};
use metrology::uncertainty::Verdict;
use metrology::{Length, Unit};

fn mm(text: &str) -> Length {
    text.parse().unwrap()
}

fn kind(name: &str) -> Status {
    let mut kinds = kinds().into_iter();
    kinds.find(|(kind, _)| *kind == name).unwrap().1
}

/// What a view knows whose indicator shows `reading`, `age_s` ago.
fn seen<'a>(status: &'a Status, reading: &str, age_s: f64) -> Seen<'a> {
    let last = LastReading {
        value: mm(reading),
        resolution: mm("0.001"),
        settled: true,
        age_s,
    };
    Seen {
        status: Some(status),
        connected: true,
        readings: [("bench", last)].into(),
        ..Seen::default()
    }
}

#[test]
fn every_kind_has_its_description() {
    for (name, status) in kinds() {
        let screen = of(&seen(&status, "0.013", 0.1));
        let json = serde_json::to_string_pretty(&screen).unwrap();
        insta::assert_snapshot!(name, json);
    }
}

#[test]
fn a_residual_of_zero_names_no_side() {
    for (rise_mm, shown, side) in [(2e-6, "+0.0", false), (4e-3, "+10.3", true)] {
        let status = zeroed(rise_mm);
        let screen = of(&seen(&status, "0.013", 0.1));
        let residual = &screen.must[1];
        assert_eq!(residual.value, shown);
        assert_eq!(residual.under.contains("steeper"), side, "{residual:?}");
    }
}

/// Half a turn to either side is the whole turn.
#[test]
fn a_high_spot_that_is_not_known_may_be_anywhere() {
    let mut status = kind("runout");
    let Some(Outcome::Runout(runout)) = &mut status.outcome else {
        panic!("a run-out");
    };
    for (expanded_deg, said) in [(179.0, "± 179°)"), (180.0, ", may be anywhere)")] {
        runout.section.high_spot_expanded_deg = Some(expanded_deg);
        let status = Status {
            outcome: Some(Outcome::Runout(runout.clone())),
            ..Opened::of(RunoutPlan::default()).status
        };
        let screen = of(&seen(&status, "0.013", 0.1));
        let centre = &screen.facts[0].parts[1];
        assert!(centre.ends_with(said), "{centre}");
    }
}

#[test]
fn an_old_value_is_never_that_of_now() {
    let status = zeroed(4e-3);
    let mut gone = status.clone();
    gone.cables[0].state = CableState::Gone;
    let mut lost = seen(&status, "0.013", 0.1);
    lost.connected = false;
    for (legend, seen, current) in [
        ("fresh", seen(&status, "0.013", 1.4), true),
        (
            "a streaming cable that says nothing",
            seen(&status, "0.013", 1.5),
            false,
        ),
        ("a cable that is gone", seen(&gone, "0.013", 0.1), false),
        ("no connection", lost, false),
    ] {
        let screen = of(&seen);
        let reading = &screen.must[0];
        assert_eq!(reading.current, current, "{legend}");
        assert_eq!(reading.meaning == Meaning::Old, !current, "{legend}");
        assert_eq!(reading.under.contains("NOT CURRENT"), !current, "{legend}");
        assert_eq!(screen.source.unwrap().current, current, "{legend}");
        assert_eq!(screen.advice.count.is_some(), current, "{legend}");
    }
}

/// The whole of a tap is before it, then a part; at the target the bar is gone, and past it the count is negative.
#[test]
fn a_tap_counts_down_where_the_indicator_stands() {
    let status = zeroed(4e-3);
    let target = target(&status, Style::default()).unwrap();
    assert_eq!(target.place, "A");
    let at = |off_um: f64| {
        let toward = target.move_um.signum();
        let reading = format!("{:.3}mm", target.target_mm - toward * off_um * 1e-3);
        of(&seen(&status, &reading, 0.1)).advice
    };
    for (off_um, reached, words) in [
        (3.0, Reached::Before, "3 µm to go"),
        (0.0, Reached::There, "at the target"),
        (-3.0, Reached::Past, "3 µm too far"),
    ] {
        let count = at(off_um).count.unwrap();
        assert_eq!((count.reached, &*count.words), (reached, words));
        assert_eq!(count.to_go > 0.0, reached == Reached::Before);
        assert_eq!(count.to_go < 0.0, reached == Reached::Past);
    }
    let mut elsewhere = seen(&status, "0.013", 0.1);
    elsewhere.user.went_to = Some("B");
    let advice = of(&elsewhere).advice;
    assert!(advice.count.is_none() && advice.text.contains("Go to A first"));
}

/// What the clamp takes back is 1e-4, three times alike: aimed off by it the round is out of tolerance, as it should be,
/// and the next thing to do is to tighten.
#[test]
fn aimed_off_as_wanted_it_says_to_tighten() {
    let said = |rise_mm| {
        let fixture = Fixture {
            name: "plate".to_owned(),
            pivot: Some("10mm".parse().unwrap()),
            learned_pivot: None,
            clamp_shifts: vec![-1e-4; 3],
        };
        let status = kinds::zeroed_in(Some(fixture), rise_mm);
        let verdict = status.outcome.as_ref().and_then(Outcome::verdict);
        assert_eq!(verdict, Some(Verdict::Out));
        of(&seen(&status, "0.013", 0.1)).advice.text
    };
    assert!(said(0.008).contains("tighten it, key c"), "{}", said(0.008));
    assert!(!said(0.012).contains("tighten it"), "{}", said(0.012));
}

#[test]
fn the_unit_of_the_user_is_everywhere() {
    for (name, status) in kinds() {
        let inches = Seen {
            units: Style::of(Unit::In),
            ..seen(&status, "0.013", 0.1)
        };
        let screen = of(&inches);
        let told = |screen: &Screen| {
            let values = screen.must.iter().chain(&screen.may);
            let facts = screen.facts.iter().map(|fact| &fact.parts);
            format!(
                "{:?} {:?} {:?} {:?} {:?} {:?} {:?}",
                values.map(|value| &value.under).collect::<Vec<_>>(),
                facts.collect::<Vec<_>>(),
                screen.listing,
                screen.sign,
                screen.advice,
                screen.details,
                screen.budget
            )
        };
        let told = told(&screen);
        assert!(!told.contains("µm"), "{name}: {told}");
        assert!(!told.contains(" mm"), "{name}: {told}");
    }
}

/// The texts of a description, without its keys and the form of a plot or a tone.
fn texts(of: &serde_json::Value, found: &mut Vec<String>) {
    match of {
        serde_json::Value::String(text) => found.push(text.clone()),
        serde_json::Value::Array(all) => all.iter().for_each(|one| texts(one, found)),
        serde_json::Value::Object(all) => {
            let shown = all.iter().filter(|(key, _)| *key != "form");
            shown.for_each(|(_, one)| texts(one, found));
        }
        _ => {}
    }
}

#[test]
fn a_german_screen_is_german() {
    const ENGLISH: [&str; 24] = [
        "the", "of", "and", "round", "mark", "reading", "readings", "half", "angle", "off",
        "loose", "turn", "turns", "step", "plane", "within", "about", "is", "at", "allowed",
        "session", "next", "end", "key",
    ];
    for (name, status) in kinds() {
        let german = Seen {
            units: Style {
                language: Language::De,
                decimal: Decimal::Comma,
                ..Style::default()
            },
            ..seen(&status, "0.013", 0.1)
        };
        let (screen, plot) = (of(&german), plot(&german));
        let mut found = Vec::new();
        texts(&serde_json::to_value(&screen).unwrap(), &mut found);
        texts(&serde_json::to_value(&plot).unwrap(), &mut found);
        for text in found {
            let mut words = text.split(|c: char| !c.is_alphabetic());
            let english = words.find(|word| ENGLISH.contains(&&*word.to_lowercase()));
            assert_eq!(english, None, "{name}: {text}");
            let bytes = text.as_bytes();
            let point = bytes.windows(3).any(|three| {
                three[0].is_ascii_digit() && three[1] == b'.' && three[2].is_ascii_digit()
            });
            assert!(!point, "{name}: {text}");
        }
    }
}

#[test]
fn what_cannot_be_missed_stands_in_the_banner() {
    let mut status = Opened::of(SweepPlan::default()).status;
    status.recording = true;
    let so_far = SoFar::Sweep {
        points: 1_204,
        range_um: 7.3,
        slope: None,
        bow_um: None,
    };
    let recording = of(&Seen {
        so_far: Some(so_far),
        ..seen(&status, "0.013", 0.1)
    });
    let banner = recording.banner.unwrap();
    assert_eq!(banner.word, "RECORDING");
    assert_eq!(banner.parts, ["space ENDS it", "1204 readings"]);
    status.waiting = Some(WaitingMark {
        place: None,
        left_s: 2.6,
    });
    let waiting = of(&Seen {
        waits_s: Some(2.2),
        ..seen(&status, "0.013", 0.1)
    });
    assert_eq!(waiting.banner.unwrap().word, "WAITING for rest, 3 s");
}

#[test]
fn closing_a_step_says_what_it_would_lose() {
    let mut turns = Opened::of(RunoutPlan::default()).status;
    turns.recording = true;
    assert!(
        loses(&turns, Style::default())
            .unwrap()
            .contains("has no end yet")
    );
    let mut turned = kind("runout");
    turned.recording = true;
    assert_eq!(
        loses(&turned, Style::default()),
        None,
        "marked turns count without an end"
    );
    let mut round = zeroed(4e-3);
    assert_eq!(loses(&round, Style::default()), None);
    round.next_round = round.marks.last().map(|mark| mark.round);
    assert_eq!(
        loses(&round, Style::default()).as_deref(),
        Some("Round 1 is not complete, and would not count")
    );
    let mut marked = Opened::of(DialPlan::default()).status;
    assert_eq!(loses(&marked, Style::default()), None);
    marked.marks = vec![kinds::mark(1, Place::Turn { plane: None }, None)];
    let lost = loses(&marked, Style::default()).unwrap();
    assert!(lost.contains("marks, 1 so far"), "{lost}");
}

#[test]
fn a_place_is_asked_for_in_the_words_of_the_step() {
    let wanted = |status: &Status| place_wanted(status, Style::default());
    assert_eq!(wanted(&Status::default()), "station, or distance from A");
    assert_eq!(wanted(&zeroed(0.0)), "station, or distance from A");
    let dial = Opened::of(DialPlan::default()).status;
    assert!(wanted(&dial).starts_with("known step"));
    let next = |status: &Status| {
        of(&Seen {
            status: Some(status),
            ..Seen::default()
        })
        .next
    };
    let print = Opened::of(ContactPlan::default()).status;
    assert_eq!(next(&print).unwrap().place, "a print");
    assert_eq!(next(&Status::default()), None);
}

#[test]
fn without_a_step_it_shows_the_reading_and_what_opens_one() {
    let nothing = of(&Seen::default());
    assert_eq!(nothing.title, "conewright");
    assert_eq!(nothing.source, None);
    let status = Status::default();
    let idle = of(&Seen {
        status: Some(&status),
        ..Seen::default()
    });
    assert!(idle.advice.text.contains("session open"));
    assert_eq!(idle.source.unwrap().name, "values are typed");
    assert_eq!((idle.must.len(), idle.next, idle.listing), (1, None, None));
}

#[test]
fn a_typed_value_takes_the_place_of_the_reading() {
    let status = zeroed(4e-3);
    let mut typing = seen(&status, "0.013", 0.1);
    typing.user.typing = Some("-3,5div");
    let value = of(&typing).must.remove(0);
    assert_eq!((&*value.label, &*value.value), ("TYPED for A", "-3.5"));
    assert_eq!(value.under, "div enter marks it");
}
