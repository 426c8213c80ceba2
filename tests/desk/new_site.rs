//! Another boundary under a site: what stays, what goes and is asked about, and when a job that is begun is flown.

use crate::opened::{Window, click, press_shifted, shows};
use crate::window::shared;
use egui::Key;
use egui_kittest::Harness;
use egui_kittest::kittest::{NodeT, Queryable};
use glam::DVec2;
use obliquity::app::App;
use obliquity::document::Document;
use obliquity::files;
use obliquity::new_site::{NewSite, SiteFrame};
use obliquity::theme::Mode;
use obliquity_exchange::{BoundaryChoice, LocalFrame, parse_boundaries};
use obliquity_planning::{Scenario, Site, SiteZone};
use std::path::Path;
use std::sync::Arc;

fn demo() -> Scenario {
    files::demo().unwrap()
}

/// A boundary file with the site's own boundary, its corners moved as told in the site's frame.
fn boundary_file(site: &Site, moved: impl Fn(DVec2) -> DVec2) -> String {
    let frame = LocalFrame::new(site.origin.unwrap());
    let place = |&at_m: &DVec2| {
        let place = frame.to_geo(moved(at_m));
        format!("[{},{}]", place.longitude_deg, place.latitude_deg)
    };
    let ring: Vec<String> = site.boundary_m.iter().chain(site.boundary_m.first()).map(place).collect();
    format!(
        r#"{{"type":"Feature","properties":{{"name":"Corrected"}},"geometry":{{"type":"Polygon","coordinates":[[{}]]}}}}"#,
        ring.join(",")
    )
}

fn choice(site: &Site, moved: impl Fn(DVec2) -> DVec2) -> BoundaryChoice {
    parse_boundaries(boundary_file(site, moved).as_bytes(), "corrected.geojson").unwrap().remove(0)
}

/// Places on a ring, half a metre apart.
fn along(ring: &[DVec2]) -> Vec<DVec2> {
    let sides = ring.iter().zip(ring.iter().cycle().skip(1));
    let places = |(&a, &b): (&DVec2, &DVec2)| {
        let steps = (2.0 * a.distance(b)).ceil().max(1.0) as usize;
        (0..steps).map(|k| a.lerp(b, k as f64 / steps as f64)).collect::<Vec<_>>()
    };
    sides.flat_map(places).collect()
}

/// Inside by the winding of the angle seen from the place.
fn winds_round(ring: &[DVec2], at: DVec2) -> bool {
    let sides = ring.iter().zip(ring.iter().cycle().skip(1));
    let turn: f64 = sides.map(|(&a, &b)| (a - at).angle_to(b - at)).sum();
    turn.abs() > 3.0
}

fn apart_m(ring: &[DVec2], other: &[DVec2]) -> f64 {
    if other.iter().any(|&at| winds_round(ring, at)) || ring.iter().any(|&at| winds_round(other, at)) {
        return 0.0;
    }
    let (ring, other) = (along(ring), along(other));
    let low = other.iter().copied().reduce(DVec2::min).unwrap();
    let high = other.iter().copied().reduce(DVec2::max).unwrap();
    let mut nearest2 = f64::INFINITY;
    for at in ring {
        // No place of the other is nearer than the rectangle that holds it.
        if (low - at).max(at - high).max(DVec2::ZERO).length_squared() < nearest2 {
            nearest2 = other.iter().map(|place| at.distance_squared(*place)).fold(nearest2, f64::min);
        }
    }
    nearest2.sqrt()
}

/// Derived: whatever way and however far the boundary is moved, what this file's own geometry finds within 200 m stays
/// where it is, to the last bit, and all the rest is listed by its name; half a metre of sampling apart nothing is doubtful.
#[test]
fn what_lies_near_stays_and_what_goes_is_listed() {
    let scenario = demo();
    let site = &scenario.site;
    let (mut kept, mut gone) = (0, 0);
    for step in 0..40 {
        let turn = f64::from(step) * 2.4;
        let by = DVec2::new(turn.cos(), turn.sin()) * f64::from(step) * 22.0;
        let choice = choice(site, |at| at + by);
        let new = NewSite::of_boundary(&scenario, &choice);
        assert!(new.frame == SiteFrame::Kept || by.length() > 200.0, "{by}");
        let listed = |name: &str| new.goes.iter().any(|gone| gone.what == name);
        if new.frame == SiteFrame::Kept {
            assert_eq!(new.site.origin, site.origin);
            for (at, moved) in new.site.boundary_m.iter().zip(&site.boundary_m) {
                assert!(at.distance(*moved + by) < 2e-3, "the two frames agree to a millimetre here");
            }
        }
        for structure in &site.structures {
            let moved: Vec<DVec2> = site.boundary_m.iter().map(|&at| at + by).collect();
            let outside_m = apart_m(&moved, &structure.footprint_m);
            let stays = new.site.structures.contains(structure);
            assert_ne!(stays, listed(&structure.name), "{} at {by}", structure.name);
            if (outside_m - 200.0).abs() > 1.0 {
                assert_eq!(stays, outside_m < 200.0 && new.frame == SiteFrame::Kept, "{outside_m} m");
            }
            kept += u32::from(stays);
            gone += u32::from(!stays);
        }
        for keep_out in &site.keep_outs {
            assert_ne!(new.site.keep_outs.contains(keep_out), listed(&format!("keep-out {}", keep_out.name)));
        }
        assert!(new.site.take_off_m == site.take_off_m || listed("the take-off point"));
    }
    assert!(kept > 30 && gone > 30, "{kept} stayed, {gone} went");
}

#[test]
fn a_boundary_elsewhere_leaves_nothing_and_says_so() {
    let scenario = demo();
    let choice = choice(&scenario.site, |at| at + DVec2::new(9_000.0, 0.0));
    let new = NewSite::of_boundary(&scenario, &choice);
    assert_eq!((new.frame, new.site.origin), (SiteFrame::Another, Some(choice.origin)));
    let things = scenario.site.structures.len() + scenario.site.keep_outs.len() + 1;
    assert!(new.goes.len() >= things, "{:?}", new.goes);
    // A site that someone has only just begun has nothing to lose.
    let blank = files::blank(&scenario);
    assert_eq!(NewSite::of_boundary(&blank, &choice).goes, []);
}

fn window(scenario: Scenario) -> Window {
    let mut window =
        Harness::builder().with_size([1280.0, 900.0]).with_max_steps(60).build_eframe(move |creation| {
            shared(App::new(&creation.egui_ctx, Document::new(scenario, None), Mode::Light)).at_once()
        });
    crate::window::settle(&mut window);
    window.run_ok();
    window
}

fn import(window: &mut Window, path: &Path) {
    press_shifted(window, Key::I);
    let field = window.query_all_by_label_contains("Path").find(|node| node.accesskit_node().is_text_input());
    field.unwrap().type_text(path.to_str().unwrap());
    window.run_ok();
    window.key_press(Key::Enter);
    window.run_ok();
}

#[test]
fn importing_asks_before_something_goes_and_is_one_step() {
    let folder = tempfile::tempdir().unwrap();
    let scenario = demo();
    let near = folder.path().join("near.geojson");
    let far = folder.path().join("far.geojson");
    std::fs::write(&near, boundary_file(&scenario.site, |at| at + DVec2::new(4.0, -3.0))).unwrap();
    std::fs::write(&far, boundary_file(&scenario.site, |at| at + DVec2::new(-6_000.0, 0.0))).unwrap();
    let mut window = window(scenario.clone());
    let before = Arc::clone(window.state().document().scenario());
    import(&mut window, &near);
    let after = Arc::clone(window.state().document().scenario());
    assert!(!shows(&window, "these would go"), "nothing goes, so nothing is asked");
    assert_ne!(after.site.boundary_m, before.site.boundary_m);
    assert_eq!(after.site.structures, before.site.structures);
    assert_eq!(after.site.keep_outs, before.site.keep_outs);
    assert_eq!((after.site.take_off_m, &after.site.terrain), (before.site.take_off_m, &before.site.terrain));
    assert_eq!(after.strategies, before.strategies);
    assert_eq!(after.conditions.mission, before.conditions.mission, "a correction is no new job");
    import(&mut window, &far);
    assert!(shows(&window, "these would go") && shows(&window, &scenario.site.structures[0].name));
    window.key_press(Key::Escape);
    window.run_ok();
    assert!(Arc::ptr_eq(window.state().document().scenario(), &after), "asked, and left as it was");
    import(&mut window, &far);
    window.key_press(Key::Enter);
    window.run_ok();
    let moved = Arc::clone(window.state().document().scenario());
    assert!(moved.site.structures.is_empty() && moved.faults().is_empty());
    crate::opened::press(&mut window, Key::Z);
    assert!(Arc::ptr_eq(window.state().document().scenario(), &after), "one step");
}

/// Derived: the program is asked on either side of the test, so that midnight does no harm.
#[test]
fn a_job_that_is_begun_is_flown_the_next_morning() {
    let early = files::next_mission();
    let blank = files::blank(&demo()).conditions.mission.unwrap();
    let on_demo = {
        let folder = tempfile::tempdir().unwrap();
        let far = folder.path().join("far.geojson");
        let scenario = demo();
        std::fs::write(&far, boundary_file(&scenario.site, |at| at + DVec2::new(0.0, 7_000.0))).unwrap();
        let mut window = window(scenario);
        import(&mut window, &far);
        click(&mut window, "Import, and leave these out");
        window.state().document().scenario().conditions.mission.clone().unwrap()
    };
    let late = files::next_mission();
    for begun in [blank, on_demo] {
        assert!([early.date, late.date].contains(&begun.date), "{begun:?}");
        assert_eq!(begun.zone, early.zone);
        assert_ne!(Some(begun), demo().conditions.mission);
    }
}

/// The computer's zone, as a child of this test finds it.
#[test]
fn the_zone_is_the_computers() {
    const CHILD: &str = "OBLIQUITY_TEST_CHILD_ZONE";
    if std::env::var_os(CHILD).is_some() {
        let zone = files::next_mission().zone;
        let told = match zone {
            SiteZone::Named { name } => name,
            SiteZone::Offset { minutes } => minutes.to_string(),
        };
        std::fs::write(std::env::var_os(CHILD).unwrap(), told).unwrap();
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    for (set, expected) in [("Asia/Kathmandu", "Asia/Kathmandu"), ("<+0330>-3:30", "210")] {
        let to = folder.path().join("zone");
        let done = std::process::Command::new(std::env::current_exe().unwrap())
            .args(["--exact", "new_site::the_zone_is_the_computers", "--test-threads", "1"])
            .env(CHILD, &to)
            .env("TZ", set)
            .output()
            .unwrap();
        assert!(done.status.success(), "{}", String::from_utf8_lossy(&done.stdout));
        assert_eq!(std::fs::read_to_string(&to).unwrap(), expected);
    }
}

/// Derived: a take-off point that goes has to be somewhere: the question says where.
#[test]
fn the_question_says_where_the_take_off_point_comes_to_lie() {
    let gone = obliquity::new_site::Gone { what: "the take-off point".to_owned(), outside_m: Some(247.0) };
    let text = gone.text(obliquity::units::Units::Metric);
    assert_eq!(
        text,
        "the take-off point, 247 m outside: it is put at the corner nearest the south-west until you move it"
    );
}
