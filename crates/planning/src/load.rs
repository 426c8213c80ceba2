//! What processing has to do.

use crate::footprint::footprint_m;
use crate::polygon::{sides, signed_area_m2};
use crate::route::bounds;
use crate::{Cancelled, HourTerms, PosedCamera, StageRates, Stations, Watch};
use glam::{DVec2, DVec3};
use rayon::prelude::*;

/// Least share of the smaller footprint that two images of a pair have in common.
const LEAST_SHARED: f64 = 0.25;

/// Cosine of the greatest angle between their axes (60°).
const LEAST_AXIS_COSINE: f64 = 0.5 - 1e-12;

/// Images handled between two questions whether to go on.
const IMAGES_A_STEP: usize = 64;

/// Pairs of images that overlap enough to be matched: their footprints on a level plane, rays cut at 75° from the
/// vertical, share at least a quarter of the smaller, and their axes lie within 60°.
///
/// An image that sees nothing of the plane pairs with none.
///
/// # Errors
/// [`Cancelled`] when the watch says so.
///
/// # References
/// Common practice, no source.
pub fn image_pairs(passes: &[&Stations], plane_z_m: f64, watch: &dyn Watch) -> Result<u64, Cancelled> {
    let mut frames: Vec<Frame> = passes
        .iter()
        .flat_map(|stations| stations.poses.iter().map(|pose| PosedCamera::new(stations.camera, pose)))
        .filter_map(|camera| Frame::new(&camera, plane_z_m))
        .collect();
    // Sorted by their western edge, only frames that begin before this one ends can meet it.
    frames.sort_by(|a, b| a.low_m.x.total_cmp(&b.low_m.x));
    let total = frames.len() as u64;
    let starts: Vec<usize> = (0..frames.len()).step_by(IMAGES_A_STEP).collect();
    let done = std::sync::atomic::AtomicU64::new(0);
    let counts: Vec<Result<u64, Cancelled>> = starts
        .par_iter()
        .map(|&start| {
            let end = (start + IMAGES_A_STEP).min(frames.len());
            let before = done.fetch_add((end - start) as u64, std::sync::atomic::Ordering::Relaxed);
            watch.step(before, total)?;
            Ok((start..end).map(|k| partners(&frames[k], &frames[k + 1..])).sum())
        })
        .collect();
    counts.into_iter().sum()
}

/// Hours from counted work and stage rates.
///
/// # Units
/// - `gigapixels`: 10^9 pixels of all images
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
    ring: Vec<DVec2>,
    area_m2: f64,
    low_m: DVec2,
    high_m: DVec2,
    axis: DVec3,
}

impl Frame {
    fn new(camera: &PosedCamera, plane_z_m: f64) -> Option<Self> {
        let mut ring = footprint_m(camera, plane_z_m)?;
        let signed = signed_area_m2(&ring);
        if signed < 0.0 {
            ring.reverse();
        }
        let (low_m, high_m) = bounds(&ring);
        Some(Frame { ring, area_m2: signed.abs(), low_m, high_m, axis: camera.forward })
    }
}

/// How many of the later frames make a pair with this one.
fn partners(frame: &Frame, later: &[Frame]) -> u64 {
    let mut clip = Clip::default();
    later
        .iter()
        .take_while(|other| other.low_m.x < frame.high_m.x)
        .filter(|other| frame.axis.dot(other.axis) >= LEAST_AXIS_COSINE)
        .filter(|other| {
            let least = LEAST_SHARED * frame.area_m2.min(other.area_m2);
            let common = frame.high_m.min(other.high_m) - frame.low_m.max(other.low_m);
            common.x > 0.0
                && common.y > 0.0
                && common.x * common.y >= least
                && clip.shared_area_m2(&frame.ring, &other.ring) >= least * (1.0 - 1e-12)
        })
        .count() as u64
}

/// Room for clipping one convex ring by another, kept from pair to pair.
#[derive(Default)]
struct Clip {
    kept: Vec<DVec2>,
    next: Vec<DVec2>,
}

impl Clip {
    /// Area that two convex counter-clockwise rings have in common (Sutherland and Hodgman's clipping).
    fn shared_area_m2(&mut self, subject: &[DVec2], window: &[DVec2]) -> f64 {
        self.kept.clear();
        self.kept.extend_from_slice(subject);
        for (a, b) in sides(window) {
            self.next.clear();
            let inside = |p: DVec2| (b - a).perp_dot(p - a);
            for (p, q) in sides(&self.kept) {
                let (in_p, in_q) = (inside(p), inside(q));
                if in_p >= 0.0 {
                    self.next.push(p);
                }
                if (in_p > 0.0 && in_q < 0.0) || (in_p < 0.0 && in_q > 0.0) {
                    self.next.push(p.lerp(q, in_p / (in_p - in_q)));
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
