//! Corridors, orbits, facades and undersides; the ground followed; ways over and round what stands.

use crate::scene::{aircraft, level_site, outcome, ring, scenario, tower};
use glam::{DVec2, DVec3};
use obliquity_planning::*;
use std::sync::Arc;

const LOOK_IN: Attitude = Attitude { tilt_deg: 90.0, aim: Aim::AtSubject { deg: 0.0 } };
const DOWN: Attitude = Attitude { tilt_deg: 0.0, aim: Aim::FromTrack { deg: 0.0 } };

fn pass(id: u32, pattern: Pattern, look: Attitude, distance: Distance) -> Pass {
    Pass {
        id: Id(id),
        pattern,
        attitudes: vec![look],
        distance,
        forward_overlap: 0.8,
        sidelap: 0.7,
        speed_mps: None,
        margin_m: None,
        hover_s: None,
    }
}

fn height(m: f64) -> Distance {
    Distance::Height { m, above: Above::MeanGround }
}

fn strips() -> Pattern {
    Pattern::Strips(Strips {
        direction: StripDirection::Automatic { turned_deg: 0.0 },
        counting: CountingRule::default(),
        begin: BeginAt::default(),
    })
}

fn corridor(line: &[(f64, f64)], width_m: f64) -> Pattern {
    Pattern::Corridor(Corridor { line_m: ring(line), width_m, counting: CountingRule::default() })
}

fn orbit(structure: u32, heights_m: &[f64], target_height_m: f64) -> Pattern {
    Pattern::Orbit(Orbit {
        around: OrbitCentre::Structure(Id(structure)),
        radius: OrbitRadius::StandOff,
        rings: Rings::At { heights_m: heights_m.to_vec() },
        target_height_m,
    })
}

fn facade(structure: u32, walls: Option<Vec<u32>>) -> Pattern {
    let (structure, others) = (Id(structure), Vec::new());
    Pattern::Facade(Facade { structure, others, walls, clearance_m: 5.0, lowest_m: 3.0 })
}

fn underside(structure: u32) -> Pattern {
    Pattern::Underside(Underside {
        structure: Id(structure),
        sections: 2,
        soffit_clearance_m: 3.0,
        ground_clearance_m: 3.0,
    })
}

fn field() -> Site {
    let mut site = level_site(&[(-150.0, -150.0), (150.0, -150.0), (150.0, 150.0), (-150.0, 150.0)]);
    site.take_off_m = DVec2::new(-140.0, -140.0);
    site
}

fn plan(site: &Site, pass: &Pass, aircraft: &Aircraft) -> PassPlan {
    let outline = SiteOutline::new(site).expect("the site is sound");
    plan_pass(pass, aircraft, &outline, &Conditions::default()).expect("the pass can be laid out")
}

fn evaluated(site: Site, passes: Vec<Pass>) -> Outcome {
    let mut scenario = scenario(site, 73.0);
    scenario.strategies[0].passes = passes;
    assert_eq!(scenario.faults(), Vec::new());
    outcome(&scenario, 10, Depth::Quick)
}

fn strip_legs(plan: &PassPlan) -> impl Iterator<Item = &Leg> {
    plan.legs.iter().filter(|leg| leg.kind == LegKind::Strip)
}

/// Distance of a place from a ring's outline; 0 inside.
fn gap_m(ring: &[DVec2], at: DVec2) -> f64 {
    if polygon::contains(ring, at) {
        return 0.0;
    }
    let sides = ring.iter().zip(ring.iter().cycle().skip(1));
    sides
        .map(|(a, b)| {
            let share = ((at - *a).dot(*b - *a) / (*b - *a).length_squared()).clamp(0.0, 1.0);
            at.distance(a.lerp(*b, share))
        })
        .fold(f64::INFINITY, f64::min)
}

/// Least distance of a route from all solids, looked for every quarter of a metre, and from the ground away from the
/// take-off point.
fn least_gaps_m<'l>(outline: &SiteOutline, legs: impl Iterator<Item = &'l Leg>) -> (f64, f64) {
    let (mut solid_m, mut ground_m) = (f64::INFINITY, f64::INFINITY);
    for (a, b) in legs.flat_map(|leg| leg.pieces_m().collect::<Vec<_>>()) {
        let steps = (a.distance(b) * 4.0).ceil().max(1.0);
        for k in 0..=steps as u32 {
            let at = a.lerp(b, f64::from(k) / steps);
            for solid in &outline.obstacles {
                let aside = gap_m(&solid.ring_m, at.truncate());
                let above = (at.z - solid.top_z_m).max(solid.bottom_z_m - at.z).max(0.0);
                solid_m = solid_m.min(aside.hypot(above));
            }
            if at.truncate().distance(outline.take_off_m) > 1e-6 {
                ground_m = ground_m.min(at.z - outline.terrain.height_m(at.truncate()));
            }
        }
    }
    (solid_m, ground_m)
}

/// Derived: 100 m of width at a spacing of 32.85 m need 4 strips, 300 m at a base of 14.6 m need 22 exposures each.
#[test]
fn a_straight_corridor_counts_as_strips_do() {
    let mut pass = pass(11, corridor(&[(-150.0, 0.0), (150.0, 0.0)], 100.0), DOWN, height(73.0));
    pass.margin_m = Some(0.0);
    let plan = plan(&field(), &pass, &aircraft());
    assert_eq!((plan.layout.strips, plan.stations.poses.len()), (4, 88));
    let mut rows: Vec<f64> = strip_legs(&plan).map(|leg| leg.from_m.y).collect();
    rows.sort_by(f64::total_cmp);
    for (row, expected) in rows.iter().zip([-37.5, -12.5, 12.5, 37.5]) {
        assert!((row - expected).abs() < 1e-9, "{rows:?}");
    }
    // To and fro.
    let senses: Vec<f64> = strip_legs(&plan).map(|leg| (leg.to_m.x - leg.from_m.x).signum()).collect();
    assert_eq!(senses, [1.0, -1.0, 1.0, -1.0]);
    assert_eq!(plan.pattern.name(), "corridor");
}

/// Derived: round a bend every strip keeps its distance from the line, and each leg is exposed at both its ends.
#[test]
fn a_corridor_stays_parallel_round_a_bend() {
    let line = [(-140.0, -60.0), (0.0, -60.0), (80.0, 90.0)];
    let plan = plan(&field(), &pass(11, corridor(&line, 60.0), DOWN, height(73.0)), &aircraft());
    let corners = ring(&line);
    for leg in strip_legs(&plan) {
        let direction = (leg.to_m - leg.from_m).truncate().normalize();
        let of = |k: usize| (corners[k + 1] - corners[k]).normalize();
        let k = usize::from(direction.dot(of(0)).abs() < 0.999);
        assert!((direction.dot(of(k)).abs() - 1.0).abs() < 1e-9, "parallel to a leg of the line");
        let offset = |at: DVec3| of(k).perp_dot(at.truncate() - corners[k]);
        assert!((offset(leg.from_m) - offset(leg.to_m)).abs() < 1e-6);
        let ends = [leg.stops[0].along_m, leg.stops[leg.stops.len() - 1].along_m];
        assert!(ends[0].abs() < 1e-9 && (ends[1] - leg.length_m()).abs() < 1e-6, "{ends:?}");
        let bases = leg.stops.windows(2).map(|pair| pair[1].along_m - pair[0].along_m);
        assert!(bases.fold(0.0, f64::max) <= plan.layout.air_base_m + 1e-9);
    }
    assert_eq!(strip_legs(&plan).count(), 2 * plan.layout.strips as usize);
}

/// Derived: about a square of 20 m the circle has a radius of 10√2 m; 30 m beyond it the frame is 45 m wide, a base of
/// 9 m is a chord of 2 asin(4.5 / 44.14) and a ring takes 31 of them. From 50 m to a target at 10 m the tilt is
/// atan(44.14 / 40).
#[test]
fn an_orbit_by_hand() {
    let mut site = field();
    site.structures = vec![tower((-10.0, -10.0), (10.0, 10.0), 20.0)];
    let pass = pass(11, orbit(1, &[50.0, 60.0], 10.0), LOOK_IN, Distance::StandOff { m: 30.0 });
    let plan = plan(&site, &pass, &aircraft());
    let radius_m = 30.0 + 10.0 * 2.0_f64.sqrt();
    assert_eq!(plan.stations.poses.len(), 2 * 31);
    for pose in &plan.stations.poses {
        assert!((pose.position_m.truncate().length() - radius_m).abs() < 1e-9);
        let target = DVec3::new(0.0, 0.0, 10.0);
        let toward = (target - pose.position_m).normalize();
        assert!(toward.distance(pose.axis()) < 1e-9, "the axis meets the target");
    }
    assert!((plan.stations.poses[0].tilt_rad - (radius_m / 40.0).atan()).abs() < 1e-9);
    let rings: Vec<&Leg> = strip_legs(&plan).collect();
    assert!(rings.iter().all(|ring| ring.from_m == ring.to_m), "closed");
    let climb: Vec<&Leg> = plan.legs.iter().filter(|leg| leg.kind == LegKind::Climb).collect();
    assert_eq!((climb.len(), climb[0].length_m()), (1, 10.0));
}

/// Derived: a ring that would come nearer to a neighbour than the clearance is left out, and the reason names it.
#[test]
fn an_orbit_into_a_neighbour_is_refused() {
    let mut site = field();
    let mut silo = tower((25.0, -5.0), (35.0, 5.0), 60.0);
    (silo.id, silo.name) = (Id(2), "Silo".to_owned());
    site.structures = vec![tower((-10.0, -10.0), (10.0, 10.0), 20.0), silo];
    let orbit = pass(11, orbit(1, &[40.0], 10.0), LOOK_IN, Distance::StandOff { m: 20.0 });
    let outcome = evaluated(site, vec![orbit]);
    assert_eq!(outcome.timing, None);
    assert!(outcome.reasons[0].contains("\"Silo\""), "{:?}", outcome.reasons);
}

/// Derived: at 10 m the frame is 15 m wide and 10 m high, rows 3 m apart over a wall of 20 m: half a spacing inside the
/// top and, for the ground, 3 m up.
#[test]
fn facade_rows_face_the_wall_and_keep_their_distances() {
    let mut site = field();
    site.structures = vec![tower((-20.0, -10.0), (20.0, 10.0), 20.0)];
    let pass = pass(11, facade(1, None), LOOK_IN, Distance::StandOff { m: 10.0 });
    let plan = plan(&site, &pass, &aircraft());
    let footprint = &site.structures[0].footprint_m;
    let mut levels: Vec<f64> = plan.stations.poses.iter().map(|p| p.position_m.z).collect();
    levels.sort_by(f64::total_cmp);
    assert!((levels[0] - 3.0).abs() < 1e-9 && (levels[levels.len() - 1] - 18.5).abs() < 1e-9);
    levels.dedup();
    // 15.5 m between them in steps of at most 3 m.
    assert_eq!(levels.len(), 7);
    assert_eq!(plan.layout.strips, 4 * 7);
    for pose in &plan.stations.poses {
        let at = pose.position_m.truncate();
        assert!((0..4).any(|k| {
            let (a, b) = (footprint[k], footprint[(k + 1) % 4]);
            let outward = -(b - a).perp().normalize();
            ((at - a).dot(outward) - 10.0).abs() < 1e-9
                && (pose.axis().truncate().dot(outward) + 1.0).abs() < 1e-9
        }));
    }
    // A level camera sees half a frame above its own height: the highest row sees beyond the roof's edge.
    let half_frame_m = plan.layout.extent_across_m / 2.0;
    assert!(levels[levels.len() - 1] + half_frame_m > 20.0);
    let outline = SiteOutline::new(&site).expect("sound");
    assert!(least_gaps_m(&outline, plan.legs.iter()).0 > 5.0);
}

/// Derived: stand-off = GSD × focal length in pixels, capped at the height ceiling; chosen walls only.
#[test]
fn a_facade_led_by_its_gsd() {
    let mut site = field();
    site.structures = vec![tower((-20.0, -10.0), (20.0, 10.0), 20.0)];
    let gsd = |cm| Distance::Gsd { cm, above: Above::MeanGround };
    let one = plan(&site, &pass(11, facade(1, Some(vec![1])), LOOK_IN, gsd(0.3)), &aircraft());
    assert!((one.layout.stand_off_m.expect("kept") - 0.003 * 3648.0).abs() < 1e-9);
    // Wall 1 of the footprint looks east.
    assert!(one.stations.poses.iter().all(|pose| (pose.heading_rad.to_degrees() - 270.0).abs() < 1e-9));
    let far = plan(&site, &pass(11, facade(1, None), LOOK_IN, gsd(5.0)), &aircraft());
    assert!(far.layout.capped && far.layout.stand_off_m == Some(110.0));
}

/// Derived: in the notch of an L the rows are cut where the other wing is nearer than the clearance.
#[test]
fn rows_in_a_corner_keep_clear_of_the_other_wing() {
    let mut site = field();
    let mut ell = tower((0.0, 0.0), (1.0, 1.0), 25.0);
    ell.footprint_m =
        ring(&[(-30.0, -30.0), (30.0, -30.0), (30.0, 0.0), (0.0, 0.0), (0.0, 30.0), (-30.0, 30.0)]);
    site.structures = vec![ell];
    let outcome =
        evaluated(site.clone(), vec![pass(11, facade(1, None), LOOK_IN, Distance::StandOff { m: 8.0 })]);
    assert!(outcome.feasible(), "{:?}", outcome.reasons);
    let outline = SiteOutline::new(&site).expect("sound");
    let gaps =
        least_gaps_m(&outline, outcome.flight().expect("it is there").legs.iter().map(|flown| &*flown.leg));
    // The clearance of 5 m less the thousandth that ways and rows may use.
    assert!(gaps.0 > 5.0 * 0.998, "{gaps:?}");
    // Above the row from which it climbs, nothing is lower than the row's 3 m, by rounding.
    assert!(gaps.1 > 3.0 - 1e-6, "{gaps:?}");
}

/// A deck of 80 m by 12 m, its soffit 12 m up, with one pier, on an outline made by hand until sites hold decks.
fn bridge(ground: Terrain) -> SiteOutline {
    let mut site = field();
    site.terrain = ground;
    let mut deck = tower((-40.0, -6.0), (40.0, 6.0), 14.0);
    "Bridge".clone_into(&mut deck.name);
    let mut pier = tower((-1.0, -2.0), (1.0, 2.0), 12.0);
    pier.id = Id(2);
    site.structures = vec![deck, pier];
    let mut outline = SiteOutline::new(&site).expect("sound");
    outline.structures[0].soffit_z_m = Some(12.0);
    for solid in outline.obstacles.iter_mut().filter(|solid| solid.structure == 0) {
        solid.bottom_z_m = 12.0;
    }
    outline
}

fn looks_up() -> Aircraft {
    let mut aircraft = aircraft();
    aircraft.gimbal.tilt_max_deg = 180.0;
    aircraft
}

const UP: Attitude = Attitude { tilt_deg: 180.0, aim: Aim::FromTrack { deg: 0.0 } };

/// Derived: 4 m below the soffit the frame is 4 m along and 6 m across: a deck of 12 m at a spacing of 1.8 m takes 7
/// strips in each of two sections. All stations stand below the deck, 8 m up, clear of the pier.
#[test]
fn underside_strips_stay_below_the_deck() {
    let outline = bridge(Terrain::default());
    let pass = pass(11, underside(1), UP, Distance::StandOff { m: 4.0 });
    let plan = plan_pass(&pass, &looks_up(), &outline, &Conditions::default()).expect("laid out");
    assert_eq!(plan.layout.strips, 14);
    for pose in &plan.stations.poses {
        let at = pose.position_m;
        assert!((at.z - 8.0).abs() < 1e-9 && at.x.abs() <= 40.0 + 1e-9 && at.y.abs() < 6.0);
        assert!(pose.axis().z > 0.999, "up");
        assert!(gap_m(&outline.structures[1].footprint_m, at.truncate()) > 3.0 * 0.998);
    }
    // Half a pixel of 0.11 cm in 1/1600 s is less than 2 m/s; with time to spare the pattern's own default binds.
    assert_eq!(plan.speed.bound_by, SpeedBound::Blur);
    let mut quick = looks_up();
    quick.camera.exposure_s = 1.0 / 8000.0;
    let farther = Pass { distance: Distance::StandOff { m: 8.9 }, ..pass };
    let slow = plan_pass(&farther, &quick, &outline, &Conditions::default()).expect("laid out").speed;
    assert_eq!((slow.speed_mps, slow.bound_by), (2.0, SpeedBound::Pattern));
    let gaps = least_gaps_m(&outline, plan.legs.iter());
    assert!(gaps.0 > 3.0 * 0.998 && gaps.1 > 3.0, "{gaps:?}");
}

/// Derived: a gimbal that stops at 90° cannot look up, and 12 m of room do not hold 3 + 3 m where the ground rises to 8 m.
#[test]
fn an_underside_that_cannot_be_flown_says_why() {
    let outline = bridge(Terrain::default());
    let look_up = Attitude { tilt_deg: 120.0, ..UP };
    let under = pass(11, underside(1), look_up, Distance::StandOff { m: 4.0 });
    let refused = |outline: &SiteOutline, aircraft: &Aircraft| {
        plan_pass(&under, aircraft, outline, &Conditions::default()).expect_err("cannot be flown").to_string()
    };
    assert_eq!(refused(&outline, &aircraft()), "the gimbal stops at 90°, this pass needs 120°");
    let high = bridge(Terrain::Plane { at_origin_m: 8.0, slope_east: 0.0, slope_north: 0.0 });
    assert!(refused(&high, &looks_up()).starts_with("no room below the deck: its soffit is 4.0 m"));
    let mut solid = outline;
    solid.structures[0].soffit_z_m = None;
    assert!(refused(&solid, &looks_up()).contains("has no underside"));
}

/// Derived: the same reason for the other patterns, as an outcome in which the pass is not laid out.
#[test]
fn what_the_gimbal_cannot_do_is_a_reason() {
    let mut site = field();
    site.structures = vec![tower((-20.0, -10.0), (20.0, 10.0), 20.0)];
    let steep = Attitude { tilt_deg: 120.0, ..LOOK_IN };
    let passes = vec![
        pass(11, strips(), DOWN, height(73.0)),
        pass(12, facade(1, None), steep, Distance::StandOff { m: 10.0 }),
    ];
    let outcome = evaluated(site, passes);
    assert_eq!(outcome.reasons, ["pass 2: the gimbal stops at 90°, this pass needs 120°"]);
    assert!(outcome.passes[1].laid().is_none() && outcome.passes[0].laid().is_some());
}

fn slope(east: f64) -> Terrain {
    Terrain::Plane { at_origin_m: 100.0, slope_east: east, slope_north: 0.0 }
}

fn followed(site: &Site, aircraft: &Aircraft) -> PassPlan {
    let distance = Distance::Height { m: 60.0, above: Above::Ground };
    let direction = StripDirection::FromNorth { deg: 90.0 };
    let pattern =
        Pattern::Strips(Strips { direction, counting: CountingRule::default(), begin: BeginAt::default() });
    plan(site, &pass(11, pattern, DOWN, distance), aircraft)
}

/// Derived: on a gentle slope every station stands 60 m above the ground below it and a strip stays one straight leg of
/// length level × √(1 + 0.1²).
#[test]
fn a_gentle_slope_is_followed_exactly() {
    let mut site = field();
    site.terrain = slope(0.1);
    let plan = followed(&site, &aircraft());
    for pose in &plan.stations.poses {
        let above_m = pose.position_m.z - site.terrain.height_m(pose.position_m.truncate());
        assert!((above_m - 60.0).abs() < 1e-6);
    }
    for leg in strip_legs(&plan) {
        assert!(leg.via_m.is_empty());
        let level_m = (leg.to_m - leg.from_m).truncate().length();
        assert!((leg.length_m() - level_m * 1.01_f64.sqrt()).abs() < 1e-6);
        for stop in &leg.stops {
            let pose = &plan.stations.poses[stop.station as usize];
            assert!(leg.at_m(stop.along_m).distance(pose.position_m) < 1e-6, "stops lie on the line flown");
        }
    }
}

/// Derived: climbing 4 m/s at 10 m/s gives at most 0.4, descending 3 m/s 0.3; on a slope of 0.6 the line is flatter than
/// the ground, never lower than 60 m above it, and touches that once a strip.
#[test]
fn a_steep_slope_is_flown_no_steeper_than_the_airframe_can() {
    let mut site = field();
    site.terrain = slope(0.6);
    let plan = followed(&site, &aircraft());
    let speed_mps = plan.speed.speed_mps;
    for leg in strip_legs(&plan) {
        let mut least_m = f64::INFINITY;
        for (a, b) in leg.pieces_m() {
            let rise = (b.z - a.z) / (b - a).truncate().length();
            assert!(rise <= 4.0 / speed_mps + 1e-9 && rise >= -3.0 / speed_mps - 1e-9);
            for at in [a, b] {
                least_m = least_m.min(at.z - site.terrain.height_m(at.truncate()));
            }
        }
        assert!((least_m - 60.0).abs() < 1e-6, "{least_m}");
    }
}

/// Derived: a strip that rises over a tower is a line of pieces flown as one movement: it takes the path's length at its
/// speed and one ramp, v/a, and its exposures keep their order in time.
#[test]
fn a_followed_strip_is_one_movement() {
    let mut site = field();
    site.structures = vec![tower((-10.0, -10.0), (10.0, 10.0), 70.0)];
    let direction = StripDirection::FromNorth { deg: 90.0 };
    let pattern =
        Pattern::Strips(Strips { direction, counting: CountingRule::default(), begin: BeginAt::default() });
    let distance = Distance::Height { m: 60.0, above: Above::Ground };
    let outcome = evaluated(site.clone(), vec![pass(11, pattern, DOWN, distance)]);
    assert!(outcome.feasible(), "{:?}", outcome.reasons);
    let mut bent = 0;
    for flown in
        outcome.flight().expect("it is there").legs.iter().filter(|flown| flown.leg.kind == LegKind::Strip)
    {
        bent += usize::from(!flown.leg.via_m.is_empty());
        let by_hand = flown.leg.length_m() / flown.leg.speed_mps + flown.leg.speed_mps / 2.0;
        // Reason for 1e-9: the same sum in doubles.
        assert!((flown.moving_s - by_hand).abs() < 1e-9);
    }
    assert!(bent > 0);
    assert!(
        outcome.flight().expect("it is there").station_time_s[0].windows(2).all(|pair| pair[0] < pair[1])
    );
    let outline = SiteOutline::new(&site).expect("sound");
    let gaps =
        least_gaps_m(&outline, outcome.flight().expect("it is there").legs.iter().map(|flown| &*flown.leg));
    assert!(gaps.0 > 10.0 - 1e-6, "{gaps:?}");
}

/// Derived: a battery that ends on a bent strip or a ring resumes where it turned back, and no exposure is lost.
#[test]
fn batteries_end_on_rings_and_bent_strips() {
    let mut site = field();
    site.structures = vec![tower((-10.0, -10.0), (10.0, 10.0), 70.0)];
    let distance = Distance::Height { m: 60.0, above: Above::Ground };
    let mut scenario = scenario(site, 73.0);
    scenario.strategies[0].passes = vec![
        pass(11, strips(), DOWN, distance),
        pass(12, orbit(1, &[85.0, 95.0], 30.0), LOOK_IN, Distance::StandOff { m: 60.0 }),
    ];
    let mut equipment = (*scenario.equipment).clone();
    equipment.aircraft[0].airframe.endurance_min = 4.5;
    scenario.equipment = Arc::new(equipment);
    let outcome = outcome(&scenario, 10, Depth::Quick);
    assert!(outcome.feasible(), "{:?}", outcome.reasons);
    assert!(outcome.flight().expect("it is there").sorties.len() > 3);
    for (planned, times) in outcome.passes.iter().zip(&outcome.flight().expect("it is there").station_time_s)
    {
        assert!(times.windows(2).all(|pair| pair[0] < pair[1]));
        let flown =
            outcome.flight().expect("it is there").legs.iter().filter(|leg| leg.pass == Some(planned.pass));
        for leg in flown {
            for stop in &leg.leg.stops {
                let pose = &planned.laid().expect("it is there").stations.poses[stop.station as usize];
                // Reason for 1e-6: cutting a leg adds up its pieces anew.
                assert!(leg.leg.at_m(stop.along_m).distance(pose.position_m) < 1e-6);
            }
        }
        let strips_m: f64 = outcome
            .flight()
            .expect("it is there")
            .legs
            .iter()
            .filter(|leg| leg.pass == Some(planned.pass) && leg.leg.kind == LegKind::Strip)
            .map(|leg| leg.leg.length_m())
            .sum();
        assert!((strips_m - planned.laid().expect("it is there").layout.strips_length_m).abs() < 1e-6);
    }
}

/// A yard of towers: an L, a silo of 24 sides, a tower close by, and a keep-out.
fn yard() -> Site {
    let mut site = field();
    let mut ell = tower((0.0, 0.0), (1.0, 1.0), 25.0);
    ell.footprint_m =
        ring(&[(-90.0, -60.0), (-30.0, -60.0), (-30.0, -30.0), (-60.0, -30.0), (-60.0, 0.0), (-90.0, 0.0)]);
    let mut silo = tower((0.0, 0.0), (1.0, 1.0), 38.0);
    let around = (0..24).map(|k| DVec2::from_angle(f64::from(k) * std::f64::consts::TAU / 24.0));
    silo.footprint_m = around.map(|p| DVec2::new(70.0, 40.0) + p * 12.0).collect();
    silo.id = Id(2);
    let mut mast = tower((-115.0, -90.0), (-105.0, -80.0), 62.0);
    mast.id = Id(3);
    site.structures = vec![ell, silo, mast];
    site.keep_outs = vec![KeepOut {
        name: "Pond".to_owned(),
        outline_m: ring(&[(0., -90.), (30., -90.), (30., -70.), (0., -70.)]),
    }];
    site.terrain = Terrain::Plane { at_origin_m: 30.0, slope_east: 0.04, slope_north: -0.02 };
    site
}

/// Derived: whatever is mixed, no segment of the flight comes into a structure, the ground or a keep-out, batteries and
/// all; where nothing is flown near a wall on purpose the way keeps the clearance.
#[test]
fn no_segment_of_a_mixed_strategy_meets_anything() {
    let site = yard();
    let outline = SiteOutline::new(&site).expect("sound");
    let mut scenario = scenario(site.clone(), 90.0);
    let stand_off = |m| Distance::StandOff { m };
    let low = [(-140.0, 100.0), (0.0, 90.0), (140.0, 120.0)];
    scenario.strategies[0].passes = vec![
        pass(11, strips(), DOWN, height(90.0)),
        pass(12, facade(1, None), LOOK_IN, stand_off(8.0)),
        pass(13, orbit(2, &[20.0, 45.0], 19.0), LOOK_IN, stand_off(25.0)),
        pass(14, corridor(&low, 40.0), DOWN, Distance::Height { m: 25.0, above: Above::Ground }),
        pass(15, facade(3, None), LOOK_IN, stand_off(8.0)),
    ];
    let mut equipment = (*scenario.equipment).clone();
    equipment.aircraft[0].airframe.endurance_min = 9.0;
    equipment.aircraft[0].gimbal.tilt_max_deg = 110.0;
    scenario.equipment = Arc::new(equipment);
    assert_eq!(scenario.faults(), Vec::new());
    let outcome = outcome(&scenario, 10, Depth::Quick);
    assert!(outcome.feasible(), "{:?}", outcome.reasons);
    assert!(outcome.flight().expect("it is there").sorties.len() > 2);
    let (solid_m, ground_m) =
        least_gaps_m(&outline, outcome.flight().expect("it is there").legs.iter().map(|flown| &*flown.leg));
    assert!(solid_m > 5.0 * 0.998, "{solid_m}");
    assert!(ground_m > 3.0 - 1e-6, "{ground_m}");
    let inside = |at: DVec3| {
        let ring = &site.keep_outs[0].outline_m;
        let sides = ring.iter().zip(ring.iter().cycle().skip(1));
        let edge_m = sides.map(|(a, b)| gap_m(&[*a, *b], at.truncate())).fold(f64::INFINITY, f64::min);
        polygon::contains(ring, at.truncate()) && edge_m > 1e-3
    };
    for (a, b) in outcome
        .flight()
        .expect("it is there")
        .legs
        .iter()
        .flat_map(|flown| flown.leg.pieces_m().collect::<Vec<_>>())
    {
        let steps = (a.distance(b) * 2.0).ceil().max(1.0);
        assert!((0..=steps as u32).all(|k| !inside(a.lerp(b, f64::from(k) / steps))));
    }
    let transits = outcome
        .flight()
        .expect("it is there")
        .legs
        .iter()
        .map(|flown| &*flown.leg)
        .filter(|leg| leg.kind == LegKind::Transit);
    assert!(transits.count() > 4);
}

/// Derived: from the south of a slab to its north the way goes round the nearer end when that is shorter than climbing,
/// and over it when the slab is long and low.
#[test]
fn transits_go_round_or_over_whichever_is_shorter() {
    let crossing = |half_m: f64, height_m: f64| {
        let mut site = field();
        site.take_off_m = DVec2::new(0.0, -40.0);
        site.structures = vec![tower((-half_m, -3.0), (half_m, 3.0), height_m)];
        let far = corridor(&[(-20.0, 60.0), (20.0, 60.0)], 5.0);
        let low = Distance::Height { m: 12.0, above: Above::Ground };
        let outcome = evaluated(site, vec![pass(11, far, DOWN, low)]);
        let first = outcome.flight().expect("it is there").legs.iter().map(|flown| &*flown.leg);
        first.take_while(|leg| leg.kind != LegKind::Strip).flat_map(Leg::corners_m).collect::<Vec<_>>()
    };
    let round = crossing(15.0, 100.0);
    assert!(round.iter().all(|p| p.z <= 12.0 + 1e-9) && round.iter().any(|p| p.x.abs() > 25.0));
    let over = crossing(140.0, 15.0);
    assert!((over.iter().map(|p| p.z).fold(0.0, f64::max) - 25.0).abs() < 1e-9);
    assert!(over.iter().all(|p| p.x.abs() < 25.0));
}

/// Derived: what the file refuses says what is required.
#[test]
fn patterns_that_make_no_sense_are_faults() {
    let mut site = field();
    site.structures = vec![tower((-20.0, -10.0), (20.0, 10.0), 20.0)];
    let faults = |pass: Pass| {
        let mut scenario = scenario(site.clone(), 73.0);
        scenario.strategies[0].passes = vec![pass];
        scenario.faults().into_iter().map(|f| format!("{}: {}", f.path, f.message)).collect::<Vec<_>>()
    };
    let off = Distance::StandOff { m: 10.0 };
    let told = [
        faults(pass(11, facade(9, None), LOOK_IN, off)),
        faults(pass(11, facade(1, Some(vec![4])), LOOK_IN, off)),
        faults(pass(11, facade(1, None), LOOK_IN, height(50.0))),
        faults(pass(11, strips(), DOWN, off)),
        faults(pass(11, corridor(&[(0.0, 0.0)], 20.0), DOWN, height(60.0))),
        faults(pass(11, corridor(&[(0.0, 0.0), (50.0, 0.0), (0.0, 1.0)], 20.0), DOWN, height(60.0))),
        faults(pass(11, orbit(1, &[], 5.0), LOOK_IN, off)),
    ];
    let words =
        ["has the id 9", "0 to 3", "stand-off", "height", "at least 2 corners", "179°", "at least one ring"];
    for (told, word) in told.iter().zip(words) {
        assert_eq!(told.len(), 1, "{told:?}");
        assert!(told[0].contains(word), "{told:?}");
    }
}

/// Derived: held at equal GSD every pass takes it; held at equal height the stand-offs stay.
#[test]
fn holding_equal_leaves_stand_offs_alone() {
    let mut site = field();
    site.structures = vec![tower((-20.0, -10.0), (20.0, 10.0), 20.0)];
    let mut scenario = scenario(site, 73.0);
    scenario.strategies[1].passes.push(pass(99, facade(1, None), LOOK_IN, Distance::StandOff { m: 12.0 }));
    let store = Store::new(0);
    let evaluator = Evaluator { store: &store, watch: &NoWatch };
    let held = evaluator.hold_equal(&scenario, Id(10), Hold::Height).expect("held").scenario;
    assert_eq!(held.strategies[1].passes[2].distance, Distance::StandOff { m: 12.0 });
    let held = evaluator.hold_equal(&scenario, Id(10), Hold::Gsd).expect("held").scenario;
    assert!(
        matches!(held.strategies[1].passes[2].distance, Distance::Gsd { cm, .. } if (cm - 2.0011).abs() < 1e-3)
    );
    assert_eq!(held.faults(), Vec::new());
}

/// Derived: each template gives a strategy that can be evaluated where it fits, and says in words where it does not.
#[test]
fn templates_that_need_the_site() {
    let site = yard();
    let distance = Distance::Gsd { cm: 2.0, above: Above::MeanGround };
    let make = |template: SiteTemplate, site: &Site, choice: &SiteChoice<'_>| {
        let (aircraft, gsd_cm) = (aircraft(), Requirement::default().gsd_cm);
        let start = TemplateStart { first_id: Id(50), aircraft: &aircraft, distance, gsd_cm: &gsd_cm };
        template.strategy(site, choice, &start)
    };
    let any = SiteChoice::default();
    for template in [SiteTemplate::Corridor, SiteTemplate::NadirBlockWithOrbits, SiteTemplate::FacadeWrap] {
        let strategy = make(template, &site, &any).expect("the template fits");
        assert_eq!(strategy.name, template.name());
        let mut scenario = scenario(site.clone(), 73.0);
        scenario.strategies = vec![strategy];
        assert_eq!(scenario.faults(), Vec::new(), "{}", template.name());
        let outcome = outcome(&scenario, 50, Depth::Quick);
        assert!(
            outcome.load.is_some_and(|load| load.image_count > 0),
            "{}: {:?}",
            template.name(),
            outcome.reasons
        );
    }
    let told = |template, site: &Site, choice: &SiteChoice<'_>| {
        make(template, site, choice).expect_err("does not fit").to_string()
    };
    assert!(told(SiteTemplate::UndersideSections, &site, &any).contains("the site has none"));
    let choice = SiteChoice { structure: Some(Id(1)), ..any };
    assert!(told(SiteTemplate::UndersideSections, &site, &choice).contains("stands on the ground"));
    assert!(told(SiteTemplate::FacadeWrap, &field(), &any).contains("the site has none; draw one"));
    let one = ring(&[(0.0, 0.0)]);
    let choice = SiteChoice { line_m: &one, ..any };
    assert!(told(SiteTemplate::Corridor, &site, &choice).contains("at least two corners, but it has 1"));
}
