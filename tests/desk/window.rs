//! The window, found by what a screen reader would say.

use crate::made_up::{self, CROSSED};
use egui::accesskit::Role;
use egui::{Key, Modifiers};
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable;
use obliquity::app::App;
use obliquity::board::{Board, SETTINGS, Verdict};
use obliquity::document::Document;
use obliquity::engine::Engine;
use obliquity::figures::Freshness;
use obliquity::files;
use obliquity::theme::Mode;
use obliquity_exchange::{BlocksChoice, read_scenario, save_scenario};
use obliquity_planning::Distance;
use std::fs;
use std::sync::{Arc, LazyLock};
use std::time::{Duration, Instant};

/// Long enough for a busy machine, and never waited for in full.
const PATIENCE: Duration = Duration::from_mins(1);

/// The engines of nearly all windows: one for what is shown everywhere, one for what tries many settings.
static ENGINES: LazyLock<(Engine, Engine)> = LazyLock::new(|| (Engine::default(), Engine::aside()));

/// An app that works out nothing that another window has worked out before, nor blocks that nobody looks at: those of windows that
/// are not about them would take the cores from all other tests.
pub(crate) fn shared(app: App) -> App {
    app.with_engines(&ENGINES.0, &ENGINES.1).with_blocks(BlocksChoice::Asked)
}

/// What tests evaluate by themselves: beside the windows' store, so that no window is held against its own result.
static WITNESS: LazyLock<Engine> = LazyLock::new(Engine::default);

/// An engine for what a test evaluates by itself: many ask for the same, which is worked out once for all of them. Tests of how
/// long something takes, or of what is kept, have one of their own.
pub(crate) fn witness() -> &'static Engine {
    &WITNESS
}

/// A window whose board has its settings open: most tests move them.
pub(crate) fn window(document: Document) -> Harness<'static, App> {
    Harness::builder().with_size([1280.0, 800.0]).with_max_steps(40).build_eframe(move |creation| {
        let mut app = shared(App::new(&creation.egui_ctx, document, Mode::Light)).at_once();
        app.open_on_board(SETTINGS);
        app
    })
}

pub(crate) fn yard() -> Harness<'static, App> {
    let mut window = window(Document::new(made_up::scenario(), None));
    // Figures that come in later would move what is pressed.
    settle(&mut window);
    window
}

/// Steps until nothing is being worked out.
pub(crate) fn settle(window: &mut Harness<'static, App>) {
    let begun = Instant::now();
    loop {
        window.step();
        let board = window.state().board().unwrap();
        if board.columns.iter().all(|column| column.freshness == Freshness::Fresh)
            || begun.elapsed() > PATIENCE
        {
            nothing_long_began();
            return;
        }
        std::thread::sleep(Duration::from_millis(5));
    }
}

/// Steps until the block of the strategy in focus is adjusted.
pub(crate) fn settle_block(window: &mut Harness<'static, App>) {
    let begun = Instant::now();
    // What is pressed is done in the next frame, and asked for in the one after.
    for _ in 0..3 {
        window.step();
    }
    while window.query_all_by_label_contains("The block is adjusted, ").next().is_some() {
        assert!(begun.elapsed() < PATIENCE, "the block does not come");
        std::thread::sleep(Duration::from_millis(5));
        window.step();
    }
    window.run_ok();
    nothing_long_began();
}

/// No work that may take longer than a frame has began on this thread within a frame.
pub(crate) fn nothing_long_began() {
    #[cfg(debug_assertions)]
    assert_eq!(obliquity::long::found(), [""; 0], "began on the window's thread");
}

/// The count as it is written, thousands set apart, without what was skipped.
fn images(board: &Board, column: usize) -> String {
    let band = board.bands.iter().find(|band| band.title == "Images").unwrap();
    band.rows[0].cells[column].text.split(' ').next().unwrap().to_owned()
}

/// Whether something on the screen has a label that contains a text.
fn said(window: &Harness<'static, App>, text: &str) -> bool {
    window.query_all_by_label_contains(text).next().is_some()
}

fn height_m(window: &Harness<'static, App>) -> f64 {
    let strategy = window.state().document().scenario().strategy(CROSSED).unwrap().clone();
    if let Distance::Height { m, .. } = strategy.passes[0].distance { m } else { f64::NAN }
}

#[test]
fn a_height_is_changed_and_the_count_follows() {
    let mut window = yard();
    window.run_ok();
    let before = images(window.state().board().unwrap(), 1);
    assert!(said(&window, &format!("Images, images of Crossed strips: {before}")));
    window.get_by_role_and_label(Role::Slider, "Height of Crossed strips").set_value_accesskit(40.0);
    window.step();
    window.step();
    let after = images(window.state().board().unwrap(), 1);
    let count = |text: &str| text.replace('\u{a0}', "").parse::<u32>().unwrap();
    assert!(count(&after) > count(&before));
    assert!(said(&window, &format!("Images, images of Crossed strips: {after}")));
    assert!((height_m(&window) - 40.0).abs() < 1e-9, "the slider's own step is 1 m");
}

#[test]
fn coverage_arrives_from_the_worker_and_is_stale_after_an_edit() {
    let mut window = yard();
    settle(&mut window);
    let board = window.state().board().unwrap();
    assert!(
        board
            .columns
            .iter()
            .all(|c| matches!(c.verdict, Verdict::Meets | Verdict::Misses | Verdict::Infeasible))
    );
    assert_eq!(board.sentence.freshness, Freshness::Fresh);
    let bands = board.bands.iter().filter(|band| band.title != "Accuracy");
    assert!(bands.flat_map(|band| &band.rows).all(|row| row.cells[0].text != "…"));
    window.get_by_role_and_label(Role::Slider, "Height of Crossed strips").set_value_accesskit(45.0);
    window.step();
    window.step();
    settle(&mut window);
    assert_eq!(window.state().board().unwrap().sentence.freshness, Freshness::Fresh);
}

#[test]
fn a_drag_is_undone_in_one_step() {
    let mut window = yard();
    window.run_ok();
    let slider = window.get_by_role_and_label(Role::Slider, "Height of Crossed strips").rect();
    let at = |share: f32| egui::pos2(slider.left() + share * slider.width(), slider.center().y);
    window.drag_at(at(0.45));
    window.run_ok();
    for share in [0.55, 0.65, 0.8] {
        window.hover_at(at(share));
        window.run_ok();
    }
    window.drop_at(at(0.8));
    window.run_ok();
    assert!(height_m(&window) > 100.0, "four fifths of 15 to 150 m");
    assert!(window.state().document().is_changed());
    window.key_press_modifiers(Modifiers::COMMAND, Key::Z);
    window.run_ok();
    assert!((height_m(&window) - 80.0).abs() < 1e-9, "as it was made up");
    window.key_press_modifiers(Modifiers::COMMAND.plus(Modifiers::SHIFT), Key::Z);
    window.run_ok();
    assert!(height_m(&window) > 100.0);
}

/// Derived: accuracy comes after coverage without being asked for, unless the user prefers otherwise; an edit makes it stale,
/// and it comes again.
#[test]
fn blocks_follow_coverage_in_their_own_time() {
    let mut scenario = made_up::scenario();
    scenario.strategies.truncate(1);
    let mut window = window(Document::new(scenario, None));
    let accuracy = |window: &Harness<'static, App>| {
        let board = window.state().board().unwrap();
        let band = board.bands.iter().find(|band| band.title == "Accuracy").unwrap();
        (band.rows[0].cells[0].freshness, band.rows[0].cells[0].text.clone())
    };
    settle(&mut window);
    window.run_ok();
    let (freshness, text) = accuracy(&window);
    assert!(freshness == Freshness::Pending && text.starts_with("not worked out: "), "{text}");
    let come = |window: &mut Harness<'static, App>| {
        let begun = Instant::now();
        while accuracy(window).0 != Freshness::Fresh && begun.elapsed() < PATIENCE {
            std::thread::sleep(Duration::from_millis(5));
            window.step();
        }
        accuracy(window)
    };
    window.state_mut().adjust_blocks(BlocksChoice::Beside);
    let (freshness, first) = come(&mut window);
    assert_eq!(freshness, Freshness::Fresh);
    assert!(first.ends_with(" mm"), "{first}");
    window.get_by_role_and_label(Role::Slider, "Height of Nadir block").set_value_accesskit(45.0);
    window.step();
    window.step();
    assert_eq!(accuracy(&window).0, Freshness::Stale);
    assert_eq!(come(&mut window).0, Freshness::Fresh);
    nothing_long_began();
}

/// Derived: a block that nobody has asked for is worked out once its cell is reached by the keyboard and Enter is pressed.
#[test]
fn a_block_is_asked_for_by_the_keyboard() {
    let mut scenario = made_up::scenario();
    scenario.strategies.truncate(1);
    let mut window = window(Document::new(scenario, None));
    settle(&mut window);
    window.run_ok();
    let offer = "Accuracy, vertical RMSE of Nadir block: not worked out: ";
    window.get_by_label_contains(offer).focus();
    window.step();
    window.key_press(Key::Enter);
    window.step();
    let begun = Instant::now();
    while said(&window, offer) || !said(&window, " mm") {
        assert!(begun.elapsed() < PATIENCE, "it does not come");
        std::thread::sleep(Duration::from_millis(5));
        window.step();
    }
    nothing_long_began();
}

/// Derived: while the pointer moves a slider nothing is begun that the next frame would give up, and what is shown is stale; once
/// the pointer rests, still pressed, coverage comes.
#[test]
fn coverage_waits_until_a_gesture_pauses() {
    let mut window = yard();
    let slider = window.get_by_role_and_label(Role::Slider, "Height of Crossed strips").rect();
    let at = |share: f32| egui::pos2(slider.left() + share * slider.width(), slider.center().y);
    window.drag_at(at(0.45));
    window.step();
    for k in 0..12_u8 {
        let before = Arc::clone(window.state().document().scenario());
        window.hover_at(at(0.2 + 0.05 * f32::from(k)));
        window.step();
        assert!(!Arc::ptr_eq(&before, window.state().document().scenario()), "{k}: the slider moves");
        assert!(!window.state().figures_are_on_their_way(), "{k}: coverage is begun");
    }
    let freshness = |window: &Harness<'static, App>| window.state().board().unwrap().columns[1].freshness;
    assert_eq!(freshness(&window), Freshness::Stale);
    window.step();
    window.step();
    settle(&mut window);
    assert!(window.state().document().in_gesture(), "the pointer is still down");
    assert_eq!(freshness(&window), Freshness::Fresh);
    window.drop_at(at(0.75));
    window.run_ok();
    assert_eq!(freshness(&window), Freshness::Fresh);
}

#[test]
fn a_number_can_be_typed() {
    let mut window = yard();
    window.run_ok();
    let number = window.get_by_label("Sidelap of Crossed strips, as a number");
    number.focus();
    window.run_ok();
    window.key_press_modifiers(Modifiers::COMMAND, Key::A);
    window.run_ok();
    window.get_by_label("Sidelap of Crossed strips, as a number").type_text("65");
    window.run_ok();
    window.key_press(Key::Enter);
    window.run_ok();
    let strategy = window.state().document().scenario().strategy(CROSSED).unwrap().clone();
    assert!(strategy.passes.iter().all(|pass| (pass.sidelap - 0.65).abs() < 1e-9), "both passes alike");
}

/// Opens the typed-path dialog by its key, types a path and presses Enter.
fn type_path(window: &mut Harness<'static, App>, key: Key, path: &str) {
    window.key_press_modifiers(Modifiers::COMMAND.plus(Modifiers::SHIFT), key);
    window.run_ok();
    window.get_by(|node| node.role() == Role::TextInput && node.is_focused()).type_text(path);
    window.run_ok();
    window.key_press(Key::Enter);
    window.run_ok();
}

#[test]
fn a_broken_file_is_told_and_leaves_the_document_untouched() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("cut.ron");
    fs::write(&path, "(format: 1, name: \"cut").unwrap();
    let mut window = yard();
    window.run_ok();
    type_path(&mut window, Key::O, path.to_str().unwrap());
    assert!(said(&window, "The file was not opened"));
    assert!(said(&window, "cut.ron:1:"), "file, line and column");
    assert_eq!(window.state().document().title(), "Timber yard");
    window.get_by_label("Cancel").click();
    window.run_ok();
    assert!(!said(&window, "The file was not opened"));
}

#[test]
fn a_scenario_is_saved_and_opened_by_path() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("yard.ron");
    save_scenario(&path, &made_up::scenario()).unwrap();
    let mut window = window(Document::new(files::demo().unwrap(), None));
    window.run_ok();
    type_path(&mut window, Key::O, path.to_str().unwrap());
    assert_eq!(window.state().document().title(), "yard.ron");
    window.get_by_role_and_label(Role::Slider, "Tilt of Crossed strips").set_value_accesskit(25.0);
    window.run_ok();
    window.run_ok();
    assert!(window.state().document().is_changed());
    window.key_press_modifiers(Modifiers::COMMAND, Key::S);
    window.run_ok();
    assert!(!window.state().document().is_changed());
    assert_eq!(&read_scenario(&path).unwrap(), &**window.state().document().scenario());
}

#[test]
fn unsaved_changes_are_asked_about() {
    let mut window = yard();
    window.run_ok();
    window.get_by_role_and_label(Role::Slider, "Tilt of Crossed strips").set_value_accesskit(25.0);
    window.run_ok();
    window.run_ok();
    window.key_press_modifiers(Modifiers::COMMAND, Key::N);
    window.run_ok();
    window.get_by_label("The scenario has changes that are not saved");
    window.get_by_label("Cancel").click();
    window.run_ok();
    assert_eq!(window.state().document().title(), "Timber yard");
    window.key_press_modifiers(Modifiers::COMMAND, Key::N);
    window.run_ok();
    window.get_by_label("Discard the changes").click();
    window.run_ok();
    assert_eq!(window.state().document().title(), "New scenario");
    assert_eq!(window.state().document().scenario().strategies.len(), 4, "one from each template");
}

#[test]
fn a_boundary_becomes_the_site_and_several_are_asked_about() {
    let square = |name: &str, lon: f64| {
        format!(
            r#"{{"type":"Feature","properties":{{"name":"{name}"}},"geometry":{{"type":"Polygon","coordinates":[[
            [{lon},-31.4],[{},-31.4],[{},-31.398],[{lon},-31.398],[{lon},-31.4]]]}}}}"#,
            lon + 0.002,
            lon + 0.002
        )
    };
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("two.geojson");
    let both = format!("{},{}", square("west pit", -98.7), square("east pit", -98.6));
    fs::write(&path, format!(r#"{{"type":"FeatureCollection","features":[{both}]}}"#)).unwrap();
    let mut window = yard();
    window.run_ok();
    type_path(&mut window, Key::I, path.to_str().unwrap());
    window.get_by_label("two.geojson has 2 polygons: which one is the site?");
    let east = window.query_all_by_label_contains("east pit").next().unwrap();
    east.click();
    window.run_ok();
    window.get_by_label("Import, and leave these out").click();
    window.run_ok();
    assert_eq!(window.state().document().scenario().site.name, "east pit");
    window.key_press_modifiers(Modifiers::COMMAND, Key::Z);
    window.run_ok();
    assert_eq!(window.state().document().scenario().site.name, "Yard");
}

#[test]
fn the_demo_opens_with_its_columns() {
    let mut window = window(Document::new(files::demo().unwrap(), None));
    window.run_ok();
    let board = window.state().board().unwrap();
    assert_eq!(board.columns.len(), 4);
    assert!(board.columns.iter().all(|column| column.verdict != Verdict::Failed));
}

#[test]
fn a_blank_scenario_can_be_evaluated() {
    let blank = files::blank(&files::demo().unwrap());
    assert_eq!(blank.faults(), Vec::new());
    let mut window = window(Document::new(blank, None));
    settle(&mut window);
    let board = window.state().board().unwrap();
    assert!(board.columns.iter().all(|column| column.verdict != Verdict::Failed));
}

#[test]
fn nothing_is_drawn_anew_while_nothing_changes() {
    let mut window = yard();
    settle(&mut window);
    window.run_ok();
    assert!(window.run_ok().is_some_and(|steps| steps <= 2), "no repaint is asked for at rest");
}
