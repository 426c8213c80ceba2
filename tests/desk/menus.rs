//! Menus in small and enlarged windows: every item can be reached.

use crate::made_up;
use crate::opened::{Window, click};
use crate::window::shared;
use egui::accesskit::Role;
use egui::{Event, Key, Modifiers, MouseWheelSource, MouseWheelUnit, Rect, TouchPhase, Vec2, vec2};
use egui_kittest::Harness;
use egui_kittest::kittest::{NodeT, Queryable};
use obliquity::app::{App, command_rows};
use obliquity::document::Document;
use obliquity::theme::Mode;

/// In points: 1366 x 768 at 150 %, 1280 x 800 at 150 % and at 200 %.
const SMALL: [[f32; 2]; 3] = [[911.0, 512.0], [853.0, 533.0], [640.0, 400.0]];

fn small([width, height]: [f32; 2]) -> Window {
    let mut window: Window =
        Harness::builder().with_size([width, height]).with_max_steps(60).build_eframe(|creation| {
            shared(App::new(&creation.egui_ctx, Document::new(made_up::scenario(), None), Mode::Light))
                .at_once()
        });
    crate::window::settle(&mut window);
    window
}

/// The item of a menu that begins with these words; some go on with what they are about, and with their key.
fn item(window: &Window, text: &str) -> Option<Rect> {
    let mut found = window.query_all_by_role(Role::Button).filter(|node| {
        let label = node.accesskit_node().label().unwrap_or_default();
        label.strip_prefix(text).is_some_and(|rest| rest.is_empty() || rest.starts_with([' ', ':']))
    });
    found.next().map(|node| node.rect())
}

fn wheel(window: &mut Window, down: f32) {
    window.event(Event::MouseWheel {
        unit: MouseWheelUnit::Point,
        source: MouseWheelSource::Wheel,
        delta: vec2(0.0, -down),
        phase: TouchPhase::Move,
        modifiers: Modifiers::NONE,
    });
    window.run_ok();
}

fn open(window: &mut Window, menu: &str) {
    window.key_press(Key::Escape);
    window.run_ok();
    if window.query_by_label("Menu").is_some() {
        click(window, "Menu");
    }
    click(window, menu);
}

/// Derived: a menu that is taller than the window is scrolled by the wheel, and whatever it holds can be pressed.
#[test]
fn every_item_of_every_menu_can_be_reached_in_a_small_window() {
    for size in SMALL {
        let mut window = small(size);
        let whole = Rect::from_min_size(egui::Pos2::ZERO, Vec2::from(size));
        for menu in ["File", "Edit", "Strategy", "Compare", "View"] {
            open(&mut window, menu);
            let listed: Vec<_> = command_rows().into_iter().filter(|row| row.menu == menu).collect();
            let listed: Vec<_> = listed.iter().filter(|row| item(&window, row.text).is_some()).collect();
            assert!(listed.len() > 3, "{menu} at {size:?}");
            window.hover_at(item(&window, listed[0].text).unwrap().center());
            window.run_ok();
            for row in &listed {
                for _ in 0..20 {
                    if whole.contains_rect(item(&window, row.text).unwrap()) {
                        break;
                    }
                    wheel(&mut window, 40.0);
                }
                let place = item(&window, row.text).unwrap();
                assert!(whole.contains_rect(place), "{} of {menu} at {size:?}: {place}", row.text);
            }
        }
    }
}

/// Derived: the same with the arrows alone: what has the focus stands within the window.
#[test]
fn the_arrows_reach_the_last_item_of_a_menu() {
    let mut window = small(SMALL[2]);
    open(&mut window, "Strategy");
    window.get_by_role_and_label(Role::Button, "Duplicate Ctrl+Shift+D").focus();
    window.run_ok();
    for _ in 0..60 {
        window.key_press(Key::ArrowDown);
        window.run_ok();
        // It is scrolled to in the frames after it has the focus.
        for _ in 0..10 {
            window.step();
        }
        let focused = window.ctx.memory(egui::Memory::focused).and_then(|id| window.ctx.read_response(id));
        let place = focused.expect("an item has the focus").rect;
        assert!(place.top() >= 0.0 && place.bottom() <= 400.0, "{place}");
    }
}
