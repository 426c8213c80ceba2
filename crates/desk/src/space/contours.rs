use glam::{DVec2, DVec3};
use obliquity_planning::{SiteModel, Terrain};

/// Lines of equal height on uneven ground, without which its colours hide its shape.
#[derive(Debug, Clone, PartialEq)]
pub struct Contours {
    /// Height from line to line.
    pub step_m: f64,
    /// Straight pieces, each a little above the ground.
    pub lines_m: Vec<(DVec3, DVec3)>,
}

/// Rows and columns of the triangles that are cut.
const CELLS: u32 = 120;
/// About as many lines lie between the lowest and the highest ground.
const ABOUT: f64 = 12.0;
/// Above the ground.
const LIFT_M: f64 = 0.05;

impl Contours {
    /// The lines of a site; nothing on plane ground, which needs none, and on ground that is level.
    pub fn new(site: &SiteModel) -> Option<Contours> {
        let Terrain::Grid(_) = site.terrain else { return None };
        let (low, high) = site.extent_m;
        let at = |column: u32, row: u32| {
            let place = low + (high - low) * DVec2::new(f64::from(column), f64::from(row)) / f64::from(CELLS);
            place.extend(site.terrain.height_m(place))
        };
        let nodes: Vec<Vec<DVec3>> =
            (0..=CELLS).map(|row| (0..=CELLS).map(|column| at(column, row)).collect()).collect();
        let heights = nodes.iter().flatten().map(|node| node.z);
        let (lowest, highest) =
            heights.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), z| (low.min(z), high.max(z)));
        let step_m = round_step((highest - lowest) / ABOUT)?;
        let mut lines_m = Vec::new();
        for rows in nodes.windows(2) {
            for (south, north) in rows[0].windows(2).zip(rows[1].windows(2)) {
                cut([south[0], south[1], north[1]], step_m, &mut lines_m);
                cut([south[0], north[1], north[0]], step_m, &mut lines_m);
            }
        }
        Some(Contours { step_m, lines_m })
    }
}

/// The nearest of 1, 2 and 5 times a power of ten that is not less, and no less than 0.5; nothing for no height.
fn round_step(least: f64) -> Option<f64> {
    if !(least.is_finite() && least > 0.0) {
        return None;
    }
    let least = least.max(0.5);
    let power = 10_f64.powf(least.log10().floor());
    [1.0, 2.0, 5.0, 10.0].map(|step| step * power).into_iter().find(|step| *step >= least * (1.0 - 1e-9))
}

/// Adds where a triangle crosses the heights that are whole steps.
fn cut(corners: [DVec3; 3], step_m: f64, lines_m: &mut Vec<(DVec3, DVec3)>) {
    let low = corners.iter().map(|p| p.z).fold(f64::INFINITY, f64::min);
    let high = corners.iter().map(|p| p.z).fold(f64::NEG_INFINITY, f64::max);
    let mut z = (low / step_m).floor() * step_m + step_m;
    while z <= high {
        let crossings = (0..3).filter_map(|k| {
            let (a, b) = (corners[k], corners[(k + 1) % 3]);
            ((a.z < z) != (b.z < z)).then(|| a.lerp(b, (z - a.z) / (b.z - a.z)) + LIFT_M * DVec3::Z)
        });
        if let [from_m, to_m] = crossings.collect::<Vec<_>>()[..] {
            lines_m.push((from_m, to_m));
        }
        z += step_m;
    }
}
