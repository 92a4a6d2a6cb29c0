//! Fits: the straight line, and small linear models by least squares.

mod line;
mod linear;

pub use line::{Line, line};
pub use linear::{FitError, LinearFit, linear};
