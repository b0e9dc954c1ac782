//! Rigs in a few lines, and beliefs that leave nothing open.

#[path = "../fixtures/regularity.rs"]
mod regularity;

use regularity::as_regular;
use std::path::Path;
use waystock::belief::joint::Joint;
use waystock::belief::manner::Manner;
use waystock::belief::{self, Beliefs, electric::Member};
use waystock::domain::estimate::Estimate;
use waystock::domain::rig::Rig;
use waystock::domain::time::Moment;
use waystock::forecast::answer::Options;
use waystock::forecast::lives::{self, Lives};
use waystock::forecast::scene::Scene;
use waystock::store::rig_file;

/// A rig, what is believed of it, and how far to look.
pub struct World {
    pub rig: Rig,
    pub beliefs: Beliefs,
    pub options: Options,
}

pub fn midnight() -> Moment {
    "2026-02-11T00:00:00Z".parse().unwrap()
}

impl World {
    /// The rig of a file's inner text, for one person, at the start of a day.
    pub fn of(parts: &str) -> World {
        let text = format!(
            "(format: 1, van: \"Test\", crew: 1, show: metric,\n home: (place: \"Here\", \
             latitude: 52.1, longitude: 5.2, zone: \"UTC\", typical: (low_c: 2, high_c: 8, \
             cloud: 0.7)),\n{parts})"
        );
        let rig = rig_file::parse(&text, Path::new("rig.ron"))
            .unwrap_or_else(|faults| panic!("{faults:?}"));
        let options = Options::at(midnight());
        let beliefs = belief::learn(&rig, &[], options.at, options.seed);
        World { rig, beliefs, options }
    }

    pub fn crew(mut self, people: f64) -> World {
        self.rig.crew = people;
        self.beliefs = belief::learn(&self.rig, &[], self.options.at, 1);
        self
    }

    pub fn horizon(mut self, days: usize) -> World {
        self.options.horizon_hours = days * 24;
        self
    }

    /// Believes every coefficient and rate to be exactly what the rig file says, and the levels
    /// to be exactly these, in the rig's order; habits are random with that variance over mean.
    pub fn certain(mut self, levels: &[f64], fano: f64) -> World {
        let mechanism = &self.beliefs.mechanism;
        let coefficients: Vec<f64> = mechanism.coefficients.iter().map(|c| c.mean).collect();
        let exact = |mean: &f64| Estimate { mean: *mean, sd: 0.0 };
        let mut all: Vec<Estimate> = levels.iter().chain(&coefficients).map(exact).collect();
        // Everything is written, nobody is ever out, and days differ as they usually do.
        let nothing = exact(&0.0);
        let (unwritten, at_home, untold) = (nothing, exact(&1.0), nothing);
        let manner = Manner { unwritten, at_home, untold, ..Manner::PRIOR };
        all.extend(manner.estimates());
        (self.beliefs.joint, self.beliefs.manner) = (Joint::independent(&all), manner);
        if let Some(electric) = mechanism.electric {
            let level_wh = levels[electric];
            self.beliefs.electric = vec![Member { level_wh, coefficients }];
        }
        for (habit, activity) in self.beliefs.habits.iter_mut().zip(&mechanism.parts.activities) {
            // So much evidence that nothing is left to doubt.
            habit.shape = 1e12;
            habit.exposure = habit.shape / activity.usual_per_day;
            habit.open = 0.0;
            habit.size = 1.0;
            habit.fano = as_regular(fano);
        }
        self
    }

    /// Days that are exactly this cold and this clear, with nothing unsure about them.
    pub fn scene(&self, weather: Option<(f64, f64, f64)>) -> Scene {
        let mut scene = Scene::of(&self.rig, &[], &self.beliefs, &self.options);
        if let Some((low_c, high_c, clearness)) = weather {
            for day in &mut scene.days {
                (day.sky.low_c, day.sky.high_c, day.sky.clearness) = (low_c, high_c, clearness);
                (day.temperature_sd, day.clearness_sd) = (0.0, 0.0);
            }
        }
        scene
    }

    pub fn lives(&self, count: usize) -> Lives {
        lives::run(&self.beliefs, &self.scene(None), self.options.seed, count)
    }

    pub fn lives_in(&self, weather: (f64, f64, f64), count: usize) -> Lives {
        lives::run(&self.beliefs, &self.scene(Some(weather)), self.options.seed, count)
    }

    /// Index of a stock.
    pub fn stock(&self, name: &str) -> usize {
        self.beliefs.mechanism.parts.stock(name).unwrap().0
    }
}

/// A quantile of values in any order.
pub fn quantile(values: &[f64], share: f64) -> f64 {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    waystock::forecast::passages::quantile(&sorted, share).unwrap_or(f64::INFINITY)
}

pub fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len() as f64
}
