//! The shape of a file: records, header, and where each cell stands. What cells mean is in `row`.

use super::fault::{ExchangeFault, LONGEST_CELL, MOST_ROWS, Warning, shortened, within_size};
use csv::StringRecord;

/// The two files there are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum TableKind {
    Journal,
    Outlook,
}

impl TableKind {
    /// Columns in the order that export writes them.
    pub fn columns(self) -> &'static [&'static str] {
        match self {
            TableKind::Journal => {
                &["at", "kind", "what", "amount", "unit", "step", "after", "note", "recorded"]
            }
            TableKind::Outlook => {
                &["issued", "date", "low_c", "high_c", "sun_kwh_m2", "cloud", "place"]
            }
        }
    }

    /// How many of the columns a file must have.
    fn required(self) -> usize {
        match self {
            TableKind::Journal => 5,
            TableKind::Outlook => 4,
        }
    }
}

/// A file cut into rows.
#[derive(Debug)]
pub(super) struct Table {
    pub sort: TableKind,
    pub warnings: Vec<Warning>,
    header: Vec<String>,
    /// Where each known column stands, if it does.
    places: Vec<Option<usize>>,
    records: Vec<(u64, StringRecord)>,
}

/// One row.
pub(super) struct TableRow<'t> {
    table: &'t Table,
    pub line: u64,
    cells: &'t StringRecord,
}

impl Table {
    pub fn rows(&self) -> impl Iterator<Item = TableRow<'_>> {
        self.records.iter().map(|(line, cells)| TableRow { table: self, line: *line, cells })
    }
}

impl<'t> TableRow<'t> {
    fn place(&self, column: &str) -> Option<usize> {
        let at = self.table.sort.columns().iter().position(|name| *name == column)?;
        self.table.places[at]
    }

    /// The cell as it stands; empty where the column is missing.
    pub fn exact(&self, column: &str) -> &'t str {
        self.place(column).and_then(|at| self.cells.get(at)).unwrap_or_default()
    }

    /// The cell without blanks around it.
    pub fn cell(&self, column: &str) -> &'t str {
        self.exact(column).trim()
    }

    /// A fault of this cell.
    pub fn fault(&self, column: &str, expected: impl Into<String>) -> ExchangeFault {
        let place = self.place(column).unwrap_or_default();
        // A cell behind one with line breaks begins further down.
        let breaks: usize =
            self.cells.iter().take(place).map(|cell| cell.matches('\n').count()).sum();
        let at = (self.line + breaks as u64, place + 1);
        ExchangeFault::new(at, column, self.cell(column), expected)
    }
}

fn whole(line: u64, found: &str, expected: impl Into<String>) -> ExchangeFault {
    ExchangeFault::new((line, 0), "", found, expected)
}

/// Cuts `text` into rows under a header that is known.
pub(super) fn read(text: &str) -> Result<Table, ExchangeFault> {
    let text = within_size(text)?;
    let lines = Scan::lines(text)?;
    let mut reader =
        csv::ReaderBuilder::new().has_headers(false).flexible(true).from_reader(text.as_bytes());
    let mut records = Vec::new();
    for (record, line) in reader.records().zip(lines) {
        let record =
            record.map_err(|error| whole(line, &error.to_string(), "an RFC 4180 table"))?;
        if records.len() > MOST_ROWS {
            return Err(whole(line, "one row more", format!("at most {MOST_ROWS} rows")));
        }
        records.push((line, record));
    }
    if records.is_empty() {
        return Err(whole(1, "", header_form()));
    }
    let (line, header) = records.remove(0);
    let mut table = headed(line, &header)?;
    table.records = records;
    for (line, cells) in &table.records {
        check_row(&table, *line, cells)?;
    }
    Ok(table)
}

fn header_form() -> String {
    let of = |sort: TableKind| sort.columns().join(",");
    format!("a header row: `{}`, or `{}`", of(TableKind::Journal), of(TableKind::Outlook))
}

fn headed(line: u64, header: &StringRecord) -> Result<Table, ExchangeFault> {
    let header: Vec<String> = header.iter().map(|name| name.trim().to_lowercase()).collect();
    let has = |name: &str| header.iter().any(|known| known == name);
    let sort = match (has("at") || has("kind"), has("issued")) {
        (_, true) => TableKind::Outlook,
        (true, false) => TableKind::Journal,
        (false, false) => return Err(whole(line, &header.join(","), header_form())),
    };
    let mut places = Vec::new();
    for (index, column) in sort.columns().iter().enumerate() {
        let mut at = header.iter().enumerate().filter(|(_, name)| name == column).map(|(at, _)| at);
        let place = at.next();
        if let Some(again) = at.next() {
            return Err(ExchangeFault::new((line, again + 1), column, column, "this column once"));
        }
        if place.is_none() && index < sort.required() {
            return Err(whole(line, &header.join(","), format!("a column `{column}`")));
        }
        places.push(place);
    }
    let unknown = header.iter().filter(|name| !sort.columns().contains(&name.as_str()));
    let warning = |name: &String| Warning {
        line,
        message: format!("column `{}` is not known here and ignored", shortened(name)),
    };
    let warnings = unknown.map(warning).collect();
    Ok(Table { sort, warnings, header, places, records: Vec::new() })
}

/// A row has a cell for each column of the header, but may end before the optional ones.
fn check_row(table: &Table, line: u64, cells: &StringRecord) -> Result<(), ExchangeFault> {
    let needed = table.places[..table.sort.required()].iter().flatten().max();
    if cells.len() > table.header.len() || needed.is_some_and(|needed| cells.len() <= *needed) {
        let found = format!("{} cells", cells.len());
        return Err(whole(line, &found, format!("{}, as the header has", table.header.len())));
    }
    if let Some(at) = cells.iter().position(|cell| cell.len() > LONGEST_CELL) {
        let most = format!("at most {LONGEST_CELL} bytes");
        return Err(ExchangeFault::new((line, at + 1), &table.header[at], &cells[at], most));
    }
    Ok(())
}

/// A walk that checks quotes strictly, because a lenient reader takes the rest of a file into one
/// cell when a closing quote is missing; it also notes the line on which each record begins.
struct Scan {
    line: u64,
    column: usize,
    state: QuoteState,
    opened: (u64, usize),
    starts: Vec<u64>,
}

#[derive(Clone, Copy, PartialEq)]
enum QuoteState {
    RecordStart,
    CellStart,
    Bare,
    Quoted,
    /// A quote inside a quoted cell: its end, or half of a doubled one.
    Quote,
}

impl Scan {
    fn lines(text: &str) -> Result<Vec<u64>, ExchangeFault> {
        let mut scan = Scan {
            line: 1,
            column: 1,
            state: QuoteState::RecordStart,
            opened: (1, 1),
            starts: Vec::new(),
        };
        let bytes = text.as_bytes();
        for (at, byte) in bytes.iter().enumerate() {
            let crlf = *byte == b'\r' && bytes.get(at + 1) == Some(&b'\n');
            scan.step(*byte)?;
            scan.line += u64::from((*byte == b'\n' || *byte == b'\r') && !crlf);
        }
        match scan.state {
            QuoteState::Quoted => {
                Err(scan.fault("a quote that is never closed", "a closing quote"))
            }
            _ => Ok(scan.starts),
        }
    }

    fn step(&mut self, byte: u8) -> Result<(), ExchangeFault> {
        use QuoteState::{Bare, CellStart, Quote, Quoted, RecordStart};
        let ends = byte == b'\r' || byte == b'\n';
        if self.state == RecordStart && !ends {
            self.starts.push(self.line);
            self.column = 1;
        }
        self.state = match (self.state, byte) {
            (RecordStart | CellStart, b'"') => {
                self.opened = (self.line, self.column);
                Quoted
            }
            (Quoted, b'"') => Quote,
            (Quoted, _) => Quoted,
            (Quote, b'"') => Quoted,
            (_, b',') => {
                self.column += 1;
                CellStart
            }
            _ if ends => RecordStart,
            (Quote, _) => {
                return Err(self.fault("text after a closing quote", "a comma or the line's end"));
            }
            (Bare, b'"') => {
                self.opened = (self.line, self.column);
                return Err(self.fault("\"", "quotes around the whole cell, doubled inside it"));
            }
            _ => Bare,
        };
        Ok(())
    }

    fn fault(&self, found: &str, expected: &str) -> ExchangeFault {
        ExchangeFault::new(self.opened, "", found, expected)
    }
}
