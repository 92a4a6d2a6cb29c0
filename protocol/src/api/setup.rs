//! What is stated of the part and how it is held.

use clap::Args;
use serde::{Deserialize, Serialize};

/// The options of `session open` and `analyse`, as the user wrote them: flags and fields in JSON at once, as those of a step are.
/// The daemon resolves them against its configuration; a bare length is in millimetres.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize, Args)]
#[serde(default)]
#[command(next_help_heading = "The set-up")]
pub struct SetupOptions {
    /// The taper that is wanted: a name, a ratio, a half angle, or a name of your own
    #[arg(long, value_name = "SPEC")]
    pub taper: Option<String>,
    /// The length over which an error is worth something on the part; the taper's own unless stated
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    pub length: Option<String>,
    /// What is allowed: AT4 (of the included angle), 5arcsec (of the half angle), 2um (on diameter), 1um/60mm
    #[arg(long, value_name = "TOLERANCE", allow_hyphen_values = true)]
    pub tolerance: Option<String>,
    /// The bar: a name of your own, or its centre distance; of a tangent bar the radii of its discs, 10/25
    #[arg(long, value_name = "C", allow_hyphen_values = true)]
    pub bar: Option<String>,
    /// What kind of bar it is: sine, hinged or tangent
    #[arg(long, value_name = "KIND")]
    pub bar_kind: Option<String>,
    /// What the stack must have added for this bar
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    pub bar_constant: Option<String>,
    /// The kit of gauge blocks that the stack comes from
    #[arg(long, value_name = "KIT")]
    pub kit: Option<String>,
    /// The distance along the travel from station A to station B
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    pub span: Option<String>,
    /// A further station, NAME=POSITION from A; may be given more than once
    #[arg(long = "station", value_name = "NAME=POSITION")]
    pub stations: Vec<String>,
    /// The order of one round: ABA, or names with blanks between
    #[arg(long, value_name = "STATIONS")]
    pub pass: Option<String>,
    /// The fixture, by name; a new name begins a new one
    #[arg(long, value_name = "NAME")]
    pub fixture: Option<String>,
    /// Where the set-up turns, from A along the travel, when it is known
    #[arg(long, value_name = "POSITION", allow_hyphen_values = true)]
    pub pivot: Option<String>,
    /// The station nearer the taper's big end: A or B
    #[arg(long, value_name = "STATION")]
    pub big_end: Option<String>,
    /// The side on which the indicator touches: wheel or opposite
    #[arg(long, value_name = "SIDE")]
    pub indicator_side: Option<String>,
    /// The cable of the indicator, or `typed`; the first in the configuration unless stated
    #[arg(long, value_name = "NAME")]
    pub cable: Option<String>,
    /// One step of the indicator's display
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    pub resolution: Option<String>,
    /// The indicator's largest error over the span used, to either side
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    pub indicator_error: Option<String>,
    /// How readings at one place repeat: the standard deviation of a single reading
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    pub repeatability: Option<String>,
    /// The size of one division, for readings in divisions
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    pub division: Option<String>,
    /// Straightness of the table's travel over the span, peak to valley
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    pub straightness: Option<String>,
    /// The largest error of a station's place, to either side
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    pub station_error: Option<String>,
    /// The band within which the readings of a mark must lie
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    pub settle_band: Option<String>,
}
