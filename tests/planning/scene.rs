//! Small sites and aircraft that the tests share.

use glam::DVec2;
use obliquity_planning::*;
use std::sync::Arc;

/// An aircraft with common figures: 20 megapixels, f = 3648 px, 10 m/s, 2 m/s², shot interval 0.7 s.
pub(crate) fn aircraft() -> Aircraft {
    Aircraft {
        id: Id(1),
        name: "Plain".to_owned(),
        camera: Camera {
            width_px: 5472,
            height_px: 3648,
            sensor: Sensor::PixelPitch { um: 2.5 },
            focal_length_mm: 9.12,
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
            tilt_min_deg: -50.0,
            tilt_max_deg: 90.0,
            pan_min_deg: -60.0,
            pan_max_deg: 60.0,
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

/// An open ring from corner pairs.
pub(crate) fn ring(corners: &[(f64, f64)]) -> Vec<DVec2> {
    corners.iter().map(|&(x, y)| DVec2::new(x, y)).collect()
}

/// A level site with nothing on it.
pub(crate) fn level_site(boundary: &[(f64, f64)]) -> Site {
    Site {
        name: "Test field".to_owned(),
        origin: None,
        boundary_m: ring(boundary),
        take_off_m: DVec2::new(boundary[0].0, boundary[0].1),
        terrain: Terrain::default(),
        structures: Vec::new(),
        typical_building: None,
        keep_outs: Vec::new(),
        control_points: Vec::new(),
        sample_spacing_m: None,
    }
}

/// A box of given height.
pub(crate) fn tower(low: (f64, f64), high: (f64, f64), height_m: f64) -> Structure {
    Structure {
        id: Id(1),
        name: "Tower".to_owned(),
        footprint_m: ring(&[low, (high.0, low.1), high, (low.0, high.1)]),
        kind: StructureKind::Extrusion { height_m },
    }
}

/// A scenario of every template on a site, led by a height, in still air: closed forms know no wind.
pub(crate) fn scenario(site: Site, height_m: f64) -> Scenario {
    let distance = Distance::Height { m: height_m, above: Above::MeanGround };
    let strategies = Template::ALL
        .iter()
        .zip([10, 20, 30, 40])
        .map(|(t, id)| t.strategy(Id(id), Id(1), distance))
        .collect();
    Scenario {
        name: "Test".to_owned(),
        note: String::new(),
        site: Arc::new(site),
        equipment: Arc::new(Equipment { aircraft: vec![aircraft()] }),
        strategies,
        reference: None,
        conditions: Conditions { wind: wind::Wind::STILL, ..Conditions::default() },
        requirement: Requirement::default(),
        rates: Rates::default(),
        job: Job::default(),
        underlay: None,
    }
}

/// Evaluates one strategy without anything kept.
pub(crate) fn outcome(scenario: &Scenario, strategy: u32, depth: Depth) -> Outcome {
    let store = Store::new(0);
    Evaluator { store: &store, watch: &NoWatch }
        .evaluate(scenario, Id(strategy), depth)
        .expect("the scenario can be evaluated")
}
