//! A finding about a rig: where, what stands there, what would be right.

use crate::domain::rig::{Parts, Rig};

/// One step from a rig to a part of it. Names are those of the rig file, but for `moves`,
/// which holds what the file writes as `takes` and then as `gives`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum PathStep {
    /// Into the field of that name.
    Field(&'static str),
    /// To the item at that place of a list, from 0.
    Item(usize),
}

/// The way from a rig to a part of it.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Default)]
pub struct Path(Vec<PathStep>);

impl Path {
    /// The rig itself.
    pub fn root() -> Path {
        Path::default()
    }

    /// The path one step further.
    pub fn with(&self, step: PathStep) -> Path {
        let mut steps = self.0.clone();
        steps.push(step);
        Path(steps)
    }

    /// The path to a field of the part that this path leads to.
    pub fn field(&self, name: &'static str) -> Path {
        self.with(PathStep::Field(name))
    }

    /// The path to an item of the list that this path leads to.
    pub fn item(&self, index: usize) -> Path {
        self.with(PathStep::Item(index))
    }

    /// Its steps, outermost first.
    pub fn steps(&self) -> &[PathStep] {
        &self.0
    }
}

impl From<Vec<PathStep>> for Path {
    fn from(steps: Vec<PathStep>) -> Path {
        Path(steps)
    }
}

/// What is wrong, and where: enough for `store` to find the line and column.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// The field that is wrong.
    pub path: Path,
    /// What stands there.
    pub found: String,
    /// What would be right.
    pub expected: String,
}

/// The parts as they are written: those that the rig began with, then those of each change.
pub(super) fn written(rig: &Rig) -> impl Iterator<Item = (Path, &Parts)> {
    let changes = rig.changes.iter().enumerate();
    let changes = changes.map(|(i, c)| (Path::root().field("changes").item(i), &c.parts));
    std::iter::once((Path::root(), &rig.parts)).chain(changes)
}

/// Adds a fault.
pub(super) fn note(
    faults: &mut Vec<Fault>,
    path: Path,
    found: impl ToString,
    expected: impl ToString,
) {
    faults.push(Fault { path, found: found.to_string(), expected: expected.to_string() });
}
