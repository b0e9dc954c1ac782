//! Drafts of journal entries: what a device writes, before its place in the device's file is
//! known.

use super::dice::Dice;
use super::trip;
use waystock::domain::entry::{Body, Entry, EntryId, Event};
use waystock::domain::quantity::{Amount, Quantity};
use waystock::domain::unit::Unit;

/// The crew's two devices.
pub const DEVICES: [&str; 2] = ["phone", "laptop"];
pub const PHONE: usize = 0;
pub const LAPTOP: usize = 1;

/// What a draft says; the others are named by their index among the drafts.
#[derive(Clone)]
pub enum Said {
    Happened(Event),
    Correct(usize, Event),
    Retract(usize),
    Restore(usize),
}

/// A draft; times in minutes from midnight of the first day.
#[derive(Clone)]
pub struct Draft {
    pub device: usize,
    pub at: i64,
    pub recorded: i64,
    pub note: Option<&'static str>,
    pub said: Said,
}

impl Draft {
    /// Written down as it happened.
    pub fn now(device: usize, at: i64, event: Event) -> Draft {
        Draft { device, at, recorded: at, note: None, said: Said::Happened(event) }
    }

    /// Written down at another time than it happens.
    pub fn recorded(mut self, recorded: i64) -> Draft {
        self.recorded = recorded;
        self
    }

    /// With a remark.
    pub fn note(mut self, note: &'static str) -> Draft {
        self.note = Some(note);
        self
    }
}

/// Gives every draft that was recorded by `last` its id, and returns each device's entries in
/// the order in which they were written.
pub fn entries(drafts: &[Draft], seed: u64, last: i64) -> [Vec<Entry>; 2] {
    let mut ids: Vec<Option<EntryId>> = vec![None; drafts.len()];
    let mut order: [Vec<usize>; 2] = [vec![], vec![]];
    for (device, order) in order.iter_mut().enumerate() {
        let mut dice = Dice::new(seed, DEVICES[device]);
        let own = |&i: &usize| drafts[i].device == device && drafts[i].recorded <= last;
        order.extend((0..drafts.len()).filter(own));
        order.sort_by_key(|&i| drafts[i].recorded);
        for (place, &draft) in order.iter().enumerate() {
            let sequence = place as u64 + 1;
            let device = DEVICES[device].to_string();
            ids[draft] = Some(EntryId { device, sequence, salt: dice.salt() });
        }
    }
    let id = |draft: usize| ids[draft].clone().expect("what is pointed at was recorded earlier");
    let entry = |draft: usize| {
        let Draft { at, recorded, note, said, .. } = &drafts[draft];
        let body = match said {
            Said::Happened(event) => Body::Happened(event.clone()),
            Said::Correct(of, event) => Body::Correct { of: id(*of), event: event.clone() },
            Said::Retract(of) => Body::Retract { of: id(*of) },
            Said::Restore(of) => Body::Restore { of: id(*of) },
        };
        let (at, recorded) = (trip::moment(*at), trip::moment(*recorded));
        Entry { id: id(draft), at, recorded, note: note.map(str::to_string), body }
    };
    order.map(|order| order.into_iter().map(entry).collect())
}

/// An amount in a unit, to the nearest `step`.
pub fn rounded(value: f64, step: f64, unit: Unit) -> Quantity {
    let value = (value / step).round().max(0.0) * step;
    Quantity::new(Amount::from_f64(value).expect("levels are finite and small"), unit)
}
