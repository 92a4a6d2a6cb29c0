//! `key`: the shop's key, and those of others.

use crate::args::KeyVerb;
use crate::keys::{KeyFault, Keys, Known};
use crate::layout::Table;
use crate::{Answer, Failure};
use serde_json::{Value, json};

pub(super) fn run(keys: &Keys, verb: KeyVerb) -> Result<Answer, Failure> {
    match verb {
        KeyVerb::Make { name } => make(keys, &name),
        KeyVerb::Trust { file } => {
            let (known, new) = keys.trust(&file)?;
            let told = if new {
                "is known from now on"
            } else {
                "was known before"
            };
            let text = format!(
                "the key of {} {told}: {}",
                known.name,
                known.key.fingerprint()
            );
            Answer::new(text, &as_json(&known, None))
        }
        KeyVerb::List => list(keys),
    }
}

fn make(keys: &Keys, name: &str) -> Result<Answer, Failure> {
    let (private, known) = keys.make(name)?;
    let text = format!(
        "the key of {name} is made: {}\n  private   {}\n  public    {}",
        known.key.fingerprint(),
        private.display(),
        known.file.display()
    );
    let mut json = as_json(&known, Some(true));
    json["private_file"] = json!(private);
    Ok(Answer::new(text, &json)?.talk(
        "Keep a copy of the private file in a safe place: whoever has it can sign in this name. Hand out the public file.",
    ))
}

fn list(keys: &Keys) -> Result<Answer, Failure> {
    let own = match keys.signer() {
        Ok(signer) => Some(signer.key()),
        Err(KeyFault::NoPrivate { .. }) => None,
        Err(fault) => return Err(fault.into()),
    };
    let known = keys.known()?;
    let is_own = |known: &Known| own == Some(known.key);
    let json: Vec<_> = known.iter().map(|k| as_json(k, Some(is_own(k)))).collect();
    let mut table = Table::new(&["name", "fingerprint", ""]);
    for of in &known {
        let whose = if is_own(of) { "yours" } else { "" };
        table.row([of.name.clone(), of.key.fingerprint(), whose.to_owned()]);
    }
    let text = if known.is_empty() {
        "no keys are known".to_owned()
    } else {
        table.text()
    };
    Answer::new(text, &json!({ "keys": json }))
}

fn as_json(known: &Known, own: Option<bool>) -> Value {
    let mut json = json!({
        "name": known.name,
        "fingerprint": known.key.fingerprint(),
        "key": known.key.to_string(),
        "file": known.file,
    });
    if let Some(own) = own {
        json["own"] = json!(own);
    }
    json
}
