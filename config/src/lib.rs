//! What a user may set, its loader with good messages, and the shipped tapers, kits and cables.

mod decoder;
pub mod find;
pub mod frame;
mod held;
pub mod keys;
pub mod load;
mod lookup;
pub mod model;
pub mod near;
pub mod own;
mod resolve;
pub mod shipped;

pub use held::{Held, held};
pub use load::{ConfigError, Mistake, job_text};
pub use lookup::named_session;
pub use model::{
    Cable, Cadence, Config, Measures, Pedal, PedalAction, PedalSelector, PortSelector,
    SerialSettings,
};
pub use resolve::{Holds, Stated, resolve, resolve_step, stated};
pub use shipped::{shipped_cautions, shipped_kits, shipped_tapers};
