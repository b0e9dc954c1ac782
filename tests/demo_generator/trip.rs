//! Where the demo's crew goes and who is aboard: an invented stretch of cool, windy coast at
//! the latitude and in the time zone of a real one.

use waystock::domain::time::Moment;

/// A place to stand.
pub struct Camp {
    pub name: &'static str,
    pub latitude: f64,
    pub longitude: f64,
    /// Share of the sun that hills and trees leave.
    pub open: f64,
}

const fn camp(name: &'static str, latitude: f64, longitude: f64, open: f64) -> Camp {
    Camp { name, latitude, longitude, open }
}

/// The camps in the order in which they are visited, again from the start after the last.
pub const CAMPS: [Camp; 6] = [
    camp("Oarlock Bay", 48.94, -54.31, 0.96),
    camp("Candle Rocks", 49.12, -54.02, 1.0),
    camp("Mossback Barrens", 48.71, -53.77, 1.0),
    camp("Sorrel Head", 48.86, -53.21, 0.98),
    camp("Netmaker's Pond", 48.55, -53.64, 0.84),
    camp("Long Thwart", 48.63, -53.06, 0.97),
];

/// Places with a tap and a drain, visited in turn.
pub const SERVICES: [Camp; 2] =
    [camp("Quillet Harbour", 48.87, -54.06, 1.0), camp("Barley Arm", 49.07, -53.79, 1.0)];

/// Hours that the clocks there are ahead of UTC, all through the demo.
pub const OFFSET_HOURS: f64 = -2.5;
/// Day of the year of the first day, 2 September.
pub const FIRST_DAY_OF_YEAR: f64 = 245.0;
/// Days from the first day to the day of the demo's evening, 20 October.
pub const EVENING_DAY: usize = 48;
/// The demo's evening in hours from midnight of the first day: 21:05 is within this hour.
pub const EVENING_HOUR: usize = EVENING_DAY * 24 + 21;
/// Days that are simulated, past the evening, to see where the truth goes.
pub const DAYS: usize = EVENING_DAY + 12;
/// Days on which a guest is aboard from noon of the first to noon of the last.
pub const GUEST: (usize, usize) = (17, 24);
/// From the evening of this hour on, a hose clamp under the bench lets go of so much a day. Nobody
/// has seen it yet.
pub const LEAKS_FROM_HOUR: usize = 37 * 24 + 19;
/// Litres a day of it, onto the road.
pub const LEAK_L_PER_DAY: f64 = 8.0;
/// The school gala, two nights for which all but one are away: hours from Thursday to Saturday.
pub const AWAY: (usize, usize) = (50 * 24 + 17, 52 * 24 + 12);

/// The moment `minutes` after midnight of the first day.
pub fn moment(minutes: i64) -> Moment {
    let start: Moment = "2026-09-02T00:00:00-02:30".parse().expect("a valid time");
    start + chrono::Duration::minutes(minutes)
}

/// The civil date of day `day`.
pub fn date(day: usize) -> chrono::NaiveDate {
    moment(day as i64 * 1440).date_naive()
}

/// 0 = Monday.
pub fn weekday(day: usize) -> usize {
    (day + 2) % 7 // 2 September 2026 is a Wednesday
}

/// Whether `day` is a Saturday or Sunday.
pub fn is_weekend(day: usize) -> bool {
    weekday(day) >= 5
}
