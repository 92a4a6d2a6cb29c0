//! What the keys do, and what the screen shows.

use super::practice;
use protocol::said;
use protocol::style::Style;

/// Keys or words, each with what it does or means; those of a practice first.
pub fn entries(practising: bool, style: Style) -> impl Iterator<Item = (String, String)> {
    let further = practice::HELP.into_iter().filter(move |_| practising);
    let further = further.map(|(key, text)| (key.to_owned(), text.to_owned()));
    further.chain(usual(style))
}

fn usual(style: Style) -> [(String, String); 15] {
    let key = |key: &str, text| (key.to_owned(), text);
    [
        (
            said!(style, "watch-space"),
            said!(style, "watch-help-space"),
        ),
        key("0-9 + -", said!(style, "watch-help-digits")),
        key("u", said!(style, "watch-help-undo")),
        key("r", said!(style, "watch-help-round")),
        key("c", said!(style, "watch-help-clamp")),
        key("o", said!(style, "watch-help-ground")),
        key("i", said!(style, "watch-help-instrument")),
        key("p", said!(style, "watch-help-place")),
        key("g", said!(style, "watch-help-go")),
        key("n", said!(style, "watch-help-note")),
        key("b", said!(style, "watch-help-sound")),
        key("s", said!(style, "watch-help-step")),
        key("q", said!(style, "watch-help-quit")),
        (said!(style, "watch-tap"), said!(style, "watch-help-tap")),
        (
            said!(style, "watch-hatched"),
            said!(style, "watch-help-hatched"),
        ),
    ]
}
