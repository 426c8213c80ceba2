//! What may be set of an aircraft, in the order of a data sheet.

use crate::scenario::knob::{Access, Knob, KnobGroup, KnobId, Scope, row};
use crate::scenario::{Aircraft, CameraCalibration, Energy, Gnss, Metering, Sensor, Shutter};

/// An input whose range other numbers of the aircraft narrow.
const fn narrowed(knob: Knob, narrowed: fn(&Aircraft, crate::base::limits::Range) -> (f64, f64)) -> Knob {
    let Scope::Aircraft(access) = knob.scope else { return knob };
    Knob { scope: Scope::Aircraft(Access { narrowed, ..access }), ..knob }
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

/// The camera.
pub const CAMERA: KnobGroup = KnobGroup {
    name: "Camera",
    note: "",
    knobs: &[
        row!(
            Aircraft,
            "equipment.aircraft[].camera.width_px",
            "Image width",
            "Image width",
            "Pixels along the long side of an image, which lies across the flight.",
            Pixels,
            0,
            SENSOR_PX,
            |a| Some(f64::from(a.camera.width_px)),
            |a, px| set_pixels(a, [Some(px), None])
        ),
        row!(
            Aircraft,
            "equipment.aircraft[].camera.height_px",
            "Image height",
            "Image height",
            "Pixels along the short side of an image.",
            Pixels,
            0,
            SENSOR_PX,
            |a| Some(f64::from(a.camera.height_px)),
            |a, px| set_pixels(a, [None, Some(px)])
        ),
        row!(
            Aircraft,
            KnobId::PIXEL_PITCH.0,
            "Pixel pitch",
            "Pixel pitch",
            "Side of one pixel. Give this or the sensor's width; the other follows.",
            Micrometres,
            3,
            PIXEL_PITCH_UM,
            |a| Some(a.camera.pixel_pitch_m() * 1e6),
            |a, um| a.camera.sensor = Sensor::PixelPitch { um }
        ),
        row!(
            Aircraft,
            KnobId::SENSOR_WIDTH.0,
            "Sensor width",
            "Sensor width",
            "Long side of the part of the sensor that the image uses; pixels are square, so the height follows.",
            Millimetres,
            2,
            SENSOR_MM,
            |a| Some(width_mm(a)),
            set_width_mm
        ),
        row!(
            Aircraft,
            "equipment.aircraft[].",
            camera.focal_length_mm,
            "Focal length",
            "Focal length",
            "The true one, not the equivalent on another sensor.",
            Millimetres,
            2,
            FOCAL_LENGTH_MM
        ),
        row!(
            Aircraft,
            "equipment.aircraft[].",
            camera.shortest_interval_s,
            "Shortest shot interval",
            "Shortest shot interval",
            "Between two exposures in a long row, with the file format you use.",
            BriefSeconds,
            2,
            SHOT_INTERVAL_S
        ),
        row!(
            Aircraft,
            "equipment.aircraft[].",
            camera.exposure_s,
            "Exposure time",
            "Exposure time",
            "As you set it for mapping; motion blur and so the speed follow from it.",
            ExposureSeconds,
            0,
            EXPOSURE_S
        ),
        row!(
            Aircraft,
            "equipment.aircraft[].",
            camera.image_mb,
            "Image file",
            "Image file",
            "Size of one image file, in megabytes (10⁶ bytes).",
            Megabytes,
            1,
            IMAGE_MB
        ),
        row!(
            Aircraft,
            "equipment.aircraft[].camera.shutter.Rolling.readout_s",
            "Read-out time",
            "Read-out time",
            "Of a rolling shutter, from the first line to the last; 0 for a mechanical shutter.",
            ReadoutSeconds,
            1,
            READOUT_S,
            |a| Some(match a.camera.shutter {
                Shutter::Mechanical => 0.0,
                Shutter::Rolling { readout_s } => readout_s,
            }),
            |a, readout_s| a.camera.shutter =
                if readout_s > 0.0 { Shutter::Rolling { readout_s } } else { Shutter::Mechanical }
        ),
    ],
};

fn with_metering(aircraft: &mut Aircraft, change: impl FnOnce(&mut Metering)) {
    if let Some(metering) = &mut aircraft.camera.metering {
        change(metering);
    }
}

/// What exposure times follow from in a light that is known.
pub const EXPOSURE: KnobGroup = KnobGroup {
    name: "Exposure by the light",
    note: "",
    knobs: &[
        row!(
            Aircraft,
            "equipment.aircraft[].camera.metering.f_number",
            "Aperture",
            "Aperture",
            "The f-number that you fly with.",
            FNumber,
            1,
            F_NUMBER,
            |a| Some(a.camera.metering?.f_number),
            |a, f_number| with_metering(a, |metering| metering.f_number = f_number)
        ),
        row!(
            Aircraft,
            "equipment.aircraft[].camera.metering.iso",
            "ISO",
            "ISO",
            "The sensor's speed that you fly with.",
            Count,
            0,
            ISO,
            |a| Some(a.camera.metering?.iso),
            |a, iso| with_metering(a, |metering| metering.iso = iso)
        ),
        row!(
            Aircraft,
            "equipment.aircraft[].camera.metering.shortest_s",
            "Shortest time",
            "Shortest time",
            "The shortest exposure time that the shutter can do.",
            ExposureSeconds,
            0,
            SHORTEST_EXPOSURE_S,
            |a| Some(a.camera.metering?.shortest_s),
            |a, s| with_metering(a, |metering| metering.shortest_s = s)
        ),
    ],
};

/// What points the camera.
pub const GIMBAL: KnobGroup = KnobGroup {
    name: "Gimbal",
    note: "",
    knobs: &[
        narrowed(
            row!(
                Aircraft,
                "equipment.aircraft[].",
                gimbal.tilt_min_deg,
                "Minimum tilt",
                "Minimum tilt",
                "From straight down; below 0 when the gimbal goes past it to the rear.",
                Degrees,
                0,
                GIMBAL_TILT_DEG
            ),
            |a, range| (range.least, a.gimbal.tilt_max_deg),
        ),
        narrowed(
            row!(
                Aircraft,
                "equipment.aircraft[].",
                gimbal.tilt_max_deg,
                "Maximum tilt",
                "Maximum tilt",
                "From straight down: 90° is level, 180° straight up.",
                Degrees,
                0,
                GIMBAL_TILT_DEG
            ),
            |a, range| (a.gimbal.tilt_min_deg, range.most),
        ),
        row!(
            Aircraft,
            "equipment.aircraft[].",
            gimbal.pan_min_deg,
            "Pan to the left",
            "Pan to the left",
            "From the nose, 0 or below; 0 when the gimbal does not pan.",
            Degrees,
            0,
            GIMBAL_PAN_LEFT_DEG
        ),
        row!(
            Aircraft,
            "equipment.aircraft[].",
            gimbal.pan_max_deg,
            "Pan to the right",
            "Pan to the right",
            "From the nose, 0 or above; 0 when the gimbal does not pan.",
            Degrees,
            0,
            GIMBAL_PAN_RIGHT_DEG
        ),
        row!(
            Aircraft,
            "equipment.aircraft[].",
            gimbal.slew_dps,
            "Slew rate",
            "Slew rate",
            "How fast the optical axis turns; a cycled gimbal waits for it.",
            DegreesPerSecond,
            0,
            SLEW_DPS
        ),
        row!(
            Aircraft,
            "equipment.aircraft[].",
            gimbal.settle_s,
            "Settle time",
            "Settle time",
            "From the end of a slew until an exposure is steady.",
            BriefSeconds,
            2,
            SETTLE_S
        ),
    ],
};

/// What carries camera and gimbal.
pub const AIRFRAME: KnobGroup = KnobGroup {
    name: "Airframe",
    note: "",
    knobs: &[
        row!(
            Aircraft,
            "equipment.aircraft[].",
            airframe.top_speed_mps,
            "Top speed",
            "Top speed",
            "Fastest level speed while mapping, also used on transits.",
            MetresPerSecond,
            1,
            SPEED_MPS
        ),
        row!(
            Aircraft,
            "equipment.aircraft[].airframe.top_airspeed_mps",
            "Fastest airspeed",
            "Fastest airspeed",
            "Fastest through the air, against the wind for instance; more than the top speed while mapping.",
            MetresPerSecond,
            1,
            AIRSPEED_MPS,
            |a| a.airframe.top_airspeed_mps,
            |a, mps| a.airframe.top_airspeed_mps = mps,
            "the top speed",
            |_| true,
            |a| (1.5 * a.airframe.top_speed_mps).round()
        ),
        row!(
            Aircraft,
            "equipment.aircraft[].",
            airframe.climb_mps,
            "Climb",
            "Climb",
            "Vertical speed upward.",
            VerticalMetresPerSecond,
            1,
            VERTICAL_SPEED_MPS
        ),
        row!(
            Aircraft,
            "equipment.aircraft[].",
            airframe.descent_mps,
            "Descent",
            "Descent",
            "Vertical speed downward.",
            VerticalMetresPerSecond,
            1,
            VERTICAL_SPEED_MPS
        ),
        row!(
            Aircraft,
            "equipment.aircraft[].",
            airframe.acceleration_mps2,
            "Acceleration",
            "Acceleration",
            "Acceleration and braking; time one short strip to find it.",
            MetresPerSecondSquared,
            1,
            ACCELERATION_MPS2
        ),
        row!(
            Aircraft,
            "equipment.aircraft[].airframe.lateral_mps2",
            "Sideways acceleration",
            "Sideways acceleration",
            "Of turns that are flown in one sweep; without it the aircraft stops at every corner to turn.",
            MetresPerSecondSquared,
            1,
            LATERAL_MPS2,
            |a| a.airframe.lateral_mps2,
            |a, mps2| a.airframe.lateral_mps2 = mps2,
            "stops to turn",
            |_| true,
            |_| 2.0
        ),
        row!(
            Aircraft,
            "equipment.aircraft[].",
            airframe.endurance_min,
            "Endurance",
            "Endurance",
            "Of one battery set while mapping; less than a data sheet says for hovering in still air.",
            Minutes,
            1,
            ENDURANCE_MIN
        ),
        row!(
            Aircraft,
            "equipment.aircraft[].",
            airframe.reserve,
            "Reserve at landing",
            "Reserve at landing",
            "Share of the endurance that is left when the aircraft lands.",
            Share,
            0,
            RESERVE
        ),
        row!(
            Aircraft,
            "equipment.aircraft[].",
            airframe.swap_min,
            "Battery change",
            "Battery change",
            "Time on the ground for one change.",
            Minutes,
            1,
            SWAP_MIN
        ),
    ],
};

fn energy(aircraft: &Aircraft) -> Option<&Energy> {
    aircraft.airframe.energy.as_ref()
}

fn with_energy(aircraft: &mut Aircraft, change: impl FnOnce(&mut Energy)) {
    if let Some(energy) = &mut aircraft.airframe.energy {
        change(energy);
    }
}

/// How flights come out against what is planned.
pub const CORRECTIONS: KnobGroup = KnobGroup {
    name: "Flown corrections",
    note: "",
    knobs: &[
        row!(
            Aircraft,
            "equipment.aircraft[].airframe.corrections.speed_ratio",
            "Speed as flown",
            "Correction of speed",
            "Speeds as they come out over those planned, level and vertical: 0.95 where flights are a twentieth slower.",
            Coefficient,
            3,
            FLOWN_RATIO,
            |a| Some(a.airframe.corrections?.speed_ratio),
            |a, ratio| if let Some(own) = &mut a.airframe.corrections {
                own.speed_ratio = ratio;
            }
        ),
        row!(
            Aircraft,
            "equipment.aircraft[].airframe.corrections.turn_ratio",
            "Turns as flown",
            "Correction of time for turns",
            "Time that turns take over that planned: 1.2 where they take a fifth longer.",
            Coefficient,
            3,
            FLOWN_RATIO,
            |a| Some(a.airframe.corrections?.turn_ratio),
            |a, ratio| if let Some(own) = &mut a.airframe.corrections {
                own.turn_ratio = ratio;
            }
        ),
        row!(
            Aircraft,
            "equipment.aircraft[].airframe.corrections.endurance_ratio",
            "Endurance as flown",
            "Correction of endurance",
            "How long a battery set lasts over what its numbers say: 0.9 where it is a tenth less.",
            Coefficient,
            3,
            FLOWN_RATIO,
            |a| Some(a.airframe.corrections?.endurance_ratio),
            |a, ratio| if let Some(own) = &mut a.airframe.corrections {
                own.endurance_ratio = ratio;
            }
        ),
    ],
};

/// What a battery set holds and what flying draws.
pub const ENERGY: KnobGroup = KnobGroup {
    name: "Energy",
    note: "",
    knobs: &[
        row!(
            Aircraft,
            "equipment.aircraft[].airframe.energy.battery_wh",
            "Battery set",
            "Battery set",
            "What a new set holds: volts times ampere-hours, all packs of the set together.",
            WattHours,
            1,
            BATTERY_WH,
            |a| Some(energy(a)?.battery_wh),
            |a, wh| with_energy(a, |energy| energy.battery_wh = wh)
        ),
        row!(
            Aircraft,
            "equipment.aircraft[].airframe.energy.health",
            "Battery health",
            "Battery health",
            "What is left of the capacity with age.",
            Share,
            0,
            HEALTH,
            |a| Some(energy(a)?.health),
            |a, share| with_energy(a, |energy| energy.health = share)
        ),
        row!(
            Aircraft,
            "equipment.aircraft[].airframe.energy.cold_loss_per_c",
            "Cold loss per °C",
            "Cold loss per °C",
            "Share of the capacity lost for each degree that the air is colder than 20 °C.",
            Share,
            2,
            COLD_LOSS,
            |a| Some(energy(a)?.cold_loss_per_c),
            |a, share| with_energy(a, |energy| energy.cold_loss_per_c = share)
        ),
        row!(
            Aircraft,
            "equipment.aircraft[].airframe.energy.mass_kg",
            "Take-off mass",
            "Take-off mass",
            "With battery and camera.",
            Kilograms,
            2,
            MASS_KG,
            |a| Some(energy(a)?.mass_kg),
            |a, kg| with_energy(a, |energy| energy.mass_kg = kg)
        ),
        row!(
            Aircraft,
            "equipment.aircraft[].airframe.energy.rotors",
            "Rotors",
            "Rotors",
            "How many there are.",
            Count,
            0,
            ROTORS,
            |a| Some(f64::from(energy(a)?.rotors)),
            |a, count| with_energy(a, |energy| energy.rotors = count.round() as u32)
        ),
        row!(
            Aircraft,
            "equipment.aircraft[].airframe.energy.rotor_diameter_m",
            "Rotor diameter",
            "Rotor diameter",
            "From blade tip to blade tip.",
            SizeMetres,
            1,
            ROTOR_DIAMETER_M,
            |a| Some(energy(a)?.rotor_diameter_m),
            |a, m| with_energy(a, |energy| energy.rotor_diameter_m = m)
        ),
        narrowed(
            row!(
                Aircraft,
                "equipment.aircraft[].airframe.energy.endurance_at_mps",
                "Endurance holds at",
                "Endurance holds at",
                "Airspeed at which the endurance above holds, new battery and still air at sea level; 0 in hover.",
                MetresPerSecond,
                1,
                AIRSPEED_MPS,
                |a| Some(energy(a)?.endurance_at_mps),
                |a, mps| with_energy(a, |energy| energy.endurance_at_mps = mps)
            ),
            |a, range| (0.0, a.airframe.fastest_mps().min(range.most)),
        ),
        row!(
            Aircraft,
            KnobId::HOVER_ENDURANCE.0,
            "Endurance in hover",
            "Endurance in hover",
            "Where it is known besides; the power curve is bent to go through it.",
            Minutes,
            1,
            ENDURANCE_MIN,
            |a| energy(a)?.hover_min,
            |a, min| with_energy(a, |energy| energy.hover_min = min),
            "estimated",
            |a| energy(a).is_some(),
            |_| 25.0
        ),
        row!(
            Aircraft,
            KnobId::FASTEST_ENDURANCE.0,
            "Endurance at fastest",
            "Endurance at fastest",
            "At the fastest airspeed, where it is known besides; the power curve is bent to go through it.",
            Minutes,
            1,
            ENDURANCE_MIN,
            |a| energy(a)?.top_speed_min,
            |a, min| with_energy(a, |energy| energy.top_speed_min = min),
            "estimated",
            |a| energy(a).is_some(),
            |_| 20.0
        ),
    ],
};

/// A coefficient of the lens's distortion.
macro_rules! distortion {
    ($field:ident, $name:literal, $explanation:literal, $range:ident) => {
        row!(
            Aircraft,
            concat!("equipment.aircraft[].camera.distortion.", stringify!($field)),
            $name,
            $name,
            $explanation,
            Coefficient,
            6,
            $range,
            |a| Some(a.camera.distortion.$field),
            |a, value| a.camera.distortion.$field = value
        )
    };
}

/// What the lens bends.
pub const DISTORTION: KnobGroup = KnobGroup {
    name: "Distortion",
    note: "",
    knobs: &[
        distortion!(
            k1,
            "Radial k1",
            "Of Brown's model, for coordinates in focal lengths: below 0 for a barrel; 0 where images are straightened before, or the lens is \
             not known. Decides where frames end.",
            RADIAL_DISTORTION
        ),
        distortion!(
            k2,
            "Radial k2",
            "Of the fifth power of the distance from the middle.",
            RADIAL_DISTORTION
        ),
        distortion!(
            k3,
            "Radial k3",
            "Of the seventh power of the distance from the middle.",
            RADIAL_DISTORTION
        ),
        distortion!(
            p1,
            "Decentring p1",
            "Of lenses that do not stand in line, downward in the image.",
            DECENTRING_DISTORTION
        ),
        distortion!(
            p2,
            "Decentring p2",
            "Of lenses that do not stand in line, to the right in the image.",
            DECENTRING_DISTORTION
        ),
    ],
};

/// A standard deviation of an earlier calibration.
macro_rules! earlier {
    ($field:ident, $name:literal, $explanation:literal) => {
        row!(
            Aircraft,
            concat!("equipment.aircraft[].camera.calibration.EarlierJob.", stringify!($field)),
            $name,
            $name,
            $explanation,
            Pixels,
            2,
            CALIBRATION_PX,
            |a| if let CameraCalibration::EarlierJob { $field, .. } = a.camera.calibration {
                Some($field)
            } else {
                None
            },
            |a, px| if let CameraCalibration::EarlierJob { $field, .. } = &mut a.camera.calibration {
                *$field = px;
            }
        )
    };
}

/// How well an earlier calibration of the camera still holds.
pub const CALIBRATION: KnobGroup = KnobGroup {
    name: "Calibration",
    note: "for accuracy",
    knobs: &[
        earlier!(
            focal_sigma_px,
            "Focal length, 1σ",
            "How far the focal length may have changed since, one sigma."
        ),
        earlier!(
            centre_sigma_px,
            "Principal point, 1σ",
            "How far the principal point may have moved since, across and along the image each, one sigma."
        ),
        earlier!(
            corner_sigma_px,
            "Frame's corner, 1σ",
            "What all coefficients of the distortion together may do in the corner of the frame, one sigma."
        ),
    ],
};

/// How well points are measured in the images.
pub const IMAGE_NOISE: KnobGroup = KnobGroup {
    name: "Image points",
    note: "for accuracy",
    knobs: &[row!(
        Aircraft,
        "equipment.aircraft[].",
        camera.image_noise_px,
        "Image noise, 1σ",
        "Image noise",
        "How well a point is matched in an image, across and along each, one sigma: 0.5 px by common practice; more where \
             surfaces have little texture or images are blurred.",
        Pixels,
        2,
        IMAGE_NOISE_PX
    )],
};

fn with_gnss(aircraft: &mut Aircraft, change: impl FnOnce(&mut Gnss)) {
    if let Some(gnss) = &mut aircraft.airframe.gnss {
        change(gnss);
    }
}

/// A standard deviation of the satellite positioning.
macro_rules! gnss {
    ($field:ident, $name:literal, $explanation:literal) => {
        row!(
            Aircraft,
            concat!("equipment.aircraft[].airframe.gnss.", stringify!($field)),
            $name,
            $name,
            $explanation,
            SizeMetres,
            1,
            GNSS_M,
            |a| Some(a.airframe.gnss?.$field),
            |a, m| with_gnss(a, |gnss| gnss.$field = m)
        )
    };
}

/// How well satellites place the exposures.
pub const POSITIONING: KnobGroup = KnobGroup {
    name: "Positioning",
    note: "for accuracy",
    knobs: &[
        gnss!(
            random_horizontal_m,
            "Horizontal, random",
            "One sigma, of east and of north each; the part that averages over images."
        ),
        gnss!(random_vertical_m, "Vertical, random", "One sigma; the part that averages over images."),
        gnss!(
            constant_horizontal_m,
            "Horizontal, constant",
            "One sigma, of east and of north each; common to a whole base set-up, so it never averages."
        ),
        gnss!(
            constant_vertical_m,
            "Vertical, constant",
            "One sigma; common to a whole base set-up, so it never averages."
        ),
    ],
};
