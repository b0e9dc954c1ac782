//! A stretch laid out for the lives: beliefs, hours ahead, what is serviced first, and the hour
//! that it must reach. Changes make another case; the lives' luck stays the same.

use super::change::Change;
use super::practice::{HOOK_UP_WH, MORNING_HOUR};
use super::stops::places::services;
use super::{Basis, Request, Weather};
use crate::belief::Beliefs;
use crate::domain::time::NIGHT_ENDS;
use crate::domain::{Driver, Event, Moment, Rig, Spot, Standing, Timeline, Zone, hours_between};
use crate::forecast::lives::OneStock;
use crate::forecast::passages::{first_passages, quantile, sorted};
use crate::forecast::scene::Scene;
use crate::forecast::variants::{LevelChange, Variant, VariantLives};
use crate::forecast::{Options, lives};
use crate::mechanism::driver::Source;
use chrono::{Duration, NaiveTime, Timelike};
use std::borrow::Cow;
use std::ops::Range;

/// Further than this no stretch is looked at, in hours.
pub const FURTHEST_H: usize = 24 * 60;

/// A stretch laid out.
#[derive(Debug, Clone)]
pub struct Case {
    /// What is believed.
    pub beliefs: Beliefs,
    /// The hours ahead, from now.
    pub scene: Scene,
    /// When the stretch begins.
    pub from: Moment,
    /// Index of the hour in which it begins.
    pub from_hour: usize,
    /// Hours from now to the last morning.
    pub until_hours: f64,
    /// What is done when it begins.
    pub puts: Vec<(usize, LevelChange)>,
    /// Hours of hook-up that the stay at the place asked for gives, and that are counted on.
    pub hook_up_hours: Option<f64>,
    /// Seed and number of the lives.
    pub seed: u64,
    /// Number of lives.
    pub lives: usize,
}

impl Case {
    /// Lays out what was asked, looking `beyond` hours past the last morning.
    pub fn of(basis: &Basis, request: &Request, beyond: usize) -> Case {
        let Basis { rig, now, .. } = *basis;
        let zone = basis.zone();
        let from = request.from.filter(|from| *from > now).unwrap_or(now);
        let until = last_morning(zone, from, request.nights);
        let until_hours = hours_between(now, until);
        let horizon_hours = (until_hours.ceil() as usize + beyond).min(FURTHEST_H);
        let mut beliefs = basis.beliefs.clone();
        let standing = as_asked(basis, request, from);
        if request.place.is_some() {
            beliefs.timeline = Timeline::of(rig, &standing);
        }
        let Request { seed, lives, .. } = *request;
        let options = Options { seed, lives, horizon_hours, ..Options::at(now) };
        let scene = Scene::of(rig, &standing, &beliefs, &options);
        let from_hour = hours_between(now, from).max(0.0) as usize;
        let (puts, hook_up_hours) = (Vec::new(), None);
        let mut case =
            Case { beliefs, scene, from, from_hour, until_hours, puts, hook_up_hours, seed, lives };
        request.crew.into_iter().for_each(|crew| case.set_aboard(crew));
        case.puts = case.arrival(request);
        case.hook_up_hours = case.hook_up_there(rig, request);
        let brought = case.hook_up_hours.map(|hours| LevelChange::By(hours * case.hook_up()));
        case.puts.extend(case.beliefs.mechanism.electric.zip(brought));
        case
    }

    /// What happens to the levels as the stretch begins: a new camp, services.
    fn arrival(&self, request: &Request) -> Vec<(usize, LevelChange)> {
        let stocks = self.beliefs.mechanism.stocks().iter().enumerate();
        stocks
            .filter(|(index, stock)| match stock.reset_by_camp {
                true => request.place.is_some() || request.fill_first,
                false => request.fill_first && self.can_be_serviced(*index),
            })
            .map(|(index, _)| self.service(index))
            .collect()
    }

    /// Hours of hook-up that the stay gives, where the place asked for says so.
    fn hook_up_there(&self, rig: &Rig, request: &Request) -> Option<f64> {
        let Some(Spot::Named(name)) = &request.place else { return None };
        let place = rig.place_named(name)?;
        let electric = self.beliefs.mechanism.electric?;
        let serves = services(place, &self.beliefs.mechanism.parts);
        place.hook_up_hours.filter(|_| serves.has(electric))
    }

    /// So many people are aboard from its beginning on, whatever the journal plans.
    pub(super) fn set_aboard(&mut self, people: f64) {
        self.scene.hours.iter_mut().skip(self.from_hour).for_each(|hour| hour.aboard = people);
    }

    /// A service of a stock, all the way.
    pub(super) fn service(&self, stock: usize) -> (usize, LevelChange) {
        (stock, LevelChange::To(self.beliefs.mechanism.stocks()[stock].serviced_level()))
    }

    /// Whether a stop can service a stock: anything but a battery that nothing charges.
    pub(super) fn can_be_serviced(&self, stock: usize) -> bool {
        self.beliefs.mechanism.electric != Some(stock) || self.charger().is_some()
    }

    /// What charges the battery from outside, with the energy that an hour of it brings, in Wh.
    pub(super) fn charger(&self) -> Option<(Driver, f64)> {
        let by = |driver: Driver| self.brought_by(driver).map(|wh| (driver, wh));
        [Driver::ShoreHour, Driver::GeneratorHour, Driver::DriveHour].into_iter().find_map(by)
    }

    /// Energy that a unit of a driver brings to the battery, in Wh.
    pub(super) fn brought_by(&self, driver: Driver) -> Option<f64> {
        let electric = self.beliefs.mechanism.electric?;
        let flows = self.beliefs.mechanism.flows.iter();
        let wh: f64 = flows
            .filter(|f| f.source == Source::Driver(driver) && f.stock == electric)
            .map(|f| f.scale * self.beliefs.coefficient(f.coefficient).mean)
            .sum();
        (wh > 0.0).then_some(wh)
    }

    /// What an hour on the hook-up brings, in Wh: as the rig says, else what is usual.
    pub(super) fn hook_up(&self) -> f64 {
        self.brought_by(Driver::ShoreHour).unwrap_or(HOOK_UP_WH)
    }

    /// The same with changes made.
    pub fn with(&self, changes: &[Change]) -> Case {
        let mut case = self.clone();
        let before: Vec<f64> =
            case.beliefs.mechanism.stocks().iter().map(|s| s.serviced_level()).collect();
        for change in changes {
            if let Some((stock, amount)) = change.adds(&case.beliefs) {
                case.puts.push((stock, LevelChange::By(amount)));
            }
            change.apply(&mut case.beliefs, &mut case.scene);
        }
        // What is filled to the brim is filled to the new brim.
        for (stock, put) in &mut case.puts {
            if *put == LevelChange::To(before[*stock]) {
                *put = LevelChange::To(case.beliefs.mechanism.stocks()[*stock].serviced_level());
            }
        }
        case
    }

    /// The same with fewer hours past the last morning, and other lives.
    pub fn cut(mut self, beyond: usize, lives: usize) -> Case {
        let hours = self.until_hours.ceil() as usize + beyond;
        self.scene.hours.truncate(hours);
        self.lives = lives;
        self
    }

    /// The track of the stretch, with more done when it begins.
    pub fn track(&self, more: &[(usize, LevelChange)]) -> Variant {
        let all = self.puts.iter().chain(more);
        Variant {
            from: self.from_hour,
            puts: all.map(|(stock, put)| (self.from_hour, *stock, *put)).collect(),
            mark: Some((self.until_hours.ceil() as usize).saturating_sub(1)),
        }
    }

    /// Runs the lives once, over several tracks.
    pub fn run(&self, tracks: &[Variant]) -> Vec<VariantLives> {
        lives::run_variants(&self.beliefs, &self.scene, self.seed, self.lives, tracks)
    }

    /// When the stretch meets its limits, and nothing else: several times quicker than
    /// [`Case::outcome`] where the stretch begins now, as levels need not be carried on once a
    /// limit is met.
    pub fn limits(&self) -> Outcome {
        self.limits_of_track(self.track(&[]))
    }

    /// The same of another track of the stretch.
    pub(super) fn limits_of_track(&self, track: Variant) -> Outcome {
        if self.begins_now() {
            return self.limits_with(track.puts);
        }
        let track = Variant { mark: None, ..track };
        Outcome::of(self.run(&[track]).pop().unwrap_or_default(), self)
    }

    /// What moves one stock in as many of the lives, hour by hour.
    pub(super) fn one_stock(&self, stock: usize) -> OneStock {
        OneStock::of(&self.beliefs, &self.scene, (self.seed, self.lives), stock)
    }

    /// The same from now on, with so much done to the stocks: `(hour, stock, what)`, in order of hours.
    pub(super) fn limits_with(&self, puts: Vec<(usize, usize, LevelChange)>) -> Outcome {
        self.limits_of(0..self.lives, puts)
    }

    /// The same of the lives with these numbers; the first is a multiple of 32.
    pub(super) fn limits_of(
        &self,
        numbers: Range<usize>,
        puts: Vec<(usize, usize, LevelChange)>,
    ) -> Outcome {
        let scene = match puts.is_empty() {
            true => Cow::Borrowed(&self.scene),
            false => Cow::Owned(Scene { puts, ..self.scene.clone() }),
        };
        let lives = lives::run_more(&self.beliefs, &scene, self.seed, numbers);
        let passages = lives.into_forcing(&scene);
        Outcome::of(VariantLives { passages, ..VariantLives::default() }, self)
    }

    /// Whether it begins at once.
    fn begins_now(&self) -> bool {
        self.from_hour == 0
    }

    /// The same as [`Case::outcome`], but levels are carried to the last morning only, which is
    /// quicker where the horizon lies far behind it.
    pub(super) fn outcome_until_the_morning(&self) -> Outcome {
        if !self.begins_now() {
            return self.outcome();
        }
        let far = self.limits();
        let short = self.clone().cut(0, self.lives).outcome();
        Outcome { lives: VariantLives { passages: far.lives.passages, ..short.lives }, ..far }
    }

    /// Runs the stretch itself.
    pub fn outcome(&self) -> Outcome {
        let mut lives = self.run(&[self.track(&[])]);
        Outcome::of(lives.pop().unwrap_or_default(), self)
    }
}

/// What became of a stretch in every life.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Outcome {
    /// The lives; of [`Case::limits`], their passages only.
    pub lives: VariantLives,
    /// Hours from now to the first limit met, per life, sorted.
    pub first: Vec<f64>,
    /// Share of lives in which each stock is the first.
    pub binding: Vec<f64>,
    /// Share of lives in which no limit is met before the last morning.
    pub probability: f64,
}

impl Outcome {
    /// Reads it off a track's lives.
    pub fn of(lives: VariantLives, case: &Case) -> Outcome {
        let (first, binding) = first_passages(&lives.passages);
        let first = sorted(first);
        let probability = share_from(&first, case.until_hours);
        Outcome { lives, first, binding, probability }
    }

    /// The stock that meets its limit first in most lives; the last of several.
    pub(super) fn most_often_first(&self) -> Option<usize> {
        let often = |a: &usize, b: &usize| self.binding[*a].total_cmp(&self.binding[*b]);
        (0..self.binding.len()).max_by(often)
    }

    /// Hours from now that the stretch lasts in a share `confidence` of lives; infinite past
    /// the horizon.
    pub fn safe_hours(&self, confidence: f64) -> f64 {
        safe_hours(&self.first, confidence)
    }
}

/// Hours that a share `confidence` of sorted hours is not below, as the forecast's dates are read
/// off; infinite past the horizon.
pub(super) fn safe_hours(sorted: &[f64], confidence: f64) -> f64 {
    quantile(sorted, 1.0 - confidence).unwrap_or(f64::INFINITY)
}

/// Share of sorted hours that are not before `hours`.
pub(super) fn share_from(sorted: &[f64], hours: f64) -> f64 {
    let before = sorted.partition_point(|first| *first < hours);
    1.0 - before as f64 / sorted.len().max(1) as f64
}

/// 10:00 after the `nights`-th night from `from`. A stretch that begins in the small hours
/// counts the night that is under way.
pub fn last_morning(zone: Zone, from: Moment, nights: u32) -> Moment {
    let civil = zone.here(from);
    let tonight = match civil.hour() < NIGHT_ENDS {
        true => civil.date_naive() - Duration::days(1),
        false => civil.date_naive(),
    };
    let morning = NaiveTime::from_hms_opt(MORNING_HOUR, 0, 0).unwrap_or_default();
    zone.moment((tonight + Duration::days(i64::from(nights))).and_time(morning))
}

/// What stands, with the asked camp and without the outlook when only the usual is wanted.
fn as_asked<'a>(basis: &Basis<'a>, request: &Request, from: Moment) -> Cow<'a, [Standing]> {
    if request.place.is_none() && request.weather == Weather::Outlook {
        return Cow::Borrowed(basis.standing);
    }
    let today = basis.zone().date(basis.now);
    let ahead = |entry: &Standing| matches!(&entry.event, Event::Outlook(row) if row.date >= today);
    let moves_later = |e: &Standing| matches!(e.event, Event::Camp(_)) && e.at > from;
    let kept = |entry: &&Standing| {
        (request.weather == Weather::Outlook || !ahead(entry))
            && (request.place.is_none() || !moves_later(entry))
    };
    let mut all: Vec<Standing> = basis.standing.iter().filter(kept).cloned().collect();
    if let Some(place) = &request.place {
        all.push(Standing::supposed(from, basis.now, Event::Camp(place.clone())));
        all.sort_by_key(|entry| entry.at);
    }
    Cow::Owned(all)
}
