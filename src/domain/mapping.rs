//! How the rows of another machine become readings: which cell is when, which is what of which
//! stock.

use super::unit::Unit;

/// A map from one shape of rows to readings of stocks.
#[derive(Debug, Clone, PartialEq)]
pub struct Mapping {
    /// Its name, by which an import asks for it.
    pub name: String,
    /// What a row is.
    pub form: RowForm,
    /// The cell that says when.
    pub at: String,
    /// How it says it.
    pub time: TimeForm,
    /// What is read, at least one.
    pub readings: Vec<Mapped>,
}

/// What a row is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RowForm {
    /// A line of cells under a header row, whose names are the cells'.
    Csv {
        /// What stands between cells, one byte.
        separator: u8,
    },
    /// A JSON value on a line of its own, whose cells are named by pointers (RFC 6901).
    JsonLines,
}

/// How a cell says when.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum TimeForm {
    /// With its offset, as RFC 3339 has it.
    Rfc3339,
    /// Seconds since 1970 began in UTC.
    Unix,
    /// Thousandths of seconds since then.
    UnixMillis,
    /// By a pattern of the days' and hours' digits (those of `strftime`); without an offset in it,
    /// as clocks show it at the van.
    Pattern(String),
}

/// A cell that is a reading.
#[derive(Debug, Clone, PartialEq)]
pub struct Mapped {
    /// The stock, by its name in the rig.
    pub stock: String,
    /// The cell.
    pub from: String,
    /// What the number times `factor` is counted in.
    pub unit: Unit,
    /// What the number is multiplied by; not 0.
    pub factor: f64,
    /// What is added then, in `unit`.
    pub offset: f64,
    /// The sensor's resolution as a share of what the stock holds, `(0, 1]`.
    pub step: f64,
}
