//! `cable`: ports, instruments, and the pedal.

use clap::Subcommand;
use std::path::PathBuf;

/// What `cable` does.
#[derive(Debug, Subcommand)]
pub enum CableVerb {
    /// List the ports of this computer, without opening them, and the cables of the configuration
    List,
    /// Print the readings of a cable as they arrive
    #[command(
        after_help = "Examples:\n  conewright cable listen\n  conewright cable listen bench --count 10"
    )]
    Listen {
        /// The cable; the first in the configuration unless stated
        cable: Option<String>,
        /// End after this many readings
        #[arg(long, value_name = "N")]
        count: Option<u64>,
        /// End after this many seconds
        #[arg(long, value_name = "S")]
        seconds: Option<f64>,
    },
    /// Find out settings and frame of an unknown cable by listening, and print the configuration to keep
    #[command(
        after_help = "Let the indicator send while it listens: move the plunger, or press its key again and again.\n\nExamples:\n  conewright cable identify /dev/ttyUSB0\n  conewright cable identify /dev/ttyUSB0 --ask --name bench"
    )]
    Identify {
        /// The port's path, as `cable list` prints it
        port: PathBuf,
        /// Send the usual requests when the cable is silent: only to something that you know to be a gauge
        #[arg(long)]
        ask: bool,
        /// The name that the cable gets in the configuration
        #[arg(long, default_value = "bench")]
        name: String,
        /// Listen for no longer than this, all settings together
        #[arg(long, value_name = "S", default_value_t = 40.0)]
        seconds: f64,
    },
    /// Go on with another instrument that has taken a cable's place, or with a reading that jumped while the cable was out
    #[command(
        after_help = "Its readings are not used before that. Marks from before and after it are never of one round.\n\nExample:\n  conewright cable accept bench"
    )]
    Accept {
        /// The cable; the indicator's unless stated
        cable: Option<String>,
    },
    /// Keep a cable's raw bytes with their timing, for a test case or a report of a fault
    #[command(
        after_help = "Stop the daemon first: it holds the port.\n\nExample:\n  conewright cable capture bench bench.capture --seconds 10"
    )]
    Capture {
        /// The cable's name in the configuration
        cable: String,
        /// The file to write; it must not exist yet
        file: PathBuf,
        /// End after this many seconds; without it at Ctrl-C
        #[arg(long, value_name = "S")]
        seconds: Option<f64>,
    },
    /// The pedal: a key, keypad or foot switch that marks whatever window has the focus
    #[command(subcommand)]
    Pedal(PedalVerb),
    /// Play a capture into a virtual cable, and print the configuration that listens to it
    #[command(
        after_help = "It begins when somebody opens the virtual cable, and ends by itself when everything was said and read.\n\nExamples:\n  conewright cable replay bench.capture\n  conewright cable replay bench.capture --speed 10 --link bench.port"
    )]
    Replay {
        /// The capture, as `cable capture` writes it
        #[arg(value_name = "FILE")]
        file: PathBuf,
        /// So many times as fast as it was captured, 0.01 to 1000
        #[arg(long, value_name = "X", default_value_t = 1.0)]
        speed: f64,
        /// Begin again at its end, until Ctrl-C
        #[arg(long)]
        repeat: bool,
        /// A name that is kept pointing at the virtual cable
        #[arg(long, value_name = "PATH")]
        link: Option<PathBuf>,
        /// The name that the cable has in the lines for the configuration
        #[arg(long, default_value = "replay")]
        name: String,
    },
}

/// What `cable pedal` does.
#[derive(Debug, Clone, Copy, Subcommand)]
pub enum PedalVerb {
    /// List the input devices of this computer that have keys, without opening them
    #[command(
        after_help = "Keep the one that is yours as [pedal] in the configuration:\n  [pedal]\n  usb = \"1a2c:0027\"\n  keys = { enter = \"mark\", backspace = \"undo\" }"
    )]
    List,
}
