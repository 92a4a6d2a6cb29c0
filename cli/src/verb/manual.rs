//! The completions and the manual page, made from the table of verbs.

use crate::args::Cli;
use crate::{Answer, Failure};
use clap::{Command, CommandFactory};
use clap_mangen::Man;
use serde_json::json;
use std::io;

pub(super) fn completions(shell: clap_complete::Shell) -> Result<Answer, Failure> {
    let mut script = Vec::new();
    clap_complete::generate(shell, &mut Cli::command(), "conewright", &mut script);
    let script = String::from_utf8_lossy(&script).into_owned();
    let content = json!({ "shell": shell.to_string(), "script": script });
    Answer::new(script, &content)
}

/// One page with a section for each verb: a page for each would have to be installed one by one.
pub(super) fn page() -> Result<Answer, Failure> {
    let page = write().map_err(|e| Failure::output(&e))?;
    let content = json!({ "page": page });
    Answer::new(page, &content)
}

fn write() -> io::Result<String> {
    let mut root = Cli::command();
    root.build();
    let man = Man::new(root.clone());
    let mut page = Vec::new();
    man.render_title(&mut page)?;
    man.render_name_section(&mut page)?;
    man.render_synopsis_section(&mut page)?;
    man.render_description_section(&mut page)?;
    man.render_options_section(&mut page)?;
    man.render_extra_section(&mut page)?;
    let mut page = String::from_utf8_lossy(&page).into_owned();
    verbs(&root, &mut page)?;
    Ok(page)
}

/// A section for each verb, and for each verb under it, with its own sections one level down.
fn verbs(above: &Command, page: &mut String) -> io::Result<()> {
    let shown = |c: &&Command| !c.is_hide_set() && c.get_name() != "help";
    for verb in above.get_subcommands().filter(shown) {
        let name = verb.get_bin_name().unwrap_or(verb.get_name()).to_owned();
        let man = Man::new(verb.clone().bin_name(&name));
        let mut section = Vec::new();
        man.render_synopsis_section(&mut section)?;
        man.render_description_section(&mut section)?;
        let own_options = verb
            .get_arguments()
            .any(|a| !a.is_global_set() && !matches!(a.get_id().as_str(), "help" | "version"));
        if own_options {
            man.render_options_section(&mut section)?;
        }
        man.render_extra_section(&mut section)?;
        let section = String::from_utf8_lossy(&section).replace(".SH ", ".SS ");
        page.push_str(&format!(".SH \"{}\"\n{section}", name.to_uppercase()));
        verbs(verb, page)?;
    }
    Ok(())
}
