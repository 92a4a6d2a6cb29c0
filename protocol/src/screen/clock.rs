//! Angles of the part as positions of the clock, seen along its axis toward the chuck: 0° is 12 o'clock.

use crate::said;
use crate::style::Style;

/// An angle as an hour, to the minute of arc that an hour hand shows: `4 o'clock`, `1:30 o'clock`.
#[must_use]
pub fn hour(deg: f64, style: Style) -> String {
    said!(style, "live-oclock", hour = time(deg))
}

/// The same without a word, as the hand stands: `4`, `1:30`.
#[must_use]
pub fn time(deg: f64) -> String {
    match hand(deg) {
        (hour, 0) => hour.to_string(),
        (hour, minutes) => format!("{hour}:{minutes:02}"),
    }
}

/// The nearest whole hour, for places that are known to some degrees only.
#[must_use]
pub fn near(deg: f64, style: Style) -> String {
    said!(style, "live-oclock", hour = near_hour(deg))
}

/// The number of the nearest whole hour.
#[must_use]
pub fn near_hour(deg: f64) -> u32 {
    let hour = (deg.rem_euclid(360.0) / 30.0).round() as u32 % 12;
    if hour == 0 { 12 } else { hour }
}

/// Whether it stands at a whole hour.
#[must_use]
pub fn is_whole(deg: f64) -> bool {
    hand(deg).1 == 0
}

/// Degrees, with a decimal only where there is one.
#[must_use]
pub fn degrees(deg: f64, style: Style) -> String {
    let tenths = (deg * 10.0).round() / 10.0;
    style.number(tenths, usize::from(tenths.fract() != 0.0))
}

/// Hour and minutes of the hour hand.
fn hand(deg: f64) -> (u32, u32) {
    let minutes = (deg.rem_euclid(360.0) * 2.0).round() as u32 % 720;
    let hour = minutes / 60;
    (if hour == 0 { 12 } else { hour }, minutes % 60)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_clock_as_it_hangs() {
        // An hour is 30°, a minute of the hour hand half a degree.
        let style = Style::default();
        for (deg, said, whole) in [
            (0.0, "12 o'clock", true),
            (120.0, "4 o'clock", true),
            (45.0, "1:30 o'clock", false),
            (330.0, "11 o'clock", true),
            (359.9, "12 o'clock", true),
            (-30.0, "11 o'clock", true),
            (22.5, "12:45 o'clock", false),
        ] {
            assert_eq!((&*hour(deg, style), is_whole(deg)), (said, whole), "{deg}");
        }
        assert_eq!(
            [118.0, 346.0, 14.0].map(|deg| near(deg, style)),
            ["4 o'clock", "12 o'clock", "12 o'clock"]
        );
        assert_eq!([45.0, 22.5].map(|deg| degrees(deg, style)), ["45", "22.5"]);
    }
}
