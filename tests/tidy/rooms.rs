//! What makes a file hard to live in: functions that do too much at once, and names that are open
//! to the whole crate though nobody outside their folder uses them.

use std::collections::{BTreeMap, BTreeSet};

use syn::spanned::Spanned;
use syn::visit::{self, Visit};

use super::imports::only_for_tests;

/// The most lines of code that a function may have, without blank ones and comments.
const LINES: usize = 60;
/// The most parameters, `self` among them.
const PARAMETERS: usize = 5;

struct Rooms<'a> {
    file: &'a str,
    lines: Vec<&'a str>,
    /// What is wrong, with its place.
    found: Vec<String>,
    /// Items that the whole crate may name, with their lines.
    open: Vec<(String, usize)>,
    /// Words of open signatures and fields: a type that stands there has to be as open.
    shown: BTreeSet<String>,
}

impl Rooms<'_> {
    fn show(&mut self, seen: &syn::Visibility, span: proc_macro2::Span) {
        if matches!(seen, syn::Visibility::Public(_)) {
            let lines = &self.lines[span.start().line - 1..span.end().line];
            self.shown.extend(lines.iter().flat_map(|line| words(line)).map(String::from));
        }
    }

    fn lines_of_code(&self, span: proc_macro2::Span) -> usize {
        let lines = &self.lines[span.start().line - 1..span.end().line];
        let code = |line: &&&str| !line.trim().is_empty() && !line.trim().starts_with("//");
        lines.iter().filter(code).count()
    }

    fn function(
        &mut self,
        seen: &syn::Visibility,
        signature: &syn::Signature,
        whole: Option<usize>,
    ) {
        let name = &signature.ident;
        let place = format!("src/{}:{}: {name}", self.file, signature.span().start().line);
        if let Some(lines) = whole.filter(|lines| *lines > LINES) {
            self.found.push(format!("{place}: {lines} lines, at most {LINES}"));
        }
        let count = signature.inputs.len();
        if count > PARAMETERS {
            self.found.push(format!("{place}: {count} parameters, at most {PARAMETERS}"));
        }
        let bare = |input: &&syn::FnArg| match input {
            syn::FnArg::Typed(typed) => {
                matches!(&*typed.ty, syn::Type::Path(path) if path.path.is_ident("bool"))
            }
            syn::FnArg::Receiver(_) => false,
        };
        if !matches!(seen, syn::Visibility::Inherited) && signature.inputs.iter().any(|i| bare(&i))
        {
            self.found.push(format!("{place}: a bare bool says nothing where it is called"));
        }
        for part in &signature.inputs {
            self.show(seen, part.span());
        }
        self.show(seen, signature.output.span());
        self.item(seen, name);
    }

    fn item(&mut self, seen: &syn::Visibility, name: &syn::Ident) {
        if matches!(seen, syn::Visibility::Public(_)) {
            self.open.push((name.to_string(), name.span().start().line));
        }
    }
}

impl<'ast> Visit<'ast> for Rooms<'_> {
    fn visit_item(&mut self, item: &'ast syn::Item) {
        match item {
            syn::Item::Mod(inner) if only_for_tests(&inner.attrs) => return,
            syn::Item::Fn(inner) if only_for_tests(&inner.attrs) => return,
            syn::Item::Impl(inner) if only_for_tests(&inner.attrs) => return,
            syn::Item::Struct(inner) => self.item(&inner.vis, &inner.ident),
            syn::Item::Enum(inner) => self.item(&inner.vis, &inner.ident),
            syn::Item::Const(inner) => self.item(&inner.vis, &inner.ident),
            syn::Item::Type(inner) => self.item(&inner.vis, &inner.ident),
            syn::Item::Trait(inner) => self.item(&inner.vis, &inner.ident),
            _ => {}
        }
        visit::visit_item(self, item);
    }

    fn visit_field(&mut self, field: &'ast syn::Field) {
        self.show(&field.vis, field.ty.span());
    }

    fn visit_variant(&mut self, variant: &'ast syn::Variant) {
        for field in &variant.fields {
            self.show(&syn::Visibility::Public(Default::default()), field.ty.span());
        }
    }

    fn visit_item_fn(&mut self, item: &'ast syn::ItemFn) {
        let lines = self.lines_of_code(item.block.span());
        self.function(&item.vis, &item.sig, Some(lines));
        visit::visit_item_fn(self, item);
    }

    fn visit_impl_item_fn(&mut self, item: &'ast syn::ImplItemFn) {
        if only_for_tests(&item.attrs) {
            return;
        }
        let lines = self.lines_of_code(item.block.span());
        self.function(&item.vis, &item.sig, Some(lines));
        visit::visit_impl_item_fn(self, item);
    }

    fn visit_impl_item_const(&mut self, item: &'ast syn::ImplItemConst) {
        self.item(&item.vis, &item.ident);
    }

    fn visit_trait_item_fn(&mut self, item: &'ast syn::TraitItemFn) {
        self.function(&syn::Visibility::Inherited, &item.sig, None);
    }
}

/// Types are the only names in camel case.
fn is_a_type(name: &str) -> bool {
    name.starts_with(char::is_uppercase) && name.contains(char::is_lowercase)
}

fn words(text: &str) -> impl Iterator<Item = &str> {
    text.split(|c: char| !c.is_alphanumeric() && c != '_').filter(|word| !word.is_empty())
}

/// What is wrong in `sources` (paths under `src`, with their texts), by folder. `tests` are texts
/// of tests and benches, which may name what they try.
pub fn found(sources: &[(String, String)], tests: &[String]) -> BTreeMap<String, Vec<String>> {
    let folder = |file: &str| file.split(['/', '.']).next().unwrap_or(file).to_string();
    let mut named_in: BTreeMap<&str, BTreeSet<String>> = BTreeMap::new();
    for (file, text) in sources {
        for word in words(text) {
            named_in.entry(word).or_default().insert(folder(file));
        }
    }
    for word in tests.iter().flat_map(|text| words(text)) {
        named_in.entry(word).or_default().insert("tests".to_string());
    }
    let mut found: BTreeMap<String, Vec<String>> = BTreeMap::new();
    let mut open: Vec<(String, String, String)> = Vec::new();
    let mut shown: BTreeSet<String> = BTreeSet::new();
    for (file, text) in sources {
        if file.ends_with("tests.rs") || file.contains("fixture") || file == "lib.rs" {
            continue;
        }
        let tree = syn::parse_file(text).unwrap_or_else(|error| panic!("src/{file}: {error}"));
        let lines = text.lines().collect();
        let mut rooms =
            Rooms { file, lines, found: Vec::new(), open: Vec::new(), shown: BTreeSet::new() };
        rooms.visit_file(&tree);
        let places = rooms.open.into_iter();
        open.extend(places.map(|(name, line)| (folder(file), name, format!("src/{file}:{line}"))));
        shown.extend(rooms.shown);
        found.entry(folder(file)).or_default().extend(rooms.found);
    }
    let alone = |own: &String, name: &str| {
        !(is_a_type(name) && shown.contains(name))
            && named_in.get(name).is_some_and(|in_| in_.iter().all(|f| f == own))
    };
    for (own, name, place) in open {
        if alone(&own, &name) {
            found
                .entry(own.clone())
                .or_default()
                .push(format!("{place}: {name} is named in {own} alone"));
        }
    }
    found
}

#[test]
fn long_wide_bare_and_too_open_functions_are_found() {
    let long = "    let a = 1;\n    // why\n\n".repeat(LINES + 1);
    let text = format!(
        "pub fn used() {{\n{long}}}\n\
         pub(crate) fn wide(a: u8, b: u8, c: u8, d: u8, e: u8, f: u8) {{}}\n\
         pub fn alone(wet: bool) -> Shown {{}}\npub struct Shown;"
    );
    let sources =
        [("tank.rs".to_string(), text), ("hose.rs".to_string(), "fn f() { used() }".to_string())];
    let found = &found(&sources, &[])["tank"];
    let ends =
        ["63 lines, at most 60", "6 parameters, at most 5", "where it is called", "in tank alone"];
    assert_eq!(found.len(), ends.len(), "{found:#?}");
    for (line, end) in found.iter().zip(ends) {
        assert!(line.ends_with(end), "{line}");
    }
}
