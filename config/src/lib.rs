//! What a user may set, its loader with good messages, and the shipped tapers, kits and cables.

pub mod model;

pub use model::{Cable, Cadence, Config, PortSelector, SerialSettings};
