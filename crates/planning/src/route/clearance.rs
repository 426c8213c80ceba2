//! How near passes come to what stands.

use super::{LegKind, PassPlan};
use crate::base::Id;
use crate::geometry::polygon::distance_m;
use crate::ground::{Obstacle, SiteOutline};
use glam::{DVec2, DVec3};

/// Halvings of a piece in search of its nearest place: 1 km comes down to below a millimetre.
const STEPS: u32 = 40;

/// More than sums of coordinates are rounded by.
const ROUNDING_M: f64 = 1e-6;

/// The least distance between passes and what stands.
#[derive(Debug, Clone, PartialEq)]
pub struct Clearance {
    /// From the line flown to the surface of the structure, in whatever direction.
    pub m: f64,
    /// Name of the structure.
    pub structure: String,
    /// The pass that comes so near.
    pub pass: Id,
}

/// The least distance from the strips, rows and rings of passes to all that stands, below, beside or above them; nothing
/// where nothing stands, or nothing is flown. The ways to passes and between strips keep the clearance that is set.
///
/// # Units
/// - returns: metres, 0 for a line that goes through a structure
///
/// # Accuracy
/// A millimetre: the distance from a convex solid has one minimum along a straight piece, which is searched for.
///
/// # References
/// Ternary search for the one minimum of a convex function (from memory).
pub fn least_clearance<'p>(
    plans: impl IntoIterator<Item = &'p PassPlan>,
    site: &SiteOutline,
) -> Option<Clearance> {
    let boxes: Vec<(DVec3, DVec3)> = site.obstacles.iter().map(bounds).collect();
    let (mut least_m, mut nearest) = (f64::INFINITY, None);
    for plan in plans {
        for leg in plan.legs.iter().filter(|leg| leg.kind == LegKind::Strip) {
            for (a, b) in leg.pieces_m() {
                for (solid, bounds) in site.obstacles.iter().zip(&boxes) {
                    if between_boxes_m(*bounds, (a.min(b), a.max(b))) >= least_m {
                        continue;
                    }
                    let m = from_piece_m(solid, a, b, least_m);
                    if m < least_m {
                        (least_m, nearest) = (m, Some((plan.pass, solid.structure)));
                    }
                }
            }
        }
    }
    let (pass, structure) = nearest?;
    Some(Clearance { m: least_m, structure: site.structures[structure].name.clone(), pass })
}

fn bounds(solid: &Obstacle) -> (DVec3, DVec3) {
    let (low, high): (DVec2, DVec2) = crate::geometry::polygon::bounds(&solid.ring_m);
    (low.extend(solid.bottom_z_m), high.extend(solid.top_z_m))
}

fn between_boxes_m(a: (DVec3, DVec3), b: (DVec3, DVec3)) -> f64 {
    (a.0 - b.1).max(b.0 - a.1).max(DVec3::ZERO).length()
}

fn from_place_m(solid: &Obstacle, at: DVec3) -> f64 {
    let aside_m = distance_m(&solid.ring_m, at.truncate());
    aside_m.hypot((at.z - solid.top_z_m).max(solid.bottom_z_m - at.z).max(0.0))
}

/// Least distance of a straight piece from a solid, by thirds; any distance that is no less than `enough_m` where it comes no
/// nearer than that: no place of a piece is nearer than another by more than the way between them.
fn from_piece_m(solid: &Obstacle, a: DVec3, b: DVec3, enough_m: f64) -> f64 {
    let (mut low, mut high) = (0.0, 1.0);
    let at_m = |share: f64| from_place_m(solid, a.lerp(b, share));
    let length_m = a.distance(b);
    if length_m > 0.0 {
        for _ in 0..STEPS {
            let third = (high - low) / 3.0;
            let (before_m, after_m) = (at_m(low + third), at_m(high - third));
            if before_m.min(after_m) - third * length_m > enough_m + ROUNDING_M {
                return before_m.min(after_m);
            }
            if before_m <= after_m {
                high -= third;
            } else {
                low += third;
            }
        }
    }
    [low, f64::midpoint(low, high), high].into_iter().map(at_m).fold(f64::INFINITY, f64::min)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Derived: past a cube of 10 m from 0: beside it, above it, across its corner, through it.
    #[test]
    fn pieces_are_as_far_as_their_nearest_place() {
        let ring_m = [(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)].map(DVec2::from).to_vec();
        let cube = Obstacle::new(0, ring_m, f64::NEG_INFINITY, 10.0);
        let apart = |a: [f64; 3], b: [f64; 3]| from_piece_m(&cube, a.into(), b.into(), f64::INFINITY);
        let near = |m: f64, expected: f64| assert!((m - expected).abs() < 1e-3, "{m} for {expected}");
        near(apart([-50.0, -7.0, 5.0], [80.0, -7.0, 5.0]), 7.0);
        near(apart([-50.0, 5.0, 22.0], [80.0, 5.0, 22.0]), 12.0);
        near(apart([-3.0, -4.0, 22.0], [-3.0, -4.0, 22.0]), 13.0);
        near(apart([-20.0, 5.0, 5.0], [20.0, 5.0, 5.0]), 0.0);
        // Nearest where 20 (10 + 20 s) = 40 (20 − 40 s): 16 m east and 8 m south of the corner.
        near(apart([20.0, -20.0, 2.0], [40.0, 20.0, 2.0]), 320.0_f64.sqrt());
    }

    /// Derived: a search that may stop where nothing nearer is to be found finds the same distance wherever something nearer
    /// is, and none that is nearer where nothing is.
    #[test]
    fn a_search_that_may_stop_early_finds_the_same() {
        let ring_m = [(0.0, 0.0), (30.0, 4.0), (26.0, 20.0), (3.0, 15.0)].map(DVec2::from).to_vec();
        let solid = Obstacle::new(0, ring_m, f64::NEG_INFINITY, 12.0);
        let place = |k: u32| {
            let part = |of: f64| (f64::from(k) * of).fract();
            DVec3::new(160.0 * part(0.618) - 80.0, 160.0 * part(0.414) - 80.0, 40.0 * part(0.732))
        };
        let mut stopped = 0;
        for k in 0..400 {
            let (a, b) = (place(2 * k), place(2 * k + 1));
            let exact_m = from_piece_m(&solid, a, b, f64::INFINITY);
            for enough_m in [0.5, 5.0, 20.0, 60.0] {
                let found_m = from_piece_m(&solid, a, b, enough_m);
                if exact_m < enough_m {
                    assert!(found_m == exact_m, "{k}: {found_m} and {exact_m}");
                } else {
                    assert!(found_m >= enough_m, "{k}: {found_m} under {enough_m}");
                    stopped += u32::from(found_m != exact_m);
                }
            }
        }
        assert!(stopped > 400, "{stopped}");
    }
}
