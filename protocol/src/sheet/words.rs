//! Phrases that several sheets, screens and pages share.

use crate::evidence::Place;
use crate::said;
use crate::style::Style;
use metrology::Length;
use metrology::dial::Direction;
use metrology::setup::Station;
use metrology::uncertainty::{Undecided, Verdict};
use metrology::zero::{Sloping, Tap};

/// Why there is no verdict on the half angle.
pub(crate) fn tolerance_missing(style: Style) -> String {
    said!(style, "no-tolerance-stated")
}

/// Why there is no verdict on a run-out or on an indicator.
pub(crate) fn limits_missing(style: Style) -> String {
    said!(style, "no-limit-stated")
}

/// An error of an angle with its sign, as a view in one style writes it: `-12.30"`.
#[must_use]
pub fn arcsec(arcsec: f64) -> String {
    Style::default().arcsec(arcsec)
}

/// A small length with its sign, as a view in one style writes it: `+4.20 µm`.
#[must_use]
pub fn um(um: f64) -> String {
    Style::default().micro_signed(um)
}

/// A small length without a sign, as a view in one style writes it: `4.20 µm`.
#[must_use]
pub fn plain_um(um: f64) -> String {
    Style::default().micro(um)
}

/// A verdict in one word, as lists and filters write it.
#[must_use]
pub const fn verdict_word(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::In => "in",
        Verdict::Out => "out",
        Verdict::Undecided => "undecided",
    }
}

/// What was decided, without the reason.
#[must_use]
pub fn decided(verdict: Verdict, style: Style) -> String {
    match verdict {
        Verdict::In => said!(style, "in-tolerance"),
        Verdict::Out => said!(style, "out-of-tolerance"),
        Verdict::Undecided => said!(style, "undecided"),
    }
}

/// Why nothing was.
pub(crate) fn because(because: Undecided, style: Style) -> String {
    match because {
        Undecided::TooClose => said!(style, "too-close"),
        Undecided::RepeatabilityUnknown => said!(style, "repeatability-unknown"),
        Undecided::Moved => said!(style, "was-moved"),
        Undecided::RoundsDisagree => said!(style, "rounds-do-not-agree"),
    }
}

/// The verdict in words: what was decided, or why nothing was.
#[must_use]
pub fn verdict(verdict: Verdict, why: Option<Undecided>, style: Style) -> String {
    let decision = decided(verdict, style);
    match why.filter(|_| verdict == Verdict::Undecided) {
        Some(why) => format!("{decision}: {}", because(why, style)),
        None => decision,
    }
}

/// Which way a residual tilts the cone. A residual that is `shown` as zero tilts it neither way.
pub(crate) fn cone(sloping: Option<Sloping>, shown: &str) -> Option<Sloping> {
    sloping.filter(|_| shown.contains(|c: char| matches!(c, '1'..='9')))
}

/// Which way something is tapped.
pub(crate) fn way(toward: bool, style: Style) -> String {
    if toward {
        said!(style, "toward-indicator")
    } else {
        said!(style, "away-from-indicator")
    }
}

/// Why a tap aims at a residual that is not zero.
pub(crate) fn aim(tap: &Tap, style: Style) -> Option<String> {
    let [clamp, wanted] = tap.aims_arcsec();
    let clamp = clamp.map(|arcsec| said!(style, "aim-clamp", by = style.signed(arcsec, 2)));
    let wanted = wanted.map(|arcsec| said!(style, "aim-wanted", by = style.signed(arcsec, 2)));
    Some(match (clamp, wanted) {
        (Some(one), None) | (None, Some(one)) => said!(style, "aims-off", by = one),
        (Some(one), Some(other)) => said!(style, "aims-off-both", one = one, other = other),
        (None, None) => return None,
    })
}

/// The unit of a budget's component as it is written.
pub(crate) fn unit(unit: &str) -> &str {
    match unit {
        "um" => "µm",
        other => other,
    }
}

/// Where or what a mark is about.
#[must_use]
pub fn place(place: &Place, style: Style) -> String {
    let in_plane = |plane: &Option<Length>| {
        plane.map_or_else(String::new, |plane| {
            said!(style, "in-plane", plane = style.length(plane))
        })
    };
    let at = |station: &Option<Station>| {
        let station = station.as_ref();
        station.map_or_else(String::new, |station| {
            said!(style, "place-at", station = station.name.as_str())
        })
    };
    match place {
        Place::Station(station) => station.name.clone(),
        Place::Angle { angle, plane } => {
            format!("{}°{}", style.number(angle.deg(), 0), in_plane(plane))
        }
        Place::Turn { plane } => said!(style, "place-turn") + &in_plane(plane),
        Place::Begin { station, plane } => {
            said!(style, "place-begin") + &at(station) + &in_plane(plane)
        }
        Place::End { station } => said!(style, "place-end") + &at(station),
        Place::Plane { plane } => said!(style, "place-plane", plane = style.length(*plane)),
        Place::StandOff => said!(style, "place-stand-off"),
        Place::Rollers { stacks } => {
            said!(style, "place-rollers", stacks = style.length(*stacks))
        }
        Place::BigBall => said!(style, "place-big-ball"),
        Place::SmallBall => said!(style, "place-small-ball"),
        Place::Nominal { nominal, direction } => {
            let nominal = style.length(*nominal);
            match direction {
                Direction::Up => said!(style, "place-up", nominal = nominal),
                Direction::Down => said!(style, "place-down", nominal = nominal),
            }
        }
        Place::Print(zones) => said!(
            style,
            "place-print",
            big = style.exact(zones.big_percent),
            middle = style.exact(zones.middle_percent),
            small = style.exact(zones.small_percent)
        ),
    }
}

/// A direction in degrees, with the hour of a clock, twelve at 0°, that it is nearest to: `120° (4 o'clock)`.
#[must_use]
pub fn direction(deg: f64, style: Style) -> String {
    let deg = deg.rem_euclid(360.0);
    let halves = (deg / 15.0).round() as u32 % 24;
    let hour = if halves < 2 { 12 } else { halves / 2 };
    let deg = style.number(deg, 0);
    if halves % 2 == 1 {
        // A half hour is named by the hour before it, or by the one after it.
        let later = hour % 12 + 1;
        said!(
            style,
            "direction-half",
            deg = deg,
            hour = hour,
            later = later
        )
    } else {
        said!(style, "direction", deg = deg, hour = hour)
    }
}

/// How many readings lie apart, and what was done about it.
#[must_use]
pub fn outliers(found: usize, rejected: usize, style: Style) -> String {
    match (found, rejected) {
        (0, _) => said!(style, "outliers-none"),
        (found, 0) => said!(style, "outliers-included", found = found),
        (found, rejected) if found == rejected => said!(style, "outliers-left-out", found = found),
        (found, rejected) => {
            said!(style, "outliers-partly", found = found, rejected = rejected)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_shown_as_zero_tilts_the_cone_neither_way() {
        let steeper = Some(Sloping::Steeper);
        assert_eq!(cone(steeper, "+0.01"), steeper);
        assert_eq!(cone(steeper, "0.00"), None);
        assert_eq!(cone(None, "-1"), None);
    }

    #[test]
    fn directions_are_hours_to_the_half() {
        for (deg, expected) in [
            (0.0, "0° (12 o'clock)"),
            (7.4, "7° (12 o'clock)"),
            (7.6, "8° (half past 12 o'clock)"),
            (120.0, "120° (4 o'clock)"),
            (345.0, "345° (half past 11 o'clock)"),
            (353.0, "353° (12 o'clock)"),
            (-90.0, "270° (9 o'clock)"),
        ] {
            assert_eq!(direction(deg, Style::default()), expected, "{deg}");
        }
    }

    /// In German half past eleven is half of the twelfth hour.
    #[test]
    fn german_names_a_half_hour_by_the_hour_after_it() {
        let german = Style {
            language: crate::style::Language::De,
            ..Style::default()
        };
        assert_eq!(direction(345.0, german), "345° (halb 12 Uhr)");
        assert_eq!(direction(7.6, german), "8° (halb 1 Uhr)");
    }

    /// The reasons are also told by what knows no language.
    #[test]
    fn the_reasons_are_those_of_the_arithmetic() {
        for why in [
            Undecided::TooClose,
            Undecided::RepeatabilityUnknown,
            Undecided::Moved,
            Undecided::RoundsDisagree,
        ] {
            assert_eq!(because(why, Style::default()), why.words());
        }
    }
}
