//! Kinds of a thing that a van has, such as its battery and its toilet: what each is called, and how
//! it is written in place of another.

use super::table::rows;
use crate::store::rig_edit::{append, get, removed_with_comments, set};
use crate::store::ron_text::scan;

/// What has kinds.
pub(super) const TOILET: &str = "toilet";
pub(super) const BATTERY: &str = "battery";

/// See the head of the table.
const KINDS: &str = include_str!("../../assets/kinds.txt");

/// One kind.
pub(super) struct Kind {
    /// What it is called.
    pub word: &'static str,
    others: Vec<&'static str>,
    about: &'static str,
    edits: Vec<&'static str>,
}

impl Kind {
    fn of(words: &'static str, about: &'static str) -> Option<Kind> {
        let mut words = words.split(", ");
        Some(Kind { word: words.next()?, others: words.collect(), about, edits: Vec::new() })
    }

    /// Its edits of one sign, without it.
    fn edits(&self, sign: &'static str) -> impl Iterator<Item = &'static str> {
        self.edits.iter().filter_map(move |edit| edit.strip_prefix(sign)?.strip_prefix(' '))
    }

    /// Places and values of its edits of one sign.
    fn values(&self, sign: &'static str) -> impl Iterator<Item = (&'static str, &'static str)> {
        self.edits(sign).filter_map(|edit| edit.split_once(": "))
    }

    /// Lists and names of what its edits of one sign add.
    fn parts(&self, sign: &'static str) -> Vec<String> {
        let place = |(list, item): (&str, &str)| {
            let name = scan(item).ok()?.field(item, "name")?.string(item)?;
            Some(format!("{list}/{name}"))
        };
        self.values(sign).filter_map(place).collect()
    }

    /// Whether the van of a text is of this kind; one without a mark is what is left.
    fn is_of(&self, text: &str) -> bool {
        self.values("?").all(|(place, value)| get(text, place) == Some(value))
    }
}

/// The kinds of a thing.
pub(super) fn kinds(thing: &str) -> Vec<Kind> {
    let mut all: Vec<Kind> = Vec::new();
    let mut own = false;
    for cells in rows(KINDS) {
        if let [head, about] = cells[..] {
            let named = head.strip_prefix('[').and_then(|head| head.split_once("] "));
            own = named.is_some_and(|(of, _)| of == thing);
            all.extend(named.filter(|_| own).and_then(|(_, words)| Kind::of(words, about)));
        } else if let Some(kind) = all.last_mut().filter(|_| own) {
            kind.edits.extend(cells);
        }
    }
    all
}

/// Kinds to choose from, with a remark each.
pub(super) fn choices(thing: &str) -> Vec<(&'static str, &'static str)> {
    kinds(thing).into_iter().map(|kind| (kind.word, kind.about)).collect()
}

/// The kind that a text of a rig has.
pub(super) fn said(text: &str, thing: &str) -> &'static str {
    kinds(thing).into_iter().find(|kind| kind.is_of(text)).map_or("", |kind| kind.word)
}

/// The kind that is offered: one of whose needs the van has already, else its own.
pub(super) fn offered(text: &str, thing: &str) -> &'static str {
    let has_all = |kind: &Kind| {
        let needs = kind.parts("&");
        !needs.is_empty() && needs.iter().all(|need| get(text, need).is_some())
    };
    kinds(thing).into_iter().find(has_all).map_or_else(|| said(text, thing), |kind| kind.word)
}

/// The kind that words name, and what they say besides.
pub(super) fn named(thing: &str, text: &str) -> Option<(&'static str, String)> {
    let text = text.to_lowercase();
    let words = text.split(|c: char| c.is_whitespace() || ",+&/".contains(c));
    let words: Vec<&str> = words.filter(|word| !word.is_empty()).collect();
    let mut found: Option<(usize, &'static str, String)> = None;
    for kind in kinds(thing) {
        for name in kind.others.iter().chain([&kind.word]) {
            let named: Vec<&str> = name.split(' ').collect();
            let at = words.windows(named.len()).position(|part| part == named);
            if let Some(at) = at.filter(|_| found.as_ref().is_none_or(|f| f.0 < name.len())) {
                let rest = [&words[..at], &words[at + named.len()..]].concat().join(" ");
                found = Some((name.len(), kind.word, rest));
            }
        }
    }
    found.map(|(_, word, rest)| (word, rest))
}

/// Whether words name more than one kind.
pub(super) fn names_two(thing: &str, text: &str) -> bool {
    let mut first: Option<&str> = None;
    let mut rest = text.to_string();
    while let Some((word, others)) = named(thing, &rest) {
        if *first.get_or_insert(word) != word {
            return true;
        }
        rest = others;
    }
    false
}

/// What the value at `place` is in a van of the kind that words name, and nothing but that.
pub(super) fn written(place: &str, text: &str) -> Option<String> {
    let of = |thing| {
        let (word, _) = named(thing, text).filter(|(_, rest)| rest.is_empty())?;
        let kind = kinds(thing).into_iter().find(|kind| kind.word == word)?;
        kind.values("=").find(|(own, _)| *own == place).map(|(_, value)| value.to_string())
    };
    [TOILET, BATTERY].into_iter().find_map(of)
}

/// The text of a rig with another kind of a thing; as it is where it has that kind.
///
/// # Errors
/// What is wrong with it, which a test rules out for the templates.
pub(super) fn made(text: &str, thing: &str, word: &str) -> Result<String, String> {
    if said(text, thing) == word {
        return Ok(text.to_string());
    }
    let mut text = text.to_string();
    let all = kinds(thing);
    for place in all.iter().flat_map(|kind| kind.parts("+")) {
        if get(&text, &place).is_some() {
            text = removed_with_comments(&text, &place)?;
        }
    }
    let Some(kind) = all.iter().find(|kind| kind.word == word) else { return Ok(text) };
    for place in kind.edits("-") {
        if get(&text, place).is_some() {
            text = removed_with_comments(&text, place)?;
        }
    }
    let missing = kind.parts("&").into_iter().zip(kind.values("&"));
    let missing = missing.filter(|(place, _)| get(&text, place).is_none()).map(|(_, edit)| edit);
    for (list, item) in kind.values("+").chain(missing.collect::<Vec<_>>()) {
        text = append(&text, list, item)?;
    }
    for (place, value) in kind.values("=") {
        text = set(&text, place, value)?;
    }
    for (place, value) in kind.values("%") {
        let Some((share, of)) = value.split_once(' ') else { continue };
        let whole = get(&text, of).and_then(|whole| whole.parse::<f64>().ok());
        if let Some((whole, share)) = whole.zip(share.parse::<f64>().ok()) {
            text = set(&text, place, &(whole * share).round().to_string())?;
        }
    }
    Ok(text)
}

#[cfg(test)]
mod tests {
    use super::super::parts::parse;
    use super::*;
    use crate::store::templates::TEMPLATES;

    /// Every template becomes every kind, reads clean, is known as that kind again, and its own kind
    /// leaves it as it is, byte for byte.
    #[test]
    fn every_van_can_be_of_every_kind() {
        for template in TEMPLATES {
            for thing in [TOILET, BATTERY, "cooking"] {
                let own = said(template.text, thing);
                assert_eq!(made(template.text, thing, own).as_deref(), Ok(template.text));
                for kind in kinds(thing) {
                    let text = made(template.text, thing, kind.word).unwrap();
                    let rig = parse(&text);
                    assert!(rig.is_ok(), "{} {}: {rig:?}\n{text}", template.name, kind.word);
                    assert_eq!(said(&text, thing), kind.word, "{}", template.name);
                }
            }
        }
    }

    /// By hand: of 1900 Wh of lead half is kept, and no floor of cold is left.
    #[test]
    fn lead_keeps_half() {
        let rig = parse(&made(TEMPLATES[0].text, BATTERY, "lead acid").unwrap()).unwrap();
        assert_eq!(rig.parts.stock("battery").map(|(_, stock)| stock.limit()), Some(950.0));
        assert_eq!(rig.parts.electrics.and_then(|electrics| electrics.no_charge_below_c), None);
    }

    /// A van that cooks from its battery and has a bottle is offered gas, and its battery cooks no more.
    #[test]
    fn who_has_a_gas_bottle_is_offered_to_cook_on_it() {
        let black = TEMPLATES.iter().find(|t| t.name == "black-tank").unwrap().text;
        assert_eq!(offered(black, "cooking"), "electricity");
        let text = made(black, "cooking", "gas").unwrap();
        assert_eq!(offered(&text, "cooking"), "gas");
        let parts = parse(&text).unwrap().parts;
        let takes = |name| parts.activity(name).unwrap().1.moves[0].stock.clone();
        assert_eq!([takes("cooked meal"), takes("kettle")], ["gas", "gas"]);
    }

    /// What is cooked on two is counted of neither by a rig: who says both is asked for one.
    #[test]
    fn two_kinds_at_once_are_none() {
        for text in ["wood and gas", "gas, wood", "gas/electric", "induction + gas"] {
            assert!(names_two("cooking", text), "{text}");
        }
        for text in ["gas stove", "wood stove", "a gas hob", "an electric induction hob", "none"] {
            assert!(!names_two("cooking", text), "{text}");
        }
    }

    #[test]
    fn a_kind_is_heard_among_other_words() {
        let rows = [
            (BATTERY, "220 Ah lead acid", Some(("lead acid", "220 ah"))),
            (BATTERY, "LiFePO4", Some(("lithium", ""))),
            (BATTERY, "220 Ah", None),
            (TOILET, "a cassette toilet", Some(("cassette", "a"))),
            (TOILET, "no toilet", Some(("none", ""))),
        ];
        for (thing, text, wanted) in rows {
            let said = named(thing, text);
            let said = said.as_ref().map(|(word, rest)| (*word, rest.as_str()));
            assert_eq!(said, wanted, "{text}");
        }
    }
}
