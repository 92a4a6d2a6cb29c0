//! Yardsticks in Python: a process with two columns of numbers, which is asked for one piece of work at a time.

use super::tools::yardsticks;
use std::io::{BufRead, BufReader, Lines, Write};
use std::process::{Child, ChildStdin, ChildStdout, Command, Stdio};

/// A process with numpy, which has the columns.
pub(super) struct Python {
    child: Child,
    asked: ChildStdin,
    answers: Lines<BufReader<ChildStdout>>,
}

impl Python {
    /// Starts it with two columns. `CONEWRIGHT_PYTHON` names the interpreter.
    pub(super) fn start(script: &str, module: &str, columns: [&[f64]; 2]) -> Result<Self, String> {
        let python = std::env::var("CONEWRIGHT_PYTHON").unwrap_or_else(|_| "python3".into());
        let has = Command::new(&python)
            .args(["-c", &format!("import {module}")])
            .stderr(Stdio::null())
            .status();
        if !has.is_ok_and(|status| status.success()) {
            return Err(format!("{module} is not here"));
        }
        let mut child = Command::new(&python)
            .arg(yardsticks(script))
            // What some computers set for an older library would slow this one down.
            .env_remove("OPENBLAS_CORETYPE")
            .env_remove("OPENBLAS_L2_SIZE")
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .map_err(|error| error.to_string())?;
        let mut asked = child.stdin.take().unwrap();
        let answers = BufReader::new(child.stdout.take().unwrap()).lines();
        asked
            .write_all(&(columns[0].len() as i64).to_le_bytes())
            .unwrap();
        for column in columns {
            let bytes: Vec<u8> = column.iter().flat_map(|v| v.to_le_bytes()).collect();
            asked.write_all(&bytes).unwrap();
        }
        Ok(Self {
            child,
            asked,
            answers,
        })
    }

    /// One piece of work: its time in ms, and the numbers that it found. No numbers: it did not end in time.
    pub(super) fn ask(&mut self, what: &str) -> (f64, Vec<f64>) {
        writeln!(self.asked, "{what}").unwrap();
        let answer = self.answers.next().unwrap().unwrap();
        let mut numbers = answer.split_whitespace().map(|n| n.parse().unwrap());
        (numbers.next().unwrap(), numbers.collect())
    }
}

impl Drop for Python {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}
