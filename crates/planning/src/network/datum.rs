//! What images alone leave open of a block: where it stands, how it is turned and how large it is.

use super::block::ImageBlock;
use super::groups::Groups;
use super::normals::{Normals, rays_of};
use super::small::null_space;
use super::supernodes::POSE_LEN;
use glam::DVec3;

/// Ways in which a whole part of a block can move without an image noticing: shifts, turns, scale.
const MOVES: usize = 7;

/// How many of its movements nothing holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct DatumDefects {
    /// Shifts along some direction, 0 to 3.
    pub shifts: usize,
    /// Turns about some axis, 0 to 3.
    pub turns: usize,
    /// The scale, 0 or 1.
    pub scales: usize,
}

impl DatumDefects {
    /// All of them together.
    pub fn count(&self) -> usize {
        self.shifts + self.turns + self.scales
    }
}

/// A part of a block whose images are tied to each other, and how it is held.
#[derive(Debug, Clone, PartialEq)]
pub struct NetworkPart {
    /// Numbers of its images, ascending.
    pub images: Vec<u32>,
    /// Movements of all of it that neither positions nor control points hold.
    pub defects: DatumDefects,
    centre_m: DVec3,
    radius_m: f64,
    /// Movements that are not held, as shifts, turns and scale about the centre.
    free: Vec<Vec<f64>>,
}

impl NetworkPart {
    /// How a place moves with each movement that is not held, in metres, all of about one size.
    pub(super) fn moves_of(&self, at_m: DVec3) -> impl Iterator<Item = DVec3> {
        self.free.iter().map(move |free| self.moved(at_m, free))
    }

    fn moved(&self, at_m: DVec3, by: &[f64]) -> DVec3 {
        let from_centre = (at_m - self.centre_m) / self.radius_m;
        DVec3::new(by[0], by[1], by[2])
            + DVec3::new(by[3], by[4], by[5]).cross(from_centre)
            + from_centre * by[6]
    }

    /// Unknowns (image in the order of elimination, which of its six) that, if held, hold the part and nothing more.
    pub(super) fn to_hold(&self, block: &ImageBlock, order: &[u32]) -> Vec<(usize, usize)> {
        let mut rows = Vec::new();
        for (place, image) in order.iter().enumerate() {
            if self.free.is_empty() || self.images.binary_search(image).is_err() {
                continue;
            }
            let at_m = block.images[*image as usize].centre_m;
            for k in 0..POSE_LEN {
                let of = |free: &Vec<f64>| {
                    if k < 3 { self.moved(at_m, free)[k] } else { free[k] }
                };
                rows.push(((place, k), self.free.iter().map(of).collect::<Vec<f64>>()));
            }
        }
        (0..self.free.len()).filter_map(|_| take_strongest(&mut rows)).collect()
    }
}

/// The row with the greatest length; all rows lose what they have along it.
fn take_strongest<Name: Copy>(rows: &mut [(Name, Vec<f64>)]) -> Option<Name> {
    let square = |row: &[f64]| row.iter().map(|value| value * value).sum::<f64>();
    let (name, along) = rows.iter().max_by(|a, b| square(&a.1).total_cmp(&square(&b.1)))?.clone();
    let length2 = square(&along);
    if length2 <= 0.0 {
        return None;
    }
    for (_, row) in rows.iter_mut() {
        let share = row.iter().zip(&along).map(|(a, b)| a * b).sum::<f64>() / length2;
        row.iter_mut().zip(&along).for_each(|(value, a)| *value -= share * a);
    }
    Some(name)
}

/// The parts of a block, by the ties that carry it, the part of the smallest image first; and the part of each point.
pub(super) fn parts(block: &ImageBlock, normals: &Normals, points: &[u32]) -> (Vec<NetworkPart>, Vec<u32>) {
    let mut of = Groups::new(normals.order.len());
    let images_of = |point: usize| {
        let rays = rays_of(&normals.points, &normals.rays, point);
        rays.map(|ray| normals.rays.image[ray] as usize)
    };
    let first_of = |point: usize| images_of(point).next().unwrap_or_default();
    for point in 0..points.len() {
        images_of(point).for_each(|image| of.join(first_of(point), image));
    }
    let (numbers, count) = of.numbered(&normals.order);
    let (mut images, mut control) = (vec![Vec::new(); count], vec![Vec::new(); count]);
    for (place, &image) in normals.order.iter().enumerate() {
        images[numbers[place] as usize].push(image);
    }
    let of_point: Vec<u32> = (0..points.len()).map(|point| numbers[first_of(point)]).collect();
    for (part, &number) in of_point.iter().zip(points) {
        let point = &block.points[number as usize];
        if point.control_sigma_m.is_some() {
            control[*part as usize].push(point.position_m);
        }
    }
    let made = images.into_iter().zip(control).map(|(images, control)| part(block, images, control));
    (made.collect(), of_point)
}

fn part(block: &ImageBlock, mut images: Vec<u32>, held: Vec<DVec3>) -> NetworkPart {
    images.sort_unstable();
    let centres: Vec<DVec3> = images.iter().map(|&image| block.images[image as usize].centre_m).collect();
    let centre_m = centres.iter().sum::<DVec3>() / centres.len() as f64;
    let radius_m = centres.iter().map(|at| at.distance(centre_m)).fold(1.0, f64::max);
    let mut made =
        NetworkPart { images, defects: DatumDefects::default(), centre_m, radius_m, free: Vec::new() };
    let mut held = held;
    if block.positioning.is_some() {
        held.extend(centres);
    }
    let seen = made.information(&held);
    let unseen = |moves: usize| {
        let corner: Vec<f64> =
            (0..moves).flat_map(|row| seen[row * MOVES..][..moves].iter().copied()).collect();
        null_space(&corner, moves)
    };
    let (shifts, with_turns) = (unseen(3).len(), unseen(6).len());
    made.free = unseen(MOVES);
    made.defects = DatumDefects { shifts, turns: with_turns - shifts, scales: made.free.len() - with_turns };
    made
}

impl NetworkPart {
    /// Which movements places that are held see.
    fn information(&self, held: &[DVec3]) -> Vec<f64> {
        let mut sum = vec![0.0; MOVES * MOVES];
        let unit = |k: usize| (0..MOVES).map(|m| if m == k { 1.0 } else { 0.0 }).collect::<Vec<f64>>();
        let units: Vec<Vec<f64>> = (0..MOVES).map(unit).collect();
        for &at_m in held {
            let moved: Vec<DVec3> = units.iter().map(|unit| self.moved(at_m, unit)).collect();
            for (i, a) in moved.iter().enumerate() {
                for (j, b) in moved.iter().enumerate() {
                    sum[i * MOVES + j] += a.dot(*b);
                }
            }
        }
        sum
    }
}
