//! Every number of an aircraft: one row each.

use crate::inputs::within;
use crate::units::{Quantity, Units};
use obliquity_planning::{Aircraft, Sensor, Shutter, limits};
use std::ops::RangeInclusive;

/// One number of an aircraft.
#[derive(Debug, Clone, Copy)]
pub struct Field {
    /// On the screen, beside the row.
    pub name: &'static str,
    /// What it is and where to find it.
    pub hint: &'static str,
    /// What it measures.
    pub quantity: Quantity,
    /// Most decimals shown.
    pub decimals: usize,
    /// Before the number.
    pub prefix: &'static str,
    /// Values allowed.
    pub range: fn(&Aircraft) -> RangeInclusive<f64>,
    /// Reads it; nothing where the aircraft has none.
    pub get: fn(&Aircraft) -> Option<f64>,
    /// Sets it.
    pub set: fn(&mut Aircraft, f64),
}

/// Rows under one heading.
#[derive(Debug, Clone, Copy)]
pub struct Group {
    /// The heading.
    pub name: &'static str,
    /// The rows.
    pub fields: &'static [Field],
}

/// A length in whole pixels; the sensor's sides follow, so that its pixels stay square.
fn set_pixels(aircraft: &mut Aircraft, [width, height]: [Option<f64>; 2]) {
    let camera = &mut aircraft.camera;
    camera.width_px = width.map_or(camera.width_px, |px| px.round() as u32);
    camera.height_px = height.map_or(camera.height_px, |px| px.round() as u32);
    if let Sensor::Size { width_mm, .. } = camera.sensor {
        set_width_mm(aircraft, width_mm);
    }
}

fn set_width_mm(aircraft: &mut Aircraft, width_mm: f64) {
    let camera = &mut aircraft.camera;
    let height_mm = width_mm * f64::from(camera.height_px) / f64::from(camera.width_px.max(1));
    camera.sensor = Sensor::Size { width_mm, height_mm };
}

fn width_mm(aircraft: &Aircraft) -> f64 {
    match aircraft.camera.sensor {
        Sensor::Size { width_mm, .. } => width_mm,
        Sensor::PixelPitch { um } => um * 1e-3 * f64::from(aircraft.camera.width_px),
    }
}

macro_rules! field {
    ($name:literal, $hint:literal, $quantity:expr, $decimals:literal, $range:expr, $get:expr, $set:expr) => {
        field!($name, $hint, $quantity, $decimals, "", $range, $get, $set)
    };
    ($name:literal, $hint:literal, $quantity:expr, $decimals:literal, $prefix:literal, $range:expr, $get:expr, $set:expr) => {
        Field {
            name: $name,
            hint: $hint,
            quantity: $quantity,
            decimals: $decimals,
            prefix: $prefix,
            range: $range,
            get: $get,
            set: $set,
        }
    };
}

/// All numbers of an aircraft, in the order of a data sheet.
pub const GROUPS: [Group; 4] = [
    Group {
        name: "Camera",
        fields: &[
            field!(
                "Image width",
                "Pixels along the long side of an image, which lies across the flight.",
                Quantity::Fixed("px"),
                0,
                |_| within(limits::SENSOR_PX),
                |a| Some(f64::from(a.camera.width_px)),
                |a, px| set_pixels(a, [Some(px), None])
            ),
            field!(
                "Image height",
                "Pixels along the short side of an image.",
                Quantity::Fixed("px"),
                0,
                |_| within(limits::SENSOR_PX),
                |a| Some(f64::from(a.camera.height_px)),
                |a, px| set_pixels(a, [None, Some(px)])
            ),
            field!(
                "Pixel pitch",
                "Side of one pixel. Give this or the sensor's width; the other follows.",
                Quantity::Fixed("µm"),
                3,
                |_| within(limits::PIXEL_PITCH_UM),
                |a| Some(a.camera.pixel_pitch_m() * 1e6),
                |a, um| a.camera.sensor = Sensor::PixelPitch { um }
            ),
            field!(
                "Sensor width",
                "Long side of the part of the sensor that the image uses; pixels are square, so the height follows.",
                Quantity::Fixed("mm"),
                2,
                |_| within(limits::SENSOR_MM),
                |a| Some(width_mm(a)),
                set_width_mm
            ),
            field!(
                "Focal length",
                "The true one, not the equivalent on another sensor.",
                Quantity::Fixed("mm"),
                2,
                |_| within(limits::FOCAL_LENGTH_MM),
                |a| Some(a.camera.focal_length_mm),
                |a, mm| a.camera.focal_length_mm = mm
            ),
            field!(
                "Shortest shot interval",
                "Between two exposures in a long row, with the file format you use.",
                Quantity::Fixed("s"),
                2,
                |_| within(limits::SHOT_INTERVAL_S),
                |a| Some(a.camera.shortest_interval_s),
                |a, s| a.camera.shortest_interval_s = s
            ),
            field!(
                "Exposure time",
                "As you set it for mapping; motion blur and so the speed follow from it.",
                Quantity::Fixed("s"),
                0,
                "1/",
                |_| 1.0 / limits::EXPOSURE_S.most..=1.0 / limits::EXPOSURE_S.least,
                |a| Some(1.0 / a.camera.exposure_s),
                |a, per_s| a.camera.exposure_s = 1.0 / per_s
            ),
            field!(
                "Image file",
                "Size of one image file, in megabytes (10⁶ bytes).",
                Quantity::Fixed("MB"),
                1,
                |_| within(limits::IMAGE_MB),
                |a| Some(a.camera.image_mb),
                |a, mb| a.camera.image_mb = mb
            ),
            field!(
                "Read-out time",
                "Of a rolling shutter, from the first line to the last; 0 for a mechanical shutter.",
                Quantity::Fixed("ms"),
                1,
                |_| 0.0..=1000.0 * limits::READOUT_S.most,
                |a| Some(match a.camera.shutter {
                    Shutter::Mechanical => 0.0,
                    Shutter::Rolling { readout_s } => 1000.0 * readout_s,
                }),
                |a, ms| a.camera.shutter =
                    if ms > 0.0 { Shutter::Rolling { readout_s: ms / 1000.0 } } else { Shutter::Mechanical }
            ),
        ],
    },
    Group {
        name: "Gimbal",
        fields: &[
            field!(
                "Least tilt",
                "From straight down; below 0 when the gimbal goes past it to the rear.",
                Quantity::Angle,
                0,
                |a| limits::GIMBAL_TILT_DEG.least..=a.gimbal.tilt_max_deg,
                |a| Some(a.gimbal.tilt_min_deg),
                |a, deg| a.gimbal.tilt_min_deg = deg
            ),
            field!(
                "Greatest tilt",
                "From straight down: 90° is level, 180° straight up.",
                Quantity::Angle,
                0,
                |a| a.gimbal.tilt_min_deg..=limits::GIMBAL_TILT_DEG.most,
                |a| Some(a.gimbal.tilt_max_deg),
                |a, deg| a.gimbal.tilt_max_deg = deg
            ),
            field!(
                "Pan to the left",
                "From the nose, 0 or below; 0 when the gimbal does not pan.",
                Quantity::Angle,
                0,
                |_| within(limits::GIMBAL_PAN_LEFT_DEG),
                |a| Some(a.gimbal.pan_min_deg),
                |a, deg| a.gimbal.pan_min_deg = deg
            ),
            field!(
                "Pan to the right",
                "From the nose, 0 or above; 0 when the gimbal does not pan.",
                Quantity::Angle,
                0,
                |_| within(limits::GIMBAL_PAN_RIGHT_DEG),
                |a| Some(a.gimbal.pan_max_deg),
                |a, deg| a.gimbal.pan_max_deg = deg
            ),
            field!(
                "Slew rate",
                "How fast the optical axis turns; a cycled gimbal waits for it.",
                Quantity::Fixed("°/s"),
                0,
                |_| within(limits::SLEW_DPS),
                |a| Some(a.gimbal.slew_dps),
                |a, dps| a.gimbal.slew_dps = dps
            ),
            field!(
                "Settle time",
                "From the end of a slew until an exposure is steady.",
                Quantity::Fixed("s"),
                2,
                |_| within(limits::SETTLE_S),
                |a| Some(a.gimbal.settle_s),
                |a, s| a.gimbal.settle_s = s
            ),
        ],
    },
    Group {
        name: "Airframe",
        fields: &[
            field!(
                "Top speed",
                "Fastest level speed while mapping, also used on transits.",
                Quantity::Speed,
                1,
                |_| within(limits::SPEED_MPS),
                |a| Some(a.airframe.top_speed_mps),
                |a, mps| a.airframe.top_speed_mps = mps
            ),
            field!(
                "Climb",
                "Vertical speed upward.",
                Quantity::VerticalSpeed,
                1,
                |_| within(limits::VERTICAL_SPEED_MPS),
                |a| Some(a.airframe.climb_mps),
                |a, mps| a.airframe.climb_mps = mps
            ),
            field!(
                "Descent",
                "Vertical speed downward.",
                Quantity::VerticalSpeed,
                1,
                |_| within(limits::VERTICAL_SPEED_MPS),
                |a| Some(a.airframe.descent_mps),
                |a, mps| a.airframe.descent_mps = mps
            ),
            field!(
                "Acceleration",
                "Acceleration and braking; time one short strip to find it.",
                Quantity::Acceleration,
                1,
                |_| within(limits::ACCELERATION_MPS2),
                |a| Some(a.airframe.acceleration_mps2),
                |a, mps2| a.airframe.acceleration_mps2 = mps2
            ),
            field!(
                "Endurance",
                "Of one battery set while mapping; less than a data sheet says for hovering in still air.",
                Quantity::Fixed("min"),
                1,
                |_| within(limits::ENDURANCE_MIN),
                |a| Some(a.airframe.endurance_min),
                |a, min| a.airframe.endurance_min = min
            ),
            field!(
                "Reserve at landing",
                "Share of the endurance that is left when the aircraft lands.",
                Quantity::Share,
                0,
                |_| within(limits::RESERVE),
                |a| Some(a.airframe.reserve),
                |a, share| a.airframe.reserve = share
            ),
            field!(
                "Battery change",
                "Time on the ground for one change.",
                Quantity::Fixed("min"),
                1,
                |_| within(limits::SWAP_MIN),
                |a| Some(a.airframe.swap_min),
                |a, min| a.airframe.swap_min = min
            ),
        ],
    },
    Group {
        name: "Positioning",
        fields: &[
            field!(
                "Horizontal, random",
                "One sigma; the part that averages over images.",
                Quantity::Fixed("cm"),
                1,
                |_| 0.0..=100.0 * limits::GNSS_M.most,
                |a| Some(100.0 * a.airframe.gnss.random_horizontal_m),
                |a, cm| a.airframe.gnss.random_horizontal_m = cm / 100.0
            ),
            field!(
                "Vertical, random",
                "One sigma; the part that averages over images.",
                Quantity::Fixed("cm"),
                1,
                |_| 0.0..=100.0 * limits::GNSS_M.most,
                |a| Some(100.0 * a.airframe.gnss.random_vertical_m),
                |a, cm| a.airframe.gnss.random_vertical_m = cm / 100.0
            ),
            field!(
                "Horizontal, constant",
                "One sigma; common to a whole base set-up, so it never averages.",
                Quantity::Fixed("cm"),
                1,
                |_| 0.0..=100.0 * limits::GNSS_M.most,
                |a| Some(100.0 * a.airframe.gnss.constant_horizontal_m),
                |a, cm| a.airframe.gnss.constant_horizontal_m = cm / 100.0
            ),
            field!(
                "Vertical, constant",
                "One sigma; common to a whole base set-up, so it never averages.",
                Quantity::Fixed("cm"),
                1,
                |_| 0.0..=100.0 * limits::GNSS_M.most,
                |a| Some(100.0 * a.airframe.gnss.constant_vertical_m),
                |a, cm| a.airframe.gnss.constant_vertical_m = cm / 100.0
            ),
        ],
    },
];

/// Something that follows from an aircraft's numbers.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Derived {
    /// On the screen, beside the row.
    pub name: String,
    /// How it is worked out.
    pub hint: &'static str,
    /// The figure.
    pub text: String,
}

/// Height that the derived figures are given at.
const AT_M: f64 = 100.0;

/// What follows from an aircraft's numbers.
pub fn derived(aircraft: &Aircraft, units: Units) -> Vec<Derived> {
    let model = aircraft.camera.model();
    let gsd_m = AT_M / model.focal_length_px;
    let side = |px: u32| units.length(f64::from(px) * gsd_m);
    let view_deg = |px: u32| 2.0 * (f64::from(px) / 2.0 / model.focal_length_px).atan().to_degrees();
    let at = units.length(AT_M);
    let row = |name: String, hint, text| Derived { name, hint, text };
    vec![
        row(
            "Pixels of an image".to_owned(),
            "Width × height.",
            format!("{:.1} million", aircraft.camera.megapixels()),
        ),
        row(
            "Field of view".to_owned(),
            "Across × along the flight: twice the arctangent of half the side over the focal length, both in pixels.",
            format!("{:.0}° × {:.0}°", view_deg(model.width_px), view_deg(model.height_px)),
        ),
        row(
            format!("GSD at {at}"),
            "Pixel pitch × height / focal length, for a level camera above level ground.",
            format!("{:.2} cm", 100.0 * gsd_m),
        ),
        row(
            format!("Footprint at {at}"),
            "Ground that one level image shows, across × along the flight: pixels × GSD.",
            format!("{} × {}", side(model.width_px), side(model.height_px)),
        ),
        row(
            "Usable flying time".to_owned(),
            "Endurance × (1 − reserve) of one battery set.",
            format!("{:.1} min", aircraft.airframe.usable_flying_time_s() / 60.0),
        ),
    ]
}
