//! A quick part of the bench of worlds: what holds where the forecaster's assumptions are true,
//! and how far it is off today where one of them is not.
//!
//! Figures are of 40 trips, an evening each, twelve futures of it: a share has a standard error of
//! some five points. `cargo bench --bench worlds` prints all worlds over more of them.
#![allow(clippy::disallowed_methods, reason = "what the trips share can write exchange files")]

#[allow(dead_code, unused_imports, reason = "the trips are shared with the scores")]
mod trips {
    pub mod diary;
    pub mod dice;
    pub mod front_door;
    pub mod knobs;
    pub mod living;
    pub mod rig_text;
    pub mod score;
    pub mod sky;
    pub mod spreadsheet;
    pub mod trial;
    pub mod trip;
    pub mod van;
}
#[allow(dead_code, reason = "the worlds are shared with the bench")]
mod worlds {
    pub mod kinds;
    pub mod run;
    pub mod tally;
}

use trips::van::Role;
use worlds::run::{Effort, TUNE, table};
use worlds::tally::Table;

fn of(name: &str) -> Table {
    let effort =
        Effort { first: TUNE, trips: 40, evenings: 1, futures: 12, lives: 200, oracle_lives: 2 };
    let world = worlds::kinds::all().into_iter().find(|world| world.name == name);
    table(&world.expect("a world").knobs, effort)
}

/// Where every assumption holds, dates lean neither way, are as sure as they say, and one in ten
/// is late: within two standard errors and a half of each.
#[test]
fn dates_are_as_good_as_they_say_where_the_assumptions_hold() {
    let next = of("matched").next;
    assert!((0.37..0.63).contains(&next.later()), "{next:?}");
    assert!((0.70..0.90).contains(&next.inside()), "{next:?}");
    assert!(next.late() < 0.18, "{next:?}");
    let [ours, sheet, _] = next.crps();
    assert!(ours < 0.65 * sheet, "{next:?}");
}

/// WRONG TODAY. A crew that is out all day on a fifth of days writes nothing then, and a day
/// without a word is taken for a usual day that was not written. Dates come out too early, 73 of
/// 100 truths lie later than P50, and too sure: 57 lie in P10 to P90. Wanted are 50 and 80. When
/// this fails because dates got better, move its bounds to what is then true.
#[test]
fn days_out_are_taken_for_days_that_nobody_wrote_down() {
    let next = of("out").next;
    assert!((0.60..0.85).contains(&next.later()), "{next:?}");
    assert!((0.45..0.68).contains(&next.inside()), "{next:?}");
    assert!(next.late() < 0.18, "safe dates hold: {next:?}");
}

/// WRONG TODAY. Where half of all uses are never written, no gauge tells of solids but guesses:
/// what is logged is taken for nearly all, and more than half of solids' safe dates are late.
/// Wanted is one in ten. When this fails because dates got better, move its bounds to what is
/// then true.
#[test]
fn what_is_half_written_is_taken_for_nearly_all() {
    let table = of("out-half");
    let solids = table.stock(Role::Solids);
    assert!((0.35..0.70).contains(&solids.late()), "{solids:?}");
    assert!(table.next.late() < 0.18, "the next stop's safe date holds: {:?}", table.next);
}
