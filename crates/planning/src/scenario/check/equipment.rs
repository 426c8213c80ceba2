use crate::base::limits;
use crate::scenario::faults::{Checker, Fault};
use crate::scenario::{Airframe, Camera, Equipment, Gimbal, Sensor, Shutter};

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
        check_camera(check, &format!("{path}.camera"), &aircraft.camera);
        check_gimbal(check, &format!("{path}.gimbal"), &aircraft.gimbal);
        check_airframe(check, &format!("{path}.airframe"), &aircraft.airframe);
    }
}

fn check_camera(check: &mut Checker, path: &str, camera: &Camera) {
    let number = &mut |field: &str, value, range| check.number(format!("{path}.{field}"), value, range);
    number("width_px", f64::from(camera.width_px), limits::SENSOR_PX);
    number("height_px", f64::from(camera.height_px), limits::SENSOR_PX);
    number("focal_length_mm", camera.focal_length_mm, limits::FOCAL_LENGTH_MM);
    number("shortest_interval_s", camera.shortest_interval_s, limits::SHOT_INTERVAL_S);
    number("exposure_s", camera.exposure_s, limits::EXPOSURE_S);
    if let Some(metering) = camera.metering {
        number("metering.f_number", metering.f_number, limits::F_NUMBER);
        number("metering.iso", metering.iso, limits::ISO);
        number("metering.shortest_s", metering.shortest_s, limits::SHORTEST_EXPOSURE_S);
    }
    number("image_mb", camera.image_mb, limits::IMAGE_MB);
    if let Shutter::Rolling { readout_s } = camera.shutter {
        number("shutter.readout_s", readout_s, limits::READOUT_S);
    }
    match camera.sensor {
        Sensor::PixelPitch { um } => number("sensor.um", um, limits::PIXEL_PITCH_UM),
        Sensor::Size { width_mm, height_mm } => {
            number("sensor.width_mm", width_mm, limits::SENSOR_MM);
            number("sensor.height_mm", height_mm, limits::SENSOR_MM);
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

fn check_gimbal(check: &mut Checker, path: &str, gimbal: &Gimbal) {
    let number = &mut |field: &str, value, range| check.number(format!("{path}.{field}"), value, range);
    number("tilt_min_deg", gimbal.tilt_min_deg, limits::GIMBAL_TILT_DEG);
    number("tilt_max_deg", gimbal.tilt_max_deg, limits::GIMBAL_TILT_DEG);
    number("pan_min_deg", gimbal.pan_min_deg, limits::GIMBAL_PAN_LEFT_DEG);
    number("pan_max_deg", gimbal.pan_max_deg, limits::GIMBAL_PAN_RIGHT_DEG);
    number("slew_dps", gimbal.slew_dps, limits::SLEW_DPS);
    number("settle_s", gimbal.settle_s, limits::SETTLE_S);
    let (least, most) = (gimbal.tilt_min_deg, gimbal.tilt_max_deg);
    if least > most {
        let message = format!(
            "the least tilt must not exceed the greatest, but they are {least} and {most}; swap them"
        );
        check.fault(format!("{path}.tilt_min_deg"), message);
    }
}

fn check_airframe(check: &mut Checker, path: &str, airframe: &Airframe) {
    let number = &mut |field: &str, value, range| check.number(format!("{path}.{field}"), value, range);
    number("top_speed_mps", airframe.top_speed_mps, limits::SPEED_MPS);
    number("climb_mps", airframe.climb_mps, limits::VERTICAL_SPEED_MPS);
    number("descent_mps", airframe.descent_mps, limits::VERTICAL_SPEED_MPS);
    number("acceleration_mps2", airframe.acceleration_mps2, limits::ACCELERATION_MPS2);
    number("endurance_min", airframe.endurance_min, limits::ENDURANCE_MIN);
    number("reserve", airframe.reserve, limits::RESERVE);
    number("swap_min", airframe.swap_min, limits::SWAP_MIN);
    if let Some(top) = airframe.top_airspeed_mps {
        number("top_airspeed_mps", top, limits::AIRSPEED_MPS);
    }
    if let Some(lateral) = airframe.lateral_mps2 {
        number("lateral_mps2", lateral, limits::LATERAL_MPS2);
    }
    if let Some(energy) = &airframe.energy {
        number("energy.battery_wh", energy.battery_wh, limits::BATTERY_WH);
        number("energy.endurance_at_mps", energy.endurance_at_mps, limits::AIRSPEED_MPS);
        number("energy.mass_kg", energy.mass_kg, limits::MASS_KG);
        number("energy.rotors", f64::from(energy.rotors), limits::ROTORS);
        number("energy.rotor_diameter_m", energy.rotor_diameter_m, limits::ROTOR_DIAMETER_M);
        number("energy.health", energy.health, limits::HEALTH);
        number("energy.cold_loss_per_c", energy.cold_loss_per_c, limits::COLD_LOSS);
        for (field, minutes) in
            [("energy.hover_min", energy.hover_min), ("energy.top_speed_min", energy.top_speed_min)]
        {
            if let Some(minutes) = minutes {
                number(field, minutes, limits::ENDURANCE_MIN);
            }
        }
    }
    let gnss = airframe.gnss;
    number("gnss.random_horizontal_m", gnss.random_horizontal_m, limits::GNSS_M);
    number("gnss.random_vertical_m", gnss.random_vertical_m, limits::GNSS_M);
    number("gnss.constant_horizontal_m", gnss.constant_horizontal_m, limits::GNSS_M);
    number("gnss.constant_vertical_m", gnss.constant_vertical_m, limits::GNSS_M);
}
