//! `taper`: its numbers, or which taper a part has.

use clap::Args;

/// A taper, or what was found of one.
#[derive(Debug, Clone, Default, Args)]
pub struct TaperArgs {
    /// A name, a ratio, or a half angle; a name of your own
    #[arg(num_args = 0.., value_name = "SPEC", conflicts_with = "find")]
    pub spec: Vec<String>,
    /// The half angle that you found on a part, or its ratio: which tapers can it be?
    #[arg(long, value_name = "ANGLE", allow_hyphen_values = true)]
    pub find: Option<String>,
    /// How sure that is, to either side, 95 %: 0.001deg, or 4arcsec
    #[arg(
        long,
        value_name = "ANGLE",
        requires = "find",
        allow_hyphen_values = true
    )]
    pub uncertainty: Option<String>,
    /// The part's diameter at its big end
    #[arg(
        long,
        value_name = "LENGTH",
        requires = "find",
        allow_hyphen_values = true
    )]
    pub diameter: Option<String>,
    /// The length that is to be ground; that of the wanted taper unless stated
    #[arg(
        long,
        value_name = "LENGTH",
        requires = "find",
        allow_hyphen_values = true
    )]
    pub length: Option<String>,
    /// The part is a bore
    #[arg(long, requires = "find")]
    pub bore: bool,
    #[command(flatten)]
    pub regrind: RegrindArgs,
}

/// What a part is to become.
#[derive(Debug, Clone, Default, Args)]
pub struct RegrindArgs {
    /// The taper to regrind the part to: what must come off, and whether it cleans up
    #[arg(long, value_name = "SPEC")]
    pub to: Option<String>,
    /// The least that is to come off everywhere, on diameter, so that the surface cleans up; 0.02 mm unless stated (common
    /// practice)
    #[arg(
        long,
        value_name = "LENGTH",
        requires = "to",
        allow_hyphen_values = true
    )]
    pub clean_up: Option<String>,
    /// The diameter at the big end afterwards; the largest that cleans up unless stated
    #[arg(
        long,
        value_name = "LENGTH",
        requires = "to",
        conflicts_with = "clean_up",
        allow_hyphen_values = true
    )]
    pub to_diameter: Option<String>,
}
