//! The options that state a set-up: the same for `session open` and `analyse`.

use clap::Args;
use protocol::api::SetupOptions;

/// What is stated about the part and how it is held. Texts are read where the set-up is resolved, so that a
/// mistake is answered the same way by the command line, the API and the configuration.
#[derive(Debug, Clone, Default, Args)]
#[command(next_help_heading = "The set-up")]
pub struct SetupArgs {
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

impl From<SetupArgs> for SetupOptions {
    fn from(args: SetupArgs) -> Self {
        Self {
            taper: args.taper,
            length: args.length,
            tolerance: args.tolerance,
            bar: args.bar,
            bar_kind: args.bar_kind,
            bar_constant: args.bar_constant,
            kit: args.kit,
            span: args.span,
            stations: args.stations,
            pass: args.pass,
            fixture: args.fixture,
            pivot: args.pivot,
            big_end: args.big_end,
            indicator_side: args.indicator_side,
            cable: args.cable,
            resolution: args.resolution,
            indicator_error: args.indicator_error,
            repeatability: args.repeatability,
            division: args.division,
            straightness: args.straightness,
            station_error: args.station_error,
            settle_band: args.settle_band,
        }
    }
}
