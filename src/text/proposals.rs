//! What a crew might change, in words: "one shower fewer every two days".

use super::quantity;
use crate::domain::{Driver, Unit, UnitSystem, is_called};
use crate::plan::proposal::{Named, Proposal};

/// A proposal in plain words. `--with` takes the same words, or a part of them.
pub fn words(proposal: &Proposal, system: UnitSystem) -> String {
    match proposal {
        Proposal::FewerEveryTwoDays(Named { one, many }) if one == many => {
            format!("one round of {one} fewer every two days")
        }
        Proposal::FewerEveryTwoDays(activity) => {
            format!("one {} fewer every two days", activity.one)
        }
        Proposal::OnceADay { activity, each_person } => {
            let whole = if *each_person { " for all" } else { "" };
            format!("{} once a day{whole}", activity.many)
        }
        Proposal::HourLess(activity) => format!("one hour of {} less a day", activity.many),
        Proposal::DayWithout { activity, in_days } => {
            format!("one day in {in_days:.0} without {}", activity.many)
        }
        Proposal::Without(activity) => format!("no {} until the last morning", activity.many),
        Proposal::ThirdLess { activity, stock } => {
            format!("{} with a third less {}", activity.many, water(stock))
        }
        Proposal::HalfOverFire(activity) => {
            format!("every second {} over a campfire", activity.one)
        }
        Proposal::OverFire { activity, instead_of } => {
            format!("{} over a campfire, not on the {instead_of}", activity.many)
        }
        Proposal::On { activity, stock, instead_of } => {
            format!("{} on {stock}, not on the {instead_of}", activity.many)
        }
        // A difference: nine fifths of it in Fahrenheit.
        Proposal::Cooler(kelvin) if system == UnitSystem::Us => {
            format!("the heater {:.0} degrees lower", kelvin * 1.8)
        }
        Proposal::Cooler(kelvin) if *kelvin == 2.0 => "the heater two degrees lower".to_string(),
        Proposal::Cooler(kelvin) => format!("the heater {kelvin} degrees lower"),
        Proposal::RunOn(driver, at) => {
            format!("{} for one hour on {}", run(*driver), at.format("%A"))
        }
        Proposal::RunEverySecondDay(driver) => {
            format!("{} for one hour every second day", run(*driver))
        }
        Proposal::MoveOn(at) => format!("move to another camp on {}", at.format("%A")),
        Proposal::Jerrycan { stock, litres } => {
            format!("one more jerrycan of {}, {}", water(stock), self::litres(*litres, system))
        }
        Proposal::Container { stock, amount, unit } => {
            let amount = match *unit == Unit::Use {
                true => format!("{amount:.0} uses"),
                false => litres(*amount, system),
            };
            format!("one more container for {stock}, {amount}")
        }
    }
}

fn run(driver: Driver) -> &'static str {
    if driver == Driver::DriveHour { "drive" } else { "run the generator" }
}

fn litres(litres: f64, system: UnitSystem) -> String {
    // "20 L", not "20.0 L".
    quantity::amount(litres, litres, &Unit::Litre, system).replace(".0 ", " ")
}

/// "fresh water" for a stock called fresh; what a name does not call water stays as it is.
fn water(stock: &str) -> String {
    match is_called(stock, "drinking") && !stock.contains("water") {
        true => format!("{stock} water"),
        false => stock.to_string(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 20 L are 5.3 US gallons (3.785 L each) and 4.4 imperial ones (4.546 L each), by hand.
    #[test]
    fn a_jerrycan_is_told_in_the_crews_own_units() {
        let more = Proposal::Jerrycan { stock: "fresh".into(), litres: 20.0 };
        let container =
            Proposal::Container { stock: "liquids".into(), amount: 7.5, unit: Unit::Litre };
        let rows = [
            (UnitSystem::Metric, "20 L", "7.5 L"),
            (UnitSystem::Us, "5.3 gal", "1.98 gal"),
            (UnitSystem::Imperial, "4.4 gal", "1.65 gal"),
        ];
        for (system, jerrycan, box_) in rows {
            let said = words(&more, system);
            assert_eq!(said, format!("one more jerrycan of fresh water, {jerrycan}"));
            let said = words(&container, system);
            assert_eq!(said, format!("one more container for liquids, {box_}"));
        }
        let diesel = Proposal::Jerrycan { stock: "diesel".into(), litres: 20.0 };
        assert_eq!(words(&diesel, UnitSystem::Metric), "one more jerrycan of diesel, 20 L");
        assert_eq!(words(&Proposal::Cooler(2.0), UnitSystem::Us), "the heater 4 degrees lower");
    }
}
