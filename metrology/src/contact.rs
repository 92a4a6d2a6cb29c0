//! Contact by marking dye: where the cone and its mate bear, and what that proves of their half angles.
//!
//! A print is a judgement, not a measurement: it is made by eye, and the thickness of the film is known roughly. What it
//! proves follows from the wedge between two cones. Dye goes over where the gap is less than the film t. Where it stops
//! going over at a distance s from the end that bears, the gap there is t at least, so the half angles differ by at least
//! about t/s. Where it goes over at both ends, the gap at the far end is no more than t, and they differ by at most t over
//! the distance of the ends' zones.

use crate::setup::Setup;
use crate::{Angle, DomainError, Length};
use serde::{Deserialize, Serialize};
use std::fmt;

/// How much of each third of the length printed, per cent, judged by eye.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Zones {
    /// The third at the big end.
    pub big_percent: f64,
    /// The middle third.
    pub middle_percent: f64,
    /// The third at the small end.
    pub small_percent: f64,
}

/// Film thickness of marking dye, thinnest and thickest, where nothing is stated. Common practice: 2 to 5 µm.
pub const USUAL_FILM_UM: [f64; 2] = [2.0, 5.0];

/// Below this share of a zone (per cent) it counts as bare: single specks are not contact. Common practice.
pub const BARE_PERCENT: f64 = 10.0;

/// What the contact step is told beside the zones.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct ContactOptions {
    /// Film thickness, thinnest and thickest; [`USUAL_FILM_UM`] unless stated.
    #[serde(rename = "film_um", skip_serializing_if = "Option::is_none")]
    pub film: Option<[f64; 2]>,
    /// The half angle's error that a zero or sweep step found, arc-seconds, steeper positive, with its expanded uncertainty:
    /// then the print is held against it, the mate taken as right.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub found_arcsec: Option<[f64; 2]>,
    /// The cone that was dyed is a bore; the mate is then the plug.
    pub bore: bool,
}

/// Where it bears.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Bearing {
    /// Over the whole length.
    Full,
    /// At the big end.
    BigEnd,
    /// At the small end.
    SmallEnd,
    /// At both ends and not between: hollow, or the mate barrelled.
    Ends,
    /// In the middle only: barrelled, or the mate hollow.
    Middle,
    /// Nowhere: the dye did not go over, or the cones did not meet.
    Nowhere,
}

/// Which of the two cones has the larger half angle.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Against {
    /// This part's cone is steeper than its mate's.
    Steeper,
    /// This part's cone is shallower than its mate's.
    Shallower,
}

/// The outcome of a contact step.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ContactOutcome {
    /// The zones as judged.
    #[serde(flatten)]
    pub zones: Zones,
    /// Share of the whole length that printed, per cent.
    pub contact_percent: f64,
    /// Where it bears.
    pub bearing: Bearing,
    /// Which cone is steeper, when the print proves it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub against: Option<Against>,
    /// The half angles differ by at least this, when one end is bare.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at_least_arcsec: Option<f64>,
    /// They differ by at most this, when both ends printed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at_most_arcsec: Option<f64>,
    /// Whether that agrees with what zero or sweep found; absent where nothing was found or proved.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub consistent: Option<bool>,
    /// The film thickness it was judged with, thinnest and thickest, µm.
    pub film_um: [f64; 2],
    /// What the user should know, in sentences.
    pub remarks: Vec<String>,
}

/// Why a contact step has no outcome.
#[derive(Debug, Clone, PartialEq)]
pub enum ContactError {
    /// A value out of its domain: which, and the domain.
    Domain(DomainError),
    /// The length over which the cones should bear is not known.
    NoLength,
}

impl fmt::Display for ContactError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Domain(error) => error.fmt(f),
            Self::NoLength => write!(
                f,
                "a print says nothing of an angle without the length it is on: state the taper's length"
            ),
        }
    }
}

impl std::error::Error for ContactError {}

/// Judges a print.
///
/// # Errors
/// A percentage outside 0 to 100, a film that is not above zero or out of order, or no length.
///
/// ```
/// use conewright_metrology::contact::{self, Against, Bearing, ContactOptions, Zones};
/// use conewright_metrology::setup::Setup;
/// let setup = Setup { length: Some("60mm".parse()?), ..Setup::default() };
/// // The big end bears, the rest is bare: over the first third the gap grew to the film, 2 µm in 20 mm at least.
/// let zones = Zones { big_percent: 90.0, middle_percent: 0.0, small_percent: 0.0 };
/// let print = contact::outcome(&setup, &ContactOptions::default(), zones)?;
/// assert_eq!((print.bearing, print.against), (Bearing::BigEnd, Some(Against::Steeper)));
/// assert!((print.at_least_arcsec.unwrap() - 20.6).abs() < 0.1);
/// assert!(contact::outcome(&Setup::default(), &ContactOptions::default(), zones).is_err());
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn outcome(
    setup: &Setup,
    options: &ContactOptions,
    zones: Zones,
) -> Result<ContactOutcome, ContactError> {
    let shares = [
        ("print at the big end", zones.big_percent),
        ("print in the middle", zones.middle_percent),
        ("print at the small end", zones.small_percent),
    ];
    for (what, percent) in shares {
        if !(0.0..=100.0).contains(&percent) {
            let shown = format_args!("{percent} %").to_string();
            return Err(ContactError::Domain(DomainError::new(
                what,
                shown,
                "0 to 100 %",
            )));
        }
    }
    let film_um = options.film.unwrap_or(USUAL_FILM_UM);
    let [thin, thick] = film_um;
    if !(thin > 0.0 && thick >= thin && thick.is_finite()) {
        let shown = format_args!("{thin} to {thick} µm").to_string();
        let domain = "above 0 µm, the thinnest first";
        return Err(ContactError::Domain(DomainError::new(
            "film of dye",
            shown,
            domain,
        )));
    }
    if let Some([error, expanded]) = options.found_arcsec
        && !(error.is_finite() && expanded >= 0.0 && expanded.is_finite())
    {
        let shown = format_args!("{error} ± {expanded} arc-seconds").to_string();
        let domain = "a number, with an uncertainty of 0 or more";
        return Err(ContactError::Domain(DomainError::new(
            "half angle found",
            shown,
            domain,
        )));
    }
    let taper_length = setup.taper.as_ref().and_then(|taper| taper.length);
    let length = setup
        .length
        .or(taper_length)
        .ok_or(ContactError::NoLength)?;
    if length <= Length::ZERO {
        let error = DomainError::new("length", length, "above 0 mm");
        return Err(ContactError::Domain(error));
    }
    let third_mm = length.mm() / 3.0;
    let [big, middle, small] = shares.map(|(_, percent)| percent >= BARE_PERCENT);
    let bearing = match (big, middle, small) {
        (true, true, true) => Bearing::Full,
        (true, false, true) => Bearing::Ends,
        (false, true, false) => Bearing::Middle,
        (true, _, false) => Bearing::BigEnd,
        (false, _, true) => Bearing::SmallEnd,
        (false, false, false) => Bearing::Nowhere,
    };
    let arcsec = |um: f64, over_mm: f64| Angle::from_rad((um * 1e-3 / over_mm).atan()).arcsec();
    // The print reaches to here from the end that bears; there the gap is the film.
    let reach_mm = third_mm * if middle { 2.0 } else { 1.0 };
    let (at_least, at_most) = match bearing {
        Bearing::BigEnd | Bearing::SmallEnd => (Some(arcsec(thin, reach_mm)), None),
        // Dye went over in both outer thirds: between their inner edges lies a third at least.
        Bearing::Full | Bearing::Ends => (None, Some(arcsec(thick, third_mm))),
        Bearing::Middle | Bearing::Nowhere => (None, None),
    };
    // A plug that bears at its big end in a bore is the steeper of the two; seen from the bore it is the other way.
    let against = match (bearing, options.bore) {
        (Bearing::BigEnd, false) | (Bearing::SmallEnd, true) => Some(Against::Steeper),
        (Bearing::SmallEnd, false) | (Bearing::BigEnd, true) => Some(Against::Shallower),
        _ => None,
    };
    let mut outcome = ContactOutcome {
        zones,
        contact_percent: (zones.big_percent + zones.middle_percent + zones.small_percent) / 3.0,
        bearing,
        against,
        at_least_arcsec: at_least,
        at_most_arcsec: at_most,
        consistent: None,
        film_um,
        remarks: vec![format!(
            "a print is judged by eye, with a film of {thin} to {thick} µm{}",
            if options.film.is_none() {
                " (common practice)"
            } else {
                ""
            }
        )],
    };
    outcome.remarks.extend(form(bearing).map(str::to_owned));
    hold_against(&mut outcome, options);
    Ok(outcome)
}

/// What a print says of the form rather than of the angle.
const fn form(bearing: Bearing) -> Option<&'static str> {
    match bearing {
        Bearing::Ends => Some(
            "it bears at both ends and not between: a hollow cone, or a barrelled mate; the angle is not the trouble",
        ),
        Bearing::Middle => Some(
            "it bears in the middle only: a barrelled cone, or a hollow mate; sweep it for its bow",
        ),
        Bearing::Nowhere => {
            Some("no dye went over: too little dye, or the cones did not meet; this proves nothing")
        }
        _ => None,
    }
}

/// Holds the print against what zero or sweep found.
fn hold_against(outcome: &mut ContactOutcome, options: &ContactOptions) {
    let Some([error, expanded]) = options.found_arcsec else {
        return;
    };
    // Steeper positive, as the part is.
    let (low, high) = match (
        outcome.against,
        outcome.at_least_arcsec,
        outcome.at_most_arcsec,
    ) {
        (Some(Against::Steeper), Some(least), _) => (least, f64::INFINITY),
        (Some(Against::Shallower), Some(least), _) => (f64::NEG_INFINITY, -least),
        (_, _, Some(most)) => (-most, most),
        _ => return,
    };
    let consistent = error + expanded >= low && error - expanded <= high;
    outcome.consistent = Some(consistent);
    let (word, then) = if consistent {
        ("agrees", "")
    } else {
        (
            "does not agree",
            ": check the mate, the film, and that both were clean and cool",
        )
    };
    outcome.remarks.push(format!(
        "the print {word} with a half angle found off by {error:+.1} ± {expanded:.1} arc-seconds{then}"
    ));
}

#[cfg(test)]
mod tests {
    use super::*;

    fn print(big: f64, middle: f64, small: f64, options: ContactOptions) -> ContactOutcome {
        let setup = Setup {
            length: Some(Length::from_um(60_000)),
            ..Setup::default()
        };
        let zones = Zones {
            big_percent: big,
            middle_percent: middle,
            small_percent: small,
        };
        outcome(&setup, &options, zones).unwrap()
    }

    /// Two cones that differ by ε, one touching at an edge: the gap at distance s is ε s, and dye goes over where it is less
    /// than the film. What the print says must hold that ε, whatever ε and film.
    #[test]
    fn a_wedge_is_read_back() {
        let (length, third) = (60.0, 20.0);
        for film in [2.0, 3.3, 5.0] {
            for error_arcsec in [-60.0, -30.0, -12.0, -5.0, 0.0, 4.0, 9.0, 15.0, 33.0, 80.0] {
                let angle = Angle::from_arcsec(error_arcsec);
                // From the end that bears; a plug that is steeper than its bore bears at its big end.
                let reach = (film * 1e-3 / angle.rad().abs()).min(length);
                let share = |from: f64| (reach - from).clamp(0.0, third) / third * 100.0;
                let zones = [share(0.0), share(third), share(2.0 * third)];
                let [big, middle, small] = if error_arcsec >= 0.0 {
                    zones
                } else {
                    [zones[2], zones[1], zones[0]]
                };
                let found = ContactOptions {
                    found_arcsec: Some([error_arcsec, 0.01]),
                    ..ContactOptions::default()
                };
                let told = print(big, middle, small, found);
                assert!(
                    told.at_least_arcsec
                        .is_none_or(|least| least <= error_arcsec.abs() + 0.01)
                );
                assert!(
                    told.at_most_arcsec
                        .is_none_or(|most| most >= error_arcsec.abs())
                );
                assert_eq!(
                    told.consistent,
                    Some(true),
                    "{film} {error_arcsec} {told:?}"
                );
            }
        }
    }

    #[test]
    fn a_print_against_what_was_measured() {
        let found = |error, expanded| ContactOptions {
            found_arcsec: Some([error, expanded]),
            ..ContactOptions::default()
        };
        // The big end bears over two thirds: 2 µm in 40 mm, 10.3″ at least, steeper.
        assert_eq!(
            print(90.0, 40.0, 0.0, found(12.0, 1.0)).consistent,
            Some(true)
        );
        assert_eq!(
            print(90.0, 40.0, 0.0, found(9.5, 1.0)).consistent,
            Some(true)
        );
        assert_eq!(
            print(90.0, 40.0, 0.0, found(5.0, 1.0)).consistent,
            Some(false)
        );
        assert_eq!(
            print(90.0, 40.0, 0.0, found(-12.0, 1.0)).consistent,
            Some(false)
        );
        assert_eq!(
            print(0.0, 0.0, 50.0, found(-25.0, 1.0)).consistent,
            Some(true)
        );
        // In a bore the same print means the other way.
        let bore = ContactOptions {
            bore: true,
            ..found(-12.0, 1.0)
        };
        assert_eq!(print(90.0, 40.0, 0.0, bore).consistent, Some(true));
        // Full contact: 5 µm over 20 mm at most.
        assert_eq!(
            print(80.0, 80.0, 80.0, found(40.0, 5.0)).consistent,
            Some(true)
        );
        assert_eq!(
            print(80.0, 80.0, 80.0, found(90.0, 5.0)).consistent,
            Some(false)
        );
        let nowhere = print(0.0, 5.0, 0.0, found(0.0, 1.0));
        assert_eq!(
            (nowhere.bearing, nowhere.consistent),
            (Bearing::Nowhere, None)
        );
        assert!(
            print(50.0, 0.0, 60.0, ContactOptions::default())
                .against
                .is_none()
        );
    }

    #[test]
    fn bad_input_is_told_with_its_domain() {
        let setup = Setup {
            length: Some(Length::from_um(60_000)),
            ..Setup::default()
        };
        let zones = |big_percent| Zones {
            big_percent,
            middle_percent: 0.0,
            small_percent: 0.0,
        };
        let told = |film, percent| {
            let options = ContactOptions {
                film,
                ..ContactOptions::default()
            };
            outcome(&setup, &options, zones(percent)).map_err(|e| e.to_string())
        };
        assert!(told(None, 100.0).is_ok() && told(None, 0.0).is_ok());
        for percent in [-0.1, 100.1, f64::NAN] {
            assert!(told(None, percent).unwrap_err().contains("0 to 100 %"));
        }
        assert!(told(Some([3.0, 3.0]), 50.0).is_ok());
        for film in [
            [0.0, 3.0],
            [3.0, 2.0],
            [f64::NAN, 2.0],
            [2.0, f64::INFINITY],
        ] {
            assert!(told(Some(film), 50.0).unwrap_err().contains("film of dye"));
        }
    }
}
