//! Lessons in the window: what is hidden is nowhere, and a whole lesson by keys alone.

use crate::made_up;
use crate::reading::Reader;
use crate::window::{nothing_long_began, shared, witness};
use egui::{Key, Modifiers};
use egui_kittest::Harness;
use egui_kittest::kittest::{NodeT, Queryable};
use obliquity::app::{App, LessonStage, SCREENS, Screen};
use obliquity::document::Document;
use obliquity::lesson::{AnswerSheet, LessonDocument, LessonSheet};
use obliquity::theme::Mode;
use obliquity_exchange::read_lesson;
use obliquity_planning::lesson::{AskedOf, Lesson, StepStage};
use obliquity_planning::{NoWatch, Scenario, StructureKind, Units};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::{Duration, Instant};

const SIZE: (f32, f32) = (1280.0, 800.0);

fn path(file: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples/lessons").join(file)
}

fn example(file: &str) -> Lesson {
    read_lesson(&path(file)).unwrap_or_else(|error| panic!("{error}"))
}

fn all() -> Vec<Lesson> {
    let mut files: Vec<PathBuf> =
        std::fs::read_dir(path("")).unwrap().map(|entry| entry.unwrap().path()).collect();
    files.sort();
    files.iter().map(|file| read_lesson(file).unwrap()).collect()
}

/// A window on a scenario in which a lesson is taught; all of both is worked out.
fn taught(lesson: &Lesson, scenario: &Scenario) -> App {
    let mut app = shared(App::still(Document::new(scenario.clone(), None)));
    app.work_out();
    app = app.with_lesson(LessonDocument::read(lesson.clone(), PathBuf::from("lesson.ron"), None));
    app.work_out_lesson();
    app
}

/// The same lesson over a site and rules that give other figures: buildings half as high again, views judged otherwise.
fn other_figures(lesson: &Lesson) -> Lesson {
    let mut other = lesson.clone();
    let site = Arc::make_mut(&mut other.scenario.site);
    for structure in &mut site.structures {
        if let StructureKind::Extrusion { height_m } = &mut structure.kind {
            *height_m *= 0.6;
        }
    }
    for corner in &mut site.boundary_m {
        *corner *= 1.4;
    }
    other.scenario.requirement.views.max_incidence_deg = 48.0;
    other.scenario.requirement.views.min_views = 4;
    other.scenario.conditions.per_control_point_min += 1.0;
    other
}

/// What each step asks, and each strategy's part in it.
fn figures(lesson: &Lesson) -> Vec<Vec<f64>> {
    (0..lesson.steps.len())
        .map(|step| {
            let own = witness().lesson_step(lesson, step, None, &NoWatch).unwrap();
            let row = lesson.steps[step].measure().unwrap();
            let parts = own.outcomes.iter().filter_map(|outcome| row.read(outcome));
            own.figure.into_iter().chain(parts).collect()
        })
        .collect()
}

/// A figure as it may be written: as it is stored and in each unit, to as many decimals as somebody may, with the signs about it that
/// make few digits more than a coincidence.
fn forms(lesson: &Lesson, step: usize, values: &[f64]) -> Vec<String> {
    let unit = lesson.steps[step].measure().unwrap().unit;
    // How many digits are no coincidence: more for what is only worked out from the figure.
    let mut numbers: Vec<(f64, usize)> = vec![];
    for value in values {
        numbers.push((*value, 3));
        numbers.extend(Units::ALL.map(|units| (units.shown(unit, *value), 3)));
        // A share as one in so many, a time in hours, a complement.
        numbers.extend([1.0 / value, value / 3600.0, 1.0 - value, 100.0 - 100.0 * value].map(|own| (own, 4)));
    }
    let mut forms = Vec::new();
    for (number, least) in numbers {
        for decimals in 0..=6 {
            let text = format!("{number:.decimals$}");
            // Round numbers stand everywhere.
            let own = if text.contains('.') { text.as_str() } else { text.trim_end_matches('0') };
            let own = own.trim_start_matches(['0', '.', '-']);
            let digits = own.chars().filter(char::is_ascii_digit).count();
            if digits >= least && text.trim_start_matches('-').parse::<f64>() != Ok(100.0) {
                forms.push(text);
            }
        }
    }
    let percent = (100.0 * values[0]).round();
    if percent > 0.0 && percent < 100.0 {
        forms.push(format!("{percent:.0} %"));
        forms.push(format!("{:.1} %", 100.0 * values[0]));
    }
    forms.push(format!("{:.1} min", values[0] / 60.0));
    forms.push(format!("{:.2} times", values[0]));
    forms.sort();
    forms.dedup();
    forms
}

/// Whether a number stands in a text by itself, thousands joined.
fn stands_in(text: &str, form: &str) -> bool {
    let joined: String = text.chars().filter(|letter| !matches!(letter, '\u{a0}' | '\u{202f}')).collect();
    joined.match_indices(form).any(|(at, _)| {
        let before = joined[..at].chars().next_back();
        let after = joined[at + form.len()..].chars().next();
        let is_part =
            |letter: Option<char>| letter.is_some_and(|letter| letter.is_ascii_digit() || letter == '.');
        !is_part(before) && !after.is_some_and(|letter| letter.is_ascii_digit())
    })
}

/// Every text of the screen that is shown: drawn, copied and in its diagrams.
fn texts(reader: &mut Reader, app: &mut App) -> Vec<String> {
    let mut texts: Vec<String> = reader.texts(app, SIZE).into_iter().map(|text| text.text).collect();
    texts.extend(app.table());
    for chart in app.charts().unwrap_or_default() {
        texts.push(format!("{chart:?}"));
    }
    texts
}

/// Derived: while a step is hidden, no screen but the lesson's own draws anything that depends on the scenario, whatever
/// figures stand behind it: windows on different scenarios draw them alike to the pixel, and neither table nor diagram is given out.
#[test]
fn every_other_screen_is_shut_while_something_is_hidden() {
    let lesson = example("tilt_and_walls.ron");
    let mut apps = vec![taught(&lesson, &lesson.scenario), taught(&lesson, &made_up::scenario())];
    let mut readers = [Reader::new(Mode::Light), Reader::new(Mode::Light)];
    for row in SCREENS.iter().filter(|row| row.id != Screen::LESSON) {
        let drawn: Vec<_> = apps
            .iter_mut()
            .zip(&mut readers)
            .map(|(app, reader)| {
                app.turn_to(row.id);
                assert_eq!(app.table(), None, "{}", row.title);
                assert_eq!(app.charts(), None, "{}", row.title);
                reader.read(app, SIZE)
            })
            .collect();
        assert!(drawn[0].image.pixels == drawn[1].image.pixels, "{}: pictures differ", row.title);
        let told: Vec<&str> = drawn[0].texts.iter().map(|text| text.text.as_str()).collect();
        assert!(
            told.iter().any(|text| text.contains("is shut while a lesson asks: step 1 is not")),
            "{told:?}"
        );
        assert!(told.iter().any(|text| text.contains("Ctrl+Shift+F10 ends it and reveals everything")));
    }
    for app in &mut apps {
        app.end_lesson();
        app.turn_to(Screen::BOARD);
        assert!(app.table().is_some(), "it opens again");
    }
}

/// Derived: while a step is hidden its page is the same to the pixel and to every text whatever the figure is, with
/// earlier steps revealed and later ones not.
#[test]
fn the_page_of_a_hidden_step_does_not_depend_on_its_figure() {
    for lesson in [example("tilt_and_walls.ron"), example("why_five_directions_take_long.ron")] {
        let other = other_figures(&lesson);
        let (own, others) = (figures(&lesson), figures(&other));
        let scenario = made_up::scenario();
        let mut apps = vec![taught(&lesson, &scenario), taught(&other, &scenario)];
        let mut readers = [Reader::new(Mode::Light), Reader::new(Mode::Light)];
        let mut differing = 0;
        for step in 0..lesson.steps.len() {
            differing += usize::from(own[step][0] != others[step][0]);
            for stage in [LessonStage::Asked, LessonStage::Locked] {
                for is_zoomed in [false, true] {
                    let drawn: Vec<_> = apps
                        .iter_mut()
                        .zip(&mut readers)
                        .map(|(app, reader)| {
                            app.turn_to(Screen::LESSON);
                            app.show_lesson_at(step + 1, stage, &[("", 0.4), ("AB", 0.7)]);
                            if is_zoomed {
                                app.zoom_lesson();
                            }
                            let sheet = app.lesson_sheet();
                            (reader.read(app, SIZE), sheet, app.charts())
                        })
                        .collect();
                    assert!(
                        drawn[0].0.image.pixels == drawn[1].0.image.pixels,
                        "step {}: pictures",
                        step + 1
                    );
                    assert_eq!(drawn[0].1, drawn[1].1, "step {}", step + 1);
                    assert_eq!(drawn[0].2, drawn[1].2, "step {}", step + 1);
                    let Some(LessonSheet::Step(sheet)) = &drawn[0].1 else { panic!("a step") };
                    assert!(matches!(sheet.answer, AnswerSheet::Hidden(_)));
                }
            }
            for app in &mut apps {
                app.show_lesson_at(step + 1, LessonStage::Revealed, &[]);
            }
            assert!(texts(&mut readers[0], &mut apps[0]).len() > 10);
        }
        assert!(differing + 1 >= lesson.steps.len(), "{own:?} {others:?}: nothing would be found");
    }
}

/// Derived: walking through every lesson, with all its screens at every step, no text shows a figure that a step not yet revealed
/// asks, nor one that it is worked out from; neither do the workings of the steps revealed before, their moved inputs included.
#[test]
fn no_text_of_a_lesson_shows_what_is_still_hidden() {
    let mut looked_at = 0;
    for lesson in all() {
        let own = figures(&lesson);
        let all_forms: Vec<Vec<String>> =
            (0..own.len()).map(|step| forms(&lesson, step, &own[step])).collect();
        let mut app = taught(&lesson, &lesson.scenario);
        let mut reader = Reader::new(Mode::Light);
        let mut revealed: Vec<usize> = Vec::new();
        for step in 0..lesson.steps.len() {
            for stage in [LessonStage::Asked, LessonStage::Locked, LessonStage::Revealed] {
                app.turn_to(Screen::LESSON);
                app.show_lesson_at(step + 1, stage, &[("", 0.37)]);
                if stage == LessonStage::Revealed {
                    revealed.push(step);
                }
                let mut seen = texts(&mut reader, &mut app);
                if let Some(LessonSheet::Step(sheet)) = app.lesson_sheet() {
                    // The whole working, also what is out of sight.
                    seen.push(format!("{sheet:?}"));
                }
                if stage == LessonStage::Revealed && lesson.steps[step].moves.is_some() {
                    for value in lesson.steps[step].moves.as_ref().unwrap().all() {
                        app.move_lesson_input(step, Some(value));
                        app.work_out_lesson();
                        seen.extend(texts(&mut reader, &mut app));
                    }
                    app.move_lesson_input(step, None);
                }
                for page in [0, lesson.steps.len() + 1] {
                    app.show_lesson_at(page, LessonStage::Asked, &[]);
                    seen.extend(texts(&mut reader, &mut app));
                }
                // What the author says is his own, and must not say it either.
                for hidden in (0..lesson.steps.len()).filter(|hidden| !revealed.contains(hidden)) {
                    let is_known =
                        |form: &&String| revealed.iter().any(|known| all_forms[*known].contains(form));
                    for form in all_forms[hidden].iter().filter(|form| !is_known(form)) {
                        looked_at += 1;
                        let found = seen.iter().find(|text| stands_in(text, form));
                        assert!(
                            found.is_none(),
                            "{}, step {} {stage:?}: {form} of step {} stands in {found:?}",
                            lesson.name,
                            step + 1,
                            hidden + 1
                        );
                    }
                }
            }
        }
        let shown = format!("{:?}", app.lesson_sheet());
        app.show_lesson_at(lesson.steps.len(), LessonStage::Revealed, &[]);
        assert_ne!(format!("{:?}", app.lesson_sheet()), shown);
    }
    assert!(looked_at > 1000, "{looked_at}");
}

/// Derived: the search above finds a figure where it does stand.
#[test]
fn a_revealed_step_shows_what_it_asks() {
    let lesson = example("tilt_and_walls.ron");
    let own = figures(&lesson);
    let mut app = taught(&lesson, &lesson.scenario);
    let mut reader = Reader::new(Mode::Light);
    for (step, values) in own.iter().enumerate() {
        app.show_lesson_at(step + 1, LessonStage::Revealed, &[("", 0.3), ("AB", 0.62)]);
        let seen = texts(&mut reader, &mut app);
        let forms = forms(&lesson, step, values);
        let found = |text: &String| forms.iter().any(|form| stands_in(text, form));
        assert!(seen.iter().any(found), "step {}: {seen:?}", step + 1);
        let Some(LessonSheet::Step(sheet)) = app.lesson_sheet() else { panic!("a step") };
        assert!(sheet.guesses.iter().all(|guess| guess.off.is_some()), "errors are told");
        assert_eq!(sheet.chart.marks.len(), 2, "guesses stand as marks");
        let bars = 1 + usize::from(lesson.steps[step].moves.is_some());
        assert_eq!(sheet.chart.bars.len(), bars, "on the true bar, and where it is moved from");
        let AnswerSheet::Shown(shown) = &sheet.answer else { panic!("shown") };
        assert!(shown.working.len() > 3, "with the working below: {:?}", shown.working);
    }
}

/// Derived: moving the tilt to where a later step asks, or beyond, shows nothing until that is revealed.
#[test]
fn a_moved_input_does_not_answer_a_later_step() {
    let lesson = example("tilt_and_walls.ron");
    let mut app = taught(&lesson, &lesson.scenario);
    app.show_lesson_at(2, LessonStage::Revealed, &[("", 0.3)]);
    let told = |app: &mut App, value: f64| {
        app.move_lesson_input(1, Some(value));
        app.work_out_lesson();
        let Some(LessonSheet::Step(sheet)) = app.lesson_sheet() else { panic!("a step") };
        let AnswerSheet::Shown(shown) = sheet.answer else { panic!("shown") };
        (shown.moves.unwrap(), sheet.chart.bars.len())
    };
    let (free, bars) = told(&mut app, 10.0);
    assert!(free.contains("10°: 1.2 %") && bars == 2, "{free}");
    for (to, later) in [(20.0, 3), (25.0, 3), (30.0, 4)] {
        let (kept, bars) = told(&mut app, to);
        assert!(kept.contains(&format!("hidden until step {later} is revealed")) && bars == 1, "{kept}");
    }
}

/// Derived: at 1280×800 nothing on the page is smaller than 24 px, and it grows with the window.
#[test]
fn a_page_can_be_read_from_the_back_of_a_room() {
    let lesson = example("tilt_and_walls.ron");
    let mut app = taught(&lesson, &lesson.scenario);
    let mut reader = Reader::new(Mode::Light);
    for (size, least) in [(SIZE, 24.0), ((1920.0, 1080.0), 32.0)] {
        for page in 0..=lesson.steps.len() + 1 {
            for stage in [LessonStage::Asked, LessonStage::Revealed] {
                app.show_lesson_at(page, stage, &[("", 0.3), ("AB", 0.62)]);
                let drawn = reader.texts(&mut app, size);
                assert!(drawn.len() > 3);
                for text in drawn.iter().filter(|text| !text.text.trim().is_empty()) {
                    assert!(text.size >= least, "page {page}: {} is drawn in {} px", text.text, text.size);
                }
            }
        }
    }
}

fn settle(window: &mut Harness<'static, App>) {
    let begun = Instant::now();
    for _ in 0..3 {
        window.step();
    }
    while let Some(LessonSheet::Step(sheet)) = window.state().lesson_sheet()
        && matches!(sheet.answer, AnswerSheet::ComingUp)
    {
        assert!(begun.elapsed() < Duration::from_mins(1), "the figure does not come");
        std::thread::sleep(Duration::from_millis(5));
        window.step();
    }
}

fn window(lesson: &Lesson) -> Harness<'static, App> {
    let document = LessonDocument::read(lesson.clone(), PathBuf::from("tilt.ron"), None);
    let mut window =
        Harness::builder().with_size([1280.0, 800.0]).with_max_steps(40).build_eframe(move |creation| {
            shared(App::new(&creation.egui_ctx, Document::new(made_up::scenario(), None), Mode::Light))
                .with_lesson(document)
        });
    settle(&mut window);
    window
}

fn press(window: &mut Harness<'static, App>, key: Key) {
    window.key_press(key);
    settle(window);
}

fn type_in(window: &mut Harness<'static, App>, text: &str) {
    for letter in text.chars() {
        window.event(egui::Event::Text(letter.to_string()));
    }
    window.step();
}

/// Derived: however much is typed within one frame, all is taken in its order.
#[test]
fn what_comes_in_one_frame_is_taken_as_it_was_typed() {
    let lesson = example("tilt_and_walls.ron");
    let mut window = window(&lesson);
    press(&mut window, Key::PageDown);
    press(&mut window, Key::Enter);
    let text = |text: &str| egui::Event::Text(text.to_owned());
    let key = |key: Key| egui::Event::Key {
        key,
        physical_key: None,
        pressed: true,
        repeat: false,
        modifiers: egui::Modifiers::NONE,
    };
    let typed =
        [text("6"), text("0"), key(Key::Enter), text("AB 7"), text("0"), key(Key::Enter), key(Key::F2)];
    for event in typed {
        window.event(event);
    }
    settle(&mut window);
    for _ in 0..6 {
        window.step();
    }
    let run = window.state().lesson_run();
    let guesses: Vec<(&str, f64)> = run.steps[0]
        .guesses
        .iter()
        .map(|guess| (guess.who.as_str(), (1000.0 * guess.value).round()))
        .collect();
    assert_eq!(guesses, [("", 600.0), ("AB", 700.0)]);
    assert_eq!(run.stage(0), StepStage::Locked);
}

/// Derived: a whole lesson by keys alone: guesses, a wrong one, locks, reveals, zoom, moving an input, back and on to the end.
#[test]
fn a_whole_lesson_is_gone_through_with_the_keyboard() {
    let lesson = example("tilt_and_walls.ron");
    let mut window = window(&lesson);
    type_in(&mut window, "KL");
    press(&mut window, Key::PageDown);
    assert_eq!(window.state().lesson_run().learner, "KL");
    for step in 0..lesson.steps.len() {
        let stage = |window: &Harness<'static, App>| window.state().lesson_run().stage(step);
        press(&mut window, Key::F3);
        assert_eq!(stage(&window), StepStage::Open, "nothing is revealed before it is locked");
        press(&mut window, Key::F2);
        assert_eq!(stage(&window), StepStage::Open, "nor locked before something is guessed");
        type_in(&mut window, "much");
        press(&mut window, Key::Enter);
        assert!(window.query_by_label_contains("a number was required").is_some());
        for _ in 0..4 {
            window.key_press(Key::Backspace);
            window.step();
        }
        let guess = if matches!(lesson.steps[step].asked.of, AskedOf::Ratio { .. }) { "1.5" } else { "40" };
        type_in(&mut window, guess);
        press(&mut window, Key::Enter);
        type_in(&mut window, &format!("AB {guess}"));
        press(&mut window, Key::Enter);
        assert_eq!(window.state().lesson_run().steps[step].guesses.len(), 2);
        press(&mut window, Key::F2);
        assert_eq!(stage(&window), StepStage::Locked);
        press(&mut window, Key::F4);
        press(&mut window, Key::F4);
        press(&mut window, Key::F3);
        assert_eq!(stage(&window), StepStage::Revealed);
        if step == 1 {
            press(&mut window, Key::ArrowLeft);
            assert_eq!(window.state().lesson_run().steps[step].moved, Some(10.0));
            press(&mut window, Key::ArrowLeft);
            assert_eq!(window.state().lesson_run().steps[step].moved, Some(5.0));
            press(&mut window, Key::ArrowRight);
        }
        press(&mut window, Key::ArrowDown);
        press(&mut window, Key::PageUp);
        press(&mut window, Key::PageDown);
        press(&mut window, Key::PageDown);
    }
    assert!(window.query_by_label_contains("guesses were near").is_some());
    nothing_long_began();
    press(&mut window, Key::Escape);
    assert_eq!(window.state().screen_shown(), Screen::LESSON_STEPS);
    assert!(window.query_by_label_contains("is shut while a lesson asks").is_none(), "it is over");
    // Another class: what this one guessed is in no file yet, so that is asked about first.
    window.key_press(Key::F10);
    settle(&mut window);
    press(&mut window, Key::Home);
    assert!(window.query_by_label_contains("What was guessed at the lesson is in no file").is_some());
    assert!(window.state().lesson_run().is_begun());
    window.get_by_label("Discard the guesses").click();
    settle(&mut window);
    assert!(!window.state().lesson_run().is_begun());
    assert_eq!(window.state().lesson_run().first_hidden(), Some(0));
    assert!(matches!(window.state().lesson_sheet(), Some(LessonSheet::Title(_))));
}

/// Derived: a question in front of a page that takes guesses has the keyboard: Enter presses what is meant, letters go where they are
/// typed.
#[test]
fn questions_before_a_page_have_the_keyboard() {
    let lesson = example("tilt_and_walls.ron");
    let mut window = window(&lesson);
    press(&mut window, Key::PageDown);
    window.key_press_modifiers(Modifiers::COMMAND.plus(Modifiers::SHIFT), Key::F10);
    settle(&mut window);
    assert!(window.query_by_label_contains("5 figures are still hidden").is_some());
    press(&mut window, Key::Enter);
    assert!(
        window.query_by_label_contains("5 figures are still hidden").is_none(),
        "Enter goes on with the lesson"
    );
    assert_eq!(window.state().lesson_run().first_hidden(), Some(0));
    window.key_press_modifiers(Modifiers::COMMAND, Key::K);
    settle(&mut window);
    type_in(&mut window, "pin");
    press(&mut window, Key::Escape);
    press(&mut window, Key::Enter);
    assert!(window.query_by_label_contains("a number was required").is_none(), "no letter came to the page");
    type_in(&mut window, "7");
    press(&mut window, Key::Enter);
    assert_eq!(window.state().lesson_run().steps[0].guesses.len(), 1, "the page has it again");
}

/// Derived: of what is hidden only itself is held back: no line of the first step's working holds the figures of those after it.
#[test]
fn no_line_is_held_back_that_tells_nothing() {
    let lesson = example("why_five_directions_take_long.ron");
    let mut app = taught(&lesson, &lesson.scenario);
    app.show_lesson_at(1, LessonStage::Revealed, &[("", 2.0)]);
    let Some(LessonSheet::Step(sheet)) = app.lesson_sheet() else { panic!("a step") };
    let AnswerSheet::Shown(shown) = sheet.answer else { panic!("shown") };
    let held: Vec<_> = shown.working.iter().filter(|line| line.text.trim_start().starts_with('(')).collect();
    assert!(held.is_empty() && shown.working.len() > 3, "{held:?}");
}

/// Derived: each example lets its inputs be moved in its turn: most values of each stand open while all that comes later is hidden.
#[test]
fn inputs_of_the_examples_can_be_moved_in_their_turn() {
    let mut seen = 0;
    for lesson in all() {
        for (step, own) in lesson.steps.iter().enumerate() {
            let Some(moves) = &own.moves else { continue };
            let values = moves.all();
            let open = values.iter().filter(|to| lesson.tells(step, **to, |other| other > step).is_none());
            assert!(2 * open.count() > values.len(), "{}, step {}", lesson.name, step + 1);
            seen += 1;
        }
    }
    assert!(seen >= 5, "{seen}");
}

/// Derived: commands that could show or write what is hidden are refused with their reason, by key and in the list of commands, and
/// no accessible name of a shut screen tells a figure.
#[test]
fn commands_are_refused_while_a_lesson_hides_something() {
    let lesson = example("tilt_and_walls.ron");
    let mut window = window(&lesson);
    press(&mut window, Key::Escape);
    for (modifiers, key) in [
        (Modifiers::COMMAND, Key::Z),
        (Modifiers::COMMAND.plus(Modifiers::SHIFT), Key::K),
        (Modifiers::COMMAND, Key::C),
        (Modifiers::ALT, Key::C),
        (Modifiers::NONE, Key::F6),
        (Modifiers::COMMAND, Key::O),
        (Modifiers::COMMAND.plus(Modifiers::ALT), Key::E),
    ] {
        window.key_press_modifiers(modifiers, key);
        window.step();
        window.step();
        let told = window.query_by_label_contains("A lesson hides what step 1 asks").is_some();
        assert!(told, "{modifiers:?} {key:?}");
        assert!(window.output().platform_output.commands.is_empty(), "nothing is copied");
        window.key_press(Key::Escape);
        window.step();
        window.step();
    }
    window.key_press_modifiers(Modifiers::COMMAND, Key::K);
    window.run_ok();
    let names: Vec<String> =
        window.root().children_recursive().filter_map(|node| node.accesskit_node().label()).collect();
    assert!(names.iter().any(|name| name == "Undo"), "nothing is told of what would be undone: {names:?}");
    assert!(names.len() > 60, "{names:?}");
    window.key_press(Key::Escape);
    window.run_ok();
    let end = |window: &mut Harness<'static, App>, answer: &str| {
        window.key_press_modifiers(Modifiers::COMMAND.plus(Modifiers::SHIFT), Key::F10);
        window.run_ok();
        assert!(window.query_by_label_contains("5 figures are still hidden").is_some(), "it asks first");
        window.get_by_label(answer).click();
        window.run_ok();
    };
    end(&mut window, "Go on with the lesson");
    assert_eq!(window.state().lesson_run().first_hidden(), Some(0), "nothing is revealed");
    end(&mut window, "End it and reveal everything");
    assert_eq!(window.state().lesson_run().first_hidden(), None, "ended");
    assert!(window.query_by_label_contains("is shut while a lesson asks").is_none());
}
