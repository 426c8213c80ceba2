//! Strips along a line with corners.

use super::PatternPlanner;
use crate::base::choice::{EQUAL_RATIO, least};
use crate::geometry::lie::to_the_right_m;
use crate::geometry::polygon::azimuth_rad;
use crate::route::basis::Basis;
use crate::route::counting::{strip_count, strip_row};
use crate::route::refusal::{Count, FLY_HIGHER};
use crate::route::section::{Section, fly};
use crate::route::sections::{all_shut, open_sections};
use crate::route::sheet::{Sheet, Terms};
use crate::route::task::PassTask;
use crate::route::{LayoutTerms, PassPlan, PlanError, Subject};
use crate::scenario::Corridor;
use glam::DVec2;
use std::f64::consts::PI;

/// A leg of the line, moved to one side: where it runs when flown forward.
#[derive(Debug, Clone, Copy, PartialEq)]
struct LegCourse {
    from_m: DVec2,
    to_m: DVec2,
    forward_rad: f64,
}

impl PatternPlanner for Corridor {
    /// Strips spread over its width by the counting rule, each parallel to the line, flown to and fro.
    ///
    /// The margin (one air base when absent) lengthens the line at its ends; the width is covered as set. Every leg is
    /// exposed from end to end. Strips keep their distance round corners, where they are mitred; outside a corner sharper
    /// than a right angle the way between two legs is cut short and not exposed, and inside it a leg shorter than its
    /// mitres is left out.
    fn plan(&self, task: PassTask<'_>) -> Result<PassPlan, PlanError> {
        let (mut basis, line_m, margin_m) = laid_along(self, task)?;
        count_of(&basis, self, &line_m).bounded()?;
        let layout = &basis.layout;
        let row = strip_row(self.counting, self.width_m, layout.strip_spacing_m, layout.extent_across_m);
        let strips: Vec<Vec<LegCourse>> =
            row.offsets_m.iter().map(|offset| moved(&line_m, offset - self.width_m / 2.0)).collect();
        let mut sheet = Sheet::new(basis.airspace);
        if row.offsets_m.len() > 1 {
            sheet.flown.note_spacing(row.spacing_m);
        }
        for (strip, reversed) in flying_order(&strips, &line_m, task.site.take_off_m) {
            let mut courses = strip.clone();
            if reversed {
                courses.reverse();
            }
            for course in courses {
                fly_course(&basis, course, reversed, &mut sheet)?;
            }
        }
        if sheet.legs.is_empty() {
            let courses = strips.iter().flatten().map(|course| (course.from_m, course.to_m));
            return Err(all_shut(task.site, courses));
        }
        basis.layout = LayoutTerms {
            margin_m: Some(margin_m),
            region_width_m: Some(self.width_m),
            strips: strips.len() as u32,
            ..basis.layout
        };
        let Basis { layout, speed, exposure, camera, follow, .. } = basis;
        let terms = Terms { layout, speed, exposure, subject: Subject::Ground };
        Ok(sheet.plan(task, camera, terms, follow.is_some()))
    }

    fn count(&self, task: PassTask<'_>) -> Result<Count, PlanError> {
        let (basis, line_m, _) = laid_along(self, task)?;
        Ok(count_of(&basis, self, &line_m))
    }

    /// A band for each leg, as wide as set; neighbours are mitred as the strips on its edges are.
    fn region(&self, task: PassTask<'_>) -> Result<Vec<Vec<DVec2>>, PlanError> {
        let (_, line_m, _) = laid_along(self, task)?;
        Ok(bands(&line_m, self.width_m / 2.0))
    }
}

/// What the strips rest on, the line with its margin, and that.
fn laid_along<'a>(
    corridor: &Corridor,
    task: PassTask<'a>,
) -> Result<(Basis<'a>, Vec<DVec2>, f64), PlanError> {
    let leg = |pair: &[DVec2]| azimuth_rad(pair[1] - pair[0]);
    let tracks_rad: Vec<f64> = corridor.line_m.windows(2).map(leg).collect();
    let basis = Basis::new(task, &tracks_rad, corridor.counting)?;
    let margin_m = task.pass.margin_m.unwrap_or(basis.layout.air_base_m);
    Ok((basis, lengthened(&corridor.line_m, margin_m), margin_m))
}

/// Every strip as long as the line: what corners take from one side they give to the other.
fn count_of(basis: &Basis<'_>, corridor: &Corridor, line_m: &[DVec2]) -> Count {
    let layout = &basis.layout;
    let (spacing_m, swath_m) = (layout.strip_spacing_m, layout.extent_across_m);
    let strips = f64::from(strip_count(corridor.counting, corridor.width_m, spacing_m, swath_m));
    let legs = line_m.windows(2).map(|pair| basis.planned_on(pair[0].distance(pair[1])));
    Count { exposures: strips * legs.sum::<f64>(), strips, mend: FLY_HIGHER }
}

/// To and fro, beginning at the end nearest to the take-off point; of several, at the one nearest to the middle of all
/// strips, then the one on the left.
fn flying_order<'s>(
    strips: &'s [Vec<LegCourse>],
    line_m: &[DVec2],
    home: DVec2,
) -> Vec<(&'s Vec<LegCourse>, bool)> {
    let flown: Vec<&Vec<LegCourse>> = strips.iter().filter(|strip| !strip.is_empty()).collect();
    let (Some(first), Some(last)) = (flown.first(), flown.last()) else { return Vec::new() };
    let start = |strip: &[LegCourse], reversed: bool| {
        if reversed { strip[strip.len() - 1].to_m } else { strip[0].from_m }
    };
    let starts = [(first, false), (first, true), (last, false), (last, true)];
    let places =
        || flown.iter().flat_map(|strip| strip.iter()).flat_map(|course| [course.from_m, course.to_m]);
    let middle = places().sum::<DVec2>() / places().count().max(1) as f64;
    let keys = starts.map(|(strip, reversed)| {
        let at = start(strip, reversed);
        [at.distance(home), at.distance(middle), to_the_right_m(home, middle, at)]
    });
    let size_m = 2.0 * line_m.iter().map(|p| p.distance(middle)).fold(0.0, f64::max);
    let chosen = least(keys, size_m).unwrap_or(0);
    let mut order = flown.clone();
    if chosen >= 2 {
        order.reverse();
    }
    order.into_iter().enumerate().map(|(k, strip)| (strip, starts[chosen].1 != (k % 2 == 1))).collect()
}

/// Flies one leg of a strip, a section at a time.
fn fly_course(
    basis: &Basis<'_>,
    course: LegCourse,
    reversed: bool,
    sheet: &mut Sheet<'_>,
) -> Result<(), PlanError> {
    let (from, to) = if reversed { (course.to_m, course.from_m) } else { (course.from_m, course.to_m) };
    let track_rad = if reversed { course.forward_rad + PI } else { course.forward_rad };
    let direction = (to - from).normalize_or_zero();
    for (start, end) in open_sections(basis.airspace.site, (from, to)) {
        let start_m = from + direction * start;
        let section = Section {
            place: &|along| start_m + direction * along,
            direction,
            length_m: end - start,
            parts: &[(0.0, end - start)],
            level_z_m: basis.flight_z_m,
            pose: &|at, attitude| basis.pose(at, attitude, track_rad, course.forward_rad),
        };
        fly(basis, &section, sheet)?;
    }
    Ok(())
}

/// A band along each leg of a line, and what joins two of them outside a corner: to where their edges meet, or straight
/// across where the corner is sharper than a right angle.
fn bands(line_m: &[DVec2], half_m: f64) -> Vec<Vec<DVec2>> {
    let right = |pair: &[DVec2]| -(pair[1] - pair[0]).normalize_or_zero().perp();
    let band = |pair: &[DVec2]| {
        let out = right(pair) * half_m;
        vec![pair[0] + out, pair[1] + out, pair[1] - out, pair[0] - out]
    };
    let join = |triple: &[DVec2]| {
        let (before, after) = (right(&triple[..2]), right(&triple[1..]));
        // Outside of a turn to the left is the right, and the other way round.
        let outside_m = if before.perp_dot(after) > 0.0 { half_m } else { -half_m };
        let (from, to) = (triple[1] + before * outside_m, triple[1] + after * outside_m);
        let cosine = before.dot(after);
        let mitre = triple[1] + (before + after) * (outside_m / (1.0 + cosine).max(0.05));
        if cosine < -EQUAL_RATIO { vec![triple[1], from, to] } else { vec![triple[1], from, mitre, to] }
    };
    line_m.windows(2).map(band).chain(line_m.windows(3).map(join)).collect()
}

/// The line with its first and last leg lengthened.
fn lengthened(line_m: &[DVec2], by_m: f64) -> Vec<DVec2> {
    let mut line = line_m.to_vec();
    if let [first, second, ..] = line_m {
        line[0] = *first + (*first - *second).normalize_or_zero() * by_m;
    }
    if let [.., before, last] = line_m {
        let end = line.len() - 1;
        line[end] = *last + (*last - *before).normalize_or_zero() * by_m;
    }
    line
}

/// The line moved to its right, leg by leg.
fn moved(line_m: &[DVec2], right_m: f64) -> Vec<LegCourse> {
    let directions: Vec<DVec2> =
        line_m.windows(2).map(|pair| (pair[1] - pair[0]).normalize_or_zero()).collect();
    let right = |k: usize| -directions[k].perp();
    // Where the leg before a corner ends and the one after it begins.
    let corner = |k: usize| -> (DVec2, DVec2) {
        let (before, after) = (right(k - 1), right(k));
        let cosine = before.dot(after);
        let outside = directions[k - 1].perp_dot(directions[k]) * right_m > 0.0;
        if outside && cosine < -EQUAL_RATIO {
            return (line_m[k] + before * right_m, line_m[k] + after * right_m);
        }
        let mitre = line_m[k] + (before + after) * (right_m / (1.0 + cosine).max(0.05));
        (mitre, mitre)
    };
    (0..directions.len())
        .filter_map(|k| {
            let from_m = if k == 0 { line_m[0] + right(0) * right_m } else { corner(k).1 };
            let last = k + 1 == directions.len();
            let to_m = if last { line_m[k + 1] + right(k) * right_m } else { corner(k + 1).0 };
            let forward = (to_m - from_m).dot(directions[k]) > 0.01;
            forward.then(|| LegCourse { from_m, to_m, forward_rad: azimuth_rad(directions[k]) })
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use crate::route::pattern::corridor::*;

    fn line(points: &[(f64, f64)]) -> Vec<DVec2> {
        points.iter().copied().map(DVec2::from).collect()
    }

    /// Derived: east, then north; 10 m to the right the corner lies 10 m farther and 10 m lower.
    #[test]
    fn a_right_angle_is_mitred() {
        let strip = moved(&line(&[(0., 0.), (100., 0.), (100., 80.)]), 10.0);
        assert_eq!(strip.len(), 2);
        assert!(strip[0].to_m.distance(DVec2::new(110.0, -10.0)) < 1e-9);
        assert!(strip[1].from_m.distance(DVec2::new(110.0, -10.0)) < 1e-9);
        assert!(strip[1].to_m.distance(DVec2::new(110.0, 80.0)) < 1e-9);
    }

    /// Derived: outside a turn of 120° each leg ends beside the corner, inside it they meet at the mitre.
    #[test]
    fn a_sharp_corner_is_cut_on_its_outside_only() {
        let sharp = line(&[(0., 0.), (100., 0.), (50., 50.0 * 3.0_f64.sqrt())]);
        let outside = moved(&sharp, 10.0);
        assert!(outside[0].to_m.distance(DVec2::new(100.0, -10.0)) < 1e-9);
        let inside = moved(&sharp, -10.0);
        assert!(inside[0].to_m.distance(inside[1].from_m) < 1e-9);
    }
}
