//! Findings about a rig that its own types cannot rule out: names that point nowhere, a margin
//! larger than the tank, an activity that takes from a stock and gives back more.

/// What is wrong, and where: enough for `store` to find the line and column.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// The list or block of the rig file (`stocks`, `activities`, `base`, `electrics`, ...).
    pub section: &'static str,
    /// The `name` of the item in that list; empty for a block.
    pub item: String,
    /// The field.
    pub field: &'static str,
    /// What stands there.
    pub found: String,
    /// What would be right.
    pub expected: String,
}
