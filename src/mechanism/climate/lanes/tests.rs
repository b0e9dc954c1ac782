use super::*;
use crate::domain::rig::{Chemistry, Electrics, Fridge, Heating, Panel};
use crate::mechanism::Mechanism;
use crate::mechanism::climate::HourWeather;
use proptest::prelude::*;

fn panel(tilt_deg: f64) -> Panel {
    Panel {
        rated_w: 330.0,
        tilt_deg,
        facing_deg: 170.0,
        factor: 0.7,
        factor_spread: 0.1,
        per_kelvin: -0.004,
    }
}

fn kit(tilts: &[f64], heats: bool) -> (Kit, Electrics) {
    let electrics = Electrics {
        store: "battery".into(),
        volts: 12.8,
        chemistry: Chemistry::Lithium,
        charge_efficiency: 0.96,
        discharge_efficiency: 0.98,
        no_charge_below_c: Some(1.0),
        charge_limit_w: Some(200.0),
        peukert: 1.0,
        rated_hours: 20.0,
        panels: tilts.iter().map(|tilt| panel(*tilt)).collect(),
        inverter: None,
        fridge: Some(Fridge { mean_w: 20.0, per_kelvin: 0.04, spread: 0.3 }),
        standing_w: 6.0,
        standing_spread: 0.5,
    };
    let heating = Heating {
        burns: heats.then(|| "diesel".to_string()),
        wh_per_unit: 10_025.0,
        efficiency: 0.8,
        output_w: 2000.0,
        lowest_w: 800.0,
        fan_w: 25.0,
        start_wh: 6.0,
        draw_spread: 0.4,
        ua_w_per_k: 30.0,
        ua_spread: 0.3,
        day_c: 19.0,
        night_c: 12.0,
        night_from: 22,
        night_to: 7,
        person_w: 90.0,
        sun_gain_m2: 0.5,
    };
    let mut mechanism = Mechanism::of(&Default::default());
    mechanism.parts.heating = Some(heating);
    let kit = Kit {
        heater: mechanism.parts.heating.as_ref().map(Heating::heater),
        heating: mechanism.parts.heating.clone(),
        burns: heats,
        electrics: Some(electrics.clone()),
        idle_w: 9.0,
        per_kelvin: -0.004,
        rate: None,
        lanes: KitLanes::default(),
    };
    (Kit { lanes: KitLanes::of(&kit), ..kit }, electrics)
}

proptest! {
    /// A lane says what the hour of a single life says, to single precision.
    #[test]
    fn a_lane_is_an_hour(
        low_sun in any::<bool>(), tilted in any::<bool>(), heats in any::<bool>(),
        outside_c in -25.0..35.0_f64, offset_k in -6.0..6.0_f64, clearness in 0.0..1.2_f64,
        hour in 0usize..24, people in 0u8..4, factor in 0.3..1.0_f64, loss in 8.0..70.0_f64,
        draw in 0.3..2.0_f64,
    ) {
        let (kit, electrics) = kit(if tilted { &[0.0, 40.0] } else { &[0.0] }, heats);
        let (clear_w_m2, zenith_deg) = if low_sun { (90.0, 82.0) } else { (720.0, 42.0) };
        let sky = physics::sun::SunHour {
            clear_w_m2, zenith_deg, azimuth_deg: 140.0, extraterrestrial_normal_w_m2: 1380.0,
        };
        let sun = SunHour::of(&sky, Some(&electrics));
        let values = ClimateValues {
            panel_factor: factor, fridge_w: 18.0, standing_w: 7.0, loss_w_per_k: loss,
            heater_draw: draw,
        };
        let people = f64::from(people);
        let weather = HourWeather { outside_c: outside_c + offset_k, clearness };
        let one = kit.hour(hour, people, weather, &sun, &values);
        let mut day = DayLanes::default();
        day.put(5, offset_k, clearness);
        let lanes = ValueLanes::of(std::iter::repeat_n(values, LANES));
        let shared = kit.shared(hour, people, outside_c, &sun);
        let flow = match tilted {
            true => kit.lanes.lane::<TILTED>(&shared, &day, &lanes, 5),
            false => kit.lanes.lane::<LEVEL>(&shared, &day, &lanes, 5),
        };
        let near = |lane: f32, one: f64| (f64::from(lane) - one).abs() <= 2e-4 * one.abs().max(1.0);
        prop_assert!(near(flow.fuel, one.fuel), "{} {}", flow.fuel, one.fuel);
        prop_assert!(near(flow.load_wh, one.load_wh), "{} {}", flow.load_wh, one.load_wh);
        let mut flows = FlowLanes::default();
        kit.hour_lanes(&shared, &day, &lanes, &mut flows, |_, load_wh, _| -load_wh);
        let short = kit.short_k(&shared, &lanes, &flows.wanted_w, &[false; LANES]);
        prop_assert!(near(short[5], one.unmet_heat_wh / loss), "{}", short[5]);
        let bare = kit.short_k(&shared, &lanes, &flows.wanted_w, &[true; LANES])[5];
        let given = one.fuel * 0.8 * 10_025.0;
        prop_assert!(near(bare, (one.unmet_heat_wh + given) / loss), "{bare}");
        // At the very edge of freezing the two may decide differently.
        if (one.inside_c - 1.0).abs() > 1e-3 {
            let (lane, one_offers) = (flow.offered_wh, one.offered_wh);
            prop_assert!(near(lane, one_offers), "{lane} {one_offers}");
            let takes = flow.accepts > 0.0;
            prop_assert!(one_offers == 0.0 || takes == one.charges, "{takes}");
            let net_wh = one.stored_wh(Some(&electrics)) - one.load_wh;
            prop_assert!(near(flows.net_wh[5], net_wh), "{} {net_wh}", flows.net_wh[5]);
        }
    }
}
