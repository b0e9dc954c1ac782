//! Values that a person sets with keys: one of them is chosen and goes up, down, or is typed.

use std::collections::BTreeMap;

/// What a value can be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Range {
    /// Lowest.
    pub low: f64,
    /// Highest.
    pub high: f64,
    /// How far one key press goes.
    pub grain: f64,
    /// What it is while nobody has set it.
    pub start: f64,
}

/// Where a value goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Turn {
    /// To the next higher step.
    Up,
    /// To the next lower step.
    Down,
}

/// Values by field; those that are not set are what their [`Range`] says.
#[derive(Debug, Clone, PartialEq)]
pub struct Form<F> {
    set: BTreeMap<F, f64>,
    chosen: F,
    /// Digits typed into the chosen one so far.
    typed: Option<f64>,
}

impl<F: Copy + Ord> Form<F> {
    /// Nothing set, `first` chosen.
    pub fn new(first: F) -> Form<F> {
        Form { set: BTreeMap::new(), chosen: first, typed: None }
    }

    /// A value that was set.
    pub fn get(&self, field: F) -> Option<f64> {
        self.set.get(&field).copied()
    }

    /// The field that keys change.
    pub fn chosen(&self) -> F {
        self.chosen
    }

    /// Chooses it.
    pub fn choose(&mut self, field: F) {
        self.chosen = field;
        self.typed = None;
    }

    /// Moves the choice among the fields that are in sight.
    pub(super) fn step_choice(&mut self, fields: &[F], by: isize) {
        let place = fields.iter().position(|f| *f == self.chosen).unwrap_or(0);
        let next = place.saturating_add_signed(by).min(fields.len().saturating_sub(1));
        if let Some(field) = fields.get(next) {
            self.choose(*field);
        }
    }

    /// The chosen value goes up or down, in the grain of its steps. Whether that changed it.
    pub fn step(&mut self, way: Turn, range: Range) -> bool {
        let value = self.get(self.chosen).unwrap_or(range.start);
        let steps = value / range.grain;
        let next = match way {
            Turn::Up => (steps + 1e-9).floor() + 1.0,
            Turn::Down => (steps - 1e-9).ceil() - 1.0,
        };
        self.typed = None;
        self.put(self.chosen, next * range.grain, range)
    }

    /// A digit is typed behind those typed before. Whether that changed the value.
    pub fn digit(&mut self, digit: u32, range: Range) -> bool {
        let typed = (self.typed.unwrap_or(0.0) % 100.0) * 10.0 + f64::from(digit);
        self.typed = Some(typed);
        self.put(self.chosen, typed, range)
    }

    /// What was typed into the chosen one so far, in range or not.
    pub fn typed(&self) -> Option<f64> {
        self.typed
    }

    /// Sets a value, as near as its range allows. Whether that changed it.
    pub fn put(&mut self, field: F, value: f64, range: Range) -> bool {
        let value = value.clamp(range.low, range.high);
        self.set.insert(field, value).unwrap_or(range.start) != value
    }

    /// The field is as it was at first. Whether that changed it.
    pub fn clear(&mut self, field: F) -> bool {
        self.typed = None;
        self.set.remove(&field).is_some()
    }

    /// Forgets the fields for which `keep` says no.
    pub fn retain(&mut self, keep: impl Fn(F) -> bool) {
        self.set.retain(|field, _| keep(*field));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const NIGHTS: Range = Range { low: 1.0, high: 30.0, grain: 1.0, start: 3.0 };
    const SURE: Range = Range { low: 50.0, high: 99.0, grain: 5.0, start: 90.0 };
    const DAILY: Range = Range { low: 0.0, high: 50.0, grain: 0.5, start: 1.37 };

    #[test]
    fn values_stay_within_what_can_be_asked() {
        let mut form = Form::new('n');
        assert!(form.digit(1, NIGHTS) && form.digit(2, NIGHTS));
        assert_eq!(form.get('n'), Some(12.0));
        form.digit(9, NIGHTS);
        assert_eq!(form.get('n'), Some(30.0));
        assert!(!form.step(Turn::Up, NIGHTS) && form.step(Turn::Down, NIGHTS));
        assert_eq!(form.get('n'), Some(29.0));
        form.choose('s');
        assert!(form.step(Turn::Down, SURE));
        assert_eq!(form.get('s'), Some(85.0));
        form.digit(9, SURE);
        assert_eq!(form.get('s'), Some(50.0));
        form.digit(7, SURE);
        assert_eq!(form.get('s'), Some(97.0));
        assert!(form.step(Turn::Down, SURE));
        assert_eq!(form.get('s'), Some(95.0));
        (0..20).for_each(|_| _ = form.step(Turn::Up, SURE));
        assert_eq!(form.get('s'), Some(99.0));
    }

    #[test]
    fn steps_from_what_is_usual_land_on_the_grain_and_clearing_goes_back() {
        let mut form = Form::new('d');
        assert!(form.step(Turn::Up, DAILY));
        assert_eq!(form.get('d'), Some(1.5));
        assert!(form.clear('d') && !form.clear('d'));
        assert!(form.step(Turn::Down, DAILY));
        assert_eq!(form.get('d'), Some(1.0));
        form.step_choice(&['a', 'd', 'x'], -5);
        assert_eq!(form.chosen(), 'a');
        form.step_choice(&['a', 'd', 'x'], 1);
        assert_eq!(form.chosen(), 'd');
    }
}
