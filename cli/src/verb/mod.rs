//! The verbs: each turns its arguments into an answer.

mod analyse;
mod cable;
mod card;
mod cautions;
mod configuration;
mod daemon;
mod doctor;
mod export;
pub(crate) mod file;
mod found;
mod history;
mod job;
mod key;
mod log;
mod manual;
mod mark;
mod opening;
mod page;
mod pedal;
mod planned;
mod questions;
mod replay;
mod service;
mod session;
mod stack;
mod status;
mod step;
mod store;
mod supervisor;
mod taper;
mod unknown;
mod verify;
mod wheel;
mod which;
mod written;

use crate::args::{CableVerb, Cli, DaemonVerb, PageVerb, PedalVerb, SessionVerb, Verb};
use crate::client::{Client, block_on};
use crate::keys::Keys;
use crate::{Answer, DemoOptions, Exit, Failure, Paths, demo, watch};
use config::Config;
use metrology::Unit;
use std::ffi::OsStr;
use std::path::Path;
use written::Written;

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
    let unit = global.unit.map(Unit::from);
    // What is wrong with the configuration is told by the daemon; a verb that shows something shows it all the same.
    let written = || match configuration(named_config) {
        Ok(config) => Written::of(unit, &config),
        Err(_) => Written::of(unit, &Config::default()),
    };
    let answer = match cli.verb {
        // These print for themselves, as they go.
        Verb::Demo(options) => return demo::run(&DemoOptions { json, ..options }),
        Verb::Watch if json => Err(Failure::usage(
            "the live view is a screen, and no JSON document",
        )
        .hint("conewright --json status tells the same once")),
        Verb::Watch => {
            let mut config = configuration(named_config)?;
            config.screen.unit = unit.or(config.screen.unit);
            return watch::run(Client::new(&paths()?), &config);
        }
        Verb::Page {
            verb: Some(PageVerb::On(args)),
        } => asking(&paths()?, async |client| page::on(client, &args).await),
        Verb::Page { verb } => page::look_or_close(&paths()?, verb),
        Verb::Session(verb) => {
            let config = match verb {
                SessionVerb::Open { .. }
                | SessionVerb::Job { .. }
                | SessionVerb::Card { .. }
                | SessionVerb::Found { .. } => configuration(named_config)?,
                _ => configuration(named_config).unwrap_or_default(),
            };
            let written = Written::of(unit, &config);
            let (verb, asked) = questions::complete(verb, &config, json)?;
            let answer = asking(&paths()?, async |client| {
                session::run(client, &config, verb, written).await
            });
            answer.map(|answer| match asked {
                Some(asked) => answer.talk(asked),
                None => answer,
            })
        }
        Verb::Step(verb) => asking(&paths()?, async |client| {
            step::run(client, *verb, written()).await
        }),
        Verb::Mark(args) => asking(&paths()?, async |client| {
            mark::mark(client, args, written()).await
        }),
        Verb::Undo => asking(&paths()?, async |client| {
            mark::undo(client, written()).await
        }),
        Verb::Note { text } => asking(&paths()?, async |client| step::note(client, &text).await),
        Verb::Clamp { loosen } => {
            asking(&paths()?, async |client| step::clamp(client, !loosen).await)
        }
        Verb::Ground { not } => asking(&paths()?, async |client| step::ground(client, not).await),
        Verb::Status => asking(&paths()?, async |client| {
            status::run(client, written()).await
        }),
        Verb::Export(args) => {
            let config = configuration(named_config)?;
            let written = Written::of(unit, &config);
            let signer =
                export::signer(&args, &config, written, || Keys::of(named_config, &config))?;
            if args.from.is_some() {
                return export::from_file(&args, written, signer.as_ref())?.print(json);
            }
            asking(&paths()?, async |client| {
                export::run(client, &args, written, signer.as_ref()).await
            })
        }
        Verb::Analyse(analysis) => {
            let config = configuration(named_config)?;
            analyse::run(&config, &analysis, Written::of(unit, &config))
        }
        Verb::Wheel(args) => wheel::run(&args),
        Verb::Verify { file, signed } => verify::run(&file, signed, || {
            Ok(Keys::of(named_config, &configuration(named_config)?)?)
        }),
        Verb::Key(verb) => key::run(
            &Keys::of(named_config, &configuration(named_config)?)?,
            verb,
        ),
        Verb::Stack(args) => {
            let config = configuration(named_config)?;
            stack::run(&config, &args, Written::of(unit, &config))
        }
        Verb::Taper(args) => {
            let config = configuration(named_config)?;
            let style = Written::of(unit, &config).style(None);
            match &args.find {
                None => taper::run(&config, &args.spec.join(" "), style),
                Some(found) => found::stated(&config, found, &args, style),
            }
        }
        Verb::Cable(CableVerb::List) => cable::list(
            &paths()?,
            || configuration(named_config),
            written().style(None),
        ),
        Verb::Cable(CableVerb::Listen {
            cable,
            count,
            seconds,
        }) => {
            let limits = cable::Limits {
                count,
                seconds,
                style: written().style(None),
            };
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
        Verb::Store(verb) => store::run(&paths()?, verb),
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
        Verb::Service(verb) => service::run(&paths()?, verb),
        Verb::Cautions => cautions::run(),
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
