//! Nothing that may take long begins on the window's thread: everything long is done once in a window with threads of its
//! own, and what began within its frames is counted.

use crate::made_up::{self, CROSSED};
use crate::opened::{Window, click, press, press_shifted, shows};
use crate::window::{nothing_long_began, settle};
use egui::Key;
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable;
use obliquity::app::{App, Screen};
use obliquity::document::Document;
use obliquity::preferences::Home;
use obliquity::theme::Mode;
use obliquity_exchange::{BlocksChoice, save_scenario};
use obliquity_planning::Hold;
use std::fs;
use std::path::Path;
use std::time::{Duration, Instant};

/// Long enough for a busy machine, and never waited for in full.
const PATIENCE: Duration = Duration::from_mins(1);

fn window_at(folder: &Path) -> Window {
    let folder = folder.to_owned();
    let size = [1280.0, 1100.0];
    let mut window = Harness::builder().with_size(size).with_max_steps(40).build_eframe(move |creation| {
        let ctx = &creation.egui_ctx;
        App::new(ctx, Document::new(made_up::scenario(), None), Mode::Light)
            .with_home(ctx, Home::at(folder))
            .with_blocks(BlocksChoice::Asked)
    });
    settle(&mut window);
    window
}

/// Steps until something is so.
fn until(window: &mut Window, what: &str, is_so: impl Fn(&Window) -> bool) {
    let begun = Instant::now();
    while !is_so(window) {
        assert!(begun.elapsed() < PATIENCE, "waited in vain for {what}");
        window.step();
        std::thread::sleep(Duration::from_millis(2));
    }
}

fn type_path(window: &mut Window, key: Key, path: &Path) {
    press_shifted(window, key);
    window.get_by(|node| node.role() == egui::accesskit::Role::TextInput && node.is_focused()).focus();
    press(window, Key::A);
    let field = window.get_by(|node| node.role() == egui::accesskit::Role::TextInput && node.is_focused());
    field.type_text(path.to_str().unwrap());
    window.step();
    window.key_press(Key::Enter);
    window.step();
}

/// Derived: the rule itself. Files read and written, pictures, what is held equal, advice and shade.
#[test]
fn nothing_long_begins_on_the_windows_thread() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    save_scenario(&at("yard.ron"), &made_up::scenario()).unwrap();
    let grid = "ncols 3\nnrows 3\nxllcorner -500\nyllcorner -500\ncellsize 600\n1 2 3\n4 5 6\n7 8 9\n";
    fs::write(at("yard.asc"), grid).unwrap();
    let ring = "[[-98.7,-31.4],[-98.698,-31.4],[-98.698,-31.398],[-98.7,-31.398],[-98.7,-31.4]]";
    let boundary = format!(r#"{{"type":"Polygon","coordinates":[{ring}]}}"#);
    fs::write(at("pit.geojson"), boundary).unwrap();
    let mut window = window_at(&at("own"));

    type_path(&mut window, Key::O, &at("yard.ron"));
    until(&mut window, "the scenario", |window| window.state().document().title() == "yard.ron");
    settle(&mut window);
    window.state_mut().focus_on(CROSSED);
    for hold in [Hold::Gsd, Hold::Height, Hold::TimeOnSite] {
        window.state_mut().hold(Some(hold));
        let held = |window: &Window| window.state().document().holding().is_some_and(|now| now.hold == hold);
        until(&mut window, "what is held equal", held);
    }
    // A search of many settings: begun, seen to run beside the window, and let go.
    window.state_mut().hold(Some(Hold::Requirement));
    until(&mut window, "a search", |window| window.state().waited_for().is_some());
    window.step();
    window.state_mut().hold(None);
    until(&mut window, "the search's end", |window| window.state().waited_for().is_none());
    assert_eq!(window.state().document().holding(), None);
    press_shifted(&mut window, Key::H);
    press(&mut window, Key::S);
    until(&mut window, "the file", |window| !window.state().document().is_changed());
    type_path(&mut window, Key::F, &at("card.png"));
    until(&mut window, "the picture", |_| at("card.png").is_file());
    type_path(&mut window, Key::T, &at("card.txt"));
    until(&mut window, "the text", |_| at("card.txt").is_file());

    window.state_mut().advise_on_corners();
    until(&mut window, "corners", |window| window.state().waited_for().is_none());
    window.state_mut().advise_on_wind();
    until(&mut window, "directions", |window| window.state().waited_for().is_none());
    window.state_mut().turn_to(Screen::CONDITIONS);
    until(&mut window, "shade", |window| shows(window, "shadow"));
    press(&mut window, Key::B);

    type_path(&mut window, Key::E, &at("yard.asc"));
    until(&mut window, "terrain's question", |window| shows(window, "Which coordinates is the terrain in?"));
    click(&mut window, "Cancel");
    type_path(&mut window, Key::I, &at("pit.geojson"));
    let another = |window: &Window| window.state().document().scenario().site.name != "Yard";
    until(&mut window, "the boundary", |window| another(window) || shows(window, "would go"));
    window.run_ok();
    press(&mut window, Key::D);
    until(&mut window, "the preferences", |_| {
        fs::read_dir(at("own")).is_ok_and(|mut all| all.next().is_some())
    });
    nothing_long_began();
}
