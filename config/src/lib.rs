//! What a user may set, its loader with good messages, and the shipped tapers, kits and cables.

mod lookup;
pub mod model;
pub mod near;
pub mod shipped;

pub use lookup::check_half_angle;
pub use model::{Cable, Cadence, Config, PortSelector, SerialSettings};
pub use shipped::{shipped_cautions, shipped_kits, shipped_tapers};
