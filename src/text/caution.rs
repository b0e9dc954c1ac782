//! Cautions, shown where they belong. They defer to local codes and licensed practice, and no
//! forecast overrides them.

use crate::domain::electrics::Chemistry;
use crate::domain::{Direction, Parts, Unit};

/// A caution: what it is about, and what to mind.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Caution {
    /// What it is about.
    pub about: &'static str,
    /// One line for the screen of a stock.
    pub line: &'static str,
    /// The whole of it.
    pub text: &'static str,
}

/// Burning fuel in a small room.
pub const BURNING: Caution = Caution {
    about: "Burning fuel",
    line: "Burning fuel: carbon monoxide alarm working, vents clear",
    text: "Anything that burns in the van can give off carbon monoxide, which nobody smells. \
           Keep a working alarm, keep vents and exhausts clear of snow and bedding, and have \
           burners fitted and serviced by licensed people.",
};

/// Batteries and wiring.
pub const BATTERY: Caution = Caution {
    about: "Batteries",
    line: "Battery: never charge lithium below freezing; leave wiring to licensed people",
    text: "Lithium cells are harmed by charging below freezing; follow the maker's limits, not \
           this forecast. Lead-acid cells give off gas when charged: let air through. Work on \
           wiring, fuses and mains hook-ups only as licensed practice and local codes say.",
};

/// The same, of lead.
const LEAD_BATTERY: Caution = Caution {
    line: "Battery: lead gives off gas when charged, let air through; leave wiring to licensed people",
    ..BATTERY
};

/// Water that people drink.
pub const DRINKING: Caution = Caution {
    about: "Drinking water",
    line: "Drinking: keep a reserve whatever the plan says; treat doubtful water",
    text: "Keep tank and hoses clean, treat or boil water of doubtful origin, and keep a \
           drinking reserve apart whatever the plan says. In heat, people need more.",
};

/// Waste water and toilets.
pub const WASTE: Caution = Caution {
    about: "Waste",
    line: "Waste: empty only where local rules allow it",
    text: "Empty grey water and toilet containers only at places meant for it or where local \
           rules and land managers allow it. Wash hands, and keep waste away from water.",
};

/// The forecast itself.
pub const ESTIMATE: Caution = Caution {
    about: "Forecasts",
    line: "An estimate: leave earlier when weather, roads or people say so",
    text: "Every date here is an estimate. Nine in ten safe means that one in ten is not. Leave \
           earlier when weather, roads or people say so. Local codes and the rules of land \
           managers come first.",
};

/// Every caution, in the order of the screen that lists them.
pub const ALL: [Caution; 5] = [BURNING, BATTERY, DRINKING, WASTE, ESTIMATE];

/// The caution that belongs beside the stock called `name`, if one does.
pub fn for_stock(parts: &Parts, name: &str) -> Option<Caution> {
    let (_, stock) = parts.stock(name)?;
    if let Some(electrics) = parts.electrics.as_ref().filter(|e| e.store == name) {
        return Some(match electrics.chemistry {
            Chemistry::LeadAcid => LEAD_BATTERY,
            Chemistry::Lithium => BATTERY,
        });
    }
    if parts.heats_with(name) {
        return Some(BURNING);
    }
    let volume = matches!(stock.unit, Unit::Litre | Unit::UsGallon | Unit::ImperialGallon);
    match stock.runs {
        Direction::Up if volume || stock.unit == Unit::Use => Some(WASTE),
        Direction::Down if volume && stock.lift_wh > 0.0 => Some(DRINKING),
        Direction::Down if volume && stock.is_called("drinking") => Some(DRINKING),
        _ => None,
    }
}
