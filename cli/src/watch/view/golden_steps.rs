//! Golden screens of every step at the usual sizes, and what holds for all of them.

mod states;

use super::draw;
use super::golden::{COLOURED, NOW_S, PLAIN, drawn};
use crate::watch::look::Look;
use crate::watch::state::Watch;
use metrology::Unit;
use protocol::plan::StepKind;
use protocol::screen;
use ratatui::Terminal;
use ratatui::backend::TestBackend;
use ratatui::style::{Color, Modifier};
pub(super) use states::states;

const SIZES: [(u16, u16); 3] = [(80, 24), (60, 20), (120, 40)];

#[test]
fn golden_screens_of_every_step() {
    for (legend, watch) in states() {
        for size in SIZES {
            let name = format!("{legend}_{}x{}", size.0, size.1);
            insta::assert_snapshot!(name, drawn(&watch, size));
        }
    }
}

fn with_look(watch: &Watch, look: Look) -> Watch {
    Watch {
        look,
        ..watch.clone()
    }
}

#[test]
fn golden_screens_in_ascii_and_in_inches() {
    for (legend, watch) in states() {
        if matches!(
            legend,
            "runout_clock" | "contact_disagrees" | "size_undersize"
        ) {
            let ascii = drawn(&with_look(&watch, PLAIN), (80, 24));
            insta::assert_snapshot!(format!("{legend}_ascii"), ascii);
            let inches = Look {
                unit: Some(Unit::In),
                ..COLOURED
            };
            let inches = drawn(&with_look(&watch, inches), (80, 24));
            insta::assert_snapshot!(format!("{legend}_inches"), inches);
        }
    }
}

/// The numbers in a text, each with its sign and its decimals.
fn numbers(text: &str) -> Vec<String> {
    let mut found = Vec::new();
    for word in text.split(|c: char| !(c.is_ascii_digit() || matches!(c, '+' | '-' | '.'))) {
        let word = word.trim_end_matches('.');
        if word.contains(|c: char| c.is_ascii_digit()) {
            found.push(word.to_owned());
        }
    }
    found
}

/// Half a number is another number: whatever stands on a small screen also stands on one that has room for all.
#[test]
fn nothing_is_cut_in_the_middle_of_a_number() {
    for (legend, watch) in states() {
        let mut all: Vec<_> = [(400, 120), (108, 120)]
            .iter()
            .flat_map(|size| numbers(&drawn(&watch, *size)))
            .collect();
        // On a large screen the large values are no text.
        let screen = screen::of(&watch.seen(NOW_S));
        let large = screen.must.iter().chain(&screen.may);
        all.extend(large.flat_map(|value| numbers(&value.value)));
        let plain = with_look(&watch, PLAIN);
        for width in [31, 40, 47, 60, 66, 73, 80, 97] {
            for height in [12, 15, 24, 50] {
                let screens = [
                    drawn(&watch, (width, height)),
                    drawn(&plain, (width, height)),
                ];
                // Plain words are longer; one height shows it.
                let screens = &screens[..if height == 24 { 2 } else { 1 }];
                for line in screens
                    .iter()
                    .flat_map(|s| s.lines())
                    .filter(|l| !is_scale(l))
                {
                    for number in numbers(line) {
                        assert!(
                            all.contains(&number),
                            "{legend} {width}x{height}: `{number}` in {line}"
                        );
                    }
                }
            }
        }
    }
}

/// The bar's scale has other numbers at every width.
fn is_scale(line: &str) -> bool {
    let words = line.trim_matches(['"', ' ']);
    words.starts_with("0 ") && (words.ends_with("µm") || words.ends_with("um"))
}

#[test]
fn what_cannot_be_missed_is_in_reverse_video_with_and_without_colours() {
    for (legend, word) in [
        ("size_undersize", "UNDERSIZE"),
        ("size_ground_between", "GROUND BETWEEN?"),
        ("sweep_recording", "RECORDING"),
        ("runout_turning", "RECORDING"),
        ("contact_disagrees", "DOES NOT AGREE"),
        ("level_enough", "ENOUGH"),
    ] {
        let (_, watch) = states()
            .into_iter()
            .find(|(name, _)| *name == legend)
            .unwrap();
        for size in [(80, 24), (60, 15), (40, 12), (160, 50)] {
            for look in [COLOURED, PLAIN] {
                let watch = with_look(&watch, look);
                let mut terminal = Terminal::new(TestBackend::new(size.0, size.1)).unwrap();
                terminal.draw(|frame| draw(frame, &watch, NOW_S)).unwrap();
                let cells = terminal.backend().buffer().content();
                let plated: String = cells
                    .iter()
                    .filter(|cell| cell.modifier.contains(Modifier::REVERSED))
                    .map(|cell| cell.symbol())
                    .collect();
                assert!(plated.contains(word), "{legend} {size:?}: {plated}");
            }
        }
    }
}

#[test]
fn without_blocks_and_colours_every_step_is_plain() {
    for (legend, watch) in states() {
        let watch = with_look(&watch, PLAIN);
        for size in SIZES {
            let mut terminal = Terminal::new(TestBackend::new(size.0, size.1)).unwrap();
            terminal.draw(|frame| draw(frame, &watch, NOW_S)).unwrap();
            let cells = terminal.backend().buffer().content();
            for cell in cells {
                assert!(cell.symbol().is_ascii(), "{legend}: {}", cell.symbol());
                assert!(
                    cell.fg == Color::Reset && cell.bg == Color::Reset,
                    "{legend}"
                );
            }
        }
    }
}

#[test]
fn colours_add_no_word_to_any_step() {
    for (legend, watch) in states() {
        let plain = Look {
            colour: false,
            ..COLOURED
        };
        let plain = drawn(&with_look(&watch, plain), (80, 24));
        assert_eq!(drawn(&watch, (80, 24)), plain, "{legend}");
    }
}

#[test]
fn every_size_of_window_can_be_drawn_in_every_step() {
    for (_, watch) in states() {
        for width in [1, 2, 15, 40, 60, 110, 230] {
            for height in [1, 2, 3, 7, 11, 24, 80] {
                drawn(&watch, (width, height));
            }
        }
    }
}

/// A fixture that does not compute would show an empty screen for a full one.
#[test]
fn only_what_is_under_way_has_no_outcome() {
    for (legend, watch) in states() {
        let status = watch.known.status.as_ref().unwrap();
        let under_way = [
            "_first",
            "_under_way",
            "cording",
            "turning",
            "_asked",
            "mistyped",
        ];
        let expected = under_way.iter().any(|part| legend.contains(part));
        assert!(
            status.outcome.is_some() || expected,
            "{legend}: {:?}",
            status.no_outcome
        );
    }
}

#[test]
fn every_kind_has_its_screen() {
    let shown: std::collections::BTreeSet<_> = states()
        .iter()
        .filter_map(|(_, watch)| Some(watch.known.status.as_ref()?.step?.kind))
        .collect();
    assert_eq!(shown.len(), StepKind::ALL.len());
}
