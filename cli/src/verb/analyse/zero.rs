//! A zero step from a table: its rows are marks.

use super::table::Row;
use super::{Column, FromTable, Table, no_outcome};
use crate::Failure;
use crate::args::TableHelp;
use metrology::Length;
use metrology::setup::{Setup, Station};
use metrology::zero::{ZeroMark, ZeroOutcome};
use protocol::evidence::{Evidence, Mark, MarkSource, Place, Reading, Time};
use protocol::step::{Step, ZeroPlan};

impl TableHelp for ZeroPlan {
    const HELP: &'static str =
        "A zero step: columns round, station_mm, reading_mm, and optionally time_s and clamped";
    const EXAMPLES: &'static str = "\
Examples:
  conewright analyse zero rounds.csv --taper 1:12 --length 30 --tolerance 5arcsec --resolution 0.001
  conewright analyse zero top.csv --taper 1:12 --length 30 --about level --wheel 250 --part 40";
}

impl FromTable for ZeroPlan {
    const COLUMNS: &'static [Column] = &[
        Column::needed("round"),
        Column::needed("station_mm"),
        Column::needed("reading_mm"),
        Column::optional("time_s"),
        Column::optional("clamped"),
    ];

    fn read(
        &self,
        table: &Table,
        setup: &Setup,
    ) -> Result<(Vec<ZeroMark>, Option<Length>), Failure> {
        let marks = self.inputs(&evidence(table, setup)?);
        // The marks bring the display's step with them.
        Ok((marks.map_err(|why| table.wrong(why))?, None))
    }

    fn warnings(table: &Table, outcome: &ZeroOutcome) -> Result<Vec<String>, Failure> {
        let alone = of_one_station(table);
        if outcome.rounds.is_empty() {
            let which = alone.first().map_or(String::new(), |(round, line)| {
                format!(": round {round} (from line {line}) has one station only")
            });
            let why = format!("no round has two stations, so there is no slope{which}");
            return Err(no_outcome(table, &why)
                .hint("a round needs readings at two different values of station_mm at least"));
        }
        let left_out = |(round, line)| {
            format!(
                "warning: {}: round {round} (from line {line}) has one station only, so it has no slope and is left out",
                table.name()
            )
        };
        Ok(alone.into_iter().map(left_out).collect())
    }
}

/// The name under which the rows stand as readings.
const TABLE: &str = "table";

/// The rows as marks of one reading each.
///
/// Without `time_s` every mark has the same time, which is how a table says that its times are not known. A
/// change of `clamped` begins a new setting, as it does in a session.
fn evidence(table: &Table, setup: &Setup) -> Result<Evidence, Failure> {
    let cells = table
        .rows()
        .map(|row| row.length("reading_mm"))
        .collect::<Result<Vec<_>, _>>()?;
    // Trailing zeros get lost on the way through a spreadsheet, so that the finest cell shows the display.
    let shown = cells.iter().map(|r| r.resolution).min();
    let resolution = setup
        .indicator
        .resolution
        .or(shown)
        .unwrap_or(Length::from_pm(1));
    let stations = stations(table, setup)?;
    let mut marks: Vec<Mark> = Vec::with_capacity(cells.len());
    let mut readings: Vec<Reading> = Vec::with_capacity(cells.len());
    for ((row, shown), number) in table.rows().zip(&cells).zip(1..) {
        let position = row.length("station_mm")?.value;
        protocol::place::on_travel(setup, position).map_err(|refusal| {
            row.wrong("station_mm", refusal.message)
                .hint(refusal.hint.unwrap_or_default())
        })?;
        let name = stations
            .iter()
            .find(|s| s.position == position)
            .map_or_else(|| position.to_string(), |s| s.name.clone());
        let clamped = row.flag("clamped")?;
        let (setting, was_clamped) = marks
            .last()
            .map_or((0, clamped), |last| (last.setting, last.clamped));
        marks.push(Mark {
            number,
            t: {
                let t = time(table, &row)?;
                not_back(&row, marks.last(), t)?;
                t
            },
            place: Place::Station(Station { name, position }),
            round: row.count("round")?,
            clamped,
            setting: setting + u32::from(clamped != was_clamped),
            source: MarkSource::Dwell {
                cable: TABLE.to_owned(),
                first_seq: readings.len() as u64,
                last_seq: readings.len() as u64,
            },
            taken_back: false,
        });
        readings.push(Reading {
            seq: readings.len() as u64,
            t: marks.last().map_or(Time(0), |mark| mark.t),
            value: shown.value,
            resolution,
        });
    }
    Ok(Evidence {
        ground_before: Vec::new(),
        marks: marks.into(),
        // The rows are readings with the times of measuring, where the table has times.
        readings: [(TABLE.to_owned(), readings.into())].into(),
    })
}

fn time(table: &Table, row: &Row<'_>) -> Result<Time, Failure> {
    const COLUMN: &str = "time_s";
    /// A hundred years; the timeline counts nanoseconds in 64 bits.
    const LONGEST_S: f64 = 3.2e9;
    if !table.has(COLUMN) {
        return Ok(Time(0));
    }
    let seconds = row.number(COLUMN)?;
    if seconds.abs() > LONGEST_S {
        return Err(row.wrong(
            COLUMN,
            format!("{seconds} s is out of range: within a hundred years"),
        ));
    }
    Ok(Time(0).plus_s(seconds))
}

/// Times run forward: a table in which they run back is out of order, or its clock was set.
fn not_back(row: &Row<'_>, before: Option<&Mark>, t: Time) -> Result<(), Failure> {
    let Some(before) = before.filter(|before| t < before.t) else {
        return Ok(());
    };
    let s = |t: Time| t.0 as f64 / 1e9;
    Err(row
        .wrong(
            "time_s",
            format!(
                "{} s is before the {} s of the row before",
                s(t),
                s(before.t)
            ),
        )
        .hint("put the rows in the order of measuring; or leave time_s out"))
}

/// The rounds that have one station only, with the line of their first row.
fn of_one_station(table: &Table) -> Vec<(u32, u64)> {
    let mut rounds: Vec<(u32, u64, Vec<Length>)> = Vec::new();
    for row in table.rows() {
        let (Ok(round), Ok(station)) = (row.count("round"), row.length("station_mm")) else {
            continue;
        };
        let station = station.value;
        match rounds.iter_mut().find(|(number, ..)| *number == round) {
            None => rounds.push((round, row.line(), vec![station])),
            Some((.., stations)) if !stations.contains(&station) => stations.push(station),
            Some(_) => {}
        }
    }
    let alone = rounds
        .into_iter()
        .filter(|(.., stations)| stations.len() == 1);
    alone.map(|(round, line, _)| (round, line)).collect()
}

/// The stations that are stated, or else the places in the table: the first is A, the last is B.
fn stations(table: &Table, setup: &Setup) -> Result<Vec<Station>, Failure> {
    let mut stations = setup.stations.clone();
    let mut places = table
        .rows()
        .map(|row| Ok(row.length("station_mm")?.value))
        .collect::<Result<Vec<Length>, Failure>>()?;
    places.sort_unstable();
    places.dedup();
    let ends = [("A", places.first()), ("B", places.last())];
    for (name, place) in ends {
        if let Some(&position) = place
            && !stations
                .iter()
                .any(|s| s.name == name || s.position == position)
        {
            stations.push(Station {
                name: name.to_owned(),
                position,
            });
        }
    }
    Ok(stations)
}

#[cfg(test)]
mod tests {
    use super::*;
    use protocol::evidence::Marks;

    fn parse(text: &str) -> Result<Table, Failure> {
        Table::parse("t.csv", text, ZeroPlan::COLUMNS)
    }

    fn marks(text: &str, setup: &Setup) -> Marks {
        let table = parse(text).unwrap();
        evidence(&table, setup).unwrap().marks
    }

    #[test]
    fn each_change_of_the_clamp_begins_a_setting() {
        let table = "round,station_mm,reading_mm,clamped\n\
            1,0,0,0\n1,80,0,0\n2,0,0,1\n2,80,0,1\n3,0,0,\n";
        let settings: Vec<(u32, bool)> = marks(table, &Setup::default())
            .iter()
            .map(|m| (m.setting, m.clamped))
            .collect();
        assert_eq!(
            settings,
            [(0, false), (0, false), (1, true), (1, true), (2, false)]
        );
        // A table of a set-up that was clamped from the first has one setting.
        let clamped = "round,station_mm,reading_mm,clamped\n1,0,0,1\n1,80,0,1\n";
        assert!(
            marks(clamped, &Setup::default())
                .iter()
                .all(|m| m.setting == 0)
        );
    }

    #[test]
    fn the_finest_cell_shows_the_display_unless_the_step_is_stated() {
        let table = "round,station_mm,reading_mm\n1,0,0\n1,80,0.0120\n1,0,0.01\n";
        let steps = |setup: &Setup| -> Vec<i64> {
            let table = parse(table).unwrap();
            let evidence = evidence(&table, setup).unwrap();
            let rows = &evidence.readings[TABLE];
            rows.iter().map(|row| row.resolution.pm()).collect()
        };
        assert_eq!(steps(&Setup::default()), [100_000; 3]);
        let mut stated = Setup::default();
        stated.indicator.resolution = Some(Length::from_um(1));
        assert_eq!(steps(&stated), [1_000_000; 3]);
    }

    #[test]
    fn places_have_the_names_that_are_stated_or_else_a_and_b_at_the_ends() {
        let table = "round,station_mm,reading_mm\n1,0,0\n1,40,0\n1,80,0\n";
        let names = |setup: &Setup| -> Vec<String> {
            marks(table, setup)
                .iter()
                .filter_map(|m| m.station().map(|s| s.name.clone()))
                .collect()
        };
        assert_eq!(names(&Setup::default()), ["A", "40 mm", "B"]);
        let stated = Setup {
            stations: vec![
                Station {
                    name: "A".into(),
                    position: Length::ZERO,
                },
                Station {
                    name: "M".into(),
                    position: Length::from_um(40_000),
                },
                Station {
                    name: "B".into(),
                    position: Length::from_um(60_000),
                },
            ],
            ..Setup::default()
        };
        assert_eq!(names(&stated), ["A", "M", "80 mm"]);
    }

    #[test]
    fn times_are_those_of_the_table_or_all_the_same() {
        let timed = "round,station_mm,reading_mm,time_s\n1,0,0,1.5\n1,80,0,3\n";
        let at = |text: &str| -> Vec<i64> {
            marks(text, &Setup::default())
                .iter()
                .map(|m| m.t.0)
                .collect()
        };
        assert_eq!(at(timed), [1_500_000_000, 3_000_000_000]);
        assert_eq!(at("round,station_mm,reading_mm\n1,0,0\n1,80,0\n"), [0, 0]);
        let late = parse(&timed.replace("1.5", "1e10")).unwrap();
        let failure = evidence(&late, &Setup::default()).unwrap_err();
        assert!(
            failure.message.contains("line 2, column time_s"),
            "{failure}"
        );
    }
}
