//! A plan never moves a level by itself once its time has passed.

use chrono::Duration;
use proptest::prelude::*;
use std::path::Path;
use std::sync::{Arc, OnceLock};
use waystock::belief;
use waystock::domain::entry::{After, Body, ChargeSource, Entry, EntryId, Event, Spot};
use waystock::domain::journal::standing;
use waystock::domain::quantity::{Amount, Quantity};
use waystock::domain::rig::Rig;
use waystock::domain::time::Moment;
use waystock::domain::unit::Unit;
use waystock::store::data_folder::DataFolder;
use waystock::store::real_disk::RealDisk;

fn demo() -> &'static (Rig, Vec<Entry>) {
    static DEMO: OnceLock<(Rig, Vec<Entry>)> = OnceLock::new();
    DEMO.get_or_init(|| {
        let state = tempfile::tempdir().unwrap();
        let dir = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo");
        let contents = DataFolder::at(&dir, state.path(), Arc::new(RealDisk)).load().unwrap();
        (contents.rig, contents.journal.entries)
    })
}

fn quantity(amount: i64, unit: Unit) -> Quantity {
    Quantity::new(Amount::from_milli(amount * 1000).unwrap(), unit)
}

/// Everything that moves a level, as it can be planned; who is aboard moves none.
fn events() -> impl Strategy<Value = Event> {
    let (rig, _) = demo();
    let stocks: Vec<String> = rig.parts.stocks.iter().map(|s| s.name.clone()).collect();
    let activities: Vec<(String, Unit)> =
        rig.parts.activities.iter().map(|a| (a.name.clone(), a.counted_in.clone())).collect();
    let stock = || prop::sample::select(stocks.clone());
    prop_oneof![
        stock().prop_map(|stock| Event::Fill { stock, amount: None, after: Some(After::Full) }),
        stock().prop_map(|stock| Event::Empty { stock, amount: None, after: None }),
        (stock(), 0i64..=100).prop_map(|(stock, share)| Event::Level {
            stock,
            reading: quantity(share, Unit::Percent),
            step: None
        }),
        (prop::sample::select(activities), 1i64..5).prop_map(|((activity, unit), n)| {
            Event::Use { activity, count: quantity(n, unit) }
        }),
        (1i64..4).prop_map(|hours| Event::Drive(quantity(hours, Unit::Hour))),
        (1i64..80).prop_map(|km| Event::Drive(quantity(km, Unit::Kilometre))),
        (1i64..9).prop_map(|hours| Event::Charge {
            source: ChargeSource::Shore,
            amount: quantity(hours, Unit::Hour)
        }),
        Just(Event::Camp(Spot::At { latitude: 51.0, longitude: -4.0 })),
    ]
}

fn plan(sequence: u64, recorded: Moment, hours: i64, event: Event, is_stop: bool) -> Entry {
    Entry {
        id: EntryId { device: "zz".into(), sequence, salt: 3 },
        at: recorded + Duration::hours(hours),
        recorded,
        note: is_stop.then(|| "planned stop: Quay".to_string()),
        body: Body::Happened(event),
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, ..ProptestConfig::default() })]

    /// Levels a while later are those of a journal without the plans, to the bit, for any plans
    /// that nobody has said a word about, of a saved stop or of a person's own.
    #[test]
    fn a_plan_moves_no_level_once_its_time_has_passed(
        planned in prop::collection::vec((events(), 1i64..40, any::<bool>()), 1..5),
        later in 40i64..90,
    ) {
        let (rig, entries) = demo();
        let evening = rig.evening.unwrap();
        let now = evening + Duration::hours(later);
        let mut with_plans = entries.clone();
        for (sequence, (event, hours, is_stop)) in planned.into_iter().enumerate() {
            with_plans.push(plan(sequence as u64 + 1, evening, hours, event, is_stop));
        }
        let learned = |entries: &[Entry]| belief::learn(rig, &standing(entries, now), now, 1);
        let (without, with) = (learned(entries), learned(&with_plans));
        for stock in 0..without.mechanism.stocks().len() {
            let name = &without.mechanism.stocks()[stock].name;
            prop_assert_eq!(with.level(stock), without.level(stock), "{}", name);
        }
    }
}
