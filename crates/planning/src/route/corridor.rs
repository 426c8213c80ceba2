//! Strips along a line with corners.

use super::airspace::Airspace;
use super::basis::Basis;
use super::counting::strip_row;
use super::layout::{azimuth_rad, speed_over_mps};
use super::profile::Profile;
use super::sections::open_sections;
use super::sheet::{Sheet, Terms};
use super::strips::MOST_EXPOSURES;
use super::{LayoutTerms, PassPlan, PlanError};
use crate::polygon::contains;
use crate::{Aircraft, Conditions, CountingRule, Pass, Pose, SiteOutline};
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
    let first_leg = corridor.line_m.get(1).copied().unwrap_or(DVec2::Y) - corridor.line_m[0];
    let mut basis = Basis::new(pass, aircraft, site, conditions, azimuth_rad(first_leg), corridor.counting);
    let margin_m = pass.margin_m.unwrap_or(basis.layout.air_base_m);
    let line_m = lengthened(corridor.line_m, margin_m);
    let layout = &basis.layout;
    let row = strip_row(corridor.counting, corridor.width_m, layout.strip_spacing_m, layout.extent_across_m);
    let length_m: f64 = line_m.windows(2).map(|pair| pair[0].distance(pair[1])).sum();
    let about = row.offsets_m.len() as f64 * (length_m / layout.air_base_m) * pass.attitudes.len() as f64;
    if about.is_nan() || about > MOST_EXPOSURES {
        return Err(PlanError::TooManyExposures { about });
    }
    let strips: Vec<Vec<Course>> =
        row.offsets_m.iter().map(|offset| moved(&line_m, offset - corridor.width_m / 2.0)).collect();
    let mut sheet = Sheet::default();
    for (strip, reversed) in flying_order(&strips, site.take_off_m) {
        let mut courses = strip.clone();
        if reversed {
            courses.reverse();
        }
        for course in courses {
            fly(&basis, course, reversed, &mut sheet)?;
        }
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

/// To and fro, beginning at the end nearest to the take-off point.
fn flying_order(strips: &[Vec<Course>], home: DVec2) -> Vec<(&Vec<Course>, bool)> {
    let flown: Vec<&Vec<Course>> = strips.iter().filter(|strip| !strip.is_empty()).collect();
    let (Some(first), Some(last)) = (flown.first(), flown.last()) else { return Vec::new() };
    let start = |strip: &[Course], reversed: bool| {
        if reversed { strip[strip.len() - 1].to_m } else { strip[0].from_m }
    };
    let starts = [(first, false), (first, true), (last, false), (last, true)];
    let nearest = (0..4).min_by(|&p, &q| {
        let distance = |k: usize| start(starts[k].0, starts[k].1).distance(home);
        distance(p).total_cmp(&distance(q))
    });
    let chosen = nearest.unwrap_or(0);
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
    let site = basis.airspace.site;
    let place = |along: f64| section.from + section.direction * along;
    let longest_m = section.length_m + basis.beyond_end_m();
    let profile = basis.follow.map(|f| Profile::new(&basis.airspace, place(0.0), place(longest_m), &f));
    let z_at = |along: f64| profile.as_ref().map_or(basis.flight_z_m, |p| p.z_at(along));
    let placed = basis.exposures(section.length_m);
    let speed_mps = speed_over_mps(basis.speed.speed_mps, placed.base_m, &basis.exposure, basis.pass);
    let (mut reach_m, mut shots): (f64, Vec<(f64, Pose)>) = (section.length_m, Vec::new());
    for (along_m, attitude) in placed.at {
        let shut = along_m > reach_m && site.keep_outs.iter().any(|k| contains(&k.outline_m, place(along_m)));
        if shut {
            continue;
        }
        let pose = basis.pose(place(along_m).extend(z_at(along_m)), attitude, track_rad, strips_rad);
        if basis.off_site(&pose) {
            sheet.skipped += 1;
        } else {
            shots.push((along_m, pose));
        }
        reach_m = reach_m.max(along_m);
    }
    let (airspace, airframe): (&Airspace<'_>, _) = (&basis.airspace, &basis.aircraft.airframe);
    let ends: [DVec3; 2] = [0.0, reach_m].map(|along| place(along).extend(z_at(along)));
    sheet.link_to(ends[0], airspace, airframe)?;
    sheet.run(&ends, shots, speed_mps);
    if let (Some(profile), Some(leg)) = (profile, sheet.legs.last_mut()) {
        *leg = profile.leg(reach_m, speed_mps, std::mem::take(&mut leg.stops));
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
        if outside && cosine < 0.0 {
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
