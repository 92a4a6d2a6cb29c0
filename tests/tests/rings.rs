//! No ring of modules within a room: a file may use what stands below it, and nothing that uses it again.
//!
//! What counts is a path that a file writes, in a `use` or in the code: it leads to the file that defines the name, through
//! re-exports. Not counted are tests, and that a part uses what the module above it defines (`super::Step` in `step/zero/mod.rs`): a
//! module and its parts are one thing.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use syn::visit::{self, Visit};
use syn::{Attribute, Item, ItemUse, UseTree};

const ROOMS: [&str; 5] = ["metrology", "protocol", "config", "daemon", "cli"];

/// The names of the modules down to a file, from the room's root, which has none.
type Module = Vec<String>;

/// What a file says of other modules.
#[derive(Default)]
struct Said {
    /// Paths that begin with `crate`, `super`, `self` or the name of a part.
    paths: Vec<Vec<String>>,
    /// Names that are handed on, each with the path that it has here.
    handed_on: BTreeMap<String, Vec<String>>,
    /// The modules whose names are all handed on.
    all_of: Vec<Vec<String>>,
    parts: BTreeSet<String>,
    /// Functions may have the name of a part.
    functions: BTreeSet<String>,
}

fn is_test(attributes: &[Attribute]) -> bool {
    attributes.iter().any(|attribute| {
        let condition = attribute.meta.require_list();
        attribute.path().is_ident("cfg")
            && condition.is_ok_and(|list| list.tokens.to_string() == "test")
    })
}

/// The paths of a use, each with the name that it gets.
fn flattened(tree: &UseTree, before: &[String], into: &mut Vec<(String, Vec<String>)>) {
    let with = |name: &syn::Ident| [before, &[name.to_string()]].concat();
    match tree {
        UseTree::Path(path) => flattened(&path.tree, &with(&path.ident), into),
        UseTree::Group(group) => {
            for tree in &group.items {
                flattened(tree, before, into);
            }
        }
        UseTree::Name(name) if name.ident == "self" => {
            into.push((before.last().cloned().unwrap_or_default(), before.to_vec()));
        }
        UseTree::Name(name) => into.push((name.ident.to_string(), with(&name.ident))),
        UseTree::Rename(renamed) => into.push((renamed.rename.to_string(), with(&renamed.ident))),
        UseTree::Glob(_) => into.push(("*".to_owned(), before.to_vec())),
    }
}

impl<'ast> Visit<'ast> for Said {
    fn visit_item(&mut self, item: &'ast Item) {
        let attributes = match item {
            Item::Mod(item) => &item.attrs,
            Item::Fn(item) => &item.attrs,
            Item::Use(item) => &item.attrs,
            Item::Impl(item) => &item.attrs,
            _ => &[][..],
        };
        if !is_test(attributes) {
            visit::visit_item(self, item);
        }
    }

    fn visit_item_fn(&mut self, item: &'ast syn::ItemFn) {
        self.functions.insert(item.sig.ident.to_string());
        visit::visit_item_fn(self, item);
    }

    fn visit_item_mod(&mut self, item: &'ast syn::ItemMod) {
        if item.content.is_none() {
            self.parts.insert(item.ident.to_string());
        }
        visit::visit_item_mod(self, item);
    }

    fn visit_item_use(&mut self, item: &'ast ItemUse) {
        let mut uses = Vec::new();
        flattened(&item.tree, &[], &mut uses);
        let is_private = matches!(item.vis, syn::Visibility::Inherited);
        for (name, path) in uses {
            if !is_private && name == "*" {
                self.all_of.push(path.clone());
            } else if !is_private {
                self.handed_on.insert(name, path.clone());
            }
            self.paths.push(path);
        }
    }

    fn visit_path(&mut self, path: &'ast syn::Path) {
        let names = path.segments.iter().map(|part| part.ident.to_string());
        self.paths.push(names.collect());
        visit::visit_path(self, path);
    }

    fn visit_macro(&mut self, of: &'ast syn::Macro) {
        // The paths in a macro's text, as far as they begin with a word that leads into the room.
        let text = of.tokens.to_string().replace(" :: ", "::");
        let is_part = |c: char| c.is_alphanumeric() || c == '_' || c == ':';
        for word in text
            .split(|c| !is_part(c))
            .filter(|word| word.contains("::"))
        {
            self.paths
                .push(word.split("::").map(str::to_owned).collect());
        }
        visit::visit_macro(self, of);
    }
}

struct Room {
    files: BTreeMap<Module, Said>,
}

impl Room {
    fn read(src: &Path) -> Self {
        let mut files = BTreeMap::new();
        let mut folders = vec![(src.to_owned(), Vec::new())];
        while let Some((folder, above)) = folders.pop() {
            for entry in std::fs::read_dir(folder).unwrap() {
                let path = entry.unwrap().path();
                let stem = path.file_stem().unwrap().to_str().unwrap().to_owned();
                let below: Module = [above.clone(), vec![stem.clone()]].concat();
                if path.is_dir() {
                    folders.push((path, below));
                } else if path.extension().is_some_and(|e| e == "rs") && stem != "main" {
                    let module = if stem == "mod" || stem == "lib" {
                        above.clone()
                    } else {
                        below
                    };
                    let text = std::fs::read_to_string(&path).unwrap();
                    let mut said = Said::default();
                    said.visit_file(&syn::parse_file(&text).unwrap());
                    files.insert(module, said);
                }
            }
        }
        Self { files }
    }

    /// The path from the room's root, where a path that is written in a module leads into the room.
    fn absolute(&self, module: &[String], path: &[String]) -> Option<Vec<String>> {
        let mut from: Module = match path.first()?.as_str() {
            "crate" => Vec::new(),
            "self" => module.to_vec(),
            "super" => module[..module.len().checked_sub(1)?].to_vec(),
            first if self.files[module].parts.contains(first) => {
                return Some([module, path].concat());
            }
            _ => return None,
        };
        let mut rest = &path[1..];
        while rest.first().is_some_and(|name| name == "super") {
            from.pop()?;
            rest = &rest[1..];
        }
        Some([&from, rest].concat())
    }

    /// The file in which the name is defined that a path from the root leads to.
    fn defining(&self, path: &[String], depth: usize) -> Module {
        let length = (0..=path.len())
            .rev()
            .find(|n| self.files.contains_key(&path[..*n]));
        let (mut module, rest) = path.split_at(length.unwrap());
        if let (Some((name, above)), []) = (module.split_last(), rest)
            && self.files[above].functions.contains(name)
        {
            module = above;
        }
        let Some(name) = rest.first().filter(|_| depth < 8) else {
            return module.to_vec();
        };
        let said = &self.files[module];
        let named = said.handed_on.get(name);
        let through = named.and_then(|path| self.absolute(module, path));
        match through {
            Some(further) => self.defining(&[&further, &rest[1..]].concat(), depth + 1),
            None => module.to_vec(),
        }
    }

    /// Which file uses which, but for a part that uses the module above it.
    fn arrows(&self) -> BTreeMap<&Module, BTreeSet<Module>> {
        let mut arrows: BTreeMap<&Module, BTreeSet<Module>> = BTreeMap::new();
        for (module, said) in &self.files {
            let used = said.paths.iter().chain(&said.all_of);
            let used = used.filter_map(|path| self.absolute(module, path));
            let used = used.map(|path| self.defining(&path, 0));
            let used = used.filter(|used| !module.starts_with(used));
            arrows.insert(module, used.collect());
        }
        arrows
    }
}

/// What is left when the files are taken away that use no other, or that no other uses, until there is none.
fn rings(mut arrows: BTreeMap<&Module, BTreeSet<Module>>) -> Vec<String> {
    loop {
        let used: BTreeSet<Module> = arrows.values().flatten().cloned().collect();
        let before = arrows.len();
        arrows.retain(|module, uses| !uses.is_empty() && used.contains(*module));
        if arrows.len() == before {
            break;
        }
        let left: BTreeSet<Module> = arrows.keys().map(|module| (*module).clone()).collect();
        for uses in arrows.values_mut() {
            uses.retain(|used| left.contains(used));
        }
    }
    let arrows = arrows.into_iter().flat_map(|(module, uses)| {
        uses.into_iter()
            .map(move |used| format!("{} -> {}", module.join("::"), used.join("::")))
    });
    arrows.collect()
}

#[test]
fn no_room_has_a_ring() {
    let top = Path::new(env!("CARGO_MANIFEST_DIR")).join("..");
    let mut found = Vec::new();
    for room in ROOMS {
        let read = Room::read(&top.join(room).join("src"));
        let arrows = read.arrows();
        assert!(
            arrows.values().flatten().count() > 20,
            "{room}: arrows were found"
        );
        found.extend(
            rings(arrows)
                .into_iter()
                .map(|arrow| format!("{room}: {arrow}")),
        );
    }
    assert!(
        found.is_empty(),
        "files that use each other in a ring:\n{}",
        found.join("\n")
    );
}

#[test]
fn a_ring_is_found_and_a_part_of_a_module_is_none() {
    let folder = tempfile::tempdir().unwrap();
    let write = |name: &str, text: &str| {
        let path = folder.path().join(name);
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(path, text).unwrap();
    };
    write("lib.rs", "mod a; mod b; mod c; pub struct Top;");
    write(
        "a/mod.rs",
        "mod part; pub use part::Part; pub struct Whole;",
    );
    write(
        "a/part.rs",
        "use super::Whole; use crate::Top; pub struct Part(Whole, Top);",
    );
    write(
        "b.rs",
        "use crate::a::Part; #[cfg(test)] mod tests { use crate::c::Third; }",
    );
    write("c.rs", "use crate::b; pub struct Third;");
    assert_eq!(rings(Room::read(folder.path()).arrows()), [""; 0]);
    // The part, reached through what its module hands on, now uses what uses it.
    write(
        "a/part.rs",
        "pub struct Part; fn f() { let _ = crate::c::Third; }",
    );
    let found = rings(Room::read(folder.path()).arrows());
    assert_eq!(found, ["a::part -> c", "b -> a::part", "c -> b"]);
}
