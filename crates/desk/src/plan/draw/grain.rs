//! Along what the sides of a rectangle lie that is drawn between two corners.

use super::snap::{Rail, nearest_on};
use glam::DVec2;

/// Corners are kept to the millimetre: from this near a place lies on an edge.
const ON_M: f64 = 2e-3;

/// The direction of an edge.
#[derive(Debug, Clone, PartialEq)]
pub struct Grain {
    /// A unit vector.
    pub along: DVec2,
    /// Whose edge it is.
    pub of: String,
}

impl Grain {
    /// That of the edge on which a place lies, of the longest where several meet; nothing where there is none.
    pub(super) fn on(rails: &[Rail], at_m: DVec2) -> Option<Grain> {
        Grain::near(rails, at_m, ON_M)
    }

    /// The same of the edges within reach.
    pub(super) fn near(rails: &[Rail], at_m: DVec2, reach_m: f64) -> Option<Grain> {
        let sides = rails.iter().flat_map(|rail| rail.sides().map(move |side| (side, &rail.name)));
        let near = sides.filter(|((a, b), _)| nearest_on(*a, *b, at_m).distance(at_m) <= reach_m);
        let ((a, b), name) = near.max_by(|x, y| length_m(x.0).total_cmp(&length_m(y.0)))?;
        Some(Grain { along: (b - a).try_normalize()?, of: name.clone() })
    }
}

fn length_m((a, b): (DVec2, DVec2)) -> f64 {
    a.distance(b)
}
