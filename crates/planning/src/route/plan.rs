use crate::{CameraModel, CountingRule, Id, Pose};
use glam::DVec3;
use std::sync::Arc;

/// What one pass looks like, apart from time.
#[derive(Debug, Clone, PartialEq)]
pub struct PassPlan {
    /// The pass it was made from.
    pub pass: Id,
    /// How the strips and exposures were laid out.
    pub layout: LayoutTerms,
    /// What bounds the speed.
    pub speed: SpeedTerms,
    /// When the camera can fire.
    pub exposure: ExposureTerms,
    /// In flying order.
    pub legs: Vec<Leg>,
    /// In flying order.
    pub stations: Arc<Stations>,
    /// Exposures not taken because their frame meets neither the boundary nor a structure.
    pub skipped: u32,
}

/// The exposures of one pass: poses only; when they are taken is the flight's.
#[derive(Debug, Clone, PartialEq)]
pub struct Stations {
    /// The camera they share.
    pub camera: CameraModel,
    /// In flying order.
    pub poses: Vec<Pose>,
}

/// The terms that the layout of a strips pass rests on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LayoutTerms {
    /// Height above the reference plane.
    pub height_m: f64,
    /// Whether the height ceiling cut the height that the GSD asked for.
    pub capped: bool,
    /// GSD of a level camera from that height.
    pub vertical_gsd_m: f64,
    /// Extent of the vertical-equivalent footprint along the track.
    pub extent_along_m: f64,
    /// Extent of the vertical-equivalent footprint across the track.
    pub extent_across_m: f64,
    /// Distance between exposures (cycled: between cycles) before it is evened out.
    pub air_base_m: f64,
    /// Distance between strips before it is evened out.
    pub strip_spacing_m: f64,
    /// How strips were counted.
    pub counting: CountingRule,
    /// Strips flown.
    pub strips: u32,
    /// Strip direction, clockwise from north.
    pub direction_rad: f64,
    /// How far the pass reaches beyond the boundary on all sides.
    pub margin_m: f64,
    /// Width of the region across the strips.
    pub region_width_m: f64,
    /// Length of all strips, gaps included.
    pub strips_length_m: f64,
    /// Forward overlap over the highest roof inside the boundary; none where nothing stands.
    pub roof_forward_overlap: Option<f64>,
    /// Sidelap over the highest roof inside the boundary; none where nothing stands.
    pub roof_sidelap: Option<f64>,
    /// Forward overlap really reached on the tilted axis at the frame's centre line (level ground, first attitude).
    pub axis_forward_overlap: Option<f64>,
    /// Sidelap really reached on the tilted axis at the frame's centre line (level ground, first attitude).
    pub axis_sidelap: Option<f64>,
}

/// When the camera can fire.
#[derive(Debug, Clone, PartialEq)]
pub struct ExposureTerms {
    /// Time that each attitude takes: shot interval, or slew and settle from the attitude before.
    pub dwell_s: Vec<f64>,
    /// Time of one air base: the shot interval, or the sum of a cycle.
    pub cycle_s: f64,
}

/// The limits on the ground speed of a pass.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SpeedTerms {
    /// The user's own limit.
    pub user_mps: Option<f64>,
    /// The airframe's.
    pub airframe_mps: f64,
    /// Air base ÷ shortest shot interval, or ÷ cycle.
    pub interval_mps: f64,
    /// Blur limit × GSD on the highest roof ÷ exposure time.
    pub blur_mps: f64,
    /// The least of them.
    pub speed_mps: f64,
    /// Which one that is.
    pub bound_by: SpeedBound,
}

/// What bounds the ground speed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SpeedBound {
    /// The user's own limit.
    User,
    /// The airframe's top speed.
    Airframe,
    /// The camera's shot interval.
    ShotInterval,
    /// The gimbal's cycle through its attitudes.
    GimbalCycle,
    /// Motion blur.
    Blur,
}

impl SpeedBound {
    /// Name in files and sentences.
    pub fn name(self) -> &'static str {
        match self {
            SpeedBound::User => "user",
            SpeedBound::Airframe => "airframe",
            SpeedBound::ShotInterval => "shot interval",
            SpeedBound::GimbalCycle => "gimbal cycle",
            SpeedBound::Blur => "blur",
        }
    }
}

/// A straight piece of the route, flown from rest to rest.
#[derive(Debug, Clone, PartialEq)]
pub struct Leg {
    /// What it is for.
    pub kind: LegKind,
    /// Where it starts.
    pub from_m: DVec3,
    /// Where it ends.
    pub to_m: DVec3,
    /// Greatest speed on it.
    pub speed_mps: f64,
    /// Exposures on it, in order.
    pub stops: Vec<Stop>,
}

/// What a leg is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LegKind {
    /// Along a strip, exposing where the region is.
    Strip,
    /// From one strip to the next, or to a pass.
    Link,
    /// Between the take-off point and the route.
    Transit,
    /// Straight up.
    Climb,
    /// Straight down.
    Descent,
}

/// An exposure on a leg.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stop {
    /// Distance from the leg's start.
    pub along_m: f64,
    /// Index into the pass's stations.
    pub station: u32,
}

impl Leg {
    /// Length in metres.
    pub fn length_m(&self) -> f64 {
        self.from_m.distance(self.to_m)
    }
}
