//! Every message of the program in one listing: what is refused, what to do, what the log says.
//!
//! `cargo test -p conewright-tests --test wording -- --nocapture` prints it, file by file, to be read from top to bottom.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

use std::path::Path;
use syn::visit::{self, Visit};
use syn::{Attribute, Expr, ExprCall, ExprLit, ExprMethodCall, Item, Lit, Macro};

/// Functions that make a message, by the last two names of their path.
const MAKERS: [&str; 7] = [
    "Refusal::new",
    "Failure::new",
    "Failure::usage",
    "Failure::bad_value",
    "Problem::new",
    "Fatal::new",
    "bad",
];
/// Methods that add to one.
const METHODS: [&str; 4] = ["hint", "expected", "wrong", "wrong_key"];
/// Macros whose text goes to the log or to the terminal.
const MACROS: [&str; 6] = ["info", "warn", "error", "debug", "println", "eprintln"];

#[derive(Default)]
struct Messages {
    found: Vec<(usize, &'static str, String)>,
}

/// The texts within an expression; what stands in a macro within it counts as well.
#[derive(Default)]
struct Texts(Vec<(usize, String)>);

impl<'ast> Visit<'ast> for Texts {
    fn visit_expr_lit(&mut self, literal: &'ast ExprLit) {
        if let Lit::Str(text) = &literal.lit {
            self.0.push((text.span().start().line, text.value()));
        }
    }

    fn visit_macro(&mut self, of: &'ast Macro) {
        for token in of.tokens.clone() {
            if let Ok(text) = syn::parse2::<syn::LitStr>(token.into()) {
                self.0.push((text.span().start().line, text.value()));
            }
        }
    }
}

impl Messages {
    fn add<'a>(&mut self, kind: &'static str, expressions: impl Iterator<Item = &'a Expr>) {
        let mut texts = Texts::default();
        expressions.for_each(|expression| texts.visit_expr(expression));
        // A code or a key is one word.
        let sentences = texts
            .0
            .into_iter()
            .filter(|(_, text)| text.trim().contains(' '));
        self.found
            .extend(sentences.map(|(line, text)| (line, kind, text)));
    }
}

fn is_test(attributes: &[Attribute]) -> bool {
    let is = |attribute: &Attribute| {
        let list = attribute.meta.require_list();
        attribute.path().is_ident("test")
            || attribute.path().is_ident("cfg")
                && list.is_ok_and(|l| l.tokens.to_string() == "test")
    };
    attributes.iter().any(is)
}

impl<'ast> Visit<'ast> for Messages {
    fn visit_item(&mut self, item: &'ast Item) {
        let attributes = match item {
            Item::Mod(item) => &item.attrs,
            Item::Fn(item) => &item.attrs,
            Item::Impl(item) => &item.attrs,
            _ => &[][..],
        };
        if !is_test(attributes) {
            visit::visit_item(self, item);
        }
    }

    fn visit_attribute(&mut self, attribute: &'ast Attribute) {
        if attribute.path().is_ident("error") {
            let list = attribute.meta.require_list();
            let first = list
                .ok()
                .and_then(|list| list.tokens.clone().into_iter().next());
            if let Some(text) = first.and_then(|t| syn::parse2::<syn::LitStr>(t.into()).ok()) {
                self.found
                    .push((text.span().start().line, "error", text.value()));
            }
        }
    }

    fn visit_expr_call(&mut self, call: &'ast ExprCall) {
        if let Expr::Path(path) = &*call.func {
            let names: Vec<String> = path
                .path
                .segments
                .iter()
                .map(|s| s.ident.to_string())
                .collect();
            let last = names[names.len().saturating_sub(2)..].join("::");
            if MAKERS.contains(&last.as_str()) {
                self.add("message", call.args.iter());
            }
        }
        visit::visit_expr_call(self, call);
    }

    fn visit_expr_method_call(&mut self, call: &'ast ExprMethodCall) {
        let name = call.method.to_string();
        if let Some(method) = METHODS.iter().find(|method| **method == name) {
            self.add(method, call.args.iter());
        }
        visit::visit_expr_method_call(self, call);
    }

    fn visit_macro(&mut self, of: &'ast Macro) {
        let name = of.path.segments.last().map(|s| s.ident.to_string());
        let kind = MACROS.iter().find(|kind| name.as_deref() == Some(**kind));
        if let Some(kind) = kind {
            let mut texts = Texts::default();
            texts.visit_macro(of);
            let sentences = texts
                .0
                .into_iter()
                .filter(|(_, text)| text.trim().contains(' '));
            self.found
                .extend(sentences.map(|(line, text)| (line, *kind, text)));
        }
    }
}

/// Words that the program's messages once had and that a stranger must guess at.
const OPAQUE: [&str; 6] = [
    "cannot be meant",
    "is none here",
    "is of another",
    "told as",
    "nothing tells",
    " nought",
];

#[test]
fn every_message_is_a_plain_sentence() {
    let top = Path::new(env!("CARGO_MANIFEST_DIR")).join("..");
    let mut wrong = Vec::new();
    let mut count = 0;
    for room in ["metrology", "protocol", "config", "daemon", "cli"] {
        let mut folders = vec![top.join(room).join("src")];
        let mut files = Vec::new();
        while let Some(folder) = folders.pop() {
            for entry in std::fs::read_dir(folder).unwrap() {
                let path = entry.unwrap().path();
                let name = path.file_name().unwrap().to_str().unwrap().to_owned();
                if path.is_dir() && name != "tests" {
                    folders.push(path);
                } else if name.ends_with(".rs") && name != "tests.rs" {
                    files.push(path);
                }
            }
        }
        files.sort();
        for path in files {
            let mut messages = Messages::default();
            let text = std::fs::read_to_string(&path).unwrap();
            messages.visit_file(&syn::parse_file(&text).unwrap());
            messages.found.sort();
            messages.found.dedup();
            let name = path.strip_prefix(&top).unwrap().display().to_string();
            for (line, kind, text) in messages.found {
                count += 1;
                println!("{name}:{line} {kind}: {text}");
                let opaque = OPAQUE.iter().find(|words| text.contains(**words));
                if let Some(opaque) = opaque {
                    wrong.push(format!("{name}:{line}: `{opaque}` in {text:?}"));
                }
                let has_full_stop = text.ends_with('.') && !text.ends_with("...");
                if text.contains("  ") && kind != "println" || has_full_stop && kind == "error" {
                    wrong.push(format!("{name}:{line}: blanks or a full stop in {text:?}"));
                }
            }
        }
    }
    assert!(count > 600, "{count} messages were found");
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
