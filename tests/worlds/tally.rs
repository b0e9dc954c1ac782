//! Adds up what came true of forecasts in a world.

use super::super::trips::score::{CAP_H, Hours, crps_days};
use super::super::trips::van::Role;

/// What was forecast of one thing, by the program, the spreadsheet and the oracle.
pub struct Three {
    pub ours: Hours,
    pub sheet: Hours,
    pub oracle: Hours,
}

/// Sums over truths of one thing. Shares are of those in which truth and the middle of the
/// forecast do not both lie beyond the horizon.
#[derive(Clone, Default, Debug)]
pub struct Tally {
    asked: f64,
    counted: f64,
    later: f64,
    inside: f64,
    within: f64,
    late: f64,
    dated: f64,
    width: [f64; 2],
    crps: [f64; 3],
}

impl Tally {
    pub fn add(&mut self, truth_h: f64, said: &Three) {
        let yes = |whether: bool| f64::from(u8::from(whether));
        let hours = &said.ours;
        self.asked += 1.0;
        for (sum, hours) in self.crps.iter_mut().zip([hours, &said.sheet, &said.oracle]) {
            *sum += crps_days(truth_h, hours);
        }
        for (sum, hours) in self.width.iter_mut().zip([hours, &said.oracle]) {
            *sum += (hours[5].min(CAP_H) - hours[1].min(CAP_H)) / 24.0;
        }
        self.late += yes(truth_h < hours[1]);
        self.dated += yes(hours[1] < CAP_H || truth_h < CAP_H);
        if truth_h < CAP_H {
            self.within += 1.0;
            self.inside += yes(hours[1] <= truth_h && truth_h <= hours[5]);
        }
        if truth_h < CAP_H || hours[3] < CAP_H {
            self.counted += 1.0;
            self.later += yes(truth_h > hours[3]);
        }
    }

    pub fn merged(mut self, other: &Tally) -> Tally {
        let all = |a: &mut [f64], b: &[f64]| a.iter_mut().zip(b).for_each(|(a, b)| *a += b);
        all(&mut self.width, &other.width);
        all(&mut self.crps, &other.crps);
        self.asked += other.asked;
        self.counted += other.counted;
        self.later += other.later;
        self.inside += other.inside;
        self.within += other.within;
        self.late += other.late;
        self.dated += other.dated;
        self
    }

    pub fn truths(&self) -> f64 {
        self.asked
    }

    /// Share of truths that come later than P50: one half is wanted, more = dates are too early.
    pub fn later(&self) -> f64 {
        self.later / self.counted.max(1.0)
    }

    /// Share of truths within the horizon that lie in P10 to P90: 0.8 is wanted.
    pub fn inside(&self) -> f64 {
        self.inside / self.within.max(1.0)
    }

    /// Share of truths that come before P10: 0.1 is wanted, and less where nothing binds.
    pub fn late(&self) -> f64 {
        self.late / self.asked.max(1.0)
    }

    /// The same of those in which truth and P10 do not both lie beyond the horizon.
    pub fn late_of_dated(&self) -> f64 {
        self.late / self.dated.max(1.0)
    }

    /// Mean width of P10 to P90, capped at the horizon, in days: ours, the oracle's.
    pub fn widths(&self) -> [f64; 2] {
        self.width.map(|sum| sum / self.asked.max(1.0))
    }

    /// CRPS in days: ours, the spreadsheet's, the oracle's.
    pub fn crps(&self) -> [f64; 3] {
        self.crps.map(|sum| sum / self.asked.max(1.0))
    }
}

/// The next stop and each kind of stock.
#[derive(Clone, Default, Debug)]
pub struct Table {
    pub next: Tally,
    pub stocks: [Tally; Role::ALL.len()],
}

impl Table {
    pub fn merged(self, other: &Table) -> Table {
        let mut stocks = self.stocks.into_iter().zip(&other.stocks).map(|(a, b)| a.merged(b));
        Table {
            next: self.next.merged(&other.next),
            stocks: std::array::from_fn(|_| stocks.next().expect("as many")),
        }
    }

    /// Of one stock.
    pub fn stock(&self, role: Role) -> &Tally {
        let place = Role::ALL.iter().position(|r| *r == role).expect("every role");
        &self.stocks[place]
    }

    pub fn stock_mut(&mut self, role: Role) -> &mut Tally {
        let place = Role::ALL.iter().position(|r| *r == role).expect("every role");
        &mut self.stocks[place]
    }

    /// A line for the next stop and for each stock that there is.
    pub fn text(&self) -> String {
        let stocks = Role::ALL.iter().map(|role| (role.name(), self.stock(*role)));
        let rows = std::iter::once(("next stop", &self.next)).chain(stocks);
        rows.filter(|(_, tally)| tally.truths() > 0.0)
            .map(|(name, tally)| line(name, tally))
            .collect()
    }
}

/// What the columns of [`Table::text`] are.
pub const HEAD: &str = "                 truths  later   inside   late of dated   width  oracle    CRPS   \
                        sheet  oracle   /sheet /oracle\n";

fn line(name: &str, tally: &Tally) -> String {
    let ([width, least], [crps, sheet, oracle]) = (tally.widths(), tally.crps());
    format!(
        "  {name:13} {:7} {:6.1}% {:6.1}% {:6.1}% {:6.1}% {width:6.2} {least:6.2}  {crps:7.3} {sheet:7.3} \
         {oracle:7.3}  {:6.2} {:6.2}\n",
        tally.truths(),
        100.0 * tally.later(),
        100.0 * tally.inside(),
        100.0 * tally.late(),
        100.0 * tally.late_of_dated(),
        crps / sheet,
        crps / oracle,
    )
}
