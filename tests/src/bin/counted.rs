//! Does a piece of work so many times, for `tests/counts`: `counted NAME TIMES`. Without arguments it lists the pieces, each with the
//! number of times to count with.

use conewright_tests::counted::PIECES;
use std::process::ExitCode;

fn main() -> ExitCode {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let [name, times] = &arguments[..] else {
        for piece in PIECES {
            println!("{} {}", piece.name, piece.times);
        }
        return ExitCode::SUCCESS;
    };
    let piece = PIECES.iter().find(|piece| piece.name == name);
    match (piece, times.parse()) {
        (Some(piece), Ok(times)) => {
            (piece.run)(times);
            ExitCode::SUCCESS
        }
        _ => {
            eprintln!("usage: counted [NAME TIMES]");
            ExitCode::from(2)
        }
    }
}
