//! Compares two overlaps of a nadir block on a field, using nothing but the planning crate:
//! `cargo run -p obliquity-planning --example compare_two_overlaps`.
//!
//! Values go in and values come out: the scenario is built here, the evaluator predicts, this program prints.
#![allow(clippy::print_stdout, reason = "an example shows its result")]

use glam::DVec2;
use obliquity_planning::{
    Above, Aircraft, Airframe, Camera, Conditions, Depth, Distance, Equipment, Evaluator, Gimbal, Gnss, Id,
    Job, NoWatch, OnSite, Outcome, Rates, Requirement, Scenario, Sensor, Shutter, Site, Stopped, Store,
    Strategy, Structure, StructureKind, Template, Terrain,
};
use std::sync::Arc;

fn main() -> Result<(), Stopped> {
    let scenario = scenario();
    let store = Store::new(64_000_000);
    let evaluator = Evaluator { store: &store, watch: &NoWatch };
    for outcome in evaluator.evaluate_all(&scenario, Depth::Views)? {
        print(&outcome);
    }
    Ok(())
}

fn print(outcome: &Outcome) {
    println!("{}", outcome.name);
    let (Some(plan), Some(timing), Some(load)) = (outcome.passes[0].laid(), &outcome.timing, &outcome.load)
    else {
        return println!("  cannot be flown: {}", outcome.reasons.join("; "));
    };
    println!(
        "  {:.1} m high, a base of {:.1} m, strips {:.1} m apart, {:.1} m/s bound by {}",
        plan.layout.height_m,
        plan.layout.air_base_m,
        plan.layout.strip_spacing_m,
        plan.speed.speed_mps,
        plan.speed.bound_by.name()
    );
    println!("  {} images, {:.1} min in the air", load.image_count, timing.time.flight_s / 60.0);
    for (class, covered) in outcome.coverage().iter() {
        if let Some(covered) = covered {
            println!("  {} covered: {:.1} %", class.name(), covered * 100.0);
        }
    }
}

fn scenario() -> Scenario {
    let strategies = vec![
        nadir_block(10, "80 % forward, 70 % side", [0.80, 0.70]),
        nadir_block(20, "70 % forward, 60 % side", [0.70, 0.60]),
    ];
    Scenario {
        name: "Two overlaps".to_owned(),
        note: String::new(),
        site: Arc::new(site()),
        equipment: Arc::new(Equipment { aircraft: vec![aircraft()] }),
        strategies,
        reference: Some(Id(10)),
        conditions: Conditions::default(),
        requirement: Requirement::default(),
        rates: Rates::default(),
        job: Job::default(),
        underlay: None,
    }
}

fn nadir_block(id: u32, name: &str, [forward, side]: [f64; 2]) -> Strategy {
    let distance = Distance::Gsd { cm: 2.0, above: Above::MeanGround };
    let mut strategy = Template::NadirBlock.strategy(Id(id), Id(1), distance);
    name.clone_into(&mut strategy.name);
    for pass in &mut strategy.passes {
        pass.forward_overlap = forward;
        pass.sidelap = side;
    }
    strategy
}

/// Five hectares of level ground with one barn.
fn site() -> Site {
    let ring = |corners: [(f64, f64); 4]| corners.map(DVec2::from).to_vec();
    Site {
        name: "Field with a barn".to_owned(),
        origin: None,
        boundary_m: ring([(0.0, 0.0), (250.0, 20.0), (240.0, 215.0), (-15.0, 205.0)]),
        take_off_m: DVec2::new(20.0, 20.0),
        terrain: Terrain::default(),
        structures: vec![Structure {
            id: Id(1),
            name: "Barn".to_owned(),
            footprint_m: ring([(90.0, 80.0), (130.0, 80.0), (130.0, 100.0), (90.0, 100.0)]),
            kind: StructureKind::Extrusion { height_m: 9.0 },
        }],
        typical_building: None,
        keep_outs: Vec::new(),
        control_points: Vec::new(),
        sample_spacing_m: None,
    }
}

fn aircraft() -> Aircraft {
    Aircraft {
        id: Id(1),
        name: "Example quad".to_owned(),
        camera: Camera {
            width_px: 5400,
            height_px: 3600,
            sensor: Sensor::PixelPitch { um: 2.5 },
            focal_length_mm: 9.0,
            shortest_interval_s: 0.7,
            exposure_s: 1.0 / 1600.0,
            metering: None,
            distortion: obliquity_planning::Brown::NONE,
            calibration: obliquity_planning::CameraCalibration::Uncalibrated,
            image_noise_px: 0.5,
            image_mb: 9.0,
            shutter: Shutter::Mechanical,
        },
        gimbal: Gimbal {
            tilt_min_deg: -30.0,
            tilt_max_deg: 90.0,
            pan_min_deg: 0.0,
            pan_max_deg: 0.0,
            slew_dps: 120.0,
            settle_s: 0.2,
        },
        airframe: Airframe {
            top_speed_mps: 10.0,
            climb_mps: 4.0,
            descent_mps: 3.0,
            acceleration_mps2: 2.0,
            endurance_min: 28.0,
            reserve: 0.25,
            swap_min: 3.0,
            gnss: Some(Gnss {
                random_horizontal_m: 0.01,
                random_vertical_m: 0.02,
                constant_horizontal_m: 0.015,
                constant_vertical_m: 0.03,
            }),
            top_airspeed_mps: None,
            lateral_mps2: None,
            energy: None,
            corrections: None,
        },
        on_site: OnSite::default(),
    }
}
