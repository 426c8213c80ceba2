//! Two invented terrains as formulas: a quarry with benches, and a valley that a bridge can cross.

use glam::DVec2;
use obliquity_planning::{TerrainGrid, TerrainGridError};

/// An invented terrain.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Shape {
    /// An oval pit, 320 × 220 m at its rim, in ground that slopes gently: three benches of 12 m, berms 9 m wide between
    /// faces of about 70°, a ramp down from the south-west, and a heap on the floor.
    Quarry,
    /// A winding valley from north to south, some 32 m deep, 130 m wide at the shoulders, with a flat bed and a terrace.
    Valley,
}

impl Shape {
    /// By its name: `quarry` or `valley`.
    pub(crate) fn named(name: &str) -> Option<Shape> {
        match name {
            "quarry" => Some(Shape::Quarry),
            "valley" => Some(Shape::Valley),
            _ => None,
        }
    }

    /// Height of the ground at a place, in metres.
    pub(crate) fn height_m(self, at: DVec2) -> f64 {
        match self {
            Shape::Quarry => quarry_m(at),
            Shape::Valley => valley_m(at),
        }
    }

    /// The terrain as a grid about the origin: 500 × 400 m, a node every 2 m.
    ///
    /// # Errors
    /// None for these shapes; those of the grid itself.
    pub(crate) fn grid(self) -> Result<TerrainGrid, TerrainGridError> {
        let (low, step_m, columns, rows) = (DVec2::new(-250.0, -200.0), 2.0, 251, 201);
        let at = |k: usize| low + step_m * DVec2::new((k % columns) as f64, (k / columns) as f64);
        let heights_m: Vec<f64> = (0..columns * rows).map(|k| self.height_m(at(k))).collect();
        TerrainGrid::from_heights_m(low, DVec2::splat(step_m), (columns, rows), &heights_m)
    }
}

/// From 0 to 1 between two values, level at both ends.
fn smooth(from: f64, to: f64, value: f64) -> f64 {
    let share = ((value - from) / (to - from)).clamp(0.0, 1.0);
    share * share * (3.0 - 2.0 * share)
}

const BENCH_M: f64 = 12.0;
const BENCHES: [f64; 3] = [0.0, 1.0, 2.0];
const BERM_M: f64 = 9.0;
const FACE_M: f64 = 4.4;

fn quarry_m(at: DVec2) -> f64 {
    let natural = 240.0 + 0.03 * at.x - 0.02 * at.y + 1.2 * (at.x * 0.021).sin() * (at.y * 0.017).cos();
    // metres inward from the rim, which is a rounded rectangle with some waves
    let round = (at / DVec2::new(160.0, 110.0)).abs();
    let radius = (round.x.powi(3) + round.y.powi(3)).cbrt();
    let inward_m = (1.0 - radius) * 110.0 + 2.5 * (at.y.atan2(at.x) * 5.0).sin();
    let step_m = BERM_M + FACE_M;
    let dug: f64 = BENCHES.iter().map(|k| ((inward_m - k * step_m) / FACE_M).clamp(0.0, 1.0)).sum();
    let heap = 6.0 * (1.0 - at.distance(DVec2::new(35.0, -10.0)) / 14.0).max(0.0);
    // a ramp of 1 in 8 that comes in from the south-west
    let along_m = (at - DVec2::new(-150.0, -60.0)).dot(DVec2::new(1.0, 0.12).normalize());
    let aside_m = (at - DVec2::new(-150.0, -60.0)).perp_dot(DVec2::new(1.0, 0.12).normalize()).abs();
    let on_ramp = 1.0 - smooth(6.0, 10.0, aside_m);
    let ramp_m = (along_m / 8.0).clamp(0.0, 3.0 * BENCH_M);
    let depth_m = dug * BENCH_M;
    natural - (depth_m + on_ramp * (ramp_m.min(depth_m) - depth_m)) + heap
}

fn valley_m(at: DVec2) -> f64 {
    let plateau = 310.0 + 0.01 * at.x + 1.5 * (at.x * 0.013 + at.y * 0.02).sin();
    let middle_m = 18.0 * (at.y * 0.016).sin();
    let from_middle = at.x - middle_m;
    let sides = if from_middle < 0.0 {
        smooth(-65.0, -8.0, from_middle)
    } else {
        1.0 - smooth(8.0, 65.0, from_middle)
    };
    // a terrace half way down the eastern side
    let terrace = 4.0 * smooth(18.0, 26.0, from_middle) * (1.0 - smooth(38.0, 48.0, from_middle));
    let fall_m = 0.008 * (at.y + 200.0);
    plateau - sides * (34.0 - fall_m) + terrace * 0.5
}
