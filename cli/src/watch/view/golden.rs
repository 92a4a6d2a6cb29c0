//! Golden screens: what is drawn for given states, at the usual sizes.

mod states;

use super::draw;
use crate::watch::look::Look;
use crate::watch::state::Watch;
use metrology::Unit;
use protocol::api::{Live, LiveReading, Status};
use protocol::evidence::Time;
use protocol::screen::Trace;
use protocol::style::Style;
use ratatui::Terminal;
use ratatui::backend::TestBackend;
use ratatui::crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use ratatui::style::Color;
pub(super) use states::states;

pub(super) use states::{cable, mm, setup};

pub(super) const NOW_S: f64 = 100.0;
pub(super) const COLOURED: Look = Look {
    blocks: true,
    fine: true,
    colour: true,
    unit: Some(Unit::Mm),
    words: Style::of(Unit::Mm),
};
pub(super) const PLAIN: Look = Look {
    blocks: false,
    fine: true,
    colour: false,
    unit: Some(Unit::Mm),
    words: Style::of(Unit::Mm),
};
const SIZES: [(u16, u16); 4] = [(80, 24), (40, 12), (160, 50), (80, 50)];

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

/// A minute of readings, with two marks in it.
pub(super) fn traced(mut watch: Watch) -> Watch {
    let status = watch.known.status.clone().unwrap();
    let all = status.marks.len();
    watch.trace = Trace::default();
    for tenth in 0..600_u32 {
        let at_s = NOW_S - 60.0 + f64::from(tenth) / 10.0;
        // A tap half-way, and a display that is never quite still.
        let um = if tenth < 300 {
            94
        } else {
            94 - (tenth - 300).min(160) / 4
        } + tenth % 7 / 6;
        reading(&mut watch, &format!("0.{um:03}"), true, at_s);
        if let Some(after) = [(100, 1), (260, 0)].iter().find(|(at, _)| *at == tenth) {
            let mut then = status.clone();
            then.marks.truncate(all.saturating_sub(after.1));
            watch.on_live(Live::Snapshot(Box::new(then)), at_s);
        }
        if tenth == 0 {
            let mut then = status.clone();
            then.marks.truncate(all.saturating_sub(2));
            watch.on_live(Live::Snapshot(Box::new(then)), at_s);
        }
    }
    watch
}

/// A large window has the last minute and the rounds beside the digits.
#[test]
fn the_last_minute_stands_beside_the_digits() {
    let state = states()
        .into_iter()
        .find(|(name, _)| *name == "counting_down");
    let watch = traced(state.unwrap().1);
    for size in [(120, 40), (200, 50)] {
        let screen = drawn(&watch, size);
        assert!(
            screen.contains("LAST MINUTE") && screen.contains("round"),
            "{screen}"
        );
        insta::assert_snapshot!(format!("last_minute_{}x{}", size.0, size.1), screen);
    }
    let plain = Watch {
        look: PLAIN,
        ..watch.clone()
    };
    let screen = drawn(&plain, (120, 40));
    assert!(screen.is_ascii(), "{screen}");
    insta::assert_snapshot!("last_minute_ascii", screen);
    let console = Watch {
        look: Look {
            fine: false,
            ..COLOURED
        },
        ..watch
    };
    let screen = drawn(&console, (120, 40));
    assert!(
        !screen.contains(|c| ('\u{2800}'..='\u{28ff}').contains(&c)),
        "{screen}"
    );
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
    watch.look.unit = Some(Unit::In);
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
        if !matches!(
            legend,
            "stale_cable" | "busy_cable" | "other_instrument" | "lost"
        ) {
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

/// In a low window the help goes on below, and comes back.
#[test]
fn the_help_scrolls_to_its_last_row_and_back() {
    let mut watch = states()
        .into_iter()
        .find(|(name, _)| *name == "help")
        .unwrap()
        .1;
    let key = |code| KeyEvent::new(code, KeyModifiers::NONE);
    let first = drawn(&watch, (60, 20));
    assert!(
        first.contains("marks the next station") && !first.contains("hatched"),
        "{first}"
    );
    for _ in 0..9 {
        watch.on_key(key(KeyCode::Char(' ')), NOW_S);
    }
    let last = drawn(&watch, (60, 20));
    assert!(
        last.contains("hatched") && last.contains("not what the"),
        "{last}"
    );
    for _ in 0..14 {
        watch.on_key(key(KeyCode::Up), NOW_S);
    }
    assert_eq!(drawn(&watch, (60, 20)), first);
    watch.on_key(key(KeyCode::Char('q')), NOW_S);
    assert!(!drawn(&watch, (60, 20)).contains("marks the next station"));
}
