//! What predicted accuracy rests on survives its file, may be left out, and is refused with its place where it cannot be.

use crate::sample;
use obliquity_exchange::{parse_scenario, write_scenario};
use obliquity_planning::{
    Accuracy, AccuracyLevel, Brown, Camera, CameraCalibration, ControlPoint, Gnss, PointRole, Scenario,
    Survey,
};
use proptest::prelude::*;
use std::sync::Arc;

fn camera(scenario: &mut Scenario) -> &mut Camera {
    &mut Arc::make_mut(&mut scenario.equipment).aircraft[0].camera
}

/// Derived: a file of before says nothing of any of it and has the defaults of common practice.
#[test]
fn a_file_of_before_has_the_usual_inputs() {
    let scenario = sample::scenario();
    let aircraft = &scenario.equipment.aircraft[0];
    assert_eq!(aircraft.camera.distortion, Brown::NONE);
    assert_eq!(aircraft.camera.calibration, CameraCalibration::Uncalibrated);
    assert!((aircraft.camera.image_noise_px - 0.5).abs() < f64::EPSILON);
    assert_eq!(aircraft.airframe.gnss, Some(Gnss::default()));
    assert_eq!(scenario.conditions.survey, Survey { horizontal_m: 0.01, vertical_m: 0.02 });
    assert_eq!(scenario.requirement.accuracy, Accuracy::default());
    let text = write_scenario(&scenario);
    for unsaid in ["distortion", "calibration", "accuracy", "role"] {
        assert!(!text.contains(unsaid), "{unsaid} is as usual and not written: {text}");
    }
    let without = sample::TEXT.replace("gnss: (random_horizontal_m: 0.01,", "gnss: (");
    assert_eq!(
        parse_scenario(&without, "part.ron").unwrap(),
        scenario,
        "what is left out of the positioning"
    );
}

fn calibrations() -> impl Strategy<Value = CameraCalibration> {
    let earlier = (0.01..100.0, 0.01..100.0, 0.01..100.0).prop_map(
        |(focal_sigma_px, centre_sigma_px, corner_sigma_px)| CameraCalibration::EarlierJob {
            focal_sigma_px,
            centre_sigma_px,
            corner_sigma_px,
        },
    );
    prop_oneof![Just(CameraCalibration::Uncalibrated), Just(CameraCalibration::Fixed), earlier]
}

fn lenses() -> impl Strategy<Value = Brown> {
    let radial = || -0.03..0.2;
    (radial(), radial(), radial(), -0.001..0.001, -0.001..0.001).prop_map(|(k1, k2, k3, p1, p2)| Brown {
        k1,
        k2,
        k3,
        p1,
        p2,
    })
}

fn positions() -> impl Strategy<Value = Option<Gnss>> {
    let error = || 0.0..3.0;
    prop::option::of((error(), error(), error(), error()).prop_map(|(a, b, c, d)| Gnss {
        random_horizontal_m: a,
        random_vertical_m: b,
        constant_horizontal_m: c,
        constant_vertical_m: d,
    }))
}

fn accuracies() -> impl Strategy<Value = Accuracy> {
    let limit = || prop::option::of(0.001..10.0);
    (0..3_usize, limit(), limit()).prop_map(|(level, horizontal_m, vertical_m)| Accuracy {
        level: AccuracyLevel::ALL[level],
        horizontal_m,
        vertical_m,
    })
}

proptest! {
    /// Derived: whatever is set comes back from its file, to the last bit.
    #[test]
    fn what_accuracy_rests_on_survives_a_round_trip(
        distortion in lenses(),
        calibration in calibrations(),
        gnss in positions(),
        accuracy in accuracies(),
        image_noise_px in 0.01..10.0,
        (horizontal_m, vertical_m) in (0.0005..10.0, 0.0005..10.0),
    ) {
        let mut scenario = sample::scenario();
        let own = camera(&mut scenario);
        (own.distortion, own.calibration, own.image_noise_px) = (distortion, calibration, image_noise_px);
        Arc::make_mut(&mut scenario.equipment).aircraft[0].airframe.gnss = gnss;
        scenario.conditions.survey = Survey { horizontal_m, vertical_m };
        scenario.requirement.accuracy = accuracy;
        let roles = [PointRole::Control, PointRole::Check];
        let point = |role: PointRole| ControlPoint { name: role.name().to_owned(), at_m: (20.0, 30.0).into(), role };
        Arc::make_mut(&mut scenario.site).control_points = roles.map(point).to_vec();
        let text = write_scenario(&scenario);
        let read = parse_scenario(&text, "again.ron").map_err(|error| TestCaseError::fail(error.to_string()))?;
        prop_assert_eq!(read, scenario);
    }
}

/// The sample with something more said of its camera.
fn with_camera(more: &str) -> String {
    sample::TEXT.replace("image_mb: 9.0,", &format!("image_mb: 9.0, {more}"))
}

#[test]
fn what_cannot_be_is_refused_with_its_place_and_the_mend() {
    for (more, told) in [
        ("distortion: (k4: 0.1),", "there is no field \"k4\" in Brown"),
        ("calibration: Good,", "Good"),
        ("calibration: EarlierJob(focal_px: 1.0),", "there is no field \"focal_px\" in EarlierJob"),
        ("calibration: EarlierJob(corner_sigma_px: 0.0),", "hold the calibration fixed"),
        ("image_noise_px: 0.0,", "image noise must be at least 0.01"),
        ("distortion: (k1: -120.0),", "give Brown's coefficient for coordinates in focal lengths"),
        // r (1 − 2 r²) is greatest at r = 0.41, and the sample's corner lies at 0.89
        ("distortion: (k1: -2.0),", "it folds before"),
    ] {
        let text = with_camera(more);
        let error = parse_scenario(&text, "lens.ron").unwrap_err().to_string();
        let line = text.lines().position(|line| line.contains(more)).unwrap() + 1;
        assert!(error.starts_with(&format!("lens.ron:{line}:")), "{more}: {error}");
        assert!(error.contains(told), "{more}: {error}");
    }
}

/// Derived: without satellites, by the word or by none; a file says which.
#[test]
fn images_may_be_placed_by_no_satellites() {
    let start = sample::TEXT.find("gnss: (").unwrap();
    let end = start + sample::TEXT[start..].find("),").unwrap() + 1;
    let text = format!("{}gnss: None{}", &sample::TEXT[..start], &sample::TEXT[end..]);
    let scenario = parse_scenario(&text, "none.ron").unwrap_or_else(|error| panic!("{error}"));
    assert_eq!(scenario.equipment.aircraft[0].airframe.gnss, None);
    assert_eq!(parse_scenario(&write_scenario(&scenario), "again.ron").unwrap(), scenario);
}
