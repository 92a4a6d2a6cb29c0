//! Contact by marking dye: where the cone and its mate bear, and what that proves of their half angles.
//!
//! A print is a judgement, not a measurement: it is made by eye, and the thickness of the film is known roughly. What it
//! proves follows from the wedge between two cones. Dye goes over where the gap is less than the film t. Where it stops
//! going over at a distance s from the end that bears, the gap there is t at least, so the half angles differ by at least
//! about t/s. Over the length that printed the gap is no more than t, so they differ by at most t over that length. A print
//! that is heavy at one end leans that way: the cones are nearer to each other there.

mod outcome;

pub use outcome::{Against, AtTolerance, Bearing, ContactOutcome, Heavy, bears};

use crate::setup::Setup;
use crate::{Angle, DomainError, Length};
use serde::{Deserialize, Serialize};

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

/// A zone that printed at most this share of what another did is light beside it. By eye one tells a third less; a
/// convention of this program.
pub const LIGHT_SHARE: f64 = 2.0 / 3.0;

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

/// Why a contact step has no outcome.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ContactError {
    /// A value out of range: which, and the domain.
    #[error(transparent)]
    Domain(#[from] DomainError),
    /// The length over which the cones should bear is not known.
    #[error(
        "a print says nothing of an angle without the length it is on: state the taper's length"
    )]
    NoLength,
}

impl ContactError {
    /// The row of the table that it is about, from 1: none, as the table of a print has one row.
    #[must_use]
    pub const fn row(&self) -> Option<usize> {
        None
    }
}

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
    let film_um = options.film.unwrap_or(USUAL_FILM_UM);
    check(zones, film_um, options.found_arcsec)?;
    let length = setup.taper_length().ok_or(ContactError::NoLength)?;
    if length <= Length::ZERO {
        return Err(DomainError::new("length", length, "above 0 mm").into());
    }
    let (bearing, heavy) = bearing(zones);
    let [at_least, at_most] = bounds(zones, bearing, length.mm() / 3.0, film_um);
    let [thin, thick] = film_um;
    let mut outcome = ContactOutcome {
        zones,
        contact_percent: (zones.big_percent + zones.middle_percent + zones.small_percent) / 3.0,
        bearing,
        heavy,
        against: against(bearing, heavy, options.bore),
        at_least_arcsec: at_least,
        at_most_arcsec: at_most,
        limits_arcsec: limits_arcsec(setup),
        at_tolerance: None,
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
    outcome
        .remarks
        .extend(form(bearing, heavy).map(str::to_owned));
    outcome.at_tolerance = outcome
        .limits_arcsec
        .map(|limits| at_tolerance(outcome.range_arcsec(), limits));
    if outcome.at_tolerance == Some(AtTolerance::ProvesNothing) {
        outcome.remarks.push(
            "the print proves nothing at this tolerance: measure the half angle with a zero or sweep step"
                .to_owned(),
        );
    }
    hold_against(&mut outcome, options);
    Ok(outcome)
}

/// Refuses a percentage, a film or an error found that is out of range.
fn check(
    zones: Zones,
    [thin, thick]: [f64; 2],
    found_arcsec: Option<[f64; 2]>,
) -> Result<(), DomainError> {
    for (what, percent) in [
        ("print at the big end", zones.big_percent),
        ("print in the middle", zones.middle_percent),
        ("print at the small end", zones.small_percent),
    ] {
        if !(0.0..=100.0).contains(&percent) {
            let shown = format_args!("{percent} %");
            return Err(DomainError::new(what, shown, "0 to 100 %"));
        }
    }
    if !(thin > 0.0 && thick >= thin && thick.is_finite()) {
        let shown = format_args!("{thin} to {thick} µm");
        let domain = "above 0 µm, the thinnest first";
        return Err(DomainError::new("film of dye", shown, domain));
    }
    if let Some([error, expanded]) = found_arcsec
        && !(error.is_finite() && expanded >= 0.0 && expanded.is_finite())
    {
        let shown = format_args!("{error} ± {expanded} arc-seconds");
        let domain = "a number, with an uncertainty of 0 or more";
        return Err(DomainError::new("half angle found", shown, domain));
    }
    Ok(())
}

/// Whether the dyed cone is steeper or shallower than its mate, where one end bears. A plug that bears at its big end in a
/// bore is the steeper of the two; seen from the bore it is the other way.
fn against(bearing: Bearing, heavy: Option<Heavy>, bore: bool) -> Option<Against> {
    let big_end = match (bearing, heavy) {
        (Bearing::BigEnd, _) | (Bearing::Full, Some(Heavy::BigEnd)) => true,
        (Bearing::SmallEnd, _) | (Bearing::Full, Some(Heavy::SmallEnd)) => false,
        _ => return None,
    };
    Some(if big_end == bore {
        Against::Shallower
    } else {
        Against::Steeper
    })
}

/// Where the print is, and where it is heavy when dye is in all zones.
fn bearing(zones: Zones) -> (Bearing, Option<Heavy>) {
    let Zones {
        big_percent: big,
        middle_percent: middle,
        small_percent: small,
    } = zones;
    let light = |zone: f64, beside: f64| zone <= LIGHT_SHARE * beside;
    let bearing = match [big, middle, small].map(|percent| percent >= BARE_PERCENT) {
        [true, true, true] => Bearing::Full,
        [true, false, true] => Bearing::Ends,
        [false, true, false] => Bearing::Middle,
        [true, _, false] => Bearing::BigEnd,
        [false, _, true] => Bearing::SmallEnd,
        [false, false, false] => Bearing::Nowhere,
    };
    let heavy = if bearing != Bearing::Full {
        None
    } else if light(middle, big.min(small)) {
        Some(Heavy::Ends)
    } else if light(big.max(small), middle) {
        Some(Heavy::Middle)
    } else if light(small, big) {
        Some(Heavy::BigEnd)
    } else if light(big, small) {
        Some(Heavy::SmallEnd)
    } else {
        None
    };
    (bearing, heavy)
}

/// The least and the most by which the half angles differ, arc-seconds.
///
/// At least: where the dye stops the gap is the film. At most: dye went over at two places of the length, whose gaps are
/// within 0 to the film; they lie as far apart as the share of the zones that printed says, the whole zones between them
/// added.
fn bounds(
    zones: Zones,
    bearing: Bearing,
    third_mm: f64,
    [thin, thick]: [f64; 2],
) -> [Option<f64>; 2] {
    let arcsec = |um: f64, over_mm: f64| Angle::from_rad((um * 1e-3 / over_mm).atan()).arcsec();
    let middle_printed = zones.middle_percent >= BARE_PERCENT;
    // The print reaches to here from the end that bears; beyond it is bare.
    let reach_mm = third_mm * if middle_printed { 2.0 } else { 1.0 };
    let middle = if middle_printed {
        zones.middle_percent / 100.0
    } else {
        0.0
    };
    let ends = (zones.big_percent + zones.small_percent) / 100.0;
    match bearing {
        Bearing::Full | Bearing::Ends => [None, Some(arcsec(thick, third_mm * (1.0 + ends)))],
        Bearing::BigEnd | Bearing::SmallEnd => {
            let end = if bearing == Bearing::BigEnd {
                zones.big_percent
            } else {
                zones.small_percent
            };
            let printed_mm = third_mm * (end / 100.0 + middle);
            [
                Some(arcsec(thin, reach_mm)),
                Some(arcsec(thick, printed_mm)),
            ]
        }
        Bearing::Middle | Bearing::Nowhere => [None, None],
    }
}

/// What the session allows of the half angle, arc-seconds; none where it states no tolerance, or one that needs more.
fn limits_arcsec(setup: &Setup) -> Option<[f64; 2]> {
    setup.taper.as_ref()?;
    setup.limits_arcsec().ok()?
}

fn at_tolerance(range: Option<[f64; 2]>, [lower, upper]: [f64; 2]) -> AtTolerance {
    match range {
        Some([low, high]) if low >= lower && high <= upper => AtTolerance::Within,
        Some([low, high]) if low > upper || high < lower => AtTolerance::Beyond,
        _ => AtTolerance::ProvesNothing,
    }
}

/// What a print says of the form rather than of the angle.
const fn form(bearing: Bearing, heavy: Option<Heavy>) -> Option<&'static str> {
    match (bearing, heavy) {
        (Bearing::Ends, _) | (Bearing::Full, Some(Heavy::Ends)) => Some(
            "heavy at both ends and hollow in the middle: a hollow cone, or a barrelled mate; sweep it for its bow",
        ),
        (Bearing::Middle, _) | (Bearing::Full, Some(Heavy::Middle)) => {
            Some("heavy in the middle: a barrelled cone, or a hollow mate; sweep it for its bow")
        }
        (Bearing::Nowhere, _) => {
            Some("no dye went over: too little dye, or the cones did not meet; this proves nothing")
        }
        _ => None,
    }
}

/// Holds the print against what zero or sweep found. It contradicts where the two ranges do not meet. It agrees where all of
/// what was found makes such a print, and the print could have shown otherwise: it names a side, or is finer than the
/// tolerance.
fn hold_against(outcome: &mut ContactOutcome, options: &ContactOptions) {
    let (Some([error, expanded]), Some([low, high])) =
        (options.found_arcsec, outcome.range_arcsec())
    else {
        return;
    };
    let [from, to] = [error - expanded, error + expanded];
    let telling =
        outcome.against.is_some() || outcome.at_tolerance != Some(AtTolerance::ProvesNothing);
    outcome.consistent = if to < low || from > high {
        Some(false)
    } else {
        (from >= low && to <= high && telling).then_some(true)
    };
    let (word, then) = match outcome.consistent {
        Some(true) => ("agrees with", ""),
        Some(false) => (
            "does not agree with",
            ": check the mate, the film, and that both were clean and cool",
        ),
        None => ("is too rough to be held against", ""),
    };
    outcome.remarks.push(format!(
        "the print {word} a half angle found off by {error:+.1} ± {expanded:.1} arc-seconds{then}"
    ));
}

#[cfg(test)]
mod tests;
