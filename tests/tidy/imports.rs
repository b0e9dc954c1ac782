//! The arrows of the source, read from its own text: which file names things of which other file.
//!
//! A name that is handed on with `pub use` leads to the file that defines it, and to each that hands
//! it on: without them it does not compile. But those in a folder may take from the folder's own file
//! what it shows, and handing on by itself is no arrow. Tests at the foot of a file do not count, nor
//! do method calls, whose receiver's type is not written where they stand.

use std::collections::{BTreeMap, BTreeSet, VecDeque};

use proc_macro2::{TokenStream, TokenTree};
use syn::visit::{self, Visit};

/// A path from the root of the crate, without `crate`: `["belief", "joint", "Joint"]`.
type Name = Vec<String>;

/// What one file says: its module, what it hands on, and every path that it names.
struct Said {
    /// Names that a module hands on, with where they come from; `*` for all of a module.
    handed_on: Vec<(Name, String, Name)>,
    named: Vec<Name>,
}

/// Which files name things of which others, by path under `src`.
pub type Arrows = BTreeMap<String, BTreeSet<String>>;

/// The module that a source holds: `belief/joint.rs` is `["belief", "joint"]`.
fn module_of(file: &str) -> Name {
    let path = file.trim_end_matches(".rs");
    if matches!(path, "lib" | "main") { Vec::new() } else { parts(path) }
}

fn parts(path: &str) -> Name {
    path.split('/').map(String::from).collect()
}

/// Whether `attributes` keep an item out of everything but tests.
pub fn only_for_tests(attributes: &[syn::Attribute]) -> bool {
    attributes.iter().any(|attribute| match &attribute.meta {
        syn::Meta::List(list) => {
            list.path.is_ident("cfg") && list.tokens.to_string().starts_with("test")
        }
        _ => false,
    })
}

struct Reader {
    module: Name,
    /// Modules declared and names brought in by `use`, in the module that is being read.
    known: BTreeMap<String, Name>,
    said: Said,
}

impl Reader {
    /// The path from the root, or `None` for what other crates define.
    fn absolute(&self, segments: &[String]) -> Option<Name> {
        let mut base = self.module.clone();
        let mut rest = segments;
        match rest.first()?.as_str() {
            "crate" | "waystock" => {
                base.clear();
                rest = &rest[1..];
            }
            "self" => rest = &rest[1..],
            "super" => {}
            first => {
                base = self.known.get(first)?.clone();
                rest = &rest[1..];
            }
        }
        while rest.first().is_some_and(|first| first == "super") {
            base.pop();
            rest = &rest[1..];
        }
        base.extend(rest.iter().cloned());
        Some(base)
    }

    fn names(&mut self, segments: &[String]) {
        if let Some(name) = self.absolute(segments) {
            self.said.named.push(name);
        }
    }

    /// Every leaf of a `use`, with the name that it has here.
    fn leaves(tree: &syn::UseTree, before: &Name, found: &mut Vec<(String, Name)>) {
        let with = |ident: &syn::Ident| {
            let mut path = before.clone();
            if ident != "self" || before.is_empty() {
                path.push(ident.to_string());
            }
            path
        };
        match tree {
            syn::UseTree::Path(path) => Self::leaves(&path.tree, &with(&path.ident), found),
            syn::UseTree::Name(name) => {
                let path = with(&name.ident);
                found.push((path.last().cloned().unwrap_or_default(), path));
            }
            syn::UseTree::Rename(name) => found.push((name.rename.to_string(), with(&name.ident))),
            syn::UseTree::Glob(_) => found.push(("*".to_string(), before.clone())),
            syn::UseTree::Group(group) => {
                for item in &group.items {
                    Self::leaves(item, before, found);
                }
            }
        }
    }

    /// Brings in what `items` declare and use, before any path of theirs is read.
    fn learn(&mut self, items: &[syn::Item]) {
        for item in items {
            match item {
                syn::Item::Mod(inner) if !only_for_tests(&inner.attrs) => {
                    let mut path = self.module.clone();
                    path.push(inner.ident.to_string());
                    self.known.insert(inner.ident.to_string(), path);
                }
                syn::Item::Use(line) if !only_for_tests(&line.attrs) => self.learn_use(line),
                _ => {}
            }
        }
    }

    fn learn_use(&mut self, line: &syn::ItemUse) {
        let mut found = Vec::new();
        Self::leaves(&line.tree, &Vec::new(), &mut found);
        for (here, path) in found {
            let Some(path) = self.absolute(&path) else { continue };
            if matches!(line.vis, syn::Visibility::Inherited) {
                self.said.named.push(path.clone());
            } else {
                self.said.handed_on.push((self.module.clone(), here.clone(), path.clone()));
            }
            self.known.insert(here, path);
        }
    }

    fn tokens(&mut self, tokens: TokenStream) {
        let mut path: Name = Vec::new();
        let mut colons = 0;
        for token in tokens {
            match token {
                TokenTree::Ident(ident) => {
                    if colons < 2 {
                        self.end(&mut path);
                    }
                    path.push(ident.to_string());
                    colons = 0;
                }
                TokenTree::Punct(punct) if punct.as_char() == ':' => colons += 1,
                TokenTree::Group(group) => {
                    self.end(&mut path);
                    self.tokens(group.stream());
                }
                _ => self.end(&mut path),
            }
        }
        self.end(&mut path);
    }

    fn end(&mut self, path: &mut Name) {
        if path.len() > 1 {
            self.names(path);
        }
        path.clear();
    }
}

impl<'ast> Visit<'ast> for Reader {
    fn visit_item(&mut self, item: &'ast syn::Item) {
        let attributes = match item {
            syn::Item::Fn(item) => &item.attrs,
            syn::Item::Impl(item) => &item.attrs,
            syn::Item::Mod(item) => &item.attrs,
            syn::Item::Use(item) => &item.attrs,
            _ => &Vec::new(),
        };
        if !only_for_tests(attributes) {
            visit::visit_item(self, item);
        }
    }

    fn visit_item_mod(&mut self, inner: &'ast syn::ItemMod) {
        let Some((_, items)) = &inner.content else { return };
        self.module.push(inner.ident.to_string());
        let outside = self.known.clone();
        self.learn(items);
        visit::visit_item_mod(self, inner);
        self.known = outside;
        self.module.pop();
    }

    fn visit_item_use(&mut self, _: &'ast syn::ItemUse) {}

    fn visit_path(&mut self, path: &'ast syn::Path) {
        let segments: Name = path.segments.iter().map(|s| s.ident.to_string()).collect();
        if segments.len() > 1 {
            self.names(&segments);
        }
        visit::visit_path(self, path);
    }

    // `#[arg(value_parser = super::journal::kind)]` names a function as well.
    fn visit_attribute(&mut self, attribute: &'ast syn::Attribute) {
        if let syn::Meta::List(list) = &attribute.meta {
            self.tokens(list.tokens.clone());
        }
    }

    fn visit_macro(&mut self, call: &'ast syn::Macro) {
        self.tokens(call.tokens.clone());
    }
}

fn read(file: &str, text: &str) -> Said {
    let tree = syn::parse_file(text).unwrap_or_else(|error| panic!("src/{file}: {error}"));
    let said = Said { handed_on: Vec::new(), named: Vec::new() };
    let mut reader = Reader { module: module_of(file), known: BTreeMap::new(), said };
    reader.learn(&tree.items);
    reader.visit_file(&tree);
    reader.said
}

/// Where names lead: modules to files, and names that modules hand on to where they come from.
struct Places {
    files: BTreeMap<Name, String>,
    handed_on: BTreeMap<Name, Vec<(String, Name)>>,
}

impl Places {
    /// The files that `name` leads through: each that hands it on, and last the one that defines it.
    /// A module as such leads nowhere.
    fn files_of(&self, name: &[String]) -> Vec<&String> {
        let inside = (0..=name.len()).rev().find(|n| self.files.contains_key(&name[..*n]));
        let Some((module, rest)) = inside.map(|n| name.split_at(n)) else { return Vec::new() };
        let Some(first) = rest.first() else { return Vec::new() };
        let mut found = vec![&self.files[module]];
        let mut handed_on = self.handed_on.get(module).into_iter().flatten();
        if let Some((_, from)) = handed_on.find(|(here, _)| here == first) {
            found.extend(self.files_of(&[from, &rest[1..]].concat()));
        }
        found
    }
}

/// Draws every arrow from `sources` (paths under `src`, with their texts).
pub fn arrows(sources: &[(String, String)]) -> Arrows {
    let own = |file: &str| !file.ends_with("tests.rs") && !file.contains("fixture");
    let said: Vec<(&String, Said)> = sources
        .iter()
        .filter(|(file, _)| own(file))
        .map(|(file, text)| (file, read(file, text)))
        .collect();
    let files = said.iter().filter(|(file, _)| *file != "main.rs");
    let files = files.map(|(file, _)| (module_of(file), file.to_string())).collect();
    let mut handed_on: BTreeMap<Name, Vec<(String, Name)>> = BTreeMap::new();
    for (module, here, from) in said.iter().flat_map(|(_, said)| &said.handed_on) {
        handed_on.entry(module.clone()).or_default().push((here.clone(), from.clone()));
    }
    let places = Places { files, handed_on };
    said.iter()
        .map(|(file, said)| {
            let module = module_of(file);
            let to = said.named.iter().flat_map(|name| {
                let mut files = places.files_of(name);
                let defines = files.pop();
                files.retain(|hands_on| !module.starts_with(&module_of(hands_on)));
                files.into_iter().chain(defines)
            });
            let to = to.filter(|to| to != file && *to != "lib.rs");
            (file.to_string(), to.cloned().collect())
        })
        .collect()
}

/// The shortest way from `start` along the arrows back to `start`, if there is one.
pub fn way_back(arrows: &Arrows, start: &str) -> Option<Vec<String>> {
    let mut came_from: BTreeMap<&str, &str> = BTreeMap::new();
    let mut waiting = VecDeque::from([start]);
    while let Some(file) = waiting.pop_front() {
        for next in arrows.get(file).into_iter().flatten() {
            if next == start {
                let mut way = vec![start.to_string(), file.to_string()];
                let mut at = file;
                while at != start {
                    at = came_from[at];
                    way.push(at.to_string());
                }
                way.reverse();
                return Some(way);
            }
            if !came_from.contains_key(next.as_str()) {
                came_from.insert(next, file);
                waiting.push_back(next);
            }
        }
    }
    None
}

/// The same arrows between what `unit_of` says that files belong to.
pub fn between(arrows: &Arrows, unit_of: impl Fn(&str) -> Option<String>) -> Arrows {
    let mut found = Arrows::new();
    for (from, to) in arrows {
        let Some(from) = unit_of(from) else { continue };
        let units = to.iter().filter_map(|to| unit_of(to)).filter(|to| *to != from);
        let units: BTreeSet<String> = units.collect();
        found.entry(from).or_default().extend(units);
    }
    found
}

/// Every circle among `arrows`, each told once, as the way that leads back.
pub fn circles(arrows: &Arrows) -> Vec<String> {
    let mut told: BTreeSet<String> = BTreeSet::new();
    let mut found = Vec::new();
    for file in arrows.keys() {
        if told.contains(file) {
            continue;
        }
        if let Some(way) = way_back(arrows, file) {
            found.push(way.join(" -> "));
            told.extend(way);
        }
    }
    found
}

/// A file of a toy source.
fn source(file: &str, text: &str) -> (String, String) {
    (file.to_string(), text.to_string())
}

/// A function that only an attribute names is named all the same.
#[test]
fn an_attribute_names_what_stands_in_it() {
    let sources = [
        source("lib.rs", "mod tank;\nmod hose;"),
        source("tank.rs", "struct Tank { #[arg(value_parser = crate::hose::kind)] kind: u8 }"),
        source("hose.rs", "pub fn kind() {}\nfn fill(_: crate::tank::Tank) {}"),
    ];
    assert_eq!(circles(&arrows(&sources)), ["hose.rs -> tank.rs -> hose.rs"]);
}

/// Three files in a circle, one arrow of which is a name that another file defines and the second
/// only hands on: it leads to both.
#[test]
fn a_circle_through_a_name_that_is_handed_on_is_found() {
    let sources = [
        source("lib.rs", "mod water;\nmod tank;\nmod hose;\nmod gauge;"),
        source("water.rs", "pub struct Litre;"),
        source(
            "tank.rs",
            "pub use crate::water::Litre as Full;\nfn fill() { crate::hose::run(); }",
        ),
        source("hose.rs", "pub fn run() { crate::gauge::read(); }"),
        source("gauge.rs", "use crate::tank::Full;\npub fn read() -> Full { Full }"),
    ];
    let drawn = arrows(&sources);
    assert_eq!(circles(&drawn), ["gauge.rs -> tank.rs -> hose.rs -> gauge.rs"]);
    assert!(drawn["gauge.rs"].contains("water.rs"), "{drawn:?}");
    // What a folder shows, those in it may take from there.
    let sources = [
        source("lib.rs", "mod water;\nmod tank;"),
        source("water.rs", "pub struct Litre;"),
        source("tank.rs", "mod level;\npub use crate::water::Litre;\nfn fill() { level::read(); }"),
        source("tank/level.rs", "use super::Litre;\npub fn read() -> Litre { Litre }"),
    ];
    assert!(circles(&arrows(&sources)).is_empty());
}

/// Three files of which two name each other, one of them through a name that is handed on.
#[test]
fn a_circle_is_found_where_one_is() {
    let sources = [
        source("lib.rs", "pub mod tank;\npub mod hose;"),
        source("tank.rs", "mod level;\npub use level::Level;\npub fn full() -> bool { true }"),
        source("tank/level.rs", "pub struct Level;\nfn flow() { crate::hose::run(&[Level]); }"),
        source("hose.rs", "use crate::tank;\npub fn run(_: &[tank::Level]) {}"),
    ];
    let drawn = arrows(&sources);
    assert_eq!(circles(&drawn), ["hose.rs -> tank/level.rs -> hose.rs"]);
    assert!(drawn["tank.rs"].is_empty(), "a name handed on is no use of it: {drawn:?}");
    let told =
        |text: &str| arrows(&[sources[0].clone(), sources[3].clone(), source("tank.rs", text)]);
    let in_a_macro = told("fn full() { assert!(crate::hose::run(&[]) == ()); }");
    assert!(in_a_macro["tank.rs"].contains("hose.rs"), "{in_a_macro:?}");
    let in_tests = told("#[cfg(test)]\nmod tests { fn full() { crate::hose::run(&[]); } }");
    assert!(in_tests["tank.rs"].is_empty(), "{in_tests:?}");
}
