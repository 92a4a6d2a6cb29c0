//! A zero step: what it makes right.

use super::super::{bad, length, positive};
use super::{Resolve, one_of};
use crate::model::Config;
use metrology::setup::Setup;
use metrology::wheel::LARGEST_DIAMETER;
use metrology::zero::level::LevelOptions;
use protocol::api::{Refusal, StepOptions};
use protocol::plan::{About, ZeroPlan};

impl Resolve for ZeroPlan {
    fn resolve(_: &Config, _: &Setup, options: &StepOptions) -> Result<Self, Refusal> {
        let about = match options.about.as_deref() {
            Some(text) => one_of(
                "about",
                text,
                &[("angle", About::Angle), ("level", About::Level)],
            )?,
            None => About::Angle,
        };
        let of_level = [
            ("wheel diameter", &options.wheel_diameter),
            ("part diameter", &options.part_diameter),
            ("height", &options.height),
        ];
        if about == About::Angle
            && let Some((what, _)) = of_level.iter().find(|(_, value)| value.is_some())
        {
            return Err(bad(
                format!(
                    "{what}: it tells what a level axis is worth, and this step is about the angle"
                ),
                "add `--about level`, or leave it out",
            ));
        }
        let diameter = |what: &str, text: &Option<String>| {
            let Some(text) = text.as_deref() else {
                return Ok(None);
            };
            let value = positive(what, text, "250", None)?;
            if value <= LARGEST_DIAMETER {
                return Ok(Some(value));
            }
            Err(bad(
                format!("{what}: {value} is out of its domain: above 0 mm, to {LARGEST_DIAMETER}"),
                "a bare number is in mm",
            ))
        };
        Ok(Self {
            about,
            level: LevelOptions {
                wheel: diameter("wheel diameter", &options.wheel_diameter)?,
                part: diameter("part diameter", &options.part_diameter)?,
                height: options
                    .height
                    .as_deref()
                    .map(|text| length("height", text, "0.5", None))
                    .transpose()?,
            },
        })
    }
}
