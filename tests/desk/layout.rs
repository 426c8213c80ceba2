//! Where everything on the board stands: seven bands of four strategies in sight of a small window, and nothing that moves
//! because a text is longer or a figure comes in.

use crate::made_up;
use crate::pictures::{Scrolls, Written, faults, texts};
use crate::reading::on_blank;
use crate::window::witness;
use egui::accesskit::{NodeId, Role, TreeUpdate};
use egui::epaint::ClippedShape;
use egui::{Panel, Pos2, RawInput, Rect, Shape, Vec2, ViewportId};
use obliquity::board::{self, Against, Board, CAUTIONS, Place, SETTINGS, Session, Updating};
use obliquity::figures::{Figures, Freshness, Report};
use obliquity::files;
use obliquity::theme::{self, Mode};
use obliquity_planning::{Depth, Distance, Id, Job, NetworkFigures, NoWatch, Outcome, Scenario};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::{Arc, LazyLock};

/// Panels and scrolled areas learn their sizes in the first passes.
const PASSES: u64 = 4;
/// What the window keeps for itself above the board and below it, in points.
const TOP: f32 = 64.0;
const FOOT: f32 = 24.0;
/// The folded plan at the right.
const SIDE: f32 = 22.0;

/// Width, height and scale of a window, in pixels.
const SMALL: (f32, f32, f32) = (1280.0, 800.0, 1.0);
const SIZES: [(f32, f32, f32); 5] = [
    SMALL,
    (1366.0, 768.0, 1.0),
    (1920.0, 1080.0, 1.0),
    (2560.0, 1600.0, 2.0),
    // The same small screen with everything twice as large.
    (1280.0, 800.0, 2.0),
];

/// A board as it is laid out.
struct Laid {
    /// Everything that a screen reader is told of: its words, and where it stands.
    nodes: BTreeMap<NodeId, (String, Rect)>,
    texts: Vec<Written>,
    shapes: Vec<ClippedShape>,
    /// What is left of the window for the board.
    room: Rect,
}

fn laid(board: &Board, opened: &[&str], size: (f32, f32, f32), mode: Mode) -> Laid {
    laid_while(board, opened, size, mode, Updating::Nothing)
}

fn laid_while(
    board: &Board,
    opened: &[&str],
    (width, height, scale): (f32, f32, f32),
    mode: Mode,
    updating: Updating,
) -> Laid {
    let opened: BTreeSet<String> = opened.iter().map(|&what| what.to_owned()).collect();
    let focus = board.columns.first().map(|column| column.strategy);
    let session = Session { focus, opened: &opened, updating };
    let mut laid =
        Laid { nodes: BTreeMap::new(), texts: Vec::new(), shapes: Vec::new(), room: Rect::NOTHING };
    on_blank(scale, mode, |ctx| {
        let begun = ctx.cumulative_pass_nr();
        for pass in begun..begun + PASSES {
            let mut input = RawInput {
                screen_rect: Some(Rect::from_min_size(Pos2::ZERO, Vec2::new(width, height) / scale)),
                time: Some(pass as f64),
                ..RawInput::default()
            };
            input.viewports.get_mut(&ViewportId::ROOT).unwrap().native_pixels_per_point = Some(scale);
            let room = &mut laid.room;
            let mut output = ctx.run_ui(input, |ui| {
                Panel::top("rows of the window").exact_size(TOP).show(ui, |_| ());
                Panel::bottom("foot of the window").exact_size(FOOT).show(ui, |_| ());
                Panel::right("folded plan").exact_size(SIDE).show(ui, |_| ());
                *room = ui.available_rect_before_wrap();
                board::ui(ui, board, &session, &mut Vec::new());
            });
            laid.shapes = std::mem::take(&mut output.shapes);
            laid.nodes = spoken(output.platform_output.accesskit_update);
            output.textures_delta.clear();
        }
    });
    laid.texts = texts(&laid.shapes);
    laid
}

/// What a screen reader is told of, and where each of it stands.
fn spoken(update: Option<TreeUpdate>) -> BTreeMap<NodeId, (String, Rect)> {
    let nodes = update.map(|update| update.nodes).unwrap_or_default();
    let told = nodes.into_iter().filter_map(|(id, node)| {
        // Runs of text are letters, and no slots.
        let bounds = node.bounds().filter(|_| node.role() != Role::TextRun)?;
        let label = node.label().or(node.value())?.to_owned();
        let at = |x: f64, y: f64| Pos2::new(x as f32, y as f32);
        Some((id, (label, Rect::from_min_max(at(bounds.x0, bounds.y0), at(bounds.x1, bounds.y1)))))
    });
    told.collect()
}

/// Stages of knowledge of the demo with its four strategies.
struct Stages {
    nothing: Board,
    quick: Board,
    done: Board,
    /// After an edit of the first strategy, before anything is worked out anew.
    edited: Board,
}

static STAGES: LazyLock<Stages> = LazyLock::new(|| stages(priced(files::demo().unwrap())));

/// With a price, so that money has all of its rows.
fn priced(mut scenario: Scenario) -> Scenario {
    scenario.job =
        Job { currency: "crowns".to_owned(), price: Some(2400.0), sign_off: 90.0, ..Job::default() };
    scenario
}

fn stages(scenario: Scenario) -> Stages {
    let scenario = Arc::new(scenario);
    let engine = witness();
    let mut figures = Figures::default();
    let nothing = Board::new(&scenario, &figures);
    let network = network_in_parts();
    figures.follow(&scenario, &|scenario, id| engine.quick(scenario, id));
    let quick = Board::new(&scenario, &figures);
    for strategy in &scenario.strategies {
        for depth in [Depth::Spread, Depth::Views] {
            let outcome = engine.evaluate(&scenario, strategy.id, depth, &NoWatch).unwrap();
            figures.take(Report::Done { scenario: Arc::clone(&scenario), outcome: Box::new(outcome) });
        }
        // What stands in its place does not matter here: a small block, in two parts as the widest texts have it.
        let seen = engine.evaluate(&scenario, strategy.id, Depth::Views, &NoWatch).unwrap();
        let adjusted = Outcome { depth: Depth::Network, network: Some(Arc::clone(&network)), ..seen };
        figures.take(Report::Done { scenario: Arc::clone(&scenario), outcome: Box::new(adjusted) });
    }
    let done = Board::new(&scenario, &figures);
    let mut edited = (*scenario).clone();
    edited.strategies[0].passes[0].distance =
        Distance::Gsd { cm: 1.0, above: obliquity_planning::Above::MeanGround };
    let edited = Arc::new(edited);
    figures.follow(&edited, &|scenario, id| engine.quick(scenario, id));
    let edited = Board::new(&edited, &figures);
    Stages { nothing, quick, done, edited }
}

fn network_in_parts() -> Arc<NetworkFigures> {
    let yard = made_up::scenario();
    let outcome = witness().evaluate(&yard, made_up::NADIR, Depth::Network, &NoWatch).unwrap();
    let mut network = (*outcome.network.unwrap()).clone();
    network.parts.push(network.parts[0].clone());
    Arc::new(network)
}

fn place_of(laid: &Laid, label: &str) -> Rect {
    let found = laid.nodes.values().find(|(known, _)| known == label);
    found.unwrap_or_else(|| panic!("nothing is called {label:?}")).1
}

/// What of a board is out of sight: figures and labels of bands, roses, verdicts, settings, the first caution.
fn out_of_sight(board: &Board, laid: &Laid) -> Vec<String> {
    let rows = board.bands.iter().flat_map(|band| band.rows.iter().filter(|row| row.place == Place::Always));
    let mut wanted: Vec<String> = rows
        .flat_map(|row| std::iter::once(row.label.clone()).chain(row.cells.iter().map(|c| c.spoken.clone())))
        .collect();
    for column in &board.columns {
        let begins =
            [format!("{}, {}, ", column.name, column.aircraft), format!("Settings of {}: ", column.name)];
        for begin in begins.iter().cloned().chain(
            board
                .rose_classes
                .iter()
                .map(|class| format!("View angles of the {} of {}", class.plural(), column.name)),
        ) {
            let label = laid.nodes.values().find(|(label, _)| label.starts_with(&begin));
            wanted.push(label.unwrap_or_else(|| panic!("nothing begins with {begin:?}")).0.clone());
        }
    }
    wanted.extend(board.cautions.first().map(|row| match row.place_of {
        Some(_) => format!("Show where: {}", row.text),
        None => row.text.clone(),
    }));
    wanted.push(board.sentence.text.clone());
    let scrolled = place_of(laid, &board.sentence.text);
    let hidden = |label: &String| {
        let place = place_of(laid, label);
        let is_whole = laid.room.expand(0.5).contains_rect(place) && place.is_positive();
        // The line of the cautions stands over what is scrolled.
        let counts = laid.nodes.values().find(|(label, _)| label.starts_with("Cautions: ")).unwrap().1;
        let is_band = place.top() > scrolled.bottom() && !counts.y_range().contains(place.center().y);
        !is_whole || (is_band && place.bottom() > counts.top())
    };
    let told = |label: String| format!("{label}: {:?} of {:?}", place_of(laid, &label), laid.room);
    wanted.into_iter().filter(hidden).map(told).collect()
}

/// Derived: the smallest window that the program is made for.
#[test]
fn seven_bands_of_four_strategies_are_in_sight_of_a_small_window() {
    let board = &STAGES.done;
    assert_eq!((board.bands.len(), board.columns.len()), (7, 4));
    assert!(!board.cautions.is_empty() && board.columns.iter().any(|column| column.worst.is_some()));
    for size in [SMALL, (1366.0, 768.0, 1.0), (1920.0, 1080.0, 1.0), (2560.0, 1600.0, 2.0)] {
        for reference in [board.reference, None] {
            let board = Board { reference, ..board.clone() };
            let laid = laid(&board, &[], size, Mode::Light);
            assert_eq!(out_of_sight(&board, &laid), Vec::<String>::new(), "{size:?}, {reference:?}");
        }
    }
}

/// Derived: in a large window rows, bars and cautions take what is there: less than a tenth of the board's height stays empty
/// between the bands and the cautions, of which five are read; in a small one every bar has room to tell a tenth of it.
#[test]
fn the_room_of_a_large_window_is_used_and_bars_are_long_enough_in_a_small_one() {
    let board = STAGES.done.clone();
    assert!(board.reference.is_some() && board.cautions.len() >= 10);
    let laid = |size| laid(&board, &[], size, Mode::Light);
    let large = laid((1920.0, 1080.0, 1.0));
    let rows = board.bands.iter().flat_map(|band| &band.rows).filter(|row| row.place == Place::Always);
    let end = rows.map(|row| place_of(&large, &row.label).bottom()).fold(0.0, f32::max);
    let counts = large.nodes.values().find(|(label, _)| label.starts_with("Cautions: ")).unwrap().1;
    let empty = counts.top() - end;
    assert!(empty > 0.0 && empty < 0.1 * large.room.height(), "{empty} of {}", large.room.height());
    let read = board.cautions.iter().filter(|row| {
        let label =
            if row.place_of.is_some() { format!("Show where: {}", row.text) } else { row.text.clone() };
        large.nodes.values().any(|(own, place)| *own == label && large.room.contains_rect(*place))
    });
    let read = read.count();
    assert!(read >= 5, "{read}");
    // Half a point of a bar is a step that is seen: a tenth of 55 points is ten of them.
    let small = laid(SMALL);
    let troughs = small.shapes.iter().filter_map(|shape| match &shape.shape {
        Shape::Rect(rect) if (9.0..=12.0).contains(&rect.rect.height()) && rect.stroke.width == 1.0 => {
            Some(rect.rect.width())
        }
        _ => None,
    });
    let narrowest = troughs.filter(|width| *width > 30.0).fold(f32::INFINITY, f32::min);
    assert!(narrowest.is_finite() && narrowest >= 55.0, "{narrowest}");
}

/// What is out of sight is found so.
#[test]
fn an_opened_band_is_found_to_be_out_of_sight() {
    let board = &STAGES.done;
    let laid = laid(board, &[SETTINGS, "Time", CAUTIONS], SMALL, Mode::Light);
    let counts = laid.nodes.values().filter(|(_, place)| place.bottom() > laid.room.bottom()).count();
    assert!(counts > 10, "{counts}");
}

#[test]
fn nothing_on_the_board_is_cut_or_written_over() {
    for (stage, name) in [(&STAGES.nothing, "nothing"), (&STAGES.done, "done"), (&STAGES.edited, "edited")] {
        for size in SIZES {
            let opened: [&[&str]; 3] =
                [&[], &[SETTINGS], &["Time", "Images", "Processing", "Money", CAUTIONS]];
            for opened in opened {
                for mode in [Mode::Light, Mode::Dark] {
                    let laid = laid(stage, opened, size, mode);
                    // At twice the size fewer than four columns have room beside each other.
                    let narrow = size.0 / size.2 < 1200.0;
                    let scrolls = if narrow { Scrolls::Sideways } else { Scrolls::Down };
                    let found = faults(&laid.texts, laid.room, scrolls);
                    assert_eq!(found, Vec::<String>::new(), "{name}, {size:?}, {opened:?}, {mode:?}");
                }
            }
        }
    }
}

/// The examples hold what the demo has not: undersides, strategies that cannot be flown, sites where nothing stands.
#[test]
fn the_boards_of_the_examples_are_whole() {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples");
    for name in ["bridge.ron", "shortest.ron", "tower_facades.ron", "suburb.ron"] {
        let scenario = files::read(&folder.join(name)).unwrap().scenario;
        let board = stages(scenario).done;
        for size in SIZES {
            for opened in [&[][..], &[SETTINGS], &["Time", "Images", "Processing"]] {
                let laid = laid(&board, opened, size, Mode::Light);
                let found = faults(&laid.texts, laid.room, Scrolls::Sideways);
                assert_eq!(found, Vec::<String>::new(), "{name}, {size:?}, {opened:?}");
                let numbers = laid.texts.iter().filter(|text| text.ink.intersects(text.clip));
                let cut =
                    numbers.filter(|text| text.elided && text.text.contains(|c: char| c.is_ascii_digit()));
                let cut: Vec<&str> =
                    cut.map(|text| text.text.as_str()).filter(|text| text.len() < 12).collect();
                assert_eq!(cut, Vec::<&str>::new(), "{name}, {size:?}: a number ends in an ellipsis");
            }
        }
    }
}

/// What stands elsewhere on one board than on another, of all that stands on both.
fn moved(a: &Laid, b: &Laid) -> Vec<String> {
    let both = a.nodes.iter().filter_map(|(id, before)| Some((before, b.nodes.get(id)?)));
    both.filter(|((_, before), (_, after))| {
        let apart = [before.min - after.min, before.max - after.max];
        apart.iter().any(|by| by.length() > 0.25)
    })
    .map(|((label, before), (_, after))| format!("{label:?} moved from {before:?} to {after:?}"))
    .collect()
}

/// Derived: slots depend on the window, on what the scenario holds and on what is opened, and on nothing else.
#[test]
fn nothing_moves_while_figures_come_in() {
    let Stages { nothing, quick, done, edited } = &*STAGES;
    for size in SIZES {
        for opened in [&[][..], &["Time", "Images", "Processing"], &[SETTINGS]] {
            let of = |board: &Board| laid(board, opened, size, Mode::Light);
            let last = of(done);
            for (stage, name) in [(nothing, "nothing"), (quick, "quick"), (edited, "edited")] {
                let stage_laid = of(stage);
                assert_eq!(moved(&stage_laid, &last), Vec::<String>::new(), "{name}, {size:?}, {opened:?}");
                let cells =
                    |board: &Board| board.bands.iter().map(|band| band.rows.len()).collect::<Vec<_>>();
                assert_eq!(cells(stage), cells(done), "{name}: no row comes later");
            }
            let running = obliquity::jobs::Progress { done: 1, total: 4, tenths: 3 };
            let updating = laid_while(edited, opened, size, Mode::Light, Updating::Running(running));
            assert_eq!(moved(&updating, &last), Vec::<String>::new(), "updating, {size:?}");
        }
    }
}

/// Derived: as above, of texts of any length; what is longer than its slot ends in an ellipsis.
#[test]
fn nothing_moves_because_a_text_is_longer() {
    let long = |words: &str| [words; 12].join(" ");
    let mut wordy = STAGES.done.clone();
    wordy.sentence.lead = long("the quickest that meets the requirement");
    wordy.sentence.rest = long("and what the others miss");
    wordy.hold_note = long("out of reach");
    for column in &mut wordy.columns {
        column.verdict_text = long("misses two requirements");
        column.worst = Some(long("walls: 70 % of the area is covered"));
        column.name = long(&column.name);
        column.given_name.clone_from(&column.name);
        column.aircraft = long("Capercaillie");
        column.brief = long("2.0 cm · 80/70 % · 30°");
        let sentences = vec![long("It brings walls from 3 to 71 %.")];
        column.against =
            Some(Against { reference: column.name.clone(), sentences, freshness: Freshness::Fresh });
        for slider in &mut column.sliders {
            slider.before = Some(f64::midpoint(*slider.range.start(), *slider.range.end()));
        }
        column.follows = long("2 cm at 73.2 m");
        column.follows_brief = long("73.2 m · 5.92 m/s");
    }
    for row in wordy.bands.iter_mut().flat_map(|band| &mut band.rows) {
        row.label = long(&row.label);
        for cell in &mut row.cells {
            cell.text = long("99.998 %");
            cell.before = Some(0.5);
            if let Some(other) = &mut cell.difference {
                other.number = long("+87.6");
            }
        }
    }
    for row in &mut wordy.cautions {
        row.text = long(&row.text);
    }
    let mut terse = STAGES.done.clone();
    terse.sentence.lead = "None".to_owned();
    terse.sentence.rest = String::new();
    for column in &mut terse.columns {
        column.verdict_text = "meets".to_owned();
        column.worst = None;
        column.follows = String::new();
    }
    terse.cautions.clear();
    for size in SIZES {
        for opened in [&[][..], &[SETTINGS]] {
            let of = |board: &Board| laid(board, opened, size, Mode::Light);
            let (usual, wordy, terse) = (of(&STAGES.done), of(&wordy), of(&terse));
            assert_eq!(moved(&usual, &wordy), Vec::<String>::new(), "longer, {size:?}, {opened:?}");
            assert_eq!(moved(&usual, &terse), Vec::<String>::new(), "shorter, {size:?}, {opened:?}");
            let narrow = size.0 / size.2 < 1200.0;
            let scrolls = if narrow { Scrolls::Sideways } else { Scrolls::Down };
            assert_eq!(
                faults(&wordy.texts, wordy.room, scrolls),
                Vec::<String>::new(),
                "{size:?}, {opened:?}"
            );
        }
    }
}

/// Rectangles that are filled, where they are seen.
fn filled(shape: &Shape, found: &mut Vec<(Rect, egui::Color32)>) {
    match shape {
        Shape::Vec(shapes) => shapes.iter().for_each(|shape| filled(shape, found)),
        Shape::Rect(rect) if rect.fill.a() == 255 => found.push((rect.rect, rect.fill)),
        _ => {}
    }
}

fn contrast(a: egui::Color32, b: egui::Color32) -> f64 {
    let luminance = |color: egui::Color32| {
        let [r, g, b] = [color.r(), color.g(), color.b()].map(|byte| {
            let c = f64::from(byte) / 255.0;
            if c <= 0.04045 { c / 12.92 } else { ((c + 0.055) / 1.055).powf(2.4) }
        });
        0.2126 * r + 0.7152 * g + 0.0722 * b + 0.05
    };
    let (a, b) = (luminance(a), luminance(b));
    a.max(b) / a.min(b)
}

/// Memory: WCAG 2.1, success criterion 1.4.11, asks 3 of graphics, and 1.4.3 defines the contrast; from memory. Read from what
/// is painted: every trough with the bar on it, of strategies that pass and fail, in all eight colours.
#[test]
fn bars_stand_out_against_their_troughs() {
    assert!(STAGES.done.columns.iter().any(obliquity::board::Column::is_muted), "some fail");
    for mode in [Mode::Light, Mode::Dark] {
        for first in [0, 4] {
            let mut board = STAGES.done.clone();
            for (k, column) in board.columns.iter_mut().enumerate() {
                column.slot = first + k;
            }
            let laid = laid(&board, &[], SMALL, mode);
            let mut rects = Vec::new();
            laid.shapes.iter().for_each(|clipped| filled(&clipped.shape, &mut rects));
            let colors = theme::colors(mode);
            for slot in first..first + 4 {
                let own = colors.strategy(slot);
                let is_bar = |(place, fill): &(Rect, egui::Color32)| {
                    *fill == own && place.height() < 12.0 && place.width() < 100.0
                };
                let bars: Vec<usize> = (0..rects.len()).filter(|&k| is_bar(&rects[k])).collect();
                assert!(bars.len() > 8, "{mode:?}, {slot}: bars have the strategy's own full colour");
                for at in bars {
                    let (bar, fill) = rects[at];
                    let holds = |place: &Rect| {
                        place.y_range() == bar.y_range() && place.x_range().contains(bar.center().x)
                    };
                    let under = rects[..at].iter().rev().find(|(place, _)| holds(place));
                    let found = contrast(fill, under.expect("a bar has its trough").1);
                    assert!(found >= 3.0, "{mode:?}, colour {slot}: {found:.2}");
                }
            }
        }
    }
}

/// The demo with as many strategies as asked for.
fn wide(count: usize) -> Board {
    let mut scenario = files::demo().unwrap();
    let own = scenario.strategies.clone();
    while scenario.strategies.len() < count {
        let at = scenario.strategies.len();
        let mut copy = own[at % own.len()].clone();
        copy.id = Id(1000 + 100 * at as u32);
        copy.name = format!("{}, copy {at}", copy.name);
        for (pass, k) in copy.passes.iter_mut().zip(1..) {
            pass.id = Id(copy.id.0 + k);
        }
        scenario.strategies.push(copy);
    }
    Board::new(&scenario, &Figures::default())
}

/// Derived: the width depends on the window and not on how many there are; five fit at 1280.
#[test]
fn columns_have_one_width() {
    let lefts = |count: usize, size| {
        let board = wide(count);
        let laid = laid(&board, &[], size, Mode::Light);
        let head = |name: &str| place_of(&laid, &format!("Aircraft of {name}")).left();
        board.columns.iter().map(|column| head(&column.name)).collect::<Vec<f32>>()
    };
    for size in SIZES {
        let apart = |count: usize| {
            let lefts = lefts(count, size);
            let first = lefts[1] - lefts[0];
            assert!(
                lefts.windows(2).all(|pair| (pair[1] - pair[0] - first).abs() < 0.01),
                "{size:?} {lefts:?}"
            );
            first
        };
        let widths: Vec<f32> = [2, 4, 5, 8].into_iter().map(apart).collect();
        assert!(widths.iter().all(|width| (width - widths[0]).abs() < 0.01), "{size:?}: {widths:?}");
        if size == SMALL {
            assert!((200.0..=210.0).contains(&widths[0]), "{widths:?}");
        }
    }
}
