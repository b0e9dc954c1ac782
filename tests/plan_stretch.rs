//! Stretches: the verdict against a slow simulation of its own, and what must hold for any
//! stretch: options claim what a run with them made gives, more is never worse, surer is never
//! longer.

#[path = "fixtures/plan_rig.rs"]
mod plan_rig;

use plan_rig::{basis, evening, now, rig};
use proptest::prelude::*;
use rand::{RngExt, SeedableRng};
use rand_distr::{Distribution, Exp1, StandardNormal};
use waystock::belief::Beliefs;
use waystock::belief::practice::FANOS;
use waystock::belief::regularity::order;
use waystock::domain::entry::Spot;
use waystock::domain::heating::HeatSource;
use waystock::domain::journal::Standing;
use waystock::domain::rig::Rig;
use waystock::domain::stock::Stock;
use waystock::domain::time::Moment;
use waystock::domain::unit::UnitSystem;
use waystock::forecast::answer::Options;
use waystock::forecast::evening::evening_while;
use waystock::forecast::sampler::Sampler;
use waystock::mechanism::climate::lanes::LANES;
use waystock::mechanism::driver::Source;
use waystock::plan::answer::{AffordAfter, Request, StepKind};
use waystock::plan::case::{Case, Outcome};
use waystock::plan::change::Change;
use waystock::plan::proposal::Proposal;
use waystock::plan::{Stretch, Weather, stretch};
use waystock::text::proposals;

fn in_words(proposal: &Proposal) -> String {
    proposals::words(proposal, UnitSystem::Metric)
}

fn ask(rig: &Rig, known: &(Vec<Standing>, Beliefs), request: &Request) -> Stretch {
    let asked = stretch::stretch(&basis(rig, known), request, &[], &in_words);
    asked.expect("nothing is chosen")
}

fn verdict(rig: &Rig, known: &(Vec<Standing>, Beliefs), request: &Request) -> Stretch {
    stretch::verdict(&basis(rig, known), request).0
}

fn request(nights: u32) -> Request {
    Request { lives: 400, ..Request::here_for(nights) }
}

/// Fresh water alone, stepped day by day and occurrence by occurrence by a simulation that
/// shares nothing with the program but the draws of what is believed: exponential or Gamma gaps
/// become counts in continuous time, and no hours exist.
fn slow_fresh(rig: &Rig, beliefs: &Beliefs, hours: f64, lives: usize) -> f64 {
    let sampler = Sampler::of(beliefs, 4242);
    let mut random = rand_xoshiro::Xoshiro256PlusPlus::seed_from_u64(99);
    let mechanism = &beliefs.mechanism;
    let (fresh, stock) = mechanism.parts.stock("fresh").unwrap();
    let per = |coefficients: &[f64], source: Source| -> f64 {
        let flows = mechanism.flows.iter();
        flows
            .filter(|f| f.source == source && f.stock == fresh)
            .map(|f| -f.scale * coefficients[f.coefficient])
            .sum()
    };
    let mut lasted = 0;
    for life in 0..lives {
        let (lane, group) = (life % LANES, sampler.group(life - life % LANES));
        let of = |rows: &[[f64; LANES]]| rows.iter().map(|row| row[lane]).collect::<Vec<f64>>();
        let (coefficients, rates) = (of(&group.coefficients), of(&group.rates));
        let mut level = group.levels[fresh][lane];
        let fanos = beliefs.habits.iter().map(|habit| FANOS[habit.fano.drawn(random.random())].0);
        let orders: Vec<usize> = fanos.map(|fano| order(fano) as usize).collect();
        let (mut at, whole) = (20.5, 20.5 + hours);
        let (mut home, mut departure, mut day_ends) = (1.0, 0.0, at);
        let day_sd = beliefs.manner.base_day_sd(rig.crew);
        while at < whole {
            // Days are counted from now on: at home or out, and with a use of their own.
            if at >= day_ends {
                let z: f64 = StandardNormal.sample(&mut random);
                departure = day_sd * z;
                home = if random.random::<f64>() < group.out[lane] { 0.0 } else { 1.0 };
                day_ends += 24.0;
            }
            let ends = (((at / 24.0) as usize + 1) as f64 * 24.0).min(whole).min(day_ends);
            // Awake from 7 to 23, a quarter as much at night.
            let awake = (ends.min((at / 24.0).floor() * 24.0 + 23.0)
                - at.max((at / 24.0).floor() * 24.0 + 7.0))
            .max(0.0);
            let asleep = ends - at - awake;
            let days = (awake + 0.25 * asleep) / 18.0;
            let each: f64 =
                (0..mechanism.rhythms.len()).map(|r| per(&coefficients, Source::Base(r))).sum();
            let base = each * rig.crew * days;
            level -= home * base * (1.0 + departure).max(0.1);
            for (a, activity) in mechanism.parts.activities.iter().enumerate() {
                let litres = per(&coefficients, Source::Activity(a));
                if litres < 1.0 {
                    continue;
                }
                assert!(activity.hours.is_empty());
                let rate = home * rates[a] * beliefs.habits[a].people(rig.crew) * awake / 16.0;
                // A count with the life's variance over mean: every order-th of a faster
                // stream of events.
                let order = orders[a];
                let (mut t, mut seen) = (0.0, random.random_range(0..order));
                loop {
                    let gap: f64 = Exp1.sample(&mut random);
                    t += gap / (rate.max(1e-12) * order as f64);
                    if t > 1.0 {
                        break;
                    }
                    seen += 1;
                    if seen.is_multiple_of(order) {
                        let z: f64 = StandardNormal.sample(&mut random);
                        level -= litres * (1.0 + 0.25 * z).max(0.1);
                    }
                }
            }
            at = ends;
        }
        lasted += usize::from(level > stock.limit());
    }
    lasted as f64 / lives as f64
}

#[test]
fn the_probability_is_that_of_a_slow_simulation() {
    let rig = rig();
    let known = evening(&rig);
    let (_, beliefs) = &known;
    let mut spread = 0;
    for nights in [2, 3, 4] {
        let answer = verdict(&rig, &known, &Request { lives: 4000, ..request(nights) });
        let fresh = 1.0 - answer.stocks[0].out;
        let hours = (answer.until - now()).num_minutes() as f64 / 60.0;
        let slow = slow_fresh(&rig, beliefs, hours, 4000);
        // Three standard errors of the difference, and one per cent for whole hours.
        let error = (slow * (1.0 - slow) / 4000.0 * 2.0).sqrt() * 3.0 + 0.01;
        assert!((fresh - slow).abs() < error, "{nights} nights: {fresh} and {slow}");
        spread += usize::from((0.03..0.97).contains(&fresh));
    }
    assert!(spread >= 1, "every probability was near 0 or 1");
    assert!(beliefs.habits[0].true_rate().mean > 0.2);
}

#[test]
fn options_claim_what_a_run_with_them_made_gives() {
    let rig = rig();
    let known = evening(&rig);
    let asked = request(4);
    let answer = ask(&rig, &known, &asked);
    assert!(!answer.works && answer.choices.len() >= 6, "{}", answer.choices.len());
    // Made anew from the journal, with the change applied to what the lives run on.
    let case = Case::of(&basis(&rig, &known), &asked, 72);
    let base = case.limits();
    for choice in &answer.choices {
        let made = case.with(&choice.changes);
        let with = made.limits();
        assert_eq!(with.probability, choice.probability, "{:?}", choice.proposal);
        // The slower way, which carries all levels to the end, says the same.
        let slowly = made.outcome();
        assert_eq!(slowly.probability, choice.probability, "{:?}", choice.proposal);
        for (quick, slow) in with.first.iter().zip(&slowly.first) {
            // Seconds apart: the battery is stepped in single precision, and may fall slowly.
            assert!(quick == slow || (quick - slow).abs() < 2e-3, "{quick} {slow}");
        }
        let horizon = case.scene.hours.len() as f64;
        let hours = with.safe_hours(0.9).min(horizon) - base.safe_hours(0.9).min(horizon);
        assert_eq!(hours, choice.hours, "{:?}", choice.proposal);
    }
    // And a rig whose data says the same: showers of two thirds the water, all else equal.
    let shorter = Change::Size { activity: 0, factor: 2.0 / 3.0 };
    let with = case.with(&[shorter]).outcome();
    let mut smaller = case.clone();
    for flow in &mut smaller.beliefs.mechanism.flows {
        if flow.source == Source::Activity(0) {
            flow.scale *= 2.0 / 3.0;
        }
    }
    let by_data = smaller.outcome();
    for (a, b) in with.first.iter().zip(&by_data.first) {
        // Energy is stepped in single precision: a hundredth of a second apart is the same.
        assert!((a - b).abs() < 1e-5 || a == b, "{a} h by the option, {b} h by the data");
    }
    // Best first: by the share of futures, in whole percent, then by the hours.
    let brings = |c: &waystock::plan::answer::Choice| ((c.gain * 100.0).round(), c.hours);
    assert!(answer.choices.windows(2).all(|pair| brings(&pair[0]) >= brings(&pair[1])));
}

#[test]
fn a_warmer_or_cooler_van_is_that_rig_file() {
    let rig = rig();
    let known = evening(&rig);
    let case = Case::of(&basis(&rig, &known), &request(4), 0);
    let cooler = case.with(&[Change::Warmth(-2.0)]).outcome();
    let mut other = case.clone();
    let heating = other.beliefs.mechanism.parts.heating.as_mut().unwrap();
    (heating.day_c, heating.night_c) = (17.0, 12.0);
    other.scene.kit = waystock::mechanism::climate::Kit::of(&other.beliefs.mechanism);
    assert_eq!(cooler, other.outcome());
    assert!(
        cooler.lives.marked[4].iter().sum::<f64>() > case.outcome().lives.marked[4].iter().sum()
    );
}

/// A stove that has run out of wood changes nothing where the heater behind it is as strong: the
/// stretch is that of the van without one, and nobody is sent for wood.
#[test]
fn a_fuel_that_another_stands_in_for_fails_no_stretch() {
    let (plain, mut stove) = (rig(), rig());
    let (_, gas) = stove.parts.stock("gas").unwrap();
    let wood = Stock { name: "wood".into(), margin: 0.0, capacity: 30.0, ..gas.clone() };
    stove.parts.stocks.push(wood);
    let sources = &mut stove.parts.heating.as_mut().unwrap().sources;
    let own = HeatSource {
        name: "stove".into(),
        burns: "wood".into(),
        wh_per_unit: 4000.0,
        ..sources[0].clone()
    };
    sources.insert(0, own);
    let with = plan_rig::with(&stove, &[&plan_rig::USUAL[..], &[("wood", 0.0)]].concat());
    for nights in [2, 4] {
        let (bare, cold) = (
            verdict(&plain, &evening(&plain), &request(nights)),
            verdict(&stove, &with, &request(nights)),
        );
        assert!(
            (bare.probability - cold.probability).abs() < 0.04,
            "{nights}: {} {}",
            bare.probability,
            cold.probability
        );
        let wood = cold.stocks.iter().position(|stock| stock.name == "wood").unwrap();
        assert_eq!(cold.stocks[wood].stood_in_by.as_deref(), Some("diesel"));
        assert_eq!((cold.stocks[wood].out, cold.stocks[wood].binding), (0.0, 0.0));
        assert_ne!(cold.binding, Some(wood));
        let steps = cold.before.iter().flat_map(|before| &before.steps);
        assert!(steps.into_iter().all(|step| step.stock != wood), "{:?}", cold.before);
    }
}

#[test]
fn what_to_do_before_leaving_works_and_is_not_more_than_needed() {
    let rig = rig();
    let known = evening(&rig);
    let tight = (1..6).map(|nights| (nights, verdict(&rig, &known, &request(nights))));
    let helped = |answer: &Stretch| answer.before.as_ref().is_some_and(|before| before.works);
    let (nights, answer) = tight.into_iter().find(|(_, a)| helped(a)).expect("some stay works");
    let asked = request(nights);
    let before = answer.before.clone().unwrap();
    assert!(before.probability >= 0.9 && !before.steps.is_empty());
    let case = Case::of(&basis(&rig, &known), &asked, 0);
    let share = |puts: &[(usize, waystock::forecast::variants::LevelChange)]| {
        Outcome::of(case.run(&[case.track(puts)]).pop().unwrap(), &case).probability
    };
    let puts: Vec<_> = before.steps.iter().map(|s| waystock::plan::before::put(&case, s)).collect();
    assert_eq!(share(&puts), before.probability);
    // Without any one of the steps it does not work.
    for left_out in 0..puts.len() {
        let mut fewer = puts.clone();
        fewer.remove(left_out);
        assert!(share(&fewer) < 0.9, "step {left_out} was not needed");
    }
    for step in &before.steps {
        let stock = &answer.stocks[step.stock];
        assert!(step.amount > 0.0 && step.amount <= stock.capacity);
        assert_eq!(step.kind == StepKind::Charge, stock.name == "battery");
    }
}

#[test]
fn reserves_are_never_touched() {
    let rig = rig();
    let known = evening(&rig);
    let answer = ask(&rig, &known, &request(5));
    let case = Case::of(&basis(&rig, &known), &request(5), 72);
    for choice in &answer.choices {
        let changed = case.with(&choice.changes);
        let stocks = case.beliefs.mechanism.stocks().iter();
        for (before, after) in stocks.zip(changed.beliefs.mechanism.stocks()) {
            assert_eq!(before.margin, after.margin, "{:?}", choice.proposal);
        }
        // Nobody is told to drink less: base use goes on as it is.
        let base = |case: &Case| -> Vec<_> {
            let flows = case.beliefs.mechanism.flows.iter();
            flows.filter(|f| matches!(f.source, Source::Driver(_))).cloned().collect()
        };
        assert_eq!(base(&case), base(&changed), "{:?}", choice.proposal);
    }
}

#[test]
fn the_set_works_and_what_can_be_afforded_does() {
    let rig = rig();
    let known = plan_rig::with(
        &rig,
        &[
            ("fresh", 68.0),
            ("grey", 25.0),
            ("liquids", 20.0),
            ("battery", 78.0),
            ("diesel", 80.0),
            ("gas", 70.0),
            ("nights here", 11.0),
        ],
    );
    let asked = request(4);
    let answer = ask(&rig, &known, &asked);
    assert!(!answer.works);
    let set = answer.together.as_ref().expect("something helps");
    let case = Case::of(&basis(&rig, &known), &asked, 72);
    let changes: Vec<Change> =
        set.choices.iter().flat_map(|i| answer.choices[*i].changes.clone()).collect();
    assert_eq!(case.with(&changes).limits().probability, set.probability);
    assert_eq!(set.works, set.probability >= 0.9);
    // What is said to be affordable works, and one more does not.
    let mut case = Case::of(&basis(&rig, &known), &asked, 0);
    match (answer.afford_after, &answer.before) {
        (AffordAfter::Serviced, Some(before)) => {
            let stocks = case.beliefs.mechanism.stocks();
            let full = before.steps.iter().map(|s| {
                (
                    s.stock,
                    waystock::forecast::variants::LevelChange::To(stocks[s.stock].serviced_level()),
                )
            });
            case.puts = full.collect();
        }
        (AffordAfter::Together, _) => case = case.with(&changes),
        _ => {}
    }
    assert!(answer.afford.iter().any(|afford| afford.most.is_some_and(|most| most > 0.0)));
    for afford in &answer.afford {
        assert!(afford.usual > 0.0 && afford.most.is_none_or(|m| m >= 0.0 && m.fract() == 0.0));
        let share = |amount: f64| {
            let change = Change::Rate { activity: afford.activity, factor: amount / afford.usual };
            case.with(&[change]).outcome().probability
        };
        match afford.most {
            None => assert!(share(0.0) < 0.9, "{}", afford.plural),
            Some(most) => {
                assert!(share(most) >= 0.9, "{} of {}", most, afford.plural);
                assert!(afford.or_more || share(most + 1.0) < 0.9, "{}", afford.plural);
            }
        }
    }
}

#[test]
fn the_words_of_the_rig_lead_to_the_options_that_people_consider() {
    let rig = rig();
    let known = evening(&rig);
    let answer = ask(&rig, &known, &Request { lives: 300, ..request(6) });
    let words: Vec<String> = answer.choices.iter().map(|c| in_words(&c.proposal)).collect();
    let case = Case::of(&basis(&rig, &known), &request(6), 0);
    let all: Vec<String> = waystock::plan::options::offers(&case, &|_| f64::INFINITY)
        .into_iter()
        .map(|offer| in_words(&offer.proposal))
        .collect();
    for wanted in [
        "one shower fewer every two days",
        "showers with a third less fresh water",
        "dishes once a day",
        "cooked meals on gas, not on the battery",
        "cooked meals over a campfire, not on the battery",
        "one hour of desk work less a day",
        "the heater two degrees lower",
        "drive for one hour every second day",
        "one more jerrycan of fresh water, 20 L",
        "one more container for liquids, 10 L",
    ] {
        assert!(all.iter().any(|words| words == wanted), "{wanted} is missing in {all:#?}");
    }
    // The day of a single drive depends on when it is needed.
    let known = |w: &String| w.starts_with("drive for one hour on") || all.contains(w);
    assert!(words.iter().all(known), "{words:?}");
}

#[test]
fn a_place_a_later_day_typical_weather_and_guests_are_heard() {
    let rig = rig();
    let known = evening(&rig);
    let plain = verdict(&rig, &known, &request(3));
    let south = Request { place: Some(Spot::At { latitude: 36.0, longitude: 14.2 }), ..request(3) };
    let there = verdict(&rig, &known, &south);
    assert!(there.stocks[3].out < plain.stocks[3].out, "more sun did not help");
    assert!(there.stocks[6].start.mean < 0.01, "a new camp starts its count anew");
    let later = Request { from: Some(now() + chrono::Duration::days(1)), ..request(3) };
    assert!(verdict(&rig, &known, &later).probability <= plain.probability);
    let full = verdict(&rig, &known, &Request { fill_first: true, ..request(3) });
    assert!(full.probability >= plain.probability);
    assert_eq!(full.stocks[0].start.mean, 95.0);
    let typical = Request { weather: Weather::Typical, ..request(3) };
    assert_eq!(verdict(&rig, &known, &typical).probability, plain.probability);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    /// More water never shortens a stay, a guest never lengthens it, surer is never later. The
    /// guest's own warmth is left out: in the cold it spares heater and fan, and truly helps.
    #[test]
    fn what_can_only_help_helps(
        fresh in 30.0f64..90.0, more in 0.0f64..10.0, nights in 1u32..7, sure in 0.5f64..0.9,
    ) {
        let mut rig = rig();
        rig.parts.heating.as_mut().expect("it has a heater").person_w = 0.0;
        let levels = |fresh: f64| {
            [("fresh", fresh), ("grey", 30.0), ("liquids", 20.0), ("battery", 70.0),
             ("diesel", 60.0), ("gas", 50.0), ("nights here", 11.0)]
        };
        let known = plan_rig::with(&rig, &levels(fresh));
        let asked = Request { lives: 200, confidence: sure, ..request(nights) };
        let case = Case::of(&basis(&rig, &known), &asked, 24);
        let base = case.outcome();
        let track = case.track(&[(0, waystock::forecast::variants::LevelChange::By(more))]);
        let wetter = Outcome::of(case.run(&[track]).pop().unwrap(), &case);
        prop_assert!(wetter.first.iter().zip(&base.first).all(|(a, b)| a >= b));
        let crowd = Request { crew: Some(3.0), ..asked.clone() };
        let guest = Case::of(&basis(&rig, &known), &crowd, 24).outcome();
        let (with, without) = (guest.safe_hours(sure), base.safe_hours(sure));
        prop_assert!(with <= without + 1e-9, "{with} h with a guest, {without} h without");
        prop_assert!(base.safe_hours(sure + 0.09) <= base.safe_hours(sure));
        let longer = Request { nights: nights + 1, ..asked };
        let longer = Case::of(&basis(&rig, &known), &longer, 0).outcome();
        prop_assert!(longer.probability <= base.probability);
    }
}

/// A guest's warmth spares the heater, but nothing else: water, waste and every other stock that
/// heat does not move last no longer with one.
#[test]
fn a_guest_lengthens_no_stock_but_what_warmth_spares() {
    let rig = rig();
    assert!(rig.parts.heating.as_ref().is_some_and(|heating| heating.person_w > 0.0));
    let known = evening(&rig);
    let case = |crew: f64| {
        let asked = Request { crew: Some(crew), ..request(6) };
        Case::of(&basis(&rig, &known), &asked, 72).limits()
    };
    let (two, three) = (case(2.0), case(3.0));
    for (stock, name) in ["fresh", "grey", "liquids"].iter().enumerate() {
        assert_eq!(rig.parts.stocks[stock].name, *name);
        let sorted = |limits: &Outcome| {
            let mut hours = limits.lives.passages[stock].clone();
            hours.sort_unstable_by(f64::total_cmp);
            hours
        };
        let (alone, guest) = (sorted(&two), sorted(&three));
        assert!(guest.iter().zip(&alone).all(|(with, without)| with <= without), "{name}");
        assert!(guest[200] < alone[200] - 1.0, "{name}: a guest uses nothing");
    }
}

/// Ten thousand lives sharpen the probability; two thousand tell the rest.
#[test]
fn many_lives_say_the_same_more_sharply() {
    let rig = rig();
    let known = evening(&rig);
    let few = verdict(&rig, &known, &Request { lives: 2000, ..request(2) });
    let many = verdict(&rig, &known, &Request { lives: 10_000, ..request(2) });
    assert_eq!((few.lives, many.lives), (2000, 10_000));
    let error = 3.0 * (few.probability * (1.0 - few.probability) / 2000.0).sqrt();
    assert!((few.probability - many.probability).abs() <= error);
    assert_eq!(few.stocks, many.stocks);
}

/// Filling first gives the same limits, whether the levels are set before the lives begin or put
/// there on a track of their own.
#[test]
fn filling_first_is_the_same_on_both_ways_of_running_it() {
    let rig = rig();
    let known = plan_rig::evening(&rig);
    let asked = Request { fill_first: true, lives: 1500, ..request(4) };
    let case = Case::of(&basis(&rig, &known), &asked, 48);
    let (quick, carried) = (case.limits(), case.outcome());
    assert!(quick.probability > 0.05 && quick.probability < 0.999, "{}", quick.probability);
    assert!((quick.probability - carried.probability).abs() <= 0.002);
    let stocks = case.beliefs.mechanism.stocks().len();
    let electric = case.beliefs.mechanism.electric;
    for stock in (0..stocks).filter(|stock| Some(*stock) != electric) {
        for (a, b) in quick.lives.passages[stock].iter().zip(&carried.lives.passages[stock]) {
            // Levels are single-precision sums, taken in another order.
            assert!(a == b || (a - b).abs() < 1e-4, "{stock}: {a} {b}");
        }
    }
    let battery = electric.unwrap();
    let apart = |(a, b): (&f64, &f64)| a != b && (a - b).abs() > 0.02;
    let both = quick.lives.passages[battery].iter().zip(&carried.lives.passages[battery]);
    assert!(both.filter(|pair| apart(*pair)).count() <= 15);
}

/// What is said at first sight is final where it says yes or no, and near where it tells levels.
#[test]
fn a_first_look_says_what_the_whole_answer_says() {
    let rig = rig();
    let known = plan_rig::evening(&rig);
    for nights in [1, 2, 4] {
        let asked = Request { lives: 4000, ..request(nights) };
        let (first, look) = waystock::plan::stretch::first_look(&basis(&rig, &known), &asked);
        let mut closer = first.clone();
        waystock::plan::stretch::look_closer(&mut closer, look);
        assert_eq!((first.probability, first.works), (closer.probability, closer.works));
        assert_eq!(closer, verdict(&rig, &known, &asked));
        assert_eq!(first.before, None);
        assert_eq!(closer.before.is_none(), closer.works);
        for (first, closer) in first.stocks.iter().zip(&closer.stocks) {
            // What ends far from its limit spreads as far.
            let apart = (first.margin - closer.margin).abs();
            let near = 0.06 * (first.capacity + closer.margin.abs());
            assert!(apart < near, "{} {} {}", first.name, first.margin, closer.margin);
        }
        for (first, closer) in first.longest.iter().zip(&closer.longest) {
            assert!(first.nights.abs_diff(closer.nights) <= 1);
        }
    }
}

/// One evening, one date: what the forecast calls safe a stretch calls safe, and nothing that is said
/// contradicts the verdict.
#[test]
fn what_is_said_of_an_evening_agrees() {
    let rig = rig();
    let known = evening(&rig);
    let options = Options { lives: 400, ..Options::at(now()) };
    let forecast = evening_while(&rig, &known.0, &known.1, options, &|_| true).forecast;
    let safe = forecast.next.by.unwrap();
    for nights in 1..7 {
        let answer = ask(&rig, &known, &request(nights));
        let said = answer.safe_until.unwrap();
        let minutes = |from: Moment, to: Moment| (to - from).num_minutes().abs();
        let same = minutes(said, safe) == 0 || minutes(said, answer.until) <= 30;
        assert!(same, "{nights} nights: {said}, and {safe} by the forecast");
        assert_eq!(answer.works, said >= answer.until, "{nights} nights");
        assert_eq!(answer.longest[0].until, Some(said));
        assert_eq!(answer.works, answer.longest[0].nights >= nights, "{nights} nights");
        // Where it is known to work, as it is or after something, all that habit expects can be done.
        if answer.works || answer.afford_after != AffordAfter::Nothing {
            let none = answer.afford.iter().find(|afford| afford.most.is_none());
            assert!(none.is_none(), "{nights} nights: {none:?}");
        }
    }
}

/// Who knows no place is told of no stop, however short the stay falls.
#[test]
fn no_stop_is_offered_where_no_place_is_known() {
    let mut rig = rig();
    let known = evening(&rig);
    rig.places.clear();
    let answer = ask(&rig, &known, &request(25));
    let other = answer.otherwise.expect("so many nights are more than it lasts");
    assert_eq!(other.stop, None);
}

/// More tank that is named is enough, and a twentieth less of any of it is not, on the same lives.
#[test]
fn more_tank_is_enough_and_no_more() {
    let rig = rig();
    let known = evening(&rig);
    let named = (4..9).map(|nights| (request(nights), ask(&rig, &known, &request(nights))));
    let more = |answer: &Stretch| answer.otherwise.clone().map_or(Vec::new(), |other| other.carry);
    let (asked, answer) = named.into_iter().find(|(_, answer)| more(answer).len() > 1).unwrap();
    let more = more(&answer);
    let case = Case::of(&basis(&rig, &known), &asked, 0);
    let chance = |more: &[(usize, f64)]| {
        let carry =
            |(stock, amount): &(usize, f64)| Change::Carry { stock: *stock, amount: *amount };
        case.with(&more.iter().map(carry).collect::<Vec<_>>()).limits().probability
    };
    assert!(chance(&more) >= answer.confidence, "{more:?}");
    for place in 0..more.len() {
        let mut less = more.clone();
        less[place].1 -= answer.stocks[more[place].0].capacity / 20.0;
        assert!(chance(&less) < answer.confidence, "{less:?} of {more:?}");
    }
}
