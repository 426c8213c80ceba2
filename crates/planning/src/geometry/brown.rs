use glam::{DMat2, DVec2};

/// What a lens does to a pinhole's image: Brown's radial and decentring terms, of coordinates at unit depth.
///
/// x' = x (1 + k1 r² + k2 r⁴ + k3 r⁶) + 2 p1 x y + p2 (r² + 2 x²), and y' with p1 (r² + 2 y²) + 2 p2 x y; x to the right,
/// y down, both in focal lengths, r² = x² + y².
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Brown {
    /// Radial, of the third degree.
    pub k1: f64,
    /// Radial, of the fifth degree.
    pub k2: f64,
    /// Radial, of the seventh degree.
    pub k3: f64,
    /// Decentring, downward.
    pub p1: f64,
    /// Decentring, to the right.
    pub p2: f64,
}

impl Brown {
    /// A lens that bends nothing.
    pub const NONE: Brown = Brown { k1: 0.0, k2: 0.0, k3: 0.0, p1: 0.0, p2: 0.0 };

    /// Where a point at unit depth is imaged.
    ///
    /// # Units
    /// - `at`: focal lengths, right and down of the principal point
    /// - returns: the same
    ///
    /// # References
    /// Brown 1966/1971, decentring distortion; in the signs of `OpenCV`'s `projectPoints` (from memory).
    ///
    /// # Examples
    /// ```
    /// use glam::DVec2;
    /// use obliquity_planning::Brown;
    /// let barrel = Brown { k1: -0.1, ..Brown::NONE };
    /// // at r = 0.5: 0.5 (1 − 0.1 · 0.25)
    /// assert!((barrel.distorted(DVec2::new(0.5, 0.0)).x - 0.4875).abs() < 1e-12);
    /// ```
    pub fn distorted(&self, at: DVec2) -> DVec2 {
        let r2 = at.length_squared();
        at * self.radial(r2) + self.decentring(at, r2)
    }

    /// How the imaged point moves with the undistorted one: columns by x and by y.
    ///
    /// # Units
    /// - `at`: focal lengths, right and down of the principal point
    /// - returns: no unit
    ///
    /// # References
    /// Derived from [`Brown::distorted`].
    pub fn slope(&self, at: DVec2) -> DMat2 {
        let (x, y) = (at.x, at.y);
        let r2 = at.length_squared();
        let by_r2 = self.k1 + r2 * (2.0 * self.k2 + 3.0 * self.k3 * r2);
        let radial = self.radial(r2);
        let across = 2.0 * (x * y * by_r2 + self.p1 * x + self.p2 * y);
        DMat2::from_cols(
            DVec2::new(radial + 2.0 * x * x * by_r2 + 2.0 * self.p1 * y + 6.0 * self.p2 * x, across),
            DVec2::new(across, radial + 2.0 * y * y * by_r2 + 6.0 * self.p1 * y + 2.0 * self.p2 * x),
        )
    }

    /// How the imaged point moves with k1, k2, k3, p1 and p2.
    ///
    /// # Units
    /// - `at`: focal lengths, right and down of the principal point
    /// - returns: focal lengths for each unit of a coefficient
    ///
    /// # References
    /// Derived from [`Brown::distorted`].
    pub fn by_coefficients(at: DVec2) -> [DVec2; 5] {
        let (x, y) = (at.x, at.y);
        let r2 = at.length_squared();
        [
            at * r2,
            at * (r2 * r2),
            at * (r2 * r2 * r2),
            DVec2::new(2.0 * x * y, r2 + 2.0 * y * y),
            DVec2::new(r2 + 2.0 * x * x, 2.0 * x * y),
        ]
    }

    fn radial(&self, r2: f64) -> f64 {
        1.0 + r2 * (self.k1 + r2 * (self.k2 + r2 * self.k3))
    }

    fn decentring(&self, at: DVec2, r2: f64) -> DVec2 {
        let across = 2.0 * at.x * at.y;
        DVec2::new(
            self.p1 * across + self.p2 * (r2 + 2.0 * at.x * at.x),
            self.p1 * (r2 + 2.0 * at.y * at.y) + self.p2 * across,
        )
    }
}
