//! Cuts through site and strips, held against own geometry and a general-purpose library.

use crate::generate::{Dice, scenario};
use geo::{BooleanOps, Coord, Length, Line, LineString, MultiLineString, Polygon};
use glam::DVec2;
use obliquity_planning::cross_section::{CrossSection, Cut, NoCut};
use obliquity_planning::*;

const SEEDS: u64 = 60;

fn cut(scenario: &Scenario, (strategy, pass): (Id, Id), along: Cut) -> Result<CrossSection, NoCut> {
    let store = Store::new(1 << 26);
    let evaluator = Evaluator { store: &store, watch: &NoWatch };
    evaluator.cross_section(scenario, (strategy, pass), along).expect("evaluated")
}

/// Every pass of drawn scenarios that is laid out over an area or along a line, with its plan.
fn each_pass(mut of: impl FnMut(&Scenario, (Id, Id), &PassPlan, &mut Dice)) {
    let mut count = 0;
    for seed in 0..SEEDS {
        let drawn = scenario(seed);
        let mut dice = Dice::new(seed ^ 0xc07);
        let store = Store::new(1 << 26);
        let evaluator = Evaluator { store: &store, watch: &NoWatch };
        for outcome in evaluator.evaluate_all(&drawn, Depth::Quick).expect("evaluated") {
            for own in &outcome.passes {
                let Ok(plan) = &own.plan else { continue };
                if plan.layout.stand_off_m.is_none() {
                    of(&drawn, (outcome.strategy, own.pass), plan, &mut dice);
                    count += 1;
                }
            }
        }
    }
    assert!(count > 50, "{count} passes were looked at");
}

fn strips(plan: &PassPlan) -> Vec<&Leg> {
    plan.legs.iter().filter(|leg| leg.kind == LegKind::Strip).collect()
}

/// Derived: along a strip the height flown is the strip's, what is below is ground or roof, and the GSD is the textbook relation
/// of the vertical photo at that height.
#[test]
fn along_a_strip_the_cut_is_the_strip() {
    each_pass(|drawn, which, plan, dice| {
        let all = strips(plan);
        let k = dice.whole(0, all.len() as u32 - 1) as usize;
        let found = match cut(drawn, which, Cut::Strip(k)) {
            Ok(found) => found,
            Err(NoCut::TooShort { .. }) => return,
            Err(why) => panic!("{}: {why}", drawn.name),
        };
        assert_eq!(found.from_m, all[k].from_m.truncate());
        let own = &found.flown[0];
        let reference_m = reference_m(drawn, &found);
        for (place, corner) in own.line_m.iter().zip(all[k].corners_m()) {
            // sums of coordinates of some hundred metres
            assert!((place[1] + reference_m - corner.z).abs() < 1e-6, "{}", drawn.name);
        }
        let focal_px = plan.stations.camera.focal_length_px;
        for below in &own.below {
            let at = found.from_m + (found.to_m - found.from_m).normalize() * below.along_m;
            let ground_m = drawn.site.terrain.height_m(at) - reference_m;
            assert!(below.surface_m > ground_m - 1e-6, "{}: nothing lies below the ground", drawn.name);
            assert!((below.gsd_m - below.above_m / focal_px).abs() < 1e-12, "{}", drawn.name);
        }
    });
}

/// The reference plane's height, from the ground that the cut tells of.
fn reference_m(drawn: &Scenario, found: &CrossSection) -> f64 {
    drawn.site.terrain.height_m(found.from_m) - found.ground_m[0][1]
}

/// Cross-check: geo 0.x clips the line by the footprints; the cut's solids cover the same lengths.
#[test]
fn solids_are_where_the_line_is_inside_footprints() {
    let mut inside_m = 0.0;
    each_pass(|drawn, which, plan, dice| {
        let (from, to) = a_line(plan, dice);
        let Ok(found) = cut(drawn, which, Cut::Line(from, to)) else { return };
        let place = |at: &DVec2| Coord { x: at.x, y: at.y };
        let line = MultiLineString::new(vec![LineString::from(Line::new(place(&from), place(&to)))]);
        for structure in
            drawn.site.structures.iter().filter(|s| matches!(s.kind, StructureKind::Extrusion { .. }))
        {
            let ring: LineString = structure.footprint_m.iter().map(place).collect();
            let expected_m = geo::Euclidean.length(&Polygon::new(ring, Vec::new()).clip(&line, false));
            let own = found.solids.iter().filter(|solid| solid.name == structure.name);
            let got_m: f64 = own.map(|solid| solid.along_m.1 - solid.along_m.0).sum();
            // the library rounds coordinates to a fixed grid
            assert!((got_m - expected_m).abs() < 1e-3, "{}: {got_m} {expected_m}", drawn.name);
            inside_m += got_m;
        }
    });
    assert!(inside_m > 100.0, "lines went through {inside_m} m of structures");
}

/// A line across the middle of a pass, some way round.
fn a_line(plan: &PassPlan, dice: &mut Dice) -> (DVec2, DVec2) {
    let all = strips(plan);
    let middle = all[all.len() / 2].from_m.midpoint(all[all.len() / 2].to_m).truncate();
    let reach = DVec2::from_angle(dice.within(0.0, 6.2)) * dice.within(80.0, 400.0);
    (middle - reach, middle + reach)
}

/// Cross-check: geo finds as many meetings of line and strips; from the other end everything is the same, mirrored.
#[test]
fn a_line_meets_the_strips_from_both_ends_alike() {
    let mut meetings = 0;
    each_pass(|drawn, which, plan, dice| {
        let (from, to) = a_line(plan, dice);
        let (Ok(there), Ok(back)) =
            (cut(drawn, which, Cut::Line(from, to)), cut(drawn, which, Cut::Line(to, from)))
        else {
            return;
        };
        let length_m = from.distance(to);
        let (own, mirrored) = (&there.flown[0].crossings_m, &back.flown[0].crossings_m);
        assert_eq!(own.len(), mirrored.len(), "{}", drawn.name);
        for (a, b) in own.iter().zip(mirrored.iter().rev()) {
            // rounding over some hundred metres
            assert!((a[0] - (length_m - b[0])).abs() < 1e-6 && (a[1] - b[1]).abs() < 1e-6, "{}", drawn.name);
        }
        let coord = |at: DVec2| Coord { x: at.x, y: at.y };
        let line = Line::new(coord(from), coord(to));
        let meets = |leg: &&&Leg| {
            let pieces = leg.pieces_m();
            let mut pieces = pieces.map(|(a, b)| Line::new(coord(a.truncate()), coord(b.truncate())));
            pieces.any(|piece| geo::line_intersection::line_intersection(line, piece).is_some())
        };
        // a strip that bends may be met more than once
        assert!(own.len() >= strips(plan).iter().filter(meets).count(), "{}", drawn.name);
        meetings += own.len();
    });
    assert!(meetings > 300, "{meetings}");
}

/// Derived: where the ground is followed, the height above it is nowhere less than asked for; one height above the mean is level.
#[test]
fn one_height_is_level_and_following_keeps_the_height() {
    let mut followed = 0;
    each_pass(|drawn, which, plan, _| {
        let Ok(found) = cut(drawn, which, Cut::Strip(0)) else { return };
        for one in &found.flown {
            let level = one.line_m.windows(2).all(|pair| (pair[0][1] - pair[1][1]).abs() < 1e-6);
            match one.above {
                Above::Ground => {
                    let least_m = one.below.iter().map(|below| below.above_m).fold(f64::INFINITY, f64::min);
                    let bare = found.solids.is_empty();
                    let asked_m = plan.layout.height_m;
                    assert!(!bare || least_m > asked_m - 1e-6, "{}: {least_m} of {asked_m}", drawn.name);
                    followed += 1;
                }
                Above::MeanGround | Above::TakeOff => assert!(level, "{}", drawn.name),
            }
        }
    });
    assert!(followed > 30, "{followed}");
}

/// Derived: what cannot be cut says why.
#[test]
fn what_cannot_be_cut_says_why() {
    each_pass(|drawn, which, plan, dice| {
        let count = strips(plan).len();
        let beyond = cut(drawn, which, Cut::Strip(count));
        assert_eq!(
            beyond.expect_err("nothing to cut"),
            NoCut::NoSuchStrip { strips: count, asked: count + 1 }
        );
        let (from, _) = a_line(plan, dice);
        assert_eq!(
            cut(drawn, which, Cut::Line(from, from)).expect_err("nothing to cut"),
            NoCut::TooShort { length_m: 0.0 }
        );
        let far = DVec2::new(9_000.0, 9_000.0);
        let off = cut(drawn, which, Cut::Line(far, far + DVec2::X * 50.0));
        assert_eq!(off.expect_err("nothing to cut"), NoCut::NothingCrosses, "{}", drawn.name);
        let unknown = cut(drawn, (which.0, Id(987_654)), Cut::Strip(0));
        assert_eq!(unknown.expect_err("nothing to cut"), NoCut::NoSuchPass);
    });
}
