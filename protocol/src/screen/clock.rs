//! Angles of the part as positions of the clock, seen along its axis toward the chuck: 0° is 12 o'clock.

/// An angle as an hour, to the minute of arc that an hour hand shows: `4 o'clock`, `1:30 o'clock`.
#[must_use]
pub fn hour(deg: f64) -> String {
    let (hour, minutes) = hand(deg);
    if minutes == 0 {
        format!("{hour} o'clock")
    } else {
        format!("{hour}:{minutes:02} o'clock")
    }
}

/// The nearest whole hour, for places that are known to some degrees only.
#[must_use]
pub fn near(deg: f64) -> String {
    let hour = (deg.rem_euclid(360.0) / 30.0).round() as u32 % 12;
    format!("{} o'clock", if hour == 0 { 12 } else { hour })
}

/// The hour as large digits show it, with its unit: a whole hour, or else degrees.
#[must_use]
pub fn digits(deg: f64) -> (String, &'static str) {
    match hand(deg) {
        (hour, 0) => (hour.to_string(), "o'clock"),
        _ => (degrees(deg), "degrees"),
    }
}

/// Degrees, with a decimal only where there is one.
#[must_use]
pub fn degrees(deg: f64) -> String {
    let tenths = (deg * 10.0).round() / 10.0;
    if tenths.fract() == 0.0 {
        format!("{tenths:.0}")
    } else {
        format!("{tenths:.1}")
    }
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
        for (deg, said, large) in [
            (0.0, "12 o'clock", "12"),
            (120.0, "4 o'clock", "4"),
            (45.0, "1:30 o'clock", "45"),
            (330.0, "11 o'clock", "11"),
            (359.9, "12 o'clock", "12"),
            (-30.0, "11 o'clock", "11"),
            (22.5, "12:45 o'clock", "22.5"),
        ] {
            assert_eq!(
                (hour(deg).as_str(), digits(deg).0.as_str()),
                (said, large),
                "{deg}"
            );
        }
        assert_eq!(
            [118.0, 346.0, 14.0].map(near),
            ["4 o'clock", "12 o'clock", "12 o'clock"]
        );
    }
}
