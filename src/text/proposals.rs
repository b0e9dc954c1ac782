//! What a crew might change, in words: "one shower fewer every two days".

use crate::domain::{Driver, Unit};
use crate::plan::proposal::{Named, Proposal};

/// A proposal in plain words. `--with` takes the same words, or a part of them.
pub fn words(proposal: &Proposal) -> String {
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
            format!("one more jerrycan of {}, {litres:.0} L", water(stock))
        }
        Proposal::Container { stock, amount, unit } => {
            let unit = if *unit == Unit::Use { "uses" } else { "L" };
            format!("one more container for {stock}, {amount:.0} {unit}")
        }
    }
}

fn run(driver: Driver) -> &'static str {
    if driver == Driver::DriveHour { "drive" } else { "run the generator" }
}

/// "fresh water" for a stock called fresh.
fn water(stock: &str) -> String {
    if stock.contains("water") { stock.to_string() } else { format!("{stock} water") }
}
