//! What a print tells. The names are those of the JSON that `status`, `analyse` and the record give.

use super::Zones;
use serde::{Deserialize, Serialize};

/// Where it bears.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Bearing {
    /// Dye went over in all three zones.
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

/// Where a print is heavy that has dye in all three zones.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Heavy {
    /// At the big end, light at the small end.
    BigEnd,
    /// At the small end, light at the big end.
    SmallEnd,
    /// At both ends, light between them.
    Ends,
    /// In the middle, light at both ends.
    Middle,
}

/// What a print says of the tolerance, the mate taken as right.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum AtTolerance {
    /// Every half angle that makes such a print is within the tolerance.
    Within,
    /// Every one is beyond it.
    Beyond,
    /// Some are within and some beyond: the film is too thick for this tolerance over this length.
    ProvesNothing,
}

impl AtTolerance {
    /// As every screen and page says it.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Within => "within the tolerance, by eye",
            Self::Beyond => "beyond the tolerance, by eye",
            Self::ProvesNothing => "proves nothing at this tolerance",
        }
    }
}

/// Where it bears, as every screen and page says it.
#[must_use]
pub const fn bears(bearing: Bearing, heavy: Option<Heavy>) -> &'static str {
    match (bearing, heavy) {
        (Bearing::Full, None) => "evenly over the whole length",
        (Bearing::Full, Some(Heavy::BigEnd)) => "heavy at the big end, light at the small end",
        (Bearing::Full, Some(Heavy::SmallEnd)) => "heavy at the small end, light at the big end",
        (Bearing::Full, Some(Heavy::Ends)) => "heavy at both ends, hollow in the middle",
        (Bearing::Full, Some(Heavy::Middle)) => "heavy in the middle, light at both ends",
        (Bearing::BigEnd, _) => "at the big end only",
        (Bearing::SmallEnd, _) => "at the small end only",
        (Bearing::Ends, _) => "at both ends, hollow in the middle",
        (Bearing::Middle, _) => "in the middle only",
        (Bearing::Nowhere, _) => "nowhere",
    }
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
    /// Where the print is heavy, when all zones have dye and not alike.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub heavy: Option<Heavy>,
    /// Which cone is steeper, when the print shows it: one end is bare or light.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub against: Option<Against>,
    /// The half angles differ by at least this, when one end is bare.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at_least_arcsec: Option<f64>,
    /// They differ by at most this: the thickest film over the length that printed for certain.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at_most_arcsec: Option<f64>,
    /// What is allowed of the half angle, arc-seconds, steeper positive; absent without a tolerance.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub limits_arcsec: Option<[f64; 2]>,
    /// What the print says of that tolerance; absent without one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at_tolerance: Option<AtTolerance>,
    /// Whether that agrees with what zero or sweep found; absent where nothing was found, or where the print is too rough to
    /// tell.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub consistent: Option<bool>,
    /// The film thickness it was judged with, thinnest and thickest, µm.
    pub film_um: [f64; 2],
    /// What the user should know, in sentences.
    pub remarks: Vec<String>,
}

impl ContactOutcome {
    /// Where it bears, in words.
    #[must_use]
    pub const fn bears(&self) -> &'static str {
        bears(self.bearing, self.heavy)
    }

    /// What the gap is worth as an angle, in words.
    #[must_use]
    pub fn worth(&self) -> String {
        let by = match (self.at_least_arcsec, self.at_most_arcsec) {
            (Some(least), Some(most)) => format!("{least:.1} to {most:.1} arcsec"),
            (None, Some(most)) => format!("up to {most:.1} arcsec"),
            (Some(least), None) => format!("at least {least:.1} arcsec"),
            (None, None) => return "nothing of the half angle".to_owned(),
        };
        match self.against {
            Some(Against::Steeper) => format!("{by} steeper than the mate"),
            Some(Against::Shallower) => format!("{by} shallower than the mate"),
            None => format!("{by} steeper or shallower than the mate"),
        }
    }

    /// The tolerance and what the print says of it, in words.
    #[must_use]
    pub fn beside_tolerance(&self) -> Option<String> {
        let [lower, upper] = self.limits_arcsec?;
        let said = self.at_tolerance?.words();
        Some(if (lower + upper).abs() < 0.05 {
            format!("{said} (± {upper:.1} arcsec)")
        } else {
            format!("{said} ({lower:+.1} to {upper:+.1} arcsec)")
        })
    }

    /// The errors of the half angle that make such a print, arc-seconds, steeper positive, the mate taken as right.
    pub(super) fn range_arcsec(&self) -> Option<[f64; 2]> {
        let least = self.at_least_arcsec.unwrap_or(0.0);
        let most = self.at_most_arcsec?;
        Some(match self.against {
            Some(Against::Steeper) => [least, most],
            Some(Against::Shallower) => [-most, -least],
            None => [-most, most],
        })
    }
}
