//! A sheet to pin up: the next stop, until when each stock lasts, what to do before leaving and at
//! which stop, where it went, and the cautions. Told as plain lines here, as a page in `page`.

use super::{
    Dates, Form, Spread, Urgency, answer, caution, left, plans, quantity, stops as words, stretch,
    usage, when, wrap,
};
use crate::domain::{Rig, Zone, hours_between};
use crate::forecast::{Evening, StockForecast};
use crate::plan::stops::answer::Stop;
use crate::plan::stops::saved::StopAhead;
use crate::plan::{Stretch, Trip};
use crate::usage::StockUse;
use chrono::{Duration, NaiveTime};

/// Columns of the plain sheet: fits a narrow printer and a door.
const COLUMNS: usize = 72;
/// Columns of the names before its bands.
const NAMES: usize = 18;
/// Days that the bands show at most.
const MOST_DAYS: u32 = 8;

/// All that a sheet is made from.
pub struct Papers<'a> {
    /// The rig, with its places.
    pub rig: &'a Rig,
    /// The evening's answer.
    pub evening: &'a Evening,
    /// Stops saved before.
    pub saved: &'a [StopAhead],
    /// Stops planned with the known places.
    pub trip: &'a Trip,
    /// So many nights without a stop, and what they take.
    pub stretch: &'a Stretch,
    /// Where each stock went.
    pub usage: &'a [StockUse],
    /// Days that are looked at.
    pub days: u32,
}

/// A sheet, part by part.
pub struct Sheet {
    /// The van, and as of when.
    pub title: String,
    /// Where it stands, and with whom.
    pub place: String,
    /// By when to be at a stop, and what is likely.
    pub answer: [String; 2],
    /// Until when each stock lasts, drawn.
    pub horizon: Horizon,
    /// Lists with a heading each.
    pub parts: Vec<Section>,
    /// What to mind, a line each.
    pub cautions: Vec<String>,
}

/// Bands on an axis of days that begins now.
pub struct Horizon {
    /// Where each day begins, as a share of the axis, and its name.
    pub days: Vec<(f64, String)>,
    /// Every stock, the most pressing first.
    pub rows: Vec<BandRow>,
}

/// One stock's band.
pub struct BandRow {
    /// Its name.
    pub name: String,
    /// Its level now.
    pub level: String,
    /// How pressing it is.
    urgency: Urgency,
    /// "safe until Thu 22 Oct 04:00"
    until: String,
    /// P10, P50 and P90 as shares of the axis; above 1 past its end.
    pub band: [f64; 3],
}

/// A heading, what is to be known, and what is to be ticked.
pub struct Section {
    /// What it is about.
    pub head: String,
    /// Sentences.
    pub lines: Vec<String>,
    /// Things to do.
    pub todo: Vec<String>,
}

impl Sheet {
    /// Puts a sheet together.
    pub fn of(papers: &Papers) -> Sheet {
        let (rig, forecast) = (papers.rig, &papers.evening.forecast);
        let zone = rig.zone(forecast.at);
        let answer = answer::answer(forecast, (&zone, papers.rig.show), forecast.at, COLUMNS);
        Sheet {
            title: format!(
                "{}, as of {}",
                rig.van,
                when::date_time(zone.here(forecast.at), Form::Full)
            ),
            place: answer::where_it_stands(papers.evening),
            answer: [answer.first, answer.second],
            horizon: horizon(papers, &zone),
            parts: parts(papers, &zone),
            cautions: caution::ALL.iter().map(|caution| format!("{}.", caution.line)).collect(),
        }
    }

    /// As plain lines of at most 72 columns; fewer where a terminal has fewer, but 2 * 18.
    pub fn plain(&self, columns: usize) -> String {
        let columns = columns.clamp(2 * NAMES, COLUMNS);
        let mut out = PlainLines { columns, lines: Vec::new() };
        out.add("", &self.title);
        out.add("", &self.place);
        out.rule();
        self.answer.iter().for_each(|line| out.add("", line));
        out.rule();
        out.add("", &format!("{HOW_LONG} ([ 9 in 10, | half, ] 1 in 10)"));
        out.lines.push(self.horizon.axis(columns));
        out.lines.extend(self.horizon.rows.iter().map(|row| row.drawn(columns)));
        out.rule();
        for row in &self.horizon.rows {
            let level = format!("{} {}", left(&row.name, 14), left(&row.level, 20));
            let whole = format!("{level} {}", row.until());
            if whole.len() <= columns {
                out.lines.push(whole);
            } else {
                out.lines.push(level.trim_end().to_string());
                out.add("    ", &row.until());
            }
        }
        for part in &self.parts {
            out.rule();
            out.add("", &part.head);
            part.lines.iter().for_each(|line| out.add("    ", line));
            part.todo.iter().for_each(|line| out.add("    [ ] ", line));
        }
        out.rule();
        self.cautions.iter().for_each(|line| out.add("", line));
        out.lines.join("\n") + "\n"
    }
}

/// What the bands say.
pub(super) const HOW_LONG: &str = "How long each stock lasts without a stop";

struct PlainLines {
    columns: usize,
    lines: Vec<String>,
}

impl PlainLines {
    /// A sentence, broken between words, behind `lead` and then under it.
    fn add(&mut self, lead: &str, text: &str) {
        let under = " ".repeat(lead.len());
        for (place, line) in wrap(text, self.columns - lead.len()).iter().enumerate() {
            self.lines.push(format!("{}{line}", if place == 0 { lead } else { &under }));
        }
    }

    fn rule(&mut self) {
        self.lines.push("-".repeat(self.columns));
    }
}

impl Horizon {
    /// The names of the days over the bands' columns.
    fn axis(&self, columns: usize) -> String {
        let mut line = " ".repeat(NAMES);
        for (begins, name) in &self.days {
            let column = NAMES + column(*begins, columns);
            // A day that has no room for its name goes without.
            if line.len() < column && column + name.len() <= columns {
                line = left(&line, column) + name;
            } else if line.len() == column {
                line += name;
            }
        }
        line
    }
}

/// Of the columns behind the names, the one at `share` of them.
fn column(share: f64, columns: usize) -> usize {
    let band = columns - NAMES;
    ((share * band as f64) as usize).min(band - 1)
}

impl BandRow {
    /// "safe until Thu 22 Oct 04:00", behind the sign of a stock that is pressing.
    pub(super) fn until(&self) -> String {
        match self.urgency {
            Urgency::Fine => self.until.clone(),
            pressing => format!("{} {}", pressing.word(), self.until),
        }
    }

    fn drawn(&self, columns: usize) -> String {
        let mut cells = vec!['.'; columns - NAMES];
        let [from, middle, to] = self.band;
        let column = |share| column(share, columns);
        if from <= 1.0 {
            cells[column(from)..=column(to.min(1.0))].fill('=');
            cells[column(from)] = '[';
            if to <= 1.0 {
                cells[column(to)] = ']';
            }
            if middle <= 1.0 {
                cells[column(middle)] = '|';
            }
        } else if let Some(last) = cells.last_mut() {
            *last = '>';
        }
        format!("{} {}", left(&self.name, NAMES - 1), cells.iter().collect::<String>())
    }
}

fn horizon(papers: &Papers, zone: &Zone) -> Horizon {
    let forecast = &papers.evening.forecast;
    let hours = f64::from(24 * papers.days.clamp(2, MOST_DAYS));
    let day = |ahead: i64| {
        let date = zone.date(forecast.at) + Duration::days(ahead);
        let begins = zone.moment(date.and_time(NaiveTime::MIN));
        (hours_between(forecast.at, begins) / hours, date.format("%a").to_string())
    };
    let row = |stock: &StockForecast| {
        let share = |hours_ahead: Option<f64>| hours_ahead.map_or(f64::INFINITY, |h| h / hours);
        BandRow {
            name: stock.name.clone(),
            level: quantity::level(stock, papers.rig.show, Spread::LeftOut),
            urgency: Urgency::of(stock),
            until: until(stock, papers, zone),
            band: [share(stock.hours.p10), share(stock.hours.p50), share(stock.hours.p90)],
        }
    };
    let order = forecast.by_urgency();
    Horizon {
        days: (1..=i64::from(MOST_DAYS)).map(day).take_while(|(begins, _)| *begins < 1.0).collect(),
        rows: order.into_iter().map(|index| row(&forecast.stocks[index])).collect(),
    }
}

/// "safe until Thu 22 Oct 04:00"
fn until(stock: &StockForecast, papers: &Papers, zone: &Zone) -> String {
    let forecast = &papers.evening.forecast;
    if let Some(other) = answer::stands_in(stock) {
        return other;
    }
    match Dates::of(&stock.hours, forecast.at, zone).safe {
        _ if Urgency::of(stock) == Urgency::Out => format!("{} now", answer::met(stock)),
        Some(safe) if safe > forecast.at => {
            format!("safe until {}", when::date_time(safe, Form::Short))
        }
        Some(_) => answer::may_be_met(stock),
        None => format!("safe for {} days", forecast.horizon_hours / 24),
    }
}

fn parts(papers: &Papers, zone: &Zone) -> Vec<Section> {
    let mut parts = vec![before(papers)];
    parts.extend(papers.saved.iter().map(|stop| saved(stop, papers.rig, zone)));
    if papers.trip.carries() {
        parts.extend(papers.trip.stops.iter().map(|stop| planned(stop, papers, zone)));
    } else if !papers.trip.leads.is_empty() {
        let leads = papers.trip.leads.iter().take(3);
        parts.push(Section {
            head: "No schedule of stops is sure enough. The next one can be made at:".to_string(),
            lines: leads.map(|lead| words::lead(lead, papers.rig, zone)).collect(),
            todo: Vec::new(),
        });
    }
    if !papers.usage.is_empty() {
        let lines = papers.usage.iter().filter_map(|own| went(own, papers.rig)).collect();
        parts.push(Section { head: "Where it went".to_string(), lines, todo: Vec::new() });
    }
    parts
}

/// What to do before so many nights without a stop.
fn before(papers: &Papers) -> Section {
    let stretch = papers.stretch;
    let nights = stretch::nights(stretch.nights);
    let (mut lines, mut todo) = (Vec::new(), Vec::new());
    match &stretch.before {
        None => lines.push(format!(
            "Nothing has to be done first: {}",
            stretch::chance(stretch.probability, stretch.confidence)
        )),
        Some(before) => {
            let reached = stretch::chance(before.probability, stretch.confidence);
            lines.push(match before.works {
                true => format!("After this: {reached}"),
                false => format!("After this, still not enough: {reached}"),
            });
            let steps = before.steps.iter();
            todo.extend(steps.map(|step| stretch::step(step, &stretch.stocks, papers.rig.show)));
        }
    }
    Section { head: format!("Before you go, for {nights} without a stop"), lines, todo }
}

fn saved(stop: &StopAhead, rig: &Rig, zone: &Zone) -> Section {
    let at = when::date_time(zone.here(stop.at), Form::Short);
    Section {
        head: format!("{at}  {} (saved)", stop.place),
        lines: note(rig, &stop.place),
        todo: stop.things.iter().map(|thing| plans::thing(thing, rig.show)).collect(),
    }
}

fn planned(stop: &Stop, papers: &Papers, zone: &Zone) -> Section {
    let (rig, trip) = (papers.rig, papers.trip);
    let lines = words::about(stop, trip, rig, zone);
    let services = trip.in_order(stop);
    let todo = services.iter().map(|service| {
        let what = words::task(service, stop, trip, rig);
        format!("{what}, {}", words::why(service, stop))
    });
    Section { head: words::stop(stop, &rig.places, zone, rig.show), lines, todo: todo.collect() }
}

fn note(rig: &Rig, place: &str) -> Vec<String> {
    let place = rig.places.iter().find(|known| known.name == place);
    place.map(|place| place.note.clone()).into_iter().filter(|note| !note.is_empty()).collect()
}

/// "fresh: the last 7 days ...; showers 41 %, drinking 30 %"
fn went(own: &StockUse, rig: &Rig) -> Option<String> {
    let shares = usage::shares(&own.whole, own.stock.runs);
    let weeks = usage::weeks(own, rig.show)?;
    Some(format!("{}: {weeks}. In all: {shares}", own.stock.name))
}
