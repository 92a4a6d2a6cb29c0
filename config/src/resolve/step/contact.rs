//! A contact step: how thick the film of dye is.

use super::Resolve;
use crate::model::Config;
use crate::resolve::text::{bad, positive};
use metrology::Length;
use metrology::setup::Setup;
use protocol::api::Refusal;
use protocol::step::{ContactOptions, ContactPlan};

/// A film thicker than this is paint: what was meant are µm.
const THICKEST_FILM: Length = Length::from_um(100);

impl Resolve for ContactPlan {
    fn resolve(_: &Config, setup: &Setup, options: &ContactOptions) -> Result<Self, Refusal> {
        let known = setup.length.or(setup.taper.as_ref().and_then(|t| t.length));
        if known.is_none() {
            return Err(bad(
                "a contact print needs the length of the taper, and none is stated",
                "state it with the set-up: `--length 30`",
            ));
        }
        Ok(Self {
            film: options.analysis.film.as_deref().map(film).transpose()?,
            // What a step before it found is the session's to say.
            found_arcsec: None,
            bore: options.analysis.bore,
        })
    }
}

/// One thickness, or the thinnest and the thickest.
fn film(text: &str) -> Result<[f64; 2], Refusal> {
    const EXAMPLE: &str = "write it like `3um`, or the thinnest and the thickest like `2um,5um`";
    let each = |text: &str| {
        let value = positive("--film", text, "3um", None)?;
        if value > THICKEST_FILM {
            return Err(bad(
                format!(
                    "--film: {value} is out of range: above 0 µm, to {} µm",
                    THICKEST_FILM.um()
                ),
                EXAMPLE,
            ));
        }
        Ok(value.um())
    };
    let parts: Vec<&str> = text.split([',', ';']).map(str::trim).collect();
    match parts.as_slice() {
        [only] => Ok([each(only)?; 2]),
        [thin, thick] => {
            let film = [each(thin)?, each(thick)?];
            if film[0] > film[1] {
                return Err(bad(
                    format!("--film: `{text}` has the thickest first"),
                    EXAMPLE,
                ));
            }
            Ok(film)
        }
        _ => Err(bad(
            format!("--film: `{text}` has {} thicknesses", parts.len()),
            EXAMPLE,
        )),
    }
}
