//! Adds up what came true of forecasts in a world.

use super::super::trips::score::{CAP_H, Hours, crps_days};
use super::super::trips::van::Role;

/// What was forecast of one thing, by the program, the spreadsheet and the oracle.
pub struct Three {
    pub ours: Hours,
    pub sheet: Hours,
    pub oracle: Hours,
}

/// How often truths came later than P50, between P10 and P90, and before P10: each of the
/// forecasts that name a date for it. To choose by the truth as well would count those alone whose
/// truth came early, of all that name none, and make an honest forecast look too late.
#[derive(Clone, Default, Debug)]
struct Shares {
    later: Share,
    inside: Share,
    late: Share,
}

/// So many of so many.
#[derive(Clone, Default, Debug)]
struct Share {
    yes: f64,
    of: f64,
}

impl Share {
    fn add(&mut self, dated: bool, yes: bool) {
        self.of += f64::from(u8::from(dated));
        self.yes += f64::from(u8::from(dated && yes));
    }

    fn merge(&mut self, other: &Share) {
        self.yes += other.yes;
        self.of += other.of;
    }

    fn value(&self) -> f64 {
        self.yes / self.of.max(1.0)
    }
}

impl Shares {
    fn add(&mut self, truth_h: f64, hours: &Hours) {
        let dated = |quantile: usize| hours[quantile] < CAP_H;
        self.late.add(dated(1), truth_h < hours[1]);
        self.later.add(dated(3), truth_h > hours[3]);
        self.inside.add(dated(5), hours[1] <= truth_h && truth_h <= hours[5]);
    }

    fn merge(&mut self, other: &Shares) {
        self.late.merge(&other.late);
        self.later.merge(&other.later);
        self.inside.merge(&other.inside);
    }
}

/// Sums over truths of one thing.
#[derive(Clone, Default, Debug)]
pub struct Tally {
    asked: f64,
    /// Ours, the oracle's.
    shares: [Shares; 2],
    width: [f64; 2],
    crps: [f64; 3],
}

/// What a share may be: from and to, both included.
pub struct Bands {
    pub later: (f64, f64),
    pub inside: (f64, f64),
    pub late: (f64, f64),
}

/// What is wanted of each row.
pub const WANTED: Bands = Bands { later: (0.44, 0.56), inside: (0.76, 0.86), late: (0.05, 0.12) };

impl Tally {
    pub fn add(&mut self, truth_h: f64, said: &Three) {
        self.asked += 1.0;
        for (sum, hours) in self.crps.iter_mut().zip([&said.ours, &said.sheet, &said.oracle]) {
            *sum += crps_days(truth_h, hours);
        }
        for (n, hours) in [&said.ours, &said.oracle].into_iter().enumerate() {
            self.width[n] += (hours[5].min(CAP_H) - hours[1].min(CAP_H)) / 24.0;
            self.shares[n].add(truth_h, hours);
        }
    }

    pub fn merged(mut self, other: &Tally) -> Tally {
        let all = |a: &mut [f64], b: &[f64]| a.iter_mut().zip(b).for_each(|(a, b)| *a += b);
        all(&mut self.width, &other.width);
        all(&mut self.crps, &other.crps);
        self.asked += other.asked;
        self.shares.iter_mut().zip(&other.shares).for_each(|(own, more)| own.merge(more));
        self
    }

    pub fn truths(&self) -> f64 {
        self.asked
    }

    /// Share of truths that come later than P50: one half is wanted, more = dates are too early.
    pub fn later(&self) -> f64 {
        self.laters()[0]
    }

    /// The same of ours and of the oracle's.
    pub fn laters(&self) -> [f64; 2] {
        [0, 1].map(|n| self.shares[n].later.value())
    }

    /// Share of truths that lie in P10 to P90: 0.8 is wanted.
    pub fn inside(&self) -> f64 {
        self.insides()[0]
    }

    /// The same of ours and of the oracle's.
    pub fn insides(&self) -> [f64; 2] {
        [0, 1].map(|n| self.shares[n].inside.value())
    }

    /// Share of truths that come before P10: 0.1 is wanted.
    pub fn late(&self) -> f64 {
        self.lates()[0]
    }

    /// The same of ours and of the oracle's.
    pub fn lates(&self) -> [f64; 2] {
        [0, 1].map(|n| self.shares[n].late.value())
    }

    /// How many truths have a date for it: P10, P50, P90 of ours.
    fn dated(&self) -> [f64; 3] {
        let shares = &self.shares[0];
        [&shares.late, &shares.later, &shares.inside].map(|share| share.of)
    }

    /// Mean width of P10 to P90, capped at the horizon, in days: ours, the oracle's.
    pub fn widths(&self) -> [f64; 2] {
        self.width.map(|sum| sum / self.asked.max(1.0))
    }

    /// CRPS in days: ours, the spreadsheet's, the oracle's.
    pub fn crps(&self) -> [f64; 3] {
        self.crps.map(|sum| sum / self.asked.max(1.0))
    }

    /// How many of the three shares lie in their bands: ours, the oracle's.
    pub fn in_band(&self) -> [[bool; 3]; 2] {
        let within = |share: f64, (low, high): (f64, f64)| (low..=high).contains(&share);
        let (later, inside, late) = (self.laters(), self.insides(), self.lates());
        [0, 1].map(|n| {
            [
                within(later[n], WANTED.later),
                within(inside[n], WANTED.inside),
                within(late[n], WANTED.late),
            ]
        })
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
pub const HEAD: &str = "                 truths: P10  to P50  to P90   later inside   late   oracle's: later inside  \
                        late     width oracle    CRPS   sheet  oracle   /sheet /oracle\n";

fn line(name: &str, tally: &Tally) -> String {
    let ([width, least], [crps, sheet, oracle]) = (tally.widths(), tally.crps());
    let percent = |share: f64| format!("{:6.1}%", 100.0 * share);
    let ([later, later_o], [inside, inside_o]) = (tally.laters(), tally.insides());
    let [late, late_o] = tally.lates();
    let [p10, p50, p90] = tally.dated();
    format!(
        "  {name:13} {p10:7} {p50:7} {p90:7} {}{}{}          {}{}{}   {width:6.2} {least:6.2}  \
         {crps:7.3} {sheet:7.3} {oracle:7.3}  {:6.2} {:6.2}\n",
        percent(later),
        percent(inside),
        percent(late),
        percent(later_o),
        percent(inside_o),
        percent(late_o),
        crps / sheet,
        crps / oracle,
    )
}

/// How many rows of `tables` have each of the three shares within its band, ours and the oracle's.
pub fn in_band(tables: &[Table]) -> String {
    let all = |table: &'_ Table| {
        std::iter::once(&table.next).chain(&table.stocks).cloned().collect::<Vec<_>>()
    };
    let rows: Vec<Tally> = tables.iter().flat_map(all).filter(|row| row.truths() > 0.0).collect();
    let count =
        |whose: usize, share: usize| rows.iter().filter(|row| row.in_band()[whose][share]).count();
    let whose = |n: usize| [0, 1, 2].map(|share| count(n, share).to_string()).join(", ");
    format!(
        "rows of {} within their bands (later, inside, late): ours {}; the oracle's {}",
        rows.len(),
        whose(0),
        whose(1)
    )
}
