//! What is promised of a schedule is not read off the lives that it was chosen on.

use chrono::Duration;
use rayon::prelude::*;
use std::path::Path;
use waystock::belief::{self, Beliefs};
use waystock::domain::entry::{After, Body, Entry, EntryId, Event};
use waystock::domain::journal::{self, Standing};
use waystock::domain::rig::Rig;
use waystock::domain::time::{Moment, hours_between};
use waystock::forecast::variants::{LevelChange, Variant};
use waystock::plan::Basis;
use waystock::plan::answer::Request;
use waystock::plan::case::{Case, Outcome};
use waystock::plan::stops::answer::{Trip, TripRequest};
use waystock::plan::stops::{Onward, stops};

const DAYS: u32 = 10;

/// What there is to know of a larder.
struct Known {
    rig: Rig,
    standing: Vec<Standing>,
    beliefs: Beliefs,
    now: Moment,
}

impl Known {
    fn basis(&self) -> Basis<'_> {
        let Known { rig, standing, beliefs, now } = self;
        Basis { rig, standing, beliefs, now: *now }
    }
}

/// A larder from which tins are taken one by one at any hour, and a shop an hour away.
fn larder() -> Known {
    let hours: Vec<String> = (0..24).map(|hour| format!("({hour}, 1)")).collect();
    let text = format!(
        "(format: 1, van: \"Tern\", crew: 1, show: metric,\n home: (place: \"Here\", latitude: \
         52.1, longitude: 5.2, zone: \"UTC\"),\n stocks: [(name: \"tins\", runs: down, unit: \
         \"tins\", capacity: 24)],\n activities: [(name: \"meal\", usual: 4, usual_spread: 0.01, \
         per: van, hours: [{}], takes: [(stock: \"tins\", amount: 1, spread: 0.01)])],\n)",
        hours.join(", ")
    );
    let mut rig = waystock::store::rig_file::parse(&text, Path::new("rig.ron")).expect("sound");
    let places = "(format: 1, places: [(name: \"Shop\", latitude: 52.2, longitude: 5.3, \
                  road_hours: 1, stocks: [\"tins\"])])";
    rig.places = waystock::store::places_file::parse(places, Path::new("places.ron")).expect("ok");
    let now: Moment = "2026-06-01T12:00:00Z".parse().expect("a moment");
    let at = now - Duration::minutes(1);
    let event = Event::Fill { stock: "tins".into(), amount: None, after: Some(After::Full) };
    let id = EntryId { device: "a".into(), sequence: 1, salt: 0 };
    let full = Entry { id, at, recorded: at, note: None, body: Body::Happened(event) };
    let standing = journal::standing(&[full], now);
    let beliefs = belief::learn(&rig, &standing, now, 1);
    Known { rig, standing, beliefs, now }
}

/// Share of the lives of a seed in which a schedule holds.
fn holds(known: &Known, trip: &Trip, seed: u64, lives: usize) -> f64 {
    let stay = Request { lives, seed, ..Request::here_for(DAYS) };
    let case = Case::of(&known.basis(), &stay, 0);
    let full = LevelChange::To(case.beliefs.mechanism.stocks()[0].serviced_level());
    let hour = |at: Moment| hours_between(known.now, at).round() as usize;
    let puts = trip.stops.iter().map(|stop| (hour(stop.at), 0, full)).collect();
    let lives = case.run(&[Variant { from: 0, puts, mark: None }]).pop().expect("one");
    Outcome::of(lives, &case).probability
}

/// Two stops keep tins in the larder in some 89 lives of a hundred, three in 97 (counted over
/// 20,000 lives). A sample of lives
/// on which two stops were chosen says more than that of them, because else they had not been
/// chosen; what is promised comes from other lives, and has nothing to do with that luck.
///
/// Counted over 60 seeds: a promise that were read off the same lives would equal their share
/// each time. Shares of two independent samples of `n` lives at 0.9 are the same number with a
/// chance of about 1 / (2 sqrt(pi n p q)), 1 in 25 for 512 of them.
#[test]
fn a_promise_is_not_read_off_the_lives_it_was_chosen_on() {
    let known = larder();
    let ask = |seed: u64, lives: usize| {
        let asked =
            TripRequest { days: DAYS, confidence: 0.86, crew: None, lives, seed, against: vec![] };
        stops(&known.basis(), &asked, &|_| Onward::GoOn).expect("somebody waits")
    };
    let chosen_on = ask(0, 400).chosen_on;
    let rows: Vec<(f64, f64)> = (0..60u64)
        .into_par_iter()
        .filter_map(|seed| {
            let trip = ask(seed, chosen_on);
            (trip.works && trip.stops.len() == 2)
                .then(|| (trip.probability, holds(&known, &trip, seed, chosen_on)))
        })
        .collect();
    assert!(rows.len() > 20, "{} promises of two stops", rows.len());
    let same = rows.iter().filter(|(promised, own)| (promised - own).abs() < 1e-9).count();
    assert!(5 * same < rows.len(), "{same} of {} are what their own lives said", rows.len());
}
