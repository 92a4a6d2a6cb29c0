//! A toolroom that the browser tests steer: the real daemon, its live page, and a virtual bench on a pty.
//!
//! One command a line on standard input, one JSON document a line in answer. It ends with its input.
//!
//! `page_bench [UNIT [READINGS [LANGUAGE]]]`: the unit of the screens; how many readings the one session has that is there before
//! the daemon starts, none unless stated; and the language. The store's own code writes that session.

#![allow(clippy::unwrap_used, reason = "a panic is the program's message")]

use conewright_tests::toolroom::{QUICK, Toolroom};
use conewright_tests::year::Year;
use daemon::bench::SetUp;
use serde_json::{Value, json};
use std::io::{BufRead, Write};
use std::time::{SystemTime, UNIX_EPOCH};

fn main() {
    let unit = std::env::args().nth(1).unwrap_or_else(|| "mm".to_owned());
    let language = std::env::args().nth(3).unwrap_or_else(|| "en".to_owned());
    let more = format!(
        "{QUICK}[screen]\nunit = \"{unit}\"\n[document]\nlanguage = \"{language}\"\n[fixture.plate]\n"
    );
    let mut room = Toolroom::with(SetUp::default(), 11, &more);
    let readings = std::env::args().nth(2).map_or(0, |n| n.parse().unwrap());
    if readings > 0 {
        let year = Year {
            sessions: 1,
            readings,
            large: readings,
        };
        let now = SystemTime::now().duration_since(UNIX_EPOCH).unwrap();
        std::fs::create_dir(room.data()).unwrap();
        year.write(&room.data(), i64::try_from(now.as_nanos()).unwrap())
            .unwrap();
    }
    room.start_daemon();
    for line in std::io::stdin().lock().lines() {
        let line = line.unwrap();
        let words: Vec<_> = line.split('\t').collect();
        let answer = obey(&mut room, &words);
        let mut out = std::io::stdout().lock();
        writeln!(out, "{answer}").unwrap();
        out.flush().unwrap();
    }
    room.stop_daemon();
}

fn number(word: &str) -> f64 {
    word.parse().unwrap()
}

fn obey(room: &mut Toolroom, words: &[&str]) -> Value {
    match words {
        ["verb", args @ ..] => return room.json(args),
        ["at", x] => {
            let x = number(x);
            room.at_bench(move |bench| bench.move_to(x));
        }
        ["follow"] => {
            let outcome = room.json(&["status"])["outcome"].clone();
            room.follow(&outcome);
        }
        // At once: the next reading shows it. The answer is the time of it.
        ["jump", x] => {
            let x = number(x);
            room.cable.bench(move |bench| bench.move_to(x)).unwrap();
            let now = SystemTime::now().duration_since(UNIX_EPOCH).unwrap();
            return json!({ "ms": now.as_secs_f64() * 1e3 });
        }
        // What a command line of its own needs to reach this daemon.
        ["reach"] => {
            let command = room.command(&[]);
            let environment = command.get_envs();
            let environment: serde_json::Map<_, _> = environment
                .filter_map(|(name, value)| {
                    let name = name.to_str()?.to_owned();
                    Some((name, Value::from(value?.to_str()?)))
                })
                .collect();
            let words = std::iter::once(command.get_program()).chain(command.get_args());
            let words: Vec<_> = words.map(|word| word.to_str().unwrap()).collect();
            return json!({ "words": words, "environment": environment });
        }
        ["clamp"] => room.at_bench(|bench| bench.clamp()),
        ["loosen"] => room.at_bench(|bench| bench.loosen()),
        ["unplug"] => room.cable.unplug().unwrap(),
        ["plug"] => room.cable.plug().unwrap(),
        ["silence"] => room.cable.silence(true).unwrap(),
        ["speak"] => room.cable.silence(false).unwrap(),
        ["freeze"] => room.freeze_daemon(true),
        ["thaw"] => room.freeze_daemon(false),
        ["kill"] => room.kill_daemon(),
        ["start"] => room.start_daemon(),
        other => panic!("no such command: {other:?}"),
    }
    json!({ "done": true })
}
