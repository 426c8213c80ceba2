//! What an adjustment is made of: images, tie points and what else is observed.

use super::image_point::ImagePoint;
use super::intersection::{inverse_if_determined, outer};
use crate::base::{Cancelled, NoWatch, Watch};
use crate::geometry::{Brown, PosedCamera};
use crate::scenario::Gnss;
use glam::{DMat3, DVec3};
use rayon::prelude::*;

/// Fewest tie points of an image that is oriented by them: as many as a bundle of six unknowns is commonly given.
pub const LEAST_POINTS: usize = 6;

/// Images of one camera, the points that tie them and what is observed of both.
///
/// Images and points stand where they are expected to be; nothing needs to have been measured yet.
#[derive(Debug, Clone, PartialEq)]
pub struct ImageBlock {
    /// The images.
    pub images: Vec<PosedCamera>,
    /// What their lens does.
    pub lens: Brown,
    /// Points that images see.
    pub points: Vec<TiePoint>,
    /// Standard deviation of an image coordinate, in pixels, above 0.
    pub image_sigma_px: f64,
    /// Satellite positioning of the images; nothing where there is none.
    pub positioning: Option<Positioning>,
}

/// A point that images see.
#[derive(Debug, Clone, PartialEq)]
pub struct TiePoint {
    /// Where it is expected.
    pub position_m: DVec3,
    /// Numbers of the images that it is measured in, ascending.
    pub images: Vec<u32>,
    /// How many points like it, seen by the same images, it stands for: its image points weigh as much more. Above 0; 1 for
    /// itself alone.
    pub stands_for: f64,
    /// Standard deviation of its coordinates, surveyed apart from the images: a control point's. Above 0.
    pub control_sigma_m: Option<DVec3>,
}

/// How well satellites place the images: a part of its own for each, and one that all of a base set-up have in common.
#[derive(Debug, Clone, PartialEq)]
pub struct Positioning {
    /// Standard deviation of the part that each image has of its own: east, north, up; above 0.
    pub random_sigma_m: DVec3,
    /// Standard deviation of the part that all images of a set-up have in common; where it is 0 there is none.
    pub constant_sigma_m: DVec3,
    /// The set-up of each image, numbered from 0; where it is empty, all are of one.
    pub set_ups: Vec<u32>,
}

/// No satellites place an image better than this: an aircraft's own part of less is taken as so much.
const LEAST_RANDOM_M: f64 = 1e-4;

impl Positioning {
    /// That of an aircraft, all of whose images are of one set-up.
    pub fn of_aircraft(gnss: &Gnss) -> Self {
        let of = |level: f64, up: f64| DVec3::new(level, level, up);
        let random = of(gnss.random_horizontal_m, gnss.random_vertical_m);
        Positioning {
            random_sigma_m: random.max(DVec3::splat(LEAST_RANDOM_M)),
            constant_sigma_m: of(gnss.constant_horizontal_m, gnss.constant_vertical_m),
            set_ups: Vec::new(),
        }
    }

    /// The same where each image stands for so many: their own parts average.
    pub(super) fn of_several(&self, images: usize) -> Self {
        Positioning { random_sigma_m: self.random_sigma_m / (images as f64).sqrt(), ..self.clone() }
    }

    /// Number of the set-up that an image was taken under.
    pub(super) fn set_up(&self, image: usize) -> usize {
        self.set_ups.get(image).map_or(0, |&set_up| set_up as usize)
    }

    /// Number of set-ups.
    pub(super) fn set_up_count(&self) -> usize {
        self.set_ups.iter().max().map_or(1, |&last| last as usize + 1)
    }
}

/// Which images and points of a block carry the adjustment.
///
/// Left out are images that see fewer than [`LEAST_POINTS`] tie points or only such as lie on a line, and points that
/// neither two rays which are not parallel nor a survey place, until nothing more falls out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Carried {
    /// Numbers of the images, ascending.
    pub images: Vec<u32>,
    /// Numbers of the points, ascending.
    pub points: Vec<u32>,
    /// Image points of those points in those images.
    pub observations: usize,
    /// Fewest and most images that see one of the points.
    pub rays: (usize, usize),
}

/// Second moments of points that lie on a line, in those of their spread.
const ON_A_LINE: f64 = 1e-9;

impl ImageBlock {
    /// Which images and points carry the adjustment.
    ///
    /// # Units
    /// - returns: numbers of images and points
    pub fn carried(&self) -> Carried {
        self.carried_asking(&NoWatch).unwrap_or_else(|Cancelled| unreachable!("nobody cancels"))
    }

    /// The same, asking whether to go on.
    pub(super) fn carried_asking(&self, watch: &dyn Watch) -> Result<Carried, Cancelled> {
        let mut keeps_image = vec![true; self.images.len()];
        let mut keeps_point = vec![true; self.points.len()];
        let seen = self.seen(watch)?;
        loop {
            let images = self.sound_images(&seen, &keeps_point);
            let placed = |point: usize| {
                let seen: Vec<u32> = seen_by(&seen, point, &images).collect();
                seen.len() >= 2 && inverse_if_determined(&self.point_normal(point, &seen)).is_some()
            };
            let points: Vec<bool> = (0..self.points.len())
                .into_par_iter()
                .map(|point| {
                    watch.step(0, 1)?;
                    Ok(keeps_point[point] && placed(point))
                })
                .collect::<Result<_, Cancelled>>()?;
            if images == keeps_image && points == keeps_point {
                break;
            }
            (keeps_image, keeps_point) = (images, points);
        }
        let rays: Vec<usize> = (0..self.points.len())
            .filter(|&point| keeps_point[point])
            .map(|point| seen_by(&seen, point, &keeps_image).count())
            .collect();
        Ok(Carried {
            images: kept(&keeps_image),
            points: kept(&keeps_point),
            observations: rays.iter().sum(),
            rays: (
                rays.iter().copied().min().unwrap_or_default(),
                rays.iter().copied().max().unwrap_or_default(),
            ),
        })
    }

    /// The normal matrix of a point alone: its rays from some images and its survey.
    fn point_normal(&self, number: usize, images: &[u32]) -> DMat3 {
        let point = &self.points[number];
        let weight = self.image_sigma_px.powi(-2);
        let survey = |sigma_m: DVec3| DMat3::from_diagonal((sigma_m * sigma_m).recip());
        let known = point.control_sigma_m.map_or(DMat3::ZERO, survey);
        let rays = images.iter().filter_map(|&image| {
            ImagePoint::by_point_of(&self.images[image as usize], &self.lens, point.position_m)
        });
        rays.flatten().fold(known, |sum, row| sum + outer(row, weight * row))
    }

    /// Images that really see each point: those that it stands before.
    fn seen(&self, watch: &dyn Watch) -> Result<Vec<Vec<u32>>, Cancelled> {
        let before = |point: &TiePoint, image: u32| {
            let camera = self.images.get(image as usize);
            camera.is_some_and(|camera| ImagePoint::of(camera, &self.lens, point.position_m).is_some())
        };
        let of = |point: &TiePoint| {
            watch.step(0, 1)?;
            Ok(point.images.iter().copied().filter(|&image| before(point, image)).collect())
        };
        self.points.par_iter().map(of).collect()
    }

    fn sound_images(&self, seen: &[Vec<u32>], keeps_point: &[bool]) -> Vec<bool> {
        let mut points: Vec<Vec<DVec3>> = vec![Vec::new(); self.images.len()];
        for (point, images) in seen.iter().enumerate().filter(|(point, _)| keeps_point[*point]) {
            for &image in images {
                points[image as usize].push(self.points[point].position_m);
            }
        }
        points.iter().map(|points| points.len() >= LEAST_POINTS && !on_a_line(points)).collect()
    }
}

fn seen_by<'a>(seen: &'a [Vec<u32>], point: usize, images: &'a [bool]) -> impl Iterator<Item = u32> + 'a {
    seen[point].iter().copied().filter(|&image| images[image as usize])
}

fn kept(keeps: &[bool]) -> Vec<u32> {
    keeps.iter().enumerate().filter(|(_, keeps)| **keeps).map(|(number, _)| number as u32).collect()
}

fn on_a_line(points: &[DVec3]) -> bool {
    let spread = |from: DVec3| {
        let farthest = |best: DVec3, point: &DVec3| {
            if (*point - from).length_squared() > best.length_squared() { *point - from } else { best }
        };
        points.iter().fold(DVec3::ZERO, farthest)
    };
    let along = spread(points[0]);
    let off = |point: &DVec3| (*point - points[0]).cross(along).length_squared();
    let widest = points.iter().map(off).fold(0.0, f64::max);
    widest <= ON_A_LINE * along.length_squared().powi(2)
}
