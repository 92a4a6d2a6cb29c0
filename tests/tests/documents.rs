//! The documents in themselves and against the code: links and file names lead somewhere, the recipe of a step is complete, and the
//! screens are golden ones.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

use conewright_tests::pages::{blocks, code_spans, files, prose, read, top};
use std::collections::BTreeSet;
use std::fs;
use std::path::PathBuf;

fn pages() -> Vec<PathBuf> {
    let pages = files(&top(), ".md");
    assert!(pages.len() >= 8, "the documents are found: {pages:?}");
    pages
}

/// The anchors that a page's headings have.
fn anchors(text: &str) -> BTreeSet<String> {
    let headings = text.lines().filter(|line| line.starts_with('#'));
    let anchor = |heading: &str| {
        let kept = heading.trim_start_matches('#').trim().to_lowercase();
        let kept = kept
            .chars()
            .filter(|c| c.is_alphanumeric() || " -_".contains(*c));
        kept.map(|c| if c == ' ' { '-' } else { c }).collect()
    };
    headings.map(anchor).collect()
}

#[test]
fn relative_links_lead_to_a_file_and_a_heading() {
    let mut dead = Vec::new();
    let mut checked = 0;
    for page in pages() {
        let text = fs::read_to_string(&page).unwrap();
        let text = prose(&text);
        for rest in text.split("](").skip(1) {
            let link = rest.split(')').next().unwrap();
            if link.contains("://") {
                continue;
            }
            checked += 1;
            let (file, anchor) = link.split_once('#').unwrap_or((link, ""));
            let target = match file {
                "" => page.clone(),
                file => page.parent().unwrap().join(file),
            };
            let leads = target.exists()
                && (anchor.is_empty()
                    || anchors(&fs::read_to_string(&target).unwrap()).contains(anchor));
            if !leads {
                dead.push(format!("{}: {link}", page.display()));
            }
        }
    }
    assert!(dead.is_empty(), "{dead:#?}");
    assert!(checked > 20, "only {checked} links were found");
}

#[test]
fn the_readme_is_short() {
    let lines = read("README.md").lines().count();
    assert!(lines < 150, "README.md has {lines} lines");
}

/// Whether a path of the top folder, with at most one `*` in its last part, is there.
fn is_there(path: &str) -> bool {
    let path = top().join(path.trim_end_matches('/'));
    let name = path.file_name().unwrap().to_string_lossy().into_owned();
    match name.split_once('*') {
        None => path.exists(),
        Some((start, end)) => fs::read_dir(path.parent().unwrap()).is_ok_and(|entries| {
            entries.flatten().any(|entry| {
                let name = entry.file_name().to_string_lossy().into_owned();
                name.starts_with(start) && name.ends_with(end)
            })
        }),
    }
}

#[test]
fn files_that_the_documents_name_are_there() {
    let rooms = [
        "metrology/",
        "protocol/",
        "config/",
        "daemon/",
        "cli/",
        "tests/",
        "docs/",
    ];
    let mut missing = Vec::new();
    let mut checked = 0;
    for page in pages() {
        for span in code_spans(&fs::read_to_string(&page).unwrap()) {
            let path = span.split(' ').next().unwrap();
            // A part in capitals stands for a name of the reader's own.
            let is_placeholder = path
                .split(['/', '.'])
                .any(|part| part.len() > 1 && part.chars().all(|c| c.is_ascii_uppercase()));
            if !rooms.iter().any(|room| path.starts_with(room)) || is_placeholder {
                continue;
            }
            checked += 1;
            if !is_there(path) {
                missing.push(format!("{}: {path}", page.display()));
            }
        }
    }
    assert!(missing.is_empty(), "{missing:#?}");
    assert!(checked > 100, "only {checked} names were found");
}

/// Whether code outside of tests and comments names the contact step.
fn names_contact(text: &str) -> bool {
    let code = text.split("#[cfg(test)]\nmod tests").next().unwrap();
    code.lines()
        .map(str::trim_start)
        .filter(|line| !line.starts_with("//"))
        .flat_map(|line| line.split(|c: char| !c.is_alphanumeric() && !":_".contains(c)))
        .any(|word| {
            word.starts_with("Contact") || word.contains("::Contact") || word.contains("contact::")
        })
        || code
            .lines()
            .any(|line| line.trim_end().ends_with("mod contact;"))
}

#[test]
fn the_recipe_of_a_step_lists_the_files_that_name_one() {
    let developers = read("DEVELOPERS.md");
    let recipe = developers
        .split("<!-- step files: begin -->")
        .nth(1)
        .and_then(|rest| rest.split("<!-- step files: end -->").next())
        .expect(
            "DEVELOPERS.md marks the files of a step with `<!-- step files: begin -->` and `end`",
        );
    let listed: BTreeSet<String> = code_spans(recipe)
        .into_iter()
        .filter(|span| span.ends_with(".rs"))
        .collect();
    let mut named = BTreeSet::new();
    for room in ["metrology", "protocol", "config", "daemon", "cli"] {
        for file in files(&top().join(room).join("src"), ".rs") {
            let name = file
                .strip_prefix(top())
                .unwrap()
                .to_string_lossy()
                .into_owned();
            let is_test = ["/tests", "/golden", "/example/"]
                .iter()
                .any(|part| name.contains(part));
            if !is_test && names_contact(&fs::read_to_string(&file).unwrap()) {
                named.insert(name);
            }
        }
    }
    let missing: Vec<_> = named.difference(&listed).collect();
    let needless: Vec<_> = listed.difference(&named).collect();
    assert!(
        missing.is_empty() && needless.is_empty(),
        "DEVELOPERS.md, How to add a step: it lacks {missing:#?} and lists needlessly {needless:#?}"
    );
}

/// The screens that the golden tests of the live view hold, without the blanks at the ends of their lines.
fn golden_screens() -> Vec<Vec<String>> {
    let folder = top().join("cli/src/watch/view/snapshots");
    let screen = |file: PathBuf| -> Vec<String> {
        let text = fs::read_to_string(file).unwrap();
        let rows = text.lines().filter_map(|line| line.strip_prefix('"'));
        rows.map(|row| row.trim_end_matches('"').trim_end().to_owned())
            .collect()
    };
    files(&folder, ".snap").into_iter().map(screen).collect()
}

#[test]
fn screens_in_the_documents_are_golden_ones() {
    let golden = golden_screens();
    let mut checked = 0;
    for name in ["README.md", "docs/commands.md"] {
        for (word, lines) in blocks(&read(name)) {
            if !word.is_empty() || !lines.iter().any(|line| line.contains("READING")) {
                continue;
            }
            checked += 1;
            let found = golden
                .iter()
                .any(|screen| lines.iter().eq(screen.iter().take(lines.len())));
            assert!(
                found,
                "{name}: no golden screen of the live view begins like this; take it from cli/src/watch/view/snapshots:\n{}",
                lines.join("\n")
            );
        }
    }
    assert_eq!(checked, 2, "the screens are found");
}

#[test]
fn pictures_are_small_and_each_is_shown() {
    let pictures = files(&top().join("docs/pictures"), ".png");
    assert!(pictures.len() >= 3, "the pictures are found: {pictures:?}");
    let shown: String = pages()
        .iter()
        .map(|page| fs::read_to_string(page).unwrap())
        .collect();
    for picture in pictures {
        let bytes = fs::metadata(&picture).unwrap().len();
        assert!(bytes < 150_000, "{}: {bytes} bytes", picture.display());
        let name = picture.file_name().unwrap().to_string_lossy();
        let link = format!("pictures/{name})");
        assert!(shown.contains(&link), "no page shows {name}");
    }
}
