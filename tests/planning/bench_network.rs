//! Networks of 300, 1,000 and 3,000 images, and the reference blocks: time by the clock and greatest memory.
//!
//! `cargo bench -p obliquity-planning --bench network`; `-- 3000` does that size alone, so that its memory is its own. The
//! generated block looks down and in four directions from a grid of stations at 80/70 %; its tie points are thinned to
//! two for five images, which leaves about 30 or more to an image and some 100 rays to a point.

#![expect(clippy::unwrap_used, reason = "a bench ends at the first surprise")]
#![expect(clippy::print_stdout, reason = "a bench says what it measured")]
#![expect(
    clippy::disallowed_types,
    clippy::disallowed_methods,
    reason = "a bench has a clock and asks for memory"
)]

use glam::{DVec2, DVec3};
use network_blocks::{CAMERA, Control, FREEDOMS, Ground, block};
use obliquity_planning::{
    Brown, Calibration, Cancelled, Functionals, ImageBlock, InteriorFreedom, InteriorTerm, Network, NoWatch,
    PointFunctional, Pose, PosedCamera, Poses, Positioning, TiePoint, Watch,
};
use rand_distr::{Distribution, StandardUniform};
use rand_pcg::Pcg64Mcg;
use rayon::prelude::*;
use std::sync::Mutex;
use std::time::Instant;

#[path = "bench_scene.rs"]
#[allow(dead_code, reason = "other benches need all of it")]
mod bench_scene;
#[path = "network_blocks.rs"]
#[allow(dead_code, reason = "the tests need all of it")]
mod network_blocks;

/// What the NumPy and SciPy covariance of the eight blocks takes, in seconds.
const REFERENCE_S: f64 = 23.6;

fn main() {
    let alone = std::env::args().find_map(|arg| arg.parse::<u32>().ok());
    if let Some(images) = alone {
        return generated(images);
    }
    reference_blocks();
    [300, 1000, 3000].into_iter().for_each(generated);
}

/// The longest time between two questions whether the work is still wanted, of this process's own processor time, which
/// other work on the machine does not lengthen.
struct Asked(Mutex<(f64, f64)>);

impl Asked {
    fn new() -> Self {
        Asked(Mutex::new((bench_scene::processor_s(), 0.0)))
    }

    fn longest_s(&self) -> f64 {
        self.0.lock().unwrap().1
    }
}

impl Watch for Asked {
    fn step(&self, _done: u64, _total: u64) -> Result<(), Cancelled> {
        let now_s = bench_scene::processor_s();
        let mut last = self.0.lock().unwrap();
        *last = (now_s, last.1.max(now_s - last.0));
        Ok(())
    }
}

/// Greatest memory of the process so far, in megabytes; 0 where the system does not tell.
fn peak_mb() -> f64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find(|line| line.starts_with("VmHWM"));
    let kb = line.and_then(|line| line.split_whitespace().nth(1)).and_then(|word| word.parse::<f64>().ok());
    kb.unwrap_or(0.0) / 1000.0
}

/// All eight blocks under all set-ups of control and all freedoms of the calibration.
fn reference_blocks() {
    let set_ups = [
        (Ground::Flat, Control::Rtk),
        (Ground::Flat, Control::RtkAndOne),
        (Ground::Relief, Control::Rtk),
        (Ground::Relief, Control::Four),
    ];
    let blocks: Vec<ImageBlock> = "ABCDEFGH"
        .chars()
        .flat_map(|letter| set_ups.map(|(ground, control)| block(letter, ground, control)))
        .collect();
    let (begin, before_s) = (Instant::now(), bench_scene::processor_s());
    let sum: f64 = blocks.par_iter().map(solve_all).sum();
    let took_s = begin.elapsed().as_secs_f64();
    println!(
        "eight blocks, four set-ups of control, three freedoms: {took_s:.3} s, {:.0} times the reference; {:.3} s of the processor (sum {sum:.3})",
        REFERENCE_S / took_s,
        bench_scene::processor_s() - before_s,
    );
}

fn solve_all(block: &ImageBlock) -> f64 {
    let network = Network::new(block, &NoWatch).unwrap();
    let of: Vec<PointFunctional> =
        network.carried.points.iter().flat_map(|&point| PointFunctional::coordinates(point)).collect();
    let asked = Functionals::new(&network, &of, &NoWatch).unwrap();
    let all = |freedom: &InteriorFreedom| -> f64 {
        let calibration = Calibration::new(&network, freedom);
        (0..of.len()).filter_map(|k| asked.sigma_m(k, &calibration)).sum()
    };
    FREEDOMS.iter().map(|(_, freedom)| all(freedom)).sum()
}

fn drawn(rng: &mut Pcg64Mcg, size: f64) -> f64 {
    let share: f64 = StandardUniform.sample(rng);
    share * size
}

/// A block of so many images, five from each station.
fn five_directions(images: u32) -> ImageBlock {
    let stations = images.div_ceil(5);
    let strips = (f64::from(stations) * 20.0 / 45.0).sqrt().round().max(1.0) as u32;
    let on_strip = stations.div_ceil(strips);
    let looks = [(0.0, 0.0), (0.0, 45.0), (90.0, 45.0), (180.0, 45.0), (270.0, 45.0)];
    let images: Vec<PosedCamera> = (0..stations)
        .flat_map(|k| {
            let position_m =
                DVec3::new(45.0 * f64::from(k / on_strip), 20.0 * f64::from(k % on_strip), 100.0);
            looks.map(|(heading_deg, tilt_deg): (f64, f64)| {
                let (heading_rad, tilt_rad) = (heading_deg.to_radians(), tilt_deg.to_radians());
                PosedCamera::new(CAMERA, &Pose { position_m, heading_rad, tilt_rad, roll_rad: 0.0 })
            })
        })
        .take(images as usize)
        .collect();
    let size = DVec2::new(45.0 * f64::from(strips), 20.0 * f64::from(on_strip));
    let mut rng = Pcg64Mcg::new(7);
    let points = (0..images.len() * 2 / 5).map(|_| {
        let position_m = DVec3::new(drawn(&mut rng, size.x), drawn(&mut rng, size.y), drawn(&mut rng, 8.0));
        let is_seen = |image: &u32| counted(&images[*image as usize], position_m);
        let images = (0..images.len() as u32).filter(is_seen).collect();
        TiePoint { position_m, images, stands_for: 1.0, control_sigma_m: None }
    });
    let points = points.collect();
    let positioning = Positioning {
        random_sigma_m: DVec3::new(0.01, 0.01, 0.02),
        constant_sigma_m: DVec3::new(0.015, 0.015, 0.03),
        set_ups: Vec::new(),
    };
    ImageBlock { images, lens: Brown::NONE, points, image_sigma_px: 0.5, positioning: Some(positioning) }
}

/// In the frame, and seen no flatter than 55°.
fn counted(image: &PosedCamera, at_m: DVec3) -> bool {
    let toward = image.centre_m - at_m;
    let steep = toward.z > 55_f64.to_radians().cos() * toward.length();
    steep && image.project(at_m).is_some_and(|uv| CAMERA.contains(uv))
}

fn generated(images: u32) {
    let block = five_directions(images);
    let (begin, before_s, asked_when) = (Instant::now(), bench_scene::processor_s(), Asked::new());
    let network = Network::new(&block, &asked_when).unwrap();
    let factorised_s = begin.elapsed().as_secs_f64();
    let (carried, hinges) = (network.carried.clone(), network.hinges());
    let at = |&point: &u32| (point, block.points[point as usize].position_m);
    let dome = PointFunctional::dome(&carried.points.iter().map(at).collect::<Vec<_>>());
    let asked = Functionals::new(&network, &[dome], &asked_when).unwrap();
    let calibration = Calibration::new(&network, &InteriorFreedom::ALL);
    let domed_s = begin.elapsed().as_secs_f64();
    let poses = Poses::new(network, &asked_when).unwrap();
    let inverted_s = begin.elapsed().as_secs_f64();
    let sigma_z_m = |number: &u32| {
        let point = &block.points[*number as usize];
        let m2 = poses.point_covariance_m2(&block, &point.images, point.position_m, &calibration);
        m2.map_or(f64::NAN, |m2| m2.z_axis.z.sqrt())
    };
    let heights: Vec<f64> = carried.points.par_iter().map(sigma_z_m).collect();
    let all_s = begin.elapsed().as_secs_f64();
    println!(
        "{} images, {} points, {} rays ({}-{} a point), {hinges} hinges: factor {factorised_s:.2} s, dome {:.2} s, \
         inverse {:.2} s, {} points {:.2} s, all {all_s:.2} s, {:.2} s of the processor, \
         asked every {:.3} s or sooner; {:.0} MB at most; f to {:.3} px, dome to {:.1} mm, heights to {:.1} mm",
        carried.images.len(),
        carried.points.len(),
        carried.observations,
        carried.rays.0,
        carried.rays.1,
        domed_s - factorised_s,
        inverted_s - domed_s,
        heights.len(),
        all_s - inverted_s,
        bench_scene::processor_s() - before_s,
        asked_when.longest_s(),
        peak_mb(),
        calibration.sigma(InteriorTerm::Focal).unwrap(),
        1000.0 * asked.sigma_m(0, &calibration).unwrap(),
        1000.0 * heights.iter().sum::<f64>() / heights.len() as f64,
    );
}
