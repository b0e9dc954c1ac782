//! `waystock export FORMAT`: the journal for other programs, the stops ahead for calendars and
//! paper.

use super::args::{ExportFormat, ExportOptions, PaperChoice, StopsOptions};
use super::{CommandResult, Failure, Output, Session};
use crate::domain::{Entry, UnitSystem, standing};
use crate::exchange;
use crate::plan::stops::saved;
use crate::plan::{Basis, Request, Stretch, Trip, calendar, stretch};
use crate::store::data_folder::Contents;
use crate::text::page::PaperSize;
use crate::text::sheet::{Papers, Sheet};
use crate::text::{page, papers, safe};
use crate::usage::accounts;

/// Most nights without a stop that the list on a sheet is made for.
const MOST_NIGHTS: u32 = 7;

/// Prints what stands (CSV), every record (JSON Lines) or the stops ahead, as known now.
pub fn run(options: &ExportOptions, session: &mut Session, out: &mut Output) -> CommandResult {
    if options.format != ExportFormat::Sheet && (options.html || options.paper.is_some()) {
        let found = "--html and --paper go with export sheet";
        return Err(Failure::new(2, found));
    }
    let contents = session.load()?;
    let now = session.now(&contents.rig);
    let text = match options.format {
        ExportFormat::Csv => exchange::write_csv(&standing(&contents.journal.entries, now)),
        ExportFormat::Outlook => {
            exchange::write_outlook_csv(&standing(&contents.journal.entries, now))
        }
        ExportFormat::Ics => calendar(options, session, &contents)?,
        ExportFormat::Sheet => sheet(options, session, &contents, out.columns())?,
        ExportFormat::Jsonl => {
            let known = contents.journal.entries.iter().filter(|e| e.recorded <= now);
            let mut known: Vec<Entry> = known.cloned().collect();
            known.sort_by(|a, b| (a.recorded, &a.id).cmp(&(b.recorded, &b.id)));
            exchange::write_jsonl(&known)
        }
    };
    out.raw(text.as_bytes());
    Ok(0)
}

fn trip(options: &ExportOptions, session: &Session, contents: &Contents) -> Result<Trip, Failure> {
    let usual = StopsOptions { days: options.days, confidence: 90, ..StopsOptions::default() };
    super::stops::answer(contents, session, &usual)
}

fn calendar(
    options: &ExportOptions,
    session: &Session,
    contents: &Contents,
) -> Result<String, Failure> {
    let evening = session.evening(contents)?;
    let trip = Some(trip(options, session, contents)?).filter(Trip::carries);
    let saved = saved::stops_ahead(&contents.rig, &evening.plans);
    let events = papers::events(&contents.rig, &evening.forecast, &saved, trip.as_ref());
    Ok(calendar::write(&contents.rig.van, evening.forecast.at, &events))
}

fn sheet(
    options: &ExportOptions,
    session: &Session,
    contents: &Contents,
    columns: usize,
) -> Result<String, Failure> {
    let (rig, now) = (&contents.rig, session.now(&contents.rig));
    let evening = session.evening(contents)?;
    let (standing, beliefs) = session.learned(contents)?;
    let basis = Basis { rig, standing: &standing, beliefs: &beliefs, now };
    let sheet = Sheet::of(&Papers {
        rig,
        evening: &evening,
        saved: &saved::stops_ahead(rig, &evening.plans),
        trip: &trip(options, session, contents)?,
        stretch: &longest(&basis, options, session),
        usage: &accounts(&basis, None),
        days: options.days,
    });
    Ok(match options.html {
        true => page::html(&sheet, paper(options, rig.show)),
        false => sheet.plain(columns).lines().map(|line| format!("{}\n", safe(line))).collect(),
    })
}

/// The longest stretch that can be made to work by what is done before it, of a week at most; one
/// night where none can.
fn longest(basis: &Basis, options: &ExportOptions, session: &Session) -> Stretch {
    let request = |nights| Request {
        lives: session.common.lives as usize,
        seed: session.common.seed,
        ..Request::here_for(nights)
    };
    let verdict = |nights| stretch::verdict(basis, &request(nights)).0;
    let works = |s: &Stretch| s.works || s.before.as_ref().is_some_and(|before| before.works);
    (2..=options.days.min(MOST_NIGHTS)).rev().map(verdict).find(works).unwrap_or_else(|| verdict(1))
}

/// The paper that was asked for, or what is usual where people write in these units.
fn paper(options: &ExportOptions, show: UnitSystem) -> PaperSize {
    match options.paper {
        Some(PaperChoice::A4) => PaperSize::A4,
        Some(PaperChoice::Letter) => PaperSize::Letter,
        None if show == UnitSystem::Us => PaperSize::Letter,
        None => PaperSize::A4,
    }
}
