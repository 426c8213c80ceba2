//! Where the sun stands, when it rises and sets by the site's clock, and what lies in shade.

#![expect(clippy::unwrap_used, reason = "a test ends at the first surprise")]

use crate::scene::{level_site, outcome, ring, scenario, tower};
use approx::assert_abs_diff_eq;
use glam::DVec3;
use obliquity_planning::light::*;
use obliquity_planning::*;
use proptest::prelude::*;
use std::sync::Arc;

/// Most that the sun moves in a millisecond, to which passages are searched for: 360° a day.
const MILLISECOND_DEG: f64 = 4.2e-6;
const GREENWICH: SiteZone = SiteZone::Offset { minutes: 0 };
/// The mountain standard time of the published cases.
const MOUNTAIN: SiteZone = SiteZone::Offset { minutes: -420 };

fn named(name: &str) -> SiteZone {
    SiteZone::Named { name: name.to_owned() }
}

fn place(latitude_deg: f64, longitude_deg: f64) -> GeoPoint {
    GeoPoint { latitude_deg, longitude_deg }
}

fn date(year: i16, month: u8, day: u8) -> LocalDate {
    LocalDate { year, month, day }
}

fn utc_s(zone: &SiteZone, day: LocalDate, hour: u8, minute: u8, second: f64) -> f64 {
    Zone::new(zone).unwrap().utc_s(day, LocalClock { hour, minute }).unwrap() + second
}

/// The place of the published example.
const GOLDEN: Observer = Observer {
    place: GeoPoint { latitude_deg: 39.742476, longitude_deg: -105.1786 },
    height_m: 1830.14,
    delta_t_s: 67.0,
    air: Some(SkyAir { pressure_hpa: 820.0, temperature_c: 11.0 }),
};

fn day(observer: Observer, zone: &SiteZone, day: LocalDate) -> DayLight {
    DayLight::new(observer, Zone::new(zone).unwrap(), day, TwilightRule::SunSixBelow).unwrap()
}

fn day_at(at: GeoPoint, zone: &SiteZone, on: LocalDate, rule: TwilightRule) -> DayLight {
    DayLight::new(Observer::on_date(at, on).unwrap(), Zone::new(zone).unwrap(), on, rule).unwrap()
}

/// Seconds from local midnight.
fn clock_s(hour: i32, minute: i32, second: i32) -> f64 {
    f64::from((hour * 60 + minute) * 60 + second)
}

/// Source: Reda & Andreas, NREL/TP-560-34302, app. A.5: zenith, azimuth, incidence on a surface tilted by 30° and
/// turned by −10° from the south, with the declination and the refraction that it prints beside them.
#[test]
fn the_sun_matches_reda_andreas_2003() {
    let at_s = utc_s(&MOUNTAIN, date(2003, 10, 17), 12, 30, 30.0);
    let tolerance_deg = 2e-6; // printed to six decimals; an instant in double precision is worth 0.2e-6
    let sun = GOLDEN.sun(at_s).unwrap();
    assert_abs_diff_eq!(90.0 - sun.elevation_rad.to_degrees(), 50.111622, epsilon = tolerance_deg);
    assert_abs_diff_eq!(sun.azimuth_rad.to_degrees(), 194.340241, epsilon = tolerance_deg);
    let geometric = Observer { air: None, ..GOLDEN }.sun(at_s).unwrap();
    assert_abs_diff_eq!(90.0 - geometric.elevation_rad.to_degrees(), 50.127954, epsilon = tolerance_deg);
    let refraction_rad = sun.elevation_rad - geometric.elevation_rad;
    assert_abs_diff_eq!(refraction_rad.to_degrees(), 0.016332, epsilon = tolerance_deg);
    // the source turns from the south, positive to the west: −10° faces south-south-east
    let (slope_rad, faces_rad) = (30_f64.to_radians(), 170_f64.to_radians());
    let normal =
        DVec3::new(slope_rad.sin() * faces_rad.sin(), slope_rad.sin() * faces_rad.cos(), slope_rad.cos());
    assert_abs_diff_eq!(sun.incidence_rad(normal).to_degrees(), 25.187000, epsilon = tolerance_deg);
}

/// Source: the same report's sunrise and sunset. The sunset that it prints is the one at 00:20:19 UT on the 17th, the
/// evening of the 16th by the site's clock; the local day of the 17th ends with the next one, 17:18:51.
/// Cross-check: pvlib's SPA for that one.
#[test]
fn the_day_is_the_local_one_and_both_sunsets_match() {
    let tolerance_s = 1.0; // printed to whole seconds
    let (before, on) = (date(2003, 10, 16), date(2003, 10, 17));
    let sixteenth = day(GOLDEN, &MOUNTAIN, before);
    let seventeenth = day(GOLDEN, &MOUNTAIN, on);
    let set_s = |day: &DayLight| day.sun.set_s().unwrap() - day.from_s;
    assert_abs_diff_eq!(set_s(&sixteenth), clock_s(17, 20, 19), epsilon = tolerance_s);
    assert_abs_diff_eq!(set_s(&seventeenth), clock_s(17, 18, 51), epsilon = tolerance_s);
    let rise_s = seventeenth.sun.rise_s().unwrap() - seventeenth.from_s;
    assert_abs_diff_eq!(rise_s, clock_s(6, 12, 43), epsilon = tolerance_s);
    let local = seventeenth.zone.local(seventeenth.sun.set_s().unwrap()).unwrap();
    assert_eq!((local.date, local.hour_minute()), (on, "17:18".to_owned()));

    let geometric = Observer { air: None, ..GOLDEN };
    for (on, zenith_deg) in [(before, 90.835), (on, 91.110)] {
        let sun = geometric.sun(utc_s(&MOUNTAIN, on, 17, 20, 19.0)).unwrap();
        // printed to three decimals
        assert_abs_diff_eq!(90.0 - sun.elevation_rad.to_degrees(), zenith_deg, epsilon = 6e-4);
    }
}

/// Source: NREL/TP-560-34302, table A2.1: rise and set at the Greenwich meridian, UT.
#[test]
fn rise_and_set_match_reda_andreas_2003() {
    let cases = [
        (-35.0, date(1996, 7, 5), (7, 8, 15), (17, 1, 4)),
        (-35.0, date(2004, 12, 4), (4, 38, 57), (19, 2, 2)),
        (35.0, date(1994, 1, 2), (7, 8, 12), (16, 59, 55)),
    ];
    for (latitude_deg, on, rise, set) in cases {
        let observer =
            Observer { place: place(latitude_deg, 0.0), height_m: 0.0, delta_t_s: 64.0, air: None };
        let day = day(observer, &GREENWICH, on);
        let tolerance_s = 1.0; // printed to whole seconds
        let from_midnight = |utc_s: Option<f64>| utc_s.unwrap() - day.from_s;
        assert_abs_diff_eq!(
            from_midnight(day.sun.rise_s()),
            clock_s(rise.0, rise.1, rise.2),
            epsilon = tolerance_s
        );
        assert_abs_diff_eq!(
            from_midnight(day.sun.set_s()),
            clock_s(set.0, set.1, set.2),
            epsilon = tolerance_s
        );
    }
}

/// Source: U.S. Naval Observatory's tables as pvlib's tests hold them: 39° N 105° W in mountain standard time, and
/// 39.917° N 116.383° E in UTC+8, here by the zone's own clock.
#[test]
fn rise_and_set_match_the_naval_observatory() {
    let days = [(1, 2), (4, 2), (8, 2), (12, 2)];
    let west = [((7, 19), (16, 49)), ((5, 43), (18, 24)), ((5, 1), (19, 10)), ((7, 1), (16, 38))];
    let east = [((7, 36), (17, 0)), ((5, 58), (18, 39)), ((5, 13), (19, 28)), ((7, 17), (16, 50))];
    let places =
        [(place(39.0, -105.0), MOUNTAIN, west), (place(39.917, 116.383), named("Asia/Shanghai"), east)];
    for (at, zone, times) in places {
        for ((month, number), (rise, set)) in days.into_iter().zip(times) {
            let day = day_at(at, &zone, date(2015, month, number), TwilightRule::SunSixBelow);
            let tolerance_s = 60.0; // printed to whole minutes, and the tables' own model is another
            assert_abs_diff_eq!(
                day.sun.rise_s().unwrap() - day.from_s,
                clock_s(rise.0, rise.1, 0),
                epsilon = tolerance_s
            );
            assert_abs_diff_eq!(
                day.sun.set_s().unwrap() - day.from_s,
                clock_s(set.0, set.1, 0),
                epsilon = tolerance_s
            );
        }
    }
}

/// Derived: the same sunrise shows an hour later on a clock that keeps summer time (from the second Sunday of March,
/// as the time zone database has it for the mountain zone), and the day of the change has 23 hours.
#[test]
fn a_named_zone_keeps_summer_time() {
    let (at, denver) = (place(39.0, -105.0), named("America/Denver"));
    let shown = |zone: &SiteZone, on: LocalDate| {
        let day = day_at(at, zone, on, TwilightRule::SunSixBelow);
        day.zone.local_to_minute(day.sun.rise_s().unwrap()).unwrap()
    };
    let (standard, summer) = (shown(&MOUNTAIN, date(2015, 8, 2)), shown(&denver, date(2015, 8, 2)));
    assert_eq!((standard.hour + 1, standard.minute), (summer.hour, summer.minute));
    assert_eq!((standard.utc_offset_min, summer.utc_offset_min), (-420, -360));
    assert_eq!(shown(&denver, date(2015, 1, 2)), shown(&MOUNTAIN, date(2015, 1, 2)));
    let (from_s, to_s) = Zone::new(&denver).unwrap().day_s(date(2015, 3, 8)).unwrap();
    assert_abs_diff_eq!(to_s - from_s, 23.0 * 3600.0);
}

/// Cross-check: the low-precision formulas of Meeus, zenith 90.833° and 96°, computed with NumPy.
#[test]
fn civil_twilight_agrees_with_the_low_precision_formulas() {
    let cases = [
        (place(51.4779, 0.0), date(2025, 6, 21), [(3, 42, 47), (20, 20, 57), (2, 55, 5), (21, 8, 39)]),
        (place(48.8566, 2.3522), date(2025, 12, 21), [(7, 41, 23), (15, 56, 11), (7, 4, 5), (16, 33, 30)]),
        (place(60.0, 25.0), date(2025, 4, 1), [(3, 44, 56), (17, 4, 9), (3, 2, 7), (17, 47, 14)]),
    ];
    for (at, on, times) in cases {
        let day = day_at(at, &GREENWICH, on, TwilightRule::SunSixBelow);
        let found = [day.sun.rise_s(), day.sun.set_s(), day.civil.rise_s(), day.civil.set_s()];
        for (found, (hour, minute, second)) in found.into_iter().zip(times) {
            // the low-precision formulas are good to some seconds
            assert_abs_diff_eq!(found.unwrap() - day.from_s, clock_s(hour, minute, second), epsilon = 10.0);
        }
    }
}

/// Source: the definitions: sunrise and sunset with the centre 34' + 16' below the horizon (from memory) and, seen from
/// the surface, its parallax of 8.794" lower, as Reda & Andreas have it; civil twilight with it 6° below.
#[test]
fn passages_stand_at_the_defined_elevations() {
    let day = day_at(place(48.0, 11.0), &named("Europe/Berlin"), date(2025, 4, 1), TwilightRule::SunSixBelow);
    let passages = [(day.sun, -50.0 / 60.0 - 8.794 / 3600.0), (day.civil, -6.0)];
    for (course, elevation_deg) in passages {
        for at_s in [course.rise_s().unwrap(), course.set_s().unwrap()] {
            let sun = day.observer.sun(at_s).unwrap();
            assert_abs_diff_eq!(sun.elevation_rad.to_degrees(), elevation_deg, epsilon = MILLISECOND_DEG);
        }
    }
    // at noon the sun stands south, but for its drift in declination
    let noon = day.observer.sun(day.noon_s.unwrap()).unwrap();
    assert_abs_diff_eq!(noon.azimuth_rad.to_degrees(), 180.0, epsilon = 0.01);
}

/// Source: 14 CFR 107.29(c): 30 minutes before sunrise and after sunset; elsewhere the sun's centre 6° below.
#[test]
fn twilight_follows_the_law_of_the_place() {
    use LightPeriod::{CivilTwilight, Daylight, Night};
    let (at, on) = (place(60.0, 25.0), date(2025, 4, 1));
    assert_eq!(TwilightRule::of(HeightRule::UsPart107), TwilightRule::ThirtyMinutes);
    assert_eq!(TwilightRule::of(HeightRule::EuOpen), TwilightRule::SunSixBelow);
    let by_clock = day_at(at, &GREENWICH, on, TwilightRule::ThirtyMinutes);
    let by_sun = day_at(at, &GREENWICH, on, TwilightRule::SunSixBelow);
    let rise_s = by_clock.sun.rise_s().unwrap();
    let expected = [
        (rise_s - 1801.0, LightPeriod::Night),
        (rise_s - 1799.0, LightPeriod::CivilTwilight),
        (rise_s + 1.0, LightPeriod::Daylight),
    ];
    for (at_s, period) in expected {
        assert_eq!(by_clock.period(at_s), Some(period));
    }
    // twilight by the sun lasts 43 minutes here
    assert_eq!(by_sun.period(rise_s - 1801.0), Some(LightPeriod::CivilTwilight));
    let order: Vec<LightPeriod> = by_sun.periods.iter().map(|span| span.period).collect();
    assert_eq!(order, [Night, CivilTwilight, Daylight, CivilTwilight, Night]);
}

/// Cross-check: the solar position algorithm of solar-positioning 0.7, from the beginning of a day of 25 hours to its
/// end and beyond.
#[test]
fn the_suns_path_agrees_with_the_algorithm() {
    for at in [place(48.0, 11.0), place(-1.0, 11.0), place(89.0, 11.0)] {
        let day = day_at(at, &named("Europe/Berlin"), date(2025, 10, 26), TwilightRule::SunSixBelow);
        assert_abs_diff_eq!(day.to_s - day.from_s, 25.0 * 3600.0);
        for step in 0..=260 {
            let at_s = day.from_s + f64::from(step) * 347.0;
            let between = day.sun(at_s).unwrap().direction();
            let off_rad = between.distance(day.observer.sun(at_s).unwrap().direction());
            // 3/128 of the fourth power of 2.5°, and the rounding of an instant
            assert_abs_diff_eq!(off_rad.to_degrees(), 0.0, epsilon = 1e-5);
        }
    }
}

/// Derived: within the polar circle the sun stays up about midsummer and down about midwinter; there is still civil
/// twilight at 69.6° N about midwinter, and no window without the sun.
#[test]
fn polar_days_and_nights_have_no_sunset_and_no_panic() {
    let (north, oslo_time) = (place(69.6, 18.9), named("Europe/Oslo"));
    let summer = day_at(north, &oslo_time, date(2025, 6, 21), TwilightRule::ThirtyMinutes);
    assert_eq!(summer.sun, SunCourse::StaysAbove);
    assert_eq!((summer.sun.rise_s(), summer.civil), (None, SunCourse::StaysAbove));
    assert!(summer.periods.iter().all(|span| span.period == LightPeriod::Daylight));
    let winter = day_at(north, &oslo_time, date(2025, 12, 21), TwilightRule::SunSixBelow);
    assert_eq!((winter.sun, winter.window), (SunCourse::StaysBelow, None));
    assert!(matches!(winter.civil, SunCourse::Passes { rise_s: Some(_), set_s: Some(_) }));
    let pole = day_at(place(90.0, 0.0), &GREENWICH, date(2025, 12, 21), TwilightRule::SunSixBelow);
    assert_eq!((pole.sun, pole.civil), (SunCourse::StaysBelow, SunCourse::StaysBelow));
}

/// Practice: the sun at least 30° high, three hours from sunrise and sunset or so; around noon where it never is.
#[test]
fn the_window_follows_common_practice() {
    let spring =
        day_at(place(48.0, 11.0), &named("Europe/Berlin"), date(2025, 4, 15), TwilightRule::SunSixBelow);
    let window = spring.window.unwrap();
    assert_eq!(window.basis, WindowBasis::SunAboveThirty);
    for at_s in [window.from_s, window.to_s] {
        assert_abs_diff_eq!(
            spring.observer.sun(at_s).unwrap().elevation_rad.to_degrees(),
            30.0,
            epsilon = MILLISECOND_DEG
        );
    }
    // the rule of thumb and the elevation agree within half an hour about the equinox at middle latitudes
    assert_abs_diff_eq!(window.from_s - spring.sun.rise_s().unwrap(), 3.0 * 3600.0, epsilon = 1800.0);
    assert_abs_diff_eq!(spring.sun.set_s().unwrap() - window.to_s, 3.0 * 3600.0, epsilon = 1800.0);
    let winter =
        day_at(place(48.0, 11.0), &named("Europe/Berlin"), date(2025, 12, 21), TwilightRule::SunSixBelow);
    let window = winter.window.unwrap();
    assert_eq!(window.basis, WindowBasis::AroundNoon);
    assert_abs_diff_eq!(f64::midpoint(window.from_s, window.to_s), winter.noon_s.unwrap(), epsilon = 1e-3);
}

/// Derived: 10 m / tan(elevation).
#[test]
fn shadows_follow_the_tangent() {
    for (elevation_deg, length_m) in [(30.0_f64, 17.320508), (45.0, 10.0), (60.0, 5.773503)] {
        let shadow_m = shadow_length_m(10.0, elevation_deg.to_radians()).unwrap();
        assert_abs_diff_eq!(shadow_m, length_m, epsilon = 1e-6); // printed to six decimals
    }
    assert_eq!(shadow_length_m(10.0, 0.0), None);
    assert_eq!(shadow_length_m(10.0, -0.1), None);
}

/// A field in the northern Alps' foreland with a slab that stands north of a tower, flown about the local noon.
fn noon_scenario() -> Scenario {
    let mut site = level_site(&[(0.0, 0.0), (300.0, 0.0), (300.0, 200.0), (0.0, 200.0)]);
    site.origin = Some(place(48.0, 11.0));
    let slab =
        Structure { id: Id(2), name: "Slab".to_owned(), ..tower((100.0, 100.0), (140.0, 110.0), 10.0) };
    site.structures = vec![tower((110.0, 80.0), (130.0, 90.0), 30.0), slab];
    let mut scenario = scenario(site, 80.0);
    scenario.conditions.mission = Some(Mission {
        date: date(2025, 12, 21),
        arrival: LocalClock { hour: 11, minute: 55 },
        zone: named("Europe/Berlin"),
    });
    scenario
}

/// Derived: about noon in winter, at 48° N, the sun stands in the south, 18.5° high: the north walls of both lie in
/// shade by facing, the tower's south wall in the sun, and the slab's south wall in the tower's shadow of 90 m.
#[test]
fn walls_lie_in_shade_by_facing_and_by_what_stands_before_them() {
    let scenario = noon_scenario();
    let light = outcome(&scenario, 10, Depth::Quick).light.unwrap();
    let shades = structure_shades(&SiteOutline::new(&scenario.site).unwrap(), &light).unwrap();
    let wall = |structure: usize, facing_deg: f64| {
        let facing = |w: &&WallShade| (w.facing_rad.to_degrees() - facing_deg).abs() < 1e-6;
        shades[structure].walls.iter().find(facing).unwrap()
    };
    let all_day = |w: &WallShade, cause: ShadeCause| {
        assert_eq!(w.shade.len(), 1, "{w:?}");
        assert_eq!(w.shade[0].cause, cause);
        assert_abs_diff_eq!(w.shaded_ratio, 1.0, epsilon = 1e-9); // a ratio of sums of the same parts
    };
    all_day(wall(0, 0.0), ShadeCause::FacesAway);
    all_day(wall(1, 0.0), ShadeCause::FacesAway);
    all_day(wall(1, 180.0), ShadeCause::Cast);
    assert_eq!(wall(0, 180.0).shade, []);
    assert_eq!(shades[0].cast, CastShade::Included);

    let elevation_rad = light.at_middle.elevation_rad;
    assert_abs_diff_eq!(shades[0].at_middle.unwrap().length_m, 30.0 / elevation_rad.tan(), epsilon = 1e-9);
    let longest_m = shades[0].longest.unwrap().length_m;
    for shadow in [shades[0].at_take_off, shades[0].at_middle, shades[0].at_landing] {
        assert!(longest_m >= shadow.unwrap().length_m);
    }
    let away_deg = shades[0].at_middle.unwrap().towards_rad.to_degrees();
    assert_abs_diff_eq!(away_deg, (light.at_middle.azimuth_rad.to_degrees() + 180.0) % 360.0, epsilon = 1e-9);
}

/// Derived: an east wall is lit until the sun passes the north-south plane, and a west wall from then on, within half
/// of the five minutes between two looks.
#[test]
fn east_and_west_walls_change_places_at_noon() {
    let scenario = noon_scenario();
    let light = outcome(&scenario, 30, Depth::Quick).light.unwrap();
    let noon_s = light.day.noon_s.unwrap();
    let tower = &structure_shades(&SiteOutline::new(&scenario.site).unwrap(), &light).unwrap()[0];
    assert!((light.take_off_s..light.landing_s).contains(&noon_s), "the flight spans noon");
    let shade = |facing_deg: f64| {
        let facing = |w: &&WallShade| (w.facing_rad.to_degrees() - facing_deg).abs() < 1e-6;
        let found = &tower.walls.iter().find(facing).unwrap().shade;
        assert_eq!((found.len(), found[0].cause), (1, ShadeCause::FacesAway));
        found[0]
    };
    let (east, west) = (shade(90.0), shade(270.0));
    assert_abs_diff_eq!(east.from_s, noon_s, epsilon = 150.0);
    assert_abs_diff_eq!(west.to_s, noon_s, epsilon = 150.0);
    assert_abs_diff_eq!(east.to_s, light.landing_s, epsilon = 1e-3); // sums of parts at 1.8e9 s
    assert_abs_diff_eq!(west.from_s, light.take_off_s, epsilon = 1e-3);
}

/// Derived: an arrival at 11:55 with 15 minutes of set-up takes off at 12:10 by the site's clock, 11:10 UTC in winter,
/// and lands when flight and swaps are over; three control points of six minutes come before.
#[test]
fn the_light_follows_the_missions_clock() {
    let mut scenario = noon_scenario();
    let plain = outcome(&scenario, 10, Depth::Quick);
    let light = plain.light.unwrap();
    assert_eq!(light.day.zone.local(light.take_off_s).unwrap().to_string(), "12:10:00");
    assert_abs_diff_eq!(light.take_off_s, utc_s(&GREENWICH, date(2025, 12, 21), 11, 10, 0.0));
    let flying_s = plain.timing.as_ref().unwrap().time.flight_s + plain.timing.as_ref().unwrap().time.swaps_s;
    assert_abs_diff_eq!(light.landing_s - light.take_off_s, flying_s, epsilon = 1e-6); // an instant's rounding
    assert_eq!(light.shares, LightShares { daylight: 1.0, civil_twilight: 0.0, night: 0.0 });
    let after = light.sun_after(15.0 * 60.0).unwrap();
    assert_eq!(after, light.at_take_off);
    scenario.conditions.control_points = 3;
    let later = outcome(&scenario, 10, Depth::Quick).light.unwrap();
    assert_abs_diff_eq!(later.take_off_s - light.take_off_s, 18.0 * 60.0);
}

/// Derived: a take-off ten minutes before sunset, and one at local midnight that runs from one date into the next.
#[test]
fn flying_is_divided_by_what_the_law_calls_it() {
    let mut scenario = noon_scenario();
    scenario.conditions.set_up_min = 0.0;
    let set_arrival = |scenario: &mut Scenario, hour: u8, minute: u8| {
        scenario.conditions.mission.as_mut().unwrap().arrival = LocalClock { hour, minute };
    };
    set_arrival(&mut scenario, 16, 12); // the sun sets at 16:22
    let dusk = outcome(&scenario, 10, Depth::Quick).light.unwrap();
    let set_s = dusk.day.sun.set_s().unwrap();
    let flying_s = dusk.landing_s - dusk.take_off_s;
    let daylight = (set_s - dusk.take_off_s).min(flying_s) / flying_s;
    assert_abs_diff_eq!(dusk.shares.daylight, daylight, epsilon = 1e-9); // ratios of the same seconds
    set_arrival(&mut scenario, 23, 58);
    let night = outcome(&scenario, 10, Depth::Quick).light.unwrap();
    assert!(night.landing_s > night.day.to_s, "the flight runs into the next date");
    assert_eq!(night.shares, LightShares { daylight: 0.0, civil_twilight: 0.0, night: 1.0 });
}

#[test]
fn without_a_place_or_a_time_the_reason_is_given() {
    let mut scenario = noon_scenario();
    Arc::make_mut(&mut scenario.site).origin = None;
    let reason = outcome(&scenario, 10, Depth::Quick).light.unwrap_err();
    assert!(reason.to_string().contains("no latitude and longitude"), "{reason}");
    scenario.conditions.mission = None;
    assert_eq!(outcome(&scenario, 10, Depth::Quick).light, Err(NoLight::NoMission));
}

#[test]
fn what_cannot_be_a_time_is_told_with_its_place() {
    let faults = |edit: &dyn Fn(&mut Mission)| {
        let mut scenario = noon_scenario();
        edit(scenario.conditions.mission.as_mut().unwrap());
        let faults = scenario.faults();
        assert_eq!(faults.len(), 1, "{faults:?}");
        format!("{}: {}", faults[0].path, faults[0].message)
    };
    assert_eq!(noon_scenario().faults(), []);
    let fault = faults(&|m| m.date = date(2025, 2, 29));
    assert!(fault.starts_with("conditions.mission.date.day: "), "{fault}");
    assert!(fault.contains("at most 28"), "{fault}");
    let fault = faults(&|m| m.date.month = 13);
    assert!(fault.starts_with("conditions.mission.date.month: "), "{fault}");
    let fault = faults(&|m| m.arrival.hour = 24);
    assert!(fault.starts_with("conditions.mission.arrival.hour: "), "{fault}");
    let fault = faults(&|m| m.zone = named("Europe/Atlantis"));
    assert!(fault.contains("zone.name: ") && fault.contains("\"Europe/Atlantis\""), "{fault}");
    let fault = faults(&|m| m.zone = SiteZone::Offset { minutes: 9000 });
    assert!(fault.starts_with("conditions.mission.zone.minutes: "), "{fault}");
    let fault = faults(&|m| m.date.year = 25);
    assert!(fault.starts_with("conditions.mission.date.year: "), "{fault}");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    /// Derived: anywhere, on any day and clock, a day's periods follow each other without a gap, each is what the sun's
    /// elevation in its middle says, and the window lies in daylight.
    #[test]
    fn periods_fill_every_day(
        latitude_deg in -90.0..=90.0_f64,
        longitude_deg in -180.0..=180.0_f64,
        (year, month, number) in (1950..=2100_i16, 1..=12_u8, 1..=28_u8),
        minutes in -720..=840_i32,
    ) {
        let at = place(latitude_deg, longitude_deg);
        let zone = SiteZone::Offset { minutes };
        for rule in [TwilightRule::SunSixBelow, TwilightRule::ThirtyMinutes] {
            let day = day_at(at, &zone, date(year, month, number), rule);
            prop_assert_eq!(day.periods[0].from_s, day.from_s);
            prop_assert_eq!(day.periods[day.periods.len() - 1].to_s, day.to_s);
            prop_assert!(day.periods.windows(2).all(|pair| pair[0].to_s == pair[1].from_s));
            for span in &day.periods {
                let sun = day.observer.sun(f64::midpoint(span.from_s, span.to_s)).unwrap();
                let up = sun.elevation_rad.to_degrees() > -50.0 / 60.0 - 8.794 / 3600.0;
                prop_assert_eq!(up, span.period == LightPeriod::Daylight);
            }
            if let Some(window) = day.window {
                let middle_s = f64::midpoint(window.from_s, window.to_s);
                prop_assert_eq!(day.period(middle_s), Some(LightPeriod::Daylight));
            }
        }
    }
}

/// The ring helper keeps walls in the order that the shade is told in.
#[test]
fn walls_are_numbered_as_the_footprints_sides() {
    let scenario = noon_scenario();
    let outline = SiteOutline::new(&scenario.site).unwrap();
    assert_eq!(
        outline.structures[0].footprint_m,
        ring(&[(110.0, 80.0), (130.0, 80.0), (130.0, 90.0), (110.0, 90.0)])
    );
    let light = outcome(&scenario, 10, Depth::Quick).light.unwrap();
    let facings: Vec<f64> = structure_shades(&outline, &light).unwrap()[0]
        .walls
        .iter()
        .map(|wall| wall.facing_rad.to_degrees().round())
        .collect();
    assert_eq!(facings, [180.0, 90.0, 0.0, 270.0]);
}

/// Derived: every hour is told as the scenario with that arrival would be. In winter the sun is in the south while it is up: a
/// tower that nothing shades has its north wall in shade, and of the two to the sides, half as wide, one before noon and the
/// other after it: (600 + 300) of 1,800 m². By night all of it.
#[test]
fn hours_of_arrival_are_told_as_the_scenario_arriving_then() {
    let scenario = noon_scenario();
    let (strategy, tower) = (scenario.strategies[0].id, scenario.site.structures[0].id);
    let store = Store::new(1 << 28);
    let evaluator = Evaluator { store: &store, watch: &NoWatch };
    let found = evaluator.arrivals(&scenario, strategy, Some(tower)).unwrap();
    assert_eq!(found.len(), arrivals::ARRIVALS);
    let (mut by_day, mut by_night) = (0, 0);
    for (hour, arrival) in found.iter().enumerate() {
        let mut then = scenario.clone();
        then.conditions.mission.as_mut().unwrap().arrival = LocalClock { hour: hour as u8, minute: 0 };
        let expected = evaluator.evaluate(&then, strategy, Depth::Quick).unwrap();
        let lit = arrival.lit.as_ref().unwrap();
        assert_eq!(Some(&lit.light), expected.light.as_ref().ok());
        assert_eq!(lit.time_on_site_s, expected.timing.unwrap().time.time_on_site_s());
        let noon_s = lit.light.day.noon_s.unwrap();
        let up = [lit.light.at_take_off, lit.light.at_landing].map(|sun| sun.elevation_rad > 0.0);
        let spans_noon = (lit.light.take_off_s..lit.light.landing_s).contains(&noon_s);
        if up == [true; 2] && !spans_noon {
            assert_abs_diff_eq!(lit.shaded_ratio.unwrap(), 0.5, epsilon = 1e-9); // sums of four products
            by_day += 1;
        } else if up == [false; 2] {
            assert_abs_diff_eq!(lit.shaded_ratio.unwrap(), 1.0, epsilon = 1e-9);
            by_night += 1;
        }
    }
    assert!(by_day >= 4 && by_night >= 10, "{by_day} hours of day, {by_night} of night");
    assert!(
        evaluator
            .arrivals(
                &self::scenario(level_site(&[(0.0, 0.0), (90.0, 0.0), (0.0, 90.0)]), 80.0),
                strategy,
                None
            )
            .unwrap()
            .is_empty()
    );
}
