use crate::base::digest::Digest;
use glam::{DMat2, DVec2};
use serde::{Deserialize, Serialize};

/// What a lens does to a pinhole's image: Brown's radial and decentring terms, of coordinates at unit depth.
///
/// x' = x (1 + k1 r² + k2 r⁴ + k3 r⁶) + 2 p1 x y + p2 (r² + 2 x²), and y' with p1 (r² + 2 y²) + 2 p2 x y; x to the right,
/// y down, both in focal lengths, r² = x² + y².
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
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

/// Places between a start and a solution at which a fold is looked for.
const LOOKED_BETWEEN: u32 = 8;

/// Steps from the middle outward in which a distortion is undone.
const STEPS: u32 = 8;
/// Newton's steps that are tried at each.
const MOST_TURNS: usize = 20;
/// A step of Newton's that is rounding.
const EXACT: f64 = 1e-12;
/// The image folds where its area is this share of the undistorted one or less.
const FOLDED: f64 = 1e-3;

impl Brown {
    /// A lens that bends nothing.
    pub const NONE: Brown = Brown { k1: 0.0, k2: 0.0, k3: 0.0, p1: 0.0, p2: 0.0 };

    /// Whether it bends nothing.
    pub fn is_none(&self) -> bool {
        *self == Brown::NONE
    }

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

    /// Where a point would be imaged without the lens that is imaged here with it; nothing where the lens folds the image
    /// on the way there from the middle, so that what is imaged may lie in two places.
    ///
    /// # Units
    /// - `at`, returns: focal lengths, right and down of the principal point
    ///
    /// # Accuracy
    /// 1e-12 of a focal length.
    ///
    /// # References
    /// Derived: Newton's steps from the middle outward, never beyond a place where [`Brown::slope`] has no inverse.
    ///
    /// # Examples
    /// ```
    /// use glam::DVec2;
    /// use obliquity_planning::Brown;
    /// let barrel = Brown { k1: -0.1, ..Brown::NONE };
    /// let ideal = barrel.undistorted(DVec2::new(0.4875, 0.0)).expect("no fold");
    /// assert!((ideal.x - 0.5).abs() < 1e-12);
    /// // r (1 − 0.1 r²) is nowhere more than 1.217
    /// assert_eq!(barrel.undistorted(DVec2::new(1.3, 0.0)), None);
    /// ```
    pub fn undistorted(&self, at: DVec2) -> Option<DVec2> {
        if self.is_none() {
            return Some(at);
        }
        (1..=STEPS)
            .try_fold(DVec2::ZERO, |from, step| self.solved(at * (f64::from(step) / f64::from(STEPS)), from))
    }

    /// Newton's solution for a place that lies near a start; nothing where the lens folds the image between them: beyond a fold
    /// some images of the place lie that are as good but for that.
    fn solved(&self, at: DVec2, from: DVec2) -> Option<DVec2> {
        let mut ideal = from;
        for _ in 0..MOST_TURNS {
            let slope = self.slope(ideal);
            if slope.determinant() <= FOLDED {
                return None;
            }
            let step = slope.inverse() * (at - self.distorted(ideal));
            ideal += step;
            if step.length() <= EXACT {
                let is_plain = |share: f64| self.slope(from.lerp(ideal, share)).determinant() > FOLDED;
                return (1..=LOOKED_BETWEEN)
                    .all(|k| is_plain(f64::from(k) / f64::from(LOOKED_BETWEEN)))
                    .then_some(ideal);
            }
        }
        None
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

impl Digest {
    pub(crate) fn lens(&mut self, lens: &Brown) -> &mut Self {
        let Brown { k1, k2, k3, p1, p2 } = *lens;
        self.numbers(&[k1, k2, k3, p1, p2])
    }
}

#[cfg(test)]
mod tests {
    #![expect(clippy::unwrap_used, reason = "a test ends at the first surprise")]

    use super::*;
    use rand_distr::{Distribution, StandardUniform};
    use rand_pcg::Pcg64Mcg;

    fn drawn(rng: &mut Pcg64Mcg, from: f64, to: f64) -> f64 {
        let share: f64 = StandardUniform.sample(rng);
        from + (to - from) * share
    }

    /// Derived: what is undone and done again is where it was, wherever the lens does not fold; a tolerance of ten steps
    /// that are taken for rounding.
    #[test]
    fn a_distortion_is_undone_exactly() {
        let mut rng = Pcg64Mcg::new(3);
        let mut folded = 0;
        for _ in 0..2000 {
            let lens = Brown {
                k1: drawn(&mut rng, -0.4, 0.4),
                k2: drawn(&mut rng, -0.2, 0.2),
                k3: drawn(&mut rng, -0.1, 0.1),
                p1: drawn(&mut rng, -0.01, 0.01),
                p2: drawn(&mut rng, -0.01, 0.01),
            };
            let at = DVec2::new(drawn(&mut rng, -0.9, 0.9), drawn(&mut rng, -0.7, 0.7));
            match lens.undistorted(at) {
                Some(ideal) => assert!(lens.distorted(ideal).abs_diff_eq(at, 1e-11), "{lens:?} {at}"),
                None => folded += 1,
            }
        }
        assert!((50..1000).contains(&folded), "{folded} places beyond a fold");
    }

    /// Derived: this lens images nothing beyond its first fold, and again from its second one on, where the slope is as it was
    /// before the first: a place that only that reaches is imaged by none before it.
    #[test]
    fn no_place_beyond_two_folds_is_taken() {
        let (k1, k2, k3) = (-0.224_763_977_607_185_72, -0.084_905_500_106_975_78, 0.031_227_573_839_096_825);
        let lens = Brown { k1, k2, k3, p1: -0.003_559_661_720_784_919, p2: -0.003_389_528_390_418_804 };
        let beyond = DVec2::new(1.478_356_743_293_195, 0.995_566_876_415_554_4);
        assert!(lens.distorted(beyond).abs_diff_eq(DVec2::new(0.6, 0.4), 1e-6));
        assert!(lens.slope(beyond).determinant() > FOLDED);
        assert!((1..8).any(|k| lens.slope(beyond * f64::from(k) / 8.0).determinant() < 0.0));
        assert_eq!(lens.undistorted(DVec2::new(0.6, 0.4)), None);
    }

    /// Derived: r − r³/2 is greatest at r = √(2/3), where it is 0.5443: nothing is imaged beyond.
    #[test]
    fn nothing_is_imaged_beyond_a_fold() {
        let lens = Brown { k1: -0.5, ..Brown::NONE };
        assert!(lens.undistorted(DVec2::new(0.0, 0.543)).unwrap().y < (2.0_f64 / 3.0).sqrt());
        assert_eq!(lens.undistorted(DVec2::new(0.0, 0.545)), None);
    }
}
