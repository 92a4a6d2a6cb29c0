//! The machine that a table was measured on.

use std::fmt;
use std::fs;

/// Cores, processor, kernel, and what else it was doing.
#[derive(Debug, Clone, PartialEq)]
pub struct Machine {
    cores: usize,
    processor: String,
    kernel: String,
    load: String,
}

impl Machine {
    /// This one. Its load is that of the last minute before this call.
    #[must_use]
    pub fn here() -> Self {
        let read = |path: &str| fs::read_to_string(path).unwrap_or_default();
        let info = read("/proc/cpuinfo");
        let model = info
            .lines()
            .find(|line| line.starts_with("model name"))
            .and_then(|line| line.split_once(':'));
        Self {
            cores: std::thread::available_parallelism().map_or(0, usize::from),
            processor: model.map_or("not told".to_owned(), |(_, name)| name.trim().to_owned()),
            kernel: read("/proc/sys/kernel/osrelease").trim().to_owned(),
            load: read("/proc/loadavg")
                .split(' ')
                .next()
                .unwrap_or_default()
                .to_owned(),
        }
    }
}

impl fmt::Display for Machine {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "{} cores, {}, Linux {}, load before {}",
            self.cores, self.processor, self.kernel, self.load
        )
    }
}
