//! The site in 3D: its values, and the screen found by what a screen reader would say.

use crate::made_up::{self, CROSSED, NADIR};
use crate::window::{shared, witness};
use egui::{Key, Modifiers};
use egui_kittest::Harness;
use egui_kittest::kittest::{NodeT, Queryable};
use glam::{DVec2, DVec3};
use obliquity::app::{App, Screen};
use obliquity::document::Document;
use obliquity::space::{
    Arrangement, Cameras, Eye, Layer, Legend, Paper, Picked, Relief, Scene, SceneMark, SceneMarks, ScenePane,
    render,
};
use obliquity::theme::Mode;
use obliquity::units::Units;
use obliquity_planning::{Depth, Id, NoWatch, Scenario, SurfaceClass};

fn scene_of(scenario: &Scenario, id: Id) -> Scene {
    let outcome = witness().evaluate(scenario, id, Depth::Views, &NoWatch).unwrap();
    Scene::new(scenario, &outcome).unwrap()
}

/// Derived: patches that tile a face have its area, whichever way it is turned: the shed is turned by the angle of a
/// triangle of sides 3, 4 and 5. The yard less the shed's footprint, its roof and its walls are
/// 57,600 m², 2,400 m² and 2,400 m²; cells on the boundary of a face may hang over, 2 % of it here.
#[test]
fn patches_lie_side_by_side() {
    let mut scenario = made_up::scenario();
    let site = std::sync::Arc::make_mut(&mut scenario.site);
    let turned =
        |at: &DVec2| DVec2::new(0.8 * at.x - 0.6 * at.y, 0.6 * at.x + 0.8 * at.y) + DVec2::new(60.0, -70.0);
    site.structures[0].footprint_m = site.structures[0].footprint_m.iter().map(turned).collect();
    let scene = scene_of(&scenario, NADIR);
    assert_eq!(scene.patches.len(), scene.site.sample_count as usize);
    for (class, area_m2) in
        [(SurfaceClass::Ground, 57_600.0), (SurfaceClass::Roof, 2_400.0), (SurfaceClass::Wall, 2_400.0)]
    {
        let own = scene.site.samples().filter(|sample| sample.class == class);
        let total: f64 = own
            .map(|sample| {
                let [a, b, _, d] = scene.patches[sample.number as usize].corners_m;
                (b - a).cross(d - a).length()
            })
            .sum();
        assert!((total / area_m2 - 1.0).abs() < 0.02, "{class:?}: {total}");
    }
}

/// Cross-check: one sample worked out alone on its site against the figures of all of them together. Ties within the
/// rounding of single precision may fall either way; on this scene there are none among the samples checked.
#[test]
fn a_picked_point_says_what_the_figures_say() {
    let scene = scene_of(&made_up::scenario(), CROSSED);
    let mut lacking = 0;
    for sample in (0..scene.site.sample_count).step_by(97) {
        let picked = Picked::new(&scene, sample).unwrap();
        let counted = picked.seen_by.iter().filter(|seeing| seeing.counts).count();
        assert_eq!(counted, picked.views as usize, "sample {sample}");
        assert_eq!(picked.lacking.is_none(), scene.views.samples.covered[sample as usize]);
        let in_rose: f64 = picked.rose.as_ref().unwrap().cells.iter().flatten().sum();
        assert!((in_rose - f64::from(picked.views)).abs() < 1e-9, "every counted view is in the rose once");
        if let Some(why) = &picked.why(Units::Metric) {
            lacking += 1;
            assert!(!why.is_empty() && !why.contains("rounding"), "sample {sample}: {why}");
        }
        assert!(picked.lines(Units::Metric).iter().all(|line| !line.contains("NaN")));
    }
    assert!(lacking > 0, "some points are not covered, or nothing was checked");
    assert!(Picked::new(&scene, scene.site.sample_count).is_none());
}

/// Derived: a nadir block sees no wall better than 90° less half its field of view (32° of the diagonal), far beyond
/// the 55° that count.
#[test]
fn a_wall_under_a_nadir_block_says_why_it_is_not_covered() {
    let scene = scene_of(&made_up::scenario(), NADIR);
    let wall = scene.site.samples().find(|sample| sample.class == SurfaceClass::Wall).unwrap();
    let picked = Picked::new(&scene, wall.number).unwrap();
    assert_eq!(picked.name, "Wall of Shed");
    assert_eq!(picked.views, 0);
    let why = picked.why(Units::Metric).unwrap();
    assert!(why.contains("more slanted than 55°"), "{why}");
    assert!(picked.seen_by.iter().all(|seeing| !seeing.counts));
    let lines = picked.lines(Units::Metric);
    assert!(lines.iter().any(|line| line.contains("0 of them counting; 3 needed")), "{lines:?}");
}

fn paper() -> Paper {
    Paper {
        sky: egui::Color32::WHITE,
        ground: egui::Color32::LIGHT_GRAY,
        solid: egui::Color32::GRAY,
        ink: egui::Color32::BLACK,
        muted: egui::Color32::DARK_GRAY,
        strategy: egui::Color32::BLUE,
        keep_out: egui::Color32::RED,
    }
}

/// Derived: looked at from nearly straight above, the middle of the picture is the target; the sample there is the
/// nearest one in plan, within the diagonal of its 4 m cell.
#[test]
fn the_picture_knows_which_sample_is_where() {
    let scene = scene_of(&made_up::sampled(4.0), NADIR);
    let colors = Legend::new(Layer::Covered, &[&scene], Units::Metric).colors(&scene);
    let size_px = (400, 300);
    for target_m in [DVec3::new(30.0, 60.0, 0.0), DVec3::new(130.0, 100.0, 12.0)] {
        let eye = Eye { target_m, azimuth_rad: 0.3, down_rad: 1.56, distance_m: 70.0 };
        let pane = ScenePane {
            scene: &scene,
            colors: &colors,
            eye,
            relief: Relief::Half,
            marks: SceneMarks::default(),
            picked: None,
            paper: paper(),
            size_px,
            pixels_per_point: 1.0,
        };
        let frame = render(&pane);
        let sample = frame.sample_at(200, 150).unwrap();
        let (tile, lane) = scene.place_of(sample).unwrap();
        let at = scene.site.tiles[tile].sample(lane).position_m;
        assert!(at.distance(target_m) < 3.0, "{at} is not at {target_m}");
        assert_eq!(frame, render(&pane), "the same whichever thread draws which rows");
    }
}

/// Derived: what is dragged follows the pointer, and the target stays in the middle.
#[test]
fn the_eye_turns_moves_and_comes_nearer() {
    let size = DVec2::new(800.0, 600.0);
    let ends = [DVec3::ZERO, DVec3::new(300.0, 200.0, 80.0), DVec3::new(300.0, 0.0, 0.0)];
    let mut eye = Eye::fitted(&ends, size);
    let corner = eye.project(size).at(DVec3::new(300.0, 200.0, 80.0)).unwrap().0;
    assert!(corner.cmpgt(DVec2::ZERO).all() && corner.cmplt(size).all());
    let middle = |eye: &Eye| eye.project(size).at(eye.target_m).unwrap();
    let (at, depth) = middle(&eye);
    assert!(at.distance(size / 2.0) < 1e-9 && (depth - eye.distance_m).abs() < 1e-9);
    eye.zoom(2.0);
    assert!((middle(&eye).1 - depth / 2.0).abs() < 1e-9);
    let target = eye.target_m;
    eye.orbit(DVec2::new(50.0, 1e6), size.y);
    assert!(eye.target_m == target && eye.down_rad < std::f64::consts::FRAC_PI_2, "up stays up");
    eye.pan(DVec2::new(60.0, 0.0), size);
    let moved = eye.project(size).at(target).unwrap().0;
    // Straight to the side the depth stays the same, so that the place follows to the pixel.
    assert!(moved.distance(size / 2.0 + DVec2::new(60.0, 0.0)) < 1e-6, "{moved}");
}

/// Derived: the place that is zoomed to stays on its pixel, and the eye stops before it however often it comes nearer.
#[test]
fn zooming_keeps_the_place_at_the_pointer_and_stops_before_it() {
    let size = DVec2::new(800.0, 600.0);
    let place_m = DVec3::new(40.0, 70.0, 12.0);
    for factor in [1.3, 0.8] {
        let mut eye =
            Eye { target_m: DVec3::new(0.0, 0.0, 5.0), azimuth_rad: 0.4, down_rad: 0.7, distance_m: 300.0 };
        let before = eye.project(size).at(place_m).unwrap();
        for _ in 0..60 {
            eye.zoom_to(factor, place_m);
            let now = eye.project(size).at(place_m).unwrap();
            // What lies 100 km away is a pixel to one part in 10^8.
            assert!(now.0.distance(before.0) < 1e-3, "{factor}: {now:?} was {before:?}");
            assert!(eye.position_m().distance(place_m) > 1.9, "{factor}: {:?}", eye.position_m());
        }
        let nearer = eye.project(size).at(place_m).unwrap().1 < before.1;
        assert_eq!(nearer, factor > 1.0);
    }
}

/// Derived: every switch takes something out of the picture, or puts it in, and twice is as before.
#[test]
fn every_switch_changes_the_picture_and_back() {
    let mut scenario = made_up::scenario();
    let outline_m = vec![DVec2::new(20.0, 20.0), DVec2::new(60.0, 20.0), DVec2::new(60.0, 50.0)];
    std::sync::Arc::make_mut(&mut scenario.site)
        .keep_outs
        .push(obliquity_planning::KeepOut { name: "Pond".to_owned(), outline_m });
    let scene = scene_of(&scenario, CROSSED);
    let colors = Legend::new(Layer::Covered, &[&scene], Units::Metric).colors(&scene);
    let size_px = (320, 240);
    let eye = Eye::fitted(&scene.ends_m(), DVec2::new(320.0, 240.0));
    let picture = |marks| {
        let (paper, pixels_per_point) = (paper(), 1.0);
        render(&ScenePane {
            scene: &scene,
            colors: &colors,
            eye,
            relief: Relief::None,
            marks,
            picked: None,
            paper,
            size_px,
            pixels_per_point,
        })
    };
    let usual = SceneMarks::default();
    let first = picture(usual);
    for mark in SceneMark::ALL {
        let switched = usual.switched(mark);
        assert!(picture(switched).pixels != first.pixels, "{mark:?}");
        assert_eq!(switched.switched(mark), usual);
    }
}

/// Derived: light is the better end, and the requirement lies where its value does.
#[test]
fn legends_mark_the_requirement() {
    let scene = scene_of(&made_up::scenario(), CROSSED);
    let legend = |layer| Legend::new(layer, &[&scene], Units::Metric);
    let gsd = legend(Layer::Gsd);
    // As multiples of what each class asks for: twice as coarse is one end, what is asked for the middle, where the ramp
    // breaks; half-way to the coarse end is the square root of two.
    let required =
        "ground 2.00 cm, roof 2.00 cm, wall 4.00 cm required, marked; equal steps are equal ratios";
    assert_eq!(gsd.required, required);
    assert_eq!(gsd.marks, [0.5]);
    assert_eq!((gsd.share(2.0), gsd.share(7.0)), (0.0, 0.0));
    assert!((gsd.share(2.0_f64.sqrt()) - 0.25).abs() < 1e-9);
    assert!(gsd.share(0.6) > gsd.share(0.9));
    let lightness = |share: f64| {
        let color = gsd.ramp_at(share);
        i32::from(color.r()) + i32::from(color.g()) + i32::from(color.b())
    };
    let (step, gap) = (lightness(0.4999) - lightness(0.4), lightness(0.5) - lightness(0.4999));
    assert!(gap > 40 && gap > step, "the break shows: {gap} against {step}");
    let angle = legend(Layer::Intersection);
    // Both views up to 55° from square on: at most 110° apart.
    assert!((angle.marks[0] - 10.0 / 110.0).abs() < 1e-9);
    let views = legend(Layer::Views);
    assert!(views.share(3.0) > views.share(1.0) && (views.share(1e6) - 1.0).abs() < 1e-12);
    for layer in Layer::ALL.into_iter().filter(|layer| !layer.is_of_block()) {
        let legend = legend(layer);
        let lacking = legend.color(None);
        let shades = (0..=20).map(|k| obliquity::space::ramp(f64::from(k) / 20.0));
        assert!(shades.into_iter().all(|shade| shade != lacking));
        let colors = legend.colors(&scene);
        assert!(colors.iter().any(|color| *color != colors[0]), "{layer:?} tells samples apart");
    }
}

/// Derived: σ of samples is that of the adjustment; the mark of what is
/// required lies where its value does on a logarithmic ramp; before the adjustment nothing is told, and it is said.
#[test]
fn standard_deviations_are_drawn_once_the_block_is_adjusted() {
    let mut scenario = made_up::scenario();
    let layers = [Layer::SigmaHorizontal, Layer::SigmaVertical, Layer::SigmaNormal];
    let before = scene_of(&scenario, CROSSED);
    for layer in layers {
        let legend = Legend::new(layer, &[&before], Units::Metric);
        assert_eq!(legend.lacking, "the block is not adjusted yet");
        assert!(layer.is_of_block() && layer.value(&before, 0).is_none());
    }
    let outcome = witness().evaluate(&scenario, CROSSED, Depth::Network, &NoWatch).unwrap();
    let network = outcome.network.clone().unwrap();
    let rms_m = network.overall.unwrap().vertical.rms_m;
    scenario.requirement.accuracy.vertical_m = Some(rms_m);
    let scene = Scene::new(&scenario, &outcome).unwrap();
    for (layer, own) in layers.into_iter().zip([
        &network.samples.horizontal_m,
        &network.samples.vertical_m,
        &network.samples.normal_m,
    ]) {
        let values: Vec<f64> = (0..scene.patches.len()).filter_map(|k| layer.value(&scene, k)).collect();
        let finite: Vec<f64> = own.iter().filter(|m| m.is_finite()).map(|m| f64::from(*m)).collect();
        assert_eq!(values, finite, "{layer:?}");
        let legend = Legend::new(layer, &[&scene], Units::Metric);
        let (dark_m, light_m) = legend.ends;
        let beyond = finite.iter().filter(|m| **m > dark_m).count();
        assert!(
            light_m > 0.0 && light_m < dark_m && 20 * beyond <= finite.len(),
            "{layer:?} {dark_m} {light_m}"
        );
        assert_eq!((legend.share(dark_m), legend.share(light_m)), (0.0, 1.0));
        let middle = legend.share((dark_m * light_m).sqrt());
        assert!((middle - 0.5).abs() < 1e-9, "equal steps are equal ratios: {middle}");
        let marks: &[f64] = if layer == Layer::SigmaVertical { &[legend.share(rms_m)] } else { &[] };
        assert_eq!(legend.marks, marks);
        let colors = legend.colors(&scene);
        assert!(colors.iter().any(|color| *color != colors[0]), "{layer:?} tells samples apart");
        let inches = Legend::new(layer, &[&scene], Units::UsInches);
        assert!(legend.words.1.ends_with(" mm or less"), "{:?}", legend.words);
        assert!(inches.words.1.ends_with(" in or less"), "{:?}", inches.words);
    }
    let sample = network.samples.vertical_m.iter().position(|m| m.is_finite()).unwrap();
    let told = Picked::new(&scene, u32::try_from(sample).unwrap()).unwrap().lines(Units::Metric).join("\n");
    let vertical = Units::Metric.error(f64::from(network.samples.vertical_m[sample]));
    assert!(told.contains(&format!("{vertical} vertical")), "{told}");
}

fn window() -> Harness<'static, App> {
    let mut app = shared(App::still(Document::new(made_up::scenario(), None)));
    app.work_out();
    app.turn_to(Screen::SPACE);
    let mut window =
        Harness::builder().with_size([1280.0, 800.0]).with_max_steps(60).build_eframe(move |creation| {
            obliquity::theme::install(&creation.egui_ctx, Mode::Light);
            app
        });
    window.run_ok();
    window
}

#[test]
fn a_frame_in_which_nothing_changes_draws_no_picture() {
    let mut window = window();
    let drawn = window.state_mut().space().drawn();
    assert!(drawn > 0);
    for _ in 0..5 {
        window.step();
    }
    assert_eq!(window.state_mut().space().drawn(), drawn);
    window.get_by_label("Colour by: Best GSD").click();
    window.run_ok();
    assert_eq!(window.state_mut().space().layer, Layer::Gsd);
    assert_eq!(window.state_mut().space().drawn(), drawn + 1);
}

#[test]
fn the_site_is_turned_moved_and_a_point_is_picked() {
    let mut window = window();
    let place = window.get_by_label_contains("Nadir block in 3D").rect();
    window.hover_at(place.center());
    window.run_ok();
    window.key_press(Key::Plus);
    window.run_ok();
    let near = window.state_mut().space().eye(0).unwrap();
    window.drag_at(place.center());
    window.run_ok();
    window.hover_at(place.center() + egui::vec2(80.0, 0.0));
    window.run_ok();
    window.drop_at(place.center() + egui::vec2(80.0, 0.0));
    window.run_ok();
    let turned = window.state_mut().space().eye(0).unwrap();
    assert!(turned.azimuth_rad != near.azimuth_rad && turned.target_m == near.target_m);
    window.key_press_modifiers(Modifiers::SHIFT, Key::ArrowLeft);
    window.run_ok();
    assert!(window.state_mut().space().eye(0).unwrap().target_m != near.target_m);
    window.key_press(Key::Num0);
    window.run_ok();
    assert_eq!(window.state_mut().space().eye(0), None, "the whole site again");
    window.state_mut().space().pick(NADIR, Some(3));
    window.run_ok();
    assert!(window.query_all_by_label_contains("Seen from").next().is_some());
    window.get_by_label("Forget the point").click();
    window.run_ok();
    assert!(window.state_mut().space().picked().is_none());
}

/// Derived: with another strategy in focus the same place is told of for that one.
#[test]
fn a_picked_point_is_told_of_the_strategy_in_focus() {
    let mut window = window();
    window.state_mut().space().pick(NADIR, Some(3));
    window.run_ok();
    let place_m = window.state_mut().space().picked().expect("picked").1.position_m;
    window.state_mut().focus_on(CROSSED);
    window.run_ok();
    let (strategy, picked) = window.state_mut().space().picked().expect("still told of").clone();
    assert_eq!((strategy, picked.position_m), (CROSSED, place_m));
    assert!(window.query_all_by_label_contains("overed by Crossed strips").next().is_some());
}

#[test]
fn strategies_side_by_side_move_together_or_apart() {
    let mut window = window();
    window.get_by_label("Side by side").click();
    window.run_ok();
    assert_eq!(window.state_mut().space().arrangement, Arrangement::SideBySide);
    assert_eq!(window.state_mut().space().panes(), [0, 1, 2]);
    let place = window.get_by_label_contains("Crossed strips in 3D").rect();
    window.hover_at(place.center());
    window.run_ok();
    window.key_press(Key::Plus);
    window.run_ok();
    let eyes =
        |window: &mut Harness<'static, App>| [0, 1, 2].map(|pane| window.state_mut().space().eye(pane));
    let [first, second, third] = eyes(&mut window);
    assert!(first.is_some() && first == second && second == third);
    window.get_by_label("Moved together").click();
    window.run_ok();
    assert_eq!(window.state_mut().space().cameras, Cameras::Apart);
    window.hover_at(place.center());
    window.run_ok();
    window.key_press(Key::Plus);
    window.run_ok();
    let [first, second, third] = eyes(&mut window);
    assert!(first == third && first != second);
}

/// Derived: where sorties start is marked as on the plan, one place plain, several by their numbers, and the legend says so.
#[test]
fn take_off_points_stand_in_the_picture_and_in_its_legend() {
    let legend = |window: &Harness<'static, App>| {
        window.get_by_label_contains("Legend: ").accesskit_node().label().unwrap()
    };
    assert!(legend(&window()).ends_with(" take-off"));
    let mut scenario = made_up::scenario();
    scenario.strategies[0].take_offs_m = vec![DVec2::new(300.0, 120.0)];
    let mut app = shared(App::still(Document::new(scenario, None)));
    app.work_out();
    app.turn_to(Screen::SPACE);
    let mut several =
        Harness::builder().with_size([1280.0, 800.0]).with_max_steps(60).build_eframe(move |creation| {
            obliquity::theme::install(&creation.egui_ctx, Mode::Light);
            app
        });
    several.run_ok();
    assert!(legend(&several).ends_with(" take-offs, numbered"));
    let written: Vec<String> =
        crate::pictures::texts(&several.output().shapes).into_iter().map(|written| written.text).collect();
    assert!(["1", "2"].iter().all(|number| written.iter().any(|text| text == number)), "{written:?}");
}
