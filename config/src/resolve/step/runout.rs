//! A run-out: where its angles come from, and what is asked for beyond the plain figures.

use super::Resolve;
use crate::model::Config;
use crate::resolve::text::{above_zero, bad, choice, distinct, length, whole};
use metrology::Length;
use metrology::runout;
use metrology::setup::Setup;
use protocol::api::Refusal;
use protocol::step::{AnglesFrom, RunoutOptions, RunoutPlan};

impl Resolve for RunoutPlan {
    fn resolve(_: &Config, setup: &Setup, options: &RunoutOptions) -> Result<Self, Refusal> {
        let angles = choice(
            "--angles",
            options.angles.as_deref(),
            &[
                ("clock", AnglesFrom::Clock),
                ("turns", AnglesFrom::Turns),
                ("steady", AnglesFrom::Steady),
            ],
        )?;
        let by_clock = angles == AnglesFrom::Clock;
        let usual = RunoutPlan::default();
        if !by_clock && options.per_turn.is_some() {
            return Err(bad(
                "`--per-turn` applies only to angles by the clock",
                "write `--angles clock`, or leave `--per-turn` out",
            ));
        }
        if !by_clock && options.reversal {
            return Err(bad(
                "`--reversal` applies only to angles by the clock: both set-ups are read at the same angles",
                "write `--angles clock`, or leave `--reversal` out",
            ));
        }
        let per_turn = options.per_turn.as_deref();
        let per_turn = per_turn
            .map(|text| whole("--per-turn", text, RunoutOptions::PER_TURN, "12"))
            .transpose()?
            .unwrap_or(usual.per_turn);
        let plane = |text: &str| length("--planes", text, "10", None);
        let planes = distinct("--planes", &options.planes, plane)?;
        check_planes(&planes, angles, options.reversal)?;
        let asked = &options.analysis;
        let at_plane = |text: &str| length("--at-planes", text, "60", None);
        let at_planes = distinct("--at-planes", &asked.at_planes, at_plane)?;
        if !at_planes.is_empty() && (planes.len() < 2 || angles == AnglesFrom::Steady) {
            return Err(bad(
                "--at-planes: the run-out elsewhere follows from the axis, which needs two planes whose angles have a common zero",
                "state them: `--planes 5,45`, marked by the clock; in a table the column plane_mm does",
            ));
        }
        if asked.square_to_cone && setup.taper.is_none() {
            return Err(bad(
                "--square-to-cone: the correction needs the taper's half angle, and no taper is stated",
                "state it with the set-up: `--taper 1:12`; or leave `--square-to-cone` out",
            ));
        }
        Ok(Self {
            runout: runout::RunoutOptions {
                filter_upr: asked.filter.as_deref().map(filter).transpose()?,
                reject_outliers: asked.reject_outliers,
                square_to_cone: asked.square_to_cone,
                radius: above_zero("--radius", asked.radius.as_deref(), "20")?,
                harmonics: asked
                    .harmonics
                    .as_deref()
                    .map(|text| {
                        whole("--harmonics", text, RunoutOptions::HARMONICS, "15")
                            .map(|n| n as usize)
                    })
                    .transpose()?,
                limit: above_zero("--limit", asked.limit.as_deref(), "2um")?,
                at_planes_mm: at_planes.into_iter().map(Length::mm).collect(),
            },
            angles,
            per_turn,
            planes,
            reversal: options.reversal,
        })
    }
}

/// Refuses several planes where the readings are of one.
fn check_planes(planes: &[Length], angles: AnglesFrom, reversal: bool) -> Result<(), Refusal> {
    if planes.len() > 1 && angles == AnglesFrom::Turns {
        return Err(bad(
            format!(
                "--planes: turn marks are of one plane, and {} planes are stated",
                planes.len()
            ),
            "open a step for each plane, or mark the planes by the clock: `--angles clock`",
        ));
    }
    if planes.len() > 1 && reversal {
        return Err(bad(
            format!(
                "--planes: a reversal is of one plane, and {} planes are stated",
                planes.len()
            ),
            "open a step for each plane",
        ));
    }
    Ok(())
}

fn filter(text: &str) -> Result<u32, Refusal> {
    whole("--filter", text, RunoutOptions::FILTER_UPR, "50").map_err(|refusal| {
        refusal.hint("undulations per turn, usually 15, 50, 150 or 500: write it like `50`")
    })
}
