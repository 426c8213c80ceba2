//! The range of every number that a scenario or a portfolio holds: what reading refuses beyond and what sliders stay within.
//!
//! Common practice, no source: each range is wide enough for any camera drone and narrow enough to catch a wrong unit.

/// The values that one number may take, both ends included.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Range {
    /// What the number is, as sentences begin.
    pub what: &'static str,
    /// The least value allowed.
    pub least: f64,
    /// The greatest value allowed.
    pub most: f64,
    /// What to do about a value outside: the unit, mostly.
    pub mend: &'static str,
}

impl Range {
    /// Whether a value lies within; NaN and infinities never do.
    ///
    /// # Units
    /// - `value`: the range's own, as the name of its constant says
    ///
    /// # Examples
    /// ```
    /// use obliquity_planning::limits::SIDELAP;
    /// assert!(SIDELAP.holds(0.7));
    /// assert!(!SIDELAP.holds(70.0), "per cent are no fraction");
    /// assert!(!SIDELAP.holds(f64::NAN));
    /// ```
    pub fn holds(&self, value: f64) -> bool {
        value.is_finite() && value >= self.least && value <= self.most
    }

    /// The nearest value within; the least one for NaN.
    ///
    /// # Units
    /// - `value`, returns: the range's own, as the name of its constant says
    pub fn nearest(&self, value: f64) -> f64 {
        if value.is_nan() { self.least } else { value.clamp(self.least, self.most) }
    }
}

const fn range(what: &'static str, least: f64, most: f64, mend: &'static str) -> Range {
    Range { what, least, most, mend }
}

macro_rules! ranges {
    ($($(#[$doc:meta])* $name:ident: $what:literal, $least:literal ..= $most:literal, $mend:literal;)*) => {
        $($(#[$doc])* pub const $name: Range = range($what, $least, $most, $mend);)*
    };
}

ranges! {
    /// How strong a picture is drawn below the plan, a fraction.
    OPACITY: "opacity of the picture", 0.05..=1.0, "write 0.8 for 80 %";
    /// Forward overlap of a pass, a fraction.
    FORWARD_OVERLAP: "forward overlap", 0.0..=0.98, "write 0.8 for 80 %";
    /// Sidelap of a pass, a fraction.
    SIDELAP: "sidelap", 0.0..=0.98, "write 0.7 for 70 %";
    /// Height of a pass, in metres.
    HEIGHT_M: "height", 5.0..=500.0, "give metres above the mean ground";
    /// GSD of a pass or a requirement, in centimetres.
    GSD_CM: "GSD", 0.1..=50.0, "give centimetres per pixel";
    /// Tilt of an attitude, in degrees.
    TILT_DEG: "tilt", 0.0..=180.0, "give degrees from nadir: 0 is straight down, 90 level, 180 straight up";
    /// Any azimuth or turn, in degrees.
    DIRECTION_DEG: "direction", -360.0..=360.0, "give degrees, clockwise";
    /// Speed of a pass, in metres per second.
    SPEED_MPS: "speed", 0.5..=40.0, "give metres per second";
    /// Margin of a pass, in metres.
    MARGIN_M: "margin", 0.0..=1000.0, "give metres beyond the boundary";
    /// Stop at each exposure, in seconds.
    HOVER_S: "stop at each exposure", 0.0..=120.0, "give seconds, or leave it out to expose while moving";
    /// Flight time that a controller reports, in minutes.
    REPORTED_FLIGHT_MIN: "reported flight time", 0.0..=100000.0, "give minutes, or leave it out";
    /// Images that a controller reports.
    REPORTED_IMAGES: "reported number of images", 0.0..=10000000.0, "give a count, or leave it out";

    /// Stand-off of a pass, in metres.
    STAND_OFF_M: "stand-off", 1.0..=500.0, "give metres from the surface";
    /// Clearances kept from structures, soffit and ground, in metres.
    CLEARANCE_M: "clearance", 0.5..=100.0, "give metres";
    /// Width of a corridor, in metres.
    CORRIDOR_WIDTH_M: "corridor width", 1.0..=5000.0, "give metres";
    /// Radius of an orbit, in metres.
    ORBIT_RADIUS_M: "orbit radius", 2.0..=2000.0, "give metres from the middle";
    /// Height of a ring, in metres.
    RING_HEIGHT_M: "ring height", 1.0..=500.0, "give metres above the ground in the middle";
    /// Step between rings, in metres.
    RING_STEP_M: "step between rings", 0.5..=200.0, "give metres";
    /// Number of rings.
    RINGS: "number of rings", 1.0..=100.0, "give a count";
    /// Height that an orbit looks at, in metres.
    TARGET_HEIGHT_M: "target height", -100.0..=500.0, "give metres above the ground in the middle";
    /// Sections of an underside pass.
    SECTIONS: "number of sections", 1.0..=200.0, "give a count";

    /// Coordinates of corners and places, in metres.
    COORDINATE_M: "coordinate", -20000.0..=20000.0, "give metres from the frame's origin and move the origin to the site";
    /// Latitude of a frame's origin, in degrees.
    LATITUDE_DEG: "latitude", -90.0..=90.0, "give decimal degrees, south of the equator below 0";
    /// Longitude of a frame's origin, in degrees.
    LONGITUDE_DEG: "longitude", -180.0..=180.0, "give decimal degrees, west of Greenwich below 0";
    /// Height of the terrain at the origin, in metres.
    TERRAIN_HEIGHT_M: "terrain height", -1000.0..=9000.0, "give metres";
    /// Slope of the terrain, a ratio.
    SLOPE: "slope", -1.0..=1.0, "give the rise for each metre: 0.05 for 5 %";
    /// Height of a structure, in metres.
    STRUCTURE_HEIGHT_M: "structure height", 0.1..=500.0, "give metres above the ground";
    /// Height of a deck's underside, in metres.
    SOFFIT_M: "height of the underside", 0.5..=500.0, "give metres above the ground";
    /// Sides of a typical building, in metres.
    BUILDING_SIDE_M: "side of the typical building", 1.0..=500.0, "give metres";
    /// Height of a typical building, in metres.
    BUILDING_HEIGHT_M: "height of the typical building", 1.0..=300.0, "give metres";
    /// Spacing of typical buildings, in metres.
    BUILDING_SPACING_M: "spacing of the typical buildings", 2.0..=2000.0, "give metres from centre to centre";
    /// Distance between samples, in metres.
    SAMPLE_SPACING_M: "sample spacing", 0.05..=50.0, "give metres, or leave it out to have it chosen";

    /// Pixels along either side of a camera.
    SENSOR_PX: "pixel count of a side", 64.0..=40000.0, "give the pixels along one side of the image";
    /// Pixel pitch, in micrometres.
    PIXEL_PITCH_UM: "pixel pitch", 0.3..=100.0, "give micrometres";
    /// Sides of a sensor, in millimetres.
    SENSOR_MM: "sensor side", 1.0..=200.0, "give millimetres";
    /// Focal length, in millimetres.
    FOCAL_LENGTH_MM: "focal length", 1.0..=1000.0, "give the true focal length in millimetres";
    /// Shortest time between exposures, in seconds.
    SHOT_INTERVAL_S: "shortest shot interval", 0.02..=60.0, "give seconds";
    /// Exposure time, in seconds.
    EXPOSURE_S: "exposure time", 0.000001..=1.0, "give seconds: 0.001 for 1/1000";
    /// Size of an image file, in megabytes.
    IMAGE_MB: "image file size", 0.01..=2000.0, "give megabytes";
    /// Aperture, as an f-number.
    F_NUMBER: "f-number", 0.7..=64.0, "give the focal length over the diameter of the aperture";
    /// Arithmetic speed of a sensor.
    ISO: "ISO", 25.0..=409600.0, "give the arithmetic speed: 100, 200, 400";
    /// Shortest exposure time of a shutter, in seconds.
    SHORTEST_EXPOSURE_S: "shortest exposure time", 0.000001..=1.0, "give seconds: 0.000125 for 1/8000";
    /// Read-out time of a rolling shutter, in seconds.
    READOUT_S: "read-out time", 0.0..=1.0, "give seconds";

    /// Tilt limits of a gimbal, in degrees.
    GIMBAL_TILT_DEG: "gimbal tilt limit", -180.0..=180.0, "give degrees from nadir, below 0 past nadir to the rear";
    /// Left pan limit of a gimbal, in degrees.
    GIMBAL_PAN_LEFT_DEG: "left pan limit", -360.0..=0.0, "give degrees from the nose, 0 or below";
    /// Right pan limit of a gimbal, in degrees.
    GIMBAL_PAN_RIGHT_DEG: "right pan limit", 0.0..=360.0, "give degrees from the nose, 0 or above";
    /// Slew rate of a gimbal, in degrees per second.
    SLEW_DPS: "slew rate", 1.0..=2000.0, "give degrees per second";
    /// Settle time of a gimbal, in seconds.
    SETTLE_S: "settle time", 0.0..=60.0, "give seconds";

    /// Climb and descent speed of an airframe, in metres per second.
    VERTICAL_SPEED_MPS: "vertical speed", 0.1..=30.0, "give metres per second, above 0 for descent too";
    /// Acceleration of an airframe, in metres per second squared.
    ACCELERATION_MPS2: "acceleration", 0.1..=30.0, "give metres per second squared";
    /// Endurance of a battery set, in minutes.
    ENDURANCE_MIN: "endurance", 1.0..=1440.0, "give minutes";
    /// Reserve at landing, a share of the endurance.
    RESERVE: "reserve", 0.0..=0.9, "write 0.25 for 25 %";
    /// Sideways acceleration of an airframe, in metres per second squared.
    LATERAL_MPS2: "sideways acceleration", 0.1..=30.0, "give metres per second squared, or leave it out";
    /// Airspeed of an airframe, in metres per second.
    AIRSPEED_MPS: "airspeed", 0.0..=60.0, "give metres per second";
    /// What a battery set holds, in watt-hours.
    BATTERY_WH: "battery capacity", 1.0..=20000.0, "give watt-hours of one set: volts times ampere-hours";
    /// Take-off mass, in kilograms.
    MASS_KG: "take-off mass", 0.05..=500.0, "give kilograms";
    /// Number of rotors.
    ROTORS: "number of rotors", 1.0..=32.0, "give a count";
    /// Diameter of a rotor, in metres.
    ROTOR_DIAMETER_M: "rotor diameter", 0.02..=10.0, "give metres";
    /// What is left of a battery's capacity, a share.
    HEALTH: "battery health", 0.1..=1.0, "write 0.9 for 90 %";
    /// Capacity lost for each degree below 20 °C, a share.
    COLD_LOSS: "capacity lost in the cold", 0.0..=0.05, "write 0.008 for 0.8 % a degree";
    /// Speed of the wind, in metres per second.
    WIND_MPS: "wind speed", 0.0..=40.0, "give metres per second";
    /// Temperature of the air, in degrees Celsius.
    TEMPERATURE_C: "air temperature", -60.0..=60.0, "give degrees Celsius";
    /// Altitude above sea level, in metres.
    ALTITUDE_M: "altitude", -450.0..=9000.0, "give metres above sea level";
    /// Time to charge a battery set, in minutes.
    CHARGE_MIN: "charging time", 1.0..=1440.0, "give minutes for one set";
    /// Sets charged at once.
    CHARGED_AT_ONCE: "sets charged at once", 1.0..=100.0, "give a count";
    /// A standard deviation as a share.
    SPREAD_RATIO: "spread", 0.0..=1.0, "write 0.05 for 5 %";
    /// A standard deviation of the wind's direction, in degrees.
    SPREAD_DEG: "spread of the wind's direction", 0.0..=180.0, "give degrees";

    /// Time for a battery change, in minutes.
    SWAP_MIN: "battery change time", 0.0..=240.0, "give minutes";
    /// Satellite positioning error, in metres.
    GNSS_M: "positioning error", 0.0..=100.0, "give metres, one sigma";

    /// Radial coefficient of distortion.
    RADIAL_DISTORTION: "radial distortion", -50.0..=50.0, "give Brown's coefficient for coordinates in focal lengths, not in pixels or millimetres";
    /// Decentring coefficient of distortion.
    DECENTRING_DISTORTION: "decentring distortion", -1.0..=1.0, "give Brown's coefficient for coordinates in focal lengths, not in pixels or millimetres";
    /// Standard deviation of a term of the interior orientation, in pixels.
    CALIBRATION_PX: "uncertainty of the calibration", 0.01..=100.0, "give pixels, one sigma, or hold the calibration fixed";
    /// Standard deviation of an image point, in pixels.
    IMAGE_NOISE_PX: "image noise", 0.01..=10.0, "give pixels, one sigma";
    /// Standard deviation of a control point's coordinates, in metres.
    SURVEY_M: "error of a control point", 0.0005..=10.0, "give metres, one sigma: 0.01 for 1 cm";
    /// Largest error that is allowed, in metres.
    ACCURACY_M: "required accuracy", 0.001..=100.0, "give metres: 0.05 for 5 cm; or leave it out";

    /// Height ceiling and height limit, in metres.
    CEILING_M: "height limit", 5.0..=1000.0, "give metres above the ground";
    /// Distance from the pilot, in metres.
    PILOT_DISTANCE_M: "distance from the pilot", 10.0..=40000.0, "give metres";
    /// Largest motion blur, in pixels.
    BLUR_PX: "motion blur", 0.01..=20.0, "give pixels";
    /// Crew times, in minutes.
    CREW_TIME_MIN: "crew time", 0.0..=1440.0, "give minutes";
    /// Number of control points.
    CONTROL_POINTS: "number of control points", 0.0..=1000.0, "give a count";
    /// Battery sets on hand.
    BATTERY_SETS: "number of battery sets", 1.0..=1000.0, "give the sets on hand";
    /// Card space, in gigabytes.
    CARD_GB: "card space", 0.0..=100000.0, "give gigabytes";
    /// Year of a mission.
    YEAR: "year", 1950.0..=2100.0, "give all four digits";
    /// Month of a mission.
    MONTH: "month", 1.0..=12.0, "give 1 for January to 12 for December";
    /// Hour of a mission.
    HOUR: "hour", 0.0..=23.0, "give the hour of a clock with 24 hours";
    /// Minute of a mission.
    MINUTE: "minute", 0.0..=59.0, "give whole minutes";
    /// Offset of a fixed clock from UTC, in minutes.
    OFFSET_MIN: "offset from UTC", -720.0..=840.0, "give minutes ahead of UTC, below 0 west of Greenwich";
    /// Light level, as an exposure value.
    EV100: "exposure value", -6.0..=20.0, "give the exposure value at ISO 100: about 15 in full sun";
    /// Hours for each unit of processing work.
    STAGE_RATE_H: "processing rate", 0.0..=1000.0, "give hours for each unit of work";
    /// How flights come out against what is planned.
    FLOWN_RATIO: "correction by flights", 0.2..=5.0, "write 1.1 for a tenth more, or leave the corrections out";
    /// Jobs that a fit of rates or of flights rests on.
    LOGGED_JOBS: "number of jobs of a calibration", 6.0..=10_000.0, "give how many jobs it was fitted to, or leave the calibration out";
    /// How many times as large or small fitted figures may be at the ends of their interval.
    WITHIN_FACTOR: "interval of a calibration", 1.0..=1000.0, "write 1.18 for ±18 %";

    /// Covered share, a fraction.
    COVERAGE: "required coverage", 0.0..=1.0, "write 0.8 for 80 %";
    /// Greatest incidence, in degrees.
    INCIDENCE_DEG: "maximum incidence", 1.0..=89.0, "give degrees from the surface's normal";
    /// Fewest views.
    MIN_VIEWS: "minimum views", 1.0..=100.0, "give a count";
    /// Least intersection angle, in degrees.
    INTERSECTION_DEG: "minimum intersection angle", 0.0..=90.0, "give degrees";
    /// Greatest link angle, in degrees.
    LINK_DEG: "maximum link angle", 1.0..=180.0, "give degrees";
    /// Time on site, in minutes.
    TIME_ON_SITE_MIN: "time on site", 1.0..=100000.0, "give minutes, or leave it out";
    /// Most images.
    IMAGES: "number of images", 1.0..=10000000.0, "give a count, or leave it out";
    /// People of a crew.
    CREW: "number of people", 0.0..=50.0, "count who is on site";
    /// An amount of money.
    AMOUNT: "amount", 0.0..=1e12, "give it in the firm's currency, not below 0";
    /// Days a year.
    DAYS_A_YEAR: "days a year", 1.0..=366.0, "count days";
    /// Share of days that the weather leaves.
    WEATHER_SHARE: "share of days that the weather leaves", 0.01..=1.0, "write 0.6 for 60 %";
    /// Hours of a day's work.
    HOURS_A_DAY: "hours a day", 1.0..=24.0, "give hours";
    /// Interest a year, a fraction.
    INTEREST: "interest a year", 0.0..=0.5, "write 0.06 for 6 %";
    /// Share of freed days that is sold.
    SOLD_SHARE: "share of freed days that is sold", 0.0..=1.0, "write 0.5 for half of them";
    /// Years of a study, and of an aircraft.
    YEARS: "number of years", 1.0..=30.0, "give whole years";
    /// Jobs a year of a kind.
    JOBS_A_YEAR: "jobs a year", 0.0..=10000.0, "count jobs";
    /// Hours on the road to a job and back.
    ROAD_H: "time on the road", 0.0..=48.0, "give hours, there and back";
    /// The same in kilometres.
    ROAD_KM: "way on the road", 0.0..=5000.0, "give kilometres, there and back";
    /// Hours of somebody at the workstation for a job.
    ATTENDED_H: "time at the workstation", 0.0..=1000.0, "give hours";
    /// Share of visits after which there is another one.
    AGAIN_SHARE: "share of visits that are made again", 0.0..=0.9, "write 0.1 for one in ten";
    /// Cycles that a battery set lasts.
    BATTERY_CYCLES: "cycles of a battery set", 1.0..=1e6, "count full cycles";
    /// Losses of an aircraft a year.
    LOSSES_A_YEAR: "losses a year", 0.0..=10.0, "write 0.05 for one in twenty years";
}

/// Most strategies in a scenario.
pub const STRATEGIES: usize = 16;
/// Most passes in a strategy.
pub const PASSES: usize = 40;
/// Most take-off points of a strategy besides the site's.
pub const TAKE_OFFS: usize = 8;
/// Most attitudes in a pass.
pub const ATTITUDES: usize = 8;
/// Most corners of a corridor's line.
pub const LINE_CORNERS: usize = 500;
/// Sharpest turn of a corridor's line, in degrees.
pub const LINE_TURN_DEG: f64 = 150.0;
/// Most aircraft in a scenario.
pub const AIRCRAFT: usize = 64;
/// Most places of control points on a site.
pub const CONTROL_POINT_PLACES: usize = 1_000;
/// Most structures on a site, and most keep-outs.
pub const STRUCTURES: usize = 5_000;
/// Most corners of one outline.
pub const CORNERS: usize = 5_000;
/// Most corners of all outlines of a site together.
pub const CORNERS_IN_ALL: usize = 100_000;
/// Least thickness of a deck, in metres.
pub const DECK_THICKNESS_M: f64 = 0.05;
/// Least area of an outline, in square metres.
pub const AREA_M2: f64 = 1.0;
/// Most samples that a spacing set by the user may ask for on the ground.
pub const SAMPLES: f64 = 4e6;
/// Most typical buildings on a site.
pub const TYPICAL_BUILDINGS: f64 = 20_000.0;
/// Most pixels along a side of a picture that the plan is drawn over.
pub const UNDERLAY_SIDE_PX: u32 = 100_000;
/// Most characters in a name.
pub const NAME_CHARS: usize = 200;
