use crate::base::Id;
use crate::geometry::{Brown, CameraModel};
use crate::scenario::OnSite;
use serde::{Deserialize, Serialize};

/// The aircraft that a scenario's strategies choose from; copies, so that a file opens anywhere.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Equipment {
    /// Every aircraft of the scenario.
    pub aircraft: Vec<Aircraft>,
}

impl Equipment {
    /// The aircraft with this identifier.
    pub fn aircraft(&self, id: Id) -> Option<&Aircraft> {
        self.aircraft.iter().find(|aircraft| aircraft.id == id)
    }
}

/// An aircraft with the camera and gimbal it carries.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Aircraft {
    /// What strategies refer to.
    pub id: Id,
    /// For people.
    pub name: String,
    /// The camera it carries.
    pub camera: Camera,
    /// What points the camera.
    pub gimbal: Gimbal,
    /// What carries both.
    pub airframe: Airframe,
    /// What its crew does and has on site where that differs from the scenario's.
    #[serde(default, skip_serializing_if = "OnSite::is_usual")]
    pub on_site: OnSite,
}

/// A frame camera, as a data sheet gives it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Camera {
    /// Pixels along the long side, which lies across the camera's heading.
    pub width_px: u32,
    /// Pixels along the side that lies along the camera's heading.
    pub height_px: u32,
    /// How large the pixels are.
    pub sensor: Sensor,
    /// Focal length.
    pub focal_length_mm: f64,
    /// Shortest time between two exposures.
    pub shortest_interval_s: f64,
    /// Exposure time of one image; where `metering` and a light level are given, they decide instead.
    #[serde(default = "usual::exposure_s")]
    pub exposure_s: f64,
    /// What the light's exposure time follows from.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub metering: Option<Metering>,
    /// Size of one image file, in megabytes (10^6 bytes).
    pub image_mb: f64,
    /// How the sensor is read.
    pub shutter: Shutter,
    /// What the lens bends.
    #[serde(default, skip_serializing_if = "Brown::is_none")]
    pub distortion: Brown,
    /// What is known of the interior orientation before the block is adjusted.
    #[serde(default, skip_serializing_if = "CameraCalibration::is_none")]
    pub calibration: CameraCalibration,
    /// Standard deviation of an image point, across and along each, in pixels.
    #[serde(default = "usual::image_noise_px")]
    pub image_noise_px: f64,
}

/// What is known of a camera's interior orientation (focal length, principal point, distortion) before the block is adjusted.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum CameraCalibration {
    /// Next to nothing: the data sheet's focal length, to 50 px; the block calibrates the camera.
    #[default]
    Uncalibrated,
    /// The calibration of an earlier job or of a laboratory, from which the block's adjustment starts, with how well it
    /// still holds: standard deviations in pixels.
    EarlierJob {
        /// Of the focal length.
        #[serde(default = "usual::focal_sigma_px")]
        focal_sigma_px: f64,
        /// Of the principal point, across and along each.
        #[serde(default = "usual::centre_sigma_px")]
        centre_sigma_px: f64,
        /// Of what all coefficients of the distortion together do in the corner of the frame.
        #[serde(default = "usual::corner_sigma_px")]
        corner_sigma_px: f64,
    },
    /// A calibration that the adjustment holds as it is.
    Fixed,
}

impl CameraCalibration {
    /// Whether there is none.
    pub fn is_none(&self) -> bool {
        *self == CameraCalibration::Uncalibrated
    }

    /// An earlier job's with a lens that was not changed since, flown within weeks: common practice, no source.
    pub fn usual_earlier_job() -> Self {
        CameraCalibration::EarlierJob {
            focal_sigma_px: usual::focal_sigma_px(),
            centre_sigma_px: usual::centre_sigma_px(),
            corner_sigma_px: usual::corner_sigma_px(),
        }
    }
}

/// The settings that turn a light level into an exposure time.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Metering {
    /// Aperture, as an f-number.
    pub f_number: f64,
    /// Arithmetic speed.
    pub iso: f64,
    /// Shortest time that the shutter can do.
    pub shortest_s: f64,
}

/// Says how large the pixels are, in the way the data sheet does.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Sensor {
    /// Side of a pixel, in micrometres.
    PixelPitch {
        /// Micrometres.
        um: f64,
    },
    /// Sides of the whole sensor; the pixels must come out square within 1 %.
    Size {
        /// Side along `width_px`.
        width_mm: f64,
        /// Side along `height_px`.
        height_mm: f64,
    },
}

/// How the sensor is read.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Shutter {
    /// All lines at once.
    Mechanical,
    /// Line after line.
    Rolling {
        /// Time from the first line to the last.
        readout_s: f64,
    },
}

/// What points the camera. Tilts are from nadir: 0 straight down, 90 level, below 0 past nadir to the rear.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Gimbal {
    /// Least tilt; below 0 when the gimbal goes past nadir.
    pub tilt_min_deg: f64,
    /// Greatest tilt; above 90 when the camera can look up.
    pub tilt_max_deg: f64,
    /// Farthest turn to the left of the nose, 0 or below.
    pub pan_min_deg: f64,
    /// Farthest turn to the right of the nose, 0 or above.
    pub pan_max_deg: f64,
    /// Rate at which the optical axis turns.
    #[serde(default = "usual::slew_dps")]
    pub slew_dps: f64,
    /// Time from the end of a slew until an exposure is steady.
    #[serde(default = "usual::settle_s")]
    pub settle_s: f64,
}

/// What carries camera and gimbal.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Airframe {
    /// Fastest level speed while mapping, also used on transits.
    pub top_speed_mps: f64,
    /// Vertical speed upward.
    #[serde(default = "usual::climb_mps")]
    pub climb_mps: f64,
    /// Vertical speed downward.
    #[serde(default = "usual::descent_mps")]
    pub descent_mps: f64,
    /// Acceleration and braking, level and vertical.
    #[serde(default = "usual::acceleration_mps2")]
    pub acceleration_mps2: f64,
    /// Endurance of one battery set.
    pub endurance_min: f64,
    /// Share of the endurance that is left at landing, 0 to 1.
    #[serde(default = "usual::reserve")]
    pub reserve: f64,
    /// Time on the ground for one battery change.
    #[serde(default = "usual::swap_min")]
    pub swap_min: f64,
    /// How well satellites place the exposures; nothing where they are not placed.
    #[serde(default = "usual::gnss")]
    pub gnss: Option<Gnss>,
    /// Fastest through the air; absent, the top speed is also that.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub top_airspeed_mps: Option<f64>,
    /// Sideways acceleration of turns flown without stopping; absent, the aircraft stops to turn.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lateral_mps2: Option<f64>,
    /// What the batteries hold and what flying draws; absent, the endurance is the same at every speed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub energy: Option<Energy>,
    /// How flights come out against what is planned from all of these; absent, as planned.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub corrections: Option<FlownCorrections>,
}

/// How flights come out against what is planned, as logged flights tell it; 1 as planned.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct FlownCorrections {
    /// Speeds, level and vertical.
    pub speed_ratio: f64,
    /// Time for turns, on the spot and in sweeps.
    pub turn_ratio: f64,
    /// How long a battery set lasts.
    pub endurance_ratio: f64,
}

impl Default for FlownCorrections {
    fn default() -> Self {
        FlownCorrections { speed_ratio: 1.0, turn_ratio: 1.0, endurance_ratio: 1.0 }
    }
}

/// What a battery set holds and what flying draws from it.
///
/// Power over airspeed has the common shape of rotary wings for this mass and these rotors, bent so that it goes through
/// the endurances given: [`Airframe::endurance_min`] at `endurance_at_mps`, and the others where they are known. They hold
/// for a new battery set in still air at sea level in the standard atmosphere, flown until it is empty.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Energy {
    /// What a new battery set holds.
    pub battery_wh: f64,
    /// Airspeed at which the endurance holds; 0 in hover.
    pub endurance_at_mps: f64,
    /// Endurance in hover, where it is known besides.
    #[serde(default)]
    pub hover_min: Option<f64>,
    /// Endurance at the fastest airspeed, where it is known besides.
    #[serde(default)]
    pub top_speed_min: Option<f64>,
    /// Take-off mass with battery and camera.
    pub mass_kg: f64,
    /// Number of rotors.
    pub rotors: u32,
    /// Diameter of a rotor.
    pub rotor_diameter_m: f64,
    /// What is left of the capacity with age, 0 to 1.
    #[serde(default = "usual::health")]
    pub health: f64,
    /// Share of the capacity lost for each degree that the air is colder than 20 °C.
    #[serde(default = "usual::cold_loss_per_c")]
    pub cold_loss_per_c: f64,
}

/// Satellite positioning error of the exposures, one sigma; horizontal is of east and of north each.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Gnss {
    /// Horizontal part that averages over images.
    pub random_horizontal_m: f64,
    /// Vertical part that averages over images.
    pub random_vertical_m: f64,
    /// Horizontal part common to a whole base set-up: it never averages.
    pub constant_horizontal_m: f64,
    /// Vertical part common to a whole base set-up: it never averages.
    pub constant_vertical_m: f64,
}

impl Default for Gnss {
    /// Positions corrected by a base: common practice, no source.
    fn default() -> Self {
        Gnss {
            random_horizontal_m: 0.01,
            random_vertical_m: 0.02,
            constant_horizontal_m: 0.015,
            constant_vertical_m: 0.03,
        }
    }
}

/// What an aircraft is taken to have where its file leaves it out: common practice, no source.
mod usual {
    macro_rules! usual {
        ($($name:ident: $value:expr;)*) => {
            $(pub(super) fn $name() -> f64 { $value })*
        };
    }

    usual! {
        exposure_s: 1.0 / 1600.0;
        slew_dps: 120.0;
        settle_s: 0.2;
        climb_mps: 4.0;
        descent_mps: 3.0;
        acceleration_mps2: 2.0;
        reserve: 0.25;
        swap_min: 3.0;
        health: 0.95;
        cold_loss_per_c: 0.008;
        image_noise_px: 0.5;
        focal_sigma_px: 3.0;
        centre_sigma_px: 3.0;
        corner_sigma_px: 1.0;
    }

    #[expect(clippy::unnecessary_wraps, reason = "what a field is filled with has its type")]
    pub(super) fn gnss() -> Option<super::Gnss> {
        Some(super::Gnss::default())
    }
}

impl Camera {
    /// Side of a pixel.
    ///
    /// # Units
    /// - returns: metres
    ///
    /// # References
    /// Derived: the sensor's width over its pixels, where the pitch itself is not printed.
    pub fn pixel_pitch_m(&self) -> f64 {
        match self.sensor {
            Sensor::PixelPitch { um } => um * 1e-6,
            Sensor::Size { width_mm, .. } => width_mm * 1e-3 / f64::from(self.width_px),
        }
    }

    /// The model that all geometry uses.
    ///
    /// # References
    /// Derived: focal length over the side of a pixel.
    pub fn model(&self) -> CameraModel {
        CameraModel {
            width_px: self.width_px,
            height_px: self.height_px,
            focal_length_px: self.focal_length_mm * 1e-3 / self.pixel_pitch_m(),
            lens: self.distortion,
        }
    }

    /// Pixels of one image, in millions.
    ///
    /// # Units
    /// - returns: 10^6 pixels
    ///
    /// # References
    /// Derived: columns × rows.
    pub fn megapixels(&self) -> f64 {
        f64::from(self.width_px) * f64::from(self.height_px) * 1e-6
    }
}

impl Airframe {
    /// Fastest through the air.
    ///
    /// # Units
    /// - returns: metres a second through the air
    pub fn fastest_mps(&self) -> f64 {
        self.top_airspeed_mps.unwrap_or(self.top_speed_mps)
    }

    /// How flights come out against what is planned.
    pub fn flown_corrections(&self) -> FlownCorrections {
        self.corrections.unwrap_or_default()
    }

    /// Time a battery set may fly before the reserve is touched: endurance, as flights have corrected it, × (1 − reserve).
    ///
    /// # Units
    /// - returns: seconds
    ///
    /// # References
    /// Derived: a share of the endurance.
    pub fn usable_flying_time_s(&self) -> f64 {
        self.endurance_min * self.flown_corrections().endurance_ratio * 60.0 * (1.0 - self.reserve)
    }
}
