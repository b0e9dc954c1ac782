//! Where the selected stock goes: its causes as bars, this week beside last and the usual, weeks
//! and months, and the battery's days by the hour.

use super::{Paper, StyledLine, Text, header, joined, spread};
use crate::text::{commas, day, left, percent, reasons, right, usage as words, width};
use crate::tui::State;
use crate::usage::account::Portion;
use crate::usage::{Account, BatteryDay, Spent, StockUse};
use ratatui::style::Style;

/// A cause with a smaller share is left out.
const LEAST_SHARE: f64 = 0.005;

/// Draws it.
pub fn draw(paper: &mut Paper) {
    let state = paper.state;
    header::draw(paper);
    let Some(chosen) = state.chosen_stock() else { return };
    let Some(spent) = &state.spent.answer else {
        paper.line(&[("Working out where it goes", Style::new())]);
        return;
    };
    let Some(own) = spent.stock(&chosen.name) else {
        paper.wrapped(&format!("{}: nothing to tell yet", chosen.name), Style::new(), 2);
        return;
    };
    spread(paper, &|columns| sections(state, spent, own, columns), joined);
}

fn sections(state: &State, spent: &Spent, own: &StockUse, columns: usize) -> Vec<Vec<StyledLine>> {
    let (zone, units) = (state.zone(), state.units());
    let mut text = Text::new(state.look, columns);
    text.head(&format!("Where {} goes", own.stock.name));
    text.say(words::weeks(own, units));
    text.say(words::since_service(own, &zone, units));
    if let Some(line) = words::unexplained(own, units) {
        text.put("", &line, state.look.bad());
    }
    let unused = own.whole.amount(own.stock.runs) <= 0.0;
    text.say(unused.then_some("Nothing in the journal used it so far"));
    causes(state, own, own.lately(), &mut text);
    if own.weeks.len() > 1 {
        text.head("Week by week, each up to the day named, with what was foretold");
        let named = spent.weeks(own).map(|(week, foretold)| {
            let [_, _, band] = words::week(own, week, foretold, &zone, units);
            (day(zone.here(week.to)), week, band)
        });
        amounts(state, own, &named.collect::<Vec<_>>(), &mut text);
    }
    if own.months.len() > 1 {
        text.head("Months");
        let named = own.months.iter();
        let named = named.map(|month| (words::month(month, &zone), month, String::new()));
        amounts(state, own, &named.collect::<Vec<_>>(), &mut text);
    }
    if own.is_electric {
        spent.days.iter().for_each(|hours| by_the_hour(state, own, hours, &mut text));
    }
    if let Some((totals, forced)) = &spent.trip {
        text.head("The whole trip");
        text.say([words::totals(totals, units)]);
        text.say(words::forced(forced));
        let used = |own: &StockUse| {
            let amount = words::amount(own.whole.amount(own.stock.runs), &own.stock.unit, units);
            format!("{} {amount}", own.stock.name)
        };
        text.say([commas(spent.stocks.iter().map(used))]);
    }
    text.head("");
    text.put("", words::HOW, state.look.faint());
    text.sections
}

/// A bar of a share of `columns`, at least a sign of it.
fn bar(state: &State, share: f64, columns: usize) -> String {
    let full = (share.clamp(0.0, 1.0) * columns as f64).round() as usize;
    state.look.glyphs().band.repeat(full.max(usize::from(share > 0.0)))
}

/// Columns of amounts, where none needs more.
const AMOUNT: usize = 8;

/// Columns that the widest of `cells` needs, `least` of them in any case.
fn widest(least: usize, cells: impl Iterator<Item = impl AsRef<str>>) -> usize {
    cells.map(|cell| width(cell.as_ref())).fold(least, usize::max)
}

fn room(text: &Text) -> usize {
    if text.columns() < 60 { 8 } else { 24 }
}

fn causes(state: &State, own: &StockUse, account: &Account, text: &mut Text) {
    let columns = room(text);
    let runs = own.stock.runs;
    let since = day(state.zone().here(account.from));
    for (towards, head) in [(runs, "By cause"), (runs.opposite(), "What came back without a stop")]
    {
        let parts = account.parts(towards);
        if !parts.is_empty() {
            text.head(&format!("{head}, since {since}"));
        }
        let amount = |part: &Portion| words::amount(part.amount, &own.stock.unit, state.units());
        let wide = widest(AMOUNT, parts.iter().map(amount));
        for part in parts.iter().filter(|part| part.share >= LEAST_SHARE) {
            let amount = amount(part);
            let bar = left(&bar(state, part.share, columns), columns);
            let (share, name) = (percent(part.share), reasons::moves(part.what));
            let line = format!("{} {bar} {}", right(&share, 5), right(&amount, wide));
            if width(&line) + 1 + width(name) <= text.columns() {
                text.row(&format!("{line} {name}"), Style::new());
            } else {
                text.row(&line, Style::new());
                text.put("    ", name, Style::new());
            }
        }
    }
}

fn amounts(state: &State, own: &StockUse, spans: &[(String, &Account, String)], text: &mut Text) {
    let columns = room(text);
    let most = spans.iter().map(|(_, span, _)| span.amount(own.stock.runs)).fold(0.0, f64::max);
    let names = widest(if text.columns() < 60 { 11 } else { 15 }, spans.iter().map(|(n, ..)| n));
    let amount =
        |span: &Account| words::amount(span.amount(own.stock.runs), &own.stock.unit, state.units());
    let wide = widest(AMOUNT, spans.iter().map(|(_, span, _)| amount(span)));
    for (name, span, foretold) in spans {
        let (used, amount) = (span.amount(own.stock.runs), amount(span));
        let bar = bar(state, used / most.max(1e-9), columns);
        let line =
            format!("{} {} {}", left(name, names), right(&amount, wide), left(&bar, columns));
        // On a phone what was foretold has a row of its own.
        let below = width(&line) + 1 + width(foretold) > text.columns();
        match below {
            true if !foretold.is_empty() => {
                text.row(line.trim_end(), Style::new());
                text.row(&format!("  {foretold}"), state.look.faint());
            }
            _ => text.row(format!("{line} {foretold}").trim_end(), Style::new()),
        }
    }
}

/// Sun, loads and level of every third hour.
fn by_the_hour(state: &State, own: &StockUse, hours: &BatteryDay, text: &mut Text) {
    let today = state.zone().date(state.now);
    text.head(&words::battery_day(hours, today, own.stock.capacity));
    let columns = room(text) / 2;
    let most = hours.hours.iter().map(|h| h.sun_wh.max(h.used_wh)).fold(1e-9, f64::max);
    for hour in hours.hours.iter().filter(|hour| hour.hour % 3 == 0) {
        let sun = left(&bar(state, hour.sun_wh / most, columns), columns);
        let used = left(&bar(state, hour.used_wh / most, columns), columns);
        let level = percent(hour.level_wh / own.stock.capacity);
        let ahead = if hour.is_ahead { " expected" } else { "" };
        let line = format!("{:02} sun {sun} use {used} {}{ahead}", hour.hour, right(&level, 5));
        text.row(&line, Style::new());
    }
}
