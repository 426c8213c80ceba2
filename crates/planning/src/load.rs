//! What the images come to: card space, pixels, pairs, and what processing has to do with them.

use crate::base::choice::EQUAL_RATIO;
use crate::base::{Cancelled, Watch};
use crate::geometry::PosedCamera;
use crate::geometry::polygon::{bounds, sides, signed_area_m2};
use crate::route::subject::Plane;
use crate::route::{PassPlan, Stations, Subject};
use crate::scenario::{Camera, Rates, StageRates};
use glam::DVec2;
use rayon::prelude::*;
use std::collections::BTreeMap;
use std::sync::Arc;

/// Least share of the smaller footprint that two images of a pair have in common: a quarter, rounding forgiven.
const LEAST_SHARED: f64 = 0.25 * (1.0 - EQUAL_RATIO);

/// Cosine of the greatest angle between their axes: 60°, rounding forgiven.
const LEAST_AXIS_COSINE: f64 = 0.5 - EQUAL_RATIO;

/// Images handled between two questions whether to go on.
const IMAGES_A_STEP: usize = 64;

/// What processing has to do, counted before it is timed.
#[derive(Debug, Clone, PartialEq)]
pub struct LoadFigures {
    /// Images taken.
    pub image_count: u32,
    /// Exposures not taken because they would show nothing of the site.
    pub skipped_exposures: u32,
    /// Card space, in gigabytes (10^9 bytes).
    pub storage_gb: f64,
    /// Size of an image file, in megabytes (10^6 bytes).
    pub image_mb: f64,
    /// Pixels of an image, in 10^6.
    pub megapixels: f64,
    /// Pixels of all images, in 10^9.
    pub gigapixels: f64,
    /// Pairs of images that overlap enough to be matched; from the depth of views on.
    pub image_pairs: Option<u64>,
    /// The same by the passes that the two images are of; empty before that.
    pub pairs_by_pass: Arc<[PassPairs]>,
    /// Hours from the stage rates; needs the pairs.
    pub hours: Option<HourTerms>,
    /// Hours for each unit of counted work.
    pub rates: StageRates,
    /// Whether the rates were fitted to logged jobs.
    pub fitted: bool,
}

impl LoadFigures {
    /// What the images of some plans come to; with their pairs, where these are counted, the hours too.
    pub(crate) fn new(
        plans: &[Arc<PassPlan>],
        camera: &Camera,
        pairs_by_pass: Option<&Arc<[PassPairs]>>,
        rates: &Rates,
    ) -> Self {
        let image_pairs = pairs_by_pass.map(|pairs| total_pairs(pairs));
        let image_count: u32 = plans.iter().map(|plan| plan.stations.poses.len() as u32).sum();
        let gigapixels = f64::from(image_count) * camera.megapixels() / 1000.0;
        let hours = |pairs| processing_hours(image_count, gigapixels, pairs, &rates.stages);
        LoadFigures {
            image_count,
            skipped_exposures: plans.iter().map(|plan| plan.skipped).sum(),
            storage_gb: f64::from(image_count) * camera.image_mb / 1000.0,
            image_mb: camera.image_mb,
            megapixels: camera.megapixels(),
            gigapixels,
            image_pairs,
            pairs_by_pass: pairs_by_pass.map(Arc::clone).unwrap_or_default(),
            hours: image_pairs.map(hours),
            rates: rates.stages,
            fitted: rates.fitted,
        }
    }
}

/// Pairs of images of two passes, or of one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PassPairs {
    /// Place of the one pass among those that are flown.
    pub first: usize,
    /// Place of the other; not before the first.
    pub second: usize,
    /// How many.
    pub pairs: u64,
}

/// What the processing hours are made of; the terms add up to them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HourTerms {
    /// Finding features.
    pub features_h: f64,
    /// Matching pairs.
    pub matching_h: f64,
    /// Bundle adjustment.
    pub adjustment_h: f64,
    /// Dense reconstruction.
    pub dense_h: f64,
}

impl HourTerms {
    /// The sum of the terms.
    ///
    /// # Units
    /// - returns: hours
    pub fn total_h(&self) -> f64 {
        self.features_h + self.matching_h + self.adjustment_h + self.dense_h
    }
}

/// Pairs of images that overlap enough to be matched: their footprints on the surface that their pass looks at, rays cut at
/// 75° from its normal, share at least a quarter of the smaller, and their axes lie within 60°.
///
/// The surface is the level plane at `plane_z_m` for what flies over it and for orbits, the plane of the wall for rows in
/// front of one, the soffit's for strips below a deck. Images of walls that meet at an angle are compared on the plane of
/// the first; images of different kinds of surface make no pair, since what they share they see from afar or slantingly.
/// An image that sees nothing of its surface pairs with none. Orbits that look level are judged roughly: by the ground
/// behind what they look at.
///
/// # Units
/// - `plane_z_m`: metres in the local frame
/// - returns: pairs of images
///
/// # Errors
/// [`Cancelled`] when the watch says so.
///
/// # References
/// Common practice, no source.
pub fn image_pairs(
    passes: &[(&Stations, Subject)],
    plane_z_m: f64,
    watch: &dyn Watch,
) -> Result<u64, Cancelled> {
    Ok(total_pairs(&pairs_by_pass(passes, plane_z_m, watch)?))
}

/// All pairs together.
fn total_pairs(by_pass: &[PassPairs]) -> u64 {
    by_pass.iter().map(|of| of.pairs).sum()
}

/// [`image_pairs`], by the passes that the two images are of; passes that have none together are left out.
pub(crate) fn pairs_by_pass(
    passes: &[(&Stations, Subject)],
    plane_z_m: f64,
    watch: &dyn Watch,
) -> Result<Arc<[PassPairs]>, Cancelled> {
    let mut frames: Vec<Frame> = passes
        .iter()
        .enumerate()
        .flat_map(|(pass, (stations, subject))| {
            let posed = stations.poses.iter().map(|pose| (PosedCamera::new(stations.camera, pose), pose));
            posed.map(move |(camera, pose)| (pass, camera, subject.plane(pose, plane_z_m)))
        })
        .filter_map(|(pass, camera, plane)| Frame::new(pass, camera, plane))
        .collect();
    number_planes(&mut frames);
    // Plane by plane, sorted by the western edge there: only frames that begin before this one ends can meet it.
    frames.sort_by(|a, b| a.plane_number.cmp(&b.plane_number).then(a.low_m.x.total_cmp(&b.low_m.x)));
    let total = frames.len() as u64;
    let starts: Vec<usize> = (0..frames.len()).step_by(IMAGES_A_STEP).collect();
    let done = std::sync::atomic::AtomicU64::new(0);
    let counts: Vec<BTreeMap<(usize, usize), u64>> = starts
        .par_iter()
        .map(|&start| {
            let end = (start + IMAGES_A_STEP).min(frames.len());
            let before = done.fetch_add((end - start) as u64, std::sync::atomic::Ordering::Relaxed);
            watch.step(before, total)?;
            let mut found = BTreeMap::new();
            (start..end).for_each(|k| partners(&frames[k], &frames[k + 1..], &mut found));
            Ok(found)
        })
        .collect::<Result<_, Cancelled>>()?;
    let mut all: BTreeMap<(usize, usize), u64> = BTreeMap::new();
    for (of, pairs) in counts.into_iter().flatten() {
        *all.entry(of).or_default() += pairs;
    }
    Ok(all.into_iter().map(|((first, second), pairs)| PassPairs { first, second, pairs }).collect())
}

/// Hours from counted work and stage rates.
///
/// # Units
/// - `images`: a count; `gigapixels`: 10^9 pixels of all images; `image_pairs`: a count
/// - returns: hours
///
/// # References
/// Derived: counted work times its rate. That the work grows so is common practice, no source.
///
/// # Examples
/// ```
/// use obliquity_planning::{StageRates, processing_hours};
/// let rates = StageRates {
///     features_h_per_gigapixel: 0.1,
///     matching_h_per_thousand_pairs: 0.05,
///     adjustment_h_per_thousand_images: 0.5,
///     dense_h_per_gigapixel: 0.4,
/// };
/// // 500 images of 20 megapixels, 4000 pairs: 1.0 + 0.2 + 0.25 + 4.0
/// let hours = processing_hours(500, 10.0, 4000, &rates);
/// assert!((hours.total_h() - 5.45).abs() < 1e-12);
/// ```
pub fn processing_hours(images: u32, gigapixels: f64, image_pairs: u64, rates: &StageRates) -> HourTerms {
    HourTerms {
        features_h: gigapixels * rates.features_h_per_gigapixel,
        matching_h: image_pairs as f64 / 1000.0 * rates.matching_h_per_thousand_pairs,
        adjustment_h: f64::from(images) / 1000.0 * rates.adjustment_h_per_thousand_images,
        dense_h: gigapixels * rates.dense_h_per_gigapixel,
    }
}

/// A footprint with what is asked of it again and again.
struct Frame {
    pass: usize,
    camera: PosedCamera,
    plane: Plane,
    /// Number of the plane, as the flight comes to them.
    plane_number: usize,
    ring: Vec<DVec2>,
    area_m2: f64,
    low_m: DVec2,
    high_m: DVec2,
}

impl Frame {
    fn new(pass: usize, camera: PosedCamera, plane: Plane) -> Option<Self> {
        // a rule of thumb for counting, on frames that are convex
        let pinhole = PosedCamera { model: camera.model.without_lens(), ..camera };
        let mut ring = plane.footprint_m(&pinhole)?;
        let signed = signed_area_m2(&ring);
        if signed < 0.0 {
            ring.reverse();
        }
        let (low_m, high_m) = bounds(&ring);
        Some(Frame { pass, camera, plane, plane_number: 0, ring, area_m2: signed.abs(), low_m, high_m })
    }

    fn looks_as(&self, other: &Frame) -> bool {
        self.camera.forward.dot(other.camera.forward) >= LEAST_AXIS_COSINE
    }
}

/// Numbers the planes in the order in which they are first looked at, whatever way they face.
fn number_planes(frames: &mut [Frame]) {
    let mut planes: Vec<Plane> = Vec::new();
    for frame in frames {
        let known = planes.iter().position(|plane| plane.is_one_with(&frame.plane));
        frame.plane_number = known.unwrap_or_else(|| {
            planes.push(frame.plane);
            planes.len() - 1
        });
    }
}

/// Counts the later frames that make a pair with this one, by both passes.
fn partners(frame: &Frame, later: &[Frame], found: &mut BTreeMap<(usize, usize), u64>) {
    let mut note = |other: &Frame| {
        let of = (frame.pass.min(other.pass), frame.pass.max(other.pass));
        *found.entry(of).or_default() += 1;
    };
    let mut clip = Clip::default();
    let same = later.iter().take_while(|other| other.plane_number == frame.plane_number).count();
    let (beside, others) = later.split_at(same);
    beside
        .iter()
        .take_while(|other| other.low_m.x < frame.high_m.x)
        .filter(|other| frame.looks_as(other) && overlap(frame, other, &mut clip))
        .for_each(&mut note);
    if !frame.plane.is_wall() {
        return;
    }
    others
        .iter()
        .filter(|other| other.plane.is_wall() && frame.looks_as(other))
        .filter_map(|other| Frame::new(other.pass, other.camera, frame.plane))
        .filter(|other| overlap(frame, other, &mut clip))
        .for_each(|other| note(&other));
}

/// Whether two frames on one plane share at least a quarter of the smaller.
fn overlap(frame: &Frame, other: &Frame, clip: &mut Clip) -> bool {
    let least = LEAST_SHARED * frame.area_m2.min(other.area_m2);
    let common = frame.high_m.min(other.high_m) - frame.low_m.max(other.low_m);
    common.x > 0.0
        && common.y > 0.0
        && common.x * common.y >= least
        && clip.shared_area_m2(&frame.ring, &other.ring) >= least
}

/// Room for clipping one convex ring by another, kept from pair to pair.
#[derive(Default)]
struct Clip {
    kept: Vec<DVec2>,
    next: Vec<DVec2>,
    /// How far each of those kept lies inside a side, times its length.
    inside: Vec<f64>,
}

impl Clip {
    /// Area that two convex counter-clockwise rings have in common (Sutherland and Hodgman's clipping).
    fn shared_area_m2(&mut self, subject: &[DVec2], window: &[DVec2]) -> f64 {
        self.kept.clear();
        self.kept.extend_from_slice(subject);
        for (a, b) in sides(window) {
            self.inside.clear();
            self.inside.extend(self.kept.iter().map(|&p| (b - a).perp_dot(p - a)));
            if self.inside.iter().all(|&inside| inside >= 0.0) {
                // Most sides cut nothing off.
                continue;
            }
            if self.inside.iter().all(|&inside| inside < 0.0) {
                return 0.0;
            }
            self.next.clear();
            let next = (1..self.kept.len()).chain([0]);
            for (k, after) in next.enumerate() {
                let (p, in_p, in_q) = (self.kept[k], self.inside[k], self.inside[after]);
                if in_p >= 0.0 {
                    self.next.push(p);
                }
                if (in_p > 0.0 && in_q < 0.0) || (in_p < 0.0 && in_q > 0.0) {
                    self.next.push(p.lerp(self.kept[after], in_p / (in_p - in_q)));
                }
            }
            std::mem::swap(&mut self.kept, &mut self.next);
            if self.kept.len() < 3 {
                return 0.0;
            }
        }
        signed_area_m2(&self.kept)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Derived: unit squares a half apart share a half; a square turned by 45° about the same centre shares 2√2 − 2.
    #[test]
    fn shared_areas() {
        let square = |x: f64| {
            vec![DVec2::new(x, 0.), DVec2::new(x + 1., 0.), DVec2::new(x + 1., 1.), DVec2::new(x, 1.)]
        };
        let mut clip = Clip::default();
        assert!((clip.shared_area_m2(&square(0.), &square(0.5)) - 0.5).abs() < 1e-12);
        assert_eq!(clip.shared_area_m2(&square(0.), &square(2.)), 0.0);
        let r = 0.5_f64.sqrt();
        let turned =
            [(r, 0.), (0., r), (-r, 0.), (0., -r)].map(|(x, y)| DVec2::new(0.5 + x, 0.5 + y)).to_vec();
        assert!((clip.shared_area_m2(&square(0.), &turned) - (8.0_f64.sqrt() - 2.0)).abs() < 1e-12);
    }
}
