//! The repeatability that set-up and indicator check tell, before any mark is made.

use crate::setup::Setup;

/// A repeatability from outside of the step: the standard deviation of a single mark, mm.
#[derive(Debug, Clone, Copy)]
pub(super) struct Stated {
    pub sd_mm: f64,
    /// Infinite for a plain statement.
    pub dof: f64,
    pub component: &'static str,
}

/// What set-up and indicator check say of the repeatability.
pub(super) fn stated(setup: &Setup) -> Option<Stated> {
    let indicator = &setup.indicator;
    if let Some(sd) = indicator.repeatability {
        return Some(Stated {
            sd_mm: sd.mm(),
            dof: f64::INFINITY,
            component: "repeatability as stated",
        });
    }
    let check = indicator.check.as_ref()?;
    Some(Stated {
        sd_mm: check.repeatability_sd_um? * 1e-3,
        // A check from before they were kept has at least one repeat.
        dof: check.repeatability_degrees_of_freedom.unwrap_or(1.0),
        component: "repeatability by the last check",
    })
}
