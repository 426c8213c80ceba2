use crate::base::Id;
use crate::geometry::polygon::azimuth_rad;
use crate::geometry::{CameraModel, Pose};
use crate::route::Subject;
use crate::scenario::{Above, CountingRule, Distance, PatternKind};
use glam::{DVec2, DVec3};
use std::sync::Arc;

/// What one pass looks like, apart from time. A pass that cannot be flown has none: see [`super::PlanError`].
#[derive(Debug, Clone, PartialEq)]
pub struct PassPlan {
    /// The pass it was made from.
    pub pass: Id,
    /// The pattern flown.
    pub pattern: PatternKind,
    /// What its images look at.
    pub subject: Subject,
    /// How the strips and exposures were laid out.
    pub layout: LayoutTerms,
    /// What bounds the speed.
    pub speed: SpeedTerms,
    /// When the camera can fire.
    pub exposure: ExposureTerms,
    /// How high it flies above the ground; nothing without exposures.
    pub ground: Option<GroundTerms>,
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

/// The terms that the layout of a pass rests on. *Strips* are a corridor's strips, an orbit's rings and a facade's rows
/// as well; overlaps over roofs and on the tilted axis are those of strips only.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LayoutTerms {
    /// Which height, stand-off or GSD was asked for.
    pub asked: Distance,
    /// Height above what `above` says; of a pass that keeps a stand-off, the lowest flown above the reference plane.
    pub height_m: f64,
    /// What the height is above.
    pub above: Above,
    /// Least height of strips, rings or rows above the reference plane.
    pub lowest_m: f64,
    /// Distance from the surface, of a pass that keeps one.
    pub stand_off_m: Option<f64>,
    /// Whether the height ceiling cut the height or stand-off that the GSD asked for.
    pub capped: bool,
    /// GSD of a camera that faces its surface from that height or stand-off.
    pub vertical_gsd_m: f64,
    /// Extent of the vertical-equivalent footprint along the track.
    pub extent_along_m: f64,
    /// Extent of the vertical-equivalent footprint across the track.
    pub extent_across_m: f64,
    /// Distance between exposures (cycled: between cycles) before it is evened out.
    pub air_base_m: f64,
    /// Distance between strips before it is evened out.
    pub strip_spacing_m: f64,
    /// How strips were counted; nothing where they are not counted by a rule.
    pub counting: Option<CountingRule>,
    /// Strips flown.
    pub strips: u32,
    /// Strip direction, clockwise from north: of a line with corners its first leg's; nothing where lines run all ways.
    pub direction_rad: Option<f64>,
    /// The corner that strips over an area are begun at: its azimuth as seen from the middle of a square of them.
    pub corner_rad: Option<f64>,
    /// How far the pass reaches beyond the boundary, its line's ends or its walls; nothing where it has no margin.
    pub margin_m: Option<f64>,
    /// Width of the boundary across the strips; nothing where strips do not lie over it.
    pub boundary_width_m: Option<f64>,
    /// Width of the region across the strips; nothing where there is none.
    pub region_width_m: Option<f64>,
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
    /// What came of it in flight.
    pub flown: FlownTerms,
}

/// What is flown once strips, rows, rings and exposures are spread evenly.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct FlownTerms {
    /// Least and greatest distance between neighbouring exposures (cycled: between those of one attitude); nothing where
    /// none has a neighbour.
    pub air_base_m: Option<(f64, f64)>,
    /// Least and greatest distance between neighbouring strips, rows or rings; nothing where none has a neighbour.
    pub spacing_m: Option<(f64, f64)>,
    /// The circle of an orbit's rings.
    pub ring: Option<RingTerms>,
}

/// The circle that an orbit is flown on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RingTerms {
    /// Its middle.
    pub middle_m: DVec2,
    /// From the middle to every exposure.
    pub radius_m: f64,
    /// Radius of what is in the middle: the stand-off is what the ring is beyond it.
    pub circle_m: f64,
    /// The ground in the middle, in the site's frame.
    pub ground_z_m: f64,
}

impl FlownTerms {
    pub(super) fn note_base(&mut self, base_m: f64) {
        widen(&mut self.air_base_m, base_m);
    }

    pub(super) fn note_spacing(&mut self, spacing_m: f64) {
        widen(&mut self.spacing_m, spacing_m);
    }

    /// The distances that others have.
    pub(super) fn note(&mut self, others: &FlownTerms) {
        let bases_m = others.air_base_m.into_iter().flat_map(<[f64; 2]>::from);
        bases_m.for_each(|base_m| self.note_base(base_m));
        let spacings_m = others.spacing_m.into_iter().flat_map(<[f64; 2]>::from);
        spacings_m.for_each(|spacing_m| self.note_spacing(spacing_m));
    }
}

fn widen(range: &mut Option<(f64, f64)>, value: f64) {
    let (low, high) = range.unwrap_or((value, value));
    *range = Some((low.min(value), high.max(value)));
}

impl LayoutTerms {
    /// Forward overlap and sidelap of level frames over ground that lies a height below, by the air base and the strip
    /// spacing of the plan: 1 − base ÷ (extent × height ÷ height planned).
    ///
    /// # Units
    /// - `above_ground_m`: metres, above 0
    /// - returns: fractions; below 0 where frames leave gaps
    ///
    /// # References
    /// Derived: a footprint grows with the distance, base and spacing stay.
    pub fn overlaps_at(&self, above_ground_m: f64) -> (f64, f64) {
        let larger = above_ground_m / self.height_m;
        let overlap = |step_m: f64, extent_m: f64| 1.0 - step_m / (extent_m * larger);
        (overlap(self.air_base_m, self.extent_along_m), overlap(self.strip_spacing_m, self.extent_across_m))
    }
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
#[derive(Debug, Clone, PartialEq)]
pub struct SpeedTerms {
    /// The user's own limit.
    pub user_mps: Option<f64>,
    /// The airframe's.
    pub airframe_mps: f64,
    /// Air base ÷ shortest shot interval, or ÷ cycle.
    pub interval_mps: f64,
    /// At which the fastest image motion in the frame reaches the blur limit within the exposure time; infinite where no
    /// frame shows anything of the surface.
    pub blur_mps: f64,
    /// On what.
    pub blur_on: BlurOn,
    /// What the pattern itself allows, where it asks for less than these: on a ring, below a deck.
    pub pattern_mps: Option<f64>,
    /// The least of them.
    pub speed_mps: f64,
    /// Which one that is.
    pub bound_by: SpeedBound,
}

impl SpeedTerms {
    /// What bounds the speed, in words: "airframe", "motion blur on Silo 1, 38 m".
    ///
    /// `length` writes a length in metres.
    ///
    /// # Units
    /// - `length`: of metres
    pub fn bound_text(&self, length: impl Fn(f64) -> String) -> String {
        match self.bound_by {
            SpeedBound::Blur => format!("motion blur on {}", self.blur_on.text(length)),
            by => by.name().to_owned(),
        }
    }
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
    /// Sideways acceleration and yaw on a ring.
    Curve,
    /// The pattern's own default.
    Pattern,
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
            SpeedBound::Curve => "curve",
            SpeedBound::Pattern => "pattern",
        }
    }
}

/// A piece of the route: straight, or a line of short pieces flown without stopping. It is flown from rest to rest, but where
/// a turn is flown in one sweep.
#[derive(Debug, Clone, PartialEq)]
pub struct Leg {
    /// What it is for.
    pub kind: LegKind,
    /// Where it starts.
    pub from_m: DVec3,
    /// Places that it goes through on its way; none on a straight leg.
    pub via_m: Vec<DVec3>,
    /// Where it ends.
    pub to_m: DVec3,
    /// Greatest speed on it, along the line flown.
    pub speed_mps: f64,
    /// Where the aircraft's nose points on it.
    pub nose: Nose,
    /// Exposures on it, in order.
    pub stops: Vec<Stop>,
    /// How the aircraft stops at them; absent, it exposes while moving.
    pub standing: Option<Standing>,
    /// Length of the curve that the corners are drawn on, where the line flown is one.
    pub curve_m: Option<f64>,
}

/// How an aircraft stops to expose.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Standing {
    /// Coming to rest at a place before its first exposure, and that exposure.
    pub first_s: f64,
    /// Each further exposure at the same place.
    pub further_s: f64,
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
    /// From one strip to the next in one sweep, without stopping.
    Turn,
}

/// An exposure on a leg.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stop {
    /// Distance from the leg's start, along the line flown.
    pub along_m: f64,
    /// Index into the pass's stations.
    pub station: u32,
}

/// Stops nearer than this are one place.
pub(crate) const SAME_PLACE_M: f64 = 1e-6;

impl Leg {
    /// A straight leg without exposures.
    pub(crate) fn straight(kind: LegKind, from_m: DVec3, to_m: DVec3, speed_mps: f64) -> Self {
        Leg {
            kind,
            from_m,
            via_m: Vec::new(),
            to_m,
            speed_mps,
            nose: Nose::AlongTrack,
            stops: Vec::new(),
            standing: None,
            curve_m: None,
        }
    }

    /// Its corners in order, both ends included.
    ///
    /// # Units
    /// - returns: metres in the local frame
    pub fn corners_m(&self) -> impl Iterator<Item = DVec3> + '_ {
        std::iter::once(self.from_m).chain(self.via_m.iter().copied()).chain(std::iter::once(self.to_m))
    }

    /// Its straight pieces in order.
    ///
    /// # Units
    /// - returns: metres in the local frame
    pub fn pieces_m(&self) -> impl Iterator<Item = (DVec3, DVec3)> + '_ {
        Pieces { here_m: self.from_m, via_m: self.via_m.iter(), to_m: Some(self.to_m) }
    }

    /// Length in metres, along the line flown.
    ///
    /// # Units
    /// - returns: metres
    pub fn length_m(&self) -> f64 {
        if let Some(curve_m) = self.curve_m {
            return curve_m;
        }
        if self.via_m.is_empty() {
            return self.from_m.distance(self.to_m);
        }
        self.pieces_m().map(|(a, b)| a.distance(b)).sum()
    }

    /// The place at a distance from its start, along the line flown.
    ///
    /// # Units
    /// - `along_m`: metres from its start
    /// - returns: metres in the local frame
    pub fn at_m(&self, along_m: f64) -> DVec3 {
        if self.via_m.is_empty() {
            return self.from_m + (self.to_m - self.from_m).normalize_or_zero() * along_m;
        }
        let mut left_m = along_m;
        for (a, b) in self.pieces_m() {
            let length_m = a.distance(b);
            if left_m <= length_m {
                return a + (b - a).normalize_or_zero() * left_m;
            }
            left_m -= length_m;
        }
        self.to_m
    }

    /// The stretch between two distances along it, without exposures.
    pub(crate) fn part(&self, from_m: f64, to_m: f64) -> Leg {
        let (mut passed_m, mut via_m) = (0.0, Vec::new());
        let mut ends = [self.from_m, self.to_m];
        let mut sought = [from_m, to_m].into_iter().zip(&mut ends).peekable();
        for (a, b) in self.pieces_m() {
            let length_m = a.distance(b);
            while let Some((along_m, end)) = sought.next_if(|(along_m, _)| along_m - passed_m <= length_m) {
                *end = a + (b - a).normalize_or_zero() * (along_m - passed_m);
            }
            if sought.peek().is_none() {
                break;
            }
            passed_m += length_m;
            if passed_m > from_m + 1e-9 && passed_m < to_m - 1e-9 {
                via_m.push(b);
            }
        }
        Leg { via_m, ..Leg::straight(self.kind, ends[0], ends[1], self.speed_mps) }
    }

    /// Its first `stops` exposures and the way to the last of them, and what is left of it.
    pub(crate) fn split(&self, stops: usize) -> (Leg, Leg) {
        let along_m = self.stops[stops - 1].along_m;
        let at_m = self.at_m(along_m);
        let mut passed_m = 0.0;
        let mut before = 0;
        for (a, b) in self.pieces_m().take(self.via_m.len()) {
            passed_m += a.distance(b);
            before += usize::from(passed_m < along_m - 1e-9);
        }
        // A corner at the place itself is neither before nor after it.
        let after = before + self.via_m[before..].iter().take_while(|p| p.distance(at_m) < 1e-6).count();
        let (via_m, stops_done) = (self.via_m[..before].to_vec(), self.stops[..stops].to_vec());
        let done = Leg { via_m, to_m: at_m, stops: stops_done, ..self.clone() };
        let rest = self.stops[stops..].iter().map(|s| Stop { along_m: s.along_m - along_m, ..*s }).collect();
        (done, Leg { from_m: at_m, via_m: self.via_m[after..].to_vec(), stops: rest, ..self.clone() })
    }
}

/// The straight pieces of a leg that are still to come.
struct Pieces<'l> {
    here_m: DVec3,
    via_m: std::slice::Iter<'l, DVec3>,
    to_m: Option<DVec3>,
}

impl Iterator for Pieces<'_> {
    type Item = (DVec3, DVec3);

    fn next(&mut self) -> Option<(DVec3, DVec3)> {
        let next_m = match self.via_m.next() {
            Some(corner) => *corner,
            None => self.to_m.take()?,
        };
        Some((std::mem::replace(&mut self.here_m, next_m), next_m))
    }

    fn size_hint(&self) -> (usize, Option<usize>) {
        let count = self.via_m.len() + usize::from(self.to_m.is_some());
        (count, Some(count))
    }
}

/// Where an aircraft's nose points on a leg.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Nose {
    /// Along the line flown.
    AlongTrack,
    /// One way, whichever way the aircraft flies.
    Held {
        /// Clockwise from north.
        azimuth_rad: f64,
    },
    /// Toward a place that the aircraft flies round.
    Toward {
        /// East and north.
        place_m: DVec2,
        /// Clockwise from the direction to the place.
        turned_rad: f64,
    },
}

impl Nose {
    /// Azimuth at a place of a leg with the level direction flown there; none where an upright leg says nothing.
    pub(crate) fn at_rad(self, at: DVec3, way: Option<DVec2>) -> Option<f64> {
        match self {
            Nose::AlongTrack => way.map(azimuth_rad),
            Nose::Held { azimuth_rad } => Some(azimuth_rad),
            Nose::Toward { place_m, turned_rad } => {
                let toward = place_m - at.truncate();
                (toward != DVec2::ZERO).then(|| azimuth_rad(toward) + turned_rad)
            }
        }
    }
}

/// What moves fastest in the frames of a pass: what motion blur is held against.
#[derive(Debug, Clone, PartialEq)]
pub enum BlurOn {
    /// The highest roof.
    Roof {
        /// The structure's name.
        name: String,
        /// Its roof above the mean ground.
        height_m: f64,
    },
    /// The highest ground inside the boundary.
    HighestGround,
    /// Level ground, or ground that is followed.
    Ground,
    /// Ground that rises beside a line that follows it.
    RisingGround,
    /// What the pass keeps its stand-off from.
    Facing {
        /// The structure's name; none for a place that rings go round.
        name: Option<String>,
    },
}

impl BlurOn {
    /// In words: "Silo 1, 38 m", "the highest ground".
    ///
    /// `length` writes a length in metres.
    ///
    /// # Units
    /// - `length`: of metres
    pub fn text(&self, length: impl Fn(f64) -> String) -> String {
        match self {
            BlurOn::Roof { name, height_m } => format!("{name}, {}", length(*height_m)),
            BlurOn::HighestGround => "the highest ground".to_owned(),
            BlurOn::Ground => "the ground".to_owned(),
            BlurOn::RisingGround => "rising ground".to_owned(),
            BlurOn::Facing { name: Some(name) } => name.clone(),
            BlurOn::Facing { name: None } => "what is gone round".to_owned(),
        }
    }
}

/// Heights of a pass above the ground, which may rise and fall below it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GroundTerms {
    /// Least height of an exposure above the ground right below, in metres.
    pub least_m: f64,
    /// Greatest height of an exposure above the ground right below, in metres.
    pub greatest_m: f64,
    /// Least height of the strips above the ground right below, in metres, between exposures as well.
    pub lowest_m: f64,
    /// Greatest height of strips and links above the ground right below, in metres.
    pub highest_m: f64,
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Derived: a part begins and ends where the leg is at those distances, goes through the corners between them and no
    /// others, and is as long as they are apart.
    #[test]
    fn a_part_is_the_leg_between_two_distances() {
        let corner = |k: u32| DVec3::new(f64::from(k) * 7.0, f64::from(k * k % 11), f64::from(k * 5 % 7));
        for corners in [2, 3, 9, 40] {
            let via_m: Vec<DVec3> = (1..corners - 1).map(corner).collect();
            let straight = Leg::straight(LegKind::Strip, corner(0), corner(corners - 1), 5.0);
            let leg = Leg { via_m, ..straight };
            for k in 0..120 {
                let share = |of: u32| f64::from(k * of % 61) / 60.0;
                let (from_m, to_m) = (leg.length_m() * share(7), leg.length_m() * share(23));
                let (from_m, to_m) = (from_m.min(to_m), from_m.max(to_m));
                let part = leg.part(from_m, to_m);
                // rounding of sums of some ten lengths
                assert!(part.from_m.distance(leg.at_m(from_m)) < 1e-9, "{corners} {k}");
                assert!(part.to_m.distance(leg.at_m(to_m)) < 1e-9, "{corners} {k}");
                assert!((part.length_m() - (to_m - from_m)).abs() < 1e-9, "{corners} {k}");
                assert!(part.via_m.iter().all(|via| leg.via_m.contains(via)), "{corners} {k}");
            }
        }
    }
}
