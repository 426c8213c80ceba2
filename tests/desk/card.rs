//! The set-up card: its screen, what is written down on it, and the ways to take it along.

use crate::made_up::{self, CROSSED};
use crate::window::{nothing_long_began, settle, shared, witness};
use egui::accesskit::Role;
use egui::{Key, Modifiers, OutputCommand};
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable;
use obliquity::app::{App, Screen};
use obliquity::card;
use obliquity::document::Document;
use obliquity::theme::Mode;
use obliquity_exchange::{Card, CardFigure, CardSheet, CardSortie, PaperSize, Units};
use obliquity_planning::{Depth, GeoPoint, NoWatch, Reported, Scenario};
use std::sync::Arc;
use std::time::{Duration, Instant};

fn crossed_card() -> Card {
    let scenario = made_up::scenario();
    let engine = witness();
    let outcome = engine.evaluate(&scenario, CROSSED, Depth::Spread, &NoWatch).unwrap();
    // The second of the yard's strategies: its colour has this number.
    Card { number: Some(2), ..Card::new(&scenario, &outcome, Units::Metric) }
}

fn window() -> Harness<'static, App> {
    window_on(made_up::scenario())
}

fn window_on(scenario: Scenario) -> Harness<'static, App> {
    let document = Document::new(scenario, None);
    let mut window =
        Harness::builder().with_size([1280.0, 800.0]).with_max_steps(60).build_eframe(move |creation| {
            obliquity::theme::install(&creation.egui_ctx, Mode::Light);
            let mut app = shared(App::still(document));
            app.work_out();
            app.focus_on(CROSSED);
            app
        });
    window.run_ok();
    window.key_press_modifiers(Modifiers::COMMAND.plus(Modifiers::SHIFT), Key::U);
    window.run_ok();
    window
}

fn said(window: &Harness<'static, App>, text: &str) -> bool {
    window.query_all_by_label_contains(text).next().is_some()
}

/// Derived: the screen says every figure that the text card says, in the same words.
#[test]
fn the_screen_says_what_the_text_says() {
    let window = window();
    assert_eq!(window.state().screen_shown(), Screen::CARD);
    let card = crossed_card();
    let passes = card.passes.iter().flat_map(|pass| {
        let figures = pass.to_key_in.iter().chain(&pass.cameras).chain(&pass.follows).chain(&pass.listed);
        figures.map(|figure| (pass.title.clone(), figure.clone()))
    });
    let of = |title: &'static str, figures: &[CardFigure]| -> Vec<(String, CardFigure)> {
        figures.iter().map(|figure| (title.to_owned(), figure.clone())).collect()
    };
    let sorties: Vec<CardFigure> = card.sorties.iter().map(CardSortie::figure).collect();
    let lists = [
        of("Set once", &card.set_once),
        of("Set once", &card.take_offs),
        of("The day", &card.day),
        of("Before you leave", &card.on_hand),
        of("Before you leave", &sorties),
        of("Before you leave", &card.surroundings),
        of("Time on site", &card.time),
    ];
    // The text has long lines on several.
    let plain = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
    let text = plain(&card.to_text());
    for (of, figure) in passes.chain(lists.into_iter().flatten()) {
        let spoken = |of: &str| format!("{of}, {}: {}", figure.label, figure.sentence());
        let heard = said(&window, &spoken(&of)) || said(&window, &spoken("All passes"));
        assert!(heard, "{}", spoken(&of));
        assert!(text.contains(&plain(&figure.sentence())), "{} in\n{text}", figure.sentence());
    }
    assert!(said(&window, &card.closing), "who decides");
    assert!(said(&window, "tilt 30° (gimbal −60°)"));
}

#[test]
fn what_the_controller_reports_is_kept_compared_and_undone() {
    let mut window = window();
    let name = "Images that the controller reports for Crossed strips";
    window.get_by_label(name).focus();
    window.run_ok();
    let ours = window.state().beside().card().unwrap().reports[1].predicted.parse::<u32>().unwrap();
    window.get_by_label(name).type_text(&(2 * ours).to_string());
    window.run_ok();
    window.key_press(Key::Enter);
    window.run_ok();
    let reported = |window: &Harness<'static, App>| {
        window.state().document().scenario().strategy(CROSSED).unwrap().reported
    };
    assert_eq!(reported(&window).and_then(|reported: Reported| reported.image_count), Some(2 * ours));
    assert!(said(&window, "reported 100.0 % more"), "twice as many");
    window.key_press_modifiers(Modifiers::COMMAND, Key::Z);
    window.run_ok();
    assert_eq!(reported(&window), None);
    window.key_press_modifiers(Modifiers::COMMAND.plus(Modifiers::SHIFT), Key::Z);
    window.run_ok();
    assert!(reported(&window).is_some());
    window.get_by_label("Board").click();
    window.run_ok();
    assert_eq!(window.state().screen_shown(), Screen::BOARD);
}

fn save_by_path(window: &mut Harness<'static, App>, key: Key, path: &std::path::Path) {
    window.key_press_modifiers(Modifiers::COMMAND.plus(Modifiers::SHIFT), key);
    window.run_ok();
    window.key_press_modifiers(Modifiers::COMMAND, Key::A);
    window.run_ok();
    let field = window.get_by_role_and_label(Role::TextInput, "Path to save to (.txt)");
    field.type_text(path.to_str().unwrap());
    window.run_ok();
    window.key_press(Key::Enter);
    window.run_ok();
}

#[test]
fn the_card_is_saved_as_text_and_a_folder_that_is_not_there_is_told() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("card.txt");
    let mut window = window();
    save_by_path(&mut window, Key::T, &path);
    let text = std::fs::read_to_string(&path).unwrap();
    assert_eq!(text, window.state().beside().card().unwrap().to_text());
    save_by_path(&mut window, Key::T, &folder.path().join("nowhere/card.txt"));
    assert!(said(&window, "The card was not saved"));
}

/// Derived: the card is made beside the window, follows units and document, and what is taken along is never one of before:
/// either it is the new one, or it is said that this is still being made.
#[test]
fn the_card_is_made_beside_the_window() {
    let begun = Instant::now();
    let long = Duration::from_mins(1);
    let mut window =
        Harness::builder().with_size([1280.0, 800.0]).with_max_steps(60).build_eframe(|creation| {
            shared(App::new(&creation.egui_ctx, Document::new(made_up::scenario(), None), Mode::Light))
        });
    settle(&mut window);
    while !window.state().beside().has_card_wanted() && begun.elapsed() < long {
        window.step();
    }
    let card = |window: &Harness<'static, App>| window.state().beside().card().unwrap().to_text();
    let metric = card(&window);
    let shifted = Modifiers::COMMAND.plus(Modifiers::SHIFT);
    for (modifiers, key) in [(Modifiers::COMMAND, Key::U), (shifted, Key::K)] {
        let event = egui::Event::Key { key, physical_key: None, pressed: true, repeat: false, modifiers };
        window.input_mut().events.push(event);
    }
    window.step();
    let copied = window.output().platform_output.commands.iter().find_map(|command| match command {
        OutputCommand::CopyText(text) => Some(text.clone()),
        _ => None,
    });
    while !window.state().beside().has_card_wanted() && begun.elapsed() < long {
        window.step();
    }
    match copied {
        Some(text) => assert_eq!(text, card(&window)),
        None => assert!(said(&window, "The card is being worked out")),
    }
    assert_ne!(metric, card(&window), "feet come first by now");
    nothing_long_began();
}

/// Derived: 80 m are 262 ft: the card on the screen and the one that is saved are in the window's units first.
#[test]
fn screen_and_saved_card_follow_the_windows_units() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("card.txt");
    let mut window = window();
    assert!(said(&window, "height: 80.0 m (262 ft), above"));
    window.state_mut().show_in(Units::UsInches);
    window.run_ok();
    assert!(said(&window, "height: 262 ft (80.0 m), above"));
    save_by_path(&mut window, Key::T, &path);
    let text = std::fs::read_to_string(&path).unwrap();
    assert!(text.contains("262 ft (80.0 m), above"), "{text}");
    let gsd = text.lines().find(|line| line.contains("nominal GSD")).unwrap();
    assert!(gsd.contains(" in (") && gsd.contains(" cm)"), "{gsd}");
}

#[test]
fn the_picture_is_dark_on_white_and_holds_the_whole_card() {
    let sheet = CardSheet::new(&crossed_card(), PaperSize::A4);
    let image = card::picture(&sheet, 1);
    // 794 points at two pixels each; A4 is √2 times as high as wide, to a millimetre.
    assert_eq!((image.width_px, sheet.pages.len()), (1588, 1));
    assert!(image.height_px.abs_diff(2246) <= 2, "{}", image.height_px);
    let is_white = |column: usize, row: usize| image.at(column, row) == egui::Color32::WHITE;
    // A hair marks the edge of the paper.
    for row in [8, image.height_px / 2, image.height_px - 9] {
        assert!(is_white(8, row) && is_white(image.width_px - 9, row), "white up to the edges");
    }
    let written = |rows: std::ops::Range<usize>| {
        rows.flat_map(|row| (64..1500).map(move |column| (column, row))).any(|(c, r)| !is_white(c, r))
    };
    assert!(written(image.height_px - 400..image.height_px - 60), "the closing line stands at the end");
    assert!(!written(image.height_px - 40..image.height_px - 8), "and nothing is cut below it");
    assert_eq!(card::short_file_name("Crossed strips", "png"), "card_crossed_strips.png");
}

fn type_path(window: &mut Harness<'static, App>, key: Key, path: &std::path::Path) {
    window.key_press_modifiers(Modifiers::COMMAND.plus(Modifiers::ALT), key);
    window.run_ok();
    window.key_press_modifiers(Modifiers::COMMAND, Key::A);
    window.run_ok();
    let field = window.get_by(|node| node.role() == Role::TextInput && node.is_focused());
    field.type_text(path.to_str().unwrap());
    window.run_ok();
    window.key_press(Key::Enter);
    window.run_ok();
}

/// Derived: the PDF that is saved is the sheet that is shown, on the paper that was chosen; that is A4 until someone says
/// otherwise, Letter with US customary units, and is remembered.
#[test]
fn the_page_shown_is_the_pdf_saved_on_the_paper_chosen() {
    let folder = tempfile::tempdir().unwrap();
    let mut window = window();
    let shown = |window: &Harness<'static, App>| window.state().printed().unwrap().clone();
    assert_eq!(shown(&window).paper, PaperSize::A4);
    window.state_mut().show_in(Units::UsCustomary);
    window.run_ok();
    assert_eq!(shown(&window).paper, PaperSize::Letter, "as printers have it where feet are used");
    window.state_mut().show_in(Units::Metric);
    window.run_ok();
    assert_eq!(shown(&window).paper, PaperSize::A4);
    window.get_by_role_and_label(Role::RadioButton, "Letter").click();
    window.run_ok();
    assert_eq!(shown(&window), CardSheet::new(&crossed_card(), PaperSize::Letter));
    assert_eq!(window.state().home().preferences.paper, Some(PaperSize::Letter));
    let path = folder.path().join("card");
    type_path(&mut window, Key::P, &path);
    let bytes = std::fs::read(path.with_extension("pdf")).unwrap();
    let slot = window.state().beside().slot();
    assert_eq!(bytes, card::pdf(&shown(&window), slot).unwrap(), "the same pages, to the byte");
    assert!(said(&window, "Saved card.pdf"), "what was saved is said");
    let dialogs = |window: &Harness<'static, App>| window.query_all_by_role(Role::Dialog).count();
    assert_eq!(dialogs(&window), 0, "and waits for no answer");
    window.get_by_label("Put away: Saved card.pdf").click();
    window.run_ok();
    assert!(!said(&window, "Saved card.pdf"));
    type_path(&mut window, Key::P, &path);
    assert!(said(&window, "card.pdf is there already"), "it asks before it replaces");
    window.get_by_label("Replace").click();
    window.run_ok();
    assert!(said(&window, "Saved card.pdf"));
    let until_s = window.ctx.input(|input| input.time) + 13.0;
    while window.ctx.input(|input| input.time) < until_s {
        window.step();
    }
    assert!(!said(&window, "Saved card.pdf"), "it goes by itself");
}

/// Derived: route, stations and regions go into the folder that was typed; an earlier export is replaced only when that is
/// said, and something else never.
#[test]
fn route_and_stations_are_exported_from_the_window() {
    let folder = tempfile::tempdir().unwrap();
    let to = folder.path().join("taken along");
    let mut scenario = made_up::scenario();
    Arc::make_mut(&mut scenario.site).origin = Some(GeoPoint { latitude_deg: -31.4, longitude_deg: -98.7 });
    let mut window = window_on(scenario);
    type_path(&mut window, Key::E, &to);
    assert!(said(&window, "regions.kml"), "what was written is told");
    let names =
        ["stations.csv", "route.kml", "route.geojson", "regions.kml", "regions.geojson", "samples.csv"];
    for name in names {
        assert!(to.join(name).is_file(), "{name}");
    }
    window.get_by_label("Close").click();
    window.run_ok();
    std::fs::write(to.join("views.csv"), "sample,pass,index,counted\n").unwrap();
    type_path(&mut window, Key::E, &to);
    assert!(said(&window, "is there already") && to.join("views.csv").is_file());
    window.get_by_label("Replace").click();
    window.run_ok();
    assert!(said(&window, "regions.kml") && !to.join("views.csv").exists(), "all of the earlier one goes");
    window.get_by_label("Close").click();
    window.run_ok();
    std::fs::write(to.join("route.kml"), "my own notes").unwrap();
    type_path(&mut window, Key::E, &to);
    assert!(said(&window, "Nothing was exported") && said(&window, "it holds something else"));
    assert_eq!(std::fs::read_to_string(to.join("route.kml")).unwrap(), "my own notes");
}

/// Derived: a card that is made before bands are known has every caution all the same.
#[test]
fn a_card_made_early_has_all_cautions() {
    let mut window =
        Harness::builder().with_size([1280.0, 800.0]).with_max_steps(60).build_eframe(|creation| {
            obliquity::theme::install(&creation.egui_ctx, Mode::Light);
            let mut app = shared(App::still(Document::new(made_up::scenario(), None)));
            app.focus_on(CROSSED);
            app
        });
    window.run_ok();
    nothing_long_began();
    let card = window.state().beside().card().unwrap();
    assert!(card.cautions.iter().any(|caution| caution.id == "unknown"), "what is found along the route");
    assert_eq!(card.cautions, crossed_card().cautions);
}
