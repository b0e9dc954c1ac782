//! JSON Lines: every record, corrections and retractions too, one object per line.

use super::write::time;
use crate::domain::{After, Body, DayWeather, Entry, Event, Quantity, Spot};
use serde_json::{Value, json};

/// The records in the order given, each an object on its own line that ends in LF.
///
/// Every object has `id`, `at`, `recorded` and `record` (`happened`, `correct`, `retract` or
/// `restore`); the last three name the entry concerned in `of`. What happened is told by `kind`
/// and that kind's own fields. A quantity is `{"amount": 20.0, "unit": "L"}`.
pub fn write_jsonl(entries: &[Entry]) -> String {
    let mut lines = String::new();
    for entry in entries {
        lines.push_str(&record(entry).to_string());
        lines.push('\n');
    }
    lines
}

fn record(entry: &Entry) -> Value {
    let name = match &entry.body {
        Body::Happened(_) => "happened",
        Body::Correct { .. } => "correct",
        Body::Retract { .. } => "retract",
        Body::Restore { .. } => "restore",
    };
    let (id, at, recorded) = (entry.id.to_string(), time(entry.at), time(entry.recorded));
    let mut value = json!({ "id": id, "at": at, "recorded": recorded, "record": name });
    if let Some(of) = entry.body.of() {
        value["of"] = of.to_string().into();
    }
    if let Some(Value::Object(said)) = entry.body.event().map(happened) {
        said.into_iter().for_each(|(field, said)| value[field] = said);
    }
    if let Some(note) = &entry.note {
        value["note"] = note.as_str().into();
    }
    value
}

fn quantity(said: &Quantity) -> Value {
    json!({ "amount": said.amount.value(), "unit": said.unit.word() })
}

fn happened(event: &Event) -> Value {
    match event {
        Event::Use { activity, count } => {
            json!({ "kind": "use", "activity": activity, "count": quantity(count) })
        }
        Event::Level { stock, reading, step } => {
            json!({ "kind": "level", "stock": stock, "reading": quantity(reading), "step": step })
        }
        Event::Fill { stock, amount, after } => json!({
            "kind": "fill",
            "stock": stock,
            "amount": amount.as_ref().map(quantity),
            "after": after.as_ref().map(|after| match after {
                After::Full => "full".into(),
                After::Level(level) => quantity(level),
            }),
        }),
        Event::Empty { stock, amount, after } => json!({
            "kind": "empty",
            "stock": stock,
            "amount": amount.as_ref().map(quantity),
            "after": after.as_ref().map(quantity),
        }),
        Event::Spent { stock, amount } => {
            json!({ "kind": "spent", "stock": stock, "amount": quantity(amount) })
        }
        Event::Drive(amount) => json!({ "kind": "drive", "amount": quantity(amount) }),
        Event::Charge { source, amount } => json!({
            "kind": "charge", "source": source.word(), "amount": quantity(amount),
        }),
        Event::Camp(Spot::Named(place)) => json!({ "kind": "camp", "place": place }),
        Event::Camp(Spot::At { latitude, longitude }) => {
            json!({ "kind": "camp", "latitude": latitude, "longitude": longitude })
        }
        Event::Crew(people) => json!({ "kind": "crew", "aboard": people.value() }),
        Event::DayClosed => json!({ "kind": "day", "closed": true }),
        Event::Note(text) => json!({ "kind": "note", "text": text }),
        Event::Outlook(weather) => outlook(weather),
    }
}

fn outlook(weather: &DayWeather) -> Value {
    json!({
        "kind": "outlook",
        "issued": time(weather.issued),
        "date": weather.date.to_string(),
        "low_c": weather.low_c,
        "high_c": weather.high_c,
        "sun_kwh_m2": weather.sun_kwh_m2,
        "cloud": weather.cloud,
        "place": weather.place,
    })
}
