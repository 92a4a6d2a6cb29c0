//! The indicator itself: checked on gauge blocks before it is trusted.

mod check;

pub use check::{Correction, IndicatorCheck, IndicatorError};
