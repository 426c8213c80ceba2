//! Motion blur, found out by projecting points at both ends of the exposure.

use crate::generate::{self, Dice};
use crate::scene::{level_site, outcome, ring, scenario, tower};
use glam::{DVec2, DVec3};
use obliquity_planning::*;
use std::sync::Arc;

/// Longest motion in any frame of a pass, in pixels: points of the surfaces that it looks at, projected from both ends of
/// the exposure.
fn longest_px(
    scenario: &Scenario,
    plan: &PassPlan,
    pass: &Pass,
    exposure_s: f64,
    aircraft: &Aircraft,
) -> f64 {
    let outline = SiteOutline::new(&scenario.site).expect("can be worked out");
    let points = points(&outline, pass);
    let airframe_mps = aircraft.airframe.top_speed_mps;
    let mut longest = 0.0_f64;
    let mut number = 0;
    for leg in plan.legs.iter().filter(|leg| leg.standing.is_none()) {
        for stop in &leg.stops {
            number += 1;
            // Every exposure of a short pass, some of a long one.
            if number % (plan.stations.poses.len() / 60 + 1) != 0 {
                continue;
            }
            let pose = plan.stations.poses[stop.station as usize];
            let along = direction(leg, stop.along_m) * leg.speed_mps.min(airframe_mps) * exposure_s / 2.0;
            let [before, after] = [-1.0, 1.0].map(|sign| {
                let position_m = pose.position_m + along * sign;
                PosedCamera::new(plan.stations.camera, &Pose { position_m, ..pose })
            });
            let edge = seen(plan, pass, &outline, &pose);
            for point in points.iter().chain(&edge) {
                let (Some(a), Some(b)) = (before.project(*point), after.project(*point)) else { continue };
                let framed = plan.stations.camera.contains(a) && plan.stations.camera.contains(b);
                longest = if framed { longest.max(a.distance(b)) } else { longest };
            }
        }
    }
    longest
}

fn direction(leg: &Leg, along_m: f64) -> DVec3 {
    let mut left_m = along_m;
    for (a, b) in leg.pieces_m() {
        left_m -= a.distance(b);
        if left_m <= 1e-9 {
            return (b - a).normalize();
        }
    }
    (leg.to_m - leg.from_m).normalize()
}

/// Ground inside the boundary with the roofs there, or a soffit.
fn points(outline: &SiteOutline, pass: &Pass) -> Vec<DVec3> {
    let lattice = |ring: &[DVec2], z: &dyn Fn(DVec2) -> f64| {
        let (low, high) = (
            ring.iter().copied().reduce(DVec2::min).expect("it is there"),
            ring.iter().copied().reduce(DVec2::max).expect("it is there"),
        );
        let at = |k: u32| low + (high - low) * DVec2::new(f64::from(k % 40), f64::from(k / 40)) / 39.0;
        let inside = (0..1600).map(at).filter(|at| polygon::contains(ring, *at));
        inside.map(|at| at.extend(z(at))).collect::<Vec<DVec3>>()
    };
    match &pass.pattern {
        Pattern::Strips(_) | Pattern::Corridor(_) => {
            let mut all = lattice(&outline.boundary_m, &|at| outline.terrain.height_m(at));
            for structure in &outline.structures {
                let within = outline.footprints_m.contains(&structure.footprint_m);
                all.extend(
                    structure.footprint_m.iter().filter(|_| within).map(|at| at.extend(structure.top_z_m)),
                );
            }
            all
        }
        Pattern::Underside(Underside { structure, .. }) => {
            let structure =
                outline.structures.iter().find(|s| s.id == Some(*structure)).expect("it is there");
            let z = structure.soffit_z_m.expect("it is there");
            lattice(&structure.footprint_m, &|_| z)
        }
        _ => Vec::new(),
    }
}

/// Where rays just inside the frame's border meet the ground inside the boundary, of a pass that flies over it; or places
/// all over the wall that a facade pass looks at squarely, on the wall itself.
fn seen(plan: &PassPlan, pass: &Pass, outline: &SiteOutline, pose: &Pose) -> Vec<DVec3> {
    if let Pattern::Facade(Facade { structure, .. }) = &pass.pattern {
        let structure = outline.structures.iter().find(|s| s.id == Some(*structure)).expect("it is there");
        return faced_wall(structure, pose, plan.layout.stand_off_m.expect("it is there"));
    }
    if !pass.pattern.kind().flies_over() {
        return Vec::new();
    }
    let camera = PosedCamera::new(plan.stations.camera, pose);
    let half = plan.stations.camera.half_extent() * 0.995;
    let sides = (-4..=4).flat_map(|k| {
        let share = f64::from(k) / 4.0;
        [(-1.0, share), (1.0, share), (share, -1.0), (share, 1.0)]
    });
    let meets = |(x, y): (f64, f64)| {
        let ray = camera.ray(DVec2::new(x, y) * half);
        // By halving: above the ground at the camera, below it far along the ray.
        let above = |m: f64| {
            let at = camera.centre_m + ray * m;
            at.z - outline.terrain.height_m(at.truncate())
        };
        let mut far = 1.0;
        while above(far) > 0.0 {
            far *= 1.05;
            if far > 2000.0 {
                return None;
            }
        }
        let (mut near, mut far) = (far / 1.05, far);
        for _ in 0..50 {
            let middle = f64::midpoint(near, far);
            if above(middle) > 0.0 { near = middle } else { far = middle }
        }
        let at = camera.centre_m + ray * near;
        polygon::contains(&outline.boundary_m, at.truncate()).then_some(at)
    };
    sides.filter_map(meets).collect()
}

fn faced_wall(structure: &OutlineStructure, pose: &Pose, stand_off_m: f64) -> Vec<DVec3> {
    let ring = &structure.footprint_m;
    let axis = DVec2::new(pose.heading_rad.sin(), pose.heading_rad.cos());
    let at = pose.position_m.truncate();
    let faced = |(a, b): &(DVec2, DVec2)| {
        let outward = -(*b - *a).normalize().perp();
        outward.dot(axis) < -0.9999 && ((at - *a).dot(outward) - stand_off_m).abs() < 1e-6
    };
    let walls = (0..ring.len()).map(|k| (ring[k], ring[(k + 1) % ring.len()])).filter(faced);
    let share = |k: u32| (f64::from(k % 41) / 40.0, f64::from(k / 41) / 20.0);
    let places = |(a, b): (DVec2, DVec2)| {
        let z = |up: f64| structure.base_z_m + up * (structure.top_z_m - structure.base_z_m);
        (0..41 * 21).map(share).map(move |(along, up)| a.lerp(b, along).extend(z(up)))
    };
    walls.flat_map(places).collect()
}

/// A drawn scenario in which blur matters: long exposures, fast aircraft, short intervals.
fn dim(seed: u64) -> Scenario {
    let mut dice = Dice::new(seed);
    let mut scenario = generate::scenario(seed);
    for aircraft in &mut Arc::make_mut(&mut scenario.equipment).aircraft {
        aircraft.camera.exposure_s = dice.within(0.001, 0.01);
        aircraft.camera.shortest_interval_s = 0.1;
        aircraft.airframe.top_speed_mps = 20.0;
    }
    for pass in scenario.strategies.iter_mut().flat_map(|strategy| &mut strategy.passes) {
        pass.speed_mps = None;
        pass.forward_overlap = pass.forward_overlap.min(0.7);
        if dice.chance(0.4) && pass.pattern.kind().flies_over() {
            pass.distance = Distance::Height { m: dice.within(50.0, 110.0), above: Above::Ground };
        }
    }
    scenario
}

/// Derived: no point of what a pass looks at moves farther in any of its frames while exposing than the limit, whatever
/// the pattern, the tilt and the ground. The tolerance is that of a tangent for an arc: a frame's motion over half a pixel.
#[test]
fn no_point_moves_farther_than_the_limit() {
    let (mut bound, mut kinds) = (0, Vec::new());
    for seed in 0..40 {
        let scenario = dim(seed);
        for strategy in &scenario.strategies {
            let outcome = outcome(&scenario, strategy.id.0, Depth::Quick);
            let aircraft = scenario.equipment.aircraft(strategy.aircraft).expect("it is there");
            for (pass, planned) in strategy.passes.iter().zip(&outcome.passes) {
                let Some(plan) = planned.laid() else { continue };
                let limit_px = scenario.conditions.blur_px;
                let px = longest_px(&scenario, plan, pass, aircraft.camera.exposure_s, aircraft);
                let which = format!("seed {seed}, {}, {:?}", strategy.name, plan.speed);
                assert!(px <= limit_px * 1.001, "{px:.3} of {limit_px} px: {which}");
                if plan.speed.bound_by == SpeedBound::Blur {
                    bound += 1;
                    kinds.push(plan.pattern);
                }
            }
        }
    }
    assert!(bound > 40, "only {bound} were bound by blur");
    for kind in [PatternKind::Strips, PatternKind::Corridor, PatternKind::Facade] {
        assert!(kinds.contains(&kind), "{kind:?}");
    }
}

/// Derived: over level ground the limit is reached, to what the frame's border is sampled: half a per cent of its size.
#[test]
fn over_level_ground_the_limit_is_reached() {
    for tilt_deg in [0.0, 15.0, 30.0, 45.0, 60.0] {
        for deg in [0.0, 40.0, 90.0, 135.0, 180.0] {
            for above in [Above::MeanGround, Above::Ground] {
                let site = level_site(&[(0.0, 0.0), (600.0, 0.0), (600.0, 500.0), (0.0, 500.0)]);
                let mut scenario = scenario(site, 80.0);
                let aircraft = &mut Arc::make_mut(&mut scenario.equipment).aircraft[0];
                (aircraft.camera.exposure_s, aircraft.camera.shortest_interval_s) = (0.004, 0.02);
                let aircraft = aircraft.clone();
                let pass = &mut scenario.strategies[0].passes[0];
                pass.attitudes = vec![Attitude { tilt_deg, aim: Aim::FromTrack { deg } }];
                pass.distance = Distance::Height { m: 80.0, above };
                let pass = pass.clone();
                let outcome = outcome(&scenario, 10, Depth::Quick);
                let plan = outcome.passes[0].laid().expect("it is there");
                assert_eq!(plan.speed.bound_by, SpeedBound::Blur, "{:?}", plan.speed);
                let px = longest_px(&scenario, plan, &pass, 0.004, &aircraft);
                assert!(px > 0.5 * 0.97 && px < 0.5 * 1.001, "{tilt_deg}° {deg}° {above:?}: {px}");
            }
        }
    }
}

/// Derived: under a roof of 66 m ground of 74 m is nearer; and the words say what is.
#[test]
fn the_nearest_surface_bounds_the_speed_and_is_named() {
    let mut site = level_site(&[(0.0, 0.0), (400.0, 0.0), (400.0, 300.0), (0.0, 300.0)]);
    site.terrain = Terrain::Plane { at_origin_m: 0.0, slope_east: 0.2, slope_north: 0.0 };
    let named = |site: &Site| {
        let mut scenario = scenario(site.clone(), 110.0);
        let aircraft = &mut Arc::make_mut(&mut scenario.equipment).aircraft[0];
        (aircraft.camera.exposure_s, aircraft.camera.shortest_interval_s) = (0.004, 0.02);
        let outcome = outcome(&scenario, 10, Depth::Quick);
        let speed = outcome.passes[0].laid().expect("it is there").speed.clone();
        (speed.bound_text(|m| format!("{m:.0} m")), speed.speed_mps)
    };
    // 40 m of ground above the mean on the eastern edge: 110 − 40 = 70 m; 0.5 px × 70 / 3648 / 0.004 s.
    let (text, mps) = named(&site);
    assert_eq!(text, "motion blur on the highest ground");
    assert!((mps - 0.5 * 70.0 / 3648.0 / 0.004).abs() < 1e-9, "{mps}");
    let mut silo = tower((190.0, 140.0), (210.0, 160.0), 30.0);
    (silo.id, silo.name) = (Id(7), "Silo 1".to_owned());
    site.structures = vec![silo.clone()];
    // Its roof is 30 m above the ground under its middle, which is the mean ground.
    assert_eq!(named(&site).0, "motion blur on the highest ground");
    silo.footprint_m = ring(&[(390.0, 140.0), (398.0, 140.0), (398.0, 160.0), (390.0, 160.0)]);
    site.structures = vec![silo];
    let (text, mps) = named(&site);
    // 78.8 m of ground under its middle, 38.8 m above the mean.
    assert_eq!(text, "motion blur on Silo 1, 69 m");
    assert!((mps - 0.5 * 41.2 / 3648.0 / 0.004).abs() < 1e-9, "{mps}");
    site.terrain = Terrain::default();
    site.structures.clear();
    assert_eq!(named(&site).0, "motion blur on the ground");
}
