//! The rig file as parts and numbers that can be changed one at a time: what there is, what an
//! edit makes of it, what can be added, and a change of kit with its date. Pure text in, text out;
//! comments stay, and nothing comes out that could not be read again.

use super::answers_read::{Measured, amount, celsius, either, number, people, units, watts};
use super::gauges::gauge;
pub use super::rig_text::parse;
use super::rig_text::parsed;
use super::table::rows;
use super::{heat, kinds};
use crate::domain::{Amount, Quantity, Unit, UnitSystem, once_each};
use crate::logline::answers;
use crate::store::reference::{self, Reference};
use crate::store::rig_edit::{append, get, quoted, set};
use crate::store::ron_text::{Node, Shape, position, scan};
use crate::text::{quantity, share};
use chrono::NaiveDate;
use std::sync::LazyLock;

/// One value of the rig file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RigField {
    /// Where it is: `stocks/fresh/capacity`.
    pub path: String,
    /// As it is written.
    pub value: String,
    /// The word of the unit that it is in, where it is an amount of its stock; else empty.
    pub unit: String,
    /// The line that it stands on, from 1.
    pub line: usize,
}

/// Every value of the file in its order but the number of its format, which is not the user's; a
/// list of plain things is one value.
pub fn fields(text: &str) -> Vec<RigField> {
    let mut all = Vec::new();
    if let Ok(root) = scan(text) {
        walk(&root, ("", ""), text, &mut all);
    }
    all.retain(|field| field.path != "format");
    all
}

/// What of a stock is in its unit.
const IN_UNIT: [&str; 5] = ["capacity", "keep", "headroom", "dregs", "spare"];

fn walk(node: &Node, (path, unit): (&str, &str), text: &str, all: &mut Vec<RigField>) {
    let below = |name: &str| match path {
        "" => name.to_string(),
        path => format!("{path}/{name}"),
    };
    let is_struct = |node: &Node| {
        matches!(node.shape, Shape::Group { .. }) && node.members().iter().all(|m| m.name.is_some())
    };
    if is_struct(node) && !node.members().is_empty() {
        for member in node.members() {
            let name = member.name.clone().map(|span| &text[span]).unwrap_or_default();
            let unit = node.field(text, "unit").and_then(|unit| unit.string(text));
            let unit = unit.filter(|_| IN_UNIT.contains(&name)).unwrap_or_default();
            walk(&member.value, (&below(name), &unit), text, all);
        }
    } else if !node.items().is_empty() && node.items().iter().all(is_struct) {
        for (place, item) in node.items().iter().enumerate() {
            let name = item.field(text, "name").and_then(|name| name.string(text));
            walk(item, (&below(&name.unwrap_or(place.to_string())), ""), text, all);
        }
    } else {
        let line = position(text, node.span.start).0;
        let (path, unit) = (path.to_string(), unit.to_string());
        all.push(RigField { path, value: node.slice(text).to_string(), unit, line });
    }
}

/// A value with its unit, and beside it as the crew reads it: "158.987 L, 42 gal".
pub fn shown(field: &RigField, show: UnitSystem) -> String {
    let RigField { value, unit, .. } = field;
    let own = Unit::from_word(unit, UnitSystem::Metric);
    let own = own.filter(|own| own.shown_in(show) != *own).zip(Amount::parse(value).ok());
    match own {
        _ if unit.is_empty() => value.clone(),
        Some((own, amount)) => {
            format!("{value} {unit}, {}", quantity::said(&Quantity::new(amount, own), show))
        }
        None => format!("{value} {unit}"),
    }
}

/// What a new capacity leaves as it was, where that is far from its share of the whole before:
/// "keep stays 190 Wh: 50 % of it, 10 % before".
pub fn left_behind(before: &str, after: &str, path: &str) -> Option<String> {
    let stock = path.strip_suffix("/capacity")?;
    let value =
        |text: &str, field: &str| get(text, &format!("{stock}/{field}"))?.parse::<f64>().ok();
    let told = ["keep", "headroom"].into_iter().filter_map(|field| {
        let kept = value(after, field).filter(|kept| *kept > 0.0)?;
        let [was, is] = [before, after].map(|text| value(text, "capacity").map(|all| kept / all));
        let (was, is) = was.zip(is)?;
        let unit = get(after, &format!("{stock}/unit")).unwrap_or_default().trim_matches('"');
        let far = !(1.0 / FAR..=FAR).contains(&(is / was));
        let [is, was] = [is, was].map(share::percent);
        far.then(|| format!("{field} stays {kept} {unit}: {is} of it, {was} before"))
    });
    told.reduce(|one, other| format!("{one}; {other}"))
}

/// A share that is so many times what it was, or so small a part of it, is another; 1.3 to 2 (our own
/// choice, no source).
const FAR: f64 = 1.5;

/// The text with another value at `path`; words that are no RON value are taken as text.
///
/// # Errors
/// What would be right.
pub fn changed(text: &str, path: &str, value: &str) -> Result<String, String> {
    if let Some(which) = either_of_battery(text, path, value) {
        return Err(format!("expected {which}"));
    }
    let was_text = get(text, path).is_some_and(|before| before.starts_with('"'));
    let value = match was_text && !value.trim().starts_with('"') {
        true => quoted(value.trim()),
        false => as_written(text, path, value.trim()),
    };
    checked(set(text, path, &value))
}

/// Which of two a number alone may be as the size of a battery.
fn either_of_battery(text: &str, path: &str, value: &str) -> Option<String> {
    let name = path.strip_prefix("stocks/")?.strip_suffix("/capacity")?;
    let parts = parsed(text).ok()?.parts;
    let (_, stock) = parts.stock(name).filter(|(_, stock)| stock.unit == Unit::WattHour)?;
    let volts = parts.volts().filter(|_| parts.is_store(name));
    // The number that stands there already is known to be right.
    either(value, stock.capacity, volts).filter(|_| get(text, path) != Some(value.trim()))
}

/// What was said as the file writes it, read as the questions of a new van read it: "two" people, "4
/// lamps", "lead acid", "20 lb bottle" in the unit of its stock, "68 F"; anything else as it is.
fn as_written(text: &str, path: &str, value: &str) -> String {
    let (owner, name) = path.rsplit_once('/').unwrap_or(("", path));
    let show = UnitSystem::Metric;
    let number = match name {
        "crew" => people(value).ok(),
        "rated_w" => watts(value).ok(),
        _ if name.ends_with("_c") => celsius(value, show),
        _ => number(value).or_else(|| in_own_unit(text, owner, value)),
    };
    let word = || match name {
        "show" => units(value).ok().map(|_| value.to_lowercase()),
        "gauge" => gauge(value).ok(),
        _ => kinds::written(path, value),
    };
    number.map(|number| number.to_string()).or_else(word).unwrap_or(value.to_string())
}

/// A number with a unit behind it as a number in the unit of the stock that `owner` is, or names.
fn in_own_unit(text: &str, owner: &str, value: &str) -> Option<f64> {
    let word = |path: String| get(text, &path).map(|word| word.trim_matches('"').to_string());
    let stock = word(format!("{owner}/stock")).map(|stock| format!("stocks/{stock}"));
    let stock = stock.as_deref().unwrap_or(owner);
    let unit = Unit::from_word(&word(format!("{stock}/unit"))?, UnitSystem::Metric)?;
    let rig = parsed(text).ok()?;
    let name = stock.rsplit('/').next().unwrap_or_default();
    let (show, volts) = (rig.show, rig.parts.volts());
    amount(value, &Measured { unit: &unit, show, volts, names: answers::same(name) }).ok()
}

fn checked(edited: Result<String, String>) -> Result<String, String> {
    let text = edited?;
    parsed(&text).map(|_| text)
}

/// What a person says to add something, with an example each.
pub const ADDITIONS: [&str; 5] =
    ["stock firewood down 20 kg", "activity sauna", "panel 120", "second liquids", "heat wood"];

/// How a source of heat is taken away.
pub const LESS_HEAT: &str = "no heat wood";

/// The text with something added, and the path of its first value. `words` are as in [`ADDITIONS`]:
/// a stock that runs up or down, an activity, a panel with its watts, a second container like one
/// that is there, a source of heat; `no heat` and its name takes one away.
///
/// # Errors
/// What would be right.
pub fn added(text: &str, words: &str) -> Result<(String, String), String> {
    let expected = || format!("expected one of: {}; {LESS_HEAT}", ADDITIONS.join("; "));
    let words: Vec<&str> = words.split_whitespace().collect();
    match &words[..] {
        ["stock", name @ .., way @ ("up" | "down"), size, unit] if !name.is_empty() => {
            let name = quoted(&name.join(" "));
            let item =
                format!("(name: {name}, runs: {way}, unit: {}, capacity: {size})", quoted(unit));
            let name = name.trim_matches('"').to_string();
            let text = checked(append(text, "stocks", &item))?;
            Ok((text, format!("stocks/{name}/capacity")))
        }
        ["activity", name @ ..] if !name.is_empty() => {
            let name = name.join(" ");
            let item = format!("(name: {}, usual: 1, per: van)", quoted(&name));
            let text = checked(append(text, "activities", &item))?;
            Ok((text, format!("activities/{name}/usual")))
        }
        ["panel", watts] => {
            let place = parsed(text).ok().and_then(|rig| rig.parts.electrics);
            let place = place.map_or(0, |electrics| electrics.panels.len());
            let text =
                checked(append(text, "electrics/panels", &format!("(rated_w: {watts}, tilt: 0)")))?;
            Ok((text, format!("electrics/panels/{place}/rated_w")))
        }
        ["heat", kind] => {
            let text = checked(heat::with_source(text, kind))?;
            let last = parsed(&text).ok().and_then(|rig| rig.parts.heating?.sources.pop());
            let name = last.map_or_else(String::new, |source| source.name);
            Ok((text, format!("heating/sources/{name}/burns")))
        }
        ["no", "heat", name @ ..] => {
            let text = checked(heat::without_source(text, &name.join(" ")))?;
            Ok((text, "heating/ua_w_per_k".to_string()))
        }
        ["second", name @ ..] if !name.is_empty() => {
            let path = format!("stocks/{}/capacity", name.join(" "));
            let one: f64 = get(text, &path).and_then(|v| v.parse().ok()).ok_or_else(expected)?;
            Ok((checked(set(text, &path, &(2.0 * one).to_string()))?, path))
        }
        _ => Err(expected()),
    }
}

/// The text `before` with the parts that `after` has otherwise as a change of kit from `date` on,
/// so that what was read until then keeps its meaning.
///
/// # Errors
/// What cannot be dated, or what would be right.
pub fn dated(before: &str, after: &str, date: NaiveDate, note: &str) -> Result<String, String> {
    let part = |path: &str| {
        let mut steps = path.split('/');
        match (steps.next().unwrap_or_default(), steps.next()) {
            (list @ ("stocks" | "activities" | "base"), Some(name)) => {
                Some((list.to_string(), format!("{list}/{name}")))
            }
            (one @ ("electrics" | "heating" | "hot_water"), _) => {
                Some((one.to_string(), one.to_string()))
            }
            _ => None,
        }
    };
    let parts = differences(before, after).into_iter().map(|path| {
        part(&path).ok_or_else(|| format!("{path} has no date: it holds at all times"))
    });
    let parts = once_each(parts.collect::<Result<Vec<_>, String>>()?);
    if parts.is_empty() {
        return Err("nothing was changed".to_string());
    }
    let mut change = format!("(from: \"{date}\", note: {}", quoted(note));
    for list in ["stocks", "activities", "base"] {
        let own = parts.iter().filter(|(of, _)| of == list);
        let items: Vec<&str> = own.filter_map(|(_, path)| get(after, path)).collect();
        if !items.is_empty() {
            change += &format!(", {list}: [{}]", items.join(", "));
        }
    }
    for (one, path) in parts.iter().filter(|(one, path)| one == path) {
        change += &format!(", {one}: {}", get(after, path).unwrap_or_default());
    }
    checked(append(before, "changes", &(change + ")")))
}

/// Paths of what differs in two texts: a value, or a part that is new or gone, as a whole. What has
/// only moved into a new part is no change.
pub fn differences(before: &str, after: &str) -> Vec<String> {
    let (was, is) = (fields(before), fields(after));
    let has = |all: &[RigField], path: &str| {
        let below = |field: &RigField| {
            field.path.strip_prefix(path).is_some_and(|rest| rest.starts_with('/'))
        };
        all.iter().any(|field| field.path == path || below(field))
    };
    // The whole part that only one of the texts has.
    let part = |path: &str, other: &[RigField]| {
        let ends = path.match_indices('/').map(|(end, _)| end).chain([path.len()]);
        let mut parts = ends.map(|end| &path[..end]);
        parts.find(|part| !has(other, part)).unwrap_or(path).to_string()
    };
    let value = |all: &[RigField], path: &str| {
        all.iter().find(|field| field.path == path).map(|field| field.value.clone())
    };
    let last = |field: &RigField| field.path.rsplit('/').next().map(str::to_string);
    let moved = |field: &&RigField| {
        let same = |other: &RigField| last(other) == last(field) && other.value == field.value;
        is.iter().any(|other| same(other) && value(&was, &other.path).is_none())
    };
    let new = is.iter().filter(|field| value(&was, &field.path).as_ref() != Some(&field.value));
    let gone = was.iter().filter(|field| value(&is, &field.path).is_none());
    let gone = gone.filter(|field| !moved(field));
    let new = new.map(|field| part(&field.path, &was));
    once_each(new.chain(gone.map(|field| part(&field.path, &is))))
}

/// What a value means and in what range it lies, by its name in the file, behind that of the part
/// that it belongs to where another part has the same name.
const MEANINGS: &str = include_str!("../../assets/meanings.txt");

/// The meaning of the value at `path`; that of a name with its part goes before the name alone.
fn meaning(path: &str) -> Option<&'static str> {
    let steps: Vec<&str> = path.split('/').collect();
    let last = steps.last().copied().unwrap_or_default();
    let fits = |name: &&str| match name.split_once('/') {
        Some((part, own)) => own == last && steps.contains(&part),
        None => *name == last,
    };
    let rows = rows(MEANINGS).filter(|cells| fits(&cells[0]));
    rows.max_by_key(|cells| cells[0].len()).and_then(|cells| cells.get(1).copied())
}

/// What the value at `path` means and its range, and where its default comes from, as far as known:
/// the source of the starting value that it equals.
pub fn about(field: &RigField) -> (Option<&'static str>, Option<String>) {
    let value = field.value.parse::<f64>().ok();
    // Read once: screens ask at every drawing.
    static ROWS: LazyLock<Vec<Reference>> = LazyLock::new(reference::rows);
    let mut rows = ROWS.iter();
    let names = |key: &str| {
        key.split_whitespace().filter(|word| word.len() > 3).any(|word| field.path.contains(word))
    };
    let row = rows.find(|row| Some(row.value) == value && names(&row.key));
    (meaning(&field.path), row.map(|row| format!("{} ({})", row.source, row.status)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::store::templates::TEMPLATES;

    fn text() -> &'static str {
        TEMPLATES[0].text
    }

    #[test]
    fn every_value_is_found_and_can_be_written_again() {
        for template in TEMPLATES {
            let all = fields(template.text);
            assert!(all.len() > 100, "{}: {}", template.name, all.len());
            for field in all {
                let same = set(template.text, &field.path, &field.value);
                assert_eq!(same.as_deref(), Ok(template.text), "{}", field.path);
                assert!(about(&field).0.is_some(), "{} is not explained", field.path);
            }
        }
    }

    #[test]
    fn an_edit_keeps_the_comments_and_says_what_would_be_right() {
        let edited = changed(text(), "stocks/fresh/capacity", "120").unwrap();
        let comments = |text: &str| text.matches("//").count();
        assert_eq!(comments(&edited), comments(text()));
        assert_eq!(differences(text(), &edited), ["stocks/fresh/capacity"]);
        let wrong = changed(text(), "stocks/fresh/capacity", "-3").unwrap_err();
        assert!(wrong.contains("capacity") && wrong.contains("expected"), "{wrong}");
        assert_eq!(get(&changed(text(), "van", "Wren").unwrap(), "van"), Some("\"Wren\""));
        // 13.2 lb are 5.987 kg (0.45359237 kg to the pound).
        for (said, wanted) in [("6 kg", "6"), ("6kg", "6"), ("13.2 lb bottle", "5.987")] {
            let edited = changed(text(), "stocks/gas/capacity", said).unwrap();
            assert_eq!(get(&edited, "stocks/gas/capacity"), Some(wanted), "{said}");
        }
        // As the questions of a new van take it; 68 F are 20 C and 12 V times 200 Ah 2400 Wh, by hand.
        let rows = [
            ("crew", "two", "2"),
            ("show", "US", "us"),
            ("stocks/grey/gauge", "4 lamps", "ladder([0.25, 0.5, 0.75, 1])"),
            ("stocks/battery/capacity", "200 Ah at 12 V", "2400"),
            ("electrics/chemistry", "lead acid", "lead_acid"),
            ("electrics/panels/0/rated_w", "1,200 watts", "1200"),
            ("heating/day_c", "68 F", "20"),
            ("heating/wh_per_unit", "10,025", "10025"),
        ];
        for (path, said, wanted) in rows {
            let edited = changed(text(), path, said).unwrap();
            assert_eq!(get(&edited, path), Some(wanted), "{path}: {said}");
        }
        assert!(changed(text(), "stocks/gas/capacity", "6 bottles").is_err());
    }

    /// By hand: 100 Ah at 12.8 V are 1280 Wh; 190 Wh are 10 % of 1900 and 50 % of 380. 96 L are 25.4 US
    /// gallons of 3.785 L.
    #[test]
    fn a_capacity_has_its_unit_and_what_stays_behind_is_told() {
        let path = "stocks/battery/capacity";
        let asked = changed(text(), path, "100").unwrap_err();
        assert!(asked.contains("100 Wh or 100 Ah (1280 Wh)"), "{asked}");
        let smaller = changed(text(), path, "380 Wh").unwrap();
        let told = left_behind(text(), &smaller, path);
        assert_eq!(told.as_deref(), Some("keep stays 190 Wh: 50 % of it, 10 % before"));
        let near = changed(text(), path, "1800").unwrap();
        assert_eq!(left_behind(text(), &near, path), None);
        let fresh = fields(text()).into_iter().find(|f| f.path == "stocks/fresh/capacity").unwrap();
        assert_eq!(shown(&fresh, UnitSystem::Metric), "96 L");
        assert_eq!(shown(&fresh, UnitSystem::Us), "96 L, 25.4 gal");
    }

    #[test]
    fn things_are_added_in_a_few_words() {
        let before = parse(text()).unwrap();
        for words in ADDITIONS {
            let (after, path) = added(text(), words).unwrap();
            assert!(fields(&after).iter().any(|field| field.path == path), "{words}: {path}");
            assert_ne!(parse(&after).unwrap(), before, "{words}");
        }
        assert!(added(text(), "stock").unwrap_err().starts_with("expected one of: "));
        assert!(added(text(), "stock firewood sideways 20 kg").is_err());
    }

    /// The old tank until the day before, the new one from that day on.
    #[test]
    fn a_change_of_kit_has_its_date() {
        let date = NaiveDate::from_ymd_opt(2026, 8, 14).unwrap();
        let (after, path) = added(text(), "second liquids").unwrap();
        assert_eq!(path, "stocks/liquids/capacity");
        let rig = parse(&dated(text(), &after, date, "a second container").unwrap()).unwrap();
        let size = |day: NaiveDate| rig.parts_on(day).stock("liquids").unwrap().1.capacity;
        assert_eq!((size(date.pred_opt().unwrap()), size(date)), (7.5, 15.0));
        let crew = changed(text(), "crew", "3").unwrap();
        assert!(dated(text(), &crew, date, "").unwrap_err().starts_with("crew has no date"));
    }

    #[test]
    fn a_starting_value_names_its_source() {
        let all = fields(text());
        let of = |path: &str| about(all.iter().find(|field| field.path == path).unwrap());
        let (meaning, source) = of("activities/shower/takes/0/amount");
        assert_eq!(meaning, Some("each time, in the stock's unit; above 0"));
        let source = source.expect("the first template's shower is that of assets/reference.ron");
        assert!(source.contains("common practice"));
    }
}
