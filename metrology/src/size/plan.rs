//! How the wheel goes over the cone: named in the plan, because nobody measures it.

use super::{GrindPlan, SizeError, SizeOptions, SizeOutcome};
use crate::grind::{OVERLAP, cost_at_ends_um, plunges};
use crate::setup::Setup;
use crate::{Angle, Length};

/// The plan, where the wheel's width and the length of the cone are stated.
pub(super) fn tell(
    out: &mut SizeOutcome,
    setup: &Setup,
    options: &SizeOptions,
) -> Result<(), SizeError> {
    let Some(width) = options.wheel_width else {
        return Ok(());
    };
    let taper = setup.taper.as_ref();
    let own = || taper.and_then(|taper| taper.length);
    let Some(length) = setup.length.or_else(own) else {
        let lacking = "no length of the cone is known, so no plunges can be told: state --length";
        out.remarks.push(lacking.into());
        return Ok(());
    };
    let lead_out = options.lead_out.unwrap_or(Length::ZERO);
    let share = options.overlap.unwrap_or(OVERLAP);
    let found = plunges(length + lead_out, width, share)
        .map_err(|error| SizeError::Domain { row: None, error })?;
    let costs = taper.zip(out.half_angle_error_arcsec);
    out.grind = Some(GrindPlan {
        wheel_width_mm: width.mm(),
        plunges_mm: found.at_mm,
        overlap_mm: found.overlap_mm,
        lead_out_mm: options.lead_out.map(Length::mm),
        blend_radius_mm: options.blend_radius.map(Length::mm),
        angle_costs_um: costs.map(|(taper, error)| {
            let error = Angle::from_arcsec(error);
            cost_at_ends_um(taper.half_angle, error, length, Length::ZERO)
        }),
    });
    Ok(())
}
