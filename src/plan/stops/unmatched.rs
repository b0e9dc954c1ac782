//! What places and stocks say past each other: a service that no stock answers to, a stock that no
//! place sees to.

use super::places::services;
use crate::domain::{Parts, Place};

/// One of them.
#[derive(Debug, Clone, PartialEq)]
pub enum Unmatched {
    /// A place offers what no stock answers to.
    Service {
        /// Name of the place.
        place: String,
        /// The service's word.
        word: String,
    },
    /// No place sees to this stock.
    Stock(String),
}

/// All of them; none where no place offers anything. A shower is no stock; the sun sees to a
/// battery, and a move to nights that are counted.
pub fn unmatched(parts: &Parts, places: &[Place]) -> Vec<Unmatched> {
    if !places.iter().any(Place::offers_anything) {
        return Vec::new();
    }
    let mut all = Vec::new();
    for place in places {
        let offered = |services, stocks| Place { services, stocks, ..Place::default() };
        let by_word = place.services.iter().filter(|word| *word != "shower");
        let by_word = by_word.map(|word| (word, offered(vec![word.clone()], vec![])));
        let by_name = place.stocks.iter().map(|name| (name, offered(vec![], vec![name.clone()])));
        for (word, only) in by_word.chain(by_name) {
            if services(&only, parts).is_empty() {
                all.push(Unmatched::Service { place: place.name.clone(), word: word.clone() });
            }
        }
    }
    let seen = places.iter().map(|place| services(place, parts));
    let seen: Vec<_> = seen.collect();
    let alone = |index: usize| !seen.iter().any(|set| set.has(index));
    let stocks = parts.stocks.iter().enumerate();
    let store = parts.electrics.as_ref().map(|electrics| &electrics.store);
    let needs_one =
        |stock: &crate::domain::stock::Stock| !stock.reset_by_camp && store != Some(&stock.name);
    let left = stocks.filter(|(index, stock)| needs_one(stock) && alone(*index));
    all.extend(left.map(|(_, stock)| Unmatched::Stock(stock.name.clone())));
    all
}
