//! Requirement, conditions and rates on their screen.

use crate::opened::{Window, click, press, press_shifted, shows, type_number, yard};
use crate::window::{settle, shared};
use egui::Key;
use egui_kittest::Harness;
use egui_kittest::kittest::{NodeT, Queryable};
use obliquity::app::{App, Screen};
use obliquity::document::Document;
use obliquity::theme::Mode;
use obliquity_planning::{HeightRule, SurfaceClass};

#[test]
fn terms_are_edited_and_undone() {
    let mut window = yard();
    press_shifted(&mut window, Key::W);
    type_number(&mut window, "Battery sets", "1");
    press(&mut window, Key::T);
    type_number(&mut window, "Coverage of walls", "65");
    let scenario = window.state().document().scenario().clone();
    assert_eq!(scenario.conditions.battery_sets, 1);
    assert_eq!(scenario.requirement.coverage[SurfaceClass::Wall], Some(0.65));
    click(&mut window, "Set the time on site");
    assert_eq!(window.state().document().scenario().requirement.time_on_site_min, None);
    click(&mut window, "Set the images");
    assert!(window.state().document().scenario().requirement.images.is_some());
    for undone in ["Images", "Time on site", "Coverage of walls", "Battery sets"] {
        assert_eq!(window.state().document().undo_label(), Some(undone));
        press(&mut window, Key::Z);
    }
    assert!(!window.state().document().is_changed());
}

#[test]
fn a_height_limit_of_ones_own_is_typed_in_feet() {
    let mut window = yard();
    press_shifted(&mut window, Key::W);
    click(&mut window, "A limit of my own");
    type_number(&mut window, "Height limit", "300 ft");
    let HeightRule::Custom { limit_m } = window.state().document().scenario().conditions.height_rule else {
        panic!("the rule is not one's own")
    };
    assert!((limit_m - 91.44).abs() < 0.51, "the number shows whole metres");
    press(&mut window, Key::U);
    assert!(shows(&window, "Height limit"));
    assert!(!window.state().document().scenario().faults().iter().any(|fault| fault.path.contains("height")));
}

/// What the site does not have is not judged, and the screen on which it is asked for says so.
#[test]
fn classes_that_are_not_modelled_are_marked() {
    for (file, marked) in
        [("hamlet.kml", ["roof", "wall", "underside"].as_slice()), ("", ["underside"].as_slice())]
    {
        let scenario = if file.is_empty() {
            crate::made_up::scenario()
        } else {
            let examples = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples");
            obliquity::files::read(&examples.join(file)).unwrap().scenario
        };
        let mut app = shared(App::still(Document::new(scenario, None)));
        app.work_out();
        let mut window: Window =
            Harness::builder().with_size([1280.0, 1100.0]).with_max_steps(60).build_eframe(move |creation| {
                obliquity::theme::install(&creation.egui_ctx, Mode::Light);
                app
            });
        window.run_ok();
        press(&mut window, Key::T);
        for class in SurfaceClass::ALL {
            let told = shows(&window, &format!("{}: not modelled: not judged", class.name()));
            assert_eq!(told, marked.contains(&class.name()), "{file}: {}", class.name());
        }
    }
}

/// A sentence that belongs to earlier terms says so on every screen on which terms are edited.
#[test]
fn a_stale_sentence_is_marked_beside_the_terms() {
    for key in [Key::T, Key::W] {
        let mut app = shared(App::still(Document::new(crate::made_up::scenario(), None)));
        app.work_out();
        let mut window: Window =
            Harness::builder().with_size([1280.0, 1100.0]).with_max_steps(60).build_eframe(move |creation| {
                obliquity::theme::install(&creation.egui_ctx, Mode::Light);
                app
            });
        window.run_ok();
        let open = |window: &mut Window| match key {
            Key::T => press(window, key),
            _ => press_shifted(window, key),
        };
        open(&mut window);
        assert!(!shows(&window, "updating"), "fresh figures are not marked");
        let before = window.get_by_label("Requirement").rect();
        match key {
            Key::T => type_number(&mut window, "GSD on walls", "3.1"),
            _ => type_number(&mut window, "Battery sets", "1"),
        }
        assert!(shows(&window, "updating"), "{key:?}");
        assert_eq!(window.get_by_label("Requirement").rect(), before, "nothing moves");
    }
}

#[test]
fn what_is_typed_beyond_the_limits_changes_nothing_and_says_so() {
    let mut window = yard();
    press_shifted(&mut window, Key::W);
    let before = window.state().document().scenario().conditions.blur_px;
    type_number(&mut window, "Motion blur", "900");
    assert_eq!(window.state().document().scenario().conditions.blur_px, before);
    assert!(shows(&window, "it must be from 0.01 px to 20 px, but 900 is not"));
}

/// Derived: without a price the board says what to enter, and a click leads to where that is; once it is entered every strategy
/// shows what the job leaves, the price less what is set, and undo takes it back.
#[test]
fn a_price_is_entered_where_the_board_asks_for_it() {
    let mut window = yard();
    window.get_all_by_label_contains("enter the job's price").next().unwrap().focus();
    window.run_ok();
    window.key_press(Key::Enter);
    window.run_ok();
    assert_eq!(window.state().screen_shown(), Screen::REQUIREMENT);
    click(&mut window, "Set the price of the job");
    type_number(&mut window, "Price of the job", "1800");
    type_number(&mut window, "Sign-off", "300");
    let named = window.get_all_by_label("Currency").find(|node| node.accesskit_node().is_text_input());
    named.unwrap().focus();
    window.run_ok();
    window
        .get_all_by_label("Currency")
        .find(|node| node.accesskit_node().is_text_input())
        .unwrap()
        .type_text("crowns");
    window.run_ok();
    let job = window.state().document().scenario().job.clone();
    assert_eq!((job.price, job.sign_off, job.currency.as_str()), (Some(1800.0), 300.0, "crowns"));
    window.state_mut().turn_to(Screen::BOARD);
    settle(&mut window);
    let board = window.state().board().unwrap();
    let money = board.bands.iter().find(|band| band.title == "Money").unwrap();
    let labels: Vec<&str> = money.rows.iter().map(|row| row.label.as_str()).collect();
    assert_eq!(labels[..2], ["contribution, crowns", "for the area"]);
    assert_eq!(labels.len(), 10);
    assert!(money.rows[0].cells.iter().all(|cell| cell.text == "1\u{a0}500"), "{:?}", money.rows[0].cells);
    let said = &money.rows[0].cells[0].spoken;
    assert!(
        said.contains("costs nothing so far: wage of the crew, battery set, workstation and wage"),
        "{said}"
    );
    assert_eq!(window.state().document().undo_label(), Some("currency"));
}
