//! Random scenarios that a practitioner could have drawn: equal seeds give equal scenarios.

use crate::scene;
use glam::DVec2;
use obliquity_planning::*;
use rand_distr::{Distribution, Uniform};
use rand_pcg::Pcg64;
use rand_pcg::rand_core::SeedableRng;
use std::f64::consts::TAU;
use std::sync::Arc;

/// Numbers drawn one after the other from a seed.
#[derive(Debug)]
pub(crate) struct Dice(Pcg64);

impl Dice {
    pub(crate) fn new(seed: u64) -> Self {
        Dice(Pcg64::seed_from_u64(seed))
    }

    /// Evenly between two numbers.
    pub(crate) fn within(&mut self, low: f64, high: f64) -> f64 {
        Uniform::new(low, high).expect("low lies below high").sample(&mut self.0)
    }

    /// One of the whole numbers from `low` to `high`, both included.
    pub(crate) fn whole(&mut self, low: u32, high: u32) -> u32 {
        Uniform::new_inclusive(low, high).expect("low lies below high").sample(&mut self.0)
    }

    pub(crate) fn chance(&mut self, ratio: f64) -> bool {
        self.within(0.0, 1.0) < ratio
    }

    pub(crate) fn place(&mut self, about_m: DVec2, reach_m: f64) -> DVec2 {
        about_m + DVec2::new(self.within(-reach_m, reach_m), self.within(-reach_m, reach_m))
    }
}

/// The same with a job that has a price, wages and rates.
pub(crate) fn priced(seed: u64) -> Scenario {
    let mut dice = Dice::new(seed + 3_000_000);
    let job = Job {
        currency: "crowns".to_owned(),
        price: Some(dice.within(200.0, 4000.0)),
        crew: f64::from(dice.whole(1, 3)),
        crew_wage_per_h: dice.within(10.0, 90.0),
        road_h: dice.within(0.0, 6.0),
        road_km: dice.within(0.0, 300.0),
        road_per_km: dice.within(0.1, 1.0),
        control_point_price: dice.within(0.0, 40.0),
        battery_set_price: dice.within(50.0, 900.0),
        battery_cycles: f64::from(dice.whole(80, 400)),
        machine_per_h: dice.within(0.0, 8.0),
        attended_wage_per_h: dice.within(10.0, 90.0),
        again_share: dice.within(0.0, 0.6),
        sign_off: dice.within(0.0, 300.0),
    };
    Scenario { job, ..scenario(seed) }
}

/// A site of 1 to 25 ha with two aircraft and two to four strategies; nothing in it is refused by the checks.
pub(crate) fn scenario(seed: u64) -> Scenario {
    let mut dice = Dice::new(seed);
    let site = site(&mut dice);
    let aircraft = vec![aircraft(&mut dice, Id(1)), aircraft(&mut dice, Id(2))];
    let conditions = Conditions {
        battery_sets: dice.whole(2, 8),
        control_points: dice.whole(0, 6),
        clearance_m: dice.within(4.0, 15.0),
        ..Conditions::default()
    };
    let mut scenario = Scenario {
        name: format!("Drawn by {seed}"),
        note: String::new(),
        site: Arc::new(site),
        equipment: Arc::new(Equipment { aircraft }),
        strategies: Vec::new(),
        reference: None,
        conditions,
        requirement: Requirement::default(),
        rates: Rates::default(),
        job: Job::default(),
        underlay: None,
    };
    for _ in 0..dice.whole(2, 4) {
        let strategy = strategy(&mut dice, &scenario);
        scenario.strategies.push(strategy);
    }
    // From dice of their own: what was drawn before them stays.
    let mut dice = Dice::new(seed ^ 0x7a4e_0ff5);
    if dice.chance(0.4) {
        scenario.conditions.move_min = dice.within(0.0, 30.0);
        for index in 0..scenario.strategies.len() {
            if dice.chance(0.7) {
                scenario.strategies[index].take_offs_m = take_offs(&mut dice, &scenario.site);
            }
        }
    }
    scenario
}

/// One to three places in and about a site, outside its keep-outs and what stands there.
pub(crate) fn take_offs(dice: &mut Dice, site: &Site) -> Vec<DVec2> {
    let reach_m = site.boundary_m.iter().map(|p| p.length()).fold(0.0, f64::max);
    let outline = SiteOutline::new(site).expect("a sound site");
    let stands = |at: &DVec2| outline.structures.iter().any(|s| polygon::contains(&s.footprint_m, *at));
    let fenced = |at: &DVec2| site.keep_outs.iter().any(|k| polygon::contains(&k.outline_m, *at));
    let places: Vec<DVec2> = (0..dice.whole(1, 3)).map(|_| dice.place(DVec2::ZERO, 1.1 * reach_m)).collect();
    places.into_iter().filter(|at| !stands(at) && !fenced(at)).collect()
}

fn site(dice: &mut Dice) -> Site {
    let boundary_m = boundary(dice);
    let reach_m = boundary_m.iter().map(|p| p.length()).fold(0.0, f64::max);
    let mut site = Site {
        name: "Drawn".to_owned(),
        origin: None,
        take_off_m: dice.place(DVec2::ZERO, 0.8 * reach_m),
        boundary_m,
        terrain: terrain(dice, reach_m),
        structures: Vec::new(),
        typical_building: None,
        keep_outs: Vec::new(),
        control_points: Vec::new(),
        sample_spacing_m: Some(reach_m / 30.0),
    };
    for k in 0..dice.whole(0, 6) {
        let structure = structure(dice, Id(100 + k), reach_m);
        keep_if_sound(&mut site, |site| site.structures.push(structure));
    }
    if site.structures.is_empty() && dice.chance(0.3) {
        let typical_building = TypicalBuilding {
            width_m: dice.within(8.0, 14.0),
            depth_m: dice.within(8.0, 14.0),
            height_m: dice.within(5.0, 12.0),
            spacing_m: dice.within(35.0, 60.0),
        };
        keep_if_sound(&mut site, |site| site.typical_building = Some(typical_building));
    }
    if dice.chance(0.35) {
        for k in 0..dice.whole(1, 3) {
            let radius_m = dice.within(5.0, 0.25 * reach_m);
            let at_m = dice.place(DVec2::ZERO, reach_m);
            let corners = dice.whole(3, 12);
            let keep_out = KeepOut {
                name: format!("Keep-out {k}"),
                outline_m: star(dice, corners, at_m, [0.7 * radius_m, radius_m]),
            };
            if at_m.distance(site.take_off_m) > radius_m + 15.0 {
                keep_if_sound(&mut site, |site| site.keep_outs.push(keep_out));
            }
        }
    }
    site
}

/// Changes a site unless that makes it unsound.
fn keep_if_sound(site: &mut Site, change: impl FnOnce(&mut Site)) {
    let before = site.clone();
    change(site);
    let alone = scene::scenario(site.clone(), 100.0);
    if !alone.faults().is_empty() || SiteModel::build(site).is_err() {
        *site = before;
    }
}

/// A star, a turned rectangle or a turned L about the origin.
fn boundary(dice: &mut Dice) -> Vec<DVec2> {
    let turn = DVec2::from_angle(dice.within(0.0, TAU));
    let turned = |corners: &[(f64, f64)]| corners.iter().map(|c| turn.rotate(DVec2::from(*c))).collect();
    let (x, y) = (dice.within(60.0, 250.0), dice.within(50.0, 200.0));
    match dice.whole(0, 3) {
        0 => turned(&[(-x, -y), (x, -y), (x, y), (-x, y)]),
        1 => {
            let (u, v) = (x * dice.within(-0.4, 0.5), y * dice.within(-0.4, 0.5));
            turned(&[(-x, -y), (x, -y), (x, v), (u, v), (u, y), (-x, y)])
        }
        _ => {
            let corners = dice.whole(4, 9);
            star(dice, corners, DVec2::ZERO, [0.5 * x, 1.2 * x])
        }
    }
}

/// A ring about a place, each corner within its own sector.
pub(crate) fn star(dice: &mut Dice, corners: u32, about_m: DVec2, [least_m, most_m]: [f64; 2]) -> Vec<DVec2> {
    let start = dice.within(0.0, TAU);
    (0..corners)
        .map(|k| {
            let azimuth = start + (f64::from(k) + dice.within(0.15, 0.85)) * TAU / f64::from(corners);
            about_m + DVec2::from_angle(azimuth) * dice.within(least_m, most_m)
        })
        .collect()
}

fn terrain(dice: &mut Dice, reach_m: f64) -> Terrain {
    match dice.whole(0, 3) {
        0 | 1 => Terrain::default(),
        2 => Terrain::Plane {
            at_origin_m: dice.within(-20.0, 400.0),
            slope_east: dice.within(-0.12, 0.12),
            slope_north: dice.within(-0.12, 0.12),
        },
        _ => {
            let (step_m, half) = (25.0, (2.0 * reach_m / 25.0).ceil() + 12.0);
            let side = 2 * half as usize + 1;
            let south_west_m = DVec2::splat(-half * step_m);
            let waves: Vec<(DVec2, f64, f64)> = (0..3)
                .map(|_| {
                    let along = DVec2::from_angle(dice.within(0.0, TAU)) / dice.within(40.0, 120.0);
                    (along, dice.within(0.0, TAU), dice.within(1.0, 6.0))
                })
                .collect();
            let height = |at: DVec2| -> f64 { waves.iter().map(|w| w.2 * (w.0.dot(at) + w.1).sin()).sum() };
            let heights: Vec<f64> = (0..side * side)
                .map(|k| {
                    50.0 + height(south_west_m + DVec2::new((k % side) as f64, (k / side) as f64) * step_m)
                })
                .collect();
            let grid =
                TerrainGrid::from_heights_m(south_west_m, DVec2::splat(step_m), (side, side), &heights);
            Terrain::Grid(Arc::new(grid.expect("a sound grid")))
        }
    }
}

fn structure(dice: &mut Dice, id: Id, reach_m: f64) -> Structure {
    let at_m = dice.place(DVec2::ZERO, 0.8 * reach_m);
    let (x, y) = (dice.within(4.0, 30.0), dice.within(4.0, 20.0));
    let turn = DVec2::from_angle(dice.within(0.0, TAU));
    let turned =
        |corners: &[(f64, f64)]| corners.iter().map(|c| at_m + turn.rotate(DVec2::from(*c))).collect();
    let footprint_m: Vec<DVec2> = match dice.whole(0, 3) {
        0 => (0..12).map(|k| at_m + DVec2::from_angle(f64::from(k) * TAU / 12.0) * x).collect(),
        1 => turned(&[(-x, -y), (x, -y), (x, 0.1 * y), (-0.2 * x, 0.1 * y), (-0.2 * x, y), (-x, y)]),
        _ => turned(&[(-x, -y), (x, -y), (x, y), (-x, y)]),
    };
    let height_m = dice.within(4.0, 45.0);
    let kind = if dice.chance(0.15) {
        let soffit_m = dice.within(8.0, 20.0);
        StructureKind::Deck { soffit_m, top_m: soffit_m + dice.within(1.0, 3.0), piers: Vec::new() }
    } else {
        StructureKind::Extrusion { height_m }
    };
    Structure { id, name: format!("Structure {id}"), footprint_m, kind }
}

fn aircraft(dice: &mut Dice, id: Id) -> Aircraft {
    let mut aircraft = scene::aircraft();
    aircraft.id = id;
    aircraft.name = format!("Aircraft {id}");
    let width_px = dice.whole(4000, 9000);
    aircraft.camera.width_px = width_px;
    aircraft.camera.height_px = (f64::from(width_px) * dice.within(0.6, 0.8)) as u32;
    aircraft.camera.focal_length_mm = f64::from(width_px) * 2.5e-3 * dice.within(0.6, 1.4);
    aircraft.camera.shortest_interval_s = dice.within(0.4, 1.2);
    aircraft.gimbal.tilt_max_deg = 180.0;
    let airframe = &mut aircraft.airframe;
    airframe.top_speed_mps = dice.within(8.0, 18.0);
    airframe.endurance_min = dice.within(16.0, 45.0);
    airframe.lateral_mps2 = dice.chance(0.25).then(|| dice.within(2.0, 5.0));
    aircraft
}

/// One of the templates, its settings moved about; a nadir block where the site has nothing for the template.
fn strategy(dice: &mut Dice, scenario: &Scenario) -> Strategy {
    let first_id = Id(scenario.free_id().0.max(10));
    let aircraft = &scenario.equipment.aircraft[dice.whole(0, 1) as usize];
    let above = if dice.chance(0.25) { Above::Ground } else { Above::MeanGround };
    let distance = if dice.chance(0.5) {
        Distance::Gsd { cm: dice.within(1.2, 4.0), above }
    } else {
        Distance::Height { m: dice.within(45.0, 115.0), above }
    };
    let place = dice.whole(0, 7) as usize;
    let start = TemplateStart { first_id, aircraft, distance, gsd_cm: &scenario.requirement.gsd_cm };
    let on_site =
        |template: SiteTemplate| template.strategy(&scenario.site, &SiteChoice::default(), &start).ok();
    let line_m = scenario.site.boundary_m[..3].to_vec();
    let corridor = || {
        let choice = SiteChoice { line_m: &line_m, width_m: Some(40.0), ..SiteChoice::default() };
        SiteTemplate::Corridor.strategy(&scenario.site, &choice, &start).ok()
    };
    let made = match place {
        0 => on_site(SiteTemplate::NadirBlockWithOrbits),
        1 => on_site(SiteTemplate::FacadeWrap),
        2 => on_site(SiteTemplate::UndersideSections),
        3 => corridor(),
        _ => None,
    };
    let template = Template::ALL[place % 4];
    let mut strategy = made.unwrap_or_else(|| template.strategy(first_id, aircraft.id, distance));
    strategy.name = format!("{} {first_id}", strategy.name);
    for pass in &mut strategy.passes {
        pass.forward_overlap = dice.within(0.6, 0.85);
        pass.sidelap = dice.within(0.5, 0.8);
        pass.speed_mps = dice.chance(0.3).then(|| dice.within(3.0, 12.0));
        let strips = pass.pattern.kind() == PatternKind::Strips;
        pass.margin_m = (strips && dice.chance(0.3)).then(|| dice.within(0.0, 60.0));
        let tilted = pass.attitudes.len() == 1 && pass.attitudes[0].tilt_deg > 0.0 && strips;
        if tilted {
            pass.attitudes[0].tilt_deg = dice.within(15.0, 50.0);
        }
    }
    strategy
}

/// Derived: what the tests draw is sound, and equal seeds draw equal scenarios.
#[test]
fn drawn_scenarios_are_sound() {
    for seed in 0..300 {
        let drawn = scenario(seed);
        assert_eq!(drawn.faults(), Vec::new(), "seed {seed}");
        assert_eq!(drawn, scenario(seed));
    }
}
