//! The engine's side of the comparisons under `tests/peers/`, whose scripts run this.
//!
//! `export FILE` writes the demo's evening as JSON, for the same simulation elsewhere;
//! `time LIVES ROUNDS` prints the median time of the lives with their quantiles, on one thread
//! and on all, as the program does;
//! `folder DIR ENTRIES` writes a data folder with so many journal entries over several years;
//! `memory LIVES` only runs so many lives.

#![allow(
    clippy::disallowed_methods,
    clippy::disallowed_macros,
    reason = "a bench that writes the files and prints the times that its scripts read"
)]

mod demo;

use chrono::Duration;
use serde_json::{Value, json};
use std::path::Path;
use std::sync::Arc;
use std::time::Instant;
use waystock::belief::Beliefs;
use waystock::belief::manner::MOST_UNWRITTEN;
use waystock::belief::practice::FANOS;
use waystock::belief::regularity::order;
use waystock::domain::entry::{After, Body, Entry, EntryId, Event};
use waystock::domain::quantity::{Amount, Quantity};
use waystock::domain::rig::Rig;
use waystock::domain::stock::Direction;
use waystock::domain::time::Moment;
use waystock::domain::unit::Unit;
use waystock::forecast::lives;
use waystock::forecast::passages::{first_passages, quantiles};
use waystock::forecast::scene::{HourAhead, Scene};
use waystock::mechanism::coefficient::{Coefficient, Nature};
use waystock::mechanism::driver::Source;
use waystock::store::data_folder::DataFolder;
use waystock::store::line;
use waystock::store::real_disk::RealDisk;

fn main() {
    let words: Vec<String> = std::env::args().skip(1).filter(|word| word != "--bench").collect();
    let number = |place: usize| words.get(place).and_then(|w| w.parse::<usize>().ok());
    match (words.first().map(String::as_str), words.get(1)) {
        (Some("export"), Some(file)) => {
            let demo = Demo::read();
            std::fs::write(file, demo.json().to_string()).expect("a writable file");
        }
        (Some("folder"), Some(dir)) => write_folder(Path::new(dir), number(2).unwrap_or(60_000)),
        (Some("memory"), _) => {
            let demo = Demo::read();
            drop(demo.answer(number(1).unwrap_or(100_000), 1));
        }
        (Some("time"), _) => time(number(1).unwrap_or(10_000), number(2).unwrap_or(9)),
        _ => time(2000, 9),
    }
}

fn time(lives: usize, rounds: usize) {
    let demo = Demo::read();
    let pool = rayon::ThreadPoolBuilder::new().num_threads(1).build().expect("one thread");
    let mut answer = Value::Null;
    let (mut one, mut all) = (Vec::new(), Vec::new());
    for round in 0..rounds as u64 {
        let begun = Instant::now();
        answer = pool.install(|| demo.answer(lives, round));
        one.push(begun.elapsed().as_secs_f64());
        let begun = Instant::now();
        assert_eq!(demo.answer(lives, round), answer, "the same on any number of threads");
        all.push(begun.elapsed().as_secs_f64());
    }
    let median = |mut times: Vec<f64>| {
        times.sort_by(f64::total_cmp);
        times[rounds / 2]
    };
    answer["median_s"] = json!(median(one));
    answer["all_threads_s"] = json!(median(all));
    answer["threads"] = json!(rayon::current_num_threads());
    println!("{answer}");
}

/// The demo's own evening.
struct Demo {
    beliefs: Beliefs,
    scene: Scene,
}

impl Demo {
    fn read() -> Demo {
        let demo::Demo { contents, standing, options, beliefs } = demo::Demo::read();
        let scene = Scene::of(&contents.rig, &standing, &beliefs, &options);
        Demo { beliefs, scene }
    }

    fn answer(&self, count: usize, seed: u64) -> Value {
        let lives = lives::run(&self.beliefs, &self.scene, seed, count);
        let row = |hours: &[f64]| {
            let q = quantiles(hours);
            json!([q.p05, q.p10, q.p25, q.p50, q.p75, q.p90, q.p95])
        };
        let (first, _) = first_passages(&lives.passages);
        let stocks: Vec<Value> = lives.passages.iter().map(|hours| row(hours)).collect();
        json!({ "first": row(&first), "stocks": stocks })
    }

    fn json(&self) -> Value {
        let (beliefs, mechanism) = (&self.beliefs, &self.beliefs.mechanism);
        let joint = &beliefs.joint;
        let n = joint.size();
        let factor = joint.factor();
        let range = |c: &Coefficient| match c.nature {
            Nature::Positive { .. } => (0.1 * c.mean, 1e12),
            Nature::Share { .. } => (0.0, 1.0),
        };
        let ranges = mechanism.coefficients.iter().map(range);
        let ranges: Vec<(f64, f64)> =
            ranges.chain([(0.0, MOST_UNWRITTEN), (0.0, 1.0), (0.0, 1.0)]).collect();
        let electric_only: Vec<usize> = (0..mechanism.coefficients.len())
            .filter(|i| mechanism.coefficients[*i].electric_only)
            .collect();
        json!({
            "mean": (0..n).map(|i| joint.mean(i)).collect::<Vec<_>>(),
            "factor": factor.chunks(n).collect::<Vec<_>>(),
            "least": ranges.iter().map(|r| r.0).collect::<Vec<_>>(),
            "most": ranges.iter().map(|r| r.1).collect::<Vec<_>>(),
            "electric": mechanism.electric,
            "fuel": mechanism.heat_fuels()[0],
            "electric_only": electric_only,
            "draws": {
                "level_wh": beliefs.electric.iter().map(|d| d.level_wh).collect::<Vec<_>>(),
                "coefficients":
                    beliefs.electric.iter().map(|d| &d.coefficients).collect::<Vec<_>>(),
            },
            "stocks": mechanism.stocks().iter().map(|stock| json!({
                "name": stock.name, "capacity": stock.capacity, "limit": stock.limit(),
                "down": stock.runs == Direction::Down, "reset_by_camp": stock.reset_by_camp,
                "serviced_level": stock.serviced_level(),
            })).collect::<Vec<_>>(),
            "flows": mechanism.flows.iter().map(|flow| json!({
                "stock": flow.stock, "source": source(flow.source),
                "coefficient": flow.coefficient, "share": flow.share, "scale": flow.scale,
                "felt": match flow.source {
                    Source::Base(rhythm) if mechanism.rhythms[rhythm].per_person => {
                        felt(&mechanism.coefficients[flow.coefficient])
                    }
                    _ => 0.0,
                },
            })).collect::<Vec<_>>(),
            "per_person": mechanism.rhythms.iter().map(|r| r.per_person).collect::<Vec<_>>(),
            "habits": self.habits(),
            "kit": self.kit(),
            "days": self.scene.days.iter().map(|day| json!({
                "temperature_sd": day.temperature_sd, "clearness": day.sky.clearness,
                "clearness_sd": day.clearness_sd,
            })).collect::<Vec<_>>(),
            "hours": self.scene.hours.iter().map(|hour| self.hour(hour)).collect::<Vec<_>>(),
        })
    }

    fn habits(&self) -> Vec<Value> {
        let habits = self.beliefs.habits.iter().zip(&self.scene.shares);
        habits
            .map(|(habit, shares)| {
                let exposure = |hour: &HourAhead| habit.people(hour.aboard) * shares[hour.hour];
                json!({
                    "shape": habit.shape, "exposure": habit.exposure, "open": habit.open,
                    "size": habit.size,
                    "regularity": FANOS.iter().zip(habit.fano.chances).map(|((fano, _), chance)| json!({
                        "chance": chance, "order": order(*fano),
                        "clumps": (1.0 - 1.0 / fano).max(0.0),
                    })).collect::<Vec<_>>(),
                    "exposures": self.scene.hours.iter().map(exposure).collect::<Vec<_>>(),
                })
            })
            .collect()
    }

    /// Panels are taken as level and the battery as lithium, which the demo's are.
    fn kit(&self) -> Value {
        let mechanism = &self.beliefs.mechanism;
        let electrics = mechanism.parts.electrics.as_ref().expect("the demo has a battery");
        let heating = mechanism.parts.heating.as_ref().expect("the demo has a heater");
        let [heater] = &heating.sources[..] else { panic!("the peer knows one source of heat") };
        assert!(electrics.panels.iter().all(|panel| panel.tilt_deg == 0.0));
        assert_eq!(electrics.peukert, 1.0, "the peer does not know a capacity that shrinks");
        let idle = electrics.inverter.filter(|inverter| inverter.always_on);
        json!({
            "panels": mechanism.factors.panels, "fridge": mechanism.factors.fridge,
            "standing": mechanism.factors.standing, "heat_loss": mechanism.factors.heat_loss,
            "heated": true, "person_w": heating.person_w, "sun_gain_m2": heating.sun_gain_m2,
            "output_w": heater.output_w, "lowest_w": heater.lowest_w, "fan_w": heater.fan_w,
            "start_wh": heater.start_wh, "heater": mechanism.factors.heater_draw,
            "useful_wh_per_unit": heater.efficiency * heater.wh_per_unit,
            "fridge_per_kelvin": electrics.fridge.map_or(0.0, |fridge| fridge.per_kelvin),
            "idle_w": idle.map_or(0.0, |inverter| inverter.idle_w),
            "discharge": electrics.discharge_efficiency, "charge": electrics.charge_efficiency,
            "rated_w": electrics.panels.iter().map(|panel| panel.rated_w).sum::<f64>(),
            "per_kelvin": electrics.panels[0].per_kelvin,
            "charge_limit_w": electrics.charge_limit_w.unwrap_or(1e9),
            "refuses_below_c": electrics.no_charge_below_c.unwrap_or(-1e9),
        })
    }

    fn hour(&self, hour: &HourAhead) -> Value {
        let sky = &self.scene.days[hour.day].sky;
        let heating = self.beliefs.mechanism.parts.heating.as_ref();
        let habits = self.beliefs.habits.iter().zip(&self.scene.shares);
        let rhythms = self.beliefs.mechanism.rhythms.iter();
        let base = rhythms.map(|rhythm| rhythm.in_hour(hour.hour, hour.aboard));
        json!({
            "base_day_sd": self.beliefs.manner.base_day_sd(hour.aboard),
            "people": hour.aboard, "base": base.collect::<Vec<_>>(), "day": hour.day,
            "outside_c": sky.low_c + (sky.high_c - sky.low_c) * hour.warmth,
            "wanted_c": heating.map_or(0.0, |h| h.wanted_c(hour.hour)),
            "clear_w_m2": hour.sun.clear_w_m2, "charge_wh": hour.planned_charge_wh,
            "moves_camp": hour.moves_camp,
            "planned": hour.planned.iter().map(|(s, n)| json!([source(*s), n])).collect::<Vec<_>>(),
            "exposed": habits.map(|(habit, shares)| {
                habit.people(hour.aboard) * shares[hour.hour] > 0.0
            }).collect::<Vec<_>>(),
        })
    }
}

/// How much of a day's swing a base use feels: all of it from a spread of a quarter on.
fn felt(coefficient: &Coefficient) -> f64 {
    (coefficient.sd() / coefficient.mean).min(0.25) / 0.25
}

fn source(source: Source) -> Value {
    match source {
        Source::Activity(a) => json!(a),
        Source::Base(rhythm) => json!(format!("base {rhythm}")),
        other => json!(format!("{other:?}")),
    }
}

/// The demo's rig with a long journal: some twenty entries a day, years of them, from two
/// devices, up to the rig's own evening.
fn write_folder(dir: &Path, count: usize) {
    let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo");
    std::fs::create_dir_all(dir.join("journal")).expect("a writable folder");
    for name in ["rig.ron", "places.ron"] {
        std::fs::copy(demo.join(name), dir.join(name)).expect("a writable folder");
    }
    let state = dir.join("not-there");
    let folder = DataFolder::at(dir, &state, Arc::new(RealDisk));
    let (rig, _) = folder.load_rig().expect("the demo's rig");
    let evening = rig.evening.expect("the demo names its evening");
    let start = evening - Duration::minutes(72 * count as i64);
    for device in ["pomelo-11aa", "quince-22bb"] {
        let mut text = String::new();
        let own = usize::from(device.starts_with('q'));
        for n in (own..count).step_by(2) {
            let at = start + Duration::minutes(72 * n as i64);
            let id = EntryId {
                device: device.into(),
                sequence: n as u64 / 2 + 1,
                salt: (n as u32).wrapping_mul(2_654_435_761),
            };
            let body = Body::Happened(event(&rig, n, at));
            let entry = Entry { id, at, recorded: at, note: None, body };
            text.push_str(&line::write(&entry, None).expect("an ordinary entry"));
            text.push('\n');
        }
        std::fs::write(dir.join(format!("journal/{device}.ron")), text).expect("a writable folder");
    }
}

/// What happened at the nth of twenty moments of a day.
fn event(rig: &Rig, n: usize, at: Moment) -> Event {
    let amount = |value: f64, unit: Unit| {
        let milli = (value * 1000.0).round() as i64;
        Quantity::new(Amount::from_milli(milli).expect("a small amount"), unit)
    };
    let stock = |name: &str| rig.parts.stock(name).map(|(_, stock)| stock).expect("a known stock");
    let full =
        |name: &str| Event::Fill { stock: name.into(), amount: None, after: Some(After::Full) };
    let empty = |name: &str| Event::Empty { stock: name.into(), amount: None, after: None };
    let day = n / 20;
    match n % 20 {
        0 if day.is_multiple_of(4) => full("fresh"),
        1 if day.is_multiple_of(4) => empty("grey"),
        2 if day.is_multiple_of(4) => empty("liquids"),
        3 if day.is_multiple_of(10) => full("diesel"),
        4 if day.is_multiple_of(10) => full("food"),
        5 if day.is_multiple_of(10) => empty("solids"),
        6 => Event::Level {
            stock: "fresh".into(),
            reading: amount(100.0 - 25.0 * (day % 4) as f64, Unit::Percent),
            step: None,
        },
        7 | 15 => Event::Level {
            stock: "battery".into(),
            reading: amount(60.0 + (day % 7) as f64 * 5.0, Unit::Percent),
            step: None,
        },
        8 => Event::Level {
            stock: "diesel".into(),
            reading: amount(
                stock("diesel").capacity * (1.0 - 0.05 * (day % 10) as f64),
                Unit::Litre,
            ),
            step: None,
        },
        9 => Event::Outlook(waystock::domain::outlook::DayWeather {
            issued: at,
            date: at.date_naive(),
            low_c: Some(4.0 + (day % 5) as f64),
            high_c: Some(11.0 + (day % 6) as f64),
            sun_kwh_m2: None,
            cloud: Some(0.1 * (day % 10) as f64),
            place: None,
        }),
        10..=12 => Event::Use { activity: "toilet solids".into(), count: amount(1.0, Unit::Use) },
        13 | 14 => Event::Use { activity: "dishes".into(), count: amount(1.0, Unit::Time) },
        16 => Event::Use { activity: "laptop work".into(), count: amount(2.5, Unit::Hour) },
        17 | 18 => Event::Use { activity: "shower".into(), count: amount(1.0, Unit::Time) },
        _ => Event::Use { activity: "cooked meal".into(), count: amount(1.0, Unit::Time) },
    }
}
