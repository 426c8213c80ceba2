//! Which images hang together: pairs that count enough of the same surface from alike.

use super::groups::Groups;
use crate::base::{Cancelled, Watch, ask_now_and_then};
use glam::DVec3;
use rayon::prelude::*;
use std::sync::atomic::{AtomicU64, Ordering};

/// When two images are tied.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TieRules {
    /// Least share of the smaller counted area that both count, 0 to 1.
    pub least_share: f64,
    /// Fewest samples that both count.
    pub least_samples: u32,
    /// Two rays to a sample match when they differ by no more than this.
    pub max_link_rad: f64,
    /// The coarser GSD of the two may be this many times the finer.
    pub max_gsd_ratio: f64,
}

impl TieRules {
    /// The project's rules, with the link that the requirement sets: a tenth of the smaller area, six samples, GSD within a
    /// factor of 2.5.
    ///
    /// # Units
    /// - `max_link_rad`: greatest angle between rays that match
    pub fn linked_within(max_link_rad: f64) -> Self {
        TieRules { least_share: 0.1, least_samples: 6, max_link_rad, max_gsd_ratio: 2.5 }
    }
}

/// A counted view of a sample.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TiedView {
    /// Number of the image.
    pub image: u32,
    /// Unit vector from the sample to the camera.
    pub toward: DVec3,
    /// GSD on the surface.
    pub gsd_m: f64,
}

/// A sample with the views that count on it.
#[derive(Debug, Clone, PartialEq)]
pub struct TiedSample {
    /// Area that it stands for.
    pub area_m2: f64,
    /// Its counted views, by image ascending.
    pub views: Vec<TiedView>,
}

/// Two images that are tied.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tie {
    /// Numbers of the images, the smaller first.
    pub images: (u32, u32),
    /// Area that both count, from alike.
    pub shared_m2: f64,
    /// The same as a share of the smaller of their counted areas.
    pub share: f64,
}

/// What ties the images of a strategy.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Ties {
    /// Pairs of images, ascending.
    pub ties: Vec<Tie>,
    /// Area that each image counts.
    pub counted_m2: Vec<f64>,
    /// Area that each image carries: that of every sample, divided among the images that count it.
    pub carried_m2: Vec<f64>,
    /// The part that each image is of, parts numbered by their first image.
    pub part: Vec<u32>,
    /// Area that each part carries.
    pub part_m2: Vec<f64>,
}

impl Ties {
    /// Finds the ties among so many images. The result does not depend on the number of threads.
    ///
    /// # Errors
    /// [`Cancelled`], when the watch says so; it is asked for each image.
    ///
    /// # References
    /// Derived from the project's definition of ties.
    pub fn find(
        images: u32,
        samples: &[TiedSample],
        rules: &TieRules,
        watch: &dyn Watch,
    ) -> Result<Self, Cancelled> {
        let seen = seen_by(images, samples, watch)?;
        let mut counted_m2 = vec![0.0; images as usize];
        let mut carried_m2 = vec![0.0; images as usize];
        for (number, sample) in samples.iter().enumerate() {
            ask_now_and_then(number, watch)?;
            for view in &sample.views {
                counted_m2[view.image as usize] += sample.area_m2;
                carried_m2[view.image as usize] += sample.area_m2 / sample.views.len() as f64;
            }
        }
        let done = AtomicU64::new(0);
        let of_image = |(image, seen): (usize, &Vec<(u32, u32)>)| {
            watch.step(done.fetch_add(1, Ordering::Relaxed), u64::from(images))?;
            Ok(ties_of(image as u32, seen, samples, rules, &counted_m2))
        };
        let ties = seen.par_iter().enumerate().map(of_image).collect::<Result<Vec<_>, Cancelled>>()?;
        watch.step(1, 1)?;
        let mut made = Ties { ties: ties.concat(), counted_m2, carried_m2, ..Ties::default() };
        made.find_parts();
        Ok(made)
    }

    fn find_parts(&mut self) {
        let mut groups = Groups::new(self.counted_m2.len());
        for tie in &self.ties {
            groups.join(tie.images.0 as usize, tie.images.1 as usize);
        }
        let names: Vec<u32> = (0..self.counted_m2.len() as u32).collect();
        let (part, count) = groups.numbered(&names);
        self.part_m2 = vec![0.0; count];
        for (image, part) in part.iter().enumerate() {
            self.part_m2[*part as usize] += self.carried_m2[image];
        }
        self.part = part;
    }
}

/// For each image, its samples as (sample, its place among the sample's views).
fn seen_by(
    images: u32,
    samples: &[TiedSample],
    watch: &dyn Watch,
) -> Result<Vec<Vec<(u32, u32)>>, Cancelled> {
    let mut seen = vec![Vec::new(); images as usize];
    for (number, sample) in samples.iter().enumerate() {
        ask_now_and_then(number, watch)?;
        for (place, view) in sample.views.iter().enumerate() {
            seen[view.image as usize].push((number as u32, place as u32));
        }
    }
    Ok(seen)
}

/// The ties of an image with later ones.
fn ties_of(
    image: u32,
    seen: &[(u32, u32)],
    samples: &[TiedSample],
    rules: &TieRules,
    counted_m2: &[f64],
) -> Vec<Tie> {
    let mut shared = vec![(0.0, 0_u32); counted_m2.len() - image as usize];
    let least_cosine = rules.max_link_rad.cos();
    for &(number, place) in seen {
        let sample = &samples[number as usize];
        let own = sample.views[place as usize];
        for other in &sample.views[place as usize + 1..] {
            let (fine, coarse) = (own.gsd_m.min(other.gsd_m), own.gsd_m.max(other.gsd_m));
            if own.toward.dot(other.toward) >= least_cosine && coarse <= rules.max_gsd_ratio * fine {
                let (area_m2, count) = &mut shared[(other.image - image) as usize];
                *area_m2 += sample.area_m2;
                *count += 1;
            }
        }
    }
    let tie = |(k, (shared_m2, count)): (usize, (f64, u32))| {
        let other = image + k as u32;
        let smaller_m2 = counted_m2[image as usize].min(counted_m2[other as usize]);
        let share = if smaller_m2 > 0.0 { shared_m2 / smaller_m2 } else { 0.0 };
        let is_tied = count >= rules.least_samples && share >= rules.least_share;
        is_tied.then_some(Tie { images: (image, other), shared_m2, share })
    };
    shared.into_iter().enumerate().filter_map(tie).collect()
}
