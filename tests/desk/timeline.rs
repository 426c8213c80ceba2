//! The timeline: its values, and the screen found by what a screen reader would say.

use crate::made_up::{self, CROSSED, NADIR};
use crate::window::{shared, witness};
use egui::{Key, Modifiers};
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable;
use obliquity::app::{App, Screen};
use obliquity::board::{Board, Whisker};
use obliquity::document::Document;
use obliquity::engine::Engine;
use obliquity::figures::Report;
use obliquity::figures::{Figures, Freshness};
use obliquity::files;
use obliquity::timeline::{BlockKind, Breakdown, Level, Timeline, clock};
use obliquity::units::Units;
use obliquity_planning::{
    Depth, GeoPoint, Id, LocalClock, LocalDate, Mission, NoWatch, Outcome, Scenario, SiteZone,
};
use std::path::{Path, PathBuf};
use std::sync::Arc;

type Window = Harness<'static, App>;

fn outcome_of(scenario: &Scenario, id: Id) -> Outcome {
    witness().evaluate(scenario, id, Depth::Quick, &NoWatch).unwrap()
}

fn timeline_of(scenario: &Scenario, id: Id) -> Timeline {
    Timeline::new(scenario, &outcome_of(scenario, id), "Strategy", Units::Metric).expect("can be flown")
}

/// Figures with everything that is quick to know, and bands.
fn figures_of(scenario: &Arc<Scenario>) -> Figures {
    let (engine, mut figures) = (witness(), Figures::default());
    figures.follow(scenario, &|scenario, id| engine.quick(scenario, id));
    for strategy in &scenario.strategies {
        let drawn = engine.evaluate(scenario, strategy.id, Depth::Spread, &NoWatch).unwrap();
        figures.take(Report::Done { scenario: Arc::clone(scenario), outcome: Box::new(drawn) });
    }
    figures
}

/// The demo, and every scenario of the examples.
fn scenarios() -> Vec<Scenario> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples");
    let is_scenario = |path: &PathBuf| path.extension().is_some_and(|extension| extension == "ron");
    let paths = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).filter(is_scenario);
    let mut all: Vec<Scenario> = paths.map(|path| files::read(&path).unwrap().scenario).collect();
    assert!(all.len() >= 7, "{} examples", all.len());
    all.push(files::demo().unwrap());
    all
}

/// "1:02:03" in seconds.
fn seconds(text: &str) -> u64 {
    text.split(':').fold(0, |sum, part| 60 * sum + part.parse::<u64>().unwrap())
}

/// Derived: what is shown adds up as it is shown: parts to the time on site, those flown to the flight; and the time on
/// site is the figure's, rounded to the second.
#[test]
fn the_shown_parts_add_up_to_the_shown_total() {
    for scenario in scenarios() {
        let scenario = Arc::new(scenario);
        let (engine, mut figures) = (witness(), Figures::default());
        figures.follow(&scenario, &|scenario, id| engine.quick(scenario, id));
        for strategy in &scenario.strategies {
            let known = figures.known(&scenario, strategy.id).unwrap();
            let Some(timing) = &known.quick.unwrap().timing else { continue };
            let breakdown = Breakdown::new(&scenario, timing, known);
            let sum = |level: Level| -> u64 {
                let rows = breakdown.budget.iter().filter(|row| row.level == level);
                rows.map(|row| seconds(&row.text)).sum()
            };
            let which = format!("{} of {}", strategy.name, scenario.name);
            let flight = breakdown.budget.iter().find(|row| row.name == "flight").unwrap();
            assert_eq!(sum(Level::Part), sum(Level::Total), "{which}");
            assert_eq!(sum(Level::Flown), seconds(&flight.text), "{which}");
            let time_s = timing.time.time_on_site_s();
            assert!((sum(Level::Total) as f64 - time_s).abs() <= 0.5, "{which}");
        }
    }
}

/// Derived: lanes follow each other without overlap, from arriving to leaving, and every exposure is within a strip.
#[test]
fn lanes_are_whole_and_exposures_lie_on_strips() {
    for scenario in scenarios() {
        for strategy in &scenario.strategies {
            let outcome = outcome_of(&scenario, strategy.id);
            let timeline = Timeline::new(&scenario, &outcome, &strategy.name, Units::Metric);
            assert_eq!(timeline.is_some(), outcome.feasible());
            let Some(timeline) = timeline else { continue };
            let which = format!("{} of {}", strategy.name, scenario.name);
            assert_eq!(timeline.crew.first().map_or(0.0, |block| block.from_s), 0.0, "{which}");
            let ends = |blocks: &[obliquity::timeline::TimeBlock]| {
                blocks.windows(2).all(|pair| pair[1].from_s >= pair[0].to_s - 1e-6)
            };
            assert!(ends(&timeline.crew) && ends(&timeline.legs) && ends(&timeline.passes), "{which}");
            assert_eq!(
                timeline.exposures_s.len(),
                outcome.load.as_ref().unwrap().image_count as usize,
                "{which}"
            );
            let strips: Vec<_> =
                timeline.legs.iter().filter(|block| block.kind == BlockKind::Strip).collect();
            let mut strip = 0;
            for at_s in &timeline.exposures_s {
                while strips[strip].to_s < at_s - 1e-6 {
                    strip += 1;
                }
                assert!(strips[strip].from_s <= at_s + 1e-6, "{which}: {at_s}");
            }
            for charge in &timeline.charges {
                assert!(charge.left > timeline.reserve - 1e-9, "{which}: {charge:?}");
            }
            assert_eq!(timeline.resumes.len(), timeline.charges.len().saturating_sub(1), "{which}");
        }
    }
}

/// A yard on the equator at noon of an equinox, in a zone of its own longitude.
fn with_mission(mut scenario: Scenario) -> Scenario {
    Arc::make_mut(&mut scenario.site).origin = Some(GeoPoint { latitude_deg: 0.0, longitude_deg: -60.0 });
    scenario.conditions.mission = Some(Mission {
        date: LocalDate { year: 2026, month: 3, day: 20 },
        arrival: LocalClock { hour: 11, minute: 30 },
        zone: SiteZone::Offset { minutes: -240 },
    });
    scenario
}

/// Derived: set-up takes 15 minutes from 11:30 on, the sun stands near the zenith on the equator at noon of an equinox.
#[test]
fn the_cursor_tells_of_its_instant() {
    let scenario = with_mission(made_up::scenario());
    let timeline = timeline_of(&scenario, CROSSED);
    let at = timeline.cursor(600.0).unwrap();
    assert_eq!(at.clock, "11:40:00 local time, 0:10:00 after arriving");
    assert!(at.line.starts_with("set-up, daylight, sun at 8"), "{}", at.line);
    let flying = timeline.cursor(timeline.middle_s()).unwrap();
    for part in
        ["pass ", " of 2", "sortie 1", "battery 1 at ", " % ", "m/s over ground", "80 m above take-off"]
    {
        assert!(flying.line.contains(part.trim_end()), "{part}: {}", flying.line);
    }
    let last = timeline.cursor(timeline.end_s + 1e6).unwrap();
    assert!(last.line.starts_with("pack-up"), "{}", last.line);
    assert_eq!(clock(3_723), "1:02:03");
}

/// Derived: without a mission nothing is said of the light, but why.
#[test]
fn without_a_mission_the_light_says_why() {
    let timeline = timeline_of(&made_up::scenario(), NADIR);
    assert!(timeline.light.as_ref().unwrap_err().contains("needs a date"));
    assert_eq!(timeline.local(0.0), None);
    let lit = timeline_of(&with_mission(made_up::scenario()), NADIR);
    let light = lit.light.unwrap();
    assert_eq!(light.spans.len(), 1, "an hour at noon is daylight");
    assert!(light.sun.iter().all(|(_, deg)| (70.0..=90.0).contains(deg)));
}

/// Derived: the whisker spans the figure on the row's scale, and says so in words.
#[test]
fn whiskers_stand_on_the_board() {
    let scenario = Arc::new(files::demo().unwrap());
    let board = Board::new(&scenario, &figures_of(&scenario));
    let row = |label: &str| {
        let rows = board.bands.iter().flat_map(|band| &band.rows);
        rows.into_iter().find(|row| row.label.starts_with(label)).unwrap()
    };
    for cell in row("on site").cells.iter().chain(&row("flying").cells) {
        let Some(Whisker { low, high, freshness }) = cell.whisker else { panic!("{}", cell.spoken) };
        let obliquity::board::Bar::Length(planned) = cell.bar else { panic!("{:?}", cell.bar) };
        assert!(0.0 < low && low < high && high <= 1.0);
        // A median draw is not the plan: winds and batteries are worse more often than better.
        assert!(low < 1.02 * planned && 0.98 * planned < high, "{}: {low} {planned} {high}", cell.spoken);
        assert_eq!(freshness, Freshness::Fresh);
        assert!(cell.spoken.contains("est. ") && cell.spoken.contains(" min"), "{}", cell.spoken);
    }
    assert!(row("batteries").cells.iter().all(|cell| cell.whisker.is_some()));
}

/// Derived: bands of earlier settings are shown as stale, and asked for again.
#[test]
fn bands_of_earlier_settings_are_stale() {
    let scenario = Arc::new(files::demo().unwrap());
    let mut figures = figures_of(&scenario);
    let wanted = |figures: &Figures, scenario: &Scenario| {
        figures.wanted(scenario).iter().filter(|(_, depth)| *depth == Depth::Spread).count()
    };
    assert_eq!(wanted(&figures, &scenario), 0);
    let mut changed = (*scenario).clone();
    changed.conditions.wind.speed_mps = 6.0;
    let changed = Arc::new(changed);
    let engine = witness();
    figures.follow(&changed, &|scenario, id| engine.quick(scenario, id));
    assert_eq!(wanted(&figures, &changed), changed.strategies.len());
    let id = changed.strategies[0].id;
    let known = figures.known(&changed, id).unwrap();
    assert_eq!(known.spread_freshness, Freshness::Stale);
    let breakdown = Breakdown::new(&changed, known.quick.unwrap().timing.as_ref().unwrap(), known);
    assert_eq!((breakdown.freshness, breakdown.causes.len()), (Freshness::Stale, 6));
}

fn window(scenario: Scenario) -> Window {
    let mut app = shared(App::still(Document::new(scenario, None)));
    app.work_out();
    app.focus_on(CROSSED);
    app.turn_to(Screen::TIMELINE);
    let mut window = Harness::builder().with_size([1280.0, 800.0]).with_max_steps(20).build_eframe(|cc| {
        obliquity::theme::install(&cc.egui_ctx, obliquity::theme::Mode::Light);
        app
    });
    window.run_ok();
    window
}

fn cursor_s(window: &Window) -> f64 {
    window.state().timeline_state().cursor_s.unwrap()
}

fn lanes(window: &Window) -> egui::Rect {
    window.get_by_label_contains("Timeline of Crossed strips").rect()
}

/// Derived: the cursor goes where it is dragged and where keys put it, and its place is marked on the plan.
#[test]
fn the_cursor_is_moved_by_mouse_and_keys() {
    let mut window = window(made_up::scenario());
    let end_s = timeline_of(&made_up::scenario(), CROSSED).end_s;
    let place = lanes(&window);
    window.drag_at(egui::pos2(place.left() + 200.0, place.center().y));
    window.run_ok();
    window.hover_at(egui::pos2(place.left() + 600.0, place.center().y));
    window.run_ok();
    window.drop_at(egui::pos2(place.left() + 600.0, place.center().y));
    window.run_ok();
    let dragged_s = cursor_s(&window);
    // 508 of the 1,148 points that are left of 1,248 after the names at the left and the edge at the right.
    assert!((dragged_s / end_s - 508.0 / 1148.0).abs() < 0.01, "{dragged_s} of {end_s}");
    let mark = window.state().beside().state.cursor.unwrap();
    assert_eq!(mark.strategy, CROSSED);
    window.key_press(Key::ArrowRight);
    window.run_ok();
    let step_s = cursor_s(&window) - dragged_s;
    assert!(step_s >= 1.0 && step_s < 0.01 * end_s, "{step_s}");
    window.key_press_modifiers(Modifiers::SHIFT, Key::ArrowLeft);
    window.run_ok();
    assert!((cursor_s(&window) - (dragged_s - 9.0 * step_s)).abs() < 1e-6);
    crate::opened::press_at_once(&mut window, &[Key::ArrowRight, Key::ArrowRight]);
    assert!((cursor_s(&window) - (dragged_s - 7.0 * step_s)).abs() < 1e-6, "both count");
    window.key_press(Key::Home);
    window.run_ok();
    assert_eq!(cursor_s(&window), 0.0);
    window.key_press(Key::End);
    window.run_ok();
    assert!((cursor_s(&window) - end_s).abs() < 1e-6);
    window.key_press(Key::Plus);
    window.run_ok();
    let stretch = window.state().timeline_state().stretch.unwrap();
    assert!((stretch.length_s() - end_s / 1.4).abs() < 1e-6 && (stretch.to_s - end_s).abs() < 1e-6);
    window.key_press(Key::Num0);
    window.run_ok();
    assert_eq!(window.state().timeline_state().stretch, None);
}

/// Derived: the menu's key shows the timeline, a button the 3D view, and the cursor goes along.
#[test]
fn the_cursor_goes_along_to_other_screens() {
    let mut window = window(made_up::scenario());
    window.state_mut().turn_to(Screen::BOARD);
    window.run_ok();
    window.key_press_modifiers(Modifiers::COMMAND.plus(Modifiers::SHIFT), Key::L);
    window.run_ok();
    assert_eq!(window.state().screen_shown(), Screen::TIMELINE);
    window.state_mut().put_cursor(1200.0);
    window.run_ok();
    window.get_by_label("Show in 3D").click();
    window.run_ok();
    assert_eq!(window.state().screen_shown(), Screen::SPACE);
    let mark = window.state().beside().state.cursor;
    assert!(mark.is_some() && window.state_mut().space().cursor == mark);
}

/// The shown budget and the causes can be read aloud.
#[test]
fn lists_are_said() {
    let window = window(made_up::scenario());
    for label in ["set-up: 0:15:00", "pack-up: 0:10:00"] {
        assert!(window.query_by_label(label).is_some(), "{label}");
    }
    for cause in ["wind", "speed held", "turns", "battery capacity", "battery changes"] {
        let label = format!("{cause}: time on site ");
        assert!(window.query_by_label_contains(&label).is_some(), "{cause}");
    }
}

/// Practice: 1,000 draws for four strategies are to take less than 0.2 s in a release build; this build checks overflows
/// and carries assertions, and its machine may be busy: ten times as long is still no stall.
#[test]
fn bands_are_quick() {
    let scenario = Arc::new(files::demo().unwrap());
    let engine = Engine::default();
    for strategy in &scenario.strategies {
        engine.quick(&scenario, strategy.id).unwrap();
    }
    let begun = std::time::Instant::now();
    for strategy in &scenario.strategies {
        let drawn = engine.evaluate(&scenario, strategy.id, Depth::Spread, &NoWatch).unwrap();
        assert!(drawn.bands().is_some());
    }
    let took_s = begun.elapsed().as_secs_f64();
    assert!(took_s < 2.0, "bands of four strategies took {took_s:.3} s");
}

/// Derived: a small window with everything twice as large has 640 by 400 points, 16 of them its margin: all of the legend
/// stands within, in as many rows as it takes, and the lists below are scrolled to.
#[test]
fn in_a_small_window_the_legend_is_whole() {
    let mut window = window(files::demo().unwrap());
    window.set_size([640.0, 400.0].into());
    window.run_ok();
    let bottom = |label: &str| window.get_by_label(label).rect().bottom();
    let rows = ["strip", "battery change", "sun's height, 0 to 90°"].map(bottom);
    assert!(rows[2] > rows[0], "it wraps: {rows:?}");
    assert!(rows.iter().all(|bottom| *bottom <= 384.0), "{rows:?}");
}

/// Derived: in that window the budgets of all are one press away, and the way back is another.
#[test]
fn in_a_small_window_all_strategies_are_within_reach() {
    let mut window = window(files::demo().unwrap());
    window.set_size([640.0, 400.0].into());
    window.run_ok();
    let tool = window.get_by_label("All beside each other");
    assert!(tool.rect().left() > 0.0 && tool.rect().right() < 640.0, "{:?}", tool.rect());
    tool.click();
    window.run_ok();
    assert!(window.query_all_by_label_contains(", total: ").next().is_some());
    window.get_by_label("This strategy").click();
    window.run_ok();
    let _lanes = lanes(&window);
}

/// Derived: beside each other, every strategy's parts stand with the figures of its own budget, the whole seconds of which add
/// up to its total; every other strategy is held against the quickest in the evaluation's own words.
#[test]
fn budgets_stand_beside_each_other() {
    let mut window = crate::window::yard();
    window.get_by_label("Timeline").click();
    window.run_ok();
    window.get_by_label("All beside each other").click();
    window.run_ok();
    let scenario = window.state().document().scenario().clone();
    let engine = witness();
    let outcomes: Vec<_> = scenario
        .strategies
        .iter()
        .map(|one| engine.quick(&scenario, one.id).expect("evaluated"))
        .filter(obliquity_planning::Outcome::feasible)
        .collect();
    assert!(outcomes.len() > 1);
    let total = |one: &&obliquity_planning::Outcome| one.timing.as_ref().map(|t| t.time_budget().total_s);
    let quickest = outcomes.iter().min_by_key(total).expect("one");
    let from = outcomes.iter().find(|one| Some(one.strategy) == scenario.reference).unwrap_or(quickest);
    let text = |seconds: u64| {
        obliquity_planning::Units::Metric.text(obliquity_planning::Unit::Seconds, seconds as f64)
    };
    for outcome in &outcomes {
        let timing = outcome.timing.as_ref().expect("flown");
        let budget = timing.time_budget();
        for (part, seconds) in budget.parts_s.into_iter().filter(|(_, seconds)| *seconds > 0) {
            let told = format!("{}, {}: {}", outcome.name, part.name(), text(seconds));
            assert!(window.query_by_label(&told).is_some(), "{told}");
        }
        let told = format!("{}, total: {}", outcome.name, text(budget.total_s));
        assert!(window.query_by_label(&told).is_some(), "{told}");
        let parts_j: f64 = timing.energy_parts_j().iter().map(|(_, joules)| joules).sum();
        // Two orders of adding up some thousands of legs.
        assert!((parts_j / timing.flight.energy_j() - 1.0).abs() < 1e-9, "{}", outcome.name);
        if let Some(told) = obliquity_planning::time_in_words(from, outcome) {
            assert!(window.query_by_label(&told).is_some(), "{told}");
        }
    }
    assert!(window.state().table().expect("a table").contains("Time on site\t"));
}
