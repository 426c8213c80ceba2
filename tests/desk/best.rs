//! Each at its best and the trade-off, found by what a screen reader would say.

use crate::made_up::{self, CROSSED};
use crate::opened::{press, press_at_once, press_shifted};
use crate::window::{nothing_long_began, settle, shared, window, witness};
use egui::Key;
use egui::accesskit::Role;
use egui_kittest::Harness;
use egui_kittest::kittest::{NodeT, Queryable};
use obliquity::app::{App, Screen};
use obliquity::document::Document;
use obliquity::engine::Engine;
use obliquity::files;
use obliquity::theme::Mode;
use obliquity_exchange::{Units, setting_text};
use obliquity_planning::what_if::{ToSpare, TuneAsk, TuneResult, Tuned};
use obliquity_planning::{Depth, Hold, Id, MeasureId, NoWatch, Scenario};
use std::sync::Arc;
use std::time::{Duration, Instant};

type Window = Harness<'static, App>;

/// Two strategies of the yard, looked at in few places: searches take no time then.
pub(crate) fn small() -> Scenario {
    let mut scenario = made_up::sampled(20.0);
    scenario.requirement.coverage.wall = None;
    scenario.strategies.truncate(2);
    scenario
}

fn yard() -> Window {
    let mut window = window(Document::new(small(), None));
    settle(&mut window);
    window
}

fn best() -> Window {
    let mut window = yard();
    click(&mut window, "Best");
    window
}

fn click(window: &mut Window, label: &str) {
    window.get_by_label(label).click();
    window.run_ok();
    nothing_long_began();
}

fn scenario(window: &Window) -> Scenario {
    (**window.state().document().scenario()).clone()
}

/// What a search of the usual settings finds.
fn tuned(scenario: &Scenario, strategy: Id) -> (TuneAsk, Tuned) {
    let ask = TuneAsk::usual(scenario, strategy, MeasureId::TimeOnSite, ToSpare::default());
    let ask = ask.expect("has something to set");
    let tuned = witness().tune(scenario, &ask, &|_| {}, &NoWatch).expect("searched");
    (ask, tuned)
}

fn said(window: &Window, text: &str) -> bool {
    window.query_all_by_label_contains(text).next().is_some()
}

/// Derived: the row of every strategy says the setting that a search of the same settings finds; adopted, the strategy stands
/// there and meets the requirement; undo takes it back in one step.
#[test]
fn settings_are_searched_adopted_and_taken_back() {
    let mut window = best();
    let before = scenario(&window);
    assert!(said(&window, "not searched yet"));
    click(&mut window, "Search every strategy's settings");
    let mut best = 0;
    for strategy in &before.strategies {
        let (ask, tuned) = tuned(&before, strategy.id);
        let looked = tuned.foremost().expect("can be flown");
        let setting = setting_text(&before, &ask, &looked.values, Units::Metric);
        let told = format!("Setting found for {}: {setting}", strategy.name);
        assert!(said(&window, &told), "{told}");
        if !matches!(tuned.found, TuneResult::Best(_)) || ask.stands_at(&before, &looked.values) {
            continue;
        }
        best += 1;
        click(&mut window, &format!("Adopt what was found for {}", strategy.name));
        let after = scenario(&window);
        assert!(ask.stands_at(&after, &looked.values));
        // Not from what the search has kept.
        let outcome =
            Engine::default().evaluate(&after, strategy.id, Depth::Views, &NoWatch).expect("evaluated");
        assert_eq!(outcome.meets(), Some(true));
        let label = format!("setting of {}", strategy.name);
        assert_eq!(window.state().document().undo_label(), Some(label.as_str()));
        window.key_press_modifiers(egui::Modifiers::COMMAND, Key::Z);
        window.run_ok();
        assert_eq!(scenario(&window), before);
    }
    assert!(best > 0, "one of them has a best setting");
    click(&mut window, "Adopt all that meet");
    assert_ne!(scenario(&window), before);
    window.key_press_modifiers(egui::Modifiers::COMMAND, Key::Z);
    window.run_ok();
    assert_eq!(scenario(&window), before, "all of them are one step");
}

/// Some frames, of a window that is drawn anew again and again while something goes on.
fn frames(window: &mut Window) {
    for _ in 0..8 {
        window.step();
    }
}

/// Derived: while a search goes on the screen tells how much of all has been looked at and what stands foremost so far; called off,
/// that stays, and can be adopted.
#[test]
fn a_search_tells_how_far_it_is_and_is_called_off() {
    let document = Document::new(files::demo().expect("the demo opens"), None);
    let mut window =
        Harness::builder().with_size([1280.0, 800.0]).with_max_steps(40).build_eframe(move |creation| {
            let mut app = shared(App::new(&creation.egui_ctx, document, Mode::Light));
            app.turn_to(Screen::BEST);
            app.search_settings();
            app
        });
    let until = Instant::now() + Duration::from_mins(2);
    let tells = |window: &Window| {
        let found = window.state().table().is_some_and(|table| table.contains("so far GSD"));
        found && said(window, "of 29\u{a0}791 settings looked at") && said(window, "strategies done")
    };
    while !tells(&window) && Instant::now() < until {
        window.step();
        std::thread::sleep(Duration::from_millis(20));
    }
    assert!(tells(&window), "nothing is told of a search that goes on");
    window.get_by_label("Cancel the search").click();
    frames(&mut window);
    assert!(said(&window, "called off; ") && said(&window, "of 29\u{a0}791 settings looked at"));
    assert!(window.query_by_label("Cancel the search").is_none(), "nothing goes on");
    let adopt =
        window.query_all_by_label_contains("Adopt what was found for").next().expect("something was found");
    adopt.click();
    frames(&mut window);
    let label = window.state().document().undo_label().expect("an edit").to_owned();
    assert!(label.starts_with("setting of "), "{label}");
}

/// Derived: what is not ticked stays as it is, and what was found is told no more once the scenario is another one.
#[test]
fn what_is_not_ticked_stays_and_what_is_outdated_is_not_offered() {
    let mut window = best();
    let before = scenario(&window);
    click(&mut window, "Search sidelap of Crossed strips");
    click(&mut window, "Search every strategy's settings");
    click(&mut window, "Adopt what was found for Crossed strips");
    let after = scenario(&window);
    let sidelaps = |scenario: &Scenario| -> Vec<f64> {
        scenario.strategy(CROSSED).expect("there").passes.iter().map(|pass| pass.sidelap).collect()
    };
    assert_eq!(sidelaps(&after), sidelaps(&before));
    assert_ne!(after, before, "something else was set");
    assert!(!said(&window, "search again"), "what a strategy was set to changes nothing of what was found");
    click(&mut window, "Board");
    settle(&mut window);
    window
        .get_by_role_and_label(egui::accesskit::Role::Slider, "Forward overlap of Nadir block")
        .set_value_accesskit(85.0);
    window.step();
    settle(&mut window);
    click(&mut window, "Best");
    assert!(said(&window, "the scenario has changed since: search again"));
    assert!(window.query_by_label("Adopt what was found for Nadir block").is_none());
}

/// Derived: the front is walked from the keyboard, and Enter sets the strategy to what is picked, in one step.
#[test]
fn a_setting_is_picked_on_the_front_and_adopted() {
    let mut window = best();
    let before = scenario(&window);
    click(&mut window, "Search every strategy's settings");
    click(&mut window, "Front: to the right");
    assert!(said(&window, "Picked: "));
    click(&mut window, "Front: to the right");
    window.query_all_by_label_contains("on the Pareto front").next().expect("the diagram").focus();
    window.run_ok();
    window.key_press(Key::ArrowLeft);
    window.run_ok();
    window.key_press(Key::Enter);
    window.run_ok();
    let after = scenario(&window);
    assert_ne!(after, before);
    let label = window.state().document().undo_label().expect("an edit").to_owned();
    assert!(label.starts_with("setting of "), "{label}");
    window.key_press_modifiers(egui::Modifiers::COMMAND, Key::Z);
    window.run_ok();
    assert_eq!(scenario(&window), before);
    click(&mut window, "Adopt the setting picked");
    assert_eq!(scenario(&window), after, "the button does the same");
}

/// Derived: keys that come between two frames are all done: two steps along the front and Enter set what the same keys set that
/// come one by one.
#[test]
fn steps_along_the_front_are_not_lost() {
    let adopted = |one_by_one: bool| {
        let mut window = best();
        click(&mut window, "Search every strategy's settings");
        window.query_all_by_label_contains("on the Pareto front").next().expect("the diagram").focus();
        window.run_ok();
        let keys = [Key::ArrowRight, Key::ArrowRight, Key::ArrowRight, Key::Enter];
        if one_by_one {
            for key in keys {
                press_at_once(&mut window, &[key]);
            }
        } else {
            press_at_once(&mut window, &keys);
        }
        scenario(&window)
    };
    let slowly = adopted(true);
    assert_ne!(slowly, small());
    assert_eq!(adopted(false), slowly);
}

/// Derived: keys open the screen, search and adopt all, as the buttons do; nothing that was not found is adopted.
#[test]
fn settings_are_searched_and_adopted_by_keys() {
    let (mut by_keys, mut by_buttons) = (yard(), best());
    let before = scenario(&by_keys);
    by_keys.key_press(Key::F7);
    by_keys.run_ok();
    assert_eq!(scenario(&by_keys), before, "nothing was found yet");
    press(&mut by_keys, Key::K);
    by_keys.get_by_label("Find a command").type_text("adopt all");
    by_keys.run_ok();
    let listed = by_keys.get_by_role_and_label(Role::Button, "Adopt all that meet");
    assert!(listed.accesskit_node().is_disabled(), "it cannot be done yet");
    by_keys.key_press(Key::Escape);
    by_keys.run_ok();
    press(&mut by_keys, Key::H);
    assert_eq!(by_keys.state().screen_shown(), Screen::BEST);
    press_shifted(&mut by_keys, Key::R);
    assert_eq!(by_keys.state().screen_shown().name(), "curves");
    by_keys.key_press(Key::F6);
    by_keys.run_ok();
    assert_eq!(by_keys.state().screen_shown(), Screen::BEST, "what is searched is shown");
    by_keys.key_press(Key::F7);
    by_keys.run_ok();
    click(&mut by_buttons, "Search every strategy's settings");
    click(&mut by_buttons, "Adopt all that meet");
    assert_ne!(scenario(&by_keys), before);
    assert_eq!(scenario(&by_keys), scenario(&by_buttons));
}

/// Derived: held equal, every strategy that is within reach meets the requirement, whoever leads; a name changes nothing of
/// that, and moving a setting ends it.
#[test]
fn the_requirement_is_held_until_something_moves() {
    let mut window = yard();
    let before = scenario(&window);
    window.state_mut().hold(Some(Hold::Requirement));
    window.run_ok();
    let held = scenario(&window);
    assert_ne!(held, before);
    let holding = window.state().document().holding().expect("held").clone();
    assert_eq!(window.state().document().undo_label(), Some("equal requirement"));
    for strategy in &held.strategies {
        let outcome =
            Engine::default().evaluate(&held, strategy.id, Depth::Views, &NoWatch).expect("evaluated");
        let is_out = holding.out_of_reach.contains(&strategy.id);
        assert!(is_out || outcome.meets() == Some(true), "{}", strategy.name);
    }
    settle(&mut window);
    let note = window.state().board().expect("drawn").hold_note.clone();
    for id in &holding.out_of_reach {
        assert!(note.contains(&held.strategy(*id).expect("there").name), "{note}");
    }
    window
        .get_by_role_and_label(egui::accesskit::Role::Slider, "Sidelap of Nadir block")
        .set_value_accesskit(62.0);
    window.step();
    assert_eq!(window.state().document().holding(), None);
    for _ in 0..2 {
        window.key_press_modifiers(egui::Modifiers::COMMAND, Key::Z);
        window.run_ok();
    }
    assert_eq!(scenario(&window), before, "all that followed is one step");
}

/// Derived: it is proposed where cameras differ and nothing is held, and one click does it.
#[test]
fn the_requirement_is_proposed_where_aircraft_differ() {
    const PROPOSED: &str = "Aircraft differ: hold requirement equal";
    assert!(!said(&yard(), PROPOSED));
    let mut scenario = small();
    let mut equipment = (*scenario.equipment).clone();
    let mut other = equipment.aircraft[0].clone();
    (other.id, other.name) = (Id(2), "Wheatear".to_owned());
    (other.camera.width_px, other.camera.height_px) = (8000, 6000);
    equipment.aircraft.push(other);
    scenario.equipment = Arc::new(equipment);
    for strategy in &mut scenario.strategies {
        if strategy.id == CROSSED {
            strategy.aircraft = Id(2);
        }
    }
    let mut window = window(Document::new(scenario, None));
    settle(&mut window);
    click(&mut window, PROPOSED);
    let holding = window.state().document().holding().expect("held");
    assert_eq!(holding.hold, Hold::Requirement);
    assert!(!said(&window, PROPOSED));
}

/// Derived: at 640 by 400 points rows and diagram have at least 70 % of the width, and searching needs no choices.
#[test]
fn in_a_narrow_window_the_trade_off_has_the_width() {
    let mut window = best();
    window.set_size(egui::vec2(640.0, 400.0));
    window.run_ok();
    click(&mut window, "Search every strategy's settings");
    let spoken = window.state().charts().expect("a diagram")[0].spoken.clone();
    let diagram = window.get_by_label(&spoken).rect();
    assert!(diagram.width() >= 0.7 * 640.0, "{diagram:?}");
    assert!(window.query_by_label_contains("What is to be least").is_none(), "folded away");
    click(&mut window, "Choices");
    assert!(window.query_by_label_contains("What is to be least").is_some());
}
