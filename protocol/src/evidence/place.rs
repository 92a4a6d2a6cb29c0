//! What a mark is about.

use metrology::contact::Zones;
use metrology::dial::Direction;
use metrology::setup::Station;
use metrology::{Angle, Length};
use serde::{Deserialize, Serialize};
use std::fmt;

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
