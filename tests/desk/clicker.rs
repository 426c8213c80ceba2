//! Someone who presses and drags whatever there is: the window answers, does not break, and shows no figure that is none.

use crate::window::shared;
use egui::accesskit::Role;
use egui::{Key, Modifiers, Pos2, Rect, Vec2};
use egui_kittest::kittest::NodeT;
use egui_kittest::{Harness, Node};
use obliquity::app::App;
use obliquity::document::Document;
use obliquity::files;
use obliquity::preferences::Home;
use obliquity::theme::Mode;
use rand_distr::{Distribution, Uniform};
use rand_pcg::Pcg64;
use rand_pcg::rand_core::SeedableRng;
use std::time::{Duration, Instant};

type Window = Harness<'static, App>;

/// No frame may take longer: the bound is that of an unoptimised build on a busy machine.
const FRAME: Duration = Duration::from_secs(4);

/// What there is to press at.
const SCREEN: Rect = Rect { min: Pos2::ZERO, max: Pos2::new(1280.0, 800.0) };

/// What opens the system's own dialogs, leaves the window or writes a file is not pressed.
const SHUT: [&str; 12] = [
    "Open",
    "Save",
    "Import",
    "Quit",
    "Export",
    "Print",
    "Browse",
    "Choose a file",
    "Library",
    "library",
    "Copy",
    "From file",
];

/// Numbers drawn one after the other from a seed.
struct Dice(Pcg64);

impl Dice {
    fn below(&mut self, count: usize) -> usize {
        Uniform::new(0, count.max(1)).expect("at least one").sample(&mut self.0)
    }

    fn share(&mut self) -> f64 {
        Uniform::new(0.0, 1.0).expect("0 lies below 1").sample(&mut self.0)
    }
}

fn window() -> Window {
    let document = Document::new(files::demo().unwrap(), None);
    Harness::builder().with_size(SCREEN.size()).with_max_steps(8).build_eframe(move |creation| {
        let ctx = &creation.egui_ctx;
        shared(App::new(ctx, document, Mode::Light)).with_home(ctx, Home::nowhere())
    })
}

/// What can be pressed or set, in reading order.
fn targets(window: &Window) -> Vec<Node<'_>> {
    let roles = [
        Role::Button,
        Role::CheckBox,
        Role::RadioButton,
        Role::ComboBox,
        Role::Slider,
        Role::SpinButton,
        Role::TextInput,
        Role::Link,
        Role::MenuItem,
    ];
    let all = window.root().children_recursive();
    let takes = |node: &Node<'_>| {
        let access = node.accesskit_node();
        let label = access.label().unwrap_or_default();
        roles.contains(&access.role())
            && !access.is_disabled()
            && !SHUT.iter().any(|shut| label.contains(shut))
            && access.bounding_box().is_some_and(|_| SCREEN.contains(node.rect().center()))
    };
    all.filter(takes).collect()
}

/// One thing that someone may do; what it was.
fn act(window: &mut Window, dice: &mut Dice) -> String {
    match dice.below(20) {
        0 => {
            let keys =
                [Key::Escape, Key::Tab, Key::Enter, Key::Space, Key::ArrowLeft, Key::ArrowRight, Key::Delete];
            let key = keys[dice.below(keys.len())];
            window.key_press(key);
            format!("key {key:?}")
        }
        1 => {
            // Undo, redo, and the screens by their letters.
            let keys = [
                Key::Z,
                Key::Y,
                Key::B,
                Key::P,
                Key::T,
                Key::W,
                Key::E,
                Key::R,
                Key::D,
                Key::Num3,
                Key::G,
                Key::L,
            ];
            let (key, shift) = (keys[dice.below(keys.len())], dice.below(2) == 1);
            window.key_press_modifiers(Modifiers { shift, ..Modifiers::COMMAND }, key);
            format!("shortcut {key:?}, shift {shift}")
        }
        2 => {
            let at = |dice: &mut Dice| Pos2::new(1280.0 * dice.share() as f32, 800.0 * dice.share() as f32);
            let (from, to) = (at(dice), at(dice));
            window.drag_at(from);
            step(window, "a drag");
            window.hover_at(from + (to - from) * 0.5);
            step(window, "a drag");
            window.drop_at(to);
            format!("drag {from:?} to {to:?}")
        }
        3 => {
            let by = Vec2::new(0.0, 400.0 * (dice.share() as f32 - 0.5));
            window.hover_at(Pos2::new(1280.0 * dice.share() as f32, 800.0 * dice.share() as f32));
            window.event(egui::Event::MouseWheel {
                unit: egui::MouseWheelUnit::Point,
                delta: by,
                phase: egui::TouchPhase::Move,
                source: egui::MouseWheelSource::Wheel,
                modifiers: if dice.below(3) == 0 { Modifiers::COMMAND } else { Modifiers::NONE },
            });
            format!("wheel {by:?}")
        }
        _ => press_one(window, dice),
    }
}

fn press_one(window: &mut Window, dice: &mut Dice) -> String {
    let all = targets(window);
    if all.is_empty() {
        return "nothing to press".to_owned();
    }
    let node = &all[dice.below(all.len())];
    let access = node.accesskit_node();
    let name = format!("{:?} {:?}", access.role(), access.label().unwrap_or_default());
    match access.role() {
        Role::Slider | Role::SpinButton => {
            let (low, high) =
                (access.min_numeric_value().unwrap_or(0.0), access.max_numeric_value().unwrap_or(100.0));
            let value = match dice.below(3) {
                0 => low,
                1 => high,
                _ => low + (high - low) * dice.share(),
            };
            node.set_value_accesskit(value);
            format!("{name} to {value}")
        }
        Role::TextInput => {
            let texts = ["0", "-1", "1e9", "98", "nonsense", "0.1", "500", "5", ""];
            let text = texts[dice.below(texts.len())];
            node.click();
            node.type_text(text);
            window.key_press(Key::Enter);
            format!("{name}: {text:?}")
        }
        _ => {
            node.click();
            name
        }
    }
}

fn step(window: &mut Window, what: &str) {
    let begun = Instant::now();
    window.step();
    assert!(begun.elapsed() < FRAME, "a frame of {:?} after {what}", begun.elapsed());
}

/// Whether a text that is read out holds what is no number.
fn odd(text: &str) -> bool {
    let words = text.split(|c: char| !(c.is_alphanumeric() || c == '-' || c == '.'));
    words.into_iter().any(|word| matches!(word, "NaN" | "inf" | "-inf"))
}

#[expect(clippy::print_stderr, reason = "a long run by hand says how long the longest frame was")]
fn click_about(seed: u64, actions: usize) {
    let mut window = window();
    let mut dice = Dice(Pcg64::seed_from_u64(seed));
    let mut done: Vec<String> = Vec::new();
    let mut longest = (Duration::ZERO, String::new());
    for number in 0..actions {
        let what = act(&mut window, &mut dice);
        done.push(what);
        let told =
            || format!("seed {seed}, action {number}: {}", done[done.len().saturating_sub(6)..].join("; "));
        for _ in 0..2 {
            let begun = Instant::now();
            window.step();
            if begun.elapsed() > longest.0 {
                longest = (begun.elapsed(), told());
            }
            assert!(begun.elapsed() < FRAME, "a frame of {:?} after {}", begun.elapsed(), told());
        }
        for node in window.root().children_recursive() {
            let access = node.accesskit_node();
            let said = [access.label(), access.value()].into_iter().flatten().find(|text| odd(text));
            assert_eq!(said, None, "after {}", told());
        }
    }
    eprintln!("seed {seed}: {actions} actions, longest frame {:?} after {}", longest.0, longest.1);
}

/// How many actions a seed has, and how many seeds there are: more by hand, `OBLIQUITY_CLICKS=2300x10`.
fn wanted() -> (usize, u64) {
    let wanted = std::env::var("OBLIQUITY_CLICKS").unwrap_or_default();
    let numbers = wanted.split_once('x').and_then(|(n, m)| Some((n.parse().ok()?, m.parse().ok()?)));
    numbers.unwrap_or((150, 3))
}

#[test]
fn whoever_presses_anything_gets_an_answer() {
    let (actions, seeds) = wanted();
    for seed in 0..seeds {
        click_about(seed, actions);
    }
}
