//! The grind itself: where the wheel plunges, and how far the next pass goes in, corrected by what the passes before it took.
//!
//! Infeeds are on radius, square to the part's axis, unless a name says otherwise; stock is on diameter, so an infeed of 10 µm takes
//! 20 µm of it. On a machine whose table is swung by the half angle the wheel head slides square to the cone's surface: there an
//! infeed `a` takes `2 a / cos α` off the diameter, by the right triangle between axis and surface.

use crate::domain::DomainError;
use crate::{Angle, Length};
use serde::{Deserialize, Serialize};

/// Where a wheel plunges that is narrower than the cone is long.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Plunges {
    /// The middle of the wheel at each plunge, mm along the cone from the big end.
    pub at_mm: Vec<f64>,
    /// By how much neighbours overlap, mm; 0 for a single plunge.
    pub overlap_mm: f64,
}

/// How much of the wheel's width neighbouring plunges overlap at the least unless stated (common practice: a third to a half).
pub const OVERLAP: f64 = 1.0 / 3.0;
/// More plunges than this are a mistake in a unit.
pub const MOST_PLUNGES: usize = 1_000;

/// The fewest plunges of a wheel `width` wide that cover a cone `length` long with at least `overlap` of the width in common. They
/// lie evenly, so that every overlap is the same and no step is left at one end.
///
/// `n = 1 + ⌈(ℓ − b) / (b (1 − o))⌉`.
///
/// # Errors
/// A length or a width that is not above zero, an overlap outside 0 to 0.9, or more than [`MOST_PLUNGES`] plunges.
///
/// ```
/// use conewright_metrology::grind::plunges;
/// let plunges = plunges("30mm".parse()?, "20mm".parse()?, 1.0 / 3.0)?;
/// assert_eq!(plunges.at_mm, [10.0, 20.0]);
/// assert!((plunges.overlap_mm - 10.0).abs() < 1e-12);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn plunges(length: Length, width: Length, overlap: f64) -> Result<Plunges, DomainError> {
    for (what, value) in [("taper length", length), ("wheel width", width)] {
        if value <= Length::ZERO {
            return Err(DomainError::new(what, value, "above 0 mm"));
        }
    }
    if !(0.0..=0.9).contains(&overlap) {
        return Err(DomainError::new(
            "overlap",
            overlap,
            "0 to 0.9 of the wheel's width",
        ));
    }
    let (length, width) = (length.mm(), width.mm());
    if width >= length {
        return Ok(Plunges {
            at_mm: vec![length / 2.0],
            overlap_mm: 0.0,
        });
    }
    // A picometre of room, so that a cone of exactly two steps does not ask for a third.
    let steps = ((length - width - 1e-9) / (width * (1.0 - overlap)))
        .ceil()
        .max(1.0);
    if steps >= MOST_PLUNGES as f64 {
        return Err(DomainError::new(
            "wheel width",
            format_args!("{width} mm"),
            "wide enough for fewer than 1000 plunges",
        ));
    }
    let apart = (length - width) / steps;
    Ok(Plunges {
        at_mm: (0..=steps as u32)
            .map(|n| width / 2.0 + f64::from(n) * apart)
            .collect(),
        overlap_mm: width - apart,
    })
}

/// What a half angle that is off by `error` costs on diameter at both ends, µm, when the size is right at a plane `at` from the
/// big end: positive where the part becomes too large.
///
/// `2 z (tan α − tan(α+ε))`, z from that plane toward the small end.
///
/// ```
/// use conewright_metrology::{Angle, grind::cost_at_ends_um};
/// let [big, small] = cost_at_ends_um("1:12".parse()?, Angle::from_arcsec(5.0), "30mm".parse()?, "0mm".parse()?);
/// assert!(big.abs() < 1e-12 && (small + 1.457).abs() < 1e-3, "a steeper cone is thinner at its small end");
/// # Ok::<(), conewright_metrology::QuantityError>(())
/// ```
#[must_use]
pub fn cost_at_ends_um(half: Angle, error: Angle, length: Length, at: Length) -> [f64; 2] {
    let per = |z: Length| -1e3 * crate::taper::error_on_diameter_mm(half, error, z);
    [per(Length::ZERO - at), per(length - at)]
}

/// A pass that was ground: what it was told, and the size before and after it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct PassDone {
    /// The infeed that the machine was given, µm.
    pub infeed_um: f64,
    /// What was left on diameter before it.
    pub before_um: f64,
    /// And after it.
    pub after_um: f64,
}

/// How passes are to go.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PassRule {
    /// The largest infeed of a pass, µm.
    pub depth_um: f64,
    /// The infeed that roughing leaves for finishing, µm.
    pub allowance_um: f64,
    /// The size counts as reached when at most this is left on diameter, µm. It is never aimed at zero: what is off is off.
    pub within_um: f64,
    /// Expanded uncertainty of what is left on diameter, µm.
    pub expanded_um: f64,
}

/// What comes next.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(tag = "pass", rename_all = "snake_case")]
pub enum NextPass {
    /// A roughing pass of this infeed, µm; what should be left on diameter after it.
    Rough {
        /// The infeed.
        infeed_um: f64,
        /// What should be left on diameter.
        expects_um: f64,
    },
    /// A finishing pass. With little or no infeed it takes off what the machine's spring still holds.
    Finish {
        /// The infeed.
        infeed_um: f64,
        /// What should be left on diameter.
        expects_um: f64,
    },
    /// At size.
    AtSize,
    /// Under size by more than the uncertainty: nothing puts that back.
    TooFar,
}

/// How a machine answers its infeeds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Answer {
    /// What share of the way that the wheel is ahead a pass takes off.
    pub share: f64,
    /// What share of an infeed the wheel wears by.
    pub wear: f64,
    /// By how much the wheel is ahead of the surface after the last pass, µm: what the machine's spring still holds.
    pub lag_um: f64,
}

/// How the machine answers, from the passes of this wheel since it was dressed.
///
/// The wheel stands where the infeeds put it less what the machine gives way and what the wheel wears: before a pass it is ahead of
/// the surface by the lag `Λ` and the infeed `f (1 − w)`, and takes off `k` of that. The rest stays as the next lag. That is the usual
/// first-order model of a machine's spring (S. Malkin, *Grinding Technology*, on the time constant of plunge grinding; from memory).
/// k and w are those of a grid with the least squares of what was taken; without passes nothing gives way.
///
/// ```
/// use conewright_metrology::grind::{PassDone, answer};
/// // It took 16 µm of 20 on diameter: 2 µm of infeed are still held.
/// let found = answer(&[PassDone { infeed_um: 10.0, before_um: 60.0, after_um: 44.0 }]);
/// assert!((found.share - 0.8).abs() < 1e-9 && (found.lag_um - 2.0).abs() < 1e-9);
/// ```
#[must_use]
pub fn answer(done: &[PassDone]) -> Answer {
    let mut best = Answer {
        share: 1.0,
        wear: 0.0,
        lag_um: 0.0,
    };
    if done.is_empty() {
        return best;
    }
    let mut least = f64::INFINITY;
    for wear in (0..=10).map(|hundredths| f64::from(hundredths) / 100.0) {
        for share in (15..=50).map(|fiftieths| f64::from(fiftieths) / 50.0) {
            // Few passes do not tell wear from spring, and a sound wheel wears little.
            let mut squares = WEAR_UNLIKELY * wear * wear;
            let mut lag_um = 0.0;
            for pass in done {
                let ahead = ahead_um(lag_um, pass.infeed_um, wear);
                let taken = share * ahead;
                squares += ((pass.before_um - pass.after_um) / 2.0 - taken).powi(2);
                lag_um = ahead - taken;
            }
            // A picosquare of room, so that of equals the first counts on every machine.
            if squares < least - 1e-12 {
                least = squares;
                best = Answer {
                    share,
                    wear,
                    lag_um,
                };
            }
        }
    }
    best
}

/// By how much the wheel is ahead once it was fed in; drawing it back wears nothing.
fn ahead_um(lag_um: f64, infeed_um: f64, wear: f64) -> f64 {
    lag_um + infeed_um * if infeed_um > 0.0 { 1.0 - wear } else { 1.0 }
}

/// Squares, µm², that a wear of 1 would have to save before it is believed: 0.02 µm² at 3 %.
const WEAR_UNLIKELY: f64 = 22.0;
/// Of what is left, the first finishing pass takes at most this while the machine's spring is not known.
const FIRST_SHARE: f64 = 0.5;

/// The next pass, from what is left on diameter and the passes of this wheel since it was dressed.
///
/// Roughing goes in by `depth_um` until `allowance_um` is left. Finishing aims half the uncertainty above the middle between nothing left and
/// `within_um`, as the machine answered so far. The wheel is never set beyond that aim: if the machine gave back all that it holds, the
/// part would not be under size. Where it is beyond already, the infeed is negative: the wheel is drawn back by that.
///
/// ```
/// use conewright_metrology::grind::{NextPass, PassDone, PassRule, next_pass};
/// let rule = PassRule { depth_um: 10.0, allowance_um: 5.0, within_um: 2.0, expanded_um: 0.6 };
/// let first = next_pass(60.0, &rule, &[]);
/// assert_eq!(first, NextPass::Rough { infeed_um: 10.0, expects_um: 40.0 });
/// // It took 16 µm of 20: the machine gave way, and still holds 2 µm of infeed.
/// let took = PassDone { infeed_um: 10.0, before_um: 60.0, after_um: 44.0 };
/// let NextPass::Rough { expects_um, .. } = next_pass(44.0, &rule, &[took]) else { panic!() };
/// assert!((expects_um - (44.0 - 2.0 * 0.8 * 12.0)).abs() < 1e-9);
/// assert_eq!(next_pass(1.2, &rule, &[took]), NextPass::AtSize);
/// assert_eq!(next_pass(-0.7, &rule, &[took]), NextPass::TooFar);
/// ```
#[must_use]
pub fn next_pass(left_um: f64, rule: &PassRule, done: &[PassDone]) -> NextPass {
    if left_um < -rule.expanded_um {
        return NextPass::TooFar;
    }
    let unsure = rule.expanded_um.min(rule.within_um / 2.0);
    if left_um <= rule.within_um - unsure {
        return NextPass::AtSize;
    }
    let Answer {
        share,
        wear,
        lag_um,
    } = answer(done);
    // What is above the aim is taken off by another pass; what is below stays off. So the aim lies above the middle.
    let aim = (rule.within_um + unsure) / 2.0;
    let farthest = (left_um - aim) / 2.0;
    let infeed = |keep: f64| {
        let ahead = ((left_um - keep) / 2.0 / share).min(farthest);
        (ahead - lag_um).min(rule.depth_um)
    };
    let expects = |infeed_um: f64| left_um - 2.0 * share * ahead_um(lag_um, infeed_um, wear);
    let keep = 2.0 * rule.allowance_um;
    if left_um > keep + rule.expanded_um {
        let infeed_um = infeed(keep);
        return NextPass::Rough {
            infeed_um,
            expects_um: expects(infeed_um),
        };
    }
    let known = if done.is_empty() { FIRST_SHARE } else { 1.0 };
    let infeed_um = infeed(aim) * known;
    NextPass::Finish {
        infeed_um,
        expects_um: expects(infeed_um),
    }
}
