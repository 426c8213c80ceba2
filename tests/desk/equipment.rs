//! The equipment's screen, shelves and numbers.

use crate::opened::{Window, click, press, shows, type_number, yard, yard_at};
use crate::window::shared;
use egui::{Key, Modifiers};
use egui_kittest::kittest::{NodeT, Queryable};
use obliquity::amendment::{AmendError, Amendment, Part};
use obliquity::app::App;
use obliquity::document::{Document, Edit, EditError};
use obliquity::engine::Engine;
use obliquity::equipment::{SECTIONS, add, built_in, derived, keep};
use obliquity::preferences::Home;
use obliquity::theme::Mode;
use obliquity::units::Units;
use obliquity_exchange::chart::endurance_min;
use obliquity_exchange::{parse_library, read_library};
use obliquity_planning::{
    Airframe, Camera, Conditions, Equipment, Id, LightLevel, Metering, Scenario, Sensor, Shutter, knob, wind,
};
use std::fs;
use std::sync::Arc;

fn camera(window: &Window) -> Camera {
    window.state().document().scenario().equipment.aircraft[0].camera.clone()
}

fn follows(window: &Window) -> String {
    window.state().board().unwrap().columns[1].follows.clone()
}

#[test]
fn a_focal_length_is_typed_and_the_strategies_follow() {
    let mut window = yard();
    let before = follows(&window);
    press(&mut window, Key::E);
    type_number(&mut window, "Camera: Focal length of Linnet", "24");
    assert_eq!(camera(&window).focal_length_mm, 24.0);
    press(&mut window, Key::B);
    // Derived: twice the focal length at the same height is half the GSD: 80 m × 3 µm / 24 mm = 1 cm.
    assert_ne!(follows(&window), before);
    assert!(follows(&window).starts_with("1 cm at 80 m"), "{}", follows(&window));
    press(&mut window, Key::Z);
    assert_eq!(camera(&window).focal_length_mm, 12.0);
    assert_eq!(window.state().document().redo_label(), Some("focal length of Linnet"));
}

#[test]
fn looking_at_a_number_does_not_change_it() {
    let mut window = yard();
    press(&mut window, Key::E);
    press(&mut window, Key::U);
    type_number(&mut window, "Airframe: Top speed of Linnet", "");
    window.get_by_label("Airframe: Acceleration of Linnet").focus();
    window.run_ok();
    window.key_press(Key::Enter);
    window.run_ok();
    assert!(
        !window.state().document().is_changed(),
        "numbers shown in feet are rounded, what is kept is not"
    );
}

#[test]
fn what_a_strategy_flies_stays() {
    let mut window = yard();
    press(&mut window, Key::E);
    click(&mut window, "Duplicate Linnet");
    let names = |window: &Window| -> Vec<String> {
        window.state().document().scenario().equipment.aircraft.iter().map(|a| a.name.clone()).collect()
    };
    assert_eq!(names(&window), ["Linnet", "Linnet 2"]);
    assert!(window.get_by_label("Remove Linnet").accesskit_node().is_disabled());
    click(&mut window, "Remove Linnet 2");
    assert_eq!(names(&window), ["Linnet"]);
    let mut document = Document::new(crate::made_up::scenario(), None);
    let part = Part::Equipment(Arc::new(Equipment::default()));
    let told = document.edit(&Edit::Amend(Amendment { what: "remove Linnet".into(), part })).unwrap_err();
    let EditError::Amend(AmendError::Flown { aircraft, strategies }) = &told else { panic!("{told}") };
    assert_eq!(aircraft, "Linnet");
    assert_eq!(strategies, "Nadir block, Crossed strips, Five-direction oblique");
}

#[test]
fn an_aircraft_goes_to_the_library_and_into_the_scenario() {
    let folder = tempfile::tempdir().unwrap();
    let mut window = yard_at(Some(folder.path()));
    press(&mut window, Key::E);
    click(&mut window, "Save to library Linnet");
    assert!(shows(&window, "Linnet is in your library now"));
    click(&mut window, "Close");
    assert_eq!(read_library(folder.path()).unwrap().aircraft[0].name, "Linnet");
    assert!(!window.state().document().is_changed(), "the library is no part of the scenario");
    click(&mut window, "In my library");
    type_number(&mut window, "Airframe: Endurance of Linnet", "35");
    let library = read_library(folder.path()).unwrap();
    assert_eq!(library.aircraft[0].airframe.endurance_min, 35.0);
    let before = fs::read_to_string(folder.path().join("aircraft.ron.previous")).unwrap();
    assert_eq!(parse_library(&before, "before").unwrap().aircraft[0].airframe.endurance_min, 28.0);
    click(&mut window, "Use Linnet");
    let aircraft = &window.state().document().scenario().equipment.aircraft;
    assert_eq!((aircraft.len(), aircraft[1].name.as_str()), (2, "Linnet 2"));
    assert_eq!(aircraft[1].airframe.endurance_min, 35.0);
}

#[test]
fn an_unreadable_library_is_told_and_stays() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("aircraft.ron");
    fs::write(&file, "(format: 9)").unwrap();
    let mut window = yard_at(Some(folder.path()));
    press(&mut window, Key::E);
    assert!(window.get_by_label("Save to library Linnet").accesskit_node().is_disabled());
    click(&mut window, "In my library");
    assert!(shows(&window, "format 9 is newer"));
    assert_eq!(fs::read_to_string(&file).unwrap(), "(format: 9)");
}

#[test]
fn the_built_in_catalogue_is_at_hand() {
    let mut window = yard();
    press(&mut window, Key::E);
    click(&mut window, "Add aircraft");
    let name = built_in().unwrap().aircraft[2].name.clone();
    click(&mut window, &name);
    let equipment = &window.state().document().scenario().equipment;
    assert_eq!(equipment.aircraft[1].name, name);
    assert_eq!(equipment.faults(), Vec::new());
}

#[test]
fn a_name_is_typed() {
    let mut window = yard();
    press(&mut window, Key::E);
    window.get_by_label("Name of Linnet").focus();
    window.run_ok();
    press(&mut window, Key::A);
    window.get_by_label("Name of Linnet").type_text("Siskin");
    window.run_ok();
    window.key_press_modifiers(Modifiers::NONE, Key::Enter);
    window.run_ok();
    assert_eq!(window.state().document().scenario().equipment.aircraft[0].name, "Siskin");
    assert!(window.state().board().unwrap().columns.iter().all(|column| column.aircraft.contains("Siskin")));
}

#[test]
fn every_number_of_every_aircraft_reads_and_writes_within_its_limits() {
    let mut library = built_in().unwrap();
    for section in &SECTIONS {
        for aircraft in &mut library.aircraft {
            section.given.give(aircraft);
            for knob in section.group.knobs {
                let value = knob.read(aircraft).unwrap_or_else(|| knob.begins_at(aircraft));
                knob.put(aircraft, Some(value)).unwrap();
                let again = knob.read(aircraft).unwrap();
                let exact = 1e-9 * value.abs();
                assert!((again - value).abs() <= exact, "{}: rounding of two conversions", knob.name);
            }
        }
        assert_eq!(library.faults(), Vec::new(), "after {}", section.group.name);
    }
    let mut names: Vec<_> =
        SECTIONS.iter().flat_map(|section| section.group.knobs).map(|knob| knob.name).collect();
    names.sort_unstable();
    let all = names.len();
    names.dedup();
    assert_eq!(names.len(), all);
}

/// A scenario in which every number of an aircraft can show itself: energy, metered light, batteries short of what is
/// flown, every pattern and a tilted cycle.
fn telling() -> Scenario {
    let mut scenario = obliquity::files::demo().unwrap();
    scenario.strategies.drain(..3);
    scenario.conditions.light = Some(LightLevel::Metered { ev100: 13.0 });
    scenario.conditions.wind = wind::Wind { speed_mps: 6.0, from_deg: Some(30.0) };
    scenario.conditions.temperature_c = 4.0;
    let equipment = Arc::make_mut(&mut scenario.equipment);
    for aircraft in &mut equipment.aircraft {
        for section in &SECTIONS {
            section.given.give(aircraft);
            for knob in section.group.knobs {
                let value = knob.read(aircraft).unwrap_or_else(|| knob.begins_at(aircraft));
                knob.put(aircraft, Some(value)).unwrap();
            }
        }
    }
    scenario
}

/// Everything that is told of a strategy without coverage, in metered light and by the camera's own exposure time.
fn told(scenario: &Scenario) -> String {
    let own = Scenario {
        conditions: Conditions { light: None, ..scenario.conditions.clone() },
        ..scenario.clone()
    };
    let of = |scenario: &Scenario| {
        let outcome = Engine::default().quick(scenario, scenario.strategies[0].id);
        format!("{:?}", outcome.map_err(|failure| failure.to_string()))
    };
    of(scenario) + &of(&own)
}

/// Derived: a number that can be set changes something that is told, or the screen says beside it that accuracy alone does.
#[test]
fn every_number_changes_a_figure_or_says_that_it_does_not() {
    let scenario = telling();
    let before = told(&scenario);
    assert_eq!(told(&scenario), before, "equal inputs give equal figures");
    for section in &SECTIONS {
        for knob in section.group.knobs {
            let moved = |factor: f64| {
                let mut scenario = scenario.clone();
                let flown = scenario.strategies[0].aircraft;
                let all = &mut Arc::make_mut(&mut scenario.equipment).aircraft;
                let aircraft = all.iter_mut().find(|aircraft| aircraft.id == flown).unwrap();
                let (value, (least, most)) = (knob.read(aircraft).unwrap(), knob.bounds(aircraft));
                let other = least + factor * (most - least);
                knob.put(aircraft, Some(if (other - value).abs() > 1e-9 { other } else { most })).unwrap();
                told(&scenario) != before
            };
            let changes = [0.0, 0.02, 0.5, 1.0].into_iter().any(moved);
            assert_eq!(changes, section.group.note.is_empty(), "{}: {}", section.group.name, knob.name);
        }
    }
}

#[test]
fn what_only_accuracy_rests_on_says_so_on_the_screen() {
    let window = tall();
    assert!(shows(&window, "Positioning: for accuracy"));
}

#[test]
fn pixels_stay_square_whatever_is_typed_first() {
    let mut aircraft = built_in().unwrap().aircraft[1].clone();
    assert!(matches!(aircraft.camera.sensor, Sensor::Size { .. }));
    for (name, value) in [("Image width", 8000.0), ("Image height", 6000.0), ("Sensor width", 24.0)] {
        let knob = knob::CAMERA.knobs.iter().find(|knob| knob.name == name).unwrap();
        knob.put(&mut aircraft, Some(value)).unwrap();
        assert_eq!(Equipment { aircraft: vec![aircraft.clone()] }.faults(), Vec::new());
    }
    // Derived: 24 mm × 6000 / 8000 = 18 mm; 24 mm / 8000 = 3 µm.
    assert_eq!(aircraft.camera.sensor, Sensor::Size { width_mm: 24.0, height_mm: 18.0 });
    assert!((aircraft.camera.pixel_pitch_m() - 3e-6).abs() < 1e-15, "rounding of a division");
    let shutter = knob::CAMERA.knobs.iter().find(|knob| knob.name == "Read-out time").unwrap();
    shutter.put(&mut aircraft, Some(0.02)).unwrap();
    assert_eq!(aircraft.camera.shutter, Shutter::Rolling { readout_s: 0.02 });
    shutter.put(&mut aircraft, Some(0.0)).unwrap();
    assert_eq!(aircraft.camera.shutter, Shutter::Mechanical);
}

#[test]
fn what_follows_is_plain_arithmetic() {
    let aircraft = &crate::made_up::scenario().equipment.aircraft[0].clone();
    let texts: Vec<String> = derived(aircraft, Units::Metric).into_iter().map(|row| row.text).collect();
    // Derived: 5000 × 4000 px of 3 µm behind 12 mm: 4000 px; 100 m / 4000 = 2.5 cm; 125 by 100 m; 2 atan(2500/4000) =
    // 64.0°, 2 atan(2000/4000) = 53.1°; 28 min less 25 %.
    assert_eq!(texts, ["20.0 million", "64° × 53°", "2.50 cm", "125 m × 100 m", "21.0 min", "–", "–"]);
    // Derived, at f/4: 2.44 × 0.55 µm × 4 / 3 µm = 1.79; (12 mm)² / (4 × 6 µm) = 6 m, half of it and of 12 mm.
    let mut open = aircraft.clone();
    open.camera.metering = Some(Metering { f_number: 4.0, iso: 100.0, shortest_s: 0.0005 });
    let texts: Vec<String> = derived(&open, Units::Metric).into_iter().map(|row| row.text).collect();
    assert_eq!(texts[5..], ["1.8 px", "3 m"]);
    let feet = &derived(aircraft, Units::UsCustomary)[3];
    assert_eq!((feet.name.as_str(), feet.text.as_str()), ("Footprint at 328 ft", "410 ft × 328 ft"));
}

#[test]
fn names_and_numbers_on_a_shelf_are_never_taken_twice() {
    let mut shelf = built_in().unwrap();
    let first = shelf.aircraft[0].clone();
    let id = add(&mut shelf, &first);
    assert_eq!(id, Id(5));
    assert_eq!(shelf.aircraft[4].name, format!("{} 2", first.name));
    let changed = obliquity_planning::Aircraft {
        camera: Camera { image_mb: 1.0, ..first.camera.clone() },
        ..first.clone()
    };
    keep(&mut shelf, &changed);
    assert_eq!((shelf.aircraft.len(), shelf.aircraft[0].camera.image_mb), (5, 1.0));
    assert_eq!(shelf.faults(), Vec::new());
}

/// A window tall enough for every row.
fn tall() -> Window {
    let mut window = egui_kittest::Harness::builder()
        .with_size([1280.0, 2000.0])
        .with_max_steps(40)
        .build_eframe(|creation| {
            let ctx = &creation.egui_ctx;
            let document = Document::new(crate::made_up::scenario(), None);
            shared(App::new(ctx, document, Mode::Light).with_home(ctx, Home::nowhere())).at_once()
        });
    crate::window::settle(&mut window);
    window.run_ok();
    press(&mut window, Key::E);
    window
}

fn airframe(window: &Window) -> Airframe {
    window.state().document().scenario().equipment.aircraft[0].airframe
}

#[test]
fn energy_is_added_edited_and_removed() {
    let mut window = tall();
    assert!(!shows(&window, "Power over airspeed of Linnet"), "nothing is drawn without energy");
    click(&mut window, "Add energy of Linnet");
    assert_eq!(window.state().document().undo_label(), Some("add energy of Linnet"));
    assert!(shows(&window, "Power over airspeed of Linnet"));
    type_number(&mut window, "Energy: Battery set of Linnet", "80");
    click(&mut window, "Give Energy: Endurance in hover of Linnet");
    type_number(&mut window, "Energy: Endurance in hover of Linnet", "21");
    type_number(&mut window, "Energy: Rotor diameter of Linnet", "30");
    let energy = airframe(&window).energy.unwrap();
    assert_eq!((energy.battery_wh, energy.hover_min, energy.rotor_diameter_m), (80.0, Some(21.0), 0.3));
    // Derived: 80 Wh in 21 min are 80 · 60 / 21 = 228.6 W.
    assert!(shows(&window, "229 W and 21.0 min in hover"));
    click(&mut window, "Leave out Energy: Endurance in hover of Linnet");
    assert_eq!(airframe(&window).energy.unwrap().hover_min, None);
    click(&mut window, "Remove energy of Linnet");
    assert_eq!(airframe(&window).energy, None);
    press(&mut window, Key::Z);
    assert_eq!(airframe(&window).energy.unwrap().battery_wh, 80.0);
}

#[test]
fn what_need_not_be_given_can_be_given_and_left_out() {
    let mut window = tall();
    click(&mut window, "Give Airframe: Fastest airspeed of Linnet");
    type_number(&mut window, "Airframe: Fastest airspeed of Linnet", "16");
    click(&mut window, "Give Airframe: Sideways acceleration of Linnet");
    let given = airframe(&window);
    assert_eq!((given.top_airspeed_mps, given.lateral_mps2), (Some(16.0), Some(2.0)));
    click(&mut window, "Leave out Airframe: Sideways acceleration of Linnet");
    assert_eq!(window.state().document().undo_label(), Some("sideways acceleration of Linnet"));
    assert_eq!(airframe(&window).lateral_mps2, None);
    click(&mut window, "Add aperture and ISO of Linnet");
    type_number(&mut window, "Exposure by the light: Aperture of Linnet", "5.6");
    type_number(&mut window, "Exposure by the light: Shortest time of Linnet", "2000");
    let metering = camera(&window).metering.unwrap();
    assert_eq!((metering.f_number, metering.shortest_s), (5.6, 1.0 / 2000.0));
    assert_eq!(window.state().document().scenario().faults(), Vec::new());
}

/// Derived: a curve that is bent through an endurance gives that endurance back; the tolerance is the standard density's, which
/// is rounded to 1.225 kg/m³ where the curve is bent.
#[test]
fn the_curve_goes_through_the_endurances_given() {
    for aircraft in built_in().unwrap().aircraft {
        let (airframe, energy) = (aircraft.airframe, aircraft.airframe.energy.unwrap());
        let near = |mps: f64, min: f64| (endurance_min(&aircraft, mps).unwrap() - min).abs() < 1e-4;
        assert!(near(energy.endurance_at_mps, airframe.endurance_min), "{}", aircraft.name);
        assert!(energy.hover_min.is_none_or(|min| near(0.0, min)), "{}", aircraft.name);
        assert!(
            energy.top_speed_min.is_none_or(|min| near(airframe.fastest_mps(), min)),
            "{}",
            aircraft.name
        );
    }
}
