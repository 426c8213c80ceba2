//! Numbers typed into every field of every screen: taken as they are meant, asked about, or marked; nothing changes unseen.

use crate::opened::{Window, click, press, type_number, yard};
use egui::Key;
use egui::accesskit::Role;
use egui_kittest::kittest::{NodeT, Queryable};
use obliquity::app::Screen;
use obliquity_planning::Scenario;
use std::sync::Arc;

fn scenario(window: &Window) -> Arc<Scenario> {
    Arc::clone(window.state().document().scenario())
}

/// What those hear about a field who do not see it.
fn told(window: &Window, label: &str) -> Option<String> {
    window.get_by_label(label).accesskit_node().description().filter(|told| !told.is_empty())
}

fn value(window: &Window, label: &str) -> String {
    window.get_by_label(label).accesskit_node().value().unwrap_or_default()
}

/// The names of all numbers on the screen.
fn numbers(window: &Window) -> Vec<String> {
    let nodes = window.query_all_by_role(Role::SpinButton);
    let mut names: Vec<String> = nodes.filter_map(|node| node.accesskit_node().label()).collect();
    names.sort();
    names.dedup();
    names
}

const SCREENS: [Screen; 6] =
    [Screen::BOARD, Screen::PASSES, Screen::SITE, Screen::EQUIPMENT, Screen::REQUIREMENT, Screen::CONDITIONS];

#[test]
fn what_cannot_be_read_stays_marked_in_every_field_of_every_screen() {
    let mut seen = 0;
    for screen in SCREENS {
        let mut window = yard();
        window.state_mut().turn_to(screen);
        window.run_ok();
        let names = numbers(&window);
        assert!(names.len() > 4, "{screen:?}: {names:?}");
        let before = scenario(&window);
        for name in &names {
            type_number(&mut window, name, "a few");
            assert!(Arc::ptr_eq(&scenario(&window), &before), "{name} of {screen:?} has changed something");
            let told = told(&window, name).unwrap_or_else(|| panic!("{name} of {screen:?} says nothing"));
            assert!(told.contains("was required, but it is \"a few\"; write for instance"), "{name}: {told}");
            assert_eq!(value(&window, name), "a few", "{name} of {screen:?}");
        }
        seen += names.len();
    }
    assert!(seen > 90, "{seen} numbers");
}

#[test]
fn a_comma_is_a_decimal_mark_and_a_unit_is_converted() {
    let mut window = yard();
    window.state_mut().turn_to(Screen::CONDITIONS);
    window.run_ok();
    for (name, text, read) in [
        ("Motion blur", "0,75", 0.75),
        ("Set-up", "1 h 5 min", 65.0),
        ("Pack-up", "12,5", 12.5),
        ("Distance from the pilot", "1 200 ft", 365.76),
        ("Height ceiling", "330 ft", 100.584),
        ("Clearance on the way", "9,15", 9.15),
    ] {
        type_number(&mut window, name, text);
        let conditions = scenario(&window).conditions.clone();
        let stored = match name {
            "Motion blur" => conditions.blur_px,
            "Set-up" => conditions.set_up_min,
            "Pack-up" => conditions.pack_up_min,
            "Distance from the pilot" => conditions.pilot_distance_m,
            "Height ceiling" => conditions.height_ceiling_m,
            _ => conditions.clearance_m,
        };
        assert!((stored - read).abs() < 1e-9, "{name} {text}: {stored}");
        assert_eq!(told(&window, name), None);
    }
    // What is shown rounded is not lost when it is looked at: Tab through it, Enter in it, its own text typed again.
    let before = scenario(&window);
    let shown = value(&window, "Height ceiling");
    assert_eq!(shown, "101 m");
    type_number(&mut window, "Height ceiling", "101");
    type_number(&mut window, "Height ceiling", "101 m");
    assert!(Arc::ptr_eq(&scenario(&window), &before));
}

#[test]
fn what_may_mean_two_numbers_is_asked_and_chosen() {
    let mut window = yard();
    window.state_mut().turn_to(Screen::CONDITIONS);
    window.run_ok();
    let before = scenario(&window);
    let name = "Distance from the pilot";
    type_number(&mut window, name, "1,250");
    assert!(Arc::ptr_eq(&scenario(&window), &before), "not guessed");
    assert!(told(&window, name).unwrap().contains("1\u{a0}250 m or 1.25 m"));
    // 1.25 m lies below what is allowed, and is offered greyed.
    click(&mut window, "It is 1\u{a0}250 m");
    assert_eq!(scenario(&window).conditions.pilot_distance_m, 1250.0);
    assert_eq!(told(&window, name), None);
    press(&mut window, Key::Z);
    assert!(Arc::ptr_eq(&scenario(&window), &before), "one step");
}

#[test]
fn what_lies_outside_stays_marked_until_it_is_mended_or_given_up() {
    let mut window = yard();
    let name = "Tilt of Crossed strips, as a number";
    let before = scenario(&window);
    let shown = value(&window, name);
    type_number(&mut window, name, "300");
    assert!(Arc::ptr_eq(&scenario(&window), &before), "not moved to the limit");
    assert!(told(&window, name).unwrap().contains("it must be from 1° to"));
    assert_eq!(value(&window, name), "300");
    // Mended.
    type_number(&mut window, name, "22,5");
    assert_eq!((value(&window, name), told(&window, name)), ("22.5°".to_owned(), None));
    press(&mut window, Key::Z);
    assert!(Arc::ptr_eq(&scenario(&window), &before));
    // Given up.
    type_number(&mut window, name, "soon");
    window.get_by_label(name).focus();
    window.run_ok();
    window.key_press(Key::Escape);
    window.run_ok();
    assert_eq!((value(&window, name), told(&window, name)), (shown, None));
}

#[test]
fn dates_and_clocks_are_marked_too() {
    let mut window = yard();
    window.state_mut().turn_to(Screen::CONDITIONS);
    window.run_ok();
    if scenario(&window).conditions.mission.is_none() {
        click(&mut window, "Plan for a date");
    }
    let before = scenario(&window);
    for (name, text) in [("Month", "13"), ("Hour of arrival", "7.5"), ("Minute of arrival", "half")] {
        type_number(&mut window, name, text);
        assert!(Arc::ptr_eq(&scenario(&window), &before), "{name}");
        assert_eq!(value(&window, name), text);
        assert!(told(&window, name).is_some(), "{name}");
    }
    type_number(&mut window, "Hour of arrival", "7");
    assert_eq!(scenario(&window).conditions.mission.as_ref().unwrap().arrival.hour, 7);
}

/// Derived: what a form is for waits while one of its numbers stands marked; Escape in the number gives the typing up.
#[test]
fn a_marked_number_keeps_its_form_from_being_used() {
    let mut window = yard();
    window.state_mut().turn_to(Screen::SITE);
    window.run_ok();
    let before = scenario(&window);
    let disabled = |window: &Window| window.get_by_label("Add this structure").accesskit_node().is_disabled();
    assert!(!disabled(&window));
    type_number(&mut window, "Length of the new structure", "1/1250");
    assert!(disabled(&window), "its length is not known");
    click(&mut window, "Add this structure");
    assert!(Arc::ptr_eq(&scenario(&window), &before));
    type_number(&mut window, "Length of the new structure", "24,5");
    assert!(!disabled(&window));
    click(&mut window, "Add this structure");
    let added = scenario(&window).site.structures.last().unwrap().clone();
    let (low, high) = (glam::DVec2::INFINITY, glam::DVec2::NEG_INFINITY);
    let (low, high) = added.footprint_m.iter().fold((low, high), |(l, h), p| (l.min(*p), h.max(*p)));
    assert!(((high - low).max_element() - 24.5).abs() < 1e-9, "{:?}", added.footprint_m);
}
