//! What an interval hides: uses that nobody wrote, and days of which nothing is told. It is linear
//! in what is learned of days and of writing, so that a reading teaches both.
//!
//! A day out is out for all stocks: what one does not know of it moves them together.

use crate::belief::joint::Joint;
use crate::belief::manner::{MOST_UNWRITTEN, MannerNumber};
use crate::belief::past::Past;
use crate::belief::unlogged::Unlogged;
use crate::mechanism::driver::{Exposure, Source, person_hour_share};
use crate::mechanism::{Flow, Mechanism};

/// What is hidden of an interval.
#[derive(Debug, Clone)]
pub(super) struct Hidden {
    /// Per activity, what is written as a rule: nobody wrote so many times that, as is learned.
    unwritten: Vec<f64>,
    /// Per activity and per rhythm of base use, and of each fuel, what happened if all were at home
    /// on untold days.
    if_home: Vec<f64>,
    base: Vec<f64>,
    fuels: Vec<f64>,
    /// Those days.
    days: f64,
    /// Per activity and per rhythm of base use, how much more it holds for each unit that all is
    /// done later in the day.
    later: Vec<f64>,
    base_later: Vec<f64>,
}

/// What is believed of a crew's days and writing: the numbers, and their places.
#[derive(Clone, Copy)]
pub(super) struct HiddenValues<'a> {
    unlogged: &'a Unlogged<'a>,
    unwritten: f64,
    at_home: f64,
    later: f64,
    places: [usize; 3],
}

impl HiddenValues<'_> {
    pub(super) fn of<'a>(joint: &Joint, unlogged: &'a Unlogged<'a>) -> HiddenValues<'a> {
        let learned = [MannerNumber::Unwritten, MannerNumber::AtHome, MannerNumber::Later];
        let places = learned.map(|what| what.place(joint.size()));
        HiddenValues {
            unwritten: joint.mean(places[0]).clamp(0.0, MOST_UNWRITTEN),
            at_home: joint.mean(places[1]).clamp(0.0, 1.0),
            later: joint.mean(places[2]),
            unlogged,
            places,
        }
    }
}

/// How one stock's change depends on what is learned of days and writing.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct HiddenSlopes {
    unwritten: f64,
    at_home: f64,
    later: f64,
}

impl HiddenSlopes {
    /// For [`Joint::shift`].
    pub(super) fn slopes(&self, values: &HiddenValues) -> [(usize, f64); 3] {
        let [unwritten, at_home, later] = values.places;
        [(unwritten, self.unwritten), (at_home, self.at_home), (later, self.later)]
    }

    /// Fuel is burnt for those at home.
    pub(super) fn burn(&mut self, hidden: &Hidden, fuel: usize) {
        self.at_home -= hidden.fuels[fuel];
    }
}

impl Hidden {
    /// Nothing.
    pub(super) fn none(mechanism: &Mechanism) -> Hidden {
        let none = vec![0.0; mechanism.parts.activities.len()];
        let base = vec![0.0; mechanism.rhythms.len()];
        Hidden {
            unwritten: none.clone(),
            if_home: none.clone(),
            base: base.clone(),
            fuels: vec![0.0; mechanism.parts.heat_fuels().len()],
            days: 0.0,
            later: none,
            base_later: base,
        }
    }

    pub(super) fn clear(&mut self) {
        self.unwritten.fill(0.0);
        self.if_home.fill(0.0);
        self.base.fill(0.0);
        self.later.fill(0.0);
        self.base_later.fill(0.0);
        self.fuels.fill(0.0);
        self.days = 0.0;
    }

    pub(super) fn add(&mut self, other: &Hidden) {
        let pairs = |own: &mut [f64], more: &[f64]| {
            own.iter_mut().zip(more).for_each(|(own, more)| *own += more);
        };
        pairs(&mut self.unwritten, &other.unwritten);
        pairs(&mut self.if_home, &other.if_home);
        pairs(&mut self.base, &other.base);
        pairs(&mut self.later, &other.later);
        pairs(&mut self.base_later, &other.base_later);
        pairs(&mut self.fuels, &other.fuels);
        self.days += other.days;
    }

    /// Adds what an hour of a past held between two places of it, `[0, 1]`: what is sure of it goes to
    /// `exposure`. Gives back the shares of what warms the van that are sure, and that are so if
    /// all were at home.
    pub(super) fn add_hour(
        &mut self,
        unlogged: &Unlogged,
        (past, index): (&Past, usize),
        within: (f64, f64),
        exposure: &mut Exposure,
    ) -> (f64, f64) {
        let (hour, part) = (&past.hours[index], within.1 - within.0);
        let hiding = unlogged.hiding(hour);
        let sure = hiding.lived + hiding.anyway;
        self.days += person_hour_share(hour.hour) * part * hiding.if_home;
        for (rhythm, amount) in unlogged.base(hour).enumerate() {
            let people = unlogged.by_people(rhythm);
            let (known, unknown) = if people { (sure, hiding.if_home) } else { (1.0, 0.0) };
            exposure.base[rhythm] += amount * part * known;
            self.base[rhythm] += amount * part * unknown;
            self.base_later[rhythm] += amount * part * known * unlogged.later(rhythm, hour);
        }
        for used in &past.uses.by_hour[index] {
            self.later[used.activity] += used.between(within.0, within.1) * used.later;
        }
        unlogged.add_told(past, index, within, exposure);
        for (index, (written, whole)) in unlogged.usual(hour).enumerate() {
            let anyway = whole * hiding.anyway * part;
            exposure.activities[index] += anyway;
            exposure.unlogged_variance[index] += unlogged.own_variance(index, anyway)
                + unlogged.idle_variance(index, whole * part, hour);
            self.unwritten[index] += written * hiding.unwritten * part;
            self.if_home[index] += whole * hiding.if_home * part;
        }
        (sure, hiding.if_home)
    }

    /// Adds what of a fuel is burnt if all were at home.
    pub(super) fn add_fuel(&mut self, fuel: usize, amount: f64) {
        self.fuels[fuel] += amount;
    }

    /// How much of a source it holds for each unit of what nobody writes, of who was at home, and of
    /// how late all is done.
    fn parts(&self, source: Source, values: &HiddenValues) -> [f64; 3] {
        match source {
            Source::Activity(index) => {
                let [(_, hidden), (all, more)] =
                    values.unlogged.with_unwritten(index, values.unwritten);
                let if_home = self.if_home[index];
                let unwritten = self.unwritten[index] * hidden + if_home * values.at_home * more;
                [unwritten, if_home * all, self.later[index]]
            }
            Source::Base(rhythm) => [0.0, self.base[rhythm], self.base_later[rhythm]],
            _ => [0.0; 3],
        }
    }

    /// How much of a source it holds that nobody wrote, as far as is believed.
    pub(super) fn unwritten(&self, source: Source, values: &HiddenValues) -> f64 {
        match source {
            Source::Activity(index) => {
                let [(hidden, _), (all, _)] =
                    values.unlogged.with_unwritten(index, values.unwritten);
                self.unwritten[index] * hidden + self.if_home[index] * all * values.at_home
            }
            Source::Base(rhythm) => self.base[rhythm] * values.at_home,
            _ => 0.0,
        }
    }

    /// How much of a source it holds, as far as is believed, beside what is sure.
    pub(super) fn of(&self, source: Source, values: &HiddenValues) -> f64 {
        let later = match source {
            Source::Activity(index) => self.later[index],
            Source::Base(rhythm) => self.base_later[rhythm],
            _ => 0.0,
        };
        self.unwritten(source, values) + later * values.later
    }

    /// What of a fuel is burnt, as far as is believed.
    pub(super) fn fuel(&self, fuel: usize, values: &HiddenValues) -> f64 {
        self.fuels[fuel] * values.at_home
    }

    /// What a flow adds to how its stock depends on what is learned; and what hangs together adds
    /// to the mean change, as that depends on products.
    pub(super) fn depend(
        &self,
        flow: &Flow,
        (coefficient, each): (usize, f64),
        (joint, values): (&Joint, &HiddenValues),
        slopes: &mut HiddenSlopes,
    ) -> f64 {
        let parts = self.parts(flow.source, values);
        if parts == [0.0; 3] {
            return 0.0;
        }
        let mean = each * joint.mean(coefficient);
        slopes.unwritten += mean * parts[0];
        slopes.at_home += mean * parts[1];
        slopes.later += mean * parts[2];
        let together = parts.iter().zip(values.places);
        each * together.map(|(part, p)| part * joint.covariance(coefficient, p)).sum::<f64>()
    }

    /// Nobody knows which of the untold days were lived at home: each is or is not (Bernoulli), for
    /// all stocks at once.
    pub(super) fn disturb(
        &self,
        slopes: &[HiddenSlopes],
        values: &HiddenValues,
        joint: &mut Joint,
    ) {
        let moved = slopes.iter().enumerate().filter(|(_, slopes)| slopes.at_home != 0.0);
        let at_home: Vec<_> = moved.map(|(stock, slopes)| (stock, slopes.at_home)).collect();
        if self.days > 0.0 {
            // Days that were not looked into one by one add their variances, not their spreads.
            joint.disturb(&at_home, values.at_home * (1.0 - values.at_home) / self.days);
        }
    }
}
