//! Whether what the program says it has learned is true, by its own stated spread.

use super::living::{Deed, Sums};
use super::score::middle;
use super::trial::kinds;
use super::trip::Trip;
use super::van::{Gauge, Role, Source};
use std::collections::BTreeMap;
use std::fmt::Write;
use waystock::forecast::answer::{LearnedValue, Options};
use waystock::text::reasons::lesson;

/// Half the width of a normal's 80 % interval, in standard deviations.
const EIGHTY: f64 = 1.2816;

/// What is true of one thing learned, in the rig file's terms, of a crew whose averages are
/// `sums`; `None` = it has no one truth here.
pub fn truth(trip: &Trip, sums: &Sums, what: &str) -> Option<f64> {
    let (van, is) = (&trip.van, &trip.van.is);
    let each = |deed: Deed| sums.amounts[deed as usize] / sums.counts[deed as usize];
    let rate = |deed: Deed, over: f64| sums.counts[deed as usize] / over;
    let lived_days = sums.lived_days;
    let value = match what {
        "fresh per shower" => each(Deed::Shower),
        "fresh per dishes" => each(Deed::Dishes),
        "share of shower reaching grey" => is.washing_share[0],
        "share of dishes reaching grey" => is.washing_share[1],
        "battery per cooked meal" if van.cooking == Source::Battery => {
            each(Deed::Meal) * van.says.inverter / is.inverter
        }
        "gas per cooked meal" => each(Deed::Meal),
        "battery per work" => each(Deed::Work),
        "fresh per drinking and washing" => sums.base_l / sums.person_days,
        "share of drinking and washing reaching grey" => sums.base_grey_l / sums.base_l,
        "liquids per toilet liquids" => sums.urine_l / sums.person_days,
        "food per eating" => sums.eaten / sums.person_days,
        "clean clothes per wearing" => sums.worn / sums.person_days,
        "battery per lights" => is.lights_wh,
        "battery per phones" => is.phone_wh,
        "battery per alternator" => is.alternator_wh,
        "panel factor" => is.panel_factor,
        "fridge draw at room temperature" => is.fridge_w,
        "standing draw" => is.standing_w,
        "heat loss" => is.ua,
        "showers per person-day" => rate(Deed::Shower, sums.person_days),
        "toilet solids per person-day" => rate(Deed::Solids, sums.person_days),
        "dishes per day" => rate(Deed::Dishes, lived_days),
        "cooked meals per day" => rate(Deed::Meal, lived_days),
        "work per day" => rate(Deed::Work, lived_days),
        _ => return None,
    };
    value.is_finite().then_some(value)
}

/// How often the truth lies in the stated 80 % interval, per thing learned.
#[derive(Default)]
pub struct Honesty {
    rows: BTreeMap<String, Vec<Found>>,
}

struct Found {
    seed: u64,
    off: f64,
    sd: f64,
    was_off: f64,
    truth: f64,
    kinds: String,
}

impl Honesty {
    pub fn add(&mut self, trip: &Trip, learned: &[LearnedValue]) {
        let usual = trip.usual();
        let kinds = kinds(trip).join("|");
        for one in learned {
            let what = lesson(&one.what);
            if let Some(truth) = truth(trip, &usual, &what) {
                self.rows.entry(what).or_default().push(Found {
                    seed: trip.seed,
                    off: one.learned.mean - truth,
                    sd: one.learned.sd,
                    was_off: one.reference.mean - truth,
                    truth,
                    kinds: kinds.clone(),
                });
            }
        }
    }

    /// Share of all rows in which the truth lies in the stated 80 % interval.
    pub fn share(&self) -> f64 {
        let all: Vec<&Found> = self.rows.values().flatten().collect();
        all.iter().filter(|f| f.holds()).count() as f64 / all.len().max(1) as f64
    }

    /// One line per trip and thing learned: what, truth, learned mean and spread, handbook,
    /// seed, what kind of trip.
    pub fn lines(&self) -> String {
        let mut text = String::new();
        for (what, rows) in &self.rows {
            for f in rows {
                let (learned, handbook) = (f.off + f.truth, f.was_off + f.truth);
                let _ = writeln!(
                    text,
                    "coef,{what},{},{learned},{},{handbook},{},{}",
                    f.truth, f.sd, f.seed, f.kinds
                );
            }
        }
        text
    }

    pub fn text(&self) -> String {
        let mut text = String::from(
            "what was learned by the last evening             n  in 80 %  median |z|  bias of  \
             median error: learned  handbook\n",
        );
        for (what, rows) in &self.rows {
            let n = rows.len() as f64;
            let median = |of: &dyn Fn(&Found) -> f64| middle(rows.iter().map(of).collect());
            let _ = writeln!(
                text,
                "{what:45} {n:4} {:6.0}% {:10.2} {:+9.0}% {:16.0}% {:10.0}%",
                100.0 * rows.iter().filter(|f| f.holds()).count() as f64 / n,
                median(&|f| (f.off / f.sd).abs()),
                100.0 * median(&|f| f.off / f.truth),
                100.0 * median(&|f| (f.off / f.truth).abs()),
                100.0 * median(&|f| (f.was_off / f.truth).abs()),
            );
        }
        let _ = writeln!(text, "all {:52.0}%", 100.0 * self.share());
        text
    }
}

impl Found {
    fn holds(&self) -> bool {
        self.off.abs() <= EIGHTY * self.sd
    }
}

/// Relative errors of the litres per shower after so many evenings on one trip, learned and by
/// the handbook, with these gauges on fresh and grey.
pub fn shower_error(seed: u64, fresh: Gauge, grey: Gauge, evenings: usize) -> Option<(f64, f64)> {
    let trip = Trip::with(seed, |van| {
        for tank in &mut van.tanks {
            match tank.role {
                Role::Fresh => tank.gauge = fresh,
                Role::Grey => tank.gauge = grey,
                _ => {}
            }
        }
    });
    trip.van.place(Role::Grey)?;
    let truth = truth(&trip, &trip.usual(), "fresh per shower")?;
    let at = trip.entries.first()?.at + chrono::Duration::hours(24 * evenings as i64 - 2);
    let options = Options { lives: 1, ..Options::at(at) };
    let evening = waystock::forecast::evening(&trip.rig, &trip.entries, options);
    let found = evening.learned.into_iter().find(|l| lesson(&l.what) == "fresh per shower")?;
    let off = |mean: f64| (mean - truth).abs() / truth;
    Some((off(found.learned.mean), off(found.reference.mean)))
}
