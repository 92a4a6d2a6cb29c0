//! What the end-to-end tests share, and programs that measure.

pub mod bare;
pub mod by_count;
pub mod chance;
pub mod client;
pub mod clients;
pub mod counted;
pub mod coverage;
pub mod cuts;
pub mod disk;
pub mod hearing;
pub mod kept;
pub mod kills;
pub mod licences;
pub mod measure;
pub mod memory;
pub mod pages;
pub mod port_by_count;
pub mod power;
pub mod process;
pub mod pulse;
pub mod script;
pub mod toolroom;
pub mod year;
