//! Commands found by their words, one aircraft for all strategies, names, the size of text, and what goes on the clipboard.

use crate::made_up;
use crate::opened::{Window, click, press, press_shifted, shows, yard};
use crate::window::{settle_block, shared};
use egui::accesskit::Role;
use egui::{Key, Modifiers, OutputCommand};
use egui_kittest::Harness;
use egui_kittest::kittest::{NodeT, Queryable};
use obliquity::app::{App, SCREENS, Screen, command_rows};
use obliquity::document::Document;
use obliquity::document::Edit;
use obliquity::preferences::Home;
use obliquity::strategies::{AircraftPick, Change};
use obliquity::theme::Mode;
use obliquity_exchange::{read_preferences, save_library};
use obliquity_planning::{Aircraft, Equipment, Id};

fn found(window: &Window) -> Vec<String> {
    let rows = window.query_all_by_role(Role::Button);
    let wide = rows.filter(|node| node.rect().width() > 400.0 && node.rect().left() > 330.0);
    wide.filter_map(|node| node.accesskit_node().label()).collect()
}

/// Derived: the list holds every command and screen, those that cannot be done now with their reason; words find them, Enter
/// does the one that stands out, Escape closes the list and leaves the screen.
/// The list stands in the middle of the window: its field is where it was only where the list is as high again.
#[test]
fn the_list_grows_again_when_its_text_is_taken_back_and_when_it_is_opened_anew() {
    let mut window = yard();
    press(&mut window, Key::K);
    window.run_ok();
    let place = |window: &Window| window.get_by_label("Find a command").rect();
    let whole = place(&window);
    for _ in 0..2 {
        window.get_by_label("Find a command").type_text("nothing of the kind");
        window.run_ok();
        assert!(place(&window).top() > whole.top() + 20.0, "it is lower than the whole list");
        press(&mut window, Key::A);
        window.key_press(Key::Backspace);
        window.run_ok();
        assert!((place(&window).top() - whole.top()).abs() < 2.0, "{} {}", place(&window), whole);
        window.get_by_label("Find a command").type_text("save");
        window.run_ok();
        window.key_press(Key::Escape);
        window.run_ok();
        press(&mut window, Key::K);
        window.run_ok();
        assert!((place(&window).top() - whole.top()).abs() < 2.0, "{} {}", place(&window), whole);
    }
}

#[test]
fn commands_are_found_by_their_words() {
    let mut window = yard();
    press(&mut window, Key::K);
    for word in ["redo", "timeline", "copy picture"] {
        window.get_by_label("Find a command").focus();
        window.run_ok();
        press(&mut window, Key::A);
        window.get_by_label("Find a command").type_text(word);
        window.run_ok();
        assert!(found(&window)[0].to_lowercase().starts_with(word), "{word}: {:?}", found(&window));
    }
    press(&mut window, Key::A);
    window.get_by_label("Find a command").type_text("redo");
    window.run_ok();
    assert!(window.get_by_role_and_label(Role::Button, "Redo").accesskit_node().is_disabled());
    window.key_press(Key::Enter);
    window.run_ok();
    assert!(shows(&window, "Find a command"), "what cannot be done is not done");
    press(&mut window, Key::A);
    window.get_by_label("Find a command").type_text("stay on site clock");
    window.run_ok();
    press(&mut window, Key::A);
    window.get_by_label("Find a command").type_text("timeline");
    window.run_ok();
    window.key_press(Key::Enter);
    window.run_ok();
    assert_eq!(window.state().screen_shown(), Screen::TIMELINE);
    assert!(!shows(&window, "Find a command"));
    window.key_press(Key::F1);
    window.run_ok();
    assert!(shows(&window, "Find a command"));
    window.key_press(Key::Escape);
    window.run_ok();
    assert!(!shows(&window, "Find a command"));
    assert_eq!(window.state().screen_shown(), Screen::TIMELINE);
}

/// Derived: whatever a menu or a key does is in the list.
#[test]
fn the_list_has_every_command() {
    let mut window: Window =
        Harness::builder().with_size([1280.0, 6000.0]).with_max_steps(40).build_eframe(|creation| {
            shared(App::new(&creation.egui_ctx, Document::new(made_up::scenario(), None), Mode::Light))
                .at_once()
        });
    window.run_ok();
    press(&mut window, Key::K);
    let mut listed = Vec::new();
    for _ in 0..command_rows().len() {
        listed.extend(found(&window));
        window.key_press(Key::ArrowDown);
        window.run_ok();
    }
    for row in command_rows().iter().filter(|row| row.text != "Find a command…") {
        assert!(listed.iter().any(|text| text.starts_with(row.text)), "{}", row.text);
    }
}

fn other_aircraft() -> Aircraft {
    Aircraft { name: "Wheatear".to_owned(), ..made_up::scenario().equipment.aircraft[0].clone() }
}

/// Derived: one edit, one undo; a copy of the library's aircraft comes into the scenario once.
#[test]
fn all_strategies_fly_another_aircraft_at_once() {
    let mut document = Document::new(made_up::scenario(), None);
    let pick = AircraftPick::New(Box::new(other_aircraft()));
    for _ in 0..2 {
        document.edit(&Edit::Strategy(Change::FlyAll(pick.clone()))).unwrap();
        let scenario = document.scenario();
        assert_eq!(scenario.equipment.aircraft.len(), 2);
        let new = scenario.equipment.aircraft[1].id;
        assert!(scenario.strategies.iter().all(|strategy| strategy.aircraft == new));
        assert_eq!(scenario.faults(), Vec::new());
    }
    assert_eq!(document.undo_label(), Some("fly all with Wheatear"));
    let missing = Change::FlyAll(AircraftPick::Known(Id(4711)));
    assert!(document.edit(&Edit::Strategy(missing)).unwrap_err().to_string().contains("4711"));
    document.undo();
    document.undo();
    assert_eq!(**document.scenario(), made_up::scenario());
}

fn with_library(folder: &std::path::Path) -> Window {
    save_library(folder, &Equipment { aircraft: vec![other_aircraft()] }).unwrap();
    let home = Home::at(folder.to_owned());
    let mut window =
        Harness::builder().with_size([1280.0, 800.0]).with_max_steps(40).build_eframe(move |creation| {
            let ctx = &creation.egui_ctx;
            let app = App::new(ctx, Document::new(made_up::scenario(), None), Mode::Light);
            shared(app.with_home(ctx, home)).at_once()
        });
    crate::window::settle(&mut window);
    window
}

/// Derived: the library's aircraft stand in the same list as the scenario's, for one strategy and for all.
#[test]
fn the_librarys_aircraft_are_chosen_like_the_scenarios() {
    let folder = tempfile::tempdir().unwrap();
    let mut window = with_library(folder.path());
    let flown = |window: &Window| {
        let scenario = window.state().document().scenario().clone();
        let name = |id| scenario.equipment.aircraft(id).unwrap().name.clone();
        scenario.strategies.iter().map(|strategy| name(strategy.aircraft)).collect::<Vec<_>>()
    };
    window.get_by_label("Aircraft of Crossed strips").click();
    window.run_ok();
    click(&mut window, "Wheatear");
    assert_eq!(flown(&window), ["Linnet", "Wheatear", "Linnet"]);
    press_shifted(&mut window, Key::A);
    assert!(shows(&window, "Fly all strategies with") && shows(&window, "From my library"));
    window.query_all_by_role_and_label(Role::Button, "Wheatear").last().unwrap().click();
    window.run_ok();
    assert_eq!(flown(&window), ["Wheatear"; 3]);
    assert_eq!(window.state().document().scenario().equipment.aircraft.len(), 2, "no second copy");
    press(&mut window, Key::Z);
    assert_eq!(flown(&window), ["Linnet", "Wheatear", "Linnet"], "one undo");
}

/// Derived: the scenario's name is pressed where it stands; three fields make one edit.
#[test]
fn names_and_note_are_changed_where_they_stand() {
    let mut window = yard();
    click(&mut window, "Timber yard");
    for (label, text) in
        [("Scenario", "Timber yard, winter"), ("Note", "Gate code from the crew"), ("Site", "North yard")]
    {
        window
            .get_by_role_and_label(
                if label == "Note" { Role::MultilineTextInput } else { Role::TextInput },
                label,
            )
            .focus();
        window.run_ok();
        press(&mut window, Key::A);
        window
            .get_by(|node| {
                matches!(node.role(), Role::TextInput | Role::MultilineTextInput) && node.is_focused()
            })
            .type_text(text);
        window.run_ok();
    }
    click(&mut window, "Done");
    let scenario = window.state().document().scenario().clone();
    assert_eq!(
        (scenario.name.as_str(), scenario.note.as_str()),
        ("Timber yard, winter", "Gate code from the crew")
    );
    assert_eq!(scenario.site.name, "North yard");
    assert!(shows(&window, "Timber yard, winter, not saved"));
    press(&mut window, Key::Z);
    assert_eq!(**window.state().document().scenario(), made_up::scenario(), "one undo");
}

/// Derived: the size of text goes by its keys in tenths, and the next start has it.
#[test]
fn the_size_of_text_is_remembered() {
    let folder = tempfile::tempdir().unwrap();
    let mut window = with_library(folder.path());
    press(&mut window, Key::Plus);
    press(&mut window, Key::Plus);
    press(&mut window, Key::Minus);
    assert!((window.ctx.zoom_factor() - 1.1).abs() < 1e-6, "{}", window.ctx.zoom_factor());
    drop(window);
    assert_eq!(read_preferences(folder.path()).0.text_size, Some(1.1));
    let mut window = with_library(folder.path());
    assert!((window.ctx.zoom_factor() - 1.1).abs() < 1e-6);
    press(&mut window, Key::Num0);
    assert!((window.ctx.zoom_factor() - 1.0).abs() < 1e-6);
    drop(window);
    assert_eq!(read_preferences(folder.path()).0.text_size, None);
}

/// What the window hands out in the very frame that an event comes in.
fn on_event(window: &mut Window, event: egui::Event) -> Vec<OutputCommand> {
    window.input_mut().events.push(event);
    window.step();
    window.output().platform_output.commands.clone()
}

fn key_of(key: Key, modifiers: Modifiers) -> egui::Event {
    egui::Event::Key { key, physical_key: None, pressed: true, repeat: false, modifiers }
}

fn text_in(commands: &[OutputCommand]) -> Option<String> {
    commands.iter().find_map(|command| match command {
        OutputCommand::CopyText(text) => Some(text.clone()),
        _ => None,
    })
}

/// Derived: what is copied is a table, each line with as many cells as its head, and says what the screen says.
#[test]
fn every_table_goes_on_the_clipboard() {
    let mut window = yard();
    let mut count = 0;
    for row in SCREENS.iter().filter(|row| row.question.is_some()) {
        window.state_mut().turn_to(row.id);
        window.run_ok();
        if row.id == Screen::BLOCK {
            settle_block(&mut window);
        }
        let expected = window.state().table();
        for event in [egui::Event::Copy, key_of(Key::C, Modifiers::COMMAND)] {
            let text = text_in(&on_event(&mut window, event));
            assert_eq!(text, expected, "{}", row.title);
        }
        let text = expected;
        let Some(text) = text else { continue };
        count += 1;
        if row.id == Screen::CARD {
            continue;
        }
        let lines: Vec<&str> = text.lines().collect();
        assert!(lines.len() > 3 && lines.iter().any(|line| line.contains('\t')), "{}: {text}", row.title);
    }
    assert_eq!(count, 11, "all but plan, 3D and elevations");
    window.state_mut().turn_to(Screen::BOARD);
    window.run_ok();
    let text = window.state().table().unwrap();
    let cells = |line: &str| line.matches('\t').count();
    assert!(text.lines().all(|line| cells(line) == 3), "three strategies: {text}");
    let board = window.state().board().unwrap();
    for figure in board.bands.iter().flat_map(|band| &band.rows).flat_map(|row| &row.cells) {
        assert!(text.contains(&figure.text.replace('\n', " ")), "{}", figure.text);
    }
}

/// Derived: a picture is asked of the window, which has what is drawn.
#[test]
fn a_picture_is_asked_of_the_window() {
    let mut window = yard();
    on_event(&mut window, key_of(Key::C, Modifiers::ALT));
    let mut commands = window.output().viewport_output.values().flat_map(|viewport| &viewport.commands);
    let asked = commands.any(|command| matches!(command, egui::ViewportCommand::Screenshot(_)));
    assert!(asked);
}

/// Derived: what needs a picture below the plan cannot be done without one, and says why.
#[test]
fn no_picture_is_placed_or_removed_where_there_is_none() {
    let mut window = yard();
    press(&mut window, Key::K);
    for word in ["place picture", "remove picture"] {
        window.get_by_label("Find a command").focus();
        window.run_ok();
        press(&mut window, Key::A);
        window.get_by_label("Find a command").type_text(word);
        window.run_ok();
        let first = found(&window)[0].clone();
        assert!(first.to_lowercase().starts_with(word), "{first}");
        assert!(window.get_by_role_and_label(Role::Button, &first).accesskit_node().is_disabled(), "{word}");
    }
}

/// Derived: the right button on a diagram offers its picture, which is asked of the window one frame later, when the menu has
/// gone; nothing is asked before.
#[test]
fn a_diagram_is_copied_alone() {
    let mut window = yard();
    press_shifted(&mut window, Key::P);
    window.query_all_by_label_contains("View angles of the walls of").next().unwrap().click_secondary();
    window.run_ok();
    let asks = |window: &Window| {
        let mut commands = window.output().viewport_output.values().flat_map(|viewport| &viewport.commands);
        commands.any(|command| matches!(command, egui::ViewportCommand::Screenshot(_)))
    };
    assert!(!asks(&window));
    window.query_all_by_label_contains("Copy picture: view angles of the walls").next().unwrap().click();
    let mut frames = 0;
    while !asks(&window) && frames < 10 {
        assert!(frames < 3 || !shows(&window, "Copy picture: view"), "the menu has gone");
        window.step();
        frames += 1;
    }
    assert!(asks(&window) && !shows(&window, "Copy picture: view"));
}

/// Derived: three strategies added and one step taken back between two frames leave two more than before: no press is lost
/// on a slow machine, and each is done in its turn.
#[test]
fn keys_that_come_between_two_frames_are_all_done() {
    let mut window = yard();
    let before = window.state().document().scenario().strategies.len();
    let keys = [Key::Num1, Key::Num1, Key::Z, Key::Num1];
    for key in keys {
        let modifiers = Modifiers::COMMAND;
        let event = egui::Event::Key { key, physical_key: None, pressed: true, repeat: false, modifiers };
        window.input_mut().events.push(event);
    }
    window.run_ok();
    assert_eq!(window.state().document().scenario().strategies.len(), before + 2);
}
