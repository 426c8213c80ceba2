//! What holds a network, what it shares, and its two ways to the same covariance.

#![expect(clippy::unwrap_used, reason = "a test ends at the first surprise")]

use crate::network_blocks::{CAMERA, CENTRE, Control, FREEDOMS, Ground, block};
use glam::DVec3;
use obliquity_planning::{
    Brown, Calibration, Cancelled, DatumDefects, Functionals, ImageBlock, InteriorFreedom, InteriorTerm,
    Network, NetworkError, NoWatch, PointFunctional, Pose, PosedCamera, Poses, Positioning, TiePoint, Watch,
};
use std::sync::atomic::{AtomicU32, Ordering};

fn defects(of: &ImageBlock) -> Vec<DatumDefects> {
    let network = Network::new(of, &NoWatch).unwrap();
    network.parts.iter().map(|part| part.defects).collect()
}

/// Every coordinate's standard deviation; nothing where it is not determined. None may be anything but a number.
fn sigmas(of: &ImageBlock, freedom: &InteriorFreedom) -> Vec<Option<f64>> {
    let network = Network::new(of, &NoWatch).unwrap();
    let calibration = Calibration::new(&network, freedom);
    let coordinates: Vec<PointFunctional> =
        network.carried.points.iter().flat_map(|&point| PointFunctional::coordinates(point)).collect();
    let asked = Functionals::new(&network, &coordinates, &NoWatch).unwrap();
    let found: Vec<Option<f64>> = (0..coordinates.len()).map(|k| asked.sigma_m(k, &calibration)).collect();
    assert!(found.iter().flatten().all(|sigma_m| sigma_m.is_finite() && *sigma_m > 0.0));
    assert!(InteriorTerm::ALL.into_iter().filter_map(|term| calibration.sigma(term)).all(f64::is_finite));
    found
}

/// Points of a block's control, by number.
fn held_at(numbers: &[u32]) -> ImageBlock {
    let mut block = block('H', Ground::Relief, Control::Nothing);
    for &number in numbers {
        block.points[number as usize].control_sigma_m = Some(DVec3::splat(0.01));
    }
    block
}

/// Derived: seven movements no image sees; a point holds the shifts, a second one all but the turn about the line through
/// both, a third that too.
#[test]
fn control_points_hold_a_block_one_after_the_other() {
    let of = |shifts, turns, scales| vec![DatumDefects { shifts, turns, scales }];
    assert_eq!(defects(&held_at(&[])), of(3, 3, 1));
    assert_eq!(defects(&held_at(&[0])), of(0, 3, 1));
    assert_eq!(defects(&held_at(&[0, 120])), of(0, 1, 0));
    assert_eq!(defects(&held_at(&[0, 10, 120])), of(0, 0, 0));
    assert!(sigmas(&held_at(&[]), &InteriorFreedom::ALL).iter().all(Option::is_none));
    let on_one = sigmas(&held_at(&[CENTRE]), &InteriorFreedom::ALL);
    let determined = on_one.iter().flatten().count();
    assert_eq!(determined, 3, "only the point itself stays where it is");
    assert!(sigmas(&held_at(&[0, 10, 120]), &InteriorFreedom::ALL).iter().all(Option::is_some));
}

/// A strip of images over points beside it.
fn strip(random_sigma_m: f64) -> ImageBlock {
    let images: Vec<PosedCamera> = (0..12)
        .map(|k| {
            let position_m = DVec3::new(20.0 * f64::from(k), 0.0, 100.0);
            PosedCamera::new(CAMERA, &Pose { position_m, heading_rad: 0.0, tilt_rad: 0.0, roll_rad: 0.0 })
        })
        .collect();
    let at = |k: i32| DVec3::new(f64::from(k / 4) * 11.0, f64::from(k % 4) * 24.0 - 37.0, f64::from(k % 3));
    let tie = |k: i32| {
        let position_m = at(k);
        let seen =
            |image: &u32| images[*image as usize].project(position_m).is_some_and(|uv| CAMERA.contains(uv));
        TiePoint {
            position_m,
            images: (0..12).filter(seen).collect(),
            stands_for: 1.0,
            control_sigma_m: None,
        }
    };
    let points = (0..84).map(tie).collect();
    let positioning = Positioning {
        random_sigma_m: DVec3::splat(random_sigma_m),
        constant_sigma_m: DVec3::ZERO,
        set_ups: Vec::new(),
    };
    ImageBlock { images, lens: Brown::NONE, points, image_sigma_px: 0.5, positioning: Some(positioning) }
}

/// Derived: positions on one line do not see turns about it.
#[test]
fn a_single_strip_may_turn_about_itself() {
    let strip = strip(0.02);
    assert_eq!(defects(&strip), vec![DatumDefects { shifts: 0, turns: 1, scales: 0 }]);
    assert!(sigmas(&strip, &InteriorFreedom::ALL).iter().any(Option::is_none));
}

/// Derived: blocks that share no point are parts of their own, each with what holds it.
#[test]
fn blocks_that_share_no_point_are_parts() {
    let mut both = held_at(&[0, 10, 120]);
    let far = DVec3::new(5000.0, 0.0, 0.0);
    let (images, points) = (both.images.clone(), held_at(&[]).points);
    let moved = |image: PosedCamera| PosedCamera { centre_m: image.centre_m + far, ..image };
    both.images.extend(images.iter().copied().map(moved));
    both.points.extend(points.into_iter().map(|point| TiePoint {
        position_m: point.position_m + far,
        images: point.images.iter().map(|image| image + images.len() as u32).collect(),
        ..point
    }));
    let found = defects(&both);
    assert_eq!(found, vec![DatumDefects::default(), DatumDefects { shifts: 3, turns: 3, scales: 1 }]);
    let sigmas = sigmas(&both, &InteriorFreedom::FIXED);
    let half = sigmas.len() / 2;
    assert!(sigmas[..half].iter().all(Option::is_some) && sigmas[half..].iter().all(Option::is_none));
}

/// Derived: two halves that share no more than a hinge are told, not taken for sound.
#[test]
fn a_hinge_is_told() {
    let mut both = held_at(&[0, 10, 120]);
    let (images, points) = (both.images.clone(), held_at(&[]).points);
    let beside = DVec3::new(200.0, 0.0, 0.0);
    both.images
        .extend(images.iter().map(|image| PosedCamera { centre_m: image.centre_m + beside, ..*image }));
    let after_first = images.len() as u32;
    let second = points.iter().map(|point| TiePoint {
        position_m: point.position_m + beside,
        images: point.images.iter().map(|image| image + after_first).collect(),
        stands_for: 1.0,
        control_sigma_m: None,
    });
    let second: Vec<TiePoint> = second.collect();
    // one point of the first half is seen by the second too
    let shared = second[5].images.clone();
    both.points[115].images.extend(shared);
    both.points.extend(second);
    let network = Network::new(&both, &NoWatch).unwrap();
    assert_eq!(network.parts.len(), 1);
    assert_eq!(network.parts[0].defects.count(), 0);
    assert!(network.hinges() > 0);
    sigmas(&both, &InteriorFreedom::FIXED);
}

/// Derived: what all positions have in common moves everything as a whole: its variance is added to that of every
/// coordinate, and a dome does not notice it.
#[test]
fn the_constant_part_is_added_once() {
    let alone = block('H', Ground::Relief, Control::Rtk);
    let mut together = alone.clone();
    let common = DVec3::new(0.015, 0.015, 0.03);
    together.positioning.as_mut().unwrap().constant_sigma_m = common;
    for (_, freedom) in FREEDOMS {
        let (alone, together) = (sigmas(&alone, &freedom), sigmas(&together, &freedom));
        for (k, (own, all)) in alone.iter().zip(&together).enumerate() {
            let expected = own.unwrap().hypot(common[k % 3]);
            assert!((all.unwrap() / expected - 1.0).abs() < 1e-6); // solutions of equations of condition 1e9
        }
    }
}

/// Derived: the same covariance by solving for each point and by the selected inverse.
#[test]
fn poses_give_tie_points_what_the_network_gives() {
    for letter in ['D', 'H'] {
        let mut block = block(letter, Ground::Relief, Control::Rtk);
        block.positioning.as_mut().unwrap().constant_sigma_m = DVec3::splat(0.02);
        for (_, freedom) in FREEDOMS {
            let expected = sigmas(&block, &freedom);
            let network = Network::new(&block, &NoWatch).unwrap();
            let calibration = Calibration::new(&network, &freedom);
            let poses = Poses::new(network, &NoWatch).unwrap();
            for (number, point) in block.points.iter().enumerate() {
                let found =
                    poses.point_covariance_m2(&block, &point.images, point.position_m, &calibration).unwrap();
                for axis in 0..3 {
                    let ratio = found.col(axis)[axis].sqrt() / expected[3 * number + axis].unwrap();
                    assert!((ratio - 1.0).abs() < 1e-6, "{letter}: {ratio}"); // as above
                }
            }
            let pose = poses.pose_covariance(30, &calibration).unwrap();
            assert!((0..6).all(|k| pose[k][k] > 0.0 && pose[k][k].is_finite()));
            assert!(pose[0][0].sqrt() < 0.03, "no worse than it was placed");
        }
    }
}

/// Derived: nothing to solve is an error with its mend.
#[test]
fn an_empty_block_is_told() {
    let empty = ImageBlock {
        images: Vec::new(),
        lens: Brown::NONE,
        points: Vec::new(),
        image_sigma_px: 0.5,
        positioning: None,
    };
    assert_eq!(Network::new(&empty, &NoWatch).err(), Some(NetworkError::NothingTied));
    let mut alone = block('A', Ground::Flat, Control::Rtk);
    alone.images.truncate(1);
    alone.points.iter_mut().for_each(|point| point.images.retain(|&image| image == 0));
    assert_eq!(Network::new(&alone, &NoWatch).err(), Some(NetworkError::NothingTied));
}

/// Cancels after some questions.
struct After(AtomicU32);

impl Watch for After {
    fn step(&self, _done: u64, _total: u64) -> Result<(), Cancelled> {
        let left = self.0.load(Ordering::Relaxed);
        self.0.store(left.saturating_sub(1), Ordering::Relaxed);
        if left == 0 { Err(Cancelled) } else { Ok(()) }
    }
}

/// Derived: whenever the owner loses interest, the work ends with that word.
#[test]
fn a_network_is_cancelled_anywhere() {
    let block = block('B', Ground::Flat, Control::Rtk);
    let mut ended = 0;
    for questions in [0, 1, 5, 20, 60, 120] {
        match Network::new(&block, &After(AtomicU32::new(questions))) {
            Err(error) => {
                assert_eq!(error, NetworkError::Cancelled(Cancelled));
                ended += 1;
            }
            Ok(network) => {
                assert!(Poses::new(network, &After(AtomicU32::new(0))).is_err());
            }
        }
    }
    assert!(ended >= 3, "{ended} of them");
}
