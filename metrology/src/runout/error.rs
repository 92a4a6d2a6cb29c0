//! Why a run-out step has no outcome: which row, what, and what is needed.

use crate::Counted;
use crate::domain::Unusable;
use crate::filter::FilterError;
use std::fmt;

/// Why a run-out step has no outcome.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum RunoutError {
    /// A value that cannot be computed with.
    #[error(transparent)]
    Unusable(#[from] Unusable),
    /// An angle outside one turn.
    #[error(
        "an angle of {angle_deg}° is beyond its turn: angles are 0° to 360°, and the next turn begins at 0° again"
    )]
    AngleBeyondTurn {
        /// The row, from 1.
        row: usize,
        /// The angle.
        angle_deg: f64,
    },
    /// A time that is not after the one before it.
    #[error("its time is not after that of the row before; times must rise")]
    TimeOrder {
        /// The row, from 1.
        row: usize,
    },
    /// Fewer readings than the fit has unknowns.
    #[error(
        "{}{}, and a circle needs at least {needed} in different directions",
        At(*plane_mm),
        Counted(*points, "reading")
    )]
    TooFew {
        /// The plane they are at, when planes were given.
        plane_mm: Option<f64>,
        /// How many there are.
        points: usize,
        /// How many are needed.
        needed: usize,
    },
    /// The readings do not go round: fewer than three directions, or all in less than half a turn.
    #[error(
        "{}the readings leave {gap_deg:.0}° of the turn empty: a circle needs at least three directions, with no gap above \
         180°",
        At(*plane_mm)
    )]
    NotRound {
        /// The plane they are at, when planes were given.
        plane_mm: Option<f64>,
        /// The widest gap between neighbouring directions.
        gap_deg: f64,
    },
    /// No period explains the readings.
    #[error(
        "no period explains the readings: the best leaves {:.0} % of their variance; {INSTEAD}",
        unexplained * 100.0
    )]
    NoPeriod {
        /// The share of their variance that the best period leaves.
        unexplained: f64,
    },
    /// The spindle did not turn steadily.
    #[error(
        "the spindle did not turn steadily: its angle strays by {astray_deg:.0}°, as when it is turned by hand; {INSTEAD}"
    )]
    Unsteady {
        /// How far the angle strays from a steady turning.
        astray_deg: f64,
    },
    /// Too little to find a period in.
    #[error(
        "{} cannot tell a turn: at least two turns and {needed} readings are needed",
        Counted(*points, "reading")
    )]
    TooShort {
        /// How many readings there are.
        points: usize,
        /// How many are needed.
        needed: usize,
    },
    /// The marks of the turns do not make turns.
    #[error("{}", no_turns(*marks, *out_of_order))]
    TurnMarks {
        /// How many there are.
        marks: usize,
        /// The mark that is not after the one before it, from 1.
        out_of_order: Option<usize>,
    },
    /// No reading between the first and the last turn mark.
    #[error("none of the {readings} readings came between the first and the last turn mark")]
    OutsideTurns {
        /// How many readings there are.
        readings: usize,
    },
    /// The correction for an indicator square to the cone needs the cone's half angle.
    #[error(
        "an indicator square to the cone reads cos α of the radial movement: state the taper, or leave the correction out"
    )]
    NoTaper,
    /// The filter cannot be used on these readings.
    #[error("filter of {cut_off_upr} undulations per turn: {error}")]
    Filter {
        /// The cut-off.
        cut_off_upr: u32,
        /// Why.
        error: FilterError,
    },
    /// Planes too near each other to tell a tilt.
    #[error(
        "the planes at {first_mm} mm and {second_mm} mm coincide: an axis needs two planes apart"
    )]
    PlanesCoincide {
        /// The first.
        first_mm: f64,
        /// The other.
        second_mm: f64,
    },
    /// A radius at which no part can be.
    #[error("the radius is {radius_mm} mm: it must be larger than the run-out itself")]
    Radius {
        /// The radius.
        radius_mm: f64,
    },
    /// The two set-ups of a reversal were not read at the same angles.
    #[error(
        "row {row} of the turned set-up is at {angle_deg}°, where the first has no reading: both need the same angles"
    )]
    ReversalAngles {
        /// The row of the second set-up, from 1.
        row: usize,
        /// Its angle.
        angle_deg: f64,
    },
}

/// What to do where the readings themselves do not give the angle.
const INSTEAD: &str =
    "turn it by power at a steady speed, or make one mark a turn, or mark clock positions by hand";

struct At(Option<f64>);

impl fmt::Display for At {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0
            .map_or(Ok(()), |plane| write!(f, "plane {plane} mm: "))
    }
}

impl RunoutError {
    /// The row of the table that it is about, from 1; of the turned set-up the message counts them itself.
    #[must_use]
    pub const fn row(&self) -> Option<usize> {
        match self {
            Self::Unusable(Unusable { row, .. })
            | Self::AngleBeyondTurn { row, .. }
            | Self::TimeOrder { row } => Some(*row),
            _ => None,
        }
    }
}

fn no_turns(marks: usize, out_of_order: Option<usize>) -> String {
    match out_of_order {
        None => format!(
            "no turn yet, with {}: one at the start of each turn and one at the end of the last are needed",
            Counted(marks, "mark")
        ),
        Some(mark) => format!("turn mark {mark} is not after the mark before it"),
    }
}
