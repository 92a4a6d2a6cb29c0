//! What the keys do, and what the screen shows.

use super::practice;

/// Keys or words, each with what it does or means; those of a practice first.
pub fn entries(practising: bool) -> impl Iterator<Item = (&'static str, &'static str)> {
    let further = practice::HELP.into_iter().filter(move |_| practising);
    further.chain(HELP)
}

const HELP: [(&str, &str); 14] = [
    (
        "space",
        "marks the next station with the settled reading there; enter does the same",
    ),
    (
        "0-9 + -",
        "begin a typed value for the next station: 0.0125, 12.5um, -3.5div",
    ),
    (
        "u",
        "takes the last mark back, after y; the record keeps it as taken back",
    ),
    ("r", "the next mark begins a new round"),
    (
        "c",
        "the clamp was tightened, or loosened: the next round measures the shift",
    ),
    (
        "o",
        "the part was ground: what is marked from now on is of a new state of it; again: it was not",
    ),
    (
        "p",
        "says where the next mark is, when it is not the next in order",
    ),
    (
        "g",
        "the indicator now stands at the place of the target: the bar counts down",
    ),
    ("n", "a note into the session"),
    (
        "b",
        "sound on or off: one tone a beat before the target, two past it, higher is nearer",
    ),
    ("s", "a menu of the steps; the open one is closed first"),
    (
        "q",
        "leaves; the background process, the session and the step go on",
    ),
    (
        "tap",
        "at the station that the advice names, until the bar is gone; then mark a round",
    ),
    (
        "hatched",
        "digits drawn hatched are old: they are not what the indicator shows now",
    ),
];
