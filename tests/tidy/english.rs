//! Answers are worded in `text` and the two fronts; what computes them returns values.
//!
//! What a person's input is refused with stands beside the check that refuses it (`domain::fault`,
//! `logline`, `exchange`, `store`): each such phrase is said in one place only.

use proc_macro2::{TokenStream, TokenTree};
use syn::visit::{self, Visit};

use super::imports::only_for_tests;
use super::{belongs, sources};

/// Folders that compute, and so have nothing to say.
const SILENT: &[&str] = &["physics", "mechanism", "weather", "belief", "forecast", "plan"];

/// Macros whose words only somebody reads who has the source at hand.
const FOR_DEVELOPERS: &[&str] = &["assert", "debug_assert", "unreachable", "panic"];

/// Words in a row, beyond which a text is a phrase and no name of a thing.
const PHRASE: usize = 3;

#[derive(Default)]
struct Texts(Vec<String>);

impl Texts {
    fn keep(&mut self, text: &str) {
        let mut inside = 0;
        let plain = text.chars().filter(|c| {
            inside += i32::from(*c == '{') - i32::from(*c == '}');
            inside == 0
        });
        let plain: String = plain.collect();
        let word = |w: &&str| w.len() > 1 && w.chars().all(|c| c.is_ascii_lowercase());
        let words = plain.split(|c: char| !c.is_ascii_alphanumeric()).filter(word).count();
        if words >= PHRASE && text.contains(' ') {
            self.0.push(text.to_string());
        }
    }

    fn tokens(&mut self, tokens: TokenStream) {
        for token in tokens {
            match token {
                TokenTree::Group(group) => self.tokens(group.stream()),
                TokenTree::Literal(literal) => {
                    if let Ok(text) = syn::parse_str::<syn::LitStr>(&literal.to_string()) {
                        self.keep(&text.value());
                    }
                }
                _ => {}
            }
        }
    }
}

impl<'ast> Visit<'ast> for Texts {
    fn visit_attribute(&mut self, _: &'ast syn::Attribute) {}

    fn visit_item(&mut self, item: &'ast syn::Item) {
        match item {
            syn::Item::Mod(inner) if only_for_tests(&inner.attrs) => {}
            _ => visit::visit_item(self, item),
        }
    }

    fn visit_expr_method_call(&mut self, call: &'ast syn::ExprMethodCall) {
        match call.method == "expect" {
            true => self.visit_expr(&call.receiver),
            false => visit::visit_expr_method_call(self, call),
        }
    }

    fn visit_lit_str(&mut self, text: &'ast syn::LitStr) {
        self.keep(&text.value());
    }

    fn visit_macro(&mut self, call: &'ast syn::Macro) {
        let name = call.path.segments.last().map(|s| s.ident.to_string()).unwrap_or_default();
        if !FOR_DEVELOPERS.iter().any(|known| name.starts_with(known)) {
            self.tokens(call.tokens.clone());
        }
    }
}

fn phrases(text: &str) -> Vec<String> {
    let mut texts = Texts::default();
    texts.visit_file(&syn::parse_file(text).unwrap());
    texts.0
}

#[test]
fn what_computes_says_nothing() {
    let mut found = Vec::new();
    for (name, text) in sources() {
        let silent = SILENT.iter().any(|folder| belongs(&name, folder));
        if silent && !name.ends_with("tests.rs") {
            found
                .extend(phrases(&text).into_iter().map(|phrase| format!("src/{name}: {phrase:?}")));
        }
    }
    assert!(found.is_empty(), "{found:#?}");
}

#[test]
fn a_phrase_is_seen_and_a_name_is_not() {
    let text = r#"
        #[doc = "an attribute is no answer"]
        fn f() {
            say("the tank is full");
            say(&format!("about {what_is_left} left until {day} comes"));
            let name = "shore power";
            name.find(' ').expect("a name of two words");
            assert!(true, "for whoever reads the source");
        }"#;
    let found = phrases(text);
    assert_eq!(found, ["the tank is full", "about {what_is_left} left until {day} comes"]);
}
