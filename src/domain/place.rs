//! Where a van belongs and where it goes: home, places, what the weather there is usually like.

use super::time::Zone;
use chrono::{NaiveTime, Weekday};

/// Where the van belongs when no `camp` entry says otherwise.
#[derive(Debug, Clone, PartialEq)]
pub struct Home {
    /// Name of the place.
    pub place: String,
    /// Degrees north, `[-90, 90]`.
    pub latitude: f64,
    /// Degrees east, `[-180, 180]`.
    pub longitude: f64,
    /// Decides the offset of times that are typed without one; `None` = that of the clock.
    pub zone: Option<Zone>,
    /// What the weather is usually like, used when no outlook reaches that far.
    pub typical: Option<TypicalWeather>,
}

/// A user's idea of usual weather for a place and season.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TypicalWeather {
    /// Usual night low in degrees Celsius.
    pub low_c: f64,
    /// Usual day high in degrees Celsius, at least `low_c`.
    pub high_c: f64,
    /// Usual cloud cover, 0 (clear) to 1 (overcast).
    pub cloud: f64,
}

/// A place that the user knows by name.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Place {
    /// Name as `camp` entries write it.
    pub name: String,
    /// Degrees north, `[-90, 90]`.
    pub latitude: f64,
    /// Degrees east, `[-180, 180]`.
    pub longitude: f64,
    /// What it offers, in the words of [`SERVICES`].
    pub services: Vec<String>,
    /// Further stocks of the rig that can be seen to there, by name.
    pub stocks: Vec<String>,
    /// What a visit costs, in the owner's currency; at least 0.
    pub cost: Option<f64>,
    /// What one unit of a stock costs there, in the owner's currency; at least 0.
    pub prices: Vec<(String, f64)>,
    /// Weekdays on which it is closed.
    pub closed: Vec<Weekday>,
    /// When it opens, on days that it does; `None` = at no known hour.
    pub opens: Option<NaiveTime>,
    /// When it closes, later than it opens.
    pub closes: Option<NaiveTime>,
    /// Hours on the road to it, one way, where the owner knows better than the map; above 0.
    pub road_hours: Option<f64>,
    /// Road distance over the distance as the crow flies, where it is unusual; at least 1.
    pub road_factor: Option<f64>,
    /// Hours of hook-up that a stay gives, where that is known; above 0, at most a week.
    pub hook_up_hours: Option<f64>,
    /// Anything else, in the owner's words.
    pub note: String,
}

impl Place {
    /// Whether anything can be seen to there.
    pub fn offers_anything(&self) -> bool {
        !self.services.is_empty() || !self.stocks.is_empty()
    }
}

/// What a place can offer.
pub const SERVICES: &[&str] = &[
    "water", "grey", "toilet", "liquids", "solids", "diesel", "food", "shore", "laundry", "shower",
];
