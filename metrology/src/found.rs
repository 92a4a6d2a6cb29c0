//! From what a part is found to be to what it is to become: which tapers a measured half angle can be, and what must come off to
//! grind the part to one of them.

use crate::domain::DomainError;
use crate::stock::Stock;
use crate::taper::{Taper, check_half_angle, error_on_diameter_mm};
use crate::{Angle, Length};
use serde::Serialize;

/// Half angles nearer to each other than this, rad, are one: 0.0002 arc-seconds. Tapers of one ratio are one candidate.
const ONE_ANGLE: f64 = 1e-9;

/// Tapers of one ratio beside a half angle as found.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Candidate {
    /// Every taper of that ratio.
    pub tapers: Vec<String>,
    /// Their half angle.
    #[serde(rename = "half_angle_deg")]
    pub half_angle: Angle,
    /// The `n` of `1:n`.
    pub ratio_n: f64,
    /// Found minus standard half angle: positive where the part is the steeper cone.
    pub off_arcsec: f64,
    /// How far the standard half angle lies outside the interval, 0 within it; absent where the uncertainty is not known.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub outside_by_arcsec: Option<f64>,
}

impl Candidate {
    /// Whether the interval holds it; none where there is no interval.
    #[must_use]
    pub fn within(&self) -> Option<bool> {
        self.outside_by_arcsec.map(|by| by <= 0.0)
    }
}

/// The tapers beside a half angle found with its expanded uncertainty, 95 %; the nearest first, one for each ratio.
///
/// # Errors
/// A half angle that is no cone's, or an uncertainty that is negative or no number.
///
/// ```
/// use conewright_metrology::{Angle, found::candidates, taper::Taper};
/// let two = Taper::from_half_angle("number 2", "1:20.020".parse()?, "ISO 296")?;
/// let one = Taper::from_half_angle("number 1", "1:20.047".parse()?, "ISO 296")?;
/// let (found, uncertainty) = (Angle::from_deg(1.4303), Angle::from_deg(0.0010));
/// let list = candidates(found, Some(uncertainty), [&one, &two])?;
/// assert_eq!(list[0].tapers, ["number 2"]);
/// assert_eq!((list[0].within(), list[1].within()), (Some(true), Some(false)));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn candidates<'a>(
    found: Angle,
    expanded: Option<Angle>,
    tapers: impl IntoIterator<Item = &'a Taper>,
) -> Result<Vec<Candidate>, DomainError> {
    check_half_angle(found)?;
    if let Some(expanded) = expanded.filter(|e| !(e.rad() >= 0.0 && e.rad().is_finite())) {
        return Err(DomainError::new("uncertainty", expanded, "0° or more"));
    }
    let mut list: Vec<Candidate> = Vec::new();
    for taper in tapers {
        let half = taper.half_angle;
        let known = list
            .iter_mut()
            .find(|one| (one.half_angle - half).abs().rad() < ONE_ANGLE);
        if let Some(known) = known {
            known.tapers.push(taper.name.clone());
            continue;
        }
        let off = found - half;
        list.push(Candidate {
            tapers: vec![taper.name.clone()],
            half_angle: half,
            ratio_n: half.ratio_n(),
            off_arcsec: off.arcsec(),
            outside_by_arcsec: expanded.map(|e| (off.abs() - e).arcsec().max(0.0)),
        });
    }
    list.sort_by(|a, b| a.off_arcsec.abs().total_cmp(&b.off_arcsec.abs()));
    Ok(list)
}

/// The `n` of `1:n` at both ends of the interval, the steeper cone first. The upper end is infinite where the interval reaches a
/// cylinder.
///
/// ```
/// use conewright_metrology::{Angle, found::ratio_interval};
/// let [steep, slender] = ratio_interval("1:20.02".parse()?, Angle::from_deg(0.001));
/// assert!((steep - 20.006).abs() < 1e-3 && (slender - 20.034).abs() < 1e-3);
/// # Ok::<(), conewright_metrology::QuantityError>(())
/// ```
#[must_use]
pub fn ratio_interval(found: Angle, expanded: Angle) -> [f64; 2] {
    [found + expanded, found - expanded].map(|end| {
        if end > Angle::ZERO {
            end.ratio_n()
        } else {
            f64::INFINITY
        }
    })
}

/// A cone as found. Planes count from its big end, positive toward the small end.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FoundCone {
    /// Its half angle.
    pub half_angle: Angle,
    /// Its diameter at the big end, mm, when it was measured.
    pub big_end_mm: Option<f64>,
    /// The length that is to be ground.
    pub length: Length,
    /// Whether it is a bore.
    pub bore: bool,
}

/// What it takes to grind a cone as found to a wanted taper.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Regrind {
    /// What comes off at the big end, on diameter. Negative: metal is missing there.
    pub stock_at_big_end_um: f64,
    /// What comes off at the small end, on diameter.
    pub stock_at_small_end_um: f64,
    /// Whether the whole length cleans up: nowhere is metal missing.
    pub cleans_up: bool,
    /// From the end with the larger stock, how much of the length the wheel touches; the whole length where it cleans up.
    pub cleaned_length_mm: f64,
    /// The largest infeed, square to the axis.
    pub infeed_square_to_axis_um: f64,
    /// The largest infeed, square to the cone's surface.
    pub infeed_square_to_cone_um: f64,
    /// The diameter at the big end afterwards.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub big_end_mm: Option<f64>,
    /// The diameter at the small end afterwards.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub small_end_mm: Option<f64>,
    /// Where the wanted taper's gauge diameter then lies, from the big end toward the small end; negative: off the part.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub gauge_plane_mm: Option<f64>,
}

/// What must come off to bring `found` to `wanted`.
///
/// With `to_big_end_mm` the diameter at the big end is given, and the answer says whether the length cleans up. Without it, the
/// least that cleans up comes off: `clean_up` on diameter at the end with less stock. The two cones differ by
/// `2 z (tan α_wanted − tan α_found)` on diameter at z from the big end, so that less stock is always at one of the ends.
///
/// # Errors
/// A half angle that is no cone's, a length that is not above zero, a `clean_up` below zero, a diameter that is not above zero,
/// a given big end without the diameter found there, or a cone that ends in its point.
///
/// ```
/// use conewright_metrology::{Length, found::{FoundCone, regrind}, taper::Taper};
/// let found = FoundCone {
///     half_angle: "1:12.1".parse()?,
///     big_end_mm: Some(40.0),
///     length: "30mm".parse()?,
///     bore: false,
/// };
/// let wanted = Taper::from_half_angle("1:12", "1:12".parse()?, "ISO 1119")?;
/// let least = regrind(&found, &wanted, "0.02mm".parse()?, None)?;
/// // 30/12 − 30/12.1 = 0.0207 mm more must go at the small end.
/// assert!((least.stock_at_big_end_um - 20.0).abs() < 1e-9);
/// assert!((least.stock_at_small_end_um - 40.66).abs() < 0.01);
/// assert!(least.cleans_up && (least.small_end_mm.unwrap() - 37.48).abs() < 1e-9);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn regrind(
    found: &FoundCone,
    wanted: &Taper,
    clean_up: Length,
    to_big_end_mm: Option<f64>,
) -> Result<Regrind, DomainError> {
    let half = check_half_angle(wanted.half_angle)?;
    check_half_angle(found.half_angle)?;
    let length = found.length;
    if length <= Length::ZERO {
        return Err(DomainError::new(
            "length to be ground",
            length,
            "above 0 mm",
        ));
    }
    if clean_up < Length::ZERO {
        return Err(DomainError::new("clean-up", clean_up, "0 mm or more"));
    }
    for diameter in [found.big_end_mm, to_big_end_mm].into_iter().flatten() {
        if !(diameter > 0.0 && diameter.is_finite()) {
            let shown = format_args!("{diameter} mm").to_string();
            return Err(DomainError::new("diameter", shown, "above 0 mm"));
        }
    }
    // A bore grows where a shaft shrinks.
    let side = if found.bore { -1.0 } else { 1.0 };
    let change = side * error_on_diameter_mm(half, found.half_angle - half, length);
    // Positive `change`: the wanted cone is the more slender one, and less stock is at the small end of a shaft.
    let at_big = match (to_big_end_mm, found.big_end_mm) {
        (None, _) => clean_up.mm() + change.max(0.0),
        (Some(to), Some(from)) => side * (from - to),
        (Some(to), None) => {
            let shown = format_args!("{to} mm").to_string();
            return Err(DomainError::new(
                "diameter at the big end",
                shown,
                "given only beside the diameter found there",
            ));
        }
    };
    let at_small = at_big - change;
    let big_end_mm = found.big_end_mm.map(|d| d - side * at_big);
    let small_end_mm = big_end_mm.map(|d| d - 2.0 * length.mm() * half.tan());
    if let Some(small) = small_end_mm.filter(|small| *small <= 0.0) {
        return Err(DomainError::new(
            "small end",
            format_args!("{small} mm"),
            "above 0 mm: the cone ends in its point before its length does",
        ));
    }
    let infeed = Stock::on_diameter(at_big.max(at_small), half)?;
    // A picometre of room: an end to which nothing is to be taken off is clean.
    let cleans_up = at_big.min(at_small) >= -1e-9;
    let touched = at_big.max(at_small) / (at_big - at_small).abs();
    Ok(Regrind {
        stock_at_big_end_um: at_big * 1e3,
        stock_at_small_end_um: at_small * 1e3,
        cleans_up,
        cleaned_length_mm: if cleans_up {
            length.mm()
        } else {
            length.mm() * touched.clamp(0.0, 1.0)
        },
        infeed_square_to_axis_um: infeed.infeed_square_to_axis_mm * 1e3,
        infeed_square_to_cone_um: infeed.infeed_square_to_surface_mm * 1e3,
        big_end_mm,
        small_end_mm,
        gauge_plane_mm: wanted
            .gauge_diameter
            .zip(big_end_mm)
            .map(|(gauge, big)| (big - gauge.mm()) / (2.0 * half.tan())),
    })
}
