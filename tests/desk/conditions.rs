//! Wind, batteries, the day and its light on their screen, and what follows from them.

use crate::made_up;
use crate::opened::{Window, click, press, press_shifted, shows, type_number};
use crate::window::shared;
use egui::Key;
use egui_kittest::kittest::Queryable;
use obliquity::app::App;
use obliquity::conditions::{light_facts, shade_rows};
use obliquity::document::Document;
use obliquity::preferences::Home;
use obliquity::theme::Mode;
use obliquity::units::Units;
use obliquity_planning::light::{LightFigures, NoLight, structure_shades};
use obliquity_planning::{
    Conditions, Depth, Evaluator, GeoPoint, LightLevel, LocalClock, LocalDate, Mission, NoWatch, Scenario,
    SiteOutline, SiteZone, Sky, Store, Supply,
};
use std::sync::Arc;

fn window(scenario: Scenario) -> Window {
    let mut window = egui_kittest::Harness::builder()
        .with_size([1280.0, 1500.0])
        .with_max_steps(40)
        .build_eframe(move |creation| {
            let ctx = &creation.egui_ctx;
            let app = App::new(ctx, Document::new(scenario, None), Mode::Light);
            shared(app.with_home(ctx, Home::nowhere())).at_once()
        });
    crate::window::settle(&mut window);
    window.run_ok();
    press_shifted(&mut window, Key::W);
    window
}

fn conditions(window: &Window) -> Conditions {
    window.state().document().scenario().conditions.clone()
}

fn undo_label(window: &Window) -> String {
    window.state().document().undo_label().unwrap_or_default().to_owned()
}

fn choose(window: &mut Window, list: &str, entry: &str) {
    window.get_by_label_contains(list).click();
    window.run_ok();
    click(window, entry);
}

/// The yard somewhere, at a date and a time by a zone.
fn yard_at(place: (f64, f64), (year, month, day): (i16, u8, u8), hour: u8, zone: SiteZone) -> Scenario {
    let mut scenario = made_up::scenario();
    let mut site = (*scenario.site).clone();
    site.origin = Some(GeoPoint { latitude_deg: place.0, longitude_deg: place.1 });
    scenario.site = Arc::new(site);
    scenario.conditions.mission =
        Some(Mission { date: LocalDate { year, month, day }, arrival: LocalClock { hour, minute: 0 }, zone });
    scenario
}

fn light(scenario: &Scenario) -> Result<LightFigures, NoLight> {
    let store = Store::new(0);
    let evaluator = Evaluator { store: &store, watch: &NoWatch };
    evaluator.evaluate(scenario, made_up::NADIR, Depth::Quick).unwrap().light
}

#[test]
fn wind_and_air_are_typed_and_undone() {
    let mut window = window(made_up::scenario());
    assert!(shows(&window, "Dial of the wind: 4 m/s, direction unknown"));
    assert!(shows(&window, "Wind direction unknown: set it"));
    type_number(&mut window, "Wind speed", "18 km/h");
    choose(&mut window, "Wind direction known", "known");
    assert!(conditions(&window).wind.from_deg.is_some());
    type_number(&mut window, "Wind direction", "225");
    assert!(shows(&window, "Dial of the wind: 5 m/s from the south-west (225°)"));
    press(&mut window, Key::U);
    assert!(shows(&window, "11.2 mph from the south-west"));
    press(&mut window, Key::U);
    type_number(&mut window, "Air temperature", "-5");
    type_number(&mut window, "Altitude of the site", "2000");
    // Derived: ISO 2533 gives 79,501 Pa at 2000 m; over 287.05287 × 268.15 K that is 1.033 kg/m³, 84 % of 1.225.
    assert!(shows(&window, "Air density 1.033 kg/m³, 84 %"));
    let done =
        ["Altitude of the site", "Air temperature", "Wind direction", "Wind direction known", "Wind speed"];
    for undone in done {
        assert_eq!(undo_label(&window), undone);
        press(&mut window, Key::Z);
    }
    assert!(!window.state().document().is_changed());
    assert_eq!(conditions(&window).wind.from_deg, None);
}

/// Derived: a direction that was set may be unknown again, and the prediction then says which one it is flown in.
#[test]
fn a_direction_may_be_unknown_again() {
    let mut scenario = made_up::scenario();
    scenario.conditions.wind.from_deg = Some(225.0);
    let mut window = window(scenario);
    assert!(shows(&window, "Dial of the wind: 4 m/s from the south-west (225°)"));
    choose(&mut window, "Wind direction known", "unknown");
    assert_eq!(conditions(&window).wind.from_deg, None);
    assert!(shows(&window, "Predicted from the "));
    assert!(window.query_by_label_contains("Wind direction: ").is_none(), "there is nothing to type");
    press(&mut window, Key::Z);
    assert_eq!(conditions(&window).wind.from_deg, Some(225.0));
}

#[test]
fn the_dial_sets_where_the_wind_comes_from() {
    let mut window = window(made_up::scenario());
    let dial = window.get_by_label_contains("Dial of the wind").rect();
    let east = dial.center() + egui::vec2(30.0, 0.0);
    window.hover_at(east);
    window.run_ok();
    window.drag_at(east);
    window.run_ok();
    window.drop_at(east);
    window.run_ok();
    assert_eq!(conditions(&window).wind.from_deg, Some(90.0));
    assert_eq!(undo_label(&window), "Wind direction");
}

#[test]
fn chargers_are_chosen_and_what_they_do_is_told() {
    let mut window = window(made_up::scenario());
    assert!(shows(&window, "none needs charging"));
    choose(&mut window, "Charging on site", "generator");
    type_number(&mut window, "Charge time", "45");
    type_number(&mut window, "Sets charged at once", "2");
    let charging = conditions(&window).charging.unwrap();
    assert_eq!((charging.supply, charging.charge_min, charging.at_once), (Supply::Generator, 45.0, 2));
    choose(&mut window, "Charging on site", "none");
    assert_eq!(conditions(&window).charging, None);
}

#[test]
fn the_spread_and_its_seed_are_typed() {
    let mut window = window(made_up::scenario());
    type_number(&mut window, "Spread of wind speed", "2");
    type_number(&mut window, "Spread of turns", "20");
    type_number(&mut window, "Seed of the spread", "77");
    let spread = conditions(&window).spread;
    assert_eq!((spread.wind_mps, spread.turn_ratio, spread.seed), (2.0, 0.2, 77));
    assert_eq!(undo_label(&window), "Seed of the spread");
}

#[test]
fn a_day_without_a_place_says_what_is_missing() {
    let mut window = window(made_up::scenario());
    assert!(shows(&window, "tick Plan for a date above"));
    click(&mut window, "Plan for a date");
    assert!(shows(&window, "the site has no latitude and longitude"));
    type_number(&mut window, "Year", "2026");
    type_number(&mut window, "Day", "1");
    type_number(&mut window, "Month", "3");
    type_number(&mut window, "Day", "31");
    type_number(&mut window, "Month", "2");
    let date = conditions(&window).mission.unwrap().date;
    assert_eq!(date, LocalDate { year: 2026, month: 2, day: 28 }, "the day stays within its month");
    assert_eq!(window.state().document().scenario().faults(), Vec::new());
    click(&mut window, "Plan for a date");
    assert_eq!(conditions(&window).mission, None);
}

#[test]
fn a_zone_is_found_by_its_city() {
    let scenario = yard_at((60.0, 11.0), (2026, 6, 1), 9, SiteZone::Offset { minutes: 120 });
    let mut window = window(scenario);
    choose(&mut window, "Clock of the site", "by zone");
    assert_eq!(conditions(&window).mission.unwrap().zone, SiteZone::Named { name: "UTC".to_owned() });
    window.get_by_label("Time zone").focus();
    window.run_ok();
    press(&mut window, Key::A);
    window.get_by_label("Time zone").type_text("osl");
    window.run_ok();
    click(&mut window, "Choose the zone Europe/Oslo");
    assert_eq!(conditions(&window).mission.unwrap().zone, SiteZone::Named { name: "Europe/Oslo".to_owned() });
    // Source: Oslo keeps central European time, two hours ahead of UTC in summer.
    assert!(shows(&window, "UTC+02:00 at the arrival"));
    choose(&mut window, "Clock of the site", "fixed offset");
    assert_eq!(conditions(&window).mission.unwrap().zone, SiteZone::Offset { minutes: 120 });
}

#[test]
fn light_to_expose_by_is_chosen() {
    let mut window = window(made_up::scenario());
    choose(&mut window, "Light to expose by", "metered");
    type_number(&mut window, "Exposure value", "11.5");
    assert_eq!(conditions(&window).light, Some(LightLevel::Metered { ev100: 11.5 }));
    assert!(shows(&window, "aperture and ISO are not set"));
    choose(&mut window, "Light to expose by", "by the sun, overcast");
    assert_eq!(conditions(&window).light, Some(LightLevel::BySun { sky: Sky::Overcast }));
}

/// Derived: on the equator at 0° of longitude the sun's path at an equinox is upright: noon is at 12:07:27 UTC (equation
/// of time on 20 March, memory: −7 min 27 s), sunrise and sunset 90° and 50' of it before and after: 6 h 3 min 20 s.
#[test]
fn sunrise_and_sunset_are_told_by_the_clock_of_the_site() {
    let zone = SiteZone::Offset { minutes: 60 };
    let light = light(&yard_at((0.0, 0.0), (2026, 3, 20), 10, zone)).unwrap();
    let facts = light_facts(&light);
    let told = |name: &str| facts.iter().find(|fact| fact.name == name).unwrap().text.clone();
    assert_eq!((told("Sunrise").as_str(), told("Sunset").as_str()), ("07:04", "19:11"));
    assert!(told("Take-off").starts_with("10:15, sun "), "{}", told("Take-off"));
    assert!(told("Take-off").contains("in the east"), "{}", told("Take-off"));
    assert_eq!(told("Flown in"), "daylight");
    assert!(told("Suggested").contains("at least 30° high"));
}

/// Derived: far in the north the sun does not set in June, nor rise in December.
#[test]
fn polar_days_and_nights_are_told() {
    let told = |month: u8, name: &str| {
        let zone = SiteZone::Offset { minutes: 60 };
        let light = light(&yard_at((78.0, 16.0), (2026, month, 21), 10, zone)).unwrap();
        light_facts(&light).into_iter().find(|fact| fact.name == name).unwrap().text
    };
    assert_eq!(told(6, "Sunset"), "none that day: the sun is up");
    assert_eq!(told(12, "Sunrise"), "none that day");
    assert_eq!(told(12, "Suggested"), "at no time: the sun stays down");
    assert_eq!(told(12, "Flown in"), "night");
}

/// Derived: on a northern morning the sun stands in the east: a wall that faces west lies in shade, one that faces east
/// does not; 12 m of shed cast 12 m / tan of the sun's height.
#[test]
fn walls_that_face_away_lie_in_shade() {
    let zone = SiteZone::Offset { minutes: 60 };
    let scenario = yard_at((50.0, 15.0), (2026, 6, 21), 7, zone);
    let light = light(&scenario).unwrap();
    let outline = SiteOutline::new(&scenario.site).unwrap();
    let rows = shade_rows(&structure_shades(&outline, &light).unwrap(), &light, Units::Metric);
    assert_eq!(rows.len(), 1);
    let each = rows[0].each.join("\n");
    assert!(each.contains("faces west (270°): faces away from the sun all the time"), "{each}");
    assert!(!each.contains("faces east"), "{each}");
    let shadow_m = 12.0 / light.at_take_off.elevation_rad.tan();
    assert!(rows[0].shadow.contains(&format!("shadow {shadow_m:.1} m at take-off")), "{}", rows[0].shadow);
}

#[test]
fn shade_stands_on_the_screen() {
    let zone = SiteZone::Offset { minutes: 60 };
    let mut window = window(yard_at((50.0, 15.0), (2026, 6, 21), 7, zone));
    assert!(shows(&window, "12 m tall, shadow"));
    click(&mut window, "Shed");
    assert!(shows(&window, "faces west (270°)"));
    type_number(&mut window, "Hour of arrival", "16");
    assert!(shows(&window, "faces east (90°)"), "in the afternoon the other walls lie in shade");
}

/// The hours of the day are told of the strategy in focus; one of them is arrived at by a click, in one step.
#[test]
fn an_hour_of_the_day_is_arrived_at_by_a_click() {
    let offset = SiteZone::Offset { minutes: 60 };
    let mut window = window(yard_at((48.0, 11.0), (2025, 12, 21), 9, offset));
    crate::window::settle(&mut window);
    let hours: Vec<String> = (0..24).map(|hour| format!("Arrive at {hour:02}:00: ")).collect();
    for hour in &hours {
        assert_eq!(window.query_all_by_label_contains(hour).count(), 1, "{hour}");
    }
    assert!(shows(&window, "Least shade by day: arriving at "));
    window.get_by_label_contains("Arrive at 12:00: ").click();
    window.run_ok();
    assert_eq!(conditions(&window).mission.unwrap().arrival, LocalClock { hour: 12, minute: 0 });
    assert_eq!(undo_label(&window), "Arrival");
    press(&mut window, Key::Z);
    assert_eq!(conditions(&window).mission.unwrap().arrival, LocalClock { hour: 9, minute: 0 });
}

/// What only the strategy in focus has is set on the same screen, begins with the scenario's, and is undone in one step.
#[test]
fn a_strategys_own_crew_begins_with_the_scenarios() {
    let mut window = window(made_up::scenario());
    let name = window.state().document().scenario().strategies[0].name.clone();
    assert!(shows(&window, &format!("Only in {name}")));
    click(&mut window, &format!("Set the battery sets of {name}"));
    let own = |window: &Window| window.state().document().scenario().strategies[0].on_site;
    assert_eq!(own(&window).battery_sets, Some(conditions(&window).battery_sets));
    type_number(&mut window, &format!("Battery sets of {name}"), "9");
    assert_eq!(own(&window).battery_sets, Some(9));
    assert_eq!(
        window.state().document().scenario().conditions.battery_sets,
        conditions(&window).battery_sets
    );
    assert_eq!(undo_label(&window), format!("Battery sets of {name}"));
    press(&mut window, Key::Z);
    press(&mut window, Key::Z);
    assert_eq!(own(&window), obliquity_planning::OnSite::default());
}

/// Clocks are typed as they are written: hours and minutes ahead of UTC.
#[test]
fn the_offset_of_a_clock_is_hours_and_minutes() {
    let offset = SiteZone::Offset { minutes: 60 };
    let mut window = window(yard_at((48.0, 11.0), (2025, 12, 21), 9, offset));
    let minutes = |window: &Window| match conditions(window).mission.unwrap().zone {
        SiteZone::Offset { minutes } => minutes,
        SiteZone::Named { name } => panic!("{name}"),
    };
    type_number(&mut window, "Hours ahead of UTC", "-7");
    assert_eq!(minutes(&window), -420);
    type_number(&mut window, "Minutes of the offset from UTC", "30");
    assert_eq!(minutes(&window), -450);
    type_number(&mut window, "Hours ahead of UTC", "5");
    assert_eq!(minutes(&window), 330);
}

/// Derived: what a computer has to which nobody has said where it is is no site's zone, and that is said beside it.
#[test]
fn a_zone_of_no_place_asks_to_be_set() {
    let with = |zone: &str| {
        let mut scenario = made_up::scenario();
        let mut mission = obliquity::files::next_mission();
        mission.zone = obliquity_planning::SiteZone::Named { name: zone.to_owned() };
        scenario.conditions.mission = Some(mission);
        shows(&window(scenario), "set the zone of the site")
    };
    assert!(with("Etc/UTC") && with("UTC"));
    assert!(!with("Europe/Oslo") && !with("Africa/Abidjan"));
}
