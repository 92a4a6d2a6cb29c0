//! A zero step: what it makes right.

use super::Resolve;
use crate::model::Config;
use crate::resolve::text::{bad, choice, length, positive};
use metrology::setup::Setup;
use metrology::wheel::LARGEST_DIAMETER;
use metrology::zero::level::LevelOptions;
use protocol::api::Refusal;
use protocol::step::{About, ZeroOptions, ZeroPlan};

impl Resolve for ZeroPlan {
    fn resolve(_: &Config, _: &Setup, options: &ZeroOptions) -> Result<Self, Refusal> {
        let options = &options.analysis;
        let about = choice(
            "--about",
            options.about.as_deref(),
            &[("angle", About::Angle), ("level", About::Level)],
        )?;
        let of_level = [
            ("--wheel", &options.wheel_diameter),
            ("--part", &options.part_diameter),
            ("--height", &options.height),
        ];
        if about == About::Angle
            && let Some((flag, _)) = of_level.iter().find(|(_, value)| value.is_some())
        {
            return Err(bad(
                format!("`{flag}` applies only to zero steps about level"),
                format!("add `--about level`, or leave `{flag}` out"),
            ));
        }
        let diameter = |flag: &str, text: &Option<String>| {
            let Some(text) = text.as_deref() else {
                return Ok(None);
            };
            let value = positive(flag, text, "250", None)?;
            if value <= LARGEST_DIAMETER {
                return Ok(Some(value));
            }
            Err(bad(
                format!("{flag}: {value} is out of range: above 0 mm, to {LARGEST_DIAMETER}"),
                "a bare number is in mm",
            ))
        };
        Ok(Self {
            about,
            level: LevelOptions {
                wheel: diameter("--wheel", &options.wheel_diameter)?,
                part: diameter("--part", &options.part_diameter)?,
                height: options
                    .height
                    .as_deref()
                    .map(|text| length("--height", text, "0.5", None))
                    .transpose()?,
            },
        })
    }
}
