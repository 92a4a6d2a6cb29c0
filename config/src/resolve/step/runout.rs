//! A run-out: where its angles come from, and what is asked for beyond the plain figures.

use super::{Resolve, bad, distinct, length, one_of, positive, whole};
use crate::model::Config;
use metrology::Length;
use metrology::runout::RunoutOptions;
use metrology::setup::Setup;
use protocol::api::{Refusal, StepOptions};
use protocol::plan::{AnglesFrom, RunoutPlan};

/// A circle needs three places, and a whole degree is as fine as a hand sets one.
const PER_TURN: [u32; 2] = [3, 360];
/// ISO 12181-2 names 15, 50, 150, 500 and 1500; a filter of one undulation would leave nothing but the eccentricity.
const FILTER_UPR: [u32; 2] = [2, 5000];
/// Order 1 is the eccentricity.
const HARMONICS: [u32; 2] = [2, 500];

impl Resolve for RunoutPlan {
    fn resolve(_: &Config, setup: &Setup, options: &StepOptions) -> Result<Self, Refusal> {
        let angles = match options.angles.as_deref() {
            Some(text) => one_of(
                "angles",
                text,
                &[
                    ("clock", AnglesFrom::Clock),
                    ("turns", AnglesFrom::Turns),
                    ("steady", AnglesFrom::Steady),
                ],
            )?,
            None => AnglesFrom::Clock,
        };
        let by_clock = angles == AnglesFrom::Clock;
        let usual = RunoutPlan::default();
        if !by_clock && options.per_turn.is_some() {
            return Err(bad(
                "positions in a turn: they belong to angles by the clock",
                "write `--angles clock`, or leave them out",
            ));
        }
        if !by_clock && options.reversal {
            return Err(bad(
                "reversal: both set-ups are read at the same marked angles, so it needs angles by the clock",
                "write `--angles clock`, or leave it out",
            ));
        }
        let per_turn = options.per_turn.as_deref();
        let per_turn = per_turn
            .map(|text| whole("positions in a turn", text, PER_TURN, "12"))
            .transpose()?
            .unwrap_or(usual.per_turn);
        let plane = |text: &str| length("planes", text, "10", None);
        let planes = distinct("planes", &options.planes, plane)?;
        if planes.len() > 1 && angles == AnglesFrom::Turns {
            return Err(bad(
                format!(
                    "planes: the turn marks of one step belong to one plane, and {} are stated",
                    planes.len()
                ),
                "take each plane in a step of its own, or mark the planes by the clock",
            ));
        }
        if planes.len() > 1 && options.reversal {
            return Err(bad(
                format!(
                    "planes: a reversal tells part and spindle apart in one plane, and {} are stated",
                    planes.len()
                ),
                "take each plane in a step of its own",
            ));
        }
        let at_plane = |text: &str| length("at planes", text, "60", None);
        let at_planes = distinct("at planes", &options.at_planes, at_plane)?;
        if !at_planes.is_empty() && (planes.len() < 2 || angles == AnglesFrom::Steady) {
            return Err(bad(
                "at planes: the run-out elsewhere follows from the axis, and the axis needs two planes with angles of one zero",
                "state them: `--planes 5,45`, marked by the clock; in a table the column plane_mm does",
            ));
        }
        if options.square_to_cone && setup.taper.is_none() {
            return Err(bad(
                "square to the cone: the correction needs the taper's half angle, and none is stated",
                "state it with the set-up: `--taper 1:12`; or leave the correction out",
            ));
        }
        let above_zero = |what: &str, text: &Option<String>, example: &str| {
            text.as_deref()
                .map(|text| positive(what, text, example, None))
                .transpose()
        };
        Ok(Self {
            runout: RunoutOptions {
                filter_upr: options.filter.as_deref().map(filter).transpose()?,
                reject_outliers: options.reject_outliers,
                square_to_cone: options.square_to_cone,
                radius: above_zero("radius", &options.radius, "20")?,
                harmonics: options
                    .harmonics
                    .as_deref()
                    .map(|text| whole("harmonics", text, HARMONICS, "15").map(|n| n as usize))
                    .transpose()?,
                limit: above_zero("limit", &options.limit, "2um")?,
                at_planes_mm: at_planes.into_iter().map(Length::mm).collect(),
            },
            angles,
            per_turn,
            planes,
            reversal: options.reversal,
        })
    }
}

fn filter(text: &str) -> Result<u32, Refusal> {
    whole("filter", text, FILTER_UPR, "50").map_err(|refusal| {
        refusal.hint("undulations per turn, usually 15, 50, 150 or 500: write it like `50`")
    })
}
