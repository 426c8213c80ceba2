//! The reference blocks: a level camera's strips over a square of tie points, and what oblique images add to them.

use glam::{DVec2, DVec3};
use obliquity_planning::{
    Brown, CameraModel, ImageBlock, InteriorFreedom, Pose, PosedCamera, Positioning, TiePoint,
};

/// A 5472 × 3648 px camera with a focal length of 3648 px.
pub(crate) const CAMERA: CameraModel = CameraModel::pinhole(5472, 3648, 3648.0);

/// Change of k1 that moves the corner of that camera's image by one pixel.
pub(crate) const PIXEL_IN_CORNER: f64 = 3.7429163038e-4;

/// What is free of the calibration, by the reference's names.
pub(crate) const FREEDOMS: [(&str, InteriorFreedom); 3] = [
    ("none", InteriorFreedom::FIXED),
    ("f,k1", InteriorFreedom::FOCAL_AND_K1),
    ("all8", InteriorFreedom::ALL),
];

/// Height of the tie points.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Ground {
    Flat,
    Relief,
}

/// What is observed besides images.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Control {
    Rtk,
    RtkAndOne,
    Four,
    Nothing,
}

fn camera(at: (f64, f64), heading_deg: f64, tilt_deg: f64) -> PosedCamera {
    let position_m = DVec3::new(at.0, at.1, 100.0);
    let (heading_rad, tilt_rad) = (heading_deg.to_radians(), tilt_deg.to_radians());
    PosedCamera::new(CAMERA, &Pose { position_m, heading_rad, tilt_rad, roll_rad: 0.0 })
}

/// The 65 stations of the north-south strips, with the number of their strip and their own on it.
fn stations() -> impl Iterator<Item = ((f64, f64), usize, usize)> {
    (0_usize..5).flat_map(|strip| {
        (0_usize..13).map(move |k| ((-120.0 + 60.0 * strip as f64, -120.0 + 20.0 * k as f64), strip, k))
    })
}

fn strips(tilt_deg: f64) -> Vec<PosedCamera> {
    stations().map(|(at, strip, _)| camera(at, 180.0 * (strip % 2) as f64, tilt_deg)).collect()
}

fn crossing() -> Vec<PosedCamera> {
    stations().map(|((x, y), strip, _)| camera((y, x), 90.0 + 180.0 * (strip % 2) as f64, 0.0)).collect()
}

fn four_ways(tilt_deg: f64) -> impl Iterator<Item = PosedCamera> {
    let ways = [0.0, 90.0, 180.0, 270.0].into_iter();
    ways.flat_map(move |heading| stations().map(move |(at, _, _)| camera(at, heading, tilt_deg)))
}

fn cycled() -> Vec<PosedCamera> {
    let of = |number: usize, (at, strip, _): ((f64, f64), usize, usize)| match number % 5 {
        0 => camera(at, 180.0 * (strip % 2) as f64, 0.0),
        way => camera(at, 90.0 * (way - 1) as f64, 45.0),
    };
    stations().enumerate().map(|(number, station)| of(number, station)).collect()
}

fn orbit() -> impl Iterator<Item = PosedCamera> {
    (0..24).map(|k| {
        let azimuth_rad = (15.0 * f64::from(k)).to_radians();
        let at = (100.0 * azimuth_rad.sin(), 100.0 * azimuth_rad.cos());
        camera(at, 180.0 + 15.0 * f64::from(k), 45.0)
    })
}

/// The images of a block by its letter.
pub(crate) fn images(letter: char) -> Vec<PosedCamera> {
    let nadir = strips(0.0);
    match letter {
        'A' => nadir,
        'B' => nadir.into_iter().chain(crossing()).collect(),
        'C' => nadir.into_iter().chain(four_ways(45.0)).collect(),
        'D' => nadir.into_iter().chain(four_ways(30.0)).collect(),
        'E' => cycled(),
        'F' => strips(20.0),
        'G' => strips(10.0),
        'H' => nadir.into_iter().chain(orbit()).collect(),
        other => panic!("no block {other}"),
    }
}

/// The grid of 11 × 11 tie points; number 60 is in the middle.
pub(crate) fn grid(ground: Ground) -> Vec<DVec3> {
    let at = |i: u32, j: u32| {
        let z = if ground == Ground::Flat { 0.0 } else { 10.0 * f64::from((i + 2 * j) % 3) };
        DVec3::new(20.0 * f64::from(i) - 100.0, 20.0 * f64::from(j) - 100.0, z)
    };
    (0..11).flat_map(|i| (0..11).map(move |j| at(i, j))).collect()
}

/// Numbers of the points in the corners.
pub(crate) const CORNERS: [u32; 4] = [0, 10, 110, 120];

/// Number of the point in the middle.
pub(crate) const CENTRE: u32 = 60;

/// Whether an image has a point in its frame, all edges included. Points of the relief lie on edges but for rounding; the
/// reference decides by that, and so does this.
fn in_frame(image: &PosedCamera, at_m: DVec3) -> bool {
    let size = DVec2::new(f64::from(CAMERA.width_px), f64::from(CAMERA.height_px));
    let is_in = |uv: DVec2| uv.cmpge(DVec2::splat(-0.5)).all() && uv.cmple(size - 0.5).all();
    image.project(at_m).is_some_and(is_in)
}

/// Which images have a point in their frame, and see six of them or more, not on one line of the plan.
fn seen_from(images: &[PosedCamera], points: &[DVec3]) -> Vec<Vec<u32>> {
    let is_used = |image: &PosedCamera| {
        let seen = points.iter().filter(|at| in_frame(image, **at));
        let seen: Vec<DVec2> = seen.map(|at| at.truncate()).collect();
        let on_line = |at: &DVec2| (*at - seen[0]).perp_dot(seen[seen.len() - 1] - seen[0]).abs() < 1e-6;
        seen.len() >= 6 && !seen.iter().all(on_line)
    };
    let used: Vec<u32> = (0..images.len() as u32).filter(|&k| is_used(&images[k as usize])).collect();
    let of = |at: &DVec3| used.iter().copied().filter(|&k| in_frame(&images[k as usize], *at)).collect();
    points.iter().map(of).collect()
}

/// A reference block.
pub(crate) fn block(letter: char, ground: Ground, control: Control) -> ImageBlock {
    let images = images(letter);
    let is_control = |number: u32| match control {
        Control::RtkAndOne => number == CENTRE,
        Control::Four => CORNERS.contains(&number),
        Control::Rtk | Control::Nothing => false,
    };
    let tie = |(number, (position_m, images)): (usize, (DVec3, Vec<u32>))| TiePoint {
        position_m,
        images,
        stands_for: 1.0,
        control_sigma_m: is_control(number as u32).then_some(DVec3::splat(0.01)),
    };
    let at_m = grid(ground);
    let seen = seen_from(&images, &at_m);
    let points = at_m.into_iter().zip(seen).enumerate().map(tie).collect();
    let placed = !matches!(control, Control::Four | Control::Nothing);
    let positioning = placed.then(|| Positioning {
        random_sigma_m: DVec3::new(0.02, 0.02, 0.04),
        constant_sigma_m: DVec3::ZERO,
        set_ups: Vec::new(),
    });
    ImageBlock { images, lens: Brown::NONE, points, image_sigma_px: 0.5, positioning }
}
