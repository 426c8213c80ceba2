//! Making a lesson in the window, keeping it and its guesses against a sudden end, saving answers.

use crate::made_up;
use crate::opened::{Window, click, press, press_shifted, shows};
use crate::window::{nothing_long_began, settle, shared};
use egui::{Key, Modifiers};
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable;
use obliquity::app::{App, LessonStage, Screen};
use obliquity::document::Document;
use obliquity::lesson::LessonDocument;
use obliquity::preferences::Home;
use obliquity::theme::Mode;
use obliquity_exchange::{parse_answers, read_lesson, read_stamped_lesson};
use obliquity_planning::lesson::{AskedOf, Guess, StepStage};
use std::fs;
use std::path::{Path, PathBuf};

fn example() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples/lessons/tilt_and_walls.ron")
}

/// A window whose user's own files are in a folder, on a lesson where one is named.
fn open(own: &Path, lesson: Option<&Path>) -> Window {
    let own = own.to_owned();
    let lesson = lesson.map(|path| {
        let (lesson, stamp) = read_stamped_lesson(path).unwrap();
        LessonDocument::read(lesson, path.to_owned(), Some(stamp))
    });
    let mut window =
        Harness::builder().with_size([1280.0, 1000.0]).with_max_steps(40).build_eframe(move |creation| {
            let ctx = &creation.egui_ctx;
            let document = Document::new(made_up::scenario(), None);
            let app = shared(App::new(ctx, document, Mode::Light).with_home(ctx, Home::at(own))).at_once();
            match lesson {
                Some(lesson) => app.with_lesson(lesson),
                None => app,
            }
        });
    settle(&mut window);
    window.run_ok();
    window
}

fn wait_s(window: &mut Window, seconds: f64) {
    let until = window.ctx.input(|input| input.time) + seconds;
    while window.ctx.input(|input| input.time) < until {
        window.step();
    }
}

fn kept(own: &Path) -> usize {
    let files = fs::read_dir(own.join("unsaved")).into_iter().flatten().flatten();
    files.filter(|file| file.path().extension().is_some_and(|extension| extension == "ron")).count()
}

fn save_to(window: &mut Window, path: &Path, label: &str) {
    window.key_press_modifiers(Modifiers::COMMAND.plus(Modifiers::ALT), Key::S);
    window.run_ok();
    let field = window.get_by_label(label);
    field.focus();
    window.run_ok();
    press(window, Key::A);
    window.get_by_label(label).type_text(path.to_str().unwrap());
    window.run_ok();
    window.key_press(Key::Enter);
    window.run_ok();
    window.run_ok();
}

fn put(window: &mut Window, label: &str, text: &str) {
    window.get_by_label(label).focus();
    window.run_ok();
    press(window, Key::A);
    window.get_by_label(label).type_text(text);
    window.run_ok();
}

fn choose(window: &mut Window, chooser: &str, item: &str) {
    window.get_by_label_contains(chooser).click();
    window.run_ok();
    window.get_by_label(item).click();
    window.run_ok();
}

/// Derived: a lesson is made of the open scenario, step by step, undone and brought back, saved and taught.
#[test]
fn a_lesson_is_made_in_the_window() {
    let (own, folder) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let mut window = open(own.path(), None);
    window.key_press_modifiers(Modifiers::COMMAND, Key::F10);
    window.run_ok();
    assert_eq!(window.state().screen_shown(), Screen::LESSON_STEPS);
    put(&mut window, "Name of the lesson", "Yard");
    put(&mut window, "Text before the guess", "The block looks down. How much of the walls?");
    choose(&mut window, "Figure that is guessed: ", "Coverage of walls");
    click(&mut window, "Add a setting");
    put(&mut window, "Text after the reveal", "Hardly any.");
    let made = window.state().lesson().unwrap().lesson().clone();
    assert_eq!(
        (made.name.as_str(), made.steps[0].text.as_str()),
        ("Yard", "The block looks down. How much of the walls?")
    );
    assert_eq!(made.steps[0].asked.measure, "coverage.wall");
    assert_eq!(made.steps[0].settings.len(), 1);
    assert_eq!(made.steps[0].after, "Hardly any.");
    assert_eq!(made.faults(), []);
    click(&mut window, "Add a step");
    choose(&mut window, "What of the figure is guessed: ", "ratio of two");
    let two = window.state().lesson().unwrap().lesson().clone();
    assert!(matches!(two.steps[1].asked.of, AskedOf::Ratio { .. }));
    // A text typed in one go is one step; so is each choice.
    press(&mut window, Key::Z);
    press(&mut window, Key::Z);
    window.run_ok();
    assert_eq!(*window.state().lesson().unwrap().lesson(), made);
    press_shifted(&mut window, Key::Z);
    press_shifted(&mut window, Key::Z);
    window.run_ok();
    assert_eq!(*window.state().lesson().unwrap().lesson(), two);
    wait_s(&mut window, 5.0);
    assert_eq!(kept(own.path()), 1, "kept against a sudden end");
    let path = folder.path().join("yard lesson.ron");
    save_to(&mut window, &path, "Path to save to (.ron)");
    assert_eq!(read_lesson(&path).unwrap(), *two);
    assert!(!window.state().lesson().unwrap().is_changed());
    wait_s(&mut window, 5.0);
    assert_eq!(kept(own.path()), 0, "it is saved");
    window.key_press(Key::F10);
    window.run_ok();
    assert_eq!(window.state().screen_shown(), Screen::LESSON);
    assert!(shows(&window, "2 steps. Until every step is revealed"));
    nothing_long_began();
}

/// What is to be mended is told, and a lesson that has faults is not taught.
#[test]
fn what_is_wrong_with_a_lesson_is_told_while_it_is_made() {
    let own = tempfile::tempdir().unwrap();
    let mut window = open(own.path(), None);
    window.key_press_modifiers(Modifiers::COMMAND, Key::F10);
    window.run_ok();
    assert!(shows(&window, "Ready to be saved and taught"));
    put(&mut window, "Text before the guess", " ");
    assert!(shows(&window, "Step 1: a step must say what it is about"));
    window.key_press(Key::F10);
    window.run_ok();
    assert!(shows(&window, "The lesson cannot be taught yet"));
    assert_eq!(window.state().screen_shown(), Screen::LESSON_STEPS);
}

/// Derived: guesses are kept within seconds, offered after a sudden end, and go on where they were, hidden as before.
#[test]
fn guesses_survive_a_sudden_end() {
    let own = tempfile::tempdir().unwrap();
    let mut window = open(own.path(), Some(&example()));
    window.state_mut().show_lesson_at(1, LessonStage::Revealed, &[("", 0.1)]);
    window.state_mut().show_lesson_at(2, LessonStage::Locked, &[("KL", 0.3), ("MN", 0.6)]);
    wait_s(&mut window, 5.0);
    assert_eq!(kept(own.path()), 1);
    let before = window.state().lesson_run().clone();
    drop(window);
    let mut window = open(own.path(), None);
    wait_s(&mut window, 1.0);
    assert!(shows(&window, "The program ended before this was saved") && shows(&window, "Tilt and walls"));
    click(&mut window, "Recover");
    wait_s(&mut window, 1.0);
    assert_eq!(window.state().screen_shown(), Screen::LESSON);
    assert_eq!(*window.state().lesson_run(), before);
    assert_eq!(window.state().lesson_run().stage(1), StepStage::Locked);
    assert!(shows(&window, "Step 2 of 5"), "it goes on where it was");
    window.key_press(Key::Escape);
    window.run_ok();
    assert!(shows(&window, "step 2 is not revealed yet"), "what was hidden is");
}

/// Answers are a small file that the class's summary reads; a later save goes into the same one.
#[test]
fn answers_are_saved_and_closing_asks_about_them() {
    let (own, folder) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let mut window = open(own.path(), Some(&example()));
    for letter in ["K", "L"] {
        window.event(egui::Event::Text(letter.to_owned()));
    }
    window.step();
    window.key_press(Key::PageDown);
    window.run_ok();
    window.state_mut().show_lesson_at(1, LessonStage::Locked, &[("", 0.1)]);
    window.run_ok();
    press(&mut window, Key::Q);
    window.run_ok();
    assert!(shows(&window, "The lesson, or what was guessed at it, has changes that are not saved"));
    window.key_press(Key::Escape);
    window.run_ok();
    window.run_ok();
    let path = folder.path().join("kl.ron");
    save_to(&mut window, &path, "Path to save to (.ron)");
    let lesson = read_lesson(&example()).unwrap();
    let read = || parse_answers(&fs::read_to_string(&path).unwrap(), "kl.ron", &lesson).unwrap();
    assert_eq!(read().run.learner, "KL");
    assert_eq!(read().run.steps[0].guesses, [Guess { who: String::new(), value: 0.1 }]);
    window.state_mut().show_lesson_at(2, LessonStage::Locked, &[("", 0.4)]);
    window.run_ok();
    press(&mut window, Key::S);
    window.run_ok();
    window.run_ok();
    assert_eq!(read().run.steps[1].guesses.len(), 1);
}

/// Guesses at every step and reveals it; then the steps are shown, to be worked on.
fn reveal_all_and_leave(window: &mut Window) {
    let steps = window.state().lesson().unwrap().lesson().steps.len();
    for page in 1..=steps {
        window.state_mut().show_lesson_at(page, LessonStage::Revealed, &[("KL", 0.5)]);
    }
    window.run_ok();
    window.key_press(Key::Escape);
    window.run_ok();
}

/// Derived: what a class guessed outlives a mended text; what would make another question of it is refused until it is saved.
#[test]
fn guesses_outlive_a_mended_text() {
    let own = tempfile::tempdir().unwrap();
    let mut window = open(own.path(), Some(&example()));
    reveal_all_and_leave(&mut window);
    assert_eq!(window.state().screen_shown(), Screen::LESSON_STEPS);
    let guessed = window.state().lesson_run().clone();
    put(&mut window, "Text after the reveal", "Mended.");
    assert_eq!(window.state().lesson().unwrap().lesson().steps[0].after, "Mended.");
    assert_eq!(*window.state().lesson_run(), guessed);
    let before = window.state().lesson().unwrap().lesson().clone();
    click(&mut window, "Remove the step");
    assert!(shows(&window, "The lesson was not changed") && shows(&window, "Save the answers first"));
    assert_eq!(*window.state().lesson().unwrap().lesson(), before);
    assert_eq!(*window.state().lesson_run(), guessed);
}

/// Derived: whoever leaves with both unsaved and asks for saving has either in its file.
#[test]
fn leaving_saves_the_lesson_and_then_its_answers() {
    let (own, folder) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let (path, answers) = (folder.path().join("tilt.ron"), folder.path().join("kl.ron"));
    fs::copy(example(), &path).unwrap();
    let mut window = open(own.path(), Some(&path));
    window.state_mut().show_lesson_at(1, LessonStage::Locked, &[("KL", 0.5)]);
    window.run_ok();
    save_to(&mut window, &answers, "Path to save to (.ron)");
    reveal_all_and_leave(&mut window);
    put(&mut window, "Text after the reveal", "Mended.");
    press(&mut window, Key::Q);
    window.run_ok();
    click(&mut window, "Save first");
    wait_s(&mut window, 1.0);
    let lesson = read_lesson(&path).unwrap();
    assert_eq!(lesson.steps[0].after, "Mended.");
    let read = parse_answers(&fs::read_to_string(&answers).unwrap(), "kl.ron", &lesson).unwrap();
    assert!(read.run.steps.iter().all(|step| !step.guesses.is_empty()), "{read:?}");
    assert!(!window.state().lesson().unwrap().is_changed());
}
