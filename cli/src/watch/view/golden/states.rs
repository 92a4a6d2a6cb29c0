//! What a user can be looking at in a zero step, and where no step is open.

use super::{COLOURED, NOW_S, watching, watching_old};
use crate::watch::hand::Answer;
use crate::watch::state::{Message, Mode, Question, Tone, Watch};
use metrology::blocks::Stack;
use metrology::setup::{Indicator, Setup, Station};
use metrology::taper::Taper;
use metrology::uncertainty::{Component, Verdict};
use metrology::zero::{ClampShift, Pivot, Round, Sloping, Tap, ZeroOutcome};
use metrology::{Angle, Length};
use protocol::api::{
    CableState, CableStatus, Code, DoublePress, Live, MarkLine, Refusal, SessionLabel, Status,
    StepLabel, WaitingMark,
};
use protocol::evidence::MarkValue;
use protocol::plan::StepKind;
use protocol::step::Outcome;

pub(in crate::watch::view) fn mm(text: &str) -> Length {
    text.parse().unwrap()
}

pub(in crate::watch::view) fn cable(state: CableState, reading: &str, age_s: f64) -> CableStatus {
    CableStatus {
        instrument: None,
        other_instrument: None,
        name: "bench".to_owned(),
        state,
        detail: None,
        reading: Some(mm(reading)),
        resolution: Some(mm("0.001")),
        age_s: Some(age_s),
        readings: 4_000,
        skipped_bytes: 0,
        last_skipped: None,
    }
}

pub(in crate::watch::view) fn setup() -> Setup {
    Setup {
        taper: Some(Taper {
            name: "1:12".to_owned(),
            half_angle: Angle::half_of_ratio(12.0),
            gauge_diameter: Some(mm("40")),
            small_diameter: None,
            length: Some(mm("30")),
            source: "a ratio".to_owned(),
        }),
        length: Some(mm("30")),
        tolerance: "5arcsec".parse().ok(),
        stations: ["A", "B"]
            .into_iter()
            .zip(["0", "80"])
            .map(|(name, at)| Station {
                name: name.to_owned(),
                position: mm(at),
            })
            .collect(),
        pass: ["A", "B", "A"].map(str::to_owned).to_vec(),
        stack: Some(Stack {
            height: mm("4.163053"),
            blocks: vec![mm("3"), mm("1.163")],
            sum: mm("4.163"),
            error_um: -0.053,
            within: true,
            u_um: Some(0.07),
            angle_set_deg: Some(2.385_913),
            angle_error_arcsec: Some(-0.11),
        }),
        indicator: Indicator {
            cable: Some("bench".to_owned()),
            resolution: Some(mm("0.001")),
            ..Indicator::default()
        },
        ..Setup::default()
    }
}

fn mark(number: u32, station: &str, round: u32, value_mm: f64) -> MarkLine {
    MarkLine {
        number,
        station: Some(station.to_owned()),
        place: station.to_owned(),
        at: None,
        round,
        value: Some(MarkValue {
            value_mm,
            spread_um: 1.0,
            sd_um: Some(0.4),
            readings: 24,
            resolution: mm("0.001"),
        }),
    }
}

fn round(number: u32, slope: f64, clamped: bool) -> Round {
    Round {
        round: number,
        slope,
        slope_u: Some(4e-6),
        residual_arcsec: Angle::from_rad(slope.atan()).arcsec(),
        residual_u_arcsec: Some(0.83),
        at_a_mm: 0.0125,
        drift_um_per_min: Some(0.12),
        bow_um: None,
        clamped,
    }
}

/// What these rounds tell, with a tap at `station` from the reading there to `target`.
fn zeroed(rounds: Vec<Round>, station: &str, reading_mm: f64, target_mm: f64) -> ZeroOutcome {
    let count = rounds.len() as u32;
    let last = rounds.last();
    let residual = last.map(|round| round.residual_arcsec);
    let verdict = residual.map(|r| match r.abs() {
        r if r < 3.3 => Verdict::In,
        r if r < 6.7 => Verdict::Undecided,
        _ => Verdict::Out,
    });
    ZeroOutcome {
        residual_arcsec: residual,
        residual_expanded_arcsec: residual.map(|_| 1.7),
        cone: residual.map(|r| {
            if r > 0.0 {
                Sloping::Shallower
            } else {
                Sloping::Steeper
            }
        }),
        over_span_um: last.map(|round| round.slope * 80e3),
        over_taper_um: last.map(|round| round.slope * 60e3),
        half_angle_error_arcsec: residual.map(|r| r - 0.11),
        half_angle_expanded_arcsec: residual.map(|_| 1.72),
        limits_arcsec: Some([-5.0, 5.0]),
        verdict,
        tap: residual.map(|_| Tap {
            station: station.to_owned(),
            station_mm: if station == "A" { 0.0 } else { 80.0 },
            target_mm,
            move_um: (target_mm - reading_mm) * 1e3,
            toward: target_mm > reading_mm,
            trial: count == 1,
            aim_arcsec: None,
            wanted_arcsec: None,
        }),
        pivot: (count > 1).then(|| Pivot {
            position_mm: 23.4,
            u_mm: Some(0.6),
            from_rounds: (1..=count).collect(),
        }),
        budget: [
            ("scatter of the marks", 0.61),
            ("display of the indicator", 0.52),
            ("length between the stations", 0.02),
        ]
        .map(|(component, u)| Component {
            component: component.to_owned(),
            u,
            unit: "arcsec".to_owned(),
            degrees_of_freedom: None,
        })
        .to_vec(),
        rounds,
        ..ZeroOutcome::default()
    }
}

/// A zero step with these rounds, whose advice is a tap at `station` from the reading there to `target`.
fn stepped(rounds: &[(f64, bool)], station: &str, reading_mm: f64, target_mm: f64) -> Status {
    let rounds: Vec<_> = (1..)
        .zip(rounds)
        .map(|(n, &(slope, clamped))| round(n, slope, clamped))
        .collect();
    let count = rounds.len() as u32;
    let marks = (1..=count)
        .flat_map(|n| {
            [
                mark(3 * n - 2, "A", n, 0.0125),
                mark(3 * n - 1, "B", n, 0.3126),
                mark(3 * n, "A", n, 0.0125),
            ]
        })
        .collect();
    Status {
        session: Some(SessionLabel {
            id: 3,
            name: "spindle seat".to_owned(),
        }),
        step: Some(StepLabel {
            kind: StepKind::Zero,
            number: 1,
        }),
        cables: vec![cable(CableState::Live, "0.0125", 0.03)],
        indicator: Some("bench".to_owned()),
        setup: Some(setup()),
        outcome: Some(Outcome::Zero(zeroed(
            rounds, station, reading_mm, target_mm,
        ))),
        marks,
        next_station: Some("A".to_owned()),
        next_round: Some(count + 1),
        ..Status::default()
    }
}

const SLOPE: f64 = 3.75e-3;

/// What a user can be looking at, each with a legend.
pub fn states() -> Vec<(&'static str, Watch)> {
    [no_round(), taps(), clamped(), troubles(), talking()].concat()
}

/// One mark of the first round.
fn first_mark() -> Status {
    let mut status = stepped(&[], "A", 0.0, 0.0);
    status.marks = vec![mark(1, "A", 1, 0.0125)];
    status.next_round = Some(1);
    status.next_station = Some("B".to_owned());
    status
}

/// Two rounds, and a tap that counts down at A.
fn counting() -> Status {
    stepped(&[(SLOPE, false), (4.3e-4, false)], "A", 0.0125, 0.0469)
}

fn no_round() -> Vec<(&'static str, Watch)> {
    let no_session = Status {
        cables: vec![cable(CableState::Live, "0.125", 0.03)],
        indicator: Some("bench".to_owned()),
        ..Status::default()
    };
    let mut no_step = stepped(&[], "A", 0.0, 0.0);
    no_step.step = None;
    no_step.outcome = None;
    let mut pressed_twice = first_mark();
    pressed_twice.double_press = Some(DoublePress {
        cable: "bench".to_owned(),
        presses: 2,
        reading: mm("0.013"),
        resolution: mm("0.001"),
    });
    let mut waiting = first_mark();
    waiting.waiting = Some(WaitingMark {
        place: None,
        left_s: 2.6,
    });
    vec![
        ("before_the_first_word", Watch::new(COLOURED)),
        ("no_session", watching(no_session, "0.125", true)),
        ("no_step", watching(no_step, "0.125", true)),
        (
            "settling_in_the_first_round",
            watching(first_mark(), "0.281", false),
        ),
        ("pressed_twice", watching(pressed_twice, "0.013", true)),
        ("waiting_for_rest", watching(waiting, "0.013", false)),
    ]
}

fn taps() -> Vec<(&'static str, Watch)> {
    let trial = stepped(&[(SLOPE, false)], "A", 0.0125, 0.3125);
    let second = [(SLOPE, false), (4.3e-4, false)];
    let elsewhere = stepped(&second, "B", 0.047, 0.0125);
    let good = [(SLOPE, false), (4.3e-4, false), (8e-6, false)];
    let good = stepped(&good, "A", 0.0125, 0.0119);
    let undecided = stepped(&[(SLOPE, false), (2.4e-5, false)], "A", 0.0125, 0.0119);
    vec![
        ("trial_tap", watching(trial, "0.013", true)),
        ("counting_down", watching(counting(), "0.031", false)),
        ("at_the_target", watching(counting(), "0.047", true)),
        ("too_far", watching(counting(), "0.052", true)),
        ("at_another_station", watching(elsewhere, "0.013", true)),
        ("undecided", watching(undecided, "0.013", true)),
        ("in_tolerance_loose", watching(good, "0.013", true)),
    ]
}

fn clamped() -> Vec<(&'static str, Watch)> {
    let tight = |slope| {
        let rounds = [(SLOPE, false), (6e-6, false), (slope, true)];
        Status {
            clamped: true,
            ..stepped(&rounds, "A", 0.0125, 0.0119)
        }
    };
    let rounds = [
        (SLOPE, false),
        (6e-6, false),
        (1.2e-4, true),
        (1.1e-4, false),
    ];
    let mut aiming = stepped(&rounds, "A", 0.0125, 0.0019);
    if let Some(Outcome::Zero(zero)) = &mut aiming.outcome {
        zero.clamp_shift = Some(ClampShift {
            slope: 1.14e-4,
            count: 3,
            agree: true,
            seen: vec![1.14e-4],
        });
        if let Some(tap) = &mut zero.tap {
            tap.aim_arcsec = Some(-23.5);
        }
    }
    vec![
        (
            "shifted_by_the_clamp",
            watching(tight(1.2e-4), "0.013", true),
        ),
        ("aiming_off", watching(aiming, "0.013", true)),
        ("in_tolerance_tight", watching(tight(5e-6), "0.013", true)),
    ]
}

fn troubles() -> Vec<(&'static str, Watch)> {
    let mut stale = counting();
    stale.cables = vec![cable(CableState::Stale, "0.031", 4.0)];
    let mut skipping = watching_old(stale.clone());
    stale.cables[0].skipped_bytes = 34;
    stale.cables[0].last_skipped = Some("\\xfe\\x00".to_owned());
    skipping.on_live(Live::Snapshot(Box::new(stale)), NOW_S);
    let mut busy = counting();
    busy.cables = vec![cable(CableState::Busy, "0.031", 75.0)];
    busy.cables[0].detail =
        Some("the port is held by another program, number 4711; close it there".to_owned());
    let mut other = counting();
    other.cables = vec![cable(CableState::Denied, "0.031", 75.0)];
    other.cables[0].other_instrument = Some("0403:6001:OTHER".to_owned());
    other.cables[0].detail = Some(
        "0403:6001:OTHER in place of 0403:6001:OWN; its readings are not used until `conewright cable accept bench`"
            .to_owned(),
    );
    let mut lost = watching(counting(), "0.031", true);
    lost.on_lost("the connection to the daemon broke", NOW_S - 3.0);
    vec![
        ("stale_cable", skipping),
        ("busy_cable", watching_old(busy)),
        ("other_instrument", watching_old(other)),
        ("lost", lost),
    ]
}

fn talking() -> Vec<(&'static str, Watch)> {
    let mut refused = watching(first_mark(), "0.131", false);
    refused.on_answer(Answer::Refused(
        Refusal::new(
            Code::NotSettled,
            "the readings have not settled: they moved by 12 µm in the last 0.5 s",
        )
        .hint("wait until the reading stands still, and mark again"),
    ));
    let mut typed = watching(first_mark(), "0.131", true);
    typed.mode = Mode::Value("-3.5div".to_owned());
    let with_mode = |mode| Watch {
        mode,
        ..watching(counting(), "0.031", true)
    };
    let mut asked = with_mode(Mode::Asked(Question::Undo));
    asked.message = Some(Message {
        tone: Tone::Question,
        text: "take back mark 6, A, round 2, +0.0125 mm?".to_owned(),
        hint: Some("y does it; any other key leaves all as it is".to_owned()),
    });
    let note = Mode::Note("new wheel, dressed twice".to_owned());
    vec![
        ("refused", refused),
        ("asked", asked),
        ("typed", typed),
        ("note", with_mode(note)),
        ("help", with_mode(Mode::Help(0))),
    ]
}
