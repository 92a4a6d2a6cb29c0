//! A mark, what its value is made of, and that value.

use super::place::Place;
use super::reading::{Reading, Time};
use metrology::setup::Station;
use metrology::{Length, Shown};
use serde::{Deserialize, Serialize};

/// What a mark's value is made of.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "from", rename_all = "lowercase")]
pub enum MarkSource {
    /// The settled readings `first_seq..=last_seq` of a cable.
    Dwell {
        /// The cable's name.
        cable: String,
        /// First reading used.
        first_seq: u64,
        /// Last reading used.
        last_seq: u64,
    },
    /// A value that the user typed.
    Typed {
        /// The value.
        #[serde(rename = "value_mm")]
        value: Length,
        /// One unit of the last place typed.
        #[serde(rename = "resolution_mm")]
        resolution: Length,
        /// As it was typed, where that was in a stated unit or in divisions.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        shown: Option<String>,
    },
    /// Nothing but the moment: what a cable sent from then on, or until then, counts.
    Moment {
        /// The cable's name.
        cable: String,
    },
    /// The user's eye; the place holds what it saw.
    Judged,
}

impl MarkSource {
    /// Whether a mark made so has a value.
    #[must_use]
    pub const fn has_value(&self) -> bool {
        matches!(self, Self::Dwell { .. } | Self::Typed { .. })
    }
}

/// The user's word "this one".
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Mark {
    /// Its number within the step, from 1; a number is never used again.
    pub number: u32,
    /// When it was made.
    #[serde(rename = "t_ns")]
    pub t: Time,
    /// Where.
    pub place: Place,
    /// The pass it belongs to, from 1.
    pub round: u32,
    /// Whether the clamp was tight.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub clamped: bool,
    /// Counts the times that clamp or part were changed before it: rounds of different settings are not mixed.
    #[serde(default)]
    pub setting: u32,
    /// What its value is made of.
    pub source: MarkSource,
    /// Taken back by the user; kept, and counted nowhere.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub taken_back: bool,
}

impl Mark {
    /// The station, when it is one.
    #[must_use]
    pub fn station(&self) -> Option<&Station> {
        match &self.place {
            Place::Station(station) => Some(station),
            _ => None,
        }
    }
}

/// The value of a mark: the mean of its settled readings.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct MarkValue {
    /// Mean, mm.
    pub value_mm: f64,
    /// Largest minus smallest, µm.
    pub spread_um: f64,
    /// Standard deviation of a single reading, µm; absent for one reading.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sd_um: Option<f64>,
    /// How many readings.
    pub readings: usize,
    /// One step of the display.
    #[serde(rename = "resolution_mm")]
    pub resolution: Length,
}

impl MarkValue {
    /// The mean of some readings; `None` for none. The sum is exact: whole picometres.
    #[must_use]
    pub fn of<'a>(readings: impl Iterator<Item = &'a Reading> + Clone) -> Option<Self> {
        let all = || readings.clone();
        let first = all().next()?;
        let n = all().count();
        let sum: i128 = all().map(|r| i128::from(r.value.pm())).sum();
        // Deviations from the first reading are small whole numbers: nothing cancels.
        let origin = first.value.pm();
        let offset = all().map(|r| (r.value.pm() - origin) as f64).sum::<f64>() / n as f64;
        let squares: f64 = all()
            .map(|r| ((r.value.pm() - origin) as f64 - offset).powi(2))
            .sum();
        let low = all().map(|r| r.value).min()?;
        let high = all().map(|r| r.value).max()?;
        Some(Self {
            // One division: the mean of what was shown comes out as the nearest decimal.
            value_mm: sum as f64 / (n as f64 * 1e9),
            spread_um: (high - low).um(),
            sd_um: (n > 1).then(|| (squares / (n - 1) as f64).sqrt() * 1e-6),
            readings: n,
            resolution: all().map(|r| r.resolution).max()?,
        })
    }

    /// A typed value: one reading.
    #[must_use]
    pub fn typed(shown: Shown) -> Self {
        Self {
            value_mm: shown.value.mm(),
            spread_um: 0.0,
            sd_um: None,
            readings: 1,
            resolution: shown.resolution,
        }
    }
}

/// A mark as screens list it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct MarkLine {
    /// Its number.
    pub number: u32,
    /// Its station.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub station: Option<String>,
    /// Where or what it is about, in words.
    #[serde(default)]
    pub place: String,
    /// The same as it is stored, for screens that show an angle as an hour of the clock or a plane in a table.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at: Option<Place>,
    /// Its round.
    pub round: u32,
    /// Its value; absent for a moment or a print.
    #[serde(flatten)]
    pub value: Option<MarkValue>,
}
