//! A size: how it is measured, how warm, and how what is left is ground.

use super::Resolve;
use crate::model::Config;
use crate::resolve::text::{
    above_zero, bad, choice, distinct, length, not_negative, number, one_of, positive,
};
use metrology::Length;
use metrology::setup::Setup;
use metrology::size::{self, Infeed, Surface, Temperature};
use metrology::thermal::STEEL_UM_PER_M_K;
use protocol::api::Refusal;
use protocol::step::{SizeAnalysis, SizeBy, SizeOptions, SizePlan};

/// A seat counts as at size when at most this is left on diameter, unless stated.
const WITHIN: Length = Length::from_um(2);
const REFERENCE_C: f64 = 20.0;

/// A way of measuring, before its own lengths are read.
#[derive(Clone, Copy, PartialEq)]
enum How {
    Sections,
    StandOff,
    Rollers,
    Balls,
}

impl Resolve for SizePlan {
    fn resolve(_: &Config, setup: &Setup, options: &SizeOptions) -> Result<Self, Refusal> {
        let how = how(options)?;
        check_tools(how, options)?;
        let stated = &options.analysis;
        check_plane_u(how, stated.plane_u.as_deref())?;
        let by = match how {
            How::Sections => SizeBy::Sections,
            How::StandOff => SizeBy::StandOff,
            How::Rollers => SizeBy::Rollers {
                radius: radius("--rollers", stated.rollers.as_deref(), "6")?,
            },
            How::Balls => balls(options)?,
        };
        let needs_the_taper = match how {
            How::StandOff => Some("--by stand-off"),
            How::Rollers => Some("--rollers"),
            How::Sections | How::Balls => None,
        };
        if let Some(what) = needs_the_taper
            && setup.taper.is_none()
        {
            return Err(bad(
                format!("{what}: this needs the taper's half angle, and no taper is stated"),
                "state it with the set-up: `--taper 1:12`",
            ));
        }
        let at = places(how, options)?;
        let pass = above_zero("--pass-depth", stated.pass_depth.as_deref(), "10um")?;
        let allowance = not_negative("--allowance", stated.allowance.as_deref(), "5um")?;
        if allowance.is_some() && pass.is_none() {
            return Err(bad(
                "--allowance: the passes leave it for finishing, and no depth of a pass is stated",
                "state it: `--pass-depth 10um`; or leave `--allowance` out",
            ));
        }
        let within = above_zero("--within", stated.within.as_deref(), "2um")?;
        if within.is_some() && pass.is_none() {
            return Err(bad(
                "--within: it ends the passes, and no depth of a pass is stated",
                "state it: `--pass-depth 10um`; or leave `--within` out",
            ));
        }
        let infeed = choice(
            "--infeed",
            stated.infeed.as_deref(),
            &[("axis", Infeed::Axis), ("cone", Infeed::Cone)],
        )?;
        let bore = stated.bore || how == How::Balls;
        Ok(Self {
            size: size::SizeOptions {
                surface: if bore {
                    Surface::Bore
                } else {
                    Surface::Outside
                },
                infeed,
                diameter_u: above_zero("--diameter-u", stated.diameter_u.as_deref(), "1um")?,
                plane_u: above_zero("--plane-u", stated.plane_u.as_deref(), "0.02")?,
                temperature: temperature(stated)?,
                pass,
                allowance,
                within: within.or(pass.map(|_| WITHIN)),
                ..wheel(stated)?
            },
            by,
            at,
            pooled: true,
        })
    }
}

/// The way that is stated, or that the tools which are stated belong to.
fn how(options: &SizeOptions) -> Result<How, Refusal> {
    let Some(text) = options.analysis.by.as_deref() else {
        let balls = options.big_ball.is_some() || options.small_ball.is_some();
        return Ok(if options.analysis.rollers.is_some() {
            How::Rollers
        } else if balls {
            How::Balls
        } else {
            How::Sections
        });
    };
    one_of(
        "--by",
        text,
        &[
            ("sections", How::Sections),
            ("stand-off", How::StandOff),
            ("rollers", How::Rollers),
            ("balls", How::Balls),
        ],
    )
}

/// Refuses tools of another way of measuring.
fn check_tools(how: How, options: &SizeOptions) -> Result<(), Refusal> {
    let tools = [
        (
            "--rollers",
            options.analysis.rollers.is_some(),
            How::Rollers,
            "rollers",
        ),
        (
            "--big-ball",
            options.big_ball.is_some(),
            How::Balls,
            "balls",
        ),
        (
            "--small-ball",
            options.small_ball.is_some(),
            How::Balls,
            "balls",
        ),
    ];
    if let Some((flag, _, _, way)) = tools
        .iter()
        .find(|(_, stated, of, _)| *stated && *of != how)
    {
        return Err(bad(
            format!("`{flag}` applies only to a size by {way}"),
            format!("leave `{flag}` out, or write `--by {way}`"),
        ));
    }
    if how == How::Rollers && options.analysis.bore {
        return Err(bad(
            "--bore: rollers lie against an outside taper",
            "leave `--bore` out, or measure the bore with two balls: `--by balls`",
        ));
    }
    Ok(())
}

/// Refuses an uncertainty of planes where nothing is measured at planes.
fn check_plane_u(how: How, stated: Option<&str>) -> Result<(), Refusal> {
    let with = match how {
        How::Rollers => "over rollers",
        How::Balls => "with two balls",
        How::Sections | How::StandOff => return Ok(()),
    };
    let Some(u) = stated else {
        return Ok(());
    };
    Err(bad(
        format!("--plane-u: `{u}` is stated, and {with} nothing is measured at planes"),
        "leave `--plane-u` out; `--diameter-u` states the uncertainty of each measured length",
    ))
}

/// The radius of a tool whose diameter is stated.
fn radius(flag: &str, diameter: Option<&str>, example: &str) -> Result<Length, Refusal> {
    let Some(text) = diameter else {
        return Err(bad(
            format!("{flag}: the diameter is not stated"),
            format!("state it: `{flag} {example}`"),
        ));
    };
    let diameter = positive(flag, text, example, None)?;
    Ok(Length::from_pm(diameter.pm() / 2))
}

fn balls(options: &SizeOptions) -> Result<SizeBy, Refusal> {
    let big = radius("--big-ball", options.big_ball.as_deref(), "25")?;
    let small = radius("--small-ball", options.small_ball.as_deref(), "20")?;
    if big <= small {
        return Err(bad(
            format!(
                "--big-ball: its radius of {big} is not above the small ball's of {small}, so they tell no angle"
            ),
            "state diameters, the larger as `--big-ball 25`, the smaller as `--small-ball 20`",
        ));
    }
    Ok(SizeBy::Balls { big, small })
}

/// The planes, or for rollers the heights of the stacks.
fn places(how: How, options: &SizeOptions) -> Result<Vec<Length>, Refusal> {
    let (planes, stacks) = (&options.planes, &options.stacks);
    match how {
        How::Rollers if !planes.is_empty() => Err(bad(
            "`--planes` does not apply over rollers: their stacks have heights above the plate",
            format!(
                "if these are heights, write `--stacks {}`; else leave `--planes` out",
                planes.join(",")
            ),
        )),
        How::Sections | How::StandOff | How::Balls if !stacks.is_empty() => Err(bad(
            "`--stacks` applies only to a size by rollers, and no rollers are stated",
            format!(
                "state the rollers: `--rollers 6 --stacks {}`; or measure diameters at `--planes`",
                stacks.join(",")
            ),
        )),
        How::Sections => distinct("--planes", planes, |text| {
            length("--planes", text, "24", None)
        }),
        How::Rollers => distinct("--stacks", stacks, |text| {
            let height = length("--stacks", text, "24", None)?;
            if height >= Length::ZERO {
                return Ok(height);
            }
            Err(bad(
                format!("--stacks: `{text}` is below zero"),
                "write the heights of the stacks like `0,24`",
            ))
        }),
        How::StandOff | How::Balls if planes.is_empty() => Ok(Vec::new()),
        How::StandOff | How::Balls => Err(bad(
            "`--planes` does not apply to a stand-off or to balls",
            "leave `--planes` out, or measure diameters: `--by sections`",
        )),
    }
}

/// The wheel's width, and what belongs to it; the rest as usual.
fn wheel(stated: &SizeAnalysis) -> Result<size::SizeOptions, Refusal> {
    let wheel_width = above_zero("--wheel-width", stated.wheel_width.as_deref(), "20")?;
    let others = [
        ("--overlap", &stated.overlap),
        ("--lead-out", &stated.lead_out),
        ("--blend-radius", &stated.blend_radius),
    ];
    if let Some((flag, _)) = others.iter().find(|(_, value)| value.is_some())
        && wheel_width.is_none()
    {
        return Err(bad(
            format!("`{flag}` applies only with the width of the wheel"),
            format!("state it: `--wheel-width 20`; or leave `{flag}` out"),
        ));
    }
    let overlap = stated.overlap.as_deref();
    Ok(size::SizeOptions {
        wheel_width,
        overlap: overlap
            .map(|text| number("--overlap", text, SizeOptions::OVERLAP, &[]))
            .transpose()?,
        lead_out: not_negative("--lead-out", stated.lead_out.as_deref(), "2")?,
        blend_radius: not_negative("--blend-radius", stated.blend_radius.as_deref(), "0.5")?,
        ..size::SizeOptions::default()
    })
}

fn temperature(options: &SizeAnalysis) -> Result<Option<Temperature>, Refusal> {
    const CELSIUS: &[&str] = &["°C", "C"];
    let Some(part) = options.temperature.as_deref() else {
        let others = [
            ("--instrument-temperature", &options.instrument_temperature),
            ("--temperature-u", &options.temperature_u),
            ("--expansion", &options.expansion),
        ];
        return match others.iter().find(|(_, value)| value.is_some()) {
            None => Ok(None),
            Some((flag, _)) => Err(bad(
                format!("`{flag}` applies only with the temperature of the part"),
                format!("state it: `--temperature 24`; or leave `{flag}` out"),
            )),
        };
    };
    let or = |flag: &str, text: &Option<String>, domain, unit: &[&str], usual| match text.as_deref()
    {
        Some(text) => number(flag, text, domain, unit),
        None => Ok(usual),
    };
    let difference_u = options.temperature_u.as_deref();
    Ok(Some(Temperature {
        part_c: number("--temperature", part, SizeOptions::WARMTH_C, CELSIUS)?,
        instrument_c: or(
            "--instrument-temperature",
            &options.instrument_temperature,
            SizeOptions::WARMTH_C,
            CELSIUS,
            REFERENCE_C,
        )?,
        u_k: difference_u
            .map(|text| number("--temperature-u", text, SizeOptions::WARMTH_U_K, &["K"]))
            .transpose()?,
        expansion_um_per_m_k: or(
            "--expansion",
            &options.expansion,
            SizeOptions::EXPANSION,
            &["µm/(m·K)", "um/(m.K)"],
            STEEL_UM_PER_M_K,
        )?,
    }))
}
