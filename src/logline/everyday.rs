//! Everyday speech that is no grammar: of each clause what it plainly tells, written in words of the
//! grammar, and the rest as a note.

pub(super) mod company;
pub(super) mod cut_up;
pub(super) mod follows;
pub(super) mod gist;
pub(super) mod held;
pub(super) mod instead;
pub(super) mod kin;
mod likely;
pub(super) mod noted;
pub(super) mod phrases;
pub(super) mod prose;
pub(super) mod reduced;
pub(super) mod refers;
pub(super) mod retold;
pub(super) mod rewritten;
pub(super) mod sky;
pub(super) mod slots;
pub(super) mod so_far;
mod taken;
pub(super) mod telling;
pub(super) mod ways;
