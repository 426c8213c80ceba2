//! What the templates that need the site go round, how far off, and what they take as one.

#![expect(clippy::expect_used, reason = "a test ends at the first surprise")]

use crate::generate::{self, Dice};
use crate::scene::{aircraft, level_site, tower};
use glam::DVec2;
use obliquity_planning::*;
use std::f64::consts::TAU;

const DISTANCE: Distance = Distance::Gsd { cm: 2.0, above: Above::MeanGround };

fn made(template: SiteTemplate, site: &Site, gsd_cm: &ByClass<f64>) -> Strategy {
    let aircraft = aircraft();
    let start = TemplateStart { first_id: Id(50), aircraft: &aircraft, distance: DISTANCE, gsd_cm };
    template.strategy(site, &SiteChoice::default(), &start).expect("the template fits")
}

fn usual() -> ByClass<f64> {
    Requirement::default().gsd_cm
}

fn silo(id: u32, at_m: DVec2, radius_m: f64, height_m: f64) -> Structure {
    let around = (0..16).map(|k| at_m + DVec2::from_angle(f64::from(k) * TAU / 16.0) * radius_m);
    let footprint_m = around.collect();
    Structure { id: Id(id), name: format!("Silo {id}"), footprint_m, ..tower((0., 0.), (1., 1.), height_m) }
}

/// Six silos in two rows, 26 m from middle to middle, a tower 150 m away, a long shed of a third of their height.
fn terminal() -> Site {
    let mut site = level_site(&[(-200.0, -150.0), (250.0, -150.0), (250.0, 150.0), (-200.0, 150.0)]);
    let place = |k: u32| DVec2::new(-100.0 + 26.0 * f64::from(k % 3), 26.0 * f64::from(k / 3));
    site.structures = (0..6).map(|k| silo(1 + k, place(k), 10.5, 38.0)).collect();
    site.structures.push(Structure { id: Id(7), ..tower((120.0, 0.0), (135.0, 15.0), 30.0) });
    site.structures.push(Structure { id: Id(8), ..tower((-60.0, -90.0), (40.0, -60.0), 12.0) });
    site
}

fn patterns(strategy: &Strategy) -> impl Iterator<Item = &Pattern> {
    strategy.passes.iter().map(|pass| &pass.pattern)
}

/// Derived: of 38, 30 and 12 m the first two are half as high as the tallest; gaps of 5 m are narrower than 20 m of stand-off
/// and 5 m of clearance, one of 140 m is wider.
#[test]
fn a_facade_wrap_goes_round_every_tall_structure_and_clusters_once() {
    let wrap = made(SiteTemplate::FacadeWrap, &terminal(), &usual());
    let subjects: Vec<Vec<u32>> = patterns(&wrap)
        .filter(|pattern| pattern.kind() == PatternKind::Facade)
        .map(|pattern| {
            let mut ids: Vec<u32> = pattern.structures().iter().map(|id| id.0).collect();
            ids.sort_unstable();
            ids
        })
        .collect();
    assert_eq!(subjects, [vec![1, 2, 3, 4, 5, 6], vec![7]]);
    assert!(matches!(wrap.passes[0].pattern, Pattern::Strips(_)), "the nadir block comes first");
}

/// Derived: 4 cm with f = 3648 px would be 146 m off, 20 m is the most; 0.3 cm is 10.9 m.
#[test]
fn a_facade_wrap_starts_from_the_walls_gsd_and_at_most_20_m_off() {
    let led = |wall_cm: f64| {
        let wrap = made(SiteTemplate::FacadeWrap, &terminal(), &ByClass { wall: wall_cm, ..usual() });
        wrap.passes[1].distance
    };
    assert_eq!(led(4.0), Distance::StandOff { m: 20.0 });
    assert_eq!(led(0.3), Distance::Gsd { cm: 0.3, above: Above::MeanGround });
}

fn gap_m(ring: &[DVec2], at: DVec2) -> f64 {
    polygon::gap_m(ring, &[at])
}

/// Derived: every station stands 20 m before the side of the hull that it looks at, so no nearer than 20 m to any silo and
/// no farther than 20 m and what the corners reach out from the ring.
#[test]
fn rows_round_a_cluster_keep_their_distance_from_all_of_it() {
    let site = terminal();
    let outline = SiteOutline::new(&site).expect("sound");
    let wrap = made(SiteTemplate::FacadeWrap, &site, &usual());
    let plan = plan_pass(&wrap.passes[1], &aircraft(), &outline, &Conditions::default()).expect("laid out");
    assert!(plan.stations.poses.len() > 100);
    let cluster = outline.group(&wrap.passes[1].pattern.structures()).expect("all are there");
    let walls_m = cluster.walls_m();
    assert!(walls_m.len() <= 8, "round corners are eased: {}", walls_m.len());
    for pose in &plan.stations.poses {
        let at = pose.position_m.truncate();
        let nearest_m =
            site.structures[..6].iter().map(|s| gap_m(&s.footprint_m, at)).fold(f64::INFINITY, f64::min);
        assert!(nearest_m > 20.0 - 1e-6, "{nearest_m}");
        let axis = DVec2::new(pose.heading_rad.sin(), pose.heading_rad.cos());
        let faces = |a: DVec2, b: DVec2| {
            let outward = -(b - a).normalize().perp();
            outward.dot(axis) < -1.0 + 1e-9 && ((at - a).dot(outward) - 20.0).abs() < 1e-6
        };
        let sides = walls_m.iter().zip(walls_m.iter().cycle().skip(1));
        assert!(sides.into_iter().any(|(a, b)| faces(*a, *b)), "{pose:?}");
    }
    // all around: no azimuth sector of 30° from the middle is without a station
    let middle = polygon::centroid_m(&cluster.footprint_m);
    let mut seen = [false; 12];
    for pose in &plan.stations.poses {
        let way = pose.position_m.truncate() - middle;
        seen[((way.y.atan2(way.x) / TAU + 0.5) * 12.0) as usize % 12] = true;
    }
    assert!(seen.iter().all(|seen| *seen), "{seen:?}");
}

/// Derived: one ring about the silos (the tower lies within its reach of 73 m, 5 m and the circle, or has its own).
#[test]
fn an_orbit_goes_round_a_cluster_once() {
    let site = terminal();
    let orbits = made(SiteTemplate::NadirBlockWithOrbits, &site, &usual());
    let around: Vec<usize> = patterns(&orbits)
        .filter(|pattern| pattern.kind() == PatternKind::Orbit)
        .map(|pattern| pattern.structures().len())
        .collect();
    assert_eq!(around, [6, 1]);
}

/// Derived: what is drawn: every tall structure is gone round by exactly one pass; groups of rows are farther apart than
/// stand-off and clearance; no ring comes near to, or holds, what another one goes round; every pass is sound.
#[test]
fn drawn_sites_are_gone_round_once() {
    let (mut clusters, mut several) = (0, 0);
    for seed in 0..150 {
        let scenario = generate::scenario(seed);
        let outline = SiteOutline::new(&scenario.site).expect("sound");
        let of_own: Vec<&OutlineStructure> = outline.structures.iter().filter(|s| s.id.is_some()).collect();
        let start = TemplateStart {
            first_id: Id(5000),
            aircraft: &scenario.equipment.aircraft[0],
            distance: DISTANCE,
            gsd_cm: &scenario.requirement.gsd_cm,
        };
        for template in [SiteTemplate::FacadeWrap, SiteTemplate::NadirBlockWithOrbits] {
            let Ok(strategy) = template.strategy(&scenario.site, &SiteChoice::default(), &start) else {
                continue;
            };
            let groups: Vec<(OutlineStructure, &Pass)> = strategy.passes[1..]
                .iter()
                .map(|pass| (outline.group(&pass.pattern.structures()).expect("all are there"), pass))
                .collect();
            let mut ids: Vec<Id> =
                strategy.passes.iter().flat_map(|pass| pass.pattern.structures()).collect();
            let count = ids.len();
            ids.sort_unstable();
            ids.dedup();
            assert_eq!(ids.len(), count, "seed {seed}: none twice");
            let stands = |s: &&&OutlineStructure| {
                s.soffit_z_m.is_none() && polygon::rings_meet(&s.footprint_m, &outline.boundary_m)
            };
            let high = |s: &OutlineStructure| s.top_z_m - s.base_z_m;
            let tallest_m = of_own.iter().filter(stands).map(|s| high(s)).fold(0.0, f64::max);
            let tall = |s: &&&OutlineStructure| stands(s) && high(s) >= 6.0 && high(s) >= 0.5 * tallest_m;
            let complete = template == SiteTemplate::FacadeWrap || groups.len() < 4;
            for one in of_own.iter().filter(tall).filter(|_| complete) {
                assert!(ids.contains(&one.id.expect("its own")), "seed {seed}: {} is tall", one.name);
            }
            for (k, (a, pass)) in groups.iter().enumerate() {
                let stand_off_m = match pass.distance {
                    Distance::StandOff { m } | Distance::Height { m, .. } => m,
                    Distance::Gsd { cm, .. } => cm / 100.0 * start.aircraft.camera.model().focal_length_px,
                };
                let reach_m = stand_off_m + 5.0_f64.min(stand_off_m);
                clusters += usize::from(pass.pattern.structures().len() > 1);
                for (j, (b, _)) in groups.iter().enumerate().filter(|(j, _)| *j != k) {
                    several += 1;
                    let apart_m = if pass.pattern.kind() == PatternKind::Facade {
                        polygon::gap_m(&a.footprint_m, &b.footprint_m)
                    } else {
                        let (middle_m, circle_m) = polygon::circle_m(&a.footprint_m);
                        gap_m(&b.footprint_m, middle_m) - circle_m
                    };
                    assert!(apart_m > reach_m - 1e-6, "seed {seed}: {k} and {j} are {apart_m} m apart");
                }
            }
            let scenario = Scenario { strategies: vec![strategy], reference: None, ..scenario.clone() };
            assert_eq!(scenario.faults(), Vec::new(), "seed {seed}");
        }
    }
    assert!(clusters > 20 && several > 20, "{clusters} clusters, {several} pairs");
}

/// Derived: below a deck the stand-off starts from the underside's GSD, from 20 m and from what room there is: a soffit at
/// 12 m less 3 m of clearance from the ground leaves 9 m.
#[test]
fn an_underside_starts_as_far_off_as_there_is_room() {
    let mut site = level_site(&[(-100.0, -50.0), (100.0, -50.0), (100.0, 50.0), (-100.0, 50.0)]);
    let deck = StructureKind::Deck { soffit_m: 12.0, top_m: 13.0, piers: Vec::new() };
    site.structures = vec![Structure { kind: deck, ..tower((-60.0, -8.0), (60.0, 8.0), 1.0) }];
    let led = |cm: f64| {
        made(SiteTemplate::UndersideSections, &site, &ByClass { underside: cm, ..usual() }).passes[0].distance
    };
    assert_eq!(led(4.0), Distance::StandOff { m: 9.0 });
    assert_eq!(led(0.2), Distance::Gsd { cm: 0.2, above: Above::MeanGround });
}

/// Derived: an eased ring holds the hull, has no more sides, lies no farther out than allowed, is convex, and every side
/// lies on one of the hull's.
#[test]
fn eased_rings_hold_their_hull() {
    let mut dice = Dice::new(11);
    for _ in 0..400 {
        let corners = dice.whole(3, 24);
        let hull = polygon::hull_m(generate::star(&mut dice, corners, DVec2::new(30.0, -70.0), [4.0, 40.0]));
        let most_m = dice.within(0.1, 6.0);
        let eased = polygon::eased_m(&hull, most_m);
        assert!(eased.len() >= 3 && eased.len() <= hull.len());
        assert!(polygon::signed_area_m2(&eased) >= polygon::signed_area_m2(&hull) - 1e-6);
        for at in &eased {
            assert!(gap_m(&hull, *at) <= most_m + 1e-9);
        }
        for (a, b) in eased.iter().zip(eased.iter().cycle().skip(1)) {
            let along = (*b - *a).normalize();
            let left_m = |at: &DVec2| along.perp_dot(*at - *a);
            assert!(hull.iter().all(|at| left_m(at) > -1e-6), "the hull lies inside");
            let touching = hull.iter().filter(|at| left_m(at).abs() < 1e-6).count();
            assert!(touching >= 2, "each side lies on one of the hull's");
        }
    }
}

/// Derived: what is left of a pattern when structures go.
#[test]
fn a_pattern_is_flown_at_what_is_left_of_its_structures() {
    let wrap = made(SiteTemplate::FacadeWrap, &terminal(), &usual());
    let cluster = &wrap.passes[1].pattern;
    let left = cluster.at_those(|id| id != Id(1)).expect("five are left");
    assert_eq!(left.structures().len(), 5);
    assert_eq!(cluster.at_those(|_| false), None);
    assert_eq!(wrap.passes[0].pattern.at_those(|_| false), Some(wrap.passes[0].pattern.clone()));
    let orbits = made(SiteTemplate::NadirBlockWithOrbits, &terminal(), &usual());
    let left = orbits.passes[1].pattern.at_those(|id| id == Id(2)).expect("one is left");
    assert!(matches!(left, Pattern::Orbit(Orbit { around: OrbitCentre::Structure(Id(2)), .. })), "{left:?}");
}

/// Derived: structures that are named twice, or are not there, or a wall that the ring round them has not.
#[test]
fn clusters_that_make_no_sense_are_faults() {
    let site = terminal();
    let mut scenario = crate::scene::scenario(site, 73.0);
    let wrap = made(SiteTemplate::FacadeWrap, &scenario.site, &usual());
    let faults = |change: &dyn Fn(&mut Pattern)| {
        let mut strategy = wrap.clone();
        change(&mut strategy.passes[1].pattern);
        let scenario = Scenario { strategies: vec![strategy], ..scenario.clone() };
        scenario.faults().into_iter().map(|f| format!("{}: {}", f.path, f.message)).collect::<Vec<_>>()
    };
    let others = |ids: Vec<Id>| {
        move |pattern: &mut Pattern| {
            if let Pattern::Facade(Facade { others, .. }) = pattern {
                others.clone_from(&ids);
            }
        }
    };
    assert!(faults(&others(vec![Id(2), Id(2)]))[0].contains("comes again"));
    assert!(faults(&others(vec![Id(99)]))[0].contains("has the id 99"));
    let told = faults(&|pattern| {
        if let Pattern::Facade(Facade { walls, .. }) = pattern {
            *walls = Some(vec![8]);
        }
    });
    assert!(told[0].contains("the hull, 0 to"), "{told:?}");
    let told = faults(&|pattern| {
        *pattern = Pattern::Orbit(Orbit {
            around: OrbitCentre::Structures(Vec::new()),
            radius: OrbitRadius::StandOff,
            rings: Rings::Evenly { count: 1, lowest_m: 80.0, step_m: 10.0 },
            target_height_m: 10.0,
        });
    });
    assert!(told[0].contains("at least one structure"), "{told:?}");
    scenario.strategies.clear();
}

/// Derived: another cluster is another route: what is kept for the one is not taken for the other.
#[test]
fn clusters_are_told_apart_by_the_store() {
    let mut scenario = crate::scene::scenario(terminal(), 73.0);
    scenario.strategies = vec![made(SiteTemplate::FacadeWrap, &scenario.site, &usual())];
    let store = Store::new(1 << 26);
    let flown = |scenario: &Scenario, store: &Store| {
        let evaluator = Evaluator { store, watch: &NoWatch };
        let outcome = evaluator.evaluate(scenario, Id(50), Depth::Quick).expect("evaluated");
        outcome.load.expect("it can be flown").image_count
    };
    let first = flown(&scenario, &store);
    if let Pattern::Facade(Facade { others, .. }) = &mut scenario.strategies[0].passes[1].pattern {
        others.pop();
    }
    let second = flown(&scenario, &store);
    assert_ne!(first, second);
    assert_eq!(second, flown(&scenario, &Store::new(0)));
}
