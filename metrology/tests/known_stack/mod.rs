//! A stack of which all that matters is what is known of the angle that it sets.

use conewright_metrology::blocks::Stack;

/// Sets so many arc-seconds too much; `u_um` is the standard uncertainty of its height.
pub fn known_stack(error_arcsec: f64, u_um: Option<f64>) -> Stack {
    Stack {
        height: "4.163mm".parse().unwrap(),
        blocks: vec![],
        sum: "4.163mm".parse().unwrap(),
        error_um: 0.0,
        within: true,
        u_um,
        angle_set_deg: None,
        angle_error_arcsec: Some(error_arcsec),
    }
}
