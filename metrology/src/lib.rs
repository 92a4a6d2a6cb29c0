//! The arithmetic of setting and checking a taper.
//!
//! Everything here is a pure function of its arguments: no files, no clock, no environment, no tasks.
//! Lengths are exact ([`Length`], integer picometres) up to the point where something is computed from
//! them; results are floating point and carry their unit in their name.

pub mod blocks;
pub mod contact;
mod counted;
pub mod dial;
pub mod domain;
pub mod filter;
pub mod fit;
pub mod found;
pub mod gauging;
pub mod grind;
pub mod harmonics;
pub mod indicator;
pub mod outliers;
pub mod quantity;
pub mod random;
pub mod runout;
pub mod setting;
pub mod setup;
pub mod size;
mod spread;
pub mod stock;
pub mod sweep;
pub mod taper;
pub mod thermal;
pub mod tolerance;
pub mod uncertainty;
pub mod wheel;
pub mod zero;

pub use counted::Counted;
pub use domain::DomainError;
pub use quantity::{Angle, Length, QuantityError, Shown, Unit};
