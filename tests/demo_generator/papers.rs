//! The rest of the journal: outlooks copied from the harbour office, remarks, plans, slips of
//! the finger and what was done about them.

use super::diary::{Diary, percent_read, used, whole};
use super::dice::Dice;
use super::draft::{Draft, LAPTOP, PHONE, Said};
use super::sky::{Day, first_camp};
use super::trip::{self, AWAY, EVENING_DAY, GUEST};
use super::van::{GREY, NAMES};
use waystock::domain::entry::Event;
use waystock::domain::outlook::DayWeather;

/// Day, minute, device, remark.
const REMARKS: [(i64, i64, usize, &str); 7] = [
    (0, 1085, PHONE, "Away at last. Button has claimed the passenger seat."),
    (3, 1302, LAPTOP, "The pump sounds hoarse below a quarter."),
    (9, 1311, PHONE, "Otis swam! Nobody else did."),
    (17, 840, PHONE, "Pia is here, with cake and her own towel."),
    (36, 1317, LAPTOP, "Two jumpers each from now on."),
    (41, 1299, PHONE, "Film night, on the small screen only."),
    (46, 1290, LAPTOP, "Gale warning for the week after next, says the harbour office."),
];

impl Diary<'_> {
    /// Remarks, and plans for who comes and goes.
    pub fn remarks_and_plans(&mut self) {
        for (day, minute, device, text) in REMARKS {
            self.drafts.push(Draft::now(device, day * 1440 + minute, Event::Note(text.into())));
        }
        let after_gap = (self.gap as i64 + 3) * 1440 + 8 * 60 + 12;
        let why = "Phone in the dishwater, laptop flat: nothing written for three days.";
        self.drafts.push(Draft::now(LAPTOP, after_gap, Event::Note(why.into())));
        let crew = |device, at, people, recorded| {
            Draft::now(device, at, Event::Crew(whole(people))).recorded(recorded)
        };
        let noon = (GUEST.1 * 1440 + 12 * 60) as i64;
        let tea_time = (GUEST.0 * 1440 + 16 * 60 + 20) as i64;
        self.drafts.push(crew(PHONE, noon, 3, tea_time).note("Pia takes the noon bus"));
        let (leave, back) = (AWAY.0 as i64 * 60, AWAY.1 as i64 * 60);
        let sunday_before = ((EVENING_DAY - 2) * 1440 + 20 * 60 + 12) as i64;
        let gala = "Nell and Otis at the swimming gala, Ada stays with Button";
        self.drafts.push(crew(LAPTOP, leave, 1, sunday_before).note(gala));
        self.drafts.push(crew(LAPTOP, back, 3, sunday_before + 1));
    }

    /// An outlook every two to four days: five days ahead, and what the days since the last
    /// one turned out to be.
    pub fn outlooks(&mut self, seed: u64) {
        let mut dice = Dice::new(seed, "outlook");
        let (mut day, mut told) = (0, 0);
        loop {
            day = day.min(EVENING_DAY);
            while !self.writes(day) {
                day += 1;
            }
            let at = (day * 1440 + 18 * 60 + 38) as i64;
            let device = *dice.pick(&[PHONE, LAPTOP]);
            let detailed = dice.chance(0.85) || day == EVENING_DAY;
            for of in told..=day + 5 {
                let lead = of.saturating_sub(day);
                let real = self.world.sky.day(of, first_camp());
                let row = told_weather(&mut dice, at, of, lead, &real, detailed);
                self.drafts.push(Draft::now(device, at, Event::Outlook(row)));
            }
            told = day + 1;
            if day == EVENING_DAY {
                return;
            }
            day += 2 + (dice.unit() * 2.6) as usize;
        }
    }

    /// Slips: a typo, a miscount, a tap too many, a note taken back and put back, and one dump
    /// that both wrote down.
    pub fn slips(&mut self) {
        self.typo();
        self.miscount();
        self.double_tap();
        self.second_thoughts();
        self.twin();
    }

    fn first(&self, from_day: usize, wanted: impl Fn(&Draft) -> bool) -> usize {
        let from = (from_day * 1440) as i64;
        let mut found: Vec<usize> = (0..self.drafts.len())
            .filter(|&i| self.drafts[i].recorded >= from && wanted(&self.drafts[i]))
            .collect();
        found.sort_by_key(|&i| self.drafts[i].recorded);
        *found.first().expect("the seed has one")
    }

    /// A digit lost: 9 % instead of 90 %, noticed at once.
    fn typo(&mut self) {
        let battery =
            |event: &Event| matches!(event, Event::Level { stock, .. } if stock == "battery");
        let slip = self.first(9, |d| matches!(&d.said, Said::Happened(e) if battery(e)));
        let right = self.drafts[slip].clone();
        let Said::Happened(event) = right.said.clone() else { return };
        if let Said::Happened(Event::Level { reading, .. }) = &mut self.drafts[slip].said {
            *reading = percent_read((reading.amount.value() / 10.0).floor() / 100.0);
        }
        let recorded = right.recorded + 2;
        self.drafts.push(Draft { recorded, said: Said::Correct(slip, event), ..right });
    }

    /// One shower too many, put right over breakfast by the other sister.
    fn miscount(&mut self) {
        let one = used("shower", 1.0);
        let slip = self.first(11, |d| matches!(&d.said, Said::Happened(e) if *e == one));
        let right = self.drafts[slip].clone();
        self.drafts[slip].said = Said::Happened(used("shower", 2.0));
        let recorded = right.recorded + 10 * 60;
        let device = LAPTOP - right.device;
        self.drafts.push(Draft { device, recorded, said: Said::Correct(slip, one), ..right });
    }

    /// Dishes tapped twice, and the second taken back.
    fn double_tap(&mut self) {
        let dishes = used("dishes", 1.0);
        let of =
            |d: &Draft| d.device == PHONE && matches!(&d.said, Said::Happened(e) if *e == dishes);
        let again = self.drafts[self.first(32, of)].clone();
        let recorded = again.recorded + 1;
        self.drafts.push(Draft { recorded, ..again.clone() });
        let said = Said::Retract(self.drafts.len() - 1);
        self.drafts.push(Draft { at: recorded, recorded, said, ..again });
    }

    /// A remark taken back, and put back after all.
    fn second_thoughts(&mut self) {
        let at = (39 * 1440 + 21 * 60 + 44) as i64;
        let text = "The heater smelled of toast tonight. Crumbs.";
        self.drafts.push(Draft::now(LAPTOP, at, Event::Note(text.into())));
        let note = self.drafts.len() - 1;
        let back = |recorded, said| Draft {
            at: recorded,
            recorded,
            said,
            ..Draft::now(LAPTOP, at, Event::DayClosed)
        };
        self.drafts.push(back(at + 1, Said::Retract(note)));
        self.drafts.push(back(at + 3, Said::Restore(note)));
    }

    fn twin(&mut self) {
        let dump = Event::Empty { stock: NAMES[GREY].into(), amount: None, after: None };
        let first = self.first(15, |d| matches!(&d.said, Said::Happened(e) if *e == dump));
        let Draft { device, at, .. } = self.drafts[first].clone();
        self.drafts.push(Draft::now(LAPTOP - device, at + 9, dump));
    }
}

/// A row of an outlook `lead` days ahead; errors grow from about 1.2 to 2.7 kelvin, and of the
/// sun from 15 to 32 percent. A day that has passed is known almost as it was.
fn told_weather(
    dice: &mut Dice,
    at: i64,
    day: usize,
    lead: usize,
    real: &Day,
    detailed: bool,
) -> DayWeather {
    let ahead = lead as f64;
    let (kelvin, sun, cloud) = match lead {
        0 => (0.3, 0.04, 0.04),
        _ => (0.85 + 0.37 * ahead, 0.11 + 0.042 * ahead, 0.08 + 0.03 * ahead),
    };
    let shared = kelvin * 0.8 * dice.normal();
    let half = |value: f64| (value * 2.0).round() / 2.0 + 0.0; // no minus zero
    let low_c = half(real.low_c + shared + 0.6 * kelvin * dice.normal());
    let high_c = half(real.high_c + shared + 0.6 * kelvin * dice.normal()).max(low_c + 0.5);
    let sun = real.sun_kwh_m2 * dice.factor(sun);
    let cloud = (real.cloud + cloud * dice.normal()).clamp(0.0, 1.0);
    DayWeather {
        issued: trip::moment(at),
        date: trip::date(day),
        low_c: Some(low_c),
        high_c: Some(high_c),
        sun_kwh_m2: detailed.then(|| (sun * 100.0).round() / 100.0),
        cloud: Some((cloud * 20.0).round() / 20.0),
        place: None,
    }
}
