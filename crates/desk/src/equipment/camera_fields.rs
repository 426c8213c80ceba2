//! What the camera and its gimbal are.

use super::fields::{Block, Drawn, Field, Group, field};
use crate::inputs::within;
use crate::units::Unit;
use obliquity_planning::{Aircraft, Metering, Sensor, Shutter, limits};

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

/// The camera.
pub(super) const CAMERA: Group = Group {
    name: "Camera",
    note: "",
    fields: &[
        field!(
            "Image width",
            "Pixels along the long side of an image, which lies across the flight.",
            Unit::Pixels,
            0,
            |_| within(limits::SENSOR_PX),
            |a| Some(f64::from(a.camera.width_px)),
            |a, px| set_pixels(a, [Some(px), None])
        ),
        field!(
            "Image height",
            "Pixels along the short side of an image.",
            Unit::Pixels,
            0,
            |_| within(limits::SENSOR_PX),
            |a| Some(f64::from(a.camera.height_px)),
            |a, px| set_pixels(a, [None, Some(px)])
        ),
        field!(
            "Pixel pitch",
            "Side of one pixel. Give this or the sensor's width; the other follows.",
            Unit::Micrometres,
            3,
            |_| within(limits::PIXEL_PITCH_UM),
            |a| Some(a.camera.pixel_pitch_m() * 1e6),
            |a, um| a.camera.sensor = Sensor::PixelPitch { um }
        ),
        field!(
            "Sensor width",
            "Long side of the part of the sensor that the image uses; pixels are square, so the height follows.",
            Unit::Millimetres,
            2,
            |_| within(limits::SENSOR_MM),
            |a| Some(width_mm(a)),
            set_width_mm
        ),
        field!(
            "Focal length",
            "The true one, not the equivalent on another sensor.",
            Unit::Millimetres,
            2,
            |_| within(limits::FOCAL_LENGTH_MM),
            |a| Some(a.camera.focal_length_mm),
            |a, mm| a.camera.focal_length_mm = mm
        ),
        field!(
            "Shortest shot interval",
            "Between two exposures in a long row, with the file format you use.",
            Unit::BriefSeconds,
            2,
            |_| within(limits::SHOT_INTERVAL_S),
            |a| Some(a.camera.shortest_interval_s),
            |a, s| a.camera.shortest_interval_s = s
        ),
        field!(
            "Exposure time",
            "As you set it for mapping; motion blur and so the speed follow from it.",
            Unit::ExposureSeconds,
            0,
            |_| within(limits::EXPOSURE_S),
            |a| Some(a.camera.exposure_s),
            |a, s| a.camera.exposure_s = s
        ),
        field!(
            "Image file",
            "Size of one image file, in megabytes (10⁶ bytes).",
            Unit::Megabytes,
            1,
            |_| within(limits::IMAGE_MB),
            |a| Some(a.camera.image_mb),
            |a, mb| a.camera.image_mb = mb
        ),
        field!(
            "Read-out time",
            "Of a rolling shutter, from the first line to the last; 0 for a mechanical shutter.",
            Unit::ReadoutSeconds,
            1,
            |_| within(limits::READOUT_S),
            |a| Some(match a.camera.shutter {
                Shutter::Mechanical => 0.0,
                Shutter::Rolling { readout_s } => readout_s,
            }),
            |a, readout_s| a.camera.shutter =
                if readout_s > 0.0 { Shutter::Rolling { readout_s } } else { Shutter::Mechanical }
        ),
    ],
    block: None,
    drawn: Drawn::Nothing,
};

/// A camera whose settings nobody has said: common practice, no source.
const METERING: Metering = Metering { f_number: 4.0, iso: 200.0, shortest_s: 1.0 / 4000.0 };

/// What exposure times follow from in a light that is known.
pub(super) const EXPOSURE: Group = Group {
    name: "Exposure by the light",
    note: "",
    fields: &[
        field!(
            "Aperture",
            "The f-number that you fly with.",
            Unit::FNumber,
            1,
            |_| within(limits::F_NUMBER),
            |a| Some(a.camera.metering?.f_number),
            |a, f_number| with_metering(a, |metering| metering.f_number = f_number)
        ),
        field!(
            "ISO",
            "The sensor's speed that you fly with.",
            Unit::Count,
            0,
            |_| within(limits::ISO),
            |a| Some(a.camera.metering?.iso),
            |a, iso| with_metering(a, |metering| metering.iso = iso)
        ),
        field!(
            "Shortest time",
            "The shortest exposure time that the shutter can do.",
            Unit::ExposureSeconds,
            0,
            |_| within(limits::SHORTEST_EXPOSURE_S),
            |a| Some(a.camera.metering?.shortest_s),
            |a, s| with_metering(a, |metering| metering.shortest_s = s)
        ),
    ],
    block: Some(Block {
        name: "Aperture and ISO",
        hint: "With them, exposure time, motion blur and so the speed follow from the light that the conditions give",
        without: "exposure time as above",
        has: |a| a.camera.metering.is_some(),
        add: |a| a.camera.metering = Some(METERING),
        remove: |a| a.camera.metering = None,
    }),
    drawn: Drawn::Nothing,
};

fn with_metering(aircraft: &mut Aircraft, change: impl FnOnce(&mut Metering)) {
    if let Some(metering) = &mut aircraft.camera.metering {
        change(metering);
    }
}

/// What points the camera.
pub(super) const GIMBAL: Group = Group {
    name: "Gimbal",
    note: "",
    fields: &[
        field!(
            "Least tilt",
            "From straight down; below 0 when the gimbal goes past it to the rear.",
            Unit::Degrees,
            0,
            |a| limits::GIMBAL_TILT_DEG.least..=a.gimbal.tilt_max_deg,
            |a| Some(a.gimbal.tilt_min_deg),
            |a, deg| a.gimbal.tilt_min_deg = deg
        ),
        field!(
            "Greatest tilt",
            "From straight down: 90° is level, 180° straight up.",
            Unit::Degrees,
            0,
            |a| a.gimbal.tilt_min_deg..=limits::GIMBAL_TILT_DEG.most,
            |a| Some(a.gimbal.tilt_max_deg),
            |a, deg| a.gimbal.tilt_max_deg = deg
        ),
        field!(
            "Pan to the left",
            "From the nose, 0 or below; 0 when the gimbal does not pan.",
            Unit::Degrees,
            0,
            |_| within(limits::GIMBAL_PAN_LEFT_DEG),
            |a| Some(a.gimbal.pan_min_deg),
            |a, deg| a.gimbal.pan_min_deg = deg
        ),
        field!(
            "Pan to the right",
            "From the nose, 0 or above; 0 when the gimbal does not pan.",
            Unit::Degrees,
            0,
            |_| within(limits::GIMBAL_PAN_RIGHT_DEG),
            |a| Some(a.gimbal.pan_max_deg),
            |a, deg| a.gimbal.pan_max_deg = deg
        ),
        field!(
            "Slew rate",
            "How fast the optical axis turns; a cycled gimbal waits for it.",
            Unit::DegreesPerSecond,
            0,
            |_| within(limits::SLEW_DPS),
            |a| Some(a.gimbal.slew_dps),
            |a, dps| a.gimbal.slew_dps = dps
        ),
        field!(
            "Settle time",
            "From the end of a slew until an exposure is steady.",
            Unit::BriefSeconds,
            2,
            |_| within(limits::SETTLE_S),
            |a| Some(a.gimbal.settle_s),
            |a, s| a.gimbal.settle_s = s
        ),
    ],
    block: None,
    drawn: Drawn::Nothing,
};
