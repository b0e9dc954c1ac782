//! Entries: the records of the journal. They are never changed or removed; corrections and
//! undo are entries of their own that point at an earlier one.

use super::outlook::DayWeather;
use super::quantity::{Amount, Quantity};
use super::time::Moment;
use std::fmt;

/// The name that entries of exchange files carry as their device.
pub const IMPORT: &str = "import";

/// Identity of an entry: the device that wrote it, its place in that device's file, and a
/// random part that keeps two devices of the same name apart.
#[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct EntryId {
    /// Device name, `[a-z0-9-]{1,64}`; `import` for rows of exchange files.
    pub device: String,
    /// Counts up within a device.
    pub sequence: u64,
    /// Random part.
    pub salt: u32,
}

impl fmt::Display for EntryId {
    /// `phone-12-0badcafe`, as `waystock journal` prints it.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}-{}-{:08x}", self.device, self.sequence, self.salt)
    }
}

impl std::str::FromStr for EntryId {
    type Err = ();

    fn from_str(text: &str) -> Result<EntryId, ()> {
        let (device, sequence, salt) = EntryId::split(text).ok_or(())?;
        Ok(EntryId { device: device.to_string(), sequence, salt })
    }
}

impl EntryId {
    /// The device, the place and the random part that `text` names.
    pub fn split(text: &str) -> Option<(&str, u64, u32)> {
        // Byte by byte: the parts are short, and tens of thousands are read at every start.
        let dash = |text: &str| text.bytes().rposition(|b| b == b'-');
        let end = dash(text)?;
        let (rest, salt) = (&text[..end], &text[end + 1..]);
        let end = dash(rest)?;
        let (device, sequence) = (&rest[..end], &rest[end + 1..]);
        let salt = u32::from_str_radix(salt, 16).ok()?;
        (!device.is_empty()).then_some((device, sequence.parse().ok()?, salt))
    }
}

/// What a refill or dump left behind.
#[derive(Debug, Clone, PartialEq)]
pub enum After {
    /// Full to the brim.
    Full,
    /// The level it ended at.
    Level(Quantity),
}

/// Where charge from outside came from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum ChargeSource {
    /// A mains hook-up.
    Shore,
    /// A generator.
    Generator,
}

/// Where a camp is.
#[derive(Debug, Clone, PartialEq)]
pub enum Spot {
    /// A name, looked up among the known places; an unknown one keeps the sun of the last camp.
    Named(String),
    /// Degrees north and east.
    At {
        /// Degrees north, `[-90, 90]`.
        latitude: f64,
        /// Degrees east, `[-180, 180]`.
        longitude: f64,
    },
}

impl Spot {
    /// Degrees north and east, as `55.1, -3.2` says them; `None` for any other text.
    pub fn degrees(text: &str) -> Option<(f64, f64)> {
        let (north, east) = text.split_once(',')?;
        Some((north.trim().parse().ok()?, east.trim().parse().ok()?))
    }

    /// The spot of so many degrees north and east; `None` where there is none on earth.
    pub fn at((latitude, longitude): (f64, f64)) -> Option<Spot> {
        let on_earth = latitude.abs() <= 90.0 && longitude.abs() <= 180.0;
        on_earth.then_some(Spot::At { latitude, longitude })
    }
}

impl fmt::Display for Spot {
    /// Its name, or `55.1, -3.2`, to so many decimals as are asked for.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match (self, f.precision()) {
            (Spot::Named(name), _) => f.write_str(name),
            (Spot::At { latitude, longitude }, Some(n)) => {
                write!(f, "{latitude:.n$}, {longitude:.n$}")
            }
            (Spot::At { latitude, longitude }, None) => write!(f, "{latitude}, {longitude}"),
        }
    }
}

/// Something that happened, or is planned to.
#[derive(Debug, Clone, PartialEq)]
pub enum Event {
    /// An activity took place that day, at or before the entry's time.
    Use {
        /// Its name in the rig.
        activity: String,
        /// How often, how long, how many.
        count: Quantity,
    },
    /// A level was read.
    Level {
        /// The stock.
        stock: String,
        /// What the gauge showed.
        reading: Quantity,
        /// The gauge's resolution as a share of capacity, if the entry states one.
        step: Option<f64>,
    },
    /// A stock that runs down was filled.
    Fill {
        /// The stock.
        stock: String,
        /// How much went in, if known.
        amount: Option<Quantity>,
        /// What it ended at, if known.
        after: Option<After>,
    },
    /// A stock was emptied: one that fills up as a rule; of one that runs down, what is gone without
    /// having been used, spilled or given away.
    Empty {
        /// The stock.
        stock: String,
        /// How much came out, if known.
        amount: Option<Quantity>,
        /// What is left, if not nothing.
        after: Option<Quantity>,
    },
    /// So much of a stock that runs down was used, all uses together, on the day of the entry up to its
    /// time, or since the entry before it of the same day that says so.
    Spent {
        /// The stock.
        stock: String,
        /// How much.
        amount: Quantity,
    },
    /// The van was driven, in hours or in a distance.
    Drive(Quantity),
    /// The battery was charged from outside, in hours or in energy.
    Charge {
        /// From where.
        source: ChargeSource,
        /// How long or how much.
        amount: Quantity,
    },
    /// The van stands here from now on.
    Camp(Spot),
    /// So many people live aboard from now on; 0 = stored.
    Crew(Amount),
    /// The civil day is complete: what is not logged did not happen.
    DayClosed,
    /// Free text.
    Note(String),
    /// Weather ahead, or seen.
    Outlook(DayWeather),
}

/// Kinds of events, as files and people name them.
pub const KINDS: [&str; 12] = [
    "use", "level", "fill", "empty", "spent", "drive", "charge", "camp", "crew", "day", "note",
    "outlook",
];

impl ChargeSource {
    /// The word that files and people write for it.
    pub fn word(self) -> &'static str {
        match self {
            ChargeSource::Shore => "shore",
            ChargeSource::Generator => "generator",
        }
    }
}

impl Event {
    /// The stock that it reads, fills or empties, by name.
    pub fn stock(&self) -> Option<&str> {
        match self {
            Event::Level { stock, .. } | Event::Fill { stock, .. } | Event::Empty { stock, .. } => {
                Some(stock)
            }
            _ => None,
        }
    }

    /// The amount that it tells, with its unit: of a level what was read; of people none.
    pub fn amount(&self) -> Option<&Quantity> {
        match self {
            Event::Use { count: said, .. }
            | Event::Spent { amount: said, .. }
            | Event::Level { reading: said, .. }
            | Event::Drive(said)
            | Event::Charge { amount: said, .. } => Some(said),
            Event::Fill { amount, .. } | Event::Empty { amount, .. } => amount.as_ref(),
            _ => None,
        }
    }

    /// Its kind, one of [`KINDS`].
    pub fn kind(&self) -> &'static str {
        KINDS[match self {
            Event::Use { .. } => 0,
            Event::Level { .. } => 1,
            Event::Fill { .. } => 2,
            Event::Empty { .. } => 3,
            Event::Spent { .. } => 4,
            Event::Drive(_) => 5,
            Event::Charge { .. } => 6,
            Event::Camp(_) => 7,
            Event::Crew(_) => 8,
            Event::DayClosed => 9,
            Event::Note(_) => 10,
            Event::Outlook(_) => 11,
        }]
    }
}

/// What an entry says.
#[derive(Debug, Clone, PartialEq)]
pub enum Body {
    /// Something happened or is planned.
    Happened(Event),
    /// The entry `of` was wrong; this is what happened, at this entry's own `at`.
    Correct {
        /// The entry corrected.
        of: EntryId,
        /// What stands in its place.
        event: Event,
    },
    /// The entry `of` no longer stands (undo).
    Retract {
        /// The entry taken back.
        of: EntryId,
    },
    /// The entry `of` stands again (redo).
    Restore {
        /// The entry put back.
        of: EntryId,
    },
}

impl Body {
    /// The entry that it changes.
    pub fn of(&self) -> Option<&EntryId> {
        match self {
            Body::Happened(_) => None,
            Body::Correct { of, .. } | Body::Retract { of } | Body::Restore { of } => Some(of),
        }
    }

    /// What it says happened.
    pub fn event(&self) -> Option<&Event> {
        match self {
            Body::Happened(event) | Body::Correct { event, .. } => Some(event),
            Body::Retract { .. } | Body::Restore { .. } => None,
        }
    }
}

/// Something that happened, or is planned, as a line says it.
#[derive(Debug, Clone, PartialEq)]
pub struct Happened {
    /// When it happened; after now, it is a plan.
    pub at: Moment,
    /// What happened.
    pub event: Event,
    /// The remark that stood with it.
    pub note: Option<String>,
}

/// An entry that is not written yet.
#[derive(Debug, Clone, PartialEq)]
pub struct Draft {
    /// When it happened, or is planned to.
    pub at: Moment,
    /// A remark that comes with it.
    pub note: Option<String>,
    /// What it says.
    pub body: Body,
}

impl Draft {
    /// What happened, or is planned to, where it says that.
    pub fn happened(&self) -> Option<Happened> {
        let Body::Happened(event) = &self.body else { return None };
        Some(Happened { at: self.at, event: event.clone(), note: self.note.clone() })
    }
}

impl From<Happened> for Draft {
    fn from(Happened { at, event, note }: Happened) -> Draft {
        Draft { at, note, body: Body::Happened(event) }
    }
}

/// One record of the journal.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry {
    /// Who wrote it, and which of theirs it is.
    pub id: EntryId,
    /// When it happened, or is planned to happen.
    pub at: Moment,
    /// When it was written down. A plan has `at` after `recorded`.
    pub recorded: Moment,
    /// A remark that came with it.
    pub note: Option<String>,
    /// What it says.
    pub body: Body,
}

impl Entry {
    /// Whether it was planned when it was written.
    pub fn is_plan(&self) -> bool {
        self.at > self.recorded
    }
}
