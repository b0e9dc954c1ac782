//! Which way each cause moves each stock, seen from outside: one evening is forecast twice with
//! the same dice, once as it is and once with one thing changed. A sign that is stated must show
//! as a strictly earlier or later median; a stock that is not coupled must not move at all.

use std::path::Path;
use waystock::domain::entry::{After, Body, ChargeSource, Entry, EntryId, Event};
use waystock::domain::flow::{Activity, BaseUse, Driver, Measure, Move, Per};
use waystock::domain::outlook::DayWeather;
use waystock::domain::place::TypicalWeather;
use waystock::domain::quantity::{Amount, Quantity};
use waystock::domain::rig::Rig;
use waystock::domain::stock::{Direction, Gauge, Stock};
use waystock::domain::time::Moment;
use waystock::domain::unit::Unit;
use waystock::forecast::answer::{Forecast, Options, ReadingTime};
use waystock::forecast::evening;
use waystock::store::{rig_file, templates};

/// A damp evening in November: heating, little sun, everything runs out within the month.
const NOW: &str = "2026-11-10T20:00:00+01:00";

fn moment(text: &str) -> Moment {
    text.parse().unwrap()
}

fn quantity(amount: f64, unit: Unit) -> Quantity {
    Quantity::new(Amount::from_f64(amount).unwrap(), unit)
}

/// A rig and a journal, to be changed in one thing.
#[derive(Clone)]
struct Evening {
    rig: Rig,
    entries: Vec<Entry>,
}

impl Evening {
    /// A family of four on the evening of a service, at home by a lake.
    fn plain() -> Evening {
        let text = templates::find("family").unwrap().text;
        let mut rig = rig_file::parse(text, Path::new("rig.ron")).unwrap();
        rig.home.typical = Some(TypicalWeather { low_c: 2.0, high_c: 8.0, cloud: 0.8 });
        let mut evening = Evening { rig, entries: Vec::new() };
        let served = moment(NOW);
        let full = |stock: &str| Event::Fill {
            stock: stock.into(),
            amount: None,
            after: Some(After::Full),
        };
        let empty = |stock: &str| Event::Empty { stock: stock.into(), amount: None, after: None };
        for event in ["fresh", "food", "battery"].map(full) {
            evening.log(served, event);
        }
        for event in ["grey", "liquids", "solids"].map(empty) {
            evening.log(served, event);
        }
        let jerrycan = Event::Fill {
            stock: "diesel".into(),
            amount: None,
            after: Some(After::Level(quantity(17.0, Unit::Litre))),
        };
        evening.log(served, jerrycan);
        evening
    }

    fn log(&mut self, at: Moment, event: Event) {
        let sequence = self.entries.len() as u64 + 1;
        let recorded = at.min(moment(NOW));
        let id = EntryId { device: "tablet".into(), sequence, salt: 7 };
        self.entries.push(Entry { id, at, recorded, note: None, body: Body::Happened(event) });
    }

    fn read(&mut self, stock: &str, amount: f64, unit: Unit) {
        let reading = quantity(amount, unit);
        self.log(moment(NOW), Event::Level { stock: stock.into(), reading, step: Some(0.001) });
    }

    /// Something planned so many hours ahead.
    fn plan(&mut self, hours: i64, event: Event) {
        self.log(moment(NOW) + chrono::Duration::hours(hours), event);
    }

    fn activity(&mut self, name: &str) -> &mut Activity {
        self.rig.parts.activities.iter_mut().find(|a| a.name == name).unwrap()
    }

    fn forecast(&self) -> Forecast {
        let options = Options { lives: 400, ..Options::at(moment(NOW)) };
        evening(&self.rig, &self.entries, options).forecast
    }
}

/// A battery that was read tonight is asked for at breakfast alone, and only where there is one: what
/// the night takes of it is still to be seen.
#[test]
fn a_battery_read_tonight_is_worth_another_reading_at_breakfast() {
    let looks = |of: &Evening| {
        let options = Options { lives: 400, ..Options::at(moment(NOW)) };
        evening(&of.rig, &of.entries, options).looks
    };
    let mut read = Evening::plain();
    read.read("battery", 40.0, Unit::Percent);
    let all = looks(&read);
    let of_battery: Vec<_> = all.iter().filter(|look| look.stock == "battery").collect();
    let [breakfast] = of_battery[..] else { panic!("{all:?}") };
    assert_eq!(breakfast.when, ReadingTime::AtBreakfast);
    assert!(breakfast.narrows > 0.0 && breakfast.narrows <= 1.0, "{breakfast:?}");
    read.rig.parts.electrics = None;
    assert!(looks(&read).iter().all(|look| look.when == ReadingTime::Tonight));
}

/// Scales what every occurrence moves of `stock`.
fn scale(moves: &mut [Move], stock: &str, by: f64) {
    for one in moves.iter_mut().filter(|m| m.stock == stock) {
        if let Measure::Amount { per_time, .. } = &mut one.measure {
            *per_time *= by;
        }
    }
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum Turn {
    Sooner,
    Later,
}
use Turn::{Later, Sooner};

/// Changes `before` in one thing. Stocks in `moved` have to meet their limit sooner or later than
/// before; those in `free` may do either; the others are not coupled and must keep every number.
fn check(
    what: &str,
    before: &Evening,
    change: impl Fn(&mut Evening),
    moved: &[(&str, Turn)],
    free: &[&str],
) {
    let mut after = before.clone();
    change(&mut after);
    let (was, is) = (before.forecast(), after.forecast());
    for name in moved.iter().map(|(name, _)| *name).chain(free.iter().copied()) {
        assert!(is.stocks.iter().any(|s| s.name == name), "{what}: there is no stock {name}");
    }
    for stock in &is.stocks {
        let Some(old) = was.stocks.iter().find(|s| s.name == stock.name) else { continue };
        let numbers = format!("{what}, {}: {:?} -> {:?}", stock.name, old.hours, stock.hours);
        match moved.iter().find(|(name, _)| *name == stock.name) {
            Some((_, turn)) => {
                // Past the horizon is later than anything within it, but one median has to be there.
                let median = |hours: Option<f64>| hours.unwrap_or(f64::INFINITY);
                let (a, b) = (median(old.hours.p50), median(stock.hours.p50));
                assert!(a.is_finite() || b.is_finite(), "{numbers}: no median within the horizon");
                let right = if *turn == Sooner { b < a } else { b > a };
                assert!(right, "{numbers}: expected {turn:?}");
            }
            None if free.contains(&stock.name.as_str()) => {}
            None => {
                assert_eq!((old.hours, old.level), (stock.hours, stock.level), "{numbers}: coupled")
            }
        }
    }
}

#[test]
fn every_stock_runs_out_within_the_horizon_on_the_plain_evening() {
    for stock in Evening::plain().forecast().stocks {
        assert!(stock.hours.p50.is_some_and(|hours| hours > 0.0), "{stock:?}");
    }
}

#[test]
fn a_litre_more_per_shower() {
    let all = [("fresh", Sooner), ("grey", Sooner), ("diesel", Sooner), ("battery", Sooner)];
    let more = |e: &mut Evening| scale(&mut e.activity("shower").moves, "fresh", 9.0 / 8.0);
    check("9 L instead of 8 L", &Evening::plain(), more, &all, &[]);
    let less = all.map(|(name, _)| (name, Later));
    let fewer = |e: &mut Evening| e.activity("shower").usual_per_day *= 0.5;
    check("half as many showers", &Evening::plain(), fewer, &less, &[]);
}

#[test]
fn what_a_shower_does_besides_taking_water() {
    let plain = Evening::plain();
    let cold = |e: &mut Evening| {
        e.activity("shower").moves.iter_mut().for_each(|m| m.warmed_to_c = None);
    };
    check("cold showers", &plain, cold, &[("diesel", Later)], &[]);
    let by_hand = |e: &mut Evening| {
        e.rig.parts.stocks.iter_mut().for_each(|s| s.lift_wh = 0.0);
    };
    check("no pump", &plain, by_hand, &[("battery", Later)], &[]);
    let thirsty = |e: &mut Evening| {
        for one in &mut e.activity("shower").moves {
            if let Measure::ShareOf { share, .. } = &mut one.measure {
                *share = 0.5;
            }
        }
    };
    check("half of it is spilt", &plain, thirsty, &[("grey", Later)], &[]);
}

#[test]
fn a_colder_night() {
    let colder = |e: &mut Evening| {
        e.rig.home.typical = Some(TypicalWeather { low_c: -5.0, high_c: 8.0, cloud: 0.8 });
    };
    let moved = [("diesel", Sooner), ("battery", Sooner)];
    check("usually colder", &Evening::plain(), colder, &moved, &[]);
    // One cold night in the outlook: less than the season, and still seen.
    let night = |low_c: f64| {
        move |e: &mut Evening| {
            for day in 11..=15 {
                let outlook = DayWeather {
                    issued: moment(NOW),
                    date: chrono::NaiveDate::from_ymd_opt(2026, 11, day).unwrap(),
                    low_c: Some(if day == 12 { low_c } else { 2.0 }),
                    high_c: Some(8.0),
                    sun_kwh_m2: Some(0.8),
                    cloud: None,
                    place: None,
                };
                e.log(moment(NOW), Event::Outlook(outlook));
            }
        }
    };
    let mut mild = Evening::plain();
    night(2.0)(&mut mild);
    let mut cold = Evening::plain();
    night(-8.0)(&mut cold);
    let swap = |e: &mut Evening| *e = cold.clone();
    check("one cold night in the outlook", &mild, swap, &moved, &[]);
}

#[test]
fn more_sun() {
    // What shines through the windows also heats.
    let clear = |e: &mut Evening| {
        e.rig.home.typical = Some(TypicalWeather { low_c: 2.0, high_c: 8.0, cloud: 0.3 });
    };
    let moved = [("battery", Later), ("diesel", Later)];
    check("clearer sky", &Evening::plain(), clear, &moved, &[]);
    let panels = |e: &mut Evening| {
        e.rig.parts.electrics.as_mut().unwrap().panels[0].rated_w *= 1.5;
    };
    check("more panels", &Evening::plain(), panels, &[("battery", Later)], &[]);
    let shade = |e: &mut Evening| {
        e.rig.parts.electrics.as_mut().unwrap().panels[0].rated_w *= 0.2;
    };
    check("under a tree", &Evening::plain(), shade, &[("battery", Sooner)], &[]);
}

#[test]
fn loads_on_the_battery() {
    let battery = [("battery", Sooner)];
    let plain = Evening::plain();
    let idle = |e: &mut Evening| {
        e.rig.parts.electrics.as_mut().unwrap().inverter.as_mut().unwrap().always_on = true;
    };
    check("inverter always on", &plain, idle, &battery, &[]);
    let poor = |e: &mut Evening| {
        e.rig.parts.electrics.as_mut().unwrap().inverter.as_mut().unwrap().efficiency = 0.7;
    };
    check("worse inverter", &plain, poor, &battery, &[]);
    let meals = |e: &mut Evening| e.activity("cooked meal").usual_per_day += 1.0;
    check("a meal more a day", &plain, meals, &battery, &[]);
    let standing = |e: &mut Evening| e.rig.parts.electrics.as_mut().unwrap().standing_w += 10.0;
    // What a load draws ends as heat in the van.
    let warm = [("battery", Sooner), ("diesel", Later)];
    check("10 W standing", &plain, standing, &warm, &[]);
    let fridge = |e: &mut Evening| {
        e.rig.parts.electrics.as_mut().unwrap().fridge.as_mut().unwrap().mean_w += 10.0;
    };
    check("larger fridge", &plain, fridge, &warm, &[]);
}

#[test]
fn a_guest_and_days_away() {
    let bound = ["fresh", "grey", "liquids", "solids", "food"];
    let crew = |people: i64| Event::Crew(Amount::from_milli(people * 1000).unwrap());
    let sooner: Vec<_> = bound.iter().map(|name| (*name, Sooner)).collect();
    // A guest's showers burn diesel and phones take charge; a guest's warmth saves some of both.
    let guest = |e: &mut Evening| e.log(moment(NOW), crew(5));
    check("a guest", &Evening::plain(), guest, &sooner, &["diesel", "battery"]);
    let mut mild = Evening::plain();
    mild.rig.home.typical = Some(TypicalWeather { low_c: 17.0, high_c: 22.0, cloud: 0.8 });
    let all: Vec<_> = sooner.into_iter().chain([("battery", Sooner)]).collect();
    check("a guest where nothing is heated", &mild, guest, &all, &["diesel"]);
    let away = |e: &mut Evening| {
        e.plan(10, crew(0));
        e.plan(58, crew(4));
    };
    let later: Vec<_> = bound.iter().map(|name| (*name, Later)).collect();
    check("two days away", &Evening::plain(), away, &later, &["battery", "diesel"]);
}

#[test]
fn driving() {
    let hours = |e: &mut Evening| e.plan(14, Event::Drive(quantity(1.0, Unit::Hour)));
    check("an hour's drive", &Evening::plain(), hours, &[("battery", Later)], &[]);
    let distance = |e: &mut Evening| e.plan(14, Event::Drive(quantity(80.0, Unit::Kilometre)));
    check("80 km", &Evening::plain(), distance, &[("diesel", Sooner)], &[]);
    let miles = |e: &mut Evening| e.plan(14, Event::Drive(quantity(50.0, Unit::Mile)));
    check("50 mi", &Evening::plain(), miles, &[("diesel", Sooner)], &[]);
}

#[test]
fn charging_from_outside() {
    let mut rig = Evening::plain();
    let per_hour = |stock: &str, per_time: f64| Move {
        stock: stock.into(),
        measure: Measure::Amount { per_time, spread: 0.1 },
        warmed_to_c: None,
        through_inverter: false,
    };
    rig.rig.parts.base.push(BaseUse {
        name: "generator".into(),
        per: Driver::GeneratorHour,
        hours: Vec::new(),
        moves: vec![per_hour("diesel", -0.5), per_hour("battery", 700.0)],
    });
    let charge = |source, amount, unit: Unit| {
        move |e: &mut Evening| {
            let amount = quantity(amount, unit.clone());
            e.plan(14, Event::Charge { source, amount });
        }
    };
    let generator = charge(ChargeSource::Generator, 3.0, Unit::Hour);
    check("generator", &rig, generator, &[("battery", Later), ("diesel", Sooner)], &[]);
    let shore = charge(ChargeSource::Shore, 3.0, Unit::Hour);
    check("hook-up", &rig, shore, &[("battery", Later)], &[]);
    let energy = charge(ChargeSource::Shore, 1500.0, Unit::WattHour);
    check("a stated charge", &rig, energy, &[("battery", Later)], &[]);
}

/// Renames a stock everywhere.
fn rename(evening: &mut Evening, old: &str, new: &str) {
    let swap = |name: &mut String| {
        if name == old {
            *name = new.to_string();
        }
    };
    let parts = &mut evening.rig.parts;
    for stock in &mut parts.stocks {
        swap(&mut stock.name);
        stock.also.clear();
    }
    let moves = parts.activities.iter_mut().flat_map(|a| &mut a.moves);
    for one in moves.chain(parts.base.iter_mut().flat_map(|b| &mut b.moves)) {
        swap(&mut one.stock);
        if let Measure::ShareOf { stock, .. } = &mut one.measure {
            swap(stock);
        }
    }
    parts.electrics.iter_mut().for_each(|e| swap(&mut e.store));
    let sources = parts.heating.iter_mut().flat_map(|h| &mut h.sources);
    sources.for_each(|source| swap(&mut source.burns));
    parts.hot_water.iter_mut().for_each(|h| swap(&mut h.from));
    for entry in &mut evening.entries {
        if let Body::Happened(
            Event::Level { stock, .. } | Event::Fill { stock, .. } | Event::Empty { stock, .. },
        ) = &mut entry.body
        {
            swap(stock);
        }
    }
}

/// No stock owes anything to its name.
#[test]
fn a_stock_by_another_name_has_the_same_numbers() {
    let plain = Evening::plain().forecast();
    for (index, stock) in plain.stocks.iter().enumerate() {
        let mut other = Evening::plain();
        rename(&mut other, &stock.name, "brindlewick");
        let mut renamed = other.forecast();
        assert_eq!(renamed.stocks[index].name, "brindlewick");
        renamed.stocks[index].name.clone_from(&stock.name);
        assert_eq!(renamed, plain, "{} by another name", stock.name);
    }
}

/// Stocks, an activity and a base use of the owner's own.
fn with_own_stocks() -> Evening {
    let mut evening = Evening::plain();
    let stock = |name: &str, runs, unit: &str, capacity| Stock {
        name: name.into(),
        also: Vec::new(),
        runs,
        unit: Unit::Own(unit.into()),
        capacity,
        margin: 0.0,
        gauge: Gauge::None,
        dregs: 0.0,
        lift_wh: 0.0,
        reset_by_camp: false,
        freezes_below_c: None,
        spare: 0.0,
    };
    let moved = |stock: &str, per_time: f64| Move {
        stock: stock.into(),
        measure: Measure::Amount { per_time, spread: 0.2 },
        warmed_to_c: None,
        through_inverter: false,
    };
    let parts = &mut evening.rig.parts;
    parts.stocks.push(stock("firewood", Direction::Down, "baskets", 9.0));
    parts.stocks.push(stock("ash", Direction::Up, "buckets", 4.0));
    parts.stocks.push(stock("pills", Direction::Down, "pieces", 60.0));
    parts.activities.push(Activity {
        name: "campfire".into(),
        plural: "campfires".into(),
        also: Vec::new(),
        counted_in: Unit::Time,
        usual_per_day: 0.6,
        usual_spread: 0.3,
        per: Per::Van,
        hours: vec![(20, 1.0)],
        moves: vec![moved("firewood", -1.0), moved("ash", 0.4)],
    });
    parts.base.push(BaseUse {
        name: "doses".into(),
        per: Driver::PersonDay,
        hours: Vec::new(),
        moves: vec![moved("pills", -1.0)],
    });
    evening.read("firewood", 9.0, Unit::Own("baskets".into()));
    evening.read("ash", 0.5, Unit::Own("buckets".into()));
    evening.read("pills", 60.0, Unit::Own("pieces".into()));
    evening
}

#[test]
fn stocks_of_the_owners_own_are_moved_like_the_others() {
    let own = with_own_stocks();
    let fires = [("firewood", Sooner), ("ash", Sooner)];
    let larger = |e: &mut Evening| scale(&mut e.activity("campfire").moves, "firewood", 1.4);
    check("larger fires", &own, larger, &fires[..1], &[]);
    let more = |e: &mut Evening| e.activity("campfire").usual_per_day = 1.0;
    check("more fires", &own, more, &fires, &[]);
    let planned = |e: &mut Evening| {
        let count = quantity(3.0, Unit::Time);
        e.plan(2, Event::Use { activity: "campfire".into(), count });
    };
    check("a feast", &own, planned, &fires, &[]);
    let crew = |e: &mut Evening| e.log(moment(NOW), Event::Crew(Amount::from_milli(6000).unwrap()));
    let people = ["fresh", "grey", "liquids", "solids", "food", "pills"].map(|name| (name, Sooner));
    check("two guests", &own, crew, &people, &["battery", "diesel"]);
    let reading = |e: &mut Evening| e.read("pills", 30.0, Unit::Own("pieces".into()));
    check("half of them lost", &own, reading, &[("pills", Sooner)], &[]);
    let emptied = |e: &mut Evening| {
        e.log(moment(NOW), Event::Empty { stock: "ash".into(), amount: None, after: None });
    };
    check("ash emptied", &own, emptied, &[("ash", Later)], &[]);
}

#[test]
fn nights_at_one_place_start_again_with_the_next() {
    let mut evening = Evening::plain();
    evening.rig.parts.stocks.push(Stock {
        name: "nights here".into(),
        also: Vec::new(),
        runs: Direction::Up,
        unit: Unit::Night,
        capacity: 7.0,
        margin: 0.0,
        gauge: Gauge::None,
        dregs: 0.0,
        lift_wh: 0.0,
        reset_by_camp: true,
        freezes_below_c: None,
        spare: 0.0,
    });
    evening.rig.parts.base.push(BaseUse {
        name: "a night here".into(),
        per: Driver::Day,
        hours: Vec::new(),
        moves: vec![Move {
            stock: "nights here".into(),
            measure: Measure::Amount { per_time: 1.0, spread: 0.0 },
            warmed_to_c: None,
            through_inverter: false,
        }],
    });
    evening.read("nights here", 3.0, Unit::Night);
    let place = || waystock::domain::entry::Spot::Named("Orchard end".into());
    let move_on = |e: &mut Evening| e.plan(16, Event::Camp(place()));
    check("moving on", &evening, move_on, &[("nights here", Later)], &[]);
}
