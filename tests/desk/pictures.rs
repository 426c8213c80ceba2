//! Every screen at the sizes that people use, checked shape by shape: nothing cut, nothing written over anything else.

use crate::reading::on_blank;
use crate::window::shared;
use egui::epaint::{ClippedShape, TextShape};
use egui::{RawInput, Rect, Shape, Vec2, ViewportId};
use obliquity::app::{App, Screen};
use obliquity::board::{CAUTIONS, SETTINGS};
use obliquity::document::Document;
use obliquity::files;
use obliquity::theme::Mode;
use obliquity_planning::{Id, Scenario, Strategy, wind};

/// Panels and scrolled areas learn their sizes in the first passes.
const PASSES: u64 = 4;

/// A written text: what it says, where its letters are, and what of that can be seen.
pub(crate) struct Written {
    pub(crate) text: String,
    pub(crate) ink: Rect,
    pub(crate) clip: Rect,
    /// Whether its end is cut off with an ellipsis.
    pub(crate) elided: bool,
}

pub(crate) fn texts(shapes: &[ClippedShape]) -> Vec<Written> {
    let mut found = Vec::new();
    for ClippedShape { clip_rect, shape, .. } in shapes {
        collect(shape, *clip_rect, &mut found);
    }
    found
}

fn collect(shape: &Shape, clip: Rect, found: &mut Vec<Written>) {
    match shape {
        Shape::Vec(shapes) => shapes.iter().for_each(|shape| collect(shape, clip, found)),
        Shape::Text(text) if !text.galley.text().trim().is_empty() => {
            let (words, elided) = (text.galley.text().to_owned(), text.galley.elided);
            found.push(Written { text: words, ink: ink(text), clip, elided });
        }
        _ => {}
    }
}

fn ink(text: &TextShape) -> Rect {
    let bounds = text.visual_bounding_rect();
    // Soft edges of letters and the space of a line reach beyond what is read.
    bounds.shrink2(Vec2::new(1.0, 2.0))
}

/// The demo with as many strategies as asked for, copies of its own under other names.
fn demo(count: usize) -> Scenario {
    let mut scenario = files::demo().unwrap();
    let own = scenario.strategies.clone();
    scenario.strategies.truncate(count);
    while scenario.strategies.len() < count {
        let at = scenario.strategies.len();
        let first = 1000 + 100 * at as u32;
        let of: &Strategy = &own[at % own.len()];
        let passes = of.passes.iter().enumerate();
        scenario.strategies.push(Strategy {
            id: Id(first),
            name: format!("{}, copy {at}", of.name),
            passes: passes
                .map(|(k, pass)| obliquity_planning::Pass { id: Id(first + 1 + k as u32), ..pass.clone() })
                .collect(),
            ..of.clone()
        });
    }
    scenario
}

/// An app with everything worked out, to be drawn again and again.
fn worked_out(count: usize) -> App {
    let mut app = shared(App::still(Document::new(demo(count), None)));
    app.work_out();
    app
}

fn frame(app: &mut App, size: Vec2, scale: f32, mode: Mode) -> Vec<Written> {
    texts(&shapes(app, size, scale, mode))
}

fn shapes(app: &mut App, size: Vec2, scale: f32, mode: Mode) -> Vec<ClippedShape> {
    on_blank(scale, mode, |ctx| {
        let begun = ctx.cumulative_pass_nr();
        let mut found = Vec::new();
        for pass in begun..begun + PASSES {
            let mut input = RawInput {
                screen_rect: Some(Rect::from_min_size(egui::Pos2::ZERO, size / scale)),
                time: Some(pass as f64),
                ..RawInput::default()
            };
            input.viewports.get_mut(&ViewportId::ROOT).unwrap().native_pixels_per_point = Some(scale);
            let mut output = ctx.run_ui(input, |ui| app.screen(ui));
            found = std::mem::take(&mut output.shapes);
            output.textures_delta.clear();
        }
        found
    })
}

/// Which way a screen may go on beyond its edge.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Scrolls {
    /// Downwards: no text is cut at its sides.
    Down,
    /// Sideways too: a column peeks in at the right edge.
    Sideways,
}

/// What is wrong with a screen: texts cut at their sides or by the window, texts written over each other.
pub(crate) fn faults(found: &[Written], window: Rect, scrolls: Scrolls) -> Vec<String> {
    let mut faults = Vec::new();
    let seen: Vec<&Written> = found.iter().filter(|text| text.ink.intersects(text.clip)).collect();
    for text in &seen {
        let visible = text.clip.intersect(window);
        let cut = text.ink.right() > visible.right() + 1.0 && scrolls == Scrolls::Down;
        if cut || text.ink.left() < visible.left() - 1.0 {
            faults.push(format!("{:?} is cut at {:?} by {visible:?}", text.text, text.ink));
        }
    }
    for (k, a) in seen.iter().enumerate() {
        for b in &seen[k + 1..] {
            let shared = a.ink.intersect(a.clip).intersect(b.ink.intersect(b.clip));
            if shared.is_positive() && shared.width() > 1.5 && shared.height() > 1.5 {
                faults
                    .push(format!("{:?} and {:?} are written over each other at {shared:?}", a.text, b.text));
            }
        }
    }
    faults
}

#[test]
fn a_cut_text_and_one_over_another_are_found() {
    let window = Rect::from_min_size(egui::Pos2::ZERO, Vec2::new(400.0, 300.0));
    let written = |text: &str, left: f32, clip: Rect| Written {
        text: text.to_owned(),
        ink: Rect::from_min_size(egui::pos2(left, 20.0), Vec2::new(60.0, 12.0)),
        clip,
        elided: false,
    };
    let fine = [written("a", 10.0, window), written("b", 80.0, window)];
    assert_eq!(faults(&fine, window, Scrolls::Down), Vec::<String>::new());
    let cut = [written("a", 360.0, window)];
    assert_eq!(
        (faults(&cut, window, Scrolls::Down).len(), faults(&cut, window, Scrolls::Sideways).len()),
        (1, 0)
    );
    let over = [written("a", 10.0, window), written("b", 60.0, window)];
    assert_eq!(faults(&over, window, Scrolls::Sideways).len(), 1);
}

const SIZES: [(f32, f32, f32); 3] = [(1280.0, 800.0, 1.0), (1920.0, 1080.0, 1.0), (2560.0, 1600.0, 2.0)];

fn check_everywhere(app: &mut App, screen: Screen, scrolls: Scrolls, of: &str) {
    check_at(app, screen, scrolls, of, &SIZES);
}

fn check_at(app: &mut App, screen: Screen, scrolls: Scrolls, of: &str, sizes: &[(f32, f32, f32)]) {
    app.turn_to(screen);
    for &(width, height, scale) in sizes {
        for mode in [Mode::Light, Mode::Dark] {
            let which = format!("{screen:?} {of}, {width}x{height} at {scale}, {mode:?}");
            let found = frame(app, Vec2::new(width, height), scale, mode);
            let window = Rect::from_min_size(egui::Pos2::ZERO, Vec2::new(width, height) / scale);
            assert!(found.len() > 20, "{which}: a screen has something to read");
            assert_eq!(faults(&found, window, scrolls), Vec::<String>::new(), "{which}");
        }
    }
}

#[test]
fn the_board_is_whole_with_three_four_and_eight_strategies() {
    for count in [3, 4, 8] {
        let scrolls = if count > 4 { Scrolls::Sideways } else { Scrolls::Down };
        check_everywhere(&mut worked_out(count), Screen::BOARD, scrolls, &format!("of {count}"));
    }
}

#[test]
fn plan_card_and_space_are_whole_for_every_strategy() {
    let mut app = worked_out(4);
    let strategies: Vec<(Id, String)> =
        app.document().scenario().strategies.iter().map(|s| (s.id, s.name.clone())).collect();
    for (id, name) in strategies {
        app.focus_on(id);
        check_everywhere(&mut app, Screen::PLAN, Scrolls::Down, &name);
        check_everywhere(&mut app, Screen::CARD, Scrolls::Down, &name);
        check_everywhere(&mut app, Screen::PASSES, Scrolls::Down, &name);
        check_everywhere(&mut app, Screen::SPACE, Scrolls::Down, &name);
        check_everywhere(&mut app, Screen::TIMELINE, Scrolls::Down, &name);
    }
}

#[test]
fn passes_and_site_are_whole_in_a_narrow_window() {
    let mut app = worked_out(4);
    let narrow = [(1280.0, 800.0, 2.0), (960.0, 640.0, 2.0)];
    for screen in [Screen::PASSES, Screen::CONDITIONS, Screen::SITE] {
        check_at(&mut app, screen, Scrolls::Down, "of the demo", &narrow);
    }
}

/// At 150 % a common screen is less than 900 points wide, and titles stand above their rows.
#[test]
fn the_board_is_whole_when_enlarged_folded_and_open() {
    let mut app = worked_out(4);
    let enlarged = [(1280.0, 800.0, 1.5), (1366.0, 768.0, 1.5), (1920.0, 1080.0, 1.5), (1280.0, 800.0, 2.0)];
    check_at(&mut app, Screen::BOARD, Scrolls::Sideways, "with nothing opened", &enlarged);
    for what in [SETTINGS, "Time", "Images", "Processing", CAUTIONS] {
        app.open_on_board(what);
        check_at(&mut app, Screen::BOARD, Scrolls::Sideways, &format!("with {what} opened too"), &enlarged);
    }
}

/// Every text that begins on a card ends on it.
#[test]
fn nothing_is_written_below_the_end_of_its_card() {
    let mut app = worked_out(4);
    for screen in [Screen::EQUIPMENT, Screen::REQUIREMENT, Screen::CONDITIONS, Screen::SITE] {
        app.turn_to(screen);
        let shapes = shapes(&mut app, Vec2::new(1280.0, 3000.0), 1.0, Mode::Light);
        let mut cards = Vec::new();
        for clipped in &shapes {
            collect_cards(&clipped.shape, &mut cards);
        }
        assert!(cards.len() > 1, "{screen:?} has cards");
        let texts = texts(&shapes);
        for card in &cards {
            let column = |text: &&Written| card.x_range().contains(text.ink.center().x);
            let below_top = |text: &&Written| text.ink.center().y > card.top();
            let next = cards.iter().filter(|other| other.top() > card.bottom() && column_shared(card, other));
            let until = next.map(egui::Rect::top).fold(f32::INFINITY, f32::min);
            let spilled: Vec<&str> = texts
                .iter()
                .filter(|text| column(text) && below_top(text))
                .filter(|text| text.ink.intersects(text.clip))
                .filter(|text| {
                    text.ink.intersect(text.clip).bottom() > card.bottom() && text.ink.top() < until
                })
                .map(|text| text.text.as_str())
                .collect();
            assert_eq!(spilled, Vec::<&str>::new(), "{screen:?}, below the card at {card:?}");
        }
    }
}

fn column_shared(a: &Rect, b: &Rect) -> bool {
    a.x_range().intersects(b.x_range())
}

/// Rounded rectangles with an edge that are as large as a card.
fn collect_cards(shape: &Shape, found: &mut Vec<Rect>) {
    match shape {
        Shape::Vec(shapes) => shapes.iter().for_each(|shape| collect_cards(shape, found)),
        Shape::Rect(rect)
            if rect.corner_radius.nw == 6 && rect.rect.width() > 150.0 && rect.rect.height() > 60.0 =>
        {
            found.push(rect.rect);
        }
        _ => {}
    }
}

/// The take-off point is drawn as a dot of 2.2 points; nothing that is filled later may cover it, wherever it lies.
#[test]
fn nothing_covers_the_take_off_on_the_plan() {
    let corners = [(-1.0, -1.0), (1.0, -1.0), (-1.0, 1.0), (1.0, 1.0)];
    let places = [0.9, 1.4, 1.8, 2.2].into_iter().flat_map(|far| corners.map(|(x, y)| (far * x, far * y)));
    for (x, y) in places {
        let mut scenario = crate::made_up::scenario();
        scenario.conditions.wind = wind::Wind { speed_mps: 5.0, from_deg: Some(200.0) };
        let site = std::sync::Arc::make_mut(&mut scenario.site);
        site.take_off_m = glam::DVec2::new(150.0 + 150.0 * x, 100.0 + 100.0 * y);
        let mut app = shared(App::still(Document::new(scenario, None)));
        app.turn_to(Screen::PLAN);
        for size in [Vec2::new(1280.0, 800.0), Vec2::new(1920.0, 1080.0)] {
            let found = shapes(&mut app, size, 1.0, Mode::Light);
            let is_dot =
                |shape: &Shape| matches!(shape, Shape::Circle(circle) if (circle.radius - 2.2).abs() < 1e-3);
            let dot = found.iter().position(|clipped| is_dot(&clipped.shape)).expect("the take-off is drawn");
            let at = found[dot].shape.visual_bounding_rect();
            let covers = |clipped: &&ClippedShape| match &clipped.shape {
                Shape::Rect(rect) => rect.fill.a() > 100 && rect.rect.intersects(at),
                _ => false,
            };
            let over = found[dot + 1..].iter().find(covers);
            assert!(over.is_none(), "take-off at {x}, {y}, {size}: {over:?}");
        }
    }
}

#[test]
fn equipment_requirement_and_beginning_are_whole() {
    let mut app = worked_out(4);
    for screen in [Screen::EQUIPMENT, Screen::REQUIREMENT, Screen::CONDITIONS, Screen::SITE, Screen::BEGIN] {
        check_everywhere(&mut app, screen, Scrolls::Down, "of the demo");
    }
}
