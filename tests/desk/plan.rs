//! The plan: its values, and the panel found by what a screen reader would say.

use crate::made_up::{self, CROSSED, FIVE};
use crate::window::{shared, witness};
use egui::accesskit::Role;
use egui::{Key, Modifiers};
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable;
use glam::DVec2;
use obliquity::app::{App, Screen};
use obliquity::document::Document;
use obliquity::figures::Freshness;
use obliquity::plan::{LineKind, Plan, PlanSite, Surfaces};
use obliquity::rose::Roses;
use obliquity::space::{AbovePane, Layer, Legend, Scene, render_above};
use obliquity::theme::Mode;
use obliquity::units::Units;
use obliquity_planning::{Depth, Id, NoWatch, Outcome, Scenario, SurfaceClass};
use std::sync::Arc;

fn flown(scenario: &Scenario, id: Id) -> Outcome {
    witness().quick(scenario, id).unwrap()
}

fn plan_of(scenario: &Scenario, id: Id) -> Plan {
    let site = Arc::new(PlanSite::new(&scenario.site));
    Plan::new(scenario, &site, &flown(scenario, id), Units::Metric)
}

/// Derived: the plan holds every exposure and every strip of the evaluation, no more and no fewer.
#[test]
fn the_plan_shows_what_is_flown() {
    let scenario = made_up::scenario();
    let outcome = flown(&scenario, CROSSED);
    let plan = plan_of(&scenario, CROSSED);
    let shown: usize = plan.passes.iter().map(|pass| pass.stations.len()).sum();
    assert_eq!(shown, outcome.load.as_ref().unwrap().image_count as usize);
    for (pass, planned) in plan.passes.iter().zip(&outcome.passes) {
        let strips = pass.lines.iter().filter(|line| line.kind == LineKind::Strip).count();
        assert_eq!(
            strips,
            planned.laid().unwrap().layout.strips as usize,
            "none of them is cut at a battery change"
        );
        assert!(pass.stations.iter().all(|station| (1..=plan.sorties).contains(&station.sortie)));
        assert!(pass.stations.is_sorted_by(|a, b| a.time_s < b.time_s), "in flying order");
        let beyond = pass.stations.iter().filter(|station| station.beyond).count();
        assert_eq!(beyond, 0, "500 m for the pilot, the yard's far corner is 333 m away");
    }
    assert!(plan.passes[1].title.starts_with("Pass 2 of 2: 80 m, tilt 30°"), "{}", plan.passes[1].title);
    assert_eq!(plan.transits.first().map(|line| line.from_m), Some(scenario.site.take_off_m));
}

/// Derived: 80 m up, f = 12 mm / 3 µm = 4000 px: 2 cm straight down. At 30° of tilt the slant range is 80/cos 30°, so
/// the GSD is √(range² / (f² cos 30°)) = 80 / (4000 cos^1.5 30°) = 2.48 cm.
#[test]
fn a_station_tells_its_figures_and_its_frame() {
    let scenario = made_up::scenario();
    let nadir = plan_of(&scenario, made_up::NADIR);
    let lines = nadir.station_lines(0, 3);
    assert!(lines[0].starts_with("Pass 1, exposure 4 of "), "{lines:?}");
    assert!(lines.contains(&"80 m above the mean ground".to_owned()), "{lines:?}");
    assert!(lines.contains(&"GSD 2.00 cm on level ground at the centre".to_owned()), "{lines:?}");
    assert!(lines.iter().any(|line| line.ends_with("tilt 0° (gimbal −90°)")), "{lines:?}");
    let crossed = plan_of(&scenario, CROSSED).station_lines(1, 0);
    assert!(crossed.contains(&"GSD 2.48 cm on level ground at the centre".to_owned()), "{crossed:?}");
    assert!(crossed.iter().any(|line| line.ends_with("tilt 30° (gimbal −60°)")), "{crossed:?}");
    // 5000 by 4000 px of 2 cm: 100 m by 80 m about the station.
    let ring = nadir.footprint_m(0, 3).unwrap();
    assert!((obliquity_planning::polygon::signed_area_m2(&ring).abs() - 8000.0).abs() < 1e-6);
    assert!(nadir.footprint_m(0, 1_000_000).is_none() && nadir.station_lines(7, 0).is_empty());
}

#[test]
fn what_lies_beyond_the_pilot_and_the_roof_with_little_overlap_are_marked() {
    let mut scenario = made_up::scenario();
    scenario.conditions.pilot_distance_m = 200.0;
    let site = Arc::make_mut(&mut scenario.site);
    site.structures[0].kind = obliquity_planning::StructureKind::Extrusion { height_m: 45.0 };
    let plan = plan_of(&scenario, made_up::NADIR);
    let beyond = plan.passes[0].stations.iter().filter(|station| station.beyond).count();
    assert!(beyond > 0 && beyond < plan.passes[0].stations.len());
    assert!(plan.passes[0].stations.iter().all(|station| station.beyond == (station.distance_m > 200.0)));
    assert!(plan.rings.iter().any(|ring| ring.limit && (ring.radius_m - 200.0).abs() < 1e-9));
    assert!(plan.roof_marked && plan.site.structures[0].tallest);
    assert!(plan.structure_lines(0).iter().any(|line| line.contains("over the highest roof")));
    assert_eq!(plan_of(&made_up::scenario(), made_up::NADIR).notes, Vec::new(), "nothing to mark");
}

/// Derived: 12 m are 39.4 ft (12 / 0.3048).
#[test]
fn a_structure_tells_its_name_and_height() {
    let scenario = made_up::scenario();
    let plan = plan_of(&scenario, CROSSED);
    assert_eq!(plan.structure_lines(0), ["Shed", "12 m high"]);
    assert_eq!(Plan { units: Units::UsCustomary, ..plan }.structure_lines(0), ["Shed", "39.4 ft high"]);
}

#[test]
fn roses_say_why_they_are_empty_and_whether_they_are_stale() {
    let scenario = Arc::new(made_up::scenario());
    let mut figures = obliquity::figures::Figures::default();
    figures.follow(&scenario, &|scenario, id| {
        Ok(made_up::outcome(scenario, id, obliquity_planning::Depth::Quick))
    });
    let empty = Roses::new(figures.known(&scenario, CROSSED));
    assert!(empty.classes.is_empty() && empty.empty.unwrap().contains("being counted"));
    let outcome = Box::new(made_up::outcome(&scenario, CROSSED, obliquity_planning::Depth::Views));
    figures.take(obliquity::figures::Report::Done { scenario: Arc::clone(&scenario), outcome });
    let fresh = Roses::new(figures.known(&scenario, CROSSED));
    assert!(!fresh.classes.is_empty() && fresh.freshness == Some(Freshness::Fresh));
    let mut edited = (*scenario).clone();
    edited.strategies[1].passes[0].sidelap = 0.5;
    assert_eq!(Roses::new(figures.known(&edited, CROSSED)).freshness, Some(Freshness::Stale));
}

fn window(size: [f32; 2]) -> Harness<'static, App> {
    window_on(made_up::scenario(), size)
}

fn window_on(scenario: Scenario, size: [f32; 2]) -> Harness<'static, App> {
    let document = Document::new(scenario, None);
    let mut window = Harness::builder()
        .with_size(size)
        .with_max_steps(60)
        .build_eframe(move |creation| shared(App::new(&creation.egui_ctx, document, Mode::Light)).at_once());
    crate::window::settle(&mut window);
    window.run_ok();
    window
}

fn shown(window: &Harness<'static, App>, text: &str) -> bool {
    window.query_all_by_label_contains(text).next().is_some()
}

/// The same yard with a tall shed and a short way for the pilot: more rings and cautions are told below the plan.
fn with_more_to_tell() -> Scenario {
    let mut scenario = made_up::scenario();
    scenario.conditions.pilot_distance_m = 200.0;
    let site = Arc::make_mut(&mut scenario.site);
    site.structures[0].kind = obliquity_planning::StructureKind::Extrusion { height_m: 45.0 };
    scenario
}

/// Derived: the rule that nothing moves because a text comes or wraps: the plan stands where it stood.
#[test]
fn the_plan_stays_whatever_is_told_below_it() {
    let notes = |scenario: &Scenario| plan_of(scenario, made_up::NADIR).notes.len();
    assert!(notes(&made_up::scenario()) == 0 && notes(&with_more_to_tell()) > 1);
    for size in [[1800.0, 900.0], [1280.0, 800.0], [911.0, 512.0]] {
        for screen in [Screen::BOARD, Screen::PLAN] {
            let place = |scenario: Scenario| {
                let mut window = window_on(scenario, size);
                window.state_mut().turn_to(screen);
                window.run_ok();
                if !shown(&window, "Plan of") {
                    window.get_by_label("Open plan and view angles").click();
                    window.run_ok();
                }
                window.get_by_label_contains("Plan of").rect()
            };
            let (calm, told) = (place(made_up::scenario()), place(with_more_to_tell()));
            assert_eq!(calm, told, "{screen:?} at {size:?}");
        }
    }
}

/// Derived: 1280 x 800 pixels at 200 %: what is told of the plan is scrolled, and takes less than the plan does.
#[test]
fn a_small_window_keeps_the_plan() {
    let mut window = window_on(with_more_to_tell(), [640.0, 400.0]);
    window.state_mut().turn_to(Screen::PLAN);
    window.run_ok();
    let place = window.get_by_label_contains("Plan of").rect();
    assert!(place.height() > 90.0 && place.top() > 0.0 && place.bottom() < 400.0, "{place}");
}

#[test]
fn the_panel_is_folded_away_and_opened() {
    let mut window = window([1800.0, 900.0]);
    assert!(shown(&window, "Plan of Nadir block: 1 pass"), "open where there is room; the first is in focus");
    window.get_by_label("Put the plan away").click();
    window.run_ok();
    assert!(!shown(&window, "Plan of"));
    window.key_press_modifiers(Modifiers::COMMAND, Key::P);
    window.run_ok();
    assert!(shown(&window, "Plan of Nadir block"));
    let mut narrow = self::window([1280.0, 800.0]);
    assert!(!shown(&narrow, "Plan of"), "the board comes first in a small window");
    narrow.get_by_label("Open plan and view angles").click();
    narrow.run_ok();
    assert!(shown(&narrow, "Plan of Nadir block"));
}

#[test]
fn another_strategy_comes_into_focus_and_leaves_with_undo() {
    let mut window = window([1800.0, 900.0]);
    window.get_by_label("Strategy in focus: Nadir block").click();
    window.run_ok();
    window.get_by_role_and_label(Role::Button, "Crossed strips").click();
    window.run_ok();
    assert!(window.query_by_label("Strategy in focus: Crossed strips").is_some());
    assert!(shown(&window, "Plan of Crossed strips: 2 passes"));
    assert_eq!(window.state().beside().plan().map(|plan| plan.strategy), Some(CROSSED));
    assert!(!window.state().document().is_changed(), "looking changes nothing");
}

#[test]
fn the_plan_is_moved_and_zoomed_by_mouse_and_keys() {
    let mut window = window([1800.0, 900.0]);
    let canvas = |window: &Harness<'static, App>| window.state().beside().state.canvas();
    assert_eq!(canvas(&window), None, "everything fits at first");
    let middle = window.query_all_by_label_contains("Plan of Nadir block").next().unwrap().rect().center();
    window.hover_at(middle);
    window.run_ok();
    window.key_press(Key::Plus);
    window.run_ok();
    let near = canvas(&window).unwrap();
    window.key_press(Key::Minus);
    window.run_ok();
    assert!(near.points_per_m > canvas(&window).unwrap().points_per_m);
    window.drag_at(middle);
    window.run_ok();
    window.hover_at(middle + egui::vec2(60.0, 0.0));
    window.run_ok();
    window.drop_at(middle + egui::vec2(60.0, 0.0));
    window.run_ok();
    let moved = canvas(&window).unwrap();
    assert!(moved.centre_m.x < near.centre_m.x, "what is dragged to the right shows what lies to the left");
    window.key_press(Key::Num0);
    window.run_ok();
    assert_eq!(canvas(&window), None);
}

/// A window on the plan with everything worked out.
fn worked_out() -> Harness<'static, App> {
    let mut app = shared(App::still(Document::new(made_up::scenario(), None)));
    app.work_out();
    app.turn_to(Screen::PLAN);
    let mut window =
        Harness::builder().with_size([1280.0, 800.0]).with_max_steps(60).build_eframe(move |creation| {
            obliquity::theme::install(&creation.egui_ctx, Mode::Light);
            app
        });
    window.run_ok();
    window
}

/// Derived: north is up, so that a place 40 m east and 30 m north of the middle is 80 px right and 60 px above it at
/// 2 px a metre; the sample there is within half a diagonal of its cell of 4 m. The shed's roof hides the ground.
#[test]
fn surfaces_are_seen_from_above() {
    let scenario = made_up::sampled(4.0);
    let outcome = witness().evaluate(&scenario, CROSSED, Depth::Views, &NoWatch).unwrap();
    let scene = Scene::new(&scenario, &outcome).unwrap();
    let colors = Legend::new(Layer::Gsd, &[&scene], Units::Metric).colors(&scene);
    let pane = AbovePane {
        scene: &scene,
        colors: &colors,
        centre_m: DVec2::new(90.0, 70.0),
        points_per_m: 2.0,
        size_px: (300, 200),
        pixels_per_point: 1.0,
    };
    let frame = render_above(&pane);
    let sample = |column, row| {
        let (tile, lane) = scene.place_of(frame.sample_at(column, row).unwrap()).unwrap();
        scene.site.tiles[tile].sample(lane)
    };
    let (ground, roof) = (sample(150, 100), sample(230, 40));
    assert_eq!((ground.class, roof.class), (SurfaceClass::Ground, SurfaceClass::Roof));
    for (found, at_m) in [(ground, DVec2::new(90.0, 70.0)), (roof, DVec2::new(130.0, 100.0))] {
        assert!(found.position_m.truncate().distance(at_m) < 3.3, "{found:?} is not at {at_m}");
    }
}

#[test]
fn the_large_plan_is_coloured_and_a_point_is_picked_on_it() {
    let mut window = worked_out();
    assert_eq!(window.state_mut().space().drawn(), 0, "plain at first");
    window.get_by_label("Colour ground and roofs by: nothing").click();
    window.run_ok();
    window.get_by_role_and_label(Role::Button, "Best GSD").click();
    window.run_ok();
    assert_eq!(window.state().beside().state.surfaces, Surfaces::Colored);
    assert!(shown(&window, "Legend: Best GSD"));
    let drawn = window.state_mut().space().drawn();
    assert!(drawn > 0);
    for _ in 0..3 {
        window.step();
    }
    assert_eq!(window.state_mut().space().drawn(), drawn, "nothing changes, nothing is drawn");
    let middle = window.get_by_label_contains("Plan of Nadir block").rect().center();
    window.hover_at(middle);
    window.drag_at(middle);
    window.drop_at(middle);
    window.run_ok();
    assert!(shown(&window, "Seen from"), "what the point gets stands beside the plan");
    window.get_by_label("Forget the point").click();
    window.run_ok();
    assert!(shown(&window, "View angles"));
}

#[test]
fn plans_beside_each_other_move_together() {
    let mut window = worked_out();
    window.get_by_label("Side by side").click();
    window.run_ok();
    window.get_by_label("2 strategies side by side").click();
    window.run_ok();
    assert!(shown(&window, "Plan of Nadir block") && !shown(&window, "Plan of Five-direction oblique"));
    let place = window.get_by_label_contains("Plan of Crossed strips: 2 passes").rect();
    window.hover_at(place.center());
    window.run_ok();
    window.key_press(Key::Plus);
    window.run_ok();
    assert!(window.state().beside().state.canvas().is_some(), "one canvas for all of them");
}

/// Derived: the far corner of the yard is 333 m from the take-off point, so that every strip's end lies beyond 250 m.
#[test]
fn every_place_of_a_caution_is_drawn_and_the_sentence_counts_them() {
    let mut scenario = made_up::scenario();
    scenario.conditions.pilot_distance_m = 250.0;
    let outcome = flown(&scenario, CROSSED);
    let plan = plan_of(&scenario, CROSSED);
    let mark = plan.mark(Some("pilot-distance")).unwrap();
    let caution = outcome.cautions.iter().find(|caution| caution.id == "pilot-distance").unwrap();
    assert!(mark.lines_m.len() > 2, "{mark:?}");
    assert_eq!(mark.lines_m.len(), caution.places.len());
    assert!(
        mark.text.contains(&format!("({} places, the longest: pass ", mark.lines_m.len())),
        "{}",
        mark.text
    );
    let of_one =
        |text: &str| plan.marks.iter().any(|mark| mark.lines_m.len() == 1 && mark.text.contains(text));
    assert!(!of_one("places, the longest"), "one place is not counted");
}

/// A caution with a place is pressed on the board: the plan shows it, and the mark can be taken away.
#[test]
fn a_caution_is_shown_on_the_plan() {
    let mut scenario = made_up::scenario();
    scenario.conditions.pilot_distance_m = 50.0;
    let mut app = shared(App::still(Document::new(scenario, None)));
    app.work_out();
    let mut window =
        Harness::builder().with_size([1280.0, 800.0]).with_max_steps(60).build_eframe(move |creation| {
            obliquity::theme::install(&creation.egui_ctx, Mode::Light);
            app
        });
    window.run_ok();
    window.get_by_label("Show all cautions").click();
    window.run_ok();
    window.query_all_by_label_contains("Show where: flies").next().unwrap().click();
    window.run_ok();
    assert_eq!(window.state().screen_shown(), Screen::PLAN, "the panel is folded in a small window");
    assert_eq!(window.state().beside().state.marked.as_deref(), Some("pilot-distance"));
    let plan = window.state().beside().plan().unwrap();
    let mark = plan.mark(Some("pilot-distance")).unwrap();
    assert!(mark.text.starts_with("Check: flies") && mark.text.contains("pass 1, sortie 1"), "{}", mark.text);
    let beyond = |p: &DVec2| p.distance(plan.site.take_off_m) > 50.0;
    assert!(mark.lines_m.iter().flatten().all(beyond) && !mark.lines_m[0].is_empty());
    window.get_by_label("Take the mark off the plan").click();
    window.run_ok();
    assert_eq!(window.state().beside().state.marked, None);
    assert!(!shown(&window, "Take the mark off the plan"));
}

/// The gravest caution and the counts stand in one line; the others wait until they are asked for, and that is remembered.
#[test]
fn cautions_are_one_line_that_opens() {
    let mut window = {
        let mut app = shared(App::still(Document::new(made_up::scenario(), None)));
        app.work_out();
        Harness::builder().with_size([1280.0, 800.0]).with_max_steps(60).build_eframe(move |creation| {
            obliquity::theme::install(&creation.egui_ctx, Mode::Light);
            app
        })
    };
    window.run_ok();
    assert!(!shown(&window, "a prediction, not a permission"));
    assert!(shown(&window, "Cautions: "), "how many there are of each severity");
    window.get_by_label("Show all cautions").click();
    window.run_ok();
    assert!(shown(&window, "a prediction, not a permission"));
    assert!(window.state().home().preferences.board_opened.contains(obliquity::board::CAUTIONS));
    window.get_by_label("Close the cautions").click();
    window.run_ok();
    assert!(!shown(&window, "a prediction, not a permission"));
}

/// Derived: a mark is of one strategy's caution, on one screen: with either it goes.
#[test]
fn a_mark_goes_with_the_strategy_and_with_the_screen() {
    let mut app = shared(App::still(Document::new(made_up::scenario(), None)));
    let marked = |app: &App| app.beside().state.marked.is_some();
    app.turn_to(Screen::PLAN);
    app.mark_caution(Some("pilot-distance"));
    let own = app.focus().unwrap();
    app.focus_on(own);
    app.turn_to(Screen::PLAN);
    assert!(marked(&app), "nothing has changed");
    app.focus_on(CROSSED);
    assert!(own != CROSSED && !marked(&app));
    app.mark_caution(Some("pilot-distance"));
    app.turn_to(Screen::TIMELINE);
    assert!(!marked(&app));
}

/// Derived: where a caution along the route held stays marked, as of earlier settings, until it is known of the route shown.
#[test]
fn marks_along_the_route_stay_until_they_are_known_anew() {
    let scenario = made_up::scenario();
    let engine = witness();
    let site = Arc::new(PlanSite::new(&scenario.site));
    let of = |depth| engine.evaluate(&scenario, FIVE, depth, &NoWatch).unwrap();
    let spread = of(Depth::Spread);
    let mut plan = Plan::new(&scenario, &site, &of(Depth::Quick), Units::Metric);
    assert_eq!(plan.mark(Some("unknown")), None, "not known yet");
    plan.keep_marks(&spread);
    let known = Plan::new(&scenario, &site, &spread, Units::Metric);
    let (kept, own) = (plan.mark(Some("unknown")).unwrap(), known.mark(Some("unknown")).unwrap());
    assert_eq!((kept.freshness, own.freshness), (Freshness::Stale, Freshness::Fresh));
    assert_eq!(kept.lines_m, own.lines_m);
    assert_eq!(kept.text, format!("{}; of earlier settings", own.text));
}
