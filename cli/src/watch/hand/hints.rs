//! Hints of the background process name commands; here the same is done by keys.

/// A hint with keys in the place of the commands that they stand for. Other commands stay as they are.
pub fn for_keys(hint: &str) -> String {
    let mut text = String::new();
    // Every second part stands between strokes.
    for (i, part) in hint.split('`').enumerate() {
        match part.strip_prefix("conewright ").filter(|_| i % 2 == 1) {
            Some(command) => text.push_str(&keys(command).unwrap_or_else(|| format!("`{part}`"))),
            None if i % 2 == 1 => text.push_str(&format!("`{part}`")),
            None => text.push_str(part),
        }
    }
    text
}

fn keys(command: &str) -> Option<String> {
    let (verb, rest) = command.split_once(' ').unwrap_or((command, ""));
    Some(match (verb, rest) {
        ("mark", "") => "space".to_owned(),
        ("mark", what) => format!("`{}`", what.trim_start_matches("--value ")),
        ("undo", "") => "u".to_owned(),
        ("clamp", "") => "c".to_owned(),
        ("ground", "" | "--not") => "o".to_owned(),
        ("cable", what) if what.starts_with("accept") => "i".to_owned(),
        ("step", _) if !rest.contains("--help") => "s".to_owned(),
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::for_keys;

    #[test]
    fn a_hint_names_what_is_pressed_or_typed_here() {
        for (hint, expected) in [
            (
                "a bare number is in mm: `conewright mark 24`",
                "a bare number is in mm: `24`",
            ),
            (
                "type the reading: `conewright mark --value 0.012`",
                "type the reading: `0.012`",
            ),
            (
                "answer first: `conewright mark` keeps it, `conewright undo` drops it",
                "answer first: space keeps it, u drops it",
            ),
            ("open one: `conewright step zero`", "open one: s"),
            (
                "or accept this one: `conewright cable accept bench`",
                "or accept this one: i",
            ),
            (
                "open one: `conewright session open NAME`",
                "open one: `conewright session open NAME`",
            ),
            (
                "write degrees, `120` or `4h`",
                "write degrees, `120` or `4h`",
            ),
            ("nothing in strokes", "nothing in strokes"),
        ] {
            assert_eq!(for_keys(hint), expected);
        }
    }
}
