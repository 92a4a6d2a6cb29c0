//! Broken configurations, each with the exact message that the user gets.
//!
//! `broken.txt` holds the cases: a line `=== legend`, the file's text, a line `--- what is told`, and the
//! message, character for character.

use conewright_config::Config;

struct Case<'a> {
    legend: &'a str,
    text: String,
    told: String,
}

fn cases(table: &str) -> Vec<Case<'_>> {
    let mut cases: Vec<Case<'_>> = Vec::new();
    let mut in_message = false;
    for line in table.lines() {
        if let Some(legend) = line.strip_prefix("=== ") {
            cases.push(Case {
                legend,
                text: String::new(),
                told: String::new(),
            });
            in_message = false;
        } else if line == "--- what is told" {
            in_message = true;
        } else if let Some(case) = cases.last_mut() {
            let place = if in_message {
                &mut case.told
            } else {
                &mut case.text
            };
            place.push_str(line);
            place.push('\n');
        }
    }
    cases
}

#[test]
fn every_mistake_is_told_as_it_should_be() {
    let cases = cases(include_str!("broken.txt"));
    assert!(cases.len() >= 30, "{} cases", cases.len());
    let mut wrong = String::new();
    for Case { legend, text, told } in &cases {
        let actual = match Config::parse(text, "conewright.toml") {
            Ok(config) => format!("it was taken: {config:?}"),
            Err(error) => error.to_string(),
        };
        if actual.trim_end() != told.trim_end() {
            wrong.push_str(&format!(
                "=== {legend}\n{text}--- what is told\n{actual}\n\n"
            ));
        }
    }
    assert!(wrong.is_empty(), "these are told otherwise:\n{wrong}");
}

/// What keeps a file from being read at all, with its path.
#[test]
fn files_that_cannot_be_read() {
    let directory = tempfile::tempdir().unwrap();
    let place = |name: &str| directory.path().join(name);
    let told = |path: &std::path::Path| Config::load(path).unwrap_err().to_string();
    let missing = place("missing.toml");
    assert_eq!(
        told(&missing),
        format!(
            "the configuration {} cannot be read: there is no such file",
            missing.display()
        )
    );
    assert!(told(directory.path()).ends_with("cannot be read: it is a directory"));

    let latin = place("latin.toml");
    std::fs::write(&latin, b"[screen]\n# gro\xdfe\nunit = \"mm\"\n").unwrap();
    assert_eq!(
        told(&latin),
        format!(
            "{}:2:6: a byte that is not UTF-8\n2 | # gro\u{fffd}e\n  |      ^\n  \
             = expected a text in UTF-8; save the file with that encoding",
            latin.display()
        )
    );

    // The largest file that is read, and one byte more.
    let large = place("large.toml");
    std::fs::write(&large, " ".repeat(conewright_config::load::MAX_BYTES)).unwrap();
    assert_eq!(Config::load(&large), Ok(Config::default()));
    std::fs::write(&large, " ".repeat(conewright_config::load::MAX_BYTES + 1)).unwrap();
    assert!(told(&large).ends_with("cannot be read: it is larger than 1024 KiB"));
}

/// Twenty mistakes are told and the rest is counted: a wrong file does not fill the screen for ever.
#[test]
fn many_mistakes_are_counted() {
    let text: String = (0..25).map(|i| format!("wrong{i} = 1\n")).collect();
    let error = Config::parse(&text, "f").unwrap_err();
    assert_eq!(error.mistakes().len(), 25);
    let told = error.to_string();
    assert!(
        told.contains("wrong19") && !told.contains("wrong20"),
        "{told}"
    );
    assert!(told.ends_with("\n\nf: and 5 more"), "{told}");
}

/// The example with one place changed is read or refused, and a refusal points into the text: wherever the
/// slip is, the loader neither fails nor points beyond the file.
#[test]
fn a_slip_anywhere_is_survived() {
    let example = include_str!("../conewright.example.toml");
    let places: Vec<usize> = example.char_indices().map(|(i, _)| i).collect();
    for (n, &place) in places.iter().enumerate().step_by(7) {
        let slips = ["\"", "[", "]", "=", "\n", "0", "-", "µ", ""];
        let slip = slips[n / 7 % slips.len()];
        let rest = example[place..].chars().next().map_or(0, char::len_utf8);
        let text = format!("{}{slip}{}", &example[..place], &example[place + rest..]);
        if let Err(error) = Config::parse(&text, "f") {
            assert!(!error.mistakes().is_empty());
            for mistake in error.mistakes() {
                let line = text.split('\n').nth(mistake.line - 1);
                let line = line.unwrap_or_else(|| panic!("no line {}: {error}", mistake.line));
                assert!(mistake.column <= line.chars().count() + 1, "{error}");
            }
        }
    }
}
