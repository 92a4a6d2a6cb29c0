//! The tolerance of the part, and whether this part can be judged by it.

use super::text::bad;
use crate::model::Config;
use metrology::Length;
use metrology::setup::Sense;
use metrology::taper::Taper;
use metrology::tolerance::{AtSide, Tolerance};
use protocol::api::Refusal;

/// The tolerance that is stated, or the configuration's where it can be applied.
pub(super) fn tolerance(
    config: &Config,
    text: Option<&str>,
    taper: Option<&Taper>,
    length: Option<Length>,
    sense: Option<Sense>,
) -> Result<Option<Tolerance>, Refusal> {
    let Some(text) = text else {
        // A habit that this part cannot be judged by is no reason to refuse the part.
        return Ok(config
            .tolerance
            .filter(|t| check_tolerance(*t, taper, length, sense).is_ok()));
    };
    let tolerance = text.parse::<Tolerance>().map_err(|e| {
        bad(
            format!("--tolerance: {e}"),
            "write it like `AT4`, `5arcsec` (on the half angle), `2um` (on diameter) or `1um/60mm`",
        )
    })?;
    check_tolerance(tolerance, taper, length, sense)?;
    Ok(Some(tolerance))
}

/// Refuses a tolerance that has no limits for this part.
fn check_tolerance(
    tolerance: Tolerance,
    taper: Option<&Taper>,
    length: Option<Length>,
    sense: Option<Sense>,
) -> Result<(), Refusal> {
    match taper {
        Some(taper) => {
            tolerance.limits(taper.half_angle, length).map_err(|e| {
                bad(
                    format!("--tolerance: {e}"),
                    "state the length of the taper: `--length 30`, or another tolerance",
                )
            })?;
        }
        None if matches!(tolerance, Tolerance::At { .. } | Tolerance::OnDiameter(_)) => {
            return Err(bad(
                format!("--tolerance: `{tolerance}` belongs to a taper, and none is stated"),
                "state it: `--taper 1:12`; or a tolerance of the edge: `1um/60mm`",
            ));
        }
        None => {}
    }
    let to_one_side = matches!(
        tolerance,
        Tolerance::At {
            side: AtSide::Steeper | AtSide::Shallower,
            ..
        }
    );
    if to_one_side && sense.is_none() {
        return Err(bad(
            format!(
                "--tolerance: `{tolerance}` lies to one side, and which way is steeper is not stated"
            ),
            "state which station is nearer the big end and where the indicator stands: \
             `--big-end A --indicator-side wheel`",
        ));
    }
    Ok(())
}
