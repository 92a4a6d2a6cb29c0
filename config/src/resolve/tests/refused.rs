//! What is refused, with its exact words and a hint.

#![allow(
    clippy::too_many_lines,
    reason = "a job, or a table of cases, is read from top to bottom"
)]

use super::*;

/// Every kind of bad input: the code, a message that names the option, and a hint.
#[test]
fn bad_input_is_refused() {
    use Code::{BadValue, UnknownName};
    let long = "x".repeat(41);
    for (pairs, code, message) in [
        (
            &[("taper", "0deg")][..],
            BadValue,
            "half angle 0.0000000° is out of range",
        ),
        (&[("taper", "90deg")], BadValue, "half angle 90.0000000°"),
        (&[("taper", "100deg")], BadValue, "above 0° and below 90°"),
        (
            &[("taper", "moorse")],
            UnknownName,
            "there is no taper `moorse`",
        ),
        (
            &[("kit", "metric-1")],
            UnknownName,
            "there is no kit `metric-1`",
        ),
        (&[("bar", "mine")], UnknownName, "there is no bar `mine`"),
        (&[("bar_kind", "sine")], BadValue, "apply only with a bar"),
        (
            &[("bar", "100"), ("bar_kind", "cosine")],
            UnknownName,
            "there is no kind of bar `cosine`",
        ),
        (
            &[("length", "-30")],
            BadValue,
            "--length: `-30` is not above zero",
        ),
        (
            &[("length", "0")],
            BadValue,
            "--length: `0` is not above zero",
        ),
        (
            &[("length", "30furlong")],
            BadValue,
            "unknown unit `furlong`",
        ),
        (&[("span", "0")], BadValue, "--span: `0` is not above zero"),
        (
            &[("span", "-80")],
            BadValue,
            "--span: `-80` is not above zero",
        ),
        (
            &[("span", "wide")],
            BadValue,
            "--span: `wide` cannot be read",
        ),
        (&[("station", "C=40")], BadValue, "the span is not stated"),
        (&[("pass", "ABA")], BadValue, "the span is not stated"),
        (
            &[("span", "80"), ("station", "C")],
            BadValue,
            "has no position",
        ),
        (
            &[("span", "80"), ("station", "4=4")],
            BadValue,
            "not the name of a station",
        ),
        (
            &[("span", "80"), ("station", "=4")],
            BadValue,
            "not the name of a station",
        ),
        (
            &[("span", "80"), ("station", "C=x")],
            BadValue,
            "cannot be read",
        ),
        (
            &[("span", "80"), ("station", "b=40")],
            BadValue,
            "there is a station B already",
        ),
        (
            &[("span", "80"), ("station", "C=80")],
            BadValue,
            "station B stands at 80 mm already",
        ),
        (
            &[("span", "80"), ("station", "C=40"), ("station", "c=41")],
            BadValue,
            "a station C already",
        ),
        (
            &[("span", "80"), ("station", "C=40"), ("station", "D=40")],
            BadValue,
            "station C stands at",
        ),
        (
            &[("span", "80"), ("station", "C=80.000001")],
            BadValue,
            "outside the travel",
        ),
        (
            &[("span", "80"), ("station", "C=-1")],
            BadValue,
            "outside the travel",
        ),
        (
            &[("span", "80"), ("pass", "ABX")],
            UnknownName,
            "there is no station `X`",
        ),
        (
            &[("span", "80"), ("pass", "AAA")],
            BadValue,
            "a slope needs two stations",
        ),
        (
            &[("span", "80"), ("pass", "A")],
            BadValue,
            "a slope needs two stations",
        ),
        (
            &[("span", "80"), ("pass", " ")],
            BadValue,
            "a slope needs two stations",
        ),
        (
            &[("big_end", "A")],
            BadValue,
            "not where the indicator stands",
        ),
        (
            &[("indicator_side", "wheel")],
            BadValue,
            "which station is nearer the big end",
        ),
        (
            &[("big_end", "C"), ("indicator_side", "wheel")],
            BadValue,
            "neither A nor B",
        ),
        (
            &[("big_end", "A"), ("indicator_side", "weel")],
            BadValue,
            "neither wheel nor opposite",
        ),
        (
            &[("tolerance", "AT13"), ("taper", "morse-2")],
            BadValue,
            "AT1 to AT12",
        ),
        (
            &[("tolerance", "tight")],
            BadValue,
            "--tolerance: `tight` cannot be read",
        ),
        (
            &[("tolerance", "AT4"), ("taper", "1:12")],
            BadValue,
            "length, which is not known",
        ),
        (
            &[("tolerance", "2um"), ("length", "30")],
            BadValue,
            "none is stated",
        ),
        (
            &[("tolerance", "+AT4"), ("taper", "morse-2")],
            BadValue,
            "which way is steeper is not stated",
        ),
        (
            &[("taper", "1:3"), ("fixture", "")],
            BadValue,
            "--fixture: \"\" is not a name",
        ),
        (&[("fixture", long.as_str())], BadValue, "is not a name"),
        (
            &[("pivot", "here")],
            BadValue,
            "--pivot: `here` cannot be read",
        ),
        (
            &[("cable", "bensh")],
            UnknownName,
            "there is no cable `bensh`",
        ),
        (
            &[("resolution", "0")],
            BadValue,
            "--resolution: `0` is not above zero",
        ),
        (
            &[("division", "1div")],
            BadValue,
            "size of a division is not known",
        ),
        (
            &[("indicator_error", "-1um")],
            BadValue,
            "--indicator-error: `-1um` is not above zero",
        ),
        (
            &[("straightness", "-1um")],
            BadValue,
            "--straightness: `-1um` is below zero",
        ),
        (
            &[("station_error", "-1um")],
            BadValue,
            "--station-error: `-1um` is below zero",
        ),
        (
            &[("settle_band", "0")],
            BadValue,
            "--settle-band: `0` is not above zero",
        ),
        // AT grades are for cone lengths over 6 mm to 630 mm (ISO 1947).
        (
            &[("tolerance", "AT4"), ("taper", "1:50"), ("length", "6")],
            BadValue,
            "AT table of ISO 1947",
        ),
        (
            &[
                ("tolerance", "AT4"),
                ("taper", "1:50"),
                ("length", "630.001"),
            ],
            BadValue,
            "AT table of ISO 1947",
        ),
        // 10 · sin α is 0.1 mm; with a constant of −1 mm no height is left.
        (
            &[
                ("taper", "1:50"),
                ("bar", "10"),
                ("bar_constant", "-1"),
                ("kit", "metric-88"),
            ],
            BadValue,
            "--bar with --taper 1:50: ",
        ),
        (
            &[("taper", "89deg"), ("bar", "100")],
            BadValue,
            "a half angle of 89.0000000° is too steep for a sine bar, which is refused above 60°",
        ),
        (
            &[("taper", "59deg"), ("bar", "5000"), ("kit", "metric-32")],
            BadValue,
            "stack: a stack of",
        ),
        // Morse 2 comes to its point after 17.780 · 20.020 = 355.956 mm.
        (
            &[("taper", "morse-2"), ("length", "355.956")],
            BadValue,
            "taper length 355.956 mm is out of range",
        ),
    ] {
        let refusal = match resolve(&config(), &options(pairs)) {
            Ok(setup) => panic!("{pairs:?} was taken: {setup:?}"),
            Err(refusal) => refusal,
        };
        assert_eq!(refusal.code, code, "{pairs:?}: {refusal}");
        assert!(refusal.message.contains(message), "{pairs:?}: {refusal}");
        assert!(
            refusal.hint.as_ref().is_some_and(|h| !h.is_empty()),
            "{pairs:?} has no hint"
        );
    }
    assert!(
        resolve(
            &config(),
            &options(&[("taper", "morse-2"), ("length", "355.955")])
        )
        .is_ok()
    );
    assert!(
        resolve(
            &config(),
            &options(&[("span", "80"), ("station", "C=79.999999999")])
        )
        .is_ok()
    );
}

/// The nearest right name is in the hint.
#[test]
fn near_names_are_offered() {
    for (pairs, near) in [
        (&[("cable", "bensh")][..], "did you mean `bench`?"),
        (&[("kit", "metrik-88")], "did you mean `metric-88`?"),
        (
            &[("big_end", "A"), ("indicator_side", "weel")],
            "did you mean `wheel`?",
        ),
        (
            &[("bar", "100"), ("bar_kind", "tangens")],
            "did you mean `tangent`?",
        ),
    ] {
        let refusal = resolve(&config(), &options(pairs)).unwrap_err();
        assert_eq!(refusal.hint.as_deref(), Some(near));
    }
}
