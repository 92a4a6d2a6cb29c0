//! Fits: lines, small linear models, circles and limaçons by least squares, and exact minimum zones.

mod circle;
mod directions;
mod limacon;
mod line;
mod linear;
pub mod minimum_zone;

pub use circle::{Circle, circle};
pub use directions::directions;
pub use limacon::{Limacon, LimaconSums, limacon, limacon_of_directions};
pub use line::{Line, Predicted, line};
pub(crate) use linear::Orthogonal;
pub use linear::{FitError, LinearFit, linear};
