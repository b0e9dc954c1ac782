//! What heats a van: sources of heat as people name them, and as the rig file writes them.

use super::rig_text::parsed;
use super::table::rows;
use crate::domain::Parts;
use crate::domain::heating::{HeatSource, Heating, Lit};
use crate::logline::answers;
use crate::store::rig_edit::{append, get, quoted, removed, removed_with_comments, set};
use crate::store::rig_record::OF_A_SOURCE;
use crate::store::ron_text::{FieldNode, scan};
use crate::text::count::{either, listed};

/// Where the rig file says what heats.
const HEATING: &str = "heating";

/// And the list of its sources.
const SOURCES: &str = "heating/sources";

/// No source of heat.
const NOTHING: &str = "nothing";

/// The ways to heat.
const WAYS: &str = include_str!("../../assets/heat.txt");

/// A way to heat; see the head of the table.
struct HeatWay {
    word: &'static str,
    about: &'static str,
    /// The unit of what it burns; `None` for the battery.
    unit: Option<&'static str>,
    holds: &'static str,
    numbers: &'static str,
}

impl HeatWay {
    /// Whether somebody has to light it.
    fn is_tended(&self) -> bool {
        self.numbers.contains("lit: by_day")
    }
}

fn ways() -> impl Iterator<Item = HeatWay> {
    rows(WAYS).filter_map(|cells| {
        let [word, about, unit, holds, numbers] = cells[..] else { return None };
        Some(HeatWay { word, about, unit: Some(unit).filter(|unit| *unit != "-"), holds, numbers })
    })
}

/// Ways to heat, with a remark each.
pub(super) fn choices() -> Vec<(&'static str, &'static str)> {
    let nothing = (NOTHING, "no heat but the sun's and people's");
    ways().map(|way| (way.word, way.about)).chain([nothing]).collect()
}

/// Ways by their names, in the order of use: "diesel", "diesel and wood", "nothing".
fn named(text: &str) -> Result<Vec<HeatWay>, String> {
    let text = text.to_lowercase();
    let said = text.split([',', '+', '&']).flat_map(|part| part.split(" and ")).map(str::trim);
    let said: Vec<&str> = said.filter(|word| !word.is_empty()).collect();
    let is_none = |word: &str| answers::is_of("none", word);
    let first = text.split_whitespace().next().unwrap_or_default();
    if said == [NOTHING] || is_none(&text) || is_none(first) {
        return Ok(Vec::new());
    }
    let way = |said: &str| {
        let named = |words: &str| {
            let is_it =
                |way: &HeatWay| way.word == words || answers::same(way.word).contains(&words);
            ways().find(is_it)
        };
        // A stove that burns wood is wood: one of the words names it, and none takes it back.
        let one = || {
            let mut ways = said.split(' ').filter_map(named);
            let first = ways.next().filter(|_| !said.split(' ').any(is_none))?;
            ways.all(|way| way.word == first.word).then_some(first)
        };
        named(said).or_else(one).ok_or_else(expected)
    };
    if said.is_empty() { Err(expected()) } else { said.into_iter().map(way).collect() }
}

fn expected() -> String {
    let known = choices().into_iter().map(|(word, _)| word);
    format!("{}; two such as diesel and wood", either(known))
}

/// Whether an answer says what heats.
///
/// # Errors
/// What would.
pub(super) fn check(text: &str) -> Result<(), String> {
    named(text).map(|_| ())
}

/// What heats these parts, as people say it.
pub(super) fn said(parts: &Parts) -> String {
    let store = parts.electrics.as_ref().map(|electrics| &electrics.store);
    let by_store = ways().find(|way| way.unit.is_none()).map_or(NOTHING, |way| way.word);
    let sources = parts.heating.iter().flat_map(|heating| &heating.sources);
    let names = listed(sources.map(|source| match Some(&source.burns) == store {
        true => by_store,
        false => &source.burns,
    }));
    if names.is_empty() { NOTHING.to_string() } else { names }
}

/// The text of a rig that is heated by these, in the order of use; a source that it has keeps its
/// numbers. What it burns is added where the van holds none.
///
/// # Errors
/// What would be right.
pub(super) fn heated(text: &str, by: &str) -> Result<String, String> {
    let rig = parsed(text)?;
    if said(&rig.parts) == by {
        return Ok(text.to_string());
    }
    let heating = rig.parts.heating.clone().unwrap_or_default();
    let (mut text, mut sources) = (text.to_string(), Vec::new());
    for way in named(by)? {
        let (burns, stock) = fuel(&way, &rig.parts)?;
        if let Some(stock) = stock {
            text = append(&text, "stocks", &stock)?;
        }
        let own = heating.sources.iter().find(|source| source.burns == burns);
        sources.push(own.map_or_else(|| new(&way, &burns), written));
    }
    let mut text = set(&text, HEATING, &with_sources(&heating, &sources))?;
    // Water that was warmed by the old heater is warmed by the new one.
    let water = rig.parts.hot_water.as_ref().map(|water| water.from.clone());
    let new = parsed(&text)?.parts;
    if let Some(from) = water.filter(|from| rig.parts.is_warmed_by(from) && !new.is_warmed_by(from))
        && let Some((by, way)) = warming(named(by)?.into_iter(), &new, &from)
    {
        text = warmed_by(&text, &by, &way)?;
    }
    // What only the old heater burned goes with it, where the new one can warm the water.
    let after = parsed(&text)?.parts;
    let gone = heating.fuels().into_iter().filter(|fuel| is_idle(&after, fuel));
    let heats = named(by)?.into_iter().any(|way| own(&way, &after).is_some() && !way.is_tended());
    gone.filter(|_| heats).try_fold(text, |text, fuel| without(&text, fuel))
}

/// Whether nothing takes a stock but water that is warmed with it.
fn is_idle(parts: &Parts, fuel: &str) -> bool {
    let moves = parts.base.iter().flat_map(|base| &base.moves);
    let moves = moves.chain(parts.activities.iter().flat_map(|activity| &activity.moves));
    !parts.is_warmed_by(fuel) && !moves.into_iter().any(|each| each.stock == fuel)
}

/// Whether anything takes a stock.
pub(super) fn is_burnt(parts: &Parts, fuel: &str) -> bool {
    !is_idle(parts, fuel) || parts.heats_with(fuel)
}

/// The text of a rig without the stock whose size stands at `place`, and without what goes by it
/// unlogged.
///
/// # Errors
/// What needs it.
pub(super) fn without_fuel(text: &str, place: &str) -> Result<String, String> {
    let fuel = place.split('/').nth(1).unwrap_or_default();
    let parts = parsed(text)?.parts;
    let mut done = parts.activities.iter();
    let taker = done.find(|done| done.moves.iter().any(|each| each.stock == fuel));
    let taker = parts.is_warmed_by(fuel).then_some("what heats").or(taker.map(|done| &*done.name));
    match taker {
        Some(taker) => {
            Err(format!("an amount above 0, as {taker} takes it; go back to change that"))
        }
        None => without(text, fuel),
    }
}

fn without(text: &str, fuel: &str) -> Result<String, String> {
    let parts = parsed(text)?.parts;
    let mut text = text.to_string();
    for base in parts.base.iter().filter(|base| base.moves.iter().any(|each| each.stock == fuel)) {
        text = removed_with_comments(&text, &format!("base/{}", base.name))?;
    }
    if parts.hot_water.as_ref().is_some_and(|water| water.from == fuel) {
        let other = warming(ways(), &parts, fuel);
        let (from, way) = other.ok_or("an amount above 0, as water is warmed with it")?;
        text = warmed_by(&text, &from, &way)?;
    }
    removed_with_comments(&text, &format!("stocks/{fuel}"))
}

/// The first of some ways to heat that can warm the water without `fuel`, and what it burns.
fn warming(
    mut ways: impl Iterator<Item = HeatWay>,
    parts: &Parts,
    fuel: &str,
) -> Option<(String, HeatWay)> {
    ways.find_map(|way| {
        let burns = own(&way, parts).filter(|burns| burns != fuel && !way.is_tended())?;
        Some((burns, way))
    })
}

/// The text with water that is warmed by burning this.
fn warmed_by(text: &str, burns: &str, way: &HeatWay) -> Result<String, String> {
    let holds = way.numbers.split(", ").find_map(|number| number.strip_prefix("wh_per_unit: "));
    let text = set(text, "hot_water/from", &quoted(burns))?;
    set(&text, "hot_water/wh_per_unit", holds.unwrap_or("1"))
}

/// What a way to heat burns, where the van has it.
fn own(way: &HeatWay, parts: &Parts) -> Option<String> {
    fuel(way, parts).ok().filter(|(_, new)| new.is_none()).map(|(name, _)| name)
}

/// The stock that it burns, and how one is written where there is none.
fn fuel(way: &HeatWay, parts: &Parts) -> Result<(String, Option<String>), String> {
    let Some(unit) = way.unit else {
        let store = parts.electrics.as_ref().map(|electrics| electrics.store.clone());
        return store.map(|store| (store, None)).ok_or("a battery to heat from".to_string());
    };
    let same = answers::same(way.word);
    let is_it = |name: &str| name == way.word || same.contains(&name);
    let mut stocks = parts.stocks.iter();
    let own = stocks.find(|stock| is_it(&stock.name) && stock.unit.word() == unit);
    Ok(match own {
        Some(stock) => (stock.name.clone(), None),
        None => {
            let (name, unit) = (quoted(way.word), quoted(unit));
            let holds = way.holds;
            let stock = format!("(name: {name}, runs: down, unit: {unit}, capacity: {holds})");
            (way.word.to_string(), Some(stock))
        }
    })
}

fn new(way: &HeatWay, burns: &str) -> String {
    format!("(name: \"{}\", burns: {}, {})", way.word, quoted(burns), way.numbers)
}

fn written(source: &HeatSource) -> String {
    // Each by its name: a field that is new is asked for here.
    let HeatSource {
        name,
        burns,
        wh_per_unit,
        efficiency,
        output_w,
        lowest_w,
        fan_w,
        start_wh,
        draw_spread,
        lit,
    } = source;
    let lit = if *lit == Lit::ByDay { ", lit: by_day" } else { "" };
    format!(
        "(name: {}, burns: {}, wh_per_unit: {wh_per_unit}, efficiency: {efficiency}, \
         output_w: {output_w}, lowest_w: {lowest_w}, fan_w: {fan_w}, start_wh: {start_wh}, \
         draw_spread: {draw_spread}{lit})",
        quoted(name),
        quoted(burns),
    )
}

fn with_sources(heating: &Heating, sources: &[String]) -> String {
    let Heating {
        sources: _,
        ua_w_per_k,
        ua_spread,
        day_c,
        night_c,
        night_from,
        night_to,
        person_w,
        sun_gain_m2,
    } = heating;
    format!(
        "(sources: [{}],\n              ua_w_per_k: {ua_w_per_k}, ua_spread: {ua_spread}, \
         day_c: {day_c}, night_c: {night_c}, night_from: {night_from}, night_to: {night_to}, \
         person_w: {person_w}, sun_gain_m2: {sun_gain_m2})",
        sources.join(",\n                        "),
    )
}

/// The text with a further source of heat, behind those that it has. All else stays as it is.
///
/// # Errors
/// What would be right.
pub(super) fn with_source(text: &str, word: &str) -> Result<String, String> {
    let parts = parsed(text)?.parts;
    let Some(heating) = &parts.heating else { return heated(text, word) };
    let mut text = listed_sources(text, heating)?;
    for way in named(word)? {
        let (burns, stock) = fuel(&way, &parts)?;
        if let Some(stock) = stock {
            text = append(&text, "stocks", &stock)?;
        }
        text = append(&text, SOURCES, &new(&way, &burns))?;
    }
    Ok(text)
}

/// The text without a source of heat. All else stays as it is.
///
/// # Errors
/// What would be right.
pub(super) fn without_source(text: &str, word: &str) -> Result<String, String> {
    let parts = parsed(text)?.parts;
    let heating = parts.heating.clone().unwrap_or_default();
    let is_it = |source: &HeatSource| source.name == word || source.burns == word;
    match heating.sources.iter().position(is_it) {
        Some(at) => removed(&listed_sources(text, &heating)?, &format!("{SOURCES}/{at}")),
        None => Err(format!("one of what heats: {}", said(&parts))),
    }
}

/// The text with the numbers of its only source, where they stand among those of the house, in a
/// list of their own, in which others can stand beside it.
fn listed_sources(text: &str, heating: &Heating) -> Result<String, String> {
    let [only] = &heating.sources[..] else { return Ok(text.to_string()) };
    if get(text, SOURCES).is_some() {
        return Ok(text.to_string());
    }
    let root = scan(text).map_err(|fault| fault.to_string())?;
    let members = root.field(text, HEATING).map(|block| block.members()).unwrap_or_default();
    let name = |member: &FieldNode| member.name.clone().map_or("", |name| &text[name]);
    let is_own = |member: &&FieldNode| OF_A_SOURCE.contains(&name(member));
    let own: Vec<&FieldNode> = members.iter().take_while(is_own).collect();
    let is_one_run = members.iter().filter(is_own).count() == own.len();
    let Some((first, last)) = own.first().zip(own.last()).filter(|_| is_one_run) else {
        return set(text, HEATING, &with_sources(heating, &[written(only)]));
    };
    let start = first.name.clone().map_or(first.value.span.start, |name| name.start);
    let (before, rest) = text.split_at(start);
    let (numbers, behind) = rest.split_at(last.value.span.end - start);
    Ok(format!("{before}sources: [(name: {}, {numbers})]{behind}", quoted(&only.name)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::store::templates::TEMPLATES;

    fn burns(text: &str) -> Vec<String> {
        let rig = parsed(text).unwrap();
        let sources = rig.parts.heating.unwrap().sources.into_iter();
        sources.map(|source| source.burns).collect()
    }

    #[test]
    fn a_van_is_heated_by_what_is_said() {
        let text = TEMPLATES[0].text;
        let rows: [(&str, &[&str]); 7] = [
            ("wood", &["wood"]),
            ("diesel and wood", &["diesel", "wood"]),
            ("wood, diesel", &["wood", "diesel"]),
            ("Wood stove and diesel heater", &["wood", "diesel"]),
            ("propane", &["gas"]),
            ("electric", &["battery"]),
            ("nothing", &[]),
        ];
        for (said, wanted) in rows {
            assert_eq!(burns(&heated(text, said).unwrap()), wanted, "{said}");
        }
        assert_eq!(heated(text, "diesel").as_deref(), Ok(text), "as the template has it");
        // Water follows the heater that warmed it: the family's burnt diesel, which still drives.
        let family = TEMPLATES.iter().find(|template| template.name == "family").unwrap().text;
        let parts = parsed(&heated(family, "wood and gas").unwrap()).unwrap().parts;
        assert!(parts.stock("diesel").is_some());
        assert_eq!(parts.hot_water.map(|water| water.from).as_deref(), Some("gas"));
        for said in ["", "peat", "diesel and peat", "some", "diesel, no wood", "wood or diesel"] {
            assert!(heated(text, said).is_err(), "{said}");
        }
        // The stock comes with it, and the van's own heater keeps its numbers.
        let rig = parsed(&heated(text, "wood and diesel").unwrap()).unwrap();
        assert_eq!(rig.parts.stock("wood").map(|(_, wood)| wood.capacity), Some(20.0));
        let before = parsed(text).unwrap().parts.heating.unwrap();
        let after = rig.parts.heating.unwrap();
        assert_eq!(after.sources[1], before.sources[0]);
        assert_eq!(after.ua_w_per_k, before.ua_w_per_k);
    }

    /// Counted by hand in the file: a stock, a source, and the brackets around the one that was there;
    /// with the stove gone again the heater's own words are there as before.
    #[test]
    fn a_source_that_comes_changes_nothing_else() {
        for template in TEMPLATES {
            let text = template.text;
            let with = with_source(text, "wood").unwrap();
            let added = "(name: \"wood\", burns";
            assert_eq!(with.matches(added).count(), 1);
            let lines = |text: &str| text.lines().map(String::from).collect::<Vec<_>>();
            let (before, after) = (lines(text), lines(&with));
            let other = before.iter().filter(|line| !after.contains(line)).count();
            assert!(other <= 3, "{}: {other} lines are otherwise", template.name);
            let changes = super::super::parts::differences(text, &with);
            assert_eq!(changes, ["stocks/wood", SOURCES], "{}", template.name);
            let without = without_source(&with, "wood").unwrap();
            assert_eq!(
                parsed(&without).unwrap().parts.heating,
                parsed(text).unwrap().parts.heating
            );
        }
    }

    #[test]
    fn a_source_comes_and_goes() {
        let with = with_source(TEMPLATES[0].text, "wood").unwrap();
        assert_eq!(burns(&with), ["diesel", "wood"]);
        assert_eq!(burns(&without_source(&with, "diesel").unwrap()), ["wood"]);
        assert!(without_source(&with, "gas").unwrap_err().contains("diesel and wood"));
    }
}
