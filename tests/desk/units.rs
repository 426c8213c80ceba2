//! Metric and US customary units on the screen.

use crate::made_up::{self, CROSSED};
use crate::window::{shared, witness};
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
        .build_eframe(move |creation| shared(App::new(&creation.egui_ctx, document, Mode::Light)).at_once());
    window.state_mut().open_on_board(obliquity::board::SETTINGS);
    crate::window::settle(&mut window);
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

/// Opens the View menu and picks what GSD is in.
fn switch_gsd(window: &mut Harness<'static, App>) {
    window.get_by_label("View").click();
    window.run_ok();
    window.get_by_label_contains("GSD in").click();
    window.run_ok();
}

fn type_into(window: &mut Harness<'static, App>, label: &str, text: &str) {
    crate::opened::type_number(window, label, text);
}

/// Derived: 3 cm are 1.181 in; 0.6 in are 1.524 cm. What is typed with its unit is read in either.
#[test]
fn gsd_is_in_inches_where_they_are_chosen() {
    let mut window = window();
    switch_gsd(&mut window);
    assert_eq!(window.state().units(), Units::Metric, "metric units have centimetres");
    window.key_press(Key::Escape);
    window.run_ok();
    switch(&mut window);
    switch_gsd(&mut window);
    assert_eq!(window.state().units(), Units::UsInches);
    crate::opened::press(&mut window, Key::T);
    let gsd_cm = |window: &Harness<'static, App>| {
        window.state().document().scenario().requirement.gsd_cm[obliquity_planning::SurfaceClass::Wall]
    };
    type_into(&mut window, "GSD on walls", "0.6");
    assert!((gsd_cm(&window) - 1.524).abs() < 1e-9, "{}", gsd_cm(&window));
    type_into(&mut window, "GSD on walls", "1.5 cm");
    assert!((gsd_cm(&window) - 1.5).abs() < 1e-9, "{}", gsd_cm(&window));
    // There and back: what GSD was in is remembered.
    switch(&mut window);
    assert_eq!(window.state().units(), Units::Metric);
    type_into(&mut window, "GSD on walls", "0.6 in");
    assert!((gsd_cm(&window) - 1.524).abs() < 1e-9, "{}", gsd_cm(&window));
    switch(&mut window);
    assert_eq!(window.state().units(), Units::UsInches);
}

/// Derived: 68 °F are 20 °C; 5 lb are 2.268 kg.
#[test]
fn temperature_is_in_fahrenheit() {
    let mut window = window();
    switch(&mut window);
    crate::opened::press_shifted(&mut window, Key::W);
    let celsius =
        |window: &Harness<'static, App>| window.state().document().scenario().conditions.temperature_c;
    type_into(&mut window, "Air temperature", "68");
    assert!((celsius(&window) - 20.0).abs() < 1e-9, "{}", celsius(&window));
    type_into(&mut window, "Air temperature", "-5 °C");
    assert!((celsius(&window) + 5.0).abs() < 1e-9, "{}", celsius(&window));
    switch(&mut window);
    type_into(&mut window, "Air temperature", "41 F");
    assert!((celsius(&window) - 5.0).abs() < 1e-9, "{}", celsius(&window));
}

#[test]
fn a_slider_starts_and_ends_at_round_numbers_in_both_units() {
    let height = Setting::everywhere(KnobId::HEIGHT);
    for units in Units::ALL {
        let range = height.slider_range(units);
        assert_eq!((range.start() % 5.0, range.end() % 5.0), (0.0, 0.0), "{units:?}");
        let allowed = height.allowed_range(units);
        assert!(allowed.contains(range.start()) && allowed.contains(range.end()));
    }
}

/// Derived: the made-up yard is flown under the rule of 120 m, or of 400 ft: cautions on the board speak the units chosen, and
/// bring the other system in brackets only for what a law states in it.
#[test]
fn cautions_follow_the_units() {
    use obliquity_planning::{Depth, HeightRule, NoWatch};
    let engine = witness();
    for (rule, law) in [(HeightRule::EuOpen, Units::Metric), (HeightRule::UsPart107, Units::UsCustomary)] {
        let mut scenario = crate::made_up::scenario();
        scenario.conditions.height_rule = rule;
        scenario.conditions.pilot_distance_m = 40.0;
        let scenario = std::sync::Arc::new(scenario);
        let (mut lengths, mut quoted) = (0, 0);
        for strategy in &scenario.strategies {
            let outcome =
                engine.evaluate(&scenario, strategy.id, Depth::Spread, &NoWatch).expect("evaluated");
            for caution in &outcome.cautions {
                for units in Units::ALL {
                    let (own, other) = if units.is_us() { (" ft", " m") } else { (" m", " ft") };
                    let text = caution.text.in_units(units).to_owned() + " ";
                    let ends = |sign: &str, ends: &[&str]| {
                        ends.iter().any(|end| text.contains(&format!("{sign}{end}")))
                    };
                    let plain = |sign: &str| ends(sign, &[" ", ",", ";", ":"]);
                    let has = |sign: &str| plain(sign) || ends(sign, &[")"]);
                    lengths += usize::from(has(own));
                    if has(other) {
                        assert!(units.is_us() != law.is_us() && has(own), "{units:?}: {text}");
                        assert!(!plain(other), "in brackets: {text}");
                        quoted += 1;
                    }
                }
            }
        }
        assert!(lengths >= 9 && quoted >= 1, "{lengths} {quoted}");
    }
}

/// Derived: 300 m are 984 ft: chosen in the window, the board's cautions are in feet at once.
#[test]
fn the_window_tells_cautions_in_its_units() {
    let mut scenario = crate::made_up::scenario();
    scenario.conditions.pilot_distance_m = 40.0;
    let mut window = crate::window::window(obliquity::document::Document::new(scenario, None));
    window.state_mut().open_on_board("cautions");
    crate::window::settle(&mut window);
    assert!(window.query_all_by_label_contains("more than the 40 m set").next().is_some());
    switch(&mut window);
    crate::window::settle(&mut window);
    assert!(window.query_all_by_label_contains("more than the 131 ft set").next().is_some());
    assert!(window.query_all_by_label_contains("more than the 40 m set").next().is_none());
}
