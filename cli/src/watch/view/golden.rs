//! Golden screens: what is drawn for given states, at the usual sizes.

use super::draw;
use crate::watch::figures::Units;
use crate::watch::hand::Answer;
use crate::watch::look::Look;
use crate::watch::state::{Message, Mode, Tone, Watch};
use metrology::blocks::Stack;
use metrology::setup::{Indicator, Setup, Station};
use metrology::taper::Taper;
use metrology::uncertainty::{Component, Verdict};
use metrology::zero::{ClampShift, Pivot, Round, Sloping, Tap, ZeroOutcome};
use metrology::{Angle, Length, Unit};
use protocol::api::{
    CableState, CableStatus, Code, DoublePress, Live, LiveReading, MarkLine, Refusal, SessionLabel,
    Status, StepLabel, WaitingMark,
};
use protocol::evidence::{MarkValue, Time};
use protocol::fold::{Outcome, StepKind};
use ratatui::Terminal;
use ratatui::backend::TestBackend;
use ratatui::style::Color;

pub(super) const NOW_S: f64 = 100.0;
pub(super) const COLOURED: Look = Look {
    blocks: true,
    colour: true,
    units: Units(Unit::Mm),
};
pub(super) const PLAIN: Look = Look {
    blocks: false,
    colour: false,
    units: Units(Unit::Mm),
};
const SIZES: [(u16, u16); 4] = [(80, 24), (40, 12), (160, 50), (80, 50)];

pub(super) fn mm(text: &str) -> Length {
    text.parse().unwrap()
}

pub(super) fn cable(state: CableState, reading: &str, age_s: f64) -> CableStatus {
    CableStatus {
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

pub(super) fn setup() -> Setup {
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

/// A zero step with these rounds, whose advice is a tap at `station` from the reading there to `target`.
pub(super) fn stepped(
    rounds: &[(f64, bool)],
    station: &str,
    reading_mm: f64,
    target_mm: f64,
) -> Status {
    let rounds: Vec<_> = (1..)
        .zip(rounds)
        .map(|(n, &(slope, clamped))| round(n, slope, clamped))
        .collect();
    let count = rounds.len() as u32;
    let last = rounds.last().cloned();
    let residual = last.as_ref().map(|round| round.residual_arcsec);
    let marks = (1..=count)
        .flat_map(|n| {
            [
                mark(3 * n - 2, "A", n, 0.0125),
                mark(3 * n - 1, "B", n, 0.3126),
                mark(3 * n, "A", n, 0.0125),
            ]
        })
        .collect();
    let verdict = residual.map(|r| match r.abs() {
        r if r < 3.3 => Verdict::In,
        r if r < 6.7 => Verdict::Undecided,
        _ => Verdict::Out,
    });
    let outcome = ZeroOutcome {
        residual_arcsec: residual,
        residual_expanded_arcsec: residual.map(|_| 1.7),
        cone: residual.map(|r| {
            if r > 0.0 {
                Sloping::Shallower
            } else {
                Sloping::Steeper
            }
        }),
        over_span_um: last.as_ref().map(|round| round.slope * 80e3),
        over_taper_um: last.as_ref().map(|round| round.slope * 60e3),
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
    };
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
        outcome: Some(Outcome::Zero(outcome)),
        marks,
        next_station: Some("A".to_owned()),
        next_round: Some(count + 1),
        ..Status::default()
    }
}

pub(super) fn reading(watch: &mut Watch, value: &str, settled: bool, at_s: f64) {
    let reading = LiveReading {
        cable: "bench".to_owned(),
        seq: 7,
        t: Time(0),
        value: mm(value),
        resolution: mm("0.001"),
        settled,
        so_far: None,
    };
    watch.on_live(Live::Reading(reading), at_s);
}

pub(super) fn watching(status: Status, value: &str, settled: bool) -> Watch {
    let mut watch = Watch::new(COLOURED);
    watch.on_live(Live::Snapshot(Box::new(status)), NOW_S);
    reading(&mut watch, value, settled, NOW_S);
    watch
}

pub(super) fn drawn(watch: &Watch, (width, height): (u16, u16)) -> String {
    let mut terminal = Terminal::new(TestBackend::new(width, height)).unwrap();
    terminal.draw(|frame| draw(frame, watch, NOW_S)).unwrap();
    terminal.backend().to_string()
}

/// What a user can be looking at, each with a legend.
fn states() -> Vec<(&'static str, Watch)> {
    let no_session = Status {
        cables: vec![cable(CableState::Live, "0.125", 0.03)],
        indicator: Some("bench".to_owned()),
        ..Status::default()
    };
    let mut no_step = stepped(&[], "A", 0.0, 0.0);
    no_step.step = None;
    no_step.outcome = None;
    let mut pressed_twice = stepped(&[], "A", 0.0, 0.0);
    pressed_twice.marks = vec![mark(1, "A", 1, 0.0125)];
    pressed_twice.next_round = Some(1);
    pressed_twice.next_station = Some("B".to_owned());
    pressed_twice.double_press = Some(DoublePress {
        cable: "bench".to_owned(),
        presses: 2,
        reading: mm("0.013"),
        resolution: mm("0.001"),
    });
    let mut waiting = pressed_twice.clone();
    waiting.double_press = None;
    waiting.waiting = Some(WaitingMark {
        place: None,
        left_s: 2.6,
    });
    let mut first_round = stepped(&[], "A", 0.0, 0.0);
    first_round.marks = vec![mark(1, "A", 1, 0.0125)];
    first_round.next_round = Some(1);
    first_round.next_station = Some("B".to_owned());

    let slope = 3.75e-3;
    let trial = stepped(&[(slope, false)], "A", 0.0125, 0.3125);
    let second = [(slope, false), (4.3e-4, false)];
    let counting = stepped(&second, "A", 0.0125, 0.0469);
    let mut elsewhere = stepped(&second, "B", 0.047, 0.0125);
    elsewhere.next_round = Some(3);
    let good = stepped(
        &[(slope, false), (4.3e-4, false), (8e-6, false)],
        "A",
        0.0125,
        0.0119,
    );
    let mut undecided = stepped(&[(slope, false), (2.4e-5, false)], "A", 0.0125, 0.0119);
    undecided.clamped = false;
    let mut shifted = stepped(
        &[(slope, false), (6e-6, false), (1.2e-4, true)],
        "A",
        0.0125,
        0.0119,
    );
    shifted.clamped = true;
    let mut aiming = stepped(
        &[
            (slope, false),
            (6e-6, false),
            (1.2e-4, true),
            (1.1e-4, false),
        ],
        "A",
        0.0125,
        0.0019,
    );
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
    let mut done = stepped(
        &[(slope, false), (6e-6, false), (5e-6, true)],
        "A",
        0.0125,
        0.0119,
    );
    done.clamped = true;
    let mut stale = counting.clone();
    stale.cables = vec![cable(CableState::Stale, "0.031", 4.0)];
    let before = stale.clone();
    stale.cables[0].skipped_bytes = 34;
    stale.cables[0].last_skipped = Some("\\xfe\\x00".to_owned());
    let mut skipping = watching_old(before);
    skipping.on_live(Live::Snapshot(Box::new(stale)), NOW_S);
    let mut busy = counting.clone();
    busy.cables = vec![cable(CableState::Busy, "0.031", 75.0)];
    busy.cables[0].detail =
        Some("the port is held by another program, number 4711; close it there".to_owned());

    let mut refused = watching(first_round.clone(), "0.131", false);
    refused.on_answer(Answer::Refused(
        Refusal::new(
            Code::NotSettled,
            "the readings have not settled: they moved by 12 µm in the last 0.5 s",
        )
        .hint("wait until the reading stands still, and mark again"),
    ));
    let mut asked = watching(counting.clone(), "0.031", true);
    asked.mode = Mode::Asked(crate::watch::state::Question::Undo);
    asked.message = Some(Message {
        tone: Tone::Question,
        text: "take back mark 6, A, round 2, +0.0125 mm?".to_owned(),
        hint: Some("y does it; any other key leaves all as it is".to_owned()),
    });
    let mut typed = watching(first_round.clone(), "0.131", true);
    typed.mode = Mode::Value("-3.5div".to_owned());
    let mut note = watching(counting.clone(), "0.031", true);
    note.mode = Mode::Note("new wheel, dressed twice".to_owned());
    let mut lost = watching(counting.clone(), "0.031", true);
    lost.on_lost("the connection to the daemon broke", NOW_S - 3.0);
    let mut help = watching(counting.clone(), "0.031", true);
    help.mode = Mode::Help;

    vec![
        ("before_the_first_word", Watch::new(COLOURED)),
        ("no_session", watching(no_session, "0.125", true)),
        ("no_step", watching(no_step, "0.125", true)),
        (
            "settling_in_the_first_round",
            watching(first_round, "0.281", false),
        ),
        ("trial_tap", watching(trial, "0.013", true)),
        ("counting_down", watching(counting.clone(), "0.031", false)),
        ("at_the_target", watching(counting.clone(), "0.047", true)),
        ("too_far", watching(counting.clone(), "0.052", true)),
        ("at_another_station", watching(elsewhere, "0.013", true)),
        ("undecided", watching(undecided, "0.013", true)),
        ("in_tolerance_loose", watching(good, "0.013", true)),
        ("shifted_by_the_clamp", watching(shifted, "0.013", true)),
        ("aiming_off", watching(aiming, "0.013", true)),
        ("in_tolerance_tight", watching(done, "0.013", true)),
        ("stale_cable", skipping),
        ("busy_cable", watching_old(busy)),
        ("pressed_twice", watching(pressed_twice, "0.013", true)),
        ("waiting_for_rest", watching(waiting, "0.013", false)),
        ("refused", refused),
        ("asked", asked),
        ("typed", typed),
        ("note", note),
        ("lost", lost),
        ("help", help),
    ]
}

/// A status whose value is only what the snapshot tells.
pub(super) fn watching_old(status: Status) -> Watch {
    let mut watch = Watch::new(COLOURED);
    watch.on_live(Live::Snapshot(Box::new(status)), NOW_S);
    watch
}

#[test]
fn golden_screens() {
    for (legend, watch) in states() {
        // The usual size for every state, the others for those that differ most.
        let everywhere = matches!(
            legend,
            "counting_down"
                | "aiming_off"
                | "pressed_twice"
                | "waiting_for_rest"
                | "stale_cable"
                | "refused"
        );
        for size in SIZES.into_iter().take(if everywhere { 4 } else { 1 }) {
            let name = format!("{legend}_{}x{}", size.0, size.1);
            insta::assert_snapshot!(name, drawn(&watch, size));
        }
    }
}

#[test]
fn without_blocks_every_cell_is_ascii() {
    for (legend, mut watch) in states() {
        watch.look = PLAIN;
        let mut terminal = Terminal::new(TestBackend::new(80, 24)).unwrap();
        terminal.draw(|frame| draw(frame, &watch, NOW_S)).unwrap();
        let cells = terminal.backend().buffer().content();
        assert!(
            cells.iter().all(|cell| cell.symbol().is_ascii()),
            "{legend}:\n{}",
            terminal.backend()
        );
        assert!(
            cells
                .iter()
                .all(|cell| cell.fg == Color::Reset && cell.bg == Color::Reset),
            "{legend} is coloured"
        );
    }
}

#[test]
fn an_ascii_screen() {
    let mut watch = states()
        .into_iter()
        .find(|(name, _)| *name == "counting_down")
        .unwrap()
        .1;
    watch.look = PLAIN;
    insta::assert_snapshot!("counting_down_ascii", drawn(&watch, (80, 24)));
}

#[test]
fn a_screen_in_inches() {
    let mut watch = states()
        .into_iter()
        .find(|(name, _)| *name == "counting_down")
        .unwrap()
        .1;
    watch.look.units = Units(Unit::In);
    insta::assert_snapshot!("counting_down_inches", drawn(&watch, (80, 24)));
}

/// The words must tell what the colours tell: the screen reads the same with and without them.
#[test]
fn colours_add_no_word() {
    for (legend, watch) in states() {
        let mut plain = watch.clone();
        plain.look.colour = false;
        assert_eq!(drawn(&watch, (80, 24)), drawn(&plain, (80, 24)), "{legend}");
    }
}

#[test]
fn a_value_that_is_not_live_says_so_at_every_size() {
    for (legend, watch) in states() {
        if !matches!(legend, "stale_cable" | "busy_cable" | "lost") {
            continue;
        }
        for size in SIZES {
            let screen = drawn(&watch, size);
            assert!(
                screen.contains("NOT CURRENT"),
                "{legend} {size:?}:\n{screen}"
            );
            assert!(!screen.contains("LIVE"), "{legend} {size:?}:\n{screen}");
        }
    }
}

#[test]
fn every_size_of_window_can_be_drawn() {
    let states = states();
    for width in [1, 2, 15, 40, 59, 80, 110, 230] {
        for height in [1, 2, 3, 7, 11, 24, 51, 80] {
            for (_, watch) in &states {
                drawn(watch, (width, height));
            }
        }
    }
}
