//! `session open`: the options that are given, over those of an earlier session or of a job.

use super::job;
use super::planned::plan;
use super::written::Written;
use crate::args::StartArgs;
use crate::client::Client;
use crate::{Answer, Failure};
use config::{Config, Holds, named_session, stated};
use protocol::api::{OpenSession, SetupOptions};
use serde_json::{Value, json};

/// What a set-up began with.
struct Begun {
    /// Where that comes from, in words.
    from: String,
    /// The same for programs.
    json: Value,
    options: SetupOptions,
    /// What is not as it was.
    changed: Vec<String>,
}

pub(super) async fn open(
    client: &Client,
    config: &Config,
    name: String,
    start: &StartArgs,
    given: SetupOptions,
    written: Written,
) -> Result<Answer, Failure> {
    let mut mate = match &start.mate {
        Some(named) => Some(measured(client, named, "--mate").await?),
        None => None,
    };
    let given = match &mate {
        Some(mate) => SetupOptions {
            taper: Some(mate.taper.clone()),
            ..given
        },
        None => given,
    };
    let begun = begin(client, config, start, &given).await?;
    let mut options = match &begun {
        Some(begun) => given.over(&begun.options),
        None => given.clone(),
    };
    // The option, or a job, names a session in the place of a taper.
    let spec = options.taper.clone().unwrap_or_default();
    if let Some(named) = named_session(&spec) {
        let found = measured(client, named, &format!("--taper {spec}")).await?;
        options.taper = Some(found.taper.clone());
        mate = Some(found);
    }
    let request = OpenSession { name, options };
    let opened = client.open_session(&request).await?;
    let style = written.style(Some(&opened.setup));
    let mut text = format!(
        "session {}: {}\n{}",
        opened.session,
        opened.name,
        plan(&opened.setup, style)
    );
    let mut answer_json = None;
    if let Some(mate) = &mate {
        // The record says by itself where the angle comes from.
        text.push_str(&format!("{}\n", mate.words));
        if let Err(error) = client.note(&mate.words).await {
            let error = Failure::from(error);
            text.push_str(&format!("this is not in the record: {}\n", error.message));
        }
        answer_json = Some(mate.json.clone());
    }
    let mut taken = Vec::new();
    if let Some(begun) = &begun {
        taken.push((begun.from.clone(), begun.json.clone(), kept(&given, begun)));
    }
    if let Some(profile) = config.profile(&request.options) {
        let fixture = request.options.fixture.as_deref().unwrap_or_default();
        let kept = beside(&request.options, profile);
        let json = json!({ "fixture": fixture });
        taken.push((format!("fixture {fixture}"), json, kept));
    }
    for (from, _, options) in taken.iter().filter(|(_, _, options)| !options.is_empty()) {
        text.push_str(&format!("from {from}: {}\n", job::flags(options)));
    }
    for sentence in begun.iter().flat_map(|begun| &begun.changed) {
        text.push_str(&format!("changed: {sentence}\n"));
    }
    if let Some(capability) = &opened.capability {
        text.push_str(&format!("{}\n", style.retold(&capability.words())));
    }
    let mut answer = Answer::new(text, &opened)?;
    if let Some(mate) = answer_json {
        answer.json["mate"] = mate;
    }
    let taken: Vec<Value> = taken
        .into_iter()
        .map(|(_, mut from, options)| {
            from["options"] = json!(options);
            from
        })
        .collect();
    if !taken.is_empty() {
        answer.json["taken_from"] = Value::from(taken);
    }
    if let Some(begun) = begun.filter(|begun| !begun.changed.is_empty()) {
        answer.json["changed"] = json!(begun.changed);
    }
    Ok(answer)
}

/// The taper of another session, as it was measured or set there.
struct Mate {
    /// Its half angle as an option's text.
    taper: String,
    words: String,
    json: Value,
}

/// The half angle that the last step of a session that tells it has measured, or set. `flag` is what names the session.
async fn measured(client: &Client, named: &str, flag: &str) -> Result<Mate, Failure> {
    let record = client.record(&job::session(client, named).await?).await?;
    let (session, setup) = (&record.session, &record.setup);
    let measured = record.steps.iter().rev().find_map(|step| {
        let outcome = step.outcome.as_ref()?;
        Some((step, outcome.half_angle_measured(setup)?))
    });
    let Some((step, (half_angle, expanded_arcsec))) = measured else {
        return Err(Failure::new(
            "not_measured",
            format!(
                "{flag}: session {} ({}) has measured no half angle with its uncertainty",
                session.id, session.name
            ),
        )
        .hint("measure it there by a size step or by `step sweep --subject part`, or state the angle: `--taper 2.386deg`"));
    };
    // Four decimals of an arc-second: far below what is measured.
    let taper = format!("{:.7}deg", half_angle.deg());
    let kind = step.plan.kind().name();
    let words = format!(
        "the taper wanted is that of session {} ({}): {taper} ± {expanded_arcsec:.2} arcsec by its {kind} step {}; this uncertainty \
         is not in the results here",
        session.id, session.name, step.number
    );
    let json = json!({
        "session": session.id,
        "part": session.name,
        "step": step.number,
        "half_angle_deg": half_angle.deg(),
        "half_angle_expanded_arcsec": expanded_arcsec,
    });
    Ok(Mate { taper, words, json })
}

/// What of `base` holds beside `given`: flags with their values.
fn beside(given: &SetupOptions, base: &SetupOptions) -> Vec<(String, String)> {
    let own = given.stated();
    let merged = given.over(base).stated().into_iter();
    merged
        .filter(|stated| !own.contains(stated))
        .map(|stated| (stated.option.flag, stated.value))
        .collect()
}

fn kept(given: &SetupOptions, begun: &Begun) -> Vec<(String, String)> {
    beside(given, &begun.options)
}

/// The set-up that this one begins with, when one is named.
async fn begin(
    client: &Client,
    config: &Config,
    start: &StartArgs,
    given: &SetupOptions,
) -> Result<Option<Begun>, Failure> {
    if let Some(file) = &start.job {
        let options = job::read(config, file, given)?;
        return Ok(Some(Begun {
            from: format!("job {}", file.display()),
            json: json!({ "job": file }),
            options,
            changed: Vec::new(),
        }));
    }
    let Some(named) = &start.like else {
        return Ok(None);
    };
    let record = client.record(&job::session(client, named).await?).await?;
    let back = stated(config, &record.setup, Holds::Now);
    let session = &record.session;
    Ok(Some(Begun {
        from: format!("session {} ({})", session.id, session.name),
        json: json!({ "session": session.id, "part": session.name }),
        options: back.options,
        changed: back.changed,
    }))
}
