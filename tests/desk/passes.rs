//! Passes: made, moved and edited, each edit one named step; a pass that cannot be flown says why.

use crate::made_up::{self, CROSSED, NADIR};
use crate::opened::{Window, click, press, press_shifted, shows, type_number, yard};
use crate::window::{shared, witness};
use egui::Key;
use egui_kittest::kittest::{NodeT, Queryable};
use obliquity::amendment::{AmendError, Amendment, Part};
use obliquity::app::{App, Screen};
use obliquity::document::{Document, Edit, EditError};
use obliquity::first_use::{Rectangle, rectangle_site};
use obliquity::new_site::SiteFrame;
use obliquity::passes::{Order, added, duplicated, moved, new_pass, removed};
use obliquity::preferences::Home;
use obliquity::strategies::{Change, offers};
use obliquity::theme::Mode;
use obliquity_planning::wind::Wind;
use obliquity_planning::{
    Above, Aim, BeginAt, Corridor, Distance, Facade, FlyingOrder, Id, Orbit, OrbitCentre, Pass, Pattern,
    PatternKind, Scenario, SiteTemplate, StripDirection, Strips, Structure, StructureKind, Template, knob,
};
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// The made-up yard with a canopy, so that every pattern can be flown, and an aircraft that looks up.
fn with_canopy() -> Scenario {
    let mut scenario = made_up::scenario();
    let mut site = (*scenario.site).clone();
    site.structures.push(Structure {
        id: Id(2),
        name: "Canopy".to_owned(),
        footprint_m: [(200.0, 40.0), (240.0, 40.0), (240.0, 60.0), (200.0, 60.0)]
            .map(glam::DVec2::from)
            .to_vec(),
        kind: StructureKind::Deck { soffit_m: 14.0, top_m: 15.0, piers: Vec::new() },
    });
    scenario.site = Arc::new(site);
    scenario
}

fn window(scenario: Scenario) -> Window {
    let mut window = egui_kittest::Harness::builder()
        .with_size([1280.0, 1100.0])
        .with_max_steps(40)
        .build_eframe(move |creation| {
            let ctx = &creation.egui_ctx;
            let app = App::new(ctx, Document::new(scenario, None), Mode::Light);
            shared(app.with_home(ctx, Home::nowhere())).at_once()
        });
    crate::window::settle(&mut window);
    window.run_ok();
    window
}

fn passes(window: &Window, strategy: Id) -> Vec<Pass> {
    window.state().document().scenario().strategy(strategy).unwrap().passes.clone()
}

fn undo_label(window: &Window) -> String {
    window.state().document().undo_label().unwrap_or_default().to_owned()
}

#[derive(Debug)]
struct DroppedTable(PathBuf);

impl egui::DroppedFile for DroppedTable {
    fn path(&self) -> &Path {
        &self.0
    }

    fn bytes(&self) -> Result<Vec<u8>, String> {
        std::fs::read(&self.0).map_err(|error| error.to_string())
    }
}

fn drop_table(window: &mut Window, folder: &Path, text: &str) {
    let path = folder.join("rows.csv");
    std::fs::write(&path, text).unwrap();
    window.input_mut().dropped_files.push(Arc::new(DroppedTable(path)));
    window.run_ok();
    crate::window::settle(window);
    window.run_ok();
}

/// Chooses an entry of a list that opens.
fn choose(window: &mut Window, list: &str, entry: &str) {
    window.get_by_label_contains(list).click();
    window.run_ok();
    click(window, entry);
}

/// Derived: the demo's six silos stand 5 m apart: one wrap goes round them, 20 m off, and one ring.
#[test]
fn the_demo_is_wrapped_and_orbited_once_and_from_near() {
    let mut document = Document::new(obliquity::files::demo().unwrap(), None);
    for template in [SiteTemplate::FacadeWrap, SiteTemplate::NadirBlockWithOrbits] {
        document.edit(&Edit::Strategy(Change::AddOnSite { template })).unwrap();
        let scenario = document.scenario();
        let outcome = witness().quick(scenario, scenario.strategies.last().unwrap().id).unwrap();
        let silos = || scenario.site.structures.iter().filter(|s| s.name.starts_with("Silo"));
        let passes: Vec<_> = outcome.plans().filter(|plan| plan.layout.stand_off_m.is_some()).collect();
        assert_eq!(passes.len(), 1, "silos, work house and dryer are one cluster");
        assert!(outcome.feasible(), "{:?}", outcome.reasons);
        if template == SiteTemplate::FacadeWrap {
            let places = || passes[0].stations.poses.iter().map(|pose| pose.position_m.truncate());
            let off = |ring: &[glam::DVec2], at: glam::DVec2| {
                let sides = ring.iter().zip(ring.iter().cycle().skip(1));
                let nearest = sides.map(|(a, b)| {
                    let share = ((at - *a).dot(*b - *a) / (*b - *a).length_squared()).clamp(0.0, 1.0);
                    a.lerp(*b, share).distance(at)
                });
                nearest.fold(f64::INFINITY, f64::min)
            };
            for silo in silos() {
                let nearest_m = places().map(|at| off(&silo.footprint_m, at)).fold(f64::INFINITY, f64::min);
                assert!((19.9..27.0).contains(&nearest_m), "{}: {nearest_m}", silo.name);
            }
        }
    }
    let text = obliquity_exchange::write_scenario(document.scenario());
    let again = obliquity_exchange::parse_scenario(&text, "wrapped").unwrap();
    assert_eq!(again, **document.scenario(), "clusters survive the file");
}

/// Structures that stand together are taken as one and left out again on the screen of passes.
#[test]
fn structures_are_taken_together_in_the_window() {
    let mut scenario = with_canopy();
    let mut barn = scenario.site.structures[0].clone();
    (barn.id, barn.name) = (Id(3), "Barn".to_owned());
    barn.footprint_m.iter_mut().for_each(|corner| corner.y += 48.0);
    Arc::make_mut(&mut scenario.site).structures.push(barn);
    let mut document = Document::new(scenario, None);
    document.edit(&Edit::Strategy(Change::AddOnSite { template: SiteTemplate::FacadeWrap })).unwrap();
    let mut window = window((**document.scenario()).clone());
    let last = |window: &Window| window.state().document().scenario().strategies.last().unwrap().clone();
    assert_eq!(
        last(&window).passes[1].pattern.structures(),
        [Id(1), Id(3)],
        "8 m are too near to fly between"
    );
    let wrap = last(&window).id;
    window.state_mut().focus_on(wrap);
    window.run_ok();
    press_shifted(&mut window, Key::Y);
    window.get_by_label_contains("Pass 2: Facade round Shed and Barn").click();
    window.run_ok();
    click(&mut window, "Structures together of pass 2");
    click(&mut window, "Barn as one with the first of pass 2");
    assert_eq!(last(&window).passes[1].pattern.structures(), [Id(1)]);
    assert!(shows(&window, "Pass 2: Facade, all walls of Shed"));
    click(&mut window, "Barn as one with the first of pass 2");
    assert_eq!(last(&window).passes[1].pattern.structures(), [Id(1), Id(3)]);
    assert!(undo_label(&window).starts_with("Structure of pass 2"), "{}", undo_label(&window));
}

#[test]
fn every_pattern_can_be_added_to_one_strategy() {
    let scenario = with_canopy();
    let mut document = Document::new(scenario, None);
    for kind in PatternKind::ALL {
        let scenario = Arc::clone(document.scenario());
        let strategy = scenario.strategy(NADIR).unwrap();
        let pass = new_pass(&scenario, strategy, kind).unwrap();
        assert_eq!(pass.pattern.kind(), kind);
        let passes = added(&strategy.passes, None, pass);
        let what = format!("add {} pass of Nadir block", kind.name());
        document
            .edit(&Edit::Amend(Amendment { what: what.clone().into(), part: Part::Passes(NADIR, passes) }))
            .unwrap();
        assert_eq!(document.undo_label(), Some(what.as_str()));
        assert_eq!(document.scenario().faults(), Vec::new(), "after {what}");
    }
    let all: Vec<_> =
        document.scenario().strategy(NADIR).unwrap().passes.iter().map(|pass| pass.pattern.kind()).collect();
    assert_eq!(all[1..], PatternKind::ALL);
    while document.undo_label().is_some() {
        document.undo();
    }
    assert_eq!(**document.scenario(), with_canopy());
}

#[test]
fn a_gsd_that_leads_leads_new_passes_too() {
    let mut scenario = with_canopy();
    for pass in &mut scenario.strategies[0].passes {
        pass.distance = Distance::Gsd { cm: 1.5, above: Above::MeanGround };
    }
    for kind in PatternKind::ALL {
        let pass = new_pass(&scenario, &scenario.strategies[0], kind).unwrap();
        // Derived: walls and undersides begin from their own 4 cm, at most 20 m off, below the canopy as far as there is room.
        let expected = match kind {
            PatternKind::Facade | PatternKind::Underside => None,
            _ => Some(Distance::Gsd { cm: 1.5, above: Above::MeanGround }),
        };
        match expected {
            Some(distance) => assert_eq!(pass.distance, distance, "{kind:?}"),
            None => assert!(
                matches!(pass.distance, Distance::StandOff { m } if m <= 20.0),
                "{kind:?}: {:?}",
                pass.distance
            ),
        }
    }
}

#[test]
fn patterns_that_need_a_structure_say_so() {
    let mut scenario = made_up::scenario();
    let strategy = &scenario.strategies[0];
    let why = new_pass(&scenario, strategy, PatternKind::Underside).unwrap_err();
    assert!(why.contains("needs a deck"), "{why}");
    scenario.site = Arc::new(rectangle_site(&scenario.site, Rectangle::default()));
    let why = new_pass(&scenario, &scenario.strategies[0], PatternKind::Facade).unwrap_err();
    assert!(why.contains("needs a structure"), "{why}");
    let orbit = new_pass(&scenario, &scenario.strategies[0], PatternKind::Orbit).unwrap();
    let Pattern::Orbit(Orbit { around, .. }) = orbit.pattern else { panic!("an orbit") };
    assert!(matches!(around, OrbitCentre::Point { .. }), "a place can be gone round where nothing stands");
}

// Derived: by the rules of a list.
#[test]
fn passes_change_places() {
    let scenario = made_up::scenario();
    let list = &scenario.strategy(CROSSED).unwrap().passes;
    let ids = |passes: &[Pass]| passes.iter().map(|pass| pass.id.0).collect::<Vec<_>>();
    assert_eq!(ids(&moved(list, Id(21), Order::Earlier)), [21, 20]);
    assert_eq!(ids(&moved(list, Id(20), Order::Earlier)), [20, 21], "it is the first already");
    assert_eq!(ids(&moved(list, Id(20), Order::Later)), [21, 20]);
    assert_eq!(ids(&duplicated(list, Id(20), Id(99))), [20, 99, 21]);
    assert_eq!(ids(&removed(list, Id(20))), [21]);
    assert_eq!(ids(&removed(&list[..1], Id(20))), [20], "one pass stays");
}

#[test]
fn every_number_that_a_pass_shows_can_be_set_to_both_ends_of_its_range() {
    let scenario = with_canopy();
    let strategy = &scenario.strategies[0];
    for kind in PatternKind::ALL {
        let pass = new_pass(&scenario, strategy, kind).unwrap();
        let knobs = knob::OF_PASS.iter().flat_map(|group| group.knobs);
        for knob in knobs.filter(|knob| knob.applies(&pass)) {
            for value in [knob.range.least, knob.range.most] {
                let mut changed = pass.clone();
                knob.put(&mut changed, Some(value)).unwrap();
                assert_eq!(knob.read(&changed), Some(value), "{} of {kind:?}", knob.name);
                let mut scenario = scenario.clone();
                scenario.strategies[0].passes.push(changed);
                assert_eq!(scenario.faults(), Vec::new(), "{} of {kind:?} at {value}", knob.name);
            }
        }
        let numbers = || kind.about().numbers.iter().filter(|row| (row.get)(&pass.pattern).is_some());
        assert!(numbers().count() > 0, "{kind:?} has numbers");
        for (row, value) in numbers().flat_map(|row| [(row, row.range.least), (row, row.range.most)]) {
            let mut changed = pass.clone();
            (row.set)(&mut changed.pattern, value);
            assert_eq!((row.get)(&changed.pattern), Some(value), "{}", row.key);
            let mut scenario = scenario.clone();
            scenario.strategies[0].passes.push(changed);
            assert_eq!(scenario.faults(), Vec::new(), "{} at {value}", row.key);
        }
    }
}

#[test]
fn what_does_not_fit_is_refused_and_leaves_everything_as_it_was() {
    let mut document = Document::new(made_up::scenario(), None);
    let mut passes = document.scenario().strategy(NADIR).unwrap().passes.clone();
    passes[0].forward_overlap = 1.5;
    let edit = Edit::Amend(Amendment { what: "overlap".into(), part: Part::Passes(NADIR, passes) });
    let error = document.edit(&edit).unwrap_err();
    assert!(
        matches!(&error, EditError::Amend(AmendError::Fault(why)) if why.contains("forward overlap")),
        "{error}"
    );
    assert_eq!(**document.scenario(), made_up::scenario());
    let none = Edit::Amend(Amendment { what: "none".into(), part: Part::Passes(NADIR, Vec::new()) });
    assert!(document.edit(&none).unwrap_err().to_string().contains("at least one pass"));
}

#[test]
fn site_templates_are_offered_and_those_that_do_not_fit_say_why() {
    let yard = made_up::scenario();
    for offer in offers(&yard) {
        let why = offer.refusal.clone().unwrap_or_default();
        match offer.template {
            SiteTemplate::UndersideSections => assert!(why.contains("needs a deck"), "{why}"),
            _ => assert_eq!(offer.refusal, None, "{:?}", offer.template),
        }
    }
    assert!(offers(&with_canopy()).iter().all(|offer| offer.refusal.is_none()));
    let mut document = Document::new(with_canopy(), None);
    for template in SiteTemplate::ALL {
        document.edit(&Edit::Strategy(Change::AddOnSite { template })).unwrap();
        assert_eq!(document.undo_label(), Some(format!("add {}", template.name()).as_str()));
        assert_eq!(document.scenario().faults(), Vec::new());
        assert_eq!(document.scenario().strategies.last().unwrap().name, template.name());
    }
    // An underside keeps stand-offs only: strips that follow it still have a height or a GSD.
    let mut document = Document::new(with_canopy(), None);
    let template = SiteTemplate::UndersideSections;
    document.edit(&Edit::Strategy(Change::AddOnSite { template })).unwrap();
    document.edit(&Edit::Strategy(Change::Add { template: Template::NadirBlock })).unwrap();
    assert_eq!(document.scenario().faults(), Vec::new());
    let mut bare = Document::new(made_up::scenario(), None);
    let refused = bare.edit(&Edit::Strategy(Change::AddOnSite { template: SiteTemplate::UndersideSections }));
    assert!(refused.unwrap_err().to_string().contains("needs a deck"));
}

#[test]
fn the_menu_offers_the_site_templates() {
    let mut window = yard();
    press(&mut window, Key::Num6);
    assert_eq!(undo_label(&window), "add Facade wrap");
    click(&mut window, "Strategy");
    let underside = window.get_by_label_contains("Add underside sections");
    assert!(underside.accesskit_node().is_disabled(), "there is no deck");
}

#[test]
fn the_board_offers_them_too_and_leads_to_the_passes() {
    let mut window = yard();
    if !shows(&window, "Add Facade wrap") {
        click(&mut window, "Add a strategy");
    }
    let underside = window.get_by_label("Add Underside sections");
    assert!(underside.accesskit_node().is_disabled(), "there is no deck");
    assert!(shows(&window, "needs a deck to look up at"), "the reason stands below it");
    click(&mut window, "Add Facade wrap");
    // What comes in later would close the menu.
    crate::window::settle(&mut window);
    assert_eq!(undo_label(&window), "add Facade wrap");
    click(&mut window, "More for Facade wrap");
    click(&mut window, "Edit passes…");
    assert_eq!(window.state().screen_shown(), Screen::PASSES);
    assert!(shows(&window, "Pass 2: Facade, all walls of Shed"));
}

#[test]
fn a_mix_of_passes_is_made_and_edited_in_the_window() {
    let mut window = window(with_canopy());
    press_shifted(&mut window, Key::Y);
    assert_eq!(window.state().screen_shown(), Screen::PASSES);
    assert!(shows(&window, "(gimbal −90°)") || shows(&window, "Tilt of pass 1"));
    click(&mut window, "Add a pass");
    click(&mut window, "Add a pass of orbit");
    assert_eq!(undo_label(&window), "add orbit pass of Nadir block");
    assert!(shows(&window, "Pass 2: Orbit about Shed"));
    type_number(&mut window, "Rings of pass 2", "3");
    assert_eq!(undo_label(&window), "Rings of pass 2 of Nadir block");
    let Pattern::Orbit(Orbit { rings, .. }) = &passes(&window, NADIR)[1].pattern else { panic!("an orbit") };
    assert_eq!(rings.heights_m().len(), 3);
    choose(&mut window, "Around of pass 2", "a place");
    let Pattern::Orbit(Orbit { around, .. }) = passes(&window, NADIR)[1].pattern.clone() else {
        panic!("an orbit")
    };
    // Derived: the middle of the shed from (100, 80) to (160, 120).
    assert_eq!(around, OrbitCentre::Point { x_m: 130.0, y_m: 100.0 });
    click(&mut window, "Move up pass 2");
    assert_eq!(undo_label(&window), "move pass 2 up of Nadir block");
    assert_eq!(passes(&window, NADIR)[1].pattern.kind(), PatternKind::Strips);
    click(&mut window, "Duplicate pass 1");
    click(&mut window, "Remove pass 2");
    assert_eq!(passes(&window, NADIR).len(), 2);
    for _ in 0..6 {
        press(&mut window, Key::Z);
    }
    assert!(!window.state().document().is_changed(), "six steps: {}", undo_label(&window));
}

#[test]
fn strips_are_set_in_every_way() {
    let mut window = yard();
    press_shifted(&mut window, Key::Y);
    let strips = |window: &Window| passes(window, NADIR)[0].clone();
    choose(&mut window, "Strips run of pass 1", "set from north");
    type_number(&mut window, "Direction of pass 1", "35");
    choose(&mut window, "Strip placement of pass 1", "Edge to edge");
    choose(&mut window, "Begin at of pass 1", "other side");
    choose(&mut window, "Set by of pass 1", "GSD");
    type_number(&mut window, "GSD of pass 1", "1.5");
    choose(&mut window, "Height above of pass 1", "ground below");
    assert!(shows(&window, "keeps up with rises of"), "how well it follows is said");
    type_number(&mut window, "Tilt of pass 1", "30");
    choose(&mut window, "Heading of pass 1", "to the compass");
    type_number(&mut window, "Offset of pass 1", "90");
    click(&mut window, "Set the speed limit of pass 1");
    type_number(&mut window, "Speed limit of pass 1", "4");
    click(&mut window, "Set the margin of pass 1");
    type_number(&mut window, "Margin of pass 1", "25");
    type_number(&mut window, "Forward overlap of pass 1", "85");
    let pass = strips(&window);
    let Pattern::Strips(Strips { direction, begin, .. }) = pass.pattern else { panic!("strips") };
    assert_eq!(direction, StripDirection::FromNorth { deg: 35.0 });
    assert_eq!(begin, BeginAt::OtherSide);
    assert_eq!(pass.distance, Distance::Gsd { cm: 1.5, above: Above::Ground });
    assert_eq!((pass.attitudes[0].tilt_deg, pass.attitudes[0].aim), (30.0, Aim::FromNorth { deg: 90.0 }));
    assert_eq!((pass.speed_mps, pass.margin_m, pass.forward_overlap), (Some(4.0), Some(25.0), 0.85));
    click(&mut window, "Set the margin of pass 1");
    assert_eq!(strips(&window).margin_m, None);
    click(&mut window, "Add an attitude of pass 1");
    assert_eq!(strips(&window).attitudes.len(), 2);
    assert!(shows(&window, "Tilt 2 of pass 1"));
    assert_eq!(window.state().document().scenario().faults(), Vec::new());
}

#[test]
fn a_pass_that_cannot_be_flown_says_why() {
    let mut window = window(with_canopy());
    press(&mut window, Key::Num7);
    press_shifted(&mut window, Key::Y);
    assert!(shows(&window, "Left out: the gimbal stops at"), "the reason stands beside the pass");
    type_number(&mut window, "Sections of pass 1", "2");
    assert_eq!(undo_label(&window), "Sections of pass 1 of Underside sections");
}

#[test]
fn walls_are_chosen_one_by_one() {
    let mut window = yard();
    press(&mut window, Key::Num6);
    press_shifted(&mut window, Key::Y);
    window.get_by_label_contains("Pass 2: Facade").click();
    window.run_ok();
    click(&mut window, "All walls of pass 2");
    click(&mut window, "Wall 2 of pass 2");
    let facade = window.state().document().scenario().strategies.last().unwrap().passes[1].clone();
    let Pattern::Facade(Facade { walls, .. }) = facade.pattern else { panic!("a facade") };
    assert_eq!(walls, Some(vec![0, 2, 3]));
}

#[test]
fn stations_are_added_and_read_from_an_export_in_the_window() {
    let folder = tempfile::tempdir().unwrap();
    let mut window = yard();
    press(&mut window, Key::Num9);
    assert_eq!(undo_label(&window), "add Listed stations");
    press_shifted(&mut window, Key::Y);
    assert!(shows(&window, "Listed stations, 4"));
    assert!(shows(&window, "Every station has a heading and a tilt of its own."));
    let text = "pass,index,time_s,x_m,y_m,z_m,heading_deg,tilt_deg,roll_deg\n\
                1,0,12.5,20,30,80,90,45,0\n1,1,14,40,30,80,90,45,0\n1,2,,60,30,80,90,45,0\n";
    drop_table(&mut window, folder.path(), text);
    let pass = window.state().document().scenario().strategies.last().unwrap().passes[0].clone();
    let Pattern::Listed(listed) = pass.pattern else { panic!("listed stations") };
    let places: Vec<f64> = listed.stations.iter().map(|station| station.position_m.x).collect();
    assert_eq!(places, [20.0, 40.0, 60.0]);
    assert_eq!(undo_label(&window), "stations of Listed stations");
    assert!(shows(&window, "Listed stations, 3"));
}

#[test]
fn a_corridor_is_read_from_a_table_and_a_wrong_one_changes_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let mut window = yard();
    press(&mut window, Key::Num8);
    press_shifted(&mut window, Key::Y);
    assert!(shows(&window, "Read from a file pass 1"));
    let corridor = |window: &Window| {
        let pass = window.state().document().scenario().strategies.last().unwrap().passes[0].clone();
        let Pattern::Corridor(corridor) = pass.pattern else { panic!("a corridor") };
        corridor
    };
    drop_table(&mut window, folder.path(), "name,x_m,y_m\nroad,5,6\n,80.5,70\n");
    let read = corridor(&window).line_m;
    assert_eq!(read, [glam::DVec2::new(5.0, 6.0), glam::DVec2::new(80.5, 70.0)]);
    assert_eq!(undo_label(&window), "corners of the line of Corridor");
    drop_table(&mut window, folder.path(), "x_m,y_m\n1,2\n3,four\n");
    assert!(shows(&window, "rows.csv:3:3: y_m must be a number"));
    assert_eq!(corridor(&window).line_m, read);
}

#[test]
fn a_corridor_has_its_corners_by_coordinates() {
    let mut window = yard();
    press(&mut window, Key::Num8);
    press_shifted(&mut window, Key::Y);
    type_number(&mut window, "East of corner 1 of the line of pass 1", "5");
    click(&mut window, "Add a corner after corner 1 of the line of pass 1");
    type_number(&mut window, "North of corner 2 of the line of pass 1", "140");
    type_number(&mut window, "Corridor width of pass 1", "60");
    let corridor = window.state().document().scenario().strategies.last().unwrap().passes[0].clone();
    let Pattern::Corridor(Corridor { line_m, width_m, .. }) = corridor.pattern else { panic!("a corridor") };
    assert_eq!((line_m.len(), line_m[0].x, line_m[1].y, width_m), (3, 5.0, 140.0, 60.0));
    assert_eq!(undo_label(&window), "Corridor width of pass 1 of Corridor");
}

#[test]
fn one_gesture_is_one_step() {
    let mut window = yard();
    press_shifted(&mut window, Key::Y);
    let area = window.get_by_label("Height of pass 1").rect();
    window.drag_at(area.center());
    window.run_ok();
    for step in 1..6_u8 {
        window.hover_at(area.center() + egui::vec2(10.0 * f32::from(step), 0.0));
        window.run_ok();
    }
    window.drop_at(area.center() + egui::vec2(60.0, 0.0));
    window.run_ok();
    let Distance::Height { m, .. } = passes(&window, NADIR)[0].distance else { panic!("a height") };
    assert!(m > 80.0, "it was dragged upward: {m}");
    assert_eq!(undo_label(&window), "Height of pass 1 of Nadir block");
    press(&mut window, Key::Z);
    assert!(!window.state().document().is_changed());
}

#[test]
fn what_is_held_equal_stays_equal() {
    let mut window = window(with_canopy());
    press(&mut window, Key::Num6);
    window.state_mut().hold(Some(obliquity_planning::Hold::Height));
    window.run_ok();
    window.state_mut().focus_on(NADIR);
    press_shifted(&mut window, Key::Y);
    type_number(&mut window, "Height of pass 1", "64");
    let scenario = Arc::clone(window.state().document().scenario());
    for pass in scenario.strategies.iter().flat_map(|strategy| &strategy.passes) {
        if pass.pattern.kind().flies_over() {
            assert_eq!(
                pass.distance,
                Distance::Height { m: 64.0, above: Above::MeanGround },
                "{:?}",
                pass.id
            );
        }
    }
    assert_eq!(scenario.faults(), Vec::new(), "a facade keeps its stand-off");
}

#[test]
fn another_site_leaves_passes_at_its_structures_behind() {
    let mut document = Document::new(with_canopy(), None);
    for template in [SiteTemplate::FacadeWrap, SiteTemplate::UndersideSections] {
        document.edit(&Edit::Strategy(Change::AddOnSite { template })).unwrap();
    }
    let before = Arc::clone(document.scenario());
    let site = Arc::new(rectangle_site(&document.scenario().site, Rectangle::default()));
    document.edit(&Edit::ReplaceSite { site, frame: SiteFrame::Another, mission: None }).unwrap();
    let scenario = document.scenario();
    assert_eq!(scenario.faults(), Vec::new());
    let names: Vec<&str> = scenario.strategies.iter().map(|strategy| strategy.name.as_str()).collect();
    assert_eq!(names[3..], ["Facade wrap"], "its nadir block is left; of the underside nothing is");
    document.undo();
    assert!(Arc::ptr_eq(document.scenario(), &before));
}

#[test]
fn an_aircraft_stops_to_expose_where_asked() {
    let mut window = window(made_up::scenario());
    press_shifted(&mut window, Key::Y);
    let flying_s = |window: &Window| {
        window.get_by_label_contains("Flight time: ").accesskit_node().label().unwrap_or_default()
    };
    let before = flying_s(&window);
    click(&mut window, "Set the stop to expose of pass 1");
    type_number(&mut window, "Stop to expose of pass 1", "2.5");
    assert_eq!(passes(&window, NADIR)[0].hover_s, Some(2.5));
    assert_eq!(undo_label(&window), "Stop to expose of pass 1 of Nadir block");
    assert_ne!(flying_s(&window), before, "stops take time");
    click(&mut window, "Set the stop to expose of pass 1");
    assert_eq!(passes(&window, NADIR)[0].hover_s, None);
    assert_eq!(flying_s(&window), before);
}

#[test]
fn the_flying_order_is_chosen_and_told() {
    let mut window = window(made_up::scenario());
    window.state_mut().focus_on(CROSSED);
    press_shifted(&mut window, Key::Y);
    assert!(shows(&window, "Flown: pass "));
    click(&mut window, "Flying order: as listed");
    let order = |window: &Window| window.state().document().scenario().strategy(CROSSED).unwrap().order;
    assert_eq!(order(&window), FlyingOrder::AsListed);
    assert_eq!(undo_label(&window), "flying order of Crossed strips");
    assert!(shows(&window, "Flown: pass 1, then 2."));
    press(&mut window, Key::Z);
    assert_eq!(order(&window), FlyingOrder::Quickest);
}

/// Derived: on a site of 300 by 200 m strips along a strong wind are slower than strips across it, by far.
#[test]
fn strips_along_the_wind_are_turned_on_request() {
    let mut scenario = made_up::scenario();
    scenario.conditions.wind = Wind { speed_mps: 7.0, from_deg: Some(90.0) };
    let direction = StripDirection::FromNorth { deg: 90.0 };
    if let Pattern::Strips(Strips { direction: present, .. }) = &mut scenario.strategies[0].passes[0].pattern
    {
        *present = direction;
    }
    let mut window = window(scenario);
    press_shifted(&mut window, Key::Y);
    click(&mut window, "Try strip directions for Nadir block");
    assert!(shows(&window, "Nadir block saves "));
    click(&mut window, "Turn the strips of Nadir block");
    assert_eq!(undo_label(&window), "strip direction of Nadir block");
    let Pattern::Strips(Strips { direction: StripDirection::FromNorth { deg }, .. }) =
        passes(&window, NADIR)[0].pattern
    else {
        panic!("the pattern changed")
    };
    assert_ne!(deg, 90.0);
    assert!(!shows(&window, "Nadir block saves "), "what was found belongs to the strips before");
    click(&mut window, "Try strip directions for Nadir block");
    assert!(shows(&window, "as they are"));
    press(&mut window, Key::Z);
    assert!(!window.state().document().is_changed());
}

/// Derived: crossed strips whose second pass is begun at the corner farthest from the take-off point are flown quicker from
/// another one; what is found is taken as one step that undo brings back.
#[test]
fn passes_are_begun_at_other_corners_on_request() {
    let mut scenario = made_up::scenario();
    let crossed = scenario.strategies.iter().position(|strategy| strategy.id == CROSSED).unwrap();
    for pass in &mut scenario.strategies[crossed].passes {
        if let Pattern::Strips(Strips { begin, .. }) = &mut pass.pattern {
            *begin = BeginAt::OppositeCorner;
        }
    }
    let mut window = window(scenario);
    window.state_mut().focus_on(CROSSED);
    press_shifted(&mut window, Key::Y);
    let corners = |window: &Window| -> Vec<BeginAt> {
        let begin = |pass: &Pass| match pass.pattern {
            Pattern::Strips(Strips { begin, .. }) => begin,
            _ => panic!("strips"),
        };
        passes(window, CROSSED).iter().map(begin).collect()
    };
    let before = corners(&window);
    click(&mut window, "Try other corners for Crossed strips");
    let found = (0..2000).any(|_| {
        std::thread::sleep(std::time::Duration::from_millis(10));
        window.run_ok();
        shows(&window, "Crossed strips saves ")
    });
    assert!(found, "the advice comes");
    assert!(shows(&window, "begun at its") && shows(&window, "Coverage"));
    click(&mut window, "Begin Crossed strips at the other corners");
    assert_eq!(undo_label(&window), "corners of Crossed strips");
    assert_ne!(corners(&window), before);
    assert!(!shows(&window, "Crossed strips saves "), "what was found belongs to the corners before");
    press(&mut window, Key::Z);
    assert_eq!(corners(&window), before);
    assert!(!window.state().document().is_changed());
}

#[test]
fn without_wind_no_direction_is_advised() {
    let mut scenario = made_up::scenario();
    scenario.conditions.wind = Wind::STILL;
    let mut window = window(scenario);
    press_shifted(&mut window, Key::Y);
    assert!(shows(&window, "No wind: direction makes no difference"));
}

/// Derived: nor while nobody says where the wind comes from; one word does, and it can be tried.
#[test]
fn no_direction_is_advised_until_the_winds_is_given() {
    let mut scenario = made_up::scenario();
    let mut unknown = window(scenario.clone());
    press_shifted(&mut unknown, Key::Y);
    assert!(shows(&unknown, "Wind direction unknown: set it"));
    assert!(!shows(&unknown, "Try strip directions"));
    scenario.conditions.wind.from_deg = Some(90.0);
    let mut known = window(scenario);
    press_shifted(&mut known, Key::Y);
    assert!(shows(&known, "Try strip directions"));
}
