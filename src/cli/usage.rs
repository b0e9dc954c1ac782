//! `waystock use [STOCK]`: where it goes.

use super::session::find_stock;
use super::{
    AsJson, CommandResult, Output, Rounded, Session, gaps, list, object, plan_words, vocabulary,
};
use crate::belief::Basis;
use crate::domain::{Direction, Moment, Zone};
use crate::forecast::Options;
use crate::store::data_folder::Contents;
use crate::text::{percent, reasons, usage as words, when};
use crate::usage::account::Portion;
use crate::usage::spent::{LIVES, SpentRequest};
use crate::usage::{
    Account, BatteryDay, BatteryHour, Forced, PastVisit, Spent, StockUse, Totals, UseBand,
};
use serde_json::{Value, json};

/// Months that a person is shown: two years, to see a season beside the one before.
const MOST_MONTHS: usize = 24;

/// Everything that was asked for.
struct UseAnswer<'a> {
    contents: &'a Contents,
    now: Moment,
    /// The moment that was asked for.
    since: Option<Moment>,
    spent: Spent,
}

/// Prints it in sentences, or as `waystock.use/1`.
pub fn run(
    name: &str,
    since: Option<&str>,
    session: &mut Session,
    out: &mut Output,
) -> CommandResult {
    let contents = session.load()?;
    let now = session.now(&contents.rig);
    let known = vocabulary(&contents, now);
    let since = since.map(|text| plan_words::span("--since", text, &known, now)).transpose()?;
    let (standing, beliefs) = session.learned(&contents)?;
    let since = since.map(|(from, _)| from);
    let kept = beliefs.mechanism.stocks().iter().filter(|stock| !stock.reset_by_camp);
    let names: Vec<&str> = kept.map(|stock| stock.name.as_str()).collect();
    let wanted = match name {
        "" => None,
        name => Some(names[find_stock(&known, &names, name)?]),
    };
    gaps::tell_unread(&contents.journal, out);
    let usual = session.options(&contents.rig);
    let asked = SpentRequest {
        since,
        stock: wanted,
        with_bands: wanted.is_some() || session.common.json,
        options: Options { lives: LIVES.min(usual.lives), ..usual },
    };
    let basis = Basis { rig: &contents.rig, standing: &standing, beliefs: &beliefs, now };
    let spent = Spent::of(&basis, &contents.journal.entries, &asked);
    let answer = UseAnswer { contents: &contents, now, since, spent };
    match (session.common.json, answer.spent.stocks.is_empty()) {
        (true, _) => out.json(&answer.in_json()),
        (false, true) => out.line(words::NOTHING_YET),
        (false, false) if wanted.is_some() => answer.print_one(out),
        (false, false) => answer.print_all(out),
    }
    Ok(0)
}

impl UseAnswer<'_> {
    fn zone(&self) -> Zone {
        self.contents.rig.zone(self.now)
    }

    fn print_all(&self, out: &mut Output) {
        let (show, zone) = (self.contents.rig.show, self.zone());
        let from = self.spent.stocks[0].whole.from;
        let days = self.spent.stocks[0].whole.days().ceil();
        out.wrapped(
            "",
            &format!("Where it went since {} ({days} days)", when::day(zone.here(from))),
        );
        for own in &self.spent.stocks {
            out.line("");
            let whole = words::amount(own.whole.amount(own.stock.runs), &own.stock.unit, show);
            let verb = words::verb(own.stock.runs);
            let head = match words::weeks(own, show) {
                Some(weeks) => format!("{}: {weeks}", own.stock.name),
                None => format!("{}: {whole} {verb} so far", own.stock.name),
            };
            out.wrapped("", &head);
            let shares = words::shares(&own.whole, own.stock.runs);
            if !shares.is_empty() {
                out.wrapped("  ", &format!("of {whole} in all: {shares}"));
            }
            let back = words::shares(&own.whole, own.stock.runs.opposite());
            if !back.is_empty() {
                let amount = own.whole.amount(own.stock.runs.opposite());
                let amount = words::amount(amount, &own.stock.unit, show);
                out.wrapped("  ", &format!("and {amount} came back without a stop: {back}"));
            }
            self.print_since(own, "  ", out);
        }
        self.print_days(out);
        if let Some((totals, forced)) = &self.spent.trip {
            out.line("");
            out.wrapped("", &format!("All of it: {}", words::totals(totals, show)));
            out.all_wrapped("", words::forced(forced));
        }
        out.line("");
        out.wrapped("", words::HOW);
    }

    fn print_since(&self, own: &StockUse, indent: &str, out: &mut Output) {
        let show = self.contents.rig.show;
        out.all_wrapped(indent, words::since_service(own, &self.zone(), show));
        out.all_wrapped(indent, words::unexplained(own, show));
    }

    fn print_one(&self, out: &mut Output) {
        let own = &self.spent.stocks[0];
        let (show, zone, runs) = (self.contents.rig.show, self.zone(), own.stock.runs);
        let asked = self.since.map(|_| &own.whole);
        let service = own.since_service.as_ref().map(|since| &since.account);
        let told = asked.or(service).unwrap_or(&own.whole);
        out.line(&own.stock.name);
        if told.movers.is_empty() {
            out.line("nothing yet");
        }
        match asked {
            Some(_) => out.wrapped("", &words::since(own, &zone, show)),
            None => self.print_since(own, "", out),
        }
        let list = |account: &Account, towards: Direction, out: &mut Output| {
            for part in account.parts(towards).iter().filter(|part| part.share >= 0.005) {
                let amount = words::amount(part.amount, &own.stock.unit, show);
                let (name, share) = (reasons::moves(part.what), percent(part.share));
                out.line(&format!("  {share:>5}  {amount:>9}  {name}"));
            }
        };
        list(told, runs, out);
        if told.amount(runs.opposite()) > 0.0 {
            out.line("came back without a stop:");
            list(told, runs.opposite(), out);
        }
        let weeks = words::weeks(own, show);
        if asked.is_some() || weeks.is_some() {
            out.line("");
        }
        if asked.is_some() {
            self.print_since(own, "", out);
        }
        out.all_wrapped("", weeks);
        for (week, band) in self.spent.weeks(own) {
            let [to, used, foretold] = words::week(own, week, band, &zone, show);
            out.line(format!("  {to:<14}  {used:>9}  {foretold}").trim_end());
        }
        if own.months.len() > 1 {
            let latest = &own.months[own.months.len().saturating_sub(MOST_MONTHS)..];
            out.line(match latest.len() < own.months.len() {
                true => "by the month (--json tells all of them):",
                false => "by the month:",
            });
            for month in latest {
                let used = words::amount(month.amount(runs), &own.stock.unit, show);
                out.line(&format!("  {:<14}  {used:>9}", words::month(month, &zone)));
            }
        }
        self.print_days(out);
        out.line("");
        out.wrapped("", words::HOW);
    }

    fn print_days(&self, out: &mut Output) {
        let Some(own) = self.spent.stocks.iter().find(|own| own.is_electric) else { return };
        if !self.spent.days.is_empty() {
            out.line("");
        }
        let today = self.zone().date(self.now);
        let day = |day| words::battery_day(day, today, own.stock.capacity);
        out.all_wrapped("", self.spent.days.iter().map(day));
    }

    fn in_json(&self) -> Value {
        let since = self.spent.stocks.first().map(|own| own.whole.from);
        let trip = self.spent.trip.as_ref().map(|(totals, forced)| trip_json(totals, forced));
        object!(self;
            schema = "waystock.use/1", at = self.now, since = since,
            stocks = list(&self.spent.stocks, |own| self.stock_json(own)),
            battery_days = list(&self.spent.days, day_json), trip = trip)
    }

    fn stock_json(&self, own: &StockUse) -> Value {
        let (stock, runs) = (&own.stock, own.stock.runs);
        let week = |(week, band): (&Account, Option<&UseBand>)| {
            let mut value = account_json(week, runs);
            value["foretold"] = band.map(|own| object!(own; p10 ~ 3, p50 ~ 3, p90 ~ 3)).json();
            value
        };
        let since_service = own.since_service.as_ref().map(|since| {
            let mut value = account_json(&since.account, runs);
            value["unexplained"] = since.unexplained.rounded(3);
            value
        });
        object!(stock;
            name, unit, runs = if runs == Direction::Down { "down" } else { "up" },
            usual_week = own.usual_week().rounded(3), whole = account_json(&own.whole, runs),
            since_service = since_service, weeks = list(self.spent.weeks(own), week),
            months = list(&own.months, |month| account_json(month, runs)))
    }
}

fn account_json(account: &Account, runs: Direction) -> Value {
    let parts = |towards: Direction| {
        let part =
            |part: Portion| object!(part; what = reasons::moves(part.what), amount ~ 3, share ~ 4);
        list(account.parts(towards), part)
    };
    let (used, back) = (account.amount(runs), account.amount(runs.opposite()));
    object!(account; from, to, used = used.rounded(3), by = parts(runs), back = back.rounded(3),
        back_by = parts(runs.opposite()))
}

fn day_json(day: &BatteryDay) -> Value {
    let hour = |h: &BatteryHour| object!(h; hour, sun_wh ~ 1, charged_wh ~ 1, used_wh ~ 1, level_wh ~ 1, ahead = h.is_ahead);
    object!(day; date, hours = list(&day.hours, hour))
}

fn trip_json(totals: &Totals, forced: &Forced) -> Value {
    let stop = |visit: &PastVisit| {
        let further = visit.places.get(1..).unwrap_or_default();
        object!(visit; at, until, place = visit.places.first(), further = json!(further), stocks,
            cost ~ 2, unpriced)
    };
    let by = |(stock, stops): &(String, usize)| object!(forced; stock = stock, stops = stops);
    object!(totals;
        nights, km ~ 1, drive_hours ~ 2, money = totals.money().rounded(2),
        stops = list(&totals.visits, stop), stops_looked_at = forced.looked_at,
        forced = list(&forced.by, by))
}
