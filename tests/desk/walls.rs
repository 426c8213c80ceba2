//! Walls and undersides drawn flat, decks and uneven ground in 3D: values, and the screen found by what a screen
//! reader would say.

use crate::made_up::{self, CROSSED, NADIR};
use crate::window::{shared, witness};
use egui::{Key, Vec2, vec2};
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable;
use glam::{DVec2, DVec3};
use obliquity::app::{App, Screen};
use obliquity::document::Document;
use obliquity::space::{
    Eye, FlatPane, Layer, Layout, Legend, Paper, Picked, Relief, Scene, SceneMarks, ScenePane, Sheet,
    SolidPart, render, render_flat,
};
use obliquity::theme::Mode;
use obliquity::units::Units;
use obliquity_planning::{
    Depth, Id, NoWatch, Pier, Scenario, Structure, StructureKind, SurfaceClass, Terrain, TerrainGrid,
};
use std::sync::Arc;

fn ring(corners: &[(f64, f64)]) -> Vec<DVec2> {
    corners.iter().map(|&(x, y)| DVec2::new(x, y)).collect()
}

/// The yard with a canopy 30 m by 20 m beside the shed, its soffit 8 m up, 1 m thick, on one pier 2 m by 2 m.
fn with_canopy() -> Scenario {
    let mut scenario = made_up::scenario();
    let pier_m = ring(&[(214.0, 129.0), (216.0, 129.0), (216.0, 131.0), (214.0, 131.0)]);
    let canopy = Structure {
        id: Id(2),
        name: "Canopy".to_owned(),
        footprint_m: ring(&[(200.0, 120.0), (230.0, 120.0), (230.0, 140.0), (200.0, 140.0)]),
        kind: StructureKind::Deck { soffit_m: 8.0, top_m: 9.0, piers: vec![Pier { footprint_m: pier_m }] },
    };
    let site = Arc::make_mut(&mut scenario.site);
    site.structures.push(canopy);
    site.sample_spacing_m = Some(2.0);
    scenario
}

fn scene_of(scenario: &Scenario, id: Id) -> Scene {
    let outcome = witness().evaluate(scenario, id, Depth::Views, &NoWatch).unwrap();
    Scene::new(scenario, &outcome).unwrap()
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

/// Derived: the shed is 60 m by 40 m and 12 m high; counter-clockwise from its first corner in the south-west its
/// sides face south, east, north, west. Seen from outside, west is left on the south side and right on the north side.
#[test]
fn walls_stand_in_the_order_of_walking_round() {
    let scene = scene_of(&with_canopy(), CROSSED);
    let sheet = Sheet::new(&scene);
    let shed = &sheet.groups[0];
    assert_eq!(shed.name, "Shed");
    let facing: Vec<&str> = shed.panels.iter().map(obliquity::space::Panel::facing).collect();
    assert_eq!(facing, ["S", "E", "N", "W"]);
    for (panel, length_m) in shed.panels.iter().zip([60.0, 40.0, 60.0, 40.0]) {
        // Cells tile a rectangle exactly, up to the single precision of the samples.
        assert!((panel.size_m - DVec2::new(length_m, 12.0)).length() < 1e-3, "{:?}", panel.size_m);
    }
    let west_m = DVec3::new(100.0, 80.0, 6.0);
    assert!(shed.panels[0].flat_m(west_m).distance(DVec2::new(0.0, 6.0)) < 1e-3);
    let north_west_m = DVec3::new(100.0, 120.0, 6.0);
    assert!(shed.panels[2].flat_m(north_west_m).distance(DVec2::new(60.0, 6.0)) < 1e-3);
    assert_eq!(shed.panels[0].size_text(Units::Metric), "60 × 12 m");
}

/// Derived: each wall's samples stand for equal areas, so that its share is that of its samples; a group's share is
/// the mean of its walls' by area (60 m and 40 m, all 12 m high). The shares are sums of at most 1e4 numbers in double
/// precision.
#[test]
fn shares_of_walls_are_those_of_their_samples() {
    let scene = scene_of(&with_canopy(), CROSSED);
    let sheet = Sheet::new(&scene);
    let shed = &sheet.groups[0];
    for panel in &shed.panels {
        let covered = &scene.views.samples.covered[panel.samples.start as usize..panel.samples.end as usize];
        let share = covered.iter().filter(|covered| **covered).count() as f64 / covered.len() as f64;
        assert!((panel.covered_ratio - share).abs() < 1e-9);
    }
    let [south, east, north, west] = [0, 1, 2, 3].map(|k: usize| shed.panels[k].covered_ratio);
    let mean = 0.3 * (south + north) + 0.2 * (east + west);
    assert!((shed.covered_ratio - mean).abs() < 1e-9, "{} {mean}", shed.covered_ratio);
    assert!(mean > 0.0, "some of it is covered, or nothing was checked");
}

/// Derived: a canopy of 30 m by 20 m, 1 m thick, has four edges 1 m high, an underside of its size and four sides of a
/// pier 8 m high; the underside faces down and is not seen by crossed strips that look at most 30° from nadir.
#[test]
fn a_deck_has_edges_a_pier_and_an_underside() {
    let scene = scene_of(&with_canopy(), CROSSED);
    let parts: Vec<_> = scene.outlines.iter().map(|outline| (outline.name.as_str(), outline.part)).collect();
    assert_eq!(
        parts,
        [("Shed", SolidPart::Solid), ("Canopy", SolidPart::Slab), ("Canopy, pier 1", SolidPart::Pier)]
    );
    let sheet = Sheet::new(&scene);
    let names: Vec<&str> = sheet.groups.iter().map(|group| group.name.as_str()).collect();
    assert_eq!(names, ["Shed", "Canopy, edges", "Canopy, pier 1", "Underside of Canopy"]);
    assert!(sheet.groups[1].panels.iter().all(|panel| (panel.size_m.y - 1.0).abs() < 1e-3));
    assert!(sheet.groups[2].panels.iter().all(|panel| (panel.size_m.y - 8.0).abs() < 1e-3));
    let underside = &sheet.groups[3].panels[0];
    assert!((underside.size_m - DVec2::new(30.0, 20.0)).length() < 1e-3, "{:?}", underside.size_m);
    assert_eq!(underside.facing(), "down");
    assert_eq!((underside.covered_ratio, sheet.groups[3].covered_ratio), (0.0, 0.0));
    // Seen through the slab from above, east is right and north is up.
    let north_east = underside.flat_m(DVec3::new(230.0, 140.0, 8.0));
    assert!(north_east.distance(DVec2::new(30.0, 20.0)) < 1e-3);
    let named = |class: SurfaceClass, at: DVec3, normal| scene.name_of(class, at, normal);
    assert_eq!(named(SurfaceClass::Roof, DVec3::new(205.0, 125.0, 9.0), DVec3::Z), "Top of Canopy");
    assert_eq!(named(SurfaceClass::Wall, DVec3::new(205.0, 120.0, 8.5), DVec3::NEG_Y), "Edge of Canopy");
    assert_eq!(
        named(SurfaceClass::Wall, DVec3::new(215.0, 129.0, 3.0), DVec3::NEG_Y),
        "Wall of Canopy, pier 1"
    );
    let soffit = DVec3::new(205.0, 125.0, 8.0);
    assert_eq!(named(SurfaceClass::Underside, soffit, DVec3::NEG_Z), "Underside of Canopy");
}

/// Derived: an eye under the canopy that looks straight up through its middle has the underside before it; one above
/// it has its top. One under the ground looks through it, since the ground is seen from above only.
#[test]
fn an_eye_below_a_deck_sees_its_underside() {
    let scene = scene_of(&with_canopy(), NADIR);
    let colors = Legend::new(Layer::Covered, &[&scene], Units::Metric).colors(&scene);
    let class_at = |down_rad: f64, distance_m: f64| {
        let target_m = DVec3::new(206.0, 126.0, 8.5);
        let eye = Eye { target_m, azimuth_rad: 0.0, down_rad, distance_m };
        let pane = ScenePane {
            scene: &scene,
            colors: &colors,
            eye,
            relief: Relief::Half,
            marks: SceneMarks::default(),
            picked: None,
            paper: paper(),
            size_px: (200, 150),
            pixels_per_point: 1.0,
        };
        let sample = render(&pane).sample_at(100, 75).unwrap();
        let (tile, lane) = scene.place_of(sample).unwrap();
        scene.site.tiles[tile].sample(lane).class
    };
    assert_eq!(class_at(-1.45, 6.0), SurfaceClass::Underside);
    assert_eq!(class_at(-1.45, 30.0), SurfaceClass::Underside, "from below the ground");
    assert_eq!(class_at(1.45, 30.0), SurfaceClass::Roof);
    let mut eye = Eye::fitted(&scene.ends_m(), DVec2::new(800.0, 600.0));
    eye.orbit(DVec2::new(0.0, -1e6), 600.0);
    assert!(eye.down_rad < -1.0, "dragging turns it below level");
}

/// Derived: on a grid whose height grows by 0.2 m with each metre to the east, every corner of every piece of ground
/// lies on the ground, faces up, and neighbours in a row share an edge. Heights are kept in whole millimetres.
#[test]
fn uneven_ground_is_drawn_where_it_is() {
    let mut scenario = made_up::scenario();
    let heights: Vec<f64> =
        (0..60 * 60).map(|k| 0.2 * 10.0 * f64::from(k % 60) + (f64::from(k / 60) / 5.0).sin()).collect();
    let (from, step) = (DVec2::splat(-150.0), DVec2::splat(10.0));
    let grid = TerrainGrid::from_heights_m(from, step, (60, 60), &heights).unwrap();
    Arc::make_mut(&mut scenario.site).terrain = Terrain::Grid(Arc::new(grid));
    let scene = scene_of(&scenario, NADIR);
    let terrain = &scene.site.terrain;
    let ground: Vec<_> = scene.site.samples().filter(|sample| sample.class == SurfaceClass::Ground).collect();
    let mut joined = 0;
    for pair in ground.windows(2) {
        let [a, b] = [0, 1].map(|k: usize| scene.patches[pair[k].number as usize].corners_m);
        for corner in a {
            assert!((corner.z - terrain.height_m(corner.truncate())).abs() < 1e-9);
        }
        assert!((a[1] - a[0]).cross(a[3] - a[0]).z > 0.0);
        // The samples' places are in single precision relative to their tile.
        joined += usize::from(a[1].distance(b[0]) < 1e-3 && a[2].distance(b[3]) < 1e-3);
    }
    assert!(4 * joined > 3 * ground.len(), "{joined} of {}", ground.len());
}

/// Cross-check: the least incidence of a sample against the angles to the stations that a single sample worked out
/// alone finds counting. Single precision of squared cosines near 1 leaves about 4e-4 rad.
#[test]
fn the_least_incidence_is_that_of_the_squarest_counted_view() {
    let scene = scene_of(&with_canopy(), CROSSED);
    let mut checked = 0;
    for sample in (0..scene.site.sample_count).step_by(151) {
        let picked = Picked::new(&scene, sample).unwrap();
        let incidences = picked
            .seen_by
            .iter()
            .filter(|seeing| seeing.counts)
            .map(|seeing| (seeing.position_m - picked.position_m).angle_between(picked.normal));
        let least = incidences.fold(f64::INFINITY, f64::min);
        assert_eq!(picked.least_incidence_rad.is_some(), least.is_finite());
        if let Some(incidence_rad) = picked.least_incidence_rad {
            checked += 1;
            assert!((incidence_rad - least).abs() < 5e-4, "sample {sample}: {incidence_rad} {least}");
        }
    }
    assert!(checked > 10, "{checked}");
}

/// Derived: whatever the width and the scale, panels do not overlap and stay on the width if one of them alone does;
/// the fitted layout has all of them in the room where there is enough.
#[test]
fn panels_lie_beside_each_other() {
    let sheet = Sheet::new(&scene_of(&with_canopy(), NADIR));
    for (width, scale) in [(300.0, 2.0), (300.0, 4.5), (900.0, 3.0), (1500.0, 12.0)] {
        let layout = Layout::new(&sheet, width, scale);
        assert_eq!(layout.panels.len(), sheet.groups.iter().map(|group| group.panels.len()).sum::<usize>());
        let places: Vec<_> = layout.panels.iter().map(|(.., place)| place.shrink(0.01)).collect();
        for (k, place) in places.iter().enumerate() {
            assert!(place.right() <= width && place.bottom() <= layout.height + 0.1, "{place:?}");
            assert!(places[..k].iter().all(|other| !other.intersects(*place)), "{width} {scale} {k}");
            assert!(layout.heads.iter().all(|(_, head)| !head.shrink(0.01).intersects(*place)));
        }
    }
    let room = Vec2::new(900.0, 600.0);
    let fitted = Layout::fitted(&sheet, room);
    assert!(fitted.height <= room.y && fitted.points_per_m > 2.0, "{fitted:?}");
}

/// Derived: the middle of a panel is the sample nearest to the middle of the wall, within half a diagonal of a cell
/// of 2 m.
#[test]
fn the_flat_picture_knows_which_sample_is_where() {
    let scene = scene_of(&with_canopy(), CROSSED);
    let sheet = Sheet::new(&scene);
    let layout = Layout::fitted(&sheet, vec2(800.0, 500.0));
    let colors = Legend::new(Layer::Incidence, &[&scene], Units::Metric).colors(&scene);
    let pane = FlatPane {
        scene: &scene,
        sheet: &sheet,
        layout: &layout,
        scrolled: 0.0,
        colors: &colors,
        picked: None,
        paper: paper(),
        size_px: (800, layout.height.ceil() as usize + 1),
        pixels_per_point: 1.0,
    };
    let frame = render_flat(&pane);
    for &(group, panel, place) in &layout.panels {
        let panel = &sheet.groups[group].panels[panel];
        let at = place.center();
        let sample = frame.sample_at(at.x as usize, at.y as usize);
        let Some(sample) = sample else {
            assert_eq!(
                panel.class,
                SurfaceClass::Underside,
                "the pier stands in the middle of the underside"
            );
            continue;
        };
        assert!(panel.samples.contains(&sample));
        let (tile, lane) = scene.place_of(sample).unwrap();
        let flat_m = panel.flat_m(scene.site.tiles[tile].sample(lane).position_m);
        assert!(flat_m.distance(panel.size_m / 2.0) < 1.9, "{flat_m} on {:?}", panel.size_m);
    }
    assert_eq!(frame.sample_at(799, 0), None, "beside all of them");
}

fn window() -> Harness<'static, App> {
    let mut app = shared(App::still(Document::new(with_canopy(), None)));
    app.work_out();
    app.turn_to(Screen::WALLS);
    let mut window =
        Harness::builder().with_size([1280.0, 800.0]).with_max_steps(60).build_eframe(move |creation| {
            obliquity::theme::install(&creation.egui_ctx, Mode::Light);
            app
        });
    window.run_ok();
    window
}

#[test]
fn a_wall_is_picked_enlarged_scrolled_and_put_back() {
    let mut window = window();
    let place = window.get_by_label_contains("Walls of Nadir block, by covered or not: Shed").rect();
    // The sheet begins 12 points from the border, its first wall under a name and a label.
    let on_shed = place.min + vec2(40.0, 12.0 + 20.0 + 32.0 + 10.0);
    window.hover_at(on_shed);
    window.run_ok();
    window.drag_at(on_shed);
    window.drop_at(on_shed);
    window.run_ok();
    let picked = window.state_mut().space().picked().map(|(id, picked)| (*id, picked.name.clone()));
    assert_eq!(picked, Some((NADIR, "Wall of Shed".to_owned())));
    assert!(window.query_all_by_label_contains("Not covered by Nadir block").next().is_some());
    let drawn = window.state_mut().space().drawn();
    for _ in 0..3 {
        window.step();
    }
    assert_eq!(window.state_mut().space().drawn(), drawn, "nothing changes, nothing is drawn");
    for _ in 0..5 {
        window.key_press(Key::Plus);
        window.run_ok();
    }
    let large = window.state_mut().space().flat;
    assert!(large.points_per_m.is_some());
    window.key_press(Key::ArrowDown);
    window.run_ok();
    assert!(window.state_mut().space().flat.scrolled > large.scrolled);
    window.key_press(Key::Num0);
    window.run_ok();
    assert_eq!(window.state_mut().space().flat.points_per_m, None);
    window.get_by_label("3D").click();
    window.run_ok();
    assert_eq!(window.state().screen_shown(), Screen::SPACE);
    window.get_by_label("Elevations").click();
    window.run_ok();
    window.get_by_label("Side by side").click();
    window.run_ok();
    window.get_by_label("2 strategies side by side").click();
    window.run_ok();
    assert!(window.query_all_by_label_contains("Walls of Crossed strips, by").next().is_some());
    assert!(window.query_all_by_label_contains("Walls of Five-direction oblique, by").next().is_none());
}
