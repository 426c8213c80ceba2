//! Metric and US customary units on the screen.

use crate::made_up::{self, CROSSED};
use egui::accesskit::Role;
use egui::{Key, Modifiers};
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable;
use obliquity::app::App;
use obliquity::document::Document;
use obliquity::settings::Setting;
use obliquity::theme::Mode;
use obliquity::units::Units;
use obliquity_planning::{Distance, KnobId};

fn window() -> Harness<'static, App> {
    let document = Document::new(made_up::scenario(), None);
    let mut window = Harness::builder()
        .with_size([1280.0, 800.0])
        .with_max_steps(40)
        .build_eframe(move |creation| App::new(&creation.egui_ctx, document, Mode::Light).at_once());
    window.run_ok();
    window
}

fn height_m(window: &Harness<'static, App>) -> f64 {
    let strategy = window.state().document().scenario().strategy(CROSSED).unwrap().clone();
    if let Distance::Height { m, .. } = strategy.passes[0].distance { m } else { f64::NAN }
}

fn switch(window: &mut Harness<'static, App>) {
    window.key_press_modifiers(Modifiers::COMMAND, Key::U);
    window.run_ok();
}

#[test]
fn switching_units_changes_the_texts_and_not_the_document() {
    let mut window = window();
    assert!(window.query_all_by_label_contains("at 80 m;").next().is_some());
    switch(&mut window);
    // Derived: 80 m / 0.3048 = 262.5 ft, shown as 262 (262.467 rounds down).
    assert!(window.query_all_by_label_contains("at 262 ft;").next().is_some());
    assert!(window.query_all_by_label_contains("mph").next().is_some());
    assert!(window.query_all_by_label_contains("at 80 m;").next().is_none());
    assert!(!window.state().document().is_changed());
    assert_eq!(window.state().document().undo_label(), None);
    switch(&mut window);
    assert!(window.query_all_by_label_contains("at 80 m;").next().is_some());
}

#[test]
fn a_slider_in_feet_sets_metres() {
    let mut window = window();
    switch(&mut window);
    window.get_by_role_and_label(Role::Slider, "Height of Crossed strips").set_value_accesskit(300.0);
    window.step();
    window.step();
    assert!((height_m(&window) - 91.44).abs() < 1e-6, "300 ft; the screen rounds to a millionth of a foot");
}

#[test]
fn a_typed_number_may_name_its_unit() {
    let mut window = window();
    window.get_by_label("Height of Crossed strips, as a number").focus();
    window.run_ok();
    window.key_press_modifiers(Modifiers::COMMAND, Key::A);
    window.run_ok();
    window.get_by_label("Height of Crossed strips, as a number").type_text("200 ft");
    window.run_ok();
    window.key_press(Key::Enter);
    window.run_ok();
    assert!((height_m(&window) - 60.96).abs() < 0.06, "the number shows one decimal of a metre");
}

#[test]
fn a_slider_starts_and_ends_at_round_numbers_in_both_units() {
    let height = Setting::everywhere(KnobId::Height);
    for units in Units::ALL {
        let range = height.slider_range(units);
        assert_eq!((range.start() % 5.0, range.end() % 5.0), (0.0, 0.0), "{units:?}");
        let allowed = height.allowed_range(units);
        assert!(allowed.contains(range.start()) && allowed.contains(range.end()));
    }
}
