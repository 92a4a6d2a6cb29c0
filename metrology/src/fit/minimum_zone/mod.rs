//! Minimum zones: the two parallel lines, or the two concentric circles, that hold all points and lie closest together.
//!
//! Both are exact, not searched for: the answer comes with the few points that it hangs on, and those prove that no
//! narrower zone exists. Sources: ISO 12780-1 (straightness) and ISO 12181-1 (roundness) for what they are.

mod circle;
mod field;
mod hull;
mod level;
mod line;
mod ordered;

pub use circle::{Ring, circle, limacon, limacon_of_directions};
pub use line::{Strip, line};
