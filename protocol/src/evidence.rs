//! Evidence: the readings and marks that are stored. Every result is computed from these, again whenever asked.

use crate::api::MarkLine;
use crate::stretch;
use metrology::contact::Zones;
use metrology::dial::Direction;
use metrology::setup::Station;
use metrology::{Angle, Length, Shown};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::fmt;

/// A moment on the daemon's timeline, in nanoseconds.
///
/// The timeline starts at UTC when the daemon first starts after the computer did, and goes on by a steady
/// clock that counts sleep, so differences are right whatever is done to the system's clock, and over a
/// restart of the daemon; from one start of the computer to the next it never goes back.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Serialize, Deserialize,
)]
#[serde(transparent)]
pub struct Time(pub i64);

impl Time {
    /// Seconds from an earlier moment to this one; negative when it is later.
    #[must_use]
    pub fn since_s(self, earlier: Self) -> f64 {
        (self.0 - earlier.0) as f64 * 1e-9
    }

    /// This moment moved by a number of seconds.
    #[must_use]
    pub fn plus_s(self, seconds: f64) -> Self {
        Self(self.0.saturating_add((seconds * 1e9) as i64))
    }
}

/// One value from a cable.
///
/// As JSON an array `[seq, t_ns, value_mm, resolution_mm]`, since a session can hold a million.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(
    into = "(u64, Time, Length, Length)",
    from = "(u64, Time, Length, Length)"
)]
pub struct Reading {
    /// Counts the cable's readings since the daemon started the session's evidence; never used twice in a step.
    pub seq: u64,
    /// When the bytes that ended it were read.
    pub t: Time,
    /// The value, sign and scale of the cable applied.
    pub value: Length,
    /// One step of the last place shown.
    pub resolution: Length,
}

impl From<Reading> for (u64, Time, Length, Length) {
    fn from(r: Reading) -> Self {
        (r.seq, r.t, r.value, r.resolution)
    }
}

impl From<(u64, Time, Length, Length)> for Reading {
    fn from((seq, t, value, resolution): (u64, Time, Length, Length)) -> Self {
        Self {
            seq,
            t,
            value,
            resolution,
        }
    }
}

/// Where or what a mark is about.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "at", rename_all = "lowercase")]
pub enum Place {
    /// A station on the travel.
    Station(Station),
    /// An angle of the part about its axis.
    Angle {
        /// The angle.
        #[serde(rename = "angle_deg")]
        angle: Angle,
        /// The plane across the axis, where several are read.
        #[serde(rename = "plane_mm", default, skip_serializing_if = "Option::is_none")]
        plane: Option<Length>,
    },
    /// The line on the turning part comes by.
    Turn {
        /// The plane across the axis.
        #[serde(rename = "plane_mm", default, skip_serializing_if = "Option::is_none")]
        plane: Option<Length>,
    },
    /// A stretch whose readings all count begins.
    Begin {
        /// Where on the travel, when the feed from here on is steady.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        station: Option<Station>,
        /// The plane across the axis, when the part turns.
        #[serde(rename = "plane_mm", default, skip_serializing_if = "Option::is_none")]
        plane: Option<Length>,
    },
    /// And ends.
    End {
        /// Where on the travel.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        station: Option<Station>,
    },
    /// A plane across the axis, from the gauge plane, positive toward the small end.
    Plane {
        /// Its place.
        #[serde(rename = "plane_mm")]
        plane: Length,
    },
    /// How far the gauge or the mating part stops short of its seat.
    StandOff,
    /// Over two rollers.
    Rollers {
        /// Height of the stacks that they stand on.
        #[serde(rename = "stacks_mm")]
        stacks: Length,
    },
    /// The top of the big ball below the bore's face.
    BigBall,
    /// The top of the small ball below the bore's face.
    SmallBall,
    /// A known step under the indicator.
    Nominal {
        /// The step.
        #[serde(rename = "nominal_mm")]
        nominal: Length,
        /// How it was come to.
        direction: Direction,
    },
    /// A print of marking dye.
    Print(Zones),
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let in_plane = |f: &mut fmt::Formatter<'_>, plane: &Option<Length>| match plane {
            Some(plane) => write!(f, " in plane {plane}"),
            None => Ok(()),
        };
        match self {
            Self::Station(station) => f.write_str(&station.name),
            Self::Angle { angle, plane } => {
                write!(f, "{:.0}°", angle.deg())?;
                in_plane(f, plane)
            }
            Self::Turn { plane } => {
                f.write_str("turn")?;
                in_plane(f, plane)
            }
            Self::Begin { station, plane } => {
                f.write_str("begin")?;
                if let Some(station) = station {
                    write!(f, " at {}", station.name)?;
                }
                in_plane(f, plane)
            }
            Self::End { station } => {
                f.write_str("end")?;
                match station {
                    Some(station) => write!(f, " at {}", station.name),
                    None => Ok(()),
                }
            }
            Self::Plane { plane } => write!(f, "plane {plane}"),
            Self::StandOff => f.write_str("stand-off"),
            Self::Rollers { stacks } => write!(f, "rollers on {stacks}"),
            Self::BigBall => f.write_str("big ball"),
            Self::SmallBall => f.write_str("small ball"),
            Self::Nominal { nominal, direction } => {
                let way = match direction {
                    Direction::Up => "up",
                    Direction::Down => "down",
                };
                write!(f, "{nominal} {way}")
            }
            Self::Print(zones) => write!(
                f,
                "print {} / {} / {} %",
                zones.big_percent, zones.middle_percent, zones.small_percent
            ),
        }
    }
}

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

/// Readings by the name of their cable, each list in order of `seq`.
pub type Readings = BTreeMap<String, Vec<Reading>>;

/// Everything that a step's outcome is computed from.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Evidence {
    /// Every mark, taken back or not, in order.
    pub marks: Vec<Mark>,
    /// The numbers of the marks before which the part was ground, as the user said, rising. The last may be that of a mark
    /// which is not made yet.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub ground_before: Vec<u32>,
    /// The readings stored while the step was open, and those before it that a mark uses.
    pub readings: Readings,
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
    pub fn of(readings: &[Reading]) -> Option<Self> {
        let first = readings.first()?;
        let n = readings.len();
        let sum: i128 = readings.iter().map(|r| i128::from(r.value.pm())).sum();
        // Deviations from the first reading are small whole numbers: nothing cancels.
        let origin = first.value.pm();
        let offset = readings
            .iter()
            .map(|r| (r.value.pm() - origin) as f64)
            .sum::<f64>()
            / n as f64;
        let squares: f64 = readings
            .iter()
            .map(|r| ((r.value.pm() - origin) as f64 - offset).powi(2))
            .sum();
        let low = readings.iter().map(|r| r.value).min()?;
        let high = readings.iter().map(|r| r.value).max()?;
        Some(Self {
            // One division: the mean of what was shown comes out as the nearest decimal.
            value_mm: sum as f64 / (n as f64 * 1e9),
            spread_um: (high - low).um(),
            sd_um: (n > 1).then(|| (squares / (n - 1) as f64).sqrt() * 1e-6),
            readings: n,
            resolution: readings.iter().map(|r| r.resolution).max()?,
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

impl Evidence {
    /// The marks that count and are of the state that the part was in last.
    pub fn of_last_state(&self) -> impl Iterator<Item = &Mark> {
        let last = self.marks.iter().rfind(|mark| !mark.taken_back);
        let from = last.and_then(|last| {
            let before = |number: &&u32| **number <= last.number;
            self.ground_before.iter().rfind(before).copied()
        });
        let marks = self.marks.iter().filter(|mark| !mark.taken_back);
        marks.filter(move |mark| from.is_none_or(|from| mark.number >= from))
    }

    /// Whether the part was ground, and nothing was marked since.
    #[must_use]
    pub fn is_ground_since(&self) -> bool {
        let last = self.marks.iter().rfind(|mark| !mark.taken_back);
        match (self.ground_before.last(), last) {
            (Some(ground), Some(last)) => *ground > last.number,
            _ => false,
        }
    }

    /// The first mark that is of this round in the last state of the part, from 1: the second mark at a place is of its second
    /// round.
    #[must_use]
    pub fn first_of_round(&self, round: u32) -> Option<u32> {
        let mut places: Vec<(&Place, u32)> = Vec::new();
        self.of_last_state()
            .find(|mark| {
                let index = places.iter().position(|(place, _)| **place == mark.place);
                let seen = match index {
                    Some(index) => &mut places[index].1,
                    None => {
                        places.push((&mark.place, 0));
                        let last = places.len() - 1;
                        &mut places[last].1
                    }
                };
                *seen += 1;
                *seen == round
            })
            .map(|mark| mark.number)
    }

    /// The finest step of a display among the marks that count: a value with fewer digits is one whose last were nought.
    #[must_use]
    pub fn finest(&self) -> Option<Length> {
        let marks = self.marks.iter().filter(|mark| !mark.taken_back);
        marks
            .filter_map(|mark| Some(self.value(mark)?.resolution))
            .min()
    }

    /// The marks that count, with their values, as screens and records list them. A mark whose readings are missing is
    /// not among them.
    #[must_use]
    pub fn lines(&self) -> Vec<MarkLine> {
        let counting = self.marks.iter().filter(|mark| !mark.taken_back);
        let line = |mark: &Mark| {
            let value = self.value(mark);
            (value.is_some() || !mark.source.has_value()).then(|| MarkLine {
                number: mark.number,
                station: mark.station().map(|station| station.name.clone()),
                place: mark.place.to_string(),
                at: Some(mark.place.clone()),
                round: mark.round,
                value,
            })
        };
        counting.filter_map(line).collect()
    }

    /// The coarsest step of a display among what counts: the marks' values, and a cable's readings in the stretches that are
    /// recorded. What was read beside them is in the record as well, and must change nothing.
    #[must_use]
    pub fn coarsest(&self, cable: Option<&str>) -> Option<Length> {
        let counting = || self.marks.iter().filter(|mark| !mark.taken_back);
        // A zero that was typed without decimals shows no step, where another mark does.
        let tells = |mark: &&Mark| !matches!(mark.source, MarkSource::Typed { value, .. } if value == Length::ZERO);
        let any_tells = counting().any(|mark| tells(&mark));
        let of_marks = counting()
            .filter(|mark| !any_tells || tells(mark))
            .filter_map(|mark| Some(self.value(mark)?.resolution));
        let read = cable.and_then(|cable| self.readings.get(cable));
        let read = read.map_or(&[][..], |read| read);
        let last = counting().next_back().map(|mark| mark.t);
        let of_stretches = stretch::of(&self.marks).into_iter().filter_map(|stretch| {
            // Turns have no end mark: the last of them is the last mark.
            let to = stretch.to.or(last)?;
            let from = read.partition_point(|reading| reading.t < stretch.from);
            let end = read.partition_point(|reading| reading.t <= to);
            let within = read.get(from..end)?;
            within.iter().map(|reading| reading.resolution).max()
        });
        of_marks.chain(of_stretches).max()
    }

    /// The value of a mark, from its readings; `None` when they are missing, or when it is a mark without a value.
    #[must_use]
    pub fn value(&self, mark: &Mark) -> Option<MarkValue> {
        match &mark.source {
            MarkSource::Typed { value, resolution } => Some(MarkValue::typed(Shown {
                value: *value,
                resolution: *resolution,
            })),
            MarkSource::Dwell {
                cable,
                first_seq,
                last_seq,
            } => {
                let readings = self.readings.get(cable)?;
                let from = readings.partition_point(|r| r.seq < *first_seq);
                let to = readings.partition_point(|r| r.seq <= *last_seq);
                let used = readings.get(from..to)?;
                // Every reading from first to last must be there, or the mean is of something else.
                let whole = used.first()?.seq == *first_seq && used.last()?.seq == *last_seq;
                whole.then(|| MarkValue::of(used)).flatten()
            }
            MarkSource::Moment { .. } | MarkSource::Judged => None,
        }
    }
}
