//! The options of a step: those of `step KIND` alone, and those that `analyse KIND` takes too.
//!
//! Texts are read where the plan is resolved, so that a mistake is answered the same way by the command line and the API.

use clap::Args;
use protocol::api::StepOptions;

/// In which state the part is.
#[derive(Debug, Clone, Default, Args)]
pub struct State {
    /// The part as it came, `found`, or as it goes back, `left`: the record sets them side by side
    #[arg(long = "as", value_name = "STATE")]
    pub condition: Option<String>,
}

/// How a step's readings come, and of what.
#[derive(Debug, Clone, Default, Args)]
pub struct Taking {
    #[command(flatten)]
    pub condition: State,
    /// The cable that gives this step's readings, or `typed`; the session's indicator unless stated
    #[arg(long, value_name = "NAME")]
    pub cable: Option<String>,
}

impl Taking {
    /// States it.
    pub fn state(self, options: &mut StepOptions) {
        options.condition = self.condition.condition;
        options.cable = self.cable;
    }
}

/// What a zero step is about.
#[derive(Debug, Clone, Default, Args)]
#[command(next_help_heading = "The step")]
pub struct ZeroArgs {
    /// What is made right: `angle`, or `level` (over the top: the axis level and at the wheel's centre)
    #[arg(long, value_name = "PURPOSE")]
    pub about: Option<String>,
    /// About level: the wheel's diameter
    #[arg(long, value_name = "DIAMETER", allow_hyphen_values = true)]
    pub wheel: Option<String>,
    /// About level: the part's diameter where it is ground; the taper's gauge diameter unless stated
    #[arg(long, value_name = "DIAMETER", allow_hyphen_values = true)]
    pub part: Option<String>,
    /// About level: how far the axis lies above the wheel's centre at A; 0 unless stated
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    pub height: Option<String>,
}

impl ZeroArgs {
    /// States it.
    pub fn state(self, options: &mut StepOptions) {
        options.about = self.about;
        options.wheel_diameter = self.wheel;
        options.part_diameter = self.part;
        options.height = self.height;
    }
}

/// Where the places of a sweep come from.
#[derive(Debug, Clone, Default, Args)]
#[command(next_help_heading = "The step")]
pub struct SweepPlaces {
    /// Where positions come from: `stations`, `cable` or `feed`
    #[arg(long, value_name = "FROM")]
    pub positions: Option<String>,
    /// The cable that reports the table's position; the configured one unless stated
    #[arg(long, value_name = "NAME")]
    pub position_cable: Option<String>,
}

/// What a sweep does with its points.
#[derive(Debug, Clone, Default, Args)]
#[command(next_help_heading = "The step")]
pub struct SweepArgs {
    /// Cut-off of a Gaussian profile filter for straightness and bow, a length; no filter unless stated
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    pub filter: Option<String>,
    /// Leave flagged outliers out; they are only counted unless asked for
    #[arg(long)]
    pub reject_outliers: bool,
    /// What the slope judges: `setup` (what is swept is right) or `part` (the set-up is right)
    #[arg(long, value_name = "SUBJECT")]
    pub subject: Option<String>,
}

impl SweepArgs {
    /// States it.
    pub fn state(self, options: &mut StepOptions) {
        options.filter = self.filter;
        options.reject_outliers = self.reject_outliers;
        options.subject = self.subject;
    }
}

/// Where the angles of a run-out come from.
#[derive(Debug, Clone, Default, Args)]
#[command(next_help_heading = "The step")]
pub struct RunoutAngles {
    /// Where angles come from: `clock`, `turns` (a mark a turn) or `steady` (found from the readings)
    #[arg(long, value_name = "FROM")]
    pub angles: Option<String>,
    /// Positions of the clock in a turn, 3 to 360; 12 unless stated
    #[arg(long, value_name = "N", allow_hyphen_values = true)]
    pub per_turn: Option<String>,
    /// Planes across the axis, in the order in which they are read: 5,45
    #[arg(
        long,
        value_name = "PLANES",
        value_delimiter = ',',
        allow_hyphen_values = true
    )]
    pub planes: Vec<String>,
    /// Read twice, the second time with the part turned half a turn and the indicator moved across
    #[arg(long)]
    pub reversal: bool,
}

/// What a run-out does with its readings.
#[derive(Debug, Clone, Default, Args)]
#[command(next_help_heading = "The step")]
pub struct RunoutArgs {
    /// Filter of roundness, undulations per turn: usually 15, 50, 150 or 500; no filter unless stated
    #[arg(long, value_name = "UPR", allow_hyphen_values = true)]
    pub filter: Option<String>,
    /// Leave flagged outliers out; they are only counted unless asked for
    #[arg(long)]
    pub reject_outliers: bool,
    /// The indicator stands square to the cone's surface: readings are divided by the cosine of the half angle
    #[arg(long)]
    pub square_to_cone: bool,
    /// The part's radius there: then the circle itself is fitted, for a part far off centre
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    pub radius: Option<String>,
    /// The highest harmonic told; 15 unless stated
    #[arg(long, value_name = "N", allow_hyphen_values = true)]
    pub harmonics: Option<String>,
    /// What the run-out may be, for a verdict
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    pub limit: Option<String>,
    /// Planes at which the run-out of the axis is wanted: 0,60
    #[arg(
        long,
        value_name = "PLANES",
        value_delimiter = ',',
        allow_hyphen_values = true
    )]
    pub at_planes: Vec<String>,
}

impl RunoutArgs {
    /// States it.
    pub fn state(self, options: &mut StepOptions) {
        options.filter = self.filter;
        options.reject_outliers = self.reject_outliers;
        options.square_to_cone = self.square_to_cone;
        options.radius = self.radius;
        options.harmonics = self.harmonics;
        options.limit = self.limit;
        options.at_planes = self.at_planes;
    }
}

/// Where and with what a size is measured.
#[derive(Debug, Clone, Default, Args)]
#[command(next_help_heading = "The step")]
pub struct SizeTools {
    /// Planes of the diameters, from the gauge plane, positive toward the small end: 0,24
    #[arg(
        long,
        value_name = "PLANES",
        value_delimiter = ',',
        allow_hyphen_values = true
    )]
    pub planes: Vec<String>,
    /// Heights of the stacks that the rollers lie on: 0,24
    #[arg(
        long,
        value_name = "HEIGHTS",
        value_delimiter = ',',
        allow_hyphen_values = true
    )]
    pub stacks: Vec<String>,
    /// Diameter of the big ball
    #[arg(long, value_name = "DIAMETER", allow_hyphen_values = true)]
    pub big_ball: Option<String>,
    /// Diameter of the small ball
    #[arg(long, value_name = "DIAMETER", allow_hyphen_values = true)]
    pub small_ball: Option<String>,
}

/// What a size step does with what is measured.
#[derive(Debug, Clone, Default, Args)]
#[command(next_help_heading = "The step")]
pub struct SizeArgs {
    /// How it is measured: `sections`, `stand-off`, `rollers` or `balls`
    #[arg(long, value_name = "WAY")]
    pub by: Option<String>,
    /// Diameter of the two rollers
    #[arg(long, value_name = "DIAMETER", allow_hyphen_values = true)]
    pub rollers: Option<String>,
    /// The cone is a bore
    #[arg(long)]
    pub bore: bool,
    /// The infeed told first: square to the `axis` or to the `cone`
    #[arg(long, value_name = "WAY")]
    pub infeed: Option<String>,
    /// Standard uncertainty of a measured diameter
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    pub diameter_u: Option<String>,
    /// Standard uncertainty of a plane's place
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    pub plane_u: Option<String>,
    /// The part's temperature, degrees Celsius: diameters are then brought to 20
    #[arg(long, value_name = "CELSIUS", allow_hyphen_values = true)]
    pub temperature: Option<String>,
    /// The instrument's temperature, degrees Celsius; 20 unless stated
    #[arg(long, value_name = "CELSIUS", allow_hyphen_values = true)]
    pub instrument_temperature: Option<String>,
    /// Standard uncertainty of the difference of the two temperatures, kelvin
    #[arg(long, value_name = "KELVIN", allow_hyphen_values = true)]
    pub temperature_u: Option<String>,
    /// Linear expansion, µm per metre and kelvin; 11.5 (steel) unless stated
    #[arg(long, value_name = "EXPANSION", allow_hyphen_values = true)]
    pub expansion: Option<String>,
    /// Infeed of one pass
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    pub pass_depth: Option<String>,
    /// Infeed that the passes leave for finishing
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    pub allowance: Option<String>,
}

impl SizeArgs {
    /// States it.
    pub fn state(self, options: &mut StepOptions) {
        options.by = self.by;
        options.rollers = self.rollers;
        options.bore = self.bore;
        options.infeed = self.infeed;
        options.diameter_u = self.diameter_u;
        options.plane_u = self.plane_u;
        options.temperature = self.temperature;
        options.instrument_temperature = self.instrument_temperature;
        options.temperature_u = self.temperature_u;
        options.expansion = self.expansion;
        options.pass_depth = self.pass_depth;
        options.allowance = self.allowance;
    }
}

/// What a print is judged with.
#[derive(Debug, Clone, Default, Args)]
#[command(next_help_heading = "The step")]
pub struct ContactArgs {
    /// Thickness of the film of dye: 3um, or the thinnest and the thickest, 2um,5um (common practice)
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    pub film: Option<String>,
    /// The cone that was dyed is a bore
    #[arg(long)]
    pub bore: bool,
}

impl ContactArgs {
    /// States it.
    pub fn state(self, options: &mut StepOptions) {
        options.film = self.film;
        options.bore = self.bore;
    }
}

/// The known steps of a check.
#[derive(Debug, Clone, Default, Args)]
#[command(next_help_heading = "The step")]
pub struct DialSteps {
    /// The known steps, rising: 0,0.5,1; with a kit, steps that it makes
    #[arg(
        long,
        value_name = "LENGTHS",
        value_delimiter = ',',
        allow_hyphen_values = true
    )]
    pub nominals: Vec<String>,
}

/// What a check is for.
#[derive(Debug, Clone, Copy, Default, Args)]
#[command(next_help_heading = "The step")]
pub struct DialArgs {
    /// Make a correction that every later step applies, with its date
    #[arg(long)]
    pub correct: bool,
}

impl DialArgs {
    /// States it.
    pub const fn state(self, options: &mut StepOptions) {
        options.correct = self.correct;
    }
}
