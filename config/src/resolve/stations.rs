//! Stations on the travel, the order in which a round marks them, and which way is steeper.

use super::text::{bad, length, positive};
use crate::near::hint;
use metrology::Length;
use metrology::setup::{BigEnd, IndicatorSide, Sense, Station};
use protocol::api::{Code, Refusal};

/// The longest name of a station, in characters: it stands in the sentence of a tap.
const MAX_NAME: usize = 16;
/// The most stations, and the most marks of one round.
const MOST: usize = 100;

const FORM: &str =
    "write it like `C=40`: a name that begins with a letter, and its distance from A";

/// The stations in the order of the travel, and one round over them by name.
///
/// Without a span there are none.
pub(super) fn resolve(
    span: Option<&str>,
    further: &[String],
    pass: Option<&str>,
) -> Result<(Vec<Station>, Vec<String>), Refusal> {
    let Some(span) = span else {
        return match (further.first(), pass) {
            (None, None) => Ok((Vec::new(), Vec::new())),
            (Some(text), _) => Err(bad(
                format!("--station `{text}`: the span is not stated"),
                NO_SPAN,
            )),
            (None, Some(text)) => Err(bad(
                format!("--pass `{text}`: the span is not stated"),
                NO_SPAN,
            )),
        };
    };
    let span = positive("--span", span, "80", None)?;
    let station = |name: &str, position| Station {
        name: name.to_owned(),
        position,
    };
    let mut stations = vec![station("A", Length::ZERO), station("B", span)];
    if further.len() > MOST - stations.len() {
        return Err(bad(
            format!("{} stations are too many", further.len() + 2),
            format!("at most {MOST}"),
        ));
    }
    for text in further {
        let new = read(text, span)?;
        if let Some(same) = stations
            .iter()
            .find(|s| s.name.eq_ignore_ascii_case(&new.name))
        {
            return Err(bad(
                format!(
                    "--station `{text}`: there is a station {} already, at {}",
                    same.name, same.position
                ),
                "A stands at 0 and B at the span; give this one another name",
            ));
        }
        if let Some(same) = stations.iter().find(|s| s.position == new.position) {
            return Err(bad(
                format!(
                    "--station `{text}`: station {} stands at {} already",
                    same.name, same.position
                ),
                "two stations at one place say nothing about a slope; leave one out",
            ));
        }
        stations.push(new);
    }
    stations.sort_by_key(|station| station.position);
    let pass = match pass {
        Some(text) => read_pass(text, &stations)?,
        // There and back to A, so that a drift shows: A B A.
        None => stations
            .iter()
            .chain(stations.first())
            .map(|s| s.name.clone())
            .collect(),
    };
    Ok((stations, pass))
}

const NO_SPAN: &str = "state the distance from A to B: `--span 80`";

/// `NAME=POSITION`, between A and B.
fn read(text: &str, span: Length) -> Result<Station, Refusal> {
    let (name, position) = text
        .split_once('=')
        .ok_or_else(|| bad(format!("--station `{text}` has no position"), FORM))?;
    let name = name.trim();
    let letters = |c: char| c.is_alphanumeric() || matches!(c, '-' | '_');
    if !name.starts_with(char::is_alphabetic)
        || !name.chars().all(letters)
        || name.chars().count() > MAX_NAME
    {
        return Err(bad(
            format!("--station `{text}`: `{name}` is not the name of a station"),
            FORM,
        ));
    }
    let position = length(&format!("--station `{text}`"), position, "40", None)?;
    if position < Length::ZERO || position > span {
        return Err(bad(
            format!(
                "--station `{text}`: {position} is outside the travel from A to B, 0 to {span}"
            ),
            "put it between, or state a longer span",
        ));
    }
    Ok(Station {
        name: name.to_owned(),
        position,
    })
}

/// `ABA`, or names with blanks or commas between.
fn read_pass(text: &str, stations: &[Station]) -> Result<Vec<String>, Refusal> {
    let known = |name: &str| {
        let exact = stations.iter().find(|s| s.name == name);
        exact.or_else(|| stations.iter().find(|s| s.name.eq_ignore_ascii_case(name)))
    };
    let words: Vec<&str> = text
        .split(|c: char| c.is_whitespace() || c == ',')
        .filter(|w| !w.is_empty())
        .collect();
    let names: Vec<&str> = match words[..] {
        // One word that is not a station is a row of letters.
        [word] if known(word).is_none() => word
            .char_indices()
            .map(|(i, c)| &word[i..i + c.len_utf8()])
            .collect(),
        _ => words,
    };
    if names.len() > MOST {
        return Err(bad(
            format!("--pass: {} marks a round are too many", names.len()),
            format!("at most {MOST}"),
        ));
    }
    let mut pass = Vec::with_capacity(names.len());
    for name in names {
        let station = known(name).ok_or_else(|| {
            let all: Vec<&str> = stations.iter().map(|s| s.name.as_str()).collect();
            let otherwise = format!(
                "the stations are {}; add one with `--station {name}=40`",
                all.join(", ")
            );
            Refusal::new(
                Code::UnknownName,
                format!("--pass `{text}`: there is no station `{name}`"),
            )
            .hint(hint(name, all, &otherwise))
        })?;
        pass.push(station.name.clone());
    }
    if pass.iter().all(|name| Some(name) == pass.first()) {
        return Err(bad(
            format!("--pass `{text}`: a slope needs two stations"),
            "write it like `ABA`, or names with blanks between: `A mid B A`",
        ));
    }
    Ok(pass)
}

/// The statement that lets a residual be called steeper or shallower: both halves of it, or none.
pub(super) fn sense(big_end: Option<&str>, side: Option<&str>) -> Result<Option<Sense>, Refusal> {
    let unknown = |what: &str, text: &str, known: [&str; 2]| {
        let either = format!("{} or {}", known[0], known[1]);
        Refusal::new(
            Code::BadValue,
            format!("{what}: `{text}` is neither {} nor {}", known[0], known[1]),
        )
        .hint(hint(text, known, &format!("write {either}")))
    };
    let big_end = big_end
        .map(|text| match text.trim() {
            "A" | "a" => Ok(BigEnd::A),
            "B" | "b" => Ok(BigEnd::B),
            text => Err(unknown("--big-end", text, ["A", "B"])),
        })
        .transpose()?;
    let indicator = side
        .map(|text| match text.trim().to_lowercase().as_str() {
            "wheel" => Ok(IndicatorSide::Wheel),
            "opposite" => Ok(IndicatorSide::Opposite),
            _ => Err(unknown(
                "--indicator-side",
                text.trim(),
                ["wheel", "opposite"],
            )),
        })
        .transpose()?;
    match (big_end, indicator) {
        (Some(big_end), Some(indicator)) => Ok(Some(Sense { big_end, indicator })),
        (None, None) => Ok(None),
        (Some(_), None) => Err(bad(
            "`--big-end` is stated, and not where the indicator stands",
            "both are needed to tell steeper from shallower: add `--indicator-side wheel` or `opposite`",
        )),
        (None, Some(_)) => Err(bad(
            "`--indicator-side` is stated, and not which station is nearer the big end",
            "both are needed to tell steeper from shallower: add `--big-end A` or `B`",
        )),
    }
}
