//! What the gauges showed and what people made of them: quarters, lamps, bars, guesses, and now
//! and then one step too many.

use super::diary::{Diary, EVENING, percent_read};
use super::draft::{Draft, LAPTOP, PHONE, rounded};
use super::trip::EVENING_DAY;
use super::van::*;
use waystock::domain::entry::Event;
use waystock::domain::quantity::Quantity;
use waystock::domain::unit::Unit;

/// How often somebody looks, as a share of the evenings.
const LOOKS: [(usize, f64); 9] = [
    (BATTERY, 0.85),
    (FRESH, 0.6),
    (GREY, 0.65),
    (LIQUIDS, 0.34),
    (SOLIDS, 0.06),
    (DIESEL, 0.22),
    (GAS, 0.16),
    (FOOD, 0.2),
    (CLOTHES, 0.16),
];

impl Diary<'_> {
    /// Writes down the evening's looks, and a morning one now and then.
    pub fn look_at_gauges(&mut self) {
        for day in (0..=EVENING_DAY).filter(|&d| self.writes(d)).collect::<Vec<_>>() {
            let device = *self.dice.pick(&[PHONE, PHONE, LAPTOP]);
            let last = day == EVENING_DAY;
            let mut minute = if last { 60 - 9 } else { 60 + (self.dice.unit() * 20.0) as i64 };
            for (stock, share) in LOOKS {
                // The last evening: a look at what has a gauge, but not into the containers.
                let looks = match (last, stock) {
                    (true, _) => matches!(stock, BATTERY | FRESH | GREY),
                    _ if day == 0 => true,
                    _ => self.dice.chance(share),
                };
                if looks {
                    let hour = day * 24 + if last { 19 } else { 20 };
                    let at = (hour * 60) as i64 + if last { minute + 60 } else { minute };
                    self.look(device, at, stock, self.world.levels[hour][stock], last);
                    minute += 1;
                }
            }
            if self.dice.chance(0.2) && day > 0 && !last {
                let hour = day * 24 + 7;
                let level = self.world.levels[hour][BATTERY];
                self.look(device, (hour * 60 + 62) as i64, BATTERY, level, false);
            }
            if day % 9 == 6 {
                self.dip(day);
            }
        }
    }

    fn look(&mut self, device: usize, at: i64, stock: usize, level: f64, careful: bool) {
        if at > EVENING {
            return;
        }
        let misread = match self.dice.unit() {
            _ if careful => 0,
            roll if roll < 0.03 => 1,
            roll if roll < 0.055 => -1,
            _ => 0,
        };
        let reading = self.reading(stock, level, misread);
        self.drafts.push(Draft::now(device, at, level_event(stock, reading, None)));
    }

    fn reading(&mut self, stock: usize, level: f64, misread: i32) -> Quantity {
        let noise = self.dice.normal();
        let share = (level / CAPACITY[stock]).clamp(0.0, 1.0);
        match stock {
            LIQUIDS => rounded((level + 0.45 * noise).clamp(0.0, 18.0), 1.0, Unit::Litre),
            SOLIDS => rounded(level + f64::from(misread), 1.0, Unit::Use),
            FOOD => rounded((level + 1.5 * noise).clamp(0.0, 37.0), 4.0, Unit::PersonDay),
            CLOTHES => {
                let counted = (level + 0.8 * noise).clamp(0.0, CAPACITY[CLOTHES]);
                rounded(counted, 2.0, Unit::Own("outfits".into()))
            }
            // The battery monitor counts charge and is itself off by a percent or so.
            BATTERY => {
                let share = share + 0.008 * noise + 0.05 * f64::from(misread);
                percent_read(read_gauge(BATTERY, share.clamp(0.0, 1.0) * CAPACITY[BATTERY]))
            }
            _ => percent_read(misread_gauge(stock, share, misread)),
        }
    }

    /// A ruler into the fresh tank: litres to the nearest ten, better than the quarters.
    fn dip(&mut self, day: usize) {
        let hour = day * 24 + 8;
        let level = self.world.levels[hour][FRESH] + 2.0 * self.dice.normal();
        let reading = rounded(level.clamp(0.0, CAPACITY[FRESH]), 10.0, Unit::Litre);
        let event = level_event(FRESH, reading, Some(0.06));
        let draft = Draft::now(LAPTOP, (hour * 60 + 62) as i64, event).note("with the ruler");
        self.drafts.push(draft);
    }
}

fn level_event(stock: usize, reading: Quantity, step: Option<f64>) -> Event {
    Event::Level { stock: NAMES[stock].into(), reading, step }
}

/// What the gauge shows, read one step too high or too low if `misread` says so.
fn misread_gauge(stock: usize, share: f64, misread: i32) -> f64 {
    let shown = read_gauge(stock, share * CAPACITY[stock]);
    if misread == 0 {
        return shown;
    }
    match stock {
        GREY => {
            let lit = LAMPS.iter().filter(|&&mark| mark <= shown + 1e-9).count() as i32;
            match lit + misread {
                ..=0 => 0.0,
                lit => LAMPS[(lit as usize).min(LAMPS.len()) - 1],
            }
        }
        _ => (shown + f64::from(misread) * STEP[stock]).clamp(0.0, 1.0),
    }
}
