//! A small scenario and outcomes made up by hand, for what needs no evaluation.

use glam::DVec2;
use obliquity_planning::light::{NoExposure, NoLight};
use obliquity_planning::{
    Above, Aim, Aircraft, Airframe, Attitude, BeginAt, BlurOn, ByClass, Camera, Capacity, Caution,
    CautionSource, ClassFigures, Conditions, CountingRule, CrewInputs, Depth, DiskTerms, Distance, Equipment,
    ExposureTerms, Flight, FlightTerms, FlownTerms, FlyingOrder, Gimbal, Gnss, GsdSpread, HourTerms, Id, Job,
    Judgement, LayoutTerms, LoadFigures, MeasureId, MemoryTerms, OnSite, Outcome, Pass, PassOutcome,
    PassPairs, PassPlan, Pattern, RING_COUNT, Rates, Reason, Requirement, Rose, SECTOR_COUNT, SampleFigures,
    Scenario, Sensor, Severity, Shortage, Shutter, Site, Sortie, SpeedBound, SpeedTerms, Stations, Strategy,
    StripDirection, Strips, Structure, StructureKind, SurfaceClass, Terrain, TimeTerms, Timing, ViewFigures,
    ViewLimits, ViewRules, attended_hours,
};
use std::sync::Arc;

pub(crate) const NADIR: Id = Id(1);
pub(crate) const CROSSED: Id = Id(2);
pub(crate) const FIVE: Id = Id(3);

/// One yard of 300 m by 200 m with a shed, one aircraft, three strategies.
pub(crate) fn scenario() -> Scenario {
    Scenario {
        name: "Timber yard".to_owned(),
        note: String::new(),
        site: Arc::new(site()),
        equipment: Arc::new(Equipment { aircraft: vec![aircraft()] }),
        strategies: vec![
            strategy(NADIR, "Nadir block", vec![pass(10, 0.0, 80.0, 0.8, 0.7)]),
            strategy(
                CROSSED,
                "Crossed strips",
                // Both passes lie alike in spite of the name, so that walls are left for tests to find uncovered.
                vec![pass(20, 30.0, 80.0, 0.8, 0.7), pass(21, 30.0, 80.0, 0.8, 0.7)],
            ),
            strategy(
                FIVE,
                "Five-direction oblique",
                vec![pass(30, 0.0, 80.0, 0.8, 0.7), pass(31, 45.0, 80.0, 0.7, 0.55)],
            ),
        ],
        reference: None,
        conditions: Conditions::default(),
        requirement: Requirement::default(),
        rates: Rates::default(),
        job: Job::default(),
        underlay: None,
    }
}

/// The same, looked at every so many metres.
pub(crate) fn sampled(spacing_m: f64) -> Scenario {
    let mut scenario = scenario();
    Arc::make_mut(&mut scenario.site).sample_spacing_m = Some(spacing_m);
    scenario
}

fn site() -> Site {
    let ring = |corners: &[(f64, f64)]| corners.iter().map(|&(x, y)| DVec2::new(x, y)).collect::<Vec<_>>();
    Site {
        name: "Yard".to_owned(),
        origin: None,
        boundary_m: ring(&[(0.0, 0.0), (300.0, 0.0), (300.0, 200.0), (0.0, 200.0)]),
        take_off_m: DVec2::new(20.0, 20.0),
        terrain: Terrain::default(),
        structures: vec![Structure {
            id: Id(1),
            name: "Shed".to_owned(),
            footprint_m: ring(&[(100.0, 80.0), (160.0, 80.0), (160.0, 120.0), (100.0, 120.0)]),
            kind: StructureKind::Extrusion { height_m: 12.0 },
        }],
        typical_building: None,
        keep_outs: Vec::new(),
        control_points: Vec::new(),
        sample_spacing_m: Some(8.0),
    }
}

fn aircraft() -> Aircraft {
    Aircraft {
        id: Id(1),
        name: "Linnet".to_owned(),
        camera: Camera {
            width_px: 5000,
            height_px: 4000,
            sensor: Sensor::PixelPitch { um: 3.0 },
            focal_length_mm: 12.0,
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
            tilt_min_deg: -10.0,
            tilt_max_deg: 100.0,
            pan_min_deg: -180.0,
            pan_max_deg: 180.0,
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

fn strategy(id: Id, name: &str, passes: Vec<Pass>) -> Strategy {
    Strategy {
        id,
        name: name.to_owned(),
        aircraft: Id(1),
        passes,
        order: FlyingOrder::default(),
        reported: None,
        colour: None,
        on_site: OnSite::default(),
        take_offs_m: Vec::new(),
    }
}

fn pass(id: u32, tilt_deg: f64, height_m: f64, forward_overlap: f64, sidelap: f64) -> Pass {
    Pass {
        id: Id(id),
        pattern: Pattern::Strips(Strips {
            direction: StripDirection::Automatic { turned_deg: 0.0 },
            counting: CountingRule::default(),
            begin: BeginAt::default(),
        }),
        attitudes: vec![Attitude { tilt_deg, aim: Aim::FromTrack { deg: 0.0 } }],
        distance: Distance::Height { m: height_m, above: Above::MeanGround },
        forward_overlap,
        sidelap,
        speed_mps: None,
        margin_m: None,
        hover_s: None,
    }
}

/// An outcome whose figures are made up from the strategy's settings: images fall with height and rise with overlap.
pub(crate) fn outcome(scenario: &Scenario, id: Id, depth: Depth) -> Outcome {
    let strategy = scenario.strategy(id).expect("the test's own strategy");
    let image_count: u32 = strategy.passes.iter().map(pass_images).sum();
    let flight_s = f64::from(image_count) * 2.5;
    let views = (depth == Depth::Views).then(|| Arc::new(views(id)));
    let sortie = Sortie {
        duration_s: flight_s,
        energy_j: 1.0,
        usable_j: 2.0,
        exposures: image_count,
        battery: 1,
        wait_s: 0.0,
        home: 0,
        move_s: 0.0,
    };
    let set_up_s = 900.0;
    Outcome {
        strategy: id,
        name: strategy.name.clone(),
        aircraft: "Linnet".to_owned(),
        depth,
        reasons: Vec::new(),
        assumed: false,
        passes: strategy.passes.iter().map(pass_outcome).collect(),
        timing: Some(Timing {
            passes: strategy.passes.iter().map(|pass| pass.id).collect(),
            flight: Arc::new(Flight {
                legs: Vec::new(),
                take_offs_m: vec![scenario.site.take_off_m.extend(0.0)],
                sorties: vec![sortie; (flight_s / 1260.0).ceil() as usize],
                station_time_s: Vec::new(),
                terms: FlightTerms { strips_s: flight_s, ..FlightTerms::default() },
                route_length_m: 6.0 * flight_s,
                farthest_m: 300.0,
                reaches_m: vec![glam::DVec2::new(300.0, 0.0)],
                wind: scenario.conditions.wind,
                order: Vec::new(),
                capacity_j: 3.0,
                capacity: Capacity::SharesOnly,
                acceleration_mps2: 2.0,
                corrections: obliquity_planning::FlownCorrections::default(),
            }),
            time: TimeTerms {
                set_up_s,
                flight_s,
                swaps_s: 180.0,
                swap_s: 180.0,
                waits_s: 0.0,
                moves_s: 0.0,
                moves: 0,
                move_s: 600.0,
                control_s: 0.0,
                control_points: 0,
                per_control_point_s: 360.0,
                pack_up_s: 600.0,
                inputs: CrewInputs::default(),
            },
            bands: None,
        }),
        network: None,
        load: Some(load(scenario, id, image_count, depth)),
        job: None,
        views,
        light: Err(NoLight::NoMission),
        exposure: Err(NoExposure::NoLevel),
        site: None,
        cautions: cautions(id),
        judgements: judgements(id, depth),
    }
}

/// Hours of 2 in all, and what they are made of.
fn load(scenario: &Scenario, id: Id, image_count: u32, depth: Depth) -> LoadFigures {
    LoadFigures {
        image_count,
        skipped_exposures: if id == FIVE { 12 } else { 0 },
        storage_gb: 0.009 * f64::from(image_count),
        image_mb: 9.0,
        megapixels: 20.0,
        gigapixels: 0.02 * f64::from(image_count),
        image_pairs: (depth == Depth::Views).then(|| u64::from(image_count) * 30),
        pairs_by_pass: (depth == Depth::Views)
            .then_some(PassPairs { first: 0, second: 0, pairs: u64::from(image_count) * 30 })
            .into_iter()
            .collect(),
        surfaces: ByClass::default(),
        work: None,
        hours: (depth == Depth::Views).then_some(HourTerms {
            features_h: 0.1,
            matching_h: 0.2,
            adjustment_h: 0.3,
            dense_h: 0.6,
            surface_h: 0.5,
            orthomosaic_h: 0.2,
            texture_h: 0.1,
        }),
        memory: (depth == Depth::Views).then_some(MemoryTerms {
            adjustment_gb: 0.1,
            dense_gb: 1.4,
            surface_gb: 8.0,
        }),
        disk: (depth == Depth::Views).then_some(DiskTerms {
            images_gb: 0.009 * f64::from(image_count),
            features_gb: 2.0,
            depth_gb: 0.08 * f64::from(image_count),
            points_gb: 1.2,
            orthomosaic_gb: 0.5,
            texture_gb: 0.3,
        }),
        attended: attended_hours(image_count, 0, &scenario.rates.attended),
        rates: scenario.rates.stages,
        standing: obliquity_planning::RateStanding::NotCalibrated,
    }
}

fn pass_images(pass: &Pass) -> u32 {
    let Distance::Height { m, .. } = pass.distance else { return 100 };
    let share = (1.0 - pass.forward_overlap) * (1.0 - pass.sidelap);
    (80_000.0 / (m * m * share)).round() as u32
}

fn pass_outcome(pass: &Pass) -> PassOutcome {
    let height_m = if let Distance::Height { m, .. } = pass.distance { m } else { 80.0 };
    let camera = aircraft().camera.model();
    let layout = LayoutTerms {
        asked: pass.distance,
        height_m,
        above: Above::MeanGround,
        lowest_m: height_m,
        stand_off_m: None,
        capped: false,
        vertical_gsd_m: camera.vertical_gsd_m(height_m),
        extent_along_m: 80.0,
        extent_across_m: 100.0,
        air_base_m: 16.0,
        strip_spacing_m: 30.0,
        counting: Some(CountingRule::default()),
        strips: 7,
        direction_rad: Some(0.0),
        corner_rad: None,
        margin_m: Some(25.0),
        boundary_width_m: Some(200.0),
        region_width_m: Some(250.0),
        strips_length_m: 2400.0,
        roof_forward_overlap: Some(0.76),
        roof_sidelap: Some(0.65),
        axis_forward_overlap: None,
        axis_sidelap: None,
        flown: FlownTerms { air_base_m: Some((16.0, 16.0)), spacing_m: Some((30.0, 30.0)), ring: None },
    };
    let speed = SpeedTerms {
        user_mps: None,
        airframe_mps: 10.0,
        interval_mps: 22.0,
        blur_mps: 14.0,
        blur_on: BlurOn::Ground,
        pattern_mps: None,
        speed_mps: 10.0,
        bound_by: SpeedBound::Airframe,
    };
    let plan = PassPlan {
        pass: pass.id,
        pattern: pass.pattern.kind(),
        subject: obliquity_planning::Subject::Ground,
        layout,
        speed,
        exposure: ExposureTerms { dwell_s: vec![0.7], cycle_s: 0.7 },
        ground: None,
        legs: Vec::new(),
        stations: Arc::new(Stations { camera, poses: Vec::new() }),
        skipped: 0,
    };
    PassOutcome {
        pass: pass.id,
        pattern: pass.pattern.kind(),
        plan: Ok(Arc::new(plan)),
        flight_time_s: Some(100.0),
    }
}

fn views(id: Id) -> ViewFigures {
    let (wall, unseen) = if id == NADIR { (0.01, 0.93) } else { (0.84, 0.02) };
    let figures = |covered_ratio: f64, unseen_ratio: f64, gsd_cm: f64| ClassFigures {
        area_m2: 1000.0,
        covered_ratio,
        gsd: Some(GsdSpread {
            p5_m: 0.008 * gsd_cm,
            p50_m: 0.009 * gsd_cm,
            p95_m: 0.0099 * gsd_cm,
            finer_m2: 940.0 * (1.0 - unseen_ratio),
            as_fine_m2: 955.0 * (1.0 - unseen_ratio),
        }),
        unseen_ratio,
        views_median: 9.0,
        rose: Rose { mean_views: [[0.0; SECTOR_COUNT]; RING_COUNT] },
        shortage: Shortage::default(),
    };
    ViewFigures {
        classes: ByClass {
            ground: Some(figures(0.996, 0.0, 2.0)),
            roof: Some(figures(1.0, 0.0, 1.7)),
            wall: Some(figures(wall, unseen, if id == NADIR { 5.1 } else { 3.2 })),
            underside: None,
        },
        samples: SampleFigures::default(),
        limits: ViewLimits::from(&Requirement::default()),
    }
}

fn cautions(id: Id) -> Vec<Caution> {
    let caution = |id, severity, text: &str| Caution {
        id,
        severity,
        text: text.into(),
        source: CautionSource::Practice,
        places: Vec::new(),
        gauge: None,
    };
    let mut all = vec![caution(
        "unknowns",
        Severity::Reminder,
        "this plan knows nothing of people, lines, airspace or weather; local rules and the remote pilot decide",
    )];
    if id == NADIR {
        all.push(caution(
            "roof_overlap",
            Severity::Check,
            "sidelap over the highest roof is 55 %, below 60 %",
        ));
    }
    all
}

fn judgements(id: Id, depth: Depth) -> Vec<Judgement> {
    let of = MeasureId::Coverage(SurfaceClass::Wall);
    let coverage = match (depth, id) {
        (Depth::Quick | Depth::Spread, _) => Judgement::Unknown { of },
        (Depth::Views | Depth::Preview | Depth::Network, NADIR) => Judgement::Missed {
            of,
            value: 0.01,
            required: 0.8,
            why: Reason::Uncovered(
                Shortage { too_slanted: 0.9, too_few: 0.09, ..Shortage::default() },
                ViewRules::default(),
            ),
        },
        (Depth::Views | Depth::Preview | Depth::Network, _) => {
            Judgement::Met { of, value: 0.84, required: 0.8 }
        }
    };
    let gsd = MeasureId::GsdP95(SurfaceClass::Wall);
    let missed_gsd = Judgement::Missed { of: gsd, value: 0.0505, required: 0.04, why: Reason::TooCoarse };
    let mut lines = vec![Judgement::Met { of: MeasureId::TimeOnSite, value: 3000.0, required: 7200.0 }];
    if depth == Depth::Views && id == NADIR {
        lines.push(missed_gsd);
    }
    lines.push(coverage);
    lines
}
