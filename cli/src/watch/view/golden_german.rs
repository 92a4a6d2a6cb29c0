//! The screens in German: its words are longer than the English ones, and the digits may not pay for them.

use super::golden::{COLOURED, NOW_S, PLAIN, drawn};
use super::{draw, golden, golden_steps};
use crate::watch::look::Look;
use crate::watch::state::{Mode, Watch};
use protocol::screen;
use protocol::style::{Decimal, Language, Style};
use ratatui::Terminal;
use ratatui::backend::TestBackend;

const GERMAN: Style = Style {
    division: None,
    unit: metrology::Unit::Mm,
    decimal: Decimal::Comma,
    language: Language::De,
};
/// The smallest windows that the view is made for.
const SIZES: [(u16, u16); 2] = [(60, 20), (80, 24)];

/// Every state of the English screens, with its name.
fn states() -> Vec<(&'static str, Watch)> {
    let mut all = golden::states();
    all.extend(golden_steps::states());
    all
}

fn german(watch: &Watch, look: Look) -> Watch {
    let mut german = Watch {
        look: Look {
            words: GERMAN,
            ..look
        },
        ..watch.clone()
    };
    // Whoever went to a target went to where it is called so.
    let clock = german
        .went_to
        .as_ref()
        .is_some_and(|at| at.contains("o'clock"));
    if let (true, Some(status)) = (clock, &german.known.status) {
        german.went_to = screen::target(status, GERMAN).map(|target| target.place);
    }
    german
}

#[test]
fn golden_screens_in_german() {
    let shown = [
        "counting_down",
        "pressed_twice",
        "refused",
        "help",
        "menu",
        "typed",
        "level_enough",
        "sweep_stations",
        "sweep_recording",
        "runout_clock",
        "runout_turning",
        "size_left",
        "size_ground_between",
        "size_undersize",
        "contact_disagrees",
        "dial_done",
        "dial_under_way",
    ];
    for (legend, watch) in states() {
        if shown.contains(&legend) {
            for size in SIZES {
                let name = format!("{legend}_{}x{}", size.0, size.1);
                insta::assert_snapshot!(name, drawn(&german(&watch, COLOURED), size));
            }
        }
    }
}

/// Rows that hold strokes of large digits.
fn rows_of_digits(screen: &str) -> usize {
    let strokes = |line: &&str| line.contains(['█', '▀', '▄', '░']) && !line.contains('┃');
    screen.lines().filter(strokes).count()
}

/// Rows that are cut, beside remarks: these are whole in a window with room for them.
fn cuts(screen: &str) -> usize {
    let remark = |line: &str| {
        ["\"NOTE ", "\"NOTIZ "]
            .iter()
            .any(|at| line.starts_with(at))
    };
    let cut = |line: &&str| line.contains("...") && !remark(line);
    screen.lines().filter(cut).count()
}

#[test]
fn german_words_cost_no_digit_and_are_not_cut() {
    let mut worse = Vec::new();
    for (legend, watch) in states() {
        for size in SIZES {
            let english = drawn(&watch, size);
            let told = drawn(&german(&watch, COLOURED), size);
            let smaller = rows_of_digits(&told) < rows_of_digits(&english);
            let cut = cuts(&told) > cuts(&english);
            if smaller || cut {
                worse.push(format!(
                    "{legend} {size:?} {smaller} {cut}:\n{told}\n{english}"
                ));
            }
        }
    }
    assert!(worse.is_empty(), "{}", worse.join("\n"));
}

#[test]
fn german_without_blocks_is_ascii() {
    for (legend, watch) in states() {
        let watch = german(&watch, PLAIN);
        let mut terminal = Terminal::new(TestBackend::new(80, 24)).unwrap();
        terminal.draw(|frame| draw(frame, &watch, NOW_S)).unwrap();
        let cells = terminal.backend().buffer().content();
        assert!(
            cells.iter().all(|cell| cell.symbol().is_ascii()),
            "{legend}:\n{}",
            terminal.backend()
        );
    }
}

/// What can be left in the line of keys at 60 columns is what must be known.
#[test]
fn the_narrow_line_of_keys_says_how_to_leave() {
    let (_, watch) = states().into_iter().next().unwrap();
    for style in [GERMAN, Style::default()] {
        let told = Watch {
            look: Look {
                words: style,
                ..COLOURED
            },
            mode: Mode::Plain,
            ..watch.clone()
        };
        let screen = drawn(&told, (60, 20));
        assert!(
            screen.contains("q aus") || screen.contains("q quit"),
            "{screen}"
        );
    }
}
