//! Measures what is promised of speed and size beside its yardsticks, and prints one table: `tests/measure [--write] [ROW...]`.
//!
//! With `--write` the table goes into docs/performance.md, and below it which rows were not in this run. Exit status: 0 all that was measured holds, 1 something does
//! not, 2 a row has no such name.

use conewright_tests::measure::{
    BEGIN, END, Held, Line, Machine, ROWS, Row, markdown, put_between, text,
};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;
use std::process::ExitCode;
use std::time::Instant;

fn main() -> ExitCode {
    let mut names: Vec<String> = std::env::args().skip(1).collect();
    let write = names.iter().any(|name| name == "--write");
    names.retain(|name| name != "--write");
    let known = |name: &str| ROWS.iter().any(|row| row.name == name);
    if let Some(unknown) = names.iter().find(|name| !known(name)) {
        eprintln!("error: no row is named `{unknown}`. The rows are:");
        for row in ROWS {
            eprintln!("  {:10} {}", row.name, row.what);
        }
        return ExitCode::from(2);
    }
    let machine = Machine::here();
    println!("{machine}");
    let wanted = |row: &Row| names.is_empty() || names.iter().any(|name| name == row.name);
    let mut lines: Vec<Line> = Vec::new();
    for row in ROWS.into_iter().filter(wanted) {
        let begun = Instant::now();
        let told = measured(row);
        eprint!("{}", text(&told));
        eprintln!(
            "-- {} took {:.0} s",
            row.name,
            begun.elapsed().as_secs_f64()
        );
        lines.extend(told);
    }
    println!("{}", text(&lines));
    let count = |held: fn(&Held) -> bool| lines.iter().filter(|line| held(&line.held)).count();
    let failed = count(|held| *held == Held::No);
    println!(
        "{} hold, {failed} do not, {} were not measured",
        count(|held| *held == Held::Yes),
        count(|held| matches!(held, Held::NotMeasured(_)))
    );
    if write && let Err(why) = into_page(&machine, &lines, &left_out(&names)) {
        eprintln!("error: the table was not written: {why}");
        return ExitCode::FAILURE;
    }
    if failed == 0 {
        ExitCode::SUCCESS
    } else {
        ExitCode::FAILURE
    }
}

/// A row that breaks is a row that does not hold; the others are measured all the same.
fn measured(row: Row) -> Vec<Line> {
    catch_unwind(AssertUnwindSafe(row.run)).unwrap_or_else(|_| {
        vec![Line {
            what: format!("{}: {}", row.name, row.what),
            ours: "broken off, for the reason above".to_owned(),
            yardstick: String::new(),
            ratio: None,
            reach: String::new(),
            held: Held::No,
        }]
    })
}

/// The rows that were not asked for.
fn left_out(asked: &[String]) -> Vec<&'static str> {
    let names = ROWS.into_iter().map(|row| row.name);
    let asked = |name: &str| asked.is_empty() || asked.iter().any(|asked| asked == name);
    names.filter(|name| !asked(name)).collect()
}

fn into_page(machine: &Machine, lines: &[Line], left_out: &[&str]) -> Result<(), String> {
    let page = Path::new(env!("CARGO_MANIFEST_DIR")).join("../docs/performance.md");
    let old = std::fs::read_to_string(&page).map_err(|error| error.to_string())?;
    let day = std::process::Command::new("date").arg("+%F").output();
    let day = day.map_err(|error| error.to_string())?.stdout;
    let mut table = markdown(machine, String::from_utf8_lossy(&day).trim(), lines);
    if !left_out.is_empty() {
        let rows = left_out.join(", ");
        table.push_str(&format!("\nNot in this run: {rows}.\n"));
    }
    let new = put_between(&old, BEGIN, END, &table)
        .ok_or_else(|| format!("the page has not both `{BEGIN}` and `{END}`"))?;
    std::fs::write(page, new).map_err(|error| error.to_string())
}
