//! What operators commonly find, on a site like the demo's: 22 ha with silos of 38 m, default settings, one aircraft.

use crate::layout::{aircraft, camera_g, flat_site};
use glam::DVec2;
use obliquity_planning::wind::Wind;
use obliquity_planning::{
    Above, Aircraft, Camera, Conditions, Depth, Distance, Equipment, Evaluator, Id, Job, NoWatch, Outcome,
    Rates, Requirement, Scenario, Site, Store, Structure, StructureKind, Template,
};
use std::sync::Arc;

/// Common practice is no measurement: ratios hold within a quarter.
const QUARTER: f64 = 0.25;

fn terminal() -> Site {
    let square = |side_m: f64, centre: DVec2| {
        let corners = [(-0.5, -0.5), (0.5, -0.5), (0.5, 0.5), (-0.5, 0.5)];
        corners.map(|c| centre + DVec2::from(c) * side_m).to_vec()
    };
    let mut site = flat_site(square(469.0, DVec2::ZERO), vec![]);
    site.take_off_m = DVec2::new(10.0, 60.0);
    site.structures = (0..3u8)
        .map(|k| Structure {
            id: Id(u32::from(k) + 1),
            name: format!("silo {k}"),
            footprint_m: square(20.0, DVec2::new(-60.0 + 50.0 * f64::from(k), -80.0)),
            kind: StructureKind::Extrusion { height_m: 38.0 },
        })
        .collect();
    site
}

/// Practice: in good light cameras expose for 1/2500 s, and no crew slows down for what blur there is on the silos' roofs.
fn briefly_exposing(mut aircraft: Aircraft) -> Aircraft {
    aircraft.camera.exposure_s = 1.0 / 2500.0;
    aircraft
}

fn outcome(template: Template, camera: &Camera) -> Outcome {
    outcome_with_margin(template, camera, None)
}

fn outcome_with_margin(template: Template, camera: &Camera, margin_m: Option<f64>) -> Outcome {
    let distance = Distance::Gsd { cm: 2.0, above: Above::MeanGround };
    let mut strategy = template.strategy(Id(10), Id(1), distance);
    for pass in &mut strategy.passes {
        pass.margin_m = margin_m;
    }
    let scenario = Scenario {
        name: "practice".into(),
        note: String::new(),
        site: Arc::new(terminal()),
        equipment: Arc::new(Equipment { aircraft: vec![briefly_exposing(aircraft(camera))] }),
        strategies: vec![strategy],
        reference: None,
        conditions: Conditions { wind: Wind::STILL, ..Conditions::default() },
        requirement: Requirement::default(),
        rates: Rates::default(),
        job: Job::default(),
        underlay: None,
    };
    let store = Store::new(1 << 24);
    Evaluator { store: &store, watch: &NoWatch }
        .evaluate(&scenario, Id(10), Depth::Quick)
        .expect("the scenario is sound")
}

fn assert_ratio(what: &str, value: f64, practice: f64) {
    assert!((value / practice - 1.0).abs() <= QUARTER, "{what}: {value:.3}, by common practice {practice}");
}

/// Practice: crossed strips : cycled gimbal : five-direction are flown in times like 1 : 1.13 : 1.74.
#[test]
fn flight_times_follow_common_practice() {
    let time_s =
        |template| outcome(template, &camera_g()).flight().expect("it is there").terms.flight_time_s();
    let crossed_s = time_s(Template::CrossedStrips);
    assert_ratio("cycled : crossed", time_s(Template::CycledGimbal) / crossed_s, 1.13);
    assert_ratio("five-direction : crossed", time_s(Template::FiveDirectionOblique) / crossed_s, 1.74);
    assert_ratio("crossed : nadir", crossed_s / time_s(Template::NadirBlock), 2.0);
}

/// Practice: five-direction takes 1.41 times the images of crossed strips, and those about twice a nadir block's.
#[test]
fn image_counts_follow_common_practice() {
    let images =
        |template| f64::from(outcome(template, &camera_g()).load.as_ref().expect("it is there").image_count);
    let crossed = images(Template::CrossedStrips);
    assert_ratio("five-direction : crossed", images(Template::FiveDirectionOblique) / crossed, 1.41);
    assert_ratio("crossed : nadir", crossed / images(Template::NadirBlock), 2.0);
}

/// Practice: at equal GSD and overlap, below the height ceiling, four times the pixels need about a quarter of the
/// images. The margin is held equal too: by default it grows with the swath, and on 22 ha that makes it nearly a third.
#[test]
fn four_times_the_pixels_follow_common_practice() {
    let small = camera_g();
    let large = Camera { width_px: 2 * small.width_px, height_px: 2 * small.height_px, ..small.clone() };
    let large = Camera { sensor: obliquity_planning::Sensor::PixelPitch { um: 2.412280702 }, ..large };
    for template in [Template::NadirBlock, Template::CrossedStrips, Template::FiveDirectionOblique] {
        let [few, many] = [&large, &small].map(|camera| outcome_with_margin(template, camera, Some(25.0)));
        let gsd_m = |o: &Outcome| o.passes[0].laid().expect("it is there").layout.vertical_gsd_m;
        assert!((gsd_m(&few) / gsd_m(&many) - 1.0).abs() < 1e-6, "the two fly at the same GSD");
        assert_ratio(
            template.name(),
            f64::from(few.load.as_ref().expect("it is there").image_count)
                / f64::from(many.load.as_ref().expect("it is there").image_count),
            0.25,
        );
    }
}
