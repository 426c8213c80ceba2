//! Strategies edited, held equal and held against a reference on the window, found by what a screen reader would say.

use crate::made_up::{self, CROSSED, FIVE, NADIR};
use crate::window::{settle, window, yard};
use egui::accesskit::Role;
use egui::{Key, Modifiers};
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable;
use obliquity::app::App;
use obliquity::board::{Bar, Cell, Sense, Worth};
use obliquity::document::{Document, Edit};
use obliquity::figures::Freshness;
use obliquity::files;
use obliquity::strategies::{Change, MOST_STRATEGIES, Toward};
use obliquity_planning::{Distance, Id, MeasureId, Scenario, Template};
use std::sync::Arc;
use std::time::{Duration, Instant};

type Window = Harness<'static, App>;

fn scenario(window: &Window) -> Arc<Scenario> {
    Arc::clone(window.state().document().scenario())
}

fn names(window: &Window) -> Vec<String> {
    scenario(window).strategies.iter().map(|strategy| strategy.name.clone()).collect()
}

fn distances(window: &Window) -> Vec<Distance> {
    scenario(window).strategies.iter().flat_map(|s| &s.passes).map(|pass| pass.distance).collect()
}

fn click(window: &mut Window, label: &str) {
    window.get_by_label(label).click();
    window.run_ok();
    window.run_ok();
}

/// Opens a drop-down and chooses one of its entries.
fn choose(window: &mut Window, input: &str, entry: &str) {
    window.get_by_role_and_label(Role::ComboBox, input).click();
    window.run_ok();
    window.get_by_role_and_label(Role::Button, entry).click();
    window.run_ok();
    window.run_ok();
}

/// Chooses from what else can be done with a strategy.
fn more(window: &mut Window, strategy: &str, entry: &str) {
    click(window, &format!("More for {strategy}"));
    click(window, entry);
}

fn slide(window: &mut Window, slider: &str, value: f64) {
    window.get_by_role_and_label(Role::Slider, slider).set_value_accesskit(value);
    window.run_ok();
    window.run_ok();
}

fn undo(window: &mut Window) {
    window.key_press_modifiers(Modifiers::COMMAND, Key::Z);
    window.run_ok();
}

fn redo(window: &mut Window) {
    window.key_press_modifiers(Modifiers::COMMAND.plus(Modifiers::SHIFT), Key::Z);
    window.run_ok();
}

/// Undoes everything and does it again; the scenario must be what it was on both ends.
fn there_and_back(window: &mut Window, first: &Scenario) {
    let last = scenario(window);
    while window.state().document().undo_label().is_some() {
        undo(window);
    }
    assert_eq!(&*scenario(window), first);
    while window.state().document().redo_label().is_some() {
        redo(window);
    }
    assert_eq!(scenario(window), last);
}

#[test]
fn a_strategy_is_added_from_a_template() {
    let mut window = yard();
    click(&mut window, "Add a strategy");
    click(&mut window, "Add Cycled gimbal");
    assert_eq!(names(&window), ["Nadir block", "Crossed strips", "Five-direction oblique", "Cycled gimbal"]);
    let added = scenario(&window).strategies[3].id;
    assert_eq!(window.state().focus(), Some(added));
    window.get_by_role_and_label(Role::Slider, "Height of Cycled gimbal");
    there_and_back(&mut window, &made_up::scenario());
}

#[test]
fn heads_copy_move_rename_and_remove() {
    let mut window = yard();
    window.run_ok();
    more(&mut window, "Nadir block", "Duplicate");
    more(&mut window, "Crossed strips", "Move left");
    more(&mut window, "Five-direction oblique", "Remove");
    assert_eq!(names(&window), ["Nadir block", "Crossed strips", "Nadir block 2"]);
    window.get_by_label("Name of Nadir block 2").focus();
    window.run_ok();
    window.key_press_modifiers(Modifiers::COMMAND, Key::A);
    window.run_ok();
    window.get_by_label("Name of Nadir block 2").type_text("Straight down");
    window.run_ok();
    window.key_press(Key::Enter);
    window.run_ok();
    window.run_ok();
    assert_eq!(names(&window), ["Nadir block", "Crossed strips", "Straight down"]);
    let slots: Vec<usize> = window.state().board().unwrap().columns.iter().map(|c| c.slot).collect();
    assert_eq!(slots, [0, 1, 3], "the first two keep their colours");
    there_and_back(&mut window, &made_up::scenario());
}

#[test]
fn an_aircraft_is_swapped_and_what_leads_is_kept() {
    let mut scenario = made_up::scenario();
    let mut equipment = (*scenario.equipment).clone();
    let mut other = equipment.aircraft[0].clone();
    (other.id, other.name) = (Id(2), "Wheatear".to_owned());
    other.camera.focal_length_mm = 24.0;
    equipment.aircraft.push(other);
    scenario.equipment = Arc::new(equipment);
    let first = scenario.clone();
    let mut window = window(Document::new(scenario, None));
    settle(&mut window);
    click(&mut window, "What leads Nadir block");
    click(&mut window, "GSD leads, height follows");
    choose(&mut window, "Aircraft of Nadir block", "Wheatear");
    let strategy = self::scenario(&window).strategy(NADIR).unwrap().clone();
    assert_eq!(strategy.aircraft, Id(2));
    let Distance::Gsd { cm, .. } = strategy.passes[0].distance else { panic!("the GSD leads") };
    assert!((cm - 2.0).abs() < 1e-9, "only the last bits may differ: 3 µm × 80 m / 12 mm is 2 cm, not {cm}");
    // Derived: 2 cm would need 160 m with twice the focal length; at the ceiling of 110 m it is 3 µm × 110 m / 24 mm.
    let column = &window.state().board().unwrap().columns[0];
    assert!(column.follows.starts_with("1.38 cm at 110 m (at the ceiling)"), "{}", column.follows);
    there_and_back(&mut window, &first);
}

#[test]
fn what_is_held_equal_follows_in_one_step() {
    let mut window = yard();
    window.run_ok();
    choose(&mut window, "Hold equal", "GSD");
    assert!(distances(&window).iter().all(|distance| matches!(distance, Distance::Gsd { .. })));
    slide(&mut window, "GSD of Crossed strips", 1.5);
    assert!(distances(&window).iter().all(|d| matches!(d, Distance::Gsd { cm, .. } if *cm == 1.5)));
    undo(&mut window);
    let two = |d: &Distance| matches!(d, Distance::Gsd { cm, .. } if (cm - 2.0).abs() < 1e-9);
    assert!(distances(&window).iter().all(two), "the slider and all that followed it are one step");
    choose(&mut window, "Hold equal", "height");
    slide(&mut window, "Height of Nadir block", 60.0);
    assert!(distances(&window).iter().all(|d| matches!(d, Distance::Height { m, .. } if *m == 60.0)));
    there_and_back(&mut window, &made_up::scenario());
}

// Derived: times within 90 s are equal, as strips and batteries come in whole numbers.
#[test]
fn time_on_site_is_held_when_the_gesture_ends() {
    let mut window = yard();
    window.run_ok();
    choose(&mut window, "Hold equal", "time on site");
    slide(&mut window, "Height of Five-direction oblique", 70.0);
    let board = window.state().board().unwrap();
    let holding = window.state().document().holding().unwrap().clone();
    assert_eq!(holding.lead, FIVE);
    let out: Vec<&str> = board
        .columns
        .iter()
        .filter(|column| holding.out_of_reach.contains(&column.strategy))
        .map(|column| column.name.as_str())
        .collect();
    assert!(out.iter().all(|name| board.hold_note.contains(name)), "{}", board.hold_note);
    let time = board.bands.iter().find(|band| band.title == "Time").unwrap();
    let minutes: Vec<f64> = time.rows[1].cells.iter().map(|cell| minutes(&cell.text)).collect();
    for (column, minutes_here) in board.columns.iter().zip(&minutes) {
        let is_out = holding.out_of_reach.contains(&column.strategy);
        // 90 s, and half a minute of rounding on either side.
        assert!(is_out || (minutes_here - minutes[2]).abs() <= 2.5, "{}: {minutes:?}", column.name);
    }
    undo(&mut window);
    undo(&mut window);
    assert_eq!(*scenario(&window), made_up::scenario());
    assert_eq!(window.state().document().holding(), None);
}

/// The number that a text begins with.
fn number(text: &str) -> f64 {
    text.split(' ').next().unwrap().trim_start_matches('+').parse().unwrap()
}

/// "1 h 05 min", "44 min" or "9 min 30 s" in minutes.
fn minutes(text: &str) -> f64 {
    let words: Vec<&str> = text.split(' ').collect();
    let part = |pair: &[&str]| {
        let value: f64 = pair[0].parse().unwrap();
        value
            * match pair[1] {
                "h" => 60.0,
                "min" => 1.0,
                _ => 1.0 / 60.0,
            }
    };
    words.chunks(2).map(part).sum()
}

#[test]
fn the_reference_is_chosen_and_every_band_shows_the_difference() {
    let mut window = yard();
    settle(&mut window);
    let all = |window: &Window, column: usize| {
        let bands = &window.state().board().unwrap().bands;
        let cells = bands.iter().flat_map(|b| &b.rows).map(|row| row.cells[column].difference.clone());
        cells.map(|other| other.map(|other| other.text)).collect::<Vec<_>>()
    };
    assert!(all(&window, 1).iter().all(Option::is_none), "without a reference there is no difference");
    choose(&mut window, "Differences from", "Nadir block");
    assert_eq!(scenario(&window).reference, Some(NADIR));
    settle(&mut window);
    assert!(all(&window, 0).iter().all(Option::is_none));
    for row in window.state().board().unwrap().bands.iter().flat_map(|band| &band.rows) {
        let [reference, other, ..] = row.cells.as_slice() else { panic!("three columns") };
        // What rests on less than half of a surface is held against nothing.
        let known = |cell: &Cell| cell.bar != Bar::None && cell.doubt.is_none();
        let comparable = known(reference) && known(other);
        let same = reference.text == other.text;
        assert_eq!(other.difference.is_some(), comparable && !same, "{}: {}", row.label, other.spoken);
    }
    let images = window.state().board().unwrap().bands[3].rows[0].cells[1].difference.clone().unwrap();
    assert!(
        images.text.starts_with('+') && images.text.ends_with(", worse"),
        "twice the strips: {}",
        images.text
    );
    assert!(images.number.starts_with('+') && images.text.starts_with(&images.number));
    assert_eq!((images.sense, images.worth), (Sense::More, Worth::Worse));
    assert!(
        window.query_all_by_label_contains("Tilt of Crossed strips is unlike the reference's").count() == 1
    );
    // Hours are an order of magnitude: their difference is that of what is read.
    let bands = &window.state().board().unwrap().bands;
    let hours =
        bands.iter().flat_map(|band| &band.rows).find(|row| row.measure == MeasureId::ProcessingHours);
    let read = |text: &str| number(text.trim_start_matches("about "));
    let [reference, others @ ..] = hours.unwrap().cells.as_slice() else { panic!("three columns") };
    for other in others {
        let told = other.difference.as_ref().map_or(0.0, |told| number(&told.number.replace('−', "-")));
        let apart = read(&other.text) - read(&reference.text);
        assert!((told - apart).abs() < 1e-9, "{} and {}: {told}", reference.text, other.text);
    }
    more(&mut window, "Crossed strips", "Make it the reference");
    assert_eq!(scenario(&window).reference, Some(CROSSED));
    there_and_back(&mut window, &made_up::scenario());
}

#[test]
fn settings_fold_away_and_come_back() {
    let mut window = yard();
    window.run_ok();
    click(&mut window, "Fold the settings away");
    assert!(window.query_by_label("Height of Crossed strips").is_none());
    window.key_press_modifiers(Modifiers::COMMAND, Key::L);
    window.run_ok();
    window.get_by_role_and_label(Role::Slider, "Height of Crossed strips");
    assert_eq!(window.state().document().undo_label(), None, "folding is not an edit");
}

#[test]
fn eight_strategies_stand_side_by_side_and_no_more() {
    let mut window = yard();
    window.run_ok();
    for _ in 3..=MOST_STRATEGIES {
        window.key_press_modifiers(Modifiers::COMMAND, Key::Num1);
        window.run_ok();
        window.run_ok();
    }
    assert_eq!(scenario(&window).strategies.len(), MOST_STRATEGIES);
    window.get_by_label("The change was not made");
    click(&mut window, "Close");
    let board = window.state().board().unwrap();
    let mut slots: Vec<usize> = board.columns.iter().map(|column| column.slot).collect();
    slots.sort_unstable();
    assert_eq!(slots, (0..MOST_STRATEGIES).collect::<Vec<_>>(), "no two have the same colour");
    let lefts: Vec<f32> = board
        .columns
        .iter()
        .map(|column| window.get_by_label(&format!("Name of {}", column.name)).rect().left())
        .collect();
    assert!(
        lefts.windows(2).all(|pair| (195.0..=215.0).contains(&(pair[1] - pair[0]))),
        "columns have one width: {lefts:?}"
    );
}

#[test]
fn stopping_leaves_figures_marked_and_updating_goes_on() {
    let mut demo = files::demo().unwrap();
    // Dense enough that it takes many frames.
    let site = obliquity_planning::Site { sample_spacing_m: Some(0.4), ..(*demo.site).clone() };
    demo.site = Arc::new(site);
    let mut window = window(Document::new(demo, None));
    window.step();
    window.step();
    window.get_by_label("Cancel updating").click();
    let begun = Instant::now();
    window.step();
    window.step();
    assert!(
        begun.elapsed() < Duration::from_secs(2),
        "two frames without optimisation; no coverage is waited for"
    );
    window.get_by_label("Update now");
    let stale = |window: &Window| {
        let columns = &window.state().board().unwrap().columns;
        columns.iter().any(|column| column.freshness != Freshness::Fresh)
    };
    assert!(stale(&window));
    window.get_by_label("Update now").click();
    window.step();
    window.step();
    window.step();
    window.get_by_label("Cancel updating");
}

#[test]
fn commands_act_on_the_strategy_in_focus() {
    let mut window = yard();
    window.run_ok();
    let shown = window.query_all_by_label_contains("Crossed strips, Linnet").next().unwrap();
    shown.click();
    window.run_ok();
    assert_eq!(window.state().focus(), Some(CROSSED));
    window.key_press_modifiers(Modifiers::ALT, Key::ArrowLeft);
    window.run_ok();
    assert_eq!(names(&window)[0], "Crossed strips");
    window.key_press_modifiers(Modifiers::COMMAND, Key::Backspace);
    window.run_ok();
    assert_eq!(names(&window), ["Nadir block", "Five-direction oblique"]);
    window.key_press(Key::F2);
    window.run_ok();
    assert!(window.get_by_label("Name of Nadir block").is_focused());
}

#[test]
fn a_sentence_names_three_that_fail_and_counts_the_rest() {
    let mut demo = files::demo().unwrap();
    demo.site = Arc::new(obliquity_planning::Site { sample_spacing_m: Some(5.0), ..(*demo.site).clone() });
    let mut document = Document::new(demo, None);
    for _ in 0..3 {
        document.edit(&Edit::Strategy(Change::Add { template: Template::NadirBlock })).unwrap();
    }
    let mut window = window(document);
    settle(&mut window);
    let text = window.state().board().unwrap().sentence.text.clone();
    assert_eq!(text.matches(" misses ").count(), 3, "{text}");
    assert!(text.ends_with(" more fail."), "{text}");
    assert!(!text.contains("(0 of"), "the nadir block sees some wall: {text}");
}

/// Derived: a strategy that is added to four stands in sight, whatever the window's width.
#[test]
fn a_strategy_that_is_added_comes_into_sight() {
    let mut window = window(Document::new(files::demo().unwrap(), None));
    window.run_ok();
    window.key_press_modifiers(egui::Modifiers::COMMAND, egui::Key::Num6);
    for _ in 0..8 {
        window.step();
    }
    let board = window.state().board().unwrap();
    assert_eq!(board.columns.len(), 5);
    let last = board.columns[4].name.clone();
    let head = window.get_by_label(&format!("More for {last}")).rect();
    assert!(head.right() <= 1280.0 && head.left() > 240.0, "{last} at {head:?}");
}

/// The demo with coarse samples and nadir blocks before the one strategy that passes.
fn passing_out_of_sight() -> Window {
    let mut demo = files::demo().unwrap();
    demo.site = Arc::new(obliquity_planning::Site { sample_spacing_m: Some(4.0), ..(*demo.site).clone() });
    let mut document = Document::new(demo, None);
    for _ in 0..4 {
        document.edit(&Edit::Strategy(Change::Add { template: Template::NadirBlock })).unwrap();
    }
    let passes = document.scenario().strategies[3].id;
    for _ in 0..4 {
        document.edit(&Edit::Strategy(Change::Move(passes, Toward::Right))).unwrap();
    }
    let mut window = window(document);
    settle(&mut window);
    window.run_ok();
    window
}

/// Derived: at 1280 five columns are in sight, and the one that passes is the eighth.
#[test]
fn a_line_leads_to_a_strategy_that_passes_out_of_sight() {
    let mut window = passing_out_of_sight();
    let place = |window: &Window| window.get_by_label("More for Cycled gimbal").rect();
    assert!(place(&window).left() > 1280.0, "{:?}", place(&window));
    let label = "Show Cycled gimbal, which meets the requirement and stands out of sight";
    click(&mut window, label);
    window.run_ok();
    assert!(place(&window).right() <= 1280.0 - 22.0, "{:?}", place(&window));
    assert!(window.query_by_label(label).is_none(), "it is in sight now");
}

/// Derived: labels keep their distance from the left when scrolled sideways, heads from the top when scrolled down.
#[test]
fn names_and_labels_stay_when_the_board_is_scrolled() {
    let mut window = passing_out_of_sight();
    for what in ["Time", "Images", "Processing"] {
        window.state_mut().open_on_board(what);
    }
    window.run_ok();
    let places = |window: &Window| {
        ["flying", "More for Five-direction oblique", "Aircraft of Five-direction oblique"]
            .map(|label| window.get_by_label(label).rect().min)
    };
    let [label, name, aircraft] = places(&window);
    window.hover_at(egui::pos2(700.0, 600.0));
    let delta = egui::vec2(-150.0, -60.0);
    let unit = egui::MouseWheelUnit::Point;
    let phase = egui::TouchPhase::Move;
    let (source, modifiers) = (egui::MouseWheelSource::Trackpad, Modifiers::NONE);
    window.event(egui::Event::MouseWheel { unit, delta, phase, source, modifiers });
    for _ in 0..30 {
        window.step();
    }
    let after = places(&window);
    assert!((after[0].x - label.x).abs() < 0.1 && after[0].y < label.y - 20.0, "{label:?} {after:?}");
    for (after, before) in after[1..].iter().zip([name, aircraft]) {
        assert!(after.x < before.x - 50.0 && (after.y - before.y).abs() < 0.1, "{before:?} {after:?}");
    }
}

/// Derived: at 2 cm the other strategies of the demo cannot be made as short as a nadir block; what is nearest is told.
#[test]
fn what_cannot_take_as_long_is_told_with_its_time() {
    let mut window = window(Document::new(files::demo().unwrap(), None));
    window.run_ok();
    window.key_press_modifiers(egui::Modifiers::ALT, egui::Key::T);
    window.run_ok();
    let board = window.state().board().unwrap().clone();
    assert!(
        board
            .hold_note
            .starts_with("Equal within 90 s. Out of reach at all heights up to the ceiling of 110 m")
    );
    for column in &board.columns[1..] {
        let on_site = board.bands.iter().find(|band| band.title == "Time").unwrap();
        let at = board.columns.iter().position(|other| other.strategy == column.strategy).unwrap();
        let text = on_site.rows[1].cells[at].text.clone();
        let told = format!("{} {text}", column.name);
        let minutes = |text: &str| text.split(' ').next().unwrap().parse::<f64>().unwrap();
        // Two numbers in whole minutes, each within half a one.
        let near = minutes(&text) - minutes(&on_site.rows[1].cells[0].text) <= 1.5 + 1.0;
        assert!(board.hold_note.contains(&told) != near, "{told}: {}", board.hold_note);
    }
}

/// Derived: with 0.1 cm a block has more exposures than are laid out: no route, so no direction is shown.
#[test]
fn what_is_not_laid_out_shows_no_direction() {
    let mut window = yard();
    window.run_ok();
    click(&mut window, "What leads Nadir block");
    click(&mut window, "GSD leads, height follows");
    let name = "GSD of Nadir block, as a number";
    crate::opened::type_number(&mut window, name, "0.1");
    let direction = &window.state().board().unwrap().columns[0].direction;
    assert_eq!(direction.present_deg, None, "{:?}", window.state().board().unwrap().columns[0].shortfalls);
    assert!(window.query_by_label_contains("strips at 0°").is_none());
}
