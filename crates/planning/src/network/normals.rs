//! Normal equations of a block, the tie points eliminated: the reduced camera system and its border.

use super::block::{Carried, ImageBlock, Positioning, TiePoint};
use super::image_point::ImagePoint;
use super::interior::INTERIOR_LEN;
use super::intersection::outer;
use super::supernodes::{POSE_LEN, Supernodes};
use crate::base::{Cancelled, Watch, ask_now_and_then};
use glam::{DMat3, DVec3};
use rayon::prelude::*;

/// Six unknowns of an image by three of a point: a row for each of the image's.
pub(super) type PoseByPoint = [DVec3; POSE_LEN];

/// A tie point eliminated.
#[derive(Debug)]
pub(super) struct Eliminated {
    pub(super) position_m: DVec3,
    /// Inverse of its own normal matrix.
    pub(super) inverse: DMat3,
    /// Its normal matrix with the interior orientation, a column for each term.
    pub(super) by_interior: [DVec3; INTERIOR_LEN],
    /// Where its rays begin.
    pub(super) first_ray: usize,
}

/// Rays of all tie points; those of a point stand together, by image as these are eliminated.
#[derive(Debug, Default)]
pub(super) struct TieRays {
    /// The image, in the order of elimination.
    pub(super) image: Vec<u32>,
    /// The normal matrix of image and point.
    pub(super) coupling: Vec<PoseByPoint>,
}

/// The reduced normal equations before they are factorised.
#[derive(Debug)]
pub(super) struct Normals {
    /// Numbers of the block's images in the order of elimination.
    pub(super) order: Vec<u32>,
    pub(super) pattern: Supernodes,
    /// Values in the pattern, rows below the diagonal.
    pub(super) values: Vec<f64>,
    pub(super) points: Vec<Eliminated>,
    pub(super) rays: TieRays,
    /// Poses by what all images share, column after column.
    pub(super) border: Vec<f64>,
    /// What all images share among itself, priors of the interior orientation left out; square.
    pub(super) corner: Vec<f64>,
    /// Its size.
    pub(super) shared: usize,
}

/// Points handled between two questions whether to go on.
const POINTS_A_STEP: usize = 64;

/// Sums over an image's own rays.
#[derive(Clone)]
struct OwnSums {
    pose: [[f64; POSE_LEN]; POSE_LEN],
    by_interior: [[f64; INTERIOR_LEN]; POSE_LEN],
    interior: [[f64; INTERIOR_LEN]; INTERIOR_LEN],
}

impl Normals {
    /// Sets the equations up.
    pub(super) fn new(block: &ImageBlock, carried: &Carried, watch: &dyn Watch) -> Result<Self, Cancelled> {
        let points = kept_rays(block, carried, watch)?;
        let near = neighbours(carried.images.len(), &points, watch)?;
        let (order, pattern) = Supernodes::new(&near);
        watch.step(0, 1)?;
        let mut place = vec![0_u32; order.len()];
        for (new, &old) in order.iter().enumerate() {
            place[old as usize] = new as u32;
        }
        let order: Vec<u32> = order.iter().map(|&old| carried.images[old as usize]).collect();
        let points = points.into_iter().map(|images| {
            let mut images: Vec<u32> = images.iter().map(|&image| place[image as usize]).collect();
            images.sort_unstable();
            images
        });
        let shared = INTERIOR_LEN + 3 * block.positioning.as_ref().map_or(0, Positioning::set_up_count);
        let mut made = Normals {
            values: vec![0.0; *pattern.offsets.last().unwrap_or(&0)],
            border: vec![0.0; POSE_LEN * order.len() * shared],
            corner: vec![0.0; shared * shared],
            order,
            pattern,
            points: Vec::with_capacity(carried.points.len()),
            rays: TieRays::default(),
            shared,
        };
        made.eliminate(block, carried, &points.collect::<Vec<Vec<u32>>>(), watch)?;
        let of_image = made.rays_of_images(watch)?;
        made.add_own(block, carried, &of_image, watch)?;
        made.take_off_points(&of_image, watch)?;
        made.add_positions(block);
        Ok(made)
    }

    /// Keeps what is needed to take the points out.
    fn eliminate(
        &mut self,
        block: &ImageBlock,
        carried: &Carried,
        images: &[Vec<u32>],
        watch: &dyn Watch,
    ) -> Result<(), Cancelled> {
        let order = &self.order;
        let of_some = |(images, numbers): (&[Vec<u32>], &[u32])| {
            watch.step(0, 1)?;
            let of = |(images, number): (&Vec<u32>, &u32)| eliminated(block, order, *number, images);
            Ok(images.iter().zip(numbers).map(of).collect::<Vec<_>>())
        };
        let pieces = images.par_chunks(POINTS_A_STEP).zip(carried.points.par_chunks(POINTS_A_STEP));
        let found = pieces.map(of_some).collect::<Result<Vec<_>, Cancelled>>()?;
        for (number, ((point, couplings), images)) in found.into_iter().flatten().zip(images).enumerate() {
            ask_now_and_then(number, watch)?;
            self.points.push(Eliminated { first_ray: self.rays.image.len(), ..point });
            self.rays.image.extend_from_slice(images);
            self.rays.coupling.extend(couplings);
        }
        Ok(())
    }

    fn add_own(
        &mut self,
        block: &ImageBlock,
        carried: &Carried,
        of_image: &[Vec<(u32, u32)>],
        watch: &dyn Watch,
    ) -> Result<(), Cancelled> {
        let order = &self.order;
        let of = |(image, rays): (usize, &Vec<(u32, u32)>)| {
            watch.step(image as u64, order.len() as u64)?;
            let camera = &block.images[order[image] as usize];
            let mut sum = OwnSums::zero();
            for &(point, _) in rays {
                let point = &block.points[carried.points[point as usize] as usize];
                let ray = ImagePoint::of(camera, &block.lens, point.position_m).expect("in front");
                sum.add(&ray, weight_of(block, point));
            }
            Ok(sum)
        };
        let sums = of_image.par_iter().enumerate().map(of).collect::<Result<Vec<_>, Cancelled>>()?;
        watch.step(1, 1)?;
        self.put_own(&sums);
        watch.step(1, 1)
    }

    fn put_own(&mut self, sums: &[OwnSums]) {
        let rows = POSE_LEN * self.order.len();
        for (image, sum) in sums.iter().enumerate() {
            let (s, at) = self.diagonal(image);
            let height = self.pattern.row_count(s);
            for (k, column) in sum.pose.iter().enumerate() {
                self.values[at + k * height..][..POSE_LEN].copy_from_slice(column);
            }
            for (k, line) in sum.by_interior.iter().enumerate() {
                for (term, &value) in line.iter().enumerate() {
                    self.border[term * rows + POSE_LEN * image + k] = value;
                }
            }
            for (i, line) in sum.interior.iter().enumerate() {
                for (j, &value) in line.iter().enumerate() {
                    self.corner[i * self.shared + j] += value;
                }
            }
        }
    }

    /// The supernode of an image, and where the first of its own values stands.
    pub(super) fn diagonal(&self, image: usize) -> (usize, usize) {
        let s = self.pattern.of_image[image] as usize;
        let at = POSE_LEN * (image - self.pattern.columns(s).start);
        (s, self.pattern.offsets[s] + at * self.pattern.row_count(s) + at)
    }

    /// Takes Σ W V⁻¹ Wᵀ over the points off the poses, and the same of what they share.
    fn take_off_points(&mut self, of_image: &[Vec<(u32, u32)>], watch: &dyn Watch) -> Result<(), Cancelled> {
        let (pattern, points, rays) = (&self.pattern, &self.points, &self.rays);
        let blocks = pattern.split(&mut self.values);
        blocks.into_par_iter().try_for_each(|(s, own)| {
            for image in pattern.columns(s) {
                watch.step(s as u64, pattern.len() as u64)?;
                take_off(pattern, points, rays, (s, image), &of_image[image], own);
            }
            Ok(())
        })?;
        self.take_off_shared(of_image, watch)
    }

    /// For each image, its rays as (point, ray).
    fn rays_of_images(&self, watch: &dyn Watch) -> Result<Vec<Vec<(u32, u32)>>, Cancelled> {
        let mut found = vec![Vec::new(); self.order.len()];
        for point in 0..self.points.len() {
            ask_now_and_then(point, watch)?;
            for ray in self.rays_of(point) {
                found[self.rays.image[ray] as usize].push((point as u32, ray as u32));
            }
        }
        Ok(found)
    }

    /// The rays of a point.
    fn rays_of(&self, point: usize) -> std::ops::Range<usize> {
        rays_of(&self.points, &self.rays, point)
    }

    fn take_off_shared(&mut self, of_image: &[Vec<(u32, u32)>], watch: &dyn Watch) -> Result<(), Cancelled> {
        watch.step(0, 1)?;
        let moved: Vec<[DVec3; INTERIOR_LEN]> = self
            .points
            .par_iter()
            .map(|point| point.by_interior.map(|column| point.inverse * column))
            .collect();
        for (number, (point, moved)) in self.points.iter().zip(&moved).enumerate() {
            ask_now_and_then(number, watch)?;
            for (i, column) in point.by_interior.iter().enumerate() {
                for (j, moved) in moved.iter().enumerate() {
                    self.corner[i * self.shared + j] -= column.dot(*moved);
                }
            }
        }
        let of = |rays: &Vec<(u32, u32)>| {
            watch.step(0, 1)?;
            let mut sum = [[0.0; POSE_LEN]; INTERIOR_LEN];
            for &(point, ray) in rays {
                for (sum, moved) in sum.iter_mut().zip(&moved[point as usize]) {
                    let lines = &self.rays.coupling[ray as usize];
                    sum.iter_mut().zip(lines).for_each(|(sum, line)| *sum += line.dot(*moved));
                }
            }
            Ok(sum)
        };
        let taken: Vec<[[f64; POSE_LEN]; INTERIOR_LEN]> =
            of_image.par_iter().map(of).collect::<Result<_, Cancelled>>()?;
        let rows = POSE_LEN * self.order.len();
        for (image, terms) in taken.iter().enumerate() {
            for (term, taken) in terms.iter().enumerate() {
                let own = &mut self.border[term * rows + POSE_LEN * image..][..POSE_LEN];
                own.iter_mut().zip(taken).for_each(|(value, taken)| *value -= taken);
            }
        }
        watch.step(1, 1)
    }

    fn add_positions(&mut self, block: &ImageBlock) {
        let Some(positioning) = &block.positioning else { return };
        let rows = POSE_LEN * self.order.len();
        let weight = (positioning.random_sigma_m * positioning.random_sigma_m).recip();
        for image in 0..self.order.len() {
            let (s, at) = self.diagonal(image);
            let height = self.pattern.row_count(s);
            let base = INTERIOR_LEN + 3 * positioning.set_up(self.order[image] as usize);
            for axis in 0..3 {
                self.values[at + axis * height + axis] += weight[axis];
                self.border[(base + axis) * rows + POSE_LEN * image + axis] += weight[axis];
                self.corner[(base + axis) * (self.shared + 1)] += weight[axis];
            }
        }
    }
}

/// What an image point of a point weighs.
fn weight_of(block: &ImageBlock, point: &TiePoint) -> f64 {
    point.stands_for * block.image_sigma_px.powi(-2)
}

/// A point's own normal equations, and the normal matrix of each of its images and it.
fn eliminated(
    block: &ImageBlock,
    order: &[u32],
    number: u32,
    images: &[u32],
) -> (Eliminated, Vec<PoseByPoint>) {
    let point = &block.points[number as usize];
    let weight = weight_of(block, point);
    let mut normal = point
        .control_sigma_m
        .map_or(DMat3::ZERO, |sigma_m| DMat3::from_diagonal((sigma_m * sigma_m).recip()));
    let mut by_interior = [DVec3::ZERO; INTERIOR_LEN];
    let coupling_of = |&image: &u32| {
        let camera = &block.images[order[image as usize] as usize];
        let ray = ImagePoint::of(camera, &block.lens, point.position_m).expect("in front");
        let mut coupling = [DVec3::ZERO; POSE_LEN];
        for row in 0..2 {
            normal += outer(ray.by_point[row], weight * ray.by_point[row]);
            let (by_pose, by_point) = (by_pose(&ray, row), weight * ray.by_point[row]);
            coupling.iter_mut().zip(by_pose).for_each(|(sum, a)| *sum += a * by_point);
            by_interior.iter_mut().zip(ray.by_interior[row]).for_each(|(sum, c)| *sum += c * by_point);
        }
        coupling
    };
    let couplings = images.iter().map(coupling_of).collect();
    // Carried points are far from being undetermined.
    let inverse = normal.inverse();
    (Eliminated { position_m: point.position_m, inverse, by_interior, first_ray: 0 }, couplings)
}

/// The rays of a point.
pub(super) fn rays_of(points: &[Eliminated], rays: &TieRays, point: usize) -> std::ops::Range<usize> {
    let end = points.get(point + 1).map_or(rays.image.len(), |next| next.first_ray);
    points[point].first_ray..end
}

/// Pixels for each unit of a pose: place, then turn.
pub(super) fn by_pose(ray: &ImagePoint, row: usize) -> [f64; POSE_LEN] {
    let (place, turn) = (-ray.by_point[row], ray.by_turn[row]);
    [place.x, place.y, place.z, turn.x, turn.y, turn.z]
}

/// For each carried point, the images that see it, numbered among the carried ones.
fn kept_rays(block: &ImageBlock, carried: &Carried, watch: &dyn Watch) -> Result<Vec<Vec<u32>>, Cancelled> {
    let in_front = |point: u32, image: u32| {
        let position_m = block.points[point as usize].position_m;
        ImagePoint::of(&block.images[image as usize], &block.lens, position_m).is_some()
    };
    let of = |&point: &u32| {
        watch.step(0, 1)?;
        let images = block.points[point as usize].images.iter();
        Ok(images
            .filter_map(|&image| Some((image, carried.images.binary_search(&image).ok()?)))
            .filter(|&(image, _)| in_front(point, image))
            .map(|(_, place)| place as u32)
            .collect())
    };
    carried.points.par_iter().map(of).collect()
}

/// For each image, the others with higher numbers that see a point that it sees.
fn neighbours(images: usize, points: &[Vec<u32>], watch: &dyn Watch) -> Result<Vec<Vec<u32>>, Cancelled> {
    let mut of_image: Vec<Vec<u32>> = vec![Vec::new(); images];
    for (point, seen) in points.iter().enumerate() {
        for &image in seen {
            of_image[image as usize].push(point as u32);
        }
    }
    let all = |image: usize| {
        watch.step(0, 1)?;
        let mut is_near = vec![false; images - image];
        for &point in &of_image[image] {
            let others = points[point as usize].iter().filter(|&&other| other as usize > image);
            others.for_each(|&other| is_near[other as usize - image] = true);
        }
        Ok((0..is_near.len()).filter(|&k| is_near[k]).map(|k| (image + k) as u32).collect())
    };
    (0..images).into_par_iter().map(all).collect()
}

/// Takes what an image has in common with itself and later ones through their points off its columns.
fn take_off(
    pattern: &Supernodes,
    points: &[Eliminated],
    rays: &TieRays,
    (s, image): (usize, usize),
    own_rays: &[(u32, u32)],
    own: &mut [f64],
) {
    let height = pattern.row_count(s);
    let column = POSE_LEN * (image - pattern.columns(s).start);
    let own = &mut own[column * height..][..POSE_LEN * height];
    for &(point, ray) in own_rays {
        let inverse = points[point as usize].inverse;
        let moved = rays.coupling[ray as usize].map(|line| inverse * line);
        for other in ray as usize..rays_of(points, rays, point as usize).end {
            let row = pattern.place(s, rays.image[other]).expect("neighbours are in the pattern");
            // by axis, so that the rows of a column are worked out side by side
            let coupling = &rays.coupling[other];
            let [x, y, z] = [0, 1, 2].map(|axis| coupling.map(|line| line[axis]));
            for (k, moved) in moved.iter().enumerate() {
                let into = &mut own[k * height + POSE_LEN * row..][..POSE_LEN];
                for (r, value) in into.iter_mut().enumerate() {
                    *value -= x[r] * moved.x + y[r] * moved.y + z[r] * moved.z;
                }
            }
        }
    }
}

impl OwnSums {
    fn zero() -> Self {
        OwnSums {
            pose: [[0.0; POSE_LEN]; POSE_LEN],
            by_interior: [[0.0; INTERIOR_LEN]; POSE_LEN],
            interior: [[0.0; INTERIOR_LEN]; INTERIOR_LEN],
        }
    }

    fn add(&mut self, ray: &ImagePoint, weight: f64) {
        for row in 0..2 {
            let pose = by_pose(ray, row);
            let interior = ray.by_interior[row];
            for (k, a) in pose.iter().enumerate() {
                let weighed = weight * a;
                self.pose[k].iter_mut().zip(pose).for_each(|(sum, b)| *sum += weighed * b);
                self.by_interior[k].iter_mut().zip(interior).for_each(|(sum, c)| *sum += weighed * c);
            }
            for (i, a) in interior.iter().enumerate() {
                let weighed = weight * a;
                self.interior[i].iter_mut().zip(interior).for_each(|(sum, c)| *sum += weighed * c);
            }
        }
    }
}
