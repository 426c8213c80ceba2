use crate::base::limits;
use crate::scenario::check::check_numbers;
use crate::scenario::faults::{Checker, Fault};
use crate::scenario::{Camera, Equipment, Gimbal, Sensor, knob};
use glam::DVec2;

/// Pixels may differ from squares by this share.
const SQUARE_WITHIN: f64 = 0.01;

impl Equipment {
    /// Everything wrong with the equipment alone, in the order of its fields: `aircraft[2].camera.image_mb`.
    pub fn faults(&self) -> Vec<Fault> {
        let mut found = Checker::default();
        check(&mut found, self, "aircraft");
        found.faults
    }
}

/// `list_path` is where the list of aircraft stands.
pub(super) fn check(check: &mut Checker, equipment: &Equipment, list_path: &str) {
    let list = &equipment.aircraft;
    check.at_most(list_path, "aircraft", list.len(), limits::AIRCRAFT);
    check.unique("aircraft", list.iter().enumerate().map(|(i, a)| (format!("{list_path}[{i}]"), a.id)));
    for (index, aircraft) in list.iter().enumerate() {
        let path = format!("{list_path}[{index}]");
        check.name(format!("{path}.name"), "aircraft", &aircraft.name);
        let place = |field: &str| field.replace("equipment.aircraft[]", &path);
        check_numbers(check, knob::OF_AIRCRAFT, aircraft, &place);
        check_sensor(check, &format!("{path}.camera"), &aircraft.camera);
        check_distortion(check, &format!("{path}.camera"), &aircraft.camera);
        check_gimbal(check, &format!("{path}.gimbal"), &aircraft.gimbal);
    }
}

/// The sensor's size: either way of giving it follows from the other.
fn check_sensor(check: &mut Checker, path: &str, camera: &Camera) {
    match camera.sensor {
        Sensor::PixelPitch { um } => check.number(format!("{path}.sensor.um"), um, limits::PIXEL_PITCH_UM),
        Sensor::Size { width_mm, height_mm } => {
            check.number(format!("{path}.sensor.width_mm"), width_mm, limits::SENSOR_MM);
            check.number(format!("{path}.sensor.height_mm"), height_mm, limits::SENSOR_MM);
            check_square(check, path, camera, width_mm, height_mm);
        }
    }
}

fn check_square(check: &mut Checker, path: &str, camera: &Camera, width_mm: f64, height_mm: f64) {
    let across_um = width_mm * 1e3 / f64::from(camera.width_px);
    let along_um = height_mm * 1e3 / f64::from(camera.height_px);
    let ratio = across_um / along_um;
    if ratio.is_finite() && (ratio - 1.0).abs() > SQUARE_WITHIN {
        let message = format!(
            "sensor size and pixel counts must give square pixels within 1 %, but they give {across_um:.4} by \
             {along_um:.4} µm; check the order of the sides, or give the pixel pitch"
        );
        check.fault(format!("{path}.sensor"), message);
    }
}

/// Places along each half of a side of the frame where the lens is asked to be one-to-one.
const PLACES: u32 = 4;

/// A lens that folds the image within the frame is none that can be flown: mostly its numbers are of another unit.
fn check_distortion(check: &mut Checker, path: &str, camera: &Camera) {
    let half = camera.model().half_extent();
    let lens = camera.distortion;
    if lens.is_none() || !half.is_finite() {
        return;
    }
    let along = |k: u32| f64::from(k) / f64::from(PLACES);
    let edge = (0..=PLACES).flat_map(|k| [DVec2::new(along(k), 1.0), DVec2::new(1.0, along(k))]);
    let signs = [(1.0, 1.0), (-1.0, 1.0), (1.0, -1.0), (-1.0, -1.0)].map(DVec2::from);
    let mut places = edge.flat_map(|at| signs.map(|sign| at * sign * half));
    if let Some(folded) = places.find(|at| lens.undistorted(*at).is_none()) {
        let message = format!(
            "the distortion must image every point of the frame from one place, but it folds before {:.2} focal lengths \
             from the middle, where the frame ends; check the signs, and that the coefficients are for coordinates in \
             focal lengths, not in pixels or millimetres",
            folded.length()
        );
        check.fault(format!("{path}.distortion"), message);
    }
}

fn check_gimbal(check: &mut Checker, path: &str, gimbal: &Gimbal) {
    let (least, most) = (gimbal.tilt_min_deg, gimbal.tilt_max_deg);
    if least > most {
        let message = format!(
            "the minimum tilt must not exceed the maximum, but they are {least} and {most}; exchange them"
        );
        check.fault(format!("{path}.tilt_min_deg"), message);
    }
}
