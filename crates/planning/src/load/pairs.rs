//! Pairs of images that matching looks at, counted on footprints.

use crate::base::choice::EQUAL_RATIO;
use crate::base::{Cancelled, Watch};
use crate::geometry::PosedCamera;
use crate::geometry::polygon::{bounds, sides, signed_area_m2};
use crate::route::subject::Plane;
use crate::route::{Stations, Subject};
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

/// Pairs of images when every image is matched with every other: what matching has to do without selecting pairs.
///
/// n (n − 1) / 2.
///
/// # Units
/// - `images`: a count
/// - returns: pairs of images
///
/// # References
/// Derived: two out of n.
///
/// # Examples
/// ```
/// assert_eq!(obliquity_planning::exhaustive_pairs(65), 2080);
/// ```
pub fn exhaustive_pairs(images: u32) -> u64 {
    u64::from(images) * u64::from(images.saturating_sub(1)) / 2
}

/// Pairs of images when every image is matched with so many others, whether or not these are matched with it in turn; never
/// more than there are.
///
/// min(n k, n (n − 1) / 2).
///
/// # Units
/// - `images`, `neighbours`: counts
/// - returns: pairs of images
///
/// # References
/// Derived. That matching then takes time in proportion to the images: Jiang & Jiang 2018, Remote Sensing 10(8), 1246.
///
/// # Examples
/// ```
/// assert_eq!(obliquity_planning::neighbour_pairs(1000, 20), 20_000);
/// ```
pub fn neighbour_pairs(images: u32, neighbours: u32) -> u64 {
    (u64::from(images) * u64::from(neighbours)).min(exhaustive_pairs(images))
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
pub(super) fn total_pairs(by_pass: &[PassPairs]) -> u64 {
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
            let along = b - a;
            let (mut least, mut most) = (f64::INFINITY, f64::NEG_INFINITY);
            self.inside.clear();
            self.inside.extend(self.kept.iter().map(|&p| {
                let inside = along.perp_dot(p - a);
                (least, most) = (least.min(inside), most.max(inside));
                inside
            }));
            if least >= 0.0 {
                // Most sides cut nothing off.
                continue;
            }
            if most < 0.0 {
                return 0.0;
            }
            self.next.clear();
            let count = self.kept.len();
            for k in 0..count {
                let after = if k + 1 < count { k + 1 } else { 0 };
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

    /// Derived, counted one by one as axis-aligned rectangles elsewhere: of 65 frames of 150 m by 100 m, 60 m and 20 m apart, 889
    /// pairs overlap at all, and 401 share a quarter.
    #[test]
    fn frames_of_a_block_that_overlap() {
        let ring = |k: u32| {
            let corner = DVec2::new(60.0 * f64::from(k % 5), 20.0 * f64::from(k / 5));
            [(0.0, 0.0), (150.0, 0.0), (150.0, 100.0), (0.0, 100.0)].map(|(x, y)| corner + DVec2::new(x, y))
        };
        let mut clip = Clip::default();
        let mut sharing = |least_m2: f64| {
            let pairs = (0..65).flat_map(|one| (0..one).map(move |other| (one, other)));
            pairs.filter(|&(one, other)| clip.shared_area_m2(&ring(one), &ring(other)) >= least_m2).count()
        };
        assert_eq!((sharing(1e-6), sharing(LEAST_SHARED * 15000.0)), (889, 401));
    }
}
