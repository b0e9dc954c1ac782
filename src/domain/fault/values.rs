//! Ranges of single values. A number that is not finite is out of every range.

use super::electrics;
use super::finding::{Fault, Path, note, written};
use super::ranges::{LARGEST, SMALLEST, WIDEST, above_zero, between, from_zero, up_to};
use crate::domain::flow::{Activity, BaseUse, Driver, Measure, Move};
use crate::domain::rig::{Home, Parts, Rig};
use crate::domain::stock::{Direction, Gauge, Stock};

/// No gauge tells a smaller share of a stock apart (common practice, no source).
const FINEST_GAUGE: f64 = 1e-4;

pub(super) fn check(rig: &Rig, faults: &mut Vec<Fault>) {
    let root = Path::root();
    if rig.van.trim().is_empty() {
        note(faults, root.field("van"), "\"\"", "a name");
    }
    between(faults, root.field("crew"), rig.crew, 0.5, 50.0);
    home(&rig.home, &root.field("home"), faults);
    for (path, parts) in written(rig) {
        check_parts(parts, &path, faults);
    }
}

fn home(home: &Home, path: &Path, faults: &mut Vec<Fault>) {
    if home.place.trim().is_empty() {
        note(faults, path.field("place"), "\"\"", "a name");
    }
    between(faults, path.field("latitude"), home.latitude, -90.0, 90.0);
    between(faults, path.field("longitude"), home.longitude, -180.0, 180.0);
    let Some(typical) = home.typical else { return };
    let path = path.field("typical");
    between(faults, path.field("low_c"), typical.low_c, -60.0, 60.0);
    between(faults, path.field("high_c"), typical.high_c, -60.0, 60.0);
    up_to(faults, path.field("cloud"), typical.cloud, 1.0);
    if typical.high_c < typical.low_c {
        note(faults, path.field("high_c"), typical.high_c, "a number that is at least low_c");
    }
}

fn check_parts(parts: &Parts, path: &Path, faults: &mut Vec<Fault>) {
    for (i, one) in parts.stocks.iter().enumerate() {
        stock(one, &path.field("stocks").item(i), faults);
    }
    for (i, one) in parts.activities.iter().enumerate() {
        let path = path.field("activities").item(i);
        activity(one, &path, faults);
        moves(&one.moves, &path, faults);
    }
    for (i, one) in parts.base.iter().enumerate() {
        let path = path.field("base").item(i);
        base_hours(one, &path, faults);
        moves(&one.moves, &path, faults);
    }
    if let Some(one) = &parts.electrics {
        electrics::electrics(one, &path.field("electrics"), faults);
    }
    if let Some(one) = &parts.heating {
        electrics::heating(one, &path.field("heating"), faults);
    }
    if let Some(one) = &parts.hot_water {
        electrics::hot_water(one, &path.field("hot_water"), faults);
    }
}

fn stock(stock: &Stock, path: &Path, faults: &mut Vec<Fault>) {
    above_zero(faults, path.field("capacity"), stock.capacity);
    let margin = match stock.runs {
        Direction::Down => "keep",
        Direction::Up => "headroom",
    };
    from_zero(faults, path.field(margin), stock.margin);
    if stock.capacity > 0.0 && stock.margin >= stock.capacity {
        note(faults, path.field(margin), stock.margin, "less than the capacity");
    }
    from_zero(faults, path.field("dregs"), stock.dregs);
    match stock.runs {
        Direction::Down if stock.dregs > stock.margin => {
            let expected = "at most what is kept (dregs cannot be drawn, so keep includes them)";
            note(faults, path.field("dregs"), stock.dregs, expected);
        }
        Direction::Up if stock.dregs > 0.0 && stock.dregs >= stock.limit() => {
            let expected = "less than the level that counts as full";
            note(faults, path.field("dregs"), stock.dregs, expected);
        }
        _ => {}
    }
    gauge(&stock.gauge, path.field("gauge"), faults);
    from_zero(faults, path.field("lift_wh"), stock.lift_wh);
    from_zero(faults, path.field("spare"), stock.spare);
    if let Some(limit) = stock.freezes_below_c {
        between(faults, path.field("freezes_below_c"), limit, -60.0, 60.0);
    }
}

fn gauge(gauge: &Gauge, path: Path, faults: &mut Vec<Fault>) {
    match gauge {
        Gauge::None => {}
        Gauge::Step(step) if (FINEST_GAUGE..=1.0).contains(step) => {}
        Gauge::Step(step) => {
            note(
                faults,
                path,
                format!("step({step})"),
                "step(…) of a share above 0 and at most 1: quarters are 0.25",
            );
        }
        Gauge::Ladder(marks) => {
            let within = marks.iter().all(|mark| (FINEST_GAUGE..=1.0).contains(mark));
            let ascending = marks.windows(2).all(|pair| pair[0] < pair[1]);
            if marks.is_empty() || !within || !ascending {
                let found = marks.iter().map(f64::to_string).collect::<Vec<_>>().join(", ");
                let expected = "ladder([…]) of rising shares above 0 and at most 1";
                note(faults, path, format!("ladder([{found}])"), expected);
            }
        }
    }
}

fn activity(activity: &Activity, path: &Path, faults: &mut Vec<Fault>) {
    up_to(faults, path.field("usual"), activity.usual_per_day, 1000.0);
    up_to(faults, path.field("usual_spread"), activity.usual_spread, WIDEST);
    weights(&activity.hours, path, faults);
}

/// What runs or is driven now and then has the hours that are told of it.
fn base_hours(base: &BaseUse, path: &Path, faults: &mut Vec<Fault>) {
    if !base.hours.is_empty() && !matches!(base.per, Driver::PersonDay | Driver::Day) {
        let expected = "no hours, or per: person_day or per: day";
        note(faults, path.field("hours"), "hours of a drive or a charge", expected);
    }
    weights(&base.hours, path, faults);
}

fn weights(hours: &[(u8, f64)], path: &Path, faults: &mut Vec<Fault>) {
    let weights = || hours.iter().map(|(_, weight)| *weight);
    let wrong = weights().any(|w| w != 0.0 && !(SMALLEST..=LARGEST).contains(&w));
    if wrong || (!hours.is_empty() && weights().sum::<f64>() <= 0.0) {
        let expected = "weights from 0 up, not all 0";
        note(faults, path.field("hours"), "a bad weight", expected);
    }
}

fn moves(moves: &[Move], path: &Path, faults: &mut Vec<Fault>) {
    for (i, one) in moves.iter().enumerate() {
        let path = path.field("moves").item(i);
        match one.measure {
            Measure::Amount { per_time, spread } => {
                if !(SMALLEST..=LARGEST).contains(&per_time.abs()) {
                    note(faults, path.field("amount"), per_time, "a number above 0");
                }
                up_to(faults, path.field("spread"), spread, WIDEST);
            }
            Measure::ShareOf { share, spread, .. } => {
                up_to(faults, path.field("share"), share, 1.0);
                up_to(faults, path.field("spread"), spread, 0.5);
            }
        }
        if let Some(warm) = one.warmed_to_c {
            up_to(faults, path.field("warmed_to"), warm, 100.0);
        }
    }
}
