//! What a moment brings to the ear, and what the last minute and a recording look like.

use super::*;
use crate::api::{Live, LiveReading};
use crate::evidence::Time;
use crate::screen::plot::{Line, Plot};
use crate::screen::sound::{Beat, Event};

use metrology::sweep::{PositionsFrom, SweepOptions};

/// Marks of these numbers.
fn marked(status: &mut Status, numbers: &[u32]) {
    let line = status.marks.first().cloned().unwrap();
    let mark = |number: &u32| MarkLine {
        number: *number,
        ..line.clone()
    };
    status.marks = numbers.iter().map(mark).collect();
}

#[test]
fn an_event_is_heard_when_it_comes_and_once() {
    // 0.4 arcsec and 10.3 arcsec: in tolerance and not.
    let (out, inside) = (zeroed(4e-3), zeroed(2e-6));
    let mut heard = Heard::default();
    let mut hear = |status: &Status, age_s, connected| {
        let screen = of(&seen(status, "0.013", age_s));
        heard.hear(&screen, Some(status), connected)
    };
    assert_eq!(
        hear(&out, 0.1, true),
        [],
        "what was there before is no news"
    );
    let mut one_more = out.clone();
    marked(&mut one_more, &[1, 2, 3, 4]);
    assert_eq!(
        hear(&one_more, 0.1, true),
        [Event::Marked],
        "whoever made it"
    );
    assert_eq!(hear(&one_more, 0.1, true), []);
    marked(&mut one_more, &[1, 2, 3]);
    assert_eq!(hear(&one_more, 0.1, true), [], "taken back");
    let mut good = inside.clone();
    marked(&mut good, &[1, 2, 3]);
    assert_eq!(hear(&good, 0.1, true), [Event::Inside]);
    assert_eq!(hear(&good, 0.1, true), []);
    assert_eq!(
        hear(&good, 1.5, true),
        [Event::Lost],
        "the cable says nothing"
    );
    assert_eq!(hear(&good, 9.0, true), []);
    assert_eq!(hear(&good, 0.1, true), [], "it is back");
    assert_eq!(hear(&good, 0.1, false), [Event::Lost], "the connection");
}

#[test]
fn a_beat_is_higher_and_faster_near_the_target() {
    let beats: Vec<Beat> = [300.0, 400.0, 100.0, 10.0, 1.0]
        .map(|to_go| Beat::before(to_go, 300.0))
        .to_vec();
    assert_eq!(
        beats[0], beats[1],
        "beyond the whole it is as far as it goes"
    );
    let hertz: Vec<f64> = beats.iter().map(|beat| beat.tones[0].hertz).collect();
    assert!(hertz[1..].windows(2).all(|w| w[1] > w[0]), "{hertz:?}");
    assert!(beats[1..].windows(2).all(|w| w[1].next_s < w[0].next_s));
    assert_eq!(hertz[0], 260.0);
    // A tap of nothing has a pitch all the same.
    assert!(Beat::past(-0.3, 0.0).tones[0].hertz.is_finite());
    assert_eq!(Beat::past(-10.0, 300.0).tones.len(), 2);
    assert!(Beat::there().tones[0].hertz > hertz[4]);
}

struct Follower {
    known: Known,
    trace: Trace,
}

impl Follower {
    fn take(&mut self, live: Live, now_s: f64) {
        self.known.on_live(live.clone(), now_s);
        let style = Style::default();
        self.trace.on_live(&live, &self.known, now_s, style);
    }

    fn status(&mut self, status: &Status, now_s: f64) {
        self.take(Live::Snapshot(Box::new(status.clone())), now_s);
    }

    fn reads(&mut self, cable: &str, value: &str, now_s: f64) {
        let reading = LiveReading {
            cable: cable.to_owned(),
            seq: 1,
            t: Time(0),
            value: mm(value),
            resolution: mm("0.001"),
            settled: true,
            so_far: None,
        };
        self.take(Live::Reading(reading), now_s);
    }
}

fn following(status: &Status) -> Follower {
    let mut follower = Follower {
        known: Known::default(),
        trace: Trace::default(),
    };
    follower.status(status, 0.0);
    follower
}

#[test]
fn the_last_minute_has_its_gaps_and_its_marks_and_no_more() {
    let mut status = zeroed(4e-3);
    let mut follower = following(&status);
    assert_eq!(follower.trace.minute(0.0, Style::default()), None);
    follower.reads("bench", "0.010", 1.0);
    follower.reads("other", "9.000", 1.1);
    follower.reads("bench", "0.012", 30.0);
    follower.reads("bench", "0.013", 31.0);
    follower.reads("bench", "0.020", 40.0);
    marked(&mut status, &[1, 2, 3, 4]);
    follower.status(&status, 40.5);
    let minute = follower.trace.minute(62.0, Style::default()).unwrap();
    assert_eq!(
        minute.runs,
        [vec![[-32.0, 0.012], [-31.0, 0.013]], vec![[-22.0, 0.020]]]
    );
    assert_eq!(
        minute.marks,
        [(-21.5, "A".to_owned())],
        "those before it are not of this minute"
    );
    let inches = follower.trace.minute(62.0, Style::of(Unit::In)).unwrap();
    assert!((inches.runs[1][0][1] - 0.020 / 25.4).abs() < 1e-12);
    assert_eq!(inches.unit, "in");
    // What is taken back is no mark, and that of another step is not of this one.
    let before = status.clone();
    marked(&mut status, &[1, 2, 3]);
    follower.status(&status, 41.0);
    assert_eq!(
        follower.trace.minute(62.0, Style::default()).unwrap().marks,
        []
    );
    follower.status(&before, 42.0);
    assert_eq!(
        follower
            .trace
            .minute(62.0, Style::default())
            .unwrap()
            .marks
            .len(),
        1
    );
    let mut other = before;
    other.step = Some(StepLabel {
        kind: StepKind::Sweep,
        number: 9,
    });
    follower.status(&other, 43.0);
    assert_eq!(
        follower.trace.minute(62.0, Style::default()).unwrap().marks,
        []
    );
    assert_eq!(follower.trace.minute(101.0, Style::default()), None);
}

#[test]
fn a_recording_grows_over_time_or_over_the_table() {
    let mut status = Opened::of(SweepPlan::default()).status;
    let by_cable = SweepPlan {
        sweep: SweepOptions {
            positions: PositionsFrom::Cable,
            ..SweepOptions::default()
        },
        position_cable: Some("table".to_owned()),
    };
    status.recording = true;
    let line = |follower: &Follower| -> Option<Line> {
        let status = follower.known.status.as_ref().unwrap();
        match follower.trace.recorded(status, Style::default())? {
            Plot::Line(line) => Some(line),
            Plot::Round(round) => panic!("{round:?}"),
        }
    };
    let mut timed = following(&status);
    assert_eq!(line(&timed), None);
    timed.reads("bench", "0.010", 5.0);
    timed.reads("bench", "0.012", 7.0);
    let drawn = line(&timed).unwrap();
    assert_eq!(drawn.x_label, "since it began, s");
    assert_eq!(drawn.series[0].1[0], [0.0, 0.0]);
    let [seconds, rise_um] = drawn.series[0].1[1];
    assert!((seconds - 2.0).abs() < 1e-9 && (rise_um - 2.0).abs() < 1e-9);
    status.recording = false;
    timed.status(&status, 8.0);
    assert_eq!(line(&timed), None, "its end ends it");

    let mut status = Opened::of(by_cable).status;
    status.recording = true;
    let mut placed = following(&status);
    placed.reads("table", "40", 4.9);
    placed.reads("bench", "0.010", 5.0);
    placed.reads("table", "30", 5.9);
    placed.reads("bench", "0.011", 6.0);
    let drawn = line(&placed).unwrap();
    assert_eq!(drawn.x_label, "table, mm");
    assert!(drawn.kept, "the table may go back");
    assert_eq!(drawn.series[0].1[1][0], 30.0);
}

#[test]
fn marked_turns_go_round_the_clock() {
    let plan = RunoutPlan {
        angles: crate::step::AnglesFrom::Turns,
        ..RunoutPlan::default()
    };
    let mut status = Opened::of(plan).status;
    let mark = zeroed(4e-3).marks[0].clone();
    status.recording = true;
    let mut follower = following(&status);
    for (number, at_s) in [(1, 10.0), (2, 14.0)] {
        status.marks.push(MarkLine {
            number,
            ..mark.clone()
        });
        follower.reads("bench", "0.010", at_s - 0.1);
        follower.status(&status, at_s);
    }
    follower.reads("bench", "0.014", 15.0);
    let status = follower.known.status.as_ref().unwrap();
    let Some(Plot::Round(round)) = follower.trace.recorded(status, Style::default()) else {
        panic!("round a turn");
    };
    // A second after the line came by, of a turn of four seconds: a quarter.
    let [deg, rise_um] = *round.points.last().unwrap();
    assert!(
        (deg - 90.0).abs() < 1e-9 && (rise_um - 4.0).abs() < 1e-9,
        "{round:?}"
    );
}

/// In English a mark has the name that it came with.
#[test]
fn a_mark_in_the_trace_is_named_in_the_language() {
    let mark = kinds::mark(1, Place::Turn { plane: None }, None);
    let german = Style {
        language: Language::De,
        ..Style::default()
    };
    assert_eq!(words::named(&mark, german), "Umdrehung");
    assert_eq!(words::named(&mark, Style::default()), mark.place);
}
