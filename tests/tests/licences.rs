//! The file with the licence texts that goes into a package: no library without its text.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

use conewright_tests::licences::{copyright, linked, texts};

#[test]
fn the_text_of_every_linked_library_is_in_the_file() {
    let linked = linked();
    assert!(linked.len() > 100, "{} libraries are found", linked.len());
    let file = copyright(&linked);
    for of in &linked {
        assert!(!of.texts.is_empty(), "{of:?} has no licence text");
        assert!(file.contains(&format!("{} (", of.name)), "{of:?}");
        for text in &of.texts {
            let text = text.replace("\r\n", "\n");
            assert!(file.contains(text.trim()), "{of:?}");
        }
    }
    for own in ["Conewright", "DejaVu", "SQLite"] {
        assert!(file.contains(own), "{own}");
    }
}

#[test]
fn a_library_without_a_text_is_noticed() {
    let folder = tempfile::tempdir().unwrap();
    assert!(texts(folder.path(), "MIT", "").is_empty());
    assert!(texts(folder.path(), "MPL-2.0", "A Turner").is_empty());
    assert!(texts(folder.path(), "MIT OR Apache-2.0", "")[0].contains("Apache License"));
    let named = &texts(folder.path(), "MIT", "A Turner")[0];
    assert!(named.contains("A Turner") && named.contains("Permission is hereby granted"));
    std::fs::write(folder.path().join("license.txt"), "x".repeat(101)).unwrap();
    assert_eq!(texts(folder.path(), "MIT", "").len(), 1);
}
