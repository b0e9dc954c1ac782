//! Adds up the trials and lays out the table.

use super::score::{Hours, Tally, crps_days, middle};
use super::trial::Trial;
use super::van::Role;
use std::fmt::Write;

/// Scores of the three forecasters for one thing.
#[derive(Default, Clone)]
pub struct Row {
    pub ours: Tally,
    pub sheet: Tally,
    pub oracle: Tally,
}

impl Row {
    /// Our CRPS over the spreadsheet's, and over the oracle's.
    pub fn ratios(&self) -> (f64, f64) {
        let over = |other: &Tally| self.ours.mean_crps() / other.mean_crps();
        (over(&self.sheet), over(&self.oracle))
    }
}

/// Everything that is scored.
#[derive(Default)]
pub struct Table {
    pub next: Row,
    pub stocks: Vec<(Role, Row)>,
    pub right: [usize; 3],
    pub asked: usize,
    level_z: Vec<(Role, f64)>,
}

impl Table {
    pub fn of(trials: &[Trial]) -> Table {
        let mut table = Table {
            stocks: Role::ALL.iter().map(|role| (*role, Row::default())).collect(),
            ..Table::default()
        };
        for trial in trials {
            table.add(trial);
        }
        table
    }

    fn add(&mut self, trial: &Trial) {
        let answers = [Some(&trial.ours), Some(&trial.sheet), trial.oracle.as_ref()];
        self.asked += 1;
        for (index, answer) in answers.into_iter().enumerate() {
            let Some(answer) = answer else { continue };
            fn column(row: &mut Row, index: usize) -> &mut Tally {
                [&mut row.ours, &mut row.sheet, &mut row.oracle].into_iter().nth(index).expect("3")
            }
            column(&mut self.next, index).add(trial.next_truth(), &answer.next);
            let nothing_binds = trial.next_truth().is_infinite() && answer.binding.is_none();
            let right = nothing_binds || answer.binding.is_some_and(|s| trial.binds(s));
            self.right[index] += usize::from(right);
            for (stock, role) in trial.roles.iter().enumerate() {
                let row = self.stocks.iter_mut().find(|(r, _)| r == role).expect("every role");
                column(&mut row.1, index).add(trial.truth[stock], &answer.stocks[stock]);
            }
        }
        for (stock, role) in trial.roles.iter().enumerate() {
            let (mean, sd) = trial.believed[stock];
            let floor = 0.002 * trial.capacities[stock];
            self.level_z.push((*role, (trial.levels[stock] - mean) / sd.max(floor)));
        }
    }

    /// Share of evenings on which each forecaster's most probable binding stock binds.
    pub fn right(&self, index: usize) -> f64 {
        self.right[index] as f64 / self.asked.max(1) as f64
    }

    /// All stocks' scores together: sums of CRPS only.
    pub fn all_stocks(&self) -> Row {
        let mut all = Row::default();
        for (_, row) in &self.stocks {
            let parts = [
                (&mut all.ours, &row.ours),
                (&mut all.sheet, &row.sheet),
                (&mut all.oracle, &row.oracle),
            ];
            for (sum, part) in parts {
                sum.count += part.count;
                sum.crps += part.crps;
            }
        }
        all
    }

    /// The evenings that cost most beside the oracle.
    pub fn worst(trials: &[Trial]) -> String {
        let lost = |trial: &&Trial| {
            let oracle =
                trial.oracle.as_ref().map_or(0.0, |o| crps_days(trial.next_truth(), &o.next));
            crps_days(trial.next_truth(), &trial.ours.next) - oracle
        };
        let mut order: Vec<&Trial> = trials.iter().collect();
        order.sort_by(|a, b| lost(b).total_cmp(&lost(a)));
        let mut text = String::from("the evenings that cost most beside the oracle, in days\n");
        for trial in order.into_iter().take(15) {
            let first = (0..trial.truth.len()).find(|s| trial.binds(*s));
            let name = |s: Option<usize>| s.map_or("nothing", |s| trial.roles[s].name());
            let days =
                |q: &Hours| format!("{:.2} {:.2} {:.2}", q[1] / 24.0, q[3] / 24.0, q[5] / 24.0);
            let oracle = trial.oracle.as_ref().map_or(String::new(), |o| days(&o.next));
            let _ = writeln!(
                text,
                "trip {} day {:2}: lost {:.2}; truth {:.2} {}; ours {} {}; oracle {oracle}",
                trial.seed,
                trial.hour / 24,
                lost(&trial),
                trial.next_truth() / 24.0,
                name(first),
                days(&trial.ours.next),
                name(trial.ours.binding),
            );
        }
        text
    }

    /// One line per evening and stock, to be looked at with other tools: seed, hour, stock, hours
    /// to its limit in truth, our seven quantiles, the oracle's median, level, what we think of
    /// it, its spread, capacity.
    pub fn rows(trials: &[Trial]) -> String {
        let mut text = String::new();
        for trial in trials {
            for (i, role) in trial.roles.iter().enumerate() {
                let cells = |hours: &Hours| hours.map(|h| format!("{h:.2}")).join(",");
                let oracle = trial.oracle.as_ref().map_or(f64::NAN, |o| o.stocks[i][3]);
                let (mean, sd) = trial.believed[i];
                let _ = writeln!(
                    text,
                    "row,{},{},{},{:.2},{},{oracle:.2},{:.3},{mean:.3},{sd:.3},{},{}",
                    trial.seed,
                    trial.hour,
                    role.name(),
                    trial.truth[i],
                    cells(&trial.ours.stocks[i]),
                    trial.levels[i],
                    trial.capacities[i],
                    trial.kinds.join("|").replace(',', ";"),
                );
            }
        }
        text
    }

    /// The next stop's scores by kind of van, crew, diary, and by the stock that binds.
    pub fn kinds(trials: &[Trial]) -> String {
        let mut kinds: std::collections::BTreeMap<String, Row> = Default::default();
        for trial in trials {
            let first = (0..trial.truth.len()).find(|s| trial.binds(*s));
            let binds = first.map_or("nothing", |s| trial.roles[s].name());
            let guessed = trial.ours.binding.map_or("nothing", |s| trial.roles[s].name());
            let far = match trial.next_truth() / 24.0 {
                d if d < 1.0 => "below 1 day",
                d if d < 2.0 => "1 to 2 days",
                d if d < 4.0 => "2 to 4 days",
                _ => "beyond 4 days",
            };
            let more = [
                format!("truly first {binds}"),
                format!("thought first {guessed}"),
                format!("truth {far}"),
            ];
            for kind in trial.kinds.iter().cloned().chain(more) {
                let row = kinds.entry(kind).or_default();
                row.ours.add(trial.next_truth(), &trial.ours.next);
                row.sheet.add(trial.next_truth(), &trial.sheet.next);
                if let Some(oracle) = &trial.oracle {
                    row.oracle.add(trial.next_truth(), &oracle.next);
                }
            }
        }
        let mut text = String::from("the next stop, by kind\n");
        for (kind, row) in kinds {
            let _ = write!(text, "{kind:32}");
            line(&mut text, "", &row, None);
        }
        text
    }

    /// The table in words.
    pub fn text(&self) -> String {
        let mut text = String::from(
            "              n   <30d  CRPS d  /sheet /oracle  P10-P90 late  <P50  lean   error  \
             sheet: err cover  oracle: err cover  level z: mean sd\n",
        );
        let all = self.all_stocks();
        line(&mut text, "next stop", &self.next, None);
        for (role, row) in self.stocks.iter().filter(|(_, row)| row.ours.count > 0) {
            let z: Vec<f64> =
                self.level_z.iter().filter(|(r, _)| r == role).map(|(_, z)| *z).collect();
            line(&mut text, role.name(), row, Some(&z));
        }
        let (sheet, oracle) = all.ratios();
        let point = self.next.ours.mean_crps() / self.next.sheet.mean_error();
        let _ = writeln!(
            text,
            "the next stop's CRPS is {point:.2} of the spreadsheet's plain dates' (its median alone)"
        );
        let _ = writeln!(
            text,
            "all stocks    CRPS {:.3} d, {sheet:.2} of the spreadsheet's, {oracle:.2} of the \
             oracle's\nbinding stock right: ours {:.0} %, spreadsheet {:.0} %, oracle {:.0} % of {}",
            all.ours.mean_crps(),
            100.0 * self.right(0),
            100.0 * self.right(1),
            100.0 * self.right(2),
            self.asked
        );
        text
    }
}

fn line(text: &mut String, name: &str, row: &Row, z: Option<&[f64]>) {
    let (sheet, oracle) = row.ratios();
    let ours = &row.ours;
    let _ = write!(
        text,
        "{name:13}{:4} {:5.0}% {:7.3} {sheet:7.2} {oracle:7.2} {:7.0}% {:4.0}% {:4.0}% {:+6.2} \
         {:6.2} {:10.2} {:5.0}% {:10.2} {:5.0}%",
        ours.count,
        100.0 * ours.within() as f64 / ours.count.max(1) as f64,
        ours.mean_crps(),
        100.0 * ours.coverage(),
        100.0 * ours.late(),
        100.0 * ours.early(),
        ours.lean(),
        ours.mean_error(),
        row.sheet.mean_error(),
        100.0 * row.sheet.coverage(),
        row.oracle.mean_error(),
        100.0 * row.oracle.coverage(),
    );
    if let Some(z) = z {
        let n = z.len() as f64;
        let mean = z.iter().sum::<f64>() / n;
        let sd = (z.iter().map(|z| (z - mean).powi(2)).sum::<f64>() / n).sqrt();
        let typical = middle(z.iter().map(|z| z.abs()).collect());
        let _ = write!(text, "   {mean:+5.2} {sd:5.2} (median |z| {typical:.2})");
    }
    text.push('\n');
}
