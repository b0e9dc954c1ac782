//! Plans beside each other, in a table or in lines.

use super::so_far::name;
use super::{driving, money, named};
use crate::domain::Rig;
use crate::plan::Trip;
use crate::plan::stops::answer::{Against, PlanTotals};
use crate::text::stretch::percent_down;
use crate::text::{counted, when};

/// The plan as asked and those beside it, named; nothing where none was asked for.
pub fn beside_rows<'t>(
    trip: &'t Trip,
    asked: &'t PlanTotals,
    rig: &Rig,
) -> Vec<(String, Option<&'t PlanTotals>)> {
    let some = |row: &&PlanTotals| row.works || !row.stops.is_empty();
    let others = trip.against.iter().map(|(against, row)| {
        let row = row.as_ref().filter(some);
        let short = match (row, against) {
            (Some(row), Against::Sure(_)) if !row.works => ", not reached",
            (Some(row), _) if !row.works => ", not sure enough",
            _ => "",
        };
        (format!("{}{short}", name(*against, &rig.places)), row)
    });
    let first = (!trip.against.is_empty()).then(|| ("as asked".to_string(), Some(asked)));
    first.into_iter().chain(others).collect()
}

/// Plans beside each other: stops, chance, driving, cost, and by how much the tightest stop may be
/// late; a table with its head first, or a line each where `columns` are few. Below it the stops of
/// those that go elsewhere, or on other days, than the first.
pub fn beside(rows: &[(String, Option<&PlanTotals>)], rig: &Rig, columns: usize) -> Vec<String> {
    let wide = rows.iter().map(|(what, _)| what.chars().count()).max().unwrap_or(0).max(8);
    let head = ["stops", "chance", "driving", "cost", "margin"];
    let cells = |row: &PlanTotals| {
        let slack = row.slack_hours.map_or("-".to_string(), |hours| match hours > 0.0 {
            true => when::lasting(hours),
            false => "none".to_string(),
        });
        let km = driving(row.legs.iter().copied(), rig.show);
        [row.stops.len().to_string(), percent_down(row.probability), km, money(row.cost), slack]
    };
    // Wide enough for "over 99 %" and a blank.
    let line = |what: &str, cells: [String; 5]| {
        let cells: Vec<String> = cells.iter().map(|cell| format!("{cell:>12}")).collect();
        format!("{what:<wide$}{}", cells.concat())
    };
    let in_table = columns >= wide + 12 * head.len();
    let mut lines: Vec<String> =
        in_table.then(|| line("", head.map(String::from))).into_iter().collect();
    lines.extend(rows.iter().map(|(what, row)| match row {
        None if in_table => format!("{what:<wide$}  none found"),
        None => format!("{what}: none found"),
        Some(row) if in_table => line(what, cells(row)),
        Some(row) => {
            let [_, chance, km, cost, slack] = cells(row);
            let stops = counted(row.stops.len(), "stop");
            format!("{what}: {stops}, {chance} chance, {km}, cost {cost}, margin {slack}")
        }
    }));
    let first = rows.first().and_then(|(_, row)| *row);
    for (what, row) in rows.iter().skip(1) {
        let Some(row) = row.filter(|row| first.is_some_and(|first| first.stops != row.stops))
        else {
            continue;
        };
        let day = |at| when::day(rig.zone(at).here(at));
        // A place is named where it is another one than before.
        let before = [None].into_iter().chain(row.stops.iter().map(|(_, places)| Some(places)));
        let stops = row.stops.iter().zip(before).map(|((at, places), before)| {
            match before == Some(places) {
                true => day(*at),
                false => format!("{} on {}", named(places.iter().copied(), &rig.places), day(*at)),
            }
        });
        let twice = row.stops.windows(2).find(|two| day(two[0].0) == day(two[1].0));
        let twice = twice.map_or(String::new(), |two| {
            format!(" (two on {}: no other day was found as sure)", day(two[0].0))
        });
        lines.push(format!("{what}: {}{twice}", stops.collect::<Vec<_>>().join(", ")));
    }
    lines
}
