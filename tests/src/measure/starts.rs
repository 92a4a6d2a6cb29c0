//! A verb as a whole process, beside a small program that does next to nothing.

use super::stats::in_turn;
use super::tools::{find, run};
use super::{Line, rounds};
use crate::process::Place;
use std::process::Command;

const ROUNDS: usize = 100;
/// Times the yardstick's time.
const TWICE: f64 = 2.0;

pub(super) fn row() -> Vec<Line> {
    let directory = tempfile::tempdir().unwrap();
    let place = Place::new(directory.path(), "");
    let daemon = place.start();
    let sqlite = find("sqlite3", "sqlite3");
    let lines = ["taper", "status"]
        .into_iter()
        .map(|verb| {
            let what = format!("`conewright {verb}`, the whole process");
            let sqlite = match &sqlite {
                Ok(sqlite) => sqlite,
                Err(why) => return Line::missing(what, why.clone()),
            };
            let [ours, theirs] = in_turn(
                rounds(ROUNDS),
                || run(&mut place.command(&[verb])),
                || run(Command::new(sqlite).args([":memory:", "select 1"])),
            );
            let (ours, theirs) = (ours.median(), theirs.median());
            Line::told(what, format!("{ours:.2} ms"))
                .beside(format!("sqlite3 {theirs:.2} ms"), ours / theirs)
                .reach("under twice", ours < TWICE * theirs)
        })
        .collect();
    daemon.stop();
    lines
}
