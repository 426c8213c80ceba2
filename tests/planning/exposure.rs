//! Light levels, exposure times, and the speed that they allow.

#![expect(clippy::unwrap_used, reason = "a test ends at the first surprise")]

use crate::scene::{level_site, outcome, scenario};
use approx::{assert_abs_diff_eq, assert_relative_eq};
use obliquity_planning::light::*;
use obliquity_planning::motion::blur_speed_mps;
use obliquity_planning::*;
use std::sync::Arc;

const TOLERANCE: f64 = 1e-6; // values are printed to six decimals

/// Derived: log₂(N² / t · 100 / S), and log₂(E · 100 / 250). Memory: the constant 250 (ISO 2720).
#[test]
fn exposure_values_follow_their_definition() {
    assert_abs_diff_eq!(ev100_of_settings(16.0, 1.0 / 100.0, 100.0), 14.643856, epsilon = TOLERANCE);
    assert_abs_diff_eq!(ev100_of_settings(5.6, 1.0 / 1000.0, 100.0), 14.936638, epsilon = TOLERANCE);
    for (illuminance_lx, ev100) in [(100_000.0, 15.287712), (10_000.0, 11.965784), (3.4, 0.443607)] {
        assert_abs_diff_eq!(ev100_of_illuminance(illuminance_lx), ev100, epsilon = TOLERANCE);
    }
}

/// Derived: 16 / 2^15 = 1/2048 s, 16 / 2^12 = 1/256 s at f/4 and ISO 100; four times the speed, a quarter of the time.
#[test]
fn exposure_times_follow_the_exposure_value() {
    assert_abs_diff_eq!(exposure_time_s(15.0, 4.0, 100.0), 1.0 / 2048.0, epsilon = 1e-12); // exact powers of two
    assert_abs_diff_eq!(exposure_time_s(12.0, 4.0, 100.0), 1.0 / 256.0, epsilon = 1e-12);
    assert_abs_diff_eq!(exposure_time_s(12.0, 4.0, 400.0), 1.0 / 1024.0, epsilon = 1e-12);
    let again = ev100_of_settings(5.6, exposure_time_s(13.7, 5.6, 250.0), 250.0);
    assert_abs_diff_eq!(again, 13.7, epsilon = 1e-12); // one there and back in double precision
}

/// Derived: the model is continuous at the horizon, grows with the sun, meets the twilight's end, and full sun is about
/// the photographers' exposure value 15 (Memory), overcast skies being two steps and more below it.
#[test]
fn estimated_daylight_is_sensible() {
    let lx = |sky, deg: f64| daylight_lx(sky, deg.to_radians());
    for sky in [Sky::Clear, Sky::Overcast] {
        // the sky's part rises with the root of the sine: 1e-9° above the horizon it has grown by 0.07 lx
        assert_abs_diff_eq!(lx(sky, 1e-9).unwrap(), lx(sky, -1e-9).unwrap(), epsilon = 0.1);
        assert_abs_diff_eq!(lx(sky, -6.0 + 1e-9).unwrap(), 3.4, epsilon = 1e-6);
        assert_eq!(lx(sky, -6.01), None);
        let rising: Vec<f64> = (-59..=900).map(|tenth| lx(sky, f64::from(tenth) / 10.0).unwrap()).collect();
        assert!(rising.windows(2).all(|pair| pair[0] < pair[1]), "{sky:?}");
    }
    let ev = |sky, deg| ev100_of_illuminance(lx(sky, deg).unwrap());
    // a third of a step either side: as near as aperture rings are marked
    assert_abs_diff_eq!(ev(Sky::Clear, 50.0), 15.0, epsilon = 1.0 / 3.0);
    assert!(ev(Sky::Clear, 40.0) - ev(Sky::Overcast, 40.0) > 2.0);
}

fn metered(ev100: f64, metering: Option<Metering>) -> Scenario {
    let mut scenario = scenario(level_site(&[(0.0, 0.0), (300.0, 0.0), (300.0, 200.0), (0.0, 200.0)]), 80.0);
    scenario.conditions.light = Some(LightLevel::Metered { ev100 });
    Arc::make_mut(&mut scenario.equipment).aircraft[0].camera.metering = metering;
    scenario
}

const F4: Metering = Metering { f_number: 4.0, iso: 100.0, shortest_s: 1.0 / 4000.0 };

/// Derived: at EV 12, f/4 and ISO 100 the time is 1/256 s; half a pixel of 80 m / 3648 px then allows 2.807 m/s, less
/// than every other bound.
#[test]
fn the_light_bounds_the_speed() {
    let dim = outcome(&metered(12.0, Some(F4)), 10, Depth::Quick);
    let speed = dim.passes[0].plan.speed;
    let expected_mps = blur_speed_mps(0.5, 80.0 / 3648.0, 1.0 / 256.0);
    assert_relative_eq!(speed.blur_mps, expected_mps, max_relative = 1e-12); // the same few operations
    assert_eq!((speed.speed_mps, speed.bound_by), (speed.blur_mps, SpeedBound::Blur));
    let exposure = dim.exposure.unwrap();
    assert_eq!((exposure.exposure_s, exposure.bound_by), (1.0 / 256.0, ExposureBound::Light));
    assert_eq!((exposure.source, exposure.darkest_ev100), (LightSource::Metered, Some(12.0)));
}

/// Derived: at EV 17 the light asks for 1/8192 s, but the shutter does no less than 1/4000 s.
#[test]
fn the_shutter_bounds_the_exposure() {
    let bright = outcome(&metered(17.0, Some(F4)), 10, Depth::Quick);
    let exposure = bright.exposure.unwrap();
    assert_eq!((exposure.exposure_s, exposure.bound_by), (1.0 / 4000.0, ExposureBound::ShortestTime));
    let camera = Camera { metering: Some(F4), ..crate::scene::aircraft().camera };
    assert_eq!(camera.exposure_s_in(17.0), 1.0 / 4000.0);
    assert_eq!(crate::scene::aircraft().camera.exposure_s_in(17.0), 1.0 / 1600.0, "its own without settings");
}

/// Derived: one input alone says nothing about the exposure: every figure is that of a scenario without both, to the
/// last bit.
#[test]
fn without_the_settings_or_the_light_nothing_changes() {
    let mut plain = metered(12.0, None);
    plain.conditions.light = None;
    let mut unlit = metered(12.0, Some(F4));
    unlit.conditions.light = None;
    for strategy in [10, 20, 30, 40] {
        let expected = outcome(&plain, strategy, Depth::Quick);
        assert_eq!(expected.exposure, Err(NoExposure::NoLevel));
        let dark = outcome(&unlit, strategy, Depth::Quick);
        assert_eq!(dark, expected);
        let unknown = outcome(&metered(12.0, None), strategy, Depth::Quick);
        assert_eq!(unknown.exposure, Err(NoExposure::NoSettings));
        assert_eq!(Outcome { exposure: Err(NoExposure::NoLevel), ..unknown }, expected);
    }
}

/// Derived: a store that has seen one light gives another light its own plan.
#[test]
fn a_kept_plan_is_not_used_for_another_light() {
    let store = Store::new(1 << 24);
    let evaluator = Evaluator { store: &store, watch: &NoWatch };
    let speed = |ev100: f64| {
        let outcome = evaluator.evaluate(&metered(ev100, Some(F4)), Id(10), Depth::Quick).unwrap();
        outcome.passes[0].plan.speed.blur_mps
    };
    let (dim, bright) = (speed(11.0), speed(12.0));
    assert_relative_eq!(bright / dim, 2.0, max_relative = 1e-12); // one step is twice the light
    assert_eq!(speed(11.0), dim);
}

/// Derived: by the sun, the light is that of its elevation at the first take-off, and the darkest that at landing where
/// it sinks; without a mission the reason is that of the light.
#[test]
fn the_light_can_follow_the_sun() {
    let mut scenario = metered(12.0, Some(F4));
    scenario.conditions.light = Some(LightLevel::BySun { sky: Sky::Clear });
    let unknown = outcome(&scenario, 10, Depth::Quick);
    assert_eq!(unknown.exposure, Err(NoExposure::NoSun(NoLight::NoMission)));
    Arc::make_mut(&mut scenario.site).origin = Some(GeoPoint { latitude_deg: 48.0, longitude_deg: 11.0 });
    let mission = |hour| Mission {
        date: LocalDate { year: 2025, month: 12, day: 21 },
        arrival: LocalClock { hour, minute: 30 },
        zone: SiteZone::Offset { minutes: 60 },
    };
    scenario.conditions.mission = Some(mission(14));
    let found = outcome(&scenario, 10, Depth::Quick);
    let (light, exposure) = (found.light.unwrap(), found.exposure.unwrap());
    let ev100 = |sun: &SunPosition| ev100_of_illuminance(daylight_lx(Sky::Clear, sun.elevation_rad).unwrap());
    assert_eq!(exposure.ev100, ev100(&light.at_take_off));
    assert_eq!(exposure.darkest_ev100, Some(ev100(&light.at_landing)));
    assert!(exposure.darkest_ev100.unwrap() < exposure.ev100, "the sun sinks in the afternoon");
    assert_eq!(exposure.exposure_s, exposure_time_s(exposure.ev100, 4.0, 100.0));
    scenario.conditions.mission = Some(mission(20));
    assert_eq!(outcome(&scenario, 10, Depth::Quick).exposure, Err(NoExposure::TooDark));
}

#[test]
fn settings_out_of_range_are_told_with_their_place() {
    let odd = Metering { f_number: 0.1, iso: 3.0, shortest_s: 2.0 };
    let mut scenario = metered(40.0, Some(odd));
    let paths: Vec<String> = scenario.faults().into_iter().map(|fault| fault.path).collect();
    let camera = "equipment.aircraft[0].camera.metering";
    let fields = ["f_number", "iso", "shortest_s"].map(|field| format!("{camera}.{field}"));
    assert_eq!(paths, [&fields[..], &["conditions.light.ev100".to_owned()]].concat());
    scenario = metered(12.0, Some(F4));
    assert_eq!(scenario.faults(), []);
}

/// Derived: 2.44 λ N at 550 nm and f/5.6 on pixels of 2.4123 µm; f²/(N c) + f for 8.8 mm, f/5.6, 5 µm.
#[test]
fn diffraction_and_focus_follow_the_closed_forms() {
    let disc_px = light::diffraction_disc_m(550e-9, 5.6) / 2.4123e-6;
    assert_abs_diff_eq!(disc_px, 3.1154, epsilon = 5e-5); // printed to four decimals
    assert_abs_diff_eq!(light::hyperfocal_m(8.8e-3, 5.6, 5e-6), 2.774514, epsilon = TOLERANCE);
}
