#![expect(
    clippy::needless_bitwise_bool,
    reason = "loops over lanes without branches, which the compiler turns into vector code"
)]

use super::figures::ViewLimits;
use crate::base::number::narrow;

/// Two values within this share of each other are equal: where a rule names a limit, a nominal tie keeps it whatever
/// the rounding of single precision (1e-7) does.
pub(crate) const TIE: f64 = 1e-6;

/// Rays swept at once.
const SWEEP: usize = 8;

/// Unit directions from one sample to the cameras of its counted views.
///
/// Angles are compared by chord: |a − b| = 2 sin(angle / 2) grows with the angle, and is exact for small ones.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Rays<'a> {
    pub(crate) x: &'a [f32],
    pub(crate) y: &'a [f32],
    pub(crate) z: &'a [f32],
}

/// When views make coverage, as squared chords.
#[derive(Debug, Clone, Copy)]
pub(crate) struct LinkRule {
    min_views: usize,
    min_intersection: f32,
    max_link: f32,
}

impl From<&ViewLimits> for LinkRule {
    fn from(limits: &ViewLimits) -> Self {
        LinkRule {
            min_views: limits.min_views as usize,
            min_intersection: chord2(limits.min_intersection_rad * (1.0 - TIE)),
            max_link: chord2(limits.max_link_rad * (1.0 + TIE)),
        }
    }
}

/// Squared chord of an angle.
fn chord2(angle_rad: f64) -> f32 {
    let half = (angle_rad / 2.0).clamp(0.0, std::f64::consts::FRAC_PI_2).sin();
    narrow(4.0 * half * half)
}

/// Angle of a squared chord.
///
/// # References
/// Derived: a chord of the unit circle is 2 sin(angle / 2).
fn angle_rad(chord2: f32) -> f32 {
    2.0 * (chord2.sqrt() / 2.0).min(1.0).asin()
}

impl Rays<'_> {
    pub(crate) fn len(&self) -> usize {
        self.x.len()
    }

    fn ray(&self, k: usize) -> [f32; 3] {
        [self.x[k], self.y[k], self.z[k]]
    }

    fn chord2(&self, k: usize, [x, y, z]: [f32; 3]) -> f32 {
        let (dx, dy, dz) = (self.x[k] - x, self.y[k] - y, self.z[k] - z);
        dx * dx + dy * dy + dz * dz
    }

    /// The ray farthest from a direction and its squared chord.
    fn farthest(&self, from: [f32; 3]) -> (usize, f32) {
        let mut best = [-1.0_f32; SWEEP];
        let mut at = [0_u32; SWEEP];
        let whole = self.len() - self.len() % SWEEP;
        let chunks =
            self.x.chunks_exact(SWEEP).zip(self.y.chunks_exact(SWEEP)).zip(self.z.chunks_exact(SWEEP));
        for (number, ((x, y), z)) in (0_u32..).zip(chunks) {
            for j in 0..SWEEP {
                let (dx, dy, dz) = (x[j] - from[0], y[j] - from[1], z[j] - from[2]);
                let chord2 = dx * dx + dy * dy + dz * dz;
                let farther = chord2 > best[j];
                best[j] = if farther { chord2 } else { best[j] };
                at[j] = if farther { number } else { at[j] };
            }
        }
        let mut farthest = (0, -1.0);
        for j in 0..SWEEP {
            if best[j] > farthest.1 {
                farthest = (at[j] as usize * SWEEP + j, best[j]);
            }
        }
        for k in whole..self.len() {
            let chord2 = self.chord2(k, from);
            if chord2 > farthest.1 {
                farthest = (k, chord2);
            }
        }
        farthest
    }

    /// The squared chord of [`Rays::farthest`] alone: without the place, lanes become vector code throughout.
    fn greatest_chord2_from(&self, from: [f32; 3]) -> f32 {
        let mut best = [-1.0_f32; SWEEP];
        let chunks =
            self.x.chunks_exact(SWEEP).zip(self.y.chunks_exact(SWEEP)).zip(self.z.chunks_exact(SWEEP));
        for ((x, y), z) in chunks {
            for j in 0..SWEEP {
                let (dx, dy, dz) = (x[j] - from[0], y[j] - from[1], z[j] - from[2]);
                let chord2 = dx * dx + dy * dy + dz * dz;
                best[j] = if chord2 > best[j] { chord2 } else { best[j] };
            }
        }
        let whole = self.len() - self.len() % SWEEP;
        let rest = (whole..self.len()).map(|k| self.chord2(k, from));
        best.into_iter().chain(rest).fold(-1.0, f32::max)
    }

    /// Greatest squared chord between two of the rays; 0 with fewer than two.
    ///
    /// Two sweeps for the farthest ray give a pair that is θ apart. Of a pair that is farther apart, one member is
    /// farther than θ/2 from the first pair's middle, by the triangle inequality on the sphere: only such rays are
    /// compared with all.
    fn greatest_chord2(&self) -> f32 {
        if self.len() < 2 {
            return 0.0;
        }
        let (first, _) = self.farthest(self.ray(0));
        let (second, mut greatest) = self.farthest(self.ray(first));
        let Some(middle) = middle(self.ray(first), self.ray(second)) else { return greatest };
        let mut half = half_angle_chord2(greatest);
        for k in 0..self.len() {
            if self.chord2(k, middle) > half {
                let chord2 = self.greatest_chord2_from(self.ray(k));
                if chord2 > greatest {
                    (greatest, half) = (chord2, half_angle_chord2(chord2));
                }
            }
        }
        greatest
    }

    /// Greatest angle between two of the rays, in radians; 0 with fewer than two.
    ///
    /// # Accuracy
    /// 1e-6 rad, from single-precision directions.
    pub(crate) fn greatest_angle_rad(&self) -> f32 {
        angle_rad(self.greatest_chord2())
    }

    /// Whether the rays make coverage: some connected component of *differ by no more than the greatest link* has
    /// members enough and two of them far enough apart.
    ///
    /// `greatest_rad` is the greatest angle between any two of the rays.
    pub(crate) fn cover(&self, rule: &LinkRule, greatest_rad: f32) -> bool {
        if self.len() < rule.min_views.max(1) || chord2(f64::from(greatest_rad)) < rule.min_intersection {
            return false;
        }
        self.neighbours_cover(rule) || self.some_component_covers(rule)
    }

    /// Whether the neighbours of the first ray alone do it: the usual case, in one sweep.
    fn neighbours_cover(&self, rule: &LinkRule) -> bool {
        let first = self.ray(0);
        let (mut count, mut farthest) = (0, 0.0_f32);
        for k in 0..self.len() {
            let chord2 = self.chord2(k, first);
            let linked = chord2 <= rule.max_link;
            count += usize::from(linked);
            farthest = if linked & (chord2 > farthest) { chord2 } else { farthest };
        }
        count >= rule.min_views && farthest >= rule.min_intersection
    }

    /// Floods from every ray not yet reached.
    fn some_component_covers(&self, rule: &LinkRule) -> bool {
        let mut unreached: Vec<usize> = (0..self.len()).rev().collect();
        while let Some(seed) = unreached.pop() {
            let mut component = vec![seed];
            let mut farthest = 0.0_f32;
            let mut next = 0;
            while next < component.len() {
                let from = self.ray(component[next]);
                next += 1;
                unreached.retain(|&k| {
                    let linked = self.chord2(k, from) <= rule.max_link;
                    if linked {
                        component.push(k);
                        farthest = farthest.max(self.chord2(k, self.ray(seed)));
                    }
                    !linked
                });
                if component.len() >= rule.min_views && farthest >= rule.min_intersection {
                    return true;
                }
            }
            if component.len() >= rule.min_views && self.spread_chord2(&component) >= rule.min_intersection {
                return true;
            }
        }
        false
    }

    /// Greatest squared chord among some of the rays.
    fn spread_chord2(&self, members: &[usize]) -> f32 {
        let pick = |from: &[f32]| members.iter().map(|&k| from[k]).collect::<Vec<_>>();
        let (x, y, z) = (pick(self.x), pick(self.y), pick(self.z));
        Rays { x: &x, y: &y, z: &z }.greatest_chord2()
    }
}

/// Unit direction between two; nothing where they are opposite.
fn middle(a: [f32; 3], b: [f32; 3]) -> Option<[f32; 3]> {
    let sum = [a[0] + b[0], a[1] + b[1], a[2] + b[2]];
    let length = (sum[0] * sum[0] + sum[1] * sum[1] + sum[2] * sum[2]).sqrt();
    (length > 1e-3).then(|| sum.map(|v| v / length))
}

/// Squared chord of half the angle, slightly less so that rounding leaves no ray out: with s the chord of θ,
/// 4 sin²(θ/4) = 2 (1 − cos(θ/2)) = 2 − √(4 − s²).
fn half_angle_chord2(chord2: f32) -> f32 {
    (2.0 - (4.0 - chord2).max(0.0).sqrt()) * 0.99999 - 1e-6
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::ByClass;
    use crate::scenario::Requirement;
    use glam::DVec3;
    use proptest::prelude::*;

    fn rule() -> LinkRule {
        let requirement = Requirement { gsd_cm: ByClass::from_fn(|_| 1.0), ..Requirement::default() };
        LinkRule::from(&ViewLimits::from(&requirement))
    }

    fn with_rays<T>(directions: &[DVec3], ask: impl Fn(Rays<'_>) -> T) -> T {
        let lane = |pick: fn(&DVec3) -> f64| directions.iter().map(|d| narrow(pick(d))).collect::<Vec<_>>();
        let (x, y, z) = (lane(|d| d.x), lane(|d| d.y), lane(|d| d.z));
        ask(Rays { x: &x, y: &y, z: &z })
    }

    fn covered(directions: &[DVec3]) -> bool {
        with_rays(directions, |rays| rays.cover(&rule(), rays.greatest_angle_rad()))
    }

    fn fan(angles_deg: &[f64]) -> Vec<DVec3> {
        angles_deg.iter().map(|a| DVec3::new(a.to_radians().sin(), 0.0, a.to_radians().cos())).collect()
    }

    /// Derived from the definition: three views 60° apart do not match each other, a fan of views 20° apart does.
    #[test]
    fn views_far_apart_do_not_link_and_a_fan_does() {
        assert!(!covered(&fan(&[-60.0, 0.0, 60.0])));
        assert!(covered(&fan(&[-60.0, -40.0, -20.0, 0.0, 20.0])));
    }

    /// Derived: a link of exactly 40° and an intersection of exactly 10° keep their limits; a hair more or less does not.
    #[test]
    fn limits_are_inclusive() {
        assert!(covered(&fan(&[0.0, 40.0, 80.0])));
        assert!(!covered(&fan(&[0.0, 40.01, 80.02])));
        assert!(covered(&fan(&[0.0, 5.0, 10.0])));
        assert!(!covered(&fan(&[0.0, 5.0, 9.99])));
    }

    /// Derived: the wide pair must be in the large group, not anywhere; and need not contain the seed.
    #[test]
    fn the_pair_must_be_in_the_group() {
        assert!(!covered(&fan(&[0.0, 1.0, 2.0, 60.0, 80.0])));
        assert!(covered(&fan(&[0.0, 1.0, 60.0, 54.0, 66.0])));
    }

    fn direction() -> impl Strategy<Value = DVec3> {
        (0.0..std::f64::consts::TAU, -0.2..1.0_f64).prop_map(|(azimuth, z)| {
            let level = (1.0 - z * z).sqrt();
            DVec3::new(level * azimuth.sin(), level * azimuth.cos(), z)
        })
    }

    /// The rule by the definition itself: all pairs in double precision.
    fn covered_by_definition(directions: &[DVec3]) -> bool {
        let n = directions.len();
        let linked = |a: usize, b: usize| directions[a].angle_between(directions[b]) <= 40_f64.to_radians();
        let mut group: Vec<usize> = (0..n).collect();
        for _ in 0..n {
            for a in 0..n {
                for b in 0..n {
                    if linked(a, b) {
                        group[b] = group[b].min(group[a]);
                    }
                }
            }
        }
        (0..n).any(|g| {
            let members: Vec<_> = (0..n).filter(|&k| group[k] == g).collect();
            let apart = |a: &usize| {
                members.iter().any(|&b| directions[*a].angle_between(directions[b]) >= 10_f64.to_radians())
            };
            members.len() >= 3 && members.iter().any(apart)
        })
    }

    proptest! {
        /// Derived: the shortcut agrees with comparing all pairs.
        #[test]
        fn greatest_angle_is_exact(directions in prop::collection::vec(direction(), 2..60)) {
            let all = directions.iter().flat_map(|a| directions.iter().map(|b| a.angle_between(*b)));
            let exact = all.fold(0.0, f64::max);
            let found = f64::from(with_rays(&directions, |rays| rays.greatest_angle_rad()));
            // single-precision directions: 1e-7 of a chord; near 180° the angle changes as its square root
            prop_assert!((found - exact).abs() < if exact > 3.0 { 2e-3 } else { 4e-6 }, "{} {}", found, exact);
        }

        /// Derived: flooding agrees with the definition.
        #[test]
        fn coverage_follows_the_definition(directions in prop::collection::vec(direction(), 1..14)) {
            prop_assert_eq!(covered(&directions), covered_by_definition(&directions));
        }
    }
}
