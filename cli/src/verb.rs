//! The verbs: each turns its arguments into an answer.

use crate::args::{Cli, Verb};
use crate::client::Client;
use crate::{Exit, Failure, Paths, demo, watch};

/// Does what the command line says.
pub fn run(cli: Cli) -> Result<Exit, Failure> {
    let global = cli.global;
    let paths = || {
        Paths::resolve(
            global.config.as_deref(),
            global.data.as_deref(),
            global.socket.as_deref(),
            |name| std::env::var_os(name),
        )
    };
    match cli.verb {
        Verb::Demo(options) => demo::run(&crate::DemoOptions {
            json: global.json,
            ..options
        }),
        Verb::Watch => {
            let paths = paths()?;
            let client = Client::new(&paths);
            watch::run(&paths, client)
        }
        _ => Err(Failure::usage("not yet")),
    }
}
