//! Strips along a line with corners.

use super::airspace::Airspace;
use super::basis::{Basis, Taken};
use super::counting::{strip_count, strip_row};
use super::layout::speed_over_mps;
use super::profile::Profile;
use super::refusal::{Count, FLY_HIGHER};
use super::sections::{all_shut, open_sections};
use super::sheet::{Sheet, Terms};
use super::{LayoutTerms, Leg, PassPlan, PlanError, SAME_PLACE_M};
use crate::base::choice::{EQUAL_RATIO, least};
use crate::geometry::Pose;
use crate::geometry::lie::to_the_right_m;
use crate::geometry::polygon::azimuth_rad;
use crate::ground::SiteOutline;
use crate::scenario::{Aircraft, Conditions, CountingRule, Pass};
use glam::{DVec2, DVec3};
use std::f64::consts::PI;

/// The pattern's settings.
pub(super) struct Corridor<'a> {
    pub(super) line_m: &'a [DVec2],
    pub(super) width_m: f64,
    pub(super) counting: CountingRule,
}

/// A leg of the line, moved to one side: where it runs when flown forward.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Course {
    from_m: DVec2,
    to_m: DVec2,
    forward_rad: f64,
}

/// Lays out a corridor: strips spread over its width by the counting rule, each parallel to the line, flown to and fro.
///
/// The margin (one air base when absent) lengthens the line at its ends; the width is covered as set. Every leg is
/// exposed from end to end. Strips keep their distance round corners, where they are mitred; outside a corner sharper
/// than a right angle the way between two legs is cut short and not exposed, and inside it a leg shorter than its mitres
/// is left out.
pub(super) fn plan(
    pass: &Pass,
    corridor: &Corridor<'_>,
    aircraft: &Aircraft,
    site: &SiteOutline,
    conditions: &Conditions,
) -> Result<PassPlan, PlanError> {
    let (mut basis, line_m, margin_m) = laid_along(pass, corridor, aircraft, site, conditions)?;
    count_of(&basis, corridor, &line_m).bounded()?;
    let layout = &basis.layout;
    let row = strip_row(corridor.counting, corridor.width_m, layout.strip_spacing_m, layout.extent_across_m);
    let strips: Vec<Vec<Course>> =
        row.offsets_m.iter().map(|offset| moved(&line_m, offset - corridor.width_m / 2.0)).collect();
    let mut sheet = Sheet::default();
    if row.offsets_m.len() > 1 {
        sheet.flown.note_spacing(row.spacing_m);
    }
    for (strip, reversed) in flying_order(&strips, &line_m, site.take_off_m) {
        let mut courses = strip.clone();
        if reversed {
            courses.reverse();
        }
        for course in courses {
            fly(&basis, course, reversed, &mut sheet)?;
        }
    }
    if sheet.legs.is_empty() {
        let courses = strips.iter().flatten().map(|course| (course.from_m, course.to_m));
        return Err(all_shut(site, courses));
    }
    basis.layout = LayoutTerms {
        margin_m,
        region_width_m: corridor.width_m,
        strips: strips.len() as u32,
        ..basis.layout
    };
    let Basis { layout, speed, exposure, camera, follow, .. } = basis;
    Ok(sheet.plan(pass, camera, Terms { layout, speed, exposure }, follow.is_some(), site))
}

/// How many exposures and strips a corridor comes to, before any is laid.
pub(super) fn count(
    pass: &Pass,
    corridor: &Corridor<'_>,
    aircraft: &Aircraft,
    site: &SiteOutline,
    conditions: &Conditions,
) -> Result<Count, PlanError> {
    let (basis, line_m, _) = laid_along(pass, corridor, aircraft, site, conditions)?;
    Ok(count_of(&basis, corridor, &line_m))
}

/// What the strips rest on, the line with its margin, and that.
fn laid_along<'a>(
    pass: &'a Pass,
    corridor: &Corridor<'_>,
    aircraft: &'a Aircraft,
    site: &'a SiteOutline,
    conditions: &Conditions,
) -> Result<(Basis<'a>, Vec<DVec2>, f64), PlanError> {
    let first_leg = corridor.line_m.get(1).copied().unwrap_or(DVec2::Y) - corridor.line_m[0];
    let basis = Basis::new(pass, aircraft, site, conditions, azimuth_rad(first_leg), corridor.counting)?;
    let margin_m = pass.margin_m.unwrap_or(basis.layout.air_base_m);
    Ok((basis, lengthened(corridor.line_m, margin_m), margin_m))
}

/// Every strip as long as the line: what corners take from one side they give to the other.
fn count_of(basis: &Basis<'_>, corridor: &Corridor<'_>, line_m: &[DVec2]) -> Count {
    let layout = &basis.layout;
    let (spacing_m, swath_m) = (layout.strip_spacing_m, layout.extent_across_m);
    let strips = f64::from(strip_count(corridor.counting, corridor.width_m, spacing_m, swath_m));
    let legs = line_m.windows(2).map(|pair| basis.planned_on(pair[0].distance(pair[1])));
    Count { exposures: strips * legs.sum::<f64>(), strips, mend: FLY_HIGHER }
}

/// To and fro, beginning at the end nearest to the take-off point; of several, at the one nearest to the middle of all
/// strips, then the one on the left.
fn flying_order<'s>(
    strips: &'s [Vec<Course>],
    line_m: &[DVec2],
    home: DVec2,
) -> Vec<(&'s Vec<Course>, bool)> {
    let flown: Vec<&Vec<Course>> = strips.iter().filter(|strip| !strip.is_empty()).collect();
    let (Some(first), Some(last)) = (flown.first(), flown.last()) else { return Vec::new() };
    let start = |strip: &[Course], reversed: bool| {
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
fn fly(basis: &Basis<'_>, course: Course, reversed: bool, sheet: &mut Sheet) -> Result<(), PlanError> {
    let (from, to) = if reversed { (course.to_m, course.from_m) } else { (course.from_m, course.to_m) };
    let track_rad = if reversed { course.forward_rad + PI } else { course.forward_rad };
    let direction = (to - from).normalize_or_zero();
    for (start, end) in open_sections(basis.airspace.site, (from, to)) {
        let section = Section { from: from + direction * start, direction, length_m: end - start };
        expose(basis, &section, (track_rad, course.forward_rad), sheet)?;
    }
    Ok(())
}

/// A straight piece to be exposed.
struct Section {
    from: DVec2,
    direction: DVec2,
    length_m: f64,
}

fn expose(
    basis: &Basis<'_>,
    section: &Section,
    (track_rad, strips_rad): (f64, f64),
    sheet: &mut Sheet,
) -> Result<(), PlanError> {
    let place = |along: f64| section.from + section.direction * along;
    let longest_m = section.length_m + basis.beyond_end_m(place(section.length_m), section.direction);
    let profile = basis.follow.map(|f| Profile::new(&basis.airspace, place(0.0), place(longest_m), &f));
    let z_at = |along: f64| profile.as_ref().map_or(basis.flight_z_m, |p| p.z_at(along));
    let placed = basis.exposures(section.length_m);
    let speed_mps = speed_over_mps(basis.speed.speed_mps, placed.base_m, &basis.exposure, basis.pass);
    let (mut reach_m, mut shots): (f64, Vec<(f64, Pose)>) = (section.length_m, Vec::new());
    let mut taken = Taken::new(basis.pass.attitudes.len());
    for (along_m, attitude) in placed.at.into_iter().filter(|at| at.0 <= longest_m + SAME_PLACE_M) {
        let pose = basis.pose(place(along_m).extend(z_at(along_m)), attitude, track_rad, strips_rad);
        if basis.off_site(&pose) {
            sheet.skipped += 1;
            taken.skip(attitude);
        } else {
            if taken.take(attitude) {
                sheet.flown.note_base(placed.base_m);
            }
            shots.push((along_m, pose));
        }
        reach_m = reach_m.max(along_m);
    }
    let (airspace, airframe): (&Airspace<'_>, _) = (&basis.airspace, &basis.aircraft.airframe);
    let mut ends: [DVec3; 2] = [0.0, reach_m].map(|along| place(along).extend(z_at(along)));
    ends[0] = sheet.link_to(ends[0], airspace, airframe)?;
    sheet.run(&ends, shots, speed_mps);
    if let (Some(profile), Some(leg)) = (profile, sheet.legs.last_mut()) {
        *leg = Leg { from_m: ends[0], ..profile.leg(reach_m, speed_mps, std::mem::take(&mut leg.stops)) };
    }
    Ok(())
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
fn moved(line_m: &[DVec2], right_m: f64) -> Vec<Course> {
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
            forward.then(|| Course { from_m, to_m, forward_rad: azimuth_rad(directions[k]) })
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

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
