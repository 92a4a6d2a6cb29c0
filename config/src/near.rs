//! The nearest right name for a wrong one.

/// How alike two names must be, from 0 to 1, before one is offered for the other: `setings` and `settings`
/// are 0.88 alike, `speed` and `span` 0.4.
const ALIKE: f64 = 0.6;

/// The known name most like a wrong one, when any is like it at all.
///
/// ```
/// use conewright_config::near::nearest;
/// assert_eq!(nearest("setings", ["port", "settings"]), Some("settings"));
/// assert_eq!(nearest("colour", ["port", "settings"]), None);
/// ```
#[must_use]
pub fn nearest<'a>(wrong: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let wrong = wrong.to_lowercase();
    known
        .into_iter()
        .map(|name| {
            (
                strsim::normalized_damerau_levenshtein(&wrong, &name.to_lowercase()),
                name,
            )
        })
        .filter(|(alike, _)| *alike >= ALIKE)
        // The first of equals stands, so that the answer does not hang on how the list is stored.
        .fold(
            None,
            |best: Option<(f64, &str)>, (alike, name)| match best {
                Some((most, _)) if most >= alike => best,
                _ => Some((alike, name)),
            },
        )
        .map(|(_, name)| name)
}

/// A hint that offers the nearest name, and otherwise says what there is.
pub(crate) fn hint<'a>(
    wrong: &str,
    known: impl IntoIterator<Item = &'a str> + Clone,
    otherwise: &str,
) -> String {
    match nearest(wrong, known) {
        Some(name) => format!("did you mean `{name}`?"),
        None => otherwise.to_owned(),
    }
}
