//! What one frame costs while a slider is dragged: everything that the program itself does between two pictures, from
//! the pointer's event to the triangles that go to the graphics card.
//!
//! Run with `cargo bench -p obliquity --bench frames`. Wall time; `with worker` has coverage worked out on the other
//! threads meanwhile, as in the window.
#![expect(
    clippy::print_stdout,
    clippy::unwrap_used,
    reason = "a bench prints what it finds and stops where it cannot go on"
)]

use egui::accesskit::{Node, Role};
use egui::{Context, Event, Modifiers, PointerButton, Pos2, RawInput, Rect, Vec2, pos2};
use obliquity::app::{App, Screen};
use obliquity::canvas::Canvas;
use obliquity::document::Document;
use obliquity::files;
use obliquity::theme::Mode;
use obliquity_planning::{Structure, polygon};
use std::time::{Duration, Instant};

const FRAMES: u32 = 200;
const SLIDER: &str = "GSD of Cycled gimbal";

struct Window {
    ctx: Context,
    app: App,
    size: Vec2,
    time_s: f64,
}

#[derive(Clone, Copy, PartialEq)]
enum Worker {
    Running,
    None,
}

impl Window {
    fn new(size: Vec2, worker: Worker) -> Self {
        let ctx = Context::default();
        let document = Document::new(files::demo().unwrap(), None);
        let mut app = match worker {
            Worker::Running => App::new(&ctx, document, Mode::Light),
            Worker::None => {
                obliquity::theme::install(&ctx, Mode::Light);
                let mut app = App::still(document);
                app.work_out();
                app
            }
        };
        let cycled = app.document().scenario().strategies.last().map(|strategy| strategy.id);
        app.focus_on(cycled.unwrap());
        app.open_on_board(obliquity::board::SETTINGS);
        Window { ctx, app, size, time_s: 0.0 }
    }

    /// One frame with these events; returns how long it took.
    fn frame(&mut self, events: Vec<Event>) -> Duration {
        self.time_s += 1.0 / 60.0;
        let input = RawInput {
            screen_rect: Some(Rect::from_min_size(Pos2::ZERO, self.size)),
            time: Some(self.time_s),
            events,
            ..RawInput::default()
        };
        let begun = Instant::now();
        self.app.hear();
        let mut output = self.ctx.run_ui(input, |ui| self.app.screen(ui));
        let shapes = std::mem::take(&mut output.shapes);
        let meshes = self.ctx.tessellate(shapes, output.pixels_per_point);
        let taken = begun.elapsed();
        drop(meshes);
        output.textures_delta.clear();
        taken
    }

    /// Where a slider stands, as a screen reader is told.
    fn slider(&mut self, name: &str) -> Rect {
        self.found(|node| node.role() == Role::Slider && node.label() == Some(name))
    }

    /// Where something stands, as a screen reader is told.
    fn found(&mut self, is_it: impl Fn(&Node) -> bool) -> Rect {
        self.ctx.enable_accesskit();
        let mut found = None;
        for _ in 0..4 {
            self.time_s += 1.0 / 60.0;
            let input = RawInput {
                screen_rect: Some(Rect::from_min_size(Pos2::ZERO, self.size)),
                time: Some(self.time_s),
                ..RawInput::default()
            };
            let mut output = self.ctx.run_ui(input, |ui| self.app.screen(ui));
            output.textures_delta.clear();
            let nodes =
                output.platform_output.accesskit_update.map(|update| update.nodes).unwrap_or_default();
            let node = nodes.iter().find(|(_, node)| is_it(node));
            found = node.and_then(|(_, node)| node.bounds()).or(found);
        }
        self.ctx.disable_accesskit();
        let bounds = found.unwrap();
        #[expect(clippy::cast_possible_truncation, reason = "places on the screen")]
        let at = |x: f64, y: f64| pos2(x as f32, y as f32);
        Rect::from_min_max(at(bounds.x0, bounds.y0), at(bounds.x1, bounds.y1))
    }

    /// Drags the slider to and fro; returns the frames' times.
    fn drag(&mut self) -> Vec<Duration> {
        let rail = self.slider(SLIDER);
        let at = |share: f32| pos2(rail.left() + share * rail.width(), rail.center().y);
        let press = |pressed: bool| Event::PointerButton {
            pos: at(0.5),
            button: PointerButton::Primary,
            pressed,
            modifiers: Modifiers::NONE,
        };
        self.frame(vec![Event::PointerMoved(at(0.5))]);
        self.frame(vec![press(true)]);
        let before = self.app.document().scenario().clone();
        let times = (0..FRAMES)
            .map(|frame| {
                let phase = f64::from(frame) / f64::from(FRAMES) * 4.0 * std::f64::consts::TAU;
                #[expect(clippy::cast_possible_truncation, reason = "a share")]
                let share = (0.5 + 0.25 * phase.sin()) as f32;
                self.frame(vec![Event::PointerMoved(at(share))])
            })
            .collect();
        assert_ne!(&before, self.app.document().scenario(), "the slider moves");
        self.frame(vec![press(false)]);
        times
    }
}

impl Window {
    /// Drags a corner of the largest structure on the large plan to and fro; returns the frames' times.
    fn drag_corner(&mut self) -> Vec<Duration> {
        self.app.turn_to(Screen::PLAN);
        let area = self.found(|node| node.label().is_some_and(|label| label.starts_with("Plan of")));
        let scenario = self.app.document().scenario().clone();
        let by_area = |s: &&Structure| (polygon::area_m2(&s.footprint_m) * 1e3) as u64;
        let largest = scenario.site.structures.iter().max_by_key(by_area).unwrap();
        let canvas = Canvas::fitted(self.app.beside().plan().unwrap().bounds_m(), area);
        let middle = canvas.to_screen(polygon::centroid_m(&largest.footprint_m), area);
        let corner = canvas.to_screen(largest.footprint_m[2], area);
        let press = |pos: Pos2, pressed: bool| Event::PointerButton {
            pos,
            button: PointerButton::Primary,
            pressed,
            modifiers: Modifiers::NONE,
        };
        for event in [Event::PointerMoved(middle), press(middle, true), press(middle, false)] {
            self.frame(vec![event]);
        }
        for _ in 0..4 {
            self.frame(Vec::new());
        }
        self.frame(vec![Event::PointerMoved(corner)]);
        self.frame(vec![press(corner, true)]);
        let mut last = corner;
        let times = (0..FRAMES)
            .map(|frame| {
                let phase = frame as f32 / FRAMES as f32 * 4.0 * std::f32::consts::TAU;
                last = corner + 18.0 * egui::vec2(phase.sin(), 0.4 * phase.cos() - 0.4);
                self.frame(vec![Event::PointerMoved(last)])
            })
            .collect();
        assert_ne!(scenario.site, self.app.document().scenario().site, "the corner moves");
        self.frame(vec![press(last, false)]);
        times
    }
}

fn report(what: &str, mut times: Vec<Duration>) {
    times.sort();
    let ms = |time: Duration| 1e3 * time.as_secs_f64();
    let (median, most) = (times[times.len() / 2], times[times.len() - 1]);
    let slow = times[times.len() * 95 / 100];
    println!("{what:<52} median {:6.2} ms   95 % {:6.2} ms   most {:6.2} ms", ms(median), ms(slow), ms(most));
}

/// As the program has it.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() {
    for (size, name) in [
        (Vec2::new(1280.0, 800.0), "1280x800, plan folded"),
        (Vec2::new(1920.0, 1080.0), "1920x1080, plan open"),
    ] {
        for (worker, with) in [(Worker::None, "no worker"), (Worker::Running, "with worker")] {
            let mut window = Window::new(size, worker);
            report(&format!("slider dragged, {name}, {with}"), window.drag());
        }
    }
    let mut window = Window::new(Vec2::new(1920.0, 1080.0), Worker::None);
    for (screen, name) in [(Screen::BOARD, "board and plan"), (Screen::PLAN, "plan"), (Screen::CARD, "card")]
    {
        window.app.turn_to(screen);
        for _ in 0..4 {
            window.frame(Vec::new());
        }
        let hover = |k: u32| vec![Event::PointerMoved(pos2(700.0 + k as f32, 500.0))];
        report(&format!("pointer moved over {name}"), (0..FRAMES).map(|k| window.frame(hover(k))).collect());
    }
    for (worker, with) in [(Worker::None, "no worker"), (Worker::Running, "with worker")] {
        let mut window = Window::new(Vec2::new(1280.0, 800.0), worker);
        report(&format!("corner of a structure dragged, {with}"), window.drag_corner());
    }
    let begun = Instant::now();
    let mut window = Window::new(Vec2::new(1280.0, 800.0), Worker::Running);
    window.frame(Vec::new());
    println!("demo read to first frame (no window system): {:.1} ms", 1e3 * begun.elapsed().as_secs_f64());
}
