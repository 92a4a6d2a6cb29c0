//! Line and limaçon over 10⁶ points beside numpy's `lstsq`: the same data, in turn, in one run.
//!
//! `cargo bench -p conewright-metrology --bench beside_numpy`. It asks for a `python3` with numpy, by the variable
//! `CONEWRIGHT_PYTHON` if that is set, and says so when there is none. Aim: a quarter of numpy's time; beyond it the run
//! fails. numpy's matrix is ready before its clock starts; here the limaçon's sines and cosines are in the time.

use conewright_metrology::fit;
use std::error::Error;
use std::f64::consts::TAU;
use std::hint::black_box;
use std::io::{BufRead, BufReader, Write};
use std::process::{Command, ExitCode, Stdio};
use std::time::Instant;

const POINTS: usize = 1_000_000;
const ROUNDS: usize = 15;
const AIM: f64 = 0.25;

/// Noise between −1 and 1: a Weyl sequence, the same in every run.
fn noise(i: usize) -> f64 {
    ((i as f64 * 0.754_877_666_246_692_8).fract() - 0.5) * 2.0
}

struct Data {
    x: Vec<f64>,
    y: Vec<f64>,
    t: Vec<f64>,
    r: Vec<f64>,
}

impl Data {
    /// A sweep of 60 mm with a bow of 3 µm, and ten turns of a lobed part 8 µm off centre.
    fn new() -> Self {
        let share = |i: usize| i as f64 / POINTS as f64;
        let made = |f: &dyn Fn(usize) -> f64| (0..POINTS).map(f).collect::<Vec<f64>>();
        let x = made(&|i| 60.0 * share(i));
        let t = made(&|i| TAU * 10.0 * share(i));
        Self {
            y: made(&|i| {
                let bow = 3e-3 * (1.0 - ((x[i] - 30.0) / 30.0).powi(2));
                0.2 + 1e-4 * x[i] + bow + 1e-3 * noise(i)
            }),
            r: made(&|i| 8e-3 * (t[i] - 1.0).cos() + 2e-3 * (3.0 * t[i]).cos() + 1e-3 * noise(i)),
            x,
            t,
        }
    }

    /// One fit: its time in milliseconds, and what it found.
    fn fit(&self, which: &str) -> Result<(f64, Vec<f64>), Box<dyn Error>> {
        let start = Instant::now();
        let found = if which == "line" {
            let line = fit::line(black_box(&self.x), black_box(&self.y))?;
            vec![line.intercept, line.slope]
        } else {
            let circle = fit::limacon(black_box(&self.t), black_box(&self.r))?;
            let (e, way) = (circle.eccentricity(), circle.high_spot());
            vec![e * way.cos(), e * way.sin()]
        };
        Ok((start.elapsed().as_secs_f64() * 1e3, found))
    }
}

fn median(mut times: Vec<f64>) -> f64 {
    times.sort_by(f64::total_cmp);
    times[times.len() / 2]
}

fn run() -> Result<bool, Box<dyn Error>> {
    let python = std::env::var("CONEWRIGHT_PYTHON").unwrap_or_else(|_| "python3".into());
    let has = Command::new(&python)
        .args(["-c", "import numpy"])
        .stderr(Stdio::null())
        .status();
    if !has.is_ok_and(|status| status.success()) {
        println!("not measured: {python} has no numpy; set CONEWRIGHT_PYTHON to one that has");
        return Ok(true);
    }
    let data = Data::new();
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/benches/lstsq.py");
    let mut numpy = Command::new(&python)
        .arg(script)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()?;
    let mut asked = numpy.stdin.take().ok_or("no pipe")?;
    let mut answers = BufReader::new(numpy.stdout.take().ok_or("no pipe")?).lines();
    asked.write_all(&(POINTS as i64).to_le_bytes())?;
    for column in [&data.x, &data.y, &data.t, &data.r] {
        let bytes: Vec<u8> = column.iter().flat_map(|v| v.to_le_bytes()).collect();
        asked.write_all(&bytes)?;
    }
    let mut good = true;
    for which in ["line", "limacon"] {
        let (mut ours, mut theirs) = (Vec::new(), Vec::new());
        for _ in 0..ROUNDS {
            let (ms, found) = data.fit(which)?;
            ours.push(ms);
            writeln!(asked, "{which}")?;
            let answer = answers.next().ok_or("numpy has ended")??;
            let numbers: Vec<f64> = answer
                .split_whitespace()
                .map(str::parse)
                .collect::<Result<_, _>>()?;
            theirs.push(numbers[0]);
            // Of the limaçon the mean radius is not told, and comes first there.
            let expected = &numbers[numbers.len() - 2..];
            if found
                .iter()
                .zip(expected)
                .any(|(a, b)| (a - b).abs() > 1e-9)
            {
                return Err(format!("{which}: {found:?} here, {expected:?} by numpy").into());
            }
        }
        let (ours, theirs) = (median(ours), median(theirs));
        let share = ours / theirs;
        good &= share <= AIM;
        println!(
            "{which:8} {POINTS} points: {ours:6.2} ms here, {theirs:6.2} ms by numpy's lstsq: {share:.3} of it{}",
            if share <= AIM { "" } else { ", ABOVE THE AIM" }
        );
    }
    drop(asked);
    numpy.wait()?;
    Ok(good)
}

fn main() -> ExitCode {
    match run() {
        Ok(true) => ExitCode::SUCCESS,
        Ok(false) => ExitCode::FAILURE,
        Err(error) => {
            eprintln!("error: {error}");
            ExitCode::FAILURE
        }
    }
}
