//! The verbs: each turns its arguments into an answer.

mod analyse;
mod cable;
mod card;
mod configuration;
mod daemon;
mod doctor;
mod export;
pub(crate) mod file;
mod history;
mod log;
mod manual;
mod mark;
mod page;
mod pedal;
mod replay;
mod session;
mod stack;
mod status;
mod step;
mod store;
mod taper;
mod unknown;
mod verify;
mod wheel;

use crate::args::{CableVerb, Cli, DaemonVerb, PageVerb, PedalVerb, StoreVerb, Verb};
use crate::client::{Client, block_on};
use crate::{Answer, DemoOptions, Exit, Failure, Paths, demo, watch};
use config::Config;
use std::ffi::OsStr;
use std::path::Path;

/// Does what the command line says, and prints the answer.
#[expect(
    clippy::too_many_lines,
    reason = "a line for each verb; the compiler names one that is missing"
)]
pub fn run(cli: Cli) -> Result<Exit, Failure> {
    let global = cli.global;
    let json = global.json;
    let named_config = global.config.as_deref();
    let paths = || {
        Paths::resolve(
            global.config.as_deref(),
            global.data.as_deref(),
            global.socket.as_deref(),
            |name| std::env::var_os(name),
        )
    };
    let answer = match cli.verb {
        // These print for themselves, as they go.
        Verb::Demo(options) => return demo::run(&DemoOptions { json, ..options }),
        Verb::Watch if json => Err(Failure::usage(
            "the live view is a screen, and no JSON document",
        )
        .hint("conewright --json status tells the same once")),
        Verb::Watch => {
            let screen = configuration(named_config)?.screen;
            return watch::run(Client::new(&paths()?), screen);
        }
        Verb::Page {
            verb: Some(PageVerb::On(args)),
        } => asking(&paths()?, async |client| page::on(client, &args).await),
        Verb::Page { verb } => page::look_or_close(&paths()?, verb),
        Verb::Session(verb) => asking(&paths()?, async |client| session::run(client, verb).await),
        Verb::Step(verb) => asking(&paths()?, async |client| step::run(client, *verb).await),
        Verb::Mark(args) => asking(&paths()?, async |client| mark::mark(client, args).await),
        Verb::Undo => asking(&paths()?, mark::undo),
        Verb::Note { text } => asking(&paths()?, async |client| step::note(client, &text).await),
        Verb::Clamp { loosen } => {
            asking(&paths()?, async |client| step::clamp(client, !loosen).await)
        }
        Verb::Ground { not } => asking(&paths()?, async |client| step::ground(client, not).await),
        Verb::Status => asking(&paths()?, status::run),
        Verb::Export(args) => asking(&paths()?, async |client| export::run(client, &args).await),
        Verb::Analyse(verb) => analyse::run(&configuration(named_config)?, &(*verb).into()),
        Verb::Wheel(args) => wheel::run(&args),
        Verb::Verify { file } => verify::run(&file),
        Verb::Stack(args) => stack::run(&configuration(named_config)?, &args),
        Verb::Taper { spec } => taper::run(&configuration(named_config)?, &spec.join(" ")),
        Verb::Cable(CableVerb::List) => cable::list(&paths()?, || configuration(named_config)),
        Verb::Cable(CableVerb::Listen {
            cable,
            count,
            seconds,
        }) => {
            let limits = cable::Limits { count, seconds };
            return cable::listen(&paths()?, cable.as_deref(), &limits, json);
        }
        Verb::Cable(CableVerb::Accept { cable }) => {
            asking(&paths()?, async |client| cable::accept(client, cable).await)
        }
        Verb::Cable(CableVerb::Identify {
            port,
            ask,
            name,
            seconds,
        }) => {
            let (port, name, silent) = (port.as_path(), name.as_str(), json);
            unknown::find(&unknown::Search {
                port,
                ask,
                name,
                seconds,
                silent,
            })
        }
        Verb::Cable(CableVerb::Capture {
            cable,
            file,
            seconds,
        }) => unknown::keep(&configuration(named_config)?, &cable, &file, seconds),
        Verb::Config(verb) => configuration::run(&paths()?, &verb),
        Verb::Store(StoreVerb::Check) => store::check(&paths()?),
        Verb::Store(StoreVerb::Backup { file, force }) => store::backup(&paths()?, &file, force),
        Verb::Cable(CableVerb::Pedal(PedalVerb::List)) => pedal::list(),
        Verb::Doctor {
            rules,
            install,
            root,
        } => {
            let config = configuration(named_config)?;
            if rules {
                doctor::print_rules(&config)
            } else if install {
                doctor::install(&config, &root, named_config)
            } else {
                doctor::look(&config, &paths()?, &root)
            }
        }
        Verb::Cable(CableVerb::Replay {
            file,
            speed,
            repeat,
            link,
            name,
        }) => replay::run(&replay::Playing {
            file: &file,
            speed,
            repeat,
            link,
            name: &name,
            silent: json,
        }),
        Verb::Daemon(DaemonVerb::Run {
            log,
            detached,
            held,
        }) => daemon::run(
            &paths()?,
            daemon::Running {
                log,
                detached,
                held,
            },
        ),
        Verb::Daemon(DaemonVerb::Stop) => daemon::stop(&paths()?),
        Verb::Completions { shell } => manual::completions(shell),
        Verb::Man => manual::page(),
    };
    answer?.print(json)
}

/// Does something that needs the daemon, which is started when none is running.
fn asking(
    paths: &Paths,
    work: impl AsyncFnOnce(Client) -> Result<Answer, Failure>,
) -> Result<Answer, Failure> {
    let client = Client::new(paths);
    block_on(async {
        client.ensure_daemon().await?;
        work(client).await
    })
}

/// The configuration for a verb that needs no daemon, and so none of the other places.
fn configuration(named: Option<&OsStr>) -> Result<Config, Failure> {
    let named = named.filter(|n| !n.is_empty()).map(Path::new);
    match Config::find(named, &|name| std::env::var_os(name)) {
        None => Ok(Config::default()),
        Some(path) => load(&path),
    }
}

fn load(path: &Path) -> Result<Config, Failure> {
    Config::load(path).map_err(|e| Failure::new("bad_configuration", e.to_string()))
}
