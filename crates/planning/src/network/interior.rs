//! The interior orientation, and which of it an adjustment may change.

/// Terms of the interior orientation.
pub const INTERIOR_LEN: usize = 8;

/// A term of the interior orientation.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum InteriorTerm {
    /// Focal length, in pixels.
    Focal,
    /// Principal point to the right, in pixels.
    CentreX,
    /// Principal point down, in pixels.
    CentreY,
    /// Radial distortion of the third degree.
    K1,
    /// Radial distortion of the fifth degree.
    K2,
    /// Radial distortion of the seventh degree.
    K3,
    /// Decentring distortion, downward.
    P1,
    /// Decentring distortion, to the right.
    P2,
}

impl InteriorTerm {
    /// All of them, in the order in which they stand everywhere.
    pub const ALL: [InteriorTerm; INTERIOR_LEN] = [
        InteriorTerm::Focal,
        InteriorTerm::CentreX,
        InteriorTerm::CentreY,
        InteriorTerm::K1,
        InteriorTerm::K2,
        InteriorTerm::K3,
        InteriorTerm::P1,
        InteriorTerm::P2,
    ];
}

/// Which terms of the interior orientation are estimated with the block, and what is known of them before.
///
/// A term that is not free is held as it is. A free one has a prior: how far from its value it may well be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct InteriorFreedom {
    /// Prior standard deviation of each free term, in its own unit, in the order of [`InteriorTerm::ALL`].
    pub prior_sigma: [Option<f64>; INTERIOR_LEN],
}

/// Priors of a camera of which nothing is known but its data sheet: focal length and centre to 50 px.
const UNKNOWN: [f64; INTERIOR_LEN] = [50.0, 50.0, 50.0, 0.1, 0.1, 0.1, 0.01, 0.01];

impl InteriorFreedom {
    /// Nothing is estimated: the calibration is held.
    pub const FIXED: InteriorFreedom = InteriorFreedom { prior_sigma: [None; INTERIOR_LEN] };

    /// Focal length and k1, of which next to nothing is known.
    pub const FOCAL_AND_K1: InteriorFreedom = InteriorFreedom {
        prior_sigma: [Some(UNKNOWN[0]), None, None, Some(UNKNOWN[3]), None, None, None, None],
    };

    /// All eight terms, of which next to nothing is known.
    pub const ALL: InteriorFreedom = InteriorFreedom {
        prior_sigma: [
            Some(UNKNOWN[0]),
            Some(UNKNOWN[1]),
            Some(UNKNOWN[2]),
            Some(UNKNOWN[3]),
            Some(UNKNOWN[4]),
            Some(UNKNOWN[5]),
            Some(UNKNOWN[6]),
            Some(UNKNOWN[7]),
        ],
    };
}
