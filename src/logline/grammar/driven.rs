//! Drives told in a measure that leaves something of the rig unmoved, and hours of a charge that
//! bring the rig nothing.

use crate::domain::{ChargeSource, Driver, Event, Parts, Unit, UnitSystem};
use crate::logline::lexis::misread::Understood;
use crate::logline::lexis::vocabulary::Vocabulary;

/// What the drives of a line leave out: an engine that burns by the distance does not know of
/// hours, nor an alternator of kilometres. `None` where nothing is left out, or no drive is told.
pub(in crate::logline) fn left_out(
    understood: &[Understood],
    vocabulary: &Vocabulary,
) -> Option<String> {
    let drives: Vec<(&Understood, Driver)> = understood.iter().filter_map(measured).collect();
    let (said, told) = drives.first()?;
    let missing = match told {
        Driver::DriveHour => Driver::DriveKm,
        _ => Driver::DriveHour,
    };
    if drives.iter().any(|(_, driver)| *driver == missing) {
        return None;
    }
    let moved = moved_by(vocabulary.parts_at(said.at), missing);
    let (goes, add) = match missing {
        Driver::DriveKm if vocabulary.show != UnitSystem::Metric => ("distance", "drove 60 mi"),
        Driver::DriveKm => ("distance", "drove 90 km"),
        _ => ("hours driven", "drove 2 h"),
    };
    (!moved.is_empty()).then(|| {
        let stocks = moved.join(" and ");
        format!("{stocks}: what a drive does to it goes by the {goes}; say that, too: `{add}`")
    })
}

/// The charges of a line whose hours move nothing, since the rig does not say what one brings.
pub(in crate::logline) fn in_vain(
    understood: &[Understood],
    vocabulary: &Vocabulary,
) -> Option<String> {
    let vain = |said: &Understood| {
        let Event::Charge { source, amount } = &said.event else { return None };
        amount.unit.factor_to(&Unit::Hour, None)?;
        let (driver, hour) = match source {
            ChargeSource::Shore => (Driver::ShoreHour, "an hour of shore power"),
            ChargeSource::Generator => (Driver::GeneratorHour, "a generator hour"),
        };
        moved_by(vocabulary.parts_at(said.at), driver).is_empty().then_some(hour)
    };
    let hour = understood.iter().find_map(vain)?;
    Some(format!("nothing in rig.ron says what {hour} brings: it moves nothing"))
}

fn measured(said: &Understood) -> Option<(&Understood, Driver)> {
    let Event::Drive(amount) = &said.event else { return None };
    match amount.unit.factor_to(&Unit::Hour, None) {
        Some(_) => Some((said, Driver::DriveHour)),
        None => Some((said, Driver::DriveKm)),
    }
}

/// Names of the stocks that a base use moves by this driver, each once.
fn moved_by(parts: &Parts, driver: Driver) -> Vec<&str> {
    let uses = parts.base.iter().filter(|base| base.per == driver);
    let mut names: Vec<&str> =
        uses.flat_map(|base| &base.moves).map(|one| one.stock.as_str()).collect();
    names.sort_unstable();
    names.dedup();
    names
}
