//! One row of a journal, and the entry that it is.

use super::fault::{ExchangeFault, Warning};
use super::table::TableRow;
use crate::domain::gate::MOST_PEOPLE;
use crate::domain::quantity::AmountFault;
use crate::domain::{
    After, Amount, Body, ChargeSource, Direction, Entry, EntryId, Event, Moment, Parts, Quantity,
    Spot, Stock, Unit, entry,
};
use crate::logline::{Vocabulary, in_activity_unit, in_stock_unit};
use chrono::NaiveDate;

type RowResult<T> = Result<T, ExchangeFault>;

/// Weather has a file of its own.
const KINDS: &[&str] = entry::KINDS.split_at(11).0;

/// The row's entry, its id still to be given.
pub(super) fn entry(
    row: &TableRow,
    known: &Vocabulary,
    warnings: &mut Vec<Warning>,
) -> RowResult<Entry> {
    let at = moment(row, "at")?;
    let recorded = match row.cell("recorded") {
        "" => at,
        _ => moment(row, "recorded")?,
    };
    let mut cells = CellReader { row, known, date: at.date_naive(), used: vec![], warnings };
    let event = cells.event()?;
    cells.warn_of_unused();
    let note = match (&event, text(row.exact("note"))) {
        (Event::Note(_), _) => None,
        (_, note) => Some(note).filter(|note| !note.is_empty()),
    };
    Ok(Entry { id: nameless(), at, recorded, note, body: Body::Happened(event) })
}

/// The id of an entry that has none yet.
pub(super) fn nameless() -> EntryId {
    EntryId { device: entry::IMPORT.to_string(), sequence: 0, salt: 0 }
}

/// An RFC 3339 time.
pub(super) fn moment(row: &TableRow, column: &str) -> RowResult<Moment> {
    Moment::parse_from_rfc3339(row.cell(column)).map_err(|_| {
        row.fault(column, "a time with its offset, like 2026-06-14T09:30:00+02:00 (RFC 3339)")
    })
}

/// A text cell without the mark that keeps a spreadsheet from taking it for a formula.
pub(super) fn text(cell: &str) -> String {
    match cell.strip_prefix('\'') {
        Some(marked) if is_formula(marked) => marked.to_string(),
        _ => cell.to_string(),
    }
}

/// Whether a spreadsheet may take the text for a formula, or it is marked already: both get a
/// mark on export, so that taking one mark off gives the text back exactly.
pub(super) fn is_formula(text: &str) -> bool {
    text.trim_start_matches('\'').starts_with(['=', '+', '-', '@', '\t', '\r'])
}

/// `latitude,longitude` in plain decimals; `None` for any other text.
pub(super) fn coordinates(text: &str) -> Option<(f64, f64)> {
    let plain = |b: u8| b.is_ascii_digit() || b.is_ascii_whitespace() || b".,-".contains(&b);
    Spot::degrees(text).filter(|_| text.bytes().all(plain))
}

/// What is wrong with a number, as an expectation.
pub(super) fn number_form(fault: AmountFault) -> &'static str {
    match fault {
        AmountFault::TooLarge => "a number within a thousand million",
        AmountFault::NotFinite | AmountFault::NotANumber => "a plain decimal number like 8.5",
    }
}

/// A walk over the cells of one row that remembers which of them had a meaning.
struct CellReader<'c, 't> {
    row: &'c TableRow<'t>,
    known: &'c Vocabulary,
    date: NaiveDate,
    used: Vec<&'static str>,
    warnings: &'c mut Vec<Warning>,
}

impl CellReader<'_, '_> {
    fn event(&mut self) -> RowResult<Event> {
        match self.row.cell("kind") {
            "use" => self.used_activity(),
            "level" => self.level(),
            "fill" => self.filled(),
            "empty" => self.emptied(),
            "spent" => self.spent(),
            "drive" => self.drive(),
            "charge" => self.charge(),
            "camp" => self.camp(),
            "crew" => self.crew(),
            "day" => self.what(&["closed"]).map(|_| Event::DayClosed),
            "note" => match text(self.row.exact("note")) {
                note if note.trim().is_empty() => Err(self.row.fault("note", "the note's text")),
                note => Ok(Event::Note(note)),
            },
            other => {
                let near = Vocabulary::nearest(other, KINDS.iter().copied());
                let kinds = format!("one of {}", KINDS.join(", "));
                Err(self.row.fault("kind", with_near(kinds, &near)))
            }
        }
    }

    fn cell(&mut self, column: &'static str) -> &str {
        self.used.push(column);
        self.row.cell(column)
    }

    /// One of a few fixed words in `what`.
    fn what(&mut self, words: &[&str]) -> RowResult<usize> {
        let found = self.cell("what").to_string();
        let expected = || words.iter().map(|w| format!("`{w}`")).collect::<Vec<_>>().join(" or ");
        words
            .iter()
            .position(|word| *word == found)
            .ok_or_else(|| self.row.fault("what", expected()))
    }

    fn used_activity(&mut self) -> RowResult<Event> {
        let what = text(self.cell("what"));
        let found = self.known.activity_named(&what);
        let found = found.and_then(|name| self.known.activity_on(name, self.date));
        let Some((activity, parts)) = found else {
            let near = Vocabulary::nearest(&what, self.known.activity_names());
            return Err(self.row.fault("what", with_near("an activity of the rig".into(), &near)));
        };
        let unit = match self.cell("unit") {
            "" => activity.counted_in.clone(),
            _ => self.unit()?,
        };
        let said = Quantity::new(self.amount()?, unit);
        let count = in_activity_unit(said, activity, parts.volts());
        let count = count.ok_or_else(|| {
            self.row.fault("unit", format!("{}, as {what} is counted", activity.counted_in.word()))
        })?;
        Ok(Event::Use { activity: activity.name.clone(), count })
    }

    fn stock(&mut self) -> RowResult<(Stock, Parts)> {
        let what = text(self.cell("what"));
        let found = self.known.stock_named(&what);
        let found = found.and_then(|name| self.known.stock_on(name, self.date));
        let Some((stock, parts)) = found else {
            let near = Vocabulary::nearest(&what, self.known.stock_names());
            return Err(self.row.fault("what", with_near("a stock of the rig".into(), &near)));
        };
        Ok((stock.clone(), parts.clone()))
    }

    /// A stock that runs down.
    fn running_down(&mut self) -> RowResult<(Stock, Parts)> {
        let of = self.stock()?;
        match of.0.runs {
            Direction::Down => Ok(of),
            Direction::Up => {
                Err(self.row.fault("what", "a stock that runs down (or kind `empty`)"))
            }
        }
    }

    fn amount(&mut self) -> RowResult<Amount> {
        let amount = Amount::parse(self.cell("amount"))
            .map_err(|fault| self.row.fault("amount", number_form(fault)))?;
        if amount < Amount::ZERO { Err(self.row.fault("amount", "0 or more")) } else { Ok(amount) }
    }

    fn unit(&mut self) -> RowResult<Unit> {
        let word = text(self.cell("unit"));
        self.known.unit_named(&word).ok_or_else(|| {
            let near = Vocabulary::nearest(&word, Unit::known_words());
            self.row.fault("unit", with_near("a unit, like % or L".into(), &near))
        })
    }

    /// An amount of a stock that is within it.
    fn of_stock(
        &mut self,
        quantity: Quantity,
        column: &'static str,
        (stock, parts): &(Stock, Parts),
    ) -> RowResult<Quantity> {
        let Some(own) = in_stock_unit(&quantity, stock, parts) else {
            let expected = format!("% or {}, as {} is measured", stock.unit.word(), stock.name);
            let column = if column == "amount" { "unit" } else { column };
            return Err(self.row.fault(column, expected));
        };
        if quantity.unit == Unit::Percent && quantity.amount.value() > 100.0 {
            return Err(self.row.fault(column, "0 to 100 %"));
        }
        if own > stock.capacity * 1.000_001 {
            let message = format!(
                "{quantity} is more than {} holds ({} {}); taken as it stands",
                stock.name,
                stock.capacity,
                stock.unit.word_for(&stock.capacity.to_string())
            );
            self.warnings.push(Warning { line: self.row.line, message });
        }
        Ok(quantity)
    }

    fn level(&mut self) -> RowResult<Event> {
        let stock = self.stock()?;
        let (amount, unit) = (self.amount()?, self.unit()?);
        let reading = self.of_stock(Quantity::new(amount, unit), "amount", &stock)?;
        let step = match self.cell("step") {
            "" => None,
            cell => {
                let plain = cell.bytes().all(|b| b.is_ascii_digit() || b == b'.');
                let step = cell.parse::<f64>().ok().filter(|s| plain && *s > 0.0 && *s <= 1.0);
                let expected = "a fraction of the capacity above 0, up to 1, like 0.25";
                Some(step.ok_or_else(|| self.row.fault("step", expected))?)
            }
        };
        Ok(Event::Level { stock: stock.0.name, reading, step })
    }

    /// The amount of a fill or an emptying, if it is known.
    fn moved(&mut self, stock: &(Stock, Parts)) -> RowResult<Option<Quantity>> {
        if self.cell("amount").is_empty() {
            return Ok(None);
        }
        let said = Quantity::new(self.amount()?, self.unit()?);
        self.of_stock(said, "amount", stock).map(Some)
    }

    /// A level in `after`: in its own unit, else in that of the row, else in the stock's.
    fn left(&mut self, stock: &(Stock, Parts)) -> RowResult<Quantity> {
        let cell = self.cell("after").to_string();
        let split = cell.find(|c: char| !(c.is_ascii_digit() || c == '.')).unwrap_or(cell.len());
        let (number, word) = cell.split_at(split);
        let expected = "a level, like 80% or 12 L, in plain decimals";
        let amount = Amount::parse(number).map_err(|_| self.row.fault("after", expected))?;
        let unit = match (word.trim(), self.cell("unit")) {
            ("", "") => stock.0.unit.clone(),
            ("", _) => self.unit()?,
            (word, _) => {
                let unit = self.known.unit_named(word);
                unit.ok_or_else(|| self.row.fault("after", expected))?
            }
        };
        self.of_stock(Quantity::new(amount, unit), "after", stock)
    }

    fn filled(&mut self) -> RowResult<Event> {
        let of = self.running_down()?;
        let (stock, amount) = (of.0.name.clone(), self.moved(&of)?);
        let after = match self.cell("after") {
            "" => None,
            "full" => Some(After::Full),
            _ => Some(After::Level(self.left(&of)?)),
        };
        Ok(Event::Fill { stock, amount, after })
    }

    fn emptied(&mut self) -> RowResult<Event> {
        let of = self.stock()?;
        self.by_hand(&of)?;
        let (stock, amount) = (of.0.name.clone(), self.moved(&of)?);
        let after = if self.cell("after").is_empty() { None } else { Some(self.left(&of)?) };
        Ok(Event::Empty { stock, amount, after })
    }

    fn spent(&mut self) -> RowResult<Event> {
        let of = self.running_down()?;
        self.by_hand(&of)?;
        let said = Quantity::new(self.amount()?, self.unit()?);
        let amount = self.of_stock(said, "amount", &of)?;
        Ok(Event::Spent { stock: of.0.name, amount })
    }

    /// Refuses the store of electricity, of which nothing is taken by hand.
    fn by_hand(&mut self, (stock, parts): &(Stock, Parts)) -> RowResult<()> {
        let expected = "a stock that is no battery (kind `level` tells how much is left)";
        match parts.is_store(&stock.name) {
            true => Err(self.row.fault("what", expected)),
            false => Ok(()),
        }
    }

    fn drive(&mut self) -> RowResult<Event> {
        let (base, form) = match self.what(&["hours", "distance"])? {
            0 => (Unit::Hour, "h or min"),
            _ => (Unit::Kilometre, "km or mi"),
        };
        let said = Quantity::new(self.amount()?, self.unit()?);
        match said.unit.factor_to(&base, None) {
            Some(_) => Ok(Event::Drive(said)),
            None => Err(self.row.fault("unit", form)),
        }
    }

    fn charge(&mut self) -> RowResult<Event> {
        let source = match self.what(&["shore", "generator"])? {
            0 => ChargeSource::Shore,
            _ => ChargeSource::Generator,
        };
        let amount = Quantity::new(self.amount()?, self.unit()?);
        let volts = self.known.parts_on(self.date).volts();
        let fits = |unit: &Unit| amount.unit.factor_to(unit, volts).is_some();
        match fits(&Unit::Hour) || fits(&Unit::WattHour) {
            true => Ok(Event::Charge { source, amount }),
            false => Err(self.row.fault("unit", "h or Wh")),
        }
    }

    fn camp(&mut self) -> RowResult<Event> {
        let what = text(self.cell("what"));
        if let Some(degrees) = coordinates(&what) {
            let expected = "a latitude within 90 and a longitude within 180 degrees";
            let spot = Spot::at(degrees).ok_or_else(|| self.row.fault("what", expected))?;
            return Ok(Event::Camp(spot));
        }
        if what.is_empty() || what.chars().any(char::is_control) {
            return Err(self.row.fault("what", "a place's name, or \"latitude,longitude\""));
        }
        Ok(Event::Camp(Spot::Named(what)))
    }

    fn crew(&mut self) -> RowResult<Event> {
        self.what(&["aboard"])?;
        let people = self.amount()?;
        if people.milli() > MOST_PEOPLE * 1000 {
            return Err(self.row.fault("amount", format!("at most {MOST_PEOPLE} people")));
        }
        if !self.cell("unit").is_empty() && self.unit()? != Unit::Person {
            return Err(self.row.fault("unit", "`people`"));
        }
        Ok(Event::Crew(people))
    }

    fn warn_of_unused(&mut self) {
        for column in ["what", "amount", "unit", "step", "after"] {
            if !self.used.contains(&column) && !self.row.cell(column).is_empty() {
                let kind = self.row.cell("kind");
                let message = format!("`{column}` says nothing for the kind `{kind}`: ignored");
                self.warnings.push(Warning { line: self.row.line, message });
            }
        }
    }
}

fn with_near(expected: String, near: &[String]) -> String {
    if near.is_empty() { expected } else { format!("{expected} (near: {})", near.join(", ")) }
}
