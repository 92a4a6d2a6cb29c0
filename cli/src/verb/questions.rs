//! What `session open` asks in a terminal: one question for each thing that a set-up needs and that is not stated.

use super::job::{flags, quoted};
use crate::Failure;
use crate::args::{SessionVerb, StartArgs};
use config::model::TYPED;
use config::{Config, named_session, resolve};
use inquire::autocompletion::Replacement;
use inquire::{Autocomplete, CustomUserError, InquireError, Select, Text};
use protocol::api::SetupOptions;
use std::io::IsTerminal;

/// A question, and how it is answered.
struct Question {
    /// The option that the answer states.
    key: &'static str,
    words: &'static str,
    /// What holds when it is left out, or an example.
    help: String,
    way: Way,
}

enum Way {
    /// A text of one's own; these are offered.
    Written(Vec<String>),
    /// One of these; the first is taken by enter. Without a value the option is left out.
    Chosen(Vec<(String, Option<String>)>),
}

/// Offers the names that contain what is typed.
#[derive(Clone)]
struct Offered(Vec<String>);

impl Autocomplete for Offered {
    fn get_suggestions(&mut self, input: &str) -> Result<Vec<String>, CustomUserError> {
        let input = input.to_lowercase();
        let fits = |name: &&String| !input.is_empty() && name.to_lowercase().contains(&input);
        Ok(self.0.iter().filter(fits).cloned().collect())
    }

    fn get_completion(
        &mut self,
        _input: &str,
        highlighted: Option<String>,
    ) -> Result<Replacement, CustomUserError> {
        Ok(highlighted)
    }
}

/// The verb with what a set-up needs, and the whole command, when something was asked.
///
/// # Errors
/// The user left, or the terminal failed.
pub(super) fn complete(
    verb: SessionVerb,
    config: &Config,
    json: bool,
) -> Result<(SessionVerb, Option<String>), Failure> {
    let SessionVerb::Open {
        name,
        start,
        mut setup,
    } = verb
    else {
        return Ok((verb, None));
    };
    let mut asked = false;
    if !json && may_ask(&start) {
        while let Some(question) = next(config, &start, &setup) {
            asked = true;
            ask(&question, config, &start, &mut setup)?;
        }
        // An empty answer stood for an option that is left out.
        *setup = SetupOptions::of(
            setup
                .stated()
                .iter()
                .filter(|stated| !stated.value.is_empty())
                .map(|stated| (stated.option.key.as_str(), stated.value.as_str())),
        );
    }
    let command = asked.then(|| whole_command(&name, &start, &setup));
    Ok((SessionVerb::Open { name, start, setup }, command))
}

/// A set-up that begins with another one is whole, and a question needs somebody who sees it.
fn may_ask(start: &StartArgs) -> bool {
    let is_whole = start.like.is_some() || start.job.is_some() || start.no_questions;
    !is_whole && std::io::stdin().is_terminal() && std::io::stderr().is_terminal()
}

fn whole_command(name: &str, start: &StartArgs, setup: &SetupOptions) -> String {
    let stated = setup.stated().into_iter();
    let mut options: Vec<_> = stated.map(|s| (s.option.flag, s.value)).collect();
    if let Some(mate) = &start.mate {
        options.insert(0, ("mate".to_owned(), mate.clone()));
    }
    format!(
        "the same without questions:\n  conewright session open {} {} --no-questions",
        quoted(name),
        flags(&options)
    )
}

/// The next question that is open. An answer that leaves the option out is an empty text until all are answered.
fn next(config: &Config, start: &StartArgs, setup: &SetupOptions) -> Option<Question> {
    let with_profile = match config.profile(setup) {
        Some(profile) => setup.over(profile),
        None => setup.clone(),
    };
    let stated = |key: &str| {
        let stated = with_profile.stated();
        let found = stated.into_iter().find(|s| s.option.key == key);
        found.map(|stated| stated.value)
    };
    let is_open = |question: &Question| stated(question.key).is_none();
    let has = |key: &str| stated(key).is_some_and(|value| !value.is_empty());
    let of_part = [
        start.mate.is_none().then(|| taper(config)),
        Some(length(config, stated("taper").as_deref())),
        Some(tolerance(config)),
        Some(fixture(config)),
    ];
    let types = stated("cable").is_some_and(|cable| cable == TYPED) || config.cables.is_empty();
    let of_bench = [
        Some(bar(config)),
        has("bar").then(|| kit(config)),
        Some(written(
            "span",
            "Span from A to B",
            "such as 80",
            Vec::new(),
        )),
        Some(big_end()),
        has("big_end").then(indicator_side),
        (!config.cables.is_empty()).then(|| cable(config)),
        (types && config.indicator.resolution.is_none()).then(|| {
            let help = "one step of its display, such as 0.001";
            written("resolution", "Indicator's resolution", help, Vec::new())
        }),
    ];
    let every = of_part.into_iter().chain(of_bench);
    every.flatten().find(is_open)
}

fn written(key: &'static str, words: &'static str, help: &str, offered: Vec<String>) -> Question {
    Question {
        key,
        words,
        help: format!("{help}; enter leaves it out, esc leaves"),
        way: Way::Written(offered),
    }
}

fn chosen(
    key: &'static str,
    words: &'static str,
    choices: impl IntoIterator<Item = (String, Option<String>)>,
) -> Question {
    Question {
        key,
        words,
        help: "arrows choose, enter takes it, esc leaves".to_owned(),
        way: Way::Chosen(choices.into_iter().collect()),
    }
}

/// A name that is chosen by itself.
fn named(name: &str) -> (String, Option<String>) {
    (name.to_owned(), Some(name.to_owned()))
}

fn taper(config: &Config) -> Question {
    let names = config.all_tapers().map(|taper| taper.name.clone());
    let help = "a name, 1:12, 2.386deg, from a drawing 40/37.5/30, or session:12";
    written("taper", "Taper", help, names.collect())
}

fn length(config: &Config, taper: Option<&str>) -> Question {
    let own = taper.and_then(|spec| config.taper(spec).ok()?.length);
    let help = match own {
        Some(own) => format!("the taper's own is {own}"),
        None => "over which an error matters, such as 30".to_owned(),
    };
    written("length", "Length of the taper", &help, Vec::new())
}

fn tolerance(config: &Config) -> Question {
    let help = match config.tolerance {
        Some(tolerance) => format!("the configuration's is {tolerance}"),
        None => "AT4, 5arcsec of the half angle, 2um on diameter".to_owned(),
    };
    let grades = (1..=12).map(|grade| format!("AT{grade}"));
    written("tolerance", "Tolerance", &help, grades.collect())
}

fn fixture(config: &Config) -> Question {
    let names = config.fixtures.keys().cloned().collect();
    written("fixture", "Fixture", "its name; a new one begins it", names)
}

fn bar(config: &Config) -> Question {
    let names = config.bars.keys().cloned().collect();
    let help = "its name, or its centre distance such as 100 or 5in";
    written("bar", "Sine bar", help, names)
}

/// One's own kits first; the shipped one of 88 pieces is the usual one.
fn kit(config: &Config) -> Question {
    let own = config.kits.keys().map(String::as_str);
    let shipped = config.all_kits().map(|kit| kit.name.as_str());
    let shipped = shipped.filter(|name| !config.kits.contains_key(*name) && *name != "metric-88");
    let names = own.chain(["metric-88"]).chain(shipped).map(named);
    chosen("kit", "Kit of gauge blocks", names)
}

fn big_end() -> Question {
    let neither = ("neither is stated".to_owned(), None);
    let ends = [named("A"), named("B"), neither];
    chosen("big_end", "Station nearer the big end", ends)
}

fn indicator_side() -> Question {
    let sides = [named("wheel"), named("opposite")];
    chosen("indicator_side", "Side that the indicator touches", sides)
}

/// Cables that give no readings of the part are not offered.
fn cable(config: &Config) -> Question {
    let usual = config.indicator_cable().map(|cable| cable.name.as_str());
    let of_part = |name: &&str| {
        let options = SetupOptions::of([("cable", *name)]);
        Some(*name) != usual && resolve(config, &options).is_ok()
    };
    let names = config.cables.iter().map(|cable| cable.name.as_str());
    let others = names.filter(of_part).chain([TYPED]);
    chosen(
        "cable",
        "Indicator",
        usual.into_iter().chain(others).map(named),
    )
}

/// Asks until the answer can be used.
fn ask(
    question: &Question,
    config: &Config,
    start: &StartArgs,
    setup: &mut SetupOptions,
) -> Result<(), Failure> {
    loop {
        let answer = answer(question)?;
        let stated = setup.stated();
        let before = stated
            .iter()
            .map(|stated| (stated.option.key.as_str(), stated.value.as_str()));
        let after = SetupOptions::of(before.chain([(question.key, answer.as_str())]));
        if answer.is_empty() {
            *setup = after;
            return Ok(());
        }
        match resolve(config, &as_far_as(&after, start)) {
            Ok(_) => {
                *setup = after;
                return Ok(());
            }
            Err(refusal) => {
                eprintln!("error: {}", refusal.message);
                if let Some(hint) = refusal.hint {
                    eprintln!("hint: {hint}");
                }
            }
        }
    }
}

/// The options so far as a set-up: without those left out, and with what is asked next where one needs the other.
fn as_far_as(setup: &SetupOptions, start: &StartArgs) -> SetupOptions {
    let stated = setup.stated();
    let kept = stated.iter().filter(|stated| !stated.value.is_empty());
    let mut so_far = SetupOptions::of(kept.map(|s| (s.option.key.as_str(), s.value.as_str())));
    if so_far.big_end.is_some() && so_far.indicator_side.is_none() {
        so_far.indicator_side = Some("wheel".to_owned());
    }
    // A tolerance to one side needs the sides, which are asked later.
    if so_far.tolerance.is_some() && so_far.big_end.is_none() {
        so_far.big_end = Some("A".to_owned());
        so_far.indicator_side = Some("wheel".to_owned());
    }
    // A session's angle comes from the daemon: any cone will do for a tolerance's sake.
    let of_session = so_far.taper.as_deref().and_then(named_session);
    if start.mate.is_some() || of_session.is_some() {
        so_far.taper = Some("1:12".to_owned());
    }
    so_far
}

fn answer(question: &Question) -> Result<String, Failure> {
    let words = format!("{}:", question.words);
    let answered = match &question.way {
        Way::Written(offered) => Text::new(&words)
            .with_help_message(&question.help)
            .with_autocomplete(Offered(offered.clone()))
            .prompt(),
        Way::Chosen(choices) => {
            let names = choices.iter().map(|(name, _)| name.clone()).collect();
            Select::new(&words, names)
                .with_help_message(&question.help)
                .raw_prompt()
                .map(|chosen| choices[chosen.index].1.clone().unwrap_or_default())
        }
    };
    match answered {
        Ok(text) => Ok(text.trim().to_owned()),
        Err(InquireError::OperationCanceled | InquireError::OperationInterrupted) => {
            Err(Failure::new("left", "no session was opened"))
        }
        Err(error) => Err(Failure::new(
            "cannot_ask",
            format!("the questions cannot be asked here: {error}"),
        )
        .hint("state the set-up by options: `conewright help session open`")),
    }
}
