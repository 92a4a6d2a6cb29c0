//! What a step tells of the part's own cone.

use metrology::Angle;

/// What a step tells of the part's own cone, whatever it is to become.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct ConeFound {
    /// Its half angle with its expanded uncertainty, where the step tells them.
    pub half_angle: Option<(Angle, Option<Angle>)>,
    /// Planes, mm from the gauge plane, with the diameters measured there, mm.
    pub sections: Vec<[f64; 2]>,
    /// Whether it is a bore, where the step was told.
    pub bore: bool,
}
